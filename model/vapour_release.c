/* A cask's flux of ethanol in an hour is
 *
 *     wall P/ratio f(T; E) sum over nodes w_tau w_x g a_e psat(T_tau)
 *
 * with weights w of its time constant and composition.  The weights of all casks of a place are
 * added before any hour is looked at, so that an hour costs the same for one cask as for a
 * thousand.  What is then left of an hour is a smooth function of the liquid's temperature and the
 * room's humidity: it is laid out on a grid of both for some trials side by side, and hours read it
 * there.  Each cask counts with its own size, wall, content and strength.  Joints give off their
 * share of the content, part of it with the pressure of ethanol over its mean. */
#include "model/vapour_release.h"

#include "model/cask_hour.h"
#include "model/evaporation.h"
#include "model/position_liquid.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define REFERENCE_K 288.15 /* 15 C, where the permeances are stated */
/* Straight lines between the grid's points: 0.25 K leave 8e-5, 0.005 of humidity 4e-4 at its wet
 * end. */
#define STEPS_PER_K 4
#define ROWS 261 /* -15 to 50 C */
#define HUMIDITY_STEPS 200
#define COLUMNS (HUMIDITY_STEPS + 1)

struct stv__vapour_grid {
    double ethanol_pa[ROWS][COLUMNS][STV__NODES];
    double cooler_mol_j[ROWS]; /* (1/T - 1/T_ref) / R */
    double pure_ethanol_pa[ROWS];
};

/* Where an hour lies on one axis of the grid: past which point, and how far. */
struct spot {
    size_t at;
    double past_nd;
};

/* From a column to another; none where from > to. */
struct span {
    size_t from, to;
};

struct stv__vapour_hours {
    size_t n;
    double *liquid_c[STV__TAUS], *rh_frac; /* rh_frac NaN: not known */
    double mean_pure_pa[STV__TAUS];        /* over the known hours */
    struct span read[STV__TAUS][ROWS];     /* columns that the known hours read */
    stv__v8 (*told)[COLUMNS];              /* kg/h of some trials: room for one time constant */
};

static double held_mole_frac(double mole_frac)
{
    return fmin(STV_TABLE_MOST_MOLE_FRAC, fmax(STV_TABLE_LEAST_MOLE_FRAC, mole_frac));
}

/* Weights of the nodes of composition; an error of the water activity moves the fluxes as in the
 * cask's own path, and beyond the tables' weak end the flux goes with the ethanol left. */
static void node_weights(const struct stv__cask_functions *functions,
                         const struct stv_params *params, double mole_frac,
                         double out_nd[STV__NODES])
{
    double x = held_mole_frac(mole_frac), scale = fmin(1.0, mole_frac / x),
           offset = params->water_activity_offset_nd;
    double moved = x;
    if (offset != 0.0) {
        moved = stv__mole_frac_at_offset(functions, x, offset);
        scale *=
            stv__ethanol_activity20_nd(functions, x) / stv__ethanol_activity20_nd(functions, moved);
    }
    stv__node_weights(functions, held_mole_frac(moved), out_nd);
    for (size_t i = 0; i < STV__NODES; i++)
        out_nd[i] *= scale;
}

enum stv_status stv__vapour_load_add(const struct stv__cask_functions *functions,
                                     const struct stv__vapour_cask *cask,
                                     struct stv__vapour_load *load)
{
    const struct stv_params *params = cask->params;
    double ethanol_kg, water_kg, node_nd[STV__NODES], tau_nd[STV__TAUS];
    if (!(cask->volume20_l > 0.0))
        return STV_OK;
    enum stv_status status =
        stv_spirit_masses_kg(cask->volume20_l, cask->abv20_frac, &ethanol_kg, &water_kg);
    if (status != STV_OK)
        return status;
    double wall_m2 = cask->geometry->mid_area_m2 * params->area_factor_nd *
                     stv_dry_wood_factor_nd(cask->geometry, params, cask->numbers);
    double kg_h_pa = wall_m2 * params->water_permeance_mol_m2spa / params->permeance_ratio_nd *
                     STV_ETHANOL_KG_MOL * STV_HOUR_S;
    double joints_per_y =
        stv_neutral_loss_per_y(cask->geometry, params, cask->numbers) + params->leak_per_y;
    double joint_kg_h = joints_per_y / (STV_YEAR_D * STV_DAY_H) * ethanol_kg;
    double tau_h = stv_cask_time_constant_h(cask->geometry, cask->volume20_l, cask->abv20_frac,
                                            cask->numbers) *
                   params->time_constant_factor_nd;
    node_weights(functions, params,
                 stv_mole_frac_from_mass_frac(ethanol_kg / (ethanol_kg + water_kg)), node_nd);
    stv__tau_weights(tau_h, tau_nd);
    for (size_t t = 0; t < STV__TAUS; t++) {
        for (size_t i = 0; i < STV__NODES; i++)
            load->wall_kg_h_pa[t][i] += kg_h_pa * tau_nd[t] * node_nd[i];
        load->warm_joint_kg_h[t] += joint_kg_h * params->neutral_temp_share_frac * tau_nd[t];
    }
    load->joint_kg_h += joint_kg_h * (1.0 - params->neutral_temp_share_frac);
    load->permeance_ea_j_mol = params->permeance_ea_j_mol;
    return STV_OK;
}

