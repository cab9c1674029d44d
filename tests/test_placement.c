/* Free places ranked for a cask: the physics' order, ties, wishes, groups, refusals. */
#include "model/placement.h"
#include "model/reduce.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define YEAR_H 8760
#define N_PLACES 4

struct store {
    struct stv_position places[N_PLACES];
    double exposed_frac[N_PLACES];
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[2];
    struct stv_event events[8];
    struct stv_ledger ledger;
};

/* Tiers of steady air, one cask of 200 L filled two years before the move. */
static void store_new(struct store *store, const double climates[N_PLACES][2])
{
    *store = (struct store){.rules = stv_house_rules_default()};
    for (int p = 0; p < N_PLACES; p++) {
        store->places[p] = steady_place(2001, YEAR_H, climates[p][0], climates[p][1]);
        store->places[p].place.tier_idx = p;
        store->exposed_frac[p] = 1.0;
    }
    store->set = (struct stv_position_set){store->places, N_PLACES, store->exposed_frac, 1, 0};
    store->casks[0] = cask_new("a", 200.0);
    store->casks[1] = cask_new("b", 225.0);
    store->events[0] = fill_new(day_of(2001, 5, 2), 0, 195.0, 0.62, 0);
    store->events[0].place = (struct stv_place){0, 1, 5, 0};
    store->ledger = (struct stv_ledger){store->casks, 2, store->events, 1};
}

static void store_end(struct store *store)
{
    for (int p = 0; p < N_PLACES; p++)
        place_end(&store->places[p]);
}

static struct stv_outlook_request house_of(const struct store *store, size_t n_draws)
{
    return (struct stv_outlook_request){.ledger = &store->ledger,
                                        .set = &store->set,
                                        .rules = &store->rules,
                                        .options = {5, n_draws, 5.0}};
}

static struct stv_free_place free_at(int tier_idx, int bay_idx, enum stv_reach reach)
{
    return (struct stv_free_place){
        .place = {0, tier_idx, bay_idx, 0}, .position_idx = (size_t)tier_idx, .reach = reach};
}

static struct stv_placement_wish wish_of(const struct stv_free_place *free_places, size_t n_free)
{
    return (struct stv_placement_wish){.cask_idx = 0,
                                       .from_day_d = day_of(2003, 5, 2),
                                       .target_day_d = day_of(2007, 5, 2),
                                       .free_places = free_places,
                                       .n_free = n_free};
}

static struct stv_placement rank_of(const struct store *store, size_t n_draws,
                                    const struct stv_placement_wish *wish)
{
    struct stv_outlook_request house = house_of(store, n_draws);
    struct stv_placement placement;
    stv_assert_ok(stv_placement_rank(&house, wish, &placement));
    assert_int_equal(placement.n_scores, wish->n_free);
    return placement;
}

static const struct stv_place_score *score_of(const struct stv_placement *placement,
                                              size_t free_idx)
{
    for (size_t s = 0; s < placement->n_scores; s++)
        if (placement->scores[s].free_idx == free_idx)
            return &placement->scores[s];
    fail_msg("place %zu was not ranked", free_idx);
    return NULL;
}

/* Each climate is hotter and drier than the one before: bulk litres never go up, at any pair. */
static void hotter_and_drier_loses_no_less(void **state)
{
    (void)state;
    static const double ladders[3][N_PLACES][2] = {
        {{4.0, 0.92}, {11.0, 0.92}, {11.0, 0.75}, {19.0, 0.60}},
        {{15.0, 0.80}, {15.5, 0.80}, {15.5, 0.79}, {32.0, 0.30}},
        {{22.0, 0.95}, {30.0, 0.95}, {36.0, 0.90}, {36.0, 0.50}}};
    struct stv_free_place free_places[N_PLACES];
    for (int p = 0; p < N_PLACES; p++)
        free_places[p] = free_at(p, 1, STV_REACH_HAND);
    for (int l = 0; l < 3; l++) {
        struct store store;
        store_new(&store, ladders[l]);
        struct stv_placement_wish wish = wish_of(free_places, N_PLACES);
        struct stv_placement placement = rank_of(&store, 0, &wish);
        double last_l = INFINITY;
        for (size_t p = 0; p < N_PLACES; p++) {
            const struct stv_place_score *score = score_of(&placement, p);
            double litres = score->lpa_l.p50 / score->abv20_frac.p50;
            assert_true(litres < last_l);
            last_l = litres;
        }
        stv_placement_free(&placement);
        store_end(&store);
    }
}

