/* What the files of the building model share among themselves; nobody else includes this.
 *
 * A "level" is an air node: one per tier and, except in a plain zone, the head space under the
 * roof.  Everything that depends on the building alone is in stv__shape, everything that the hour
 * brings in stv__hour, the state of the air nodes and casks in stv__rooms. */
#ifndef STV_MODEL_BUILDING_PARTS_H
#define STV_MODEL_BUILDING_PARTS_H

#include "model/building.h"
#include "model/envelope.h"

#include <stdbool.h>

#define STV__LEVELS_MAX (STV_TIERS_MAX + 1)
#define STV__FACES STV_WALLS /* two long sides, two ends */
#define STV__SLOPES 2        /* of the roof */
#define STV__LANES_MAX (STV__LEVELS_MAX * STV__FACES)
/* Source: latent heat of evaporation near 15 C, from memory (2.466 MJ/kg). */
#define STV__LATENT_J_KG 2.466e6
/* A full racked shed has 500 casks of 2.18 m2 on 600 m2 of plan in each tier, and the radiation
 * between tiers was settled for it; a thinner stock takes part in proportion.  Judgement. */
#define STV__FULL_STORE_CASK_M2_PER_M2 1.8
/* Source: gas constant of water vapour, R/M = 8.314462618/0.018015268. */
#define STV__VAPOUR_GAS_J_KGK 461.52

/* ---- Shape: what does not change while the building is run ---- */

struct stv__casks { /* of one tier */
    double n;
    double outer_m2; /* all outsides together */
    double shell_j_k, liquid_j_k;
    double film_w_k;      /* tier air to mid-stave */
    double core_w_k;      /* mid-stave to liquid */
    double skin_air_frac; /* skin = frac air + (1 - frac) mid-stave */
    double cover_frac;    /* 1 for a full store: share of the plan's radiation they take part in */
};

struct stv__shape {
    const struct stv_building_numbers *numbers; /* the building's */
    size_t n_tiers, n_levels;
    bool has_head;
    double plan_m2, perimeter_m, height_m, volume_m3, roof_m2;
    double level_height_m[STV__LEVELS_MAX], level_volume_m3[STV__LEVELS_MAX];
    double level_gap_m[STV__LEVELS_MAX]; /* centre of level i to centre of i + 1 */
    double wall_m2[STV__LEVELS_MAX][STV__FACES];
    double wall_azimuth_deg[STV__FACES], slope_azimuth_deg[STV__SLOPES];
    struct stv_shade wall_shade[STV__FACES];
    size_t window_face[STV_WINDOWS_MAX]; /* the wall it is in */
    double eaves_frac[STV__LEVELS_MAX];  /* share of the walls' height below the eaves */
    double leak_low_frac[STV__LEVELS_MAX], leak_high_frac[STV__LEVELS_MAX]; /* see building_air.c */
    struct stv__casks casks;
    double air_j_m3k;
};

void stv__shape_of(const struct stv_building *building, struct stv__shape *out);
/* Cask terms need the cooperage and spirit formulas, which can refuse. */
STV_MUST_CHECK enum stv_status stv__casks_of(const struct stv_building *building,
                                             struct stv__shape *shape);

/* ---- Faces: what the hour brings ---- */

struct stv__beam { /* sun on a window: straight from the sun, with its angle, and the rest */
    double beam_w_m2, cos_incidence_nd, diffuse_w_m2;
};

struct stv__hour {
    double temp_mean_c, temp_left_c, temp_right_c; /* of the hour, and at its two ends */
    double vapour_kg_m3, wind_m_s, sky_w_m2;
    double wall_sun_w_m2[STV__FACES], roof_sun_w_m2; /* falling on the face */
    double ground_c;                                 /* virtual, behind the soil */
    double fan_hour_h;                               /* middle of the hour, standard time */
    struct stv__beam window_sun[STV_WINDOWS_MAX];
};

/* Everything but ground_c. */
void stv__hour_of(const struct stv_building *building, const struct stv__shape *shape,
                  const struct stv_weather *weather, size_t hour_idx, struct stv__hour *out);
/* Outdoor air at a fraction of the hour; its mean over the hour is temp_mean_c. */
double stv__outdoor_c(const struct stv__hour *hour, double hour_frac);

/* One outside face: film, linear long wave and, of a wet one, linear evaporation about a surface
 * temperature. */
