/* A rod's table: what is read, litres between the marks against a lying cylinder, and every slip
 * of the pen refused where it stands. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/rod.h"

#include <stdbool.h>
#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define TEXT_MAX 65536

struct opened {
    struct stv_scratch scratch;
    struct stv_problems problems;
    struct stv_rod rod;
    enum stv_status status;
};

static void rod_open(struct opened *one, const char *text)
{
    stv_scratch_open(&one->scratch);
    stv_problems_init(&one->problems);
    const char *path = stv_scratch_text(&one->scratch, "rod.csv", text);
    one->status = stv_rod_read(path, &one->problems, &one->rod);
}

static void rod_print(const struct opened *one)
{
    for (size_t i = 0; i < one->problems.n; i++) {
        char text[700];
        stv_problem_text(&one->problems.items[i], text, sizeof text);
        print_error("  %s\n", text);
    }
}

static void rod_close(struct opened *one)
{
    stv_rod_free(&one->rod);
    assert_null(one->rod.depth_m);
    assert_int_equal(one->rod.n, 0);
    stv_problems_free(&one->problems);
    stv_scratch_close(&one->scratch);
}

static void rod_good(struct opened *one, const char *text)
{
    rod_open(one, text);
    if (one->status != STV_OK)
        rod_print(one);
    stv_assert_ok(one->status);
    assert_int_equal(one->problems.n_by_severity[STV_REFUSED], 0);
}

/* Three marks of the same rod, as people write them. */
static void units_stand_in_the_header_or_in_the_cells(void **state)
{
    (void)state;
    static const char *const texts[] = {
        "depth [cm],litres [L]\n5.5,12.25\n31,96.75\n58.25,199.5\n",
        "depth,litres\n5.5 cm,12.25 L\n310 mm,9675 cl\n0.5825 m,199.5 L\n",
        "LITRES [L];Depth [mm]\r\n12.25;55\r\n96.75;310\r\n199.5;582.5\r\n",
        "depth [cm];litres [L]\n5,5;12,25\n31;96,75\n58,25;199,5\n",
        "# our own rod\n\ndepth [in],litres [ml]\n5.5 cm,12250\n31 cm,96750\n\n58.25 cm,199500\n",
        "\357\273\277depth [cm]\tlitres [L]\n 5.5 \t 12.25 \n31\t96.75\n58.25\t199.5",
    };
    for (size_t i = 0; i < N_OF(texts); i++) {
        struct opened one;
        rod_good(&one, texts[i]);
        assert_int_equal(one.rod.n, 3);
        stv_assert_close(one.rod.depth_m[0], 0.055, 1e-12, 0.0);
        stv_assert_close(one.rod.depth_m[1], 0.310, 1e-12, 0.0);
        stv_assert_close(stv_rod_full_m(&one.rod), 0.5825, 1e-12, 0.0);
        stv_assert_close(one.rod.volume_l[0], 12.25, 1e-12, 0.0);
        stv_assert_close(one.rod.volume_l[1], 96.75, 1e-12, 0.0);
        stv_assert_close(one.rod.volume_l[2], 199.5, 1e-12, 0.0);
        rod_close(&one);
    }
}

/* Exact factors: yard and pound agreement 1959, US gallon 231 in3. */
static void inches_and_gallons(void **state)
{
    (void)state;
    struct opened one;
    rod_good(&one, "depth [in],litres [US gal]\n2,1.5\n11,24.5\n23.5,53\n");
    stv_assert_close(one.rod.depth_m[1], 11 * 0.0254, 1e-12, 0.0);
    stv_assert_close(one.rod.volume_l[1], 24.5 * 231 * 2.54 * 2.54 * 2.54 / 1000.0, 1e-12, 0.0);
    rod_close(&one);
}

static void a_decimal_comma_is_said(void **state)
{
    (void)state;
    struct opened one;
    rod_good(&one, "depth [cm];litres [L]\n5,5;12\n31;97\n58,25;200\n");
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 1);
    assert_non_null(strstr(one.problems.items[0].message, "decimal comma"));
    rod_close(&one);
}

