/* Look-up of named materials and constructions; the numbers live in model/tables. */
#include "model/constructions.h"

#include "model/tables/building_materials.h"
#include "model/tables/constructions.h"

#include <string.h>

#define N_MATERIALS (sizeof building_materials / sizeof building_materials[0])
#define N_CONSTRUCTIONS (sizeof named_constructions / sizeof named_constructions[0])
#define MM_PER_M 1000.0

enum stv_status stv_material_from_name(const char *name, struct stv_material *out)
{
    if (!name || !out)
        return STV_E_ARG;
    for (size_t i = 0; i < N_MATERIALS; i++)
        if (strcmp(name, building_materials[i].name) == 0) {
            *out = building_materials[i];
            return STV_OK;
        }
    return STV_E_PARSE;
}

const char *stv_material_name(size_t idx)
{
    return idx < N_MATERIALS ? building_materials[idx].name : NULL;
}

static enum stv_status make_layer(const struct named_layer *named, struct stv_layer *out)
{
    if (!named->material) {
        *out = (struct stv_layer){.resistance_m2k_w = still_air_gap_m2k_w};
        return STV_OK;
    }
    struct stv_material material;
    enum stv_status status = stv_material_from_name(named->material, &material);
    if (status != STV_OK)
        return status;
    *out = (struct stv_layer){.conductivity_w_mk = material.conductivity_w_mk,
                              .thickness_m = named->thickness_mm / MM_PER_M,
                              .density_kg_m3 = material.density_kg_m3,
                              .cp_j_kgk = material.cp_j_kgk};
    return STV_OK;
}

enum stv_status stv_construction_from_name(const char *name, struct stv_construction *out)
{
    if (!name || !out)
        return STV_E_ARG;
    const struct named_construction *named = NULL;
    for (size_t i = 0; i < N_CONSTRUCTIONS && !named; i++)
        if (strcmp(name, named_constructions[i].name) == 0)
            named = &named_constructions[i];
    if (!named)
        return STV_E_PARSE;
    struct stv_construction made = {.absorptance_frac = named->absorptance_frac,
                                    .emittance_frac = named->emittance_frac};
    for (size_t i = 0; i < NAMED_LAYERS_MAX && named->layers[i].thickness_mm > 0.0; i++) {
        enum stv_status status = make_layer(&named->layers[i], &made.layers[made.n_layers++]);
        if (status != STV_OK)
            return status;
    }
    *out = made;
    return STV_OK;
}

const char *stv_construction_name(size_t idx)
{
    return idx < N_CONSTRUCTIONS ? named_constructions[idx].name : NULL;
}
