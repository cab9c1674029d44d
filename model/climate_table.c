/* A year is cut into equal steps; in each the hour's driving pressures and factors are averaged
 * at fixed nodes.  The wood factor depends on the hour's humidity and on composition together, so
 * fluxes are averaged, never their parts.  Calendar years are kept apart: the ensemble strings
 * them together. */
#include "model/climate_table.h"

#include "model/air.h"
#include "model/calendar.h"
#include "model/cask_hour.h"
#include "model/cooperage.h"
#include "model/position_liquid.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define YEAR_D 365
#define LEAST_COVER_FRAC 0.85 /* a record cut at UTC may lack 14 h of its first or last 5 days */
struct tau_sums {
    double ethanol_pa[STV__ENERGIES][STV__NODES], water_pa[STV__ENERGIES][STV__NODES];
    double arrhenius_nd[STV__ARRHENIUS];
    double pure_ethanol_pa;
};

struct step_sums {
    struct tau_sums tau[STV__TAUS];
    size_t n_hours;
};

struct stv_climate_table {
    const struct stv__cask_functions *functions;
    size_t n_steps;
    int32_t first_year;
    size_t n_years;
    struct step_sums *steps; /* [year * n_steps + step] */
    int32_t *whole_years;
    size_t n_whole;
    double mean_ethanol_pa[STV__TAUS];
    size_t n_hours, n_held;
};

size_t stv_table_steps(const struct stv_climate_table *table)
{
    return table->n_steps;
}

double stv_table_step_start_d(const struct stv_climate_table *table, size_t step_idx)
{
    return (double)YEAR_D * (double)step_idx / (double)table->n_steps;
}

double stv_table_held_frac(const struct stv_climate_table *table)
{
    return table->n_hours ? (double)table->n_held / (double)table->n_hours : 0.0;
}

const int32_t *stv_table_whole_years(const struct stv_climate_table *table, size_t *out_n)
{
    *out_n = table->n_whole;
    return table->whole_years;
}

/* One hour at one time constant into its step; returns whether the liquid was in range. */
static int add_hour(const struct stv__cask_functions *functions, double liquid_c, double room_pa,
                    double rh_frac, struct tau_sums *sums)
{
    struct stv__liquid_row row;
    double ethanol_pa[STV__NODES];
    double water_pa[STV__NODES];
    int in_range =
        stv__hour_pressures(functions, liquid_c, room_pa, rh_frac, &row, ethanol_pa, water_pa);
    for (size_t e = 0; e < STV__ENERGIES; e++) {
        for (size_t i = 0; i < STV__NODES; i++) {
            sums->ethanol_pa[e][i] += row.warmth_nd[e] * ethanol_pa[i];
            sums->water_pa[e][i] += row.warmth_nd[e] * water_pa[i];
        }
    }
    for (size_t a = 0; a < STV__ARRHENIUS; a++)
        sums->arrhenius_nd[a] += row.arrhenius_nd[a];
    sums->pure_ethanol_pa += row.pure_ethanol_pa;
    return in_range;
}

/* Step of the year of an hour; the last step takes the leap day too.  All hours of a typical year
 * are one year's, also those that the clock moves over its end. */
static size_t step_of(const struct stv_climate_table *table, const struct stv_grid *grid, size_t k,
                      int32_t *out_year)
{
    int hour;
    int64_t day_d = stv_grid_local_day(grid, k, &hour);
    *out_year = grid->is_typical ? table->first_year : stv_date_from_day(day_d).year;
    double place_d = stv_day_of_year(day_d) - 1 + ((double)hour + 0.5) / STV_DAY_H;
    size_t step = (size_t)(place_d / YEAR_D * (double)table->n_steps);
    return step < table->n_steps ? step : table->n_steps - 1;
}

static void add_position(struct stv_climate_table *table, const struct stv_position *position,
                         const struct stv_climate_member *member, double *const liquid_c[STV__TAUS])
{
    const struct stv_grid *grid = &position->grid;
    for (size_t k = 0; k < grid->n; k++) {
        int32_t year;
        size_t step = step_of(table, grid, k, &year);
        if (!isfinite(position->air_c[k]) || !isfinite(position->rh_frac[k]) ||
            !isfinite(liquid_c[0][k]))
            continue;
        struct step_sums *sums =
            &table->steps[(size_t)(year - table->first_year) * table->n_steps + step];
        double rh_frac = fmin(1.0, fmax(0.0, position->rh_frac[k] + member->humidity_offset_frac));
        double room_pa = rh_frac * stv_water_psat_pa(position->air_c[k] + member->liquid_offset_k);
        for (size_t t = 0; t < STV__TAUS; t++)
            table->n_held += !add_hour(table->functions, liquid_c[t][k] + member->liquid_offset_k,
                                       room_pa, rh_frac, &sums->tau[t]);
        table->n_hours += STV__TAUS;
        sums->n_hours++;
    }
}

