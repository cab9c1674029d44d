/* The one place that writes results: standard output, or a file whole or not at all. */
#ifndef STV_CLI_OUTPUT_H
#define STV_CLI_OUTPUT_H

#include "cli/options.h"
#include "plots/text.h"

/* Writes a result where -o says, standard output by default.  Headings become bold where --color
 * and NO_COLOR allow it, and plain elsewhere.
 * Errors: STV_E_IO, said on standard error; STV_E_MEMORY when the text ran short. */
STV_MUST_CHECK enum stv_status stv_output_write(const struct stv_options *options,
                                                const struct stv_text *text);

/* Writes a file that an option names, "-" for standard output: to a temporary name beside it,
 * then renamed.  Files of a book that a person writes are never replaced.
 * Errors: STV_E_IO, STV_E_USAGE (a book's own file); both said on standard error. */
STV_MUST_CHECK enum stv_status stv_output_file(const char *path, const struct stv_text *text);

/* False, and said, when a path must not be written: a file of a book that a person writes, or the
 * very file that is read. */
bool stv_output_may_replace(const char *path, const char *read_path);

#endif