enum stv_status stv__vapour_grid_new(const struct stv__cask_functions *functions,
                                     struct stv__vapour_grid **out)
{
    struct stv__vapour_grid *grid = malloc(sizeof *grid);
    *out = grid;
    if (!grid)
        return STV_E_MEMORY;
    for (size_t r = 0; r < ROWS; r++) {
        double liquid_c = STV_TABLE_LEAST_C + (double)r / STEPS_PER_K, water_pa[STV__NODES];
        struct stv__liquid_row row;
        for (size_t c = 0; c < COLUMNS; c++)
            (void)stv__hour_pressures(functions, liquid_c, 0.0, (double)c / HUMIDITY_STEPS, &row,
                                      grid->ethanol_pa[r][c], water_pa);
        grid->cooler_mol_j[r] = (1.0 / stv_k_from_c(liquid_c) - 1.0 / REFERENCE_K) / STV_GAS_J_MOLK;
        grid->pure_ethanol_pa[r] = row.pure_ethanol_pa;
    }
    return STV_OK;
}

void stv__vapour_grid_free(struct stv__vapour_grid *grid)
{
    free(grid);
}

STV__INLINE struct spot spot_of(double place, size_t n_points)
{
    double most = (double)(n_points - 1), held = place > 0.0 ? place : 0.0;
    held = held < most ? held : most;
    size_t at = (size_t)held;
    if (at > n_points - 2)
        at = n_points - 2;
    return (struct spot){at, held - (double)at};
}

STV__INLINE struct spot row_of(double liquid_c)
{
    return spot_of((liquid_c - STV_TABLE_LEAST_C) * STEPS_PER_K, ROWS);
}

STV__INLINE struct spot column_of(double rh_frac)
{
    return spot_of(rh_frac * HUMIDITY_STEPS, COLUMNS);
}

static void widen(size_t column, struct span *span)
{
    span->from = column < span->from ? column : span->from;
    span->to = column + 1 > span->to ? column + 1 : span->to;
}

/* The member's offsets, the part of the grid that its hours read, and the mean pressure. */
static void look_over(const struct stv_position *position, const struct stv_climate_member *member,
                      const struct stv__vapour_grid *grid, struct stv__vapour_hours *hours)
{
    double sum_pa[STV__TAUS] = {0.0};
    size_t n_known = 0;
    for (size_t t = 0; t < STV__TAUS; t++)
        for (size_t r = 0; r < ROWS; r++)
            hours->read[t][r] = (struct span){COLUMNS, 0};
    for (size_t k = 0; k < hours->n; k++) {
        hours->rh_frac[k] = (double)NAN;
        if (!isfinite(position->rh_frac[k]) || !isfinite(hours->liquid_c[0][k]))
            continue;
        hours->rh_frac[k] =
            fmin(1.0, fmax(0.0, position->rh_frac[k] + member->humidity_offset_frac));
        size_t column = column_of(hours->rh_frac[k]).at;
        for (size_t t = 0; t < STV__TAUS; t++) {
            hours->liquid_c[t][k] += member->liquid_offset_k;
            struct spot row = row_of(hours->liquid_c[t][k]);
            const double *pure_pa = &grid->pure_ethanol_pa[row.at];
            sum_pa[t] += pure_pa[0] + row.past_nd * (pure_pa[1] - pure_pa[0]);
            widen(column, &hours->read[t][row.at]);
            widen(column, &hours->read[t][row.at + 1]);
        }
        n_known++;
    }
    for (size_t t = 0; t < STV__TAUS; t++)
        hours->mean_pure_pa[t] = sum_pa[t] / (double)n_known;
}

