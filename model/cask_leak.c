/* What the verdicts on a cask say of its leak. */
#include "model/cask_leak.h"

#include "model/units.h"

#include <math.h>

#define MOST_LEAKED_FRAC 0.95 /* of a cask: the rest would be drops */

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

/* Years of a verdict in which the cask may have leaked: until it was stopped, if it was. */
static double leaking_y(const struct stv_ledger *ledger, const struct stv_cask_verdict *verdict)
{
    int64_t stopped_d = stv_leak_stopped_day(ledger, (int)verdict->cask_idx, verdict->since_day_d);
    if (stopped_d >= verdict->day_d)
        return verdict->change.years_y;
    return fmax(STV_GAUGE_LEAST_APART_Y, (double)(stopped_d - verdict->since_day_d) / STV_YEAR_D);
}

bool stv_slip_if_no_leak(const struct stv_ledger *ledger, int cask_idx, int64_t since_day_d,
                         double misread_frac, double evaporation_frac)
{
    return misread_frac > evaporation_frac &&
           stv_leak_stopped_day(ledger, cask_idx, since_day_d) == INT64_MAX;
}

void stv__cask_leak_set(const struct stv_ledger *ledger, const struct stv_cask_learning *learning,
                        size_t cask_idx, struct stv_posterior_leak *leak)
{
    double misread_to_leak = 0.0;
    *leak = (struct stv_posterior_leak){.from_d = INT64_MIN};
    for (size_t v = 0; v < learning->n_verdicts; v++) {
        const struct stv_cask_verdict *verdict = &learning->verdicts[v];
        const struct stv_gauge_odds *odds = &verdict->odds;
        const struct stv_gauge_figure *found = &verdict->change.volume;
        /* Of a strength alone a leak says nothing. */
        if (verdict->cask_idx != cask_idx || odds->misread_frac > STV_LIKELIER_FRAC ||
            verdict->agrees || isnan(odds->excess_l))
            continue;
        bool is_repeated =
            leak->chance_frac > STV_LIKELIER_FRAC && leak->from_d == verdict->since_day_d;
        double leaked_l = fmax(0.0, odds->excess_l);
        double lost_frac = leaked_l > 0.0 ? leaked_l / (found->value + leaked_l) : 0.0;
        double years_y = leaking_y(ledger, verdict);
        misread_to_leak = (is_repeated ? STV_LEAK_PRIOR_FRAC * misread_to_leak : 1.0) *
                          odds->misread_frac / odds->leak_frac;
        *leak = (struct stv_posterior_leak){
            .chance_frac = 1.0 / (1.0 + misread_to_leak + odds->evaporation_frac / odds->leak_frac),
            .per_y = -log1p(-fmin(MOST_LEAKED_FRAC, lost_frac)) / years_y,
            .from_d = verdict->since_day_d,
            .found_d = verdict->day_d,
            .found_l = found->value,
            .found_sd_l = found->error,
            .leaking_y = years_y};
        if (!isfinite(leak->per_y) || !isfinite(leak->chance_frac))
            leak->chance_frac = leak->per_y = 0.0;
    }
}
