/* Temperature by the hour.
 *
 * Hourly records keep theirs.  Daily extremes become a sine from the morning's minimum over the
 * afternoon's maximum to sunset and a decay to the next minimum (Parton and Logan 1981).  That
 * curve misses the extremes: its decay ends above the next minimum, and hours stand at the half.
 * So each rise (from the coldest to the warmest hour) and each fall (to the next day's coldest
 * hour, bent at midnight) is stretched to join the extremes.  At midnight the temperature belongs
 * to both days and is held within both ranges; days whose ranges do not meet leave a step there.
 * Fronts, cloud and wind do not show: only the two extremes are known. */
#include "model/weather_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846

/* Fitted, Parton and Logan 1981, air at 1.5 m, Denver.  The three numbers are quoted elsewhere
 * under the names of other coefficients; in this order the curve peaks 1.7 h after noon. */
#define PL_MAXIMUM_LAG_H 1.86
#define PL_DECAY_ND 2.20
#define PL_MINIMUM_LAG_H (-0.17)

/* Assumed: the curve needs a day and a night.  Near the poles and on clocks far from the sun it is
 * drawn with the nearest day length and noon in these ranges. */
#define SHAPE_DAY_MIN_H 4.0
#define SHAPE_DAY_MAX_H 20.0
#define SHAPE_NOON_MIN_H 10.5
#define SHAPE_NOON_MAX_H 15.5

static double by_day_c(const struct stv_temp_day *day, double hour_h)
{
    double since_h = hour_h - day->sunrise_h - PL_MINIMUM_LAG_H;
    double length_h = day->sunset_h - day->sunrise_h;
    return day->min_c +
           (day->max_c - day->min_c) * sin(PI * since_h / (length_h + 2.0 * PL_MAXIMUM_LAG_H));
}

double stv_parton_logan_c(const struct stv_temp_day *day, double hour_h)
{
    if (hour_h <= day->sunset_h)
        return by_day_c(day, hour_h);
    double night_h = STV_DAY_H - (day->sunset_h - day->sunrise_h);
    double dusk_c = by_day_c(day, day->sunset_h);
    return day->next_min_c +
           (dusk_c - day->next_min_c) * exp(-PL_DECAY_ND * (hour_h - day->sunset_h) / night_h);
}

static double within(double value, double low, double high)
{
    return fmin(fmax(value, low), high);
}

/* A day's curve with the half hours that stand for its extremes. */
struct curve {
    struct stv_temp_day day;
    double coldest_h, warmest_h;
};

static struct curve curve_of(const struct stv__weather_work *work, size_t d)
{
    const struct stv_sun_day *sun = &work->sun_days[d];
    size_t next = d + 1 < work->n_days ? d + 1 : d;
    double length_h =
        within((sun->sunset_s - sun->sunrise_s) / STV_HOUR_S, SHAPE_DAY_MIN_H, SHAPE_DAY_MAX_H);
    double noon_h = within(sun->noon_s / STV_HOUR_S, SHAPE_NOON_MIN_H, SHAPE_NOON_MAX_H);
    struct curve curve;
    curve.day.min_c = work->min_c[d];
    curve.day.max_c = work->max_c[d];
    curve.day.next_min_c = work->min_c[next];
    curve.day.sunrise_h = noon_h - length_h / 2.0;
    curve.day.sunset_h = noon_h + length_h / 2.0;
    curve.coldest_h = floor(curve.day.sunrise_h + PL_MINIMUM_LAG_H) + 0.5;
    curve.warmest_h = floor(noon_h + PL_MINIMUM_LAG_H + PL_MAXIMUM_LAG_H) + 0.5;
    return curve;
}

/* Maps [from0, from1] on [to0, to1]; an empty span gives its first end. */
static double stretch(double value, double from0, double from1, double to0, double to1)
{
    if (from1 == from0)
        return to0;
    return to0 + (to1 - to0) * (value - from0) / (from1 - from0);
}

/* Shape of the fall, any scale: the published curve, or time itself when the night warms. */
static double fall(const struct stv_temp_day *day, double hour_h)
{
    bool warms = by_day_c(day, day->sunset_h) <= day->next_min_c;
    return warms ? hour_h : stv_parton_logan_c(day, hour_h);
}

