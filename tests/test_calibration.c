/* Do ranges hold?  Invented houses are drawn from the very ranges that the model states, live six
 * years in weather that the model sees for three, are gauged and nosed with error in those three,
 * and the model's 90 % ranges for their end are held against the truth: with and without learning.
 * Seeds 1 to N_HOUSES were fixed beforehand. */
#include "tests/lived_house.h"

#include <gsl/gsl_errno.h>

#define COVER_LEAST 0.85
#define COVER_MOST 0.95

static size_t n_houses = 300;

/* How often a 90 % range held the truth. */
struct cover {
    size_t n, n_held[3];
};

static void count(const struct stv_outlook *outlook, const struct truth *truth, size_t cask,
                  struct cover *cover)
{
    const double want[3] = {truth->volume_l[cask][N_LIVED - 1], truth->abv_frac[cask][N_LIVED - 1],
                            truth->wood_nd[cask][N_LIVED - 1]};
    static const enum stv_quantity quantities[3] = {STV_Q_VOLUME20_L, STV_Q_ABV20_FRAC,
                                                    STV_Q_WOOD_INDEX_ND};
    for (size_t q = 0; q < 3; q++) {
        struct stv_range range = stv_outlook_range(outlook, cask, 0, quantities[q]);
        cover->n_held[q] += want[q] >= range.p05 && want[q] <= range.p95;
    }
    cover->n++;
}

static void tell(const char *what, const struct cover *cover)
{
    double n = (double)cover->n;
    print_message("%s: litres %.1f %%, strength %.1f %%, wood %.1f %% of %zu held\n", what,
                  100.0 * (double)cover->n_held[0] / n, 100.0 * (double)cover->n_held[1] / n,
                  100.0 * (double)cover->n_held[2] / n, cover->n);
}

static void demand(const struct cover *cover)
{
    for (size_t q = 0; q < 3; q++) {
        double frac = (double)cover->n_held[q] / (double)cover->n;
        assert_true(frac >= COVER_LEAST && frac <= COVER_MOST);
    }
}

struct tally {
    struct cover plain, learned;
    size_t n_kind, n_kind_held;
    size_t n_leaks, n_leaks_found, n_tight, n_tight_called;
};

static void count_kinds(const struct stv_cask_learning *learning, const struct truth *truth,
                        struct tally *tally)
{
    for (size_t k = 0; k < N_KINDS; k++) {
        char name[16];
        snprintf(name, sizeof name, "kind %zu", k);
        uint64_t key = stv_key_of(name);
        size_t at = learning->posterior.kind_keys[0] == key ? 0 : 1;
        for (size_t s = 0; s < STV_KIND_SCORE_N; s++) {
            size_t i = STV_SCORE_N + at * STV_KIND_SCORE_N + s;
            double off = learning->fit.shared_nd[i] - truth->kind_nd[k][s];
            tally->n_kind++;
            tally->n_kind_held += fabs(off) <= 1.645 * learning->fit.shared_error_nd[i];
        }
    }
}

static void count_leaks(const struct stv_cask_learning *learning, const struct truth *truth,
                        struct tally *tally)
{
    for (size_t c = 0; c < N_CASKS; c++) {
        bool is_called = false;
        for (size_t v = 0; v < learning->n_verdicts; v++)
            is_called |=
                learning->verdicts[v].cask_idx == c && learning->verdicts[v].odds.leak_frac > 0.5;
        tally->n_leaks += truth->leak_per_y[c] > 0.0;
        tally->n_leaks_found += truth->leak_per_y[c] > 0.0 && is_called;
        tally->n_tight += !(truth->leak_per_y[c] > 0.0);
        tally->n_tight_called += !(truth->leak_per_y[c] > 0.0) && is_called;
    }
}

static void count_all(const struct stv_outlook *outlook, const struct truth *truth,
                      struct cover *cover)
{
    for (size_t c = 0; c < N_CASKS; c++)
        count(outlook, truth, c, cover);
}

static enum stv_status judge_house(struct stv_cask_learning_request *request,
                                   const struct truth *truth, struct tally *tally)
{
    struct stv_outlook outlook;
    struct stv_cask_learning learning;
    enum stv_status status = stv_outlook_run(&request->house, &outlook);
    if (status != STV_OK)
        return status;
    count_all(&outlook, truth, &tally->plain);
    stv_outlook_free(&outlook);
    status = stv_cask_learn(request, &learning);
    if (status != STV_OK)
        return status;
    request->house.learned = &learning.posterior;
    status = stv_outlook_run(&request->house, &outlook);
    if (status == STV_OK)
        count_all(&outlook, truth, &tally->learned);
    count_kinds(&learning, truth, tally);
    count_leaks(&learning, truth, tally);
    stv_outlook_free(&outlook);
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
        status = judge_house(&request, &truth, tally);
    place_end(&weather);
    return status;
}

static void add_cover(const struct cover *from, struct cover *to)
{
    to->n += from->n;
    for (size_t q = 0; q < 3; q++)
        to->n_held[q] += from->n_held[q];
}

static void add_tally(const struct tally *from, struct tally *to)
{
    add_cover(&from->plain, &to->plain);
    add_cover(&from->learned, &to->learned);
    to->n_kind += from->n_kind;
    to->n_kind_held += from->n_kind_held;
    to->n_leaks += from->n_leaks;
    to->n_leaks_found += from->n_leaks_found;
    to->n_tight += from->n_tight;
    to->n_tight_called += from->n_tight_called;
}

static void ranges_hold(void **state)
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
    tell("without learning", &tally.plain);
    tell("learned", &tally.learned);
    print_message("kinds' values: %.1f %% of %zu held; leaks called %zu of %zu, tight casks called "
                  "leaking %zu of %zu; %zu of %zu houses failed\n",
                  100.0 * (double)tally.n_kind_held / (double)tally.n_kind, tally.n_kind,
                  tally.n_leaks_found, tally.n_leaks, tally.n_tight_called, tally.n_tight, n_failed,
                  n_houses);
    assert_int_equal(n_failed, 0);
    demand(&tally.plain);
    demand(&tally.learned);
    double kind = (double)tally.n_kind_held / (double)tally.n_kind;
    assert_true(kind >= COVER_LEAST && kind <= COVER_MOST);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        n_houses = (size_t)atol(argv[1]);
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {cmocka_unit_test(ranges_hold)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
