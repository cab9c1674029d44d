/* The casks' future as the outlook has it: the book's ledger with the steps so far, the same trials
 * each time. */
#include "model/reduction.h"

#include "model/position_liquid.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* The cask whose temperature is followed: nearly full, of a strength on its way down. */
#define HOT_FULL_FRAC 0.95
#define HOT_ABV20_FRAC 0.55
#define HOTTEST_MOST_C 50.0
/* 19 in 20 of a normal distribution lie below so many standard deviations. */
#define SD_OF_19_IN_20 1.645

struct house {
    const struct stv_outlook_request *request;
    const struct stv_reduction_rules *rules;
    struct stv_outlook_start **starts; /* per cask of its ledger */
};

static const enum stv_quantity quantities[STV_REDUCTION_TOLD_N] = {
    [STV_REDUCTION_VOLUME20_L] = STV_Q_VOLUME20_L,
    [STV_REDUCTION_ABV20_FRAC] = STV_Q_ABV20_FRAC,
    [STV_REDUCTION_BOTTLES_ND] = STV_Q_BOTTLES_ND,
    [STV_REDUCTION_WOOD_ND] = STV_Q_WOOD_INDEX_ND,
};

/* One run, per cask of the part: who asked, its cask in the house, and where runs go on. */
struct run {
    const struct stv_reduction_asked **asked_of; /* NULL: nobody */
    size_t n_draws, *slot_of_cask;
    int64_t *leave_day_d, *from_day_d;
};

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    const struct run *run = context;
    const struct stv_reduction_asked *asked = run->asked_of[cask_idx];
    for (size_t d = 0; d < asked->n_days; d++)
        for (size_t q = 0; asked->days_d[d] > run->from_day_d[cask_idx] && q < STV_REDUCTION_TOLD_N;
             q++)
            memcpy(asked->values + (d * STV_REDUCTION_TOLD_N + q) * run->n_draws,
                   values + (d * STV_Q_N + (size_t)quantities[q]) * run->n_draws,
                   run->n_draws * sizeof *values);
    return STV_OK;
}

static struct stv_event event_of(const struct stv_reduction_rules *rules, int cask_idx,
                                 const struct stv_reduction_step *step)
{
    struct stv_event event = {.day_d = step->day_d,
                              .kind = STV_EVENT_ADD_WATER,
                              .cask_idx = cask_idx,
                              .other_idx = -1,
                              .volume20_l = NAN,
                              .abv20_frac = NAN,
                              .water_kg = step->added_kg,
                              .place = {-1, -1, -1, -1},
                              .row = SIZE_MAX - 1};
    if (rules->with_abv20_frac > 0.0) {
        event.kind = STV_EVENT_TOP_UP;
        event.water_kg = NAN;
        event.volume20_l = step->added20_l;
        event.abv20_frac = rules->with_abv20_frac;
        event.age_d = step->day_d - rules->with_filled_day_d;
    }
    return event;
}

/* The ledger of the casks that are asked about, with their steps. */
static enum stv_status make_ledger(const struct house *house,
                                   const struct stv_reduction_asked *asked, size_t n_asked,
                                   struct stv_ledger *part, int *idx_of)
{
    const struct stv_ledger *ledger = house->request->ledger;
    size_t n_steps = 0;
    int *casks = malloc((n_asked + 1) * sizeof *casks);
    if (!casks)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n_asked; i++) {
        casks[i] = asked[i].cask_idx;
        n_steps += asked[i].n_steps;
    }
    enum stv_status status = stv_ledger_part(ledger, casks, n_asked, part, idx_of);
    free(casks);
    if (status != STV_OK)
        return status;
    void *grown = realloc(part->events, (part->n_events + n_steps + 1) * sizeof *part->events);
    if (!grown)
        return STV_E_MEMORY;
    part->events = grown;
    for (size_t i = 0; i < n_asked; i++)
        for (size_t s = 0; s < asked[i].n_steps; s++)
            part->events[part->n_events++] =
                event_of(house->rules, idx_of[asked[i].cask_idx], &asked[i].steps[s]);
    return stv_ledger_sort(part);
}

static enum stv_status run_part(const struct house *house, const struct stv_ledger *part,
                                struct run *run)
{
    const struct stv_outlook_starts starts = {house->starts, run->slot_of_cask, run->leave_day_d,
                                              run->from_day_d};
    const int64_t **days_d = calloc(part->n_casks + 1, sizeof *days_d);
    size_t *n_days = calloc(part->n_casks + 1, sizeof *n_days);
    struct stv_outlook_request request = *house->request;
    const struct stv_outlook_rows rows = {days_d, n_days, take, run};
    struct stv_outlook outlook;
    enum stv_status status = days_d && n_days ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < part->n_casks && status == STV_OK; c++) {
        if (!run->asked_of[c])
            continue;
        days_d[c] = run->asked_of[c]->days_d;
        n_days[c] = run->asked_of[c]->n_days;
    }
    request.ledger = part;
    request.days_d = NULL;
    request.n_days = 0;
    request.sums = NULL;
    request.n_sums = 0;
    request.keeps_ranges_only = 1;
    request.rows = &rows;
    request.starts = &starts;
    if (status == STV_OK)
        status = stv_outlook_run(&request, &outlook);
    if (status == STV_OK)
        stv_outlook_free(&outlook);
    free(days_d);
    free(n_days);
    return status;
}

