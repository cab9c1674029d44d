/* What the verdicts on a cask say of its leak. */
#include "model/cask_leak.h"

#include "model/gauge_judge.h"
#include "model/units.h"

#include <math.h>

#define MOST_LEAKED_FRAC 0.95            /* of a cask: the rest would be drops */
#define LESS_THAN_SURE_FRAC (1.0 - 1e-9) /* a leak that nobody saw and stopped */

int64_t stv_leak_stopped_day(const struct stv_ledger *ledger, int cask_idx, int64_t since_day_d)
{
    for (size_t e = 0; e < ledger->n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        if (event->kind == STV_EVENT_LEAK_STOPPED && event->cask_idx == cask_idx &&
            event->day_d > since_day_d)
            return event->day_d;
    }
    return INT64_MAX;
}

bool stv_slip_if_no_leak(const struct stv_ledger *ledger, int cask_idx, int64_t since_day_d,
                         double misread_frac, double evaporation_frac)
{
    return misread_frac > evaporation_frac &&
           stv_leak_stopped_day(ledger, cask_idx, since_day_d) == INT64_MAX;
}

static double years_between_y(int64_t from_d, int64_t to_d)
{
    return fmax(1.0, (double)(to_d - from_d)) / STV_YEAR_D;
}

/* A verdict of one cask, as its leak is told by it. */
struct finding {
    const struct stv_cask_verdict *verdict;
    int64_t stop_d; /* the first since what it is held against; INT64_MAX: none */
};

static void stand_at(const struct stv_cask_verdict *verdict, struct stv_posterior_leak *leak)
{
    leak->found_d = verdict->day_d;
    leak->found_l = verdict->change.volume.value;
    leak->found_sd_l = hypot(verdict->change.volume.error, verdict->tare_error_l);
}

/* How much a leak took and since when, if it was one. */
static struct stv_posterior_leak leak_of(const struct finding *found)
{
    const struct stv_cask_verdict *verdict = found->verdict;
    struct stv_posterior_leak leak = stv_posterior_leak_none();
    double leaked_l = fmax(0.0, verdict->odds.excess_l);
    double lost_frac = leaked_l > 0.0 ? leaked_l / (verdict->change.volume.value + leaked_l) : 0.0;
    leak.from_d = verdict->since_day_d;
    leak.leaking_y =
        fmax(STV_GAUGE_LEAST_APART_Y,
             years_between_y(leak.from_d,
                             verdict->day_d < found->stop_d ? verdict->day_d : found->stop_d));
    leak.per_y = -log1p(-fmin(MOST_LEAKED_FRAC, lost_frac)) / leak.leaking_y;
    stand_at(verdict, &leak);
    return leak;
}

/* Its last stop until a day. */
static int64_t last_stop_d(const struct stv_ledger *ledger, const struct finding *found)
{
    int64_t stop_d = found->stop_d, next_d = stop_d;
    while (next_d <= found->verdict->day_d) {
        stop_d = next_d;
        next_d = stv_leak_stopped_day(ledger, (int)found->verdict->cask_idx, stop_d);
    }
    return stop_d;
}

/* More litres gone by a gauge, as a rate of what the cask held while it leaked: no less than was
 * found, and near what it held before, if much was drawn since. */
static double more_per_y(const struct stv_cask_verdict *verdict, double leaking_y)
{
    double excess_l = verdict->odds.excess_l;
    double held_l =
        fmax(verdict->change.volume.value, verdict->change.volume_then.value - fmax(0.0, excess_l));
    return log1p(fmax(-MOST_LEAKED_FRAC, excess_l / held_l)) / leaking_y;
}

