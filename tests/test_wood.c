/* Oak in humid air: tabled moistures, the factor's mean against a fine sum, and laws. */
#include "tests/check.h"

#include "model/lane_rows.h"
#include "model/units.h"
#include "model/wood.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])

/* Wood Handbook, Table 4-2 (equilibrium moisture, 70 F), from memory, printed to 0.1; the fit's
 * own mean error is 0.13 (Simpson 1973). */
static void moisture_matches_handbook(void **state)
{
    (void)state;
    static const double row[][2] = {{0.50, 9.2}, {0.65, 12.0}, {0.80, 16.0}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(stv_wood_moisture_pct(row[i][0], stv_c_from_f(70.0)), row[i][1], 0.0,
                         0.15);
    /* The handbook's text works out 8.4 per cent at 140 F and 55 per cent. */
    stv_assert_close(stv_wood_moisture_pct(0.55, 60.0), 8.4, 0.0, 0.05);
}

/* The same equation computed apart from this code: regression. */
static void moisture_regression(void **state)
{
    (void)state;
    static const double row[][3] = {
        {0.50, 21.1, 9.24}, {0.65, 21.1, 11.96}, {0.80, 21.1, 15.99}, {0.55, 60.0, 8.37}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(stv_wood_moisture_pct(row[i][0], row[i][1]), row[i][2], 0.0, 0.005);
}

static void moisture_obeys_laws(void **state)
{
    (void)state;
    for (double temp_c = -20.0; temp_c <= 60.0; temp_c += 8.0) {
        stv_assert_close(stv_wood_moisture_pct(0.0, temp_c), 0.0, 0.0, 0.0);
        for (int i = 1; i <= 100; i++)
            assert_true(stv_wood_moisture_pct(i / 100.0, temp_c) >
                        stv_wood_moisture_pct((i - 1) / 100.0, temp_c));
    }
    /* Warm wood is drier at the same humidity. */
    for (double temp_c = 10.0; temp_c <= 60.0; temp_c += 5.0)
        assert_true(stv_wood_moisture_pct(0.7, temp_c) < stv_wood_moisture_pct(0.7, temp_c - 5.0));
    /* At saturation it comes near the fibre saturation point, 26 to 32 per cent. */
    double saturated_pct = stv_wood_moisture_pct(1.0, 20.0);
    assert_true(saturated_pct > 24.0 && saturated_pct < 32.0);
}

static void local_factor_is_one_at_13_pct(void **state)
{
    (void)state;
    double low = 0.5, high = 0.9, temp_c = 17.3;
    for (int i = 0; i < 60; i++) {
        double middle = 0.5 * (low + high);
        if (stv_wood_moisture_pct(middle, temp_c) < 13.0)
            low = middle;
        else
            high = middle;
    }
    stv_assert_close(stv_wood_local_factor_nd(low, temp_c), 1.0, 1e-12, 0.0);
    /* Five per cent of moisture more: exp(70 x 5/(1.987 T)). */
    double moisture_pct = stv_wood_moisture_pct(0.8, temp_c);
    stv_assert_close(log(stv_wood_local_factor_nd(0.8, temp_c)),
                     70.0 * (moisture_pct - 13.0) / (1.987 * 290.45), 1e-12, 0.0);
}

/* Composite Simpson rule with 2000 intervals. */
static double fine_mean(double from, double to, double temp_c)
{
    int n = 2000;
    double sum = stv_wood_local_factor_nd(from, temp_c) + stv_wood_local_factor_nd(to, temp_c);
    for (int i = 1; i < n; i++)
        sum += (i % 2 ? 4.0 : 2.0) * stv_wood_local_factor_nd(from + (to - from) * i / n, temp_c);
    return sum / (3.0 * n);
}

static void mean_factor_is_accurate(void **state)
{
    (void)state;
    for (double temp_c = 0.0; temp_c <= 40.0; temp_c += 10.0)
        for (double humidity = 0.40; humidity <= 0.901; humidity += 0.05)
            for (double activity = 0.78; activity <= 0.881; activity += 0.02)
                stv_assert_close(stv_wood_factor_nd(humidity, activity, temp_c),
                                 fine_mean(humidity, activity, temp_c), 2e-5, 0.0);
    /* Bone-dry air against nearly pure water is the hardest case of the five points. */
    stv_assert_close(stv_wood_factor_nd(0.0, 0.98, 0.0), fine_mean(0.0, 0.98, 0.0), 5e-3, 0.0);
}

static void mean_factor_obeys_laws(void **state)
{
    (void)state;
    stv_assert_close(stv_wood_factor_nd(0.6, 0.81, 22.5), stv_wood_factor_nd(0.81, 0.6, 22.5),
                     1e-14, 0.0);
    stv_assert_close(stv_wood_factor_nd(0.73, 0.73, 12.0), stv_wood_local_factor_nd(0.73, 12.0),
                     1e-14, 0.0);
    for (double humidity = 0.05; humidity < 0.8; humidity += 0.05) {
        double mean = stv_wood_factor_nd(humidity, 0.8, 15.0);
        assert_true(mean > stv_wood_local_factor_nd(humidity, 15.0));
        assert_true(mean < stv_wood_local_factor_nd(0.8, 15.0));
        assert_true(mean > stv_wood_factor_nd(humidity - 0.05, 0.8, 15.0));
    }
}

/* The number that the steps take for it, about the activities of water over spirit. */
static void local_factor_falls_with_warmth(void **state)
{
    (void)state;
    for (double humidity = 0.7; humidity < 0.95; humidity += 0.1)
        for (double temp_c = 15.0; temp_c <= 40.0; temp_c += 5.0) {
            double colder = stv_wood_local_factor_nd(humidity, temp_c - 0.5);
            double warmer = stv_wood_local_factor_nd(humidity, temp_c + 0.5);
            stv_assert_close(log(warmer / colder), STV__WOOD_PER_K, 0.0, 0.004);
        }
}

static void wood_refuses_outside(void **state)
{
    (void)state;
    static const double bad[][2] = {{-0.001, 20.0}, {1.001, 20.0}, {0.5, -30.1},
                                    {0.5, 100.1},   {NAN, 20.0},   {0.5, NAN}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        stv_assert_close(stv_wood_moisture_pct(bad[i][0], bad[i][1]), NAN, 0.0, 0.0);
        stv_assert_close(stv_wood_local_factor_nd(bad[i][0], bad[i][1]), NAN, 0.0, 0.0);
        stv_assert_close(stv_wood_factor_nd(bad[i][0], 0.8, bad[i][1]), NAN, 0.0, 0.0);
        stv_assert_close(stv_wood_factor_nd(0.8, bad[i][0], bad[i][1]), NAN, 0.0, 0.0);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(moisture_matches_handbook),
        cmocka_unit_test(moisture_regression),
        cmocka_unit_test(moisture_obeys_laws),
        cmocka_unit_test(local_factor_is_one_at_13_pct),
        cmocka_unit_test(mean_factor_is_accurate),
        cmocka_unit_test(mean_factor_obeys_laws),
        cmocka_unit_test(local_factor_falls_with_warmth),
        cmocka_unit_test(wood_refuses_outside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
