/* Servers, proxies and the sign-in pages of guest networks answer with a web page where data were
 * asked for, often with status 200 and any type: only the bytes themselves tell.  No file of data
 * that is read here starts with a tag, so whatever does is a page, or a message in XML. */
#define ZLIB_CONST
#include "ingest/fetch_parts.h"

#include "ingest/gunzip.h"

#include <ctype.h>
#include <string.h>
#include <zlib.h>

#define GZIP_WINDOW (15 + 16) /* zlib: the largest window, with a gzip header */

/* Unpacks as much of the beginning as there is room for. */
static size_t unpack_start(const char *bytes, size_t n, char *out, size_t room)
{
    z_stream stream = {.zalloc = Z_NULL};
    if (inflateInit2(&stream, GZIP_WINDOW) != Z_OK)
        return 0;
    stream.next_in = (const Bytef *)bytes;
    stream.avail_in = (uInt)n;
    stream.next_out = (Bytef *)out;
    stream.avail_out = (uInt)room;
    (void)inflate(&stream, Z_SYNC_FLUSH);
    size_t n_out = room - stream.avail_out;
    inflateEnd(&stream);
    return n_out;
}

/* Leaves out NULs, every other byte of UTF-16, and byte-order marks, which a page may start with.
 */
static size_t drop_marks(char *text, size_t n)
{
    size_t kept = 0;
    for (size_t i = 0; i < n; i++)
        if (text[i] && !strchr("\xEF\xBB\xBF\xFE\xFF", text[i]))
            text[kept++] = text[i];
    return kept;
}

bool stv__is_page(const char *bytes, size_t n)
{
    char text[STV__PAGE_BYTES];
    if (n > sizeof text)
        n = sizeof text;
    if (stv__is_gzip(bytes, n))
        n = unpack_start(bytes, n, text, sizeof text);
    else
        memcpy(text, bytes, n);
    n = drop_marks(text, n);
    size_t at = 0;
    while (at < n && isspace((unsigned char)text[at]))
        at++;
    return at + 1 < n && text[at] == '<' &&
           (isalpha((unsigned char)text[at + 1]) || strchr("!?", text[at + 1]));
}
