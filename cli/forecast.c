/* The outlook takes one list of days for all casks, yet each cask is told by its own anniversaries.
 * So the days of as many casks as fit into a memory budget are joined, run together and reduced to
 * ranges at once; the next casks follow.  No ranges are made here that the outlook does not make,
 * but for the sums over casks. */
#include "cli/forecast.h"

#include "cli/cask_state.h"
#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Room for one run's values: small beside a desk computer's memory, large enough for a house. */
/* A cask filled to the bung is a little over its size by maker and moisture: judgement. */
#define OVERFULL_FRAC 1.03
#define OUTLOOK_BYTES_MOST (256u << 20)

/* Days of one run, ascending and each once when sealed. */
struct day_list {
    int64_t *days_d;
    size_t n, capacity;
};

static enum stv_status add_day(struct day_list *list, int64_t day_d)
{
    if (list->n == list->capacity) {
        size_t capacity = list->capacity ? 2 * list->capacity : 64;
        int64_t *days_d = realloc(list->days_d, capacity * sizeof *days_d);
        if (!days_d)
            return STV_E_MEMORY;
        list->days_d = days_d;
        list->capacity = capacity;
    }
    list->days_d[list->n++] = day_d;
    return STV_OK;
}

static int compare_days(const void *a, const void *b)
{
    int64_t x = *(const int64_t *)a;
    int64_t y = *(const int64_t *)b;
    return (x > y) - (x < y);
}

static void seal(struct day_list *list)
{
    if (list->n == 0)
        return;
    qsort(list->days_d, list->n, sizeof *list->days_d, compare_days);
    size_t n = 1;
    for (size_t i = 1; i < list->n; i++)
        if (list->days_d[i] != list->days_d[n - 1])
            list->days_d[n++] = list->days_d[i];
    list->n = n;
}

/* The rows a cask gets: its fill, the anniversaries, the last day if it was said, further days. */
static enum stv_status cask_days(const struct stv_chain *chain, int fill_idx,
                                 const struct stv_forecast_days *wanted, struct day_list *out)
{
    int64_t fill_d = chain->book.ledger.events[fill_idx].day_d;
    enum stv_status status = add_day(out, fill_d);
    for (int months = wanted->months_apart; status == STV_OK; months += wanted->months_apart) {
        int64_t day_d = stv_day_add_months(fill_d, months);
        if (day_d > wanted->until_day_d)
            break;
        status = add_day(out, day_d);
    }
    if (status == STV_OK && wanted->has_until && wanted->until_day_d > fill_d)
        status = add_day(out, wanted->until_day_d);
    for (size_t i = 0; i < wanted->n_at && status == STV_OK; i++)
        if (wanted->at_d[i] > fill_d)
            status = add_day(out, wanted->at_d[i]);
    seal(out);
    return status;
}

static struct stv_forecast_cask cask_without_rows(const struct stv_chain *chain, int cask_idx,
                                                  int64_t end_day_d)
{
    struct stv_forecast_cask cask = {
        .cask_idx = cask_idx,
        .fill_idx = stv_fill_event(chain, cask_idx),
        .gauge_idx = stv_last_gauge(chain, cask_idx, chain->as_of_day_d),
        .now.day_d = chain->as_of_day_d,
        .end.day_d = end_day_d,
    };
    if (cask.gauge_idx >= 0)
        cask.at_gauge.day_d = chain->book.gauges[cask.gauge_idx].day_d;
    return cask;
}

static enum stv_status prepare_cask(const struct stv_chain *chain, int cask_idx,
                                    const struct stv_forecast_days *wanted,
                                    struct stv_forecast_cask *out)
{
    *out = cask_without_rows(chain, cask_idx, wanted->until_day_d);
    if (out->fill_idx < 0)
        return STV_OK;
    struct day_list list = {0};
    enum stv_status status = cask_days(chain, out->fill_idx, wanted, &list);
    if (status == STV_OK) {
        out->rows = calloc(list.n, sizeof *out->rows);
        status = out->rows ? STV_OK : STV_E_MEMORY;
    }
    for (size_t i = 0; i < list.n && status == STV_OK; i++)
        out->rows[out->n_rows++].day_d = list.days_d[i];
    free(list.days_d);
    return status;
}

