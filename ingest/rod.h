/* A distiller's own dip rod: litres at its marks, from a CSV that a person typed.
 *
 * Columns "depth" and "litres", each with its unit in the header or in every cell; both rise from
 * row to row. */
#ifndef STV_INGEST_ROD_H
#define STV_INGEST_ROD_H

#include "ingest/problem.h"
#include "model/status.h"

#include <stddef.h>

#define STV_ROD_MARKS_LEAST 3
#define STV_ROD_MARKS_MOST 2000

struct stv_rod {
    double *depth_m; /* of the liquid at each mark, 0 or more, rising */
    double *volume_l;
    size_t n;
};

/* Reads a rod's table.
 *
 * path       as the user would type it
 * problems   every fault with line and column
 * out        empty when the status is not OK
 *
 * Errors:  STV_E_PARSE  the file or anything in it is refused, fewer than STV_ROD_MARKS_LEAST rows
 *                       or more than STV_ROD_MARKS_MOST
 *          STV_E_IO, STV_E_MEMORY
 * Memory:  caller frees with stv_rod_free */
STV_MUST_CHECK enum stv_status stv_rod_read(const char *path, struct stv_problems *problems,
                                            struct stv_rod *out);

/* Empties it; accepts NULL. */
void stv_rod_free(struct stv_rod *rod);

/* Litres at a wet depth, on straight lines between the marks, and from 0 L at depth 0 to the first.
 *
 * rod        as read
 * wet_m      m; the result is NaN for NaN, below 0 and above the last mark
 *
 * Accuracy: off by at most an eighth of the square of the marks' distance times what the liquid's
 *           surface grows by per m of depth; as tested, on a lying cylinder */
double stv_rod_volume_l(const struct stv_rod *rod, double wet_m);

/* Depth of the last mark, at which the vessel is full; NaN for an empty table. */
double stv_rod_full_m(const struct stv_rod *rod);

#endif