static enum stv_status run_new(const struct house *house, const struct stv_reduction_asked *asked,
                               size_t n_asked, const int *idx_of, struct run *run)
{
    size_t n = house->request->ledger->n_casks, n_draws = house->request->options.n_draws;
    *run = (struct run){.asked_of = calloc(n + 1, sizeof *run->asked_of),
                        .n_draws = n_draws ? n_draws : 1,
                        .slot_of_cask = malloc((n + 1) * sizeof *run->slot_of_cask),
                        .leave_day_d = malloc((n + 1) * sizeof *run->leave_day_d),
                        .from_day_d = malloc((n + 1) * sizeof *run->from_day_d)};
    if (!run->asked_of || !run->slot_of_cask || !run->leave_day_d || !run->from_day_d)
        return STV_E_MEMORY;
    for (size_t c = 0; c < n; c++)
        if (idx_of[c] >= 0) {
            run->slot_of_cask[idx_of[c]] = c;
            run->leave_day_d[idx_of[c]] = INT64_MAX;
        }
    for (size_t i = 0; i < n_asked; i++) {
        run->asked_of[idx_of[asked[i].cask_idx]] = &asked[i];
        run->leave_day_d[idx_of[asked[i].cask_idx]] = asked[i].later_day_d;
    }
    return STV_OK;
}

static void run_free(struct run *run)
{
    free(run->asked_of);
    free(run->slot_of_cask);
    free(run->leave_day_d);
    free(run->from_day_d);
}

static enum stv_status tell(void *context, const struct stv_reduction_asked *asked, size_t n_asked)
{
    const struct house *house = context;
    struct stv_ledger part = {0};
    struct run run = {0};
    int *idx_of = malloc((house->request->ledger->n_casks + 1) * sizeof *idx_of);
    enum stv_status status =
        idx_of ? make_ledger(house, asked, n_asked, &part, idx_of) : STV_E_MEMORY;
    if (status == STV_OK)
        status = run_new(house, asked, n_asked, idx_of, &run);
    if (status == STV_OK)
        status = run_part(house, &part, &run);
    stv_ledger_free(&part);
    free(idx_of);
    run_free(&run);
    return status;
}

enum stv_status stv_reduction_of_house(const struct stv_outlook_request *house,
                                       const struct stv_reduction_rules *rules,
                                       const struct stv_reduction_wish *wishes, size_t n,
                                       struct stv_reduction *out)
{
    size_t n_casks = house->ledger->n_casks;
    struct house context = {house, rules, calloc(n_casks + 1, sizeof *context.starts)};
    const struct stv_reduction_future future = {
        .n_draws = house->options.n_draws ? house->options.n_draws : 1,
        .tell = tell,
        .context = &context,
    };
    *out = (struct stv_reduction){0};
    enum stv_status status =
        context.starts ? stv_reduction_make(rules, wishes, n, &future, out) : STV_E_MEMORY;
    for (size_t c = 0; c < n_casks && context.starts; c++)
        stv_outlook_start_free(context.starts[c]);
    free(context.starts);
    return status;
}

/* Hottest hour at one place, -INFINITY where no hour is known. */
static enum stv_status hottest_at(const struct stv_outlook_request *house,
                                  const struct stv_cask_geometry *geometry, size_t position_idx,
                                  double *out_c)
{
    const struct stv_position *position = &house->set->positions[position_idx];
    const struct stv_cask_numbers numbers =
        house->numbers ? *house->numbers : stv_cask_numbers_default();
    double *liquid_c = malloc((position->grid.n + 1) * sizeof *liquid_c);
    if (!liquid_c)
        return STV_E_MEMORY;
    double tau_h = stv_cask_time_constant_h(geometry, HOT_FULL_FRAC * geometry->capacity_l,
                                            HOT_ABV20_FRAC, &numbers) /
                   house->set->exposed_frac[position_idx];
    enum stv_status status =
        stv_position_liquid_at_c(position, tau_h, stv_cask_convective_frac(&numbers), liquid_c);
    *out_c = -INFINITY;
    for (size_t k = 0; k < position->grid.n && status == STV_OK; k++)
        if (isfinite(liquid_c[k]))
            *out_c = fmax(*out_c, liquid_c[k]);
    *out_c += SD_OF_19_IN_20 * position->error.liquid_k;
    free(liquid_c);
    return status;
}

enum stv_status stv_reduction_hottest_c(const struct stv_outlook_request *house, int cask_idx,
                                        int64_t from_day_d, double *out_c)
{
    const struct stv_ledger *ledger = house->ledger;
    const struct stv_cask_geometry *geometry = &ledger->casks[cask_idx].geometry;
    size_t position_idx = house->set->reference_idx;
    double hottest_c = -INFINITY, here_c;
    enum stv_status status = STV_OK;
    *out_c = NAN;
    for (size_t e = 0; e <= ledger->n_events && status == STV_OK; e++) {
        const struct stv_event *event = e < ledger->n_events ? &ledger->events[e] : NULL;
        int moves =
            event && event->place.warehouse_idx >= 0 &&
            ((event->cask_idx == cask_idx && event->other_idx < 0) || event->other_idx == cask_idx);
        if (event && !moves)
            continue;
        /* Where it lay until this event counts when that is later than the first day. */
        if (!event || event->day_d > from_day_d) {
            status = hottest_at(house, geometry, position_idx, &here_c);
            hottest_c = status == STV_OK ? fmax(hottest_c, here_c) : hottest_c;
        }
        if (event)
            position_idx = stv_position_of_place(house->set, &event->place);
    }
    if (status == STV_OK && !isfinite(hottest_c))
        return STV_E_NO_DATA;
    if (status == STV_OK)
        *out_c = fmin(hottest_c, HOTTEST_MOST_C);
    return status;
}
