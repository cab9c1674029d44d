#include "model/score_words.h"

const char *stv_house_score_words(enum stv_house_score score)
{
    static const char *const words[STV_SCORE_N] = {
        [STV_SCORE_LIQUID] = "how warm the places are",
        [STV_SCORE_HUMIDITY] = "how damp the places are",
        [STV_SCORE_PERMEANCE_EA] = "how warmth opens the wood",
        [STV_SCORE_WATER_ACTIVITY] = "water's pull in spirit",
        [STV_SCORE_EXTRACTION_EA] = "how warmth pulls oak",
        [STV_SCORE_ESTER_EA] = "how warmth fades fruit",
        [STV_SCORE_TIME_CONSTANT] = "how fast casks warm",
        [STV_SCORE_LOSS] = "seep at joints, the house",
        [STV_SCORE_WATER_PERMEANCE] = "how tight the wood is, the house",
        [STV_SCORE_POOLS] = "what oak holds, the house",
        [STV_SCORE_ESTER_RATE] = "how fast fruit fades",
        [STV_SCORE_TEMP_SHARE] = "share of the seep that follows warmth",
        [STV_SCORE_OXIDATION] = "acid from air",
    };
    return words[score];
}

const char *stv_kind_score_words(enum stv_kind_score score)
{
    static const char *const words[STV_KIND_SCORE_N] = {
        [STV_KIND_LOSS] = "seep at joints",
        [STV_KIND_WATER_PERMEANCE] = "how tight the wood is, water",
        [STV_KIND_RATIO] = "how tight the wood is, alcohol to water",
        [STV_KIND_POOLS] = "what its oak holds",
    };
    return words[score];
}
