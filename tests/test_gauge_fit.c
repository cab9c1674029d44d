/* The fit of gauges against closed forms and against GSL's dense solver. */
#include "tests/fit_house.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_linalg.h>
#include <gsl/gsl_multifit_nlinear.h>

static void assert_same(const struct dense *got, const struct dense *want, double tolerance)
{
    assert_int_equal(got->n, want->n);
    for (size_t i = 0; i < want->n; i++)
        stv_assert_close(got->mean[i], want->mean[i], 0.0, tolerance);
    for (size_t i = 0; i < want->n * want->n; i++)
        stv_assert_close(got->covariance[i], want->covariance[i], 0.0, tolerance);
}

/* A straight problem: figures are sums of scores with keyed factors. */
#define LINE_TOP 3
#define LINE_OWN 2
#define LINE_CASKS 5
#define LINE_MOMENTS 2
#define LINE_OBSERVATIONS (LINE_CASKS * LINE_MOMENTS * 3)

static enum stv_status line_predict(void *context, size_t cask_idx, const double *top,
                                    const double *own, struct stv_fit_moment *out)
{
    (void)context;
    for (size_t m = 0; m < LINE_MOMENTS; m++)
        for (size_t q = 0; q < STV_FIT_QUANTITIES; q++) {
            size_t at = (cask_idx * LINE_MOMENTS + m) * STV_FIT_QUANTITIES + q;
            out[m].value[q] = 10.0;
            for (size_t i = 0; i < LINE_TOP; i++) {
                out[m].by_top_nd[q][i] = house_normal(i, "line top", at);
                out[m].value[q] += out[m].by_top_nd[q][i] * top[i];
            }
            for (size_t i = 0; i < LINE_OWN; i++) {
                out[m].by_own_nd[q][i] = house_normal(i, "line own", at);
                out[m].value[q] += out[m].by_own_nd[q][i] * own[i];
            }
        }
    return STV_OK;
}

struct line {
    size_t n_moments[LINE_CASKS];
    struct stv_fit_tare tares[LINE_CASKS];
    struct stv_fit_observation observations[LINE_OBSERVATIONS];
};

static struct stv_fit_problem line_new(struct line *line)
{
    static const enum stv_fit_kind kinds[] = {STV_FIT_VOLUME, STV_FIT_STRENGTH, STV_FIT_GROSS};
    for (size_t c = 0; c < LINE_CASKS; c++) {
        line->n_moments[c] = LINE_MOMENTS;
        line->tares[c] = (struct stv_fit_tare){2.0, 1.5};
    }
    for (size_t i = 0; i < LINE_OBSERVATIONS; i++)
        line->observations[i] =
            (struct stv_fit_observation){.cask_idx = i % LINE_CASKS,
                                         .moment_idx = i / LINE_CASKS % LINE_MOMENTS,
                                         .kind = kinds[i / (LINE_CASKS * LINE_MOMENTS)],
                                         .value = 11.0 + house_normal(9, "line", i),
                                         .error = 0.3 + 0.1 * (double)(i % 4),
                                         .is_unmixed = i % 3 == 0,
                                         .from = {i / LINE_CASKS % LINE_MOMENTS == 1 && i % 2 == 0,
                                                  0, 9.5 + house_normal(9, "from", i)},
                                         .day_d = (int64_t)(i * 7 % 11)};
    return (struct stv_fit_problem){.n_top = LINE_TOP,
                                    .n_own = LINE_OWN,
                                    .n_casks = LINE_CASKS,
                                    .n_observations = LINE_OBSERVATIONS,
                                    .n_moments = line->n_moments,
                                    .tares = line->tares,
                                    .ready = {{-1.0, 0.0, 1.0}, 0.3},
                                    .observations = line->observations,
                                    .predict = line_predict};
}

#define LINE_SHARED (LINE_TOP + STV_FIT_THRESHOLDS)
#define LINE_BLOCK (LINE_OWN + 1)
#define LINE_ALL (LINE_SHARED + LINE_CASKS * LINE_BLOCK)

