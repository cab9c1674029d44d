/* Station, name and position as the CSVs of NOAA repeat them in every row. */
#ifndef STV_INGEST_NOAA_STATION_H
#define STV_INGEST_NOAA_STATION_H

#include "ingest/weather_format.h"

#include <stddef.h>

/* Indices of cells; SIZE_MAX for what a table lacks. */
struct stv__noaa_station {
    size_t station, name, latitude, longitude, elevation;
};

struct stv__noaa_station stv__noaa_station_find(const struct stv_slice *header, size_t n);

/* Names the source and gives the position, once for a file: a later call does nothing.  Where the
 * elevation is a code for unknown, it stays unknown.
 *
 * product  "NOAA LCD"
 * n        cells of the row */
void stv__noaa_station_take(struct stv_weather_text *file, const char *product,
                            const struct stv__noaa_station *columns, const struct stv_slice *cells,
                            size_t n);

/* A row's cell; empty beyond its end. */
static inline struct stv_slice stv__cell_of(const struct stv_slice *cells, size_t n, size_t idx)
{
    return idx < n ? cells[idx] : (struct stv_slice){"", 0};
}

#endif
