/* A pane is described by two numbers that its maker prints: transmittance and reflectance of sun
 * straight on.  They give the refraction and the absorption of the glass, and those give any angle:
 *
 *   pane   tau = a (1-r)^2/(1 - r^2 a^2),  rho = r (1 + a tau),  a = a0^(1/cos theta')
 *   two    T = tau^2/(1 - rho^2),  A_out = alpha (1 + rho tau/(1 - rho^2)),  A_in = alpha tau/(1 -
 * rho^2)
 *
 * with r the reflectance of one face for one polarisation and alpha = 1 - tau - rho.  Frames, dirt
 * and coatings that act on one face alone are left out. */
#include "model/glazing.h"

#include "model/units.h"

#include <math.h>
#include <stdbool.h>

#define BISECTIONS 60
#define DIFFUSE_RINGS 90 /* of a degree */
/* Source: conductivity of air at 10 C, 0.0249 W/mK (from memory); gaps of the usual width do not
 * turn over (ISO 10292, from memory). */
#define AIR_W_MK 0.0249

static const double half_turn_rad = 3.14159265358979323846;

struct stv_glazing stv_glazing_default(void)
{
    return (struct stv_glazing){.n_panes = 2,
                                .transmittance_frac = 0.834,
                                .reflectance_frac = 0.075,
                                .gap_m = 0.012,
                                .emittance_frac = 0.84};
}

static bool within(double value, double least, double most)
{
    return value >= least && value <= most; /* false for NaN */
}

const char *stv_glazing_fault(const struct stv_glazing *glazing)
{
    if (!glazing || glazing->n_panes < 1 || glazing->n_panes > STV_PANES_MAX)
        return "a window has one or two panes";
    if (!within(glazing->transmittance_frac, 0.01, 0.95) ||
        !within(glazing->reflectance_frac, 0.01, 0.4) ||
        glazing->transmittance_frac + glazing->reflectance_frac > 1.0)
        return "a pane lets 0.01 to 0.95 of the sun through and throws 0.01 to 0.4 of it back, "
               "together at most all";
    if (glazing->n_panes == 2 && !within(glazing->gap_m, 0.002, 0.1))
        return "the gap between two panes must lie between 2 and 100 mm";
    if (!within(glazing->emittance_frac, 0.02, 1.0))
        return "the emittance of glass must lie between 0.02 and 1";
    return NULL;
}

struct pane {
    double through_frac, back_frac;
};

static struct pane pane_of(double face_frac, double left_frac)
{
    double through = left_frac * (1.0 - face_frac) * (1.0 - face_frac) /
                     (1.0 - face_frac * face_frac * left_frac * left_frac);
    return (struct pane){through, face_frac * (1.0 + left_frac * through)};
}

/* Reflectance of one face from those of a whole pane, by halving: the more a face throws back of
 * what the pane does, the more the glass must absorb. */
static double face_reflectance(const struct stv_glazing *glazing)
{
    double through = glazing->transmittance_frac, back = glazing->reflectance_frac;
    double low = back / (1.0 + through), high = back;
    for (int i = 0; i < BISECTIONS; i++) {
        double face = 0.5 * (low + high);
        bool is_clear = pane_of(face, (back / face - 1.0) / through).through_frac > through;
        *(is_clear ? &low : &high) = face;
    }
    return 0.5 * (low + high);
}

static struct stv_glass_sun panes_of(struct pane pane, size_t n_panes)
{
    double kept = 1.0 - pane.through_frac - pane.back_frac;
    if (n_panes == 1)
        return (struct stv_glass_sun){pane.through_frac, {kept, 0.0}};
    double again = 1.0 / (1.0 - pane.back_frac * pane.back_frac);
    return (struct stv_glass_sun){pane.through_frac * pane.through_frac * again,
                                  {kept * (1.0 + pane.back_frac * pane.through_frac * again),
                                   kept * pane.through_frac * again}};
}

struct stv_glass_sun stv_glass_beam(const struct stv_glass *glass, double cos_incidence_nd)
{
    struct stv_glass_sun mean = {0.0, {0.0, 0.0}};
    if (!(cos_incidence_nd > 0.0))
        return mean;
    double cos_out = fmin(cos_incidence_nd, 1.0), sin_out = sqrt(1.0 - cos_out * cos_out);
    double sin_in = sin_out / glass->refraction_nd, cos_in = sqrt(1.0 - sin_in * sin_in);
    double n = glass->refraction_nd;
    double across = (cos_out - n * cos_in) / (cos_out + n * cos_in);
    double along = (n * cos_out - cos_in) / (n * cos_out + cos_in);
    double left_frac = pow(glass->absorption_frac, 1.0 / cos_in);
    const double faces[2] = {across * across, along * along};
    for (int i = 0; i < 2; i++) {
        struct stv_glass_sun one = panes_of(pane_of(faces[i], left_frac), glass->n_panes);
        mean.through_frac += 0.5 * one.through_frac;
        for (size_t k = 0; k < STV_PANES_MAX; k++)
            mean.absorbed_frac[k] += 0.5 * one.absorbed_frac[k];
    }
    return mean;
}

/* Rings of the half sphere, each with its share cos sin of the light that falls on a face. */
static struct stv_glass_sun diffuse_of(const struct stv_glass *glass)
{
    struct stv_glass_sun sum = {0.0, {0.0, 0.0}};
    double step_rad = 0.5 * half_turn_rad / DIFFUSE_RINGS, weights = 0.0;
    for (int i = 0; i < DIFFUSE_RINGS; i++) {
        double angle_rad = (i + 0.5) * step_rad, weight = sin(angle_rad) * cos(angle_rad);
        struct stv_glass_sun one = stv_glass_beam(glass, cos(angle_rad));
        sum.through_frac += weight * one.through_frac;
        for (size_t k = 0; k < STV_PANES_MAX; k++)
            sum.absorbed_frac[k] += weight * one.absorbed_frac[k];
        weights += weight;
    }
    sum.through_frac /= weights;
    for (size_t k = 0; k < STV_PANES_MAX; k++)
        sum.absorbed_frac[k] /= weights;
    return sum;
}

enum stv_status stv_glass_of(const struct stv_glazing *glazing, struct stv_glass *out)
{
    if (!glazing || !out)
        return STV_E_ARG;
    if (stv_glazing_fault(glazing))
        return STV_E_DOMAIN;
    double face = face_reflectance(glazing), root = sqrt(face);
    out->n_panes = glazing->n_panes;
    out->refraction_nd = (1.0 + root) / (1.0 - root);
    out->absorption_frac = (glazing->reflectance_frac / face - 1.0) / glazing->transmittance_frac;
    out->diffuse = diffuse_of(out);
    return STV_OK;
}

double stv_glazing_gap_w_m2k(const struct stv_glazing *glazing, double mean_c)
{
    double mean_k = stv_k_from_c(mean_c);
    double radiant_w_m2k =
        4.0 * STV_STEFAN_W_M2K4 * mean_k * mean_k * mean_k / (2.0 / glazing->emittance_frac - 1.0);
    return AIR_W_MK / glazing->gap_m + radiant_w_m2k;
}
