/* Water that cools a building, by the laws it must keep: misting and roof spray. */
#include "model/building_run.h"
#include "tests/lever_case.h"

static double july_rh_frac(const struct stv_building_climate *climate, size_t tier)
{
    return mean_of(climate, climate->rh_frac, tier, JULY_FROM_D, JULY_TO_D);
}

/* Cooler and damper in every kind, full and almost empty, and no more water than the line gives. */
static void mist_cools_and_dampens(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    for (int kind = 0; kind < STV_BUILDING_N; kind++)
        for (int is_full = 0; is_full < 2; is_full++) {
            struct stv_building plain = of_kind((enum stv_building_kind)kind, 0);
            plain.n_casks *= is_full ? 1.0 : 0.03;
            struct stv_building wet = misted(&plain);
            struct stv_building_climate dry = run(&plain, &weather, STV_HOUR_S);
            struct stv_building_climate mist = run(&wet, &weather, STV_HOUR_S);
            size_t top = plain.n_tiers - 1;
            double cooler_k = mean_of(&dry, dry.air_c, top, JULY_FROM_D, JULY_TO_D) -
                              mean_of(&mist, mist.air_c, top, JULY_FROM_D, JULY_TO_D);
            double damper_frac = july_rh_frac(&mist, top) - july_rh_frac(&dry, top);
            print_message("%s, %s: %.2f K cooler, %.3f damper, %.0f kg a year\n",
                          stv_building_kind_name(plain.kind), is_full ? "full" : "nearly empty",
                          cooler_k, damper_frac, mist.mist_kg_per_y);
            assert_true(cooler_k > 0.1 && cooler_k < 10.0);
            assert_true(damper_frac > 0.005);
            assert_true(mist.mist_kg_per_y > 0.0 &&
                        mist.mist_kg_per_y < wet.misting.rate_kg_h * YEAR_H);
            stv_assert_close(dry.mist_kg_per_y, 0.0, 0.0, 0.0);
            stv_building_climate_free(&dry);
            stv_building_climate_free(&mist);
        }
    free_columns(&weather);
}

/* A zone blown through with outdoor air and sprayed without end comes to the wet bulb: there the
 * heat that the air brings, rho c (T_out - T), is what the water needs, L (v_sat(T) - v_out).  Here
 * 30 C and 0.4 of humidity.  Flows that go by volume make the model 0.3 K colder. */
static void mist_without_end_comes_to_the_wet_bulb(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, 24 * 40);
    double vapour_pa = 0.4 * stv_water_psat_pa(30.0), low_c = 0.0, high_c = 30.0;
    for (size_t k = 0; k < weather.grid.n; k++) {
        weather.columns[STV_WC_TEMP_C][k] = 30.0;
        weather.columns[STV_WC_VAPOUR_PA][k] = vapour_pa;
        weather.columns[STV_WC_SKY_W_M2][k] = sky_w_m2(30.0, 1.0);
        weather.columns[STV_WC_GHI_W_M2][k] = weather.columns[STV_WC_DNI_W_M2][k] = 0.0;
        weather.columns[STV_WC_DHI_W_M2][k] = 0.0;
    }
    struct stv_building zone = of_kind(STV_BUILDING_PLAIN_ZONE, 0);
    zone.wall = zone.roof;
    zone.zone.air_change_per_h = 100.0;
    zone.misting.rate_kg_h = 1e4;
    zone.misting.below_rh_frac = 1.0;
    zone.misting.above_c = 0.0;
    for (int i = 0; i < 60; i++) {
        double bulb_c = 0.5 * (low_c + high_c);
        double drawn_pa = stv_water_psat_pa(bulb_c) - vapour_pa; /* gas constant 461.5, 303 K */
        double needs_w_m3 = 2.466e6 * drawn_pa / (461.5 * 300.0);
        *(1.13 * 1006.0 * (30.0 - bulb_c) > needs_w_m3 ? &low_c : &high_c) = bulb_c;
    }
    struct stv_building_climate climate = run(&zone, &weather, STV_HOUR_S);
    size_t last = weather.grid.n - 1;
    print_message("wet bulb %.2f C, air %.2f C at %.4f\n", low_c, climate.air_c[last],
                  climate.rh_frac[last]);
    stv_assert_close(climate.rh_frac[last], 1.0, 0.0, 1e-3);
    assert_true(climate.air_c[last] > low_c - 0.5 && climate.air_c[last] < low_c + 0.5);
    stv_building_climate_free(&climate);
    free_columns(&weather);
}

