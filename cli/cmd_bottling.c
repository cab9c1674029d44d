/* `bottling`: when each full cask can be bottled, and which casks go into what is planned. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/bottling.h"
#include "cli/cask_state.h"
#include "cli/json_bottling.h"
#include "cli/session.h"
#include "cli/words.h"

#include <string.h>

static void add_text(struct stv_text *text, const void *result)
{
    stv_words_bottling(text, result);
}

static void add_json(json_t *document, const void *result)
{
    stv_json_bottling(document, result);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    stv_csv_bottling(table, result);
}

/* A plan that cannot be met, that the market bars, takes what may leak, or whose day is past, wants
 * a look. */
static bool wants_a_look(const struct stv_bottling_answer *answer)
{
    for (size_t w = 0; w < answer->plan.n; w++) {
        const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[w];
        if (stv_bottling_is_short(outcome) || stv_bottling_wants_market_look(answer, w))
            return true;
        for (size_t i = 0; i < outcome->n_casks; i++)
            if (stv_may_leak(answer->chain, outcome->casks[i].cask_idx))
                return true;
    }
    return answer->n_past > 0;
}

int stv_cmd_bottling(const struct stv_options *options)
{
    const char *by = stv_options_text(options, STV_OPT_BY);
    const struct stv_bottling_ask ask = {
        .n_months = (size_t)stv_options_number(options, STV_OPT_MONTHS),
        .by_lot = strcmp(by, "lot") == 0,
    };
    struct stv_session session;
    struct stv_bottling_answer made;
    int code;
    if (strcmp(by, "cask") != 0 && !ask.by_lot)
        return stv_refuse(options, NULL, STV_E_USAGE,
                          "bottling knows --by cask and --by lot: what is bottled together must be "
                          "of one kind.");
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    enum stv_status status = stv_bottling_answer_make(&session.chain, &ask, &made);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The windows could not be worked out: %s.",
                                stv_status_text(status));
    const struct stv_answer answer = {&made, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    session.chain.needs_attention = session.chain.needs_attention || wants_a_look(&made);
    stv_bottling_answer_free(&made);
    return stv_session_close(&session, status);
}
