/* The answer of `bottling` as JSON and as a table. */
#include "cli/json_bottling.h"

#include "cli/cask_state.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/words.h"
#include "model/window_clear.h"

#include <math.h>

static json_t *month_or_null(const int64_t *months_d, size_t month_idx, bool is_known)
{
    return is_known ? stv_json_day(months_d[month_idx]) : json_null();
}

/* Why a side of a window lies where it does; "" for a side that has no reason. */
static const char *side_text(enum stv_window_side side, bool is_known)
{
    return is_known && side != STV_SIDE_NONE ? stv_window_side_text(side) : "";
}

static json_t *id_of(const struct stv_bottling_answer *answer, int cask_idx)
{
    return cask_idx < 0 ? json_null()
                        : stv_json_text(answer->chain->book.ledger.casks[cask_idx].id);
}

static json_t *day_or_null(double day_d)
{
    return isfinite(day_d) ? stv_json_day((int64_t)day_d) : json_null();
}

static json_t *crossing_object(const struct stv_crossing *crossing)
{
    json_t *object = json_object();
    stv_json_set(object, "odds_pct", stv_json_number(100.0 * crossing->odds_frac));
    stv_json_set(object, "already_pct", stv_json_number(100.0 * crossing->already_frac));
    stv_json_set(object, "earliest", day_or_null(crossing->earliest_d));
    stv_json_set(object, "central", day_or_null(crossing->central_d));
    stv_json_set(object, "latest", day_or_null(crossing->latest_d));
    return object;
}

static json_t *lot_casks(const struct stv_bottling_answer *answer, const struct stv_window *window)
{
    json_t *ids = json_array();
    size_t lot = answer->lot_of_cask[window->cask_idx];
    for (size_t c = 0; c < answer->chain->book.ledger.n_casks; c++)
        if (answer->lot_of_cask[c] == lot)
            stv_json_append(ids, id_of(answer, (int)c));
    return ids;
}

static void add_sides(json_t *object, const struct stv_bottling_answer *answer,
                      const struct stv_window *window)
{
    const int64_t *months_d = answer->months_d;
    bool has = window->has_window != 0;
    stv_json_set(object, "has_window", json_boolean(has));
    stv_json_set(object, "opens", month_or_null(months_d, window->open_idx, has));
    stv_json_set(object, "surest", month_or_null(months_d, window->surest_idx, has));
    stv_json_set(object, "surest_from", month_or_null(months_d, window->surest_from_idx, has));
    stv_json_set(object, "surest_to", month_or_null(months_d, window->surest_to_idx, has));
    stv_json_set(object, "closes",
                 month_or_null(months_d, window->close_idx, has && window->closes));
    stv_json_set(object, "opens_by", stv_json_text(side_text(window->opens_by, has)));
    stv_json_set(object, "closes_by", stv_json_text(side_text(window->closes_by, has)));
    stv_json_set(object, "never_by", stv_json_text(side_text(window->never_by, !has)));
    stv_json_set(object, "opens_clear",
                 has ? json_boolean(stv_window_opens_clear(window)) : json_null());
    stv_json_set(object, "surest_clear",
                 has ? json_boolean(stv_window_surest_is_clear(window)) : json_null());
    stv_json_set(object, "closes_clear",
                 has ? json_boolean(stv_window_closes_clear(window)) : json_null());
    stv_json_set(object, "surest_pct", stv_json_number(100.0 * window->surest_frac));
}

