/* From the bytes of a file to text, in the order in which they were spoilt: packed last, encoded
 * before that, damaged first of all.  Plain ASCII, which nearly every logger writes, is recognised
 * in one pass and left where it is.  What this does not do: know anything of lines or cells. */
#include "ingest/text_file.h"

#include "ingest/csv_parts.h"
#include "ingest/gunzip.h"
#include "ingest/utf8.h"
#include "ingest/whole_file.h"

#include <stdint.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FILE_MOST ((size_t)1 << 30)
#define BLOCK 4096
#define SNIFFED 4096
/* Share of zeros in every second byte from which bytes are UTF-16 without a mark. */
#define UTF16_FRAC 0.4
#define NO_MEMORY "does not fit into the memory"

/* ASCII without NUL: no byte has its top bit, none is zero. */
static bool is_plain(const char *bytes, size_t n)
{
    const unsigned char *byte = (const unsigned char *)bytes;
    for (size_t at = 0; at < n; at += BLOCK) {
        size_t end = at + BLOCK < n ? at + BLOCK : n;
        unsigned char high = 0, zero = 0;
        for (size_t i = at; i < end; i++) {
            high |= byte[i];
            zero |= byte[i] == 0;
        }
        if ((high & 0x80) || zero)
            return false;
    }
    return true;
}

enum order { NOT_UTF16, LITTLE, BIG };

static enum order utf16_order(const char *bytes, size_t n)
{
    if (n >= 2 && memcmp(bytes, "\xFF\xFE", 2) == 0)
        return LITTLE;
    if (n >= 2 && memcmp(bytes, "\xFE\xFF", 2) == 0)
        return BIG;
    size_t n_seen = n < SNIFFED ? n & ~(size_t)1 : SNIFFED, n_zero[2] = {0, 0};
    for (size_t i = 0; i < n_seen; i++)
        n_zero[i & 1] += bytes[i] == '\0';
    double most = UTF16_FRAC * (double)n_seen;
    if (n_seen < 8 || (n_zero[0] > 0 && n_zero[1] > 0))
        return NOT_UTF16;
    if ((double)n_zero[1] > most)
        return LITTLE;
    return (double)n_zero[0] > most ? BIG : NOT_UTF16;
}

static uint32_t unit_at(const char *bytes, size_t i, enum order order)
{
    const unsigned char *byte = (const unsigned char *)bytes + 2 * i;
    return order == LITTLE ? (uint32_t)byte[0] | (uint32_t)byte[1] << 8
                           : (uint32_t)byte[1] | (uint32_t)byte[0] << 8;
}

static size_t put_utf8(char *out, uint32_t code)
{
    if (code < 0x80) {
        out[0] = (char)code;
        return 1;
    }
    size_t length = code < 0x800 ? 2 : code < 0x10000 ? 3 : 4;
    static const unsigned char lead[] = {0, 0, 0xC0, 0xE0, 0xF0};
    for (size_t i = length; i-- > 1; code >>= 6)
        out[i] = (char)(0x80 | (code & 0x3F));
    out[0] = (char)(lead[length] | code);
    return length;
}

/* UTF-16 to UTF-8; lone surrogates become '?'.  out has room for 3 bytes for each unit.
 * Source: RFC 2781 (2000), 2.2. */
static size_t from_utf16(const char *bytes, size_t n, enum order order, char *out)
{
    size_t used = 0, n_units = n / 2;
    for (size_t i = 0; i < n_units; i++) {
        uint32_t code = unit_at(bytes, i, order);
        if (code >= 0xD800 && code < 0xE000) {
            uint32_t low = i + 1 < n_units ? unit_at(bytes, i + 1, order) : 0;
            bool is_pair = code < 0xDC00 && low >= 0xDC00 && low < 0xE000;
            code = is_pair ? 0x10000 + ((code - 0xD800) << 10) + (low - 0xDC00) : '?';
            i += is_pair;
        }
        used += put_utf8(out + used, code);
    }
    return used;
}

/* Replaces *bytes by a copy that convert() fills. */
static bool take_utf16(char **bytes, size_t *n, enum order order)
{
    char *text = malloc(3 * (*n / 2) + 1);
    if (!text)
        return false;
    *n = from_utf16(*bytes, *n, order, text);
    free(*bytes);
    *bytes = text;
    return true;
}

static bool take_latin1(char **bytes, size_t *n)
{
    char *text = malloc(2 * *n + 1);
    if (!text)
        return false;
    *n = stv__csv_from_latin1(*bytes, *n, text);
    free(*bytes);
    *bytes = text;
    return true;
}

