/* How much is in a cask by the depth of its liquid at the bung.
 *
 * Nothing here allocates. */
#ifndef STV_MODEL_DIP_H
#define STV_MODEL_DIP_H

#include "model/status.h"

/* Inner shape of a cask lying on its side, bung up. */
struct stv_cask_shape {
    double capacity_l;
    double bilge_m;   /* inner diameter at the bung */
    double head_frac; /* inner diameter at the heads over that at the bung */
};

/* Shape of a cask of a capacity.
 *
 * capacity_l   litres, 1..1000
 * bilge_m      inner diameter at the bung in m, 0.1..1.5, or NaN: of the usual proportions, 1.025 x
 * the cube root of the capacity in m3 (0.60 m for 200 L) out          all members NaN when the
 * status is not OK.
 *
 * Errors:  STV_E_DOMAIN  outside either range; STV_E_ARG out is NULL
 * Accuracy: usual proportions: makers differ by about 4 % in the diameter; assumed
 * Source:   common practice, no published source; from memory */
STV_MUST_CHECK enum stv_status stv_cask_shape(double capacity_l, double bilge_m,
                                              struct stv_cask_shape *out);

/* Litres under a wet depth, measured straight down from the bung's inner edge to where the rod
 * ends on the stave below, read at the liquid's mark.
 *
 * shape        from stv_cask_shape
 * wet_m        depth of the liquid at the bung, 0..bilge_m
 * out_l        litres, 0..capacity_l; NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  depth outside, or NaN; STV_E_ARG an argument is NULL
 * Accuracy: as tested: the closed form of a cylinder to 1e-6 when head_frac is 1; half the depth is
 *           half the litres.  A rod made for the kind of cask is better than this.
 * Source:   circle segments summed along a barrel whose diameter falls as the square of the
 * distance from the middle Assumes:  the cask lies level, bung up, and its diameter profile is
 * parabolic. */
STV_MUST_CHECK enum stv_status stv_dip_volume_l(const struct stv_cask_shape *shape, double wet_m,
                                                double *out_l);

#endif
