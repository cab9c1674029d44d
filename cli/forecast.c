/* Each cask is told by its own anniversaries, the house on days that all share: one run gives both,
 * and each cask's trials are made into ranges as soon as it was run, so that memory does not grow
 * with casks, days and trials together. */
#include "cli/forecast.h"

#include "cli/cask_state.h"
#include "cli/day_list.h"
#include "cli/forecast_parts.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* How far thresholds are looked for: longer than most casks lie. */
#define HORIZON_MONTHS (15 * STV_MONTHS)
#define SUM_HOUSE 0
#define SUM_LABELS 1

/* One run: the part of the ledger that is asked for, and which days each of its casks is told. */
struct run {
    const struct stv_chain *chain;
    const struct stv_forecast_ask *ask;
    struct stv_forecast *forecast;
    struct stv_ledger part;
    int *idx_of; /* per cask of the book: in the part, or -1 */
    /* per cask of the part */
    struct stv_forecast_cask **cask_of; /* NULL when it is not told */
    struct stv__day_list *lists;
    const int64_t **days_d;
    size_t *n_days;
    size_t *labels, *house;
    /* on which days the house is told */
    struct stv__day_list common;
    int64_t year_on_d;
};

/* --- days --------------------------------------------------------------------------------- */

static int64_t day_of_age(const struct stv_chain *chain, int cask_idx, double age_y)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    int64_t born_d = stv_day_span_middle(spirit.youngest);
    double months = age_y * STV_MONTHS;
    if (fabs(months - round(months)) < 1e-6)
        return stv_day_add_months(born_d, (int)lround(months));
    return born_d + (int64_t)llround(age_y * STV_YEAR_D);
}

/* A day that somebody asked for by name; those before the fill are counted and left out. */
static enum stv_status add_asked(struct stv_forecast_cask *cask, int64_t fill_d, int64_t day_d,
                                 struct stv__day_list *out)
{
    if (day_d > fill_d)
        return stv__day_add(out, day_d);
    cask->n_left_out += day_d < fill_d;
    return STV_OK;
}

/* The rows a cask gets: its fill, the anniversaries, the last day if it was said, further days and
 * ages. */
static enum stv_status row_days(const struct run *run, struct stv_forecast_cask *cask,
                                struct stv__day_list *out)
{
    const struct stv_forecast_days *wanted = &run->ask->days;
    int64_t fill_d = run->chain->book.ledger.events[cask->fill_idx].day_d;
    enum stv_status status = stv__day_add(out, fill_d);
    for (int months = wanted->months_apart; status == STV_OK; months += wanted->months_apart) {
        int64_t day_d = stv_day_add_months(fill_d, months);
        if (day_d > wanted->until_day_d)
            break;
        status = stv__day_add(out, day_d);
    }
    if (status == STV_OK && wanted->has_until && wanted->until_day_d > fill_d)
        status = stv__day_add(out, wanted->until_day_d);
    for (size_t i = 0; i < wanted->n_at && status == STV_OK; i++)
        status = add_asked(cask, fill_d, wanted->at_d[i], out);
    for (size_t i = 0; i < wanted->n_ages && status == STV_OK; i++)
        status =
            add_asked(cask, fill_d, day_of_age(run->chain, cask->cask_idx, wanted->ages_y[i]), out);
    stv__day_seal(out);
    return status;
}

static enum stv_status make_rows(const struct run *run, struct stv_forecast_cask *cask)
{
    struct stv__day_list list = {0};
    enum stv_status status = row_days(run, cask, &list);
    if (status == STV_OK) {
        cask->rows = calloc(list.n, sizeof *cask->rows);
        status = cask->rows ? STV_OK : STV_E_MEMORY;
    }
    for (size_t i = 0; i < list.n && status == STV_OK; i++) {
        struct stv_forecast_row *row = &cask->rows[cask->n_rows++];
        *row = (struct stv_forecast_row){.day_d = list.days_d[i], .asked_age_y = (double)NAN};
        for (size_t a = 0; a < run->ask->days.n_ages; a++)
            if (day_of_age(run->chain, cask->cask_idx, run->ask->days.ages_y[a]) == row->day_d)
                row->asked_age_y = run->ask->days.ages_y[a];
    }
    free(list.days_d);
    return status;
}

static int64_t month_day(const struct run *run, int months)
{
    return stv_day_add_months(run->chain->as_of_day_d, months);
}