static void litres_between_the_marks(void **state)
{
    (void)state;
    struct opened one;
    rod_good(&one, "depth [cm],litres [L]\n5.5,12.25\n31,96.75\n58.25,199.5\n");
    const struct stv_rod *rod = &one.rod;
    for (size_t i = 0; i < rod->n; i++)
        stv_assert_close(stv_rod_volume_l(rod, rod->depth_m[i]), rod->volume_l[i], 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, 0.0), 0.0, 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, 0.022), 0.4 * 12.25, 1e-12, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, 0.055 + 0.2 * 0.255), 12.25 + 0.2 * 84.5, 1e-12, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, 0.31 + 0.75 * 0.2725), 96.75 + 0.75 * 102.75, 1e-12,
                     0.0);
    double full_m = stv_rod_full_m(rod);
    stv_assert_close(stv_rod_volume_l(rod, full_m * (1.0 + 1e-15)), (double)NAN, 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, -1e-15), (double)NAN, 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, (double)NAN), (double)NAN, 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(rod, (double)INFINITY), (double)NAN, 0.0, 0.0);
    double last_l = 0.0;
    for (int k = 1; k <= 1000; k++) {
        double here_l = stv_rod_volume_l(rod, full_m * k / 1000.0);
        assert_true(here_l > last_l);
        last_l = here_l;
    }
    rod_close(&one);
}

/* A table that starts at the bottom, where a vat may hold litres that no rod reaches. */
static void a_first_mark_at_the_bottom(void **state)
{
    (void)state;
    struct opened one;
    rod_good(&one, "depth [m],litres [L]\n0,31.5\n1.4,905\n2.8,1802.5\n");
    stv_assert_close(stv_rod_volume_l(&one.rod, 0.0), 31.5, 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(&one.rod, 0.7), 0.5 * (31.5 + 905.0), 1e-12, 0.0);
    rod_close(&one);
}

/* Litres under a depth in a cylinder lying on its side, 0.60 m across and 0.7 m long: the segment
 * of a circle, r^2 acos((r - h)/r) - (r - h) sqrt(2 r h - h^2), times the length. */
static const double across_m = 0.60, long_m = 0.7;

static double cylinder_l(double wet_m)
{
    double r = 0.5 * across_m;
    double segment_m2 = r * r * acos(fmin(fmax((r - wet_m) / r, -1.0), 1.0)) -
                        (r - wet_m) * sqrt(fmax(0.0, 2.0 * r * wet_m - wet_m * wet_m));
    return 1000.0 * long_m * segment_m2;
}

/* Between marks 5 mm apart a line is off by h^2/8 times the growth of the surface, which is
 * 2 L (r - d) / sqrt(2 r d - d^2) per metre: largest at the ends of the stretch. */
static void a_rod_cut_for_a_cylinder(void **state)
{
    (void)state;
    static char text[TEXT_MAX];
    const double step_m = 0.005;
    size_t used = (size_t)snprintf(text, sizeof text, "depth [mm],litres [L]\n");
    for (int k = 1; k <= 120; k++)
        used += (size_t)snprintf(text + used, sizeof text - used, "%d,%.9f\n", 5 * k,
                                 cylinder_l(step_m * k));
    struct opened one;
    rod_good(&one, text);
    assert_int_equal(one.rod.n, 120);
    for (int k = 0; k <= 1000; k++) {
        double wet_m = 0.02 + (across_m - 0.04) * k / 1000.0;
        double end_m = fmax(fmin(wet_m, across_m - wet_m) - step_m, 0.0), r = 0.5 * across_m;
        double growth_m = 2.0 * long_m * (r - end_m) / sqrt(2.0 * r * end_m - end_m * end_m);
        stv_assert_close(stv_rod_volume_l(&one.rod, wet_m), cylinder_l(wet_m), 0.0,
                         1000.0 * growth_m * step_m * step_m / 8.0 + 1e-6);
    }
    rod_close(&one);
}

struct slip {
    const char *text;
    size_t line, column;
    const char *found, *phrase;
};