static void divide_step(struct step_sums *sums)
{
    double n = (double)sums->n_hours;
    for (size_t t = 0; t < STV__TAUS; t++) {
        double *values = (double *)&sums->tau[t];
        for (size_t i = 0; i < sizeof sums->tau[t] / sizeof *values; i++)
            values[i] /= n;
    }
}

/* Mean ethanol pressure of the record's year: every step counts alike, however many years have it.
 */
static enum stv_status mean_pressures(struct stv_climate_table *table)
{
    for (size_t s = 0; s < table->n_steps; s++) {
        double sum[STV__TAUS] = {0.0};
        size_t n = 0;
        for (size_t y = 0; y < table->n_years; y++) {
            const struct step_sums *step = &table->steps[y * table->n_steps + s];
            if (step->n_hours == 0)
                continue;
            n++;
            for (size_t t = 0; t < STV__TAUS; t++)
                sum[t] += step->tau[t].pure_ethanol_pa;
        }
        if (n == 0)
            return STV_E_NO_DATA;
        for (size_t t = 0; t < STV__TAUS; t++)
            table->mean_ethanol_pa[t] += sum[t] / (double)(n * table->n_steps);
    }
    return STV_OK;
}

/* Sums to means; steps that too few hours cover are emptied. */
static enum stv_status finish(struct stv_climate_table *table)
{
    double full_h = (double)YEAR_D * STV_DAY_H / (double)table->n_steps;
    for (size_t y = 0; y < table->n_years; y++) {
        size_t known = 0;
        for (size_t s = 0; s < table->n_steps; s++) {
            struct step_sums *sums = &table->steps[y * table->n_steps + s];
            if ((double)sums->n_hours < LEAST_COVER_FRAC * full_h)
                sums->n_hours = 0;
            if (sums->n_hours == 0)
                continue;
            divide_step(sums);
            known++;
        }
        if (known == table->n_steps)
            table->whole_years[table->n_whole++] = table->first_year + (int32_t)y;
    }
    return mean_pressures(table);
}

static enum stv_status liquids(const struct stv_position *position,
                               const struct stv_table_options *options, double *room,
                               double *liquid_c[STV__TAUS])
{
    double convective_frac = stv_cask_convective_frac(options->numbers);
    for (size_t t = 0; t < STV__TAUS; t++) {
        liquid_c[t] = room + t * position->grid.n;
        enum stv_status status = stv_position_liquid_at_c(
            position, stv__tau_h[t] / options->exposed_frac, convective_frac, liquid_c[t]);
        if (status != STV_OK)
            return status;
    }
    return STV_OK;
}

static enum stv_status allocate(struct stv_climate_table *table, const struct stv_grid *grid,
                                double step_d)
{
    const double rounding = 1e-9; /* 365/5 is 73 steps, not 74 */
    int32_t last_year = stv_date_from_day(stv_grid_local_day(grid, grid->n - 1, NULL)).year;
    table->first_year = stv_date_from_day(stv_grid_local_day(grid, 0, NULL)).year;
    table->n_steps = (size_t)ceil(YEAR_D / step_d - rounding);
    table->n_years = (size_t)(last_year - table->first_year) + 1;
    table->steps = calloc(table->n_years * table->n_steps, sizeof *table->steps);
    table->whole_years = calloc(table->n_years, sizeof *table->whole_years);
    return table->steps && table->whole_years ? STV_OK : STV_E_MEMORY;
}

