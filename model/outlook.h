/* What decisions read: every cask through time, per draw, and the ranges made from it. */
#ifndef STV_MODEL_OUTLOOK_H
#define STV_MODEL_OUTLOOK_H

#include "model/byte_store.h"
#include "model/cask_numbers.h"
#include "model/cask_posterior.h"
#include "model/climate_metrics.h"
#include "model/ledger.h"
#include "model/params.h"
#include "model/progress.h"
#include "model/quantiles.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

enum stv_quantity {
    STV_Q_VOLUME20_L,
    STV_Q_ABV20_FRAC,
    STV_Q_LPA_L,
    STV_Q_WATER_LOST_KG, /* out through air and joints since the fill */
    STV_Q_ETHANOL_LOST_KG,
    STV_Q_WOOD_INDEX_ND,
    STV_Q_CASK_ESTERS_ND,
    STV_Q_STILL_FRUIT_ND,
    STV_Q_AIR_LPA_L, /* pure alcohol lost to air, joints, wood (indrink), samples */
    STV_Q_JOINT_LPA_L,
    STV_Q_INDRINK_LPA_L,
    STV_Q_SAMPLE_LPA_L,
    STV_Q_BOTTLES_ND,       /* at the bottling strength and size */
    STV_Q_OAK_MG_PER_LPA_L, /* phenolics and colour; a level of judgement, for ratios only */
    STV_Q_LEAK_LPA_L,
    STV_Q_AIR_L, /* what the same losses took off the volume, at the spirit's present strength */
    STV_Q_JOINT_L,
    STV_Q_INDRINK_L,
    STV_Q_SAMPLE_L,
    STV_Q_LEAK_L,
    STV_Q_LACTONE_ND, /* as the wood index: per litre of alcohol, of the reference cask */
    STV_Q_ALDEHYDES_ND,
    STV_Q_TANNINS_ND,
    STV_Q_ACIDS_ND,
    STV_Q_SUGARS_ND,
    STV_Q_N
};
/* True when values of several casks may be added up. */
int stv_quantity_adds_up(enum stv_quantity quantity);

/* The house's yardsticks. */
struct stv_house_rules {
    double bottling_abv20_frac; /* 0.46 unless said */
    double bottle_l;            /* 0.70 */
    double bottling_loss_frac;  /* lost in emptying, filtering, samples: 0.02 (assumed) */
    double reference_capacity_l, reference_abv20_frac; /* reference cask: new 200 L at 60 % */
    double reference_months;                           /* 36 */
    double wood_least_nd, wood_most_nd; /* what the house calls ready, of the reference */
    double least_abv20_frac;            /* least strength in cask allowed (market or house) */
    double planned_age_y;
    double least_age_y; /* 0: no least age */
    int wood_first;     /* 0: fruit before wood, 1: wood before fruit */
};
/* A cask that holds less is dry: there is nothing to bottle, and strength and wood of a film on the
 * staves mean nothing.  Judgement; the engine stops at 1 L. */
#define STV_DRY_L 1.5
/* Two choices whose bottles differ by a smaller share are a tie: set beforehand, judgement. */
#define STV_BOTTLES_TIE_SHARE 0.015
/* Bottles of the house's size at its bottling strength from litres of pure alcohol, after what is
 * lost in bottling; NaN where the rules say no strength or size. */
double stv_bottles_of_lpa_nd(const struct stv_house_rules *rules, double lpa_l);
/* The defaults named above, 0.7..1.3 of the reference's wood, 40 % vol, 5 years; judgement. */
struct stv_house_rules stv_house_rules_default(void);

struct stv_run_options {
    uint64_t seed;
    size_t n_draws;                      /* 0 = default parameters alone */
    double step_d;                       /* longest step of the cask model, 10 */
    double warming_k_per_y;              /* of years after the record, on top of it; 0 */
    const struct stv_progress *progress; /* NULL: nobody waits */
};

