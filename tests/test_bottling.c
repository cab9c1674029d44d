/* Windows found in made-up draws: what opens them, what closes them, what waiting costs. */
#include "model/bottling.h"
#include "tests/places.h"

#define N_MONTHS 40
#define N_DRAWS 4

struct book {
    struct stv_outlook outlook;
    struct stv_cask casks[3];
    struct stv_event events[3];
    struct stv_ledger ledger;
    struct stv_house_rules rules;
};

static double *cell(struct book *book, size_t cask, size_t month, enum stv_quantity quantity)
{
    const struct stv_outlook *outlook = &book->outlook;
    return outlook->values + ((cask * N_MONTHS + month) * STV_Q_N + quantity) * N_DRAWS;
}

/* Three casks filled on 1 March 2021; months from 1 March 2024 on; strong, woody enough and full
 * in all draws until a test says otherwise.  Cask 1 is emptied before. */
static void book_new(struct book *book)
{
    *book = (struct book){.rules = stv_house_rules_default()};
    for (int c = 0; c < 3; c++) {
        book->casks[c] = cask_new(c == 0 ? "a" : c == 1 ? "b" : "c", 200.0);
        book->events[c] = fill_new(day_of(2021, 3, 1), c, 195.0, 0.62, (size_t)c);
    }
    book->events[2] = event_new(day_of(2022, 6, 1), STV_EVENT_EMPTY, 1, 2);
    book->events[1] = book->events[0];
    book->events[1].cask_idx = 1;
    book->ledger = (struct stv_ledger){book->casks, 2, book->events, 3};
    book->outlook = (struct stv_outlook){.n_casks = 2, .n_days = N_MONTHS, .n_draws = N_DRAWS};
    book->outlook.days_d = calloc(N_MONTHS, sizeof(int64_t));
    book->outlook.values = room_for(2 * N_MONTHS * STV_Q_N * N_DRAWS);
    assert_non_null(book->outlook.days_d);
    for (size_t m = 0; m < N_MONTHS; m++) {
        book->outlook.days_d[m] = stv_day_add_months(day_of(2024, 3, 1), (int)m);
        for (size_t d = 0; d < N_DRAWS; d++) {
            cell(book, 0, m, STV_Q_ABV20_FRAC)[d] = 0.60;
            cell(book, 0, m, STV_Q_WOOD_INDEX_ND)[d] = 1.0;
            cell(book, 0, m, STV_Q_BOTTLES_ND)[d] = 250.0 - (double)m - 0.25 * (double)d;
        }
    }
}

static void book_end(struct book *book)
{
    stv_outlook_free(&book->outlook);
}

/* From a month on, the first n_draws draws have a value. */
static void from_month(struct book *book, size_t month, size_t n_draws, enum stv_quantity quantity,
                       double value)
{
    for (size_t m = month; m < N_MONTHS; m++)
        for (size_t d = 0; d < n_draws; d++)
            cell(book, 0, m, quantity)[d] = value;
}

static struct stv_window window_of(const struct book *book, double least_bottles_nd)
{
    struct stv_bottling_request request = {.outlook = &book->outlook,
                                           .ledger = &book->ledger,
                                           .rules = &book->rules,
                                           .least_bottles_nd = least_bottles_nd};
    struct stv_bottling bottling;
    stv_assert_ok(stv_bottling_windows(&request, &bottling));
    assert_int_equal(bottling.n_windows, 1); /* the empty cask has none */
    struct stv_window window = bottling.windows[0];
    assert_int_equal(window.cask_idx, 0);
    stv_bottling_free(&bottling);
    assert_null(bottling.windows);
    return window;
}

