/* A first fit takes every figure as right; each gauge is then held against what all others say of
 * it, slips and leaks are left out, and the rest is fitted again; twice.  A leak that the gauges
 * after it do not bear out is no leak: what was left out for it counts again.  One that was stopped
 * was a leak whatever they say: litres found since then count from those before them. */
#include "model/cask_learning.h"

#include "model/cask_leak.h"
#include "model/cask_probe.h"
#include "model/days.h"
#include "model/gauge_agree.h"
#include "model/gauge_judge.h"
#include "model/leak_stops.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define REFINED 2 /* judged and fitted again, with the climate's effects of the fit before */
#define NEAR_MIDDLE_ND 0.5 /* of a cask's own scores, when it is judged */
#define LEFT_OUT_FACTOR \
    1e3                    /* on the error of what is left out: it is predicted and moves nothing */
#define NEAR_ENOUGH_ND 0.1 /* of a standard deviation, all scores of a house together */

/* Everything of one learning. */
struct work {
    const struct stv_cask_learning_request *request;
    struct stv__cask_probe probe;
    struct stv__probe_leak *leaks;       /* per cask: those that were stopped */
    struct stv_fit_observation *figures; /* n_observations */
    size_t *first_of, *order;            /* per cask: its observations; n_casks + 1 and all */
    struct stv_fit_problem problem;
};

/* Each cask's days, ascending and once. */
static enum stv_status list_days(const struct stv_cask_learning_request *request,
                                 int64_t ***out_days_d, size_t **out_n)
{
    size_t n_casks = request->house.ledger->n_casks;
    int64_t **days_d = calloc(n_casks + 1, sizeof *days_d);
    size_t *n_days = calloc(n_casks + 1, sizeof *n_days);
    *out_days_d = days_d;
    *out_n = n_days;
    if (!days_d || !n_days)
        return STV_E_MEMORY;
    for (size_t i = 0; i < request->n_observations; i++)
        n_days[request->observations[i].cask_idx]++;
    for (size_t c = 0; c < n_casks; c++) {
        days_d[c] = n_days[c] ? malloc(n_days[c] * sizeof **days_d) : NULL;
        if (n_days[c] && !days_d[c])
            return STV_E_MEMORY;
        n_days[c] = 0;
    }
    for (size_t i = 0; i < request->n_observations; i++) {
        size_t cask = request->observations[i].cask_idx;
        days_d[cask][n_days[cask]++] = request->observations[i].day_d;
    }
    for (size_t c = 0; c < n_casks; c++)
        n_days[c] = stv_days_sort(days_d[c], n_days[c]);
    return STV_OK;
}

static void count_from(const struct work *work, const struct stv_cask_told *told, size_t idx,
                       struct stv_fit_observation *out)
{
    size_t from = told[idx].from_idx;
    if (from == SIZE_MAX || from == idx)
        return;
    const struct stv_cask_observation *then = &work->request->observations[from];
    size_t moment = stv_days_find(work->probe.days_d[then->cask_idx],
                                  work->probe.n_days[then->cask_idx], then->day_d);
    out->from = (struct stv_fit_from){true, moment, then->value};
    out->error *= hypot(1.0, then->error / work->request->observations[idx].error);
}

/* The observations as the fit takes them. */
static void list_figures(struct work *work, const struct stv_cask_told *told)
{
    const struct stv_cask_learning_request *request = work->request;
    for (size_t i = 0; i < request->n_observations; i++) {
        const struct stv_cask_observation *seen = &request->observations[i];
        size_t moment = stv_days_find(work->probe.days_d[seen->cask_idx],
                                      work->probe.n_days[seen->cask_idx], seen->day_d);
        work->figures[i] = (struct stv_fit_observation){
            .cask_idx = seen->cask_idx,
            .moment_idx = moment,
            .kind = seen->kind,
            .value = seen->value,
            .error = told[i].is_left_out ? LEFT_OUT_FACTOR * seen->error : seen->error,
            .scale_idx = seen->scale_idx,
            .is_unmixed = seen->is_unmixed,
            .day_d = seen->day_d};
        count_from(work, told, i, &work->figures[i]);
    }
    work->problem.n_observations = request->n_observations;
}