/* The row of an observation, and what it says once the constant is taken off. */
static double line_row(const struct stv_fit_observation *observation, double row[LINE_ALL],
                       double *out_error)
{
    static const double none[LINE_TOP] = {0};
    static const size_t quantity_of[] = {STV_FIT_VOLUME20_L, STV_FIT_ABV20_FRAC, 0,
                                         STV_FIT_LIQUID_KG};
    struct stv_fit_moment moments[LINE_MOMENTS];
    size_t q = quantity_of[observation->kind];
    double *own = row + LINE_SHARED + observation->cask_idx * LINE_BLOCK;
    (void)line_predict(NULL, observation->cask_idx, none, none, moments);
    memset(row, 0, LINE_ALL * sizeof(double));
    memcpy(row, moments[observation->moment_idx].by_top_nd[q], LINE_TOP * sizeof(double));
    memcpy(own, moments[observation->moment_idx].by_own_nd[q], LINE_OWN * sizeof(double));
    own[LINE_OWN] = observation->kind == STV_FIT_GROSS ? 1.5 : 0.0;
    *out_error = observation->error;
    if (observation->kind == STV_FIT_STRENGTH && observation->is_unmixed)
        *out_error = hypot(observation->error, STV_FIT_UNMIXED_ERROR_FRAC);
    if (!observation->from.counts)
        return observation->value - 10.0 - (observation->kind == STV_FIT_GROSS ? 2.0 : 0.0);
    const struct stv_fit_moment *then = &moments[observation->from.moment_idx];
    for (size_t i = 0; i < LINE_TOP; i++)
        row[i] -= then->by_top_nd[q][i];
    for (size_t i = 0; i < LINE_OWN; i++)
        own[i] -= then->by_own_nd[q][i];
    own[LINE_OWN] = 0.0; /* the cask weighs the same at both */
    return observation->value - observation->from.value;
}

/* The normal equations solved at once, of observations before a day. */
static struct dense line_solved(const struct stv_fit_problem *problem, int64_t before_day_d)
{
    struct dense all = {.n = LINE_ALL};
    double matrix[LINE_ALL * LINE_ALL] = {0}, side[LINE_ALL] = {0}, row[LINE_ALL], error;
    for (size_t i = 0; i < LINE_ALL; i++)
        matrix[i * LINE_ALL + i] = 1.0;
    for (size_t k = 0; k < problem->n_observations; k++) {
        double value = line_row(&problem->observations[k], row, &error);
        if (problem->observations[k].day_d >= before_day_d)
            continue;
        for (size_t i = 0; i < LINE_ALL; i++) {
            side[i] += row[i] * value / (error * error);
            for (size_t j = 0; j < LINE_ALL; j++)
                matrix[i * LINE_ALL + j] += row[i] * row[j] / (error * error);
        }
    }
    gsl_matrix_view a = gsl_matrix_view_array(matrix, LINE_ALL, LINE_ALL);
    gsl_vector_view x = gsl_vector_view_array(side, LINE_ALL);
    gsl_linalg_cholesky_decomp1(&a.matrix);
    gsl_linalg_cholesky_svx(&a.matrix, &x.vector);
    gsl_linalg_cholesky_invert(&a.matrix);
    memcpy(all.mean, side, sizeof side);
    memcpy(all.covariance, matrix, sizeof matrix);
    return all;
}

static double variance_of(const struct dense *all, const double *row)
{
    double sum = 0.0;
    for (size_t i = 0; i < all->n; i++)
        for (size_t j = 0; j < all->n; j++)
            sum += row[i] * row[j] * all->covariance[i * all->n + j];
    return sum;
}

static void a_straight_problem_has_its_closed_form(void **state)
{
    (void)state;
    struct line line;
    struct stv_fit fit;
    struct stv_fit_problem problem = line_new(&line);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    struct dense got = dense_of(&fit), want = line_solved(&problem, INT64_MAX);
    assert_same(&got, &want, 1e-9);
    assert_true(fit.n_steps <= 2);
    for (size_t i = 0; i < LINE_ALL; i++)
        stv_assert_close(i < LINE_SHARED ? fit.shared_error_nd[i]
                                         : fit.block_error_nd[i - LINE_SHARED],
                         sqrt(want.covariance[i * LINE_ALL + i]), 1e-9, 0.0);
    stv_fit_free(&fit);
}

