/* Reads a CSV text of ours back into cells, for the tests that compare it with what it was made
 * from.  Lines end in \n; texts are quoted, numbers are not. */
#ifndef STV_TESTS_CSV_CELLS_H
#define STV_TESTS_CSV_CELLS_H

#include "tests/check.h"

#include <stdlib.h>
#include <string.h>

struct csv_cells {
    char **texts;
    size_t n, n_columns;
};

static inline struct csv_cells csv_cells_of(const char *csv)
{
    size_t room = 1;
    for (const char *p = csv; *p != '\0'; p++)
        room += *p == ',' || *p == '\n';
    struct csv_cells out = {calloc(room, sizeof *out.texts), 0, 0};
    assert_non_null(out.texts);
    for (const char *p = csv; *p != '\0';) {
        char *cell = calloc(strlen(p) + 1, 1);
        size_t n = 0;
        int is_quoted = *p == '"';
        for (p += is_quoted; *p != '\0' && (is_quoted || (*p != ',' && *p != '\n')); p++) {
            if (*p == '"' && p[1] != '"')
                break;
            p += *p == '"';
            cell[n++] = *p;
        }
        p += is_quoted;
        assert_true(*p == ',' || *p == '\n');
        out.texts[out.n++] = cell;
        if (*p++ == '\n' && out.n_columns == 0)
            out.n_columns = out.n;
    }
    assert_true(out.n_columns > 0);
    assert_int_equal(out.n % out.n_columns, 0);
    return out;
}

/* Cell of a row (0 is the first below the heads) and a column by its head. */
static inline const char *csv_text(const struct csv_cells *cells, size_t row, const char *head)
{
    size_t column = 0;
    while (column < cells->n_columns && strcmp(cells->texts[column], head) != 0)
        column++;
    assert_true(column < cells->n_columns);
    assert_true((row + 1) * cells->n_columns + column < cells->n);
    return cells->texts[(row + 1) * cells->n_columns + column];
}

static inline double csv_number(const struct csv_cells *cells, size_t row, const char *head)
{
    const char *text = csv_text(cells, row, head);
    char *end;
    double value = strtod(text, &end);
    return *text == '\0' || *end != '\0' ? (double)NAN : value;
}

static inline void csv_cells_free(struct csv_cells *cells)
{
    for (size_t i = 0; i < cells->n; i++)
        free(cells->texts[i]);
    free(cells->texts);
}

#endif
