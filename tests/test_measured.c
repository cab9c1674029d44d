/* Values with their errors, and sums of them: what is read, how errors combine, and what is
 * refused with which advice. */
#include "tests/check.h"

#include "ingest/measured.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define WHY 256
#define LB_KG 0.45359237 /* exact, international pound 1959 */
#define UNKNOWN ((double)NAN)

struct good {
    const char *text;
    enum stv_dimension dimension;
    const char *unit;
    double value, error;
};

static void assert_reads(const struct good *good)
{
    char why[WHY] = "";
    struct stv_measured got, sum;
    enum stv_status status =
        stv_measured_parse(good->text, good->dimension, good->unit, &got, why, sizeof why);
    if (status != STV_OK)
        print_error("\"%s\": %s\n", good->text, why);
    stv_assert_ok(status);
    stv_assert_close(got.value, good->value, 1e-12, 1e-12);
    stv_assert_close(got.error, good->error, 1e-9, 0.0);
    assert_int_equal(got.n, 1);
    /* One value is a sum of one. */
    stv_assert_ok(
        stv_measured_sum_parse(good->text, good->dimension, good->unit, &sum, why, sizeof why));
    stv_assert_close(sum.value, got.value, 0.0, 0.0);
    stv_assert_close(sum.error, got.error, 0.0, 0.0);
    assert_int_equal(sum.n, 1);
}

static void values_with_their_errors(void **state)
{
    (void)state;
    static const struct good goods[] = {
        {"84 F +- 1 F", STV_DIM_TEMPERATURE, NULL, 52.0 / 1.8, 1.0 / 1.8},
        {"84 F +- 1", STV_DIM_TEMPERATURE, NULL, 52.0 / 1.8, 1.0 / 1.8},
        {"84 F", STV_DIM_TEMPERATURE, NULL, 52.0 / 1.8, UNKNOWN},
        {"28.9 C +- 0.5 K", STV_DIM_TEMPERATURE, NULL, 28.9, 0.5},
        {"28.9 C +- 0.9 F", STV_DIM_TEMPERATURE, NULL, 28.9, 0.5},
        {"28.9 °C \xC2\xB1 0.5 °C", STV_DIM_TEMPERATURE, NULL, 28.9, 0.5},
        {"-4.5 C +- 0.3", STV_DIM_TEMPERATURE, NULL, -4.5, 0.3},
        {"300.15 K +- 0.2", STV_DIM_TEMPERATURE, NULL, 27.0, 0.2},
        {"476 lb \xC2\xB1 0.5", STV_DIM_MASS, NULL, 476 * LB_KG, 0.5 * LB_KG},
        {"476 lb +- 200 g", STV_DIM_MASS, NULL, 476 * LB_KG, 0.2},
        {"476lb+-0.5lb", STV_DIM_MASS, NULL, 476 * LB_KG, 0.5 * LB_KG},
        {"  476 lb\t+-\t0.5  ", STV_DIM_MASS, NULL, 476 * LB_KG, 0.5 * LB_KG},
        {"4.76e2 lb +- 5e-1", STV_DIM_MASS, NULL, 476 * LB_KG, 0.5 * LB_KG},
        {"476 lb +- 0", STV_DIM_MASS, NULL, 476 * LB_KG, 0.0},
        {"57.2 %vol +- 0.1 %vol", STV_DIM_STRENGTH, NULL, 0.572, 0.001},
        {"57.2 % vol +- 0.1 %vol", STV_DIM_STRENGTH, NULL, 0.572, 0.001},
        {"57.2 %vol \xC2\xB1 0.1", STV_DIM_STRENGTH, NULL, 0.572, 0.001},
        {"915.2 kg/m3 +- 0.1", STV_DIM_DENSITY, NULL, 915.2, 0.1},
        {"0.9152 g/cm3 +- 0.1 kg/m3", STV_DIM_DENSITY, NULL, 915.2, 0.1},
        {"41.3 cm +- 2 mm", STV_DIM_LENGTH, NULL, 0.413, 0.002},
        {"2.5 % +- 0.5 %", STV_DIM_FRACTION, NULL, 0.025, 0.005},
        {"12.7 +- 0.4", STV_DIM_NUMBER, NULL, 12.7, 0.4},
    };
    for (size_t i = 0; i < N_OF(goods); i++)
        assert_reads(&goods[i]);
}

