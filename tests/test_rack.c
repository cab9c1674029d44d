/* Racks learned from loggers: a law that the columns can hold comes back, months not seen are told
 * as well as is claimed, and nothing is claimed of what cannot be learned. */
#include "model/air.h"
#include "model/calendar.h"
#include "model/rack.h"
#include "model/units.h"
#include "tests/check.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define YEARS_H ((size_t)2 * 365 * 24)

static const double pi_nd = 3.14159265358979323846;

/* Even noise of -1 to 1, the same in every run. */
static double noise_nd(uint32_t *state)
{
    *state = *state * 1664525u + 1013904223u;
    return (double)(*state >> 8) / (double)(1u << 23) - 1.0;
}

struct house {
    struct stv_weather weather;
    double *store_air_c, *store_rh_frac; /* a building model */
    double *air_c, *rh_frac;             /* what a logger measures */
};

/* Two years from 2023 of a hot, dry place whose days differ; radiation from a clear sky. */
static struct house make_house(void)
{
    struct house house = {
        .weather = {.grid = {.t0_s = INT64_C(1672531200), .step_s = STV_HOUR_S, .n = YEARS_H},
                    .site = {33.0, 0.0, 300.0}}};
    for (size_t c = 0; c < STV_WC_N; c++)
        house.weather.columns[c] = calloc(YEARS_H, sizeof(double));
    house.store_air_c = calloc(YEARS_H, sizeof(double));
    house.store_rh_frac = calloc(YEARS_H, sizeof(double));
    house.air_c = calloc(YEARS_H, sizeof(double));
    house.rh_frac = calloc(YEARS_H, sizeof(double));
    uint32_t state = 7;
    double day_k = 0.0, cloud_frac = 0.0;
    for (size_t k = 0; k < YEARS_H; k++) {
        double **columns = house.weather.columns;
        if (k % 24 == 0) {
            day_k = 0.7 * day_k + 4.0 * noise_nd(&state);
            cloud_frac = 0.5 + 0.5 * noise_nd(&state);
        }
        double sunlit_frac;
        struct stv_sun sun = stv_sun_over(stv_grid_start_s(&house.weather.grid, k), STV_HOUR_S,
                                          &house.weather.site, &sunlit_frac);
        double ghi_w_m2 =
            sunlit_frac * stv_clear_sky_ghi_w_m2(sun.zenith_deg) * (1.0 - 0.7 * cloud_frac);
        double temp_c = 17.0 - 13.0 * cos(2.0 * pi_nd * (double)k / 8766.0) + day_k -
                        6.0 * cos(2.0 * pi_nd * ((double)k - 3.0) / 24.0);
        columns[STV_WC_TEMP_C][k] = temp_c;
        columns[STV_WC_VAPOUR_PA][k] = 0.5 * stv_water_psat_pa(temp_c - 5.0 + 2.0 * cloud_frac);
        columns[STV_WC_PRESSURE_PA][k] = 98000.0;
        columns[STV_WC_WIND_M_S][k] = 3.0 + 2.0 * noise_nd(&state);
        columns[STV_WC_GHI_W_M2][k] = ghi_w_m2;
        columns[STV_WC_DHI_W_M2][k] = (0.2 + 0.8 * cloud_frac) * ghi_w_m2;
        columns[STV_WC_DNI_W_M2][k] = 0.5 * (1.0 - cloud_frac) * ghi_w_m2;
        columns[STV_WC_SKY_W_M2][k] =
            (0.78 + 0.15 * cloud_frac) * STV_STEFAN_W_M2K4 * pow(temp_c + STV_ZERO_C_IN_K, 4.0);
    }
    return house;
}

static void free_house(struct house *house)
{
    for (size_t c = 0; c < STV_WC_N; c++)
        free(house->weather.columns[c]);
    free(house->store_air_c);
    free(house->store_rh_frac);
    free(house->air_c);
    free(house->rh_frac);
}

static size_t column_of(enum stv_rack_target target, const char *name)
{
    for (size_t c = 0; stv_rack_column_name(target, c); c++)
        if (strcmp(stv_rack_column_name(target, c), name) == 0)
            return c;
    fail_msg("no column %s", name);
    return 0;
}

