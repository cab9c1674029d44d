/* Dates as people write them: what is taken, with which width, and what is refused with which
 * words.  Days of the calendar by ISO 8601; widths are the judgement of ingest/date_typed.h. */
#include "tests/check.h"

#include "ingest/date_typed.h"
#include "model/calendar.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

struct taken {
    const char *text;
    struct stv_date day;
    double width_d;
};

static const struct taken taken[] = {
    {"2024-03-14", {2024, 3, 14}, 0},
    {"2024-3-9", {2024, 3, 9}, 0},
    {"2024/03/14", {2024, 3, 14}, 0},
    {"2024.03.14", {2024, 3, 14}, 0},
    {"14 March 2024", {2024, 3, 14}, 0},
    {"14th of March, 2024", {2024, 3, 14}, 0},
    {"March 14, 2024", {2024, 3, 14}, 0},
    {"14-Mar-2024", {2024, 3, 14}, 0},
    {"14.Mar.2024", {2024, 3, 14}, 0},
    {"Sept. 30 2023", {2023, 9, 30}, 0},
    {"29 feb 2024", {2024, 2, 29}, 0},
    {"04/04/2024", {2024, 4, 4}, 0},
    {"2019-10", {2019, 10, 16}, 15},
    {"2019/10", {2019, 10, 16}, 15},
    {"10/2019", {2019, 10, 16}, 15},
    {"10.2019", {2019, 10, 16}, 15},
    {"Oct 2019", {2019, 10, 16}, 15},
    {"oct-2019", {2019, 10, 16}, 15},
    {"OCTOBER 2019", {2019, 10, 16}, 15},
    {"October 2019, say", {2019, 10, 16}, 15},
    {"October 2019?", {2019, 10, 16}, 15},
    {"in October 2019 (probably)", {2019, 10, 16}, 15},
    {"~2019-10", {2019, 10, 16}, 30},
    {"about October 2019", {2019, 10, 16}, 30},
    {"October 2019 or so", {2019, 10, 16}, 30},
    {"2023-02", {2023, 2, 15}, 14},
    {"2019", {2019, 7, 2}, 182},
    {"c.2019", {2019, 7, 2}, 364},
    {"ca. 2020", {2020, 7, 2}, 366},
    {"about 2019-10-14", {2019, 10, 14}, 7},
    {"2019-10-14?", {2019, 10, 14}, 7},
    {"around 14 Oct 2019", {2019, 10, 14}, 7},
    {"early October 2019", {2019, 10, 6}, 5},
    {"mid-October 2019", {2019, 10, 16}, 5},
    {"end of October 2019", {2019, 10, 26}, 5},
    {"late 2019", {2019, 10, 31}, 61},
};

static void dates_that_are_taken(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_OF(taken); i++) {
        char why[256] = "";
        struct stv_date_typed got = {0, -1.0};
        enum stv_status status = stv_date_typed_read(taken[i].text, STV_ORDER_OPEN,
                                                     STV_HEMISPHERE_UNSAID, &got, why, sizeof why);
        if (status != STV_OK || got.day_d != stv_day_from_date(taken[i].day))
            print_error("%s: %s, day %ld\n", taken[i].text, why, (long)got.day_d);
        stv_assert_ok(status);
        assert_int_equal(got.day_d, stv_day_from_date(taken[i].day));
        stv_assert_close(got.width_d, taken[i].width_d, 0.0, 1e-12);
    }
}

struct refused {
    const char *text;
    enum stv_status status;
    const char *phrase;
};

