/* A folder of the user's cache in which results are kept from one run of the program to the next:
 * one file for each, named after the check sum of all that the result was made of. */
#ifndef STV_INGEST_KEPT_FOLDER_H
#define STV_INGEST_KEPT_FOLDER_H

#include "ingest/folders.h"
#include "ingest/hash.h"
#include "model/byte_store.h"

#include <stdbool.h>
#include <stddef.h>

/* What all files of a folder may take up, and of that what one run of the program reads and
 * writes: a large house keeps its first tables and makes the others each time. */
#define STV_KEPT_FOLDER_MOST ((size_t)1024 << 20)
#define STV_KEPT_RUN_MOST ((size_t)640 << 20)
#define STV_KEPT_RUN_FILES 256

struct stv_kept_folder {
    char path[STV_FOLDER_PATH];    /* made when something is kept */
    char program[STV_SHA256_TEXT]; /* check sum of the program itself; "" until it is asked for */
    size_t n_left;                 /* bytes of further files that this run may read or write */
    unsigned char seen[STV_KEPT_RUN_FILES][8]; /* beginnings of the names of those that it did */
    size_t n_seen;
    bool has_kept;
    struct stv_byte_store store; /* for the model; points into this struct */
};

/* Starts with a folder that need not be there.  Nothing here is ever an error: what cannot be
 * read, written, or is of another build of the program, counts as not kept.
 *
 * Files are written whole or not at all, so that several runs at once cannot spoil one another; a
 * found file counts as used now. */
void stv_kept_folder_open(const char *path, struct stv_kept_folder *out);

/* Ends it: where files were kept, those used longest ago go until the rest takes up no more than
 * `most` bytes. */
void stv_kept_folder_close(struct stv_kept_folder *folder, size_t most);

#endif
