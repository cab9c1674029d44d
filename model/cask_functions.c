/* Functions of liquid temperature on a fine grid, read by straight lines between rows.  With rows
 * 0.05 K apart the largest relative error of any column is below 1e-5 (curvature of a 90 kJ/mol
 * Arrhenius factor, h^2/8 (Ea/RT^2)^2). */
#include "model/cask_functions.h"

#include "model/air.h"
#include "model/extraction.h"
#include "model/spirit.h"
#include "model/spirit_vapour.h"
#include "model/units.h"
#include "model/wood.h"

#include <math.h>
#include <stdlib.h>

#define LEAST_C (-15.0)
#define MOST_C 50.0
#define ROW_STEP_K 0.05
#define N_ROWS 1301 /* (MOST_C - LEAST_C) / ROW_STEP_K + 1 */
#define HUMIDITY_CELLS 500
#define WOOD_STEP_K 0.5
#define WOOD_ROWS 131 /* (MOST_C - LEAST_C) / WOOD_STEP_K + 1 */
#define REFERENCE_15C_K 288.15
#define ENERGY_SPAN_J_MOL 20000.0
#define ARRHENIUS_FROM_J_MOL 20000.0
#define ARRHENIUS_STEP_J_MOL 10000.0
#define PI 3.14159265358979323846

struct stv__cask_functions {
    double middle_energy_j_mol;
    double node_root_nd[STV__NODES], node_weight_nd[STV__NODES]; /* root of the mole fraction */
    double node_activity20_nd[STV__NODES];                       /* of water */
    double node_ethanol20_nd[STV__NODES];                        /* of ethanol */
    struct stv__liquid_row rows[N_ROWS];
    double wood[WOOD_ROWS][HUMIDITY_CELLS + 1];
};

/* Chebyshev nodes and their barycentric weights (Berrut & Trefethen 2004, SIAM Rev. 46:501).  They
 * stand in the root of the mole fraction, in which the activities' x^(1/2) term is smooth. */
static void fill_nodes(struct stv__cask_functions *functions)
{
    double least = sqrt(STV_TABLE_LEAST_MOLE_FRAC);
    double most = sqrt(STV_TABLE_MOST_MOLE_FRAC);
    for (size_t i = 0; i < STV__NODES; i++) {
        double angle = PI * ((double)i + 0.5) / STV__NODES;
        functions->node_root_nd[i] = 0.5 * (least + most) - 0.5 * (most - least) * cos(angle);
        functions->node_weight_nd[i] = (i % 2 ? -1.0 : 1.0) * sin(angle);
    }
}

void stv__node_weights(const struct stv__cask_functions *functions, double ethanol_mole_frac,
                       double out_nd[STV__NODES])
{
    double sum = 0.0;
    double root = sqrt(ethanol_mole_frac);
    for (size_t i = 0; i < STV__NODES; i++) {
        double away = root - functions->node_root_nd[i];
        if (away == 0.0) {
            for (size_t j = 0; j < STV__NODES; j++)
                out_nd[j] = j == i;
            return;
        }
        out_nd[i] = functions->node_weight_nd[i] / away;
        sum += out_nd[i];
    }
    for (size_t i = 0; i < STV__NODES; i++)
        out_nd[i] /= sum;
}

static double between_nodes(const struct stv__cask_functions *functions,
                            const double nodes[STV__NODES], double ethanol_mole_frac)
{
    double weights[STV__NODES];
    double sum = 0.0;
    stv__node_weights(functions, ethanol_mole_frac, weights);
    for (size_t i = 0; i < STV__NODES; i++)
        sum += weights[i] * nodes[i];
    return sum;
}

static double activity20_nd(const struct stv__cask_functions *functions, double ethanol_mole_frac)
{
    return between_nodes(functions, functions->node_activity20_nd, ethanol_mole_frac);
}

