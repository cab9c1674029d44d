/* Warehouses through a made-up year: laws that any building must keep, and what published work says
 * about tiers. */
#include "tests/check.h"
#include "tests/made_up_year.h"

#include "model/air.h"
#include "model/building.h"
#include "model/calendar.h"
#include "model/constructions.h"
#include "model/sun.h"
#include "model/units.h"

#include <stdlib.h>
#include <string.h>

static struct stv_building of_kind(enum stv_building_kind kind, size_t n_tiers)
{
    struct stv_building building;
    stv_assert_ok(stv_building_of_kind(kind, n_tiers, 0, 0, &building));
    return building;
}

static struct stv_building_climate simulate(const struct stv_building *building,
                                            const struct stv_weather *weather, int step_s)
{
    struct stv_building_climate climate;
    stv_assert_ok(stv_building_simulate(building, weather, step_s, &climate));
    return climate;
}

/* Mean of a column of a tier over the days first_d .. last_d - 1 of the record. */
static double mean_of_days(const struct stv_building_climate *climate, const double *column,
                           size_t tier, size_t first_d, size_t last_d)
{
    return stv_mean_nd(column + tier * climate->grid.n + first_d * STV_DAY_H,
                       (last_d - first_d) * STV_DAY_H);
}

#define SUMMER 181, 273 /* days: July to September */
#define WINTER 0, 90    /* January to March */
#define JULY 181, 212

/* Least-squares slope of the tiers' mean air, K/m. */
static double gradient_k_m(const struct stv_building_climate *climate, double tier_height_m,
                           size_t first_d, size_t last_d)
{
    double n = (double)climate->n_tiers, sum_xy = 0.0, sum_xx = 0.0;
    for (size_t i = 0; i < climate->n_tiers; i++) {
        double x_m = ((double)i - 0.5 * (n - 1.0)) * tier_height_m;
        sum_xy += x_m * mean_of_days(climate, climate->air_c, i, first_d, last_d);
        sum_xx += x_m * x_m;
    }
    return sum_xy / sum_xx;
}

/* Mean over days of daily maximum minus minimum. */
static double daily_swing_k(const struct stv_building_climate *climate, size_t tier, size_t first_d,
                            size_t last_d)
{
    double sum_k = 0.0;
    for (size_t d = first_d; d < last_d; d++) {
        const double *day = climate->air_c + tier * climate->grid.n + d * STV_DAY_H;
        double least = day[0], most = day[0];
        for (size_t h = 1; h < STV_DAY_H; h++) {
            least = fmin(least, day[h]);
            most = fmax(most, day[h]);
        }
        sum_k += most - least;
    }
    return sum_k / (double)(last_d - first_d);
}

/* Published: 0.3 to 0.7 K/m maxima in the warm season of ordinary warehouses, insignificant in the
 * cold one (Porras-Amores et al., Energies 7 (2014) 1193, abstract).  Season means lie below the
 * maxima, so 0.1 to 0.8 is asked, and less than half of it in the cold season. */
static void test_tiers_of_a_racked_shed(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    for (size_t n_tiers = 6; n_tiers <= 8; n_tiers++) {
        struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, n_tiers);
        struct stv_building_climate climate = simulate(&shed, &weather, STV_HOUR_S);
        double warm_k_m = gradient_k_m(&climate, shed.tier_height_m, SUMMER);
        double cold_k_m = gradient_k_m(&climate, shed.tier_height_m, WINTER);
        assert_true(warm_k_m > 0.1 && warm_k_m < 0.8);
        assert_true(fabs(cold_k_m) < 0.5 * warm_k_m);
        for (size_t i = 1; i < n_tiers; i++) /* drier and warmer upwards in summer */
            assert_true(mean_of_days(&climate, climate.rh_frac, i, SUMMER) <
                        mean_of_days(&climate, climate.rh_frac, i - 1, SUMMER));
        stv_building_climate_free(&climate);
    }
    free_columns(&weather);
}

/* Seven open floors in Kentucky logged 0.39 to 0.48 K/m in August and a top floor 4.1 K over the
 * outdoor mean (a producer's published hourly loggers, 3-D rick house page; the spacing of the
 * floors from memory).  Our year is another climate, so only the order is asked. */
