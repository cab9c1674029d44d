/* Whether spirit fits into a cask at its hottest, and how full it may be filled.
 *
 * Sources, cited below by key:
 *   [R22]   OIML R 22, International alcoholometric tables, 1975
 *
 * Nothing here allocates. */
#ifndef STV_MODEL_CASK_ROOM_H
#define STV_MODEL_CASK_ROOM_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

/* Room above the spirit that is wanted at its hottest, as a share of the cask: 2 to 3 per cent is
 * asked for.  Common practice, no published source. */
#define STV_ROOM_LEAST_FRAC 0.02
#define STV_ROOM_USUAL_FRAC 0.025
#define STV_ROOM_MOST_FRAC 0.03

/* How full a cask is filled when nobody says it, as a share of it at 20 C.  Common practice, no
 * published source. */
#define STV_USUAL_FILL_FRAC 0.97

/* What new or dry wood drinks within two days of filling, as a share of the fill.  A trade
 * magazine's figure, second-hand; wood that was wet before drinks less. */
#define STV_INDRINK_FRAC 0.02

/* A cask and the hottest that its spirit gets. */
struct stv_cask_limit {
    double capacity_l; /* NaN: not said */
    double hottest_c;  /* of the spirit; -20..50 */
    double room_frac;  /* wanted there, 0..0.5 */
};

/* Volume of a mass of spirit at a temperature, litres.
 *
 * mass_kg           kg, not negative
 * ethanol_mass_frac 0..1
 * temp_c            deg C, -20..50; above 40 extrapolated
 *
 * Result NaN outside, or for frozen spirit.
 * Source:  [R22] */
double stv_spirit_volume_l(double mass_kg, double ethanol_mass_frac, double temp_c);

/* True when so many litres at the hottest leave the room that is wanted; false also when the
 * capacity is not known. */
bool stv_fits(const struct stv_cask_limit *limit, double volume_hot_l);

/* False for a room outside 0..0.5 and for a capacity that is said and not above 0. */
bool stv_cask_limit_is_possible(const struct stv_cask_limit *limit);

/* What would hold litres that a cask has no room for. */
struct stv_room_help {
    double tight_l;    /* usual size that just holds them; NaN: none, the cask's own, or roomy_l */
    double roomy_l;    /* usual size that leaves the room wanted; NaN: none */
    size_t n_casks;    /* such casks as this one to split them over */
    double share_frac; /* of them that one such cask has room for */
};

/* limit         with a capacity that is said
 * volume_hot_l  at the hottest, above 0
 *
 * Source:  sizes that casks are commonly sold in, 50 to 600 L; common practice, no published
 *          source */
struct stv_room_help stv_room_help(const struct stv_cask_limit *limit, double volume_hot_l);

/* Litres at fill_temp_c that leave exactly the room wanted at the hottest, or at filling when the
 * spirit is warmer then; NaN when it cannot be told.
 *
 * room_frac  0..0.5, in place of the limit's own
 *
 * Source:  [R22]; the cask itself grows by less than 3 per cent of what the spirit does, which is
 *          left out (order of magnitude, from memory) */
double stv_most_full_l(const struct stv_cask_limit *limit, double ethanol_mass_frac,
                       double fill_temp_c, double room_frac);

#endif
