/* The walk: each event moves alcohol and added water, as written, between the casks' holdings, and
 * makes a node of the graph of liquids where something is poured in.  Composition is left to
 * lineage_parts.c, which follows the graph back on demand. */
#include "model/lineage.h"

#include "model/calendar.h"
#include "model/lineage_walk.h"

#include <math.h>
#include <stdlib.h>

#define FEBRUARY 2
#define LEAP_DAY 29

static int64_t anniversary(struct stv_date born, int32_t year)
{
    if (born.month == FEBRUARY && born.day == LEAP_DAY && !stv_year_is_leap(year))
        return stv_day_from_date((struct stv_date){year, FEBRUARY + 1, 1});
    return stv_day_from_date((struct stv_date){year, born.month, born.day});
}

struct stv_age stv_age_between(int64_t since_day_d, int64_t until_day_d)
{
    if (until_day_d <= since_day_d)
        return (struct stv_age){0, 0};
    struct stv_date born = stv_date_from_day(since_day_d);
    int32_t year = stv_date_from_day(until_day_d).year;
    if (anniversary(born, year) > until_day_d)
        year--;
    return (struct stv_age){year - born.year, (int)(until_day_d - anniversary(born, year))};
}

int64_t stv_day_span_middle(struct stv_day_span span)
{
    return span.from_day_d + (span.to_day_d - span.from_day_d) / 2;
}

int64_t stv_day_span_width_d(struct stv_day_span span)
{
    return span.to_day_d - stv_day_span_middle(span);
}

struct stv_day_span stv__event_born(const struct stv_event *event)
{
    int64_t day_d = event->day_d - event->age_d;
    int64_t width_d = (int64_t)ceil(event->age_d > 0 ? event->age_width_d : event->day_width_d);
    return (struct stv_day_span){day_d - width_d, day_d + width_d};
}

/* The younger of two: its day lies between the later of the first and the later of the last. */
static struct stv_day_span younger(struct stv_day_span a, struct stv_day_span b)
{
    return (struct stv_day_span){a.from_day_d > b.from_day_d ? a.from_day_d : b.from_day_d,
                                 a.to_day_d > b.to_day_d ? a.to_day_d : b.to_day_d};
}

static void open_use(struct stv_lineage *lineage, int cask_idx, size_t event_idx)
{
    struct stv__holding *holding = &lineage->holdings[cask_idx];
    struct stv__use *use = &lineage->uses[lineage->n_uses];
    *use = (struct stv__use){
        .cask_idx = cask_idx,
        .use_idx = holding->use < 0 ? 0 : lineage->uses[holding->use].use_idx + 1,
        .before = holding->use,
        .event_idx = event_idx,
        .from_day_d = lineage->ledger.events[event_idx].day_d,
        .to_day_d = INT64_MAX,
    };
    holding->use = lineage->n_uses++;
}

static void close_use(struct stv_lineage *lineage, int cask_idx, int64_t day_d)
{
    struct stv__holding *holding = &lineage->holdings[cask_idx];
    if (holding->node < 0)
        return;
    lineage->uses[holding->use].to_day_d = day_d;
    holding->node = -1;
    holding->spirit = (struct stv_spirit_history){0};
}

/* The liquid that a cask holds from an event on. */
static void set_liquid(struct stv_lineage *lineage, int cask_idx, int other, double older_frac,
                       size_t event_idx)
{
    struct stv__holding *holding = &lineage->holdings[cask_idx];
    lineage->liquids[lineage->n_liquids] =
        (struct stv__liquid){holding->use, holding->node, other, older_frac, event_idx};
    holding->node = lineage->n_liquids++;
    lineage->uses[holding->use].last_node = holding->node;
}

/* The part of a holding that flows off with some of its litres; the rest stays. */
static struct stv_spirit_history take(struct stv_spirit_history *from, double part_frac)
{
    struct stv_spirit_history taken = *from;
    taken.lpa_l *= part_frac;
    from->lpa_l -= taken.lpa_l;
    if (from->had_water) { /* none stays none where litres are not known */
        taken.water_kg *= part_frac;
        from->water_kg -= taken.water_kg;
    }
    return taken;
}

