/* Geometry of a building: levels of air, walls by orientation and level, roof, casks of a tier; and
 * which buildings are impossible.
 *
 * Every tier is a slice of the plan; what remains up to the eaves, with the gable, is the head
 * space.  A plain zone is one level up to the ridge.  Racks, floors between tiers and partitions
 * take no room and store no heat. */
#include "model/building_parts.h"

#include "model/cask_room.h"
#include "model/cooperage.h"

#include <math.h>

/* Source: cask heat terms of the parameter sheet (DEVELOPERS.md, Sources), section 3: 97 % full at
 * 60 % by volume, 0.6 of the wood's mass at 1700 J/kgK, oak 0.17 W/mK, inside film 80 W/m2K. */
#define SPIRIT_ABV20_FRAC 0.60
#define SHELL_J_KGK (0.6 * 1700.0)
#define OAK_W_MK 0.17
#define INSIDE_FILM_W_M2K 80.0
#define OAK_KG_M3 720.0
#define MM_PER_M 1000.0
#define L_PER_M3 1000.0

/* A window, or a shade, looks as its wall does within this. */
#define FACING_DEG 1.0
#define WINDOW_MOST_FRAC 0.98 /* of a wall: some wall is left around it */

/* Round casks side by side fill at most pi/(2 sqrt 3) = 0.907 of a slice. */
#define PACKED_MAX_FRAC 0.907

static const double rad = 3.14159265358979323846 / 180.0;

static double cask_room_m3(const struct stv_cask_geometry *cask)
{
    return cask->capacity_l / L_PER_M3 + cask->wood_kg / OAK_KG_M3;
}

static bool within(double value, double least, double most)
{
    return value >= least && value <= most; /* false for NaN */
}

static void place_walls(const struct stv_building *building, double wall_azimuth_deg[STV__FACES])
{
    /* The long walls and the slopes look across the ridge, the ends along it. */
    const double turns_deg[STV__FACES] = {90.0, 270.0, 0.0, 180.0};
    for (size_t face = 0; face < STV__FACES; face++)
        wall_azimuth_deg[face] = fmod(building->long_axis_deg + turns_deg[face] + 720.0, 360.0);
}

/* The wall that looks that way; STV__FACES when none does. */
static size_t wall_facing(const double *wall_azimuth_deg, double azimuth_deg)
{
    size_t face = 0;
    while (face < STV__FACES &&
           fabs(remainder(wall_azimuth_deg[face] - azimuth_deg, 360.0)) > FACING_DEG)
        face++;
    return face;
}

static const char *size_fault(const struct stv_building *b)
{
    if (!within(b->length_m, 1.0, 500.0) || !within(b->width_m, 1.0, 500.0))
        return "length and width must lie between 1 and 500 m";
    if (!within(b->eaves_height_m, 0.5, 60.0))
        return "the eaves must stand 0.5 to 60 m high";
    if (!within(b->long_axis_deg, -360.0, 360.0))
        return "the long axis must be an angle between -360 and 360 degrees";
    if (!within(b->roof_pitch_deg, 0.0, 60.0))
        return "the roof pitch must lie between 0 and 60 degrees";
    if (b->n_tiers < 1 || b->n_tiers > STV_TIERS_MAX)
        return "there must be 1 to 32 tiers";
    if (b->kind == STV_BUILDING_PLAIN_ZONE)
        return b->n_tiers == 1 ? NULL : "a plain zone has one tier";
    if (!within(b->tier_height_m, 0.3, 10.0))
        return "the tier height must lie between 0.3 and 10 m";
    /* A hundredth of a millimetre forgives the rounding of tiers x height. */
    if ((double)b->n_tiers * b->tier_height_m > b->eaves_height_m + 1e-5)
        return "the tiers stand higher than the eaves";
    return NULL;
}

static bool are_hours(double from_h, double to_h)
{
    return (isnan(from_h) && isnan(to_h)) || (within(from_h, 0.0, 24.0) && within(to_h, 0.0, 24.0));
}

