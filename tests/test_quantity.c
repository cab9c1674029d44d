/* Numbers with units, dates, counts and nearest words: what is read, and what is refused with
 * which advice. */
#include "tests/check.h"

#include "ingest/quantity.h"
#include "model/calendar.h"

#include <string.h>

#define WHY 192

static void assert_reads(const char *text, enum stv_dimension dimension, const char *unit,
                         double want)
{
    char why[WHY] = "";
    double got = 0.0;
    enum stv_status status = stv_quantity_parse(text, dimension, unit, &got, why, sizeof why);
    if (status != STV_OK)
        print_error("\"%s\": %s\n", text, why);
    stv_assert_ok(status);
    stv_assert_close(got, want, 1e-12, 1e-12);
}

/* Refused with a status, NaN, and advice that holds a phrase. */
static void assert_refuses(const char *text, enum stv_dimension dimension, const char *unit,
                           enum stv_status want, const char *phrase)
{
    char why[WHY] = "";
    double got = 1.0;
    enum stv_status status = stv_quantity_parse(text, dimension, unit, &got, why, sizeof why);
    if (status != want || !strstr(why, phrase))
        print_error("\"%s\": %s\n", text, why);
    stv_assert_status(status, want);
    stv_assert_close(got, NAN, 0.0, 0.0);
    assert_non_null(strstr(why, phrase));
}

static void reads_units(void **state)
{
    (void)state;
    /* Exact factors: yard and pound agreement 1959, US gallon 231 in3, UK gallon 4.54609 L. */
    assert_reads("476 lb", STV_DIM_MASS, NULL, 476 * 0.45359237);
    assert_reads("53 US gal", STV_DIM_VOLUME, NULL, 53 * 231 * 2.54 * 2.54 * 2.54 / 1000.0);
    assert_reads("40 UK gal", STV_DIM_VOLUME, NULL, 181.8436);
    assert_reads("195.5L", STV_DIM_VOLUME, NULL, 195.5);
    assert_reads(" 70 cl ", STV_DIM_VOLUME, NULL, 0.7);
    assert_reads("84 F", STV_DIM_TEMPERATURE, NULL, (84.0 - 32.0) / 1.8);
    assert_reads("-40 °F", STV_DIM_TEMPERATURE, NULL, -40.0);
    assert_reads("300 K", STV_DIM_TEMPERATURE, NULL, 26.85);
    assert_reads("-0.9 F", STV_DIM_TEMP_STEP, NULL, -0.5);
    assert_reads("60 %vol", STV_DIM_STRENGTH, NULL, 0.60);
    assert_reads("60.25 %  vol", STV_DIM_STRENGTH, NULL, 0.6025);
    assert_reads("2 %", STV_DIM_FRACTION, NULL, 0.02);
    assert_reads("0.35", STV_DIM_FRACTION, NULL, 0.35);
    assert_reads("36 months", STV_DIM_TIME, NULL, 3 * 365.25);
    assert_reads("8 y", STV_DIM_TIME, NULL, 8 * 365.25);
    assert_reads("6 h", STV_DIM_TIME, NULL, 0.25);
    assert_reads("101.7 W", STV_DIM_LONGITUDE, NULL, -101.7);
    assert_reads("33.5S", STV_DIM_LATITUDE, NULL, -33.5);
    assert_reads("29.92 inHg", STV_DIM_PRESSURE, NULL, 29.92 * 3386.389);
    assert_reads("36 km/h", STV_DIM_SPEED, NULL, 10.0);
    assert_reads("5 1/h", STV_DIM_AIR_CHANGE, NULL, 5.0);
    assert_reads("25 mm", STV_DIM_LENGTH, NULL, 0.025);
    assert_reads("5.95e-9", STV_DIM_NUMBER, NULL, 5.95e-9);
    assert_reads("0", STV_DIM_NUMBER, NULL, 0.0);
    assert_reads("0.13 W/mK", STV_DIM_CONDUCTIVITY, NULL, 0.13);
}

static void default_unit_is_for_bare_numbers(void **state)
{
    (void)state;
    assert_reads("195", STV_DIM_VOLUME, "L", 195.0);
    assert_reads("50 US gal", STV_DIM_VOLUME, "L", 50 * 3.785411784);
    assert_reads("-101.7", STV_DIM_LONGITUDE, "deg", -101.7);
    assert_refuses("195 kg", STV_DIM_VOLUME, "L", STV_E_DOMAIN, "unit of mass");
}

static void strengths_on_another_basis(void **state)
{
    (void)state;
    char why[WHY];
    double got = 0.0;
    /* 27 CFR 30.11: proof is twice the per cent by volume at 60 F; at 20 C the same spirit reads
     * a little more (OIML R 22 gives 50.06 %vol for 100 proof). */
    stv_assert_ok(
        stv_quantity_parse("100 US proof", STV_DIM_STRENGTH, NULL, &got, why, sizeof why));
    stv_assert_close(got, 0.5006, 0.0, 0.0002);
    /* UK proof spirit is 57.1 %vol (Customs and Excise Act 1952: 12/13 of the weight of water at
     * 51 F). */
    stv_assert_ok(
        stv_quantity_parse("100 UK proof", STV_DIM_STRENGTH, NULL, &got, why, sizeof why));
    stv_assert_close(got, 0.571, 0.0, 0.001);
    /* OIML R 22: 42.4257 % by mass is 50 %vol. */
    stv_assert_ok(
        stv_quantity_parse("42.4257 %mass", STV_DIM_STRENGTH, NULL, &got, why, sizeof why));
    stv_assert_close(got, 0.50, 0.0, 1e-5);
}

