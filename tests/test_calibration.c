/* Do ranges hold?  Invented houses are drawn from the very ranges that the model states, live six
 * years in weather that the model sees for three, are gauged and nosed with error in those three,
 * and the model's 90 % ranges for their end are held against the truth: with and without learning.
 * Seeds 1 to N_HOUSES were fixed beforehand. */
#include "model/cask_learning.h"
#include "model/ensemble.h"
#include "model/spirit.h"
#include "tests/places.h"

#include <gsl/gsl_errno.h>

#define N_CASKS 10
#define N_KINDS 2
#define N_DRAWS 128
#define YEARS 6
#define KNOWN_YEARS 3
#define TRUTH_SEED 77000u
#define COVER_LEAST 0.85
#define COVER_MOST 0.95

static const struct stv_climate_error place_error = {0.3, 0.03};
static size_t n_houses = 300;

static double dice(uint64_t seed, const char *what, uint64_t which)
{
    return stv_draw_normal_nd(TRUTH_SEED + seed, stv_key_of(what), which, 0);
}

/* Weather of one house: no two years alike. */
static struct stv_position weather_of(uint64_t seed, int n_years)
{
    const struct climate_of climate = {15.0, 11.0, 7.0, 0.60, 0.12, 0.12, 0.5};
    struct stv_position place = place_new(2001, (size_t)n_years * 365 * 24, 0, &climate);
    double slow_k = 0.0, damp = 0.0;
    for (size_t k = 0; k < place.grid.n; k += 6) {
        slow_k += -0.1 * slow_k + 0.9 * stv_draw_normal_nd(seed, 11, 12, k);
        damp += -0.1 * damp + 0.03 * stv_draw_normal_nd(seed, 13, 14, k);
        for (size_t i = k; i < k + 6; i++) {
            place.air_c[i] += slow_k;
            place.radiant_c[i] += slow_k;
            place.rh_frac[i] = fmin(0.97, fmax(0.1, place.rh_frac[i] + damp));
        }
    }
    place.error = place_error;
    return place;
}

/* A house as it is. */
struct truth {
    double house_nd[STV_SCORE_N], kind_nd[N_KINDS][STV_KIND_SCORE_N];
    double own_nd[N_CASKS][STV_OWN_SCORE_N], leak_per_y[N_CASKS];
    double threshold_ln[STV_FIT_THRESHOLDS];
    size_t cask; /* the one that lives just now */
    /* At each half year: litres, strength, wood. */
    double volume_l[N_CASKS][2 * YEARS + 1], abv_frac[N_CASKS][2 * YEARS + 1],
        wood_nd[N_CASKS][2 * YEARS + 1];
};

static const struct stv_fit_ready ready_prior = {{-0.66, -0.36, 0.26}, 0.3};

static struct truth draw_truth(uint64_t seed)
{
    struct truth truth;
    for (size_t s = 0; s < STV_SCORE_N; s++)
        truth.house_nd[s] = dice(seed, "house", s);
    for (size_t i = 0; i < N_KINDS * STV_KIND_SCORE_N; i++)
        truth.kind_nd[i / STV_KIND_SCORE_N][i % STV_KIND_SCORE_N] = dice(seed, "kind", i);
    for (size_t c = 0; c < N_CASKS; c++) {
        double u = stv_draw_uniform_nd(TRUTH_SEED + seed, stv_key_of("leak"), c, 0);
        for (size_t s = 0; s < STV_OWN_SCORE_N; s++)
            truth.own_nd[c][s] = dice(seed, "own", c * STV_OWN_SCORE_N + s);
        truth.leak_per_y[c] = u < usual.spread_leaker_share_frac
                                  ? usual.spread_leaker_least_per_y -
                                        usual.spread_leaker_mean_extra_per_y *
                                            log1p(-u / usual.spread_leaker_share_frac) -
                                        stv_params_default().neutral_loss_per_y
                                  : 0.0;
    }
    double shift = ready_prior.error_ln_nd * dice(seed, "ready", 0);
    for (size_t t = 0; t < STV_FIT_THRESHOLDS; t++)
        truth.threshold_ln[t] = ready_prior.threshold_ln_nd[t] + shift;
    return truth;
}

