/* The month's sheet for the crew: air first, then walk, open, do what is planned, order. */
#include "cli/month.h"

#include "cli/cask_lesson.h"
#include "cli/cask_state.h"
#include "cli/chain_cask_learning.h"
#include "cli/format.h"
#include "cli/prose.h"
#include "cli/words.h"

#include <math.h>
#include <string.h>

#define WALK_ROWS_MOST 12
#define CASK_COLUMNS 8
#define PLACE_COLUMNS 12
#define STORE_COLUMNS 3 /* more, for the letter of one of several stores */

static size_t place_columns(const struct stv_chain *chain)
{
    return PLACE_COLUMNS + (chain->book.n_warehouses > 1 ? STORE_COLUMNS : 0);
}

/* A long id has a line of its own: cut, two casks could look alike. */
void stv__words_tick(struct stv_text *text, const struct stv_chain *chain, int cask_idx,
                     const struct stv_place *place)
{
    const char *id = chain->book.ledger.casks[cask_idx].id;
    bool is_long = stv_prose_columns(id, strlen(id)) >= CASK_COLUMNS;
    stv_prose_add(text, "  [ ] ");
    if (is_long)
        stv_prose_add(text, "%s\n      ", id);
    stv_prose_cell(text, is_long ? "" : id, CASK_COLUMNS);
    stv_prose_cell(text, stv_words_place_short(chain, place).text, place_columns(chain));
}

static size_t count_orders(const struct stv_month_answer *answer)
{
    const struct stv_cask_plan *plan = &answer->chain->book.cask_plan;
    size_t n = 0;
    for (size_t f = 0; f < plan->n_fills; f++) {
        struct stv_stock_order order;
        n += stv_stock_order_of(&answer->stock, f, &order) && order.n_buy > 0 &&
             order.order_day_d <= answer->to_d && order.fill_day_d > answer->from_d;
    }
    return n;
}

/* ", water 13 casks": nothing where there is none. */
static void add_count(struct stv_text *text, const char *lead, size_t n, const char *tail)
{
    if (n)
        stv_prose_add(text, ", %s %s%s", lead, stv_format_count(n, "cask", "casks").text, tail);
}

static void add_answer(struct stv_text *text, const struct stv_month_answer *answer)
{
    struct stv_text lists = {0}, looks = {0};
    size_t n_moved = 0, n_bottled = 0, n_orders = count_orders(answer);
    for (int c = 0; c < (int)answer->chain->book.ledger.n_casks; c++) {
        n_moved += stv_month_moves(answer, c);
        n_bottled += stv_month_bottles(answer, c);
    }
    add_count(&lists, "move", n_moved, " to other wood");
    add_count(&lists, "water", answer->n_water_rows, "");
    add_count(&lists, "bottle", n_bottled, "");
    if (!answer->has_lesson && answer->n_walk == 0 && answer->n_visits == 0)
        stv_prose_add(&looks, "which casks to look at and to open is not known before `learn`");
    else
        stv_prose_add(&looks, "look at %s for leaks, open %s to gauge or nose",
                      stv_format_count(answer->n_walk, "cask", "casks").text,
                      stv_format_count(answer->n_visits, "cask", "casks").text);
    stv_prose_wrap(text, 0, "To %s: %s%s, %s planned in history.csv, %s to place.",
                   stv_format_day(answer->to_d).text, stv_text_string(&looks),
                   stv_text_string(&lists), stv_format_count(answer->n_events, "job", "jobs").text,
                   stv_format_count(n_orders, "order", "orders").text);
    text->has_failed = text->has_failed || lists.has_failed || looks.has_failed;
    stv_text_free(&lists);
    stv_text_free(&looks);
}

