/* One wall, roof or floor: layers cut into finite volumes, stepped with a two-stage L-stable rule
 * of second order and eliminated node by node, so that only its inside surface couples with the
 * rest of the building. */
#ifndef STV_MODEL_ENVELOPE_H
#define STV_MODEL_ENVELOPE_H

#include "model/status.h"

#include <stddef.h>

/* A layer, outside first.  A massless layer (air gap) has density or heat capacity zero and only
 * its resistance counts.  A metal skin (conductivity over 10 W/mK, 3 mm or thinner) is massless
 * whatever is said, for it follows its neighbours within a minute or two. */
struct stv_layer {
    double conductivity_w_mk;
    double thickness_m;
    double density_kg_m3;
    double cp_j_kgk;
    double resistance_m2k_w; /* used instead of thickness/conductivity when > 0 (massless) */
};

#define STV_LAYERS_MAX 8

struct stv_construction {
    struct stv_layer layers[STV_LAYERS_MAX];
    size_t n_layers;
    double absorptance_frac; /* solar, outside face */
    double emittance_frac;   /* thermal, outside face */
};

/* Whether a construction can exist.
 *
 * Errors:  STV_E_ARG     construction is NULL
 *          STV_E_DOMAIN  no layer or more than STV_LAYERS_MAX; a negative or not finite number; a
 *                        layer with neither a resistance nor conductivity and thickness; more
 *                        than 3 m thick; absorptance or emittance outside 0..1 */
STV_MUST_CHECK enum stv_status stv_construction_check(const struct stv_construction *construction);

/* Air-to-air conductance with the two film resistances given, W/m2K.
 *
 * construction  passed stv_construction_check
 * inside_film_m2k_w, outside_film_m2k_w  0.13 and 0.04 by ISO 6946 for walls
 *
 * Errors:  none; NaN when the construction is NULL
 * Accuracy: exact for plane layers
 * Source:  ISO 6946:2017, 6.7.1.1, sum of resistances (from memory) */
double stv_construction_u_w_m2k(const struct stv_construction *construction,
                                double inside_film_m2k_w, double outside_film_m2k_w);

/* The step in time.  Both stages solve C (T - base) / (g h) = heat flow at T, with
 * g = 1 - 1/sqrt(2); stage 0 stands at g h from base T_old, stage 1 at h from base
 * T_old + (1/g - 1) (T_stage0 - T_old), and is the new state.  The amplification per step,
 * (1 + (1 - 2g) z) / (1 - g z)^2, is that of TR-BDF2 with its usual split; having no explicit
 * stage it also carries massless nodes and forcing that jumps at the hour.  The integral of
 * anything over the step is h times the weighted sum of its two stage values, to second order,
 * and exactly for a heat balance.
 * Source: R. Alexander, SIAM J. Numer. Anal. 14 (1977) 1006-1021, S-stable DIRK of order 2;
 *         TR-BDF2: Bank et al., IEEE Trans. CAD 4 (1985) 436-451 (both from memory). */
#define STV_STAGES 2
#define STV_STAGE_GAMMA_FRAC 0.29289321881345247560

static inline double stv_stage_time_frac(int stage)
{
    return stage == 0 ? STV_STAGE_GAMMA_FRAC : 1.0;
}

static inline double stv_stage_weight_frac(int stage)
{
    return stage == 0 ? 1.0 - STV_STAGE_GAMMA_FRAC : STV_STAGE_GAMMA_FRAC;
}

/* Base of a stage from the value at the start of the step and at the end of stage 0. */
static inline double stv_stage_base_nd(int stage, double old_nd, double stage0_nd)
{
    return stage == 0 ? old_nd : old_nd + (1.0 / STV_STAGE_GAMMA_FRAC - 1.0) * (stage0_nd - old_nd);
}

/* Equal walls side by side ("lanes"), each between its own outside and inside. */
struct stv_wall;

/* n_lanes walls of one construction, everywhere at start_c.
 *
 * step_s   length of every step, s, > 0
 * out      free with stv_wall_free
 *
 * Shape:   cells are at most an eighth of the layer's daily penetration depth
 *          sqrt(k P/(pi rho c)); a node stands on each cell face, so both surfaces are nodes
 * Errors:  STV_E_ARG     NULL, no lane, step not positive, or start not finite
 *          STV_E_DOMAIN  as stv_construction_check
 *          STV_E_MEMORY
 * Accuracy: transmitted daily wave within 1 % and 0.05 h at steps of 5 min and of an hour; fluxes
 * at both faces and heat held within 1 % at 5 min and 3 % at an hour, against the exact ISO 13786
 * matrix (tests/test_wall_waves.c) */
STV_MUST_CHECK enum stv_status stv_wall_new(const struct stv_construction *construction,
                                            size_t n_lanes, double step_s, double start_c,
                                            struct stv_wall **out);
void stv_wall_free(struct stv_wall *wall);

/* Starts a step whose outside conductance (film with linear long wave, or deep soil) is held.
 *
 * outside_w_m2k  one per lane, >= 0; zero only when the construction has mass */
void stv_wall_begin_step(struct stv_wall *wall, const double *outside_w_m2k);

/* Eliminates all nodes but the inside surface: heat the surface draws from the room, W/m2, is
 * out_conductance T_surface - out_source.
 *
 * outside_c  the temperature (sol-air) behind the outside conductance, one per lane */
void stv_wall_eliminate(struct stv_wall *wall, int stage, const double *outside_c,
                        double *out_conductance_w_m2k, double *out_source_w_m2);

/* Fills in the nodes of the stage once the inside surface temperatures, one per lane, are known. */
void stv_wall_substitute(struct stv_wall *wall, const double *inside_surface_c);

/* Surface temperatures as they now stand, one per lane. */
const double *stv_wall_outside_surface_c(const struct stv_wall *wall);
const double *stv_wall_inside_surface_c(const struct stv_wall *wall);

/* Heat held by one lane above 0 C, J/m2. */
double stv_wall_heat_j_m2(const struct stv_wall *wall, size_t lane_idx);

/* Nodes of one lane and their temperatures, outside first (for tests and profiles). */
size_t stv_wall_n_nodes(const struct stv_wall *wall);
double stv_wall_node_c(const struct stv_wall *wall, size_t node_idx, size_t lane_idx);

#endif
