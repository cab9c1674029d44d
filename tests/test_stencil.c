/* Head stencils typed whole: how they are understood, and what they do beside the other cells of a
 * row of casks.csv. */
#include "tests/book_case.h"

#include "ingest/stencil.h"

#include <math.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

static void understood(void **state)
{
    (void)state;
    static const char *const stencils[][3] = {
        {"112 2019 200L 1st fill bourbon T 47.5 kg", "112",
         "number 112, year 2019, size 200 L, first fill, held bourbon, tare 47.5 kg"},
        {"No 112 / 14 / HHD / 2nd fill", "112",
         "number 112, size hogshead, 250 L, second fill; not understood: 14"},
        {"No.112|2019|53 US gal|virgin oak", "112",
         "number 112, year 2019, size 200.6 L, held new"},
        {"#9 ex-bourbon barrel, refill, tare: 104 lb", "9",
         "number 9, size barrel, 200 L, refill, how often is not said, held bourbon, tare 47.17 "
         "kg"},
        {"second whisky fill oloroso butt T98kg", "",
         "size butt, 500 L, second whisky fill, held sherry, tare 98 kg"},
        {"3rd-fill 250 L hogshead", "A", "size 250 L, third fill"},
        {"2nd fill whisky red wine", "A", "second whisky fill, held red wine"},
        {"7th fill", "A", "fill no. 7"},
        {"2019 200 L new", "2019", "number 2019, size 200 L, held new"},
        {"112 200 L", "", "number 112, size 200 L"},
        {"2019 200 L", "", "year 2019, size 200 L"},
        {"QB lot 4 T 47.5", "A", "nothing; not understood: QB, lot, 4, T, 47.5"},
        {"200 L 250 L", "A", "size 200 L; not understood: 250, L"},
        {"200 L butt", "A", "size 200 L; not understood: butt"},
        {"T 900 kg", "A", "nothing; not understood: T, 900, kg"},
        {"47.5 kg", "A", "nothing; not understood: 47.5, kg"},
        {"/ , ;", "A", "nothing"},
    };
    for (size_t i = 0; i < N_OF(stencils); i++) {
        char echo[256];
        struct stv_stencil stencil = stv_stencil_read(stencils[i][0], stencils[i][1]);
        stv_stencil_echo(&stencil, echo, sizeof echo);
        assert_string_equal(echo, stencils[i][2]);
    }
}

static void values(void **state)
{
    (void)state;
    struct stv_stencil stencil = stv_stencil_read("#9 refill T 104 lb puncheon", "9");
    stv_assert_close(stencil.tare_kg, 104 * 0.45359237, 1e-12, 0.0); /* pound of 1959, exact */
    stv_assert_close(stencil.size_l, 500.0, 1e-12, 0.0);
    assert_true(stencil.is_refill);
    assert_int_equal(stencil.fill_no, 0);
    stencil = stv_stencil_read("", "");
    assert_true(isnan(stencil.size_l) && isnan(stencil.tare_kg));
    assert_string_equal(stencil.number, "");
}

/* Words without end do not run over. */
static void a_very_long_stencil(void **state)
{
    (void)state;
    char text[600] = "", echo[64];
    for (size_t i = 0; i + 8 < sizeof text; i += 7)
        memcpy(text + i, "qqqqqq ", 8);
    struct stv_stencil stencil = stv_stencil_read(text, "A");
    stv_stencil_echo(&stencil, echo, sizeof echo);
    assert_non_null(strstr(echo, "not understood: qqqqqq"));
}

static void read_casks(struct stv_book_case *one, const char *casks, bool is_good)
{
    case_open(one);
    for (size_t i = 2; i < 5; i++)
        case_write(one, case_files[i], NULL);
    case_write(one, "casks.csv", casks);
    enum stv_status status = case_read(one, false);
    if (is_good != (status == STV_OK))
        case_print(one);
    stv_assert_status(status, is_good ? STV_OK : STV_E_PARSE);
}

