/* The steps of replacing a file, for the writer of whole texts and the one that goes piece by
 * piece.  Everything here is defined in write_file.c. */
#ifndef STV_INGEST_WRITE_PARTS_H
#define STV_INGEST_WRITE_PARTS_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

/* A file that is being written and has not yet taken its name. */
struct stv__new_file {
    char *path;      /* the name it will take */
    char *temporary; /* a name beside it; ends in XXXXXX while it has none */
    bool is_named;
    bool is_spare; /* need not outlive a power cut */
    int fd;
};

/* Makes it in the folder of the path.
 * Errors: STV_E_IO, also when the path is a folder; STV_E_MEMORY.  Nothing is left to drop then. */
STV_MUST_CHECK enum stv_status stv__new_file_open(const char *path, struct stv__new_file *out,
                                                  char *why, size_t size);

/* Flushes it to the disk, unless it is spare, and lets it take its name; frees it, and removes it
 * after a failure. Errors: STV_E_IO */
STV_MUST_CHECK enum stv_status stv__new_file_finish(struct stv__new_file *file, char *why,
                                                    size_t size);

/* Removes and frees it. */
void stv__new_file_drop(struct stv__new_file *file);

/* Writes n bytes; -1 and errno when they cannot all be written. */
int stv__write_all(int fd, const char *bytes, size_t n);

/* Says what could not be done to a path, from errno. */
void stv__write_says(char *why, size_t size, const char *what, const char *path);

#endif
