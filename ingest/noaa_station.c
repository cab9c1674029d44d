/* One reading of a station's cells, so that its tables agree on where it stands. */
#include "ingest/noaa_station.h"

#include <math.h>
#include <stdint.h>
#include <stdio.h>

#define ID_MOST 20
#define NAME_MOST 80
#define ELEVATION_MOST_M 9000.0 /* 9999 and more stand for unknown */

struct stv__noaa_station stv__noaa_station_find(const struct stv_slice *header, size_t n)
{
    struct stv__noaa_station found = {.station = stv_slice_find(header, n, "STATION"),
                                      .name = stv_slice_find(header, n, "NAME"),
                                      .latitude = stv_slice_find(header, n, "LATITUDE"),
                                      .longitude = stv_slice_find(header, n, "LONGITUDE"),
                                      .elevation = stv_slice_find(header, n, "ELEVATION")};
    if (found.station == SIZE_MAX)
        found.station = stv_slice_find(header, n, "Station_ID");
    if (found.name == SIZE_MAX)
        found.name = stv_slice_find(header, n, "Station_name");
    return found;
}

void stv__noaa_station_take(struct stv_weather_text *file, const char *product,
                            const struct stv__noaa_station *columns, const struct stv_slice *cells,
                            size_t n)
{
    double latitude_deg, longitude_deg, elevation_m;
    struct stv_slice station = stv__cell_of(cells, n, columns->station);
    struct stv_slice name = stv__cell_of(cells, n, columns->name);
    if (file->meta.source[0])
        return;
    snprintf(file->meta.source, sizeof file->meta.source, "%s, %.*s %.*s", product,
             (int)(station.n < ID_MOST ? station.n : ID_MOST), station.text,
             (int)(name.n < NAME_MOST ? name.n : NAME_MOST), name.text);
    if (!stv_slice_number(stv__cell_of(cells, n, columns->latitude), &latitude_deg) ||
        !stv_slice_number(stv__cell_of(cells, n, columns->longitude), &longitude_deg))
        return;
    if (!stv_slice_number(stv__cell_of(cells, n, columns->elevation), &elevation_m) ||
        elevation_m > ELEVATION_MOST_M)
        elevation_m = (double)NAN;
    if (!stv__weather_site(file, latitude_deg, longitude_deg, elevation_m))
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, NULL,
                        "the file's position, %.4g N %.4g E, is none: say where the station stands",
                        latitude_deg, longitude_deg);
}
