/* Legal age and what a label may not say, shared by reduce and marry. */
#ifndef STV_CLI_BENCH_AGE_H
#define STV_CLI_BENCH_AGE_H

#include "cli/bench.h"
#include "cli/bench_part.h"

/* Whole years of an age in years, -1 when it is NaN. */
int stv_bench_full_years(double age_y);

/* "charred new oak", "oak of any kind", "wood of any kind"; NULL for a clock that is not known. */
const char *stv_bench_clock_words(enum stv_age_clock clock);

/* Whole years of a part on a day, -1 when it is not known; INT64_MIN: no day was said. */
int stv_bench_age_years(const struct stv_bench_part *part, int64_t on_day_d);

/* False where the market's clock stands in the wood that a part lay in: how old it is there, nobody
 * knows by dates.  True without a market. */
bool stv_bench_counts(const struct stv_market *market, const struct stv_bench_part *part);

/* Warns when a market asks for more years than the youngest has, and of what counts as age there.
 * years    -1: not known */
void stv_bench_warn_age(const struct stv_market *market, const struct stv_bench_part *parts,
                        size_t n_parts, int years, struct stv_bench_notes *notes);

#endif
