/* An invented house for the fit of gauges: casks of two kinds that lose litres exponentially, rise
 * in strength in a straight line and take wood ever more slowly. */
#ifndef STV_TESTS_FIT_HOUSE_H
#define STV_TESTS_FIT_HOUSE_H

#include "tests/check.h"

#include "model/draws.h"
#include "model/gauge_fit.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_errno.h>
#include <stdlib.h>
#include <string.h>

#define HOUSE_TOP 5 /* loss of the house and of two kinds, rise of strength, wood */
#define HOUSE_OWN 3 /* loss, rise of strength, wood */
#define HOUSE_CASKS_MOST 40
#define HOUSE_MOMENTS 3
#define HOUSE_OBSERVATIONS_MOST (HOUSE_CASKS_MOST * HOUSE_MOMENTS * STV_FIT_KINDS)
#define HOUSE_FILL_L 195.0
#define HOUSE_SHARED (HOUSE_TOP + STV_FIT_THRESHOLDS + 4) /* two scales */
#define BY_ALL 0x3fu

struct house {
    size_t n_casks, kinds[HOUSE_CASKS_MOST], n_moments[HOUSE_CASKS_MOST];
    struct stv_fit_tare tares[HOUSE_CASKS_MOST];
    struct stv_fit_scale scales[2];
    struct stv_fit_observation observations[HOUSE_OBSERVATIONS_MOST];
    size_t n_observations;
    double furthest_nd; /* no score beyond can be told */
    double wrong_nd;    /* factor on all derivatives */
};

static const double house_years_y[HOUSE_MOMENTS] = {0.7, 1.8, 3.1};

static inline void house_moment(const struct house *house, size_t cask_idx, double years_y,
                                const double *top, const double *own, struct stv_fit_moment *out)
{
    size_t kind = 1 + house->kinds[cask_idx];
    double loss = 0.02 * exp(0.4 * top[0] + 0.3 * top[kind] + 0.3 * own[0]);
    double volume = HOUSE_FILL_L * exp(-loss * years_y);
    double by_loss = -loss * years_y * volume;
    double abv = 0.62 + 0.004 * years_y * (0.5 + top[3] + 0.5 * own[1]);
    double kg_per_l = 0.95 - 0.15 * abv;
    memset(out, 0, sizeof *out);
    out->value[STV_FIT_VOLUME20_L] = volume;
    out->by_top_nd[STV_FIT_VOLUME20_L][0] = 0.4 * by_loss;
    out->by_top_nd[STV_FIT_VOLUME20_L][kind] = 0.3 * by_loss;
    out->by_own_nd[STV_FIT_VOLUME20_L][0] = 0.3 * by_loss;
    out->value[STV_FIT_ABV20_FRAC] = abv;
    out->by_top_nd[STV_FIT_ABV20_FRAC][3] = 0.004 * years_y;
    out->by_own_nd[STV_FIT_ABV20_FRAC][1] = 0.002 * years_y;
    out->value[STV_FIT_LIQUID_KG] = volume * kg_per_l;
    for (size_t i = 0; i < HOUSE_TOP; i++)
        out->by_top_nd[STV_FIT_LIQUID_KG][i] =
            kg_per_l * out->by_top_nd[STV_FIT_VOLUME20_L][i] -
            0.15 * volume * out->by_top_nd[STV_FIT_ABV20_FRAC][i];
    for (size_t i = 0; i < HOUSE_OWN; i++)
        out->by_own_nd[STV_FIT_LIQUID_KG][i] =
            kg_per_l * out->by_own_nd[STV_FIT_VOLUME20_L][i] -
            0.15 * volume * out->by_own_nd[STV_FIT_ABV20_FRAC][i];
    out->value[STV_FIT_LN_WOOD] =
        log(2.0 * (1.0 - exp(-years_y / 3.0))) + 0.35 * top[4] + 0.26 * own[2];
    out->by_top_nd[STV_FIT_LN_WOOD][4] = 0.35;
    out->by_own_nd[STV_FIT_LN_WOOD][2] = 0.26;
}