/* Counts NULs and where they stand, and hides them. */
static void hide_nuls(char *bytes, size_t n, struct stv_text_file *out)
{
    size_t line = 1;
    char *at = bytes, *end = bytes + n, *nul;
    while (at < end && (nul = memchr(at, '\0', (size_t)(end - at))) != NULL) {
        for (const char *line_end = at;
             (line_end = memchr(line_end, '\n', (size_t)(nul - line_end))) != NULL; line_end++)
            line++;
        if (out->n_nul++ == 0)
            out->nul_line = line;
        out->nul_last_line = line;
        *nul = '\x1A';
        at = nul + 1;
    }
}

static enum stv_status fail(enum stv_status status, const char *what, char *why, size_t size)
{
    snprintf(why, size, "%s", what);
    return status;
}

/* Decodes bytes that are not plain ASCII, in place or by a new block. */
static enum stv_status decode(char **bytes, size_t *n, struct stv_text_file *out, char *why,
                              size_t size)
{
    enum order order = utf16_order(*bytes, *n);
    out->was_utf16 = order != NOT_UTF16;
    if (out->was_utf16 && !take_utf16(bytes, n, order))
        return fail(STV_E_MEMORY, NO_MEMORY, why, size);
    size_t n_mark = stv__csv_mark_bytes(*bytes, *n);
    *n -= n_mark;
    memmove(*bytes, *bytes + n_mark, *n);
    hide_nuls(*bytes, *n, out);
    struct stv__utf8_place bad = stv__utf8_first_bad(*bytes, *n);
    out->bad_utf8_line = bad.line;
    out->bad_utf8_column = bad.column;
    if (bad.line && !take_latin1(bytes, n))
        return fail(STV_E_MEMORY, NO_MEMORY, why, size);
    return STV_OK;
}

static enum stv_status unpack(char **bytes, size_t *n, struct stv_text_file *out, char *why,
                              size_t size)
{
    if (!stv__is_gzip(*bytes, *n))
        return STV_OK;
    char *unpacked;
    size_t n_unpacked;
    enum stv_status status = stv__gunzip(*bytes, *n, FILE_MOST, &unpacked, &n_unpacked, why, size);
    if (status != STV_OK)
        return status;
    free(*bytes);
    *bytes = unpacked;
    *n = n_unpacked;
    out->was_packed = true;
    return STV_OK;
}

/* Takes over the bytes. */
static enum stv_status take(char *bytes, size_t n, struct stv_text_file *out, char *why,
                            size_t size)
{
    enum stv_status status = unpack(&bytes, &n, out, why, size);
    const char *advice = NULL;
    if (status == STV_OK && utf16_order(bytes, n) == NOT_UTF16)
        advice = stv__csv_why_not(bytes, n);
    if (advice)
        status = fail(STV_E_PARSE, advice, why, size);
    if (status == STV_OK && !is_plain(bytes, n))
        status = decode(&bytes, &n, out, why, size);
    if (status != STV_OK) {
        free(bytes);
        *out = (struct stv_text_file){0};
        return status;
    }
    bytes[n] = '\0';
    out->text = bytes;
    out->n = n;
    return STV_OK;
}

enum stv_status stv_text_file_read(const char *path, struct stv_text_file *out, char *why,
                                   size_t size)
{
    *out = (struct stv_text_file){0};
    char *bytes = NULL;
    size_t n = 0;
    enum stv_status status = stv__whole_file(path, FILE_MOST, &bytes, &n, why, size);
    return status == STV_OK ? take(bytes, n, out, why, size) : status;
}

enum stv_status stv_text_file_parse(const char *bytes, size_t n, struct stv_text_file *out,
                                    char *why, size_t size)
{
    *out = (struct stv_text_file){0};
    char *copy = malloc(n + 1);
    if (!copy)
        return fail(STV_E_MEMORY, NO_MEMORY, why, size);
    if (n > 0)
        memcpy(copy, bytes, n);
    copy[n] = '\0';
    return take(copy, n, out, why, size);
}

void stv_text_file_end_lines(struct stv_text_file *file)
{
    char *at = file->text, *end = file->text + file->n;
    while (at < end && (at = memchr(at, '\r', (size_t)(end - at))) != NULL) {
        if (at + 1 == end || at[1] != '\n')
            *at = '\n';
        at++;
    }
}

void stv_text_file_free(struct stv_text_file *file)
{
    if (!file)
        return;
    free(file->text);
    *file = (struct stv_text_file){0};
}
