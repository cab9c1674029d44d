/* Planned bottlings: which casks go into each, with what odds, at what price. */
#ifndef STV_MODEL_BOTTLING_PLAN_H
#define STV_MODEL_BOTTLING_PLAN_H

#include "model/lineage.h"
#include "model/outlook.h"

/* What a house wants of one bottling. */
struct stv_planned_bottling {
    int64_t day_d;
    int is_married;    /* all casks together; else each cask by itself */
    int is_as_drawn;   /* no water at bottling: a strength over the most does not do */
    double bottles_nd; /* wanted, after all that is taken off; 0: not said */
    size_t n_casks;    /* wanted, 0: as many as the bottles take */
    double least_abv20_frac, most_abv20_frac; /* in the bottle */
    double kept_back_nd; /* bottles kept back as samples and archive: of the marriage, or of each
                            single cask */
    size_t series_idx;   /* releases of one series share it: their casks should be sisters */
};

/* Why a cask cannot serve. */
enum stv_unfit {
    STV_UNFIT_AGE,
    STV_UNFIT_STRENGTH,
    STV_UNFIT_WOOD,
    STV_UNFIT_BOTTLES, /* too few by itself */
    STV_UNFIT_MARKET,  /* is_barred */
    STV_UNFIT_N
};

/* One cask of a bottling. */
struct stv_chosen_cask {
    int cask_idx;
    double ok_frac;              /* share of draws in which it meets every wish by itself */
    double over_frac;            /* over the wood allowed by then */
    struct stv_range bottles_nd; /* after losses, before what is kept back */
    struct stv_range abv20_frac; /* as drawn */
    struct stv_range wood_nd;
    double wait_cost_bottles_nd; /* a year later: bottles fewer, and ... */
    double wait_over_frac;       /* ... the odds that it is over by then */
    int substitute_idx; /* the best cask in its stead by the draws that chose; -1: none would serve
                         */
    double substitute_bottles_nd; /* of the whole, median of paired differences to the choice */
    double substitute_least_nd;   /* bottles of the whole with it, 19 times in 20 */
    double substitute_all_frac;   /* odds of the whole with it */
    int may_say_single;           /* its spirit never met another cask's, nor was it topped */
    /* Against the choice, in the draws that tell; a twentieth in odds, or what so many draws cannot
     * tell apart, is alike.  Better: in odds, or in bottles that are missing at like odds. */
    int has_like_odds, is_substitute_better;
    int is_tie; /* the substitute has like odds, and as many bottles */
};

/* What comes of one planned bottling. */
struct stv_bottling_outcome {
    struct stv_chosen_cask *casks; /* n_casks, in the book's order */
    size_t n_casks;
    int is_impossible; /* wants more bottles or casks than all full ones give, fit or not: no cask
                          is chosen for it, and the others are planned as if it were not there */
    struct stv_range bottles_nd; /* to be had, after all that is taken off; p05: 19 in 20 */
    double missing_bottles_nd;   /* of those wanted, at 19 in 20 odds; 0: enough */
    double missing_abv20_frac;   /* of the strength wanted, of the worst cask, likewise */
    size_t n_missing_casks;
    double bottles_frac;                  /* odds that there are as many bottles as wanted */
    double strength_frac;                 /* odds that every strength lies where it is wanted */
    double wood_frac;                     /* odds that all wood lies where it is allowed */
    double age_frac;                      /* 1 when all are old enough by then, else 0 */
    double all_frac;                      /* all of it at once: joint, draw by draw */
    struct stv_range abv20_frac, wood_nd; /* of all casks as one liquid, as drawn */
    double lost_bottles_nd;               /* in emptying, filtering and filling: middle */
    double kept_back_nd;                  /* samples and archive, all casks */
    double wait_cost_bottles_nd;          /* a year later, the same casks: NaN without that day */
    double wait_over_frac;   /* odds that a cask of them is over the wood allowed by then */
    size_t n_could_serve;    /* casks that could serve and that no other bottling takes */
    size_t n_left;           /* of them, not taken here either */
    double house_bottles_nd; /* of every full cask on the day, whether it serves or not: middle */
    size_t n_elsewhere;      /* could serve, and other bottlings take them */
    size_t n_unfit[STV_UNFIT_N]; /* full casks that could not serve, by what fails in most draws */
    int youngest_age_y;          /* whole years on the day, of the youngest part */
    int had_water;               /* water was added to some of it in the cask */
    int gets_water;              /* and at bottling, in most draws */
    int may_say_single;          /* each bottle is of one cask alone, never topped or married */
};

