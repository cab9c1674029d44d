/* A warehouse as a builder describes it: the kind gives a whole building of that size, and each
 * key that is said replaces one of its numbers. */
#include "ingest/book_parts.h"
#include "model/constructions.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <string.h>

#define NAMES_MAX 64
/* Thresholds that are always met. */
#define ANY_TEMPERATURE_C (-100.0)
#define ANY_DIFFERENCE_K (-200.0)

static const char *const building_keys[] = {
    "name",      "kind",         "tiers",         "bays",      "depth",        "length",
    "width",     "eaves_height", "tier_height",   "long_axis", "casks_stored", "usual_cask",
    "wall",      "roof",         "floor",         "leak_area", "vent_low",     "vent_high",
    "night_air", "wind_shelter", "ground_albedo", "reach",     "roof_pitch",   "numbers",
    "exposed",   "cask_vapour",
};
#define N_BUILDING_KEYS (sizeof building_keys / sizeof building_keys[0])
#define ALL_KEYS_MAX (N_BUILDING_KEYS + 16)

/* Those of every kind, what may be added, and those of a plain zone. */
static void check_keys(const struct stv_yaml_context *context, const struct stv_yaml_node *map)
{
    const char *keys[ALL_KEYS_MAX];
    size_t n = 0;
    for (size_t i = 0; i < N_BUILDING_KEYS; i++)
        keys[n++] = building_keys[i];
    for (size_t i = 0; i < stv__n_lever_keys && n < ALL_KEYS_MAX; i++)
        keys[n++] = stv__lever_keys[i];
    for (size_t i = 0; i < stv__n_zone_keys && n < ALL_KEYS_MAX; i++)
        keys[n++] = stv__zone_keys[i];
    stv_yaml_known_keys(context, map, keys, n);
}

/* The plain numbers of a building: key, place, what is allowed. */
struct plain_key {
    const char *key;
    size_t offset;
    struct stv_yaml_want want;
};
#define PLAIN(key, field, dimension, unit, least, most) \
    {                                                   \
        key, offsetof(struct stv_building, field),      \
        {                                               \
            dimension, unit, least, most                \
        }                                               \
    }

/* The limits only catch slips of the pen: far outside what stands anywhere. */
static const struct plain_key plain_keys[] = {
    PLAIN("length", length_m, STV_DIM_LENGTH, NULL, 1.0, 1000.0),
    PLAIN("width", width_m, STV_DIM_LENGTH, NULL, 1.0, 1000.0),
    PLAIN("eaves_height", eaves_height_m, STV_DIM_LENGTH, NULL, 1.5, 60.0),
    PLAIN("tier_height", tier_height_m, STV_DIM_LENGTH, NULL, 0.3, 10.0),
    PLAIN("roof_pitch", roof_pitch_deg, STV_DIM_ANGLE, NULL, 0.0, 60.0),
    PLAIN("long_axis", long_axis_deg, STV_DIM_ANGLE, NULL, 0.0, 360.0),
    PLAIN("casks_stored", n_casks, STV_DIM_NUMBER, NULL, 0.0, 1e6),
    PLAIN("usual_cask", cask_capacity_l, STV_DIM_VOLUME, NULL, 1.0, 1000.0),
    PLAIN("leak_area", leak_area_m2, STV_DIM_AREA, NULL, 0.0, 1000.0),
    PLAIN("vent_low", vent_low_m2, STV_DIM_AREA, NULL, 0.0, 1000.0),
    PLAIN("vent_high", vent_high_m2, STV_DIM_AREA, NULL, 0.0, 1000.0),
    PLAIN("wind_shelter", wind_shelter_frac, STV_DIM_FRACTION, NULL, 0.0, 1.0),
    PLAIN("ground_albedo", ground_albedo_frac, STV_DIM_FRACTION, NULL, 0.0, 1.0),
    PLAIN("exposed", exposed_frac, STV_DIM_FRACTION, NULL, 0.05, 1.0),
    PLAIN("cask_vapour", cask_vapour_kg_h, STV_DIM_MASS_RATE, NULL, 0.0, 0.1),
};
#define N_PLAIN_KEYS (sizeof plain_keys / sizeof plain_keys[0])

static const struct stv_yaml_want any_fraction = {STV_DIM_FRACTION, NULL, 0.0, 1.0};