struct stv__face {
    double absorptance_frac, emittance_frac, sky_share_frac, film_w_m2k, sun_w_m2, sky_w_m2;
    double wet_frac, outdoor_kg_m3, air_j_m3k; /* 0 and whatever where it is dry */
};
/* Heat that a wet face gives to its water, W/m2 = loss + slope (T - surface_c). */
struct stv__wetting {
    double loss_w_m2, slope_w_m2k;
};
struct stv__wetting stv__face_wetting(const struct stv__face *face, double surface_c);
/* Whether the roof is sprayed in an hour. */
bool stv__spray_runs(const struct stv_roof_spray *spray, const struct stv__hour *hour);
/* Share of the long wave falling on a face that comes from the sky. */
double stv__sky_share_frac(double tilt_deg);
double stv__wall_film_w_m2k(const struct stv_building_numbers *numbers, double wind_m_s);
double stv__roof_film_w_m2k(const struct stv_building_numbers *numbers, double wind_m_s);
/* Conductance from the surface to the sol-air temperature, and that temperature. */
double stv__face_conductance_w_m2k(const struct stv__face *face, double surface_c);
double stv__face_sol_air_c(const struct stv__face *face, double outdoor_c, double surface_c);

/* ---- Ground ---- */

struct stv__ground {
    struct stv_construction floor; /* outside (below) first */
    double under_w_m2k;            /* behind the floor's last node */
    double mean_c, cos_k, sin_k;   /* virtual temperature: mean and yearly wave */
};
STV_MUST_CHECK enum stv_status stv__ground_of(const struct stv_building *building,
                                              const struct stv__shape *shape,
                                              const struct stv_weather *weather,
                                              struct stv__ground *out);
double stv__ground_c(const struct stv__ground *ground, int64_t time_s);
/* ISO 13370 slab on ground, W/m2K. */
double stv__slab_u_w_m2k(double plan_m2, double perimeter_m, double floor_m2k_w,
                         double ground_w_mk);

/* ---- Air ---- */

struct stv__flows {                    /* m3/s */
    double up_m3_s[STV__LEVELS_MAX];   /* level i to i + 1, mixing included */
    double down_m3_s[STV__LEVELS_MAX]; /* level i + 1 to i, mixing included */
    double in_m3_s[STV__LEVELS_MAX], out_m3_s[STV__LEVELS_MAX];
    double eddy_m2_s[STV__LEVELS_MAX];
};
struct stv__draught { /* what drives the air, besides the rooms */
    double outdoor_c, wind_m_s;
    bool fan_runs;
};
/* Hours that may run over midnight, 18 to 7; NaN: always.  hour_h of the day in standard time,
 * 0..24 */
bool stv__is_between(double from_h, double to_h, double hour_h);
/* hour_h  as above */
bool stv__fan_wanted(const struct stv_building *building, double inside_c, double outdoor_c,
                     double hour_h);
/* New flows from the temperatures of the levels; the eddy terms move half way (damped). */
void stv__air_flows(const struct stv_building *building, const struct stv__shape *shape,
                    const struct stv__draught *draught, const double *air_c,
                    struct stv__flows *flows);

/* ---- Heat of the rooms: a banded system of floor surface, air and shells, roof surface ---- */

struct stv__rooms {
    double air_c[STV__LEVELS_MAX], shell_c[STV_TIERS_MAX], liquid_c[STV_TIERS_MAX];
    double floor_c, roof_c; /* inside surfaces */
    double radiant_c;       /* star node of a plain zone */
    double
        heating_w[STV_TIERS_MAX]; /* what holds the set-point in the stage; not of a plain zone */
};
struct stv__port { /* heat drawn = conductance x T - source, whole area */
    double conductance_w_k, source_w;
};
struct stv__evaporation { /* from the floor: kg/s = rate + slope x floor_c */
    double rate_kg_s, slope_kg_sk;
};
struct stv__heat {
    const struct stv__shape *shape;
    double stage_s;                         /* gamma x step */
    struct stv__port wall[STV__LEVELS_MAX]; /* all walls of a level, seen from its air */
    struct stv__port floor, roof;           /* at their surfaces */
    double roof_film_w_m2k;
    struct stv__rooms base;
    struct stv__evaporation evaporation;
    double outdoor_c;
    double given_w[STV__LEVELS_MAX]; /* to the shells of a tier, or its air when it has none */
    double given_air_w[STV__LEVELS_MAX], given_floor_w;
    double heating_c; /* least of the tiers' air; NaN: not heated */
};
double stv__roof_film_inside_w_m2k(const struct stv_building_numbers *numbers, double roof_c,
                                   double air_c);
/* Solves one stage; `rooms` receives all temperatures.  flows as they stand. */
void stv__heat_solve(const struct stv__heat *heat, const struct stv__flows *flows,
                     struct stv__rooms *rooms);
