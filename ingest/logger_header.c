/* Which column of a logger is what.  Loggers write a preamble, one or two header rows, sometimes
 * the unit only behind each number, sometimes a pair of columns for each sensor, or a cell that
 * names it.  What could be several is refused with the names, never chosen. */
#include "ingest/logger_parts.h"

#include "ingest/header_words.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define PREAMBLE_LINES 200
#define CLOCK_TEXT_BYTES 16
#define WHY_MAX 200
#define NAMES_LISTED 12
#define HEADER_BYTES 112
#define UNREAD_ROOM 34 /* a name of 30 bytes, its marks and its end */
/* Of a column without header and unit: what a shed shows in C. */
#define PLAUSIBLE_LEAST_C (-30.0)
#define PLAUSIBLE_MOST_C 50.0

static bool is_time_column(const struct stv_header_words *words)
{
    struct stv_header_quantity quantity;
    return (stv_header_is_date(words) || stv_header_is_time(words)) &&
           (!stv_header_quantity(words, &quantity) || !quantity.unit[0]);
}

/* True when the header names the sensor as a word of its own. */
static bool names_sensor(const char *header, const char *sensor)
{
    size_t n = strlen(sensor);
    for (const char *at = header; *at; at++) {
        bool starts = at == header || !isalnum((unsigned char)at[-1]);
        if (starts && strncasecmp(at, sensor, n) == 0 && !isalnum((unsigned char)at[n]))
            return true;
    }
    return n == 0;
}

/* "Ambient [C]": no word of temperature, but the unit of one and the name of the sensor that is
 * asked for. */
static bool is_named_temperature(const struct stv_csv *csv, size_t row, size_t cell,
                                 const char *sensor, struct stv_header_quantity *out)
{
    char joined[HEADER_BYTES];
    struct stv_header_words words;
    const char *text = stv_csv_text(csv, row, cell);
    stv_header_split(text, &words);
    if (!*sensor || !names_sensor(text, sensor) || is_time_column(&words) ||
        stv_header_quantity(&words, out))
        return false;
    snprintf(joined, sizeof joined, "temp %.100s", text);
    stv_header_split(joined, &words);
    return stv_header_quantity(&words, out) && out->quantity == STV_WQ_TEMP_C && out->unit[0];
}

static bool has_quantity(const struct stv_csv *csv, size_t row, size_t cell,
                         enum stv_weather_quantity wanted, struct stv_header_quantity *out)
{
    struct stv_header_words words;
    stv_header_split(stv_csv_text(csv, row, cell), &words);
    return !is_time_column(&words) && stv_header_quantity(&words, out) && out->quantity == wanted;
}

/* True when a row names a time and, in another cell, a temperature. */
static bool is_header(const struct stv_csv *csv, size_t row, const char *sensor)
{
    struct stv_header_words words;
    struct stv_header_quantity quantity;
    bool has_time = false, has_temperature = false;
    for (size_t i = 0; i < csv->rows[row].n_cells; i++) {
        stv_header_split(stv_csv_text(csv, row, i), &words);
        if (is_time_column(&words))
            has_time = true;
        else if (has_quantity(csv, row, i, STV_WQ_TEMP_C, &quantity) ||
                 is_named_temperature(csv, row, i, sensor, &quantity))
            has_temperature = true;
    }
    return has_time && has_temperature;
}

static enum stv_status refuse(const struct stv_machine *machine, const char *found,
                              const char *what)
{
    size_t line = machine->header_row < machine->head.n_rows && !machine->has_no_header
                      ? machine->head.rows[machine->header_row].line
                      : 0;
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, line, 0, found, "%s", what);
    return STV_E_PARSE;
}

static const char *head_text(const struct stv_machine *machine, size_t row, size_t cell)
{
    return stv_csv_text(&machine->head, row, cell);
}

