/* Kinds of casks at kinds of places: what each gives, who goes where, and casks told from kinds. */
#include "model/placement_house.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define YEAR_H 8760
#define N_TIERS 6
#define N_GROUPS 3
#define BAYS 10

/* Six tiers, each hotter and drier than the one below, steady; three kinds of casks filled on one
 * day: 40 barrels for 4 years, 20 hogsheads for 8, none of a third. */
struct store {
    struct stv_position places[N_TIERS];
    double exposed_frac[N_TIERS];
    struct stv_position_set set;
    struct stv_house_rules rules;
    struct stv_cask casks[N_GROUPS];
    struct stv_event events[N_GROUPS];
    struct stv_ledger ledger;
    struct stv_cask_group groups[N_GROUPS];
    struct stv_place_kind kinds[N_TIERS];
    struct stv_house_wish wish;
};

static void store_new(struct store *store)
{
    *store = (struct store){.rules = stv_house_rules_default()};
    int64_t from_day_d = day_of(2003, 5, 2);
    for (int t = 0; t < N_TIERS; t++) {
        store->places[t] = steady_place(2001, YEAR_H, 14.0 + 2.5 * t, 0.74 - 0.05 * t);
        store->places[t].place.tier_idx = t;
        store->exposed_frac[t] = 1.0;
        store->kinds[t] = (struct stv_place_kind){
            .position_idx = (size_t)t,
            .place = {0, t, 0, 0},
            .reach = t < 2 ? STV_REACH_HAND : STV_REACH_LIFT,
            .n_places = BAYS,
            .most_kg = INFINITY,
        };
    }
    static const double sizes_l[N_GROUPS] = {200.0, 250.0, 500.0};
    static const size_t n_casks[N_GROUPS] = {40, 20, 0};
    static const char *const ids[N_GROUPS] = {"a", STV_HOUSE_STAND_IN_ID, "c"};
    for (int g = 0; g < N_GROUPS; g++) {
        store->casks[g] = cask_new(ids[g], sizes_l[g]);
        store->casks[g].history = STV_WOOD_HELD_SPIRIT;
        store->events[g] = fill_new(from_day_d, g, 0.97 * sizes_l[g], 0.592, (size_t)g);
        store->groups[g] = (struct stv_cask_group){
            .cask_idx = g,
            .n_casks = n_casks[g],
            .target_day_d = day_of(g == 1 ? 2011 : 2007, 5, 2),
            .present_idx = SIZE_MAX,
            .mass_kg = 1.2 * sizes_l[g],
        };
    }
    store->set = (struct stv_position_set){store->places, N_TIERS, store->exposed_frac, 2, 0};
    store->ledger = (struct stv_ledger){store->casks, N_GROUPS, store->events, N_GROUPS};
    store->wish = (struct stv_house_wish){from_day_d,   store->groups, N_GROUPS,
                                          store->kinds, N_TIERS,       SIZE_MAX};
}

static void store_end(struct store *store)
{
    for (int t = 0; t < N_TIERS; t++)
        place_end(&store->places[t]);
}

static struct stv_outlook_request house_of(const struct store *store)
{
    return (struct stv_outlook_request){.ledger = &store->ledger,
                                        .set = &store->set,
                                        .rules = &store->rules,
                                        .options = {5, 16, 5.0}};
}

static struct stv_house_placement place_of(const struct store *store)
{
    struct stv_outlook_request house = house_of(store);
    struct stv_house_placement placement;
    stv_assert_ok(stv_house_place(&house, &store->wish, &placement));
    return placement;
}

static const struct stv_house_outcome *outcome_of(const struct stv_house_placement *placement,
                                                  size_t group, size_t kind)
{
    return &placement->outcomes[group * placement->n_kinds + kind];
}

