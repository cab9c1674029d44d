/* What a place is like in the warm season, the cold season and the year. */
#ifndef STV_MODEL_CLIMATE_METRICS_H
#define STV_MODEL_CLIMATE_METRICS_H

#include "model/cask_numbers.h"
#include "model/params.h"
#include "model/position.h"
#include "model/status.h"

#include <stddef.h>

enum stv_season { STV_SEASON_WARM, STV_SEASON_COLD, STV_SEASON_YEAR, STV_SEASON_N };

/* First and last day of a season as day of a 365-day year, 0..364; from > to wraps the year. */
struct stv_season_span {
    int from_doy, to_doy;
};

/* The numbers of the cask at which rates are taken, and of the figures themselves
 * (degree_day_base_c and its like). */
struct stv_metric_options {
    struct stv_params params;
    struct stv_cask_numbers numbers;
};
/* The defaults of both. */
struct stv_metric_options stv_metric_options_default(void);

/* Sizes of the cycles: bins of 1 K from STV_CYCLE_LEAST_K on, wider ones in the last. */
#define STV_CYCLE_BINS 40
#define STV_CYCLE_LEAST_K 0.5
#define STV_CYCLE_STEP_K 1.0

struct stv_season_metrics {
    double air_mean_c, air_p05_c, air_p95_c, air_min_c, air_max_c, air_swing_k;
    double liquid_mean_c, liquid_p05_c, liquid_p25_c, liquid_p50_c, liquid_p75_c, liquid_p95_c;
    double liquid_min_c, liquid_max_c, liquid_swing_k;
    double cycles_nd; /* rainflow of the liquid, >= 0.5 K, per season (mean of years) */
    double liquid_cycles_nd[STV_CYCLE_BINS]; /* the same by size, and those of the air */
    double air_cycles_nd[STV_CYCLE_BINS];
    double degree_days_k_d;
    double unfilled_degree_days_k_d; /* the same without the hours in holes of a logger */
    double filled_frac;              /* share of the hours that were filled into holes */
    double hole_frac;                /* of the hours in which a logger hung there, the share that is
                                        neither measured nor filled; 0 without a logger */
    double cool_hours_h;
    double kinetic_mean_c;
    double rh_mean_frac, rh_weighted_frac;
    double evaporation_frac_per_y; /* of the liquid's volume at 20 C */
    double water_lost_kg_per_y, ethanol_lost_kg_per_y;
    double abv20_drift_frac_per_y;
    double extraction_rel_nd;  /* mean kf(T)/kf(20 C), phenolics and colour */
    double fruit_fading_per_y; /* mean kh(T), 1/y */
    double held_frac;          /* share of hours whose rates were taken at -15 or 50 C
                                  because the liquid lay beyond */
};

/* 0.5 K bins from -20 to 50 C, share of all hours, for the ridgelines; hours beyond are in none. */
#define STV_HISTOGRAM_BINS 140
#define STV_HISTOGRAM_FROM_C (-20.0)
#define STV_HISTOGRAM_STEP_K 0.5

struct stv_position_metrics {
    struct stv_place place;
    enum stv_position_source source;
    enum stv_position_rest rest;
    struct stv_climate_error error;
    double measured_frac;
    double offset_k, offset_rh_frac;
    struct stv_season_metrics seasons[STV_SEASON_N];
    double liquid_histogram_frac[STV_SEASON_N][STV_HISTOGRAM_BINS];
    double warmest_month_c;    /* liquid, mean of the warmest calendar month */
    int waking_doy, quiet_doy; /* of the mean year: liquid passes waking_c upward, downward for
                                  the last time; -1 when it never does */
    size_t n_years;            /* whole years behind the figures */
};

