/* One cask under several skies: the same, more, less, and which years may be compared. */
#include "model/sites.h"
#include "tests/byte_shelf.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define YEAR_H 8760

static const struct climate_of mild = {
    .mean_c = 11.0, .year_k = 7.0, .day_k = 4.0, .rh_frac = 0.76, .rh_year_frac = 0.05};
static const struct climate_of hot = {
    .mean_c = 21.0, .year_k = 10.0, .day_k = 7.0, .rh_frac = 0.52, .rh_year_frac = 0.08};
static const double margin[STV_SITE_METRIC_N] = {0.003, 0.003, 0.0015, 0.05, 0.05};

struct study {
    struct stv_position places[3];
    struct stv_site_input sites[3];
    struct stv_cask cask;
    struct stv_sites_request request;
};

static void study_new(struct study *study, size_t n_sites, size_t n_draws)
{
    *study = (struct study){.cask = cask_new("study", 200.0)};
    study->request = (struct stv_sites_request){.sites = study->sites,
                                                .n_sites = n_sites,
                                                .cask = &study->cask,
                                                .fill_abv20_frac = 0.60,
                                                .options = {9, n_draws, 5.0}};
    memcpy(study->request.margin, margin, sizeof margin);
    for (size_t s = 0; s < n_sites; s++) {
        snprintf(study->sites[s].name, STV_ID_MAX, "site %zu", s + 1);
        study->sites[s].position = &study->places[s];
        study->sites[s].exposed_frac = 1.0;
    }
}

static void study_end(struct study *study)
{
    for (int s = 0; s < 3; s++)
        place_end(&study->places[s]);
}

static struct stv_sites_result compare(const struct study *study)
{
    struct stv_sites_result result;
    stv_assert_ok(stv_sites_compare(&study->request, &result));
    return result;
}

static void identical_sites_are_the_same(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 24);
    study.places[0] = place_new(2001, 3 * YEAR_H, 0, &mild);
    study.places[1] = place_new(2001, 3 * YEAR_H, 0, &mild);
    struct stv_sites_result result = compare(&study);
    assert_int_equal(result.n_pairs, 1);
    assert_int_equal(result.n_draws, 24);
    assert_int_equal(result.pairs[0].n_common_years, 3);
    for (int m = 0; m < STV_SITE_METRIC_N; m++) {
        assert_int_equal(result.pairs[0].metric[m].verdict, STV_VERDICT_SAME);
        stv_assert_close(result.pairs[0].metric[m].spread.p05, 0.0, 0.0, 0.0);
        stv_assert_close(result.pairs[0].metric[m].spread.p95, 0.0, 0.0, 0.0);
        assert_int_equal(result.pairs[0].metric[m].n_years_more, 0);
        stv_assert_close(result.margin[m], margin[m], 0.0, 0.0);
    }
    /* Wood is told against the reference cask, which lies three years. */
    assert_true(result.sites[0].metric[STV_SITE_WOOD_ND].p50 > 0.1);
    assert_true(result.sites[0].metric[STV_SITE_WOOD_ND].p50 < 0.9);
    stv_sites_result_free(&result);
    study_end(&study);
}

static void hot_and_dry_is_more(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 3, 24);
    study.places[0] = place_new(2001, 3 * YEAR_H, 0, &hot);
    study.places[1] = place_new(2001, 3 * YEAR_H, 0, &mild);
    study.places[2] = place_new(2001, 3 * YEAR_H, 0, &hot);
    struct stv_sites_result result = compare(&study);
    assert_int_equal(result.n_pairs, 3);
    const struct stv_site_pair *pair = &result.pairs[0];
    assert_int_equal(pair->a_idx, 0);
    assert_int_equal(pair->b_idx, 1);
    assert_int_equal(pair->metric[STV_SITE_VOLUME_LOSS_FRAC].verdict, STV_VERDICT_MORE);
    assert_int_equal(pair->metric[STV_SITE_VOLUME_LOSS_FRAC].n_years_more, 3);
    assert_int_equal(pair->metric[STV_SITE_DRIFT_FRAC].verdict, STV_VERDICT_MORE);
    assert_int_equal(pair->metric[STV_SITE_WOOD_ND].verdict, STV_VERDICT_MORE);
    assert_true(pair->metric[STV_SITE_FRUIT_ND].spread.p50 < 0.0);
    assert_int_equal(result.pairs[1].metric[STV_SITE_VOLUME_LOSS_FRAC].verdict, STV_VERDICT_SAME);
    assert_int_equal(result.pairs[2].metric[STV_SITE_VOLUME_LOSS_FRAC].verdict, STV_VERDICT_LESS);
    assert_int_equal(result.pairs[2].metric[STV_SITE_VOLUME_LOSS_FRAC].n_years_more, 0);
    stv_sites_result_free(&result);
    study_end(&study);
}

