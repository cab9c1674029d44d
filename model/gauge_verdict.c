#include "model/gauge_verdict.h"

#include <gsl/gsl_math.h>
#include <gsl/gsl_sf_erf.h>
#include <math.h>
#include <stddef.h>

#define SWAPS_MOST 16
#define DECIMALS_MOST 6
/* Below the most likely, in ln: what lies within three standard deviations.  Judgement */
#define INSIDE_LN 4.5

/* What is missed: litres lost beyond the prediction, strength risen beyond it, and their normal
 * distribution when the air alone was at work. */
struct missed {
    bool has_volume, has_strength;
    double volume, strength;
    double volume_variance, strength_variance, covariance;
};

/* ln of a normal density. */
static double ln_normal(double off, double variance)
{
    return -0.5 * (off * off / variance + log(variance) + M_LNPI + M_LN2);
}

static double ln_below(double z)
{
    return gsl_sf_log_erfc(-z / M_SQRT2) - M_LN2;
}

static double ln_sum(double a, double b)
{
    double most = fmax(a, b);
    return isinf(most) ? most : most + log1p(exp(fmin(a, b) - most));
}

static double ln_strength(const struct missed *missed)
{
    return missed->has_strength ? ln_normal(missed->strength, missed->strength_variance) : 0.0;
}

/* Mean and variance of the litres once the strength is known. */
static double volume_given_strength(const struct missed *missed, double *out_variance)
{
    double slope = missed->has_strength ? missed->covariance / missed->strength_variance : 0.0;
    *out_variance = missed->volume_variance - slope * missed->covariance;
    return slope * missed->strength;
}

static double ln_evaporation(const struct missed *missed)
{
    double variance, mean = volume_given_strength(missed, &variance);
    double ln_volume = missed->has_volume ? ln_normal(missed->volume - mean, variance) : 0.0;
    return ln_strength(missed) + ln_volume;
}

/* The excess is the leak's litres and the normal miss: exponential or even, smeared. */
static double ln_leak(const struct stv_gauge_change *change, const struct missed *missed)
{
    if (!missed->has_volume) /* of strength a leak says nothing */
        return ln_strength(missed);
    double variance, mean = volume_given_strength(missed, &variance);
    double sd = sqrt(variance), excess = missed->volume - mean;
    double per_l =
        1.0 / (STV_LEAK_PER_Y_FRAC * change->cask_l * fmax(change->years_y, STV_LEAK_LEAST_Y));
    double all_l = change->volume_then.value;
    double ln_slow = log(per_l) + 0.5 * per_l * per_l * variance - per_l * excess +
                     ln_below(excess / sd - per_l * sd);
    double even = 0.5 * (erfc(-excess / sd / M_SQRT2) - erfc((all_l - excess) / sd / M_SQRT2));
    double ln_run_out = even > 0.0 ? log(even / all_l) : -HUGE_VAL;
    return ln_strength(missed) + ln_sum(log(1.0 - STV_LEAK_RUN_OUT_FRAC) + ln_slow,
                                        log(STV_LEAK_RUN_OUT_FRAC) + ln_run_out);
}

/* Figures made of the same digits with two neighbours in each other's place, the point where it
 * was.  Returns how many. */
static size_t swaps_of(const struct stv_gauge_figure *figure, double out[SWAPS_MOST])
{
    double scale = pow(10.0, figure->n_decimals);
    double digits = nearbyint(figure->typed_nd * scale);
    size_t n = 0;
    for (double place = 1.0; place * 10.0 <= digits && n < SWAPS_MOST; place *= 10.0) {
        double low = fmod(floor(digits / place), 10.0);
        double high = fmod(floor(digits / (place * 10.0)), 10.0);
        double swapped = digits + (low - high) * (place * 10.0 - place);
        if (low != high)
            out[n++] = swapped / scale;
    }
    return n;
}

/* What is missed if another figure was meant. */
static struct missed missed_if(const struct missed *missed, bool is_volume, double more)
{
    struct missed other = *missed;
    if (is_volume)
        other.volume -= more;
    else
        other.strength += more;
    return other;
}

/* ln of the most likely miss. */
static double ln_peak(const struct missed *missed)
{
    struct missed none = *missed;
    none.volume = none.strength = 0.0;
    return ln_evaporation(&none);
}

/* ln of any figure at all, as likely as any other, the other figure as the air made it. */
static double ln_any_figure(const struct stv_gauge_change *change, const struct missed *missed,
                            bool is_volume)
{
    struct missed other = *missed;
    *(is_volume ? &other.has_volume : &other.has_strength) = false;
    return ln_evaporation(&other) - (is_volume ? log(change->cask_l) : 0.0);
}

/* One figure swapped, or slipped anyhow; *out_meant: the swap that explains it best, NaN when none
 * comes near the prediction or the figure as written comes nearer. */
