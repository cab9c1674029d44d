/* Which place suits a cask: the one in front, those as good, and what it would cost to choose
 * another.  "It does not matter" is an answer. */
#include "cli/place_cask.h"

#include "cli/place_house.h"
#include "cli/prose.h"
#include "cli/words.h"
#include "cli/words_place_why.h"

#include <math.h>
#include <string.h>

#define ROWS_PRINTED_MOST 24

#define PLACE_COLUMNS 14
#define REACH_COLUMNS 17
#define PLACE_ROW "%8s%7s%7s%6s%6s  %-13s"

static struct stv_formatted reach_text(const struct stv_free_place *place)
{
    if (place->is_present)
        return stv_format("there now");
    if (place->reach == STV_REACH_BEHIND && place->blocked_by[0])
        return stv_format("cask %s to move", place->blocked_by);
    if (place->reach == STV_REACH_BEHIND)
        return stv_format("behind others");
    return stv_format("%s", place->reach == STV_REACH_HAND ? "by hand" : "lift");
}

static const struct stv_free_place *place_of(const struct stv_place_cask *told, size_t i)
{
    return &told->free_places[told->placement.scores[i].free_idx];
}

/* True for the first of the places as good that lies on its tier, the best one's tier apart. */
static bool is_another_tier(const struct stv_place_cask *told, size_t i)
{
    const struct stv_place *own = &place_of(told, i)->place;
    for (size_t k = 0; k < i; k++) {
        const struct stv_place *before = &place_of(told, k)->place;
        if (before->warehouse_idx == own->warehouse_idx && before->tier_idx == own->tier_idx)
            return false;
    }
    return told->placement.scores[i].as_good != 0;
}

/* "Tiers 3 and 4 would do as well." */
static void add_as_good(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_place_cask *told)
{
    struct stv_text tiers = {0};
    size_t n_good = 0, n_tiers = 0, n_told = 0;
    for (size_t i = 1; i < told->placement.n_scores; i++) {
        n_good += told->placement.scores[i].as_good != 0;
        n_tiers += is_another_tier(told, i);
    }
    for (size_t i = 1; i < told->placement.n_scores; i++) {
        struct stv_place tier = place_of(told, i)->place;
        tier.bay_idx = tier.depth_idx = -1;
        if (is_another_tier(told, i))
            stv_prose_add(&tiers, "%s%s",
                          n_told++ == 0       ? ""
                          : n_told == n_tiers ? " and "
                                              : ", ",
                          stv_words_place_short(chain, &tier).text);
    }
    if (n_tiers)
        stv_prose_wrap(text, 0, "%s %s would do as well (%s in all).",
                       n_tiers == 1 ? "Tier" : "Tiers", stv_text_string(&tiers),
                       stv_format_count(n_good, "other place", "other places").text);
    else if (n_good)
        stv_prose_wrap(text, 0, "%s on that tier would do as well.",
                       stv_format_count(n_good, "other place", "other places").text);
    stv_text_free(&tiers);
}

/* Why the place in front is put before those as good. */
static const char *tie_words(const struct stv_place_cask *told)
{
    const struct stv_free_place *first = place_of(told, 0);
    const struct stv_place_score *score = &told->placement.scores[0];
    bool is_easier = false, is_lower = false, is_ahead = false;
    for (size_t i = 1; i < told->placement.n_scores; i++) {
        const struct stv_free_place *other = place_of(told, i);
        is_easier |= told->placement.scores[i].as_good && other->reach > first->reach;
        is_lower |=
            told->placement.scores[i].as_good && other->place.tier_idx > first->place.tier_idx;
        is_ahead |= told->placement.scores[i].as_good &&
                    told->placement.scores[i].merit_nd < score->merit_nd;
    }
    return first->is_present ? "it lies there already"
           : is_easier       ? "it is the easiest to reach"
           : is_lower        ? "it lies lowest"
           : is_ahead        ? "it comes out ahead by a hair"
                             : "it comes first along the bays";
}

