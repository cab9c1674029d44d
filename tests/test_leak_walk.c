/* The order of a walk for leaks. */
#include "model/leak_walk.h"

#include "tests/check.h"

#include <string.h>

#define HOT 20000

static const struct stv_walk_cask casks[] = {
    {0, 0, 0.05, HOT - 900, STV_WALK_NOT},       {1, 5, 0.05, HOT - 900, STV_WALK_NOT},
    {2, 2, 0.90, HOT - 900, STV_WALK_NOT},       {3, 0, (double)NAN, HOT - 60, STV_WALK_NOT},
    {4, 4, (double)NAN, HOT - 60, STV_WALK_NOT}, {5, 4, 0.05, HOT - 40, STV_WALK_NOT},
    {6, 5, 0.25, HOT - 10, STV_WALK_NOT},        {7, -1, 0.05, HOT - 500, STV_WALK_NOT},
};
#define N (sizeof casks / sizeof casks[0])

static size_t walk(struct stv_walk_cask out[N], bool is_hot)
{
    memcpy(out, casks, sizeof casks);
    return stv_leak_walk_order(out, N, is_hot, HOT);
}

static void learned_leaks_come_first_then_new_then_top(void **state)
{
    (void)state;
    static const int order[] = {2, 6, 5, 4, 3, 1};
    static const enum stv_walk_reason reasons[] = {
        STV_WALK_LEARNED, STV_WALK_LEARNED, STV_WALK_NEW, STV_WALK_NEW, STV_WALK_NEW, STV_WALK_TOP};
    struct stv_walk_cask out[N];
    assert_int_equal(walk(out, true), 6);
    for (size_t i = 0; i < 6; i++) {
        assert_int_equal(out[i].cask_idx, order[i]);
        assert_int_equal(out[i].reason, reasons[i]);
    }
    for (size_t i = 6; i < N; i++)
        assert_int_equal(out[i].reason, STV_WALK_NOT);
}

static void out_of_the_heat_only_learned_leaks_are_looked_at(void **state)
{
    (void)state;
    struct stv_walk_cask out[N];
    assert_int_equal(walk(out, false), 2);
    assert_int_equal(out[0].cask_idx, 2);
    assert_int_equal(out[1].cask_idx, 6);
    assert_int_equal(stv_leak_walk_order(out, 0, true, HOT), 0);
}

/* The order of the rows given does not matter. */
static void any_order_of_rows_gives_the_same_walk(void **state)
{
    (void)state;
    struct stv_walk_cask out[N], turned[N];
    (void)walk(out, true);
    for (size_t i = 0; i < N; i++)
        turned[i] = casks[N - 1 - i];
    (void)stv_leak_walk_order(turned, N, true, HOT);
    for (size_t i = 0; i < N; i++)
        assert_int_equal(turned[i].cask_idx, out[i].cask_idx);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(learned_leaks_come_first_then_new_then_top),
        cmocka_unit_test(out_of_the_heat_only_learned_leaks_are_looked_at),
        cmocka_unit_test(any_order_of_rows_gives_the_same_walk),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
