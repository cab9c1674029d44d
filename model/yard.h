/* A logger in the yard beside the weather of a station some way off: what the yard showed stands
 * where it measured, and elsewhere the station's air is moved by what they differed in, by season
 * and hour. */
#ifndef STV_MODEL_YARD_H
#define STV_MODEL_YARD_H

#include "model/series.h"
#include "model/status.h"
#include "model/weather.h"

#include <stddef.h>

struct stv_yard {
    struct stv_grid grid;  /* step 3600 s */
    const double *air_c;   /* grid.n values, NaN where unknown */
    const double *rh_frac; /* likewise; NULL without humidity */
};

struct stv_yard_report {
    size_t n_common_h;        /* hours with both */
    size_t n_replaced_h;      /* hours of the record that are now the yard's */
    double mean_k;            /* yard less station, all common hours */
    double least_k, most_k;   /* of the seasons and hours */
    double before_k, after_k; /* rms difference, and what is left when each month is predicted from
                               * the others; after_k NaN with one month alone */
    double vapour_ratio_nd;   /* yard over station; NaN without humidity */
};

/* Corrects temperature, and dew point and humidity so that the vapour stays the station's or, where
 * the yard measures humidity, becomes the yard's.
 *
 * record  hourly, of real years; changed in place
 * out     may not be NULL; when the status is not OK only n_common_h speaks
 *
 * A season of three months and an hour of the day with less than ten days in common take the hour's
 * mean of all seasons, and without that the mean of all.
 *
 * Errors:  STV_E_ARG      NULL
 *          STV_E_NO_DATA  daily or typical weather, no temperature, or less than ten days in
 * common; the record is as it was Assumes: the yard logger hangs in shade and moving air, 1.5 to 2
 * m up */
STV_MUST_CHECK enum stv_status stv_weather_correct_by_yard(struct stv_weather_record *record,
                                                           const struct stv_yard *yard,
                                                           struct stv_yard_report *out);

#endif