static void test_rick_house_order_of_size(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building house = of_kind(STV_BUILDING_RICK_HOUSE, 18);
    struct stv_building_climate climate = simulate(&house, &weather, STV_HOUR_S);
    double july_k_m = gradient_k_m(&climate, house.tier_height_m, JULY);
    double outdoor_c =
        stv_mean_nd(weather.columns[STV_WC_TEMP_C] + 181 * STV_DAY_H, 31 * STV_DAY_H);
    double top_over_k = mean_of_days(&climate, climate.air_c, 17, JULY) - outdoor_c;
    assert_true(july_k_m > 0.2 && july_k_m < 0.7);
    assert_true(top_over_k > 1.5 && top_over_k < 7.0);
    stv_building_climate_free(&climate);
    free_columns(&weather);
}

static void test_halving_the_step_changes_little(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    const enum stv_building_kind kinds[] = {STV_BUILDING_RACKED_SHED, STV_BUILDING_DUNNAGE};
    for (size_t which = 0; which < 2; which++) {
        struct stv_building building = of_kind(kinds[which], 0);
        struct stv_building_climate whole = simulate(&building, &weather, STV_HOUR_S);
        struct stv_building_climate half = simulate(&building, &weather, STV_HOUR_S / 2);
        for (size_t tier = 0; tier < building.n_tiers; tier++)
            for (size_t month = 0; month < 12; month++) {
                size_t first_d = month * 30, last_d = first_d + 30;
                stv_assert_close(mean_of_days(&half, half.air_c, tier, first_d, last_d),
                                 mean_of_days(&whole, whole.air_c, tier, first_d, last_d), 0.0,
                                 0.1);
                stv_assert_close(mean_of_days(&half, half.rh_frac, tier, first_d, last_d),
                                 mean_of_days(&whole, whole.rh_frac, tier, first_d, last_d), 0.0,
                                 0.005);
            }
        stv_building_climate_free(&whole);
        stv_building_climate_free(&half);
    }
    free_columns(&weather);
}

/* Heat and water of the last year are all accounted for, for every kind and every floor. */
static void test_balances_close(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    for (int kind = 0; kind < STV_BUILDING_N; kind++)
        for (int floor = STV_FLOOR_SLAB; floor <= STV_FLOOR_SUSPENDED; floor++) {
            struct stv_building building = of_kind((enum stv_building_kind)kind, 0);
            if (kind != STV_BUILDING_PLAIN_ZONE)
                building.n_tiers = 3;
            building.n_casks *= 0.15;
            building.floor = (enum stv_floor_kind)floor;
            building.floor_wetness_frac = 0.7;
            building.night_air_change_per_h = 2.5;
            struct stv_building_climate climate = simulate(&building, &weather, STV_HOUR_S);
            assert_true(climate.energy_residual_frac <= 1e-6);
            assert_true(climate.moisture_residual_frac <= 1e-6);
            stv_building_climate_free(&climate);
        }
    free_columns(&weather);
}

/* Under a sky at air temperature, without sun or sources, inside is outside: T and vapour. */
static void test_constant_weather_comes_through(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    for (size_t k = 0; k < YEAR_H; k++) {
        weather.columns[STV_WC_TEMP_C][k] = 13.7;
        weather.columns[STV_WC_VAPOUR_PA][k] = 0.62 * stv_water_psat_pa(13.7);
        weather.columns[STV_WC_SKY_W_M2][k] = sky_w_m2(13.7, 1.0);
        weather.columns[STV_WC_GHI_W_M2][k] = weather.columns[STV_WC_DNI_W_M2][k] = 0.0;
        weather.columns[STV_WC_DHI_W_M2][k] = 0.0;
    }
    struct stv_building building = of_kind(STV_BUILDING_DUNNAGE, 3);
    building.floor_wetness_frac = 0.0;
    building.cask_vapour_kg_h = 0.0;
    struct stv_building_climate climate = simulate(&building, &weather, STV_HOUR_S);
    for (size_t tier = 0; tier < 3; tier++) {
        size_t last = tier * YEAR_H + YEAR_H - 1;
        stv_assert_close(climate.air_c[last], 13.7, 0.0, 1e-3);
        stv_assert_close(climate.radiant_c[last], 13.7, 0.0, 1e-3);
        stv_assert_close(climate.rh_frac[last], 0.62, 0.0, 1e-3);
    }
    stv_building_climate_free(&climate);
    free_columns(&weather);
}

