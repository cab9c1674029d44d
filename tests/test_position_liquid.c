/* Liquid temperature over records with and without holes. */
#include "model/cask_heat.h"
#include "model/position_liquid.h"
#include "tests/places.h"
#include "tests/usual.h"

static const struct climate_of climate = {
    .mean_c = 14.6, .year_k = 11.2, .day_k = 5.3, .rh_frac = 0.61, .radiant_more_k = 0.7};

static void without_holes_it_is_the_cask(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, 3000, -420, &climate);
    double *got = room_for(3000), *want = room_for(3000);
    stv_assert_ok(stv_position_liquid_at_c(&place, 28.2, stv_cask_convective_frac(&usual), got));
    stv_assert_ok(stv_cask_liquid_c(place.air_c, place.radiant_c, 3000, 28.2,
                                    stv_cask_convective_frac(&usual), want));
    assert_memory_equal(got, want, 3000 * sizeof *got);
    free(got);
    free(want);
    place_end(&place);
}

static void each_run_is_its_own_record(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, 3000, -420, &climate);
    double *got = room_for(3000), *want = room_for(3000);
    place.air_c[0] = NAN;
    for (size_t k = 1200; k < 1300; k++)
        place.air_c[k] = NAN;
    place.radiant_c[2999] = NAN;
    place.rh_frac[700] = NAN; /* humidity does not matter here */
    stv_assert_ok(stv_position_liquid_at_c(&place, 28.2, stv_cask_convective_frac(&usual), got));
    stv_assert_ok(stv_cask_liquid_c(place.air_c + 1, place.radiant_c + 1, 1199, 28.2,
                                    stv_cask_convective_frac(&usual), want + 1));
    stv_assert_ok(stv_cask_liquid_c(place.air_c + 1300, place.radiant_c + 1300, 1699, 28.2,
                                    stv_cask_convective_frac(&usual), want + 1300));
    for (size_t k = 0; k < 3000; k++) {
        int is_hole = k == 0 || (k >= 1200 && k < 1300) || k == 2999;
        stv_assert_close(got[k], is_hole ? (double)NAN : want[k], 0.0, 0.0);
    }
    free(got);
    free(want);
    place_end(&place);
}

static void refusals(void **state)
{
    (void)state;
    struct stv_position place = place_new(2003, 10, 0, &climate);
    double liquid_c[10];
    stv_assert_status(
        stv_position_liquid_at_c(&place, 0.9, stv_cask_convective_frac(&usual), liquid_c),
        STV_E_DOMAIN);
    stv_assert_close(liquid_c[3], NAN, 0.0, 0.0);
    stv_assert_status(
        stv_position_liquid_at_c(&place, 2000.1, stv_cask_convective_frac(&usual), liquid_c),
        STV_E_DOMAIN);
    place.grid.n = 0;
    stv_assert_status(
        stv_position_liquid_at_c(&place, 28.2, stv_cask_convective_frac(&usual), liquid_c),
        STV_E_ARG);
    place_end(&place);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(without_holes_it_is_the_cask),
        cmocka_unit_test(each_run_is_its_own_record),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
