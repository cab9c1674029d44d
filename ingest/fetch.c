/* Asks, looks at how it went, and asks again where that helps: after a refused connection, a cut
 * body, 429 and 5xx, each time after twice the wait or what the server asked for, whichever is
 * longer.  A rest that does not fit the beginning is asked for anew, whole, at once.  Everything
 * else is final.  What this does not do: fetch several addresses at a time, or print. */
#include "ingest/fetch.h"

#include "ingest/fetch_parts.h"

#include <errno.h>
#include <inttypes.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>
#include <time.h>
#include <unistd.h>

#define MEGABYTE ((uint64_t)1 << 20)
#define MS_PER_S 1000

struct job {
    const struct stv_fetch_rules *rules;
    struct stv__cache cache;
    struct stv__body body;
    struct stv__transfer transfer;
    bool came_new;
    char *why;
    size_t size;
};

/* What is to be done after a request. */
enum next { DONE, AT_ONCE, LATER, GIVE_UP };

struct stv_fetch_rules stv_fetch_rules_default(const char *cache_folder)
{
    /* Our judgement, as is usual among programs that fetch. */
    return (struct stv_fetch_rules){.cache_folder = cache_folder,
                                    .most_bytes = 1024 * MEGABYTE,
                                    .connect_timeout_s = 20,
                                    .stall_timeout_s = 30,
                                    .n_tries = 4,
                                    .first_wait_ms = 1000,
                                    .longest_wait_s = 120,
                                    .n_redirects = 5};
}

static enum stv_status check_url(const char *url, char *why, size_t size)
{
    const char *fault = NULL;
    const char *slashes = strstr(url, "://");
    if (strncasecmp(url, "http://", 7) != 0 && strncasecmp(url, "https://", 8) != 0)
        fault = "is not an http or https address: only these are fetched";
    else if (strlen(url) >= STV_FETCH_URL)
        fault = "is too long for an address: 2047 letters at most";
    else if (memchr(slashes + 3, '@', strcspn(slashes + 3, "/?#")))
        fault = "holds a name before an \"@\": only public files are fetched, leave it out";
    for (const char *at = url; !fault && *at; at++)
        if ((unsigned char)*at <= ' ' || *at == 0x7F)
            fault = "has a blank or a control letter in it: write a blank as %20";
    if (!fault)
        return STV_OK;
    snprintf(why, size, "%s", fault);
    return STV_E_USAGE;
}

static void sleep_ms(int64_t wait_ms)
{
    struct timespec left = {.tv_sec = (time_t)(wait_ms / MS_PER_S),
                            .tv_nsec = (long)(wait_ms % MS_PER_S) * 1000000L};
    while (nanosleep(&left, &left) != 0 && errno == EINTR)
        continue;
}

static const char *advice_for(long status)
{
    if (status == 404 || status == 410)
        return "there is no such file: check the station, the years and the address";
    if (status == 401 || status == 403 || status == 407)
        return "it is not given to everybody: fetch it in a browser and hand the file over";
    if (status == 429)
        return "too much was asked of it: wait a while, then ask for less";
    if (status >= 500)
        return "it is out of order: try again later";
    return "check the address in a browser";
}

static void say_status(struct job *job)
{
    const struct stv__transfer *transfer = &job->transfer;
    bool was_sent_on = transfer->sent_on_to[0];
    snprintf(job->why, job->size, "the server answers with status %ld: %s%s%s%s",
             transfer->answer.status, advice_for(transfer->answer.status),
             was_sent_on ? " (it was asked at " : "", transfer->sent_on_to, was_sent_on ? ")" : "");
}

/* Looks at the first bytes of what came. */
static bool is_page(const struct job *job)
{
    char start[STV__PAGE_BYTES];
    ssize_t n = pread(job->cache.part_fd, start, sizeof start, 0);
    return n > 0 && stv__is_page(start, (size_t)n);
}

