/* One request by libcurl, the only file that knows it.  Certificates are verified, only http and
 * https are spoken, also where the server sends the reader on to, and never http after https.  The
 * usual proxy variables of the environment count.  Packed transport is not asked for where the file
 * itself is packed (its name says so), or where the rest of a body is wanted, whose ranges would
 * count packed bytes.  What this does not do: unpack, decide what an answer means, or ask again. */
#include "ingest/fetch_parts.h"

#include <curl/curl.h>

#include <ctype.h>
#include <inttypes.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#define USER_AGENT "stavecast"
#define PROGRESS_EVERY_S 0.25
#define LINE_BYTES (STV__FETCH_HEADER + 40)

struct request {
    const struct stv_fetch_rules *rules;
    struct stv__cache *cache;
    struct stv__body *body;
    struct stv__transfer *out;
    CURL *curl;
    struct curl_slist *lines;
    bool is_complete; /* `lines` has all that was to go in */
    bool has_begun;
    uint64_t offset; /* of the first byte asked for */
    double told_at_s, moved_at_s;
    curl_off_t n_moved; /* bytes of bodies at moved_at_s */
    bool is_stalled;
    char said[CURL_ERROR_SIZE];
};

static double now_s(void)
{
    struct timespec now;
    clock_gettime(CLOCK_MONOTONIC, &now);
    return (double)now.tv_sec + 1e-9 * (double)now.tv_nsec;
}

/* A date not before the Unix epoch; -1 when it is none. */
static int64_t date_s(const char *text)
{
    return text[0] ? (int64_t)curl_getdate(text, NULL) : -1;
}

/* A file can change twice within a second, so a date tells versions apart only when the server
 * wrote it at least a second after the change.  RFC 9110, 8.8.2.2 (from memory). */
static bool has_good_date(const struct stv__answer *answer)
{
    int64_t modified_s = date_s(answer->last_modified), sent_s = date_s(answer->date);
    return modified_s >= 0 && sent_s >= 0 && sent_s - modified_s >= 1;
}

/* Seconds or a date, which is counted by the server's own clock where it tells it. */
static int64_t wait_asked_s(const struct stv__answer *answer)
{
    const char *text = answer->retry_after;
    char *end;
    if (isdigit((unsigned char)text[0])) {
        int64_t wait_s = strtoimax(text, &end, 10);
        return *end ? -1 : wait_s;
    }
    int64_t then_s = date_s(text), now = date_s(answer->date);
    if (then_s < 0)
        return -1;
    if (now < 0)
        now = (int64_t)time(NULL);
    return then_s > now ? then_s - now : 0;
}

static size_t take_line(char *line, size_t one, size_t n, void *context)
{
    struct request *request = context;
    request->moved_at_s = now_s();
    if (!request->has_begun)
        stv__answer_line(&request->out->answer, line, n * one);
    return n * one;
}

static bool begin(struct request *request)
{
    struct stv__answer *answer = &request->out->answer;
    curl_off_t length = -1;
    curl_easy_getinfo(request->curl, CURLINFO_RESPONSE_CODE, &answer->status);
    curl_easy_getinfo(request->curl, CURLINFO_CONTENT_LENGTH_DOWNLOAD_T, &length);
    request->has_begun = true;
    request->out->has_body =
        stv__body_begin(request->body, answer, request->offset, length > 0 ? (uint64_t)length : 0,
                        has_good_date(answer));
    if (request->body->part.n_bytes == 0)
        request->offset = 0; /* the server sends it all */
    return request->out->has_body;
}

static size_t take_bytes(char *bytes, size_t one, size_t n, void *context)
{
    struct request *request = context;
    if (n * one == 0)
        return 0;
    if (!request->has_begun && !begin(request))
        return 0;
    return stv__body_bytes(request->body, bytes, n * one) ? n * one : 0;
}

