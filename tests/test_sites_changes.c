/* Changes of a building against the building as it is: laws that hold whatever the weather. */
#include "model/calendar.h"
#include "model/constructions.h"
#include "model/sites_changes.h"
#include "model/units.h"
#include "tests/places.h"
#include "tests/usual.h"

#include <gsl/gsl_errno.h>
#ifdef _OPENMP
#include <omp.h>
#endif

#define YEAR_H 8760
#define N_TIERS 3

struct study {
    struct stv_weather weather;
    struct stv_building as_is;
    struct stv_building_change changes[4];
    struct stv_cask cask;
    struct stv_house_rules rules;
    struct stv_changes_request request;
};

/* Years of a hot plain, each a kelvin warmer than the one before. */
static void make_weather(size_t n_years, struct stv_weather *out)
{
    struct stv_weather_record record = {
        .grid = {day_of(2021, 1, 1) * STV_DAY_S, STV_HOUR_S, 0, n_years * YEAR_H, false},
        .site = {34.0, 0.0, 300.0}};
    double *temp_c = room_for(record.grid.n), *rh_frac = room_for(record.grid.n);
    for (size_t k = 0; k < record.grid.n; k++) {
        double day = (double)k / STV_DAY_H, hour = (double)(k % STV_DAY_H);
        double year_nd = cos(TWO_PI * (day - 200.0) / 365.0);
        temp_c[k] = 17.0 + (double)(k / YEAR_H) + 11.0 * year_nd +
                    7.0 * cos(TWO_PI * (hour - 15.0) / 24.0) + 2.0 * sin(0.05 * (double)k);
        rh_frac[k] = 0.55 - 0.2 * cos(TWO_PI * (hour - 15.0) / 24.0);
    }
    record.columns[STV_WQ_TEMP_C] = temp_c;
    record.columns[STV_WQ_RH_FRAC] = rh_frac;
    stv_assert_ok(stv_weather_complete(&record, out));
    stv_weather_record_free(&record);
}

static void study_new(struct study *study, size_t n_years, size_t n_draws)
{
    *study = (struct study){.cask = cask_new("study", 200.0), .rules = stv_house_rules_default()};
    make_weather(n_years, &study->weather);
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_RACKED_SHED, N_TIERS, 10, 2, &study->as_is));
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &study->as_is.roof));
    study->as_is.roof.absorptance_frac = 0.85;
    study->request = (struct stv_changes_request){
        .numbers = &usual,
        .weather = &study->weather,
        .seasons = {{172, 262}, {355, 80}, {0, 364}},
        .as_is = &study->as_is,
        .changes = study->changes,
        .cask = &study->cask,
        .fill_abv20_frac = 0.60,
        .rules = &study->rules,
        .margin = {[STV_CHANGE_LPA_L] = 0.08},
        .options = {9, n_draws, 5.0},
    };
}

static struct stv_building *add_change(struct study *study, const char *name)
{
    struct stv_building_change *change = &study->changes[study->request.n_changes++];
    snprintf(change->name, sizeof change->name, "%s", name);
    change->building = study->as_is;
    return &change->building;
}

static struct stv_changes_result run(const struct study *study)
{
    struct stv_changes_result result;
    stv_assert_ok(stv_sites_changes(&study->request, &result));
    return result;
}

static double width(struct stv_range range)
{
    return range.p95 - range.p05;
}

static void saying_the_same_changes_nothing(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 20);
    add_change(&study, "the same");
    struct stv_changes_result result = run(&study);
    assert_int_equal(result.n_tiers, N_TIERS);
    assert_int_equal(result.n_members, 16);
    assert_int_equal(result.n_trials, 32);
    assert_int_equal(result.n_years, 2);
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++) {
        for (size_t t = 0; t < N_TIERS; t++) {
            stv_assert_close(result.effects[0].tiers[t].figure[f].p05, 0.0, 0.0, 0.0);
            stv_assert_close(result.effects[0].tiers[t].figure[f].p95, 0.0, 0.0, 0.0);
            assert_true(width(result.as_is[t].figure[f]) > 0.0);
        }
        stv_assert_close(result.effects[0].mean.figure[f].p95, 0.0, 0.0, 0.0);
    }
    stv_changes_result_free(&result);
    stv_weather_free(&study.weather);
}

