/* Casks over places: every way tried on small houses, what may never be, and a large house. */
#include "model/assignment.h"
#include "tests/check.h"
#include "tests/large_house.h"

#include <glpk.h>
#include <math.h>
#include <stdint.h>
#include <stdlib.h>
#include <string.h>

#define GROUPS_MOST 4
#define KINDS_MOST 4
#define CASKS_MOST 7
#define HOUSES 200

struct house {
    struct stv_assignment_problem problem;
    size_t n_casks[GROUPS_MOST], n_places[KINDS_MOST], present_idx[GROUPS_MOST];
    double merits_nd[GROUPS_MOST * KINDS_MOST];
};

/* xorshift64*, Vigna 2016 (from memory): the same houses everywhere. */
static uint64_t chance;
static size_t below(size_t n)
{
    chance ^= chance >> 12;
    chance ^= chance << 25;
    chance ^= chance >> 27;
    return (size_t)((chance * 2685821657736338717u) >> 33) % n;
}

/* Groups may lie somewhere, pairs may be forbidden, places may be too few, moves limited. */
static void house_new(struct house *house)
{
    struct stv_assignment_problem *problem = &house->problem;
    size_t n_total = 0, n_lying[KINDS_MOST] = {0};
    *problem =
        (struct stv_assignment_problem){.n_groups = 1 + below(GROUPS_MOST),
                                        .n_kinds = 1 + below(KINDS_MOST),
                                        .n_casks = house->n_casks,
                                        .n_places = house->n_places,
                                        .merits_nd = house->merits_nd,
                                        .present_idx = house->present_idx,
                                        .most_moves = below(4) ? below(4) : SIZE_MAX};
    for (size_t g = 0; g < problem->n_groups; g++) {
        house->n_casks[g] = below(3);
        house->n_casks[g] = n_total + house->n_casks[g] > CASKS_MOST ? 0 : house->n_casks[g];
        n_total += house->n_casks[g];
        house->present_idx[g] = below(3) ? below(problem->n_kinds) : SIZE_MAX;
        if (house->present_idx[g] != SIZE_MAX)
            n_lying[house->present_idx[g]] += house->n_casks[g];
    }
    for (size_t k = 0; k < problem->n_kinds; k++)
        house->n_places[k] = n_lying[k] + below(3);
    for (size_t i = 0; i < problem->n_groups * problem->n_kinds; i++)
        house->merits_nd[i] =
            below(6) ? (double)below(1000) / 3.0 - 50.0 : (double)NAN; /* NaN: never */
    for (size_t g = 0; g < problem->n_groups; g++) /* where it lies it may lie */
        if (house->present_idx[g] != SIZE_MAX) {
            double *own = &house->merits_nd[g * problem->n_kinds + house->present_idx[g]];
            *own = isnan(*own) ? 1.0 : *own;
        }
}

struct search {
    const struct stv_assignment_problem *problem;
    size_t n_free[KINDS_MOST];
    size_t best_placed;
    double best_nd;
};

/* Every way for the casks of group g from its cask c on. */
static void search(struct search *all, size_t g, size_t c, size_t n_moves, size_t n_placed,
                   double merit_nd)
{
    const struct stv_assignment_problem *problem = all->problem;
    if (n_moves > problem->most_moves)
        return;
    if (g == problem->n_groups) {
        if (n_placed > all->best_placed ||
            (n_placed == all->best_placed && merit_nd > all->best_nd)) {
            all->best_placed = n_placed;
            all->best_nd = merit_nd;
        }
        return;
    }
    if (c == problem->n_casks[g]) {
        search(all, g + 1, 0, n_moves, n_placed, merit_nd);
        return;
    }
    search(all, g, c + 1, n_moves, n_placed, merit_nd);
    for (size_t k = 0; k < problem->n_kinds; k++) {
        double own_nd = problem->merits_nd[g * problem->n_kinds + k];
        if (all->n_free[k] == 0 || isnan(own_nd))
            continue;
        size_t present = problem->present_idx[g];
        all->n_free[k]--;
        search(all, g, c + 1, n_moves + (present != SIZE_MAX && present != k), n_placed + 1,
               merit_nd + own_nd);
        all->n_free[k]++;
    }
}

/* Nobody twice, nowhere twice, never what is forbidden, never more moves. */
static void check_laws(const struct stv_assignment_problem *problem,
                       const struct stv_assignment *answer)
{
    size_t n_moves = 0;
    for (size_t g = 0; g < problem->n_groups; g++) {
        size_t n = answer->n_left[g];
        for (size_t k = 0; k < problem->n_kinds; k++) {
            size_t here = answer->n_placed[g * problem->n_kinds + k];
            assert_true(here == 0 || !isnan(problem->merits_nd[g * problem->n_kinds + k]));
            n += here;
            if (problem->present_idx && problem->present_idx[g] != SIZE_MAX &&
                problem->present_idx[g] != k)
                n_moves += here;
        }
        assert_int_equal(n, problem->n_casks[g]);
    }
    for (size_t k = 0; k < problem->n_kinds; k++) {
        size_t n = 0;
        for (size_t g = 0; g < problem->n_groups; g++)
            n += answer->n_placed[g * problem->n_kinds + k];
        assert_true(n <= problem->n_places[k]);
    }
    assert_int_equal(n_moves, answer->n_moves);
    assert_true(n_moves <= problem->most_moves);
}

