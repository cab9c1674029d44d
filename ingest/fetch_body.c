/* The lines of an answer, and the bytes of its body on their way to the disk.  Only a body of
 * status 200, or of 206 with the very range that was asked for, is written; every other one ends
 * at its first byte, so that no error page ever touches the disk.  Ranges: RFC 9110, 13.1.5, 14.4
 * and 15.3.7 (from memory). */
#include "ingest/fetch_parts.h"

#include "ingest/write_parts.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <unistd.h>

/* After so many bytes what came is put on record, so that even a killed process can go on. */
#define CHECKPOINT_BYTES ((uint64_t)8 << 20)

#define HTTP_OK 200
#define HTTP_PART 206

/* The value of a header, "" when it is too long or holds what does not belong in a line. */
static void header_value(const char *text, size_t n, char out[STV__FETCH_HEADER])
{
    while (n > 0 && (*text == ' ' || *text == '\t')) {
        text++;
        n--;
    }
    while (n > 0 && strchr(" \t\r\n", text[n - 1]))
        n--;
    out[0] = '\0';
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)text[i] < ' ' || text[i] == 0x7F)
            return;
    if (n < STV__FETCH_HEADER)
        snprintf(out, STV__FETCH_HEADER, "%.*s", (int)n, text);
}

/* "bytes 5-9/10"; a whole of unknown length cannot be checked and counts as no range. */
static void read_range(struct stv__answer *answer, const char *value)
{
    char rest;
    answer->has_range =
        strncasecmp(value, "bytes ", 6) == 0 &&
        sscanf(value + 6, "%" SCNu64 "-%" SCNu64 "/%" SCNu64 "%c", &answer->range_first,
               &answer->range_last, &answer->range_total, &rest) == 3 &&
        answer->range_first <= answer->range_last && answer->range_last < answer->range_total;
}

static void read_packing(struct stv__answer *answer, const char *value)
{
    answer->is_packed = strcasecmp(value, "gzip") == 0 || strcasecmp(value, "x-gzip") == 0;
    answer->is_packed_otherwise =
        value[0] && !answer->is_packed && strcasecmp(value, "identity") != 0;
}

void stv__answer_line(struct stv__answer *answer, const char *line, size_t n)
{
    char value[STV__FETCH_HEADER];
    const char *colon = memchr(line, ':', n);
    if (n >= 5 && memcmp(line, "HTTP/", 5) == 0)
        *answer = (struct stv__answer){.status = 0};
    else if (colon) {
        size_t length = (size_t)(colon - line);
        header_value(colon + 1, n - length - 1, value);
#define IS(name) (length == sizeof(name) - 1 && strncasecmp(line, name, length) == 0)
        if (IS("ETag"))
            memcpy(answer->etag, value, sizeof value);
        else if (IS("Last-Modified"))
            memcpy(answer->last_modified, value, sizeof value);
        else if (IS("Date"))
            memcpy(answer->date, value, sizeof value);
        else if (IS("Retry-After"))
            memcpy(answer->retry_after, value, sizeof value);
        else if (IS("Content-Range"))
            read_range(answer, value);
        else if (IS("Content-Encoding"))
            read_packing(answer, value);
        else if (IS("Accept-Ranges"))
            answer->has_ranges_none = strcasecmp(value, "none") == 0;
#undef IS
    }
}

static bool begin_whole(struct stv__body *body, const struct stv__answer *answer, bool has_dates)
{
    struct stv__fetch_record *part = &body->part;
    bool is_strong = answer->etag[0] && strncmp(answer->etag, "W/", 2) != 0;
    memcpy(part->etag, answer->etag, sizeof part->etag);
    memcpy(part->last_modified, answer->last_modified, sizeof part->last_modified);
    body->is_packed_otherwise = !body->has_packed_name && answer->is_packed_otherwise;
    if (!body->has_packed_name && answer->is_packed) {
        body->unpack = stv__unpack_new();
        body->is_out_of_memory = !body->unpack;
    }
    if (body->is_packed_otherwise || body->is_out_of_memory)
        return false;
    body->is_keepable = !body->unpack && !answer->has_ranges_none && (is_strong || has_dates);
    part->n_bytes = body->n_kept = 0;
    if (stv__cache_begin_part(body->cache))
        return true;
    body->write_errno = errno;
    return false;
}

static bool differs(const char *one, const char *other)
{
    return one[0] && other[0] && strcmp(one, other) != 0;
}

/* The rest must fit to the beginning: the same place, the same whole, the same version. */
static bool begin_rest(struct stv__body *body, const struct stv__answer *answer, uint64_t offset)
{
    const struct stv__fetch_record *part = &body->cache->part;
    body->is_other_range =
        (answer->is_packed && !body->has_packed_name) || !answer->has_range ||
        answer->range_first != offset || (part->total && answer->range_total != part->total) ||
        differs(answer->etag, part->etag) || differs(answer->last_modified, part->last_modified);
    if (body->is_other_range)
        return false;
    body->part = *part;
    body->n_kept = offset;
    body->is_keepable = true;
    if (ftruncate(body->cache->part_fd, (off_t)offset) == 0 &&
        lseek(body->cache->part_fd, (off_t)offset, SEEK_SET) >= 0)
        return true;
    body->write_errno = errno;
    return false;
}

bool stv__body_begin(struct stv__body *body, const struct stv__answer *answer, uint64_t offset,
                     uint64_t total, bool has_dates)
{
    bool is_rest = offset > 0 && answer->status == HTTP_PART;
    body->is_unwanted = answer->status != HTTP_OK && !is_rest;
    if (body->is_unwanted)
        return false;
    bool has_begun =
        is_rest ? begin_rest(body, answer, offset) : begin_whole(body, answer, has_dates);
    if (!has_begun)
        return false;
    body->part.total = is_rest ? answer->range_total : total;
    if (body->unpack)
        body->part.total = 0; /* what was told counts packed bytes */
    body->is_above = body->part.total > body->most_bytes;
    return !body->is_above;
}

static bool write_bytes(struct stv__body *body, const char *bytes, size_t n)
{
    body->is_above = n > body->most_bytes - body->part.n_bytes;
    if (body->is_above)
        return false;
    if (stv__write_all(body->cache->part_fd, bytes, n) != 0) {
        body->write_errno = errno;
        return false;
    }
    body->part.n_bytes += n;
    if (body->part.n_bytes - body->n_kept >= CHECKPOINT_BYTES)
        stv__body_keep(body);
    return true;
}

bool stv__body_bytes(struct stv__body *body, const char *bytes, size_t n)
{
    if (!body->unpack)
        return write_bytes(body, bytes, n);
    enum stv__unpacked unpacked = stv__unpack_bytes(body->unpack, bytes, n, write_bytes, body);
    body->is_damaged = unpacked == STV__UNPACK_DAMAGED;
    body->is_out_of_memory = unpacked == STV__UNPACK_MEMORY;
    return unpacked == STV__UNPACKED;
}

void stv__body_end(struct stv__body *body, bool is_whole)
{
    if (is_whole && body->unpack && !stv__unpack_is_whole(body->unpack))
        body->is_damaged = true;
    stv__unpack_free(body->unpack);
    body->unpack = NULL;
}

void stv__body_keep(struct stv__body *body)
{
    if (!body->is_keepable || body->part.n_bytes == 0)
        return;
    memset(body->part.sha256, 0, sizeof body->part.sha256);
    snprintf(body->part.url, sizeof body->part.url, "%s", body->cache->url);
    stv__fetch_now(body->part.fetched_at);
    body->n_kept = body->part.n_bytes;
    stv__cache_keep_part(body->cache, &body->part);
}
