/* From rows at any times to hours or days on one grid, the same for every format.
 *
 * An hour is the mean of what was reported in it, each report weighed by the time for which it is
 * the nearest one, at most half an hour to either side.  What share of the hour is spoken for is
 * kept beside it.  Of several reports at one time the one of lowest rank counts.  What is missing
 * stays NaN; completing it is the model's work (model/weather.h). */
#include "ingest/weather_grid.h"

#include "ingest/reading.h"
#include "ingest/stamp.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PADDED_MOST_H 3
#define YEAR_LEAST_H 8736 /* 364 days: shorter records have no year to complete */
#define MINUTE_S 60
#define SIDE_MOST_S 1800.0 /* how far to either side a report speaks */
#define GAP_NOTED_S (3 * STV_HOUR_S)
#define GAPS_LISTED 20
#define HALF 0.5
/* A station rests for years, but no hundredth part of a file lies years away by itself. */
#define FAR_S ((int64_t)366 * STV_DAY_S)
#define FAR_PART 100
/* A dew point above the air by more than rounding of both to half a degree. */
#define DEW_ABOVE_MOST_K 0.5
#define DEGREES_AN_HOUR 15.0

static void say(const struct stv_weather_text *file, enum stv_severity severity, const char *rule,
                size_t line, const char *what)
{
    struct stv_finding finding = {
        .severity = severity, .rule = rule, .file = file->file, .row = line};
    stv_finding_add(file->problems, &finding, "%s", what);
}

static size_t line_of(const struct stv_weather_text *file, size_t k, struct stv_line_cursor *cursor)
{
    return stv_line_of(file->text, file->samples.at[k], cursor);
}

static bool same_values(const struct stv_samples *samples, size_t a, size_t b)
{
    for (size_t j = 0; j < STV_WQ_N; j++) {
        const double *column = samples->values[j];
        if (column && !(column[a] == column[b] || (isnan(column[a]) && isnan(column[b]))))
            return false;
    }
    return true;
}

/* Marks the rows that stay: of each time the first; where its value is missing, the next one's
 * stands in.  Returns how many rows of equal rank contradict each other. */
static size_t mark_firsts(struct stv_weather_text *file, uint8_t *keep, size_t *out_n_repeats)
{
    struct stv_samples *samples = &file->samples;
    struct stv_line_cursor cursor = {0};
    size_t kept = SIZE_MAX, n_conflicts = 0;
    for (size_t k = 0; k < samples->n; k++) {
        keep[k] = kept == SIZE_MAX || samples->time_s[kept] != samples->time_s[k];
        if (keep[k]) {
            kept = k;
            continue;
        }
        bool is_conflict = !file->has_reports && samples->rank[kept] == samples->rank[k] &&
                           !same_values(samples, kept, k);
        if (is_conflict && n_conflicts++ < GAPS_LISTED)
            say(file, STV_SET_ASIDE, "conflict", line_of(file, k, &cursor),
                "the row has other values for a time already read: the first are kept, this row "
                "is not used");
        *out_n_repeats += !is_conflict;
        for (size_t j = 0; j < STV_WQ_N; j++)
            if (samples->values[j] && isnan(samples->values[j][kept]))
                samples->values[j][kept] = samples->values[j][k];
    }
    return n_conflicts;
}

static enum stv_status drop_repeats(struct stv_weather_text *file)
{
    char what[160];
    size_t n_repeats = 0;
    uint8_t *keep = calloc(file->samples.n + 1, sizeof *keep);
    if (!keep)
        return STV_E_MEMORY;
    size_t n_before = file->samples.n, n_conflicts = mark_firsts(file, keep, &n_repeats);
    stv_samples_keep(&file->samples, keep);
    free(keep);
    if (n_conflicts > GAPS_LISTED) {
        snprintf(what, sizeof what, "%zu more rows have other values for a time already read",
                 n_conflicts - GAPS_LISTED);
        struct stv_finding rest = {.severity = STV_SET_ASIDE,
                                   .rule = "conflict",
                                   .file = file->file,
                                   .count = n_conflicts - GAPS_LISTED};
        stv_finding_add(file->problems, &rest, "%s", what);
    }
    if (n_repeats && !file->is_daily) {
        snprintf(what, sizeof what, "rows for a time that another row has already: %zu; %s",
                 n_repeats,
                 file->has_reports ? "the routine report is used"
                                   : "they say nothing else and are left out");
        say(file, STV_NOTED, "duplicate", 0, what);
    }
    if (!file->is_daily) /* a day's elements may stand in several rows, all of them used */
        file->n_set_aside += n_before - file->samples.n;
    return STV_OK;
}

