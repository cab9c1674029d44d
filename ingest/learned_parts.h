/* What both files that `learn` writes have alike: the check sums of what they rest on. */
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

/* A text in double quotes, as YAML reads it back; the entries of `inputs:`. */
void stv__learned_write_text(FILE *file, const char *text);
void stv__learned_write_inputs(FILE *file, const struct stv_learned_input *inputs, size_t n);
STV_MUST_CHECK enum stv_status stv__learned_read_inputs(const struct stv_yaml_context *context,
                                                        const struct stv_yaml_node *list,
                                                        struct stv_learned_input **out,
                                                        size_t *out_n);

#endif
