/* A body that was packed with gzip for the way, unpacked as it comes.  libcurl could do that, but
 * takes a packed body whose end is missing for a whole one when its length agrees; here the stream
 * must end, and its own check sum and length must hold.  Several members one after another are one
 * body.  Source: RFC 1952; RFC 9110, 8.4.1.3 (from memory). */
#define ZLIB_CONST
#include "ingest/fetch_parts.h"

#include <stdlib.h>
#include <zlib.h>

#define GZIP_WINDOW (15 + 16) /* zlib: the largest window, with a gzip header */
#define BLOCK_BYTES 65536

struct stv__unpack {
    z_stream stream;
    bool is_at_end; /* of a member */
    char block[BLOCK_BYTES];
};

struct stv__unpack *stv__unpack_new(void)
{
    struct stv__unpack *unpack = calloc(1, sizeof *unpack);
    if (unpack && inflateInit2(&unpack->stream, GZIP_WINDOW) != Z_OK) {
        free(unpack);
        unpack = NULL;
    }
    return unpack;
}

enum stv__unpacked stv__unpack_bytes(struct stv__unpack *unpack, const char *bytes, size_t n,
                                     bool (*take)(struct stv__body *, const char *, size_t),
                                     struct stv__body *body)
{
    z_stream *stream = &unpack->stream;
    stream->next_in = (const Bytef *)bytes;
    stream->avail_in = (uInt)n;
    bool is_full = false; /* more may wait inside */
    while (stream->avail_in > 0 || is_full) {
        if (unpack->is_at_end && inflateReset(stream) != Z_OK)
            return STV__UNPACK_DAMAGED;
        stream->next_out = (Bytef *)unpack->block;
        stream->avail_out = BLOCK_BYTES;
        int status = inflate(stream, Z_NO_FLUSH);
        if (status == Z_MEM_ERROR)
            return STV__UNPACK_MEMORY;
        if (status != Z_OK && status != Z_STREAM_END && status != Z_BUF_ERROR)
            return STV__UNPACK_DAMAGED;
        unpack->is_at_end = status == Z_STREAM_END;
        is_full = stream->avail_out == 0 && !unpack->is_at_end;
        if (!take(body, unpack->block, BLOCK_BYTES - stream->avail_out))
            return STV__UNPACK_STOPPED;
    }
    return STV__UNPACKED;
}

bool stv__unpack_is_whole(const struct stv__unpack *unpack)
{
    return unpack->is_at_end;
}

void stv__unpack_free(struct stv__unpack *unpack)
{
    if (unpack)
        inflateEnd(&unpack->stream);
    free(unpack);
}
