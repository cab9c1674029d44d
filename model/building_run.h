/* One building under way: shared by the file that runs the record (building.c) and the file that
 * makes an hour (building_step.c); nobody else includes this. */
#ifndef STV_MODEL_BUILDING_RUN_H
#define STV_MODEL_BUILDING_RUN_H

#include "model/building_parts.h"
#include "model/building_zone.h"

struct stv__books { /* of the last year run: net, and what came in */
    double heat_net_j, heat_in_j, water_net_kg, water_in_kg;
    double heat_start_j, water_start_kg;
};

struct stv__strip { /* of a window in one level */
    struct stv__pane pane;
    double area_m2, inside_c;
    struct stv__line line;
};
struct stv__windows { /* of a store of tiers */
    size_t n;         /* none in a plain zone, which has its own */
    const struct stv_building *building;
    const struct stv__shape *shape;
    struct stv__strip strips[STV__LEVELS_MAX][STV_WINDOWS_MAX];
    double sun_w[STV__LEVELS_MAX]; /* let in and kept, in the hour */
};
/* Errors: those of stv_glass_of */
STV_MUST_CHECK enum stv_status stv__windows_start(struct stv__windows *windows,
                                                  const struct stv_building *building,
                                                  const struct stv__shape *shape, double start_c);
void stv__windows_begin_hour(struct stv__windows *windows, const struct stv__hour *hour);
void stv__windows_begin_step(struct stv__windows *windows);
/* Adds a level's windows to the line of its walls. */
void stv__windows_reduce(struct stv__windows *windows, size_t level, double outdoor_c,
                         struct stv__port *port);
void stv__windows_substitute(struct stv__windows *windows, const double *air_c);
/* Heat taken in by the panes from outside, W; the sun that passes them comes beside. */
double stv__windows_gain_w(const struct stv__windows *windows);

struct stv__mist_trial { /* of a stage, with the valve shut or open */
    struct stv__rooms rooms;
    double vapour_kg_m3[STV__LEVELS_MAX];
};
/* How far the valve is open, 0..1. */
double stv__mist_share_frac(const struct stv_building *building, const struct stv__mist_trial *shut,
                            const struct stv__mist_trial *open);

struct stv__tier_sums {
    double air_c[STV_TIERS_MAX], rh_frac[STV_TIERS_MAX], radiant_c[STV_TIERS_MAX];
};

struct stv__run {
    const struct stv_building *building;
    const struct stv_weather *weather;
    double step_s;
    int n_steps; /* per hour */
    struct stv__shape shape;
    struct stv__ground ground;
    struct stv_wall *walls, *roof, *floor;
    struct stv__hour hour;
    struct stv__face wall_face[STV__FACES], roof_face;
    size_t n_lanes;
    /* per wall lane, level-major: lane = level x STV__FACES + face */
    double start_c[STV__LANES_MAX], outside_w_m2k[STV__LANES_MAX], outside_c[STV__LANES_MAX];
    double wall_w_m2k[STV__LANES_MAX], wall_w_m2[STV__LANES_MAX], surface_c[STV__LANES_MAX];
    double roof_start_c, roof_w_m2k, roof_sol_air_c;
    struct stv__wetting roof_wetting;
    struct stv__draught draught;
    struct stv__flows flows;
    struct stv__rooms rooms, rooms_old;
    struct stv__heat heat;
    struct stv__zone zone; /* of a plain zone */
    struct stv__windows windows;
    struct stv__moisture moisture;
    struct stv__books books;
    struct stv__tier_sums sums; /* of the hour */
    double outdoor_m3;          /* outdoor air taken in, whole run of the record */
    double gain_air_w;          /* of lamps and machines to the air of each tier */
    double mist_kg, roof_kg;    /* put into the air, and evaporated from the roof, whole run */
};

/* Opens the valve of the mist by a share: vapour to the tiers' air, and its heat from it. */
void stv__mist_set(struct stv__run *run, double share_frac);

/* Runs one hour of the weather; sums then holds the tiers' means over it. */
void stv__run_hour(struct stv__run *run, size_t hour_idx);

/* Heat and water held are noted; from here on every flow counts. */
void stv__open_books(struct stv__run *run);
/* What the flows since then leave unexplained, over all that came in. */
void stv__close_books(const struct stv__run *run, struct stv_building_climate *out);

#endif
