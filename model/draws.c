/* Keyed randomness: a counter-based generator hashes (seed, name, id, draw) and keeps no state.
 * Spreads stand in model/cask_numbers.h; a plain +- of the parameter sheet, section 6, is read as
 * one standard deviation.  It draws parameters only; which weather year comes next is the
 * ensemble's. */
#include "model/draws.h"

#include <gsl/gsl_cdf.h>
#include <gsl/gsl_qrng.h>
#include <math.h>
#include <stdlib.h>

uint64_t stv_key_of(const char *text)
{
    uint64_t hash = 14695981039346656037u;
    for (const char *p = text; *p; p++)
        hash = (hash ^ (unsigned char)*p) * 1099511628211u;
    return hash;
}

/* splitmix64's finaliser (Steele, Lea & Flood 2014, OOPSLA). */
static uint64_t mix(uint64_t x)
{
    x += 0x9E3779B97F4A7C15u;
    x = (x ^ (x >> 30)) * 0xBF58476D1CE4E5B9u;
    x = (x ^ (x >> 27)) * 0x94D049BB133111EBu;
    return x ^ (x >> 31);
}

double stv_draw_uniform_nd(uint64_t seed, uint64_t name_key, uint64_t id_key, uint64_t draw_idx)
{
    uint64_t bits = mix(mix(mix(mix(seed) ^ name_key) ^ id_key) ^ draw_idx);
    return ((double)(bits >> 11) + 0.5) * 0x1.0p-53;
}

double stv_draw_normal_nd(uint64_t seed, uint64_t name_key, uint64_t id_key, uint64_t draw_idx)
{
    return gsl_cdf_ugaussian_Pinv(stv_draw_uniform_nd(seed, name_key, id_key, draw_idx));
}

/* Names of the members' strata, in the order of the scores. */
static const char *const member_names[STV_SCORE_MEMBER_N] = {
    "liquid offset",     "humidity offset", "permeance energy", "water activity",
    "extraction energy", "ester energy",    "time constant"};
static const char *const kind_names[STV_KIND_SCORE_N] = {"kind loss", "kind water", "kind ratio",
                                                         "kind pools"};
static const char *const own_names[STV_OWN_SCORE_N] = {"loss",  "water", "ratio",
                                                       "pools", "area",  "stave"};

static void fill_house(uint64_t seed, gsl_qrng *points, size_t draw_idx, double *row)
{
    double point[STV_SCORE_N];
    size_t member = stv_draw_member(seed, draw_idx, STV_CLIMATE_MEMBERS);
    gsl_qrng_get(points, point);
    for (size_t s = 0; s < STV_SCORE_MEMBER_N; s++)
        row[s] = stv_draw_stratum_nd(seed, member_names[s], member, STV_CLIMATE_MEMBERS);
    for (size_t s = STV_SCORE_MEMBER_N; s < STV_SCORE_N; s++) {
        double shifted =
            point[s - STV_SCORE_MEMBER_N] + stv_draw_uniform_nd(seed, stv_key_of("house"), s, 0);
        shifted -= floor(shifted);
        row[s] = gsl_cdf_ugaussian_Pinv(shifted <= 0.0 ? 0x1.0p-53 : shifted);
    }
}

double stv_kind_score_nd(uint64_t seed, uint64_t kind_key, size_t score_idx, size_t draw_idx)
{
    return stv_draw_normal_nd(seed, stv_key_of(kind_names[score_idx]), kind_key, draw_idx);
}

enum stv_status stv_house_draws_new(uint64_t seed, size_t n_draws, const uint64_t *kind_keys,
                                    size_t n_kinds, struct stv_house_draws *out)
{
    *out = (struct stv_house_draws){.n_draws = n_draws, .n_kinds = n_kinds, .seed = seed};
    if (n_draws == 0)
        return STV_E_ARG;
    out->scores_nd = malloc(n_draws * STV_SCORE_N * sizeof *out->scores_nd);
    out->kinds_nd = malloc((n_draws * n_kinds + 1) * STV_KIND_SCORE_N * sizeof *out->kinds_nd);
    gsl_qrng *points = gsl_qrng_alloc(gsl_qrng_sobol, STV_SCORE_N - STV_SCORE_MEMBER_N);
    if (!out->scores_nd || !out->kinds_nd || !points) {
        gsl_qrng_free(points);
        stv_house_draws_free(out);
        return STV_E_MEMORY;
    }
    for (size_t d = 0; d < n_draws; d++) {
        fill_house(seed, points, d, out->scores_nd + d * STV_SCORE_N);
        for (size_t i = 0; i < n_kinds * STV_KIND_SCORE_N; i++)
            out->kinds_nd[d * n_kinds * STV_KIND_SCORE_N + i] =
                stv_kind_score_nd(seed, kind_keys[i / STV_KIND_SCORE_N], i % STV_KIND_SCORE_N, d);
    }
    gsl_qrng_free(points);
    return STV_OK;
}

