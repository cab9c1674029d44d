#include "model/leak_stops.h"

#define SOON_D 60

/* Whether an observation is of the spirit that leaked until a stop. */
static bool is_of_leaked(const struct stv_ledger *ledger, const struct stv_event *stop,
                         const struct stv_cask_observation *seen)
{
    return stv__spirit_begin(ledger, seen->cask_idx, seen->day_d) ==
           stv__spirit_found(ledger, stop);
}

/* What was found since the stop. */
static bool is_after(const struct stv_ledger *ledger, const struct stv_event *stop,
                     const struct stv_cask_observation *seen)
{
    return seen->day_d >= stop->day_d && is_of_leaked(ledger, stop, seen);
}

static bool has_after(const struct stv__judging *of, const struct stv_event *stop,
                      enum stv_fit_kind kind)
{
    size_t cask = (size_t)stop->cask_idx;
    for (size_t k = of->first_of[cask]; k < of->first_of[cask + 1]; k++) {
        const struct stv_cask_observation *seen = &of->request->observations[of->order[k]];
        if (seen->kind == kind && !seen->is_set_aside &&
            is_after(of->request->house.ledger, stop, seen))
            return true;
    }
    return false;
}

/* What a leak took is known once something was gauged after its stop: litres, else weights with the
 * cask.  False while it is judged as any leak. */
static bool settles(const struct stv__judging *of, const struct stv_event *event,
                    enum stv_fit_kind *out_kind)
{
    if (event->kind != STV_EVENT_LEAK_STOPPED)
        return false;
    *out_kind = STV_FIT_VOLUME;
    if (has_after(of, event, STV_FIT_VOLUME))
        return true;
    *out_kind = STV_FIT_GROSS;
    return has_after(of, event, STV_FIT_GROSS);
}

/* A weight soon after the fill tells what the cask weighs. */
static bool tells_tare(const struct stv_ledger *ledger, const struct stv_cask_observation *seen,
                       enum stv_fit_kind kind)
{
    const struct stv_event *begin = stv__spirit_begin(ledger, seen->cask_idx, seen->day_d);
    return kind == STV_FIT_GROSS && seen->kind == kind && begin &&
           seen->day_d - begin->day_d <= SOON_D;
}

/* Nobody knows when a leak began that was stopped: what was found before tells nothing of the air,
 * nor does anything of another kind. */
static void leave_leaked_out(const struct stv__judging *of, const struct stv_event *stop,
                             enum stv_fit_kind kind, struct stv_cask_told *told)
{
    const struct stv_ledger *ledger = of->request->house.ledger;
    size_t cask = (size_t)stop->cask_idx;
    for (size_t k = of->first_of[cask]; k < of->first_of[cask + 1]; k++) {
        size_t i = of->order[k];
        const struct stv_cask_observation *seen = &of->request->observations[i];
        if (!stv__is_amount(seen) || !is_of_leaked(ledger, stop, seen) ||
            (seen->kind == kind && is_after(ledger, stop, seen)) || tells_tare(ledger, seen, kind))
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
    enum stv_fit_kind kind;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (settles(of, &ledger->events[e], &kind))
            leave_leaked_out(of, &ledger->events[e], kind, told);
}

static bool is_right(const struct stv__judging *of, const struct stv_cask_learning *learning,
                     size_t idx)
{
    const struct stv_cask_observation *seen = &of->request->observations[idx];
    const struct stv_cask_verdict *verdict = stv__verdict_on(learning, seen);
    return !seen->is_set_aside && !(verdict && stv__is_misread(verdict));
}

/* What was rightly found before an observation and after a stop; its own where nothing was. */
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

/* What a later stop makes nothing of stays so. */
static void count_from_stop(const struct stv__judging *of, const struct stv_event *stop,
                            enum stv_fit_kind kind, struct stv_cask_learning *learning)
{
    size_t cask = (size_t)stop->cask_idx;
    for (size_t k = of->first_of[cask]; k < of->first_of[cask + 1]; k++) {
        size_t i = of->order[k];
        struct stv_cask_told *told = &learning->told[i];
        const struct stv_cask_observation *seen = &of->request->observations[i];
        if (seen->kind != kind || told->from_idx == i || !is_right(of, learning, i) ||
            !is_after(of->request->house.ledger, stop, seen))
            continue;
        told->from_idx = one_before(of, learning, stop, i);
        told->is_left_out = told->is_left_out || told->from_idx == i;
    }
}

void stv__count_from_stops(const struct stv__judging *of, struct stv_cask_learning *learning)
{
    const struct stv_ledger *ledger = of->request->house.ledger;
    enum stv_fit_kind kind;
    for (size_t e = 0; e < ledger->n_events; e++)
        if (settles(of, &ledger->events[e], &kind))
            count_from_stop(of, &ledger->events[e], kind, learning);
}
