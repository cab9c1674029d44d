/* The files that a command is to write, looked at before it reads anything: none of them may be a
 * file that people or machines wrote into a book, one that the command reads, or the same twice. */
#ifndef STV_CLI_TARGETS_H
#define STV_CLI_TARGETS_H

#include "cli/options.h"
#include "ingest/problem.h"

#include <stdbool.h>
#include <stddef.h>

/* False, and said in why, when an option names such a file, a folder that is no place for a page,
 * or a picture whose ending tells no kind. */
bool stv_targets_are_free(const struct stv_options *options, char *why, size_t size);

/* False, and said in problems as refused, when a file to be written is this one, which the command
 * reads. */
bool stv_targets_spare(const struct stv_options *options, const char *read_path,
                       struct stv_problems *problems);

/* Name of the table that lies beside a picture: the picture's, ending in .csv. */
void stv_targets_beside(const char *picture_path, char *out, size_t size);

#endif
