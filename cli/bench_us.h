/* The other measure, for whoever typed pounds, gallons, proof or Fahrenheit. */
#ifndef STV_CLI_BENCH_US_H
#define STV_CLI_BENCH_US_H

#include "cli/bench_read.h"
#include "cli/format.h"

/* True when a word of the sum is in US measure. */
bool stv_bench_uses_us(const struct stv_bench_reader *reader);

/* "543.1 gal at 135.9 proof, 4032.5 lb": a mass of spirit at 60 F; water as "76.1 gal, 633.4 lb".
 */
struct stv_formatted stv_bench_us_spirit(double mass_kg, double abv20_frac);
struct stv_formatted stv_bench_us_water(double mass_kg);

#endif
