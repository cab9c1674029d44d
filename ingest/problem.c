/* Problems are kept in the order met, up to a limit that a person can still read; the counters go
 * on beyond it.  Neighbouring lines of a machine's file with the same complaint become one entry
 * with a first and a last row.  What it does not do: print, or decide what an entry means for the
 * exit code. */
#include "ingest/problem.h"

#include "ingest/utf8.h"

#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* More than anybody fixes in one sitting; a hostile file cannot fill the memory with them. */
#define KEPT_MAX 1000

void stv_problems_init(struct stv_problems *problems)
{
    *problems = (struct stv_problems){0};
}

void stv_problems_free(struct stv_problems *problems)
{
    if (!problems)
        return;
    free(problems->items);
    stv_problems_init(problems);
}

/* Copies text so that it fits, cut between characters, with control characters and bytes that are
 * not UTF-8 replaced: a message must not be able to move the reader's cursor. */
static void copy_visible(char *out, size_t size, const char *text)
{
    size_t used = 0;
    size_t n = strlen(text);
    for (size_t at = 0; at < n;) {
        size_t length = stv__utf8_length(text + at, n - at);
        unsigned char first = (unsigned char)text[at];
        int is_c1 = length == 2 && first == 0xC2 && (unsigned char)text[at + 1] < 0xA0;
        int is_plain = length > 0 && first >= 0x20 && first != 0x7F && !is_c1;
        size_t wanted = is_plain ? length : 1;
        if (used + wanted >= size)
            break;
        if (is_plain)
            memcpy(out + used, text + at, length);
        else
            out[used] = '?';
        used += wanted;
        at += length ? length : 1;
    }
    out[used] = '\0';
}

static int extends_last(const struct stv_problems *problems, const struct stv_problem *next)
{
    if (problems->n == 0 || next->severity != STV_SET_ASIDE || next->row == 0)
        return 0;
    const struct stv_problem *last = &problems->items[problems->n - 1];
    return last->severity == STV_SET_ASIDE && last->last_row + 1 == next->row &&
           strcmp(last->file, next->file) == 0 && strcmp(last->message, next->message) == 0;
}

static int make_room(struct stv_problems *problems)
{
    if (problems->n >= KEPT_MAX)
        return 0;
    if (problems->n < problems->capacity)
        return 1;
    size_t capacity = problems->capacity ? 2 * problems->capacity : 16;
    struct stv_problem *items = realloc(problems->items, capacity * sizeof *items);
    if (!items)
        return 0; /* still counted below, so nothing passes as faultless */
    problems->items = items;
    problems->capacity = capacity;
    return 1;
}

void stv_problem_add(struct stv_problems *problems, enum stv_severity severity, const char *file,
                     size_t row, size_t column, const char *found, const char *format, ...)
{
    struct stv_problem next = {
        .severity = severity, .row = row, .last_row = row, .column = column, .count = 1};
    char text[2 * sizeof next.message];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    copy_visible(next.message, sizeof next.message, text);
    copy_visible(next.file, sizeof next.file, file ? file : "");
    copy_visible(next.found, sizeof next.found, found ? found : "");
    problems->n_total++;
    problems->n_by_severity[severity]++;
    if (extends_last(problems, &next)) {
        problems->items[problems->n - 1].last_row = row;
        problems->items[problems->n - 1].count++;
    } else if (make_room(problems)) {
        problems->items[problems->n++] = next;
    }
}

void stv_problem_text(const struct stv_problem *problem, char *buffer, size_t size)
{
    char place[64] = "";
    if (problem->row && problem->last_row > problem->row)
        snprintf(place, sizeof place, ":%zu-%zu", problem->row, problem->last_row);
    else if (problem->row && problem->column)
        snprintf(place, sizeof place, ":%zu:%zu", problem->row, problem->column);
    else if (problem->row)
        snprintf(place, sizeof place, ":%zu", problem->row);
    char found[sizeof problem->found + 16] = "";
    if (problem->found[0])
        snprintf(found, sizeof found, " (found \"%s\")", problem->found);
    snprintf(buffer, size, "%s%s: %s%s", problem->file, place, problem->message, found);
}