static const double two_kinds[N_PLACES][2] = {
    {12.0, 0.78}, {12.0, 0.78}, {24.0, 0.55}, {12.0, 0.78}};

static void one_climate_is_a_tie(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    /* All of tier 1's climate, in a bad order. */
    struct stv_free_place free_places[5] = {
        free_at(1, 3, STV_REACH_BEHIND), free_at(1, 4, STV_REACH_LIFT),
        free_at(1, 6, STV_REACH_HAND), free_at(1, 5, STV_REACH_LIFT),
        free_at(1, 7, STV_REACH_HAND)};
    free_places[3].is_present = 1;
    struct stv_placement_wish wish = wish_of(free_places, 5);
    struct stv_placement placement = rank_of(&store, 24, &wish);
    static const size_t order[] = {3, 2, 4, 1, 0}; /* present, by hand, by hand, lift, behind */
    assert_int_equal(placement.is_matter, 0);
    for (size_t s = 0; s < 5; s++) {
        assert_int_equal(placement.scores[s].free_idx, order[s]);
        assert_true(placement.scores[s].as_good);
        stv_assert_close(placement.scores[s].bottles_against_best_nd, 0.0, 0.0, 0.0);
    }
    stv_placement_free(&placement);

    /* Two tiers of the same air: the present one first, though it is higher. */
    struct stv_free_place tiers[3] = {free_at(0, 1, STV_REACH_HAND), free_at(1, 1, STV_REACH_HAND),
                                      free_at(3, 1, STV_REACH_HAND)};
    tiers[2].is_present = 1;
    wish = wish_of(tiers, 3);
    placement = rank_of(&store, 24, &wish);
    static const size_t tier_order[] = {2, 0, 1};
    for (size_t s = 0; s < 3; s++)
        assert_int_equal(placement.scores[s].free_idx, tier_order[s]);
    assert_int_equal(placement.is_matter, 0);
    stv_placement_free(&placement);
    stv_placement_free(&placement); /* twice is allowed */
    store_end(&store);
}

static void other_climates_matter(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    struct stv_free_place free_places[2] = {free_at(2, 1, STV_REACH_HAND),
                                            free_at(0, 1, STV_REACH_LIFT)};
    free_places[0].is_present = 1;
    struct stv_placement_wish wish = wish_of(free_places, 2);
    store.rules.wood_least_nd = 0.0; /* any wood will do */
    store.rules.wood_most_nd = 9.0;
    struct stv_placement placement = rank_of(&store, 24, &wish);
    assert_int_equal(placement.is_matter, 1);
    assert_int_equal(placement.scores[0].free_idx, 1); /* cool: more bottles, more fruit */
    assert_false(placement.scores[1].as_good);
    assert_true(placement.scores[1].bottles_against_best_nd < -placement.margin_bottles_nd);
    stv_assert_close(placement.margin_bottles_nd, 0.015 * placement.scores[0].bottles_nd.p50, 1e-12,
                     0.0);
    stv_assert_close(placement.scores[0].wood_ok_frac, 1.0, 1e-12, 0.0);
    stv_placement_free(&placement);

    /* Where wood comes first and the cool tier gives too little of it, the hot one wins. */
    const struct stv_place_score *cool, *hot;
    store.rules.wood_first = 1;
    placement = rank_of(&store, 24, &wish);
    cool = score_of(&placement, 1);
    hot = score_of(&placement, 0);
    store.rules.wood_least_nd = 0.5 * (cool->wood_nd.p50 + hot->wood_nd.p50);
    stv_placement_free(&placement);
    placement = rank_of(&store, 24, &wish);
    assert_int_equal(placement.scores[0].free_idx, 0);
    hot = score_of(&placement, 0);
    cool = score_of(&placement, 1);
    assert_true(hot->wood_ok_frac > cool->wood_ok_frac + 0.1);
    stv_assert_close(hot->abv_ok_frac, 1.0, 1e-12, 0.0);
    stv_placement_free(&placement);
    store_end(&store);
}