static void add_answer(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_place_cask *told)
{
    const char *id = chain->book.ledger.casks[told->cask_idx].id;
    const struct stv_free_place *best = place_of(told, 0);
    struct stv_place_words where = stv_words_place_of(chain, &best->place);
    if (told->placement.n_scores == 1) {
        stv_prose_wrap(text, 0,
                       best->is_present ? "No other place is free for cask %s: it stays on %s."
                                        : "One place is free for cask %s: %s.",
                       id, where.text);
        return;
    }
    if (!told->placement.is_matter) {
        stv_prose_wrap(text, 0,
                       "It does not matter where cask %s lies: no free place can be told from the "
                       "best by bottles (%s or less), wood, strength or fruit. %s %s: %s.",
                       id, stv_format_number(told->placement.margin_bottles_nd, 1).text,
                       best->is_present ? "Let it stay on" : "Take", where.text, tie_words(told));
        return;
    }
    stv_prose_wrap(text, 0,
                   best->is_present ? "Cask %s stays where it lies, on %s." : "Put cask %s on %s.",
                   id, where.text);
    add_as_good(text, chain, told);
    if (told->placement.scores[1].as_good)
        stv_prose_wrap(text, 0, "Of those as good, this one: %s.", tie_words(told));
}

/* What the plate leaves for one cask where it lies, when that is less than its weight. */
static void add_present_plate(struct stv_text *text, const struct stv_chain *chain,
                              const struct stv_place_cask *told)
{
    if (told->mass_kg > told->present_plate_kg)
        stv_prose_wrap(text, 0,
                       "Look at this first: on %s the plate leaves %s kg for one cask, and cask %s "
                       "weighs %s kg. Its place is not among those below.",
                       stv_words_place_of(chain, &told->present).text,
                       stv_format_number(told->present_plate_kg, 0).text,
                       chain->book.ledger.casks[told->cask_idx].id,
                       stv_format_number(told->mass_kg, 0).text);
}

/* Free places that are no places for it, and places of which the book does not know. */
static void add_left_out(struct stv_text *text, const struct stv_place_cask *told)
{
    if (told->n_plate)
        stv_prose_wrap(text, 0,
                       "%s left out: the plate leaves less for one cask there than the %s kg it "
                       "weighs full.",
                       stv_format_count(told->n_plate, "free place is", "free places are").text,
                       stv_format_number(told->mass_kg, 0).text);
    if (told->is_beyond_gear)
        stv_prose_wrap(text, 0,
                       "It lies higher than the gear of the book reaches: more gear before it is "
                       "moved.");
    if (told->n_promised)
        stv_prose_wrap(text, 0, "%s left out, for history.csv plans another cask there.",
                       stv_format_count(told->n_promised, "free place is", "free places are").text);
    if (told->n_vague)
        stv_prose_wrap(
            text, 0,
            "%s in a place that is not said whole, with tier, bay and depth, and may lie "
            "in one of these.",
            stv_format_count(told->n_vague, "full cask lies", "full casks lie").text);
}

static void add_cask_line(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_place_cask *told)
{
    const struct stv_house_rules *rules = &chain->book.rules;
    const struct stv_cask *cask = &chain->book.ledger.casks[told->cask_idx];
    const struct stv_event *fill = stv_place_fill_of(chain, (size_t)told->cask_idx);
    struct stv_formatted filled = {""};
    if (fill && !told->is_filled_for_trial)
        filled = stv_format(", filled %s with %s L at %s %%vol", stv_format_month(fill->day_d).text,
                            stv_format_number(fill->volume20_l, 0).text,
                            stv_words_percent(fill->abv20_frac).text);
    stv_prose_wrap(
        text, 0,
        "%s%s. Wanted: %s %%vol in %s%s, wood %s to %s of your reference cask, at "
        "least %s %%vol in the cask, %s.",
        cask->kind_name, filled.text, stv_words_percent(rules->bottling_abv20_frac).text,
        stv_format_month(told->placement.target_day_d).text,
        stv_chain_is_year_ahead(chain, told->placement.target_day_d)
            ? " (at least a year ahead: its planned age comes sooner)"
            : "",
        stv_format_number(rules->wood_least_nd, 2).text,
        stv_format_number(rules->wood_most_nd, 2).text,
        stv_words_percent(fmax(rules->least_abv20_frac, rules->bottling_abv20_frac)).text,
        rules->wood_first ? "wood before fruit" : "fruit before wood");
    if (told->is_filled_for_trial)
        stv_prose_wrap(text, 0,
                       "The cask is empty: it was tried as if filled on %s with %s L at "
                       "%s %%vol.",
                       stv_format_day(chain->as_of_day_d).text,
                       stv_format_number(told->trial_l, 0).text,
                       stv_words_percent(told->trial_frac).text);
}