/* No number stands here: none may read like leave to go in. */
void stv_words_month_air(struct stv_text *text, const struct stv_month_answer *answer)
{
    stv_prose_heading(text, "Air the store, then go in");
    stv_prose_wrap(
        text, 2,
        "Doors and vents open, an extractor rated for vapour on where there is one, and "
        "nobody inside until fresh air has passed through. Vapour lies low and burns: no "
        "flame, rated lamps. Pits, tanks and shipping containers are confined spaces: "
        "test the air, with a watch outside. Nothing on this sheet clears anyone to "
        "enter; ask your fire authority.");
    if (answer->is_hot)
        stv_prose_wrap(text, 2,
                       "A hot month: early hours, in pairs, water to drink, and no handling that "
                       "can wait. Calm evenings leave the most vapour.");
    stv_words_warehouse_key(text, answer->chain);
}

/* --- leaks ---------------------------------------------------------------------------------- */

static void add_walk_row(struct stv_text *text, const struct stv_chain *chain,
                         const struct stv_walk_cask *cask)
{
    struct stv_place place = stv_lineage_place(chain->lineage, cask->cask_idx);
    int beside[STV_NEIGHBOURS_MOST];
    size_t n = stv_lesson_neighbours(chain, cask->cask_idx, beside);
    stv__words_tick(text, chain, cask->cask_idx, &place);
    struct stv_text why = {0};
    if (cask->reason == STV_WALK_LEARNED)
        stv_text_add(&why, stv_words_chance(cask->leak_frac).text);
    else if (cask->reason == STV_WALK_NEW)
        stv_text_format(&why, "filled %s", stv_format_month(cask->fill_day_d).text);
    else
        stv_text_add(&why, "top tier");
    stv_prose_cell(text, stv_text_string(&why), 22);
    stv_text_free(&why);
    for (size_t i = 0; i < n; i++)
        stv_prose_add(text, "%s%s", i ? ", " : "beside it ",
                      chain->book.ledger.casks[beside[i]].id);
    stv_prose_add(text, "\n");
}

static void add_walk(struct stv_text *text, const struct stv_month_answer *answer)
{
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Walk for leaks");
    if (answer->n_walk == 0 && answer->is_unlearned &&
        stv_words_learned_stale(text, answer->chain)) {
        stv_prose_wrap(
            text, 2,
            "Until then no cask is on this walk for its gauges, and the store's hot weeks "
            "are not in this month.");
        return;
    }
    if (answer->n_walk == 0) {
        stv_prose_wrap(text, 2, "%s",
                       answer->has_lesson ? "No cask is likelier than usual to leak by its gauges, "
                                            "and the store's hot weeks are not in this month."
                       : answer->is_unlearned
                           ? "The gauges are not learned yet, so no cask is known to leak: run "
                             "`stavecast learn`. The store's hot weeks are not in this month."
                           : "Nothing was gauged, so no cask is known to leak; the "
                             "store's hot weeks are not in this month.");
        return;
    }
    if (answer->is_hot)
        stv_prose_wrap(text, 2,
                       "Within days of a hot week, for wood dries and hoops slacken: those that "
                       "may leak by their gauges, then what lives through its first hot weeks, "
                       "then the top tier. The warm season here begins %s.",
                       stv_format_day(answer->hot_from_d).text);
    else
        stv_prose_wrap(text, 2, "They may leak by their gauges: chances as `learn` tells them.");
    for (size_t i = 0; i < answer->n_walk && i < WALK_ROWS_MOST; i++)
        add_walk_row(text, answer->chain, &answer->walk[i]);
    if (answer->n_walk > WALK_ROWS_MOST)
        stv_prose_wrap(text, 2, "... and %zu more: --csv has them all.",
                       answer->n_walk - WALK_ROWS_MOST);
    stv_prose_wrap(text, 2,
                   "A leak is mended by a trained person; one at a joint is emptied first.");
}

/* --- casks to open --------------------------------------------------------------------------- */

static struct stv_formatted factor_words(double wood_ln_nd)
{
    return stv_format_number(exp(STV_RANGE_ERRORS * wood_ln_nd), 2);
}