/* One cell with date and time, or a cell of dates and another of times. */
static void find_time_cells(struct stv_machine *machine)
{
    size_t date_cell = STV_NO_CELL, time_cell = STV_NO_CELL;
    for (size_t i = machine->head.rows[machine->header_row].n_cells; i-- > 0;) {
        struct stv_header_words words;
        stv_header_split(head_text(machine, machine->header_row, i), &words);
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

/* The time column that stands right before a value column that is not the first: a channel with a
 * clock of its own. */
static size_t own_time_cell(const struct stv_machine *machine, size_t cell)
{
    struct stv_header_words words;
    if (cell == 0 || cell - 1 == machine->time_cell || cell - 1 == machine->time_of_day_cell)
        return STV_NO_CELL;
    stv_header_split(head_text(machine, machine->header_row, cell - 1), &words);
    return is_time_column(&words) ? cell - 1 : STV_NO_CELL;
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
static size_t find_column(const struct stv_machine *machine, const char *sensor,
                          enum stv_weather_quantity wanted, struct stv_header_quantity *out,
                          size_t *n_others)
{
    size_t found = SIZE_MAX, row = machine->header_row;
    bool found_mean = false;
    *n_others = 0;
    for (size_t i = 0; i < machine->head.rows[row].n_cells; i++) {
        struct stv_header_quantity quantity;
        bool is_own = has_quantity(&machine->head, row, i, wanted, &quantity) &&
                      names_sensor(head_text(machine, row, i), sensor);
        if (!is_own && !(wanted == STV_WQ_TEMP_C &&
                         is_named_temperature(&machine->head, row, i, sensor, &quantity)))
            continue;
        bool mean = is_mean(&machine->head, row, i);
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
    for (size_t row = machine->header_row + 1; row < machine->head.n_rows; row++)
        if (stv_reading_number(head_text(machine, row, cell), &number, unit))
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
    const char *text = head_text(machine, row, cell);
    if (stv_stamp_read(head_text(machine, row, machine->time_cell), &stamp) || !*text)
        return "";
    snprintf(joined, sizeof joined, "%s %.40s", quantity == STV_WQ_RH_FRAC ? "rh" : "temp", text);
    stv_header_split(joined, &words);
    return stv_header_quantity(&words, &said) ? said.unit : "";
}

static enum stv_status set_scale(struct stv_machine *machine, struct stv_machine_column *column,
                                 const char *header_unit, bool *uses_row_below,
                                 struct stv_logger_report *report)
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
        if (column->quantity == STV_WQ_TEMP_C)
            snprintf(report->unit, sizeof report->unit, "as each cell says");
        return STV_OK;
    }
    if (!*unit && column->quantity == STV_WQ_TEMP_C)
        unit = machine->unit;
    if (!*unit && column->quantity == STV_WQ_TEMP_C)
        report->is_unit_assumed = true; /* judged once all its values are known */
    if (!*unit)
        unit = column->quantity == STV_WQ_RH_FRAC ? "%" : "C";
    if (column->quantity == STV_WQ_TEMP_C)
        snprintf(report->unit, sizeof report->unit, "%s", unit);
    if (stv_reading_scale(column->quantity, unit, &column->scale, why, sizeof why) != STV_OK)
        return refuse(machine, column->name, why);
    return STV_OK;
}

/* Headers of the temperature columns, for a refusal: none of them is the sensor's, or several
 * are. */
static enum stv_status refuse_several(const struct stv_machine *machine, const char *sensor,
                                      bool has_none, enum stv_weather_quantity quantity)
{
    char list[WHY_MAX] = "";
    size_t n = 0;
    for (size_t i = 0; i < machine->head.rows[machine->header_row].n_cells; i++) {
        struct stv_header_quantity said;
        size_t used = strlen(list);
        if (has_quantity(&machine->head, machine->header_row, i, quantity, &said) &&
            n++ < NAMES_LISTED)
            snprintf(list + used, sizeof list - used, "%s\"%.30s\"", n > 1 ? ", " : "",
                     head_text(machine, machine->header_row, i));
    }
    stv_problem_add(machine->problems, STV_REFUSED, machine->file,
                    machine->head.rows[machine->header_row].line, 0, sensor,
                    has_none  ? "no column of this sensor; the file has %s"
                    : *sensor ? "several columns name this sensor: write more of the one that is "
                                "meant under sensor in loggers.csv; the columns are %s"
                              : "several sensors in one file: name one under sensor in "
                                "loggers.csv, a row for each; the columns are %s",
                    list);
    return STV_E_PARSE;
}

static enum stv_status add_column(struct stv_machine *machine, const char *sensor,
                                  enum stv_weather_quantity quantity, bool *uses_row_below,
                                  struct stv_logger_report *report)
{
    size_t n_others;
    struct stv_header_quantity said = {0};
    size_t cell = find_column(machine, sensor, quantity, &said, &n_others);
    if (cell == SIZE_MAX && quantity == STV_WQ_RH_FRAC)
        return STV_OK; /* it may have none */
    if (cell == SIZE_MAX || n_others)
        return refuse_several(machine, sensor, cell == SIZE_MAX, quantity);
    struct stv_machine_column column = {.cell_idx = cell,
                                        .time_cell = own_time_cell(machine, cell),
                                        .quantity = quantity,
                                        .correction =
                                            machine->columns[machine->n_columns].correction};
    snprintf(column.name, sizeof column.name, "%s", head_text(machine, machine->header_row, cell));
    enum stv_status status = set_scale(machine, &column, said.unit, uses_row_below, report);
    if (status == STV_OK)
        machine->columns[machine->n_columns++] = column;
    return status;
}

/* A column of sensor names: by its header, with more than one name in its cells. */
static size_t find_sensor_cell(const struct stv_machine *machine)
{
    static const char *const heads[] = {"sensor", "sensor id", "logger",  "device",
                                        "probe",  "channel",   "station", "sensor name"};
    for (size_t i = 0; i < machine->head.rows[machine->header_row].n_cells; i++)
        for (size_t h = 0; h < sizeof heads / sizeof heads[0]; h++)
            if (strcasecmp(head_text(machine, machine->header_row, i), heads[h]) == 0)
                return i;
    return STV_NO_CELL;
}

/* Different names in the head's rows of the sensor column. */
static size_t list_sensors(const struct stv_machine *machine, size_t cell, const char **names)
{
    size_t n = 0;
    for (size_t row = machine->header_row + 1; row < machine->head.n_rows; row++) {
        const char *name = head_text(machine, row, cell);
        size_t i = n;
        while (i > 0 && strcasecmp(names[i - 1], name) != 0)
            i--;
        if (i == 0 && *name && n < NAMES_LISTED)
            names[n++] = name;
    }
    return n;
}

/* Rows of one sensor alone, in a file that names it in each row. */
static enum stv_status choose_rows(struct stv_machine *machine, const char *sensor,
                                   bool *out_is_chosen)
{
    const char *names[NAMES_LISTED];
    char list[WHY_MAX] = "";
    size_t cell = find_sensor_cell(machine);
    *out_is_chosen = false;
    if (cell == STV_NO_CELL)
        return STV_OK;
    size_t n = list_sensors(machine, cell, names);
    if (n <= 1 && !*sensor)
        return STV_OK;
    for (size_t i = 0; i < n; i++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%.30s", i ? ", " : "", names[i]);
        if (*sensor && strcasecmp(names[i], sensor) == 0) {
            machine->station_cell = cell;
            snprintf(machine->station, sizeof machine->station, "%s", names[i]);
            *out_is_chosen = true;
            return STV_OK;
        }
    }
    stv_problem_add(machine->problems, STV_REFUSED, machine->file,
                    machine->head.rows[machine->header_row].line, 0, sensor, "%s; the file has %s",
                    *sensor
                        ? "no row of this sensor"
                        : "rows of several sensors: name one under sensor in loggers.csv, a row "
                          "for each",
                    list);
    return STV_E_PARSE;
}

/* Some loggers name their clock in the header: "Date Time, GMT-06:00". */
static void compare_clock(const struct stv_machine *machine)
{
    char text[CLOCK_TEXT_BYTES] = "UTC", why[WHY_MAX];
    struct stv_clock said;
    const char *name = head_text(machine, machine->header_row, machine->time_cell);
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
                        machine->head.rows[machine->header_row].line, 0, name,
                        "the header speaks of another clock than the one that was said for this "
                        "file; the one that was said is used");
}

static size_t find_header(const struct stv_csv *csv, const char *sensor)
{
    for (size_t row = 0; row < csv->n_rows && row < PREAMBLE_LINES; row++)
        if (is_header(csv, row, sensor))
            return row;
    return SIZE_MAX;
}

static enum stv_status head_at(struct stv_machine *machine, size_t at)
{
    char why[WHY_MAX];
    enum stv_status status = stv__machine_head(machine, at, why, sizeof why);
    if (status != STV_OK)
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, NULL, "%s", why);
    return status;
}

