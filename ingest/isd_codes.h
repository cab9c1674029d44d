/* Quality codes and report types of NOAA's integrated surface data, whatever file they stand in. */
#ifndef STV_INGEST_ISD_CODES_H
#define STV_INGEST_ISD_CODES_H

#include "ingest/lines.h"

#include <stdbool.h>
#include <stdint.h>

/* False for a code that says suspect or erroneous (2, 3, 6, 7).
 * Source: NOAA, Federal Climate Complex data documentation for integrated surface data (0 to 7);
 * 9 and the letters of edited values from memory. */
bool stv__isd_is_good(char quality);

/* Which of several reports at one time counts: 0 a routine one (SYNOP, METAR, automatic), 1 a
 * special or any other. */
uint8_t stv__isd_rank(struct stv_slice report_type);

/* Summaries of a day or a month, which are no reports of an hour. */
bool stv__isd_is_summary(struct stv_slice report_type);

#endif
