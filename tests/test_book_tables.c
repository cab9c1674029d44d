/* Slips of the pen in casks.csv, history.csv, gauges.csv and loggers.csv: each gives one refusal
 * with its line, column, the text found and what to do; spreadsheets' habits that cannot be read
 * two ways are taken. */
#include "tests/book_case.h"

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

#define CASKS "cask,size,held,uses\n12,200 L,new,0\n18,200 L,new,0\nA-26,500 L,sherry,0\n"
#define H "date,what,cask,to,litres,strength,water,warehouse,tier,bay,depth,soaked,note\n"
#define FILL12 "2024-03-14,fill,12,,195 L,60 %vol,,,,,,,\n"
#define G "date,cask,litres,strength,nose,by,note\n"
#define L "file,warehouse,tier,bay,depth,clock,from,to,temp_correction,rh_correction\n"

static const struct stv_slip casks_slips[] = {
    {"casks.csv", CASKS "12,250 L,new,0\n", 5, 1, "12", "cask of line 2 already"},
    {"casks.csv", CASKS "27,200,new,0\n", 5, 4, "200", "no unit of volume"},
    {"casks.csv", CASKS "27,200 kg,new,0\n", 5, 4, "200 kg", "unit of mass"},
    {"casks.csv", CASKS "27,5000 L,new,0\n", 5, 4, "5000 L", "outside 1 to 1000 L"},
    {"casks.csv", CASKS "27,\"199,5 L\",new,0\n", 5, 4, "199,5 L", "decimal comma"},
    {"casks.csv", CASKS "27,200 L,shery,0\n", 5, 10, "shery", "did you mean \"sherry\""},
    {"casks.csv", CASKS "27,200 L,,0\n", 5, 10, "", "what it held before"},
    {"casks.csv", CASKS "27,200 L,new,-1\n", 5, 14, "-1", "whole number"},
    {"casks.csv", CASKS ",200 L,new,0\n", 5, 1, "", "number or name"},
    {"casks.csv", CASKS "27,200 L,new,0,extra\n", 5, 16, "extra", "no column above it"},
    {"casks.csv", CASKS "27,200 L,\"ne\nw\",0\n", 5, 10, "ne?w", "on one line"},
    {"casks.csv", CASKS "27,200 L,ne", 5, 10, "ne", "cut short"},
    {"casks.csv", "cask,size,held,usess\n12,200 L,new,0\n18,200 L,new,0\nA-26,500 L,port,0\n", 1,
     16, "usess", "did you mean \"uses\""},
    {"casks.csv", "cask,size,held,size\n12,200 L,new,\n18,200 L,new,\nA-26,500 L,port,\n", 1, 16,
     "size", "second column"},
    {"casks.csv", "cask,size [kg],held\n12,200 L,new\n18,200 L,new\nA-26,500 L,port\n", 1, 6,
     "size [kg]", "unit of mass"},
    {"casks.csv", "cask [L],size,held\n12,200 L,new\n18,200 L,new\nA-26,500 L,port\n", 1, 1,
     "cask [L]", "takes no unit"},
    {"casks.csv", "cask,size [L,held\n12,200 L,new\n18,200 L,new\nA-26,500 L,port\n", 1, 6,
     "size [L", "unit in brackets"},
    {"casks.csv", "cask,size,held\n12,200 L,new\n18,200 L,new\nA-26,500 L,new\nb\xE9,5 L,new\n", 5,
     2, "", "UTF-8"},
    {"casks.csv", "%PDF-1.4\n", 0, 0, "", "PDF"},
    {"casks.csv", "<html></html>", 0, 0, "", "web page"},
    {"casks.csv", "", 0, 0, "", "empty"},
};

