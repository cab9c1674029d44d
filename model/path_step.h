/* Private to path.c: eight trials of a cask through one step of a table. */
#ifndef STV_MODEL_PATH_STEP_H
#define STV_MODEL_PATH_STEP_H

#include "model/path_packet.h"

/* Below it nothing evaporates any more. */
#define STV__LEAST_VOLUME_L 1.0

/* Which nodes of which panels a step needs: those about each lane's own place, for a cask that has
 * nearly run out in one trial is still full in the others. */
struct stv__step_needs {
    stv__v8 tau_place_nd, panel_nd;
    uint64_t nodes[STV__PANELS]; /* bit by bit */
};
_Static_assert(STV__TAU_NODES <= 64, "a panel's nodes must fit into one word");
void stv__packet_needs(const struct stv__path_model *model, const struct stv__lane_cask *cask,
                       const struct stv__packet *packet, double step_d,
                       struct stv__step_needs *out);

/* A step: how long, what dry wood takes of it, and the climate. */
struct stv__step {
    double step_d;
    int least_pieces; /* 1 or more */
    double indrink_l, damp_water_kg;
    double leak_frac;                               /* 1, or 0 once it was stopped */
    size_t first_lane;                              /* of the packet among the table's lanes */
    const float *data[STV__PANELS][STV__TAU_NODES]; /* of the needed nodes and panels */
};
void stv__packet_advance(const struct stv__path_model *model, const struct stv__lane_cask *cask,
                         const struct stv__step *step, const struct stv__step_needs *needs,
                         struct stv__packet *packet);

#endif