void stv_house_draws_free(struct stv_house_draws *draws)
{
    free(draws->scores_nd);
    free(draws->kinds_nd);
    free(draws->shared_nd);
    draws->scores_nd = draws->kinds_nd = draws->shared_nd = NULL;
}

static double limited_factor(double spread_nd, double limit_nd, double score_nd)
{
    return 1.0 + spread_nd * fmax(-limit_nd, fmin(limit_nd, score_nd));
}

/* Roots of the shares of a log-variance: the cask's, and of the rest half each the house's and the
 * kind's. */
struct shares {
    double of_cask, of_rest, of_half;
};

static struct shares shares_of(const struct stv_cask_numbers *numbers)
{
    double rest = numbers->spread_house_share_frac;
    return (struct shares){sqrt(1.0 - rest), sqrt(rest), sqrt(0.5 * rest)};
}

static double loss_score(const struct stv_scores *scores, struct shares share)
{
    return share.of_half * (scores->house_nd[STV_SCORE_LOSS] + scores->kind_nd[STV_KIND_LOSS]) +
           share.of_cask * scores->own_nd[STV_OWN_LOSS];
}

/* The wood's permeances. */
static void move_permeances(const struct stv_cask_numbers *numbers, const struct stv_scores *scores,
                            struct stv_params *p)
{
    const double *kind = scores->kind_nd, *own = scores->own_nd;
    struct shares share = shares_of(numbers);
    double with_loss = numbers->spread_ratio_loss_correlation_nd;
    double water = share.of_half * (scores->house_nd[STV_SCORE_WATER_PERMEANCE] +
                                    kind[STV_KIND_WATER_PERMEANCE]) +
                   share.of_cask * own[STV_OWN_WATER_PERMEANCE];
    double free_ratio = share.of_rest * kind[STV_KIND_RATIO] + share.of_cask * own[STV_OWN_RATIO];
    double ratio =
        with_loss * loss_score(scores, share) + sqrt(1.0 - with_loss * with_loss) * free_ratio;
    p->water_permeance_mol_m2spa *= exp(numbers->spread_water_permeance_ln_nd * water);
    p->permeance_ratio_nd *= exp(numbers->spread_permeance_ratio_ln_nd * ratio);
}

struct stv_params stv_params_of_scores(const struct stv_params *base,
                                       const struct stv_cask_numbers *numbers,
                                       const struct stv_scores *scores)
{
    const double *z = scores->house_nd, *own = scores->own_nd;
    struct stv_params p = *base;
    double pools = sqrt(0.5) * (z[STV_SCORE_POOLS] + scores->kind_nd[STV_KIND_POOLS]);
    move_permeances(numbers, scores, &p);
    p.neutral_loss_per_y *=
        exp(numbers->spread_neutral_loss_ln_nd * loss_score(scores, shares_of(numbers)));
    p.leak_per_y += scores->leak_per_y;
    p.permeance_ea_j_mol += numbers->spread_permeance_ea_j_mol * z[STV_SCORE_PERMEANCE_EA];
    p.neutral_temp_share_frac = gsl_cdf_ugaussian_P(z[STV_SCORE_TEMP_SHARE]);
    p.water_activity_offset_nd += numbers->spread_water_activity_nd * z[STV_SCORE_WATER_ACTIVITY];
    p.area_factor_nd *=
        limited_factor(numbers->spread_area_frac, numbers->spread_limit_nd, own[STV_OWN_AREA]);
    p.stave_factor_nd *=
        limited_factor(numbers->spread_stave_frac, numbers->spread_limit_nd, own[STV_OWN_STAVE]);
    p.time_constant_factor_nd *=
        numbers->spread_time_constant_median_nd *
        exp(numbers->spread_time_constant_ln_nd * z[STV_SCORE_TIME_CONSTANT]);
    p.wood_pool_factor_nd *= exp(numbers->spread_wood_pool_house_ln_nd * pools +
                                 numbers->spread_wood_pool_cask_ln_nd * own[STV_OWN_POOLS]);
    p.extraction_ea_offset_j_mol +=
        numbers->spread_extraction_ea_j_mol * z[STV_SCORE_EXTRACTION_EA];
    p.ester_rate_factor_nd *= exp(numbers->spread_ester_rate_ln_nd * z[STV_SCORE_ESTER_RATE]);
    p.ester_ea_j_mol += numbers->spread_ester_ea_j_mol * z[STV_SCORE_ESTER_EA];
    p.oxidation_mg_ly *= numbers->spread_oxidation_least_nd +
                         (numbers->spread_oxidation_most_nd - numbers->spread_oxidation_least_nd) *
                             gsl_cdf_ugaussian_P(z[STV_SCORE_OXIDATION]);
    return p;
}

