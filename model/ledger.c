/* Two histories in one list: the wood (which cask) and the spirit (what was put in).  The walk
 * here knows only what was written; what evaporates is the path's business. */
#include "model/ledger.h"

#include "model/ledger_walk.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Water adds at most its own volume at 20 C (998.2 kg/m3, OIML R 22); mixing shrinks it. */
#define WATER_MOST_L_PER_KG 1.0019

static const struct stv_place NOWHERE = {-1, -1, -1, -1};

const char *stv_event_kind_name(enum stv_event_kind kind)
{
    static const char *const names[STV_EVENT_N] = {
        "fill",   "move",         "transfer",   "add water", "top up",
        "sample", "leak stopped", "rejuvenate", "empty",
    };
    return kind < STV_EVENT_N ? names[kind] : "unknown event";
}

static int compare_events(const void *a, const void *b)
{
    const struct stv_event *x = a;
    const struct stv_event *y = b;
    if (x->day_d != y->day_d)
        return x->day_d < y->day_d ? -1 : 1;
    if (x->row != y->row)
        return x->row < y->row ? -1 : 1;
    return (x->cask_idx > y->cask_idx) - (x->cask_idx < y->cask_idx);
}

void stv_ledger_free(struct stv_ledger *ledger)
{
    free(ledger->casks);
    free(ledger->events);
    *ledger = (struct stv_ledger){0};
}

static struct stv__cask_entry empty_entry(void)
{
    return (struct stv__cask_entry){.volume20_l = 0.0, .place = NOWHERE};
}

static void apply_transfer(const struct stv_event *event, struct stv__cask_entry *entries)
{
    struct stv__cask_entry *from = &entries[event->cask_idx];
    struct stv__cask_entry *to = &entries[event->other_idx];
    int is_whole = !isfinite(event->volume20_l);
    double moved_l = is_whole ? from->volume20_l : event->volume20_l;
    to->volume20_l = (to->is_full ? to->volume20_l : 0.0) + moved_l;
    to->is_full = 1;
    if (event->place.warehouse_idx >= 0)
        to->place = event->place;
    if (is_whole) {
        *from = empty_entry();
        return;
    }
    from->volume20_l -= moved_l;
}

void stv__ledger_apply(const struct stv_event *event, struct stv__cask_entry *entries)
{
    struct stv__cask_entry *cask = &entries[event->cask_idx];
    switch (event->kind) {
    case STV_EVENT_FILL:
        *cask = (struct stv__cask_entry){.is_full = 1,
                                         .volume20_l = event->volume20_l,
                                         .place = event->place.warehouse_idx >= 0 ? event->place
                                                                                  : cask->place};
        break;
    case STV_EVENT_MOVE:
        cask->place = event->place;
        break;
    case STV_EVENT_TRANSFER:
        apply_transfer(event, entries);
        break;
    case STV_EVENT_ADD_WATER:
        cask->volume20_l += event->water_kg * WATER_MOST_L_PER_KG;
        break;
    case STV_EVENT_TOP_UP:
        cask->volume20_l += event->volume20_l;
        break;
    case STV_EVENT_SAMPLE:
        cask->volume20_l -= event->volume20_l;
        break;
    case STV_EVENT_EMPTY:
        *cask = empty_entry();
        break;
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_REJUVENATE:
    case STV_EVENT_N:
        break;
    }
}

struct stv__cask_entry *stv__cask_entries_new(const struct stv_ledger *ledger)
{
    struct stv__cask_entry *entries = malloc((ledger->n_casks + 1) * sizeof *entries);
    for (size_t c = 0; entries && c < ledger->n_casks; c++)
        entries[c] = empty_entry();
    return entries;
}

enum stv_status stv_ledger_empty_moves(const struct stv_ledger *ledger, size_t *out_idx,
                                       size_t *out_n)
{
    struct stv__cask_entry *entries = stv__cask_entries_new(ledger);
    *out_n = 0;
    if (!entries)
        return STV_E_MEMORY;
    for (size_t from = 0, to; from < ledger->n_events; from = to) {
        int64_t day_d = ledger->events[from].day_d;
        for (to = from; to < ledger->n_events && ledger->events[to].day_d == day_d; to++)
            stv__ledger_apply(&ledger->events[to], entries);
        for (size_t e = from; e < to; e++)
            if (ledger->events[e].kind == STV_EVENT_MOVE &&
                !entries[ledger->events[e].cask_idx].is_full)
                out_idx[(*out_n)++] = e;
    }
    free(entries);
    return STV_OK;
}

int stv_ledger_is_full(const struct stv_ledger *ledger, int cask_idx, int64_t day_d)
{
    struct stv__cask_entry *entries = stv__cask_entries_new(ledger);
    if (!entries)
        return 0;
    for (size_t e = 0; e < ledger->n_events && ledger->events[e].day_d <= day_d; e++)
        stv__ledger_apply(&ledger->events[e], entries);
    int is_full = entries[cask_idx].is_full;
    free(entries);
    return is_full;
}

/* True when the casks' being full or empty lets an event happen. */
static int can_be(const struct stv_event *event, const struct stv__cask_entry *entries)
{
    int is_full = entries[event->cask_idx].is_full;
    switch (event->kind) {
    case STV_EVENT_FILL:
    case STV_EVENT_REJUVENATE:
        return !is_full;
    case STV_EVENT_TRANSFER: {
        int is_other_full = entries[event->other_idx].is_full;
        return is_full &&
               (event->is_marriage ? is_other_full : isfinite(event->volume20_l) || !is_other_full);
    }
    case STV_EVENT_ADD_WATER:
    case STV_EVENT_TOP_UP:
    case STV_EVENT_SAMPLE:
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_EMPTY:
        return is_full;
    case STV_EVENT_MOVE:
    case STV_EVENT_N:
        break;
    }
    return 1;
}

/* Rows of one day that are tried out of turn; more than a crew does, and it keeps the cost of a day
 * full of contradictions in step with its rows. */
#define ROWS_TRIED_MOST 256

/* Brings the first event that can be to the front of n; all stay where none can. */
static void bring_forward(struct stv_event *events, size_t n, const struct stv__cask_entry *entries)
{
    size_t most = n < ROWS_TRIED_MOST ? n : ROWS_TRIED_MOST, found = 0;
    while (found < most && !can_be(&events[found], entries))
        found++;
    if (found == 0 || found == most)
        return;
    struct stv_event first = events[found];
    memmove(&events[1], &events[0], found * sizeof *events);
    events[0] = first;
}

enum stv_status stv_ledger_sort(struct stv_ledger *ledger)
{
    size_t n = ledger->n_events;
    struct stv_event *events = ledger->events;
    if (n < 2)
        return STV_OK;
    qsort(events, n, sizeof *events, compare_events);
    struct stv__cask_entry *entries = stv__cask_entries_new(ledger);
    if (!entries)
        return STV_E_MEMORY;
    for (size_t e = 0, to = 0; e < n; e++) {
        while (to < n && events[to].day_d == events[e].day_d)
            to++;
        bring_forward(&events[e], to - e, entries);
        stv__ledger_apply(&events[e], entries);
    }
    free(entries);
    return STV_OK;
}
