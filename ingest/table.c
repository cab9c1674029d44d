/* Cells are converted one by one by the same strict rules as in the book's YAML; what a
 * spreadsheet did to one is named before anything else is said of it.  What this does not do: read
 * the header (table_open.c). */
#include "ingest/table.h"

#include "ingest/table_parts.h"
#include "ingest/typed_damage.h"

#include <ctype.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define WHY_MAX 320
#define MESSAGE_MAX 400
#define CELL_MAX 96 /* longest text that can be a quantity */

static const char *raw_cell(const struct stv_table *table, size_t row, size_t column)
{
    return stv_csv_text(&table->csv, row, table->index[column]);
}

static bool says_nothing(const char *text)
{
    return !text[0] || strcmp(text, "-") == 0;
}

size_t stv__table_place(const struct stv_table *table, size_t row, size_t index)
{
    const struct stv_csv_row *at = &table->csv.rows[row];
    return index < at->n_cells ? table->csv.cells[at->first_cell + index].column : 0;
}

void stv__table_say(struct stv_table *table, enum stv_severity severity, size_t row, size_t index,
                    const char *format, ...)
{
    char text[MESSAGE_MAX];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    stv_problem_add(table->problems, severity, table->spec.file, table->csv.rows[row].line,
                    stv__table_place(table, row, index), stv_csv_text(&table->csv, row, index),
                    "%s", text);
}

void stv_table_refuse(struct stv_table *table, size_t column, const char *format, ...)
{
    char text[MESSAGE_MAX];
    table->row_is_refused = true;
    if (table->row_is_garbled)
        return;
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    stv__table_say(table, STV_REFUSED, table->row, table->index[column], "%s: %s",
                   table->spec.columns[column].name, text);
}