static void tell(struct request *request, curl_off_t total, curl_off_t got, double at_s)
{
    if (!request->rules->progress || !request->out->has_body ||
        (got != total && at_s - request->told_at_s < PROGRESS_EVERY_S))
        return;
    request->told_at_s = at_s;
    request->rules->progress(request->rules->progress_context, request->cache->url,
                             request->offset + (uint64_t)got,
                             total > 0 ? request->offset + (uint64_t)total : 0);
}

/* libcurl calls this at least once a second.  Its own watch on slow transfers goes by a mean of
 * several seconds; here silence counts from the last byte, once the connection is there. */
static int watch(void *context, curl_off_t total, curl_off_t got, curl_off_t up_total,
                 curl_off_t up)
{
    struct request *request = context;
    curl_off_t asked_us = 0;
    double at_s = now_s();
    (void)up_total;
    (void)up;
    curl_easy_getinfo(request->curl, CURLINFO_PRETRANSFER_TIME_T, &asked_us);
    if (asked_us == 0 || got != request->n_moved)
        request->moved_at_s = at_s;
    request->n_moved = got;
    tell(request, total, got, at_s);
    request->is_stalled = at_s - request->moved_at_s >= (double)request->rules->stall_timeout_s;
    return request->is_stalled;
}

__attribute__((format(printf, 2, 3))) static void add_line(struct request *request,
                                                           const char *format, ...)
{
    char line[LINE_BYTES];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(line, sizeof line, format, arguments);
    va_end(arguments);
    struct curl_slist *lines = curl_slist_append(request->lines, line);
    request->is_complete = request->is_complete && lines;
    if (lines)
        request->lines = lines;
}

/* Packed for the way or not; only when it changed; only the rest, and that only when it did not. */
static void add_lines(struct request *request)
{
    const struct stv__cache *cache = request->cache;
    const struct stv__fetch_record *copy = &cache->record, *part = &cache->part;
    if (!cache->has_part && !request->body->has_packed_name)
        add_line(request, "Accept-Encoding: gzip");
    if (cache->has_copy && copy->etag[0])
        add_line(request, "If-None-Match: %s", copy->etag);
    if (cache->has_copy && copy->last_modified[0])
        add_line(request, "If-Modified-Since: %s", copy->last_modified);
    if (!cache->has_part)
        return;
    bool is_strong = part->etag[0] && strncmp(part->etag, "W/", 2) != 0;
    request->offset = part->n_bytes;
    add_line(request, "Range: bytes=%" PRIu64 "-", part->n_bytes);
    add_line(request, "If-Range: %s", is_strong ? part->etag : part->last_modified);
}

/* Whether the path of the address ends like a packed file. */
static bool is_packed_name(const char *url)
{
    static const char *const ends[] = {".gz", ".tgz", ".zip", ".z", ".bz2", ".xz", ".zst"};
    size_t length = strcspn(url, "?#");
    for (size_t k = 0; k < sizeof ends / sizeof ends[0]; k++) {
        size_t n = strlen(ends[k]);
        if (length > n && strncasecmp(url + length - n, ends[k], n) == 0)
            return true;
    }
    return false;
}

static void set_trust(CURL *curl, const struct stv_fetch_rules *rules, const char *url)
{
    bool is_https = strncasecmp(url, "https:", 6) == 0;
    curl_easy_setopt(curl, CURLOPT_SSL_VERIFYPEER, 1L);
    curl_easy_setopt(curl, CURLOPT_SSL_VERIFYHOST, 2L);
    curl_easy_setopt(curl, CURLOPT_SSLVERSION, (long)CURL_SSLVERSION_TLSv1_2);
    if (rules->ca_file) {
        curl_easy_setopt(curl, CURLOPT_CAINFO, rules->ca_file);
        curl_easy_setopt(curl, CURLOPT_CAPATH, NULL);
    }
    curl_easy_setopt(curl, CURLOPT_PROTOCOLS_STR, "http,https");
    curl_easy_setopt(curl, CURLOPT_REDIR_PROTOCOLS_STR, is_https ? "https" : "http,https");
    curl_easy_setopt(curl, CURLOPT_FOLLOWLOCATION, 1L);
    curl_easy_setopt(curl, CURLOPT_MAXREDIRS, rules->n_redirects);
}