/* The valve shuts by humidity, by temperature, by the clock and by tier. */
static void the_valve_of_the_mist_obeys(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 5), hot = misted(&shed);
    struct stv_building_climate plain = run(&shed, &weather, STV_HOUR_S);
    hot.misting.above_c = 60.0;
    struct stv_building_climate never = run(&hot, &weather, STV_HOUR_S);
    assert_same_bytes(&plain, &never);
    struct stv_building held = misted(&shed), top = misted(&shed), noon = misted(&shed);
    held.misting.rate_kg_h = 500.0;
    held.misting.below_rh_frac = 0.7;
    held.misting.above_c = 26.0;
    struct stv_building_climate much = run(&held, &weather, STV_HOUR_S);
    for (size_t k = 0; k < YEAR_H; k++) /* wood that has taken up water gives it back later */
        assert_true(much.rh_frac[k] < fmax(plain.rh_frac[k], 0.7) + 0.05);
    assert_true(much.mist_kg_per_y > 0.0 && july_rh_frac(&much, 0) < 0.75);
    top.misting.lowest_tier_idx = 4;
    noon.misting.from_h = 12.0;
    noon.misting.to_h = 14.0;
    struct stv_building_climate top_only = run(&top, &weather, STV_HOUR_S);
    struct stv_building_climate at_noon = run(&noon, &weather, STV_HOUR_S);
    struct stv_building all = misted(&shed);
    struct stv_building_climate whole = run(&all, &weather, STV_HOUR_S);
    assert_true(at_noon.mist_kg_per_y < 2.0 / 24.0 * YEAR_H * noon.misting.rate_kg_h);
    assert_true(at_noon.mist_kg_per_y < whole.mist_kg_per_y);
    assert_true(july_rh_frac(&top_only, 4) > july_rh_frac(&plain, 4) + 0.02);
    assert_true(july_rh_frac(&top_only, 4) > july_rh_frac(&whole, 4));
    stv_building_climate_free(&plain);
    stv_building_climate_free(&never);
    stv_building_climate_free(&much);
    stv_building_climate_free(&top_only);
    stv_building_climate_free(&at_noon);
    stv_building_climate_free(&whole);
    free_columns(&weather);
}

/* By hand: a valve that would cool 28 C to 20 C and opens above 26 C stands at a quarter; one that
 * would bring damper air past its limit stands where the limit is; air at the limit shuts it. */
static void the_valve_stands_where_a_limit_is(void **state)
{
    (void)state;
    struct stv_building building = of_kind(STV_BUILDING_RACKED_SHED, 2);
    struct stv__mist_trial shut = {.rooms.air_c = {24.0, 28.0}, .vapour_kg_m3 = {0.010, 0.011}};
    struct stv__mist_trial open = {.rooms.air_c = {21.0, 20.0}, .vapour_kg_m3 = {0.012, 0.013}};
    building.misting.rate_kg_h = 10.0;
    building.misting.above_c = 26.0;
    building.misting.below_rh_frac = 1.0;
    stv_assert_close(stv__mist_share_frac(&building, &shut, &open), 0.25, 1e-12, 0.0);
    building.misting.above_c = 0.0;
    stv_assert_close(stv__mist_share_frac(&building, &shut, &open), 1.0, 0.0, 0.0);
    building.misting.below_rh_frac = 0.6;
    double share = stv__mist_share_frac(&building, &shut, &open);
    double lower_frac = (0.010 + 0.002 * share) / stv__saturation_kg_m3(24.0 - 3.0 * share);
    double upper_frac = (0.011 + 0.002 * share) / stv__saturation_kg_m3(28.0 - 8.0 * share);
    stv_assert_close(fmax(lower_frac, upper_frac), 0.6, 1e-6, 0.0);
    assert_true(share > 0.0 && share < 1.0);
    building.misting.below_rh_frac = 0.4;
    stv_assert_close(stv__mist_share_frac(&building, &shut, &open), 0.0, 0.0, 0.0);
    building.misting.below_rh_frac = 1.0;
    building.misting.above_c = 28.0;
    stv_assert_close(stv__mist_share_frac(&building, &shut, &open), 0.0, 0.0, 0.0);
}

static void mist_by_the_half_step(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    const enum stv_building_kind kinds[] = {STV_BUILDING_RACKED_SHED, STV_BUILDING_DUNNAGE,
                                            STV_BUILDING_PLAIN_ZONE};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        struct stv_building plain = of_kind(kinds[i], 0), wet = misted(&plain);
        assert_step_hardly_matters(&wet, &weather);
    }
    free_columns(&weather);
}

static void impossible_mists_are_named(void **state)
{
    (void)state;
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 5), good = misted(&shed), bad;
    assert_null(stv_building_fault(&good));
    bad = good;
    bad.misting.rate_kg_h = -1.0;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.misting.lowest_tier_idx = 5;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.misting.lowest_tier_idx = 2;
    bad.misting.highest_tier_idx = 1;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.misting.above_c = -5.0;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.misting.below_rh_frac = 1.1;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.misting.to_h = 9.0;
    assert_non_null(stv_building_fault(&bad));
}

