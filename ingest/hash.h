/* Check sums, so that a report can say which bytes it was made from. */
#ifndef STV_INGEST_HASH_H
#define STV_INGEST_HASH_H

#include "model/byte_store.h"
#include "model/status.h"

#include <stddef.h>

#define STV_SHA256_TEXT 65 /* 64 hexadecimal digits and the end */

/* SHA-256 of a file's bytes as lower-case hexadecimal digits.
 *
 * Errors:  STV_E_IO  cannot be opened or read; out is "" then
 * Source:  FIPS 180-4, through nettle
 * Memory:  reads in blocks, allocates nothing */
STV_MUST_CHECK enum stv_status stv_file_sha256(const char *path, char out[STV_SHA256_TEXT]);

/* The same of n bytes in memory, and of n_runs runs of them, one behind the other. */
void stv_bytes_sha256(const void *bytes, size_t n, char out[STV_SHA256_TEXT]);
void stv_runs_sha256(const struct stv_byte_run *runs, size_t n_runs, char out[STV_SHA256_TEXT]);

/* SHA-256 of the running program, so that what another build made is never taken for its own;
 * STV_E_IO where the system does not show it. */
STV_MUST_CHECK enum stv_status stv_program_sha256(char out[STV_SHA256_TEXT]);

#endif
