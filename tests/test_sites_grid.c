/* Cells and whole studies: against the plain comparison, by their laws, and what a study may say.
 */
#include "model/sites.h"
#include "model/sites_grid.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>
#include <math.h>

#define YEAR_H 8760

static const struct climate_of hill = {
    .mean_c = 20.0, .year_k = 9.0, .day_k = 5.0, .rh_frac = 0.55, .rh_year_frac = 0.08};
static const struct climate_of plain = {
    .mean_c = 24.0, .year_k = 9.0, .day_k = 5.0, .rh_frac = 0.35, .rh_year_frac = 0.08};

struct one_cell {
    struct stv_position tiers[2];
    struct stv_cask cask;
    struct stv_house_rules rules;
    struct stv_cask_numbers numbers;
    struct stv_cell_input input;
};

static void cell_new(struct one_cell *cell, const struct climate_of *climate, size_t n_years,
                     size_t n_draws)
{
    *cell = (struct one_cell){.cask = cask_new("study", 200.0),
                              .rules = stv_house_rules_default(),
                              .numbers = stv_cask_numbers_default()};
    cell->tiers[0] = place_new(2001, n_years * YEAR_H + 72, 0, climate);
    struct climate_of upper = *climate;
    upper.mean_c += 2.0;
    cell->tiers[1] = place_new(2001, n_years * YEAR_H + 72, 0, &upper);
    cell->tiers[1].place.tier_idx = 1;
    cell->input = (struct stv_cell_input){.tiers = cell->tiers,
                                          .n_tiers = 2,
                                          .exposed_frac = 1.0,
                                          .cask = &cell->cask,
                                          .fill_abv20_frac = 0.60,
                                          .rules = &cell->rules,
                                          .numbers = &cell->numbers,
                                          .options = {9, n_draws, 5.0},
                                          .follow_y = 1};
}

static void cell_end(struct one_cell *cell)
{
    place_end(&cell->tiers[0]);
    place_end(&cell->tiers[1]);
}

static struct stv_study_cell run(const struct one_cell *cell)
{
    struct stv_study_cell out;
    stv_assert_ok(stv_cell_run(&cell->input, &out));
    return out;
}

static double mean_of(const struct stv_study_cell *cell, enum stv_cell_metric metric, size_t year)
{
    return stv_mean_nd(stv_cell_values_nd(cell, 0, metric, year), cell->n_draws);
}

/* A cell of one tier, followed a year, is what the plain comparison of sites runs. */
static void a_cell_is_a_site(void **state)
{
    (void)state;
    struct one_cell made;
    cell_new(&made, &hill, 3, 12);
    made.input.n_tiers = 1;
    struct stv_study_cell cell = run(&made);
    struct stv_site_input site = {"hill", &made.tiers[0], 1.0};
    struct stv_sites_request request = {.sites = &site,
                                        .n_sites = 1,
                                        .cask = &made.cask,
                                        .fill_abv20_frac = 0.60,
                                        .options = made.input.options};
    struct stv_sites_result plainly;
    stv_assert_ok(stv_sites_compare(&request, &plainly));
    assert_int_equal(cell.n_years, plainly.sites[0].n_years);
    static const int pairs[][2] = {{STV_CELL_LPA_LOSS_FRAC, STV_SITE_LPA_LOSS_FRAC},
                                   {STV_CELL_VOLUME_LOSS_FRAC, STV_SITE_VOLUME_LOSS_FRAC},
                                   {STV_CELL_DRIFT_FRAC, STV_SITE_DRIFT_FRAC},
                                   {STV_CELL_FRUIT_ND, STV_SITE_FRUIT_ND}};
    for (size_t y = 0; y < cell.n_years; y++)
        for (size_t d = 0; d < 12; d++)
            stv_assert_close(stv_cell_values_nd(&cell, 0, STV_CELL_WOOD_ND, y)[d] /
                                 cell.reference_oak_mg[d],
                             plainly.sites[0].values[STV_SITE_WOOD_ND][y * 12 + d], 2e-5, 0.0);
    for (size_t m = 0; m < 4; m++)
        for (size_t y = 0; y < cell.n_years; y++)
            for (size_t d = 0; d < 12; d++)
                stv_assert_close(
                    stv_cell_values_nd(&cell, 0, (enum stv_cell_metric)pairs[m][0], y)[d],
                    plainly.sites[0].values[pairs[m][1]][y * 12 + d], 0.0, 2e-5);
    stv_sites_result_free(&plainly);
    stv_cell_free(&cell);
    cell_end(&made);
}