/* Only what takes memory can fail here; CURLE_OK when all was set. */
static CURLcode set_up(struct request *request)
{
    CURL *curl = request->curl;
    const struct stv_fetch_rules *rules = request->rules;
    const char *url = request->cache->url;
    set_trust(curl, rules, url);
    curl_easy_setopt(curl, CURLOPT_NOSIGNAL, 1L);
    curl_easy_setopt(curl, CURLOPT_CONNECTTIMEOUT, rules->connect_timeout_s);
    curl_easy_setopt(curl, CURLOPT_SUPPRESS_CONNECT_HEADERS, 1L);
    curl_easy_setopt(curl, CURLOPT_ERRORBUFFER, request->said);
    curl_easy_setopt(curl, CURLOPT_HEADERFUNCTION, take_line);
    curl_easy_setopt(curl, CURLOPT_HEADERDATA, request);
    curl_easy_setopt(curl, CURLOPT_WRITEFUNCTION, take_bytes);
    curl_easy_setopt(curl, CURLOPT_WRITEDATA, request);
    curl_easy_setopt(curl, CURLOPT_XFERINFOFUNCTION, watch);
    curl_easy_setopt(curl, CURLOPT_XFERINFODATA, request);
    curl_easy_setopt(curl, CURLOPT_NOPROGRESS, 0L);
    curl_easy_setopt(curl, CURLOPT_HTTPHEADER, request->lines);
    if (curl_easy_setopt(curl, CURLOPT_USERAGENT, USER_AGENT) != CURLE_OK)
        return CURLE_OUT_OF_MEMORY;
    return curl_easy_setopt(curl, CURLOPT_URL, url);
}

static void say_cut(const struct request *request, CURLcode code)
{
    struct stv__transfer *out = request->out;
    const struct stv__fetch_record *part = &request->body->part;
    if (request->is_stalled)
        snprintf(out->why, sizeof out->why, "the server sent nothing for %ld s",
                 request->rules->stall_timeout_s);
    else if (code == CURLE_OPERATION_TIMEDOUT)
        snprintf(out->why, sizeof out->why,
                 "no connection within %ld s: check the address and that this computer is online",
                 request->rules->connect_timeout_s);
    else if (code == CURLE_COULDNT_CONNECT)
        snprintf(out->why, sizeof out->why,
                 "the server takes no connection: check the address and that this computer is "
                 "online (%s)",
                 request->said);
    else if (out->has_body && part->total)
        snprintf(out->why, sizeof out->why, "the body ended after %" PRIu64 " of %" PRIu64 " bytes",
                 part->n_bytes, part->total);
    else
        snprintf(out->why, sizeof out->why, "the connection was cut (%s)",
                 request->said[0] ? request->said : curl_easy_strerror(code));
}

static void say_refused(const struct request *request, CURLcode code)
{
    struct stv__transfer *out = request->out;
    const char *said = request->said[0] ? request->said : curl_easy_strerror(code);
    if (code == CURLE_PEER_FAILED_VERIFICATION)
        snprintf(out->why, sizeof out->why,
                 "the server's certificate is not trusted, so nothing was fetched: check the "
                 "address and this computer's clock, or name the file of your network's "
                 "certificates (%s)",
                 said);
    else if (code == CURLE_SSL_CACERT_BADFILE)
        snprintf(out->why, sizeof out->why,
                 "the file of certificates cannot be read: name one in PEM form");
    else if (code == CURLE_COULDNT_RESOLVE_HOST)
        snprintf(out->why, sizeof out->why,
                 "there is no server of this name, or this computer is not online: check the "
                 "address (%s)",
                 said);
    else if (code == CURLE_TOO_MANY_REDIRECTS)
        snprintf(out->why, sizeof out->why,
                 "the server sends the reader on more than %ld times: check the address in a "
                 "browser",
                 request->rules->n_redirects);
    else if (code == CURLE_UNSUPPORTED_PROTOCOL && out->answer.status == 0)
        snprintf(out->why, sizeof out->why,
                 "what answers there does not speak http: check the address and its port");
    else if (code == CURLE_UNSUPPORTED_PROTOCOL)
        snprintf(out->why, sizeof out->why,
                 "the server sends the reader on to an address that is not followed, because it "
                 "is not http or https, or drops the s of https: name the right address");
    else
        snprintf(out->why, sizeof out->why, "cannot be fetched: check the address (%s)", said);
}