size_t stv_table_column(const struct stv_table *table, const char *name)
{
    for (size_t i = 0; i < table->spec.n_columns; i++)
        if (strcasecmp(table->spec.columns[i].name, name) == 0)
            return i;
    return SIZE_MAX;
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

/* A cell that begins with a quotation mark and has no other. */
static size_t cell_with_open_quote(const struct stv_csv *csv, size_t row)
{
    for (size_t i = 0; i < csv->rows[row].n_cells; i++) {
        const char *text = stv_csv_text(csv, row, i);
        if (text[0] == '"' && !strchr(text + 1, '"'))
            return i;
    }
    return SIZE_MAX;
}

/* Whether the column of a cell takes the text that stands there once two cells before it are one.
 */
static bool takes_joined(const struct stv_table *table, size_t row, size_t index)
{
    for (size_t column = 0; column < table->spec.n_columns; column++)
        if (table->index[column] == index && table->spec.columns[column].dimension != STV_DIM_N) {
            const char *text = stv_csv_text(&table->csv, row, index + 1);
            return !text[0] || isdigit((unsigned char)text[0]);
        }
    return true;
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
        if (text[0] && !text[strspn(text, digits)] && strspn(next, digits) > 0 &&
            takes_joined(table, row, index + 1))
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
    size_t quote = cell_with_open_quote(csv, table->row);
    size_t comma = row->n_cells > n_wanted ? cell_before_comma(table, table->row) : SIZE_MAX;
    bool is_cut = !row->has_line_end && row->n_cells < n_wanted;
    if (is_cut)
        stv__table_say(table, STV_REFUSED, table->row, row->n_cells - 1,
                       "the file ends inside this row, after %zu of %zu cells: is it cut short?",
                       row->n_cells, n_wanted);
    else if (broken != SIZE_MAX)
        stv__table_say(table, STV_REFUSED, table->row, broken,
                       "holds a line end: is a quote opened in this row and not closed? A cell "
                       "stands on one line");
    else if (quote != SIZE_MAX)
        stv__table_say(table, STV_REFUSED, table->row, quote,
                       "opens with a quotation mark that is never closed: close it, or leave it "
                       "out");
    else if (comma != SIZE_MAX)
        stv__table_say(table, STV_REFUSED, table->row, comma,
                       "has a decimal comma, which parts cells here: write \"%s.%s\" with a point",
                       stv_csv_text(csv, table->row, comma),
                       stv_csv_text(csv, table->row, comma + 1));
    else if (homeless != SIZE_MAX)
        stv__table_say(
            table, STV_REFUSED, table->row, homeless,
            "has no column above it: put a text that holds the \"%s\" between cells in quotes",
            csv->delimiter == '\t'  ? "tab"
            : csv->delimiter == ';' ? ";"
                                    : ",");
    else
        return;
    table->row_is_garbled = table->row_is_refused = true;
}

/* The row that an empty book shows its columns by is no row of the house. */
static void note_example(struct stv_table *table)
{
    size_t column = stv_table_column(table, "note");
    if (column == SIZE_MAX || table->index[column] == SIZE_MAX)
        return;
    if (strcmp(stv_csv_text(&table->csv, table->row, table->index[column]), STV_EXAMPLE_NOTE) == 0)
        stv_table_say(table, STV_NOTED, column,
                      "is the example row of a new book: put your own in its place");
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
    note_example(table);
    return true;
}

size_t stv_table_line(const struct stv_table *table)
{
    return table->csv.rows[table->row].line;
}

void stv_table_go_to(struct stv_table *table, size_t line)
{
    size_t low = 1, high = table->csv.n_rows;
    while (low + 1 < high) {
        size_t middle = low + (high - low) / 2;
        if (table->csv.rows[middle].line <= line)
            low = middle;
        else
            high = middle;
    }
    table->row = low;
    table->row_is_garbled = table->row_is_refused = false;
}

void stv_table_say(struct stv_table *table, enum stv_severity severity, size_t column,
                   const char *format, ...)
{
    char text[MESSAGE_MAX];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    stv__table_say(table, severity, table->row, table->index[column], "%s: %s",
                   table->spec.columns[column].name, text);
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
        stv__table_say(table, STV_REFUSED, table->row, SIZE_MAX,
                       "a column \"%s\" is needed here: write %s", table->spec.columns[column].name,
                       what);
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
    char why[WHY_MAX];
    if (stv_damage_of_text(text, why, sizeof why)) {
        stv_table_refuse(table, column, "%s", why);
        return false;
    }
    memcpy(buffer, text, n + 1);
    return true;
}

const char *stv_table_unit(const struct stv_table *table, size_t column)
{
    if (table->unit[column][0])
        return table->unit[column];
    return table->spec.units ? table->spec.units[table->spec.columns[column].dimension] : NULL;
}

/* "1.950" where commas are decimal, too, may be thousands. */
static bool refuse_two_way_point(struct stv_table *table, size_t column, const char *text)
{
    const char *point = strchr(text, '.');
    bool has_decimal_comma = table->has_decimal_comma[column];
    if (!table->has_commas[column] && !table->writes_decimal_commas)
        return false;
    if (stv__comma_style(text) != STV__POINT_OR_THOUSANDS)
        return false;
    stv_table_refuse(table, column,
                     "has a point that can be read two ways, as there are commas too: write "
                     "\"%.*s%s\" or \"%.*s%c%s\"%s",
                     (int)(point - text), text, point + 1, (int)(point - text), text,
                     has_decimal_comma ? ',' : '.', point + 1,
                     has_decimal_comma ? "" : " in a table without commas in its numbers");
    return true;
}

/* The cell with points for the decimal commas of its column. */
static void with_points(const struct stv_table *table, size_t column, const char *text,
                        char copy[CELL_MAX])
{
    snprintf(copy, CELL_MAX, "%s", text);
    for (char *at = copy; table->has_decimal_comma[column] && *at; at++)
        *at = *at == ',' ? '.' : *at;
}

enum stv_status stv_table_reading(const struct stv_table *table, size_t column, const char *text,
                                  struct stv_measured *out, char *why, size_t size)
{
    char copy[CELL_MAX];
    enum stv_dimension dimension = table->spec.columns[column].dimension;
    bool adds_up = dimension == STV_DIM_MASS || dimension == STV_DIM_VOLUME;
    with_points(table, column, text, copy);
    return (adds_up ? stv_measured_sum_parse : stv_measured_parse)(
        copy, dimension, stv_table_unit(table, column), out, why, size);
}

static enum stv_status plain_reading(const struct stv_table *table, size_t column, const char *text,
                                     struct stv_measured *out, char *why, size_t size)
{
    char copy[CELL_MAX];
    with_points(table, column, text, copy);
    return stv_quantity_parse(copy, table->spec.columns[column].dimension,
                              stv_table_unit(table, column), &out->value, why, size);
}

/* Reads a cell by one of the two above. */
static bool read_number_cell(struct stv_table *table, size_t column, const double range[2],
                             enum stv_status (*read)(const struct stv_table *, size_t, const char *,
                                                     struct stv_measured *, char *, size_t),
                             struct stv_measured *out)
{
    char text[CELL_MAX], why[WHY_MAX], words[WHY_MAX];
    struct stv_measured value = {NAN, NAN, 1};
    if (!stv_table_text(table, column, text, sizeof text) ||
        refuse_two_way_point(table, column, text))
        return false;
    if (stv_damage_of_number(text, table->has_decimal_comma[column], why, sizeof why)) {
        stv_table_refuse(table, column, "%s", why);
        return false;
    }
    if (read(table, column, text, &value, why, sizeof why) != STV_OK) {
        bool may_be_comma = table->csv.delimiter == ',' && table->index[column] != SIZE_MAX &&
                            cell_before_comma(table, table->row) == table->index[column];
        stv_table_refuse(table, column, "%s%s", why,
                         may_be_comma ? "; if it is a decimal comma, write a point" : "");
        return false;
    }
    if (!(value.value >= range[0] && value.value <= range[1])) {
        stv_range_text(table->spec.columns[column].dimension, range[0], range[1], words,
                       sizeof words);
        stv_table_refuse(table, column, "is outside %s", words);
        return false;
    }
    *out = value;
    return true;
}

bool stv_table_quantity(struct stv_table *table, size_t column, double least, double most,
                        double *out)
{
    struct stv_measured value;
    if (!read_number_cell(table, column, (const double[2]){least, most}, plain_reading, &value))
        return false;
    *out = value.value;
    return true;
}

bool stv_table_measured(struct stv_table *table, size_t column, double least, double most,
                        struct stv_measured *out)
{
    if (!read_number_cell(table, column, (const double[2]){least, most}, stv_table_reading, out))
        return false;
    if (out->error == 0.0)
        stv_table_refuse(table, column,
                         "has an error of 0: nothing is measured exactly; write how far off it "
                         "may be, or leave the +- out");
    return out->error != 0.0;
}

bool stv_table_measured_as(const struct stv_table *table, size_t column,
                           enum stv_dimension dimension, struct stv_measured *out)
{
    char copy[CELL_MAX], why[WHY_MAX];
    with_points(table, column, raw_cell(table, table->row, column), copy);
    return stv_measured_parse(copy, dimension, NULL, out, why, sizeof why) == STV_OK;
}

bool stv_table_count(struct stv_table *table, size_t column, const size_t range[2], size_t *out)
{
    const char *text = raw_cell(table, table->row, column);
    char why[WHY_MAX];
    if (says_nothing(text))
        return false;
    /* A count is damaged as a name is: 3-12 for two places in one cell, 12.0, TRUE. */
    bool is_good = !stv_damage_of_id(text, why, sizeof why) &&
                   stv_count_parse(text, range, out, why, sizeof why) == STV_OK;
    if (!is_good)
        stv_table_refuse(table, column, "%s", why);
    return is_good;
}

/* A note that one column gives once. */
static bool is_said_first(struct stv_table *table, size_t column, unsigned note)
{
    bool is_first = !(table->said[column] & note);
    table->said[column] |= note;
    return is_first;
}

bool stv_table_flag(struct stv_table *table, size_t column, bool *out)
{
    static const char *const words[] = {"yes", "no"};
    const char *text = raw_cell(table, table->row, column);
    size_t index = 0;
    bool is_true = strcasecmp(text, "TRUE") == 0;
    if (is_true || strcasecmp(text, "FALSE") == 0) {
        *out = is_true;
        if (is_said_first(table, column, STV__SAID_TRUTH))
            stv_table_say(
                table, STV_NOTED, column,
                "is what a spreadsheet makes of a ticked box: TRUE is read as yes and FALSE "
                "as no, here and below");
        return true;
    }
    bool is_said = stv_table_word(table, column, words, 2, &index);
    if (is_said)
        *out = index == 0;
    return is_said;
}

/* The order of day and month in a column's dates, decided by all its cells and said once, at the
 * cell that decides. */
static enum stv_date_order order_of(struct stv_table *table, size_t column)
{
    if (!is_said_first(table, column, STV__SAID_ORDER))
        return table->date_order[column];
    enum stv_date_order order = STV_ORDER_OPEN;
    size_t decided_row = 0;
    for (size_t row = 1; row < table->csv.n_rows; row++) {
        enum stv_date_order said = stv_date_typed_order(raw_cell(table, row, column));
        if (said == STV_ORDER_OPEN || said == order)
            continue;
        order = order == STV_ORDER_OPEN ? said : STV_ORDER_BOTH;
        if (decided_row == 0)
            decided_row = row;
    }
    if (order == STV_ORDER_DAY_FIRST || order == STV_ORDER_MONTH_FIRST)
        stv__table_say(table, STV_NOTED, decided_row, table->index[column],
                       "%s: the dates of this column that end in the year are read %s first, as "
                       "this one can be nothing else",
                       table->spec.columns[column].name,
                       order == STV_ORDER_DAY_FIRST ? "day" : "month");
    table->date_order[column] = order;
    return order;
}

static bool read_date(struct stv_table *table, size_t column, struct stv_date_typed *out)
{
    const char *text = raw_cell(table, table->row, column);
    char why[WHY_MAX];
    if (says_nothing(text))
        return false;
    bool is_good = !stv_damage_of_cell(text, why, sizeof why) &&
                   stv_date_typed_read(text, order_of(table, column), table->spec.side, out, why,
                                       sizeof why) == STV_OK;
    if (!is_good)
        stv_table_refuse(table, column, "%s", why);
    return is_good;
}

bool stv_table_date(struct stv_table *table, size_t column, int64_t *out_day_d)
{
    struct stv_date_typed date;
    if (!read_date(table, column, &date))
        return false;
    if (date.width_d > 0.0) {
        stv_table_refuse(table, column,
                         "does not say the day, which is needed here: write it like "
                         "2024-03-14");
        return false;
    }
    *out_day_d = date.day_d;
    return true;
}

bool stv_table_vague_date(struct stv_table *table, size_t column, int64_t *out_day_d,
                          double *out_width_d)
{
    char words[STV_DATE_WORDS];
    struct stv_date_typed date;
    if (!read_date(table, column, &date))
        return false;
    *out_day_d = date.day_d;
    *out_width_d = date.width_d;
    stv_date_words(date.day_d, words, sizeof words);
    if (date.width_d > 0.0)
        stv_table_say(table, STV_NOTED, column, "taken as %s, give or take %g days", words,
                      date.width_d);
    return true;
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
    if (!stv_damage_of_cell(text, why, sizeof why))
        stv_word_advice(text, words, n, why, sizeof why);
    stv_table_refuse(table, column, "%s", why);
    return false;
}
