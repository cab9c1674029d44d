/* What may be added to a building of any kind, each by the laws it must keep: windows, gains,
 * heating, misting and shade. */
#include "model/building.h"
#include "model/building_run.h"
#include "model/units.h"
#include "tests/made_up_year.h"

#include <string.h>

#define JULY_FROM_D ((size_t)181)
#define JULY_TO_D ((size_t)212)
#define JANUARY_FROM_D ((size_t)0)
#define JANUARY_TO_D ((size_t)31)

static struct stv_building of_kind(enum stv_building_kind kind, size_t n_tiers)
{
    struct stv_building building;
    stv_assert_ok(stv_building_of_kind(kind, n_tiers, 0, 0, &building));
    return building;
}

/* A run whose heat and water must close. */
static struct stv_building_climate run(const struct stv_building *building,
                                       const struct stv_weather *weather, int step_s)
{
    struct stv_building_climate climate;
    if (stv_building_fault(building))
        print_error("%s\n", stv_building_fault(building));
    stv_assert_ok(stv_building_simulate(building, weather, step_s, &climate));
    assert_true(climate.energy_residual_frac <= 1e-6);
    assert_true(climate.moisture_residual_frac <= 1e-6);
    return climate;
}

static double mean_of(const struct stv_building_climate *climate, const double *column, size_t tier,
                      size_t from_d, size_t to_d)
{
    return stv_mean_nd(column + tier * climate->grid.n + from_d * STV_DAY_H,
                       (to_d - from_d) * STV_DAY_H);
}

static double july_c(const struct stv_building *building, const struct stv_weather *weather,
                     size_t tier)
{
    struct stv_building_climate climate = run(building, weather, STV_HOUR_S);
    double mean_c = mean_of(&climate, climate.air_c, tier, JULY_FROM_D, JULY_TO_D);
    stv_building_climate_free(&climate);
    return mean_c;
}

static void assert_same_bytes(const struct stv_building_climate *a,
                              const struct stv_building_climate *b)
{
    size_t n = a->n_tiers * a->grid.n * sizeof(double);
    assert_int_equal(a->n_tiers, b->n_tiers);
    assert_memory_equal(a->air_c, b->air_c, n);
    assert_memory_equal(a->rh_frac, b->rh_frac, n);
    assert_memory_equal(a->radiant_c, b->radiant_c, n);
}

/* Monthly means of both steps differ by less than 0.1 K and 0.01. */
static void assert_step_hardly_matters(const struct stv_building *building,
                                       const struct stv_weather *weather)
{
    struct stv_building_climate whole = run(building, weather, STV_HOUR_S);
    struct stv_building_climate half = run(building, weather, STV_HOUR_S / 2);
    double worst_k = 0.0, worst_frac = 0.0;
    for (size_t tier = 0; tier < building->n_tiers; tier++)
        for (size_t d = 0; d + 30 <= weather->grid.n / STV_DAY_H; d += 30) {
            worst_k = fmax(worst_k, fabs(mean_of(&half, half.air_c, tier, d, d + 30) -
                                         mean_of(&whole, whole.air_c, tier, d, d + 30)));
            worst_frac = fmax(worst_frac, fabs(mean_of(&half, half.rh_frac, tier, d, d + 30) -
                                               mean_of(&whole, whole.rh_frac, tier, d, d + 30)));
        }
    print_message("half the step: %.3f K, %.4f of humidity\n", worst_k, worst_frac);
    assert_true(worst_k < 0.1);
    assert_true(worst_frac < 0.01);
    stv_building_climate_free(&whole);
    stv_building_climate_free(&half);
}

/* Windows on three sides, the ridge east to west. */
static void add_windows(struct stv_building *building, double share_frac)
{
    const double azimuths_deg[] = {180.0, 90.0, 270.0};
    for (size_t k = 0; k < 3; k++) {
        double wall_m2 =
            building->eaves_height_m * (k == 0 ? building->length_m : building->width_m);
        building->windows[k] =
            (struct stv_wall_window){share_frac * wall_m2, azimuths_deg[k], stv_glazing_default()};
    }
    building->windows[2].glazing.n_panes = 1;
    building->n_windows = 3;
}

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

static double july_rh_frac(const struct stv_building_climate *climate, size_t tier)
{
    return mean_of(climate, climate->rh_frac, tier, JULY_FROM_D, JULY_TO_D);
}

/* 10 g of water an hour and m2 of floor, in air above 20 C and below 0.9. */
static struct stv_building misted(const struct stv_building *plain)
{
    struct stv_building building = *plain;
    building.misting.rate_kg_h = 0.01 * plain->length_m * plain->width_m;
    building.misting.below_rh_frac = 0.9;
    return building;
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

/* A shed of bare sheet shaded on all sides: the more is kept off, the cooler the top in July. */
static struct stv_building shaded(const struct stv_building *plain, double beam_frac,
                                  double sky_frac)
{
    struct stv_building building = *plain;
    building.roof_shade = (struct stv_shade){beam_frac, sky_frac};
    for (size_t k = 0; k < STV_WALLS; k++)
        building.wall_shades[k] = (struct stv_wall_shade){
            fmod(plain->long_axis_deg + 90.0 * (double)k, 360.0), {beam_frac, sky_frac}};
    building.n_wall_shades = STV_WALLS;
    return building;
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(every_kind_takes_windows_gains_and_heating),
        cmocka_unit_test(a_store_of_one_tier_agrees_with_a_plain_zone),
        cmocka_unit_test(nothing_said_changes_nothing),
        cmocka_unit_test(windows_gains_and_heating_by_the_half_step),
        cmocka_unit_test(impossible_windows_and_heat_are_named),
        cmocka_unit_test(mist_cools_and_dampens),
        cmocka_unit_test(mist_without_end_comes_to_the_wet_bulb),
        cmocka_unit_test(the_valve_of_the_mist_obeys),
        cmocka_unit_test(the_valve_stands_where_a_limit_is),
        cmocka_unit_test(mist_by_the_half_step),
        cmocka_unit_test(impossible_mists_are_named),
        cmocka_unit_test(shade_cools),
        cmocka_unit_test(full_shade_is_a_year_without_sun),
        cmocka_unit_test(no_shade_changes_nothing),
        cmocka_unit_test(impossible_shades_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
