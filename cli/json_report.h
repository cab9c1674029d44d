/* What `report --json` tells beside its first screen: figures of charts that no other command has.
 */
#ifndef STV_CLI_JSON_REPORT_H
#define STV_CLI_JSON_REPORT_H

#include "cli/json.h"
#include "cli/report_data.h"

/* Sets season_losses and tier_paths, a member per warehouse; empty without casks or forecasts. */
void stv_report_set_json(json_t *document, const struct stv_report_data *data);

#endif
