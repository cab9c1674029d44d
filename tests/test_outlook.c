/* Houses through draws: their middle, their ranges, and the edges of what may be asked. */
#include "model/draws.h"
#include "tests/two_tiers.h"

#include <gsl/gsl_errno.h>
#include <omp.h>

/* One cask filled at 60 %, as the house's reference cask. */
static struct stv_ledger reference_ledger(struct stv_cask *cask, struct stv_event *fill)
{
    *cask = cask_new("a", 200.0);
    *fill = fill_new(day_of(2001, 1, 1), 0, 200.0, 0.60, 0);
    return (struct stv_ledger){cask, 1, fill, 1};
}

/* Medians of the parameters are the defaults, so the middle of the draws is near the central run;
 * not equal, for losses bend with their parameters and 5 % of casks leak. */
static void draws_lie_about_the_central_run(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 2);
    struct stv_cask cask;
    struct stv_event fill;
    struct stv_ledger ledger = reference_ledger(&cask, &fill);
    int64_t day_d = day_of(2006, 1, 1);
    struct stv_outlook central = run(&ledger, &store, 0, &day_d, 1);
    struct stv_outlook drawn_ones = run(&ledger, &store, 256, &day_d, 1);
    struct stv_range litres = stv_outlook_range(&drawn_ones, 0, 0, STV_Q_VOLUME20_L);
    struct stv_range abv = stv_outlook_range(&drawn_ones, 0, 0, STV_Q_ABV20_FRAC);
    stv_assert_close(litres.p50, drawn(&central, 0, 0, STV_Q_VOLUME20_L), 0.015, 0.0);
    stv_assert_close(abv.p50, drawn(&central, 0, 0, STV_Q_ABV20_FRAC), 0.0, 0.006);
    assert_true(litres.p05 < litres.p25 && litres.p25 < litres.p75 && litres.p75 < litres.p95);
    assert_true(litres.p95 - litres.p05 > 10.0); /* five years are known to some per cent only */
    struct stv_range point = stv_outlook_range(&central, 0, 0, STV_Q_VOLUME20_L);
    assert_true(point.p05 == point.p50 && point.p95 == point.p50);
    stv_outlook_free(&central);
    stv_outlook_free(&drawn_ones);
    store_end(&store);
}

static void reference_cask_is_one(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 4);
    struct stv_cask cask;
    struct stv_event fill;
    struct stv_ledger ledger = reference_ledger(&cask, &fill);
    /* 36 months of 365.25/12 days from the first day of the first whole year. */
    int64_t day_d = day_of(2001, 1, 1) + 1096;
    struct stv_outlook outlook = run(&ledger, &store, 0, &day_d, 1);
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_WOOD_INDEX_ND), 1.0, 1e-12, 0.0);
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_CASK_ESTERS_ND), 1.0, 1e-12, 0.0);
    double bottles = drawn(&outlook, 0, 0, STV_Q_LPA_L) / 0.46 * 0.98 / 0.70;
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_BOTTLES_ND), bottles, 1e-13, 0.0);
    stv_outlook_free(&outlook);
    store_end(&store);
}

