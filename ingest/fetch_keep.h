/* A fetched file put where a book finds it, with a description of its origin beside it. */
#ifndef STV_INGEST_FETCH_KEEP_H
#define STV_INGEST_FETCH_KEEP_H

#include "ingest/fetch.h"
#include "ingest/fetch_service.h"
#include "model/status.h"
#include "model/sun.h"

#include <stdbool.h>
#include <stddef.h>

/* Where a file came from and on what terms; "" and NULL: not known, not written. */
struct stv_fetch_origin {
    const char *url, *source, *licence, *attribution;
    const struct stv_site_position
        *site;              /* of a file that does not tell it; elevation may be NaN */
    bool is_named_after_it; /* the file's name tells service, station and time: another address of
                               the same name brings newer bytes of the same thing */
};

enum stv_kept_outcome { STV_KEPT_NEW, STV_KEPT_SAME, STV_KEPT_UPDATED };

enum stv_kept_description {
    STV_DESCRIBED_NEW,     /* written */
    STV_DESCRIBED_ALREADY, /* it speaks of these bytes, perhaps since just now */
    STV_DESCRIBED_BY_OTHER /* somebody wrote one by hand: left as it is */
};

struct stv_kept {
    char path[STV_FETCH_PATH], description_path[STV_FETCH_PATH];
    enum stv_kept_outcome outcome;
    enum stv_kept_description description;
};

/* Copies a file out of the cache to folder/name, whole or not at all, and writes
 * folder/NAME.meta.yaml where there is none.
 *
 * What lies there already is replaced only when it is an earlier result of the same: its
 * description names its check sum, nobody has changed it since, and the address is the same.  In a
 * description then only the lines url, sha256 and fetched change; whatever a person added stays.
 *
 * folder   has to be there
 * name     a plain name
 * Errors:  STV_E_CONSISTENCY  another file of that name lies there; nothing is written
 *          STV_E_IO, STV_E_MEMORY
 *          STV_E_ARG          not a plain name, or too long a path */
STV_MUST_CHECK enum stv_status stv_fetch_keep(const struct stv_fetched *fetched,
                                              const struct stv_fetch_origin *origin,
                                              const char *folder, const char *name,
                                              struct stv_kept *out, char *why, size_t size);

#endif