/* A preamble with other delimiters than the table misleads the reader of the head.  Then each line
 * is tried alone, and the head begins at the one that is a header. */
static enum stv_status head_behind_preamble(struct stv_machine *machine, const char *sensor)
{
    struct stv_lines lines = {.text = machine->text->text, .n = machine->text->n};
    struct stv_line line;
    char why[WHY_MAX];
    for (size_t i = 0; i < PREAMBLE_LINES && stv_lines_next(&lines, &line); i++) {
        struct stv_csv csv;
        bool has_head = stv_csv_parse(line.all.text, line.all.n, &csv, why, sizeof why) == STV_OK &&
                        csv.n_rows > 0 && is_header(&csv, 0, sensor);
        stv_csv_free(&csv);
        if (has_head)
            return head_at(machine, line.at);
    }
    return STV_E_NO_DATA;
}

/* No header names a temperature: the row that names a time is quoted, if there is one, for that is
 * the one to mend. */
static enum stv_status refuse_head(const struct stv_machine *machine, const char *sensor)
{
    const struct stv_csv *head = &machine->head;
    char names[WHY_MAX] = "";
    size_t line = 0;
    for (size_t row = 0; row < head->n_rows && row < PREAMBLE_LINES && !line; row++)
        for (size_t i = 0; i < head->rows[row].n_cells && !line; i++) {
            struct stv_header_words words;
            stv_header_split(stv_csv_text(head, row, i), &words);
            line = is_time_column(&words) ? head->rows[row].line : 0;
            for (size_t k = 0; line && k < head->rows[row].n_cells && k < NAMES_LISTED; k++) {
                size_t used = strlen(names);
                snprintf(names + used, sizeof names - used, "%s%.30s", k ? ", " : "",
                         stv_csv_text(head, row, k));
            }
        }
    if (*sensor)
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, line, 0, line ? names : NULL,
                        "no column is a temperature of the sensor \"%.40s\" that loggers.csv asks "
                        "for: write under sensor what a column's header says, and that column has "
                        "to name its unit, such as [C]",
                        sensor);
    else
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, line, 0, line ? names : NULL,
                        "no header names a time and a temperature, such as "
                        "\"Date,Temperature [C]\", and the columns do not tell by themselves: a "
                        "column with a unit can be named under sensor in loggers.csv");
    return STV_E_PARSE;
}

