/* Contradictions of the ledger: what cannot be true whatever the air took. */
#include "model/calendar.h"
#include "model/ledger.h"
#include "model/ledger_walk.h"

#include <math.h>
#include <stdarg.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>

/* Ethanol and water shrink by less than this when they mix.  Source: OIML R 22, largest near
 * 55 %vol, from memory. */
#define MIXED_LEAST_FRAC 0.96

/* Litres that a cask surely holds, because they went in on the day at hand. */
struct sure {
    int64_t day_d;
    double volume20_l;
    int n_pours;
};

/* Full casks by the place they lie in: chains through next and before, one for each bucket. */
struct places {
    int *heads, *next, *before;
    int *bucket; /* of a cask; -1 when it is in none */
    size_t n_heads;
};

struct checker {
    const struct stv_ledger *ledger;
    struct stv__cask_entry *entries;
    struct sure *sure;
    int64_t *first_day_d; /* of a fill or transfer into a cask; INT64_MAX never */
    bool *is_unsure; /* a transfer out of an empty cask went in: whether it is full, who knows */
    struct places places;
    struct stv_ledger_fault *faults;
    size_t max, n_faults;
};

__attribute__((format(printf, 3, 4))) static void
add_fault(struct checker *checker, size_t event_idx, const char *format, ...)
{
    if (checker->n_faults < checker->max) {
        struct stv_ledger_fault *fault = &checker->faults[checker->n_faults];
        fault->event_idx = event_idx;
        va_list args;
        va_start(args, format);
        vsnprintf(fault->why, sizeof fault->why, format, args);
        va_end(args);
    }
    checker->n_faults++;
}

/* --- two casks in one place --------------------------------------------------------------- */

static int is_exact(const struct stv_place *place)
{
    return place->warehouse_idx >= 0 && place->tier_idx >= 0 && place->bay_idx >= 0;
}

static int same_place(const struct stv_place *a, const struct stv_place *b)
{
    return is_exact(a) && a->warehouse_idx == b->warehouse_idx && a->tier_idx == b->tier_idx &&
           a->bay_idx == b->bay_idx && a->depth_idx == b->depth_idx;
}

static size_t bucket_of(const struct places *places, const struct stv_place *place)
{
    size_t hash = (size_t)place->warehouse_idx;
    hash = hash * 31 + (size_t)place->tier_idx;
    hash = hash * 1009 + (size_t)place->bay_idx;
    hash = hash * 31 + (size_t)(place->depth_idx + 1);
    return (hash * 2654435761u >> 7) & (places->n_heads - 1);
}

/* Puts a cask where it lies after an event, or nowhere. */
static void settle(struct checker *checker, int cask_idx)
{
    struct places *places = &checker->places;
    const struct stv__cask_entry *entry = &checker->entries[cask_idx];
    if (places->bucket[cask_idx] >= 0) {
        int before = places->before[cask_idx], next = places->next[cask_idx];
        *(before < 0 ? &places->heads[places->bucket[cask_idx]] : &places->next[before]) = next;
        if (next >= 0)
            places->before[next] = before;
        places->bucket[cask_idx] = -1;
    }
    if (!entry->is_full || !is_exact(&entry->place))
        return;
    int *head = &places->heads[bucket_of(places, &entry->place)];
    places->bucket[cask_idx] = (int)(head - places->heads);
    places->before[cask_idx] = -1;
    places->next[cask_idx] = *head;
    if (*head >= 0)
        places->before[*head] = cask_idx;
    *head = cask_idx;
}

/* The cask that an event puts somewhere must have the place to itself when the day is over; within
 * a day casks may exchange places. */
static void check_place(struct checker *checker, size_t event_idx)
{
    const struct stv_event *event = &checker->ledger->events[event_idx];
    int mover = event->kind == STV_EVENT_TRANSFER ? event->other_idx : event->cask_idx;
    if (event->place.warehouse_idx < 0 || checker->places.bucket[mover] < 0 ||
        !same_place(&checker->entries[mover].place, &event->place))
        return;
    for (int c = checker->places.heads[checker->places.bucket[mover]]; c >= 0;
         c = checker->places.next[c])
        if (c != mover && same_place(&checker->entries[c].place, &event->place))
            add_fault(checker, event_idx, "cask %s lies there already; two casks in one place",
                      checker->ledger->casks[c].id);
}

