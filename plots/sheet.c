/* Cells in one growing array.  The same cells become the CSV file beside a chart, the table in
 * place of a chart that could not be drawn, and the tables of the report, so that the three can
 * never say different things.  Nothing is computed here. */
#include "plots/sheet.h"

#include "plots/quote.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define FIRST_ROOM 64
#define EN_DASH "\xE2\x80\x93"
#define SHORT_CELL_BYTES 16 /* a word up to this long is never parted, such as a month */
#define LONG_TABLE_ROWS 400
#define ROW_PX 25u         /* of a row of one line, for the scroll bar before it is laid out */
#define LONG_WORD_BYTES 24 /* a longer one may be, so that the table fits a sheet of paper */

static void add_cell(struct stv_sheet *table, struct stv_cell cell)
{
    if (!table->has_failed && table->n_cells == table->room) {
        size_t room = table->room == 0 ? FIRST_ROOM : 2 * table->room;
        struct stv_cell *cells = realloc(table->cells, room * sizeof *cells);
        if (cells != NULL) {
            table->cells = cells;
            table->room = room;
        } else {
            table->has_failed = true;
        }
    }
    if (table->has_failed) {
        free(cell.text);
        return;
    }
    table->cells[table->n_cells++] = cell;
}

void stv_sheet_add_text(struct stv_sheet *table, const char *text)
{
    char *copy = strdup(text == NULL ? "" : text);
    if (copy == NULL) {
        table->has_failed = true;
        return;
    }
    add_cell(table, (struct stv_cell){.text = copy, .value = NAN});
}

void stv_sheet_add_number(struct stv_sheet *table, double value, int n_decimals)
{
    add_cell(table, (struct stv_cell){.value = value, .n_decimals = n_decimals});
}

void stv_sheet_heads(struct stv_sheet *table, const char *const *heads, size_t n)
{
    for (size_t i = 0; i < n; i++)
        stv_sheet_add_text(table, heads[i]);
    table->n_columns = n;
}

void stv_sheet_add_range(struct stv_sheet *table, struct stv_range range, int n_decimals)
{
    if (!isfinite(range.p50)) {
        stv_sheet_add_text(table, "");
        return;
    }
    struct stv_text text = {0};
    stv_text_add_number(&text, range.p50, n_decimals);
    if (range.p95 > range.p05) {
        stv_text_add(&text, " (");
        stv_text_add_number(&text, range.p05, n_decimals);
        stv_text_add(&text, range.p05 < 0.0 ? " to " : EN_DASH);
        stv_text_add_number(&text, range.p95, n_decimals);
        stv_text_add(&text, ")");
    }
    stv_sheet_add_text(table, stv_text_string(&text));
    table->has_failed = table->has_failed || text.has_failed;
    stv_text_free(&text);
}

void stv_sheet_add_range_cells(struct stv_sheet *table, struct stv_range range, int n_decimals)
{
    stv_sheet_add_number(table, range.p05, n_decimals);
    stv_sheet_add_number(table, range.p25, n_decimals);
    stv_sheet_add_number(table, range.p50, n_decimals);
    stv_sheet_add_number(table, range.p75, n_decimals);
    stv_sheet_add_number(table, range.p95, n_decimals);
}

size_t stv_sheet_n_rows(const struct stv_sheet *table)
{
    return table->n_columns == 0 ? 0 : table->n_cells / table->n_columns - 1;
}

void stv_sheet_csv(const struct stv_sheet *table, struct stv_text *out)
{
    for (size_t i = 0; i < table->n_cells; i++) {
        const struct stv_cell *cell = &table->cells[i];
        if (cell->text != NULL)
            stv_quote_csv(out, cell->text, STV_QUOTE_MAX_CHARS);
        else if (isfinite(cell->value))
            stv_text_add_exact(out, cell->value);
        stv_text_add(out, (i + 1) % table->n_columns == 0 ? "\n" : ",");
    }
    if (table->has_failed)
        out->has_failed = true;
}

/* Short words such as "2028-10" would be parted at the dash in a narrow column. */
static bool is_short_word(const struct stv_cell *cell)
{
    return cell->text != NULL && strchr(cell->text, ' ') == NULL &&
           strlen(cell->text) <= SHORT_CELL_BYTES;
}

static bool has_long_word(const struct stv_cell *cell)
{
    size_t n = 0, n_most = 0;
    for (const char *p = cell->text; p != NULL && *p != '\0'; p++) {
        n = *p == ' ' ? 0 : n + 1;
        n_most = n > n_most ? n : n_most;
    }
    return n_most > LONG_WORD_BYTES;
}

/* The head of a row stands on one line unless it is long: then it may be parted anywhere, for a
 * column as wide as the longest name would leave the others none. */
static void add_html_cell(const struct stv_cell *cell, const char *tag, struct stv_text *out)
{
    bool is_long_head =
        tag[0] == 't' && tag[1] == 'h' && cell->text && strlen(cell->text) > LONG_WORD_BYTES;
    const char *css_class = is_short_word(cell)                   ? " class=\"word\""
                            : has_long_word(cell) || is_long_head ? " class=\"long\""
                                                                  : "";
    stv_text_format(out, "<%s%s>", tag, css_class);
    if (cell->text != NULL)
        stv_quote_html(out, cell->text, STV_QUOTE_MAX_CHARS);
    else if (isfinite(cell->value))
        stv_text_add_number(out, cell->value, cell->n_decimals);
    stv_text_format(out, "</%.2s>", tag);
}

void stv_sheet_html(const struct stv_sheet *table, const char *caption, struct stv_text *out)
{
    /* A browser lays a long table out when it comes into sight. */
    if (stv_sheet_n_rows(table) > LONG_TABLE_ROWS)
        stv_text_format(out,
                        "<div class=\"wide far\" style=\"contain-intrinsic-size:auto %zupx\">"
                        "<table>\n<caption>",
                        ROW_PX * stv_sheet_n_rows(table));
    else
        stv_text_add(out, "<div class=\"wide\"><table>\n<caption>");
    stv_quote_html(out, caption, STV_QUOTE_MAX_CHARS);
    stv_text_add(out, "</caption>\n<thead>\n");
    for (size_t i = 0; i < table->n_cells; i++) {
        size_t column = i % table->n_columns;
        bool is_head = i < table->n_columns;
        if (column == 0)
            stv_text_add(out, "<tr>");
        const char *tag = is_head ? "th scope=\"col\"" : column == 0 ? "th scope=\"row\"" : "td";
        add_html_cell(&table->cells[i], tag, out);
        if (column + 1 == table->n_columns)
            stv_text_add(out, is_head ? "</tr>\n</thead>\n<tbody>\n" : "</tr>\n");
    }
    stv_text_add(out, "</tbody>\n</table></div>\n");
    if (table->has_failed)
        out->has_failed = true;
}

void stv_sheet_free(struct stv_sheet *table)
{
    for (size_t i = 0; i < table->n_cells; i++)
        free(table->cells[i].text);
    free(table->cells);
    *table = (struct stv_sheet){0};
}