static const struct stv_slip history_slips[] = {
    {"history.csv", H "2024-02-30,fill,12,,195 L,60 %vol,,,,,,,\n", 2, 1, "2024-02-30",
     "does not exist"},
    {"history.csv", H "04.03.2024,fill,12,,195 L,60 %vol,,,,,,,\n", 2, 1, "04.03.2024",
     "2024-03-04 or 2024-04-03"},
    {"history.csv", H "2024-03-14,fil,12,,195 L,60 %vol,,,,,,,\n", 2, 12, "fil",
     "did you mean \"fill\""},
    {"history.csv", H "2024-03-14,fill,A26,,195 L,60 %vol,,,,,,,\n", 2, 17, "A26",
     "did you mean \"A-26\""},
    {"history.csv", H "2024-03-14,fill,0012,,195 L,60 %vol,,,,,,,\n", 2, 17, "0012",
     "did you mean \"12\""},
    {"history.csv", H "2024-03-14,fill,2024-03-12,,195 L,60 %vol,,,,,,,\n", 2, 17, "2024-03-12",
     "spreadsheet makes of a name like 12-3 or 3-12"},
    {"history.csv", H "2024-03-14,fill,zzzzzz,,195 L,60 %vol,,,,,,,\n", 2, 17, "zzzzzz",
     "add a row there"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,60 kg,,,,,,,\n", 2, 27, "60 kg", "unit of mass"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,60,,,,,,,\n", 2, 27, "60", "no unit of strength"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,120 proof,,,,,,,\n", 2, 27, "120 proof",
     "US proof or UK proof"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,110 %vol,,,,,,,\n", 2, 27, "110 %vol",
     "cannot be a strength"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,99 %vol,,,,,,,\n", 2, 27, "99 %vol",
     "outside 5 to 97.2 %vol"},
    {"history.csv", H "2024-03-14,fill,12,,,60 %vol,,,,,,,\n", 2, 21, "", "how much went in"},
    {"history.csv", H "2024-03-14,fill,12,,0x10 L,60 %vol,,,,,,,\n", 2, 21, "0x10 L",
     "hexadecimal"},
    {"history.csv", H "2024-03-14,fill,12,,inf L,60 %vol,,,,,,,\n", 2, 21, "inf L", "not a number"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,60 %vol,12 kg,,,,,,\n", 2, 35, "12 kg",
     "means nothing in a row of \"fill\""},
    {"history.csv", H "2024-03-14,fill,12,,250 L,60 %vol,,,,,,,\n", 2, 17, "12", "do not go into"},
    {"history.csv", H FILL12 "2024-05-01,fill,12,,195 L,60 %vol,,,,,,,\n", 3, 17, "12",
     "already full"},
    {"history.csv", H "2024-05-01,sample,12,,200 ml,,,,,,,,\n", 2, 19, "12", "is empty"},
    {"history.csv", H FILL12 "2024-05-01,add water,12,,,,12 L,,,,,,\n", 3, 28, "12 L",
     "unit of volume"},
    {"history.csv", H FILL12 "2024-05-01,add water,12,,,,,,,,,,\n", 3, 28, "", "how much water"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,,,,,,\n", 3, 25, "", "the tier it went to"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,Long Shed,7,,,,\n", 3, 34, "7", "has only 6"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,Long Shed,6,13,,,\n", 3, 36, "13",
     "has only 12"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,Long Shed,6,12,3,,\n", 3, 39, "3",
     "has only 2"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,Long Shed,0,,,,\n", 3, 34, "0", "outside 1"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,Log Shed,6,,,,\n", 3, 24, "Log Shed",
     "did you mean \"Long Shed\""},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,,6,,,,\n", 3, 24, "", "which warehouse"},
    {"history.csv", H FILL12 "2024-05-01,move,12,,,,,Long Shed,6,,2,,\n", 3, 36, "", "the bay too"},
    {"history.csv", H FILL12 "2024-05-01,transfer,12,12,,,,,,,,,\n", 3, 21, "12", "into itself"},
    {"history.csv", H FILL12 "2024-05-01,transfer,12,,,,,,,,,,\n", 3, 24, "",
     "a cask of casks.csv"},
    {"history.csv",
     H "2024-03-14,fill,12,,195 L,60 %vol,,Long Shed,1,1,1,,\n"
       "2024-03-15,fill,18,,195 L,60 %vol,,Long Shed,1,1,1,,\n",
     3, 17, "18", "two casks in one place"},
    {"history.csv", H "2024-03-14,fill,12,,195 L,60 %vol,,,,,,maybe,\n", 2, 40, "maybe",
     "yes or no"},
    {"history.csv", H FILL12 "2024-05-01,sample,12,,\"0,2 L\",,,,,,,,\n", 3, 23, "0,2 L",
     "write \"0.2 L\""},
    {"history.csv", H "2024-03-14,fill,12,,\"1,950 L\",60 %vol,,,,,,,\n", 2, 21, "1,950 L",
     "two ways"},
    {"history.csv", H FILL12 "2024-05-01,sample,12,,0,2 L,,,,,,,,\n", 3, 23, "0",
     "write \"0.2 L\" with a point"},
};

