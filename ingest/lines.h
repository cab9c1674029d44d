/* Lines of a text and pieces of them, looked at where they stand: nothing is copied or changed. */
#ifndef STV_INGEST_LINES_H
#define STV_INGEST_LINES_H

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Bytes of a text, not ended with a NUL. */
struct stv_slice {
    const char *text;
    size_t n;
};

struct stv_line {
    struct stv_slice all; /* without its line end */
    size_t at;            /* byte of the text at which it starts */
    size_t number;        /* 1-based */
    bool has_end;         /* false only for a last line without line end */
};

/* Walks over a text; set text and n, the rest zero. */
struct stv_lines {
    const char *text;
    size_t n;
    size_t next, number;
};

/* The next line that is not blank; false at the end.  LF, CRLF and CR end a line. */
bool stv_lines_next(struct stv_lines *lines, struct stv_line *out);

/* Cells of a line into out, at most `most`, cells that the line has not as empty ones; the line's
 * real number of cells is returned.  Blanks
 * around a cell are left out; a cell in double quotes may hold delimiters, its outer quotes are
 * left out and doubled ones inside stay doubled.  The delimiter ' ' stands for any run of blanks
 * and tabs. */
size_t stv_line_cells(struct stv_slice line, char delimiter, struct stv_slice *out, size_t most);

/* Columns from..to of a fixed-width line, 1-based and both included, without blanks around them;
 * empty where the line is shorter. */
struct stv_slice stv_line_columns(struct stv_slice line, size_t from, size_t to);

struct stv_slice stv_slice_of(const char *text);
struct stv_slice stv_slice_trimmed(struct stv_slice slice);
bool stv_slice_is(struct stv_slice slice, const char *text);     /* ignoring case of ASCII */
bool stv_slice_starts(struct stv_slice slice, const char *text); /* likewise */
bool stv_slice_has(struct stv_slice slice, const char *text);    /* exact */
/* Index of the first of n cells that is this text, ignoring case; SIZE_MAX when none is. */
size_t stv_slice_find(const struct stv_slice *cells, size_t n, const char *text);

/* Whole numbers and decimals with a point, a sign allowed; the whole slice has to be the number.
 * False for anything else, also for nan, inf, hexadecimal and an empty slice. */
bool stv_slice_int(struct stv_slice slice, int32_t *out);
bool stv_slice_number(struct stv_slice slice, double *out);

/* A copy that ends with a NUL, cut to size. */
void stv_slice_copy(struct stv_slice slice, char *out, size_t size);

#endif
