/* Whether the events that could be read can all be true.  First everything goes that hangs on a
 * refused row, so that one slip of the pen is one message; then the ledger's own walk names the
 * contradictions, each at its row. */
#include "ingest/book_parts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define FAULTS_MAX 200

static bool is_broken(const struct stv__book_reader *reader, int cask_idx,
                      const struct stv_event *event)
{
    if (cask_idx < 0)
        return false;
    const struct stv__break *at = &reader->breaks[cask_idx];
    return event->day_d > at->day_d || (event->day_d == at->day_d && event->row > at->row);
}

static void break_at(struct stv__book_reader *reader, int cask_idx, const struct stv_event *event)
{
    if (cask_idx >= 0 && !is_broken(reader, cask_idx, event))
        reader->breaks[cask_idx] =
            (struct stv__break){event->day_d, event->row, cask_idx != event->cask_idx};
}

/* Drops events of broken casks, in order; what flows between two casks breaks both. */
static void drop_hanging(struct stv__book_reader *reader)
{
    struct stv_ledger *ledger = &reader->book->ledger;
    size_t n_kept = 0;
    for (size_t i = 0; i < ledger->n_events; i++) {
        const struct stv_event *event = &ledger->events[i];
        if (is_broken(reader, event->cask_idx, event) ||
            is_broken(reader, event->other_idx, event)) {
            break_at(reader, event->cask_idx, event);
            break_at(reader, event->other_idx, event);
            reader->n_hanging++;
        } else {
            ledger->events[n_kept++] = *event;
        }
    }
    ledger->n_events = n_kept;
}

/* The table that an event was read from. */
static struct stv_table *table_of(struct stv__book_reader *reader, const struct stv_event *event)
{
    struct stv_table *table = event->row ? &reader->history : &reader->casks;
    size_t line = event->row ? event->row : reader->book->ledger.casks[event->cask_idx].row;
    stv_table_go_to(table, line);
    return table;
}

/* True when a vague date of the same cask may put two of its events the wrong way round. */
static bool is_order_open(const struct stv_ledger *ledger, const struct stv_event *event)
{
    for (size_t i = 0; i < ledger->n_events; i++) {
        const struct stv_event *other = &ledger->events[i];
        bool is_same = other->cask_idx == event->cask_idx || other->other_idx == event->cask_idx;
        double apart_d = fabs((double)(other->day_d - event->day_d));
        double width_d = other->day_width_d + event->day_width_d;
        if (other != event && is_same && width_d > 0.0 && apart_d <= width_d)
            return true;
    }
    return false;
}

static void report_fault(struct stv__book_reader *reader, const struct stv_ledger_fault *fault)
{
    const struct stv_event *event = &reader->book->ledger.events[fault->event_idx];
    struct stv_table *table = table_of(reader, event);
    stv_table_refuse(table, stv_table_column(table, "cask"), "%s%s", fault->why,
                     reader->has_vague_day && is_order_open(&reader->book->ledger, event)
                         ? "; one of its rows about this time has no exact day: write it out"
                         : "");
}

/* Leaves out the events at fault; a fill, transfer or emptying takes the cask's later rows too. */
static void drop_faulty(struct stv__book_reader *reader, const struct stv_ledger_fault *faults,
                        size_t n)
{
    struct stv_ledger *ledger = &reader->book->ledger;
    for (size_t i = 0; i < n; i++) {
        struct stv_event *event = &ledger->events[faults[i].event_idx];
        if (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_TRANSFER ||
            event->kind == STV_EVENT_EMPTY) {
            break_at(reader, event->cask_idx, event);
            break_at(reader, event->other_idx, event);
        }
        event->kind = STV_EVENT_N; /* marked, dropped below */
    }
    size_t n_kept = 0;
    for (size_t i = 0; i < ledger->n_events; i++)
        if (ledger->events[i].kind != STV_EVENT_N)
            ledger->events[n_kept++] = ledger->events[i];
    ledger->n_events = n_kept;
    drop_hanging(reader);
}

enum stv_status stv__book_check_ledger(struct stv__book_reader *reader, bool *out_is_contradiction)
{
    struct stv_ledger *ledger = &reader->book->ledger;
    struct stv_ledger_fault *faults = malloc(FAULTS_MAX * sizeof *faults);
    size_t n = 0;
    *out_is_contradiction = false;
    if (!faults)
        return STV_E_MEMORY;
    enum stv_status status = stv_ledger_sort(ledger);
    drop_hanging(reader);
    if (status == STV_OK)
        status = stv_ledger_check(ledger, faults, FAULTS_MAX, &n);
    /* Each turn drops an event at least, so this ends. */
    while (status == STV_E_CONSISTENCY && n > 0) {
        size_t n_listed = n < FAULTS_MAX ? n : FAULTS_MAX;
        *out_is_contradiction = true;
        for (size_t i = 0; i < n_listed; i++) /* one message for a row is enough */
            if (i == 0 || faults[i].event_idx != faults[i - 1].event_idx)
                report_fault(reader, &faults[i]);
        drop_faulty(reader, faults, n_listed);
        status = stv_ledger_check(ledger, faults, FAULTS_MAX, &n);
    }
    free(faults);
    return status;
}
