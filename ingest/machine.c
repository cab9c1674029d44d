/* Reads stamps first, then one column after the other, so that a fault that runs over many lines
 * becomes one message with its first and last line.
 *
 * Every row of the file ends in exactly one state: used, set aside, or outside the wanted time.
 * A row with one bad value keeps its others.  Nothing is repaired or filled in here. */
#include "ingest/machine.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define JOINED_STAMP_BYTES 96
#define CELLS_COUNTED 256
/* Instruments and reanalyses reach back to about 1850; later than 2150 is a broken clock. */
#define YEAR_LEAST 1850
#define YEAR_MOST 2150

size_t stv__machine_line(const struct stv_machine *machine, size_t csv_row)
{
    return machine->csv->rows[csv_row].line + machine->line_shift;
}

static bool is_of_station(const struct stv_machine *machine, size_t row)
{
    return machine->station_cell == STV_NO_CELL ||
           strcmp(stv_csv_text(machine->csv, row, machine->station_cell), machine->station) == 0;
}

static void set_row_aside(struct stv_machine *machine, size_t row, size_t cell, const char *what)
{
    const struct stv_csv_row *at = &machine->csv->rows[row];
    size_t column = cell < at->n_cells ? machine->csv->cells[at->first_cell + cell].column : 0;
    machine->n_set_aside++;
    stv_problem_add(machine->problems, STV_SET_ASIDE, machine->file,
                    stv__machine_line(machine, row), column, stv_csv_text(machine->csv, row, cell),
                    "%s", what);
}

/* The text of a row's stamp, joined from two cells where date and time stand apart. */
static bool read_stamp(const struct stv_machine *machine, size_t row, struct stv_stamp *out)
{
    char joined[JOINED_STAMP_BYTES];
    const char *text = stv_csv_text(machine->csv, row, machine->time_cell);
    if (machine->time_of_day_cell == STV_NO_CELL)
        return stv_stamp_read(text, out);
    int n = snprintf(joined, sizeof joined, "%s %s", text,
                     stv_csv_text(machine->csv, row, machine->time_of_day_cell));
    return n > 0 && (size_t)n < sizeof joined && stv_stamp_read(joined, out);
}

/* How many cells most rows have: loggers leave out or add cells at the end, but as a habit. */
static size_t usual_cells(const struct stv_machine *machine)
{
    size_t count[CELLS_COUNTED] = {0}, best = 0;
    for (size_t row = machine->header_row + 1; row < machine->csv->n_rows; row++)
        if (machine->has_stamp[row] && machine->csv->rows[row].n_cells < CELLS_COUNTED)
            count[machine->csv->rows[row].n_cells]++;
    for (size_t i = 0; i < CELLS_COUNTED; i++)
        if (count[i] > count[best])
            best = i;
    return count[best] ? best : machine->csv->rows[machine->header_row].n_cells;
}

/* True when most rows fill more cells than the header has names for. */
static bool has_nameless_cells(const struct stv_machine *machine)
{
    size_t n_named = machine->csv->rows[machine->header_row].n_cells;
    size_t n_rows = 0, n_over = 0;
    for (size_t row = machine->header_row + 1; row < machine->csv->n_rows; row++) {
        if (!machine->has_stamp[row])
            continue;
        bool is_over = false;
        for (size_t i = n_named; i < machine->csv->rows[row].n_cells; i++)
            is_over = is_over || *stv_csv_text(machine->csv, row, i);
        n_over += is_over;
        n_rows++;
    }
    return 2 * n_over > n_rows;
}

enum stv_status stv__machine_scan(struct stv_machine *machine)
{
    struct stv_stamp_vote vote = {0};
    char why[200];
    machine->stamps = calloc(machine->csv->n_rows, sizeof *machine->stamps);
    machine->has_stamp = calloc(machine->csv->n_rows, sizeof *machine->has_stamp);
    if (!machine->stamps || !machine->has_stamp)
        return STV_E_MEMORY;
    for (size_t row = machine->header_row + 1; row < machine->csv->n_rows; row++) {
        if (!is_of_station(machine, row))
            continue;
        machine->has_stamp[row] = read_stamp(machine, row, &machine->stamps[row]);
        if (!machine->has_stamp[row])
            continue;
        machine->n_stamps++;
        machine->n_with_time += machine->stamps[row].has_time;
        stv_stamp_vote_add(&vote, &machine->stamps[row]);
    }
    machine->usual_cells = usual_cells(machine);
    if (has_nameless_cells(machine)) {
        stv_problem_add(
            machine->problems, STV_REFUSED, machine->file,
            stv__machine_line(machine, machine->header_row), 0, NULL,
            "most rows have more cells than the header has names, so the columns are in "
            "doubt: if the numbers have decimal commas, export with ; between columns");
        return STV_E_PARSE;
    }
    enum stv_status status = stv_stamp_vote_order(&vote, &machine->order, why, sizeof why);
    if (status != STV_OK)
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0,
                        stv_csv_text(machine->csv, machine->header_row + 1, machine->time_cell),
                        "%s", why);
    return status;
}