static void add_visit(struct stv_text *text, const struct stv_month_answer *answer,
                      const struct stv_month_visit *visit)
{
    const struct stv_chain *chain = answer->chain;
    struct stv_place place = stv_lineage_place(chain->lineage, visit->cask_idx);
    const struct stv_sampling_error *before = &answer->sampling.before[visit->wish_idx];
    const struct stv_sampling_error *after = &answer->sampling.after[visit->wish_idx];
    stv__words_tick(text, chain, visit->cask_idx, &place);
    stv_prose_add(text, "%-12s%4s%5zu  %-12s %-13s%s\n",
                  visit->is_gauged && visit->is_nosed ? "gauge, nose"
                  : visit->is_gauged                  ? "gauge"
                                                      : "nose",
                  stv_format("%.0f", 1000.0 * visit->sample_l).text, visit->rank,
                  stv_format("%s -> %s",
                             stv_format_number(STV_RANGE_ERRORS * before->volume20_l, 1).text,
                             stv_format_number(STV_RANGE_ERRORS * after->volume20_l, 1).text)
                      .text,
                  stv_format("%s -> %s", factor_words(before->wood_ln_nd).text,
                             factor_words(after->wood_ln_nd).text)
                      .text,
                  visit->n_as_good ? stv_format("%zu", visit->n_as_good).text : "-");
}

static void add_visits_rest(struct stv_text *text, const struct stv_month_answer *answer)
{
    const struct stv_sampling_list *list = &answer->sampling;
    stv_prose_wrap(text, 2,
                   "ml: drawn. rank: what narrows most, each with what the ones before it tell. "
                   "litres: +- on the day it is planned for, now -> then (9 in 10). wood: within a "
                   "factor of. ties: other casks that would do as well.");
    stv_prose_wrap(text, 2,
                   "All casks together: litres +-%s, then +-%s; wood within a factor of %s, then "
                   "%s. %s L of samples.",
                   stv_format_number(STV_RANGE_ERRORS * list->house_before.volume20_l, 1).text,
                   stv_format_number(STV_RANGE_ERRORS * list->house_after.volume20_l, 1).text,
                   stv_format_number(exp(STV_RANGE_ERRORS * list->house_before.wood_ln_nd), 2).text,
                   stv_format_number(exp(STV_RANGE_ERRORS * list->house_after.wood_ln_nd), 2).text,
                   stv_format_number(list->samples_l, 2).text);
    if (list->n_spared)
        stv_prose_wrap(text, 2,
                       "%s left out, which would take more than %s %% of a small cask in one "
                       "visit: read its strength with a density meter of a few ml, or weigh it.",
                       stv_format_count(list->n_spared, "visit is", "visits are").text,
                       stv_words_percent(answer->limits.most_share_frac).text);
    stv_prose_wrap(text, 2,
                   "Weigh or dip, stir, throw the first draw away, then a jar for the strength. "
                   "Write samples down: they are a loss. Nose blind where you can.");
}

static void add_gauge_again(struct stv_text *text, const struct stv_chain *chain)
{
    struct stv_text ids = {0};
    for (int c = 0; c < (int)chain->book.ledger.n_casks; c++)
        if (stv_is_gauge_doubted(chain, c))
            stv_prose_add(&ids, "%s%s", ids.n ? ", " : "", chain->book.ledger.casks[c].id);
    if (ids.n)
        stv_prose_wrap(text, 2,
                       "Gauge again first, for the last gauge does not fit what came before: %s.",
                       stv_text_string(&ids));
    text->has_failed = text->has_failed || ids.has_failed;
    stv_text_free(&ids);
}

