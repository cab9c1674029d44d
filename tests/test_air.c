/* Humid air against published values and laws.
 *
 * [ASHRAE17] is ASHRAE Handbook Fundamentals 2017, ch. 1.  Its rows at -20 and -5 C stand over
 * ice; humidity here is over liquid water at every temperature, as hygrometers and wood go by.
 * They are carried over to the liquid by the heat of fusion.  Its humidity ratios hold the
 * enhancement of vapour pressure by air, which is left out here. */
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

/* Pressure over supercooled water from that over ice: ln(pw/pi) = integral of L/(Rw T^2) from T to
 * the triple point, L = 333.5 kJ/kg + 2.1 kJ/kgK t (heat of fusion and its slope, from memory). */
static double over_water_from_ice_pa(double temp_c, double ice_pa)
{
    double sum = 0.0, step_k = (0.01 - temp_c) / 1000.0;
    for (int i = 0; i < 1000; i++) {
        double at_c = temp_c + (i + 0.5) * step_k, at_k = at_c + 273.15;
        sum += step_k * (333.5e3 + 2100.0 * at_c) / (461.52 * at_k * at_k);
    }
    return ice_pa * exp(sum);
}

/* [ASHRAE17] Table 3 over ice. */
static void printed_ice_agrees(void **state)
{
    (void)state;
    static const double ice[][2] = {{-20.0, 103.24}, {-5.0, 401.74}};
    for (size_t i = 0; i < COUNT(ice); i++) {
        double want_pa = over_water_from_ice_pa(ice[i][0], ice[i][1]);
        double got_pa = stv_water_psat_pa(ice[i][0]);
        print_message("%4.0f C: %.2f Pa over water, from %.2f over ice %.2f (%+.3f %%)\n",
                      ice[i][0], got_pa, ice[i][1], want_pa, 100.0 * (got_pa / want_pa - 1.0));
        stv_assert_close(got_pa, want_pa, 2e-3, 0.0);
    }
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

/* Enhancement of vapour pressure by air, water and ice.
 * Source: A. L. Buck, J. Appl. Meteorol. 20 (1981) 1527, functions fw4 and fi4 (from memory) */
static double enhancement_nd(double temp_c, double pressure_pa)
{
    double hpa = pressure_pa / 100.0;
    if (temp_c < 0.0)
        return 1.0 + 2.2e-4 + hpa * (3.83e-6 + 6.4e-10 * temp_c * temp_c);
    return 1.0 + 7.2e-4 + hpa * (3.20e-6 + 5.9e-10 * temp_c * temp_c);
}

/* [ASHRAE17] Table 2, saturated humidity ratio at 101325 Pa.  Ours lies 0.4 to 0.7 per cent lower,
 * for the enhancement is left out; with it, the printed figures come out to 0.05 per cent. */
static void saturated_ratio(void **state)
{
    (void)state;
    static const double row[][2] = {{5.0, 0.005425}, {25.0, 0.020173}, {50.0, 0.086863}};
    for (size_t i = 0; i < COUNT(row); i++) {
        double psat_pa = stv_water_psat_pa(row[i][0]);
        double ratio = stv_humidity_ratio_kg_kg(psat_pa, 101325.0);
        double enhanced =
            stv_humidity_ratio_kg_kg(psat_pa * enhancement_nd(row[i][0], 101325.0), 101325.0);
        print_message("%4.0f C: ratio %.6f, printed %.6f (%+.2f %%), with enhancement %.6f\n",
                      row[i][0], ratio, row[i][1], 100.0 * (ratio / row[i][1] - 1.0), enhanced);
        stv_assert_close(ratio, row[i][1], 0.007, 0.0);
        assert_true(ratio < row[i][1]);
        stv_assert_close(enhanced, row[i][1], 5e-4, 0.0);
    }
    /* The row over ice at -20 C, from its own pressure. */
    double ice = stv_humidity_ratio_kg_kg(103.24 * enhancement_nd(-20.0, 101325.0), 101325.0);
    stv_assert_close(ice, 0.0006373, 5e-4, 0.0);
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
    print_message("wet bulb of 7 C, 61 %%, 100 kPa: %.5f C, printed 3.92667\n", wet_bulb_c);
    stv_assert_close(wet_bulb_c, 3.92667, 0.0, 0.001);
}

/* The same set prints 0.00120400 for -1 C and a wick of ice at -5 C, 95461 Pa: [ASHRAE17] eq. 35
 * with the printed pressure over ice.  Ours stands for a wick of supercooled water, whose heat is
 * that of evaporation alone: the same reading then means 4 % less vapour. */
static void wick_of_ice(void **state)
{
    (void)state;
    double saturated = stv_humidity_ratio_kg_kg(401.74, 95461.0);
    double ice =
        ((2830.0 - 0.24 * -5.0) * saturated - 1.006 * 4.0) / (2830.0 + 1.86 * -1.0 - 2.1 * -5.0);
    stv_assert_close(ice, 0.00120400, 0.0, 1e-8);
    double vapour_pa;
    stv_assert_ok(stv_vapour_from_wet_bulb_pa(-1.0, -5.0, 95461.0, &vapour_pa));
    double water = stv_humidity_ratio_kg_kg(vapour_pa, 95461.0);
    print_message("-1 C, wick -5 C: ratio %.8f on ice, %.8f on supercooled water\n", ice, water);
    /* [ASHRAE17] eq. 33 by hand. */
    double wick = stv_humidity_ratio_kg_kg(stv_water_psat_pa(-5.0), 95461.0);
    double heat_kj_kg = 2501.0 - 2.326 * -5.0;
    stv_assert_close(water, (heat_kj_kg * wick - 1.006 * 4.0) / (heat_kj_kg + 1.86 * 4.0), 1e-3,
                     0.0);
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
        cmocka_unit_test(printed_ice_agrees),
        cmocka_unit_test(saturation_rises_and_ends),
        cmocka_unit_test(dew_point_returns),
        cmocka_unit_test(saturated_ratio),
        cmocka_unit_test(ratio_returns),
        cmocka_unit_test(worked_example),
        cmocka_unit_test(wet_bulb_values),
        cmocka_unit_test(wick_of_ice),
        cmocka_unit_test(wet_bulb_returns),
        cmocka_unit_test(wet_bulb_refuses),
        cmocka_unit_test(density_and_enthalpy),
        cmocka_unit_test(pressure_at_heights),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