/* Names of a list that ends with NULL, as the model gives them. */
static size_t names_of(const char *(*name_of)(size_t), const char *names[NAMES_MAX])
{
    size_t n = 0;
    while (n < NAMES_MAX && name_of(n)) {
        names[n] = name_of(n);
        n++;
    }
    return n;
}

static void read_named_layer(const struct stv_yaml_context *context,
                             const struct stv_yaml_node *map, struct stv_layer *layer)
{
    const char *names[NAMES_MAX];
    size_t n = names_of(stv_material_name, names), index = 0;
    struct stv_material material;
    if (!stv_yaml_word(context, map, "material", (struct stv_yaml_words){names, n}, &index) ||
        stv_material_from_name(names[index], &material) != STV_OK)
        return;
    layer->conductivity_w_mk = material.conductivity_w_mk;
    layer->density_kg_m3 = material.density_kg_m3;
    layer->cp_j_kgk = material.cp_j_kgk;
}

static void read_layer(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_layer *layer)
{
    static const char *const keys[] = {"material", "thickness",     "conductivity",
                                       "density",  "heat_capacity", "resistance"};
    *layer = (struct stv_layer){0};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map, "a layer is written {material: softwood, thickness: 25 mm}");
        return;
    }
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    read_named_layer(context, map, layer);
    struct stv_yaml_want conductivity = {STV_DIM_CONDUCTIVITY, NULL, 0.001, 500.0};
    struct stv_yaml_want thickness = {STV_DIM_LENGTH, NULL, 0.0001, 3.0};
    struct stv_yaml_want density = {STV_DIM_DENSITY, NULL, 0.0, 20000.0};
    struct stv_yaml_want heat = {STV_DIM_HEAT_CAPACITY, NULL, 0.0, 10000.0};
    struct stv_yaml_want resistance = {STV_DIM_RESISTANCE, NULL, 0.001, 100.0};
    bool has_resistance =
        stv_yaml_quantity(context, map, "resistance", resistance, &layer->resistance_m2k_w);
    stv_yaml_quantity(context, map, "conductivity", conductivity, &layer->conductivity_w_mk);
    stv_yaml_quantity(context, map, "thickness", thickness, &layer->thickness_m);
    stv_yaml_quantity(context, map, "density", density, &layer->density_kg_m3);
    stv_yaml_quantity(context, map, "heat_capacity", heat, &layer->cp_j_kgk);
    bool says_solid = (stv_yaml_find(map, "material") || stv_yaml_find(map, "conductivity")) &&
                      stv_yaml_find(map, "thickness");
    if (!has_resistance && !stv_yaml_find(map, "resistance") && !says_solid)
        stv_yaml_refuse(context, map,
                        "needs a thickness, and a material or a conductivity; or a resistance");
}

static void read_layers(const struct stv_yaml_context *context, const struct stv_yaml_node *list,
                        struct stv_construction *out)
{
    if (list->n_items == 0 || list->n_items > STV_LAYERS_MAX) {
        stv_yaml_refuse(context, list, "1 to %d layers are wanted, the outside first",
                        STV_LAYERS_MAX);
        return;
    }
    out->n_layers = list->n_items;
    for (size_t i = 0; i < list->n_items; i++)
        read_layer(context, &list->items[i], &out->layers[i]);
}

/* out starts as the building's kind has it; where that is not known, only what is said whole can be
 * judged. */
static bool read_construction(const struct stv_yaml_context *context,
                              const struct stv_yaml_node *building, const char *key,
                              struct stv_construction *out)
{
    static const char *const keys[] = {"construction", "layers", "absorptance", "emittance"};
    const struct stv_yaml_node *map = stv_yaml_map(context, building, key);
    if (!map)
        return false;
    size_t n_before = stv__n_refused(context->problems);
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    const char *names[NAMES_MAX];
    size_t n = names_of(stv_construction_name, names), index = 0;
    if (stv_yaml_word(context, map, "construction", (struct stv_yaml_words){names, n}, &index) &&
        stv_construction_from_name(names[index], out) != STV_OK)
        return false;
    const struct stv_yaml_node *layers = stv_yaml_list(context, map, "layers");
    if (layers && stv_yaml_find(map, "construction"))
        stv_yaml_refuse(context, layers, "says the wall twice: keep construction or layers");
    else if (layers)
        read_layers(context, layers, out);
    stv_yaml_quantity(context, map, "absorptance", any_fraction, &out->absorptance_frac);
    stv_yaml_quantity(context, map, "emittance", any_fraction, &out->emittance_frac);
    bool is_good = stv__n_refused(context->problems) == n_before;
    if (is_good && out->n_layers > 0 && stv_construction_check(out) != STV_OK)
        stv_yaml_refuse(context, map, "cannot be built: look at thicknesses and conductivities");
    return is_good;
}