#define GOOD "depth [cm],litres [L]\n5.5,12\n31,97\n" /* lines 1 to 3 */
static const struct slip slips[] = {
    {GOOD "31,120\n", 4, 1, "31", "is not above that of line 3, and depth rises"},
    {GOOD "30.9,120\n", 4, 1, "30.9", "not above"},
    {GOOD "58,97\n", 4, 4, "97", "is not above that of line 3, and litres rises"},
    {GOOD "58,9.7\n", 4, 4, "9.7", "not above"},
    {GOOD "310,99\n35,102\n", 5, 1, "35", "is not above that of line 4"},
    {GOOD "-58,199\n", 4, 1, "-58", "outside 0 to 10 m"},
    {GOOD "1058,199\n", 4, 1, "1058", "outside 0 to 10 m"},
    {GOOD "58,-1\n", 4, 4, "-1", "cannot be a volume"},
    {GOOD "58,2000000\n", 4, 4, "2000000", "outside 0 to 1000000 L"},
    {GOOD ",199\n", 4, 1, "", "write the depth of the mark"},
    {GOOD "58,-\n", 4, 4, "-", "write the litres at the mark"},
    {GOOD "58,nan\n", 4, 4, "nan", "not a number"},
    {GOOD "58 L,199\n", 4, 1, "58 L", "a unit of volume"},
    {GOOD "58,199 kg\n", 4, 4, "199 kg", "a unit of mass"},
    {GOOD "58,53 gal\n", 4, 4, "53 gal", "US gal or UK gal"},
    {GOOD "58,\"199,5\"\n", 4, 4, "199,5", "decimal comma"},
    {GOOD "58,1,99\n", 4, 1, "58", "decimal comma"},
    {GOOD "58.5,199,full\n", 4, 10, "full", "no column above it"},
    {GOOD "58", 4, 1, "58", "cut short"},
    {GOOD "58,\"19\n9\"\n", 4, 4, "19?9", "on one line"},
    {"depth,litres\n5.5 cm,12 L\n31,97 L\n58 cm,199 L\n", 3, 1, "31", "no unit of length"},
    {"depth,litres\n5.5 cm,12 L\n31 cm,97\n58 cm,199 L\n", 3, 7, "97", "no unit of volume"},
    {"depth [L],litres [L]\n5.5 cm,12\n31 cm,97\n58 cm,199\n", 1, 1, "depth [L]",
     "a unit of volume"},
    {"depth [cm],litrs [L]\n5.5,12\n31,97\n58,199\n", 1, 12, "litrs [L]",
     "did you mean \"litres\""},
    {"depth [cm],litres [L],note\n5.5,12,a\n31,97,b\n58,199,c\n", 1, 23, "note",
     "known: depth, litres"},
    {"depth [cm],litres [L],depth [cm]\n5.5,12,1\n31,97,1\n58,199,1\n", 1, 23, "depth [cm]",
     "second column"},
    {"depth [cm],litres [L]\n5.5,12\n\n31,97\n", 0, 0, "",
     "has 2 marks, and a rod needs at least 3"},
    {"depth [cm],litres [L]\n", 0, 0, "", "has 0 marks"},
    {"", 0, 0, "", "empty"},
    {"<!DOCTYPE html><html></html>", 0, 0, "", "web page"},
    {"%PDF-1.4\n", 0, 0, "", "PDF"},
    {"depth [cm],litres [L]\n5.5,12\n31,9\xE9\n58,199\n", 3, 4, "9\xC3\xA9", "unknown unit"},
};

static bool is_place(const struct stv_problem *problem, const struct slip *slip)
{
    return problem->row == slip->line && problem->column == slip->column &&
           strcmp(problem->found, slip->found) == 0 && strstr(problem->message, slip->phrase);
}

static void slips_are_refused_where_they_stand(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_OF(slips); i++) {
        struct opened one;
        rod_open(&one, slips[i].text);
        bool is_said = false;
        for (size_t k = 0; k < one.problems.n; k++)
            is_said = is_said || is_place(&one.problems.items[k], &slips[i]);
        if (!is_said) {
            print_error("slip %zu, wanted %zu:%zu %s\n", i, slips[i].line, slips[i].column,
                        slips[i].phrase);
            rod_print(&one);
        }
        assert_true(is_said);
        stv_assert_status(one.status, STV_E_PARSE);
        assert_int_equal(one.rod.n, 0);
        assert_null(one.rod.depth_m);
        assert_null(one.rod.volume_l);
        rod_close(&one);
    }
}

