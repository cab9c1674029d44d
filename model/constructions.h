/* Walls, roofs and building materials by the names a builder uses. */
#ifndef STV_MODEL_CONSTRUCTIONS_H
#define STV_MODEL_CONSTRUCTIONS_H

#include "model/envelope.h"
#include "model/status.h"

#include <stddef.h>

struct stv_material {
    const char *name;
    double conductivity_w_mk, density_kg_m3, cp_j_kgk;
};

/* A named material, for layers that a user gives by material and thickness.
 *
 * name     as listed by stv_material_name, small letters
 * Errors:  STV_E_ARG    NULL
 *          STV_E_PARSE  no such material; *out untouched
 * Source:  model/tables/building_materials.h */
STV_MUST_CHECK enum stv_status stv_material_from_name(const char *name, struct stv_material *out);
/* Name of material number idx, NULL past the end; static text. */
const char *stv_material_name(size_t idx);

/* A named construction with its layers and outside finish.
 *
 * name     as listed by stv_construction_name, for example "insulated panel 80 mm"
 * Errors:  STV_E_ARG    NULL
 *          STV_E_PARSE  no such construction; *out untouched
 * Assumes: plane layers; joints, ribs and fixings are left out
 * Source:  model/tables/constructions.h */
STV_MUST_CHECK enum stv_status stv_construction_from_name(const char *name,
                                                          struct stv_construction *out);
/* Name of construction number idx, NULL past the end; static text. */
const char *stv_construction_name(size_t idx);

#endif
