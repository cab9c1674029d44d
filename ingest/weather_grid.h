/* The last steps of reading weather, common to all formats.  Used by weather_file.c. */
#ifndef STV_INGEST_WEATHER_GRID_H
#define STV_INGEST_WEATHER_GRID_H

#include "ingest/weather_format.h"

/* Orders the rows, leaves repeats and contradictions out, says flags and gaps, and averages.
 *
 * meta    the merged description: its site, clock and is_typical are used
 * out     receives grid, site and columns; free with stv_weather_record_free, also on failure
 * Errors: STV_E_NO_DATA no row can be used; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__weather_grid(struct stv_weather_text *file,
                                                 const struct stv_weather_source *source,
                                                 const struct stv_weather_meta *meta,
                                                 struct stv_weather_record *out);

#endif
