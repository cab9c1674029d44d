/* A window on the file that holds at least the row at hand: bytes of rows already given make room
 * for the next block, and a row that the block cuts is looked for again when more is there.  Each
 * time at least as much is asked for as is waiting, so that even a long row in small blocks is
 * searched a few times only.  The grammar itself is in csv.c. */
#include "ingest/csv_stream.h"

#include "ingest/csv_parts.h"
#include "ingest/utf8.h"

#include <errno.h>
#include <fcntl.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define MEBIBYTE ((size_t)1 << 20)

struct stv_csv_stream {
    int fd;
    char *window; /* room for capacity bytes and one more */
    size_t capacity, block;
    size_t at, end; /* of the bytes in the window that are not yet given */
    bool is_last;   /* the file ends at `end` */
    char delimiter;
    bool has_row;
    size_t line; /* of the byte at `at` */
    struct stv__csv_found found;
    const char **cells;
    size_t *columns;
    size_t cells_capacity;
    char *latin1; /* a row turned into UTF-8 */
    size_t latin1_capacity;
    struct stv__utf8_place bad;
};

static enum stv_status out_of_memory(char *why, size_t size)
{
    snprintf(why, size, "does not fit into the memory");
    return STV_E_MEMORY;
}

static enum stv_status not_read(char *why, size_t size)
{
    if (errno == ENOENT)
        snprintf(why, size, "there is no such file");
    else if (errno == EISDIR)
        snprintf(why, size, "is a folder; a file is wanted");
    else
        snprintf(why, size, "cannot be read: %s", strerror(errno));
    return STV_E_IO;
}

/* Moves the waiting bytes, at most n, to the front and makes room for n more. */
static bool make_room(struct stv_csv_stream *stream, size_t n)
{
    stream->end -= stream->at;
    if (stream->at > 0)
        memmove(stream->window, stream->window + stream->at, stream->end);
    stream->at = 0;
    if (stream->end + n <= stream->capacity)
        return true;
    char *window = realloc(stream->window, 2 * n + 1);
    if (!window)
        return false;
    stream->window = window;
    stream->capacity = 2 * n;
    return true;
}

/* Reads on: one block, or as much as is waiting; a pipe may give less. */
static enum stv_status read_on(struct stv_csv_stream *stream, char *why, size_t size)
{
    size_t waiting = stream->end - stream->at;
    size_t wanted = waiting > stream->block ? waiting : stream->block;
    if (!make_room(stream, wanted))
        return out_of_memory(why, size);
    ssize_t n;
    do
        n = read(stream->fd, stream->window + stream->end, wanted);
    while (n < 0 && errno == EINTR);
    if (n < 0)
        return not_read(why, size);
    stream->is_last = n == 0;
    stream->end += (size_t)n;
    return STV_OK;
}

static enum stv_status fill(struct stv_csv_stream *stream, char *why, size_t size)
{
    size_t waiting = stream->end - stream->at;
    enum stv_status status = read_on(stream, why, size);
    if (status == STV_OK)
        stv__csv_hide_nul(stream->window + waiting, stream->end - waiting);
    return status;
}

/* Refuses what is no CSV, and steps over the byte-order mark. */
static enum stv_status check_kind(struct stv_csv_stream *stream, char *why, size_t size)
{
    enum stv_status status = STV_OK;
    while (status == STV_OK && !stream->is_last && stream->end < STV__CSV_KIND_BYTES)
        status = read_on(stream, why, size);
    if (status != STV_OK)
        return status;
    const char *advice = stv__csv_why_not(stream->window, stream->end);
    if (advice) {
        snprintf(why, size, "%s", advice);
        return STV_E_PARSE;
    }
    stv__csv_hide_nul(stream->window, stream->end);
    stream->at = stv__csv_mark_bytes(stream->window, stream->end);
    return STV_OK;
}

static enum stv_status find_delimiter(struct stv_csv_stream *stream, char *why, size_t size)
{
    enum stv_status status = STV_OK;
    while (status == STV_OK) {
        stream->delimiter = stv__csv_delimiter(stream->window + stream->at,
                                               stream->end - stream->at, stream->is_last);
        if (stream->delimiter)
            break;
        status = fill(stream, why, size);
    }
    return status;
}

static enum stv_status open_file(const char *path, int *out, char *why, size_t size)
{
    bool is_input = strcmp(path, "-") == 0;
    int fd = is_input ? STDIN_FILENO : open(path, O_RDONLY | O_CLOEXEC);
    if (fd < 0)
        return not_read(why, size);
    *out = fd;
    return STV_OK;
}

enum stv_status stv__csv_stream_open(const char *path, size_t block_bytes,
                                     struct stv_csv_stream **out, char *why, size_t size)
{
    *out = NULL;
    struct stv_csv_stream *stream = calloc(1, sizeof *stream);
    if (!stream)
        return out_of_memory(why, size);
    *stream = (struct stv_csv_stream){.fd = -1, .block = block_bytes, .line = 1};
    enum stv_status status = open_file(path, &stream->fd, why, size);
    if (status == STV_OK)
        status = check_kind(stream, why, size);
    if (status == STV_OK)
        status = find_delimiter(stream, why, size);
    if (status == STV_OK)
        *out = stream;
    else
        stv_csv_stream_close(stream);
    return status;
}

enum stv_status stv_csv_stream_open(const char *path, struct stv_csv_stream **out, char *why,
                                    size_t size)
{
    return stv__csv_stream_open(path, STV_CSV_BLOCK_BYTES, out, why, size);
}