static json_t *window_object(const struct stv_bottling_answer *answer,
                             const struct stv_window *window)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_cask *cask = &chain->book.ledger.casks[window->cask_idx];
    int taken = stv_bottling_of_cask(answer, window->cask_idx);
    json_t *object = json_object();
    if (answer->ask.by_lot) {
        size_t lot = answer->lot_of_cask[window->cask_idx];
        stv_json_set(object, "lot", stv_json_text(answer->lots.sums[lot].name));
        stv_json_set(object, "casks", lot_casks(answer, window));
    } else {
        stv_json_set(object, "cask", stv_json_text(cask->id));
        stv_json_set(
            object, "run_as",
            id_of(answer, answer->kinds.first_cask[answer->kinds.of_cask[window->cask_idx]]));
    }
    stv_json_set(object, "kind", stv_json_text(cask->kind_name));
    add_sides(object, answer, window);
    stv_json_set(object, "bottles", stv_json_range(window->bottles_nd, 1.0));
    stv_json_set(object, "abv20_pct", stv_json_range(window->abv20_frac, 100.0));
    stv_json_set(object, "wood_index", stv_json_range(window->wood_nd, 1.0));
    stv_json_set(object, "wait_cost_bottles", stv_json_number(window->wait_cost_bottles_nd));
    stv_json_set(object, "wait_over_pct", stv_json_number(100.0 * window->wait_over_frac));
    stv_json_set(object, "over_now_pct", stv_json_number(100.0 * window->over_now_frac));
    stv_json_set(object, "enough_wood", crossing_object(&window->enough_wood));
    stv_json_set(object, "too_much_wood", crossing_object(&window->too_much_wood));
    if (answer->ask.by_lot)
        return object;
    stv_json_set(object, "strength_guard", crossing_object(&answer->guards[window->cask_idx]));
    stv_json_set(object, "bottling",
                 taken < 0 ? json_null()
                           : stv_json_text(stv_bottling_name(&answer->planned[taken]).text));
    stv_json_set(object, "leak_chance_frac",
                 stv_json_number(stv_leak_frac(chain, window->cask_idx)));
    stv_json_set(object, "had_water",
                 json_boolean(stv_lineage_spirit(chain->lineage, window->cask_idx).had_water));
    return object;
}

static json_t *chosen_object(const struct stv_bottling_answer *answer,
                             const struct stv_chosen_cask *cask)
{
    json_t *object = json_object(), *instead = json_object();
    stv_json_set(object, "cask", id_of(answer, cask->cask_idx));
    stv_json_set(object, "serves_pct", stv_json_number(100.0 * cask->ok_frac));
    stv_json_set(object, "over_pct", stv_json_number(100.0 * cask->over_frac));
    stv_json_set(object, "bottles", stv_json_range(cask->bottles_nd, 1.0));
    stv_json_set(object, "abv20_pct", stv_json_range(cask->abv20_frac, 100.0));
    stv_json_set(object, "wood_index", stv_json_range(cask->wood_nd, 1.0));
    stv_json_set(object, "wait_cost_bottles", stv_json_number(cask->wait_cost_bottles_nd));
    stv_json_set(object, "wait_over_pct", stv_json_number(100.0 * cask->wait_over_frac));
    stv_json_set(object, "may_say_single_cask", json_boolean(cask->may_say_single));
    stv_json_set(instead, "cask", id_of(answer, cask->substitute_idx));
    stv_json_set(instead, "bottles_difference", stv_json_number(cask->substitute_bottles_nd));
    stv_json_set(instead, "all_pct", stv_json_number(100.0 * cask->substitute_all_frac));
    stv_json_set(instead, "bottles_at_least", stv_json_number(floor(cask->substitute_least_nd)));
    stv_json_set(instead, "is_as_good", json_boolean(cask->is_tie));
    stv_json_set(instead, "has_like_odds", json_boolean(cask->has_like_odds));
    stv_json_set(instead, "is_better", json_boolean(cask->is_substitute_better));
    stv_json_set(object, "instead", instead);
    return object;
}

static json_t *wanted_object(const struct stv_book_bottling *planned)
{
    const struct stv_planned_bottling *wish = &planned->wish;
    json_t *object = json_object();
    stv_json_set(object, "bottles",
                 wish->bottles_nd > 0.0 ? stv_json_number(wish->bottles_nd) : json_null());
    stv_json_set(object, "casks",
                 wish->n_casks ? json_integer((json_int_t)wish->n_casks) : json_null());
    stv_json_set(object, "least_abv20_pct", stv_json_number(100.0 * wish->least_abv20_frac));
    stv_json_set(object, "most_abv20_pct",
                 wish->most_abv20_frac < 1.0 ? stv_json_number(100.0 * wish->most_abv20_frac)
                                             : json_null());
    stv_json_set(object, "water_at_bottling", json_boolean(!wish->is_as_drawn));
    return object;
}

