#include "model/gauge_agree.h"

#include <math.h>

#define AGREE_SDS 2.0
#define AGREE_FRAC 0.003 /* of volume; beside the glasses' own errors */
#define AGREE_L 1.5
#define ALIKE_D 183.0
#define FAR_TIMES 2.0 /* a miss this many times what agrees is none of the air's */

/* How far a figure lies from what was told of it, and how near is near. */
struct off {
    double miss, near;
};

static struct off strength_off(const struct stv_gauge_change *change)
{
    double told_frac = change->strength_then.value + change->rise_abv20_frac;
    return (struct off){change->strength.value - told_frac,
                        AGREE_SDS * change->strength.error + AGREE_FRAC};
}

static struct off volume_off(const struct stv_cask_verdict *verdict)
{
    return (struct off){-verdict->odds.excess_l,
                        AGREE_SDS * verdict->change.volume.error + AGREE_L};
}

static bool is_known(struct off a, struct off b)
{
    return isfinite(a.miss) && isfinite(b.miss);
}

static bool agree_far_off(struct off a, struct off b)
{
    double near = fmax(a.near, b.near);
    return fabs(a.miss - b.miss) <= near && fabs(a.miss) > FAR_TIMES * near &&
           fabs(b.miss) > FAR_TIMES * near;
}

/* By strength where both have one: litres that fall short alike are a leak's. */
static bool bears_out(const struct stv_cask_verdict *a, const struct stv_cask_verdict *b)
{
    struct off sa = strength_off(&a->change), sb = strength_off(&b->change);
    struct off va = volume_off(a), vb = volume_off(b);
    if (is_known(sa, sb))
        return agree_far_off(sa, sb);
    return is_known(va, vb) && va.miss > 0.0 && vb.miss > 0.0 && agree_far_off(va, vb);
}

static bool is_misread(const struct stv_cask_verdict *verdict)
{
    return verdict->odds.misread_frac > STV_LIKELIER_FRAC &&
           isnan(verdict->odds.swapped_volume_nd) && isnan(verdict->odds.swapped_strength_nd);
}

/* Read alike within half a year.  What was told of a gauge that the fit took as right is drawn
 * towards it, so the glasses alone are compared. */
static bool reads_alike(const struct stv_cask_verdict *a, const struct stv_cask_verdict *b)
{
    const struct stv_gauge_figure *x = &a->change.strength, *y = &b->change.strength;
    return fabs((double)(a->day_d - b->day_d)) <= ALIKE_D &&
           fabs(x->value - y->value) <= AGREE_SDS * fmax(x->error, y->error) + AGREE_FRAC;
}

void stv__mark_agreeing(struct stv_cask_verdict *verdicts, size_t n)
{
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < n && is_misread(&verdicts[a]); b++)
            if (b != a && verdicts[b].since_day_d == verdicts[a].since_day_d &&
                bears_out(&verdicts[a], &verdicts[b]))
                verdicts[a].agrees = verdicts[b].agrees = true;
    for (size_t a = 0; a < n; a++)
        for (size_t b = 0; b < n && verdicts[a].agrees; b++)
            verdicts[b].agrees =
                verdicts[b].agrees || (verdicts[b].since_day_d == verdicts[a].since_day_d &&
                                       reads_alike(&verdicts[a], &verdicts[b]));
}