static inline enum stv_status house_predict(void *context, size_t cask_idx, const double *top,
                                            const double *own, struct stv_fit_moment *out)
{
    const struct house *house = context;
    for (size_t i = 0; i < HOUSE_TOP && house->furthest_nd > 0.0; i++)
        if (fabs(top[i]) > house->furthest_nd)
            return STV_E_DOMAIN;
    for (size_t m = 0; m < house->n_moments[cask_idx]; m++) {
        house_moment(house, cask_idx, house_years_y[m], top, own, &out[m]);
        for (size_t q = 0; q < STV_FIT_QUANTITIES; q++) {
            for (size_t i = 0; i < HOUSE_TOP; i++)
                out[m].by_top_nd[q][i] *= house->wrong_nd;
            for (size_t i = 0; i < HOUSE_OWN; i++)
                out[m].by_own_nd[q][i] *= house->wrong_nd;
        }
    }
    return STV_OK;
}

static inline struct stv_fit_problem house_problem(struct house *house)
{
    return (struct stv_fit_problem){
        .n_top = HOUSE_TOP,
        .n_own = HOUSE_OWN,
        .n_casks = house->n_casks,
        .n_scales = 2,
        .n_observations = house->n_observations,
        .n_moments = house->n_moments,
        .tares = house->tares,
        .scales = house->scales,
        .ready = {{-0.65, -0.36, 0.26}, 0.3},
        .observations = house->observations,
        .predict = house_predict,
        .context = house,
    };
}

static inline double house_normal(uint64_t seed, const char *what, size_t idx)
{
    return stv_draw_normal_nd(seed, stv_key_of(what), idx, 0);
}

/* Truth of a seeded house: all scores as the fit orders them. */
struct house_truth {
    double shared[HOUSE_SHARED];
    double block[HOUSE_CASKS_MOST][HOUSE_OWN + 1];
};

static inline struct house_truth house_truth(uint64_t seed)
{
    struct house_truth truth;
    for (size_t i = 0; i < HOUSE_SHARED; i++)
        truth.shared[i] = house_normal(seed, "shared", i);
    for (size_t c = 0; c < HOUSE_CASKS_MOST; c++)
        for (size_t i = 0; i <= HOUSE_OWN; i++)
            truth.block[c][i] = house_normal(seed, "block", c * (HOUSE_OWN + 1) + i);
    return truth;
}

static inline struct house house_new(size_t n_casks)
{
    struct house house = {
        .n_casks = n_casks, .scales = {stv_fit_card(12), stv_fit_points()}, .wrong_nd = 1.0};
    for (size_t c = 0; c < n_casks; c++) {
        house.kinds[c] = c % 2;
        house.n_moments[c] = HOUSE_MOMENTS;
        house.tares[c] = stv_fit_tare_of(c % 3, 45.0);
    }
    return house;
}

static const double house_errors[STV_FIT_KINDS] = {
    1.0, 0.002, 0.6, 0.4, STV_FIT_NOSE_ERROR_LN, STV_FIT_NOSE_ERROR_LN};

