/* A CSV file in memory: delimiter found from the content, quotes as RFC 4180, rows with lines. */
#ifndef STV_INGEST_CSV_H
#define STV_INGEST_CSV_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

struct stv_csv_row {
    size_t line;       /* 1-based line in the file */
    size_t first_cell; /* index into cells */
    size_t n_cells;
    bool has_line_end; /* false only for a last line cut short */
};

struct stv_csv_cell {
    const char *text; /* NUL-terminated, trimmed, in UTF-8 */
    size_t column;    /* 1-based character column in its line */
};

struct stv_csv {
    char *text; /* owns the bytes */
    struct stv_csv_row *rows;
    size_t n_rows; /* blank lines and '#' lines left out */
    struct stv_csv_cell *cells;
    char delimiter;         /* ',', ';' or tab */
    size_t bad_utf8_line;   /* first line that was not UTF-8; 0 when all was */
    size_t bad_utf8_column; /* ... and its character column */
};

/* Reads a file whole (stv_text_file_read: unpacked, decoded).
 *
 * LF, CRLF and CR taken as line ends; a quoted cell may hold delimiters,
 * doubled quotes and up to STV_CSV_QUOTED_LINES_MAX line ends, and a quote that is never closed is
 * a letter like any other, so that it costs one row and not the file.  The first line within the first MiB that has any
 * delimiter decides which it is: the one seen most often; of equals tab, then semicolon, then
 * comma, which it also is when no line has any.
 *
 * why      size bytes: what was wrong and what to do, starting in lower case
 * Errors:  STV_E_IO     see stv__whole_file
 *          STV_E_PARSE  empty, and what stv_text_file_read refuses
 *          STV_E_MEMORY
 * Memory:  caller frees with stv_csv_free, also after a failure */
STV_MUST_CHECK enum stv_status stv_csv_read(const char *path, struct stv_csv *out, char *why,
                                            size_t size);

/* The same from n bytes in memory, which are copied.  Errors: STV_E_PARSE, STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv_csv_parse(const char *bytes, size_t n, struct stv_csv *out,
                                             char *why, size_t size);

/* Longest quoted cell, in lines. */
#define STV_CSV_QUOTED_LINES_MAX 20

/* Empties it; accepts NULL. */
void stv_csv_free(struct stv_csv *csv);

/* Cell of a row by its place in the row; "" beyond the row's end, or for index SIZE_MAX. */
const char *stv_csv_text(const struct stv_csv *csv, size_t row, size_t index);

/* Index of a named column of a header row, ignoring case (of ASCII); SIZE_MAX when absent. */
size_t stv_csv_find(const struct stv_csv *csv, size_t row, const char *name);

#endif
