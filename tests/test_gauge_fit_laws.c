/* Laws of the fit of gauges, hard points, and what is refused. */
#include "tests/fit_house.h"

#include <omp.h>

static void nothing_measured_gives_the_prior_back(void **state)
{
    (void)state;
    struct house house = house_new(3);
    struct stv_fit_problem problem = house_problem(&house);
    struct stv_fit fit;
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    struct dense all = dense_of(&fit);
    for (size_t i = 0; i < all.n; i++) {
        assert_true(all.mean[i] == 0.0);
        for (size_t j = 0; j < all.n; j++)
            assert_true(all.covariance[i * all.n + j] == (i == j ? 1.0 : 0.0));
    }
    for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++)
        stv_assert_close(fit.threshold_ln_nd[k], problem.ready.threshold_ln_nd[k], 1e-15, 0.0);
    stv_assert_close(fit.threshold_error_ln_nd[1], 0.3, 1e-15, 0.0);
    /* A draw is then the very numbers it was drawn with. */
    double e[HOUSE_SHARED], shared[HOUSE_SHARED], block[HOUSE_OWN + 1];
    for (size_t i = 0; i < HOUSE_SHARED; i++)
        e[i] = house_normal(1, "e", i);
    stv_fit_draw_shared(&fit, e, shared);
    stv_fit_draw_block(&fit, 1, shared, e, block);
    assert_memory_equal(shared, e, sizeof e);
    assert_memory_equal(block, e, sizeof block);
    stv_fit_free(&fit);
    problem.n_casks = 0;
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    stv_fit_free(&fit);
    stv_fit_free(&fit);
}

static void draws_spread_as_the_fit_says(void **state)
{
    (void)state;
    struct house house;
    struct stv_fit fit;
    struct stv_fit_problem problem = house_measured(&house, 4, 2, BY_ALL);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    struct dense all = dense_of(&fit);
    double unit[HOUSE_SHARED] = {0}, none[HOUSE_SHARED] = {0};
    double shared[HOUSE_SHARED], block[HOUSE_OWN + 1], sum = 0.0;
    for (size_t i = 0; i < HOUSE_SHARED; i++) {
        unit[i] = 1.0;
        stv_fit_draw_shared(&fit, unit, shared);
        unit[i] = 0.0;
        /* The first scores hear of the first numbers alone. */
        for (size_t j = 0; j < i; j++)
            assert_true(shared[j] == fit.shared_nd[j]);
        stv_fit_draw_block(&fit, 1, shared, none, block);
        sum += pow(block[1] - fit.block_nd[HOUSE_OWN + 2], 2.0);
    }
    for (size_t i = 0; i <= HOUSE_OWN; i++) {
        unit[i] = 1.0;
        stv_fit_draw_block(&fit, 1, fit.shared_nd, unit, block);
        unit[i] = 0.0;
        sum += pow(block[1] - fit.block_nd[HOUSE_OWN + 2], 2.0);
    }
    size_t at = HOUSE_SHARED + HOUSE_OWN + 2;
    stv_assert_close(sum, all.covariance[at * all.n + at], 1e-9, 0.0);
    stv_fit_free(&fit);
}

/* The same casks and observations in another order. */
static void order_does_not_matter(void **state)
{
    (void)state;
    struct house house, other;
    struct stv_fit fit, other_fit;
    struct stv_fit_problem problem = house_measured(&house, 5, 7, BY_ALL);
    other = house;
    for (size_t c = 0; c < 7; c++) {
        other.kinds[6 - c] = house.kinds[c];
        other.tares[6 - c] = house.tares[c];
    }
    for (size_t k = 0; k < house.n_observations; k++) {
        struct stv_fit_observation *moved = &other.observations[house.n_observations - 1 - k];
        *moved = house.observations[k];
        moved->cask_idx = 6 - moved->cask_idx;
    }
    struct stv_fit_problem other_problem = house_problem(&other);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    stv_assert_ok(stv_fit_learn(&other_problem, &other_fit));
    for (size_t i = 0; i < fit.n_shared * fit.n_shared; i++)
        stv_assert_close(other_fit.shared_chol_nd[i], fit.shared_chol_nd[i], 0.0, 1e-7);
    for (size_t i = 0; i < fit.n_shared; i++)
        stv_assert_close(other_fit.shared_nd[i], fit.shared_nd[i], 0.0, 1e-5);
    for (size_t c = 0; c < 7; c++)
        for (size_t i = 0; i < fit.n_block; i++)
            stv_assert_close(other_fit.block_nd[(6 - c) * fit.n_block + i],
                             fit.block_nd[c * fit.n_block + i], 0.0, 1e-5);
    stv_fit_free(&fit);
    stv_fit_free(&other_fit);
}

