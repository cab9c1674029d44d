#include "model/panel_fit.h"

#include <math.h>

#define PI 3.14159265358979323846

/* Source: choice of panels for interpolation, no datum. */
const double stv__panel_bound_nd[STV__PANELS + 1] = {0.2,  0.3,  0.42,
                                                     0.63, 0.75, 0.86602540378443865};

size_t stv__panel_of(double root_nd)
{
    size_t panel = 0;
    while (panel + 1 < STV__PANELS && root_nd >= stv__panel_bound_nd[panel + 1])
        panel++;
    return panel;
}

/* Chebyshev nodes of -1..1, and the polynomial that is 1 at one and 0 at the others. */
static void fill_nodes(struct stv__panel_fit *out)
{
    for (size_t i = 0; i < STV__NODES8; i++)
        out->node_nd[i] = -cos(PI * ((double)i + 0.5) / STV__NODES8);
    for (size_t i = 0; i < STV__NODES8; i++) {
        double *power = out->power_nd[i];
        power[0] = 1.0;
        for (size_t j = 0, degree = 0; j < STV__NODES8; j++) {
            if (j == i)
                continue;
            double apart = out->node_nd[i] - out->node_nd[j];
            power[degree + 1] = power[degree] / apart;
            for (size_t k = degree; k > 0; k--)
                power[k] = (power[k - 1] - out->node_nd[j] * power[k]) / apart;
            power[0] *= -out->node_nd[j] / apart;
            degree++;
        }
    }
}

/* Least squares over the middles, which lie evenly about 0: there the slope stands square to the
 * constant. */
static void fill_slope(struct stv__panel_fit *out)
{
    double square = 0.0;
    for (size_t i = 0; i + 1 < STV__NODES8; i++) {
        out->slope_nd[i] = 0.5 * (out->node_nd[i] + out->node_nd[i + 1]);
        square += out->slope_nd[i] * out->slope_nd[i];
    }
    for (size_t i = 0; i + 1 < STV__NODES8; i++)
        out->slope_nd[i] /= square;
}

void stv__panel_fit_fill(struct stv__panel_fit *out)
{
    fill_nodes(out);
    fill_slope(out);
}

void stv__panel_fit_polynomial(const struct stv__panel_fit *fit, const double values[STV__NODES8],
                               double out[STV__NODES8])
{
    for (size_t k = 0; k < STV__NODES8; k++) {
        out[k] = 0.0;
        for (size_t i = 0; i < STV__NODES8; i++)
            out[k] += fit->power_nd[i][k] * values[i];
    }
}

void stv__panel_fit_line(const struct stv__panel_fit *fit, const double values[STV__NODES8 - 1],
                         double out[STV__LINE_TERMS])
{
    out[0] = out[1] = 0.0;
    for (size_t i = 0; i + 1 < STV__NODES8; i++) {
        out[0] += values[i] / (STV__NODES8 - 1);
        out[1] += fit->slope_nd[i] * values[i];
    }
}
