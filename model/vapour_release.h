/* Private to vapour_trials.c: what casks of any content and parameters give off in each hour of a
 * place, as a sum over the nodes of time constant and composition. */
#ifndef STV_MODEL_VAPOUR_RELEASE_H
#define STV_MODEL_VAPOUR_RELEASE_H

#include "model/cask_hour.h"
#include "model/cooperage.h"
#include "model/draws.h"
#include "model/lanes.h"
#include "model/params.h"
#include "model/position.h"
#include "model/status.h"

#include <stddef.h>

/* Casks of one place in one draw, added up. */
struct stv__vapour_load {
    double wall_kg_h_pa[STV__TAUS][STV__NODES]; /* wall times permeance, by node */
    double joint_kg_h;                          /* the same in every hour */
    double warm_joint_kg_h[STV__TAUS];          /* with the pressure of ethanol */
    double permeance_ea_j_mol;                  /* of all of them: it is the house's */
};

/* Adds a cask to the load of its place.
 *
 * volume20_l, abv20_frac   what it holds; nothing is added for no litres, or NaN
 * exposed_frac             share of its outside that sees the air
 *
 * Errors:  STV_E_DOMAIN  as stv_spirit_masses_kg */
struct stv__vapour_cask {
    const struct stv_cask_geometry *geometry;
    const struct stv_params *params;
    const struct stv_cask_numbers *numbers;
    double volume20_l, abv20_frac;
};
STV_MUST_CHECK enum stv_status stv__vapour_load_add(const struct stv__cask_functions *functions,
                                                    const struct stv__vapour_cask *cask,
                                                    struct stv__vapour_load *load);

/* What drives ethanol out at each temperature of the liquid and humidity of the room, for all
 * places.
 *
 * Errors:   STV_E_MEMORY
 * Accuracy: hours read it by straight lines, within 0.02 % of stv__hour_pressures, and 0.05 % where
 *           the room is above 90 % of humidity
 * Memory:   4 MB; free with stv__vapour_grid_free, which accepts NULL */
struct stv__vapour_grid;
STV_MUST_CHECK enum stv_status stv__vapour_grid_new(const struct stv__cask_functions *functions,
                                                    struct stv__vapour_grid **out);
void stv__vapour_grid_free(struct stv__vapour_grid *grid);

/* The hours of a place under a member of the climate. */
struct stv__vapour_hours;

/* What surrounds the casks of a place: the share of their outside that sees the air, and of that
 * film the convective share. */
struct stv__vapour_outside {
    double exposed_frac, convective_frac;
};

/* Errors: STV_E_MEMORY; those of stv_position_liquid_at_c.  Free with stv__vapour_hours_free. */
STV_MUST_CHECK enum stv_status stv__vapour_hours_new(const struct stv_position *position,
                                                     const struct stv__vapour_outside *outside,
                                                     const struct stv_climate_member *member,
                                                     const struct stv__vapour_grid *grid,
                                                     struct stv__vapour_hours **out);
void stv__vapour_hours_free(struct stv__vapour_hours *hours);

/* Adds what the loads of some trials give off to each of the place's hours, kg/h:
 * inout_kg_h[hour * STV__PACKET + trial]; NaN where the place's climate is not known. */
void stv__vapour_hours_add(const struct stv__vapour_grid *grid,
                           const struct stv__vapour_hours *hours,
                           const struct stv__vapour_load loads[STV__PACKET], double *inout_kg_h);

#endif
