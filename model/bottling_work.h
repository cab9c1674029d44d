/* Private to bottling_plan.c, bottling_judge.c and bottling_told.c: a plan while it is made. */
#ifndef STV_MODEL_BOTTLING_WORK_H
#define STV_MODEL_BOTTLING_WORK_H

#include "model/bottling_parts.h"
#include "model/bottling_plan.h"

/* Two choices are a tie when odds differ by less, and bottles by STV_BOTTLES_TIE_SHARE. */
#define STV__TIE_FRAC 0.05
#define STV__SURE_FRAC 0.95 /* 19 in 20 */

struct stv__bottling_work {
    const struct stv_bottling_plan_request *request;
    const struct stv_outlook *outlook; /* of the choice, then of what is told: of `told` */
    struct stv_outlook told;
    int *told_at; /* per cask: where it stands in `told`; -1: not there */
    size_t n_casks;
    struct stv_lineage **lineages; /* per wish, on its day: what is planned until then counts */
    size_t *day_idx, *later_idx;   /* per wish; later SIZE_MAX without such a day */
    struct stv__choice_wish *wishes;
    struct stv__choice_cask *casks; /* [wish * n_casks + cask] */
    double *ok_frac, *over_frac;    /* likewise */
    size_t *taken, *best_taken; /* [wish * n_casks + cask]: how many, while the solver chooses */
    size_t *best_of_cask;       /* then, each cask by itself: its wish; SIZE_MAX: none */
    struct stv__blend blend;
    int *instead;                         /* per chosen cask, the best that is left; -1: none */
    double *total_nd, *other_nd, *now_nd; /* n_draws: bottles */
    /* Of a set without one of its casks: sums of a marriage, else bottles and failures. */
    struct stv__blend rest;
    double *rest_total_nd, *rest_other_nd;
    int rest_may_do;
    char *does, *did; /* n_draws: all is as wanted; likewise of what it is held against */
    int *list;        /* as many as there are casks, those alike counted */
};

/* What draws say of a set of casks on a day. */
struct stv__judged {
    double bottles_frac, strength_frac, wood_frac, over_frac, all_frac;
    double careful_nd;           /* bottles there are 19 times in 20 even if these draws flatter */
    struct stv_range bottles_nd; /* the draws stay in work->total */
};

const struct stv_planned_bottling *stv__wish_at(const struct stv__bottling_work *work, size_t wish);
/* The spirit in a cask on a wish's day. */
struct stv_spirit_history stv__spirit_of(const struct stv__bottling_work *work, size_t wish_idx,
                                         int cask_idx);
int stv__is_barred(const struct stv__bottling_work *work, size_t wish_idx, int cask_idx);
int stv__is_old_enough(const struct stv__bottling_work *work, size_t wish_idx, int cask_idx);
double stv__middle_nd(double *values_nd, size_t n); /* the median; the values are left in order */
/* Draws of one cask by itself; blend and total are of that cask then. */
void stv__one_cask(struct stv__bottling_work *work, size_t wish_idx, int cask_idx, size_t day_idx);
/* The blend of casks taken together. */
void stv__together(struct stv__bottling_work *work, const int *casks, size_t n_casks,
                   size_t day_idx);
/* Share of the blend's draws over the wood allowed. */
double stv__over_frac(const struct stv__bottling_work *work);
int stv__strength_does(const struct stv_planned_bottling *wish, double abv20_frac);
int stv__wood_does(const struct stv_house_rules *rules, double wood_nd);
/* Bottles of the draws that were judged by their odds: to sort them is the dear part. */
void stv__judge_bottles(struct stv__bottling_work *work, struct stv__judged *judged);
/* Judges casks taken together on a day; total_nd holds the bottles of every draw and `does`
 * whether all is as wanted afterwards. */
struct stv__judged stv__judge(struct stv__bottling_work *work, size_t wish_idx, const int *casks,
                              size_t n_casks, size_t day_idx);
/* Adds up all of a set but the at-th once; each cask then judged in its stead costs what one cask
 * does, however many the others are. */
void stv__judge_rest(struct stv__bottling_work *work, size_t wish_idx, const int *casks,
                     size_t n_casks, size_t at, size_t day_idx);
struct stv__judged stv__judge_odds_instead(struct stv__bottling_work *work, size_t wish_idx,
                                           int cask_idx, size_t day_idx);
size_t stv__casks_of_wish(const struct stv__bottling_work *work, size_t wish_idx, int *out);
/* How many casks of the house a cask of the outlook stands for, itself counted. */
size_t stv__stands_for(const struct stv_bottling_plan_request *request, size_t cask_idx);
/* Standard error of the difference in odds between `does` and `did`, which share their draws. */
double stv__gain_error_frac(const struct stv__bottling_work *work);
/* Bottles short of those wanted, when there are as many as least_nd. */
double stv__missing_nd(const struct stv_planned_bottling *wish, double least_nd);

/* Counts what could serve, what is left and what the house holds, by the draws that chose. */
void stv__bottling_count(struct stv__bottling_work *work, size_t wish_idx,
                         struct stv_bottling_outcome *out);
/* Fills the rest of an outcome from the draws of work->outlook for the casks of work->best_of_cask.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__bottling_tell(struct stv__bottling_work *work, size_t wish_idx,
                                                  struct stv_bottling_outcome *out);

#endif
