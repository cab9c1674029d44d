/* A gauge that disagrees: evaporation, a leak, or a figure misread, with odds.
 *
 * Layer 7; pure; nothing here allocates. */
#ifndef STV_MODEL_GAUGE_VERDICT_H
#define STV_MODEL_GAUGE_VERDICT_H

#include "model/status.h"

#include <stdbool.h>

/* What is held likely before the gauge, and how large things are.  Source: judgement, all of it */
#define STV_LEAK_PRIOR_FRAC 0.05   /* of gauges: a leak since the last */
#define STV_LEAK_SEEN_FRAC 0.5     /* the same where one was stopped since, or later */
#define STV_LEAK_PER_Y_FRAC 0.05   /* of the cask: mean of what a leak takes a year, exponential */
#define STV_LEAK_LEAST_Y 0.25      /* a leak between gauges nearer than that counts as so long */
#define STV_LEAK_RUN_OUT_FRAC 0.1  /* of leaks: those that may take anything up to all */
#define STV_SWAP_PRIOR_FRAC 0.005  /* of figures: two neighbouring digits changed places */
#define STV_SLIP_PRIOR_FRAC 0.01   /* of figures: any other slip */
#define STV_SLIP_VOLUME_FRAC 0.15  /* of the cask: spread of such a slip in the litres */
#define STV_SLIP_STRENGTH_FRAC 0.1 /* and in the strength, as a fraction of volume */
#define STV_SLIP_ANY_FRAC 0.25     /* of such slips: those that may show any figure at all */

#define STV_LIKELIER_FRAC 0.5        /* above it one is likelier than all others together */
#define STV_GAUGE_LEAST_APART_Y 0.02 /* gauges nearer than that count as so far apart */

/* One figure as measured, and as written down. */
struct stv_gauge_figure {
    double value, error; /* L or fraction of volume at 20 C; NaN: not measured */
    /* The figure on paper, of which digits may have changed places (0: not known), and value per
     * unit of it thereabouts: 1 for litres, 0.01 for %vol. */
    double typed_nd, per_typed_nd;
    int n_decimals; /* written, 0..6 */
};

struct stv_gauge_change {
    double years_y;              /* since the last gauge or fill, above 0 */
    double cask_l;               /* the cask brimful */
    bool leak_was_stopped;       /* since then, before this gauge or after it */
    double loss_l, loss_error_l; /* to the air, as predicted */
    double rise_abv20_frac, rise_error_frac;
    /* Of the two errors: dry air takes litres and lifts strength; 0: not known. */
    double correlation_nd;
    struct stv_gauge_figure volume_then, strength_then, volume, strength;
};

struct stv_gauge_odds {
    double evaporation_frac, leak_frac, misread_frac; /* sum 1 */
    double excess_l, excess_error_l; /* lost beyond the prediction; NaN without litres */
    /* What was likely meant, as typed; NaN: no swap comes within three errors. */
    double swapped_volume_nd, swapped_strength_nd;
};

/* Weighs the three.
 *
 * change   then: figures taken as right; at least one of volume and strength measured at both ends
 * out      untouched unless OK
 *
 * Method:  Bayes.  Evaporation: what is missed of litres and strength is normal.  Leak: litres
 *          leave on top, strength is as it was.  Misread: one of the two figures is another one,
 *          either one of the same digits with two neighbours in each other's place, or any.
 * Laws:    evaporation never gains as the excess grows, a leak never loses against it
 * Errors:  STV_E_ARG      NULL, an error that is not above 0, years or cask not above 0, a
 *                         correlation outside -0.99..0.99
 *          STV_E_NO_DATA  neither figure measured at both ends
 * Assumes: the last gauge was right; no two of these at once */
STV_MUST_CHECK enum stv_status stv_gauge_verdict(const struct stv_gauge_change *change,
                                                 struct stv_gauge_odds *out);

#endif
