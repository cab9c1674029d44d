/* Kinds of warehouse: their names, and a building of each with every default filled in.  The plan
 * follows from the casks: length = bays x pitch + an aisle, width = rows deep x pitch x the share
 * that inner aisles add + an aisle; the eaves stand a headroom above the top tier. */
#include "model/building.h"

#include "model/constructions.h"
#include "model/tables/building_kinds.h"

#include <math.h>
#include <string.h>
#include <strings.h>

/* Source: short-wave reflectance of grass and bare ground, 0.2, ISO 52010-1 default (from memory).
 */
#define GROUND_ALBEDO_FRAC 0.2
/* Other sizes give off water in proportion to area, that is to capacity to the power 2/3. */
#define BARREL_CAPACITY_L 200.0
/* East-west ridge, so that one slope faces the sun; judgement, the user's plan decides. */
#define LONG_AXIS_DEG 90.0
/* Night fans start above this inside air temperature, and when outdoor air is so much cooler,
 * unless said; only if a fan is said.  Judgement. */
#define NIGHT_AIR_ABOVE_C 22.0
#define NIGHT_AIR_COOLER_K 0.3 /* what two good sensors can tell apart */
/* A mist, if there is one, opens in air warmer than this and shuts before wood and labels grow
 * mould: growth wants about 0.8 and more for weeks, from memory.  Judgement. */
#define MIST_ABOVE_C 20.0
#define MIST_BELOW_RH_FRAC 0.8
/* A roof spray, if there is one, runs in warm air while the sun is well up.  Judgement. */
#define SPRAY_ABOVE_C 20.0
#define SPRAY_SUN_W_M2 200.0
/* Sun behind windows: most falls on the floor, some of what it throws back leaves again.
 * Source: ANSI/ASHRAE 140, interior solar fractions of case 600 (from memory). */
#define SUN_FLOOR_FRAC 0.642
#define SUN_ROOF_FRAC 0.168
#define SUN_LOST_FRAC 0.035

const char *stv_building_kind_name(enum stv_building_kind kind)
{
    size_t idx = (size_t)kind;
    return idx < STV_BUILDING_N ? kind_table[idx].name : NULL;
}

enum stv_status stv_building_kind_from_name(const char *name, enum stv_building_kind *out)
{
    if (!name || !out)
        return STV_E_ARG;
    for (size_t i = 0; i < STV_BUILDING_N; i++)
        if (strcasecmp(name, kind_table[i].name) == 0) {
            *out = (enum stv_building_kind)i;
            return STV_OK;
        }
    return STV_E_PARSE;
}

static void size_building(const struct kind_defaults *usual, struct stv_building *building)
{
    building->tier_height_m = usual->tier_height_m;
    building->eaves_height_m = (double)building->n_tiers * usual->tier_height_m + usual->headroom_m;
    building->length_m = (double)building->n_bays * usual->bay_pitch_m + usual->aisle_m;
    building->width_m =
        (double)building->n_depth * usual->depth_pitch_m * usual->depth_share_nd + usual->aisle_m;
    building->long_axis_deg = LONG_AXIS_DEG;
    building->roof_pitch_deg = usual->roof_pitch_deg;
}

void stv_building_size_openings(struct stv_building *building)
{
    const struct kind_defaults *usual = &kind_table[(size_t)building->kind];
    double plan_m2 = building->length_m * building->width_m;
    double envelope_m2 =
        plan_m2 + 2.0 * (building->length_m + building->width_m) * building->eaves_height_m;
    building->leak_area_m2 = usual->leak_envelope_frac * envelope_m2;
    building->vent_low_m2 = usual->vent_low_floor_frac * plan_m2;
    building->vent_high_m2 = usual->vent_high_floor_frac * plan_m2;
}

static void fill_air_paths(const struct kind_defaults *usual, struct stv_building *building)
{
    stv_building_size_openings(building);
    building->night_air_above_c = NIGHT_AIR_ABOVE_C;
    building->night_air_cooler_k = NIGHT_AIR_COOLER_K;
    building->night_from_h = building->night_to_h = (double)NAN;
    building->wind_shelter_frac = usual->wind_shelter_frac;
    building->ground_albedo_frac = GROUND_ALBEDO_FRAC;
}

static void fill_casks(const struct kind_defaults *usual, struct stv_building *building)
{
    if (building->kind != STV_BUILDING_PLAIN_ZONE)
        building->n_casks =
            (double)building->n_tiers * (double)building->n_bays * (double)building->n_depth;
    building->cask_capacity_l = usual->cask_capacity_l;
    building->numbers = stv_building_numbers_default();
    building->exposed_frac = usual->exposed_frac;
    building->cask_vapour_kg_h =
        usual->barrel_vapour_kg_h * pow(usual->cask_capacity_l / BARREL_CAPACITY_L, 2.0 / 3.0);
}

static void fill_zone(struct stv_zone *zone)
{
    zone->air_change_per_h = (double)NAN;
    for (size_t face = 0; face < STV_ZONE_FACES; face++)
        zone->inside_film_w_m2k[face] = zone->outside_film_w_m2k[face] = (double)NAN;
    zone->sun_floor_frac = SUN_FLOOR_FRAC;
    zone->sun_roof_frac = SUN_ROOF_FRAC;
    zone->sun_lost_frac = SUN_LOST_FRAC;
}

enum stv_status stv_building_of_kind(enum stv_building_kind kind, size_t n_tiers, size_t n_bays,
                                     size_t n_depth, struct stv_building *out)
{
    if (!out || (size_t)kind >= STV_BUILDING_N)
        return STV_E_ARG;
    if (n_tiers > STV_TIERS_MAX || n_bays > STV_BAYS_MAX || n_depth > STV_DEPTH_MAX)
        return STV_E_DOMAIN;
    const struct kind_defaults *usual = &kind_table[(size_t)kind];
    struct stv_building made = {.kind = kind,
                                .n_tiers = n_tiers ? n_tiers : usual->n_tiers,
                                .n_bays = n_bays ? n_bays : usual->n_bays,
                                .n_depth = n_depth ? n_depth : usual->n_depth,
                                .floor = usual->floor,
                                .floor_wetness_frac = usual->floor_wetness_frac};
    enum stv_status status = stv_construction_from_name(usual->wall, &made.wall);
    if (status == STV_OK)
        status = stv_construction_from_name(usual->roof, &made.roof);
    if (status != STV_OK)
        return status;
    size_building(usual, &made);
    fill_air_paths(usual, &made);
    fill_casks(usual, &made);
    fill_zone(&made.zone);
    made.heating_c = (double)NAN;
    made.roof_spray = (struct stv_roof_spray){.above_c = SPRAY_ABOVE_C,
                                              .sun_w_m2 = SPRAY_SUN_W_M2,
                                              .from_h = (double)NAN,
                                              .to_h = (double)NAN};
    made.misting = (struct stv_misting){.highest_tier_idx = STV_TIERS_MAX - 1,
                                        .above_c = MIST_ABOVE_C,
                                        .below_rh_frac = MIST_BELOW_RH_FRAC,
                                        .from_h = (double)NAN,
                                        .to_h = (double)NAN};
    *out = made;
    return STV_OK;
}