static void add_visits(struct stv_text *text, const struct stv_month_answer *answer)
{
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Open to gauge and nose");
    if (answer->is_unlearned && stv_words_learned_stale(text, answer->chain))
        return;
    if (answer->is_unlearned) {
        stv_prose_wrap(
            text, 2,
            "The gauges are not learned yet, so nothing tells which gauge or nosing says "
            "most: run `stavecast learn`, or `stavecast month`, which learns by itself.");
        return;
    }
    if (!answer->has_lesson) {
        stv_prose_wrap(text, 2,
                       "Nothing was gauged so far, so nothing tells which gauge says most. Begin "
                       "with one cask of each kind on the lowest and on the highest tier.");
        return;
    }
    add_gauge_again(text, answer->chain);
    if (answer->n_visits == 0) {
        stv_prose_wrap(text, 2,
                       "It does not matter this month: within %s and %s L of samples no cask would "
                       "narrow what is known.",
                       stv_format_count(answer->limits.most_casks, "cask", "casks").text,
                       stv_format_number(answer->limits.most_samples_l, 1).text);
        return;
    }
    stv_prose_add(text, "      %-*s%-*s%-12s%4s%5s  %-12s %-13s%s\n", CASK_COLUMNS, "cask",
                  (int)place_columns(answer->chain), "tier-bay", "", "ml", "rank", "litres +-",
                  "wood x", "ties");
    for (size_t i = 0; i < answer->n_visits; i++)
        add_visit(text, answer, &answer->visits[i]);
    add_visits_rest(text, answer);
}

/* --- what the history plans --------------------------------------------------------------------
 */

struct stv_formatted stv_month_job_amount(const struct stv_chain *chain,
                                          const struct stv_event *event)
{
    struct stv_formatted litres =
        isfinite(event->volume20_l)
            ? stv_format("%s L", stv_format_number(event->volume20_l, 1).text)
            : stv_format("%s", "");
    if (event->kind == STV_EVENT_ADD_WATER)
        return stv_format("%s kg", stv_format_number(event->water_kg, 1).text);
    if (event->kind == STV_EVENT_TRANSFER)
        return stv_format("%s into cask %s", isfinite(event->volume20_l) ? litres.text : "all",
                          chain->book.ledger.casks[event->other_idx].id);
    if (isfinite(event->volume20_l) && isfinite(event->abv20_frac))
        return stv_format("%s at %s %%vol", litres.text, stv_words_percent(event->abv20_frac).text);
    return litres;
}

static bool has_job(const struct stv_month_answer *answer, enum stv_event_kind kind)
{
    for (size_t i = 0; i < answer->n_events; i++)
        if (answer->chain->book.ledger.events[answer->event_idx[i]].kind == kind)
            return true;
    return false;
}

void stv_words_month_jobs(struct stv_text *text, const struct stv_month_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    stv_prose_heading(text, "Planned in history.csv");
    if (answer->n_events == 0)
        stv_prose_wrap(text, 2, "Nothing to %s.", stv_format_day(answer->to_d).text);
    for (size_t i = 0; i < answer->n_events; i++) {
        const struct stv_event *event = &chain->book.ledger.events[answer->event_idx[i]];
        struct stv_place place = stv_month_job_place(chain, event);
        stv__words_tick(text, chain, event->cask_idx, &place);
        struct stv_place from = stv_lineage_place(chain->lineage, event->cask_idx);
        stv_prose_add(text, "%s  %-12s %s%s\n", stv_format_iso_day(event->day_d).text,
                      stv_month_job_name(event), event->kind == STV_EVENT_MOVE ? "here, from " : "",
                      event->kind == STV_EVENT_MOVE ? stv_words_place_short(chain, &from).text
                                                    : stv_month_job_amount(chain, event).text);
    }
    if (has_job(answer, STV_EVENT_ADD_WATER))
        stv_prose_wrap(text, 2,
                       "Water: say which, and how it is treated. Ease the bung on a cool morning, "
                       "face away; a gauge within 21 days of it may not be of mixed spirit.");
}

