/* What only a plain zone may have: a steady air change, fixed films, and where the sun falls
 * inside.
 */
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

const char *const stv__zone_keys[] = {"air_change", "inside_films", "outside_films", "sun_inside"};
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
    const struct stv_yaml_node *node;
    if (stv_yaml_quantity(context, map, "air_change", change, &zone->air_change_per_h) &&
        (stv_yaml_find(map, "leak_area") || stv_yaml_find(map, "vent_low") ||
         stv_yaml_find(map, "vent_high")))
        stv_yaml_refuse(context, stv_yaml_find(map, "air_change"),
                        "says the air twice: keep air_change, or leak_area and vents");
    if ((node = stv_yaml_map(context, map, "inside_films")) != NULL)
        read_films(context, node, zone->inside_film_w_m2k);
    if ((node = stv_yaml_map(context, map, "outside_films")) != NULL)
        read_films(context, node, zone->outside_film_w_m2k);
    if ((node = stv_yaml_map(context, map, "sun_inside")) != NULL)
        read_sun_inside(context, node, zone);
}
