/* The floor and the ground under it.  The floor and half a metre of soil are cut into finite
 * volumes; behind them stands a conductance that restores the steady U of ISO 13370,
 *
 *   d_f = w + lambda (R_si + R_f + R_se),  B' = A/(0.5 P)
 *   U = 2 lambda/(pi B' + d_f) ln(pi B'/d_f + 1)   for d_f < B',   lambda/(0.457 B' + d_f) else,
 *
 * and a virtual ground temperature: the outdoor yearly mean plus its yearly wave, cut to
 * H_pe/(A U) with H_pe = 0.37 P lambda ln(delta/d_f + 1), a month late.  The daily wave and the
 * inside's own yearly wave are carried by the soil cells.  Water in the soil does not move, and
 * edge insulation is left out. */
#include "model/building_parts.h"

#include "model/constructions.h"
#include "model/units.h"

#include <math.h>

/* Source: ISO 13370:2017: wall on the slab's edge, surface resistances 0.17 and 0.04 m2K/W; one
 * month of lag (all from memory). */
#define EDGE_WALL_M 0.3
#define FILM_INSIDE_M2K_W 0.17
#define FILM_OUTSIDE_M2K_W 0.04
#define PERIODIC_EDGE_ND 0.37
#define LAG_D (STV_YEAR_D / 12.0)

#define SOIL_CELLS_M 0.5
#define SLAB_M 0.15
#define BOARDS_M 0.025
/* Source: still air under boards, downward heat flow, ISO 6946:2017 table 8, 0.21 (from memory). */
#define UNDERFLOOR_GAP_M2K_W 0.21
/* Calm outdoor air under a suspended floor, with long wave from the ground: 3.5 + 5.1 x 0.9. */
#define SUSPENDED_FILM_W_M2K 8.1
/* Fewer days than this cannot tell a yearly wave from a warm spell. */
#define WAVE_RECORD_MIN_D 300.0
/* The soil cells alone may already resist more than ISO 13370 asks of a tiny floor; the rest is
 * then deep soil through which heat still passes, at least this resistance. */
#define DEEP_MIN_M2K_W 0.1

static const double pi_nd = 3.14159265358979323846;

static double yearly_angle_rad(int64_t time_s)
{
    return 2.0 * pi_nd * (double)time_s / (STV_YEAR_D * STV_DAY_S);
}

static double effective_depth_m(double floor_m2k_w, double ground_w_mk)
{
    return EDGE_WALL_M + ground_w_mk * (FILM_INSIDE_M2K_W + floor_m2k_w + FILM_OUTSIDE_M2K_W);
}

double stv__slab_u_w_m2k(double plan_m2, double perimeter_m, double floor_m2k_w, double ground_w_mk)
{
    double plan_width_m = plan_m2 / (0.5 * perimeter_m);
    double depth_m = effective_depth_m(floor_m2k_w, ground_w_mk);
    if (depth_m < plan_width_m)
        return 2.0 * ground_w_mk / (pi_nd * plan_width_m + depth_m) *
               log(pi_nd * plan_width_m / depth_m + 1.0);
    return ground_w_mk / (0.457 * plan_width_m + depth_m);
}

static struct stv_layer material_layer(const struct stv_material *material, double thickness_m)
{
    return (struct stv_layer){.conductivity_w_mk = material->conductivity_w_mk,
                              .thickness_m = thickness_m,
                              .density_kg_m3 = material->density_kg_m3,
                              .cp_j_kgk = material->cp_j_kgk};
}

/* Soil between dry and moist, in proportion to how wet it is said to be. */
static enum stv_status soil_material(double wetness_frac, struct stv_material *out)
{
    struct stv_material dry, moist;
    enum stv_status status = stv_material_from_name("dry soil", &dry);
    if (status == STV_OK)
        status = stv_material_from_name("moist soil", &moist);
    if (status != STV_OK)
        return status;
    double dry_frac = 1.0 - wetness_frac;
    out->conductivity_w_mk =
        dry_frac * dry.conductivity_w_mk + wetness_frac * moist.conductivity_w_mk;
    out->density_kg_m3 = dry_frac * dry.density_kg_m3 + wetness_frac * moist.density_kg_m3;
    out->cp_j_kgk = dry_frac * dry.cp_j_kgk + wetness_frac * moist.cp_j_kgk;
    return STV_OK;
}

