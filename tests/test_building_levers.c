/* What may be added to a building, each by the laws it must keep: shade. */
#include "model/building.h"
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
        cmocka_unit_test(shade_cools),
        cmocka_unit_test(full_shade_is_a_year_without_sun),
        cmocka_unit_test(no_shade_changes_nothing),
        cmocka_unit_test(impossible_shades_are_named),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