static double july_top_c(const struct stv_building *building, const struct stv_weather *weather)
{
    struct stv_building_climate climate = simulate(building, weather, STV_HOUR_S);
    double top_c = mean_of_days(&climate, climate.air_c, building->n_tiers - 1, JULY);
    stv_building_climate_free(&climate);
    return top_c;
}

/* White roof, insulation and night air each cool the top tier in July; bare sheet heats it. */
static void test_summer_levers(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 6);
    double usual_c = july_top_c(&shed, &weather);
    struct stv_building white = shed, bare = shed, fan = shed;
    white.roof.absorptance_frac = 0.25;
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &bare.roof));
    fan.night_air_change_per_h = 5.0;
    fan.night_air_above_c = 22.0;
    assert_true(july_top_c(&white, &weather) < usual_c - 0.5);
    assert_true(july_top_c(&bare, &weather) > usual_c + 1.0);
    assert_true(july_top_c(&fan, &weather) < usual_c - 0.5);
    free_columns(&weather);
}

static void test_wet_floor_cools_and_moistens(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building dry = of_kind(STV_BUILDING_DUNNAGE, 3), wet = dry;
    dry.floor_wetness_frac = 0.0;
    wet.floor_wetness_frac = 1.0;
    struct stv_building_climate dry_climate = simulate(&dry, &weather, STV_HOUR_S);
    struct stv_building_climate wet_climate = simulate(&wet, &weather, STV_HOUR_S);
    assert_true(mean_of_days(&wet_climate, wet_climate.rh_frac, 0, JULY) >
                mean_of_days(&dry_climate, dry_climate.rh_frac, 0, JULY) + 0.1);
    assert_true(mean_of_days(&wet_climate, wet_climate.air_c, 0, JULY) <
                mean_of_days(&dry_climate, dry_climate.air_c, 0, JULY) - 1.0);
    stv_building_climate_free(&dry_climate);
    stv_building_climate_free(&wet_climate);
    free_columns(&weather);
}

/* A full shed hardly knows the day; an empty one under bare sheet follows it. */
static void test_empty_building_follows_the_day(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building full = of_kind(STV_BUILDING_RACKED_SHED, 6), empty = full;
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &empty.roof));
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &empty.wall));
    empty.n_casks = 0.0;
    struct stv_building_climate full_climate = simulate(&full, &weather, STV_HOUR_S);
    struct stv_building_climate empty_climate = simulate(&empty, &weather, STV_HOUR_S);
    double outdoor_swing_k = 2.0 * plains.daily_k;
    assert_true(daily_swing_k(&full_climate, 2, JULY) < 0.15 * outdoor_swing_k);
    assert_true(daily_swing_k(&empty_climate, 2, JULY) > 0.7 * outdoor_swing_k);
    stv_building_climate_free(&full_climate);
    stv_building_climate_free(&empty_climate);
    free_columns(&weather);
}

/* The same season half a year later under a southern sun gives the same building. */
static void test_southern_hemisphere(void **state)
{
    (void)state;
    struct season south = plains;
    south.latitude_deg = -plains.latitude_deg;
    struct stv_weather north_weather = make_weather(&plains, YEAR_H);
    struct stv_weather south_weather = make_weather(&south, YEAR_H);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 6);
    struct stv_building_climate north = simulate(&shed, &north_weather, STV_HOUR_S);
    struct stv_building_climate south_climate = simulate(&shed, &south_weather, STV_HOUR_S);
    for (size_t tier = 0; tier < 6; tier += 5) {
        double july_c = mean_of_days(&north, north.air_c, tier, 181, 211);
        double january_c = mean_of_days(&south_climate, south_climate.air_c, tier, 0, 30);
        /* The sun is 7 % stronger in January than in July. */
        stv_assert_close(january_c, july_c, 0.0, 1.0);
        assert_true(july_c - mean_of_days(&north, north.air_c, tier, 0, 30) > 8.0);
    }
    stv_building_climate_free(&north);
    stv_building_climate_free(&south_climate);
    free_columns(&north_weather);
    free_columns(&south_weather);
}

