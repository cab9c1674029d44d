/* A yard logger beside a station: what they differ in by season and hour comes back, where it never
 * measured too. */
#include "model/air.h"
#include "model/calendar.h"
#include "model/units.h"
#include "model/yard.h"
#include "tests/check.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define YEAR_H (2 * 365 * 24)

static const double pi_nd = 3.14159265358979323846;

/* Two made-up years from 2023-01-01 UTC. */
static struct stv_weather_record make_station(void)
{
    struct stv_weather_record record = {.grid = {.t0_s = INT64_C(1672531200),
                                                 .step_s = STV_HOUR_S,
                                                 .n = YEAR_H,
                                                 .utc_offset_min = -360},
                                        .site = {35.0, -100.0, 300.0}};
    record.columns[STV_WQ_TEMP_C] = calloc(YEAR_H, sizeof(double));
    record.columns[STV_WQ_RH_FRAC] = calloc(YEAR_H, sizeof(double));
    assert_non_null(record.columns[STV_WQ_TEMP_C]);
    assert_non_null(record.columns[STV_WQ_RH_FRAC]);
    for (size_t k = 0; k < YEAR_H; k++) {
        record.columns[STV_WQ_TEMP_C][k] = 16.0 - 12.0 * cos(2.0 * pi_nd * (double)k / 8766.0) +
                                           6.0 * sin(2.0 * pi_nd * (double)k / 24.0);
        record.columns[STV_WQ_RH_FRAC][k] = 0.5;
    }
    return record;
}

/* The yard is warmer by 1 K at night and 3 K by day, and 1 K more from June to August. */
static double yard_off_k(const struct stv_grid *grid, size_t k)
{
    int hour;
    struct stv_date date = stv_date_from_day(stv_grid_local_day(grid, k, &hour));
    return (hour >= 8 && hour < 20 ? 3.0 : 1.0) + (date.month >= 6 && date.month <= 8 ? 1.0 : 0.0);
}

/* Hours of a yard logger over the first `months` months of 30 days. */
static double *make_yard(const struct stv_weather_record *record, size_t n)
{
    double *air_c = malloc(n * sizeof *air_c);
    assert_non_null(air_c);
    for (size_t k = 0; k < n; k++)
        air_c[k] = record->columns[STV_WQ_TEMP_C][k] + yard_off_k(&record->grid, k);
    return air_c;
}

static void what_they_differ_in_comes_back(void **state)
{
    (void)state;
    enum { FIRST_YEAR_H = 365 * 24 };
    struct stv_weather_record record = make_station(), before = make_station();
    double *air_c = make_yard(&record, FIRST_YEAR_H);
    struct stv_yard yard = {record.grid, air_c, NULL};
    struct stv_yard_report report;
    yard.grid.n = FIRST_YEAR_H;
    stv_assert_ok(stv_weather_correct_by_yard(&record, &yard, &report));
    assert_int_equal(report.n_common_h, FIRST_YEAR_H);
    assert_int_equal(report.n_replaced_h, FIRST_YEAR_H);
    stv_assert_close(report.least_k, 1.0, 0.0, 1e-9);
    stv_assert_close(report.most_k, 4.0, 0.0, 1e-9);
    assert_true(report.after_k < 1e-9 && report.before_k > 2.0);
    /* The second year was never measured, and is as the first. */
    for (size_t k = 0; k < YEAR_H; k++) {
        stv_assert_close(record.columns[STV_WQ_TEMP_C][k],
                         before.columns[STV_WQ_TEMP_C][k] + yard_off_k(&record.grid, k), 0.0, 1e-9);
        /* Warmer air, the same vapour. */
        double vapour_pa =
            record.columns[STV_WQ_RH_FRAC][k] * stv_water_psat_pa(record.columns[STV_WQ_TEMP_C][k]);
        stv_assert_close(vapour_pa, 0.5 * stv_water_psat_pa(before.columns[STV_WQ_TEMP_C][k]), 1e-9,
                         0.0);
    }
    free(air_c);
    stv_weather_record_free(&record);
    stv_weather_record_free(&before);
}

/* A summer alone speaks for the hours of winter by the hour's mean, and says how little it knows.
 */
static void one_season_speaks_for_its_hours(void **state)
{
    (void)state;
    struct stv_weather_record record = make_station(), before = make_station();
    size_t from = 151 * STV_DAY_H, n = 90 * STV_DAY_H;
    double *air_c = malloc(n * sizeof *air_c);
    assert_non_null(air_c);
    for (size_t k = 0; k < n; k++)
        air_c[k] = record.columns[STV_WQ_TEMP_C][from + k] + yard_off_k(&record.grid, from + k);
    struct stv_yard yard = {record.grid, air_c, NULL};
    struct stv_yard_report report;
    yard.grid.t0_s = stv_grid_start_s(&record.grid, from);
    yard.grid.n = n;
    stv_assert_ok(stv_weather_correct_by_yard(&record, &yard, &report));
    assert_int_equal(report.n_replaced_h, n);
    for (size_t k = 0; k < 31 * STV_DAY_H; k++) { /* January: a degree too much, from summer */
        double moved_k = record.columns[STV_WQ_TEMP_C][k] - before.columns[STV_WQ_TEMP_C][k];
        assert_true(moved_k > 1.0 && moved_k < 4.1);
    }
    free(air_c);
    stv_weather_record_free(&record);
    stv_weather_record_free(&before);
}

static void too_little_changes_nothing(void **state)
{
    (void)state;
    struct stv_weather_record record = make_station(), before = make_station();
    double *air_c = make_yard(&record, 9 * STV_DAY_H);
    struct stv_yard yard = {record.grid, air_c, NULL};
    struct stv_yard_report report;
    yard.grid.n = 9 * STV_DAY_H;
    stv_assert_status(stv_weather_correct_by_yard(&record, &yard, &report), STV_E_NO_DATA);
    assert_int_equal(report.n_common_h, 9 * STV_DAY_H);
    record.grid.is_typical = true;
    stv_assert_status(stv_weather_correct_by_yard(&record, &yard, &report), STV_E_NO_DATA);
    assert_memory_equal(record.columns[STV_WQ_TEMP_C], before.columns[STV_WQ_TEMP_C],
                        YEAR_H * sizeof(double));
    stv_assert_status(stv_weather_correct_by_yard(NULL, &yard, &report), STV_E_ARG);
    free(air_c);
    stv_weather_record_free(&record);
    stv_weather_record_free(&before);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(what_they_differ_in_comes_back),
        cmocka_unit_test(one_season_speaks_for_its_hours),
        cmocka_unit_test(too_little_changes_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
