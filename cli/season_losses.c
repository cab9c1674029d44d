/* Seasons of each store laid on the calendar, and its casks laid on their tiers. */
#include "cli/season_losses.h"

#include <math.h>
#include <stdlib.h>

#define YEAR_MOST_D 366

/* Last day on or before one that is a given day of the 365-day year. */
static int64_t day_before(int64_t day_d, int doy)
{
    for (int i = 0; i < YEAR_MOST_D && stv_season_day(day_d) != doy; i++)
        day_d--;
    return day_d;
}

/* The season that is over by a day: from the end of the day before it to the end of its last. */
static void find_last(const struct stv_season_span *span, int64_t by_day_d, int64_t *out_from_d,
                      int64_t *out_to_d)
{
    *out_to_d = day_before(by_day_d, span->to_doy);
    *out_from_d = day_before(*out_to_d, span->from_doy) - 1;
}

/* Casks that are there on the first day, by tier, and that nothing takes away until the last. */
static enum stv_status label_casks(const struct stv_chain *chain, int warehouse_idx,
                                   int64_t from_day_d, int64_t to_day_d, size_t *out_label)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct stv_lineage *lineage = NULL;
    enum stv_status status = stv_lineage_new(ledger, from_day_d, &lineage);
    for (size_t c = 0; c < ledger->n_casks && status == STV_OK; c++) {
        struct stv_place place = stv_lineage_place(lineage, (int)c);
        bool is_here = stv_lineage_spirit(lineage, (int)c).is_there &&
                       place.warehouse_idx == warehouse_idx && place.tier_idx >= 0;
        out_label[c] = is_here ? (size_t)place.tier_idx : SIZE_MAX;
    }
    stv_lineage_free(lineage);
    for (size_t i = 0; i < ledger->n_events && status == STV_OK; i++) {
        const struct stv_event *event = &ledger->events[i];
        bool is_change = event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_MOVE ||
                         event->kind == STV_EVENT_TRANSFER || event->kind == STV_EVENT_EMPTY;
        if (!is_change || event->day_d <= from_day_d || event->day_d > to_day_d)
            continue;
        out_label[event->cask_idx] = SIZE_MAX;
        if (event->other_idx >= 0)
            out_label[event->other_idx] = SIZE_MAX;
    }
    return status;
}

/* One store, and one of its seasons. */
struct season {
    const struct stv_chain *chain;
    const struct stv_season_span *span;
    int warehouse_idx, season;
};

/* Days and casks of the last such season that is over by a day; true when any cask counts. */
static enum stv_status lay(const struct season *season, int64_t by_day_d,
                           struct stv_house_seasons *seasons, bool *out_has_casks)
{
    struct stv_season_losses *store = &seasons->stores[season->warehouse_idx];
    size_t *label = seasons->label_of_cask[season->warehouse_idx][season->season];
    int64_t *from_d = &store->from_day_d[season->season], *to_d = &store->to_day_d[season->season];
    find_last(season->span, by_day_d, from_d, to_d);
    *out_has_casks = false;
    enum stv_status status =
        label_casks(season->chain, season->warehouse_idx, *from_d, *to_d, label);
    for (size_t c = 0; c < season->chain->book.ledger.n_casks && status == STV_OK; c++) {
        if (label[c] < store->n_tiers)
            *out_has_casks = true;
        else
            label[c] = SIZE_MAX;
    }
    return status;
}

/* Last day of the first such season that begins after a day. */
static int64_t coming_end(int64_t day_d, const struct stv_season_span *span)
{
    int64_t to_d = day_before(day_d + YEAR_MOST_D, span->from_doy);
    while (stv_season_day(to_d) != span->to_doy)
        to_d++;
    return to_d;
}

/* Sizes of the casks that count in either season. */
static void find_sizes(const struct stv_ledger *ledger, size_t *const *labels,
                       struct stv_season_losses *store)
{
    store->least_l = store->most_l = (double)NAN;
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        for (size_t c = 0; c < ledger->n_casks; c++) {
            if (labels[s][c] == SIZE_MAX)
                continue;
            store->least_l = fmin(store->least_l, ledger->casks[c].geometry.capacity_l);
            store->most_l = fmax(store->most_l, ledger->casks[c].geometry.capacity_l);
        }
}

