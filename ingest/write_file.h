/* A file that is written whole or not at all. */
#ifndef STV_INGEST_WRITE_FILE_H
#define STV_INGEST_WRITE_FILE_H

#include "model/byte_store.h"
#include "model/status.h"

#include <stddef.h>

/* Writes n bytes to a path, replacing what is there in one step.  The bytes go to a new file in
 * the same folder first, are flushed to the disk, and only then take the name: a failure or a
 * power cut leaves the old file, or none, never half of one.
 *
 * why  receives what went wrong, in words; may be NULL when size is 0
 *
 * Errors:  STV_E_IO      the folder does not exist or cannot be written, the disk is full, or
 *                        the path is a folder
 *          STV_E_MEMORY
 * Memory:  allocates the temporary name and frees it */
STV_MUST_CHECK enum stv_status stv_write_file(const char *path, const void *bytes, size_t n,
                                              char *why, size_t size);

/* The same, of several runs of bytes, for what is only looked up, and checked: it is not flushed,
 * so that after a power cut the path may hold other bytes.  Errors: as stv_write_file */
STV_MUST_CHECK enum stv_status stv_write_spare_file(const char *path,
                                                    const struct stv_byte_run *runs, size_t n_runs);

#endif
