#include "model/gauge_judge.h"

#include "model/spirit.h"
#include "model/units.h"

#include <math.h>

#define FILL_ERROR_L 0.5 /* of what was written down at a fill; judgement */
#define FILL_ERROR_FRAC 0.001
#define USUAL_ABV20_FRAC 0.6 /* where a weight stands alone: half a percent of its litres */
#define USUAL_L_PER_KG 1.1

struct stv__gauge_figures stv__gauge_figures_of(const struct stv__judging *judging, size_t cask_idx,
                                                int64_t day_d)
{
    struct stv__gauge_figures figures = {SIZE_MAX, SIZE_MAX, SIZE_MAX};
    for (size_t k = judging->first_of[cask_idx]; k < judging->first_of[cask_idx + 1]; k++) {
        const struct stv_cask_observation *seen =
            &judging->request->observations[judging->order[k]];
        if (seen->day_d == day_d && seen->kind == STV_FIT_VOLUME)
            figures.volume = judging->order[k];
        if (seen->day_d == day_d && seen->kind == STV_FIT_STRENGTH)
            figures.strength = judging->order[k];
        if (seen->day_d == day_d && seen->kind == STV_FIT_GROSS)
            figures.gross = judging->order[k];
    }
    return figures;
}

static struct stv_gauge_figure figure_at(const struct stv_cask_learning_request *request, size_t i)
{
    if (i == SIZE_MAX)
        return (struct stv_gauge_figure){.value = NAN, .error = NAN};
    const struct stv_cask_observation *seen = &request->observations[i];
    return (struct stv_gauge_figure){seen->value, seen->error, seen->typed_nd, seen->per_typed_nd,
                                     seen->n_decimals};
}

/* Kilograms with the cask as litres: a scale tells what has gone, whatever the cask weighs. */
struct by_scale {
    double tare_kg, tare_error_kg, l_per_kg;
};

static struct by_scale scale_of(const struct stv__judging *judging, size_t cask_idx,
                                double abv20_frac)
{
    const struct stv_fit_tare *tare = &judging->request->tares[cask_idx];
    const struct stv_fit *fit = judging->fit;
    double told_nd = fit->block_nd[cask_idx * fit->n_block + fit->n_own];
    double ethanol_kg, water_kg;
    double error_nd = fit->block_error_nd[cask_idx * fit->n_block + fit->n_own];
    struct by_scale scale = {tare->tare_kg + tare->error_kg * told_nd, tare->error_kg * error_nd,
                             USUAL_L_PER_KG};
    if (stv_spirit_masses_kg(1.0, abv20_frac, &ethanol_kg, &water_kg) == STV_OK)
        scale.l_per_kg = 1.0 / (ethanol_kg + water_kg);
    return scale;
}

static double litres_of(const struct by_scale *scale, double gross_kg)
{
    return (gross_kg - scale->tare_kg) * scale->l_per_kg;
}

static struct stv_gauge_figure weighed(const struct stv_cask_learning_request *request,
                                       const struct by_scale *scale, size_t gross)
{
    struct stv_gauge_figure figure = figure_at(request, gross);
    figure.value = litres_of(scale, figure.value);
    figure.error *= scale->l_per_kg;
    figure.per_typed_nd *= scale->l_per_kg;
    return figure;
}

/* The event that a cask's spirit of a day began with: a fill, or what was poured into it when it
 * was empty.  NULL without one. */
static const struct stv_event *begin_of(const struct stv_ledger *ledger, size_t cask_idx,
                                        size_t n_events)
{
    const struct stv_event *begin = NULL;
    for (size_t e = 0; e < n_events; e++) {
        const struct stv_event *event = &ledger->events[e];
        bool is_own = event->cask_idx == (int)cask_idx;
        bool is_poured = event->kind == STV_EVENT_TRANSFER && event->other_idx == (int)cask_idx;
        if ((event->kind == STV_EVENT_FILL && is_own) || (is_poured && !begin))
            begin = event;
        else if (is_own && (event->kind == STV_EVENT_EMPTY ||
                            (event->kind == STV_EVENT_TRANSFER && isnan(event->volume20_l))))
            begin = NULL;
    }
    return begin;
}

