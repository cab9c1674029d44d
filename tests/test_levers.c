/* What a warehouse of each kind does under three published typical years: how warm it gets with
 * height, and what roof, insulation, stock, floor and night air change.  Needs the data folder. */
#include "model/building.h"
#include "model/climate_metrics.h"
#include "model/constructions.h"
#include "model/position.h"
#include "model/units.h"
#include "tests/published_year.h"
#include "tests/usual.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define WICHITA "weather/USA_TX_Wichita.Falls.Muni.AP.723510_TMY3.epw"
#define LOUISVILLE "weather/USA_KY_Louisville-Standiford.Field.724230_TMY3.epw"
#define SAN_JUAN "weather/PRI_San.Juan.Intl.AP.785260_TMY3.epw"
#define DENVER "buildings/725650TYCST.epw"
#define SEASON_D ((size_t)91)
#define JULY_FROM_D ((size_t)181)
#define JULY_TO_D ((size_t)212)

static struct stv_building of_kind(enum stv_building_kind kind)
{
    struct stv_building building;
    stv_assert_ok(stv_building_of_kind(kind, 0, 0, 0, &building));
    return building;
}

/* Least-squares slope over the tiers' heights, K/m. */
static double slope_k_m(const struct stv_building *building, const double *tier_c)
{
    double middle = 0.5 * (double)(building->n_tiers - 1), mean_c = 0.0, top = 0.0, bottom = 0.0;
    for (size_t t = 0; t < building->n_tiers; t++)
        mean_c += tier_c[t] / (double)building->n_tiers;
    for (size_t t = 0; t < building->n_tiers; t++) {
        double off_m = ((double)t - middle) * building->tier_height_m;
        top += off_m * (tier_c[t] - mean_c);
        bottom += off_m * off_m;
    }
    return top / bottom;
}

static double mean_c(const struct stv_building_climate *climate, size_t tier, size_t from_d,
                     size_t to_d)
{
    double sum = 0.0;
    for (size_t k = from_d * STV_DAY_H; k < to_d * STV_DAY_H; k++)
        sum += climate->air_c[tier * climate->grid.n + k];
    return sum / (double)((to_d - from_d) * STV_DAY_H);
}

/* First day of the warmest, or coldest, 13 weeks of the middle tier. */
static size_t season_from(const struct stv_building_climate *climate, bool is_warm)
{
    size_t best_d = 0;
    double best_c = 0.0;
    for (size_t d = 0; d + SEASON_D <= climate->grid.n / STV_DAY_H; d++) {
        double c = mean_c(climate, (climate->n_tiers - 1) / 2, d, d + SEASON_D);
        if (d == 0 || (is_warm ? c > best_c : c < best_c)) {
            best_c = c;
            best_d = d;
        }
    }
    return best_d;
}

static double slope_of_means(const struct stv_building *building,
                             const struct stv_building_climate *climate, size_t from_d, size_t to_d)
{
    double tier_c[STV_TIERS_MAX];
    for (size_t t = 0; t < climate->n_tiers; t++)
        tier_c[t] = mean_c(climate, t, from_d, to_d);
    return slope_k_m(building, tier_c);
}

/* Mean over days of the slope of the tiers' daily maxima. */
static double slope_of_maxima(const struct stv_building *building,
                              const struct stv_building_climate *climate, size_t from_d)
{
    double sum = 0.0;
    for (size_t d = from_d; d < from_d + SEASON_D; d++) {
        double tier_c[STV_TIERS_MAX];
        for (size_t t = 0; t < climate->n_tiers; t++) {
            tier_c[t] = -HUGE_VAL;
            for (size_t h = 0; h < STV_DAY_H; h++)
                tier_c[t] =
                    fmax(tier_c[t], climate->air_c[t * climate->grid.n + d * STV_DAY_H + h]);
        }
        sum += slope_k_m(building, tier_c) / (double)SEASON_D;
    }
    return sum;
}

/* Source: Porras-Amores et al. 2014, Energies 7, 1193: daily maxima 0.3 to 0.7 K/m in the warm
 * months, nothing in the cold. */
