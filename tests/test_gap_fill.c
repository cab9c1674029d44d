/* Holes in a logger's hours: the limit is kept, what is filled is marked, and the error that is
 * told is the error that is made. */
#include "model/gap_fill.h"
#include "model/units.h"
#include "tests/check.h"

#include <math.h>
#include <stdlib.h>

#define DAYS 90
#define HOURS ((size_t)DAYS * STV_DAY_H)
#define TWO_PI 6.28318530717958647693
#define T0_S ((int64_t)19700 * STV_DAY_S)

/* Smooth weather of several days, alike at every place; no measured series. */
static double weather_k(size_t k)
{
    double h = (double)k;
    return 3.1 * sin(h / 61.0) + 2.3 * sin(h / 37.7 + 1.1) + 1.2 * sin(h / 8.3);
}

static double place_c(size_t k, double mean_c, double day_k)
{
    return mean_c + day_k * cos(TWO_PI * ((double)k - 15.0) / STV_DAY_H) + weather_k(k);
}

static struct stv_logger_hours logger_new(double mean_c, double day_k)
{
    struct stv_logger_hours hours = {.place = {0, 0, -1, -1},
                                     .grid = {.t0_s = T0_S, .step_s = STV_HOUR_S, .n = HOURS},
                                     .air_c = malloc(HOURS * sizeof(double)),
                                     .rh_frac = malloc(HOURS * sizeof(double))};
    assert_non_null(hours.air_c);
    assert_non_null(hours.rh_frac);
    for (size_t k = 0; k < HOURS; k++) {
        hours.air_c[k] = place_c(k, mean_c, day_k);
        hours.rh_frac[k] = 0.55 - 0.01 * weather_k(k);
    }
    return hours;
}

static void logger_end(struct stv_logger_hours *hours)
{
    free(hours->air_c);
    free(hours->rh_frac);
    free(hours->origin);
}

static void blank(struct stv_logger_hours *hours, size_t from, size_t n)
{
    for (size_t k = from; k < from + n; k++)
        hours->air_c[k] = hours->rh_frac[k] = (double)NAN;
}

static struct stv_gap_guide guide_of(const struct stv_logger_hours *hours,
                                     enum stv_hour_origin kind)
{
    return (struct stv_gap_guide){kind, &hours->grid, hours->air_c, hours->rh_frac};
}

static size_t n_missing(const struct stv_logger_hours *hours)
{
    size_t n = 0;
    for (size_t k = 0; k < hours->grid.n; k++)
        n += !isfinite(hours->air_c[k]) || !isfinite(hours->rh_frac[k]);
    return n;
}

/* 1 h and 3 h by a line, 6 h and 3 d from the neighbour; 73 h are beyond the default limit. */
static void methods_and_limit(void **state)
{
    (void)state;
    struct stv_logger_hours hours = logger_new(24.0, 5.0), other = logger_new(21.0, 3.0);
    struct stv_gap_rules rules = stv_gap_rules_default();
    struct stv_gap_report report;
    blank(&hours, 300, 1);
    blank(&hours, 500, 3);
    blank(&hours, 700, 6);
    blank(&hours, 900, 72);
    blank(&hours, 1400, 73);
    struct stv_gap_guide guides[] = {guide_of(&other, STV_HOUR_NEIGHBOUR)};
    stv_assert_ok(stv_gap_fill(&hours, guides, 1, &rules, &report));
    assert_int_equal(report.n_hours[STV_HOUR_LINE], 4);
    assert_int_equal(report.n_hours[STV_HOUR_NEIGHBOUR], 78);
    assert_int_equal(report.n_hours[STV_HOUR_WEATHER], 0);
    assert_int_equal(report.n_hours[STV_HOUR_HOLE], 73);
    assert_int_equal(report.n_hours[STV_HOUR_MEASURED], HOURS - 155);
    assert_int_equal(report.n_holes_left, 1);
    assert_int_equal(report.longest_left_h, 73);
    assert_int_equal(report.longest_left_from_s, T0_S + 1400 * STV_HOUR_S);
    assert_int_equal(n_missing(&hours), 73);
    assert_int_equal(hours.origin[499], STV_HOUR_MEASURED);
    assert_int_equal(hours.origin[501], STV_HOUR_LINE);
    assert_int_equal(hours.origin[971], STV_HOUR_NEIGHBOUR);
    assert_int_equal(hours.origin[1400], STV_HOUR_HOLE);
    /* A day wave of another size and another mean is exactly what the method takes out. */
    for (size_t k = 900; k < 972; k++)
        stv_assert_close(hours.air_c[k], place_c(k, 24.0, 5.0), 0.0, 1e-9);
    logger_end(&hours);
    logger_end(&other);
}