/* Without any header: taken when one column holds times and one other numbers that can be C. */
static enum stv_status take_bare(struct stv_machine *machine, const char *sensor,
                                 struct stv_logger_report *report)
{
    struct stv_stamp stamp;
    size_t n_times = 0, n_numbers = 0, time_cell = 0, value_cell = 0;
    double number;
    machine->has_no_header = true;
    machine->header_row = 0;
    for (size_t i = 0; machine->head.n_rows > 0 && i < machine->head.rows[0].n_cells; i++) {
        const char *text = head_text(machine, 0, i);
        if (stv_stamp_read(text, &stamp)) {
            n_times++;
            time_cell = i;
        } else if (stv_reading_number(text, &number, NULL) && number >= PLAUSIBLE_LEAST_C &&
                   number <= PLAUSIBLE_MOST_C) {
            n_numbers++;
            value_cell = i;
        }
    }
    if (n_times != 1 || n_numbers != 1)
        return refuse_head(machine, sensor);
    machine->time_cell = time_cell;
    machine->time_of_day_cell = STV_NO_CELL;
    machine->columns[0] = (struct stv_machine_column){.cell_idx = value_cell,
                                                      .time_cell = STV_NO_CELL,
                                                      .quantity = STV_WQ_TEMP_C,
                                                      .scale = {0.0, 1.0},
                                                      .correction = machine->columns[0].correction,
                                                      .name = "no header"};
    machine->n_columns = 1;
    snprintf(report->unit, sizeof report->unit, "C");
    report->is_unit_assumed = true;
    stv_problem_add(machine->problems, STV_NOTED, machine->file, 1, 0, NULL,
                    "no header: the column of times and the one of numbers are taken for the time "
                    "and the temperature in C");
    return STV_OK;
}

