/* An outdoor record made complete: hourly, no gaps, each column knowing where it came from. */
#ifndef STV_MODEL_WEATHER_H
#define STV_MODEL_WEATHER_H

#include "model/series.h"
#include "model/status.h"
#include "model/sun.h"

#define STV_WEATHER_GAP_D 10 /* the longest gap that is filled from the days beside it */

/* What a file may hold.  Hourly and daily files use the same names; the grid's step tells. */
enum stv_weather_quantity {
    STV_WQ_TEMP_C,     /* hourly, or the daily mean (not used beside minimum and maximum) */
    STV_WQ_TEMP_MIN_C, /* daily only */
    STV_WQ_TEMP_MAX_C, /* daily only */
    STV_WQ_DEW_POINT_C,
    STV_WQ_RH_FRAC,
    STV_WQ_PRESSURE_PA, /* at the station */
    STV_WQ_WIND_M_S,
    STV_WQ_GHI_W_M2, /* daily: mean of the 24 hours */
    STV_WQ_DNI_W_M2, /* hourly only; daily values are not used */
    STV_WQ_DHI_W_M2, /* hourly only; daily values are not used */
    STV_WQ_CLOUD_FRAC,
    STV_WQ_SKY_W_M2, /* long wave down on the flat */
    STV_WQ_N
};

/* As read: a step of 3600 or 86400 s, missing values NaN, absent columns NULL. */
struct stv_weather_record {
    struct stv_grid grid;
    struct stv_site_position site;
    double *columns[STV_WQ_N]; /* grid.n values each, owned; NULL when the file lacks it */
    double *covered_frac; /* share of each hour that a temperature speaks for, 0..1; owned; NULL
                             when the file gives whole hours or days */
};

/* Frees the columns of a record and sets them to NULL.  Accepts NULL. */
void stv_weather_record_free(struct stv_weather_record *record);

enum stv_origin { STV_ORIGIN_MEASURED, STV_ORIGIN_DERIVED, STV_ORIGIN_ASSUMED };

enum stv_weather_column {
    STV_WC_TEMP_C,
    STV_WC_VAPOUR_PA,
    STV_WC_PRESSURE_PA,
    STV_WC_WIND_M_S,
    STV_WC_GHI_W_M2,
    STV_WC_DNI_W_M2,
    STV_WC_DHI_W_M2,
    STV_WC_SKY_W_M2,
    STV_WC_N
};

/* Complete hourly weather. */
struct stv_weather {
    struct stv_grid grid; /* step 3600 s */
    struct stv_site_position site;
    double *columns[STV_WC_N]; /* grid.n finite values each, owned */
    enum stv_origin origin[STV_WC_N];
    const char *method[STV_WC_N]; /* static text: how a column was made, in words */
    size_t n_filled[STV_WC_N];    /* hours that were missing in the file and filled in */
    size_t n_saturated;           /* hours whose vapour pressure was lowered to saturation */
    uint8_t *is_made_up; /* grid.n, owned: 1 in a hole in temperature that other years filled; NULL
                            when there is none */
};

/* Completes a record to hourly weather without gaps.
 *
 * record  hourly or daily, grid.n >= 1; needs temperature: hourly, or daily minimum and maximum.
 *         Values that are not finite count as missing; so does a day whose minimum lies above its
 *         maximum.  A column without any finite value counts as absent.
 * out     filled on success, zeroed otherwise; free with stv_weather_free
 *
 * Grid:     an hourly record keeps its hours; a daily record becomes whole local days, each
 *           starting at local midnight of the fixed offset.  Values are means over the hour.
 * Columns:  temperature   as measured, or from the daily extremes (stv_parton_logan_c), stretched
 *                         so that each day's lowest and highest hour equal them within 1e-9 K; a
 *                         daily mean beside them is left unused
 *           vapour        from dew point, else humidity, else the daily minimum (see below); daily
 *                         values are held as a constant pressure, blended within 3 h of midnight;
 *                         never above saturation at the hour's temperature
 *           pressure      as measured, else the standard atmosphere at the elevation
 *           wind          as measured, else 2.5 m/s, assumed
 *           GHI           as measured (negative night readings are zero), else from cloud
 *                         (Kasten-Czeplak), else from the temperature range (Hargreaves, a mean
 *                         over 7 days, inland factor); day sums are spread over the sunlit hours
 *                         (Collares-Pereira and Rabl)
 *           DNI, DHI      as measured, or one from the other and GHI, else split (Erbs); a
 *                         split keeps DNI cos z + DHI = GHI at the hour's stv_sun_over
 *           sky           as measured, else Martin-Berdahl with the cloud of the file or of the
 *                         day's clearness; night hours carry the day's
 * Gaps:     hours up to 6 h by a straight line; up to 10 days by the same hour of the neighbouring
 *           good days (daily records: straight line); longer ones (stv_weather_next_hole) by the
 *           mean of that hour of that day of the year in the record, what no year has as a gap of
 *           its own, and of more than 10 days, except in temperature, by the record's mean.  Gaps
 *           in sun and sky are filled by their derivation instead.  All counted in n_filled, in
 *           hours.
 * Errors:   STV_E_ARG      a pointer is NULL, the grid is empty or neither hourly nor daily
 *           STV_E_NO_DATA  no temperature, or a hole in it that other years do not cover
 *           STV_E_DOMAIN   position outside the globe, elevation outside -500 .. 9000 m
 *           STV_E_MEMORY
 * Accuracy: tried by hand on a satellite year (Texas panhandle) and three typical years (Texas,
 *           Kentucky, Puerto Rico), root mean square per hour: temperature from extremes 1.1 to
 *           2.3 K (bias within 0.3 K); GHI from the range 90 to 135 W/m2 (46 to 76 per day), which
 *           is 5 % low or better inland but 28 % low on the tropical coast; GHI from cloud 75 to 98
 *           W/m2, 10 to 20 % low; a day's sum over the hours 48 to 54 W/m2; beam by Erbs 49 to 66
 *           W/m2, 6 to 10 % low, by DISC 45 to 68, 3 to 9 % low; vapour from dew points 117 to 170
 * Pa when daily, from the minimum alone 220 to 520 Pa and too moist (by 1 to 10 %, by 39 % in the
 * dry satellite year); sky, judged by the typical years' own modelled one, 10 W/m2 low and 25 per
 * hour inland (30 when all is derived), on the tropical coast 22 too high (40 when all is derived)
 * Source:   at each method's function in weather_*.c
 * Assumes:  dry climates, told by a wide daily range, have a dew point up to 2 K below the daily
 *           minimum when no humidity was measured (Allen et al. 1998, FAO-56 annex 6, from memory)
 * Memory:   caller frees with stv_weather_free */
