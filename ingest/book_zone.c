/* What a plain zone may have beside walls, roof and floor: windows, a steady air change, gains,
 * heating, fixed films, and where the sun falls inside. */
#include "ingest/book_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct stv_yaml_want any_fraction = {STV_DIM_FRACTION, NULL, 0.0, 1.0};
static const char *const face_keys[STV_ZONE_FACES] = {
    [STV_ZONE_WALL] = "wall",
    [STV_ZONE_ROOF] = "roof",
    [STV_ZONE_FLOOR] = "floor",
    [STV_ZONE_WINDOW] = "window",
};

static void read_glazing(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_glazing *out)
{
    static const char *const keys[] = {"panes", "transmittance", "reflectance", "gap", "emittance"};
    static const size_t panes_range[2] = {1, STV_PANES_MAX};
    struct stv_yaml_want gap = {STV_DIM_LENGTH, NULL, 0.002, 0.1};
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    stv_yaml_count(context, map, "panes", panes_range, &out->n_panes);
    stv_yaml_quantity(context, map, "transmittance", any_fraction, &out->transmittance_frac);
    stv_yaml_quantity(context, map, "reflectance", any_fraction, &out->reflectance_frac);
    stv_yaml_quantity(context, map, "gap", gap, &out->gap_m);
    stv_yaml_quantity(context, map, "emittance", any_fraction, &out->emittance_frac);
    const char *fault = stv_glazing_fault(out);
    if (fault)
        stv_yaml_refuse(context, map, "%s", fault);
}

static void read_windows(const struct stv_yaml_context *context, const struct stv_yaml_node *list,
                         struct stv_zone *zone)
{
    static const char *const keys[] = {"facing", "area", "glazing"};
    struct stv_yaml_want area = {STV_DIM_AREA, NULL, 0.01, 10000.0};
    if (list->n_items > STV_WINDOWS_MAX) {
        stv_yaml_refuse(context, list,
                        "at most %d windows: put together those that look the same "
                        "way",
                        STV_WINDOWS_MAX);
        return;
    }
    for (size_t i = 0; i < list->n_items; i++) {
        const struct stv_yaml_node *map = &list->items[i];
        struct stv_wall_window window = {(double)NAN, (double)NAN, stv_glazing_default()};
        if (map->type != STV_YAML_MAP) {
            stv_yaml_refuse(context, map, "a window is written {facing: south, area: 12 m2}");
            continue;
        }
        stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
        stv__side_from_yaml(context, map, "facing", &window.azimuth_deg);
        if (!stv_yaml_quantity(context, map, "area", area, &window.area_m2) &&
            !stv_yaml_find(map, "area"))
            stv_yaml_refuse(context, map, "needs an area, like 6 m2");
        const struct stv_yaml_node *glazing = stv_yaml_map(context, map, "glazing");
        if (glazing)
            read_glazing(context, glazing, &window.glazing);
        zone->windows[zone->n_windows++] = window;
    }
}

static void read_gains(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_zone *zone)
{
    static const char *const keys[] = {"power", "radiant"};
    struct stv_yaml_want power = {STV_DIM_POWER, NULL, 0.0, 1e6};
    stv_yaml_known_keys(context, map, keys, 2);
    if (!stv_yaml_quantity(context, map, "power", power, &zone->gain_w) &&
        !stv_yaml_find(map, "power"))
        stv_yaml_refuse(context, map, "needs power, like 200 W");
    stv_yaml_quantity(context, map, "radiant", any_fraction, &zone->gain_radiant_frac);
}

static void read_films(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       double films_w_m2k[STV_ZONE_FACES])
{
    struct stv_yaml_want film = {STV_DIM_FILM, NULL, 0.05, 200.0};
    stv_yaml_known_keys(context, map, face_keys, STV_ZONE_FACES);
    for (size_t face = 0; face < STV_ZONE_FACES; face++)
        stv_yaml_quantity(context, map, face_keys[face], film, &films_w_m2k[face]);
}

static void read_sun_inside(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            struct stv_zone *zone)
{
    static const char *const keys[] = {"floor", "roof", "lost"};
    stv_yaml_known_keys(context, map, keys, 3);
    stv_yaml_quantity(context, map, "floor", any_fraction, &zone->sun_floor_frac);
    stv_yaml_quantity(context, map, "roof", any_fraction, &zone->sun_roof_frac);
    stv_yaml_quantity(context, map, "lost", any_fraction, &zone->sun_lost_frac);
    if (zone->sun_floor_frac + zone->sun_roof_frac + zone->sun_lost_frac > 1.0 + 1e-9)
        stv_yaml_refuse(context, map,
                        "floor, roof and lost are more than all the sun together; "
                        "what they leave falls on the walls");
}

static void refuse_other_kinds(const struct stv_yaml_context *context,
                               const struct stv_yaml_node *map)
{
    for (size_t i = 0; i < stv__n_zone_keys; i++) {
        const struct stv_yaml_node *node = stv_yaml_find(map, stv__zone_keys[i]);
        if (node)
            stv_yaml_refuse(context, node, "%s: worked out in a plain zone only",
                            stv__zone_keys[i]);
    }
}

const char *const stv__zone_keys[] = {"windows",      "air_change",    "heat_gains", "heating",
                                      "inside_films", "outside_films", "sun_inside"};
const size_t stv__n_zone_keys = sizeof stv__zone_keys / sizeof stv__zone_keys[0];

void stv__zone_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_building *building)
{
    struct stv_zone *zone = &building->zone;
    if (building->kind != STV_BUILDING_PLAIN_ZONE) {
        refuse_other_kinds(context, map);
        return;
    }
    struct stv_yaml_want change = {STV_DIM_AIR_CHANGE, NULL, 0.0, 100.0};
    struct stv_yaml_want heating = {STV_DIM_TEMPERATURE, NULL, -30.0, 60.0};
    const struct stv_yaml_node *node = stv_yaml_list(context, map, "windows");
    if (node)
        read_windows(context, node, zone);
    if (stv_yaml_quantity(context, map, "air_change", change, &zone->air_change_per_h) &&
        (stv_yaml_find(map, "leak_area") || stv_yaml_find(map, "vent_low") ||
         stv_yaml_find(map, "vent_high")))
        stv_yaml_refuse(context, stv_yaml_find(map, "air_change"),
                        "says the air twice: keep air_change, or leak_area and vents");
    if ((node = stv_yaml_map(context, map, "heat_gains")) != NULL)
        read_gains(context, node, zone);
    stv_yaml_quantity(context, map, "heating", heating, &zone->heating_c);
    if ((node = stv_yaml_map(context, map, "inside_films")) != NULL)
        read_films(context, node, zone->inside_film_w_m2k);
    if ((node = stv_yaml_map(context, map, "outside_films")) != NULL)
        read_films(context, node, zone->outside_film_w_m2k);
    if ((node = stv_yaml_map(context, map, "sun_inside")) != NULL)
        read_sun_inside(context, node, zone);
}
