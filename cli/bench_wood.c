/* A list of words and no free text, so that a slip cannot pass for a wood.  What a cask held before
 * (sherry, bourbon) is oak here: common practice, no published source. */
#include "cli/bench_wood.h"

#include "ingest/quantity.h"

#include <string.h>
#include <strings.h>

static const struct {
    const char *word;
    enum stv_wood_class wood;
} known[] = {
    {"charred new oak", STV_WOOD_CHARRED_NEW_OAK},
    {"new charred oak", STV_WOOD_CHARRED_NEW_OAK},
    {"new oak", STV_WOOD_NEW_OAK},
    {"toasted new oak", STV_WOOD_OAK},
    {"oak", STV_WOOD_OAK},
    {"used oak", STV_WOOD_OAK},
    {"first fill", STV_WOOD_OAK},
    {"second fill", STV_WOOD_OAK},
    {"third fill", STV_WOOD_OAK},
    {"refill", STV_WOOD_OAK},
    {"rejuvenated", STV_WOOD_OAK},
    {"bourbon", STV_WOOD_OAK},
    {"sherry", STV_WOOD_OAK},
    {"port", STV_WOOD_OAK},
    {"wine", STV_WOOD_OAK},
    {"chestnut", STV_WOOD_OTHER},
    {"acacia", STV_WOOD_OTHER},
    {"cherry", STV_WOOD_OTHER},
    {"maple", STV_WOOD_OTHER},
    {"other wood", STV_WOOD_OTHER},
    {"steel", STV_WOOD_NONE},
    {"glass", STV_WOOD_NONE},
};
#define N_KNOWN (sizeof known / sizeof known[0])

bool stv_bench_wood(const char *word, enum stv_wood_class *out, char *why, size_t size)
{
    const char *words[N_KNOWN];
    *out = STV_WOOD_UNSAID;
    if (!word[0])
        return true;
    for (size_t i = 0; i < N_KNOWN; i++) {
        words[i] = known[i].word;
        if (strcasecmp(word, known[i].word) == 0) {
            *out = known[i].wood;
            return true;
        }
    }
    stv_word_advice(word, words, N_KNOWN, why, size);
    return false;
}

enum stv_clock_verdict stv_bench_clock(enum stv_age_clock clock, enum stv_wood_class wood)
{
    if (wood == STV_WOOD_NONE)
        return STV_CLOCK_STANDS;
    switch (clock) {
    case STV_AGE_IN_CHARRED_NEW_OAK:
        if (wood == STV_WOOD_CHARRED_NEW_OAK)
            return STV_CLOCK_COUNTS;
        return wood == STV_WOOD_NEW_OAK || wood == STV_WOOD_UNSAID ? STV_CLOCK_UNSURE
                                                                   : STV_CLOCK_STANDS;
    case STV_AGE_IN_ANY_OAK:
        if (wood == STV_WOOD_OTHER)
            return STV_CLOCK_STANDS;
        return wood == STV_WOOD_UNSAID ? STV_CLOCK_UNSURE : STV_CLOCK_COUNTS;
    case STV_AGE_IN_ANY_WOOD:
        return wood == STV_WOOD_UNSAID ? STV_CLOCK_UNSURE : STV_CLOCK_COUNTS;
    case STV_AGE_CLOCK_UNKNOWN:
        break;
    }
    return STV_CLOCK_UNSURE;
}
