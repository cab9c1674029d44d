/* Columns of a weather table that a service always calls the same: found in the header by name,
 * read row by row. */
#ifndef STV_INGEST_WEATHER_COLUMNS_H
#define STV_INGEST_WEATHER_COLUMNS_H

#include "ingest/weather_format.h"

#include <stddef.h>

#define STV_COLUMNS_MAX 16

struct stv_weather_known {
    const char *name;
    struct stv_weather_want want;
};

struct stv_weather_columns {
    const struct stv_weather_known *known;
    size_t n_known;
    size_t cell[STV_COLUMNS_MAX]; /* SIZE_MAX where the header has no such name */
    unsigned quantities;          /* bits as STV_SAMPLES_BIT */
};

/* Finds the columns in a header.  Of several names of one quantity the first in `known` counts.
 * known, n_known  at most STV_COLUMNS_MAX, must outlive the result */
struct stv_weather_columns stv__weather_columns_find(const struct stv_weather_known *known,
                                                     size_t n_known, const struct stv_slice *cells,
                                                     size_t n_cells);

/* Puts the row's values into `row`; what the row does not have stays as it was. */
void stv__weather_columns_read(const struct stv_weather_columns *columns,
                               struct stv_weather_text *file, const struct stv_line *line,
                               const struct stv_slice *cells, size_t n_cells,
                               struct stv_weather_row *row);

#endif