/* The climates the casks can stand in: one stv_position per place that is told apart. */
struct stv_position_set {
    const struct stv_position *positions;
    size_t n_positions;
    const double *exposed_frac; /* per position */
    size_t reference_idx;       /* middle tier, for the reference cask */
    int is_member;              /* one of a set of climates that carries its error already */
};

/* Casks that are added up, draw by draw: lots, tiers, the house. */
struct stv_outlook_sums {
    const size_t *label_of_cask; /* per cask of the ledger; SIZE_MAX: in no sum */
    size_t n_labels;
};

/* Casks that are told on days of their own, beside the outlook's, and who takes what is told. */
struct stv_outlook_rows {
    const int64_t *const *days_d; /* per cask of the ledger, ascending */
    const size_t *n_days;         /* per cask; 0: none */
    /* Called once for each cask that has days, from several threads at once; values are
     * [(day * STV_Q_N + quantity) * n_draws + draw] and gone afterwards.  A status other than OK
     * ends the run. */
    enum stv_status (*take)(void *context, size_t cask_idx, const double *values);
    void *context;
};

/* Where a run left a cask and those it exchanges spirit with, for another run. */
struct stv_outlook_start;
void stv_outlook_start_free(struct stv_outlook_start *start); /* accepts NULL */

/* Runs of one house one after another, which differ in the casks that are asked for and in what is
 * done from some day on, and in nothing else that a request says: each goes on from where the last
 * one left a cask, to the same bytes as from its fill. */
struct stv_outlook_starts {
    struct stv_outlook_start **slots; /* NULL: nothing was left yet; free those that are left */
    const size_t *slot_of_cask;       /* per cask of the ledger, of its own each */
    const int64_t *leave_day_d;       /* per cask: what is done from this day on may be other in the
                                         next run; INT64_MAX: nothing is left */
    int64_t *from_day_d; /* per cask, written: days up to it are not told, for an earlier run with
                            the same days told them; INT64_MIN: all are told */
};

/* States of all casks at chosen days, draw by draw. */
struct stv_outlook {
    size_t n_casks, n_days, n_draws;
    int64_t *days_d; /* n_days, ascending */
    /* Of the quantities asked for, n_told of them, 0 standing for all, each at its place:
     * [((cask * n_days + day) * n_told + place) * n_draws + draw]; NaN when the cask is empty that
     * day, or holds water alone.  NULL when only ranges are kept. */
    double *values;
    size_t n_told;
    unsigned char place_of[STV_Q_N]; /* where n_told is not 0; STV_Q_N: not told */
    float *ranges; /* [((cask * n_days + day) * STV_Q_N + quantity) * 5]; NULL beside values */
    double *
        *sum_draws; /* per sum asked for: [((label * n_days + day) * STV_Q_N + quantity) * n_draws
                    + draw] of the quantities that add up; casks empty that day count nothing */
    size_t n_sums, *n_labels; /* n_labels per sum */
    /* Worst |in - out - left| of water or ethanol over what came in. */
    double balance_residual_frac;
    size_t n_strength_held; /* casks times draws whose strength left about 12..92 % */
    double held_frac;       /* share of hours outside -15..50 C, held at that end: worst place */
    int *in_record;         /* per day: 1 when the day lies inside the reference's record */
};

/* What an outlook is asked for.  base may be NULL for the defaults; days_d ascending, need not
 * hold the events. */
struct stv_outlook_request {
    const struct stv_ledger *ledger;
    const struct stv_position_set *set;
    const struct stv_house_rules *rules;
    const struct stv_params *base;
    struct stv_run_options options;
    const int64_t *days_d;
    size_t n_days;
    int keeps_ranges_only;         /* for houses whose values would not fit into memory */
    const enum stv_quantity *told; /* whose values are kept, n_told of them; NULL: all */
    size_t n_told;
    const struct stv_outlook_sums *sums;
    size_t n_sums;
    const struct stv_outlook_rows *rows;    /* NULL: none */
    const struct stv_cask_numbers *numbers; /* NULL: the defaults */
    const struct stv_posterior *learned;    /* NULL: nothing was learned */
    struct stv_kept_tables *kept;           /* NULL: every run makes its climate tables anew */
    const struct stv_outlook_starts
        *starts; /* with rows alone; NULL: all are walked from the fill */
};

