/* Charts asked for by themselves: a picture, and its numbers as CSV beside it. */
#ifndef STV_CLI_PICTURE_H
#define STV_CLI_PICTURE_H

#include "cli/options.h"
#include "plots/chart.h"

/* Draws a filled chart and writes it there, of the kind that the name asks for by its ending
 * (stv_targets_are_free has looked at it), and the table beside it; says so, or why not.
 * Errors: those of stv_charts_draw and stv_output_file */
STV_MUST_CHECK enum stv_status stv_picture_write(const struct stv_options *options,
                                                 const char *path, struct stv_chart *chart);

#endif
