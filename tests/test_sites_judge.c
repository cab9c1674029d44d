/* Paired differences: published examples, laws, and how often the tests are wrong. */
#include "model/sites_judge.h"
#include "tests/check.h"

#include <gsl/gsl_errno.h>
#include <gsl/gsl_randist.h>
#include <gsl/gsl_rng.h>
#include <math.h>
#include <stdbool.h>

static void years_in_a_row_are_worth_less(void **state)
{
    (void)state;
    stv_assert_close(stv_effective_years_y(10, 1), 10.0, 1e-12, 0.0);
    /* By hand: 10 / (1 + 2 x 0.9 x 0.5) and 12 / (1 + 2 (11/12 x 2/3 + 10/12 x 1/3)). */
    stv_assert_close(stv_effective_years_y(10, 2), 10.0 / 1.9, 1e-12, 0.0);
    stv_assert_close(stv_effective_years_y(12, 3), 12.0 / (1.0 + 2.0 * 32.0 / 36.0), 1e-12, 0.0);
    stv_assert_close(stv_effective_years_y(1, 5), 1.0, 0.0, 0.0);
    stv_assert_close(stv_effective_years_y(0, 5), 0.0, 0.0, 0.0);
    /* A long record is worth its years that do not overlap. */
    stv_assert_close(stv_effective_years_y(30000, 3), 10000.0, 1e-3, 0.0);
    for (size_t n = 1; n < 40; n++)
        for (size_t follow_y = 1; follow_y < 12; follow_y++) {
            double worth = stv_effective_years_y(n, follow_y);
            assert_true(worth >= 1.0 - 1e-12 && worth <= (double)n + 1e-12);
            assert_true(stv_effective_years_y(n, follow_y + 1) <= worth + 1e-12);
            assert_true(stv_effective_years_y(n + 1, follow_y) >= worth - 1e-12);
        }
}

/* Example of a published package (HDLSSkST 2.1.0, Holm): the third and the seventh stand at 5 %. */
static void holm_as_published(void **state)
{
    (void)state;
    double p[] = {0.50, 0.01, 0.001, 0.69, 0.02, 0.05, 0.0025, (double)NAN};
    /* By hand: in order times 7, 6, 5 ..., never falling, at most 1. */
    static const double want[] = {1.0, 0.05, 0.007, 1.0, 0.08, 0.15, 0.015};
    static const int stands[] = {0, 0, 1, 0, 0, 0, 1};
    stv_assert_ok(stv_holm(p, 8));
    for (int i = 0; i < 7; i++) {
        stv_assert_close(p[i], want[i], 1e-12, 0.0);
        assert_int_equal(p[i] < 0.05 - 1e-12, stands[i]);
    }
    assert_true(isnan(p[7]));
}

static struct stv_judged judge(struct stv_paired paired)
{
    struct stv_judged out;
    stv_assert_ok(stv_judge_pair(&paired, &out));
    return out;
}

/* Ten patients' extra hours of sleep (Student, Biometrika 6 (1908) 1); R's manual of t.test gives
 * t = 4.0621 on 9 degrees, p = 0.002833. */
static void student_slept(void **state)
{
    (void)state;
    static const double hours[] = {1.2, 2.4, 1.3, 1.3, 0.0, 1.0, 1.8, 0.8, 4.6, 1.4};
    struct stv_judged judged = judge((struct stv_paired){hours, 10, 1, 1, 0.5});
    stv_assert_close(judged.mean_nd, 1.58, 1e-12, 0.0);
    stv_assert_close(judged.mean_nd / judged.error_nd, 4.0621, 0.0, 5e-5);
    stv_assert_close(judged.degrees_nd, 9.0, 1e-9, 0.0);
    stv_assert_close(judged.p_differs_nd, 0.002833, 0.0, 5e-7);
    stv_assert_close(judged.least_nd, 1.58 - 1.8331 * 0.38896, 0.0, 2e-4); /* t(0.95, 9) */
    assert_int_equal(judged.n_years_more, 9);
    struct stv_judged *family[] = {&judged};
    stv_assert_ok(stv_judge_family(family, 1, 0.5));
    assert_int_equal(judged.verdict, STV_VERDICT_MORE);
    stv_assert_ok(stv_judge_family(family, 1, 2.0));
    assert_int_equal(judged.verdict, STV_VERDICT_UNSURE); /* proven, but inside the margin */
}

/* What nobody knows stays, however many years there are; what years differ by goes. */
static void years_do_not_mend_the_trials(void **state)
{
    (void)state;
    double values[100 * 4];
    for (size_t i = 0; i < 400; i++)
        values[i] = 1.0 + 0.1 * (double)(i % 4);
    struct stv_judged few = judge((struct stv_paired){values, 5, 4, 1, 0.1});
    struct stv_judged many = judge((struct stv_paired){values, 100, 4, 1, 0.1});
    stv_assert_close(few.error_nd, many.error_nd, 1e-9, 0.0);
    stv_assert_close(few.error_nd, 0.129099, 1e-5, 0.0); /* sd of 0, 0.1, 0.2, 0.3 */
    for (size_t i = 0; i < 400; i++)
        values[i] = 1.0 + 0.1 * (double)(i / 4 % 2);
    assert_true(judge((struct stv_paired){values, 100, 4, 1, 0.1}).error_nd <
                0.3 * judge((struct stv_paired){values, 6, 4, 1, 0.1}).error_nd);
}

