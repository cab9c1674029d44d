/* Every number that an answer was made with, with its class and source. */
#ifndef STV_CLI_PARAMETERS_H
#define STV_CLI_PARAMETERS_H

#include "ingest/book.h"
#include "plots/text.h"

#include <jansson.h>

/* standard: exact or normative; fitted: from published measurements; assumed: our judgement,
 * always open to the book. */
enum stv_parameter_class { STV_CLASS_STANDARD, STV_CLASS_FITTED, STV_CLASS_ASSUMED };

struct stv_parameter {
    char name[64];
    double value, default_value; /* in the unit of the entry */
    const char *unit;
    enum stv_parameter_class kind;
    char range[128]; /* of the trials, where it is drawn, and what a book may say; "" when fixed */
    const char *set_by; /* key or option; "" where nothing sets it */
    const char *source;
};

struct stv_parameter_list {
    struct stv_parameter *items;
    size_t n, capacity;
    bool is_short_of_memory;
};

/* Names and values of what a book sets under `parameters:`, as a sentence; nothing when it sets
 * none. */
void stv_parameters_words(struct stv_text *text, const struct stv_book *book);

/* All of them, as a book sets them, or the defaults with NULL.  Caller frees items with free(). */
struct stv_parameter_list stv_parameters_list(const struct stv_book *book);

const char *stv_parameter_class_text(enum stv_parameter_class kind);

/* The list as a table for people, and as a JSON array. */
void stv_parameters_text(struct stv_text *text, const struct stv_book *book);
json_t *stv_parameters_json(const struct stv_book *book);

/* The few numbers behind the bench sums, in the same form. */
json_t *stv_parameters_bench_json(void);

#endif
