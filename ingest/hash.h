/* Check sums, so that a report can say which bytes it was made from. */
#ifndef STV_INGEST_HASH_H
#define STV_INGEST_HASH_H

#include "model/status.h"

#include <stddef.h>

#define STV_SHA256_TEXT 65 /* 64 hexadecimal digits and the end */

/* SHA-256 of a file's bytes as lower-case hexadecimal digits.
 *
 * Errors:  STV_E_IO  cannot be opened or read; out is "" then
 * Source:  FIPS 180-4, through nettle
 * Memory:  reads in blocks, allocates nothing */
STV_MUST_CHECK enum stv_status stv_file_sha256(const char *path, char out[STV_SHA256_TEXT]);

/* The same of n bytes in memory. */
void stv_bytes_sha256(const void *bytes, size_t n, char out[STV_SHA256_TEXT]);

#endif
