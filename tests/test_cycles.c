/* Rainflow counts: the standard's own example, laws, and a record of a year's length and more. */
#include "model/cycles.h"
#include "tests/check.h"

#include <stdlib.h>

#define CYCLES_MOST 64

static double count_of_range(const struct stv_cycle *cycles, size_t n, double range_k)
{
    double sum = 0.0;
    for (size_t i = 0; i < n; i++)
        if (fabs(cycles[i].range_k - range_k) < 1e-9)
            sum += cycles[i].count_nd;
    return sum;
}

/* ASTM E1049-85, section 5.4.4, worked example: history -2 1 -3 5 -1 3 -4 4 -2 and its counts
 * (values from memory; followed by hand through the rule as well). */
static void standard_example(void **state)
{
    (void)state;
    static const double history_c[] = {-2, 1, -3, 5, -1, 3, -4, 4, -2};
    static const double want[][2] = {{3, 0.5}, {4, 1.5}, {6, 0.5}, {8, 1.0}, {9, 0.5}};
    struct stv_cycle cycles[CYCLES_MOST];
    size_t n;
    double sum;
    stv_assert_ok(stv_cycles_count(history_c, 9, 0.0, cycles, &n));
    for (size_t i = 0; i < 5; i++)
        stv_assert_close(count_of_range(cycles, n, want[i][0]), want[i][1], 0.0, 0.0);
    stv_assert_ok(stv_cycles_sum_nd(history_c, 9, 0.0, &sum));
    stv_assert_close(sum, 4.0, 0.0, 0.0);
    /* The one whole cycle lies between -1 and 3; the widest half between 5 and -4. */
    for (size_t i = 0; i < n; i++) {
        if (fabs(cycles[i].count_nd - 1.0) < 1e-9)
            stv_assert_close(cycles[i].mean_c, 1.0, 0.0, 0.0);
        if (fabs(cycles[i].range_k - 9.0) < 1e-9)
            stv_assert_close(cycles[i].mean_c, 0.5, 0.0, 0.0);
    }
}

/* Bins of 2 K from 3 on: 3 and 4, 6 (5 to 7), and all from 7 on; and again on top of what is there.
 */
static void bins_by_size(void **state)
{
    (void)state;
    static const double history_c[] = {-2, 1, -3, 5, -1, 3, -4, 4, -2};
    const struct stv_cycle_bins bins = {3.0, 2.0, 3}, fine = {3.5, 0.25, 100};
    double count[3] = {10.0, 20.0, 30.0}, fine_count[100] = {0.0}, sum;
    stv_assert_ok(stv_cycles_add_bins_nd(history_c, 9, &bins, count));
    stv_assert_close(count[0], 12.0, 0.0, 0.0);
    stv_assert_close(count[1], 20.5, 0.0, 0.0);
    stv_assert_close(count[2], 31.5, 0.0, 0.0);
    stv_assert_ok(stv_cycles_add_bins_nd(history_c, 9, &fine, fine_count));
    stv_assert_ok(stv_cycles_sum_nd(history_c, 9, 3.5, &sum));
    for (size_t b = 0; b < 100; b++)
        sum -= fine_count[b];
    stv_assert_close(sum, 0.0, 0.0, 0.0); /* the range of 3 is in neither */
    stv_assert_close(fine_count[2], 1.5, 0.0, 0.0);
    const struct stv_cycle_bins none = {3.0, 2.0, 0}, flat = {3.0, 0.0, 3};
    stv_assert_status(stv_cycles_add_bins_nd(history_c, 9, &none, count), STV_E_ARG);
    stv_assert_status(stv_cycles_add_bins_nd(history_c, 9, &flat, count), STV_E_ARG);
}

static void plateaus_and_holes_change_nothing(void **state)
{
    (void)state;
    static const double history_c[] = {-2, 1, -3, 5, -1, 3, -4, 4, -2};
    const double padded_c[] = {(double)NAN, -2, -2, 0,           1,          1,
                               (double)NAN, 1,  -3, -1,          5,          (double)INFINITY,
                               5,           -1, -1, (double)NAN, 0,          3,
                               -4,          4,  1,  -2,          (double)NAN};
    struct stv_cycle plain[CYCLES_MOST], padded[CYCLES_MOST];
    size_t n_plain, n_padded;
    stv_assert_ok(stv_cycles_count(history_c, 9, 0.0, plain, &n_plain));
    stv_assert_ok(
        stv_cycles_count(padded_c, sizeof padded_c / sizeof *padded_c, 0.0, padded, &n_padded));
    assert_int_equal(n_plain, n_padded);
    for (size_t i = 0; i < n_plain; i++) {
        stv_assert_close(padded[i].range_k, plain[i].range_k, 0.0, 0.0);
        stv_assert_close(padded[i].mean_c, plain[i].mean_c, 0.0, 0.0);
        stv_assert_close(padded[i].count_nd, plain[i].count_nd, 0.0, 0.0);
    }
}

