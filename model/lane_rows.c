/* An hour's driving pressures are g f a_e psat_e and g f (a_w psat_w - p_room), g the mean of the
 * wood's local factor between the room's humidity and the liquid's water activity: the difference
 * of its integrals over their distance.  Everything that depends on the liquid's temperature alone
 * stands in rows 0.05 K apart; the integral over humidity is a polynomial of temperature whose
 * coefficients are tabulated over humidity, and the same for both ends, so that close to
 * equilibrium the difference is clean. */
#include "model/air.h"
#include "model/esters.h"
#include "model/lane_rows_parts.h"
#include "model/spirit_vapour.h"
#include "model/units.h"
#include "model/wood.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define REFERENCE_15C_K 288.15

/* Column of an energy, shared when every lane has the same one there already. */
static size_t column_of(struct stv__lane_rows *rows, const double ea_j_mol[STV__LANES])
{
    size_t f = 0;
    for (; f < rows->n_factors; f++) {
        size_t lane = 0;
        while (lane < STV__LANES && rows->factor_ea_j_mol[lane][f] == ea_j_mol[lane])
            lane++;
        if (lane == STV__LANES)
            break;
    }
    if (f == rows->n_factors) {
        for (size_t lane = 0; lane < STV__LANES; lane++)
            rows->factor_ea_j_mol[lane][f] = ea_j_mol[lane];
        rows->n_factors++;
    }
    return STV__COL_FACTORS + f;
}

static size_t extraction_column(struct stv__lane_rows *rows, const struct stv_cask_numbers *numbers,
                                double default_j_mol)
{
    double ea_j_mol[STV__LANES];
    for (size_t lane = 0; lane < STV__LANES; lane++)
        ea_j_mol[lane] = stv_oak_ea_j_mol(default_j_mol, &rows->lanes[lane], numbers);
    return column_of(rows, ea_j_mol);
}

static size_t fixed_column(struct stv__lane_rows *rows, double fixed_j_mol)
{
    double ea_j_mol[STV__LANES];
    for (size_t lane = 0; lane < STV__LANES; lane++)
        ea_j_mol[lane] = fixed_j_mol;
    return column_of(rows, ea_j_mol);
}

static void choose_columns(struct stv__lane_rows *rows, const struct stv_cask_numbers *numbers)
{
    double ester_j_mol[STV__LANES];
    for (size_t k = 0; k < STV_OAK_N; k++) {
        struct stv_oak_constants oak = stv_oak_constants_of(numbers, (enum stv_oak_kind)k);
        rows->columns.fast[k] = extraction_column(rows, numbers, oak.fast_ea_j_mol);
        rows->columns.slow[k] = extraction_column(rows, numbers, oak.slow_ea_j_mol);
        rows->columns.decay[k] =
            oak.decay_per_y > 0.0 ? fixed_column(rows, oak.decay_ea_j_mol) : SIZE_MAX;
    }
    for (size_t lane = 0; lane < STV__LANES; lane++)
        ester_j_mol[lane] = rows->lanes[lane].ester_ea_j_mol;
    rows->columns.ester = column_of(rows, ester_j_mol);
    rows->columns.oxidation = fixed_column(rows, numbers->oxidation_ea_j_mol);
    rows->columns.n_factors = rows->n_factors;
    rows->columns.ester_apart = STV__COL_FACTORS + 2 * rows->n_factors;
    rows->columns.n_columns = rows->columns.ester_apart + 1;
    rows->columns.n_padded = (rows->columns.n_columns + 7) / 8 * 8;
    rows->stride = ROW_FACTORS + rows->n_factors <= ROW_WARMTH + 16 ? ROW_WARMTH + 16 : ROW_MOST;
}

/* Integral over humidity at one temperature, Simpson on every cell. */
static void integrate_wood(double temp_c, double out[HUMIDITY_CELLS + 1])
{
    double low = stv_wood_local_factor_nd(0.0, temp_c);
    out[0] = 0.0;
    for (size_t i = 0; i < HUMIDITY_CELLS; i++) {
        double middle = stv_wood_local_factor_nd(((double)i + 0.5) / HUMIDITY_CELLS, temp_c);
        double high = stv_wood_local_factor_nd(((double)i + 1.0) / HUMIDITY_CELLS, temp_c);
        out[i + 1] = out[i] + (low + 4.0 * middle + high) / (6.0 * HUMIDITY_CELLS);
        low = high;
    }
}

/* The integral as a polynomial of temperature, through eight Chebyshev nodes of the range. */
static enum stv_status fill_wood(struct stv__lane_rows *rows)
{
    double(*at)[HUMIDITY_CELLS + 1] = malloc(WOOD_TERMS * sizeof *at);
    if (!at)
        return STV_E_MEMORY;
    for (size_t i = 0; i < WOOD_TERMS; i++)
        integrate_wood(MIDDLE_C + HALF_K * rows->fit.node_nd[i], at[i]);
    for (size_t h = 0; h <= HUMIDITY_CELLS; h++) {
        double values[WOOD_TERMS];
        for (size_t i = 0; i < WOOD_TERMS; i++)
            values[i] = at[i][h];
        stv__panel_fit_polynomial(&rows->fit, values, rows->wood_nd[h]);
    }
    free(at);
    return STV_OK;
}

