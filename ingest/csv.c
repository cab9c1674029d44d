/* One pass over the bytes: the cells of a row are found first, with nothing changed, and then
 * trimmed, unquoted and ended with a NUL where they stand, which never needs more room than the
 * file had.  What it does not do: know which columns there should be, or read numbers. */
#include "ingest/csv.h"

#include "ingest/csv_parts.h"
#include "ingest/text_file.h"

#include <ctype.h>
#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

/* Control codes of which a text has fewer: one byte in so many. */
#define BINARY_CONTROL_PART 50
#define UNDECIDED SIZE_MAX /* more bytes are needed to tell */

struct kind_of_file {
    const char *start;
    size_t n;
    const char *advice;
};

/* Source: first bytes as the formats' own specifications give them (PDF: ISO 32000-1, 7.5.2; ZIP:
 * APPNOTE 4.3.7; PNG: ISO/IEC 15948, 5.2; gzip: RFC 1952, 2.3.1; compound file: MS-CFB 2.2). */
static const struct kind_of_file not_csv[] = {
    {"%PDF", 4, "is a PDF document: ask for the table itself, as CSV"},
    {"PK\x03\x04", 4,
     "is a spreadsheet or a ZIP archive: save the sheet as \"CSV UTF-8\", or unpack the archive "
     "and "
     "take the table in it"},
    {"\xD0\xCF\x11\xE0", 4, "is an old office document: save the sheet as \"CSV UTF-8\""},
    {"\x89PNG", 4, "is a picture: ask for the table itself, as CSV"},
    {"\xFF\xD8\xFF", 3, "is a picture: ask for the table itself, as CSV"},
    {"\x1F\x8B", 2, "is packed with gzip: unpack it first"}, /* where it is not unpacked by us */
    {"\xFF\xFE", 2, "is saved as UTF-16: save it again as \"CSV UTF-8\""},
    {"\xFE\xFF", 2, "is saved as UTF-16: save it again as \"CSV UTF-8\""},
};

/* Capacity of the whole reader's arrays. */
struct room {
    size_t n_cells, cells, rows;
};

/* Place of a byte as a person counts. */
struct place {
    size_t at, column, n_line_ends;
};

static bool starts_like_html(const char *bytes, size_t n)
{
    size_t at = 0;
    while (at < n && isspace((unsigned char)bytes[at]))
        at++;
    return at + 1 < n && bytes[at] == '<' &&
           (isalpha((unsigned char)bytes[at + 1]) || bytes[at + 1] == '!' || bytes[at + 1] == '?');
}

/* NULs alone are what a logger leaves behind when its power fails; other control codes, or nothing
 * but NULs, are no text. */
static bool is_binary(const char *bytes, size_t n)
{
    size_t n_nul = 0, n_control = 0;
    for (size_t i = 0; i < n; i++) {
        unsigned char byte = (unsigned char)bytes[i];
        n_nul += byte == 0;
        n_control += byte && byte < 0x20 && !isspace(byte) && byte != 0x1A;
    }
    return n_control > n / BINARY_CONTROL_PART || n_nul > n / 2;
}

const char *stv__csv_why_not(const char *bytes, size_t n)
{
    if (n > STV__CSV_KIND_BYTES)
        n = STV__CSV_KIND_BYTES;
    for (size_t i = 0; i < sizeof not_csv / sizeof not_csv[0]; i++)
        if (n >= not_csv[i].n && memcmp(bytes, not_csv[i].start, not_csv[i].n) == 0)
            return not_csv[i].advice;
    if (is_binary(bytes, n))
        return "is not a text file: save the table as \"CSV UTF-8\"";
    if (starts_like_html(bytes, n))
        return "is a web page, not a table: the download may have failed; fetch it again";
    return NULL;
}

size_t stv__csv_mark_bytes(const char *bytes, size_t n)
{
    return n >= 3 && memcmp(bytes, "\xEF\xBB\xBF", 3) == 0 ? 3 : 0;
}

void stv__csv_hide_nul(char *bytes, size_t n)
{
    char *found = bytes;
    while (n > 0 && (found = memchr(found, '\0', (size_t)(bytes + n - found))) != NULL)
        *found++ = '\x1A';
}

