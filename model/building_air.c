/* Air from outdoors and between levels, in m3/s.
 *
 *   leakage stack  (A/3) sqrt(g H |dT|/T), in below mid-height and out above when the inside is
 *                  warmer, the other way round when it is cooler
 *   two openings   A* sqrt(2 g H |dT|/T), 1/A*^2 = 1/A_low^2 + 1/A_high^2, floor to head space
 *   wind           0.25 A U
 *   all            sqrt(stack^2 + wind^2); what this exceeds the stack by is in and out at each
 *                  level in proportion to its height; a night fan adds by volume
 *   mixing         K A/dz both ways, K = K0/(1 + 0.5 G) when the upper air is warmer by G K/m,
 *                  K0 + 0.08 min(1, dT/0.2) when it is cooler
 *
 * The stack stream passes through every level between its inlet and outlet.  Pressure at single
 * walls, doors that open and wind direction are left out. */
#include "model/building_parts.h"

#include "model/units.h"

#include <math.h>

#define SPREAD_STACK_ND (1.0 / 3.0)
/* Warmer below by this, a level overturns at its full rate; settled with the mixing. */
#define EDDY_FULL_K 0.2
/* Steps are coupled with their own mixing; moving half way each pass keeps the threshold at equal
 * temperatures from flipping back and forth. */
#define EDDY_MOVE_FRAC 0.5

bool stv__is_between(double from_h, double to_h, double hour_h)
{
    if (isnan(from_h) || isnan(to_h))
        return true;
    return from_h <= to_h ? hour_h >= from_h && hour_h < to_h : hour_h >= from_h || hour_h < to_h;
}

bool stv__fan_wanted(const struct stv_building *building, double inside_c, double outdoor_c,
                     double hour_h)
{
    return building->night_air_change_per_h > 0.0 &&
           stv__is_between(building->night_from_h, building->night_to_h, hour_h) &&
           inside_c > building->night_air_above_c &&
           outdoor_c < inside_c - building->night_air_cooler_k;
}

static double column_mean_c(const struct stv__shape *shape, const double *air_c)
{
    double sum = 0.0;
    for (size_t i = 0; i < shape->n_levels; i++)
        sum += shape->level_height_m[i] * air_c[i];
    return sum / shape->height_m;
}

/* One opening alone works against half of the leakage. */
static double two_openings_m2(const struct stv_building *building)
{
    double low_m2 = building->numbers.vent_discharge_nd * building->vent_low_m2;
    double high_m2 = building->numbers.vent_discharge_nd * building->vent_high_m2;
    if (low_m2 + high_m2 <= 0.0)
        return 0.0;
    if (low_m2 <= 0.0)
        low_m2 = 0.5 * building->leak_area_m2;
    if (high_m2 <= 0.0)
        high_m2 = 0.5 * building->leak_area_m2;
    return low_m2 + high_m2 > 0.0 ? low_m2 * high_m2 / hypot(low_m2, high_m2) : 0.0;
}

/* In and out of one level are netted into the stream that climbs (or sinks) past it. */
static void carry_stack(const struct stv__shape *shape, double leak_m3_s, double vent_m3_s,
                        bool inside_is_warm, struct stv__flows *flows)
{
    size_t top = shape->n_levels - 1;
    double climbing_m3_s = 0.0;
    for (size_t i = 0; i <= top; i++) {
        double low_m3_s = leak_m3_s * shape->leak_low_frac[i] + (i == 0 ? vent_m3_s : 0.0);
        double high_m3_s = leak_m3_s * shape->leak_high_frac[i] + (i == top ? vent_m3_s : 0.0);
        flows->in_m3_s[i] = inside_is_warm ? low_m3_s : high_m3_s;
        flows->out_m3_s[i] = inside_is_warm ? high_m3_s : low_m3_s;
        climbing_m3_s += flows->in_m3_s[i] - flows->out_m3_s[i];
        flows->up_m3_s[i] = i < top ? fmax(climbing_m3_s, 0.0) : 0.0;
        flows->down_m3_s[i] = i < top ? fmax(-climbing_m3_s, 0.0) : 0.0;
    }
}

