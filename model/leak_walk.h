/* Which casks to look at first on a walk for leaks.
 *
 * Layer 8; pure. */
#ifndef STV_MODEL_LEAK_WALK_H
#define STV_MODEL_LEAK_WALK_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

enum stv_walk_reason {
    STV_WALK_LEARNED, /* by its gauges it may leak */
    STV_WALK_NEW,     /* its first hot weeks: staves and joints are not yet tried */
    STV_WALK_TOP,     /* on the highest tier that holds casks, where wood dries most */
    STV_WALK_NOT
};

/* Odds of a leak from which on a cask is looked at in any month; one in twenty before anything is
 * measured.  Source: judgement */
#define STV_WALK_LEARNED_FRAC 0.2

/* A full cask. */
struct stv_walk_cask {
    int cask_idx, tier_idx;      /* tier_idx -1: no place known */
    double leak_frac;            /* odds by what was learned; NaN when nothing was */
    int64_t fill_day_d;          /* of the spirit that it holds */
    enum stv_walk_reason reason; /* set */
};

/* Puts casks in the order of the walk and says why each is looked at; those of no reason come last.
 *
 * is_hot          it is the warm season: new casks and the top tier are looked at too
 * hot_from_day_d  first day of that season: what was filled after the one before it ended is new to
 *                 the heat; only looked at when it is hot
 * returns         how many there is a reason for
 *
 * Order:  learned by their odds; then new ones from the highest tier down, newest first; then the
 *         top tier, newest first; equals by cask
 * Source: common practice (a walk within days of the first hot week: top tiers, newest fills), no
 *         published source */
size_t stv_leak_walk_order(struct stv_walk_cask *casks, size_t n, bool is_hot,
                           int64_t hot_from_day_d);

#endif