static enum stv_status order(struct stv_weather_text *file)
{
    size_t back;
    struct stv_line_cursor cursor = {0};
    size_t line = 0;
    for (size_t k = 1; k < file->samples.n && line == 0; k++)
        if (file->samples.time_s[k] < file->samples.time_s[k - 1])
            line = line_of(file, k, &cursor);
    enum stv_status status = stv_samples_sort(&file->samples, &back);
    if (status == STV_OK && back != SIZE_MAX && !file->meta.is_typical && !file->is_daily)
        say(file, STV_NOTED, "order", line, "time goes back here: the rows were sorted");
    return status == STV_OK ? drop_repeats(file) : status;
}

/* Values that contradict each other cannot both be true, and nothing tells which is wrong. */
static void drop_contradictions(struct stv_weather_text *file)
{
    double *const *values = file->samples.values;
    const double *air = values[STV_WQ_TEMP_C];
    double *dew = values[STV_WQ_DEW_POINT_C];
    double *low = values[STV_WQ_TEMP_MIN_C], *high = values[STV_WQ_TEMP_MAX_C];
    struct stv_line_cursor cursor = {0};
    for (size_t k = 0; k < file->samples.n; k++) {
        if (low && high && low[k] > high[k]) {
            file->n_values_set_aside += 2;
            say(file, STV_SET_ASIDE, "range", line_of(file, k, &cursor),
                "the lowest temperature is above the highest: neither is used");
            low[k] = high[k] = (double)NAN;
        }
        if (dew && air && !file->is_daily && dew[k] > air[k] + DEW_ABOVE_MOST_K) {
            file->n_values_set_aside++;
            say(file, STV_SET_ASIDE, "range", line_of(file, k, &cursor),
                "the dew point is above the temperature: it is not used");
            dew[k] = (double)NAN;
        }
    }
}

/* Leaves out rows that have lost all their values, and few rows that lie years from all others. */
static enum stv_status drop_lost(struct stv_weather_text *file)
{
    struct stv_samples *samples = &file->samples;
    struct stv_line_cursor cursor = {0};
    uint8_t *keep = calloc(samples->n + 1, sizeof *keep);
    if (!keep)
        return STV_E_MEMORY;
    for (size_t k = 0; k < samples->n; k++)
        for (size_t j = 0; j < STV_WQ_N; j++)
            keep[k] |= samples->values[j] && isfinite(samples->values[j][k]);
    for (size_t first = 0, k = 1; k <= samples->n; k++) {
        if (k < samples->n && samples->time_s[k] - samples->time_s[k - 1] <= FAR_S)
            continue;
        for (size_t i = first; (k - first) * FAR_PART < samples->n && i < k; i++) {
            keep[i] = 0;
            say(file, STV_SET_ASIDE, "time", line_of(file, i, &cursor),
                "the date lies more than a year from nearly all others: the row is not used");
        }
        first = k;
    }
    size_t n_before = samples->n;
    stv_samples_keep(samples, keep);
    file->n_set_aside += n_before - samples->n;
    free(keep);
    return STV_OK;
}

static void say_flags(const struct stv_weather_text *file)
{
    for (size_t i = 0; i < file->n_flags; i++) {
        const struct stv_weather_flag *flag = &file->flags[i];
        struct stv_finding finding = {.severity = STV_NOTED,
                                      .rule = "flag",
                                      .file = file->file,
                                      .row = flag->first_line,
                                      .last_row = flag->last_line,
                                      .count = flag->count,
                                      .found = flag->code};
        stv_finding_add(file->problems, &finding,
                        "the service itself marks %s as not to be relied on: not used, %zu values",
                        stv_reading_name(flag->quantity), flag->count);
    }
    for (int j = 0; j < STV_WQ_N; j++) {
        struct stv_finding finding = {.severity = STV_NOTED,
                                      .rule = "range",
                                      .file = file->file,
                                      .count = file->n_at_limit[j]};
        if (file->n_at_limit[j])
            stv_finding_add(
                file->problems, &finding, "%s %s, %zu values",
                stv_reading_name((enum stv_weather_quantity)j),
                stv_reading_fault_text((enum stv_weather_quantity)j, STV_READING_AT_LIMIT),
                file->n_at_limit[j]);
    }
}