static void small_ranges_are_not_reported(void **state)
{
    (void)state;
    static const double values_c[] = {10.0, 20.0, 15.0, 15.49, 12.0, 12.5, 8.0, 21.0};
    struct stv_cycle cycles[CYCLES_MOST];
    size_t n;
    double sum, sum_all;
    stv_assert_ok(stv_cycles_count(values_c, 8, 0.5, cycles, &n));
    stv_assert_close(count_of_range(cycles, n, 0.49), 0.0, 0.0, 0.0);
    stv_assert_close(count_of_range(cycles, n, 0.5), 1.0, 0.0, 0.0);
    stv_assert_ok(stv_cycles_sum_nd(values_c, 8, 0.5, &sum));
    stv_assert_ok(stv_cycles_sum_nd(values_c, 8, 0.0, &sum_all));
    stv_assert_close(sum_all - sum, 1.0, 0.0, 1e-12);
}

/* A day's wave: n days make n whole cycles, told as n - 1 whole and two halves or all halves. */
static void days_are_counted(void **state)
{
    (void)state;
    enum { DAYS = 365 };
    double *values_c = malloc(DAYS * 24 * sizeof *values_c);
    double sum;
    assert_non_null(values_c);
    for (size_t k = 0; k < DAYS * 24; k++)
        values_c[k] = 18.2 + 10.0 * sin(6.283185307179586 * (double)k / 8760.0) +
                      2.1 * sin(6.283185307179586 * ((double)k + 0.3) / 24.0);
    stv_assert_ok(stv_cycles_sum_nd(values_c, DAYS * 24, 0.5, &sum));
    stv_assert_close(sum, DAYS, 0.0, 1.0);
    free(values_c);
}

/* Each reversal but the first closes half a cycle: twice the sum of counts is one less than the
 * number of reversals.  150 000 values that keep the stack deep, then unwind it. */
static void long_record_is_counted_whole(void **state)
{
    (void)state;
    const size_t n = 150000;
    double *values_c = malloc(n * sizeof *values_c);
    struct stv_cycle *cycles = malloc(n * sizeof *cycles);
    size_t n_cycles;
    double sum, from_list = 0.0;
    assert_non_null(values_c);
    assert_non_null(cycles);
    for (size_t k = 0; k < n; k++) {
        double width = k < n / 2 ? (double)(n - k) : (double)k;
        values_c[k] = (k % 2 ? 1e-3 : -1e-3) * width;
    }
    stv_assert_ok(stv_cycles_count(values_c, n, 0.0, cycles, &n_cycles));
    assert_true(n_cycles < n);
    for (size_t i = 0; i < n_cycles; i++)
        from_list += cycles[i].count_nd;
    stv_assert_ok(stv_cycles_sum_nd(values_c, n, 0.0, &sum));
    stv_assert_close(sum, from_list, 0.0, 0.0);
    stv_assert_close(2.0 * sum, (double)(n - 1), 0.0, 0.0);
    free(values_c);
    free(cycles);
}

static void little_data_has_no_cycles(void **state)
{
    (void)state;
    static const double one_c[] = {12.3}, level_c[] = {12.3, 12.3, 12.3}, two_c[] = {12.3, 14.0};
    struct stv_cycle cycles[CYCLES_MOST];
    size_t n = 7;
    double sum;
    stv_assert_ok(stv_cycles_sum_nd(NULL, 0, 0.5, &sum));
    stv_assert_close(sum, 0.0, 0.0, 0.0);
    stv_assert_ok(stv_cycles_sum_nd(one_c, 1, 0.5, &sum));
    stv_assert_close(sum, 0.0, 0.0, 0.0);
    stv_assert_ok(stv_cycles_count(level_c, 3, 0.5, cycles, &n));
    assert_int_equal(n, 0);
    stv_assert_ok(stv_cycles_count(two_c, 2, 0.5, cycles, &n));
    assert_int_equal(n, 1);
    stv_assert_close(cycles[0].count_nd, 0.5, 0.0, 0.0);
    stv_assert_close(cycles[0].range_k, 1.7, 1e-14, 0.0);
}

static void refusals_are_said(void **state)
{
    (void)state;
    static const double values_c[] = {1.0, 2.0};
    struct stv_cycle cycles[CYCLES_MOST];
    size_t n = 7;
    double sum = 1.0;
    stv_assert_status(stv_cycles_count(NULL, 2, 0.0, cycles, &n), STV_E_ARG);
    assert_int_equal(n, 0);
    stv_assert_status(stv_cycles_count(values_c, 2, 0.0, NULL, &n), STV_E_ARG);
    stv_assert_status(stv_cycles_count(values_c, 2, 0.0, cycles, NULL), STV_E_ARG);
    stv_assert_status(stv_cycles_count(values_c, 2, -0.1, cycles, &n), STV_E_ARG);
    stv_assert_status(stv_cycles_sum_nd(values_c, 2, (double)NAN, &sum), STV_E_ARG);
    stv_assert_close(sum, (double)NAN, 0.0, 0.0);
    stv_assert_status(stv_cycles_sum_nd(values_c, 2, 0.0, NULL), STV_E_ARG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(standard_example),
        cmocka_unit_test(bins_by_size),
        cmocka_unit_test(plateaus_and_holes_change_nothing),
        cmocka_unit_test(small_ranges_are_not_reported),
        cmocka_unit_test(days_are_counted),
        cmocka_unit_test(long_record_is_counted_whole),
        cmocka_unit_test(little_data_has_no_cycles),
        cmocka_unit_test(refusals_are_said),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
