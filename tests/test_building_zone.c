/* A plain zone with all it may have: its heat closes, its heating holds, its fan keeps its hours.
 */
#include "model/building.h"
#include "model/units.h"
#include "tests/check.h"

#include <math.h>
#include <stdlib.h>

#define DAYS 40

static const double pi_nd = 3.14159265358979323846;

/* Clear made-up days at 35 N: 5 C on average, 8 K up and down, sun by the hour. */
static struct stv_weather make_weather(double mean_c)
{
    struct stv_weather weather = {
        .grid = {.t0_s = 0, .step_s = STV_HOUR_S, .n = DAYS * STV_DAY_H, .utc_offset_min = 0},
        .site = {35.0, 0.0, 200.0}};
    for (size_t c = 0; c < STV_WC_N; c++) {
        weather.columns[c] = calloc(weather.grid.n, sizeof(double));
        assert_non_null(weather.columns[c]);
    }
    for (size_t k = 0; k < weather.grid.n; k++) {
        double hour_h = (double)(k % STV_DAY_H) + 0.5;
        double sun_w_m2 = 600.0 * fmax(0.0, sin(pi_nd * (hour_h - 7.0) / 10.0));
        weather.columns[STV_WC_TEMP_C][k] = mean_c - 8.0 * cos(pi_nd * (hour_h - 3.0) / 12.0);
        weather.columns[STV_WC_VAPOUR_PA][k] = 500.0;
        weather.columns[STV_WC_GHI_W_M2][k] = sun_w_m2;
        weather.columns[STV_WC_DNI_W_M2][k] = sun_w_m2;
        weather.columns[STV_WC_DHI_W_M2][k] = 0.2 * sun_w_m2;
        weather.columns[STV_WC_WIND_M_S][k] = 3.0;
        weather.columns[STV_WC_SKY_W_M2][k] = 250.0;
        weather.columns[STV_WC_PRESSURE_PA][k] = 99000.0;
    }
    return weather;
}

static void free_weather(struct stv_weather *weather)
{
    for (size_t c = 0; c < STV_WC_N; c++)
        free(weather->columns[c]);
}

static struct stv_building make_zone(void)
{
    struct stv_building zone;
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_PLAIN_ZONE, 0, 0, 0, &zone));
    zone.roof_pitch_deg = 0.0;
    zone.windows[0] = (struct stv_wall_window){8.0, 180.0, stv_glazing_default()};
    zone.windows[1] = (struct stv_wall_window){4.0, 90.0, stv_glazing_default()};
    zone.windows[1].glazing.n_panes = 1;
    zone.n_windows = 2;
    zone.zone.air_change_per_h = 0.5;
    zone.gain_w = 500.0;
    zone.gain_radiant_frac = 0.6;
    return zone;
}

static double mean_c(const struct stv_building *building, const struct stv_weather *weather,
                     double *out_least_c)
{
    struct stv_building_climate climate;
    assert_null(stv_building_fault(building));
    stv_assert_ok(stv_building_simulate(building, weather, STV_HOUR_S, &climate));
    assert_true(climate.energy_residual_frac <= 1e-6);
    assert_true(climate.moisture_residual_frac <= 1e-6);
    double sum = 0.0;
    *out_least_c = climate.air_c[0];
    for (size_t k = 0; k < climate.grid.n; k++) {
        sum += climate.air_c[k];
        *out_least_c = fmin(*out_least_c, climate.air_c[k]);
    }
    sum /= (double)climate.grid.n;
    stv_building_climate_free(&climate);
    return sum;
}

/* Heat closes with windows, gains, heating, casks, a wet floor; each part moves the air its way. */
static void every_part_counts(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(5.0);
    struct stv_building zone = make_zone();
    double least_c, plain_c = mean_c(&zone, &weather, &least_c);
    struct stv_building other = zone;
    other.n_windows = 0;
    assert_true(mean_c(&other, &weather, &least_c) < plain_c);
    other = zone;
    other.gain_w = 0.0;
    assert_true(mean_c(&other, &weather, &least_c) < plain_c);
    other = zone;
    other.zone.air_change_per_h = 5.0;
    assert_true(mean_c(&other, &weather, &least_c) < plain_c);
    other = zone;
    other.n_casks = 40.0;
    stv_assert_close(mean_c(&other, &weather, &least_c), plain_c, 0.0, 3.0);
    other.floor = STV_FLOOR_EARTH;
    other.floor_wetness_frac = 1.0;
    (void)mean_c(&other, &weather, &least_c);
    free_weather(&weather);
}

static void heating_holds(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(-5.0);
    struct stv_building zone = make_zone();
    double least_c;
    zone.heating_c = 12.0;
    (void)mean_c(&zone, &weather, &least_c);
    assert_true(least_c >= 12.0 - 1e-9);
    free_weather(&weather);
}

/* By hours alone the fan runs whatever the temperatures, here only to cool a warm room by night. */
static void a_fan_keeps_its_hours(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(15.0);
    struct stv_building zone = make_zone(), fan = zone;
    struct stv_building_climate without, with;
    fan.night_air_change_per_h = 20.0;
    fan.night_air_above_c = -100.0;
    fan.night_air_cooler_k = -200.0;
    fan.night_from_h = 20.0;
    fan.night_to_h = 6.0;
    stv_assert_ok(stv_building_simulate(&zone, &weather, STV_HOUR_S, &without));
    stv_assert_ok(stv_building_simulate(&fan, &weather, STV_HOUR_S, &with));
    /* 10 of 24 hours at 20 1/h beside 0.5 1/h all day. */
    stv_assert_close(with.air_change_mean_per_h, 0.5 + 20.0 * 10.0 / 24.0, 1e-9, 0.0);
    size_t last_d = DAYS - 1, night = last_d * STV_DAY_H + 4;
    assert_true(with.air_c[night] < without.air_c[night] - 3.0);
    assert_true(fabs(with.air_c[night] - weather.columns[STV_WC_TEMP_C][night]) < 3.0);
    stv_building_climate_free(&without);
    stv_building_climate_free(&with);
    free_weather(&weather);
}

static void what_cannot_be_is_named(void **state)
{
    (void)state;
    struct stv_building bad = make_zone();
    bad.windows[0].azimuth_deg = 200.0;
    assert_non_null(stv_building_fault(&bad));
    bad = make_zone();
    bad.windows[0].area_m2 = 1e4;
    assert_non_null(stv_building_fault(&bad));
    bad = make_zone();
    bad.zone.sun_floor_frac = 0.99;
    assert_non_null(stv_building_fault(&bad));
    bad = make_zone();
    bad.night_from_h = 18.0;
    assert_non_null(stv_building_fault(&bad));
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_DUNNAGE, 0, 0, 0, &bad));
    bad.zone.air_change_per_h = 1.0;
    assert_non_null(stv_building_fault(&bad));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_part_counts),
        cmocka_unit_test(heating_holds),
        cmocka_unit_test(a_fan_keeps_its_hours),
        cmocka_unit_test(what_cannot_be_is_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
