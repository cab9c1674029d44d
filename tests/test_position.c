/* Loggers joined with a building: the stated rule of model/position.h, case by case. */
#include "model/air.h"
#include "model/position.h"
#include "model/units.h"
#include "tests/check.h"

#include <gsl/gsl_errno.h>
#include <stdlib.h>

#define TWO_PI 6.28318530717958647693
#define T0_S ((int64_t)1767225600) /* 2026-01-01 00:00 UTC */
#define TIERS 2

static const struct stv_place place = {0, 1, 3, 0};

static double wave_of_year(size_t hour, double shift_rad)
{
    double time_d = ((double)T0_S + ((double)hour + 0.5) * STV_HOUR_S) / STV_DAY_S;
    return sin(TWO_PI * time_d / STV_YEAR_D + shift_rad);
}

/* Air of the building at tier 1; the floor is 4 K cooler, so that a wrong tier shows. */
static double model_air_c(size_t hour)
{
    return 15.5 - 12.3 * wave_of_year(hour, 1.2) + 3.1 * sin(TWO_PI * (double)hour / 24.0);
}

static struct stv_building_climate building_new(size_t n)
{
    struct stv_building_climate climate = {0};
    climate.grid = (struct stv_grid){T0_S, STV_HOUR_S, -360, n, false};
    climate.n_tiers = TIERS;
    climate.air_c = malloc(TIERS * n * sizeof(double));
    climate.rh_frac = malloc(TIERS * n * sizeof(double));
    climate.radiant_c = malloc(TIERS * n * sizeof(double));
    assert_true(climate.air_c && climate.rh_frac && climate.radiant_c);
    for (size_t i = 0; i < TIERS; i++) {
        for (size_t k = 0; k < n; k++) {
            size_t at = i * n + k;
            climate.air_c[at] = model_air_c(k) - (i ? 0.0 : 4.0);
            climate.rh_frac[at] = 0.52 + 0.1 * wave_of_year(k, 0.3);
            climate.radiant_c[at] = climate.air_c[at] + 1.25;
        }
    }
    return climate;
}

static void building_end(struct stv_building_climate *climate)
{
    free(climate->air_c);
    free(climate->rh_frac);
    free(climate->radiant_c);
}

/* A logger from hour `first` of the building's grid on, showing `air_c` and `rh_frac`. */
static struct stv_logger_hours logger_new(size_t first, size_t n, bool has_humidity)
{
    struct stv_logger_hours logger = {.place = place};
    logger.grid = (struct stv_grid){T0_S + (int64_t)first * STV_HOUR_S, STV_HOUR_S, -360, n, false};
    logger.air_c = malloc(n * sizeof(double));
    logger.rh_frac = has_humidity ? malloc(n * sizeof(double)) : NULL;
    assert_non_null(logger.air_c);
    assert_true(!has_humidity || logger.rh_frac);
    for (size_t k = 0; k < n; k++) {
        logger.air_c[k] = 20.0;
        if (has_humidity)
            logger.rh_frac[k] = 0.6;
    }
    return logger;
}

static void logger_end(struct stv_logger_hours *logger)
{
    free(logger->air_c);
    free(logger->rh_frac);
}

/* Sets the logger to the building's tier 1 plus an offset and times a vapour ratio. */
static void show_model(struct stv_logger_hours *logger, const struct stv_building_climate *model,
                       double offset_k, double wave_k, double vapour_ratio_nd)
{
    for (size_t k = 0; k < logger->grid.n; k++) {
        int64_t start_s = stv_grid_start_s(&logger->grid, k);
        size_t hour = stv_grid_index(&model->grid, start_s);
        size_t at = model->grid.n + hour;
        double vapour_pa = model->rh_frac[at] * stv_water_psat_pa(model->air_c[at]);
        logger->air_c[k] = model->air_c[at] + offset_k + wave_k * wave_of_year(hour, 0.7);
        if (logger->rh_frac)
            logger->rh_frac[k] = vapour_ratio_nd * vapour_pa / stv_water_psat_pa(logger->air_c[k]);
    }
}

static double vapour_of(const struct stv_position *position, size_t k)
{
    return position->rh_frac[k] * stv_water_psat_pa(position->air_c[k]);
}

static double model_vapour_of(const struct stv_building_climate *model, size_t k)
{
    size_t at = model->grid.n + k;
    return model->rh_frac[at] * stv_water_psat_pa(model->air_c[at]);
}

