/* What single rows and first rows betray by their steps. */
#include "ingest/quality_parts.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define WINDOW 3       /* rows to either side: a median of seven */
#define MADS 4.0       /* median distances from the median */
#define LEAST_K 3.0    /* no smaller step is a fault */
#define PER_HOUR_K 5.0 /* air itself moves so much, out and back, in the time of a row */
/* Settling: the first hour moves by more than this, the second by a third of it or less. */
#define SETTLING_K 4.0
#define SETTLED_PART 3.0
#define SETTLED_K_PER_H 2.0
#define SETTLING_INTERVAL_S 1800
#define WOBBLE_K 0.5

static int by_value(const void *a, const void *b)
{
    double left = *(const double *)a, right = *(const double *)b;
    return (left > right) - (left < right);
}

/* Median of the neighbours, and their median distance from it; false with fewer than two. */
static bool around(const struct stv_quality_rows *rows, size_t k, double *median, double *mad)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    double near[2 * WINDOW];
    size_t n = 0;
    for (size_t d = 1; d <= WINDOW; d++) {
        double before = k >= d ? stv__quality_near(rows->samples, values, k, k - d) : (double)NAN;
        double after = stv__quality_near(rows->samples, values, k, k + d);
        if (isfinite(before))
            near[n++] = before;
        if (isfinite(after))
            near[n++] = after;
    }
    if (n < 2)
        return false;
    qsort(near, n, sizeof *near, by_value);
    *median = 0.5 * (near[(n - 1) / 2] + near[n / 2]);
    for (size_t i = 0; i < n; i++)
        near[i] = fabs(near[i] - *median);
    qsort(near, n, sizeof *near, by_value);
    *mad = 0.5 * (near[(n - 1) / 2] + near[n / 2]);
    return true;
}

/* Out and back within one row, farther than the air goes in that time. */
static bool is_spike(const struct stv_quality_rows *rows, size_t k)
{
    const struct stv_samples *samples = rows->samples;
    const double *values = samples->values[STV_WQ_TEMP_C];
    double median, mad;
    if (k == 0 || k + 1 >= samples->n)
        return false;
    double up = values[k] - stv__quality_near(samples, values, k, k - 1);
    double down = values[k] - stv__quality_near(samples, values, k, k + 1);
    double hours = (double)(samples->time_s[k + 1] - samples->time_s[k - 1]) / 2.0 / STV_HOUR_S;
    double limit_k = LEAST_K + PER_HOUR_K * hours;
    /* Written so that NaN is no spike; first the cheap test. */
    if (!(fmin(fabs(up), fabs(down)) > limit_k) || up * down < 0.0 ||
        !around(rows, k, &median, &mad))
        return false;
    return fabs(values[k] - median) > fmax(MADS * mad, limit_k);
}

void stv__quality_spikes(struct stv_quality_rows *rows)
{
    for (size_t k = 1; k + 1 < rows->samples->n; k++) {
        if (!is_spike(rows, k))
            continue;
        struct stv__run run = {k, k, STV_SUSPECT, "spike"};
        stv__quality_say(rows, &run,
                         "the temperature jumps out and back within one row: used, but doubtful");
        stv__quality_mark(rows, STV_WQ_TEMP_C, &run);
    }
}

/* First row at or after a time behind the first one. */
static size_t row_after(const struct stv_samples *samples, int64_t behind_s)
{
    size_t k = 0;
    while (k < samples->n && samples->time_s[k] - samples->time_s[0] < behind_s)
        k++;
    return k;
}

void stv__quality_settling(struct stv_quality_rows *rows)
{
    const struct stv_samples *samples = rows->samples;
    const double *values = samples->values[STV_WQ_TEMP_C];
    size_t one = row_after(samples, STV_HOUR_S), two = row_after(samples, 2 * STV_HOUR_S);
    if (two >= samples->n || one < 2 ||
        samples->time_s[1] - samples->time_s[0] > SETTLING_INTERVAL_S)
        return;
    double first_k = values[one] - values[0], second_k = values[two] - values[one];
    if (!(fabs(first_k) > SETTLING_K) || fabs(second_k) * SETTLED_PART > fabs(first_k))
        return;
    size_t last = 0;
    for (size_t k = 1; k <= two; k++) {
        double hours = (double)(samples->time_s[k] - samples->time_s[k - 1]) / STV_HOUR_S;
        double step_k = values[k] - values[k - 1];
        if (step_k * first_k < 0.0 && fabs(step_k) > WOBBLE_K)
            return; /* not one way: no settling */
        if (fabs(step_k) > SETTLED_K_PER_H * hours)
            last = k;
    }
    struct stv__run run = {0, last, STV_SUSPECT, "settling"};
    stv__quality_say(rows, &run,
                     "the sensor still settles from another temperature: used, but doubtful; give "
                     "a later date under from to leave it out");
    stv__quality_mark(rows, STV_WQ_TEMP_C, &run);
}
