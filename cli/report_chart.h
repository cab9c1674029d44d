/* `report --chart` and `report --charts`: one chart of the report alone, or the names of all. */
#ifndef STV_CLI_REPORT_CHART_H
#define STV_CLI_REPORT_CHART_H

#include "cli/session.h"
#include "plots/report.h"

/* Draws the chart that is asked for and prints what it shows, or lists the charts.
 * why     size bytes, empty at first: why there is none of that name
 * Errors: STV_E_USAGE  no chart of that name
 *         those of stv_picture_write and of the output */
STV_MUST_CHECK enum stv_status stv_report_chart(const struct stv_session *session,
                                                const struct stv_report_input *input, char *why,
                                                size_t size);

#endif
