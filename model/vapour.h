/* Ethanol in the air of a warehouse: how much its casks give off, what that makes of the air that
 * passes, and how much fresh air brings it under a limit.  Steady evaporation alone: no spill, no
 * filling, no sudden leak. */
#ifndef STV_MODEL_VAPOUR_H
#define STV_MODEL_VAPOUR_H

#include "model/status.h"

#include <stddef.h>

/* Limits that a user is told of, parts in a million by volume.
 * Source: NIOSH Pocket Guide to Chemical Hazards, ethyl alcohol: REL and OSHA PEL 1000 ppm over a
 * working day; IDLH 3300 ppm, a tenth of the lower explosive limit of 3.3 %. */
#define STV_VAPOUR_DAY_PPM 1000.0
#define STV_VAPOUR_TENTH_LEL_PPM 3300.0
#define STV_VAPOUR_QUARTER_LEL_PPM 8250.0

/* Volume of a flow of ethanol vapour, m3/h, as an ideal gas.
 *
 * ethanol_kg_h   any; temp_c above absolute zero; pressure_pa > 0 (NaN otherwise) */
double stv_vapour_m3_h(double ethanol_kg_h, double temp_c, double pressure_pa);

/* Parts in a million when it mixes with a flow of fresh air, which may be 0 (infinite then). */
double stv_vapour_ppm(double vapour_m3_h, double air_m3_h);

/* Fresh air that holds it at limit_ppm.
 *
 * mixing_nd  1 perfect; 3 with low inlets and high outlets, up to 10 in dead aisles
 * Source:    dilution ventilation, Q = K G/C (ACGIH Industrial Ventilation, from memory) */
double stv_vapour_air_m3_h(double vapour_m3_h, double limit_ppm, double mixing_nd);

/* A room's air, hour by hour: one well-mixed volume, exact within the hour.
 *
 * release_kg_h, air_m3_h, temp_c   n_hours; a NaN release counts as none and gives NaN
 * volume_m3, pressure_pa   > 0
 * out_ppm    n_hours, means over the hour; starts in the steady state of the first hour
 * Errors:    STV_E_ARG NULL; STV_E_DOMAIN volume or pressure */
STV_MUST_CHECK enum stv_status stv_vapour_room(const double *release_kg_h, const double *air_m3_h,
                                               const double *temp_c, size_t n_hours,
                                               double volume_m3, double pressure_pa,
                                               double *out_ppm);

/* Hours of airing from one concentration to another, the source left out; infinite without air.
 * Source: dilution of a mixed room, K V/Q ln(from/to) */
double stv_vapour_airing_h(double volume_m3, double air_m3_h, double mixing_nd, double from_ppm,
                           double to_ppm);

/* Share by which vapour in the room slows the loss of ethanol from a cask at most: room over
 * spirit, in partial pressure.
 *
 * Errors: NaN where the spirit's vapour is not known */
double stv_vapour_slowing_frac(double room_ppm, double pressure_pa, double ethanol_mole_frac,
                               double liquid_c);

#endif