static void always_open(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    struct stv_window window = window_of(&book, 60.0);
    assert_true(window.has_window);
    assert_int_equal(window.open_idx, 0);
    assert_int_equal(window.surest_idx, 0);
    assert_int_equal(window.close_idx, N_MONTHS - 1);
    assert_false(window.closes);
    assert_int_equal(window.opens_by, STV_SIDE_NONE);
    assert_int_equal(window.closes_by, STV_SIDE_NONE);
    stv_assert_close(window.surest_frac, 1.0, 1e-12, 0.0);
    stv_assert_close(window.bottles_nd.p50, 249.625, 1e-12, 0.0);
    stv_assert_close(window.abv20_frac.p05, 0.60, 1e-12, 0.0);
    stv_assert_close(window.wood_nd.p95, 1.0, 1e-12, 0.0);
    stv_assert_close(window.wait_cost_bottles_nd, 12.0, 1e-12, 0.0); /* twelve months at one each */
    stv_assert_close(window.wait_over_frac, 0.0, 0.0, 0.0);
    book_end(&book);
}

static void wood_opens_and_closes(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    from_month(&book, 0, N_DRAWS, STV_Q_WOOD_INDEX_ND, 0.6);
    from_month(&book, 5, 2, STV_Q_WOOD_INDEX_ND, 0.8); /* half the draws: open */
    from_month(&book, 9, N_DRAWS, STV_Q_WOOD_INDEX_ND, 1.1);
    from_month(&book, 21, 1, STV_Q_WOOD_INDEX_ND, 1.4);
    from_month(&book, 23, 2, STV_Q_WOOD_INDEX_ND, 1.4); /* half: still open */
    from_month(&book, 26, 3, STV_Q_WOOD_INDEX_ND, 1.4); /* three of four over: closed */
    struct stv_window window = window_of(&book, 60.0);
    assert_true(window.has_window);
    assert_int_equal(window.open_idx, 5);
    assert_int_equal(window.surest_idx, 9);
    assert_int_equal(window.close_idx, 25);
    assert_true(window.closes);
    assert_int_equal(window.opens_by, STV_SIDE_WOOD_LOW);
    assert_int_equal(window.closes_by, STV_SIDE_WOOD_HIGH);
    stv_assert_close(window.wait_over_frac, 0.25, 1e-12, 0.0); /* month 21: one in four */
    book_end(&book);
}

/* Three years are three years by the calendar: 1 March 2021 to 1 March 2024, not 1095.75 days;
 * and the same where no leap day fell between. */
static void age_counts_by_the_calendar(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    book.rules.least_age_y = 3.0;
    assert_int_equal(window_of(&book, 60.0).open_idx, 0);
    book.rules.least_age_y = 4.0;
    struct stv_window window = window_of(&book, 60.0);
    assert_int_equal(window.open_idx, 12);
    assert_int_equal(window.opens_by, STV_SIDE_AGE);
    book.rules.least_age_y = 3.5;
    assert_int_equal(window_of(&book, 60.0).open_idx, 6);
    book.rules.least_age_y = 3.0;
    book.events[0].day_d = day_of(2022, 3, 1); /* to 1 March 2025: 1096 days with a leap day */
    assert_int_equal(window_of(&book, 60.0).open_idx, 12);
    book.events[0].day_d = day_of(2021, 3, 1);
    book.rules.least_age_y = 2.0; /* 2021 to 2023: 730 days, less than 2 x 365.25 */
    for (size_t m = 0; m < N_MONTHS; m++)
        book.outlook.days_d[m] = stv_day_add_months(day_of(2023, 1, 1), (int)m);
    assert_int_equal(window_of(&book, 60.0).open_idx, 2);
    book_end(&book);
}