/* --- liquids ------------------------------------------------------------------------------ */

/* ", never filled", ", first filled on 2024-05-01", or nothing. */
static void say_first_fill(const struct checker *checker, const struct stv_event *event,
                           char buffer[48])
{
    int64_t first_d = checker->first_day_d[event->cask_idx];
    buffer[0] = '\0';
    if (first_d == INT64_MAX) {
        snprintf(buffer, 48, ", never filled in this book");
    } else if (first_d > event->day_d) {
        struct stv_date date = stv_date_from_day(first_d);
        snprintf(buffer, 48, ", first filled on %d-%02d-%02d", date.year, date.month, date.day);
    }
}

static const char *verb_of(const struct stv_event *event)
{
    return event->is_marriage ? STV_MARRIAGE_NAME : stv_event_kind_name(event->kind);
}

/* More is taken than the cask ever held. */
static int takes_too_much(const struct checker *checker, const struct stv_event *event)
{
    const struct stv__cask_entry *entry = &checker->entries[event->cask_idx];
    return entry->is_full && event->volume20_l > entry->volume20_l &&
           (event->kind == STV_EVENT_TRANSFER || event->kind == STV_EVENT_SAMPLE);
}

static void check_source(struct checker *checker, size_t event_idx)
{
    const struct stv_event *event = &checker->ledger->events[event_idx];
    const struct stv__cask_entry *entry = &checker->entries[event->cask_idx];
    const char *id = checker->ledger->casks[event->cask_idx].id;
    if (event->kind == STV_EVENT_REJUVENATE && entry->is_full &&
        !checker->is_unsure[event->cask_idx])
        add_fault(checker, event_idx,
                  "cask %s is full on that day: wood is made new in an empty cask; write its "
                  "emptying first, or leave this row out",
                  id);
    if (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_REJUVENATE)
        return;
    if (event->kind == STV_EVENT_MOVE) {
        if (checker->first_day_d[event->cask_idx] == INT64_MAX)
            add_fault(checker, event_idx,
                      "cask %s is never filled: write its fill, or leave the move out", id);
        return;
    }
    char first_fill[48];
    say_first_fill(checker, event, first_fill);
    if (!entry->is_full && !checker->is_unsure[event->cask_idx])
        add_fault(checker, event_idx, "cask %s is empty on that day%s; nothing to %s", id,
                  first_fill, verb_of(event));
    else if (takes_too_much(checker, event))
        add_fault(checker, event_idx, "cask %s never held %.4g L", id, event->volume20_l);
}

static void check_amounts(struct checker *checker, size_t event_idx)
{
    const struct stv_event *event = &checker->ledger->events[event_idx];
    int into = event->kind == STV_EVENT_TRANSFER ? event->other_idx : event->cask_idx;
    const struct stv_cask *cask = &checker->ledger->casks[into];
    double capacity_l = cask->geometry.capacity_l;
    int pours = event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_TOP_UP ||
                event->kind == STV_EVENT_TRANSFER;
    if (event->kind == STV_EVENT_FILL && checker->entries[into].is_full &&
        !checker->is_unsure[into])
        add_fault(checker, event_idx, "cask %s is already full; empty or transfer it first",
                  cask->id);
    if (pours && event->volume20_l > capacity_l)
        add_fault(checker, event_idx, "%.4g L do not go into cask %s of %.4g L", event->volume20_l,
                  cask->id, capacity_l);
    if (event->kind == STV_EVENT_ADD_WATER && event->water_kg > capacity_l)
        add_fault(checker, event_idx, "%.4g kg of water do not go into cask %s of %.4g L",
                  event->water_kg, cask->id, capacity_l);
}

