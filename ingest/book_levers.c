/* What may be added to a building of any kind: windows, gains, heating, misting, roof spray, shade.
 * All of it is left out unless it is said. */
#include "ingest/book_parts.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

static const struct stv_yaml_want any_fraction = {STV_DIM_FRACTION, NULL, 0.0, 1.0};

/* What may be said to look or stand somewhere: the sides, and what only a shade stands before. */
static const char *const sides[] = {"north", "east", "south", "west", "roof"};
enum { N_SIDES = 4, ROOF = N_SIDES, N_SHADED };

/* One of the first n of these, in *out_idx, with the degrees of a side; or degrees, with n. */
static bool read_side(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const char *key, size_t n, size_t *out_idx, double *out_deg)
{
    struct stv_yaml_want angle = {STV_DIM_ANGLE, NULL, 0.0, 360.0};
    const struct stv_yaml_node *node = stv_yaml_find(map, key);
    *out_idx = n;
    if (!node) {
        stv_yaml_refuse(context, map, "needs %s: north, east, south, west, or 200 deg", key);
        return false;
    }
    if (node->text && isdigit((unsigned char)node->text[0]))
        return stv_yaml_quantity(context, map, key, angle, out_deg);
    if (!stv_yaml_word(context, map, key, (struct stv_yaml_words){sides, n}, out_idx))
        return false;
    *out_deg = 90.0 * (double)*out_idx;
    return true;
}

bool stv__side_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         const char *key, double *out_deg)
{
    size_t side;
    return read_side(context, map, key, N_SIDES, &side, out_deg);
}

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
                         struct stv_building *out)
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
        out->windows[out->n_windows++] = window;
    }
}

static void read_gains(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_building *out)
{
    static const char *const keys[] = {"power", "radiant"};
    struct stv_yaml_want power = {STV_DIM_POWER, NULL, 0.0, 1e6};
    stv_yaml_known_keys(context, map, keys, 2);
    if (!stv_yaml_quantity(context, map, "power", power, &out->gain_w) &&
        !stv_yaml_find(map, "power"))
        stv_yaml_refuse(context, map, "needs power, like 200 W");
    stv_yaml_quantity(context, map, "radiant", any_fraction, &out->gain_radiant_frac);
}

/* "18:00" as 18.0. */
static bool read_hour(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const char *key, double *out_h)
{
    char text[16], after;
    unsigned hour, minute;
    const struct stv_yaml_node *node = stv_yaml_find(map, key);
    if (!node || !stv_yaml_text(context, map, key, text, sizeof text))
        return false;
    bool is_time = sscanf(text, "%2u:%2u%c", &hour, &minute, &after) == 2 && hour <= 24 &&
                   minute < 60 && hour * 60 + minute <= 24 * 60;
    if (!is_time)
        stv_yaml_refuse(context, node, "is no time of day: write it like 18:00");
    else
        *out_h = (double)hour + (double)minute / 60.0;
    return is_time;
}

bool stv__hours_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          double *out_from_h, double *out_to_h)
{
    bool has_from = read_hour(context, map, "from", out_from_h);
    bool has_to = read_hour(context, map, "to", out_to_h);
    if ((stv_yaml_find(map, "from") == NULL) != (stv_yaml_find(map, "to") == NULL))
        stv_yaml_refuse(context, map, "needs both from and to, like 18:00 and 7:00");
    return has_from && has_to;
}

static void read_misting(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         size_t n_tiers, struct stv_misting *out)
{
    static const char *const keys[] = {
        "rate", "lowest_tier", "highest_tier", "above", "below_humidity", "from", "to"};
    struct stv_yaml_want rate = {STV_DIM_MASS_RATE, NULL, 0.0, 10000.0};
    struct stv_yaml_want above = {STV_DIM_TEMPERATURE, NULL, 0.0, 60.0};
    struct stv_yaml_want below = {STV_DIM_FRACTION, NULL, 0.05, 1.0};
    size_t range[2] = {1, n_tiers ? n_tiers : STV_TIERS_MAX}, lowest = 1, highest = range[1];
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    if (!stv_yaml_quantity(context, map, "rate", rate, &out->rate_kg_h) &&
        !stv_yaml_find(map, "rate"))
        stv_yaml_refuse(context, map, "needs a rate of all its tiers together, like 20 kg/h");
    stv_yaml_count(context, map, "lowest_tier", range, &lowest);
    stv_yaml_count(context, map, "highest_tier", range, &highest);
    if (lowest > highest)
        stv_yaml_refuse(context, stv_yaml_find(map, "lowest_tier"), "is above highest_tier");
    out->lowest_tier_idx = lowest - 1;
    out->highest_tier_idx = highest - 1;
    stv_yaml_quantity(context, map, "above", above, &out->above_c);
    stv_yaml_quantity(context, map, "below_humidity", below, &out->below_rh_frac);
    stv__hours_from_yaml(context, map, &out->from_h, &out->to_h);
}

static void read_roof_spray(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            struct stv_roof_spray *out)
{
    static const char *const keys[] = {"wet", "above", "sun_above", "from", "to"};
    struct stv_yaml_want above = {STV_DIM_TEMPERATURE, NULL, 0.0, 60.0};
    struct stv_yaml_want sun = {STV_DIM_IRRADIANCE, NULL, 0.0, 1500.0};
    stv_yaml_known_keys(context, map, keys, sizeof keys / sizeof keys[0]);
    if (!stv_yaml_quantity(context, map, "wet", any_fraction, &out->wet_frac) &&
        !stv_yaml_find(map, "wet"))
        stv_yaml_refuse(context, map, "needs wet, the share of the roof kept wet, like 70 %%");
    stv_yaml_quantity(context, map, "above", above, &out->above_c);
    stv_yaml_quantity(context, map, "sun_above", sun, &out->sun_w_m2);
    stv__hours_from_yaml(context, map, &out->from_h, &out->to_h);
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
    size_t side;
    if (!read_side(context, map, "on", N_SHADED, &side, &wall.azimuth_deg))
        return;
    if (side == ROOF) {
        if (*has_roof)
            stv_yaml_refuse(context, map, "shades the roof twice: put them together");
        *has_roof = true;
        out->roof_shade = wall.kept;
    } else if (out->n_wall_shades < STV_WALLS) {
        out->wall_shades[out->n_wall_shades++] = wall;
    } else {
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

const char *const stv__lever_keys[] = {"windows", "heat_gains", "heating",
                                       "misting", "roof_spray", "shade"};
const size_t stv__n_lever_keys = sizeof stv__lever_keys / sizeof stv__lever_keys[0];

void stv__levers_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           struct stv_building *building)
{
    struct stv_yaml_want heating = {STV_DIM_TEMPERATURE, NULL, -30.0, 60.0};
    const struct stv_yaml_node *node = stv_yaml_list(context, map, "windows");
    if (node)
        read_windows(context, node, building);
    if ((node = stv_yaml_map(context, map, "heat_gains")) != NULL)
        read_gains(context, node, building);
    stv_yaml_quantity(context, map, "heating", heating, &building->heating_c);
    if ((node = stv_yaml_map(context, map, "misting")) != NULL)
        read_misting(context, node, building->n_tiers, &building->misting);
    if ((node = stv_yaml_map(context, map, "roof_spray")) != NULL)
        read_roof_spray(context, node, &building->roof_spray);
    if ((node = stv_yaml_list(context, map, "shade")) != NULL)
        read_shades(context, node, building);
}
