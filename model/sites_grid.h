/* A whole study: sites by buildings by casks by tiers by fill years, compared in pairs that differ
 * in one thing alone. */
#ifndef STV_MODEL_SITES_GRID_H
#define STV_MODEL_SITES_GRID_H

#include "model/sites_cell.h"
#include "model/sites_judge.h"

/* Beyond so many kinds of cask they are not set against one another: hundreds of pairs, each told
 * with less and less certainty, answer nobody. */
#define STV_GRID_CASKS_PAIRED_MOST 8

struct stv_grid_sizes {
    size_t n_sites, n_buildings, n_casks, n_tiers;
};

/* One cask of one tier of one building under one sky. */
struct stv_arm {
    size_t site_idx, building_idx, cask_idx, tier_idx;
    struct stv_range figure[STV_CELL_METRIC_N]; /* over fill years and trials */
    double *year_median[STV_CELL_METRIC_N];     /* one for each fill year of its cell */
};

enum stv_arm_factor { STV_FACTOR_SITE, STV_FACTOR_BUILDING, STV_FACTOR_CASK, STV_FACTOR_N };

/* a against b: all but one factor alike. */
struct stv_arm_pair {
    enum stv_arm_factor differs;
    size_t a_idx, b_idx;                         /* arms */
    struct stv_judged figure[STV_CELL_METRIC_N]; /* a minus b, same fill year, same trial */
};

/* A site, building or cask over all that the study puts with it: the mean of its arms, each kind of
 * cask counting as often as there are such casks. */
struct stv_arm_level {
    struct stv_range figure[STV_CELL_METRIC_N]; /* over fill years and trials; NaN without years */
};

/* Two levels of one factor, each such a mean of its arms, which are alike but for that factor. */
struct stv_level_pair {
    enum stv_arm_factor differs;
    size_t a_idx, b_idx;                         /* sites, buildings or casks */
    struct stv_judged figure[STV_CELL_METRIC_N]; /* a minus b, same fill year, same trial */
};

/* Shares of the variance of one figure over all arms, common fill years and trials. */
struct stv_variance_split {
    double sd_nd; /* of all of them, in the figure's unit */
    double year_frac, parameters_frac, site_frac, building_frac, cask_frac, tier_frac;
    double together_frac; /* what no single one explains */
};

struct stv_grid_request {
    struct stv_grid_sizes sizes;
    struct stv_study_cell
        *cells;               /* [(site * n_buildings + building) * n_casks + cask]; alike in tiers,
                           draws and years followed; their wood and window are set here */
    const double *n_alike_nd; /* of each cask; NULL: one of each */
    double wood_least_nd, wood_most_nd, least_abv20_frac; /* of the window */
    double margin[STV_CELL_METRIC_N];
};

struct stv_grid_result {
    struct stv_arm *arms; /* cells in order, tiers within */
    size_t n_arms;
    struct stv_arm_pair *pairs;
    size_t n_pairs;
    struct stv_arm_level *levels[STV_FACTOR_N]; /* as many as the study has of each */
    struct stv_level_pair *level_pairs;         /* factor by factor */
    size_t n_level_pairs;
    struct stv_variance_split split[STV_CELL_METRIC_N];
    size_t n_common_years; /* fill years that every site has */
    size_t n_draws, follow_y;
};

/* Sets wood and windows of all cells against the reference cask of the first one, and compares.
 *
 * Wood of a cask is its phenolics per litre of alcohol over those of the house's reference cask
 * under the first site, in the first building's middle tier asked, trial by trial.  A month belongs
 * to the window when strength and wood lie within what the request allows.  Pairs keep the order of
 * the arms; a typical year pairs with typical years alone; verdicts are adjusted within each figure
 * and each of the three factors; casks are paired where there are no more than
 * STV_GRID_CASKS_PAIRED_MOST of them.  Levels are compared in the fill years that both sites have,
 * and those of buildings and casks in the ones that all sites have; with one arm each they are
 * judged as their arms are.  The split is that of a full factorial table into its main effects
 * (sums of squares); without a common fill year it is NaN, and the years' share is NaN when there
 * is but one.
 *
 * out      free with stv_grid_free; empty when the status is not OK
 *
 * Errors:  STV_E_ARG  cells that differ in tiers, draws or years; STV_E_MEMORY
 * Source:  main effects: Sobol, Math. Comput. Simul. 55 (2001) 271, of a discrete table */
STV_MUST_CHECK enum stv_status stv_grid_compare(const struct stv_grid_request *request,
                                                struct stv_grid_result *out);
/* Frees and empties; may be called twice. */
void stv_grid_free(struct stv_grid_result *result);

#endif
