/* What fill and reduce share: the cask's limit, read and told. */
#ifndef STV_CLI_BENCH_LIMIT_H
#define STV_CLI_BENCH_LIMIT_H

#include "cli/bench.h"
#include "model/cask_room.h"

struct stv_bench_limit {
    struct stv_cask_limit limit;
    bool has_hottest;  /* said; else judged at 20 C */
    bool has_capacity; /* else nothing is judged */
    bool is_hottest_now;
};

/* Reads --capacity, --hottest and --room.  When the spirit is warmer now than at its hottest, now_c
 * is what is judged. */
void stv_bench_read_limit(struct stv_bench_reader *reader, double now_c,
                          struct stv_bench_limit *out);

/* "at 42 C", or "at 20 C (--hottest was not said)", or "at 30 C (as warm as it is now)". */
struct stv_formatted stv_bench_where_judged(const struct stv_bench_limit *limit);

/* True when a market's limit on strength into the cask, which it must have, allows this one. */
bool stv_bench_may_enter(const struct stv_market *market, double abv20_frac);

/* The warnings that a fill above the market's limit and a temperature above 40 C need. */
void stv_bench_warn_entry(const struct stv_market *market, double abv20_frac,
                          struct stv_bench_notes *notes);
void stv_bench_warn_least(const struct stv_market *market, double abv20_frac,
                          struct stv_bench_notes *notes);
void stv_bench_warn_haze(double abv20_frac, struct stv_bench_notes *notes);
void stv_bench_warn_hot(double temp_c, struct stv_bench_notes *notes);

/* How many bottles, and what was taken off for losses; nothing when none were asked for. */
void stv_bench_add_bottles(struct stv_text *text, double bottles_nd, double bottle_l,
                           double loss_frac);

/* A share of --loss, 0..0.5, and the size of --bottle; NaN: none said. */
void stv_bench_read_bottles(struct stv_bench_reader *reader, double *out_loss_frac,
                            double *out_bottle_l);

#endif