static double ln_misread(const struct stv_gauge_change *change, const struct missed *missed,
                         bool is_volume, double *out_meant)
{
    const struct stv_gauge_figure *figure = is_volume ? &change->volume : &change->strength;
    double swap[SWAPS_MOST], best = fmax(ln_evaporation(missed), ln_peak(missed) - INSIDE_LN);
    double slip = is_volume ? STV_SLIP_VOLUME_FRAC * change->cask_l : STV_SLIP_STRENGTH_FRAC;
    struct missed anyhow = *missed;
    *(is_volume ? &anyhow.volume_variance : &anyhow.strength_variance) += slip * slip;
    double ln_any = log(STV_SLIP_PRIOR_FRAC) +
                    ln_sum(log(1.0 - STV_SLIP_ANY_FRAC) + ln_evaporation(&anyhow),
                           log(STV_SLIP_ANY_FRAC) + ln_any_figure(change, missed, is_volume));
    size_t n = figure->typed_nd > 0.0 ? swaps_of(figure, swap) : 0;
    *out_meant = NAN;
    for (size_t i = 0; i < n; i++) {
        double more = (swap[i] - figure->typed_nd) * figure->per_typed_nd;
        struct missed meant = missed_if(missed, is_volume, more);
        double ln_meant = ln_evaporation(&meant);
        ln_any = ln_sum(ln_any, log(STV_SWAP_PRIOR_FRAC / (double)n) + ln_meant);
        if (ln_meant > best) {
            best = ln_meant;
            *out_meant = swap[i];
        }
    }
    return ln_any;
}

static bool is_measured(const struct stv_gauge_figure *then, const struct stv_gauge_figure *now)
{
    return isfinite(then->value) && isfinite(now->value);
}

static bool is_sound_figure(const struct stv_gauge_figure *figure)
{
    return !isfinite(figure->value) ||
           (figure->value > 0.0 && figure->error >= 0.0 && isfinite(figure->error) &&
            isfinite(figure->typed_nd) && isfinite(figure->per_typed_nd) &&
            figure->n_decimals >= 0 && figure->n_decimals <= DECIMALS_MOST);
}

static bool is_sound(const struct stv_gauge_change *change)
{
    return change->years_y > 0.0 && isfinite(change->years_y) && change->cask_l > 0.0 &&
           isfinite(change->cask_l) && isfinite(change->loss_l) && change->loss_error_l > 0.0 &&
           isfinite(change->loss_error_l) && isfinite(change->rise_abv20_frac) &&
           change->rise_error_frac > 0.0 && isfinite(change->rise_error_frac) &&
           fabs(change->correlation_nd) <= 0.99 && is_sound_figure(&change->volume_then) &&
           is_sound_figure(&change->strength_then) && is_sound_figure(&change->volume) &&
           is_sound_figure(&change->strength);
}

static double variance_of(double error, const struct stv_gauge_figure *then,
                          const struct stv_gauge_figure *now)
{
    return error * error + then->error * then->error + now->error * now->error;
}

static struct missed missed_of(const struct stv_gauge_change *change)
{
    const struct stv_gauge_figure *volume = &change->volume, *strength = &change->strength;
    struct missed missed = {.has_volume = is_measured(&change->volume_then, volume),
                            .has_strength = is_measured(&change->strength_then, strength)};
    if (missed.has_volume) {
        missed.volume = change->volume_then.value - volume->value - change->loss_l;
        missed.volume_variance = variance_of(change->loss_error_l, &change->volume_then, volume);
    }
    if (missed.has_strength) {
        missed.strength = strength->value - change->strength_then.value - change->rise_abv20_frac;
        missed.strength_variance =
            variance_of(change->rise_error_frac, &change->strength_then, strength);
    }
    missed.covariance = change->correlation_nd * change->loss_error_l * change->rise_error_frac;
    return missed;
}

enum stv_status stv_gauge_verdict(const struct stv_gauge_change *change, struct stv_gauge_odds *out)
{
    if (!change || !out || !is_sound(change))
        return STV_E_ARG;
    struct missed missed = missed_of(change);
    if (!missed.has_volume && !missed.has_strength)
        return STV_E_NO_DATA;
    double ln_air = ln_evaporation(&missed), ln_read = -HUGE_VAL;
    double leak_frac = change->leak_was_stopped ? STV_LEAK_SEEN_FRAC : STV_LEAK_PRIOR_FRAC;
    double left = 1.0 - STV_LEAK_PRIOR_FRAC;
    struct stv_gauge_odds odds = {.excess_l = NAN,
                                  .excess_error_l = NAN,
                                  .swapped_volume_nd = NAN,
                                  .swapped_strength_nd = NAN};
    if (missed.has_volume) {
        odds.excess_l = missed.volume;
        odds.excess_error_l = sqrt(missed.volume_variance);
    }
    for (int is_volume = 0; is_volume < 2; is_volume++) {
        if (!(is_volume ? missed.has_volume : missed.has_strength))
            continue;
        double *meant = is_volume ? &odds.swapped_volume_nd : &odds.swapped_strength_nd;
        ln_read = ln_sum(ln_read, ln_misread(change, &missed, is_volume, meant));
        left -= STV_SWAP_PRIOR_FRAC + STV_SLIP_PRIOR_FRAC;
    }
    /* The others share what a leak leaves as they ever do. */
    double ln_others = log((1.0 - leak_frac) / (1.0 - STV_LEAK_PRIOR_FRAC));
    double ln_gone = log(leak_frac) + ln_leak(change, &missed);
    ln_air += log(left) + ln_others;
    ln_read += ln_others;
    double ln_all = ln_sum(ln_air, ln_sum(ln_gone, ln_read));
    odds.evaporation_frac = exp(ln_air - ln_all);
    odds.leak_frac = exp(ln_gone - ln_all);
    odds.misread_frac = exp(ln_read - ln_all);
    *out = odds;
    return STV_OK;
}
