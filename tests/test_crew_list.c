/* Orders of moves: each step must be one that a crew can make. */
#include "model/crew_list.h"
#include "tests/check.h"

#include <stdlib.h>
#include <string.h>

#define TIERS 3
#define BAYS 4
#define DEPTH 3
#define CELLS (TIERS * BAYS * DEPTH)

static const struct stv_place nowhere = {-1, -1, -1, -1};

static struct stv_place at(int tier_idx, int bay_idx, int depth_idx)
{
    return (struct stv_place){0, tier_idx, bay_idx, depth_idx};
}

static struct stv_place place_of(size_t cell)
{
    return at((int)(cell / (BAYS * DEPTH)), (int)(cell / DEPTH % BAYS), (int)(cell % DEPTH));
}

static size_t cell_of(const struct stv_place *place)
{
    return (size_t)((place->tier_idx * BAYS + place->bay_idx) * DEPTH + place->depth_idx);
}

/* Walks the list: nothing through a cask, nothing onto one, each where it belongs at the end. */
static void check_walk(const struct stv_crew_cask *casks, size_t n_casks,
                       const struct stv_crew_list *list)
{
    size_t there[CELLS], where[CELLS], n_aside = 0, n_on_floor = 0, most_on_floor = 0;
    for (size_t i = 0; i < CELLS; i++)
        there[i] = SIZE_MAX;
    for (size_t c = 0; c < n_casks; c++) {
        where[c] = casks[c].from.warehouse_idx < 0 ? SIZE_MAX : cell_of(&casks[c].from);
        if (where[c] != SIZE_MAX)
            there[where[c]] = c;
    }
    for (size_t s = 0; s < list->n_steps; s++) {
        const struct stv_crew_step *step = &list->steps[s];
        size_t ends[2] = {where[step->cask_idx], SIZE_MAX};
        if (step->to.warehouse_idx >= 0)
            ends[1] = cell_of(&step->to);
        assert_int_equal(ends[0] == SIZE_MAX, step->from.warehouse_idx < 0);
        assert_true(ends[0] == SIZE_MAX || ends[0] == cell_of(&step->from));
        if (ends[0] != SIZE_MAX)
            there[ends[0]] = SIZE_MAX;
        for (int e = 0; e < 2; e++)
            for (size_t i = ends[e] - ends[e] % DEPTH; ends[e] != SIZE_MAX && i < ends[e]; i++)
                assert_true(there[i] == SIZE_MAX); /* in front of where it left or goes */
        if (ends[1] != SIZE_MAX) {
            assert_true(there[ends[1]] == SIZE_MAX);
            there[ends[1]] = step->cask_idx;
        }
        where[step->cask_idx] = ends[1];
        assert_int_equal(step->kind == STV_CREW_ASIDE, ends[1] == SIZE_MAX);
        n_aside += step->kind == STV_CREW_ASIDE;
        n_on_floor += step->kind == STV_CREW_ASIDE;
        n_on_floor -= step->kind == STV_CREW_BACK;
        most_on_floor = n_on_floor > most_on_floor ? n_on_floor : most_on_floor;
    }
    for (size_t c = 0; c < n_casks; c++)
        assert_int_equal(where[c], cell_of(&casks[c].to));
    assert_int_equal(n_aside, list->n_aside);
    assert_int_equal(most_on_floor, list->most_on_floor);
    assert_int_equal(n_on_floor, 0);
}

/* xorshift64*, Vigna 2016 (from memory). */
static uint64_t chance = 7;
static size_t below(size_t n)
{
    chance ^= chance >> 12;
    chance ^= chance << 25;
    chance ^= chance >> 27;
    return (size_t)((chance * 2685821657736338717u) >> 33) % n;
}

static void shuffle(size_t *cells)
{
    for (size_t i = 0; i < CELLS; i++)
        cells[i] = i;
    for (size_t i = CELLS; i-- > 1;) {
        size_t other = below(i + 1), kept = cells[i];
        cells[i] = cells[other];
        cells[other] = kept;
    }
}

