/* The bytes of a file, whole. */
#ifndef STV_INGEST_WHOLE_FILE_H
#define STV_INGEST_WHOLE_FILE_H

#include "model/status.h"

#include <stddef.h>

/* Reads a plain file of at most `most` bytes.
 *
 * out_bytes  the bytes and a NUL after them; NULL when the status is not OK
 * out_n      their number, the NUL not counted
 * why        size bytes: what was wrong and what to do, starting in lower case
 *
 * Errors:  STV_E_IO      no such file, a folder, no plain file, not readable, longer than `most`
 *          STV_E_MEMORY
 * Memory:  caller frees *out_bytes */
STV_MUST_CHECK enum stv_status stv__whole_file(const char *path, size_t most, char **out_bytes,
                                               size_t *out_n, char *why, size_t size);

#endif