const struct stv_event *stv__spirit_begin(const struct stv_ledger *ledger, size_t cask_idx,
                                          int64_t day_d)
{
    size_t n = 0;
    while (n < ledger->n_events && ledger->events[n].day_d <= day_d)
        n++;
    return begin_of(ledger, cask_idx, n);
}

bool stv__is_same_spirit(const struct stv_ledger *ledger, size_t cask_idx, int64_t a_d, int64_t b_d)
{
    return stv__spirit_begin(ledger, cask_idx, a_d) == stv__spirit_begin(ledger, cask_idx, b_d);
}

const struct stv_event *stv__spirit_found(const struct stv_ledger *ledger,
                                          const struct stv_event *event)
{
    return begin_of(ledger, (size_t)event->cask_idx, (size_t)(event - ledger->events));
}

/* What a gauge is held against: the gauge before it that was not left out, weighed if it was
 * weighed, else the fill. */
static bool set_before(const struct stv__judging *judging, struct stv__gauge_moment at,
                       const struct by_scale *scale, struct stv_cask_verdict *out)
{
    const struct stv_ledger *ledger = judging->request->house.ledger;
    const int64_t *days_d = judging->days_d[at.cask_idx];
    const struct stv_event *begin = stv__spirit_begin(ledger, at.cask_idx, days_d[at.moment_idx]);
    for (size_t m = at.moment_idx; m-- > 0 && begin && days_d[m] >= begin->day_d;) {
        struct stv__gauge_figures before = stv__gauge_figures_of(judging, at.cask_idx, days_d[m]);
        size_t amount = scale ? before.gross : before.volume;
        if (amount == SIZE_MAX || judging->told[amount].is_left_out)
            continue;
        out->since_day_d = days_d[m];
        out->change.volume_then =
            scale ? weighed(judging->request, scale, amount) : figure_at(judging->request, amount);
        out->change.strength_then = figure_at(judging->request, before.strength);
        return true;
    }
    if (!begin || begin->kind != STV_EVENT_FILL)
        return false;
    out->since_day_d = begin->day_d;
    out->change.volume_then =
        (struct stv_gauge_figure){.value = begin->volume20_l, .error = FILL_ERROR_L};
    out->change.strength_then =
        (struct stv_gauge_figure){.value = begin->abv20_frac, .error = FILL_ERROR_FRAC};
    return true;
}

/* What the air was told to have done, and how surely. */
static void set_told(const struct stv__gauge_figures *here, const struct by_scale *scale,
                     const struct stv_fit_then *apart, struct stv_gauge_change *change)
{
    change->loss_l = change->rise_abv20_frac = 0.0;
    change->loss_error_l = change->rise_error_frac = 1.0;
    if (here->volume != SIZE_MAX) {
        change->loss_l = change->volume_then.value - apart[here->volume].value;
        change->loss_error_l = apart[here->volume].error;
    } else if (scale) {
        change->loss_l = change->volume_then.value - litres_of(scale, apart[here->gross].value);
        change->loss_error_l = apart[here->gross].error * scale->l_per_kg;
    }
    if (here->strength != SIZE_MAX && isfinite(change->strength_then.value)) {
        change->rise_abv20_frac = apart[here->strength].value - change->strength_then.value;
        change->rise_error_frac = apart[here->strength].error;
    }
}

/* What a leak had taken by then that was stopped later nobody knows, once it is reckoned what it
 * took in all. */
static void leave_amounts(const struct stv__judging *judging, size_t cask_idx,
                          struct stv__gauge_figures *here)
{
    size_t *amounts[] = {&here->volume, &here->gross};
    for (size_t i = 0; i < 2 && judging->leaks[cask_idx].per_y > 0.0; i++)
        if (*amounts[i] != SIZE_MAX && judging->told[*amounts[i]].from_idx == *amounts[i])
            *amounts[i] = SIZE_MAX;
}