/* Layers from below upwards, and the resistance of the floor proper. */
static enum stv_status lay_floor(const struct stv_building *building,
                                 struct stv_construction *floor, double *out_floor_m2k_w)
{
    struct stv_material soil, concrete, boards;
    double wetness_frac = building->floor == STV_FLOOR_EARTH ? building->floor_wetness_frac : 1.0;
    enum stv_status status = soil_material(wetness_frac, &soil);
    if (status == STV_OK)
        status = stv_material_from_name("dense concrete", &concrete);
    if (status == STV_OK)
        status = stv_material_from_name("softwood", &boards);
    if (status != STV_OK)
        return status;
    if (building->floor_layers.n_layers > 0 && building->floor == STV_FLOOR_SUSPENDED) {
        *floor = building->floor_layers;
        *out_floor_m2k_w = 0.0;
        return STV_OK;
    }
    *floor = (struct stv_construction){.n_layers = 0};
    *out_floor_m2k_w = 0.0;
    if (building->floor != STV_FLOOR_SUSPENDED)
        floor->layers[floor->n_layers++] = material_layer(&soil, SOIL_CELLS_M);
    if (building->floor == STV_FLOOR_SLAB) {
        floor->layers[floor->n_layers++] = material_layer(&concrete, SLAB_M);
        *out_floor_m2k_w = SLAB_M / concrete.conductivity_w_mk;
    }
    if (building->floor == STV_FLOOR_TIMBER) {
        floor->layers[floor->n_layers++] =
            (struct stv_layer){.resistance_m2k_w = UNDERFLOOR_GAP_M2K_W};
        *out_floor_m2k_w = UNDERFLOOR_GAP_M2K_W + BOARDS_M / boards.conductivity_w_mk;
    }
    if (building->floor == STV_FLOOR_TIMBER || building->floor == STV_FLOOR_SUSPENDED)
        floor->layers[floor->n_layers++] = material_layer(&boards, BOARDS_M);
    return STV_OK;
}

/* Mean and yearly wave of outdoor air by least squares on 1, cos, sin: three normal equations. */
static void fit_yearly_wave(const struct stv_weather *weather, struct stv__ground *out)
{
    const double *temp_c = weather->columns[STV_WC_TEMP_C];
    size_t n = weather->grid.n;
    out->mean_c = stv_mean_nd(temp_c, n);
    out->cos_k = out->sin_k = 0.0;
    if ((double)n < WAVE_RECORD_MIN_D * STV_DAY_H)
        return;
    double c = 0, s = 0, cc = 0, cs = 0, ss = 0, tc = 0, ts = 0;
    for (size_t k = 0; k < n; k++) {
        double angle_rad = yearly_angle_rad(stv_grid_start_s(&weather->grid, k));
        double cos_nd = cos(angle_rad), sin_nd = sin(angle_rad);
        c += cos_nd;
        s += sin_nd;
        cc += cos_nd * cos_nd;
        cs += cos_nd * sin_nd;
        ss += sin_nd * sin_nd;
        tc += (temp_c[k] - out->mean_c) * cos_nd;
        ts += (temp_c[k] - out->mean_c) * sin_nd;
    }
    double count = (double)n;
    /* The constant is eliminated first: temperatures are already counted from their mean. */
    double m11 = cc - c * c / count, m12 = cs - c * s / count, m22 = ss - s * s / count;
    double determinant = m11 * m22 - m12 * m12;
    out->cos_k = (tc * m22 - ts * m12) / determinant;
    out->sin_k = (ts * m11 - tc * m12) / determinant;
    out->mean_c -= (out->cos_k * c + out->sin_k * s) / count;
}

enum stv_status stv__ground_of(const struct stv_building *building, const struct stv__shape *shape,
                               const struct stv_weather *weather, struct stv__ground *out)
{
    double floor_m2k_w;
    enum stv_status status = lay_floor(building, &out->floor, &floor_m2k_w);
    if (status != STV_OK)
        return status;
    fit_yearly_wave(weather, out);
    if (building->floor == STV_FLOOR_SUSPENDED) {
        double said_w_m2k = building->zone.outside_film_w_m2k[STV_ZONE_FLOOR];
        out->under_w_m2k = isfinite(said_w_m2k) ? said_w_m2k : SUSPENDED_FILM_W_M2K;
        return STV_OK;
    }
    const struct stv_building_numbers *numbers = shape->numbers;
    double u_w_m2k =
        stv__slab_u_w_m2k(shape->plan_m2, shape->perimeter_m, floor_m2k_w, numbers->ground_w_mk);
    double cells_m2k_w = 1.0 / stv_construction_u_w_m2k(&out->floor, FILM_INSIDE_M2K_W, 0.0);
    out->under_w_m2k = 1.0 / fmax(1.0 / u_w_m2k - cells_m2k_w, DEEP_MIN_M2K_W);
    double edge_w_k = PERIODIC_EDGE_ND * shape->perimeter_m * numbers->ground_w_mk *
                      log(numbers->ground_periodic_depth_m /
                              effective_depth_m(floor_m2k_w, numbers->ground_w_mk) +
                          1.0);
    double share_frac = fmin(edge_w_k / (u_w_m2k * shape->plan_m2), 1.0);
    out->cos_k *= share_frac;
    out->sin_k *= share_frac;
    return STV_OK;
}

double stv__ground_c(const struct stv__ground *ground, int64_t time_s)
{
    double angle_rad = yearly_angle_rad(time_s - (int64_t)(LAG_D * STV_DAY_S));
    return ground->mean_c + ground->cos_k * cos(angle_rad) + ground->sin_k * sin(angle_rad);
}
