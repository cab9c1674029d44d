/* One place's climate boiled down to what a cask feels in each step of the year: mean fluxes at
 * nodes of composition, mean Arrhenius factors at nodes of activation energy, at three time
 * constants.  All casks and draws that stand there share it. */
#ifndef STV_MODEL_CLIMATE_TABLE_H
#define STV_MODEL_CLIMATE_TABLE_H

#include "model/cask_functions.h"
#include "model/cask_numbers.h"
#include "model/draws.h"
#include "model/params.h"
#include "model/position.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

struct stv_climate_table;

struct stv_table_options {
    double step_d; /* wished length of a step; a year is cut into whole steps, 1..10 */
    struct stv_climate_member member;
    double exposed_frac;                    /* share of a cask's outside that sees the air */
    const struct stv_cask_numbers *numbers; /* its films */
};

/* Builds the table from a position's hours.
 *
 * position   hours that are NaN are left out; a step needs 85 % of its hours, and the last of a
 *            leap year is a day longer.  All hours of a typical year are one year.
 * functions  shared by all tables of one set of base parameters; must outlive the table
 * options    step_d 1..10; exposed_frac above 0, up to 1; the member's offsets move temperature
 *            and humidity, which stays in 0..1
 *
 * Errors:  STV_E_NO_DATA  some step of the year is covered in no year
 *          STV_E_DOMAIN   step or exposure outside, or an empty grid
 *          STV_E_MEMORY
 * Accuracy: as tested, of both fluxes together: 1e-3 from 50 to 70 % vol in steady air, 2e-3 by the
 *           time constant on days of +-7.5 K, 5e-3 by a wood energy that draws move
 * Assumes: liquid beyond -15..50 C is held at that end, and counted
 * Memory:  free with stv_climate_table_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv_climate_table_new(const struct stv_position *position,
                                                     const struct stv__cask_functions *functions,
                                                     const struct stv_table_options *options,
                                                     struct stv_climate_table **out);
void stv_climate_table_free(struct stv_climate_table *table);

/* Share of hours whose liquid lay outside -15..50 C and was held at that end (mean over the time
 * constants), 0..1. */
double stv_table_held_frac(const struct stv_climate_table *table);

/* Steps of a year, and the day of the year (0-based) at which one starts; the step after the last
 * starts at 365. */
size_t stv_table_steps(const struct stv_climate_table *table);
double stv_table_step_start_d(const struct stv_climate_table *table, size_t step_idx);

/* Whole years of the record (every step known), ascending; *out_n of them. */
const int32_t *stv_table_whole_years(const struct stv_climate_table *table, size_t *out_n);

/* Index of the step's data in a calendar year; SIZE_MAX when the record does not hold it. */
size_t stv_table_find(const struct stv_climate_table *table, int32_t year, size_t step_idx);
/* The same step in any year that has it: the n-th of them, counted round; never SIZE_MAX in a
 * finished table. */
size_t stv_table_find_any(const struct stv_climate_table *table, size_t n_th, size_t step_idx);

/* What a cask of given weights needs of one step. */
struct stv_step_climate {
    double ethanol_pa[STV__NODES], water_pa[STV__NODES]; /* mean of g f (p_liquid - p_air) */
    double ethanol_pressure_rel_nd;          /* mean ethanol pressure over the record's mean */
    double log_arrhenius_nd[STV__ARRHENIUS]; /* ln of the mean factor, relative to 20 C */
};

/* Lagrange weights of a cask, fixed while its time constant and parameters are. */
struct stv_table_weights {
    double tau_nd[3];
    double energy_nd[STV__ENERGIES];
};

/* time_constant_h beyond 10..130 h (times the exposed share) counts as that end, where the daily
 * swing is nearly all there or nearly all gone; permeance_ea_j_mol best within 20 kJ/mol of the
 * base's. */
struct stv_table_weights stv_table_weights(const struct stv_climate_table *table,
                                           double time_constant_h, double permeance_ea_j_mol);

/* data_idx from stv_table_find or stv_table_find_any, not SIZE_MAX. */
void stv_table_step(const struct stv_climate_table *table, size_t data_idx,
                    const struct stv_table_weights *weights, struct stv_step_climate *out);

/* Driving pressures at a composition of the tables' range: times the permeance (ethanol's is the
 * water's over the ratio) they are the fluxes.  The caller keeps to the range. */
struct stv_step_flux {
    double ethanol_pa, water_pa;
};
struct stv_step_flux stv_step_flux(const struct stv_climate_table *table,
                                   const struct stv_step_climate *step, double ethanol_mole_frac);

/* Mean Arrhenius factor of the step relative to 20 C, 20..90 kJ/mol; further out an extrapolation.
 * Accuracy: as tested 3e-5. */
double stv_step_arrhenius20_nd(const struct stv_step_climate *step, double ea_j_mol);

#endif
