/* Spirit's volume at a temperature against printed tables, and the room it needs in a cask. */
#include "tests/spirit_case.h"

#include "model/cask_room.h"
#include "model/draws.h"
#include "model/spirit.h"
#include "model/units.h"

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define N_KEYED 400

/* Litres at a temperature over those at another. */
static double grown(double mass_frac, double from_c, double to_c)
{
    return stv_spirit_volume_l(1.0, mass_frac, to_c) / stv_spirit_volume_l(1.0, mass_frac, from_c);
}

/* OIML R 22, printed densities in kg/m3 to two decimals. */
static void volume_of_printed_densities(void **state)
{
    (void)state;
    static const double rows[][3] = {{0.0, 20.0, 998.20},  {1.0, 20.0, 789.24},
                                     {0.0, 10.0, 999.70},  {1.0, 40.0, 771.93},
                                     {0.31, 13.0, 956.42}, {0.88, -10.0, 848.57}};
    for (size_t i = 0; i < N_OF(rows); i++) {
        double volume_l = stv_spirit_volume_l(176.4, rows[i][0], rows[i][1]);
        stv_assert_close(1000.0 * 176.4 / volume_l, rows[i][2], 0.0, 0.006);
    }
}

/* 27 CFR 30.67, Table 7: litres at F times the factor are litres at 60 F; printed to 0.001, on
 * older densities than R 22. */
static void growth_of_the_us_table(void **state)
{
    (void)state;
    static const double temp_f[] = {30, 40, 50, 60, 68, 80, 86, 90, 96, 100};
    static const struct {
        double proof, factor[N_OF(temp_f)];
    } rows[] = {
        {80, {1.011, 1.007, 1.004, 1.000, 0.997, 0.992, 0.990, 0.988, 0.986, 0.984}},
        {100, {1.013, 1.009, 1.004, 1.000, 0.996, 0.991, 0.988, 0.986, 0.984, 0.982}},
        {110, {1.013, 1.009, 1.005, 1.000, 0.996, 0.991, 0.988, 0.986, 0.983, 0.981}},
        {115, {1.014, 1.009, 1.005, 1.000, 0.996, 0.990, 0.987, 0.985, 0.982, 0.980}},
        {120, {1.014, 1.009, 1.005, 1.000, 0.996, 0.990, 0.987, 0.985, 0.982, 0.980}},
        {130, {1.015, 1.010, 1.005, 1.000, 0.996, 0.990, 0.987, 0.985, 0.982, 0.979}},
    };
    for (size_t i = 0; i < N_OF(rows); i++)
        for (size_t k = 0; k < N_OF(temp_f); k++) {
            double p = mass_frac_of_proof(rows[i].proof);
            double temp_c = (temp_f[k] - 32.0) / 1.8;
            stv_assert_close(grown(p, temp_c, STV_60F_C), rows[i].factor[k], 0.0, 0.0007);
        }
}

/* OIML R 22 by another program: litres at 0, 10, 30, 35 and 40 C over those at 20 C. */
static void growth_of_the_formula(void **state)
{
    (void)state;
    static const double temp_c[] = {0.0, 10.0, 30.0, 35.0, 40.0};
    static const struct {
        double abv20_frac, ratio[N_OF(temp_c)];
    } rows[] = {
        {0.400, {0.98690, 0.99322, 1.00728, 1.01111, 1.01507}},
        {0.460, {0.98534, 0.99247, 1.00796, 1.01209, 1.01633}},
        {0.550, {0.98380, 0.99170, 1.00870, 1.01320, 1.01779}},
        {0.600, {0.98317, 0.99139, 1.00903, 1.01370, 1.01848}},
        {0.635, {0.98277, 0.99119, 1.00924, 1.01403, 1.01893}},
        {0.700, {0.98205, 0.99082, 1.00961, 1.01459, 1.01970}},
    };
    for (size_t i = 0; i < N_OF(rows); i++)
        for (size_t k = 0; k < N_OF(temp_c); k++)
            stv_assert_close(grown(mass_frac_of_abv(rows[i].abv20_frac), 20.0, temp_c[k]),
                             rows[i].ratio[k], 0.0, 6e-6);
    static const double spans[][3] = {
        {15.0, 35.0, 1.857}, {20.0, 30.0, 0.924}, {15.0, 40.0, 2.349}, {5.0, 40.0, 3.242}};
    for (size_t i = 0; i < N_OF(spans); i++)
        stv_assert_close(100.0 * (grown(mass_frac_of_abv(0.635), spans[i][0], spans[i][1]) - 1.0),
                         spans[i][2], 0.0, 6e-4);
}

