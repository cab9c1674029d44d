/* Dates against published instants and a walk day by day; the grid that stands on them. */
#include "model/calendar.h"
#include "model/days.h"
#include "model/series.h"
#include "model/units.h"
#include "tests/check.h"

static void same_date(int64_t day_d, int year, int month, int day)
{
    struct stv_date date = stv_date_from_day(day_d);
    assert_int_equal(date.year, year);
    assert_int_equal(date.month, month);
    assert_int_equal(date.day, day);
    assert_int_equal(stv_day_from_date(date), day_d);
    assert_true(stv_date_is_valid(date));
}

/* Seconds since 1970 of well-known instants (POSIX.1-2017, 4.16, and its year 2038 limit). */
static void instants_of_posix(void **state)
{
    (void)state;
    same_date(0, 1970, 1, 1);
    same_date(-1, 1969, 12, 31);
    int32_t second_s;
    same_date(stv_local_day(1000000000, 0, &second_s), 2001, 9, 9);
    assert_int_equal(second_s, 1 * 3600 + 46 * 60 + 40);
    same_date(stv_local_day(2147483647, 0, &second_s), 2038, 1, 19);
    assert_int_equal(second_s, 3 * 3600 + 14 * 60 + 7);
    /* India is 5 h 30 min ahead, so the date turns earlier; Newfoundland behind. */
    same_date(stv_local_day(86399, 0, NULL), 1970, 1, 1);
    same_date(stv_local_day(1000000000, 330, &second_s), 2001, 9, 9);
    assert_int_equal(second_s, 7 * 3600 + 16 * 60 + 40);
    same_date(stv_local_day(0, -210, &second_s), 1969, 12, 31);
    assert_int_equal(second_s, 20 * 3600 + 30 * 60);
}

/* Gregorian rule: every fourth year but hundreds, unless four hundreds. */
static void walk_of_eight_centuries(void **state)
{
    (void)state;
    static const int lengths[] = {31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31};
    int64_t day_d = stv_day_from_date((struct stv_date){1601, 1, 1});
    assert_int_equal(day_d, -134774); /* NT time starts there: 11644473600 s before 1970 */
    for (int year = 1601; year < 2401; year++) {
        int is_leap = year % 400 == 0 || (year % 4 == 0 && year % 100 != 0);
        assert_int_equal(stv_year_is_leap(year), is_leap);
        int day_of_year = 0;
        for (int month = 1; month <= STV_MONTHS; month++) {
            int length = lengths[month - 1] + (month == 2 && is_leap);
            for (int day = 1; day <= length; day++, day_d++) {
                same_date(day_d, year, month, day);
                assert_int_equal(stv_day_of_year(day_d), ++day_of_year);
                int common = day_of_year - 1 - (is_leap && (month > 2 || day == 29));
                assert_int_equal(stv_day_of_common_year(day_d),
                                 month == 1 || (month == 2 && day < 29) ? day_of_year - 1 : common);
            }
            assert_false(stv_date_is_valid((struct stv_date){year, month, length + 1}));
        }
    }
}

static void dates_that_do_not_exist(void **state)
{
    (void)state;
    static const struct stv_date none[] = {{2023, 2, 29}, {1900, 2, 29}, {2024, 0, 5},
                                           {2024, 13, 5}, {2024, 4, 31}, {2024, 6, 0},
                                           {0, 7, 4},     {10000, 7, 4}};
    for (size_t i = 0; i < sizeof none / sizeof *none; i++)
        assert_false(stv_date_is_valid(none[i]));
    assert_true(stv_date_is_valid((struct stv_date){2000, 2, 29}));
    assert_true(stv_date_is_valid((struct stv_date){9999, 12, 31}));
}

static void months_later(void **state)
{
    (void)state;
    int64_t day_d = stv_day_from_date((struct stv_date){2023, 8, 31});
    same_date(stv_day_add_months(day_d, 1), 2023, 9, 30);
    same_date(stv_day_add_months(day_d, 6), 2024, 2, 29);
    same_date(stv_day_add_months(day_d, 18), 2025, 2, 28);
    same_date(stv_day_add_months(day_d, 4), 2023, 12, 31);
    same_date(stv_day_add_months(day_d, 5), 2024, 1, 31);
    same_date(stv_day_add_months(day_d, -8), 2022, 12, 31);
    same_date(stv_day_add_months(day_d, -30), 2021, 2, 28);
    same_date(stv_day_add_months(day_d, 0), 2023, 8, 31);
}