static void refuses_with_advice(void **state)
{
    (void)state;
    assert_refuses("124.6 proof", STV_DIM_STRENGTH, NULL, STV_E_PARSE, "US proof or UK proof");
    assert_refuses("60 %", STV_DIM_STRENGTH, NULL, STV_E_PARSE, "%vol, or %mass");
    assert_refuses("60 kg", STV_DIM_STRENGTH, NULL, STV_E_DOMAIN, "unit of mass");
    assert_refuses("60", STV_DIM_STRENGTH, NULL, STV_E_PARSE, "no unit of strength");
    assert_refuses("195", STV_DIM_VOLUME, NULL, STV_E_PARSE, "no unit of volume");
    assert_refuses("50 gal", STV_DIM_VOLUME, NULL, STV_E_PARSE, "US gal or UK gal");
    assert_refuses("195 litrs", STV_DIM_VOLUME, NULL, STV_E_PARSE, "did you mean \"litres\"");
    assert_refuses("195 L or so", STV_DIM_VOLUME, NULL, STV_E_PARSE, "unknown unit");
    assert_refuses("195 L and then a great deal more of it", STV_DIM_VOLUME, NULL, STV_E_PARSE,
                   "goes on after the number");
    assert_refuses("0,5 L", STV_DIM_VOLUME, NULL, STV_E_PARSE, "write \"0.5 L\" with a point");
    assert_refuses("195,5 L", STV_DIM_VOLUME, NULL, STV_E_PARSE, "write \"195.5 L\"");
    assert_refuses("1,200 L", STV_DIM_VOLUME, NULL, STV_E_PARSE, "\"1.200 L\" or \"1200 L\"");
    assert_refuses("nan", STV_DIM_NUMBER, NULL, STV_E_PARSE, "not a number");
    assert_refuses("inf", STV_DIM_NUMBER, NULL, STV_E_PARSE, "not a number");
    assert_refuses("-inf L", STV_DIM_VOLUME, NULL, STV_E_PARSE, "not a number");
    assert_refuses("0x1F", STV_DIM_NUMBER, NULL, STV_E_PARSE, "hexadecimal");
    assert_refuses("020", STV_DIM_NUMBER, NULL, STV_E_PARSE, "starts with a zero");
    assert_refuses("1.2.3", STV_DIM_NUMBER, NULL, STV_E_PARSE, "more than one point");
    assert_refuses("1e999", STV_DIM_NUMBER, NULL, STV_E_DOMAIN, "too large");
    assert_refuses("5 m", STV_DIM_NUMBER, NULL, STV_E_DOMAIN, "plain number");
    assert_refuses("", STV_DIM_NUMBER, NULL, STV_E_PARSE, "not a number");
    assert_refuses("--5", STV_DIM_NUMBER, NULL, STV_E_PARSE, "not a number");
    assert_refuses("35.2 E", STV_DIM_LATITUDE, NULL, STV_E_DOMAIN, "35.2 N");
    assert_refuses("-35.2 S", STV_DIM_LATITUDE, NULL, STV_E_PARSE, "only one");
}

static void refuses_what_cannot_be(void **state)
{
    (void)state;
    assert_refuses("110 %vol", STV_DIM_STRENGTH, NULL, STV_E_DOMAIN, "cannot be a strength");
    assert_refuses("-1 %vol", STV_DIM_STRENGTH, NULL, STV_E_DOMAIN, "cannot be");
    assert_refuses("230 US proof", STV_DIM_STRENGTH, NULL, STV_E_DOMAIN, "cannot be");
    assert_refuses("130 %mass", STV_DIM_STRENGTH, NULL, STV_E_DOMAIN, "cannot be");
    assert_refuses("-274 C", STV_DIM_TEMPERATURE, NULL, STV_E_DOMAIN, "cannot be");
    assert_refuses("-5 L", STV_DIM_VOLUME, NULL, STV_E_DOMAIN, "cannot be a volume");
    assert_refuses("91 N", STV_DIM_LATITUDE, NULL, STV_E_DOMAIN, "cannot be a latitude");
    assert_refuses("5", STV_DIM_FRACTION, NULL, STV_E_DOMAIN, "write 5 %");
}