static void then_is_what_earlier_days_say(void **state)
{
    (void)state;
    struct line line;
    struct stv_fit fit;
    struct stv_fit_then then[LINE_OBSERVATIONS];
    struct stv_fit_problem problem = line_new(&line);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    stv_assert_ok(stv_fit_predicted_then(&problem, &fit, then));
    for (size_t k = 0; k < LINE_OBSERVATIONS; k++) {
        const struct stv_fit_observation *observation = &line.observations[k];
        struct dense known = line_solved(&problem, observation->day_d);
        double row[LINE_ALL], error, mean = observation->value;
        mean -= line_row(observation, row, &error);
        for (size_t i = 0; i < LINE_ALL; i++)
            mean += row[i] * known.mean[i];
        stv_assert_close(then[k].value, mean, 1e-9, 0.0);
        stv_assert_close(then[k].error, sqrt(variance_of(&known, row) + error * error), 1e-9, 0.0);
    }
    stv_fit_free(&fit);
}

/* Apart: all of the other casks, and earlier days of the own; about any point, all being straight.
 */
static void apart_is_what_the_sisters_say(void **state)
{
    (void)state;
    struct line line;
    struct stv_fit fit;
    struct stv_fit_then apart[LINE_OBSERVATIONS];
    struct stv_fit_observation others[LINE_OBSERVATIONS];
    struct stv_fit_problem problem = line_new(&line), without = problem;
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    for (size_t i = 0; i < LINE_CASKS * LINE_BLOCK; i++)
        fit.block_nd[i] = 0.0;
    stv_assert_ok(stv_fit_predicted_apart(&problem, &fit, apart));
    for (size_t k = 0; k < LINE_OBSERVATIONS; k++) {
        const struct stv_fit_observation *observation = &line.observations[k];
        without.observations = others;
        without.n_observations = 0;
        for (size_t i = 0; i < LINE_OBSERVATIONS; i++)
            if (line.observations[i].cask_idx != observation->cask_idx ||
                line.observations[i].day_d < observation->day_d)
                others[without.n_observations++] = line.observations[i];
        struct dense known = line_solved(&without, INT64_MAX);
        double row[LINE_ALL], error, mean = observation->value;
        mean -= line_row(observation, row, &error);
        for (size_t i = 0; i < LINE_ALL; i++)
            mean += row[i] * known.mean[i];
        stv_assert_close(apart[k].value, mean, 1e-9, 0.0);
        stv_assert_close(apart[k].error, sqrt(variance_of(&known, row) + error * error), 1e-9, 0.0);
    }
    stv_fit_free(&fit);
}

/* Another weighing of cask 1 for the litres of cask `target`. */
static void worth_is_what_it_will_have_been(void **state)
{
    (void)state;
    struct line line;
    struct stv_fit fit;
    struct stv_fit_worth worth;
    struct stv_fit_problem problem = line_new(&line);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    for (size_t target = 0; target < 3; target++) {
        struct stv_fit_moment moments[LINE_MOMENTS], targets[LINE_MOMENTS];
        double row[LINE_ALL], target_row[LINE_ALL], moved[LINE_ALL], error;
        (void)line_predict(NULL, 1, fit.shared_nd, fit.block_nd + LINE_BLOCK, moments);
        (void)line_predict(NULL, target, fit.shared_nd, fit.block_nd + target * LINE_BLOCK,
                           targets);
        struct stv_fit_wish wish = {
            .observation = {.cask_idx = 1, .kind = STV_FIT_GROSS, .error = 0.2},
            .moment = &moments[0],
            .target_cask_idx = target,
            .target_by_top_nd = targets[1].by_top_nd[STV_FIT_VOLUME20_L],
            .target_by_own_nd = targets[1].by_own_nd[STV_FIT_VOLUME20_L]};
        struct stv_fit_observation aim = {.cask_idx = target, .moment_idx = 1};
        stv_assert_ok(stv_fit_worth_of(&problem, &fit, &wish, &worth));
        struct dense known = line_solved(&problem, INT64_MAX);
        (void)line_row(&wish.observation, row, &error);
        (void)line_row(&aim, target_row, &error);
        double shared = 0.0, before = variance_of(&known, target_row);
        for (size_t i = 0; i < LINE_ALL; i++) {
            moved[i] = 0.0;
            for (size_t j = 0; j < LINE_ALL; j++)
                moved[i] += known.covariance[i * LINE_ALL + j] * row[j];
            shared += moved[i] * target_row[i];
        }
        double after = before - shared * shared / (variance_of(&known, row) + 0.04);
        stv_assert_close(worth.before_nd, sqrt(before), 1e-9, 0.0);
        stv_assert_close(worth.after_nd, sqrt(after), 1e-9, 0.0);
    }
    stv_fit_free(&fit);
}