/* A cell beside others of the same tiers, whose tables it takes, is the cell alone. */
static void tables_serve_the_next_cask(void **state)
{
    (void)state;
    struct one_cell made;
    cell_new(&made, &hill, 3, 16);
    struct stv_cask others[2] = {cask_new("study", 50.0), made.cask};
    made.input.kept = stv_kept_tables_new(NULL);
    struct stv_kept_tables *kept = made.input.kept;
    assert_non_null(kept);
    for (size_t c = 0; c < 2; c++) {
        made.input.cask = &others[c];
        made.input.kept = kept;
        struct stv_study_cell beside = run(&made);
        made.input.kept = NULL;
        struct stv_study_cell alone = run(&made);
        assert_memory_equal(beside.reference_oak_mg, alone.reference_oak_mg, 16 * sizeof(double));
        assert_memory_equal(beside.values, alone.values,
                            stv_cell_n_values(&alone) * sizeof(double));
        assert_memory_equal(beside.month_oak_mg, alone.month_oak_mg,
                            stv_cell_n_month_values(&alone) * sizeof(double));
        stv_cell_free(&beside);
        stv_cell_free(&alone);
    }
    stv_kept_tables_free(kept);
    cell_end(&made);
}

static void years_are_followed(void **state)
{
    (void)state;
    struct one_cell made;
    cell_new(&made, &hill, 5, 0);
    struct stv_study_cell one = run(&made);
    made.input.follow_y = 3;
    struct stv_study_cell three = run(&made);
    assert_int_equal(one.n_years, 5);
    assert_int_equal(three.n_years, 3);
    assert_int_equal(three.years[0], 2001);
    assert_int_equal(three.years[2], 2003);
    assert_int_equal(stv_cell_n_months(&three), 36);
    double after_one = mean_of(&one, STV_CELL_VOLUME_LOSS_FRAC, 0);
    double after_three = mean_of(&three, STV_CELL_VOLUME_LOSS_FRAC, 0);
    assert_true(after_three > 2.0 * after_one && after_three < 3.5 * after_one);
    assert_true(mean_of(&three, STV_CELL_FRUIT_ND, 0) < mean_of(&one, STV_CELL_FRUIT_ND, 0));
    made.input.follow_y = 6;
    struct stv_study_cell none;
    stv_assert_status(stv_cell_run(&made.input, &none), STV_E_NO_DATA);
    assert_null(none.values);
    made.input.follow_y = 0;
    stv_assert_status(stv_cell_run(&made.input, &none), STV_E_DOMAIN);
    made.tiers[0].grid.is_typical = made.tiers[1].grid.is_typical = true;
    made.tiers[0].grid.n = made.tiers[1].grid.n = YEAR_H;
    made.input.follow_y = 3;
    struct stv_study_cell typical = run(&made);
    assert_int_equal(typical.n_years, 1);
    assert_int_equal(typical.years[0], 0);
    stv_assert_close(mean_of(&typical, STV_CELL_VOLUME_LOSS_FRAC, 0), after_three, 0.02, 0.0);
    stv_cell_free(&one);
    stv_cell_free(&three);
    stv_cell_free(&typical);
    cell_end(&made);
}

/* Hours over 35 C, and cycles, of a formula whose count is known by hand: 20 +- 16 each day is over
 * 35 C while cos > 15/16, 1.36 h about 15 h, which two hours' middles fall into. */
