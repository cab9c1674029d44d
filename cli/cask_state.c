/* Volumes are not followed here: whether a cask is full is a matter of what was done with it, not
 * of how much is left. */
#include "cli/cask_state.h"

#include "model/cask_learning.h"
#include "model/leak_walk.h"

#include <math.h>
#include <string.h>

int stv_fill_event(const struct stv_chain *chain, int cask_idx)
{
    struct stv_spirit_history spirit = stv_lineage_spirit(chain->lineage, cask_idx);
    return spirit.is_there ? (int)spirit.begin_idx : -1;
}

/* Events lie in the order of their days: the first of those that are still to come. */
static size_t first_later(const struct stv_chain *chain)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    size_t e = ledger->n_events;
    while (e > 0 && ledger->events[e - 1].day_d > chain->as_of_day_d)
        e--;
    return e;
}

typedef bool event_test(const struct stv_event *event, int cask_idx);

static bool empties(const struct stv_event *event, int cask_idx)
{
    bool is_whole = event->kind == STV_EVENT_EMPTY ||
                    (event->kind == STV_EVENT_TRANSFER && !isfinite(event->volume20_l));
    return event->cask_idx == cask_idx && is_whole;
}

static bool leaves(const struct stv_event *event, int cask_idx)
{
    bool is_away = event->kind == STV_EVENT_EMPTY || event->kind == STV_EVENT_MOVE ||
                   event->kind == STV_EVENT_TRANSFER;
    return event->cask_idx == cask_idx && is_away;
}

static bool fills(const struct stv_event *event, int cask_idx)
{
    return (event->kind == STV_EVENT_FILL && event->cask_idx == cask_idx) ||
           (event->kind == STV_EVENT_TRANSFER && event->other_idx == cask_idx);
}

static int first_planned(const struct stv_chain *chain, int cask_idx, event_test *is_it)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = first_later(chain); e < ledger->n_events; e++)
        if (is_it(&ledger->events[e], cask_idx))
            return (int)e;
    return -1;
}

int stv_planned_end(const struct stv_chain *chain, int cask_idx)
{
    return first_planned(chain, cask_idx, empties);
}

int stv_planned_leave(const struct stv_chain *chain, int cask_idx)
{
    return first_planned(chain, cask_idx, leaves);
}

int stv_planned_fill(const struct stv_chain *chain, int cask_idx)
{
    return first_planned(chain, cask_idx, fills);
}

int stv_planned_into(const struct stv_chain *chain, const struct stv_place *place, int cask_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    for (size_t e = first_later(chain); e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        int put_idx = event->kind == STV_EVENT_TRANSFER ? event->other_idx : event->cask_idx;
        if (put_idx != cask_idx && memcmp(&event->place, place, sizeof *place) == 0)
            return (int)e;
    }
    return -1;
}

bool stv_is_cask_cut(const struct stv_chain *chain, int cask_idx)
{
    return chain->book.cut_from_d && chain->book.cut_from_d[cask_idx] != INT64_MAX;
}

void stv_count_casks(const struct stv_chain *chain, size_t *out_full, size_t *out_empty)
{
    *out_full = *out_empty = 0;
    for (int i = 0; i < (int)chain->book.ledger.n_casks; i++) {
        bool is_full = stv_fill_event(chain, i) >= 0;
        *out_full += is_full;
        *out_empty += !is_full && !stv_is_cask_cut(chain, i);
    }
}

static int64_t fill_day(const struct stv_chain *chain, int cask_idx)
{
    int event_idx = stv_fill_event(chain, cask_idx);
    return event_idx < 0 ? INT64_MAX : chain->book.ledger.events[event_idx].day_d;
}

/* Latest gauge of the present fill that has litres or a strength, or that has a nosing. */
static int last_of(const struct stv_chain *chain, int cask_idx, bool wants_nose)
{
    int64_t from_day_d = fill_day(chain, cask_idx);
    const struct stv_gauge *gauges = chain->book.gauges;
    int found = -1;
    for (size_t i = 0; i < chain->book.n_gauges; i++) {
        bool is_nosed = gauges[i].nose != STV_NOSE_NONE || isfinite(gauges[i].nose_score);
        bool is_gauged = isfinite(gauges[i].volume20_l) || isfinite(gauges[i].abv20_frac);
        bool is_wanted = wants_nose ? is_nosed : is_gauged;
        bool is_in_span = gauges[i].day_d >= from_day_d && gauges[i].day_d <= chain->as_of_day_d;
        if (is_wanted && is_in_span && !gauges[i].is_suspect && gauges[i].cask_idx == cask_idx &&
            (found < 0 || gauges[i].day_d >= gauges[found].day_d))
            found = (int)i;
    }
    return found;
}

int stv_last_gauge(const struct stv_chain *chain, int cask_idx)
{
    return last_of(chain, cask_idx, false);
}

int stv_last_nose(const struct stv_chain *chain, int cask_idx)
{
    return last_of(chain, cask_idx, true);
}

double stv_leak_frac(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_ledger *ledger = &chain->book.ledger;
    const struct stv_posterior_cask *entry =
        stv_posterior_find(&chain->learned_casks.posterior, stv_key_of(ledger->casks[cask_idx].id));
    bool is_open = entry && stv_leak_stopped_day(ledger, cask_idx,
                                                 stv_posterior_leak_since_day(&entry->leak)) >
                                chain->as_of_day_d;
    return is_open ? entry->leak.chance_frac : (double)NAN;
}

bool stv_may_leak(const struct stv_chain *chain, int cask_idx)
{
    return stv_leak_frac(chain, cask_idx) >= STV_WALK_LEARNED_FRAC;
}

bool stv_is_gauge_doubted(const struct stv_chain *chain, int cask_idx)
{
    const struct stv_learned_casks *learned = &chain->learned_casks;
    int last_idx = stv_last_gauge(chain, cask_idx);
    for (size_t v = 0; last_idx >= 0 && v < learned->n_verdicts; v++) {
        const struct stv_learned_verdict *verdict = &learned->verdicts[v];
        if (verdict->cask_idx == cask_idx && verdict->day_d == chain->book.gauges[last_idx].day_d &&
            (verdict->agrees || verdict->misread_frac > STV_LIKELIER_FRAC))
            return true;
    }
    return false;
}