size_t stv__csv_from_latin1(const char *bytes, size_t n, char *out)
{
    size_t used = 0;
    for (size_t i = 0; i < n; i++) {
        unsigned char byte = (unsigned char)bytes[i];
        if (byte >= 0x80 && byte < 0xA0) {
            out[used++] = '?';
        } else if (byte >= 0xA0) {
            out[used++] = (char)(0xC0 | (byte >> 6));
            out[used++] = (char)(0x80 | (byte & 0x3F));
        } else {
            out[used++] = bytes[i];
        }
    }
    return used;
}

static bool is_line_end(char letter)
{
    return letter == '\n' || letter == '\r';
}

static bool is_blank(char letter)
{
    return letter == ' ' || letter == '\t';
}

static size_t line_length(const char *text, size_t n)
{
    size_t length = 0;
    while (length < n && !is_line_end(text[length]))
        length++;
    return length;
}

/* True for a remark at the start of n bytes.  A first cell of nothing but "#" is none: "#,Date,..."
 * is a header whose first column counts the rows, and "########,fill" was saved by a spreadsheet
 * whose column was too narrow; nor is one of its marks for a formula that failed. */
static bool is_remark(const char *line, size_t n)
{
    static const char *const marks[] = {"#REF!", "#NAME?", "#VALUE!", "#DIV/0!",
                                        "#N/A",  "#NUM!",  "#NULL!"};
    size_t n_cell = 0;
    while (n_cell < n && line[n_cell] == '#')
        n_cell++;
    if (n_cell == 0)
        return false;
    for (size_t i = 0; i < sizeof marks / sizeof marks[0]; i++)
        if (n > strlen(marks[i]) && memcmp(line, marks[i], strlen(marks[i])) == 0)
            n_cell = strlen(marks[i]);
    return !(n_cell < n && memchr(",;\t", line[n_cell], 3));
}

/* True for the line by which a spreadsheet tells itself the delimiter: sep=, */
static bool is_delimiter_line(const char *line, size_t n)
{
    return n >= 5 && strncasecmp(line, "sep=", 4) == 0 && !is_line_end(line[4]) &&
           (n == 5 || is_line_end(line[5]));
}

/* True for a remark, a blank line or a spreadsheet's own at the start of n bytes. */
static bool says_nothing(const char *line, size_t n)
{
    if (n > 0 && line[0] == '#')
        return is_remark(line, n);
    if (is_delimiter_line(line, n))
        return true;
    size_t n_blanks = 0;
    while (n_blanks < n && is_blank(line[n_blanks]))
        n_blanks++;
    return n_blanks == n || is_line_end(line[n_blanks]);
}

/* The delimiter of a line: seen most often outside quotes; NUL when it has none. */
static char delimiter_of(const char *line, size_t n)
{
    static const char known[] = "\t;,|";
    size_t count[4] = {0};
    bool is_quoted = false;
    for (size_t i = 0; i < n; i++) {
        if (line[i] == '"')
            is_quoted = !is_quoted;
        const char *found = is_quoted ? NULL : memchr(known, line[i], 4);
        if (found)
            count[found - known]++;
    }
    size_t best = 0;
    for (size_t i = 1; i < 4; i++)
        if (count[i] > count[best])
            best = i;
    return count[best] ? known[best] : '\0';
}

char stv__csv_delimiter(const char *text, size_t n, bool is_last)
{
    if (n >= STV__CSV_SNIFFED_BYTES) {
        n = STV__CSV_SNIFFED_BYTES;
        is_last = true;
    }
    for (size_t at = 0; at < n;) {
        size_t length = line_length(text + at, n - at);
        if (at + length == n && !is_last)
            return '\0';
        bool is_silent = says_nothing(text + at, n - at);
        char delimiter = is_silent ? '\0' : delimiter_of(text + at, length);
        if (delimiter)
            return delimiter;
        at += length + 1;
    }
    return is_last ? ',' : '\0';
}

/* True for the last byte of a line end. */
static bool ends_line(const struct stv__csv_bytes *text, size_t at)
{
    char letter = text->text[at];
    return letter == '\n' ||
           (letter == '\r' && !(at + 1 < text->end && text->text[at + 1] == '\n'));
}

/* Moves a place on over bytes without a line end. */
static void step_in_line(const char *text, struct place *place, size_t to)
{
    size_t n_characters = 0;
    for (size_t at = place->at; at < to; at++)
        n_characters += ((unsigned char)text[at] & 0xC0) != 0x80; /* else of the one before */
    place->column += n_characters;
    place->at = to;
}