static void add_orders(struct stv_text *text, const struct stv_month_answer *answer)
{
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "Order");
    if (!stv_words_orders(text, &answer->stock, answer->to_d))
        stv_prose_wrap(
            text, 2, "%s",
            answer->chain->book.cask_plan.n_fills
                ? "No cask has to be ordered this month."
                : "The book plans no fills (`cask_plan:`), so nothing says what to order.");
}

static void add_lesson(struct stv_text *text, const struct stv_month_answer *answer)
{
    const struct stv_learned_casks *learned = &answer->chain->learned_casks;
    if (!answer->has_lesson)
        return;
    stv_prose_wrap(
        text, 2, "%s of %s up to %s, %s.",
        stv_format_count(learned->n_gauges, "gauge", "gauges").text,
        stv_format_count(learned->n_gauged_casks, "cask", "casks").text,
        stv_format_day(learned->as_of_day_d).text,
        answer->is_kept ? "as `learn` left them in learned-casks.yaml"
        : answer->chain->hindsight_d != INT64_MIN
            ? "learned anew for this sheet: learned-casks.yaml knows gauges of later days"
        : answer->has_stale
            ? "learned anew for this sheet: learned-casks.yaml is older than the book, so other "
              "answers do not know what came in since. Run `stavecast learn`"
            : "learned anew for this sheet alone: `stavecast learn` keeps it for the other "
              "answers");
}

static void add_rests(struct stv_text *text, const struct stv_month_answer *answer)
{
    bool is_heed_alone = answer->chain->basis == STV_BASIS_HEED;
    stv_prose_add(text, "\n");
    if (!is_heed_alone || answer->has_stale || answer->chain->weather.is_made_up ||
        answer->chain->as_of_table) {
        stv_prose_heading(text, "Rests on");
        add_lesson(text, answer);
        stv_words_day_taken(text, answer->chain);
        stv_words_made_up_days(text, answer->chain, 2);
    }
    if (!is_heed_alone)
        stv_prose_wrap(
            text, 2,
            "history.csv for what is planned; `bottlings:`, `water:` and `targets:` of "
            "book.yaml for bottlings, water and wood, as their own commands tell them; moves "
            "to other places only where history.csv has them (`place` tells which are "
            "worth it); the store's own air for its warm season. A "
            "jar of %.0f ml and a nosing of %.0f ml, and the order of the walk, are common "
            "practice, no published source.",
            1000.0 * STV_SAMPLING_GAUGE_L, 1000.0 * STV_SAMPLING_NOSE_L);
    stv_prose_heading(text, "Would change it");
    stv_prose_wrap(text, 2,
                   "What the first casks say: run it again when they are in gauges.csv. More casks "
                   "or samples allowed: --most, --samples.");
}

void stv_words_month(struct stv_text *text, const struct stv_month_answer *answer)
{
    add_answer(text, answer);
    stv_prose_add(text, "\n");
    stv_words_month_air(text, answer);
    add_walk(text, answer);
    add_visits(text, answer);
    stv_prose_add(text, "\n");
    stv_words_month_jobs(text, answer);
    stv__words_month_lists(text, answer);
    add_orders(text, answer);
    stv_words_market_beside(text, answer->chain);
    add_rests(text, answer);
    if (has_job(answer, STV_EVENT_MOVE) || has_job(answer, STV_EVENT_FILL) ||
        has_job(answer, STV_EVENT_TRANSFER) || answer->n_leaving || answer->has_bottlings)
        stv_words_caution_moving(text);
    if (has_job(answer, STV_EVENT_FILL) || has_job(answer, STV_EVENT_TOP_UP) ||
        has_job(answer, STV_EVENT_ADD_WATER) || answer->n_water_rows || answer->n_leaving)
        stv_words_caution_room(text);
    if (has_job(answer, STV_EVENT_FILL) || has_job(answer, STV_EVENT_TOP_UP) ||
        has_job(answer, STV_EVENT_TRANSFER) || answer->n_leaving)
        stv_words_caution_pouring(text);
    stv_words_caution_vapour(text);
    stv_words_caution_planning(text);
}
