/* The sun's place in the sky.
 *
 * Low-precision series for the ecliptic longitude lambda, obliquity eps and equation of time EoT
 * give the declination, sin d = sin eps sin lambda, and the hour angle w, the angle of universal
 * time plus longitude plus EoT.  Turning (d, w) into the local frame of latitude L:
 *     up    = sin L sin d + cos L cos d cos w      (cosine of the zenith)
 *     north = cos L sin d - sin L cos d cos w
 *     east  = -cos d sin w
 * The extraterrestrial strength is the solar constant over the squared distance.
 * No refraction, no nutation beyond its largest term, no difference of terrestrial and
 * universal time. */
#include "model/sun.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>

#define PI 3.14159265358979323846
#define RAD (PI / 180.0)

/* Standard.  Kopp and Lean 2011, Geophys. Res. Lett. 38, L01706: 1360.8 W/m2 (from memory). */
#define SOLAR_CONSTANT_W_M2 1361.0

#define EPOCH_2000_S 946728000.0 /* 2000-01-01 12:00 UTC, from 1970 */
#define CENTURY_S (36525.0 * STV_DAY_S)

/* The fastest the zenith can change: the turn of the Earth. */
#define TURN_DEG_PER_S (360.0 / STV_DAY_S)
/* Room beside that bound for the drift of the declination over a span. */
#define ZENITH_ROOM_DEG 0.1

struct equatorial {
    double declination_rad, equation_of_time_rad, distance_au;
};

static bool on_globe(const struct stv_site_position *site)
{
    return fabs(site->latitude_deg) <= 90.0 && fabs(site->longitude_deg) <= 180.0;
}

/* Series of Meeus 1998 ch. 25 and 28, degrees; t in Julian centuries from 2000 (from memory). */
static struct equatorial equatorial_at(double time_s)
{
    double t = (time_s - EPOCH_2000_S) / CENTURY_S;
    double mean_longitude_rad = RAD * fmod(280.46646 + t * (36000.76983 + 0.0003032 * t), 360.0);
    double anomaly_rad = RAD * fmod(357.52911 + t * (35999.05029 - 0.0001537 * t), 360.0);
    double e = 0.016708634 - t * (4.2037e-5 + 1.267e-7 * t);
    double sin_m = sin(anomaly_rad), sin_2m = sin(2.0 * anomaly_rad);
    double centre_deg = sin_m * (1.914602 - t * (0.004817 + 1.4e-5 * t)) +
                        sin_2m * (0.019993 - 0.000101 * t) + 0.000289 * sin(3.0 * anomaly_rad);
    double node_rad = RAD * (125.04 - 1934.136 * t);
    double longitude_rad =
        mean_longitude_rad + RAD * (centre_deg - 0.00569 - 0.00478 * sin(node_rad));
    double seconds = 21.448 - t * (46.815 + t * (0.00059 - 0.001813 * t));
    double obliquity_rad = RAD * (23.0 + (26.0 + seconds / 60.0) / 60.0 + 0.00256 * cos(node_rad));
    double y = tan(obliquity_rad / 2.0) * tan(obliquity_rad / 2.0);
    double sin_2l = sin(2.0 * mean_longitude_rad), cos_2l = cos(2.0 * mean_longitude_rad);
    struct equatorial sun;
    sun.declination_rad = asin(sin(obliquity_rad) * sin(longitude_rad));
    sun.equation_of_time_rad = y * sin_2l - 2.0 * e * sin_m + 4.0 * e * y * sin_m * cos_2l -
                               y * y * sin_2l * cos_2l - 1.25 * e * e * sin_2m;
    sun.distance_au = 1.000001018 * (1.0 - e * e) / (1.0 + e * cos(anomaly_rad + RAD * centre_deg));
    return sun;
}

static double extraterrestrial_w_m2(const struct equatorial *sun)
{
    return SOLAR_CONSTANT_W_M2 / (sun->distance_au * sun->distance_au);
}

struct stv_sun stv_sun_at(int64_t time_s, const struct stv_site_position *site)
{
    struct stv_sun out = {NAN, NAN, NAN};
    if (!on_globe(site))
        return out;
    int32_t second_s;
    struct equatorial sun = equatorial_at((double)time_s);
    (void)stv_local_day(time_s, 0, &second_s);
    double hour_angle_rad =
        2.0 * PI * second_s / STV_DAY_S - PI + sun.equation_of_time_rad + RAD * site->longitude_deg;
    double sin_l = sin(RAD * site->latitude_deg), cos_l = cos(RAD * site->latitude_deg);
    double sin_d = sin(sun.declination_rad), cos_d = cos(sun.declination_rad);
    double up = sin_l * sin_d + cos_l * cos_d * cos(hour_angle_rad);
    double north = cos_l * sin_d - sin_l * cos_d * cos(hour_angle_rad);
    double east = -cos_d * sin(hour_angle_rad);
    out.zenith_deg = atan2(hypot(east, north), up) / RAD;
    out.azimuth_deg = atan2(east, north) / RAD;
    if (out.azimuth_deg < 0.0)
        out.azimuth_deg += 360.0;
    out.extraterrestrial_w_m2 = extraterrestrial_w_m2(&sun);
    return out;
}

