/* Windows: what the sun sends through one or two panes, and what heat passes them. */
#ifndef STV_MODEL_GLAZING_H
#define STV_MODEL_GLAZING_H

#include "model/status.h"

#include <stddef.h>

#define STV_PANES_MAX 2

/* Panes alike, with still air between. */
struct stv_glazing {
    size_t n_panes;            /* 1 or 2 */
    double transmittance_frac; /* of one pane, sun straight on */
    double reflectance_frac;   /* likewise, > 0 */
    double gap_m;              /* between two panes, 0.002..0.1 */
    double emittance_frac;     /* thermal, of every face of glass, 0.02..1 */
};

/* Two clear panes of 3 mm, 12 mm apart.
 * Source: optical values of 3.048 mm clear glass as listed for case 600 of ANSI/ASHRAE 140-2020. */
struct stv_glazing stv_glazing_default(void);

/* What makes a glazing impossible, static text; NULL when it is possible. */
const char *stv_glazing_fault(const struct stv_glazing *glazing);

/* Shares of the sun on the outside. */
struct stv_glass_sun {
    double through_frac;
    double absorbed_frac[STV_PANES_MAX]; /* the outer pane first */
};

/* The glass itself, from what one pane does to sun straight on. */
struct stv_glass {
    size_t n_panes;
    double refraction_nd;         /* index, > 1 */
    double absorption_frac;       /* left of a ray that crosses a pane straight */
    struct stv_glass_sun diffuse; /* light from everywhere alike */
};

/* Errors: STV_E_ARG NULL; STV_E_DOMAIN as stv_glazing_fault */
STV_MUST_CHECK enum stv_status stv_glass_of(const struct stv_glazing *glazing,
                                            struct stv_glass *out);

/* Sun that falls in at an angle to the face's normal.
 *
 * cos_incidence_nd  0..1; nothing passes at 0
 * Accuracy: exact for smooth clear panes, both polarisations apart
 * Source:   Fresnel's equations and the sum over inner reflections: Duffie and Beckman, Solar
 *           Engineering of Thermal Processes, chapter 5 (from memory) */
struct stv_glass_sun stv_glass_beam(const struct stv_glass *glass, double cos_incidence_nd);

/* Conductance from pane to pane, W/m2K: still air and long wave.
 *
 * mean_c  temperature between the panes */
double stv_glazing_gap_w_m2k(const struct stv_glazing *glazing, double mean_c);

#endif
