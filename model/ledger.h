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
};

enum stv_event_kind {
    STV_EVENT_FILL,
    STV_EVENT_MOVE,
    STV_EVENT_TRANSFER,     /* out of cask_idx into other_idx, whole or volume20_l */
    STV_EVENT_ADD_WATER,    /* water_kg */
    STV_EVENT_TOP_UP,       /* volume20_l at abv20_frac */
    STV_EVENT_SAMPLE,       /* volume20_l drawn */
    STV_EVENT_LEAK_STOPPED, /* a note; no change */
    STV_EVENT_REJUVENATE,   /* wood pools made new by half the distance */
    STV_EVENT_EMPTY,        /* all liquid leaves */
    STV_EVENT_N
};
const char *stv_event_kind_name(enum stv_event_kind kind); /* "fill", "move", "transfer", ... */

/* The spirit.  Unused numbers are NaN, unused indices -1. */
struct stv_event {
    int64_t day_d; /* local day number; things of one day keep the file's order */
    enum stv_event_kind kind;
    int cask_idx, other_idx;
    double volume20_l, abv20_frac, water_kg;
    struct stv_place place; /* fill, move: where to; warehouse_idx -1 when not said */
    int is_soaked;          /* fill: wood already soaked, no indrink */
    size_t row;             /* row of history.csv, for messages */
};

struct stv_ledger {
    struct stv_cask *casks;
    size_t n_casks;
    struct stv_event *events; /* sorted by day, then row, by stv_ledger_sort */
    size_t n_events;
};

void stv_ledger_sort(struct stv_ledger *ledger);
void stv_ledger_free(struct stv_ledger *ledger);

/* A contradiction: which event's row, and why. */
struct stv_ledger_fault {
    size_t event_idx;
    char why[160];
};

/* Walks the events with volumes as written (no evaporation): fill of a full cask, more liquid
 * than the capacity, transfer or sample out of an empty cask, two casks in one place.
 * out_faults has room for max entries; out_n receives how many there are (may exceed max).
 * Errors: STV_E_CONSISTENCY when there is any fault; STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv_ledger_check(const struct stv_ledger *ledger,
                                                struct stv_ledger_fault *out_faults, size_t max,
                                                size_t *out_n);

/* Where a cask lies on a day (after that day's events); warehouse_idx -1 when nowhere. */
struct stv_place stv_ledger_place(const struct stv_ledger *ledger, int cask_idx, int64_t day_d);

/* True when the cask holds liquid on a day by the ledger alone. */
int stv_ledger_is_full(const struct stv_ledger *ledger, int cask_idx, int64_t day_d);

/* Day the spirit now in the cask was first filled into wood (youngest part), or INT64_MIN. */
int64_t stv_ledger_spirit_born(const struct stv_ledger *ledger, int cask_idx, int64_t day_d);

/* True when water was ever added to what is in the cask on that day. */
int stv_ledger_had_water(const struct stv_ledger *ledger, int cask_idx, int64_t day_d);

#endif
