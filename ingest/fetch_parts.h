/* What the files of the fetcher share: the cache, the body on its way into it, and the answer of a
 * server.  fetch.c decides, fetch_transfer.c speaks to libcurl, fetch_body.c takes the bytes,
 * fetch_unpack.c unpacks them, fetch_cache.c and fetch_record.c keep them, fetch_page.c tells
 * pages from data.
 *
 * The cache holds, for one address, under a key made from it:
 *     KEY.record      what is known of the copy; replacing it is what makes a new copy count
 *     KEY.HASH.data   the bytes, named after their own check sum, so that a new copy is written
 *                     beside the old one and neither can be taken for the other
 *     KEY.part        the beginning of a body that was cut, and
 *     KEY.resume      what is known of it; a beginning without this is thrown away
 *     KEY.lock        only while somebody fetches the address */
#ifndef STV_INGEST_FETCH_PARTS_H
#define STV_INGEST_FETCH_PARTS_H

#include "ingest/fetch.h"
#include "ingest/hash.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV__FETCH_HEADER 256 /* an ETag, a date; a longer one is taken as not given */
#define STV__FETCH_KEY 33
#define STV__FETCH_WHEN 24

/* What is known of a copy, or of the beginning of one. */
struct stv__fetch_record {
    char url[STV_FETCH_URL];
    char etag[STV__FETCH_HEADER];          /* as the server wrote it; "" when it gave none */
    char last_modified[STV__FETCH_HEADER]; /* the same */
    char sha256[STV_SHA256_TEXT];          /* "" of a beginning */
    char fetched_at[STV__FETCH_WHEN];
    uint64_t n_bytes; /* of the copy; of a beginning those that are surely on the disk */
    uint64_t total;   /* what the whole has; 0 when the server does not say */
};

/* Reads a record; false when there is none or it is not one, *out is meaningless then. */
bool stv__fetch_record_read(const char *path, struct stv__fetch_record *out);

/* Replaces a record in one step.  Errors: STV_E_IO, STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__fetch_record_write(const char *path,
                                                       const struct stv__fetch_record *record,
                                                       char *why, size_t size);

/* The time by the clock, in UTC. */
void stv__fetch_now(char out[STV__FETCH_WHEN]);

/* One address in the cache. */
struct stv__cache {
    const char *folder, *url;
    char key[STV__FETCH_KEY];
    int lock_fd, part_fd;
    bool has_record; /* `record` stands in the cache */
    bool has_copy;   /* ... and its data are whole */
    struct stv__fetch_record record;
    bool has_part; /* `part` stands in the cache with at least its n_bytes */
    struct stv__fetch_record part;
};

/* Looks an address up.  Unless offline the folder is made, and others who fetch the same address
 * wait until this one is closed.
 * Errors:  STV_E_IO  the folder cannot be made or written; nothing is to be closed then */
STV_MUST_CHECK enum stv_status stv__cache_open(const char *folder, const char *url, bool is_offline,
                                               struct stv__cache *out, char *why, size_t size);

/* The path of the copy, by the record. */
void stv__cache_data_path(const struct stv__cache *cache, char out[STV_FETCH_PATH]);

/* Forgets the beginning that is kept, and starts an empty one.  False and errno on failure. */
bool stv__cache_begin_part(struct stv__cache *cache);

/* Makes the n bytes of the beginning outlive a power cut; failing that, none of it is kept. */
void stv__cache_keep_part(struct stv__cache *cache, const struct stv__fetch_record *part);

void stv__cache_forget_part(struct stv__cache *cache);

/* Makes the beginning, which is now whole, the copy.  The record tells its headers.
 * Errors:  STV_E_IO, STV_E_MEMORY  the old copy stays */
STV_MUST_CHECK enum stv_status stv__cache_commit(struct stv__cache *cache,
                                                 const struct stv__fetch_record *record, char *why,
                                                 size_t size);

/* Notes that the copy is still what the server has.  An empty header leaves the known one. */
void stv__cache_confirm(struct stv__cache *cache, const struct stv__fetch_record *headers);