static void equals_every_way_search(void **state)
{
    (void)state;
    chance = 20271212;
    size_t n_limited = 0, n_left = 0;
    for (size_t h = 0; h < HOUSES; h++) {
        struct house house;
        house_new(&house);
        struct search all = {.problem = &house.problem, .best_nd = -INFINITY};
        memcpy(all.n_free, house.n_places, sizeof house.n_places);
        search(&all, 0, 0, 0, 0, 0.0);
        struct stv_assignment answer;
        stv_assert_ok(stv_assignment_solve(&house.problem, &answer));
        check_laws(&house.problem, &answer);
        size_t n_placed = 0;
        for (size_t i = 0; i < house.problem.n_groups * house.problem.n_kinds; i++)
            n_placed += answer.n_placed[i];
        assert_int_equal(n_placed, all.best_placed);
        assert_true(answer.is_proven);
        stv_assert_close(answer.merit_nd, all.best_nd, 1e-9, 1e-9);
        n_limited += answer.n_moves == house.problem.most_moves;
        for (size_t g = 0; g < house.problem.n_groups; g++)
            n_left += answer.n_left[g];
        stv_assignment_free(&answer);
        stv_assignment_free(&answer); /* twice is allowed */
    }
    /* The houses are hard enough to tell. */
    assert_true(n_limited > HOUSES / 10);
    assert_true(n_left > HOUSES / 10);
}

static void same_answer_every_time(void **state)
{
    (void)state;
    static const size_t n_casks[2] = {3, 3}, n_places[3] = {2, 2, 2};
    static const double merits_nd[6] = {1, 1, 1, 1, 1, 1};
    struct stv_assignment_problem problem = {2, 3, n_casks, n_places, merits_nd, NULL, SIZE_MAX};
    struct stv_assignment first, again;
    stv_assert_ok(stv_assignment_solve(&problem, &first));
    stv_assert_ok(stv_assignment_solve(&problem, &again));
    assert_memory_equal(first.n_placed, again.n_placed, 6 * sizeof *first.n_placed);
    stv_assignment_free(&first);
    stv_assignment_free(&again);
}

static void refuses(void **state)
{
    (void)state;
    static const size_t n_casks[1] = {2}, n_places[1] = {1}, here[1] = {0}, nowhere[1] = {1};
    double merit_nd = INFINITY;
    struct stv_assignment_problem problem = {1, 1, n_casks, n_places, &merit_nd, NULL, SIZE_MAX};
    struct stv_assignment answer;
    assert_int_equal(stv_assignment_solve(&problem, &answer), STV_E_ARG);
    merit_nd = NAN; /* allowed nowhere: all are left */
    stv_assert_ok(stv_assignment_solve(&problem, &answer));
    assert_int_equal(answer.n_left[0], 2);
    stv_assignment_free(&answer);
    merit_nd = 1.0;
    problem.present_idx = nowhere;
    assert_int_equal(stv_assignment_solve(&problem, &answer), STV_E_ARG);
    problem.present_idx = here; /* two where one has room */
    assert_int_equal(stv_assignment_solve(&problem, &answer), STV_E_ARG);
    assert_null(answer.n_placed);
    problem.n_groups = 0;
    stv_assert_ok(stv_assignment_solve(&problem, &answer));
    stv_assignment_free(&answer);
}

/* The library is told that it may not have memory: it must not end the program. */
static void an_error_of_the_library_is_a_status(void **state)
{
    (void)state;
    struct large_house house;
    large_house_new(&house);
    struct stv_assignment answer;
    glp_mem_limit(1);
    assert_int_equal(stv_assignment_solve(&house.problem, &answer), STV_E_MEMORY);
    assert_null(answer.n_placed);
    stv_assert_ok(stv_assignment_solve(&house.problem, &answer)); /* as new afterwards */
    stv_assignment_free(&answer);
    large_house_end(&house);
}

/* 20 000 casks of 100 kinds in 20 000 places of 60 kinds: all placed, laws held. */
static void a_large_house_is_complete(void **state)
{
    (void)state;
    struct large_house house;
    large_house_new(&house);
    struct stv_assignment answer;
    stv_assert_ok(stv_assignment_solve(&house.problem, &answer));
    check_laws(&house.problem, &answer);
    for (size_t g = 0; g < LARGE_GROUPS; g++)
        assert_int_equal(answer.n_left[g], 0);
    stv_assignment_free(&answer);
    house.problem.present_idx = house.present_idx;
    house.problem.most_moves = 500;
    stv_assert_ok(stv_assignment_solve(&house.problem, &answer));
    check_laws(&house.problem, &answer);
    assert_int_equal(answer.n_moves, 500);
    stv_assignment_free(&answer);
    large_house_end(&house);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(equals_every_way_search),
        cmocka_unit_test(same_answer_every_time),
        cmocka_unit_test(refuses),
        cmocka_unit_test(an_error_of_the_library_is_a_status),
        cmocka_unit_test(a_large_house_is_complete),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