static void a_shed_gets_warmer_with_height(void **state)
{
    (void)state;
    static const char *const years[] = {WICHITA, LOUISVILLE, DENVER};
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED);
    struct stv_building dunnage = of_kind(STV_BUILDING_DUNNAGE);
    for (size_t i = 0; i < sizeof years / sizeof years[0]; i++) {
        struct stv_weather weather;
        struct stv_building_climate climate, steep;
        stv_published_year(years[i], &weather);
        stv_assert_ok(stv_building_simulate(&shed, &weather, STV_HOUR_S, &climate));
        size_t warm_d = season_from(&climate, true), cold_d = season_from(&climate, false);
        double warm_k_m = slope_of_maxima(&shed, &climate, warm_d);
        double cold_k_m = slope_of_means(&shed, &climate, cold_d, cold_d + SEASON_D);
        print_message("%s: maxima %.2f K/m warm, means %.2f K/m cold\n", years[i], warm_k_m,
                      cold_k_m);
        assert_true(warm_k_m >= 0.3 && warm_k_m <= 0.7);
        assert_true(fabs(cold_k_m) < 0.1);
        stv_assert_ok(stv_building_simulate(&dunnage, &weather, STV_HOUR_S, &steep));
        assert_true(slope_of_maxima(&dunnage, &steep, warm_d) > warm_k_m);
        stv_building_climate_free(&steep);
        stv_building_climate_free(&climate);
        stv_weather_free(&weather);
    }
}

/* Source: hourly loggers on the floors of a seven-floor rick house in Kentucky, a producer's
 * page: 6.4 K over six floors of about 2.7 m in August, at mid-range; 0.35 to 0.55 K/m are asked
 * for. */
static void a_rick_house_is_as_steep_as_logged(void **state)
{
    (void)state;
    struct stv_weather weather;
    struct stv_building_climate climate;
    struct stv_building house = of_kind(STV_BUILDING_RICK_HOUSE);
    stv_published_year(LOUISVILLE, &weather);
    stv_assert_ok(stv_building_simulate(&house, &weather, STV_HOUR_S, &climate));
    double july_k_m = slope_of_means(&house, &climate, JULY_FROM_D, JULY_TO_D);
    print_message("rick house, July: %.2f K/m\n", july_k_m);
    assert_true(july_k_m >= 0.35 && july_k_m <= 0.55);
    stv_building_climate_free(&climate);
    stv_weather_free(&weather);
}

static void the_tropics_run(void **state)
{
    (void)state;
    struct stv_weather weather;
    stv_published_year(SAN_JUAN, &weather);
    for (int kind = 0; kind < STV_BUILDING_N; kind++) {
        struct stv_building building = of_kind((enum stv_building_kind)kind);
        struct stv_building_climate climate;
        stv_assert_ok(stv_building_simulate(&building, &weather, STV_HOUR_S, &climate));
        for (size_t k = 0; k < climate.n_tiers * climate.grid.n; k++)
            assert_true(climate.air_c[k] > 10.0 && climate.air_c[k] < 60.0);
        stv_building_climate_free(&climate);
    }
    stv_weather_free(&weather);
}

/* July mean of the spirit in the top tier. */
static double july_spirit_c(const struct stv_building *building, const struct stv_weather *weather)
{
    struct stv_building_climate climate;
    struct stv_position top;
    double *liquid_c = malloc(weather->grid.n * sizeof *liquid_c), sum = 0.0;
    assert_non_null(liquid_c);
    assert_null(stv_building_fault(building));
    stv_assert_ok(stv_building_simulate(building, weather, STV_HOUR_S, &climate));
    stv_assert_ok(stv_position_join((struct stv_place){0, (int)building->n_tiers - 1, -1, -1},
                                    &climate, NULL, NULL, 0, &top));
    stv_assert_ok(stv_position_liquid_c(&top, building->exposed_frac, &usual, liquid_c));
    for (size_t k = JULY_FROM_D * STV_DAY_H; k < JULY_TO_D * STV_DAY_H; k++)
        sum += liquid_c[k];
    free(liquid_c);
    stv_position_free(&top);
    stv_building_climate_free(&climate);
    return sum / (double)((JULY_TO_D - JULY_FROM_D) * STV_DAY_H);
}

