/* Rules over the rows of one sensor.  Set aside is only what cannot be meant: the code -40 standing
 * alone, a block in another unit, a humidity column written as a fraction under a per cent header.
 * The rest is used and marked suspect.
 *
 * Rules that need a second sensor to be fair (is everything else still too?) are stricter here than
 * they would be there, so that clean data stay without findings. */
#include "ingest/quality.h"

#include "ingest/quality_parts.h"
#include "ingest/reading.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* Assumed, from how sensors fail (common practice, no published source). */
#define CODE_C (-40.0) /* the same in F: all bits clear in many sensors */
#define CODE_STEP_K 10.0
#define NEIGHBOUR_S (2 * STV_HOUR_S)
#define SAME 1e-9
#define FRACTION_MOST 0.015 /* "1.5 %" and below throughout: nowhere on earth */
/* A block in the other unit: a step that no air makes between two rows, and back. */
#define UNIT_STEP_K 20.0
#define UNIT_FIT_K 6.0
#define UNIT_ROWS 3
/* F of a warm day is beyond what is believed of C and set aside before: how long such a hole may
 * be that the unit is still asked across it. */
#define BEYOND_LEAST 3
#define HOLE_S (92 * STV_DAY_S)

void stv__quality_say(struct stv_quality_rows *rows, const struct stv__run *run, const char *what)
{
    size_t first = stv_line_of(rows->text, rows->samples->at[run->from], &rows->cursor);
    size_t last = first;
    for (size_t k = run->from; k <= run->to; k++) { /* sorted rows may stand anywhere */
        size_t line = stv_line_of(rows->text, rows->samples->at[k], &rows->cursor);
        first = line < first ? line : first;
        last = line > last ? line : last;
        if (k == run->from && run->to - run->from > 8)
            k = run->to - 1; /* a run in order: its ends tell */
    }
    struct stv_finding finding = {.severity = run->severity,
                                  .rule = run->rule,
                                  .file = rows->file,
                                  .row = first,
                                  .last_row = last,
                                  .count = run->to - run->from + 1};
    stv_finding_add(rows->problems, &finding, "%s", what);
}

void stv__quality_mark(struct stv_quality_rows *rows, enum stv_weather_quantity quantity,
                       const struct stv__run *run)
{
    uint8_t mark = run->severity == STV_SET_ASIDE ? STV_MARK_ASIDE : STV_MARK_SUSPECT;
    for (size_t k = run->from; k <= run->to; k++) {
        if (mark == STV_MARK_ASIDE && isnan(rows->samples->values[quantity][k]))
            continue; /* nothing more to take away, nor to count */
        if (rows->marks[quantity])
            rows->marks[quantity][k] = mark;
        if (mark == STV_MARK_ASIDE)
            rows->samples->values[quantity][k] = (double)NAN;
    }
}

double stv__quality_near(const struct stv_samples *samples, const double *values, size_t at,
                         size_t k)
{
    if (k >= samples->n)
        return (double)NAN;
    int64_t apart_s = samples->time_s[at] - samples->time_s[k];
    return apart_s > NEIGHBOUR_S || apart_s < -NEIGHBOUR_S ? (double)NAN : values[k];
}

static void drop_codes(struct stv_quality_rows *rows)
{
    double *values = rows->samples->values[STV_WQ_TEMP_C];
    for (size_t k = 0; k < rows->samples->n; k++) {
        /* Written so that NaN, a value set aside already, goes on to the next row. */
        if (!(fabs(values[k] - CODE_C) <= SAME))
            continue;
        /* SIZE_MAX for the row before the first, which is no row. */
        double before = stv__quality_near(rows->samples, values, k, k - 1);
        double after = stv__quality_near(rows->samples, values, k, k + 1);
        if (before - values[k] <= CODE_STEP_K || after - values[k] <= CODE_STEP_K)
            continue;
        struct stv__run run = {k, k, STV_SET_ASIDE, "code"};
        stv__quality_say(rows, &run,
                         "-40 alone among other temperatures is a code for no value: not used");
        stv__quality_mark(rows, STV_WQ_TEMP_C, &run);
    }
}

/* Drops a humidity column that never rises above 1. */
static void drop_fractions(struct stv_quality_rows *rows)
{
    const double *values = rows->samples->values[STV_WQ_RH_FRAC];
    double most = 0.0;
    size_t n = 0;
    for (size_t k = 0; values && k < rows->samples->n; k++) {
        if (isnan(values[k]))
            continue;
        most = fmax(most, values[k]);
        n++;
    }
    if (n == 0 || most > FRACTION_MOST)
        return;
    struct stv__run run = {0, rows->samples->n - 1, STV_SET_ASIDE, "unit"};
    stv__quality_say(
        rows, &run,
        "no humidity in the column is above 1.5 %: is it a fraction? The column is not "
        "used; write [fraction] in its header");
    stv__quality_mark(rows, STV_WQ_RH_FRAC, &run);
}

/* The other reading of a temperature: F that was taken for C, or C that was taken for F. */
static double other_unit_c(double value_c, int direction)
{
    return direction > 0 ? (value_c - 32.0) / 1.8 : value_c * 1.8 + 32.0;
}

/* Median of three temperatures from row `at` on, up or down, so that a single spike beside a block
 * makes no unit of it; NaN with fewer. */
