/* Order in time of rows that are already read: sorted, each instant once, gaps told.
 *
 * The sort keeps the file's order among equal stamps, so "the first" is the first in the file.  Two
 * rows of one time that agree within the coarser rounding of theirs are one row twice; what this
 * does not do is choose between two different values by their size. */
#include "ingest/machine.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define GAPS_LISTED 20
/* A logger is emptied at least yearly; a jump beyond that is a clock set to its factory date. */
#define FAR_DATE_S ((int64_t)366 * STV_DAY_S)
#define DECIMALS_MOST 3
#define SAME_NUMBER 1e-6
#define FOUND_MAX 96

size_t stv__machine_line(const struct stv_machine *machine, size_t k,
                         struct stv_line_cursor *cursor)
{
    return stv_line_of(machine->text->text, machine->samples.at[k], cursor);
}

/* The first cell of a sample's line, for messages. */
static void text_of(const struct stv_machine *machine, size_t k, char out[FOUND_MAX])
{
    struct stv_lines lines = {
        .text = machine->text->text, .n = machine->text->n, .next = machine->samples.at[k]};
    struct stv_line line;
    struct stv_slice cells[1] = {{"", 0}};
    if (stv_lines_next(&lines, &line))
        (void)stv_line_cells(line.all, machine->head.delimiter, cells, 1);
    stv_slice_copy(cells[0], out, FOUND_MAX);
}

static void set_aside(struct stv_machine *machine, size_t k, const char *rule, const char *what,
                      struct stv_line_cursor *cursor)
{
    char found[FOUND_MAX];
    text_of(machine, k, found);
    struct stv_finding finding = {.severity = STV_SET_ASIDE,
                                  .rule = rule,
                                  .file = machine->file,
                                  .row = stv__machine_line(machine, k, cursor),
                                  .found = found};
    machine->n_set_aside++;
    stv_finding_add(machine->problems, &finding, "%s", what);
}

static bool is_empty(const struct stv_samples *samples, size_t k)
{
    for (size_t j = 0; j < STV_WQ_N; j++)
        if (samples->values[j] && isfinite(samples->values[j][k]))
            return false;
    return true;
}

enum stv_status stv__machine_drop_empty(struct stv_machine *machine)
{
    struct stv_samples *samples = &machine->samples;
    uint8_t *keep = calloc(samples->n + 1, sizeof *keep);
    if (!keep)
        return STV_E_MEMORY;
    for (size_t k = 0; k < samples->n; k++)
        keep[k] = !is_empty(samples, k);
    size_t n_before = samples->n;
    stv_samples_keep(samples, keep);
    machine->n_set_aside += n_before - samples->n;
    free(keep);
    return STV_OK;
}

/* Half of the last decimal that a number as written has. */
static double rounding_of(double number)
{
    double step = 1.0;
    for (int i = 0; i <= DECIMALS_MOST; i++, step *= 0.1)
        if (fabs(number / step - nearbyint(number / step)) < SAME_NUMBER)
            break;
    return 0.5 * step;
}

static bool is_same_value(const struct stv_machine_column *column, double a, double b)
{
    if (isnan(a) || isnan(b))
        return isnan(a) && isnan(b);
    if (a == b)
        return true;
    double factor = isnan(column->scale.factor) ? 1.0 : column->scale.factor;
    double offset = isnan(column->scale.factor) ? 0.0 : column->scale.offset;
    double left = (a - offset - column->correction) / factor;
    double right = (b - offset - column->correction) / factor;
    return fabs(left - right) <= fmax(rounding_of(left), rounding_of(right)) + SAME_NUMBER;
}

static bool same_values(const struct stv_machine *machine, size_t a, size_t b)
{
    for (size_t j = 0; j < machine->n_columns; j++) {
        const double *values = machine->samples.values[machine->columns[j].quantity];
        if (!is_same_value(&machine->columns[j], values[a], values[b]))
            return false;
    }
    return true;
}