/* The observations of each cask, in their order. */
static enum stv_status sort_by_cask(struct work *work)
{
    const struct stv_cask_learning_request *request = work->request;
    size_t n_casks = request->house.ledger->n_casks;
    work->first_of = calloc(n_casks + 2, sizeof *work->first_of);
    work->order = calloc(request->n_observations + 1, sizeof *work->order);
    if (!work->first_of || !work->order)
        return STV_E_MEMORY;
    for (size_t i = 0; i < request->n_observations; i++)
        work->first_of[request->observations[i].cask_idx + 2]++;
    for (size_t c = 0; c < n_casks; c++)
        work->first_of[c + 2] += work->first_of[c + 1];
    /* Each start is pushed on to the next one as its cask fills. */
    for (size_t i = 0; i < request->n_observations; i++)
        work->order[work->first_of[request->observations[i].cask_idx + 1]++] = i;
    return STV_OK;
}

static enum stv_status work_new(const struct stv_cask_learning_request *request, struct work *out)
{
    int64_t **days_d;
    size_t *n_days;
    *out = (struct work){.request = request};
    enum stv_status status = list_days(request, &days_d, &n_days);
    if (status == STV_OK)
        status = stv__cask_probe_new(&request->house, days_d, n_days, &out->probe);
    else
        out->probe = (struct stv__cask_probe){
            .n_casks = request->house.ledger->n_casks, .days_d = days_d, .n_days = n_days};
    out->figures = calloc(request->n_observations + 1, sizeof *out->figures);
    out->leaks = malloc((request->house.ledger->n_casks + 1) * sizeof *out->leaks);
    for (size_t c = 0; out->leaks && c < request->house.ledger->n_casks; c++)
        out->leaks[c] = stv__probe_no_leak;
    if (status == STV_OK)
        status = sort_by_cask(out);
    if (status == STV_OK && !(out->figures && out->leaks))
        status = STV_E_MEMORY;
    out->probe.leaks = out->leaks;
    if (status == STV_OK && stv__cask_probe_top(&out->probe) > STV_FIT_TOP_MOST)
        status = STV_E_DOMAIN;
    if (status == STV_OK)
        out->problem = (struct stv_fit_problem){
            .n_top = stv__cask_probe_top(&out->probe),
            .n_own = STV_OWN_SCORE_N,
            .n_casks = request->house.ledger->n_casks,
            .n_scales = request->n_scales,
            .n_moments = out->probe.n_days,
            .tares = request->tares,
            .scales = request->scales,
            .ready = request->ready,
            .observations = out->figures,
            .predict = stv__cask_probe_tell,
            .context = &out->probe,
            .near_enough_nd = NEAR_ENOUGH_ND,
        };
    return status;
}

static void work_free(struct work *work)
{
    stv__cask_probe_free(&work->probe);
    free(work->leaks);
    free(work->figures);
    free(work->first_of);
    free(work->order);
}

static struct stv__judging judging_of(const struct work *work,
                                      const struct stv_cask_learning *learning,
                                      const struct stv_fit_then *apart)
{
    return (struct stv__judging){.request = work->request,
                                 .first_of = work->first_of,
                                 .order = work->order,
                                 .days_d = work->probe.days_d,
                                 .leaks = work->leaks,
                                 .fit = &learning->fit,
                                 .told = learning->told,
                                 .apart = apart};
}

static double bare_error(double error_with, double own)
{
    return sqrt(fmax(1e-12, error_with * error_with - own * own));
}

/* Figures of a gauge that was misread, and amounts of liquid once a leak is likelier than not,
 * until it is stopped or the cask filled again. */
