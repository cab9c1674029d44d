/* One cask's plan in words: its steps, whether they go in, whether the air brings the strength
 * back, and what it is worth. */
#include "cli/words_water_parts.h"

#include "cli/prose.h"
#include "cli/words.h"
#include "model/cask_room.h"

#include <math.h>
#include <string.h>

/* "11.7 (9.8-13.4)" */
struct stv_formatted stv__water_tight(struct stv_range range, double middle_nd, int decimals)
{
    struct stv_formatted number = stv_format_number(middle_nd, decimals);
    struct stv_formatted low = stv_format_number(range.p05, decimals);
    struct stv_formatted high = stv_format_number(range.p95, decimals);
    if (strcmp(low.text, high.text) == 0)
        return number;
    return stv_format("%s (%s-%s)", number.text, low.text, high.text);
}

struct stv_formatted stv__water_kg(double value_kg)
{
    return stv_format_number(value_kg, value_kg < 100.0 ? 1 : 0);
}

struct stv_formatted stv__water_range_pct(struct stv_range range)
{
    return stv_format_range(stv_range_scaled(range, 100.0), 1);
}

const char *stv__water_id(const struct stv_chain *chain, const struct stv_reduction_plan *plan)
{
    return chain->book.ledger.casks[plan->cask_idx].id;
}

const char *stv__water_added(const struct stv_chain *chain)
{
    return chain->book.water.rules.with_abv20_frac > 0.0 ? "reducing spirit" : "water";
}

bool stv__water_has_no_room(const struct stv_reduction_plan *plan)
{
    return plan->n_fitting < plan->n_steps;
}

void stv__water_add_price(struct stv_text *text, struct stv_range gain_nd, struct stv_range all_nd)
{
    struct stv_formatted gain = stv_format_number(fabs(gain_nd.p50), 0);
    struct stv_formatted all = stv_format_number(all_nd.p50, 0);
    if (fabs(gain_nd.p50) < 0.5)
        stv_prose_wrap(text, 0,
                       "In bottles it does not matter: %s, in the wood or all of it in the tank. "
                       "Whether slow water tastes better is disputed: nose one cask against a "
                       "sister left alone.",
                       all.text);
    else if (fabs(gain_nd.p50) <= STV_BOTTLES_TIE_SHARE * all_nd.p50)
        stv_prose_wrap(text, 0,
                       "In bottles it does not matter: %s %s, of %s, than with all of it in the "
                       "tank. Whether slow water tastes better is disputed: nose one cask against "
                       "a sister left alone.",
                       gain.text, gain_nd.p50 > 0.0 ? "more" : "fewer", all.text);
    else
        stv_prose_wrap(text, 0,
                       "It %s %s bottles of %s against leaving it and putting all of it into the "
                       "tank (%s to %s)%s. Whether slow water tastes better is disputed.",
                       gain_nd.p50 > 0.0 ? "gains" : "costs", gain.text, all.text,
                       stv_format_number(gain_nd.p50 > 0.0 ? gain_nd.p05 : -gain_nd.p95, 0).text,
                       stv_format_number(gain_nd.p50 > 0.0 ? gain_nd.p95 : -gain_nd.p05, 0).text,
                       gain_nd.p50 > 0.0 ? ": weaker spirit loses less alcohol to the air" : "");
}

void stv__water_add_room_help(struct stv_text *text, const struct stv_chain *chain,
                              const struct stv_reduction_plan *plan)
{
    const struct stv_cask_limit limit = {
        chain->book.ledger.casks[plan->cask_idx].geometry.capacity_l, plan->hottest_c,
        chain->book.water.rules.room_frac};
    const struct stv_reduction_step *step = &plan->steps[plan->n_fitting];
    struct stv_room_help help = stv_room_help(&limit, plan->steps[plan->n_steps - 1].hot_l);
    struct stv_text advice = {0};
    if (!isnan(help.tight_l))
        stv_prose_add(&advice, "a %s L cask would hold it all, still too tight; ",
                      stv_format_number(help.tight_l, 0).text);
    if (!isnan(help.roomy_l))
        stv_prose_add(&advice, "a %s L cask has the room; ",
                      stv_format_number(help.roomy_l, 0).text);
    stv_prose_wrap(text, 0,
                   "%s: cask %s, %s L, from %s on: up to %s L at %s " STV_PROSE_DEGREE
                   "C, %s %% of it wanted free. "
                   "From there on nothing is planned until that is settled: all steps need %s L "
                   "then; %ssplit it over %zu such casks, or bring it down in the tank.",
                   step->room_l < 0.0 ? "WILL NOT FIT" : "TOO FULL", stv__water_id(chain, plan),
                   stv_format_number(limit.capacity_l, 0).text, stv_format_day(step->day_d).text,
                   stv_format_number(step->hot_l, 1).text,
                   stv_format_number(plan->hottest_c, 0).text,
                   stv_words_percent(limit.room_frac).text,
                   stv_format_number(plan->steps[plan->n_steps - 1].hot_l, 0).text,
                   stv_text_string(&advice), help.n_casks);
    text->has_failed = text->has_failed || advice.has_failed;
    stv_text_free(&advice);
}

