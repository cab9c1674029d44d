/* Rows to hours: the mean over an hour weighs each row by the time it stands for, so that a logger
 * whose interval was changed in the middle counts right in both halves.
 *
 * A row stands for the shorter of the distances to its neighbours; for both when they agree, which
 * is how a change of interval is told from a lone row between two gaps.  An hour with less than
 * half of its time measured is NaN: one reading at five to eight is not the mean from seven to
 * eight. */
#include "ingest/logger_parts.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define MINUTE_S 60
#define LEAST_COVERED_S (STV_HOUR_S / 2)
#define AGREE_FRAC 0.1   /* two distances that differ by less are one interval */
#define LONE_FACTOR 1.5  /* farther than this many usual intervals: a row between gaps */
#define JITTER_FRAC 0.05 /* a clock that is late or early by this share of its interval */

static int by_size(const void *a, const void *b)
{
    int64_t left = *(const int64_t *)a, right = *(const int64_t *)b;
    return left < right ? -1 : left > right;
}

/* Median distance between rows, at most an hour; an hour for a single row. */
static enum stv_status usual_interval(const struct stv_machine *machine, double *out_s)
{
    *out_s = STV_HOUR_S;
    if (machine->n < 2)
        return STV_OK;
    int64_t *distance_s = malloc((machine->n - 1) * sizeof *distance_s);
    if (!distance_s)
        return STV_E_MEMORY;
    for (size_t k = 1; k < machine->n; k++)
        distance_s[k - 1] = machine->rows[k].time_s - machine->rows[k - 1].time_s;
    qsort(distance_s, machine->n - 1, sizeof *distance_s, by_size);
    *out_s = fmin(STV_HOUR_S, (double)distance_s[(machine->n - 1) / 2]);
    free(distance_s);
    return STV_OK;
}

/* Seconds that a row stands for. */
static double interval_of_row(const struct stv_machine *machine, size_t k, double usual_s)
{
    const struct stv_machine_row *rows = machine->rows;
    double before_s = k > 0 ? (double)(rows[k].time_s - rows[k - 1].time_s) : HUGE_VAL;
    double after_s = k + 1 < machine->n ? (double)(rows[k + 1].time_s - rows[k].time_s) : HUGE_VAL;
    double interval_s = fmin(before_s, after_s);
    bool agree = fmax(before_s, after_s) - interval_s <= AGREE_FRAC * interval_s;
    if (!agree && interval_s > LONE_FACTOR * usual_s)
        interval_s = usual_s;
    return fmin(interval_s, STV_HOUR_S);
}

static int64_t hour_start_s(int64_t time_s, int32_t utc_offset_min)
{
    int32_t second_s;
    int64_t day_d = stv_local_day(time_s, utc_offset_min, &second_s);
    return day_d * STV_DAY_S + second_s / STV_HOUR_S * STV_HOUR_S -
           (int64_t)utc_offset_min * MINUTE_S;
}

/* A stamp of 13:59:58 from a clock that means 14:00. */
static int64_t steady_s(const struct stv_machine *machine, size_t k, double usual_s)
{
    return machine->rows[k].time_s + (int64_t)(JITTER_FRAC * interval_of_row(machine, k, usual_s));
}

static enum stv_status average_column(const struct stv_machine *machine, size_t j, double usual_s,
                                      const struct stv_grid *grid, double *out)
{
    double *covered_s = calloc(grid->n, sizeof *covered_s);
    if (!covered_s)
        return STV_E_MEMORY;
    for (size_t k = 0; k < machine->n; k++) {
        double value = stv__machine_values(machine, k)[j];
        size_t i = stv_grid_index(grid, steady_s(machine, k, usual_s));
        if (isnan(value) || i >= grid->n)
            continue;
        double interval_s = interval_of_row(machine, k, usual_s);
        out[i] += interval_s * value;
        covered_s[i] += interval_s;
    }
    for (size_t i = 0; i < grid->n; i++)
        out[i] = covered_s[i] >= LEAST_COVERED_S ? out[i] / covered_s[i] : (double)NAN;
    free(covered_s);
    return STV_OK;
}

static bool has_humidity(const struct stv_machine *machine)
{
    for (size_t k = 0; machine->n_columns > 1 && k < machine->n; k++)
        if (isfinite(stv__machine_values(machine, k)[1]))
            return true;
    return false;
}

static void fill_report(const struct stv_machine *machine, const struct stv_logger_hours *hours,
                        struct stv_logger_report *report)
{
    report->n_hours = hours->grid.n;
    for (size_t i = 0; i < hours->grid.n; i++)
        if (isnan(hours->air_c[i]))
            report->n_hours_missing++;
    report->first_s = machine->rows[0].time_s;
    report->last_s = machine->rows[machine->n - 1].time_s;
    report->coverage_frac = 1.0 - (double)report->n_hours_missing / (double)report->n_hours;
}

enum stv_status stv__logger_average(const struct stv_machine *machine, int32_t utc_offset_min,
                                    struct stv_logger_hours *out, struct stv_logger_report *report)
{
    double usual_s;
    enum stv_status status = usual_interval(machine, &usual_s);
    if (status != STV_OK)
        return status;
    struct stv_grid *grid = &out->grid;
    grid->step_s = STV_HOUR_S;
    grid->utc_offset_min = utc_offset_min;
    grid->t0_s = hour_start_s(steady_s(machine, 0, usual_s), utc_offset_min);
    int64_t last_s = hour_start_s(steady_s(machine, machine->n - 1, usual_s), utc_offset_min);
    grid->n = (size_t)((last_s - grid->t0_s) / STV_HOUR_S) + 1;
    out->air_c = calloc(grid->n, sizeof *out->air_c);
    if (!out->air_c)
        return STV_E_MEMORY;
    status = average_column(machine, 0, usual_s, grid, out->air_c);
    if (status == STV_OK && has_humidity(machine)) {
        out->rh_frac = calloc(grid->n, sizeof *out->rh_frac);
        status =
            out->rh_frac ? average_column(machine, 1, usual_s, grid, out->rh_frac) : STV_E_MEMORY;
    }
    if (status == STV_OK)
        fill_report(machine, out, report);
    return status;
}