static double least(double a, double b)
{
    return fmin(a, b); /* the other one where one is NaN */
}

static void merge(struct stv_spirit_history *into, const struct stv_spirit_history *poured)
{
    into->had_water |= poured->had_water;
    into->water_kg += poured->water_kg;
    into->lpa_l += poured->lpa_l;
    into->youngest = younger(into->youngest, poured->youngest);
    if (poured->had_top_up)
        into->topping =
            into->had_top_up ? younger(into->topping, poured->topping) : poured->topping;
    into->had_top_up |= poured->had_top_up;
    into->topping_least_abv20_frac =
        least(into->topping_least_abv20_frac, poured->topping_least_abv20_frac);
}

/* Spirit as it comes from outside with an event. */
static struct stv_spirit_history from_outside(const struct stv_event *event)
{
    return (struct stv_spirit_history){.is_there = 1,
                                       .is_single = 1,
                                       .lpa_l = event->volume20_l * event->abv20_frac,
                                       .youngest = stv__event_born(event),
                                       .topping_least_abv20_frac = (double)NAN};
}

static void begin(struct stv_lineage *lineage, int cask_idx, int other, size_t event_idx,
                  struct stv_spirit_history spirit)
{
    close_use(lineage, cask_idx, lineage->ledger.events[event_idx].day_d);
    open_use(lineage, cask_idx, event_idx);
    spirit.use_idx = lineage->uses[lineage->holdings[cask_idx].use].use_idx;
    spirit.begin_idx = event_idx;
    lineage->holdings[cask_idx].spirit = spirit;
    set_liquid(lineage, cask_idx, other, 0.0, event_idx);
}

static void pour_in(struct stv_lineage *lineage, int cask_idx, int other, size_t event_idx,
                    const struct stv_spirit_history *poured)
{
    struct stv_spirit_history *spirit = &lineage->holdings[cask_idx].spirit;
    double older_lpa_l = spirit->lpa_l;
    merge(spirit, poured);
    set_liquid(lineage, cask_idx, other, older_lpa_l / spirit->lpa_l, event_idx);
}

static void apply_transfer(struct stv_lineage *lineage, size_t event_idx)
{
    const struct stv_event *event = &lineage->ledger.events[event_idx];
    struct stv__holding *from = &lineage->holdings[event->cask_idx];
    struct stv__holding *to = &lineage->holdings[event->other_idx];
    if (from == to)
        return; /* named by the ledger's check */
    int node = from->node;
    int is_whole = !isfinite(event->volume20_l);
    double held_l = lineage->entries[event->cask_idx].volume20_l;
    struct stv_spirit_history poured =
        take(&from->spirit, is_whole ? 1.0 : event->volume20_l / held_l);
    if (to->node < 0) {
        begin(lineage, event->other_idx, node, event_idx, poured);
    } else {
        to->spirit.is_single = 0;
        pour_in(lineage, event->other_idx, node, event_idx, &poured);
    }
    if (is_whole)
        close_use(lineage, event->cask_idx, event->day_d);
}

static void apply_top_up(struct stv_lineage *lineage, size_t event_idx)
{
    const struct stv_event *event = &lineage->ledger.events[event_idx];
    struct stv_spirit_history poured = from_outside(event);
    poured.had_top_up = 1;
    poured.topping = poured.youngest;
    poured.topping_least_abv20_frac = event->abv20_frac;
    pour_in(lineage, event->cask_idx, -1, event_idx, &poured);
}