static void strength_and_bottles_close(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    from_month(&book, 14, N_DRAWS, STV_Q_ABV20_FRAC, 0.459); /* under the bottling strength */
    struct stv_window window = window_of(&book, 60.0);
    assert_int_equal(window.close_idx, 13);
    assert_int_equal(window.closes_by, STV_SIDE_STRENGTH);
    book.rules.least_abv20_frac = 0.605; /* the market wants more than the cask ever has */
    window = window_of(&book, 60.0);
    assert_false(window.has_window);
    assert_int_equal(window.never_by, STV_SIDE_STRENGTH);
    stv_assert_close(window.surest_frac, 0.0, 0.0, 0.0);
    book_end(&book);

    book_new(&book);
    window = window_of(&book, 229.9); /* 250 - m - d/4 at half the draws: m < 19.85 */
    assert_int_equal(window.close_idx, 19);
    assert_int_equal(window.closes_by, STV_SIDE_VOLUME);
    assert_int_equal(window_of(&book, 251.0).never_by, STV_SIDE_VOLUME);
    book_end(&book);

    book_new(&book); /* emptied: nothing else is wrong with it, and nobody can wait */
    for (int q = 0; q < STV_Q_N; q++)
        from_month(&book, 8, N_DRAWS, (enum stv_quantity)q, (double)NAN);
    window = window_of(&book, 60.0);
    assert_int_equal(window.close_idx, 7);
    assert_int_equal(window.closes_by, STV_SIDE_EMPTIED);
    assert_true(isnan(window.wait_cost_bottles_nd));
    book_end(&book);
}

static void waiting_past_the_last_month_is_not_known(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    from_month(&book, 0, N_DRAWS, STV_Q_WOOD_INDEX_ND, 0.6);
    from_month(&book, N_MONTHS - 12, N_DRAWS, STV_Q_WOOD_INDEX_ND, 0.9);
    struct stv_window window = window_of(&book, 60.0);
    assert_int_equal(window.surest_idx, N_MONTHS - 12);
    stv_assert_close(window.wait_cost_bottles_nd, NAN, 0.0, 0.0);
    stv_assert_close(window.wait_over_frac, NAN, 0.0, 0.0);
    from_month(&book, N_MONTHS - 13, N_DRAWS, STV_Q_WOOD_INDEX_ND, 0.9);
    stv_assert_close(window_of(&book, 60.0).wait_cost_bottles_nd, 12.0, 1e-12, 0.0);
    book_end(&book);
}

/* Less than half the draws in the best month: no window, and the commonest failure named. */
static void never_by_the_commonest_failure(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    from_month(&book, 0, 3, STV_Q_WOOD_INDEX_ND, 2.0);
    struct stv_window window = window_of(&book, 60.0);
    assert_false(window.has_window);
    assert_int_equal(window.never_by, STV_SIDE_WOOD_HIGH);
    stv_assert_close(window.surest_frac, 0.25, 1e-12, 0.0);
    book.rules.least_age_y = 30.0;
    assert_int_equal(window_of(&book, 60.0).never_by, STV_SIDE_AGE);
    book_end(&book);
}

/* Months within a twentieth of the surest odds are as sure; with four draws only equal ones are. */
static void months_as_sure_as_the_surest(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    from_month(&book, 0, N_DRAWS, STV_Q_WOOD_INDEX_ND, 0.6);
    from_month(&book, 5, 3, STV_Q_WOOD_INDEX_ND, 0.8);
    from_month(&book, 8, 4, STV_Q_WOOD_INDEX_ND, 0.9);
    from_month(&book, 17, 1, STV_Q_WOOD_INDEX_ND, 1.4);
    struct stv_window window = window_of(&book, 60.0);
    assert_int_equal(window.open_idx, 5);
    assert_int_equal(window.surest_from_idx, 8);
    assert_int_equal(window.surest_to_idx, 16);
    /* enough wood: three draws cross in month 5, the last in month 8 */
    assert_in_range((int64_t)window.enough_wood.central_d, book.outlook.days_d[4],
                    book.outlook.days_d[5]);
    stv_assert_close(window.too_much_wood.odds_frac, 0.25, 1e-12, 0.0);
    book_end(&book);
}

