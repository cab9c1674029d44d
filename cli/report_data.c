/* Of a house that is not large one outlook serves the fan charts, the totals and the comparison
 * with gauges: half-years around the day of the answer, and the days on which casks were filled and
 * last gauged. */
#include "cli/report_data.h"

#include "cli/bottling.h"
#include "cli/cask_state.h"
#include "cli/day_list.h"
#include "cli/own_days.h"
#include "cli/report_large.h"
#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static size_t add_cask_days(const struct stv_chain *chain, int64_t *days_d, size_t n)
{
    for (size_t i = 0; i < chain->book.ledger.n_casks; i++) {
        int fill_idx = stv_fill_event(chain, (int)i);
        int gauge_idx = stv_last_gauge(chain, (int)i);
        if (fill_idx >= 0)
            days_d[n++] = chain->book.ledger.events[fill_idx].day_d;
        if (fill_idx >= 0 && gauge_idx >= 0)
            days_d[n++] = chain->book.gauges[gauge_idx].day_d;
    }
    return n;
}

/* Ascending days for the charts, each once; malloc'd. */
static enum stv_status chart_days(const struct stv_chain *chain, int64_t **out, size_t *out_n)
{
    size_t room = 2 * chain->book.ledger.n_casks + STV_REPORT_HALF_YEARS;
    int64_t *days_d = malloc(room * sizeof *days_d);
    if (!days_d)
        return STV_E_MEMORY;
    size_t n = stv_report_half_years(chain, days_d, add_cask_days(chain, days_d, 0));
    *out = days_d;
    *out_n = stv__days_once(days_d, n);
    return STV_OK;
}

struct few {
    struct stv_report_data *data;
    struct stv__own_days own;
};

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    const struct few *few = context;
    size_t n_draws = few->data->chain->run.n_draws;
    return stv__own_days_told(&few->own, cask_idx, values, n_draws > 0 ? n_draws : 1,
                              &few->data->own_days[cask_idx]);
}

static enum stv_status list_own_days(struct few *few)
{
    const struct stv_chain *chain = few->data->chain;
    const struct stv_ledger *ledger = &chain->book.ledger;
    int64_t end_d = stv_day_add_months(chain->as_of_day_d, STV_REPORT_MONTHS_AHEAD);
    enum stv_status status = stv__own_days_new(ledger->n_casks, &few->own);
    if (status == STV_OK)
        status = stv__own_days_add_events(ledger, end_d, &few->own);
    if (status == STV_OK)
        stv__own_days_seal(&few->own);
    return status;
}

/* The outlook of all days, the casks' own told beside it. */
static enum stv_status run_all(struct stv_report_data *data, const int64_t *days_d, size_t n_days,
                               struct stv_outlook *out)
{
    struct few few = {.data = data};
    enum stv_status status = list_own_days(&few);
    const struct stv_outlook_rows rows = {few.own.days_d, few.own.n_days, take, &few};
    if (status == STV_OK)
        status = stv_chain_outlook(data->chain, days_d, n_days, &rows, out);
    stv__own_days_free(&few.own);
    return status;
}

/* One run of the casks for the charts' days, the seasons and the guards, then told apart. */
static enum stv_status run_casks(struct stv_report_data *data, const int64_t *days_d, size_t n_days)
{
    size_t n = n_days + STV_SEASON_DAYS(data->seasons.n);
    struct stv_outlook all = {0};
    int64_t guards_d[STV_GUARD_DAYS], *all_d = malloc((n + STV_GUARD_DAYS) * sizeof *all_d);
    if (!all_d)
        return STV_E_MEMORY;
    memcpy(all_d, days_d, n_days * sizeof *all_d);
    stv_house_seasons_days(&data->seasons, all_d + n_days);
    stv_guard_days(data->chain, guards_d);
    memcpy(all_d + n, guards_d, sizeof guards_d);
    n = stv__days_once(all_d, n + STV_GUARD_DAYS);
    enum stv_status status = run_all(data, all_d, n, &all);
    if (status == STV_OK)
        status = stv_outlook_pick(&all, days_d, n_days, &data->outlook);
    if (status == STV_OK)
        status = stv_outlook_pick(&all, guards_d, STV_GUARD_DAYS, &data->half_years);
    if (status == STV_OK)
        status = stv_house_seasons_run(&all, &data->seasons);
    stv_outlook_free(&all);
    free(all_d);
    return status;
}

