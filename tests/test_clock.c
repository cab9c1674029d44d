/* Clocks, stamps, check sums and whole files: the parts that every reader stands on. */
#include "ingest/clock.h"
#include "ingest/hash.h"
#include "ingest/stamp.h"
#include "ingest/write_file.h"
#include "model/calendar.h"
#include "model/units.h"
#include "tests/check.h"
#include "tests/scratch.h"

#include <sys/stat.h>

static int64_t at(int32_t year, int32_t month, int32_t day, int32_t hour, int32_t minute)
{
    struct stv_date date = {year, month, day};
    return stv_day_from_date(date) * STV_DAY_S + hour * STV_HOUR_S + minute * 60;
}

static struct stv_clock clock_of(const char *text)
{
    struct stv_clock clock;
    char why[200] = "";
    stv_assert_ok(stv_clock_parse(text, &clock, why, sizeof why));
    return clock;
}

static void fixed_clocks(void **state)
{
    (void)state;
    assert_int_equal(clock_of("UTC").standard_offset_min, 0);
    assert_int_equal(clock_of("UTC-07:00").standard_offset_min, -420);
    assert_int_equal(clock_of("UTC+5:30").standard_offset_min, 330);
    assert_int_equal(clock_of("UTC+10").standard_offset_min, 600);
    /* POSIX counts west as positive; names of digits stand in angle brackets. */
    assert_int_equal(clock_of("MST7").standard_offset_min, -420);
    assert_int_equal(clock_of("<+0530>-5:30").standard_offset_min, 330);
    assert_false(clock_of("MST7").has_summer);
}

static void clocks_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {"",
                                      "local",
                                      "UTC-7:0",
                                      "UTC-16:00",
                                      "UTC-07:00 ",
                                      "UTC7",
                                      "MST",
                                      "MST7MDT",
                                      "MST7MDT,M3.2.0",
                                      "MST7MDT,M13.2.0,M11.1.0",
                                      "MST7MDT,M3.6.0,M11.1.0",
                                      "MST7MDT,M3.2.7,M11.1.0",
                                      "MST7MDT,J60,J300",
                                      "America/Denver",
                                      "+07:00",
                                      "UTC-05:30:30"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct stv_clock clock = {.standard_offset_min = 77};
        char why[200] = "";
        stv_assert_status(stv_clock_parse(bad[i], &clock, why, sizeof why), STV_E_PARSE);
        assert_true(strlen(why) > 10);
        assert_int_equal(clock.standard_offset_min, 77);
    }
}

/* US rule since 2007: second Sunday of March to first Sunday of November, 02:00 (Energy Policy
 * Act of 2005, section 110).  In 2024 those are 10 March and 3 November. */
static void spring_hole_and_double_hour(void **state)
{
    (void)state;
    struct stv_clock clock = clock_of("MST7MDT,M3.2.0,M11.1.0");
    int64_t time_s = 0;
    stv_assert_ok(stv_clock_utc(&clock, at(2024, 3, 10, 1, 59), false, &time_s));
    assert_int_equal(time_s, at(2024, 3, 10, 8, 59));
    stv_assert_status(stv_clock_utc(&clock, at(2024, 3, 10, 2, 0), false, &time_s), STV_E_DOMAIN);
    stv_assert_status(stv_clock_utc(&clock, at(2024, 3, 10, 2, 59), true, &time_s), STV_E_DOMAIN);
    stv_assert_ok(stv_clock_utc(&clock, at(2024, 3, 10, 3, 0), false, &time_s));
    assert_int_equal(time_s, at(2024, 3, 10, 9, 0));

    assert_false(stv_clock_is_double(&clock, at(2024, 11, 3, 0, 59)));
    assert_true(stv_clock_is_double(&clock, at(2024, 11, 3, 1, 0)));
    assert_true(stv_clock_is_double(&clock, at(2024, 11, 3, 1, 59)));
    assert_false(stv_clock_is_double(&clock, at(2024, 11, 3, 2, 0)));
    stv_assert_ok(stv_clock_utc(&clock, at(2024, 11, 3, 1, 30), false, &time_s));
    assert_int_equal(time_s, at(2024, 11, 3, 7, 30));
    stv_assert_ok(stv_clock_utc(&clock, at(2024, 11, 3, 1, 30), true, &time_s));
    assert_int_equal(time_s, at(2024, 11, 3, 8, 30));
}

