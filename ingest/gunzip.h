/* Bytes packed with gzip, unpacked in memory. */
#ifndef STV_INGEST_GUNZIP_H
#define STV_INGEST_GUNZIP_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

/* True for bytes that start a gzip file.  Source: RFC 1952, 2.3.1. */
bool stv__is_gzip(const char *bytes, size_t n);

/* Unpacks all members of a gzip file.
 *
 * most     bytes at most: a small file can hold an endless one
 * out      the bytes and a NUL behind them; NULL when the status is not OK; caller frees
 * why      size bytes: what was wrong and what to do, starting in lower case
 * Errors:  STV_E_PARSE  cut short, damaged (its own check sum fails), longer than `most`
 *          STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__gunzip(const char *bytes, size_t n, size_t most, char **out,
                                           size_t *out_n, char *why, size_t size);

#endif
