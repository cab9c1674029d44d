/* `place`: which free place suits a cask; and who answers its other questions. */
#include "cli/cmd_place.h"

#include "cli/answer.h"
#include "cli/cask_state.h"
#include "cli/commands.h"
#include "cli/csv.h"
#include "cli/place_cask.h"
#include "cli/session.h"
#include "cli/words.h"

#include <stdio.h>

struct result {
    const struct stv_chain *chain;
    const struct stv_place_cask *told;
};

const char *stv__reach_key(enum stv_reach reach)
{
    switch (reach) {
    case STV_REACH_HAND:
        return "hand";
    case STV_REACH_LIFT:
        return "lift";
    case STV_REACH_BEHIND:
        return "behind another cask";
    }
    return "unknown";
}

static json_t *score_object(const struct result *result, size_t i)
{
    const struct stv_place_score *score = &result->told->placement.scores[i];
    const struct stv_free_place *free_place = &result->told->free_places[score->free_idx];
    const struct stv_place *place = &free_place->place;
    /* The place's own keys stand beside the rank: a row reads without going a level down. */
    json_t *object = stv_json_place_object(result->chain, place);
    stv_json_set(object, "rank", json_integer((json_int_t)i + 1));
    stv_json_set(object, "place", stv_json_text(stv_words_place_of(result->chain, place).text));
    stv_json_set(object, "bottles", stv_json_range(score->bottles_nd, 1.0));
    stv_json_set(object, "bottles_against_best", stv_json_number(score->bottles_against_best_nd));
    stv_json_set(object, "abv20_pct", stv_json_range(score->abv20_frac, 100.0));
    stv_json_set(object, "lpa_l", stv_json_range(score->lpa_l, 1.0));
    stv_json_set(object, "water_kg", stv_json_range(score->water_kg, 1.0));
    stv_json_set(object, "wood_index", stv_json_range(score->wood_nd, 1.0));
    stv_json_set(object, "still_fruit_index", stv_json_range(score->fruit_nd, 1.0));
    stv_json_set(object, "wood_inside_pct", stv_json_number(100.0 * score->wood_ok_frac));
    stv_json_set(object, "strength_reached_pct", stv_json_number(100.0 * score->abv_ok_frac));
    stv_json_set(object, "is_as_good", json_boolean(score->as_good != 0));
    stv_json_set(object, "reach", stv_json_text(stv__reach_key(free_place->reach)));
    stv_json_set(object, "blocked_by", stv_json_text(free_place->blocked_by));
    stv_json_set(object, "plate_for_one_kg", stv_json_number(free_place->most_kg));
    stv_json_set(object, "is_present", json_boolean(free_place->is_present != 0));
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    const struct stv_place_cask *told = all->told;
    const struct stv_placement *placement = &told->placement;
    stv_json_set(document, "cask",
                 stv_json_text(all->chain->book.ledger.casks[placement->cask_idx].id));
    stv_json_set(document, "from_date", stv_json_day(all->chain->as_of_day_d));
    stv_json_set(document, "target_date", stv_json_day(placement->target_day_d));
    stv_json_set(document, "matters", json_boolean(placement->is_matter != 0));
    stv_json_set(document, "margin_bottles", stv_json_number(placement->margin_bottles_nd));
    stv_json_set(document, "is_filled_for_trial", json_boolean(told->is_filled_for_trial != 0));
    stv_json_set(document, "awaits_planned_water",
                 json_boolean(stv_place_awaits_water(all->chain, told)));
    int leave_idx = stv_planned_leave(all->chain, told->cask_idx);
    stv_json_set(document, "leaves_by_plan",
                 leave_idx < 0
                     ? json_null()
                     : stv_json_day(all->chain->book.ledger.events[leave_idx].day_d));
    stv_json_set(document, "rank_1_with_other_taste",
                 json_integer((json_int_t)placement->other_taste_idx + 1));
    stv_json_set(document, "weight_kg", stv_json_number(told->mass_kg));
    stv_json_set(document, "is_over_plate_now",
                 json_boolean(told->mass_kg > told->present_plate_kg));
    stv_json_set(document, "left_out_for_plate", json_integer((json_int_t)told->n_plate));
    json_t *positions = json_array();
    for (size_t i = 0; i < placement->n_scores; i++)
        stv_json_append(positions, score_object(all, i));
    stv_json_set(document, "positions", positions);
    stv_json_caution_by(document, stv_words_caution_moving);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    stv_csv_heads(table, "rank,place,tier,bay,depth,reach,as_good,bottles*,bottles_against_best,"
                         "abv20_pct*,lpa_l*,wood_index*,still_fruit_index*,wood_inside_pct,"
                         "strength_reached_pct,plate_for_one_kg,water_kg*");
    for (size_t i = 0; i < all->told->placement.n_scores; i++) {
        const struct stv_place_score *score = &all->told->placement.scores[i];
        const struct stv_free_place *free_place = &all->told->free_places[score->free_idx];
        stv_csv_number(table, (double)i + 1.0);
        stv_sheet_add_text(table, stv_words_place_of(all->chain, &free_place->place).text);
        stv_csv_place(table, free_place->place.tier_idx);
        stv_csv_place(table, free_place->place.bay_idx);
        stv_csv_place(table, free_place->place.depth_idx);
        stv_sheet_add_text(table, stv__reach_key(free_place->reach));
        stv_csv_number(table, score->as_good);
        stv_csv_range(table, score->bottles_nd, 1.0);
        stv_csv_number(table, score->bottles_against_best_nd);
        stv_csv_range(table, score->abv20_frac, 100.0);
        stv_csv_range(table, score->lpa_l, 1.0);
        stv_csv_range(table, score->wood_nd, 1.0);
        stv_csv_range(table, score->fruit_nd, 1.0);
        stv_csv_number(table, 100.0 * score->wood_ok_frac);
        stv_csv_number(table, 100.0 * score->abv_ok_frac);
        stv_csv_number(table, free_place->most_kg);
        stv_csv_range(table, score->water_kg, 1.0);
    }
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_place_cask(text, all->chain, all->told);
}

