/* The steps of reading a logger file.  Used by logger_file.c. */
#ifndef STV_INGEST_LOGGER_PARTS_H
#define STV_INGEST_LOGGER_PARTS_H

#include "ingest/logger_file.h"
#include "ingest/machine.h"

/* True when a row names a time and, in another cell, a temperature. */
bool stv__logger_is_header(const struct stv_csv *csv, size_t row);

/* Finds the header row and fills the columns: temperature first, then humidity if there is one.
 * Errors: STV_E_PARSE no header, several temperatures, no unit; in problems, as refused. */
STV_MUST_CHECK enum stv_status stv__logger_header(struct stv_machine *machine);

/* Sets aside what only its neighbours betray, notes what is doubtful; returns the number of
 * doubtful values.  Rows are in order. */
size_t stv__logger_check(struct stv_machine *machine);

/* Averages into hours and fills the report's hours.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__logger_average(const struct stv_machine *machine,
                                                   int32_t utc_offset_min,
                                                   struct stv_logger_hours *out,
                                                   struct stv_logger_report *report);

#endif
