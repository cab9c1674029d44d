/* Hours read from the rows, and what they sum up to. */
#include "model/lane_rows_parts.h"
#include "model/units.h"

#include <math.h>
#include <string.h>

/* Closer than this the integrals' own error, 1e-8, would show in their difference: the mean is then
 * taken over a window about the middle. */
#define SAME_HUMIDITY_ND 1e-3
#define HALF_WINDOW_ND 1e-3

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

#define POINTS 2                          /* of an hour */
#define POINT_OF_MOVE 0.28867513459481287 /* 1/sqrt(12) */

STV__INLINE void points_of(double mean_c, double move_k, struct row_place out[POINTS])
{
    out[0] = place_of(mean_c - POINT_OF_MOVE * move_k);
    out[1] = place_of(mean_c + POINT_OF_MOVE * move_k);
}

STV__WIDE void stv__lane_rows_ethanol_pa(const struct stv__lane_rows *rows, const stv__v8 *liquid_c,
                                         const stv__v8 *move_k, size_t n, const stv__v8 *offset_k,
                                         stv__v8 *out)
{
    stv__v8 sum_pa = stv__all(0.0);
    for (size_t i = 0; i < n; i++) {
        stv__v8 own_c = liquid_c[i] + *offset_k, move_nd = (1.0 / ROW_STEP_K) * move_k[i];
        stv__v8 line_pa, bend_pa;
        for (size_t l = 0; l < STV__PACKET; l++) {
            struct row_place at = place_of(own_c[l]);
            const double *low = rows->ethanol_pa + at.row;
            line_pa[l] = low[0] + at.x * (low[1] - low[0]);
            bend_pa[l] = rows->ethanol_bend_pa[at.row];
        }
        sum_pa += line_pa + (1.0 / 24.0) * move_nd * move_nd * bend_pa;
    }
    *out = sum_pa;
}

/* Hours taken together: what is scalar in each goes first, so that the vectors run on. */
enum { HOURS_AT_ONCE = 24 };
struct prepared {
    const double *low[HOURS_AT_ONCE][POINTS]; /* the row below */
    double x[HOURS_AT_ONCE][POINTS];          /* and how far above it */
    double held_c[HOURS_AT_ONCE][POINTS];
    double integral[HOURS_AT_ONCE][POINTS]; /* of the wood up to the room's humidity */
};

STV__INLINE void prepare(const struct stv__lane_rows *rows, const double *table,
                         const struct stv__lane_hours *hours, size_t from, size_t n,
                         struct prepared *out)
{
    double terms[HOURS_AT_ONCE][WOOD_TERMS];
    for (size_t i = 0; i < n; i++) {
        struct row_place at[POINTS];
        points_of(hours->liquid_c[from + i], hours->move_k[from + i], at);
        for (int p = 0; p < POINTS; p++) {
            out->low[i][p] = table + at[p].row * rows->stride;
            out->x[i][p] = at[p].x;
            out->held_c[i][p] = at[p].held_c;
        }
        stv__store(wood_terms(rows, hours->rh_frac[from + i]), terms[i]);
    }
    for (size_t i = 0; i < n; i++)
        for (int p = 0; p < POINTS; p++)
            out->integral[i][p] =
                wood_sum(terms[i], (out->held_c[i][p] - MIDDLE_C) * (1.0 / HALF_K));
}

STV__INLINE stv__v8 between(const double *low, size_t stride, double x, size_t column)
{
    stv__v8 a = stv__load(low + column), b = stv__load(low + stride + column);
    return a + x * (b - a);
}