static void climate_is_counted(void **state)
{
    (void)state;
    static const struct climate_of desert = {.mean_c = 20.0, .day_k = 16.0, .rh_frac = 0.3};
    struct one_cell made;
    cell_new(&made, &desert, 2, 0);
    struct stv_study_cell cell = run(&made);
    stv_assert_close(mean_of(&cell, STV_CELL_HOT_H, 0), 2.0 * 365.0, 0.0, 0.0);
    stv_assert_close(mean_of(&cell, STV_CELL_AIR_C, 0), 20.0, 0.0, 1e-3);
    stv_assert_close(mean_of(&cell, STV_CELL_RH_FRAC, 0), 0.30, 1e-9, 0.0);
    double cycles = mean_of(&cell, STV_CELL_CYCLES_ND, 0);
    assert_true(cycles < 1.0); /* a full cask swings far less than the air, and less than 8 K */
    stv_cell_free(&cell);
    struct climate_of slow = {.mean_c = 20.0, .year_k = 12.0, .rh_frac = 0.3};
    cell_end(&made);
    cell_new(&made, &slow, 2, 0);
    cell = run(&made);
    stv_assert_close(mean_of(&cell, STV_CELL_CYCLES_ND, 0), 1.0, 0.0, 0.51); /* the year's own */
    stv_cell_free(&cell);
    cell_end(&made);
}

/* Whatever the strength and the cask, hotter and drier never keeps more litres at 20 C; alcohol
 * goes either way. */
static void hotter_and_drier_loses_more_litres(void **state)
{
    (void)state;
    static const double strengths[] = {0.45, 0.60, 0.68};
    size_t n_alcohol_less = 0, n_alcohol_more = 0;
    for (size_t s = 0; s < 3; s++)
        for (int step = 0; step < 4; step++) {
            struct climate_of cool = hill, hot = hill;
            cool.rh_frac = 0.75 - 0.1 * step;
            hot.rh_frac = cool.rh_frac - 0.15;
            hot.mean_c += step == 0 ? 0.0 : 4.0;
            struct one_cell a, b;
            cell_new(&a, &cool, 2, 0);
            cell_new(&b, &hot, 2, 0);
            a.input.fill_abv20_frac = b.input.fill_abv20_frac = strengths[s];
            struct stv_study_cell left = run(&a), right = run(&b);
            for (size_t y = 0; y < left.n_years; y++) {
                assert_true(mean_of(&right, STV_CELL_VOLUME_LOSS_FRAC, y) >
                            mean_of(&left, STV_CELL_VOLUME_LOSS_FRAC, y));
                double alcohol = mean_of(&right, STV_CELL_LPA_LOSS_FRAC, y) -
                                 mean_of(&left, STV_CELL_LPA_LOSS_FRAC, y);
                n_alcohol_less += alcohol < 0.0;
                n_alcohol_more += alcohol > 0.0;
            }
            stv_cell_free(&left);
            stv_cell_free(&right);
            cell_end(&a);
            cell_end(&b);
        }
    printf("hotter and drier: litres more in all, alcohol more in %zu, less in %zu\n",
           n_alcohol_more, n_alcohol_less);
    assert_true(n_alcohol_more > 0);
}

struct grid {
    struct one_cell made[4];
    struct stv_study_cell cells[4];
    struct stv_grid_request request;
    struct stv_grid_result result;
};

/* Two sites by two casks, two tiers each. */
static void grid_new(struct grid *grid, const struct climate_of *a, const struct climate_of *b,
                     size_t n_years, size_t n_draws)
{
    *grid = (struct grid){.request = {.sizes = {2, 1, 2, 2},
                                      .cells = grid->cells,
                                      .wood_least_nd = 0.3,
                                      .wood_most_nd = 1.5,
                                      .least_abv20_frac = 0.46}};
    for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
        grid->request.margin[m] = 0.003;
    for (size_t c = 0; c < 4; c++) {
        cell_new(&grid->made[c], c / 2 ? b : a, n_years, n_draws);
        if (c % 2)
            grid->made[c].cask = cask_new("study", 50.0);
        grid->cells[c] = run(&grid->made[c]);
    }
    stv_assert_ok(stv_grid_compare(&grid->request, &grid->result));
}

static void grid_end(struct grid *grid)
{
    stv_grid_free(&grid->result);
    for (size_t c = 0; c < 4; c++) {
        stv_cell_free(&grid->cells[c]);
        cell_end(&grid->made[c]);
    }
}

static double sum_of(const struct stv_variance_split *split)
{
    return split->year_frac + split->parameters_frac + split->site_frac + split->building_frac +
           split->cask_frac + split->tier_frac + split->together_frac;
}