static void volume_follows_mass_and_warmth(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        double p = keyed("p", k, 0.30, 0.95), temp_c = keyed("temp", k, 2.0, 48.0);
        double one_l = stv_spirit_volume_l(1.0, p, temp_c), mass_kg = keyed("kg", k, 0.01, 900.0);
        stv_assert_close(stv_spirit_volume_l(mass_kg, p, temp_c), mass_kg * one_l, 1e-14, 0.0);
        assert_true(stv_spirit_volume_l(1.0, p, temp_c + 0.5) > one_l);
        assert_true(stv_spirit_volume_l(1.0, p + 0.01, temp_c) > one_l);
    }
    stv_assert_close(stv_spirit_volume_l(0.0, 0.52, 21.7), 0.0, 0.0, 0.0);
}

static void no_volume_outside(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    static const double bad[][3] = {
        {-1e-9, 0.52, 21.7}, {2.3, -1e-9, 21.7}, {2.3, 1.0 + 1e-9, 21.7}, {2.3, 0.52, 50.01},
        {2.3, 0.52, -20.01}, {2.3, 0.20, -12.0}, {2.3, 0.0, -0.1}};
    for (size_t i = 0; i < N_OF(bad); i++)
        stv_assert_close(stv_spirit_volume_l(bad[i][0], bad[i][1], bad[i][2]), nan, 0.0, 0.0);
    stv_assert_close(stv_spirit_volume_l(nan, 0.52, 21.7), nan, 0.0, 0.0);
    stv_assert_close(stv_spirit_volume_l(2.3, nan, 21.7), nan, 0.0, 0.0);
    stv_assert_close(stv_spirit_volume_l(2.3, 0.52, nan), nan, 0.0, 0.0);
    assert_true(isfinite(stv_spirit_volume_l(2.3, 0.52, 50.0)));
    assert_true(isfinite(stv_spirit_volume_l(2.3, 0.52, -20.0)));
}

/* A worked case, on densities of OIML R 22: a 200 L cask of 63.5 %vol filled at 18 C and 42 C in
 * summer may hold 191.6, 190.7 or 189.7 L for 2, 2.5 or 3 per cent of room. */
static void most_full_of_a_worked_case(void **state)
{
    (void)state;
    const struct stv_cask_limit limit = {200.0, 42.0, STV_ROOM_USUAL_FRAC};
    double p = mass_frac_of_abv(0.635);
    stv_assert_close(stv_most_full_l(&limit, p, 18.0, STV_ROOM_LEAST_FRAC), 191.6, 0.0, 0.06);
    stv_assert_close(stv_most_full_l(&limit, p, 18.0, STV_ROOM_USUAL_FRAC), 190.7, 0.0, 0.06);
    stv_assert_close(stv_most_full_l(&limit, p, 18.0, STV_ROOM_MOST_FRAC), 189.7, 0.0, 0.06);
    stv_assert_close(grown(p, 18.0, 42.0) * 194.0, 198.4, 0.0, 0.06);
    stv_assert_close(grown(p, 18.0, 42.0) * 197.0, 201.5, 0.0, 0.06);
    /* From 15 to 40 C the spirit of a full cask needs 2.3 per cent, 4.6 L. */
    const struct stv_cask_limit mild = {200.0, 40.0, 0.0};
    stv_assert_close(200.0 - stv_most_full_l(&mild, p, 15.0, 0.0), 4.6, 0.0, 0.06);
}

struct keyed_case {
    struct stv_cask_limit limit;
    double mass_frac, fill_temp_c;
};

static struct keyed_case keyed_case(size_t k)
{
    double fill_temp_c = keyed("fill temp", k, -5.0, 35.0);
    return (struct keyed_case){
        .limit = {keyed("capacity", k, 20.0, 700.0), keyed("hottest", k, fill_temp_c, 50.0),
                  keyed("room", k, 0.0, 0.5)},
        .mass_frac = keyed("strength", k, 0.25, 0.93),
        .fill_temp_c = fill_temp_c,
    };
}

/* Filled to the most it fits, and a millionth of a litre more does not. */
static void most_full_just_fits(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct keyed_case one = keyed_case(k);
        double most_l =
            stv_most_full_l(&one.limit, one.mass_frac, one.fill_temp_c, one.limit.room_frac);
        double growth = grown(one.mass_frac, one.fill_temp_c, one.limit.hottest_c);
        assert_true(stv_fits(&one.limit, most_l * growth));
        assert_false(stv_fits(&one.limit, (most_l + 1e-6) * growth));
        stv_assert_close(most_l * growth, one.limit.capacity_l * (1.0 - one.limit.room_frac), 1e-12,
                         0.0);
    }
}