static void apply(struct stv_lineage *lineage, size_t event_idx)
{
    const struct stv_event *event = &lineage->ledger.events[event_idx];
    struct stv__holding *holding = &lineage->holdings[event->cask_idx];
    if (event->kind == STV_EVENT_FILL)
        begin(lineage, event->cask_idx, -1, event_idx, from_outside(event));
    if (holding->node < 0)
        return; /* out of or into an empty cask: named by the ledger's check */
    switch (event->kind) {
    case STV_EVENT_TRANSFER:
        apply_transfer(lineage, event_idx);
        break;
    case STV_EVENT_ADD_WATER:
        holding->spirit.had_water = 1;
        holding->spirit.water_kg += event->water_kg;
        break;
    case STV_EVENT_TOP_UP:
        apply_top_up(lineage, event_idx);
        break;
    case STV_EVENT_SAMPLE:
        take(&holding->spirit, event->volume20_l / lineage->entries[event->cask_idx].volume20_l);
        break;
    case STV_EVENT_EMPTY:
        close_use(lineage, event->cask_idx, event->day_d);
        break;
    case STV_EVENT_FILL:
    case STV_EVENT_MOVE:
    case STV_EVENT_LEAK_STOPPED:
    case STV_EVENT_REJUVENATE:
    case STV_EVENT_N:
        break;
    }
}

void stv_lineage_advance(struct stv_lineage *lineage, int64_t day_d)
{
    const struct stv_ledger *ledger = &lineage->ledger;
    for (; lineage->n_done < ledger->n_events && ledger->events[lineage->n_done].day_d <= day_d;
         lineage->n_done++) {
        apply(lineage, lineage->n_done);
        stv__ledger_apply(&ledger->events[lineage->n_done], lineage->entries);
    }
    if (day_d > lineage->day_d)
        lineage->day_d = day_d;
}

enum stv_status stv_lineage_new(const struct stv_ledger *ledger, int64_t day_d,
                                struct stv_lineage **out)
{
    struct stv_lineage *lineage = calloc(1, sizeof *lineage);
    *out = NULL;
    if (!lineage)
        return STV_E_MEMORY;
    lineage->ledger = *ledger;
    lineage->day_d = INT64_MIN;
    lineage->entries = stv__cask_entries_new(ledger);
    lineage->holdings = calloc(ledger->n_casks + 1, sizeof *lineage->holdings);
    lineage->liquids = malloc((ledger->n_events + 1) * sizeof *lineage->liquids);
    lineage->uses = malloc((ledger->n_events + 1) * sizeof *lineage->uses);
    if (!lineage->entries || !lineage->holdings || !lineage->liquids || !lineage->uses) {
        stv_lineage_free(lineage);
        return STV_E_MEMORY;
    }
    for (size_t c = 0; c < ledger->n_casks; c++)
        lineage->holdings[c].use = lineage->holdings[c].node = -1;
    stv_lineage_advance(lineage, day_d);
    *out = lineage;
    return STV_OK;
}

void stv_lineage_free(struct stv_lineage *lineage)
{
    if (!lineage)
        return;
    free(lineage->entries);
    free(lineage->holdings);
    free(lineage->liquids);
    free(lineage->uses);
    free(lineage);
}

struct stv_spirit_history stv_lineage_spirit(const struct stv_lineage *lineage, int cask_idx)
{
    return lineage->holdings[cask_idx].spirit;
}

struct stv_place stv_lineage_place(const struct stv_lineage *lineage, int cask_idx)
{
    return lineage->entries[cask_idx].place;
}

enum stv_status stv_lineage_wood(const struct stv_lineage *lineage, int cask_idx,
                                 struct stv_wood_life *out)
{
    const struct stv__holding *holding = &lineage->holdings[cask_idx];
    *out = (struct stv_wood_life){.empty_since_day_d = INT64_MIN};
    if (holding->use < 0)
        return STV_OK;
    size_t n = (size_t)lineage->uses[holding->use].use_idx + 1;
    out->uses = malloc(n * sizeof *out->uses);
    if (!out->uses)
        return STV_E_MEMORY;
    out->n_uses = n;
    for (int u = holding->use; u >= 0; u = lineage->uses[u].before) {
        const struct stv__use *use = &lineage->uses[u];
        out->uses[use->use_idx] =
            (struct stv_wood_use){use->event_idx, use->from_day_d, use->to_day_d};
    }
    out->empty_since_day_d = out->uses[n - 1].to_day_d;
    return STV_OK;
}

void stv_wood_life_free(struct stv_wood_life *life)
{
    free(life->uses);
    *life = (struct stv_wood_life){0};
}
