/* The market rules that the program carries are those of their sources; a file of one's own is
 * read instead, and refused with places. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/market.h"
#include "ingest/quantity.h"
#include "ingest/whole_file.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define MOST_BYTES ((size_t)1 << 20)
#define ABSENT "" /* no rule */

struct opened {
    struct stv_scratch scratch;
    struct stv_problems problems;
    struct stv_markets markets;
    enum stv_status status;
};

/* NULL: the rules that the program carries. */
static void markets_open(struct opened *one, const char *text)
{
    stv_scratch_open(&one->scratch);
    stv_problems_init(&one->problems);
    const char *path = text ? stv_scratch_text(&one->scratch, "mine.yaml", text) : NULL;
    one->status = stv_markets_read(path, &one->problems, &one->markets);
}

static void markets_print(const struct opened *one)
{
    for (size_t i = 0; i < one->problems.n; i++) {
        char text[700];
        stv_problem_text(&one->problems.items[i], text, sizeof text);
        print_error("  %s\n", text);
    }
}

static void markets_close(struct opened *one)
{
    stv_markets_free(&one->markets);
    stv_problems_free(&one->problems);
    stv_scratch_close(&one->scratch);
}

/* Typed again from the sources, as written there and in the units of the law. */
struct want {
    const char *name;
    const char *bottled, *entry, *still, *age, *cask, *tolerance;
    enum stv_age_clock clock;
};

