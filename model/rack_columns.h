/* What may explain the air of a rack: the weather, the building model and, for humidity, the rack's
 * own temperature, each as hourly columns smoothed over a fixed time. */
#ifndef STV_MODEL_RACK_COLUMNS_H
#define STV_MODEL_RACK_COLUMNS_H

#include "model/building.h"
#include "model/status.h"
#include "model/weather.h"

#include <stddef.h>
#include <stdint.h>

/* What is told: air temperature, deg C, or the natural logarithm of vapour pressure over 1 Pa. */
enum stv_rack_target { STV_RACK_AIR, STV_RACK_VAPOUR, STV_RACK_TARGETS };

enum stv_rack_group {
    STV_RACK_OUTDOOR, /* outdoor air, or outdoor vapour */
    STV_RACK_SUN,
    STV_RACK_BEAM,      /* direct and diffuse sun apart */
    STV_RACK_SIDES,     /* direct sun on walls that look north, east, south and west */
    STV_RACK_SKY,       /* how cold the sky is */
    STV_RACK_WIND,      /* sun and cold of the sky, weaker in wind */
    STV_RACK_BARE,      /* sun and cold of the sky on a roof without snow */
    STV_RACK_BARE_WIND, /* the same, weaker in wind */
    STV_RACK_BARE_AIR,  /* outdoor air while there is no snow */
    STV_RACK_QUICK,     /* the last hours */
    STV_RACK_STORE,     /* the building model */
    STV_RACK_DAILY,     /* the last hours less the last day: the same all the year round */
    STV_RACK_ROOM,      /* humidity: saturation at the rack's own temperature */
    STV_RACK_GROUPS
};

/* Direct sun on walls that look north and east, W/m2, negative when it shines from behind: all
 * racks of a weather share it. */
struct stv_rack_sun {
    double *north_w_m2, *east_w_m2; /* weather->grid.n values each, owned */
};
/* Errors: STV_E_MEMORY; out is empty then.  Free with stv_rack_sun_free. */
STV_MUST_CHECK enum stv_status stv_rack_sun_new(const struct stv_weather *weather,
                                                struct stv_rack_sun *out);
/* Frees and empties; may be called twice. */
void stv_rack_sun_free(struct stv_rack_sun *sun);

/* What the columns are made of, all on the weather's grid. */
struct stv_rack_drive {
    const struct stv_weather *weather;
    const struct stv_rack_sun *sun;            /* NULL: no sun on sides */
    const double *store_air_c, *store_rh_frac; /* the building model's tier; NULL without */
    const double *room_c; /* the rack's own temperature, for STV_RACK_VAPOUR; else NULL */
};

size_t stv_rack_n_columns(enum stv_rack_target target);
/* Name of a column, such as "air_24h": static text; NULL beyond the last. */
const char *stv_rack_column_name(enum stv_rack_target target, size_t column);
enum stv_rack_group stv_rack_column_group(enum stv_rack_target target, size_t column);
/* In words for a user, such as "outdoor air"; never NULL. */
const char *stv_rack_group_words(enum stv_rack_group group);

/* One column.
 *
 * out     weather->grid.n values, finite; of no use when the status is not OK
 *
 * Method:  a first-order low pass over the column's hours.  A record of a year or more runs through
 *          its first year once before it counts; a shorter one starts from the mean of its first
 *          time constant.
 * Errors:  STV_E_ARG      NULL, no such column
 *          STV_E_NO_DATA  it needs the building model, the sun on sides or the rack's temperature,
 *                         and there is none
 *          STV_E_MEMORY
 * Source:  fixed exponential filters: own rule; cold of the sky is the sky's black temperature less
 *          the air's (Stefan-Boltzmann); 2 m/s added to the wind, and snow melting about a ten-day
 *          mean of 1 C, are judgement */
STV_MUST_CHECK enum stv_status stv_rack_column(const struct stv_rack_drive *drive,
                                               enum stv_rack_target target, size_t column,
                                               double *out);

#endif
