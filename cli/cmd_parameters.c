/* `--parameters`: every number, as a book sets it where one is named. */
#include "cli/commands.h"

#include "cli/json_document.h"
#include "cli/output.h"
#include "cli/parameters.h"
#include "cli/session.h"

static enum stv_status print_list(const struct stv_options *options, const struct stv_chain *chain)
{
    if (stv_options_has(options, STV_OPT_JSON))
        return stv_json_write(options, stv_json_document(options, chain, NULL));
    struct stv_text text = {0};
    stv_parameters_text(&text, chain ? &chain->book : NULL);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

int stv_cmd_parameters(const struct stv_options *options)
{
    struct stv_session session = {.options = options};
    bool names_book = options->command != STV_CMD_N && options->command != STV_CMD_SITES &&
                      options->operand != NULL;
    if (!names_book)
        return stv_session_close(&session, print_list(options, NULL));
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_READ, &code))
        return code;
    return stv_session_close(&session, print_list(options, &session.chain));
}
