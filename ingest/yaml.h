/* A YAML file as a small tree of nodes, each with its line and column, and strict typed getters.
 *
 * What is understood: block and flow mappings and sequences, plain and quoted scalars, comments.
 * Every scalar arrives as the text that was typed; nothing is guessed.  Refused: aliases, anchors,
 * tags, several documents, repeated keys, keys that are not scalars, nesting deeper than
 * STV_YAML_DEPTH_MAX, tabs as indentation, invalid UTF-8.
 *
 * The getters report into the context's problems and return false when the key is absent or its
 * value is refused; *out is untouched then, so that defaults are set before. */
#ifndef STV_INGEST_YAML_H
#define STV_INGEST_YAML_H

#include "ingest/problem.h"
#include "ingest/quantity.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_YAML_DEPTH_MAX 8

enum stv_yaml_type { STV_YAML_SCALAR, STV_YAML_MAP, STV_YAML_LIST };

struct stv_yaml_node {
    enum stv_yaml_type type;
    size_t line, column;         /* of the value; 1-based, columns in characters */
    char *key;                   /* of an entry of a mapping, else NULL */
    size_t key_line, key_column; /* of that key */
    char *text;                  /* scalar: as typed; NULL for the rest, and for a refused alias */
    struct stv_yaml_node *items; /* mapping: its values in file order; list: its entries */
    size_t n_items;
};

/* Where messages go and which units may be left out. */
struct stv_yaml_context {
    const char *file; /* as the user would type it */
    struct stv_problems *problems;
    const char *units[STV_DIM_N]; /* book-wide default unit by dimension; NULL = none */
};

/* A quantity that is wanted: dimension, the unit when none is typed (NULL: the context's, or it
 * must be said), and the least and most allowed, both inclusive, in the dimension's own unit. */
struct stv_yaml_want {
    enum stv_dimension dimension;
    const char *default_unit;
    double least, most;
};

/* Reads a file of at most 1 MiB.
 *
 * file      the name for messages
 * problems  every fault, with line and column, as STV_REFUSED
 * out       after STV_E_PARSE it still holds the tree when the structure was clear (a repeated
 *           key, an alias), so that the rest of the file is checked too; otherwise NULL.
 *           Always free with stv_yaml_free.
 * Errors:   STV_E_IO, STV_E_PARSE, STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_yaml_read(const char *path, const char *file,
                                             struct stv_problems *problems,
                                             struct stv_yaml_node **out);

/* The same of a file of at most `most` bytes, which a program wrote. */
STV_MUST_CHECK enum stv_status stv_yaml_read_long(const char *path, const char *file, size_t most,
                                                  struct stv_problems *problems,
                                                  struct stv_yaml_node **out);

/* The same from n bytes in memory.  Errors: STV_E_PARSE, STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv_yaml_parse(const char *bytes, size_t n, const char *file,
                                              struct stv_problems *problems,
                                              struct stv_yaml_node **out);

/* Frees a root; accepts NULL. */
void stv_yaml_free(struct stv_yaml_node *root);

/* A mapping with the entries of another put over it: what both have as mappings is merged key by
 * key, any other entry replaces.
 *
 * out   a tree of its own, free with stv_yaml_free; for messages, what is base's stands where
 *       `over` stands, in `over`'s file
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_yaml_merge(const struct stv_yaml_node *base,
                                              const struct stv_yaml_node *over,
                                              struct stv_yaml_node **out);
/* Takes an entry out of a mapping, when it is there. */
void stv_yaml_drop(struct stv_yaml_node *map, const char *key);

/* The value of a key, whatever its type; NULL when map is not a mapping or lacks the key. */
const struct stv_yaml_node *stv_yaml_find(const struct stv_yaml_node *map, const char *key);

/* Refuses every key of a mapping that is not among the n known ones, naming the nearest. */
void stv_yaml_known_keys(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         const char *const *known, size_t n);

/* Adds a refusal at a node's value; printf-formatted. */
__attribute__((format(printf, 3, 4))) void stv_yaml_refuse(const struct stv_yaml_context *context,
                                                           const struct stv_yaml_node *node,
                                                           const char *format, ...);

/* The mapping, or the list, at a key; NULL when absent or, after a message, of another type. */
const struct stv_yaml_node *stv_yaml_map(const struct stv_yaml_context *context,
                                         const struct stv_yaml_node *map, const char *key);
const struct stv_yaml_node *stv_yaml_list(const struct stv_yaml_context *context,
                                          const struct stv_yaml_node *map, const char *key);

/* True when a node is a scalar with some text; says so when it is not. */
bool stv_yaml_is_scalar(const struct stv_yaml_context *context, const struct stv_yaml_node *node);

/* Text of at most size - 1 bytes; longer is refused, and so is an empty one. */
bool stv_yaml_text(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, char *buffer, size_t size);

/* A number with its unit. */
bool stv_yaml_quantity(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       const char *key, struct stv_yaml_want want, double *out);

/* A whole number from least to most. */
bool stv_yaml_count(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                    const char *key, const size_t range[2], size_t *out);

/* yes, no, true, false. */
bool stv_yaml_flag(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, bool *out);

/* One of known->n words, ignoring case; *out is its index.  Anything else is refused with the
 * nearest word. */
struct stv_yaml_words {
    const char *const *words;
    size_t n;
};
bool stv_yaml_word(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, struct stv_yaml_words known, size_t *out);

/* A date, 2024-03-14, as a day number. */
bool stv_yaml_date(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, int64_t *out_day_d);

#endif
