/* The answer of `bottling` as JSON and as a table; words are in words_bottling*.c. */
#ifndef STV_CLI_JSON_BOTTLING_H
#define STV_CLI_JSON_BOTTLING_H

#include "cli/bottling.h"
#include "cli/json_document.h"
#include "plots/sheet.h"

void stv_json_bottling(json_t *document, const struct stv_bottling_answer *answer);
/* One planned bottling with its casks. */
json_t *stv_json_planned(const struct stv_bottling_answer *answer, size_t wish_idx);
/* One row per window. */
void stv_csv_bottling(struct stv_sheet *table, const struct stv_bottling_answer *answer);

#endif
