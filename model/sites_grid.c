/* Arms, pairs and the split of a study from its finished cells. */
#include "model/sites_grid.h"

#include "model/sites_levels.h"
#include "model/sites_split.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static const struct stv_study_cell *cell_of(const struct stv_grid_request *request,
                                            const struct stv_arm *arm)
{
    const struct stv_grid_sizes *sizes = &request->sizes;
    return &request
                ->cells[(arm->site_idx * sizes->n_buildings + arm->building_idx) * sizes->n_casks +
                        arm->cask_idx];
}

static size_t n_cells_of(const struct stv_grid_sizes *sizes)
{
    return sizes->n_sites * sizes->n_buildings * sizes->n_casks;
}

static bool are_alike(const struct stv_grid_request *request)
{
    for (size_t c = 0; c < n_cells_of(&request->sizes); c++)
        if (request->cells[c].n_tiers != request->sizes.n_tiers ||
            request->cells[c].n_draws != request->cells[0].n_draws ||
            request->cells[c].follow_y != request->cells[0].follow_y)
            return false;
    return true;
}

/* Wood against the study's reference, and the months in which the cask could be bottled. */
static void relate(const struct stv_grid_request *request, struct stv_study_cell *cell)
{
    const double *reference_mg = request->cells[0].reference_oak_mg;
    size_t n_months = stv_cell_n_months(cell), n = cell->n_draws;
    for (size_t t = 0; t < cell->n_tiers; t++)
        for (size_t y = 0; y < cell->n_years; y++) {
            size_t at = (t * cell->n_years + y) * n_months * n;
            double *window = stv_cell_values_nd(cell, t, STV_CELL_WINDOW_MONTHS, y);
            double *wood = stv_cell_values_nd(cell, t, STV_CELL_WOOD_ND, y);
            for (size_t d = 0; d < n; d++) {
                wood[d] /= reference_mg[d];
                window[d] = 0.0;
            }
            for (size_t i = 0; i < n_months * n; i++) {
                double wood_nd = cell->month_oak_mg[at + i] / reference_mg[i % n];
                window[i % n] += wood_nd >= request->wood_least_nd &&
                                 wood_nd <= request->wood_most_nd &&
                                 cell->month_abv20_frac[at + i] >= request->least_abv20_frac;
            }
        }
}

static enum stv_status summarise(const struct stv_grid_request *request, struct stv_arm *arm)
{
    const struct stv_study_cell *cell = cell_of(request, arm);
    size_t n = cell->n_years * cell->n_draws;
    double *room = malloc((n + 1) * sizeof *room);
    enum stv_status status = room ? STV_OK : STV_E_MEMORY;
    for (size_t m = 0; m < STV_CELL_METRIC_N && status == STV_OK; m++) {
        enum stv_cell_metric metric = (enum stv_cell_metric)m;
        arm->year_median[m] = calloc(cell->n_years + 1, sizeof(double));
        if (!arm->year_median[m]) {
            status = STV_E_MEMORY;
            break;
        }
        for (size_t y = 0; y < cell->n_years; y++) {
            memcpy(room, stv_cell_values_nd(cell, arm->tier_idx, metric, y),
                   cell->n_draws * sizeof *room);
            arm->year_median[m][y] = stv_range_of(room, cell->n_draws).p50;
        }
        memcpy(room, stv_cell_values_nd(cell, arm->tier_idx, metric, 0), n * sizeof *room);
        arm->figure[m] = stv_range_of(room, n);
    }
    free(room);
    return status;
}

static enum stv_status make_arms(const struct stv_grid_request *request,
                                 struct stv_grid_result *out)
{
    const struct stv_grid_sizes *sizes = &request->sizes;
    size_t n = n_cells_of(sizes) * sizes->n_tiers;
    out->arms = calloc(n + 1, sizeof *out->arms);
    if (!out->arms)
        return STV_E_MEMORY;
    out->n_arms = n;
    int worst = STV_OK; /* the same, whoever comes first */
#pragma omp parallel for schedule(dynamic) reduction(max : worst)
    for (size_t i = 0; i < n; i++) {
        size_t cell = i / sizes->n_tiers;
        out->arms[i] = (struct stv_arm){.site_idx = cell / sizes->n_casks / sizes->n_buildings,
                                        .building_idx = cell / sizes->n_casks % sizes->n_buildings,
                                        .cask_idx = cell % sizes->n_casks,
                                        .tier_idx = i % sizes->n_tiers};
        int status = summarise(request, &out->arms[i]);
        worst = status > worst ? status : worst;
    }
    return (enum stv_status)worst;
}

/* True when a and b differ in one factor alone, which is told, and are to be compared. */
static bool are_paired(const struct stv_grid_request *request, const struct stv_arm *a,
                       const struct stv_arm *b, enum stv_arm_factor *out)
{
    bool site = a->site_idx != b->site_idx, building = a->building_idx != b->building_idx;
    bool cask = a->cask_idx != b->cask_idx;
    *out = site ? STV_FACTOR_SITE : building ? STV_FACTOR_BUILDING : STV_FACTOR_CASK;
    return a->tier_idx == b->tier_idx && site + building + cask == 1 &&
           (!cask || request->sizes.n_casks <= STV_GRID_CASKS_PAIRED_MOST);
}