/* Temperature at an hour of the fall that starts on day `a` and ends on the morning of `b`. */
static double falling_c(const struct curve *a, const struct curve *b, double hour_h)
{
    double end_c = a->day.next_min_c;
    double top = fall(&a->day, a->warmest_h), bottom = fall(&a->day, STV_DAY_H + b->coldest_h);
    double at_midnight = fall(&a->day, STV_DAY_H);
    double low_c = fmax(a->day.min_c, b->day.min_c), high_c = fmin(a->day.max_c, b->day.max_c);
    double midnight_c = stretch(at_midnight, top, bottom, a->day.max_c, end_c);
    midnight_c = low_c <= high_c ? within(midnight_c, low_c, high_c) : 0.5 * (low_c + high_c);
    double value = fall(&a->day, hour_h);
    return hour_h < STV_DAY_H ? stretch(value, top, at_midnight, a->day.max_c, midnight_c)
                              : stretch(value, at_midnight, bottom, midnight_c, end_c);
}

/* The 24 hours of one day.  Before the first and after the last day their own curve repeats. */
static void day_hours(const struct stv__weather_work *work, size_t d, double *hours_c)
{
    struct curve today = curve_of(work, d), before = today, after = today;
    if (d > 0)
        before = curve_of(work, d - 1);
    else
        before.day.next_min_c = today.day.min_c;
    if (d + 1 < work->n_days)
        after = curve_of(work, d + 1);
    double low = by_day_c(&today.day, today.coldest_h),
           high = by_day_c(&today.day, today.warmest_h);
    double min_c = today.day.min_c, max_c = today.day.max_c;
    for (size_t i = 0; i < STV_DAY_H; i++) {
        double hour_h = (double)i + 0.5, value_c;
        if (hour_h <= today.coldest_h)
            value_c = falling_c(&before, &today, hour_h + STV_DAY_H);
        else if (hour_h <= today.warmest_h)
            value_c = stretch(by_day_c(&today.day, hour_h), low, high, min_c, max_c);
        else
            value_c = falling_c(&today, &after, hour_h);
        hours_c[i] = within(value_c, min_c, max_c);
        if (hour_h == today.coldest_h)
            hours_c[i] = min_c;
        if (hour_h == today.warmest_h)
            hours_c[i] = max_c;
    }
}

/* Copies one column of extremes into the work, a day at fault as missing. */
static bool take_extremes(struct stv__weather_work *work, size_t *n_missing_days)
{
    const double *low = work->record->columns[STV_WQ_TEMP_MIN_C];
    const double *high = work->record->columns[STV_WQ_TEMP_MAX_C];
    if (!low || !high)
        return false;
    for (size_t d = 0; d < work->n_days; d++) {
        bool contradicts = low[d] > high[d];
        work->min_c[d] = isfinite(low[d]) && !contradicts ? low[d] : (double)NAN;
        work->max_c[d] = isfinite(high[d]) && !contradicts ? high[d] : (double)NAN;
        *n_missing_days += isnan(work->min_c[d]) || isnan(work->max_c[d]) ? 1 : 0;
    }
    return isfinite(stv_mean_nd(work->min_c, work->n_days)) &&
           isfinite(stv_mean_nd(work->max_c, work->n_days));
}

/* Fills a column of temperatures, in which no mean of the record may stand for a season. */
static enum stv_status fill_temperature(const struct stv_grid *grid, double *values_c,
                                        size_t *n_filled)
{
    enum stv_status status = stv__weather_fill_holes(grid, values_c, n_filled);
    if (status == STV_OK &&
        stv__weather_longest_gap(values_c, grid->n) > stv__weather_gap_steps(grid))
        status = STV_E_NO_DATA;
    return status == STV_OK ? stv__weather_fill(grid, values_c, n_filled) : status;
}

/* Marks the output hours that other years filled. */
static enum stv_status mark_made_up(struct stv__weather_work *work)
{
    struct stv_weather_hole hole = {0};
    size_t hours = work->is_daily ? STV_DAY_H : 1;
    while (stv_weather_next_hole(work->record, &hole)) {
        if (!work->out->is_made_up)
            work->out->is_made_up = calloc(work->out->grid.n, sizeof *work->out->is_made_up);
        if (!work->out->is_made_up)
            return STV_E_MEMORY;
        memset(work->out->is_made_up + hole.from * hours, 1, hole.n * hours);
    }
    return STV_OK;
}