/* The house's casks: two kinds, filled one after another in the first weeks. */
struct house {
    struct stv_cask casks[N_CASKS];
    struct stv_event fills[N_CASKS];
    struct stv_ledger ledger;
    int64_t days_d[2 * YEARS + 1];
};

static void house_new(struct house *house)
{
    for (size_t c = 0; c < N_CASKS; c++) {
        char id[8];
        snprintf(id, sizeof id, "c%zu", c);
        house->casks[c] = cask_new(id, 200.0);
        snprintf(house->casks[c].kind_name, sizeof house->casks[c].kind_name, "kind %zu",
                 c % N_KINDS);
        house->fills[c] = fill_new(day_of(2001, 1, 1), (int)c, 195.0, 0.60, c);
        house->fills[c].place.warehouse_idx = 0;
        house->fills[c].place.tier_idx = 0;
    }
    house->ledger = (struct stv_ledger){house->casks, N_CASKS, house->fills, N_CASKS};
    for (int h = 0; h <= 2 * YEARS; h++)
        house->days_d[h] = stv_day_add_months(day_of(2001, 1, 1), 6 * h);
}

static const double exposed_frac = 1.0;

/* What a cask of the real house shows at a half year. */
struct life {
    struct truth *truth;
    double *reference; /* of the reference cask alone: its wood, in place of all else */
};

static void watch(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                  const struct stv__packet *packet)
{
    const struct life *life = context;
    struct stv_spirit_amount amount = stv_spirit_amount(packet->ethanol_kg[0], packet->water_kg[0]);
    double wood = packet->content_mg[STV_OAK_PHENOLICS][0] / amount.lpa_l;
    (void)member_idx;
    (void)packet_idx;
    if (life->reference) {
        *life->reference = wood;
        return;
    }
    life->truth->volume_l[life->truth->cask][day_idx] = amount.volume20_l;
    life->truth->abv_frac[life->truth->cask][day_idx] = amount.abv20_frac;
    life->truth->wood_nd[life->truth->cask][day_idx] = wood;
}

/* One lane's numbers, the truth of a cask; cask N_CASKS is the reference. */
static void real_lanes(const struct stv__ensemble *ensemble, const struct truth *truth, size_t cask,
                       const struct stv_cask_geometry *geometry, struct stv__lane_cask *out)
{
    const struct stv_params base = stv_params_default();
    struct stv_scores scores = stv_scores_middle();
    scores.house_nd = truth->house_nd;
    if (cask < N_CASKS) {
        scores.kind_nd = truth->kind_nd[cask % N_KINDS];
        scores.leak_per_y = truth->leak_per_y[cask];
        memcpy(scores.own_nd, truth->own_nd[cask], sizeof scores.own_nd);
    }
    struct stv_params own = stv_params_of_scores(&base, &usual, &scores);
    const struct stv_params *lanes[STV__PACKET];
    for (size_t l = 0; l < STV__PACKET; l++)
        lanes[l] = &own;
    const struct stv__lane_cask_source source = {geometry, lanes, &ensemble->numbers};
    stv__lane_cask_of(&source, out);
}

/* Lives every cask through the real weather with its real numbers; wood is told against the real
 * reference cask. */
