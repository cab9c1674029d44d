/* Two runs of the casks.  The first gives the months, whose values go as soon as the windows are
 * found.  The second keeps ranges for all half-years, adds up each kind trial by trial, and hands
 * out each cask's values on the few days that differences are told of. */
#include "cli/report_large.h"

#include "cli/bottling.h"
#include "cli/cask_state.h"
#include "cli/forecast_parts.h"
#include "cli/own_days.h"
#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define MONTHS_APART 6
#define SUM_HOUSE 0
#define SUM_KINDS 1

/* What differences and sums over time read of a cask. */
static const enum stv_quantity tried[] = {
    STV_Q_VOLUME20_L,  STV_Q_ABV20_FRAC,   STV_Q_LPA_L,      STV_Q_BOTTLES_ND,    STV_Q_AIR_LPA_L,
    STV_Q_JOINT_LPA_L, STV_Q_SAMPLE_LPA_L, STV_Q_LEAK_LPA_L, STV_Q_INDRINK_LPA_L, STV_Q_AIR_L,
    STV_Q_JOINT_L,     STV_Q_INDRINK_L,    STV_Q_SAMPLE_L,   STV_Q_LEAK_L};
#define N_TRIED (sizeof tried / sizeof *tried)
/* What is told of a kind's mean cask: what adds up, and strength. */
static const enum stv_quantity mean_of[] = {STV_Q_VOLUME20_L, STV_Q_ABV20_FRAC, STV_Q_LPA_L,
                                            STV_Q_BOTTLES_ND};
#define N_MEAN (sizeof mean_of / sizeof *mean_of)

struct large {
    struct stv_report_data *data;
    size_t *kind_of_cask, *house;           /* per cask of the book; SIZE_MAX: in none */
    struct stv_forecast_cask **forecast_of; /* NULL: empty today */
    struct stv__own_days own;
};

size_t stv_report_half_years(const struct stv_chain *chain, int64_t *days_d, size_t n)
{
    int64_t first_d = chain->as_of_day_d;
    for (size_t i = 0; i < chain->book.ledger.n_casks; i++) {
        int fill_idx = stv_fill_event(chain, (int)i);
        if (fill_idx >= 0 && chain->book.ledger.events[fill_idx].day_d < first_d)
            first_d = chain->book.ledger.events[fill_idx].day_d;
    }
    for (int months = STV_REPORT_MONTHS_AHEAD; months >= -MONTHS_APART * STV_REPORT_HALF_YEARS_BACK;
         months -= MONTHS_APART) {
        int64_t day_d = stv_day_add_months(chain->as_of_day_d, months);
        if (day_d < first_d)
            break;
        days_d[n++] = day_d;
    }
    return n;
}

/* --- kinds --------------------------------------------------------------------------------- */

/* So many casks a kind needs to have a chart, and how many of those with one less have one too. */
static size_t least_casks(const struct stv_forecast *lots, size_t *out_n_less)
{
    size_t n = lots->n_sums, least = 1;
    while (n > STV_REPORT_KINDS_MOST) {
        least++;
        n = 0;
        for (size_t l = 0; l < lots->n_sums; l++)
            n += lots->sums[l].n_casks >= least;
    }
    *out_n_less = STV_REPORT_KINDS_MOST - n;
    return least;
}

/* Kinds by day and name, those that have a chart; each cask's, of the casks that are full today. */
static enum stv_status choose_kinds(struct large *large, const struct stv_forecast *lots)
{
    struct stv_report_kinds *kinds = &large->data->kinds;
    size_t n_casks = large->data->chain->book.ledger.n_casks, n_less, n = 0;
    size_t least = least_casks(lots, &n_less);
    size_t *kind_of = malloc((lots->n_sums + 1) * sizeof *kind_of);
    kinds->ledger.casks = calloc(lots->n_sums + 1, sizeof *kinds->ledger.casks);
    kinds->ledger.events = calloc(lots->n_sums + 1, sizeof *kinds->ledger.events);
    kinds->n_casks = calloc(lots->n_sums + 1, sizeof *kinds->n_casks);
    if (!kind_of || !kinds->ledger.casks || !kinds->ledger.events || !kinds->n_casks) {
        free(kind_of);
        return STV_E_MEMORY;
    }
    for (size_t l = 0; l < lots->n_sums; l++) {
        bool is_less = lots->sums[l].n_casks + 1 == least && n_less > 0;
        n_less -= is_less;
        kind_of[l] = lots->sums[l].n_casks >= least || is_less ? n++ : SIZE_MAX;
    }
    for (size_t c = 0; c < n_casks; c++)
        if (large->kind_of_cask[c] != SIZE_MAX)
            large->kind_of_cask[c] = kind_of[large->kind_of_cask[c]];
    kinds->ledger.n_casks = kinds->ledger.n_events = n;
    free(kind_of);
    return STV_OK;
}

