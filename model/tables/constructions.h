/* Named constructions: outside finish and layers, outside first.
 *
 * Units: solar absorptance and thermal emittance of the outside face 0..1, thickness mm.
 * Class: assumed; typical of the trade, not measured on any building.  A "still air gap" is a
 * massless resistance of 0.17 m2K/W.  Checked by: steady U of each, tests/test_building.c. */
#ifndef STV_MODEL_TABLES_CONSTRUCTIONS_H
#define STV_MODEL_TABLES_CONSTRUCTIONS_H

#include <stddef.h>

#define NAMED_LAYERS_MAX 4

struct named_layer {
    const char *material; /* of building_materials.h, or NULL for a still air gap */
    double thickness_mm;
};

struct named_construction {
    const char *name;
    double absorptance_frac, emittance_frac;
    struct named_layer layers[NAMED_LAYERS_MAX]; /* ends at thickness 0 */
};

/* Source: ISO 6946:2017 table 8, unventilated gap with horizontal heat flow 0.18, 25 mm and
 * upward 0.16 m2K/W; 0.17 is taken for both (from memory). */
static const double still_air_gap_m2k_w = 0.17;

/* Source: layers and absorptances from memory and judgement, common practice, no published
 * source: stone 0.65/0.9, slate 0.85/0.9, weathered galvanised 0.7/0.25, coated steel
 * 0.7/0.85, aged white coating 0.35/0.85, brick 0.7/0.9, lime wash 0.3/0.9. */
static const struct named_construction named_constructions[] = {
    {"insulated panel 60 mm", 0.7, 0.85, {{"steel", 0.6}, {"rigid foam", 60.0}, {"steel", 0.4}}},
    {"insulated panel 80 mm", 0.7, 0.85, {{"steel", 0.6}, {"rigid foam", 80.0}, {"steel", 0.4}}},
    {"insulated panel 100 mm", 0.7, 0.85, {{"steel", 0.6}, {"rigid foam", 100.0}, {"steel", 0.4}}},
    {"white insulated panel 80 mm",
     0.35,
     0.85,
     {{"steel", 0.6}, {"rigid foam", 80.0}, {"steel", 0.4}}},
    {"bare steel sheet", 0.7, 0.85, {{"steel", 0.7}}},
    {"white steel sheet", 0.35, 0.85, {{"steel", 0.7}}},
    {"galvanised steel sheet", 0.7, 0.25, {{"steel", 0.7}}},
    {"steel sheet on timber frame", 0.7, 0.85, {{"steel", 0.7}, {"softwood", 6.0}}},
    {"steel sheet on boards", 0.7, 0.85, {{"steel", 0.7}, {"softwood", 25.0}}},
    {"timber boards 25 mm", 0.7, 0.9, {{"softwood", 25.0}}},
    {"timber boards 50 mm", 0.7, 0.9, {{"softwood", 50.0}}},
    {"slate on boards", 0.85, 0.9, {{"slate", 10.0}, {"softwood", 25.0}}},
    {"slate on insulated boards",
     0.85,
     0.9,
     {{"slate", 10.0}, {"softwood", 25.0}, {"mineral wool", 50.0}}},
    {"clay tile on boards", 0.7, 0.9, {{"clay tile", 15.0}, {NULL, 1.0}, {"softwood", 25.0}}},
    {"rubble stone 450 mm", 0.65, 0.9, {{"rubble stone", 450.0}}},
    {"rubble stone 600 mm", 0.65, 0.9, {{"rubble stone", 600.0}}},
    {"limewashed rubble stone 600 mm", 0.3, 0.9, {{"rubble stone", 600.0}}},
    {"brick 105 mm", 0.7, 0.9, {{"brick", 105.0}}},
    {"brick 220 mm", 0.7, 0.9, {{"brick", 220.0}}},
    {"brick 335 mm", 0.7, 0.9, {{"brick", 335.0}}},
    {"cavity brick", 0.7, 0.9, {{"brick", 105.0}, {NULL, 1.0}, {"brick", 105.0}}},
    {"dense block 200 mm", 0.65, 0.9, {{"dense block", 200.0}}},
    {"insulated block 200 mm", 0.65, 0.9, {{"polystyrene", 80.0}, {"dense block", 200.0}}},
    {"concrete 200 mm", 0.65, 0.9, {{"dense concrete", 200.0}}},
    {"concrete slab 150 mm", 0.65, 0.9, {{"dense concrete", 150.0}}},
};

#endif
