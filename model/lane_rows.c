/* An hour's driving pressures are g f a_e psat_e and g f (a_w psat_w - p_room), g the mean of the
 * wood's local factor between the room's humidity and the liquid's water activity: the difference
 * of its integrals over their distance.  Everything that depends on the liquid's temperature alone
 * stands in rows 0.05 K apart; the integral over humidity is a polynomial of temperature whose
 * coefficients are tabulated over humidity, and the same for both ends, so that close to
 * equilibrium the difference is clean. */
#include "model/lane_rows.h"

#include "model/air.h"
#include "model/esters.h"
#include "model/spirit_vapour.h"
#include "model/units.h"
#include "model/wood.h"

#include <math.h>
#include <omp.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define ROW_STEP_K 0.05
#define N_ROWS 1301 /* (MOST_C - LEAST_C) / ROW_STEP_K + 1 */
#define AIR_LEAST_C (-60.0)
#define AIR_ROWS 3001 /* to 90 C */
#define HUMIDITY_CELLS 500
#define WOOD_TERMS 8
#define MIDDLE_C (0.5 * (STV_TABLE_LEAST_C + STV_TABLE_MOST_C))
#define HALF_K (0.5 * (STV_TABLE_MOST_C - STV_TABLE_LEAST_C))
/* Closer than this the integrals' own error, 1e-8, would show in their difference: the mean is then
 * taken over a window about the middle. */
#define SAME_HUMIDITY_ND 1e-3
#define HALF_WINDOW_ND 1e-3
#define REFERENCE_15C_K 288.15

/* Columns of a row: four groups of 8 nodes, then f, the ethanol pressure and the factors, padded
 * to whole vectors. */
enum {
    ROW_ACTIVITY = 0,
    ROW_INTEGRAL = 8,
    ROW_WATER = 16, /* f a_w psat_w */
    ROW_ETHANOL = 24,
    ROW_WARMTH = 32,
    ROW_PURE,
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
    double *panel[STV__PANELS][STV__LANES]; /* N_ROWS x stride; all NULL until asked for */
    bool is_made[STV__PANELS];
    omp_lock_t lock; /* while a panel is made */
    struct stv__panel_fit fit;
    double psat_pa[AIR_ROWS];
    double ethanol_pa[N_ROWS];
    double wood[HUMIDITY_CELLS + 1][WOOD_TERMS];
};

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

static void choose_lags(struct stv__factor_columns *columns)
{
    for (size_t k = 0; k < STV_OAK_N; k++) {
        columns->fast_lag[k] = columns->slow_lag[k] = SIZE_MAX;
        if (columns->decay[k] == SIZE_MAX)
            continue;
        columns->fast_lag[k] = columns->n_columns++;
        columns->slow_lag[k] = columns->n_columns++;
    }
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
    rows->columns.n_columns = STV__COL_FACTORS + rows->n_factors;
    choose_lags(&rows->columns);
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
        stv__panel_fit_polynomial(&rows->fit, values, rows->wood[h]);
    }
    free(at);
    return STV_OK;
}

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
    stv__v8 a = stv__load(rows->wood[cell]), b = stv__load(rows->wood[cell + 1]);
    stv__v8 bend = 0.5 * (stv__load(rows->wood[low]) + stv__load(rows->wood[high]) - a - b);
    if (cell == 0 || cell + 2 > HUMIDITY_CELLS) { /* the nearest cell that has both neighbours */
        size_t middle = cell == 0 ? 1 : HUMIDITY_CELLS - 1;
        bend = stv__load(rows->wood[middle - 1]) - 2.0 * stv__load(rows->wood[middle]) +
               stv__load(rows->wood[middle + 1]);
    }
    return a + x * (b - a) - 0.5 * x * (1.0 - x) * bend;
}

/* The integral at a temperature in -1..1 of the range. */
STV__INLINE double wood_sum(const double terms[WOOD_TERMS], double t)
{
    double square = t * t;
    double low = (terms[0] + terms[1] * t) + (terms[2] + terms[3] * t) * square;
    double high = (terms[4] + terms[5] * t) + (terms[6] + terms[7] * t) * square;
    return low + high * (square * square);
}

/* The integral up to a humidity. */
STV__INLINE double wood_at(const struct stv__lane_rows *rows, double rh_frac, double liquid_c)
{
    double terms[WOOD_TERMS];
    stv__store(wood_terms(rows, rh_frac), terms);
    return wood_sum(terms, (liquid_c - MIDDLE_C) / HALF_K);
}