static enum stv_status from_extremes(struct stv__weather_work *work)
{
    size_t n_missing_days = 0, n_samples = 0;
    if (!take_extremes(work, &n_missing_days))
        return STV_E_NO_DATA;
    enum stv_status status = fill_temperature(&work->record->grid, work->min_c, &n_samples);
    if (!status)
        status = fill_temperature(&work->record->grid, work->max_c, &n_samples);
    if (!status)
        status = mark_made_up(work);
    if (status)
        return status;
    /* A filled extreme gives way to the one that was measured. */
    for (size_t d = 0; d < work->n_days; d++) {
        if (work->min_c[d] <= work->max_c[d])
            continue;
        if (isfinite(work->record->columns[STV_WQ_TEMP_MAX_C][d]))
            work->min_c[d] = work->max_c[d];
        else
            work->max_c[d] = work->min_c[d];
    }
    double *hours_c = stv__weather_new_hours(work, STV_WC_TEMP_C);
    if (!hours_c)
        return STV_E_MEMORY;
    for (size_t d = 0; d < work->n_days; d++)
        day_hours(work, d, hours_c + d * STV_DAY_H);
    work->out->n_filled[STV_WC_TEMP_C] = n_missing_days * STV_DAY_H;
    stv__weather_note(
        work, STV_WC_TEMP_C, STV_ORIGIN_DERIVED,
        "from daily minimum and maximum (sine by day, decay by night); misses an hour "
        "by 1.1 to 2.3 K");
    return STV_OK;
}

/* Lowest and highest hour of output hours [from, to). */
static void extremes_of(const double *hours_c, size_t from, size_t to, double *min_c, double *max_c)
{
    *min_c = INFINITY;
    *max_c = -INFINITY;
    for (size_t k = from; k < to; k++) {
        *min_c = fmin(*min_c, hours_c[k]);
        *max_c = fmax(*max_c, hours_c[k]);
    }
}

/* Extremes of the local days of hourly values.  A day cut off by an end of the record borrows them
 * from its whole neighbour, or from all of a record too short to have one. */
static void day_extremes(struct stv__weather_work *work, const double *hours_c)
{
    size_t n = work->out->grid.n, n_days = work->n_days, first = work->first_hour;
    bool first_cut = first > 0 || n < STV_DAY_H;
    bool last_cut = n_days > 1 && (n + first) % STV_DAY_H != 0;
    bool has_whole = n_days > (first_cut ? 1u : 0u) + (last_cut ? 1u : 0u);
    double all_min_c, all_max_c;
    extremes_of(hours_c, 0, n, &all_min_c, &all_max_c);
    for (size_t d = 0; d < n_days; d++) {
        size_t from = d == 0 ? 0 : d * STV_DAY_H - first, to = (d + 1) * STV_DAY_H - first;
        extremes_of(hours_c, from, to < n ? to : n, &work->min_c[d], &work->max_c[d]);
    }
    if (first_cut) {
        work->min_c[0] = has_whole ? work->min_c[1] : all_min_c;
        work->max_c[0] = has_whole ? work->max_c[1] : all_max_c;
    }
    if (last_cut) {
        work->min_c[n_days - 1] = has_whole ? work->min_c[n_days - 2] : all_min_c;
        work->max_c[n_days - 1] = has_whole ? work->max_c[n_days - 2] : all_max_c;
    }
}

enum stv_status stv__weather_temperature(struct stv__weather_work *work)
{
    if (work->is_daily)
        return from_extremes(work);
    double *hours_c = NULL;
    enum stv_status status = stv__weather_copy(work->record, STV_WQ_TEMP_C, &hours_c);
    if (status)
        return status;
    if (!hours_c)
        return STV_E_NO_DATA;
    work->out->columns[STV_WC_TEMP_C] = hours_c;
    status = fill_temperature(&work->record->grid, hours_c, &work->out->n_filled[STV_WC_TEMP_C]);
    if (status == STV_OK)
        status = mark_made_up(work);
    if (status != STV_OK)
        return status;
    day_extremes(work, hours_c);
    stv__weather_note(work, STV_WC_TEMP_C, STV_ORIGIN_MEASURED, "measured");
    return STV_OK;
}
