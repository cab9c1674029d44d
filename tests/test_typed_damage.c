/* What spreadsheets and editors do to cells: each kind is named, clean cells are not, and two names
 * that one was made of are known again.  Shapes as common spreadsheets save them (from memory). */
#include "tests/check.h"

#include "ingest/typed_damage.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

struct damage {
    const char *text, *phrase; /* NULL: none */
};

static void assert_damage(const struct damage *damage, bool is_damaged, const char *why)
{
    bool is_right = damage->phrase ? is_damaged && strstr(why, damage->phrase) : !is_damaged;
    if (!is_right)
        print_error("\"%s\": %s\n", damage->text, is_damaged ? why : "no damage");
    assert_true(is_right);
    assert_true(!is_damaged || strlen(why) < 240); /* a finding's message has room for it */
}

static void marks_of_any_cell(void **state)
{
    (void)state;
    static const struct damage cells[] = {
        {"#REF!", "formula that failed"},
        {"#NAME?", "formula that failed"},
        {"#div/0!", "formula that failed"},
        {"#N/A", "formula that failed"},
        {"Err:502", "formula that failed"},
        {"########", "too narrow"},
        {"##", "too narrow"},
        {"=\"007\"", "formula"},
        {"'007", "apostrophe"},
        {"TRUE", "ticked box"},
        {"false", "ticked box"},
        {"\u201C12\u201D", "curly quotation marks"},
        {"#112", NULL},
        {"#", NULL},
        {"true oak", NULL},
        {"Err", NULL},
        {"", NULL},
    };
    for (size_t i = 0; i < N_OF(cells); i++) {
        char why[256] = "";
        assert_damage(&cells[i], stv_damage_of_cell(cells[i].text, why, sizeof why), why);
    }
    char why[256];
    assert_false(stv_damage_of_text("the cooper\u2019s own", why, sizeof why));
}

static void names_of_casks(void **state)
{
    (void)state;
    static const struct damage ids[] = {
        {"3-Dec", "like 3-12 or 12-3"},
        {"12-Mar", "like 12-3 or 3-12"},
        {"Mar-12", "like 12-3 or 3-12"},
        {"03. Dec", "like 3-12 or 12-3"},
        {"2024-12-03", "like 3-12 or 12-3"},
        {"12/03/2024", "is a date"},
        {"1.20E+04", "exponent"},
        {"1E+12", "exponent"},
        {"1.2e5", "exponent"},
        {"12.0", "write \"12\""},
        {"007.00", "write \"007\""},
        {"A\u201326", "long dash"},
        {"#REF!", "formula"},
        {"3-12", NULL},
        {"12E3", NULL},
        {"007", NULL},
        {"A-26", NULL},
        {"112-2019", NULL},
        {"12.5", NULL},
        {"Dec", NULL},
        {"3-Decca", NULL},
        {"2024-13-44", NULL},
        {"A-3-Dec", NULL},
    };
    for (size_t i = 0; i < N_OF(ids); i++) {
        char why[256] = "";
        assert_damage(&ids[i], stv_damage_of_id(ids[i].text, why, sizeof why), why);
    }
}

static void numbers(void **state)
{
    (void)state;
    static const struct damage points[] = {
        {"1,234.5 L", "write \"1234.5 L\""},
        {"1.234,5", "write \"1234.5\""},
        {"1,234,567", "write \"1234567\""},
        {"1'234", "write \"1234\""},
        {"1 234 ml", "write \"1234 ml\""},
        {"-1,234.5", "write \"-1234.5\""},
        {"3-May", "like 3.5 or 5.3"},
        {"2024-05-03", "like 3.5 or 5.3"},
        {"\u201C195\u201D", "curly quotation"},
        {"1,234", NULL},
        {"1.234", NULL},
        {"195 L", NULL},
        {"53 US gal", NULL},
        {"1,23,456", NULL},
        {"1 1/2", NULL},
        {"", NULL},
    };
    for (size_t i = 0; i < N_OF(points); i++) {
        char why[256] = "";
        assert_damage(&points[i], stv_damage_of_number(points[i].text, false, why, sizeof why),
                      why);
    }
    char why[256];
    assert_true(stv_damage_of_number("1.234,5", true, why, sizeof why));
    assert_non_null(strstr(why, "write \"1234,5\""));
}

static void one_name_made_of_another(void **state)
{
    (void)state;
    static const char *const made[][3] = {
        {"007", "7", "zeros"},
        {"7", "0007", "zeros"},
        {"12E3", "12000", "for a number"},
        {"12E3", "1.20E+04", "for a number"},
        {"12345E3", "1.23E+07", "for a number"},
        {"12", "12.0", "for a number"},
        {"3-12", "3-Dec", "makes a date"},
        {"03-12", "2024-12-03", "makes a date"},
        {"3-12", "12-Mar", "makes a date"},
        {"12/3", "12/03/2024", "makes a date"},
        {"12-2019", "Dec-19", "makes a date"},
        {"A-26", "A\u201326", "dashes"},
        {"12", "\u201C12\u201D", "quotation marks"},
    };
    static const char *const apart[][2] = {
        {"007", "8"},      {"12E3", "12001"}, {"3-12", "4-Dec"}, {"A-26", "A26"},
        {"3-12", "3-12x"}, {"", "7"},         {"A", "B"},
    };
    for (size_t i = 0; i < N_OF(made); i++)
        for (int turn = 0; turn < 2; turn++) {
            const char *reason = stv_damage_between(made[i][turn], made[i][1 - turn]);
            if (!reason)
                print_error("%s and %s\n", made[i][0], made[i][1]);
            assert_non_null(reason);
            assert_non_null(strstr(reason, made[i][2]));
        }
    for (size_t i = 0; i < N_OF(apart); i++) {
        assert_null(stv_damage_between(apart[i][0], apart[i][1]));
        assert_null(stv_damage_between(apart[i][1], apart[i][0]));
    }
}

static void what_cannot_be_seen(void **state)
{
    (void)state;
    static const struct {
        const char *from, *to;
        bool is_number, had_blank, had_minus;
    } cells[] = {
        {"195\u00A0L", "195 L", true, true, false},
        {"\u00A0 195 \u202F", "195", true, true, false},
        {"\uFEFF12\u200B", "12", false, true, false},
        {"\u22120.3 K", "-0.3 K", true, false, true},
        {"\u20130.3", "-0.3", true, false, true},
        {"\u2014", "-", false, false, true},
        {"\u00A0\u2013", "-", true, true, true},
        {"A\u201326", "A\u201326", false, false, false},
        {"\u221212", "\u221212", false, false, false},
        {"45\u00B0C \u00B5", "45\u00B0C \u00B5", true, false, false},
        {" 12 ", " 12 ", true, false, false},
        {"", "", true, false, false},
    };
    for (size_t i = 0; i < N_OF(cells); i++) {
        char text[64];
        snprintf(text, sizeof text, "%s", cells[i].from);
        struct stv_cleaned got = stv_damage_clean(text, cells[i].is_number);
        assert_string_equal(text, cells[i].to);
        assert_int_equal(got.had_blank, cells[i].had_blank);
        assert_int_equal(got.had_minus, cells[i].had_minus);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(marks_of_any_cell),
        cmocka_unit_test(names_of_casks),
        cmocka_unit_test(numbers),
        cmocka_unit_test(one_name_made_of_another),
        cmocka_unit_test(what_cannot_be_seen),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