/* Beyond the record the central run goes through its whole years again. */
static void years_repeat_after_the_record(void **state)
{
    (void)state;
    struct store twice, once;
    store_new(&twice, 2);
    store_new(&once, 1);
    for (size_t k = 0; k < YEAR_H; k++) /* the second year is the first again */
        for (int p = 0; p < 2; p++) {
            twice.places[p].air_c[YEAR_H + k] = twice.places[p].air_c[k] = 15.0;
            twice.places[p].radiant_c[YEAR_H + k] = twice.places[p].radiant_c[k] = 15.0;
            once.places[p].air_c[k] = once.places[p].radiant_c[k] = 15.0;
            twice.places[p].rh_frac[YEAR_H + k] = twice.places[p].rh_frac[k];
        }
    struct stv_cask cask;
    struct stv_event fill;
    struct stv_ledger ledger = reference_ledger(&cask, &fill);
    const int64_t days_d[] = {day_of(2000, 12, 31), day_of(2001, 1, 1), day_of(2001, 12, 31),
                              day_of(2002, 12, 31), day_of(2004, 6, 1)};
    struct stv_outlook a = run(&ledger, &twice, 0, days_d, 5);
    struct stv_outlook b = run(&ledger, &once, 0, days_d, 5);
    for (size_t d = 0; d < 5; d++)
        stv_assert_close(drawn(&a, 0, d, STV_Q_VOLUME20_L), drawn(&b, 0, d, STV_Q_VOLUME20_L), 1e-9,
                         0.0);
    stv_assert_close(drawn(&a, 0, 0, STV_Q_VOLUME20_L), NAN, 0.0, 0.0); /* before the fill */
    static const int in_two[] = {0, 1, 1, 1, 0}, in_one[] = {0, 1, 1, 0, 0};
    assert_memory_equal(a.in_record, in_two, sizeof in_two);
    assert_memory_equal(b.in_record, in_one, sizeof in_one);
    once.places[0].grid.is_typical = true; /* has no dates */
    stv_outlook_free(&b);
    b = run(&ledger, &once, 0, days_d, 5);
    for (size_t d = 0; d < 5; d++)
        assert_int_equal(b.in_record[d], 0);
    stv_outlook_free(&a);
    stv_outlook_free(&b);
    store_end(&twice);
    store_end(&once);
}

static void positions_of_places(void **state)
{
    (void)state;
    struct stv_position positions[] = {{.place = {0, 0, -1, -1}}, {.place = {0, 1, -1, -1}},
                                       {.place = {0, 2, -1, -1}}, {.place = {0, 1, 4, -1}},
                                       {.place = {0, 1, 4, 1}},   {.place = {1, 0, -1, -1}},
                                       {.place = {1, 1, -1, -1}}, {.place = {1, 2, -1, -1}}};
    struct stv_position_set set = {positions, 8, NULL, 1, 0};
    static const struct {
        struct stv_place place;
        size_t position;
    } rows[] = {{{0, 2, 7, 1}, 2},    {{0, 1, 3, 0}, 1},     {{0, 1, 4, 0}, 3},
                {{0, 1, 4, 1}, 4},    {{0, 1, -1, -1}, 1},   {{1, 2, 4, 1}, 7},
                {{0, -1, -1, -1}, 1}, /* the reference */
                {{1, -1, -1, -1}, 6}, {{-1, -1, -1, -1}, 1}, {{5, 1, 1, 1}, 1}};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        assert_int_equal(stv_position_of_place(&set, &rows[i].place), rows[i].position);
}

/* A cask whose place nobody said stands at the reference, be it filled, poured into or refilled;
 * one that was carried somewhere empty is filled there. */
static void casks_without_a_place(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 1);
    store.set.reference_idx = 1;
    struct stv_cask casks[4] = {cask_new("said", 200.0), cask_new("unsaid", 200.0),
                                cask_new("carried", 200.0), cask_new("poured", 200.0)};
    int64_t day0 = day_of(2001, 3, 1);
    struct stv_event events[6] = {
        fill_new(day0, 0, 190.0, 0.6, 0),          fill_new(day0, 1, 190.0, 0.6, 1),
        event_new(day0 - 9, STV_EVENT_MOVE, 2, 2), fill_new(day0, 2, 190.0, 0.6, 3),
        fill_new(day0, 0, 190.0, 0.6, 4),          event_new(day0, STV_EVENT_TRANSFER, 0, 5)};
    events[0].place = (struct stv_place){0, 1, -1, -1};
    events[2].place = (struct stv_place){0, 0, 3, 0};
    struct stv_ledger ledger = {casks, 3, events, 4};
    stv_assert_ok(stv_ledger_sort(&ledger));
    int64_t day_d = day0 + 300;
    struct stv_outlook outlook = run(&ledger, &store, 0, &day_d, 1);
    double upper_l = drawn(&outlook, 0, 0, STV_Q_VOLUME20_L);
    double lower_l = drawn(&outlook, 2, 0, STV_Q_VOLUME20_L);
    assert_true(upper_l < lower_l);
    assert_true(drawn(&outlook, 1, 0, STV_Q_VOLUME20_L) == upper_l);
    stv_outlook_free(&outlook);

    /* Filled low, poured at once into a cask that stands nowhere. */
    struct stv_event poured[2] = {fill_new(day0, 0, 190.0, 0.6, 0),
                                  event_new(day0, STV_EVENT_TRANSFER, 0, 1)};
    poured[0].place = (struct stv_place){0, 0, -1, -1};
    poured[1].other_idx = 3;
    ledger = (struct stv_ledger){casks, 4, poured, 2};
    outlook = run(&ledger, &store, 0, &day_d, 1);
    assert_true(drawn(&outlook, 3, 0, STV_Q_VOLUME20_L) == upper_l);
    stv_outlook_free(&outlook);
    store_end(&store);
}

