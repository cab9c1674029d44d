/* Casks before they are bought: strengths, places and ages in order, ties, bars, refusals. */
#include "model/placement_new.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define YEAR_H 8760
#define CASKS 4

struct store {
    struct stv_position places[2];
    double exposed_frac[2];
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[CASKS];
    struct stv_event events[CASKS];
    struct stv_ledger ledger;
    int cask_idx[CASKS], is_barred[CASKS];
    struct stv_place where[2];
    struct stv_new_wish wish;
};

/* The same cask at 50, 57, 64 and once more 64 %vol, in a cool damp and a hot dry place. */
static void store_new(struct store *store)
{
    static const double abv_frac[CASKS] = {0.50, 0.57, 0.64, 0.64};
    *store = (struct store){.rules = stv_house_rules_default(),
                            .exposed_frac = {1.0, 1.0},
                            .where = {{0, 0, -1, -1}, {0, 1, -1, -1}}};
    store->places[0] = steady_place(2001, YEAR_H, 12.0, 0.85);
    store->places[1] = steady_place(2001, YEAR_H, 25.0, 0.45);
    store->places[1].place.tier_idx = 1;
    for (int c = 0; c < CASKS; c++) {
        store->casks[c] = cask_new("new cask", 200.0);
        store->events[c] = fill_new(day_of(2003, 5, 2), c, 194.0, abv_frac[c], (size_t)c);
        store->cask_idx[c] = c;
    }
    store->set = (struct stv_position_set){store->places, 2, store->exposed_frac, 0, 0};
    store->ledger = (struct stv_ledger){store->casks, CASKS, store->events, CASKS};
    store->wish = (struct stv_new_wish){.from_day_d = day_of(2003, 5, 2),
                                        .cask_idx = store->cask_idx,
                                        .n_casks = CASKS,
                                        .places = store->where,
                                        .n_places = 2,
                                        .ages_y = {3.0, 5.0, 8.0},
                                        .n_ages = 3,
                                        .planned_age_y = 5.0,
                                        .is_barred = store->is_barred,
                                        .least_abv20_frac = 0.46};
}

static enum stv_status try_compare(const struct store *store, struct stv_new_result *out)
{
    struct stv_outlook_request house = {.ledger = &store->ledger,
                                        .set = &store->set,
                                        .rules = &store->rules,
                                        .options = {5, 16, 5.0}};
    return stv_new_compare(&house, &store->wish, out);
}

static void store_end(struct store *store)
{
    place_end(&store->places[0]);
    place_end(&store->places[1]);
}

static const struct stv_new_outcome *outcome_of(const struct stv_new_result *result, size_t cask,
                                                size_t place, size_t age)
{
    return &result->outcomes[(cask * result->n_places + place) * result->n_ages + age];
}

static void keeps_the_order_of_things(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_new_result result;
    stv_assert_ok(try_compare(&store, &result));
    assert_int_equal(result.n_ages, 4);
    for (size_t p = 0; p < 2; p++)
        for (size_t a = 0; a < 4; a++)
            for (size_t c = 1; c < 3; c++) { /* filled stronger, stronger and fuller of bottles */
                const struct stv_new_outcome *own = outcome_of(&result, c, p, a);
                const struct stv_new_outcome *less = outcome_of(&result, c - 1, p, a);
                assert_true(own->abv20_frac.p50 > less->abv20_frac.p50);
                assert_true(own->bottles_nd.p50 > less->bottles_nd.p50);
                assert_true(own->too_weak_frac <= less->too_weak_frac);
            }
    for (size_t c = 0; c < 3; c++)
        for (size_t a = 0; a < 4; a++) {
            /* Dry air raises strength, damp air lowers it; wood comes with the years. */
            assert_true(outcome_of(&result, c, 1, a)->abv20_frac.p50 >
                        outcome_of(&result, c, 0, a)->abv20_frac.p50);
            assert_true(a == 0 || a == 3 ||
                        outcome_of(&result, c, 0, a)->wood_nd.p50 >
                            outcome_of(&result, c, 0, a - 1)->wood_nd.p50);
        }
    /* The planned age is 5 years: told as the second age is. */
    stv_assert_close(outcome_of(&result, 0, 0, 3)->abv20_frac.p50,
                     outcome_of(&result, 0, 0, 1)->abv20_frac.p50, 0.0, 0.0);
    /* The same cask twice is a tie, draw by draw. */
    stv_assert_close(result.scores[2].merit_nd, result.scores[3].merit_nd, 0.0, 0.0);
    stv_assert_close(result.scores[2].bottles_against_best_nd,
                     result.scores[3].bottles_against_best_nd, 0.0, 0.0);
    stv_new_result_free(&result);
    stv_new_result_free(&result); /* twice is allowed */
    store_end(&store);
}

static void what_is_barred_is_never_best(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_new_result result;
    stv_assert_ok(try_compare(&store, &result));
    size_t best = result.best_idx;
    stv_new_result_free(&result);
    store.is_barred[best] = 1;
    stv_assert_ok(try_compare(&store, &result));
    assert_int_not_equal(result.best_idx, best);
    stv_new_result_free(&result);
    store_end(&store);
}

static void refuses(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_new_result result;
    store.wish.ages_y[1] = 2.0;
    assert_int_equal(try_compare(&store, &result), STV_E_ARG);
    store.wish.ages_y[1] = 5.0;
    store.cask_idx[1] = CASKS;
    assert_int_equal(try_compare(&store, &result), STV_E_ARG);
    store.cask_idx[1] = 1;
    store.wish.from_day_d -= 5;
    assert_int_equal(try_compare(&store, &result), STV_E_NO_DATA);
    store.wish.n_places = 0;
    assert_int_equal(try_compare(&store, &result), STV_E_ARG);
    assert_null(result.outcomes);
    store_end(&store);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(keeps_the_order_of_things),
        cmocka_unit_test(what_is_barred_is_never_best),
        cmocka_unit_test(refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
