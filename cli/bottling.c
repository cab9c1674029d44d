#include "cli/bottling.h"

#include "cli/day_list.h"
#include "cli/forecast_parts.h"
#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define GUARD_MONTHS_APART 6
#define GUARD_DAYS (STV_GUARD_YEARS * STV_MONTHS / GUARD_MONTHS_APART + 1)
#define PLAN_DRAWS_TIMES 4
#define PLAN_DRAWS_MOST 256
#define HOT_MONTH_NORTH 7 /* the middle of a summer is the middle of this month */
#define HOT_MONTH_SOUTH 1
#define ROUNDING_FRAC 1e-9

struct stv_bottling_name stv_bottling_name(const struct stv_book_bottling *bottling)
{
    struct stv_bottling_name name;
    if (bottling->n_releases > 1)
        snprintf(name.text, sizeof name.text, "%s, %zu of %zu", bottling->name, bottling->release,
                 bottling->n_releases);
    else
        snprintf(name.text, sizeof name.text, "%s", bottling->name);
    return name;
}

int stv_bottling_of_cask(const struct stv_bottling_answer *answer, int cask_idx)
{
    for (size_t w = 0; w < answer->n_planned; w++)
        for (size_t i = 0; i < answer->plan.outcomes[w].n_casks; i++)
            if (answer->plan.outcomes[w].casks[i].cask_idx == cask_idx)
                return (int)w;
    return -1;
}

bool stv_bottling_is_short(const struct stv_bottling_outcome *outcome)
{
    return outcome->n_missing_casks > 0 || outcome->missing_bottles_nd > 0.0 ||
           outcome->missing_abv20_frac > 0.0;
}

bool stv_bottling_is_under_market(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_market *market = answer->chain->named.market;
    return market && market->bottled_least_abv20_frac.value >
                         answer->planned[wish_idx].wish.least_abv20_frac + ROUNDING_FRAC;
}

bool stv_bottling_is_barred(const struct stv_bottling_answer *answer, size_t wish_idx)
{
    const struct stv_bottling_outcome *outcome = &answer->plan.outcomes[wish_idx];
    bool is_barred = stv_bottling_is_under_market(answer, wish_idx);
    for (size_t i = 0; i < outcome->n_casks; i++)
        for (int f = 0; f < STV_MARKET_FAULT_N; f++)
            is_barred |= stv_market_finds(answer->chain, (size_t)outcome->casks[i].cask_idx,
                                          (enum stv_market_fault)f);
    return is_barred;
}

size_t stv_bottling_n_ahead(const struct stv_bottling_answer *answer, enum stv_event_kind kind)
{
    const struct stv_ledger *ledger = &answer->chain->book.ledger;
    size_t n = 0;
    for (size_t e = 0; e < ledger->n_events; e++)
        n += ledger->events[e].kind == kind && ledger->events[e].day_d > answer->chain->as_of_day_d;
    return n;
}

int stv_summers_until(const struct stv_chain *chain, double day_d)
{
    bool is_south = chain->book.has_site && chain->book.site.latitude_deg < 0.0;
    struct stv_date date = stv_date_from_day(chain->as_of_day_d);
    int n = 0;
    date.month = is_south ? HOT_MONTH_SOUTH : HOT_MONTH_NORTH;
    date.day = 15;
    for (int64_t hot_d = stv_day_from_date(date); (double)hot_d <= day_d;
         hot_d = stv_day_from_date(date)) {
        n += hot_d > chain->as_of_day_d;
        date.year++;
    }
    return n;
}

static int64_t guard_day(const struct stv_chain *chain, int half_year)
{
    return stv_day_add_months(chain->as_of_day_d, half_year * GUARD_MONTHS_APART);
}

/* A planned day, and a year later. */
static enum stv_status add_planned_days(const struct stv_bottling_answer *answer, size_t wish_idx,
                                        struct stv__day_list *list)
{
    int64_t day_d = answer->planned[wish_idx].wish.day_d;
    enum stv_status status = stv__day_add(list, day_d);
    return status == STV_OK ? stv__day_add(list, stv_day_add_months(day_d, STV_MONTHS)) : status;
}

/* Every day that windows and strengths that fall are asked of. */
static enum stv_status list_days(const struct stv_bottling_answer *answer,
                                 struct stv__day_list *list)
{
    enum stv_status status = STV_OK;
    for (size_t m = 0; m <= answer->ask.n_months && status == STV_OK; m++)
        status = stv__day_add(list, stv_day_add_months(answer->chain->as_of_day_d, (int)m));
    for (int h = 0; h < GUARD_DAYS && status == STV_OK; h++)
        status = stv__day_add(list, guard_day(answer->chain, h));
    if (status == STV_OK)
        stv__day_seal(list);
    return status;
}