static void a_stencil_fills_in(void **state)
{
    (void)state;
    struct stv_book_case one;
    read_casks(&one,
               "cask,stencil,uses\n"
               "112,112 2019 200L 1st fill bourbon T 47.5 kg,\n"
               "113,HHD 2nd fill,1\n"
               "114,HHD sherry 2nd fill,0\n"
               ",No 115 butt 3rd whisky fill port,\n",
               true);
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 4);
    assert_int_equal(one.problems.items[0].row, 2);
    assert_int_equal(one.problems.items[0].column, 5);
    assert_non_null(strstr(one.problems.items[0].message, "understood as number 112"));
    const struct stv_cask *casks = one.book.ledger.casks;
    assert_int_equal(one.book.ledger.n_casks, 4);
    assert_string_equal(casks[0].kind_name, "first-fill bourbon 200 L");
    stv_assert_close(casks[0].tare_kg, 47.5, 1e-12, 0.0);
    assert_string_equal(casks[1].kind_name, "refill 250 L");
    assert_true(isnan(casks[1].tare_kg));
    assert_int_equal(casks[2].history, STV_WOOD_HELD_FORTIFIED); /* the second liquid */
    assert_string_equal(casks[3].id, "115");
    assert_int_equal(casks[3].history, STV_WOOD_HELD_SPIRIT);
    case_close(&one);
    /* The row's own cells win, and a name of a size is only about so many litres. */
    read_casks(&one, "cask,size,held,stencil\n7,225 L,whiskey,hogshead whisky\n8,190 L,new,ASB\n",
               true);
    stv_assert_close(one.book.ledger.casks[0].geometry.capacity_l, 225.0, 1e-12, 0.0);
    stv_assert_close(one.book.ledger.casks[1].geometry.capacity_l, 190.0, 1e-12, 0.0);
    case_close(&one);
    /* The year before the fill is the spirit's. */
    read_casks(&one,
               "cask,size,held,stencil,filled,litres,strength\n"
               "7,225 L,new,2018,2019-01-20,200 L,60 %vol\n",
               true);
    case_close(&one);
}

static void a_stencil_that_contradicts(void **state)
{
    (void)state;
#define HEAD "cask,size,held,uses,filled,litres,strength,stencil\n"
    static const struct {
        const char *casks, *phrase;
    } rows[] = {
        {HEAD "112,200 L,new,0,,,,No 113\n", "says number 113, but the row is of cask 112"},
        {HEAD "112,200 L,new,0,,,,250 L\n", "says 250 L, but the row 200 L"},
        {HEAD "112,200 L,new,0,,,,HHD\n", "says hogshead, about 250 L, but the row 200 L"},
        {HEAD "112,200 L,new,0,,,,bourbon\n", "says it held bourbon, but the row new"},
        {HEAD "112,200 L,new,0,,,,refill\n", "says refill, but uses says 0"},
        {HEAD "112,200 L,port,4,,,,2nd fill\n", "says fill 2, but uses says 4"},
        {HEAD "112,200 L,new,0,2021-05-05,190 L,60 %vol,2019\n",
         "says 2019, but the row a fill in 2021"},
        {HEAD "112,200 L,new,0,2019-05-05,190 L,60 %vol,2020\n",
         "says 2020, but the row a fill in 2019"},
        {HEAD "112,200 L,port,,,,,2nd fill\n",
         "whisky no. 2 in this wood (write 1 under uses) or liquid no. 2"},
        {HEAD "112,200 L,port,,,,,third fill\n", "(write 2 under uses) or liquid no. 3"},
        {HEAD "112,,,,,,,HHD 2nd fill\n", "whisky no. 2 in this wood"},
        {HEAD "112,200 L,,,,,,1st fill\n", "what it held before"},
        {HEAD "112,,new,,,,,1st fill\n", "the cask's capacity"},
        {HEAD ",200 L,new,,,,,bare\n", ""},
        {"cask,stencil\n112,bourbon\n", "a column \"size\" is needed here"},
        {"cask,note\n112,bourbon\n", "the column \"size\" is missing from the first row"},
    };
    for (size_t i = 0; i < N_OF(rows); i++) {
        struct stv_book_case one;
        bool is_good = rows[i].phrase[0] == '\0';
        bool is_said = is_good;
        read_casks(&one, rows[i].casks, is_good);
        for (size_t k = 0; k < one.problems.n; k++)
            is_said |= one.problems.items[k].severity == STV_REFUSED &&
                       strstr(one.problems.items[k].message, rows[i].phrase);
        if (!is_said)
            case_print(&one);
        assert_true(is_said);
        /* One fault, one message; a table without two columns has two. */
        assert_int_equal(one.problems.n_by_severity[STV_REFUSED],
                         is_good                                       ? 0
                         : strncmp(rows[i].casks, "cask,note", 9) == 0 ? 2
                                                                       : 1);
        case_close(&one);
    }
#undef HEAD
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(understood),
        cmocka_unit_test(values),
        cmocka_unit_test(a_very_long_stencil),
        cmocka_unit_test(a_stencil_fills_in),
        cmocka_unit_test(a_stencil_that_contradicts),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
