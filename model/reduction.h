/* Slow reduction in the cask: what to add and when, over months or years, so that a strength is met
 * on a day to come, with what evaporates in between counted. */
#ifndef STV_MODEL_REDUCTION_H
#define STV_MODEL_REDUCTION_H

#include "model/calendar.h"
#include "model/outlook.h"

/* So near to the target counts as met: what a bottle's label may be off in most markets (judgement
 * here; the label's own tolerance is the market's). */
#define STV_REDUCTION_NEAR_FRAC 0.003

/* Defaults of a house that does not say; judgement. */
#define STV_REDUCTION_MOST_STEP_FRAC 0.04
#define STV_REDUCTION_LEAST_STEP_FRAC 0.005
#define STV_REDUCTION_FOR_TANK_FRAC 0.001
/* Less is hardly worth opening a bung; common practice, no published source. */
#define STV_REDUCTION_LEAST_STEP_KG 1.0
/* A gauge sooner after an addition may not be mixed: as gauges are judged; judgement. */
#define STV_REDUCTION_REST_D 21

struct stv_reduction_rules {
    double to_abv20_frac;        /* in the cask on its last day */
    double for_tank_frac;        /* points above it that are left to the tank */
    double least_abv20_frac;     /* at no time below; at most to_abv20_frac */
    double most_step_frac;       /* points of strength, most in one step */
    double least_step_frac;      /* steps that would be smaller become fewer */
    double least_step_kg;        /* a step that adds less waits for a later month; 0: none does */
    size_t most_steps;           /* 0: as many as there are months */
    int month_holds[STV_MONTHS]; /* months in which something may be added, on their first day;
                                    in the month that is under way, on the wish's first day */
    int64_t over_d;              /* begins at most so long before the last day; INT64_MAX */
    double room_frac;            /* wanted free at the hottest, of the cask */
    double with_abv20_frac;      /* strength of what is added: 0 water, else reducing spirit */
    int64_t with_filled_day_d;   /* when that first met wood; no meaning for water */
};

/* A cask that is to be brought down, and what is known of it beside its future. */
struct stv_reduction_wish {
    int cask_idx;
    int64_t from_day_d, end_day_d;
    double capacity_l;
    double hottest_c;       /* of its spirit, -20..50 */
    const int64_t *added_d; /* n_added days on which something comes in anyway, or came in: no */
    size_t n_added;         /* step is nearer to one than STV_REDUCTION_REST_D */
};

enum stv_reduction_kind {
    STV_REDUCTION_STEPS,  /* there are steps */
    STV_REDUCTION_TANK,   /* less than a step is over: the tank can do it */
    STV_REDUCTION_BELOW,  /* it is at the target, or under it, without any water */
    STV_REDUCTION_MONTHS, /* no month that is allowed lies before its last day */
    STV_REDUCTION_LEAST,  /* it has too much strength, but may not go lower */
    STV_REDUCTION_PAST,   /* its last day is over */
    STV_REDUCTION_LEAVES, /* the book empties it before */
    STV_REDUCTION_N
};

struct stv_reduction_step {
    int64_t day_d;
    double added_kg, added20_l; /* of what is added, for the middle trial */
    struct stv_range need_kg;   /* what each trial would take to come to the same strength */
    double aim_abv20_frac;
    struct stv_range before20_l,
        before_abv20_frac; /* ranges over the trials, for added_kg in all */
    struct stv_range after20_l, after_abv20_frac;
    double hot_l;  /* the spirit after the step, at the hottest: 19 trials in 20 stay below */
    double room_l; /* of the cask above that; negative: it does not go in */
    int fits;      /* the room wanted is left */
};

struct stv_reduction_plan {
    int cask_idx;
    enum stv_reduction_kind kind;
    int64_t end_day_d;
    double hottest_c;
    struct stv_reduction_step *steps; /* n_steps, by day */
    size_t n_steps;
    size_t n_put_off; /* chosen days on which a step would have added less than is worth it */
    size_t n_fitting; /* steps before the first that finds no room; the rest as if it had room */
    /* On the last day, as if no later gauge came. */
    struct stv_range alone_abv20_frac, alone20_l; /* nothing added from now on */
    struct stv_range end_abv20_frac, end20_l;
    struct stv_range drift_frac;      /* strength, last step to last day: what air alone does */
    double near_frac;                 /* trials within STV_REDUCTION_NEAR_FRAC of the target */
    double under_frac;                /* trials that are under the least allowed at some time */
    double lowest_abv20_frac;         /* of the middle trial, from the first step on */
    struct stv_range bottles_nd;      /* with the steps */
    /* With the steps less nothing added, and less what reducing spirit brings, trial by trial. */
    struct stv_range gain_bottles_nd;
    struct stv_range wood_ratio_nd;   /* with the steps over nothing added, trial by trial */
    /* Water that brings it to the target in the tank; of a cask without steps where the tank is to
     * do it. */
    struct stv_range tank_kg;
    int is_short;                     /* the steps do not reach the target */
    int is_held_by_least;             /* ... because the least allowed stands in the way */
};

