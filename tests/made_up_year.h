/* A made-up year of weather for warehouses: smooth waves, so that what a building must do is known.
 */
#ifndef STV_TESTS_MADE_UP_YEAR_H
#define STV_TESTS_MADE_UP_YEAR_H

#include "model/air.h"
#include "model/sun.h"
#include "model/units.h"
#include "model/weather.h"
#include "tests/check.h"

#include <stdlib.h>

#define MADE_PI_ND 3.14159265358979323846
#define YEAR_H 8760

struct season { /* of the made-up weather */
    double mean_c, yearly_k, daily_k, rh_frac, clear_frac, latitude_deg;
};

/* Strongly seasonal, hot and dry in summer. */
static const struct season plains = {18.5, 12.2, 7.3, 0.55, 0.75, 32.4};

static inline double sky_w_m2(double temp_c, double emissivity_nd)
{
    double temp_k = stv_k_from_c(temp_c);
    return emissivity_nd * STV_STEFAN_W_M2K4 * temp_k * temp_k * temp_k * temp_k;
}

/* Hour k of the record: warmest in July north of the equator and at three in the afternoon, sun a
 * share of a clear sky, wind with a daily course. */
static inline void fill_hour(struct stv_weather *weather, const struct season *season, size_t k)
{
    double year_rad = 2.0 * MADE_PI_ND * ((double)k / STV_DAY_H - 199.0) / 365.0;
    double day_rad = 2.0 * MADE_PI_ND * ((double)(k % STV_DAY_H) + 0.5 - 15.0) / STV_DAY_H;
    double turn_nd = season->latitude_deg < 0.0 ? -1.0 : 1.0;
    double mean_c = season->mean_c + turn_nd * season->yearly_k * cos(year_rad);
    double temp_c = mean_c + season->daily_k * cos(day_rad);
    struct stv_sun sun =
        stv_sun_at(stv_grid_start_s(&weather->grid, k) + STV_HOUR_S / 2, &weather->site);
    struct stv_irradiance light =
        stv_sun_split_erbs(season->clear_frac * stv_clear_sky_ghi_w_m2(sun.zenith_deg), &sun);
    weather->columns[STV_WC_TEMP_C][k] = temp_c;
    weather->columns[STV_WC_VAPOUR_PA][k] = season->rh_frac * stv_water_psat_pa(mean_c);
    weather->columns[STV_WC_PRESSURE_PA][k] = 98700.0;
    weather->columns[STV_WC_WIND_M_S][k] = 3.3 + 1.2 * cos(day_rad);
    weather->columns[STV_WC_GHI_W_M2][k] = light.ghi_w_m2;
    weather->columns[STV_WC_DNI_W_M2][k] = light.dni_w_m2;
    weather->columns[STV_WC_DHI_W_M2][k] = light.dhi_w_m2;
    weather->columns[STV_WC_SKY_W_M2][k] = sky_w_m2(temp_c, 0.84);
}

static inline struct stv_weather make_weather(const struct season *season, size_t n)
{
    struct stv_weather weather = {.grid = {.t0_s = 1546300800, /* 2019-01-01 */
                                           .step_s = STV_HOUR_S,
                                           .n = n},
                                  .site = {season->latitude_deg, 0.0, 210.0}};
    for (size_t c = 0; c < STV_WC_N; c++) {
        weather.columns[c] = malloc(n * sizeof(double));
        assert_non_null(weather.columns[c]);
    }
    for (size_t k = 0; k < n; k++)
        fill_hour(&weather, season, k);
    return weather;
}

static inline void free_columns(struct stv_weather *weather)
{
    for (size_t c = 0; c < STV_WC_N; c++)
        free(weather->columns[c]);
}

#endif
