/* `forecast`: each cask now and later. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/cask_state.h"
#include "cli/csv.h"
#include "cli/forecast.h"
#include "cli/format.h"
#include "cli/json_lineage.h"
#include "cli/session.h"
#include "cli/words.h"
#include "ingest/quantity.h"
#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX 256
#define MOST_AHEAD_D (60 * 366) /* no cask is planned further */
#define YEARS_AHEAD 3

struct result {
    const struct stv_chain *chain;
    const struct stv_forecast *forecast;
    bool is_each_in_full;
};

/* Which quantity stands under which key; the keys asked of every cask come first. */
static const struct {
    const char *key;
    enum stv_quantity quantity;
    double factor_nd;
} keys[] = {
    {"volume20_l", STV_Q_VOLUME20_L, 1.0},
    {"abv20_pct", STV_Q_ABV20_FRAC, 100.0},
    {"lpa_l", STV_Q_LPA_L, 1.0},
    {"water_lost_kg", STV_Q_WATER_LOST_KG, 1.0},
    {"ethanol_lost_kg", STV_Q_ETHANOL_LOST_KG, 1.0},
    {"wood_index", STV_Q_WOOD_INDEX_ND, 1.0},
    {"cask_esters_index", STV_Q_CASK_ESTERS_ND, 1.0},
    {"still_fruit_index", STV_Q_STILL_FRUIT_ND, 1.0},
    {"wood_air_lpa_l", STV_Q_AIR_LPA_L, 1.0},
    {"joints_lpa_l", STV_Q_JOINT_LPA_L, 1.0},
    {"indrink_lpa_l", STV_Q_INDRINK_LPA_L, 1.0},
    {"samples_lpa_l", STV_Q_SAMPLE_LPA_L, 1.0},
    {"bottles", STV_Q_BOTTLES_ND, 1.0},
};
#define KEYS_N (sizeof keys / sizeof keys[0])

static json_t *row_object(const struct stv_forecast_row *row)
{
    json_t *object = json_object();
    stv_json_set(object, "date", stv_json_day(row->day_d));
    for (size_t i = 0; i < KEYS_N; i++)
        stv_json_set(object, keys[i].key,
                     stv_json_range(row->quantity[keys[i].quantity], keys[i].factor_nd));
    stv_json_set(object, "is_in_weather_record", json_boolean(row->is_in_record));
    return object;
}

static json_t *gauge_object(const struct stv_chain *chain, const struct stv_forecast_cask *cask)
{
    if (cask->gauge_idx < 0)
        return json_null();
    const struct stv_gauge *gauge = &chain->book.gauges[cask->gauge_idx];
    json_t *object = json_object();
    stv_json_set(object, "date", stv_json_day(gauge->day_d));
    stv_json_set(object, "volume20_l", stv_json_number(gauge->volume20_l));
    stv_json_set(object, "volume20_sd_l", stv_json_number(gauge->volume_sd_l));
    stv_json_set(object, "abv20_pct", stv_json_number(100.0 * gauge->abv20_frac));
    stv_json_set(object, "expected_volume20_l",
                 stv_json_range(cask->at_gauge.quantity[STV_Q_VOLUME20_L], 1.0));
    return object;
}

static json_t *cask_object(const struct stv_chain *chain, const struct stv_forecast_cask *cask)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    bool is_full = cask->fill_idx >= 0;
    struct stv_place place = stv_lineage_place(chain->lineage, cask->cask_idx);
    json_t *object = json_object();
    stv_json_set(object, "cask", stv_json_text(ledger->casks[cask->cask_idx].id));
    stv_json_set(object, "kind", stv_json_text(ledger->casks[cask->cask_idx].kind_name));
    stv_json_set(object, "is_full", json_boolean(is_full));
    stv_json_set(object, "position", stv_json_place_object(chain, &place));
    stv_json_set(object, "filled",
                 is_full ? stv_json_day(ledger->events[cask->fill_idx].day_d) : json_null());
    stv_json_set(object, "had_water",
                 json_boolean(stv_lineage_spirit(chain->lineage, cask->cask_idx).had_water));
    stv_json_set(object, "lineage", stv_json_lineage(chain, cask->cask_idx));
    stv_json_set(object, "now", is_full ? row_object(&cask->now) : json_null());
    stv_json_set(object, "last_gauge", gauge_object(chain, cask));
    json_t *path = json_array();
    for (size_t i = 0; i < cask->n_rows; i++)
        stv_json_append(path, row_object(&cask->rows[i]));
    stv_json_set(object, "path", path);
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *both = result;
    const struct stv_forecast *forecast = both->forecast;
    json_t *casks = json_array();
    for (size_t i = 0; i < forecast->n_casks; i++)
        stv_json_append(casks, cask_object(both->chain, &forecast->casks[i]));
    stv_json_set(document, "casks", casks);
    json_t *house = json_object();
    stv_json_set(house, "full", json_integer((json_int_t)forecast->n_full));
    stv_json_set(house, "empty", json_integer((json_int_t)forecast->n_empty));
    if (forecast->n_full > 0) {
        stv_json_set(house, "lpa_l", stv_json_range(forecast->now.lpa_l, 1.0));
        stv_json_set(house, "bottles", stv_json_range(forecast->now.bottles_nd, 1.0));
        stv_json_set(house, "casks_too_weak", json_integer((json_int_t)forecast->now.n_weak));
        stv_json_set(house, "casks_overfull", json_integer((json_int_t)forecast->now.n_overfull));
    }
    stv_json_set(document, "house", house);
    stv_json_set(document, "balance_residual_frac",
                 stv_json_number(forecast->balance_residual_frac));
    stv_json_warn(document, "Planning estimate. Not a loss account, not a duty account.");
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *both = result;
    struct stv_text names = {0};
    stv_text_add(&names, "cask,date");
    for (size_t i = 0; i < KEYS_N; i++)
        stv_text_format(&names, ",%s*", keys[i].key);
    stv_csv_heads(table, stv_text_string(&names));
    table->has_failed = table->has_failed || names.has_failed;
    stv_text_free(&names);
    for (size_t i = 0; i < both->forecast->n_casks; i++) {
        const struct stv_forecast_cask *cask = &both->forecast->casks[i];
        for (size_t k = 0; k < cask->n_rows; k++) {
            stv_sheet_add_text(table, both->chain->book.ledger.casks[cask->cask_idx].id);
            stv_sheet_add_text(table, stv_format_iso_day(cask->rows[k].day_d).text);
            for (size_t j = 0; j < KEYS_N; j++)
                stv_csv_range(table, cask->rows[k].quantity[keys[j].quantity], keys[j].factor_nd);
        }
    }
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *both = result;
    stv_words_forecast(text, both->chain, both->forecast, both->is_each_in_full);
}

