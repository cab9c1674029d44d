/* Slips in gauges.csv that the cask's other gauges show: story by story, what is set aside and what
 * is left alone. */
#include "tests/book_case.h"

#include <math.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define HEAD "date,cask,litres,strength\n"

struct story {
    const char *what, *history, *gauges;
    const char *found; /* of the finding, NULL for none; the rest of them are counted */
    size_t row, n;
    const char *phrase;
};

static const char fill[] = "date,what,cask,litres,strength,water,to\n"
                           "2019-03-03,fill,12,195 L,63.8 %vol,,\n";
static const char watered[] = "date,what,cask,litres,strength,water,to\n"
                              "2019-03-03,fill,12,175 L,63.8 %vol,,\n"
                              "2021-06-01,add water,12,,,18 kg,\n";
static const char topped[] = "date,what,cask,litres,strength,water,to\n"
                             "2019-03-03,fill,12,195 L,63.8 %vol,,\n"
                             "2021-06-01,top up,12,12 L,63 %vol,,\n";
static const char vague[] = "date,what,cask,litres,strength,water,to\n"
                            "2019-03-03,fill,12,195 L,63.8 %vol,,\n"
                            "June 2021,top up,12,12 L,63 %vol,,\n";
static const char moved_in[] = "date,what,cask,litres,strength,water,to\n"
                               "2019-03-03,fill,12,150 L,63.8 %vol,,\n"
                               "2019-03-03,fill,18,195 L,63.8 %vol,,\n"
                               "2021-06-01,transfer,18,30 L,,,12\n";

static const char drawn[] = "date,what,cask,litres,strength,water,to\n"
                            "2019-03-03,fill,12,195 L,63.8 %vol,,\n"
                            "2020-05-01,sample,12,160 L,,,\n";

static const struct story stories[] = {
    {"two figures changed places", fill,
     HEAD "2020-03-01,12,187 L,63.4\n2021-03-01,12,181 L,62.9\n2022-03-01,12,176 L,26.3\n"
          "2023-03-01,12,172 L,62.0\n",
     "26.3", 4, 1, "\"62.3\" would not be"},
    {"at the end", fill, HEAD "2020-03-01,12,187 L,63.4\n2021-03-01,12,181 L,26.9\n", "26.9", 3, 1,
     "\"62.9\""},
    {"right after the fill", fill, HEAD "2020-03-01,12,187 L,36.4\n", "36.4", 2, 1, "\"63.4\""},
    {"over the point", fill,
     HEAD "2020-03-01,12,187 L,58.2\n2021-03-01,12,181 L,52.8\n2022-03-01,12,177 L,58.0\n", "52.8",
     3, 1, "\"58.2\""},
    {"in another unit", fill,
     HEAD "2020-03-01,12,187 L,126.8 US proof\n2021-03-01,12,181 L,162.8 US proof\n",
     "162.8 US proof", 3, 1, "\"126.8 US proof\""},
    {"far off, but no two figures changed", fill,
     HEAD "2020-03-01,12,187 L,63.4\n2021-03-01,12,181 L,52.9\n2022-03-01,12,176 L,62.3\n", NULL, 0,
     0, ""},
    {"a point or two is drift", fill,
     HEAD "2020-03-01,12,187 L,63.4\n2021-03-01,12,181 L,64.5\n2022-03-01,12,176 L,62.3\n", NULL, 0,
     0, ""},
    {"the fill itself may be the slip: left alone",
     "date,what,cask,litres,strength\n"
     "2019-03-03,fill,12,195 L,36.8 %vol\n",
     HEAD "2020-03-01,12,187 L,63.4\n2021-03-01,12,181 L,62.9\n", NULL, 0, 0, ""},
    {"water between", watered, HEAD "2021-03-01,12,168 L,63.4\n2022-03-01,12,183 L,36.4\n", NULL, 0,
     0, ""},
    {"litres rise", fill,
     HEAD
     "2020-03-01,12,187 L,\n2021-03-01,12,181 L,\n2022-03-01,12,191 L,\n2023-03-01,12,172 L,\n",
     "191 L", 4, 1, "10.0 L more than the 181.0 L gauged on 2021-03-01"},
    {"one too low", fill,
     HEAD
     "2020-03-01,12,187 L,\n2021-03-01,12,118 L,\n2022-03-01,12,176 L,\n2023-03-01,12,172 L,\n",
     "118 L", 3, 1, "58.0 L less than the 176.0 L gauged on 2022-03-01"},
    {"more than was filled", fill, HEAD "2020-03-01,12,199 L,63.4\n", "199 L", 2, 1,
     "4.0 L more than the 195.0 L filled on 2019-03-03"},
    {"inside the gauge's error", fill, HEAD "2020-03-01,12,187 L,\n2021-03-01,12,189.7 L,\n", NULL,
     0, 0, ""},
    {"just outside of it", fill, HEAD "2020-03-01,12,187 L,\n2021-03-01,12,189.9 L,\n", "189.9 L",
     3, 1, "2.9 L more"},
    {"topped up between", topped, HEAD "2021-03-01,12,181 L,\n2022-03-01,12,191 L,\n", NULL, 0, 0,
     ""},
    {"gauged on the day of the top-up", topped, HEAD "2021-03-01,12,181 L,\n2021-06-01,12,191 L,\n",
     NULL, 0, 0, ""},
    {"topped up some day that month", vague, HEAD "2021-03-01,12,181 L,\n2021-06-01,12,191 L,\n",
     NULL, 0, 0, ""},
    {"poured over between", moved_in, HEAD "2021-03-01,12,141 L,\n2022-03-01,12,166 L,\n", NULL, 0,
     0, ""},
    {"the cask that poured only loses", moved_in,
     HEAD "2021-03-01,18,161 L,\n2022-03-01,18,166 L,\n", "166 L", 3, 1, "more"},
    {"a slip that a later gauge proves", fill,
     HEAD "2020-03-01,12,188 L,\n2021-03-01,12,142 L,\n2022-03-01,12,176 L,\n", "142 L", 3, 1,
     "less than the 176.0 L"},
    {"order not known", fill, HEAD "about 2021-03-01,12,181 L,\nabout 2021-03-04,12,191 L,\n", NULL,
     0, 0, ""},
    {"two casks do not mix",
     "date,what,cask,litres,strength\n2019-03-03,fill,12,150 L,60 %vol\n"
     "2019-03-03,fill,18,195 L,60 %vol\n",
     HEAD "2021-03-01,12,141 L,\n2022-03-01,18,186 L,\n", NULL, 0, 0, ""},
    {"no loss explains it", fill, HEAD "2020-03-01,12,187 L,\n2021-03-01,12,18 L,\n", "18 L", 3, 1,
     "169.0 L less than the 187.0 L gauged on 2020-03-01 (line 2), more than wood and air take"},
    {"nor from the fill", fill, HEAD "2020-03-01,12,18 L,\n", "18 L", 2, 1,
     "177.0 L less than the 195.0 L filled on 2019-03-03, more than wood and air take"},
    {"the bad row before a good one", fill, HEAD "2020-03-01,12,17 L,\n2020-06-01,12,185 L,\n",
     "17 L", 2, 1, "178.0 L less than the 195.0 L filled on 2019-03-03"},
    {"one too high among many", fill,
     HEAD "2026-03-01,12,190 L,\n2026-06-01,12,76 L,\n2026-09-01,12,74 L,\n", "190 L", 2, 1,
     "Line 3 fits the others; this row is not used"},
    {"either of two may be wrong", fill, HEAD "2020-03-01,12,181 L,\n2021-03-01,12,189.9 L,\n",
     "189.9 L", 3, 1, "Line 2 may be the wrong one as well"},
    {"a leak that a second gauge bears out", fill,
     HEAD "2020-03-01,12,187 L,\n2021-03-01,12,18 L,\n2021-06-01,12,16 L,\n", NULL, 0, 0, ""},
    {"a leak as they come", fill, HEAD "2020-03-01,12,187 L,\n2021-03-01,12,120 L,\n", NULL, 0, 0,
     ""},
    {"drawn off by the history", drawn, HEAD "2020-03-01,12,187 L,\n2021-03-01,12,18 L,\n", NULL, 0,
     0, ""},
    {"both in one row", fill,
     HEAD "2020-03-01,12,187 L,63.4\n2021-03-01,12,181 L,62.9\n2022-03-01,12,191 L,26.3\n"
          "2023-03-01,12,172 L,62.0\n",
     "26.3", 4, 2, "\"62.3\""},
};

