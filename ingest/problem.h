/* What is wrong with the input, collected so that a person fixes a file once. */
#ifndef STV_INGEST_PROBLEM_H
#define STV_INGEST_PROBLEM_H

#include "model/status.h"

#include <stddef.h>

enum stv_severity {
    STV_REFUSED,   /* a person typed it: nothing is computed from it, exit 3 */
    STV_SET_ASIDE, /* a machine wrote it: rows left out, counted, exit 1 */
    STV_NOTED      /* worth saying, nothing lost, exit code unchanged */
};

struct stv_problem {
    enum stv_severity severity;
    char file[256];    /* as the user would type it */
    size_t row;        /* 1-based line of the file; 0 when not about a line */
    size_t last_row;   /* same as row, or the end of a run of lines */
    size_t column;     /* 1-based character column; 0 when not known */
    size_t count;      /* how many rows or values this stands for */
    char found[96];    /* the text found, shortened, control characters replaced */
    char message[256]; /* what is wrong and what to do, one or two sentences */
};

/* Grows up to a limit; n_total counts all, kept or not. */
struct stv_problems {
    struct stv_problem *items;
    size_t n, capacity;
    size_t n_total;
    size_t n_by_severity[3];
};

/* An empty list. */
void stv_problems_init(struct stv_problems *problems);
/* Empties it; accepts NULL. */
void stv_problems_free(struct stv_problems *problems);

/* Adds one.
 *
 * file         as the user would type it; NULL for none
 * row, column  1-based; 0 when not known
 * found        the text found, or NULL; shortened, control characters and bytes that are not
 *              UTF-8 replaced
 * format       printf-formatted: what is wrong and what to do
 *
 * A STV_SET_ASIDE on the line after the last entry's, with the same message, lengthens that entry.
 * Memory: grows the list; without memory, or beyond 1000 entries, it is only counted */
__attribute__((format(printf, 7, 8))) void
stv_problem_add(struct stv_problems *problems, enum stv_severity severity, const char *file,
                size_t row, size_t column, const char *found, const char *format, ...);

/* "file:row:column: message (found "...")" into buffer, always terminated. */
void stv_problem_text(const struct stv_problem *problem, char *buffer, size_t size);

#endif