/* Differences of a figure in the fill years that both have; their number. */
static size_t differences(const struct stv_grid_request *request, const struct stv_arm *a,
                          const struct stv_arm *b, enum stv_cell_metric metric, double *out)
{
    const struct stv_study_cell *left = cell_of(request, a), *right = cell_of(request, b);
    size_t n = 0;
    for (size_t i = 0; i < left->n_years; i++)
        for (size_t j = 0; j < right->n_years; j++) {
            if (left->years[i] != right->years[j])
                continue;
            const double *of_a = stv_cell_values_nd(left, a->tier_idx, metric, i);
            const double *of_b = stv_cell_values_nd(right, b->tier_idx, metric, j);
            for (size_t d = 0; d < left->n_draws; d++)
                out[n * left->n_draws + d] = of_a[d] - of_b[d];
            n++;
        }
    return n;
}

static enum stv_status judge_pair(const struct stv_grid_request *request,
                                  const struct stv_grid_result *result, struct stv_arm_pair *pair)
{
    const struct stv_arm *a = &result->arms[pair->a_idx], *b = &result->arms[pair->b_idx];
    double *room = malloc((cell_of(request, a)->n_years * result->n_draws + 1) * sizeof *room);
    enum stv_status status = room ? STV_OK : STV_E_MEMORY;
    for (size_t m = 0; m < STV_CELL_METRIC_N && status == STV_OK; m++) {
        struct stv_paired paired = {room, 0, result->n_draws, result->follow_y, request->margin[m]};
        paired.n_years = differences(request, a, b, (enum stv_cell_metric)m, room);
        status = stv_judge_pair(&paired, &pair->figure[m]);
    }
    free(room);
    return status;
}

/* Sites, buildings and casks are three questions, so each is a family of its own. */
static enum stv_status judge_families(const struct stv_grid_request *request,
                                      struct stv_grid_result *result)
{
    struct stv_judged **family = malloc((result->n_pairs + 1) * sizeof *family);
    enum stv_status status = family ? STV_OK : STV_E_MEMORY;
    for (int factor = 0; factor < STV_FACTOR_N; factor++)
        for (size_t m = 0; m < STV_CELL_METRIC_N && status == STV_OK; m++) {
            size_t n = 0;
            for (size_t i = 0; i < result->n_pairs; i++)
                if ((int)result->pairs[i].differs == factor)
                    family[n++] = &result->pairs[i].figure[m];
            status = stv_judge_family(family, n, request->margin[m]);
        }
    free(family);
    return status;
}

/* Which arms are paired; room for all of them. */
static enum stv_status list_pairs(const struct stv_grid_request *request,
                                  struct stv_grid_result *out)
{
    size_t n = out->n_arms, n_pairs = 0;
    enum stv_arm_factor differs;
    for (size_t a = 0; a < n; a++)
        for (size_t b = a + 1; b < n; b++)
            n_pairs += are_paired(request, &out->arms[a], &out->arms[b], &differs);
    out->pairs = calloc(n_pairs + 1, sizeof *out->pairs);
    if (!out->pairs)
        return STV_E_MEMORY;
    for (size_t a = 0; a < n; a++)
        for (size_t b = a + 1; b < n; b++)
            if (are_paired(request, &out->arms[a], &out->arms[b], &differs))
                out->pairs[out->n_pairs++] =
                    (struct stv_arm_pair){.a_idx = a, .b_idx = b, .differs = differs};
    return STV_OK;
}

static enum stv_status make_pairs(const struct stv_grid_request *request,
                                  struct stv_grid_result *out)
{
    int worst = list_pairs(request, out);
#pragma omp parallel for schedule(dynamic) reduction(max : worst)
    for (size_t p = 0; p < out->n_pairs; p++) {
        int status = judge_pair(request, out, &out->pairs[p]);
        worst = status > worst ? status : worst;
    }
    return worst == STV_OK ? judge_families(request, out) : (enum stv_status)worst;
}

enum stv_status stv_grid_compare(const struct stv_grid_request *request,
                                 struct stv_grid_result *out)
{
    *out = (struct stv_grid_result){0};
    if (n_cells_of(&request->sizes) == 0)
        return STV_OK;
    if (!are_alike(request))
        return STV_E_ARG;
    out->n_draws = request->cells[0].n_draws;
    out->follow_y = request->cells[0].follow_y;
    size_t n_cells = n_cells_of(&request->sizes);
#pragma omp parallel for
    for (size_t c = 0; c < n_cells; c++)
        relate(request, &request->cells[c]);
    enum stv_status status = make_arms(request, out);
    if (status == STV_OK)
        status = make_pairs(request, out);
    if (status == STV_OK)
        status = stv__grid_split(request, out);
    if (status == STV_OK)
        status = stv__grid_levels(request, out);
    if (status != STV_OK)
        stv_grid_free(out);
    return status;
}

void stv_grid_free(struct stv_grid_result *result)
{
    for (size_t a = 0; a < result->n_arms; a++)
        for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
            free(result->arms[a].year_median[m]);
    free(result->arms);
    free(result->pairs);
    for (size_t f = 0; f < STV_FACTOR_N; f++)
        free(result->levels[f]);
    free(result->level_pairs);
    *result = (struct stv_grid_result){0};
}
