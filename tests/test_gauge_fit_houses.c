/* Invented houses whose truth is known: is it found, and within the stated ranges as often as
 * stated? */
#include "tests/fit_house.h"

#include <omp.h>

#define N_HOUSES 400
#define RANGE_90 1.6449

struct tally {
    size_t n, n_inside;
    double narrowed; /* sum of posterior sd */
};

static void count(struct tally *tally, double truth, double told, double error)
{
    tally->n++;
    tally->n_inside += fabs(truth - told) <= RANGE_90 * error;
    tally->narrowed += error;
}

static void assert_covers(const char *what, const struct tally *tally)
{
    double inside_frac = (double)tally->n_inside / (double)tally->n;
    print_message("%s: %.1f %% inside the 90 %% range, mean error %.3f of the prior's, %zu\n", what,
                  100.0 * inside_frac, tally->narrowed / (double)tally->n, tally->n);
    assert_true(inside_frac >= 0.85 && inside_frac <= 0.95);
}

/* Each cask once or more, by every kind that is asked for; nosed at the last gauge alone. */
static void measure(struct house *house, const struct house_truth *truth, unsigned kinds)
{
    for (size_t c = 0; c < house->n_casks; c++)
        for (size_t m = 0; m < HOUSE_MOMENTS; m++)
            for (int kind = 0; kind < STV_FIT_KINDS; kind++) {
                bool is_nose = kind == STV_FIT_VERDICT || kind == STV_FIT_READING;
                if (kinds >> kind & 1u && (!is_nose || m == 2))
                    house_measure(house, truth, (enum stv_fit_kind)kind, c, m);
            }
}

struct tallies {
    struct tally top, own, tare, thresholds, scales;
};

static void count_house(const struct house_truth *truth, const struct stv_fit_problem *problem,
                        const struct stv_fit *fit, struct tallies *tallies)
{
    double threshold_ln[STV_FIT_THRESHOLDS];
    stv_fit_thresholds(problem, truth->shared, threshold_ln);
    for (size_t i = 0; i < fit->n_shared; i++)
        if (i < HOUSE_TOP || i >= HOUSE_TOP + STV_FIT_THRESHOLDS)
            count(i < HOUSE_TOP ? &tallies->top : &tallies->scales, truth->shared[i],
                  fit->shared_nd[i], fit->shared_error_nd[i]);
    for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++)
        count(&tallies->thresholds, threshold_ln[k], fit->threshold_ln_nd[k],
              fit->threshold_error_ln_nd[k]);
    for (size_t c = 0; c < fit->n_casks; c++)
        for (size_t i = 0; i < fit->n_block; i++)
            count(i < HOUSE_OWN ? &tallies->own : &tallies->tare, truth->block[c][i],
                  fit->block_nd[c * fit->n_block + i], fit->block_error_nd[c * fit->n_block + i]);
}

static struct tallies learn_houses(size_t n_casks, unsigned kinds)
{
    struct tallies tallies = {0};
    for (uint64_t seed = 1; seed <= N_HOUSES; seed++) {
        struct house house = house_new(n_casks);
        struct house_truth truth = house_truth(seed);
        struct stv_fit fit;
        measure(&house, &truth, kinds);
        struct stv_fit_problem problem = house_problem(&house);
        stv_assert_ok(stv_fit_learn(&problem, &fit));
        count_house(&truth, &problem, &fit, &tallies);
        stv_fit_free(&fit);
    }
    return tallies;
}

static void ranges_cover_when_all_is_measured(void **state)
{
    (void)state;
    struct tallies tallies = learn_houses(12, BY_ALL);
    assert_covers("top", &tallies.top);
    assert_covers("own", &tallies.own);
    assert_covers("tare", &tallies.tare);
    assert_covers("thresholds", &tallies.thresholds);
    assert_covers("scales", &tallies.scales);
}

/* Two kinds of cask and volumes: loss is learned, the rest stays as it was. */
static void ranges_cover_by_volume(void **state)
{
    (void)state;
    struct tallies tallies = learn_houses(20, 1u << STV_FIT_VOLUME);
    assert_covers("top by volume", &tallies.top);
    assert_covers("own by volume", &tallies.own);
}

static void ranges_cover_by_verdicts(void **state)
{
    (void)state;
    struct tallies tallies = learn_houses(30, 1u << STV_FIT_VERDICT);
    assert_covers("top by verdicts", &tallies.top);
    assert_covers("own by verdicts", &tallies.own);
    assert_covers("thresholds by verdicts", &tallies.thresholds);
}