static void read_floor_layers(const struct stv_yaml_context *context,
                              const struct stv_yaml_node *layers, struct stv_construction *out)
{
    size_t n_before = stv__n_refused(context->problems);
    *out = (struct stv_construction){.absorptance_frac = 0.0, .emittance_frac = 0.0};
    read_layers(context, layers, out);
    if (stv__n_refused(context->problems) == n_before && stv_construction_check(out) != STV_OK)
        stv_yaml_refuse(context, layers, "cannot be built: look at thicknesses and conductivities");
}

/* has_start: the building's kind is known, and with it the floor where none is said. */
static void read_floor(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       bool has_start, struct stv_building *out)
{
    static const char *const keys[] = {"kind", "wetness", "layers"};
    static const char *const kinds[] = {"slab", "earth", "timber", "suspended"};
    static const enum stv_floor_kind values[] = {STV_FLOOR_SLAB, STV_FLOOR_EARTH, STV_FLOOR_TIMBER,
                                                 STV_FLOOR_SUSPENDED};
    size_t index = 0;
    stv_yaml_known_keys(context, map, keys, 3);
    bool is_known = has_start && !stv_yaml_find(map, "kind");
    if (stv_yaml_word(context, map, "kind", (struct stv_yaml_words){kinds, 4}, &index)) {
        out->floor = values[index];
        is_known = true;
    }
    const struct stv_yaml_node *layers = stv_yaml_list(context, map, "layers");
    if (layers && is_known && out->floor != STV_FLOOR_SUSPENDED)
        stv_yaml_refuse(context, layers, "belong to a suspended floor only, the outside first");
    else if (layers)
        read_floor_layers(context, layers, &out->floor_layers);
    const struct stv_yaml_node *wetness = stv_yaml_find(map, "wetness");
    if (wetness && is_known && out->floor != STV_FLOOR_EARTH)
        stv_yaml_refuse(context, wetness, "belongs to an earth floor only: leave it out");
    else
        stv_yaml_quantity(context, map, "wetness", any_fraction, &out->floor_wetness_frac);
}

/* Hours alone run the fan whatever the temperatures; a threshold that is said counts beside them.
 */
static void read_night_air(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           struct stv_building *out)
{
    static const char *const keys[] = {"air_change", "above", "cooler_by", "from", "to"};
    struct stv_yaml_want change = {STV_DIM_AIR_CHANGE, NULL, 0.0, 200.0};
    struct stv_yaml_want above = {STV_DIM_TEMPERATURE, NULL, -40.0, 60.0};
    struct stv_yaml_want cooler = {STV_DIM_TEMP_STEP, NULL, -50.0, 50.0};
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    stv_yaml_quantity(context, map, "air_change", change, &out->night_air_change_per_h);
    bool has_hours = stv__hours_from_yaml(context, map, &out->night_from_h, &out->night_to_h);
    if (has_hours && !stv_yaml_find(map, "above"))
        out->night_air_above_c = ANY_TEMPERATURE_C;
    if (has_hours && !stv_yaml_find(map, "cooler_by"))
        out->night_air_cooler_k = ANY_DIFFERENCE_K;
    stv_yaml_quantity(context, map, "above", above, &out->night_air_above_c);
    stv_yaml_quantity(context, map, "cooler_by", cooler, &out->night_air_cooler_k);
    if (!stv_yaml_find(map, "air_change"))
        stv_yaml_refuse(context, map, "needs air_change, like 5 1/h");
}

