/* Quoting: nothing that somebody typed may run, break a file, or become a formula.  What each
 * target needs: gnuplot 5.4's single-quoted strings (tried out, see plots/quote.c), XML 1.0
 * section 2.2 and 2.4, RFC 4180 for CSV. */
#include "tests/check.h"
#include "tests/xml_scan.h"

#include "plots/gnuplot.h"
#include "plots/quote.h"
#include "plots/sheet.h"
#include "plots/text.h"

#include <stdlib.h>
#include <string.h>

typedef void quote_fn(struct stv_text *, const char *, size_t);

static void expect(quote_fn *quote, const char *text, const char *want)
{
    struct stv_text got = {0};
    quote(&got, text, STV_QUOTE_MAX_CHARS);
    assert_string_equal(stv_text_string(&got), want);
    stv_text_free(&got);
}

static const char *const hostile[] = {
    "it's",
    "'; system('touch ran') #",
    "''; system('touch ran') #",
    "a''''b",
    "'",
    "a'; system('touch ran') #",
    "`touch ran`",
    "\"`touch ran`\"",
    "line\n! touch ran\nline",
    "line\r\nsystem 'touch ran'",
    "ends in backslash\\",
    "\\'; system('touch ran')",
    "<script>alert(1)</script>",
    "]]>",
    "]]]]>>",
    "&amp; & < > \" '",
    "=cmd|'/C calc'!A0",
    "+1+1",
    "-2+3",
    "@SUM(A1)",
    "100 % %s %d %f",
    "{/Symbol a}_b^c~d@e",
    "\xD7\xA9\xD7\x9C\xD7\x95\xD7\x9D", /* Hebrew */
    "abc\xE2\x80\xAE"
    "cba",                   /* right-to-left override */
    "\xF0\x9F\xA5\x83 cask", /* an emoji */
    "bad \xC3\x28 \xED\xA0\x80 \xF5\x80\x80\x80 \xC0\xAF utf-8",
    "cut \xE2\x82",
    "bell \x07 esc \x1B[31m del \x7F nel \xC2\x85",
    "not a character \xEF\xBF\xBF",
    "line separator \xE2\x80\xA8 next",
    "EOD",
    "",
};
#define N_HOSTILE (sizeof hostile / sizeof hostile[0])

static void test_clean(void **state)
{
    (void)state;
    expect(stv_quote_clean, "plain 12", "plain 12");
    expect(stv_quote_clean, NULL, "");
    expect(stv_quote_clean,
           "a\nb\tc\x7F"
           "d",
           "a b c d");
    expect(stv_quote_clean,
           "a\xC2\x85"
           "b\xE2\x80\xA8"
           "c",
           "a b c");
    expect(stv_quote_clean,
           "abc\xE2\x80\xAE"
           "cba\xD8\x9C",
           "abccba");
    /* Each bad byte becomes one U+FFFD; a surrogate's three bytes become three. */
    expect(stv_quote_clean, "\xC3(", "\xEF\xBF\xBD(");
    expect(stv_quote_clean, "\xC0\xAF", "\xEF\xBF\xBD\xEF\xBF\xBD");
    expect(stv_quote_clean, "\xE2\x82", "\xEF\xBF\xBD\xEF\xBF\xBD");
    expect(stv_quote_clean, "\xEF\xBF\xBF", "\xEF\xBF\xBD");
    expect(stv_quote_clean, "\xF0\x9F\xA5\x83", "\xF0\x9F\xA5\x83");
}

static void test_cut(void **state)
{
    (void)state;
    struct stv_text long_text = {0}, got = {0};
    for (int i = 0; i < 10000; i++)
        stv_text_add(&long_text, "\xC3\xA4"); /* two bytes, one character */
    stv_quote_clean(&got, stv_text_string(&long_text), 300);
    assert_int_equal(got.n, 300 * 2 + 3);
    assert_string_equal(got.bytes + 600, "\xE2\x80\xA6");
    stv_text_free(&got);
    stv_quote_clean(&got, "exactly", 7);
    assert_string_equal(got.bytes, "exactly");
    stv_text_free(&got);
    stv_quote_clean(&got, "exactly8", 7);
    assert_string_equal(got.bytes, "exactly\xE2\x80\xA6");
    stv_text_free(&got);
    /* An id keeps its end, in whole characters. */
    stv_quote_clean_id(&got, "QB-2019-0017", 8);
    assert_string_equal(got.bytes, "QB\xE2\x80\xA6-0017");
    stv_text_free(&got);
    stv_quote_clean_id(&got,
                       "f\xC3\xBC\xC3\x9F"
                       "e-\xC3\x84-12",
                       7);
    assert_string_equal(got.bytes, "f\xC3\xBC\xE2\x80\xA6\xC3\x84-12");
    stv_text_free(&got);
    stv_quote_clean_id(&got, "12", 8);
    assert_string_equal(got.bytes, "12");
    stv_text_free(&got);
    stv_text_free(&long_text);
}