struct lever {
    const char *name;
    struct stv_building building;
    double listed_k;
};

static void judge(const struct stv_building *plain, const struct stv_weather *weather,
                  const struct lever *levers, size_t n)
{
    double plain_c = july_spirit_c(plain, weather);
    for (size_t i = 0; i < n; i++) {
        double change_k = july_spirit_c(&levers[i].building, weather) - plain_c;
        print_message("%s: %+.2f K, %+.1f listed\n", levers[i].name, change_k, levers[i].listed_k);
        assert_true(change_k / levers[i].listed_k >= 0.5 && change_k / levers[i].listed_k <= 2.0);
    }
}

/* Source: what-ifs of a prototype of this model on a made-up year of the same warmth (calculated by
 * its authors, no measurement): within a factor of two. */
static void levers_of_a_shed(void **state)
{
    (void)state;
    struct stv_weather weather;
    struct stv_building shed = of_kind(STV_BUILDING_RACKED_SHED);
    struct lever levers[] = {{"a quarter of the casks", shed, 2.2},
                             {"white roof", shed, -1.7},
                             {"night air", shed, -2.1},
                             {"bare sheet", shed, 6.5},
                             {"bare sheet, white", shed, 1.3}};
    stv_published_year(WICHITA, &weather);
    levers[0].building.n_casks /= 4.0;
    levers[1].building.roof.absorptance_frac = 0.25;
    levers[2].building.night_air_change_per_h = 5.0;
    for (size_t i = 3; i < 5; i++) {
        stv_assert_ok(stv_construction_from_name("bare steel sheet", &levers[i].building.roof));
        stv_assert_ok(stv_construction_from_name("bare steel sheet", &levers[i].building.wall));
    }
    levers[4].building.roof.absorptance_frac = 0.25;
    levers[4].building.wall.absorptance_frac = 0.30;
    judge(&shed, &weather, levers, sizeof levers / sizeof levers[0]);
    stv_weather_free(&weather);
}

static void levers_of_a_dunnage(void **state)
{
    (void)state;
    struct stv_weather weather;
    struct stv_building dunnage = of_kind(STV_BUILDING_DUNNAGE);
    struct lever levers[] = {{"white roof", dunnage, -4.3},
                             {"roof insulation", dunnage, -3.1},
                             {"dry floor", dunnage, 1.1},
                             {"night air", dunnage, -1.8}};
    stv_published_year(WICHITA, &weather);
    levers[0].building.roof.absorptance_frac = 0.25;
    stv_assert_ok(
        stv_construction_from_name("slate on insulated boards", &levers[1].building.roof));
    levers[2].building.floor_wetness_frac = 0.0;
    levers[3].building.night_air_change_per_h = 5.0;
    judge(&dunnage, &weather, levers, sizeof levers / sizeof levers[0]);
    stv_weather_free(&weather);
}

/* Mean of the hours 12 to 17 in July, top tier. */
static double july_afternoon_c(const struct stv_building *building,
                               const struct stv_weather *weather)
{
    struct stv_building_climate climate;
    double sum = 0.0;
    stv_assert_ok(stv_building_simulate(building, weather, STV_HOUR_S, &climate));
    const double *top_c = climate.air_c + (building->n_tiers - 1) * climate.grid.n;
    for (size_t d = JULY_FROM_D; d < JULY_TO_D; d++)
        for (size_t h = 12; h < 17; h++)
            sum += top_c[d * STV_DAY_H + h];
    stv_building_climate_free(&climate);
    return sum / (double)((JULY_TO_D - JULY_FROM_D) * 5);
}

/* Source: water sprinkled on the folded metal roof of a factory: the room 3.8 C cooler, the roof
 * 8.3 C (AIJ Technical Report 15(31):807, seen).  Here an all but empty shed of bare
 * sheet; how much of that roof was wet is not known: half of it is taken, and a factor of two. */
