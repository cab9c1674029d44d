/* Pieces of a text by pointer and length.  Numbers go through strtod only where a plain scan of
 * their digits does not give the nearest double already: up to 15 digits and 22 decimals do, since
 * then both the digits and the power of ten are exact. */
#include "ingest/lines.h"

#include <ctype.h>
#include <limits.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define NUMBER_MAX 64
#define EXACT_DIGITS 15
#define EXACT_DECIMALS 22
#define INT_DIGITS 9

static bool is_blank(char letter)
{
    return letter == ' ' || letter == '\t' || letter == '\x1A';
}

struct stv_slice stv_slice_of(const char *text)
{
    return (struct stv_slice){text, strlen(text)};
}

struct stv_slice stv_slice_trimmed(struct stv_slice slice)
{
    while (slice.n > 0 && is_blank(slice.text[0])) {
        slice.text++;
        slice.n--;
    }
    while (slice.n > 0 && is_blank(slice.text[slice.n - 1]))
        slice.n--;
    return slice;
}

bool stv_slice_is(struct stv_slice slice, const char *text)
{
    return strlen(text) == slice.n && strncasecmp(slice.text, text, slice.n) == 0;
}

bool stv_slice_starts(struct stv_slice slice, const char *text)
{
    size_t n = strlen(text);
    return n <= slice.n && strncasecmp(slice.text, text, n) == 0;
}

bool stv_slice_has(struct stv_slice slice, const char *text)
{
    size_t n = strlen(text);
    for (size_t at = 0; at + n <= slice.n; at++)
        if (memcmp(slice.text + at, text, n) == 0)
            return true;
    return false;
}

size_t stv_slice_find(const struct stv_slice *cells, size_t n, const char *text)
{
    for (size_t i = 0; i < n; i++)
        if (stv_slice_is(cells[i], text))
            return i;
    return SIZE_MAX;
}

bool stv_lines_next(struct stv_lines *lines, struct stv_line *out)
{
    while (lines->next < lines->n) {
        size_t at = lines->next, end = at;
        while (end < lines->n && lines->text[end] != '\n' && lines->text[end] != '\r')
            end++;
        bool has_end = end < lines->n;
        lines->next = end + has_end;
        if (has_end && lines->text[end] == '\r' && lines->next < lines->n &&
            lines->text[lines->next] == '\n')
            lines->next++;
        lines->number++;
        struct stv_slice all = {lines->text + at, end - at};
        if (stv_slice_trimmed(all).n == 0)
            continue;
        *out = (struct stv_line){all, at, lines->number, has_end};
        return true;
    }
    return false;
}

/* The cell at *at of a delimited line; leaves *at on its delimiter or on the line's end. */
static struct stv_slice take_cell(struct stv_slice line, char delimiter, size_t *at)
{
    size_t start = *at;
    while (start < line.n && is_blank(line.text[start]) && line.text[start] != delimiter)
        start++;
    if (start < line.n && line.text[start] == '"') {
        size_t close = start + 1;
        while (close < line.n &&
               (line.text[close] != '"' || (close + 1 < line.n && line.text[close + 1] == '"')))
            close += line.text[close] == '"' ? 2 : 1;
        size_t end = close + 1;
        while (end < line.n && is_blank(line.text[end]) && line.text[end] != delimiter)
            end++;
        if (close < line.n && (end >= line.n || line.text[end] == delimiter)) {
            *at = end;
            return stv_slice_trimmed((struct stv_slice){line.text + start + 1, close - start - 1});
        }
    }
    size_t end = *at;
    while (end < line.n && line.text[end] != delimiter)
        end++;
    struct stv_slice cell = {line.text + *at, end - *at};
    *at = end;
    return stv_slice_trimmed(cell);
}

static size_t blank_separated(struct stv_slice line, struct stv_slice *out, size_t most)
{
    size_t n = 0;
    for (size_t at = 0; at < line.n;) {
        if (is_blank(line.text[at])) {
            at++;
            continue;
        }
        size_t end = at;
        while (end < line.n && !is_blank(line.text[end]))
            end++;
        if (n < most)
            out[n] = (struct stv_slice){line.text + at, end - at};
        n++;
        at = end;
    }
    return n;
}

