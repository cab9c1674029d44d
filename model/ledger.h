/* What was done with wood and spirit: casks, events, and whether they can all be true. */
#ifndef STV_MODEL_LEDGER_H
#define STV_MODEL_LEDGER_H

#include "model/cooperage.h"
#include "model/extraction.h"
#include "model/position.h"
#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

#define STV_ID_MAX 64

/* The wood. */
struct stv_cask {
    char id[STV_ID_MAX];
    struct stv_cask_geometry geometry;
    enum stv_wood_history history; /* what it held before the first event here */
    char kind_name[STV_ID_MAX];    /* as the user calls this kind of cask */
    size_t row;                    /* row of casks.csv, for messages */
    size_t n_fills_before;         /* with spirit to mature, before the first event here */
    double tare_kg;                /* empty, as its head says; NaN or 0 when nothing does */
    int n_uses_before;             /* fills of spirit before the first event here */
    int is_charred, is_other_wood; /* 1 when its toast says charred; when its wood is no oak */
};

enum stv_event_kind {
    STV_EVENT_FILL,
    STV_EVENT_MOVE,
    STV_EVENT_TRANSFER,  /* out of cask_idx into other_idx, whole or volume20_l; also a marriage */
    STV_EVENT_ADD_WATER, /* water_kg */
    STV_EVENT_TOP_UP,    /* volume20_l at abv20_frac */
    STV_EVENT_SAMPLE,    /* volume20_l drawn */
    STV_EVENT_LEAK_STOPPED, /* a note; no change */
    STV_EVENT_REJUVENATE,   /* wood pools made new by half the distance */
    STV_EVENT_EMPTY,        /* all liquid leaves */
    STV_EVENT_N
};
/* "fill", "move", "transfer", ..., never NULL. */
const char *stv_event_kind_name(enum stv_event_kind kind);
/* The word for a transfer into a cask that holds spirit already. */
#define STV_MARRIAGE_NAME "marry"

/* The spirit.  Unused numbers are NaN, unused indices -1. */
struct stv_event {
    int64_t day_d; /* local day number; things of one day keep the file's order */
    enum stv_event_kind kind;
    int cask_idx, other_idx;
    double volume20_l, abv20_frac, water_kg;
    struct stv_place place; /* fill, move: where to; warehouse_idx -1 when not said */
    int is_soaked;          /* fill: wood already soaked, no indrink */
    int is_marriage;        /* transfer: meant for a cask that holds spirit already */
    int64_t age_d;          /* top up: days its spirit had lain in wood by then; 0 when not said */
    double age_width_d;     /* ... give or take */
    size_t row;             /* row of history.csv, for messages */
    double day_width_d; /* the true day is at most so far from day_d; 0 for a day that was said */
};

struct stv_ledger {
    struct stv_cask *casks;
    size_t n_casks;
    struct stv_event *events; /* sorted by day, then row, by stv_ledger_sort */
    size_t n_events;
};

/* Sorts the events by day, then row, then cask.  Rows of one day keep the file's order where that
 * can be; else the first row that can be comes first: a fill before the sample taken from it,
 * whatever the file's order.
 *
 * Errors:  STV_E_MEMORY  sorted by day and row alone */
STV_MUST_CHECK enum stv_status stv_ledger_sort(struct stv_ledger *ledger);

/* Frees casks and events and empties the struct. */
void stv_ledger_free(struct stv_ledger *ledger);

/* A contradiction: which event's row, and why. */
struct stv_ledger_fault {
    size_t event_idx;
    char why[160];
};

/* Walks the events with volumes as written and names what cannot be true whatever the air took:
 * fill of a full cask, more liquid than a cask holds, also put in on one day, anything out of an
 * empty cask, more than was ever in it, a transfer into itself or without litres into a full cask,
 * a marriage into an empty one, a move of a cask that is never filled, two full casks in one place
 * when a day is over.  A strength is never a contradiction: dry air raises it.
 *
 * Cost:       in step with casks and events
 * ledger      sorted; indices inside it (other_idx of a transfer too)
 * out_faults  room for max entries, in the order of the events; may be NULL when max is 0
 * out_n       how many there are, may exceed max
 *
 * Errors:  STV_E_CONSISTENCY  any fault; STV_E_MEMORY
 * Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status stv_ledger_check(const struct stv_ledger *ledger,
                                                struct stv_ledger_fault *out_faults, size_t max,
                                                size_t *out_n);

/* Moves of casks that hold nothing when their day is over: no contradiction, but perhaps another
 * cask was meant.
 *
 * ledger   sorted; indices inside it
 * out_idx  room for n_events: the events, ascending
 * Errors:  STV_E_MEMORY
 * Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status stv_ledger_empty_moves(const struct stv_ledger *ledger,
                                                      size_t *out_idx, size_t *out_n);

/* Copies some casks, all that exchange spirit with them, and their events, in their order: what an
 * answer about these casks needs, and no more.
 *
 * cask_idx    n of them, inside the ledger
 * out         free with stv_ledger_free
 * out_idx_of  room for n_casks: where each cask of the ledger stands in the part; -1 outside it
 *
 * Errors:  STV_E_MEMORY, out is empty */
STV_MUST_CHECK enum stv_status stv_ledger_part(const struct stv_ledger *ledger, const int *cask_idx,
                                               size_t n, struct stv_ledger *out, int *out_idx_of);

/* 1 when the cask holds liquid by the ledger alone at the end of a day, walked for this cask alone;
 * model/lineage.h answers for all casks at once.  0 when memory runs out.  ledger sorted, cask_idx
 * inside it. */
int stv_ledger_is_full(const struct stv_ledger *ledger, int cask_idx, int64_t day_d);

#endif