/* A difference of one sign is "more" only when its mean leaves the margin, and "the same" when
 * nearly all of what is believed of the mean lies inside. */
static void margins_decide(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 40);
    struct climate_of warmer = mild;
    warmer.mean_c += 1.5;
    study.places[0] = place_new(2001, 2 * YEAR_H, 0, &warmer);
    study.places[1] = place_new(2001, 2 * YEAR_H, 0, &mild);
    struct stv_sites_result result = compare(&study);
    struct stv_range by = result.pairs[0].metric[STV_SITE_VOLUME_LOSS_FRAC].spread;
    stv_sites_result_free(&result);
    assert_true(by.p05 > 0.0 && by.p50 < by.p95);
    const double margins[] = {0.9 * by.p50, 0.5 * (by.p50 + by.p95), 2.0 * by.p95};
    static const enum stv_verdict want[] = {STV_VERDICT_MORE, STV_VERDICT_UNSURE, STV_VERDICT_SAME};
    for (int i = 0; i < 3; i++) {
        study.request.margin[STV_SITE_VOLUME_LOSS_FRAC] = margins[i];
        result = compare(&study);
        assert_int_equal(result.pairs[0].metric[STV_SITE_VOLUME_LOSS_FRAC].verdict, want[i]);
        stv_sites_result_free(&result);
    }
    study_end(&study);
}

/* A steady year is the parameter sheet's (section 2, regression value): 22.5 C and 60 %, 4.469 %
 * and +0.760 % vol in 365.25 d; here 365. */
static void a_year_of_the_sheet(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 1, 0);
    study.places[0] = steady_place(2001, 2 * YEAR_H, 22.5, 0.60);
    struct stv_sites_result result = compare(&study);
    const struct stv_site_years *site = &result.sites[0];
    assert_int_equal(site->n_years, 2);
    assert_int_equal(site->years[0], 2001);
    assert_int_equal(site->years[1], 2002);
    assert_int_equal(result.n_draws, 1);
    for (size_t y = 0; y < 2; y++) {
        stv_assert_close(site->year_median[STV_SITE_VOLUME_LOSS_FRAC][y], 0.04469 * 365.0 / 365.25,
                         0.0, 3e-5);
        stv_assert_close(site->year_median[STV_SITE_DRIFT_FRAC][y], 0.00760, 0.0, 3e-5);
        stv_assert_close(site->year_median[STV_SITE_LPA_LOSS_FRAC][y],
                         1.0 - (1.0 - 0.04469) * (0.6076 / 0.60), 0.0, 1e-4);
    }
    assert_int_equal(result.n_pairs, 0);
    stv_sites_result_free(&result);
    study_end(&study);
}

/* Records of 2001-2003 and 2003-2004: one year in common, and only that is compared. */
static void only_common_years_are_compared(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 0); /* draws tell the leaks by the record's mean, which differs */
    study.places[0] = place_new(2001, 3 * YEAR_H + 600, 0, &mild);
    study.places[1] = place_new(2003, 2 * YEAR_H + 24, 0, &mild);
    for (size_t k = 0; k < 2 * YEAR_H; k++) /* hot years that the other did not see */
        study.places[0].air_c[k] = study.places[0].radiant_c[k] = 30.0;
    struct stv_sites_result result = compare(&study);
    assert_int_equal(result.sites[0].n_years, 3); /* 2004 has only begun */
    assert_int_equal(result.sites[1].n_years, 2);
    assert_int_equal(result.sites[1].years[0], 2003);
    assert_int_equal(result.pairs[0].n_common_years, 1);
    assert_int_equal(result.pairs[0].metric[STV_SITE_VOLUME_LOSS_FRAC].verdict, STV_VERDICT_SAME);
    assert_true(result.sites[0].year_median[STV_SITE_VOLUME_LOSS_FRAC][0] >
                1.5 * result.sites[0].year_median[STV_SITE_VOLUME_LOSS_FRAC][2]);
    stv_sites_result_free(&result);

    study.places[1].grid.t0_s -= (int64_t)20 * 366 * STV_DAY_S; /* long ago: none in common */
    result = compare(&study);
    assert_int_equal(result.pairs[0].n_common_years, 0);
    for (int m = 0; m < STV_SITE_METRIC_N; m++)
        assert_int_equal(result.pairs[0].metric[m].verdict, STV_VERDICT_UNSURE);
    stv_sites_result_free(&result);
    study_end(&study);
}

