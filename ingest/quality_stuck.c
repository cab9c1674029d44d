/* A sensor that repeats one value to its last digit while its own other days move.  How long is too
 * long depends on how fine it reads: a coarse one stands still through a mild night. */
#include "ingest/quality_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define SAME 1e-9
#define ROWS_LEAST 24
/* Hours at one value that are too many, by the resolution in K or as a share. */
#define FINE_H 24
#define MIDDLE_H 48
#define COARSE_H 96
#define FINE_K 0.15
#define MIDDLE_K 0.6
#define MOVES_K 1.0 /* a sensor whose days move less than that is no witness */
#define MOVES_FRAC 0.02
#define WET_FRAC 0.9985
#define WET_SWING_K 2.0
#define WET_H 48

double stv__quality_resolution(const struct stv_samples *samples, const double *values)
{
    double least = HUGE_VAL;
    for (size_t k = 1; k < samples->n; k++) {
        double step = fabs(values[k] - values[k - 1]);
        if (step > SAME && step < least)
            least = step;
    }
    return least;
}

static int by_value(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

/* Middle one of the days' ranges; 0 when there is no day. */
static double usual_swing(const struct stv_samples *samples, const double *values)
{
    double *swings = malloc((samples->n + 1) * sizeof *swings);
    double low = HUGE_VAL, high = -HUGE_VAL;
    size_t n = 0;
    int64_t day_d = INT64_MIN;
    for (size_t k = 0; swings && k <= samples->n; k++) {
        int32_t second_s;
        int64_t now_d =
            k < samples->n ? stv_local_day(samples->time_s[k], 0, &second_s) : INT64_MAX;
        if (now_d != day_d && high >= low)
            swings[n++] = high - low;
        if (now_d != day_d) {
            low = HUGE_VAL;
            high = -HUGE_VAL;
            day_d = now_d;
        }
        if (k < samples->n && isfinite(values[k])) {
            low = fmin(low, values[k]);
            high = fmax(high, values[k]);
        }
    }
    if (n > 0)
        qsort(swings, n, sizeof *swings, by_value);
    double middle = n > 0 ? swings[n / 2] : 0.0;
    free(swings);
    return middle;
}

static int64_t longest_s(double resolution)
{
    int hours = resolution <= FINE_K ? FINE_H : resolution <= MIDDLE_K ? MIDDLE_H : COARSE_H;
    return (int64_t)hours * STV_HOUR_S;
}

static double range_of(const double *values, size_t from, size_t to)
{
    double low = HUGE_VAL, high = -HUGE_VAL;
    for (size_t k = from; k <= to; k++) {
        if (!isfinite(values[k]))
            continue;
        low = fmin(low, values[k]);
        high = fmax(high, values[k]);
    }
    return high >= low ? high - low : 0.0;
}

/* A run at one value: wet where it is saturated air while the temperature moves. */
static void judge_run(struct stv_quality_rows *rows, enum stv_weather_quantity quantity,
                      struct stv__run run)
{
    const struct stv_samples *samples = rows->samples;
    bool is_wet = quantity == STV_WQ_RH_FRAC && samples->values[quantity][run.from] >= WET_FRAC;
    if (is_wet && range_of(samples->values[STV_WQ_TEMP_C], run.from, run.to) < WET_SWING_K)
        return; /* fog stands still, too */
    run.rule = is_wet ? "wet" : "stuck";
    run.from += !is_wet; /* the first is as good as any */
    stv__quality_say(rows, &run,
                     is_wet ? "the humidity stands at 100 % for two days or more while the "
                              "temperature moves, as a wet sensor does: used, but doubtful"
                     : quantity == STV_WQ_TEMP_C
                         ? "the temperature stands still for a day or more: used, but doubtful"
                         : "the humidity stands still for days, as a dead sensor does: used, but "
                           "doubtful");
    stv__quality_mark(rows, quantity, &run);
}

void stv__quality_stuck(struct stv_quality_rows *rows, enum stv_weather_quantity quantity)
{
    const struct stv_samples *samples = rows->samples;
    const double *values = samples->values[quantity];
    bool is_share = quantity == STV_WQ_RH_FRAC;
    double resolution = stv__quality_resolution(samples, values);
    double witness = is_share ? MOVES_FRAC : MOVES_K;
    if (!isfinite(resolution) || usual_swing(samples, values) < witness)
        return;
    int64_t most_s = is_share ? (int64_t)WET_H * STV_HOUR_S : longest_s(resolution);
    for (size_t start = 0, k = 1; k <= samples->n; k++) {
        if (k < samples->n && fabs(values[k] - values[start]) <= SAME)
            continue;
        int64_t held_s = samples->time_s[k - 1] - samples->time_s[start];
        if (held_s >= most_s && k - start >= ROWS_LEAST)
            judge_run(rows, quantity, (struct stv__run){start, k - 1, STV_SUSPECT, ""});
        start = k;
    }
}