/* All days that a cask's trials are wanted on. */
static enum stv_status list_days(const struct run *run, const struct stv_forecast_cask *cask,
                                 struct stv__day_list *list)
{
    enum stv_status status = stv__day_add(list, cask->now.day_d);
    if (status == STV_OK)
        status = stv__day_add(list, cask->end.day_d);
    if (status == STV_OK)
        status = stv__day_add(list, run->year_on_d);
    if (status == STV_OK && cask->gauge_idx >= 0)
        status = stv__day_add(list, cask->at_gauge.day_d);
    for (size_t i = 0; i < cask->n_rows && status == STV_OK; i++)
        status = stv__day_add(list, cask->rows[i].day_d);
    for (int m = 0; m <= HORIZON_MONTHS && run->ask->n_thresholds && status == STV_OK; m++)
        status = stv__day_add(list, month_day(run, m));
    stv__day_seal(list);
    return status;
}

/* --- what one cask gives ------------------------------------------------------------------ */

/* Trials of one cask on its days. */
struct told {
    const double *values;
    size_t n_draws;
};

static const double *draws_of_cask(const void *source, size_t day_idx, enum stv_quantity quantity)
{
    const struct told *told = source;
    return told->values + (day_idx * STV_Q_N + (size_t)quantity) * told->n_draws;
}

static void take_row(const struct run *run, size_t idx, const struct told *told, double *scratch,
                     struct stv_forecast_row *row)
{
    size_t day_idx = stv__day_index(run->days_d[idx], run->n_days[idx], row->day_d);
    for (size_t q = 0; q < STV_Q_N; q++) {
        memcpy(scratch, draws_of_cask(told, day_idx, (enum stv_quantity)q),
               told->n_draws * sizeof *scratch);
        row->quantity[q] = stv_range_of(scratch, told->n_draws);
    }
}

static enum stv_status take_crossings(const struct run *run, size_t idx, const struct told *told,
                                      struct stv_forecast_cask *cask)
{
    const double *values[HORIZON_MONTHS + 1];
    int64_t days_d[HORIZON_MONTHS + 1];
    const size_t n[2] = {HORIZON_MONTHS + 1, told->n_draws};
    size_t n_thresholds = run->ask->n_thresholds;
    enum stv_status status = STV_OK;
    cask->crossings = calloc(n_thresholds + 1, sizeof *cask->crossings);
    if (!cask->crossings)
        return STV_E_MEMORY;
    for (size_t t = 0; t < n_thresholds && status == STV_OK; t++) {
        const struct stv_threshold *threshold = &run->ask->thresholds[t];
        for (int m = 0; m <= HORIZON_MONTHS; m++) {
            days_d[m] = month_day(run, m);
            values[m] =
                draws_of_cask(told, stv__day_index(run->days_d[idx], run->n_days[idx], days_d[m]),
                              threshold->quantity);
        }
        status = stv_crossing_find(days_d, values, n, threshold->level, &cask->crossings[t]);
    }
    return status;
}

static enum stv_status take_cask(void *context, size_t idx, const double *values)
{
    const struct run *run = context;
    struct stv_forecast_cask *cask = run->cask_of[idx];
    size_t n_draws = run->chain->run.n_draws ? run->chain->run.n_draws : 1;
    const struct told told = {values, n_draws};
    const struct stv__scratch scratch = {n_draws, malloc(2 * n_draws * sizeof(double))};
    if (!scratch.room)
        return STV_E_MEMORY;
    for (size_t i = 0; i < cask->n_rows; i++)
        take_row(run, idx, &told, scratch.room, &cask->rows[i]);
    take_row(run, idx, &told, scratch.room, &cask->now);
    take_row(run, idx, &told, scratch.room, &cask->end);
    if (cask->gauge_idx >= 0)
        take_row(run, idx, &told, scratch.room, &cask->at_gauge);
    size_t now = stv__day_index(run->days_d[idx], run->n_days[idx], cask->now.day_d);
    size_t year_on = stv__day_index(run->days_d[idx], run->n_days[idx], run->year_on_d);
    stv__losses_between(&told, draws_of_cask, (const size_t[2]){SIZE_MAX, now}, &scratch,
                        &cask->gone);
    if (year_on < run->n_days[idx])
        stv__losses_between(&told, draws_of_cask, (const size_t[2]){now, year_on}, &scratch,
                            &cask->coming);
    free(scratch.room);
    return run->ask->n_thresholds ? take_crossings(run, idx, &told, cask) : STV_OK;
}

/* --- the house ---------------------------------------------------------------------------- */