static const struct stv_slip other_slips[] = {
    {"gauges.csv", G "2025-09-24,13,184 L,56 %vol,,,\n", 2, 12, "13", "did you mean"},
    {"gauges.csv", G "2025-09-24,\"12,184 L,56 %vol,,,\n", 2, 12, "\"12", "never closed"},
    {"gauges.csv", G "2025-09-24,12,160,61,ready,AB,note,extra,more\n", 2, 36, "extra",
     "no column above it"},
    {"gauges.csv", G "2025-09-24,12,160,5,61,2,ready,AB,note\n", 2, 15, "160", "decimal comma"},
    {"gauges.csv", G "2025-09-24,12,184 L,56 %vol,redy,,\n", 2, 29, "redy",
     "did you mean \"ready\""},
    {"gauges.csv", G "2025-09-24,12,184,56 %vol,,,\n", 2, 15, "184", "no unit of volume"},
    {"gauges.csv", G "2025-09-24,12,240 L,56 %vol,,,\n", 2, 15, "240 L", "more than cask 12 holds"},
    {"gauges.csv", G "2025-09-24,12,,,,AB,\n", 2, 17, "", "one of them at least"},
    {"gauges.csv", G "2025-9-31,12,,,over,AB,\n", 2, 1, "2025-9-31", "does not exist"},
    {"gauges.csv", G "24.9.25,12,,,over,AB,\n", 2, 1, "24.9.25", "2024-03-14"},
    {"gauges.csv", "cask,litres\n12,184 L\n", 1, 0, "", "\"date\" is missing"},
    {"loggers.csv", L "absent.csv,Long Shed,5,4,1,,,,,\n", 2, 1, "absent.csv", "no such file"},
    {"loggers.csv", L "rack.csv,Long Shed,,,,,,,,\n", 2, 20, "", "the tier it hangs at"},
    {"loggers.csv", L "rack.csv,outdoors,2,,,,,,,\n", 2, 19, "2", "means nothing outdoors"},
    {"loggers.csv", L "rack.csv,Long Shed,5,4,1,noonish,,,,\n", 2, 26, "noonish", ""},
    {"loggers.csv", L "rack.csv,Long Shed,5,4,1,,2024-13-01,,,\n", 2, 27, "2024-13-01",
     "does not exist"},
    {"loggers.csv", L "rack.csv,Long Shed,5,4,1,,2024-05-01,2024-04-01,,\n", 2, 38, "2024-04-01",
     "before"},
    {"loggers.csv", L "rack.csv,Long Shed,5,4,1,,,,-20 K,\n", 2, 29, "-20 K",
     "outside -10 to 10 K"},
    {"loggers.csv", L "rack.csv,Long Shed,5,4,1,,,,0.3,\n", 2, 29, "0.3", "no unit of temperature"},
    {"loggers.csv", L "rack.csv,Long Shed,5,4,1,,,,,80 %\n", 2, 30, "80 %", "outside -30 to 30 %"},
};

