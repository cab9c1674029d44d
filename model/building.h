/* A warehouse as a builder describes it, and its air, hour by hour, at every tier. */
#ifndef STV_MODEL_BUILDING_H
#define STV_MODEL_BUILDING_H

#include "model/building_numbers.h"
#include "model/byte_store.h"
#include "model/envelope.h"
#include "model/glazing.h"
#include "model/status.h"
#include "model/weather.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_TIERS_MAX 32
#define STV_BAYS_MAX 2000
#define STV_DEPTH_MAX 500

enum stv_building_kind {
    STV_BUILDING_DUNNAGE,
    STV_BUILDING_RACKED_SHED,
    STV_BUILDING_RICK_HOUSE,
    STV_BUILDING_PALLETISED,
    STV_BUILDING_PLAIN_ZONE,
    STV_BUILDING_N
};

/* "dunnage", "racked shed", "rick house", "palletised store", "plain zone"; static text, NULL for
 * a number that is no kind. */
const char *stv_building_kind_name(enum stv_building_kind kind);

/* Errors:  STV_E_ARG    NULL
 *          STV_E_PARSE  the name is none of them; *out untouched */
STV_MUST_CHECK enum stv_status stv_building_kind_from_name(const char *name,
                                                           enum stv_building_kind *out);

/* Slab: 150 mm of concrete on soil.  Earth: bare soil that may be wet.  Timber: boards over a still
 * gap on soil.  Suspended: boards over outdoor air that neither sun nor sky reaches. */
enum stv_floor_kind { STV_FLOOR_SLAB, STV_FLOOR_EARTH, STV_FLOOR_TIMBER, STV_FLOOR_SUSPENDED };

/* What stands between a face and the sun: trees, a second skin, a neighbour.  Shares kept off,
 * 0..1: of the beam, and of all other light and of the cold of the sky, in whose place comes what
 * is at air temperature. */
struct stv_shade {
    double beam_frac, sky_frac;
};
struct stv_wall_shade { /* of the wall that looks that way */
    double azimuth_deg; /* of its outward normal, from north, clockwise */
    struct stv_shade kept;
};
#define STV_WALLS 4

/* A window, in the wall that looks the same way, over the whole height of that wall. */
struct stv_wall_window {
    double area_m2, azimuth_deg; /* of its outward normal, from north, clockwise */
    struct stv_glazing glazing;
};
#define STV_WINDOWS_MAX 8

/* Water sprayed as a fine mist into the air of some tiers, by one line with one valve. */
struct stv_misting {
    double rate_kg_h; /* of all its tiers together, alike in each; 0: none, up to 10000 */
    size_t lowest_tier_idx, highest_tier_idx; /* beyond the top tier: the top tier */
    double above_c;       /* open while the air of the highest of them is warmer, 0..60 ... */
    double below_rh_frac; /* ... and no damper than this in any of them, 0.05..1 */
    double from_h, to_h;  /* only between these hours of standard time; NaN: always */
};

/* Water on the outside of the roof by day. */
struct stv_roof_spray {
    double wet_frac;          /* share of the roof kept wet, 0..1; 0: none */
    double above_c, sun_w_m2; /* only in outdoor air warmer than 0..60, and at least this sun on
                               * the roof, 0..1500 */
    double from_h, to_h;      /* only between these hours of standard time; NaN: always */
};

/* Faces of a plain zone, for films that a user fixes. */
enum stv_zone_face {
    STV_ZONE_WALL,
    STV_ZONE_ROOF,
    STV_ZONE_FLOOR,
    STV_ZONE_WINDOW,
    STV_ZONE_FACES
};

/* What only a plain zone has.  NaN: not said. */
struct stv_zone {
    double air_change_per_h; /* of outdoor air, of its own volume, instead of leaks and openings */
    /* Convective films, W/m2K: NaN inside by temperature difference, outside by the wind. */
    double inside_film_w_m2k[STV_ZONE_FACES], outside_film_w_m2k[STV_ZONE_FACES];
    /* Where sun that came in through windows ends: the rest on the walls.  In a store of tiers only
     * what is lost counts: see building_panes.c. */
    double sun_floor_frac, sun_roof_frac, sun_lost_frac;
};

struct stv_building {
    enum stv_building_kind kind;
    double length_m, width_m; /* length along the ridge; 1..500 m */
    double eaves_height_m;    /* up to 60 m; at least n_tiers x tier_height_m */
    double long_axis_deg;     /* direction of the ridge from north, 90 = east-west */
    double roof_pitch_deg;    /* two equal slopes, 0..60; 0 is a flat roof */
    size_t n_tiers;           /* 1..STV_TIERS_MAX */
    size_t n_bays, n_depth;   /* casks along a row, and rows deep: for positions only */
    double tier_height_m;     /* centre of one tier to the next, 0.3..10 m */
    double n_casks;           /* casks stored, as far as they load the air; spread evenly */
    double cask_capacity_l;   /* the usual cask there, 1..1000 L */
    struct stv_construction wall, roof;
    enum stv_floor_kind floor;
    double floor_wetness_frac;       /* earth: 0 dry .. 1 wet; no other floor gives off water */
    double leak_area_m2;             /* effective leakage of the shell, spread evenly over height */
    double vent_low_m2;              /* openings kept open at the floor ... */
    double vent_high_m2;             /* ... and under the roof; free area */
    double night_air_change_per_h;   /* fan, of the empty room; 0 = none, up to 100 */
    double night_air_above_c;        /* only when the air of the top tier is warmer than this ... */
    double night_air_cooler_k;       /* ... and outdoor air cooler by this; may be negative */
    double night_from_h, night_to_h; /* only between these hours of standard time; NaN: always */
    double wind_shelter_frac;        /* local wind over station wind, 0..1.5 */
    double ground_albedo_frac;       /* 0..1 */
    struct stv_shade roof_shade;     /* zero: none */
    struct stv_wall_shade wall_shades[STV_WALLS];
    size_t n_wall_shades;
    struct stv_wall_window windows[STV_WINDOWS_MAX];
    size_t n_windows;
    /* Steady heat of lamps and machines, 0..1 MW, alike in every tier; the share by radiation goes
     * to the casks, or to the air where there are none. */
    double gain_w, gain_radiant_frac;
    struct stv_misting misting;
    struct stv_roof_spray roof_spray;
    double heating_c;        /* air of every tier heated to at least this, -30..60 C; NaN: none */
    double cask_vapour_kg_h; /* stated constant water vapour of one cask, 0..0.1 */
    double exposed_frac;     /* share of a cask's outside that sees moving air, 0.05..1 */
    struct stv_construction floor_layers; /* instead of the floor kind's, below first; none: 0 */
    struct stv_zone zone;
    struct stv_building_numbers numbers; /* each within what its table allows */
};

