/* Leaving active wood: windows in summers, receivers by the same trials, laws of both. */
#include "model/transfer.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define YEAR_H 8760
#define N_PLACES 4
#define N_CASKS 9

struct store {
    struct stv_position places[N_PLACES];
    double exposed_frac[N_PLACES];
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[N_CASKS];
    struct stv_event events[16];
    struct stv_ledger ledger;
    struct stv_season_span warm;
    struct stv_wood_rules wood;
};

/* Tiers, each warmer than the one below; nothing in the casks yet.  Summer is May to September. */
static void store_new(struct store *store)
{
    *store = (struct store){.rules = stv_house_rules_default(), .wood = stv_wood_rules_default()};
    for (int p = 0; p < N_PLACES; p++) {
        struct climate_of climate = {.mean_c = 10.0 + 4.0 * p, .year_k = 10.0, .rh_frac = 0.65};
        store->places[p] = place_new(2001, 2 * YEAR_H, 0, &climate);
        store->places[p].place.tier_idx = p;
        store->exposed_frac[p] = 1.0;
    }
    int holds[12] = {0};
    for (int m = 4; m <= 8; m++)
        holds[m] = 1;
    store->warm = stv_season_of_months(holds);
    store->set = (struct stv_position_set){store->places, N_PLACES, store->exposed_frac, 1, 0};
    store->ledger = (struct stv_ledger){store->casks, 0, store->events, 0};
    store->rules.wood_least_nd = 0.5;
    store->rules.wood_most_nd = 1.2;
}

static void store_end(struct store *store)
{
    for (int p = 0; p < N_PLACES; p++)
        place_end(&store->places[p]);
}

static int add_cask(struct store *store, const char *id, double capacity_l,
                    enum stv_wood_history history)
{
    struct stv_cask *cask = &store->casks[store->ledger.n_casks];
    *cask = cask_new(id, capacity_l);
    cask->history = history;
    return (int)store->ledger.n_casks++;
}

static void add_fill(struct store *store, int cask_idx, int64_t day_d, int tier_idx)
{
    size_t n = store->ledger.n_events++;
    store->events[n] =
        fill_new(day_d, cask_idx, 0.95 * store->casks[cask_idx].geometry.capacity_l, 0.60, n);
    store->events[n].place = (struct stv_place){0, tier_idx, cask_idx, 0};
}

static void add_empty(struct store *store, int cask_idx, int64_t day_d)
{
    size_t n = store->ledger.n_events++;
    store->events[n] = event_new(day_d, STV_EVENT_EMPTY, cask_idx, n);
}

#define MOST_ASKED 8
struct ask {
    int cask_idx[MOST_ASKED];
    int64_t planned_day_d[MOST_ASKED];
    size_t n;
    int64_t as_of_d;
    int tries_all;
    size_t n_draws;
};

static enum stv_status try_plan(struct store *store, const struct ask *ask,
                                struct stv_transfers *out)
{
    struct stv_outlook_request house = {.ledger = &store->ledger,
                                        .set = &store->set,
                                        .rules = &store->rules,
                                        .options = {5, ask->n_draws, 5.0, 0.0}};
    struct stv_lineage *lineage = NULL;
    stv_assert_ok(stv_ledger_sort(&store->ledger));
    stv_assert_ok(stv_lineage_new(&store->ledger, ask->as_of_d, &lineage));
    struct stv_transfer_request request = {.house = &house,
                                           .lineage = lineage,
                                           .as_of_day_d = ask->as_of_d,
                                           .warm = &store->warm,
                                           .wood = &store->wood,
                                           .cask_idx = ask->cask_idx,
                                           .planned_day_d = ask->planned_day_d,
                                           .n_casks = ask->n,
                                           .tries_all = ask->tries_all};
    enum stv_status status = stv_transfer_plan(&request, out);
    stv_lineage_free(lineage);
    return status;
}

static struct stv_transfers plan(struct store *store, const struct ask *ask)
{
    struct stv_transfers transfers;
    stv_assert_ok(try_plan(store, ask, &transfers));
    assert_int_equal(transfers.n, ask->n);
    return transfers;
}