/* Gross weights alone, the tare known to 50 kg: the difference is the loss. */
static void gross_weights_pin_the_loss(void **state)
{
    (void)state;
    struct tally loss = {0};
    for (uint64_t seed = 1; seed <= N_HOUSES; seed++) {
        struct house house = house_new(1);
        struct house_truth truth = house_truth(seed);
        struct stv_fit fit;
        house.tares[0] = stv_fit_tare_of(STV_FIT_TARE_UNKNOWN, 45.0);
        house_measure(&house, &truth, STV_FIT_GROSS, 0, 0);
        house_measure(&house, &truth, STV_FIT_GROSS, 0, 2);
        struct stv_fit_problem problem = house_problem(&house);
        stv_assert_ok(stv_fit_learn(&problem, &fit));
        /* ln of the loss is 0.4 house + 0.3 kind + 0.3 own; its variance was 0.34. */
        double by_shared[] = {0.4, 0.3}, told = 0.3 * fit.block_nd[0],
               truth_ln = 0.3 * truth.block[0][0];
        double moved[HOUSE_SHARED] = {0}, variance = 0.0;
        for (size_t i = 0; i < 2; i++) {
            told += by_shared[i] * fit.shared_nd[i];
            truth_ln += by_shared[i] * truth.shared[i];
        }
        for (size_t j = 0; j < fit.n_shared; j++) {
            for (size_t i = 0; i < fit.n_shared; i++)
                moved[j] += ((i < 2 ? by_shared[i] : 0.0) + 0.3 * fit.by_shared_nd[i]) *
                            fit.shared_chol_nd[i * fit.n_shared + j];
            variance += moved[j] * moved[j];
        }
        variance += 0.09 * fit.block_chol_nd[0] * fit.block_chol_nd[0];
        count(&loss, truth_ln, told, sqrt(variance));
        /* The tare itself is learned no better than what the loss leaves open. */
        assert_true(fit.block_error_nd[HOUSE_OWN] < 0.2);
        stv_fit_free(&fit);
    }
    assert_covers("loss by gross weights", &loss);
    assert_true(loss.narrowed / (double)loss.n < 0.6 * sqrt(0.34));
}

/* Predicted then, measured now: in each kind's own unit, missed by as much as was said. */
static void what_was_predicted_then_is_measured(void **state)
{
    (void)state;
    static struct stv_fit_then then[HOUSE_OBSERVATIONS_MOST];
    double square[STV_FIT_KINDS] = {0}, n[STV_FIT_KINDS] = {0};
    for (uint64_t seed = 1; seed <= N_HOUSES / 2; seed++) {
        struct house house;
        struct stv_fit fit;
        struct stv_fit_problem problem = house_measured(&house, seed, 8, BY_ALL);
        stv_assert_ok(stv_fit_learn(&problem, &fit));
        stv_assert_ok(stv_fit_predicted_then(&problem, &fit, then));
        for (size_t k = 0; k < house.n_observations; k++) {
            const struct stv_fit_observation *seen = &house.observations[k];
            if (seen->moment_idx == 0)
                continue;
            square[seen->kind] += pow((seen->value - then[k].value) / then[k].error, 2.0);
            n[seen->kind] += 1.0;
        }
        stv_fit_free(&fit);
    }
    for (size_t kind = 0; kind < STV_FIT_KINDS; kind++) {
        print_message("kind %zu: missed by %.3f of what was said\n", kind,
                      sqrt(square[kind] / n[kind]));
        stv_assert_close(sqrt(square[kind] / n[kind]), 1.0, 0.1, 0.0);
    }
}

/* What noses would narrow, against what they did when they were there. */
static void a_nose_is_worth_what_it_brings(void **state)
{
    (void)state;
    static const enum stv_fit_kind kinds[] = {STV_FIT_READING, STV_FIT_VERDICT};
    /* ln of wood of the cask itself */
    static const double by_top[HOUSE_TOP] = {0.0, 0.0, 0.0, 0.0, 0.35};
    static const double by_own[HOUSE_OWN] = {0.0, 0.0, 0.26};
    for (size_t k = 0; k < 2; k++) {
        double told = 0.0, brought = 0.0, before = 0.0;
        for (uint64_t seed = 1; seed <= N_HOUSES; seed++) {
            struct house house = house_new(6);
            struct house_truth truth = house_truth(seed);
            struct stv_fit fit, more;
            struct stv_fit_worth worth, later;
            struct stv_fit_moment moment;
            measure(&house, &truth, 1u << STV_FIT_VOLUME | 1u << STV_FIT_VERDICT);
            struct stv_fit_problem problem = house_problem(&house);
            stv_assert_ok(stv_fit_learn(&problem, &fit));
            house_moment(&house, 2, house_years_y[1], fit.shared_nd, fit.block_nd + 2 * fit.n_block,
                         &moment);
            struct stv_fit_wish wish = {
                .observation = {.cask_idx = 2, .kind = kinds[k], .error = STV_FIT_NOSE_ERROR_LN},
                .moment = &moment,
                .target_cask_idx = 2,
                .target_by_top_nd = by_top,
                .target_by_own_nd = by_own};
            stv_assert_ok(stv_fit_worth_of(&problem, &fit, &wish, &worth));
            assert_true(worth.after_nd > 0.0 && worth.after_nd <= worth.before_nd);
            house_measure(&house, &truth, kinds[k], 2, 1);
            problem = house_problem(&house);
            stv_assert_ok(stv_fit_learn(&problem, &more));
            stv_assert_ok(stv_fit_worth_of(&problem, &more, &wish, &later));
            before += pow(worth.before_nd, 2.0);
            told += pow(worth.after_nd, 2.0);
            brought += pow(later.before_nd, 2.0);
            stv_fit_free(&fit);
            stv_fit_free(&more);
        }
        print_message("variance narrows by %.4f, as told %.4f\n", 1.0 - brought / before,
                      1.0 - told / before);
        stv_assert_close(before - told, before - brought, 0.25, 0.0);
    }
}

int main(void)
{
    gsl_set_error_handler_off();
    omp_set_num_threads(1); /* houses are small */
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ranges_cover_when_all_is_measured),
        cmocka_unit_test(ranges_cover_by_volume),
        cmocka_unit_test(ranges_cover_by_verdicts),
        cmocka_unit_test(gross_weights_pin_the_loss),
        cmocka_unit_test(what_was_predicted_then_is_measured),
        cmocka_unit_test(a_nose_is_worth_what_it_brings),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
