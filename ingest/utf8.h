/* UTF-8 as bytes: how long is the character that starts here, and is it one at all. */
#ifndef STV_INGEST_UTF8_H
#define STV_INGEST_UTF8_H

#include <stddef.h>

/* Bytes of the well-formed UTF-8 character at text (1..4), of at most n bytes; 0 when there is
 * none: a stray or missing continuation byte, an overlong form, a surrogate, or above U+10FFFF.
 * Source: RFC 3629 (2003), section 4, syntax of UTF-8 byte sequences. */
static inline size_t stv__utf8_length(const char *text, size_t n)
{
    const unsigned char *byte = (const unsigned char *)text;
    if (n == 0)
        return 0;
    if (byte[0] < 0x80)
        return 1;
    size_t length = byte[0] >= 0xF0 ? 4 : byte[0] >= 0xE0 ? 3 : 2;
    if (byte[0] < 0xC2 || byte[0] > 0xF4 || length > n)
        return 0;
    unsigned char least = 0x80, most = 0xBF; /* of the second byte */
    if (byte[0] == 0xE0)
        least = 0xA0;
    else if (byte[0] == 0xED)
        most = 0x9F;
    else if (byte[0] == 0xF0)
        least = 0x90;
    else if (byte[0] == 0xF4)
        most = 0x8F;
    if (byte[1] < least || byte[1] > most)
        return 0;
    for (size_t i = 2; i < length; i++)
        if (byte[i] < 0x80 || byte[i] > 0xBF)
            return 0;
    return length;
}

/* Line and character column, both 1-based, of the first byte that is not UTF-8; line 0 when the
 * whole text is. */
struct stv__utf8_place {
    size_t line, column;
};
static inline struct stv__utf8_place stv__utf8_first_bad(const char *text, size_t n)
{
    struct stv__utf8_place place = {1, 1};
    for (size_t at = 0; at < n;) {
        size_t length = stv__utf8_length(text + at, n - at);
        if (length == 0)
            return place;
        if (text[at] == '\n') {
            place.line++;
            place.column = 1;
        } else {
            place.column++;
        }
        at += length;
    }
    return (struct stv__utf8_place){0, 0};
}

#endif