static enum next refuse_page(struct job *job)
{
    stv__cache_forget_part(&job->cache);
    snprintf(job->why, job->size,
             "the server sent a web page instead of data: look at the address in a browser, and "
             "whether this network wants you to sign in");
    return GIVE_UP;
}

static enum next refuse_empty(struct job *job)
{
    stv__cache_forget_part(&job->cache);
    snprintf(job->why, job->size,
             "the server sent an empty file: check the station, the years and the address");
    return GIVE_UP;
}

static enum next after_body(struct job *job, enum stv_status *status)
{
    const struct stv__fetch_record *part = &job->body.part;
    if (is_page(job))
        return refuse_page(job);
    if (part->n_bytes == 0)
        return refuse_empty(job); /* packed for the way it still had bytes */
    if (part->total && part->n_bytes != part->total) {
        /* The server gave less of the rest than was asked for. */
        stv__body_keep(&job->body);
        snprintf(job->why, job->size, "the body ended after %" PRIu64 " of %" PRIu64 " bytes",
                 part->n_bytes, part->total);
        return LATER;
    }
    *status = stv__cache_commit(&job->cache, part, job->why, job->size);
    job->came_new = true;
    return *status == STV_OK ? DONE : GIVE_UP;
}

static enum next after_unchanged(struct job *job, enum stv_status *status)
{
    const struct stv__answer *answer = &job->transfer.answer;
    struct stv__fetch_record headers;
    memcpy(headers.etag, answer->etag, sizeof headers.etag);
    memcpy(headers.last_modified, answer->last_modified, sizeof headers.last_modified);
    stv__cache_forget_part(&job->cache);
    stv__cache_confirm(&job->cache, &headers);
    *status = STV_OK;
    return DONE;
}

static enum next after_answer(struct job *job, enum stv_status *status)
{
    const struct stv__transfer *transfer = &job->transfer;
    long code = transfer->answer.status;
    if (transfer->has_body)
        return after_body(job, status);
    if (code == 304 && job->cache.has_copy)
        return after_unchanged(job, status);
    if (job->cache.has_part && (code == 416 || code == 206)) {
        stv__cache_forget_part(&job->cache);
        return AT_ONCE;
    }
    if (code == 200)
        return refuse_empty(job);
    say_status(job);
    if (code == 429 || code >= 500)
        return LATER;
    if (code >= 400)
        stv__cache_forget_part(&job->cache);
    return GIVE_UP;
}

/* The body itself stopped the transfer. */
static enum next after_stop(struct job *job, enum stv_status *status)
{
    const struct stv__body *body = &job->body;
    stv__cache_forget_part(&job->cache);
    if (body->is_other_range)
        return AT_ONCE;
    if (body->is_packed_otherwise) {
        snprintf(
            job->why, job->size,
            "the server packs the file in a way that was not asked for: fetch it in a browser");
        return GIVE_UP;
    }
    if (body->is_above) {
        snprintf(job->why, job->size,
                 "the file is larger than the %" PRIu64 " bytes that are fetched at most: fetch "
                 "fewer years at a time",
                 job->rules->most_bytes);
        return GIVE_UP;
    }
    *status = STV_E_IO;
    snprintf(job->why, job->size, "cannot write in the cache folder %s: %s", job->cache.folder,
             strerror(body->write_errno));
    return GIVE_UP;
}

static enum next after_cut(struct job *job)
{
    if (job->transfer.has_body && is_page(job))
        return refuse_page(job);
    if (job->transfer.has_body)
        stv__body_keep(&job->body);
    snprintf(job->why, job->size, "%s", job->transfer.why);
    return LATER;
}