struct stv_scores stv_scores_middle(void)
{
    static const double house_nd[STV_SCORE_N] = {0.0};
    static const double kind_nd[STV_KIND_SCORE_N] = {0.0};
    return (struct stv_scores){.house_nd = house_nd, .kind_nd = kind_nd};
}

/* What a leaking cask loses beside its joints. */
static double drawn_leak_per_y(const struct stv_params *base,
                               const struct stv_cask_numbers *numbers,
                               const struct stv_house_draws *house, size_t draw_idx,
                               uint64_t cask_key)
{
    double share = numbers->spread_leaker_share_frac;
    double u = stv_draw_uniform_nd(house->seed, stv_key_of("leaker"), cask_key, draw_idx);
    if (u >= share)
        return 0.0;
    double total_per_y = numbers->spread_leaker_least_per_y -
                         numbers->spread_leaker_mean_extra_per_y * log1p(-u / share);
    return fmax(0.0, total_per_y - base->neutral_loss_per_y);
}

struct stv_scores stv_scores_drawn(const struct stv_params *base,
                                   const struct stv_cask_numbers *numbers,
                                   const struct stv_house_draws *house, size_t draw_idx,
                                   size_t kind_idx, uint64_t cask_key)
{
    struct stv_scores scores = stv_scores_middle();
    scores.house_nd = house->scores_nd + draw_idx * STV_SCORE_N;
    if (kind_idx != SIZE_MAX)
        scores.kind_nd =
            house->kinds_nd + (draw_idx * house->n_kinds + kind_idx) * STV_KIND_SCORE_N;
    if (cask_key == 0)
        return scores;
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++)
        scores.own_nd[s] =
            stv_draw_normal_nd(house->seed, stv_key_of(own_names[s]), cask_key, draw_idx);
    scores.leak_per_y = drawn_leak_per_y(base, numbers, house, draw_idx, cask_key);
    return scores;
}

double stv_air_factor_drawn_nd(const struct stv_cask_numbers *numbers, uint64_t seed,
                               uint64_t store_key, size_t draw_idx)
{
    return numbers->vapour_air_factor_nd *
           exp(numbers->spread_air_change_ln_nd *
               stv_draw_normal_nd(seed, stv_key_of("air change"), store_key, draw_idx));
}

/* Rank of a member among all when sorted by a keyed uniform: a shuffle without state. */
static size_t shuffled_rank(uint64_t seed, const char *name, size_t member_idx, size_t n_members)
{
    uint64_t key = stv_key_of(name);
    double own = stv_draw_uniform_nd(seed, key, member_idx, 0);
    size_t rank = 0;
    for (size_t m = 0; m < n_members; m++)
        rank += stv_draw_uniform_nd(seed, key, m, 0) < own;
    return rank;
}

double stv_draw_stratum_nd(uint64_t seed, const char *name, size_t member_idx, size_t n_members)
{
    size_t rank = shuffled_rank(seed, name, member_idx, n_members);
    return gsl_cdf_ugaussian_Pinv(((double)rank + 0.5) / (double)n_members);
}

size_t stv_draw_member(uint64_t seed, size_t draw_idx, size_t n_members)
{
    uint64_t key = stv_key_of("member of draw");
    size_t block = draw_idx / n_members;
    double own = stv_draw_uniform_nd(seed, key, block, draw_idx % n_members);
    size_t rank = 0;
    for (size_t i = 0; i < n_members; i++)
        rank += stv_draw_uniform_nd(seed, key, block, i) < own;
    return rank;
}

struct stv_climate_error stv_climate_error_weather(const struct stv_cask_numbers *numbers)
{
    return (struct stv_climate_error){numbers->spread_place_weather_k,
                                      numbers->spread_place_weather_rh_frac};
}

struct stv_climate_error stv_climate_error_logger(const struct stv_cask_numbers *numbers)
{
    return (struct stv_climate_error){numbers->spread_place_logger_k,
                                      numbers->spread_place_logger_rh_frac};
}

struct stv_climate_member stv_climate_member(uint64_t seed, size_t member_idx, size_t n_members,
                                             struct stv_climate_error error)
{
    return (struct stv_climate_member){
        .liquid_offset_k =
            error.liquid_k *
            stv_draw_stratum_nd(seed, member_names[STV_SCORE_LIQUID], member_idx, n_members),
        .humidity_offset_frac =
            error.rh_frac *
            stv_draw_stratum_nd(seed, member_names[STV_SCORE_HUMIDITY], member_idx, n_members),
    };
}
