/* Wrapping counts code points, not bytes, and never splits a word; a word longer than the line
 * stands alone on it.  Nothing here writes to a stream. */
#include "cli/prose.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

static void tame(char *bytes, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        unsigned char byte = (unsigned char)bytes[i];
        if ((byte < 0x20 && byte != '\n' && byte != '\t') || byte == 0x7f)
            bytes[i] = '?';
    }
}

__attribute__((format(printf, 2, 0))) static void add_formatted(struct stv_text *text,
                                                                const char *format, va_list args)
{
    va_list again;
    va_copy(again, args);
    int length = vsnprintf(NULL, 0, format, args);
    char *bytes = length >= 0 ? malloc((size_t)length + 1) : NULL;
    if (bytes) {
        vsnprintf(bytes, (size_t)length + 1, format, again);
        tame(bytes, (size_t)length);
        stv_text_add(text, bytes);
        free(bytes);
    } else {
        text->has_failed = true;
    }
    va_end(again);
}

void stv_prose_add(struct stv_text *text, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    add_formatted(text, format, args);
    va_end(args);
}

void stv_prose_heading(struct stv_text *text, const char *format, ...)
{
    const char mark = STV_PROSE_HEADING_MARK;
    stv_text_add_bytes(text, &mark, 1);
    va_list args;
    va_start(args, format);
    add_formatted(text, format, args);
    va_end(args);
    stv_text_add(text, "\n");
}

void stv_prose_drawing(struct stv_text *text)
{
    const char mark = STV_PROSE_DRAWING_MARK;
    stv_text_add_bytes(text, &mark, 1);
}

/* Bytes of the mark of a degree at the beginning of n; 0: there is none. */
static size_t degree_at(const char *utf8, size_t n)
{
    size_t mark = strlen(STV_PROSE_DEGREE);
    return n >= mark && memcmp(utf8, STV_PROSE_DEGREE, mark) == 0 ? mark : 0;
}

void stv_prose_plain(struct stv_text *text, const char *utf8, size_t n_bytes)
{
    size_t from = 0;
    for (size_t i = 0; i < n_bytes; i++) {
        size_t mark = degree_at(utf8 + i, n_bytes - i);
        if (mark == 0)
            continue;
        stv_text_add_bytes(text, utf8 + from, i - from);
        from = i + mark;
    }
    stv_text_add_bytes(text, utf8 + from, n_bytes - from);
}

size_t stv_prose_columns(const char *utf8, size_t n_bytes)
{
    size_t n = 0;
    for (size_t i = 0; i < n_bytes; i++)
        n += ((unsigned char)utf8[i] & 0xc0u) != 0x80u && !degree_at(utf8 + i, n_bytes - i);
    return n;
}

static void add_blanks(struct stv_text *text, size_t n)
{
    for (size_t i = 0; i < n; i++)
        stv_text_add(text, " ");
}

void stv_prose_cell(struct stv_text *text, const char *utf8, size_t n_columns)
{
    size_t n_bytes = 0;
    size_t column = 0;
    while (utf8[n_bytes] && column < n_columns) {
        do
            n_bytes++;
        while (((unsigned char)utf8[n_bytes] & 0xc0u) == 0x80u);
        column++;
    }
    stv_prose_add(text, "%.*s", (int)n_bytes, utf8);
    add_blanks(text, n_columns - column);
}

void stv_prose_name_cell(struct stv_text *text, const char *utf8, size_t n_columns, size_t indent)
{
    bool fits = stv_prose_columns(utf8, strlen(utf8)) <= n_columns;
    if (!fits) {
        stv_prose_add(text, "%s\n", utf8);
        add_blanks(text, indent);
    }
    stv_prose_cell(text, fits ? utf8 : "", n_columns);
}

/* Bytes behind a word that a line must not end before: a blank and a per cent sign. */
static size_t glued(const char *behind)
{
    return behind[0] == ' ' && behind[1] == '%' ? 1 + strcspn(behind + 1, " \n") : 0;
}

static void wrap_words(struct stv_text *text, size_t indent, const char *words)
{
    size_t next_indent = indent ? indent + 2 : 0;
    size_t column = indent;
    bool is_line_start = true;
    add_blanks(text, indent);
    for (const char *at = words; *at;) {
        size_t gap = strspn(at, " \n");
        at += gap;
        size_t length = strcspn(at, " \n");
        if (length == 0)
            break;
        length += glued(at + length);
        size_t width = stv_prose_columns(at, length);
        /* Two blanks are kept: they set notes apart from what they stand behind. */
        size_t blanks = is_line_start ? 0 : (gap > 1 ? 2 : 1);
        if (!is_line_start && column + blanks + width > STV_PROSE_COLUMNS) {
            stv_text_add(text, "\n");
            add_blanks(text, next_indent);
            column = next_indent;
            blanks = 0;
        }
        add_blanks(text, blanks);
        stv_text_add_bytes(text, at, length);
        column += blanks + width;
        is_line_start = false;
        at += length;
    }
    stv_text_add(text, "\n");
}

void stv_prose_wrap(struct stv_text *text, size_t indent, const char *format, ...)
{
    struct stv_text words = {0};
    va_list args;
    va_start(args, format);
    add_formatted(&words, format, args);
    va_end(args);
    if (words.has_failed)
        text->has_failed = true;
    else
        wrap_words(text, indent, stv_text_string(&words));
    stv_text_free(&words);
}

static size_t count_lines(const struct stv_text *text)
{
    size_t n = 0;
    for (size_t i = 0; i < text->n; i++)
        n += text->bytes[i] == '\n';
    return n + (text->n > 0 && text->bytes[text->n - 1] != '\n');
}

const char *stv_prose_unmarked(const char *line)
{
    return *line == STV_PROSE_HEADING_MARK ? line + 1 : line;
}

enum stv_status stv_prose_lines(const struct stv_text *text, char **out_copy,
                                const char ***out_lines, size_t *out_n)
{
    *out_copy = NULL;
    *out_lines = NULL;
    *out_n = 0;
    size_t n = count_lines(text);
    char *copy = text->has_failed ? NULL : strdup(stv_text_string(text));
    const char **lines = malloc((n + 1) * sizeof *lines);
    if (!copy || !lines) {
        free(copy);
        free(lines);
        return STV_E_MEMORY;
    }
    char *at = copy;
    size_t n_kept = 0;
    for (size_t i = 0; i < n; i++) {
        char *end = strchr(at, '\n');
        if (end)
            *end = '\0';
        if (*at != STV_PROSE_DRAWING_MARK)
            lines[n_kept++] = at;
        at = end ? end + 1 : at + strlen(at);
    }
    *out_copy = copy;
    *out_lines = lines;
    *out_n = n_kept;
    return STV_OK;
}
