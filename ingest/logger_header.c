/* Which column of a logger is what.  Loggers write a preamble, one or two header rows, sometimes
 * the unit only behind each number.  A temperature without any unit is refused, with what its
 * range looks like: 40 is a hot shed in C and a cold one in F. */
#include "ingest/logger_parts.h"

#include "ingest/header_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define PREAMBLE_LINES 200
#define CLOCK_TEXT_BYTES 16
#define WHY_MAX 100
/* A range that a shed can show in F and no shed shows in C. */
#define LOOKS_F_LEAST 20.0
#define LOOKS_F_MOST 45.0

static bool is_time_column(const struct stv_header_words *words)
{
    struct stv_header_quantity quantity;
    return (stv_header_is_date(words) || stv_header_is_time(words)) &&
           !stv_header_quantity(words, &quantity);
}

static bool has_quantity(const struct stv_csv *csv, size_t row, size_t cell,
                         enum stv_weather_quantity wanted, struct stv_header_quantity *out)
{
    struct stv_header_words words;
    stv_header_split(stv_csv_text(csv, row, cell), &words);
    return stv_header_quantity(&words, out) && out->quantity == wanted;
}

bool stv__logger_is_header(const struct stv_csv *csv, size_t row)
{
    struct stv_header_words words;
    struct stv_header_quantity quantity;
    bool has_time = false, has_temperature = false;
    for (size_t i = 0; i < csv->rows[row].n_cells; i++) {
        stv_header_split(stv_csv_text(csv, row, i), &words);
        if (is_time_column(&words))
            has_time = true;
        else if (has_quantity(csv, row, i, STV_WQ_TEMP_C, &quantity))
            has_temperature = true;
    }
    return has_time && has_temperature;
}

static enum stv_status refuse(const struct stv_machine *machine, const char *found,
                              const char *what)
{
    size_t line =
        machine->header_row == SIZE_MAX ? 0 : stv__machine_line(machine, machine->header_row);
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, line, 0, found, "%s", what);
    return STV_E_PARSE;
}

/* One cell with date and time, or a cell of dates and another of times. */
static void find_time_cells(struct stv_machine *machine)
{
    size_t date_cell = STV_NO_CELL, time_cell = STV_NO_CELL;
    for (size_t i = machine->csv->rows[machine->header_row].n_cells; i-- > 0;) {
        struct stv_header_words words;
        stv_header_split(stv_csv_text(machine->csv, machine->header_row, i), &words);
        if (!is_time_column(&words))
            continue;
        if (stv_header_is_date(&words))
            date_cell = i;
        if (stv_header_is_time(&words))
            time_cell = i;
    }
    bool stand_apart =
        date_cell != STV_NO_CELL && time_cell != STV_NO_CELL && date_cell != time_cell;
    machine->time_cell = date_cell != STV_NO_CELL ? date_cell : time_cell;
    machine->time_of_day_cell = stand_apart ? time_cell : STV_NO_CELL;
}

static bool is_mean(const struct stv_csv *csv, size_t row, size_t cell)
{
    struct stv_header_words words;
    stv_header_split(stv_csv_text(csv, row, cell), &words);
    return stv_header_has(&words, "avg") || stv_header_has(&words, "mean") ||
           stv_header_has(&words, "average");
}

/* The one column of a quantity, or the one that says it is the mean.  SIZE_MAX: none;
 * *n_others counts those that would do as well. */
static size_t find_column(const struct stv_machine *machine, enum stv_weather_quantity wanted,
                          struct stv_header_quantity *out, size_t *n_others)
{
    size_t found = SIZE_MAX, row = machine->header_row;
    bool found_mean = false;
    *n_others = 0;
    for (size_t i = 0; i < machine->csv->rows[row].n_cells; i++) {
        struct stv_header_quantity quantity;
        if (!has_quantity(machine->csv, row, i, wanted, &quantity))
            continue;
        bool mean = is_mean(machine->csv, row, i);
        if (found != SIZE_MAX && mean == found_mean)
            (*n_others)++;
        if (found == SIZE_MAX || (mean && !found_mean)) {
            *n_others = 0;
            found = i;
            found_mean = mean;
            *out = quantity;
        }
    }
    return found;
}

/* The unit behind the first number of a column, "" when there is none. */
static void unit_of_cells(const struct stv_machine *machine, size_t cell,
                          char unit[STV_OWN_UNIT_MAX])
{
    double number;
    for (size_t row = machine->header_row + 1; row < machine->csv->n_rows; row++)
        if (stv_reading_number(stv_csv_text(machine->csv, row, cell), &number, unit))
            return;
    unit[0] = '\0';
}

/* A row of units under the header: its time cell is no stamp, its cell here is a unit. */
static const char *unit_of_row_below(const struct stv_machine *machine, size_t cell,
                                     enum stv_weather_quantity quantity)
{
    struct stv_stamp stamp;
    struct stv_header_words words;
    struct stv_header_quantity said;
    char joined[128];
    size_t row = machine->header_row + 1;
    const char *text = stv_csv_text(machine->csv, row, cell);
    if (stv_stamp_read(stv_csv_text(machine->csv, row, machine->time_cell), &stamp) || !*text)
        return "";
    snprintf(joined, sizeof joined, "%s %.40s", quantity == STV_WQ_RH_FRAC ? "rh" : "temp", text);
    stv_header_split(joined, &words);
    return stv_header_quantity(&words, &said) ? said.unit : "";
}