static const struct refused refused[] = {
    {"03/04/2024", STV_E_PARSE, "3 April 2024 or 4 March 2024: write 2024-04-03 or 2024-03-04"},
    {"3.4.2024", STV_E_PARSE, "3 April 2024 or 4 March 2024"},
    {"03/04/24", STV_E_PARSE, "two figures"},
    {"14 Mar 24", STV_E_PARSE, "two figures"},
    {"14-Mar-24", STV_E_PARSE, "two figures"},
    {"Mar-24", STV_E_PARSE, "24 March of a year that is not said, or March of the year ..24"},
    {"March", STV_E_PARSE, "has no year"},
    {"3/12", STV_E_PARSE, "has no year"},
    {"autumn 2019", STV_E_PARSE, "equator"},
    {"Fall 2019", STV_E_PARSE, "equator"},
    {"Q4 2019", STV_E_PARSE, "quarter"},
    {"45292", STV_E_PARSE, "1 January 2024 in its usual calendar (2 January 2028"},
    {"45292.5", STV_E_PARSE, "count of days"},
    {"2024-02-30", STV_E_DOMAIN, "does not exist"},
    {"31 June 2024", STV_E_DOMAIN, "does not exist"},
    {"2019-13", STV_E_DOMAIN, "does not exist"},
    {"13/14/2024", STV_E_DOMAIN, "does not exist"},
    {"1887", STV_E_DOMAIN, "1900 to 2199"},
    {"March 2400", STV_E_DOMAIN, "1900 to 2199"},
    {"2019 10", STV_E_PARSE, "is not a date"},
    {"Oct-Nov 2019", STV_E_PARSE, "is not a date"},
    {"2019-2020", STV_E_PARSE, "is not a date"},
    {"early 14 March 2024", STV_E_PARSE, "is not a date"},
    {"14.03-2024", STV_E_PARSE, "is not a date"},
    {"20240314", STV_E_PARSE, "2024-03-14"},
    {"Marz 2024", STV_E_PARSE, "is not a date"},
    {"about", STV_E_PARSE, "is not a date"},
    {"~", STV_E_PARSE, "is not a date"},
    {"yesterday", STV_E_PARSE, "is not a date"},
    {"2024-03-14 and a day that nobody can ever write down in a cell of a table", STV_E_PARSE,
     "is not a date"},
};

static void dates_that_are_refused(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_OF(refused); i++) {
        char why[256] = "";
        struct stv_date_typed got = {12345, 3.5};
        enum stv_status status = stv_date_typed_read(refused[i].text, STV_ORDER_OPEN,
                                                     STV_HEMISPHERE_UNSAID, &got, why, sizeof why);
        if (status != refused[i].status || !strstr(why, refused[i].phrase))
            print_error("%s: %s\n", refused[i].text, why);
        stv_assert_status(status, refused[i].status);
        assert_non_null(strstr(why, refused[i].phrase));
        assert_int_equal(got.day_d, 12345); /* untouched */
    }
}

static void the_order_of_a_column(void **state)
{
    (void)state;
    char why[256];
    struct stv_date_typed got;
    assert_int_equal(stv_date_typed_order("13/04/2024"), STV_ORDER_DAY_FIRST);
    assert_int_equal(stv_date_typed_order("04.13.2024"), STV_ORDER_MONTH_FIRST);
    static const char *const open[] = {"03/04/2024",    "2024-13-04", "13/14/2024", "13/04/24",
                                       "13 April 2024", "",           "-"};
    for (size_t i = 0; i < N_OF(open); i++)
        assert_int_equal(stv_date_typed_order(open[i]), STV_ORDER_OPEN);
    stv_assert_ok(
        stv_date_typed_read("03/04/2024", STV_ORDER_DAY_FIRST, STV_NORTH, &got, why, sizeof why));
    assert_int_equal(got.day_d, stv_day_from_date((struct stv_date){2024, 4, 3}));
    stv_assert_ok(
        stv_date_typed_read("03/04/2024", STV_ORDER_MONTH_FIRST, STV_NORTH, &got, why, sizeof why));
    assert_int_equal(got.day_d, stv_day_from_date((struct stv_date){2024, 3, 4}));
    stv_assert_status(
        stv_date_typed_read("13/04/2024", STV_ORDER_BOTH, STV_NORTH, &got, why, sizeof why),
        STV_E_PARSE);
    assert_non_null(strstr(why, "write them all like 2024-03-14"));
}

/* Every month of some years: the middle lies inside, and the width reaches both ends and no day
 * further than one. */
