/* `bottlings:` of a book: what is read, and every slip of the pen with its place. */
#include "model/calendar.h"
#include "tests/book_case.h"

#define HEAD                                                                   \
    "name: x\nunits: {strength: \"%vol\"}\nwarehouses:\n"                      \
    "  - {name: Long Shed, kind: racked shed, tiers: 6, bays: 12, depth: 2}\n" \
    "  - {name: Low Store, kind: dunnage, tiers: 3, bays: 5, depth: 1}\n"
#define LIST HEAD "bottlings:\n" /* the first entry stands in line 7 */

static int64_t day_of(int year, int month, int day)
{
    return stv_day_from_date((struct stv_date){year, month, day});
}

static void reads_what_is_planned(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    char text[2048];
    snprintf(text, sizeof text, "%s%s", good_yaml,
             "targets: {bottling_strength: 46 %vol}\n"
             "bottlings:\n"
             "  - {name: house malt, when: 2029-05-20, style: married, bottles: 1200}\n"
             "  - name: November singles\n"
             "    when: 2028-11\n"
             "    style: single casks\n"
             "    casks: 3\n"
             "    bottles: 740\n"
             "    strength: {least: 49 %vol, most: 52 %vol}\n"
             "    water: no\n"
             "    samples: 2\n"
             "    archive: 4\n"
             "    every: 2 y\n"
             "    releases: 3\n");
    case_write(&one, "book.yaml", text);
    enum stv_status status = case_read(&one, false);
    if (status != STV_OK)
        case_print(&one);
    stv_assert_ok(status);
    const struct stv_book *book = &one.book;
    assert_int_equal(book->n_bottlings, 4);
    const struct stv_book_bottling *first = &book->bottlings[0], *malt = &book->bottlings[1];
    assert_string_equal(first->name, "November singles");
    assert_int_equal(first->wish.day_d, day_of(2028, 11, 16)); /* the middle of the month */
    stv_assert_close(first->day_width_d, 15.0, 0.0, 0.6);
    assert_int_equal(first->wish.n_casks, 3);
    stv_assert_close(first->wish.bottles_nd, 740.0, 0.0, 0.0);
    stv_assert_close(first->wish.least_abv20_frac, 0.49, 1e-12, 0.0);
    stv_assert_close(first->wish.most_abv20_frac, 0.52, 1e-12, 0.0);
    stv_assert_close(first->wish.kept_back_nd, 6.0, 0.0, 0.0);
    assert_true(first->wish.is_as_drawn && !first->wish.is_married);
    assert_int_equal(first->release, 1);
    assert_int_equal(first->n_releases, 3);
    assert_string_equal(malt->name, "house malt");
    assert_true(malt->wish.is_married && !malt->wish.is_as_drawn);
    stv_assert_close(malt->wish.least_abv20_frac, 0.46, 1e-12, 0.0); /* the house's own */
    stv_assert_close(malt->wish.most_abv20_frac, 0.46, 1e-12, 0.0);
    assert_int_equal(malt->n_releases, 1);
    assert_int_equal(book->bottlings[2].wish.day_d, day_of(2030, 11, 16));
    assert_int_equal(book->bottlings[3].wish.day_d, day_of(2032, 11, 16));
    assert_int_equal(book->bottlings[3].wish.series_idx, first->wish.series_idx);
    assert_int_not_equal(malt->wish.series_idx, first->wish.series_idx);
    case_close(&one);
}

/* As drawn, a strength that is not said is a least alone: no cask is exactly so strong. */
static void as_drawn_is_as_strong_as_it_is(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    char text[1024];
    snprintf(text, sizeof text, "%s%s", good_yaml,
             "targets: {bottling_strength: 46 %vol}\n"
             "bottlings:\n"
             "  - {name: a, when: 2029-05, style: single casks, casks: 1, water: no}\n"
             "  - {name: b, when: 2029-06, style: single casks, casks: 1, water: no, strength: "
             "{most: 40 %vol}}\n");
    case_write(&one, "book.yaml", text);
    stv_assert_ok(case_read(&one, false));
    stv_assert_close(one.book.bottlings[0].wish.least_abv20_frac, 0.46, 1e-12, 0.0);
    stv_assert_close(one.book.bottlings[0].wish.most_abv20_frac, 1.0, 0.0, 0.0);
    stv_assert_close(one.book.bottlings[1].wish.most_abv20_frac, 0.40, 1e-12, 0.0);
    case_close(&one);
}

static const struct stv_slip slips[] = {
    {"book.yaml", HEAD "bottlings: soon\n", 6, 12, "soon", "a list"},
    {"book.yaml", LIST "  - soon\n", 7, 5, "soon", "is not a bottling"},
    {"book.yaml", LIST "  - {when: 2028-11, style: married, bottles: 9}\n", 7, 5, "",
     "needs a name"},
    {"book.yaml", LIST "  - {name: a, style: married, bottles: 9}\n", 7, 5, "", "needs when"},
    {"book.yaml", LIST "  - {name: a, when: 2028-13, style: married, bottles: 9}\n", 7, 21,
     "2028-13", "month"},
    {"book.yaml", LIST "  - {name: a, when: 03/04/2028, style: married, bottles: 9}\n", 7, 21,
     "03/04/2028", "can be 3 April 2028"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, bottles: 9}\n", 7, 5, "", "needs a style"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: singles, bottles: 9}\n", 7, 37,
     "singles", "single casks"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married}\n", 7, 5, "",
     "needs bottles or casks"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, bottles: 0}\n", 7, 55, "0",
     "outside"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, casks: 2.5}\n", 7, 53, "2.5",
     "whole number"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, bottle: 9, casks: 2}\n", 7, 46,
     "bottle", "bottles"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, casks: 2, casks: 3}\n", 7, 56,
     "casks", "keep one of the two"},
    {"book.yaml",
     LIST
     "  - {name: a, when: 2028-11, style: married, casks: 2, strength: {least: 52, most: 49}}\n",
     7, 66, "", "least is more than most (52 and 49 %vol)"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, casks: 2, every: 2 y}\n", 7,
     63, "2 y", "needs releases"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, casks: 2, releases: 2}\n", 7,
     66, "2", "needs every"},
    {"book.yaml", LIST "  - {name: a, when: 2028-11, style: married, casks: 2, archive: -1}\n", 7,
     65, "-1", "outside"},
    {"book.yaml",
     LIST "  - {name: a, when: 2028-11, style: married, casks: 2}\n"
          "  - {name: A, when: 2028-12, style: married, casks: 2}\n",
     8, 12, "A", "is the name of an earlier bottling"},
};

static void slips_are_refused_where_they_are(void **state)
{
    (void)state;
    for (size_t i = 0; i < sizeof slips / sizeof slips[0]; i++)
        assert_slip(&slips[i]);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(reads_what_is_planned),
        cmocka_unit_test(as_drawn_is_as_strong_as_it_is),
        cmocka_unit_test(slips_are_refused_where_they_are),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
