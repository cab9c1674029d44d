/* What the loggers taught: learned from a chain with its climate, and told to one that is being
 * built. */
#ifndef STV_CLI_CHAIN_LEARNED_H
#define STV_CLI_CHAIN_LEARNED_H

#include "cli/chain.h"
#include "plots/text.h"

/* Why a rack with loggers was not learned. */
struct stv_unlearned {
    struct stv_place place;
    size_t n_hours; /* measured, on the weather's grid */
    enum stv_status why;
};

/* All that `learn` found; the racks' own errors stand in learned. */
struct stv_learning {
    struct stv_learned learned;
    struct stv_unlearned *unlearned;
    size_t n_unlearned;
    double (*unseen_frac)[STV_RACK_FOLDS]; /* of each rack: months of the weather that its loggers
                                            * have not lived through */
};

/* Learns every tier, and every bay with a logger of its own, that loggers have seen for three
 * months.
 *
 * chain   with its climate, learned.yaml not read
 * Errors: STV_E_NO_DATA  no weather of real dates, or no logger inside; STV_E_IO the check sums;
 *         STV_E_MEMORY
 * Memory: free with stv_learning_free */
STV_MUST_CHECK enum stv_status stv_chain_learn(const struct stv_chain *chain,
                                               struct stv_learning *out);
void stv_learning_free(struct stv_learning *learning);

/* Fills chain->told for the racks of a warehouse whose building has run. */
STV_MUST_CHECK enum stv_status stv_chain_tell(struct stv_chain *chain, size_t warehouse_idx);
/* What was learned of exactly this place; false and nothing when it was not. */
bool stv_chain_told(const struct stv_chain *chain, const struct stv_place *place,
                    struct stv_air_hours *out);
/* The rack of a place; NULL when it was not learned. */
const struct stv_rack *stv_learned_rack(const struct stv_learned *learned,
                                        const struct stv_place *place);
/* How far a position's months to come may be off: as its learning missed months it had not seen,
 * with a logger's own error, and in months beyond what its loggers lived through as from the
 * weather; else the parameter sheet's, with loggers all the year and without. */
struct stv_climate_error stv_chain_own_error(const struct stv_chain *chain,
                                             const struct stv_position *position);
/* The same of a tier that follows others: theirs, and what hiding logged tiers missed. */
struct stv_climate_error stv_chain_following_error(const struct stv_chain *chain,
                                                   size_t warehouse_idx,
                                                   const struct stv_neighbours *neighbours);

/* Loggers of one tier (bay -1) or of one bay; those of a bay speak for their tier too.  out: room
 * for all of the book's. */
size_t stv_chain_loggers_of(const struct stv_chain *chain, const struct stv_place *place,
                            const struct stv_logger_hours **out);

/* Adds, under "Rests on", where each tier's hours come from. */
void stv_words_sources(struct stv_text *text, const struct stv_chain *chain);
/* Adds months that the loggers did not live through, and what has changed since `learn`. */
void stv_words_sources_heed(struct stv_text *text, const struct stv_chain *chain);

#endif