static void a_study_of_two_sites(void **state)
{
    (void)state;
    static struct grid grid;
    grid_new(&grid, &plain, &hill, 4, 16);
    const struct stv_grid_result *result = &grid.result;
    assert_int_equal(result->n_arms, 8);
    assert_int_equal(result->n_pairs, 8); /* four of sites, four of casks */
    assert_int_equal(result->n_common_years, 4);
    for (size_t p = 0; p < result->n_pairs; p++) {
        const struct stv_arm_pair *pair = &result->pairs[p];
        assert_true(result->arms[pair->a_idx].tier_idx == result->arms[pair->b_idx].tier_idx);
        if (pair->differs != STV_FACTOR_SITE)
            continue;
        assert_int_equal(pair->figure[STV_CELL_VOLUME_LOSS_FRAC].verdict, STV_VERDICT_MORE);
        assert_int_equal(pair->figure[STV_CELL_VOLUME_LOSS_FRAC].n_years_more, 4);
        assert_int_equal(pair->figure[STV_CELL_DRIFT_FRAC].verdict, STV_VERDICT_MORE);
        stv_assert_close(pair->figure[STV_CELL_AIR_C].mean_nd, 4.0, 1e-6, 0.0);
    }
    for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
        stv_assert_close(sum_of(&result->split[m]), result->split[m].sd_nd > 1e-9 ? 1.0 : 0.0, 0.0,
                         1e-9);
    /* All four years are alike but for leap days; air is the site's and the tier's alone. */
    assert_true(result->split[STV_CELL_VOLUME_LOSS_FRAC].year_frac < 0.01);
    stv_assert_close(result->split[STV_CELL_AIR_C].site_frac, 0.8, 0.0, 1e-3); /* 4 K and 2 K */
    stv_assert_close(result->split[STV_CELL_AIR_C].tier_frac, 0.2, 0.0, 1e-3);
    assert_true(result->split[STV_CELL_WOOD_ND].cask_frac >
                result->split[STV_CELL_WOOD_ND].year_frac);
    for (size_t a = 0; a < result->n_arms; a++)
        assert_true(result->arms[a].figure[STV_CELL_WINDOW_MONTHS].p05 >= 0.0 &&
                    result->arms[a].figure[STV_CELL_WINDOW_MONTHS].p95 <= 12.0);
    grid_end(&grid);
}

/* A site is the mean of its casks and tiers: so is its difference from another, and where every
 * arm keeps more the site does. */
static void a_site_is_all_its_casks_and_tiers(void **state)
{
    (void)state;
    static struct grid grid;
    grid_new(&grid, &plain, &hill, 4, 16);
    const struct stv_grid_result *result = &grid.result;
    assert_int_equal(result->n_level_pairs, 2); /* of sites, of casks; one building */
    for (size_t l = 0; l < 2; l++) {
        const struct stv_level_pair *level = &result->level_pairs[l];
        for (size_t m = 0; m < STV_CELL_METRIC_N; m++) {
            double sum = 0.0, n = 0.0;
            for (size_t p = 0; p < result->n_pairs; p++)
                if (result->pairs[p].differs == level->differs) {
                    sum += result->pairs[p].figure[m].mean_nd;
                    n += 1.0;
                }
            stv_assert_close(level->figure[m].mean_nd, sum / n, 1e-9, 1e-12);
            assert_int_equal(level->figure[m].n_years, 4);
        }
    }
    assert_int_equal(result->level_pairs[0].differs, STV_FACTOR_SITE);
    assert_int_equal(result->level_pairs[0].figure[STV_CELL_VOLUME_LOSS_FRAC].verdict,
                     STV_VERDICT_MORE);
    stv_assert_close(result->levels[STV_FACTOR_SITE][0].figure[STV_CELL_AIR_C].p50 -
                         result->levels[STV_FACTOR_SITE][1].figure[STV_CELL_AIR_C].p50,
                     4.0, 1e-6, 0.0);
    grid_end(&grid);
}

static double middle_of(const struct stv_study_cell *cell, enum stv_cell_metric metric, size_t d)
{
    double sum = 0.0;
    for (size_t t = 0; t < cell->n_tiers; t++)
        sum += stv_cell_values_nd(cell, t, metric, 0)[d] / (double)cell->n_tiers;
    return sum;
}

