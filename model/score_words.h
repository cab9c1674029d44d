/* Scores as a distiller would call them.  Layer 0; pure. */
#ifndef STV_MODEL_SCORE_WORDS_H
#define STV_MODEL_SCORE_WORDS_H

#include "model/draws.h"

/* Names of the shared scores in words, for "what the data moved"; NULL past the house's. */
const char *stv_house_score_words(enum stv_house_score score);
const char *stv_kind_score_words(enum stv_kind_score score);

#endif
