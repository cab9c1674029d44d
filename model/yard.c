#include "model/yard.h"

#include "model/air.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

#define SEASONS 4
#define LEAST_COMMON_H ((size_t)240)
#define LEAST_BIN_N 10.0 /* days */
#define BLOCKS_MAX 600   /* months of a record */

/* Sums by season and hour of the day. */
struct bins {
    double sum[SEASONS][STV_DAY_H], n[SEASONS][STV_DAY_H];
};

struct slot {
    size_t season, hour;
    int32_t month; /* counted through the years */
};

static struct slot slot_of(const struct stv_grid *grid, size_t k)
{
    int hour;
    struct stv_date date = stv_date_from_day(stv_grid_local_day(grid, k, &hour));
    return (struct slot){(size_t)(date.month % STV_MONTHS) / 3, (size_t)hour,
                         date.year * STV_MONTHS + date.month};
}

static void add(struct bins *bins, struct slot slot, double value, double sign)
{
    bins->sum[slot.season][slot.hour] += sign * value;
    bins->n[slot.season][slot.hour] += sign;
}

/* Mean of a bin, of its hour, or of all. */
static double bin_mean(const struct bins *bins, struct slot slot)
{
    double sum = bins->sum[slot.season][slot.hour], n = bins->n[slot.season][slot.hour];
    if (n >= LEAST_BIN_N)
        return sum / n;
    sum = n = 0.0;
    for (size_t s = 0; s < SEASONS; s++) {
        sum += bins->sum[s][slot.hour];
        n += bins->n[s][slot.hour];
    }
    if (n >= LEAST_BIN_N)
        return sum / n;
    sum = n = 0.0;
    for (size_t s = 0; s < SEASONS; s++)
        for (size_t h = 0; h < STV_DAY_H; h++) {
            sum += bins->sum[s][h];
            n += bins->n[s][h];
        }
    return n > 0.5 ? sum / n : (double)NAN;
}

/* The yard's value in hour k of the record; NaN when it has none. */
static double yard_at(const struct stv_weather_record *record, const struct stv_yard *yard,
                      const double *column, size_t k)
{
    size_t at = stv_grid_index(&yard->grid, stv_grid_start_s(&record->grid, k));
    return column && at < yard->grid.n ? column[at] : (double)NAN;
}

static double difference_at(const struct stv_weather_record *record, const struct stv_yard *yard,
                            size_t k)
{
    return yard_at(record, yard, yard->air_c, k) - record->columns[STV_WQ_TEMP_C][k];
}

static void take_differences(const struct stv_weather_record *record, const struct stv_yard *yard,
                             struct bins *bins, struct stv_yard_report *out)
{
    double sum = 0.0, squares = 0.0;
    for (size_t k = 0; k < record->grid.n; k++) {
        double difference_k = difference_at(record, yard, k);
        if (!isfinite(difference_k))
            continue;
        add(bins, slot_of(&record->grid, k), difference_k, 1.0);
        out->n_common_h++;
        sum += difference_k;
        squares += difference_k * difference_k;
    }
    if (out->n_common_h == 0)
        return;
    out->mean_k = sum / (double)out->n_common_h;
    out->before_k = sqrt(squares / (double)out->n_common_h);
}

/* What is left when each month is predicted from all the others. */
static double left_k(const struct stv_weather_record *record, const struct stv_yard *yard,
                     const struct bins *all)
{
    double squares = 0.0;
    size_t n = 0, n_months = 0;
    for (size_t from = 0; from < record->grid.n && n_months < BLOCKS_MAX; n_months++) {
        int32_t month = slot_of(&record->grid, from).month;
        struct bins others = *all;
        size_t to = from;
        for (; to < record->grid.n && slot_of(&record->grid, to).month == month; to++)
            if (isfinite(difference_at(record, yard, to)))
                add(&others, slot_of(&record->grid, to), difference_at(record, yard, to), -1.0);
        for (size_t k = from; k < to; k++) {
            double error_k =
                difference_at(record, yard, k) - bin_mean(&others, slot_of(&record->grid, k));
            if (!isfinite(error_k))
                continue;
            squares += error_k * error_k;
            n++;
        }
        from = to;
    }
    return n ? sqrt(squares / (double)n) : (double)NAN;
}