/* All casks of a house that is not large: one outlook of all values. */
static enum stv_status gather_few(struct stv_report_data *data)
{
    const struct stv_chain *chain = data->chain;
    int64_t *days_d = NULL;
    size_t n_days = 0;
    enum stv_status status = chart_days(chain, &days_d, &n_days);
    if (status == STV_OK)
        status = run_casks(data, days_d, n_days);
    free(days_d);
    if (status == STV_OK)
        status = stv_forecast_of_outlook(
            chain, &data->outlook, stv_day_add_months(chain->as_of_day_d, STV_REPORT_MONTHS_AHEAD),
            &data->forecast);
    return status;
}

enum stv_status stv_report_find_windows(struct stv_report_data *data)
{
    if (!data->has_casks || data->is_large)
        return STV_OK;
    enum stv_status status =
        stv_bottling_months(data->chain, STV_REPORT_MONTHS_AHEAD, &data->months);
    if (status == STV_OK)
        status = stv_chain_windows(data->chain, &data->months, &data->bottling);
    return status;
}

enum stv_status stv_report_take_windows(struct stv_report_data *data)
{
    if (!data->answers.has_release || data->is_large)
        return STV_OK;
    const struct stv_bottling_answer *release = &data->answers.release;
    size_t n = release->windows.n_windows, n_days = release->ask.n_months + 1;
    data->bottling.windows = malloc((n + 1) * sizeof *data->bottling.windows);
    data->months.days_d = malloc(n_days * sizeof *data->months.days_d);
    if (!data->bottling.windows || !data->months.days_d)
        return STV_E_MEMORY;
    memcpy(data->bottling.windows, release->windows.windows, n * sizeof *data->bottling.windows);
    memcpy(data->months.days_d, release->months_d, n_days * sizeof *data->months.days_d);
    data->bottling.n_windows = n;
    data->months.n_days = n_days;
    return STV_OK;
}

static enum stv_status gather_casks(struct stv_report_data *data)
{
    const struct stv_chain *chain = data->chain;
    size_t n_full, n_empty;
    stv_count_casks(chain, &n_full, &n_empty);
    data->has_casks = n_full > 0;
    data->is_large = n_full > STV_REPORT_LARGE_CASKS;
    if (!data->has_casks)
        return STV_OK;
    data->own_days = calloc(chain->book.ledger.n_casks + 1, sizeof *data->own_days);
    if (!data->own_days)
        return STV_E_MEMORY;
    enum stv_status status = stv_house_seasons_find(chain, &data->climate, &data->seasons);
    if (status == STV_OK)
        status = data->is_large ? stv_report_large_gather(data) : gather_few(data);
    if (status == STV_OK)
        status = stv_told_figures_find(chain, &data->forecast, &data->told_figures);
    if (status == STV_OK)
        status = stv_vapour_clocks(chain, data->is_large ? &data->trials : &data->outlook,
                                   &data->vapour);
    return status;
}

/* Days of each warehouse; of one without a known day they stay empty. */
static enum stv_status gather_days(struct stv_report_data *data)
{
    size_t n = data->chain->book.n_warehouses;
    data->days = calloc(n + 1, sizeof *data->days);
    enum stv_status status = data->days ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < n && status == STV_OK; w++) {
        status = stv_chain_days(data->chain, w, &data->days[w]);
        status = status == STV_E_NO_DATA ? STV_OK : status;
    }
    return status;
}

static const char *litres_typed_as(const struct stv_gauge *gauge)
{
    switch (gauge->volume_from) {
    case STV_VOLUME_LITRES:
        return "litres";
    case STV_VOLUME_DIP:
        return "dip";
    case STV_VOLUME_DRY_DIP:
        return "dry dip";
    case STV_VOLUME_WEIGHT:
        return isfinite(gauge->gross_kg) ? "gross, tare" : "net weight";
    case STV_VOLUME_NONE:
        break;
    }
    return "";
}

static const char *strength_typed_as(const struct stv_gauge *gauge)
{
    if (!isfinite(gauge->abv20_frac))
        return "";
    return gauge->is_reading ? "reading, temperature" : "true strength";
}