/* Moves a place on over any bytes. */
static void step_over_lines(const struct stv__csv_bytes *text, struct place *place, size_t to)
{
    size_t from = place->at;
    for (size_t at = from; at < to; at++)
        if (ends_line(text, at)) {
            place->n_line_ends++;
            place->column = 1;
            place->at = at + 1;
        }
    step_in_line(text->text, place, to);
}

/* Where the quoted cell that opens at `open` ends: index of its closing quote; 0 when it is not
 * closed soon enough to be meant; or UNDECIDED.  A quote that ends the text may yet turn out to be
 * the first of two, but the row is not whole then anyway. */
static size_t closing_quote(const struct stv__csv_bytes *text, size_t open)
{
    size_t n_lines = 0;
    for (size_t at = open + 1; at < text->end; at++) {
        if (ends_line(text, at) && ++n_lines >= STV_CSV_QUOTED_LINES_MAX)
            return 0;
        if (text->text[at] != '"')
            continue;
        if (at + 1 < text->end && text->text[at + 1] == '"')
            at++;
        else
            return at;
    }
    return text->is_last ? 0 : UNDECIDED;
}

/* Finds the cell at *at and leaves *at on its delimiter or line end; false when undecided. */
static bool find_cell(const struct stv__csv_bytes *text, size_t *at, struct stv__csv_span *out)
{
    const char *bytes = text->text;
    size_t now = *at;
    while (now < text->end && is_blank(bytes[now]) && bytes[now] != text->delimiter)
        now++;
    *out = (struct stv__csv_span){.start = now};
    if (now < text->end && bytes[now] == '"') {
        out->close = closing_quote(text, now);
        if (out->close == UNDECIDED)
            return false;
        if (out->close)
            now = out->close + 1;
    }
    size_t least = now; /* blanks inside quotes are kept */
    while (now < text->end && bytes[now] != text->delimiter && !is_line_end(bytes[now]))
        now++;
    out->end = now;
    while (out->end > least && is_blank(bytes[out->end - 1]))
        out->end--;
    *at = now;
    return true;
}

static bool add_span(struct stv__csv_found *found, struct stv__csv_span span)
{
    if (found->n_cells == found->capacity) {
        size_t capacity = found->capacity ? 2 * found->capacity : 16;
        struct stv__csv_span *spans = realloc(found->spans, capacity * sizeof *spans);
        if (!spans)
            return false;
        found->spans = spans;
        found->capacity = capacity;
    }
    found->spans[found->n_cells++] = span;
    return true;
}

/* Finds the cells from *at on, to the line end that closes their row. */
static enum stv_status find_cells(const struct stv__csv_bytes *text, size_t *at,
                                  struct stv__csv_found *found)
{
    struct place place = {*at, 1, 0};
    bool goes_on = true;
    while (goes_on) {
        struct stv__csv_span span;
        if (!find_cell(text, at, &span))
            return STV_E_NO_DATA;
        goes_on = *at < text->end && text->text[*at] == text->delimiter;
        *at += goes_on;
        step_in_line(text->text, &place, span.start);
        span.column = place.column;
        if (span.close)
            step_over_lines(text, &place, *at);
        else
            step_in_line(text->text, &place, *at);
        if (!add_span(found, span))
            return STV_E_MEMORY;
    }
    found->n_line_ends = place.n_line_ends;
    return STV_OK;
}

enum stv_status stv__csv_find_row(const struct stv__csv_bytes *text, size_t at,
                                  struct stv__csv_found *found)
{
    found->n_cells = 0;
    found->n_line_ends = 0;
    enum stv_status status = STV_OK;
    if (says_nothing(text->text + at, text->end - at))
        at += line_length(text->text + at, text->end - at);
    else
        status = find_cells(text, &at, found);
    if (status != STV_OK)
        return status;
    found->has_line_end = at < text->end;
    if (found->has_line_end && !ends_line(text, at))
        at++; /* the CR of a CRLF */
    if (!text->is_last && (at == text->end || (at + 1 == text->end && text->text[at] == '\r')))
        return STV_E_NO_DATA;
    found->n_line_ends += found->has_line_end;
    found->end = at + found->has_line_end;
    return STV_OK;
}

