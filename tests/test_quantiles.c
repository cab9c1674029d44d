/* Type 7 of Hyndman and Fan 1996 (Am. Stat. 50:361), p(k) = (k - 1)/(n - 1), worked by hand. */
#include "model/quantiles.h"
#include "tests/check.h"

static void type_seven(void **state)
{
    (void)state;
    static const double sorted[] = {1.7, 2.385, 4.1, 9.3};
    stv_assert_close(stv_quantile_nd(sorted, 4, 0.0), 1.7, 0.0, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 4, 0.25), 1.7 + 0.75 * 0.685, 1e-15, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 4, 0.5), 3.2425, 1e-15, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 4, 0.95), 4.1 + 0.85 * 5.2, 1e-14, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 4, 1.0), 9.3, 0.0, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 1, 0.37), 1.7, 0.0, 0.0);
}

static void nothing_is_known(void **state)
{
    (void)state;
    static const double sorted[] = {1.7, 2.385};
    double holes[] = {NAN, INFINITY, -INFINITY};
    stv_assert_close(stv_quantile_nd(sorted, 0, 0.5), NAN, 0.0, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 2, -0.01), NAN, 0.0, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 2, 1.01), NAN, 0.0, 0.0);
    stv_assert_close(stv_quantile_nd(sorted, 2, NAN), NAN, 0.0, 0.0);
    stv_assert_close(stv_range_of(holes, 3).p50, NAN, 0.0, 0.0);
    stv_assert_close(stv_range_of(holes, 0).p05, NAN, 0.0, 0.0);
}

static void range_sorts_and_leaves_holes_out(void **state)
{
    (void)state;
    double values[] = {9.3, NAN, 2.385, 1.7, INFINITY, 4.1};
    struct stv_range range = stv_range_of(values, 6);
    stv_assert_close(range.p05, 1.7 + 0.15 * 0.685, 1e-14, 0.0);
    stv_assert_close(range.p25, 2.21375, 1e-14, 0.0);
    stv_assert_close(range.p50, 3.2425, 1e-14, 0.0);
    stv_assert_close(range.p75, 4.1 + 0.25 * 5.2, 1e-14, 0.0);
    stv_assert_close(range.p95, 8.52, 1e-14, 0.0);
}

/* Many at once: in order, and the very values that came; of few kinds, in order already, turned. */
static void many_values_are_sorted(void **state)
{
    (void)state;
    static double values[5000];
    static const size_t sizes[] = {0, 1, 2, 24, 25, 64, 256, 5000};
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++)
        for (uint64_t kind = 0; kind < 5; kind++) {
            const size_t n = sizes[s];
            uint64_t sum = 0, sorted_sum = 0, state_nd = 17 + kind;
            for (size_t i = 0; i < n; i++) {
                state_nd = state_nd * 6364136223846793005u + 1442695040888963407u;
                uint64_t drawn = state_nd >> 40;
                const uint64_t of_kind[] = {drawn, drawn % 3, i, n - i, 7};
                values[i] = (double)of_kind[kind] - 100.0;
                sum += of_kind[kind] * of_kind[kind];
            }
            stv_sort_nd(values, n);
            for (size_t i = 0; i < n; i++) {
                uint64_t value = (uint64_t)(values[i] + 100.0);
                sorted_sum += value * value;
                assert_true(i == 0 || values[i - 1] <= values[i]);
            }
            assert_true(sum == sorted_sum);
        }
}

static void scaled_ranges_keep_their_order(void **state)
{
    (void)state;
    struct stv_range range = {1.0, 2.0, 3.5, 4.0, 6.0};
    struct stv_range turned = stv_range_scaled(range, -2.0);
    stv_assert_close(turned.p05, -12.0, 0.0, 0.0);
    stv_assert_close(turned.p25, -8.0, 0.0, 0.0);
    stv_assert_close(turned.p50, -7.0, 0.0, 0.0);
    stv_assert_close(turned.p95, -2.0, 0.0, 0.0);
    stv_assert_close(stv_range_scaled(range, 0.5).p95, 3.0, 0.0, 0.0);
    struct stv_range point = stv_range_point(2.385);
    assert_true(point.p05 == 2.385 && point.p25 == 2.385 && point.p50 == 2.385 &&
                point.p75 == 2.385 && point.p95 == 2.385);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(type_seven),
        cmocka_unit_test(nothing_is_known),
        cmocka_unit_test(range_sorts_and_leaves_holes_out),
        cmocka_unit_test(many_values_are_sorted),
        cmocka_unit_test(scaled_ranges_keep_their_order),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