static void a_default_unit_is_for_both(void **state)
{
    (void)state;
    static const struct good goods[] = {
        {"84 +- 1", STV_DIM_TEMPERATURE, "F", 52.0 / 1.8, 1.0 / 1.8},
        {"84 +- 0.5 K", STV_DIM_TEMPERATURE, "F", 52.0 / 1.8, 0.5},
        {"28.9 C +- 0.5", STV_DIM_TEMPERATURE, "F", 28.9, 0.5},
        {"476 +- 0.5", STV_DIM_MASS, "lb", 476 * LB_KG, 0.5 * LB_KG},
        {"476", STV_DIM_MASS, "lb", 476 * LB_KG, UNKNOWN},
        {"216 kg +- 0.5", STV_DIM_MASS, "lb", 216.0, 0.5},
        {"57.2 +- 0.1", STV_DIM_STRENGTH, "%vol", 0.572, 0.001},
        {"57.2 +- 0.1 %vol", STV_DIM_STRENGTH, "%vol", 0.572, 0.001},
    };
    for (size_t i = 0; i < N_OF(goods); i++)
        assert_reads(&goods[i]);
}

/* 27 CFR 30.11: proof is twice the per cent by volume at 60 F.  By OIML R 22, 62.0 and 62.5 %vol at
 * 20 C are 123.894 and 124.895 US proof, and 52 and 55 %vol are 44.3126 and 47.1847 %mass. */
static void strengths_on_another_basis(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        double value, error;
    } goods[] = {
        {"124.6 US proof +- 0.2", 0.62353, 0.2 * 0.005 / 1.001},
        {"124.6 US proof +- 0.2 US proof", 0.62353, 0.2 * 0.005 / 1.001},
        {"124.6 US proof +- 0.2 proof US", 0.62353, 0.2 * 0.005 / 1.001},
        {"45.7 %mass +- 1.4", 0.53454, 1.4 * 0.03 / 2.8721},
        {"100 UK proof +- 2", 1.0 / 1.75131, 0.02 / 1.75131},
    };
    for (size_t i = 0; i < N_OF(goods); i++) {
        char why[WHY];
        struct stv_measured got;
        stv_assert_ok(
            stv_measured_parse(goods[i].text, STV_DIM_STRENGTH, NULL, &got, why, sizeof why));
        stv_assert_close(got.value, goods[i].value, 0.0, 1e-4);
        stv_assert_close(got.error, goods[i].error, 2e-3, 0.0);
    }
}

/* Where one side would be no strength, it is taken as far off as the other. */
static void an_error_at_the_end_of_the_scale(void **state)
{
    (void)state;
    static const struct good goods[] = {
        {"0.1 %vol +- 0.3", STV_DIM_STRENGTH, NULL, 0.001, 0.003},
        {"99.9 %vol +- 0.3", STV_DIM_STRENGTH, NULL, 0.999, 0.003},
        {"0 %vol +- 0.3", STV_DIM_STRENGTH, NULL, 0.0, 0.003},
    };
    for (size_t i = 0; i < N_OF(goods); i++)
        assert_reads(&goods[i]);
}

struct sum {
    const char *text, *unit;
    double value, error;
    size_t n;
};

