/* Water that cools: mist in the air of the tiers, and spray on the roof.
 *
 * One line of nozzles over some tiers has one valve.  It is open as far as neither the dampest of
 * these tiers passes the humidity at which it shuts, nor the highest of them is cooled below the
 * temperature under which it stays shut.  So the air is never carried past saturation, and what
 * would not evaporate is not sprayed.  What is sprayed evaporates in the air, whose heat it takes:
 * fine droplets, none of which wets a cask or the floor.  Within a stage vapour and temperature are
 * linear in the valve's share, so the share follows from a solution with the valve shut and one
 * with it open.
 *
 * A wet share w of the roof gives off vapour through the film that carries its heat, by the Lewis
 * relation with the exponent of Chilton and Colburn,
 *
 *   q = w L h_m (v_sat(T_s) - v_out),  h_m = h_c / (rho c Le^(2/3)),
 *
 * made linear about the surface at the start of the step.  No water falls from the air on a colder
 * roof; the warmth of the water itself, and what a wet roof reflects, are left out. */
#include "model/building_run.h"

#include "model/units.h"

#include <math.h>

/* The excess is concave in the share, so the chord from the shut valve comes down to the root. */
#define CHORDS 8
#define CLOSE_ENOUGH_FRAC 1e-9
/* Source: Lewis number of vapour in air about 0.87 (diffusion 2.5e-5, heat 2.2e-5 m2/s at 25 C);
 * the analogy of Chilton and Colburn 1934; both from memory. */
#define LEWIS_TO_TWO_THIRDS 0.91
/* Half width for the slope of the saturation curve, K. */
#define SLOPE_HALF_K 0.05

void stv__mist_set(struct stv__run *run, double share_frac)
{
    const struct stv_misting *misting = &run->building->misting;
    size_t top = run->shape.n_tiers - 1;
    size_t last = misting->highest_tier_idx < top ? misting->highest_tier_idx : top;
    double n = (double)(last - misting->lowest_tier_idx + 1);
    double each_kg_s = share_frac * misting->rate_kg_h / (n * (double)STV_HOUR_S);
    for (size_t i = misting->lowest_tier_idx; i <= last; i++) {
        run->moisture.mist_kg_s[i] = each_kg_s;
        run->heat.given_air_w[i] = run->gain_air_w - STV__LATENT_J_KG * each_kg_s;
    }
}

/* Vapour above what the valve allows in a tier, when it is open by a share. */
static double excess_kg_m3(const struct stv__mist_trial *shut, const struct stv__mist_trial *open,
                           size_t tier, double share_frac, double below_rh_frac)
{
    double vapour_kg_m3 = shut->vapour_kg_m3[tier] +
                          share_frac * (open->vapour_kg_m3[tier] - shut->vapour_kg_m3[tier]);
    double air_c =
        shut->rooms.air_c[tier] + share_frac * (open->rooms.air_c[tier] - shut->rooms.air_c[tier]);
    return vapour_kg_m3 - below_rh_frac * stv__saturation_kg_m3(air_c);
}

double stv__mist_share_frac(const struct stv_building *building, const struct stv__mist_trial *shut,
                            const struct stv__mist_trial *open)
{
    const struct stv_misting *misting = &building->misting;
    double limit_frac = misting->below_rh_frac, share_frac = 1.0;
    size_t top = building->n_tiers - 1;
    size_t last = misting->highest_tier_idx < top ? misting->highest_tier_idx : top;
    double shut_c = shut->rooms.air_c[last], open_c = open->rooms.air_c[last];
    if (shut_c <= misting->above_c)
        return 0.0;
    if (open_c < misting->above_c)
        share_frac = (shut_c - misting->above_c) / (shut_c - open_c);
    for (size_t i = misting->lowest_tier_idx; i <= last; i++) {
        double shut_kg_m3 = excess_kg_m3(shut, open, i, 0.0, limit_frac);
        if (shut_kg_m3 >= 0.0)
            return 0.0;
        for (int chord = 0; chord < CHORDS; chord++) {
            double at_kg_m3 = excess_kg_m3(shut, open, i, share_frac, limit_frac);
            if (at_kg_m3 <= -CLOSE_ENOUGH_FRAC * shut_kg_m3)
                break;
            share_frac *= shut_kg_m3 / (shut_kg_m3 - at_kg_m3);
        }
    }
    return share_frac;
}

bool stv__spray_runs(const struct stv_roof_spray *spray, const struct stv__hour *hour)
{
    return spray->wet_frac > 0.0 && hour->temp_mean_c > spray->above_c &&
           hour->roof_sun_w_m2 >= spray->sun_w_m2 &&
           stv__is_between(spray->from_h, spray->to_h, hour->fan_hour_h);
}

struct stv__wetting stv__face_wetting(const struct stv__face *face, double surface_c)
{
    double excess_kg_m3 =
        face->wet_frac > 0.0 ? stv__saturation_kg_m3(surface_c) - face->outdoor_kg_m3 : 0.0;
    if (excess_kg_m3 <= 0.0)
        return (struct stv__wetting){0.0, 0.0};
    double latent_w_m_kg = face->wet_frac * STV__LATENT_J_KG * face->film_w_m2k /
                           (face->air_j_m3k * LEWIS_TO_TWO_THIRDS);
    double slope_kg_m3k = (stv__saturation_kg_m3(surface_c + SLOPE_HALF_K) -
                           stv__saturation_kg_m3(surface_c - SLOPE_HALF_K)) /
                          (2.0 * SLOPE_HALF_K);
    return (struct stv__wetting){latent_w_m_kg * excess_kg_m3, latent_w_m_kg * slope_kg_m3k};
}
