/* The header is read once: each column's place, unit and number style.  Then cells are converted
 * one by one by the same strict rules as in the book's YAML. */
#include "ingest/table.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define WHY_MAX 192
#define NAME_MAX_BYTES 64
#define CELL_MAX 96 /* longest text that can be a quantity */

static const char *raw_cell(const struct stv_table *table, size_t row, size_t column)
{
    return stv_csv_text(&table->csv, row, table->index[column]);
}

static bool says_nothing(const char *text)
{
    return !text[0] || strcmp(text, "-") == 0;
}

/* Character column of a cell; a cell beyond the row's end has none. */
static size_t place_of(const struct stv_table *table, size_t row, size_t index)
{
    const struct stv_csv_row *at = &table->csv.rows[row];
    return index < at->n_cells ? table->csv.cells[at->first_cell + index].column : 0;
}

__attribute__((format(printf, 4, 5))) static void refuse_at(struct stv_table *table, size_t row,
                                                            size_t index, const char *format, ...)
{
    char text[256];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    stv_problem_add(table->problems, STV_REFUSED, table->spec.file, table->csv.rows[row].line,
                    place_of(table, row, index), stv_csv_text(&table->csv, row, index), "%s", text);
}

void stv_table_refuse(struct stv_table *table, size_t column, const char *format, ...)
{
    char text[256];
    table->row_is_refused = true;
    if (table->row_is_garbled)
        return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    refuse_at(table, table->row, table->index[column], "%s: %s", table->spec.columns[column].name,
              text);
}

/* "litres [L]" into its name and, when it has one, its unit. */
static bool split_header(const char *text, char name[NAME_MAX_BYTES], char unit[STV_TABLE_UNIT_MAX])
{
    const char *open = strchr(text, '[');
    size_t n_name = open ? (size_t)(open - text) : strlen(text);
    while (n_name > 0 && text[n_name - 1] == ' ')
        n_name--;
    name[0] = unit[0] = '\0';
    if (n_name >= NAME_MAX_BYTES)
        return false;
    memcpy(name, text, n_name);
    name[n_name] = '\0';
    if (!open)
        return true;
    const char *close = strchr(open, ']');
    size_t n_unit = close ? (size_t)(close - open) - 1 : 0;
    if (!close || close[1] || n_unit == 0 || n_unit >= STV_TABLE_UNIT_MAX)
        return false;
    memcpy(unit, open + 1, n_unit);
    unit[n_unit] = '\0';
    return true;
}

size_t stv_table_column(const struct stv_table *table, const char *name)
{
    for (size_t i = 0; i < table->spec.n_columns; i++)
        if (strcasecmp(table->spec.columns[i].name, name) == 0)
            return i;
    return SIZE_MAX;
}

static void refuse_column_name(struct stv_table *table, size_t index, const char *name)
{
    const char *known[STV_TABLE_COLUMNS_MAX];
    char list[160] = "";
    size_t used = 0;
    for (size_t i = 0; i < table->spec.n_columns; i++) {
        known[i] = table->spec.columns[i].name;
        if (used + strlen(known[i]) + 3 < sizeof list)
            used += (size_t)snprintf(list + used, sizeof list - used, "%s%s", used ? ", " : "",
                                     known[i]);
    }
    const char *nearest = stv_nearest_word(name, known, table->spec.n_columns);
    if (nearest)
        refuse_at(table, 0, index, "is not a column known here: did you mean \"%s\"?", nearest);
    else
        refuse_at(table, 0, index, "is not a column known here; known: %s", list);
}

