/* `place --fill` and `place --all`: many casks shared out over places. */
#include "cli/cmd_place.h"

#include "cli/answer.h"
#include "cli/csv.h"
#include "cli/place_crew.h"
#include "cli/words.h"
#include "cli/words_place_house.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define WHY_MAX 384
#define PLACELESS "placeless"

struct result {
    const struct stv_chain *chain;
    const struct stv_place_house *house;
    bool is_all, with_crew;
};

static json_t *outcome_object(const struct result *result, size_t group, size_t kind)
{
    const struct stv_place_house *house = result->house;
    const struct stv_house_outcome *outcome =
        &house->placement.outcomes[group * house->n_kinds + kind];
    const struct stv_place_score *score = &outcome->score;
    struct stv_place tier = house->kinds[kind].place;
    tier.bay_idx = tier.depth_idx = -1;
    json_t *object = stv_json_place_object(result->chain, &tier);
    stv_json_set(object, "reach", stv_json_text(stv__reach_key(house->kinds[kind].reach)));
    stv_json_set(object, "places", json_integer((json_int_t)house->kinds[kind].n_places));
    stv_json_set(object, "plate_for_one_kg", stv_json_number(house->kinds[kind].most_kg));
    stv_json_set(object, "is_allowed", json_boolean(outcome->is_allowed != 0));
    stv_json_set(
        object, "put_here",
        json_integer(
            (json_int_t)house->placement.assignment.n_placed[group * house->n_kinds + kind]));
    stv_json_set(object, "is_as_good", json_boolean(score->as_good != 0));
    stv_json_set(object, "loss_pct_per_y", stv_json_range(outcome->loss_frac_per_y, 100.0));
    stv_json_set(object, "abv20_pct", stv_json_range(score->abv20_frac, 100.0));
    stv_json_set(object, "wood_index", stv_json_range(score->wood_nd, 1.0));
    stv_json_set(object, "still_fruit_index", stv_json_range(score->fruit_nd, 1.0));
    stv_json_set(object, "bottles", stv_json_range(score->bottles_nd, 1.0));
    stv_json_set(object, "bottles_against_best", stv_json_number(score->bottles_against_best_nd));
    stv_json_set(object, "wood_inside_pct", stv_json_number(100.0 * score->wood_ok_frac));
    stv_json_set(object, "strength_reached_pct", stv_json_number(100.0 * score->abv_ok_frac));
    return object;
}

static json_t *group_object(const struct result *result, size_t g)
{
    const struct stv_place_house *house = result->house;
    const struct stv_cask_group *group = &house->groups[g];
    const struct stv_place_group *words = &house->group_words[g];
    json_t *object = json_object(), *kinds = json_array();
    stv_json_set(object, "group", stv_json_text(words->label));
    stv_json_set(object, "kind", stv_json_text(words->kind_name));
    stv_json_set(object, "casks", json_integer((json_int_t)group->n_casks));
    stv_json_set(object, "filled_l", stv_json_number(words->litres_l));
    stv_json_set(object, "filled_abv20_pct", stv_json_number(100.0 * words->abv20_frac));
    stv_json_set(object, "weight_kg", stv_json_number(group->mass_kg));
    stv_json_set(object, "target_date", stv_json_day(group->target_day_d));
    stv_json_set(object, "without_place",
                 json_integer((json_int_t)house->placement.assignment.n_left[g]));
    for (size_t k = 0; k < house->n_kinds; k++)
        stv_json_append(kinds, outcome_object(result, g, k));
    stv_json_set(object, "places", kinds);
    return object;
}

static json_t *item_object(const struct result *result, size_t i)
{
    const struct stv_place_house *house = result->house;
    size_t slot = house->slot_of_item[i];
    json_t *object = json_object();
    stv_json_set(object, "cask", stv_json_text(house->items[i].id));
    stv_json_set(object, "group",
                 stv_json_text(house->group_words[house->house_items[i].group_idx].label));
    stv_json_set(object, "from", stv_json_place_object(result->chain, &house->items[i].from));
    stv_json_set(object, "to",
                 slot == SIZE_MAX
                     ? json_null()
                     : stv_json_place_object(result->chain, &house->slots[slot].place));
    stv_json_set(object, "moves",
                 json_boolean(slot != SIZE_MAX && slot != house->house_items[i].slot_idx));
    return object;
}

