/* The steps of reading a logger file.  Used by logger_file.c. */
#ifndef STV_INGEST_LOGGER_PARTS_H
#define STV_INGEST_LOGGER_PARTS_H

#include "ingest/logger_file.h"
#include "ingest/machine.h"

/* Cuts the head of the text, finds the header row behind any preamble and fills the columns:
 * temperature first, then humidity if there is one.
 *
 * sensor  which column group, or which value of a sensor column; "" when the file holds one
 * Errors: STV_E_PARSE no header, several sensors and none said, an unknown one, no unit; all said
 * as refused */
STV_MUST_CHECK enum stv_status stv__logger_header(struct stv_machine *machine, const char *sensor,
                                                  struct stv_logger_report *report);

/* Averages into hours and fills the report's hours.
 *
 * marks  enum stv_mark of each sample's temperature
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__logger_average(const struct stv_machine *machine,
                                                   const uint8_t *marks, int32_t utc_offset_min,
                                                   struct stv_logger_hours *out,
                                                   struct stv_logger_report *report);

#endif