STV_MUST_CHECK enum stv_status stv_weather_complete(const struct stv_weather_record *record,
                                                    struct stv_weather *out);

/* A run of steps without a temperature (daily: without one of the extremes) that is too long to be
 * filled from the days beside it. */
struct stv_weather_hole {
    size_t from, n;  /* steps of the record's grid */
    bool is_covered; /* other years have its days, but for gaps of up to 10 days */
};

/* The next hole behind `hole`; the first when it is all zero.  False: there is none, and `hole` is
 * left as it was.  A record without any temperature has no hole.
 *
 * Memory: allocates nothing */
bool stv_weather_next_hole(const struct stv_weather_record *record, struct stv_weather_hole *hole);

/* Frees the columns of completed weather and sets them to NULL.  Accepts NULL. */
void stv_weather_free(struct stv_weather *weather);

/* One day as the curve of temperature sees it. */
struct stv_temp_day {
    double min_c, max_c, next_min_c; /* the day's extremes and the minimum of the next morning */
    double sunrise_h, sunset_h;      /* hours after local midnight */
};

/* Temperature between a day's minimum and the next one: a sine by day, a decay by night.
 *
 * day     finite, 0 < sunset - sunrise < 24 h
 * hour_h  after the day's midnight, from the morning's minimum to beyond 24
 *
 * This is the published curve; it ends above next_min_c by a ninth of the evening's fall.
 *
 * Shape:    scalar out, NaN for NaN
 * Accuracy: as published about 2 K per hour (from memory); worst on days of passing fronts
 * Source:   Parton and Logan 1981, Agric. Meteorol. 23, 205; Denver air at 1.5 m: a 1.86, b 2.20,
 *           c -0.17, of which a is the lag of the maximum, b the decay, c the lag of the minimum
 * Memory:   allocates nothing */
double stv_parton_logan_c(const struct stv_temp_day *day, double hour_h);

/* Effective sky emissivity of a clear sky.
 *
 * dew_point_c   at the ground, about -60 .. 30
 * solar_hour_h  0 at solar midnight
 * pressure_pa   at the station
 *
 * Shape:    scalar out, NaN for NaN
 * Accuracy: 0.03 or so by the hour (from memory)
 * Source:   Martin and Berdahl 1984, Solar Energy 33, 321 (from memory)
 * Memory:   allocates nothing */
double stv_clear_sky_emissivity_nd(double dew_point_c, double solar_hour_h, double pressure_pa);

/* Factor on the clear sky's long wave for a cloud fraction 0..1 (1 at 0, 1.1544 at 1).
 *
 * Shape:    scalar out, NaN outside 0..1
 * Source:   Walton 1983, NBSIR 83-2655 (from memory)
 * Memory:   allocates nothing */
double stv_cloud_sky_factor_nd(double cloud_frac);

/* Global radiation under a share of cloud, W/m2, and the cloud that a clearness stands for.
 *
 * elevation_deg  of the sun; zero radiation below about 2 deg
 * cloud_frac     0..1
 * clearness_nd   global over its clear-sky value, >= 0; 1 and above give no cloud
 *
 * Shape:    scalar out; NaN for a cloud fraction outside 0..1, a negative clearness or NaN
 * Source:   Kasten and Czeplak 1980, Solar Energy 24, 177 (constants 910 and 30 from memory)
 * Memory:   allocates nothing */
double stv_cloudy_ghi_w_m2(double elevation_deg, double cloud_frac);
double stv_cloud_from_clearness_frac(double clearness_nd);

/* Day sum of global radiation from the temperature range, J/m2.
 *
 * range_k                 mean daily range of about a week, >= 0
 * extraterrestrial_j_m2   the day's, on the flat
 * elevation_m             raises the ceiling, (0.75 + 2e-5 elevation) of the extraterrestrial
 *
 * Shape:    scalar out, NaN for a negative range or NaN
 * Accuracy: some 10 to 15 % for weekly means inland; 0.19 would suit a coast (from memory)
 * Source:   Hargreaves and Samani, and the clear-sky ceiling, in Allen et al. 1998, FAO-56, eq. 50
 *           (0.16 inland) and 37 (ceiling from memory)
 * Memory:   allocates nothing */
double stv_hargreaves_j_m2(double range_k, double extraterrestrial_j_m2, double elevation_m);

#endif