/* A kind's cask and fill are those of its first. */
static void name_kinds(struct large *large)
{
    const struct stv_chain *chain = large->data->chain;
    struct stv_report_kinds *kinds = &large->data->kinds;
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++) {
        size_t k = large->kind_of_cask[c];
        if (k == SIZE_MAX || kinds->n_casks[k]++ > 0)
            continue;
        kinds->ledger.casks[k] = chain->book.ledger.casks[c];
        snprintf(kinds->ledger.casks[k].id, sizeof kinds->ledger.casks[k].id, "Kind %zu", k + 1);
        kinds->ledger.events[k] = chain->book.ledger.events[stv_fill_event(chain, (int)c)];
        kinds->ledger.events[k].kind = STV_EVENT_FILL;
        kinds->ledger.events[k].cask_idx = (int)k;
        kinds->ledger.events[k].other_idx = -1;
    }
}

static enum stv_status find_kinds(struct large *large)
{
    const struct stv_chain *chain = large->data->chain;
    size_t n = chain->book.ledger.n_casks;
    struct stv_forecast lots = {0};
    int *all = malloc((n + 1) * sizeof *all);
    enum stv_status status = all ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < n && status == STV_OK; c++) {
        all[c] = (int)c;
        large->kind_of_cask[c] = SIZE_MAX;
    }
    const struct stv_forecast_ask ask = {.cask_idx = all, .n_casks = n, .by = STV_BY_LOT};
    if (status == STV_OK)
        status = stv__sum_labels(chain, &ask, all, large->kind_of_cask, &lots);
    if (status == STV_OK)
        status = choose_kinds(large, &lots);
    if (status == STV_OK)
        name_kinds(large);
    stv_forecast_free(&lots);
    free(all);
    return status;
}

static size_t count_full(const struct large *large, const struct stv_outlook *outlook, size_t kind,
                         size_t day_idx)
{
    size_t n = 0;
    for (size_t c = 0; c < outlook->n_casks; c++)
        n += large->kind_of_cask[c] == kind &&
             isfinite(stv_outlook_range(outlook, c, day_idx, STV_Q_VOLUME20_L).p50);
    return n;
}

/* One kind on one day, trial by trial: sums over its full casks; strength is that of all of them
 * together, what volumes lose in mixing left aside. */
static void take_mean(const struct large *large, const struct stv_outlook *outlook, size_t kind,
                      size_t day_idx, double *to)
{
    size_t n_draws = outlook->n_draws, n = count_full(large, outlook, kind, day_idx);
    const double *volume =
        stv_outlook_sum_draws(outlook, SUM_KINDS, kind, day_idx, STV_Q_VOLUME20_L);
    const double *lpa = stv_outlook_sum_draws(outlook, SUM_KINDS, kind, day_idx, STV_Q_LPA_L);
    const double *bottles =
        stv_outlook_sum_draws(outlook, SUM_KINDS, kind, day_idx, STV_Q_BOTTLES_ND);
    for (size_t i = 0; i < n_draws; i++) {
        const double mean[N_MEAN] = {volume[i] / (double)n, lpa[i] / volume[i], lpa[i] / (double)n,
                                     bottles[i] / (double)n};
        for (size_t q = 0; q < N_MEAN; q++)
            to[q * n_draws + i] = n > 0 ? mean[q] : (double)NAN;
    }
}

/* An outlook of chosen quantities on some days, its values to be filled in. */
static enum stv_status outlook_room(const struct stv__day_list *days, size_t n_casks,
                                    size_t n_draws, size_t n_told, struct stv_outlook *out)
{
    const enum stv_quantity *told = n_told == N_TRIED ? tried : mean_of;
    *out = (struct stv_outlook){
        .n_casks = n_casks, .n_days = days->n, .n_draws = n_draws, .n_told = n_told};
    memset(out->place_of, STV_Q_N, sizeof out->place_of);
    for (size_t q = 0; q < n_told; q++)
        out->place_of[told[q]] = (unsigned char)q;
    out->days_d = malloc((days->n + 1) * sizeof *out->days_d);
    out->in_record = calloc(days->n + 1, sizeof *out->in_record);
    out->values = malloc((n_casks * days->n * n_told * n_draws + 1) * sizeof *out->values);
    if (!out->days_d || !out->in_record || !out->values)
        return STV_E_MEMORY;
    memcpy(out->days_d, days->days_d, days->n * sizeof *out->days_d);
    return STV_OK;
}