static void add_column(const struct house *house, const char *name, double factor_nd, double *to)
{
    struct stv_rack_drive drive = {.weather = &house->weather};
    double *column = malloc(YEARS_H * sizeof *column);
    assert_non_null(column);
    stv_assert_ok(stv_rack_column(&drive, STV_RACK_AIR, column_of(STV_RACK_AIR, name), column));
    for (size_t k = 0; k < YEARS_H; k++)
        to[k] += factor_nd * column[k];
    free(column);
}

/* A store with a month's memory and a roof in the sun; loggers that are off by up to 0.3 K. */
static void make_measured(struct house *house, double noise_k)
{
    uint32_t state = 99;
    memset(house->air_c, 0, YEARS_H * sizeof(double));
    add_column(house, "air_3h", 0.1, house->air_c);
    add_column(house, "air_24h", 0.25, house->air_c);
    add_column(house, "air_720h", 0.65, house->air_c);
    add_column(house, "sun_24h", 0.012, house->air_c);
    for (size_t k = 0; k < YEARS_H; k++) {
        house->air_c[k] += 1.5 + noise_k * noise_nd(&state);
        house->rh_frac[k] = fmin(0.98, 0.8 * house->weather.columns[STV_WC_VAPOUR_PA][k] /
                                               stv_water_psat_pa(house->air_c[k]) +
                                           0.2);
    }
}

/* Takes away what lies outside [from, to) hours. */
static void keep_hours(double *values, size_t from, size_t to)
{
    for (size_t k = 0; k < YEARS_H; k++)
        if (k < from || k >= to)
            values[k] = NAN;
}

/* A logger that hung from June to September of the first year, off_k warmer than the house's air.
 */
#define SUMMER_FROM_H ((size_t)151 * 24)
#define SUMMER_TO_H ((size_t)273 * 24)
static void log_summer_alone(struct house *house, double off_k)
{
    for (size_t k = 0; k < YEARS_H; k++)
        house->air_c[k] += off_k;
    keep_hours(house->air_c, SUMMER_FROM_H, SUMMER_TO_H);
}

static double rms(const double *a, const double *b, size_t from, size_t to)
{
    double square = 0.0;
    for (size_t k = from; k < to; k++)
        square += (a[k] - b[k]) * (a[k] - b[k]);
    return sqrt(square / (double)(to - from));
}

static void a_store_comes_back(void **state)
{
    (void)state;
    struct house house = make_house();
    double *truth_c = calloc(YEARS_H, sizeof *truth_c), *told_c = calloc(YEARS_H, sizeof *told_c);
    double *told_rh_frac = calloc(YEARS_H, sizeof *told_rh_frac);
    make_measured(&house, 0.0);
    memcpy(truth_c, house.air_c, YEARS_H * sizeof *truth_c);
    make_measured(&house, 0.3);
    double *rh_frac = malloc(YEARS_H * sizeof *rh_frac);
    memcpy(rh_frac, house.rh_frac, YEARS_H * sizeof *rh_frac);
    keep_hours(house.air_c, 0, YEARS_H / 2);
    keep_hours(house.rh_frac, 0, YEARS_H / 2);
    struct stv_rack_request request = {.weather = &house.weather,
                                       .measured = {house.air_c, house.rh_frac}};
    struct stv_rack rack = {.from_tier_idx = -1};
    stv_assert_ok(stv_rack_learn(&request, NULL, NULL, &rack));
    assert_int_equal(rack.skill.n_months, 12);
    assert_int_equal(rack.skill.n_hours, YEARS_H / 2);
    assert_int_equal(rack.sum[STV_RACK_AIR].start, STV_START_OUTDOOR);
    /* The loggers' own noise is all that is left: 0.3 K even is 0.173 K root mean square. */
    stv_assert_close(rack.skill.air_k.hour_nd, 0.3 / sqrt(3.0), 0.1, 0.0);
    assert_true(rack.skill.air_k.month_nd < 0.1);
    assert_true(rack.skill.air_k.hour_nd < rack.skill.outdoor_k.hour_nd);
    assert_true(rack.skill.air_k.hour_nd < rack.skill.own_k.hour_nd);
    assert_true(rack.skill.air_k.hour_nd < rack.skill.month_30d_k.hour_nd);
    /* And the year that no logger saw is told as well. */
    stv_assert_ok(stv_rack_tell(&rack, &request, told_c, told_rh_frac));
    assert_true(rms(told_c, truth_c, YEARS_H / 2, YEARS_H) < 0.1);
    assert_true(rms(told_rh_frac, rh_frac, YEARS_H / 2, YEARS_H) < 0.03);
    free(truth_c);
    free(told_c);
    free(told_rh_frac);
    free(rh_frac);
    free_house(&house);
}

