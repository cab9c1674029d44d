/* One pass over the bytes, in place: a cell's text is trimmed, unquoted and ended with a NUL where
 * it stands, which never needs more room than the file had.  What it does not do: know which
 * columns there should be, or read numbers. */
#include "ingest/csv.h"

#include "ingest/utf8.h"
#include "ingest/whole_file.h"

#include <ctype.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define FILE_MAX ((size_t)1 << 30)
#define SNIFFED 4096 /* bytes in which a NUL means "not text" */

struct kind_of_file {
    const char *start;
    size_t n;
    const char *advice;
};

/* Source: first bytes as the formats' own specifications give them (PDF: ISO 32000-1, 7.5.2; ZIP:
 * APPNOTE 4.3.7; PNG: ISO/IEC 15948, 5.2; gzip: RFC 1952, 2.3.1; compound file: MS-CFB 2.2). */
static const struct kind_of_file not_csv[] = {
    {"%PDF", 4, "is a PDF document: ask for the table itself, as CSV"},
    {"PK\x03\x04", 4, "is a spreadsheet or a ZIP archive: save the sheet as \"CSV UTF-8\""},
    {"\xD0\xCF\x11\xE0", 4, "is an old office document: save the sheet as \"CSV UTF-8\""},
    {"\x89PNG", 4, "is a picture: ask for the table itself, as CSV"},
    {"\xFF\xD8\xFF", 3, "is a picture: ask for the table itself, as CSV"},
    {"\x1F\x8B", 2, "is packed with gzip: unpack it first"},
    {"\xFF\xFE", 2, "is saved as UTF-16: save it again as \"CSV UTF-8\""},
    {"\xFE\xFF", 2, "is saved as UTF-16: save it again as \"CSV UTF-8\""},
};

struct reader {
    struct stv_csv *csv;
    size_t at, end; /* into csv->text */
    size_t line, column;
    size_t n_cells, cells_capacity, rows_capacity;
};

static bool starts_like_html(const char *bytes, size_t n)
{
    size_t at = 0;
    while (at < n && isspace((unsigned char)bytes[at]))
        at++;
    return at + 1 < n && bytes[at] == '<' &&
           (isalpha((unsigned char)bytes[at + 1]) || bytes[at + 1] == '!' || bytes[at + 1] == '?');
}

static const char *why_not_csv(const char *bytes, size_t n)
{
    for (size_t i = 0; i < sizeof not_csv / sizeof not_csv[0]; i++)
        if (n >= not_csv[i].n && memcmp(bytes, not_csv[i].start, not_csv[i].n) == 0)
            return not_csv[i].advice;
    if (memchr(bytes, '\0', n < SNIFFED ? n : SNIFFED))
        return "is not a text file: save the table as \"CSV UTF-8\"";
    if (starts_like_html(bytes, n))
        return "is a web page, not a table: the download may have failed; fetch it again";
    return NULL;
}

/* Latin-1 to UTF-8, at most twice as long.  The control codes of its upper half become '?'. */
static char *utf8_from_latin1(const char *bytes, size_t n, size_t *out_n)
{
    char *text = malloc(2 * n + 1);
    if (!text)
        return NULL;
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        unsigned char byte = (unsigned char)bytes[i];
        if (byte >= 0x80 && byte < 0xA0) {
            text[used++] = '?';
        } else if (byte >= 0xA0) {
            text[used++] = (char)(0xC0 | (byte >> 6));
            text[used++] = (char)(0x80 | (byte & 0x3F));
        } else {
            text[used++] = bytes[i];
        }
    }
    text[used] = '\0';
    *out_n = used;
    return text;
}

static bool is_line_end(char letter)
{
    return letter == '\n' || letter == '\r';
}

static size_t line_length(const char *text, size_t n)
{
    size_t length = 0;
    while (length < n && !is_line_end(text[length]))
        length++;
    return length;
}

static bool is_comment(const char *line, size_t n)
{
    /* "#,Date,..." is a header whose first column counts the rows, not a remark. */
    return n > 0 && line[0] == '#' && !(n > 1 && strchr(",;\t", line[1]) != NULL);
}

static bool is_blank(const char *line, size_t n)
{
    return strspn(line, " \t") >= n;
}

/* The delimiter of a line: seen most often outside quotes; 0 when it has none. */
static char delimiter_of(const char *line, size_t n)
{
    static const char known[] = "\t;,";
    size_t count[3] = {0};
    bool is_quoted = false;
    for (size_t i = 0; i < n; i++) {
        if (line[i] == '"')
            is_quoted = !is_quoted;
        const char *found = is_quoted ? NULL : strchr(known, line[i]);
        if (found)
            count[found - known]++;
    }
    size_t best = 0;
    for (size_t i = 1; i < 3; i++)
        if (count[i] > count[best])
            best = i;
    return count[best] ? known[best] : '\0';
}