static enum stv_status tell_kinds(struct large *large)
{
    const struct stv_outlook *outlook = &large->data->outlook;
    struct stv_report_kinds *kinds = &large->data->kinds;
    const struct stv__day_list days = {.days_d = outlook->days_d, .n = outlook->n_days};
    size_t block = N_MEAN * outlook->n_draws;
    enum stv_status status =
        outlook_room(&days, kinds->ledger.n_casks, outlook->n_draws, N_MEAN, &kinds->outlook);
    for (size_t k = 0; k < kinds->ledger.n_casks && status == STV_OK; k++)
        for (size_t d = 0; d < outlook->n_days; d++)
            take_mean(large, outlook, k, d,
                      kinds->outlook.values + (k * outlook->n_days + d) * block);
    return status;
}

/* --- windows ------------------------------------------------------------------------------- */

static int compare_windows(const void *a, const void *b)
{
    const struct stv_window *x = a, *y = b;
    return (x->cask_idx > y->cask_idx) - (x->cask_idx < y->cask_idx);
}

/* Windows of kinds, in their order; casks of no kind have none here. */
static enum stv_status kind_windows(const struct large *large, const struct stv_outlook *months)
{
    const struct stv_book *book = &large->data->chain->book;
    struct stv_bottling *out = &large->data->kinds.windows;
    const struct stv_bottling_request request = {
        .outlook = months,
        .ledger = &book->ledger,
        .rules = &book->rules,
        .least_bottles_nd = book->least_bottles_nd,
        .lot_of_cask = large->kind_of_cask,
        .n_lots = large->data->kinds.ledger.n_casks,
    };
    enum stv_status status = stv_bottling_windows(&request, out);
    size_t n = 0;
    for (size_t w = 0; w < out->n_windows && status == STV_OK; w++) {
        size_t kind = large->kind_of_cask[out->windows[w].cask_idx];
        if (kind == SIZE_MAX)
            continue;
        out->windows[n] = out->windows[w];
        out->windows[n++].cask_idx = (int)kind;
    }
    out->n_windows = n;
    if (n > 0)
        qsort(out->windows, n, sizeof *out->windows, compare_windows);
    return status;
}

static enum stv_status find_windows(struct large *large)
{
    struct stv_report_data *data = large->data;
    enum stv_status status =
        stv_bottling_months(data->chain, STV_REPORT_MONTHS_AHEAD, &data->months);
    if (status == STV_OK)
        status = stv_chain_windows(data->chain, &data->months, &data->bottling);
    if (status == STV_OK)
        status = kind_windows(large, &data->months);
    free(data->months.values);
    data->months.values = NULL;
    return status;
}

/* --- the run of all casks ------------------------------------------------------------------ */

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    const struct large *large = context;
    struct stv_outlook *trials = &large->data->trials;
    size_t n_draws = trials->n_draws;
    for (size_t d = 0; d < trials->n_days; d++) {
        size_t own = stv__day_index(large->own.days_d[cask_idx], large->own.n_days[cask_idx],
                                    trials->days_d[d]);
        double *to = trials->values + (cask_idx * trials->n_days + d) * N_TRIED * n_draws;
        for (size_t q = 0; q < N_TRIED; q++)
            memcpy(to + q * n_draws, values + (own * STV_Q_N + (size_t)tried[q]) * n_draws,
                   n_draws * sizeof *to);
    }
    struct stv_forecast_cask *cask = large->forecast_of[cask_idx];
    enum stv_status status = stv__own_days_told(&large->own, cask_idx, values, n_draws,
                                                &large->data->own_days[cask_idx]);
    if (status == STV_OK && cask)
        status = stv_forecast_take(large->data->chain, large->own.days_d[cask_idx],
                                   large->own.n_days[cask_idx], values, cask);
    return status;
}