/* Measures a kind on a cask as truth and chance have it. */
static inline void house_measure(struct house *house, const struct house_truth *truth,
                                 enum stv_fit_kind kind, size_t cask_idx, size_t moment_idx)
{
    struct stv_fit_problem problem = house_problem(house);
    struct stv_fit_moment moment;
    size_t idx = house->n_observations++;
    double noise = house_errors[kind] * stv_draw_normal_nd((uint64_t)(1e6 * fabs(truth->shared[0])),
                                                           (uint64_t)kind, cask_idx, moment_idx);
    struct stv_fit_observation *seen = &house->observations[idx];
    house_moment(house, cask_idx, house_years_y[moment_idx], truth->shared, truth->block[cask_idx],
                 &moment);
    *seen = (struct stv_fit_observation){.cask_idx = cask_idx,
                                         .moment_idx = moment_idx,
                                         .kind = kind,
                                         .error = house_errors[kind],
                                         .scale_idx = cask_idx % 2,
                                         .day_d = (int64_t)(365.0 * house_years_y[moment_idx])};
    double wood_ln = moment.value[STV_FIT_LN_WOOD], threshold_ln[STV_FIT_THRESHOLDS];
    const struct stv_fit_scale *scale = &house->scales[seen->scale_idx];
    const double *of_scale = truth->shared + HOUSE_TOP + STV_FIT_THRESHOLDS + 2 * seen->scale_idx;
    const struct stv_fit_tare *tare = &house->tares[cask_idx];
    stv_fit_thresholds(&problem, truth->shared, threshold_ln);
    switch (kind) {
    case STV_FIT_READING:
        seen->value =
            scale->middle_nd +
            (wood_ln + noise - scale->wood_ln_nd - scale->wood_spread_ln_nd * of_scale[0]) /
                (scale->step_ln_nd * (1.0 + scale->step_spread_frac * of_scale[1]));
        break;
    case STV_FIT_VERDICT:
        for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++)
            seen->value += wood_ln + noise > threshold_ln[k];
        break;
    case STV_FIT_GROSS:
        seen->value = noise + moment.value[STV_FIT_LIQUID_KG] + tare->tare_kg +
                      tare->error_kg * truth->block[cask_idx][HOUSE_OWN];
        break;
    default:
        seen->value = noise + moment.value[kind];
    }
}

/* A seeded house with every kind of observation asked for by a bit. */
static inline struct stv_fit_problem house_measured(struct house *house, uint64_t seed,
                                                    size_t n_casks, unsigned kinds)
{
    struct house_truth truth = house_truth(seed);
    *house = house_new(n_casks);
    for (size_t c = 0; c < n_casks; c++)
        for (size_t m = 0; m < HOUSE_MOMENTS; m++)
            for (int kind = 0; kind < STV_FIT_KINDS; kind++)
                if (kinds >> kind & 1u)
                    house_measure(house, &truth, (enum stv_fit_kind)kind, c, m);
    return house_problem(house);
}

#define N_ALL_MOST 120

/* Everything in one vector: shared scores, then the casks' blocks. */
struct dense {
    size_t n;
    double mean[N_ALL_MOST], covariance[N_ALL_MOST * N_ALL_MOST];
};

static inline struct dense dense_of(const struct stv_fit *fit)
{
    struct dense all = {.n = fit->n_shared + fit->n_casks * fit->n_block};
    double chol[N_ALL_MOST * N_ALL_MOST] = {0};
    size_t ns = fit->n_shared, nb = fit->n_block;
    assert_true(all.n <= N_ALL_MOST);
    memcpy(all.mean, fit->shared_nd, ns * sizeof(double));
    memcpy(all.mean + ns, fit->block_nd, fit->n_casks * nb * sizeof(double));
    for (size_t i = 0; i < ns; i++)
        memcpy(chol + i * all.n, fit->shared_chol_nd + i * ns, ns * sizeof(double));
    for (size_t i = 0; i < fit->n_casks * nb; i++) {
        double *row = chol + (ns + i) * all.n;
        for (size_t j = 0; j < ns; j++)
            for (size_t k = 0; k < ns; k++)
                row[j] += fit->by_shared_nd[i * ns + k] * fit->shared_chol_nd[k * ns + j];
        memcpy(row + ns + i / nb * nb, fit->block_chol_nd + i * nb, nb * sizeof(double));
    }
    gsl_matrix_view factor = gsl_matrix_view_array(chol, all.n, all.n);
    gsl_matrix_view covariance = gsl_matrix_view_array(all.covariance, all.n, all.n);
    gsl_blas_dgemm(CblasNoTrans, CblasTrans, 1.0, &factor.matrix, &factor.matrix, 0.0,
                   &covariance.matrix);
    return all;
}

#endif