static enum stv_status drop_repeated(struct stv_machine *machine)
{
    struct stv_samples *samples = &machine->samples;
    struct stv_line_cursor cursor = {0};
    uint8_t *keep = calloc(samples->n + 1, sizeof *keep);
    if (!keep)
        return STV_E_MEMORY;
    size_t kept = 0;
    for (size_t k = 0; k < samples->n; k++) {
        keep[k] = k == 0 || samples->time_s[kept] != samples->time_s[k];
        if (keep[k])
            kept = k;
        else if (same_values(machine, kept, k))
            set_aside(machine, k, "duplicate", "the row repeats an earlier one: not used", &cursor);
        else
            set_aside(machine, k, "conflict",
                      "the row has other values for a time already read: the first are "
                      "kept, this row is not used",
                      &cursor);
    }
    stv_samples_keep(samples, keep);
    free(keep);
    return STV_OK;
}

enum stv_status stv__machine_order(struct stv_machine *machine)
{
    struct stv_samples *samples = &machine->samples;
    struct stv_line_cursor cursor = {0};
    size_t n_back = 0, line = 0, first_back;
    char found[FOUND_MAX] = "";
    for (size_t k = 1; k < samples->n; k++)
        if (samples->time_s[k] < samples->time_s[k - 1] && n_back++ == 0) {
            line = stv__machine_line(machine, k, &cursor);
            text_of(machine, k, found);
        }
    struct stv_finding finding = {
        .severity = STV_NOTED, .rule = "order", .file = machine->file, .row = line, .found = found};
    if (n_back && !machine->has_own_clocks)
        stv_finding_add(machine->problems, &finding, "time goes back here%s: the rows were sorted",
                        n_back > 1 ? ", and further down again" : "");
    enum stv_status status = stv_samples_sort(samples, &first_back);
    return status == STV_OK ? drop_repeated(machine) : status;
}

enum stv_status stv__machine_drop_far_dates(struct stv_machine *machine)
{
    struct stv_samples *samples = &machine->samples;
    struct stv_line_cursor cursor = {0};
    size_t best_start = 0, best_n = 0, start = 0;
    for (size_t k = 1; k <= samples->n; k++) {
        if (k < samples->n && samples->time_s[k] - samples->time_s[k - 1] <= FAR_DATE_S)
            continue;
        if (k - start > best_n) {
            best_start = start;
            best_n = k - start;
        }
        start = k;
    }
    if (best_n == samples->n)
        return STV_OK;
    uint8_t *keep = calloc(samples->n + 1, sizeof *keep);
    if (!keep)
        return STV_E_MEMORY;
    for (size_t k = 0; k < samples->n; k++) {
        keep[k] = k >= best_start && k < best_start + best_n;
        if (!keep[k])
            set_aside(machine, k, "clock",
                      "the date lies more than a year from the rest, as after a clock that was "
                      "reset: the row is not used",
                      &cursor);
    }
    stv_samples_keep(samples, keep);
    free(keep);
    return STV_OK;
}

void stv__machine_note_gaps(const struct stv_machine *machine, int64_t least_s)
{
    char from[STV_STAMP_TEXT], to[STV_STAMP_TEXT];
    const int64_t *time_s = machine->samples.time_s;
    struct stv_line_cursor cursor = {0};
    size_t n_gaps = 0;
    int64_t total_s = 0;
    struct stv_finding finding = {.severity = STV_NOTED, .rule = "gap", .file = machine->file};
    for (size_t k = 1; k < machine->samples.n; k++) {
        int64_t gap_s = time_s[k] - time_s[k - 1];
        if (gap_s <= least_s)
            continue;
        total_s += gap_s;
        if (n_gaps++ >= GAPS_LISTED)
            continue;
        int32_t offset_min = machine->clock.standard_offset_min;
        stv_stamp_text(time_s[k - 1], offset_min, from, sizeof from);
        stv_stamp_text(time_s[k], offset_min, to, sizeof to);
        finding.row = stv__machine_line(machine, k, &cursor);
        stv_finding_add(machine->problems, &finding,
                        "nothing between %s and %s (standard time): a gap of %.1f h", from, to,
                        (double)gap_s / STV_HOUR_S);
    }
    finding.row = 0;
    if (n_gaps > GAPS_LISTED)
        stv_finding_add(machine->problems, &finding,
                        "%zu gaps in all, %.0f h together; the first %d are listed", n_gaps,
                        (double)total_s / STV_HOUR_S, GAPS_LISTED);
}