/* A cask whose spirit came from another: the trial carries both, and is the book with the move. */
/* The parts of a difference make up the difference, and the main one is the one that does. */
static void parts_make_the_whole(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    struct stv_free_place free_places[2] = {free_at(2, 1, STV_REACH_HAND),
                                            free_at(0, 1, STV_REACH_HAND)};
    struct stv_placement_wish wish = wish_of(free_places, 2);
    struct stv_placement placement = rank_of(&store, 0, &wish);
    const struct stv_place_score *hot = score_of(&placement, 0), *cool = score_of(&placement, 1);
    double parts_nd[STV_PARTS], sum_nd = 0.0;
    stv_place_parts(hot, cool, hot->bottles_against_best_nd - cool->bottles_against_best_nd,
                    &store.rules, parts_nd);
    for (int part = 0; part < STV_PARTS; part++)
        sum_nd += parts_nd[part];
    stv_assert_close(sum_nd, log(hot->merit_nd / cool->merit_nd), 0.0, 0.01);
    /* The hot place gives more wood than is allowed, the cool one does not. */
    assert_true(cool->wood_ok_frac > hot->wood_ok_frac);
    assert_int_equal(stv_place_main_part(parts_nd, -1), STV_PART_WOOD);
    assert_true(parts_nd[STV_PART_QUALITY] < 0.0);
    store.rules.wood_first = 1;
    stv_place_parts(hot, cool, 0.0, &store.rules, parts_nd);
    assert_true(parts_nd[STV_PART_QUALITY] >= 0.0);
    stv_assert_close(parts_nd[STV_PART_BOTTLES], 0.0, 0.0, 0.0);
    static const double one_each[STV_PARTS] = {-0.02, 0.05, 0.01, -0.03};
    assert_int_equal(stv_place_main_part(one_each, 1), STV_PART_WOOD);
    assert_int_equal(stv_place_main_part(one_each, -1), STV_PART_QUALITY);
    stv_placement_free(&placement);
    store_end(&store);
}

/* Fruit first takes the cool place, wood first the hot one, and each tells of the other. */
static void the_other_taste_is_told(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    store.rules.wood_least_nd = 0.0;
    store.rules.wood_most_nd = 3.0;
    struct stv_free_place free_places[3] = {free_at(2, 1, STV_REACH_HAND),
                                            free_at(0, 1, STV_REACH_HAND),
                                            free_at(1, 1, STV_REACH_HAND)};
    struct stv_placement_wish wish = wish_of(free_places, 3);
    for (int wood_first = 0; wood_first < 2; wood_first++) {
        store.rules.wood_first = wood_first;
        struct stv_placement placement = rank_of(&store, 8, &wish);
        assert_int_equal(placement.scores[0].free_idx == 0, wood_first);
        assert_true(placement.other_taste_idx > 0);
        assert_int_equal(placement.scores[placement.other_taste_idx].free_idx == 0, !wood_first);
        stv_placement_free(&placement);
    }
    wish = wish_of(free_places + 1, 2); /* of one air: no taste tells them apart */
    struct stv_placement placement = rank_of(&store, 8, &wish);
    assert_int_equal(placement.other_taste_idx, 0);
    stv_placement_free(&placement);
    store_end(&store);
}

/* Water to the bottling strength, against the bench sum; none where it is no stronger. */
static void water_is_that_of_the_bench(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    struct stv_free_place free_places[2] = {free_at(2, 1, STV_REACH_HAND),
                                            free_at(0, 1, STV_REACH_HAND)};
    struct stv_placement_wish wish = wish_of(free_places, 2);
    struct stv_placement placement = rank_of(&store, 0, &wish);
    for (size_t s = 0; s < 2; s++) {
        const struct stv_place_score *score = &placement.scores[s];
        struct stv_reduce_step step;
        const struct stv_reduce_input input = {
            .volume_l = score->lpa_l.p50 / score->abv20_frac.p50,
            .temp_c = 20.0,
            .from_abv20_frac = score->abv20_frac.p50,
            .to_abv20_frac = store.rules.bottling_abv20_frac,
            .n_steps = 1,
            .limit = {.capacity_l = 400.0, .room_frac = 0.02, .hottest_c = 30.0},
        };
        stv_assert_ok(stv_reduce_work(&input, &step));
        assert_true(step.water_kg > 5.0);
        stv_assert_close(score->water_kg.p50, step.water_kg, 1e-6, 0.0);
    }
    stv_placement_free(&placement);
    store.rules.bottling_abv20_frac = 0.90;
    placement = rank_of(&store, 8, &wish);
    stv_assert_close(placement.scores[0].water_kg.p95, 0.0, 0.0, 0.0);
    stv_placement_free(&placement);
    store_end(&store);
}