/* Finds the row, blank line or remark at stream->at, reading on until it is whole. */
static enum stv_status find_line(struct stv_csv_stream *stream, char *why, size_t size)
{
    enum stv_status status = STV_OK;
    while (status == STV_OK) {
        size_t n = stream->end - stream->at;
        bool is_capped = n > STV_CSV_ROW_BYTES_MAX;
        struct stv__csv_bytes text = {.text = stream->window + stream->at,
                                      .end = is_capped ? STV_CSV_ROW_BYTES_MAX : n,
                                      .is_last = stream->is_last && !is_capped,
                                      .delimiter = stream->delimiter};
        status = n == 0 ? STV_E_NO_DATA : stv__csv_find_row(&text, 0, &stream->found);
        if (status == STV_E_MEMORY)
            return out_of_memory(why, size);
        if (status == STV_OK || (n == 0 && stream->is_last))
            return status;
        if (is_capped) {
            snprintf(why, size,
                     "has a row longer than %zu MB at line %zu, the most that is read; a quote "
                     "may be open there",
                     STV_CSV_ROW_BYTES_MAX / MEBIBYTE, stream->line);
            return STV_E_PARSE;
        }
        status = fill(stream, why, size);
    }
    return status;
}

/* Eight bytes at a time, for nearly every row is. */
static bool is_ascii(const char *text, size_t n)
{
    uint64_t seen = 0, word;
    for (; n >= sizeof word; text += sizeof word, n -= sizeof word) {
        memcpy(&word, text, sizeof word);
        seen |= word;
    }
    for (; n > 0; n--)
        seen |= (unsigned char)*text++;
    return (seen & UINT64_C(0x8080808080808080)) == 0;
}

/* True when the line found is UTF-8; notes the first that is not. */
static bool is_utf8(struct stv_csv_stream *stream)
{
    const char *text = stream->window + stream->at;
    size_t n = stream->found.end;
    if (is_ascii(text, n))
        return true;
    struct stv__utf8_place bad = stv__utf8_first_bad(text, n);
    if (bad.line > 0 && stream->bad.line == 0)
        stream->bad = (struct stv__utf8_place){stream->line + bad.line - 1, bad.column};
    return bad.line == 0;
}

/* Turns the row found into UTF-8 and finds its cells there; NULL when out of memory. */
static char *take_as_latin1(struct stv_csv_stream *stream)
{
    size_t n = stream->found.end, capacity = 2 * n + 1;
    if (capacity > stream->latin1_capacity) {
        char *latin1 = realloc(stream->latin1, capacity);
        if (!latin1)
            return NULL;
        stream->latin1 = latin1;
        stream->latin1_capacity = capacity;
    }
    struct stv__csv_bytes text = {.text = stream->latin1, .is_last = true};
    text.end = stv__csv_from_latin1(stream->window + stream->at, n, text.text);
    text.delimiter = stream->delimiter;
    enum stv_status status = stv__csv_find_row(&text, 0, &stream->found);
    return status == STV_OK ? text.text : NULL;
}

static bool room_for_cells(struct stv_csv_stream *stream)
{
    size_t capacity = stream->found.capacity;
    if (capacity <= stream->cells_capacity)
        return true;
    const char **cells = realloc(stream->cells, capacity * sizeof *cells);
    if (cells)
        stream->cells = cells;
    size_t *columns = realloc(stream->columns, capacity * sizeof *columns);
    if (columns)
        stream->columns = columns;
    if (!cells || !columns)
        return false;
    stream->cells_capacity = capacity;
    return true;
}

/* Gives the row found; false when out of memory. */
static bool give_row(struct stv_csv_stream *stream, bool is_latin1, struct stv_csv_line *out)
{
    char *text = is_latin1 ? take_as_latin1(stream) : stream->window + stream->at;
    if (!text || !room_for_cells(stream))
        return false;
    const struct stv__csv_found *found = &stream->found;
    for (size_t i = 0; i < found->n_cells; i++) {
        stream->cells[i] = stv__csv_finish_cell(text, &found->spans[i]);
        stream->columns[i] = found->spans[i].column;
    }
    *out = (struct stv_csv_line){.line = stream->line,
                                 .n_cells = found->n_cells,
                                 .cells = stream->cells,
                                 .columns = stream->columns,
                                 .has_line_end = found->has_line_end,
                                 .is_latin1 = is_latin1};
    stream->has_row = true;
    return true;
}

enum stv_status stv_csv_stream_next(struct stv_csv_stream *stream, struct stv_csv_line *out,
                                    char *why, size_t size)
{
    enum stv_status status = STV_OK;
    bool is_row = false;
    while (!is_row && (status = find_line(stream, why, size)) == STV_OK) {
        size_t n_bytes = stream->found.end; /* before it may turn into UTF-8 */
        bool is_latin1 = !is_utf8(stream);
        is_row = stream->found.n_cells > 0;
        if (is_row && !give_row(stream, is_latin1, out))
            return out_of_memory(why, size);
        stream->at += n_bytes;
        stream->line += stream->found.n_line_ends;
    }
    if (status == STV_E_NO_DATA && !stream->has_row) {
        snprintf(why, size, "%s", STV__CSV_EMPTY);
        return STV_E_PARSE;
    }
    return status;
}

char stv_csv_stream_delimiter(const struct stv_csv_stream *stream)
{
    return stream->delimiter;
}

size_t stv_csv_stream_bad_utf8(const struct stv_csv_stream *stream, size_t *out_column)
{
    *out_column = stream->bad.column;
    return stream->bad.line;
}

void stv_csv_stream_close(struct stv_csv_stream *stream)
{
    if (!stream)
        return;
    if (stream->fd > STDIN_FILENO)
        close(stream->fd);
    free(stream->window);
    free(stream->found.spans);
    free(stream->cells);
    free(stream->columns);
    free(stream->latin1);
    free(stream);
}