/* A cask that is over today is not waited for, even where its wood would come back in range. */
static void over_today_has_no_window(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t m = 0; m < 6; m++)
        for (size_t d = 0; d < 3; d++)
            cell(&book, 0, m, STV_Q_WOOD_INDEX_ND)[d] = 1.4;
    struct stv_window window = window_of(&book, 60.0);
    assert_false(window.has_window);
    assert_int_equal(window.never_by, STV_SIDE_WOOD_HIGH);
    stv_assert_close(window.over_now_frac, 0.75, 1e-12, 0.0);
    cell(&book, 0, 0, STV_Q_WOOD_INDEX_ND)[0] = 1.0;
    cell(&book, 0, 0, STV_Q_WOOD_INDEX_ND)[1] = 1.0;
    assert_true(window_of(&book, 60.0).has_window); /* in one draw of four */
    book_end(&book);
}

/* However far ahead is looked, the surest month never has more wood than is allowed. */
static void looking_further_never_prefers_more_wood(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    for (size_t m = 0; m < N_MONTHS; m++)
        for (size_t d = 0; d < N_DRAWS; d++)
            cell(&book, 0, m, STV_Q_WOOD_INDEX_ND)[d] =
                0.65 + 0.02 * (double)m * (0.9 + 0.07 * (double)d);
    size_t n_windows = 0;
    for (size_t n = 1; n <= N_MONTHS; n++) {
        book.outlook.n_days = n;
        struct stv_window window = window_of(&book, 60.0);
        n_windows += window.has_window != 0;
        assert_true(!window.has_window || window.wood_nd.p50 <= book.rules.wood_most_nd);
    }
    assert_true(n_windows > 20);
    book_end(&book);
}

/* A lot is one liquid: its wood is the mean by alcohol, its bottles the sum. */
static void a_lot_is_one_liquid(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    book.ledger.n_events = 2; /* the second cask was never emptied */
    for (size_t m = 0; m < N_MONTHS; m++)
        for (size_t d = 0; d < N_DRAWS; d++) {
            const double volumes[2] = {100.0, 200.0}, wood[2] = {0.5, 1.1};
            for (size_t c = 0; c < 2; c++) {
                cell(&book, c, m, STV_Q_VOLUME20_L)[d] = volumes[c];
                cell(&book, c, m, STV_Q_ABV20_FRAC)[d] = 0.5;
                cell(&book, c, m, STV_Q_LPA_L)[d] = 0.5 * volumes[c];
                cell(&book, c, m, STV_Q_WOOD_INDEX_ND)[d] = wood[c];
                cell(&book, c, m, STV_Q_BOTTLES_ND)[d] = volumes[c];
            }
        }
    const size_t lots[2] = {0, 0};
    struct stv_bottling_request request = {.outlook = &book.outlook,
                                           .ledger = &book.ledger,
                                           .rules = &book.rules,
                                           .least_bottles_nd = 60.0,
                                           .lot_of_cask = lots,
                                           .n_lots = 1};
    struct stv_bottling bottling;
    stv_assert_ok(stv_bottling_windows(&request, &bottling));
    assert_int_equal(bottling.n_windows, 1);
    assert_int_equal(bottling.windows[0].n_casks, 2);
    assert_true(bottling.windows[0].has_window);
    stv_assert_close(bottling.windows[0].wood_nd.p50, 0.9, 1e-12, 0.0); /* (0.5 + 2 x 1.1) / 3 */
    stv_assert_close(bottling.windows[0].bottles_nd.p50, 300.0, 1e-12, 0.0);
    stv_assert_close(bottling.windows[0].abv20_frac.p50, 0.5, 1e-12, 0.0);
    stv_bottling_free(&bottling);
    request.lot_of_cask = NULL; /* by themselves the first has too little wood */
    stv_assert_ok(stv_bottling_windows(&request, &bottling));
    assert_int_equal(bottling.n_windows, 2);
    assert_false(bottling.windows[0].has_window);
    assert_int_equal(bottling.windows[0].never_by, STV_SIDE_WOOD_LOW);
    assert_true(bottling.windows[1].has_window);
    stv_bottling_free(&bottling);
    book_end(&book);
}

