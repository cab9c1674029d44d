/* Rows to hours: the mean over an hour weighs each row by the time it stands for, so that a logger
 * whose interval was changed in the middle counts right in both halves.
 *
 * A row stands for the shorter of the distances to its neighbours; for both when they agree, which
 * is how a change of interval is told from a lone row between two gaps.  An hour with less than
 * half of its time measured is NaN: one reading at five to eight is not the mean from seven to
 * eight.  Each column goes by its own rows, for channels may have clocks of their own. */
#include "ingest/logger_parts.h"
#include "ingest/quality.h"

#include "model/calendar.h"
#include "model/gap_fill.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MINUTE_S 60
#define LEAST_COVERED_S (STV_HOUR_S / 2)
#define AGREE_FRAC 0.1   /* two distances that differ by less are one interval */
#define LONE_FACTOR 1.5  /* farther than this many usual intervals: a row between gaps */
#define JITTER_FRAC 0.05 /* a clock that is late or early by this share of its interval */
#define SAMPLED_MOST 1001
#define SEGMENT_LEAST 12 /* rows of an interval that are worth telling */

/* Rows of a column that have a value. */
struct track {
    const struct stv_samples *samples;
    const double *values;
    size_t *rows;
    size_t n;
    double usual_s;    /* at most an hour */
    int64_t regular_s; /* as it is; 0 for a single row */
};

static int by_size(const void *a, const void *b)
{
    int64_t left = *(const int64_t *)a, right = *(const int64_t *)b;
    return left < right ? -1 : left > right;
}

static int64_t time_of(const struct track *track, size_t i)
{
    return track->samples->time_s[track->rows[i]];
}

/* Median distance between rows, at most an hour; an hour for a single row.  Rows spread evenly over
 * the file stand for all, where there are many. */
static void find_usual_interval(struct track *track)
{
    int64_t distance_s[SAMPLED_MOST];
    size_t step = (track->n + SAMPLED_MOST - 1) / SAMPLED_MOST, n = 0;
    track->usual_s = STV_HOUR_S;
    for (size_t i = 1; i < track->n && n < SAMPLED_MOST; i += step)
        distance_s[n++] = time_of(track, i) - time_of(track, i - 1);
    if (n == 0)
        return;
    qsort(distance_s, n, sizeof *distance_s, by_size);
    track->regular_s = distance_s[n / 2];
    track->usual_s = fmin(STV_HOUR_S, (double)distance_s[n / 2]);
}

static enum stv_status track_of(const struct stv_samples *samples,
                                enum stv_weather_quantity quantity, struct track *out)
{
    *out = (struct track){.samples = samples, .values = samples->values[quantity]};
    out->rows = malloc((samples->n + 1) * sizeof *out->rows);
    if (!out->rows)
        return STV_E_MEMORY;
    for (size_t k = 0; k < samples->n; k++)
        if (isfinite(out->values[k]))
            out->rows[out->n++] = k;
    find_usual_interval(out);
    return STV_OK;
}

