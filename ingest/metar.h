/* The few groups of an airport report that check a file's clock and unit. */
#ifndef STV_INGEST_METAR_H
#define STV_INGEST_METAR_H

#include "ingest/lines.h"

#include <stdbool.h>
#include <stdint.h>

/* Minute of the UTC day in the group ddhhmmZ; false when there is none.
 * Source: WMO No. 306, Manual on Codes, FM 15. */
bool stv__metar_minute(struct stv_slice text, int32_t *out_minute);

/* Whole degrees C in the group TT/DD, M for minus; false when there is none. */
bool stv__metar_temp_c(struct stv_slice text, int32_t *out_temp_c);

#endif
