/* `forecast`: each cask now and later. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/cask_state.h"
#include "cli/day_list.h"
#include "cli/forecast_answer.h"
#include "cli/format.h"
#include "cli/messages.h"
#include "cli/session.h"
#include "cli/what_if.h"
#include "ingest/quantity.h"
#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX 768
#define YEARS_AHEAD 3
#define STANDARD_THRESHOLDS 5
#define WEAK_ABV20_FRAC \
    0.40 /* least strength of whisky in many countries; told beside the house's */

/* All that one call works with. */
struct work {
    struct stv_session *session;
    struct stv_forecast_answer answer;
    struct stv_forecast forecast;
    int *cask_idx;
    size_t n_casks;
    int64_t at_d[STV_OCCURRENCES_MAX];
    double ages_y[STV_OCCURRENCES_MAX];
    const char *sentences[STV_OCCURRENCES_MAX];
    struct stv_threshold thresholds[STV_OCCURRENCES_MAX + STANDARD_THRESHOLDS];
    size_t n_thresholds;
    struct stv_forecast_days days;
    struct stv_what_if what_if;
    struct stv_compare_pair *what_if_pairs, *cycling_pairs;
    int64_t *compare_d; /* days of comparisons */
    int64_t cycling_d[2];
    char why[WHY_MAX];
};

static void add_json(json_t *document, const void *result)
{
    stv_forecast_json(document, result);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    stv_forecast_csv(table, result);
}

static void add_text(struct stv_text *text, const void *result)
{
    stv_words_forecast(text, result);
}

/* The casks named, each once, in the order named, else all that are full.  *out is malloc'd. */
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
        size_t at = 0;
        while (at < *out_n && (*out)[at] != cask_idx)
            at++;
        (*out)[at] = cask_idx;
        *out_n += at == *out_n;
    }
    for (size_t i = 0; i < chain->book.ledger.n_casks && n_named == 0; i++)
        if (stv_fill_event(chain, (int)i) >= 0)
            (*out)[(*out_n)++] = (int)i;
    return STV_OK;
}

static struct stv_forecast_days days_of(struct work *work)
{
    const struct stv_options *options = work->session->options;
    struct stv_forecast_days days = {
        .until_day_d =
            stv_day_add_months(work->session->chain.as_of_day_d, YEARS_AHEAD * STV_MONTHS),
        .has_until = stv_options_has(options, STV_OPT_UNTIL),
        .months_apart =
            strcmp(stv_options_text(options, STV_OPT_EVERY), "month") == 0 ? 1 : STV_MONTHS,
        .at_d = work->at_d,
        .n_at = stv_options_count(options, STV_OPT_AT),
        .ages_y = work->ages_y,
        .n_ages = stv_options_count(options, STV_OPT_AGE),
    };
    for (size_t i = 0; i < days.n_at; i++)
        work->at_d[i] = stv_options_nth(options, STV_OPT_AT, i)->day_d;
    for (size_t i = 0; i < days.n_ages; i++)
        work->ages_y[i] = stv_options_nth(options, STV_OPT_AGE, i)->number;
    if (days.has_until)
        days.until_day_d = stv_options_day(options, STV_OPT_UNTIL);
    return days;
}

/* The first day on which a named cask was filled, or today. */
static int64_t first_fill_day(const struct stv_session *session, const int *cask_idx,
                              size_t n_casks)
{
    const struct stv_chain *chain = &session->chain;
    int64_t first_d = chain->as_of_day_d;
    for (size_t i = 0; stv_options_has(session->options, STV_OPT_CASK) && i < n_casks; i++) {
        int fill_idx = stv_fill_event(chain, cask_idx[i]);
        if (fill_idx >= 0 && chain->book.ledger.events[fill_idx].day_d < first_d)
            first_d = chain->book.ledger.events[fill_idx].day_d;
    }
    return first_d;
}