/* A typical year stands in 2001 but is none: it may be compared with another typical year only. */
static void typical_years_have_no_date(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 3, 6);
    study.places[0] = place_new(2001, YEAR_H, 0, &mild);
    study.places[1] = place_new(2001, YEAR_H, -420, &hot);
    study.places[2] = place_new(2001, 2 * YEAR_H, 0, &hot);
    study.places[0].grid.is_typical = study.places[1].grid.is_typical = true;
    struct stv_sites_result result = compare(&study);
    assert_int_equal(result.sites[0].n_years, 1);
    assert_int_equal(result.sites[0].years[0], 0);
    assert_int_equal(result.pairs[0].n_common_years, 1);
    assert_int_equal(result.pairs[0].metric[STV_SITE_VOLUME_LOSS_FRAC].verdict, STV_VERDICT_LESS);
    assert_int_equal(result.pairs[1].n_common_years, 0);
    assert_int_equal(result.pairs[2].n_common_years, 0);
    stv_sites_result_free(&result);
    study_end(&study);
}

/* A thimble that would dry up in a few years is emptied after its own. */
static void only_the_first_year_counts(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 1, 0);
    study.places[0] = steady_place(2001, 12 * YEAR_H, 35.0, 0.30);
    study.cask = cask_new("thimble", 20.0);
    struct stv_sites_result result = compare(&study);
    const double *loss = result.sites[0].year_median[STV_SITE_VOLUME_LOSS_FRAC];
    assert_int_equal(result.sites[0].n_years, 11); /* three leap days short of twelve */
    assert_true(loss[0] > 0.15 && loss[0] < 0.5);
    for (size_t y = 1; y < 11; y++)
        stv_assert_close(loss[y], loss[0], 1e-3, 0.0);
    stv_sites_result_free(&result);
    study_end(&study);
}

/* A table for each site, found again by the next run, and no value is another. */
static void kept_tables_change_nothing(void **state)
{
    (void)state;
    struct study study;
    struct stv_shelf shelf;
    stv_shelf_open(&shelf);
    study_new(&study, 2, 16);
    study.places[0] = place_new(2001, 2 * YEAR_H, 0, &mild);
    study.places[1] = place_new(2001, 2 * YEAR_H, 0, &hot);
    struct stv_sites_result without = compare(&study);
    study.request.store = &shelf.store;
    for (int again = 0; again < 2; again++) {
        struct stv_sites_result with = compare(&study);
        for (int s = 0; s < 2; s++)
            for (int m = 0; m < STV_SITE_METRIC_N; m++)
                assert_memory_equal(with.sites[s].values[m], without.sites[s].values[m],
                                    with.sites[s].n_years * 16 * sizeof(double));
        stv_sites_result_free(&with);
        assert_int_equal(shelf.n_kept, 2);
        assert_int_equal(shelf.n_found, again ? 2 : 0);
    }
    stv_sites_result_free(&without);
    stv_shelf_close(&shelf);
    study_end(&study);
}

static void refusals(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 2);
    study.places[0] = place_new(2001, 2 * YEAR_H, 0, &mild);
    study.places[1] = place_new(2001, 8000, 0, &mild); /* not a year */
    struct stv_sites_result result;
    stv_assert_status(stv_sites_compare(&study.request, &result), STV_E_NO_DATA);
    assert_null(result.sites);
    study.request.n_sites = 1;
    study.request.fill_abv20_frac = 1.4;
    stv_assert_status(stv_sites_compare(&study.request, &result), STV_E_DOMAIN);
    study.request.n_sites = 0;
    result = compare(&study);
    assert_int_equal(result.n_pairs, 0);
    stv_sites_result_free(&result);
    for (int m = 0; m < STV_SITE_METRIC_N; m++)
        assert_string_not_equal(stv_site_metric_name((enum stv_site_metric)m), "unknown");
    assert_string_equal(stv_site_metric_name(STV_SITE_METRIC_N), "unknown");
    study_end(&study);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(identical_sites_are_the_same),
        cmocka_unit_test(hot_and_dry_is_more),
        cmocka_unit_test(margins_decide),
        cmocka_unit_test(a_year_of_the_sheet),
        cmocka_unit_test(only_common_years_are_compared),
        cmocka_unit_test(typical_years_have_no_date),
        cmocka_unit_test(only_the_first_year_counts),
        cmocka_unit_test(kept_tables_change_nothing),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
