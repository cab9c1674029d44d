/* A table of texts and numbers, written once and shown as CSV and as HTML. */
#ifndef STV_PLOTS_SHEET_H
#define STV_PLOTS_SHEET_H

#include "model/quantiles.h"
#include "plots/text.h"

#include <stdbool.h>
#include <stddef.h>

struct stv_cell {
    char *text; /* NULL: a number */
    double value;
    int n_decimals; /* of the number in HTML; CSV has 9 significant digits */
};

/* Row-major cells, the first row being the heads.  Start with all members zero. */
struct stv_sheet {
    struct stv_cell *cells;
    size_t n_cells, room, n_columns;
    bool has_failed; /* memory ran out: later additions do nothing */
};

/* Sets the heads; called once, first. */
void stv_sheet_heads(struct stv_sheet *table, const char *const *heads, size_t n);

/* Adds the next cell.  Texts are kept as they are and quoted when shown; NULL reads as "".
 * A number that is not finite shows as an empty cell. */
void stv_sheet_add_text(struct stv_sheet *table, const char *text);
void stv_sheet_add_number(struct stv_sheet *table, double value, int n_decimals);

/* Adds a range as one cell for people: the middle, and from 5 to 95 % in brackets with a dash
 * ("184 (179-190)"), or "to" where a minus sign could be misread; "184" when it has no width. */
void stv_sheet_add_range(struct stv_sheet *table, struct stv_range range, int n_decimals);

/* Adds the five numbers of a range as five cells. */
void stv_sheet_add_range_cells(struct stv_sheet *table, struct stv_range range, int n_decimals);

/* Rows without the heads. */
size_t stv_sheet_n_rows(const struct stv_sheet *table);

/* Adds the table as CSV (RFC 4180, but line ends \n) or as one HTML table whose first column is
 * the head of its row.  caption is quoted here. */
void stv_sheet_csv(const struct stv_sheet *table, struct stv_text *out);
void stv_sheet_html(const struct stv_sheet *table, const char *caption, struct stv_text *out);

/* Gives the memory back and makes the table empty again. */
void stv_sheet_free(struct stv_sheet *table);

#endif