/* Climate tables that one run leaves to the next: those of positions that stand in the very same
 * climate for the same trials serve again, whatever the ledger and the days; what does not serve is
 * let go.  One run at a time may have them; the positions must outlive them. */
/* store  takes their rows for other runs of the program, and outlives them; NULL: none.  What it
 * finds changes no byte of an answer.  NULL without memory */
struct stv_kept_tables *stv_kept_tables_new(const struct stv_byte_store *store);
void stv_kept_tables_free(struct stv_kept_tables *kept); /* accepts NULL */

/* Runs the ledger through the climates.
 *
 * request   ledger sorted and free of faults; days may lie before, in or after the record, where
 *           whole years of it come again: in order without draws, drawn by seed, climate member and
 *           year with them.  No day, no cask and no event are allowed.
 * out       states of all casks; empty when the status is not OK
 *
 * Shape:   n_casks x n_days x STV_Q_N x n_draws values; draws 0 counts as one
 * Errors:  STV_E_NO_DATA  no position, or a climate that never covers some part of the year
 *          STV_E_DOMAIN   an impossible fill or top-up, a step outside 1..10 d
 *          STV_E_MEMORY
 * Accuracy: as stv_path_run; the same bytes at any number of threads and in any order of casks; an
 *           answer about one day does not depend on the other days asked for (2e-5 in litres)
 * Source:  parameter sheet (DEVELOPERS.md, Sources), sections 2 to 6
 * Assumes: what stv_params_drawn and stv_climate_table_new assume
 * Memory:  free with stv_outlook_free; while it runs some 0.3 to 0.6 GB for climate tables, however
 *          many positions there are */
STV_MUST_CHECK enum stv_status stv_outlook_run(const struct stv_outlook_request *request,
                                               struct stv_outlook *out);

/* 1 when a day lies inside the reference's record; a typical year has no days. */
int stv_day_is_in_record(const struct stv_position_set *set, int64_t day_d);

/* Copies some of an outlook's days, ascending, into an outlook of their own, sums too: one run of
 * the casks can then serve several questions.  Its values must be kept.
 * Errors: STV_E_NO_DATA a day that the outlook lacks; STV_E_MEMORY.  Free out as any outlook. */
STV_MUST_CHECK enum stv_status stv_outlook_pick(const struct stv_outlook *outlook,
                                                const int64_t *days_d, size_t n_days,
                                                struct stv_outlook *out);

/* Frees all and empties; may be called twice. */
void stv_outlook_free(struct stv_outlook *outlook);

/* Position that stands for a place: its own logger's, else its tier's, else the middle tier of its
 * warehouse, else the reference's. */
size_t stv_position_of_place(const struct stv_position_set *set, const struct stv_place *place);

/* Draws of one quantity of one cask on one day: n_draws values, read only, in the quantity's unit.
 * Indices must lie inside the outlook, and the quantity's values must be kept. */
const double *stv_outlook_draws(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx,
                                enum stv_quantity quantity);

/* Draws of one sum of a label on one day, of a quantity that adds up; n_draws values. */
const double *stv_outlook_sum_draws(const struct stv_outlook *outlook, size_t sum_idx,
                                    size_t label_idx, size_t day_idx, enum stv_quantity quantity);

/* Their range; all NaN when the cask is empty that day in every draw, or memory ran out. */
struct stv_range stv_outlook_range(const struct stv_outlook *outlook, size_t cask_idx,
                                   size_t day_idx, enum stv_quantity quantity);

#endif