/* Every cask one place, no place two casks: told casks and counts agree. */
static void check_expansion(const struct store *store, const struct stv_house_placement *placement,
                            const size_t *present_slot, size_t *out_slot_of)
{
    struct stv_house_slot slots[N_TIERS * BAYS];
    struct stv_house_item items[N_TIERS * BAYS];
    int is_taken[N_TIERS * BAYS] = {0};
    size_t n_slots = 0, n_items = 0;
    for (size_t k = 0; k < N_TIERS; k++)
        for (size_t b = 0; b < store->kinds[k].n_places; b++)
            slots[n_slots++] = (struct stv_house_slot){{0, (int)k, (int)(b / 2), (int)(b % 2)}, k};
    for (size_t g = 0; g < N_GROUPS; g++)
        for (size_t c = 0; c < store->groups[g].n_casks; c++, n_items++)
            items[n_items] =
                (struct stv_house_item){g, present_slot ? present_slot[n_items] : SIZE_MAX};
    stv_assert_ok(stv_house_expand(placement, slots, n_slots, items, n_items, out_slot_of));
    size_t n_placed[N_GROUPS * N_TIERS] = {0};
    for (size_t i = 0; i < n_items; i++) {
        if (out_slot_of[i] == SIZE_MAX)
            continue;
        assert_false(is_taken[out_slot_of[i]]);
        is_taken[out_slot_of[i]] = 1;
        n_placed[items[i].group_idx * N_TIERS + slots[out_slot_of[i]].kind_idx]++;
    }
    assert_memory_equal(n_placed, placement->assignment.n_placed, sizeof n_placed);
}

/* Story: 40 barrels for 4 years and 20 hogsheads for 8 fill 60 places of six tiers. */
static void sixty_casks_get_sixty_places(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_house_placement placement = place_of(&store);
    size_t slot_of[N_TIERS * BAYS];
    check_expansion(&store, &placement, NULL, slot_of);
    for (size_t i = 0; i < N_TIERS * BAYS; i++)
        assert_true(slot_of[i] != SIZE_MAX);
    for (size_t g = 0; g < 2; g++)
        for (size_t k = 1; k < N_TIERS; k++) /* hotter and drier: never fewer litres lost */
            assert_true(outcome_of(&placement, g, k)->loss_frac_per_y.p50 >
                        outcome_of(&placement, g, k - 1)->loss_frac_per_y.p50);
    stv_house_placement_free(&placement);
    stv_house_placement_free(&placement); /* twice is allowed */
    store_end(&store);
}

/* One group, tried here and by the ranking of one cask: the same figures. */
static void agrees_with_one_cask(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_free_place free_places[N_TIERS];
    for (int t = 0; t < N_TIERS; t++)
        free_places[t] = (struct stv_free_place){
            .place = {0, t, 0, 0}, .position_idx = (size_t)t, .reach = store.kinds[t].reach};
    struct stv_placement_wish wish = {.cask_idx = 1,
                                      .from_day_d = store.wish.from_day_d,
                                      .target_day_d = store.groups[1].target_day_d,
                                      .free_places = free_places,
                                      .n_free = N_TIERS};
    struct stv_outlook_request house = house_of(&store);
    struct stv_placement one;
    stv_assert_ok(stv_placement_rank(&house, &wish, &one));
    struct stv_house_placement all = place_of(&store);
    for (size_t s = 0; s < N_TIERS; s++) {
        const struct stv_place_score *score = &one.scores[s];
        const struct stv_place_score *same = &outcome_of(&all, 1, score->free_idx)->score;
        stv_assert_close(same->merit_nd, score->merit_nd, 1e-9, 0.0);
        stv_assert_close(same->bottles_nd.p05, score->bottles_nd.p05, 1e-9, 0.0);
        assert_int_equal(same->as_good, score->as_good);
    }
    stv_placement_free(&one);
    stv_house_placement_free(&all);
    store_end(&store);
}

