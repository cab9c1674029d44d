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

/* Years of a leak until a verdict, or until it was stopped, if it was. */
static double leaking_y(int64_t from_d, int64_t stopped_d, int64_t day_d)
{
    int64_t to_d = stopped_d < day_d ? stopped_d : day_d;
    return fmax(STV_GAUGE_LEAST_APART_Y, (double)(to_d - from_d) / STV_YEAR_D);
}

bool stv_slip_if_no_leak(const struct stv_ledger *ledger, int cask_idx, int64_t since_day_d,
                         double misread_frac, double evaporation_frac)
{
    return misread_frac > evaporation_frac &&
           stv_leak_stopped_day(ledger, cask_idx, since_day_d) == INT64_MAX;
}

/* What a verdict finds: how much, and where the cask stands. */
static struct stv_posterior_leak leak_of(const struct stv_cask_verdict *verdict, int64_t from_d,
                                         int64_t stopped_d)
{
    const struct stv_gauge_figure *found = &verdict->change.volume;
    double years_y = leaking_y(from_d, stopped_d, verdict->day_d);
    double leaked_l = fmax(0.0, verdict->odds.excess_l);
    double lost_frac = leaked_l > 0.0 ? leaked_l / (found->value + leaked_l) : 0.0;
    return (struct stv_posterior_leak){.per_y =
                                           -log1p(-fmin(MOST_LEAKED_FRAC, lost_frac)) / years_y,
                                       .from_d = from_d,
                                       .found_d = verdict->day_d,
                                       .found_l = found->value,
                                       .found_sd_l = found->error,
                                       .leaking_y = years_y};
}

/* Who stopped it saw it; the gauges say how much it took.  One that was stopped before it had ended
 * then. */
static int64_t set_stopped(const struct stv_ledger *ledger, const struct stv_cask_verdict *verdict,
                           struct stv_posterior_leak *leak)
{
    int cask_idx = (int)verdict->cask_idx;
    int64_t from_d = verdict->since_day_d;
    int64_t stopped_d = stv_leak_stopped_day(ledger, cask_idx, from_d), next_d = stopped_d;
    while ((next_d = stv_leak_stopped_day(ledger, cask_idx, stopped_d)) <= verdict->day_d) {
        from_d = stopped_d;
        stopped_d = next_d;
    }
    *leak = leak_of(verdict, from_d, stopped_d);
    double more_nd = fmax(-MOST_LEAKED_FRAC, verdict->odds.excess_l / leak->found_l);
    leak->chance_frac = 1.0;
    leak->per_y =
        fmax(STV__LEAK_LEAST_PER_Y, verdict->reckoned_per_y + log1p(more_nd) / leak->leaking_y);
    return stopped_d;
}

/* A later gauge of a cask whose leak was stopped tells where it stands now. */
static void stand_at(const struct stv_cask_verdict *verdict, struct stv_posterior_leak *leak)
{
    leak->found_d = verdict->day_d;
    leak->found_l = verdict->change.volume.value;
    leak->found_sd_l = verdict->change.volume.error;
}

void stv__cask_leak_set(const struct stv_ledger *ledger, const struct stv_cask_learning *learning,
                        size_t cask_idx, struct stv_posterior_leak *leak)
{
    double misread_to_leak = 0.0;
    int64_t stopped_d = INT64_MAX; /* of the leak so far */
    *leak = (struct stv_posterior_leak){.from_d = INT64_MIN};
    for (size_t v = 0; v < learning->n_verdicts; v++) {
        const struct stv_cask_verdict *verdict = &learning->verdicts[v];
        const struct stv_gauge_odds *odds = &verdict->odds;
        /* Of a strength alone a leak says nothing. */
        if (verdict->cask_idx != cask_idx || stv__is_misread(verdict) || isnan(odds->excess_l))
            continue;
        int64_t stop_d = stv_leak_stopped_day(ledger, (int)cask_idx, verdict->since_day_d);
        if (stop_d <= verdict->day_d) {
            stopped_d = set_stopped(ledger, verdict, leak);
            continue;
        }
        bool is_of_stopped =
            stopped_d < INT64_MAX && stv__spirit_begin(ledger, cask_idx, verdict->day_d) ==
                                         stv__spirit_begin(ledger, cask_idx, stopped_d);
        if (is_of_stopped && odds->leak_frac <= STV_LIKELIER_FRAC) {
            stand_at(verdict, leak);
            continue;
        }
        stopped_d = INT64_MAX;
        bool is_repeated =
            leak->chance_frac > STV_LIKELIER_FRAC && leak->from_d == verdict->since_day_d;
        misread_to_leak = (is_repeated ? STV_LEAK_PRIOR_FRAC * misread_to_leak : 1.0) *
                          odds->misread_frac / odds->leak_frac;
        *leak = leak_of(verdict, verdict->since_day_d, stop_d);
        leak->chance_frac =
            fmin(LESS_THAN_SURE_FRAC,
                 1.0 / (1.0 + misread_to_leak + odds->evaporation_frac / odds->leak_frac));
        if (!isfinite(leak->per_y) || !isfinite(leak->chance_frac))
            leak->chance_frac = leak->per_y = 0.0;
    }
}

bool stv__is_sure_leak(const struct stv_posterior_leak *leak)
{
    return leak->chance_frac >= 1.0;
}