/* Of places with the same climate and the same reach one row is enough, and the cask's own. */
static bool is_told_already(const struct stv_place_cask *told, size_t i)
{
    const struct stv_free_place *place = place_of(told, i);
    if (place->is_present)
        return false;
    for (size_t k = 0; k < i; k++) {
        const struct stv_free_place *before = place_of(told, k);
        if (before->position_idx == place->position_idx && before->reach == place->reach)
            return true;
    }
    return false;
}

/* What a place is most behind in, where it is told from those in front. */
static const char *mark(const struct stv_place_cask *told, const struct stv_house_rules *rules,
                        const struct stv_place_score *score)
{
    double parts_nd[STV_PARTS];
    if (score->as_good)
        return "as good";
    stv_place_parts(score, &told->placement.scores[0], score->bottles_against_best_nd, rules,
                    parts_nd);
    return stv_place_part_words(stv_place_main_part(parts_nd, -1), rules);
}

static void add_table(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_place_cask *told)
{
    stv_prose_add(text, "\n%-14s" PLACE_ROW "reach\n", "tier-bay", "bottles", "%vol", "water",
                  "wood", "fruit", "behind in");
    size_t n_told = 0;
    for (size_t i = 0; i < told->placement.n_scores && n_told < ROWS_PRINTED_MOST; i++) {
        if (is_told_already(told, i))
            continue;
        n_told++;
        const struct stv_place_score *score = &told->placement.scores[i];
        const struct stv_free_place *place = place_of(told, i);
        stv_prose_cell(text, stv_words_place_short(chain, &place->place).text, PLACE_COLUMNS);
        stv_prose_add(text, PLACE_ROW, stv_format_number(score->bottles_nd.p50, 0).text,
                      stv_format_number(100.0 * score->abv20_frac.p50, 1).text,
                      stv_format_number(score->water_kg.p50, 0).text,
                      stv_format_number(score->wood_nd.p50, 2).text,
                      stv_format_number(score->fruit_nd.p50, 2).text,
                      i == 0 ? "<-" : mark(told, &chain->book.rules, score));
        struct stv_formatted reach = reach_text(place);
        if (stv_prose_columns(reach.text, strlen(reach.text)) > REACH_COLUMNS)
            stv_prose_cell(text, reach.text, REACH_COLUMNS);
        else
            stv_text_add(text, reach.text);
        stv_text_add(text, "\n");
    }
    if (told->placement.n_scores > n_told)
        stv_prose_add(text, "(%zu more places like these: --csv or --json has them all)\n",
                      told->placement.n_scores - n_told);
    stv_words_warehouse_key(text, chain);
    stv_prose_wrap(text, 0, "Water: kg that bring what is left to %s %%vol then.",
                   stv_words_percent(chain->book.rules.bottling_abv20_frac).text);
    stv_text_add(text, "\n");
}

static void add_why(struct stv_text *text, const struct stv_chain *chain,
                    const struct stv_place_cask *told)
{
    const struct stv_place_score *best = &told->placement.scores[0];
    stv_prose_wrap(text, 0,
                   "On %s it would give %s bottles at %s %%vol in the cask, wood %s, still fruit "
                   "%s. Inside the wood you allow in %s of 10 trials.",
                   stv_words_place_of(chain, &place_of(told, 0)->place).text,
                   stv_format_range(best->bottles_nd, 0).text,
                   stv_format_range(stv_range_scaled(best->abv20_frac, 100.0), 1).text,
                   stv_format_range(best->wood_nd, 2).text,
                   stv_format_range(best->fruit_nd, 2).text,
                   stv_format_number(10.0 * best->wood_ok_frac, 0).text);
    double most_ok_frac = 0.0;
    for (size_t i = 0; i < told->placement.n_scores; i++)
        most_ok_frac = fmax(most_ok_frac, told->placement.scores[i].wood_ok_frac);
    if (most_ok_frac < 0.5)
        stv_prose_wrap(text, 0,
                       "Wherever it lies, in most trials its wood is outside what you "
                       "allow by then: another age or other wood matters more than the place.");
}

