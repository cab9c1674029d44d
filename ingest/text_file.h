/* A file of text from anywhere: unpacked, decoded, ready to be split into lines. */
#ifndef STV_INGEST_TEXT_FILE_H
#define STV_INGEST_TEXT_FILE_H

#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

struct stv_text_file {
    char *text;             /* n bytes and a NUL behind them; owned */
    size_t n;               /* below 2^32, so that an offset fits 32 bits */
    size_t bad_utf8_line;   /* first line that was not UTF-8; 0 when all was */
    size_t bad_utf8_column; /* ... and its character column */
    size_t n_nul;           /* NULs met; each stands as 0x1A in the text */
    size_t nul_line, nul_last_line;
    bool was_packed, was_utf16;
};

/* Reads a file whole, at most 1 GiB, packed with gzip or not.
 *
 * A byte-order mark is dropped.  UTF-16 of either order becomes UTF-8, also without its mark.
 * What is not UTF-8 is taken as Latin-1, and bad_utf8_line says so.  NULs, which a logger leaves
 * behind when its battery fails, become 0x1A so that they cannot hide what follows.
 *
 * why      size bytes: what was wrong and what to do, starting in lower case
 * Errors:  STV_E_IO     see stv__whole_file
 *          STV_E_PARSE  an archive, a document, a picture, a web page, other bytes that are no
 *                       text; a packed file that is cut or damaged, or longer than 1 GiB
 *          STV_E_MEMORY
 * Memory:  caller frees with stv_text_file_free, also after a failure */
STV_MUST_CHECK enum stv_status stv_text_file_read(const char *path, struct stv_text_file *out,
                                                  char *why, size_t size);

/* The same from n bytes in memory, which are copied. */
STV_MUST_CHECK enum stv_status
stv_text_file_parse(const char *bytes, size_t n, struct stv_text_file *out, char *why, size_t size);

/* Makes an LF of every CR without LF behind it, as old systems end their lines; for readers that look
 * for LF alone. */
void stv_text_file_end_lines(struct stv_text_file *file);

/* Empties it; accepts NULL. */
void stv_text_file_free(struct stv_text_file *file);

#endif
