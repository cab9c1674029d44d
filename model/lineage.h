/* Two histories told apart: what the spirit in a cask is made of and which woods it has lain in,
 * and what each wood has held.
 *
 * All of it is by the ledger alone.  Shares go by litres of pure alcohol as written: what
 * evaporated, soaked in or leaked is unknown to the ledger, so that a part which lay long before
 * it was married counts for a little too much. */
#ifndef STV_MODEL_LINEAGE_H
#define STV_MODEL_LINEAGE_H

#include "model/ledger.h"

/* The true day lies within, both ends included; the same day twice where the day was said. */
struct stv_day_span {
    int64_t from_day_d, to_day_d;
};
/* The middle, the earlier of two; and how far the true day may lie from it. */
int64_t stv_day_span_middle(struct stv_day_span span);
int64_t stv_day_span_width_d(struct stv_day_span span);

/* Age in whole years and the days since the last anniversary; that of 29 February falls on 1 March
 * in common years.  Zero when until_day_d is not later.  Source: civil calendar. */
struct stv_age {
    int years, days;
};
struct stv_age stv_age_between(int64_t since_day_d, int64_t until_day_d);

/* What is in a cask, told without its parts. */
struct stv_spirit_history {
    int is_there;     /* the cask holds spirit; else nothing below means anything */
    int use_idx;      /* which of the wood's uses holds it; stv_lineage_held tells its parts */
    size_t begin_idx; /* event that began this use: a fill, or a transfer into the empty cask */
    int is_single;    /* never met the spirit of another cask; topping spirit does not count here */
    int had_water;
    double water_kg; /* ever added to any of it and still its share; NaN where no litres are said */
    double lpa_l;    /* as written; NaN where no litres are said */
    struct stv_day_span youngest;    /* when the youngest part first met wood */
    int had_top_up;                  /* spirit of no cask of the ledger was added to any of it */
    struct stv_day_span topping;     /* when the youngest of that first met wood */
    double topping_least_abv20_frac; /* the weakest of it: reducing spirit, if weak; NaN if none */
};

/* One part of a liquid: a fill, or a top-up, as it came into the house. */
struct stv_spirit_part {
    size_t event_idx;         /* of the ledger */
    double share_frac;        /* of the alcohol, as written; NaN where no litres are said */
    struct stv_day_span born; /* when it first met wood */
};

/* One stay of a liquid, or of a part of it, in one wood. */
struct stv_wood_stay {
    int cask_idx;
    int use_idx;                       /* which use of the wood, from 0 */
    enum stv_wood_history held_before; /* by the wood, when that use began */
    int64_t from_day_d, to_day_d;      /* of the first litre in and the last one out */
    int is_now;                        /* it still lies there; to_day_d is the day asked for */
    double share_frac;                 /* of the alcohol that lay there at all */
    double mean_d;                     /* days that this share lay there, on average */
};

struct stv_lineage_parts {
    struct stv_spirit_part *parts; /* n_parts, in the order of the ledger */
    size_t n_parts;
    struct stv_wood_stay *stays; /* n_stays, by their last day: the present one last */
    size_t n_stays;
};

/* One use of a wood: from a fill or transfer into the empty cask until it is empty again. */
struct stv_wood_use {
    size_t event_idx;             /* that began it */
    int64_t from_day_d, to_day_d; /* INT64_MAX while it lasts */
};

struct stv_wood_life {
    struct stv_wood_use *uses; /* n_uses, in order; those before the ledger are unknown to it */
    size_t n_uses;
    int64_t empty_since_day_d; /* INT64_MIN never filled, INT64_MAX full */
};

struct stv_lineage;

/* Walks a ledger to the end of a day, once for all casks.
 *
 * ledger  sorted, free of contradictions (stv_ledger_check); its arrays must outlive the lineage
 * out     free with stv_lineage_free; NULL when the status is not OK
 *
 * Cost:   in step with casks and events
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_lineage_new(const struct stv_ledger *ledger, int64_t day_d,
                                               struct stv_lineage **out);
/* Walks on to the end of a later day; an earlier one changes nothing. */
void stv_lineage_advance(struct stv_lineage *lineage, int64_t day_d);
/* Accepts NULL. */
void stv_lineage_free(struct stv_lineage *lineage);

/* The spirit in a cask; cask_idx inside the ledger. */
struct stv_spirit_history stv_lineage_spirit(const struct stv_lineage *lineage, int cask_idx);

/* Where a cask lies; warehouse_idx -1 when nobody said or it was emptied since. */
struct stv_place stv_lineage_place(const struct stv_lineage *lineage, int cask_idx);

/* What the spirit of one use of a wood was made of when it left, or is now, and where it had lain.
 *
 * use_idx  0 to the wood's n_uses - 1
 * out      free with stv_lineage_parts_free; empty when the status is not OK
 *
 * Cost:    n log n in the events that the liquid went through
 * Errors:  STV_E_ARG no such use; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_lineage_held(const struct stv_lineage *lineage, int cask_idx,
                                                int use_idx, struct stv_lineage_parts *out);
void stv_lineage_parts_free(struct stv_lineage_parts *parts);

/* What a wood has been used for.
 * out     free with stv_wood_life_free; empty when the status is not OK
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_lineage_wood(const struct stv_lineage *lineage, int cask_idx,
                                                struct stv_wood_life *out);
void stv_wood_life_free(struct stv_wood_life *life);

#endif
