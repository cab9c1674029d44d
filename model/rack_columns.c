#include "model/rack_columns.h"

#include "model/air.h"
#include "model/sun.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define YEAR_H ((size_t)365 * STV_DAY_H)
#define CALM_M_S 2.0        /* a roof is cooled by air that moves by itself */
#define SNOW_MEMORY_H 240.0 /* outdoor air of ten days tells whether snow lies */
#define SNOW_MELTS_C 1.0
#define SNOW_WIDTH_K 1.0
#define DRY_PA 1.0 /* least vapour pressure a logarithm is taken of */

/* Series that columns are smoothed from. */
enum series {
    AIR,
    SUN,
    BEAM_FLAT,
    DIFFUSE,
    BEAM_NORTH,
    BEAM_EAST,
    BEAM_SOUTH,
    BEAM_WEST,
    SKY,
    WIND,
    SUN_IN_WIND,
    SKY_IN_WIND,
    BARE,
    BARE_SUN,
    BARE_SKY,
    BARE_SUN_IN_WIND,
    BARE_SKY_IN_WIND,
    BARE_AIR,
    STORE_AIR,
    VAPOUR,
    STORE_VAPOUR,
    ROOM_SATURATION,
    BARE_VAPOUR
};

struct column {
    const char *name;
    enum stv_rack_group group;
    enum series series;
    double smooth_h; /* 0: as it is */
    double less_h;   /* not 0: less the same smoothed over so long */
};

static const struct column air_columns[] = {
    {"air_3h", STV_RACK_OUTDOOR, AIR, 3.0, 0.0},
    {"air_24h", STV_RACK_OUTDOOR, AIR, 24.0, 0.0},
    {"air_168h", STV_RACK_OUTDOOR, AIR, 168.0, 0.0},
    {"air_720h", STV_RACK_OUTDOOR, AIR, 720.0, 0.0},
    {"sun_3h", STV_RACK_SUN, SUN, 3.0, 0.0},
    {"sun_24h", STV_RACK_SUN, SUN, 24.0, 0.0},
    {"sun_168h", STV_RACK_SUN, SUN, 168.0, 0.0},
    {"sun_720h", STV_RACK_SUN, SUN, 720.0, 0.0},
    {"beam_3h", STV_RACK_BEAM, BEAM_FLAT, 3.0, 0.0},
    {"beam_24h", STV_RACK_BEAM, BEAM_FLAT, 24.0, 0.0},
    {"diffuse_3h", STV_RACK_BEAM, DIFFUSE, 3.0, 0.0},
    {"diffuse_24h", STV_RACK_BEAM, DIFFUSE, 24.0, 0.0},
    {"beam_north_3h", STV_RACK_SIDES, BEAM_NORTH, 3.0, 0.0},
    {"beam_east_3h", STV_RACK_SIDES, BEAM_EAST, 3.0, 0.0},
    {"beam_south_3h", STV_RACK_SIDES, BEAM_SOUTH, 3.0, 0.0},
    {"beam_west_3h", STV_RACK_SIDES, BEAM_WEST, 3.0, 0.0},
    {"sky_3h", STV_RACK_SKY, SKY, 3.0, 0.0},
    {"sky_24h", STV_RACK_SKY, SKY, 24.0, 0.0},
    {"wind_3h", STV_RACK_WIND, WIND, 3.0, 0.0},
    {"sun_in_wind_3h", STV_RACK_WIND, SUN_IN_WIND, 3.0, 0.0},
    {"sky_in_wind_3h", STV_RACK_WIND, SKY_IN_WIND, 3.0, 0.0},
    {"bare", STV_RACK_BARE, BARE, 0.0, 0.0},
    {"bare_sun_3h", STV_RACK_BARE, BARE_SUN, 3.0, 0.0},
    {"bare_sun_24h", STV_RACK_BARE, BARE_SUN, 24.0, 0.0},
    {"bare_sky_3h", STV_RACK_BARE, BARE_SKY, 3.0, 0.0},
    {"bare_sky_24h", STV_RACK_BARE, BARE_SKY, 24.0, 0.0},
    {"bare_sun_in_wind_3h", STV_RACK_BARE_WIND, BARE_SUN_IN_WIND, 3.0, 0.0},
    {"bare_sky_in_wind_3h", STV_RACK_BARE_WIND, BARE_SKY_IN_WIND, 3.0, 0.0},
    {"bare_air_3h", STV_RACK_BARE_AIR, BARE_AIR, 3.0, 0.0},
    {"bare_air_24h", STV_RACK_BARE_AIR, BARE_AIR, 24.0, 0.0},
    {"air_1h", STV_RACK_QUICK, AIR, 1.0, 0.0},
    {"sun_1h", STV_RACK_QUICK, SUN, 1.0, 0.0},
    {"store", STV_RACK_STORE, STORE_AIR, 0.0, 0.0},
    {"store_24h", STV_RACK_STORE, STORE_AIR, 24.0, 0.0},
    {"store_720h", STV_RACK_STORE, STORE_AIR, 720.0, 0.0},
    {"air_3h_less_24h", STV_RACK_DAILY, AIR, 3.0, 24.0},
    {"sun_3h_less_24h", STV_RACK_DAILY, SUN, 3.0, 24.0},
    {"store_less_24h", STV_RACK_DAILY, STORE_AIR, 0.0, 24.0},
};

