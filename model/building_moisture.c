/* Vapour of the levels, kg per m3, with wood and floor that take up and give off water.
 *
 *   V dv/dt  = sum Q (v_j - v) + in (v_out - v) + casks + mist + floor - sum A h_s (v - phi_s
 * v_sat(T_w)) c_s dphi_s/dt = h_s (v - phi_s v_sat) - h_d v_sat (phi_s - phi_d)      per m2 of wood
 *   c_d dphi_d/dt = h_d v_sat (phi_s - phi_d)
 *   floor    w A h_m (v_sat(T_floor) - v)                                  earth only
 *
 * Two layers after the effective-penetration-depth idea: a skin for the day, a deeper one for
 * weeks.  Levels form a tridiagonal system: it is eliminated from the top down to level 0 before
 * the heat is solved, so that the floor's evaporation is linear in its temperature and draws its
 * latent heat exactly.  Water above saturation at the end of a step runs off and is booked.  The
 * heat that wood and condensing air set free in a step (latent heat of what they took up) goes to
 * the shells, or to the floor, during the next.  Frost, and the wetting heat beyond plain
 * condensation, are left out. */
#include "model/building_parts.h"

#include "model/air.h"
#include "model/units.h"

#include <math.h>

#define START_RH_FRAC 0.65
/* Half width for the slope of the saturation curve, K: the curve is straight over it to 1e-5. */
#define SLOPE_HALF_K 0.05

double stv__saturation_kg_m3(double temp_c)
{
    return stv_water_psat_pa(temp_c) / (STV__VAPOUR_GAS_J_KGK * stv_k_from_c(temp_c));
}

static void add_buffer(struct stv__moisture *moisture, size_t level, double area_m2)
{
    moisture->buffers[moisture->n_buffers++] = (struct stv__buffer){.level_idx = level,
                                                                    .area_m2 = area_m2,
                                                                    .skin_old_frac = START_RH_FRAC,
                                                                    .skin_frac = START_RH_FRAC,
                                                                    .deep_old_frac = START_RH_FRAC,
                                                                    .deep_frac = START_RH_FRAC};
}

/* Buffer 0 is the floor, the rest the tiers in order. */
void stv__moisture_start(struct stv__moisture *moisture, const struct stv_building *building,
                         const struct stv__shape *shape, double step_s, double start_c)
{
    bool is_wood = building->floor == STV_FLOOR_TIMBER || building->floor == STV_FLOOR_SUSPENDED;
    *moisture = (struct stv__moisture){.shape = shape};
    moisture->stage_s = STV_STAGE_GAMMA_FRAC * step_s;
    moisture->source_kg_s = shape->casks.n * building->cask_vapour_kg_h / (double)STV_HOUR_S;
    if (building->floor == STV_FLOOR_EARTH)
        moisture->wet_m3_s =
            building->numbers.wet_floor_m_s * building->floor_wetness_frac * shape->plan_m2;
    add_buffer(moisture, 0,
               shape->plan_m2 * (is_wood ? 1.0 : building->numbers.concrete_as_wood_frac));
    for (size_t i = 0; i < shape->n_tiers; i++)
        add_buffer(moisture, i,
                   shape->casks.outer_m2 + building->numbers.rack_wood_plan_frac * shape->plan_m2);
    for (size_t i = 0; i < shape->n_levels; i++)
        moisture->now_kg_m3[i] = START_RH_FRAC * stv__saturation_kg_m3(start_c);
}

void stv__moisture_begin_step(struct stv__moisture *moisture)
{
    for (size_t i = 0; i < moisture->shape->n_levels; i++)
        moisture->old_kg_m3[i] = moisture->now_kg_m3[i];
    for (size_t i = 0; i < moisture->n_buffers; i++) {
        struct stv__buffer *buffer = &moisture->buffers[i];
        buffer->skin_old_frac = buffer->skin_frac;
        buffer->deep_old_frac = buffer->deep_frac;
    }
}