static void test_one_tier_and_short_records(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, 24 * 11);
    struct stv_building one = of_kind(STV_BUILDING_DUNNAGE, 1);
    struct stv_building zone = of_kind(STV_BUILDING_PLAIN_ZONE, 0);
    stv_assert_close(zone.n_casks, 0.0, 0.0, 0.0);
    const struct stv_building *both[] = {&one, &zone};
    for (size_t which = 0; which < 2; which++) {
        struct stv_building_climate climate = simulate(both[which], &weather, STV_HOUR_S);
        assert_int_equal(climate.n_tiers, 1);
        assert_int_equal(climate.grid.n, weather.grid.n);
        assert_true(climate.air_change_mean_per_h > 0.0);
        for (size_t k = 0; k < weather.grid.n; k++) {
            assert_true(climate.air_c[k] > -15.0 && climate.air_c[k] < 40.0);
            assert_true(climate.radiant_c[k] > -15.0 && climate.radiant_c[k] < 45.0);
            assert_true(climate.rh_frac[k] > 0.0 && climate.rh_frac[k] <= 1.0);
        }
        stv_building_climate_free(&climate);
        stv_building_climate_free(&climate); /* twice does no harm */
    }
    free_columns(&weather);
}

/* Every kind stands with its defaults, at one tier and at the most. */
static void test_kinds(void **state)
{
    (void)state;
    for (int i = 0; i < STV_BUILDING_N; i++) {
        enum stv_building_kind kind;
        const char *name = stv_building_kind_name((enum stv_building_kind)i);
        stv_assert_ok(stv_building_kind_from_name(name, &kind));
        assert_int_equal(kind, i);
        struct stv_building building;
        for (size_t n_tiers = 0; n_tiers <= STV_TIERS_MAX; n_tiers++) {
            if (kind == STV_BUILDING_PLAIN_ZONE && n_tiers > 1)
                continue;
            stv_assert_ok(stv_building_of_kind(kind, n_tiers, 0, 0, &building));
            assert_null(stv_building_fault(&building));
        }
        stv_assert_ok(stv_building_of_kind(kind, 0, 12, 2, &building));
        assert_null(stv_building_fault(&building));
    }
    enum stv_building_kind kind;
    stv_assert_status(stv_building_kind_from_name("shed", &kind), STV_E_PARSE);
    stv_assert_status(stv_building_kind_from_name(NULL, &kind), STV_E_ARG);
    assert_null(stv_building_kind_name(STV_BUILDING_N));
    struct stv_building building;
    stv_assert_status(stv_building_of_kind(STV_BUILDING_N, 0, 0, 0, &building), STV_E_ARG);
    stv_assert_status(stv_building_of_kind(STV_BUILDING_DUNNAGE, 33, 0, 0, &building),
                      STV_E_DOMAIN);
}

/* One number out of range at a time. */
static const struct {
    size_t offset;
    double value;
} spoils[] = {
    {offsetof(struct stv_building, length_m), 0.0},
    {offsetof(struct stv_building, width_m), 1200.0},
    {offsetof(struct stv_building, eaves_height_m), 2.0}, /* lower than the tiers */
    {offsetof(struct stv_building, long_axis_deg), NAN},
    {offsetof(struct stv_building, roof_pitch_deg), 75.0},
    {offsetof(struct stv_building, tier_height_m), -1.0},
    {offsetof(struct stv_building, n_casks), 1e6}, /* no room for them */
    {offsetof(struct stv_building, n_casks), -3.0},
    {offsetof(struct stv_building, cask_capacity_l), 5000.0},
    {offsetof(struct stv_building, floor_wetness_frac), 1.7},
    {offsetof(struct stv_building, leak_area_m2), -0.2},
    {offsetof(struct stv_building, vent_low_m2), NAN},
    {offsetof(struct stv_building, vent_high_m2), INFINITY},
    {offsetof(struct stv_building, night_air_change_per_h), 400.0},
    {offsetof(struct stv_building, night_air_above_c), 300.0},
    {offsetof(struct stv_building, wind_shelter_frac), 2.5},
    {offsetof(struct stv_building, ground_albedo_frac), 1.4},
    {offsetof(struct stv_building, cask_vapour_kg_h), 3.0},
    {offsetof(struct stv_building, exposed_frac), 0.0},
    {offsetof(struct stv_building, roof.emittance_frac), -0.1},
    {offsetof(struct stv_building, wall.layers[0].thickness_m), 9.0},
};

