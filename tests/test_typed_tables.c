/* What a whole column of a typed table decides, what is taken and said once, and what is refused in
 * one cell because of the others. */
#include "tests/book_case.h"

#include "model/calendar.h"

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

/* Reads a book with these tables; NULL leaves one out. */
static enum stv_status read_tables(struct stv_book_case *one, const char *casks,
                                   const char *history, const char *gauges)
{
    case_open(one);
    const char *const texts[] = {casks, history, gauges, NULL};
    for (size_t i = 0; i < N_OF(texts); i++)
        case_write(one, case_files[1 + i], texts[i]);
    return case_read(one, true);
}

/* True when a finding of that severity stands at the place and says the phrase. */
static bool is_said(const struct stv_book_case *one, enum stv_severity severity, size_t row,
                    size_t column, const char *phrase)
{
    for (size_t i = 0; i < one->problems.n; i++) {
        const struct stv_problem *problem = &one->problems.items[i];
        if (problem->severity == severity && problem->row == row && problem->column == column &&
            strstr(problem->message, phrase))
            return true;
    }
    print_error("not said at %zu:%zu: %s; said:\n", row, column, phrase);
    case_print(one);
    return false;
}

static size_t n_said(const struct stv_book_case *one, enum stv_severity severity)
{
    return one->problems.n_by_severity[severity];
}

static int64_t day_of(int year, int month, int day)
{
    return stv_day_from_date((struct stv_date){year, month, day});
}

/* One sheet as a house keeps it: other names of columns, a byte-order mark, CRLF, semicolons and
 * decimal commas. */
static void one_sheet_as_it_is_kept(void **state)
{
    (void)state;
    struct stv_book_case one;
    stv_assert_ok(
        read_tables(&one,
                    "\xEF\xBB\xBF"
                    "Cask No.;Cask size (L);Previous contents;Uses;Date filled;Liters [L];ABV;"
                    "Warehouse;Tier no;Bay_No;Depth;Soaked;Remarks\r\n"
                    "007;200;bourbon;0;2019-10-14;195,5;63,5;Long Shed;1;2;1;yes;first; \r\n"
                    "12E3;200;new;0;2019-10-14;190;60;Long Shed;1;3;1;;\r\n",
                    NULL, NULL));
    assert_int_equal(one.problems.n_total, 2);
    assert_true(is_said(&one, STV_NOTED, 1, 70, "decimal comma"));
    const struct stv_ledger *ledger = &one.book.ledger;
    assert_int_equal(ledger->n_casks, 2);
    assert_string_equal(ledger->casks[0].id, "007");
    assert_string_equal(ledger->casks[1].id, "12E3");
    stv_assert_close(ledger->events[0].volume20_l, 195.5, 1e-12, 0.0);
    stv_assert_close(ledger->events[0].abv20_frac, 0.635, 1e-12, 0.0);
    assert_int_equal(ledger->events[0].place.bay_idx, 1);
    case_close(&one);
}

static void other_names_of_columns(void **state)
{
    (void)state;
    struct stv_book_case one;
    /* With commas and points nothing at all is said. */
    stv_assert_ok(read_tables(&one, "barrel number,capacity,held before\n12,53 US gal,new\n",
                              "date,event,cask id,bulk litres,abv %,notes\n"
                              "2024-03-14,fill,12,195 L,60,x\n",
                              "gauged on,cask,strength,initials,comment\n"
                              "2025-03-14,12,120 US proof,AB,\n"));
    assert_int_equal(one.problems.n_total, 0);
    assert_string_equal(one.book.gauges[0].by, "AB");
    case_close(&one);
    /* Two names of one column; a name that may mean two things; a unit that says too little. */
    stv_assert_ok(read_tables(&one, "cask,cask no,size,held\n12,12,200 L,new\n", NULL, NULL));
    assert_true(is_said(&one, STV_REFUSED, 1, 6, "second column of this name, \"cask\""));
    case_close(&one);
    stv_assert_ok(read_tables(&one, "cask,volume,size,held\n12,195 L,200 L,new\n", NULL, NULL));
    assert_true(is_said(&one, STV_REFUSED, 1, 6, "is not a column known here"));
    case_close(&one);
    stv_assert_ok(read_tables(&one, "cask,size,held,strength (%)\n12,200 L,new,\n", NULL, NULL));
    assert_true(is_said(&one, STV_REFUSED, 1, 16, "%vol, or %mass"));
    case_close(&one);
}

