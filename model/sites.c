/* A year under each sky: the cask is filled afresh every 1 January, soaked and full, and followed
 * for that year.  The same draws run at every site, and years are paired by the calendar, so the
 * differences are the sites' and not the weather's or the wood's. */
#include "model/sites.h"

#include "model/sites_year.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const char *stv_site_metric_name(enum stv_site_metric metric)
{
    static const char *const names[STV_SITE_METRIC_N] = {
        "litres lost", "pure alcohol lost", "change of strength", "wood", "still fruit left",
    };
    return metric < STV_SITE_METRIC_N ? names[metric] : "unknown";
}

static void store_year(const struct stv_sites_request *request, const struct stv_outlook *outlook,
                       size_t year_idx, struct stv_site_years *out)
{
    const struct stv_cask *cask = request->cask;
    double fill_l = stv__fresh_fill_l(cask);
    double fill_lpa_l = fill_l * request->fill_abv20_frac;
    const double *volume = stv_outlook_draws(outlook, year_idx, year_idx, STV_Q_VOLUME20_L);
    const double *abv = stv_outlook_draws(outlook, year_idx, year_idx, STV_Q_ABV20_FRAC);
    const double *lpa = stv_outlook_draws(outlook, year_idx, year_idx, STV_Q_LPA_L);
    const double *oak = stv_outlook_draws(outlook, year_idx, year_idx, STV_Q_OAK_MG_PER_LPA_L);
    const double *fruit = stv_outlook_draws(outlook, year_idx, year_idx, STV_Q_STILL_FRUIT_ND);
    for (size_t d = 0; d < outlook->n_draws; d++) {
        size_t at = year_idx * outlook->n_draws + d;
        out->values[STV_SITE_VOLUME_LOSS_FRAC][at] = 1.0 - volume[d] / fill_l;
        out->values[STV_SITE_LPA_LOSS_FRAC][at] = 1.0 - lpa[d] / fill_lpa_l;
        out->values[STV_SITE_DRIFT_FRAC][at] = abv[d] - request->fill_abv20_frac;
        out->values[STV_SITE_WOOD_ND][at] = oak[d];
        out->values[STV_SITE_FRUIT_ND][at] = fruit[d];
    }
}

static enum stv_status allocate_site(size_t n_years, size_t n_draws, struct stv_site_years *out)
{
    out->n_years = n_years;
    out->years = calloc(n_years, sizeof *out->years);
    int is_short = !out->years;
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++) {
        out->year_median[m] = calloc(n_years, sizeof(double));
        out->values[m] = calloc(n_years * n_draws, sizeof(double));
        is_short |= !out->year_median[m] || !out->values[m];
    }
    return is_short ? STV_E_MEMORY : STV_OK;
}

/* The reference cask's phenolics per litre of alcohol, draw by draw, from a year in which the cask
 * has not dried up. */
static void take_reference(const struct stv_outlook *outlook, double *out_mg)
{
    for (size_t d = 0; d < outlook->n_draws; d++) {
        out_mg[d] = NAN;
        for (size_t y = 0; y < outlook->n_days && isnan(out_mg[d]); y++)
            out_mg[d] = stv_outlook_draws(outlook, y, y, STV_Q_OAK_MG_PER_LPA_L)[d] /
                        stv_outlook_draws(outlook, y, y, STV_Q_WOOD_INDEX_ND)[d];
    }
}

static enum stv_status run_years(const struct stv_sites_request *request, size_t site_idx,
                                 int32_t first_year, double *reference_mg,
                                 struct stv_site_years *out)
{
    /* Climate tables are the site's alone; it is other runs of the program that want them. */
    struct stv_kept_tables *kept = request->store ? stv_kept_tables_new(request->store) : NULL;
    const struct stv_site_input *site = &request->sites[site_idx];
    struct stv_position_set set = {site->position, 1, &site->exposed_frac, 0, 0};
    struct stv_house_rules rules = request->rules ? *request->rules : stv_house_rules_default();
    struct stv__fresh_fills fills = {&set,
                                     request->cask,
                                     request->fill_abv20_frac,
                                     &rules,
                                     request->base,
                                     request->options,
                                     request->numbers,
                                     1,
                                     NULL,
                                     kept};
    struct stv_outlook outlook;
    enum stv_status status = stv__fresh_fills_run(&fills, first_year, out->n_years, &outlook);
    stv_kept_tables_free(kept);
    if (status != STV_OK)
        return status;
    if (site_idx == 0)
        take_reference(&outlook, reference_mg);
    for (size_t y = 0; y < out->n_years; y++)
        store_year(request, &outlook, y, out);
    for (size_t i = 0; i < out->n_years * outlook.n_draws; i++)
        out->values[STV_SITE_WOOD_ND][i] /= reference_mg[i % outlook.n_draws];
    stv_outlook_free(&outlook);
    return STV_OK;
}

static enum stv_status run_site(const struct stv_sites_request *request, size_t site_idx,
                                size_t n_draws, double *reference_mg, struct stv_site_years *out)
{
    const struct stv_site_input *site = &request->sites[site_idx];
    memcpy(out->name, site->name, sizeof out->name);
    int32_t first_year;
    size_t n_years = stv__whole_years(&site->position->grid, &first_year);
    if (n_years == 0)
        return STV_E_NO_DATA;
    enum stv_status status = allocate_site(n_years, n_draws, out);
    if (status != STV_OK)
        return status;
    /* Every typical year is year 0, so that it meets other typical years and no dated one. */
    for (size_t y = 0; y < n_years; y++)
        out->years[y] = site->position->grid.is_typical ? 0 : first_year + (int32_t)y;
    return run_years(request, site_idx, first_year, reference_mg, out);
}

