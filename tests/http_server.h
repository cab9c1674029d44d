/* A server on loopback that gives the replies it was told to, in their order, and remembers what
 * it was asked.  Plain or with TLS; it stops with the process. */
#ifndef STV_TESTS_HTTP_SERVER_H
#define STV_TESTS_HTTP_SERVER_H

#include <stdbool.h>
#include <stddef.h>

#define STV_HTTP_HEADERS 6
#define STV_HTTP_REPLIES 4
#define STV_HTTP_SEEN 12
#define STV_HTTP_TEXT 200
#define STV_HTTP_PEM 4000

/* Zeroed members mean an ordinary reply. */
struct stv_http_reply {
    unsigned status;
    const char *body;
    size_t n;                              /* of the body; 0: up to its NUL */
    const char *headers[STV_HTTP_HEADERS]; /* "Name: value" */
    size_t cut_after;                      /* closes the connection after so many bytes of it */
    size_t hang_after;                     /* sends nothing more after so many, until it stops */
    bool is_cut_at_once, is_hung_at_once;  /* the same after the headers */
    bool has_no_length;                    /* sent in chunks */
    bool has_ranges; /* gives the rest asked for when If-Range is one of its own headers */
};

/* What a request said; "" for a header it had not. */
struct stv_http_request {
    char path[STV_HTTP_TEXT], range[STV_HTTP_TEXT], if_range[STV_HTTP_TEXT],
        if_none_match[STV_HTTP_TEXT], if_modified_since[STV_HTTP_TEXT],
        accept_encoding[STV_HTTP_TEXT];
};

/* A key, and a certificate for one address that it signed itself, as PEM. */
struct stv_http_identity {
    char key[STV_HTTP_PEM], certificate[STV_HTTP_PEM];
};

struct stv_http_server;

/* An identity for an address, "127.0.0.1".  Fails the test when it cannot be made. */
void stv_http_identity_make(const char *address, struct stv_http_identity *out);

/* Starts on a free port; with an identity it speaks TLS.  Fails the test when it cannot. */
struct stv_http_server *stv_http_start(const struct stv_http_identity *identity);

/* The replies to come, whose bodies must live on; the last one goes on.  Forgets what was asked. */
void stv_http_script(struct stv_http_server *server, const struct stv_http_reply *replies,
                     size_t n);

/* The address of a path on the server. */
void stv_http_url(const struct stv_http_server *server, const char *path, char out[STV_HTTP_TEXT]);

/* How often it was asked since the script began, and the request of an index below that. */
size_t stv_http_n_seen(struct stv_http_server *server);
struct stv_http_request stv_http_seen(struct stv_http_server *server, size_t index);

/* Ends hung replies and the server. */
void stv_http_stop(struct stv_http_server *server);

#endif