static void model_alone_is_passed_on(void **state)
{
    (void)state;
    struct stv_building_climate model = building_new(100);
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, &model, NULL, NULL, 0, &position));
    assert_int_equal(position.source, STV_SOURCE_MODELLED);
    assert_int_equal(position.place.bay_idx, 3);
    stv_assert_close(position.measured_frac, 0.0, 0.0, 0.0);
    stv_assert_close(position.offset_k, (double)NAN, 0.0, 0.0);
    stv_assert_close(position.offset_rh_frac, (double)NAN, 0.0, 0.0);
    for (size_t k = 0; k < 100; k++) {
        stv_assert_close(position.air_c[k], model.air_c[100 + k], 0.0, 0.0);
        stv_assert_close(position.rh_frac[k], model.rh_frac[100 + k], 1e-14, 0.0);
        stv_assert_close(position.radiant_c[k], model.radiant_c[100 + k], 1e-14, 0.0);
    }
    stv_position_free(&position);
    assert_null(position.air_c);
    building_end(&model);
}

/* 30 days shared: constant offsets; one hour fewer: none; measured hours win in both. */
static void thirty_days_move_the_rest(void **state)
{
    (void)state;
    const size_t n = 3000, first = 500;
    struct stv_building_climate model = building_new(n);
    for (size_t shared = 719; shared <= 720; shared++) {
        struct stv_logger_hours logger = logger_new(first, shared, true);
        show_model(&logger, &model, -1.83, 0.0, 1.17);
        const struct stv_logger_hours *loggers[] = {&logger};
        struct stv_position position;
        stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 1, &position));
        bool is_moved = shared == 720;
        stv_assert_close(position.offset_k, -1.83, 1e-12, 0.0);
        assert_true(position.offset_rh_frac > 0.05);
        assert_int_equal(position.source, STV_SOURCE_MIXED);
        stv_assert_close(position.measured_frac, (double)shared / (double)n, 1e-15, 0.0);
        for (size_t k = 0; k < n; k++) {
            bool is_measured = k >= first && k < first + shared;
            double air_c = model.air_c[n + k] + (is_moved || is_measured ? -1.83 : 0.0);
            double vapour_pa = model_vapour_of(&model, k) * (is_moved || is_measured ? 1.17 : 1.0);
            stv_assert_close(position.air_c[k], air_c, 0.0, 1e-11);
            stv_assert_close(vapour_of(&position, k), vapour_pa, 1e-11, 0.0);
            stv_assert_close(position.radiant_c[k] - position.air_c[k], 1.25, 1e-12, 0.0);
        }
        stv_position_free(&position);
        logger_end(&logger);
    }
    building_end(&model);
}

/* 320 days shared and an offset that swings with the year: the wave is found again, and holds in
 * the year without a logger.  200 days of the same: the plain mean. */
static void long_overlap_finds_the_yearly_wave(void **state)
{
    (void)state;
    const size_t n = 2 * 8766;
    struct stv_building_climate model = building_new(n);
    struct stv_logger_hours logger = logger_new(100, 320 * 24, true);
    struct stv_logger_hours shorter = logger_new(100, 200 * 24, true);
    show_model(&logger, &model, 0.62, 1.35, 0.91);
    show_model(&shorter, &model, 0.62, 1.35, 0.91);
    const struct stv_logger_hours *loggers[] = {&logger}, *short_loggers[] = {&shorter};
    struct stv_position position, level;
    stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 1, &position));
    stv_assert_ok(stv_position_join(place, &model, NULL, short_loggers, 1, &level));
    for (size_t k = 8800; k < n; k++) {
        double want_c = model.air_c[n + k] + 0.62 + 1.35 * wave_of_year(k, 0.7);
        stv_assert_close(position.air_c[k], want_c, 0.0, 1e-9);
        stv_assert_close(vapour_of(&position, k), 0.91 * model_vapour_of(&model, k), 1e-9, 0.0);
        stv_assert_close(level.air_c[k], model.air_c[n + k] + level.offset_k, 0.0, 1e-9);
    }
    stv_position_free(&position);
    stv_position_free(&level);
    logger_end(&logger);
    logger_end(&shorter);
    building_end(&model);
}

/* 330 days of hours, all from the summer halves of two years, do not carry a wave into winter. */
static void two_summers_are_not_a_year(void **state)
{
    (void)state;
    const size_t n = 2 * 8766, half = 165 * 24;
    struct stv_building_climate model = building_new(n);
    struct stv_logger_hours a = logger_new(2900, half, true), b = logger_new(11660, half, true);
    show_model(&a, &model, 0.5, 1.35, 1.0);
    show_model(&b, &model, 0.5, 1.35, 1.0);
    const struct stv_logger_hours *loggers[] = {&a, &b};
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 2, &position));
    for (size_t k = 0; k < 2000; k++)
        stv_assert_close(position.air_c[k], model.air_c[n + k] + position.offset_k, 0.0, 1e-9);
    stv_position_free(&position);
    logger_end(&a);
    logger_end(&b);
    building_end(&model);
}

