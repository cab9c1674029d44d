/* Public files over http and https, kept in a cache: the only place that speaks to a network. */
#ifndef STV_INGEST_FETCH_H
#define STV_INGEST_FETCH_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_FETCH_PATH 512
#define STV_FETCH_URL 2048

/* How to fetch; stv_fetch_rules_default fills it. */
struct stv_fetch_rules {
    const char *cache_folder; /* made, with its parents, when it is not there */
    bool is_offline;          /* only what the cache holds */
    uint64_t most_bytes;      /* of one file */
    long connect_timeout_s;
    long stall_timeout_s; /* no byte for so long is a failure */
    size_t n_tries;       /* of 429, 5xx, cut bodies and refused connections */
    long first_wait_ms;   /* before the second try; doubled each time */
    long longest_wait_s;  /* also of a Retry-After: a longer one ends the fetch and is said */
    long n_redirects;
    const char *ca_file; /* certificates to trust instead of the system's; NULL: the system's */
    /* Called a few times a second while bytes come; total 0 when the server does not say. */
    void (*progress)(void *context, const char *url, uint64_t got, uint64_t total);
    void *progress_context;
};

struct stv_fetch_rules stv_fetch_rules_default(const char *cache_folder);

struct stv_fetched {
    char path[STV_FETCH_PATH]; /* the whole file, in the cache: not to be changed there */
    char sha256[65];
    char fetched_at[24]; /* 2026-11-25T15:46:08Z: when its bytes last came or were confirmed */
    uint64_t n_bytes;
    bool was_in_cache; /* no byte of the body came over the network */
};

/* Fetches one address, or gives what the cache holds of it.
 *
 * url      http or https; anything else is refused
 * out      filled on success
 * why      size bytes: what was wrong and what to do, starting in lower case
 *
 * With a copy in the cache the server is asked whether it changed (ETag, If-Modified-Since); a 304
 * confirms the copy.  A body that was cut is resumed where the server allows (Range with If-Range),
 * by this call or a later one, else begun again.  A body that starts like HTML or XML, an empty
 * one, a length that does not agree, a body above most_bytes and a status other than 200 are
 * failures: the cache keeps what it had.  A file comes into the cache whole or not at all (written
 * beside, then renamed), and is checked against its sum each time it is given out.  From https it
 * does not follow to http.  A file whose name says that it is packed (.gz, .zip) stays packed.
 * Those who fetch the same address at the same time, from any process or thread, wait for each
 * other; who is offline waits for nobody.
 *
 * Errors:  STV_E_NETWORK  no connection, no name, a certificate that is not trusted, a status, a
 *                         page instead of data, retries used up, offline and not in the cache
 *          STV_E_USAGE    an address that is not http or https, holds a user's name or a blank
 *          STV_E_IO       the cache cannot be written
 *          STV_E_ARG      no cache folder
 *          STV_E_MEMORY
 * Memory:  a few blocks of 64 KiB, whatever the length of the file */
STV_MUST_CHECK enum stv_status stv_fetch(const struct stv_fetch_rules *rules, const char *url,
                                         struct stv_fetched *out, char *why, size_t size);

#endif