static const char *air_fault(const struct stv_building *b)
{
    double plan_m2 = b->length_m * b->width_m;
    if (!within(b->leak_area_m2, 0.0, plan_m2))
        return "the leak area must lie between 0 and the floor area";
    if (!within(b->vent_low_m2, 0.0, plan_m2) || !within(b->vent_high_m2, 0.0, plan_m2))
        return "the openings must lie between 0 and the floor area";
    if (!within(b->night_air_change_per_h, 0.0, 100.0))
        return "the night air change must lie between 0 and 100 per hour";
    if (!within(b->night_air_above_c, -100.0, 80.0) || !within(b->night_air_cooler_k, -200.0, 50.0))
        return "the night air thresholds must lie between -100 and 80 C, and -200 and 50 K";
    if (!are_hours(b->night_from_h, b->night_to_h))
        return "the hours of night air must both be said, from 0 to 24";
    if (!within(b->wind_shelter_frac, 0.0, 1.5))
        return "the wind shelter must lie between 0 and 1.5";
    if (!within(b->ground_albedo_frac, 0.0, 1.0))
        return "the ground albedo must lie between 0 and 1";
    return NULL;
}

double stv_building_casks_most_nd(const struct stv_building *building)
{
    const struct stv_building *b = building;
    const struct stv_cask_numbers numbers = stv_cask_numbers_default();
    struct stv_cask_geometry cask;
    if (stv_cask_geometry(b->cask_capacity_l, NAN, &numbers, &cask) != STV_OK)
        return (double)NAN;
    double height_m = b->kind == STV_BUILDING_PLAIN_ZONE ? b->eaves_height_m
                                                         : (double)b->n_tiers * b->tier_height_m;
    return floor(PACKED_MAX_FRAC * b->length_m * b->width_m * height_m / cask_room_m3(&cask));
}

static const char *cask_fault(const struct stv_building *b)
{
    double most = stv_building_casks_most_nd(b);
    if (!within(b->cask_vapour_kg_h, 0.0, 0.1))
        return "the vapour of a cask must lie between 0 and 0.1 kg/h";
    if (!within(b->exposed_frac, 0.05, 1.0))
        return "the exposed share of a cask must lie between 0.05 and 1";
    if (isnan(most))
        return "the usual cask must hold 1 to 1000 L";
    if (!within(b->n_casks, 0.0, most))
        return "the casks do not fit into the tiers";
    return NULL;
}

static const char *window_fault(const struct stv_building *b)
{
    double azimuth_deg[STV__FACES], left_m2[STV__FACES];
    if (b->n_windows > STV_WINDOWS_MAX)
        return "there are more than 8 windows: put together those that look the same way";
    place_walls(b, azimuth_deg);
    for (size_t face = 0; face < STV__FACES; face++)
        left_m2[face] =
            WINDOW_MOST_FRAC * b->eaves_height_m * (face < 2 ? b->length_m : b->width_m);
    for (size_t k = 0; k < b->n_windows; k++) {
        const struct stv_wall_window *window = &b->windows[k];
        size_t face = wall_facing(azimuth_deg, window->azimuth_deg);
        if (face == STV__FACES)
            return "a window must look the same way as one of the four walls";
        if (!within(window->area_m2, 0.0, left_m2[face]))
            return "the windows are larger than their wall";
        left_m2[face] -= window->area_m2;
        if (stv_glazing_fault(&window->glazing))
            return stv_glazing_fault(&window->glazing);
    }
    return NULL;
}

static const char *heat_fault(const struct stv_building *b)
{
    if (!within(b->gain_w, 0.0, 1e6) || !within(b->gain_radiant_frac, 0.0, 1.0))
        return "the gains must lie between 0 and 1 MW, their radiant share between 0 and 1";
    if (!isnan(b->heating_c) && !within(b->heating_c, -30.0, 60.0))
        return "the heating must hold between -30 and 60 C";
    return NULL;
}