static void assert_refused(const struct stv_building *building, const struct stv_weather *weather)
{
    struct stv_building_climate climate;
    assert_non_null(stv_building_fault(building));
    stv_assert_status(stv_building_simulate(building, weather, STV_HOUR_S, &climate), STV_E_DOMAIN);
    assert_null(climate.air_c);
}

static void test_impossible_buildings_are_refused(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, 48);
    const struct stv_building good = of_kind(STV_BUILDING_RACKED_SHED, 6);
    assert_null(stv_building_fault(&good));
    for (size_t i = 0; i < sizeof spoils / sizeof spoils[0]; i++) {
        struct stv_building bad = good;
        memcpy((char *)&bad + spoils[i].offset, &spoils[i].value, sizeof(double));
        assert_refused(&bad, &weather);
    }
    struct stv_building bad = good;
    bad.n_tiers = 0;
    assert_refused(&bad, &weather);
    bad.n_tiers = STV_TIERS_MAX + 1;
    assert_refused(&bad, &weather);
    bad = good;
    bad.kind = STV_BUILDING_PLAIN_ZONE; /* with six tiers */
    assert_refused(&bad, &weather);
    bad.kind = STV_BUILDING_N;
    assert_refused(&bad, &weather);
    bad = good;
    bad.wall.n_layers = 0;
    assert_refused(&bad, &weather);
    assert_non_null(stv_building_fault(NULL));
    free_columns(&weather);
}

static void test_bad_weather_and_steps_are_refused(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, 48);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 6);
    struct stv_building_climate climate;
    stv_assert_status(stv_building_simulate(NULL, &weather, 3600, &climate), STV_E_ARG);
    stv_assert_status(stv_building_simulate(&shed, NULL, 3600, &climate), STV_E_ARG);
    stv_assert_status(stv_building_simulate(&shed, &weather, 3600, NULL), STV_E_ARG);
    stv_assert_status(stv_building_simulate(&shed, &weather, 0, &climate), STV_E_ARG);
    stv_assert_status(stv_building_simulate(&shed, &weather, 1700, &climate), STV_E_ARG);
    weather.grid.n = 23;
    stv_assert_status(stv_building_simulate(&shed, &weather, 3600, &climate), STV_E_NO_DATA);
    weather.grid.n = 48;
    weather.grid.step_s = 1800;
    stv_assert_status(stv_building_simulate(&shed, &weather, 3600, &climate), STV_E_DOMAIN);
    weather.grid.step_s = STV_HOUR_S;
    weather.columns[STV_WC_WIND_M_S][7] = NAN;
    stv_assert_status(stv_building_simulate(&shed, &weather, 3600, &climate), STV_E_DOMAIN);
    free(weather.columns[STV_WC_WIND_M_S]);
    weather.columns[STV_WC_WIND_M_S] = NULL;
    stv_assert_status(stv_building_simulate(&shed, &weather, 3600, &climate), STV_E_ARG);
    free_columns(&weather);
    stv_building_climate_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_kinds),
        cmocka_unit_test(test_constant_weather_comes_through),
        cmocka_unit_test(test_tiers_of_a_racked_shed),
        cmocka_unit_test(test_rick_house_order_of_size),
        cmocka_unit_test(test_halving_the_step_changes_little),
        cmocka_unit_test(test_balances_close),
        cmocka_unit_test(test_summer_levers),
        cmocka_unit_test(test_wet_floor_cools_and_moistens),
        cmocka_unit_test(test_empty_building_follows_the_day),
        cmocka_unit_test(test_southern_hemisphere),
        cmocka_unit_test(test_one_tier_and_short_records),
        cmocka_unit_test(test_impossible_buildings_are_refused),
        cmocka_unit_test(test_bad_weather_and_steps_are_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
