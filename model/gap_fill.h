/* Holes in a logger's hours, filled from what was measured beside it, within a limit that the user
 * sets.  What is filled is marked, and how far such filling misses is told from the same logger. */
#ifndef STV_MODEL_GAP_FILL_H
#define STV_MODEL_GAP_FILL_H

#include "model/position.h"
#include "model/series.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* Longest hole that a straight line bridges. */
#define STV_GAP_LINE_MOST_H 3

struct stv_gap_rules {
    double longest_h; /* no hole above it is filled; 0: none at all */
    int by_neighbour; /* from the other loggers of the house */
    int by_weather;   /* from the tier as the building model has it from the weather */
};
/* Three days, from both.  Judgement: over three days the weather that a neighbour shares counts for
 * more than what is particular to a place. */
struct stv_gap_rules stv_gap_rules_default(void);

/* What a hole can be filled from; series on their own hourly grids. */
struct stv_gap_guide {
    enum stv_hour_origin kind; /* STV_HOUR_NEIGHBOUR or STV_HOUR_WEATHER */
    const struct stv_grid *grid;
    const double *air_c;
    const double *rh_frac; /* NULL when it has none */
};

struct stv_gap_report {
    size_t n_hours[STV_HOUR_ORIGINS]; /* air temperature: hours of each origin */
    double error_k[STV_HOUR_ORIGINS]; /* rms per filled hour; NaN where nothing was filled */
    size_t n_holes_left;              /* too long, or without anything to fill them from */
    size_t longest_left_h;
    int64_t longest_left_from_s; /* its first hour, UTC */
};

/* Fills holes between the first and the last measured hour.
 *
 * hours    changed in place; hours->origin is made when it is NULL
 * guides   tried in order; the first that speaks in every hour of the hole and in at least 72
 *          hours within 14 days of it is used
 *
 * Method:  up to 3 h  a straight line between the ends
 *          longer     guide + mean of (logger - guide) at that hour of the day, over 14 days to
 *                     either side; humidity alike, kept within 0..1
 * Error:   line: rms of a measured hour against the line between its neighbours as far away as the
 *          hole's ends; guide: rms of what the method leaves in those 14 days
 * Errors:  STV_E_ARG a NULL, a step other than an hour; STV_E_MEMORY
 * Source:  own rule
 * Memory:  hours->origin is the caller's, freed with the hours */
STV_MUST_CHECK enum stv_status stv_gap_fill(struct stv_logger_hours *hours,
                                            const struct stv_gap_guide *guides, size_t n_guides,
                                            const struct stv_gap_rules *rules,
                                            struct stv_gap_report *out);

#endif
