/* Water for the crew: how much, when and where, whether it goes in, what it comes to, and when it
 * does not matter. */
#include "cli/words_water_parts.h"

#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

/* Below this strength reduced spirit may haze when cold; common practice, no published source. */
#define HAZE_FRAC 0.46
#define ROUNDING_FRAC 1e-9
#define IDS_NAMED_MOST 12

/* Of a whole day: kilograms are enough. */
static struct stv_formatted round_kg(double value_kg)
{
    return stv_format_number(value_kg, value_kg < 10.0 ? 1 : 0);
}

static size_t count_kind(const struct stv_reduction *reduction, enum stv_reduction_kind kind)
{
    size_t n = 0;
    for (size_t i = 0; i < reduction->n_plans; i++)
        n += reduction->plans[i].kind == kind;
    return n;
}

/* Adds "12, 18 and 26" of the plans that a rule picks, "and 9 more" where there are many; returns
 * how many. */
static size_t add_ids(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_reduction *reduction,
                      bool (*is_picked)(const struct stv_reduction_plan *, int), int argument)
{
    size_t n = 0, k = 0;
    for (size_t i = 0; i < reduction->n_plans; i++)
        n += is_picked(&reduction->plans[i], argument);
    size_t named = n > IDS_NAMED_MOST + 1 ? IDS_NAMED_MOST : n;
    for (size_t i = 0; i < reduction->n_plans && k < named; i++) {
        if (!is_picked(&reduction->plans[i], argument))
            continue;
        const char *join = k == 0 ? "" : k + 1 == n ? " and " : ", ";
        stv_prose_add(text, "%s%s", join, stv__water_id(chain, &reduction->plans[i]));
        k++;
    }
    if (named < n)
        stv_prose_add(text, " and %zu more", n - named);
    return n;
}

