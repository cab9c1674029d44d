/* A gauge is of something: of what the history has in the cask on its day.  One walk over the
 * events notes when each cask may have held liquid, since when that liquid has lain in wood that
 * wine coloured, and when something was put in; every gauge is then held against its own cask's
 * notes. Vague dates are given all their width, so that only what cannot be is refused. */
#include "ingest/gauge_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* A stretch of days of a cask, as wide as its dates may be. */
struct stretch {
    int64_t from_d, to_d; /* to_d INT64_MAX: to this day */
    int64_t wine_from_d;  /* of what lies in it; INT64_MAX: never */
    ptrdiff_t before;     /* the cask's earlier one; -1 for none */
    bool is_addition;     /* something was put in; else liquid lay there */
};

struct notes {
    struct stretch *stretches;
    size_t n;
    ptrdiff_t *last; /* per cask: its latest stretch; -1 for none */
    ptrdiff_t *open; /* per cask: the stretch in which it holds liquid now; -1 for none */
};

static void free_notes(struct notes *notes)
{
    free(notes->stretches);
    free(notes->last);
    free(notes->open);
}

static ptrdiff_t add_stretch(struct notes *notes, int cask_idx, struct stretch stretch)
{
    stretch.before = notes->last[cask_idx];
    notes->stretches[notes->n] = stretch;
    return notes->last[cask_idx] = (ptrdiff_t)notes->n++;
}

static struct stretch stretch_of(const struct stv_event *event, bool is_addition)
{
    int64_t width_d = (int64_t)ceil(event->day_width_d);
    return (struct stretch){.from_d = event->day_d - width_d,
                            .to_d = is_addition ? event->day_d + width_d : INT64_MAX,
                            .wine_from_d = INT64_MAX,
                            .is_addition = is_addition};
}

/* Something comes into a cask, which may be empty. */
static void pour_in(struct notes *notes, const struct stv_event *event, int cask_idx, bool is_wine)
{
    if (notes->open[cask_idx] < 0)
        notes->open[cask_idx] = add_stretch(notes, cask_idx, stretch_of(event, false));
    struct stretch *held = &notes->stretches[notes->open[cask_idx]];
    if (is_wine && held->wine_from_d == INT64_MAX)
        held->wine_from_d = stretch_of(event, false).from_d;
    if (event->kind != STV_EVENT_FILL)
        add_stretch(notes, cask_idx, stretch_of(event, true));
}

static void close_cask(struct notes *notes, const struct stv_event *event, int cask_idx)
{
    if (notes->open[cask_idx] >= 0)
        notes->stretches[notes->open[cask_idx]].to_d = stretch_of(event, true).to_d;
    notes->open[cask_idx] = -1;
}

static void note_event(struct notes *notes, const struct stv_event *event, const bool *is_wine_wood)
{
    int from = event->cask_idx, to = event->other_idx;
    switch (event->kind) {
    case STV_EVENT_FILL:
        pour_in(notes, event, from, is_wine_wood[from]);
        break;
    case STV_EVENT_TRANSFER: {
        bool is_wine =
            notes->open[from] >= 0 && notes->stretches[notes->open[from]].wine_from_d != INT64_MAX;
        pour_in(notes, event, to, is_wine || is_wine_wood[to]);
        if (!isfinite(event->volume20_l))
            close_cask(notes, event, from);
        break;
    }
    case STV_EVENT_ADD_WATER:
    case STV_EVENT_TOP_UP:
        pour_in(notes, event, from, false);
        break;
    case STV_EVENT_EMPTY:
        close_cask(notes, event, from);
        break;
    case STV_EVENT_MOVE:
    case STV_EVENT_SAMPLE:
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_REJUVENATE:
    case STV_EVENT_N:
        break;
    }
}

static enum stv_status take_notes(const struct stv__book_reader *reader, struct notes *out)
{
    const struct stv_ledger *ledger = &reader->book->ledger;
    *out = (struct notes){.stretches = malloc((2 * ledger->n_events + 1) * sizeof *out->stretches),
                          .last = malloc((ledger->n_casks + 1) * sizeof *out->last),
                          .open = malloc((ledger->n_casks + 1) * sizeof *out->open)};
    if (!out->stretches || !out->last || !out->open) {
        free_notes(out);
        return STV_E_MEMORY;
    }
    for (size_t i = 0; i < ledger->n_casks; i++)
        out->last[i] = out->open[i] = -1;
    for (size_t i = 0; i < ledger->n_events; i++)
        note_event(out, &ledger->events[i], reader->is_wine_wood);
    return STV_OK;
}

/* One thing that a gauge measured, for finding the same again. */
struct measurement {
    const struct stv_gauge *gauge;
    size_t gauge_idx;
    enum stv__gauge_column column; /* the kind: one column stands for all that measure the same */
    enum stv__gauge_column cell;   /* where it was typed */
};

#define KINDS_MOST 6

/* Everything a gauge measured; the number of them. */
static size_t list_kinds(const struct stv_gauge *gauge, size_t gauge_idx, struct measurement *out)
{
    enum stv__gauge_column litres = stv__gauge_litres_column(gauge);
    bool has_gross = isfinite(gauge->gross_kg);
    bool is_dip = gauge->volume_from == STV_VOLUME_DIP || gauge->volume_from == STV_VOLUME_DRY_DIP;
    const struct {
        bool is_there;
        enum stv__gauge_column column, cell;
    } kinds[KINDS_MOST] = {
        {gauge->volume_from == STV_VOLUME_LITRES, STV__GAUGE_LITRES, litres},
        {is_dip, STV__GAUGE_DIP, litres},
        {isfinite(gauge->abv20_frac), STV__GAUGE_STRENGTH, stv__gauge_strength_column(gauge)},
        {has_gross || isfinite(gauge->liquid_kg), STV__GAUGE_GROSS,
         has_gross ? STV__GAUGE_GROSS : STV__GAUGE_NET},
        {isfinite(gauge->colour_card), STV__GAUGE_COLOUR, STV__GAUGE_COLOUR},
        {gauge->nose != STV_NOSE_NONE || isfinite(gauge->nose_score), STV__GAUGE_NOSE,
         STV__GAUGE_NOSE},
    };
    size_t n = 0;
    for (size_t i = 0; i < KINDS_MOST; i++)
        if (kinds[i].is_there)
            out[n++] = (struct measurement){gauge, gauge_idx, kinds[i].column, kinds[i].cell};
    return n;
}