/* A site of 30 casks of one kind and 10 of another is three quarters the one; casks themselves are
 * what they were. */
static void casks_count_as_often_as_there_are(void **state)
{
    (void)state;
    static struct grid grid;
    static const double n_alike_nd[] = {30.0, 10.0};
    grid_new(&grid, &plain, &hill, 1, 0);
    struct stv_grid_request request = grid.request;
    struct stv_grid_result counted;
    request.n_alike_nd = n_alike_nd;
    request.cells[0].reference_oak_mg[0] = 1.0; /* wood is related already */
    stv_assert_ok(stv_grid_compare(&request, &counted));
    const enum stv_cell_metric metric = STV_CELL_BOTTLES_ND;
    for (size_t s = 0; s < 2; s++) {
        double want = 0.75 * middle_of(&grid.cells[2 * s], metric, 0) +
                      0.25 * middle_of(&grid.cells[2 * s + 1], metric, 0);
        stv_assert_close(counted.levels[STV_FACTOR_SITE][s].figure[metric].p50, want, 1e-12, 0.0);
    }
    stv_assert_close(counted.level_pairs[0].figure[metric].mean_nd,
                     counted.levels[STV_FACTOR_SITE][0].figure[metric].p50 -
                         counted.levels[STV_FACTOR_SITE][1].figure[metric].p50,
                     1e-9, 0.0);
    for (size_t c = 0; c < 2; c++)
        stv_assert_close(counted.levels[STV_FACTOR_CASK][c].figure[metric].p50,
                         grid.result.levels[STV_FACTOR_CASK][c].figure[metric].p50, 1e-12, 0.0);
    stv_grid_free(&counted);
    grid_end(&grid);
}

/* More kinds than are set against one another: sites still are, cask by cask and as a whole. */
static void many_kinds_are_not_paired(void **state)
{
    (void)state;
    enum { KINDS = STV_GRID_CASKS_PAIRED_MOST + 1 };
    static struct one_cell made[2 * KINDS];
    static struct stv_study_cell cells[2 * KINDS];
    for (size_t c = 0; c < 2 * KINDS; c++) {
        cell_new(&made[c], c / KINDS ? &hill : &plain, 1, 0);
        made[c].cask = cask_new("study", 40.0 + 10.0 * (double)(c % KINDS));
        cells[c] = run(&made[c]);
    }
    for (size_t n = KINDS - 1; n <= KINDS; n++) {
        struct stv_study_cell some[2 * KINDS];
        struct stv_grid_request request = {.sizes = {2, 1, n, 2}, .cells = some};
        struct stv_grid_result result;
        for (size_t c = 0; c < 2 * n; c++)
            some[c] = cells[c / n * KINDS + c % n];
        stv_assert_ok(stv_grid_compare(&request, &result));
        size_t n_of_casks = n == KINDS ? 0 : n * (n - 1) / 2;
        assert_int_equal(result.n_pairs, 2 * n + 4 * n_of_casks);
        assert_int_equal(result.n_level_pairs, 1 + n_of_casks);
        assert_int_equal(result.level_pairs[0].differs, STV_FACTOR_SITE);
        assert_true(isfinite(result.levels[STV_FACTOR_CASK][n - 1].figure[STV_CELL_AIR_C].p50));
        stv_grid_free(&result);
    }
    for (size_t c = 0; c < 2 * KINDS; c++) {
        stv_cell_free(&cells[c]);
        cell_end(&made[c]);
    }
}

