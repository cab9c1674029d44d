/* Rows that name a place which a warehouse has not: mostly the book.yaml is short of tiers or bays,
 * so that all rows of a table come to one finding for each warehouse and kind of place. */
#include "ingest/book_parts.h"
#include "ingest/table_parts.h"

#include <stdio.h>

#define BEYOND_TEXT 192

void stv__beyond_note(struct stv__book_reader *reader, struct stv_table *table, size_t column,
                      const struct stv__beyond *found)
{
    size_t i = 0;
    table->row_is_refused = true;
    if (table->row_is_garbled)
        return;
    while (i < reader->n_beyond &&
           (reader->beyond[i].column != column || reader->beyond[i].warehouse != found->warehouse))
        i++;
    if (i == STV__BEYOND_MOST) { /* more kinds than any book has: each by itself */
        stv_table_refuse(table, column, "%s has only %zu", found->warehouse, found->n_there);
        return;
    }
    struct stv__beyond *beyond = &reader->beyond[i];
    if (i == reader->n_beyond) {
        *beyond = *found;
        beyond->column = column;
        beyond->n_rows = 0;
        beyond->place = stv__table_place(table, table->row, table->index[column]);
        reader->n_beyond++;
    }
    if (beyond->n_rows < STV__BEYOND_ROWS)
        beyond->rows[beyond->n_rows] = stv_table_line(table);
    beyond->n_rows++;
    if (found->number > beyond->most)
        beyond->most = found->number;
}

static void say(const struct stv_table *table, const struct stv__beyond *beyond)
{
    const char *name = table->spec.columns[beyond->column].name;
    char rows[BEYOND_TEXT] = "", found[24];
    size_t used = 0,
           n_listed = beyond->n_rows < STV__BEYOND_ROWS ? beyond->n_rows : STV__BEYOND_ROWS;
    for (size_t i = 0; i < n_listed && beyond->n_rows > 1; i++)
        used += (size_t)snprintf(rows + used, sizeof rows - used, "%s%zu", i ? ", " : "",
                                 beyond->rows[i]);
    snprintf(found, sizeof found, "%zu", beyond->number);
    struct stv_finding finding = {.severity = STV_REFUSED,
                                  .rule = "",
                                  .file = table->spec.file,
                                  .row = beyond->rows[0],
                                  .column = beyond->place,
                                  .count = beyond->n_rows,
                                  .found = found};
    if (beyond->n_rows == 1)
        stv_finding_add(table->problems, &finding,
                        "%s: %s has only %zu: look at the number, or write `%s: %zu` for it in "
                        "book.yaml",
                        name, beyond->warehouse, beyond->n_there, beyond->key, beyond->most);
    else
        stv_finding_add(table->problems, &finding,
                        "%s: %s has only %zu, and %zu rows go beyond it, up to %zu (rows %s%s): "
                        "look at the numbers, or write `%s: %zu` for it in book.yaml",
                        name, beyond->warehouse, beyond->n_there, beyond->n_rows, beyond->most,
                        rows, beyond->n_rows > n_listed ? " ..." : "", beyond->key, beyond->most);
}

void stv__beyond_say(struct stv__book_reader *reader, const struct stv_table *table)
{
    for (size_t i = 0; i < reader->n_beyond; i++)
        say(table, &reader->beyond[i]);
    reader->n_beyond = 0;
}