const char *stv__csv_finish_cell(char *text, const struct stv__csv_span *span)
{
    char *cell = text + span->start;
    if (!span->close) {
        text[span->end] = '\0';
        return cell;
    }
    size_t n = 0;
    for (size_t at = span->start + 1; at < span->close; at++) {
        at += text[at] == '"'; /* the first of two */
        cell[n++] = text[at];
    }
    size_t n_behind = span->end - (span->close + 1);
    memmove(cell + n, text + span->close + 1, n_behind);
    cell[n + n_behind] = '\0';
    return cell;
}

static bool add_cell(struct stv_csv *csv, struct room *room, struct stv_csv_cell cell)
{
    if (room->n_cells == room->cells) {
        size_t capacity = room->cells ? 2 * room->cells : 256;
        struct stv_csv_cell *cells = realloc(csv->cells, capacity * sizeof *cells);
        if (!cells)
            return false;
        csv->cells = cells;
        room->cells = capacity;
    }
    csv->cells[room->n_cells++] = cell;
    return true;
}

static bool add_row(struct stv_csv *csv, struct room *room, struct stv_csv_row row)
{
    if (csv->n_rows == room->rows) {
        size_t capacity = room->rows ? 2 * room->rows : 64;
        struct stv_csv_row *rows = realloc(csv->rows, capacity * sizeof *rows);
        if (!rows)
            return false;
        csv->rows = rows;
        room->rows = capacity;
    }
    csv->rows[csv->n_rows++] = row;
    return true;
}

static bool keep_row(struct stv_csv *csv, struct room *room, const struct stv__csv_found *found,
                     size_t line)
{
    struct stv_csv_row row = {line, room->n_cells, found->n_cells, found->has_line_end};
    for (size_t i = 0; i < found->n_cells; i++) {
        const struct stv__csv_span *span = &found->spans[i];
        struct stv_csv_cell cell = {stv__csv_finish_cell(csv->text, span), span->column};
        if (!add_cell(csv, room, cell))
            return false;
    }
    return add_row(csv, room, row);
}

/* Splits csv->text, n bytes with room for one more. */
static enum stv_status take_rows(struct stv_csv *csv, size_t n)
{
    struct stv__csv_bytes text = {csv->text, n, true, csv->delimiter};
    struct stv__csv_found found = {0};
    struct room room = {0};
    enum stv_status status = STV_OK;
    for (size_t at = 0, line = 1; status == STV_OK && at < n; at = found.end) {
        status = stv__csv_find_row(&text, at, &found);
        if (status == STV_OK && found.n_cells > 0 && !keep_row(csv, &room, &found, line))
            status = STV_E_MEMORY;
        line += found.n_line_ends;
    }
    free(found.spans);
    return status;
}

static enum stv_status split(struct stv_csv *csv, size_t n, char *why, size_t size)
{
    csv->text[n] = '\0';
    enum stv_status status = take_rows(csv, n);
    if (status == STV_E_MEMORY)
        snprintf(why, size, "does not fit into the memory");
    if (status == STV_OK && csv->n_rows == 0) {
        snprintf(why, size, "%s", STV__CSV_EMPTY);
        status = STV_E_PARSE;
    }
    return status;
}

/* Takes over the file's text. */
static enum stv_status take_text(struct stv_text_file *file, struct stv_csv *out, char *why,
                                 size_t size)
{
    out->text = file->text;
    out->bad_utf8_line = file->bad_utf8_line;
    out->bad_utf8_column = file->bad_utf8_column;
    out->delimiter = stv__csv_delimiter(file->text, file->n, true);
    return split(out, file->n, why, size);
}

enum stv_status stv_csv_read(const char *path, struct stv_csv *out, char *why, size_t size)
{
    struct stv_text_file file;
    *out = (struct stv_csv){0};
    enum stv_status status = stv_text_file_read(path, &file, why, size);
    return status == STV_OK ? take_text(&file, out, why, size) : status;
}

enum stv_status stv_csv_parse(const char *bytes, size_t n, struct stv_csv *out, char *why,
                              size_t size)
{
    struct stv_text_file file;
    *out = (struct stv_csv){0};
    enum stv_status status = stv_text_file_parse(bytes, n, &file, why, size);
    return status == STV_OK ? take_text(&file, out, why, size) : status;
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
