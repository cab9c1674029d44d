/* The heat of a plain zone, shared by the files of the building model; nobody else includes this.
 */
#ifndef STV_MODEL_BUILDING_ZONE_H
#define STV_MODEL_BUILDING_ZONE_H

#include "model/building_parts.h"
#include "model/glazing.h"

/* Surfaces: the four walls, roof, floor, then the windows. */
#define STV__ROOF STV__FACES
#define STV__FLOOR (STV__FACES + 1)
#define STV__WINDOW_FIRST (STV__FACES + 2)
#define STV__SURFACES_MAX (STV__WINDOW_FIRST + STV_WINDOWS_MAX)

struct stv__surface {
    enum stv_zone_face face;
    double area_m2, view_nd, emittance_frac;
    double conductance_w_m2k, source_w_m2; /* what lies behind it, as one line */
    double sun_w_m2;                       /* absorbed inside */
    double film_w_m2k, radiant_w_m2k, inside_c;
};

struct stv__zone {
    const struct stv_building *building;
    const struct stv_zone *said;
    struct stv__surface surfaces[STV__SURFACES_MAX];
    size_t n;
    struct stv__pane panes[STV_WINDOWS_MAX];
    double through_w, heating_w;
};

/* Errors: those of stv_glass_of */
STV_MUST_CHECK enum stv_status stv__zone_start(struct stv__zone *zone,
                                               const struct stv_building *building,
                                               const struct stv__shape *shape, double start_c);
void stv__zone_begin_hour(struct stv__zone *zone, const struct stv__hour *hour);
void stv__zone_begin_step(struct stv__zone *zone);
/* Takes the lines of walls (one for each face), roof and floor, and makes those of the windows. */
void stv__zone_eliminate(struct stv__zone *zone, const struct stv__heat *heat,
                         const double *wall_w_m2k, const double *wall_w_m2);
/* Solves one stage; rooms receives all temperatures. */
void stv__zone_solve(struct stv__zone *zone, const struct stv__heat *heat,
                     const struct stv__flows *flows, struct stv__rooms *rooms);
/* Heat that the zone takes in beside walls, roof, floor and air, W: sun, panes, gains, heating. */
double stv__zone_gain_w(const struct stv__zone *zone);

#endif
