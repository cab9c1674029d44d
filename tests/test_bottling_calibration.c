/* Are the odds of bottlings honest?  Houses that are lived through (lived_house.h) are asked at the
 * end of the third year, with what gauges and noses taught, under several ranges of wood, strength
 * and bottles: what windows and plans call likely is held against what came. */
#define LATER_MONTHS 1
#define N_DRAWS 256 /* as the command calls windows and plans */
#include "tests/lived_house.h"

#include "model/bottling.h"
#include "model/bottling_plan.h"

#include <gsl/gsl_errno.h>

#define N_WISHES 8 /* different wishes of each house */
#define N_BINS 10

#define ALL_HOUSES 300
#define MET_LEAST 0.75 /* of what is called 75 to 85 % */
#define MET_MOST 0.85
#define CALLS_ALIKE 4.0  /* calls of one house that stand or fall together, as one */
#define THERE_LEAST 0.93 /* of promises made for 19 in 20 */

static size_t n_houses = ALL_HOUSES;

/* What was called and what came, by the odds that were called. */
struct calls {
    size_t n[N_BINS], n_met[N_BINS];
    double called[N_BINS];
};

static void call(double frac, bool is_met, struct calls *calls)
{
    size_t bin = (size_t)fmin(N_BINS - 1, floor(frac * N_BINS));
    calls->n[bin]++;
    calls->n_met[bin] += is_met;
    calls->called[bin] += frac;
}

struct tally {
    struct calls windows, plans[2]; /* of single casks, of marriages */
    struct calls one_month;         /* windows where one month alone is looked at: nothing chosen */
    struct calls called_80[4];      /* these four, of calls from 75 to 85 % alone, in one bin */
    size_t n_at_least[2], n_at_least_met[2]; /* bottles that were promised 19 times in 20 */
    size_t n_windows_wood;                   /* windows whose middle is over the wood allowed */
};

static double chance(uint64_t seed, const char *what, uint64_t which)
{
    return stv_draw_uniform_nd(TRUTH_SEED + seed, stv_key_of(what), which, 1);
}

static struct stv_house_rules rules_of(uint64_t seed, size_t k)
{
    struct stv_house_rules rules = stv_house_rules_default();
    rules.wood_least_nd = 0.7 + 0.5 * chance(seed, "least", k);
    rules.wood_most_nd = rules.wood_least_nd + 0.25 + 0.5 * chance(seed, "width", k);
    rules.least_abv20_frac = 0.57 + 0.05 * chance(seed, "strength", k);
    rules.bottling_abv20_frac = 0.46;
    return rules;
}

static bool wood_does(const struct stv_house_rules *rules, double wood_nd)
{
    return wood_nd >= rules->wood_least_nd && wood_nd <= rules->wood_most_nd;
}

static double true_bottles(const struct truth *truth, size_t cask, size_t day, double abv_frac)
{
    double lpa_l = truth->volume_l[cask][day] * truth->abv_frac[cask][day];
    return lpa_l * 0.98 / (fmin(abv_frac, truth->abv_frac[cask][day]) * 0.70);
}

/* today: index of the outlook's first day among the house's. */
static void judge_windows(const struct stv_outlook *outlook, size_t today,
                          const struct house *house, const struct truth *truth,
                          const struct stv_house_rules *rules, struct tally *tally)
{
    struct stv_bottling bottling;
    const double least_bottles = 200.0;
    const struct stv_bottling_request request = {.outlook = outlook,
                                                 .ledger = &house->ledger,
                                                 .rules = rules,
                                                 .least_bottles_nd = least_bottles};
    stv_assert_ok(stv_bottling_windows(&request, &bottling));
    for (size_t i = 0; i < bottling.n_windows; i++) {
        const struct stv_window *window = &bottling.windows[i];
        size_t cask = (size_t)window->cask_idx, day = today + window->surest_idx;
        if (!window->has_window)
            continue;
        bool is_met = wood_does(rules, truth->wood_nd[cask][day]) &&
                      truth->abv_frac[cask][day] >= rules->least_abv20_frac &&
                      true_bottles(truth, cask, day, 0.46) >= least_bottles;
        bool is_one = outlook->n_days == 1;
        call(window->surest_frac, is_met, is_one ? &tally->one_month : &tally->windows);
        if (window->surest_frac >= 0.75 && window->surest_frac < 0.85)
            call(0.8, is_met, &tally->called_80[is_one ? 3 : 0]);
        tally->n_windows_wood += window->wood_nd.p50 > rules->wood_most_nd;
    }
    stv_bottling_free(&bottling);
}

