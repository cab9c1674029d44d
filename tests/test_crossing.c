/* When trials pass a level: between two days, from the first day on, never. */
#include "model/crossing.h"
#include "tests/check.h"

#include <math.h>

enum { N_DAYS = 3, N_DRAWS = 4 };
static const int64_t days_d[N_DAYS] = {1000, 1030, 1060};
/* Trials: falls in the first month, falls in the second, is low already, never falls. */
static const double at_first_l[N_DRAWS] = {200.0, 200.0, 140.0, 200.0};
static const double at_second_l[N_DRAWS] = {140.0, 180.0, 139.0, 199.0};
static const double at_third_l[N_DRAWS] = {120.0, 120.0, 138.0, 198.0};
static const double *const values[N_DAYS] = {at_first_l, at_second_l, at_third_l};
static const size_t n[2] = {N_DAYS, N_DRAWS};

static void test_falls(void **state)
{
    (void)state;
    struct stv_crossing crossing;
    stv_assert_ok(stv_crossing_find(days_d, values, n, (struct stv_level){150.0, 1}, &crossing));
    stv_assert_close(crossing.odds_frac, 0.75, 0.0, 1e-12);
    stv_assert_close(crossing.already_frac, 0.25, 0.0, 1e-12);
    /* in order: 1000; 1000 + 30 * 50/60; 1030 + 30 * 30/60; never */
    stv_assert_close(crossing.earliest_d, 1000.0, 0.0, 1e-9);
    stv_assert_close(crossing.central_d, 1045.0, 0.0, 1e-9);
    assert_true(isinf(crossing.latest_d));
}

static void test_rises(void **state)
{
    (void)state;
    struct stv_crossing crossing;
    const double *const turned[N_DAYS] = {at_third_l, at_second_l, at_first_l};
    stv_assert_ok(stv_crossing_find(days_d, turned, n, (struct stv_level){190.0, 0}, &crossing));
    /* 1030 + 30 * 50/60, 1030 + 30 * 10/20, never, 1000 */
    stv_assert_close(crossing.odds_frac, 0.75, 0.0, 1e-12);
    stv_assert_close(crossing.earliest_d, 1000.0, 0.0, 1e-9);
    stv_assert_close(crossing.central_d, 1055.0, 0.0, 1e-9);
}

/* A cask that is emptied before passes nothing afterwards. */
static void test_emptied(void **state)
{
    (void)state;
    struct stv_crossing crossing;
    const double empty_l[N_DRAWS] = {NAN, NAN, NAN, NAN};
    const double *const emptied[N_DAYS] = {at_second_l, empty_l, at_third_l};
    stv_assert_ok(stv_crossing_find(days_d, emptied, n, (struct stv_level){130.0, 1}, &crossing));
    stv_assert_close(crossing.odds_frac, 0.0, 0.0, 0.0);
    assert_true(isinf(crossing.earliest_d));
    const size_t none[2] = {0, N_DRAWS};
    stv_assert_status(
        stv_crossing_find(days_d, emptied, none, (struct stv_level){130.0, 1}, &crossing),
        STV_E_ARG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_falls),
        cmocka_unit_test(test_rises),
        cmocka_unit_test(test_emptied),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