/* A house is asked for from today on; a named cask also for its past, but not before its fill. */
static enum stv_status check_until(const struct stv_session *session,
                                   const struct stv_forecast_days *days, int64_t least_d,
                                   char why[WHY_MAX])
{
    const struct stv_chain *chain = &session->chain;
    if (!days->has_until || (days->until_day_d >= least_d &&
                             days->until_day_d <= chain->as_of_day_d + STV_MOST_AHEAD_D))
        return STV_OK;
    snprintf(why, WHY_MAX, "--until must lie between %s and 60 years after %s.",
             stv_format_iso_day(least_d).text, stv_format_iso_day(chain->as_of_day_d).text);
    return STV_E_USAGE;
}

static void note_days_before(const struct stv_session *session,
                             const struct stv_forecast_days *days, int64_t first_d)
{
    for (size_t i = 0; stv_options_has(session->options, STV_OPT_CASK) && i < days->n_at; i++)
        if (days->at_d[i] < first_d)
            stv_messages_note(
                session->options, "--at %s has no row: the first of these casks was filled on %s.",
                stv_format_iso_day(days->at_d[i]).text, stv_format_iso_day(first_d).text);
}

/* --- levels ------------------------------------------------------------------------------- */

static void add_threshold(struct work *work, enum stv_quantity quantity, double value,
                          bool is_fallen_to)
{
    for (size_t t = 0; t < work->n_thresholds; t++)
        if (work->thresholds[t].quantity == quantity && work->thresholds[t].level.value == value)
            return;
    work->thresholds[work->n_thresholds++] =
        (struct stv_threshold){quantity, {value, is_fallen_to}};
}

/* "52 %vol" or "150 L". */
static enum stv_status read_level(struct work *work, const char *text)
{
    char reason[WHY_MAX / 2];
    double value;
    if (stv_quantity_parse(text, STV_DIM_STRENGTH, NULL, &value, reason, sizeof reason) == STV_OK)
        add_threshold(work, STV_Q_ABV20_FRAC, value, true);
    else if (stv_quantity_parse(text, STV_DIM_VOLUME, NULL, &value, reason, sizeof reason) ==
             STV_OK)
        add_threshold(work, STV_Q_VOLUME20_L, value, true);
    else {
        snprintf(work->why, sizeof work->why,
                 "--falls-to \"%.60s\" is neither a strength, like \"52 %%vol\", nor litres, like "
                 "\"150 L\".",
                 text);
        return STV_E_USAGE;
    }
    return STV_OK;
}

/* What was asked for; of casks that are named also the levels that a house has. */
static enum stv_status read_levels(struct work *work, bool is_named)
{
    const struct stv_options *options = work->session->options;
    const struct stv_house_rules *rules = &work->session->chain.book.rules;
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < stv_options_count(options, STV_OPT_FALLS_TO) && status == STV_OK; i++)
        status = read_level(work, stv_options_nth(options, STV_OPT_FALLS_TO, i)->text);
    if (status != STV_OK || !is_named)
        return status;
    add_threshold(work, STV_Q_ABV20_FRAC, rules->least_abv20_frac, true);
    add_threshold(work, STV_Q_ABV20_FRAC, WEAK_ABV20_FRAC, true);
    add_threshold(work, STV_Q_WOOD_INDEX_ND, rules->wood_least_nd, false);
    add_threshold(work, STV_Q_WOOD_INDEX_ND, rules->wood_most_nd, false);
    add_threshold(work, STV_Q_VOLUME20_L, STV_DRY_L, true);
    return STV_OK;
}

/* --- comparisons -------------------------------------------------------------------------- */

/* Days of what could be done, days that were asked for after them, and the end. */
static size_t compared_days(struct work *work)
{
    const struct stv_what_if *what_if = &work->what_if;
    int64_t first_d = INT64_MAX, *days_d = work->compare_d;
    size_t n = 0;
    for (size_t i = 0; i < what_if->n_events; i++) {
        first_d = what_if->events[i].day_d < first_d ? what_if->events[i].day_d : first_d;
        days_d[n++] = what_if->events[i].day_d;
    }
    for (size_t i = 0; i < work->days.n_at; i++)
        if (work->at_d[i] > first_d && work->at_d[i] < work->days.until_day_d)
            days_d[n++] = work->at_d[i];
    days_d[n++] = work->days.until_day_d;
    return stv__days_once(days_d, n);
}

