/* Days of a cask's own, sums over casks and days picked out: the same trials told in other ways. */
#include "model/outlook.h"
#include "tests/places.h"

#include <stdlib.h>
#include <string.h>

enum { N_CASKS = 3, N_DAYS = 3, N_DRAWS = 20, BLOCK = STV_Q_N * N_DRAWS };

static const int64_t day0 = 11400; /* 2001-03-19 */

/* Takes what is told of one cask. */
struct taken {
    double values[N_CASKS][N_DAYS * BLOCK];
    size_t n_days[N_CASKS];
    int n_calls[N_CASKS];
};

static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    struct taken *taken = context;
    memcpy(taken->values[cask_idx], values, taken->n_days[cask_idx] * BLOCK * sizeof *values);
    taken->n_calls[cask_idx]++;
    return STV_OK;
}

static enum stv_status refuse(void *context, size_t cask_idx, const double *values)
{
    (void)context;
    (void)cask_idx;
    (void)values;
    return STV_E_MEMORY;
}

/* Two casks that exchange spirit and one alone, in one place. */
struct store {
    struct stv_position place;
    double exposed_frac;
    struct stv_position_set set;
    struct stv_cask casks[N_CASKS];
    struct stv_event events[4];
    struct stv_ledger ledger;
    struct stv_house_rules rules;
    int64_t days_d[N_DAYS];
    struct stv_outlook_request request;
};

static void store_new(struct store *store)
{
    *store = (struct store){
        .place = place_new(2001, 2 * 8760, 0, &mild_climate),
        .exposed_frac = 1.0,
        .casks = {cask_new("A", 200.0), cask_new("B", 200.0), cask_new("C", 50.0)},
        .rules = stv_house_rules_default(),
        .days_d = {day0 + 40, day0 + 200, day0 + 500},
    };
    for (size_t c = 0; c < N_CASKS; c++) {
        store->events[c] = event_new(day0 + (int64_t)c, STV_EVENT_FILL, (int)c, c);
        store->events[c].volume20_l = 0.9 * store->casks[c].geometry.capacity_l;
        store->events[c].abv20_frac = 0.61;
    }
    store->events[3] = event_new(day0 + 100, STV_EVENT_TRANSFER, 0, 3);
    store->events[3].other_idx = 1;
    store->events[3].volume20_l = 5.0;
    store->ledger = (struct stv_ledger){store->casks, N_CASKS, store->events, 4};
    store->set = (struct stv_position_set){&store->place, 1, &store->exposed_frac, 0, 0};
    store->request = (struct stv_outlook_request){
        .ledger = &store->ledger,
        .set = &store->set,
        .rules = &store->rules,
        .options = {.seed = 5, .n_draws = N_DRAWS, .step_d = 5.0},
        .days_d = store->days_d,
        .n_days = N_DAYS,
    };
}

static void rows_are_the_values_of_these_days(void **state)
{
    (void)state;
    struct store store;
    struct stv_outlook all, none;
    struct taken *taken = calloc(1, sizeof *taken);
    assert_non_null(taken);
    store_new(&store);
    stv_assert_ok(stv_outlook_run(&store.request, &all));
    /* The first cask on the last day, the second on two days, the third on none. */
    const int64_t *days_d[N_CASKS] = {store.days_d + 2, store.days_d, NULL};
    taken->n_days[0] = 1;
    taken->n_days[1] = 2;
    const struct stv_outlook_rows rows = {days_d, taken->n_days, take, taken};
    store.request.n_days = 0;
    store.request.rows = &rows;
    stv_assert_ok(stv_outlook_run(&store.request, &none));
    assert_int_equal(taken->n_calls[0], 1);
    assert_int_equal(taken->n_calls[1], 1);
    assert_int_equal(taken->n_calls[2], 0);
    for (size_t i = 0; i < BLOCK; i++) {
        stv_assert_close(taken->values[0][i], stv_outlook_draws(&all, 0, 2, 0)[i], 2e-5, 1e-9);
        stv_assert_close(taken->values[1][BLOCK + i], stv_outlook_draws(&all, 1, 1, 0)[i], 2e-5,
                         1e-9);
    }
    const struct stv_outlook_rows bad = {days_d, taken->n_days, refuse, NULL};
    store.request.rows = &bad;
    stv_outlook_free(&none);
    stv_assert_status(stv_outlook_run(&store.request, &none), STV_E_MEMORY);
    stv_outlook_free(&all);
    place_end(&store.place);
    free(taken);
}