static bool is_up(int64_t time_s, const struct stv_site_position *site)
{
    return stv_sun_at(time_s, site).zenith_deg < 90.0;
}

/* The second at which the sun crosses the horizon between two instants on either side. */
static int64_t crossing_s(int64_t low_s, int64_t high_s, const struct stv_site_position *site)
{
    bool low_is_up = is_up(low_s, site);
    while (high_s - low_s > 1) {
        int64_t middle_s = low_s + (high_s - low_s) / 2;
        if (is_up(middle_s, site) == low_is_up)
            low_s = middle_s;
        else
            high_s = middle_s;
    }
    return high_s;
}

struct stv_sun stv_sun_over(int64_t start_s, int32_t span_s, const struct stv_site_position *site,
                            double *out_sunlit_frac)
{
    int64_t middle_s = start_s + span_s / 2, from_s = start_s, to_s = start_s + span_s;
    struct stv_sun sun = stv_sun_at(middle_s, site);
    double reach_deg = TURN_DEG_PER_S * span_s / 2.0 + ZENITH_ROOM_DEG;
    *out_sunlit_frac = sun.zenith_deg < 90.0 ? 1.0 : 0.0;
    if (isnan(sun.zenith_deg)) {
        *out_sunlit_frac = NAN;
        return sun;
    }
    if (fabs(sun.zenith_deg - 90.0) > reach_deg)
        return sun;
    bool starts_up = is_up(from_s, site), ends_up = is_up(to_s, site);
    bool middle_up = sun.zenith_deg < 90.0;
    if (!starts_up && !middle_up && !ends_up)
        return sun;
    if (!starts_up)
        from_s = crossing_s(start_s, middle_up ? middle_s : to_s, site);
    if (!ends_up)
        to_s = crossing_s(middle_up ? middle_s : start_s, start_s + span_s, site);
    *out_sunlit_frac = (double)(to_s - from_s) / span_s;
    return stv_sun_at(from_s + (to_s - from_s) / 2, site);
}

double stv_air_mass_nd(double zenith_deg, double pressure_pa)
{
    if (!(zenith_deg >= 0.0 && zenith_deg <= 90.0))
        return NAN;
    double relative_nd =
        1.0 / (cos(RAD * zenith_deg) + 0.50572 * pow(96.07995 - zenith_deg, -1.6364));
    return relative_nd * pressure_pa / STV_STANDARD_PRESSURE_PA;
}

/* Noon by the local clock: where the hour angle is zero, folded into the day. */
static double noon_s(double equation_of_time_rad, int32_t utc_offset_min, double longitude_deg)
{
    double turn = (RAD * longitude_deg + equation_of_time_rad) / (2.0 * PI);
    double noon = fmod(STV_DAY_S * (0.5 - turn) + 60.0 * utc_offset_min, STV_DAY_S);
    return noon < 0.0 ? noon + STV_DAY_S : noon;
}

struct stv_sun_day stv_sun_day(int64_t day_d, int32_t utc_offset_min,
                               const struct stv_site_position *site)
{
    struct stv_sun_day day = {NAN, NAN, NAN, NAN, NAN};
    if (!on_globe(site))
        return day;
    double midnight_s = (double)(day_d * STV_DAY_S - (int64_t)utc_offset_min * 60);
    struct equatorial sun = equatorial_at(midnight_s + STV_DAY_S / 2.0);
    sun = equatorial_at(midnight_s +
                        noon_s(sun.equation_of_time_rad, utc_offset_min, site->longitude_deg));
    double lat_rad = RAD * site->latitude_deg;
    double cos_ws = -tan(lat_rad) * tan(sun.declination_rad);
    double ws_rad = cos_ws >= 1.0 ? 0.0 : cos_ws <= -1.0 ? PI : acos(cos_ws);
    double half_s = ws_rad / (2.0 * PI) * STV_DAY_S;
    day.noon_s = noon_s(sun.equation_of_time_rad, utc_offset_min, site->longitude_deg);
    day.declination_rad = sun.declination_rad;
    bool polar_day = cos_ws <= -1.0;
    day.sunrise_s = polar_day ? 0.0 : day.noon_s - half_s;
    day.sunset_s = polar_day ? STV_DAY_S : day.noon_s + half_s;
    day.extraterrestrial_j_m2 = extraterrestrial_w_m2(&sun) * STV_DAY_S / PI *
                                (ws_rad * sin(lat_rad) * sin(sun.declination_rad) +
                                 cos(lat_rad) * cos(sun.declination_rad) * sin(ws_rad));
    return day;
}