/* What came of the casks that were chosen. */
static bool is_plan_met(const struct truth *truth, const struct stv_house_rules *rules,
                        const struct stv_planned_bottling *wish,
                        const struct stv_bottling_outcome *outcome, size_t day, double *out_bottles)
{
    double bottles = 0.0, volume = 0.0, lpa = 0.0, wood = 0.0;
    bool is_met = true;
    for (size_t i = 0; i < outcome->n_casks; i++) {
        size_t cask = (size_t)outcome->casks[i].cask_idx;
        double own_lpa = truth->volume_l[cask][day] * truth->abv_frac[cask][day];
        bottles +=
            floor(true_bottles(truth, cask, day, wish->most_abv20_frac) - wish->kept_back_nd);
        is_met = is_met && wood_does(rules, truth->wood_nd[cask][day]) &&
                 truth->abv_frac[cask][day] >= wish->least_abv20_frac;
        volume += truth->volume_l[cask][day];
        lpa += own_lpa;
        wood += truth->wood_nd[cask][day] * own_lpa;
    }
    if (wish->is_married) {
        double abv_frac = lpa / volume;
        bottles =
            floor(lpa * 0.98 / (fmin(abv_frac, wish->most_abv20_frac) * 0.70) - wish->kept_back_nd);
        is_met = wood_does(rules, wood / lpa) && abv_frac >= wish->least_abv20_frac;
    }
    *out_bottles = bottles;
    return is_met && bottles >= wish->bottles_nd;
}

/* outlooks: by which casks are chosen, and by which it is told. */
static void judge_plans(struct stv_outlook outlooks[2], const struct house *house,
                        const struct truth *truth, const struct stv_house_rules *rules,
                        uint64_t dice_at, struct tally *tally)
{
    size_t lots[N_CASKS];
    for (size_t c = 0; c < N_CASKS; c++)
        lots[c] = c % N_KINDS;
    for (size_t m = 0; m < 2; m++) {
        size_t month = 6 + (size_t)(24.0 * chance(dice_at, "month", m));
        size_t n = 1 + m + (size_t)(2.0 * chance(dice_at, "casks", m));
        const struct stv_planned_bottling wish = {
            .day_d = outlooks[0].days_d[month],
            .is_married = m == 1,
            .n_casks = m == 0 ? n : 0,
            .bottles_nd = (double)n * (180.0 + 60.0 * chance(dice_at, "bottles", m)),
            .least_abv20_frac = rules->least_abv20_frac - 0.005,
            .most_abv20_frac = rules->least_abv20_frac,
            .kept_back_nd = 4.0};
        const struct stv_bottling_plan_request request = {.outlook = &outlooks[0],
                                                          .run_told = outlook_of_casks,
                                                          .told_context = &outlooks[1],
                                                          .ledger = &house->ledger,
                                                          .rules = rules,
                                                          .wishes = &wish,
                                                          .n_wishes = 1,
                                                          .lot_of_cask = lots};
        struct stv_bottling_plan plan;
        double bottles;
        stv_assert_ok(stv_bottling_plan(&request, &plan));
        const struct stv_bottling_outcome *outcome = &plan.outcomes[0];
        bool is_met = is_plan_met(truth, rules, &wish, outcome, TODAY + month, &bottles);
        if (outcome->n_casks > 0 && outcome->n_missing_casks == 0) {
            call(outcome->all_frac, is_met, &tally->plans[m]);
            if (outcome->all_frac >= 0.75 && outcome->all_frac < 0.85)
                call(0.8, is_met, &tally->called_80[1 + m]);
            tally->n_at_least[m]++;
            tally->n_at_least_met[m] += bottles >= floor(outcome->bottles_nd.p05);
        }
        stv_bottling_plan_free(&plan);
    }
}

static void judge_one_month(const struct stv_outlook *outlook, const struct house *house,
                            const struct truth *truth, const struct stv_house_rules *rules,
                            struct tally *tally)
{
    for (size_t month = 6; month <= 30; month += 12) {
        struct stv_outlook one;
        stv_assert_ok(stv_outlook_pick(outlook, &outlook->days_d[month], 1, &one));
        judge_windows(&one, TODAY + month, house, truth, rules, tally);
        stv_outlook_free(&one);
    }
}

static enum stv_status judge_house(struct stv_cask_learning_request *request,
                                   const struct house *house, const struct truth *truth,
                                   struct tally *tally)
{
    struct stv_outlook outlooks[2] = {{0}};
    struct stv_cask_learning learning;
    enum stv_status status = stv_cask_learn(request, &learning);
    if (status != STV_OK)
        return status;
    uint64_t seed = request->house.options.seed;
    request->house.learned = &learning.posterior;
    request->house.days_d = house->days_d + TODAY;
    request->house.n_days = N_LATER + 1;
    for (size_t o = 0; o < 2 && status == STV_OK; o++) {
        request->house.options.seed = seed + o * 1000000u;
        status = stv_outlook_run(&request->house, &outlooks[o]);
    }
    for (size_t k = 0; k < N_WISHES && status == STV_OK; k++) {
        const struct stv_house_rules rules = rules_of(seed, k);
        judge_windows(&outlooks[0], TODAY, house, truth, &rules, tally);
        judge_one_month(&outlooks[0], house, truth, &rules, tally);
        judge_plans(outlooks, house, truth, &rules, seed * 100 + k, tally);
    }
    stv_outlook_free(&outlooks[0]);
    stv_outlook_free(&outlooks[1]);
    stv_cask_learning_free(&learning);
    return status;
}

