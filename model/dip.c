/* Along the cask, from the middle (s = 0) to a head (s = 1), the radius is
 * r(s) = R [1 - (1 - h) s^2]; the liquid's level is one height everywhere, so each slice holds the
 * segment of its circle below that level.  Litres are the capacity times the share of the slices'
 * area.  Tilt, bent staves and the thickness of the rod are left out. */
#include "model/dip.h"

#include <math.h>

#define PI 3.14159265358979323846
#define LEAST_CAPACITY_L 1.0
#define MOST_CAPACITY_L 1000.0
#define LEAST_BILGE_M 0.1
#define MOST_BILGE_M 1.5

/* Usual proportions: common practice, no published source. */
#define USUAL_BILGE_ND 1.025
#define USUAL_HEAD_FRAC 0.86

/* Simpson's rule; even.  The segment's area has a bend where a slice runs full or dry, so that many
 * slices are better than a high order. */
#define N_SLICES 400

enum stv_status stv_cask_shape(double capacity_l, double bilge_m, struct stv_cask_shape *out)
{
    if (!out)
        return STV_E_ARG;
    *out = (struct stv_cask_shape){NAN, NAN, NAN};
    if (!(capacity_l >= LEAST_CAPACITY_L && capacity_l <= MOST_CAPACITY_L))
        return STV_E_DOMAIN;
    if (isnan(bilge_m))
        bilge_m = USUAL_BILGE_ND * cbrt(capacity_l / 1000.0);
    else if (!(bilge_m >= LEAST_BILGE_M && bilge_m <= MOST_BILGE_M))
        return STV_E_DOMAIN;
    *out = (struct stv_cask_shape){capacity_l, bilge_m, USUAL_HEAD_FRAC};
    return STV_OK;
}

/* Area of a circle of a radius below a level, measured from its centre upwards. */
static double segment_m2(double radius_m, double level_m)
{
    if (level_m >= radius_m)
        return PI * radius_m * radius_m;
    if (level_m <= -radius_m)
        return 0.0;
    double chord_m = sqrt(radius_m * radius_m - level_m * level_m);
    return radius_m * radius_m * (0.5 * PI + asin(level_m / radius_m)) + level_m * chord_m;
}

enum stv_status stv_dip_volume_l(const struct stv_cask_shape *shape, double wet_m, double *out_l)
{
    if (!shape || !out_l)
        return STV_E_ARG;
    *out_l = NAN;
    if (!(wet_m >= 0.0 && wet_m <= shape->bilge_m))
        return STV_E_DOMAIN;
    double level_m = wet_m - 0.5 * shape->bilge_m, wet = 0.0, whole = 0.0;
    for (int i = 0; i <= N_SLICES; i++) {
        double along = (double)i / N_SLICES;
        double radius_m = 0.5 * shape->bilge_m * (1.0 - (1.0 - shape->head_frac) * along * along);
        double weight = i == 0 || i == N_SLICES ? 1.0 : (i % 2 ? 4.0 : 2.0);
        wet += weight * segment_m2(radius_m, level_m);
        whole += weight * radius_m * radius_m;
    }
    *out_l = shape->capacity_l * wet / (PI * whole);
    return STV_OK;
}