/* A plate that does not bear a hogshead keeps it off; no plate at all leaves it without a place. */
static void plates_are_kept(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    for (int t = 0; t < N_TIERS; t++)
        store.kinds[t].most_kg = t < 4 ? 260.0 : 320.0;
    struct stv_house_placement placement = place_of(&store);
    for (size_t k = 0; k < N_TIERS; k++) {
        assert_int_equal(placement.assignment.n_placed[N_TIERS + k], k < 4 ? 0 : BAYS);
        assert_int_equal(outcome_of(&placement, 1, k)->is_allowed, k >= 4);
    }
    assert_int_equal(placement.assignment.n_left[0] + placement.assignment.n_left[1], 0);
    stv_house_placement_free(&placement);
    for (int t = 0; t < N_TIERS; t++)
        store.kinds[t].most_kg = 260.0;
    placement = place_of(&store);
    struct stv_house_gap gaps[5 * N_GROUPS];
    size_t n_gaps = stv_house_gaps(&placement, &store.rules, gaps), n_place = 0;
    for (size_t i = 0; i < n_gaps; i++)
        if (gaps[i].kind == STV_GAP_PLACE) {
            assert_int_equal(gaps[i].group_idx, 1);
            assert_int_equal(gaps[i].n_casks, 20);
            n_place++;
        }
    assert_int_equal(n_place, 1);
    assert_int_equal(placement.assignment.n_left[1], 20);
    assert_true(placement.best_idx[1] == SIZE_MAX);
    stv_house_placement_free(&placement);
    store_end(&store);
}

/* Casks that lie where the house did not want them, and room elsewhere: fewer moves allowed, fewer
 * made; none allowed, all stay; the more, the better. */
static void moves_are_limited(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    store.groups[0].n_casks = 8;
    store.groups[1].n_casks = 6;
    store.groups[0].present_idx = 0;
    store.groups[1].present_idx = N_TIERS - 1;
    struct stv_house_placement free_way = place_of(&store);
    size_t wanted = free_way.assignment.n_moves;
    assert_true(wanted > 2);
    double last_nd = -INFINITY;
    static const size_t most[] = {0, 1, 2, SIZE_MAX};
    for (int m = 0; m < 4; m++) {
        store.wish.most_moves = most[m];
        struct stv_house_placement placement = place_of(&store);
        assert_true(placement.assignment.n_moves <= most[m]);
        assert_true(m == 3 || placement.assignment.n_moves == most[m]);
        assert_true(placement.assignment.merit_nd > last_nd);
        last_nd = placement.assignment.merit_nd;
        if (most[m] == 0) {
            stv_assert_close(placement.against_plain.bottles_nd, 0.0, 0.0, 1e-9);
            assert_false(placement.against_plain.is_matter);
        }
        size_t slot_of[N_TIERS * BAYS], present_slot[14], n_stay = 0;
        for (size_t i = 0; i < 14; i++) /* fronts and backs of tiers 1 and 6 */
            present_slot[i] = i < 8 ? i : (N_TIERS - 1) * BAYS + i - 8;
        check_expansion(&store, &placement, present_slot, slot_of);
        for (size_t i = 0; i < 14; i++)
            n_stay += slot_of[i] == present_slot[i];
        assert_int_equal(14 - n_stay, placement.assignment.n_moves);
        stv_house_placement_free(&placement);
    }
    stv_house_placement_free(&free_way);
    store_end(&store);
}

/* Lots that only lie apart: no exchange of them is worth anything, whatever their ids. */
static void luck_moves_nobody(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    store.rules.wood_first = 1;
    store.casks[1] = store.casks[0];
    snprintf(store.casks[1].id, sizeof store.casks[1].id, "another");
    store.events[1].volume20_l = store.events[0].volume20_l;
    for (int g = 0; g < 2; g++) {
        store.groups[g].n_casks = BAYS;
        store.groups[g].target_day_d = store.groups[0].target_day_d;
        store.groups[g].present_idx = g == 0 ? 0 : N_TIERS - 1;
    }
    for (int t = 1; t < N_TIERS - 1; t++)
        store.kinds[t].n_places = 0;
    struct stv_house_placement placement = place_of(&store);
    assert_int_equal(placement.assignment.n_moves, 0);
    stv_house_placement_free(&placement);
    store_end(&store);
}

/* One climate everywhere: nothing matters, the floor is as good. */
static void one_climate_does_not_matter(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    for (int t = 0; t < N_TIERS; t++)
        store.kinds[t].position_idx = 2;
    store.groups[0].n_casks = 12;
    store.groups[1].n_casks = 0;
    struct stv_house_placement placement = place_of(&store);
    assert_false(placement.against_plain.is_matter);
    assert_int_equal(placement.assignment.n_placed[0], BAYS);
    assert_int_equal(placement.assignment.n_placed[1], 2); /* by hand, the lowest first */
    stv_house_placement_free(&placement);
    store_end(&store);
}