static void add_steps(struct stv_text *text, const struct stv_reduction_plan *plan)
{
    stv_prose_add(text, "\n%-10s %5s %5s %-10s %-17s %-22s %5s\n", "day", "kg", "L", "by gauge",
                  "litres", "%vol", "room");
    for (size_t s = 0; s < plan->n_steps; s++) {
        const struct stv_reduction_step *step = &plan->steps[s];
        struct stv_formatted litres =
            stv_format("%s>%s", stv_format_number(step->before20_l.p50, 0).text,
                       stv__water_tight(step->after20_l, step->after20_l.p50, 0).text);
        struct stv_range after = stv_range_scaled(step->after_abv20_frac, 100.0);
        struct stv_formatted abv =
            stv_format("%s>%s", stv_format_number(100.0 * step->before_abv20_frac.p50, 1).text,
                       stv__water_tight(after, after.p50, 1).text);
        struct stv_formatted gauge =
            stv_format("%s-%s", stv_format_number(step->need_kg.p05, 1).text,
                       stv_format_number(step->need_kg.p95, 1).text);
        stv_prose_add(text, "%-10s %5s %5s %-10s %-17s %-22s %3s L%s\n",
                      stv_format_iso_day(step->day_d).text,
                      stv_format_number(step->added_kg, 1).text,
                      stv_format_number(step->added20_l, 1).text, gauge.text, litres.text, abv.text,
                      stv_format_number(step->room_l, 0).text, step->fits ? "" : " !");
    }
    stv_prose_wrap(text, 0,
                   "(before > after, 9 times in 10 in brackets; by gauge: kg that the cask may ask "
                   "when it is gauged; room: at %s C, the hottest there%s)",
                   stv_format_number(plan->hottest_c, 0).text,
                   stv__water_has_no_room(plan) ? "; !: too little" : "");
    stv_text_add(text, "\n");
}

/* Whether it may go under the target early and let the air bring it back. */
static void add_drift(struct stv_text *text, const struct stv_chain *chain,
                      const struct stv_reduction_plan *plan)
{
    const struct stv_reduction_rules *rules = &chain->book.water.rules;
    double drift = plan->drift_frac.p50;
    struct stv_formatted last = stv_format_month(plan->steps[plan->n_steps - 1].day_d);
    struct stv_formatted end = stv_format_month(plan->end_day_d);
    double aim = plan->steps[plan->n_steps - 1].aim_abv20_frac;
    struct stv_formatted points = stv__water_range_pct(plan->drift_frac);
    if (plan->is_held_by_least)
        stv_prose_wrap(text, 0,
                       "Going under would not be allowed: from %s to %s the dry air raises it by "
                       "%s points, but %s %%vol is your least. It ends at %s; the tank does the "
                       "rest.",
                       last.text, end.text, points.text,
                       stv_words_percent(rules->least_abv20_frac).text,
                       stv__water_range_pct(plan->end_abv20_frac).text);
    else if (drift > STV__WATER_STILL_FRAC && aim < rules->to_abv20_frac)
        stv_prose_wrap(text, 0,
                       "The last step goes under the target, to %s %%vol: from %s to %s the dry "
                       "air brings it back by %s points.",
                       stv_format_number(100.0 * aim, 1).text, last.text, end.text, points.text);
    else if (drift < -STV__WATER_STILL_FRAC)
        stv_prose_wrap(text, 0,
                       "Never go under early: from %s to %s the strength falls by itself, by %s "
                       "points. The last step stops above the target for that.",
                       last.text, end.text,
                       stv__water_range_pct(stv_range_scaled(plan->drift_frac, -1.0)).text);
    else
        stv_prose_wrap(text, 0,
                       "Going under early gains nothing: from %s to %s the air moves the strength "
                       "by %s points.",
                       last.text, end.text, points.text);
}