/* Nothing can be learned of noise, and nothing is claimed. */
static void noise_is_not_learned(void **state)
{
    (void)state;
    struct house house = make_house();
    uint32_t seed = 3;
    for (size_t k = 0; k < YEARS_H; k++)
        house.air_c[k] = 20.0 + 2.0 * noise_nd(&seed);
    struct stv_rack_request request = {.weather = &house.weather, .measured = {house.air_c, NULL}};
    struct stv_rack rack = {.from_tier_idx = -1};
    stv_assert_ok(stv_rack_learn(&request, NULL, NULL, &rack));
    assert_true(rack.skill.air_k.hour_nd >= 0.995 * 2.0 / sqrt(3.0));
    assert_false(rack.sum[STV_RACK_VAPOUR].is_learned);
    assert_true(isnan(rack.skill.rh_frac.month_nd));
    free_house(&house);
}

/* A building model that is right but for a constant is kept, and leads where no logger went. */
static void the_building_model_leads_beyond_the_seasons_seen(void **state)
{
    (void)state;
    struct house house = make_house();
    double *told_c = calloc(YEARS_H, sizeof *told_c), *rh_frac = calloc(YEARS_H, sizeof *rh_frac);
    make_measured(&house, 0.0);
    memcpy(house.store_air_c, house.air_c, YEARS_H * sizeof(double));
    memcpy(house.store_rh_frac, house.rh_frac, YEARS_H * sizeof(double));
    log_summer_alone(&house, 0.8);
    struct stv_rack_request request = {.weather = &house.weather,
                                       .store_air_c = house.store_air_c,
                                       .store_rh_frac = house.store_rh_frac,
                                       .measured = {house.air_c, NULL}};
    struct stv_rack rack = {.from_tier_idx = -1};
    double frac[STV_RACK_FOLDS];
    stv_assert_ok(stv_rack_learn(&request, NULL, NULL, &rack));
    assert_int_equal(rack.sum[STV_RACK_AIR].start, STV_START_STORE);
    stv_assert_ok(stv_rack_tell(&rack, &request, told_c, rh_frac));
    for (size_t k = 0; k < YEARS_H; k++) /* in every season */
        stv_assert_close(told_c[k], house.store_air_c[k] + 0.8, 0.0, 0.05);
    stv_assert_ok(stv_rack_unseen_months(&rack.lived[STV_RACK_AIR], &house.weather, frac));
    assert_true(frac[0] > 0.99 && frac[7] < 0.01); /* January was never met, August was */
    free(told_c);
    free(rh_frac);
    free_house(&house);
}

/* A rack seen in four months leans on one that was seen all the year. */
static void a_short_logger_leans_on_a_long_one(void **state)
{
    (void)state;
    struct house house = make_house();
    double *long_c = malloc(YEARS_H * sizeof *long_c), *told_c = calloc(YEARS_H, sizeof *told_c);
    double *rh_frac = calloc(YEARS_H, sizeof *rh_frac);
    make_measured(&house, 0.0);
    memcpy(long_c, house.air_c, YEARS_H * sizeof *long_c);
    log_summer_alone(&house, 0.7);
    struct stv_rack_request request = {
        .weather = &house.weather, .measured = {house.air_c, NULL}, .from = {long_c, NULL}};
    struct stv_rack rack = {.from_tier_idx = -1};
    stv_assert_ok(stv_rack_learn(&request, NULL, NULL, &rack));
    assert_int_equal(rack.sum[STV_RACK_AIR].start, STV_START_TIER);
    stv_assert_ok(stv_rack_tell(&rack, &request, told_c, rh_frac));
    for (size_t k = 0; k < YEARS_H; k++)
        stv_assert_close(told_c[k], long_c[k] + 0.7, 0.0, 0.1);
    request.from.air_c = NULL;
    stv_assert_status(stv_rack_tell(&rack, &request, told_c, rh_frac), STV_E_NO_DATA);
    free(long_c);
    free(told_c);
    free(rh_frac);
    free_house(&house);
}

