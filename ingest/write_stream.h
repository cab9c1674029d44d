/* A file that is written piece by piece, and still whole or not at all. */
#ifndef STV_INGEST_WRITE_STREAM_H
#define STV_INGEST_WRITE_STREAM_H

#include "model/status.h"

#include <stddef.h>

struct stv_write_stream;

/* Starts a file that takes its name only when it is committed: until then, and after a failure or
 * a power cut, the old file stays, or none.  "-" is standard output; it and special files (pipes,
 * devices) take the bytes as they come, for there is nothing to replace.  What stdio still holds
 * for standard output is flushed first; while the stream is open, write there by it alone.
 *
 * out  the stream; NULL when the status is not OK
 * why  receives what went wrong, in words; may be NULL when size is 0
 *
 * Errors:  STV_E_IO      the folder does not exist or cannot be written, the path is a folder, or
 *                        the special file cannot be opened
 *          STV_E_MEMORY
 * Memory:  64 KiB whatever is written; freed by stv_write_stream_commit or stv_write_stream_drop */
STV_MUST_CHECK enum stv_status
stv_write_stream_open(const char *path, struct stv_write_stream **out, char *why, size_t size);

/* Adds n bytes.  Errors: STV_E_IO; it is kept until the commit, which says what went wrong, and
 * further bytes are not taken.  The caller may stop at once or look only at the commit. */
enum stv_status stv_write_stream_bytes(struct stv_write_stream *stream, const void *bytes,
                                       size_t n);

/* Writes what is left, flushes it to the disk and lets the file take its name, with the mode of
 * the file it replaces.  Frees the stream in any case.
 * Errors: STV_E_IO, now or from an earlier piece; the old file stays, or none */
STV_MUST_CHECK enum stv_status stv_write_stream_commit(struct stv_write_stream *stream, char *why,
                                                       size_t size);

/* Gives the file up and frees the stream: the old file stays, or none.  What a pipe or standard
 * output took already cannot be taken back.  Accepts NULL. */
void stv_write_stream_drop(struct stv_write_stream *stream);

#endif