static void check_transfer(struct checker *checker, size_t event_idx)
{
    const struct stv_event *event = &checker->ledger->events[event_idx];
    if (event->kind != STV_EVENT_TRANSFER)
        return;
    const char *id = checker->ledger->casks[event->other_idx].id;
    int is_other_full = checker->entries[event->other_idx].is_full;
    if (event->other_idx == event->cask_idx)
        add_fault(checker, event_idx, "cask %s cannot be transferred into itself", id);
    else if (checker->is_unsure[event->other_idx])
        return;
    else if (event->is_marriage && !is_other_full)
        add_fault(checker, event_idx,
                  "cask %s is empty on that day: a transfer fills it, there is nothing to %s with",
                  id, STV_MARRIAGE_NAME);
    else if (is_other_full && !event->is_marriage && !isfinite(event->volume20_l))
        add_fault(checker, event_idx,
                  "cask %s is already full; say how many litres go in, write %s if all of it "
                  "does, or empty it first",
                  id, STV_MARRIAGE_NAME);
}

/* --- what went in on one day -------------------------------------------------------------- */

static double sure_l(const struct checker *checker, int cask_idx, int64_t day_d)
{
    const struct sure *sure = &checker->sure[cask_idx];
    return sure->day_d == day_d ? fmax(0.0, sure->volume20_l) : 0.0;
}

static void take_sure(struct checker *checker, int cask_idx, int64_t day_d, double volume20_l)
{
    if (checker->sure[cask_idx].day_d == day_d)
        checker->sure[cask_idx].volume20_l = sure_l(checker, cask_idx, day_d) - volume20_l;
}

static void pour_sure(struct checker *checker, size_t event_idx, int cask_idx, double volume20_l)
{
    int64_t day_d = checker->ledger->events[event_idx].day_d;
    struct sure *sure = &checker->sure[cask_idx];
    const struct stv_cask *cask = &checker->ledger->casks[cask_idx];
    double before_l = sure_l(checker, cask_idx, day_d);
    if (sure->day_d != day_d)
        *sure = (struct sure){.day_d = day_d};
    sure->volume20_l = before_l + volume20_l;
    if (sure->n_pours++ > 0 && MIXED_LEAST_FRAC * sure->volume20_l > cask->geometry.capacity_l)
        add_fault(checker, event_idx,
                  "%.4g L went into cask %s that day before; %.4g L more do not go into its %.4g L",
                  before_l, cask->id, volume20_l, cask->geometry.capacity_l);
}

/* What was done about this day may have been done on it or not, and leaves nothing sure. */
static void check_day(struct checker *checker, size_t event_idx)
{
    const struct stv_event *event = &checker->ledger->events[event_idx];
    double volume20_l = event->volume20_l;
    if (event->day_width_d > 0.0) {
        take_sure(checker, event->cask_idx, event->day_d, INFINITY);
        return;
    }
    switch (event->kind) {
    case STV_EVENT_FILL:
    case STV_EVENT_TOP_UP:
        pour_sure(checker, event_idx, event->cask_idx, volume20_l);
        break;
    case STV_EVENT_ADD_WATER:
        pour_sure(checker, event_idx, event->cask_idx, event->water_kg);
        break;
    case STV_EVENT_TRANSFER:
        if (!isfinite(volume20_l))
            volume20_l = sure_l(checker, event->cask_idx, event->day_d);
        take_sure(checker, event->cask_idx, event->day_d, volume20_l);
        pour_sure(checker, event_idx, event->other_idx, volume20_l);
        break;
    case STV_EVENT_SAMPLE:
        take_sure(checker, event->cask_idx, event->day_d, volume20_l);
        break;
    case STV_EVENT_EMPTY:
        take_sure(checker, event->cask_idx, event->day_d, INFINITY);
        break;
    case STV_EVENT_MOVE:
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_REJUVENATE:
    case STV_EVENT_N:
        break;
    }
}

/* ------------------------------------------------------------------------------------------- */

static void free_checker(struct checker *checker)
{
    free(checker->entries);
    free(checker->sure);
    free(checker->first_day_d);
    free(checker->is_unsure);
    free(checker->places.heads);
    free(checker->places.next);
    free(checker->places.before);
    free(checker->places.bucket);
}