static void worst_place_counts_for_held_hours(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 1);
    for (size_t k = 4000; k < 4876; k++)
        store.places[1].air_c[k] = store.places[1].radiant_c[k] = 70.0;
    struct stv_cask cask;
    struct stv_event fill;
    struct stv_ledger ledger = reference_ledger(&cask, &fill);
    int64_t day_d = day_of(2001, 12, 1);
    struct stv_outlook outlook = run(&ledger, &store, 0, &day_d, 1);
    stv_assert_close(outlook.held_frac, 0.0, 0.0, 0.0); /* nobody lies under the roof */
    stv_outlook_free(&outlook);
    fill.place = (struct stv_place){0, 1, -1, -1};
    outlook = run(&ledger, &store, 0, &day_d, 1);
    stv_assert_close(outlook.held_frac, 0.1, 0.0, 0.015);
    stv_outlook_free(&outlook);
    store_end(&store);
}

static void little_is_asked(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 1);
    struct stv_cask cask;
    struct stv_event fill;
    struct stv_ledger ledger = reference_ledger(&cask, &fill);
    int64_t day_d = day_of(2001, 12, 1);
    struct stv_outlook outlook = run(&ledger, &store, 2, &day_d, 0); /* no day */
    assert_int_equal(outlook.n_days, 0);
    stv_outlook_free(&outlook);
    struct stv_ledger nothing = {&cask, 0, &fill, 0}; /* no cask */
    outlook = run(&nothing, &store, 2, &day_d, 1);
    assert_int_equal(outlook.n_casks, 0);
    stv_outlook_free(&outlook);
    outlook = run(&ledger, &store, 1, &day_d, 1); /* one draw */
    struct stv_range range = stv_outlook_range(&outlook, 0, 0, STV_Q_LPA_L);
    assert_true(range.p05 == range.p95);
    stv_outlook_free(&outlook);
    day_d = day_of(2901, 12, 1); /* nine centuries on, the cask has stopped at a litre */
    outlook = run(&ledger, &store, 0, &day_d, 1);
    stv_assert_close(drawn(&outlook, 0, 0, STV_Q_VOLUME20_L), 0.95, 0.0, 0.05);
    stv_outlook_free(&outlook);
    store_end(&store);
}

/* Some days of one run are what a run of those days would give; days that it lacks are refused. */
static void days_can_be_picked(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 1);
    struct stv_cask casks[2] = {cask_new("a", 200.0), cask_new("b", 50.0)};
    struct stv_event fills[2] = {fill_new(day_of(2001, 1, 1), 0, 200.0, 0.60, 0),
                                 fill_new(day_of(2001, 6, 1), 1, 48.0, 0.57, 1)};
    struct stv_ledger ledger = {casks, 2, fills, 2};
    int64_t all_d[] = {day_of(2001, 3, 1), day_of(2001, 7, 1), day_of(2001, 11, 1),
                       day_of(2002, 3, 1)};
    const int64_t some_d[] = {all_d[1], all_d[3]}, none_d[] = {all_d[1] + 1};
    struct stv_outlook all = run(&ledger, &store, 3, all_d, 4), some;
    stv_assert_ok(stv_outlook_pick(&all, some_d, 2, &some));
    assert_int_equal(some.n_days, 2);
    assert_int_equal(some.n_casks, 2);
    for (size_t c = 0; c < 2; c++)
        for (size_t d = 0; d < 2; d++) {
            assert_int_equal(some.in_record[d], all.in_record[2 * d + 1]);
            assert_memory_equal(stv_outlook_draws(&some, c, d, STV_Q_VOLUME20_L),
                                stv_outlook_draws(&all, c, 2 * d + 1, STV_Q_VOLUME20_L),
                                STV_Q_N * 3 * sizeof(double));
        }
    stv_outlook_free(&some);
    stv_assert_status(stv_outlook_pick(&all, none_d, 1, &some), STV_E_NO_DATA);
    assert_null(some.values);
    stv_outlook_free(&all);
    store_end(&store);
}

