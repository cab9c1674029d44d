/* `place` for many casks: a fill run, casks without a place, or the whole house.  From the book to
 * kinds, through the model, and back to single casks and places. */
#ifndef STV_CLI_PLACE_HOUSE_H
#define STV_CLI_PLACE_HOUSE_H

#include "cli/chain.h"
#include "ingest/fill_words.h"
#include "model/crew_list.h"
#include "model/placement_house.h"

/* What was asked for. */
struct stv_place_ask {
    const struct stv_fill_words *runs; /* n_runs fill runs, each with its number of casks */
    size_t n_runs;
    bool has_placeless; /* casks of the book that are full and have no place */
    bool has_all;       /* and all that have one */
    size_t most_moves;  /* SIZE_MAX: any */
};

/* Casks alike, in words. */
struct stv_place_group {
    char label[8];              /* "A", "B", ... */
    char kind_name[STV_ID_MAX]; /* "refill 250 L" */
    int64_t filled_day_d;
    double litres_l, abv20_frac; /* as filled */
    bool is_invented;            /* of a fill run, not of the book */
};

/* One cask. */
struct stv_place_item {
    char id[STV_ID_MAX];
    int cask_idx;          /* of the book; -1: not there yet */
    struct stv_place from; /* warehouse_idx -1: nowhere */
    double mass_kg;
};

struct stv_place_house {
    struct stv_ledger ledger; /* the book's, with one cask for each fill run */
    struct stv_cask_group *groups;
    struct stv_place_group *group_words;
    size_t n_groups;
    struct stv_place_kind *kinds;
    size_t n_kinds;
    struct stv_house_slot *slots;
    size_t n_slots, n_free; /* free ones among them */
    size_t n_promised;      /* free and left out, for history.csv plans a cask there */
    struct stv_house_item *house_items;
    struct stv_place_item *items; /* beside house_items */
    size_t n_items;
    size_t n_left_aside; /* full casks whose place is not said whole: they stay where they are */
    size_t n_too_heavy;  /* casks that lie where the plate does not bear them */
    struct stv_house_placement placement;
    size_t *slot_of_item; /* n_items; SIZE_MAX: no place was left */
    struct stv_crew_list crew;
    int *crew_item; /* per cask of the crew list: index of the item, -1 of others */
    int *crew_cask; /* ... and of the cask of the book, -1 */
    size_t n_crew_casks;
    size_t most_moves;
};

/* Builds, solves and expands.
 * why: size bytes; a sentence when the status is STV_E_USAGE or STV_E_NO_DATA.
 * Errors: STV_E_USAGE what was asked cannot be served; STV_E_NO_DATA nothing to place or nowhere;
 *         others of stv_house_place and stv_crew_list_make.  Free with stv_place_house_free. */
STV_MUST_CHECK enum stv_status stv_place_house_make(const struct stv_chain *chain,
                                                    const struct stv_place_ask *ask,
                                                    struct stv_place_house *out, char *why,
                                                    size_t size);
void stv_place_house_free(struct stv_place_house *house);

/* True when the market that the chain's book or options name forbids a group of a fill run. */
bool stv_place_group_fault(const struct stv_chain *chain, const struct stv_place_house *house,
                           size_t group_idx);

/* Parts of it, shared with the exchange: the order in which a crew carries out what item i of n
 * goes to.  Casks that lie in the racks and do not move are taken from the book. */
STV_MUST_CHECK enum stv_status stv_place_crew(const struct stv_chain *chain,
                                              const struct stv_place_item *items,
                                              const struct stv_place *to, size_t n_items,
                                              struct stv_place_house *out);

/* True when the house's item lies where the plate does not bear it. */
bool stv_place_is_over_plate(const struct stv_place_house *house, size_t item_idx);
/* Weight of a full cask: as filled, and the wood.  NaN for what is not known. */
double stv_place_cask_kg(const struct stv_cask *cask, double litres_l, double abv20_frac);
/* The same of a cask of the book, by its last fill. */
double stv_place_book_cask_kg(const struct stv_chain *chain, int cask_idx);
/* What the plate leaves for one cask of a tier, all casks of a bay sharing alike; INFINITY where no
 * plate is known. */
double stv_place_plate_kg(const struct stv_warehouse *warehouse, int tier_idx);
/* True when warehouse, tier, bay and depth are all said. */
bool stv_place_is_whole(const struct stv_place *place);
/* The last fill of a cask up to the day of the answer; NULL when there is none. */
const struct stv_event *stv_place_fill_of(const struct stv_chain *chain, size_t cask_idx);

/* Reads nothing, adds slots, kinds, items and groups of the book and of the runs to an empty house.
 */
STV_MUST_CHECK enum stv_status stv__place_stock(const struct stv_chain *chain,
                                                const struct stv_place_ask *ask,
                                                struct stv_place_house *out);
#endif