/* Sums are those of the casks of a label, trial by trial; days that are picked take theirs along.
 */
static void sums_add_up_trial_by_trial(void **state)
{
    (void)state;
    struct store store;
    struct stv_outlook all, picked;
    const size_t labels[N_CASKS] = {1, 1, SIZE_MAX};
    const struct stv_outlook_sums sums = {labels, 2};
    store_new(&store);
    store.request.sums = &sums;
    store.request.n_sums = 1;
    stv_assert_ok(stv_outlook_run(&store.request, &all));
    stv_assert_ok(stv_outlook_pick(&all, store.days_d + 1, 2, &picked));
    assert_int_equal(picked.n_sums, 1);
    assert_int_equal(picked.n_labels[0], 2);
    for (size_t k = 0; k < N_DRAWS; k++) {
        double sum_l = stv_outlook_draws(&all, 0, 2, STV_Q_LPA_L)[k] +
                       stv_outlook_draws(&all, 1, 2, STV_Q_LPA_L)[k];
        stv_assert_close(stv_outlook_sum_draws(&all, 0, 1, 2, STV_Q_LPA_L)[k], sum_l, 1e-12, 0.0);
        stv_assert_close(stv_outlook_sum_draws(&picked, 0, 1, 1, STV_Q_LPA_L)[k], sum_l, 1e-12,
                         0.0);
        stv_assert_close(stv_outlook_sum_draws(&all, 0, 0, 2, STV_Q_LPA_L)[k], 0.0, 0.0, 0.0);
    }
    stv_outlook_free(&all);
    stv_outlook_free(&picked);
    place_end(&store.place);
}

/* More places than one batch makes tables for, run again with more done: what is kept from the run
 * before changes no byte, though it makes few tables anew. */
enum { N_PLACES = 24 };
static void kept_tables_change_no_byte(void **state)
{
    (void)state;
    static struct stv_position places[N_PLACES];
    static struct stv_cask casks[N_PLACES];
    static struct stv_event events[N_PLACES + 1];
    double exposed_frac[N_PLACES];
    struct store store;
    struct stv_outlook fresh, again;
    store_new(&store);
    for (size_t p = 0; p < N_PLACES; p++) {
        struct climate_of own = mild_climate;
        own.mean_c += 0.2 * (double)p;
        places[p] = place_new(2001, 2 * 8760, 0, &own);
        places[p].place.tier_idx = (int)p;
        exposed_frac[p] = 1.0;
        casks[p] = cask_new("A", 200.0);
        casks[p].id[0] = (char)('A' + (int)p);
        events[p] = event_new(day0, STV_EVENT_FILL, (int)p, p);
        events[p].volume20_l = 180.0;
        events[p].abv20_frac = 0.61;
        events[p].place = places[p].place;
    }
    events[N_PLACES] = event_new(day0 + 100, STV_EVENT_ADD_WATER, 3, N_PLACES);
    events[N_PLACES].water_kg = 40.0;
    store.ledger = (struct stv_ledger){casks, N_PLACES, events, N_PLACES};
    store.set = (struct stv_position_set){places, N_PLACES, exposed_frac, 0, 0};
    struct stv_kept_tables *kept = stv_kept_tables_new(NULL);
    assert_non_null(kept);
    for (size_t more = 0; more < 2; more++) {
        store.ledger.n_events = N_PLACES + more;
        store.request.kept = NULL;
        stv_assert_ok(stv_outlook_run(&store.request, &fresh));
        store.request.kept = kept;
        stv_assert_ok(stv_outlook_run(&store.request, &again));
        assert_memory_equal(fresh.values, again.values,
                            N_PLACES * N_DAYS * BLOCK * sizeof *fresh.values);
        assert_true(fresh.held_frac == again.held_frac);
        stv_outlook_free(&fresh);
        stv_outlook_free(&again);
    }
    stv_kept_tables_free(kept);
    for (size_t p = 0; p < N_PLACES; p++)
        place_end(&places[p]);
    place_end(&store.place);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(rows_are_the_values_of_these_days),
        cmocka_unit_test(sums_add_up_trial_by_trial),
        cmocka_unit_test(kept_tables_change_no_byte),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