static char find_delimiter(const char *text, size_t n)
{
    for (size_t at = 0; at < n;) {
        size_t length = line_length(text + at, n - at);
        bool says_nothing = is_comment(text + at, length) || is_blank(text + at, length);
        char delimiter = says_nothing ? '\0' : delimiter_of(text + at, length);
        if (delimiter)
            return delimiter;
        at += length + 1;
    }
    return ',';
}

/* Steps over one character, keeping line and column. */
static void step(struct reader *reader)
{
    const char *text = reader->csv->text;
    char letter = text[reader->at];
    bool ends_line =
        letter == '\n' ||
        (letter == '\r' && !(reader->at + 1 < reader->end && text[reader->at + 1] == '\n'));
    if (ends_line) {
        reader->line++;
        reader->column = 1;
    } else if (((unsigned char)letter & 0xC0) != 0x80) {
        reader->column++; /* continuation bytes belong to the character before */
    }
    reader->at++;
}

static void step_over_line_end(struct reader *reader)
{
    if (reader->at >= reader->end)
        return;
    bool is_return = reader->csv->text[reader->at] == '\r';
    step(reader);
    if (is_return && reader->at < reader->end && reader->csv->text[reader->at] == '\n')
        step(reader);
}

static void skip_blanks(struct reader *reader)
{
    const struct stv_csv *csv = reader->csv;
    while (reader->at < reader->end && csv->text[reader->at] != csv->delimiter &&
           (csv->text[reader->at] == ' ' || csv->text[reader->at] == '\t'))
        step(reader);
}

/* Where the quoted cell that opens at `open` ends: index of its closing quote, or 0 when it is
 * not closed soon enough to be meant. */
static size_t closing_quote(const struct reader *reader, size_t open)
{
    const char *text = reader->csv->text;
    size_t n_lines = 0;
    for (size_t at = open + 1; at < reader->end; at++) {
        if (text[at] == '\n' && ++n_lines >= STV_CSV_QUOTED_LINES_MAX)
            return 0;
        if (text[at] != '"')
            continue;
        if (at + 1 < reader->end && text[at + 1] == '"')
            at++;
        else
            return at;
    }
    return 0;
}

static bool add_cell(struct reader *reader, const char *text, size_t column)
{
    struct stv_csv *csv = reader->csv;
    if (reader->n_cells == reader->cells_capacity) {
        size_t capacity = reader->cells_capacity ? 2 * reader->cells_capacity : 256;
        struct stv_csv_cell *cells = realloc(csv->cells, capacity * sizeof *cells);
        if (!cells)
            return false;
        csv->cells = cells;
        reader->cells_capacity = capacity;
    }
    csv->cells[reader->n_cells++] = (struct stv_csv_cell){text, column};
    return true;
}

/* Copies one cell's text to `out` (at or before the reading place), which is left on the delimiter
 * or line end; returns the length. */
static size_t take_cell(struct reader *reader, char *out)
{
    const char *text = reader->csv->text;
    size_t n = 0, n_kept = 0; /* n_kept: up to the last character that is not a blank */
    size_t close = text[reader->at] == '"' ? closing_quote(reader, reader->at) : 0;
    if (close) {
        step(reader);
        while (reader->at < close) {
            if (text[reader->at] == '"')
                step(reader);
            out[n++] = text[reader->at];
            step(reader);
        }
        step(reader);
        n_kept = n;
    }
    while (reader->at < reader->end && text[reader->at] != reader->csv->delimiter &&
           !is_line_end(text[reader->at])) {
        out[n++] = text[reader->at];
        if (text[reader->at] != ' ' && text[reader->at] != '\t')
            n_kept = n;
        step(reader);
    }
    return n_kept;
}

static bool add_row(struct reader *reader, struct stv_csv_row row)
{
    struct stv_csv *csv = reader->csv;
    if (csv->n_rows == reader->rows_capacity) {
        size_t capacity = reader->rows_capacity ? 2 * reader->rows_capacity : 64;
        struct stv_csv_row *rows = realloc(csv->rows, capacity * sizeof *rows);
        if (!rows)
            return false;
        csv->rows = rows;
        reader->rows_capacity = capacity;
    }
    csv->rows[csv->n_rows++] = row;
    return true;
}

