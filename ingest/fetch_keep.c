/* The bytes first, then what is said of them: when something goes wrong between the two, the next
 * fetch finds the same bytes and mends the description. */
#include "ingest/fetch_keep.h"

#include "ingest/hash.h"
#include "ingest/whole_file.h"
#include "ingest/write_file.h"
#include "ingest/write_stream.h"

#include <errno.h>
#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>

#define BLOCK_BYTES 65536
#define DESCRIPTION_MOST ((size_t)1 << 20) /* as ingest/yaml.h reads */
#define VALUE_MAX (STV_FETCH_URL + 8)

struct job {
    const struct stv_fetched *fetched;
    const struct stv_fetch_origin *origin;
    struct stv_kept *out;
    char *description; /* what lies there already; NULL: nothing */
    size_t n_description;
    char *why;
    size_t size;
};

/* ---- a text that grows ------------------------------------------------------------------------
 */

struct growing {
    char *text;
    size_t n, room;
    bool has_failed;
};

static void add_bytes(struct growing *growing, const char *bytes, size_t n)
{
    if (!growing->has_failed && growing->n + n + 1 > growing->room) {
        size_t room = 2 * (growing->n + n + 1);
        char *longer = realloc(growing->text, room);
        growing->has_failed = longer == NULL;
        if (longer) {
            growing->text = longer;
            growing->room = room;
        }
    }
    if (growing->has_failed)
        return;
    memcpy(growing->text + growing->n, bytes, n);
    growing->n += n;
    growing->text[growing->n] = '\0';
}

/* A line `key: "value"`, quotes and backslashes of the value escaped, control letters left out. */
static void add_line(struct growing *growing, const char *key, const char *value)
{
    if (!value || !value[0])
        return;
    add_bytes(growing, key, strlen(key));
    add_bytes(growing, ": \"", 3);
    for (; *value; value++) {
        unsigned char letter = (unsigned char)*value;
        if (letter == '"' || letter == '\\')
            add_bytes(growing, "\\", 1);
        if (letter >= 0x20 && letter != 0x7F)
            add_bytes(growing, value, 1);
    }
    add_bytes(growing, "\"\n", 2);
}

/* ---- descriptions -----------------------------------------------------------------------------
 */

static bool is_key_line(const char *line, const char *key)
{
    size_t n = strlen(key);
    return strncmp(line, key, n) == 0 && line[n] == ':' && line[n + 1] == ' ';
}

/* The value of a line that fetch wrote: `key: "value"`.  False for any other. */
static bool read_value(const char *text, const char *key, char *out, size_t size)
{
    for (const char *line = text; line && *line; line = strchr(line, '\n')) {
        line += *line == '\n';
        if (!is_key_line(line, key))
            continue;
        const char *at = line + strlen(key) + 2;
        size_t n = 0;
        if (*at++ != '"')
            return false;
        for (; *at && *at != '"' && *at != '\n' && n + 1 < size; at++) {
            at += *at == '\\' && at[1];
            out[n++] = *at;
        }
        out[n] = '\0';
        return *at == '"';
    }
    return false;
}

static void add_origin_line(struct growing *growing, const struct job *job, const char *key)
{
    add_line(growing, key,
             strcmp(key, "url") == 0      ? job->origin->url
             : strcmp(key, "sha256") == 0 ? job->fetched->sha256
                                          : job->fetched->fetched_at);
}

static const char *const origin_keys[] = {"url", "sha256", "fetched"};
#define N_ORIGIN_KEYS (sizeof origin_keys / sizeof origin_keys[0])

/* The description with its lines of origin made those of now, all else as it stands. */
static void renew(struct growing *growing, const struct job *job)
{
    for (const char *line = job->description; *line;) {
        size_t n = strcspn(line, "\n");
        n += line[n] == '\n';
        const char *key = NULL;
        for (size_t i = 0; i < N_ORIGIN_KEYS; i++)
            if (is_key_line(line, origin_keys[i]))
                key = origin_keys[i];
        if (key)
            add_origin_line(growing, job, key);
        else
            add_bytes(growing, line, n);
        line += n;
    }
}

static void describe(struct growing *growing, const struct job *job)
{
    const struct stv_fetch_origin *origin = job->origin;
    char text[160];
    add_line(growing, "source", origin->source);
    add_line(growing, "licence", origin->licence);
    add_line(growing, "attribution", origin->attribution);
    for (size_t i = 0; i < N_ORIGIN_KEYS; i++)
        add_origin_line(growing, job, origin_keys[i]);
    if (!origin->site || !isfinite(origin->site->elevation_m))
        return;
    int n = snprintf(text, sizeof text,
                     "position: {latitude: %.4f, longitude: %.4f, elevation: "
                     "%.0f m}\n",
                     origin->site->latitude_deg, origin->site->longitude_deg,
                     origin->site->elevation_m);
    add_bytes(growing, text, (size_t)n);
}

static enum stv_status write_description(struct job *job)
{
    struct growing growing = {.n = 0};
    char sha256[VALUE_MAX];
    job->out->description = job->description ? STV_DESCRIBED_ALREADY : STV_DESCRIBED_NEW;
    if (job->description && !read_value(job->description, "sha256", sha256, sizeof sha256)) {
        job->out->description = STV_DESCRIBED_BY_OTHER;
        return STV_OK;
    }
    if (job->description && strcmp(sha256, job->fetched->sha256) == 0)
        return STV_OK;
    if (job->description)
        renew(&growing, job);
    else
        describe(&growing, job);
    enum stv_status status = growing.has_failed
                                 ? STV_E_MEMORY
                                 : stv_write_file(job->out->description_path, growing.text,
                                                  growing.n, job->why, job->size);
    free(growing.text);
    return status;
}

