/* Elements of GHCN-Daily that are read, for its three layouts. */
#ifndef STV_INGEST_GHCN_ELEMENTS_H
#define STV_INGEST_GHCN_ELEMENTS_H

#include "ingest/weather_format.h"

#include <stdbool.h>

/* Quantity and scale of an element; false for one that is not read.  Tenths of C and of m/s, per
 * cent; -9999 is missing.
 * Source: NOAA, GHCN-Daily readme; RHAV, ADPT from memory. */
bool stv__ghcn_element(struct stv_slice name, struct stv_weather_want *out);

/* Quantities of all elements. */
unsigned stv__ghcn_quantities(void);

/* The station that a line is about, as the file writes it; empty for a line that is no row.
 * context  the reader's own, for example where the column stands */
typedef struct stv_slice stv__ghcn_namer(const struct stv_line *line, const void *context);

/* The station to read: the one asked for, else the only one.
 *
 * lines  from the first row on
 * out    receives its name, "" when the file has no row
 * Errors: STV_E_USAGE none is asked for and the file has several, or it has not the one asked for;
 *         up to 64 names are looked at for the answer, all of them for the one asked for */
STV_MUST_CHECK enum stv_status stv__ghcn_choose(struct stv_weather_text *file,
                                                struct stv_lines lines, stv__ghcn_namer *namer,
                                                const void *context, char out[STV_NAME_MAX]);

/* A mean alone does not make a day where highest and lowest stand in the file: such means are left
 * out once both are there.  To be called when all rows are taken. */
void stv__ghcn_finish(struct stv_weather_text *file);

#endif