/* Seconds that a row stands for. */
static double interval_of_row(const struct track *track, size_t i)
{
    double before_s = i > 0 ? (double)(time_of(track, i) - time_of(track, i - 1)) : HUGE_VAL;
    double after_s =
        i + 1 < track->n ? (double)(time_of(track, i + 1) - time_of(track, i)) : HUGE_VAL;
    double interval_s = fmin(before_s, after_s);
    bool agree = fmax(before_s, after_s) - interval_s <= AGREE_FRAC * interval_s;
    if (!agree && interval_s > LONE_FACTOR * track->usual_s)
        interval_s = track->usual_s;
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
static int64_t steady_s(const struct track *track, size_t i)
{
    return time_of(track, i) + (int64_t)(JITTER_FRAC * interval_of_row(track, i));
}

static enum stv_status average_column(const struct track *track, const struct stv_grid *grid,
                                      double *out)
{
    double *covered_s = calloc(grid->n + 1, sizeof *covered_s);
    if (!covered_s)
        return STV_E_MEMORY;
    for (size_t i = 0; i < track->n; i++) {
        size_t at = stv_grid_index(grid, steady_s(track, i));
        if (at >= grid->n)
            continue;
        double interval_s = interval_of_row(track, i);
        out[at] += interval_s * track->values[track->rows[i]];
        covered_s[at] += interval_s;
    }
    for (size_t k = 0; k < grid->n; k++)
        out[k] = covered_s[k] >= LEAST_COVERED_S ? out[k] / covered_s[k] : (double)NAN;
    free(covered_s);
    return STV_OK;
}

static void fill_report(const struct track *track, const struct stv_logger_hours *hours,
                        struct stv_logger_report *report)
{
    report->n_hours = hours->grid.n;
    for (size_t k = 0; k < hours->grid.n; k++)
        report->n_hours_missing += report->marks[k] >= STV_MARK_ASIDE;
    report->first_s = track->samples->time_s[0];
    report->last_s = track->samples->time_s[track->samples->n - 1];
    report->coverage_frac = 1.0 - (double)report->n_hours_missing / (double)report->n_hours;
}

/* The hours between two rows of a logger that is read every two or three hours miss nothing: they
 * are bridged by a straight line, as they are meant to be. */
static void mark_between(const struct track *track, const struct stv_logger_hours *hours,
                         struct stv_logger_report *report)
{
    if (track->regular_s <= STV_HOUR_S || track->regular_s > STV_GAP_LINE_MOST_H * STV_HOUR_S)
        return;
    int64_t most_s = track->regular_s + (int64_t)(JITTER_FRAC * (double)track->regular_s);
    for (size_t i = 1; i < track->n; i++) {
        if (time_of(track, i) - time_of(track, i - 1) > most_s)
            continue;
        size_t to = stv_grid_index(&hours->grid, steady_s(track, i));
        for (size_t k = stv_grid_index(&hours->grid, steady_s(track, i - 1)) + 1; k < to; k++)
            if (k < hours->grid.n && report->marks[k] == STV_MARK_ASIDE)
                report->marks[k] = STV_MARK_USED;
    }
    report->has_hours_between = true;
}

/* An hour is suspect when a row in it is, and aside when it has no mean, or dead. */
static enum stv_status mark_hours(const struct track *track, const uint8_t *marks,
                                  const struct stv_logger_hours *hours,
                                  struct stv_logger_report *report)
{
    const struct stv_samples *samples = track->samples;
    report->marks = calloc(hours->grid.n + 1, sizeof *report->marks);
    if (!report->marks)
        return STV_E_MEMORY;
    for (size_t k = 0; k < samples->n; k++) {
        size_t at = stv_grid_index(&hours->grid, samples->time_s[k]);
        if (at < hours->grid.n && marks &&
            (marks[k] == STV_MARK_SUSPECT || marks[k] == STV_MARK_DEAD))
            report->marks[at] = marks[k];
    }
    for (size_t k = 0; k < hours->grid.n; k++)
        if (isnan(hours->air_c[k]) && report->marks[k] != STV_MARK_DEAD)
            report->marks[k] = STV_MARK_ASIDE;
        else if (isfinite(hours->air_c[k]) && report->marks[k] == STV_MARK_DEAD)
            report->marks[k] = STV_MARK_USED; /* one of several rows */
    mark_between(track, hours, report);
    return STV_OK;
}

/* "30 min", or "30 min, then 10 min from 2024-05-04": intervals that held for a while. */
static void describe_intervals(const struct track *track, int32_t utc_offset_min,
                               struct stv_logger_report *report)
{
    int64_t told_s = 0, run_s = 0;
    size_t n_run = 0;
    for (size_t i = 1; i < track->n; i++) {
        int64_t distance_s = time_of(track, i) - time_of(track, i - 1);
        bool same = run_s > 0 && fabs((double)(distance_s - run_s)) <= JITTER_FRAC * (double)run_s;
        n_run = same ? n_run + 1 : 1;
        run_s = same ? run_s : distance_s;
        bool is_told = told_s > 0 && fabs((double)(run_s - told_s)) <= JITTER_FRAC * (double)told_s;
        if (n_run != SEGMENT_LEAST || is_told)
            continue;
        char from[STV_STAMP_TEXT];
        size_t used = strlen(report->intervals);
        stv_stamp_text(time_of(track, i + 1 - SEGMENT_LEAST), utc_offset_min, from, sizeof from);
        if (told_s == 0)
            snprintf(report->intervals, sizeof report->intervals, "%.4g min",
                     (double)run_s / MINUTE_S);
        else
            snprintf(report->intervals + used, sizeof report->intervals - used,
                     ", then %.4g min from %.10s", (double)run_s / MINUTE_S, from);
        told_s = run_s;
    }
}

static enum stv_status average_humidity(const struct stv_samples *samples,
                                        struct stv_logger_hours *out)
{
    struct track track;
    enum stv_status status = track_of(samples, STV_WQ_RH_FRAC, &track);
    if (status == STV_OK && track.n > 0) {
        out->rh_frac = calloc(out->grid.n + 1, sizeof *out->rh_frac);
        status = out->rh_frac ? average_column(&track, &out->grid, out->rh_frac) : STV_E_MEMORY;
    }
    free(track.rows);
    return status;
}

/* From the first row's hour to the last one's. */
static void span_hours(const struct track *track, int32_t utc_offset_min, struct stv_grid *grid)
{
    const struct stv_samples *samples = track->samples;
    int64_t slack_s = (int64_t)(JITTER_FRAC * fmin(track->usual_s, STV_HOUR_S));
    grid->step_s = STV_HOUR_S;
    grid->utc_offset_min = utc_offset_min;
    grid->t0_s = hour_start_s(samples->time_s[0] + slack_s, utc_offset_min);
    int64_t last_s = hour_start_s(samples->time_s[samples->n - 1] + slack_s, utc_offset_min);
    grid->n = (size_t)((last_s - grid->t0_s) / STV_HOUR_S) + 1;
}

enum stv_status stv__logger_average(const struct stv_machine *machine, const uint8_t *marks,
                                    int32_t utc_offset_min, struct stv_logger_hours *out,
                                    struct stv_logger_report *report)
{
    const struct stv_samples *samples = &machine->samples;
    struct track track;
    enum stv_status status = track_of(samples, STV_WQ_TEMP_C, &track);
    if (status == STV_OK) {
        span_hours(&track, utc_offset_min, &out->grid);
        out->air_c = calloc(out->grid.n + 1, sizeof *out->air_c);
        status = out->air_c ? average_column(&track, &out->grid, out->air_c) : STV_E_MEMORY;
    }
    if (status == STV_OK && samples->values[STV_WQ_RH_FRAC])
        status = average_humidity(samples, out);
    if (status == STV_OK) {
        describe_intervals(&track, utc_offset_min, report);
        status = mark_hours(&track, marks, out, report);
    }
    if (status == STV_OK)
        fill_report(&track, out, report);
    free(track.rows);
    return status;
}
