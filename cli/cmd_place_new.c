/* `place --new`: kinds of casks and fill strengths before they are bought. */
#include "cli/cmd_place.h"

#include "cli/answer.h"
#include "cli/bench.h"
#include "cli/bench_limit.h"
#include "cli/csv.h"
#include "cli/words.h"
#include "cli/words_place_new.h"
#include "ingest/fill_words.h"
#include "model/cask_room.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX 384
#define PLACES_MOST 24

struct buying {
    struct stv_cask casks[STV_PLACE_NEW_MAX];
    struct stv_event events[STV_PLACE_NEW_MAX];
    int cask_idx[STV_PLACE_NEW_MAX], is_barred[STV_PLACE_NEW_MAX];
    size_t n;
    struct stv_place places[PLACES_MOST];
    size_t n_places;
};

/* Adds a cask for each strength; alike in id, so that all are tried with the same draws. */
static void add_casks(struct buying *buying, const struct stv_fill_words *words, int64_t day_d)
{
    for (size_t s = 0; s < words->n_strengths; s++) {
        size_t c = buying->n++;
        buying->casks[c] = words->cask;
        snprintf(buying->casks[c].id, sizeof buying->casks[c].id, "new cask");
        buying->cask_idx[c] = (int)c;
        buying->events[c] = (struct stv_event){
            .day_d = day_d,
            .kind = STV_EVENT_FILL,
            .cask_idx = (int)c,
            .other_idx = -1,
            .volume20_l = isnan(words->litres_l)
                              ? STV_USUAL_FILL_FRAC * words->cask.geometry.capacity_l
                              : words->litres_l,
            .abv20_frac = words->strengths_frac[s],
            .water_kg = NAN,
            .place = {-1, -1, -1, -1},
            .row = c,
        };
    }
}

static enum stv_status read_words(const struct stv_session *session, struct buying *buying,
                                  char *why, size_t size)
{
    const struct stv_options *options = session->options;
    for (size_t i = 0; i < stv_options_count(options, STV_OPT_BUY); i++) {
        const char *text = stv_options_nth(options, STV_OPT_BUY, i)->text;
        char reason[WHY_MAX / 2];
        struct stv_fill_words words;
        enum stv_status status =
            stv_fill_words_read(text, &session->chain.book.numbers, &words, reason, sizeof reason);
        if (status == STV_OK && (words.n_casks || !isnan(words.plan_y))) {
            snprintf(reason, sizeof reason,
                     "a number of casks or a plan does not count before buying");
            status = STV_E_PARSE;
        } else if (status == STV_OK && buying->n + words.n_strengths > STV_PLACE_NEW_MAX) {
            snprintf(reason, sizeof reason, "more than %d casks are too many for one page",
                     STV_PLACE_NEW_MAX);
            status = STV_E_PARSE;
        }
        if (status != STV_OK) {
            snprintf(why, size,
                     "--new \"%.60s\": %s. Write it as \"new oak 200 L at 55, 60, 63.5 %%\".", text,
                     reason);
            return STV_E_USAGE;
        }
        add_casks(buying, &words, session->chain.as_of_day_d);
    }
    return STV_OK;
}

/* The lowest, the middle and the highest tier of each store, as far as their air differs. */
static void find_places(const struct stv_chain *chain, struct buying *buying)
{
    for (int w = 0; w < (int)chain->book.n_warehouses; w++) {
        int last = (int)chain->book.warehouses[w].building.n_tiers - 1;
        const int tiers[3] = {0, last / 2, last};
        for (int i = 0; i < 3 && buying->n_places < PLACES_MOST; i++) {
            struct stv_place place = {w, tiers[i], -1, -1};
            size_t position_idx = stv_position_of_place(&chain->set, &place);
            bool is_told = false;
            for (size_t k = 0; k < buying->n_places; k++)
                is_told |= stv_position_of_place(&chain->set, &buying->places[k]) == position_idx;
            if (!is_told)
                buying->places[buying->n_places++] = place;
        }
    }
}

struct result {
    const struct stv_chain *chain;
    const struct stv_place_new *told;
};