static void add_cask_answer(struct stv_text *text, const struct stv_chain *chain,
                            const struct stv_reduction_plan *plan)
{
    double sum_kg = 0.0;
    for (size_t s = 0; s < plan->n_steps; s++)
        sum_kg += plan->steps[s].added_kg;
    struct stv_formatted first =
        plan->n_steps == 1
            ? stv_format("%s", "")
            : stv_format(", the first %s kg", stv__water_kg(plan->steps[0].added_kg).text);
    stv_prose_wrap(text, 0,
                   "Cask %s: %s kg of %s in %s%s on %s. It %s at %s %%vol on %s, with %s L.",
                   stv__water_id(chain, plan), stv__water_kg(sum_kg).text, stv__water_added(chain),
                   stv_format_count(plan->n_steps, "step", "steps").text, first.text,
                   stv_format_day(plan->steps[0].day_d).text,
                   stv__water_has_no_room(plan) ? "would end, had it the room," : "ends",
                   stv__water_range_pct(plan->end_abv20_frac).text,
                   stv_format_day(plan->end_day_d).text, stv_format_range(plan->end20_l, 0).text);
    if (stv__water_has_no_room(plan))
        stv__water_add_room_help(text, chain, plan);
    if (plan->is_short && !plan->is_held_by_least)
        stv_prose_wrap(text, 0,
                       "Too few months: at %s points a step it does not come down to %s %%vol. "
                       "More months, larger steps, or the tank.",
                       stv_words_percent(chain->book.water.rules.most_step_frac).text,
                       stv_words_percent(chain->book.water.rules.to_abv20_frac).text);
    if (plan->n_put_off > 0)
        stv_prose_wrap(text, 0,
                       "%s put off: under %s kg, hardly worth opening a bung (common practice, no "
                       "published source).",
                       stv_format_count(plan->n_put_off, "step was", "steps were").text,
                       stv__water_kg(chain->book.water.rules.least_step_kg).text);
}

static void add_no_steps(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_reduction_plan *plan)
{
    struct stv_formatted to = stv_words_percent(chain->book.water.rules.to_abv20_frac);
    struct stv_formatted alone = stv__water_range_pct(plan->alone_abv20_frac);
    struct stv_formatted end = stv_format_day(plan->end_day_d);
    static const char *const words[STV_REDUCTION_N] = {
        [STV_REDUCTION_STEPS] = "",
        [STV_REDUCTION_TANK] = "leave it: what is too much the tank takes off",
        [STV_REDUCTION_BELOW] = "it needs nothing: it comes there, or under, by itself",
        [STV_REDUCTION_MONTHS] = "no month that you allow lies before its last day: the tank",
        [STV_REDUCTION_LEAST] = "nothing in the wood: it may not go lower when it could have some",
        [STV_REDUCTION_PAST] = "its last day is over: the tank",
        [STV_REDUCTION_LEAVES] = "the history empties it before its last day",
    };
    if (plan->kind == STV_REDUCTION_PAST || plan->kind == STV_REDUCTION_LEAVES)
        stv_prose_wrap(text, 0, "Cask %s: %s (%s).", stv__water_id(chain, plan), words[plan->kind],
                       end.text);
    else
        stv_prose_wrap(text, 0, "Cask %s: %s. Left alone it has %s %%vol on %s; wanted: %s.",
                       stv__water_id(chain, plan), words[plan->kind], alone.text, end.text,
                       to.text);
    if (stv_reduction_is_for_tank(plan))
        stv_prose_wrap(text, 0, "In the tank then %s kg of water.",
                       stv_format_range(plan->tank_kg, 1).text);
}

static void add_age(struct stv_text *text, const struct stv_chain *chain,
                    const struct stv_reduction_plan *plan)
{
    const struct stv_reduction_rules *rules = &chain->book.water.rules;
    if (!(rules->with_abv20_frac > 0.0))
        return;
    int years = stv_water_age_years(chain, plan);
    stv_prose_wrap(text, 0, "On its last day it counts as %s old, reducing spirit and all%s.",
                   stv_format_count((size_t)years, "year", "years").text,
                   (double)years < chain->book.rules.least_age_y
                       ? ": LESS THAN YOUR LEAST AGE, wait or take water"
                       : "");
}

void stv__water_add_cask(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_reduction_plan *plan)
{
    if (plan->n_steps == 0) {
        add_no_steps(text, chain, plan);
        return;
    }
    struct stv_place place = stv_water_place(chain, plan->cask_idx);
    const struct stv_cask *cask = &chain->book.ledger.casks[plan->cask_idx];
    add_cask_answer(text, chain, plan);
    stv_prose_wrap(text, 0, "%s, %s. Left alone: %s %%vol and %s L.", cask->kind_name,
                   stv_words_place_of(chain, &place).text,
                   stv__water_range_pct(plan->alone_abv20_frac).text,
                   stv_format_range(plan->alone20_l, 0).text);
    add_steps(text, plan);
    add_drift(text, chain, plan);
    if (!stv__water_has_no_room(plan))
        stv__water_add_price(text, plan->gain_bottles_nd, plan->bottles_nd);
    if (chain->run.n_draws > 0)
        stv_prose_wrap(
            text, 0,
            "Followed without another gauge: within 0.3 of %s %%vol in %s of 10 trials, "
            "under your least at some time in %s of 10. In the tank then %s kg of water.",
            stv_words_percent(chain->book.water.rules.to_abv20_frac).text,
            stv_format_number(10.0 * plan->near_frac, 0).text,
            stv_format_number(10.0 * plan->under_frac, 0).text,
            stv_format_range(plan->tank_kg, 1).text);
    add_age(text, chain, plan);
}