/* The tables that do not matter for a slip are left out, so that one refusal is the only one. */
static bool slip_is_said(const struct stv_slip *slip)
{
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "book.yaml",
               "name: x\nwarehouses:\n"
               "  - {name: Long Shed, kind: racked shed, tiers: 6, bays: 12, depth: 2}\n"
               "  - {name: Low Store, kind: dunnage, tiers: 3, bays: 5, depth: 1}\n");
    case_write(&one, "casks.csv", CASKS);
    for (size_t i = 2; i < 5; i++)
        case_write(&one, case_files[i], NULL);
    case_write(&one, slip->file, slip->text);
    enum stv_status status = case_read(&one, false);
    bool is_said = status != STV_OK && case_says(&one, slip);
    if (!is_said) {
        print_error("wanted %s:%zu:%zu \"%s\" %s; said\n", slip->file, slip->row, slip->column,
                    slip->found, slip->phrase);
        case_print(&one);
    }
    case_close(&one);
    return is_said;
}

static void assert_all_said(const struct stv_slip *slips, size_t n)
{
    size_t n_missed = 0;
    for (size_t i = 0; i < n; i++)
        n_missed += !slip_is_said(&slips[i]);
    assert_int_equal(n_missed, 0);
}

static void slips_of_the_casks(void **state)
{
    (void)state;
    assert_all_said(casks_slips, N_OF(casks_slips));
}

static void slips_of_the_history(void **state)
{
    (void)state;
    assert_all_said(history_slips, N_OF(history_slips));
}

static void slips_of_gauges_and_loggers(void **state)
{
    (void)state;
    assert_all_said(other_slips, N_OF(other_slips));
}

static void history_needs_casks(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "casks.csv", NULL);
    case_write(&one, "gauges.csv", NULL);
    stv_assert_status(case_read(&one, false), STV_E_PARSE);
    assert_int_equal(one.problems.n_total, 1);
    assert_non_null(strstr(one.problems.items[0].message, "needs a casks.csv"));
    case_close(&one);
}

static void decimal_commas_of_a_whole_column(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "history.csv",
               "date;what;cask;litres [L];strength [%vol];note\r\n"
               "2024-03-14;fill;12;195,5;60;half, or so\r\n"
               "2024-03-14;fill;18;190;63,5;\r\n"
               ";;;;;\r\n");
    stv_assert_ok(case_read(&one, false));
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 2);
    assert_int_equal(one.problems.items[0].row, 1);
    assert_int_equal(one.problems.items[0].column, 16);
    assert_string_equal(one.problems.items[0].found, "litres [L]");
    const struct stv_ledger *ledger = &one.book.ledger;
    stv_assert_close(ledger->events[0].volume20_l, 195.5, 1e-12, 0.0);
    stv_assert_close(ledger->events[1].abv20_frac, 0.635, 1e-12, 0.0);
    case_close(&one);
}

static void decimal_commas_that_can_be_read_two_ways(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    /* Points and commas in one column; and a comma that may stand between thousands. */
    case_write(&one, "history.csv",
               "date;what;cask;litres [L];strength [%vol]\n"
               "2024-03-14;fill;12;195,5;60\n"
               "2024-03-14;fill;18;190.5;60\n");
    stv_assert_status(case_read(&one, false), STV_E_PARSE);
    assert_int_equal(one.problems.items[0].row, 2);
    assert_int_equal(one.problems.items[0].column, 20);
    case_close(&one);
    case_open(&one);
    case_write(&one, "history.csv",
               "date;what;cask;litres [ml]\n"
               "2024-03-14;sample;12;1,200\n");
    stv_assert_status(case_read(&one, false), STV_E_PARSE);
    assert_non_null(strstr(one.problems.items[0].message, "two ways"));
    case_close(&one);
}

