/* `transfer`: when new wood should be left, and into which empty cask. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/bench_age.h"
#include "cli/cask_state.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/session.h"
#include "cli/transfer.h"
#include "cli/words.h"
#include "model/calendar.h"

#include <math.h>

#define WHY_MAX 512

static const double unknown_nd = (double)NAN;

static json_t *summers_array(const struct stv_leaving *leaving)
{
    json_t *array = json_array();
    for (size_t s = 0; s < leaving->n_summers; s++) {
        const struct stv_summer_odds *odds = &leaving->summers[s];
        json_t *object = json_object();
        stv_json_set(object, "from", stv_json_day(odds->summer.from_day_d));
        stv_json_set(object, "to", stv_json_day(odds->summer.to_day_d));
        stv_json_set(object, "under_before_pct", stv_json_number(100.0 * odds->before_frac));
        stv_json_set(object, "under_after_pct", stv_json_number(100.0 * odds->after_frac));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *crossing_object(const struct stv_crossing *crossing, double level, int64_t until_d)
{
    json_t *object = json_object();
    stv_json_set(object, "rises_to", stv_json_number(level));
    stv_json_set_crossing(object, crossing, until_d);
    return object;
}

static json_t *leaving_object(const struct stv_transfer_answer *answer,
                              const struct stv_transfer *item)
{
    const struct stv_leaving *leaving = &item->leaving;
    const struct stv_house_rules *rules = &answer->chain->book.rules;
    int64_t until_d = stv_day_add_months(item->planned_day_d, STV_MONTHS);
    bool has_window = leaving->call == STV_LEAVE_BEFORE || leaving->call == STV_LEAVE_NOW;
    json_t *object = json_object();
    stv_json_set(object, "call", stv_json_text(stv_transfer_call_key(leaving->call)));
    stv_json_set(object, "is_on_the_edge", json_boolean(stv_transfer_is_even(item)));
    stv_json_set(object, "leave_by", has_window ? stv_json_day(leaving->leave_day_d) : json_null());
    stv_json_set(object, "told_for", stv_json_day(leaving->leave_day_d));
    stv_json_set(object, "under_now_pct", stv_json_number(100.0 * leaving->now_frac));
    stv_json_set(object, "under_then_pct", stv_json_number(100.0 * leaving->leave_frac));
    stv_json_set(object, "under_a_year_later_pct",
                 stv_json_number(100.0 * leaving->a_year_on_frac));
    stv_json_set(object, "under_at_planned_age_pct",
                 stv_json_number(100.0 * leaving->planned_frac));
    stv_json_set(object, "a_year_takes_bottles", stv_json_number(leaving->a_year_on_bottles_nd));
    stv_json_set(object, "wood_now_index", stv_json_range(leaving->wood_now_nd, 1.0));
    stv_json_set(object, "wood_at_planned_age_index",
                 stv_json_range(leaving->wood_planned_nd, 1.0));
    stv_json_set(object, "volume20_l", stv_json_range(leaving->volume20_l, 1.0));
    stv_json_set(object, "abv20_pct", stv_json_range(leaving->abv20_frac, 100.0));
    stv_json_set(object, "enough_wood",
                 crossing_object(&leaving->enough, rules->wood_least_nd, until_d));
    stv_json_set(object, "too_much_wood",
                 crossing_object(&leaving->over, rules->wood_most_nd, until_d));
    stv_json_set(object, "wall_per_litre_ratio", stv_json_number(leaving->area_ratio_nd));
    stv_json_set(object, "summers", summers_array(leaving));
    return object;
}

static void set_score(json_t *object, const struct stv_place_score *score)
{
    stv_json_set(object, "bottles", stv_json_range(score->bottles_nd, 1.0));
    stv_json_set(object, "abv20_pct", stv_json_range(score->abv20_frac, 100.0));
    stv_json_set(object, "lpa_l", stv_json_range(score->lpa_l, 1.0));
    stv_json_set(object, "wood_index", stv_json_range(score->wood_nd, 1.0));
    stv_json_set(object, "still_fruit_index", stv_json_range(score->fruit_nd, 1.0));
    stv_json_set(object, "wood_inside_pct", stv_json_number(100.0 * score->wood_ok_frac));
    stv_json_set(object, "is_as_good", json_boolean(score->as_good != 0));
}

static json_t *receiver_object(const struct stv_transfer_answer *answer,
                               const struct stv_receiver *receiver)
{
    const struct stv_cask *cask = &answer->chain->book.ledger.casks[receiver->cask_idx];
    json_t *object = json_object();
    stv_json_set(object, "cask", stv_json_text(cask->id));
    stv_json_set(object, "kind", stv_json_text(cask->kind_name));
    stv_json_set(object, "fault", stv_json_text(stv_transfer_fault_key(receiver->fault)));
    stv_json_set(object, "uses", json_integer(receiver->n_uses));
    stv_json_set(object, "uses_left", json_integer(receiver->uses_left));
    stv_json_set(object, "empty_d", stv_json_number(receiver->dry_d));
    stv_json_set(object, "is_never_wet", json_boolean(receiver->is_never_wet != 0));
    stv_json_set(object, "soak_and_test_first", json_boolean(receiver->is_dry != 0));
    stv_json_set(object, "drinks_l", stv_json_number(stv_transfer_drinks_l(answer, receiver)));
    stv_json_set(object, "full_pct", stv_json_number(100.0 * receiver->full_frac));
    stv_json_set(object, "most_full_pct", stv_json_number(100.0 * receiver->most_full_frac));
    stv_json_set(object, "was_tried", json_boolean(receiver->was_tried != 0));
    if (!receiver->was_tried)
        return object;
    set_score(object, &receiver->score);
    stv_json_set(object, "under_pct", stv_json_number(100.0 * receiver->under_frac));
    stv_json_set(object, "bottles_worth", stv_json_number(receiver->worth_bottles_nd));
    stv_json_set(object, "bottles_against_staying",
                 stv_json_number(receiver->bottles_against_left_nd));
    stv_json_set(object, "wood_index_against_staying",
                 stv_json_number(receiver->wood_against_left_nd));
    stv_json_set(object, "still_fruit_against_staying",
                 stv_json_number(receiver->fruit_against_left_nd));
    stv_json_set(object, "bottles_against_best",
                 stv_json_number(receiver->score.bottles_against_best_nd));
    stv_json_set(object, "a_year_later_bottles", stv_json_number(receiver->waited_bottles_nd));
    stv_json_set(object, "a_year_later_under_pct",
                 stv_json_number(100.0 * receiver->waited_under_frac));
    return object;
}

static const char *clock_key(enum stv_clock_verdict verdict)
{
    static const char *const keys[] = {[STV_CLOCK_COUNTS] = "counts",
                                       [STV_CLOCK_UNSURE] = "unsure",
                                       [STV_CLOCK_STANDS] = "stands"};
    return keys[verdict];
}

/* By the named market; null without one. */
static json_t *age_object(const struct stv_transfer_answer *answer, const struct stv_transfer *item)
{
    if (!answer->chain->named.market)
        return json_null();
    const struct stv_receiver *into =
        item->n_tried > 0 ? &item->receivers[item->given_idx == SIZE_MAX ? 0 : item->given_idx]
                          : NULL;
    struct stv_transfer_clock clock = stv_transfer_clock_of(answer, item, into);
    json_t *object = json_object();
    stv_json_set(object, "market", stv_json_text(answer->chain->named.market->name));
    stv_json_set(object, "counts_time_in",
                 stv_json_text(stv_bench_clock_words(answer->chain->named.market->age_clock)));
    stv_json_set(object, "source",
                 stv_json_text(answer->chain->named.market->age_clock_rule.source));
    stv_json_set(object, "seen", stv_json_text(answer->chain->named.market->age_clock_rule.seen));
    stv_json_set(object, "here", stv_json_text(clock_key(clock.here)));
    stv_json_set(object, "there", stv_json_text(clock_key(clock.there)));
    stv_json_set(object, "full_years_then", json_integer(clock.age_then.years));
    stv_json_set(object, "days_over_then", json_integer(clock.age_then.days));
    stv_json_set(object, "stops_too_young", json_boolean(clock.is_too_young));
    return object;
}