static void threads_do_not_matter(void **state)
{
    (void)state;
    struct house house;
    struct stv_fit fit[2];
    struct stv_fit_problem problem = house_measured(&house, 6, 40, BY_ALL);
    for (int k = 0; k < 2; k++) {
        omp_set_num_threads(1 + 2 * k);
        stv_assert_ok(stv_fit_learn(&problem, &fit[k]));
    }
    size_t n = fit[0].n_shared * (fit[0].n_shared + 2) +
               40 * fit[0].n_block * (fit[0].n_shared + fit[0].n_block + 2);
    assert_memory_equal(fit[0].shared_nd, fit[1].shared_nd, n * sizeof(double));
    stv_fit_free(&fit[0]);
    stv_fit_free(&fit[1]);
}

/* Points beyond what can be told are come back from; derivatives that point uphill are not a way.
 */
static void hard_points_and_wrong_ways(void **state)
{
    (void)state;
    struct house house;
    struct stv_fit fit = {0}, near = {0};
    struct stv_fit_problem problem = house_measured(&house, 7, 6, BY_ALL);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    house.furthest_nd = 0.0;
    for (size_t i = 0; i < HOUSE_TOP; i++)
        house.furthest_nd = fmax(house.furthest_nd, 1.3 * fabs(fit.shared_nd[i]));
    stv_assert_ok(stv_fit_learn(&problem, &near));
    for (size_t i = 0; i < fit.n_shared; i++)
        stv_assert_close(near.shared_nd[i], fit.shared_nd[i], 0.0, 1e-3);
    stv_fit_free(&near);
    house.furthest_nd = 0.3;
    stv_assert_status(stv_fit_learn(&problem, &near), STV_E_NO_CONVERGENCE);
    assert_true(near.last_step_nd > 0.1);
    stv_fit_free(&near);
    house.furthest_nd = 0.0;
    house.wrong_nd = -1.0;
    stv_assert_status(stv_fit_learn(&problem, &near), STV_E_NO_CONVERGENCE);
    assert_true(near.shared_chol_nd[0] > 0.0);
    stv_fit_free(&near);
    house.wrong_nd = 1e20;
    stv_assert_status(stv_fit_learn(&problem, &near), STV_E_DOMAIN);
    house.wrong_nd = NAN;
    stv_assert_status(stv_fit_learn(&problem, &near), STV_E_DOMAIN);
    assert_null(near.shared_nd);
    stv_fit_free(&fit);
}

static enum stv_status no_memory(void *context, size_t cask_idx, const double *top,
                                 const double *own, struct stv_fit_moment *out)
{
    (void)context, (void)top, (void)own, (void)out;
    return cask_idx == 3 ? STV_E_MEMORY : STV_E_DOMAIN;
}

static void what_contradicts_itself_is_refused(void **state)
{
    (void)state;
    struct house house;
    struct stv_fit fit = {0};
    struct stv_fit_then then;
    struct stv_fit_problem sound = house_measured(&house, 8, 4, BY_ALL), problem = sound;
    stv_assert_status(stv_fit_learn(NULL, &fit), STV_E_ARG);
    stv_assert_status(stv_fit_learn(&sound, NULL), STV_E_ARG);
    stv_assert_status(stv_fit_predicted_then(&sound, &fit, &then), STV_E_ARG);
    problem.n_top = STV_FIT_TOP_MOST + 1;
    stv_assert_status(stv_fit_learn(&problem, &fit), STV_E_ARG);
    problem = sound;
    problem.ready.threshold_ln_nd[0] = problem.ready.threshold_ln_nd[1];
    stv_assert_status(stv_fit_learn(&problem, &fit), STV_E_ARG);
    problem = sound;
    problem.predict = no_memory;
    stv_assert_status(stv_fit_learn(&problem, &fit), STV_E_MEMORY);
    const struct stv_fit_observation wrong[] = {
        {.cask_idx = 4, .value = 1.0, .error = 1.0},
        {.moment_idx = HOUSE_MOMENTS, .value = 1.0, .error = 1.0},
        {.kind = STV_FIT_KINDS, .value = 1.0, .error = 1.0},
        {.value = NAN, .error = 1.0},
        {.value = 1.0, .error = 0.0},
        {.kind = STV_FIT_READING, .value = 1.0, .error = 1.0, .scale_idx = 2},
        {.kind = STV_FIT_VERDICT, .value = 1.5, .error = 1.0},
        {.kind = STV_FIT_VERDICT, .value = 4.0, .error = 1.0},
    };
    for (size_t i = 0; i < sizeof wrong / sizeof wrong[0]; i++) {
        problem = sound;
        problem.observations = &wrong[i];
        problem.n_observations = 1;
        stv_assert_status(stv_fit_learn(&problem, &fit), STV_E_ARG);
    }
    assert_null(fit.shared_nd);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(nothing_measured_gives_the_prior_back),
        cmocka_unit_test(draws_spread_as_the_fit_says),
        cmocka_unit_test(order_does_not_matter),
        cmocka_unit_test(threads_do_not_matter),
        cmocka_unit_test(hard_points_and_wrong_ways),
        cmocka_unit_test(what_contradicts_itself_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
