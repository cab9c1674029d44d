/* What `fetch` was asked for, read from the options and the environment. */
#ifndef STV_CLI_FETCH_REQUEST_H
#define STV_CLI_FETCH_REQUEST_H

#include "cli/options.h"
#include "ingest/fetch_service.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

struct stv_fetch_request {
    const char *url;            /* NULL: a service */
    struct stv_fetch_wish wish; /* station "" when it is to be found */
    bool is_near, is_dry, is_offline;
    double latitude_deg, longitude_deg; /* with is_near */
    size_t n_stations;                  /* to list */
    char cache[STV_FETCH_PATH];
};

/* Reads it.  Errors: STV_E_USAGE, `why` says what to type instead. */
STV_MUST_CHECK enum stv_status stv_fetch_request_read(const struct stv_options *options,
                                                      struct stv_fetch_request *out, char *why,
                                                      size_t size);

/* Where the files go. */
struct stv_fetch_folder {
    char path[STV_FETCH_PATH];  /* to write to */
    char named[STV_FETCH_PATH]; /* as book.yaml names it */
};

/* Finds the folder, --out, or weather/ of the book, and makes it when only it is missing.
 * Errors: STV_E_USAGE no book is named; STV_E_IO no such book, the folder cannot be made */
STV_MUST_CHECK enum stv_status stv_fetch_folder_find(const struct stv_options *options,
                                                     struct stv_fetch_folder *out, char *why,
                                                     size_t size);

#endif
