/* Casks to be filled, as typed. */
#include "ingest/fill_words.h"
#include "tests/check.h"
#include "tests/usual.h"

#include <string.h>

static struct stv_fill_words read_of(const char *text)
{
    struct stv_fill_words words;
    char why[256] = "";
    enum stv_status status = stv_fill_words_read(text, &usual, &words, why, sizeof why);
    if (status != STV_OK)
        print_error("%s: %s\n", text, why);
    stv_assert_ok(status);
    return words;
}

static void reads_what_people_type(void **state)
{
    (void)state;
    struct stv_fill_words words = read_of("12 x new oak 200 L, 195 L at 59.2 %");
    assert_int_equal(words.n_casks, 12);
    assert_int_equal(words.cask.history, STV_WOOD_NEW);
    assert_string_equal(words.cask.kind_name, "new oak 200 L");
    stv_assert_close(words.cask.geometry.capacity_l, 200.0, 0.0, 1e-9);
    stv_assert_close(words.litres_l, 195.0, 0.0, 1e-9);
    assert_int_equal(words.n_strengths, 1);
    stv_assert_close(words.strengths_frac[0], 0.592, 0.0, 1e-9);
    stv_assert_close(words.plan_y, NAN, 0.0, 0.0);
    words = read_of("40 x first-fill 200 L, 194 L at 60 %vol, plan 4 y");
    assert_string_equal(words.cask.kind_name, "first-fill bourbon 200 L");
    assert_int_equal(words.cask.history, STV_WOOD_HELD_SPIRIT);
    stv_assert_close(words.plan_y, 4.0, 1e-9, 0.0);
    words = read_of("20 x refill hogsheads at 63.5 %vol, plan 96 months");
    assert_string_equal(words.cask.kind_name, "refill 250 L");
    stv_assert_close(words.litres_l, NAN, 0.0, 0.0);
    stv_assert_close(words.plan_y, 8.0, 1e-9, 0.0);
    words = read_of("first-fill sherry 500 L at 55, 60, 63.5 %");
    assert_int_equal(words.n_casks, 0);
    assert_int_equal(words.cask.history, STV_WOOD_HELD_FORTIFIED);
    assert_int_equal(words.n_strengths, 3);
    stv_assert_close(words.strengths_frac[1], 0.60, 0.0, 1e-9);
    words = read_of("new oak 53 US gal at 125 US proof");
    stv_assert_close(words.cask.geometry.capacity_l, 200.6, 0.0, 0.1);
    assert_true(words.strengths_frac[0] > 0.62 && words.strengths_frac[0] < 0.63);
}

static void says_what_is_wrong(void **state)
{
    (void)state;
    static const char *const wrong[][2] = {
        {"12 x new oak 200 L", "no strength is said"},
        {"12 x 200 L at 59 %", "names no wood"},
        {"12 x new oak at 59 %", "says no size"},
        {"12 x new oak 200 L, 205 L at 59 %", "more than the cask holds"},
        {"12 x new oak 200 L, 195 L at 59 kg", "59 kg"},
        {"12 x new oak 200 L, 195 L at 99 %", "20 to 95"},
        {"12 x new oak 200 L, 195 L at 59 %, plan 400 y", "1 to 60 years"},
        {"12 x new refill 200 L at 59 %", "new and used"},
        {"12 x new oak 200 L teak at 59 %", "teak"},
        {"0 x new oak 200 L at 59 %", "\"0\""},
        {"new oak 200 L at 1, 2, 3, 4, 5, 6, 7, 8, 9 %", "1"},
        {"new oak 200 L, 195 L, 3 at 59 %", "\"3\""},
        {"new oak 200 L at plan 4 y", "no strength"},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        struct stv_fill_words words;
        char why[256] = "";
        assert_int_not_equal(stv_fill_words_read(wrong[i][0], &usual, &words, why, sizeof why),
                             STV_OK);
        if (!strstr(why, wrong[i][1]))
            fail_msg("%s: %s", wrong[i][0], why);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_what_people_type),
        cmocka_unit_test(says_what_is_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