static json_t *label_object(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    struct stv_market_stand youngest = stv_bottling_youngest(answer, wish_idx);
    bool has_clock = answer->chain->named.market != NULL;
    json_t *label = json_object();
    stv_json_set(label, "youngest_age_years", json_integer(outcome->youngest_age_y));
    stv_json_set(label, "market_age_years",
                 has_clock ? stv_json_number(youngest.age_y) : json_null());
    stv_json_set(label, "market_age_at_most_years",
                 has_clock ? stv_json_number(youngest.most_age_y) : json_null());
    stv_json_set(label, "had_water_in_cask", json_boolean(outcome->had_water));
    stv_json_set(label, "gets_water_at_bottling", json_boolean(outcome->gets_water));
    stv_json_set(label, "may_say_single_cask", json_boolean(outcome->may_say_single));
    return label;
}

/* Casks that the market bars then, by which rule, and from when waiting lifts it. */
static json_t *left_out_array(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    static const char *const keys[STV_BAR_N] = {[STV_BAR_NONE] = "",
                                                [STV_BAR_STRONG] = "entry_most",
                                                [STV_BAR_LARGE] = "cask_most",
                                                [STV_BAR_AGE] = "age"};
    json_t *left_out = json_array();
    for (size_t c = 0; c < answer->chain->book.ledger.n_casks; c++) {
        const struct stv_market_stand *stand = stv_bottling_stand(answer, wish_idx, c);
        if (stand->bar == STV_BAR_NONE)
            continue;
        json_t *object = json_object();
        stv_json_set(object, "cask", id_of(answer, (int)c));
        stv_json_set(object, "by", stv_json_text(keys[stand->bar]));
        stv_json_set(object, "calendar_age_years", stv_json_number(stand->calendar_y));
        stv_json_set(object, "market_age_years", stv_json_number(stand->age_y));
        stv_json_set(object, "lifts",
                     stand->lifts_day_d == INT64_MIN ? json_null()
                                                     : stv_json_day(stand->lifts_day_d));
        stv_json_append(left_out, object);
    }
    return left_out;
}

static json_t *unfit_object(const struct stv_bottling_outcome *outcome)
{
    static const char *const keys[STV_UNFIT_N] = {
        [STV_UNFIT_AGE] = "age",       [STV_UNFIT_STRENGTH] = "strength",
        [STV_UNFIT_WOOD] = "wood",     [STV_UNFIT_BOTTLES] = "bottles",
        [STV_UNFIT_MARKET] = "market",
    };
    json_t *object = json_object();
    for (size_t u = 0; u < STV_UNFIT_N; u++)
        stv_json_set(object, keys[u], json_integer((json_int_t)outcome->n_unfit[u]));
    stv_json_set(object, "taken_elsewhere", json_integer((json_int_t)outcome->n_elsewhere));
    return object;
}

json_t *stv_json_planned(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_book_bottling *planned = &answer->planned[wish_idx];
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    json_t *object = json_object(), *casks = json_array();
    for (size_t i = 0; i < outcome->n_casks; i++)
        stv_json_append(casks, chosen_object(answer, &outcome->casks[i]));
    stv_json_set(object, "name", stv_json_text(planned->name));
    stv_json_set(object, "release", json_integer((json_int_t)planned->release));
    stv_json_set(object, "releases", json_integer((json_int_t)planned->n_releases));
    stv_json_set(object, "date", stv_json_day(planned->wish.day_d));
    stv_json_set(object, "style",
                 stv_json_text(planned->wish.is_married ? "married" : "single casks"));
    stv_json_set(object, "wanted", wanted_object(planned));
    stv_json_set(object, "casks", casks);
    stv_json_set(object, "bottles", stv_json_range(outcome->bottles_nd, 1.0));
    stv_json_set(object, "bottles_at_least", stv_json_number(floor(outcome->bottles_nd.p05)));
    stv_json_set(object, "missing_bottles", stv_json_number(outcome->missing_bottles_nd));
    stv_json_set(object, "missing_strength_points",
                 stv_json_number(100.0 * outcome->missing_abv20_frac));
    stv_json_set(object, "can_be_promised", json_boolean(!stv_bottling_is_short(outcome)));
    stv_json_set(object, "is_impossible", json_boolean(outcome->is_impossible));
    stv_json_set(object, "is_barred_by_market",
                 json_boolean(stv_bottling_wants_market_look(answer, wish_idx)));
    stv_json_set(object, "left_out_by_market", left_out_array(answer, wish_idx));
    stv_json_set(object, "missing_casks", json_integer((json_int_t)outcome->n_missing_casks));
    stv_json_set(object, "all_pct", stv_json_number(100.0 * outcome->all_frac));
    stv_json_set(object, "bottles_pct", stv_json_number(100.0 * outcome->bottles_frac));
    stv_json_set(object, "strength_pct", stv_json_number(100.0 * outcome->strength_frac));
    stv_json_set(object, "wood_pct", stv_json_number(100.0 * outcome->wood_frac));
    stv_json_set(object, "abv20_pct", stv_json_range(outcome->abv20_frac, 100.0));
    stv_json_set(object, "wood_index", stv_json_range(outcome->wood_nd, 1.0));
    stv_json_set(object, "lost_bottles", stv_json_number(outcome->lost_bottles_nd));
    stv_json_set(object, "kept_back_bottles", stv_json_number(outcome->kept_back_nd));
    stv_json_set(object, "wait_cost_bottles", stv_json_number(outcome->wait_cost_bottles_nd));
    stv_json_set(object, "wait_over_pct", stv_json_number(100.0 * outcome->wait_over_frac));
    stv_json_set(object, "house_bottles", stv_json_number(outcome->house_bottles_nd));
    stv_json_set(object, "could_serve", json_integer((json_int_t)outcome->n_could_serve));
    stv_json_set(object, "left", json_integer((json_int_t)outcome->n_left));
    stv_json_set(object, "could_not_serve", unfit_object(outcome));
    stv_json_set(object, "label", label_object(answer, wish_idx));
    return object;
}