/* Casks whose middle trial says what a person must look at. */
static void count_oddities(const struct stv_ledger *ledger, const struct stv_house_rules *rules,
                           const struct stv_outlook *outlook, size_t day_idx,
                           struct stv_forecast_totals *out)
{
    out->n_weak = out->n_overfull = 0;
    for (size_t cask = 0; cask < outlook->n_casks; cask++) {
        double room_l = STV_OVERFULL_FRAC * ledger->casks[cask].geometry.capacity_l;
        struct stv_range abv20_frac = stv_outlook_range(outlook, cask, day_idx, STV_Q_ABV20_FRAC);
        struct stv_range volume20_l = stv_outlook_range(outlook, cask, day_idx, STV_Q_VOLUME20_L);
        out->n_weak += abv20_frac.p50 < rules->bottling_abv20_frac;
        if (volume20_l.p50 > room_l && out->n_overfull++ == 0)
            out->overfull_idx = (int)cask;
    }
}

/* The house's own sums, from an outlook whose first sum is that of all its casks. */
static enum stv_status take_house(const struct stv_ledger *ledger,
                                  const struct stv_house_rules *rules,
                                  const struct stv_outlook *outlook, int64_t as_of_day_d,
                                  struct stv_forecast *forecast)
{
    const struct stv__scratch scratch = {outlook->n_draws,
                                         malloc(2 * outlook->n_draws * sizeof(double))};
    const int64_t days_d[2] = {as_of_day_d, forecast->end_day_d};
    if (!scratch.room)
        return STV_E_MEMORY;
    for (int i = 0; i < 2; i++) {
        struct stv_forecast_totals *to = i ? &forecast->end : &forecast->now;
        size_t day_idx = stv__day_index(outlook->days_d, outlook->n_days, days_d[i]);
        stv__sum_take(outlook, (const size_t[3]){SUM_HOUSE, 0, day_idx}, &scratch, to);
        count_oddities(ledger, rules, outlook, day_idx, to);
        for (size_t s = 0; s < forecast->n_sums; s++)
            stv__sum_take(outlook, (const size_t[3]){SUM_LABELS, s, day_idx}, &scratch,
                          i ? &forecast->sums[s].end : &forecast->sums[s].now);
    }
    forecast->balance_residual_frac = outlook->balance_residual_frac;
    forecast->n_strength_held = outlook->n_strength_held;
    forecast->held_frac = outlook->held_frac;
    free(scratch.room);
    return STV_OK;
}

/* --- one run ------------------------------------------------------------------------------ */

static void free_run(struct run *run)
{
    for (size_t c = 0; run->lists && c < run->part.n_casks; c++)
        free(run->lists[c].days_d);
    free(run->lists);
    free(run->cask_of);
    free(run->days_d);
    free(run->n_days);
    free(run->labels);
    free(run->house);
    free(run->common.days_d);
    free(run->idx_of);
    stv_ledger_free(&run->part);
}

/* All casks of the house when none is named, also those that are empty today: they may be filled
 * by what the history plans. */
static enum stv_status take_part(struct run *run)
{
    const struct stv_ledger *ledger = &run->chain->book.ledger;
    int *all = malloc((ledger->n_casks + 1) * sizeof *all);
    run->idx_of = malloc((ledger->n_casks + 1) * sizeof *run->idx_of);
    enum stv_status status = all && run->idx_of ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; all && c < ledger->n_casks; c++)
        all[c] = (int)c;
    if (status == STV_OK && run->ask->is_named)
        status =
            stv_ledger_part(ledger, run->ask->cask_idx, run->ask->n_casks, &run->part, run->idx_of);
    else if (status == STV_OK)
        status = stv_ledger_part(ledger, all, ledger->n_casks, &run->part, run->idx_of);
    free(all);
    return status;
}

static enum stv_status make_room(struct run *run)
{
    size_t n = run->part.n_casks;
    run->cask_of = calloc(n + 1, sizeof *run->cask_of);
    run->lists = calloc(n + 1, sizeof *run->lists);
    run->days_d = calloc(n + 1, sizeof *run->days_d);
    run->n_days = calloc(n + 1, sizeof *run->n_days);
    run->labels = malloc((n + 1) * sizeof *run->labels);
    run->house = calloc(n + 1, sizeof *run->house);
    if (!run->cask_of || !run->lists || !run->days_d || !run->n_days || !run->labels || !run->house)
        return STV_E_MEMORY;
    for (size_t c = 0; c < n; c++)
        run->labels[c] = SIZE_MAX;
    enum stv_status status = stv__day_add(&run->common, run->chain->as_of_day_d);
    if (status == STV_OK)
        status = stv__day_add(&run->common, run->forecast->end_day_d);
    stv__day_seal(&run->common);
    return status;
}

