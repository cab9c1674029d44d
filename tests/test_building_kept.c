/* A building's air that was worked out before: the same bytes, and never another building's. */
#include "model/building.h"
#include "tests/byte_shelf.h"
#include "tests/made_up_year.h"

#define N_HOURS 500

static struct stv_building_climate climate_of(const struct stv_building *building,
                                              const struct stv_weather *weather,
                                              const struct stv_byte_store *store)
{
    struct stv_building_climate climate;
    stv_assert_ok(stv_building_climate_of(building, weather, store, &climate));
    return climate;
}

static void assert_same(const struct stv_building *building, const struct stv_weather *weather,
                        const struct stv_byte_store *store)
{
    struct stv_building_climate alone = climate_of(building, weather, NULL),
                                after = climate_of(building, weather, store);
    size_t n = alone.n_tiers * alone.grid.n * sizeof(double);
    assert_int_equal(alone.n_tiers, after.n_tiers);
    assert_int_equal(alone.grid.n, after.grid.n);
    assert_memory_equal(alone.air_c, after.air_c, n);
    assert_memory_equal(alone.rh_frac, after.rh_frac, n);
    assert_memory_equal(alone.radiant_c, after.radiant_c, n);
    assert_memory_equal(alone.outdoor_m3_h, after.outdoor_m3_h, alone.grid.n * sizeof(double));
    assert_true(alone.volume_m3 == after.volume_m3 &&
                alone.air_change_mean_per_h == after.air_change_mean_per_h &&
                alone.mist_kg_per_y == after.mist_kg_per_y &&
                alone.roof_water_kg_per_y == after.roof_water_kg_per_y &&
                alone.energy_residual_frac == after.energy_residual_frac &&
                alone.moisture_residual_frac == after.moisture_residual_frac);
    stv_building_climate_free(&alone);
    stv_building_climate_free(&after);
}

static void found_air_is_the_same(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, N_HOURS);
    struct stv_building building;
    struct stv_shelf shelf;
    stv_shelf_open(&shelf);
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_RACKED_SHED, 3, 0, 0, &building));
    assert_same(&building, &weather, &shelf.store);
    assert_same(&building, &weather, &shelf.store);
    assert_int_equal(shelf.n_kept, 1);
    assert_int_equal(shelf.n_found, 1);
    for (int way = 0; way < 6; way++) {
        building.floor = way == 0 ? STV_FLOOR_TIMBER : building.floor;
        building.n_casks += way == 1;
        building.numbers.wet_floor_m_s *= way == 2 ? 1.001 : 1.0;
        weather.site.elevation_m += way == 3;
        weather.columns[STV_WC_SKY_W_M2][99] += way == 4;
        weather.grid.t0_s += way == 5 ? STV_HOUR_S : 0;
        assert_same(&building, &weather, &shelf.store);
        assert_int_equal(shelf.n_found, 1);
    }
    assert_int_equal(shelf.n_kept, 7);
    stv_shelf_close(&shelf);
    stv_weather_free(&weather);
}

static void spoilt_air_is_made_anew(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, N_HOURS);
    struct stv_building building;
    struct stv_shelf shelf;
    stv_shelf_open(&shelf);
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_DUNNAGE, 2, 0, 0, &building));
    assert_same(&building, &weather, &shelf.store);
    for (size_t round = 0; round < 24; round++) {
        struct stv_shelf_thing *thing = &shelf.things[0];
        if (round % 2)
            thing->n = thing->n * round / 24;
        else
            thing->bytes[(round < 12 ? round : thing->n * round / 24)] ^= 0x10;
        shelf.n_kept = 0;
        assert_same(&building, &weather, &shelf.store);
        assert_int_equal(shelf.n_kept, 1);
    }
    stv_shelf_close(&shelf);
    stv_weather_free(&weather);
}

/* What cannot be simulated is refused as without a store, and nothing of it is kept. */
static void refusals_stay(void **state)
{
    (void)state;
    struct stv_weather weather = make_weather(&plains, N_HOURS);
    struct stv_building building;
    struct stv_building_climate climate;
    struct stv_shelf shelf;
    stv_shelf_open(&shelf);
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_DUNNAGE, 2, 0, 0, &building));
    building.length_m = -1.0;
    stv_assert_status(stv_building_climate_of(&building, &weather, &shelf.store, &climate),
                      STV_E_DOMAIN);
    assert_null(climate.air_c);
    stv_assert_status(stv_building_climate_of(NULL, &weather, &shelf.store, &climate), STV_E_ARG);
    assert_int_equal(shelf.n_kept, 0);
    stv_shelf_close(&shelf);
    stv_weather_free(&weather);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(found_air_is_the_same),
        cmocka_unit_test(spoilt_air_is_made_anew),
        cmocka_unit_test(refusals_stay),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