/* What follows from the request that was just made.  The status counts at the end. */
static enum next look(struct job *job, enum stv_status *status)
{
    *status = STV_E_NETWORK;
    switch (job->transfer.end) {
    case STV__END_ANSWER:
        return after_answer(job, status);
    case STV__END_CUT:
        return after_cut(job);
    case STV__END_BODY:
        return after_stop(job, status);
    case STV__END_REFUSED:
        snprintf(job->why, job->size, "%s", job->transfer.why);
        return GIVE_UP;
    case STV__END_MEMORY:
        break;
    }
    *status = STV_E_MEMORY;
    snprintf(job->why, job->size, "does not fit into the memory");
    return GIVE_UP;
}

/* Adds words to what was said. */
static void say_more(struct job *job, const char *words)
{
    size_t used = job->size ? strlen(job->why) : 0;
    if (used < job->size)
        snprintf(job->why + used, job->size - used, "%s", words);
}

/* Waits before the next try; false when the server asks for more than is waited. */
static bool wait_for(struct job *job, int64_t *wait_ms)
{
    int64_t longest_s = job->rules->longest_wait_s, asked_s = job->transfer.wait_asked_s;
    char words[160];
    if (asked_s > longest_s) {
        snprintf(words, sizeof words,
                 "; it asks to wait %" PRId64 " s, and %" PRId64
                 " s are waited at most: fetch it again then",
                 asked_s, longest_s);
        say_more(job, words);
        return false;
    }
    if (*wait_ms > longest_s * MS_PER_S)
        *wait_ms = longest_s * MS_PER_S;
    sleep_ms(asked_s * MS_PER_S > *wait_ms ? asked_s * MS_PER_S : *wait_ms);
    *wait_ms *= 2;
    return true;
}

static enum stv_status run(struct job *job)
{
    int64_t wait_ms = job->rules->first_wait_ms;
    enum stv_status status = STV_E_NETWORK;
    for (size_t n_made = 1;;) {
        stv__transfer_run(job->rules, &job->cache, &job->body, &job->transfer);
        enum next next = look(job, &status);
        if (next == DONE || next == GIVE_UP)
            return status;
        if (next == AT_ONCE)
            continue; /* the beginning was dropped, so this comes once */
        if (n_made++ >= job->rules->n_tries) {
            char words[80];
            snprintf(words, sizeof words, "; given up after %zu tries, try again later",
                     n_made - 1);
            say_more(job, words);
            return status;
        }
        if (!wait_for(job, &wait_ms))
            return status;
    }
}

static void fill(const struct job *job, struct stv_fetched *out)
{
    const struct stv__fetch_record *record = &job->cache.record;
    stv__cache_data_path(&job->cache, out->path);
    memcpy(out->sha256, record->sha256, sizeof out->sha256);
    memcpy(out->fetched_at, record->fetched_at, sizeof out->fetched_at);
    out->n_bytes = record->n_bytes;
    out->was_in_cache = !job->came_new;
}

enum stv_status stv_fetch(const struct stv_fetch_rules *rules, const char *url,
                          struct stv_fetched *out, char *why, size_t size)
{
    struct job job = {.rules = rules, .why = why, .size = size};
    if (!rules->cache_folder || !rules->cache_folder[0]) {
        snprintf(why, size, "no cache folder was named: name one");
        return STV_E_ARG;
    }
    enum stv_status status = check_url(url, why, size);
    if (status == STV_OK)
        status =
            stv__cache_open(rules->cache_folder, url, rules->is_offline, &job.cache, why, size);
    if (status != STV_OK)
        return status;
    if (!rules->is_offline) {
        status = run(&job);
    } else if (!job.cache.has_copy) {
        snprintf(why, size, "%s",
                 job.cache.has_record
                     ? "its copy in the cache is damaged: fetch it again while online"
                     : "is not in the cache: fetch it once while online");
        status = STV_E_NETWORK;
    }
    if (status == STV_OK)
        fill(&job, out);
    else if (!rules->is_offline && job.cache.has_copy && status == STV_E_NETWORK)
        say_more(&job, "; the copy in the cache can be used offline");
    stv__cache_close(&job.cache);
    return status;
}
