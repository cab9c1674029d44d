/* One member after the other through zlib, which checks length and check sum of each.  Zeros behind
 * the last member, as tapes and some servers leave them, are passed over. */
#define ZLIB_CONST /* zlib takes its input as const */
#include "ingest/gunzip.h"

#include <limits.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <zlib.h>

#define GZIP_WINDOW (15 + 16) /* of zlib: the largest window, gzip frames alone */
#define FIRST_FACTOR 4        /* tables shrink to a fifth or so */
#define BLOCK_LEAST 65536

struct unpacked {
    char *bytes;
    size_t n, capacity;
};

bool stv__is_gzip(const char *bytes, size_t n)
{
    return n >= 2 && memcmp(bytes, "\x1F\x8B", 2) == 0;
}

/* Room for more, with one byte kept for the NUL. */
static bool grow(struct unpacked *out, size_t most)
{
    if (out->n + 1 < out->capacity)
        return true;
    size_t capacity = 2 * out->capacity;
    if (capacity > most + 2)
        capacity = most + 2; /* one byte too many tells that there is more */
    char *bytes = realloc(out->bytes, capacity);
    if (!bytes)
        return false;
    out->bytes = bytes;
    out->capacity = capacity;
    return true;
}

static uInt limited(size_t n)
{
    return n > UINT_MAX ? UINT_MAX : (uInt)n;
}

/* Runs the stream to the end of one member. */
static int unpack_member(z_stream *stream, size_t n_left, size_t most, struct unpacked *out)
{
    int code = Z_OK;
    const Bytef *end = stream->next_in + n_left;
    while (code == Z_OK && out->n <= most) {
        if (!grow(out, most))
            return Z_MEM_ERROR;
        size_t room = out->capacity - 1 - out->n;
        stream->avail_in = limited((size_t)(end - stream->next_in));
        stream->next_out = (Bytef *)out->bytes + out->n;
        stream->avail_out = limited(room);
        uInt offered = stream->avail_out;
        code = inflate(stream, Z_NO_FLUSH);
        out->n += offered - stream->avail_out;
        if (code == Z_BUF_ERROR && stream->next_in < end)
            code = Z_OK; /* only the room had run out */
    }
    return code;
}

static enum stv_status say(enum stv_status status, const char *what, char *why, size_t size)
{
    snprintf(why, size, "%s", what);
    return status;
}

static enum stv_status unpack(const char *bytes, size_t n, size_t most, struct unpacked *out,
                              char *why, size_t size)
{
    z_stream stream = {0};
    size_t at = 0;
    if (inflateInit2(&stream, GZIP_WINDOW) != Z_OK)
        return say(STV_E_MEMORY, "does not fit into the memory", why, size);
    int code = Z_STREAM_END;
    while (code == Z_STREAM_END && stv__is_gzip(bytes + at, n - at)) {
        stream.next_in = (const Bytef *)(bytes + at);
        code = unpack_member(&stream, n - at, most, out);
        at = (size_t)((const char *)stream.next_in - bytes);
        (void)inflateReset(&stream);
    }
    inflateEnd(&stream);
    if (code == Z_MEM_ERROR)
        return say(STV_E_MEMORY, "does not fit into the memory", why, size);
    if (out->n > most)
        return say(STV_E_PARSE, "holds more than is read of one file once unpacked; split it", why,
                   size);
    if (code == Z_BUF_ERROR)
        return say(STV_E_PARSE,
                   "is packed with gzip and cut short: the download may have failed; fetch it "
                   "again",
                   why, size);
    if (code != Z_STREAM_END)
        return say(STV_E_PARSE, "is packed with gzip and damaged: fetch it again", why, size);
    return STV_OK;
}

enum stv_status stv__gunzip(const char *bytes, size_t n, size_t most, char **out, size_t *out_n,
                            char *why, size_t size)
{
    struct unpacked unpacked = {.capacity = FIRST_FACTOR * n + BLOCK_LEAST};
    *out = NULL;
    *out_n = 0;
    if (unpacked.capacity > most + 2)
        unpacked.capacity = most + 2;
    unpacked.bytes = malloc(unpacked.capacity);
    if (!unpacked.bytes)
        return say(STV_E_MEMORY, "does not fit into the memory", why, size);
    enum stv_status status = unpack(bytes, n, most, &unpacked, why, size);
    if (status != STV_OK) {
        free(unpacked.bytes);
        return status;
    }
    unpacked.bytes[unpacked.n] = '\0';
    *out = unpacked.bytes;
    *out_n = unpacked.n;
    return STV_OK;
}