/* Adds a cask that holds spirit today with the one that will hold it, each once. */
static void add_pair(struct work *work, int cask_idx)
{
    struct stv_comparison *told = &work->answer.what_if;
    if (cask_idx < 0 || stv_fill_event(&work->session->chain, cask_idx) < 0)
        return;
    for (size_t p = 0; p < told->n_pairs; p++)
        if (work->what_if_pairs[p].cask_idx == cask_idx)
            return;
    work->what_if_pairs[told->n_pairs++] =
        (struct stv_compare_pair){cask_idx, stv_what_if_holder(&work->what_if, cask_idx)};
}

/* What would not fit is said with its pair, and wants a look. */
static void look_for_room(struct work *work)
{
    const struct stv_comparison *told = &work->answer.what_if;
    for (size_t p = 0; p < told->n_pairs; p++)
        for (size_t d = 0; d < told->n_days; d++)
            work->session->chain.needs_attention |=
                stv_compared_is_overfull(&work->session->chain.book.ledger, told, p, d);
}

static enum stv_status compare_what_if(struct work *work)
{
    const struct stv_chain *chain = &work->session->chain;
    size_t n = stv_options_count(work->session->options, STV_OPT_WHAT_IF);
    double gain_per_k = chain->book.params.cycling_gain_per_k;
    for (size_t i = 0; i < n; i++)
        work->sentences[i] = stv_options_nth(work->session->options, STV_OPT_WHAT_IF, i)->text;
    work->answer.sentences = work->sentences;
    work->answer.n_sentences = n;
    if (n == 0)
        return STV_OK;
    enum stv_status status = stv_what_if_read(chain, work->sentences, n, work->days.until_day_d,
                                              &work->what_if, work->why, sizeof work->why);
    if (status != STV_OK)
        return status;
    work->what_if_pairs = malloc(2 * n * sizeof *work->what_if_pairs);
    work->compare_d = malloc((n + work->days.n_at + 1) * sizeof *work->compare_d);
    if (!work->what_if_pairs || !work->compare_d)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        work->answer.is_done[work->what_if.events[i].kind] = true;
        add_pair(work, work->what_if.events[i].cask_idx);
        add_pair(work, work->what_if.events[i].other_idx);
    }
    const struct stv_compare_ask ask = {
        .one = {&chain->book.ledger, gain_per_k},
        .other = {&work->what_if.ledger, gain_per_k},
        .pairs = work->what_if_pairs,
        .n_pairs = work->answer.what_if.n_pairs,
        .days_d = work->compare_d,
        .n_days = compared_days(work),
    };
    status = stv_compare(chain, &ask, &work->answer.what_if);
    if (status == STV_OK)
        look_for_room(work);
    return status;
}

/* The casks asked for, now and at the end, without and with swings counted. */
static enum stv_status compare_cycling(struct work *work)
{
    const struct stv_chain *chain = &work->session->chain;
    const struct stv_options *options = work->session->options;
    size_t n = 0;
    work->answer.cycling_gain_per_k = (double)NAN;
    if (!stv_options_has(options, STV_OPT_CYCLING))
        return STV_OK;
    work->answer.cycling_gain_per_k = stv_options_number(options, STV_OPT_CYCLING);
    work->cycling_pairs = malloc((work->n_casks + 1) * sizeof *work->cycling_pairs);
    if (!work->cycling_pairs)
        return STV_E_MEMORY;
    for (size_t i = 0; i < work->n_casks; i++)
        if (stv_fill_event(chain, work->cask_idx[i]) >= 0)
            work->cycling_pairs[n++] =
                (struct stv_compare_pair){work->cask_idx[i], work->cask_idx[i]};
    work->cycling_d[0] = chain->as_of_day_d;
    work->cycling_d[1] = work->days.until_day_d;
    const struct stv_compare_ask ask = {
        .one = {&chain->book.ledger, 0.0},
        .other = {&chain->book.ledger, work->answer.cycling_gain_per_k},
        .pairs = work->cycling_pairs,
        .n_pairs = n,
        .days_d = work->cycling_d,
        .n_days = work->cycling_d[1] > work->cycling_d[0] ? 2 : 1,
    };
    return stv_compare(chain, &ask, &work->answer.cycling);
}

