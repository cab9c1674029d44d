/* Gaps in a column, and daily values carried over the hours.
 *
 * A short gap is a straight line between its ends.  A gap of days keeps the shape of the day: each
 * missing hour is the mean of the same hour on the nearest good day before and after.  A gap too
 * long for that is a hole (weather_holes.c); what no other year has of it takes the mean of the
 * record.  Nothing here knows which quantity it fills. */
#include "model/weather_parts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>

#define LINE_GAP_H 6 /* assumed: a straight line still follows the day's curve over this */

/* Assumed: daily humidity, pressure and wind change over these hours on each side of midnight. */
#define BLEND_H 3.0

enum stv_status stv__weather_copy(const struct stv_weather_record *record,
                                  enum stv_weather_quantity quantity, double **out)
{
    const double *from = record->columns[quantity];
    size_t n_finite = 0;
    *out = NULL;
    for (size_t k = 0; from && k < record->grid.n; k++)
        n_finite += isfinite(from[k]) ? 1 : 0;
    if (n_finite == 0)
        return STV_OK;
    double *copy = malloc(record->grid.n * sizeof *copy);
    if (!copy)
        return STV_E_MEMORY;
    for (size_t k = 0; k < record->grid.n; k++)
        copy[k] = isfinite(from[k]) ? from[k] : (double)NAN;
    *out = copy;
    return STV_OK;
}

size_t stv__weather_longest_gap(const double *values, size_t n)
{
    size_t longest = 0, run = 0;
    for (size_t k = 0; k < n; k++) {
        run = isnan(values[k]) ? run + 1 : 0;
        if (run > longest)
            longest = run;
    }
    return longest;
}

/* Straight line through the two ends of a gap [from, to); the only end is held. */
static void fill_line(double *values, size_t n, size_t from, size_t to)
{
    double before = from > 0 ? values[from - 1] : values[to];
    double after = to < n ? values[to] : before;
    double steps = (double)(to - from + 1);
    for (size_t k = from; k < to; k++)
        values[k] = before + (after - before) * (double)(k - from + 1) / steps;
}

static void hold(double *values, size_t from, size_t to, double value)
{
    for (size_t k = from; k < to; k++)
        values[k] = value;
}

/* Mean of the nearest good samples whole days before and after; NaN when there is none within
 * twice the longest gap. */
static double neighbour_days(const double *raw, size_t n, size_t k)
{
    double found[2] = {NAN, NAN};
    for (size_t day = 1; day <= 2 * STV_WEATHER_GAP_D; day++) {
        size_t back = day * STV_DAY_H;
        if (isnan(found[0]) && k >= back)
            found[0] = raw[k - back];
        if (isnan(found[1]) && k + back < n)
            found[1] = raw[k + back];
    }
    return stv_mean_nd(found, 2);
}

/* Same hour of the neighbouring days for [from, to); a straight line where no such day exists. */
static void fill_from_days(double *values, const double *raw, size_t n, size_t from, size_t to)
{
    for (size_t k = from; k < to; k++)
        values[k] = neighbour_days(raw, n, k);
    for (size_t k = from; k < to; k++) {
        size_t end = k;
        while (end < to && isnan(values[end]))
            end++;
        if (end > k)
            fill_line(values, n, k, end);
    }
}

enum stv_status stv__weather_fill(const struct stv_grid *grid, double *values, size_t *n_filled)
{
    size_t n = grid->n;
    bool is_daily = grid->step_s == STV_DAY_S;
    size_t line_max = is_daily ? STV_WEATHER_GAP_D : LINE_GAP_H;
    size_t days_max = stv__weather_gap_steps(grid);
    if (stv__weather_longest_gap(values, n) == 0)
        return STV_OK;
    enum stv_status status = stv__weather_fill_holes(grid, values, n_filled);
    if (status != STV_OK)
        return status;
    double *raw = malloc(n * sizeof *raw);
    if (!raw)
        return STV_E_MEMORY;
    for (size_t k = 0; k < n; k++)
        raw[k] = values[k];
    double mean = stv_mean_nd(raw, n);
    for (size_t from = 0, to; from < n; from = to + 1) {
        for (to = from; to < n && isnan(raw[to]); to++)
            ;
        bool has_ends = from > 0 && to < n;
        *n_filled += to - from;
        if (to - from > days_max)
            hold(values, from, to, mean);
        else if (to - from <= line_max && (has_ends || is_daily) && to > from)
            fill_line(values, n, from, to);
        else if (to > from)
            fill_from_days(values, raw, n, from, to);
    }
    free(raw);
    return STV_OK;
}

void stv__weather_blend_days(const struct stv__weather_work *work, const double *day_values,
                             double *out_hours)
{
    for (size_t k = 0; k < work->out->grid.n; k++) {
        size_t slot = k + work->first_hour, day = slot / STV_DAY_H;
        double hour_h = (double)(slot % STV_DAY_H) + 0.5;
        size_t other = day;
        double to_midnight_h = fmin(hour_h, STV_DAY_H - hour_h);
        if (hour_h < BLEND_H && day > 0)
            other = day - 1;
        if (hour_h > STV_DAY_H - BLEND_H && day + 1 < work->n_days)
            other = day + 1;
        double own_frac = 0.5 + 0.5 * fmin(1.0, to_midnight_h / BLEND_H);
        out_hours[k] = own_frac * day_values[day] + (1.0 - own_frac) * day_values[other];
    }
}

enum stv_status stv__weather_held(const struct stv__weather_work *work,
                                  enum stv_weather_quantity quantity, double **out,
                                  size_t *n_filled)
{
    size_t n_missing = 0;
    double *values = NULL;
    *out = NULL;
    enum stv_status status = stv__weather_copy(work->record, quantity, &values);
    if (status || !values)
        return status;
    status = stv__weather_fill(&work->record->grid, values, &n_missing);
    if (status)
        goto done;
    *n_filled = work->is_daily ? n_missing * STV_DAY_H : n_missing;
    if (!work->is_daily) {
        *out = values;
        return STV_OK;
    }
    *out = malloc(work->out->grid.n * sizeof **out);
    if (*out)
        stv__weather_blend_days(work, values, *out);
    else
        status = STV_E_MEMORY;
done:
    free(values);
    return status;
}

void stv__weather_running_mean(const double *day_values, size_t n, size_t n_days, double *out)
{
    size_t half = n_days / 2;
    for (size_t d = 0; d < n; d++) {
        size_t from = d > half ? d - half : 0;
        size_t to = d + half + 1 < n ? d + half + 1 : n;
        out[d] = stv_mean_nd(day_values + from, to - from);
    }
}