static enum stv_status one_house(uint64_t seed, struct tally *tally)
{
    struct house house;
    struct truth truth = draw_truth(seed);
    struct stv_position weather = weather_of(seed, YEARS + 1), known = weather;
    house_new(&house);
    enum stv_status status = live(&house, &weather, &truth);
    known.grid.n = KNOWN_YEARS * 365 * 24;
    const struct stv_house_rules rules = stv_house_rules_default();
    const struct stv_position_set set = {&known, 1, &exposed_frac, 0, 0};
    struct stv_cask_observation seen[N_SEEN];
    struct stv_fit_tare tares[N_CASKS];
    for (size_t c = 0; c < N_CASKS; c++)
        tares[c] = stv_fit_tare_of(STV_FIT_TARE_UNKNOWN, 40.0);
    struct stv_cask_learning_request request = {
        .house = {.ledger = &house.ledger,
                  .set = &set,
                  .rules = &rules,
                  .options = {.seed = seed, .n_draws = N_DRAWS, .step_d = 10.0},
                  .days_d = &house.days_d[N_LIVED - 1],
                  .n_days = 1},
        .observations = seen,
        .n_observations = gauge_house(seed, &house, &truth, seen),
        .tares = tares,
        .ready = ready_prior,
    };
    if (status == STV_OK)
        status = judge_house(&request, &house, &truth, tally);
    place_end(&weather);
    return status;
}

static void add_calls(const struct calls *from, struct calls *to)
{
    for (size_t b = 0; b < N_BINS; b++) {
        to->n[b] += from->n[b];
        to->n_met[b] += from->n_met[b];
        to->called[b] += from->called[b];
    }
}

static void add_tally(const struct tally *from, struct tally *to)
{
    add_calls(&from->windows, &to->windows);
    add_calls(&from->one_month, &to->one_month);
    for (size_t k = 0; k < 4; k++)
        add_calls(&from->called_80[k], &to->called_80[k]);
    for (size_t m = 0; m < 2; m++) {
        add_calls(&from->plans[m], &to->plans[m]);
        to->n_at_least[m] += from->n_at_least[m];
        to->n_at_least_met[m] += from->n_at_least_met[m];
    }
    to->n_windows_wood += from->n_windows_wood;
}

static void tell(const char *what, const struct calls *calls)
{
    print_message("%s:", what);
    for (size_t b = 0; b < N_BINS; b++)
        if (calls->n[b])
            print_message("  %.0f -> %.0f (%zu)", 100.0 * calls->called[b] / (double)calls->n[b],
                          100.0 * (double)calls->n_met[b] / (double)calls->n[b], calls->n[b]);
    print_message("\n");
}

static double met_of_80(const struct calls *calls, size_t *out_n)
{
    *out_n = calls->n[8];
    return (double)calls->n_met[8] / (double)calls->n[8];
}

static void tell_all(const struct tally *tally)
{
    static const char *const names[4] = {"windows", "single casks", "marriages", "one month"};
    tell("windows, called % -> met % (of so many)", &tally->windows);
    tell("one month alone", &tally->one_month);
    tell("plans of single casks", &tally->plans[0]);
    tell("plans of marriages", &tally->plans[1]);
    for (size_t k = 0; k < 4; k++) {
        size_t n;
        double met = met_of_80(&tally->called_80[k], &n);
        print_message("called 75 to 85 %%, %s: %.1f %% of %zu met\n", names[k], 100.0 * met, n);
    }
    for (size_t m = 0; m < 2; m++)
        print_message("bottles promised 19 times in 20, %s: there %.1f %% of %zu times\n",
                      names[1 + m],
                      100.0 * (double)tally->n_at_least_met[m] / (double)tally->n_at_least[m],
                      tally->n_at_least[m]);
}

static void odds_are_honest(void **state)
{
    (void)state;
    struct tally tally = {0};
    size_t n_failed = 0;
#pragma omp parallel for schedule(dynamic)
    for (size_t seed = 1; seed <= n_houses; seed++) {
        struct tally own = {0};
        enum stv_status status = one_house(seed, &own);
#pragma omp critical
        {
            add_tally(&own, &tally);
            n_failed += status != STV_OK;
        }
    }
    tell_all(&tally);
    assert_int_equal(n_failed, 0);
    assert_int_equal(tally.n_windows_wood, 0);
    for (size_t k = 0; k < 4; k++) {
        size_t n;
        double met = met_of_80(&tally.called_80[k], &n);
        /* A tenth of the houses has a few dozen calls that are not independent. */
        double slack = n_houses >= ALL_HOUSES ? 0.0 : 2.0 * sqrt(0.16 * CALLS_ALIKE / (double)n);
        assert_true(n > 0 && met >= MET_LEAST - slack && met <= MET_MOST + slack);
    }
    for (size_t m = 0; m < 2; m++)
        assert_true((double)tally.n_at_least_met[m] >= THERE_LEAST * (double)tally.n_at_least[m]);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        n_houses = (size_t)atol(argv[1]);
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {cmocka_unit_test(odds_are_honest)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