static void leave_out(const struct work *work, const struct stv_cask_verdict *verdict,
                      struct stv_cask_told *told)
{
    const struct stv_cask_learning_request *request = work->request;
    bool is_misread = stv__is_misread(verdict);
    bool is_leak = verdict->odds.leak_frac > STV_LIKELIER_FRAC;
    if (!is_misread && !is_leak)
        return;
    for (size_t k = work->first_of[verdict->cask_idx]; k < work->first_of[verdict->cask_idx + 1];
         k++) {
        size_t i = work->order[k];
        const struct stv_cask_observation *seen = &request->observations[i];
        bool is_amount = stv__is_amount(seen);
        bool is_figure = is_amount || seen->kind == STV_FIT_STRENGTH;
        if (is_misread && seen->day_d == verdict->day_d && is_figure)
            told[i].is_left_out = true;
        const struct stv_event *begin =
            stv__spirit_begin(request->house.ledger, seen->cask_idx, seen->day_d);
        bool has_begun =
            seen->day_d >= verdict->day_d && (!begin || begin->day_d <= verdict->day_d);
        if (is_leak && is_amount && has_begun &&
            stv_leak_stopped_day(request->house.ledger, (int)verdict->cask_idx,
                                 verdict->since_day_d) > seen->day_d)
            told[i].is_left_out = true;
    }
}

static enum stv_status fit_once(struct work *work, struct stv_cask_told *told,
                                struct stv_cask_learning *out)
{
    struct stv_fit_then *then = calloc(work->request->n_observations + 1, sizeof *then);
    enum stv_status status =
        stv__cask_probe_freeze(&work->probe, out->fit.shared_nd ? &out->fit : NULL);
    stv_fit_free(&out->fit);
    list_figures(work, told);
    if (status == STV_OK)
        status = then ? stv_fit_learn(&work->problem, &out->fit) : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_fit_predicted_then(&work->problem, &out->fit, then);
    for (size_t i = 0; i < work->problem.n_observations && status == STV_OK; i++) {
        told[i].then_nd = then[i].value;
        told[i].then_error_nd = told[i].is_left_out
                                    ? hypot(bare_error(then[i].error, work->figures[i].error),
                                            work->figures[i].error / LEFT_OUT_FACTOR)
                                    : then[i].error;
    }
    free(then);
    return status;
}

/* What each figure should have been but for its own gauge.  A leak or a slip that the fit took as
 * right has drawn the cask's own scores far away: everything is told from nearer the middle. */
static enum stv_status tell_apart(const struct work *work, const struct stv_fit *fit,
                                  struct stv_fit_then *out)
{
    struct stv_fit near = *fit;
    size_t n = fit->n_casks * fit->n_block;
    near.block_nd = malloc((n + 1) * sizeof *near.block_nd);
    if (!near.block_nd)
        return STV_E_MEMORY;
    for (size_t i = 0; i < n; i++)
        near.block_nd[i] = fmax(-NEAR_MIDDLE_ND, fmin(NEAR_MIDDLE_ND, fit->block_nd[i]));
    enum stv_status status = stv_fit_predicted_apart(&work->problem, &near, out);
    for (size_t i = 0; i < work->problem.n_observations && status == STV_OK; i++)
        out[i].error = bare_error(out[i].error, work->figures[i].error);
    free(near.block_nd);
    return status;
}

/* Leaks that were stopped, and what their gauges say they took. */
static void reckon_leaks(struct work *work, const struct stv_cask_learning *learning)
{
    const struct stv_ledger *ledger = work->request->house.ledger;
    for (size_t e = 0; e < ledger->n_events; e++) {
        struct stv_posterior_leak leak;
        size_t cask = (size_t)ledger->events[e].cask_idx;
        if (ledger->events[e].kind != STV_EVENT_LEAK_STOPPED)
            continue;
        stv__cask_leak_set(ledger, learning, cask, &leak);
        work->leaks[cask] = stv__is_sure_leak(&leak)
                                ? (struct stv__probe_leak){leak.per_y, leak.from_d, leak.to_d}
                                : stv__probe_no_leak;
    }
}

