/* Temperature of the liquid in a cask at a position. */
#ifndef STV_MODEL_POSITION_LIQUID_H
#define STV_MODEL_POSITION_LIQUID_H

#include "model/position.h"
#include "model/status.h"

/* Hourly liquid temperature of a cask of one time constant.
 *
 * position          any grid of hours; hours whose air or radiant temperature is NaN are holes
 * time_constant_h   the cask's, 1..2000 h
 * convective_frac   as stv_cask_liquid_c
 * out_liquid_c      position->grid.n values, deg C; NaN in holes, all NaN when not STV_OK
 *
 * Shape:   one column in, one out, caller owns; they may not overlap
 * Errors:  STV_E_DOMAIN  time constant outside; STV_E_ARG  an empty grid
 * Accuracy, source: as stv_cask_liquid_c; each unbroken run of hours counts as a record of its own
 * Memory:  allocates nothing */
STV_MUST_CHECK enum stv_status stv_position_liquid_at_c(const struct stv_position *position,
                                                        double time_constant_h,
                                                        double convective_frac,
                                                        double *out_liquid_c);

#endif
