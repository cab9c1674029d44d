/* What may be added to a building of any kind: shade.  All of it is left out unless it is said. */
#include "ingest/book_parts.h"

#include <math.h>
#include <string.h>
#include <strings.h>

static const struct stv_yaml_want any_fraction = {STV_DIM_FRACTION, NULL, 0.0, 1.0};

bool stv__side_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         const char *key, double *out_deg)
{
    static const char *const sides[] = {"north", "east", "south", "west"};
    struct stv_yaml_want angle = {STV_DIM_ANGLE, NULL, 0.0, 360.0};
    size_t index = 0;
    const struct stv_yaml_node *node = stv_yaml_find(map, key);
    if (!node) {
        stv_yaml_refuse(context, map, "needs %s: north, east, south, west, or 200 deg", key);
        return false;
    }
    if (node->type == STV_YAML_SCALAR && node->text[0] >= '0' && node->text[0] <= '9')
        return stv_yaml_quantity(context, map, key, angle, out_deg);
    if (!stv_yaml_word(context, map, key, (struct stv_yaml_words){sides, 4}, &index))
        return false;
    *out_deg = 90.0 * (double)index;
    return true;
}

static bool is_roof(const struct stv_yaml_node *map)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, "on");
    return node && node->type == STV_YAML_SCALAR && strcasecmp(node->text, "roof") == 0;
}

static void read_shade(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       bool *has_roof, struct stv_building *out)
{
    static const char *const keys[] = {"on", "beam", "sky"};
    struct stv_wall_shade wall = {.azimuth_deg = 0.0};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map, "a shade is written {on: west, beam: 70 %%, sky: 40 %%}");
        return;
    }
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    stv_yaml_quantity(context, map, "beam", any_fraction, &wall.kept.beam_frac);
    stv_yaml_quantity(context, map, "sky", any_fraction, &wall.kept.sky_frac);
    if (!stv_yaml_find(map, "beam") && !stv_yaml_find(map, "sky"))
        stv_yaml_refuse(context, map, "needs what it keeps off: beam, sky, or both");
    if (is_roof(map)) {
        if (*has_roof)
            stv_yaml_refuse(context, map, "shades the roof twice: put them together");
        *has_roof = true;
        out->roof_shade = wall.kept;
    } else if (stv__side_from_yaml(context, map, "on", &wall.azimuth_deg)) {
        if (out->n_wall_shades < STV_WALLS)
            out->wall_shades[out->n_wall_shades++] = wall;
        else
            stv_yaml_refuse(context, map, "is one shade more than there are walls");
    }
}

static void read_shades(const struct stv_yaml_context *context, const struct stv_yaml_node *list,
                        struct stv_building *out)
{
    bool has_roof = false;
    if (list->n_items > STV_WALLS + 1) {
        stv_yaml_refuse(context, list, "at most %d shades: the roof and the four walls",
                        STV_WALLS + 1);
        return;
    }
    for (size_t i = 0; i < list->n_items; i++)
        read_shade(context, &list->items[i], &has_roof, out);
}

const char *const stv__lever_keys[] = {"shade"};
const size_t stv__n_lever_keys = sizeof stv__lever_keys / sizeof stv__lever_keys[0];

void stv__levers_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           struct stv_building *building)
{
    const struct stv_yaml_node *node = stv_yaml_list(context, map, "shade");
    if (node)
        read_shades(context, node, building);
}
