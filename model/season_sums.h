/* Private to climate_metrics.c: one season of one place, hour by hour. */
#ifndef STV_MODEL_SEASON_SUMS_H
#define STV_MODEL_SEASON_SUMS_H

#include "model/climate_metrics.h"
#include "model/cooperage.h"

#include <stdbool.h>

/* Content of the standard cask at which rates are taken. */
struct stv__standard_cask {
    struct stv_cask_geometry geometry;
    double ethanol_kg, water_kg, volume20_l;
};

/* Daily extremes gathered while hours pass. */
struct stv__swing {
    double low_c, high_c, sum_k;
    size_t n_hours;
};

struct stv__season_sums {
    size_t n, n_held;         /* hours so far; of these outside -15..50 C */
    double *air_c, *liquid_c; /* those hours, room given by the caller */
    size_t run_start;         /* first hour of the unbroken run */
    size_t last_k;            /* grid index of the last hour */
    int64_t day_d;
    struct stv__swing air_swing, liquid_swing;
    size_t n_days;
    double liquid_cycles_nd[STV_CYCLE_BINS], air_cycles_nd[STV_CYCLE_BINS];
    double rh_frac, rh_psat_pa, psat_pa;
    double kinetic_nd, extraction_nd, fruit_per_y;
    double degree_h, unfilled_degree_h, cool_h;
    double ethanol_kg_s, water_kg_s;
};

struct stv__hour {
    size_t k;
    int64_t day_d;
    double air_c, rh_frac, liquid_c;
    bool is_filled; /* stands in a hole of a logger, filled or not */
    /* Of stv__hour_rates: alike for all seasons that hold the hour. */
    bool is_held; /* liquid outside -15..50 C */
    double psat_pa, kinetic_nd, extraction_nd, fruit_per_y, ethanol_kg_s, water_kg_s;
};

STV_MUST_CHECK enum stv_status stv__hour_rates(const struct stv__standard_cask *cask,
                                               const struct stv_metric_options *options,
                                               struct stv__hour *hour);
/* Hours in their order. */
STV_MUST_CHECK enum stv_status stv__season_add(const struct stv_cask_numbers *numbers,
                                               const struct stv__hour *hour,
                                               struct stv__season_sums *sums);

/* Figures of the season; sorts the hours.  n_years: how often the season was met, a part of a
 * season as a part. */
STV_MUST_CHECK enum stv_status stv__season_finish(const struct stv__standard_cask *cask,
                                                  const struct stv_metric_options *options,
                                                  double n_years, struct stv__season_sums *sums,
                                                  struct stv_season_metrics *out,
                                                  double *out_histogram_frac);

#endif
