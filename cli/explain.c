/* The same table as --csv, so that it cannot say anything else. */
#include "cli/explain.h"

#include "cli/prose.h"

#include <math.h>
#include <string.h>

enum { RANGE_N = 5, RANGE_MIDDLE = 2, DIGITS = 5 };

static const struct stv_cell *cell_at(const struct stv_sheet *table, size_t row, size_t column)
{
    return &table->cells[row * table->n_columns + column];
}

static bool is_empty(const struct stv_cell *cell)
{
    return cell->text ? cell->text[0] == '\0' : !isfinite(cell->value);
}

/* Length of the name before _p05 where the five columns of a range begin; 0 elsewhere. */
static size_t range_name(const struct stv_sheet *table, size_t column)
{
    static const char *const ends[RANGE_N] = {"_p05", "_p25", "_p50", "_p75", "_p95"};
    if (column + RANGE_N > table->n_columns)
        return 0;
    size_t length = strlen(cell_at(table, 0, column)->text);
    length = length > strlen(ends[0]) ? length - strlen(ends[0]) : 0;
    for (size_t k = 0; k < RANGE_N; k++) {
        const char *head = cell_at(table, 0, column + k)->text;
        if (strlen(head) != length + strlen(ends[k]) || strcmp(head + length, ends[k]) != 0)
            return 0;
    }
    return length;
}

static void add_value(struct stv_text *out, const struct stv_cell *cell)
{
    if (cell->text)
        stv_prose_add(out, " %s", cell->text);
    else
        stv_prose_add(out, " %.*g", DIGITS, cell->value);
}

/* Adds one cell or range with its name; returns how many columns it took. */
static size_t add_cell(struct stv_text *out, const struct stv_sheet *table, size_t row,
                       size_t column)
{
    size_t length = range_name(table, column);
    const struct stv_cell *cell = cell_at(table, row, column);
    const char *separator = out->n ? "; " : "";
    const char *head = cell_at(table, 0, column)->text;
    if (length == 0) {
        if (is_empty(cell))
            return 1;
        stv_prose_add(out, "%s%s", separator, head);
        add_value(out, cell);
        return 1;
    }
    if (is_empty(&cell[RANGE_MIDDLE]))
        return RANGE_N;
    stv_prose_add(out, "%s%.*s", separator, (int)length, head);
    add_value(out, &cell[RANGE_MIDDLE]);
    if (cell[0].value != cell[RANGE_N - 1].value)
        stv_prose_add(out, " (%.*g to %.*g)", DIGITS, cell[0].value, DIGITS,
                      cell[RANGE_N - 1].value);
    return RANGE_N;
}

void stv_explain(struct stv_text *text, const struct stv_sheet *table)
{
    stv_text_add(text, "\n");
    stv_prose_heading(text, "The numbers behind");
    for (size_t row = 1; row <= stv_sheet_n_rows(table); row++) {
        struct stv_text line = {0};
        for (size_t column = 0; column < table->n_columns;)
            column += add_cell(&line, table, row, column);
        stv_prose_wrap(text, 2, "%s", stv_text_string(&line));
        text->has_failed = text->has_failed || line.has_failed;
        stv_text_free(&line);
    }
    text->has_failed = text->has_failed || table->has_failed;
}
