/* What an hour of weather does to each outside face.
 *
 *   absorbed  alpha I_tilted + eps [f L_sky + (1 - f) sigma T_out^4] - eps sigma T_s^4
 *   film      walls 3.5 + 2.2 U, roof 4 + 3 U, U the wind at the building
 *
 * f = F sqrt(F), F = (1 + cos tilt)/2, is the share of the long wave that comes from the sky
 * rather than from things at air temperature.  The surface's emission is made linear about the
 * surface temperature at the start of the step, so the face is one conductance to one sol-air
 * temperature.  Each wall of each tier is its own element, for the air behind each tier differs;
 * the two roof slopes share the air under them and differ only in sun, so they are one element
 * under the mean of the two, which for a linear wall is exact.
 *
 * Shade keeps off a share of the beam all day long, whatever the sun's height, and a share of the
 * rest: light of sky and ground, the glow about the sun, and the sky's long wave, instead of which
 * comes that of things at air temperature.  Nothing else casts shadows. */
#include "model/building_parts.h"

#include "model/sun.h"
#include "model/units.h"

#include <math.h>

/* Near sunrise and sunset the middle of the hour may be dark while the hour is not: the sun is then
 * looked for at these many instants, and the mean of those when it is up stands for the hour. */
#define LOW_SUN_DEG 78.0
#define LOW_SUN_INSTANTS 6

static const double rad = 3.14159265358979323846 / 180.0;

double stv__sky_share_frac(double tilt_deg)
{
    double view_frac = (1.0 + cos(rad * tilt_deg)) / 2.0;
    return view_frac * sqrt(view_frac);
}

/* Films linear in wind, between ISO 6946 (4 + 4 U) and McAdams (5.7 + 3.8 U) at low speeds. */
double stv__wall_film_w_m2k(const struct stv_building_numbers *numbers, double wind_m_s)
{
    return numbers->wall_outside_still_w_m2k + numbers->wall_outside_wind_j_m3k * wind_m_s;
}

double stv__roof_film_w_m2k(const struct stv_building_numbers *numbers, double wind_m_s)
{
    return numbers->roof_outside_still_w_m2k + numbers->roof_outside_wind_j_m3k * wind_m_s;
}

static double fourth_power(double value)
{
    return value * value * value * value;
}

static double long_wave_film_w_m2k(const struct stv__face *face, double surface_c)
{
    double surface_k = stv_k_from_c(surface_c);
    return 4.0 * face->emittance_frac * STV_STEFAN_W_M2K4 * surface_k * surface_k * surface_k;
}

double stv__face_conductance_w_m2k(const struct stv__face *face, double surface_c)
{
    double dry_w_m2k = face->film_w_m2k + long_wave_film_w_m2k(face, surface_c);
    return face->wet_frac > 0.0 ? dry_w_m2k + stv__face_wetting(face, surface_c).slope_w_m2k
                                : dry_w_m2k;
}

double stv__face_sol_air_c(const struct stv__face *face, double outdoor_c, double surface_c)
{
    double radiative = long_wave_film_w_m2k(face, surface_c);
    double incoming_w_m2 =
        face->sky_share_frac * face->sky_w_m2 +
        (1.0 - face->sky_share_frac) * STV_STEFAN_W_M2K4 * fourth_power(stv_k_from_c(outdoor_c));
    double gain_w_m2 =
        face->absorptance_frac * face->sun_w_m2 +
        face->emittance_frac *
            (incoming_w_m2 - STV_STEFAN_W_M2K4 * fourth_power(stv_k_from_c(surface_c)));
    double drive_w_m2 = face->film_w_m2k * outdoor_c + radiative * surface_c + gain_w_m2;
    double conductance_w_m2k = face->film_w_m2k + radiative;
    if (face->wet_frac > 0.0) {
        struct stv__wetting wetting = stv__face_wetting(face, surface_c);
        drive_w_m2 += wetting.slope_w_m2k * surface_c - wetting.loss_w_m2;
        conductance_w_m2k += wetting.slope_w_m2k;
    }
    return drive_w_m2 / conductance_w_m2k;
}

/* The parabola through the two ends whose mean is the hour's: the step then sees neither a flatter
 * day nor a jump at the hour. */
double stv__outdoor_c(const struct stv__hour *hour, double hour_frac)
{
    double left_c = hour->temp_left_c, right_c = hour->temp_right_c;
    double bulge_k = 6.0 * (hour->temp_mean_c - 0.5 * (left_c + right_c));
    return left_c + hour_frac * (right_c - left_c) + bulge_k * hour_frac * (1.0 - hour_frac);
}

/* Sun of the hour: at its middle, or at the mean instant of the lit part when it stands low. */
static struct stv_sun hour_sun(const struct stv_weather *weather, size_t hour_idx)
{
    int64_t start_s = stv_grid_start_s(&weather->grid, hour_idx);
    struct stv_sun middle = stv_sun_at(start_s + STV_HOUR_S / 2, &weather->site);
    if (middle.zenith_deg < LOW_SUN_DEG)
        return middle;
    int64_t sum_s = 0, n_lit = 0;
    for (int i = 0; i < LOW_SUN_INSTANTS; i++) {
        int64_t offset_s = (int64_t)STV_HOUR_S * (2 * i + 1) / (2 * LOW_SUN_INSTANTS);
        if (stv_sun_at(start_s + offset_s, &weather->site).zenith_deg < 90.0) {
            sum_s += offset_s;
            n_lit++;
        }
    }
    return n_lit ? stv_sun_at(start_s + sum_s / n_lit, &weather->site) : middle;
}