static void sums(void **state)
{
    (void)state;
    static const struct sum cases[] = {
        {"96.4 kg + 120.2 kg", NULL, 216.6, UNKNOWN, 2},
        {"3 x 45 kg", NULL, 135.0, UNKNOWN, 3},
        {"3x45 kg", NULL, 135.0, UNKNOWN, 3},
        {" 3 X 45 kg ", NULL, 135.0, UNKNOWN, 3},
        {"99 x 1.5", "kg", 148.5, UNKNOWN, 99},
        {"1 x 45 kg", NULL, 45.0, UNKNOWN, 1},
        {"96.4 + 265 lb", "kg", 96.4 + 265 * LB_KG, UNKNOWN, 2},
        {"96.4 kg +- 0.3 + 120.2 kg +- 0.4", NULL, 216.6, 0.5, 2},
        {"96.4 kg \xC2\xB1 0.3 + 120.2 kg", NULL, 216.6, UNKNOWN, 2},
        {"96.4 kg + 120.2 kg \xC2\xB1 0.3", NULL, 216.6, UNKNOWN, 2},
        {"4 x 45 kg +- 0.25 kg", NULL, 180.0, 0.5, 4},
        {"4 x 45 kg +- 0.4 + 17.5 kg +- 0.6", NULL, 197.5, 1.0, 5},
        {"2 x 45 kg + 3 x 20.5 kg", NULL, 151.5, UNKNOWN, 5},
    };
    for (size_t i = 0; i < N_OF(cases); i++) {
        char why[WHY] = "";
        struct stv_measured got;
        enum stv_status status = stv_measured_sum_parse(cases[i].text, STV_DIM_MASS, cases[i].unit,
                                                        &got, why, sizeof why);
        if (status != STV_OK)
            print_error("\"%s\": %s\n", cases[i].text, why);
        stv_assert_ok(status);
        stv_assert_close(got.value, cases[i].value, 1e-12, 0.0);
        stv_assert_close(got.error, cases[i].error, 1e-12, 0.0);
        assert_int_equal(got.n, cases[i].n);
    }
}

static void sums_are_added(void **state)
{
    (void)state;
    struct stv_measured sum = {12.5, 0.6, 2}, unsaid = sum;
    stv_measured_add(&sum, (struct stv_measured){7.25, 0.8, 3});
    stv_assert_close(sum.value, 19.75, 1e-15, 0.0);
    stv_assert_close(sum.error, 1.0, 1e-15, 0.0);
    assert_int_equal(sum.n, 5);
    stv_measured_add(&unsaid, (struct stv_measured){7.25, UNKNOWN, 1});
    stv_assert_close(unsaid.value, 19.75, 1e-15, 0.0);
    stv_assert_close(unsaid.error, UNKNOWN, 0.0, 0.0);
}

struct bad {
    const char *text;
    enum stv_dimension dimension;
    enum stv_status want;
    const char *phrase;
};

static void assert_refuses(const struct bad *bad, enum stv_status got, struct stv_measured value,
                           const char *why)
{
    if (got != bad->want || !strstr(why, bad->phrase))
        print_error("\"%s\": %s\n", bad->text, why);
    stv_assert_status(got, bad->want);
    assert_non_null(strstr(why, bad->phrase));
    stv_assert_close(value.value, UNKNOWN, 0.0, 0.0);
    stv_assert_close(value.error, UNKNOWN, 0.0, 0.0);
}