static json_t *gap_list(const struct result *result)
{
    static const char *const keys[] = {[STV_GAP_PLACE] = "no place",
                                       [STV_GAP_WOOD_LOW] = "too little wood",
                                       [STV_GAP_WOOD_HIGH] = "too much wood",
                                       [STV_GAP_STRENGTH] = "too weak",
                                       [STV_GAP_BEST] = "not the best place"};
    static const char *const units[] = {[STV_GAP_PLACE] = NULL,
                                        [STV_GAP_WOOD_LOW] = "wood_index_missing",
                                        [STV_GAP_WOOD_HIGH] = "wood_index_over",
                                        [STV_GAP_STRENGTH] = "abv20_pct_missing",
                                        [STV_GAP_BEST] = "bottles_missing_each"};
    const struct stv_place_house *house = result->house;
    json_t *list = json_array();
    struct stv_house_gap *gaps = malloc((5 * house->n_groups + 1) * sizeof *gaps);
    size_t n = gaps ? stv_house_gaps(&house->placement, &result->chain->book.rules, gaps) : 0;
    for (size_t i = 0; i < n; i++) {
        double factor = gaps[i].kind == STV_GAP_STRENGTH ? 100.0 : 1.0;
        json_t *object = json_object();
        stv_json_set(object, "group", stv_json_text(house->group_words[gaps[i].group_idx].label));
        stv_json_set(object, "wish", stv_json_text(keys[gaps[i].kind]));
        stv_json_set(object, "casks", json_integer((json_int_t)gaps[i].n_casks));
        if (units[gaps[i].kind])
            stv_json_set(object, units[gaps[i].kind], stv_json_number(factor * gaps[i].missing_nd));
        stv_json_set(object, "met_pct", stv_json_number(100.0 * gaps[i].met_frac));
        stv_json_append(list, object);
    }
    free(gaps);
    return list;
}

static void add_json(json_t *document, const void *result)
{
    const struct result *all = result;
    const struct stv_place_house *house = all->house;
    const struct stv_house_difference *against = &house->placement.against_plain;
    json_t *groups = json_array(), *casks = json_array(), *gain = json_object();
    stv_json_set(document, "from_date", stv_json_day(all->chain->as_of_day_d));
    stv_json_set(document, "matters", json_boolean(against->is_matter != 0));
    stv_json_set(document, "moves", json_integer((json_int_t)house->placement.assignment.n_moves));
    stv_json_set(document, "free_places", json_integer((json_int_t)house->n_free));
    stv_json_set(document, "bottles", stv_json_range(house->placement.bottles_nd, 1.0));
    stv_json_set(document, "margin_bottles", stv_json_number(house->placement.margin_bottles_nd));
    stv_json_set(gain, "bottles", stv_json_number(against->bottles_nd));
    stv_json_set(gain, "more_bottles_pct", stv_json_number(100.0 * against->more_frac));
    stv_json_set(gain, "casks_inside_wood", stv_json_number(against->wood_ok_nd));
    stv_json_set(gain, "casks_strong_enough", stv_json_number(against->abv_ok_nd));
    stv_json_set(gain, "still_fruit_index", stv_json_number(against->fruit_frac));
    stv_json_set(gain, "casks_behind_others", stv_json_number(against->behind_nd));
    stv_json_set(document, all->is_all ? "against_leaving_all" : "against_filling_up", gain);
    for (size_t g = 0; g < house->n_groups; g++)
        stv_json_append(groups, group_object(all, g));
    stv_json_set(document, "groups", groups);
    for (size_t i = 0; i < house->n_items; i++)
        stv_json_append(casks, item_object(all, i));
    stv_json_set(document, "casks", casks);
    stv_json_set(document, "over_plate_now", json_integer((json_int_t)house->n_too_heavy));
    stv_json_set(document, "not_met", gap_list(all));
    stv_json_set(document, "crew", stv_place_crew_json(all->chain, house));
    stv_json_caution_by(document, stv_words_caution_moving);
    stv_json_caution_by(document, stv_words_caution_planning);
}

static void add_item_row(struct stv_sheet *table, const struct result *all, size_t i)
{
    const struct stv_place_house *house = all->house;
    size_t slot = house->slot_of_item[i], g = house->house_items[i].group_idx;
    const struct stv_place nowhere = {-1, -1, -1, -1}, *from = &house->items[i].from;
    const struct stv_place *to = slot == SIZE_MAX ? &nowhere : &house->slots[slot].place;
    stv_sheet_add_text(table, house->items[i].id);
    stv_sheet_add_text(table, house->group_words[g].label);
    stv_sheet_add_text(table, house->group_words[g].kind_name);
    stv_sheet_add_text(table,
                       from->warehouse_idx < 0 ? "" : stv_words_place_of(all->chain, from).text);
    stv_sheet_add_text(table, slot == SIZE_MAX ? "" : stv_words_place_of(all->chain, to).text);
    stv_csv_place(table, to->tier_idx);
    stv_csv_place(table, to->bay_idx);
    stv_csv_place(table, to->depth_idx);
    if (slot == SIZE_MAX) {
        for (int empty = 0; empty < 23; empty++)
            stv_sheet_add_text(table, "");
        return;
    }
    size_t kind = house->slots[slot].kind_idx;
    const struct stv_house_outcome *outcome = &house->placement.outcomes[g * house->n_kinds + kind];
    stv_sheet_add_text(table, stv__reach_key(house->kinds[kind].reach));
    stv_csv_number(table, outcome->score.as_good);
    stv_csv_number(table, slot != house->house_items[i].slot_idx);
    stv_csv_range(table, outcome->loss_frac_per_y, 100.0);
    stv_csv_range(table, outcome->score.abv20_frac, 100.0);
    stv_csv_range(table, outcome->score.wood_nd, 1.0);
    stv_csv_range(table, outcome->score.bottles_nd, 1.0);
}