static enum stv_status find_store(const struct stv_chain *chain,
                                  const struct stv_warehouse_climate *climate, int warehouse_idx,
                                  struct stv_house_seasons *seasons)
{
    struct stv_season_losses *store = &seasons->stores[warehouse_idx];
    int64_t as_of_d = chain->as_of_day_d;
    bool has_all = true, has_any;
    enum stv_status status = STV_OK;
    store->name = climate->name;
    store->n_tiers = climate->n_tiers;
    for (int s = 0; s < STV_LOSS_SEASONS && status == STV_OK; s++) {
        size_t **label = &seasons->label_of_cask[warehouse_idx][s];
        store->tiers[s] = calloc(climate->n_tiers + 1, sizeof *store->tiers[s]);
        *label = malloc((chain->book.ledger.n_casks + 1) * sizeof **label);
        if (!store->tiers[s] || !*label)
            return STV_E_MEMORY;
        const struct season season = {chain, &climate->seasons[s], warehouse_idx, s};
        status = lay(&season, as_of_d, seasons, &has_any);
        has_all = has_all && has_any;
    }
    store->is_coming = !has_all;
    for (int s = 0; s < STV_LOSS_SEASONS && status == STV_OK && store->is_coming; s++) {
        const struct season season = {chain, &climate->seasons[s], warehouse_idx, s};
        status = lay(&season, coming_end(as_of_d, season.span), seasons, &has_any);
    }
    if (status == STV_OK)
        find_sizes(&chain->book.ledger, seasons->label_of_cask[warehouse_idx], store);
    return status;
}

enum stv_status stv_house_seasons_find(const struct stv_chain *chain,
                                       const struct stv_climate_result *climate,
                                       struct stv_house_seasons *out)
{
    size_t n = climate->n_warehouses;
    *out = (struct stv_house_seasons){calloc(n + 1, sizeof *out->stores),
                                      calloc(n + 1, sizeof *out->label_of_cask), n};
    enum stv_status status = out->stores && out->label_of_cask ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < n && status == STV_OK; w++)
        status = find_store(chain, &climate->warehouses[w], (int)w, out);
    return status;
}

void stv_house_seasons_days(const struct stv_house_seasons *seasons, int64_t *out_days_d)
{
    for (size_t w = 0; w < seasons->n; w++)
        for (int s = 0; s < STV_LOSS_SEASONS; s++) {
            *out_days_d++ = seasons->stores[w].from_day_d[s];
            *out_days_d++ = seasons->stores[w].to_day_d[s];
        }
}

static size_t day_idx(const struct stv_outlook *outlook, int64_t day_d)
{
    size_t i = 0;
    while (i < outlook->n_days && outlook->days_d[i] != day_d)
        i++;
    return i;
}

enum stv_status stv_house_seasons_run(const struct stv_outlook *outlook,
                                      struct stv_house_seasons *seasons)
{
    enum stv_status status = STV_OK;
    for (size_t w = 0; w < seasons->n; w++)
        for (int s = 0; s < STV_LOSS_SEASONS && status == STV_OK; s++) {
            struct stv_season_losses *store = &seasons->stores[w];
            status =
                stv_outlook_losses(outlook, day_idx(outlook, store->from_day_d[s]),
                                   day_idx(outlook, store->to_day_d[s]),
                                   seasons->label_of_cask[w][s], store->n_tiers, store->tiers[s]);
        }
    return status;
}

void stv_house_seasons_free(struct stv_house_seasons *seasons)
{
    for (size_t w = 0; w < seasons->n; w++)
        for (int s = 0; s < STV_LOSS_SEASONS; s++) {
            if (seasons->stores)
                free(seasons->stores[w].tiers[s]);
            if (seasons->label_of_cask)
                free(seasons->label_of_cask[w][s]);
        }
    free(seasons->stores);
    free(seasons->label_of_cask);
    *seasons = (struct stv_house_seasons){0};
}
