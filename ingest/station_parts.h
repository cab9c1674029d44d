/* What the files of the station lists share: station_list_read.c reads rows, station_list.c keeps
 * and ranks them. */
#ifndef STV_INGEST_STATION_PARTS_H
#define STV_INGEST_STATION_PARTS_H

#include "ingest/station_list.h"

#include <stdbool.h>

/* Bits of struct stv_station.elements. */
#define STV__MEASURES_HIGHEST 1u
#define STV__MEASURES_LOWEST 2u

/* Adds a station at the end, unordered.  False without memory. */
bool stv__station_add(struct stv_station_list *list, const struct stv_station *station);

/* Puts the list in order and makes one station of those with the same id.  With needs_both only
 * stations that measure highest and lowest stay, with the time in which both do. */
void stv__stations_fold(struct stv_station_list *list, bool needs_both);

#endif