/* The days of differences, and the cask's own. */
static enum stv_status list_days(struct large *large)
{
    struct stv_report_data *data = large->data;
    const struct stv_chain *chain = data->chain;
    struct stv__day_list common = {0};
    size_t n_seasons = STV_SEASON_DAYS(data->seasons.n);
    int64_t *seasons_d = malloc((n_seasons + 1) * sizeof *seasons_d);
    enum stv_status status = seasons_d ? stv__day_add(&common, chain->as_of_day_d) : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv__day_add(&common, stv_day_add_months(chain->as_of_day_d, STV_MONTHS));
    if (status == STV_OK)
        stv_house_seasons_days(&data->seasons, seasons_d);
    for (size_t i = 0; i < n_seasons && status == STV_OK; i++)
        status = stv__day_add(&common, seasons_d[i]);
    stv__day_seal(&common);
    for (size_t c = 0; c < chain->book.ledger.n_casks && status == STV_OK; c++) {
        struct stv__day_list *list = &large->own.lists[c];
        for (size_t i = 0; i < common.n && status == STV_OK; i++)
            status = stv__day_add(list, common.days_d[i]);
        if (status == STV_OK && large->forecast_of[c])
            status = stv_forecast_cask_days(chain, large->forecast_of[c], list);
    }
    if (status == STV_OK)
        status = stv__own_days_add_events(
            &chain->book.ledger, stv_day_add_months(chain->as_of_day_d, STV_REPORT_MONTHS_AHEAD),
            &large->own);
    stv__own_days_seal(&large->own);
    if (status == STV_OK)
        status = outlook_room(&common, chain->book.ledger.n_casks,
                              chain->run.n_draws ? chain->run.n_draws : 1, N_TRIED, &data->trials);
    free(seasons_d);
    free(common.days_d);
    return status;
}

static enum stv_status run_casks(struct large *large)
{
    struct stv_report_data *data = large->data;
    const struct stv_chain *chain = data->chain;
    int64_t half_years_d[STV_REPORT_HALF_YEARS];
    const struct stv_outlook_sums sums[2] = {
        [SUM_HOUSE] = {large->house, 1},
        [SUM_KINDS] = {large->kind_of_cask, data->kinds.ledger.n_casks}};
    const struct stv_outlook_rows rows = {large->own.days_d, large->own.n_days, take, large};
    struct stv_outlook_request request = stv_chain_request(chain);
    request.n_days = stv__days_once(half_years_d, stv_report_half_years(chain, half_years_d, 0));
    request.days_d = half_years_d;
    request.keeps_ranges_only = 1;
    request.sums = sums;
    request.n_sums = 2;
    request.rows = &rows;
    enum stv_status status = stv_outlook_run(&request, &data->outlook);
    if (status == STV_OK)
        status = tell_kinds(large);
    if (status == STV_OK)
        status = stv_forecast_end(chain, &data->outlook, &data->forecast);
    if (status == STV_OK)
        status = stv_house_seasons_run(&data->trials, &data->seasons);
    return status;
}

static enum stv_status make_room(struct large *large)
{
    size_t n = large->data->chain->book.ledger.n_casks;
    large->kind_of_cask = malloc((n + 1) * sizeof *large->kind_of_cask);
    large->house = calloc(n + 1, sizeof *large->house);
    large->forecast_of = calloc(n + 1, sizeof *large->forecast_of);
    return large->kind_of_cask && large->house && large->forecast_of
               ? stv__own_days_new(n, &large->own)
               : STV_E_MEMORY;
}

static void large_free(struct large *large)
{
    free(large->kind_of_cask);
    free(large->house);
    free(large->forecast_of);
    stv__own_days_free(&large->own);
}

enum stv_status stv_report_large_gather(struct stv_report_data *data)
{
    struct large large = {.data = data};
    int64_t end_d = stv_day_add_months(data->chain->as_of_day_d, STV_REPORT_MONTHS_AHEAD);
    enum stv_status status = make_room(&large);
    if (status == STV_OK)
        status = find_kinds(&large);
    if (status == STV_OK)
        status = find_windows(&large);
    if (status == STV_OK)
        status = stv_forecast_begin(data->chain, end_d, &data->forecast);
    for (size_t i = 0; i < data->forecast.n_casks && status == STV_OK; i++)
        large.forecast_of[data->forecast.casks[i].cask_idx] = &data->forecast.casks[i];
    if (status == STV_OK)
        status = list_days(&large);
    if (status == STV_OK)
        status = run_casks(&large);
    large_free(&large);
    return status;
}