static void points_and_commas_of_one_column(void **state)
{
    (void)state;
    struct stv_book_case one;
    static const char casks[] = "cask;size [L];held\n12;200;new\n";
    static const struct {
        const char *history;
        size_t row, column;
        const char *phrase;
    } tables[] = {
        /* 1.234 and 1,234: each may be the other's thousands. */
        {"date;what;cask;litres [ml]\n2024-03-14;sample;12;1.234\n2024-03-15;sample;12;1,234\n", 2,
         22, "write \"1234\" or \"1.234\""},
        {"date;what;cask;litres [ml]\n2024-03-14;sample;12;1.234\n2024-03-15;sample;12;1,234\n", 3,
         22, "\"1.234\" or \"1234\""},
        /* Commas are decimal for sure, so that a point may part thousands. */
        {"date;what;cask;litres [ml]\n2024-03-14;sample;12;195,5\n2024-03-15;sample;12;1.234\n", 3,
         22, "write \"1234\" or \"1,234\""},
        {"date;what;cask;litres [ml]\n2024-03-14;sample;12;195,5\n2024-03-15;sample;12;1.234,5\n",
         3, 22, "write \"1234,5\""},
        /* ... also when another column says so. */
        {"date;what;cask;litres [ml];water [kg]\n2024-03-14;sample;12;1.234;\n"
         "2024-03-15;add water;12;;11,7\n",
         2, 22, "two ways"},
    };
    for (size_t i = 0; i < N_OF(tables); i++) {
        stv_assert_ok(read_tables(&one, casks, tables[i].history, NULL));
        assert_true(is_said(&one, STV_REFUSED, tables[i].row, tables[i].column, tables[i].phrase));
        case_close(&one);
    }
    /* Points alone are points, and so is one thousand that nothing gainsays. */
    stv_assert_ok(read_tables(&one, casks,
                              "date;what;cask;litres [L];strength [%vol]\n"
                              "2024-03-14;fill;12;195.125;60.5\n",
                              NULL));
    assert_int_equal(one.problems.n_total, 0);
    stv_assert_close(one.book.ledger.events[0].volume20_l, 195.125, 1e-12, 0.0);
    case_close(&one);
}

static void the_order_of_dates(void **state)
{
    (void)state;
    struct stv_book_case one;
    static const char casks[] = "cask,size,held\n12,200 L,new\n";
    /* One cell decides, and is named once. */
    stv_assert_ok(read_tables(&one, casks,
                              "date,what,cask,litres,strength\n"
                              "03/04/2024,fill,12,195 L,60 %vol\n"
                              "2024-04-10,leak stopped,12,,\n"
                              "13/04/2024,sample,12,0.2 L,\n"
                              "14/04/2024,sample,12,0.2 L,\n",
                              NULL));
    assert_int_equal(one.problems.n_total, 1);
    assert_true(is_said(&one, STV_NOTED, 4, 1, "read day first"));
    assert_int_equal(one.book.ledger.events[0].day_d, day_of(2024, 4, 3));
    case_close(&one);
    stv_assert_ok(read_tables(&one, casks,
                              "date,what,cask,litres,strength\n"
                              "03/04/2024,fill,12,195 L,60 %vol\n"
                              "03/14/2024,sample,12,0.2 L,\n",
                              NULL));
    assert_true(is_said(&one, STV_NOTED, 3, 1, "read month first"));
    assert_int_equal(one.book.ledger.events[0].day_d, day_of(2024, 3, 4));
    case_close(&one);
    /* Cells that contradict each other, and none that decides: all are refused. */
    stv_assert_ok(read_tables(&one, casks,
                              "date,what,cask\n13/04/2024,empty,12\n04/14/2024,empty,12\n"
                              "04/04/2024,empty,12\n",
                              NULL));
    assert_int_equal(n_said(&one, STV_REFUSED), 3);
    assert_int_equal(n_said(&one, STV_NOTED), 0);
    assert_true(
        is_said(&one, STV_REFUSED, 2, 1, "can only be day first and others only month first"));
    case_close(&one);
    stv_assert_ok(read_tables(&one, casks, "date,what,cask\n03/04/2024,empty,12\n", NULL));
    assert_true(is_said(&one, STV_REFUSED, 2, 1,
                        "3 April 2024 or 4 March 2024: write 2024-04-03 or 2024-03-04"));
    case_close(&one);
}

