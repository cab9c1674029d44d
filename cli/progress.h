/* One line on standard error that is written over while casks are run. */
#ifndef STV_CLI_PROGRESS_H
#define STV_CLI_PROGRESS_H

#include "cli/options.h"
#include "model/progress.h"

#include <stdbool.h>

/* Standard error is a terminal that can wipe a line, and --quiet was not said. */
bool stv_progress_is_wanted(const struct stv_options *options);

/* Per cent and time left of what is run, from half a second on, wiped when it is done; NULL when it
 * is not wanted.  One at a time: it counts what it has shown. */
const struct stv_progress *stv_progress_line(const struct stv_options *options);

#endif