static void a_white_roof_cools_the_top(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 32);
    add_change(&study, "white roof")->roof.absorptance_frac = 0.25;
    struct stv_changes_result result = run(&study);
    const struct stv_change_row *top = &result.effects[0].tiers[N_TIERS - 1];
    const struct stv_change_row *floor = &result.effects[0].tiers[0];
    assert_true(top->figure[STV_CHANGE_WARM_LIQUID_C].p95 < -0.5);
    assert_true(top->figure[STV_CHANGE_WARM_LIQUID_C].p50 <
                floor->figure[STV_CHANGE_WARM_LIQUID_C].p50);
    assert_true(top->figure[STV_CHANGE_WARM_LIQUID_C].p50 <
                top->figure[STV_CHANGE_COLD_LIQUID_C].p50);
    assert_true(top->figure[STV_CHANGE_WARM_RH_FRAC].p05 > 0.0);
    assert_true(top->figure[STV_CHANGE_WOOD_ND].p95 < 0.0); /* a cooler house slows the wood */
    assert_true(top->figure[STV_CHANGE_FRUIT_ND].p05 > 0.0);
    assert_true(top->figure[STV_CHANGE_VOLUME20_L].p05 > 0.0);
    /* Paired differences are surer than the levels they are made of. */
    for (size_t t = 0; t < N_TIERS; t++) {
        assert_true(width(result.effects[0].tiers[t].figure[STV_CHANGE_YEAR_LIQUID_C]) <
                    0.9 * width(result.as_is[t].figure[STV_CHANGE_YEAR_LIQUID_C]));
        assert_true(width(result.effects[0].tiers[t].figure[STV_CHANGE_LPA_L]) <
                    width(result.as_is[t].figure[STV_CHANGE_LPA_L]));
    }
    stv_changes_result_free(&result);
    stv_weather_free(&study.weather);
}

/* Bottles follow the alcohol where the cask stays above the bottling strength. */
static void bottles_are_the_alcohol_in_them(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 1, 4);
    add_change(&study, "fewer casks")->n_casks *= 0.25;
    struct stv_changes_result result = run(&study);
    double bottles_per_lpa = (1.0 - study.rules.bottling_loss_frac) /
                             study.rules.bottling_abv20_frac / study.rules.bottle_l;
    for (size_t t = 0; t < N_TIERS; t++) {
        const struct stv_change_row *row = &result.effects[0].tiers[t];
        stv_assert_close(row->figure[STV_CHANGE_BOTTLES_ND].p50,
                         bottles_per_lpa * row->figure[STV_CHANGE_LPA_L].p50, 1e-9, 0.0);
    }
    stv_assert_close(result.effects[0].n_casks, 0.25 * study.as_is.n_casks, 0.0, 0.0);
    stv_assert_close(result.margin[STV_CHANGE_LPA_L], 0.08, 0.0, 0.0);
    stv_changes_result_free(&result);
    stv_weather_free(&study.weather);
}

/* The best has nothing before it; against the others it is judged trial by trial. */
static void the_best_is_told_from_the_rest(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 1, 6);
    add_change(&study, "darker roof")->roof.absorptance_frac = 0.95;
    add_change(&study, "white roof")->roof.absorptance_frac = 0.25;
    add_change(&study, "whiter roof")->roof.absorptance_frac = 0.15;
    struct stv_changes_result result = run(&study);
    assert_int_equal(result.best_idx, 2);
    stv_assert_close(result.effects[2].behind_lpa_l.p05, 0.0, 0.0, 0.0);
    stv_assert_close(result.effects[2].behind_lpa_l.p95, 0.0, 0.0, 0.0);
    assert_true(result.effects[1].behind_lpa_l.p05 > 0.0);
    assert_true(result.effects[1].behind_lpa_l.p50 < result.effects[0].behind_lpa_l.p50);
    assert_true(result.effects[0].mean.figure[STV_CHANGE_LPA_L].p50 < 0.0);
    stv_changes_result_free(&result);
    stv_weather_free(&study.weather);
}

