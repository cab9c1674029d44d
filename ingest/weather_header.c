/* A description names columns; without one the header must name quantity and unit itself.  The
 * two are not mixed: once a description lists columns, the others stay unread. */
#include "ingest/weather_header.h"

#include "ingest/header_words.h"
#include "ingest/weather_meta.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define PREAMBLE_LINES 200
#define WHY_MAX 200
#define NAMES_LISTED 12

static void refuse(const struct stv_machine *machine, size_t row, const char *found,
                   const char *what)
{
    size_t line = row == SIZE_MAX ? 0 : machine->head.rows[row].line;
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, line, 0, found, "%s", what);
}

/* The cell of a row that holds dates; SIZE_MAX when there is none. */
static size_t find_time_cell(const struct stv_csv *csv, size_t row)
{
    struct stv_header_words words;
    struct stv_header_quantity quantity;
    for (size_t i = 0; i < csv->rows[row].n_cells; i++) {
        stv_header_split(stv_csv_text(csv, row, i), &words);
        if ((stv_header_is_date(&words) || stv_header_is_time(&words)) &&
            !stv_header_quantity(&words, &quantity))
            return i;
    }
    return SIZE_MAX;
}

static bool names_a_quantity(const struct stv_csv *csv, size_t row)
{
    struct stv_header_words words;
    struct stv_header_quantity quantity;
    for (size_t i = 0; i < csv->rows[row].n_cells; i++) {
        stv_header_split(stv_csv_text(csv, row, i), &words);
        if (stv_header_quantity(&words, &quantity) && quantity.unit[0])
            return true;
    }
    return false;
}

static bool is_header(const struct stv_csv *csv, size_t row, const struct stv_weather_meta *meta,
                      size_t *out_time_cell)
{
    *out_time_cell =
        meta->time_column[0] ? stv_csv_find(csv, row, meta->time_column) : find_time_cell(csv, row);
    if (*out_time_cell == SIZE_MAX)
        return false;
    for (size_t c = 0; c < meta->n_columns; c++)
        if (stv_csv_find(csv, row, meta->columns[c].name) != SIZE_MAX)
            return true;
    return meta->n_columns == 0 && names_a_quantity(csv, row);
}

static bool find_header(struct stv_machine *machine, const struct stv_weather_meta *meta)
{
    const struct stv_csv *csv = &machine->head;
    for (size_t row = 0; row < csv->n_rows && row < PREAMBLE_LINES; row++) {
        if (is_header(csv, row, meta, &machine->time_cell)) {
            machine->header_row = row;
            machine->time_of_day_cell = STV_NO_CELL;
            return true;
        }
    }
    return false;
}

/* Adds a column unless its quantity is taken already. */
static bool add_column(struct stv_machine *machine, struct stv_machine_column column)
{
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].quantity == column.quantity)
            return false;
    machine->columns[machine->n_columns++] = column;
    return true;
}

/* The header nearest to a name that is not there. */
static const char *nearest_header(const struct stv_machine *machine, const char *name)
{
    const char *headers[STV_META_COLUMNS_MAX];
    size_t n = machine->head.rows[machine->header_row].n_cells;
    if (n > STV_META_COLUMNS_MAX)
        n = STV_META_COLUMNS_MAX;
    for (size_t i = 0; i < n; i++)
        headers[i] = stv_csv_text(&machine->head, machine->header_row, i);
    return stv_nearest_word(name, headers, n);
}

static enum stv_status missing_column(const struct stv_machine *machine, const char *name)
{
    char what[WHY_MAX];
    const char *nearest = nearest_header(machine, name);
    snprintf(what, sizeof what,
             "the description names this column, but the header has none of that name%s%.60s%s",
             nearest ? "; did you mean \"" : "", nearest ? nearest : "", nearest ? "\"?" : "");
    refuse(machine, machine->header_row, name, what);
    return STV_E_PARSE;
}