/* In the panel's middle, of values at the nodes. */
STV__INLINE double in_middle(stv__v8 a)
{
    return 0.5 * (a[STV__NODES8 / 2 - 1] + a[STV__NODES8 / 2]);
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
 * the ends tell whether the room may be as damp as one of them: those of the row below do, for from
 * row to row they hardly move. */
STV__INLINE stv__v8 wood_mean(const struct stv__lane_rows *rows, const double *low,
                              stv__v8 activity, stv__v8 integral, double of_room, double liquid_c,
                              double rh_frac)
{
    stv__v8 apart = activity - rh_frac, mean = (integral - of_room) / apart;
    if (rh_frac < low[ROW_ACTIVITY + STV__NODES8 - 1] - 2.0 * SAME_HUMIDITY_ND ||
        rh_frac > low[ROW_ACTIVITY] + 2.0 * SAME_HUMIDITY_ND)
        return mean;
    if (!stv__any((apart < SAME_HUMIDITY_ND) & (apart > -SAME_HUMIDITY_ND)))
        return mean;
    double at[STV__NODES8], means[STV__NODES8];
    stv__store(activity, at);
    stv__store(mean, means);
    mend_mean(rows, at, rh_frac, liquid_c, means);
    return stv__load(means);
}

enum { REST_MOST = (ROW_MOST - ROW_WARMTH) / 8 };

/* Hour by hour, how much warmer the liquid is whose time constant differs (lane_rows.h); the last
 * two from the start of the step on. */
struct lag {
    double left_nd, mean_nd; /* of a difference after an hour, and in its mean */
    double now[STV__LAG_N];
    double slope_pa_k;
    double sums_pa[STV__LAG_N]; /* times what a kelvin adds to water's pressure */
};

/* What is summed over the hours.  "Until" sums what had come by the middle of each. */
struct sums {
    stv__v8 ethanol_pa, water_pa, rest[REST_MOST], rest_until[REST_MOST];
    stv__v8 rise_pa, ethanol_wave, water_wave, esters_rise;
    stv__v8 rise_of_ethanol, rise_of_water; /* at the nodes */
    /* In the panel's middle; the last two where an hour counts by pure ethanol's pressure and by
     * the esters' rate. */
    double gone_pa[STV__AHEAD_N], until_pa[STV__AHEAD_N], joints_until_pa2[STV__AHEAD_N];
    double esters_until_pa;
    double ester_square_h2; /* times the square of the hours since the step began */
    struct lag lag;
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

STV__INLINE void add_pressures(struct sums *sums, stv__v8 ethanol_pa, stv__v8 water_pa,
                               double ester_nd)
{
    stv__v8 rise_pa = sums->rise_of_ethanol * ethanol_pa + sums->rise_of_water * water_pa;
    stv__v8 until_pa = middles(sums->rise_pa + 0.5 * rise_pa);
    sums->rise_pa += rise_pa;
    sums->esters_rise += ester_nd * until_pa;
    sums->ethanol_wave += to_next(ethanol_pa) * until_pa;
    sums->water_wave += to_next(water_pa) * until_pa;
    sums->ethanol_pa += ethanol_pa;
    sums->water_pa += water_pa;
}

STV__INLINE void add_gone(struct sums *sums, const double pa[STV__AHEAD_N], double pure_pa,
                          double out_until_pa[STV__AHEAD_N])
{
    for (int i = 0; i < STV__AHEAD_N; i++) {
        out_until_pa[i] = sums->gone_pa[i] + 0.5 * pa[i];
        sums->until_pa[i] += out_until_pa[i];
        sums->joints_until_pa2[i] += pure_pa * out_until_pa[i];
        sums->gone_pa[i] += pa[i];
    }
}

STV__INLINE void add_lag(struct sums *sums, size_t hour_idx, const double until_pa[STV__AHEAD_N],
                         double slope_pa_k, double move_k)
{
    struct lag *lag = &sums->lag;
    const double towards[STV__LAG_N] = {0.0, move_k, move_k * ((double)hour_idx + 0.5),
                                        move_k * until_pa[STV__AHEAD_ETHANOL],
                                        move_k * until_pa[STV__AHEAD_WATER]};
    for (int i = 0; i < STV__LAG_N; i++) {
        double apart = lag->now[i] - towards[i];
        lag->sums_pa[i] += slope_pa_k * (towards[i] + lag->mean_nd * apart);
        lag->now[i] = towards[i] + lag->left_nd * apart;
    }
    lag->slope_pa_k += slope_pa_k;
}

STV__INLINE void add_rest(struct sums *sums, size_t group, stv__v8 rest)
{
    sums->rest_until[group] += sums->rest[group] + 0.5 * rest;
    sums->rest[group] += rest;
}

/* Where the sums of the rest have a factor's column. */
STV__INLINE size_t place_in_rest(size_t column_idx)
{
    return ROW_FACTORS - ROW_WARMTH + column_idx - STV__COL_FACTORS;
}

/* What an hour comes to, or one of its points. */
struct hour {
    stv__v8 ethanol_pa, water_pa, rest[REST_MOST];
    double slope_pa_k;
};

STV__INLINE void put_point(const struct stv__lane_rows *rows, const struct prepared *prepared,
                           size_t i, int p, double rh_frac, double room_pa, size_t n_rest,
                           struct hour *out)
{
    const double *low = prepared->low[i][p];
    double x = prepared->x[i][p];
    size_t stride = rows->stride;
    for (size_t g = 0; g < n_rest; g++)
        out->rest[g] = between(low, stride, x, ROW_WARMTH + 8 * g);
    stv__v8 first = out->rest[0];
    stv__v8 wood = wood_mean(rows, low, between(low, stride, x, ROW_ACTIVITY),
                             between(low, stride, x, ROW_INTEGRAL), prepared->integral[i][p],
                             prepared->held_c[i][p], rh_frac);
    stv__v8 drive_pa = between(low, stride, x, ROW_WATER) - first[0] * room_pa;
    out->ethanol_pa = wood * between(low, stride, x, ROW_ETHANOL);
    out->water_pa = wood * drive_pa;
    out->slope_pa_k = in_middle(wood) * (first[ROW_WATER_PER_K - ROW_WARMTH] -
                                         first[ROW_WARMTH_PER_K - ROW_WARMTH] * room_pa +
                                         STV__WOOD_PER_K * in_middle(drive_pa));
}

/* Hours by themselves, before anything is summed: none waits for the one before. */
STV__INLINE void put_hours(const struct stv__lane_rows *rows, const struct stv__lane_hours *hours,
                           size_t from, size_t n, const struct prepared *prepared, size_t n_rest,
                           struct hour out[HOURS_AT_ONCE])
{
    for (size_t i = 0; i < n; i++) {
        double rh_frac = hours->rh_frac[from + i], room_pa = hours->room_pa[from + i];
        struct hour early, late;
        put_point(rows, prepared, i, 0, rh_frac, room_pa, n_rest, &early);
        put_point(rows, prepared, i, 1, rh_frac, room_pa, n_rest, &late);
        out[i].ethanol_pa = 0.5 * (early.ethanol_pa + late.ethanol_pa);
        out[i].water_pa = 0.5 * (early.water_pa + late.water_pa);
        out[i].slope_pa_k = 0.5 * (early.slope_pa_k + late.slope_pa_k);
        for (size_t g = 0; g < n_rest; g++)
            out[i].rest[g] = 0.5 * (early.rest[g] + late.rest[g]);
    }
}

STV__INLINE void add_hours(const struct stv__lane_rows *rows, const struct stv__lane_hours *hours,
                           size_t from, size_t n, const struct hour *hour, size_t n_rest,
                           struct sums *out)
{
    size_t ester = place_in_rest(rows->columns.ester);
    struct sums sums = *out;
    for (size_t i = 0; i < n; i++, hour++) {
        for (size_t g = 0; g < n_rest; g++)
            add_rest(&sums, g, hour->rest[g]);
        double since_h = (double)(from + i) + 0.5, ester_nd = hour->rest[ester / 8][ester % 8];
        add_pressures(&sums, hour->ethanol_pa, hour->water_pa, ester_nd);
        sums.ester_square_h2 += since_h * since_h * ester_nd;
        const double gone_pa[STV__AHEAD_N] = {in_middle(hour->ethanol_pa),
                                              in_middle(hour->water_pa)};
        double until_pa[STV__AHEAD_N];
        add_gone(&sums, gone_pa, hour->rest[0][ROW_PURE - ROW_WARMTH], until_pa);
        sums.esters_until_pa += ester_nd * until_pa[STV__AHEAD_ETHANOL];
        add_lag(&sums, from + i, until_pa, hour->slope_pa_k, hours->move_k[from + i]);
    }
    *out = sums;
}

/* n_rest is a constant where this is called. */
STV__INLINE void sum_hours(const struct stv__lane_rows *rows, const double *table,
                           const struct stv__lane_hours *hours, size_t n_rest, struct sums *out)
{
    for (size_t from = 0; from < hours->n; from += HOURS_AT_ONCE) {
        struct prepared prepared;
        struct hour at_once[HOURS_AT_ONCE];
        size_t n = hours->n - from < HOURS_AT_ONCE ? hours->n - from : HOURS_AT_ONCE;
        prepare(rows, table, hours, from, n, &prepared);
        put_hours(rows, hours, from, n, &prepared, n_rest, at_once);
        add_hours(rows, hours, from, n, at_once, n_rest, out);
    }
}

static struct sums sums_new(const struct stv__lane_rows *rows, size_t panel_idx, size_t lane_idx,
                            double time_constant_h)
{
    struct sums sums;
    memset(&sums, 0, sizeof sums);
    sums.lag.left_nd = exp(-1.0 / time_constant_h);
    sums.lag.mean_nd = -expm1(-1.0 / time_constant_h) * time_constant_h;
    sums.lag.now[STV__LAG_BEGUN] = 1.0;
    for (size_t i = 0; i < STV__NODES8; i++) {
        double root = stv__node_root_nd(rows, panel_idx, i);
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
    stv__panel_fit_line(&rows->fit, slope, out);
}

static double esters_of(const struct stv__lane_rows *rows, const struct sums *sums)
{
    size_t at = place_in_rest(rows->columns.ester);
    return sums->rest[at / 8][at % 8];
}

static void put_waves(const struct stv__lane_rows *rows, const struct sums *sums, double n_hours,
                      double *out)
{
    stv__v8 half_pa = 0.5 * middles(sums->rise_pa);
    double rises[STV__NODES8];
    stv__store(n_hours * (sums->esters_rise * (1.0 / esters_of(rows, sums)) - half_pa), rises);
    stv__panel_fit_line(&rows->fit, rises, out + STV__COL_ESTERS_RISE);
    put_wave(rows, sums->ethanol_wave - half_pa * to_next(sums->ethanol_pa),
             out + STV__COL_ETHANOL_WAVE);
    put_wave(rows, sums->water_wave - half_pa * to_next(sums->water_pa), out + STV__COL_WATER_WAVE);
}

/* From the step's start to its middle, and from all that goes to what runs ahead of its mean. */
static void centre_lag(double lag[STV__LAG_N], double n_hours, const double mean_pa[STV__AHEAD_N])
{
    double *ahead = lag + STV__LAG_AHEAD;
    for (int i = 0; i < STV__AHEAD_N; i++)
        ahead[i] -= mean_pa[i] * lag[STV__LAG_FALLING];
    ahead[STV__AHEAD_ETHANOL] /= mean_pa[STV__AHEAD_ETHANOL];
    lag[STV__LAG_FALLING] -= 0.5 * n_hours * lag[STV__LAG_SHORT];
}

/* n of the means of what had gone, from the half of all, for the columns are divided by the hours.
 */
static void put_ahead(const struct stv__lane_rows *rows, const struct sums *sums, size_t n_hours,
                      double *out)
{
    double n = (double)n_hours, *ahead = out + STV__COL_AHEAD,
           *joints = out + STV__COL_JOINTS_AHEAD;
    const double *gone_pa = sums->gone_pa;
    double per_mean_pa = n / gone_pa[STV__AHEAD_ETHANOL];
    double pure_pa = sums->rest[0][ROW_PURE - ROW_WARMTH];
    for (int i = 0; i < STV__AHEAD_N; i++) {
        ahead[i] = sums->until_pa[i] - 0.5 * n * gone_pa[i];
        joints[i] = n * (sums->joints_until_pa2[i] / pure_pa - 0.5 * gone_pa[i]);
    }
    ahead[STV__AHEAD_ETHANOL] *= per_mean_pa;
    joints[STV__AHEAD_ETHANOL] *= per_mean_pa;
    out[STV__COL_ESTERS_AHEAD_H] =
        n * (per_mean_pa * sums->esters_until_pa / esters_of(rows, sums) - 0.5 * n);
}

/* n of what they are in the end, for the columns are divided by the hours. */
static void put_lag(const struct sums *sums, const struct stv__lane_hours *hours, double *out)
{
    double n_hours = (double)hours->n;
    const double mean_pa[STV__AHEAD_N] = {sums->gone_pa[STV__AHEAD_ETHANOL] / n_hours,
                                          sums->gone_pa[STV__AHEAD_WATER] / n_hours};
    double *warm = out + STV__COL_WARM, *left = out + STV__COL_LEFT;
    memcpy(warm, sums->lag.sums_pa, sizeof sums->lag.sums_pa);
    for (int i = 0; i < STV__LAG_N; i++)
        left[i] = n_hours * sums->lag.now[i];
    centre_lag(warm, n_hours, mean_pa);
    centre_lag(left, n_hours, mean_pa);
    out[STV__COL_SLOPE] = sums->lag.slope_pa_k;
    out[STV__COL_START_C] = n_hours * hours->start_c;
}

static double ester_apart_h2(const struct stv__factor_columns *columns, const struct sums *sums,
                             size_t n_hours)
{
    size_t at = place_in_rest(columns->ester);
    double ester = sums->rest[at / 8][at % 8], n = (double)n_hours;
    double mean_h = n - sums->rest_until[at / 8][at % 8] / ester;
    return sums->ester_square_h2 / ester - n * mean_h + n * n * (1.0 / 4.0 - 1.0 / 12.0);
}

/* n of the hours, for the columns are divided by them. */
static void put_early(const struct stv__factor_columns *columns, const struct sums *sums,
                      size_t n_hours, double *out)
{
    for (size_t f = 0; f < columns->n_factors; f++) {
        size_t at = place_in_rest(STV__COL_FACTORS + f);
        double left_h = sums->rest_until[at / 8][at % 8] / sums->rest[at / 8][at % 8];
        out[STV__COL_FACTORS + columns->n_factors + f] =
            (double)n_hours * (left_h - 0.5 * (double)n_hours);
    }
    out[columns->ester_apart] = (double)n_hours * ester_apart_h2(columns, sums, n_hours);
}

STV__WIDE void stv__lane_rows_sum(const struct stv__lane_rows *rows, size_t panel_idx,
                                  size_t lane_idx, const struct stv__lane_hours *hours, double *out)
{
    const double *table = rows->panel_nd[panel_idx][lane_idx];
    struct sums sums = sums_new(rows, panel_idx, lane_idx, hours->time_constant_h);
    if (rows->stride == ROW_WARMTH + 16)
        sum_hours(rows, table, hours, 2, &sums);
    else
        sum_hours(rows, table, hours, REST_MOST, &sums);
    stv__store(sums.ethanol_pa, out + STV__COL_ETHANOL);
    stv__store(sums.water_pa, out + STV__COL_WATER);
    out[STV__COL_PRESSURE] = sums.rest[0][ROW_PURE - ROW_WARMTH];
    put_waves(rows, &sums, (double)hours->n, out);
    put_ahead(rows, &sums, hours->n, out);
    put_lag(&sums, hours, out);
    for (size_t f = 0; f < rows->n_factors; f++) {
        size_t at = place_in_rest(STV__COL_FACTORS + f);
        out[STV__COL_FACTORS + f] = sums.rest[at / 8][at % 8];
    }
    put_early(&rows->columns, &sums, hours->n, out);
}
