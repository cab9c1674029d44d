/* What a month asks for: the walk for leaks, the casks to open, what the history plans, orders. */
#include "cli/month.h"

#include "cli/cask_state.h"
#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* --- season -------------------------------------------------------------------------------- */

/* The last day up to another that has a day of the year. */
static int64_t last_such_day(int doy, int64_t until_d)
{
    int64_t day_d = until_d;
    while (stv_season_day(day_d) != doy)
        day_d--;
    return day_d;
}

static enum stv_status judge_season(struct stv_month_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    for (size_t w = 0; w < chain->book.n_warehouses; w++) {
        struct stv_season_span seasons[STV_SEASON_N];
        const struct stv_season_span *warm = &seasons[STV_SEASON_WARM];
        if (chain->warehouses[w].n_tiers == 0)
            continue;
        enum stv_status status = stv_chain_seasons(chain, w, seasons);
        if (status != STV_OK)
            return status;
        answer->is_near_summer |= stv_season_holds(warm, stv_season_day(answer->to_d + 1)) != 0;
        for (int64_t day_d = answer->from_d; day_d <= answer->to_d && !answer->is_hot; day_d++)
            answer->is_hot = stv_season_holds(warm, stv_season_day(day_d)) != 0;
        if (answer->is_hot) {
            answer->hot_from_d = last_such_day(warm->from_doy, answer->to_d);
            break;
        }
    }
    answer->is_near_summer |= answer->is_hot;
    return STV_OK;
}

/* --- the walk for leaks --------------------------------------------------------------------- */

static enum stv_status list_walk(struct stv_month_answer *answer)
{
    const struct stv_chain *chain = answer->chain;
    size_t n = 0;
    answer->walk = calloc(chain->book.ledger.n_casks + 1, sizeof *answer->walk);
    if (!answer->walk)
        return STV_E_MEMORY;
    for (int c = 0; c < (int)chain->book.ledger.n_casks; c++) {
        int fill = stv_fill_event(chain, c);
        if (fill < 0)
            continue;
        answer->walk[n++] = (struct stv_walk_cask){
            .cask_idx = c,
            .tier_idx = stv_lineage_place(chain->lineage, c).tier_idx,
            .leak_frac = answer->has_lesson ? stv_leak_frac(chain, c) : (double)NAN,
            .fill_day_d = chain->book.ledger.events[fill].day_d};
    }
    answer->n_walk = stv_leak_walk_order(answer->walk, n, answer->is_hot, answer->hot_from_d);
    return STV_OK;
}

/* --- casks to open -------------------------------------------------------------------------- */

static int compare_places(const struct stv_place *a, const struct stv_place *b)
{
    const int x[] = {a->warehouse_idx, a->tier_idx, a->bay_idx, a->depth_idx};
    const int y[] = {b->warehouse_idx, b->tier_idx, b->bay_idx, b->depth_idx};
    for (size_t i = 0; i < sizeof x / sizeof x[0]; i++)
        if (x[i] != y[i])
            return x[i] < y[i] ? -1 : 1;
    return 0;
}

/* Lower rows first. */
static void sort_visits(struct stv_month_answer *answer)
{
    for (size_t i = 1; i < answer->n_visits; i++) {
        struct stv_month_visit visit = answer->visits[i];
        struct stv_place place = stv_lineage_place(answer->chain->lineage, visit.cask_idx);
        size_t at = i;
        for (; at > 0; at--) {
            struct stv_place before =
                stv_lineage_place(answer->chain->lineage, answer->visits[at - 1].cask_idx);
            if (compare_places(&before, &place) <= 0)
                break;
            answer->visits[at] = answer->visits[at - 1];
        }
        answer->visits[at] = visit;
    }
}

static void add_pick(struct stv_month_answer *answer, size_t pick_idx)
{
    const struct stv_sampling_pick *pick = &answer->sampling.picks[pick_idx];
    size_t wish_idx = pick->offer_idx / STV_SAMPLING_WAYS;
    bool is_nose = pick->offer_idx % STV_SAMPLING_WAYS == STV_SAMPLING_NOSE;
    size_t at = 0;
    while (at < answer->n_visits && answer->visits[at].wish_idx != wish_idx)
        at++;
    struct stv_month_visit *visit = &answer->visits[at];
    if (at == answer->n_visits) {
        *visit = (struct stv_month_visit){.wish_idx = wish_idx,
                                          .cask_idx = (int)answer->lesson.wishes[wish_idx].cask_idx,
                                          .rank = ++answer->n_visits,
                                          .n_as_good = pick->n_as_good};
    }
    visit->is_nosed |= is_nose;
    visit->is_gauged |= !is_nose;
    visit->sample_l += is_nose ? STV_SAMPLING_NOSE_L : STV_SAMPLING_GAUGE_L;
    visit->narrowed_frac += pick->narrowed_frac;
}

static enum stv_status choose_visits(struct stv_month_answer *answer)
{
    const struct stv_cask_lesson *lesson = &answer->lesson;
    enum stv_status status =
        stv_sampling_of_casks(&lesson->request, &lesson->learning, lesson->wishes, lesson->n_wishes,
                              answer->limits, &answer->sampling);
    if (status != STV_OK)
        return status;
    answer->visits = calloc(answer->sampling.n_picks + 1, sizeof *answer->visits);
    if (!answer->visits)
        return STV_E_MEMORY;
    for (size_t p = 0; p < answer->sampling.n_picks; p++)
        add_pick(answer, p);
    sort_visits(answer);
    return STV_OK;
}

static enum stv_status take_kept(const struct stv_chain *chain, struct stv_month_answer *answer)
{
    enum stv_status status = stv_chain_lesson_kept(chain, &answer->lesson);
    answer->has_lesson = answer->is_kept = status == STV_OK;
    return status;
}

