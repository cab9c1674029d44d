/* What a place is like in the warm season, the cold season and the year. */
#ifndef STV_MODEL_CLIMATE_METRICS_H
#define STV_MODEL_CLIMATE_METRICS_H

#include "model/position.h"
#include "model/status.h"

#include <stddef.h>

enum stv_season { STV_SEASON_WARM, STV_SEASON_COLD, STV_SEASON_YEAR, STV_SEASON_N };

/* First and last day of a season as day of a 365-day year, 0..364; from > to wraps the year. */
struct stv_season_span {
    int from_doy, to_doy;
};

struct stv_metric_options {
    double degree_day_base_c;  /* 10 */
    double cool_below_c;       /* 15 */
    double waking_c;           /* 20 */
    double kinetic_ea_j_mol;   /* 83144 */
};
struct stv_metric_options stv_metric_options_default(void);

struct stv_season_metrics {
    double air_mean_c, air_p05_c, air_p95_c, air_min_c, air_max_c, air_swing_k;
    double liquid_mean_c, liquid_p05_c, liquid_p25_c, liquid_p50_c, liquid_p75_c, liquid_p95_c;
    double liquid_min_c, liquid_max_c, liquid_swing_k;
    double cycles_nd;           /* rainflow of the liquid, >= 0.5 K, per season (mean of years) */
    double degree_days_k_d;
    double cool_hours_h;
    double kinetic_mean_c;
    double rh_mean_frac, rh_weighted_frac;
    double evaporation_frac_per_y;   /* of the liquid's volume at 20 C */
    double water_lost_kg_per_y, ethanol_lost_kg_per_y;
    double abv20_drift_frac_per_y;
    double extraction_rel_nd;        /* mean kf(T)/kf(20 C), phenolics and colour */
    double fruit_fading_per_y;       /* mean kh(T), 1/y */
    double held_frac;                /* share of hours whose rates were taken at -15 or 50 C
                                        because the liquid lay beyond */
};

#define STV_HISTOGRAM_BINS 140 /* 0.5 K bins from -20 C, share of hours, for the ridgelines */
#define STV_HISTOGRAM_FROM_C (-20.0)
#define STV_HISTOGRAM_STEP_K 0.5

struct stv_position_metrics {
    struct stv_place place;
    enum stv_position_source source;
    double measured_frac;
    double offset_k, offset_rh_frac;
    struct stv_season_metrics seasons[STV_SEASON_N];
    double liquid_histogram_frac[STV_SEASON_N][STV_HISTOGRAM_BINS];
    double warmest_month_c;       /* liquid, mean of the warmest calendar month */
    int waking_doy, quiet_doy;    /* of the mean year: liquid passes waking_c upward, downward for
                                     the last time; -1 when it never does */
    size_t n_years;               /* whole years behind the figures */
};

/* Warmest and coldest 13 weeks of the mean year of one hourly series.
 * Errors: STV_E_NO_DATA when a day of the year is never covered. */
STV_MUST_CHECK enum stv_status stv_seasons_find(const struct stv_grid *grid, const double *air_c,
                                                struct stv_season_span out[STV_SEASON_N]);

/* Day of the 365-day year (0..364) of a local day number; 29 February counts with the 28th. */
int stv_season_day(int64_t day_d);

/* True when a day of the 365-day year (0..364) lies in the span. */
int stv_season_holds(const struct stv_season_span *span, int doy);

/* Season of the months a user named (holds[0] is January): one run of neighbouring months, which
 * may pass the turn of the year.  All twelve give the whole year. */
struct stv_season_span stv_season_of_months(const int holds[12]);

/* Metrics of one position: the liquid is that of a 200 L cask 97 % full at 60 %, soaked, its
 * rates taken at that composition.  exposed_frac as in stv_building.
 * Errors: STV_E_NO_DATA less than 365 days; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_position_metrics(const struct stv_position *position,
                                                    const struct stv_season_span seasons[STV_SEASON_N],
                                                    const struct stv_metric_options *options,
                                                    double exposed_frac,
                                                    struct stv_position_metrics *out);

/* Hourly liquid temperature of that 200 L cask; out has position->grid.n values. */
STV_MUST_CHECK enum stv_status stv_position_liquid_c(const struct stv_position *position,
                                                     double exposed_frac, double *out_liquid_c);

/* Result of `climate`: what text, JSON, CSV and charts are made from. */
struct stv_warehouse_climate {
    char name[64];
    struct stv_building building;
    struct stv_season_span seasons[STV_SEASON_N];
    double gradient_k_m[STV_SEASON_N]; /* least-squares slope of the tiers' mean air on height */
    struct stv_position_metrics *tiers; /* n_tiers, bay -1 */
    size_t n_tiers;
    struct stv_position_metrics *bays;  /* positions with a logger of their own */
    size_t n_bays;
    double air_change_mean_per_h;
    size_t n_years;
    int32_t first_year, last_year;
};

struct stv_climate_result {
    struct stv_warehouse_climate *warehouses;
    size_t n_warehouses;
};
void stv_climate_result_free(struct stv_climate_result *result);

/* Slope of values on height, K/m: tiers' values with the tier spacing. NaN below two tiers. */
double stv_tier_gradient_k_m(const double *values_c, size_t n_tiers, double tier_height_m);

#endif