static void test_gnuplot_strings(void **state)
{
    (void)state;
    expect(stv_quote_gnuplot, "it's", "'it\xE2\x80\x99s'");
    expect(stv_quote_gnuplot, "a'; system('x')\n!x",
           "'a\xE2\x80\x99; system(\xE2\x80\x99x\xE2\x80\x99) !x'");
    expect(stv_quote_gnuplot, "end\\", "'end/'");
    expect(stv_quote_gnuplot, "a]]>b ]>",
           "'a]]\xE2\x80\xBA"
           "b ]>'");
    expect(stv_quote_gnuplot, "5 %", "'5 %'");
    expect(stv_quote_gnuplot_tic, "5 %s", "'5 %%s'");
}

static void test_html(void **state)
{
    (void)state;
    expect(stv_quote_html, "<a href=\"x\">&'", "&lt;a href=&quot;x&quot;&gt;&amp;&#39;");
    for (size_t i = 0; i < N_HOSTILE; i++) {
        struct stv_text page = {0};
        stv_text_add(&page, "<p title=\"");
        stv_quote_html(&page, hostile[i], STV_QUOTE_MAX_CHARS);
        stv_text_add(&page, "\">");
        stv_quote_html(&page, hostile[i], STV_QUOTE_MAX_CHARS);
        stv_text_add(&page, "</p>");
        assert_null(xml_fault(stv_text_string(&page)));
        assert_null(strstr(page.bytes, "<script"));
        stv_text_free(&page);
    }
}

static void test_csv(void **state)
{
    (void)state;
    expect(stv_quote_csv, "plain", "\"plain\"");
    expect(stv_quote_csv, "a \"b\", c", "\"a \"\"b\"\", c\"");
    expect(stv_quote_csv, "=cmd", "\"'=cmd\"");
    expect(stv_quote_csv, "  +1", "\"'  +1\"");
    expect(stv_quote_csv, "\t=1", "\"' =1\"");
    expect(stv_quote_csv, "-2", "\"'-2\"");
    expect(stv_quote_csv, "@x", "\"'@x\"");
    expect(stv_quote_csv,
           "\xEF\xBC\x9D"
           "1",
           "\"'\xEF\xBC\x9D"
           "1\"");
    expect(stv_quote_csv, "a=b", "\"a=b\"");
    expect(stv_quote_csv, "two\nlines", "\"two lines\"");
}

static void test_sheet(void **state)
{
    (void)state;
    static const char *const heads[] = {"cask", "litres"};
    struct stv_sheet table = {0};
    struct stv_text csv = {0}, html = {0};
    stv_sheet_heads(&table, heads, 2);
    stv_sheet_add_text(&table, "=1<2");
    stv_sheet_add_number(&table, 182.38546, 1);
    stv_sheet_add_text(&table, "b");
    stv_sheet_add_number(&table, NAN, 1);
    stv_sheet_csv(&table, &csv);
    stv_sheet_html(&table, "a & b", &html);
    assert_int_equal(stv_sheet_n_rows(&table), 2);
    assert_string_equal(csv.bytes, "\"cask\",\"litres\"\n\"'=1<2\",182.38546\n\"b\",\n");
    assert_non_null(strstr(html.bytes, "<caption>a &amp; b</caption>"));
    assert_non_null(strstr(html.bytes, "<th scope=\"col\" class=\"word\">litres</th>"));
    assert_non_null(
        strstr(html.bytes, "<th scope=\"row\" class=\"word\">=1&lt;2</th><td>182.4</td>"));
    assert_null(xml_fault(html.bytes));
    stv_text_free(&csv);
    stv_text_free(&html);
    stv_sheet_free(&table);
}

static void expect_number(double value, int n_decimals, const char *want)
{
    struct stv_text got = {0};
    stv_text_add_number(&got, value, n_decimals);
    assert_string_equal(stv_text_string(&got), want);
    stv_text_free(&got);
}

