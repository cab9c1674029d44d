/* The grammar of a CSV file, for the reader of whole files and the one that goes row by row.
 * Everything here is defined in csv.c. */
#ifndef STV_INGEST_CSV_PARTS_H
#define STV_INGEST_CSV_PARTS_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

#define STV__CSV_KIND_BYTES 4096                 /* in which the kind of file shows */
#define STV__CSV_SNIFFED_BYTES ((size_t)1 << 20) /* in which the delimiter is looked for */

/* What is wrong with a file without any row. */
#define STV__CSV_EMPTY "is empty: at least a row with the names of the columns is needed"

/* Bytes of a file, with room for one more behind them. */
struct stv__csv_bytes {
    char *text;
    size_t end;   /* their number */
    bool is_last; /* the file ends where they do */
    char delimiter;
};

/* A cell that was found and not yet touched; indices into the text. */
struct stv__csv_span {
    size_t start, end; /* blanks around it left out */
    size_t close;      /* its closing quote; 0 when it is not quoted */
    size_t column;     /* 1-based character column in its line */
};

/* A line of the file, or the lines of a row with line ends in its quotes. */
struct stv__csv_found {
    struct stv__csv_span *spans;
    size_t n_cells; /* 0 for a blank line or a remark */
    size_t capacity;
    size_t end; /* index of the first byte behind it and its line end */
    size_t n_line_ends;
    bool has_line_end;
};

/* Finds the row that starts at `at`, before the end of the text, and changes nothing in it.
 *
 * found    zeroed before the first call, used again for the next row; caller frees found->spans
 * Errors:  STV_E_NO_DATA  the row may go on behind the text; never when text->is_last
 *          STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__csv_find_row(const struct stv__csv_bytes *text, size_t at,
                                                 struct stv__csv_found *found);

/* The text of a cell, unquoted and ended with a NUL where it stands.  To be called when its whole
 * row has been found, for the NUL may replace a delimiter or line end. */
const char *stv__csv_finish_cell(char *text, const struct stv__csv_span *span);

/* What to do with a file that is no CSV, told from its first STV__CSV_KIND_BYTES; NULL for CSV. */
const char *stv__csv_why_not(const char *bytes, size_t n);

/* Length of the byte-order mark at the start, 0 when there is none. */
size_t stv__csv_mark_bytes(const char *bytes, size_t n);

/* Replaces each NUL, which would hide the rest of its cell, by 0x1A. */
void stv__csv_hide_nul(char *bytes, size_t n);

/* The delimiter that decides, looked for in the first STV__CSV_SNIFFED_BYTES behind the mark; a
 * comma when there is none, NUL when only more bytes can tell. */
char stv__csv_delimiter(const char *text, size_t n, bool is_last);

/* Latin-1 to UTF-8.  The control codes of its upper half become '?'.  out has room for 2 n bytes,
 * of which the used number is returned. */
size_t stv__csv_from_latin1(const char *bytes, size_t n, char *out);

#endif
