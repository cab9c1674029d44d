/* Weather of a format that is known by name.  Used by weather_file.c. */
#ifndef STV_INGEST_WEATHER_KNOWN_H
#define STV_INGEST_WEATHER_KNOWN_H

#include "ingest/text_file.h"
#include "ingest/weather_format.h"

/* Reads a text that stv__weather_format_of has recognised.
 *
 * source  path, station and fallbacks
 * meta    what was said about the file; what the file says of itself is added where nothing was
 * Errors: those of stv_weather_file_read; said in problems */
STV_MUST_CHECK enum stv_status
stv__weather_known(const struct stv_weather_format *format, const struct stv_text_file *text,
                   const struct stv_weather_source *source, struct stv_problems *problems,
                   struct stv_weather_meta *meta, struct stv_weather_record *out);

#endif