static enum stv_status columns_from_meta(struct stv_machine *machine,
                                         const struct stv_weather_meta *meta)
{
    enum stv_status status = STV_OK;
    char why[WHY_MAX];
    for (size_t c = 0; c < meta->n_columns; c++) {
        const struct stv_meta_column *said = &meta->columns[c];
        struct stv_machine_column column = {
            .cell_idx = stv_csv_find(&machine->head, machine->header_row, said->name),
            .quantity = said->quantity,
            .time_cell = STV_NO_CELL,
            .is_sea_level = said->is_sea_level};
        snprintf(column.name, sizeof column.name, "%s", said->name);
        if (column.cell_idx == SIZE_MAX) {
            status = missing_column(machine, said->name);
        } else if (stv_reading_scale(said->quantity, said->unit, &column.scale, why, sizeof why) !=
                   STV_OK) {
            refuse(machine, machine->header_row, said->unit, why);
            status = STV_E_PARSE;
        } else if (!add_column(machine, column)) {
            refuse(machine, machine->header_row, said->name,
                   "the description gives two columns for one quantity; leave one out");
            status = STV_E_PARSE;
        }
    }
    return status;
}

/* A column whose header says quantity and unit.  One without a unit is told, because its owner
 * may think that it is read. */
static void column_from_header(struct stv_machine *machine, size_t cell_idx)
{
    struct stv_header_words words;
    struct stv_header_quantity said;
    char why[WHY_MAX];
    const char *name = stv_csv_text(&machine->head, machine->header_row, cell_idx);
    stv_header_split(name, &words);
    if (cell_idx == machine->time_cell || !stv_header_quantity(&words, &said))
        return;
    const char *fault = said.unit[0] ? NULL : "the header names no unit: the column is not read";
    struct stv_machine_column column = {.cell_idx = cell_idx,
                                        .quantity = said.quantity,
                                        .time_cell = STV_NO_CELL,
                                        .is_sea_level = said.is_sea_level};
    snprintf(column.name, sizeof column.name, "%s", name);
    if (!fault &&
        stv_reading_scale(said.quantity, said.unit, &column.scale, why, sizeof why) != STV_OK)
        fault = why;
    if (!fault && !add_column(machine, column))
        fault = "a column before it has this quantity already: not read";
    if (fault)
        stv_problem_add(machine->problems, STV_NOTED, machine->file,
                        machine->head.rows[machine->header_row].line, 0, name, "%s", fault);
}

static bool has_column(const struct stv_machine *machine, enum stv_weather_quantity quantity)
{
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].quantity == quantity)
            return true;
    return false;
}

/* Without a temperature a table says nothing of a store, whatever else it holds. */
static enum stv_status ask_temperature(const struct stv_machine *machine)
{
    if (has_column(machine, STV_WQ_TEMP_C) ||
        (has_column(machine, STV_WQ_TEMP_MIN_C) && has_column(machine, STV_WQ_TEMP_MAX_C)))
        return STV_OK;
    char names[WHY_MAX] = "";
    for (size_t i = 0; i < machine->head.rows[machine->header_row].n_cells && i < NAMES_LISTED;
         i++) {
        size_t used = strlen(names);
        snprintf(names + used, sizeof names - used, "%s%.40s", i ? ", " : "",
                 stv_csv_text(&machine->head, machine->header_row, i));
    }
    refuse(
        machine, machine->header_row, names,
        "no column is read as a temperature: name it \"temperature [C]\", or with a lowest and a "
        "highest of each day \"temperature min [C]\" and \"temperature max [C]\" (F likewise), or "
        "write a description beside the file (NAME.meta.yaml, with columns:)");
    return STV_E_PARSE;
}

