/* Shared inside model/: panels of composition, and the curves through what is known at a panel's
 * nodes, in its own place of -1..1. */
#ifndef STV_MODEL_PANEL_FIT_H
#define STV_MODEL_PANEL_FIT_H

#include <stddef.h>

/* Composition is cut into panels: within one, polynomials through 8 Chebyshev nodes in the root of
 * the mole fraction leave 1e-6; over the whole range they would leave 1e-3. */
enum { STV__PANELS = 5, STV__NODES8 = 8, STV__LINE_TERMS = 2 };
/* Bounds in the root of the mole fraction: 12, 38.6, 70.4, 83 and 92 % vol. */
extern const double stv__panel_bound_nd[STV__PANELS + 1];
/* Panel of a root; the ends belong to the outer panels. */
size_t stv__panel_of(double root_nd);

struct stv__panel_fit {
    double node_nd[STV__NODES8];               /* Chebyshev's */
    double power_nd[STV__NODES8][STV__NODES8]; /* [node][power]: the polynomial that is 1 there */
    /* What a value between that node and the next adds to the slope of the line nearest to all. */
    double slope_nd[STV__NODES8 - 1];
};

void stv__panel_fit_fill(struct stv__panel_fit *out);

/* Values at the nodes to the coefficients of the polynomial through them. */
void stv__panel_fit_polynomial(const struct stv__panel_fit *fit, const double values[STV__NODES8],
                               double out[STV__NODES8]);

/* Values in the middles between nodes to the coefficients of the line nearest to them. */
void stv__panel_fit_line(const struct stv__panel_fit *fit, const double values[STV__NODES8 - 1],
                         double out[STV__LINE_TERMS]);

#endif
