/* Private to path.c: eight trials of a cask through one step of a table. */
#ifndef STV_MODEL_PATH_STEP_H
#define STV_MODEL_PATH_STEP_H

#include "model/path_packet.h"

/* Below it nothing evaporates any more. */
#define STV__LEAST_VOLUME_L 1.0

/* Where a step finds its rows: of each lane the panel of composition and the first node of its
 * window.  Lanes that are not alive follow the first that is. */
struct stv__step_needs {
    stv__v8 tau_place_nd;
    stv__v8 tau_h, places_per_h;            /* in the middle of the step, as foreseen */
    stv__v8 falls_h_d;                      /* as foreseen */
    stv__v8 of_ethanol_h_kg, of_water_h_kg; /* what a kilogram of either adds to tau_h */
    size_t panel[STV__PACKET];
    stv__m8 is_alive;
    size_t first_alive; /* STV__PACKET: none */
};
void stv__packet_needs(const struct stv__path_model *model, const struct stv__lane_cask *cask,
                       const struct stv__packet *packet, double step_d,
                       struct stv__step_needs *out);
/* Lanes that are down to the last litres, and want each day's own climate. */
stv__m8 stv__packet_last(const struct stv__packet *packet);
/* How fast the time constant falls where the liquid does. */
STV__INLINE stv__v8 stv__falls_h_d(const struct stv__step_needs *needs, stv__v8 ethanol_kg_d,
                                   stv__v8 water_kg_d)
{
    return needs->of_ethanol_h_kg * ethanol_kg_d + needs->of_water_h_kg * water_kg_d;
}
/* First node of the window about a lane's place; places are at least 1. */
static inline size_t stv__first_node(const struct stv__step_needs *needs, size_t lane)
{
    return (size_t)needs->tau_place_nd[lane] - 1;
}

/* A step: how long, what dry wood takes of it, and the climate. */
struct stv__step {
    double step_d;
    int wood_pieces; /* 1 or more: in how many wood and esters are taken in turn */
    double indrink_l, damp_water_kg;
    double leak_frac;                                /* 1, or 0 once it was stopped */
    const float *rows[STV__PACKET][STV__TAU_WINDOW]; /* of each lane */
};
/* The packet must have a lane that is alive. */
void stv__packet_advance(const struct stv__path_model *model, const struct stv__lane_cask *cask,
                         const struct stv__step *step, const struct stv__step_needs *needs,
                         struct stv__packet *packet);

#endif