static enum stv_status build(struct stv_climate_table *table, const struct stv_position *position,
                             const struct stv_table_options *options)
{
    double *liquid_c[STV__TAUS];
    double *room = malloc(STV__TAUS * position->grid.n * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    enum stv_status status = allocate(table, &position->grid, options->step_d);
    if (status == STV_OK)
        status = liquids(position, options, room, liquid_c);
    if (status == STV_OK) {
        add_position(table, position, &options->member, liquid_c);
        status = finish(table);
    }
    free(room);
    return status;
}

enum stv_status stv_climate_table_new(const struct stv_position *position,
                                      const struct stv__cask_functions *functions,
                                      const struct stv_table_options *options,
                                      struct stv_climate_table **out)
{
    *out = NULL;
    if (!(options->step_d >= 1.0 && options->step_d <= 10.0) || position->grid.n == 0 ||
        !(options->exposed_frac > 0.0 && options->exposed_frac <= 1.0))
        return STV_E_DOMAIN;
    struct stv_climate_table *table = calloc(1, sizeof *table);
    if (!table)
        return STV_E_MEMORY;
    table->functions = functions;
    enum stv_status status = build(table, position, options);
    if (status != STV_OK) {
        stv_climate_table_free(table);
        return status;
    }
    *out = table;
    return STV_OK;
}

void stv_climate_table_free(struct stv_climate_table *table)
{
    if (!table)
        return;
    free(table->steps);
    free(table->whole_years);
    free(table);
}

size_t stv_table_find(const struct stv_climate_table *table, int32_t year, size_t step_idx)
{
    if (year < table->first_year || (size_t)(year - table->first_year) >= table->n_years)
        return SIZE_MAX;
    size_t data = (size_t)(year - table->first_year) * table->n_steps + step_idx;
    return table->steps[data].n_hours ? data : SIZE_MAX;
}

size_t stv_table_find_any(const struct stv_climate_table *table, size_t n_th, size_t step_idx)
{
    size_t found = 0;
    for (size_t y = 0; y < table->n_years; y++)
        found += table->steps[y * table->n_steps + step_idx].n_hours > 0;
    if (found == 0)
        return SIZE_MAX;
    size_t wanted = n_th % found;
    for (size_t y = 0; y < table->n_years; y++) {
        size_t data = y * table->n_steps + step_idx;
        if (table->steps[data].n_hours > 0 && wanted-- == 0)
            return data;
    }
    return SIZE_MAX;
}

struct stv_table_weights stv_table_weights(const struct stv_climate_table *table,
                                           double time_constant_h, double permeance_ea_j_mol)
{
    struct stv_table_weights weights;
    stv__tau_weights(time_constant_h, weights.tau_nd);
    double nodes[STV__ENERGIES];
    for (size_t e = 0; e < STV__ENERGIES; e++)
        nodes[e] = stv__energy_node_j_mol(table->functions, e);
    stv__weights3(nodes, permeance_ea_j_mol, weights.energy_nd);
    return weights;
}

void stv_table_step(const struct stv_climate_table *table, size_t data_idx,
                    const struct stv_table_weights *weights, struct stv_step_climate *out)
{
    const struct step_sums *step = &table->steps[data_idx];
    *out = (struct stv_step_climate){.ethanol_pressure_rel_nd = 0.0};
    double arrhenius[STV__ARRHENIUS] = {0.0};
    for (size_t t = 0; t < STV__TAUS; t++) {
        const struct tau_sums *sums = &step->tau[t];
        double w = weights->tau_nd[t];
        for (size_t e = 0; e < STV__ENERGIES; e++) {
            double we = w * weights->energy_nd[e];
            for (size_t i = 0; i < STV__NODES; i++) {
                out->ethanol_pa[i] += we * sums->ethanol_pa[e][i];
                out->water_pa[i] += we * sums->water_pa[e][i];
            }
        }
        for (size_t a = 0; a < STV__ARRHENIUS; a++)
            arrhenius[a] += w * sums->arrhenius_nd[a];
        out->ethanol_pressure_rel_nd += w * sums->pure_ethanol_pa / table->mean_ethanol_pa[t];
    }
    for (size_t a = 0; a < STV__ARRHENIUS; a++)
        out->log_arrhenius_nd[a] = log(arrhenius[a]);
}

struct stv_step_flux stv_step_flux(const struct stv_climate_table *table,
                                   const struct stv_step_climate *step, double ethanol_mole_frac)
{
    double weights[STV__NODES];
    struct stv_step_flux flux = {0.0, 0.0};
    stv__node_weights(table->functions, ethanol_mole_frac, weights);
    for (size_t i = 0; i < STV__NODES; i++) {
        flux.ethanol_pa += weights[i] * step->ethanol_pa[i];
        flux.water_pa += weights[i] * step->water_pa[i];
    }
    return flux;
}

double stv_step_arrhenius20_nd(const struct stv_step_climate *step, double ea_j_mol)
{
    double step_j_mol = stv__arrhenius_node_j_mol(1) - stv__arrhenius_node_j_mol(0);
    double place = (ea_j_mol - stv__arrhenius_node_j_mol(0)) / step_j_mol;
    double middle = fmin(STV__ARRHENIUS - 2.0, fmax(1.0, round(place)));
    size_t m = (size_t)middle;
    double x = place - middle;
    const double *node = step->log_arrhenius_nd;
    /* Parabola through three nodes of the logarithm, which is nearly straight in energy. */
    double slope = 0.5 * (node[m + 1] - node[m - 1]);
    double bend = 0.5 * (node[m + 1] + node[m - 1]) - node[m];
    return exp(node[m] + x * (slope + x * bend));
}