/* Numbers of the building model, one by one, in the unit that each name ends with. */
static void read_numbers(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_building_numbers *out)
{
    size_t n;
    const struct stv_building_number_info *table = stv_building_number_table(&n);
    const char *keys[NAMES_MAX];
    for (size_t i = 0; i < n && i < NAMES_MAX; i++)
        keys[i] = table[i].name;
    stv_yaml_known_keys(context, map, keys, n);
    for (size_t i = 0; i < n; i++) {
        struct stv_yaml_want want = {STV_DIM_NUMBER, NULL, table[i].least_nd, table[i].most_nd};
        double *number = (double *)(void *)((char *)out + table[i].offset);
        stv_yaml_quantity(context, map, table[i].name, want, number);
    }
}

/* Kind and size, which give the building to start from. */
static bool start_from_kind(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            struct stv_building *out)
{
    static const size_t tiers_range[2] = {1, STV_TIERS_MAX}, bays_range[2] = {1, STV_BAYS_MAX},
                        depth_range[2] = {1, STV_DEPTH_MAX};
    const char *names[STV_BUILDING_N];
    for (int i = 0; i < STV_BUILDING_N; i++)
        names[i] = stv_building_kind_name((enum stv_building_kind)i);
    size_t kind = 0, n_tiers = 0, n_bays = 0, n_depth = 0;
    struct stv_yaml_words kinds = {names, STV_BUILDING_N};
    bool has_kind = stv_yaml_word(context, map, "kind", kinds, &kind);
    if (!stv_yaml_find(map, "kind"))
        stv_yaml_refuse(context, map,
                        "needs a kind: dunnage, racked shed, rick house, palletised store or "
                        "plain zone");
    stv_yaml_count(context, map, "tiers", tiers_range, &n_tiers);
    stv_yaml_count(context, map, "bays", bays_range, &n_bays);
    stv_yaml_count(context, map, "depth", depth_range, &n_depth);
    return has_kind && stv_building_of_kind((enum stv_building_kind)kind, n_tiers, n_bays, n_depth,
                                            out) == STV_OK;
}

static void list_filled_in(const struct stv_yaml_node *map, char *out, size_t size)
{
    size_t used = 0;
    for (size_t i = 0; i < N_BUILDING_KEYS && used < size; i++) {
        const char *key = building_keys[i];
        bool is_own = strcmp(key, "name") == 0 || strcmp(key, "kind") == 0 ||
                      strcmp(key, "night_air") == 0 || /* the kinds have none: nothing filled in */
                      strcmp(key, "numbers") == 0 ||   /* listed by --parameters */
                      strcmp(key, "exposed") == 0 || strcmp(key, "cask_vapour") == 0;
        if (!is_own && !stv_yaml_find(map, key))
            used += (size_t)snprintf(out + used, size - used, "%s%s", used ? ", " : "", key);
    }
    for (char *at = out; *at; at++)
        if (*at == '_')
            *at = ' ';
}

static void check_tiers_fit(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            const struct stv_building *building)
{
    double top_m = (double)(building->n_tiers - 1) * building->tier_height_m;
    if (top_m > building->eaves_height_m)
        stv_yaml_refuse(context, map,
                        "%zu tiers %g m apart do not fit under eaves at %g m: say fewer tiers, "
                        "tier_height or eaves_height",
                        building->n_tiers, building->tier_height_m, building->eaves_height_m);
}

static void check_casks_fit(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            const struct stv_building *building)
{
    char room[64];
    double most = stv_building_casks_most_nd(building);
    const struct stv_yaml_node *said = stv_yaml_find(map, "casks_stored");
    if (!(building->n_casks > most))
        return;
    if (building->kind == STV_BUILDING_PLAIN_ZONE)
        snprintf(room, sizeof room, "%.1f x %.1f x %.1f m", building->length_m, building->width_m,
                 building->eaves_height_m);
    else
        snprintf(room, sizeof room, "%zu x %.1f m of tiers on %.1f x %.1f m", building->n_tiers,
                 building->tier_height_m, building->length_m, building->width_m);
    stv_yaml_refuse(context, said ? said : map,
                    "%.0f casks of %g L do not fit into %s: at most %.0f do, as close as round "
                    "casks can lie. Say fewer casks_stored, a smaller usual_cask, or more room",
                    building->n_casks, building->cask_capacity_l, room, most);
}