/* Rounding must not carry the last row past the end of the range. */
static double row_c(size_t row)
{
    return fmin(STV_TABLE_MOST_C, STV_TABLE_LEAST_C + ROW_STEP_K * (double)row);
}

/* A straight line between rows lies above what bends upwards, by a twelfth of the bend in the mean:
 * 3e-6, and always to one side.  A column of n rows is lowered by that. */
static void centre_lines(double *column, size_t n, size_t stride)
{
    double before = column[0], bend = column[0] - 2.0 * column[stride] + column[2 * stride];
    for (size_t r = 0; r < n; r++) {
        double here = column[r * stride];
        if (r > 0 && r + 1 < n)
            bend = before - 2.0 * here + column[(r + 1) * stride];
        column[r * stride] -= bend / 12.0;
        before = here;
    }
}

static void fill_psat(struct stv__lane_rows *rows)
{
    for (size_t r = 0; r < AIR_ROWS; r++)
        rows->psat_pa[r] = stv_water_psat_pa(AIR_LEAST_C + ROW_STEP_K * (double)r);
    for (size_t r = 0; r < N_ROWS; r++)
        rows->ethanol_pa[r] = stv_ethanol_psat_pa(row_c(r));
    for (size_t r = 0; r < N_ROWS; r++) {
        const double *middle = rows->ethanol_pa + (r == 0 ? 1 : r == N_ROWS - 1 ? r - 1 : r);
        rows->ethanol_bend_pa[r] = middle[-1] - 2.0 * middle[0] + middle[1];
    }
    centre_lines(rows->psat_pa, AIR_ROWS, 1);
    centre_lines(rows->ethanol_pa, N_ROWS, 1);
}

double stv__lane_rows_psat_pa(const struct stv__lane_rows *rows, double temp_c)
{
    double place = (temp_c - AIR_LEAST_C) / ROW_STEP_K;
    if (!(place >= 0.0 && place < AIR_ROWS - 1))
        return stv_water_psat_pa(temp_c);
    size_t row = (size_t)place;
    return rows->psat_pa[row] +
           (place - (double)row) * (rows->psat_pa[row + 1] - rows->psat_pa[row]);
}

/* What a row holds of the liquid, whatever the lane. */
struct liquid {
    double temp_c, water_pa, pure_ethanol_pa;
    struct stv_spirit_activity activity[STV__NODES8];
};

static enum stv_status liquid_of(const struct stv__lane_rows *rows, size_t panel_idx, size_t row,
                                 struct liquid *out)
{
    out->temp_c = row_c(row);
    out->water_pa = stv_water_psat_pa(out->temp_c);
    out->pure_ethanol_pa = stv_ethanol_psat_pa(out->temp_c);
    for (size_t i = 0; i < STV__NODES8; i++) {
        double root = stv__node_root_nd(rows, panel_idx, i);
        enum stv_status status = stv_spirit_activity(root * root, out->temp_c, &out->activity[i]);
        if (status != STV_OK)
            return status;
    }
    return STV_OK;
}

static void fill_row(const struct stv__lane_rows *rows, size_t lane, const struct liquid *liquid,
                     double *row)
{
    const struct stv_params *params = &rows->lanes[lane];
    double warmth = exp(-params->permeance_ea_j_mol / STV_GAS_J_MOLK *
                        (1.0 / stv_k_from_c(liquid->temp_c) - 1.0 / REFERENCE_15C_K));
    for (size_t i = 0; i < STV__NODES8; i++) {
        double activity =
            fmin(1.0, fmax(0.0, liquid->activity[i].water_nd + params->water_activity_offset_nd));
        row[ROW_ACTIVITY + i] = activity;
        row[ROW_INTEGRAL + i] = wood_at(rows, activity, liquid->temp_c);
        row[ROW_WATER + i] = warmth * activity * liquid->water_pa;
        row[ROW_ETHANOL + i] = warmth * liquid->activity[i].ethanol_nd * liquid->pure_ethanol_pa;
    }
    row[ROW_WARMTH] = warmth;
    for (size_t c = ROW_WARMTH + 1; c < rows->stride; c++)
        row[c] = 0.0;
    row[ROW_PURE] = liquid->pure_ethanol_pa;
    for (size_t f = 0; f < rows->n_factors; f++)
        row[ROW_FACTORS + f] = stv_arrhenius20_nd(rows->factor_ea_j_mol[lane][f], liquid->temp_c);
}