static enum stv_status find_head(struct stv_machine *machine, const char *sensor)
{
    enum stv_status status = head_at(machine, 0);
    if (status != STV_OK)
        return status;
    machine->header_row = find_header(&machine->head, sensor);
    if (machine->header_row != SIZE_MAX)
        return STV_OK;
    status = head_behind_preamble(machine, sensor);
    if (status != STV_OK)
        return status;
    machine->header_row = find_header(&machine->head, sensor);
    return machine->header_row == SIZE_MAX ? STV_E_NO_DATA : STV_OK;
}

/* Columns that say something and are left out, so that nobody thinks that they are used. */
static void list_unread(const struct stv_machine *machine, struct stv_logger_report *report)
{
    size_t row = machine->header_row;
    report->has_humidity = machine->n_columns > 1;
    for (size_t i = 0; i < machine->head.rows[row].n_cells; i++) {
        const char *name = head_text(machine, row, i);
        size_t used = strlen(report->unread);
        bool is_read = i == machine->time_cell || i == machine->time_of_day_cell ||
                       i == machine->station_cell || strlen(name) < 2;
        for (size_t j = 0; j < machine->n_columns; j++)
            is_read =
                is_read || machine->columns[j].cell_idx == i || machine->columns[j].time_cell == i;
        if (!is_read && used + UNREAD_ROOM < sizeof report->unread)
            snprintf(report->unread + used, sizeof report->unread - used, "%s\"%.30s\"",
                     used ? ", " : "", name);
    }
}

enum stv_status stv__logger_header(struct stv_machine *machine, const char *sensor,
                                   struct stv_logger_report *report)
{
    bool uses_row_below = false, is_chosen = false;
    machine->n_columns = 0;
    machine->station_cell = STV_NO_CELL;
    enum stv_status status = find_head(machine, sensor);
    if (status == STV_E_NO_DATA)
        return take_bare(machine, sensor, report);
    if (status != STV_OK)
        return status;
    find_time_cells(machine);
    compare_clock(machine);
    status = choose_rows(machine, sensor, &is_chosen);
    if (status != STV_OK)
        return status;
    const char *column_sensor = is_chosen ? "" : sensor;
    status = add_column(machine, column_sensor, STV_WQ_TEMP_C, &uses_row_below, report);
    if (status == STV_OK)
        status = add_column(machine, column_sensor, STV_WQ_RH_FRAC, &uses_row_below, report);
    if (status == STV_OK)
        list_unread(machine, report);
    machine->header_row += uses_row_below;
    machine->data_at = stv__machine_behind(machine, machine->head.rows[machine->header_row].line);
    return status;
}
