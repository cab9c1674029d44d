/* What each kind of observation should find, and what it then adds to the sum of squares. */
#include "model/gauge_fit_parts.h"

#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_erf.h>
#include <math.h>
#include <string.h>

/* Spread of the gaps between thresholds, in ln.  Source: judgement */
#define GAP_SPREAD_LN 0.4
/* Curvature below which a bound of a verdict says nothing. */
#define NO_CURVATURE 1e-200

#define TARE_SOAK_KG 4.5 /* Source: see stv_fit_tare_of */
#define TARE_DRY_ERROR_KG 1.5
#define TARE_WET_ERROR_KG 1.0
#define TARE_UNKNOWN_ERROR_KG 50.0

#define CARD_LEAST_WOOD 0.1 /* Source: see stv_fit_card */
#define CARD_MOST_WOOD 2.0
#define POINTS_MIDDLE 5.0
#define POINTS_MIDDLE_WOOD 0.7
#define POINTS_LATE 8.0
#define POINTS_LATE_WOOD 1.3
#define SCALE_WOOD_SPREAD_LN 0.7
#define SCALE_STEP_SPREAD_FRAC 0.35

struct stv_fit_tare stv_fit_tare_of(enum stv_tare_kind kind, double told_kg)
{
    switch (kind) {
    case STV_FIT_TARE_DRY:
        return (struct stv_fit_tare){told_kg + TARE_SOAK_KG, TARE_DRY_ERROR_KG};
    case STV_FIT_TARE_WET:
        return (struct stv_fit_tare){told_kg, TARE_WET_ERROR_KG};
    case STV_FIT_TARE_UNKNOWN:
        break;
    }
    return (struct stv_fit_tare){told_kg, TARE_UNKNOWN_ERROR_KG};
}

struct stv_fit_scale stv_fit_card(size_t n_steps)
{
    double steps = (double)n_steps;
    return (struct stv_fit_scale){
        .middle_nd = 0.5 * (steps + 1.0),
        .wood_ln_nd = 0.5 * log(CARD_LEAST_WOOD * CARD_MOST_WOOD),
        .wood_spread_ln_nd = SCALE_WOOD_SPREAD_LN,
        .step_ln_nd = log(CARD_MOST_WOOD / CARD_LEAST_WOOD) / (steps - 1.0),
        .step_spread_frac = SCALE_STEP_SPREAD_FRAC,
    };
}

struct stv_fit_scale stv_fit_points(void)
{
    return (struct stv_fit_scale){
        .middle_nd = POINTS_MIDDLE,
        .wood_ln_nd = log(POINTS_MIDDLE_WOOD),
        .wood_spread_ln_nd = SCALE_WOOD_SPREAD_LN,
        .step_ln_nd = log(POINTS_LATE_WOOD / POINTS_MIDDLE_WOOD) / (POINTS_LATE - POINTS_MIDDLE),
        .step_spread_frac = SCALE_STEP_SPREAD_FRAC,
    };
}

size_t stv__fit_n_shared(const struct stv_fit_problem *problem)
{
    return problem->n_top + STV_FIT_THRESHOLDS + 2 * problem->n_scales;
}

/* The gaps are told by their logarithms, so that no score brings thresholds out of order. */
void stv_fit_thresholds(const struct stv_fit_problem *problem, const double *shared_nd,
                        double out_ln_nd[STV_FIT_THRESHOLDS])
{
    const double *prior = problem->ready.threshold_ln_nd, *score = shared_nd + problem->n_top;
    out_ln_nd[1] = prior[1] + problem->ready.error_ln_nd * score[1];
    out_ln_nd[0] = out_ln_nd[1] - (prior[1] - prior[0]) * exp(GAP_SPREAD_LN * score[0]);
    out_ln_nd[2] = out_ln_nd[1] + (prior[2] - prior[1]) * exp(GAP_SPREAD_LN * score[2]);
}

static void tell_quantity(const struct stv_fit_problem *problem,
                          const struct stv_fit_moment *moment, int quantity,
                          struct stv__fit_told *out)
{
    memset(out, 0, sizeof *out);
    out->value = moment->value[quantity];
    memcpy(out->by_shared_nd, moment->by_top_nd[quantity], problem->n_top * sizeof(double));
    memcpy(out->by_block_nd, moment->by_own_nd[quantity], problem->n_own * sizeof(double));
}

