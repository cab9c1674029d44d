/* A finished cell of a study, kept so that an interrupted study goes on where it stopped.  For the
 * machine that wrote it: numbers stand as in memory. */
#ifndef STV_INGEST_CELL_FILE_H
#define STV_INGEST_CELL_FILE_H

#include "ingest/hash.h"
#include "model/sites_cell.h"

/* Writes a cell, whole or not at all.
 *
 * key   SHA-256 of all that the cell was made from
 * why   size bytes: what went wrong
 * Errors: STV_E_IO, STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_cell_file_write(const char *path,
                                                   const char key[STV_SHA256_TEXT],
                                                   const struct stv_study_cell *cell, char *why,
                                                   size_t size);

/* Reads a cell back, to the very bits.
 *
 * out   free with stv_cell_free; empty when the status is not OK
 * Errors: STV_E_NO_DATA no such file; STV_E_PARSE another key, cut short or damaged; STV_E_MEMORY
 */
STV_MUST_CHECK enum stv_status stv_cell_file_read(const char *path, const char key[STV_SHA256_TEXT],
                                                  struct stv_study_cell *out);

#endif
