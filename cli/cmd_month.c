/* `month`: everything to do this month, as one page and as lists. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/cask_lesson.h"
#include "cli/csv.h"
#include "cli/json_bottling.h"
#include "cli/messages.h"
#include "cli/month.h"
#include "cli/session.h"
#include "cli/words.h"

#include <math.h>

/* The cask and where it lies, as one object. */
static json_t *cask_object(const struct stv_chain *chain, int cask_idx,
                           const struct stv_place *place)
{
    json_t *object = stv_json_place_object(chain, place);
    stv_json_set(object, "cask", stv_json_text(chain->book.ledger.casks[cask_idx].id));
    return object;
}

static json_t *walk_array(const struct stv_month_answer *answer)
{
    json_t *array = json_array();
    for (size_t i = 0; i < answer->n_walk; i++) {
        const struct stv_walk_cask *cask = &answer->walk[i];
        struct stv_place place = stv_lineage_place(answer->chain->lineage, cask->cask_idx);
        int beside[STV_NEIGHBOURS_MOST];
        size_t n = stv_lesson_neighbours(answer->chain, cask->cask_idx, beside);
        json_t *object = cask_object(answer->chain, cask->cask_idx, &place);
        json_t *neighbours = json_array();
        for (size_t k = 0; k < n; k++)
            stv_json_append(neighbours,
                            stv_json_text(answer->chain->book.ledger.casks[beside[k]].id));
        stv_json_set(object, "reason", stv_json_text(stv_walk_reason_key(cask->reason)));
        stv_json_set(object, "leak_chance_frac", stv_json_number(cask->leak_frac));
        stv_json_set(object, "filled", stv_json_day(cask->fill_day_d));
        stv_json_set(object, "neighbours", neighbours);
        stv_json_append(array, object);
    }
    return array;
}

static json_t *error_object(const struct stv_sampling_error *before,
                            const struct stv_sampling_error *after)
{
    json_t *object = json_object();
    stv_json_set(object, "volume20_error_now_l", stv_json_number(before->volume20_l));
    stv_json_set(object, "volume20_error_then_l", stv_json_number(after->volume20_l));
    stv_json_set(object, "wood_error_now_ln", stv_json_number(before->wood_ln_nd));
    stv_json_set(object, "wood_error_then_ln", stv_json_number(after->wood_ln_nd));
    return object;
}