static void vague_dates(void **state)
{
    (void)state;
    struct stv_book_case one;
    stv_assert_ok(
        read_tables(&one,
                    "cask,size,held,filled,litres,strength\n"
                    "12,200 L,new,\"October 2019, say\",195 L,60 %vol\n"
                    "18,200 L,new,2019-10-14,195 L,60 %vol\n",
                    "date,what,cask,litres\n2020-02,sample,12,0.2 L\n",
                    "date,cask,litres\nabout 2021-03-14,12,181 L\n2021-03-14,18,181 L\n"));
    assert_int_equal(n_said(&one, STV_NOTED), 3);
    assert_int_equal(n_said(&one, STV_REFUSED), 0);
    assert_true(is_said(&one, STV_NOTED, 2, 14, "taken as 16 October 2019, give or take 15 days"));
    assert_true(is_said(&one, STV_NOTED, 2, 1, "taken as 15 February 2020, give or take 14 days"));
    const struct stv_event *events = one.book.ledger.events;
    assert_int_equal(events[1].day_d, day_of(2019, 10, 16));
    stv_assert_close(events[1].day_width_d, 15.0, 0.0, 1e-12);
    stv_assert_close(events[0].day_width_d, 0.0, 0.0, 1e-12);
    stv_assert_close(events[2].day_width_d, 14.0, 0.0, 1e-12);
    stv_assert_close(one.book.gauges[0].day_width_d, 7.0, 0.0, 1e-12);
    stv_assert_close(one.book.gauges[1].day_width_d, 0.0, 0.0, 1e-12);
    case_close(&one);
    /* An exact day before the middle of a vague one: the contradiction says why. */
    stv_assert_ok(read_tables(&one, "cask,size,held\n12,200 L,new\n",
                              "date,what,cask,litres,strength\nOctober 2019,fill,12,195 L,60 %vol\n"
                              "2019-10-03,sample,12,0.2 L,\n",
                              NULL));
    assert_true(is_said(&one, STV_REFUSED, 3, 19, "no exact day: write it out"));
    case_close(&one);
}

/* Blanks that are none, typographic signs, ticked boxes: once for a column, with what was found. */
static void taken_and_said_once(void **state)
{
    (void)state;
    struct stv_book_case one;
    stv_assert_ok(read_tables(
        &one, "cask,size,held\n12\u00A0,200\u00A0L,new\n18,200\u202FL,\u2014\n\u200B19,200 L,new\n",
        "date,what,cask,litres,strength,soaked,note\n"
        "2024-03-14,fill,12,195 L,60 %vol,TRUE,a\u00A0word \u2013 or two\n"
        "2024-03-14,fill,19,195 L,60 %vol,FALSE,\n",
        NULL));
    assert_int_equal(n_said(&one, STV_NOTED), 4);
    assert_int_equal(n_said(&one, STV_REFUSED), 1);
    assert_true(is_said(&one, STV_NOTED, 2, 1, "no plain ones"));
    assert_string_equal(one.problems.items[0].found, "12\u00A0");
    assert_true(is_said(&one, STV_NOTED, 2, 5, "no plain ones"));
    assert_true(is_said(&one, STV_NOTED, 3, 10, "typographic minus or dash"));
    assert_true(is_said(&one, STV_REFUSED, 3, 10, "says nothing"));
    assert_true(is_said(&one, STV_NOTED, 2, 34, "TRUE is read as yes and FALSE as no"));
    assert_int_equal(one.book.ledger.n_casks, 2);
    assert_string_equal(one.book.ledger.casks[1].id, "19");
    assert_true(one.book.ledger.events[0].is_soaked);
    assert_false(one.book.ledger.events[1].is_soaked);
    case_close(&one);
}

/* Damaged ids: the likely one is named; what hangs on a damaged row of casks.csv is not repeated.
 */