/* The sheet goes without what could not be learned, and says so. */
static void say_not_learned(struct stv_chain *chain, const struct stv_cask_lesson *lesson)
{
    for (size_t s = 0; s < lesson->n_stuck; s++)
        stv_problem_add(&chain->problems, STV_NOTED, "gauges.csv", 0, 0,
                        chain->book.ledger.casks[lesson->stuck[s]].id,
                        "no fit takes the gauges of this cask together, so nothing was learned "
                        "from them: look at the cask, then at its rows, which `learn` names");
    chain->needs_attention |= lesson->n_stuck > 0;
}

static enum stv_status learn(struct stv_chain *chain, struct stv_month_answer *answer)
{
    if (stv_chain_casks_are_current(chain))
        return take_kept(chain, answer);
    answer->has_stale =
        chain->learned_casks.posterior.n_casks > 0 || chain->hindsight_d != INT64_MIN;
    stv_chain_forget_casks(chain);
    enum stv_status status = stv_chain_learn_casks(chain, &answer->lesson);
    if (status == STV_E_NO_DATA)
        return STV_OK; /* nothing was gauged: the words say so */
    say_not_learned(chain, &answer->lesson);
    answer->is_unlearned = status == STV_E_NO_CONVERGENCE;
    if (answer->is_unlearned)
        return STV_OK;
    if (status == STV_OK)
        stv_chain_take_lesson(chain, &answer->lesson);
    answer->has_lesson = status == STV_OK;
    return status;
}

/* --- what the history plans ------------------------------------------------------------------ */

const char *stv_month_job_name(const struct stv_event *event)
{
    return event->is_marriage ? STV_MARRIAGE_NAME : stv_event_kind_name(event->kind);
}

struct stv_place stv_month_job_place(const struct stv_chain *chain, const struct stv_event *event)
{
    bool is_put = (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_MOVE) &&
                  event->place.warehouse_idx >= 0;
    return is_put ? event->place : stv_lineage_place(chain->lineage, event->cask_idx);
}

static enum stv_status list_events(struct stv_month_answer *answer)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    answer->event_idx = calloc(ledger->n_events + 1, sizeof *answer->event_idx);
    if (!answer->event_idx)
        return STV_E_MEMORY;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].day_d > answer->from_d && ledger->events[e].day_d <= answer->to_d)
            answer->event_idx[answer->n_events++] = e;
    return STV_OK;
}

/* ---------------------------------------------------------------------------------------------- */

static int64_t last_of_month(int64_t day_d)
{
    struct stv_date first = stv_date_from_day(day_d);
    first.day = 1;
    return stv_day_add_months(stv_day_from_date(first), 1) - 1;
}

const char *stv_walk_reason_key(enum stv_walk_reason reason)
{
    static const char *const keys[] = {[STV_WALK_LEARNED] = "learned",
                                       [STV_WALK_NEW] = "first hot weeks",
                                       [STV_WALK_TOP] = "top tier",
                                       [STV_WALK_NOT] = ""};
    return keys[reason];
}

static void begin(const struct stv_chain *chain, struct stv_sampling_limits limits,
                  struct stv_month_answer *out)
{
    *out = (struct stv_month_answer){.chain = chain,
                                     .from_d = chain->as_of_day_d,
                                     .to_d = last_of_month(chain->as_of_day_d),
                                     .limits = limits};
}

static enum stv_status make_lists(struct stv_month_answer *out)
{
    enum stv_status status = judge_season(out);
    if (status == STV_OK)
        status = list_walk(out);
    if (status == STV_OK && out->has_lesson)
        status = choose_visits(out);
    if (status == STV_OK)
        status = list_events(out);
    if (status == STV_OK)
        status = stv__month_lists(out);
    if (status == STV_OK)
        status = stv_stock_plan(out->chain, &out->stock);
    return status;
}

enum stv_status stv_month_make(struct stv_chain *chain, struct stv_sampling_limits limits,
                               struct stv_month_answer *out)
{
    begin(chain, limits, out);
    enum stv_status status = learn(chain, out);
    return status == STV_OK ? make_lists(out) : status;
}

enum stv_status stv_month_of_learned(const struct stv_chain *chain,
                                     struct stv_sampling_limits limits,
                                     struct stv_month_answer *out)
{
    enum stv_status status = STV_OK;
    begin(chain, limits, out);
    if (stv_chain_casks_are_current(chain))
        status = take_kept(chain, out);
    else
        out->is_unlearned = chain->book.n_gauges > 0;
    return status == STV_OK ? make_lists(out) : status;
}

enum stv_status stv_month_of_ledger(const struct stv_chain *chain, struct stv_month_answer *out)
{
    begin(chain, (struct stv_sampling_limits){0}, out);
    enum stv_status status = judge_season(out);
    return status == STV_OK ? list_events(out) : status;
}

void stv_month_free(struct stv_month_answer *answer)
{
    free(answer->walk);
    stv_sampling_free(&answer->sampling);
    stv_cask_lesson_free(&answer->lesson);
    free(answer->visits);
    free(answer->event_idx);
    stv__month_lists_free(answer);
    stv_stock_answer_free(&answer->stock);
    *answer = (struct stv_month_answer){0};
}

bool stv_month_is_due(const struct stv_month_answer *answer, int64_t day_d)
{
    return day_d >= answer->from_d && day_d <= answer->to_d;
}

bool stv_month_has_water(const struct stv_month_answer *answer)
{
    const struct stv_water_house *water = &answer->chain->book.water;
    return water->is_said && water->rules.month_holds[stv_date_from_day(answer->to_d).month - 1];
}