static enum stv_status join_days(const struct stv_forecast_cask *cask, struct day_list *list)
{
    enum stv_status status = add_day(list, cask->now.day_d);
    if (status == STV_OK)
        status = add_day(list, cask->end.day_d);
    if (status == STV_OK && cask->gauge_idx >= 0)
        status = add_day(list, cask->at_gauge.day_d);
    for (size_t i = 0; i < cask->n_rows && status == STV_OK; i++)
        status = add_day(list, cask->rows[i].day_d);
    seal(list);
    return status;
}

static size_t day_index(const struct stv_outlook *outlook, int64_t day_d)
{
    const int64_t *found =
        bsearch(&day_d, outlook->days_d, outlook->n_days, sizeof *outlook->days_d, compare_days);
    return found ? (size_t)(found - outlook->days_d) : outlook->n_days;
}

static void take_row(const struct stv_outlook *outlook, int cask_idx, struct stv_forecast_row *row)
{
    size_t day_idx = day_index(outlook, row->day_d);
    bool is_known = day_idx < outlook->n_days;
    for (int q = 0; q < STV_Q_N; q++)
        row->quantity[q] =
            is_known ? stv_outlook_range(outlook, (size_t)cask_idx, day_idx, (enum stv_quantity)q)
                     : stv_range_point((double)NAN);
    row->is_in_record = is_known && outlook->in_record[day_idx];
}

static void take_cask(const struct stv_outlook *outlook, struct stv_forecast_cask *cask)
{
    for (size_t i = 0; i < cask->n_rows; i++)
        take_row(outlook, cask->cask_idx, &cask->rows[i]);
    take_row(outlook, cask->cask_idx, &cask->now);
    take_row(outlook, cask->cask_idx, &cask->end);
    if (cask->gauge_idx >= 0)
        take_row(outlook, cask->cask_idx, &cask->at_gauge);
}

/* Sum over the casks that hold spirit that day, in each trial. */
static struct stv_range sum_range(const struct stv_outlook *outlook, size_t day_idx,
                                  enum stv_quantity quantity, double *sums)
{
    memset(sums, 0, outlook->n_draws * sizeof *sums);
    for (size_t cask = 0; cask < outlook->n_casks; cask++) {
        const double *draws = stv_outlook_draws(outlook, cask, day_idx, quantity);
        for (size_t k = 0; k < outlook->n_draws; k++)
            sums[k] += isfinite(draws[k]) ? draws[k] : 0.0;
    }
    return stv_range_of(sums, outlook->n_draws);
}

/* Casks whose middle trial says what a person must look at. */
static void count_oddities(const struct stv_chain *chain, const struct stv_outlook *outlook,
                           size_t day_idx, struct stv_forecast_totals *out)
{
    out->n_weak = out->n_overfull = 0;
    for (size_t cask = 0; cask < outlook->n_casks; cask++) {
        double room_l = OVERFULL_FRAC * chain->book.ledger.casks[cask].geometry.capacity_l;
        struct stv_range abv20_frac = stv_outlook_range(outlook, cask, day_idx, STV_Q_ABV20_FRAC);
        struct stv_range volume20_l = stv_outlook_range(outlook, cask, day_idx, STV_Q_VOLUME20_L);
        out->n_weak += abv20_frac.p50 < chain->book.rules.bottling_abv20_frac;
        if (volume20_l.p50 > room_l && out->n_overfull++ == 0)
            out->overfull_idx = (int)cask;
    }
}

static enum stv_status take_totals(const struct stv_chain *chain, const struct stv_outlook *outlook,
                                   int64_t day_d, struct stv_forecast_totals *out)
{
    size_t day_idx = day_index(outlook, day_d);
    double *sums = malloc((outlook->n_draws + 1) * sizeof *sums);
    if (!sums)
        return STV_E_MEMORY;
    if (day_idx < outlook->n_days) {
        out->lpa_l = sum_range(outlook, day_idx, STV_Q_LPA_L, sums);
        out->bottles_nd = sum_range(outlook, day_idx, STV_Q_BOTTLES_ND, sums);
        out->volume20_l = sum_range(outlook, day_idx, STV_Q_VOLUME20_L, sums);
        count_oddities(chain, outlook, day_idx, out);
    }
    free(sums);
    return STV_OK;
}

