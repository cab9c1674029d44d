/* Where the sun stands, and what falls on a tilted face. */
#ifndef STV_MODEL_SUN_H
#define STV_MODEL_SUN_H

#include "model/status.h"

#include <stdint.h>

struct stv_site_position {
    double latitude_deg;  /* north positive, -90..90 */
    double longitude_deg; /* east positive, -180..180 */
    double elevation_m;   /* above sea level; not used by the sun's position */
};

struct stv_sun {
    double zenith_deg;            /* geometric, no refraction, 0..180 */
    double azimuth_deg;           /* from north, clockwise, 0..360 */
    double extraterrestrial_w_m2; /* on a face normal to the beam, whether or not the sun is up */
};

/* The sun of one local day.  When the clock is far from the sun's own time, sunrise may lie before
 * the day's start and sunset after its end; the noon lies within the day. */
struct stv_sun_day {
    double sunrise_s, sunset_s, noon_s; /* after local midnight of the fixed offset */
    double declination_rad;             /* at noon */
    double extraterrestrial_j_m2;       /* day sum on the flat */
};

struct stv_irradiance {
    double ghi_w_m2; /* global on the flat */
    double dni_w_m2; /* beam on a face normal to it */
    double dhi_w_m2; /* diffuse on the flat */
};

/* Direction and strength of the sun at an instant.
 *
 * time_s   UTC, seconds since 1970; any year
 * site     latitude -90..90, longitude -180..180; the elevation is not used
 *
 * Shape:    scalar in, three numbers out; all NaN for a position outside the globe or NaN
 * Accuracy: zenith and azimuth within 0.01 deg for 1950..2050 (tested at 0.0003 deg zenith and
 *           0.003 deg azimuth against the worked example of NREL/TP-560-34302 once its refraction
 *           is taken off); slowly worse beyond, about 0.01 deg more per century
 * Source:   Meeus, Astronomical Algorithms, 2nd ed. 1998, ch. 25 and 28 (from memory); solar
 *           constant 1361 W/m2 after Kopp and Lean 2011 (from memory)
 * Assumes:  no refraction, no parallax, terrestrial time equals UTC
 * Memory:   allocates nothing */
struct stv_sun stv_sun_at(int64_t time_s, const struct stv_site_position *site);

/* The sun that stands for a span of time: at the middle of the span, or, when it rises or sets
 * within the span, at the middle of the sunlit part.
 *
 * start_s          UTC start of the span
 * span_s           its length, 1 .. 7200 s
 * out_sunlit_frac  share of the span with the centre of the sun above the true horizon, 0..1
 *
 * A mean over the span (a power, W/m2) divided by the sunlit share is the power while it shines.
 * Means of beam and global over the span then satisfy DNI cos z + DHI = GHI at this sun.
 *
 * Shape:    scalar in, three numbers out; NaN as for stv_sun_at
 * Accuracy: rise and set within 1 s of those of stv_sun_at
 * Assumes:  at most one rise and one set, not both sides of a dark middle
 * Memory:   allocates nothing */
struct stv_sun stv_sun_over(int64_t start_s, int32_t span_s, const struct stv_site_position *site,
                            double *out_sunlit_frac);

/* Relative air mass, corrected for pressure.
 *
 * zenith_deg   0..90
 * pressure_pa  at the site; 101325 gives the relative air mass itself
 *
 * Shape:    scalar in, scalar out; NaN when the sun is below the horizon, or for NaN
 * Accuracy: 0.5 % of the tabulated air mass (as published, from memory)
 * Source:   Kasten and Young 1989, Applied Optics 28, 4735 (from memory)
 * Memory:   allocates nothing */
double stv_air_mass_nd(double zenith_deg, double pressure_pa);

/* Sunrise, noon, sunset and the day sum of extraterrestrial radiation.
 *
 * day_d           local day, days since 1970-01-01
 * utc_offset_min  fixed offset of the local clock
 *
 * Polar day: sunrise 0, sunset 86400.  Polar night: both equal the noon, sum 0.
 *
 * Shape:    scalar in, struct out; all NaN for a position outside the globe
 * Accuracy: rise and set within 2 minutes of stv_sun_at below 60 deg latitude, day sum within
 *           0.3 % of its integral; FAO-56's worked days within 1.5 %
 * Source:   Allen et al. 1998, FAO Irrigation and Drainage Paper 56, eq. 21 and 25 (from memory),
 *           with the declination and distance of stv_sun_at
 * Assumes:  declination and distance of the noon hold for the day; centre of the sun on the true
 *           horizon, no refraction
 * Memory:   allocates nothing */