/* What the numbers look like, for a temperature that has no unit anywhere. */
static const char *missing_unit(const struct stv_machine *machine, size_t cell)
{
    double least = HUGE_VAL, most = -HUGE_VAL, number;
    for (size_t row = machine->header_row + 1; row < machine->csv->n_rows; row++) {
        if (!stv_reading_number(stv_csv_text(machine->csv, row, cell), &number, NULL))
            continue;
        least = fmin(least, number);
        most = fmax(most, number);
    }
    if (least > LOOKS_F_LEAST && most > LOOKS_F_MOST)
        return "the temperature has no unit, and looks like F; write it in the header, such as "
               "\"Temperature [F]\"";
    return "the temperature has no unit; write it in the header, such as \"Temperature [C]\"";
}

static enum stv_status set_scale(struct stv_machine *machine, struct stv_machine_column *column,
                                 const char *header_unit, bool *uses_row_below)
{
    char own[STV_OWN_UNIT_MAX], why[WHY_MAX];
    const char *unit = header_unit;
    if (!*unit) {
        unit = unit_of_row_below(machine, column->cell_idx, column->quantity);
        *uses_row_below = *uses_row_below || *unit;
    }
    unit_of_cells(machine, column->cell_idx, own);
    if (!*unit && *own) {
        /* Only cells with a unit can be read; the others become words. */
        column->scale = (struct stv_scale){(double)NAN, (double)NAN};
        return STV_OK;
    }
    if (!*unit && column->quantity == STV_WQ_RH_FRAC)
        unit = "%";
    if (!*unit)
        return refuse(machine, column->name, missing_unit(machine, column->cell_idx));
    if (stv_reading_scale(column->quantity, unit, &column->scale, why, sizeof why) != STV_OK)
        return refuse(machine, column->name, why);
    return STV_OK;
}

static enum stv_status add_column(struct stv_machine *machine, enum stv_weather_quantity quantity,
                                  bool *uses_row_below)
{
    size_t n_others;
    struct stv_header_quantity said = {0};
    size_t cell = find_column(machine, quantity, &said, &n_others);
    if (cell == SIZE_MAX)
        return STV_OK; /* the header row was found by its temperature, so this is humidity */
    struct stv_machine_column column = {
        .cell_idx = cell,
        .quantity = quantity,
        .correction = machine->columns[machine->n_columns].correction,
        .name = stv_csv_text(machine->csv, machine->header_row, cell)};
    if (n_others)
        return refuse(machine, column.name,
                      quantity == STV_WQ_TEMP_C
                          ? "several temperature columns; leave one for each place, in its own file"
                          : "several humidity columns; leave one for each place, in its own file");
    enum stv_status status = set_scale(machine, &column, said.unit, uses_row_below);
    if (status == STV_OK)
        machine->columns[machine->n_columns++] = column;
    return status;
}

/* Some loggers name their clock in the header: "Date Time, GMT-06:00". */
static void compare_clock(const struct stv_machine *machine)
{
    char text[CLOCK_TEXT_BYTES] = "UTC", why[WHY_MAX];
    struct stv_clock said;
    const char *name = stv_csv_text(machine->csv, machine->header_row, machine->time_cell);
    const char *at = strstr(name, "GMT");
    if (!at)
        at = strstr(name, "UTC");
    if (!at)
        return;
    size_t n = strspn(at + 3, "+-:0123456789");
    if (n >= sizeof text - 3)
        return;
    memcpy(text + 3, at + 3, n);
    text[3 + n] = '\0';
    if (stv_clock_parse(text, &said, why, sizeof why) == STV_OK &&
        (machine->clock.has_summer ||
         said.standard_offset_min != machine->clock.standard_offset_min))
        stv_problem_add(machine->problems, STV_NOTED, machine->file,
                        stv__machine_line(machine, machine->header_row), 0, name,
                        "the header speaks of another clock than the one that was said for this "
                        "file; the one that was said is used");
}

enum stv_status stv__logger_header(struct stv_machine *machine)
{
    bool uses_row_below = false;
    size_t row = 0, most = machine->csv->n_rows;
    if (most > PREAMBLE_LINES)
        most = PREAMBLE_LINES;
    while (row < most && !stv__logger_is_header(machine->csv, row))
        row++;
    machine->header_row = row < most ? row : SIZE_MAX;
    machine->n_columns = 0;
    if (row == most)
        return refuse(machine, NULL,
                      "no row names a time and a temperature, such as \"Date,Temperature [C]\"");
    find_time_cells(machine);
    compare_clock(machine);
    enum stv_status status = add_column(machine, STV_WQ_TEMP_C, &uses_row_below);
    if (status == STV_OK)
        status = add_column(machine, STV_WQ_RH_FRAC, &uses_row_below);
    machine->header_row += uses_row_below;
    return status;
}