static json_t *day_object(const struct stv_book_bottling *bottling)
{
    json_t *object = json_object();
    stv_json_set(object, "name", stv_json_text(bottling->name));
    stv_json_set(object, "release", json_integer((json_int_t)bottling->release));
    stv_json_set(object, "date", stv_json_day(bottling->wish.day_d));
    return object;
}

static json_t *past_array(const struct stv_bottling_answer *answer)
{
    json_t *past = json_array();
    for (size_t p = 0; p < answer->n_past; p++)
        stv_json_append(past, day_object(&answer->past[p]));
    return past;
}

/* Taken as done, with the casks that were emptied for it. */
static json_t *done_array(const struct stv_bottling_answer *answer)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    json_t *done = json_array();
    for (size_t d = 0; d < answer->n_done; d++) {
        json_t *object = day_object(&answer->done[d]), *casks = json_array();
        for (size_t e = 0; e < ledger->n_events; e++) {
            if (answer->done_of_event[e] != d)
                continue;
            json_t *cask = json_object();
            stv_json_set(cask, "cask", stv_json_text(ledger->casks[ledger->events[e].cask_idx].id));
            stv_json_set(cask, "emptied", stv_json_day(ledger->events[e].day_d));
            stv_json_append(casks, cask);
        }
        stv_json_set(object, "casks", casks);
        stv_json_append(done, object);
    }
    return done;
}

/* What the odds count on: rows of history.csv after the day of the answer, and nothing else. */
static json_t *assumed_object(const struct stv_bottling_answer *answer)
{
    json_t *assumed = json_object();
    stv_json_set(assumed, "waterings_ahead",
                 json_integer((json_int_t)stv_bottling_n_ahead(answer, STV_EVENT_ADD_WATER)));
    stv_json_set(assumed, "transfers_ahead",
                 json_integer((json_int_t)stv_bottling_n_ahead(answer, STV_EVENT_TRANSFER)));
    stv_json_set(assumed, "advice_of_water_and_transfer", json_boolean(false));
    return assumed;
}

