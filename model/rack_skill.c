/* How far a told series misses, beside what anybody could have said without learning. */
#include "model/rack_parts.h"

#include "model/air.h"
#include "model/calendar.h"
#include "model/units.h"

#include <gsl/gsl_sort.h>
#include <gsl/gsl_statistics_double.h>
#include <math.h>
#include <stdlib.h>
#include <string.h>

#define MONTH_LEAST_H ((size_t)10 * STV_DAY_H)
#define DAYS_30_H ((size_t)30 * STV_DAY_H)
#define DEGREE_DAY_BASE_C 10.0
#define SWING_LEAST_H 20 /* hours of a day that both series need */

void stv__rack_mean_30d(const struct stv_weather *weather, double *out_c)
{
    const double *air_c = weather->columns[STV_WC_TEMP_C];
    double sum = 0.0;
    for (size_t k = 0; k < weather->grid.n; k++) {
        sum += air_c[k];
        if (k >= DAYS_30_H)
            sum -= air_c[k - DAYS_30_H];
        out_c[k] = k + 1 < DAYS_30_H ? (double)NAN : sum / (double)DAYS_30_H;
    }
}

static int32_t month_at(const struct stv_grid *grid, size_t k)
{
    struct stv_date date = stv_date_from_day(stv_grid_local_day(grid, k, NULL));
    return date.year * STV_MONTHS + date.month - 1;
}

/* Means of months, taken as the hours go by. */
struct months {
    int32_t month;
    double sum;
    size_t n, n_months;
    double square, worst;
};

static void end_month(struct months *months)
{
    if (months->n >= MONTH_LEAST_H) {
        double mean = months->sum / (double)months->n;
        months->square += mean * mean;
        months->n_months++;
        if (fabs(mean) > fabs(months->worst))
            months->worst = mean;
    }
    months->sum = 0.0;
    months->n = 0;
}

enum stv_status stv_rack_miss_of(const struct stv_grid *grid, const double *told_nd,
                                 const double *measured_nd, struct stv_rack_miss *out)
{
    struct months months = {0};
    double sum = 0.0, square = 0.0;
    size_t n = 0;
    *out = (struct stv_rack_miss){NAN, NAN, NAN, NAN, NAN};
    double *size = malloc((grid->n + 1) * sizeof *size);
    if (!size)
        return STV_E_MEMORY;
    for (size_t k = 0; k < grid->n; k++) {
        double miss = told_nd[k] - measured_nd[k];
        if (!isfinite(miss))
            continue;
        int32_t month = month_at(grid, k);
        if (month != months.month)
            end_month(&months);
        months.month = month;
        months.sum += miss;
        months.n++;
        sum += miss;
        square += miss * miss;
        size[n++] = fabs(miss);
    }
    end_month(&months);
    if (n > 0) {
        gsl_sort(size, 1, n);
        out->hour_nd = sqrt(square / (double)n);
        out->bias_nd = sum / (double)n;
        out->p95_nd = gsl_stats_quantile_from_sorted_data(size, 1, n, 0.95);
    }
    if (months.n_months > 0) {
        out->month_nd = sqrt(months.square / (double)months.n_months);
        out->worst_month_nd = months.worst;
    }
    free(size);
    return STV_OK;
}

/* Means of the calendar months, NaN for those with less than ten days of hours. */
static size_t own_means(const struct stv_grid *grid, const double *air_c,
                        double out_c[STV_RACK_FOLDS])
{
    double sum[STV_RACK_FOLDS] = {0.0};
    size_t n[STV_RACK_FOLDS] = {0}, n_months = 0;
    for (size_t k = 0; k < grid->n; k++) {
        if (!isfinite(air_c[k]))
            continue;
        int month = month_at(grid, k) % STV_MONTHS;
        sum[month] += air_c[k];
        n[month]++;
    }
    for (size_t m = 0; m < STV_RACK_FOLDS; m++) {
        out_c[m] = n[m] >= MONTH_LEAST_H ? sum[m] / (double)n[m] : (double)NAN;
        n_months += isfinite(out_c[m]) != 0;
    }
    return n_months;
}

/* A month by the nearest known months to either side, on a straight line between them. */
static double from_beside_c(const double own_c[STV_RACK_FOLDS], size_t month)
{
    size_t before = 1, after = 1;
    while (before < STV_RACK_FOLDS &&
           !isfinite(own_c[(month + STV_RACK_FOLDS - before) % STV_RACK_FOLDS]))
        before++;
    while (after < STV_RACK_FOLDS && !isfinite(own_c[(month + after) % STV_RACK_FOLDS]))
        after++;
    double early_c = own_c[(month + STV_RACK_FOLDS - before) % STV_RACK_FOLDS];
    double late_c = own_c[(month + after) % STV_RACK_FOLDS];
    double share = (double)before / (double)(before + after);
    return early_c + share * (late_c - early_c);
}

static void tell_own(const struct stv_grid *grid, const double *air_c, double *out_c,
                     size_t *out_n_months)
{
    double own_c[STV_RACK_FOLDS];
    *out_n_months = own_means(grid, air_c, own_c);
    for (size_t k = 0; k < grid->n; k++)
        out_c[k] = from_beside_c(own_c, (size_t)(month_at(grid, k) % STV_MONTHS));
}