/* Heat held by air, shells and liquids above 0 C, J. */
double stv__rooms_heat_j(const struct stv__shape *shape, const struct stv__rooms *rooms);
/* What the casks of a tier radiate to.  walls: of the tier, with their windows. */
struct stv__skin {
    double area_m2, mean_c;
};
double stv__radiant_c(const struct stv__shape *shape, const struct stv__rooms *rooms,
                      const struct stv__skin *walls, size_t tier_idx);

/* ---- Panes ---- */

struct stv__line { /* heat drawn from inside, W/m2 = conductance x T - source */
    double conductance_w_m2k, source_w_m2;
};
struct stv__pane {
    const struct stv_glazing *glazing;
    struct stv_glass glass;
    struct stv__face face; /* of the outer pane; its sun comes by absorbed_w_m2 */
    double absorbed_w_m2[STV_PANES_MAX];
    double outside_w_m2k, gap_w_m2k, sol_air_c, start_c, outer_c;
};
/* Errors: those of stv_glass_of.  sky_kept_frac: share of the sky that a shade keeps off */
STV_MUST_CHECK enum stv_status stv__pane_start(struct stv__pane *pane,
                                               const struct stv_glazing *glazing, double start_c,
                                               double sky_kept_frac);
/* Begins an hour under the building's said outside film, or the wind's; the sun that passes, W/m2.
 */
double stv__pane_sun_w_m2(struct stv__pane *pane, const struct stv__beam *sun,
                          const struct stv__hour *hour, const struct stv_building *building);
void stv__pane_begin_step(struct stv__pane *pane, double inside_c);
struct stv__line stv__pane_eliminate(struct stv__pane *pane, double outdoor_c);
void stv__pane_substitute(struct stv__pane *pane, double inside_c);
/* Heat taken in by the panes from outside, W/m2. */
double stv__pane_gain_w_m2(const struct stv__pane *pane);

/* ---- Moisture ---- */

#define STV__BUFFERS_MAX (STV__LEVELS_MAX + 1)
struct stv__buffer { /* wood (or floor) that breathes; humidities of its two layers */
    size_t level_idx;
    double area_m2;
    double skin_old_frac, skin_frac, deep_old_frac, deep_frac;
    /* of the stage, for the substitution: skin = skin_rest + skin_gain x vapour */
    double skin_rest_frac, skin_gain_m3_kg, deep_rest_frac, deep_gain_nd;
};
struct stv__moisture {
    const struct stv__shape *shape;
    double stage_s, source_kg_s; /* casks of one tier */
    double mist_kg_s[STV__LEVELS_MAX];
    double wet_m3_s; /* wet floor: area x wetness x coefficient */
    double old_kg_m3[STV__LEVELS_MAX], now_kg_m3[STV__LEVELS_MAX];
    double pivot_m3_s[STV__LEVELS_MAX], right_kg_s[STV__LEVELS_MAX];
    struct stv__buffer buffers[STV__BUFFERS_MAX]; /* the floor, then the tiers */
    size_t n_buffers;
    double bound_kg[STV__LEVELS_MAX], bound_floor_kg; /* vapour turned to water in the last step */
};
void stv__moisture_start(struct stv__moisture *moisture, const struct stv_building *building,
                         const struct stv__shape *shape, double step_s, double start_c);
void stv__moisture_begin_step(struct stv__moisture *moisture);
/* Eliminates all vapour but level 0's. */
void stv__moisture_eliminate(struct stv__moisture *moisture, int stage,
                             const struct stv__flows *flows, const struct stv__rooms *rooms,
                             double outdoor_kg_m3);
/* Evaporation of the floor after elimination, linear in the floor's surface temperature. */
struct stv__evaporation stv__moisture_evaporation(const struct stv__moisture *moisture,
                                                  double floor_c);
/* Vapour of the levels after elimination. */
void stv__moisture_vapour(const struct stv__moisture *moisture, const struct stv__flows *flows,
                          double evaporation_kg_s, double *out_kg_m3);
void stv__moisture_substitute(struct stv__moisture *moisture, const struct stv__flows *flows,
                              double evaporation_kg_s);
/* Water held, kg. */
double stv__moisture_held_kg(const struct stv__moisture *moisture);
/* Lets run off what is above saturation and returns it, kg; bound_kg then holds what the step
 * condensed or wood took up. */
double stv__moisture_end_step_kg(struct stv__moisture *moisture, const struct stv__rooms *rooms);
/* Saturation density of vapour over liquid water, kg/m3. */
double stv__saturation_kg_m3(double temp_c);

#endif
