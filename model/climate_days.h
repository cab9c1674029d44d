/* Days of one place: what a calendar and the years laid over each other are drawn from. */
#ifndef STV_MODEL_CLIMATE_DAYS_H
#define STV_MODEL_CLIMATE_DAYS_H

#include "model/climate_metrics.h"
#include "model/position.h"
#include "model/status.h"
#include "model/weather.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Local days from the first known one to the last.  NaN: fewer than 20 of its hours are known. */
struct stv_climate_days {
    struct stv_place place;
    bool is_typical; /* its year number and weekdays mean nothing */
    double base_c;   /* of the degree-days */
    int64_t first_day_d;
    size_t n_days;
    double *max_c;           /* warmest hour of the liquid; owned */
    double *degree_days_k_d; /* of the day's known hours; owned */
    uint8_t *is_made_up;     /* weather of more than 4 hours is of other years; owned; NULL: none */
};

/* Days of the 200 L cask of stv_position_metrics, of the hours that count there.
 *
 * position, exposed_frac  as stv_position_metrics
 * weather                 that the position rests on, for the hours that are made up; may be NULL
 * out                     free with stv_climate_days_free; empty when the status is not OK
 * Errors:  STV_E_NO_DATA  no day is known
 *          STV_E_DOMAIN   exposed_frac outside; STV_E_ARG an empty grid; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_climate_days_make(const struct stv_position *position,
                                                     const struct stv_metric_options *options,
                                                     double exposed_frac,
                                                     const struct stv_weather *weather,
                                                     struct stv_climate_days *out);
/* Days whose weather is made up. */
size_t stv_climate_days_made_up(const struct stv_climate_days *days);
void stv_climate_days_free(struct stv_climate_days *days);

#define STV_DEGREE_YEAR_D 365

/* Month in which a place's years begin, so that its warm season lies in one of them: 1, or 7 where
 * the middle of the warm season lies in October to March. */
int stv_climate_year_month(const struct stv_season_span *warm);

/* Where a day stands in years that begin with that month.
 *
 * out_year  the calendar year in which they begin; of a typical year the one it stands in
 * Result    0..364; 29 February counts with the 28th */
int stv_climate_year_day(const struct stv_climate_days *days, int64_t day_d, int first_month,
                         int32_t *out_year);

/* Fewer whole years have no range. */
#define STV_DEGREE_RANGE_LEAST_YEARS 5

/* Degree-days summed from the year's first day on. */
struct stv_degree_year {
    int32_t year;
    bool is_whole; /* at most 5 of its days are missing */
    size_t n_days; /* known up to here: 365, or less of the year that goes on */
    double sum_k_d[STV_DEGREE_YEAR_D];
};

struct stv_degree_years {
    int first_month;
    size_t n_whole, n_left_out;
    struct stv_degree_year *years; /* ascending, owned; the last is the newest */
    size_t n;
    /* Of the whole years, day by day; NaN with fewer than STV_DEGREE_RANGE_LEAST_YEARS. */
    double p10_k_d[STV_DEGREE_YEAR_D], middle_k_d[STV_DEGREE_YEAR_D], p90_k_d[STV_DEGREE_YEAR_D];
};

/* The years of a place laid over each other.  A year is left out when more than 5 days are missing
 * in it, or, of the last one, before its last known day or among its first 30.  A missing day adds
 * nothing, as in stv_position_metrics.
 *
 * out      free with stv_degree_years_free; empty when the status is not OK
 * Errors:  STV_E_NO_DATA  no year is left; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_degree_years_make(const struct stv_climate_days *days,
                                                     int first_month, struct stv_degree_years *out);
void stv_degree_years_free(struct stv_degree_years *years);

#endif
