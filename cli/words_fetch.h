/* What `fetch` says: stations near a place, what became of each file, on what terms, and the line
 * for book.yaml. */
#ifndef STV_CLI_WORDS_FETCH_H
#define STV_CLI_WORDS_FETCH_H

#include "cli/fetch_request.h"
#include "cli/json.h"
#include "ingest/fetch_keep.h"
#include "ingest/station_list.h"
#include "plots/text.h"

enum stv_fetch_end {
    STV_FETCH_NOT_TRIED, /* after a failure of the network */
    STV_FETCH_KEPT,
    STV_FETCH_MISSING, /* the service has no such file */
    STV_FETCH_FAILED,  /* the network, or not in the cache while offline */
    STV_FETCH_REFUSED  /* it could not be put in its place */
};

struct stv_fetch_result {
    struct stv_fetch_file file;
    enum stv_fetch_end end;
    struct stv_fetched fetched; /* of a file that was kept */
    struct stv_kept kept;
    enum stv_status status; /* of any other, with its reason */
    char why[600];
    /* Of a file that was kept: what a reader takes it for, "" for none, and what is against it. */
    const char *reads_as;
    char unread[600];
};

struct stv_fetch_answer {
    const struct stv_fetch_request *request;
    const struct stv_station *station; /* what a list tells of the station; NULL: nothing */
    const struct stv_station_near *near;
    size_t n_near;
    size_t n_faulty; /* rows of the list */
    struct stv_fetch_result *results;
    size_t n, n_kept, n_unread;
    struct stv_fetch_folder folder;
};

void stv_words_fetch(struct stv_text *text, const struct stv_fetch_answer *answer);
void stv_json_fetch(json_t *document, const struct stv_fetch_answer *answer);

/* The stations near a place, for people. */
void stv_words_stations(struct stv_text *text, const struct stv_fetch_answer *answer);

/* Every service: what it holds, how a station is named, terms; and what needs a person. */
void stv_words_services(struct stv_text *text);

#endif