static void same_effect(const struct stv_change_effect *a, const struct stv_change_effect *b)
{
    assert_string_equal(a->name, b->name);
    assert_memory_equal(a->tiers, b->tiers, N_TIERS * sizeof *a->tiers);
    assert_memory_equal(&a->mean, &b->mean, sizeof a->mean);
}

static void order_and_threads_do_not_matter(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 3, 6);
    add_change(&study, "white roof")->roof.absorptance_frac = 0.25;
    add_change(&study, "vents")->vent_high_m2 = 2.0;
    struct stv_changes_result two = run(&study), one;
    struct stv_building_change swap = study.changes[0];
    study.changes[0] = study.changes[1];
    study.changes[1] = swap;
#ifdef _OPENMP
    int n_threads = omp_get_max_threads();
    omp_set_num_threads(n_threads > 1 ? 1 : 2);
#endif
    one = run(&study);
#ifdef _OPENMP
    omp_set_num_threads(n_threads);
#endif
    same_effect(&two.effects[0], &one.effects[1]);
    same_effect(&two.effects[1], &one.effects[0]);
    assert_memory_equal(two.as_is, one.as_is, N_TIERS * sizeof *two.as_is);
    stv_changes_result_free(&two);
    stv_changes_result_free(&one);
    stv_weather_free(&study.weather);
}

/* Without draws every range is one number, that of the buildings as they are said. */
static void without_draws_there_is_one_number(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 2, 0);
    add_change(&study, "white roof")->roof.absorptance_frac = 0.25;
    struct stv_changes_result result = run(&study);
    assert_int_equal(result.n_trials, 1);
    assert_int_equal(result.n_years, 2);
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++) {
        stv_assert_close(width(result.effects[0].tiers[0].figure[f]), 0.0, 0.0, 0.0);
        stv_assert_close(width(result.as_is[0].figure[f]), 0.0, 0.0, 0.0);
    }
    struct stv_building_climate climate;
    struct stv_weather first = study.weather;
    stv_assert_ok(stv_building_simulate(&study.as_is, &first, STV_HOUR_S, &climate));
    stv_assert_close(result.as_is[0].figure[STV_CHANGE_YEAR_RH_FRAC].p50,
                     stv_mean_nd(climate.rh_frac, climate.grid.n), 1e-12, 0.0);
    stv_building_climate_free(&climate);
    stv_changes_result_free(&result);
    stv_weather_free(&study.weather);
}

static void refusals(void **state)
{
    (void)state;
    struct study study;
    study_new(&study, 1, 2);
    struct stv_changes_result result;
    stv_assert_ok(
        stv_building_of_kind(STV_BUILDING_RACKED_SHED, 5, 10, 2, add_change(&study, "more tiers")));
    stv_assert_status(stv_sites_changes(&study.request, &result), STV_E_DOMAIN);
    assert_null(result.effects);
    study.request.n_changes = 0;
    study.weather.grid.n = 8000;
    stv_assert_status(stv_sites_changes(&study.request, &result), STV_E_NO_DATA);
    study.weather.grid.n = YEAR_H;
    result = run(&study);
    assert_int_equal(result.n_effects, 0);
    stv_changes_result_free(&result);
    stv_weather_free(&study.weather);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(saying_the_same_changes_nothing),
        cmocka_unit_test(a_white_roof_cools_the_top),
        cmocka_unit_test(bottles_are_the_alcohol_in_them),
        cmocka_unit_test(the_best_is_told_from_the_rest),
        cmocka_unit_test(order_and_threads_do_not_matter),
        cmocka_unit_test(without_draws_there_is_one_number),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