/* Judges every gauge afresh, and leaves out what is to be left out. */
static enum stv_status judge_all(struct work *work, struct stv_cask_learning *out)
{
    size_t n_moments = 0;
    for (size_t c = 0; c < work->problem.n_casks; c++)
        n_moments += work->probe.n_days[c];
    free(out->verdicts);
    out->n_verdicts = 0;
    out->verdicts = calloc(n_moments + 1, sizeof *out->verdicts);
    struct stv_fit_then *apart = calloc(work->problem.n_observations + 1, sizeof *apart);
    enum stv_status status = out->verdicts && apart ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = tell_apart(work, &out->fit, apart);
    const struct stv__judging judging = judging_of(work, out, apart);
    stv__leave_out_first(&judging, out->told);
    for (size_t c = 0; c < work->problem.n_casks && status == STV_OK; c++) {
        size_t first = out->n_verdicts;
        for (size_t m = 0; m < work->probe.n_days[c]; m++) {
            struct stv_cask_verdict *verdict = &out->verdicts[out->n_verdicts];
            if (!stv__gauge_judge(&judging, (struct stv__gauge_moment){c, m}, verdict))
                continue;
            leave_out(work, verdict, out->told);
            out->n_verdicts++;
        }
        stv__mark_agreeing(out->verdicts + first, out->n_verdicts - first);
        for (size_t v = first; v < out->n_verdicts; v++)
            if (out->verdicts[v].agrees)
                leave_out(work, &out->verdicts[v], out->told);
    }
    stv__count_from_stops(&judging, out);
    reckon_leaks(work, out);
    free(apart);
    return status;
}

/* Amounts were left out for a leak that later gauges do not bear out: they count again, but for
 * those of a day that the air alone explains no better than a slip. */
static bool count_again(const struct work *work, struct stv_cask_learning *learning)
{
    bool is_any = false;
    for (size_t i = 0; i < work->request->n_observations; i++) {
        const struct stv_cask_observation *seen = &work->request->observations[i];
        const struct stv_cask_verdict *verdict = stv__verdict_on(learning, seen);
        if (!learning->told[i].is_left_out || seen->is_set_aside || !stv__is_amount(seen) ||
            learning->told[i].from_idx == i || (verdict && stv__is_misread(verdict)))
            continue;
        const struct stv_ledger *ledger = work->request->house.ledger;
        struct stv_posterior_leak leak;
        stv__cask_leak_set(ledger, learning, seen->cask_idx, &leak);
        learning->told[i].is_left_out =
            leak.chance_frac > STV_LIKELIER_FRAC ||
            (verdict &&
             stv_slip_if_no_leak(ledger, (int)verdict->cask_idx, verdict->since_day_d,
                                 verdict->odds.misread_frac, verdict->odds.evaporation_frac));
        is_any = is_any || !learning->told[i].is_left_out;
    }
    return is_any;
}

static void fill_entry(const struct stv_ledger *ledger, const struct stv_cask_learning *learning,
                       size_t cask_idx, uint64_t key, struct stv_posterior_cask *entry)
{
    const struct stv_fit *fit = &learning->fit;
    const double *chol = fit->block_chol_nd + cask_idx * fit->n_block * fit->n_block;
    *entry = (struct stv_posterior_cask){.key = key};
    for (size_t i = 0; i < STV_OWN_SCORE_N; i++) {
        entry->mean_nd[i] = fit->block_nd[cask_idx * fit->n_block + i];
        for (size_t j = 0; j <= i; j++)
            entry->chol_nd[i][j] = chol[i * fit->n_block + j];
    }
    stv__cask_leak_set(ledger, learning, cask_idx, &entry->leak);
}

