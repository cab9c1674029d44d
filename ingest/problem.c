/* Problems are kept in the order met; the counters go on beyond what is kept.  Neighbouring lines
 * of a machine's file with the same complaint become one entry with a first and a last row.  Texts
 * stand in blocks that the list owns, and entries that follow each other share theirs, so that a
 * file of a million bad rows costs what its findings cost.  What it does not do: print, or decide
 * what an entry means for the exit code. */
#include "ingest/problem.h"

#include "ingest/utf8.h"

#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define KEPT_MAX 1000000
#define BLOCK_BYTES 16384
#define MESSAGE_MAX 512
#define FILE_MAX 256
#define FOUND_MAX 96
#define LOOKED_BACK 4 /* faults of so many columns can run down a file side by side */

struct stv_problem_text_block {
    struct stv_problem_text_block *next;
    size_t used;
    char bytes[BLOCK_BYTES];
};

void stv_problems_init(struct stv_problems *problems)
{
    *problems = (struct stv_problems){0};
}

void stv_problems_free(struct stv_problems *problems)
{
    if (!problems)
        return;
    free(problems->items);
    while (problems->texts) {
        struct stv_problem_text_block *next = problems->texts->next;
        free(problems->texts);
        problems->texts = next;
    }
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

/* A copy that lives as long as the list; NULL without memory. */
static char *keep_text(struct stv_problems *problems, const char *text)
{
    size_t n = strlen(text) + 1;
    struct stv_problem_text_block *block = problems->texts;
    if (!block || block->used + n > sizeof block->bytes) {
        block = malloc(sizeof *block);
        if (!block)
            return NULL;
        block->next = problems->texts;
        block->used = 0;
        problems->texts = block;
    }
    char *copy = block->bytes + block->used;
    memcpy(copy, text, n);
    block->used += n;
    return copy;
}

/* The text kept last time, when it is the same; else a new copy that takes its place. */
static const char *share_text(struct stv_problems *problems, char **last, const char *text)
{
    if (!*last || strcmp(*last, text) != 0)
        *last = keep_text(problems, text);
    return *last;
}

/* The entry that a fault on the next line, or another value of the same line, lengthens. */
static struct stv_problem *entry_before(const struct stv_problems *problems,
                                        const struct stv_problem *next)
{
    if (next->severity != STV_SET_ASIDE || next->row == 0 || next->last_row != next->row)
        return NULL;
    for (size_t back = 1; back <= LOOKED_BACK && back <= problems->n; back++) {
        struct stv_problem *entry = &problems->items[problems->n - back];
        bool is_near = entry->last_row + 1 == next->row;
        if (is_near && entry->severity == STV_SET_ASIDE && strcmp(entry->rule, next->rule) == 0 &&
            strcmp(entry->file, next->file) == 0 && strcmp(entry->message, next->message) == 0)
            return entry;
    }
    return NULL;
}

static bool make_room(struct stv_problems *problems)
{
    if (problems->n >= KEPT_MAX)
        return false;
    if (problems->n < problems->capacity)
        return true;
    size_t capacity = problems->capacity ? 2 * problems->capacity : 16;
    struct stv_problem *items = realloc(problems->items, capacity * sizeof *items);
    if (!items)
        return false; /* still counted, so nothing passes as faultless */
    problems->items = items;
    problems->capacity = capacity;
    return true;
}

/* Keeps an entry whose texts stand in the caller's buffers. */
static void keep(struct stv_problems *problems, struct stv_problem next)
{
    if (!make_room(problems))
        return;
    next.file = share_text(problems, &problems->last_file, next.file);
    next.message = share_text(problems, &problems->last_message, next.message);
    next.found = next.found[0] ? keep_text(problems, next.found) : "";
    if (next.file && next.message && next.found)
        problems->items[problems->n++] = next;
}

static void add(struct stv_problems *problems, const struct stv_finding *finding,
                const char *format, va_list arguments)
{
    char text[2 * MESSAGE_MAX], message[MESSAGE_MAX], file[FILE_MAX], found[FOUND_MAX];
    struct stv_problem next = {.severity = finding->severity,
                               .rule = finding->rule ? finding->rule : "",
                               .file = file,
                               .row = finding->row,
                               .last_row = finding->last_row ? finding->last_row : finding->row,
                               .column = finding->column,
                               .count = finding->count ? finding->count : 1,
                               .found = found,
                               .message = message};
    vsnprintf(text, sizeof text, format, arguments);
    copy_visible(message, sizeof message, text);
    copy_visible(file, sizeof file, finding->file ? finding->file : "");
    copy_visible(found, sizeof found, finding->found ? finding->found : "");
    problems->n_total += next.count;
    problems->n_by_severity[next.severity] += next.count;
    struct stv_problem *entry = entry_before(problems, &next);
    if (entry) {
        entry->last_row = next.row;
        entry->count += next.count;
    } else {
        keep(problems, next);
    }
}

void stv_problem_add(struct stv_problems *problems, enum stv_severity severity, const char *file,
                     size_t row, size_t column, const char *found, const char *format, ...)
{
    struct stv_finding finding = {
        .severity = severity, .file = file, .row = row, .column = column, .found = found};
    va_list arguments;
    va_start(arguments, format);
    add(problems, &finding, format, arguments);
    va_end(arguments);
}

void stv_finding_add(struct stv_problems *problems, const struct stv_finding *finding,
                     const char *format, ...)
{
    va_list arguments;
    va_start(arguments, format);
    add(problems, finding, format, arguments);
    va_end(arguments);
}

void stv_problems_keep_refusals(struct stv_problems *problems, size_t from)
{
    size_t n_kept = from;
    for (size_t i = from; i < problems->n; i++) {
        const struct stv_problem *entry = &problems->items[i];
        if (entry->severity == STV_REFUSED) {
            problems->items[n_kept++] = *entry;
            continue;
        }
        problems->n_total -= entry->count;
        problems->n_by_severity[entry->severity] -= entry->count;
    }
    problems->n = problems->n > from ? n_kept : problems->n;
}

size_t stv_problems_take_back(struct stv_problems *problems, const struct stv_finding *where,
                              const char *start)
{
    size_t n_kept = 0, n_before = problems->n_total;
    for (size_t i = 0; i < problems->n; i++) {
        const struct stv_problem *entry = &problems->items[i];
        if (entry->severity != STV_SET_ASIDE || entry->row < where->row ||
            entry->last_row > where->last_row || strcmp(entry->file, where->file) != 0 ||
            strncmp(entry->message, start, strlen(start)) != 0) {
            problems->items[n_kept++] = *entry;
            continue;
        }
        problems->n_total -= entry->count;
        problems->n_by_severity[entry->severity] -= entry->count;
    }
    problems->n = n_kept;
    return n_before - problems->n_total;
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
    char found[FOUND_MAX + 16] = "";
    if (problem->found[0])
        snprintf(found, sizeof found, " (found \"%s\")", problem->found);
    snprintf(buffer, size, "%s%s: %s%s", problem->file, place, problem->message, found);
}