static json_t *item_object(const struct stv_transfer_answer *answer,
                           const struct stv_transfer *item)
{
    const struct stv_chain *chain = answer->chain;
    const struct stv_cask *cask = &chain->book.ledger.casks[item->cask_idx];
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, item->cask_idx);
    json_t *object = leaving_object(answer, item);
    stv_json_set(object, "cask", stv_json_text(cask->id));
    stv_json_set(object, "kind", stv_json_text(cask->kind_name));
    stv_json_set(object, "leak_chance_frac", stv_json_number(stv_leak_frac(chain, item->cask_idx)));
    stv_json_set(object, "planned_date", stv_json_day(item->planned_day_d));
    stv_json_set(object, "is_single_cask", json_boolean(spirit.is_single != 0));
    stv_json_set(object, "age", age_object(answer, item));
    stv_json_set(object, "into",
                 item->given_idx == SIZE_MAX
                     ? json_null()
                     : stv_json_text(
                           chain->book.ledger.casks[item->receivers[item->given_idx].cask_idx].id));
    json_t *receivers = json_array();
    for (size_t r = 0; r < item->n_receivers; r++)
        stv_json_append(receivers, receiver_object(answer, &item->receivers[r]));
    json_t *staying = json_null();
    if (item->receivers) {
        staying = json_object();
        set_score(staying, &item->left);
        stv_json_set(staying, "bottles_worth", stv_json_number(item->left_worth_bottles_nd));
    }
    stv_json_set(object, "staying", staying);
    stv_json_set(object, "margin_bottles",
                 item->n_tried ? stv_json_number(item->margin_bottles_nd) : json_null());
    stv_json_set(object, "receivers", receivers);
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct stv_transfer_answer *answer = result;
    const struct stv_wood_rules *wood = &answer->chain->book.wood_rules;
    stv_json_set(document, "from_date", stv_json_day(answer->chain->as_of_day_d));
    stv_json_set(document, "summer_from",
                 stv_json_text(stv_format_iso_doy(answer->warm.from_doy).text));
    stv_json_set(document, "summer_to",
                 stv_json_text(stv_format_iso_doy(answer->warm.to_doy).text));
    stv_json_set(document, "move_loss_pct", stv_json_number(100.0 * wood->move_loss_frac));
    stv_json_set(document, "wood_most_index",
                 stv_json_number(answer->chain->book.rules.wood_most_nd));
    stv_json_set(document, "empty_casks", json_integer((json_int_t)answer->n_empty));
    json_t *casks = json_array();
    for (size_t i = 0; i < answer->transfers.n; i++)
        stv_json_append(casks, item_object(answer, &answer->transfers.items[i]));
    stv_json_set(document, "casks", casks);
    stv_json_caution_by(document, stv_words_caution_pouring);
    stv_json_caution_by(document, stv_words_caution_vapour);
    stv_json_caution_by(document, stv_words_caution_room);
    stv_json_caution_by(document, stv_words_caution_moving);
    stv_json_caution_by(document, stv_words_caution_planning);
}