/* One slip sets one row against it, not all that follow; several are all said. */
static void each_slip_is_said_once(void **state)
{
    (void)state;
    static const struct {
        const char *text;
        size_t n;
    } cases[] = {
        {GOOD "310,99\n35,102\n36,104\n37,106\n", 1},          {GOOD "3.3,99\n35,102\n36,104\n", 1},
        {GOOD "35,x\n36,104\n37 kg,106\n38,108\n", 2},         {GOOD "340,9,9\n35,100\n", 1},
        {"depth [cm],volume [L]\n5.5,12\n31,97\n58,199\n", 2}, /* unknown, and one missing */
        {"depth [cm],litres [L]\n5.5,12\n5.4,11\n", 3},        /* both cells, and too few rows */
    };
    for (size_t i = 0; i < N_OF(cases); i++) {
        struct opened one;
        rod_open(&one, cases[i].text);
        if (one.problems.n_total != cases[i].n)
            rod_print(&one);
        assert_int_equal(one.problems.n_total, cases[i].n);
        stv_assert_status(one.status, STV_E_PARSE);
        rod_close(&one);
    }
}

static void write_marks(char *text, size_t size, size_t n)
{
    size_t used = (size_t)snprintf(text, size, "depth [mm],litres [L]\n");
    for (size_t k = 1; k <= n; k++)
        used += (size_t)snprintf(text + used, size - used, "%zu,%zu.5\n", k, 3 * k);
    assert_true(used < size);
}

static void as_many_marks_as_are_taken(void **state)
{
    (void)state;
    static char text[TEXT_MAX];
    struct opened one;
    write_marks(text, sizeof text, STV_ROD_MARKS_MOST);
    rod_good(&one, text);
    assert_int_equal(one.rod.n, STV_ROD_MARKS_MOST);
    stv_assert_close(stv_rod_volume_l(&one.rod, 1.2345), 3 * 1234.5 + 0.5, 1e-12, 0.0);
    rod_close(&one);
    write_marks(text, sizeof text, STV_ROD_MARKS_MOST + 7);
    rod_open(&one, text);
    stv_assert_status(one.status, STV_E_PARSE);
    assert_int_equal(one.problems.n_total, 1);
    assert_int_equal(one.problems.items[0].row, STV_ROD_MARKS_MOST + 2);
    assert_non_null(strstr(one.problems.items[0].message, "at most 2000"));
    rod_close(&one);
}

static void a_file_that_is_not_there(void **state)
{
    (void)state;
    struct stv_problems problems;
    struct stv_rod rod = {.n = 5};
    stv_problems_init(&problems);
    stv_assert_status(stv_rod_read("no-such-folder/rod.csv", &problems, &rod), STV_E_IO);
    assert_int_equal(problems.n_by_severity[STV_REFUSED], 1);
    assert_string_equal(problems.items[0].file, "no-such-folder/rod.csv");
    assert_int_equal(rod.n, 0);
    stv_assert_close(stv_rod_full_m(&rod), (double)NAN, 0.0, 0.0);
    stv_assert_close(stv_rod_volume_l(&rod, 0.123), (double)NAN, 0.0, 0.0);
    stv_rod_free(NULL);
    stv_problems_free(&problems);
}

/* Cut anywhere, a file is read whole or refused, never half taken. */
static void a_file_cut_anywhere(void **state)
{
    (void)state;
    static const char whole[] = "depth [cm],litres [L]\n5.5,12\n31,97\n\"58.25\",199\n";
    for (size_t n = 0; n < sizeof whole; n++) {
        char text[sizeof whole];
        memcpy(text, whole, n);
        text[n] = '\0';
        struct opened one;
        rod_open(&one, text);
        /* Without its last line end, or with a digit fewer of the last number, it is a table. */
        bool may_be_good = n + 4 >= sizeof whole;
        assert_true(one.status == STV_OK ? may_be_good : one.problems.n_total > 0);
        assert_int_equal(one.rod.n, one.status == STV_OK ? 3 : 0);
        rod_close(&one);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(units_stand_in_the_header_or_in_the_cells),
        cmocka_unit_test(inches_and_gallons),
        cmocka_unit_test(a_decimal_comma_is_said),
        cmocka_unit_test(litres_between_the_marks),
        cmocka_unit_test(a_first_mark_at_the_bottom),
        cmocka_unit_test(a_rod_cut_for_a_cylinder),
        cmocka_unit_test(slips_are_refused_where_they_stand),
        cmocka_unit_test(each_slip_is_said_once),
        cmocka_unit_test(as_many_marks_as_are_taken),
        cmocka_unit_test(a_file_that_is_not_there),
        cmocka_unit_test(a_file_cut_anywhere),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