static void summers_of_both_halves(void **state)
{
    (void)state;
    struct stv_summer summers[4];
    int north[12] = {0}, south[12] = {0};
    for (int m = 4; m <= 8; m++)
        north[m] = 1;
    south[11] = south[0] = south[1] = 1;
    struct stv_season_span warm = stv_season_of_months(north);
    /* In one that runs, it is told from its first day; one that begins on the last day counts. */
    size_t n = stv_summers_between(&warm, day_of(2027, 7, 4), day_of(2029, 5, 1), summers, 4);
    assert_int_equal(n, 3);
    assert_int_equal(summers[0].from_day_d, day_of(2027, 5, 1));
    assert_int_equal(summers[0].to_day_d, day_of(2027, 9, 30));
    assert_int_equal(summers[1].from_day_d, day_of(2028, 5, 1)); /* a leap year */
    assert_int_equal(summers[1].to_day_d, day_of(2028, 9, 30));
    assert_int_equal(summers[2].from_day_d, day_of(2029, 5, 1));
    assert_int_equal(
        stv_summers_between(&warm, day_of(2027, 10, 1), day_of(2028, 4, 30), summers, 4), 0);
    assert_int_equal(stv_summers_between(&warm, day_of(2027, 7, 4), day_of(2059, 5, 1), summers, 2),
                     2);
    warm = stv_season_of_months(south);
    n = stv_summers_between(&warm, day_of(2028, 1, 15), day_of(2028, 12, 24), summers, 4);
    assert_int_equal(n, 2);
    assert_int_equal(summers[0].from_day_d, day_of(2027, 12, 1));
    assert_int_equal(summers[0].to_day_d, day_of(2028, 2, 29));
    assert_int_equal(summers[1].from_day_d, day_of(2028, 12, 1));
    for (int m = 0; m < 12; m++)
        north[m] = 1; /* no season: years, one after another, without a gap */
    warm = stv_season_of_months(north);
    n = stv_summers_between(&warm, day_of(2028, 1, 15), day_of(2029, 6, 1), summers, 4);
    assert_true(n >= 2);
    assert_int_equal(summers[1].from_day_d, summers[0].to_day_d + 1);
}

/* The hotter the place, and the smaller the cask, the earlier it passes and the earlier it leaves.
 */
static void hotter_and_smaller_leave_earlier(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct ask ask = {.as_of_d = day_of(2003, 1, 10), .n_draws = 24};
    static const double sizes[3] = {200.0, 100.0, 50.0};
    for (int p = 0; p < N_PLACES; p++)
        add_cask(&store, "same", 200.0, STV_WOOD_NEW);
    for (int s = 1; s < 3; s++)
        add_cask(&store, "same", sizes[s], STV_WOOD_NEW);
    for (int c = 0; c < 6; c++) {
        add_fill(&store, c, day_of(2002, 11, 1), c < N_PLACES ? c : 0);
        ask.cask_idx[c] = c;
        ask.planned_day_d[c] = day_of(2015, 1, 1);
    }
    ask.n = 6;
    struct stv_transfers got = plan(&store, &ask);
    for (int p = 1; p < N_PLACES; p++) {
        const struct stv_leaving *cool = &got.items[p - 1].leaving, *hot = &got.items[p].leaving;
        assert_true(hot->over.central_d < cool->over.central_d);
        assert_true(hot->enough.central_d < cool->enough.central_d);
        assert_true(hot->leave_day_d <= cool->leave_day_d);
        stv_assert_close(hot->area_ratio_nd, 1.0, 1e-12, 0.0);
        for (size_t s = 0; s < hot->n_summers; s++)
            assert_true(hot->summers[s].after_frac <= cool->summers[s].after_frac);
    }
    for (size_t i = 0; i < got.n; i++) /* a day of leaving keeps the odds that it is there for */
        if (got.items[i].leaving.call == STV_LEAVE_BEFORE && got.items[i].leaving.now_frac >= 0.7)
            assert_true(got.items[i].leaving.leave_frac >= 0.7);
    assert_true(got.items[3].leaving.leave_day_d < got.items[0].leaving.leave_day_d);
    const struct stv_leaving *last = &got.items[0].leaving;
    for (int c = 4; c < 6; c++) {
        const struct stv_leaving *small = &got.items[c].leaving;
        assert_true(small->over.central_d < last->over.central_d);
        assert_true(small->area_ratio_nd > last->area_ratio_nd);
        last = small;
    }
    stv_transfers_free(&got);
    stv_transfers_free(&got); /* twice is allowed */
    store_end(&store);
}