/* What is wrong with the options together; NULL: nothing. */
static const char *complaint(const struct stv_options *options)
{
    bool has_house =
        stv_options_has(options, STV_OPT_PLACE_FILL) || stv_options_has(options, STV_OPT_ALL);
    bool has_exchange = stv_options_has(options, STV_OPT_EXCHANGE);
    bool has_new = stv_options_has(options, STV_OPT_BUY);
    size_t n_casks = stv_options_count(options, STV_OPT_CASK);
    if ((n_casks > 0) + has_house + has_exchange + has_new != 1 || n_casks > 1)
        return "place answers one question: --cask ID, --fill and --all, --exchange, or --new.";
    if (stv_options_has(options, STV_OPT_MOST_MOVES) && !stv_options_has(options, STV_OPT_ALL))
        return "--most-moves goes with --all: nothing else moves casks that lie somewhere.";
    if (stv_options_has(options, STV_OPT_CREW) && !has_house && !has_exchange)
        return "--crew goes with --fill, --all or --exchange.";
    if (stv_options_has(options, STV_OPT_UNTIL) && !has_exchange)
        return "--until goes with --exchange; casks are placed for their planned age.";
    return NULL;
}

static int place_one(struct stv_session *session)
{
    const struct stv_options *options = session->options;
    char why[256];
    int cask_idx =
        stv_session_cask(session, stv_options_text(options, STV_OPT_CASK), why, sizeof why);
    if (cask_idx < 0)
        return stv_session_fail(session, STV_E_USAGE, "%s", why);
    struct stv_place_cask told;
    enum stv_status status = stv_place_cask_make(&session->chain, cask_idx, &told, why, sizeof why);
    if (status != STV_OK) {
        stv_place_cask_free(&told);
        return stv_session_fail(session, status, "Cask %s finds no place: %s.",
                                stv_options_text(options, STV_OPT_CASK), why);
    }
    const struct result result = {&session->chain, &told};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    session->chain.needs_attention |= told.mass_kg > told.present_plate_kg;
    status = stv_answer_write(options, &session->chain, &session->chain.problems, &answer);
    stv_place_cask_free(&told);
    return stv_session_close(session, status);
}

int stv_cmd_place(const struct stv_options *options)
{
    const char *wrong = complaint(options);
    if (wrong)
        return stv_refuse(options, NULL, STV_E_USAGE, wrong);
    struct stv_session session;
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    if (stv_options_has(options, STV_OPT_CASK))
        return place_one(&session);
    if (stv_options_has(options, STV_OPT_EXCHANGE))
        return stv__place_exchange(&session);
    return stv_options_has(options, STV_OPT_BUY) ? stv__place_new(&session)
                                                 : stv__place_house(&session);
}
