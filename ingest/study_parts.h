/* What the readers of a study's parts share. */
#ifndef STV_INGEST_STUDY_PARTS_H
#define STV_INGEST_STUDY_PARTS_H

#include "ingest/book_parts.h"
#include "ingest/study.h"

/* The building as the study or its book writes it, for changes to be put over. */
struct stv__study_base {
    struct stv_yaml_node *owned;              /* a book's tree; NULL when the study's own */
    const struct stv_yaml_node *map;          /* NULL when refused */
    char unit_text[STV_DIM_N][STV__UNIT_MAX]; /* default units of the book */
    const char *units[STV_DIM_N];             /* into unit_text, NULL where there is none */
};

/* `book:` and `warehouse:`: the building of a book, with its weather as a site of its name, its
 * bottles, reference cask, seasons and parameters.  Adds what is wrong to the problems. */
STV_MUST_CHECK enum stv_status stv__study_book(const struct stv_yaml_context *context,
                                               const struct stv_yaml_node *root, const char *folder,
                                               struct stv_study *out, struct stv__study_base *base);

/* `changes:`, each put over the base. */
STV_MUST_CHECK enum stv_status stv__study_changes(const struct stv_yaml_context *context,
                                                  const struct stv_yaml_node *root,
                                                  const struct stv__study_base *base,
                                                  struct stv_study *out);

#endif
