/* Rules over the rows of one sensor.  Set aside is only what cannot be meant: the code -40 standing
 * alone, a block in another unit, a humidity column written as a fraction under a per cent header.
 * The rest is used and marked suspect.
 *
 * Rules that need a second sensor to be fair (is everything else still too?) are stricter here than
 * they would be there, so that clean data stay without findings. */
#include "ingest/quality.h"

#include "ingest/quality_parts.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

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

/* Median of three rows that start at `from`, so that a single spike beside a block makes no unit of
 * it; NaN when one of them is missing. */
static double middle_of_three(const struct stv_quality_rows *rows, size_t at, size_t from)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    double three[UNIT_ROWS];
    for (size_t i = 0; i < UNIT_ROWS; i++) {
        three[i] = stv__quality_near(rows->samples, values, at, from + i);
        if (isnan(three[i]))
            return (double)NAN;
    }
    return fmax(fmin(three[0], three[1]), fmin(fmax(three[0], three[1]), three[2]));
}

/* Whether rows from..to, beside their neighbours, are in the other unit; 0, or the direction. */
static int unit_of_block(const struct stv_quality_rows *rows, size_t from, size_t to)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    double before = middle_of_three(rows, from, from - UNIT_ROWS);
    double after = middle_of_three(rows, to, to + 1);
    for (int direction = -1; direction <= 1; direction += 2) {
        double first = other_unit_c(values[from], direction);
        double last = other_unit_c(values[to], direction);
        bool fits_before = isnan(before) || fabs(first - before) <= UNIT_FIT_K;
        bool fits_after = isnan(after) || fabs(last - after) <= UNIT_FIT_K;
        if (fits_before && fits_after && !(isnan(before) && isnan(after)))
            return direction;
    }
    return 0;
}

static bool is_unit_step(const struct stv_quality_rows *rows, size_t k)
{
    const double *values = rows->samples->values[STV_WQ_TEMP_C];
    return fabs(values[k] - stv__quality_near(rows->samples, values, k, k - 1)) > UNIT_STEP_K;
}

static void drop_unit_blocks(struct stv_quality_rows *rows)
{
    for (size_t k = 1; k < rows->samples->n; k++) {
        if (!is_unit_step(rows, k))
            continue;
        size_t end = k + 1;
        while (end < rows->samples->n && !is_unit_step(rows, end))
            end++;
        if (end - k < UNIT_ROWS || unit_of_block(rows, k, end - 1) == 0)
            continue;
        struct stv__run run = {k, end - 1, STV_SET_ASIDE, "unit"};
        stv__quality_say(rows, &run,
                         unit_of_block(rows, k, end - 1) > 0
                             ? "a block of Fahrenheit among Celsius: not used; export it again in "
                               "one unit"
                             : "a block of Celsius among Fahrenheit: not used; export it again in "
                               "one unit");
        stv__quality_mark(rows, STV_WQ_TEMP_C, &run);
        k = end;
    }
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
    stv__quality_stuck(rows, STV_WQ_TEMP_C);
    if (rows->samples->values[STV_WQ_RH_FRAC])
        stv__quality_stuck(rows, STV_WQ_RH_FRAC);
    stv__quality_clock(rows);
    return STV_OK;
}
