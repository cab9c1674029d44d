/* What goes to standard error: problems of the input, steps, and what was written. */
#ifndef STV_CLI_MESSAGES_H
#define STV_CLI_MESSAGES_H

#include "cli/options.h"
#include "ingest/problem.h"

/* Prints problems, at most 20 unless -v, then counts.  With --quiet only those refused. */
void stv_messages_problems(const struct stv_options *options, const struct stv_problems *problems);

/* An error; printed whatever --quiet says. */
__attribute__((format(printf, 1, 2))) void stv_messages_error(const char *format, ...);
/* A thing worth knowing, such as a file written; not with --quiet. */
__attribute__((format(printf, 2, 3))) void stv_messages_note(const struct stv_options *options,
                                                             const char *format, ...);
/* A step begun; only with -v. */
__attribute__((format(printf, 2, 3))) void stv_messages_step(const struct stv_options *options,
                                                             const char *format, ...);

#endif
