/* Contradictions of the ledger: what cannot be true whatever the air took. */
#include "model/ledger.h"
#include "model/ledger_walk.h"

#include <math.h>
#include <stdarg.h>
#include <stdio.h>
#include <stdlib.h>

struct fault_list {
    struct stv_ledger_fault *items;
    size_t max, n;
};

__attribute__((format(printf, 3, 4))) static void
add_fault(struct fault_list *list, size_t event_idx, const char *format, ...)
{
    if (list->n < list->max) {
        struct stv_ledger_fault *fault = &list->items[list->n];
        fault->event_idx = event_idx;
        va_list args;
        va_start(args, format);
        vsnprintf(fault->why, sizeof fault->why, format, args);
        va_end(args);
    }
    list->n++;
}

static int same_place(const struct stv_place *a, const struct stv_place *b)
{
    return a->warehouse_idx >= 0 && a->warehouse_idx == b->warehouse_idx && a->tier_idx >= 0 &&
           a->tier_idx == b->tier_idx && a->bay_idx >= 0 && a->bay_idx == b->bay_idx &&
           a->depth_idx == b->depth_idx;
}

static void check_liquid(const struct stv_ledger *ledger, size_t event_idx,
                         const struct stv__cask_entry *entries, struct fault_list *faults)
{
    const struct stv_event *event = &ledger->events[event_idx];
    const struct stv__cask_entry *entry = &entries[event->cask_idx];
    const struct stv_cask *cask = &ledger->casks[event->cask_idx];
    double capacity_l = cask->geometry.capacity_l;
    if (event->kind == STV_EVENT_FILL) {
        if (entry->is_full)
            add_fault(faults, event_idx, "cask %s is already full; empty or transfer it first",
                      cask->id);
        if (event->volume20_l > capacity_l)
            add_fault(faults, event_idx, "%.4g L do not go into cask %s of %.4g L",
                      event->volume20_l, cask->id, capacity_l);
        return;
    }
    if (event->kind == STV_EVENT_MOVE || event->kind == STV_EVENT_REJUVENATE)
        return;
    if (!entry->is_full)
        add_fault(faults, event_idx, "cask %s is empty on that day; nothing to %s", cask->id,
                  stv_event_kind_name(event->kind));
    else if (event->volume20_l > entry->volume20_l &&
             (event->kind == STV_EVENT_TRANSFER || event->kind == STV_EVENT_SAMPLE))
        add_fault(faults, event_idx, "cask %s never held %.4g L", cask->id, event->volume20_l);
    if (event->kind == STV_EVENT_TOP_UP && event->volume20_l > capacity_l)
        add_fault(faults, event_idx, "%.4g L do not go into cask %s of %.4g L", event->volume20_l,
                  cask->id, capacity_l);
    if (event->kind == STV_EVENT_ADD_WATER && event->water_kg > capacity_l)
        add_fault(faults, event_idx, "%.4g kg of water do not go into cask %s of %.4g L",
                  event->water_kg, cask->id, capacity_l);
}

static void check_transfer(const struct stv_ledger *ledger, size_t event_idx,
                           const struct stv__cask_entry *entries, struct fault_list *faults)
{
    const struct stv_event *event = &ledger->events[event_idx];
    if (event->kind != STV_EVENT_TRANSFER)
        return;
    const struct stv_cask *to = &ledger->casks[event->other_idx];
    if (event->other_idx == event->cask_idx)
        add_fault(faults, event_idx, "cask %s cannot be transferred into itself", to->id);
    if (entries[event->other_idx].is_full && !isfinite(event->volume20_l))
        add_fault(faults, event_idx,
                  "cask %s is already full; say how many litres go in, or empty it first", to->id);
    if (isfinite(event->volume20_l) && event->volume20_l > to->geometry.capacity_l)
        add_fault(faults, event_idx, "%.4g L do not go into cask %s of %.4g L", event->volume20_l,
                  to->id, to->geometry.capacity_l);
}

/* The cask that an event puts somewhere must have the place to itself when the day is over; within
 * a day casks may exchange places. */
static void check_place(const struct stv_ledger *ledger, size_t event_idx,
                        const struct stv__cask_entry *entries, struct fault_list *faults)
{
    const struct stv_event *event = &ledger->events[event_idx];
    if (event->place.warehouse_idx < 0)
        return;
    int mover = event->kind == STV_EVENT_TRANSFER ? event->other_idx : event->cask_idx;
    if (!entries[mover].is_full || !same_place(&entries[mover].place, &event->place))
        return;
    for (size_t c = 0; c < ledger->n_casks; c++) {
        if ((int)c == mover || !entries[c].is_full || !same_place(&entries[c].place, &event->place))
            continue;
        add_fault(faults, event_idx, "cask %s lies there already; two casks in one place",
                  ledger->casks[c].id);
    }
}

enum stv_status stv_ledger_check(const struct stv_ledger *ledger,
                                 struct stv_ledger_fault *out_faults, size_t max, size_t *out_n)
{
    struct fault_list faults = {out_faults, max, 0};
    struct stv__cask_entry *entries = malloc((ledger->n_casks + 1) * sizeof *entries);
    *out_n = 0;
    if (!entries)
        return STV_E_MEMORY;
    for (size_t c = 0; c < ledger->n_casks; c++)
        entries[c] = stv__cask_entry_empty();
    size_t day_start = 0;
    for (size_t e = 0; e < ledger->n_events; e++) {
        check_liquid(ledger, e, entries, &faults);
        check_transfer(ledger, e, entries, &faults);
        stv__ledger_apply(&ledger->events[e], entries);
        int is_day_over =
            e + 1 == ledger->n_events || ledger->events[e + 1].day_d != ledger->events[e].day_d;
        for (; is_day_over && day_start <= e; day_start++)
            check_place(ledger, day_start, entries, &faults);
    }
    free(entries);
    *out_n = faults.n;
    return faults.n ? STV_E_CONSISTENCY : STV_OK;
}