static void note_gaps(const struct stv_weather_text *file, int64_t least_s, int32_t offset_min)
{
    char from[STV_STAMP_TEXT], to[STV_STAMP_TEXT], what[160];
    const int64_t *time_s = file->samples.time_s;
    struct stv_line_cursor cursor = {0};
    size_t n_gaps = 0;
    int64_t total_s = 0;
    for (size_t k = 1; k < file->samples.n; k++) {
        int64_t gap_s = time_s[k] - time_s[k - 1];
        if (gap_s <= least_s)
            continue;
        total_s += gap_s;
        if (n_gaps++ >= GAPS_LISTED)
            continue;
        stv_stamp_text(time_s[k - 1], offset_min, from, sizeof from);
        stv_stamp_text(time_s[k], offset_min, to, sizeof to);
        snprintf(what, sizeof what, "nothing between %s and %s (standard time): a gap of %.1f h",
                 from, to, (double)gap_s / STV_HOUR_S);
        say(file, STV_NOTED, "gap", line_of(file, k, &cursor), what);
    }
    if (n_gaps > GAPS_LISTED) {
        snprintf(what, sizeof what, "%zu gaps in all, %.0f h together; the first %d are listed",
                 n_gaps, (double)total_s / STV_HOUR_S, GAPS_LISTED);
        say(file, STV_NOTED, "gap", 0, what);
    }
}

/* Holes in the temperature that the days beside them do not fill. */
static void note_holes(const struct stv_weather_text *file, const struct stv_weather_record *record)
{
    char from[STV_STAMP_TEXT], to[STV_STAMP_TEXT], what[240];
    const struct stv_grid *grid = &record->grid;
    struct stv_weather_hole hole = {0};
    for (size_t n = 0; n < GAPS_LISTED && stv_weather_next_hole(record, &hole); n++) {
        stv_stamp_text(stv_grid_start_s(grid, hole.from), grid->utc_offset_min, from, sizeof from);
        stv_stamp_text(stv_grid_start_s(grid, hole.from + hole.n), grid->utc_offset_min, to,
                       sizeof to);
        snprintf(what, sizeof what, "no temperature from %s to %s (standard time), %.0f h: %s",
                 from, to, (double)hole.n * (double)grid->step_s / STV_HOUR_S,
                 hole.is_covered
                     ? "made up, the mean of the same hours of those days in other years stands in"
                     : "no other year has those days, so that no answer can be given");
        say(file, STV_NOTED, STV_RULE_HOLE, 0, what);
    }
}

/* Start of the local hour or day that holds an instant, UTC. */
static int64_t sample_start_s(const struct stv_grid *grid, int64_t time_s)
{
    int32_t second_s;
    int64_t day_d = stv_local_day(time_s, grid->utc_offset_min, &second_s);
    int32_t into_s = grid->step_s == STV_DAY_S ? second_s : second_s % STV_HOUR_S;
    return day_d * STV_DAY_S + second_s - into_s - (int64_t)grid->utc_offset_min * MINUTE_S;
}

/* Ends of a year's hourly record that miss a local midnight by a few hours are carried to it, the
 * hours between missing, so that a year that lacks its first hour is still a year. */
static void reach_midnights(struct stv_grid *grid)
{
    int32_t first_s, end_s;
    stv_local_day(grid->t0_s, grid->utc_offset_min, &first_s);
    if (first_s <= PADDED_MOST_H * STV_HOUR_S) {
        grid->t0_s -= first_s;
        grid->n += (size_t)(first_s / STV_HOUR_S);
    }
    stv_local_day(stv_grid_start_s(grid, grid->n), grid->utc_offset_min, &end_s);
    int32_t left_s = (STV_DAY_S - end_s) % STV_DAY_S;
    if (left_s <= PADDED_MOST_H * STV_HOUR_S)
        grid->n += (size_t)(left_s / STV_HOUR_S);
}

/* Seconds for which a row is the nearest report, at most half an hour to either side. */
static double spoken_s(const struct stv_samples *samples, size_t k)
{
    double before_s = k > 0 ? (double)(samples->time_s[k] - samples->time_s[k - 1]) : HUGE_VAL;
    double after_s =
        k + 1 < samples->n ? (double)(samples->time_s[k + 1] - samples->time_s[k]) : HUGE_VAL;
    if (k == 0)
        before_s = after_s;
    if (k + 1 == samples->n)
        after_s = before_s;
    return fmin(HALF * before_s, SIDE_MOST_S) + fmin(HALF * after_s, SIDE_MOST_S);
}

/* Weighed mean of a column in each sample of the grid, NaN where there is nothing. */
static enum stv_status average(const struct stv_weather_text *file, size_t j,
                               const struct stv_grid *grid, double *spoken, double **out)
{
    const struct stv_samples *samples = &file->samples;
    double *mean = calloc(grid->n, sizeof *mean);
    *out = mean;
    if (!mean)
        return STV_E_MEMORY;
    memset(spoken, 0, grid->n * sizeof *spoken);
    for (size_t k = 0; k < samples->n; k++) {
        double value = samples->values[j][k];
        size_t i = stv_grid_index(grid, samples->time_s[k] + file->shift_s[j]);
        if (isnan(value) || i >= grid->n)
            continue;
        double weight_s = spoken_s(samples, k);
        mean[i] += weight_s * value;
        spoken[i] += weight_s;
    }
    for (size_t i = 0; i < grid->n; i++)
        mean[i] = spoken[i] > 0.0 ? mean[i] / spoken[i] : (double)NAN;
    return STV_OK;
}

