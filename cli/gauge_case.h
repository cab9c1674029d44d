/* One gauge of the bench, between its reading, its words and its numbers. */
#ifndef STV_CLI_GAUGE_CASE_H
#define STV_CLI_GAUGE_CASE_H

#include "cli/bench.h"
#include "model/gauge.h"

/* The scale on which a reading was said, for telling it back. */
enum stv_gauge_scale { STV_SCALE_VOL, STV_SCALE_US_PROOF, STV_SCALE_UK_PROOF, STV_SCALE_DENSITY };

struct stv_gauge_case {
    struct stv_gauge_input input;
    struct stv_gauged gauge;
    enum stv_gauge_scale scale;
    double shown;  /* the number on that scale; per cent or degrees */
    bool has_temp; /* said; else 20 C is taken, which only the buoyancy of air feels */
    size_t n_casks;
    double gross_kg, tare_kg;          /* NaN: not said */
    bool has_dry_tare;                 /* the wood drank after it was weighed */
    bool has_tare_state;               /* said dry or wet */
    double soak_l, soak_most_l;        /* what wood that was weighed dry drinks; NaN: no tare */
    bool has_assumed_shape;            /* of a dipped cask */
    double bilge_m;                    /* of that cask, inside */
    double lost_kg;                    /* against an earlier gross; NaN: none said */
    double capacity_l;                 /* of the cask or casks' each, as typed; NaN: not said */
    double earlier20_l, earlier_lpa_l; /* at the earlier weighing; NaN: not said */
    bool has_mixed_units;              /* gross in pounds and tare in kilograms, or the reverse */
    double kind_l;                     /* capacity taken from the kind's name; NaN: measured */
    bool has_typed_errors;             /* all that count were typed; else some are assumed */
};

/* Reads the words into a case; faults go to the reader. */
void stv_gauge_read(struct stv_bench_reader *reader, const struct stv_bench_shared *shared,
                    struct stv_gauge_case *out);

/* What to look at in a case that was worked out. */
void stv_gauge_warn(const struct stv_gauge_case *gauge_case, const struct stv_market *market,
                    struct stv_bench_notes *notes);

void stv_gauge_add_answer(struct stv_text *text, const void *sum_case);
void stv_gauge_add_rest(struct stv_text *text, const void *sum_case);

#endif
