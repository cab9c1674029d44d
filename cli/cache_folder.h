/* Where the program keeps what it can get again. */
#ifndef STV_CLI_CACHE_FOLDER_H
#define STV_CLI_CACHE_FOLDER_H

#include "ingest/folders.h"

/* The user's cache folder, with a folder of its own below it unless `below` is "".  NULL, or why
 * there is none: out is "" then.
 * Source: XDG Base Directory Specification; a relative XDG_CACHE_HOME does not count. */
const char *stv_cache_folder(const char *below, char out[STV_FOLDER_PATH]);

#endif