static const struct want wants[] = {
    /* 27 CFR 5.143(a): at less than 190 proof, stored in oak, bottled at 80 proof or more;
     * 19.356(c): 0.3 per cent above or below; 5.1, Age: in oak barrels. */
    {"us-whisky", "80 US proof", "none", "190 US proof", "none", ABSENT, "0.3 %vol",
     STV_AGE_IN_ANY_OAK},
    /* 27 CFR 5.143(c), table: 160 proof, charred new oak at 125 proof or less, straight 2 years;
     * 5.1, Age: in charred new oak barrels. */
    {"us-new-oak", "80 US proof", "125 US proof", "160 US proof", "none", ABSENT, "0.3 %vol",
     STV_AGE_IN_CHARRED_NEW_OAK},
    {"us-straight-new-oak", "80 US proof", "125 US proof", "160 US proof", "2 y", ABSENT,
     "0.3 %vol", STV_AGE_IN_CHARRED_NEW_OAK},
    /* T.D. TTB-199, 89 FR 102726: 160 proof or less, oak of at most 700 litres, used, uncharred
     * new or charred new, 80 proof; straight 2 years. */
    {"us-single-malt", "80 US proof", ABSENT, "160 US proof", "none", "700 L", "0.3 %vol",
     STV_AGE_IN_ANY_OAK},
    {"us-straight-single-malt", "80 US proof", ABSENT, "160 US proof", "2 y", "700 L", "0.3 %vol",
     STV_AGE_IN_ANY_OAK},
    /* SI 2009/2890: below 94.8 %, only in oak casks of at most 700 litres, 3 years, 40 %. */
    {"scotch", "40 %vol", "none", "94.8 %vol", "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_OAK},
    /* Regulation (EU) 2019/787 Annex I: the same numbers, wooden casks. */
    {"uk", "40 %vol", ABSENT, "94.8 %vol", "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_WOOD},
    {"eu", "40 %vol", ABSENT, "94.8 %vol", "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_WOOD},
    /* Irish Whiskey technical file. */
    {"ireland", "40 %vol", ABSENT, "94.8 %vol", "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_WOOD},
    /* Japan Spirits & Liqueurs Makers Association: below 95 %, 700 litres, 3 years, 40 %. */
    {"japan", "40 %vol", ABSENT, "95 %vol", "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_WOOD},
    /* Food and Drug Regulations, B.02.020: 3 years in small wood, 40 %; B.02.002: 700 L. */
    {"canada", "40 %vol", ABSENT, ABSENT, "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_WOOD},
    /* Excise Act 1901 s 77FI: 2 years in wood; Standard 2.7.5, an earlier text: 37 %. */
    {"australia", "37 %vol", ABSENT, ABSENT, "2 y", ABSENT, ABSENT, STV_AGE_IN_ANY_WOOD},
    /* R1433 reg. 15: below 94.8 %, 3 years in wood of at most 700 litres; 43 % from memory. */
    {"south-africa", "43 %vol", ABSENT, "94.8 %vol", "3 y", "700 L", ABSENT, STV_AGE_IN_ANY_WOOD},
    /* Food Safety and Standards (Alcoholic Beverages) Regulations 2018: matured is 1 year in oak
     * or other wood; 1.0 % above 20 %. */
    {"india", ABSENT, ABSENT, ABSENT, "1 y", ABSENT, "1.0 %vol", STV_AGE_IN_ANY_WOOD},
};

static void check_origin(const struct stv_rule *rule)
{
    assert_true(rule->source[0] && rule->date[0]);
    assert_true(strcmp(rule->seen, "law") == 0 || strcmp(rule->seen, "second-hand") == 0 ||
                strcmp(rule->seen, "memory") == 0);
}

/* value_per_unit: of the member's unit, in one unit of the dimension. */
static void check_rule(const struct stv_rule *rule, const char *want, enum stv_dimension dimension,
                       double value_per_unit)
{
    char why[200];
    double value = (double)NAN;
    assert_string_equal(rule->text, want);
    if (want[0])
        check_origin(rule);
    else
        assert_true(!rule->source[0] && !rule->seen[0] && !rule->date[0]);
    if (want[0] && strcmp(want, "none") != 0)
        stv_assert_ok(stv_quantity_parse(want, dimension, NULL, &value, why, sizeof why));
    stv_assert_close(rule->value, value * value_per_unit, 1e-12, 0.0);
}

static void carried_rules_are_those_of_their_sources(void **state)
{
    (void)state;
    const double year_per_d = 1.0 / 365.25;
    struct opened one;
    markets_open(&one, NULL);
    markets_print(&one);
    stv_assert_ok(one.status);
    assert_int_equal(one.problems.n_total, 0);
    assert_int_equal(one.markets.n, N_OF(wants));
    for (size_t i = 0; i < N_OF(wants); i++) {
        const struct want *want = &wants[i];
        const struct stv_market *market = stv_markets_find(&one.markets, want->name);
        assert_non_null(market);
        assert_true(market->label[0] != '\0');
        check_rule(&market->bottled_least_abv20_frac, want->bottled, STV_DIM_STRENGTH, 1.0);
        check_rule(&market->entry_most_abv20_frac, want->entry, STV_DIM_STRENGTH, 1.0);
        check_rule(&market->still_most_abv20_frac, want->still, STV_DIM_STRENGTH, 1.0);
        check_rule(&market->age_least_y, want->age, STV_DIM_TIME, year_per_d);
        check_rule(&market->cask_most_l, want->cask, STV_DIM_VOLUME, 1.0);
        check_rule(&market->label_tolerance_abv20_frac, want->tolerance, STV_DIM_STRENGTH, 1.0);
        assert_int_equal(market->age_clock, want->clock);
        check_origin(&market->age_clock_rule);
        stv_assert_close(market->age_clock_rule.value, (double)NAN, 0.0, 0.0);
        stv_assert_close(market->duty_rounding.value, (double)NAN, 0.0, 0.0);
    }
    markets_close(&one);
}

/* The members' units, by hand: 62.5 per cent at 60 F is 125 proof and a little more at 20 C. */
static void values_are_in_the_units_of_their_members(void **state)
{
    (void)state;
    struct opened one;
    markets_open(&one, NULL);
    const struct stv_market *bourbon = stv_markets_find(&one.markets, "us-straight-new-oak");
    stv_assert_close(bourbon->entry_most_abv20_frac.value, 0.625, 0.0, 0.001);
    assert_true(bourbon->entry_most_abv20_frac.value > 0.625);
    stv_assert_close(bourbon->bottled_least_abv20_frac.value, 0.40, 0.0, 0.001);
    stv_assert_close(bourbon->still_most_abv20_frac.value, 0.80, 0.0, 0.001);
    stv_assert_close(bourbon->label_tolerance_abv20_frac.value, 0.003, 1e-12, 0.0);
    stv_assert_close(bourbon->age_least_y.value, 2.0, 1e-12, 0.0);
    assert_string_equal(bourbon->age_clock_rule.text, "charred new oak");
    const struct stv_market *scotch = stv_markets_find(&one.markets, "scotch");
    stv_assert_close(scotch->still_most_abv20_frac.value, 0.948, 1e-12, 0.0);
    stv_assert_close(scotch->cask_most_l.value, 700.0, 1e-12, 0.0);
    /* HMRC, Alcoholic products technical guide, section 11: 7.59 is 7.5. */
    assert_string_equal(scotch->duty_rounding.text, "down to 0.1 %vol");
    assert_string_equal(stv_markets_find(&one.markets, "eu")->duty_rounding.text, ABSENT);
    const struct stv_market *cape = stv_markets_find(&one.markets, "south-africa");
    assert_string_equal(cape->bottled_least_abv20_frac.seen, "memory");
    assert_string_equal(cape->age_least_y.seen, "law");
    assert_string_equal(cape->age_least_y.date, "2025-03-14");
    markets_close(&one);
}

static void unknown_names_have_no_market(void **state)
{
    (void)state;
    struct opened one;
    char why[256];
    markets_open(&one, NULL);
    assert_null(stv_markets_find(&one.markets, "scoth"));
    assert_non_null(stv_markets_find(&one.markets, "Scotch"));
    assert_null(stv_markets_find(&one.markets, ""));
    stv_markets_advice(&one.markets, "scoth", why, sizeof why);
    assert_non_null(strstr(why, "did you mean \"scotch\""));
    stv_markets_advice(&one.markets, "moonlight", why, sizeof why);
    assert_non_null(strstr(why, "us-whisky, us-new-oak"));
    markets_close(&one);
}

/* What is printed is the file, byte for byte, and reads back. */
static void printed_text_is_the_file(void **state)
{
    (void)state;
    struct opened one;
    char *bytes = NULL, why[200];
    size_t n = 0;
    stv_assert_ok(stv__whole_file(STV_SOURCE_DIR "/ingest/markets.yaml", MOST_BYTES, &bytes, &n,
                                  why, sizeof why));
    assert_int_equal(strlen(stv_markets_text()), n);
    assert_memory_equal(stv_markets_text(), bytes, n);
    assert_null(strstr(bytes, "safe"));
    free(bytes);
    markets_open(&one, stv_markets_text());
    stv_assert_ok(one.status);
    assert_int_equal(one.markets.n, N_OF(wants));
    markets_close(&one);
}

#define ORIGIN "source: a law, seen: law, date: 2026-11"

static void edited_copy_is_used(void **state)
{
    (void)state;
    struct opened one;
    markets_open(&one, "markets:\n"
                       "  - name: basin-2\n"
                       "    label: Quill Basin, house rules\n"
                       "    bottled_least: {value: 46.5 %vol, " ORIGIN "}\n"
                       "    age_least: {value: 30 months, source: the house, seen: Memory, "
                       "date: 2026}\n"
                       "    cask_most: {value: 0.25 m3, source: x, seen: law, date: 2026-11-25}\n"
                       "    entry_most: {value: None, source: x, seen: law, date: unknown}\n"
                       "    age_clock: {value: Any Oak, " ORIGIN "}\n");
    markets_print(&one);
    stv_assert_ok(one.status);
    assert_int_equal(one.markets.n, 1);
    const struct stv_market *market = stv_markets_find(&one.markets, "basin-2");
    assert_non_null(market);
    assert_string_equal(market->label, "Quill Basin, house rules");
    stv_assert_close(market->bottled_least_abv20_frac.value, 0.465, 1e-12, 0.0);
    assert_string_equal(market->bottled_least_abv20_frac.text, "46.5 %vol");
    assert_string_equal(market->bottled_least_abv20_frac.source, "a law");
    assert_string_equal(market->bottled_least_abv20_frac.date, "2026-11");
    stv_assert_close(market->age_least_y.value, 2.5, 1e-12, 0.0);
    assert_string_equal(market->age_least_y.seen, "memory");
    stv_assert_close(market->cask_most_l.value, 250.0, 1e-12, 0.0);
    assert_string_equal(market->entry_most_abv20_frac.text, "none");
    stv_assert_close(market->entry_most_abv20_frac.value, (double)NAN, 0.0, 0.0);
    assert_int_equal(market->age_clock, STV_AGE_IN_ANY_OAK);
    assert_string_equal(market->age_clock_rule.text, "any oak");
    stv_assert_close(market->still_most_abv20_frac.value, (double)NAN, 0.0, 0.0);
    assert_string_equal(market->still_most_abv20_frac.source, ABSENT);
    assert_null(stv_markets_find(&one.markets, "scotch"));
    markets_close(&one);
}

struct slip {
    const char *text;
    size_t row, column;
    const char *phrase;
};

#define ONE "markets:\n  - name: a\n    label: A\n" /* a rule follows, on line 4 */
#define RULE(key, value) ONE "    " key ": {value: " value ", " ORIGIN "}\n"

static const struct slip slips[] = {
    {"", 1, 1, "empty"},
    {"{}\n", 1, 1, "needs markets"},
    {ONE "market: []\n", 4, 1, "did you mean \"markets\""},
    {"markets: []\n", 1, 10, "lists 0 markets"},
    {"markets: {a: b}\n", 1, 10, "a list is wanted"},
    {"markets: [scotch]\n", 1, 11, "a market is written with name"},
    {"markets:\n  - label: A\n", 2, 5, "name is missing"},
    {"markets:\n  - name: a\n", 2, 5, "label is missing"},
    {"markets:\n  - name: Far East\n    label: A\n", 2, 11, "a to z, 0 to 9 and dashes"},
    {"markets:\n  - name: 2nd\n    label: A\n", 2, 11, "must start with a letter"},
    {"markets:\n  - name: a-name-of-more-than-31-letters-in-all\n    label: A\n", 2, 11,
     "at most 31 letters"},
    {ONE "  - name: b\n    label: B\n  - name: a\n    label: C\n", 6, 11, "earlier market"},
    {ONE "    name: b\n", 4, 5, "said twice"},
    {RULE("botled_least", "40 %vol"), 4, 5, "did you mean \"bottled_least\""},
    {RULE("bottled_least", "110 %vol"), 4, 28, "cannot be a strength"},
    {RULE("bottled_least", "4 %vol"), 4, 28, "outside 15 to 80 %"},
    {RULE("bottled_least", "40 %"), 4, 28, "%vol"},
    {RULE("bottled_least", "80 proof"), 4, 28, "without a country"},
    {RULE("bottled_least", "40"), 4, 28, "has no unit of strength"},
    {RULE("entry_most", "nil"), 4, 25, "is not a number"},
    {RULE("age_least", "-3 y"), 4, 24, "outside 0 to 100 y"},
    {RULE("age_least", "700 L"), 4, 24, "unit of volume"},
    {RULE("cask_most", "0 L"), 4, 24, "outside 1 to 100000 L"},
    {RULE("label_tolerance", "30 %vol"), 4, 30, "outside 0 to 5 %"},
    {RULE("age_clock", "any ok"), 4, 24, "did you mean \"any oak\""},
    {RULE("age_clock", "sherry"), 4, 24, "any wood, any oak or charred new oak"},
    {ONE "    age_least: 3 y\n", 4, 16, "a rule is written {value"},
    {ONE "    age_least: {" ORIGIN "}\n", 4, 16, "value is missing"},
    {ONE "    age_least: {value: 3 y, seen: law, date: 2026}\n", 4, 16, "source is missing"},
    {ONE "    age_least: {value: 3 y, source: x, date: 2026}\n", 4, 16, "seen is missing"},
    {ONE "    age_least: {value: 3 y, source: x, seen: law}\n", 4, 16, "date is missing"},
    {ONE "    age_least: {value: 3 y, source: x, seen: low, date: 2026}\n", 4, 46,
     "did you mean \"law\""},
    {ONE "    age_least: {value: 3 y, source: x, seen: law, date: 11/2026}\n", 4, 57,
     "2026-11 or 2026, or unknown"},
    {ONE "    age_least: {value: 3 y, source: x, seen: law, date: 2026-13}\n", 4, 57,
     "is not a date"},
    {ONE "    age_least: {value: 3 y, source: x, seen: law, date: 2026, soure: x}\n", 4, 63,
     "did you mean \"source\""},
    {ONE "    age_least: {value: 3 y, source: , seen: law, date: 2026}\n", 4, 37, "has no value"},
    {ONE "    duty_rounding: {value: down, source: x, seen: law}\n", 4, 20, "date is missing"},
};

static void slips_are_refused_at_their_place(void **state)
{
    (void)state;
    size_t n_missed = 0;
    for (size_t i = 0; i < N_OF(slips); i++) {
        struct opened one;
        markets_open(&one, slips[i].text);
        const struct stv_problem *problem = one.problems.items;
        bool is_said = one.status == STV_E_PARSE && one.problems.n_total == 1 &&
                       problem->row == slips[i].row && problem->column == slips[i].column &&
                       strstr(problem->message, slips[i].phrase) && one.markets.n == 0 &&
                       !one.markets.items;
        if (!is_said) {
            print_error("wanted %zu:%zu %s; said\n", slips[i].row, slips[i].column,
                        slips[i].phrase);
            markets_print(&one);
        }
        markets_close(&one);
        n_missed += !is_said;
    }
    assert_int_equal(n_missed, 0);
}

static void too_many_markets(void **state)
{
    (void)state;
    size_t size = 8192, used = 0;
    char *text = malloc(size);
    assert_non_null(text);
    used += (size_t)snprintf(text, size, "markets:\n");
    for (int i = 0; i <= STV_MARKETS_MAX; i++)
        used += (size_t)snprintf(text + used, size - used, "  - {name: m%d, label: M}\n", i);
    struct opened one;
    markets_open(&one, text);
    stv_assert_status(one.status, STV_E_PARSE);
    assert_non_null(strstr(one.problems.items[0].message, "lists 65 markets"));
    markets_close(&one);
    free(text);
}

static void absent_file(void **state)
{
    (void)state;
    struct stv_problems problems;
    struct stv_markets markets;
    stv_problems_init(&problems);
    stv_assert_status(stv_markets_read("/absent/markets.yaml", &problems, &markets), STV_E_IO);
    assert_int_equal(problems.n_total, 1);
    assert_null(markets.items);
    stv_markets_free(NULL);
    stv_problems_free(&problems);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(carried_rules_are_those_of_their_sources),
        cmocka_unit_test(values_are_in_the_units_of_their_members),
        cmocka_unit_test(unknown_names_have_no_market),
        cmocka_unit_test(printed_text_is_the_file),
        cmocka_unit_test(edited_copy_is_used),
        cmocka_unit_test(slips_are_refused_at_their_place),
        cmocka_unit_test(too_many_markets),
        cmocka_unit_test(absent_file),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
