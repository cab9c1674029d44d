/* All that a cask ever sees of a place: air, humidity and radiant temperature, hour by hour,
 * measured where a logger measured and modelled where none did. */
#ifndef STV_MODEL_POSITION_H
#define STV_MODEL_POSITION_H

#include "model/building.h"
#include "model/draws.h"
#include "model/series.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

enum stv_position_source {
    STV_SOURCE_MEASURED,
    STV_SOURCE_MIXED,
    STV_SOURCE_MODELLED,
    STV_SOURCE_BORROWED /* no weather and no logger here: the nearest tier's loggers stand in */
};

/* A place; -1 means "any": tier 0 bay -1 is the whole floor tier. */
struct stv_place {
    int warehouse_idx;
    int tier_idx, bay_idx, depth_idx;
};

/* How an hour's air temperature came about. */
enum stv_hour_origin {
    STV_HOUR_OUTSIDE, /* no logger hung there yet, or no longer */
    STV_HOUR_MEASURED,
    STV_HOUR_LINE,      /* a short hole, bridged by a straight line */
    STV_HOUR_NEIGHBOUR, /* a hole, filled from another logger */
    STV_HOUR_WEATHER,   /* a hole, filled from the building model */
    STV_HOUR_HOLE,      /* a hole that is left */
    STV_HOUR_ORIGINS
};

/* What an hour without a logger takes. */
enum stv_position_rest {
    STV_REST_NONE,     /* nothing: without weather, holes stay holes */
    STV_REST_MODELLED, /* the building model as it is */
    STV_REST_MOVED,    /* the building model, moved by what the place's own loggers showed */
    STV_REST_FOLLOWED, /* the building model, moved as tiers with loggers are */
    STV_REST_LEARNED   /* what the place's loggers taught (model/rack.h) */
};

/* Hours of air on a known grid; rh_frac NULL, or NaN in places: not known. */
struct stv_air_hours {
    const double *air_c, *rh_frac;
};

/* A logger's hours on its own grid, already checked; NaN where nothing was measured. */
struct stv_logger_hours {
    struct stv_place place;
    struct stv_grid grid; /* step 3600 s */
    double *air_c;
    double *rh_frac; /* NULL when the logger has no humidity */
    uint8_t *origin; /* enum stv_hour_origin of each hour; NULL: what is there was measured */
};

/* Climate of one place on one grid of whole hours.  Hours that nobody knows are NaN, which only
 * happens without weather. */
struct stv_position {
    struct stv_place place;
    enum stv_position_source source; /* measured from 95 % of the hours on */
    double measured_frac;            /* share of the hours with a measured air temperature */
    double offset_k;       /* mean of measured minus modelled air, NaN when they never met */
    double offset_rh_frac; /* likewise of humidity */
    enum stv_position_rest rest;
    bool is_vapour_settled;         /* vapour of its own loggers moves or taught it */
    bool is_moved_all_year;         /* its loggers spoke on 300 days of the year */
    bool has_measured_vapour;       /* in some hour */
    struct stv_climate_error error; /* of what a cask meets there in months to come */
    struct stv_grid grid;
    double *air_c, *rh_frac, *radiant_c; /* grid.n values each, owned */
    uint8_t *origin;                     /* enum stv_hour_origin of each hour, owned */
};

/* Joins the loggers of a place with the building's tier: a stated rule, no fit of physics.
 *
 * place      its tier_idx chooses the tier of `modelled`; kept in the result
 * modelled   the building's climate, hourly, or NULL when there is no weather
 * learned    what the place's loggers taught, on the grid of `modelled`; NULL, or a NULL or NaN
 *            humidity: nothing, and the model moved by the loggers stands in
 * loggers    those that stand for this place (the tier's when the bay has none); NULL when
 *            n_loggers = 0
 * n_loggers  their number; several are averaged hour by hour, humidity as vapour pressure
 * out        result; free with stv_position_free; empty when the status is not OK
 *
 * A measured hour always wins, and so does one that was filled (model/gap_fill.h); measured_frac
 * and source count measured hours alone.  With weather, an hour without a logger takes the modelled
 * value moved by what the loggers showed where both speak, unless they taught more: with fewer than
 * 30 days of hours in common not at all; from 30 days by the mean difference in air temperature and
 * the mean ratio (of logarithms) of vapour pressure; from 300 days, on 300 days of the year, by the
 * same with a yearly wave (least squares).  Humidity is rebuilt from vapour pressure and
 * temperature, and kept at or below 1, for air holds no more; an hour with a measured temperature
 * alone takes the told vapour.  The radiant temperature keeps its modelled distance from the air.
 * A typical year has no dates that a logger could share, so loggers do not move it.  Without
 * weather the grid spans the loggers, radiant temperature is air temperature, and holes stay NaN.
 * Grids meet on the hours of UTC: a measured hour belongs to the hour that holds its middle.
 * The error is the parameter sheet's, with a logger and without; who knows better sets it.
 *
 * Shape:   any number of series on their own grids in, three columns on one grid out
 * Errors:  STV_E_ARG      a NULL, a step other than an hour, a tier the building lacks
 *          STV_E_NO_DATA  neither weather nor a measured hour; no weather and no humidity
 *          STV_E_MEMORY
 * Source:  mean difference and first harmonic by least squares, own rule
 * Assumes: what a logger showed beside the model holds in hours without it, at the same time of
 *          the year; a logger at one bay stands for the place asked about
 * Memory:  allocates the three columns */
STV_MUST_CHECK enum stv_status stv_position_join(struct stv_place place,
                                                 const struct stv_building_climate *modelled,
                                                 const struct stv_air_hours *learned,
                                                 const struct stv_logger_hours *const *loggers,
                                                 size_t n_loggers, struct stv_position *out);

/* Mean of the measured hours of a place's loggers, on a grid of hours; NaN where none measured.
 * out_air_c, out_rh_frac: grid->n values.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_position_measured(const struct stv_logger_hours *const *loggers,
                                                     size_t n_loggers, const struct stv_grid *grid,
                                                     double *out_air_c, double *out_rh_frac);

/* What a tier without its own logger takes from those that have it. */
enum stv_follow { STV_FOLLOW_AIR, STV_FOLLOW_VAPOUR };

/* The nearest tiers with the loggers that a tier lacks, below and above it; NULL: none there. */
struct stv_neighbours {
    const struct stv_position *below, *above;
};

/* Moves a joined position as its neighbours were moved: hour by hour, by their difference of air
 * temperature, or ratio of vapour pressure, from their own modelled tiers; between two of them, by
 * height.
 *
 * position    joined with `modelled`; changed in place in the hours that were not measured or
 *             filled; humidity rebuilt, at most 1
 * modelled    the building's climate that all were joined with
 * neighbours  of the same warehouse; at least one
 * Errors:     STV_E_ARG  a NULL, or grids that differ
 * Source:     own rule: a building model errs alike on neighbouring tiers */
STV_MUST_CHECK enum stv_status stv_position_follow(struct stv_position *position,
                                                   const struct stv_building_climate *modelled,
                                                   const struct stv_neighbours *neighbours,
                                                   enum stv_follow what);

/* Frees the columns and empties the struct; NULL is accepted. */
void stv_position_free(struct stv_position *position);

#endif