static json_t *visits_array(const struct stv_month_answer *answer)
{
    json_t *array = json_array();
    for (size_t i = 0; i < answer->n_visits; i++) {
        const struct stv_month_visit *visit = &answer->visits[i];
        struct stv_place place = stv_lineage_place(answer->chain->lineage, visit->cask_idx);
        json_t *object = cask_object(answer->chain, visit->cask_idx, &place);
        stv_json_set(object, "rank", json_integer((json_int_t)visit->rank));
        stv_json_set(object, "gauge", json_boolean(visit->is_gauged));
        stv_json_set(object, "nose", json_boolean(visit->is_nosed));
        stv_json_set(object, "sample_l", stv_json_number(visit->sample_l));
        stv_json_set(object, "narrowed_pct", stv_json_number(100.0 * visit->narrowed_frac));
        stv_json_set(object, "as_good", json_integer((json_int_t)visit->n_as_good));
        stv_json_set(object, "on",
                     stv_json_day(answer->lesson.wishes[visit->wish_idx].target_day_d));
        stv_json_set(object, "errors",
                     error_object(&answer->sampling.before[visit->wish_idx],
                                  &answer->sampling.after[visit->wish_idx]));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *planned_array(const struct stv_month_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    json_t *array = json_array();
    for (size_t i = 0; i < answer->n_events; i++) {
        const struct stv_event *event = &chain->book.ledger.events[answer->event_idx[i]];
        struct stv_place place = stv_month_job_place(chain, event);
        json_t *object = cask_object(chain, event->cask_idx, &place);
        stv_json_set(object, "date", stv_json_day(event->day_d));
        stv_json_set(object, "what", stv_json_text(stv_month_job_name(event)));
        stv_json_set(object, "into",
                     event->other_idx < 0
                         ? json_null()
                         : stv_json_text(chain->book.ledger.casks[event->other_idx].id));
        stv_json_set(object, "volume20_l", stv_json_number(event->volume20_l));
        stv_json_set(object, "abv20_pct", stv_json_number(100.0 * event->abv20_frac));
        stv_json_set(object, "water_kg", stv_json_number(event->water_kg));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *bottlings_array(const struct stv_month_answer *answer)
{
    const struct stv_bottling_answer *bottling = &answer->bottling;
    json_t *array = json_array();
    for (size_t w = 0; answer->has_bottlings && w < bottling->n_planned; w++)
        if (stv_month_is_due(answer, bottling->planned[w].wish.day_d))
            stv_json_append(array, stv_json_planned(bottling, w));
    return array;
}

static json_t *transfers_array(const struct stv_month_answer *answer)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    json_t *array = json_array();
    for (size_t i = 0; i < answer->n_leaving; i++) {
        const struct stv_transfer *item = &answer->transfer.transfers.items[answer->leaving_idx[i]];
        const struct stv_leaving *leaving = &item->leaving;
        bool has_into = item->given_idx != SIZE_MAX;
        const struct stv_receiver *into = has_into ? &item->receivers[item->given_idx] : NULL;
        struct stv_place place = stv_lineage_place(answer->chain->lineage, item->cask_idx);
        json_t *object = cask_object(answer->chain, item->cask_idx, &place);
        stv_json_set(object, "leave_by", stv_json_day(leaving->leave_day_d));
        stv_json_set(object, "into",
                     into ? stv_json_text(ledger->casks[into->cask_idx].id) : json_null());
        stv_json_set(object, "soak_and_test_first",
                     into ? json_boolean(into->is_dry != 0) : json_null());
        stv_json_set(object, "volume20_l", stv_json_range(leaving->volume20_l, 1.0));
        stv_json_set(object, "abv20_pct", stv_json_range(leaving->abv20_frac, 100.0));
        stv_json_set(object, "under_then_pct", stv_json_number(100.0 * leaving->leave_frac));
        stv_json_set(object, "under_a_year_later_pct",
                     stv_json_number(100.0 * leaving->a_year_on_frac));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *water_array(const struct stv_month_answer *answer)
{
    json_t *array = json_array();
    for (size_t i = 0; i < answer->n_water_rows; i++) {
        const struct stv_water_row *row = &answer->water_rows[i];
        const struct stv_reduction_plan *plan = &answer->water.plans[row->plan_idx];
        struct stv_place place = stv_water_place(answer->chain, plan->cask_idx);
        json_t *object = cask_object(answer->chain, plan->cask_idx, &place);
        stv_json_set(object, "step", stv_water_step_json(&plan->steps[row->step_idx]));
        stv_json_set(object, "n_step", json_integer((json_int_t)row->step_idx + 1));
        stv_json_set(object, "steps", json_integer((json_int_t)plan->n_steps));
        stv_json_append(array, object);
    }
    return array;
}

static void add_json(json_t *document, const void *result)
{
    const struct stv_month_answer *answer = result;
    stv_json_set(document, "from_date", stv_json_day(answer->from_d));
    stv_json_set(document, "to_date", stv_json_day(answer->to_d));
    stv_json_set(document, "is_hot_month", json_boolean(answer->is_hot));
    stv_json_set(document, "warm_season_from",
                 answer->is_hot ? stv_json_day(answer->hot_from_d) : json_null());
    stv_json_set(document, "first", stv_json_text("Air the store, then go in."));
    stv_json_set(document, "leak_walk", walk_array(answer));
    stv_json_set(document, "visits", visits_array(answer));
    stv_json_set(document, "samples_l", stv_json_number(answer->sampling.samples_l));
    stv_json_set(document, "visits_left_out_to_spare_small_casks",
                 json_integer((json_int_t)answer->sampling.n_spared));
    stv_json_set(document, "house_errors",
                 answer->has_lesson
                     ? error_object(&answer->sampling.house_before, &answer->sampling.house_after)
                     : json_null());
    stv_json_set(document, "casks_learned_before", json_boolean(answer->is_kept));
    stv_json_set(document, "planned", planned_array(answer));
    stv_json_set(document, "transfers", transfers_array(answer));
    stv_json_set(document, "water", water_array(answer));
    stv_json_set(document, "bottlings", bottlings_array(answer));
    stv_json_set(document, "is_month_for_water", json_boolean(stv_month_has_water(answer)));
    stv_json_set(document, "orders", stv_stock_orders_json(&answer->stock, answer->to_d));
    stv_json_caution(document, "Air the store before anyone goes in. Nothing here clears anyone to "
                               "enter. Not a safety assessment.");
    stv_json_caution_by(document, stv_words_caution_moving);
    stv_json_caution_by(document, stv_words_caution_room);
    stv_json_caution_by(document, stv_words_caution_pouring);
    stv_json_caution_by(document, stv_words_caution_vapour);
    stv_json_caution_by(document, stv_words_caution_planning);
}

/* One row of any list. */
struct row {
    const char *list, *date, *what, *why;
    int cask_idx; /* -1: none */
    struct stv_place place;
    double amount;
    const char *unit;
    const struct stv_reduction_step *step; /* NULL: nothing is known of litres before and after */
};

static void add_row(struct stv_sheet *table, const struct stv_chain *chain, const struct row *row)
{
    bool has_cask = row->cask_idx >= 0;
    stv_sheet_add_text(table, row->list);
    stv_sheet_add_text(table, row->date);
    stv_sheet_add_text(table, has_cask ? chain->book.ledger.casks[row->cask_idx].id : "");
    stv_sheet_add_text(table, has_cask ? stv_words_place_of(chain, &row->place).text : "");
    stv_csv_place(table, has_cask ? row->place.tier_idx : -1);
    stv_csv_place(table, has_cask ? row->place.bay_idx : -1);
    stv_csv_place(table, has_cask ? row->place.depth_idx : -1);
    stv_sheet_add_text(table, row->what);
    stv_csv_number(table, row->amount);
    stv_sheet_add_text(table, row->unit);
    stv_sheet_add_text(table, row->why);
    stv_csv_number(table, row->step ? row->step->before20_l.p50 : (double)NAN);
    stv_csv_number(table, row->step ? row->step->after20_l.p50 : (double)NAN);
    stv_csv_number(table, row->step ? 100.0 * row->step->before_abv20_frac.p50 : (double)NAN);
    stv_csv_number(table, row->step ? 100.0 * row->step->after_abv20_frac.p50 : (double)NAN);
    stv_csv_number(table, row->step ? row->step->room_l : (double)NAN);
}

static void add_walk_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    for (size_t i = 0; i < answer->n_walk; i++) {
        const struct stv_walk_cask *cask = &answer->walk[i];
        const struct row row = {"leak walk",
                                "",
                                "look for a leak",
                                stv_walk_reason_key(cask->reason),
                                cask->cask_idx,
                                stv_lineage_place(answer->chain->lineage, cask->cask_idx),
                                100.0 * cask->leak_frac,
                                "% chance of a leak",
                                NULL};
        add_row(table, answer->chain, &row);
    }
}

static void add_visit_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    for (size_t i = 0; i < answer->n_visits; i++) {
        const struct stv_month_visit *visit = &answer->visits[i];
        struct stv_formatted why =
            stv_format("rank %zu, narrows %s %%, %zu as good", visit->rank,
                       stv_format_number(100.0 * visit->narrowed_frac, 1).text, visit->n_as_good);
        const struct row row = {"open",
                                "",
                                visit->is_gauged && visit->is_nosed ? "gauge and nose"
                                : visit->is_gauged                  ? "gauge"
                                                                    : "nose",
                                why.text,
                                visit->cask_idx,
                                stv_lineage_place(answer->chain->lineage, visit->cask_idx),
                                visit->sample_l,
                                "L of sample",
                                NULL};
        add_row(table, answer->chain, &row);
    }
}

static void add_planned_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    for (size_t i = 0; i < answer->n_events; i++) {
        const struct stv_event *event = &chain->book.ledger.events[answer->event_idx[i]];
        bool is_water = event->kind == STV_EVENT_ADD_WATER;
        struct stv_formatted day = stv_format_iso_day(event->day_d);
        struct stv_formatted into =
            event->other_idx >= 0
                ? stv_format("into %s", chain->book.ledger.casks[event->other_idx].id)
                : stv_format("%s", "");
        const struct row row = {"planned",
                                day.text,
                                stv_month_job_name(event),
                                into.text,
                                event->cask_idx,
                                stv_month_job_place(chain, event),
                                is_water ? event->water_kg : event->volume20_l,
                                is_water                      ? "kg"
                                : isfinite(event->volume20_l) ? "L"
                                                              : "",
                                NULL};
        add_row(table, chain, &row);
    }
}

static void add_transfer_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    for (size_t i = 0; i < answer->n_leaving; i++) {
        const struct stv_transfer *item = &answer->transfer.transfers.items[answer->leaving_idx[i]];
        bool has_into = item->given_idx != SIZE_MAX;
        struct stv_formatted day = stv_format_iso_day(item->leaving.leave_day_d);
        const struct stv_receiver *into = has_into ? &item->receivers[item->given_idx] : NULL;
        struct stv_formatted why =
            into ? stv_format("into %.48s%s", chain->book.ledger.casks[into->cask_idx].id,
                              into->is_dry ? ", soak and test it first" : "")
                 : stv_format("no empty cask does better than staying");
        const struct row row = {"transfer",
                                day.text,
                                has_into ? "transfer" : "bottle or marry",
                                why.text,
                                item->cask_idx,
                                stv_lineage_place(chain->lineage, item->cask_idx),
                                item->leaving.volume20_l.p50,
                                "L",
                                NULL};
        add_row(table, chain, &row);
    }
}

static void add_water_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    for (size_t i = 0; i < answer->n_water_rows; i++) {
        const struct stv_water_row *at = &answer->water_rows[i];
        const struct stv_reduction_plan *plan = &answer->water.plans[at->plan_idx];
        const struct stv_reduction_step *step = &plan->steps[at->step_idx];
        struct stv_formatted day = stv_format_iso_day(step->day_d);
        bool is_water = answer->chain->book.water.rules.with_abv20_frac <= 0.0;
        const struct row row = {"water",
                                day.text,
                                is_water ? "add water" : "top up with reducing spirit",
                                step->fits ? "" : "no room: settle that first",
                                plan->cask_idx,
                                stv_water_place(answer->chain, plan->cask_idx),
                                step->added_kg,
                                "kg",
                                step};
        add_row(table, answer->chain, &row);
    }
}

