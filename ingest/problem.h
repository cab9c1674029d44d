/* What is wrong with the input, collected so that a person fixes a file once. */
#ifndef STV_INGEST_PROBLEM_H
#define STV_INGEST_PROBLEM_H

#include "model/status.h"

#include <stddef.h>

enum stv_severity {
    STV_REFUSED,   /* a person typed it: nothing is computed from it, exit 3 */
    STV_SET_ASIDE, /* rows or values left out, counted, exit 1 */
    STV_SUSPECT,   /* used, but doubtful: counted, exit 1 */
    STV_NOTED      /* worth saying, nothing lost, exit code unchanged */
};
#define STV_SEVERITIES 4
/* The rule by which a hole in outdoor temperature is told. */
#define STV_RULE_HOLE "hole"
/* The rule by which is told what lies outside of what the model or the record knows. */
#define STV_RULE_BEYOND "beyond"

struct stv_problem {
    enum stv_severity severity;
    const char *rule;    /* the check that found it, a word of a fixed list; "" for typed input */
    const char *file;    /* as the user would type it; "" for none */
    size_t row;          /* 1-based line of the file; 0 when not about a line */
    size_t last_row;     /* same as row, or the end of a run of lines */
    size_t column;       /* 1-based character column; 0 when not known */
    size_t count;        /* how many rows or values this stands for */
    const char *found;   /* the text found, shortened, control characters replaced; "" for none */
    const char *message; /* what is wrong and what to do, one or two sentences */
};

/* Grows up to a limit that no honest file reaches; n_total counts all, kept or not.  The texts are
 * the list's. */
struct stv_problems {
    struct stv_problem *items;
    size_t n, capacity;
    size_t n_total;
    size_t n_by_severity[STV_SEVERITIES];
    char *last_file, *last_message; /* shared by entries that follow each other */
    struct stv_problem_text_block *texts;
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
 * A STV_SET_ASIDE on the line after one of the last entries', with the same message, lengthens
 * that entry: a fault that runs down two columns becomes two findings.
 * Memory: grows the list; without memory, or beyond a million entries, it is only counted */
__attribute__((format(printf, 7, 8))) void
stv_problem_add(struct stv_problems *problems, enum stv_severity severity, const char *file,
                size_t row, size_t column, const char *found, const char *format, ...);

/* What a check found in a machine's file: where, by which rule, and for how many rows or values. */
struct stv_finding {
    enum stv_severity severity;
    const char *rule; /* static text */
    const char *file;
    size_t row, last_row, column; /* as in struct stv_problem; last_row 0: the row alone */
    size_t count;                 /* 0 stands for 1 */
    const char *found;            /* NULL for none */
};
__attribute__((format(printf, 3, 4))) void stv_finding_add(struct stv_problems *problems,
                                                           const struct stv_finding *finding,
                                                           const char *format, ...);

/* Takes back all but the refusals from the entry `from` on: what was found in a file's values does
 * not count when they were read in the wrong unit. */
void stv_problems_keep_refusals(struct stv_problems *problems, size_t from);

/* Takes back what was set aside in `where->file` from its row to its last_row with a message that
 * begins with `start`, for one finding that says it of them all.  Returns the count taken back. */
size_t stv_problems_take_back(struct stv_problems *problems, const struct stv_finding *where,
                              const char *start);

/* "file:row:column: message (found "...")" into buffer, always terminated. */
void stv_problem_text(const struct stv_problem *problem, char *buffer, size_t size);

#endif