/* With one cask and tier a site is its only arm, judged alike to the last bit. */
static void a_lone_arm_is_its_level(void **state)
{
    (void)state;
    struct one_cell made[2];
    struct stv_study_cell cells[2];
    struct stv_grid_request request = {.sizes = {2, 1, 1, 1}, .cells = cells};
    struct stv_grid_result result;
    for (size_t c = 0; c < 2; c++) {
        cell_new(&made[c], c ? &hill : &plain, 3, 8);
        made[c].input.n_tiers = 1;
        cells[c] = run(&made[c]);
    }
    for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
        request.margin[m] = 0.003;
    stv_assert_ok(stv_grid_compare(&request, &result));
    assert_int_equal(result.n_pairs, 1);
    assert_int_equal(result.n_level_pairs, 1);
    for (size_t m = 0; m < STV_CELL_METRIC_N; m++) {
        const struct stv_judged *arm = &result.pairs[0].figure[m];
        const struct stv_judged *level = &result.level_pairs[0].figure[m];
        assert_int_equal(arm->verdict, level->verdict);
        stv_assert_close(level->mean_nd, arm->mean_nd, 0.0, 0.0);
        stv_assert_close(level->adjusted_p_same_nd, arm->adjusted_p_same_nd, 0.0, 0.0);
    }
    /* No fill year in common: nothing is told of the pair. */
    cells[1].years[0] = cells[1].years[1] = cells[1].years[2] = 1950;
    stv_grid_free(&result);
    stv_assert_ok(stv_grid_compare(&request, &result));
    assert_int_equal(result.level_pairs[0].figure[0].n_years, 0);
    assert_int_equal(result.level_pairs[0].figure[0].verdict, STV_VERDICT_UNSURE);
    stv_grid_free(&result);
    for (size_t c = 0; c < 2; c++) {
        stv_cell_free(&cells[c]);
        cell_end(&made[c]);
    }
}

static void equal_sites_do_not_matter(void **state)
{
    (void)state;
    static struct grid grid;
    grid_new(&grid, &hill, &hill, 3, 8);
    for (size_t p = 0; p < grid.result.n_pairs; p++)
        for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
            if (grid.result.pairs[p].differs == STV_FACTOR_SITE) {
                assert_int_equal(grid.result.pairs[p].figure[m].verdict, STV_VERDICT_SAME);
                stv_assert_close(grid.result.pairs[p].figure[m].mean_nd, 0.0, 0.0, 0.0);
            }
    for (size_t m = 0; m < STV_CELL_METRIC_N; m++)
        stv_assert_close(grid.result.split[m].site_frac, 0.0, 0.0, 1e-12);
    grid.cells[3].n_tiers = 1;
    struct stv_grid_result refused;
    stv_assert_status(stv_grid_compare(&grid.request, &refused), STV_E_ARG);
    grid.cells[3].n_tiers = 2;
    grid_end(&grid);
}

/* The house's reference cask, kept three years as the reference is, holds wood 1. */
static void wood_is_told_of_the_reference(void **state)
{
    (void)state;
    struct one_cell made;
    cell_new(&made, &hill, 3, 0); /* trials give the cask a wood of its own */
    made.input.follow_y = 3;
    struct stv_study_cell cell = run(&made);
    struct stv_grid_request request = {.sizes = {1, 1, 1, 2},
                                       .cells = &cell,
                                       .wood_least_nd = 0.7,
                                       .wood_most_nd = 1.3,
                                       .least_abv20_frac = 0.46};
    struct stv_grid_result result;
    stv_assert_ok(stv_grid_compare(&request, &result));
    stv_assert_close(result.arms[0].figure[STV_CELL_WOOD_ND].p50, 1.0, 0.0, 0.02);
    assert_true(result.arms[1].figure[STV_CELL_WOOD_ND].p50 > 1.0);
    /* It grows through 0.7 on its way to 1 and stays under 1.3: some months, not all. */
    double months = result.arms[0].figure[STV_CELL_WINDOW_MONTHS].p50;
    assert_true(months > 6.0 && months < 36.0);
    assert_int_equal(result.n_pairs, 0);
    stv_grid_free(&result);
    stv_cell_free(&cell);
    cell_end(&made);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cell_is_a_site),
        cmocka_unit_test(tables_serve_the_next_cask),
        cmocka_unit_test(years_are_followed),
        cmocka_unit_test(climate_is_counted),
        cmocka_unit_test(hotter_and_drier_loses_more_litres),
        cmocka_unit_test(a_study_of_two_sites),
        cmocka_unit_test(a_site_is_all_its_casks_and_tiers),
        cmocka_unit_test(casks_count_as_often_as_there_are),
        cmocka_unit_test(many_kinds_are_not_paired),
        cmocka_unit_test(a_lone_arm_is_its_level),
        cmocka_unit_test(equal_sites_do_not_matter),
        cmocka_unit_test(wood_is_told_of_the_reference),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
