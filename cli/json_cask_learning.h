/* A lesson of casks as JSON and as CSV. */
#ifndef STV_CLI_JSON_CASK_LEARNING_H
#define STV_CLI_JSON_CASK_LEARNING_H

#include "cli/chain_cask_learning.h"
#include "plots/sheet.h"

#include <jansson.h>

/* Sets casks, verdicts, told, moved, ready, worth and not_used. */
void stv_json_cask_lesson(json_t *document, const struct stv_chain *chain,
                          const struct stv_cask_lesson *lesson);
/* Every figure as predicted then and measured now, misses first. */
void stv_csv_cask_lesson(struct stv_sheet *table, const struct stv_chain *chain,
                         const struct stv_cask_lesson *lesson);

#endif