/* Digits after the decimal mark. */
static size_t n_decimals(const char *text)
{
    const char *mark = strpbrk(text, ".,");
    return mark ? strspn(mark + 1, "0123456789") : 0;
}

/* A last line without its end may be cut inside its last number: fewer decimals than the line
 * before had. */
static bool is_cut_short(const struct stv_machine *machine, size_t row)
{
    const struct stv_csv_row *at = &machine->csv->rows[row];
    if (at->has_line_end || row <= machine->header_row + 1)
        return false;
    size_t last = at->n_cells - 1;
    return n_decimals(stv_csv_text(machine->csv, row, last)) <
           n_decimals(stv_csv_text(machine->csv, row - 1, last));
}

static bool has_more_text(const struct stv_machine *machine, size_t row)
{
    for (size_t i = machine->usual_cells; i < machine->csv->rows[row].n_cells; i++)
        if (*stv_csv_text(machine->csv, row, i))
            return true;
    return false;
}

/* What is wrong with a row as a whole, or NULL. */
static const char *row_fault(const struct stv_machine *machine, size_t row)
{
    const char *time_text = stv_csv_text(machine->csv, row, machine->time_cell);
    const char *header_text = stv_csv_text(machine->csv, machine->header_row, machine->time_cell);
    if (*time_text && strcmp(time_text, header_text) == 0)
        return "the header again: the row is not used";
    if (!machine->has_stamp[row])
        return "is not a date and time: the row is not used";
    if (machine->csv->rows[row].n_cells < machine->usual_cells)
        return "the row has fewer cells than the others: cut short, not used";
    if (has_more_text(machine, row))
        return "the row has more cells than the others, so its columns are in doubt: not used; is "
               "a decimal comma the separator as well?";
    if (is_cut_short(machine, row))
        return "the last line has no end and a shorter number than the others: cut short, not "
               "used";
    return NULL;
}

/* The same month, day and time in the one year that typical years stand in. */
static bool move_to_typical_year(int64_t *local_s)
{
    int32_t second_s;
    struct stv_date date = stv_date_from_day(stv_local_day(*local_s, 0, &second_s));
    date.year = STV_TYPICAL_YEAR;
    if (!stv_date_is_valid(date))
        return false;
    *local_s = stv_day_from_date(date) * STV_DAY_S + second_s;
    return true;
}

/* UTC start of what a row stands for; what is wrong, or NULL. */
static const char *time_of_row(struct stv_machine *machine, size_t row, struct stv_stamp_walk *walk,
                               int64_t *out_time_s)
{
    struct stv_stamp stamp = machine->stamps[row];
    int64_t local_s;
    if (machine->is_daily || machine->is_typical)
        stamp.has_offset = false;
    if (machine->is_daily)
        stamp.second_s = 0;
    if (stamp.year < YEAR_LEAST || stamp.year > YEAR_MOST)
        return "the year cannot be: the row is not used";
    if (!stv_stamp_local_s(&stamp, machine->order, &local_s))
        return "there is no such day: the row is not used";
    if (machine->is_typical) {
        local_s -= machine->shift_s;
        if (!move_to_typical_year(&local_s))
            return "a typical year has no 29 February: the row is not used";
        local_s += machine->shift_s;
    }
    if (stv_stamp_walk_utc(walk, &stamp, local_s, out_time_s) != STV_OK)
        return "this local time does not exist, the clocks had gone forward: the row is not used; "
               "if the machine does not change its clock, say a fixed one such as UTC-07:00";
    *out_time_s -= machine->shift_s;
    return NULL;
}

