/* What was put in and drawn against what a cask may hold by then, reckoned by hand: from the last
 * gauge or fill, at the pace of a usual store.  A row is named only where no pace makes it true;
 * the model's own reckoning is `forecast`'s.  What this does not do: change a figure. */
#include "cli/chain.h"
#include "cli/chain_doubts.h"
#include "cli/forecast.h"

#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define USUAL_CASK_L 200.0 /* whose pace these are; a small cask loses faster */
#define MIXED_FRAC 0.97    /* spirit and water shrink by up to 4 % as they mix; judgement */
#define WATER_KG_PER_L 0.9982

enum pace { PACE_SLOW, PACE_USUAL, PACE_FAST, PACE_N };
/* Shares lost in a year to wood and air.  Source: judgement, a little beyond what trade tells of
 * cold and of hot stores. */
static const double pace_per_y[PACE_N] = {0.01, 0.04, 0.10};

/* What a cask holds at each pace; litres NaN where nothing is known. */
struct held {
    double litres[PACE_N];
    int64_t day_d;
};

struct gauged {
    int64_t day_d;
    int cask_idx;
    double litres;
};

static void set_held(struct held *held, double litres, int64_t day_d)
{
    *held = (struct held){{litres, litres, litres}, day_d};
}

static void let_go(const struct stv_cask *cask, struct held *held, int64_t day_d)
{
    double years_y = (double)(day_d - held->day_d) / STV_YEAR_D;
    double faster = fmax(1.0, cbrt(USUAL_CASK_L / cask->geometry.capacity_l));
    for (int p = 0; p < PACE_N && years_y > 0.0; p++)
        held->litres[p] *= exp(-pace_per_y[p] * faster * years_y);
    held->day_d = day_d;
}

static void draw(struct stv_chain *chain, const struct stv_event *event, struct held *held)
{
    if (event->volume20_l > held->litres[PACE_SLOW]) {
        stv_problem_add(
            &chain->problems, STV_NOTED, "history.csv", event->row, 0,
            chain->book.ledger.casks[event->cask_idx].id,
            "takes %.1f L where about %.0f L are left: is it another cask, or fewer litres? The "
            "answers take all there is",
            event->volume20_l, held->litres[PACE_USUAL]);
        chain->needs_attention = true;
    }
    for (int p = 0; p < PACE_N; p++)
        held->litres[p] = fmax(0.0, held->litres[p] - event->volume20_l);
}

static void pour(struct stv_chain *chain, const struct stv_event *event, int cask_idx,
                 const double added_l[PACE_N], struct held *held)
{
    double capacity_l = chain->book.ledger.casks[cask_idx].geometry.capacity_l;
    for (int p = 0; p < PACE_N; p++)
        held->litres[p] += added_l[p];
    if (MIXED_FRAC * held->litres[PACE_FAST] > STV_OVERFULL_FRAC * capacity_l) {
        stv_problem_add(
            &chain->problems, STV_NOTED, "history.csv", event->row, 0,
            chain->book.ledger.casks[cask_idx].id,
            "would make about %.0f L in a cask of %.0f L: is it another cask, or less? The "
            "answers reckon with the row as it stands",
            MIXED_FRAC * held->litres[PACE_USUAL], capacity_l);
        chain->needs_attention = true;
    }
}

static void move_over(struct stv_chain *chain, const struct stv_event *event, struct held *held)
{
    struct held *from = &held[event->cask_idx], *to = &held[event->other_idx];
    bool is_whole = !isfinite(event->volume20_l);
    double added_l[PACE_N];
    for (int p = 0; p < PACE_N; p++)
        added_l[p] = is_whole ? from->litres[p] : event->volume20_l;
    if (!isfinite(to->litres[0]))
        set_held(to, 0.0, event->day_d);
    if (is_whole)
        set_held(from, NAN, event->day_d);
    else
        draw(chain, event, from);
    pour(chain, event, event->other_idx, added_l, to);
}