static bool is_worth_another_try(CURLcode code)
{
    static const CURLcode passing[] = {
        CURLE_COULDNT_CONNECT, CURLE_PARTIAL_FILE, CURLE_OPERATION_TIMEDOUT,
        CURLE_SEND_ERROR,      CURLE_RECV_ERROR,   CURLE_GOT_NOTHING,
        CURLE_HTTP2,           CURLE_HTTP2_STREAM};
    for (size_t k = 0; k < sizeof passing / sizeof passing[0]; k++)
        if (code == passing[k])
            return true;
    return false;
}

static void judge(struct request *request, CURLcode code)
{
    struct stv__transfer *out = request->out;
    const struct stv__body *body = request->body;
    long n_sent_on = 0;
    const char *last = NULL;
    curl_easy_getinfo(request->curl, CURLINFO_RESPONSE_CODE, &out->answer.status);
    curl_easy_getinfo(request->curl, CURLINFO_REDIRECT_COUNT, &n_sent_on);
    curl_easy_getinfo(request->curl, CURLINFO_EFFECTIVE_URL, &last);
    if (n_sent_on > 0 && last)
        snprintf(out->sent_on_to, sizeof out->sent_on_to, "%.199s", last);
    out->wait_asked_s = wait_asked_s(&out->answer);
    if (body->is_other_range || body->is_above || body->is_packed_otherwise || body->write_errno) {
        out->end = STV__END_BODY;
    } else if (code == CURLE_OUT_OF_MEMORY || body->is_out_of_memory) {
        out->end = STV__END_MEMORY;
    } else if (body->is_damaged) {
        out->end = STV__END_CUT;
        snprintf(out->why, sizeof out->why, "the file was packed for the way and came damaged");
    } else if (code == CURLE_OK || body->is_unwanted) {
        out->end = STV__END_ANSWER;
    } else if (request->is_stalled || is_worth_another_try(code)) {
        out->end = STV__END_CUT;
        say_cut(request, code);
    } else {
        out->end = STV__END_REFUSED;
        say_refused(request, code);
    }
}

void stv__transfer_run(const struct stv_fetch_rules *rules, struct stv__cache *cache,
                       struct stv__body *body, struct stv__transfer *out)
{
    struct request request = {.rules = rules,
                              .cache = cache,
                              .body = body,
                              .out = out,
                              .is_complete = true,
                              .moved_at_s = now_s()};
    *out = (struct stv__transfer){.end = STV__END_MEMORY, .wait_asked_s = -1};
    *body = (struct stv__body){.cache = cache,
                               .most_bytes = rules->most_bytes,
                               .has_packed_name = is_packed_name(cache->url)};
    if (curl_global_init(CURL_GLOBAL_DEFAULT) != CURLE_OK)
        return;
    request.curl = curl_easy_init();
    if (request.curl) {
        add_lines(&request);
        CURLcode code = request.is_complete ? set_up(&request) : CURLE_OUT_OF_MEMORY;
        if (code == CURLE_OK)
            code = curl_easy_perform(request.curl);
        stv__body_end(body, code == CURLE_OK);
        judge(&request, code);
        curl_easy_cleanup(request.curl);
    }
    curl_slist_free_all(request.lines);
    curl_global_cleanup();
}