static double eddy_aim_m2_s(const struct stv_building_numbers *numbers, double upper_minus_lower_k,
                            double gap_m)
{
    if (upper_minus_lower_k >= 0.0)
        return numbers->mixing_still_m2_s /
               (1.0 + numbers->mixing_damping_m_k * upper_minus_lower_k / gap_m);
    return numbers->mixing_still_m2_s +
           numbers->mixing_overturn_m2_s * fmin(1.0, -upper_minus_lower_k / EDDY_FULL_K);
}

static void mix_levels(const struct stv__shape *shape, const double *air_c,
                       struct stv__flows *flows)
{
    for (size_t i = 0; i + 1 < shape->n_levels; i++) {
        double aim = eddy_aim_m2_s(shape->numbers, air_c[i + 1] - air_c[i], shape->level_gap_m[i]);
        flows->eddy_m2_s[i] += EDDY_MOVE_FRAC * (aim - flows->eddy_m2_s[i]);
        double exchange_m3_s = flows->eddy_m2_s[i] * shape->plan_m2 / shape->level_gap_m[i];
        flows->up_m3_s[i] += exchange_m3_s;
        flows->down_m3_s[i] += exchange_m3_s;
    }
}

/* Air changes are counted, as fans are sized, of the room without what stands in it. */
static double gross_m3(const struct stv__shape *shape, size_t level)
{
    return shape->level_height_m[level] * shape->plan_m2;
}

static double fan_per_s(const struct stv_building *building, const struct stv__draught *draught)
{
    return draught->fan_runs ? building->night_air_change_per_h / (double)STV_HOUR_S : 0.0;
}

/* A plain zone whose air change is said: one level. */
static void steady_air(const struct stv_building *building, const struct stv__shape *shape,
                       const struct stv__draught *draught, struct stv__flows *flows)
{
    double change_per_s =
        building->zone.air_change_per_h / (double)STV_HOUR_S + fan_per_s(building, draught);
    flows->in_m3_s[0] = flows->out_m3_s[0] = change_per_s * gross_m3(shape, 0);
    flows->up_m3_s[0] = flows->down_m3_s[0] = 0.0;
}

void stv__air_flows(const struct stv_building *building, const struct stv__shape *shape,
                    const struct stv__draught *draught, const double *air_c,
                    struct stv__flows *flows)
{
    if (isfinite(building->zone.air_change_per_h)) {
        steady_air(building, shape, draught, flows);
        return;
    }
    double inside_c = column_mean_c(shape, air_c);
    double warmer_k = inside_c - draught->outdoor_c;
    double lift_m2_s2 = STV_GRAVITY_M_S2 * shape->height_m * fabs(warmer_k) /
                        stv_k_from_c(0.5 * (inside_c + draught->outdoor_c));
    double leak_m3_s = SPREAD_STACK_ND * building->leak_area_m2 * sqrt(lift_m2_s2);
    double vent_m3_s = two_openings_m2(building) * sqrt(2.0 * lift_m2_s2);
    carry_stack(shape, leak_m3_s, vent_m3_s, warmer_k > 0.0, flows);

    double openings_m2 =
        building->leak_area_m2 +
        building->numbers.vent_discharge_nd * (building->vent_low_m2 + building->vent_high_m2);
    double stack_m3_s = leak_m3_s + vent_m3_s;
    double cross_m3_s =
        hypot(stack_m3_s, building->numbers.wind_leak_nd * openings_m2 * draught->wind_m_s) -
        stack_m3_s;
    double fan_change_per_s = fan_per_s(building, draught);
    for (size_t i = 0; i < shape->n_levels; i++) {
        double through_m3_s = cross_m3_s * shape->level_height_m[i] / shape->height_m +
                              fan_change_per_s * gross_m3(shape, i);
        flows->in_m3_s[i] += through_m3_s;
        flows->out_m3_s[i] += through_m3_s;
    }
    mix_levels(shape, air_c, flows);
}