static void apply(struct stv_chain *chain, const struct stv_event *event, struct held *held)
{
    struct held *own = &held[event->cask_idx];
    double water_l = event->water_kg / WATER_KG_PER_L;
    switch (event->kind) {
    case STV_EVENT_FILL:
        set_held(own, event->volume20_l, event->day_d);
        break;
    case STV_EVENT_EMPTY:
        set_held(own, NAN, event->day_d);
        break;
    case STV_EVENT_SAMPLE:
        draw(chain, event, own);
        break;
    case STV_EVENT_ADD_WATER:
        pour(chain, event, event->cask_idx, (double[PACE_N]){water_l, water_l, water_l}, own);
        break;
    case STV_EVENT_TOP_UP:
        pour(chain, event, event->cask_idx,
             (double[PACE_N]){event->volume20_l, event->volume20_l, event->volume20_l}, own);
        break;
    case STV_EVENT_TRANSFER:
        move_over(chain, event, held);
        break;
    case STV_EVENT_MOVE:
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_REJUVENATE:
    case STV_EVENT_N:
        break;
    }
}

static int by_day(const void *a, const void *b)
{
    const struct gauged *x = a, *y = b;
    return (x->day_d > y->day_d) - (x->day_d < y->day_d);
}

/* Litres that were gauged, in the order of their days.  A gauge of an event's own day may lie on
 * either side of it and waits. */
static size_t list_gauged(const struct stv_book *book, struct gauged *out)
{
    size_t n = 0;
    for (size_t i = 0; i < book->n_gauges; i++) {
        const struct stv_gauge *gauge = &book->gauges[i];
        if (isfinite(gauge->volume20_l) && !gauge->is_suspect)
            out[n++] = (struct gauged){gauge->day_d, gauge->cask_idx, gauge->volume20_l};
    }
    qsort(out, n, sizeof *out, by_day);
    return n;
}

/* Casks out of which everything was drawn by now at any pace, though no row empties them. */
static void note_drained(struct stv_chain *chain, const struct held *held)
{
    for (size_t c = 0; c < chain->book.ledger.n_casks; c++)
        chain->is_drained[c] = held[c].litres[PACE_SLOW] <= 0.0;
}

enum stv_status stv__doubt_litres(struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    struct held *held = calloc(ledger->n_casks + 1, sizeof *held);
    struct gauged *gauged = calloc(chain->book.n_gauges + 1, sizeof *gauged);
    chain->is_drained = calloc(ledger->n_casks + 1, sizeof *chain->is_drained);
    enum stv_status status = held && gauged && chain->is_drained ? STV_OK : STV_E_MEMORY;
    bool is_told = false;
    size_t n = status == STV_OK ? list_gauged(&chain->book, gauged) : 0, at = 0;
    for (size_t c = 0; c < ledger->n_casks && status == STV_OK; c++)
        set_held(&held[c], NAN, 0);
    for (size_t e = 0; e < ledger->n_events && status == STV_OK; e++) {
        const struct stv_event *event = &ledger->events[e];
        for (; at < n && gauged[at].day_d < event->day_d; at++)
            set_held(&held[gauged[at].cask_idx], gauged[at].litres, gauged[at].day_d);
        if (!is_told && chain->as_of_day_d != INT64_MIN && event->day_d > chain->as_of_day_d) {
            note_drained(chain, held);
            is_told = true;
        }
        let_go(&ledger->casks[event->cask_idx], &held[event->cask_idx], event->day_d);
        if (event->other_idx >= 0)
            let_go(&ledger->casks[event->other_idx], &held[event->other_idx], event->day_d);
        apply(chain, event, held);
    }
    for (; at < n && !is_told; at++)
        set_held(&held[gauged[at].cask_idx], gauged[at].litres, gauged[at].day_d);
    if (status == STV_OK && !is_told)
        note_drained(chain, held);
    free(held);
    free(gauged);
    return status;
}