static void nothing_and_one_year(void **state)
{
    (void)state;
    static const double zero[6] = {0.0}, one[2] = {3.0, 4.0};
    struct stv_judged same = judge((struct stv_paired){zero, 3, 2, 1, 0.1});
    struct stv_judged single = judge((struct stv_paired){one, 1, 2, 1, 0.1});
    struct stv_judged none = judge((struct stv_paired){one, 0, 2, 1, 0.1});
    struct stv_judged *family[] = {&same, &single, &none};
    stv_assert_ok(stv_judge_family(family, 3, 0.1));
    assert_int_equal(same.verdict, STV_VERDICT_SAME);
    stv_assert_close(same.p_differs_nd, 1.0, 0.0, 0.0);
    assert_true(isnan(single.p_differs_nd) && isnan(single.error_nd));
    assert_int_equal(single.verdict, STV_VERDICT_MORE); /* by its trials */
    assert_int_equal(none.verdict, STV_VERDICT_UNSURE);
    assert_int_equal(none.n_years, 0);
    /* Two overlapping years are not worth two. */
    assert_true(isnan(judge((struct stv_paired){zero, 2, 2, 2, 0.1}).p_differs_nd));
}

/* Fill years of independent weather, each followed follow_y years. */
static void make_years(gsl_rng *random, size_t n, size_t follow_y, double mean, double *out)
{
    double weather[64];
    for (size_t i = 0; i < n + follow_y - 1; i++)
        weather[i] = mean / (double)follow_y + gsl_ran_gaussian(random, 1.0);
    for (size_t y = 0; y < n; y++) {
        out[y] = 0.0;
        for (size_t k = 0; k < follow_y; k++)
            out[y] += weather[y + k];
    }
}

/* 90 % intervals hold the truth in 90 of 100 studies, overlapping years or not. */
static void intervals_hold(void **state)
{
    (void)state;
    static const size_t sizes[][2] = {{10, 1}, {12, 2}, {12, 3}, {20, 5}};
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, 7);
    for (size_t s = 0; s < sizeof sizes / sizeof sizes[0]; s++) {
        size_t n_held = 0, n_naive = 0, n_studies = 4000;
        for (size_t i = 0; i < n_studies; i++) {
            double values[40];
            make_years(random, sizes[s][0], sizes[s][1], 2.0, values);
            struct stv_judged judged =
                judge((struct stv_paired){values, sizes[s][0], 1, sizes[s][1], 0.1});
            struct stv_judged naive = judge((struct stv_paired){values, sizes[s][0], 1, 1, 0.1});
            n_held += judged.least_nd <= 2.0 && 2.0 <= judged.most_nd;
            n_naive += naive.least_nd <= 2.0 && 2.0 <= naive.most_nd;
        }
        double held = (double)n_held / (double)n_studies;
        printf("%zu fill years of %zu: 90 %% intervals hold %.3f (as if independent %.3f)\n",
               sizes[s][0], sizes[s][1], held, (double)n_naive / (double)n_studies);
        assert_true(held > 0.86 && held < 0.95);
        if (sizes[s][1] > 2)
            assert_true((double)n_naive / (double)n_studies < 0.80);
    }
    gsl_rng_free(random);
}

/* Of studies of six pairs without any difference, at most one in twenty finds one; and of studies
 * whose differences lie on the margin, at most one in twenty calls one the same. */
static void families_are_seldom_wrong(void **state)
{
    (void)state;
    gsl_rng *random = gsl_rng_alloc(gsl_rng_mt19937);
    gsl_rng_set(random, 11);
    size_t n_wrong[2] = {0, 0}, n_studies = 3000;
    for (size_t i = 0; i < 2 * n_studies; i++) {
        struct stv_judged judged[6], *family[6];
        double margin = i % 2 ? 1.5 : 1e-9;
        for (size_t p = 0; p < 6; p++) {
            double values[10];
            make_years(random, 10, 1, i % 2 ? margin : 0.0, values);
            judged[p] = judge((struct stv_paired){values, 10, 1, 1, margin});
            family[p] = &judged[p];
        }
        stv_assert_ok(stv_judge_family(family, 6, margin));
        bool is_wrong = false;
        for (size_t p = 0; p < 6; p++)
            is_wrong |= i % 2 ? judged[p].verdict == STV_VERDICT_SAME
                              : judged[p].verdict == STV_VERDICT_MORE ||
                                    judged[p].verdict == STV_VERDICT_LESS;
        n_wrong[i % 2] += is_wrong;
    }
    gsl_rng_free(random);
    for (int k = 0; k < 2; k++) {
        printf("wrong in %.3f of studies\n", (double)n_wrong[k] / (double)n_studies);
        assert_true((double)n_wrong[k] / (double)n_studies < 0.062);
        assert_true((double)n_wrong[k] / (double)n_studies > 0.03); /* and not by never speaking */
    }
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(years_in_a_row_are_worth_less),
        cmocka_unit_test(holm_as_published),
        cmocka_unit_test(student_slept),
        cmocka_unit_test(years_do_not_mend_the_trials),
        cmocka_unit_test(nothing_and_one_year),
        cmocka_unit_test(intervals_hold),
        cmocka_unit_test(families_are_seldom_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