static bool take_row(struct reader *reader)
{
    struct stv_csv *csv = reader->csv;
    struct stv_csv_row row = {.line = reader->line, .first_cell = reader->n_cells};
    bool goes_on = true;
    while (goes_on) {
        skip_blanks(reader);
        char *start = csv->text + reader->at;
        size_t column = reader->column;
        size_t n = reader->at < reader->end ? take_cell(reader, start) : 0;
        goes_on = reader->at < reader->end && csv->text[reader->at] == csv->delimiter;
        row.has_line_end = reader->at < reader->end;
        if (goes_on)
            step(reader);
        else
            step_over_line_end(reader);
        /* Ended only now: the byte may be the delimiter just stepped over. */
        start[n] = '\0';
        if (!add_cell(reader, start, column))
            return false;
        row.n_cells++;
    }
    return add_row(reader, row);
}

static enum stv_status take_rows(struct reader *reader)
{
    struct stv_csv *csv = reader->csv;
    while (reader->at < reader->end) {
        const char *line = csv->text + reader->at;
        size_t length = line_length(line, reader->end - reader->at);
        if (is_blank(line, length) || is_comment(line, length)) {
            while (reader->at < reader->end && !is_line_end(csv->text[reader->at]))
                step(reader);
            step_over_line_end(reader);
        } else if (!take_row(reader)) {
            return STV_E_MEMORY;
        }
    }
    return STV_OK;
}

/* Takes ownership of csv->text, n bytes with room for one more. */
static enum stv_status split(struct stv_csv *csv, size_t n, char *why, size_t size)
{
    size_t start = n >= 3 && memcmp(csv->text, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
    csv->text[n] = '\0';
    for (size_t i = 0; i < n; i++)
        if (csv->text[i] == '\0')
            csv->text[i] = '\x1A'; /* a NUL inside a cell must not hide the rest of it */
    csv->delimiter = find_delimiter(csv->text + start, n - start);
    struct reader reader = {.csv = csv, .at = start, .end = n, .line = 1, .column = 1};
    enum stv_status status = take_rows(&reader);
    if (status == STV_E_MEMORY)
        snprintf(why, size, "does not fit into the memory");
    if (status == STV_OK && csv->n_rows == 0) {
        snprintf(why, size, "is empty: at least a row with the names of the columns is needed");
        status = STV_E_PARSE;
    }
    return status;
}

static enum stv_status take_bytes(char *bytes, size_t n, struct stv_csv *out, char *why,
                                  size_t size)
{
    const char *advice = why_not_csv(bytes, n);
    if (advice) {
        snprintf(why, size, "%s", advice);
        free(bytes);
        return STV_E_PARSE;
    }
    struct stv__utf8_place bad = stv__utf8_first_bad(bytes, n);
    if (bad.line) {
        char *text = utf8_from_latin1(bytes, n, &n);
        free(bytes);
        if (!text) {
            snprintf(why, size, "does not fit into the memory");
            return STV_E_MEMORY;
        }
        bytes = text;
    }
    out->text = bytes;
    out->bad_utf8_line = bad.line;
    out->bad_utf8_column = bad.column;
    return split(out, n, why, size);
}

enum stv_status stv_csv_read(const char *path, struct stv_csv *out, char *why, size_t size)
{
    *out = (struct stv_csv){0};
    char *bytes = NULL;
    size_t n = 0;
    enum stv_status status = stv__whole_file(path, FILE_MAX, &bytes, &n, why, size);
    return status == STV_OK ? take_bytes(bytes, n, out, why, size) : status;
}

enum stv_status stv_csv_parse(const char *bytes, size_t n, struct stv_csv *out, char *why,
                              size_t size)
{
    *out = (struct stv_csv){0};
    char *copy = malloc(n + 1);
    if (!copy) {
        snprintf(why, size, "does not fit into the memory");
        return STV_E_MEMORY;
    }
    if (n > 0)
        memcpy(copy, bytes, n);
    copy[n] = '\0';
    return take_bytes(copy, n, out, why, size);
}

void stv_csv_free(struct stv_csv *csv)
{
    if (!csv)
        return;
    free(csv->text);
    free(csv->rows);
    free(csv->cells);
    *csv = (struct stv_csv){0};
}

const char *stv_csv_text(const struct stv_csv *csv, size_t row, size_t index)
{
    if (row >= csv->n_rows || index >= csv->rows[row].n_cells)
        return "";
    return csv->cells[csv->rows[row].first_cell + index].text;
}

size_t stv_csv_find(const struct stv_csv *csv, size_t row, const char *name)
{
    size_t n = row < csv->n_rows ? csv->rows[row].n_cells : 0;
    for (size_t i = 0; i < n; i++)
        if (strcasecmp(stv_csv_text(csv, row, i), name) == 0)
            return i;
    return SIZE_MAX;
}