/* Two people may nose one cask, or hold it to the card, on one day. */
static int compare_kind(const struct measurement *x, const struct measurement *y)
{
    const struct stv_gauge *a = x->gauge, *b = y->gauge;
    if (a->cask_idx != b->cask_idx)
        return a->cask_idx < b->cask_idx ? -1 : 1;
    if (a->day_d != b->day_d)
        return a->day_d < b->day_d ? -1 : 1;
    if (a->day_width_d != b->day_width_d)
        return a->day_width_d < b->day_width_d ? -1 : 1;
    if (x->column != y->column)
        return x->column < y->column ? -1 : 1;
    bool is_sense = x->column == STV__GAUGE_COLOUR || x->column == STV__GAUGE_NOSE;
    return is_sense ? strcmp(a->by, b->by) : 0;
}

static int by_kind_and_row(const void *a, const void *b)
{
    const struct measurement *x = a, *y = b;
    int order = compare_kind(x, y);
    if (order != 0)
        return order;
    return (x->gauge->row > y->gauge->row) - (x->gauge->row < y->gauge->row);
}

/* Where a gauge says again what an earlier line says. */
struct again {
    size_t line; /* 0: nowhere */
    enum stv__gauge_column cell;
};

static enum stv_status find_again(const struct stv_book *book, struct again *out)
{
    struct measurement *list = malloc((KINDS_MOST * book->n_gauges + 1) * sizeof *list);
    size_t n = 0;
    if (!list)
        return STV_E_MEMORY;
    for (size_t i = 0; i < book->n_gauges; i++)
        n += list_kinds(&book->gauges[i], i, list + n);
    qsort(list, n, sizeof *list, by_kind_and_row);
    for (size_t first = 0, i = 1; i < n; i++) {
        if (compare_kind(&list[first], &list[i]) != 0)
            first = i;
        else if (out[list[i].gauge_idx].line == 0)
            out[list[i].gauge_idx] = (struct again){list[first].gauge->row, list[i].cell};
    }
    free(list);
    return STV_OK;
}

/* Marks a gauge by its cask's notes; false when the cask held nothing on any of its days. */
static bool mark(const struct notes *notes, const struct stv_gauge_numbers *numbers,
                 struct stv_gauge *gauge)
{
    int64_t width_d = (int64_t)ceil(gauge->day_width_d);
    int64_t from_d = gauge->day_d - width_d, to_d = gauge->day_d + width_d;
    int64_t unmixed_d = (int64_t)numbers->unmixed_d;
    bool is_held = false;
    for (ptrdiff_t i = notes->last[gauge->cask_idx]; i >= 0; i = notes->stretches[i].before) {
        const struct stretch *at = &notes->stretches[i];
        if (at->is_addition) {
            gauge->may_not_be_mixed |= to_d >= at->from_d && from_d - at->to_d <= unmixed_d;
        } else if (to_d >= at->from_d && from_d <= at->to_d) {
            is_held = true;
            gauge->is_colour_of_other_liquid |=
                isfinite(gauge->colour_card) && to_d >= at->wine_from_d;
        }
    }
    return is_held;
}

static bool refuse_empty(struct stv_table *table, bool was_ever_filled)
{
    stv_table_refuse(table, STV__GAUGE_CASK, "%s",
                     was_ever_filled ? "held nothing on this day by history.csv: look at the date, "
                                       "the cask, or for a missing fill"
                                     : "was never filled: write its fill in history.csv first");
    return false;
}

static bool may_stay(struct stv__book_reader *reader, const struct notes *notes,
                     const struct again *again, struct stv_gauge *gauge)
{
    struct stv_table *table = &reader->gauges;
    stv_table_go_to(table, gauge->row);
    if ((double)gauge->day_d + gauge->day_width_d >=
        (double)reader->breaks[gauge->cask_idx].day_d) {
        reader->n_hanging++;
        return false;
    }
    if (!mark(notes, &reader->book->gauge_numbers, gauge))
        return refuse_empty(table, notes->last[gauge->cask_idx] >= 0);
    if (again->line == 0)
        return true;
    stv_table_refuse(table, again->cell,
                     "this cask was measured so on this day in line %zu already: keep one of the "
                     "two, or look at date and cask",
                     again->line);
    return false;
}

enum stv_status stv__gauge_days(struct stv__book_reader *reader)
{
    struct stv_book *book = reader->book;
    struct notes notes;
    size_t n_kept = 0;
    if (!reader->has_gauges || book->n_gauges == 0)
        return STV_OK;
    struct again *again = calloc(book->n_gauges, sizeof *again);
    if (!again)
        return STV_E_MEMORY;
    enum stv_status status = find_again(book, again);
    if (status == STV_OK && (status = take_notes(reader, &notes)) == STV_OK) {
        for (size_t i = 0; i < book->n_gauges; i++)
            if (may_stay(reader, &notes, &again[i], &book->gauges[i]))
                book->gauges[n_kept++] = book->gauges[i];
        book->n_gauges = n_kept;
        free_notes(&notes);
    }
    free(again);
    return status;
}
