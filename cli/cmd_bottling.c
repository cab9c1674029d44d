/* `bottling`: when each full cask can be bottled. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/session.h"
#include "cli/words.h"

struct result {
    const struct stv_chain *chain;
    const struct stv_outlook *months;
    const struct stv_bottling *bottling;
};

static json_t *month_or_null(const struct stv_outlook *months, size_t month_idx, bool is_known)
{
    return is_known ? stv_json_day(months->days_d[month_idx]) : json_null();
}

/* Why a side of a window lies where it does; "" for a side that has no reason. */
static const char *side_text(enum stv_window_side side, bool is_known)
{
    return is_known && side != STV_SIDE_NONE ? stv_window_side_text(side) : "";
}

static json_t *window_object(const struct result *result, const struct stv_window *window)
{
    const struct stv_ledger *ledger = &result->chain->book.ledger;
    const struct stv_outlook *months = result->months;
    bool has = window->has_window != 0;
    json_t *object = json_object();
    stv_json_set(object, "cask", stv_json_text(ledger->casks[window->cask_idx].id));
    stv_json_set(object, "kind", stv_json_text(ledger->casks[window->cask_idx].kind_name));
    stv_json_set(object, "has_window", json_boolean(has));
    stv_json_set(object, "opens", month_or_null(months, window->open_idx, has));
    stv_json_set(object, "surest", month_or_null(months, window->surest_idx, has));
    stv_json_set(object, "closes", month_or_null(months, window->close_idx, has && window->closes));
    stv_json_set(object, "opens_by", stv_json_text(side_text(window->opens_by, has)));
    stv_json_set(object, "closes_by", stv_json_text(side_text(window->closes_by, has)));
    stv_json_set(object, "never_by", stv_json_text(side_text(window->never_by, !has)));
    stv_json_set(object, "surest_pct", stv_json_number(100.0 * window->surest_frac));
    stv_json_set(object, "bottles", stv_json_range(window->bottles_nd, 1.0));
    stv_json_set(object, "abv20_pct", stv_json_range(window->abv20_frac, 100.0));
    stv_json_set(object, "wood_index", stv_json_range(window->wood_nd, 1.0));
    stv_json_set(object, "wait_cost_bottles", stv_json_number(window->wait_cost_bottles_nd));
    stv_json_set(object, "wait_over_pct", stv_json_number(100.0 * window->wait_over_frac));
    stv_json_set(
        object, "had_water",
        json_boolean(stv_lineage_spirit(result->chain->lineage, window->cask_idx).had_water));
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    json_t *casks = json_array();
    for (size_t i = 0; i < all->bottling->n_windows; i++)
        stv_json_append(casks, window_object(all, &all->bottling->windows[i]));
    size_t n = all->months->n_days;
    stv_json_set(document, "from_date", month_or_null(all->months, 0, n > 0));
    stv_json_set(document, "to_date", month_or_null(all->months, n ? n - 1 : 0, n > 0));
    stv_json_set(document, "casks", casks);
    stv_json_warn(document, "Planning estimate. Not a loss account, not a duty account.");
}

static void add_csv_month(struct stv_sheet *table, const struct stv_outlook *months,
                          size_t month_idx, bool is_known)
{
    stv_sheet_add_text(table, is_known ? stv_format_iso_day(months->days_d[month_idx]).text : "");
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    stv_csv_heads(table, "cask,opens,surest,closes,opens_by,closes_by,never_by,surest_pct,bottles*,"
                         "abv20_pct*,wood_index*,wait_cost_bottles,wait_over_pct");
    for (size_t i = 0; i < all->bottling->n_windows; i++) {
        const struct stv_window *window = &all->bottling->windows[i];
        bool has = window->has_window != 0;
        stv_sheet_add_text(table, all->chain->book.ledger.casks[window->cask_idx].id);
        add_csv_month(table, all->months, window->open_idx, has);
        add_csv_month(table, all->months, window->surest_idx, has);
        add_csv_month(table, all->months, window->close_idx, has && window->closes);
        stv_sheet_add_text(table, side_text(window->opens_by, has));
        stv_sheet_add_text(table, side_text(window->closes_by, has));
        stv_sheet_add_text(table, side_text(window->never_by, !has));
        stv_csv_number(table, 100.0 * window->surest_frac);
        stv_csv_range(table, window->bottles_nd, 1.0);
        stv_csv_range(table, window->abv20_frac, 100.0);
        stv_csv_range(table, window->wood_nd, 1.0);
        stv_csv_number(table, window->wait_cost_bottles_nd);
        stv_csv_number(table, 100.0 * window->wait_over_frac);
    }
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_bottling(text, all->chain, all->months, all->bottling);
}

int stv_cmd_bottling(const struct stv_options *options)
{
    struct stv_session session;
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    struct stv_outlook months = {0};
    struct stv_bottling bottling = {0};
    size_t n_months = (size_t)stv_options_number(options, STV_OPT_MONTHS);
    enum stv_status status = stv_chain_bottling(&session.chain, n_months, &months, &bottling);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The windows could not be worked out: %s.",
                                stv_status_text(status));
    const struct result result = {&session.chain, &months, &bottling};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    stv_bottling_free(&bottling);
    stv_outlook_free(&months);
    return stv_session_close(&session, status);
}