static const struct column vapour_columns[] = {
    {"vapour_6h", STV_RACK_OUTDOOR, VAPOUR, 6.0, 0.0},
    {"vapour_72h", STV_RACK_OUTDOOR, VAPOUR, 72.0, 0.0},
    {"vapour_720h", STV_RACK_OUTDOOR, VAPOUR, 720.0, 0.0},
    {"room", STV_RACK_ROOM, ROOM_SATURATION, 0.0, 0.0},
    {"room_3h", STV_RACK_ROOM, ROOM_SATURATION, 3.0, 0.0},
    {"room_24h", STV_RACK_ROOM, ROOM_SATURATION, 24.0, 0.0},
    {"room_72h", STV_RACK_ROOM, ROOM_SATURATION, 72.0, 0.0},
    {"room_720h", STV_RACK_ROOM, ROOM_SATURATION, 720.0, 0.0},
    {"vapour_1h", STV_RACK_QUICK, VAPOUR, 1.0, 0.0},
    {"sun_3h", STV_RACK_SUN, SUN, 3.0, 0.0},
    {"sun_24h", STV_RACK_SUN, SUN, 24.0, 0.0},
    {"wind_3h", STV_RACK_WIND, WIND, 3.0, 0.0},
    {"wind_24h", STV_RACK_WIND, WIND, 24.0, 0.0},
    {"bare", STV_RACK_BARE, BARE, 0.0, 0.0},
    {"bare_sun_3h", STV_RACK_BARE, BARE_SUN, 3.0, 0.0},
    {"bare_sun_24h", STV_RACK_BARE, BARE_SUN, 24.0, 0.0},
    {"bare_vapour_6h", STV_RACK_BARE_AIR, BARE_VAPOUR, 6.0, 0.0},
    {"bare_vapour_72h", STV_RACK_BARE_AIR, BARE_VAPOUR, 72.0, 0.0},
    {"store_vapour", STV_RACK_STORE, STORE_VAPOUR, 0.0, 0.0},
    {"store_vapour_24h", STV_RACK_STORE, STORE_VAPOUR, 24.0, 0.0},
    {"store_vapour_720h", STV_RACK_STORE, STORE_VAPOUR, 720.0, 0.0},
    {"vapour_1h_less_24h", STV_RACK_DAILY, VAPOUR, 1.0, 24.0},
    {"room_less_24h", STV_RACK_DAILY, ROOM_SATURATION, 0.0, 24.0},
    {"store_vapour_less_24h", STV_RACK_DAILY, STORE_VAPOUR, 0.0, 24.0},
};

#define N_AIR (sizeof air_columns / sizeof air_columns[0])
#define N_VAPOUR (sizeof vapour_columns / sizeof vapour_columns[0])

static const struct column *columns_of(enum stv_rack_target target)
{
    return target == STV_RACK_AIR ? air_columns : vapour_columns;
}

size_t stv_rack_n_columns(enum stv_rack_target target)
{
    return target == STV_RACK_AIR ? N_AIR : N_VAPOUR;
}

const char *stv_rack_column_name(enum stv_rack_target target, size_t column)
{
    return column < stv_rack_n_columns(target) ? columns_of(target)[column].name : NULL;
}

enum stv_rack_group stv_rack_column_group(enum stv_rack_target target, size_t column)
{
    return columns_of(target)[column].group;
}