static size_t delimited(struct stv_slice line, char delimiter, struct stv_slice *out, size_t most)
{
    size_t n = 0, at = 0;
    for (bool goes_on = true; goes_on; n++) {
        struct stv_slice cell = take_cell(line, delimiter, &at);
        if (n < most)
            out[n] = cell;
        goes_on = at < line.n;
        at += goes_on;
    }
    return n;
}

size_t stv_line_cells(struct stv_slice line, char delimiter, struct stv_slice *out, size_t most)
{
    size_t n =
        delimiter == ' ' ? blank_separated(line, out, most) : delimited(line, delimiter, out, most);
    for (size_t i = n; i < most; i++)
        out[i] = (struct stv_slice){"", 0};
    return n;
}

struct stv_slice stv_line_columns(struct stv_slice line, size_t from, size_t to)
{
    if (from > line.n)
        return (struct stv_slice){line.text + line.n, 0};
    size_t end = to < line.n ? to : line.n;
    return stv_slice_trimmed((struct stv_slice){line.text + from - 1, end - (from - 1)});
}

void stv_slice_copy(struct stv_slice slice, char *out, size_t size)
{
    size_t n = slice.n < size - 1 ? slice.n : size - 1;
    if (n > 0)
        memcpy(out, slice.text, n);
    out[n] = '\0';
}

bool stv_slice_int(struct stv_slice slice, int32_t *out)
{
    size_t at = slice.n > 0 && (slice.text[0] == '-' || slice.text[0] == '+');
    int32_t value = 0;
    if (at == slice.n || slice.n - at > INT_DIGITS)
        return false;
    for (size_t i = at; i < slice.n; i++) {
        if (!isdigit((unsigned char)slice.text[i]))
            return false;
        value = value * 10 + (slice.text[i] - '0');
    }
    *out = slice.text[0] == '-' ? -value : value;
    return true;
}

/* True for an optional sign, digits with at most one point, and an optional exponent. */
static bool is_number(struct stv_slice slice)
{
    size_t at = 0, n_digits = 0, n_points = 0;
    if (at < slice.n && (slice.text[at] == '-' || slice.text[at] == '+'))
        at++;
    for (; at < slice.n && (isdigit((unsigned char)slice.text[at]) || slice.text[at] == '.');
         at++) {
        n_points += slice.text[at] == '.';
        n_digits += slice.text[at] != '.';
    }
    if (n_digits == 0 || n_points > 1)
        return false;
    if (at == slice.n)
        return true;
    if (slice.text[at] != 'e' && slice.text[at] != 'E')
        return false;
    at++;
    at += at < slice.n && (slice.text[at] == '-' || slice.text[at] == '+');
    size_t first = at;
    while (at < slice.n && isdigit((unsigned char)slice.text[at]))
        at++;
    return at == slice.n && at > first;
}

bool stv_slice_number(struct stv_slice slice, double *out)
{
    static const double tens[EXACT_DECIMALS + 1] = {1,    1e1,  1e2,  1e3,  1e4,  1e5,  1e6,  1e7,
                                                    1e8,  1e9,  1e10, 1e11, 1e12, 1e13, 1e14, 1e15,
                                                    1e16, 1e17, 1e18, 1e19, 1e20, 1e21, 1e22};
    char copy[NUMBER_MAX];
    if (!is_number(slice) || slice.n >= sizeof copy)
        return false;
    bool is_negative = slice.text[0] == '-', is_decimal = false, is_plain = true;
    size_t n_digits = 0, n_decimals = 0;
    int64_t digits = 0;
    for (size_t i = slice.text[0] == '-' || slice.text[0] == '+'; i < slice.n && is_plain; i++) {
        if (slice.text[i] == '.') {
            is_decimal = true;
            continue;
        }
        is_plain = isdigit((unsigned char)slice.text[i]) && ++n_digits <= EXACT_DIGITS;
        digits = is_plain ? digits * 10 + (slice.text[i] - '0') : digits;
        n_decimals += is_decimal;
    }
    if (is_plain) {
        double value = (double)digits / tens[n_decimals];
        *out = is_negative ? -value : value;
        return true;
    }
    stv_slice_copy(slice, copy, sizeof copy);
    *out = strtod(copy, NULL);
    return true;
}
