/* Shared inside model/: every function of liquid temperature that a table sums, tabulated
 * once so that an hour costs look-ups only. */
#ifndef STV_MODEL_CASK_FUNCTIONS_H
#define STV_MODEL_CASK_FUNCTIONS_H

#include "model/lane_rows.h" /* the tables' range */
#include "model/params.h"
#include "model/status.h"

#include <stddef.h>

enum { STV__NODES = 9, STV__ENERGIES = 3, STV__ARRHENIUS = 8 };

/* Columns of one row (one temperature). */
struct stv__liquid_row {
    double water_pressure_pa[STV__NODES];   /* a_w psat_w */
    double ethanol_pressure_pa[STV__NODES]; /* a_e psat_e */
    double water_activity_nd[STV__NODES];
    double wood_integral_nd[STV__NODES]; /* G(a_w) */
    double warmth_nd[STV__ENERGIES];     /* f(T) at the energy nodes */
    double arrhenius_nd[STV__ARRHENIUS]; /* relative to 20 C */
    double pure_ethanol_pa;
};

struct stv__cask_functions;

/* Tabulates them; some 5 ms and 1.5 MB.
 *
 * base     only its permeance energy counts
 *
 * Errors:  STV_E_MEMORY
 * Accuracy: straight lines 0.05 K apart, below 1e-5 of any column; the wood's integral 2e-8 to
 *           90 % humidity and 1e-6 at 100
 * Source:  as stv_wood_flux and stv_arrhenius20_nd
 * Memory:  free with stv__cask_functions_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv__cask_functions_new(const struct stv_params *base,
                                                       struct stv__cask_functions **out);
void stv__cask_functions_free(struct stv__cask_functions *functions);

/* Row at a temperature; returns 0 when it lay outside -15..50 C and was held at that end. */
int stv__liquid_row(const struct stv__cask_functions *functions, double liquid_c,
                    struct stv__liquid_row *out);
/* G(h, T): integral over humidity, from 0 to rh_frac (0..1), of the wood's local factor; liquid_c
 * -15..50. */
double stv__wood_integral_nd(const struct stv__cask_functions *functions, double rh_frac,
                             double liquid_c);

/* Nodes of permeance energy (the base's is the middle one) and of activation energy. */
double stv__energy_node_j_mol(const struct stv__cask_functions *functions, size_t node);
double stv__arrhenius_node_j_mol(size_t node);

/* Weights with which the values at the Chebyshev nodes of composition give the value at one. */
void stv__node_weights(const struct stv__cask_functions *functions, double ethanol_mole_frac,
                       double out_nd[STV__NODES]);

/* Composition whose water activity at 20 C is the liquid's plus an offset, held in the tables'
 * range: how an error of activity enters the fluxes.  Two Newton steps, 1e-4 in activity. */
double stv__mole_frac_at_offset(const struct stv__cask_functions *functions,
                                double ethanol_mole_frac, double water_activity_offset_nd);
/* Activity of ethanol at 20 C in the tables' range of composition. */
double stv__ethanol_activity20_nd(const struct stv__cask_functions *functions,
                                  double ethanol_mole_frac);

#endif