enum stv_status stv__weather_header(struct stv_machine *machine,
                                    const struct stv_weather_meta *meta)
{
    machine->station_cell = STV_NO_CELL;
    if (find_header(machine, meta)) {
        machine->data_at =
            stv__machine_behind(machine, machine->head.rows[machine->header_row].line);
    } else {
        refuse(machine, SIZE_MAX, meta->time_column,
               meta->n_columns ? "no row names the time column and the columns of the description"
                               : "no row names a time and a quantity with its unit, such as "
                                 "\"temperature [C]\"; write a description beside the file "
                                 "(NAME.meta.yaml, with columns:)");
        return STV_E_PARSE;
    }
    if (meta->station_column[0]) {
        machine->station_cell =
            stv_csv_find(&machine->head, machine->header_row, meta->station_column);
        if (machine->station_cell == SIZE_MAX)
            return missing_column(machine, meta->station_column);
    }
    enum stv_status status = STV_OK;
    if (meta->n_columns)
        status = columns_from_meta(machine, meta);
    for (size_t i = 0; !meta->n_columns && i < machine->head.rows[machine->header_row].n_cells; i++)
        column_from_header(machine, i);
    return status == STV_OK ? ask_temperature(machine) : status;
}

struct names {
    char items[STV_META_STATIONS_MAX][STV_MACHINE_NAME];
    size_t n;
};

/* The different names in the station column, in file order; at most STV_META_STATIONS_MAX. */
static void list_stations(const struct stv_machine *machine, struct names *out)
{
    struct stv_lines lines = {
        .text = machine->text->text, .n = machine->text->n, .next = machine->data_at};
    struct stv_line line;
    struct stv_slice cells[STV_META_COLUMNS_MAX];
    size_t cell = machine->station_cell;
    while (cell < STV_META_COLUMNS_MAX && stv_lines_next(&lines, &line)) {
        size_t n = stv_line_cells(line.all, machine->head.delimiter, cells, cell + 1);
        if (n <= cell || cells[cell].n == 0 || line.all.text[0] == '#')
            continue;
        size_t i = out->n; /* backwards: rows of one station stand together */
        while (i > 0 && !stv_slice_is(cells[cell], out->items[i - 1]))
            i--;
        if (i == 0 && out->n < STV_META_STATIONS_MAX)
            stv_slice_copy(cells[cell], out->items[out->n++], STV_MACHINE_NAME);
    }
}

static enum stv_status refuse_station(const struct stv_machine *machine, const char *wanted,
                                      const char *const *names, size_t n)
{
    char list[WHY_MAX] = "";
    const char *nearest = *wanted ? stv_nearest_word(wanted, names, n) : NULL;
    for (size_t i = 0; i < n && i < NAMES_LISTED; i++) {
        size_t used = strlen(list);
        snprintf(list + used, sizeof list - used, "%s%s", i ? ", " : "", names[i]);
    }
    if (n == 0)
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, wanted,
                        "the file names no stations; leave the station out");
    else if (nearest)
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, wanted,
                        "no such station; did you mean %s? The file has: %s", nearest, list);
    else
        stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, wanted,
                        "%s The file has: %s%s",
                        *wanted ? "no such station." : "several stations; say which.", list,
                        n > NAMES_LISTED ? ", and more" : "");
    return STV_E_USAGE;
}

enum stv_status stv__weather_station(struct stv_machine *machine,
                                     const struct stv_weather_meta *meta, const char *wanted)
{
    struct names *listed = calloc(1, sizeof *listed);
    const char *names[STV_META_STATIONS_MAX] = {NULL};
    size_t n = 0;
    enum stv_status status = STV_OK;
    if (!listed)
        return STV_E_MEMORY;
    machine->station[0] = '\0';
    if (machine->station_cell != STV_NO_CELL) {
        list_stations(machine, listed);
        for (; n < listed->n; n++)
            names[n] = listed->items[n];
    } else {
        for (; n < meta->n_stations; n++)
            names[n] = meta->stations[n].name;
    }
    size_t i = 0;
    while (*wanted && i < n && strcasecmp(names[i], wanted) != 0)
        i++;
    if (i < n && (*wanted || n == 1))
        snprintf(machine->station, sizeof machine->station, "%s", names[i]);
    else if (*wanted || n > 1)
        status = refuse_station(machine, wanted, names, n);
    free(listed);
    return status;
}
