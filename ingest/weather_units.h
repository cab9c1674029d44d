/* Whether a weather record can be in the units that its header names.  Used by weather_file.c. */
#ifndef STV_INGEST_WEATHER_UNITS_H
#define STV_INGEST_WEATHER_UNITS_H

#include "ingest/machine.h"
#include "model/weather.h"

/* Refuses humidity that is a fraction under %, and temperatures that are F under C or C under F;
 * what only the season of its months and its latitude speak against is used and named.
 *
 * machine  the table that was read, its columns named
 * record   made from it
 * latitude_deg  of the place
 * from     entries of machine->problems before the file was read; what was found in its values is
 *          taken back when they are in another unit
 * Errors:  STV_E_PARSE, said in problems with the column
 * Source:  own rule; limits in the .c file */
STV_MUST_CHECK enum stv_status stv__weather_units(const struct stv_machine *machine,
                                                  const struct stv_weather_record *record,
                                                  double latitude_deg, size_t from);

#endif
