/* Pieces of a page: lines of text, base64, and the check sum that lets the page's own script run.
 */
#include "tests/check.h"

#include "plots/html.h"

#include <nettle/sha2.h>
#include <string.h>

static void expect_lines(const char *const *lines, size_t n, const char *want)
{
    struct stv_text page = {0};
    stv_html_lines(&page, lines, n);
    assert_string_equal(stv_text_string(&page), want);
    stv_text_free(&page);
}

static void test_lines(void **state)
{
    (void)state;
    static const char *const wrapped[] = {
        "From May to September your top tier is 7.5 C hotter in the cask than the floor",
        "and from November to March there is nothing in it.",
        "A short line.",
        "Another.",
        "",
        "\1LOOK AT FIRST",
        "  Cask 47 may leak: 11 L short since 1 June, and the store is so dry that it has",
        "    14 % more to lose.",
        "  Nose 12.",
        "    hourly wind: the day's measured mean",
        "    sun: from the day's range of temperature, which is by a quarter low on a wet",
        "      coast",
        "  Nose 13.",
        " 6      30.0   34.0",
        " 3      25.5   28.6"};
    expect_lines(
        wrapped, sizeof wrapped / sizeof wrapped[0],
        "<p>From May to September your top tier is 7.5 C hotter in the cask than the floor "
        "and from November to March there is nothing in it.</p>\n<p>A short line.</p>\n"
        "<p>Another.</p>\n<h3>LOOK AT FIRST</h3>\n<ul>\n<li>Cask 47 may leak: 11 L short since "
        "1 June, and the store is so dry that it has 14 % more to lose.</li>\n<li>Nose 12.</li>\n"
        "<li class=\"under\">hourly wind: the day&#39;s measured mean</li>\n"
        "<li class=\"under\">sun: from the day&#39;s range of temperature, which is by a quarter "
        "low on a wet coast</li>\n<li>Nose 13.</li>\n</ul>\n<pre> 6      30.0   34.0\n"
        " 3      25.5   28.6</pre>\n");
    static const char *const degrees[] = {"It is 6.2 \xE2\x81\xA0"
                                          "C there, in store 2 C."};
    expect_lines(degrees, 1, "<p>It is 6.2 °C there, in store 2 C.</p>\n");
    expect_lines(NULL, 0, "");
}

static void expect_base64(const char *bytes, const char *want)
{
    struct stv_text got = {0};
    stv_html_base64(&got, bytes, strlen(bytes));
    assert_string_equal(stv_text_string(&got), want);
    stv_text_free(&got);
}

/* RFC 4648, section 10: the published test vectors. */
static void test_base64(void **state)
{
    (void)state;
    expect_base64("", "");
    expect_base64("f", "Zg==");
    expect_base64("fo", "Zm8=");
    expect_base64("foo", "Zm9v");
    expect_base64("foob", "Zm9vYg==");
    expect_base64("fooba", "Zm9vYmE=");
    expect_base64("foobar", "Zm9vYmFy");
}

/* The policy in the head lets this script run and no other. */
static void test_script_hash(void **state)
{
    (void)state;
    struct sha256_ctx hash;
    uint8_t digest[SHA256_DIGEST_SIZE];
    struct stv_text coded = {0};
    sha256_init(&hash);
    sha256_update(&hash, strlen(stv_html_script()), (const uint8_t *)stv_html_script());
    sha256_digest(&hash, sizeof digest, digest);
    stv_html_base64(&coded, (const char *)digest, sizeof digest);
    assert_string_equal(stv_html_script_hash(), coded.bytes);
    stv_text_free(&coded);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_lines),
        cmocka_unit_test(test_base64),
        cmocka_unit_test(test_script_hash),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
