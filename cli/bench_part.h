/* One spirit as people tell it in a line: "172 L, 61.3 %vol, 2020-03-01, new oak, watered". */
#ifndef STV_CLI_BENCH_PART_H
#define STV_CLI_BENCH_PART_H

#include "cli/bench_wood.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_PART_WOOD_MAX 48

struct stv_bench_part {
    double volume20_l, mass_kg; /* NaN: not said */
    double abv20_frac;
    int64_t filled_day_d;         /* INT64_MIN: not said */
    double age_y;                 /* as said in years; NaN: not said */
    bool is_watered;              /* water was added to it in its cask */
    char wood[STV_PART_WOOD_MAX]; /* one of the words of cli/bench_wood.h; "": not said */
    enum stv_wood_class wood_class;
};

/* Reads the items of a part, cut at commas, or at slashes when it has any, which leaves commas to
 * be decimal; in any order: one amount when needs_amount, one strength, and perhaps a fill date or
 * an age ("6 y", "5 y 2 m"), its wood, and "watered".
 *
 * why      size bytes: what was wrong and what to write instead, starting in lower case
 *
 * Errors:  STV_E_PARSE   an item that is none of these, or a needed one that is missing or said
 * twice STV_E_DOMAIN  a value that cannot be */
STV_MUST_CHECK enum stv_status stv_bench_part_parse(const char *text, bool needs_amount,
                                                    struct stv_bench_part *out, char *why,
                                                    size_t size);

#endif