/* In every kind a spray on all of the roof cools July, by no more water than the sun could dry. */
static void a_roof_spray_cools(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    for (int kind = 0; kind < STV_BUILDING_N; kind++) {
        struct stv_building plain = of_kind((enum stv_building_kind)kind, 0), wet = plain, half;
        wet.roof_spray.wet_frac = 1.0;
        half = wet;
        half.roof_spray.wet_frac = 0.3;
        struct stv_building_climate dry = run(&plain, &weather, STV_HOUR_S);
        struct stv_building_climate all = run(&wet, &weather, STV_HOUR_S);
        size_t top = plain.n_tiers - 1;
        double cooler_k = mean_of(&dry, dry.air_c, top, JULY_FROM_D, JULY_TO_D) -
                          mean_of(&all, all.air_c, top, JULY_FROM_D, JULY_TO_D);
        double less_k =
            mean_of(&dry, dry.air_c, top, JULY_FROM_D, JULY_TO_D) - july_c(&half, &weather, top);
        double roof_m2 =
            plain.length_m * plain.width_m / cos(plain.roof_pitch_deg * MADE_PI_ND / 180.0);
        print_message("%s: all wet %.2f K, a third %.2f K, %.0f kg/m2 a year\n",
                      stv_building_kind_name(plain.kind), cooler_k, less_k,
                      all.roof_water_kg_per_y / roof_m2);
        assert_true(cooler_k > 0.3 && cooler_k < 10.0);
        assert_true(less_k > 0.1 && less_k < cooler_k);
        assert_true(all.roof_water_kg_per_y > 100.0 * roof_m2);
        assert_true(all.roof_water_kg_per_y < 3500.0 * roof_m2);
        stv_assert_close(dry.roof_water_kg_per_y, 0.0, 0.0, 0.0);
        stv_building_climate_free(&dry);
        stv_building_climate_free(&all);
    }
    free_columns(&weather);
}

static void the_spray_keeps_its_hours(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, YEAR_H);
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED, 3), wet = shed, night, cold, dull;
    wet.roof_spray.wet_frac = 0.8;
    struct stv_building_climate plain = run(&shed, &weather, STV_HOUR_S);
    night = cold = dull = wet;
    night.roof_spray.from_h = 22.0; /* the sun is never up then */
    night.roof_spray.to_h = 3.0;
    cold.roof_spray.above_c = 60.0;
    dull.roof_spray.sun_w_m2 = 1500.0;
    const struct stv_building *never[] = {&night, &cold, &dull};
    for (size_t i = 0; i < 3; i++) {
        struct stv_building_climate same = run(never[i], &weather, STV_HOUR_S);
        assert_same_bytes(&plain, &same);
        stv_building_climate_free(&same);
    }
    stv_building_climate_free(&plain);
    struct stv_building house = of_kind(STV_BUILDING_RICK_HOUSE, 4);
    struct stv_building slate = of_kind(STV_BUILDING_DUNNAGE, 0);
    house.roof_spray.wet_frac = slate.roof_spray.wet_frac = 1.0;
    assert_step_hardly_matters(&house, &weather);
    assert_step_hardly_matters(&slate, &weather);
    free_columns(&weather);
}

/* A wet face by hand: at 35 C (39.6 g/m3 at saturation) against 12 g/m3, film 10 W/m2K, air of 1150
 * J/m3K, half of it wet: 0.5 x 2.466e6 x 10/(1150 x 0.91) x 0.0276 = 325 W/m2. */
static void a_wet_face_by_hand(void **state)
{
    (void)state;
    struct stv__face face = {
        .film_w_m2k = 10.0, .wet_frac = 0.5, .outdoor_kg_m3 = 0.012, .air_j_m3k = 1150.0};
    struct stv__wetting at = stv__face_wetting(&face, 35.0);
    struct stv__wetting over = stv__face_wetting(&face, 35.5);
    stv_assert_close(at.loss_w_m2, 325.0, 0.005, 0.0);
    stv_assert_close(0.5 * (at.slope_w_m2k + over.slope_w_m2k),
                     2.0 * (over.loss_w_m2 - at.loss_w_m2), 1e-4, 0.0);
    stv_assert_close(stv__face_wetting(&face, 10.0).loss_w_m2, 0.0, 0.0, 0.0); /* under the dew */
    face.wet_frac = 0.0;
    stv_assert_close(stv__face_wetting(&face, 35.0).loss_w_m2, 0.0, 0.0, 0.0);
}

static void impossible_sprays_are_named(void **state)
{
    (void)state;
    struct stv_building good = of_kind(STV_BUILDING_RACKED_SHED, 5), bad;
    good.roof_spray.wet_frac = 0.5;
    assert_null(stv_building_fault(&good));
    bad = good;
    bad.roof_spray.wet_frac = 1.2;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.roof_spray.above_c = -3.0;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.roof_spray.sun_w_m2 = (double)NAN;
    assert_non_null(stv_building_fault(&bad));
    bad = good;
    bad.roof_spray.from_h = 9.0;
    assert_non_null(stv_building_fault(&bad));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(mist_cools_and_dampens),
        cmocka_unit_test(mist_without_end_comes_to_the_wet_bulb),
        cmocka_unit_test(the_valve_of_the_mist_obeys),
        cmocka_unit_test(the_valve_stands_where_a_limit_is),
        cmocka_unit_test(mist_by_the_half_step),
        cmocka_unit_test(impossible_mists_are_named),
        cmocka_unit_test(a_roof_spray_cools),
        cmocka_unit_test(the_spray_keeps_its_hours),
        cmocka_unit_test(a_wet_face_by_hand),
        cmocka_unit_test(impossible_sprays_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