/* Rounding must not carry the last row past the end of the range. */
static double row_c(size_t row)
{
    return fmin(STV_TABLE_MOST_C, STV_TABLE_LEAST_C + ROW_STEP_K * (double)row);
}

static void fill_psat(struct stv__lane_rows *rows)
{
    for (size_t r = 0; r < AIR_ROWS; r++)
        rows->psat_pa[r] = stv_water_psat_pa(AIR_LEAST_C + ROW_STEP_K * (double)r);
    for (size_t r = 0; r < N_ROWS; r++)
        rows->ethanol_pa[r] = stv_ethanol_psat_pa(row_c(r));
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

static double node_root_nd(const struct stv__lane_rows *rows, size_t panel_idx, size_t node)
{
    double low = stv__panel_bound_nd[panel_idx], high = stv__panel_bound_nd[panel_idx + 1];
    return 0.5 * (low + high) + 0.5 * (high - low) * rows->fit.node_nd[node];
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
    out->pure_ethanol_pa = rows->ethanol_pa[row];
    for (size_t i = 0; i < STV__NODES8; i++) {
        double root = node_root_nd(rows, panel_idx, i);
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
    row[ROW_PURE] = liquid->pure_ethanol_pa;
    for (size_t f = 0; f < rows->n_factors; f++)
        row[ROW_FACTORS + f] = stv_arrhenius20_nd(rows->factor_ea_j_mol[lane][f], liquid->temp_c);
}

static enum stv_status make_panel(struct stv__lane_rows *rows, size_t panel_idx)
{
    for (size_t lane = 0; lane < rows->n_distinct; lane++) {
        if (!rows->panel[panel_idx][lane])
            rows->panel[panel_idx][lane] = calloc(N_ROWS * rows->stride, sizeof(double));
        if (!rows->panel[panel_idx][lane])
            return STV_E_MEMORY;
    }
    for (size_t r = 0; r < N_ROWS; r++) {
        struct liquid liquid;
        enum stv_status status = liquid_of(rows, panel_idx, r, &liquid);
        if (status != STV_OK)
            return status;
        for (size_t lane = 0; lane < rows->n_distinct; lane++)
            fill_row(rows, lane, &liquid, rows->panel[panel_idx][lane] + r * rows->stride);
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
    struct stv__lane_rows *rows = calloc(1, sizeof *rows);
    if (!rows)
        return STV_E_MEMORY;
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
            free(rows->panel[p][lane]);
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

/* Where a liquid lies in the rows: the row below it, and how far above that. */
struct row_place {
    size_t row;
    double x, held_c;
};

STV__INLINE struct row_place place_of(double liquid_c)
{
    double held_c = liquid_c < STV_TABLE_LEAST_C ? STV_TABLE_LEAST_C : liquid_c;
    held_c = held_c > STV_TABLE_MOST_C ? STV_TABLE_MOST_C : held_c;
    double place = (held_c - STV_TABLE_LEAST_C) * (1.0 / ROW_STEP_K);
    size_t row = (size_t)place;
    row = row > N_ROWS - 2 ? N_ROWS - 2 : row;
    return (struct row_place){row, place - (double)row, held_c};
}

double stv__lane_rows_ethanol_pa(const struct stv__lane_rows *rows, const double *liquid_c,
                                 size_t n)
{
    double sum_pa = 0.0;
    for (size_t i = 0; i < n; i++) {
        struct row_place at = place_of(liquid_c[i]);
        const double *low = rows->ethanol_pa + at.row;
        sum_pa += low[0] + at.x * (low[1] - low[0]);
    }
    return sum_pa;
}

/* Hours taken together: what is scalar in each goes first, so that the vectors run on. */
enum { HOURS_AT_ONCE = 24 };
struct prepared {
    const double *low[HOURS_AT_ONCE]; /* the row below */
    double x[HOURS_AT_ONCE];          /* and how far above it */
    double held_c[HOURS_AT_ONCE];
    double integral[HOURS_AT_ONCE]; /* of the wood up to the room's humidity */
};

STV__INLINE void prepare(const struct stv__lane_rows *rows, const double *table,
                         const struct stv__lane_hours *hours, size_t from, size_t n,
                         struct prepared *out)
{
    double terms[HOURS_AT_ONCE][WOOD_TERMS];
    for (size_t i = 0; i < n; i++) {
        struct row_place at = place_of(hours->liquid_c[from + i]);
        out->low[i] = table + at.row * rows->stride;
        out->x[i] = at.x;
        out->held_c[i] = at.held_c;
        stv__store(wood_terms(rows, hours->rh_frac[from + i]), terms[i]);
    }
    for (size_t i = 0; i < n; i++)
        out->integral[i] = wood_sum(terms[i], (out->held_c[i] - MIDDLE_C) * (1.0 / HALF_K));
}

STV__INLINE stv__v8 between(const double *low, size_t stride, double x, size_t column)
{
    stv__v8 a = stv__load(low + column), b = stv__load(low + stride + column);
    return a + x * (b - a);
}

/* Mean of the wood's local factor where the room is as damp as some nodes' liquid. */
static void mend_mean(const struct stv__lane_rows *rows, const double activity[STV__NODES8],
                      double rh_frac, double liquid_c, double mean[STV__NODES8])
{
    for (size_t i = 0; i < STV__NODES8; i++) {
        if (fabs(activity[i] - rh_frac) > SAME_HUMIDITY_ND)
            continue;
        double middle = 0.5 * (activity[i] + rh_frac);
        double low = fmax(0.0, middle - HALF_WINDOW_ND), high = fmin(1.0, middle + HALF_WINDOW_ND);
        mean[i] = (wood_at(rows, high, liquid_c) - wood_at(rows, low, liquid_c)) / (high - low);
    }
}

/* Mean of the local factor between the room and the liquid.  Activities fall from node to node, so
 * the ends tell whether the room may be as damp as one of them. */
STV__INLINE stv__v8 wood_mean(const struct stv__lane_rows *rows, stv__v8 activity, stv__v8 integral,
                              const struct prepared *prepared, size_t i, double rh_frac)
{
    stv__v8 mean = (integral - prepared->integral[i]) / (activity - rh_frac);
    if (rh_frac < activity[STV__NODES8 - 1] - SAME_HUMIDITY_ND ||
        rh_frac > activity[0] + SAME_HUMIDITY_ND)
        return mean;
    double at[STV__NODES8], means[STV__NODES8];
    stv__store(activity, at);
    stv__store(mean, means);
    mend_mean(rows, at, rh_frac, prepared->held_c[i], means);
    return stv__load(means);
}

enum { REST_MOST = (ROW_MOST - ROW_WARMTH) / 8 };

/* What is summed over the hours.  "Until" sums what had come by the middle of each. */
struct sums {
    stv__v8 ethanol_pa, water_pa, rest[REST_MOST], rest_until[REST_MOST];
    stv__v8 rise_pa, rise_until_pa, ethanol_wave, water_wave;
    stv__v8 rise_of_ethanol, rise_of_water; /* at the nodes */
};

/* Differences from each node to the next, and the middles; the last has neither. */
STV__INLINE stv__v8 to_next(stv__v8 a)
{
    return (stv__v8){a[1], a[2], a[3], a[4], a[5], a[6], a[7], a[7]} - a;
}

STV__INLINE stv__v8 middles(stv__v8 a)
{
    return a + 0.5 * to_next(a);
}

STV__INLINE void add_pressures(struct sums *sums, stv__v8 ethanol_pa, stv__v8 water_pa)
{
    stv__v8 rise_pa = sums->rise_of_ethanol * ethanol_pa + sums->rise_of_water * water_pa;
    stv__v8 until_pa = middles(sums->rise_pa + 0.5 * rise_pa);
    sums->rise_pa += rise_pa;
    sums->rise_until_pa += until_pa;
    sums->ethanol_wave += to_next(ethanol_pa) * until_pa;
    sums->water_wave += to_next(water_pa) * until_pa;
    sums->ethanol_pa += ethanol_pa;
    sums->water_pa += water_pa;
}

STV__INLINE void add_rest(struct sums *sums, size_t group, stv__v8 rest)
{
    sums->rest_until[group] += sums->rest[group] + 0.5 * rest;
    sums->rest[group] += rest;
}

/* Adds some hours in registers; n_rest is a constant where this is called. */
STV__INLINE void add_prepared(const struct stv__lane_rows *rows,
                              const struct stv__lane_hours *hours, size_t from, size_t n,
                              const struct prepared *prepared, size_t n_rest, struct sums *out)
{
    size_t stride = rows->stride;
    struct sums sums = *out;
    for (size_t i = 0; i < n; i++) {
        const double *low = prepared->low[i];
        double x = prepared->x[i];
        stv__v8 first = between(low, stride, x, ROW_WARMTH);
        stv__v8 wood =
            wood_mean(rows, between(low, stride, x, ROW_ACTIVITY),
                      between(low, stride, x, ROW_INTEGRAL), prepared, i, hours->rh_frac[from + i]);
        add_pressures(
            &sums, wood * between(low, stride, x, ROW_ETHANOL),
            wood * (between(low, stride, x, ROW_WATER) - first[0] * hours->room_pa[from + i]));
        add_rest(&sums, 0, first);
        for (size_t g = 1; g < n_rest; g++)
            add_rest(&sums, g, between(low, stride, x, ROW_WARMTH + 8 * g));
    }
    *out = sums;
}

static struct sums sums_new(const struct stv__lane_rows *rows, size_t panel_idx, size_t lane_idx)
{
    struct sums sums;
    memset(&sums, 0, sizeof sums);
    for (size_t i = 0; i < STV__NODES8; i++) {
        double root = node_root_nd(rows, panel_idx, i);
        sums.rise_of_water[i] = root * root;
        sums.rise_of_ethanol[i] = (root * root - 1.0) / rows->lanes[lane_idx].permeance_ratio_nd;
    }
    return sums;
}

/* A wave's columns from sums of slopes times the rise, told by differences between nodes. */
static void put_wave(const struct stv__lane_rows *rows, stv__v8 differences, double *out)
{
    double slope[STV__NODES8 - 1];
    for (size_t i = 0; i + 1 < STV__NODES8; i++)
        slope[i] = differences[i] / (rows->fit.node_nd[i + 1] - rows->fit.node_nd[i]);
    stv__panel_fit_parabola(&rows->fit, slope, out);
}

static void put_waves(const struct stv__lane_rows *rows, const struct sums *sums, size_t n_hours,
                      double *out)
{
    stv__v8 half_pa = 0.5 * middles(sums->rise_pa);
    stv__v8 rise = sums->rise_until_pa - half_pa * (double)n_hours;
    double rises[STV__NODES8];
    put_wave(rows, sums->ethanol_wave - half_pa * to_next(sums->ethanol_pa),
             out + STV__COL_ETHANOL_WAVE);
    put_wave(rows, sums->water_wave - half_pa * to_next(sums->water_pa), out + STV__COL_WATER_WAVE);
    stv__store(rise, rises);
    stv__panel_fit_parabola(&rows->fit, rises, out + STV__COL_RISE);
}

/* Hours from the middle of what a factor comes to, to the end. */
static double left_h(const struct sums *sums, size_t column_idx)
{
    size_t at = ROW_FACTORS - ROW_WARMTH + column_idx - STV__COL_FACTORS;
    return sums->rest_until[at / 8][at % 8] / sums->rest[at / 8][at % 8];
}

static void put_lags(const struct stv__factor_columns *columns, const struct sums *sums,
                     size_t n_hours, double *out)
{
    for (size_t k = 0; k < STV_OAK_N; k++) {
        if (columns->decay[k] == SIZE_MAX)
            continue;
        double decay_h = left_h(sums, columns->decay[k]);
        out[columns->fast_lag[k]] = (double)n_hours * (decay_h - left_h(sums, columns->fast[k]));
        out[columns->slow_lag[k]] = (double)n_hours * (decay_h - left_h(sums, columns->slow[k]));
    }
}

STV__WIDE void stv__lane_rows_sum(const struct stv__lane_rows *rows, size_t panel_idx,
                                  size_t lane_idx, const struct stv__lane_hours *hours, double *out)
{
    const double *table = rows->panel[panel_idx][lane_idx];
    struct sums sums = sums_new(rows, panel_idx, lane_idx);
    for (size_t from = 0; from < hours->n; from += HOURS_AT_ONCE) {
        struct prepared prepared;
        size_t n = hours->n - from < HOURS_AT_ONCE ? hours->n - from : HOURS_AT_ONCE;
        prepare(rows, table, hours, from, n, &prepared);
        if (rows->stride == ROW_WARMTH + 16)
            add_prepared(rows, hours, from, n, &prepared, 2, &sums);
        else
            add_prepared(rows, hours, from, n, &prepared, REST_MOST, &sums);
    }
    stv__store(sums.ethanol_pa, out + STV__COL_ETHANOL);
    stv__store(sums.water_pa, out + STV__COL_WATER);
    out[STV__COL_PRESSURE] = sums.rest[0][ROW_PURE - ROW_WARMTH];
    put_waves(rows, &sums, hours->n, out);
    for (size_t f = 0; f < rows->n_factors; f++) {
        size_t at = ROW_FACTORS - ROW_WARMTH + f;
        out[STV__COL_FACTORS + f] = sums.rest[at / 8][at % 8];
    }
    put_lags(&rows->columns, &sums, hours->n, out);
}