/* Labels of the lots, and their names in answer->lots. */
static enum stv_status find_lots(struct stv_bottling_answer *answer)
{
    size_t n = answer->chain->book.ledger.n_casks;
    int *all = malloc((n + 1) * sizeof *all);
    answer->lot_of_cask = malloc((n + 1) * sizeof *answer->lot_of_cask);
    enum stv_status status = all && answer->lot_of_cask ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < n && status == STV_OK; c++) {
        all[c] = (int)c;
        answer->lot_of_cask[c] = SIZE_MAX;
    }
    const struct stv_forecast_ask ask = {.cask_idx = all, .n_casks = n, .by = STV_BY_LOT};
    if (status == STV_OK)
        status = stv__sum_labels(answer->chain, &ask, all, answer->lot_of_cask, &answer->lots);
    free(all);
    return status;
}

static enum stv_status find_windows(struct stv_bottling_answer *answer,
                                    const struct stv_outlook *all)
{
    const struct stv_book *book = &answer->chain->book;
    int64_t *days_d = stv_chain_months(answer->chain, answer->ask.n_months);
    enum stv_status status =
        days_d ? stv_outlook_pick(all, days_d, answer->ask.n_months + 1, &answer->months)
               : STV_E_MEMORY;
    const struct stv_bottling_request request = {
        .outlook = &answer->months,
        .ledger = &book->ledger,
        .rules = &book->rules,
        .least_bottles_nd = book->least_bottles_nd,
        .lot_of_cask = answer->ask.by_lot ? answer->lot_of_cask : NULL,
        .n_lots = answer->lots.n_sums,
    };
    if (status == STV_OK)
        status = stv_bottling_windows(&request, &answer->windows);
    free(days_d);
    return status;
}

static enum stv_status find_guards(struct stv_bottling_answer *answer,
                                   const struct stv_outlook *all)
{
    const struct stv_chain *chain = answer->chain;
    int64_t days_d[GUARD_DAYS];
    struct stv_outlook half_years = {0};
    for (int h = 0; h < GUARD_DAYS; h++)
        days_d[h] = guard_day(chain, h);
    answer->guard_until_d = days_d[GUARD_DAYS - 1];
    answer->guard_abv20_frac = chain->book.rules.least_abv20_frac;
    const struct stv_market *market = chain->named.market;
    double asked_frac = market ? market->bottled_least_abv20_frac.value : (double)NAN;
    if (market && isfinite(market->label_tolerance_abv20_frac.value))
        asked_frac += market->label_tolerance_abv20_frac.value;
    answer->is_guard_by_market = isfinite(asked_frac);
    if (answer->is_guard_by_market)
        answer->guard_abv20_frac = asked_frac;
    answer->guards = calloc(all->n_casks + 1, sizeof *answer->guards);
    enum stv_status status =
        answer->guards ? stv_outlook_pick(all, days_d, GUARD_DAYS, &half_years) : STV_E_MEMORY;
    for (size_t c = 0; c < all->n_casks && status == STV_OK; c++)
        status =
            stv_strength_guard(&half_years, (int)c, answer->guard_abv20_frac, &answer->guards[c]);
    stv_outlook_free(&half_years);
    return status;
}

/* What windows, guards and plans read of a cask: the rest would fill memory for nothing. */
static const enum stv_quantity bottled[] = {STV_Q_VOLUME20_L, STV_Q_ABV20_FRAC, STV_Q_LPA_L,
                                            STV_Q_WOOD_INDEX_ND, STV_Q_BOTTLES_ND};

static enum stv_status run_days(const struct stv_chain *chain, const struct stv__day_list *list,
                                struct stv_run_options options, struct stv_outlook *out)
{
    struct stv_outlook_request request = stv_chain_request(chain);
    request.days_d = list->days_d;
    request.n_days = list->n;
    request.options = options;
    request.told = bottled;
    request.n_told = sizeof bottled / sizeof *bottled;
    return stv_outlook_run(&request, out);
}

/* More trials than elsewhere choose and tell: among many casks chance looks like merit. */
static size_t plan_draws(size_t n_draws)
{
    size_t more = PLAN_DRAWS_TIMES * n_draws;
    return more < PLAN_DRAWS_MOST ? more : n_draws > PLAN_DRAWS_MOST ? n_draws : PLAN_DRAWS_MOST;
}

