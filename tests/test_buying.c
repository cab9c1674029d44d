/* Casks for fills to come: served in order, by wood, size and day; nothing twice, nothing lost. */
#include "model/buying.h"

#include "tests/check.h"

static const struct stv_buying_cask casks[] = {
    {0, 100, STV_BUYING_REFILL, 200.0, 2},    {1, 50, STV_BUYING_REFILL, 195.0, 1},
    {2, 400, STV_BUYING_REFILL, 200.0, 3},    {3, 60, STV_BUYING_REFILL, 250.0, 3},
    {4, 70, STV_BUYING_REFILL, 200.0, 0},     {5, 10, STV_BUYING_NEW, 200.0, 4},
    {6, 10, STV_BUYING_FIRST_FILL, 200.0, 3},
};
#define N_CASKS (sizeof casks / sizeof casks[0])

static void fills_are_served_by_wood_size_and_day(void **state)
{
    (void)state;
    const struct stv_buying_fill fills[] = {
        {300, 3, STV_BUYING_REFILL, 200.0}, /* later in time, first in the list */
        {120, 1, STV_BUYING_REFILL, 200.0},
        {120, 2, STV_BUYING_NEW, 200.0},
        {500, 1, STV_BUYING_REFILL, 200.0},
    };
    struct stv_buying_plan plan;
    stv_assert_ok(stv_buying_serve(fills, 4, casks, N_CASKS, &plan));
    assert_int_equal(plan.fill_of_cask[1], 1); /* empty longest, for the earliest fill */
    assert_int_equal(plan.fill_of_cask[0], 0);
    assert_int_equal(plan.fill_of_cask[2], 3);     /* free too late for day 300 */
    assert_true(plan.fill_of_cask[3] == SIZE_MAX); /* a quarter larger */
    assert_true(plan.fill_of_cask[4] == SIZE_MAX); /* has served its time */
    assert_int_equal(plan.fill_of_cask[5], 2);
    assert_int_equal(plan.fills[0].n_own, 1);
    assert_int_equal(plan.fills[0].n_to_buy, 2);
    assert_int_equal(plan.fills[2].n_to_buy, 1);
    assert_int_equal(plan.fills[3].n_to_buy, 0);
    assert_int_equal(plan.n_retired, 1);
    assert_int_equal(plan.n_spare, 2);
    stv_buying_free(&plan);
    stv_buying_free(&plan);
}

static void every_cask_serves_once_and_every_fill_is_full(void **state)
{
    (void)state;
    for (size_t wanted = 0; wanted < 6; wanted++) {
        const struct stv_buying_fill fills[] = {{450, wanted, STV_BUYING_REFILL, 200.0},
                                                {450, 2, STV_BUYING_FIRST_FILL, 200.0}};
        struct stv_buying_plan plan;
        size_t n_serving = 0, n_own = 0;
        stv_assert_ok(stv_buying_serve(fills, 2, casks, N_CASKS, &plan));
        for (size_t c = 0; c < N_CASKS; c++)
            n_serving += plan.fill_of_cask[c] != SIZE_MAX;
        for (size_t f = 0; f < 2; f++) {
            n_own += plan.fills[f].n_own;
            assert_int_equal(plan.fills[f].n_own + plan.fills[f].n_to_buy, fills[f].n_casks);
        }
        assert_int_equal(n_serving, n_own);
        assert_int_equal(n_serving + plan.n_spare + plan.n_retired, N_CASKS);
        stv_buying_free(&plan);
    }
}

static void nothing_planned_buys_nothing(void **state)
{
    (void)state;
    struct stv_buying_plan plan;
    stv_assert_ok(stv_buying_serve(NULL, 0, casks, N_CASKS, &plan));
    assert_int_equal(plan.n_spare, N_CASKS - 1);
    assert_int_equal(plan.n_retired, 1);
    stv_buying_free(&plan);
    stv_assert_ok(stv_buying_serve(NULL, 0, NULL, 0, &plan));
    assert_int_equal(plan.n_spare, 0);
    stv_buying_free(&plan);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(fills_are_served_by_wood_size_and_day),
        cmocka_unit_test(every_cask_serves_once_and_every_fill_is_full),
        cmocka_unit_test(nothing_planned_buys_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
