/* Do ranges hold?  Invented houses are drawn from the very ranges that the model states, live six
 * years in weather that the model sees for three, are gauged and nosed with error in those three,
 * and the model's 90 % ranges for their end are held against the truth: with and without learning.
 * Seeds 1 to N_HOUSES were fixed beforehand.  In other houses some casks leak until it is stopped,
 * and one is said to that never did: of these alone. */
#include "tests/lived_house.h"

#include <gsl/gsl_errno.h>

#define COVER_LEAST 0.85
#define COVER_MOST 0.95

#define N_LEAKERS 3 /* of the casks of a house whose leaks are stopped; one more did not leak */
#define STOP_FIRST_D 120
#define STOP_SPAN_D 780.0

#define ALL_HOUSES 300
static size_t n_houses = ALL_HOUSES;

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

static void demand(const struct cover *cover, double stray_frac)
{
    for (size_t q = 0; q < 3; q++) {
        double frac = (double)cover->n_held[q] / (double)cover->n;
        assert_true(frac >= COVER_LEAST - stray_frac && frac <= COVER_MOST + stray_frac);
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

static void count_first(const struct stv_outlook *outlook, const struct truth *truth,
                        size_t n_casks, struct cover *cover)
{
    for (size_t c = 0; c < n_casks; c++)
        count(outlook, truth, c, cover);
}

/* Learns the house and runs it by that; both are to be freed where this is OK. */
static enum stv_status run_learned(struct stv_cask_learning_request *request,
                                   struct stv_cask_learning *learning, struct stv_outlook *outlook)
{
    enum stv_status status = stv_cask_learn(request, learning);
    if (status != STV_OK)
        return status;
    request->house.learned = &learning->posterior;
    status = stv_outlook_run(&request->house, outlook);
    if (status != STV_OK)
        stv_cask_learning_free(learning);
    return status;
}

static enum stv_status judge_stopped(struct stv_cask_learning_request *request,
                                     const struct truth *truth, struct tally *tally)
{
    struct stv_outlook outlook;
    struct stv_cask_learning learning;
    enum stv_status status = run_learned(request, &learning, &outlook);
    if (status != STV_OK)
        return status;
    count_first(&outlook, truth, N_LEAKERS + 1, &tally->learned);
    stv_outlook_free(&outlook);
    stv_cask_learning_free(&learning);
    return STV_OK;
}

static enum stv_status judge_house(struct stv_cask_learning_request *request,
                                   const struct truth *truth, struct tally *tally)
{
    struct stv_outlook outlook;
    struct stv_cask_learning learning;
    enum stv_status status = stv_outlook_run(&request->house, &outlook);
    if (status != STV_OK)
        return status;
    count_first(&outlook, truth, N_CASKS, &tally->plain);
    stv_outlook_free(&outlook);
    status = run_learned(request, &learning, &outlook);
    if (status != STV_OK)
        return status;
    count_first(&outlook, truth, N_CASKS, &tally->learned);
    count_kinds(&learning, truth, tally);
    count_leaks(&learning, truth, tally);
    stv_outlook_free(&outlook);
    stv_cask_learning_free(&learning);
    return STV_OK;
}

/* Some casks leak, and somebody stops it while the house is gauged. */
static enum stv_status stop_leaks(uint64_t seed, struct house *house, struct truth *truth)
{
    struct stv_ledger *ledger = &house->ledger;
    for (size_t c = 0; c <= N_LEAKERS; c++) {
        double u = stv_draw_uniform_nd(TRUTH_SEED + seed, stv_key_of("how much"), c, 0);
        double when = stv_draw_uniform_nd(TRUTH_SEED + seed, stv_key_of("stopped"), c, 0);
        truth->leak_per_y[c] = c < N_LEAKERS ? leak_at(u * usual.spread_leaker_share_frac) : 0.0;
        ledger->events[ledger->n_events] = house->events[c];
        ledger->events[ledger->n_events].kind = STV_EVENT_LEAK_STOPPED;
        ledger->events[ledger->n_events].day_d += STOP_FIRST_D + (int64_t)(STOP_SPAN_D * when);
        ledger->events[ledger->n_events].row = ledger->n_events;
        ledger->n_events++;
    }
    return stv_ledger_sort(ledger);
}

typedef enum stv_status judge(struct stv_cask_learning_request *request, const struct truth *truth,
                              struct tally *tally);

static enum stv_status one_house(uint64_t seed, judge *judge_of, struct tally *tally)
{
    struct house house;
    struct truth truth = draw_truth(seed);
    struct stv_position weather = weather_of(seed, YEARS + 1), known = weather;
    house_new(&house);
    enum stv_status status = judge_of == judge_stopped ? stop_leaks(seed, &house, &truth) : STV_OK;
    if (status == STV_OK)
        status = live(&house, &weather, &truth);
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
        status = judge_of(&request, &truth, tally);
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

/* Returns how many houses failed. */
static size_t all_houses(judge *judge_of, struct tally *tally)
{
    size_t n_failed = 0;
#pragma omp parallel for schedule(dynamic)
    for (size_t seed = 1; seed <= n_houses; seed++) {
        struct tally own = {0};
        enum stv_status status = one_house(seed, judge_of, &own);
#pragma omp critical
        {
            add_tally(&own, tally);
            n_failed += status != STV_OK;
        }
    }
    return n_failed;
}

static void ranges_hold_of_leaks_that_were_stopped(void **state)
{
    (void)state;
    struct tally tally = {0};
    assert_int_equal(all_houses(judge_stopped, &tally), 0);
    tell("leak stopped, learned", &tally.learned);
    /* Few casks of few houses stray by chance: two standard errors. */
    double n = (double)tally.learned.n;
    demand(&tally.learned, n_houses < ALL_HOUSES ? 2.0 * sqrt(0.9 * 0.1 / n) : 0.0);
}

static void ranges_hold(void **state)
{
    (void)state;
    struct tally tally = {0};
    size_t n_failed = all_houses(judge_house, &tally);
    tell("without learning", &tally.plain);
    tell("learned", &tally.learned);
    print_message("kinds' values: %.1f %% of %zu held; leaks called %zu of %zu, tight casks called "
                  "leaking %zu of %zu; %zu of %zu houses failed\n",
                  100.0 * (double)tally.n_kind_held / (double)tally.n_kind, tally.n_kind,
                  tally.n_leaks_found, tally.n_leaks, tally.n_tight_called, tally.n_tight, n_failed,
                  n_houses);
    assert_int_equal(n_failed, 0);
    demand(&tally.plain, 0.0);
    demand(&tally.learned, 0.0);
    double kind = (double)tally.n_kind_held / (double)tally.n_kind;
    assert_true(kind >= COVER_LEAST && kind <= COVER_MOST);
}

int main(int argc, char **argv)
{
    if (argc > 1)
        n_houses = (size_t)atol(argv[1]);
    gsl_set_error_handler_off();
    const struct CMUnitTest tests[] = {cmocka_unit_test(ranges_hold),
                                       cmocka_unit_test(ranges_hold_of_leaks_that_were_stopped)};
    return cmocka_run_group_tests(tests, NULL, NULL);
}
