/* Windows of wood: each cask is followed month by month and over its summers to a year after its
 * planned age, and its trials are counted. */
#include "model/transfer_parts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A house's usual odds, and more likely than not; judgement. */
#define KEEP_FRAC 0.7
#define OVER_FRAC 0.5
#define DAYS_MOST (STV_SUMMERS_MOST * 16)

struct run {
    const struct stv__transfer_work *work;
    size_t *item_of_cask; /* SIZE_MAX: not asked for */
    int64_t **days_d;     /* per cask of the ledger */
    size_t *n_days;
};

static int compare_days(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a, y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

/* Days that a cask is told on: months, the ends of its summers, today and its planned age. */
static size_t days_of(const struct stv__transfer_work *work, struct stv_transfer *item,
                      int64_t days_d[DAYS_MOST])
{
    struct stv_leaving *leaving = &item->leaving;
    int64_t now_d = work->ask->as_of_day_d, planned_d = item->planned_day_d;
    int64_t last_d = stv_day_add_months(planned_d, STV_MONTHS);
    struct stv_summer summers[STV_SUMMERS_MOST];
    size_t n = 0, n_once = 0;
    size_t n_summers =
        stv_summers_between(work->ask->warm, now_d, last_d, summers, STV_SUMMERS_MOST);
    for (int m = 0; stv_day_add_months(now_d, m) < last_d && n < DAYS_MOST / 2; m++)
        days_d[n++] = stv_day_add_months(now_d, m);
    for (size_t s = 0; s < n_summers; s++) {
        struct stv_summer *told = &leaving->summers[leaving->n_summers].summer;
        int64_t from_d = summers[s].from_day_d > now_d ? summers[s].from_day_d : now_d;
        days_d[n++] = from_d;
        days_d[n++] = stv_day_add_months(from_d, STV_MONTHS);
        if (summers[s].from_day_d >= planned_d)
            continue;
        *told = summers[s];
        if (told->to_day_d > planned_d)
            told->to_day_d = planned_d;
        days_d[n++] = told->to_day_d;
        days_d[n++] = stv_day_add_months(told->to_day_d, STV_MONTHS);
        leaving->n_summers++;
    }
    days_d[n++] = planned_d;
    days_d[n++] = last_d;
    qsort(days_d, n, sizeof *days_d, compare_days);
    for (size_t i = 0; i < n; i++)
        if (n_once == 0 || days_d[i] != days_d[n_once - 1])
            days_d[n_once++] = days_d[i];
    return n_once;
}

/* One cask's trials. */
struct trials {
    const struct run *run;
    size_t cask_idx;
    const double *values;
};

static const double *draws_on(const struct trials *trials, int64_t day_d,
                              enum stv_quantity quantity)
{
    const struct run *run = trials->run;
    size_t at = 0;
    while (run->days_d[trials->cask_idx][at] < day_d)
        at++;
    return trials->values + (at * STV_Q_N + (size_t)quantity) * run->work->n_draws;
}

static double under_frac(const struct trials *trials, int64_t day_d)
{
    const double *wood = draws_on(trials, day_d, STV_Q_WOOD_INDEX_ND);
    size_t n = trials->run->work->n_draws, n_under = 0;
    for (size_t k = 0; k < n; k++)
        n_under += wood[k] <= trials->run->work->ask->house->rules->wood_most_nd;
    return (double)n_under / (double)n;
}

static struct stv_range range_on(const struct trials *trials, int64_t day_d,
                                 enum stv_quantity quantity, double *room)
{
    size_t n = trials->run->work->n_draws;
    memcpy(room, draws_on(trials, day_d, quantity), n * sizeof *room);
    return stv_range_of(room, n);
}

/* The first day of that summer; but where it passes in the cool months before, the last day of the
 * summer before these, or today. */
static int64_t leave_day(const struct stv_leaving *leaving, int64_t now_d)
{
    const struct stv_summer_odds *odds = &leaving->summers[leaving->last_idx];
    int is_first = leaving->last_idx == 0;
    if (odds->before_frac >= KEEP_FRAC)
        return odds->summer.from_day_d;
    if (is_first)
        return leaving->now_frac >= KEEP_FRAC ? now_d : odds->summer.from_day_d;
    return odds[-1].after_frac >= KEEP_FRAC ? odds[-1].summer.to_day_d : odds->summer.from_day_d;
}

/* Before which summer, if any. */
static void decide(struct stv_leaving *leaving, int64_t now_d)
{
    size_t last = 0;
    while (last < leaving->n_summers && leaving->summers[last].after_frac >= KEEP_FRAC)
        last++;
    if (last == leaving->n_summers && leaving->n_summers > 0)
        last--; /* it passes in the cold months after the last, if at all */
    leaving->last_idx = last;
    leaving->leave_day_d = now_d;
    if (leaving->now_frac < OVER_FRAC) {
        leaving->call = STV_LEAVE_OVER;
        return;
    }
    leaving->call = leaving->n_summers == 0 || leaving->summers[last].summer.from_day_d <= now_d
                        ? STV_LEAVE_NOW
                        : STV_LEAVE_BEFORE;
    if (leaving->call == STV_LEAVE_BEFORE)
        leaving->leave_day_d = leave_day(leaving, now_d);
    double least_frac = fmin(leaving->now_frac, leaving->planned_frac);
    for (size_t s = 0; s < leaving->n_summers; s++)
        least_frac = fmin(least_frac, leaving->summers[s].after_frac);
    if (least_frac < KEEP_FRAC)
        return;
    leaving->call = STV_LEAVE_STAY;
    leaving->leave_day_d = now_d;
    if (leaving->n_summers > 0 && leaving->summers[0].summer.from_day_d > now_d)
        leaving->leave_day_d = leaving->summers[0].summer.from_day_d;
}

static void tell_waiting(const struct trials *trials, double *room, struct stv_leaving *leaving)
{
    size_t n = trials->run->work->n_draws;
    int64_t later_d = stv_day_add_months(leaving->leave_day_d, STV_MONTHS);
    leaving->a_year_on_d = later_d;
    leaving->leave_frac = under_frac(trials, leaving->leave_day_d);
    leaving->a_year_on_frac = under_frac(trials, later_d);
    const double *now = draws_on(trials, leaving->leave_day_d, STV_Q_BOTTLES_ND);
    const double *later = draws_on(trials, later_d, STV_Q_BOTTLES_ND);
    for (size_t k = 0; k < n; k++)
        room[k] = now[k] - later[k];
    leaving->a_year_on_bottles_nd = stv_range_of(room, n).p50;
    leaving->volume20_l = range_on(trials, leaving->leave_day_d, STV_Q_VOLUME20_L, room);
    leaving->abv20_frac = range_on(trials, leaving->leave_day_d, STV_Q_ABV20_FRAC, room);
}

static enum stv_status cross(const struct trials *trials, struct stv_leaving *leaving)
{
    const struct run *run = trials->run;
    const struct stv_house_rules *rules = run->work->ask->house->rules;
    const size_t n[2] = {run->n_days[trials->cask_idx], run->work->n_draws};
    const int64_t *days_d = run->days_d[trials->cask_idx];
    const double **wood = malloc(n[0] * sizeof *wood);
    if (!wood)
        return STV_E_MEMORY;
    for (size_t d = 0; d < n[0]; d++)
        wood[d] = draws_on(trials, days_d[d], STV_Q_WOOD_INDEX_ND);
    struct stv_level least = {rules->wood_least_nd, 0}, most = {rules->wood_most_nd, 0};
    enum stv_status status = stv_crossing_find(days_d, wood, n, least, &leaving->enough);
    if (status == STV_OK)
        status = stv_crossing_find(days_d, wood, n, most, &leaving->over);
    free(wood);
    return status;
}

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    const struct run *run = context;
    const struct stv__transfer_work *work = run->work;
    struct stv_transfer *item = &work->out->items[run->item_of_cask[cask_idx]];
    struct stv_leaving *leaving = &item->leaving;
    const struct trials trials = {run, cask_idx, values};
    int64_t now_d = work->ask->as_of_day_d;
    double *room = malloc(work->n_draws * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    leaving->now_frac = under_frac(&trials, now_d);
    leaving->planned_frac = under_frac(&trials, item->planned_day_d);
    for (size_t s = 0; s < leaving->n_summers; s++) {
        struct stv_summer_odds *odds = &leaving->summers[s];
        int64_t from_d = odds->summer.from_day_d;
        odds->before_frac = under_frac(&trials, from_d > now_d ? from_d : now_d);
        odds->after_frac = under_frac(&trials, odds->summer.to_day_d);
    }
    leaving->wood_now_nd = range_on(&trials, now_d, STV_Q_WOOD_INDEX_ND, room);
    leaving->wood_planned_nd = range_on(&trials, item->planned_day_d, STV_Q_WOOD_INDEX_ND, room);
    decide(leaving, now_d);
    tell_waiting(&trials, room, leaving);
    free(room);
    return cross(&trials, leaving);
}

static enum stv_status tell_area(const struct stv__transfer_work *work, struct stv_transfer *item)
{
    const struct stv_outlook_request *house = work->ask->house;
    const struct stv_cask_numbers usual = stv_cask_numbers_default();
    const struct stv_cask_geometry *own = &work->past.casks[item->cask_idx].geometry;
    struct stv_cask_geometry reference;
    enum stv_status status =
        stv_cask_geometry(house->rules->reference_capacity_l, (double)NAN,
                          house->numbers ? house->numbers : &usual, &reference);
    item->leaving.area_ratio_nd =
        own->inner_area_m2 / own->capacity_l / (reference.inner_area_m2 / reference.capacity_l);
    return status;
}

/* Only the casks asked for, and what exchanged spirit with them, are run. */
static enum stv_status prepare(const struct stv__transfer_work *work, struct stv_ledger *part,
                               int *idx_of, struct run *run)
{
    const struct stv_transfer_request *ask = work->ask;
    enum stv_status status =
        stv_ledger_part(&work->past, ask->cask_idx, ask->n_casks, part, idx_of);
    for (size_t i = 0; i < work->out->n && status == STV_OK; i++) {
        struct stv_transfer *item = &work->out->items[i];
        size_t cask = (size_t)idx_of[item->cask_idx];
        run->item_of_cask[cask] = i;
        run->days_d[cask] = malloc(DAYS_MOST * sizeof **run->days_d);
        if (!run->days_d[cask])
            return STV_E_MEMORY;
        run->n_days[cask] = days_of(work, item, run->days_d[cask]);
        status = tell_area(work, item);
    }
    return status;
}

static enum stv_status run_part(const struct stv_ledger *part, struct run *run)
{
    const struct stv_outlook_rows rows = {(const int64_t *const *)run->days_d, run->n_days, take,
                                          run};
    struct stv_outlook_request request = *run->work->ask->house;
    struct stv_outlook outlook;
    request.ledger = part;
    request.days_d = NULL;
    request.n_days = 0;
    request.keeps_ranges_only = 1;
    request.sums = NULL;
    request.n_sums = 0;
    request.rows = &rows;
    enum stv_status status = stv_outlook_run(&request, &outlook);
    if (status == STV_OK)
        stv_outlook_free(&outlook);
    return status;
}

enum stv_status stv__transfer_windows(const struct stv__transfer_work *work)
{
    size_t n = work->past.n_casks;
    struct stv_ledger part = {0};
    int *idx_of = malloc((n + 1) * sizeof *idx_of);
    struct run run = {.work = work,
                      .item_of_cask = malloc((n + 1) * sizeof *run.item_of_cask),
                      .days_d = calloc(n + 1, sizeof *run.days_d),
                      .n_days = calloc(n + 1, sizeof *run.n_days)};
    enum stv_status status =
        idx_of && run.item_of_cask && run.days_d && run.n_days ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = prepare(work, &part, idx_of, &run);
    if (status == STV_OK)
        status = run_part(&part, &run);
    for (size_t c = 0; run.days_d && c < n; c++)
        free(run.days_d[c]);
    stv_ledger_free(&part);
    free(idx_of);
    free(run.item_of_cask);
    free(run.days_d);
    free(run.n_days);
    return status;
}