static const char *misting_fault(const struct stv_building *b)
{
    const struct stv_misting *misting = &b->misting;
    if (!within(misting->rate_kg_h, 0.0, 10000.0))
        return "the misting must lie between 0 and 10000 kg/h";
    if (misting->rate_kg_h <= 0.0)
        return NULL;
    if (misting->lowest_tier_idx >= b->n_tiers ||
        misting->lowest_tier_idx > misting->highest_tier_idx)
        return "the misting must lie in tiers that there are, the lowest first";
    if (!within(misting->above_c, 0.0, 60.0) || !within(misting->below_rh_frac, 0.05, 1.0))
        return "the misting opens above 0 to 60 C, and below 5 to 100 % of humidity";
    if (!are_hours(misting->from_h, misting->to_h))
        return "the hours of misting must both be said, from 0 to 24";
    return NULL;
}

static const char *spray_fault(const struct stv_building *b)
{
    const struct stv_roof_spray *spray = &b->roof_spray;
    if (!within(spray->wet_frac, 0.0, 1.0))
        return "the spray keeps between none and all of the roof wet";
    if (spray->wet_frac <= 0.0)
        return NULL;
    if (!within(spray->above_c, 0.0, 60.0) || !within(spray->sun_w_m2, 0.0, 1500.0))
        return "the roof spray runs above 0 to 60 C, and from 0 to 1500 W/m2 of sun";
    if (!are_hours(spray->from_h, spray->to_h))
        return "the hours of the roof spray must both be said, from 0 to 24";
    return NULL;
}

static bool is_shade(const struct stv_shade *kept)
{
    return within(kept->beam_frac, 0.0, 1.0) && within(kept->sky_frac, 0.0, 1.0);
}

static const char *shade_fault(const struct stv_building *b)
{
    double azimuth_deg[STV__FACES];
    bool is_taken[STV__FACES + 1] = {false};
    place_walls(b, azimuth_deg);
    if (b->n_wall_shades > STV_WALLS)
        return "there are more shades than walls";
    bool is_good = is_shade(&b->roof_shade);
    for (size_t k = 0; k < b->n_wall_shades; k++) {
        size_t face = wall_facing(azimuth_deg, b->wall_shades[k].azimuth_deg);
        if (face == STV__FACES)
            return "a shade must stand before the roof or one of the four walls";
        if (is_taken[face])
            return "a wall has two shades: put them together";
        is_taken[face] = true;
        is_good = is_good && is_shade(&b->wall_shades[k].kept);
    }
    return is_good ? NULL : "a shade keeps off between 0 and all of the beam and of the sky";
}

static bool is_film(double film_w_m2k)
{
    return isnan(film_w_m2k) || within(film_w_m2k, 0.05, 200.0);
}

/* Numbers of the model outside what their table allows. */
static const char *numbers_fault(const struct stv_building *b)
{
    size_t n;
    const struct stv_building_number_info *table = stv_building_number_table(&n);
    for (size_t i = 0; i < n; i++) {
        double value = *stv_building_number_nd(&b->numbers, i);
        if (!within(value, table[i].least_nd, table[i].most_nd))
            return "a number of the building model lies outside what its table allows";
    }
    return NULL;
}

static const char *zone_fault(const struct stv_building *b)
{
    const struct stv_zone *zone = &b->zone;
    if (!isnan(zone->air_change_per_h) && b->kind != STV_BUILDING_PLAIN_ZONE)
        return "a said air change is worked out in a plain zone only";
    if (!isnan(zone->air_change_per_h) && !within(zone->air_change_per_h, 0.0, 100.0))
        return "the air change must lie between 0 and 100 per hour";
    for (size_t face = 0; face < STV_ZONE_FACES; face++)
        if (!is_film(zone->inside_film_w_m2k[face]) || !is_film(zone->outside_film_w_m2k[face]))
            return "a film must lie between 0.05 and 200 W/m2K";
    if (!within(zone->sun_floor_frac, 0.0, 1.0) || !within(zone->sun_roof_frac, 0.0, 1.0) ||
        !within(zone->sun_lost_frac, 0.0, 1.0) ||
        zone->sun_floor_frac + zone->sun_roof_frac + zone->sun_lost_frac > 1.0)
        return "the shares of the sun inside must lie between 0 and 1, together at most 1";
    return NULL;
}

