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
 * then renamed.  What may not be replaced was refused before (cli/targets.h).
 * Errors: STV_E_IO, said on standard error. */
STV_MUST_CHECK enum stv_status stv_output_file(const char *path, const struct stv_text *text);

#endif