static json_t *outcome_list(const struct stv_chain *chain, const struct stv_place_new *told,
                            size_t c)
{
    const struct stv_new_result *result = told->result;
    json_t *list = json_array();
    for (size_t p = 0; p < result->n_places; p++)
        for (size_t a = 0; a < result->n_ages; a++) {
            const struct stv_new_outcome *outcome =
                &result->outcomes[(c * result->n_places + p) * result->n_ages + a];
            bool is_planned = a + 1 == result->n_ages;
            json_t *object = stv_json_place_object(chain, &told->wish->places[p]);
            stv_json_set(
                object, "age_y",
                stv_json_number(is_planned ? told->wish->planned_age_y : told->wish->ages_y[a]));
            stv_json_set(object, "is_planned_age", json_boolean(is_planned));
            stv_json_set(object, "abv20_pct", stv_json_range(outcome->abv20_frac, 100.0));
            stv_json_set(object, "wood_index", stv_json_range(outcome->wood_nd, 1.0));
            stv_json_set(object, "still_fruit_index", stv_json_range(outcome->fruit_nd, 1.0));
            stv_json_set(object, "bottles", stv_json_range(outcome->bottles_nd, 1.0));
            stv_json_set(object, "too_weak_pct", stv_json_number(100.0 * outcome->too_weak_frac));
            stv_json_append(list, object);
        }
    return list;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    const struct stv_place_new *told = all->told;
    json_t *casks = json_array();
    stv_json_set(document, "from_date", stv_json_day(all->chain->as_of_day_d));
    stv_json_set(document, "least_abv20_pct",
                 stv_json_number(100.0 * told->wish->least_abv20_frac));
    for (size_t c = 0; c < told->result->n_casks; c++) {
        const struct stv_place_score *score = &told->result->scores[c];
        json_t *object = json_object();
        stv_json_set(object, "kind", stv_json_text(told->ledger->casks[c].kind_name));
        stv_json_set(object, "filled_l", stv_json_number(told->ledger->events[c].volume20_l));
        stv_json_set(object, "filled_abv20_pct",
                     stv_json_number(100.0 * told->ledger->events[c].abv20_frac));
        stv_json_set(object, "is_over_entry_limit",
                     told->market ? json_boolean(told->is_over_entry[c]) : json_null());
        stv_json_set(object, "is_too_large",
                     told->market ? json_boolean(told->is_too_large[c]) : json_null());
        stv_json_set(object, "is_best", json_boolean(c == told->result->best_idx));
        stv_json_set(object, "is_as_good", json_boolean(score->as_good != 0));
        stv_json_set(object, "bottles_per_100_lpa", stv_json_range(score->bottles_nd, 1.0));
        stv_json_set(object, "bottles_per_100_lpa_against_best",
                     stv_json_number(score->bottles_against_best_nd));
        stv_json_set(object, "outcomes", outcome_list(all->chain, told, c));
        stv_json_append(casks, object);
    }
    stv_json_set(document, "casks", casks);
    stv_json_caution_by(document, stv_words_caution_room);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    const struct stv_place_new *told = all->told;
    const struct stv_new_result *outcomes = told->result;
    stv_csv_heads(table, "kind,filled_l,filled_abv20_pct,over_entry_limit,too_large,as_good,tier,"
                         "age_y,abv20_pct*,wood_index*,still_fruit_index*,bottles*,too_weak_pct");
    for (size_t c = 0; c < outcomes->n_casks; c++)
        for (size_t p = 0; p < outcomes->n_places; p++)
            for (size_t a = 0; a < outcomes->n_ages; a++) {
                const struct stv_new_outcome *outcome =
                    &outcomes->outcomes[(c * outcomes->n_places + p) * outcomes->n_ages + a];
                stv_sheet_add_text(table, told->ledger->casks[c].kind_name);
                stv_csv_number(table, told->ledger->events[c].volume20_l);
                stv_csv_number(table, 100.0 * told->ledger->events[c].abv20_frac);
                stv_csv_number(table, told->is_over_entry[c]);
                stv_csv_number(table, told->is_too_large[c]);
                stv_csv_number(table, outcomes->scores[c].as_good);
                stv_sheet_add_text(table,
                                   stv_words_place_of(all->chain, &told->wish->places[p]).text);
                stv_csv_number(table, a + 1 == outcomes->n_ages ? told->wish->planned_age_y
                                                                : told->wish->ages_y[a]);
                stv_csv_range(table, outcome->abv20_frac, 100.0);
                stv_csv_range(table, outcome->wood_nd, 1.0);
                stv_csv_range(table, outcome->fruit_nd, 1.0);
                stv_csv_range(table, outcome->bottles_nd, 1.0);
                stv_csv_number(table, 100.0 * outcome->too_weak_frac);
            }
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_place_new(text, all->chain, all->told);
}

/* What the market forbids, before anything is run. */
static void hold_against(const struct stv_market *market, struct buying *buying,
                         struct stv_place_new *told)
{
    for (size_t c = 0; c < buying->n; c++) {
        told->is_over_entry[c] = stv_market_is_too_strong(market, buying->events[c].abv20_frac);
        told->is_too_large[c] =
            stv_market_is_too_large(market, buying->casks[c].geometry.capacity_l);
        buying->is_barred[c] = told->is_over_entry[c] || told->is_too_large[c];
    }
}

static int answer(struct stv_session *session, struct buying *buying)
{
    struct stv_chain *chain = &session->chain;
    const struct stv_market *market = chain->named.market;
    const struct stv_ledger ledger = {buying->casks, buying->n, buying->events, buying->n};
    struct stv_new_wish wish = {.from_day_d = chain->as_of_day_d,
                                .cask_idx = buying->cask_idx,
                                .n_casks = buying->n,
                                .places = buying->places,
                                .n_places = buying->n_places,
                                .ages_y = {3.0, 5.0, 8.0},
                                .n_ages = 3,
                                .planned_age_y = chain->book.rules.planned_age_y,
                                .is_barred = buying->is_barred,
                                .least_abv20_frac = chain->book.rules.least_abv20_frac};
    struct stv_new_result outcomes;
    struct stv_place_new told = {
        .ledger = &ledger, .wish = &wish, .result = &outcomes, .market = market};
    hold_against(market, buying, &told);
    struct stv_outlook_request request = stv_chain_request(chain);
    request.ledger = &ledger;
    enum stv_status status = stv_new_compare(&request, &wish, &outcomes);
    if (status != STV_OK)
        return stv_session_fail(session, status, "The casks could not be judged: %s.",
                                stv_status_text(status));
    for (size_t c = 0; c < buying->n; c++)
        chain->needs_attention |= buying->is_barred[c] != 0;
    const struct result result = {chain, &told};
    const struct stv_answer written = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(session->options, chain, &chain->problems, &written);
    stv_new_result_free(&outcomes);
    return stv_session_close(session, status);
}

int stv__place_new(struct stv_session *session)
{
    char why[WHY_MAX];
    struct buying *buying = calloc(1, sizeof *buying);
    int code;
    if (!buying)
        return stv_session_fail(session, STV_E_MEMORY, "%s", stv_status_text(STV_E_MEMORY));
    if (read_words(session, buying, why, sizeof why) != STV_OK) {
        code = stv_session_fail(session, STV_E_USAGE, "%s", why);
    } else {
        find_places(&session->chain, buying);
        code = answer(session, buying);
    }
    free(buying);
    return code;
}