/* ------------------------------------------------------------------------------------------- */

static enum stv_forecast_by by_of(const struct stv_options *options)
{
    static const char *const words[] = {[STV_BY_CASK] = "cask",
                                        [STV_BY_LOT] = "lot",
                                        [STV_BY_TIER] = "tier",
                                        [STV_BY_HOUSE] = "house"};
    enum stv_forecast_by by = STV_BY_CASK;
    while (strcmp(words[by], stv_options_text(options, STV_OPT_BY)) != 0)
        by++;
    return by;
}

/* Days that were asked for and are rows of no answer. */
static void note_days_untold(const struct stv_options *options)
{
    bool has_compared_days = stv_options_has(options, STV_OPT_WHAT_IF);
    if (stv_options_has(options, STV_OPT_AGE) || stv_options_has(options, STV_OPT_EVERY) ||
        (stv_options_has(options, STV_OPT_AT) && !has_compared_days))
        stv_messages_note(options,
                          "--at, --age and --every say nothing here: they tell of casks named by "
                          "--cask, or of each cask in --json and --csv without --by.");
}

static enum stv_status make_forecast(struct work *work)
{
    const struct stv_options *options = work->session->options;
    bool is_named = stv_options_has(options, STV_OPT_CASK);
    enum stv_forecast_by by = by_of(options);
    bool is_table = stv_options_has(options, STV_OPT_JSON) || stv_options_has(options, STV_OPT_CSV);
    const struct stv_forecast_ask ask = {
        .cask_idx = work->cask_idx,
        .n_casks = work->n_casks,
        .is_named = is_named,
        .has_paths = by == STV_BY_CASK && (is_named || is_table),
        .by = by,
        .days = work->days,
        .thresholds = work->thresholds,
        .n_thresholds = work->n_thresholds,
    };
    if (!ask.has_paths)
        note_days_untold(options);
    work->answer.by = by;
    work->answer.is_each_in_full = is_named;
    return stv_forecast_make(&work->session->chain, &ask, &work->forecast);
}

static enum stv_status do_work(struct work *work)
{
    struct stv_session *session = work->session;
    bool is_named = stv_options_has(session->options, STV_OPT_CASK);
    enum stv_status status =
        choose_casks(session, &work->cask_idx, &work->n_casks, work->why, sizeof work->why);
    work->days = days_of(work);
    int64_t first_d = first_fill_day(session, work->cask_idx, work->n_casks);
    note_days_before(session, &work->days, first_d);
    if (status == STV_OK)
        status = check_until(session, &work->days, first_d, work->why);
    if (status == STV_OK)
        status = read_levels(work, is_named);
    if (status == STV_OK)
        status = compare_what_if(work);
    if (status == STV_OK)
        status = compare_cycling(work);
    if (status == STV_OK)
        status = make_forecast(work);
    return status;
}

static void free_work(struct work *work)
{
    stv_comparison_free(&work->answer.what_if);
    stv_comparison_free(&work->answer.cycling);
    stv_what_if_free(&work->what_if);
    stv_forecast_free(&work->forecast);
    free(work->cask_idx);
    free(work->what_if_pairs);
    free(work->cycling_pairs);
    free(work->compare_d);
    free(work);
}

int stv_cmd_forecast(const struct stv_options *options)
{
    struct stv_session session;
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    struct work *work = calloc(1, sizeof *work);
    if (!work)
        return stv_session_fail(&session, STV_E_MEMORY, "%s", stv_status_text(STV_E_MEMORY));
    work->session = &session;
    work->answer.chain = &session.chain;
    work->answer.forecast = &work->forecast;
    enum stv_status status = do_work(work);
    if (status != STV_OK) {
        char why[WHY_MAX];
        snprintf(why, sizeof why, "%s%s",
                 work->why[0] ? work->why : "The casks could not be followed: ",
                 work->why[0] ? "" : stv_status_text(status));
        free_work(work);
        return stv_session_fail(&session, status, "%s", why);
    }
    const struct stv_answer answer = {&work->answer, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    free_work(work);
    return stv_session_close(&session, status);
}