void stv_json_bottling(json_t *document, const struct stv_bottling_answer *answer)
{
    json_t *windows = json_array(), *bottlings = json_array(), *guard = json_object();
    for (size_t i = 0; i < answer->windows.n_windows; i++)
        stv_json_append(windows, window_object(answer, &answer->windows.windows[i]));
    for (size_t w = 0; w < answer->n_planned; w++)
        stv_json_append(bottlings, stv_json_planned(answer, w));
    stv_json_set(guard, "abv20_pct", stv_json_number(100.0 * answer->guard_abv20_frac));
    stv_json_set(
        guard, "market",
        stv_json_text(answer->is_guard_by_market ? answer->chain->named.market->name : ""));
    stv_json_set(guard, "looked_until", stv_json_day(answer->guard_until_d));
    stv_json_set(document, "from_date", stv_json_day(answer->months_d[0]));
    stv_json_set(document, "to_date", stv_json_day(answer->months_d[answer->ask.n_months]));
    stv_json_set(document, "bottlings", bottlings);
    stv_json_set(document, "bottlings_past", json_integer((json_int_t)answer->n_past));
    stv_json_set(document, "past", past_array(answer));
    stv_json_set(document, "done", done_array(answer));
    stv_json_set(document, "assumed", assumed_object(answer));
    stv_json_set(document, "plan_draws", json_integer((json_int_t)answer->n_plan_draws));
    stv_json_set(document, "kinds_of_casks", json_integer((json_int_t)answer->kinds.n));
    stv_json_set(document, "plan_casks", json_integer((json_int_t)answer->n_planned_casks));
    stv_json_set(document, answer->ask.by_lot ? "lots" : "casks", windows);
    stv_json_set(document, "guard", guard);
    stv_json_caution_by(document, stv_words_caution_planning);
    stv_json_caution_by(document, stv_words_caution_vapour);
    stv_json_caution_by(document, stv_words_caution_moving);
    struct stv_text haze = {0};
    stv_words_caution_haze(&haze, &answer->chain->book.rules);
    stv_json_caution_text(document, &haze);
}

static void add_month(struct stv_sheet *table, const int64_t *months_d, size_t month_idx,
                      bool is_known)
{
    stv_sheet_add_text(table, is_known ? stv_format_iso_day(months_d[month_idx]).text : "");
}

static void add_day(struct stv_sheet *table, double day_d)
{
    stv_sheet_add_text(table, isfinite(day_d) ? stv_format_iso_day((int64_t)day_d).text : "");
}

static void add_row(struct stv_sheet *table, const struct stv_bottling_answer *answer,
                    const struct stv_window *window)
{
    const int64_t *months_d = answer->months_d;
    bool has = window->has_window != 0, by_lot = answer->ask.by_lot;
    int taken = by_lot ? -1 : stv_bottling_of_cask(answer, window->cask_idx);
    stv_sheet_add_text(table, by_lot ? answer->lots.sums[answer->lot_of_cask[window->cask_idx]].name
                                     : answer->chain->book.ledger.casks[window->cask_idx].id);
    add_month(table, months_d, window->open_idx, has);
    add_month(table, months_d, window->surest_idx, has);
    add_month(table, months_d, window->close_idx, has && window->closes);
    stv_sheet_add_text(table, side_text(window->opens_by, has));
    stv_sheet_add_text(table, side_text(window->closes_by, has));
    stv_sheet_add_text(table, side_text(window->never_by, !has));
    stv_csv_number(table, 100.0 * window->surest_frac);
    stv_csv_range(table, window->bottles_nd, 1.0);
    stv_csv_range(table, window->abv20_frac, 100.0);
    stv_csv_range(table, window->wood_nd, 1.0);
    stv_csv_number(table, window->wait_cost_bottles_nd);
    stv_csv_number(table, 100.0 * window->wait_over_frac);
    if (by_lot)
        return;
    add_day(table, answer->guards[window->cask_idx].earliest_d);
    add_day(table, answer->guards[window->cask_idx].central_d);
    stv_sheet_add_text(table, taken < 0 ? "" : stv_bottling_name(&answer->planned[taken]).text);
    stv_sheet_add_text(table,
                       taken < 0 ? "" : stv_format_iso_day(answer->planned[taken].wish.day_d).text);
}

void stv_csv_bottling(struct stv_sheet *table, const struct stv_bottling_answer *answer)
{
    stv_csv_heads(table,
                  answer->ask.by_lot
                      ? "lot,opens,surest,closes,opens_by,closes_by,never_by,surest_pct,bottles*,"
                        "abv20_pct*,wood_index*,wait_cost_bottles,wait_over_pct"
                      : "cask,opens,surest,closes,opens_by,closes_by,never_by,surest_pct,bottles*,"
                        "abv20_pct*,wood_index*,wait_cost_bottles,wait_over_pct,"
                        "strength_falls_earliest,strength_falls_central,bottling,bottling_date");
    for (size_t i = 0; i < answer->windows.n_windows; i++)
        add_row(table, answer, &answer->windows.windows[i]);
}