struct day {
    int64_t day_d;
    double least[2], most[2];
    int n;
};

/* Mean daily swing of the first series over that of the second, less 1. */
static double swing_frac(const struct stv_grid *grid, const double *told, const double *measured)
{
    struct day day = {.day_d = INT64_MIN};
    double swing[2] = {0.0, 0.0};
    for (size_t k = 0; k <= grid->n; k++) {
        int64_t day_d = k < grid->n ? stv_grid_local_day(grid, k, NULL) : INT64_MAX;
        if (day_d != day.day_d) {
            for (int i = 0; i < 2 && day.n >= SWING_LEAST_H; i++)
                swing[i] += day.most[i] - day.least[i];
            day = (struct day){day_d, {HUGE_VAL, HUGE_VAL}, {-HUGE_VAL, -HUGE_VAL}, 0};
        }
        if (k == grid->n || !isfinite(told[k]) || !isfinite(measured[k]))
            continue;
        const double now[2] = {told[k], measured[k]};
        for (int i = 0; i < 2; i++) {
            day.least[i] = fmin(day.least[i], now[i]);
            day.most[i] = fmax(day.most[i], now[i]);
        }
        day.n++;
    }
    return swing[1] > 0.0 ? swing[0] / swing[1] - 1.0 : (double)NAN;
}

static double degree_days_frac(const struct stv_grid *grid, const double *told,
                               const double *measured)
{
    double sum[2] = {0.0, 0.0};
    for (size_t k = 0; k < grid->n; k++) {
        if (!isfinite(told[k]) || !isfinite(measured[k]))
            continue;
        sum[0] += fmax(0.0, told[k] - DEGREE_DAY_BASE_C);
        sum[1] += fmax(0.0, measured[k] - DEGREE_DAY_BASE_C);
    }
    return sum[1] > 0.0 ? sum[0] / sum[1] - 1.0 : (double)NAN;
}

static double deficit_pa(const struct stv_air_hours *told, const struct stv_air_hours *measured,
                         size_t n)
{
    double sum = 0.0, count = 0.0;
    for (size_t k = 0; k < n; k++) {
        double more_pa = stv_water_psat_pa(told->air_c[k]) * (1.0 - told->rh_frac[k]) -
                         stv_water_psat_pa(measured->air_c[k]) * (1.0 - measured->rh_frac[k]);
        if (!isfinite(more_pa))
            continue;
        sum += more_pa;
        count += 1.0;
    }
    return sum / count;
}

static size_t n_known(const double *values, size_t n)
{
    size_t count = 0;
    for (size_t k = 0; values && k < n; k++)
        count += isfinite(values[k]) != 0;
    return count;
}

static const struct stv_rack_miss unknown_miss = {NAN, NAN, NAN, NAN, NAN};

static enum stv_status judge_humidity(const struct stv_rack_request *request,
                                      const struct stv_air_hours *told, struct stv_rack_skill *out)
{
    const struct stv_grid *grid = &request->weather->grid;
    const struct stv_air_hours *measured = &request->measured;
    out->rh_frac = out->store_rh_frac = unknown_miss;
    out->deficit_pa = NAN;
    out->n_rh_hours = n_known(measured->rh_frac, grid->n);
    if (out->n_rh_hours == 0 || n_known(told->rh_frac, grid->n) == 0)
        return STV_OK;
    out->deficit_pa = deficit_pa(told, measured, grid->n);
    enum stv_status status =
        stv_rack_miss_of(grid, told->rh_frac, measured->rh_frac, &out->rh_frac);
    if (status == STV_OK && request->store_rh_frac)
        status =
            stv_rack_miss_of(grid, request->store_rh_frac, measured->rh_frac, &out->store_rh_frac);
    return status;
}

enum stv_status stv__rack_judge(const struct stv_rack_request *request,
                                const struct stv_air_hours *told, struct stv_rack_skill *out)
{
    const struct stv_grid *grid = &request->weather->grid;
    const double *measured_c = request->measured.air_c;
    double *other_c = malloc((grid->n + 1) * sizeof *other_c);
    if (!other_c)
        return STV_E_MEMORY;
    *out =
        (struct stv_rack_skill){.n_hours = n_known(measured_c, grid->n),
                                .store_k = unknown_miss,
                                .degree_days_frac = degree_days_frac(grid, told->air_c, measured_c),
                                .swing_frac = swing_frac(grid, told->air_c, measured_c)};
    enum stv_status status = stv_rack_miss_of(grid, told->air_c, measured_c, &out->air_k);
    if (status == STV_OK)
        status = stv_rack_miss_of(grid, request->weather->columns[STV_WC_TEMP_C], measured_c,
                                  &out->outdoor_k);
    tell_own(grid, measured_c, other_c, &out->n_months);
    if (status == STV_OK)
        status = stv_rack_miss_of(grid, other_c, measured_c, &out->own_k);
    stv__rack_mean_30d(request->weather, other_c);
    if (status == STV_OK)
        status = stv_rack_miss_of(grid, other_c, measured_c, &out->month_30d_k);
    if (status == STV_OK && request->store_air_c)
        status = stv_rack_miss_of(grid, request->store_air_c, measured_c, &out->store_k);
    if (status == STV_OK)
        status = judge_humidity(request, told, out);
    free(other_c);
    return status;
}