/* How much a leak took, where what was learned since tells what the air alone would have left. */
static void tell_leak(const struct stv__probe_leak *reckoned, int64_t day_d, double told_l,
                      struct stv_posterior_leak *leak)
{
    if (stv__is_sure_leak(leak) && day_d == leak->found_d)
        leak->per_y = fmax(STV__LEAK_LEAST_PER_Y,
                           reckoned->per_y + log(told_l / leak->found_l) / leak->leaking_y);
}

/* The figure of a moment that a cask's trials may be held to; SIZE_MAX without. */
static size_t last_figure(const struct work *work, const struct stv_cask_learning *learning,
                          struct stv__gauge_moment at, enum stv_last last)
{
    const struct stv__judging judging = judging_of(work, learning, NULL);
    struct stv__gauge_figures figures = stv__gauge_figures_of(
        &judging, at.cask_idx, work->probe.days_d[at.cask_idx][at.moment_idx]);
    size_t figure = last == STV_LAST_VOLUME20_L ? figures.volume : figures.strength;
    bool counts = figure != SIZE_MAX && (!learning->told[figure].is_left_out ||
                                         learning->told[figure].from_idx == figure);
    return counts ? figure : SIZE_MAX;
}

/* The first gauge that a figure counts from, one after the other; INT64_MIN: it is there whole. */
static int64_t first_from(const struct work *work, const struct stv_cask_learning *learning,
                          size_t figure)
{
    size_t from = learning->told[figure].from_idx;
    if (from == SIZE_MAX || from == figure)
        return INT64_MIN;
    while (learning->told[from].from_idx != from)
        from = learning->told[from].from_idx;
    return work->request->observations[from].day_d;
}

/* Takes from a last figure what was there on the day that it counts from. */
static void take_off(const struct stv_fit_moment *then, size_t quantity, size_t n_top,
                     struct stv_posterior_last *last, double *by_shared)
{
    last->value -= then->value[quantity];
    for (size_t i = 0; i < STV_OWN_SCORE_N; i++)
        last->by_own_nd[i] -= then->by_own_nd[quantity][i];
    for (size_t i = 0; i < n_top; i++)
        by_shared[i] -= then->by_top_nd[quantity][i];
}

/* The last figure of a kind, from what each moment tells. */
static void set_one_last(const struct work *work, const struct stv_cask_learning *learning,
                         size_t cask_idx, enum stv_last which, const struct stv_fit_moment *moments,
                         struct stv_posterior_cask *entry, double *by_shared)
{
    static const size_t quantities[STV_LAST_N] = {
        [STV_LAST_VOLUME20_L] = STV_FIT_VOLUME20_L, [STV_LAST_ABV20_FRAC] = STV_FIT_ABV20_FRAC};
    const struct stv_fit *fit = &learning->fit;
    const int64_t *days_d = work->probe.days_d[cask_idx];
    size_t n = work->probe.n_days[cask_idx], q = quantities[which], figure = SIZE_MAX, m = n;
    struct stv_posterior_last *last = &entry->last[which];
    while (m > 0 && figure == SIZE_MAX)
        figure = last_figure(work, learning, (struct stv__gauge_moment){cask_idx, --m}, which);
    *last = (struct stv_posterior_last){.day_d = INT64_MIN, .from_d = INT64_MIN};
    if (figure == SIZE_MAX)
        return;
    last->day_d = days_d[m];
    last->value = moments[m].value[q];
    memcpy(last->by_own_nd, moments[m].by_own_nd[q], sizeof last->by_own_nd);
    memcpy(by_shared, moments[m].by_top_nd[q], fit->n_top * sizeof *by_shared);
    if (which != STV_LAST_VOLUME20_L)
        return;
    tell_leak(&work->leaks[cask_idx], last->day_d, last->value, &entry->leak);
    last->from_d = first_from(work, learning, figure);
    if (last->from_d != INT64_MIN)
        take_off(&moments[stv_days_find(days_d, n, last->from_d)], q, fit->n_top, last, by_shared);
}