static void several_loggers_are_averaged(void **state)
{
    (void)state;
    const size_t n = 40;
    struct stv_building_climate model = building_new(n);
    struct stv_logger_hours a = logger_new(5, 20, true), b = logger_new(15, 20, true);
    struct stv_logger_hours bare = logger_new(15, 20, false);
    for (size_t k = 0; k < 20; k++) {
        a.air_c[k] = 21.5;
        a.rh_frac[k] = 0.55;
        b.air_c[k] = 24.1;
        b.rh_frac[k] = 0.71;
        bare.air_c[k] = 26.4;
    }
    const struct stv_logger_hours *loggers[] = {&a, &b, &bare};
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 3, &position));
    stv_assert_close(position.air_c[10], 21.5, 1e-14, 0.0);
    stv_assert_close(position.rh_frac[10], 0.55, 1e-14, 0.0);
    double mean_c = (21.5 + 24.1 + 26.4) / 3.0;
    double vapour_pa = 0.5 * (0.55 * stv_water_psat_pa(21.5) + 0.71 * stv_water_psat_pa(24.1));
    stv_assert_close(position.air_c[20], mean_c, 1e-14, 0.0);
    stv_assert_close(vapour_of(&position, 20), vapour_pa, 1e-13, 0.0);
    stv_assert_close(position.air_c[30], 25.25, 1e-14, 0.0);
    stv_assert_close(position.measured_frac, 30.0 / 40.0, 1e-15, 0.0);
    stv_position_free(&position);
    logger_end(&a);
    logger_end(&b);
    logger_end(&bare);
    building_end(&model);
}

static void bare_temperature_takes_the_modelled_vapour(void **state)
{
    (void)state;
    const size_t n = 1000;
    struct stv_building_climate model = building_new(n);
    struct stv_logger_hours logger = logger_new(0, n, false);
    show_model(&logger, &model, -14.5, 0.0, 1.0); /* so cold that the vapour would condense */
    const struct stv_logger_hours *loggers[] = {&logger};
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 1, &position));
    assert_int_equal(position.source, STV_SOURCE_MEASURED);
    stv_assert_close(position.measured_frac, 1.0, 0.0, 0.0);
    stv_assert_close(position.offset_k, -14.5, 1e-12, 0.0);
    stv_assert_close(position.offset_rh_frac, (double)NAN, 0.0, 0.0);
    size_t n_saturated = 0;
    for (size_t k = 0; k < n; k++) {
        double want = model_vapour_of(&model, k) / stv_water_psat_pa(position.air_c[k]);
        stv_assert_close(position.rh_frac[k], fmin(want, 1.0), 1e-13, 0.0);
        n_saturated += want > 1.0;
    }
    assert_true(n_saturated > 0);
    stv_position_free(&position);
    logger_end(&logger);
    building_end(&model);
}

static void source_turns_at_ninety_five_hundredths(void **state)
{
    (void)state;
    struct stv_building_climate model = building_new(100);
    for (size_t n_measured = 94; n_measured <= 95; n_measured++) {
        struct stv_logger_hours logger = logger_new(2, n_measured, true);
        const struct stv_logger_hours *loggers[] = {&logger};
        struct stv_position position;
        stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 1, &position));
        assert_int_equal(position.source,
                         n_measured == 95 ? STV_SOURCE_MEASURED : STV_SOURCE_MIXED);
        stv_position_free(&position);
        logger_end(&logger);
    }
    building_end(&model);
}

/* Grids that start elsewhere, before the weather and off the full hour: the middle decides. */
static void grids_meet_on_hours_of_utc(void **state)
{
    (void)state;
    struct stv_building_climate model = building_new(48);
    struct stv_logger_hours logger = logger_new(0, 60, true);
    logger.grid.t0_s = T0_S - 6 * STV_HOUR_S + 600;
    for (size_t k = 0; k < 60; k++)
        logger.air_c[k] = 10.0 + 0.1 * (double)k;
    const struct stv_logger_hours *loggers[] = {&logger};
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 1, &position));
    assert_int_equal(position.grid.n, 48);
    stv_assert_close(position.air_c[0], 10.6, 1e-14, 0.0);
    stv_assert_close(position.air_c[47], 15.3, 1e-14, 0.0);
    stv_position_free(&position);
    logger_end(&logger);
    building_end(&model);
}

static void typical_year_is_not_moved(void **state)
{
    (void)state;
    struct stv_building_climate model = building_new(1000);
    model.grid.is_typical = true;
    struct stv_logger_hours logger = logger_new(0, 1000, true);
    const struct stv_logger_hours *loggers[] = {&logger};
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, &model, NULL, loggers, 1, &position));
    assert_int_equal(position.source, STV_SOURCE_MODELLED);
    stv_assert_close(position.air_c[500], model.air_c[1500], 0.0, 0.0);
    stv_position_free(&position);
    logger_end(&logger);
    building_end(&model);
}