const char *stv_building_fault(const struct stv_building *building)
{
    if (!building || (size_t)building->kind >= STV_BUILDING_N)
        return "there is no such kind of building";
    const char *fault = size_fault(building);
    if (!fault)
        fault = air_fault(building);
    if (!fault)
        fault = cask_fault(building);
    if (!fault)
        fault = zone_fault(building);
    if (!fault)
        fault = numbers_fault(building);
    if (!fault)
        fault = window_fault(building);
    if (!fault)
        fault = heat_fault(building);
    if (!fault)
        fault = misting_fault(building);
    if (!fault)
        fault = spray_fault(building);
    if (!fault)
        fault = shade_fault(building);
    if (!fault && building->floor_layers.n_layers > 0 &&
        stv_construction_check(&building->floor_layers) != STV_OK)
        fault = "the floor has an impossible layer";
    if (!fault && stv_construction_check(&building->wall) != STV_OK)
        fault = "the wall has an impossible layer or finish";
    if (!fault && stv_construction_check(&building->roof) != STV_OK)
        fault = "the roof has an impossible layer or finish";
    if (!fault && (size_t)building->floor > STV_FLOOR_SUSPENDED)
        fault = "there is no such kind of floor";
    if (!fault && !within(building->floor_wetness_frac, 0.0, 1.0))
        fault = "the wetness of the floor must lie between 0 and 1";
    return fault;
}

static void place_levels(const struct stv_building *building, struct stv__shape *shape)
{
    double rise_m = 0.5 * building->width_m * tan(rad * building->roof_pitch_deg);
    double gable_m3 = 0.5 * rise_m * shape->plan_m2;
    double gable_end_m2 = 0.5 * rise_m * building->width_m;
    size_t top = shape->n_levels - 1;
    for (size_t i = 0; i < shape->n_levels; i++) {
        double height_m = building->tier_height_m;
        if (!shape->has_head)
            height_m = building->eaves_height_m;
        else if (i == top)
            height_m = fmax(
                building->eaves_height_m - (double)shape->n_tiers * building->tier_height_m, 0.0);
        for (size_t face = 0; face < STV__FACES; face++)
            shape->wall_m2[i][face] =
                height_m * (face < 2 ? building->length_m : building->width_m);
        shape->eaves_frac[i] = height_m / building->eaves_height_m;
        shape->level_volume_m3[i] = height_m * shape->plan_m2;
        if (i == top) {
            shape->level_volume_m3[i] += gable_m3;
            shape->wall_m2[i][2] += gable_end_m2;
            shape->wall_m2[i][3] += gable_end_m2;
        }
        shape->level_height_m[i] = shape->level_volume_m3[i] / shape->plan_m2;
        shape->height_m += shape->level_height_m[i];
    }
    for (size_t i = 0; i + 1 < shape->n_levels; i++)
        shape->level_gap_m[i] = 0.5 * (shape->level_height_m[i] + shape->level_height_m[i + 1]);
}

/* A window takes from its wall below the eaves, the same share at every height. */
static void cut_windows(const struct stv_building *building, struct stv__shape *shape)
{
    for (size_t k = 0; k < building->n_windows; k++) {
        size_t face = wall_facing(shape->wall_azimuth_deg, building->windows[k].azimuth_deg);
        shape->window_face[k] = face;
        for (size_t i = 0; i < shape->n_levels; i++)
            shape->wall_m2[i][face] -= building->windows[k].area_m2 * shape->eaves_frac[i];
    }
}

static void place_shades(const struct stv_building *building, struct stv__shape *shape)
{
    for (size_t k = 0; k < building->n_wall_shades; k++)
        shape->wall_shade[wall_facing(shape->wall_azimuth_deg,
                                      building->wall_shades[k].azimuth_deg)] =
            building->wall_shades[k].kept;
}