/* The sky as it lights all faces in an hour. */
struct lit {
    struct stv_irradiance light;
    struct stv_sun sun;
    double albedo_frac;
};

static double all_light_w_m2(const struct lit *lit, double tilt_deg, double azimuth_deg)
{
    return stv_tilted_w_m2(&lit->light, &lit->sun, tilt_deg, azimuth_deg, lit->albedo_frac);
}

static struct stv__beam sun_on_window(const struct lit *lit, double azimuth_deg,
                                      const struct stv_shade *kept)
{
    const struct stv_sun *sun = &lit->sun;
    double cos_nd = sin(rad * sun->zenith_deg) * cos(rad * (sun->azimuth_deg - azimuth_deg));
    double beam_w_m2 = sun->zenith_deg < 90.0 ? lit->light.dni_w_m2 * fmax(cos_nd, 0.0) : 0.0;
    double all_w_m2 = all_light_w_m2(lit, 90.0, azimuth_deg);
    return (struct stv__beam){(1.0 - kept->beam_frac) * beam_w_m2, fmax(cos_nd, 0.0),
                              (1.0 - kept->sky_frac) * fmax(all_w_m2 - beam_w_m2, 0.0)};
}

static double sun_on_face_w_m2(const struct lit *lit, double tilt_deg, double azimuth_deg,
                               const struct stv_shade *kept)
{
    const struct stv_sun *sun = &lit->sun;
    double all_w_m2 = all_light_w_m2(lit, tilt_deg, azimuth_deg);
    if (kept->beam_frac <= 0.0 && kept->sky_frac <= 0.0)
        return all_w_m2;
    double cos_nd = cos(rad * tilt_deg) * cos(rad * sun->zenith_deg) +
                    sin(rad * tilt_deg) * sin(rad * sun->zenith_deg) *
                        cos(rad * (sun->azimuth_deg - azimuth_deg));
    double beam_w_m2 = sun->zenith_deg < 90.0 ? lit->light.dni_w_m2 * fmax(cos_nd, 0.0) : 0.0;
    return (1.0 - kept->beam_frac) * beam_w_m2 +
           (1.0 - kept->sky_frac) * fmax(all_w_m2 - beam_w_m2, 0.0);
}

static void hour_sun_on_faces(const struct stv_building *building, const struct stv__shape *shape,
                              const struct stv_weather *weather, size_t hour_idx,
                              struct stv__hour *out)
{
    struct lit lit = {.light = {.ghi_w_m2 = weather->columns[STV_WC_GHI_W_M2][hour_idx],
                                .dni_w_m2 = weather->columns[STV_WC_DNI_W_M2][hour_idx],
                                .dhi_w_m2 = weather->columns[STV_WC_DHI_W_M2][hour_idx]},
                      .albedo_frac = building->ground_albedo_frac};
    for (size_t face = 0; face < STV__FACES; face++)
        out->wall_sun_w_m2[face] = 0.0;
    for (size_t k = 0; k < STV_WINDOWS_MAX; k++)
        out->window_sun[k] = (struct stv__beam){0.0, 0.0, 0.0};
    out->roof_sun_w_m2 = 0.0;
    if (!(lit.light.ghi_w_m2 > 0.0 || lit.light.dhi_w_m2 > 0.0))
        return;
    lit.sun = hour_sun(weather, hour_idx);
    for (size_t face = 0; face < STV__FACES; face++)
        out->wall_sun_w_m2[face] =
            sun_on_face_w_m2(&lit, 90.0, shape->wall_azimuth_deg[face], &shape->wall_shade[face]);
    for (size_t k = 0; k < building->n_windows; k++)
        out->window_sun[k] = sun_on_window(&lit, building->windows[k].azimuth_deg,
                                           &shape->wall_shade[shape->window_face[k]]);
    for (size_t slope = 0; slope < STV__SLOPES; slope++)
        out->roof_sun_w_m2 +=
            sun_on_face_w_m2(&lit, building->roof_pitch_deg, shape->slope_azimuth_deg[slope],
                             &building->roof_shade) /
            STV__SLOPES;
}

void stv__hour_of(const struct stv_building *building, const struct stv__shape *shape,
                  const struct stv_weather *weather, size_t hour_idx, struct stv__hour *out)
{
    const double *temp_c = weather->columns[STV_WC_TEMP_C];
    size_t before = hour_idx > 0 ? hour_idx - 1 : hour_idx;
    size_t after = hour_idx + 1 < weather->grid.n ? hour_idx + 1 : hour_idx;
    out->temp_mean_c = temp_c[hour_idx];
    out->temp_left_c = 0.5 * (temp_c[before] + temp_c[hour_idx]);
    out->temp_right_c = 0.5 * (temp_c[hour_idx] + temp_c[after]);
    out->vapour_kg_m3 = weather->columns[STV_WC_VAPOUR_PA][hour_idx] /
                        (STV__VAPOUR_GAS_J_KGK * stv_k_from_c(out->temp_mean_c));
    out->wind_m_s = building->wind_shelter_frac * weather->columns[STV_WC_WIND_M_S][hour_idx];
    out->sky_w_m2 = weather->columns[STV_WC_SKY_W_M2][hour_idx];
    int64_t local_s = stv_grid_start_s(&weather->grid, hour_idx) + STV_HOUR_S / 2 +
                      (int64_t)weather->grid.utc_offset_min * 60;
    out->fan_hour_h = (double)(((local_s % STV_DAY_S) + STV_DAY_S) % STV_DAY_S) / STV_HOUR_S;
    hour_sun_on_faces(building, shape, weather, hour_idx, out);
}
