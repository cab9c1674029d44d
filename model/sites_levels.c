/* A site is judged by the mean of all its buildings, casks and tiers, a building by that of all its
 * sites, casks and tiers: trial by trial and fill year by fill year, so that what they share falls
 * out of the difference as it does between two arms. */
#include "model/sites_levels.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

static size_t n_levels_of(const struct stv_grid_sizes *sizes, int factor)
{
    const size_t n[STV_FACTOR_N] = {sizes->n_sites, sizes->n_buildings, sizes->n_casks};
    return n[factor];
}

static size_t n_cells_of(const struct stv_grid_sizes *sizes)
{
    return sizes->n_sites * sizes->n_buildings * sizes->n_casks;
}

static size_t level_of(const struct stv_grid_sizes *sizes, size_t cell_idx, int factor)
{
    const size_t level[STV_FACTOR_N] = {cell_idx / sizes->n_casks / sizes->n_buildings,
                                        cell_idx / sizes->n_casks % sizes->n_buildings,
                                        cell_idx % sizes->n_casks};
    return level[factor];
}

/* Index of a fill year of a cell; n_years when it has none such. */
static size_t year_idx_of(const struct stv_study_cell *cell, int32_t year)
{
    size_t idx = 0;
    while (idx < cell->n_years && cell->years[idx] != year)
        idx++;
    return idx;
}

static double n_alike(const struct stv_grid_request *request, size_t cell_idx)
{
    return request->n_alike_nd ? request->n_alike_nd[cell_idx % request->sizes.n_casks] : 1.0;
}

/* Adds the mean of a level's arms in a year, times a factor, to n_draws values; false and nothing
 * added when one of them lacks the year. */
static bool add_mean(const struct stv_grid_request *request, int factor, size_t level, int32_t year,
                     enum stv_cell_metric metric, double times, double *out)
{
    const struct stv_grid_sizes *sizes = &request->sizes;
    size_t n_cells = n_cells_of(sizes), n_draws = request->cells[0].n_draws;
    double n_arms = 0.0;
    for (size_t c = 0; c < n_cells; c++) {
        if (level_of(sizes, c, factor) != level)
            continue;
        if (year_idx_of(&request->cells[c], year) == request->cells[c].n_years)
            return false;
        n_arms += n_alike(request, c) * (double)sizes->n_tiers;
    }
    for (size_t c = 0; c < n_cells; c++) {
        const struct stv_study_cell *cell = &request->cells[c];
        if (level_of(sizes, c, factor) != level)
            continue;
        double weight = times * n_alike(request, c);
        for (size_t t = 0; t < sizes->n_tiers; t++) {
            const double *values = stv_cell_values_nd(cell, t, metric, year_idx_of(cell, year));
            for (size_t d = 0; d < n_draws; d++)
                out[d] += weight * values[d] / n_arms;
        }
    }
    return true;
}

/* The first cell of a level: what it has no fill year for, the level has none for. */
static const struct stv_study_cell *first_cell(const struct stv_grid_request *request, int factor,
                                               size_t level)
{
    size_t cell = 0;
    while (level_of(&request->sizes, cell, factor) != level)
        cell++;
    return &request->cells[cell];
}

/* Mean of a level, or its difference from another, in every fill year that both have; their number.
 * A pair of a level with itself is that level alone. */
static size_t years_of(const struct stv_grid_request *request, const struct stv_level_pair *pair,
                       enum stv_cell_metric metric, double *out)
{
    const struct stv_study_cell *first = first_cell(request, (int)pair->differs, pair->a_idx);
    int factor = (int)pair->differs;
    size_t n_years = 0, n_draws = first->n_draws;
    for (size_t y = 0; y < first->n_years; y++) {
        double *row = out + n_years * n_draws;
        memset(row, 0, n_draws * sizeof *row);
        bool has_year = add_mean(request, factor, pair->a_idx, first->years[y], metric, 1.0, row);
        if (has_year && pair->b_idx != pair->a_idx)
            has_year = add_mean(request, factor, pair->b_idx, first->years[y], metric, -1.0, row);
        n_years += has_year;
    }
    return n_years;
}

