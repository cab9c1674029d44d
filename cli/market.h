/* The market whose rules an answer is held against: found by --market, else by the book; what it
 * changes in the house's own rules, and which casks of the book are not as it asks. */
#ifndef STV_CLI_MARKET_H
#define STV_CLI_MARKET_H

#include "cli/options.h"
#include "ingest/book.h"
#include "ingest/market.h"

#include <jansson.h>
#include <stdbool.h>

struct stv_named_market {
    struct stv_markets markets;
    const struct stv_market *market; /* of them; NULL: none */
    bool is_of_book;                 /* book.yaml names it, no option does */
    double house_abv20_frac;         /* the least strength and age that the book allows */
    double house_age_y;
};

/* Finds the market among the rules carried or those of --rules.
 *
 * book      NULL: only --market names one
 * problems  faults of --rules, and of the name in the book with its line
 * out       free with stv_named_market_free whatever the status
 * why       size bytes; a sentence after STV_E_USAGE
 * Errors: STV_E_USAGE  --market names none that there is, --rules has nothing to serve;
 *         STV_E_PARSE  the book names none that there is; others of stv_markets_read */
STV_MUST_CHECK enum stv_status stv_market_take(const struct stv_options *options,
                                               const struct stv_book *book,
                                               struct stv_problems *problems,
                                               struct stv_named_market *out, char *why,
                                               size_t size);
void stv_named_market_free(struct stv_named_market *named);

/* Puts the market's least strength and age into the book's rules where they ask for more. */
void stv_market_apply(struct stv_named_market *named, struct stv_book *book);

/* What is not as a market asks. */
enum stv_market_fault {
    STV_MARKET_TOO_STRONG, /* into the cask */
    STV_MARKET_TOO_LARGE,  /* the cask */
    STV_MARKET_STANDS,     /* time in the wood where it lies does not count as age */
    STV_MARKET_UNSURE,     /* ... or nobody knows */
    STV_MARKET_FAULT_N
};
/* True when this market, which may be NULL, forbids a fill of this strength in such a cask. */
bool stv_market_is_too_strong(const struct stv_market *market, double abv20_frac);
bool stv_market_is_too_large(const struct stv_market *market, double capacity_l);
struct stv_chain;
/* True for a cask of the book that holds spirit and has this fault by the chain's market. */
bool stv_market_finds(const struct stv_chain *chain, size_t cask_idx, enum stv_market_fault fault);

/* The rules of a market with their sources; null for NULL. */
json_t *stv_market_json(const struct stv_market *market);
/* The chain's, with the casks that are not as it asks. */
json_t *stv_market_json_of_chain(const struct stv_chain *chain);

struct stv_text;
/* The same in words, under a heading of its own; nothing where no market is named. */
void stv_words_market(struct stv_text *text, const struct stv_chain *chain);

/* The day of a rule's source, or that it has none. */
const char *stv_words_rule_date(const struct stv_rule *rule);
/* Beside an answer: one line where the market changes nothing, unless all is asked for. */
void stv_words_market_beside(struct stv_text *text, const struct stv_chain *chain);

#endif
