/* Private to lane_rows.c, which makes the rows, and lane_sums.c, which reads them. */
#ifndef STV_MODEL_LANE_ROWS_PARTS_H
#define STV_MODEL_LANE_ROWS_PARTS_H

#include "model/lane_rows.h"

#include <omp.h>

#define ROW_STEP_K 0.05
#define N_ROWS 1301 /* (MOST_C - LEAST_C) / ROW_STEP_K + 1 */
#define AIR_LEAST_C (-60.0)
#define AIR_ROWS 3001 /* to 90 C */
#define HUMIDITY_CELLS 500
#define WOOD_TERMS 8
#define MIDDLE_C (0.5 * (STV_TABLE_LEAST_C + STV_TABLE_MOST_C))
#define HALF_K (0.5 * (STV_TABLE_MOST_C - STV_TABLE_LEAST_C))

/* Columns of a row: four groups of 8 nodes, then f, the ethanol pressure, what a kelvin adds to
 * f a_w psat_w in the middle and to f, and the factors, padded to whole vectors. */
enum {
    ROW_ACTIVITY = 0,
    ROW_INTEGRAL = 8,
    ROW_WATER = 16, /* f a_w psat_w */
    ROW_ETHANOL = 24,
    ROW_WARMTH = 32,
    ROW_PURE,
    ROW_WATER_PER_K,
    ROW_WARMTH_PER_K,
    ROW_FACTORS,
    ROW_MOST = 56
};

struct stv__lane_rows {
    struct stv_params lanes[STV__LANES];
    struct stv_cask_numbers numbers;
    size_t n_distinct;
    struct stv__factor_columns columns;
    double factor_ea_j_mol[STV__LANES][STV__FACTORS_MOST];
    size_t n_factors, stride;
    double *panel_nd[STV__PANELS][STV__LANES]; /* N_ROWS x stride; all NULL until asked for */
    bool is_made[STV__PANELS];
    omp_lock_t lock; /* while a panel is made */
    struct stv__panel_fit fit;
    double psat_pa[AIR_ROWS];
    double ethanol_pa[N_ROWS], ethanol_bend_pa[N_ROWS];          /* second differences */
    _Alignas(64) double wood_nd[HUMIDITY_CELLS + 1][WOOD_TERMS]; /* read as vectors, as rows are */
};

/* Terms of the integral at a humidity.  Bessel's formula: the straight line less the mean bend;
 * the line alone errs to one side, and differences of nearby integrals would show it. */
STV__INLINE stv__v8 wood_terms(const struct stv__lane_rows *rows, double rh_frac)
{
    double place = rh_frac * HUMIDITY_CELLS;
    size_t cell = (size_t)place;
    if (cell > HUMIDITY_CELLS - 1)
        cell = HUMIDITY_CELLS - 1;
    double x = place - (double)cell;
    size_t low = cell > 0 ? cell - 1 : 0;
    size_t high = cell + 2 <= HUMIDITY_CELLS ? cell + 2 : HUMIDITY_CELLS;
    stv__v8 a = stv__load(rows->wood_nd[cell]), b = stv__load(rows->wood_nd[cell + 1]);
    stv__v8 bend = 0.5 * (stv__load(rows->wood_nd[low]) + stv__load(rows->wood_nd[high]) - a - b);
    if (cell == 0 || cell + 2 > HUMIDITY_CELLS) { /* the nearest cell that has both neighbours */
        size_t middle = cell == 0 ? 1 : HUMIDITY_CELLS - 1;
        bend = stv__load(rows->wood_nd[middle - 1]) - 2.0 * stv__load(rows->wood_nd[middle]) +
               stv__load(rows->wood_nd[middle + 1]);
    }
    return a + x * (b - a) - 0.5 * x * (1.0 - x) * bend;
}

/* The integral at a temperature in -1..1 of the range. */
STV__INLINE double wood_sum(const double terms_nd[WOOD_TERMS], double place_nd)
{
    double square = place_nd * place_nd;
    double low =
        (terms_nd[0] + terms_nd[1] * place_nd) + (terms_nd[2] + terms_nd[3] * place_nd) * square;
    double high =
        (terms_nd[4] + terms_nd[5] * place_nd) + (terms_nd[6] + terms_nd[7] * place_nd) * square;
    return low + high * (square * square);
}

/* The integral up to a humidity. */
STV__INLINE double wood_at(const struct stv__lane_rows *rows, double rh_frac, double liquid_c)
{
    double terms_nd[WOOD_TERMS];
    stv__store(wood_terms(rows, rh_frac), terms_nd);
    return wood_sum(terms_nd, (liquid_c - MIDDLE_C) / HALF_K);
}

STV__INLINE double stv__node_root_nd(const struct stv__lane_rows *rows, size_t panel_idx,
                                     size_t node)
{
    double low = stv__panel_bound_nd[panel_idx], high = stv__panel_bound_nd[panel_idx + 1];
    return 0.5 * (low + high) + 0.5 * (high - low) * rows->fit.node_nd[node];
}

#endif
