/* libmicrohttpd with one thread for each connection, so that a reply can hang without stopping the
 * others.  The identity is made anew each time: no key lies in the source, none runs out. */
#include "tests/check.h"

#include "tests/http_server.h"

#include <arpa/inet.h>
#include <errno.h>
#include <gnutls/x509.h>
#include <microhttpd.h>
#include <netinet/in.h>
#include <pthread.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>
#include <time.h>

#define BLOCK_BYTES 16384
#define YEAR_S (365 * 24 * 3600L)

struct stv_http_server {
    struct MHD_Daemon *daemon;
    unsigned port;
    bool has_tls, is_stopping;
    pthread_mutex_t mutex; /* of all below */
    pthread_cond_t stopping;
    struct stv_http_reply replies[STV_HTTP_REPLIES];
    size_t n_replies, n_seen;
    struct stv_http_request seen[STV_HTTP_SEEN];
};

/* One reply on its way. */
struct sending {
    struct stv_http_server *server;
    struct stv_http_reply reply;
    size_t first, n; /* of the bytes of its body that are sent */
};

static size_t body_bytes(const struct stv_http_reply *reply)
{
    return reply->n || !reply->body ? reply->n : strlen(reply->body);
}

static void wait_for_stop(struct stv_http_server *server)
{
    pthread_mutex_lock(&server->mutex);
    while (!server->is_stopping)
        pthread_cond_wait(&server->stopping, &server->mutex);
    pthread_mutex_unlock(&server->mutex);
}

static ssize_t send_bytes(void *context, uint64_t at, char *out, size_t room)
{
    const struct sending *sending = context;
    const struct stv_http_reply *reply = &sending->reply;
    bool may_cut = reply->cut_after || reply->is_cut_at_once;
    bool may_hang = reply->hang_after || reply->is_hung_at_once;
    size_t n = sending->n;
    if (may_cut)
        n = reply->cut_after;
    if (may_hang)
        n = reply->hang_after;
    if (at >= n) {
        if (may_hang)
            wait_for_stop(sending->server);
        return may_cut || may_hang ? MHD_CONTENT_READER_END_WITH_ERROR
                                   : MHD_CONTENT_READER_END_OF_STREAM;
    }
    size_t left = n - (size_t)at;
    if (left > room)
        left = room;
    memcpy(out, reply->body + sending->first + at, left);
    return (ssize_t)left;
}

static bool is_one_of(const struct stv_http_reply *reply, const char *value)
{
    for (size_t i = 0; i < STV_HTTP_HEADERS && reply->headers[i]; i++)
        if (strcmp(strstr(reply->headers[i], ": ") + 2, value) == 0)
            return true;
    return false;
}

static void add_header(struct MHD_Response *response, const char *line)
{
    char name[STV_HTTP_TEXT];
    const char *colon = strstr(line, ": ");
    snprintf(name, sizeof name, "%.*s", (int)(colon - line), line);
    MHD_add_response_header(response, name, colon + 2);
}

static enum MHD_Result give(struct MHD_Connection *connection, struct stv_http_server *server,
                            const struct stv_http_reply *reply, size_t first)
{
    struct sending *sending = malloc(sizeof *sending);
    if (!sending)
        return MHD_NO;
    size_t n = body_bytes(reply);
    *sending = (struct sending){.server = server, .reply = *reply, .first = first, .n = n - first};
    struct MHD_Response *response =
        MHD_create_response_from_callback(reply->has_no_length ? MHD_SIZE_UNKNOWN : n - first,
                                          BLOCK_BYTES, send_bytes, sending, free);
    char range[STV_HTTP_TEXT];
    snprintf(range, sizeof range, "Content-Range: bytes %zu-%zu/%zu", first, n - 1, n);
    if (first > 0)
        add_header(response, range);
    for (size_t i = 0; i < STV_HTTP_HEADERS && reply->headers[i]; i++)
        add_header(response, reply->headers[i]);
    enum MHD_Result result =
        MHD_queue_response(connection, first > 0 ? 206 : reply->status, response);
    MHD_destroy_response(response);
    return result;
}

static void note_header(struct MHD_Connection *connection, const char *name, char *out)
{
    const char *value = MHD_lookup_connection_value(connection, MHD_HEADER_KIND, name);
    snprintf(out, STV_HTTP_TEXT, "%s", value ? value : "");
}

static void note(struct MHD_Connection *connection, const char *path, struct stv_http_request *out)
{
    snprintf(out->path, sizeof out->path, "%s", path);
    note_header(connection, "Range", out->range);
    note_header(connection, "If-Range", out->if_range);
    note_header(connection, "If-None-Match", out->if_none_match);
    note_header(connection, "If-Modified-Since", out->if_modified_since);
    note_header(connection, "Accept-Encoding", out->accept_encoding);
}

static enum MHD_Result answer(void *context, struct MHD_Connection *connection, const char *path,
                              const char *method, const char *version, const char *upload,
                              size_t *n_upload, void **state)
{
    static int has_headers;
    struct stv_http_server *server = context;
    struct stv_http_request request;
    (void)method;
    (void)version;
    (void)upload;
    (void)n_upload;
    if (!*state) {
        *state = &has_headers; /* the first call comes before the request is whole */
        return MHD_YES;
    }
    note(connection, path, &request);
    pthread_mutex_lock(&server->mutex);
    size_t index = server->n_seen++;
    if (index < STV_HTTP_SEEN)
        server->seen[index] = request;
    const struct stv_http_reply reply =
        server->replies[index < server->n_replies ? index : server->n_replies - 1];
    pthread_mutex_unlock(&server->mutex);
    size_t first = 0;
    if (reply.has_ranges && strncmp(request.range, "bytes=", 6) == 0 &&
        is_one_of(&reply, request.if_range))
        first = strtoul(request.range + 6, NULL, 10);
    return give(connection, server, &reply, first < body_bytes(&reply) ? first : 0);
}