/* A humid store's cask of 43.8 % that falls 0.55 points a year, give or take 0.10 for 9 in 10, and
 * may not pass 40.3 %: 3.5 points are 3.5/0.65, 3.5/0.55 and 3.5/0.45 years. */
static void strength_falls_to_its_guard(void **state)
{
    (void)state;
    enum { TRIALS = 21, HALF_YEARS = 21 };
    struct stv_outlook outlook = {.n_casks = 1, .n_days = HALF_YEARS, .n_draws = TRIALS};
    outlook.days_d = calloc(HALF_YEARS, sizeof(int64_t));
    outlook.values = room_for(HALF_YEARS * STV_Q_N * TRIALS);
    assert_non_null(outlook.days_d);
    for (size_t h = 0; h < HALF_YEARS; h++) {
        outlook.days_d[h] = stv_day_add_months(day_of(2027, 1, 1), 6 * (int)h);
        double years = (double)(outlook.days_d[h] - outlook.days_d[0]) / STV_YEAR_D;
        for (size_t d = 0; d < TRIALS; d++) {
            double rate =
                0.55 + 0.10 * ((double)d - 10.0) / 9.0; /* second and last but one: ends */
            outlook.values[(h * STV_Q_N + STV_Q_ABV20_FRAC) * TRIALS + d] =
                0.01 * (43.8 - rate * years);
        }
    }
    struct stv_crossing falls;
    stv_assert_ok(stv_strength_guard(&outlook, 0, 0.403, &falls));
    double from_d = (double)outlook.days_d[0];
    stv_assert_close((falls.earliest_d - from_d) / STV_YEAR_D, 5.4, 0.0, 0.05);
    stv_assert_close((falls.central_d - from_d) / STV_YEAR_D, 6.4, 0.0, 0.05);
    stv_assert_close((falls.latest_d - from_d) / STV_YEAR_D, 7.8, 0.0, 0.05);
    stv_assert_close(falls.odds_frac, 1.0, 1e-12, 0.0);
    stv_assert_ok(stv_strength_guard(&outlook, 0, 0.20, &falls));
    assert_true(isinf(falls.earliest_d));
    stv_outlook_free(&outlook);
}

static void edges(void **state)
{
    (void)state;
    struct book book;
    book_new(&book);
    struct stv_bottling_request request = {.outlook = &book.outlook,
                                           .ledger = &book.ledger,
                                           .rules = &book.rules,
                                           .least_bottles_nd = 60.0};
    struct stv_bottling bottling;
    book.outlook.n_days = 0;
    stv_assert_status(stv_bottling_windows(&request, &bottling), STV_E_NO_DATA);
    assert_null(bottling.windows);
    book.outlook.n_days = N_MONTHS;
    book.ledger.n_events = 0; /* nothing was ever filled */
    stv_assert_ok(stv_bottling_windows(&request, &bottling));
    assert_int_equal(bottling.n_windows, 0);
    stv_bottling_free(&bottling);
    for (int side = STV_SIDE_NONE; side <= STV_SIDE_EMPTIED; side++)
        for (int other = STV_SIDE_NONE; other < side; other++)
            assert_string_not_equal(stv_window_side_text((enum stv_window_side)side),
                                    stv_window_side_text((enum stv_window_side)other));
    book_end(&book);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(always_open),
        cmocka_unit_test(wood_opens_and_closes),
        cmocka_unit_test(age_counts_by_the_calendar),
        cmocka_unit_test(strength_and_bottles_close),
        cmocka_unit_test(waiting_past_the_last_month_is_not_known),
        cmocka_unit_test(never_by_the_commonest_failure),
        cmocka_unit_test(months_as_sure_as_the_surest),
        cmocka_unit_test(over_today_has_no_window),
        cmocka_unit_test(looking_further_never_prefers_more_wood),
        cmocka_unit_test(a_lot_is_one_liquid),
        cmocka_unit_test(strength_falls_to_its_guard),
        cmocka_unit_test(edges),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