/* Without draws the day of passing is known: the move comes before it, in the cool months too. */
static void leaves_before_it_passes(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    int cask = add_cask(&store, "a", 200.0, STV_WOOD_NEW), n_cool = 0, n_told = 0;
    add_fill(&store, cask, day_of(2002, 11, 1), 2);
    struct ask ask = {.cask_idx = {cask},
                      .planned_day_d = {day_of(2012, 1, 1)},
                      .n = 1,
                      .as_of_d = day_of(2003, 1, 10)};
    for (double most = 0.3; most < 2.0; most += 0.05) {
        store.rules.wood_most_nd = most;
        struct stv_transfers got = plan(&store, &ask);
        const struct stv_leaving *leaving = &got.items[0].leaving;
        if (leaving->call == STV_LEAVE_BEFORE) {
            int64_t from_d = leaving->summers[leaving->last_idx].summer.from_day_d;
            n_told++;
            n_cool += leaving->leave_day_d != from_d;
            assert_true((double)leaving->leave_day_d <= leaving->over.central_d);
            assert_true(leaving->leave_day_d <= from_d);
            assert_true(leaving->over.central_d - (double)leaving->leave_day_d < 366.0);
        }
        stv_transfers_free(&got);
    }
    assert_true(n_told > 10 && n_cool > 1);
    store_end(&store);
}

/* What a window says is what the outlook says of these days. */
static void odds_are_the_outlook_s(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    int cask = add_cask(&store, "a", 200.0, STV_WOOD_NEW);
    add_fill(&store, cask, day_of(2002, 11, 1), 3);
    struct ask ask = {.cask_idx = {cask},
                      .planned_day_d = {day_of(2010, 1, 1)},
                      .n = 1,
                      .as_of_d = day_of(2003, 1, 10),
                      .n_draws = 24};
    struct stv_transfers got = plan(&store, &ask);
    const struct stv_leaving *leaving = &got.items[0].leaving;
    assert_int_equal(leaving->call, STV_LEAVE_BEFORE);
    assert_int_equal(leaving->n_summers, 7);
    const struct stv_summer_odds *last = &leaving->summers[leaving->last_idx];
    assert_true(last->after_frac < 0.7);
    assert_true(leaving->last_idx == 0 || last[-1].after_frac >= 0.7);
    assert_int_equal(leaving->leave_day_d, last->summer.from_day_d);
    stv_assert_close(leaving->leave_frac, last->before_frac, 0.0, 0.0);

    struct stv_outlook outlook;
    int64_t days_d[3] = {last->summer.from_day_d, last->summer.to_day_d, leaving->a_year_on_d};
    struct stv_outlook_request request = {.ledger = &store.ledger,
                                          .set = &store.set,
                                          .rules = &store.rules,
                                          .options = {5, 24, 5.0, 0.0},
                                          .days_d = days_d,
                                          .n_days = 3};
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    double under[3] = {0.0};
    for (size_t d = 0; d < 3; d++)
        for (size_t k = 0; k < 24; k++)
            under[d] += (stv_outlook_draws(&outlook, 0, d, STV_Q_WOOD_INDEX_ND)[k] <=
                         store.rules.wood_most_nd) /
                        24.0;
    stv_assert_close(last->before_frac, under[0], 1e-12, 0.0);
    stv_assert_close(last->after_frac, under[1], 1e-12, 0.0);
    stv_assert_close(leaving->a_year_on_frac, under[2], 1e-12, 0.0);
    stv_outlook_free(&outlook);
    stv_transfers_free(&got);
    store_end(&store);
}