struct stv_sun_day stv_sun_day(int64_t day_d, int32_t utc_offset_min,
                               const struct stv_site_position *site);

/* Diffuse share of the global radiation at a clearness index.
 *
 * clearness_nd  global on the flat over extraterrestrial on the flat, >= 0
 *
 * Shape:    scalar in, 0..1 out; NaN for a negative or NaN clearness
 * Accuracy: hourly scatter about 0.12 of the share (from memory); the curve itself is exact
 * Source:   Erbs, Klein and Duffie 1982, Solar Energy 28, 293
 * Memory:   allocates nothing */
double stv_erbs_diffuse_frac(double clearness_nd);

/* Split of global radiation into beam and diffuse by the clearness index.
 *
 * ghi_w_m2   >= 0, while the sun shines
 * sun        position and extraterrestrial strength of the same instant
 *
 * Below 3 deg of elevation all is diffuse.  The beam is held at the extraterrestrial strength; the
 * rest is then diffuse.  Always DNI cos z + DHI = GHI.
 *
 * Shape:    struct out; all NaN for a negative or NaN GHI or a NaN sun
 * Accuracy: see stv_erbs_diffuse_frac
 * Source:   Erbs, Klein and Duffie 1982; floor of 0.065 on cos z in the clearness index, limit of
 *           87 deg on the beam: as in the open library pvlib
 * Memory:   allocates nothing */
struct stv_irradiance stv_sun_split_erbs(double ghi_w_m2, const struct stv_sun *sun);

/* The same by the direct transmittance, which also asks how much air the beam crosses.
 *
 * pressure_pa  of the station, > 0
 * others       as stv_sun_split_erbs
 *
 * Accuracy: to the digits of the published checks (tests/test_sun.c)
 * Source:   Maxwell 1987, SERI/TR-215-3087, as in the open library pvlib */
struct stv_irradiance stv_sun_split_disc(double ghi_w_m2, const struct stv_sun *sun,
                                         double pressure_pa);

/* Global radiation on the flat under a clear sky, W/m2.
 *
 * zenith_deg   0..180; zero when the sun is below the horizon
 *
 * Shape:    scalar in, scalar out; NaN for NaN
 * Accuracy: best of the simplest models, mean bias within some 5 % (from memory); blind to
 *           elevation, haze and vapour
 * Source:   Haurwitz 1945, J. Meteorology 2, 154, in the form 1098 cos z exp(-0.059/cos z)
 * Memory:   allocates nothing */
double stv_clear_sky_ghi_w_m2(double zenith_deg);

/* Sky diffuse on a tilted face, W/m2, without beam and without the ground.
 *
 * irradiance        beam and diffuse; the global is not used
 * tilt_deg          0 flat and facing up, 90 wall, 180 facing down
 * face_azimuth_deg  of the outward normal, from north, clockwise
 *
 * With the sun at or below the horizon, or a diffuse share of zero, the sky is taken as uniform.
 *
 * Shape:    scalar out, >= 0; NaN for NaN input
 * Accuracy: as tested 1e-6 against pvlib's worked value; the model itself a few per cent on walls
 * Source:   Perez et al. 1990, Solar Energy 44, 271, with the table in model/tables/perez.h
 * Assumes:  relative air mass at sea level in the brightness, as published
 * Memory:   allocates nothing */
double stv_perez_diffuse_w_m2(const struct stv_irradiance *irradiance, const struct stv_sun *sun,
                              double tilt_deg, double face_azimuth_deg);

/* Total short wave on a tilted face, W/m2: beam, sky (Perez) and ground.
 *
 * ground_albedo_frac   reflectance of the ground in front, 0..1
 * others               as for stv_perez_diffuse_w_m2
 *
 * Shape:    scalar out, >= 0; NaN for NaN input
 * Source:   Perez et al. 1990 for the sky; isotropic ground, GHI albedo (1 - cos tilt)/2
 * Assumes:  an open horizon
 * Memory:   allocates nothing */
double stv_tilted_w_m2(const struct stv_irradiance *irradiance, const struct stv_sun *sun,
                       double tilt_deg, double face_azimuth_deg, double ground_albedo_frac);

#endif
