/* The two histories, wood and spirit, as objects of their own. */
#include "cli/json_lineage.h"

#include "cli/json.h"
#include "model/calendar.h"
#include "model/units.h"

#define MONTH_D (STV_YEAR_D / STV_MONTHS)

static void set_born(json_t *object, struct stv_day_span born)
{
    stv_json_set(object, "met_wood", stv_json_day(stv_day_span_middle(born)));
    stv_json_set(object, "give_or_take_d", json_integer((json_int_t)stv_day_span_width_d(born)));
}

static json_t *age_object(struct stv_day_span born, int64_t day_d)
{
    struct stv_age age = stv_age_between(stv_day_span_middle(born), day_d);
    struct stv_age least = stv_age_between(born.to_day_d, day_d);
    json_t *object = json_object();
    stv_json_set(object, "years", json_integer(age.years));
    stv_json_set(object, "days", json_integer(age.days));
    stv_json_set(object, "at_least_years", json_integer(least.years));
    set_born(object, born);
    return object;
}

static json_t *part_object(const struct stv_ledger *ledger, const struct stv_spirit_part *part)
{
    const struct stv_event *event = &ledger->events[part->event_idx];
    json_t *object = json_object();
    stv_json_set(object, "began", stv_json_text(stv_event_kind_name(event->kind)));
    stv_json_set(object, "cask", stv_json_text(ledger->casks[event->cask_idx].id));
    stv_json_set(object, "date", stv_json_day(event->day_d));
    stv_json_set(object, "share_pct", stv_json_number(100.0 * part->share_frac));
    set_born(object, part->born);
    return object;
}

static json_t *stay_object(const struct stv_ledger *ledger, const struct stv_wood_stay *stay)
{
    const struct stv_cask *cask = &ledger->casks[stay->cask_idx];
    json_t *object = json_object();
    stv_json_set(object, "cask", stv_json_text(cask->id));
    stv_json_set(object, "kind", stv_json_text(cask->kind_name));
    stv_json_set(object, "held_before", stv_json_text(stv_wood_history_name(stay->held_before)));
    stv_json_set(object, "use", json_integer(stay->use_idx + 1));
    stv_json_set(object, "from", stv_json_day(stay->from_day_d));
    stv_json_set(object, "to", stay->is_now ? json_null() : stv_json_day(stay->to_day_d));
    stv_json_set(object, "months", stv_json_number(stay->mean_d / MONTH_D));
    stv_json_set(object, "share_pct", stv_json_number(100.0 * stay->share_frac));
    return object;
}

static json_t *parts_array(const struct stv_ledger *ledger, const struct stv_lineage_parts *parts)
{
    json_t *array = json_array();
    for (size_t i = 0; i < parts->n_parts; i++)
        stv_json_append(array, part_object(ledger, &parts->parts[i]));
    return array;
}

static json_t *spirit_object(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    struct stv_lineage_parts parts;
    if (!spirit.is_there ||
        stv_lineage_held(chain->lineage, cask_idx, spirit.use_idx, &parts) != STV_OK)
        return json_null();
    json_t *object = json_object(), *woods = json_array();
    stv_json_set(object, "youngest", age_object(spirit.youngest, chain->as_of_day_d));
    stv_json_set(object, "is_single_cask", json_boolean(spirit.is_single));
    stv_json_set(object, "had_water", json_boolean(spirit.had_water));
    stv_json_set(object, "water_added_kg", stv_json_number(spirit.water_kg));
    stv_json_set(object, "had_top_up", json_boolean(spirit.had_top_up));
    stv_json_set(object, "youngest_top_up",
                 spirit.had_top_up ? age_object(spirit.topping, chain->as_of_day_d) : json_null());
    stv_json_set(object, "top_up_least_abv20_pct",
                 stv_json_number(100.0 * spirit.topping_least_abv20_frac));
    stv_json_set(object, "parts", parts_array(ledger, &parts));
    for (size_t i = 0; i < parts.n_stays; i++)
        stv_json_append(woods, stay_object(ledger, &parts.stays[i]));
    stv_json_set(object, "woods", woods);
    stv_json_set(
        object, "shares_go_by",
        stv_json_text("litres of pure alcohol as written; what evaporated is not counted"));
    stv_lineage_parts_free(&parts);
    return object;
}

static json_t *use_object(const struct stv_chain *chain, int cask_idx, int use_idx,
                          const struct stv_wood_use *use)
{
    struct stv_lineage_parts parts;
    json_t *object = json_object();
    stv_json_set(object, "from", stv_json_day(use->from_day_d));
    stv_json_set(object, "to",
                 use->to_day_d == INT64_MAX ? json_null() : stv_json_day(use->to_day_d));
    if (stv_lineage_held(chain->lineage, cask_idx, use_idx, &parts) == STV_OK) {
        stv_json_set(object, "held", parts_array(&chain->book.ledger, &parts));
        stv_lineage_parts_free(&parts);
    }
    return object;
}

static json_t *wood_object(const struct stv_chain *chain, int cask_idx)
{
    struct stv_wood_life life;
    if (stv_lineage_wood(chain->lineage, cask_idx, &life) != STV_OK)
        return json_null();
    bool is_empty = life.n_uses > 0 && life.empty_since_day_d != INT64_MAX;
    json_t *object = json_object(), *uses = json_array();
    for (size_t u = 0; u < life.n_uses; u++)
        stv_json_append(uses, use_object(chain, cask_idx, (int)u, &life.uses[u]));
    stv_json_set(object, "uses_here", json_integer((json_int_t)life.n_uses));
    stv_json_set(object, "empty_since",
                 is_empty ? stv_json_day(life.empty_since_day_d) : json_null());
    stv_json_set(object, "uses", uses);
    stv_wood_life_free(&life);
    return object;
}

json_t *stv_json_lineage(const struct stv_chain *chain, int cask_idx)
{
    json_t *object = json_object();
    stv_json_set(object, "spirit", spirit_object(chain, cask_idx));
    stv_json_set(object, "wood", wood_object(chain, cask_idx));
    return object;
}