/* The told error of a rough neighbour is the made one, within the scatter of 72 hours. */
static void told_error_is_made(void **state)
{
    (void)state;
    struct stv_logger_hours hours = logger_new(24.0, 5.0), other = logger_new(21.0, 3.0);
    struct stv_gap_rules rules = stv_gap_rules_default();
    struct stv_gap_report report;
    for (size_t k = 0; k < HOURS; k++) /* rough on its own account, 0.8 K and no day wave */
        other.air_c[k] += 0.8 * sqrt(2.0) * sin(2.385 * (double)k * (1.0 + 1e-3 * (double)k));
    blank(&hours, 900, 72);
    struct stv_gap_guide guides[] = {guide_of(&other, STV_HOUR_NEIGHBOUR)};
    stv_assert_ok(stv_gap_fill(&hours, guides, 1, &rules, &report));
    double square = 0.0;
    for (size_t k = 900; k < 972; k++)
        square += pow(hours.air_c[k] - place_c(k, 24.0, 5.0), 2.0);
    stv_assert_close(report.error_k[STV_HOUR_NEIGHBOUR], 0.8, 0.15, 0.0);
    stv_assert_close(report.error_k[STV_HOUR_NEIGHBOUR], sqrt(square / 72.0), 0.25, 0.0);
    stv_assert_close(report.error_k[STV_HOUR_LINE], (double)NAN, 0.0, 0.0);
    logger_end(&hours);
    logger_end(&other);
}

/* Neighbours first, weather where they are silent, neither where it is not wanted. */
static void guides_in_order(void **state)
{
    (void)state;
    struct stv_logger_hours other = logger_new(21.0, 3.0), modelled = logger_new(22.0, 4.0);
    blank(&other, 950, 1);
    struct stv_gap_guide guides[] = {guide_of(&other, STV_HOUR_NEIGHBOUR),
                                     guide_of(&modelled, STV_HOUR_WEATHER)};
    static const struct {
        struct stv_gap_rules rules;
        enum stv_hour_origin early, late; /* of a hole at 700 and one that holds 950 */
    } cases[] = {
        {{72.0, 1, 1}, STV_HOUR_NEIGHBOUR, STV_HOUR_WEATHER},
        {{72.0, 1, 0}, STV_HOUR_NEIGHBOUR, STV_HOUR_HOLE},
        {{72.0, 0, 1}, STV_HOUR_WEATHER, STV_HOUR_WEATHER},
        {{72.0, 0, 0}, STV_HOUR_HOLE, STV_HOUR_HOLE},
        {{5.0, 1, 1}, STV_HOUR_HOLE, STV_HOUR_HOLE},
        {{0.0, 1, 1}, STV_HOUR_HOLE, STV_HOUR_HOLE},
    };
    for (size_t i = 0; i < sizeof cases / sizeof cases[0]; i++) {
        struct stv_logger_hours hours = logger_new(24.0, 5.0);
        struct stv_gap_report report;
        blank(&hours, 700, 6);
        blank(&hours, 940, 20);
        stv_assert_ok(stv_gap_fill(&hours, guides, 2, &cases[i].rules, &report));
        assert_int_equal(hours.origin[703], cases[i].early);
        assert_int_equal(hours.origin[950], cases[i].late);
        logger_end(&hours);
    }
    logger_end(&other);
    logger_end(&modelled);
}

/* A hole at the ends is no hole; a guide that spoke too little beside the logger is not used. */
static void ends_and_thin_guides(void **state)
{
    (void)state;
    struct stv_logger_hours hours = logger_new(24.0, 5.0), other = logger_new(21.0, 3.0);
    struct stv_gap_rules rules = stv_gap_rules_default();
    struct stv_gap_report report;
    blank(&hours, 0, 10);
    blank(&hours, HOURS - 10, 10);
    blank(&hours, 1000, 5);
    blank(&other, 0, 965);
    blank(&other, 1040, HOURS - 1040); /* 70 shared hours around the hole: two too few */
    struct stv_gap_guide guides[] = {guide_of(&other, STV_HOUR_NEIGHBOUR)};
    stv_assert_ok(stv_gap_fill(&hours, guides, 1, &rules, &report));
    assert_int_equal(report.n_hours[STV_HOUR_OUTSIDE], 20);
    assert_int_equal(report.n_hours[STV_HOUR_HOLE], 5);
    assert_int_equal(report.n_holes_left, 1);
    logger_end(&hours);
    logger_end(&other);
}

static void bad_arguments(void **state)
{
    (void)state;
    struct stv_logger_hours hours = logger_new(24.0, 5.0);
    struct stv_gap_rules rules = stv_gap_rules_default();
    struct stv_gap_report report;
    struct stv_gap_guide guide = guide_of(&hours, STV_HOUR_MEASURED);
    stv_assert_status(stv_gap_fill(NULL, NULL, 0, &rules, &report), STV_E_ARG);
    stv_assert_status(stv_gap_fill(&hours, &guide, 1, &rules, &report), STV_E_ARG);
    stv_assert_status(stv_gap_fill(&hours, NULL, 1, &rules, &report), STV_E_ARG);
    stv_assert_status(stv_gap_fill(&hours, NULL, 0, NULL, &report), STV_E_ARG);
    hours.grid.step_s = 1800;
    stv_assert_status(stv_gap_fill(&hours, NULL, 0, &rules, &report), STV_E_ARG);
    logger_end(&hours);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(methods_and_limit), cmocka_unit_test(told_error_is_made),
        cmocka_unit_test(guides_in_order),   cmocka_unit_test(ends_and_thin_guides),
        cmocka_unit_test(bad_arguments),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
