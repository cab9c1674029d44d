/* Invented houses that are lived through: drawn from the very ranges that the model states, in
 * weather that the model sees for the first years alone, gauged and nosed with error in those.
 * Seeds are fixed beforehand; the rest is the truth that answers are held against. */
#ifndef STV_TESTS_LIVED_HOUSE_H
#define STV_TESTS_LIVED_HOUSE_H

#include "model/cask_learning.h"
#include "model/ensemble.h"
#include "model/spirit.h"
#include "tests/places.h"

#define N_CASKS 10
#define N_KINDS 2
/* Trials of an answer; a test may say others. */
#ifndef N_DRAWS
#define N_DRAWS 128
#endif
#define YEARS 6
#define KNOWN_YEARS 3
/* Months between the days of the years that nobody knows yet; a test may say another step. */
#ifndef LATER_MONTHS
#define LATER_MONTHS 6
#endif
#define N_LATER ((YEARS - KNOWN_YEARS) * 12 / LATER_MONTHS)
#define TODAY (2 * KNOWN_YEARS) /* half-years to there, steps of LATER_MONTHS behind it */
#define N_LIVED (TODAY + 1 + N_LATER)
#define TRUTH_SEED 77000u

static const struct stv_climate_error place_error = {0.3, 0.03};

static inline double dice(uint64_t seed, const char *what, uint64_t which)
{
    return stv_draw_normal_nd(TRUTH_SEED + seed, stv_key_of(what), which, 0);
}

/* Weather of one house: no two years alike. */
static inline struct stv_position weather_of(uint64_t seed, int n_years)
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
    /* On each day of the house: litres, strength, wood. */
    double volume_l[N_CASKS][N_LIVED], abv_frac[N_CASKS][N_LIVED], wood_nd[N_CASKS][N_LIVED];
};

static const struct stv_fit_ready ready_prior = {{-0.66, -0.36, 0.26}, 0.3};

static inline double leak_at(double u)
{
    return usual.spread_leaker_least_per_y -
           usual.spread_leaker_mean_extra_per_y * log1p(-u / usual.spread_leaker_share_frac) -
           stv_params_default().neutral_loss_per_y;
}

static inline struct truth draw_truth(uint64_t seed)
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
        truth.leak_per_y[c] = u < usual.spread_leaker_share_frac ? leak_at(u) : 0.0;
    }
    double shift = ready_prior.error_ln_nd * dice(seed, "ready", 0);
    for (size_t t = 0; t < STV_FIT_THRESHOLDS; t++)
        truth.threshold_ln[t] = ready_prior.threshold_ln_nd[t] + shift;
    return truth;
}

/* The house's casks: two kinds, filled one after another in the first weeks. */
struct house {
    struct stv_cask casks[N_CASKS];
    struct stv_event events[2 * N_CASKS]; /* fills, and leaks that were stopped */
    struct stv_ledger ledger;
    int64_t days_d[N_LIVED];
};

static inline void house_new(struct house *house)
{
    for (size_t c = 0; c < N_CASKS; c++) {
        char id[8];
        snprintf(id, sizeof id, "c%zu", c);
        house->casks[c] = cask_new(id, 200.0);
        snprintf(house->casks[c].kind_name, sizeof house->casks[c].kind_name, "kind %zu",
                 c % N_KINDS);
        house->events[c] = fill_new(day_of(2001, 1, 1), (int)c, 195.0, 0.60, c);
        house->events[c].place.warehouse_idx = 0;
        house->events[c].place.tier_idx = 0;
    }
    house->ledger = (struct stv_ledger){house->casks, N_CASKS, house->events, N_CASKS};
    for (int h = 0; h < N_LIVED; h++)
        house->days_d[h] = stv_day_add_months(
            day_of(2001, 1, 1), h <= TODAY ? 6 * h : 6 * TODAY + LATER_MONTHS * (h - TODAY));
}

static const double exposed_frac = 1.0;

/* What a cask of the real house shows on a day. */
struct life {
    struct truth *truth;
    double *reference; /* of the reference cask alone: its wood, in place of all else */
};

static inline void watch(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
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
static inline void real_lanes(const struct stv__ensemble *ensemble, const struct truth *truth,
                              size_t cask, const struct stv_cask_geometry *geometry,
                              struct stv__lane_cask *out)
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
static inline enum stv_status live(const struct house *house, const struct stv_position *weather,
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
                                                .n_days = N_LIVED};
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
    input.n_days = N_LIVED;
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
    for (size_t i = 0; i < N_CASKS * N_LIVED; i++)
        (&truth->wood_nd[0][0])[i] /= reference;
    stv__ensemble_free(&ensemble);
    free(lanes);
    return status;
}

#define N_SEEN (N_CASKS * 2 * KNOWN_YEARS * 3)

static inline double verdict_of(const struct truth *truth, double ln_wood)
{
    double verdict = 0.0;
    for (size_t t = 0; t < STV_FIT_THRESHOLDS; t++)
        verdict += ln_wood > truth->threshold_ln[t];
    return verdict;
}

static inline size_t gauge_house(uint64_t seed, const struct house *house,
                                 const struct truth *truth, struct stv_cask_observation *out)
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

#endif