/* Deep layer into skin, skin into the air of its level. */
static void eliminate_buffer(struct stv__moisture *moisture, int stage, struct stv__buffer *buffer,
                             double saturation_kg_m3)
{
    double area_m2 = buffer->area_m2, stage_s = moisture->stage_s;
    const struct stv_building_numbers *numbers = moisture->shape->numbers;
    double skin_kg_s = area_m2 * numbers->wood_skin_kg_m2 / stage_s,
           deep_kg_s = area_m2 * numbers->wood_deep_kg_m2 / stage_s;
    double film_m3_s = area_m2 * numbers->wood_skin_m_s,
           link_kg_s = area_m2 * numbers->wood_deep_m_s * saturation_kg_m3;
    double skin_base = stv_stage_base_nd(stage, buffer->skin_old_frac, buffer->skin_frac);
    double deep_base = stv_stage_base_nd(stage, buffer->deep_old_frac, buffer->deep_frac);
    buffer->deep_gain_nd = link_kg_s / (deep_kg_s + link_kg_s);
    buffer->deep_rest_frac = deep_kg_s * deep_base / (deep_kg_s + link_kg_s);
    double pivot_kg_s =
        skin_kg_s + film_m3_s * saturation_kg_m3 + link_kg_s * (1.0 - buffer->deep_gain_nd);
    buffer->skin_gain_m3_kg = film_m3_s / pivot_kg_s;
    buffer->skin_rest_frac =
        (skin_kg_s * skin_base + link_kg_s * buffer->deep_rest_frac) / pivot_kg_s;
    double back_m3_s = film_m3_s * saturation_kg_m3;
    moisture->pivot_m3_s[buffer->level_idx] += film_m3_s - back_m3_s * buffer->skin_gain_m3_kg;
    moisture->right_kg_s[buffer->level_idx] += back_m3_s * buffer->skin_rest_frac;
}

void stv__moisture_eliminate(struct stv__moisture *moisture, int stage,
                             const struct stv__flows *flows, const struct stv__rooms *rooms,
                             double outdoor_kg_m3)
{
    const struct stv__shape *shape = moisture->shape;
    size_t n = shape->n_levels;
    for (size_t i = 0; i < n; i++) {
        double store_m3_s = shape->level_volume_m3[i] / moisture->stage_s;
        moisture->pivot_m3_s[i] = store_m3_s + flows->in_m3_s[i] +
                                  (i > 0 ? flows->up_m3_s[i - 1] : 0.0) +
                                  (i + 1 < n ? flows->down_m3_s[i] : 0.0);
        moisture->right_kg_s[i] =
            store_m3_s * stv_stage_base_nd(stage, moisture->old_kg_m3[i], moisture->now_kg_m3[i]) +
            flows->in_m3_s[i] * outdoor_kg_m3 + (i < shape->n_tiers ? moisture->source_kg_s : 0.0) +
            moisture->mist_kg_s[i];
    }
    for (size_t b = 0; b < moisture->n_buffers; b++) {
        double wood_c = b == 0 ? rooms->floor_c : rooms->shell_c[b - 1];
        eliminate_buffer(moisture, stage, &moisture->buffers[b], stv__saturation_kg_m3(wood_c));
    }
    for (size_t i = n - 1; i > 0; i--) {
        double ratio = flows->down_m3_s[i - 1] / moisture->pivot_m3_s[i];
        moisture->pivot_m3_s[i - 1] -= ratio * flows->up_m3_s[i - 1];
        moisture->right_kg_s[i - 1] += ratio * moisture->right_kg_s[i];
    }
}

struct stv__evaporation stv__moisture_evaporation(const struct stv__moisture *moisture,
                                                  double floor_c)
{
    if (moisture->wet_m3_s <= 0.0)
        return (struct stv__evaporation){0.0, 0.0};
    double wet_m3_s = moisture->wet_m3_s / (1.0 + moisture->wet_m3_s / moisture->pivot_m3_s[0]);
    double slope_kg_m3k = (stv__saturation_kg_m3(floor_c + SLOPE_HALF_K) -
                           stv__saturation_kg_m3(floor_c - SLOPE_HALF_K)) /
                          (2.0 * SLOPE_HALF_K);
    double rest_kg_m3 = stv__saturation_kg_m3(floor_c) - slope_kg_m3k * floor_c -
                        moisture->right_kg_s[0] / moisture->pivot_m3_s[0];
    return (struct stv__evaporation){wet_m3_s * rest_kg_m3, wet_m3_s * slope_kg_m3k};
}

