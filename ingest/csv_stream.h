/* A CSV file of any length, row by row, in bounded memory. */
#ifndef STV_INGEST_CSV_STREAM_H
#define STV_INGEST_CSV_STREAM_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

/* Longest row, its line end and the line ends in its quotes included. */
#define STV_CSV_ROW_BYTES_MAX ((size_t)1 << 20)

/* Bytes asked of the file at a time. */
#define STV_CSV_BLOCK_BYTES ((size_t)1 << 18)

struct stv_csv_stream;

struct stv_csv_line {
    size_t line;              /* 1-based line in the file where the row starts */
    size_t n_cells;           /* at least 1 */
    const char *const *cells; /* NUL-terminated, trimmed, in UTF-8; until the next call */
    const size_t *columns;    /* 1-based character column of each cell in its line */
    bool has_line_end;        /* false only for a last line cut short */
    bool is_latin1;           /* the row was not UTF-8 and was taken as Latin-1 */
};

/* Opens a file, pipe or device, "-" for standard input.  The grammar and what is left out are
 * those of stv_csv_read, and so are rows, cells, lines and columns, but for two things: a row has
 * at most STV_CSV_ROW_BYTES_MAX, and each row that is not UTF-8 is taken as Latin-1 by itself,
 * while stv_csv_read takes the whole file so.
 *
 * out      the stream; NULL when the status is not OK
 * why      size bytes: what was wrong and what to do, starting in lower case
 *
 * Errors:  STV_E_IO      no such file, a folder, not readable
 *          STV_E_PARSE   binary or HTML, as stv_csv_read
 *          STV_E_MEMORY
 * Memory:  two blocks, or four times the longest row (or the first MiB, while the delimiter is
 *          looked for) when that is more, and at most 96 bytes for each cell of the widest row;
 * caller frees with stv_csv_stream_close */
STV_MUST_CHECK enum stv_status stv_csv_stream_open(const char *path, struct stv_csv_stream **out,
                                                   char *why, size_t size);

/* The next row; blank lines and remarks are left out.
 *
 * Errors:  STV_E_NO_DATA  after the last row; nothing was wrong and why is untouched
 *          STV_E_PARSE    the file has no row at all; or a row is too long, or has a quote that
 *                         is not closed within that length: why names its line
 *          STV_E_IO       the file could not be read on
 *          STV_E_MEMORY
 *          A failure repeats: the stream does not get past it. */
STV_MUST_CHECK enum stv_status stv_csv_stream_next(struct stv_csv_stream *stream,
                                                   struct stv_csv_line *out, char *why,
                                                   size_t size);

/* ',', ';' or tab: as the first line within the first MiB that has any decides. */
char stv_csv_stream_delimiter(const struct stv_csv_stream *stream);

/* Line of the first byte so far, remarks included, that was not UTF-8, and its character column
 * there; both 0 when all was. */
size_t stv_csv_stream_bad_utf8(const struct stv_csv_stream *stream, size_t *out_column);

/* Closes the file (standard input stays open) and frees the stream; accepts NULL. */
void stv_csv_stream_close(struct stv_csv_stream *stream);

/* stv_csv_stream_open with blocks of another size, at least 1 byte. */
STV_MUST_CHECK enum stv_status stv__csv_stream_open(const char *path, size_t block_bytes,
                                                    struct stv_csv_stream **out, char *why,
                                                    size_t size);

#endif