static int make_checker(struct checker *checker)
{
    const struct stv_ledger *ledger = checker->ledger;
    size_t n = ledger->n_casks;
    struct places *places = &checker->places;
    for (places->n_heads = 16; places->n_heads < 2 * n;)
        places->n_heads *= 2;
    checker->entries = stv__cask_entries_new(ledger);
    checker->sure = malloc((n + 1) * sizeof *checker->sure);
    checker->first_day_d = malloc((n + 1) * sizeof *checker->first_day_d);
    checker->is_unsure = calloc(n + 1, sizeof *checker->is_unsure);
    places->heads = malloc(places->n_heads * sizeof *places->heads);
    places->next = malloc((n + 1) * sizeof *places->next);
    places->before = malloc((n + 1) * sizeof *places->before);
    places->bucket = malloc((n + 1) * sizeof *places->bucket);
    if (!checker->entries || !checker->sure || !checker->first_day_d || !checker->is_unsure ||
        !places->heads || !places->next || !places->before || !places->bucket)
        return 0;
    for (size_t b = 0; b < places->n_heads; b++)
        places->heads[b] = -1;
    for (size_t c = 0; c < n; c++) {
        checker->sure[c] = (struct sure){.day_d = INT64_MIN};
        checker->first_day_d[c] = INT64_MAX;
        places->bucket[c] = -1;
    }
    for (size_t e = ledger->n_events; e-- > 0;) {
        const struct stv_event *event = &ledger->events[e];
        if (event->kind == STV_EVENT_FILL)
            checker->first_day_d[event->cask_idx] = event->day_d;
        else if (event->kind == STV_EVENT_TRANSFER)
            checker->first_day_d[event->other_idx] = event->day_d;
    }
    return 1;
}

/* What a fill or an emptying makes sure, and a transfer of nothing unsure; before it is applied. */
static void doubt(struct checker *checker, const struct stv_event *event)
{
    bool is_whole = event->kind == STV_EVENT_TRANSFER && !isfinite(event->volume20_l);
    if (event->kind == STV_EVENT_TRANSFER && !checker->entries[event->cask_idx].is_full)
        checker->is_unsure[event->other_idx] = true;
    if (event->kind == STV_EVENT_FILL || event->kind == STV_EVENT_EMPTY || is_whole)
        checker->is_unsure[event->cask_idx] = false;
}

static void check_event(struct checker *checker, size_t event_idx)
{
    const struct stv_event *event = &checker->ledger->events[event_idx];
    size_t n_before = checker->n_faults;
    int is_impossible = takes_too_much(checker, event);
    double held_l = checker->entries[event->cask_idx].volume20_l;
    check_source(checker, event_idx);
    check_amounts(checker, event_idx);
    check_transfer(checker, event_idx);
    if (checker->n_faults == n_before)
        check_day(checker, event_idx);
    doubt(checker, event);
    stv__ledger_apply(event, checker->entries);
    if (is_impossible) /* said once: what was taken in truth is not known */
        checker->entries[event->cask_idx].volume20_l = held_l;
    settle(checker, event->cask_idx);
    if (event->kind == STV_EVENT_TRANSFER)
        settle(checker, event->other_idx);
}

enum stv_status stv_ledger_check(const struct stv_ledger *ledger,
                                 struct stv_ledger_fault *out_faults, size_t max, size_t *out_n)
{
    struct checker checker = {.ledger = ledger, .faults = out_faults, .max = max};
    enum stv_status status = make_checker(&checker) ? STV_OK : STV_E_MEMORY;
    size_t day_start = 0;
    for (size_t e = 0; e < ledger->n_events && status == STV_OK; e++) {
        check_event(&checker, e);
        int is_day_over =
            e + 1 == ledger->n_events || ledger->events[e + 1].day_d != ledger->events[e].day_d;
        for (; is_day_over && day_start <= e; day_start++)
            check_place(&checker, day_start);
    }
    free_checker(&checker);
    *out_n = checker.n_faults;
    if (status == STV_OK && checker.n_faults > 0)
        status = STV_E_CONSISTENCY;
    return status;
}