/* Who stopped it saw it; the gauges say how much it took, and which of them were sound before. */
static struct stv_posterior_leak stopped_leak_of(const struct stv_ledger *ledger,
                                                 const struct finding *found, int64_t sound_d)
{
    const struct stv_cask_verdict *verdict = found->verdict;
    struct stv_posterior_leak leak = leak_of(found);
    leak.to_d = last_stop_d(ledger, found);
    if (verdict->reckoned_per_y > 0.0)
        leak.from_d = verdict->reckoned_from_d;
    else if (sound_d > leak.from_d && sound_d < found->stop_d)
        leak.from_d = sound_d;
    leak.leaking_y = years_between_y(leak.from_d, leak.to_d);
    leak.chance_frac = leak.gone_frac = 1.0;
    leak.per_y =
        fmax(STV__LEAK_LEAST_PER_Y, verdict->reckoned_per_y + more_per_y(verdict, leak.leaking_y));
    return leak;
}

/* Reads that fall short by no more than they err show no leak so far. */
static bool is_sound(const struct stv_cask_verdict *verdict)
{
    return verdict->odds.excess_l <= verdict->odds.excess_error_l;
}

/* A leak by its odds; gauges that fall short of the same one bear it out. */
static struct stv_posterior_leak likely_leak_of(const struct finding *found,
                                                const struct stv_posterior_leak *before,
                                                double *misread_to_leak)
{
    const struct stv_gauge_odds *odds = &found->verdict->odds;
    struct stv_posterior_leak leak = leak_of(found);
    bool is_repeated = before->chance_frac > STV_LIKELIER_FRAC &&
                       stv_posterior_leak_since_day(before) == leak.from_d;
    *misread_to_leak = (is_repeated ? STV_LEAK_PRIOR_FRAC * *misread_to_leak : 1.0) *
                       odds->misread_frac / odds->leak_frac;
    double air_to_leak = odds->evaporation_frac / odds->leak_frac;
    leak.chance_frac = fmin(LESS_THAN_SURE_FRAC, 1.0 / (1.0 + *misread_to_leak + air_to_leak));
    if (!isfinite(leak.per_y) || !isfinite(leak.chance_frac))
        leak.chance_frac = leak.per_y = 0.0;
    leak.gone_frac = leak.chance_frac;
    if (leak.chance_frac > STV_LIKELIER_FRAC)
        leak.gone_frac = fmin(1.0, leak.chance_frac * (1.0 + air_to_leak));
    return leak;
}

/* A leak after one that was stopped: both at one rate, for the cask is told with one. */
static void add_before(const struct stv_posterior_leak *stopped, struct stv_posterior_leak *leak)
{
    leak->again_d = leak->from_d;
    leak->from_d = stopped->from_d;
    leak->to_d = stopped->to_d;
    leak->leaking_y += stopped->leaking_y;
}

void stv__cask_leak_set(const struct stv_ledger *ledger, const struct stv_cask_learning *learning,
                        size_t cask_idx, struct stv_posterior_leak *leak)
{
    double misread_to_leak = 0.0;
    struct stv_posterior_leak stopped = stv_posterior_leak_none();
    int64_t sound_d = INT64_MIN;
    *leak = stopped;
    for (size_t v = 0; v < learning->n_verdicts; v++) {
        const struct stv_cask_verdict *verdict = &learning->verdicts[v];
        /* Of a strength alone a leak says nothing. */
        if (verdict->cask_idx != cask_idx || verdict->is_set_aside || stv__is_misread(verdict) ||
            isnan(verdict->odds.excess_l))
            continue;
        const struct finding found = {
            verdict, stv_leak_stopped_day(ledger, (int)cask_idx, verdict->since_day_d)};
        bool is_after = stv__is_sure_leak(&stopped) &&
                        stv__is_same_spirit(ledger, cask_idx, stopped.found_d, verdict->day_d);
        if (found.stop_d <= verdict->day_d) {
            *leak = stopped = stopped_leak_of(ledger, &found, sound_d);
        } else if (is_after && verdict->odds.leak_frac <= STV_LIKELIER_FRAC) {
            *leak = stopped;
            stand_at(verdict, leak);
        } else {
            *leak = likely_leak_of(&found, leak, &misread_to_leak);
            if (is_after)
                add_before(&stopped, leak);
        }
        if (is_sound(verdict))
            sound_d = verdict->day_d;
    }
}

bool stv__is_sure_leak(const struct stv_posterior_leak *leak)
{
    return leak->chance_frac >= 1.0;
}