/* Removes what nobody can use, and lets the others in. */
void stv__cache_close(struct stv__cache *cache);

/* The answer of a server, from the last of its responses when it sent the reader on. */
struct stv__answer {
    long status;    /* 0 while there is none */
    bool is_packed; /* with gzip, for the way */
    bool is_packed_otherwise;
    bool has_ranges_none, has_range;
    uint64_t range_first, range_last, range_total;
    char etag[STV__FETCH_HEADER], last_modified[STV__FETCH_HEADER];
    char date[STV__FETCH_HEADER], retry_after[STV__FETCH_HEADER];
};

/* Takes one line of headers in; a status line starts the answer anew. */
void stv__answer_line(struct stv__answer *answer, const char *line, size_t n);

struct stv__unpack;

/* A body on its way into the beginning of a copy. */
struct stv__body {
    struct stv__cache *cache;
    uint64_t most_bytes;
    bool has_packed_name;          /* the file itself is packed and stays so, whatever is said */
    struct stv__unpack *unpack;    /* NULL when it came as it is */
    struct stv__fetch_record part; /* as it would be kept; n_bytes counts all bytes so far */
    uint64_t n_kept;
    bool is_keepable;
    /* Why no further bytes are taken. */
    bool is_unwanted; /* of another status than 200 and 206 */
    bool is_other_range, is_above, is_packed_otherwise, is_damaged, is_out_of_memory;
    int write_errno;
};

/* Looks at the answer when the first byte of its body is there.
 * offset     the first byte that was asked for; 0: no range was
 * total      of the whole body, 0 when it is not said
 * has_dates  whether Last-Modified is good enough to resume by
 * False when the body is not to be read. */
bool stv__body_begin(struct stv__body *body, const struct stv__answer *answer, uint64_t offset,
                     uint64_t total, bool has_dates);

/* Takes bytes; false when no more are to come. */
bool stv__body_bytes(struct stv__body *body, const char *bytes, size_t n);

/* After the last byte: a packed body that has not come to its end is damaged. */
void stv__body_end(struct stv__body *body, bool is_whole);

/* After a body that was cut: keeps what can be resumed. */
void stv__body_keep(struct stv__body *body);

enum stv__unpacked { STV__UNPACKED, STV__UNPACK_DAMAGED, STV__UNPACK_MEMORY, STV__UNPACK_STOPPED };

/* NULL without memory. */
struct stv__unpack *stv__unpack_new(void);

/* Unpacks n bytes and hands them over; stopped when they are not taken. */
enum stv__unpacked stv__unpack_bytes(struct stv__unpack *unpack, const char *bytes, size_t n,
                                     bool (*take)(struct stv__body *, const char *, size_t),
                                     struct stv__body *body);

/* True when the bytes so far end where a packed file may end. */
bool stv__unpack_is_whole(const struct stv__unpack *unpack);

/* Accepts NULL. */
void stv__unpack_free(struct stv__unpack *unpack);

enum stv__transfer_end {
    STV__END_ANSWER, /* the server's status tells how it went; a body of 200 or 206 is whole */
    STV__END_CUT,    /* worth another try */
    STV__END_REFUSED,
    STV__END_BODY, /* the body itself stopped it, see struct stv__body */
    STV__END_MEMORY
};

struct stv__transfer {
    enum stv__transfer_end end;
    struct stv__answer answer;
    bool has_body;        /* bytes of a wanted body came */
    int64_t wait_asked_s; /* by Retry-After; -1 when it did not */
    char sent_on_to[200]; /* the last address, when it is not the first */
    char why[500];        /* of END_CUT and END_REFUSED: what was wrong and what to do */
};

/* Asks once for the body, for its rest when a beginning is kept, or for whether the copy is still
 * what the server has. */
void stv__transfer_run(const struct stv_fetch_rules *rules, struct stv__cache *cache,
                       struct stv__body *body, struct stv__transfer *out);

#define STV__PAGE_BYTES 4096 /* that are looked at */

/* True when n bytes, the first of a file, start a web page or XML, also packed with gzip. */
bool stv__is_page(const char *bytes, size_t n);

#endif
