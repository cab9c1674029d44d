/* What `transfer` found out, for text, JSON and CSV: windows and receivers with their legal side.
 */
#ifndef STV_CLI_TRANSFER_H
#define STV_CLI_TRANSFER_H

#include "cli/bench_wood.h"
#include "cli/chain.h"
#include "ingest/market.h"
#include "model/transfer.h"

#include <stdbool.h>

struct stv_transfer_answer {
    const struct stv_chain *chain;
    struct stv_season_span warm;
    bool is_named; /* casks were asked for by name: each is told in full */
    int *cask_idx;
    int64_t *planned_day_d;
    size_t n_casks, n_empty; /* told; empty in the book */
    struct stv_transfers transfers;
};

/* Casks that are told: those named, each once, else all full ones in active wood.
 * Errors: STV_E_USAGE, said in why: a cask that is not there, or holds nothing; STV_E_MEMORY;
 *         others of stv_transfer_plan.  Free with stv_transfer_answer_free whatever the status. */
STV_MUST_CHECK enum stv_status stv_transfer_answer_make(struct stv_transfer_answer *answer,
                                                        const char *const *ids, size_t n_ids,
                                                        char *why, size_t size);
void stv_transfer_answer_free(struct stv_transfer_answer *answer);

/* A wood in its use_idx-th use here, as an age clock sees it. */
enum stv_wood_class stv_transfer_wood(const struct stv_cask *cask, int use_idx);

/* Whether a market's age goes on in the wood that a cask's spirit lies in, and in another. */
struct stv_transfer_clock {
    enum stv_clock_verdict here, there;
    struct stv_age age_then; /* by the calendar, of the youngest part, on the day of leaving */
    bool is_mixed_past;      /* part of it lay in another wood of the book before */
    bool is_too_young;       /* the clock stops before the age that the market asks for */
};
/* receiver NULL: a refill of oak.  The chain's market must be named. */
struct stv_transfer_clock stv_transfer_clock_of(const struct stv_transfer_answer *answer,
                                                const struct stv_transfer *item,
                                                const struct stv_receiver *receiver);

/* "stay", "before", "now", "over" */
const char *stv_transfer_call_key(enum stv_leave call);
/* "good", "too small", "used up" */
const char *stv_transfer_fault_key(enum stv_receiver_fault fault);

/* Litres that the receiver's wood drinks, by the engine's own number; 0 where it is not dry. */
double stv_transfer_drinks_l(const struct stv_transfer_answer *answer,
                             const struct stv_receiver *receiver);

struct stv_text;
/* The whole answer in words; stv__words_transfer_cask: one cask in full. */
void stv_words_transfer(struct stv_text *text, const struct stv_transfer_answer *answer);
void stv__words_transfer_cask(struct stv_text *text, const struct stv_transfer_answer *answer,
                              const struct stv_transfer *item);
/* "8 in 10", "nearly all", "hardly any": a share of trials; for tables "8/10". */
struct stv_formatted stv__words_tenths(double frac);
struct stv_formatted stv__words_tenths_short(double frac);
/* True when it takes so much less wood there by its planned age that it is worth a word. */
bool stv_transfer_spares_wood(const struct stv_receiver *receiver);
/* True where today's trials are nearly as many over as under what is allowed: by another set of
 * them, or another day's weather, the call may fall on the other side. */
bool stv_transfer_is_even(const struct stv_transfer *item);
/* First day on which the book, or the named market, lets its spirit be bottled. */
int64_t stv_transfer_old_enough_d(const struct stv_transfer_answer *answer,
                                  const struct stv_transfer *item);
/* What kind of empty cask would do better than those that there are. */
void stv_words_transfer_change(struct stv_text *text);
/* What the empty casks are to an item. */
enum stv_into {
    STV_INTO_NONE_EMPTY,
    STV_INTO_NONE_FITS,
    STV_INTO_NO_MATTER,   /* the best of them is not told apart from staying */
    STV_INTO_NONE_BETTER, /* staying is better */
    STV_INTO_BETTER
};
enum stv_into stv_transfer_into(const struct stv_transfer *item);
/* "2029", "2028-29": a summer that passes the turn of the year. */
struct stv_formatted stv__words_summer(const struct stv_summer *summer);

#endif