static void over_stays_and_now(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    int cask = add_cask(&store, "a", 200.0, STV_WOOD_NEW);
    add_fill(&store, cask, day_of(2002, 11, 1), 3);
    struct ask ask = {.cask_idx = {cask},
                      .planned_day_d = {day_of(2012, 1, 1)},
                      .n = 1,
                      .as_of_d = day_of(2009, 1, 10),
                      .n_draws = 24};
    struct stv_transfers got = plan(&store, &ask); /* six years in the hottest place */
    assert_int_equal(got.items[0].leaving.call, STV_LEAVE_OVER);
    assert_true(got.items[0].leaving.now_frac < 0.5);
    assert_int_equal(got.items[0].n_receivers, 0);
    stv_transfers_free(&got);

    store.rules.wood_most_nd = 50.0; /* nothing gets there */
    got = plan(&store, &ask);
    assert_int_equal(got.items[0].leaving.call, STV_LEAVE_STAY);
    stv_assert_close(got.items[0].leaving.over.odds_frac, 0.0, 0.0, 0.0);
    stv_transfers_free(&got);

    /* In the middle of the summer before which it should have left. */
    store.rules.wood_most_nd = 1.2;
    ask.as_of_d = day_of(2003, 1, 10);
    got = plan(&store, &ask);
    int64_t leave_d = got.items[0].leaving.leave_day_d;
    stv_transfers_free(&got);
    ask.as_of_d = leave_d + 20;
    got = plan(&store, &ask);
    assert_int_equal(got.items[0].leaving.call, STV_LEAVE_NOW);
    assert_int_equal(got.items[0].leaving.leave_day_d, ask.as_of_d);
    stv_transfers_free(&got);

    ask.planned_day_d[0] = ask.as_of_d;
    stv_assert_status(try_plan(&store, &ask, &got), STV_E_ARG);
    store_end(&store);
}

static const struct stv_receiver *receiver_of(const struct stv_transfer *item, int cask_idx)
{
    for (size_t r = 0; r < item->n_receivers; r++)
        if (item->receivers[r].cask_idx == cask_idx)
            return &item->receivers[r];
    fail_msg("cask %d is no receiver", cask_idx);
    return NULL;
}

/* A source, twins that are empty refills, new wood, one too small, one used up, one dry for long.
 */
static struct ask receivers_new(struct store *store)
{
    store_new(store);
    int source = add_cask(store, "source", 200.0, STV_WOOD_NEW);
    add_fill(store, source, day_of(2002, 11, 1), 3);
    add_cask(store, "twin", 200.0, STV_WOOD_HELD_SPIRIT);
    add_cask(store, "twin too", 200.0, STV_WOOD_HELD_SPIRIT);
    add_cask(store, "new", 200.0, STV_WOOD_NEW);
    add_cask(store, "small", 100.0, STV_WOOD_HELD_SPIRIT);
    add_cask(store, "used up", 200.0, STV_WOOD_HELD_SPIRIT);
    add_cask(store, "lately", 200.0, STV_WOOD_HELD_SPIRIT);
    for (int c = 1; c <= 6; c++)
        store->casks[c].n_uses_before = c == 3 ? 0 : 1;
    store->casks[5].n_uses_before = 3;
    add_fill(store, 6, day_of(1993, 1, 5), 2);
    add_empty(store, 6, day_of(2003, 4, 2));
    return (struct ask){.cask_idx = {source},
                        .planned_day_d = {day_of(2006, 3, 1)},
                        .n = 1,
                        .as_of_d = day_of(2003, 4, 10),
                        .n_draws = 24};
}