static void values_are_refused_with_advice(void **state)
{
    (void)state;
    static const struct bad bads[] = {
        {"84 F +- -1 F", STV_DIM_TEMPERATURE, STV_E_DOMAIN, "has a negative error"},
        {"476 lb +- -0.5", STV_DIM_MASS, STV_E_DOMAIN, "has a negative error"},
        {"476 lb \xC2\xB1 -0.5", STV_DIM_MASS, STV_E_DOMAIN, "has a negative error"},
        {"57.2 %vol +- -0.1 %vol", STV_DIM_STRENGTH, STV_E_DOMAIN, "has a negative error"},
        {"57.2 %vol +- 0.2 US proof", STV_DIM_STRENGTH, STV_E_PARSE, "write both in %vol"},
        {"124.6 US proof +- 0.1 %vol", STV_DIM_STRENGTH, STV_E_PARSE, "write both in US proof"},
        {"124.6 US proof +- 0.1 UK proof", STV_DIM_STRENGTH, STV_E_PARSE, "write both in US proof"},
        {"52 %mass +- 0.1 %vol", STV_DIM_STRENGTH, STV_E_PARSE, "write both in %mass"},
        {"124.6 proof", STV_DIM_STRENGTH, STV_E_PARSE, "US proof or UK proof"},
        {"124.6 proof +- 0.2", STV_DIM_STRENGTH, STV_E_PARSE, "US proof or UK proof"},
        {"124.6 US proof +- 0.2 proof", STV_DIM_STRENGTH, STV_E_PARSE, "US proof or UK proof"},
        {"57.2 +- 0.1", STV_DIM_STRENGTH, STV_E_PARSE, "no unit of strength"},
        {"57.2 +- 0.1 %vol", STV_DIM_STRENGTH, STV_E_PARSE, "no unit of strength"},
        {"476 +- 0.5 lb", STV_DIM_MASS, STV_E_PARSE, "no unit of mass"},
        {"476", STV_DIM_MASS, STV_E_PARSE, "no unit of mass"},
        {"84", STV_DIM_TEMPERATURE, STV_E_PARSE, "no unit of temperature"},
        {"57.2 % +- 0.1", STV_DIM_STRENGTH, STV_E_PARSE, "%vol, or %mass"},
        {"57,2 %vol +- 0.1", STV_DIM_STRENGTH, STV_E_PARSE, "write \"57.2 %vol\" with a point"},
        {"57.2 %vol +- 0,1", STV_DIM_STRENGTH, STV_E_PARSE, "write \"0.1\" with a point"},
        {"28,9 C", STV_DIM_TEMPERATURE, STV_E_PARSE, "write \"28.9 C\" with a point"},
        {"28.9 C +- 0,5 K", STV_DIM_TEMPERATURE, STV_E_PARSE, "write \"0.5 K\" with a point"},
        {"476 lb +- 0.5 L", STV_DIM_MASS, STV_E_DOMAIN, "a unit of volume"},
        {"84 F +- 1 kg", STV_DIM_TEMPERATURE, STV_E_DOMAIN, "a temperature difference is wanted"},
        {"57.2 %vol +- 0.1 kg", STV_DIM_STRENGTH, STV_E_DOMAIN, "a unit of mass"},
        {"476 lb +-", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {"57.2 %vol +-", STV_DIM_STRENGTH, STV_E_PARSE, "is not a number"},
        {"57.2 %vol +- nan", STV_DIM_STRENGTH, STV_E_PARSE, "is not a number"},
        {"476 lb +- inf", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {"+- 0.5 lb", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {"", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {"476 lb +- 0.5 +- 0.5", STV_DIM_MASS, STV_E_PARSE, "unknown unit \"+- 0.5\""},
        {"57.2 %vol +- 0.1 +- 0.1", STV_DIM_STRENGTH, STV_E_PARSE, "unknown unit \"+- 0.1\""},
        {"476 lb +/- 0.5", STV_DIM_MASS, STV_E_PARSE, "unknown unit"},
        {"476 lb +- 1e999", STV_DIM_MASS, STV_E_DOMAIN, "too large to be meant"},
        {"110 %vol +- 1", STV_DIM_STRENGTH, STV_E_DOMAIN, "cannot be a strength"},
        {"57.2 %vol +- 60", STV_DIM_STRENGTH, STV_E_DOMAIN, "error larger than its value"},
        {"57.2 %vol +- 110", STV_DIM_STRENGTH, STV_E_DOMAIN, "cannot be a strength"},
        {"-5 kg +- 1 kg", STV_DIM_MASS, STV_E_DOMAIN, "cannot be a mass"},
    };
    for (size_t i = 0; i < N_OF(bads); i++) {
        char why[WHY] = "";
        struct stv_measured got = {1.0, 1.0, 1};
        enum stv_status status =
            stv_measured_parse(bads[i].text, bads[i].dimension, NULL, &got, why, sizeof why);
        assert_refuses(&bads[i], status, got, why);
    }
}

static void sums_are_refused_with_advice(void **state)
{
    (void)state;
    static const struct bad bads[] = {
        {"100 x 45 kg", STV_DIM_MASS, STV_E_DOMAIN, "counts more than 99 times"},
        {"99999999999999999999999 x 45 kg", STV_DIM_MASS, STV_E_DOMAIN, "more than 99"},
        {"0 x 45 kg", STV_DIM_MASS, STV_E_PARSE, "unknown unit \"x 45 kg\""},
        {"0x45 kg", STV_DIM_MASS, STV_E_PARSE, "hexadecimal"},
        {"03 x 45 kg", STV_DIM_MASS, STV_E_PARSE, "starts with a zero"},
        {"-3 x 45 kg", STV_DIM_MASS, STV_E_PARSE, "unknown unit \"x 45 kg\""},
        {"1.5 x 45 kg", STV_DIM_MASS, STV_E_PARSE, "unknown unit \"x 45 kg\""},
        {"3 x 2 x 45 kg", STV_DIM_MASS, STV_E_PARSE, "unknown unit \"x 45 kg\""},
        {"3 x", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {"96.4 kg + ", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {" + 96.4 kg", STV_DIM_MASS, STV_E_PARSE, "is not a number"},
        {"96.4 kg +120.2 kg", STV_DIM_MASS, STV_E_PARSE, "unknown unit"},
        {"96.4 kg + 120.2", STV_DIM_MASS, STV_E_PARSE, "no unit of mass"},
        {"96.4 kg + 120,2 kg", STV_DIM_MASS, STV_E_PARSE, "write \"120.2 kg\" with a point"},
        {"96.4 kg + 120.2 L", STV_DIM_MASS, STV_E_DOMAIN, "a unit of volume"},
        {"96.4 kg +- 0.1 + 120.2 kg +- -0.1", STV_DIM_MASS, STV_E_DOMAIN, "a negative error"},
    };
    for (size_t i = 0; i < N_OF(bads); i++) {
        char why[WHY] = "";
        struct stv_measured got = {1.0, 1.0, 1};
        enum stv_status status =
            stv_measured_sum_parse(bads[i].text, bads[i].dimension, NULL, &got, why, sizeof why);
        assert_refuses(&bads[i], status, got, why);
        assert_int_equal(got.n, 0);
    }
}

static void assert_too_long(const char *text)
{
    char why[WHY] = "", little[16];
    struct stv_measured got = {1.0, 1.0, 1};
    const struct bad bad = {text, STV_DIM_MASS, STV_E_PARSE, "is too long to be meant"};
    enum stv_status status =
        stv_measured_sum_parse(text, STV_DIM_MASS, NULL, &got, why, sizeof why);
    assert_refuses(&bad, status, got, why);
    stv_assert_status(stv_measured_sum_parse(text, STV_DIM_MASS, NULL, &got, little, sizeof little),
                      STV_E_PARSE);
    assert_true(strlen(little) < sizeof little);
}

/* Long in the value, in the error, and in a piece of a sum. */
static void long_texts(void **state)
{
    (void)state;
    char tail[400], text[1000];
    memset(tail, 'g', sizeof tail - 1);
    tail[sizeof tail - 1] = '\0';
    snprintf(text, sizeof text, "5 k%s +- 1 kg", tail);
    assert_too_long(text);
    snprintf(text, sizeof text, "5 kg +- 1 k%s", tail);
    assert_too_long(text);
    snprintf(text, sizeof text, "5 kg + 5 k%s", tail);
    assert_too_long(text);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(values_with_their_errors),
        cmocka_unit_test(a_default_unit_is_for_both),
        cmocka_unit_test(strengths_on_another_basis),
        cmocka_unit_test(an_error_at_the_end_of_the_scale),
        cmocka_unit_test(sums),
        cmocka_unit_test(sums_are_added),
        cmocka_unit_test(values_are_refused_with_advice),
        cmocka_unit_test(sums_are_refused_with_advice),
        cmocka_unit_test(long_texts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