#define BY_NUMBERS 0xfu /* volume, strength, liquid and gross */

/* Left-overs of numbers, written out anew. */
static double house_left(const struct stv_fit_problem *problem, size_t idx, const double *all)
{
    const struct stv_fit_observation *seen = &problem->observations[idx];
    const double *block = all + HOUSE_SHARED + seen->cask_idx * (HOUSE_OWN + 1);
    struct stv_fit_moment moment;
    house_moment(problem->context, seen->cask_idx, house_years_y[seen->moment_idx], all, block,
                 &moment);
    double told = moment.value[seen->kind == STV_FIT_GROSS ? STV_FIT_LIQUID_KG : (int)seen->kind];
    if (seen->kind == STV_FIT_GROSS)
        told += problem->tares[seen->cask_idx].tare_kg +
                problem->tares[seen->cask_idx].error_kg * block[HOUSE_OWN];
    return (told - seen->value) / seen->error;
}

static int gsl_left(const gsl_vector *x, void *context, gsl_vector *f)
{
    const struct stv_fit_problem *problem = context;
    for (size_t i = 0; i < x->size; i++)
        gsl_vector_set(f, i, gsl_vector_get(x, i));
    for (size_t k = 0; k < problem->n_observations; k++)
        gsl_vector_set(f, x->size + k, house_left(problem, k, x->data));
    return GSL_SUCCESS;
}

static void a_bent_problem_is_solved_as_gsl_does(void **state)
{
    (void)state;
    struct house house;
    struct stv_fit fit;
    struct stv_fit_problem problem = house_measured(&house, 3, 4, BY_NUMBERS);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    struct dense got = dense_of(&fit), want = {.n = got.n};
    gsl_multifit_nlinear_parameters parameters = gsl_multifit_nlinear_default_parameters();
    parameters.fdtype = GSL_MULTIFIT_NLINEAR_CTRDIFF;
    parameters.h_df = 1e-5;
    gsl_multifit_nlinear_fdf fdf = {
        .f = gsl_left, .n = want.n + problem.n_observations, .p = want.n, .params = &problem};
    gsl_multifit_nlinear_workspace *work =
        gsl_multifit_nlinear_alloc(gsl_multifit_nlinear_trust, &parameters, fdf.n, fdf.p);
    gsl_vector *start = gsl_vector_calloc(fdf.p);
    gsl_matrix_view covariance = gsl_matrix_view_array(want.covariance, want.n, want.n);
    int info;
    gsl_multifit_nlinear_init(start, &fdf, work);
    assert_int_equal(gsl_multifit_nlinear_driver(200, 1e-10, 1e-12, 0.0, NULL, NULL, &info, work),
                     GSL_SUCCESS);
    gsl_multifit_nlinear_covar(gsl_multifit_nlinear_jac(work), 0.0, &covariance.matrix);
    memcpy(want.mean, gsl_multifit_nlinear_position(work)->data, want.n * sizeof(double));
    assert_same(&got, &want, 1e-6);
    gsl_vector_free(start);
    gsl_multifit_nlinear_free(work);
    stv_fit_free(&fit);
}

