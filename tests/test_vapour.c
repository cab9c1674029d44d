/* Ethanol in a room's air: worked examples and the laws of a mixed volume. */
#include "model/evaporation.h"
#include "model/units.h"
#include "model/vapour.h"
#include "tests/check.h"

#include <math.h>

#define ROOM_M3 1800.0
#define CASKS 500.0
#define HOURS 2000

/* 500 casks that each lose 9.5 kg a year, four times the mean in the worst hour, 35 C, half a
 * change an hour: by hand from G = m R T/(M p), C = G/Q, Q = K G/C; to the digits given. */
static void a_store_by_hand(void **state)
{
    (void)state;
    double mean_kg_h = CASKS * 9.5 / 8760.0;
    double mean_m3_h = stv_vapour_m3_h(mean_kg_h, 35.0, STV_STANDARD_PRESSURE_PA);
    double air_m3_h = 0.5 * ROOM_M3;
    stv_assert_close(mean_kg_h, 0.54, 0.0, 0.005);
    stv_assert_close(mean_m3_h, 0.30, 0.0, 0.005);
    stv_assert_close(stv_vapour_ppm(mean_m3_h, air_m3_h), 330.0, 0.0, 1.0);
    stv_assert_close(stv_vapour_ppm(4.0 * mean_m3_h, air_m3_h), 1322.0, 0.0, 2.0);
    stv_assert_close(stv_vapour_air_m3_h(4.0 * mean_m3_h, STV_VAPOUR_DAY_PPM, 4.0), 4760.0, 1e-3,
                     0.0);
    stv_assert_close(stv_vapour_air_m3_h(4.0 * mean_m3_h, STV_VAPOUR_TENTH_LEL_PPM, 4.0), 1442.0,
                     1e-3, 0.0);
    stv_assert_close(stv_vapour_air_m3_h(4.0 * mean_m3_h, STV_VAPOUR_QUARTER_LEL_PPM, 4.0), 577.0,
                     1e-3, 0.0);
    /* Airing from 1322 to 500 ppm with 5000 m3/h, mixing factor 4: 1.4 h. */
    stv_assert_close(stv_vapour_airing_h(ROOM_M3, 5000.0, 4.0, 1322.0, 500.0), 1.4, 0.0, 0.05);
    stv_assert_close(stv_vapour_airing_h(ROOM_M3, 5000.0, 4.0, 400.0, 500.0), 0.0, 0.0, 0.0);
    assert_true(isnan(stv_vapour_m3_h(1.0, 20.0, 0.0)));
}

/* 1 ppm of ethanol is 1.88 mg/m3 at 25 C (NIOSH Pocket Guide). */
static void a_ppm_weighs(void **state)
{
    (void)state;
    double m3_per_kg = stv_vapour_m3_h(1.0, 25.0, STV_STANDARD_PRESSURE_PA);
    stv_assert_close(1.0 / m3_per_kg, 1.88, 0.0, 0.01); /* kg a m3 is mg/m3 of a ppm */
}

/* What comes in is what leaves and what stays; a steady room stays; a shut one gathers. */
static void a_room_keeps_its_books(void **state)
{
    (void)state;
    static double release_kg_h[HOURS], air_m3_h[HOURS], temp_c[HOURS], ppm[HOURS];
    double in_m3 = 0.0, out_m3 = 0.0;
    for (int k = 0; k < HOURS; k++) {
        release_kg_h[k] = k < HOURS / 2 ? 0.2 + 0.1 * sin(k / 3.0) : 0.0;
        air_m3_h[k] = ROOM_M3 * (0.3 + 0.25 * cos(k / 5.0));
        temp_c[k] = 30.0;
    }
    stv_assert_ok(stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, ROOM_M3,
                                  STV_STANDARD_PRESSURE_PA, ppm));
    for (int k = 0; k < HOURS; k++) {
        in_m3 += stv_vapour_m3_h(release_kg_h[k], 30.0, STV_STANDARD_PRESSURE_PA);
        out_m3 += ppm[k] / 1e6 * air_m3_h[k];
        assert_true(ppm[k] >= 0.0);
    }
    double held_m3 =
        stv_vapour_ppm(stv_vapour_m3_h(release_kg_h[0], 30.0, STV_STANDARD_PRESSURE_PA),
                       air_m3_h[0]) /
        1e6 * ROOM_M3; /* at the start; at the end it is aired out */
    stv_assert_close(out_m3, in_m3 + held_m3, 1e-9, 0.0);
    assert_true(ppm[HOURS - 1] < 1e-6);
    for (int k = 0; k < HOURS; k++) {
        release_kg_h[k] = 0.2;
        air_m3_h[k] = 900.0;
    }
    stv_assert_ok(stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, ROOM_M3,
                                  STV_STANDARD_PRESSURE_PA, ppm));
    stv_assert_close(ppm[HOURS - 1], ppm[0], 1e-12, 0.0);
    for (int k = 0; k < HOURS; k++)
        air_m3_h[k] = 0.0;
    stv_assert_ok(stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, ROOM_M3,
                                  STV_STANDARD_PRESSURE_PA, ppm));
    for (int k = 1; k < HOURS; k++)
        assert_true(ppm[k] > ppm[k - 1]);
    stv_assert_status(
        stv_vapour_room(release_kg_h, air_m3_h, temp_c, HOURS, 0.0, STV_STANDARD_PRESSURE_PA, ppm),
        STV_E_DOMAIN);
}

/* Release: straight in the number of casks, more when hotter, nothing from nothing. */
static void casks_give_off(void **state)
{
    (void)state;
    double liquid_c[2] = {15.0, 35.0}, air_c[2] = {15.0, 35.0}, rh_frac[2] = {0.6, 0.6};
    double one_kg_h[2], ten_kg_h[2];
    struct stv_params params = stv_params_default();
    struct stv_vapour_group group = {.n_casks = 1.0,
                                     .ethanol_kg = 90.0,
                                     .water_kg = 78.0,
                                     .liquid_c = liquid_c,
                                     .air_c = air_c,
                                     .rh_frac = rh_frac};
    stv_assert_ok(stv_cask_geometry(200.0, NAN, &group.cask));
    stv_assert_ok(stv_vapour_release(&group, 1, 2, &params, one_kg_h));
    group.n_casks = 10.0;
    stv_assert_ok(stv_vapour_release(&group, 1, 2, &params, ten_kg_h));
    assert_true(one_kg_h[1] > one_kg_h[0] && one_kg_h[0] > 0.0);
    stv_assert_close(ten_kg_h[1], 10.0 * one_kg_h[1], 1e-12, 0.0);
    stv_assert_ok(stv_vapour_release(NULL, 0, 2, &params, one_kg_h));
    stv_assert_close(one_kg_h[0], 0.0, 0.0, 0.0);
    /* Air as rich as the spirit would stop the loss; 1000 ppm at 30 C is about a 54th of that over
     * strong spirit (by hand from its vapour pressure). */
    stv_assert_close(stv_vapour_slowing_frac(1000.0, STV_STANDARD_PRESSURE_PA, 0.36, 30.0),
                     1.0 / 54.0, 0.1, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_store_by_hand),
        cmocka_unit_test(a_ppm_weighs),
        cmocka_unit_test(a_room_keeps_its_books),
        cmocka_unit_test(casks_give_off),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
