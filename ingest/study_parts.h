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

/* A cask as a study writes it: size, held, uses, stave, strength, and in a list name and count,
 * which the caller reads. */
void stv__study_cask(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                     bool is_listed, const struct stv_study *study, struct stv_study_cask *out);

/* A building as `over` changes it, the key `also` (NULL: none) left to the caller.
 *
 * base    NULL: `over` is the whole building
 * out_sha256  of both together, names apart; "" when it was refused
 * Returns false when something was refused; *out_status is STV_E_MEMORY when memory ran out. */
struct stv__study_over {
    const struct stv_yaml_node *base, *over;
    const char *also;
};
bool stv__study_building(const struct stv_yaml_context *context, struct stv__study_over put,
                         struct stv_building *out, char out_sha256[STV_SHA256_TEXT],
                         enum stv_status *out_status);

/* `buildings:`, `casks:`, `tiers:` and `follow_years:`, or the one building, cask and tier that the
 * study says in their place.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__study_grid(const struct stv_yaml_context *context,
                                               const struct stv_yaml_node *root,
                                               const struct stv__study_base *base,
                                               struct stv_study *out);

/* SHA-256 of what a node says, its own key and the entries `name` and `count` of a mapping apart;
 * NULL says nothing.  Errors: STV_E_MEMORY, out is "" then */
STV_MUST_CHECK enum stv_status stv__yaml_sha256(const struct stv_yaml_node *node,
                                                char out[STV_SHA256_TEXT]);

#endif