/* The planned days by trials of another seed for each turn. */
static enum stv_status run_plan_days(const struct stv_bottling_answer *answer, uint64_t turn,
                                     struct stv_outlook *out)
{
    struct stv_run_options options = answer->chain->run;
    struct stv__day_list list = {0};
    enum stv_status status = stv__day_add(&list, answer->chain->as_of_day_d);
    for (size_t w = 0; w < answer->n_planned && status == STV_OK; w++)
        status = add_planned_days(answer, w, &list);
    if (status == STV_OK) {
        stv__day_seal(&list);
        options.seed += turn;
        options.n_draws = answer->n_plan_draws;
        status = run_days(answer->chain, &list, options, out);
    }
    free(list.days_d);
    return status;
}

/* What is told of a choice must not be what made it. */
static enum stv_status find_plan(struct stv_bottling_answer *answer)
{
    const struct stv_book *book = &answer->chain->book;
    struct stv_planned_bottling *wishes = malloc((answer->n_planned + 1) * sizeof *wishes);
    struct stv_outlook choosing = {0}, told = {0};
    enum stv_status status = wishes ? STV_OK : STV_E_MEMORY;
    answer->n_plan_draws = plan_draws(answer->chain->run.n_draws);
    if (status == STV_OK)
        status = run_plan_days(answer, 0, &choosing);
    if (status == STV_OK && answer->n_plan_draws > 0)
        status = run_plan_days(answer, 1, &told);
    for (size_t w = 0; w < answer->n_planned && wishes; w++)
        wishes[w] = answer->planned[w].wish;
    const struct stv_bottling_plan_request request = {
        .outlook = &choosing,
        .told = answer->n_plan_draws > 0 ? &told : NULL,
        .ledger = &book->ledger,
        .rules = &book->rules,
        .wishes = wishes,
        .n_wishes = answer->n_planned,
        .least_bottles_nd = book->least_bottles_nd,
        .lot_of_cask = answer->lot_of_cask,
    };
    if (status == STV_OK)
        status = stv_bottling_plan(&request, &answer->plan);
    stv_outlook_free(&choosing);
    stv_outlook_free(&told);
    free(wishes);
    return status;
}

/* A month that has begun is not past: it is bottled from the day of the answer on. */
static enum stv_status list_planned(struct stv_bottling_answer *answer)
{
    const struct stv_book *book = &answer->chain->book;
    int64_t today_d = answer->chain->as_of_day_d;
    answer->planned = malloc((book->n_bottlings + 1) * sizeof *answer->planned);
    answer->past = malloc((book->n_bottlings + 1) * sizeof *answer->past);
    if (!answer->planned || !answer->past)
        return STV_E_MEMORY;
    for (size_t i = 0; i < book->n_bottlings; i++) {
        struct stv_book_bottling bottling = book->bottlings[i];
        if ((double)bottling.wish.day_d + bottling.day_width_d < (double)today_d) {
            answer->past[answer->n_past++] = bottling;
            continue;
        }
        bottling.wish.day_d = bottling.wish.day_d > today_d ? bottling.wish.day_d : today_d;
        answer->planned[answer->n_planned++] = bottling;
    }
    return STV_OK;
}

enum stv_status stv_bottling_answer_make(const struct stv_chain *chain,
                                         const struct stv_bottling_ask *ask,
                                         struct stv_bottling_answer *out)
{
    *out = (struct stv_bottling_answer){.chain = chain, .ask = *ask};
    struct stv__day_list list = {0};
    struct stv_outlook all = {0};
    enum stv_status status = list_planned(out);
    if (status == STV_OK)
        status = list_days(out, &list);
    if (status == STV_OK)
        status = run_days(chain, &list, chain->run, &all);
    if (status == STV_OK)
        status = find_lots(out);
    if (status == STV_OK)
        status = find_windows(out, &all);
    if (status == STV_OK)
        status = find_guards(out, &all);
    stv_outlook_free(&all);
    if (status == STV_OK && out->n_planned > 0)
        status = find_plan(out);
    free(list.days_d);
    if (status != STV_OK)
        stv_bottling_answer_free(out);
    return status;
}

void stv_bottling_answer_free(struct stv_bottling_answer *answer)
{
    stv_bottling_plan_free(&answer->plan);
    stv_bottling_free(&answer->windows);
    stv_outlook_free(&answer->months);
    stv_forecast_free(&answer->lots);
    free(answer->planned);
    free(answer->past);
    free(answer->lot_of_cask);
    free(answer->guards);
    *answer = (struct stv_bottling_answer){0};
}
