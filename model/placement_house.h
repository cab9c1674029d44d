/* Where a fill run, or the whole house, had better lie: every kind of cask tried at every kind of
 * place by the same draws, then shared out for the most merit. */
#ifndef STV_MODEL_PLACEMENT_HOUSE_H
#define STV_MODEL_PLACEMENT_HOUSE_H

#include "model/assignment.h"
#include "model/placement.h"

/* Casks of which nothing was learned are tried under this id, all with the same draws, so that what
 * tells groups apart is never one cask's luck. */
#define STV_HOUSE_STAND_IN_ID "casks alike"

/* Casks alike in wood, size, what was done to them, plan and present kind of place. */
struct stv_cask_group {
    int cask_idx; /* in the ledger: stands for them all */
    size_t n_casks;
    int64_t target_day_d;
    size_t present_idx; /* kind of place where they lie; SIZE_MAX: in none */
    double mass_kg;     /* of one, full */
};

/* Places alike in climate, reach and plate. */
struct stv_place_kind {
    size_t position_idx;    /* which climate */
    struct stv_place place; /* one of them: its tier counts */
    enum stv_reach reach;
    size_t n_places; /* free ones, and those where casks of the groups lie */
    double most_kg;  /* what the plate leaves for one cask; INFINITY: no plate is known */
};

struct stv_house_wish {
    int64_t from_day_d; /* of the fill or of the moves: the groups' casks are full that day */
    const struct stv_cask_group *groups;
    size_t n_groups;
    const struct stv_place_kind *kinds;
    size_t n_kinds;
    size_t most_moves; /* casks that lie somewhere and may move; SIZE_MAX: any */
};

/* A kind of cask at a kind of place. */
struct stv_house_outcome {
    struct stv_place_score score;     /* free_idx: the kind of place; related to the group's best */
    struct stv_range loss_frac_per_y; /* of the litres it had on from_day_d, at 20 C */
    int is_as_present;                /* cannot be told from where the group's casks lie now */
    int is_allowed; /* 0: heavier than the plate leaves; where a cask lies now it may stay */
};

/* Two ways to share out, compared: what the first gives more. */
struct stv_house_difference {
    double more_frac;  /* share of the draws in which it gives more bottles */
    double bottles_nd; /* median of paired sums */
    double wood_ok_nd; /* casks inside the wood range, expected */
    double abv_ok_nd;  /* casks at or above the least strength, expected */
    double fruit_frac; /* mean over casks, of medians */
    double behind_nd;  /* casks that are brought behind others, which must be moved for it */
    int is_matter;     /* beyond 1.5 % of the bottles, a tenth of the casks or 0.04 of fruit */
};

struct stv_house_placement {
    size_t n_groups, n_kinds;
    struct stv_house_outcome *outcomes; /* [group * n_kinds + kind] */
    size_t *best_idx;                   /* per group: the kind of place with the most merit */
    struct stv_assignment assignment;
    struct stv_range bottles_nd; /* of all that were placed */
    /* Against what would be done without this answer: casks with a place stay, the others fill up
     * from the floor in their order. */
    struct stv_house_difference against_plain;
    double margin_bottles_nd;
};

/* Tries, judges and shares out.
 *
 * house   its days are not used
 * wish    what the book says after from_day_d is left out; target days at least a year later
 * out     free with stv_house_placement_free; empty when the status is not OK
 *
 * Shape:   n_groups x n_kinds outcomes
 * Errors:  STV_E_ARG      no such cask, a target that is not later than from_day_d
 *          STV_E_NO_DATA  no group, no kind of place, or a group's cask is empty that day
 *          others of stv_outlook_run and stv_assignment_solve
 * Source:  own rule.  Of casks that lie nowhere, a place that cannot be told from their best
 *          (model/placement.h) counts as the best; of casks that lie somewhere, one that cannot be
 *          told from theirs counts as theirs.  Then a move costs one margin of 1.5 % of the
 * bottles, a place behind others one, one that asks for gear 0.1, each tier 0.002 for each year of
 * the plan: judgement Assumes: casks alike turn out as the one that stands for them */
STV_MUST_CHECK enum stv_status stv_house_place(const struct stv_outlook_request *house,
                                               const struct stv_house_wish *wish,
                                               struct stv_house_placement *out);
/* Frees and empties; may be called twice. */
void stv_house_placement_free(struct stv_house_placement *placement);

/* A wish of the house that a group does not get. */
enum stv_house_gap_kind {
    STV_GAP_PLACE,     /* no place was left, or no plate bears them */
    STV_GAP_WOOD_LOW,  /* in most draws outside the wood range, the middle one below it */
    STV_GAP_WOOD_HIGH, /* ... or above it */
    STV_GAP_STRENGTH,  /* in most draws below the least strength */
    STV_GAP_BEST       /* a place that is not as good as the best for them was left */
};
struct stv_house_gap {
    enum stv_house_gap_kind kind;
    size_t group_idx, n_casks;
    /* Mean over these casks: wood index, strength (fraction) or bottles missing; 0 for places. */
    double missing_nd;
    enum stv_place_part part; /* STV_GAP_BEST: what these casks are behind by most */
    double met_frac; /* mean share of the draws in which the wish is met; NaN for places, best */
};

/* Names what is not met, group by group.
 * out_gaps  room for 5 x n_groups; returns how many there are */
size_t stv_house_gaps(const struct stv_house_placement *placement,
                      const struct stv_house_rules *rules, struct stv_house_gap *out_gaps);

/* One place, and one cask. */
struct stv_house_slot {
    struct stv_place place;
    size_t kind_idx;
};
struct stv_house_item {
    size_t group_idx;
    size_t slot_idx; /* where it lies; SIZE_MAX: nowhere */
};

/* From kinds to casks and places: who may stay stays, those hardest to reach first; free places are
 * taken lower tiers and fronts first, in the casks' order, by a cask that lies somewhere the one
 * nearest along the bays.
 *
 * slots        every place of every kind, n_places of each
 * items        every cask of every group, n_casks of each
 * out_slot_idx n_items: SIZE_MAX where a cask got no place
 * Errors:      STV_E_ARG  counts that do not agree; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_house_expand(const struct stv_house_placement *placement,
                                                const struct stv_house_slot *slots, size_t n_slots,
                                                const struct stv_house_item *items, size_t n_items,
                                                size_t *out_slot_idx);

#endif