static enum stv_status read_description(struct job *job)
{
    struct stat found;
    if (lstat(job->out->description_path, &found) != 0 && errno == ENOENT)
        return STV_OK;
    return stv__whole_file(job->out->description_path, DESCRIPTION_MOST, &job->description,
                           &job->n_description, job->why, job->size);
}

/* ---- the file ---------------------------------------------------------------------------------
 */

/* Whether the file that lies there is an earlier result of this very fetch, unchanged since. */
static bool is_earlier_result(const struct job *job, const char *sha256)
{
    char told[VALUE_MAX], url[VALUE_MAX];
    return job->description && read_value(job->description, "sha256", told, sizeof told) &&
           strcmp(told, sha256) == 0 && read_value(job->description, "url", url, sizeof url) &&
           (job->origin->is_named_after_it || strcmp(url, job->origin->url) == 0);
}

/* Whether the description beside the name tells of another address: text.txt and text.csv would
 * share one. */
static bool is_described_for_other(const struct job *job)
{
    char url[VALUE_MAX];
    return job->description && !job->origin->is_named_after_it &&
           read_value(job->description, "url", url, sizeof url) &&
           strcmp(url, job->origin->url) != 0;
}

static enum stv_status refuse_description(struct job *job)
{
    snprintf(job->why, job->size,
             "%s describes a file of another address: move both away, or choose a folder with "
             "--out",
             job->out->description_path);
    return STV_E_CONSISTENCY;
}

/* What is to be done with the name. */
static enum stv_status look(struct job *job)
{
    struct stat found;
    char sha256[STV_SHA256_TEXT];
    job->out->outcome = STV_KEPT_NEW;
    if (lstat(job->out->path, &found) != 0 && errno == ENOENT)
        return is_described_for_other(job) ? refuse_description(job) : STV_OK;
    if (stv_file_sha256(job->out->path, sha256) != STV_OK) {
        snprintf(job->why, job->size, "%s is there and cannot be read: move it away",
                 job->out->path);
        return STV_E_IO;
    }
    job->out->outcome = STV_KEPT_SAME;
    if (strcmp(sha256, job->fetched->sha256) == 0)
        return STV_OK;
    job->out->outcome = STV_KEPT_UPDATED;
    if (is_earlier_result(job, sha256))
        return STV_OK;
    snprintf(job->why, job->size,
             "%s is there with other content, and is not what this address gave before: it is left "
             "as it is; move it away or choose a folder with --out",
             job->out->path);
    return STV_E_CONSISTENCY;
}

static enum stv_status copy(struct job *job)
{
    static const char cannot[] = "the copy in the cache cannot be read";
    struct stv_write_stream *stream = NULL;
    FILE *from = fopen(job->fetched->path, "rb");
    enum stv_status status = STV_E_IO;
    char block[BLOCK_BYTES];
    size_t n;
    if (!from) {
        snprintf(job->why, job->size, "%s", cannot);
        return STV_E_IO;
    }
    status = stv_write_stream_open(job->out->path, &stream, job->why, job->size);
    while (status == STV_OK && (n = fread(block, 1, sizeof block, from)) > 0)
        status = stv_write_stream_bytes(stream, block, n);
    if (status == STV_OK && ferror(from)) {
        snprintf(job->why, job->size, "%s", cannot);
        stv_write_stream_drop(stream);
        status = STV_E_IO;
    } else if (stream) {
        status = stv_write_stream_commit(stream, job->why, job->size);
    }
    fclose(from);
    return status;
}

/* folder/name and, as the readers look for it, folder/NAME.meta.yaml. */
static bool set_paths(const char *folder, const char *name, struct stv_kept *out)
{
    const char *dot = strrchr(name, '.');
    int n_stem = (int)(dot ? (size_t)(dot - name) : strlen(name));
    int n = snprintf(out->path, sizeof out->path, "%s/%s", folder, name);
    int n_description = snprintf(out->description_path, sizeof out->description_path,
                                 "%s/%.*s.meta.yaml", folder, n_stem, name);
    return n > 0 && (size_t)n < sizeof out->path && n_description > 0 &&
           (size_t)n_description < sizeof out->description_path;
}

enum stv_status stv_fetch_keep(const struct stv_fetched *fetched,
                               const struct stv_fetch_origin *origin, const char *folder,
                               const char *name, struct stv_kept *out, char *why, size_t size)
{
    struct job job = {.fetched = fetched, .origin = origin, .out = out, .why = why, .size = size};
    *out = (struct stv_kept){.outcome = STV_KEPT_NEW};
    if (!stv_fetch_is_plain_name(name) || !set_paths(folder, name, out)) {
        snprintf(why, size, "\"%.80s\" is no plain name, or its path is too long", name);
        return STV_E_ARG;
    }
    enum stv_status status = read_description(&job);
    if (status == STV_OK)
        status = look(&job);
    if (status == STV_OK && out->outcome != STV_KEPT_SAME)
        status = copy(&job);
    if (status == STV_OK)
        status = write_description(&job);
    free(job.description);
    return status;
}