void stv_http_identity_make(const char *address, struct stv_http_identity *out)
{
    gnutls_x509_privkey_t key;
    gnutls_x509_crt_t crt;
    struct in_addr ip;
    size_t key_size = sizeof out->key, crt_size = sizeof out->certificate;
    time_t now = time(NULL);
    assert_int_equal(inet_pton(AF_INET, address, &ip), 1);
    assert_int_equal(gnutls_x509_privkey_init(&key), 0);
    assert_int_equal(gnutls_x509_crt_init(&crt), 0);
    assert_int_equal(gnutls_x509_privkey_generate(
                         key, GNUTLS_PK_ECDSA, GNUTLS_CURVE_TO_BITS(GNUTLS_ECC_CURVE_SECP256R1), 0),
                     0);
    gnutls_x509_crt_set_version(crt, 3);
    gnutls_x509_crt_set_serial(crt, "\x23\x85", 2);
    gnutls_x509_crt_set_dn(crt, "CN=loopback", NULL);
    gnutls_x509_crt_set_activation_time(crt, now - YEAR_S);
    gnutls_x509_crt_set_expiration_time(crt, now + YEAR_S);
    gnutls_x509_crt_set_basic_constraints(crt, 1, -1);
    gnutls_x509_crt_set_subject_alt_name(crt, GNUTLS_SAN_IPADDRESS, &ip, sizeof ip,
                                         GNUTLS_FSAN_SET);
    gnutls_x509_crt_set_key(crt, key);
    assert_int_equal(gnutls_x509_crt_sign2(crt, crt, key, GNUTLS_DIG_SHA256, 0), 0);
    assert_int_equal(gnutls_x509_privkey_export(key, GNUTLS_X509_FMT_PEM, out->key, &key_size), 0);
    assert_int_equal(gnutls_x509_crt_export(crt, GNUTLS_X509_FMT_PEM, out->certificate, &crt_size),
                     0);
    gnutls_x509_crt_deinit(crt);
    gnutls_x509_privkey_deinit(key);
}

static struct MHD_Daemon *start_daemon(struct stv_http_server *server,
                                       const struct stv_http_identity *identity)
{
    struct sockaddr_in address = {.sin_family = AF_INET, .sin_addr.s_addr = htonl(INADDR_LOOPBACK)};
    unsigned flags = MHD_USE_INTERNAL_POLLING_THREAD | MHD_USE_THREAD_PER_CONNECTION;
    if (!identity)
        return MHD_start_daemon(flags, 0, NULL, NULL, answer, server, MHD_OPTION_SOCK_ADDR,
                                &address, MHD_OPTION_END);
    return MHD_start_daemon(flags | MHD_USE_TLS, 0, NULL, NULL, answer, server,
                            MHD_OPTION_SOCK_ADDR, &address, MHD_OPTION_HTTPS_MEM_KEY, identity->key,
                            MHD_OPTION_HTTPS_MEM_CERT, identity->certificate, MHD_OPTION_END);
}

struct stv_http_server *stv_http_start(const struct stv_http_identity *identity)
{
    struct stv_http_server *server = calloc(1, sizeof *server);
    assert_non_null(server);
    pthread_mutex_init(&server->mutex, NULL);
    pthread_cond_init(&server->stopping, NULL);
    server->has_tls = identity != NULL;
    server->daemon = start_daemon(server, identity);
    assert_non_null(server->daemon);
    const union MHD_DaemonInfo *info =
        MHD_get_daemon_info(server->daemon, MHD_DAEMON_INFO_BIND_PORT);
    assert_non_null(info);
    server->port = info->port;
    return server;
}

void stv_http_script(struct stv_http_server *server, const struct stv_http_reply *replies, size_t n)
{
    assert_true(n > 0 && n <= STV_HTTP_REPLIES);
    pthread_mutex_lock(&server->mutex);
    memcpy(server->replies, replies, n * sizeof replies[0]);
    server->n_replies = n;
    server->n_seen = 0;
    pthread_mutex_unlock(&server->mutex);
}

void stv_http_url(const struct stv_http_server *server, const char *path, char out[STV_HTTP_TEXT])
{
    snprintf(out, STV_HTTP_TEXT, "%s://127.0.0.1:%u%s", server->has_tls ? "https" : "http",
             server->port, path);
}

size_t stv_http_n_seen(struct stv_http_server *server)
{
    pthread_mutex_lock(&server->mutex);
    size_t n = server->n_seen;
    pthread_mutex_unlock(&server->mutex);
    return n;
}

struct stv_http_request stv_http_seen(struct stv_http_server *server, size_t index)
{
    pthread_mutex_lock(&server->mutex);
    bool is_known = index < server->n_seen && index < STV_HTTP_SEEN;
    struct stv_http_request request = server->seen[is_known ? index : 0];
    pthread_mutex_unlock(&server->mutex);
    assert_true(is_known);
    return request;
}

void stv_http_stop(struct stv_http_server *server)
{
    pthread_mutex_lock(&server->mutex);
    server->is_stopping = true;
    pthread_cond_broadcast(&server->stopping);
    pthread_mutex_unlock(&server->mutex);
    MHD_stop_daemon(server->daemon);
    pthread_cond_destroy(&server->stopping);
    pthread_mutex_destroy(&server->mutex);
    free(server);
}