/* A building of a kind with every default filled in, sized for its tiers and bays.
 *
 * n_tiers, n_bays, n_depth   0 takes the kind's usual number
 * out   length, width, eaves, leakage and openings follow from the numbers above, and the store
 *       is full (tiers x bays x depth casks); a plain zone holds none
 *
 * Errors:  STV_E_ARG     out is NULL or no such kind
 *          STV_E_DOMAIN  more than STV_TIERS_MAX tiers, STV_BAYS_MAX bays or STV_DEPTH_MAX deep
 * Source:  building_kinds.c and model/tables/building_kinds.h, each number with its own */
STV_MUST_CHECK enum stv_status stv_building_of_kind(enum stv_building_kind kind, size_t n_tiers,
                                                    size_t n_bays, size_t n_depth,
                                                    struct stv_building *out);

/* Leakage and openings anew from length, width and eaves, as the kind has them: for a plan that was
 * changed after stv_building_of_kind. */
void stv_building_size_openings(struct stv_building *building);

/* Usual casks that fit between floor and top tier, lying as close as round casks can, whole ones;
 * NaN where the usual cask or the sizes cannot be. */
double stv_building_casks_most_nd(const struct stv_building *building);

/* What makes a building impossible, in words for a user (static text); NULL when it is possible.
 * Ranges are those of the struct's comments; the casks must also fit between floor and top tier. */
const char *stv_building_fault(const struct stv_building *building);

/* Result: hourly means on the weather's grid, tier-major: value of tier i at hour k stands at
 * [i * grid.n + k].  Tier 0 is the floor. */
struct stv_building_climate {
    struct stv_grid grid;
    size_t n_tiers;
    double *air_c;
    double *rh_frac; /* over liquid water, 0..1 */
    double
        *radiant_c; /* what a cask's outside radiates to: the skins of its neighbours in the same,
                     * the upper and the lower tier, walls, floor, roof, weighted by exchange */
    double *outdoor_m3_h;          /* grid.n: outdoor air that came in over the hour */
    double volume_m3;              /* of air, without casks */
    double air_change_mean_per_h;  /* outdoor air over the whole volume, mean of the record */
    double mist_kg_per_y;          /* water that misting put into the air, mean of the record */
    double roof_water_kg_per_y;    /* that evaporated from a sprayed roof, likewise */
    double energy_residual_frac;   /* energy that the last year's balance cannot account for, over
                                    * all that came in */
    double moisture_residual_frac; /* the same of water vapour */
};

/* Runs the building through the weather after a year of spin-up (the first year repeated; a record
 * shorter than a year is repeated until a year has passed).
 *
 * building  no stv_building_fault
 * weather   complete and hourly, at least a day
 * step_s    3600 in production; smaller divides the hour (tests)
 * out       free with stv_building_climate_free; on failure all its pointers are NULL
 *
 * Shape:    n_tiers x grid.n values in each array
 * Errors:   STV_E_ARG      NULL, a missing weather column, a step that does not divide the hour
 *           STV_E_DOMAIN   impossible building, weather not hourly, or a value that is not finite
 *           STV_E_NO_DATA  less than a day
 *           STV_E_MEMORY
 * Accuracy: halving the step moves monthly means of tier air by less than 0.1 K; both residuals at
 *           most 1e-6 (tests/test_building.c).  Against real stores: temperature of a tier's air
 *           about 2 K, humidity about 0.1, judged from the spread of published buildings
 * Source:   building.c and the files it names
 * Assumes:  air of a tier well mixed along and across; no doors, people or snow; weather of a
 * record under 300 days gives no yearly ground wave Memory:   three arrays in out, the rest is
 * released */
STV_MUST_CHECK enum stv_status stv_building_simulate(const struct stv_building *building,
                                                     const struct stv_weather *weather, int step_s,
                                                     struct stv_building_climate *out);

/* The same by hours, taken from a store where it was worked out before of the very same building
 * and weather, else simulated and kept there.  store NULL: none; what it finds changes no byte. */
STV_MUST_CHECK enum stv_status stv_building_climate_of(const struct stv_building *building,
                                                       const struct stv_weather *weather,
                                                       const struct stv_byte_store *store,
                                                       struct stv_building_climate *out);

/* Accepts NULL and an already freed climate. */
void stv_building_climate_free(struct stv_building_climate *climate);

#endif