static void most_full_falls_with_heat_and_room(void **state)
{
    (void)state;
    for (size_t k = 0; k < N_KEYED; k++) {
        struct keyed_case one = keyed_case(k);
        struct stv_cask_limit same = one.limit, hotter = one.limit;
        double room = one.limit.room_frac, p = one.mass_frac, fill_c = one.fill_temp_c;
        double most_l = stv_most_full_l(&one.limit, p, fill_c, room);
        /* The room asked for stands in place of the limit's own. */
        same.room_frac = 0.5 - room;
        stv_assert_close(stv_most_full_l(&same, p, fill_c, room), most_l, 0.0, 0.0);
        same.hottest_c = fill_c;
        stv_assert_close(stv_most_full_l(&same, p, fill_c, room), same.capacity_l * (1.0 - room),
                         1e-14, 0.0);
        hotter.hottest_c = fmin(50.0, hotter.hottest_c + 0.7);
        if (hotter.hottest_c > one.limit.hottest_c)
            assert_true(stv_most_full_l(&hotter, p, fill_c, room) < most_l);
        assert_true(stv_most_full_l(&one.limit, p, fill_c, 0.5 + 0.5 * (room - 0.5)) < most_l);
    }
}

/* Warm spirit into a cold store: the cask must hold it when it is filled. */
static void no_more_than_the_cask_holds_when_it_is_filled(void **state)
{
    (void)state;
    const struct stv_cask_limit limit = {200.0, 5.0, 0.02};
    double most_l = stv_most_full_l(&limit, mass_frac_of_abv(0.60), 30.0, 0.02);
    assert_true(isnan(most_l) || most_l <= 196.0 + 1e-9);
}

static void fits_is_never_said_of_what_is_not_known(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    const struct stv_cask_limit limit = {200.0, 42.0, 0.02}, unsaid = {nan, 42.0, 0.02},
                                no_room = {200.0, 42.0, nan};
    assert_true(stv_fits(&limit, 196.0));
    assert_false(stv_fits(&limit, 196.0 + 1e-6));
    assert_false(stv_fits(&limit, nan));
    assert_false(stv_fits(&unsaid, 12.3));
    assert_false(stv_fits(&no_room, 12.3));
}

static void most_full_that_cannot_be_told(void **state)
{
    (void)state;
    const double nan = (double)NAN;
    const struct stv_cask_limit good = {200.0, 42.0, 0.02};
    static const struct {
        double capacity_l, hottest_c, mass_frac, fill_temp_c, room_frac;
    } bad[] = {
        {NAN, 42.0, 0.52, 18.0, 0.02},   {200.0, NAN, 0.52, 18.0, 0.02},
        {200.0, 50.1, 0.52, 18.0, 0.02}, {200.0, -20.1, 0.52, 18.0, 0.02},
        {200.0, 42.0, NAN, 18.0, 0.02},  {200.0, 42.0, 1.01, 18.0, 0.02},
        {200.0, 42.0, 0.52, NAN, 0.02},  {200.0, 42.0, 0.52, -20.1, 0.02},
        {200.0, 42.0, 0.2, -15.0, 0.02}, {200.0, 42.0, 0.52, 18.0, NAN},
    };
    for (size_t i = 0; i < N_OF(bad); i++) {
        const struct stv_cask_limit limit = {bad[i].capacity_l, bad[i].hottest_c, 0.02};
        stv_assert_close(
            stv_most_full_l(&limit, bad[i].mass_frac, bad[i].fill_temp_c, bad[i].room_frac), nan,
            0.0, 0.0);
    }
    assert_true(isfinite(stv_most_full_l(&good, 0.52, 18.0, 0.5)));
}

static void no_room_but_0_to_a_half(void **state)
{
    (void)state;
    const struct stv_cask_limit limit = {200.0, 42.0, 0.02};
    const double nan = (double)NAN;
    stv_assert_close(stv_most_full_l(&limit, 0.52, 18.0, -1e-9), nan, 0.0, 0.0);
    stv_assert_close(stv_most_full_l(&limit, 0.52, 18.0, 0.5 + 1e-9), nan, 0.0, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(volume_of_printed_densities),
        cmocka_unit_test(growth_of_the_us_table),
        cmocka_unit_test(growth_of_the_formula),
        cmocka_unit_test(volume_follows_mass_and_warmth),
        cmocka_unit_test(no_volume_outside),
        cmocka_unit_test(most_full_of_a_worked_case),
        cmocka_unit_test(most_full_just_fits),
        cmocka_unit_test(most_full_falls_with_heat_and_room),
        cmocka_unit_test(no_more_than_the_cask_holds_when_it_is_filled),
        cmocka_unit_test(fits_is_never_said_of_what_is_not_known),
        cmocka_unit_test(most_full_that_cannot_be_told),
        cmocka_unit_test(no_room_but_0_to_a_half),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