static void find_span(const struct bins *bins, struct stv_yard_report *out)
{
    out->least_k = HUGE_VAL;
    out->most_k = -HUGE_VAL;
    for (size_t s = 0; s < SEASONS; s++)
        for (size_t h = 0; h < STV_DAY_H; h++) {
            if (bins->n[s][h] < LEAST_BIN_N)
                continue;
            out->least_k = fmin(out->least_k, bins->sum[s][h] / bins->n[s][h]);
            out->most_k = fmax(out->most_k, bins->sum[s][h] / bins->n[s][h]);
        }
    if (!isfinite(out->least_k))
        out->least_k = out->most_k = out->mean_k;
}

/* Vapour pressure of a record's hour; NaN when the file has no humidity. */
static double vapour_at(const struct stv_weather_record *record, size_t k)
{
    const double *dew_c = record->columns[STV_WQ_DEW_POINT_C];
    const double *rh_frac = record->columns[STV_WQ_RH_FRAC];
    if (dew_c && isfinite(dew_c[k]))
        return stv_water_psat_pa(dew_c[k]);
    return rh_frac ? rh_frac[k] * stv_water_psat_pa(record->columns[STV_WQ_TEMP_C][k])
                   : (double)NAN;
}

static double vapour_ratio(const struct stv_weather_record *record, const struct stv_yard *yard)
{
    double yard_pa = 0.0, station_pa = 0.0;
    size_t n = 0;
    for (size_t k = 0; k < record->grid.n && yard->rh_frac; k++) {
        double here_pa = yard_at(record, yard, yard->rh_frac, k) *
                         stv_water_psat_pa(yard_at(record, yard, yard->air_c, k));
        double there_pa = vapour_at(record, k);
        if (!isfinite(here_pa) || !isfinite(there_pa))
            continue;
        yard_pa += here_pa;
        station_pa += there_pa;
        n++;
    }
    return n >= LEAST_COMMON_H && station_pa > 0.0 ? yard_pa / station_pa : (double)NAN;
}

/* Temperature and vapour of one hour, brought into whatever columns the file has. */
static void put(struct stv_weather_record *record, size_t k, double temp_c, double vapour_pa)
{
    double *dew_c = record->columns[STV_WQ_DEW_POINT_C];
    double *rh_frac = record->columns[STV_WQ_RH_FRAC];
    record->columns[STV_WQ_TEMP_C][k] = temp_c;
    if (!isfinite(vapour_pa))
        return;
    double most_pa = stv_water_psat_pa(temp_c);
    vapour_pa = fmin(vapour_pa, most_pa);
    if (dew_c)
        dew_c[k] = stv_dew_point_c(vapour_pa);
    if (rh_frac)
        rh_frac[k] = vapour_pa / most_pa;
}

static void correct(struct stv_weather_record *record, const struct stv_yard *yard,
                    const struct bins *bins, struct stv_yard_report *out)
{
    double ratio = isfinite(out->vapour_ratio_nd) ? out->vapour_ratio_nd : 1.0;
    for (size_t k = 0; k < record->grid.n; k++) {
        double here_c = yard_at(record, yard, yard->air_c, k);
        double there_c = record->columns[STV_WQ_TEMP_C][k];
        double vapour_pa = ratio * vapour_at(record, k);
        if (isfinite(here_c)) {
            double here_pa = yard_at(record, yard, yard->rh_frac, k) * stv_water_psat_pa(here_c);
            put(record, k, here_c, isfinite(here_pa) ? here_pa : vapour_pa);
            out->n_replaced_h++;
        } else if (isfinite(there_c)) {
            put(record, k, there_c + bin_mean(bins, slot_of(&record->grid, k)), vapour_pa);
        }
    }
}

enum stv_status stv_weather_correct_by_yard(struct stv_weather_record *record,
                                            const struct stv_yard *yard,
                                            struct stv_yard_report *out)
{
    if (!record || !yard || !yard->air_c || !out)
        return STV_E_ARG;
    *out = (struct stv_yard_report){.mean_k = (double)NAN,
                                    .least_k = (double)NAN,
                                    .most_k = (double)NAN,
                                    .before_k = (double)NAN,
                                    .after_k = (double)NAN,
                                    .vapour_ratio_nd = (double)NAN};
    if (record->grid.is_typical || record->grid.step_s != STV_HOUR_S ||
        !record->columns[STV_WQ_TEMP_C])
        return STV_E_NO_DATA;
    struct bins bins;
    memset(&bins, 0, sizeof bins);
    take_differences(record, yard, &bins, out);
    if (out->n_common_h < LEAST_COMMON_H)
        return STV_E_NO_DATA;
    find_span(&bins, out);
    out->after_k = left_k(record, yard, &bins);
    out->vapour_ratio_nd = vapour_ratio(record, yard);
    correct(record, yard, &bins, out);
    return STV_OK;
}