const char *stv_rack_group_words(enum stv_rack_group group)
{
    static const char *const words[STV_RACK_GROUPS] = {
        [STV_RACK_OUTDOOR] = "outdoor air",
        [STV_RACK_SUN] = "sun",
        [STV_RACK_BEAM] = "direct and diffuse sun",
        [STV_RACK_SIDES] = "sun on the sides",
        [STV_RACK_SKY] = "cold of the sky",
        [STV_RACK_WIND] = "wind",
        [STV_RACK_BARE] = "sun and sky while no snow lies",
        [STV_RACK_BARE_WIND] = "the same in wind",
        [STV_RACK_BARE_AIR] = "outdoor air while no snow lies",
        [STV_RACK_QUICK] = "the last hour",
        [STV_RACK_STORE] = "the building model of the hour, day and month",
        [STV_RACK_DAILY] = "the hours against their day",
        [STV_RACK_ROOM] = "own temperature",
    };
    return (unsigned)group < STV_RACK_GROUPS ? words[group] : "unknown";
}

/* The sky's black temperature less the air's. */
static double sky_k(const struct stv_weather *weather, size_t k)
{
    double sky_w_m2 = fmax(weather->columns[STV_WC_SKY_W_M2][k], 1.0);
    return pow(sky_w_m2 / STV_STEFAN_W_M2K4, 0.25) - STV_ZERO_C_IN_K -
           weather->columns[STV_WC_TEMP_C][k];
}

enum stv_status stv_rack_sun_new(const struct stv_weather *weather, struct stv_rack_sun *out)
{
    size_t n = weather->grid.n;
    *out =
        (struct stv_rack_sun){malloc((n + 1) * sizeof(double)), malloc((n + 1) * sizeof(double))};
    if (!out->north_w_m2 || !out->east_w_m2) {
        stv_rack_sun_free(out);
        return STV_E_MEMORY;
    }
    for (size_t k = 0; k < n; k++) {
        double sunlit_frac;
        struct stv_sun sun = stv_sun_over(stv_grid_start_s(&weather->grid, k), weather->grid.step_s,
                                          &weather->site, &sunlit_frac);
        double azimuth_rad = sun.azimuth_deg * PI / 180.0;
        double level_w_m2 = weather->columns[STV_WC_DNI_W_M2][k] * sin(sun.zenith_deg * PI / 180.0);
        out->north_w_m2[k] = level_w_m2 * cos(azimuth_rad);
        out->east_w_m2[k] = level_w_m2 * sin(azimuth_rad);
    }
    return STV_OK;
}

void stv_rack_sun_free(struct stv_rack_sun *sun)
{
    free(sun->north_w_m2);
    free(sun->east_w_m2);
    *sun = (struct stv_rack_sun){NULL, NULL};
}

static double log_pa(double vapour_pa)
{
    return log(fmax(vapour_pa, DRY_PA));
}

static double in_wind(const struct stv_weather *weather, size_t k)
{
    return 1.0 / (CALM_M_S + weather->columns[STV_WC_WIND_M_S][k]);
}

/* Value of a series at an hour; what `bare` multiplies is asked for under its plain name. */
static double plain_value(const struct stv_rack_drive *drive, enum series series, size_t k)
{
    double *const *columns = drive->weather->columns;
    switch (series) {
    case AIR:
        return columns[STV_WC_TEMP_C][k];
    case SUN:
        return columns[STV_WC_GHI_W_M2][k];
    case BEAM_FLAT:
        return fmax(0.0, columns[STV_WC_GHI_W_M2][k] - columns[STV_WC_DHI_W_M2][k]);
    case DIFFUSE:
        return columns[STV_WC_DHI_W_M2][k];
    case BEAM_NORTH:
        return fmax(0.0, drive->sun->north_w_m2[k]);
    case BEAM_EAST:
        return fmax(0.0, drive->sun->east_w_m2[k]);
    case BEAM_SOUTH:
        return fmax(0.0, -drive->sun->north_w_m2[k]);
    case BEAM_WEST:
        return fmax(0.0, -drive->sun->east_w_m2[k]);
    case SKY:
        return sky_k(drive->weather, k);
    case WIND:
        return columns[STV_WC_WIND_M_S][k];
    case SUN_IN_WIND:
        return columns[STV_WC_GHI_W_M2][k] * in_wind(drive->weather, k);
    case SKY_IN_WIND:
        return sky_k(drive->weather, k) * in_wind(drive->weather, k);
    case STORE_AIR:
        return drive->store_air_c[k] - columns[STV_WC_TEMP_C][k];
    case VAPOUR:
        return log_pa(columns[STV_WC_VAPOUR_PA][k]);
    case STORE_VAPOUR:
        return log_pa(drive->store_rh_frac[k] * stv_water_psat_pa(drive->store_air_c[k])) -
               log_pa(columns[STV_WC_VAPOUR_PA][k]);
    case ROOM_SATURATION:
        return log_pa(stv_water_psat_pa(drive->room_c[k]));
    default:
        return 1.0; /* BARE: the share itself */
    }
}