static bool has_values(const struct stv_samples *samples, size_t j)
{
    for (size_t k = 0; samples->values[j] && k < samples->n; k++)
        if (isfinite(samples->values[j][k]))
            return true;
    return false;
}

/* Columns without a value are left out of the record. */
static enum stv_status fill_columns(const struct stv_weather_text *file,
                                    struct stv_weather_record *out)
{
    double *spoken = calloc(out->grid.n, sizeof *spoken);
    enum stv_status status = spoken ? STV_OK : STV_E_MEMORY;
    for (size_t j = 0; status == STV_OK && j < STV_WQ_N; j++) {
        if (!has_values(&file->samples, j))
            continue;
        status = average(file, j, &out->grid, spoken, &out->columns[j]);
        if (status == STV_OK && j == STV_WQ_TEMP_C && !file->is_daily) {
            out->covered_frac = malloc(out->grid.n * sizeof *out->covered_frac);
            status = out->covered_frac ? STV_OK : STV_E_MEMORY;
            for (size_t i = 0; status == STV_OK && i < out->grid.n; i++)
                out->covered_frac[i] = fmin(1.0, spoken[i] / STV_HOUR_S);
        }
    }
    free(spoken);
    return status;
}

/* Days are cut by the stamps' own clock where it is a local one, else by the house's, else by the
 * sun: fifteen degrees an hour. */
static int32_t offset_for_days_min(const struct stv_weather_text *file,
                                   const struct stv_weather_meta *meta,
                                   const struct stv_weather_source *source)
{
    struct stv_clock clock;
    if (stv_clock_parse(meta->clock, &clock, NULL, 0) == STV_OK &&
        (clock.standard_offset_min != 0 || meta->is_typical || file->cuts_days_by_clock))
        return clock.standard_offset_min;
    if (source->fallback_clock[0] &&
        stv_clock_parse(source->fallback_clock, &clock, NULL, 0) == STV_OK)
        return clock.standard_offset_min;
    return (int32_t)lround(meta->site.longitude_deg / DEGREES_AN_HOUR) * MINUTE_S;
}

static void span_grid(const struct stv_weather_text *file, struct stv_grid *grid)
{
    const struct stv_samples *samples = &file->samples;
    int64_t day_shift_s = file->is_daily ? (int64_t)grid->utc_offset_min * MINUTE_S : 0;
    for (size_t k = 0; day_shift_s && k < samples->n; k++)
        samples->time_s[k] -= day_shift_s;
    int32_t least_s = 0, most_s = INT32_MIN;
    for (size_t j = 0; j < STV_WQ_N; j++) {
        if (!has_values(samples, j))
            continue;
        least_s = file->shift_s[j] < least_s ? file->shift_s[j] : least_s;
        most_s = file->shift_s[j] > most_s ? file->shift_s[j] : most_s;
    }
    grid->t0_s = sample_start_s(grid, samples->time_s[0] + least_s);
    int64_t last_s = sample_start_s(grid, samples->time_s[samples->n - 1] + most_s);
    grid->n = (size_t)((last_s - grid->t0_s) / grid->step_s) + 1;
    if (!file->is_daily && grid->n >= YEAR_LEAST_H)
        reach_midnights(grid);
}

enum stv_status stv__weather_grid(struct stv_weather_text *file,
                                  const struct stv_weather_source *source,
                                  const struct stv_weather_meta *meta,
                                  struct stv_weather_record *out)
{
    enum stv_status status = order(file);
    if (status != STV_OK)
        return status;
    drop_contradictions(file);
    status = drop_lost(file);
    if (status != STV_OK)
        return status;
    say_flags(file);
    if (file->is_daily) /* a day is a day, whenever its hours end */
        memset(file->shift_s, 0, sizeof file->shift_s);
    if (file->samples.n == 0) {
        stv_problem_add(file->problems, STV_REFUSED, file->file, 0, 0, NULL,
                        "no row of the file can be used");
        return STV_E_NO_DATA;
    }
    out->site = meta->site;
    out->grid = (struct stv_grid){.step_s = file->is_daily ? STV_DAY_S : STV_HOUR_S,
                                  .utc_offset_min = offset_for_days_min(file, meta, source),
                                  .is_typical = meta->is_typical};
    span_grid(file, &out->grid);
    note_gaps(file, file->is_daily ? STV_DAY_S : GAP_NOTED_S, out->grid.utc_offset_min);
    status = fill_columns(file, out);
    if (status == STV_OK)
        note_holes(file, out);
    return status;
}
