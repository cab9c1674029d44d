/* `water`: what to add to each cask, when, to bring it down in the wood. */
#include "cli/commands.h"

#include "cli/answer.h"
#include "cli/cask_state.h"
#include "cli/csv.h"
#include "cli/format.h"
#include "cli/session.h"
#include "cli/water.h"
#include "cli/words.h"
#include "model/cask_room.h"

#include <math.h>
#include <stdlib.h>

struct result {
    const struct stv_chain *chain;
    const struct stv_reduction *reduction;
    bool is_named;
};

json_t *stv_water_step_json(const struct stv_reduction_step *step)
{
    json_t *object = json_object();
    stv_json_set(object, "date", stv_json_day(step->day_d));
    stv_json_set(object, "added_kg", stv_json_number(step->added_kg));
    stv_json_set(object, "added20_l", stv_json_number(step->added20_l));
    stv_json_set(object, "by_gauge_kg", stv_json_range(step->need_kg, 1.0));
    stv_json_set(object, "aim_abv20_pct", stv_json_number(100.0 * step->aim_abv20_frac));
    stv_json_set(object, "before_volume20_l", stv_json_range(step->before20_l, 1.0));
    stv_json_set(object, "before_abv20_pct", stv_json_range(step->before_abv20_frac, 100.0));
    stv_json_set(object, "after_volume20_l", stv_json_range(step->after20_l, 1.0));
    stv_json_set(object, "after_abv20_pct", stv_json_range(step->after_abv20_frac, 100.0));
    stv_json_set(object, "volume_hottest_l", stv_json_number(step->hot_l));
    stv_json_set(object, "room_hottest_l", stv_json_number(step->room_l));
    stv_json_set(object, "has_room", json_boolean(step->fits != 0));
    return object;
}

static json_t *help_object(const struct stv_chain *chain, const struct stv_reduction_plan *plan)
{
    const struct stv_cask_limit limit = {
        chain->book.ledger.casks[plan->cask_idx].geometry.capacity_l, plan->hottest_c,
        chain->book.water.rules.room_frac};
    struct stv_room_help help = stv_room_help(&limit, plan->steps[plan->n_steps - 1].hot_l);
    json_t *object = json_object();
    stv_json_set(object, "just_holds_l", stv_json_number(help.tight_l));
    stv_json_set(object, "has_room_l", stv_json_number(help.roomy_l));
    stv_json_set(object, "split_over_casks", json_integer((json_int_t)help.n_casks));
    return object;
}

static void set_end(json_t *object, const struct stv_chain *chain,
                    const struct stv_reduction_plan *plan)
{
    double added_kg = 0.0;
    for (size_t s = 0; s < plan->n_steps; s++)
        added_kg += plan->steps[s].added_kg;
    stv_json_set(object, "added_kg", stv_json_number(added_kg));
    stv_json_set(object, "volume20_l", stv_json_range(plan->end20_l, 1.0));
    stv_json_set(object, "abv20_pct", stv_json_range(plan->end_abv20_frac, 100.0));
    stv_json_set(object, "near_target_pct", stv_json_number(100.0 * plan->near_frac));
    stv_json_set(object, "under_least_pct", stv_json_number(100.0 * plan->under_frac));
    stv_json_set(object, "lowest_abv20_pct", stv_json_number(100.0 * plan->lowest_abv20_frac));
    stv_json_set(object, "drift_points", stv_json_range(plan->drift_frac, 100.0));
    stv_json_set(object, "tank_water_kg", stv_json_range(plan->tank_kg, 1.0));
    stv_json_set(object, "bottles", stv_json_range(plan->bottles_nd, 1.0));
    stv_json_set(object, "gain_bottles", stv_json_range(plan->gain_bottles_nd, 1.0));
    stv_json_set(object, "wood_ratio", stv_json_range(plan->wood_ratio_nd, 1.0));
    stv_json_set(object, "is_short", json_boolean(plan->is_short != 0));
    stv_json_set(object, "is_held_by_least", json_boolean(plan->is_held_by_least != 0));
    stv_json_set(object, "age_y", json_integer(stv_water_age_years(chain, plan)));
}