/* The casks named, in the order named, else all that are full.  *out is malloc'd. */
static enum stv_status choose_casks(const struct stv_session *session, int **out, size_t *out_n,
                                    char *why, size_t size)
{
    const struct stv_chain *chain = &session->chain;
    size_t n_named = stv_options_count(session->options, STV_OPT_CASK);
    size_t most = n_named ? n_named : chain->book.ledger.n_casks;
    *out_n = 0;
    *out = malloc((most ? most : 1) * sizeof **out);
    if (!*out)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n_named; i++) {
        const char *id = stv_options_nth(session->options, STV_OPT_CASK, i)->text;
        int cask_idx = stv_session_cask(session, id, why, size);
        if (cask_idx < 0)
            return STV_E_USAGE;
        (*out)[(*out_n)++] = cask_idx;
    }
    for (size_t i = 0; i < chain->book.ledger.n_casks && n_named == 0; i++)
        if (stv_fill_event(chain, (int)i) >= 0)
            (*out)[(*out_n)++] = (int)i;
    return STV_OK;
}

static struct stv_forecast_days days_of(const struct stv_session *session, int64_t *at_d)
{
    const struct stv_options *options = session->options;
    size_t n_at = stv_options_count(options, STV_OPT_AT);
    for (size_t i = 0; i < n_at; i++)
        at_d[i] = stv_options_nth(options, STV_OPT_AT, i)->day_d;
    struct stv_forecast_days days = {
        .until_day_d = stv_day_add_months(session->chain.as_of_day_d, YEARS_AHEAD * STV_MONTHS),
        .has_until = stv_options_has(options, STV_OPT_UNTIL),
        .months_apart =
            strcmp(stv_options_text(options, STV_OPT_EVERY), "month") == 0 ? 1 : STV_MONTHS,
        .at_d = at_d,
        .n_at = n_at,
    };
    if (days.has_until)
        days.until_day_d = stv_options_day(options, STV_OPT_UNTIL);
    return days;
}

/* A house is asked for from today on; a named cask also for its past, but not before its fill. */
static enum stv_status check_until(const struct stv_session *session,
                                   const struct stv_forecast_days *days, const int *cask_idx,
                                   size_t n_casks, char why[WHY_MAX])
{
    const struct stv_chain *chain = &session->chain;
    int64_t least_d = chain->as_of_day_d;
    if (!days->has_until)
        return STV_OK;
    for (size_t i = 0; stv_options_has(session->options, STV_OPT_CASK) && i < n_casks; i++) {
        int fill_idx = stv_fill_event(chain, cask_idx[i]);
        if (fill_idx >= 0 && chain->book.ledger.events[fill_idx].day_d < least_d)
            least_d = chain->book.ledger.events[fill_idx].day_d;
    }
    if (days->until_day_d >= least_d && days->until_day_d <= chain->as_of_day_d + MOST_AHEAD_D)
        return STV_OK;
    snprintf(why, WHY_MAX, "--until must lie between %s and 60 years after %s.",
             stv_format_iso_day(least_d).text, stv_format_iso_day(chain->as_of_day_d).text);
    return STV_E_USAGE;
}

int stv_cmd_forecast(const struct stv_options *options)
{
    struct stv_session session;
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    char why[WHY_MAX] = "";
    int *cask_idx = NULL;
    size_t n_casks = 0;
    int64_t at_d[STV_OCCURRENCES_MAX];
    struct stv_forecast forecast = {0};
    enum stv_status status = choose_casks(&session, &cask_idx, &n_casks, why, sizeof why);
    struct stv_forecast_days days = days_of(&session, at_d);
    if (status == STV_OK)
        status = check_until(&session, &days, cask_idx, n_casks, why);
    if (status == STV_OK) {
        status = stv_forecast_make(&session.chain, cask_idx, n_casks, &days, &forecast);
    }
    free(cask_idx);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "%s%s",
                                why[0] ? why : "The casks could not be followed: ",
                                why[0] ? "" : stv_status_text(status));
    const struct result result = {&session.chain, &forecast,
                                  stv_options_has(options, STV_OPT_CASK)};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    stv_forecast_free(&forecast);
    return stv_session_close(&session, status);
}