static struct stv_forecast_cask cask_without_rows(const struct stv_chain *chain, int cask_idx,
                                                  int64_t end_day_d)
{
    struct stv_forecast_cask cask = {
        .cask_idx = cask_idx,
        .fill_idx = stv_fill_event(chain, cask_idx),
        .gauge_idx = stv_last_gauge(chain, cask_idx),
        .now = {.day_d = chain->as_of_day_d, .asked_age_y = (double)NAN},
        .end = {.day_d = end_day_d, .asked_age_y = (double)NAN},
    };
    int end_idx = stv_planned_end(chain, cask_idx);
    if (end_idx >= 0)
        cask.emptied = &chain->book.ledger.events[end_idx];
    if (cask.gauge_idx >= 0)
        cask.at_gauge.day_d = chain->book.gauges[cask.gauge_idx].day_d;
    return cask;
}

static enum stv_status prepare_cask(struct run *run, struct stv_forecast_cask *cask)
{
    if (cask->fill_idx < 0)
        return STV_OK;
    size_t idx = (size_t)run->idx_of[cask->cask_idx];
    struct stv__day_list *list = &run->lists[idx];
    enum stv_status status = run->ask->has_paths ? make_rows(run, cask) : STV_OK;
    if (status == STV_OK)
        status = list_days(run, cask, list);
    run->cask_of[idx] = cask;
    run->days_d[idx] = list->days_d;
    run->n_days[idx] = list->n;
    return status;
}

static enum stv_status run_casks(struct run *run)
{
    const struct stv_chain *chain = run->chain;
    struct stv_forecast *forecast = run->forecast;
    struct stv_outlook outlook;
    const struct stv_outlook_sums sums[2] = {
        [SUM_HOUSE] = {run->house, 1}, [SUM_LABELS] = {run->labels, forecast->n_sums}};
    const struct stv_outlook_rows rows = {run->days_d, run->n_days, take_cask, run};
    struct stv_outlook_request request = stv_chain_request(chain);
    request.ledger = &run->part;
    request.days_d = run->common.days_d;
    request.n_days = run->common.n;
    request.keeps_ranges_only = 1;
    request.sums = sums;
    request.n_sums = 2;
    request.rows = &rows;
    enum stv_status status = stv_outlook_run(&request, &outlook);
    if (status != STV_OK)
        return status;
    status = take_house(&run->part, &chain->book.rules, &outlook, chain->as_of_day_d, forecast);
    stv_outlook_free(&outlook);
    return status;
}

static void mark_rows(const struct stv_chain *chain, struct stv_forecast *forecast)
{
    for (size_t c = 0; c < forecast->n_casks; c++)
        for (size_t i = 0; i < forecast->casks[c].n_rows; i++)
            forecast->casks[c].rows[i].is_in_record =
                stv_day_is_in_record(&chain->set, forecast->casks[c].rows[i].day_d);
}

static enum stv_status keep_thresholds(const struct stv_chain *chain,
                                       const struct stv_forecast_ask *ask, struct stv_forecast *out)
{
    out->horizon_day_d = stv_day_add_months(chain->as_of_day_d, HORIZON_MONTHS);
    out->thresholds = malloc((ask->n_thresholds + 1) * sizeof *out->thresholds);
    if (!out->thresholds)
        return STV_E_MEMORY;
    memcpy(out->thresholds, ask->thresholds, ask->n_thresholds * sizeof *out->thresholds);
    out->n_thresholds = ask->n_thresholds;
    return STV_OK;
}

/* What is known of a cask is some 4 kB. */
static bool tells_casks(const struct stv_forecast_ask *ask)
{
    return ask->by == STV_BY_CASK || ask->n_thresholds > 0;
}

static enum stv_status begin_run(struct run *run)
{
    const struct stv_forecast_ask *ask = run->ask;
    struct stv_forecast *forecast = run->forecast;
    enum stv_status status = take_part(run);
    if (status == STV_OK)
        status = make_room(run);
    if (status == STV_OK && ask->by != STV_BY_CASK)
        status = stv__sum_labels(run->chain, ask, run->idx_of, run->labels, forecast);
    for (size_t i = 0; i < ask->n_casks && tells_casks(ask) && status == STV_OK; i++) {
        struct stv_forecast_cask *cask = &forecast->casks[forecast->n_casks++];
        *cask = cask_without_rows(run->chain, ask->cask_idx[i], forecast->end_day_d);
        status = prepare_cask(run, cask);
    }
    return status;
}