static void set_levels(const struct stv_grid_request *request, struct stv_grid_result *result,
                       int factor, double *room)
{
    for (size_t l = 0; l < n_levels_of(&request->sizes, factor); l++)
        for (int m = 0; m < STV_CELL_METRIC_N; m++) {
            const struct stv_level_pair alone = {
                .differs = (enum stv_arm_factor)factor, .a_idx = l, .b_idx = l};
            size_t n_years = years_of(request, &alone, (enum stv_cell_metric)m, room);
            result->levels[factor][l].figure[m] = stv_range_of(room, n_years * result->n_draws);
        }
}

static enum stv_status judge_pair(const struct stv_grid_request *request,
                                  const struct stv_grid_result *result, double *room,
                                  struct stv_level_pair *pair)
{
    enum stv_status status = STV_OK;
    for (int m = 0; m < STV_CELL_METRIC_N && status == STV_OK; m++) {
        struct stv_paired paired = {room, 0, result->n_draws, result->follow_y, request->margin[m]};
        paired.n_years = years_of(request, pair, (enum stv_cell_metric)m, room);
        status = stv_judge_pair(&paired, &pair->figure[m]);
    }
    return status;
}

static size_t n_paired_of(const struct stv_grid_sizes *sizes, int factor)
{
    size_t n = n_levels_of(sizes, factor);
    return factor == STV_FACTOR_CASK && n > STV_GRID_CASKS_PAIRED_MOST ? 0 : n;
}

/* All pairs of one factor, which are a family. */
static enum stv_status judge_factor(const struct stv_grid_request *request,
                                    struct stv_grid_result *result, int factor, double *room)
{
    size_t n = n_paired_of(&request->sizes, factor), first = result->n_level_pairs;
    struct stv_judged **family = malloc((n * n + 1) * sizeof *family);
    enum stv_status status = family ? STV_OK : STV_E_MEMORY;
    for (size_t a = 0; a < n; a++)
        for (size_t b = a + 1; b < n && status == STV_OK; b++) {
            struct stv_level_pair *pair = &result->level_pairs[result->n_level_pairs++];
            *pair = (struct stv_level_pair){
                .differs = (enum stv_arm_factor)factor, .a_idx = a, .b_idx = b};
            status = judge_pair(request, result, room, pair);
        }
    for (int m = 0; m < STV_CELL_METRIC_N && status == STV_OK; m++) {
        for (size_t p = first; p < result->n_level_pairs; p++)
            family[p - first] = &result->level_pairs[p].figure[m];
        status = stv_judge_family(family, result->n_level_pairs - first, request->margin[m]);
    }
    free(family);
    return status;
}

enum stv_status stv__grid_levels(const struct stv_grid_request *request,
                                 struct stv_grid_result *result)
{
    size_t n_pairs = 0, most_years = 1;
    for (int f = 0; f < STV_FACTOR_N; f++) {
        size_t n = n_levels_of(&request->sizes, f);
        n_pairs += n_paired_of(&request->sizes, f) * n_paired_of(&request->sizes, f) / 2;
        result->levels[f] = calloc(n, sizeof *result->levels[f]);
        if (!result->levels[f])
            return STV_E_MEMORY;
    }
    for (size_t c = 0; c < n_cells_of(&request->sizes); c++)
        if (request->cells[c].n_years > most_years)
            most_years = request->cells[c].n_years;
    double *room = malloc((most_years + 1) * result->n_draws * sizeof *room);
    result->level_pairs = calloc(n_pairs + 1, sizeof *result->level_pairs);
    enum stv_status status = room && result->level_pairs ? STV_OK : STV_E_MEMORY;
    for (int f = 0; f < STV_FACTOR_N && status == STV_OK; f++) {
        set_levels(request, result, f, room);
        status = judge_factor(request, result, f, room);
    }
    free(room);
    return status;
}
