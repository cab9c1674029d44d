/* What the names on labels ask of strength, time in wood and the cask: markets.yaml, read. */
#ifndef STV_INGEST_MARKET_H
#define STV_INGEST_MARKET_H

#include "ingest/problem.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_MARKETS_MAX 64
#define STV_MARKET_NAME_MAX 32

/* One rule and where it comes from; all texts are empty when it is not among the market's. */
struct stv_rule {
    double value;     /* in the unit of its member; NaN: no number to hold anything against */
    char text[64];    /* as written: "125 US proof"; "none": the source says there is no limit */
    char source[160]; /* the law or text, by its own name */
    char seen[16];    /* "law", "second-hand" or "memory" */
    char date[16];    /* of the text read: "2026", "2026-11", "2026-11-25" or "unknown" */
};

enum stv_age_clock {
    STV_AGE_CLOCK_UNKNOWN,
    STV_AGE_IN_ANY_WOOD,
    STV_AGE_IN_ANY_OAK,
    STV_AGE_IN_CHARRED_NEW_OAK
};

struct stv_market {
    char name[STV_MARKET_NAME_MAX]; /* "us-single-malt" */
    char label[96];                 /* "United States, American single malt" */
    struct stv_rule bottled_least_abv20_frac;
    struct stv_rule entry_most_abv20_frac; /* into the cask */
    struct stv_rule still_most_abv20_frac; /* off the still */
    struct stv_rule age_least_y;           /* in wood, before the name may be used */
    struct stv_rule cask_most_l;
    struct stv_rule label_tolerance_abv20_frac; /* above and below the label */
    enum stv_age_clock age_clock;               /* what wood counts as age */
    struct stv_rule age_clock_rule;             /* its words and source; value NaN */
    struct stv_rule duty_rounding;              /* words and source alone; value NaN */
};

struct stv_markets {
    struct stv_market *items; /* in file order, names unique */
    size_t n;
};

/* Reads market rules.
 *
 * path      a file of rules, or NULL for those that the program carries
 * problems  every fault with line and column, as STV_REFUSED
 * out       empty when the status is not OK
 *
 * Keys:    markets, a list of: name, label, bottled_least, entry_most, still_most, age_least,
 *          cask_most, label_tolerance, age_clock, duty_rounding; a rule has value, source, seen,
 *          date, all needed
 * Errors:  STV_E_IO no such file; STV_E_PARSE something was refused; STV_E_MEMORY
 * Assumes: strengths in %vol are at 20 C; a law that counts at 60 F is to be written in US proof
 * Memory:  free with stv_markets_free, whatever the status */
STV_MUST_CHECK enum stv_status stv_markets_read(const char *path, struct stv_problems *problems,
                                                struct stv_markets *out);

/* Empties it; accepts NULL. */
void stv_markets_free(struct stv_markets *markets);

/* True of "none", in letters of any size: no market; none has this name. */
bool stv_market_is_none(const char *name);

/* The market of this name, in letters of any size; NULL when there is none. */
const struct stv_market *stv_markets_find(const struct stv_markets *markets, const char *name);

/* What to say of a name that is none of the markets': the nearest, else all that fit in size. */
void stv_markets_advice(const struct stv_markets *markets, const char *name, char *why,
                        size_t size);

/* The rules that the program carries, as a file to print and edit; never NULL. */
const char *stv_markets_text(void);

/* Private: markets.yaml as the build turned it into C, with embed_text.cmake. */
extern const char stv__markets_text[];

#endif