/* Southern summer over the new year; Lord Howe's half hour; a rule with a time beyond midnight.
 * Dates: first Sunday of October 2023 is the 1st, first Sunday of April 2024 is the 7th. */
static void southern_summer(void **state)
{
    (void)state;
    struct stv_clock clock = clock_of("AEST-10AEDT,M10.1.0,M4.1.0/3");
    int64_t time_s = 0;
    stv_assert_ok(stv_clock_utc(&clock, at(2024, 1, 15, 12, 0), false, &time_s));
    assert_int_equal(time_s, at(2024, 1, 15, 1, 0));
    stv_assert_ok(stv_clock_utc(&clock, at(2024, 7, 15, 12, 0), false, &time_s));
    assert_int_equal(time_s, at(2024, 7, 15, 2, 0));
    stv_assert_status(stv_clock_utc(&clock, at(2023, 10, 1, 2, 30), false, &time_s), STV_E_DOMAIN);
    assert_true(stv_clock_is_double(&clock, at(2024, 4, 7, 2, 30)));

    struct stv_clock half = clock_of("<+1030>-10:30<+11>-11,M10.1.0,M4.1.0");
    assert_int_equal(half.summer_offset_min, 660);
    assert_true(stv_clock_is_double(&half, at(2024, 4, 7, 1, 45)));
    assert_false(stv_clock_is_double(&half, at(2024, 4, 7, 1, 15)));
}

/* Every wall time that exists comes back from its instant, over a whole year in quarter hours:
 * 92 quarters in the short day, 100 in the long one, 96 in the rest. */
static void every_quarter_hour_once(void **state)
{
    (void)state;
    struct stv_clock clock = clock_of("EST5EDT,M3.2.0,M11.1.0");
    size_t n_holes = 0, n_double = 0;
    int64_t last_s = INT64_MIN;
    for (int64_t local_s = at(2023, 1, 1, 0, 0); local_s < at(2024, 1, 1, 0, 0); local_s += 900) {
        int64_t time_s;
        if (stv_clock_utc(&clock, local_s, false, &time_s) != STV_OK) {
            n_holes++;
            continue;
        }
        n_double += stv_clock_is_double(&clock, local_s);
        assert_true(time_s > last_s);
        assert_true(local_s - time_s == -18000 || local_s - time_s == -14400);
        last_s = time_s;
    }
    assert_int_equal(n_holes, 4);
    assert_int_equal(n_double, 4);
}

static void stamps_read(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        int32_t year, first, second, second_s, offset_min;
        bool has_time, has_offset;
    } good[] = {
        {"2024-03-14", 2024, 3, 14, 0, 0, false, false},
        {"2024-03-14T07:05", 2024, 3, 14, 25500, 0, true, false},
        {"2024-03-14 07:05:30.250", 2024, 3, 14, 25530, 0, true, false},
        {"2024-03-14T07:05:30Z", 2024, 3, 14, 25530, 0, true, true},
        {"2024-03-14T07:05+05:30", 2024, 3, 14, 25500, 330, true, true},
        {"2024-03-14 07:05 -0700", 2024, 3, 14, 25500, -420, true, true},
        {"2010/03/14 2:05", 2010, 3, 14, 7500, 0, true, false},
        {"14.03.2024 24:00", 2024, 14, 3, 86400, 0, true, false},
        {"14/03/24 12:05 AM", 2024, 14, 3, 300, 0, true, false},
        {"3/14/1998 12:05:00 p.m.", 1998, 3, 14, 43500, 0, true, false},
        {"202403140705", 2024, 3, 14, 25500, 0, true, false},
    };
    for (size_t i = 0; i < sizeof good / sizeof good[0]; i++) {
        struct stv_stamp stamp;
        assert_true(stv_stamp_read(good[i].text, &stamp));
        assert_int_equal(stamp.year, good[i].year);
        assert_int_equal(stamp.first, good[i].first);
        assert_int_equal(stamp.second, good[i].second);
        assert_int_equal(stamp.second_s, good[i].second_s);
        assert_int_equal(stamp.offset_min, good[i].offset_min);
        assert_int_equal(stamp.has_time, good[i].has_time);
        assert_int_equal(stamp.has_offset, good[i].has_offset);
    }
}