static void tell_verdict(const struct stv_fit_problem *problem, const double *shared_nd,
                         struct stv__fit_told out[STV_FIT_THRESHOLDS])
{
    double threshold_ln[STV_FIT_THRESHOLDS];
    stv_fit_thresholds(problem, shared_nd, threshold_ln);
    out[1] = out[2] = out[0];
    for (size_t k = 0; k < STV_FIT_THRESHOLDS; k++) {
        double *by_score = out[k].by_shared_nd + problem->n_top;
        out[k].value -= threshold_ln[k];
        by_score[1] = -problem->ready.error_ln_nd;
        if (k != 1)
            by_score[k] = -GAP_SPREAD_LN * (threshold_ln[k] - threshold_ln[1]);
    }
}

double stv__fit_step_ln_nd(const struct stv_fit_problem *problem, size_t scale_idx,
                           const double *shared_nd)
{
    const struct stv_fit_scale *scale = &problem->scales[scale_idx];
    size_t idx = problem->n_top + STV_FIT_THRESHOLDS + 2 * scale_idx + 1;
    return scale->step_ln_nd * (1.0 + scale->step_spread_frac * shared_nd[idx]);
}

/* In ln of wood all is straight in the scores: told in readings, the product of the step's score
 * and a cask's would draw the step away from the truth. */
static void tell_reading(const struct stv_fit_problem *problem,
                         const struct stv_fit_observation *observation, const double *shared_nd,
                         struct stv__fit_told out[STV_FIT_THRESHOLDS])
{
    const struct stv_fit_scale *scale = &problem->scales[observation->scale_idx];
    size_t idx = problem->n_top + STV_FIT_THRESHOLDS + 2 * observation->scale_idx;
    double step_ln = stv__fit_step_ln_nd(problem, observation->scale_idx, shared_nd);
    double from_middle = observation->value - scale->middle_nd;
    double by_score_ln = scale->step_ln_nd * scale->step_spread_frac;
    out->value -= scale->wood_ln_nd + scale->wood_spread_ln_nd * shared_nd[idx];
    out->value -= step_ln * from_middle;
    out->by_shared_nd[idx] = -scale->wood_spread_ln_nd;
    out->by_shared_nd[idx + 1] = -by_score_ln * from_middle;
    memset(&out[1], 0, sizeof out[1]);
    out[1].value = log(step_ln);
    out[1].by_shared_nd[idx + 1] = by_score_ln / step_ln;
}

size_t stv__fit_tell(const struct stv_fit_problem *problem,
                     const struct stv_fit_observation *observation,
                     const struct stv_fit_moment *moment, struct stv__fit_point point,
                     struct stv__fit_told out[STV_FIT_THRESHOLDS])
{
    const struct stv_fit_tare *tare = &problem->tares[observation->cask_idx];
    static const int quantity_of[STV_FIT_KINDS] = {
        [STV_FIT_VOLUME] = STV_FIT_VOLUME20_L, [STV_FIT_STRENGTH] = STV_FIT_ABV20_FRAC,
        [STV_FIT_LIQUID] = STV_FIT_LIQUID_KG,  [STV_FIT_GROSS] = STV_FIT_LIQUID_KG,
        [STV_FIT_READING] = STV_FIT_LN_WOOD,   [STV_FIT_VERDICT] = STV_FIT_LN_WOOD};
    tell_quantity(problem, moment, quantity_of[observation->kind], out);
    if (observation->kind == STV_FIT_VERDICT) {
        tell_verdict(problem, point.shared_nd, out);
        return STV_FIT_THRESHOLDS;
    }
    if (observation->kind == STV_FIT_READING) {
        tell_reading(problem, observation, point.shared_nd, out);
        return 2;
    }
    if (observation->kind == STV_FIT_GROSS) {
        out->value += tare->tare_kg + tare->error_kg * point.block_nd[problem->n_own];
        out->by_block_nd[problem->n_own] = tare->error_kg;
    }
    return 1;
}

double stv__fit_error_nd(const struct stv_fit_observation *observation)
{
    if (observation->kind == STV_FIT_STRENGTH && observation->is_unmixed)
        return hypot(observation->error, STV_FIT_UNMIXED_ERROR_FRAC);
    return observation->error;
}