/* Warmest and coldest 13 weeks (91 days) of the mean year of one hourly series; the whole year too.
 *
 * air_c    grid->n values, deg C; NaN are left out
 * out      untouched when the status is not OK; the earlier of equal spans
 *
 * Days that no year has are bridged by a straight line, to find the seasons and for nothing else.
 *
 * Errors:  STV_E_NO_DATA  more than 30 days on end are in no year */
STV_MUST_CHECK enum stv_status stv_seasons_find(const struct stv_grid *grid, const double *air_c,
                                                struct stv_season_span out[STV_SEASON_N]);

/* Day of the 365-day year (0..364) of a local day number; 29 February counts with the 28th. */
int stv_season_day(int64_t day_d);

/* 1 when a day of the 365-day year (0..364) lies in the span, whose ends belong to it; else 0. */
int stv_season_holds(const struct stv_season_span *span, int doy);

/* Season of the months a user named (holds[0] is January): one run of neighbouring months, which
 * may pass the turn of the year.  All twelve, or none, give the whole year. */
struct stv_season_span stv_season_of_months(const int holds[12]);

/* Metrics of one position: the liquid is that of a 200 L cask 97 % full at 60 %, soaked, its
 * rates taken hour by hour at that composition.
 *
 * position      hours may be missing (NaN): sums per year are those of the hours that are known
 * seasons       as from stv_seasons_find
 * exposed_frac  share of the cask's outside that sees the air, above 0, up to 1
 * out           figures as means over the record's whole years; of a record with half a year over
 *               the last full ones
 *
 * Errors:  STV_E_NO_DATA  less than 360 days, or a season without an hour
 *          STV_E_DOMAIN   exposed_frac outside; STV_E_MEMORY
 * Source:  kinetic mean: Haynes 1971, J. Pharm. Sci. 60:927; cycles: ASTM E1049-85; rates:
 * parameter sheet (DEVELOPERS.md, Sources), sections 2, 4, 5 Assumes: hours of the liquid beyond
 * -15..50 C have the rates of that end, and are counted Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status
stv_position_metrics(const struct stv_position *position,
                     const struct stv_season_span seasons[STV_SEASON_N],
                     const struct stv_metric_options *options, double exposed_frac,
                     struct stv_position_metrics *out);

/* Hourly liquid temperature of that 200 L cask; position->grid.n values, NaN where the position has
 * none.  Errors: STV_E_DOMAIN exposed_frac; STV_E_ARG an empty grid. */
STV_MUST_CHECK enum stv_status stv_position_liquid_c(const struct stv_position *position,
                                                     double exposed_frac,
                                                     const struct stv_cask_numbers *numbers,
                                                     double *out_liquid_c);

/* Result of `climate`: what text, JSON, CSV and charts are made from. */
struct stv_warehouse_climate {
    char name[64];
    struct stv_building building;
    struct stv_season_span seasons[STV_SEASON_N];
    double gradient_k_m[STV_SEASON_N];  /* least-squares slope of the tiers' mean air on height */
    struct stv_position_metrics *tiers; /* n_tiers, bay -1 */
    size_t n_tiers;
    struct stv_position_metrics *bays; /* positions with a logger of their own */
    size_t n_bays;
    double air_change_mean_per_h;
    size_t n_years;
    int32_t first_year, last_year;
    int warm_hole_tier_idx; /* tier whose logger misses the most of the warm season, when that is
                               more than STV_HOLE_MOST_FRAC of it; else -1 */
};

/* A season with more of it missing is not ranked unless that is asked for. */
#define STV_HOLE_MOST_FRAC 0.10

struct stv_climate_result {
    struct stv_warehouse_climate *warehouses;
    size_t n_warehouses;
};
/* Frees all that it owns and empties it. */
void stv_climate_result_free(struct stv_climate_result *result);

/* Least-squares slope of n_tiers values, from the floor up, on height, K/m.  NaN below two tiers or
 * with a NaN among them. */
double stv_tier_gradient_k_m(const double *values_c, size_t n_tiers, double tier_height_m);

#endif
