#include "model/leak_stops.h"

/* Whether an observation tells an amount of the spirit that leaked until a stop. */
static bool is_of_leaked(const struct stv_ledger *ledger, const struct stv_event *stop,
                         const struct stv_cask_observation *seen)
{
    size_t cask = (size_t)stop->cask_idx;
    return stv__is_amount(seen) && stv__spirit_begin(ledger, cask, seen->day_d) ==
                                       stv__spirit_begin(ledger, cask, stop->day_d);
}

static bool is_after(const struct stv_ledger *ledger, const struct stv_event *stop,
                     const struct stv_cask_observation *seen)
{
    return seen->day_d >= stop->day_d && is_of_leaked(ledger, stop, seen);
}

/* Nobody knows when a leak began that was stopped: litres of before tell nothing of the air. */
static void leave_leaked_out(const struct stv__judging *of, const struct stv_event *stop,
                             struct stv_cask_told *told)
{
    size_t cask = (size_t)stop->cask_idx;
    for (size_t k = of->first_of[cask]; k < of->first_of[cask + 1]; k++) {
        size_t i = of->order[k];
        const struct stv_cask_observation *seen = &of->request->observations[i];
        if (seen->day_d >= stop->day_d || !is_of_leaked(of->request->house.ledger, stop, seen))
            continue;
        told[i].is_left_out = true;
        told[i].from_idx = i;
    }
}

void stv__leave_out_first(const struct stv__judging *of, struct stv_cask_told *told)
{
    const struct stv_cask_learning_request *request = of->request;
    const struct stv_ledger *ledger = request->house.ledger;
    for (size_t i = 0; i < request->n_observations; i++) {
        told[i].is_left_out = request->observations[i].is_set_aside;
        told[i].from_idx = SIZE_MAX;
    }
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].kind == STV_EVENT_LEAK_STOPPED)
            leave_leaked_out(of, &ledger->events[e], told);
}

static bool is_right(const struct stv__judging *of, const struct stv_cask_learning *learning,
                     size_t idx)
{
    const struct stv_cask_observation *seen = &of->request->observations[idx];
    const struct stv_cask_verdict *verdict = stv__verdict_on(learning, seen);
    return !seen->is_set_aside && !(verdict && stv__is_misread(verdict));
}

/* The right amount of its kind before an observation that came after a stop; the observation itself
 * where there is none. */
static size_t one_before(const struct stv__judging *of, const struct stv_cask_learning *learning,
                         const struct stv_event *stop, size_t idx)
{
    const struct stv_cask_observation *observations = of->request->observations;
    size_t cask = (size_t)stop->cask_idx, before = SIZE_MAX;
    for (size_t k = of->first_of[cask]; k < of->first_of[cask + 1]; k++) {
        size_t i = of->order[k];
        const struct stv_cask_observation *seen = &observations[i];
        if (seen->kind == observations[idx].kind && seen->day_d < observations[idx].day_d &&
            is_right(of, learning, i) && is_after(of->request->house.ledger, stop, seen) &&
            (before == SIZE_MAX || seen->day_d > observations[before].day_d))
            before = i;
    }
    return before == SIZE_MAX ? idx : before;
}

/* The last stop counts. */
static void count_from_stop(const struct stv__judging *of, const struct stv_event *stop,
                            struct stv_cask_learning *learning)
{
    size_t cask = (size_t)stop->cask_idx;
    for (size_t k = of->first_of[cask]; k < of->first_of[cask + 1]; k++) {
        size_t i = of->order[k];
        const struct stv_cask_observation *seen = &of->request->observations[i];
        if (!is_of_leaked(of->request->house.ledger, stop, seen))
            continue;
        if (!is_right(of, learning, i))
            learning->told[i].from_idx = SIZE_MAX;
        else if (seen->day_d >= stop->day_d)
            learning->told[i].from_idx = one_before(of, learning, stop, i);
        if (learning->told[i].from_idx == i)
            learning->told[i].is_left_out = true;
    }
}

void stv__count_from_stops(const struct stv__judging *of, struct stv_cask_learning *learning)
{
    const struct stv_ledger *ledger = of->request->house.ledger;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (ledger->events[e].kind == STV_EVENT_LEAK_STOPPED)
            count_from_stop(of, &ledger->events[e], learning);
}
