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

/* A mean alone does not make a day where highest and lowest stand in the file: such means are left
 * out once both are there.  To be called when all rows are taken. */
void stv__ghcn_finish(struct stv_weather_text *file);

#endif