static void add_bottling_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    const struct stv_bottling_answer *bottling = &answer->bottling;
    for (int c = 0; c < (int)answer->chain->book.ledger.n_casks; c++) {
        if (!stv_month_bottles(answer, c))
            continue;
        int w = stv_bottling_of_cask(bottling, c);
        const struct stv_bottling_outcome *outcome = &bottling->plan.outcomes[w];
        size_t i = 0;
        while (outcome->casks[i].cask_idx != c)
            i++;
        struct stv_formatted day = stv_format_iso_day(bottling->planned[w].wish.day_d);
        struct stv_bottling_name name = stv_bottling_name(&bottling->planned[w]);
        const struct row row = {"bottle",
                                day.text,
                                "bottle",
                                name.text,
                                c,
                                stv_lineage_place(answer->chain->lineage, c),
                                floor(outcome->casks[i].bottles_nd.p50),
                                "bottles",
                                NULL};
        add_row(table, answer->chain, &row);
    }
}

static void add_order_rows(struct stv_sheet *table, const struct stv_month_answer *answer)
{
    const struct stv_cask_plan *plan = &answer->chain->book.cask_plan;
    for (size_t f = 0; f < plan->n_fills; f++) {
        struct stv_stock_order order;
        (void)stv_stock_order_of(&answer->stock, f, &order);
        size_t n = answer->stock.plan.fills[f].n_to_buy;
        if (n == 0 || order.order_day_d > answer->to_d || order.fill_day_d <= answer->from_d)
            continue;
        struct stv_formatted day = stv_format_iso_day(order.order_day_d);
        const struct row row = {
            "order", day.text,         plan->fills[f].kind, order.is_late ? "late" : "",
            -1,      {-1, -1, -1, -1}, (double)n,           "casks",
            NULL};
        add_row(table, answer->chain, &row);
    }
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct stv_month_answer *answer = result;
    const struct row air = {
        "air", "", "air the store, then go in", "", -1, {-1, -1, -1, -1}, (double)NAN, "", NULL};
    stv_csv_heads(table,
                  "list,date,cask,place,tier,bay,depth,what,amount,unit,why,before_volume20_l,"
                  "after_volume20_l,before_abv20_pct,after_abv20_pct,room_hottest_l");
    add_row(table, answer->chain, &air);
    add_walk_rows(table, answer);
    add_visit_rows(table, answer);
    add_planned_rows(table, answer);
    add_transfer_rows(table, answer);
    add_water_rows(table, answer);
    add_bottling_rows(table, answer);
    add_order_rows(table, answer);
}

static void add_text(struct stv_text *text, const void *result)
{
    stv_words_month(text, result);
}

int stv_cmd_month(const struct stv_options *options)
{
    struct stv_session session;
    struct stv_month_answer result = {0};
    const struct stv_sampling_limits limits = {
        .most_casks = (size_t)stv_options_number(options, STV_OPT_MOST),
        .most_samples_l = stv_options_number(options, STV_OPT_SAMPLES),
        .most_share_frac = STV_SAMPLING_MOST_SHARE_FRAC,
    };
    int code;
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    stv_messages_step(options, "Working out the month from %zu gauges",
                      session.chain.book.n_gauges);
    enum stv_status status = stv_month_make(&session.chain, limits, &result);
    if (status != STV_OK) {
        stv_month_free(&result);
        return stv_session_fail(&session, status, "The month could not be worked out: %s.",
                                stv_status_text(status));
    }
    session.chain.needs_attention |= result.n_walk > 0 && result.walk[0].reason == STV_WALK_LEARNED;
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    stv_month_free(&result);
    return stv_session_close(&session, status);
}