static void one_sheet_with_fills(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "history.csv", NULL);
    case_write(&one, "casks.csv",
               "Cask,Size [US gal],Held,Uses,Filled,Litres,Strength [US proof],Tier,Warehouse\n"
               "12,53,new,0,2024-03-14,50 US gal,120,5,Long Shed\n"
               "18,53,new,0,,,,,\n");
    stv_assert_ok(case_read(&one, false));
    const struct stv_ledger *ledger = &one.book.ledger;
    assert_int_equal(ledger->n_casks, 2);
    assert_int_equal(ledger->n_events, 1);
    assert_int_equal(ledger->events[0].row, 0);
    stv_assert_close(ledger->events[0].volume20_l, 50 * 3.785411784, 1e-12, 0.0);
    assert_int_equal(ledger->events[0].place.tier_idx, 4);
    case_close(&one);
    /* A second fill in history.csv contradicts at its row; too much in the sheet, at the sheet's.
     */
    case_open(&one);
    case_write(&one, "casks.csv",
               "cask,size,held,filled,litres,strength\n"
               "A-26,500 L,sherry,,,\n18,200 L,new,,,\n"
               "12,200 L,new,2024-03-14,250 L,60 %vol\n");
    case_write(&one, "history.csv", "date,what,cask\n");
    stv_assert_status(case_read(&one, false), STV_E_CONSISTENCY);
    const struct stv_problem *problem = &one.problems.items[0];
    assert_non_null(strstr(problem->file, "casks.csv"));
    assert_int_equal(problem->row, 4);
    assert_int_equal(problem->column, 1);
    case_close(&one);
}

static void names_of_wood(void **state)
{
    (void)state;
    struct stv_book_case one;
    case_open(&one);
    for (size_t i = 2; i < 5; i++)
        case_write(&one, case_files[i], NULL);
    case_write(&one, "casks.csv",
               "cask,size,held,uses,kind,stave\n"
               "1,200 L,new,0,house barrel,27 mm\n2,200 L,new,2,,\n3,250 L,port,0,,\n"
               "4,250 L,port,1,,\n5,225 L,wine,0,,\n6,200 L,Bourbon,-,-,\n");
    stv_assert_ok(case_read(&one, false));
    const struct stv_cask *casks = one.book.ledger.casks;
    assert_string_equal(casks[0].kind_name, "house barrel");
    stv_assert_close(casks[0].geometry.stave_mm, 27.0, 1e-12, 0.0);
    assert_int_equal(casks[1].history, STV_WOOD_HELD_SPIRIT);
    assert_string_equal(casks[1].kind_name, "refill 200 L");
    assert_int_equal(casks[2].history, STV_WOOD_HELD_FORTIFIED);
    assert_int_equal(casks[3].history, STV_WOOD_HELD_SPIRIT);
    assert_int_equal(casks[4].history, STV_WOOD_HELD_SPIRIT);
    assert_string_equal(casks[5].kind_name, "first-fill bourbon 200 L");
    case_close(&one);
}

/* Many casks and as many unknown ids: nothing grows with their product. */
static void a_large_book_with_every_id_wrong(void **state)
{
    (void)state;
    enum { N = 20000 };
    size_t size = (size_t)N * 64, n_casks = 0, n_history = 0;
    char *casks = malloc(size), *history = malloc(size);
    assert_non_null(casks);
    assert_non_null(history);
    n_casks += (size_t)snprintf(casks, size, "cask,size,held\n");
    n_history += (size_t)snprintf(history, size, "date,what,cask\n");
    for (int i = 0; i < N; i++) {
        n_casks += (size_t)snprintf(casks + n_casks, size - n_casks, "%d,200 L,new\n", i);
        n_history +=
            (size_t)snprintf(history + n_history, size - n_history, "2024-01-01,empty,x%d\n", i);
    }
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "gauges.csv", NULL);
    case_write(&one, "casks.csv", casks);
    case_write(&one, "history.csv", history);
    stv_assert_ok(case_read(&one, true));
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], N);
    assert_int_equal(one.book.ledger.n_casks, N);
    assert_int_equal(one.book.ledger.n_events, 0);
    case_close(&one);
    free(casks);
    free(history);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(slips_of_the_casks),
        cmocka_unit_test(slips_of_the_history),
        cmocka_unit_test(slips_of_gauges_and_loggers),
        cmocka_unit_test(history_needs_casks),
        cmocka_unit_test(decimal_commas_of_a_whole_column),
        cmocka_unit_test(decimal_commas_that_can_be_read_two_ways),
        cmocka_unit_test(one_sheet_with_fills),
        cmocka_unit_test(names_of_wood),
        cmocka_unit_test(a_large_book_with_every_id_wrong),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
