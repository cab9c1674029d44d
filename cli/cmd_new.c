/* `new`: an empty book. */
#include "cli/commands.h"

#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "cli/session.h"
#include "ingest/book.h"

#define WHY_MAX 512

static enum stv_status answer(const struct stv_options *options)
{
    if (stv_options_has(options, STV_OPT_JSON)) {
        json_t *document = stv_json_document(options, NULL, NULL);
        stv_json_set(document, "folder", stv_json_text(options->operand));
        return stv_json_write(options, document);
    }
    struct stv_text text = {0};
    stv_prose_wrap(&text, 0, "An empty book is in %s, with one example row in each file.",
                   options->operand);
    stv_prose_wrap(&text, 0,
                   "Next: write your site and warehouses into book.yaml, your casks into casks.csv "
                   "and what was done with them into history.csv. Then:");
    stv_prose_add(&text, "  stavecast check %s\n", options->operand);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

int stv_cmd_new(const struct stv_options *options)
{
    char why[WHY_MAX] = "";
    enum stv_status status = stv_book_new(options->operand, why, sizeof why);
    if (status != STV_OK)
        return stv_refuse(options, NULL, status, why[0] ? why : stv_status_text(status));
    return (int)stv_exit_code(answer(options));
}