/* What a kelvin adds, from the rows on both sides. */
static void fill_slopes(double *panel, size_t stride)
{
    for (size_t r = 0; r < N_ROWS; r++) {
        const double *low = panel + (r > 0 ? r - 1 : r) * stride;
        const double *high = panel + (r + 1 < N_ROWS ? r + 1 : r) * stride;
        double per_k = 1.0 / (ROW_STEP_K * (double)((size_t)(high - low) / stride));
        size_t middle = ROW_WATER + STV__NODES8 / 2;
        panel[r * stride + ROW_WARMTH_PER_K] = per_k * (high[ROW_WARMTH] - low[ROW_WARMTH]);
        panel[r * stride + ROW_WATER_PER_K] =
            0.5 * per_k * (high[middle] + high[middle - 1] - low[middle] - low[middle - 1]);
    }
}

static enum stv_status make_panel(struct stv__lane_rows *rows, size_t panel_idx)
{
    for (size_t lane = 0; lane < rows->n_distinct; lane++) {
        if (!rows->panel_nd[panel_idx][lane])
            rows->panel_nd[panel_idx][lane] =
                aligned_alloc(64, N_ROWS * rows->stride * sizeof(double));
        if (!rows->panel_nd[panel_idx][lane])
            return STV_E_MEMORY;
    }
    for (size_t r = 0; r < N_ROWS; r++) {
        struct liquid liquid;
        enum stv_status status = liquid_of(rows, panel_idx, r, &liquid);
        if (status != STV_OK)
            return status;
        for (size_t lane = 0; lane < rows->n_distinct; lane++)
            fill_row(rows, lane, &liquid, rows->panel_nd[panel_idx][lane] + r * rows->stride);
    }
    for (size_t lane = 0; lane < rows->n_distinct; lane++) {
        fill_slopes(rows->panel_nd[panel_idx][lane], rows->stride);
        for (size_t c = 0; c < rows->stride; c++)
            centre_lines(rows->panel_nd[panel_idx][lane] + c, N_ROWS, rows->stride);
    }
    rows->is_made[panel_idx] = true;
    return STV_OK;
}

enum stv_status stv__lane_rows_panel(struct stv__lane_rows *rows, size_t panel_idx)
{
    enum stv_status status = STV_OK;
    omp_set_lock(&rows->lock);
    if (!rows->is_made[panel_idx])
        status = make_panel(rows, panel_idx);
    omp_unset_lock(&rows->lock);
    return status;
}

enum stv_status stv__lane_rows_new(const struct stv_params lanes[STV__LANES],
                                   const struct stv_cask_numbers *numbers, size_t n_distinct,
                                   struct stv__lane_rows **out)
{
    *out = NULL;
    struct stv__lane_rows *rows = aligned_alloc(64, sizeof *rows);
    if (!rows)
        return STV_E_MEMORY;
    memset(rows, 0, sizeof *rows);
    omp_init_lock(&rows->lock);
    for (size_t lane = 0; lane < STV__LANES; lane++)
        rows->lanes[lane] = lanes[n_distinct == 1 ? 0 : lane];
    rows->numbers = *numbers;
    rows->n_distinct = n_distinct;
    choose_columns(rows, numbers);
    stv__panel_fit_fill(&rows->fit);
    fill_psat(rows);
    enum stv_status status = fill_wood(rows);
    if (status != STV_OK) {
        stv__lane_rows_free(rows);
        return status;
    }
    *out = rows;
    return STV_OK;
}

void stv__lane_rows_free(struct stv__lane_rows *rows)
{
    if (!rows)
        return;
    for (size_t p = 0; p < STV__PANELS; p++)
        for (size_t lane = 0; lane < STV__LANES; lane++)
            free(rows->panel_nd[p][lane]);
    omp_destroy_lock(&rows->lock);
    free(rows);
}

/* Both structs hold doubles alone. */
bool stv__lane_rows_serve(const struct stv__lane_rows *rows,
                          const struct stv_params lanes[STV__LANES],
                          const struct stv_cask_numbers *numbers, size_t n_distinct)
{
    bool is_same =
        rows->n_distinct == n_distinct && memcmp(&rows->numbers, numbers, sizeof *numbers) == 0;
    for (size_t lane = 0; lane < STV__LANES && is_same; lane++)
        is_same =
            memcmp(&rows->lanes[lane], &lanes[n_distinct == 1 ? 0 : lane], sizeof *lanes) == 0;
    return is_same;
}

void stv__lane_rows_key(const struct stv__lane_rows *rows, struct stv_byte_run out[2])
{
    out[0] = (struct stv_byte_run){rows->lanes, sizeof rows->lanes};
    out[1] = (struct stv_byte_run){&rows->numbers, sizeof rows->numbers};
}

const struct stv__factor_columns *stv__lane_rows_columns(const struct stv__lane_rows *rows)
{
    return &rows->columns;
}

const struct stv__panel_fit *stv__lane_rows_fit(const struct stv__lane_rows *rows)
{
    return &rows->fit;
}

size_t stv__lane_rows_distinct(const struct stv__lane_rows *rows)
{
    return rows->n_distinct;
}