static void receivers_are_told_apart(void **state)
{
    (void)state;
    struct store store;
    struct ask ask = receivers_new(&store);
    ask.as_of_d = day_of(2003, 4, 10);
    store.rules.wood_most_nd = 1.0; /* it leaves before the first summer */
    store.rules.wood_least_nd = 0.0;
    struct stv_transfers got = plan(&store, &ask);
    const struct stv_transfer *item = &got.items[0];
    assert_int_equal(item->leaving.leave_day_d, day_of(2003, 5, 1));
    assert_int_equal(item->n_receivers, 6);
    assert_int_equal(item->n_tried, 4);
    assert_int_equal(receiver_of(item, 4)->fault, STV_RECEIVER_TOO_SMALL);
    assert_int_equal(receiver_of(item, 5)->fault, STV_RECEIVER_USED_UP);
    assert_int_equal(receiver_of(item, 5)->uses_left, 0);
    const struct stv_receiver *twin = receiver_of(item, 1), *other = receiver_of(item, 2);
    const struct stv_receiver *fresh = receiver_of(item, 3), *lately = receiver_of(item, 6);
    assert_true(isnan(twin->dry_d) && twin->is_dry); /* nobody knows */
    assert_true(fresh->is_never_wet && fresh->is_dry);
    assert_int_equal(lately->n_uses, 2);
    assert_int_equal(lately->uses_left, 1);
    stv_assert_close(lately->dry_d, 29.0, 0.0, 0.0);
    assert_false(lately->is_dry);
    /* Casks of which nothing is known are told by the same trials: twins are one and the same. */
    assert_memory_equal(&twin->score, &other->score, sizeof twin->score);
    stv_assert_close(twin->bottles_against_left_nd, other->bottles_against_left_nd, 0.0, 0.0);
    /* The more a wood has given, the less it gives; dry wood drinks; a move costs half a per cent.
     */
    assert_true(lately->wood_against_left_nd < -0.1);
    assert_true(lately->wood_against_left_nd < twin->wood_against_left_nd);
    assert_true(twin->wood_against_left_nd < fresh->wood_against_left_nd);
    assert_true(fresh->wood_against_left_nd > 0.5);
    assert_true(lately->bottles_against_left_nd > twin->bottles_against_left_nd + 3.0);
    assert_true(lately->bottles_against_left_nd < 0.0 && lately->bottles_against_left_nd > -4.0);
    assert_true(twin->under_frac >= item->leaving.planned_frac);
    assert_true(twin->waited_under_frac <= twin->under_frac);
    /* The one that was wet lately leads where it is as good; new wood is last of those tried. */
    assert_int_equal(item->receivers[0].cask_idx, 6);
    assert_int_equal(item->receivers[3].cask_idx, 3);
    assert_int_equal(item->given_idx, 0);
    stv_transfers_free(&got);
    store_end(&store);
}

/* A receiver's score is the book with the transfer written into it. */
static void a_trial_is_the_book_with_the_transfer(void **state)
{
    (void)state;
    struct store store;
    struct ask ask = receivers_new(&store);
    store.rules.wood_most_nd = 1.0;
    store.events[store.ledger.n_events++] = /* later: left out */
        event_new(day_of(2004, 2, 2), STV_EVENT_EMPTY, 0, 9);
    struct stv_transfers got = plan(&store, &ask);
    const struct stv_receiver *lately = receiver_of(&got.items[0], 6);
    store.ledger.n_events--;

    int64_t leave_d = got.items[0].leaving.leave_day_d;
    struct stv_event *sample = &store.events[store.ledger.n_events++];
    *sample = event_new(leave_d, STV_EVENT_SAMPLE, 0, 20);
    sample->volume20_l = 0.005 * got.items[0].leaving.volume20_l.p50;
    struct stv_event *move = &store.events[store.ledger.n_events++];
    *move = event_new(leave_d, STV_EVENT_TRANSFER, 0, 21);
    move->other_idx = 6;
    move->place = (struct stv_place){0, 3, 0, 0};
    memcpy(store.casks[6].id, store.casks[0].id, STV_ID_MAX); /* the same trials */
    struct stv_outlook outlook;
    struct stv_outlook_request request = {.ledger = &store.ledger,
                                          .set = &store.set,
                                          .rules = &store.rules,
                                          .options = {5, 24, 5.0, 0.0},
                                          .days_d = ask.planned_day_d,
                                          .n_days = 1};
    stv_assert_ok(stv_ledger_sort(&store.ledger));
    stv_assert_ok(stv_outlook_run(&request, &outlook));
    struct stv_range bottles = stv_outlook_range(&outlook, 6, 0, STV_Q_BOTTLES_ND);
    struct stv_range wood = stv_outlook_range(&outlook, 6, 0, STV_Q_WOOD_INDEX_ND);
    struct stv_range fruit = stv_outlook_range(&outlook, 6, 0, STV_Q_STILL_FRUIT_ND);
    assert_memory_equal(&lately->score.bottles_nd, &bottles, sizeof bottles);
    assert_memory_equal(&lately->score.wood_nd, &wood, sizeof wood);
    assert_memory_equal(&lately->score.fruit_nd, &fruit, sizeof fruit);
    stv_outlook_free(&outlook);
    stv_transfers_free(&got);
    store_end(&store);
}