/* Months by name and numbers alone: 2024-05-03 06:00 in each writing. */
static void stamps_of_other_kinds(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        bool is_utc;
    } same[] = {
        {"3-May-24 06:00", false},
        {"03 May 2024 06:00", false},
        {"May 3, 2024 6:00 AM", false},
        {"3-may-2024T06:00:00", false},
        {"45415.25", false},
        {"1714716000", true},
        {"1714716000000", true},
    };
    for (size_t i = 0; i < sizeof same / sizeof same[0]; i++) {
        struct stv_stamp stamp;
        int64_t local_s;
        assert_true(stv_stamp_read(same[i].text, &stamp));
        assert_true(stv_stamp_local_s(&stamp, STV_YEAR_FIRST, &local_s));
        assert_int_equal(local_s, 1714716000);
        assert_int_equal(stamp.has_offset, same[i].is_utc);
    }
}

static void stamps_refused(void **state)
{
    (void)state;
    static const char *const bad[] = {"",
                                      "Logger stopped",
                                      "2024-13-01",
                                      "2024-00-01",
                                      "13/13/2024",
                                      "2024-03-14 24:30",
                                      "2024-03-14 07:60",
                                      "2024-03-14 7",
                                      "2024-03-14 07:05 x",
                                      "14.03.202",
                                      "2024-03",
                                      "2024-03-14 13:05 PM",
                                      "2024.03-14",
                                      "4529.5",
                                      "20240314070",
                                      "2024-03-14 07:5",
                                      "2024-03-14T07:05+99:00"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        struct stv_stamp stamp = {.year = 7};
        if (stv_stamp_read(bad[i], &stamp))
            fail_msg("accepted \"%s\"", bad[i]);
        assert_int_equal(stamp.year, 7);
    }
}

static enum stv_status vote(const char *const *texts, size_t n, enum stv_stamp_order *order)
{
    struct stv_stamp_vote votes = {0};
    char why[200];
    for (size_t i = 0; i < n; i++) {
        struct stv_stamp stamp;
        assert_true(stv_stamp_read(texts[i], &stamp));
        stv_stamp_vote_add(&votes, &stamp);
    }
    return stv_stamp_vote_order(&votes, order, why, sizeof why);
}

static void day_or_month_first(void **state)
{
    (void)state;
    enum stv_stamp_order order;
    stv_assert_ok(vote((const char *[]){"03/04/2024", "13/04/2024"}, 2, &order));
    assert_int_equal(order, STV_DAY_FIRST);
    stv_assert_ok(vote((const char *[]){"03/04/2024", "03/14/2024"}, 2, &order));
    assert_int_equal(order, STV_MONTH_FIRST);
    /* No number above 12, but the days go on under one reading. */
    stv_assert_ok(vote((const char *[]){"03.04.2024", "04.04.2024", "05.04.2024"}, 3, &order));
    assert_int_equal(order, STV_DAY_FIRST);
    stv_assert_ok(vote((const char *[]){"04/03/2024", "04/04/2024"}, 2, &order));
    assert_int_equal(order, STV_MONTH_FIRST);
    stv_assert_ok(vote((const char *[]){"2024-04-03"}, 1, &order));
    assert_int_equal(order, STV_YEAR_FIRST);
    /* One day alone, or the first of each month: nobody can tell. */
    stv_assert_status(vote((const char *[]){"03/04/2024", "03/04/2024"}, 2, &order), STV_E_PARSE);
    stv_assert_status(vote((const char *[]){"14/04/2024", "04/15/2024"}, 2, &order), STV_E_PARSE);
}