static void take_header_cell(struct stv_table *table, size_t index)
{
    const char *text = stv_csv_text(&table->csv, 0, index);
    char name[NAME_MAX_BYTES], unit[STV_TABLE_UNIT_MAX], why[WHY_MAX];
    if (!text[0])
        return; /* a spreadsheet's spare column; anything in it is caught as a cell */
    bool is_well_written = split_header(text, name, unit);
    size_t column = stv_table_column(table, name);
    if (!is_well_written)
        refuse_at(table, 0, index,
                  "is not a column's name with a unit in brackets: write it like litres [L]");
    else if (column == SIZE_MAX)
        refuse_column_name(table, index, name);
    if (column == SIZE_MAX)
        return;
    if (table->index[column] != SIZE_MAX) {
        refuse_at(table, 0, index, "is a second column of this name: keep one of the two");
        return;
    }
    table->index[column] = index;
    enum stv_dimension dimension = table->spec.columns[column].dimension;
    if (unit[0] && dimension == STV_DIM_N)
        refuse_at(table, 0, index, "takes no unit: leave the brackets out");
    else if (unit[0] && !stv_unit_fits(unit, dimension, why, sizeof why))
        refuse_at(table, 0, index, "%s", why);
    else
        memcpy(table->unit[column], unit, sizeof unit);
}

static void check_header(struct stv_table *table)
{
    for (size_t i = 0; i < STV_TABLE_COLUMNS_MAX; i++)
        table->index[i] = SIZE_MAX;
    for (size_t i = 0; i < table->csv.rows[0].n_cells; i++)
        take_header_cell(table, i);
    for (size_t i = 0; i < table->spec.n_columns; i++)
        if (table->spec.columns[i].is_required && table->index[i] == SIZE_MAX)
            stv_problem_add(table->problems, STV_REFUSED, table->spec.file, table->csv.rows[0].line,
                            0, NULL, "the column \"%s\" is missing from the first row",
                            table->spec.columns[i].name);
}

enum comma_style { NO_COMMA, THOUSANDS_OR_DECIMAL, DECIMAL, HAS_POINT };

/* How a cell's number uses commas and points; what is not a number has none. */
static enum comma_style comma_style_of(const char *text)
{
    size_t at = text[0] == '-' || text[0] == '+';
    size_t n_before = strspn(text + at, "0123456789");
    at += n_before;
    if (n_before == 0 || (text[at] != ',' && text[at] != '.'))
        return NO_COMMA;
    if (text[at] == '.')
        return HAS_POINT;
    size_t n_after = strspn(text + at + 1, "0123456789");
    if (n_after == 0)
        return NO_COMMA;
    bool may_be_thousands = n_after == 3 && n_before <= 3 && text[at - n_before] != '0';
    return may_be_thousands ? THOUSANDS_OR_DECIMAL : DECIMAL;
}

/* A decimal comma is believed when the whole column writes it so and some cell leaves no doubt. */
static void judge_commas(struct stv_table *table, size_t column)
{
    size_t n_of[4] = {0};
    for (size_t row = 1; row < table->csv.n_rows; row++)
        n_of[comma_style_of(raw_cell(table, row, column))]++;
    if (n_of[DECIMAL] == 0 || n_of[HAS_POINT] > 0)
        return;
    table->has_decimal_comma[column] = true;
    size_t index = table->index[column];
    stv_problem_add(table->problems, STV_NOTED, table->spec.file, table->csv.rows[0].line,
                    place_of(table, 0, index), stv_csv_text(&table->csv, 0, index),
                    "the numbers of this column are read with a decimal comma");
}

enum stv_status stv_table_open(const char *path, struct stv_table_spec spec,
                               struct stv_problems *problems, struct stv_table *out)
{
    *out = (struct stv_table){.spec = spec, .problems = problems};
    char why[WHY_MAX];
    enum stv_status status = stv_csv_read(path, &out->csv, why, sizeof why);
    if (status != STV_OK) {
        stv_problem_add(problems, STV_REFUSED, spec.file, 0, 0, NULL, "%s", why);
        return status;
    }
    if (out->csv.bad_utf8_line)
        stv_problem_add(problems, STV_REFUSED, spec.file, out->csv.bad_utf8_line,
                        out->csv.bad_utf8_column, NULL,
                        "has a letter that is not UTF-8: save the file again as \"CSV UTF-8\"");
    check_header(out);
    for (size_t i = 0; i < spec.n_columns && out->csv.delimiter != ','; i++)
        if (spec.columns[i].dimension != STV_DIM_N && out->index[i] != SIZE_MAX)
            judge_commas(out, i);
    return STV_OK;
}

