/* Conductivity W/(m K), density kg/m3 and specific heat J/(kg K) of building materials.
 *
 * Basis: typical dry or air-dry values near 20 C; real materials differ by 10 to 20 %, rubble and
 * soil by more.  Class: measured values of trade tables, typed from memory, so a user who has the
 * maker's figures should give layers with his own numbers.
 * Checked by: U and periodic transmittance of seven constructions made of them,
 * tests/test_wall_waves.c. */
#ifndef STV_MODEL_TABLES_BUILDING_MATERIALS_H
#define STV_MODEL_TABLES_BUILDING_MATERIALS_H

#include "model/constructions.h"

/* Source: ISO 10456:2007 table 3 and CIBSE Guide A section 3 class of values, from memory; oak,
 * rubble and soil from memory, no single published source. */
static const struct stv_material building_materials[] = {
    {"rubble stone", 1.7, 2200.0, 900.0},
    {"brick", 0.84, 1700.0, 800.0},
    {"dense block", 1.13, 2000.0, 1000.0},
    {"lightweight block", 0.19, 600.0, 1000.0},
    {"dense concrete", 1.8, 2400.0, 1000.0},
    {"lime plaster", 0.8, 1600.0, 1000.0},
    {"gypsum board", 0.16, 950.0, 840.0},
    {"slate", 2.0, 2700.0, 800.0},
    {"clay tile", 1.0, 2000.0, 800.0},
    {"softwood", 0.13, 500.0, 1600.0},
    {"plywood", 0.13, 550.0, 1600.0},
    {"oak", 0.17, 720.0, 1900.0},
    {"steel", 50.0, 7800.0, 480.0},
    {"rigid foam", 0.025, 35.0, 1400.0},
    {"polystyrene", 0.037, 20.0, 1450.0},
    {"mineral wool", 0.038, 30.0, 1030.0},
    {"wood fibre board", 0.045, 160.0, 2100.0},
    {"moist soil", 1.5, 1800.0, 1110.0},
    {"dry soil", 0.6, 1500.0, 900.0},
};

#endif
