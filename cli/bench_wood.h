/* Kinds of wood as a part may name them, and whether time in them counts as age. */
#ifndef STV_CLI_BENCH_WOOD_H
#define STV_CLI_BENCH_WOOD_H

#include "ingest/market.h"

#include <stdbool.h>
#include <stddef.h>

enum stv_wood_class {
    STV_WOOD_UNSAID,
    STV_WOOD_CHARRED_NEW_OAK,
    STV_WOOD_NEW_OAK, /* charred or not was not said */
    STV_WOOD_OAK,     /* used before, or oak without a word more */
    STV_WOOD_OTHER,
    STV_WOOD_NONE /* steel, glass: nothing ages there by any clock */
};

/* Class of a word, in letters of any size; STV_WOOD_UNSAID for "".  False for a word that is not
 * known, with `why` naming the nearest or all. */
bool stv_bench_wood(const char *word, enum stv_wood_class *out, char *why, size_t size);

/* Whether time in a wood counts by a clock. */
enum stv_clock_verdict { STV_CLOCK_COUNTS, STV_CLOCK_UNSURE, STV_CLOCK_STANDS };
enum stv_clock_verdict stv_bench_clock(enum stv_age_clock clock, enum stv_wood_class wood);

#endif
