/* Shared inside model/: one hour of a place as casks feel it, at three time constants of the liquid
 * and at the nodes of composition. */
#ifndef STV_MODEL_CASK_HOUR_H
#define STV_MODEL_CASK_HOUR_H

#include "model/cask_functions.h"

enum { STV__TAUS = 3 };

/* Time constants of the nodes, hours, of a cask that sees air all round: from a small quick cask to
 * a large one in a block. */
extern const double stv__tau_h[STV__TAUS];

/* Lagrange weights of three points at x. */
void stv__weights3(const double points_nd[3], double x_nd, double out_nd[3]);

/* Weights of a time constant among the nodes, in its logarithm; beyond them it counts as their end,
 * where the daily swing is nearly all there or nearly all gone. */
void stv__tau_weights(double time_constant_h, double out_nd[STV__TAUS]);

/* Driving pressures of ethanol and water at the nodes, wood factor included, warmth not.
 *
 * room_pa, rh_frac   water vapour of the room, pressure and humidity 0..1
 * out_row            the liquid's row
 * Returns 0 when the liquid lay outside -15..50 C and was held at that end. */
int stv__hour_pressures(const struct stv__cask_functions *functions, double liquid_c,
                        double room_pa, double rh_frac, struct stv__liquid_row *out_row,
                        double out_ethanol_pa[STV__NODES], double out_water_pa[STV__NODES]);

#endif
