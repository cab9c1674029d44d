/* What may be added to a building of any kind, by the laws it must keep: windows, gains, heating,
 * shade, and all of it at once. */
#include "tests/lever_case.h"

#include <string.h>

/* In every kind, full and almost empty: windows and gains warm, heating holds every tier, and with
 * all of them heat and water close (run asks for that). */
static void every_kind_takes_windows_gains_and_heating(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    for (int kind = 0; kind < STV_BUILDING_N; kind++)
        for (int is_full = 0; is_full < 2; is_full++) {
            struct stv_building plain = of_kind((enum stv_building_kind)kind, 0), lit = plain;
            plain.n_casks *= is_full ? 1.0 : 0.03;
            struct stv_building fed = plain, warm;
            lit = plain;
            add_windows(&lit, 0.2);
            fed.gain_w = 5.0 * plain.length_m * plain.width_m;
            fed.gain_radiant_frac = 0.4;
            warm = fed;
            add_windows(&warm, 0.2);
            warm.heating_c = 22.0;
            size_t top = plain.n_tiers - 1;
            double plain_c = july_c(&plain, &weather, top);
            assert_true(july_c(&lit, &weather, top) > plain_c + 0.2);
            assert_true(july_c(&fed, &weather, top) > plain_c + 0.02);
            struct stv_building_climate heated = run(&warm, &weather, STV_HOUR_S);
            double least_c = heated.air_c[0];
            for (size_t k = 0; k < heated.n_tiers * YEAR_H; k++)
                least_c = fmin(least_c, heated.air_c[k]);
            assert_true(least_c >= 22.0 - 1e-9);
            assert_true(least_c < 22.0 + 1e-6); /* no warmer than it must be */
            stv_building_climate_free(&heated);
        }
    free_columns(&weather);
}

/* A store of one tier without casks and a plain zone of the same size: the same windows and
 * gains do about the same to both; gains of air alone less in the store, whose films are fixed and
 * stronger. */
static void a_store_of_one_tier_agrees_with_a_plain_zone(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building zone = of_kind(STV_BUILDING_PLAIN_ZONE, 0);
    struct stv_building store = of_kind(STV_BUILDING_RACKED_SHED, 1);
    store.length_m = zone.length_m = 20.0;
    store.width_m = zone.width_m = 10.0;
    store.eaves_height_m = zone.eaves_height_m = 3.0;
    store.tier_height_m = 2.99;
    store.roof_pitch_deg = zone.roof_pitch_deg = 0.0;
    store.n_casks = zone.n_casks = 0.0;
    store.leak_area_m2 = zone.leak_area_m2;
    store.wall = zone.wall;
    store.roof = zone.roof;
    struct stv_building *both[] = {&zone, &store};
    double lit_k[2], fed_k[2];
    for (int i = 0; i < 2; i++) {
        struct stv_building lit = *both[i], fed = *both[i];
        double plain_c = july_c(both[i], &weather, 0);
        add_windows(&lit, 0.15);
        fed.gain_w = 2000.0;
        lit_k[i] = july_c(&lit, &weather, 0) - plain_c;
        fed_k[i] = july_c(&fed, &weather, 0) - plain_c;
        print_message("%s: windows %+.2f K, gains %+.2f K\n", stv_building_kind_name(both[i]->kind),
                      lit_k[i], fed_k[i]);
    }
    stv_assert_close(lit_k[1], lit_k[0], 0.25, 0.0);
    stv_assert_close(fed_k[1], fed_k[0], 0.4, 0.0);
    free_columns(&weather);
}

/* What is said to be nothing changes nothing, in every kind. */
static void nothing_said_changes_nothing(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, 24 * 20);
    for (int kind = 0; kind < STV_BUILDING_N; kind++) {
        struct stv_building plain = of_kind((enum stv_building_kind)kind, 0), same = plain;
        same.gain_radiant_frac = 0.7;
        same.heating_c = -30.0;
        struct stv_building_climate a = run(&plain, &weather, STV_HOUR_S);
        struct stv_building_climate b = run(&same, &weather, STV_HOUR_S);
        assert_same_bytes(&a, &b);
        stv_building_climate_free(&a);
        stv_building_climate_free(&b);
    }
    free_columns(&weather);
}