/* Wishes that nobody can meet are named with what is missing. */
static void gaps_are_told(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    store.rules.wood_least_nd = 5.0;
    store.rules.wood_most_nd = 6.0;
    store.rules.least_abv20_frac = 0.90;
    struct stv_house_placement placement = place_of(&store);
    struct stv_house_gap gaps[5 * N_GROUPS];
    size_t n = stv_house_gaps(&placement, &store.rules, gaps), n_casks[5] = {0};
    for (size_t i = 0; i < n; i++) {
        n_casks[gaps[i].kind] += gaps[i].n_casks;
        if (gaps[i].kind == STV_GAP_WOOD_LOW)
            assert_true(gaps[i].missing_nd > 3.0 && gaps[i].missing_nd < 5.0);
        if (gaps[i].kind == STV_GAP_STRENGTH)
            assert_true(gaps[i].missing_nd > 0.1 && gaps[i].missing_nd < 0.5);
    }
    assert_int_equal(n_casks[STV_GAP_WOOD_LOW], 60);
    assert_int_equal(n_casks[STV_GAP_WOOD_HIGH], 0);
    assert_int_equal(n_casks[STV_GAP_STRENGTH], 60);
    stv_house_placement_free(&placement);
    store_end(&store);
}

static void refuses(void **state)
{
    (void)state;
    struct store store;
    store_new(&store);
    struct stv_outlook_request house = house_of(&store);
    struct stv_house_placement placement;
    store.groups[1].target_day_d = store.wish.from_day_d;
    assert_int_equal(stv_house_place(&house, &store.wish, &placement), STV_E_ARG);
    store.groups[1].target_day_d = day_of(2011, 5, 2);
    store.groups[1].cask_idx = N_GROUPS;
    assert_int_equal(stv_house_place(&house, &store.wish, &placement), STV_E_ARG);
    store.groups[1].cask_idx = 1;
    store.wish.from_day_d -= 10; /* nothing is filled yet */
    assert_int_equal(stv_house_place(&house, &store.wish, &placement), STV_E_NO_DATA);
    store.wish.n_kinds = 0;
    assert_int_equal(stv_house_place(&house, &store.wish, &placement), STV_E_NO_DATA);
    assert_null(placement.outcomes);
    store_end(&store);
}

/* Two casks that change tiers keep to their side of the store; fronts come before what is behind.
 */
static void movers_keep_their_side(void **state)
{
    (void)state;
    enum { ROW = 10 };
    struct stv_house_slot slots[2 + 2 * ROW] = {{{0, 0, 8, 0}, 0}, {{0, 0, 1, 0}, 0}};
    for (int b = 0; b < ROW; b++) {
        slots[2 + b] = (struct stv_house_slot){{0, 1, b, 0}, 1};
        slots[2 + ROW + b] = (struct stv_house_slot){{0, 1, b, 1}, 1};
    }
    const struct stv_house_item items[3] = {{0, 0}, {0, 1}, {1, SIZE_MAX}};
    size_t n_placed[4] = {0, 2, 0, 1}, slot_of[3];
    const struct stv_house_placement placement = {
        .n_groups = 2, .n_kinds = 2, .assignment = {.n_placed = n_placed}};
    stv_assert_ok(stv_house_expand(&placement, slots, 2 + 2 * ROW, items, 3, slot_of));
    assert_int_equal(slot_of[0], 2 + 8);
    assert_int_equal(slot_of[1], 2 + 1);
    assert_int_equal(slot_of[2], 2 + 0);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sixty_casks_get_sixty_places),
        cmocka_unit_test(agrees_with_one_cask),
        cmocka_unit_test(plates_are_kept),
        cmocka_unit_test(movers_keep_their_side),
        cmocka_unit_test(moves_are_limited),
        cmocka_unit_test(one_climate_does_not_matter),
        cmocka_unit_test(luck_moves_nobody),
        cmocka_unit_test(gaps_are_told),
        cmocka_unit_test(refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
