/* An exchange of places: what it evens out, what it saves, and what it is called. */
#include "model/exchange.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define YEAR_H 8760
#define PAIRS 3

/* Story: 24 casks at 11 % a year on top, 24 at 6 % on the floor, two years, exchanged after one. */
static void evens_out_does_not_save(void **state)
{
    (void)state;
    struct stv_exchange_steady lots = {24, 24, 200.0, 0.11, 0.06, 2.0, 1.0, 230.0};
    struct stv_exchange exchange;
    stv_assert_ok(stv_exchange_of_steady(&lots, &exchange));
    stv_assert_close(exchange.spread_l.p50, 18.3, 0.0, 0.05);
    stv_assert_close(exchange.exchanged_spread_l.p50, 0.0, 0.0, 1e-9);
    stv_assert_close(exchange.gain_frac.p50, -0.0015, 0.0, 0.00005);
    stv_assert_close(exchange.gain_l.p50, exchange.exchanged_total_l.p50 - exchange.total_l.p50,
                     0.0, 1e-9);
    assert_int_equal(exchange.n_moves, 48);
    stv_assert_close(exchange.moved_kg, 48 * 230.0, 0.0, 0.0);
    assert_int_equal(stv_exchange_judge(&exchange, 48), STV_EXCHANGE_EVENS_OUT);
    /* Lots that lose alike: nothing to even out. */
    lots.one_loss_frac_per_y = 0.06;
    stv_assert_ok(stv_exchange_of_steady(&lots, &exchange));
    assert_int_equal(stv_exchange_judge(&exchange, 48), STV_EXCHANGE_NO_MATTER);
    /* Never exchanged, or exchanged at once, leaves the spread: the places only change names. */
    lots.one_loss_frac_per_y = 0.11;
    lots.exchanged_after_y = 0.0;
    stv_assert_ok(stv_exchange_of_steady(&lots, &exchange));
    stv_assert_close(exchange.exchanged_spread_l.p50, exchange.spread_l.p50, 1e-12, 0.0);
    assert_int_equal(stv_exchange_judge(&exchange, 48), STV_EXCHANGE_NO_MATTER);
    lots.exchanged_after_y = 3.0;
    assert_int_equal(stv_exchange_of_steady(&lots, &exchange), STV_E_DOMAIN);
}

/* Few that lose much against many that lose little: an exchange can cost, and can save. */
static void names_what_costs_and_saves(void **state)
{
    (void)state;
    struct stv_exchange exchange = {.spread_l = {10, 10, 10, 10, 10},
                                    .exchanged_spread_l = {1, 1, 1, 1, 1},
                                    .total_l = {1000, 1000, 1000, 1000, 1000},
                                    .gain_frac = {0.005, 0.01, 0.02, 0.03, 0.04}};
    assert_int_equal(stv_exchange_judge(&exchange, 10), STV_EXCHANGE_SAVES);
    exchange.gain_frac.p05 = -0.01; /* not sure of its sign */
    assert_int_equal(stv_exchange_judge(&exchange, 10), STV_EXCHANGE_EVENS_OUT);
    exchange.gain_frac = (struct stv_range){-0.05, -0.04, -0.03, -0.02, -0.01};
    assert_int_equal(stv_exchange_judge(&exchange, 10), STV_EXCHANGE_COSTS);
}

struct store {
    struct stv_position places[2];
    double exposed_frac[2];
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[2 * PAIRS];
    struct stv_event events[2 * PAIRS];
    struct stv_ledger ledger;
    struct stv_exchange_pair pairs[PAIRS];
};

static void store_new(struct store *store)
{
    *store = (struct store){.rules = stv_house_rules_default(), .exposed_frac = {1.0, 1.0}};
    store->places[0] = steady_place(2001, YEAR_H, 12.0, 0.80);
    store->places[1] = steady_place(2001, YEAR_H, 24.0, 0.50);
    store->places[1].place.tier_idx = 1;
    for (int c = 0; c < 2 * PAIRS; c++) {
        char id[8];
        snprintf(id, sizeof id, "c%d", c);
        store->casks[c] = cask_new(id, 200.0);
        store->events[c] = fill_new(day_of(2001, 5, 2), c, 195.0, 0.60, (size_t)c);
        store->events[c].place = (struct stv_place){0, c % 2, c / 2, 0};
    }
    for (int p = 0; p < PAIRS; p++)
        store->pairs[p] = (struct stv_exchange_pair){2 * p, 2 * p + 1, store->events[2 * p].place,
                                                     store->events[2 * p + 1].place};
    store->set = (struct stv_position_set){store->places, 2, store->exposed_frac, 0, 0};
    store->ledger = (struct stv_ledger){store->casks, 2 * PAIRS, store->events, 2 * PAIRS};
}

/* The same verdict from casks in a cool and a hot store. */
static void casks_agree_with_the_story(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_outlook_request house = {
        .ledger = &store.ledger, .set = &store.set, .rules = &store.rules, .options = {5, 24, 5.0}};
    struct stv_exchange_ask ask = {store.pairs, PAIRS, day_of(2002, 5, 2), day_of(2003, 5, 2),
                                   day_of(2004, 5, 2)};
    struct stv_exchange exchange, again;
    stv_assert_ok(stv_exchange_run(&house, &ask, &exchange));
    assert_int_equal(exchange.n_moves, 2 * PAIRS);
    assert_true(exchange.exchanged_spread_l.p50 < 0.25 * exchange.spread_l.p50);
    assert_true(fabs(exchange.gain_frac.p50) < 0.01);
    assert_int_equal(stv_exchange_judge(&exchange, 2 * PAIRS), STV_EXCHANGE_EVENS_OUT);
    /* Which lot is named first does not matter. */
    for (int p = 0; p < PAIRS; p++)
        store.pairs[p] = (struct stv_exchange_pair){2 * p + 1, 2 * p, {0, 1, p, 0}, {0, 0, p, 0}};
    stv_assert_ok(stv_exchange_run(&house, &ask, &again));
    stv_assert_close(again.gain_frac.p50, exchange.gain_frac.p50, 1e-9, 1e-12);
    stv_assert_close(again.spread_l.p50, exchange.spread_l.p50, 1e-9, 0.0);
    /* Places of one air: an exchange changes nothing at all. */
    store.set.n_positions = 1;
    stv_assert_ok(stv_exchange_run(&house, &ask, &again));
    stv_assert_close(again.gain_frac.p95, 0.0, 0.0,
                     1e-9); /* the day of the move cuts a step in two */
    assert_int_equal(stv_exchange_judge(&again, 2 * PAIRS), STV_EXCHANGE_NO_MATTER);
    ask.exchange_day_d = ask.until_day_d;
    assert_int_equal(stv_exchange_run(&house, &ask, &again), STV_E_ARG);
    ask.exchange_day_d = day_of(2001, 4, 20);
    ask.from_day_d = day_of(2001, 4, 20); /* nothing is filled yet */
    assert_int_equal(stv_exchange_run(&house, &ask, &again), STV_E_NO_DATA);
    place_end(&store.places[0]);
    place_end(&store.places[1]);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(evens_out_does_not_save),
        cmocka_unit_test(names_what_costs_and_saves),
        cmocka_unit_test(casks_agree_with_the_story),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