/* No weather: the span of both loggers, holes left open. */
static void loggers_alone(void **state)
{
    (void)state;
    struct stv_logger_hours a = logger_new(10, 30, true), b = logger_new(50, 10, true);
    for (size_t k = 0; k < 30; k++)
        a.air_c[k] = 12.0 + 0.5 * (double)k;
    for (size_t k = 24; k < 28; k++)
        a.air_c[k] = (double)NAN;
    const struct stv_logger_hours *loggers[] = {&b, &a};
    struct stv_position position;
    stv_assert_ok(stv_position_join(place, NULL, NULL, loggers, 2, &position));
    assert_true(position.grid.t0_s == T0_S + 10 * STV_HOUR_S);
    assert_int_equal(position.grid.n, 50);
    assert_int_equal(position.source, STV_SOURCE_MIXED);
    stv_assert_close(position.measured_frac, 36.0 / 50.0, 1e-15, 0.0);
    stv_assert_close(position.offset_k, (double)NAN, 0.0, 0.0);
    for (size_t k = 0; k < 24; k++) {
        stv_assert_close(position.air_c[k], 12.0 + 0.5 * (double)k, 1e-14, 0.0);
        stv_assert_close(position.radiant_c[k], position.air_c[k], 0.0, 0.0);
    }
    for (size_t k = 24; k < 28; k++) {
        stv_assert_close(position.air_c[k], (double)NAN, 0.0, 0.0);
        stv_assert_close(position.rh_frac[k], (double)NAN, 0.0, 0.0);
    }
    stv_assert_close(position.air_c[35], (double)NAN, 0.0, 0.0); /* between the loggers */
    stv_assert_close(position.air_c[45], 20.0, 0.0, 0.0);
    stv_position_free(&position);
    logger_end(&a);
    logger_end(&b);
}

static void refusals_are_said(void **state)
{
    (void)state;
    struct stv_building_climate model = building_new(48);
    struct stv_logger_hours bare = logger_new(0, 48, false), dead = logger_new(0, 48, true);
    for (size_t k = 0; k < 48; k++)
        dead.air_c[k] = (double)NAN;
    const struct stv_logger_hours *bares[] = {&bare}, *deads[] = {&dead}, *holes[] = {NULL};
    struct stv_position position;
    stv_assert_status(stv_position_join(place, NULL, NULL, NULL, 0, &position), STV_E_NO_DATA);
    stv_assert_status(stv_position_join(place, NULL, NULL, bares, 1, &position), STV_E_NO_DATA);
    stv_assert_status(stv_position_join(place, NULL, NULL, deads, 1, &position), STV_E_NO_DATA);
    assert_null(position.air_c);
    stv_assert_status(stv_position_join(place, &model, NULL, NULL, 1, &position), STV_E_ARG);
    stv_assert_status(stv_position_join(place, &model, NULL, holes, 1, &position), STV_E_ARG);
    stv_assert_status(stv_position_join(place, &model, NULL, NULL, 0, NULL), STV_E_ARG);
    struct stv_place high = {0, TIERS, -1, -1}, any = {0, -1, -1, -1};
    stv_assert_status(stv_position_join(high, &model, NULL, NULL, 0, &position), STV_E_ARG);
    stv_assert_status(stv_position_join(any, &model, NULL, NULL, 0, &position), STV_E_ARG);
    bare.grid.step_s = 1800;
    stv_assert_status(stv_position_join(place, &model, NULL, bares, 1, &position), STV_E_ARG);
    model.grid.step_s = STV_DAY_S;
    stv_assert_status(stv_position_join(place, &model, NULL, NULL, 0, &position), STV_E_ARG);
    stv_position_free(NULL);
    logger_end(&bare);
    logger_end(&dead);
    building_end(&model);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(model_alone_is_passed_on),
        cmocka_unit_test(thirty_days_move_the_rest),
        cmocka_unit_test(long_overlap_finds_the_yearly_wave),
        cmocka_unit_test(two_summers_are_not_a_year),
        cmocka_unit_test(several_loggers_are_averaged),
        cmocka_unit_test(bare_temperature_takes_the_modelled_vapour),
        cmocka_unit_test(source_turns_at_ninety_five_hundredths),
        cmocka_unit_test(grids_meet_on_hours_of_utc),
        cmocka_unit_test(typical_year_is_not_moved),
        cmocka_unit_test(loggers_alone),
        cmocka_unit_test(refusals_are_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