static void a_sprinkled_metal_roof_is_as_cool_as_measured(void **state)
{
    (void)state;
    static const char *const years[] = {WICHITA, LOUISVILLE};
    struct stv_building plain = of_kind(STV_BUILDING_RACKED_SHED), wet;
    plain.n_casks *= 0.02;
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &plain.roof));
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &plain.wall));
    wet = plain;
    wet.roof_spray.wet_frac = 0.5;
    for (size_t i = 0; i < 2; i++) {
        struct stv_weather weather;
        stv_published_year(years[i], &weather);
        double change_k = july_afternoon_c(&wet, &weather) - july_afternoon_c(&plain, &weather);
        print_message("%s: sprinkled roof, afternoon air under it %+.2f K, -3.8 measured\n",
                      years[i], change_k);
        assert_true(change_k / -3.8 >= 0.5 && change_k / -3.8 <= 2.0);
        stv_weather_free(&weather);
    }
}

/* What water and shade do to the spirit in the top tier in July: no published size, so sign and
 * order only. */
static void water_and_shade_cool_the_spirit(void **state)
{
    (void)state;
    static const enum stv_building_kind kinds[] = {STV_BUILDING_RACKED_SHED, STV_BUILDING_DUNNAGE,
                                                   STV_BUILDING_RICK_HOUSE};
    struct stv_weather weather;
    stv_published_year(WICHITA, &weather);
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++) {
        struct stv_building plain = of_kind(kinds[i]), sprayed = plain, shaded = plain,
                            mist = plain;
        double plain_c = july_spirit_c(&plain, &weather);
        sprayed.roof_spray.wet_frac = 0.7;
        shaded.roof_shade = (struct stv_shade){0.7, 0.3};
        mist.misting.rate_kg_h = 0.02 * plain.length_m * plain.width_m;
        double spray_k = july_spirit_c(&sprayed, &weather) - plain_c;
        double shade_k = july_spirit_c(&shaded, &weather) - plain_c;
        double mist_k = july_spirit_c(&mist, &weather) - plain_c;
        print_message("%s: roof spray %+.2f K, roof shade %+.2f K, misting %+.2f K\n",
                      stv_building_kind_name(kinds[i]), spray_k, shade_k, mist_k);
        assert_true(spray_k < -0.5 && spray_k > -8.0);
        assert_true(shade_k < -0.3 && shade_k > -8.0);
        assert_true(mist_k < -0.05 && mist_k > -8.0);
    }
    stv_weather_free(&weather);
}

/* A wet floor makes the bottom tier damper and cooler. */
static void a_wet_floor_cools(void **state)
{
    (void)state;
    struct stv_weather weather;
    struct stv_building_climate dry, wet;
    struct stv_building dunnage = of_kind(STV_BUILDING_DUNNAGE);
    stv_published_year(WICHITA, &weather);
    dunnage.floor_wetness_frac = 0.0;
    stv_assert_ok(stv_building_simulate(&dunnage, &weather, STV_HOUR_S, &dry));
    dunnage.floor_wetness_frac = 1.0;
    stv_assert_ok(stv_building_simulate(&dunnage, &weather, STV_HOUR_S, &wet));
    assert_true(mean_c(&wet, 0, JULY_FROM_D, JULY_TO_D) <
                mean_c(&dry, 0, JULY_FROM_D, JULY_TO_D) - 0.5);
    double damper = 0.0;
    for (size_t k = JULY_FROM_D * STV_DAY_H; k < JULY_TO_D * STV_DAY_H; k++)
        damper += wet.rh_frac[k] - dry.rh_frac[k];
    assert_true(damper > 0.05 * (double)((JULY_TO_D - JULY_FROM_D) * STV_DAY_H));
    stv_building_climate_free(&dry);
    stv_building_climate_free(&wet);
    stv_weather_free(&weather);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_shed_gets_warmer_with_height),
        cmocka_unit_test(a_rick_house_is_as_steep_as_logged),
        cmocka_unit_test(the_tropics_run),
        cmocka_unit_test(levers_of_a_shed),
        cmocka_unit_test(levers_of_a_dunnage),
        cmocka_unit_test(a_sprinkled_metal_roof_is_as_cool_as_measured),
        cmocka_unit_test(water_and_shade_cool_the_spirit),
        cmocka_unit_test(a_wet_floor_cools),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