/* Nothing in the cask, all of it in the tank. */
bool stv_reduction_is_for_tank(const struct stv_reduction_plan *plan);

/* What is added on one day, over all casks that have room for it. */
struct stv_reduction_day {
    int64_t day_d;
    size_t n_casks;
    double added_kg, added20_l;
    struct stv_range need_kg; /* trial by trial */
};

struct stv_reduction {
    struct stv_reduction_plan *plans; /* in the order of the wishes */
    size_t n_plans;
    struct stv_reduction_day *days; /* by day */
    size_t n_days;
    struct stv_range gain_bottles_nd; /* of all casks whose steps find room, trial by trial */
    struct stv_range bottles_nd;
};

/* What is asked of the future of a cask: each day after what happens on it. */
enum stv_reduction_told {
    STV_REDUCTION_VOLUME20_L,
    STV_REDUCTION_ABV20_FRAC,
    STV_REDUCTION_BOTTLES_ND,
    STV_REDUCTION_WOOD_ND,
    STV_REDUCTION_TOLD_N
};
struct stv_reduction_asked {
    int cask_idx;
    const int64_t *days_d; /* ascending */
    size_t n_days;
    const struct stv_reduction_step *steps; /* added so far: their days and added amounts */
    size_t n_steps;
    int64_t later_day_d; /* the next time nothing is other that is done before this day */
    /* To be filled: [(day * STV_REDUCTION_TOLD_N + told) * n_draws + draw].  The next time, with
     * the same days, it holds what was filled in. */
    double *values;
};
/* The same trials whatever was added.  A cask that is empty by then has NaN. */
struct stv_reduction_future {
    size_t n_draws;
    enum stv_status (*tell)(void *context, const struct stv_reduction_asked *asked, size_t n_asked);
    void *context;
};

/* Plans the steps of some casks.
 *
 * Every step takes an equal share of the points that are still too many on the last day, as the
 * future tells after all earlier steps, so that what the months between do is counted; the last
 * step is set so that the middle trial ends at the target, and may therefore lie below it where the
 * strength rises again.  No step takes more than most_step_frac, or brings the middle trial under
 * the least allowed at any told day, what falls by itself afterwards included.  A step without room
 * is told, and so are those behind it, but counted nowhere.
 *
 * rules   to_abv20_frac above with_abv20_frac and not below least_abv20_frac
 * wishes  n of them
 * out     free with stv_reduction_free; empty when the status is not OK
 *
 * Errors:  STV_E_ARG     rules outside their ranges
 *          STV_E_DOMAIN  a strength or temperature beyond the tables
 *          STV_E_MEMORY, and those of the future
 * Source:  mass balance on densities [R22] (model/reduce.h); the rule of equal shares is our own
 * Assumes: what is added is mixed at once */
STV_MUST_CHECK enum stv_status stv_reduction_make(const struct stv_reduction_rules *rules,
                                                  const struct stv_reduction_wish *wishes, size_t n,
                                                  const struct stv_reduction_future *future,
                                                  struct stv_reduction *out);
/* Frees and empties; may be called twice. */
void stv_reduction_free(struct stv_reduction *reduction);

/* The same with the casks' futures from the outlook.
 *
 * house  its days are not used; events of the ledger after the wishes' first day are kept
 * Errors: also those of stv_outlook_run */
STV_MUST_CHECK enum stv_status stv_reduction_of_house(const struct stv_outlook_request *house,
                                                      const struct stv_reduction_rules *rules,
                                                      const struct stv_reduction_wish *wishes,
                                                      size_t n, struct stv_reduction *out);

/* Hottest hour of the spirit of a cask at its places, from a day on: the record's warmest, and what
 * the climate may be off in 19 of 20 trials, at most 50 C.
 *
 * house     ledger, set and numbers are used
 * Errors:   STV_E_NO_DATA no hour is known; STV_E_DOMAIN, STV_E_MEMORY
 * Assumes:  a cask 95 % full at 55 % vol */
STV_MUST_CHECK enum stv_status stv_reduction_hottest_c(const struct stv_outlook_request *house,
                                                       int cask_idx, int64_t from_day_d,
                                                       double *out_c);

#endif
