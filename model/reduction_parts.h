/* Private to reduction*.c: a house while it is planned, and what its parts share. */
#ifndef STV_MODEL_REDUCTION_PARTS_H
#define STV_MODEL_REDUCTION_PARTS_H

#include "model/reduce.h"
#include "model/reduction.h"

/* A step of fewer points is none. */
#define STV__REDUCTION_NO_STEP_FRAC 1e-6

/* A cask while it is planned. */
struct stv__reduction_work {
    const struct stv_reduction_wish *wish;
    struct stv_reduction_plan *plan;
    int64_t *days_d;
    size_t n_days;
    size_t *chosen; /* n_chosen days on which something is added */
    size_t n_chosen;
    double *values;        /* of the last run */
    double *alone_nd;      /* its last day with nothing added: [told * n_draws + draw] */
    double *before_nd;     /* of the last step: [volume, strength] */
    double *need_kg;       /* [step * n_draws + draw] */
    double last_from_frac; /* middle strength before the last step, its least after it, its day */
    double last_floor_frac;
    size_t last_day_idx;
    size_t n_tried, n_corrections; /* chosen days, and corrections of the last step, so far */
    int is_open;                   /* its future must be asked */
};

struct stv__reduction_planning {
    const struct stv_reduction_rules *rules;
    const struct stv_reduction_future *future;
    struct stv__reduction_work *works;
    size_t n;
    double *room_nd; /* n_draws */
};

/* Draws of the last run: n_draws values, read only. */
const double *stv__reduction_told_nd(const struct stv__reduction_planning *planning,
                                     const struct stv__reduction_work *work, size_t day_idx,
                                     enum stv_reduction_told what);
/* Their range; the draws stay as they are. */
struct stv_range stv__reduction_range_of(const struct stv__reduction_planning *planning,
                                         const double *values);
double stv__reduction_middle_nd(const struct stv__reduction_planning *planning,
                                const struct stv__reduction_work *work, size_t day_idx,
                                enum stv_reduction_told what);
/* Strength that the middle trial is to have on the last day. */
double stv__reduction_goal_frac(const struct stv_reduction_rules *rules);
/* What brings litres from one strength to another; nothing when it is not above it. */
STV_MUST_CHECK enum stv_status stv__reduction_kg_of(const struct stv_reduction_rules *rules,
                                                    double volume20_l, double from_abv20_frac,
                                                    double to_abv20_frac,
                                                    struct stv_reduce_step *out);

/* What the plan of a cask comes to, once its steps stand. */
STV_MUST_CHECK enum stv_status stv__reduction_finish(const struct stv__reduction_planning *planning,
                                                     struct stv__reduction_work *work);
/* Days and bottles of the house.  Errors: STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv__reduction_add_up(const struct stv__reduction_planning *planning,
                                                     struct stv_reduction *out);

#endif