/* Whether a leak of the spirit was stopped after what a gauge is held against. */
static bool was_stopped(const struct stv__judging *judging, const struct stv_cask_verdict *verdict)
{
    const struct stv_ledger *ledger = judging->request->house.ledger;
    int64_t stopped_d = stv_leak_stopped_day(ledger, (int)verdict->cask_idx, verdict->since_day_d);
    return stopped_d < INT64_MAX &&
           stv__is_same_spirit(ledger, verdict->cask_idx, stopped_d, verdict->day_d);
}

bool stv__gauge_judge(const struct stv__judging *judging, struct stv__gauge_moment at,
                      struct stv_cask_verdict *out)
{
    size_t cask_idx = at.cask_idx;
    const struct stv_cask_learning_request *request = judging->request;
    const struct stv_fit_then *apart = judging->apart;
    int64_t day_d = judging->days_d[cask_idx][at.moment_idx];
    struct stv__gauge_figures here = stv__gauge_figures_of(judging, cask_idx, day_d);
    leave_amounts(judging, cask_idx, &here);
    bool is_weighed = here.volume == SIZE_MAX && here.gross != SIZE_MAX;
    *out = (struct stv_cask_verdict){.cask_idx = cask_idx, .day_d = day_d};
    if (here.volume == SIZE_MAX && here.strength == SIZE_MAX && !is_weighed)
        return false;
    struct by_scale scale = {0};
    if (is_weighed)
        scale = scale_of(judging, cask_idx,
                         here.strength == SIZE_MAX ? USUAL_ABV20_FRAC : apart[here.strength].value);
    if (!set_before(judging, at, is_weighed ? &scale : NULL, out))
        return false;
    struct stv_gauge_change *change = &out->change;
    size_t any = here.volume != SIZE_MAX ? here.volume : is_weighed ? here.gross : here.strength;
    out->gauge_idx = request->observations[any].gauge_idx;
    change->years_y =
        fmax(STV_GAUGE_LEAST_APART_Y, (double)(day_d - out->since_day_d) / STV_YEAR_D);
    change->cask_l = request->house.ledger->casks[cask_idx].geometry.capacity_l;
    out->tare_error_l = is_weighed ? scale.tare_error_kg * scale.l_per_kg : 0.0;
    out->is_set_aside = request->observations[any].is_set_aside;
    change->leak_was_stopped = (here.volume != SIZE_MAX || is_weighed) && was_stopped(judging, out);
    out->reckoned_per_y = judging->leaks[cask_idx].per_y;
    out->reckoned_from_d = judging->leaks[cask_idx].from_d;
    change->volume =
        is_weighed ? weighed(request, &scale, here.gross) : figure_at(request, here.volume);
    change->strength = figure_at(request, here.strength);
    set_told(&here, is_weighed ? &scale : NULL, apart, change);
    return stv_gauge_verdict(change, &out->odds) == STV_OK;
}

bool stv__is_amount(const struct stv_cask_observation *seen)
{
    return seen->kind == STV_FIT_VOLUME || seen->kind == STV_FIT_LIQUID ||
           seen->kind == STV_FIT_GROSS;
}

bool stv__is_misread(const struct stv_cask_verdict *verdict)
{
    return verdict->odds.misread_frac > STV_LIKELIER_FRAC || verdict->agrees;
}

const struct stv_cask_verdict *stv__verdict_on(const struct stv_cask_learning *learning,
                                               const struct stv_cask_observation *seen)
{
    for (size_t v = 0; v < learning->n_verdicts; v++)
        if (learning->verdicts[v].cask_idx == seen->cask_idx &&
            learning->verdicts[v].day_d == seen->day_d)
            return &learning->verdicts[v];
    return NULL;
}
