/* What a cask's spirit is made of and what its wood has held, as JSON. */
#ifndef STV_CLI_JSON_LINEAGE_H
#define STV_CLI_JSON_LINEAGE_H

#include "cli/chain.h"

#include <jansson.h>

/* {"spirit": {...} or null, "wood": {...}} of a cask on the day of the answer; null without memory.
 * The keys stand in the README. */
json_t *stv_json_lineage(const struct stv_chain *chain, int cask_idx);

#endif