static enum stv_status gather_texts(struct stv_report_data *data)
{
    const struct stv_book *book = &data->chain->book;
    size_t n = book->ledger.n_casks;
    data->places = calloc(n + 1, sizeof *data->places);
    data->place_texts = calloc(n + 1, sizeof *data->place_texts);
    data->gauges = calloc(book->n_gauges + 1, sizeof *data->gauges);
    data->set_aside = calloc(book->n_gauges + 1, sizeof *data->set_aside);
    if (!data->places || !data->place_texts || !data->gauges || !data->set_aside)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++) {
        struct stv_place place = stv_lineage_place(data->chain->lineage, (int)i);
        data->places[i] = stv_words_place_of(data->chain, &place);
        data->place_texts[i] = data->places[i].text;
    }
    for (size_t i = 0; i < book->n_gauges; i++) {
        const struct stv_gauge *gauge = &book->gauges[i];
        struct stv_report_gauge *told = gauge->is_suspect ? &data->set_aside[data->n_set_aside++]
                                                          : &data->gauges[data->n_gauges++];
        *told = (struct stv_report_gauge){.cask_idx = gauge->cask_idx,
                                          .day_d = gauge->day_d,
                                          .volume20_l = gauge->volume20_l,
                                          .abv20_frac = gauge->abv20_frac,
                                          .volume_sd_l = gauge->volume_sd_l,
                                          .abv_sd_frac = gauge->abv_sd_frac,
                                          .litres_of = litres_typed_as(gauge),
                                          .strength_of = strength_typed_as(gauge)};
    }
    return STV_OK;
}

static enum stv_status gather_sites(struct stv_report_data *data, const char *study_path,
                                    struct stv_problems *problems)
{
    data->study = calloc(1, sizeof *data->study);
    if (!data->study)
        return STV_E_MEMORY;
    const struct stv_chain *chain = data->chain;
    const struct stv_sites_terms terms = {chain->run,
                                          chain->cache.path[0] ? &chain->cache.store : NULL};
    enum stv_status status = stv_study_read(study_path, problems, data->study);
    if (status == STV_OK)
        status = stv_chain_sites(data->study, &terms, problems, &data->sites, &data->site_climates,
                                 &data->changes);
    data->has_sites = status == STV_OK;
    return status;
}

/* What each cask holds by the ledger alone. */
static enum stv_status gather_fills(struct stv_report_data *data)
{
    size_t n = data->chain->book.ledger.n_casks;
    data->fill_idx = malloc((n + 1) * sizeof *data->fill_idx);
    if (!data->fill_idx)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        data->fill_idx[i] = stv_fill_event(data->chain, (int)i);
    return STV_OK;
}

static enum stv_status gather_forecasts(struct stv_report_data *data,
                                        const struct stv_report_ask *ask,
                                        struct stv_problems *problems)
{
    enum stv_status status = stv_tier_paths(data->chain, &data->climate, &data->paths);
    if (status == STV_OK)
        status = gather_casks(data);
    if (status == STV_OK && ask->study_path)
        status = gather_sites(data, ask->study_path, problems);
    bool is_left_out = ask->keep_going && problems->n_by_severity[STV_REFUSED] > 0;
    return is_left_out && status == STV_E_PARSE ? STV_OK : status;
}

enum stv_status stv_report_data_make(const struct stv_chain *chain,
                                     const struct stv_report_ask *ask,
                                     struct stv_problems *problems, struct stv_report_data *out)
{
    *out = (struct stv_report_data){.chain = chain};
    enum stv_status status = stv_chain_climate_result(chain, &out->climate);
    if (status == STV_OK)
        status = gather_days(out);
    if (status == STV_OK)
        status = gather_texts(out);
    if (status == STV_OK)
        status = ask->without_forecasts ? gather_fills(out) : gather_forecasts(out, ask, problems);
    if (status != STV_OK)
        stv_report_data_free(out);
    return status;
}

void stv_report_data_free(struct stv_report_data *data)
{
    stv_house_seasons_free(&data->seasons);
    stv_tier_paths_free(data->paths, data->climate.n_warehouses);
    for (size_t w = 0; data->days && w < data->climate.n_warehouses; w++)
        stv_climate_days_free(&data->days[w]);
    free(data->days);
    stv_climate_result_free(&data->climate);
    stv_climate_result_free(&data->site_climates);
    stv_sites_result_free(&data->sites);
    stv_chain_changes_free(data->study, data->changes);
    free(data->study);
    stv_forecast_free(&data->forecast);
    stv_report_crew_free(&data->crew);
    stv_report_answers_free(&data->answers);
    stv_bottling_free(&data->bottling);
    stv_outlook_free(&data->months);
    stv_outlook_free(&data->outlook);
    stv_outlook_free(&data->trials);
    stv_outlook_free(&data->half_years);
    for (size_t c = 0; data->own_days && c < data->chain->book.ledger.n_casks; c++)
        free(data->own_days[c].days);
    free(data->own_days);
    stv_ledger_free(&data->kinds.ledger);
    stv_outlook_free(&data->kinds.outlook);
    stv_bottling_free(&data->kinds.windows);
    free(data->kinds.n_casks);
    free(data->told_figures.figures);
    free(data->vapour);
    free(data->places);
    free(data->place_texts);
    free(data->gauges);
    free(data->set_aside);
    free(data->fill_idx);
    *data = (struct stv_report_data){0};
}
