/* What a warehouse of each kind is like when nothing else is said.
 *
 * Units in the field names; floor_frac and envelope_frac are areas over floor area and over the
 * area of walls and roof.  Class: assumed, always overridable.  Checked by: tests/test_building.c
 * (full stores of the usual size, and the vertical gradient that comes out). */
#ifndef STV_MODEL_TABLES_BUILDING_KINDS_H
#define STV_MODEL_TABLES_BUILDING_KINDS_H

#include "model/building.h"

struct kind_defaults {
    const char *name;
    size_t n_tiers, n_bays, n_depth;
    double tier_height_m, headroom_m; /* headroom: top of the top tier to the eaves */
    double bay_pitch_m, depth_pitch_m, depth_share_nd, aisle_m;
    double roof_pitch_deg, cask_capacity_l, exposed_frac;
    double barrel_vapour_kg_h; /* water that a 200 L cask gives off there */
    const char *wall, *roof;
    enum stv_floor_kind floor;
    double floor_wetness_frac;
    double leak_envelope_frac, vent_low_floor_frac, vent_high_floor_frac;
    double wind_shelter_frac;
};

/* Source: casks high: two to three in a dunnage stow, 8-12 on racks, seven floors of three in a
 * rick house, six to eight on pallets: trade press of 2003-2015, seen.  Walls, roofs and floors:
 * thick stone, slate and earth; clad walls, metal roof and concrete; thin metal on a timber frame;
 * insulated panel: the same press, seen, the thicknesses from memory.  Bay pitch: a 200 L cask is
 * about 0.66 m across and 0.88 m long, from memory.  Leakage: a tight panel shed 2 cm2 per m2 of
 * envelope, old stone with vents about 0.9 m2 for 600 m2 of floor, a rick house with windows open
 * 0.5 % of its walls: judgement.  A rick house stands in rows and between trees: its shelter was
 * settled, with the roof's bare metal, against hourly loggers on the floors of one of seven floors
 * in Kentucky (a producer's page, seen): 0.39 to 0.48 K/m in its warmest month.  Water from a cask:
 * about 0.45 g/h in moving, dry air (2 % by volume a year, from memory); in the damp air of a tight
 * full store the cask's own law of evaporation comes to rest near 0.2 to 0.25 g/h at 0.75 to 0.8 of
 * humidity (calculated here).  All else: judgement, common practice, no published source. */
static const struct kind_defaults kind_table[STV_BUILDING_N] = {
    [STV_BUILDING_DUNNAGE] = {.name = "dunnage",
                              .n_tiers = 3,
                              .n_bays = 60,
                              .n_depth = 8,
                              .tier_height_m = 0.75,
                              .headroom_m = 1.25,
                              .bay_pitch_m = 0.75,
                              .depth_pitch_m = 1.0,
                              .depth_share_nd = 1.2,
                              .aisle_m = 3.0,
                              .roof_pitch_deg = 35.0,
                              .cask_capacity_l = 250.0,
                              .exposed_frac = 0.9,
                              .barrel_vapour_kg_h = 0.25e-3,
                              .wall = "rubble stone 600 mm",
                              .roof = "slate on boards",
                              .floor = STV_FLOOR_EARTH,
                              .floor_wetness_frac = 0.5,
                              .leak_envelope_frac = 0.0002,
                              .vent_low_floor_frac = 0.00075,
                              .vent_high_floor_frac = 0.00075,
                              .wind_shelter_frac = 0.6},
    [STV_BUILDING_RACKED_SHED] = {.name = "racked shed",
                                  .n_tiers = 8,
                                  .n_bays = 50,
                                  .n_depth = 10,
                                  .tier_height_m = 1.0,
                                  .headroom_m = 1.5,
                                  .bay_pitch_m = 0.75,
                                  .depth_pitch_m = 1.0,
                                  .depth_share_nd = 1.2,
                                  .aisle_m = 3.0,
                                  .roof_pitch_deg = 8.0,
                                  .cask_capacity_l = 200.0,
                                  .exposed_frac = 1.0,
                                  .barrel_vapour_kg_h = 0.2e-3,
                                  .wall = "insulated panel 80 mm",
                                  .roof = "insulated panel 80 mm",
                                  .floor = STV_FLOOR_SLAB,
                                  .floor_wetness_frac = 0.0,
                                  .leak_envelope_frac = 0.0002,
                                  .wind_shelter_frac = 0.8},
    [STV_BUILDING_RICK_HOUSE] = {.name = "rick house",
                                 .n_tiers = 18,
                                 .n_bays = 70,
                                 .n_depth = 16,
                                 .tier_height_m = 0.9,
                                 .headroom_m = 1.5,
                                 .bay_pitch_m = 0.75,
                                 .depth_pitch_m = 1.0,
                                 .depth_share_nd = 1.1,
                                 .aisle_m = 3.0,
                                 .roof_pitch_deg = 15.0,
                                 .cask_capacity_l = 200.0,
                                 .exposed_frac = 1.0,
                                 .barrel_vapour_kg_h = 0.45e-3,
                                 .wall = "steel sheet on timber frame",
                                 .roof = "galvanised steel sheet",
                                 .floor = STV_FLOOR_SLAB,
                                 .floor_wetness_frac = 0.0,
                                 .leak_envelope_frac = 0.004,
                                 .vent_high_floor_frac = 0.001,
                                 .wind_shelter_frac = 0.35},
    [STV_BUILDING_PALLETISED] = {.name = "palletised store",
                                 .n_tiers = 6,
                                 .n_bays = 60,
                                 .n_depth = 24,
                                 .tier_height_m = 1.1,
                                 .headroom_m = 2.5,
                                 .bay_pitch_m = 0.75,
                                 .depth_pitch_m = 0.75,
                                 .depth_share_nd = 1.3,
                                 .aisle_m = 4.0,
                                 .roof_pitch_deg = 8.0,
                                 .cask_capacity_l = 200.0,
                                 .exposed_frac = 0.8,
                                 .barrel_vapour_kg_h = 0.2e-3,
                                 .wall = "insulated panel 100 mm",
                                 .roof = "insulated panel 100 mm",
                                 .floor = STV_FLOOR_SLAB,
                                 .floor_wetness_frac = 0.0,
                                 .leak_envelope_frac = 0.0002,
                                 .wind_shelter_frac = 0.8},
    [STV_BUILDING_PLAIN_ZONE] = {.name = "plain zone",
                                 .n_tiers = 1,
                                 .n_bays = 8,
                                 .n_depth = 4,
                                 .tier_height_m = 3.0,
                                 .headroom_m = 0.0,
                                 .bay_pitch_m = 0.75,
                                 .depth_pitch_m = 1.0,
                                 .depth_share_nd = 1.2,
                                 .aisle_m = 2.0,
                                 .roof_pitch_deg = 0.0,
                                 .cask_capacity_l = 200.0,
                                 .exposed_frac = 1.0,
                                 .barrel_vapour_kg_h = 0.45e-3,
                                 .wall = "brick 220 mm",
                                 .roof = "insulated panel 80 mm",
                                 .floor = STV_FLOOR_SLAB,
                                 .floor_wetness_frac = 0.0,
                                 .leak_envelope_frac = 0.0003,
                                 .wind_shelter_frac = 0.8},
};

#endif
