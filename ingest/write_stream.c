/* A buffer in front of a new file (write_file.c) or of a file that is written through.  What it
 * does not do: know what must not be replaced; the command line decides that. */
#include "ingest/write_stream.h"

#include "ingest/write_parts.h"

#include <errno.h>
#include <fcntl.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <unistd.h>

#define BUFFER_BYTES 65536

struct stv_write_stream {
    bool is_through; /* no temporary; file.fd and file.path alone count */
    struct stv__new_file file;
    int kept_errno; /* of the first failure, 0 when there was none */
    size_t n;
    char buffer[BUFFER_BYTES];
};

static bool is_special(const char *path)
{
    struct stat found;
    return stat(path, &found) == 0 && !S_ISREG(found.st_mode) && !S_ISDIR(found.st_mode);
}

static enum stv_status open_through(const char *path, struct stv__new_file *out, char *why,
                                    size_t size)
{
    bool is_output = strcmp(path, "-") == 0;
    const char *name = is_output ? "standard output" : path;
    *out = (struct stv__new_file){.path = strdup(name), .fd = -1};
    if (!out->path)
        return STV_E_MEMORY;
    if (!is_output)
        out->fd = open(path, O_WRONLY | O_CLOEXEC);
    else if (fflush(stdout) == 0)
        out->fd = STDOUT_FILENO;
    if (out->fd >= 0)
        return STV_OK;
    stv__write_says(why, size, "cannot write", name);
    free(out->path);
    return STV_E_IO;
}

enum stv_status stv_write_stream_open(const char *path, struct stv_write_stream **out, char *why,
                                      size_t size)
{
    *out = NULL;
    struct stv_write_stream *stream = malloc(sizeof *stream);
    if (!stream)
        return STV_E_MEMORY;
    stream->is_through = strcmp(path, "-") == 0 || is_special(path);
    stream->kept_errno = 0;
    stream->n = 0;
    enum stv_status status = stream->is_through
                                 ? open_through(path, &stream->file, why, size)
                                 : stv__new_file_open(path, &stream->file, why, size);
    if (status == STV_OK)
        *out = stream;
    else
        free(stream);
    return status;
}

static void flush(struct stv_write_stream *stream)
{
    if (!stream->kept_errno && stv__write_all(stream->file.fd, stream->buffer, stream->n) != 0)
        stream->kept_errno = errno;
    stream->n = 0;
}

enum stv_status stv_write_stream_bytes(struct stv_write_stream *stream, const void *bytes, size_t n)
{
    const char *next = bytes;
    while (n > 0 && !stream->kept_errno) {
        size_t room = BUFFER_BYTES - stream->n, part = n < room ? n : room;
        memcpy(stream->buffer + stream->n, next, part);
        stream->n += part;
        next += part;
        n -= part;
        if (stream->n == BUFFER_BYTES)
            flush(stream);
    }
    return stream->kept_errno ? STV_E_IO : STV_OK;
}

/* Closes what was written through; says when the last bytes did not arrive. */
static enum stv_status finish_through(struct stv__new_file *file, char *why, size_t size)
{
    enum stv_status status = STV_OK;
    if (file->fd != STDOUT_FILENO && close(file->fd) != 0) {
        stv__write_says(why, size, "cannot write", file->path);
        status = STV_E_IO;
    }
    free(file->path);
    return status;
}

enum stv_status stv_write_stream_commit(struct stv_write_stream *stream, char *why, size_t size)
{
    flush(stream);
    if (stream->kept_errno) {
        errno = stream->kept_errno;
        stv__write_says(why, size, "cannot write", stream->file.path);
        stv_write_stream_drop(stream);
        return STV_E_IO;
    }
    enum stv_status status = stream->is_through ? finish_through(&stream->file, why, size)
                                                : stv__new_file_finish(&stream->file, why, size);
    free(stream);
    return status;
}

void stv_write_stream_drop(struct stv_write_stream *stream)
{
    if (!stream)
        return;
    if (stream->is_through)
        (void)finish_through(&stream->file, NULL, 0);
    else
        stv__new_file_drop(&stream->file);
    free(stream);
}