/* What is told of a month does not know that month: other targets there change nothing of it. */
static void a_month_told_has_no_part_in_telling(void **state)
{
    (void)state;
    enum { N = 12 * 30 * 24, COLUMNS = 3 };
    static double columns[COLUMNS][N], target[N], before[N], after[N];
    static uint8_t folds[N];
    static const uint8_t groups[COLUMNS] = {0, 1, 2};
    const double *at[COLUMNS] = {columns[0], columns[1], columns[2]};
    uint32_t seed = 11;
    for (size_t k = 0; k < N; k++) {
        folds[k] = (uint8_t)(k / (30 * 24));
        for (size_t c = 0; c < COLUMNS; c++)
            columns[c][k] = noise_nd(&seed);
        target[k] = columns[0][k] + 0.5 * noise_nd(&seed) + (double)folds[k];
    }
    struct stv_rack_problem problem = {.n = N,
                                       .columns = at,
                                       .groups = groups,
                                       .n_columns = COLUMNS,
                                       .allowed_groups = 7u,
                                       .kept_groups = 1u,
                                       .target_nd = target,
                                       .folds = folds};
    struct stv_rack_fit fit;
    stv_assert_ok(stv_rack_fit(&problem, before, &fit));
    /* Months differ by constants that nothing explains: 0 to 11, told by the others' mean. */
    assert_true(fit.error_nd > 3.4);
    for (size_t k = 0; k < N; k++)
        if (folds[k] == 4)
            target[k] = 100.0 * columns[1][k] - 7.0;
    stv_assert_ok(stv_rack_fit(&problem, after, &fit));
    for (size_t k = 0; k < N; k++)
        if (folds[k] == 4)
            stv_assert_close(after[k], before[k], 1e-9, 1e-9);
    assert_true(fabs(after[0] - before[0]) > 1e-3); /* the others do know it */
}

/* Beside a building model that is off in season, a rack that lived through the year leads. */
static void a_rack_that_saw_the_year_leads_before_the_building_model(void **state)
{
    (void)state;
    struct house house = make_house();
    double *long_c = malloc(YEARS_H * sizeof *long_c), *told_c = calloc(YEARS_H, sizeof *told_c);
    double *rh_frac = calloc(YEARS_H, sizeof *rh_frac);
    make_measured(&house, 0.0);
    memcpy(long_c, house.air_c, YEARS_H * sizeof *long_c);
    for (size_t k = 0; k < YEARS_H; k++)
        house.store_air_c[k] = 0.85 * long_c[k] + 3.0 + 1.5 * sin(0.02 * (double)k);
    log_summer_alone(&house, 0.7);
    struct stv_rack_request request = {.weather = &house.weather,
                                       .store_air_c = house.store_air_c,
                                       .store_rh_frac = house.rh_frac,
                                       .measured = {house.air_c, NULL},
                                       .from = {long_c, NULL},
                                       .from_is_covered = {true, true}};
    struct stv_rack rack = {.from_tier_idx = -1};
    stv_assert_ok(stv_rack_learn(&request, NULL, NULL, &rack));
    assert_int_equal(rack.sum[STV_RACK_AIR].start, STV_START_TIER);
    stv_assert_ok(stv_rack_tell(&rack, &request, told_c, rh_frac));
    stv_assert_close(told_c[YEARS_H - 1], long_c[YEARS_H - 1] + 0.7, 0.0, 0.1);
    free(long_c);
    free(told_c);
    free(rh_frac);
    free_house(&house);
}

/* Air of a year and humidity of a summer: each has lived through its own months. */
static void humidity_has_months_of_its_own(void **state)
{
    (void)state;
    struct house house = make_house();
    bool is_covered;
    make_measured(&house, 0.1);
    keep_hours(house.rh_frac, SUMMER_FROM_H, SUMMER_TO_H);
    struct stv_rack_request request = {.weather = &house.weather,
                                       .measured = {house.air_c, house.rh_frac}};
    struct stv_rack rack = {.from_tier_idx = -1};
    stv_assert_ok(stv_rack_learn(&request, NULL, NULL, &rack));
    stv_assert_ok(stv_rack_is_covered(&rack.lived[STV_RACK_AIR], &house.weather, &is_covered));
    assert_true(is_covered);
    stv_assert_ok(stv_rack_is_covered(&rack.lived[STV_RACK_VAPOUR], &house.weather, &is_covered));
    assert_false(is_covered);
    free_house(&house);
}