enum stv_status stv__vapour_hours_new(const struct stv_position *position,
                                      const struct stv__vapour_outside *outside,
                                      const struct stv_climate_member *member,
                                      const struct stv__vapour_grid *grid,
                                      struct stv__vapour_hours **out)
{
    size_t n = position->grid.n;
    struct stv__vapour_hours *hours = calloc(1, sizeof *hours);
    double *room = malloc((STV__TAUS + 1) * n * sizeof *room + 1);
    stv__v8(*told)[COLUMNS] = aligned_alloc(64, ROWS * sizeof *told);
    *out = NULL;
    if (!hours || !room || !told) {
        free(hours);
        free(room);
        free(told);
        return STV_E_MEMORY;
    }
    *hours = (struct stv__vapour_hours){.n = n, .rh_frac = room, .told = told};
    enum stv_status status = STV_OK;
    for (size_t t = 0; t < STV__TAUS && status == STV_OK; t++) {
        hours->liquid_c[t] = room + (t + 1) * n;
        status = stv_position_liquid_at_c(position, stv__tau_h[t] / outside->exposed_frac,
                                          outside->convective_frac, hours->liquid_c[t]);
    }
    if (status == STV_OK) {
        look_over(position, member, grid, hours);
        *out = hours;
    } else {
        stv__vapour_hours_free(hours);
    }
    return status;
}

void stv__vapour_hours_free(struct stv__vapour_hours *hours)
{
    if (!hours)
        return;
    free(hours->rh_frac);
    free(hours->told);
    free(hours);
}

/* Loads of some trials, one to a lane, at one time constant. */
struct lane_loads {
    stv__v8 wall_kg_h_pa[STV__NODES], joint_kg_h, warm_joint_kg_h, permeance_ea_j_mol;
};

/* Joints count once, with the first time constant. */
static void lane_loads_of(const struct stv__vapour_load loads[STV__PACKET], size_t tau,
                          struct lane_loads *out)
{
    for (size_t l = 0; l < STV__PACKET; l++) {
        for (size_t i = 0; i < STV__NODES; i++)
            out->wall_kg_h_pa[i][l] = loads[l].wall_kg_h_pa[tau][i];
        out->joint_kg_h[l] = tau == 0 ? loads[l].joint_kg_h : 0.0;
        out->warm_joint_kg_h[l] = loads[l].warm_joint_kg_h[tau];
        out->permeance_ea_j_mol[l] = loads[l].permeance_ea_j_mol;
    }
}

STV__WIDE static void lay_out(const struct stv__vapour_grid *grid,
                              const struct stv__vapour_hours *hours, size_t tau,
                              const struct lane_loads *loads)
{
    for (size_t r = 0; r < ROWS; r++) {
        const struct span *read = &hours->read[tau][r];
        stv__v8 warmth = stv__exp(-loads->permeance_ea_j_mol * grid->cooler_mol_j[r]);
        stv__v8 joints = loads->joint_kg_h + loads->warm_joint_kg_h * (grid->pure_ethanol_pa[r] /
                                                                       hours->mean_pure_pa[tau]);
        for (size_t c = read->from; c <= read->to; c++) {
            const double *ethanol_pa = grid->ethanol_pa[r][c];
            stv__v8 wall_kg_h = loads->wall_kg_h_pa[0] * ethanol_pa[0];
            for (size_t i = 1; i < STV__NODES; i++)
                wall_kg_h += loads->wall_kg_h_pa[i] * ethanol_pa[i];
            hours->told[r][c] = warmth * wall_kg_h + joints;
        }
    }
}

STV__WIDE static void read_hours(const struct stv__vapour_hours *hours, size_t tau,
                                 double *inout_kg_h)
{
    for (size_t k = 0; k < hours->n; k++) {
        double *to = inout_kg_h + k * STV__PACKET;
        if (isnan(hours->rh_frac[k])) {
            stv__store(stv__all((double)NAN), to);
            continue;
        }
        struct spot row = row_of(hours->liquid_c[tau][k]), column = column_of(hours->rh_frac[k]);
        const stv__v8 *cold = &hours->told[row.at][column.at];
        const stv__v8 *warm = &hours->told[row.at + 1][column.at];
        stv__v8 cold_kg_h = cold[0] + column.past_nd * (cold[1] - cold[0]);
        stv__v8 warm_kg_h = warm[0] + column.past_nd * (warm[1] - warm[0]);
        stv__store(stv__load(to) + cold_kg_h + row.past_nd * (warm_kg_h - cold_kg_h), to);
    }
}

void stv__vapour_hours_add(const struct stv__vapour_grid *grid,
                           const struct stv__vapour_hours *hours,
                           const struct stv__vapour_load loads[STV__PACKET], double *inout_kg_h)
{
    for (size_t t = 0; t < STV__TAUS; t++) {
        struct lane_loads lanes;
        lane_loads_of(loads, t, &lanes);
        lay_out(grid, hours, t, &lanes);
        read_hours(hours, t, inout_kg_h);
    }
}