static void long_and_hostile_texts(void **state)
{
    (void)state;
    char text[5000], why[32];
    double got = 0.0;
    memset(text, '9', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    stv_assert_status(stv_quantity_parse(text, STV_DIM_NUMBER, NULL, &got, why, sizeof why),
                      STV_E_PARSE);
    memset(text, ',', sizeof text - 1);
    text[0] = '1';
    stv_assert_status(stv_quantity_parse(text, STV_DIM_NUMBER, NULL, &got, why, sizeof why),
                      STV_E_PARSE);
    assert_true(strlen(why) < sizeof why);
}

static void dates(void **state)
{
    (void)state;
    char why[WHY];
    int64_t day_d = -1;
    stv_assert_ok(stv_date_parse("2024-02-29", &day_d, why, sizeof why));
    assert_int_equal(day_d, stv_day_from_date((struct stv_date){2024, 2, 29}));
    stv_assert_status(stv_date_parse("2024-02-30", &day_d, why, sizeof why), STV_E_DOMAIN);
    assert_non_null(strstr(why, "does not exist"));
    stv_assert_status(stv_date_parse("2023-02-29", &day_d, why, sizeof why), STV_E_DOMAIN);
    stv_assert_status(stv_date_parse("0224-02-29", &day_d, why, sizeof why), STV_E_DOMAIN);
    static const char *const bad[] = {"2024-3-14", "14.3.2024", "3/14/2024",   "2024-03-14 ",
                                      "20240314",  "",          "2024-03-14T", "2024-0a-14"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        stv_assert_status(stv_date_parse(bad[i], &day_d, why, sizeof why), STV_E_PARSE);
    assert_int_equal(day_d, stv_day_from_date((struct stv_date){2024, 2, 29}));
}

static void counts(void **state)
{
    (void)state;
    static const size_t range[2] = {1, 32};
    char why[WHY];
    size_t got = 7;
    stv_assert_ok(stv_count_parse("32", range, &got, why, sizeof why));
    assert_int_equal(got, 32);
    stv_assert_status(stv_count_parse("33", range, &got, why, sizeof why), STV_E_DOMAIN);
    stv_assert_status(stv_count_parse("0", range, &got, why, sizeof why), STV_E_DOMAIN);
    stv_assert_status(stv_count_parse("99999999999999999999", range, &got, why, sizeof why),
                      STV_E_DOMAIN);
    static const char *const bad[] = {"", "-1", "+3", "3.0", "3 ", "three", "03", "0x3"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        stv_assert_status(stv_count_parse(bad[i], range, &got, why, sizeof why), STV_E_PARSE);
    assert_int_equal(got, 32);
}

static void nearest_words(void **state)
{
    (void)state;
    static const char *const words[] = {"tiers", "tier_height", "depth", "bays"};
    assert_string_equal(stv_nearest_word("teirs", words, 4), "tiers");
    assert_string_equal(stv_nearest_word("tierheight", words, 4), "tier_height");
    assert_string_equal(stv_nearest_word("DEPTH", words, 4), "depth");
    assert_string_equal(stv_nearest_word("bay", words, 4), "bays");
    assert_null(stv_nearest_word("colour", words, 4));
    assert_null(stv_nearest_word("", words, 4));
    assert_null(stv_nearest_word("x", (const char *const[]){"y"}, 1));
    char text[300];
    memset(text, 'a', sizeof text - 1);
    text[sizeof text - 1] = '\0';
    assert_null(stv_nearest_word(text, words, 4));
    char why[WHY];
    stv_word_advice("zzzz", words, 4, why, sizeof why);
    assert_string_equal(why, "is not known here; write tiers, tier_height, depth or bays");
    char tiny[24];
    stv_word_advice("zzzz", words, 4, tiny, sizeof tiny);
    assert_true(strlen(tiny) < sizeof tiny);
}

static void names_and_ranges(void **state)
{
    (void)state;
    for (int i = 0; i < STV_DIM_N; i++)
        assert_true(strlen(stv_dimension_name((enum stv_dimension)i)) > 0);
    assert_string_equal(stv_dimension_name(STV_DIM_N), "");
    char text[96];
    stv_range_text(STV_DIM_STRENGTH, 0.1, 0.972, text, sizeof text);
    assert_string_equal(text, "10 to 97.2 %vol");
    stv_range_text(STV_DIM_LENGTH, 1.0, HUGE_VAL, text, sizeof text);
    assert_string_equal(text, "what is possible: at least 1 m");
    stv_range_text(STV_DIM_TIME, -HUGE_VAL, 365.25, text, sizeof text);
    assert_string_equal(text, "what is possible: at most 1 y");
    char why[WHY];
    assert_true(stv_unit_fits("US proof", STV_DIM_STRENGTH, why, sizeof why));
    assert_false(stv_unit_fits("kg", STV_DIM_STRENGTH, why, sizeof why));
    assert_false(stv_unit_fits("a very long thing that is no unit", STV_DIM_MASS, why, sizeof why));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_units),
        cmocka_unit_test(default_unit_is_for_bare_numbers),
        cmocka_unit_test(strengths_on_another_basis),
        cmocka_unit_test(refuses_with_advice),
        cmocka_unit_test(refuses_what_cannot_be),
        cmocka_unit_test(long_and_hostile_texts),
        cmocka_unit_test(dates),
        cmocka_unit_test(counts),
        cmocka_unit_test(nearest_words),
        cmocka_unit_test(names_and_ranges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