enum stv_status stv_forecast_make(const struct stv_chain *chain, const struct stv_forecast_ask *ask,
                                  struct stv_forecast *out)
{
    *out = (struct stv_forecast){.end_day_d = ask->days.until_day_d, .n_asked = ask->n_casks};
    stv_count_casks(chain, &out->n_full, &out->n_empty);
    struct run run = {.chain = chain, .ask = ask, .forecast = out};
    run.year_on_d = month_day(&run, STV_MONTHS);
    out->casks = calloc(tells_casks(ask) ? ask->n_casks + 1 : 1, sizeof *out->casks);
    enum stv_status status = out->casks ? keep_thresholds(chain, ask, out) : STV_E_MEMORY;
    if (status == STV_OK)
        status = begin_run(&run);
    bool is_any_full = false;
    for (size_t i = 0; i < ask->n_casks; i++)
        is_any_full |= stv_fill_event(chain, ask->cask_idx[i]) >= 0;
    out->has_totals = is_any_full && !ask->is_named;
    if (status == STV_OK && is_any_full)
        status = run_casks(&run);
    free_run(&run);
    mark_rows(chain, out);
    if (status != STV_OK)
        stv_forecast_free(out);
    return status;
}

enum stv_status stv_forecast_begin(const struct stv_chain *chain, int64_t end_day_d,
                                   struct stv_forecast *out)
{
    *out = (struct stv_forecast){.end_day_d = end_day_d, .has_totals = true};
    stv_count_casks(chain, &out->n_full, &out->n_empty);
    out->n_asked = out->n_full;
    out->casks = calloc(out->n_full + 1, sizeof *out->casks);
    if (!out->casks)
        return STV_E_MEMORY;
    for (size_t i = 0; i < chain->book.ledger.n_casks; i++) {
        struct stv_forecast_cask cask = cask_without_rows(chain, (int)i, end_day_d);
        if (cask.fill_idx >= 0)
            out->casks[out->n_casks++] = cask;
    }
    return STV_OK;
}

enum stv_status stv_forecast_cask_days(const struct stv_chain *chain,
                                       const struct stv_forecast_cask *cask,
                                       struct stv__day_list *list)
{
    const struct stv_forecast_ask ask = {.n_thresholds = 0};
    struct run run = {.chain = chain, .ask = &ask};
    run.year_on_d = month_day(&run, STV_MONTHS);
    return list_days(&run, cask, list);
}

enum stv_status stv_forecast_take(const struct stv_chain *chain, const int64_t *days_d,
                                  size_t n_days, const double *values,
                                  struct stv_forecast_cask *inout)
{
    const struct stv_forecast_ask ask = {.n_thresholds = 0};
    struct run run = {
        .chain = chain, .ask = &ask, .cask_of = &inout, .days_d = &days_d, .n_days = &n_days};
    run.year_on_d = month_day(&run, STV_MONTHS);
    return take_cask(&run, 0, values);
}

enum stv_status stv_forecast_end(const struct stv_chain *chain, const struct stv_outlook *outlook,
                                 struct stv_forecast *inout)
{
    return take_house(&chain->book.ledger, &chain->book.rules, outlook, chain->as_of_day_d, inout);
}

enum stv_status stv_forecast_of_outlook(const struct stv_chain *chain,
                                        const struct stv_outlook *outlook, int64_t end_day_d,
                                        struct stv_forecast *out)
{
    enum stv_status status = stv_forecast_begin(chain, end_day_d, out);
    for (size_t i = 0; i < out->n_casks && status == STV_OK; i++) {
        const double *values =
            stv_outlook_draws(outlook, (size_t)out->casks[i].cask_idx, 0, (enum stv_quantity)0);
        status = stv_forecast_take(chain, outlook->days_d, outlook->n_days, values, &out->casks[i]);
    }
    if (status == STV_OK)
        status = stv_forecast_end(chain, outlook, out);
    if (status != STV_OK)
        stv_forecast_free(out);
    return status;
}

void stv_forecast_free(struct stv_forecast *forecast)
{
    for (size_t i = 0; i < forecast->n_casks; i++) {
        free(forecast->casks[i].rows);
        free(forecast->casks[i].crossings);
    }
    free(forecast->casks);
    free(forecast->thresholds);
    free(forecast->sums);
    *forecast = (struct stv_forecast){0};
}
