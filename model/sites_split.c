/* Main effects of a full factorial table: for each factor the variance of its levels' means over
 * the variance of all.  They add up to at most one; the rest is what factors do together. */
#include "model/sites_split.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_SHARE 1e-12 /* less is rounding */

enum { BY_SITE, BY_BUILDING, BY_CASK, BY_TIER, BY_YEAR, BY_DRAW, N_FACTORS };

struct table {
    size_t n[N_FACTORS];
    const double **rows; /* n_draws values each, years fastest */
    double *sums;        /* of the levels of one factor */
};

static bool has_year(const struct stv_study_cell *cell, int32_t year, size_t *out_idx)
{
    for (*out_idx = 0; *out_idx < cell->n_years; ++*out_idx)
        if (cell->years[*out_idx] == year)
            return true;
    return false;
}

/* Fill years of the first cell that all have. */
static size_t common_years(const struct stv_grid_request *request, size_t n_cells, int32_t *out)
{
    const struct stv_study_cell *first = &request->cells[0];
    size_t n = 0;
    for (size_t y = 0; y < first->n_years; y++) {
        size_t c = 0, idx;
        while (c < n_cells && has_year(&request->cells[c], first->years[y], &idx))
            c++;
        if (c == n_cells)
            out[n++] = first->years[y];
    }
    return n;
}

static void point_rows(const struct stv_grid_request *request, const int32_t *years,
                       enum stv_cell_metric metric, struct table *table)
{
    size_t row = 0, n_cells = table->n[BY_SITE] * table->n[BY_BUILDING] * table->n[BY_CASK];
    for (size_t c = 0; c < n_cells; c++)
        for (size_t t = 0; t < table->n[BY_TIER]; t++)
            for (size_t y = 0; y < table->n[BY_YEAR]; y++) {
                size_t idx;
                (void)has_year(&request->cells[c], years[y], &idx); /* it is a common year */
                table->rows[row++] = stv_cell_values_nd(&request->cells[c], t, metric, idx);
            }
}

/* Which level of a factor a value has. */
static size_t level_of(const struct table *table, size_t row, size_t draw, int factor)
{
    if (factor == BY_DRAW)
        return draw;
    for (int f = BY_YEAR; f > factor; f--)
        row /= table->n[f];
    return row % table->n[factor];
}

static size_t n_rows_of(const struct table *table)
{
    size_t n = 1;
    for (int f = 0; f < BY_DRAW; f++)
        n *= table->n[f];
    return n;
}

/* Variance of the means of a factor's levels. */
static double effect(const struct table *table, double mean, int factor)
{
    size_t n_rows = n_rows_of(table), n_levels = table->n[factor];
    if (n_levels < 2)
        return 0.0;
    memset(table->sums, 0, n_levels * sizeof *table->sums);
    for (size_t r = 0; r < n_rows; r++)
        for (size_t d = 0; d < table->n[BY_DRAW]; d++)
            table->sums[level_of(table, r, d, factor)] += table->rows[r][d] - mean;
    double each = (double)(n_rows * table->n[BY_DRAW] / n_levels), sum = 0.0;
    for (size_t l = 0; l < n_levels; l++)
        sum += table->sums[l] / each * (table->sums[l] / each);
    return sum / (double)n_levels;
}

static struct stv_variance_split split_of(const struct table *table)
{
    size_t n_rows = n_rows_of(table), n_draws = table->n[BY_DRAW];
    double n = (double)(n_rows * n_draws), mean = 0.0, total = 0.0;
    for (size_t r = 0; r < n_rows; r++)
        for (size_t d = 0; d < n_draws; d++)
            mean += table->rows[r][d] / n;
    for (size_t r = 0; r < n_rows; r++)
        for (size_t d = 0; d < n_draws; d++)
            total += (table->rows[r][d] - mean) * (table->rows[r][d] - mean) / n;
    double share[N_FACTORS], known = 0.0;
    /* Differences of rounding are no spread. */
    bool has_none = !(total > 1e-24 * fmax(1.0, mean * mean));
    for (int f = 0; f < N_FACTORS; f++) {
        share[f] = has_none ? 0.0 : effect(table, mean, f) / total;
        if (share[f] < LEAST_SHARE)
            share[f] = 0.0;
        known += share[f];
    }
    bool has_years = table->n[BY_YEAR] > 1;
    return (struct stv_variance_split){
        .sd_nd = sqrt(total),
        .year_frac = has_years ? share[BY_YEAR] : (double)NAN,
        .parameters_frac = share[BY_DRAW],
        .site_frac = share[BY_SITE],
        .building_frac = share[BY_BUILDING],
        .cask_frac = share[BY_CASK],
        .tier_frac = share[BY_TIER],
        .together_frac = has_none ? 0.0 : fmax(0.0, 1.0 - known),
    };
}

static void set_unknown(struct stv_grid_result *result)
{
    double nan = (double)NAN;
    for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
        result->split[m] = (struct stv_variance_split){nan, nan, nan, nan, nan, nan, nan, nan};
}

enum stv_status stv__grid_split(const struct stv_grid_request *request,
                                struct stv_grid_result *result)
{
    const struct stv_grid_sizes *sizes = &request->sizes;
    size_t n_cells = sizes->n_sites * sizes->n_buildings * sizes->n_casks;
    int32_t *years = malloc((request->cells[0].n_years + 1) * sizeof *years);
    struct table table = {.n = {sizes->n_sites, sizes->n_buildings, sizes->n_casks, sizes->n_tiers,
                                0, result->n_draws}};
    enum stv_status status = years ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        table.n[BY_YEAR] = result->n_common_years = common_years(request, n_cells, years);
        size_t most = n_cells + sizes->n_tiers + table.n[BY_YEAR] + result->n_draws;
        table.rows = malloc((n_rows_of(&table) + 1) * sizeof *table.rows);
        table.sums = malloc(most * sizeof *table.sums);
        status = table.rows && table.sums ? STV_OK : STV_E_MEMORY;
    }
    if (status == STV_OK && result->n_common_years == 0)
        set_unknown(result);
    for (size_t m = 0; m < STV_CELL_METRIC_N && status == STV_OK && result->n_common_years; m++) {
        point_rows(request, years, (enum stv_cell_metric)m, &table);
        result->split[m] = split_of(&table);
    }
    free(years);
    free(table.rows);
    free(table.sums);
    return status;
}
