/* `place --cask`: the free places whose plates bear the cask, and what it would give in each. */
#ifndef STV_CLI_PLACE_CASK_H
#define STV_CLI_PLACE_CASK_H

#include "cli/chain.h"
#include "plots/text.h"

struct stv_place_cask {
    int cask_idx;
    double mass_kg; /* full, as filled; NaN: not known, and then no plate is held against it */
    struct stv_placement placement;     /* its scores point into free_places */
    struct stv_free_place *free_places; /* those that bear it, and its own */
    size_t n_free;
    size_t n_promised;          /* free today and left out, for history.csv plans a cask there */
    size_t n_plate;             /* free places left out, for the plate bears less */
    struct stv_place present;   /* warehouse_idx -1: it lies nowhere */
    double present_plate_kg;    /* what the plate leaves it where it lies; INFINITY */
    int is_beyond_gear;         /* it lies higher than the gear reaches */
    size_t n_vague;             /* other full casks whose place is not said whole */
    int is_filled_for_trial;    /* it is empty: tried as if filled that day ... */
    double trial_l, trial_frac; /* ... with this */
};

/* Finds, tries and ranks.
 * why: size bytes; a sentence when nothing could be judged.
 * Errors: STV_E_NO_DATA no free place bears it; others of stv_placement_rank.
 * Free with stv_place_cask_free, whatever the status. */
STV_MUST_CHECK enum stv_status stv_place_cask_make(const struct stv_chain *chain, int cask_idx,
                                                   struct stv_place_cask *out, char *why,
                                                   size_t size);
void stv_place_cask_free(struct stv_place_cask *cask);

/* True when water is planned for it, by the book's `water:` or a later row of its history, of which
 * no figure knows. */
bool stv_place_awaits_water(const struct stv_chain *chain, const struct stv_place_cask *told);
void stv_words_place_cask(struct stv_text *text, const struct stv_chain *chain,
                          const struct stv_place_cask *told);

#endif
