/* One answer in three dresses: a command gives a writer for each, the options choose. */
#ifndef STV_CLI_ANSWER_H
#define STV_CLI_ANSWER_H

#include "cli/json_document.h"
#include "cli/options.h"
#include "plots/sheet.h"

#include <jansson.h>

/* Each is handed `result`; the command knows what it is. */
struct stv_answer {
    const void *result;
    void (*add_text)(struct stv_text *text, const void *result);
    void (*add_json)(json_t *document, const void *result);
    void (*add_csv)(struct stv_sheet *table, const void *result);
};

/* Writes the answer as --json, --csv or text.  chain and problems as in stv_json_document. */
STV_MUST_CHECK enum stv_status stv_answer_write(const struct stv_options *options,
                                                const struct stv_chain *chain,
                                                const struct stv_problems *problems,
                                                const struct stv_answer *answer);

#endif