struct stv_bottling_plan {
    struct stv_bottling_outcome *outcomes; /* per wish */
    size_t n;
    size_t n_rounds; /* of the choice, made more careful until 19 in 20 draws suffice */
};

struct stv_bottling_plan_request {
    const struct stv_outlook *outlook; /* holds every wish's day; the first is today */
    /* Runs some casks of the ledger through the same days by other draws, as many: what is told of
     * the chosen and their substitutes comes from them, for the best of many choices looks better
     * than it is in the draws it was chosen by.  NULL: from outlook.
     * casks   n of them, ascending
     * out     freed with the plan, empty unless the status is OK
     * out_at  per cask: where it stands in out */
    enum stv_status (*run_told)(void *context, const int *casks, size_t n, struct stv_outlook *out,
                                int *out_at);
    void *told_context;
    const struct stv_ledger *ledger;
    const struct stv_house_rules *rules;
    const struct stv_planned_bottling *wishes;
    size_t n_wishes;
    double least_bottles_nd;   /* a single cask that gives fewer is not worth it */
    const size_t *lot_of_cask; /* casks of one lot are sisters; SIZE_MAX: of none */
    /* Per cask of the outlook, how many of the house it stands for, itself counted; NULL: 1 each.
     * A plan takes the cask itself alone and counts the others among those that are left. */
    const size_t *n_alike;
    const char *is_barred; /* [wish * n_casks + cask]: not taken whatever it holds; NULL: none */
};

/* How many casks of each kind a plan may come to: what the solver takes of them in any of its
 * rounds, the outlook's cask standing for all of its kind.  They share its draws here, which makes
 * a sum look less sure than it is, so that the numbers are rather too large.
 *
 * request     run_told is not used; n_alike: of each kind
 * out_n_most  per cask of the outlook; a plan from the casks themselves then has a choice
 * Errors:     as stv_bottling_plan */
STV_MUST_CHECK enum stv_status
stv_bottling_plan_numbers(const struct stv_bottling_plan_request *request, size_t *out_n_most);

/* Chooses casks for all planned bottlings at once, each cask once, and tells the odds.
 *
 * The goal, in order: as many bottles and casks as are wanted, 19 times in 20; the highest odds,
 * to a twentieth; casks that would not wait a year first; sisters for the releases of a series; few
 * bottles over.  No single cask that is left would better the odds by more, and by more than
 * chance, in the draws that chose.
 *
 * request  days: a wish whose day the outlook lacks is an error; a year's wait is told where the
 *          outlook holds that day too
 * out      per wish; a wish that cannot be met has what there is, and what is missing; what is
 *          counted of all casks comes from the draws that chose
 *
 * Errors:  STV_E_NO_DATA a day that an outlook lacks; STV_E_ARG run_told gave another number of
 *          draws; STV_E_DOMAIN a strength, bottle or count outside; STV_E_NO_CONVERGENCE the solver
 *          gave up; STV_E_MEMORY; those of run_told
 * Source:  own rule, solved as a mixed-integer program (GLPK); its weights are judgement
 * Assumes: what the ledger holds until a wish's day and nothing else; a single cask that is
 *          stronger than wanted gets water at bottling unless as drawn
 * Memory:  free with stv_bottling_plan_free; GLPK itself ends the program without memory */
STV_MUST_CHECK enum stv_status stv_bottling_plan(const struct stv_bottling_plan_request *request,
                                                 struct stv_bottling_plan *out);
void stv_bottling_plan_free(struct stv_bottling_plan *plan);

#endif