static void windows_gains_and_heating_by_the_half_step(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 4);
    add_windows(&shed, 0.2);
    shed.gain_w = 5000.0;
    shed.heating_c = 16.0;
    assert_step_hardly_matters(&shed, &weather);
    free_columns(&weather);
}

static void impossible_windows_and_heat_are_named(void **state)
{
    (void)state;
    struct stv_building good = of_kind(STV_BUILDING_DUNNAGE, 0), bad;
    add_windows(&good, 0.9);
    good.gain_w = 500.0;
    good.heating_c = 5.0;
    assert_null(stv_building_fault(&good));
    bad = good;
    bad.windows[1].area_m2 *= 1.2;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.windows[1].azimuth_deg = 45.0;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.n_windows = STV_WINDOWS_MAX + 1;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.gain_w = -1.0;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.gain_radiant_frac = 1.5;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.heating_c = 75.0;
    assert_non_null(stv_building_fault(&bad));
}

static void shade_cools(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building house = of_kind(STV_BUILDING_RICK_HOUSE, 6), west = house, roof = house;
    west.wall_shades[0] = (struct stv_wall_shade){270.0, {0.8, 0.0}};
    west.n_wall_shades = 1;
    roof.roof_shade.beam_frac = 0.8;
    struct stv_building all = shaded(&house, 0.8, 0.0);
    double west_k = july_c(&west, &weather, 0) - july_c(&house, &weather, 0);
    double plain_c = july_c(&house, &weather, 5);
    double roof_k = july_c(&roof, &weather, 5) - plain_c,
           all_k = july_c(&all, &weather, 5) - plain_c;
    print_message("shade, July: west wall %+.2f K on the floor; top: roof %+.2f K, all %+.2f K\n",
                  west_k, roof_k, all_k);
    assert_true(west_k < -0.03);
    assert_true(roof_k < -0.5 && all_k < roof_k - 0.1);
    assert_step_hardly_matters(&all, &weather);
    free_columns(&weather);
}

/* With all of beam and sky kept off it is a year without sun under a sky as warm as the air. */
static void full_shade_is_a_year_without_sun(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H),
                       dull = make_weather(&plains, YEAR_H);
    struct stv_building house = of_kind(STV_BUILDING_RICK_HOUSE, 4);
    struct stv_building dark = shaded(&house, 1.0, 1.0);
    for (size_t k = 0; k < YEAR_H; k++) {
        dull.columns[STV_WC_GHI_W_M2][k] = dull.columns[STV_WC_DNI_W_M2][k] = 0.0;
        dull.columns[STV_WC_DHI_W_M2][k] = 0.0;
        dull.columns[STV_WC_SKY_W_M2][k] = sky_w_m2(dull.columns[STV_WC_TEMP_C][k], 1.0);
    }
    struct stv_building_climate shade = run(&dark, &weather, STV_HOUR_S);
    struct stv_building_climate night = run(&house, &dull, STV_HOUR_S);
    for (size_t tier = 0; tier < 4; tier++) {
        stv_assert_close(mean_of(&shade, shade.air_c, tier, JULY_FROM_D, JULY_TO_D),
                         mean_of(&night, night.air_c, tier, JULY_FROM_D, JULY_TO_D), 0.0, 0.02);
        stv_assert_close(mean_of(&shade, shade.air_c, tier, JANUARY_FROM_D, JANUARY_TO_D),
                         mean_of(&night, night.air_c, tier, JANUARY_FROM_D, JANUARY_TO_D), 0.0,
                         0.02);
    }
    stv_building_climate_free(&shade);
    stv_building_climate_free(&night);
    free_columns(&weather);
    free_columns(&dull);
}