static void groups_are_carried_along(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    struct stv_event *events = store.events;
    events[1] = fill_new(day_of(2001, 7, 9), 1, 220.0, 0.58, 1);
    events[1].place = (struct stv_place){0, 2, 2, 0};
    events[2] = event_new(day_of(2002, 3, 3), STV_EVENT_ADD_WATER, 1, 2);
    events[2].water_kg = 3.7;
    events[3] = event_new(day_of(2002, 9, 8), STV_EVENT_TRANSFER, 0, 3);
    events[3].other_idx = 1;
    events[3].volume20_l = 10.5;
    events[4] = event_new(day_of(2003, 5, 2), STV_EVENT_MOVE, 1, 4); /* the day of the trial */
    events[4].place = (struct stv_place){0, 3, 2, 0};
    events[5] = event_new(day_of(2003, 5, 2), STV_EVENT_SAMPLE, 1, 5);
    events[5].volume20_l = 0.7;
    events[6] = event_new(day_of(2004, 1, 1), STV_EVENT_SAMPLE, 1, 6); /* later: left out */
    events[6].volume20_l = 5.0;
    store.ledger.n_events = 7;
    struct stv_free_place free_places[2] = {free_at(0, 1, STV_REACH_HAND),
                                            free_at(2, 1, STV_REACH_HAND)};
    struct stv_placement_wish wish = wish_of(free_places, 2);
    wish.cask_idx = 1;
    struct stv_placement placement = rank_of(&store, 8, &wish);

    for (size_t f = 0; f < 2; f++) {
        struct stv_event moved[7];
        memcpy(moved, events, sizeof moved);
        moved[6] = event_new(wish.from_day_d, STV_EVENT_MOVE, 1, 9);
        moved[6].place = free_places[f].place;
        struct stv_ledger ledger = {store.casks, 2, moved, 7};
        struct stv_outlook_request request = house_of(&store, 8);
        struct stv_outlook outlook;
        request.ledger = &ledger;
        request.days_d = &wish.target_day_d;
        request.n_days = 1;
        stv_assert_ok(stv_outlook_run(&request, &outlook));
        struct stv_range want = stv_outlook_range(&outlook, 1, 0, STV_Q_BOTTLES_ND);
        struct stv_range wood = stv_outlook_range(&outlook, 1, 0, STV_Q_WOOD_INDEX_ND);
        const struct stv_place_score *got = score_of(&placement, f);
        assert_memory_equal(&got->bottles_nd, &want, sizeof want);
        assert_memory_equal(&got->wood_nd, &wood, sizeof wood);
        stv_outlook_free(&outlook);
    }
    stv_placement_free(&placement);
    store_end(&store);
}

static void refusals(void **state)
{
    (void)state;
    struct store store;
    store_new(&store, two_kinds);
    struct stv_free_place free_place = free_at(0, 1, STV_REACH_HAND);
    struct stv_outlook_request house = house_of(&store, 2);
    struct stv_placement placement;
    struct stv_placement_wish wish = wish_of(&free_place, 0);
    stv_assert_status(stv_placement_rank(&house, &wish, &placement), STV_E_NO_DATA);
    wish = wish_of(&free_place, 1);
    wish.cask_idx = 1; /* never filled */
    stv_assert_status(stv_placement_rank(&house, &wish, &placement), STV_E_NO_DATA);
    wish.cask_idx = 2;
    stv_assert_status(stv_placement_rank(&house, &wish, &placement), STV_E_ARG);
    wish.cask_idx = -1;
    stv_assert_status(stv_placement_rank(&house, &wish, &placement), STV_E_ARG);
    wish = wish_of(&free_place, 1);
    wish.target_day_d = wish.from_day_d - 1;
    stv_assert_status(stv_placement_rank(&house, &wish, &placement), STV_E_ARG);
    wish = wish_of(&free_place, 1);
    store.places[0].grid.n = 3000;
    stv_assert_status(stv_placement_rank(&house, &wish, &placement), STV_E_NO_DATA);
    assert_null(placement.scores);
    store_end(&store);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hotter_and_drier_loses_no_less),
        cmocka_unit_test(one_climate_is_a_tie),
        cmocka_unit_test(other_climates_matter),
        cmocka_unit_test(parts_make_the_whole),
        cmocka_unit_test(the_other_taste_is_told),
        cmocka_unit_test(water_is_that_of_the_bench),
        cmocka_unit_test(groups_are_carried_along),
        cmocka_unit_test(refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