static void read_plain_keys(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            struct stv_building *building)
{
    for (size_t i = 0; i < N_PLAIN_KEYS; i++) {
        const struct plain_key *plain = &plain_keys[i];
        double *field = (double *)(void *)((char *)building + plain->offset);
        stv_yaml_quantity(context, map, plain->key, plain->want, field);
    }
}

static void keep_said_openings(const struct stv_yaml_node *map, const struct stv_building *said,
                               struct stv_building *building)
{
    if (stv_yaml_find(map, "leak_area"))
        building->leak_area_m2 = said->leak_area_m2;
    if (stv_yaml_find(map, "vent_low"))
        building->vent_low_m2 = said->vent_low_m2;
    if (stv_yaml_find(map, "vent_high"))
        building->vent_high_m2 = said->vent_high_m2;
}

bool stv__building_from_yaml(const struct stv_yaml_context *context,
                             const struct stv_yaml_node *map, struct stv_building *out,
                             char *filled_in, size_t size)
{
    size_t n_before = stv__n_refused(context->problems);
    struct stv_building building = {0};
    check_keys(context, map);
    bool has_start = start_from_kind(context, map, &building);
    /* The rest is looked at even then, so that all its faults are named at once. */
    read_plain_keys(context, map, &building);
    if (has_start) {
        /* Openings follow the plan as it is now; those that are said are read over them. */
        struct stv_building said = building;
        stv_building_size_openings(&building);
        keep_said_openings(map, &said, &building);
    }
    read_construction(context, map, "wall", &building.wall);
    read_construction(context, map, "roof", &building.roof);
    const struct stv_yaml_node *numbers_map = stv_yaml_map(context, map, "numbers");
    if (numbers_map)
        read_numbers(context, numbers_map, &building.numbers);
    const struct stv_yaml_node *floor_map = stv_yaml_map(context, map, "floor");
    if (floor_map)
        read_floor(context, floor_map, has_start, &building);
    const struct stv_yaml_node *night = stv_yaml_map(context, map, "night_air");
    if (night)
        read_night_air(context, night, &building);
    stv__levers_from_yaml(context, map, &building);
    if (has_start)
        stv__zone_from_yaml(context, map, &building);
    bool is_good = has_start && stv__n_refused(context->problems) == n_before;
    if (is_good) {
        check_tiers_fit(context, map, &building);
        check_casks_fit(context, map, &building);
    }
    if (is_good && stv__n_refused(context->problems) == n_before && stv_building_fault(&building))
        stv_yaml_refuse(context, map, "%s", stv_building_fault(&building));
    if (size > 0)
        list_filled_in(map, filled_in, size);
    *out = building;
    return is_good && stv__n_refused(context->problems) == n_before;
}

static void read_reach(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_warehouse *out)
{
    static const char *const keys[] = {"by_hand", "with_lift"};
    size_t range[2] = {0, out->building.n_tiers};
    stv_yaml_known_keys(context, map, keys, 2);
    stv_yaml_count(context, map, "by_hand", range, &out->by_hand_tiers);
    if (stv_yaml_count(context, map, "with_lift", range, &out->with_lift_tiers) &&
        out->with_lift_tiers < out->by_hand_tiers)
        stv_yaml_refuse(context, stv_yaml_find(map, "with_lift"),
                        "is lower than a hand reaches (tier %zu)", out->by_hand_tiers);
}

bool stv__warehouse_from_yaml(const struct stv_yaml_context *context,
                              const struct stv_yaml_node *map, struct stv_warehouse *out)
{
    size_t n_before = stv__n_refused(context->problems);
    *out = (struct stv_warehouse){0};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map, "a warehouse is written as \"key: value\" lines");
        return false;
    }
    stv_yaml_text(context, map, "name", out->name, sizeof out->name);
    if (!stv_yaml_find(map, "name"))
        stv_yaml_refuse(context, map, "needs a name");
    if (!stv__building_from_yaml(context, map, &out->building, out->filled_in,
                                 sizeof out->filled_in))
        return false;
    /* Common practice, no published source: two tiers by hand, the rest with gear. */
    out->by_hand_tiers = out->building.n_tiers < 2 ? out->building.n_tiers : 2;
    out->with_lift_tiers = out->building.n_tiers;
    const struct stv_yaml_node *reach = stv_yaml_map(context, map, "reach");
    if (reach)
        read_reach(context, reach, out);
    return stv__n_refused(context->problems) == n_before;
}