static double middle_of_three(const struct stv_quality_rows *rows, size_t at, bool is_down)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    double three[UNIT_ROWS];
    size_t n = 0;
    for (size_t k = at; k < rows->samples->n && n < UNIT_ROWS; k += is_down ? SIZE_MAX : 1)
        if (isfinite(values[k]))
            three[n++] = values[k];
    if (n < UNIT_ROWS)
        return (double)NAN;
    return fmax(fmin(three[0], three[1]), fmin(fmax(three[0], three[1]), three[2]));
}

/* Rows with a temperature: the last before a block, its first and last, and the first behind it,
 * which is n when the file ends. */
struct block {
    size_t before, first, last, after;
};

/* Whether the block, beside its neighbours, is in the other unit; 0, or the direction. */
static int unit_of_block(const struct stv_quality_rows *rows, const struct block *block)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    double before = middle_of_three(rows, block->before, true);
    double after = middle_of_three(rows, block->after, false);
    for (int direction = -1; direction <= 1; direction += 2) {
        double first = other_unit_c(values[block->first], direction);
        double last = other_unit_c(values[block->last], direction);
        bool fits_before = isnan(before) || fabs(first - before) <= UNIT_FIT_K;
        bool fits_after = isnan(after) || fabs(last - after) <= UNIT_FIT_K;
        if (fits_before && fits_after && !(isnan(before) && isnan(after)))
            return direction;
    }
    return 0;
}

/* The row beside row k that has a temperature, where it stands near enough; else k. */
static size_t known_before(const struct stv_quality_rows *rows, size_t k)
{
    const struct stv_samples *samples = rows->samples;
    const double *values = samples->values[STV_WQ_TEMP_C];
    bool has_holes = rows->n_beyond >= BEYOND_LEAST;
    size_t b = k - 1;
    while (has_holes && b > 0 && isnan(values[b]))
        b--;
    int64_t apart_s = samples->time_s[k] - samples->time_s[b];
    return isfinite(values[b]) && apart_s <= (has_holes ? HOLE_S : NEIGHBOUR_S) ? b : k;
}

static bool is_unit_step(const struct stv_quality_rows *rows, size_t k)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    return isfinite(values[k]) && fabs(values[k] - values[known_before(rows, k)]) > UNIT_STEP_K;
}

/* The line before the first row behind the block, or the file's last. */
static size_t last_line_of(const struct stv_quality_rows *rows, const struct block *block)
{
    struct stv_line_cursor cursor = {0};
    size_t n_bytes = strlen(rows->text);
    return block->after < rows->samples->n
               ? stv_line_of(rows->text, rows->samples->at[block->after], &cursor) - 1
               : stv_line_of(rows->text, n_bytes ? n_bytes - 1 : 0, &cursor);
}

/* Temperatures of the block that were set aside one by one, too hot for C, are said with it. */
static void drop_block(struct stv_quality_rows *rows, const struct block *block, int direction)
{
    double *values = rows->samples->values[STV_WQ_TEMP_C];
    struct stv_line_cursor cursor = {0};
    struct stv_finding finding = {.severity = STV_SET_ASIDE, .rule = "unit", .file = rows->file};
    finding.row = stv_line_of(rows->text, rows->samples->at[block->before], &cursor) + 1;
    finding.last_row = last_line_of(rows, block);
    finding.count =
        stv_problems_take_back(rows->problems, &finding, stv_reading_name(STV_WQ_TEMP_C));
    for (size_t k = block->first; k <= block->last; k++)
        finding.count += isfinite(values[k]);
    stv_finding_add(rows->problems, &finding,
                    "a block of %s: not used; export it again in one unit",
                    direction > 0 ? "Fahrenheit among Celsius" : "Celsius among Fahrenheit");
    struct stv__run run = {block->first, block->last, STV_SET_ASIDE, "unit"};
    stv__quality_mark(rows, STV_WQ_TEMP_C, &run);
}

static void drop_unit_blocks(struct stv_quality_rows *rows)
{
    size_t n = rows->samples->n;
    for (size_t k = 1; k < n; k++) {
        if (!is_unit_step(rows, k))
            continue;
        struct block block = {known_before(rows, k), k, k, k + 1};
        size_t n_rows = 1;
        for (; block.after < n && !is_unit_step(rows, block.after); block.after++)
            if (isfinite(rows->samples->values[STV_WQ_TEMP_C][block.after])) {
                block.last = block.after;
                n_rows++;
            }
        int direction = unit_of_block(rows, &block);
        if (n_rows < UNIT_ROWS || direction == 0)
            continue;
        drop_block(rows, &block, direction);
        k = block.after;
    }
}

static void judge_still(struct stv_quality_rows *rows, enum stv_weather_quantity quantity)
{
    stv__quality_dead(rows, quantity);
    stv__quality_stuck(rows, quantity);
}

enum stv_status stv_quality_check_rows(struct stv_quality_rows *rows)
{
    if (rows->samples->n == 0 || !rows->samples->values[STV_WQ_TEMP_C])
        return STV_OK;
    drop_codes(rows);
    drop_fractions(rows);
    drop_unit_blocks(rows);
    stv__quality_spikes(rows);
    stv__quality_settling(rows);
    judge_still(rows, STV_WQ_TEMP_C);
    if (rows->samples->values[STV_WQ_RH_FRAC])
        judge_still(rows, STV_WQ_RH_FRAC);
    stv__quality_clock(rows);
    return STV_OK;
}
