/* The record beside a copy: lines of "name: value", for a person to read as well.  A record that is
 * not complete counts as none. */
#include "ingest/fetch_parts.h"
#include "ingest/whole_file.h"
#include "ingest/write_file.h"

#include <inttypes.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define FIRST_LINE "fetched file, record 1\n"
#define RECORD_BYTES 8192

void stv__fetch_now(char out[STV__FETCH_WHEN])
{
    time_t now = time(NULL);
    struct tm utc = {.tm_mday = 1};
    gmtime_r(&now, &utc);
    strftime(out, STV__FETCH_WHEN, "%Y-%m-%dT%H:%M:%SZ", &utc);
}

/* The text behind "name: " up to the end of its line; false when there is none or no room. */
static bool text_of(const char *record, const char *name, char *out, size_t room)
{
    char label[40];
    snprintf(label, sizeof label, "\n%s: ", name);
    const char *line = strstr(record, label);
    if (!line)
        return false;
    line += strlen(label);
    size_t length = strcspn(line, "\n");
    if (line[length] != '\n' || length >= room)
        return false;
    memcpy(out, line, length);
    out[length] = '\0';
    return true;
}

static bool number_of(const char *record, const char *name, uint64_t *out)
{
    char text[24], *end;
    if (!text_of(record, name, text, sizeof text) || text[0] < '0' || text[0] > '9')
        return false;
    *out = strtoumax(text, &end, 10);
    return *end == '\0';
}

bool stv__fetch_record_read(const char *path, struct stv__fetch_record *out)
{
    char *text, why[100];
    size_t n;
    if (stv__whole_file(path, RECORD_BYTES, &text, &n, why, sizeof why) != STV_OK)
        return false;
    bool is_good = strlen(text) == n && strncmp(text, FIRST_LINE, strlen(FIRST_LINE)) == 0 &&
                   text_of(text, "url", out->url, sizeof out->url) &&
                   text_of(text, "etag", out->etag, sizeof out->etag) &&
                   text_of(text, "last-modified", out->last_modified, sizeof out->last_modified) &&
                   text_of(text, "sha256", out->sha256, sizeof out->sha256) &&
                   text_of(text, "fetched-at", out->fetched_at, sizeof out->fetched_at) &&
                   number_of(text, "length", &out->n_bytes) &&
                   number_of(text, "total", &out->total);
    free(text);
    return is_good;
}

enum stv_status stv__fetch_record_write(const char *path, const struct stv__fetch_record *record,
                                        char *why, size_t size)
{
    char text[RECORD_BYTES];
    int n = snprintf(text, sizeof text,
                     FIRST_LINE "url: %s\netag: %s\nlast-modified: %s\nsha256: %s\n"
                                "fetched-at: %s\nlength: %" PRIu64 "\ntotal: %" PRIu64 "\n",
                     record->url, record->etag, record->last_modified, record->sha256,
                     record->fetched_at, record->n_bytes, record->total);
    return stv_write_file(path, text, (size_t)n, why, size);
}