void stv_table_free(struct stv_table *table)
{
    if (table)
        stv_csv_free(&table->csv);
}

static bool row_says_nothing(const struct stv_csv *csv, size_t row)
{
    for (size_t i = 0; i < csv->rows[row].n_cells; i++)
        if (stv_csv_text(csv, row, i)[0])
            return false;
    return true;
}

/* Index of the first cell that no column of the header stands above; SIZE_MAX when there is none.
 * An unknown column was refused with the header and is not repeated row by row. */
static size_t homeless_cell(const struct stv_csv *csv, size_t row)
{
    for (size_t i = 0; i < csv->rows[row].n_cells; i++)
        if (stv_csv_text(csv, row, i)[0] && !stv_csv_text(csv, 0, i)[0])
            return i;
    return SIZE_MAX;
}

static size_t cell_with_line_end(const struct stv_csv *csv, size_t row)
{
    for (size_t i = 0; i < csv->rows[row].n_cells; i++)
        if (strpbrk(stv_csv_text(csv, row, i), "\r\n"))
            return i;
    return SIZE_MAX;
}

/* Index of a cell that looks like the part before a decimal comma, "0" of "0,2 L"; SIZE_MAX when
 * there is none. */
static size_t cell_before_comma(const struct stv_table *table, size_t row)
{
    static const char digits[] = "0123456789";
    const struct stv_csv *csv = &table->csv;
    for (size_t column = 0; column < table->spec.n_columns; column++) {
        size_t index = table->index[column];
        if (table->spec.columns[column].dimension == STV_DIM_N || index == SIZE_MAX)
            continue;
        const char *text = stv_csv_text(csv, row, index);
        const char *next = stv_csv_text(csv, row, index + 1);
        if (text[0] && !text[strspn(text, digits)] && strspn(next, digits) > 0)
            return index;
    }
    return SIZE_MAX;
}

/* A row whose cells do not stand under their columns is refused once, and not cell by cell. */
static void check_row_shape(struct stv_table *table)
{
    const struct stv_csv *csv = &table->csv;
    const struct stv_csv_row *row = &csv->rows[table->row];
    size_t n_wanted = csv->rows[0].n_cells;
    size_t homeless = homeless_cell(csv, table->row);
    size_t broken = cell_with_line_end(csv, table->row);
    size_t comma = row->n_cells > n_wanted ? cell_before_comma(table, table->row) : SIZE_MAX;
    bool is_cut = !row->has_line_end && row->n_cells < n_wanted;
    if (is_cut)
        refuse_at(table, table->row, row->n_cells - 1,
                  "the file ends inside this row, after %zu of %zu cells: is it cut short?",
                  row->n_cells, n_wanted);
    else if (broken != SIZE_MAX)
        refuse_at(table, table->row, broken, "holds a line end: write the cell on one line");
    else if (comma != SIZE_MAX)
        refuse_at(table, table->row, comma,
                  "has a decimal comma, which parts cells here: write \"%s.%s\" with a point",
                  stv_csv_text(csv, table->row, comma), stv_csv_text(csv, table->row, comma + 1));
    else if (homeless != SIZE_MAX)
        refuse_at(
            table, table->row, homeless,
            "has no column above it: put a text that holds the \"%s\" between cells in quotes",
            csv->delimiter == '\t'  ? "tab"
            : csv->delimiter == ';' ? ";"
                                    : ",");
    else
        return;
    table->row_is_garbled = table->row_is_refused = true;
}

bool stv_table_next(struct stv_table *table)
{
    do
        table->row++;
    while (table->row < table->csv.n_rows && row_says_nothing(&table->csv, table->row));
    if (table->row >= table->csv.n_rows)
        return false;
    table->row_is_garbled = table->row_is_refused = false;
    check_row_shape(table);
    return true;
}

size_t stv_table_line(const struct stv_table *table)
{
    return table->csv.rows[table->row].line;
}

bool stv_table_has(const struct stv_table *table, size_t column)
{
    return !says_nothing(raw_cell(table, table->row, column));
}

