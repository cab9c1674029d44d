/* What a single value cannot betray but its neighbours do.  Only two things are set aside here,
 * because they cannot be meant: the code -40.0 standing alone, and a humidity column that is
 * written as a fraction under a per cent header.  The rest is used, and said to be doubtful. */
#include "ingest/logger_parts.h"

#include "model/units.h"

#include <math.h>

/* Assumed, from how sensors fail (common practice, no published source). */
#define CODE_C (-40.0) /* the same in F: all bits clear in many sensors */
#define CODE_STEP_K 10.0
#define JUMP_K 15.0
#define NEIGHBOUR_S (2 * STV_HOUR_S)
#define STUCK_S (48 * STV_HOUR_S)
#define STUCK_ROWS 24
#define SAME_C 1e-9
#define FRACTION_MOST 0.015 /* "1.5 %" and below throughout: nowhere on earth */

/* Value of a column at row k when it stands within reach of row `at`; else NaN. */
static double neighbour(const struct stv_machine *machine, size_t at, size_t k, size_t j)
{
    if (k >= machine->n)
        return (double)NAN;
    int64_t apart_s = machine->rows[at].time_s - machine->rows[k].time_s;
    if (apart_s > NEIGHBOUR_S || apart_s < -NEIGHBOUR_S)
        return (double)NAN;
    return stv__machine_values(machine, k)[j];
}

static void say(const struct stv_machine *machine, enum stv_severity severity, size_t k, size_t j,
                const char *what)
{
    size_t row = machine->rows[k].csv_row;
    stv_problem_add(machine->problems, severity, machine->file, stv__machine_line(machine, row), 0,
                    stv_csv_text(machine->csv, row, machine->columns[j].cell_idx), "%s", what);
}

static void drop_codes(struct stv_machine *machine)
{
    for (size_t k = 0; k < machine->n; k++) {
        double *value = &stv__machine_values(machine, k)[0];
        /* Written so that NaN, a value set aside already, goes on to the next row. */
        if (!(fabs(*value - machine->columns[0].correction - CODE_C) <= SAME_C))
            continue;
        /* SIZE_MAX for the row before the first, which neighbour() answers with NaN. */
        double before = neighbour(machine, k, k - 1, 0);
        double after = neighbour(machine, k, k + 1, 0);
        if (before - *value <= CODE_STEP_K || after - *value <= CODE_STEP_K)
            continue;
        say(machine, STV_SET_ASIDE, k, 0,
            "-40 alone among other temperatures is a code for no value: it is not used");
        machine->n_values_set_aside++;
        *value = (double)NAN;
    }
    stv__machine_drop_empty(machine);
}

/* Drops a humidity column that never rises above 1. */
static void drop_fractions(struct stv_machine *machine)
{
    double most = 0.0;
    size_t n = 0;
    if (machine->n_columns < 2)
        return;
    for (size_t k = 0; k < machine->n; k++) {
        double value = stv__machine_values(machine, k)[1];
        if (isnan(value))
            continue;
        most = fmax(most, value - machine->columns[1].correction);
        n++;
    }
    if (n == 0 || most > FRACTION_MOST)
        return;
    say(machine, STV_SET_ASIDE, 0, 1,
        "no humidity in the column is above 1.5 %: is it a fraction? The column is not used; "
        "write [fraction] in its header");
    machine->n_values_set_aside += n;
    for (size_t k = 0; k < machine->n; k++)
        stv__machine_values(machine, k)[1] = (double)NAN;
    stv__machine_drop_empty(machine);
}

static size_t note_jumps(const struct stv_machine *machine)
{
    size_t n_jumps = 0, first = 0;
    for (size_t k = 1; k + 1 < machine->n; k++) {
        double value = stv__machine_values(machine, k)[0];
        double up = value - neighbour(machine, k, k - 1, 0);
        double down = value - neighbour(machine, k, k + 1, 0);
        bool is_jump = (up > JUMP_K && down > JUMP_K) || (up < -JUMP_K && down < -JUMP_K);
        if (is_jump && n_jumps++ == 0)
            first = k;
    }
    if (n_jumps)
        say(machine, STV_NOTED, first, 0,
            n_jumps > 1 ? "the temperature jumps by more than 15 K and back, here and further "
                          "down: used, but doubtful"
                        : "the temperature jumps by more than 15 K and back: used, but doubtful");
    return n_jumps;
}

static size_t note_stuck(const struct stv_machine *machine, size_t j)
{
    size_t start = 0, n_stuck = 0;
    for (size_t k = 1; k <= machine->n; k++) {
        double held = stv__machine_values(machine, start)[j];
        if (k < machine->n && fabs(stv__machine_values(machine, k)[j] - held) <= SAME_C)
            continue;
        int64_t held_s = machine->rows[k - 1].time_s - machine->rows[start].time_s;
        if (held_s >= STUCK_S && k - start >= STUCK_ROWS) {
            say(machine, STV_NOTED, start, j,
                j == 0 ? "the temperature stands still for two days or more: used, but doubtful"
                       : "the humidity stands still for two days or more, as a wet or a dead "
                         "sensor does: used, but doubtful");
            n_stuck += k - start;
        }
        start = k;
    }
    return n_stuck;
}

size_t stv__logger_check(struct stv_machine *machine)
{
    drop_codes(machine);
    drop_fractions(machine);
    if (machine->n == 0)
        return 0;
    size_t n_suspect = machine->n_at_limit + note_jumps(machine);
    for (size_t j = 0; j < machine->n_columns; j++)
        n_suspect += note_stuck(machine, j);
    return n_suspect;
}