static void add_group(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_reduction *reduction,
                      bool (*is_picked)(const struct stv_reduction_plan *, int), int argument,
                      const char *lead)
{
    struct stv_text ids = {0};
    if (add_ids(&ids, chain, reduction, is_picked, argument))
        stv_prose_wrap(text, 0, "%s: %s.", lead, stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static bool is_of_kind(const struct stv_reduction_plan *plan, int kind)
{
    return (int)plan->kind == kind;
}

static bool is_without_room(const struct stv_reduction_plan *plan, int next)
{
    return stv__water_has_no_room(plan) && (!next || plan->n_fitting == 0);
}

static bool has_room_at_first(const struct stv_reduction_plan *plan, int unused)
{
    (void)unused;
    return stv__water_has_no_room(plan) && plan->n_fitting > 0;
}

static bool is_short(const struct stv_reduction_plan *plan, int by_least)
{
    return plan->n_steps > 0 && plan->is_short && plan->is_held_by_least == by_least;
}

static bool is_put_off(const struct stv_reduction_plan *plan, int unused)
{
    (void)unused;
    return plan->n_put_off > 0;
}

static void add_put_off(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_reduction *reduction)
{
    char lead[256];
    snprintf(lead, sizeof lead,
             "Steps under %s kg are put off to a later month, or left to the tank (less is hardly "
             "worth opening a bung: common practice, no published source; `least_weight_per_step` "
             "in `water:`)",
             round_kg(chain->book.water.rules.least_step_kg).text);
    add_group(text, chain, reduction, is_put_off, 0, lead);
}

/* "7 (52.9 %vol), 12 (52.8 %vol)": where the least strength allowed stops them. */
static void add_short_by_least(struct stv_text *text, const struct stv_chain *chain,
                               const struct stv_reduction *reduction)
{
    struct stv_text ids = {0};
    for (size_t i = 0; i < reduction->n_plans; i++) {
        const struct stv_reduction_plan *plan = &reduction->plans[i];
        if (is_short(plan, 1))
            stv_prose_add(&ids, "%s%s (%s %%vol)", ids.n ? ", " : "", stv__water_id(chain, plan),
                          stv_format_number(100.0 * plan->end_abv20_frac.p50, 1).text);
    }
    if (ids.n)
        stv_prose_wrap(
            text, 0,
            "Held up by your least strength of %s %%vol, so that they end above %s %%vol "
            "and the tank does the rest: %s.",
            stv_words_percent(chain->book.water.rules.least_abv20_frac).text,
            stv_words_percent(chain->book.water.rules.to_abv20_frac).text, stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

/* --- the house's answer ------------------------------------------------------------------- */

/* How sure the house's plan is, followed blindly. */
static void add_odds(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_reduction *reduction)
{
    double near = 0.0, under = 0.0, n = 0.0;
    for (size_t i = 0; i < reduction->n_plans; i++) {
        if (reduction->plans[i].n_steps == 0)
            continue;
        n += 1.0;
        near += reduction->plans[i].near_frac;
        under += reduction->plans[i].under_frac;
    }
    if (n > 0.0 && chain->run.n_draws > 0)
        stv_prose_wrap(text, 0,
                       "Followed without another gauge, %s in 10 would end within 0.3 of %s %%vol, "
                       "and %s in 10 be under your least at some time: gauge each cask before its "
                       "step, and start again from that.",
                       stv_format_number(10.0 * near / n, 0).text,
                       stv_words_percent(chain->book.water.rules.to_abv20_frac).text,
                       stv_format_number(10.0 * under / n, 0).text);
}

static double all_kg(const struct stv_reduction *reduction)
{
    double sum_kg = 0.0;
    for (size_t i = 0; i < reduction->n_days; i++)
        sum_kg += reduction->days[i].added_kg;
    return sum_kg;
}

/* " (21 to 221)"; nothing when there is no range. */
static struct stv_formatted range_kg(struct stv_range range_kg)
{
    if (range_kg.p05 == range_kg.p95)
        return stv_format("%s", "");
    return stv_format(" (%s to %s)", round_kg(range_kg.p05).text, round_kg(range_kg.p95).text);
}

static void add_nothing(struct stv_text *text, const struct stv_chain *chain,
                        const struct stv_reduction *reduction)
{
    if (reduction->n_plans == 0)
        stv_prose_wrap(text, 0, "No cask holds spirit on %s: nothing to bring down.",
                       stv_format_day(chain->as_of_day_d).text);
    else if (count_kind(reduction, STV_REDUCTION_STEPS))
        stv_prose_wrap(text, 0, "No %s goes in: every cask that should have some is too full.",
                       stv__water_added(chain));
    else if (count_kind(reduction, STV_REDUCTION_PAST) == reduction->n_plans)
        stv_prose_wrap(text, 0,
                       "The last day is over for every cask: say a later one in `water:`.");
    else if (count_kind(reduction, STV_REDUCTION_BELOW))
        stv_prose_wrap(
            text, 0,
            "No cask needs %s in the wood: %s to what you want, or under it, without; "
            "nothing added raises a strength.",
            stv__water_added(chain),
            stv_format_count(count_kind(reduction, STV_REDUCTION_BELOW), "comes", "come").text);
    else
        stv_prose_wrap(text, 0, "No cask needs %s in the wood.", stv__water_added(chain));
}

static void add_answer(struct stv_text *text, const struct stv_chain *chain,
                       const struct stv_reduction *reduction)
{
    if (reduction->n_days == 0) {
        add_nothing(text, chain, reduction);
        return;
    }
    const struct stv_reduction_day *next = &reduction->days[0];
    stv_prose_wrap(text, 0, "Next %s: %s, %s, %s kg%s. %s kg in all until %s.",
                   stv__water_added(chain), stv_format_day(next->day_d).text,
                   stv_format_count(next->n_casks, "cask", "casks").text,
                   round_kg(next->added_kg).text, range_kg(next->need_kg).text,
                   round_kg(all_kg(reduction)).text,
                   stv_format_month(reduction->days[reduction->n_days - 1].day_d).text);
}

static void add_target(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_water_house *water = &chain->book.water;
    struct stv_formatted when = water->by_day_d != INT64_MIN
                                    ? stv_format("by %s", stv_format_day(water->by_day_d).text)
                                    : stv_format("at %g years", water->age_y);
    stv_prose_wrap(text, 0,
                   "Wanted: %s %%vol in the cask %s, never under %s, at most %s points a step. The "
                   "steps aim %s above it: the last touch is made in the tank, where it can be "
                   "measured, not in the cask.",
                   stv_words_percent(water->rules.to_abv20_frac).text, when.text,
                   stv_words_percent(water->rules.least_abv20_frac).text,
                   stv_words_percent(water->rules.most_step_frac).text,
                   stv_words_percent(water->rules.for_tank_frac).text);
}

static void add_spirit_words(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_reduction_rules *rules = &chain->book.water.rules;
    if (rules->with_abv20_frac > 0.0)
        stv_prose_wrap(text, 0,
                       "Reducing spirit of %s %%vol, filled %s, carries its own age, origin and "
                       "wood: a cask is as old as its youngest spirit, and its label may no longer "
                       "say \"single cask\".",
                       stv_words_percent(rules->with_abv20_frac).text,
                       stv_format_day(rules->with_filled_day_d).text);
    else
        stv_prose_wrap(text, 0,
                       "Note the water's source and treatment with every addition. A watered cask "
                       "is no longer \"as drawn\" without water added; its label line changes.");
}

/* --- the crew's list ---------------------------------------------------------------------- */

static void add_crew_row(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_reduction_plan *plan, size_t step_idx)
{
    const struct stv_reduction_step *step = &plan->steps[step_idx];
    struct stv_place place = stv_water_place(chain, plan->cask_idx);
    stv_text_add(text, step->fits ? " [ ] " : "     ");
    stv_prose_name_cell(text, stv__water_id(chain, plan), stv_words_id_columns(chain), 5);
    stv_text_add(text, " ");
    stv_prose_cell(text, stv_words_place_short(chain, &place).text, 14);
    stv_prose_add(text, " %-16s", stv__water_tight(step->need_kg, step->added_kg, 1).text);
    stv_prose_add(text, " %4s>%-4s", stv_format_number(step->before20_l.p50, 0).text,
                  stv_format_number(step->after20_l.p50, 0).text);
    stv_prose_add(text, " %s>%s", stv_format_number(100.0 * step->before_abv20_frac.p50, 1).text,
                  stv_format_number(100.0 * step->after_abv20_frac.p50, 1).text);
    stv_prose_add(text, step->fits ? " %5s L" : " NO ROOM",
                  stv_format_number(step->room_l, 0).text);
    stv_prose_add(text, "  %zu of %zu\n", step_idx + 1, plan->n_steps);
    if (step_idx == 0)
        stv_words_doubt_row(text, chain, plan->cask_idx);
}

static void add_crew_head(struct stv_text *text, const struct stv_chain *chain, int64_t day_d)
{
    stv_prose_heading(text, "%s", stv_format_day(day_d).text);
    stv_prose_add(text, "     %-*s %-14s %-16s %-9s %-9s %7s  step\n",
                  (int)stv_words_id_columns(chain), "cask", "tier-bay",
                  chain->book.water.rules.with_abv20_frac > 0.0 ? "kg of spirit" : "kg of water",
                  "  litres", "%vol", "room");
}

static void add_rows(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_reduction *reduction, const struct stv_water_row *rows,
                     size_t n)
{
    int64_t day_d = INT64_MIN;
    for (size_t i = 0; i < n; i++) {
        const struct stv_reduction_plan *plan = &reduction->plans[rows[i].plan_idx];
        if (plan->steps[rows[i].step_idx].day_d != day_d)
            add_crew_head(text, chain, plan->steps[rows[i].step_idx].day_d);
        day_d = plan->steps[rows[i].step_idx].day_d;
        add_crew_row(text, chain, plan, rows[i].step_idx);
    }
    if (n > 0)
        stv_prose_wrap(text, 0,
                       "(low tiers first; in brackets: what its gauge may ask, 9 times in 10; "
                       "room: above the spirit afterwards, at its hottest, 19 times in 20 more)");
}

/* The first day on which any cask gets water; INT64_MAX: none does. */
static int64_t first_step_d(const struct stv_reduction *reduction)
{
    int64_t first_d = INT64_MAX;
    for (size_t i = 0; i < reduction->n_plans; i++)
        if (reduction->plans[i].n_steps > 0 && reduction->plans[i].steps[0].day_d < first_d)
            first_d = reduction->plans[i].steps[0].day_d;
    return first_d;
}

static void add_crew_list(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_reduction *reduction)
{
    struct stv_water_row *rows;
    size_t n;
    if (stv_water_crew(chain, reduction, &rows, &n) != STV_OK) {
        text->has_failed = true;
        return;
    }
    int64_t first_d = first_step_d(reduction);
    if (n > 0)
        stv_prose_wrap(text, 0, "The coming year's steps:");
    else if (first_d < INT64_MAX)
        stv_prose_wrap(text, 0,
                       "No step falls in the coming year: the first is on %s. Its list is made "
                       "within a year of it (--date), by what the casks hold then.",
                       stv_format_day(first_d).text);
    add_rows(text, chain, reduction, rows, n);
    stv_words_warehouse_key(text, chain);
    free(rows);
}

void stv_words_water_heed(struct stv_text *text, const struct stv_chain *chain)
{
    add_spirit_words(text, chain);
    stv_prose_wrap(text, 0,
                   "Ease the bung on a cool morning, face away; low tiers first, never "
                   "alone. No gauge for 21 days after: it may not be mixed.");
}

void stv_words_water_rows(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_reduction *reduction, const struct stv_water_row *rows,
                          size_t n)
{
    double sum_kg = 0.0;
    size_t n_fit = 0;
    for (size_t i = 0; i < n; i++) {
        const struct stv_reduction_plan *plan = &reduction->plans[rows[i].plan_idx];
        bool has_room = rows[i].step_idx < plan->n_fitting;
        sum_kg += has_room ? plan->steps[rows[i].step_idx].added_kg : 0.0;
        n_fit += has_room;
    }
    stv_prose_wrap(text, 0,
                   "%s, %s kg of %s. Gauge each first: its own gauge sets the kilograms, 9 times "
                   "in 10 within the brackets.",
                   stv_format_count(n_fit, "cask", "casks").text, round_kg(sum_kg).text,
                   stv__water_added(chain));
    add_rows(text, chain, reduction, rows, n);
    for (size_t i = 0; i < n; i++)
        if (rows[i].step_idx >= reduction->plans[rows[i].plan_idx].n_fitting)
            stv__water_add_room_help(text, chain, &reduction->plans[rows[i].plan_idx]);
    stv_words_water_heed(text, chain);
}

static void add_days(struct stv_text *text, const struct stv_reduction *reduction)
{
    if (reduction->n_days < 2)
        return;
    stv_text_add(text, "\n");
    stv_prose_heading(text, "All days");
    stv_prose_add(text, "  %-10s %6s %9s %s\n", "day", "casks", "kg", "(9 times in 10)");
    for (size_t i = 0; i < reduction->n_days; i++) {
        const struct stv_reduction_day *day = &reduction->days[i];
        stv_prose_add(text, "  %-10s %6zu %9s%s\n", stv_format_iso_day(day->day_d).text,
                      day->n_casks, round_kg(day->added_kg).text, range_kg(day->need_kg).text);
    }
}

/* --- the rest ----------------------------------------------------------------------------- */

/* Does the air bring the strength back by itself, in how many casks. */
static void add_house_drift(struct stv_text *text, const struct stv_reduction *reduction)
{
    size_t n = 0, n_rises = 0, n_falls = 0;
    for (size_t i = 0; i < reduction->n_plans; i++) {
        const struct stv_reduction_plan *plan = &reduction->plans[i];
        if (plan->n_steps == 0)
            continue;
        n++;
        n_rises += plan->drift_frac.p50 > STV__WATER_STILL_FRAC;
        n_falls += plan->drift_frac.p50 < -STV__WATER_STILL_FRAC;
    }
    if (n == 0)
        return;
    stv_prose_wrap(text, 0,
                   "Between the last step and the last day the strength rises by itself in %zu of "
                   "%zu casks, where the last step goes under for it as far as your least lets it, "
                   "and falls in %zu, where it stops above. --cask ID tells each.",
                   n_rises, n, n_falls);
}

void stv_words_water_next(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_reduction *reduction)
{
    add_answer(text, chain, reduction);
    add_group(text, chain, reduction, is_without_room, 1, "NO ROOM for the next step");
}

void stv_words_water_house(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_reduction *reduction)
{
    add_answer(text, chain, reduction);
    if (reduction->bottles_nd.p50 > 0.0) {
        stv__water_add_price(text, reduction->gain_bottles_nd, reduction->bottles_nd);
        add_odds(text, chain, reduction);
    }
    add_group(text, chain, reduction, is_without_room, 1, "NO ROOM for the next step");
    add_group(text, chain, reduction, has_room_at_first, 0,
              "ROOM FOR THE FIRST STEPS ONLY, so settle that before the first (--cask tells)");
    add_target(text, chain);
    if (count_kind(reduction, STV_REDUCTION_STEPS))
        stv_text_add(text, "\n");
    add_crew_list(text, chain, reduction);
    add_days(text, reduction);
    stv_text_add(text, "\n");
    for (size_t i = 0; i < reduction->n_plans; i++)
        if (stv__water_has_no_room(&reduction->plans[i]) && reduction->plans[i].n_fitting == 0)
            stv__water_add_room_help(text, chain, &reduction->plans[i]);
    add_group(text, chain, reduction, is_short, 0,
              "Too few months or too small steps to come all the way");
    add_put_off(text, chain, reduction);
    add_short_by_least(text, chain, reduction);
    add_group(text, chain, reduction, is_of_kind, STV_REDUCTION_LEAST,
              "At your least whenever they could have some: the tank does it");
    add_group(text, chain, reduction, is_of_kind, STV_REDUCTION_TANK,
              "So near that the tank does it");
    add_group(text, chain, reduction, is_of_kind, STV_REDUCTION_BELOW,
              "Need none, they come there or under by themselves");
    add_group(text, chain, reduction, is_of_kind, STV_REDUCTION_MONTHS,
              "No month that you allow is left");
    add_group(text, chain, reduction, is_of_kind, STV_REDUCTION_PAST, "Their last day is over");
    add_group(text, chain, reduction, is_of_kind, STV_REDUCTION_LEAVES,
              "The history empties them before");
    add_house_drift(text, reduction);
}

/* The cask whose end is known least. */
static void add_least_sure(struct stv_text *text, const struct stv_chain *chain,
                           const struct stv_reduction *reduction)
{
    const struct stv_reduction_plan *widest = NULL;
    double width = 0.0;
    for (size_t i = 0; i < reduction->n_plans; i++) {
        const struct stv_reduction_plan *plan = &reduction->plans[i];
        if (plan->n_steps == 0)
            continue;
        double own = plan->steps[0].before_abv20_frac.p95 - plan->steps[0].before_abv20_frac.p05;
        if (own > width) {
            widest = plan;
            width = own;
        }
    }
    if (!widest)
        return;
    stv_prose_wrap(text, 2,
                   "A gauge of litres and strength just before each step, and `stavecast learn`: "
                   "cask %s is known least, %s %%vol before its next step.",
                   stv__water_id(chain, widest),
                   stv__water_range_pct(widest->steps[0].before_abv20_frac).text);
}

/* Water that the history holds already for days to come, which the plans come on top of. */
static void add_written(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    size_t n = 0;
    for (size_t e = 0; e < ledger->n_events; e++)
        n += ledger->events[e].day_d > chain->as_of_day_d &&
             (ledger->events[e].kind == STV_EVENT_ADD_WATER ||
              ledger->events[e].kind == STV_EVENT_TOP_UP);
    if (n > 0)
        stv_prose_wrap(text, 0,
                       "history.csv holds %s after %s: they are counted, and the plan comes on "
                       "top of them.",
                       stv_format_count(n, "addition", "additions").text,
                       stv_format_day(chain->as_of_day_d).text);
    stv_prose_wrap(text, 0,
                   "Known of other plans: what history.csv holds. Casks that `bottling` or "
                   "`transfer` would take before their last day are planned here all the same.");
}

static void add_cautions(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_reduction_rules *rules = &chain->book.water.rules;
    stv_prose_heading(text, "Cautions");
    stv_prose_wrap(text, 0,
                   "Start again from the next real gauge, and gauge no sooner than 21 days after "
                   "an addition: it may not be mixed. Weigh what goes in, and write it into "
                   "history.csv as \"add water\" or \"top up\".");
    stv_words_caution_open_bungs(text);
    stv_words_caution_room(text);
    if (rules->to_abv20_frac < HAZE_FRAC - ROUNDING_FRAC)
        stv_prose_wrap(
            text, 0,
            "Below about 46 %%vol reduced spirit may haze when it is cold: try a chilled "
            "sample before going there.");
    stv_words_caution_planning(text);
}

void stv_words_water(struct stv_text *text, const struct stv_chain *chain,
                     const struct stv_reduction *reduction, bool is_named)
{
    struct stv_text leaks = {0};
    for (size_t i = 0; i < reduction->n_plans; i++)
        if (reduction->plans[i].n_steps > 0)
            stv_words_list_leak(&leaks, chain, reduction->plans[i].cask_idx);
    stv_words_leaks_first(text, &leaks);
    for (size_t i = 0; is_named && i < reduction->n_plans; i++) {
        if (i > 0)
            stv_text_add(text, "\n");
        stv__water_add_cask(text, chain, &reduction->plans[i]);
    }
    if (is_named)
        add_target(text, chain);
    else
        stv_words_water_house(text, chain, reduction);
    add_written(text, chain);
    add_spirit_words(text, chain);
    stv_words_bottle_basis(text, &chain->book.rules, 0);
    stv_words_rests_on(text, chain, true);
    stv_words_would_change(text, chain);
    add_least_sure(text, chain, reduction);
    add_cautions(text, chain);
}