static enum stv_status live(const struct house *house, const struct stv_position *weather,
                            struct truth *truth)
{
    const struct stv_house_rules rules = stv_house_rules_default();
    const struct stv_position_set set = {weather, 1, &exposed_frac, 0, 0};
    const struct stv_params middle = stv_params_default();
    struct stv_scores scores = stv_scores_middle();
    scores.house_nd = truth->house_nd;
    struct stv_params base = stv_params_of_scores(&middle, &usual, &scores);
    base.liquid_offset_k = place_error.liquid_k * truth->house_nd[STV_SCORE_LIQUID];
    base.humidity_offset_frac = place_error.rh_frac * truth->house_nd[STV_SCORE_HUMIDITY];
    const struct stv_outlook_request request = {.ledger = &house->ledger,
                                                .set = &set,
                                                .rules = &rules,
                                                .base = &base,
                                                .options = {.seed = 1, .step_d = 10.0},
                                                .days_d = house->days_d,
                                                .n_days = 2 * YEARS + 1};
    struct stv__ensemble ensemble;
    struct stv__reference_run run;
    double reference = NAN;
    struct life life = {truth, NULL}, yardstick = {truth, &reference};
    struct stv__lane_cask *lanes = aligned_alloc(64, sizeof *lanes);
    enum stv_status status = stv__ensemble_new(&request, &ensemble);
    if (status == STV_OK)
        status = stv__ensemble_all_tables(&ensemble);
    struct stv_path_input input = stv__ensemble_path(&ensemble);
    input.days_d = house->days_d;
    input.n_days = 2 * YEARS + 1;
    for (size_t g = 0; g < ensemble.n_groups && status == STV_OK; g++) {
        truth->cask = ensemble.groups[g].members[0];
        real_lanes(&ensemble, truth, truth->cask, &house->casks[truth->cask].geometry, lanes);
        status = stv_path_run(&input, &ensemble.groups[g], lanes, watch, &life);
    }
    if (status == STV_OK)
        status = stv__reference_run_of(&ensemble, &rules, &run);
    if (status == STV_OK) {
        real_lanes(&ensemble, truth, N_CASKS, &run.cask.geometry, lanes);
        status = stv__reference_run(&ensemble, &run, lanes, watch, &yardstick);
    }
    for (size_t i = 0; i < N_CASKS * (2 * YEARS + 1); i++)
        (&truth->wood_nd[0][0])[i] /= reference;
    stv__ensemble_free(&ensemble);
    free(lanes);
    return status;
}

#define N_SEEN (N_CASKS * 2 * KNOWN_YEARS * 3)

static double verdict_of(const struct truth *truth, double ln_wood)
{
    double verdict = 0.0;
    for (size_t t = 0; t < STV_FIT_THRESHOLDS; t++)
        verdict += ln_wood > truth->threshold_ln[t];
    return verdict;
}

static size_t gauge_house(uint64_t seed, const struct house *house, const struct truth *truth,
                          struct stv_cask_observation *out)
{
    size_t n = 0;
    for (size_t c = 0; c < N_CASKS; c++) {
        for (size_t h = 1; h <= 2 * KNOWN_YEARS; h++) {
            uint64_t which = c * 100 + h;
            double nosed =
                log(truth->wood_nd[c][h]) + STV_FIT_NOSE_ERROR_LN * dice(seed, "nose", which);
            const struct stv_cask_observation common = {
                .cask_idx = c, .day_d = house->days_d[h], .gauge_idx = n};
            out[n] = common;
            out[n].kind = STV_FIT_VOLUME;
            out[n].error = 1.0;
            out[n++].value = truth->volume_l[c][h] + dice(seed, "litres", which);
            out[n] = common;
            out[n].kind = STV_FIT_STRENGTH;
            out[n].error = 0.002;
            out[n++].value = truth->abv_frac[c][h] + 0.002 * dice(seed, "strength", which);
            out[n] = common;
            out[n].kind = STV_FIT_VERDICT;
            out[n].error = STV_FIT_NOSE_ERROR_LN;
            out[n++].value = verdict_of(truth, nosed);
        }
    }
    return n;
}

/* How often a 90 % range held the truth. */
struct cover {
    size_t n, n_held[3];
};

static void count(const struct stv_outlook *outlook, const struct truth *truth, size_t cask,
                  struct cover *cover)
{
    const double want[3] = {truth->volume_l[cask][2 * YEARS], truth->abv_frac[cask][2 * YEARS],
                            truth->wood_nd[cask][2 * YEARS]};
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
                  .days_d = &house.days_d[2 * YEARS],
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
