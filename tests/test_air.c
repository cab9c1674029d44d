/* Humid air against published values and laws.
 *
 * [ASHRAE17] is ASHRAE Handbook Fundamentals 2017, ch. 1.  Its rows at -20 and -5 C stand over
 * ice and are not ours: humidity here is over liquid water at every temperature, as hygrometers
 * and wood go by.  Its example with a wet bulb of -5 C has ice on the wick and is left out too. */
#include "tests/check.h"

#include "model/air.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])

static void saturation_matches_tables(void **state)
{
    (void)state;
    /* [ASHRAE17] Table 3, 300 ppm. */
    static const double row[][2] = {
        {5.0, 872.6}, {25.0, 3169.7}, {50.0, 12351.3}, {100.0, 101418.0}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(stv_water_psat_pa(row[i][0]), row[i][1], 3e-4, 0.0);
    /* Triple point 611.657 Pa (Wexler 1976, J. Res. NBS 80A, 775); normal boiling point 373.1243
     * K (IAPWS, from memory). */
    stv_assert_close(stv_water_psat_pa(0.01), 611.657, 1e-6, 0.0);
    stv_assert_close(stv_water_psat_pa(373.1243 - 273.15), 101325.0, 1e-5, 0.0);
}

static void saturation_over_supercooled_water(void **state)
{
    (void)state;
    /* Smithsonian Meteorological Tables, 6th ed., over water, from memory; over ice the second
     * would be 103.2. */
    stv_assert_close(stv_water_psat_pa(-10.0), 286.27, 3e-3, 0.0);
    stv_assert_close(stv_water_psat_pa(-20.0), 125.40, 3e-3, 0.0);
}

static void saturation_rises_and_ends(void **state)
{
    (void)state;
    for (double temp_c = -79.0; temp_c <= 373.0; temp_c += 1.0)
        assert_true(stv_water_psat_pa(temp_c) > stv_water_psat_pa(temp_c - 1.0));
    stv_assert_close(stv_water_psat_pa(-80.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_water_psat_pa(373.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_water_psat_pa(NAN), NAN, 0.0, 0.0);
}

static void dew_point_returns(void **state)
{
    (void)state;
    for (double temp_c = -79.9; temp_c < 373.0; temp_c += 0.7)
        stv_assert_close(stv_dew_point_c(stv_water_psat_pa(temp_c)), temp_c, 0.0, 1e-9);
    stv_assert_close(stv_dew_point_c(0.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_dew_point_c(-3.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_dew_point_c(0.01), NAN, 0.0, 0.0);
    stv_assert_close(stv_dew_point_c(3e7), NAN, 0.0, 0.0);
    stv_assert_close(stv_dew_point_c(NAN), NAN, 0.0, 0.0);
}

/* [ASHRAE17] Table 2, saturated humidity ratio at 101325 Pa.  The table includes the enhancement
 * of vapour pressure by air, which is left out here: ours lies 0.4 to 0.7 per cent lower. */
static void saturated_ratio(void **state)
{
    (void)state;
    static const double row[][2] = {{5.0, 0.005425}, {25.0, 0.020173}, {50.0, 0.086863}};
    for (size_t i = 0; i < COUNT(row); i++) {
        double ratio = stv_humidity_ratio_kg_kg(stv_water_psat_pa(row[i][0]), 101325.0);
        stv_assert_close(ratio, row[i][1], 0.007, 0.0);
        assert_true(ratio < row[i][1]);
    }
}

static void ratio_returns(void **state)
{
    (void)state;
    for (double vapour_pa = 0.0; vapour_pa < 6000.0; vapour_pa += 237.5)
        stv_assert_close(
            stv_vapour_from_ratio_pa(stv_humidity_ratio_kg_kg(vapour_pa, 93217.0), 93217.0),
            vapour_pa, 1e-14, 0.0);
    stv_assert_close(stv_humidity_ratio_kg_kg(-1.0, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_humidity_ratio_kg_kg(101325.0, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_humidity_ratio_kg_kg(NAN, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_vapour_from_ratio_pa(-0.001, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_vapour_from_ratio_pa(0.01, 0.0), NAN, 0.0, 0.0);
}

/* [ASHRAE17] example 1: dry bulb 40 C, wet bulb 20 C, 101325 Pa. */
static void worked_example(void **state)
{
    (void)state;
    double vapour_pa;
    stv_assert_ok(stv_vapour_from_wet_bulb_pa(40.0, 20.0, 101325.0, &vapour_pa));
    double ratio = stv_humidity_ratio_kg_kg(vapour_pa, 101325.0);
    stv_assert_close(ratio, 0.0065, 0.0, 1e-4);
    stv_assert_close(stv_dew_point_c(vapour_pa), 7.0, 0.0, 0.5);
    stv_assert_close(vapour_pa / stv_water_psat_pa(40.0), 0.14, 0.0, 0.005);
    stv_assert_close(stv_air_enthalpy_j_kg(40.0, ratio), 56700.0, 0.0, 100.0);
    double volume_m3_kg = (1.0 + ratio) / stv_air_density_kg_m3(40.0, vapour_pa, 101325.0);
    stv_assert_close(volume_m3_kg, 0.896, 0.0, 1e-3);
}

/* Values of a public psychrometric test set that quotes [ASHRAE17]. */
static void wet_bulb_values(void **state)
{
    (void)state;
    double vapour_pa, wet_bulb_c;
    stv_assert_ok(stv_vapour_from_wet_bulb_pa(30.0, 25.0, 95461.0, &vapour_pa));
    stv_assert_close(stv_humidity_ratio_kg_kg(vapour_pa, 95461.0), 0.0192281, 3e-4, 0.0);
    stv_assert_ok(stv_wet_bulb_c(7.0, 0.61 * stv_water_psat_pa(7.0), 1e5, &wet_bulb_c));
    stv_assert_close(wet_bulb_c, 3.92667, 0.0, 0.001);
}

static void wet_bulb_returns(void **state)
{
    (void)state;
    for (double temp_c = -30.0; temp_c <= 60.0; temp_c += 7.5)
        for (double humidity = 0.02; humidity <= 1.0; humidity += 0.07) {
            double vapour_pa = humidity * stv_water_psat_pa(temp_c), wet_bulb_c, back_pa, last_c;
            stv_assert_ok(stv_wet_bulb_c(temp_c, vapour_pa, 87300.0, &wet_bulb_c));
            assert_true(wet_bulb_c <= temp_c && wet_bulb_c >= stv_dew_point_c(vapour_pa));
            stv_assert_ok(stv_vapour_from_wet_bulb_pa(temp_c, wet_bulb_c, 87300.0, &back_pa));
            stv_assert_close(back_pa, vapour_pa, 1e-8, 1e-8);
            stv_assert_ok(stv_wet_bulb_c(temp_c, 0.9 * vapour_pa, 87300.0, &last_c));
            assert_true(last_c < wet_bulb_c);
        }
    /* Saturated air has its own temperature as wet bulb, and dry air has one as well. */
    double wet_bulb_c;
    stv_assert_ok(stv_wet_bulb_c(23.85, stv_water_psat_pa(23.85), 101325.0, &wet_bulb_c));
    stv_assert_close(wet_bulb_c, 23.85, 0.0, 1e-9);
    stv_assert_ok(stv_wet_bulb_c(35.0, 0.0, 101325.0, &wet_bulb_c));
    assert_true(wet_bulb_c > 5.0 && wet_bulb_c < 15.0);
}

static void wet_bulb_refuses(void **state)
{
    (void)state;
    double value = 1.0;
    static const double bad[][3] = {{20.0, 20.5, 101325.0},  {40.0, 5.0, 101325.0},
                                    {20.0, -61.0, 101325.0}, {101.0, 50.0, 101325.0},
                                    {60.0, 55.0, 15000.0},   {NAN, 10.0, 101325.0},
                                    {20.0, NAN, 101325.0},   {20.0, 15.0, NAN}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        value = 1.0;
        stv_assert_status(stv_vapour_from_wet_bulb_pa(bad[i][0], bad[i][1], bad[i][2], &value),
                          STV_E_DOMAIN);
        stv_assert_close(value, NAN, 0.0, 0.0);
    }
    static const double air[][3] = {{20.0, 2400.0, 101325.0}, {20.0, -1.0, 101325.0},
                                    {-61.0, 0.5, 101325.0},   {101.0, 500.0, 101325.0},
                                    {20.0, 900.0, 800.0},     {20.0, NAN, 101325.0},
                                    {NAN, 900.0, 101325.0},   {20.0, 900.0, NAN}};
    for (size_t i = 0; i < COUNT(air); i++) {
        value = 1.0;
        stv_assert_status(stv_wet_bulb_c(air[i][0], air[i][1], air[i][2], &value), STV_E_DOMAIN);
        stv_assert_close(value, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_vapour_from_wet_bulb_pa(20.0, 15.0, 101325.0, NULL), STV_E_ARG);
    stv_assert_status(stv_wet_bulb_c(20.0, 900.0, 101325.0, NULL), STV_E_ARG);
}

static void density_and_enthalpy(void **state)
{
    (void)state;
    /* The same test set: 30 C, 0.02 kg/kg, 95461 Pa. */
    double vapour_pa = stv_vapour_from_ratio_pa(0.02, 95461.0);
    stv_assert_close(stv_air_density_kg_m3(30.0, vapour_pa, 95461.0), 1.08412, 0.0, 1e-5);
    stv_assert_close(stv_air_enthalpy_j_kg(30.0, 0.02), 81316.0, 0.0, 1.0);
    /* Dry air at 15 C and 101325 Pa: 1.225 kg/m3 (US Standard Atmosphere 1976, from memory). */
    stv_assert_close(stv_air_density_kg_m3(15.0, 0.0, 101325.0), 1.225, 0.0, 1e-3);
    assert_true(stv_air_density_kg_m3(25.0, 2000.0, 101325.0) <
                stv_air_density_kg_m3(25.0, 1000.0, 101325.0));
    stv_assert_close(stv_air_density_kg_m3(25.0, -1.0, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_air_density_kg_m3(25.0, 2e5, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_air_density_kg_m3(NAN, 1000.0, 101325.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_air_enthalpy_j_kg(25.0, -0.001), NAN, 0.0, 0.0);
    stv_assert_close(stv_air_enthalpy_j_kg(NAN, 0.01), NAN, 0.0, 0.0);
}

/* [ASHRAE17] Table 1, to its last digit. */
static void pressure_at_heights(void **state)
{
    (void)state;
    static const double row[][2] = {{-500.0, 107478.0},
                                    {0.0, 101325.0},
                                    {500.0, 95461.0},
                                    {1000.0, 89875.0},
                                    {4000.0, 61640.0}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(stv_pressure_at_height_pa(row[i][0]), row[i][1], 0.0, 0.51);
    stv_assert_close(stv_pressure_at_height_pa(-5001.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_pressure_at_height_pa(11001.0), NAN, 0.0, 0.0);
    stv_assert_close(stv_pressure_at_height_pa(NAN), NAN, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(saturation_matches_tables),
        cmocka_unit_test(saturation_over_supercooled_water),
        cmocka_unit_test(saturation_rises_and_ends),
        cmocka_unit_test(dew_point_returns),
        cmocka_unit_test(saturated_ratio),
        cmocka_unit_test(ratio_returns),
        cmocka_unit_test(worked_example),
        cmocka_unit_test(wet_bulb_values),
        cmocka_unit_test(wet_bulb_returns),
        cmocka_unit_test(wet_bulb_refuses),
        cmocka_unit_test(density_and_enthalpy),
        cmocka_unit_test(pressure_at_heights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