/* ln of the normal distribution function, at any distance. */
static double ln_below(double z)
{
    return gsl_sf_log_erfc(-z / M_SQRT2) - M_LN2;
}

static double ln_between(double low, double high)
{
    if (isinf(low))
        return ln_below(high);
    if (isinf(high))
        return ln_below(-low);
    if (low > 0.0) /* by the smaller tail, which keeps its digits */
        return ln_between(-high, -low);
    double ln_high = ln_below(high);
    return ln_high + log1p(-exp(ln_below(low) - ln_high));
}

static double ratio_at(double z, double ln_chance)
{
    return isinf(z) ? 0.0 : exp(-0.5 * z * z - M_LNPI / 2.0 - M_LN2 / 2.0 - ln_chance);
}

/* out = a first + b second, over all scores. */
static void combine(const struct stv__fit_told *first, double a, const struct stv__fit_told *second,
                    double b, struct stv__fit_told *out)
{
    for (size_t i = 0; i < STV__FIT_SHARED_MOST; i++)
        out->by_shared_nd[i] = a * first->by_shared_nd[i] + b * second->by_shared_nd[i];
    for (size_t i = 0; i < STV__FIT_BLOCK_MOST; i++)
        out->by_block_nd[i] = a * first->by_block_nd[i] + b * second->by_block_nd[i];
}

/* Minus the log of the chance to lie between two bounds is convex in both, so its curvature has a
 * Cholesky factor, whose rows are rows of least squares. */
static size_t verdict_rows(const struct stv_fit_observation *observation,
                           const struct stv__fit_told told[STV_FIT_THRESHOLDS],
                           struct stv__fit_told out[STV__FIT_ROWS_MOST], double *cost_nd)
{
    size_t verdict = (size_t)observation->value, n = 0;
    const struct stv__fit_told *below = &told[verdict > 0 ? verdict - 1 : 0];
    const struct stv__fit_told *above =
        &told[verdict < STV_FIT_THRESHOLDS ? verdict : STV_FIT_THRESHOLDS - 1];
    double per_ln = -1.0 / observation->error;
    double low = verdict > 0 ? per_ln * below->value : -HUGE_VAL;
    double high = verdict < STV_FIT_THRESHOLDS ? per_ln * above->value : HUGE_VAL;
    double ln_chance = ln_between(low, high);
    double at_low = ratio_at(low, ln_chance), at_high = ratio_at(high, ln_chance);
    double low_low = at_low > 0.0 ? at_low * (at_low - low) : 0.0;
    double high_high = at_high > 0.0 ? at_high * (at_high + high) : 0.0;
    double shift = 0.0, left = 0.0;
    *cost_nd -= ln_chance;
    if (low_low > NO_CURVATURE) {
        double root = sqrt(low_low);
        shift = -at_low * at_high / root;
        left = at_low / root;
        combine(below, root * per_ln, above, shift * per_ln, &out[n]);
        out[n++].value = left;
    }
    double rest = high_high - shift * shift;
    if (rest > NO_CURVATURE) {
        double root = sqrt(rest);
        combine(above, root * per_ln, above, 0.0, &out[n]);
        out[n++].value = (-at_high - shift * left) / root;
    }
    return n;
}

size_t stv__fit_rows(const struct stv_fit_observation *observation,
                     const struct stv__fit_told told[STV_FIT_THRESHOLDS],
                     struct stv__fit_told out[STV__FIT_ROWS_MOST], double *cost_nd)
{
    if (observation->kind == STV_FIT_VERDICT)
        return verdict_rows(observation, told, out, cost_nd);
    double per_error = 1.0 / stv__fit_error_nd(observation);
    bool is_reading = observation->kind == STV_FIT_READING;
    combine(told, per_error, told, 0.0, out);
    out->value = (is_reading ? told->value : told->value - observation->value) * per_error;
    *cost_nd += 0.5 * out->value * out->value;
    if (!is_reading)
        return 1;
    /* An error of ln of wood is wider on readings where the step is small: their density is the
     * normal one times the step, whose ln has slope 1 and curvature 1 in itself. */
    out[1] = told[1];
    out[1].value = -1.0;
    *cost_nd -= told[1].value;
    return 2;
}