/* Minus the log posterior, written out anew. */
static double house_cost(const struct stv_fit_problem *problem, const double *all, size_t n)
{
    double cost = 0.0, threshold_ln[STV_FIT_THRESHOLDS];
    for (size_t i = 0; i < n; i++)
        cost += 0.5 * all[i] * all[i];
    stv_fit_thresholds(problem, all, threshold_ln);
    for (size_t k = 0; k < problem->n_observations; k++) {
        const struct stv_fit_observation *seen = &problem->observations[k];
        const struct stv_fit_scale *scale = &problem->scales[seen->scale_idx];
        const double *of_scale = all + HOUSE_TOP + STV_FIT_THRESHOLDS + 2 * seen->scale_idx;
        struct stv_fit_moment moment;
        house_moment(problem->context, seen->cask_idx, house_years_y[seen->moment_idx], all,
                     all + HOUSE_SHARED + seen->cask_idx * (HOUSE_OWN + 1), &moment);
        double wood_ln = moment.value[STV_FIT_LN_WOOD];
        if (seen->kind == STV_FIT_READING) {
            double step_ln = scale->step_ln_nd * (1.0 + scale->step_spread_frac * of_scale[1]);
            double says_ln = scale->wood_ln_nd + scale->wood_spread_ln_nd * of_scale[0] +
                             step_ln * (seen->value - scale->middle_nd);
            double left = (says_ln - wood_ln) / seen->error;
            cost += 0.5 * left * left - log(step_ln);
        } else if (seen->kind == STV_FIT_VERDICT) {
            int v = (int)seen->value;
            double below =
                v > 0 ? gsl_cdf_ugaussian_P((threshold_ln[v - 1] - wood_ln) / seen->error) : 0.0;
            double up =
                v < 3 ? gsl_cdf_ugaussian_P((threshold_ln[v] - wood_ln) / seen->error) : 1.0;
            cost -= log(up - below);
        } else {
            double left = house_left(problem, k, all);
            cost += 0.5 * left * left;
        }
    }
    return cost;
}

static void the_top_is_a_top(void **state)
{
    (void)state;
    for (uint64_t seed = 1; seed <= 5; seed++) {
        struct house house;
        struct stv_fit fit;
        struct stv_fit_problem problem = house_measured(&house, seed, 6, BY_ALL);
        stv_assert_ok(stv_fit_learn(&problem, &fit));
        struct dense all = dense_of(&fit);
        stv_assert_close(fit.cost_nd, house_cost(&problem, all.mean, all.n), 1e-9, 0.0);
        for (size_t i = 0; i < all.n; i++) {
            double at = all.mean[i], step = 1e-4;
            all.mean[i] = at + step;
            double slope = house_cost(&problem, all.mean, all.n);
            all.mean[i] = at - step;
            slope -= house_cost(&problem, all.mean, all.n);
            all.mean[i] = at;
            /* Off the top by less than a thousandth of what is known of the score. */
            stv_assert_close(slope / (2.0 * step) * sqrt(all.covariance[i * all.n + i]), 0.0, 0.0,
                             1e-3);
        }
        stv_fit_free(&fit);
    }
}

/* Wood is straight in the scores, so the spread must be that of the true curvature; the gaps
 * between thresholds alone are bent. */
static void spread_is_the_curvature_of_noses(void **state)
{
    (void)state;
    struct house house;
    struct stv_fit fit;
    struct stv_fit_problem problem = house_measured(&house, 2, 4, 1u << 4 | 1u << 5);
    stv_assert_ok(stv_fit_learn(&problem, &fit));
    struct dense all = dense_of(&fit);
    gsl_matrix_view precision = gsl_matrix_view_array(all.covariance, all.n, all.n);
    gsl_linalg_cholesky_decomp1(&precision.matrix);
    gsl_linalg_cholesky_invert(&precision.matrix);
    for (size_t i = 0; i < all.n; i++)
        for (size_t j = 0; j <= i; j++) {
            double curvature = 0.0, step = 1e-3;
            for (int corner = 0; corner < 4; corner++) {
                double x[N_ALL_MOST], sign = corner % 3 == 0 ? 1.0 : -1.0;
                memcpy(x, all.mean, sizeof x);
                x[i] += corner & 1 ? step : -step;
                x[j] += corner & 2 ? step : -step;
                curvature += sign * house_cost(&problem, x, all.n) / (4.0 * step * step);
            }
            bool is_gap = i == j && (i == HOUSE_TOP || i == HOUSE_TOP + 2);
            if (!is_gap)
                stv_assert_close(gsl_matrix_get(&precision.matrix, i, j), curvature, 1e-4, 2e-3);
        }
    stv_fit_free(&fit);
}

int main(void)
{
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_straight_problem_has_its_closed_form),
        cmocka_unit_test(then_is_what_earlier_days_say),
        cmocka_unit_test(apart_is_what_the_sisters_say),
        cmocka_unit_test(worth_is_what_it_will_have_been),
        cmocka_unit_test(a_bent_problem_is_solved_as_gsl_does),
        cmocka_unit_test(the_top_is_a_top),
        cmocka_unit_test(spread_is_the_curvature_of_noses),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
