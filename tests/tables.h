/* Shared by the tests of climate tables: rows, plans, and what a column says. */
#ifndef STV_TESTS_TABLES_H
#define STV_TESTS_TABLES_H

#include "model/air.h"
#include "model/climate_table.h"
#include "model/esters.h"
#include "model/evaporation.h"
#include "model/position_liquid.h"
#include "model/spirit_vapour.h"
#include "model/wood.h"
#include "tests/places.h"
#include <gsl/gsl_errno.h>
#include <gsl/gsl_integration.h>
#define YEAR_H 8760
#define NODE 16 /* 28 h, as a 200 L cask */

static struct stv_params params[STV__LANES];
static struct stv__lane_rows *rows, *alike;
static gsl_integration_glfixed_table *gauss;

static inline int make_rows(void **state)
{
    struct stv_params same[STV__LANES];
    (void)state;
    for (size_t l = 0; l < STV__LANES; l++) {
        double off = ((double)l - 7.0) / 8.0; /* -0.9 .. 1, 0 for the eighth */
        same[l] = params[l] = stv_params_default();
        params[l].permeance_ea_j_mol += 20000.0 * off;
        params[l].water_activity_offset_nd = 0.022 * off;
        params[l].extraction_ea_offset_j_mol = 15000.0 * off;
        params[l].ester_ea_j_mol -= 9000.0 * off;
    }
    gauss = gsl_integration_glfixed_table_alloc(20);
    bool made = stv__lane_rows_new(params, &usual, STV__LANES, &rows) == STV_OK &&
                stv__lane_rows_new(same, &usual, 1, &alike) == STV_OK;
    return made && gauss ? 0 : -1;
}

static inline int free_rows(void **state)
{
    (void)state;
    stv__lane_rows_free(rows);
    stv__lane_rows_free(alike);
    stv__lane_rows_free(NULL);
    gsl_integration_glfixed_table_free(gauss);
    return 0;
}

static inline struct stv__table_plan plan_of(const struct stv_position *place, int first_year,
                                             int last_year)
{
    struct stv__table_plan plan = {.position = place,
                                   .rows = rows,
                                   .step_d = 5,
                                   .first_year = first_year,
                                   .last_year = last_year,
                                   .seed = 5,
                                   .convective_frac = stv_cask_convective_frac(&usual)};
    for (size_t l = 0; l < STV__LANES; l++)
        plan.tau_factor_nd[l] = 1.0;
    return plan;
}

static inline struct stv_climate_table *table_of(const struct stv__table_plan *plan)
{
    struct stv_climate_table *table;
    stv_assert_ok(stv_climate_table_new(plan, &table));
    return table;
}

/* A panel at a node. */
struct cell {
    struct stv_climate_table *table;
    size_t panel, node;
};

static inline struct cell cell_of(struct stv_climate_table *table, size_t panel, size_t node)
{
    return (struct cell){table, panel, node};
}

/* Columns of all lanes in a step, or in a day of it. */
struct columns {
    float lane[STV__LANES][STV__ROW_MOST];
};

static inline struct columns day_of_step(struct cell cell, int year, size_t step_idx,
                                         size_t day_idx)
{
    struct columns columns = {{{0.0f}}};
    /* The window's second node, or the first where there is none before it. */
    size_t first = cell.node > 0 ? cell.node - 1 : 0;
    for (size_t l = 0; l < STV__LANES; l++) {
        const struct stv__table_window window = {cell.panel, first, l, year, step_idx, day_idx};
        const float *found[STV__TAU_WINDOW];
        stv_assert_ok(stv__table_rows(cell.table, &window, found));
        memcpy(columns.lane[l], found[cell.node - first],
               stv__lane_rows_columns(rows)->n_columns * sizeof(float));
    }
    return columns;
}

static inline struct columns step_of(struct cell cell, int year, size_t step_idx)
{
    return day_of_step(cell, year, step_idx, SIZE_MAX);
}

static inline double column(const struct columns *columns, size_t column_idx, size_t lane)
{
    return (double)columns->lane[lane][column_idx];
}

/* Water and ethanol pressures of a lane's columns at a composition. */
struct pressures {
    double water_pa, ethanol_pa;
};

static inline struct pressures pressures_at(const struct columns *columns, size_t lane,
                                            double root_nd)
{
    size_t panel = stv__panel_of(root_nd);
    double low = stv__panel_bound_nd[panel], high = stv__panel_bound_nd[panel + 1];
    double place = (2.0 * root_nd - low - high) / (high - low);
    struct pressures at = {0.0, 0.0};
    for (size_t k = STV__NODES8; k-- > 0;) {
        at.water_pa = at.water_pa * place + column(columns, STV__COL_WATER + k, lane);
        at.ethanol_pa = at.ethanol_pa * place + column(columns, STV__COL_ETHANOL + k, lane);
    }
    return at;
}

/* The sheet's own equation for an hour, its mean over humidity by twenty points. */
static inline struct pressures hour_pressures(const struct stv_params *of, double mole_frac,
                                              double liquid_c, double air_c, double rh_frac)
{
    struct stv_spirit_activity activity;
    stv_assert_ok(stv_spirit_activity(mole_frac, liquid_c, &activity));
    double water_nd = activity.water_nd + of->water_activity_offset_nd, wood = 0.0;
    for (size_t i = 0; i < 20; i++) {
        double h, weight;
        gsl_integration_glfixed_point(0.0, 1.0, i, &h, &weight, gauss);
        wood += weight * stv_wood_local_factor_nd(rh_frac + h * (water_nd - rh_frac), liquid_c);
    }
    wood *= exp(-of->permeance_ea_j_mol / STV_GAS_J_MOLK *
                (1.0 / stv_k_from_c(liquid_c) - 1.0 / 288.15));
    return (struct pressures){
        wood * (water_nd * stv_water_psat_pa(liquid_c) - rh_frac * stv_water_psat_pa(air_c)),
        wood * activity.ethanol_nd * stv_ethanol_psat_pa(liquid_c)};
}

/* The larger of both errors, as fluxes, over the sum of both fluxes: what litres and strength see
 * of it. */
static inline double flux_error(struct pressures got, struct pressures want)
{
    double ratio = params[0].permeance_ratio_nd;
    double scale = fabs(want.water_pa) + want.ethanol_pa / ratio;
    return fmax(fabs(got.water_pa - want.water_pa),
                fabs(got.ethanol_pa - want.ethanol_pa) / ratio) /
           scale;
}

/* All members, all compositions, cold and hot, dry and damp. */
static const struct climate_of swinging = {.mean_c = 17.3,
                                           .year_k = 11.0,
                                           .day_k = 7.5,
                                           .rh_frac = 0.56,
                                           .rh_year_frac = 0.11,
                                           .rh_day_frac = 0.13,
                                           .radiant_more_k = 0.9};

#endif