static void too_little_is_refused(void **state)
{
    (void)state;
    struct house house = make_house();
    make_measured(&house, 0.1);
    keep_hours(house.air_c, 0, 68 * 24); /* January, February and nine days of March */
    struct stv_rack_request request = {.weather = &house.weather, .measured = {house.air_c, NULL}};
    struct stv_rack rack = {.from_tier_idx = -1, .n_casks = 5.0};
    stv_assert_status(stv_rack_learn(&request, NULL, NULL, &rack), STV_E_NO_DATA);
    stv_assert_close(rack.n_casks, 5.0, 0.0, 0.0);
    house.weather.grid.is_typical = true;
    stv_assert_status(stv_rack_learn(&request, NULL, NULL, &rack), STV_E_ARG);
    stv_assert_status(stv_rack_learn(NULL, NULL, NULL, &rack), STV_E_ARG);
    stv_assert_status(stv_rack_tell(&rack, &request, house.air_c, house.rh_frac), STV_E_ARG);
    free_house(&house);
}

/* A low pass leaves a constant alone, follows a step by 1 - exp(-t/tau), and lags. */
static void columns_are_low_passes(void **state)
{
    (void)state;
    struct house house = make_house();
    struct stv_rack_drive drive = {.weather = &house.weather};
    double *column = malloc(YEARS_H * sizeof *column);
    size_t step = YEARS_H / 2, air_24h = column_of(STV_RACK_AIR, "air_24h");
    for (size_t k = 0; k < YEARS_H; k++)
        house.weather.columns[STV_WC_TEMP_C][k] = k < step ? 12.0 : 22.0;
    stv_assert_ok(stv_rack_column(&drive, STV_RACK_AIR, air_24h, column));
    stv_assert_close(column[step - 1], 12.0, 0.0, 1e-12);
    stv_assert_close(column[step + 23], 12.0 + 10.0 * (1.0 - exp(-1.0)), 0.0, 1e-9);
    stv_assert_close(column[YEARS_H - 1], 22.0, 0.0, 1e-9);
    stv_assert_status(
        stv_rack_column(&drive, STV_RACK_AIR, column_of(STV_RACK_AIR, "store"), column),
        STV_E_NO_DATA);
    stv_assert_status(stv_rack_column(&drive, STV_RACK_AIR, 1000, column), STV_E_ARG);
    assert_null(stv_rack_column_name(STV_RACK_AIR, 1000));
    free(column);
    free_house(&house);
}

static void misses_are_counted_by_hour_and_month(void **state)
{
    (void)state;
    enum { DAYS = 59 }; /* January and February */
    struct stv_grid grid = {.t0_s = INT64_C(1672531200), .step_s = STV_HOUR_S, .n = DAYS * 24};
    double told[DAYS * 24], measured[DAYS * 24];
    struct stv_rack_miss miss;
    for (size_t k = 0; k < grid.n; k++) {
        measured[k] = 10.0;
        told[k] = 10.0 + (k < 31 * 24 ? 1.0 : -3.0) + (k % 2 ? 0.5 : -0.5);
    }
    stv_assert_ok(stv_rack_miss_of(&grid, told, measured, &miss));
    stv_assert_close(miss.month_nd, sqrt((1.0 + 9.0) / 2.0), 1e-12, 0.0);
    stv_assert_close(miss.worst_month_nd, -3.0, 1e-12, 0.0);
    stv_assert_close(miss.bias_nd, (31.0 - 3.0 * 28.0) / 59.0, 1e-12, 0.0);
    stv_assert_close(miss.hour_nd, sqrt((31.0 * 1.25 + 28.0 * 9.25) / 59.0), 1e-12, 0.0);
    stv_assert_close(miss.p95_nd, 3.5, 1e-12, 0.0);
    for (size_t k = 0; k < grid.n; k++)
        measured[k] = NAN;
    stv_assert_ok(stv_rack_miss_of(&grid, told, measured, &miss));
    assert_true(isnan(miss.hour_nd) && isnan(miss.month_nd));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_store_comes_back),
        cmocka_unit_test(noise_is_not_learned),
        cmocka_unit_test(the_building_model_leads_beyond_the_seasons_seen),
        cmocka_unit_test(a_short_logger_leans_on_a_long_one),
        cmocka_unit_test(a_month_told_has_no_part_in_telling),
        cmocka_unit_test(a_rack_that_saw_the_year_leads_before_the_building_model),
        cmocka_unit_test(humidity_has_months_of_its_own),
        cmocka_unit_test(too_little_is_refused),
        cmocka_unit_test(columns_are_low_passes),
        cmocka_unit_test(misses_are_counted_by_hour_and_month),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