/* What one run leaves to the next changes no byte of it: more years, other casks, other trials. */
static void kept_tables_change_nothing(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 2);
    struct stv_cask casks[2] = {cask_new("a", 200.0), cask_new("b", 50.0)};
    struct stv_event fills[2] = {fill_new(day_of(2001, 1, 1), 0, 200.0, 0.60, 0),
                                 fill_new(day_of(2001, 6, 1), 1, 48.0, 0.57, 1)};
    const struct stv_ledger ledgers[] = {{casks, 1, fills, 1}, {casks, 2, fills, 2}};
    static const size_t n_draws[] = {16, 16, 0, 24};
    struct stv_kept_tables *kept = stv_kept_tables_new(NULL);
    assert_non_null(kept);
    for (int i = 0; i < 4; i++) {
        const struct stv_ledger *ledger = &ledgers[i > 0];
        int64_t day_d = day_of(2002 + 4 * i, 5, 1);
        struct stv_outlook alone = run(ledger, &store, n_draws[i], &day_d, 1), after;
        struct stv_house_rules rules = stv_house_rules_default();
        struct stv_outlook_request request = {
            .ledger = ledger,
            .set = &store.set,
            .rules = &rules,
            .options = {.seed = 77, .n_draws = n_draws[i], .step_d = 5.0},
            .days_d = &day_d,
            .n_days = 1,
            .kept = kept};
        stv_assert_ok(stv_outlook_run(&request, &after));
        assert_memory_equal(stv_outlook_draws(&alone, 0, 0, 0), stv_outlook_draws(&after, 0, 0, 0),
                            ledger->n_casks * STV_Q_N * alone.n_draws * sizeof(double));
        stv_outlook_free(&alone);
        stv_outlook_free(&after);
    }
    stv_kept_tables_free(kept);
    stv_kept_tables_free(NULL);
    store_end(&store);
}

static void refusals(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, 1);
    struct stv_cask cask;
    struct stv_event fill;
    struct stv_ledger ledger = reference_ledger(&cask, &fill);
    struct stv_run_options options = {.seed = 77, .n_draws = 2, .step_d = 5.0};
    int64_t day_d = day_of(2001, 12, 1);
    struct stv_outlook outlook;
    store.set.n_positions = 0;
    stv_assert_status(try_run(&ledger, &store, options, &day_d, 1, &outlook), STV_E_NO_DATA);
    assert_null(outlook.values);
    store.set.n_positions = 2;
    store.places[0].grid.n = 5000;
    stv_assert_status(try_run(&ledger, &store, options, &day_d, 1, &outlook), STV_E_NO_DATA);
    store.places[0].grid.n = YEAR_H;
    options.step_d = 11.0;
    stv_assert_status(try_run(&ledger, &store, options, &day_d, 1, &outlook), STV_E_DOMAIN);
    options.step_d = 5.0;
    fill.abv20_frac = 1.02;
    stv_assert_status(try_run(&ledger, &store, options, &day_d, 1, &outlook), STV_E_DOMAIN);
    assert_null(outlook.values);
    store_end(&store);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(draws_lie_about_the_central_run),
        cmocka_unit_test(reference_cask_is_one),
        cmocka_unit_test(years_repeat_after_the_record),
        cmocka_unit_test(positions_of_places),
        cmocka_unit_test(casks_without_a_place),
        cmocka_unit_test(worst_place_counts_for_held_hours),
        cmocka_unit_test(little_is_asked),
        cmocka_unit_test(days_can_be_picked),
        cmocka_unit_test(kept_tables_change_nothing),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