static json_t *plan_object(const struct result *result, const struct stv_reduction_plan *plan)
{
    const struct stv_chain *chain = result->chain;
    struct stv_place place = stv_water_place(chain, plan->cask_idx);
    json_t *object = stv_json_place_object(chain, &place);
    json_t *steps = json_array();
    stv_json_set(object, "cask", stv_json_text(chain->book.ledger.casks[plan->cask_idx].id));
    stv_json_set(object, "leak_chance_frac", stv_json_number(stv_leak_frac(chain, plan->cask_idx)));
    stv_json_set(object, "plan", stv_json_text(stv_water_kind_key(plan->kind)));
    stv_json_set(object, "last_date", stv_json_day(plan->end_day_d));
    stv_json_set(object, "hottest_c", stv_json_number(plan->hottest_c));
    if (plan->kind != STV_REDUCTION_PAST) {
        stv_json_set(object, "alone_volume20_l", stv_json_range(plan->alone20_l, 1.0));
        stv_json_set(object, "alone_abv20_pct", stv_json_range(plan->alone_abv20_frac, 100.0));
    }
    for (size_t s = 0; s < plan->n_steps; s++)
        stv_json_append(steps, stv_water_step_json(&plan->steps[s]));
    stv_json_set(object, "steps", steps);
    stv_json_set(object, "steps_put_off", json_integer((json_int_t)plan->n_put_off));
    if (stv_reduction_is_for_tank(plan))
        stv_json_set(object, "tank_water_kg", stv_json_range(plan->tank_kg, 1.0));
    if (plan->n_steps == 0)
        return object;
    stv_json_set(object, "steps_with_room", json_integer((json_int_t)plan->n_fitting));
    if (plan->n_fitting < plan->n_steps)
        stv_json_set(object, "room_help", help_object(chain, plan));
    set_end(object, chain, plan);
    return object;
}

static json_t *rules_object(const struct stv_chain *chain)
{
    const struct stv_reduction_rules *rules = &chain->book.water.rules;
    json_t *object = json_object();
    stv_json_set(object, "to_abv20_pct", stv_json_number(100.0 * rules->to_abv20_frac));
    stv_json_set(object, "for_tank_points", stv_json_number(100.0 * rules->for_tank_frac));
    stv_json_set(object, "least_abv20_pct", stv_json_number(100.0 * rules->least_abv20_frac));
    stv_json_set(object, "most_step_points", stv_json_number(100.0 * rules->most_step_frac));
    stv_json_set(object, "least_step_points", stv_json_number(100.0 * rules->least_step_frac));
    stv_json_set(object, "least_step_kg", stv_json_number(rules->least_step_kg));
    stv_json_set(object, "room_pct", stv_json_number(100.0 * rules->room_frac));
    stv_json_set(object, "with_abv20_pct", stv_json_number(100.0 * rules->with_abv20_frac));
    return object;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    const struct stv_reduction *reduction = all->reduction;
    json_t *days = json_array(), *casks = json_array();
    for (size_t i = 0; i < reduction->n_days; i++) {
        const struct stv_reduction_day *day = &reduction->days[i];
        json_t *object = json_object();
        stv_json_set(object, "date", stv_json_day(day->day_d));
        stv_json_set(object, "casks", json_integer((json_int_t)day->n_casks));
        stv_json_set(object, "added_kg", stv_json_number(day->added_kg));
        stv_json_set(object, "added20_l", stv_json_number(day->added20_l));
        stv_json_set(object, "by_gauge_kg", stv_json_range(day->need_kg, 1.0));
        stv_json_append(days, object);
    }
    for (size_t i = 0; i < reduction->n_plans; i++)
        stv_json_append(casks, plan_object(all, &reduction->plans[i]));
    stv_json_set(document, "from_date", stv_json_day(all->chain->as_of_day_d));
    stv_json_set(document, "rules", rules_object(all->chain));
    stv_json_set(document, "days", days);
    stv_json_set(document, "casks", casks);
    stv_json_set(document, "bottles", stv_json_range(reduction->bottles_nd, 1.0));
    stv_json_set(document, "gain_bottles", stv_json_range(reduction->gain_bottles_nd, 1.0));
    stv_json_caution(document,
                     "Start again from the next real gauge: a forecast never replaces one.");
    stv_json_caution_by(document, stv_words_caution_open_bungs);
    stv_json_caution_by(document, stv_words_caution_room);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    stv_csv_heads(
        table, "cask,step,steps,date,warehouse,tier,bay,depth,added_kg,added20_l,"
               "by_gauge_kg*,aim_abv20_pct,before_volume20_l*,before_abv20_pct*,after_volume20_l*,"
               "after_abv20_pct*,room_hottest_l,has_room");
    for (size_t i = 0; i < all->reduction->n_plans; i++) {
        const struct stv_reduction_plan *plan = &all->reduction->plans[i];
        struct stv_place place = stv_water_place(all->chain, plan->cask_idx);
        for (size_t s = 0; s < plan->n_steps; s++) {
            const struct stv_reduction_step *step = &plan->steps[s];
            stv_sheet_add_text(table, all->chain->book.ledger.casks[plan->cask_idx].id);
            stv_csv_number(table, (double)s + 1.0);
            stv_csv_number(table, (double)plan->n_steps);
            stv_sheet_add_text(table, stv_format_iso_day(step->day_d).text);
            stv_sheet_add_text(table, place.warehouse_idx < 0
                                          ? ""
                                          : all->chain->book.warehouses[place.warehouse_idx].name);
            stv_csv_place(table, place.tier_idx);
            stv_csv_place(table, place.bay_idx);
            stv_csv_place(table, place.depth_idx);
            stv_csv_number(table, step->added_kg);
            stv_csv_number(table, step->added20_l);
            stv_csv_range(table, step->need_kg, 1.0);
            stv_csv_number(table, 100.0 * step->aim_abv20_frac);
            stv_csv_range(table, step->before20_l, 1.0);
            stv_csv_range(table, step->before_abv20_frac, 100.0);
            stv_csv_range(table, step->after20_l, 1.0);
            stv_csv_range(table, step->after_abv20_frac, 100.0);
            stv_csv_number(table, step->room_l);
            stv_csv_number(table, step->fits);
        }
    }
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_water(text, all->chain, all->reduction, all->is_named);
}

