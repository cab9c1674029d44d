/* What both files that `learn` writes have alike: how they are written and read, and the check sums
 * of what they rest on. */
#ifndef STV_INGEST_LEARNED_PARTS_H
#define STV_INGEST_LEARNED_PARTS_H

#include "ingest/learned_file.h"
#include "ingest/yaml.h"

#include <stdio.h>

/* Adds a file, by its path or as it lies in the book's folder, with the check sum it has now.
 * Errors: STV_E_IO, STV_E_MEMORY; *inputs stays the caller's to free */
STV_MUST_CHECK enum stv_status stv__learned_add_input(const char *path, const char *label,
                                                      struct stv_learned_input **inputs, size_t *n);
STV_MUST_CHECK enum stv_status stv__learned_add_file(const struct stv_book *book, const char *name,
                                                     struct stv_learned_input **inputs, size_t *n);

/* Writes BOOK/name, whole or not at all, of what write_all puts into a stream.
 * Errors: STV_E_IO, with why; STV_E_MEMORY */
typedef void stv__learned_writer(FILE *file, const struct stv_book *book, const void *learned);
STV_MUST_CHECK enum stv_status stv__learned_write(const struct stv_book *book, const char *name,
                                                  stv__learned_writer *write_all,
                                                  const void *learned, char *why, size_t size);

/* Reads BOOK/name by read_root when it is there; without it *out stays as it is and the status OK.
 * A fault is also noted with what the answers do without the file.
 * Errors: STV_E_IO, STV_E_PARSE, STV_E_MEMORY; *out stays the caller's to free */
typedef enum stv_status stv__learned_reader(const struct stv_yaml_context *context,
                                            const struct stv_yaml_node *root,
                                            const struct stv_book *book, void *out);
STV_MUST_CHECK enum stv_status stv__learned_read(const struct stv_book *book, const char *name,
                                                 const char *without, struct stv_problems *problems,
                                                 stv__learned_reader *read_root, void *out);

/* A text in double quotes, as YAML reads it back; a day; the entries of `inputs:`. */
void stv__learned_write_text(FILE *file, const char *text);
void stv__learned_write_day(FILE *file, int64_t day_d);
void stv__learned_write_inputs(FILE *file, const struct stv_learned_input *inputs, size_t n);
STV_MUST_CHECK enum stv_status stv__learned_read_inputs(const struct stv_yaml_context *context,
                                                        const struct stv_yaml_node *list,
                                                        struct stv_learned_input **out,
                                                        size_t *out_n);

#endif