/* Stores from empty to full, any casks anywhere else: always a list, and one that can be walked. */
static void any_change_can_be_walked(void **state)
{
    (void)state;
    for (int trial = 0; trial < 2000; trial++) {
        struct stv_crew_cask casks[CELLS];
        size_t from[CELLS], to[CELLS], n_casks = below(CELLS + 1), n_moving = 0;
        shuffle(from);
        shuffle(to);
        for (size_t c = 0; c < n_casks; c++) {
            casks[c].from = below(4) ? place_of(from[c]) : nowhere;
            casks[c].to = place_of(to[c]);
            n_moving += casks[c].from.warehouse_idx < 0 || from[c] != to[c];
        }
        struct stv_crew_list list;
        stv_assert_ok(stv_crew_list_make(casks, n_casks, &list));
        check_walk(casks, n_casks, &list);
        assert_true(list.n_steps >= n_moving);
        stv_crew_list_free(&list);
        stv_crew_list_free(&list); /* twice is allowed */
    }
}

/* A fill: nothing aside, rows from below, the halves never more than one cask apart. */
static void a_fill_goes_up_evenly(void **state)
{
    (void)state;
    struct stv_crew_cask casks[CELLS];
    for (size_t c = 0; c < CELLS; c++)
        casks[c] = (struct stv_crew_cask){nowhere, place_of(CELLS - 1 - c)};
    struct stv_crew_list list;
    stv_assert_ok(stv_crew_list_make(casks, CELLS, &list));
    check_walk(casks, CELLS, &list);
    assert_int_equal(list.n_steps, CELLS);
    assert_int_equal(list.n_aside, 0);
    assert_int_equal(list.most_off, 1);
    for (size_t s = 1; s < list.n_steps; s++)
        assert_true(list.steps[s].to.tier_idx >= list.steps[s - 1].to.tier_idx);
    stv_crew_list_free(&list);
}

/* Two casks change places over the floor; one in front of them has to go and come back. */
static void an_exchange_goes_over_the_floor(void **state)
{
    (void)state;
    struct stv_crew_cask casks[3] = {
        {at(0, 0, 0), at(2, 1, 1)}, {at(2, 1, 1), at(0, 0, 0)}, {at(2, 1, 0), at(2, 1, 0)}};
    struct stv_crew_list list;
    stv_assert_ok(stv_crew_list_make(casks, 2, &list));
    assert_int_equal(list.n_steps, 3);
    assert_int_equal(list.n_aside, 1);
    stv_crew_list_free(&list);
    stv_assert_ok(stv_crew_list_make(casks, 3, &list));
    check_walk(casks, 3, &list);
    assert_int_equal(list.n_steps, 5);
    assert_int_equal(list.n_aside, 2);
    assert_int_equal(list.steps[4].cask_idx, 2);
    assert_int_equal(list.steps[4].kind, STV_CREW_BACK);
    stv_crew_list_free(&list);
}

static void refuses(void **state)
{
    (void)state;
    struct stv_crew_list list;
    struct stv_crew_cask casks[2] = {{nowhere, at(0, 0, 0)}, {nowhere, at(0, 0, 0)}};
    assert_int_equal(stv_crew_list_make(casks, 2, &list), STV_E_CONSISTENCY);
    assert_null(list.steps);
    casks[1].to = nowhere;
    assert_int_equal(stv_crew_list_make(casks, 2, &list), STV_E_ARG);
    casks[1].to = (struct stv_place){0, 1, -1, -1};
    assert_int_equal(stv_crew_list_make(casks, 2, &list), STV_E_ARG);
    stv_assert_ok(stv_crew_list_make(casks, 0, &list));
    assert_int_equal(list.n_steps, 0);
    stv_crew_list_free(&list);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(any_change_can_be_walked),
        cmocka_unit_test(a_fill_goes_up_evenly),
        cmocka_unit_test(an_exchange_goes_over_the_floor),
        cmocka_unit_test(refuses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