static void days_that_do_not_exist(void **state)
{
    (void)state;
    struct stv_stamp stamp;
    int64_t local_s;
    assert_true(stv_stamp_read("29/02/2024", &stamp));
    assert_true(stv_stamp_local_s(&stamp, STV_DAY_FIRST, &local_s));
    assert_int_equal(local_s, at(2024, 2, 29, 0, 0));
    assert_false(stv_stamp_local_s(&stamp, STV_MONTH_FIRST, &local_s));
    assert_true(stv_stamp_read("2023-02-29", &stamp));
    assert_false(stv_stamp_local_s(&stamp, STV_YEAR_FIRST, &local_s));
}

/* FIPS 180-4 examples: "abc" and the empty message. */
static void check_sums(void **state)
{
    (void)state;
    char sum[STV_SHA256_TEXT];
    stv_bytes_sha256("abc", 3, sum);
    assert_string_equal(sum, "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad");
    stv_bytes_sha256("", 0, sum);
    assert_string_equal(sum, "e3b0c44298fc1c149afbf4c8996fb92427ae41e4649b934ca495991b7852b855");
    /* weather-samples/PROVENANCE.md */
    stv_assert_ok(stv_file_sha256(STV_SOURCE_DIR "/weather-samples/weather.csv", sum));
    assert_string_equal(sum, "27219f1ca8dbd94c9b6f4b9f4f52ab2f1eb33dfdcf719cd9fc6481ed50b74549");
    stv_assert_status(stv_file_sha256(STV_SOURCE_DIR "/no-such-file", sum), STV_E_IO);
    assert_string_equal(sum, "");
    stv_assert_status(stv_file_sha256(STV_SOURCE_DIR, sum), STV_E_IO);
}

static void check_text(const char *path, const char *want)
{
    char got[64] = "";
    FILE *file = fopen(path, "rb");
    assert_non_null(file);
    size_t n = fread(got, 1, sizeof got - 1, file);
    fclose(file);
    assert_int_equal(n, strlen(want));
    assert_string_equal(got, want);
}

static void files_whole_or_not_at_all(void **state)
{
    (void)state;
    struct stv_scratch scratch;
    char why[200] = "", path[300];
    struct stat found;
    stv_scratch_open(&scratch);
    const char *old = stv_scratch_text(&scratch, "answer.csv", "old and longer");
    assert_int_equal(chmod(old, 0640), 0);
    stv_assert_ok(stv_write_file(old, "new", 3, why, sizeof why));
    check_text(old, "new");
    assert_int_equal(stat(old, &found), 0);
    assert_int_equal(found.st_mode & 0777, 0640);

    /* A folder in the way, and a folder that is not there: said, and nothing is left behind,
     * for stv_scratch_close can remove the folder. */
    snprintf(path, sizeof path, "%s/folder", scratch.folder);
    assert_int_equal(mkdir(path, 0700), 0);
    stv_assert_status(stv_write_file(path, "new", 3, why, sizeof why), STV_E_IO);
    assert_non_null(strstr(why, "folder"));
    assert_int_equal(rmdir(path), 0);
    snprintf(path, sizeof path, "%s/none/answer.csv", scratch.folder);
    stv_assert_status(stv_write_file(path, "new", 3, why, sizeof why), STV_E_IO);
    stv_scratch_close(&scratch);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fixed_clocks),
        cmocka_unit_test(clocks_refused),
        cmocka_unit_test(spring_hole_and_double_hour),
        cmocka_unit_test(southern_summer),
        cmocka_unit_test(every_quarter_hour_once),
        cmocka_unit_test(stamps_read),
        cmocka_unit_test(stamps_of_other_kinds),
        cmocka_unit_test(stamps_refused),
        cmocka_unit_test(day_or_month_first),
        cmocka_unit_test(days_that_do_not_exist),
        cmocka_unit_test(check_sums),
        cmocka_unit_test(files_whole_or_not_at_all),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
