/* Order in time of rows that are already read: sorted, each instant once, gaps told.
 *
 * The sort keeps the file's order among equal stamps, so "the first" is the first in the file.
 * What this does not do: choose between two different values for one instant by their size. */
#include "ingest/machine.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define GAPS_LISTED 20
/* A logger is emptied at least yearly; a jump beyond that is a clock set to its factory date. */
#define FAR_DATE_S ((int64_t)366 * STV_DAY_S)

static int by_time(const void *a, const void *b)
{
    const struct stv_machine_row *left = a, *right = b;
    if (left->time_s != right->time_s)
        return left->time_s < right->time_s ? -1 : 1;
    return left->csv_row < right->csv_row ? -1 : left->csv_row > right->csv_row;
}

static void set_aside(struct stv_machine *machine, size_t k, const char *what)
{
    const struct stv_machine_row *row = &machine->rows[k];
    machine->n_set_aside++;
    stv_problem_add(machine->problems, STV_SET_ASIDE, machine->file,
                    stv__machine_line(machine, row->csv_row), 0,
                    stv_csv_text(machine->csv, row->csv_row, machine->time_cell), "%s", what);
}

static bool is_empty(const struct stv_machine *machine, size_t k)
{
    const double *values = stv__machine_values(machine, k);
    for (size_t j = 0; j < machine->n_columns; j++)
        if (isfinite(values[j]))
            return false;
    return true;
}

void stv__machine_drop_empty(struct stv_machine *machine)
{
    size_t kept = 0;
    for (size_t k = 0; k < machine->n; k++) {
        if (is_empty(machine, k))
            set_aside(machine, k, "the row has no value that can be used");
        else
            machine->rows[kept++] = machine->rows[k];
    }
    machine->n = kept;
}

static bool same_values(const struct stv_machine *machine, size_t a, size_t b)
{
    const double *left = stv__machine_values(machine, a);
    const double *right = stv__machine_values(machine, b);
    for (size_t j = 0; j < machine->n_columns; j++)
        if (!(left[j] == right[j] || (isnan(left[j]) && isnan(right[j]))))
            return false;
    return true;
}

static void drop_repeated(struct stv_machine *machine)
{
    size_t kept = 0;
    for (size_t k = 0; k < machine->n; k++) {
        if (kept && machine->rows[kept - 1].time_s == machine->rows[k].time_s) {
            set_aside(machine, k,
                      same_values(machine, kept - 1, k)
                          ? "the row repeats an earlier one: not used"
                          : "the row has other values for a time already read: the first are "
                            "kept, this row is not used");
        } else {
            machine->rows[kept++] = machine->rows[k];
        }
    }
    machine->n = kept;
}

void stv__machine_order(struct stv_machine *machine)
{
    size_t n_back = 0, first_row = 0;
    for (size_t k = 1; k < machine->n; k++)
        if (machine->rows[k].time_s < machine->rows[k - 1].time_s && n_back++ == 0)
            first_row = machine->rows[k].csv_row;
    if (n_back) {
        stv_problem_add(machine->problems, STV_NOTED, machine->file,
                        stv__machine_line(machine, first_row), 0,
                        stv_csv_text(machine->csv, first_row, machine->time_cell),
                        "time goes back here%s: the rows were sorted",
                        n_back > 1 ? ", and further down again" : "");
        qsort(machine->rows, machine->n, sizeof *machine->rows, by_time);
    }
    drop_repeated(machine);
}

void stv__machine_drop_far_dates(struct stv_machine *machine)
{
    size_t best_start = 0, best_n = 0, start = 0;
    for (size_t k = 1; k <= machine->n; k++) {
        if (k < machine->n && machine->rows[k].time_s - machine->rows[k - 1].time_s <= FAR_DATE_S)
            continue;
        if (k - start > best_n) {
            best_start = start;
            best_n = k - start;
        }
        start = k;
    }
    size_t kept = 0;
    for (size_t k = 0; k < machine->n; k++) {
        if (k < best_start || k >= best_start + best_n)
            set_aside(machine, k,
                      "the date lies more than a year from the rest, as after a clock that was "
                      "reset: the row is not used");
        else
            machine->rows[kept++] = machine->rows[k];
    }
    machine->n = kept;
}

void stv__machine_note_gaps(const struct stv_machine *machine, int64_t least_s)
{
    char from[STV_STAMP_TEXT], to[STV_STAMP_TEXT];
    size_t n_gaps = 0;
    int64_t total_s = 0;
    for (size_t k = 1; k < machine->n; k++) {
        const struct stv_machine_row *row = &machine->rows[k];
        int64_t gap_s = row->time_s - row[-1].time_s;
        if (gap_s <= least_s)
            continue;
        total_s += gap_s;
        if (n_gaps++ >= GAPS_LISTED)
            continue;
        int32_t offset_min = machine->clock.standard_offset_min;
        stv_stamp_text(row[-1].time_s, offset_min, from, sizeof from);
        stv_stamp_text(row->time_s, offset_min, to, sizeof to);
        stv_problem_add(machine->problems, STV_NOTED, machine->file,
                        stv__machine_line(machine, row->csv_row), 0, NULL,
                        "nothing between %s and %s (standard time): a gap of %.1f h", from, to,
                        (double)gap_s / STV_HOUR_S);
    }
    if (n_gaps > GAPS_LISTED)
        stv_problem_add(machine->problems, STV_NOTED, machine->file, 0, 0, NULL,
                        "%zu gaps in all, %.0f h together; the first %d are listed", n_gaps,
                        (double)total_s / STV_HOUR_S, GAPS_LISTED);
}