/* Shares of the leakage stream below and above mid-height, by the pressure there. */
static void share_leakage(struct stv__shape *shape)
{
    double below = 0.0, above = 0.0, foot_m = 0.0;
    for (size_t i = 0; i < shape->n_levels; i++) {
        double off_m = foot_m + 0.5 * shape->level_height_m[i] - 0.5 * shape->height_m;
        double weight = shape->level_height_m[i] * sqrt(fabs(off_m));
        shape->leak_low_frac[i] = off_m < 0.0 ? weight : 0.0;
        shape->leak_high_frac[i] = off_m > 0.0 ? weight : 0.0;
        below += shape->leak_low_frac[i];
        above += shape->leak_high_frac[i];
        foot_m += shape->level_height_m[i];
    }
    for (size_t i = 0; i < shape->n_levels; i++) {
        shape->leak_low_frac[i] = below > 0.0 ? shape->leak_low_frac[i] / below : i == 0;
        shape->leak_high_frac[i] =
            above > 0.0 ? shape->leak_high_frac[i] / above : i + 1 == shape->n_levels;
    }
}

void stv__shape_of(const struct stv_building *building, struct stv__shape *out)
{
    *out = (struct stv__shape){.n_tiers = building->n_tiers};
    out->has_head = building->kind != STV_BUILDING_PLAIN_ZONE;
    out->n_levels = building->n_tiers + (out->has_head ? 1 : 0);
    out->numbers = &building->numbers;
    out->plan_m2 = building->length_m * building->width_m;
    out->perimeter_m = 2.0 * (building->length_m + building->width_m);
    out->roof_m2 = out->plan_m2 / cos(rad * building->roof_pitch_deg);
    place_walls(building, out->wall_azimuth_deg);
    for (size_t slope = 0; slope < STV__SLOPES; slope++)
        out->slope_azimuth_deg[slope] = out->wall_azimuth_deg[slope];
    place_levels(building, out);
    cut_windows(building, out);
    place_shades(building, out);
    share_leakage(out);
}

enum stv_status stv__casks_of(const struct stv_building *building, struct stv__shape *shape)
{
    const struct stv_cask_numbers numbers = stv_cask_numbers_default();
    struct stv_cask_geometry cask;
    enum stv_status status = stv_cask_geometry(building->cask_capacity_l, NAN, &numbers, &cask);
    if (status != STV_OK)
        return status;
    double n = building->n_casks / (double)shape->n_tiers;
    double half_stave_k_w = 0.5 * cask.stave_mm / MM_PER_M / (OAK_W_MK * cask.mid_area_m2);
    double film_k_w =
        1.0 / (building->numbers.cask_outside_w_m2k * building->exposed_frac * cask.outer_area_m2);
    double core_k_w = half_stave_k_w + 1.0 / (INSIDE_FILM_W_M2K * cask.inner_area_m2);
    double heat_j_k = stv_cask_heat_capacity_j_k(&cask, STV_USUAL_FILL_FRAC * cask.capacity_l,
                                                 SPIRIT_ABV20_FRAC, &numbers);
    double shell_j_k = SHELL_J_KGK * cask.wood_kg;
    shape->casks = (struct stv__casks){
        .n = n,
        .outer_m2 = n * cask.outer_area_m2,
        .shell_j_k = n * shell_j_k,
        .liquid_j_k = n * (heat_j_k - shell_j_k),
        .film_w_k = n / (film_k_w + half_stave_k_w),
        .core_w_k = n / core_k_w,
        .skin_air_frac = half_stave_k_w / (film_k_w + half_stave_k_w),
        .cover_frac =
            fmin(n * cask.outer_area_m2 / (STV__FULL_STORE_CASK_M2_PER_M2 * shape->plan_m2), 1.0)};
    for (size_t i = 0; i < shape->n_tiers; i++)
        shape->level_volume_m3[i] -= n * cask_room_m3(&cask);
    for (size_t i = 0; i < shape->n_levels; i++)
        shape->volume_m3 += shape->level_volume_m3[i];
    return isfinite(heat_j_k) ? STV_OK : STV_E_DOMAIN;
}
