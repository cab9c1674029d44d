/* When each cask, or each lot, can be bottled, and what opens and closes that window; and when a
 * strength falls to what must not be passed. */
#ifndef STV_MODEL_BOTTLING_H
#define STV_MODEL_BOTTLING_H

#include "model/crossing.h"
#include "model/outlook.h"

enum stv_window_side {
    STV_SIDE_NONE,      /* open already at the first month, or not closed by the last */
    STV_SIDE_AGE,       /* opens: old enough */
    STV_SIDE_WOOD_LOW,  /* opens: enough wood */
    STV_SIDE_WOOD_HIGH, /* closes: too much wood */
    STV_SIDE_STRENGTH,  /* opens or closes: strength against what the house wants */
    STV_SIDE_VOLUME,    /* closes: too few bottles to be worth it */
    STV_SIDE_EMPTIED    /* closes: the ledger empties it by then */
};
const char *stv_window_side_text(enum stv_window_side side); /* in words, for people */

struct stv_window {
    int cask_idx;   /* of a lot: its first cask */
    size_t n_casks; /* 1, or those of the lot */
    int has_window;
    size_t open_idx, surest_idx,
        close_idx;                         /* into the outlook's days; close is the last month in */
    size_t surest_from_idx, surest_to_idx; /* months that cannot be told from the surest one */
    int closes;                            /* 0 when still open at the last month */
    enum stv_window_side opens_by, closes_by;
    enum stv_window_side never_by; /* without a window: what fails most often */
    double surest_frac;            /* share of draws that meet every wish in the surest month */
    struct stv_range bottles_nd, abv20_frac, wood_nd; /* in the surest month; bottles of the lot */
    struct stv_crossing enough_wood, too_much_wood;   /* in the months looked at */
    double over_now_frac;        /* share of draws over the wood allowed on the first day */
    double wait_cost_bottles_nd; /* bottles lost by waiting a year after the surest month; NaN where
                                    it is emptied by then */
    double wait_over_frac;       /* share of draws over the wood allowed by then */
};

struct stv_bottling {
    struct stv_window *windows; /* full casks only, in the book's order */
    size_t n_windows;
};

struct stv_bottling_request {
    const struct stv_outlook *outlook; /* months, ascending; the first is today */
    const struct stv_ledger *ledger;
    const struct stv_house_rules *rules;
    double least_bottles_nd;   /* fewer than this of a cask closes the window */
    const size_t *lot_of_cask; /* NULL: each cask by itself; SIZE_MAX: in no lot */
    size_t n_lots;
};

/* Windows of all casks that are full on the outlook's first day, or of their lots: the months about
 * the surest one in which at least half the draws meet every wish.  A lot is judged as one liquid.
 *
 * request  outlook and ledger of the same casks
 * out      in the book's order, lots by their first cask; empty when the status is not OK.  The
 *          cost of waiting is NaN when the outlook ends within a year of the surest month.
 *
 * Errors:  STV_E_NO_DATA  no month; STV_E_MEMORY
 * Source:  own rule; half the draws is judgement
 * Assumes: a least age counts by the calendar, from the youngest part of the spirit; a cask that is
 *          over the wood allowed is never waited for
 * Memory:  free with stv_bottling_free */
STV_MUST_CHECK enum stv_status stv_bottling_windows(const struct stv_bottling_request *request,
                                                    struct stv_bottling *out);
/* Frees and empties; may be called twice. */
void stv_bottling_free(struct stv_bottling *bottling);

/* When a cask's strength falls to a level: its earliest day is the one to bottle or marry before.
 *
 * outlook  its days are what is looked at, two a year are enough; values must be kept
 * out      as stv_crossing_find; nothing passes in a cask that is empty
 *
 * Errors:  as stv_crossing_find */
STV_MUST_CHECK enum stv_status stv_strength_guard(const struct stv_outlook *outlook, int cask_idx,
                                                  double level_abv20_frac,
                                                  struct stv_crossing *out);

#endif