static void a_width_covers_its_span(void **state)
{
    (void)state;
    for (int year = 1999; year <= 2004; year++)
        for (int month = 1; month <= STV_MONTHS; month++) {
            char text[16], why[256];
            struct stv_date_typed got;
            snprintf(text, sizeof text, "%d-%02d", year, month);
            stv_assert_ok(stv_date_typed_read(text, STV_ORDER_OPEN, STV_HEMISPHERE_UNSAID, &got,
                                              why, sizeof why));
            int64_t first = stv_day_from_date((struct stv_date){year, month, 1});
            int64_t last = stv_day_add_months(first, 1) - 1;
            int64_t width = (int64_t)got.width_d;
            assert_true(got.day_d - width <= first && got.day_d - width >= first - 1);
            assert_true(got.day_d + width >= last && got.day_d + width <= last + 1);
        }
}

/* Seasons of three whole months, half a year apart on the two sides; that over New Year is of two
 * years and is refused with both. */
static void a_season_is_of_a_side(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        enum stv_hemisphere side;
        struct stv_date first, last;
    } placed[] = {
        {"autumn 2019", STV_NORTH, {2019, 9, 1}, {2019, 11, 30}},
        {"fall 2019", STV_NORTH, {2019, 9, 1}, {2019, 11, 30}},
        {"Autumn of 2019", STV_SOUTH, {2019, 3, 1}, {2019, 5, 31}},
        {"spring 2020", STV_NORTH, {2020, 3, 1}, {2020, 5, 31}},
        {"2020, spring", STV_SOUTH, {2020, 9, 1}, {2020, 11, 30}},
        {"summer 2020", STV_NORTH, {2020, 6, 1}, {2020, 8, 31}},
        {"winter 2020", STV_SOUTH, {2020, 6, 1}, {2020, 8, 31}},
        {"late summer 2020", STV_NORTH, {2020, 7, 31}, {2020, 8, 31}},
    };
    struct stv_date_typed got;
    char why[256];
    for (size_t i = 0; i < N_OF(placed); i++) {
        stv_assert_ok(stv_date_typed_read(placed[i].text, STV_ORDER_OPEN, placed[i].side, &got, why,
                                          sizeof why));
        int64_t first = stv_day_from_date(placed[i].first),
                last = stv_day_from_date(placed[i].last);
        stv_assert_close((double)got.day_d, 0.5 * (double)(first + last), 0.0, 1.0);
        stv_assert_close(got.width_d, 0.5 * (double)(last - first + 1), 0.0, 0.5);
    }
    static const struct {
        const char *text;
        enum stv_hemisphere side;
        const char *phrase;
    } unplaced[] = {
        {"winter 2019", STV_NORTH, "December 2018 to February 2019 or December 2019 to"},
        {"summer 2019", STV_SOUTH, "December 2018 to February 2019 or December 2019 to"},
        {"autumn 2019", STV_HEMISPHERE_UNSAID, "half a year apart"},
        {"autumn", STV_NORTH, "is not a date"},
        {"3 autumn 2019", STV_NORTH, "is not a date"},
        {"spring autumn 2019", STV_NORTH, "is not a date"},
    };
    for (size_t i = 0; i < N_OF(unplaced); i++) {
        stv_assert_status(stv_date_typed_read(unplaced[i].text, STV_ORDER_OPEN, unplaced[i].side,
                                              &got, why, sizeof why),
                          STV_E_PARSE);
        assert_non_null(strstr(why, unplaced[i].phrase));
    }
}

static void words_of_a_day(void **state)
{
    (void)state;
    char words[STV_DATE_WORDS];
    stv_date_words(stv_day_from_date((struct stv_date){2019, 9, 5}), words, sizeof words);
    assert_string_equal(words, "5 September 2019");
    assert_int_equal(stv_month_from_name("sept", 4), 9);
    assert_int_equal(stv_month_from_name("Ma", 2), 0);
    assert_int_equal(stv_month_from_name("marzo", 5), 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(dates_that_are_taken),  cmocka_unit_test(dates_that_are_refused),
        cmocka_unit_test(the_order_of_a_column), cmocka_unit_test(a_width_covers_its_span),
        cmocka_unit_test(a_season_is_of_a_side), cmocka_unit_test(words_of_a_day),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