static void no_shade_changes_nothing(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, 24 * 20);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 0);
    struct stv_building listed = shaded(&shed, 0.0, 0.0);
    struct stv_building_climate plain = run(&shed, &weather, STV_HOUR_S);
    struct stv_building_climate same = run(&listed, &weather, STV_HOUR_S);
    assert_same_bytes(&plain, &same);
    stv_building_climate_free(&plain);
    stv_building_climate_free(&same);
    free_columns(&weather);
}

static void impossible_shades_are_named(void **state)
{
    (void)state;
    struct stv_building good = shaded(&(struct stv_building){.long_axis_deg = 90.0}, 0.3, 0.2);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 0), bad;
    memcpy(shed.wall_shades, good.wall_shades, sizeof shed.wall_shades);
    shed.n_wall_shades = STV_WALLS;
    assert_null(stv_building_fault(&shed));
    bad = shed;
    bad.wall_shades[1].azimuth_deg += 20.0;
    assert_non_null(stv_building_fault(&bad));
    bad = shed;
    bad.wall_shades[1].azimuth_deg = bad.wall_shades[0].azimuth_deg;
    assert_non_null(stv_building_fault(&bad));
    bad = shed;
    bad.wall_shades[2].kept.sky_frac = 1.2;
    assert_non_null(stv_building_fault(&bad));
    bad = shed;
    bad.roof_shade.beam_frac = (double)NAN;
    assert_non_null(stv_building_fault(&bad));
    bad = shed;
    bad.n_wall_shades = STV_WALLS + 1;
    assert_non_null(stv_building_fault(&bad));
}

/* Everything at once on buildings at the edge: empty, closed, of one tier, and without windows. */
static void all_of_it_at_the_edges(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building edges[4];
    for (size_t i = 0; i < 4; i++)
        edges[i] = of_kind(STV_BUILDING_RACKED_SHED, i == 2 ? 1 : 3);
    edges[0].n_casks = 0.0;
    edges[1].leak_area_m2 = edges[1].vent_low_m2 = edges[1].vent_high_m2 = 0.0;
    for (size_t i = 0; i < 4; i++) {
        struct stv_building all = shaded(&edges[i], 0.5, 0.3), wet = misted(&all);
        wet.roof_spray.wet_frac = 0.7;
        wet.gain_w = 3000.0;
        wet.gain_radiant_frac = 0.5;
        wet.heating_c = 8.0;
        if (i < 3)
            add_windows(&wet, 0.1);
        struct stv_building_climate climate = run(&wet, &weather, STV_HOUR_S);
        double least_c = 100.0, most_c = -100.0, least_frac = 1.0, most_frac = 0.0;
        for (size_t k = 0; k < climate.n_tiers * YEAR_H; k++) {
            least_c = fmin(least_c, climate.air_c[k]);
            most_c = fmax(most_c, climate.air_c[k]);
            least_frac = fmin(least_frac, climate.rh_frac[k]);
            most_frac = fmax(most_frac, climate.rh_frac[k]);
        }
        print_message("edge %zu: %.1f to %.1f C, %.2f to %.2f\n", i, least_c, most_c, least_frac,
                      most_frac);
        assert_true(least_c >= 8.0 - 1e-9 && most_c < 45.0);
        assert_true(least_frac > 0.02 && most_frac <= 1.0);
        stv_building_climate_free(&climate);
    }
    free_columns(&weather);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_takes_windows_gains_and_heating),
        cmocka_unit_test(a_store_of_one_tier_agrees_with_a_plain_zone),
        cmocka_unit_test(nothing_said_changes_nothing),
        cmocka_unit_test(windows_gains_and_heating_by_the_half_step),
        cmocka_unit_test(impossible_windows_and_heat_are_named),
        cmocka_unit_test(shade_cools),
        cmocka_unit_test(full_shade_is_a_year_without_sun),
        cmocka_unit_test(no_shade_changes_nothing),
        cmocka_unit_test(impossible_shades_are_named),
        cmocka_unit_test(all_of_it_at_the_edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