static bool is_told(const struct story *story)
{
    struct stv_book_case one;
    case_open(&one);
    case_write(&one, "history.csv", story->history);
    case_write(&one, "gauges.csv", story->gauges);
    enum stv_status status = case_read(&one, false);
    size_t n = 0, n_suspect = 0;
    bool is_said = !story->found;
    for (size_t i = 0; i < one.problems.n; i++) {
        const struct stv_problem *problem = &one.problems.items[i];
        if (problem->severity != STV_SET_ASIDE)
            continue;
        n++;
        is_said |= story->found && strcmp(problem->found, story->found) == 0 &&
                   problem->row == story->row && problem->column > 0 &&
                   strstr(problem->message, story->phrase);
    }
    for (size_t i = 0; i < one.book.n_gauges; i++) {
        n_suspect += one.book.gauges[i].is_suspect;
        is_said &=
            one.book.gauges[i].is_suspect == (story->found && one.book.gauges[i].row == story->row);
    }
    bool is_right = status == STV_OK && is_said && n == story->n && n_suspect == (story->n > 0);
    if (!is_right) {
        print_error("%s:\n", story->what);
        case_print(&one);
    }
    case_close(&one);
    return is_right;
}

static void all_stories(void **state)
{
    (void)state;
    size_t n_wrong = 0;
    for (size_t i = 0; i < N_OF(stories); i++)
        n_wrong += !is_told(&stories[i]);
    assert_int_equal(n_wrong, 0);
}

/* A line of strengths and litres that fall as casks do is never doubted, whatever the pace. */
static void honest_casks_are_left_alone(void **state)
{
    (void)state;
    char gauges[4096];
    for (int pace = 0; pace <= 12; pace++) {
        struct stv_book_case one;
        size_t used = (size_t)snprintf(gauges, sizeof gauges, HEAD);
        for (int year = 0; year < 12; year++)
            used += (size_t)snprintf(gauges + used, sizeof gauges - used,
                                     "%d-03-01,12,%.1f L,%.1f\n", 2020 + year,
                                     189.0 - pace * (double)year, 63.4 + 0.1 * (pace - 6) * year);
        case_open(&one);
        case_write(&one, "history.csv", fill);
        case_write(&one, "gauges.csv", gauges);
        stv_assert_ok(case_read(&one, false));
        assert_int_equal(one.problems.n_total, 0);
        case_close(&one);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(all_stories),
        cmocka_unit_test(honest_casks_are_left_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