/* What its last gauges are held to by what was learned.
 * by_shared    STV_LAST_N x n_shared */
static enum stv_status set_last(const struct work *work, const struct stv_cask_learning *learning,
                                size_t cask_idx, struct stv_posterior_cask *entry,
                                double *by_shared)
{
    const struct stv_fit *fit = &learning->fit;
    struct stv_fit_moment *moments = calloc(work->probe.n_days[cask_idx], sizeof *moments);
    if (!moments)
        return STV_E_MEMORY;
    enum stv_status status =
        work->problem.predict(work->problem.context, cask_idx, fit->shared_nd,
                              fit->block_nd + cask_idx * fit->n_block, moments);
    for (int k = 0; k < STV_LAST_N && status == STV_OK; k++)
        set_one_last(work, learning, cask_idx, (enum stv_last)k, moments, entry,
                     by_shared + (size_t)k * fit->n_shared);
    free(moments);
    return status;
}

/* Casks that something was seen of, in the order of their keys. */
static enum stv_status fill_casks(const struct work *work, struct stv_cask_learning *learning)
{
    struct stv_posterior *posterior = &learning->posterior;
    const struct stv_fit *fit = &learning->fit;
    const uint64_t *keys = work->probe.ensemble.cask_keys;
    size_t n = posterior->n_shared;
    posterior->casks = calloc(fit->n_casks + 1, sizeof *posterior->casks);
    posterior->by_shared_nd =
        calloc((fit->n_casks + 1) * STV_OWN_SCORE_N * n, sizeof *posterior->by_shared_nd);
    posterior->last_by_shared_nd =
        calloc((fit->n_casks + 1) * STV_LAST_N * n, sizeof *posterior->last_by_shared_nd);
    if (!posterior->casks || !posterior->by_shared_nd || !posterior->last_by_shared_nd)
        return STV_E_MEMORY;
    for (size_t c = 0; c < fit->n_casks; c++)
        if (work->probe.n_days[c])
            fill_entry(work->request->house.ledger, learning, c, keys[c],
                       &posterior->casks[posterior->n_casks++]);
    stv__posterior_sort_casks(posterior);
    enum stv_status worst = STV_OK;
#pragma omp parallel for schedule(dynamic)
    for (size_t c = 0; c < fit->n_casks; c++) {
        const struct stv_posterior_cask *found = stv_posterior_find(posterior, keys[c]);
        if (!work->probe.n_days[c] || !found)
            continue;
        size_t at = (size_t)(found - posterior->casks);
        memcpy(posterior->by_shared_nd + at * STV_OWN_SCORE_N * n,
               fit->by_shared_nd + c * fit->n_block * n,
               STV_OWN_SCORE_N * n * sizeof *fit->by_shared_nd);
        enum stv_status status = set_last(work, learning, c, &posterior->casks[at],
                                          posterior->last_by_shared_nd + at * STV_LAST_N * n);
#pragma omp critical
        worst = status != STV_OK ? status : worst;
    }
    return worst;
}