static void read_times(struct stv_machine *machine)
{
    struct stv_stamp_walk walk = {.clock = machine->clock};
    for (size_t row = machine->header_row + 1; row < machine->csv->n_rows; row++) {
        int64_t time_s = 0;
        if (!is_of_station(machine, row))
            continue;
        const char *fault = row_fault(machine, row);
        if (!fault)
            fault = time_of_row(machine, row, &walk, &time_s);
        if (!fault && (time_s < machine->from_s || time_s > machine->to_s)) {
            machine->n_outside++;
            continue;
        }
        machine->n_rows++;
        if (fault)
            set_row_aside(machine, row, machine->time_cell, fault);
        else
            machine->rows[machine->n++] = (struct stv_machine_row){time_s, row, 0};
    }
}

/* A unit in the cell itself wins over the header's: some loggers write 21.4 C or 55 %RH. */
static bool scale_of_cell(const struct stv_machine_column *column, const char *own_unit,
                          struct stv_scale *out)
{
    *out = column->scale;
    if (own_unit[0] == '\0')
        return true;
    const char *unit = strcmp(own_unit, "%RH") == 0 ? "%" : own_unit;
    char why[8];
    return stv_reading_scale(column->quantity, unit, out, why, sizeof why) == STV_OK;
}

static enum stv_reading_fault read_value(const struct stv_machine_column *column, const char *text,
                                         double *out)
{
    char own_unit[STV_OWN_UNIT_MAX];
    struct stv_scale scale;
    double number, value;
    if (*text == '\0')
        return STV_READING_EMPTY;
    if (!stv_reading_number(text, &number, own_unit) || !scale_of_cell(column, own_unit, &scale))
        return STV_READING_WORD;
    value = scale.offset + scale.factor * number + column->correction;
    enum stv_reading_fault fault = stv_reading_check(column->quantity, number, &value);
    if (fault == STV_READING_GOOD || fault == STV_READING_AT_LIMIT)
        *out = value;
    return fault;
}

static void say_value(struct stv_machine *machine, size_t row,
                      const struct stv_machine_column *column, enum stv_reading_fault fault)
{
    const struct stv_csv_row *at = &machine->csv->rows[row];
    bool is_used = fault == STV_READING_AT_LIMIT;
    const struct stv_csv_cell *cell = &machine->csv->cells[at->first_cell + column->cell_idx];
    stv_problem_add(machine->problems, is_used ? STV_NOTED : STV_SET_ASIDE, machine->file,
                    stv__machine_line(machine, row), cell->column, cell->text,
                    "%s in column \"%.40s\" %s%s", stv_reading_name(column->quantity), column->name,
                    stv_reading_fault_text(column->quantity, fault),
                    is_used ? "" : ": the value is not used");
}

static void read_column(struct stv_machine *machine, size_t j)
{
    const struct stv_machine_column *column = &machine->columns[j];
    size_t n_noted = 0;
    for (size_t k = 0; k < machine->n; k++) {
        size_t row = machine->rows[k].csv_row;
        double *out = &machine->values[k * machine->n_columns + j];
        *out = (double)NAN;
        enum stv_reading_fault fault =
            read_value(column, stv_csv_text(machine->csv, row, column->cell_idx), out);
        if (fault == STV_READING_GOOD || fault == STV_READING_EMPTY)
            continue;
        if (fault == STV_READING_AT_LIMIT) {
            machine->n_at_limit++;
            if (n_noted++ > 0) /* the first stands for all: a wet sensor says this for weeks */
                continue;
        } else {
            machine->n_values_set_aside++;
        }
        say_value(machine, row, column, fault);
    }
}

enum stv_status stv__machine_read(struct stv_machine *machine)
{
    size_t most = machine->csv->n_rows;
    machine->rows = calloc(most, sizeof *machine->rows);
    machine->values = calloc(most, machine->n_columns * sizeof *machine->values);
    if (!machine->rows || !machine->values)
        return STV_E_MEMORY;
    read_times(machine);
    for (size_t k = 0; k < machine->n; k++)
        machine->rows[k].slot = k;
    for (size_t j = 0; j < machine->n_columns; j++)
        read_column(machine, j);
    stv__machine_drop_empty(machine);
    return STV_OK;
}

void stv__machine_free(struct stv_machine *machine)
{
    free(machine->stamps);
    free(machine->has_stamp);
    free(machine->rows);
    free(machine->values);
    machine->stamps = NULL;
    machine->has_stamp = NULL;
    machine->rows = NULL;
    machine->values = NULL;
}