bool stv_table_need(struct stv_table *table, size_t column, const char *what)
{
    if (stv_table_has(table, column))
        return true;
    /* A missing column that every table needs was said with the header. */
    if (table->index[column] != SIZE_MAX)
        stv_table_refuse(table, column, "says nothing: write %s", what);
    else if (!table->spec.columns[column].is_required && !table->row_is_garbled)
        refuse_at(table, table->row, SIZE_MAX, "a column \"%s\" is needed here: write %s",
                  table->spec.columns[column].name, what);
    table->row_is_refused = true;
    return false;
}

bool stv_table_text(struct stv_table *table, size_t column, char *buffer, size_t size)
{
    const char *text = raw_cell(table, table->row, column);
    if (says_nothing(text))
        return false;
    size_t n = strlen(text);
    if (n >= size) {
        stv_table_refuse(table, column, "is too long: at most %zu letters", size - 1);
        return false;
    }
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)text[i] < ' ') {
            stv_table_refuse(table, column, "has a control character in it: type it again");
            return false;
        }
    memcpy(buffer, text, n + 1);
    return true;
}

/* The unit when a cell has none: the header's, else the book's. */
static const char *default_unit(const struct stv_table *table, size_t column)
{
    if (table->unit[column][0])
        return table->unit[column];
    return table->spec.units ? table->spec.units[table->spec.columns[column].dimension] : NULL;
}

bool stv_table_quantity(struct stv_table *table, size_t column, double least, double most,
                        double *out)
{
    enum stv_dimension dimension = table->spec.columns[column].dimension;
    char text[CELL_MAX], why[WHY_MAX], range[WHY_MAX];
    double value = NAN;
    if (!stv_table_text(table, column, text, sizeof text))
        return false;
    char *comma = table->has_decimal_comma[column] ? strchr(text, ',') : NULL;
    if (comma)
        *comma = '.';
    if (stv_quantity_parse(text, dimension, default_unit(table, column), &value, why, sizeof why) !=
        STV_OK) {
        bool may_be_comma = table->csv.delimiter == ',' && table->index[column] != SIZE_MAX &&
                            cell_before_comma(table, table->row) == table->index[column];
        stv_table_refuse(table, column, "%s%s", why,
                         may_be_comma ? "; if it is a decimal comma, write a point" : "");
        return false;
    }
    if (!(value >= least && value <= most)) {
        stv_range_text(dimension, least, most, range, sizeof range);
        stv_table_refuse(table, column, "is outside %s", range);
        return false;
    }
    *out = value;
    return true;
}

bool stv_table_count(struct stv_table *table, size_t column, const size_t range[2], size_t *out)
{
    const char *text = raw_cell(table, table->row, column);
    char why[WHY_MAX];
    if (says_nothing(text))
        return false;
    bool is_good = stv_count_parse(text, range, out, why, sizeof why) == STV_OK;
    if (!is_good)
        stv_table_refuse(table, column, "%s", why);
    return is_good;
}

bool stv_table_flag(struct stv_table *table, size_t column, bool *out)
{
    static const char *const words[] = {"yes", "no"};
    size_t index = 0;
    bool is_said = stv_table_word(table, column, words, 2, &index);
    if (is_said)
        *out = index == 0;
    return is_said;
}

bool stv_table_date(struct stv_table *table, size_t column, int64_t *out_day_d)
{
    const char *text = raw_cell(table, table->row, column);
    char why[WHY_MAX];
    if (says_nothing(text))
        return false;
    bool is_good = stv_date_parse(text, out_day_d, why, sizeof why) == STV_OK;
    if (!is_good)
        stv_table_refuse(table, column, "%s", why);
    return is_good;
}

bool stv_table_word(struct stv_table *table, size_t column, const char *const *words, size_t n,
                    size_t *out)
{
    const char *text = raw_cell(table, table->row, column);
    char why[WHY_MAX];
    if (says_nothing(text))
        return false;
    for (size_t i = 0; i < n; i++)
        if (strcasecmp(text, words[i]) == 0) {
            *out = i;
            return true;
        }
    stv_word_advice(text, words, n, why, sizeof why);
    stv_table_refuse(table, column, "%s", why);
    return false;
}