static void summarise(struct stv_site_years *site, size_t n_draws, double *room)
{
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++) {
        for (size_t y = 0; y < site->n_years; y++) {
            memcpy(room, site->values[m] + y * n_draws, n_draws * sizeof *room);
            site->year_median[m][y] = stv_range_of(room, n_draws).p50;
        }
        memcpy(room, site->values[m], site->n_years * n_draws * sizeof *room);
        site->metric[m] = stv_range_of(room, site->n_years * n_draws);
    }
}

/* Differences of a metric in the years that both have, a minus b; their number. */
static size_t differences(const struct stv_sites_result *result, const struct stv_site_pair *pair,
                          size_t metric, double *out)
{
    const struct stv_site_years *a = &result->sites[pair->a_idx];
    const struct stv_site_years *b = &result->sites[pair->b_idx];
    size_t n_draws = result->n_draws, n = 0;
    for (size_t i = 0; i < a->n_years; i++)
        for (size_t j = 0; j < b->n_years; j++) {
            if (a->years[i] != b->years[j])
                continue;
            for (size_t d = 0; d < n_draws; d++)
                out[n * n_draws + d] =
                    a->values[metric][i * n_draws + d] - b->values[metric][j * n_draws + d];
            n++;
        }
    return n;
}

static enum stv_status judge_pair(const struct stv_sites_result *result, double *room,
                                  struct stv_site_pair *pair)
{
    enum stv_status status = STV_OK;
    for (size_t m = 0; m < STV_SITE_METRIC_N && status == STV_OK; m++) {
        struct stv_paired paired = {room, 0, result->n_draws, 1, result->margin[m]};
        paired.n_years = pair->n_common_years = differences(result, pair, m, room);
        status = stv_judge_pair(&paired, &pair->metric[m]);
    }
    return status;
}

static enum stv_status judge_all(struct stv_sites_result *result, double *room)
{
    struct stv_judged **family = malloc((result->n_sites * result->n_sites + 1) * sizeof *family);
    enum stv_status status = family ? STV_OK : STV_E_MEMORY;
    for (size_t a = 0; a < result->n_sites; a++)
        for (size_t b = a + 1; b < result->n_sites && status == STV_OK; b++) {
            struct stv_site_pair *pair = &result->pairs[result->n_pairs++];
            pair->a_idx = a;
            pair->b_idx = b;
            status = judge_pair(result, room, pair);
        }
    for (size_t m = 0; m < STV_SITE_METRIC_N && status == STV_OK; m++) {
        for (size_t p = 0; p < result->n_pairs; p++)
            family[p] = &result->pairs[p].metric[m];
        status = stv_judge_family(family, result->n_pairs, result->margin[m]);
    }
    free(family);
    return status;
}

static enum stv_status compare_all(struct stv_sites_result *result)
{
    size_t most = 1;
    for (size_t s = 0; s < result->n_sites; s++)
        if (result->sites[s].n_years * result->n_draws > most)
            most = result->sites[s].n_years * result->n_draws;
    double *room = malloc(most * sizeof *room);
    result->pairs = calloc(result->n_sites * result->n_sites, sizeof *result->pairs);
    if (!room || !result->pairs) {
        free(room);
        return STV_E_MEMORY;
    }
    for (size_t s = 0; s < result->n_sites; s++)
        summarise(&result->sites[s], result->n_draws, room);
    enum stv_status status = judge_all(result, room);
    free(room);
    return status;
}

enum stv_status stv_sites_compare(const struct stv_sites_request *request,
                                  struct stv_sites_result *out)
{
    *out = (struct stv_sites_result){
        .n_sites = request->n_sites,
        .n_draws = request->options.n_draws ? request->options.n_draws : 1,
        .capacity_l = request->cask->geometry.capacity_l,
        .fill_abv20_frac = request->fill_abv20_frac,
    };
    memcpy(out->margin, request->margin, sizeof out->margin);
    out->sites = calloc(request->n_sites + 1, sizeof *out->sites);
    double *reference_mg = malloc(out->n_draws * sizeof *reference_mg);
    enum stv_status status = out->sites && reference_mg ? STV_OK : STV_E_MEMORY;
    for (size_t s = 0; s < request->n_sites && status == STV_OK; s++)
        status = run_site(request, s, out->n_draws, reference_mg, &out->sites[s]);
    free(reference_mg);
    if (status == STV_OK && request->n_sites > 0)
        status = compare_all(out);
    if (status != STV_OK)
        stv_sites_result_free(out);
    return status;
}

void stv_sites_result_free(struct stv_sites_result *result)
{
    for (size_t s = 0; result->sites && s < result->n_sites; s++) {
        free(result->sites[s].years);
        for (size_t m = 0; m < STV_SITE_METRIC_N; m++) {
            free(result->sites[s].year_median[m]);
            free(result->sites[s].values[m]);
        }
    }
    free(result->sites);
    free(result->pairs);
    *result = (struct stv_sites_result){0};
}