/* Casks that are named, or all that hold spirit; false after the failure was told. */
static bool list_casks(struct stv_session *session, int *casks, size_t *out_n, int *out_code)
{
    const struct stv_chain *chain = &session->chain;
    size_t n_named = stv_options_count(session->options, STV_OPT_CASK);
    char why[256];
    *out_n = 0;
    for (size_t i = 0; i < n_named; i++) {
        const char *id = stv_options_nth(session->options, STV_OPT_CASK, i)->text;
        int cask_idx = stv_session_cask(session, id, why, sizeof why);
        if (cask_idx < 0) {
            *out_code = stv_session_fail(session, STV_E_USAGE, "%s", why);
            return false;
        }
        if (!stv_lineage_spirit(chain->lineage, cask_idx).is_there) {
            *out_code = stv_session_fail(session, STV_E_NO_DATA, "Cask %s holds no spirit on %s.",
                                         id, stv_format_iso_day(chain->as_of_day_d).text);
            return false;
        }
        bool is_new = true;
        for (size_t k = 0; k < *out_n; k++)
            is_new = is_new && casks[k] != cask_idx;
        if (is_new)
            casks[(*out_n)++] = cask_idx;
    }
    for (size_t c = 0; n_named == 0 && c < chain->book.ledger.n_casks; c++)
        if (stv_lineage_spirit(chain->lineage, (int)c).is_there)
            casks[(*out_n)++] = (int)c;
    return true;
}

static const char *lack_of_rules(const struct stv_chain *chain)
{
    return chain->book.water.is_said
               ? NULL
               : "book.yaml says nothing of how you bring casks down. Add, in your own numbers: "
                 "water: {to: 52 %vol, months: [Oct, Nov, Mar], least_strength: 50 %vol}";
}

int stv_cmd_water(const struct stv_options *options)
{
    struct stv_session session;
    struct stv_reduction reduction;
    int code;
    if (!stv_session_open_lacking(&session, options, lack_of_rules, &code))
        return code;
    size_t n = 0;
    int *casks =
        malloc((session.chain.book.ledger.n_casks + stv_options_count(options, STV_OPT_CASK) + 1) *
               sizeof *casks);
    if (!casks)
        return stv_session_fail(&session, STV_E_MEMORY, "The water could not be planned.");
    if (!list_casks(&session, casks, &n, &code)) {
        free(casks);
        return code;
    }
    enum stv_status status = stv_water_make(&session.chain, casks, n, &reduction);
    free(casks);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The water could not be planned: %s.",
                                stv_status_text(status));
    const struct result result = {&session.chain, &reduction,
                                  stv_options_count(options, STV_OPT_CASK) > 0};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    status = stv_answer_write(options, &session.chain, &session.chain.problems, &answer);
    for (size_t i = 0; i < reduction.n_plans; i++)
        session.chain.needs_attention |= reduction.plans[i].n_steps > 0 &&
                                         stv_may_leak(&session.chain, reduction.plans[i].cask_idx);
    stv_reduction_free(&reduction);
    return stv_session_close(&session, status);
}