double stv__ethanol_activity20_nd(const struct stv__cask_functions *functions,
                                  double ethanol_mole_frac)
{
    return between_nodes(functions, functions->node_ethanol20_nd, ethanol_mole_frac);
}

static double held_mole_frac(double ethanol_mole_frac)
{
    return fmin(STV_TABLE_MOST_MOLE_FRAC, fmax(STV_TABLE_LEAST_MOLE_FRAC, ethanol_mole_frac));
}

double stv__mole_frac_at_offset(const struct stv__cask_functions *functions,
                                double ethanol_mole_frac, double water_activity_offset_nd)
{
    if (water_activity_offset_nd == 0.0)
        return ethanol_mole_frac;
    const double half_step = 0.01;
    double below = activity20_nd(functions, ethanol_mole_frac - half_step);
    double above = activity20_nd(functions, ethanol_mole_frac + half_step);
    double slope = (above - below) / (2.0 * half_step);
    double moved = held_mole_frac(ethanol_mole_frac + water_activity_offset_nd / slope);
    /* Once more from there, for the activity is no straight line. */
    double missed =
        activity20_nd(functions, moved) - 0.5 * (above + below) - water_activity_offset_nd;
    return held_mole_frac(moved - missed / slope);
}

double stv__energy_node_j_mol(const struct stv__cask_functions *functions, size_t node)
{
    return functions->middle_energy_j_mol + ENERGY_SPAN_J_MOL * ((double)node - 1.0);
}

double stv__arrhenius_node_j_mol(size_t node)
{
    return ARRHENIUS_FROM_J_MOL + ARRHENIUS_STEP_J_MOL * (double)node;
}

/* Integral from zero humidity, Simpson on every cell. */
static void fill_wood(struct stv__cask_functions *functions)
{
    for (size_t r = 0; r < WOOD_ROWS; r++) {
        double temp_c = LEAST_C + WOOD_STEP_K * (double)r;
        double *row = functions->wood[r];
        double low = stv_wood_local_factor_nd(0.0, temp_c);
        row[0] = 0.0;
        for (size_t i = 0; i < HUMIDITY_CELLS; i++) {
            double middle = stv_wood_local_factor_nd(((double)i + 0.5) / HUMIDITY_CELLS, temp_c);
            double high = stv_wood_local_factor_nd(((double)i + 1.0) / HUMIDITY_CELLS, temp_c);
            row[i + 1] = row[i] + (low + 4.0 * middle + high) / (6.0 * HUMIDITY_CELLS);
            low = high;
        }
    }
}

/* Bessel's formula: the straight line less the mean bend.  The line alone errs to one side, and
 * differences of nearby integrals would show it. */
static double between_cells(const double *row, size_t cell, double x)
{
    size_t low = cell > 0 ? cell : 1;
    size_t high = cell + 1 < HUMIDITY_CELLS ? cell + 1 : HUMIDITY_CELLS - 1;
    double bend = 0.5 * (row[low - 1] - 2.0 * row[low] + row[low + 1] + row[high - 1] -
                         2.0 * row[high] + row[high + 1]);
    return row[cell] + x * (row[cell + 1] - row[cell]) - 0.5 * x * (1.0 - x) * bend;
}

double stv__wood_integral_nd(const struct stv__cask_functions *functions, double rh_frac,
                             double liquid_c)
{
    double row_place = (liquid_c - LEAST_C) / WOOD_STEP_K;
    size_t row = (size_t)row_place;
    if (row > WOOD_ROWS - 2)
        row = WOOD_ROWS - 2;
    double cell_place = rh_frac * HUMIDITY_CELLS;
    size_t cell = (size_t)cell_place;
    if (cell > HUMIDITY_CELLS - 1)
        cell = HUMIDITY_CELLS - 1;
    double x = cell_place - (double)cell;
    double y = row_place - (double)row;
    double cold = between_cells(functions->wood[row], cell, x);
    double warm = between_cells(functions->wood[row + 1], cell, x);
    return cold + y * (warm - cold);
}