void stv__moisture_vapour(const struct stv__moisture *moisture, const struct stv__flows *flows,
                          double evaporation_kg_s, double *out_kg_m3)
{
    out_kg_m3[0] = (moisture->right_kg_s[0] + evaporation_kg_s) / moisture->pivot_m3_s[0];
    for (size_t i = 1; i < moisture->shape->n_levels; i++)
        out_kg_m3[i] = (moisture->right_kg_s[i] + flows->up_m3_s[i - 1] * out_kg_m3[i - 1]) /
                       moisture->pivot_m3_s[i];
}

void stv__moisture_substitute(struct stv__moisture *moisture, const struct stv__flows *flows,
                              double evaporation_kg_s)
{
    double *now = moisture->now_kg_m3;
    stv__moisture_vapour(moisture, flows, evaporation_kg_s, now);
    for (size_t b = 0; b < moisture->n_buffers; b++) {
        struct stv__buffer *buffer = &moisture->buffers[b];
        buffer->skin_frac =
            buffer->skin_rest_frac + buffer->skin_gain_m3_kg * now[buffer->level_idx];
        buffer->deep_frac = buffer->deep_rest_frac + buffer->deep_gain_nd * buffer->skin_frac;
    }
}

static double buffer_held_kg(const struct stv_building_numbers *numbers,
                             const struct stv__buffer *buffer, double skin_frac, double deep_frac)
{
    return buffer->area_m2 *
           (numbers->wood_skin_kg_m2 * skin_frac + numbers->wood_deep_kg_m2 * deep_frac);
}

double stv__moisture_held_kg(const struct stv__moisture *moisture)
{
    double held_kg = 0.0;
    for (size_t i = 0; i < moisture->shape->n_levels; i++)
        held_kg += moisture->shape->level_volume_m3[i] * moisture->now_kg_m3[i];
    for (size_t b = 0; b < moisture->n_buffers; b++)
        held_kg += buffer_held_kg(moisture->shape->numbers, &moisture->buffers[b],
                                  moisture->buffers[b].skin_frac, moisture->buffers[b].deep_frac);
    return held_kg;
}

/* What the air and the skins hold above saturation; it runs off. */
static double run_off_kg(struct stv__moisture *moisture, const struct stv__rooms *rooms)
{
    double lost_kg = 0.0;
    for (size_t i = 0; i < moisture->shape->n_levels; i++) {
        double most_kg_m3 = stv__saturation_kg_m3(rooms->air_c[i]);
        double excess_kg_m3 = fmax(moisture->now_kg_m3[i] - most_kg_m3, 0.0);
        double excess_kg = moisture->shape->level_volume_m3[i] * excess_kg_m3;
        moisture->now_kg_m3[i] -= excess_kg_m3;
        moisture->bound_kg[i] += excess_kg;
        lost_kg += excess_kg;
    }
    for (size_t b = 0; b < moisture->n_buffers; b++) {
        struct stv__buffer *buffer = &moisture->buffers[b];
        double excess_frac = fmax(buffer->skin_frac - 1.0, 0.0);
        buffer->skin_frac -= excess_frac;
        lost_kg += buffer->area_m2 * moisture->shape->numbers->wood_skin_kg_m2 * excess_frac;
    }
    return lost_kg;
}

double stv__moisture_end_step_kg(struct stv__moisture *moisture, const struct stv__rooms *rooms)
{
    for (size_t i = 0; i < moisture->shape->n_levels; i++)
        moisture->bound_kg[i] = 0.0;
    for (size_t b = 0; b < moisture->n_buffers; b++) {
        const struct stv__buffer *buffer = &moisture->buffers[b];
        double taken_kg =
            buffer_held_kg(moisture->shape->numbers, buffer, buffer->skin_frac, buffer->deep_frac) -
            buffer_held_kg(moisture->shape->numbers, buffer, buffer->skin_old_frac,
                           buffer->deep_old_frac);
        if (b == 0)
            moisture->bound_floor_kg = taken_kg;
        else
            moisture->bound_kg[buffer->level_idx] += taken_kg;
    }
    return run_off_kg(moisture, rooms);
}