static enum stv_status fill_posterior(const struct work *work, struct stv_cask_learning *learning)
{
    struct stv_posterior *posterior = &learning->posterior;
    const struct stv_fit *fit = &learning->fit;
    const struct stv__cask_kinds *kinds = &work->probe.ensemble.kinds;
    size_t n = fit->n_shared;
    *posterior = (struct stv_posterior){
        .n_kinds = kinds->n,
        .n_shared = n,
        .kind_keys = malloc((kinds->n + 1) * sizeof *posterior->kind_keys),
        .mean_nd = malloc((n + 1) * sizeof *posterior->mean_nd),
        .chol_nd = malloc((n * n + 1) * sizeof *posterior->chol_nd),
    };
    if (!posterior->kind_keys || !posterior->mean_nd || !posterior->chol_nd)
        return STV_E_MEMORY;
    memcpy(posterior->kind_keys, kinds->keys, kinds->n * sizeof *kinds->keys);
    memcpy(posterior->mean_nd, fit->shared_nd, n * sizeof *fit->shared_nd);
    memcpy(posterior->chol_nd, fit->shared_chol_nd, n * n * sizeof *fit->shared_chol_nd);
    for (size_t t = 0; t < 2; t++) {
        learning->ready_ln_nd[t] = fit->threshold_ln_nd[t + 1];
        learning->ready_error_ln_nd[t] = fit->threshold_error_ln_nd[t + 1];
    }
    return fill_casks(work, learning);
}

/* The cask whose own scores lie furthest from what is likely. */
static size_t furthest_cask(const struct stv_fit *fit)
{
    size_t worst = 0;
    double most_nd = -1.0;
    for (size_t c = 0; fit->block_nd && c < fit->n_casks; c++) {
        double square_nd = 0.0;
        for (size_t i = 0; i < fit->n_block; i++)
            square_nd += pow(fit->block_nd[c * fit->n_block + i], 2.0);
        worst = square_nd > most_nd ? c : worst;
        most_nd = fmax(most_nd, square_nd);
    }
    return worst;
}

/* Leaves out, until they are judged, all figures of the cask that holds the fit up; false when they
 * were. */
static bool leave_furthest_out(const struct work *work, const struct stv_fit *fit,
                               struct stv_cask_told *told)
{
    size_t cask_idx = furthest_cask(fit);
    bool is_any = false;
    for (size_t k = work->first_of[cask_idx]; k < work->first_of[cask_idx + 1]; k++) {
        size_t i = work->order[k];
        is_any = is_any || !told[i].is_left_out;
        told[i].is_left_out = true;
    }
    return is_any;
}

/* A steep leak taken for evaporation may lie further than any fit can go: it is judged by what the
 * other casks say. */
static enum stv_status fit_first(struct work *work, struct stv_cask_learning *out)
{
    enum stv_status status = fit_once(work, out->told, out);
    while (status == STV_E_NO_CONVERGENCE && leave_furthest_out(work, &out->fit, out->told))
        status = fit_once(work, out->told, out);
    return status;
}

enum stv_status stv_cask_learn(const struct stv_cask_learning_request *request,
                               struct stv_cask_learning *out)
{
    struct work work;
    *out = (struct stv_cask_learning){0};
    if (request->n_observations == 0)
        return STV_E_NO_DATA;
    out->told = calloc(request->n_observations, sizeof *out->told);
    enum stv_status status = work_new(request, &work);
    if (status == STV_OK && !out->told)
        status = STV_E_MEMORY;
    if (status == STV_OK) {
        const struct stv__judging judging = judging_of(&work, out, NULL);
        stv__leave_out_first(&judging, out->told);
        stv__count_from_stops(&judging, out);
        status = fit_first(&work, out);
    }
    for (size_t i = 0; i < REFINED && status == STV_OK; i++) {
        status = judge_all(&work, out);
        if (status == STV_OK)
            status = fit_once(&work, out->told, out);
    }
    if (status == STV_OK && count_again(&work, out))
        status = fit_once(&work, out->told, out);
    if (status == STV_OK)
        status = fill_posterior(&work, out);
    work_free(&work);
    size_t furthest = furthest_cask(&out->fit);
    if (status != STV_OK)
        stv_cask_learning_free(out);
    out->stuck_cask_idx = furthest;
    return status;
}

void stv_cask_learning_free(struct stv_cask_learning *learning)
{
    stv_posterior_free(&learning->posterior);
    stv_fit_free(&learning->fit);
    free(learning->told);
    free(learning->verdicts);
    *learning = (struct stv_cask_learning){0};
}
