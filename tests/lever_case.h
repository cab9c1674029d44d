/* Runs of made-up years for the tests of what may be added to a building. */
#ifndef STV_TESTS_LEVER_CASE_H
#define STV_TESTS_LEVER_CASE_H

#include "model/building.h"
#include "model/units.h"
#include "tests/made_up_year.h"

#define JULY_FROM_D ((size_t)181)
#define JULY_TO_D ((size_t)212)
#define JANUARY_FROM_D ((size_t)0)
#define JANUARY_TO_D ((size_t)31)

static inline struct stv_building of_kind(enum stv_building_kind kind, size_t n_tiers)
{
    struct stv_building building;
    stv_assert_ok(stv_building_of_kind(kind, n_tiers, 0, 0, &building));
    return building;
}

/* A run whose heat and water must close. */
static inline struct stv_building_climate run(const struct stv_building *building,
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

static inline double mean_of(const struct stv_building_climate *climate, const double *column,
                             size_t tier, size_t from_d, size_t to_d)
{
    return stv_mean_nd(column + tier * climate->grid.n + from_d * STV_DAY_H,
                       (to_d - from_d) * STV_DAY_H);
}

static inline double july_c(const struct stv_building *building, const struct stv_weather *weather,
                            size_t tier)
{
    struct stv_building_climate climate = run(building, weather, STV_HOUR_S);
    double mean_c = mean_of(&climate, climate.air_c, tier, JULY_FROM_D, JULY_TO_D);
    stv_building_climate_free(&climate);
    return mean_c;
}

static inline void assert_same_bytes(const struct stv_building_climate *a,
                                     const struct stv_building_climate *b)
{
    size_t n = a->n_tiers * a->grid.n * sizeof(double);
    assert_int_equal(a->n_tiers, b->n_tiers);
    assert_memory_equal(a->air_c, b->air_c, n);
    assert_memory_equal(a->rh_frac, b->rh_frac, n);
    assert_memory_equal(a->radiant_c, b->radiant_c, n);
}

/* Monthly means of both steps differ by less than 0.1 K and 0.01. */
static inline void assert_step_hardly_matters(const struct stv_building *building,
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
static inline void add_windows(struct stv_building *building, double share_frac)
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

/* 10 g of water an hour and m2 of floor, in air above 20 C and below 0.9. */
static inline struct stv_building misted(const struct stv_building *plain)
{
    struct stv_building building = *plain;
    building.misting.rate_kg_h = 0.01 * plain->length_m * plain->width_m;
    building.misting.below_rh_frac = 0.9;
    return building;
}

/* A shed of bare sheet shaded on all sides: the more is kept off, the cooler the top in July. */
static inline struct stv_building shaded(const struct stv_building *plain, double beam_frac,
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

#endif