static enum stv_status fill_row(const struct stv__cask_functions *functions, double liquid_c,
                                struct stv__liquid_row *row)
{
    double water_pa = stv_water_psat_pa(liquid_c);
    double liquid_k = stv_k_from_c(liquid_c);
    row->pure_ethanol_pa = stv_ethanol_psat_pa(liquid_c);
    for (size_t i = 0; i < STV__NODES; i++) {
        struct stv_spirit_activity activity;
        double mole_frac = functions->node_root_nd[i] * functions->node_root_nd[i];
        enum stv_status status = stv_spirit_activity(mole_frac, liquid_c, &activity);
        if (status != STV_OK)
            return status;
        row->water_activity_nd[i] = activity.water_nd;
        row->water_pressure_pa[i] = activity.water_nd * water_pa;
        row->ethanol_pressure_pa[i] = activity.ethanol_nd * row->pure_ethanol_pa;
        row->wood_integral_nd[i] = stv__wood_integral_nd(functions, activity.water_nd, liquid_c);
    }
    for (size_t e = 0; e < STV__ENERGIES; e++)
        row->warmth_nd[e] = exp(-stv__energy_node_j_mol(functions, e) / STV_GAS_J_MOLK *
                                (1.0 / liquid_k - 1.0 / REFERENCE_15C_K));
    for (size_t a = 0; a < STV__ARRHENIUS; a++)
        row->arrhenius_nd[a] = stv_arrhenius20_nd(stv__arrhenius_node_j_mol(a), liquid_c);
    return STV_OK;
}

static enum stv_status fill_rows(struct stv__cask_functions *functions)
{
    for (size_t r = 0; r < N_ROWS; r++) {
        /* Rounding must not carry the last row past the end of the range. */
        double liquid_c = fmin(MOST_C, LEAST_C + ROW_STEP_K * (double)r);
        enum stv_status status = fill_row(functions, liquid_c, &functions->rows[r]);
        if (status != STV_OK)
            return status;
    }
    struct stv__liquid_row row;
    stv__liquid_row(functions, 20.0, &row);
    for (size_t i = 0; i < STV__NODES; i++) {
        functions->node_activity20_nd[i] = row.water_activity_nd[i];
        functions->node_ethanol20_nd[i] = row.ethanol_pressure_pa[i] / row.pure_ethanol_pa;
    }
    return STV_OK;
}

enum stv_status stv__cask_functions_new(const struct stv_params *base,
                                        struct stv__cask_functions **out)
{
    *out = NULL;
    struct stv__cask_functions *functions = malloc(sizeof *functions);
    if (!functions)
        return STV_E_MEMORY;
    functions->middle_energy_j_mol = base->permeance_ea_j_mol;
    fill_nodes(functions);
    fill_wood(functions);
    enum stv_status status = fill_rows(functions);
    if (status != STV_OK) {
        stv__cask_functions_free(functions);
        return status;
    }
    *out = functions;
    return STV_OK;
}

void stv__cask_functions_free(struct stv__cask_functions *functions)
{
    free(functions);
}

int stv__liquid_row(const struct stv__cask_functions *functions, double liquid_c,
                    struct stv__liquid_row *out)
{
    double held_c = fmin(MOST_C, fmax(LEAST_C, liquid_c));
    double place = (held_c - LEAST_C) / ROW_STEP_K;
    size_t row = (size_t)place;
    if (row > N_ROWS - 2)
        row = N_ROWS - 2;
    double x = place - (double)row;
    const double *a = (const double *)&functions->rows[row];
    const double *b = (const double *)&functions->rows[row + 1];
    double *to = (double *)out;
    for (size_t i = 0; i < sizeof *out / sizeof(double); i++)
        to[i] = a[i] + x * (b[i] - a[i]);
    return held_c == liquid_c;
}