static void add_csv(struct stv_sheet *table, const void *result)
{
    const struct result *all = result;
    if (all->with_crew) {
        stv_place_crew_csv(table, all->chain, all->house);
        return;
    }
    stv_csv_heads(table, "cask,group,kind,from,to,to_tier,to_bay,to_depth,reach,as_good,moves,"
                         "loss_pct_per_y*,abv20_pct*,wood_index*,bottles*");
    for (size_t i = 0; i < all->house->n_items; i++)
        add_item_row(table, all, i);
}

static void add_text(struct stv_text *text, const void *result)
{
    const struct result *all = result;
    stv_words_place_house(text, all->chain, all->house, all->is_all, all->with_crew);
}

/* The fill runs that are typed. */
static enum stv_status read_runs(const struct stv_session *session, struct stv_fill_words *runs,
                                 struct stv_place_ask *ask, char *why, size_t size)
{
    const struct stv_options *options = session->options;
    char reason[WHY_MAX / 2];
    for (size_t i = 0; i < stv_options_count(options, STV_OPT_PLACE_FILL); i++) {
        const char *text = stv_options_nth(options, STV_OPT_PLACE_FILL, i)->text;
        if (strcasecmp(text, PLACELESS) == 0) {
            ask->has_placeless = true;
            continue;
        }
        struct stv_fill_words *run = &runs[ask->n_runs];
        enum stv_status status =
            stv_fill_words_read(text, &session->chain.book.numbers, run, reason, sizeof reason);
        if (status == STV_OK && run->n_casks == 0) {
            snprintf(reason, sizeof reason, "how many casks is not said");
            status = STV_E_PARSE;
        } else if (status == STV_OK && run->n_strengths != 1) {
            snprintf(reason, sizeof reason, "a run is filled at one strength");
            status = STV_E_PARSE;
        }
        if (status != STV_OK) {
            snprintf(why, size,
                     "--fill \"%.60s\": %s. Write it as \"12 x new oak 200 L, 195 L at 59.2 %%, "
                     "plan 8 y\", or \"placeless\".",
                     text, reason);
            return STV_E_USAGE;
        }
        ask->n_runs++;
    }
    return STV_OK;
}

int stv__place_house(struct stv_session *session)
{
    const struct stv_options *options = session->options;
    char why[WHY_MAX] = "";
    struct stv_place_house house = {0};
    struct stv_place_ask ask = {.has_all = stv_options_has(options, STV_OPT_ALL),
                                .has_placeless = stv_options_has(options, STV_OPT_ALL),
                                .most_moves =
                                    stv_options_has(options, STV_OPT_MOST_MOVES)
                                        ? (size_t)stv_options_number(options, STV_OPT_MOST_MOVES)
                                        : SIZE_MAX};
    struct stv_fill_words *runs =
        calloc(stv_options_count(options, STV_OPT_PLACE_FILL) + 1, sizeof *runs);
    enum stv_status status = runs ? read_runs(session, runs, &ask, why, sizeof why) : STV_E_MEMORY;
    ask.runs = runs;
    if (status == STV_OK)
        status = stv_place_house_make(&session->chain, &ask, &house, why, sizeof why);
    free(runs);
    if (status != STV_OK)
        return stv_session_fail(session, status, "%s", why[0] ? why : stv_status_text(status));
    const struct result result = {&session->chain, &house, ask.has_all,
                                  stv_options_has(options, STV_OPT_CREW)};
    const struct stv_answer answer = {&result, add_text, add_json, add_csv};
    session->chain.needs_attention |= house.n_too_heavy > 0;
    for (size_t g = 0; g < house.n_groups; g++)
        session->chain.needs_attention |= house.placement.assignment.n_left[g] > 0 ||
                                          stv_place_group_fault(&session->chain, &house, g);
    status = stv_answer_write(options, &session->chain, &session->chain.problems, &answer);
    stv_place_house_free(&house);
    return stv_session_close(session, status);
}
