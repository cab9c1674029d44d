/* What nobody knows exactly of a building that stands, or of one that is planned, as a small set of
 * equally likely buildings. */
#ifndef STV_MODEL_BUILDING_SPREAD_H
#define STV_MODEL_BUILDING_SPREAD_H

#include "model/building.h"

#include <stdint.h>

enum stv_building_doubt {
    STV_DOUBT_LEAKS,
    STV_DOUBT_VENTS,
    STV_DOUBT_SHELTER,
    STV_DOUBT_FAN,
    STV_DOUBT_WALL_FINISH,
    STV_DOUBT_ROOF_FINISH,
    STV_DOUBT_WALL_LAYERS,
    STV_DOUBT_ROOF_LAYERS,
    STV_DOUBT_WETNESS,
    STV_DOUBT_CASK_VAPOUR,
    STV_BUILDING_DOUBTS
};

/* One doubt, for a list that people read; static text. */
struct stv_building_doubt_info {
    const char *what;   /* "leaks" */
    const char *spread; /* "a factor of 2 either way" */
    const char *source;
    double sd_nd; /* one standard deviation, on the scale that the doubt is drawn on */
};
const struct stv_building_doubt_info *stv_building_doubt_info(enum stv_building_doubt doubt);

/* Which of a set of members; the doubts depend on seed, their name and this alone. */
struct stv_building_member {
    uint64_t seed;
    size_t member_idx, n_members; /* one member alone is the building as it is said */
};

/* The building in one member.
 *
 * building  no stv_building_fault; neither does the result have one
 * as_is     the building it is compared with, which may be the same: what both have alike errs
 *           alike in both, and so do leaks, openings, fan, layers and wetness by the same factor;
 *           only a finish (absorptance) that differs from as_is errs by itself, as new paint does
 *
 * Source:  spreads: building_spread.c, each with its own
 * Assumes: the doubts are independent; mixing between tiers, films, size and stock are not drawn */
struct stv_building stv_building_drawn(const struct stv_building *building,
                                       const struct stv_building *as_is,
                                       struct stv_building_member member);

#endif
