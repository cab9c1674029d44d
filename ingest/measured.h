/* A quantity and what it may be off by, as people type it: "84 F +- 1 F", "476 lb +- 0.5",
 * "96.4 kg + 120.2 kg", "3 x 45 kg". */
#ifndef STV_INGEST_MEASURED_H
#define STV_INGEST_MEASURED_H

#include "ingest/quantity.h"
#include "model/status.h"

#include <stddef.h>

struct stv_measured {
    double value;
    double error; /* give or take, in the dimension's unit; NaN when not said */
    size_t n;     /* how many values it is the sum of; 1 for a plain one */
};

/* Reads one value, with "+-" or a plus-minus sign before its error, if any.
 *
 * text, dimension, default_unit, why, size: as stv_quantity_parse
 * out    value is NaN when the status is not OK.  The error may repeat the value's unit or leave it
 *        out; of a strength it is half of what the strength moves by from minus to plus.
 *
 * Errors: as stv_quantity_parse, also for an error that is negative or in another unit of strength
 */
STV_MUST_CHECK enum stv_status stv_measured_parse(const char *text, enum stv_dimension dimension,
                                                  const char *default_unit,
                                                  struct stv_measured *out, char *why, size_t size);

/* Reads a sum of values joined by " + ", each alone or as "N x VALUE" with N up to 99.  The errors
 * combine as the root of their squares; a sum in which one is not said has none.
 *
 * Errors: as stv_measured_parse */
STV_MUST_CHECK enum stv_status
stv_measured_sum_parse(const char *text, enum stv_dimension dimension, const char *default_unit,
                       struct stv_measured *out, char *why, size_t size);

/* Adds a second sum to a first. */
void stv_measured_add(struct stv_measured *sum, struct stv_measured more);

#endif
