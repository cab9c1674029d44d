/* What every JSON answer has in common: schema, inputs, parameters, warnings, problems. */
#ifndef STV_CLI_JSON_DOCUMENT_H
#define STV_CLI_JSON_DOCUMENT_H

#include "cli/chain.h"
#include "cli/json.h"

/* Version of every schema; keys are only added within a version. */
#define STV_SCHEMA_VERSION 1

/* The top of an answer.  chain may be NULL (no book, no weather); problems may be NULL. */
json_t *stv_json_document(const struct stv_options *options, const struct stv_chain *chain,
                          const struct stv_problems *problems);

/* Adds one sentence to the warnings. */
__attribute__((format(printf, 2, 3))) void stv_json_warn(json_t *document, const char *format, ...);

/* Adds one sentence to the cautions: what holds whatever was found. */
__attribute__((format(printf, 2, 3))) void stv_json_caution(json_t *document, const char *format,
                                                            ...);

/* The same from the very words of a text's caution, and of one that needs nothing but a text. */
void stv_json_caution_text(json_t *document, struct stv_text *text);
void stv_json_caution_by(json_t *document, void (*words)(struct stv_text *text));

/* Problems as objects with file, row, column, count, what was found and what to do. */
json_t *stv_json_problems(const struct stv_problems *problems);

/* {"warehouse", "tier", "bay", "depth"}, one-based; null for no place. */
json_t *stv_json_place_object(const struct stv_chain *chain, const struct stv_place *place);

/* "refused", "set aside" or "noted". */
const char *stv_severity_text(enum stv_severity severity);

#endif
