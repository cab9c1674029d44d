/* Finds the header row of a weather file and which column is what.  Used by weather_file.c. */
#ifndef STV_INGEST_WEATHER_HEADER_H
#define STV_INGEST_WEATHER_HEADER_H

#include "ingest/machine.h"
#include "ingest/weather_file.h"

/* Fills header_row, time_cell, station_cell and columns from the description, or, for what the
 * description leaves out, from the header's own words.  machine->csv, file and problems are set.
 *
 * Errors: STV_E_PARSE no header row, a described column that is not there, two columns for one
 *         quantity, no column understood; all in problems, as refused */
STV_MUST_CHECK enum stv_status stv__weather_header(struct stv_machine *machine,
                                                   const struct stv_weather_meta *meta);

/* Picks the station and notes it in machine->station (which points into csv or meta).
 *
 * wanted  "" when none was asked for: then the file must hold one alone
 * Errors: STV_E_USAGE several and none asked for, or an unknown one; problems list the names */
STV_MUST_CHECK enum stv_status stv__weather_station(struct stv_machine *machine,
                                                    const struct stv_weather_meta *meta,
                                                    const char *wanted);

#endif