static void expect_printed(const char *printed, const char *want)
{
    struct stv_text got = {0};
    stv__text_add_printed(&got, printed);
    assert_string_equal(stv_text_string(&got), want);
    stv_text_free(&got);
}

static void test_numbers(void **state)
{
    (void)state;
    struct stv_text got = {0};
    expect_number(2.385, 2, "2.38"); /* the double lies below 2.385 */
    expect_number(-0.04, 1, "0.0");
    expect_number(-12.5, 1, "-12.5");
    expect_number(NAN, 1, "NaN");
    expect_number(INFINITY, 1, "NaN");
    expect_printed("3,14", "3.14");
    expect_printed("-1\xD9\xAB"
                   "5e-07",
                   "-1.5e-07"); /* Arabic decimal separator, two bytes */
    expect_printed("-0,000", "0.000");
    stv_text_add_exact(&got, 1.0 / 3.0);
    stv_text_add(&got, " ");
    stv_text_add_count(&got, 9999.4);
    stv_text_add(&got, " ");
    stv_text_add_count(&got, 1234567.6);
    stv_text_add(&got, " ");
    stv_text_add_count(&got, -16900.0);
    assert_string_equal(got.bytes, "0.333333333 9999 1,234,568 -16,900");
    stv_text_free(&got);
}

/* All hostile texts as title, label and tic of a real run: none may run, and the SVG must parse. */
static void test_hostile_run(void **state)
{
    (void)state;
    struct stv_gnuplot *gnuplot = NULL;
    struct stv_text script = {0}, svg = {0}, ran = {0};
    char why[400];
    stv_text_add(&script, "set encoding utf8\nset term svg noenhanced\nset output 'x.svg'\n");
    for (size_t i = 0; i < N_HOSTILE; i++) {
        stv_text_add(&script, "set label ");
        stv_quote_gnuplot(&script, hostile[i], STV_QUOTE_LABEL_CHARS);
        stv_text_format(&script, " at 0,%zu noenhanced\nset title ", i);
        stv_quote_gnuplot(&script, hostile[i], STV_QUOTE_LABEL_CHARS);
        stv_text_add(&script, "\nset xtics (");
        stv_quote_gnuplot_tic(&script, hostile[i], STV_QUOTE_LABEL_CHARS);
        stv_text_add(&script, " 0)\nplot [-1:1][-1:40] 0 notitle\n");
    }
    stv_text_add(&script, "set output\n");
    stv_assert_ok(stv_gnuplot_new(&gnuplot));
    stv_assert_ok(stv_gnuplot_put(gnuplot, "x.gp", &script));
    stv_assert_ok(stv_gnuplot_run(gnuplot, "x.gp", 20, why, sizeof why));
    assert_string_equal(why, "");
    stv_assert_status(stv_gnuplot_get(gnuplot, "ran", &ran), STV_E_IO);
    stv_assert_ok(stv_gnuplot_get(gnuplot, "x.svg", &svg));
    /* One picture per title stands in the file: cut at each end and scan each. */
    size_t n = 0;
    for (char *at = svg.bytes, *end; (end = strstr(at, "</svg>")) != NULL; n++) {
        char kept = end[strlen("</svg>")];
        end[strlen("</svg>")] = '\0';
        assert_null(xml_fault(at));
        end[strlen("</svg>")] = kept;
        at = end + strlen("</svg>");
    }
    assert_true(n >= 1);
    stv_gnuplot_free(gnuplot);
    stv_text_free(&script);
    stv_text_free(&svg);
}

/* The scan itself must find what is wrong. */
static void test_scan(void **state)
{
    (void)state;
    assert_null(xml_fault("<?xml version=\"1.0\"?>\n<a b=\"1\"><c/>x &amp; y</a>\n"));
    static const char *const bad[] = {"<a>",          "<a></b>",          "<a b=1></a>",
                                      "<a>&</a>",     "<a>]]></a>",       "<a>\x07</a>",
                                      "<a>\xC3(</a>", "<a b='<'/>",       "<a/><b/>",
                                      "text",         "<a b='1' b='2'/>", "<a b='1'c='2'/>"};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        assert_non_null(xml_fault(bad[i]));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_clean),
        cmocka_unit_test(test_cut),
        cmocka_unit_test(test_gnuplot_strings),
        cmocka_unit_test(test_html),
        cmocka_unit_test(test_csv),
        cmocka_unit_test(test_sheet),
        cmocka_unit_test(test_numbers),
        cmocka_unit_test(test_scan),
        cmocka_unit_test(test_hostile_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