/* The plain series under one that counts only while no snow lies; the series itself otherwise. */
static enum series without_snow(enum series series)
{
    switch (series) {
    case BARE_SUN:
        return SUN;
    case BARE_SKY:
        return SKY;
    case BARE_SUN_IN_WIND:
        return SUN_IN_WIND;
    case BARE_SKY_IN_WIND:
        return SKY_IN_WIND;
    case BARE_AIR:
        return AIR;
    case BARE_VAPOUR:
        return VAPOUR;
    default:
        return series;
    }
}

static double mean_of_first(const double *values, size_t n, double smooth_h)
{
    size_t n_first = (size_t)smooth_h + 1;
    n_first = n_first < n ? n_first : n;
    double sum = 0.0;
    for (size_t k = 0; k < n_first; k++)
        sum += values[k];
    return sum / (double)n_first;
}

static void smooth(double *values, size_t n, double smooth_h)
{
    if (!(smooth_h > 0.0))
        return;
    double kept = exp(-1.0 / smooth_h), state = mean_of_first(values, n, smooth_h);
    if (n >= YEAR_H)
        for (size_t k = 0; k < YEAR_H; k++)
            state = kept * state + (1.0 - kept) * values[k];
    for (size_t k = 0; k < n; k++)
        values[k] = state = kept * state + (1.0 - kept) * values[k];
}

/* Share of a roof that is free of snow, as the air of the last ten days has it. */
static void tell_bare(const struct stv_weather *weather, double *out_frac)
{
    size_t n = weather->grid.n;
    memcpy(out_frac, weather->columns[STV_WC_TEMP_C], n * sizeof *out_frac);
    smooth(out_frac, n, SNOW_MEMORY_H);
    for (size_t k = 0; k < n; k++)
        out_frac[k] = 1.0 / (1.0 + exp((SNOW_MELTS_C - out_frac[k]) / SNOW_WIDTH_K));
}

static bool is_drawn_from_there(const struct stv_rack_drive *drive, enum series series)
{
    if (series >= BEAM_NORTH && series <= BEAM_WEST)
        return drive->sun != NULL;
    if (series == STORE_AIR)
        return drive->store_air_c != NULL;
    if (series == STORE_VAPOUR)
        return drive->store_air_c && drive->store_rh_frac;
    return series != ROOM_SATURATION || drive->room_c;
}

static enum stv_status smooth_column(const struct column *column, double *values, size_t n)
{
    double *slow = NULL;
    if (column->less_h > 0.0) {
        slow = malloc((n + 1) * sizeof *slow);
        if (!slow)
            return STV_E_MEMORY;
        memcpy(slow, values, n * sizeof *slow);
        smooth(slow, n, column->less_h);
    }
    smooth(values, n, column->smooth_h);
    for (size_t k = 0; slow && k < n; k++)
        values[k] -= slow[k];
    free(slow);
    return STV_OK;
}

enum stv_status stv_rack_column(const struct stv_rack_drive *drive, enum stv_rack_target target,
                                size_t column, double *out)
{
    if (!drive || !drive->weather || !out || column >= stv_rack_n_columns(target))
        return STV_E_ARG;
    const struct column *wanted = &columns_of(target)[column];
    if (!is_drawn_from_there(drive, wanted->series))
        return STV_E_NO_DATA;
    size_t n = drive->weather->grid.n;
    enum series plain = without_snow(wanted->series);
    double *bare_frac = NULL;
    if (plain != wanted->series || plain == BARE) {
        bare_frac = malloc((n + 1) * sizeof *bare_frac);
        if (!bare_frac)
            return STV_E_MEMORY;
        tell_bare(drive->weather, bare_frac);
    }
    for (size_t k = 0; k < n; k++)
        out[k] = plain_value(drive, plain, k) * (bare_frac ? bare_frac[k] : 1.0);
    free(bare_frac);
    return smooth_column(wanted, out, n);
}