static enum stv_status take_house(const struct stv_chain *chain, const struct stv_outlook *outlook,
                                  struct stv_forecast *forecast)
{
    forecast->balance_residual_frac =
        fmax(forecast->balance_residual_frac, outlook->balance_residual_frac);
    forecast->n_strength_held += outlook->n_strength_held;
    forecast->held_frac = fmax(forecast->held_frac, outlook->held_frac);
    enum stv_status status = take_totals(chain, outlook, chain->as_of_day_d, &forecast->now);
    return status == STV_OK ? take_totals(chain, outlook, forecast->end_day_d, &forecast->end)
                            : status;
}

/* Runs casks from `first` on as long as their days fit; *out_next is the first one left. */
static enum stv_status run_some(const struct stv_chain *chain, struct stv_forecast *forecast,
                                size_t first, size_t *out_next)
{
    size_t n_draws = chain->run.n_draws ? chain->run.n_draws : 1;
    size_t bytes_a_day = chain->book.ledger.n_casks * STV_Q_N * n_draws * sizeof(double);
    struct day_list list = {0};
    enum stv_status status = STV_OK;
    size_t next = first;
    while (next < forecast->n_casks && status == STV_OK &&
           (next == first || list.n * bytes_a_day < OUTLOOK_BYTES_MOST)) {
        if (forecast->casks[next].fill_idx >= 0)
            status = join_days(&forecast->casks[next], &list);
        next++;
    }
    *out_next = next;
    struct stv_outlook outlook = {0};
    if (status == STV_OK && list.n > 0) {
        status = stv_chain_outlook(chain, list.days_d, list.n, &outlook);
        for (size_t i = first; i < next && status == STV_OK; i++)
            if (forecast->casks[i].fill_idx >= 0)
                take_cask(&outlook, &forecast->casks[i]);
        if (status == STV_OK)
            status = take_house(chain, &outlook, forecast);
        stv_outlook_free(&outlook);
    }
    free(list.days_d);
    return status;
}

enum stv_status stv_forecast_make(const struct stv_chain *chain, const int *cask_idx, size_t n,
                                  const struct stv_forecast_days *days, struct stv_forecast *out)
{
    *out = (struct stv_forecast){.end_day_d = days->until_day_d};
    stv_count_casks(chain, &out->n_full, &out->n_empty);
    out->casks = calloc(n ? n : 1, sizeof *out->casks);
    if (!out->casks)
        return STV_E_MEMORY;
    enum stv_status status = STV_OK;
    for (; out->n_casks < n && status == STV_OK; out->n_casks++)
        status = prepare_cask(chain, cask_idx[out->n_casks], days, &out->casks[out->n_casks]);
    for (size_t next = 0; next < n && status == STV_OK;)
        status = run_some(chain, out, next, &next);
    if (status != STV_OK)
        stv_forecast_free(out);
    return status;
}

enum stv_status stv_forecast_of_outlook(const struct stv_chain *chain,
                                        const struct stv_outlook *outlook, int64_t end_day_d,
                                        struct stv_forecast *out)
{
    *out = (struct stv_forecast){.end_day_d = end_day_d};
    stv_count_casks(chain, &out->n_full, &out->n_empty);
    out->casks = calloc(out->n_full ? out->n_full : 1, sizeof *out->casks);
    if (!out->casks)
        return STV_E_MEMORY;
    for (size_t i = 0; i < chain->book.ledger.n_casks; i++) {
        struct stv_forecast_cask cask = cask_without_rows(chain, (int)i, end_day_d);
        if (cask.fill_idx < 0)
            continue;
        take_cask(outlook, &cask);
        out->casks[out->n_casks++] = cask;
    }
    enum stv_status status = take_house(chain, outlook, out);
    if (status != STV_OK)
        stv_forecast_free(out);
    return status;
}

void stv_forecast_free(struct stv_forecast *forecast)
{
    for (size_t i = 0; i < forecast->n_casks; i++)
        free(forecast->casks[i].rows);
    free(forecast->casks);
    *forecast = (struct stv_forecast){0};
}