static void grid_of_local_days(void **state)
{
    (void)state;
    struct stv_grid grid = {
        .t0_s = 86400 * 3 + 1800, .step_s = 3600, .utc_offset_min = -390, .n = 50};
    int hour;
    /* The middle of sample 0 is 01:00 UTC of day 3, 18:30 of day 2 at the place. */
    assert_int_equal(stv_grid_local_day(&grid, 0, &hour), 2);
    assert_int_equal(hour, 18);
    assert_int_equal(stv_grid_local_day(&grid, 6, &hour), 3);
    assert_int_equal(hour, 0);
    assert_int_equal(stv_grid_start_s(&grid, 7), 86400 * 3 + 1800 + 7 * 3600);
    assert_int_equal(stv_grid_index(&grid, grid.t0_s + 3599), 0);
    assert_int_equal(stv_grid_index(&grid, grid.t0_s + 3600), 1);
    assert_int_equal(stv_grid_index(&grid, grid.t0_s - 1), grid.n);
    assert_int_equal(stv_grid_index(&grid, grid.t0_s + 50 * 3600), grid.n);
}

static void mean_leaves_holes_out(void **state)
{
    (void)state;
    static const double values[] = {2.385, NAN, 7.125, -1.5};
    stv_assert_close(stv_mean_nd(values, 4), 8.01 / 3.0, 1e-15, 0.0);
    stv_assert_close(stv_mean_nd(values + 1, 1), NAN, 0.0, 0.0);
    stv_assert_close(stv_mean_nd(values, 0), NAN, 0.0, 0.0);
}

static void days_once(void **state)
{
    (void)state;
    int64_t days_d[] = {19000, -3, 19000, 7, INT64_MIN, 7, INT64_MAX};
    static const int64_t want_d[] = {INT64_MIN, -3, 7, 19000, INT64_MAX};
    assert_int_equal(stv_days_sort(days_d, 7), 5);
    assert_memory_equal(days_d, want_d, sizeof want_d);
    for (size_t i = 0; i < 5; i++)
        assert_int_equal(stv_days_find(days_d, 5, want_d[i]), i);
    assert_int_equal(stv_days_find(days_d, 5, 8), 5);
    assert_int_equal(stv_days_sort(NULL, 0), 0);
    assert_int_equal(stv_days_find(NULL, 0, 8), 0);
}

/* Hours at their ends: the first of 1 July 2020 east of Greenwich; and days as they are. */
static void first_day_of_a_file(void **state)
{
    (void)state;
    int64_t july_d = stv_day_from_date((struct stv_date){2020, 7, 1});
    struct stv_grid hours = {.t0_s = july_d * STV_DAY_S - 11 * STV_HOUR_S,
                             .step_s = STV_HOUR_S,
                             .n = 3,
                             .utc_offset_min = 600};
    assert_int_equal(stv_grid_local_day(&hours, 0, NULL), july_d - 1);
    assert_int_equal(stv_grid_first_day(&hours), july_d);
    hours.t0_s += STV_HOUR_S;
    assert_int_equal(stv_grid_first_day(&hours), july_d);
    struct stv_grid days = {.t0_s = july_d * STV_DAY_S - 10 * STV_HOUR_S,
                            .step_s = STV_DAY_S,
                            .n = 3,
                            .utc_offset_min = 600};
    assert_int_equal(stv_grid_first_day(&days), july_d);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(instants_of_posix),       cmocka_unit_test(walk_of_eight_centuries),
        cmocka_unit_test(dates_that_do_not_exist), cmocka_unit_test(months_later),
        cmocka_unit_test(grid_of_local_days),      cmocka_unit_test(mean_leaves_holes_out),
        cmocka_unit_test(first_day_of_a_file),     cmocka_unit_test(days_once),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
