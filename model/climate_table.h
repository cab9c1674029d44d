/* One place's climate boiled down to what a cask feels in each step of the year: mean fluxes at
 * nodes of composition, mean Arrhenius factors at nodes of activation energy, at three time
 * constants.  All casks and draws that stand there share it. */
#ifndef STV_MODEL_CLIMATE_TABLE_H
#define STV_MODEL_CLIMATE_TABLE_H

#include "model/cask_functions.h"
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
    double exposed_frac; /* share of a cask's outside that sees the air */
};

/* Builds the table from a position's hours.
 * functions: shared by all tables of one set of base parameters
 * Errors: STV_E_NO_DATA some step of the year is never covered; STV_E_DOMAIN step or exposure;
 *         STV_E_MEMORY
 * Memory: free with stv_climate_table_free. */
STV_MUST_CHECK enum stv_status stv_climate_table_new(const struct stv_position *position,
                                                     const struct stv__cask_functions *functions,
                                                     const struct stv_table_options *options,
                                                     struct stv_climate_table **out);
void stv_climate_table_free(struct stv_climate_table *table);

/* Share of hours whose liquid lay outside -15..50 C and was held at that end. */
double stv_table_held_frac(const struct stv_climate_table *table);

/* Steps of a year, and the day of the year (0-based) at which one starts; step n is day 365. */
size_t stv_table_steps(const struct stv_climate_table *table);
double stv_table_step_start_d(const struct stv_climate_table *table, size_t step_idx);

/* Whole years of the record (every step known), ascending; *out_n of them. */
const int32_t *stv_table_whole_years(const struct stv_climate_table *table, size_t *out_n);

/* Index of the step's data in a calendar year; SIZE_MAX when the record does not hold it. */
size_t stv_table_find(const struct stv_climate_table *table, int32_t year, size_t step_idx);
/* The same step in any year that has it: the n-th of them, counted round. */
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
struct stv_table_weights stv_table_weights(const struct stv_climate_table *table,
                                           double time_constant_h, double permeance_ea_j_mol);

void stv_table_step(const struct stv_climate_table *table, size_t data_idx,
                    const struct stv_table_weights *weights, struct stv_step_climate *out);

/* Driving pressures at a composition of the tables' range: times the permeance (ethanol's is the
 * water's over the ratio) they are the fluxes.  The caller keeps to the range. */
struct stv_step_flux {
    double ethanol_pa, water_pa;
};
struct stv_step_flux stv_step_flux(const struct stv_climate_table *table,
                                   const struct stv_step_climate *step, double ethanol_mole_frac);

/* Mean Arrhenius factor relative to 20 C, 20..90 kJ/mol. */
double stv_step_arrhenius20_nd(const struct stv_step_climate *step, double ea_j_mol);

#endif