static void damaged_ids(void **state)
{
    (void)state;
    struct stv_book_case one;
    static const char casks[] = "cask,size,held\n007,200 L,new\n3-12,200 L,new\n12E3,200 L,new\n"
                                "7-4,200 L,new\n4-7,200 L,new\n";
    static const struct {
        const char *id, *phrase;
    } ids[] = {
        {"7", "did you mean \"007\"? A spreadsheet takes the zeros"},
        {"7.0", "did you mean \"007\"? A spreadsheet takes such a name for a number"},
        {"3-Dec", "did you mean \"3-12\"? A spreadsheet makes a date"},
        {"2024-12-03", "did you mean \"3-12\"? A spreadsheet makes a date"},
        {"12000", "did you mean \"12E3\"? A spreadsheet takes such a name for a number"},
        {"1.20E+04", "did you mean \"12E3\"?"},
        {"7-Apr", "did you mean \"7-4\" or \"4-7\"?"},
        {"5-Jun", "a spreadsheet makes of a name like 5-6 or 6-5"},
        {"#REF!", "formula that failed"},
        {"########", "too narrow"},
        {"TRUE", "ticked box"},
        {"3\u201312", "did you mean \"3-12\"? An editor changes dashes"},
        {"3-1", "did you mean \"3-12\"?"},
    };
    for (size_t i = 0; i < N_OF(ids); i++) {
        char history[160];
        snprintf(history, sizeof history, "date,what,cask\n2024-03-14,empty,%s\n", ids[i].id);
        stv_assert_ok(read_tables(&one, casks, history, NULL));
        assert_int_equal(n_said(&one, STV_REFUSED), 1);
        assert_true(is_said(&one, STV_REFUSED, 2, 18, ids[i].phrase));
        case_close(&one);
    }
    stv_assert_ok(read_tables(&one, "cask,size,held\n3-Dec,200 L,new\n12.0,200 L,new\n",
                              "date,what,cask\n2024-03-14,empty,3-12\n2024-03-14,empty,3-Dec\n"
                              "2024-03-14,empty,12\n",
                              NULL));
    assert_int_equal(n_said(&one, STV_REFUSED), 2);
    assert_true(is_said(&one, STV_REFUSED, 2, 1, "makes of a name like 3-12"));
    assert_true(is_said(&one, STV_NOTED, 0, 0, "3 more rows"));
    case_close(&one);
}

static void damaged_cells(void **state)
{
    (void)state;
    struct stv_book_case one;
    static const struct {
        const char *row, *phrase;
        size_t column;
    } rows[] = {
        {"2024-03-14,fill,12,\"1,234.5 L\",60 %vol,", "write \"1234.5 L\"", 20},
        {"2024-03-14,fill,12,\"1,234 L\",60 %vol,", "two ways", 20},
        {"2024-03-14,fill,12,1'234 L,60 %vol,", "between thousands", 20},
        {"2024-03-14,fill,12,########,60 %vol,", "too narrow", 20},
        {"2024-03-14,fill,12,195 L,#VALUE!,", "formula that failed", 26},
        {"2024-03-14,fill,12,195 L,3-Jun,", "a number like 3.6 or 6.3", 26},
        {"2024-03-14,fill,12,=195,60 %vol,", "spreadsheet's formula", 20},
        {"45292,fill,12,195 L,60 %vol,", "1 January 2024", 1},
        {"########,fill,12,195 L,60 %vol,", "too narrow", 1},
        {"#REF!,fill,12,195 L,60 %vol,", "formula that failed", 1},
        {"2024-03-14,TRUE,12,195 L,60 %vol,", "ticked box", 12},
        {"2024-03-14,move,12,,,2.0,Long Shed", "ends in .0", 22},
        {"2024-03-14,move,12,,,2-Mar,Long Shed", "makes of a name like 2-3", 22},
    };
    for (size_t i = 0; i < N_OF(rows); i++) {
        char history[200];
        snprintf(history, sizeof history, "date,what,cask,litres,strength,tier,warehouse\n%s\n",
                 rows[i].row);
        stv_assert_ok(read_tables(&one, "cask,size,held\n12,200 L,new\n", history, NULL));
        assert_true(is_said(&one, STV_REFUSED, 2, rows[i].column, rows[i].phrase));
        case_close(&one);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(one_sheet_as_it_is_kept),
        cmocka_unit_test(other_names_of_columns),
        cmocka_unit_test(points_and_commas_of_one_column),
        cmocka_unit_test(the_order_of_dates),
        cmocka_unit_test(vague_dates),
        cmocka_unit_test(taken_and_said_once),
        cmocka_unit_test(damaged_ids),
        cmocka_unit_test(damaged_cells),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