/* Two casks want the one that fits: the more urgent gets it, and the other what is left. */
static void one_receiver_for_one_cask(void **state)
{
    (void)state;
    struct store store;
    struct ask ask = receivers_new(&store);
    store.rules.wood_most_nd = 1.0;
    store.rules.wood_least_nd = 0.0;
    int younger = add_cask(&store, "source", 200.0, STV_WOOD_NEW);
    add_fill(&store, younger, day_of(2003, 1, 20), 3);
    int second_used = add_cask(&store, "used long", 200.0, STV_WOOD_HELD_SPIRIT);
    add_fill(&store, second_used, day_of(1993, 1, 5), 2);
    add_empty(&store, second_used, day_of(2003, 4, 1));
    ask.cask_idx[0] = younger;
    ask.cask_idx[1] = 0;
    ask.planned_day_d[1] = ask.planned_day_d[0];
    ask.n = 2;
    ask.n_draws = 96;
    struct stv_transfers got = plan(&store, &ask);
    assert_true(got.items[0].given_idx != SIZE_MAX && got.items[1].given_idx != SIZE_MAX);
    assert_true(got.items[1].leaving.a_year_on_frac < got.items[0].leaving.a_year_on_frac);
    int first = got.items[1].receivers[got.items[1].given_idx].cask_idx;
    int second = got.items[0].receivers[got.items[0].given_idx].cask_idx;
    assert_int_equal(first, 6);
    assert_int_equal(second, second_used);
    stv_transfers_free(&got);
    store_end(&store);
}

static void active_wood(void **state)
{
    (void)state;
    struct store store;
    struct ask ask = receivers_new(&store);
    struct stv_lineage *lineage = NULL;
    add_fill(&store, 4, day_of(2003, 4, 3), 1); /* a refill */
    add_fill(&store, 6, day_of(2003, 4, 3), 2); /* its second fill here */
    stv_assert_ok(stv_ledger_sort(&store.ledger));
    stv_assert_ok(stv_lineage_new(&store.ledger, ask.as_of_d, &lineage));
    assert_true(stv_wood_is_active(&store.ledger, lineage, 0));
    assert_false(stv_wood_is_active(&store.ledger, lineage, 1)); /* empty */
    assert_false(stv_wood_is_active(&store.ledger, lineage, 4));
    assert_false(stv_wood_is_active(&store.ledger, lineage, 6));
    stv_lineage_free(lineage);
    store_end(&store);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(summers_of_both_halves),
        cmocka_unit_test(hotter_and_smaller_leave_earlier),
        cmocka_unit_test(leaves_before_it_passes),
        cmocka_unit_test(odds_are_the_outlook_s),
        cmocka_unit_test(over_stays_and_now),
        cmocka_unit_test(receivers_are_told_apart),
        cmocka_unit_test(a_trial_is_the_book_with_the_transfer),
        cmocka_unit_test(one_receiver_for_one_cask),
        cmocka_unit_test(active_wood),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