/* A row for staying, one for each receiver. */
static void add_row(struct stv_sheet *table, const struct stv_transfer_answer *answer,
                    const struct stv_transfer *item, const struct stv_receiver *receiver)
{
    static const struct stv_place_score unknown = {.bottles_nd = {NAN, NAN, NAN, NAN, NAN},
                                                   .abv20_frac = {NAN, NAN, NAN, NAN, NAN},
                                                   .wood_nd = {NAN, NAN, NAN, NAN, NAN},
                                                   .fruit_nd = {NAN, NAN, NAN, NAN, NAN}};
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    const struct stv_leaving *leaving = &item->leaving;
    bool has_window = leaving->call == STV_LEAVE_BEFORE || leaving->call == STV_LEAVE_NOW;
    bool is_known = receiver ? receiver->was_tried : item->receivers != NULL;
    const struct stv_place_score *score = !is_known  ? &unknown
                                          : receiver ? &receiver->score
                                                     : &item->left;
    double under_frac = receiver ? receiver->under_frac : leaving->planned_frac;
    stv_sheet_add_text(table, ledger->casks[item->cask_idx].id);
    stv_sheet_add_text(table, stv_transfer_call_key(leaving->call));
    stv_sheet_add_text(table, has_window ? stv_format_iso_day(leaving->leave_day_d).text : "");
    stv_csv_number(table, 100.0 * leaving->leave_frac);
    stv_csv_number(table, 100.0 * leaving->a_year_on_frac);
    stv_sheet_add_text(table, stv_format_iso_day(item->planned_day_d).text);
    stv_sheet_add_text(table, receiver ? ledger->casks[receiver->cask_idx].id : "");
    stv_sheet_add_text(table, receiver ? stv_transfer_fault_key(receiver->fault) : "");
    stv_csv_number(table, receiver ? (double)receiver->uses_left : unknown_nd);
    stv_csv_number(table, receiver ? receiver->dry_d : unknown_nd);
    stv_csv_number(table, receiver ? (double)receiver->is_dry : unknown_nd);
    stv_csv_number(table, receiver ? 100.0 * receiver->full_frac : unknown_nd);
    stv_csv_number(table, is_known ? (double)score->as_good : unknown_nd);
    stv_csv_range(table, score->bottles_nd, 1.0);
    stv_csv_range(table, score->abv20_frac, 100.0);
    stv_csv_range(table, score->wood_nd, 1.0);
    stv_csv_range(table, score->fruit_nd, 1.0);
    stv_csv_number(table, receiver && !is_known ? unknown_nd : 100.0 * under_frac);
    stv_csv_number(table, !is_known  ? unknown_nd
                          : receiver ? receiver->worth_bottles_nd
                                     : item->left_worth_bottles_nd);
    stv_csv_number(table, receiver && is_known ? receiver->bottles_against_left_nd : unknown_nd);
    stv_csv_number(table, receiver && is_known ? receiver->waited_bottles_nd : unknown_nd);
    stv_csv_number(table, receiver && is_known ? 100.0 * receiver->waited_under_frac : unknown_nd);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct stv_transfer_answer *answer = result;
    stv_csv_heads(table,
                  "cask,call,leave_by,under_then_pct,under_a_year_later_pct,planned_date,"
                  "into,fault,uses_left,empty_d,soak_and_test_first,full_pct,as_good,"
                  "bottles*,abv20_pct*,wood_index*,still_fruit_index*,under_pct,bottles_worth,"
                  "bottles_against_staying,a_year_later_bottles,a_year_later_under_pct");
    for (size_t i = 0; i < answer->transfers.n; i++) {
        const struct stv_transfer *item = &answer->transfers.items[i];
        add_row(table, answer, item, NULL);
        for (size_t r = 0; r < item->n_receivers; r++)
            add_row(table, answer, item, &item->receivers[r]);
    }
}

static void add_text(struct stv_text *text, const void *result)
{
    stv_words_transfer(text, result);
}

int stv_cmd_transfer(const struct stv_options *options)
{
    struct stv_session session;
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    struct stv_transfer_answer answer = {.chain = &session.chain};
    const char *ids[STV_OCCURRENCES_MAX];
    size_t n_ids = stv_options_count(options, STV_OPT_CASK);
    for (size_t i = 0; i < n_ids; i++)
        ids[i] = stv_options_nth(options, STV_OPT_CASK, i)->text;
    char why[WHY_MAX] = "";
    enum stv_status status = stv_transfer_answer_make(&answer, ids, n_ids, why, sizeof why);
    if (status != STV_OK) {
        stv_transfer_answer_free(&answer);
        if (why[0])
            return stv_session_fail(&session, status, "%s", why);
        return stv_session_fail(&session, status, "The windows could not be worked out: %s.",
                                stv_status_text(status));
    }
    const struct stv_answer dressed = {&answer, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &dressed);
    for (size_t i = 0; i < answer.transfers.n; i++)
        session.chain.needs_attention |=
            stv_may_leak(&session.chain, answer.transfers.items[i].cask_idx);
    stv_transfer_answer_free(&answer);
    return stv_session_close(&session, status);
}