bool stv_place_awaits_water(const struct stv_chain *chain, const struct stv_place_cask *told)
{
    const struct stv_water_house *water = &chain->book.water;
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].kind == STV_EVENT_ADD_WATER &&
            ledger->events[e].cask_idx == told->cask_idx &&
            ledger->events[e].day_d > chain->as_of_day_d)
            return true;
    return water->is_said && told->placement.scores[0].abv20_frac.p50 > water->rules.to_abv20_frac;
}

static void add_no_water(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_place_cask *told)
{
    const struct stv_water_house *water = &chain->book.water;
    struct stv_formatted steps = {""};
    if (!stv_place_awaits_water(chain, told))
        return;
    if (water->is_said)
        steps = stv_format(" Down to %s %%vol: `water` tells the steps.",
                           stv_words_percent(water->rules.to_abv20_frac).text);
    stv_prose_wrap(text, 0,
                   "All strengths here are without water that is still to come, by `water:` of the "
                   "book or later rows of history.csv; water added before is in them.%s",
                   steps.text);
}

/* The place that is farthest off from the one in front, and what it is by. */
static void add_farthest(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_place_cask *told)
{
    const struct stv_place_score *first = &told->placement.scores[0];
    size_t far = 0;
    for (size_t i = 1; i < told->placement.n_scores; i++)
        if (fabs(told->placement.scores[i].merit_nd - first->merit_nd) >
            fabs(told->placement.scores[far].merit_nd - first->merit_nd))
            far = i;
    if (far == 0)
        return;
    const struct stv_place_score *other = &told->placement.scores[far];
    double share = other->merit_nd / first->merit_nd - 1.0;
    int sign = share < 0.0 ? -1 : 1;
    struct stv_text parts = {0}, against = {0};
    stv_place_add_parts(&parts, &chain->book.rules, other, first, sign);
    stv_place_add_parts(&against, &chain->book.rules, other, first, -sign);
    const char *most = stv_text_string(&parts), *least = stv_text_string(&against);
    stv_prose_wrap(text, 0, "Why%s %s: %s %% %s in all that counts%s%s%s%s%s.",
                   sign < 0 && !other->as_good ? " not" : ", against",
                   stv_words_place_of(chain, &place_of(told, far)->place).text,
                   stv_format_number(100.0 * fabs(share), 1).text, sign < 0 ? "behind" : "ahead",
                   most[0] ? ", by " : "", most,
                   least[0] ? (sign < 0 ? "; ahead in " : "; behind in ") : "", least,
                   other->as_good ? "; too little to choose by" : "");
    stv_text_free(&parts);
    stv_text_free(&against);
}

static void add_other_taste(struct stv_text *text, const struct stv_chain *chain,
                            const struct stv_place_cask *told)
{
    const char *taste = chain->book.rules.wood_first ? "fruit" : "wood";
    size_t other = told->placement.other_taste_idx;
    if (told->placement.n_scores < 2)
        return;
    if (other == 0)
        stv_prose_wrap(
            text, 2,
            "Not \"%s\" under `targets: prefer`: the place in front would be the same or "
            "as good. Another planned age, or another range of wood, may.",
            taste);
    else
        stv_prose_wrap(text, 2,
                       "\"%s\" under `targets: prefer`: then %s. Another planned age, or another "
                       "range of wood, may too.",
                       taste, stv_words_place_of(chain, &place_of(told, other)->place).text);
}

void stv_words_place_cask(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_place_cask *told)
{
    add_present_plate(text, chain, told);
    add_answer(text, chain, told);
    add_cask_line(text, chain, told);
    add_table(text, chain, told);
    add_left_out(text, told);
    stv_words_others_stored(text, chain);
    stv_words_planned_leaves(text, chain, &told->cask_idx, 1);
    add_why(text, chain, told);
    add_no_water(text, chain, told);
    add_farthest(text, chain, told);
    stv_prose_wrap(text, 0,
                   "Does not matter: the bay, where no logger of its own tells it apart. "
                   "Places inside %s bottles of each other are as good.",
                   stv_format_number(told->placement.margin_bottles_nd, 1).text);
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    add_other_taste(text, chain, told);
    stv_prose_heading(text, "Cautions");
    stv_words_caution_moving(text);
    stv_words_caution_planning(text);
}
