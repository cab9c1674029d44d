/* Casks are chosen by their middle values (bottling_choice.c), judged by all draws at once, and
 * chosen again with more to spare until 19 draws in 20 have what is wanted.  At last each is held
 * against every cask that is left, draw by draw, for middle values do not know which fail together.
 */
#include "model/bottling_work.h"
#include "model/calendar.h"
#include "model/days.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define SERVES_FRAC 0.5      /* a cask is looked at when most draws let it serve */
#define ROUNDS_MOST 8        /* of a choice made more careful */
#define STEP_ABV_FRAC 0.0025 /* how much more careful a round makes a marriage's strength ... */
#define STEP_WOOD_SHARE 0.05 /* ... and its wood, as a share of what is allowed */
#define LEAST_STEP_NEED 1.01
#define HASTE_COST 0.2 /* a cask that would wait a year unharmed costs that much: judgement */
#define LEAST_ODDS_FRAC 0.02
#define BEST_OF_MANY_ERRORS 3.0 /* the luckiest of some hundred equals looks that much better */
#define SWEEPS_MOST                                                               \
    4 /* of the chosen casks, each against all that are left; the last lists only \
       */

/* --- what the solver is asked ---------------------------------------------------------- */

static double share_ok(const struct stv__bottling_work *work, size_t wish_idx, int cask_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t ok = 0;
    if (!stv__is_old_enough(work, wish_idx, cask_idx))
        return 0.0;
    for (size_t d = 0; d < work->blend.n_draws; d++)
        ok += stv__strength_does(wish, work->blend.abv20_frac[d]) &&
              stv__wood_does(work->request->rules, work->blend.wood_nd[d]) &&
              work->total_nd[d] >= work->request->least_bottles_nd;
    return (double)ok / (double)work->blend.n_draws;
}

static void ask_of_cask(struct stv__bottling_work *work, size_t wish_idx, int cask_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t at = wish_idx * work->n_casks + (size_t)cask_idx;
    size_t n = work->blend.n_draws;
    struct stv__choice_cask *out = &work->casks[at];
    *out = (struct stv__choice_cask){0};
    work->ok_frac[at] = work->over_frac[at] = 0.0;
    if (!stv__spirit_of(work, wish_idx, cask_idx).is_there)
        return;
    double later = 0.0;
    if (work->later_idx[wish_idx] != SIZE_MAX) {
        stv__one_cask(work, wish_idx, cask_idx, work->later_idx[wish_idx]);
        later = stv__over_frac(work);
    }
    stv__one_cask(work, wish_idx, cask_idx, work->day_idx[wish_idx]);
    work->ok_frac[at] = share_ok(work, wish_idx, cask_idx);
    work->over_frac[at] = stv__over_frac(work);
    /* Of a marriage the mean counts: a cask that is over may make up for one that is short. */
    bool is_near = wish->is_married ? stv__is_old_enough(work, wish_idx, cask_idx)
                                    : work->ok_frac[at] >= SERVES_FRAC;
    double bottles_nd =
        stv__middle_nd(work->total_nd, n) - (wish->is_married ? 0.0 : wish->kept_back_nd);
    double haste = fmax(0.0, later - work->over_frac[at]);
    *out = (struct stv__choice_cask){
        .may_serve = is_near && bottles_nd > 0.0 && !stv__is_barred(work, wish_idx, cask_idx),
        .bottles_nd = bottles_nd,
        .cost_nd = HASTE_COST * (1.0 - haste) -
                   (wish->is_married ? 0.0 : log(fmax(LEAST_ODDS_FRAC, work->ok_frac[at]))),
        .volume20_l = stv__middle_nd(work->blend.volume20_l, n),
        .lpa_l = stv__middle_nd(work->blend.lpa_l, n),
        .wood_nd = stv__middle_nd(work->blend.wood_nd, n),
    };
}

static void ask_of_wish(struct stv__bottling_work *work, size_t wish_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    const struct stv_house_rules *rules = work->request->rules;
    bool is_in_series = false;
    for (size_t w = 0; w < work->request->n_wishes; w++)
        is_in_series |= w != wish_idx && stv__wish_at(work, w)->series_idx == wish->series_idx;
    work->wishes[wish_idx] = (struct stv__choice_wish){
        .bottles_nd = wish->bottles_nd +
                      (wish->is_married && wish->bottles_nd > 0.0 ? wish->kept_back_nd : 0.0),
        .n_casks = wish->n_casks,
        .is_married = wish->is_married,
        .least_abv20_frac = wish->least_abv20_frac,
        .most_abv20_frac = wish->is_as_drawn ? wish->most_abv20_frac : 1.0,
        .wood_least_nd = rules->wood_least_nd,
        .wood_most_nd = rules->wood_most_nd,
        .series_idx = wish->series_idx,
        .is_in_series = is_in_series,
        .is_impossible = work->wishes[wish_idx].is_impossible,
    };
    for (size_t c = 0; c < work->n_casks; c++)
        ask_of_cask(work, wish_idx, (int)c);
}

/* What all casks together could not give, fit or not, takes none from the other wishes. */
static void leave_impossible(struct stv__bottling_work *work, size_t wish_idx)
{
    size_t n_casks = work->n_casks, n_house = 0;
    struct stv__choice_cask *casks = &work->casks[wish_idx * n_casks];
    struct stv__choice_wish *ask = &work->wishes[wish_idx];
    double house_nd = 0.0;
    for (size_t c = 0; c < n_casks; c++) {
        size_t n_alike = casks[c].bottles_nd > 0.0 ? stv__stands_for(work->request, c) : 0;
        house_nd += n_alike > 0 ? (double)n_alike * casks[c].bottles_nd : 0.0;
        n_house += n_alike;
    }
    ask->is_impossible = n_house > 0 && (house_nd < ask->bottles_nd || n_house < ask->n_casks);
    for (size_t c = 0; ask->is_impossible && c < n_casks; c++)
        casks[c].may_serve = 0;
}

/* --- the choice, made more careful ----------------------------------------------------- */

/* Asks for more where the draws say that it takes more; true when it did. */
static bool ask_more(struct stv__bottling_work *work, size_t wish_idx,
                     const struct stv__judged *judged)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    struct stv__choice_wish *ask = &work->wishes[wish_idx];
    double width = work->request->rules->wood_most_nd - work->request->rules->wood_least_nd;
    bool is_more = false;
    double missing_nd = stv__missing_nd(wish, judged->careful_nd);
    if (missing_nd > 0.0) {
        /* On top of what the choice has in the middle: less would not move the solver. */
        double kept_nd = wish->is_married ? wish->kept_back_nd : 0.0;
        ask->bottles_nd =
            fmax(LEAST_STEP_NEED * ask->bottles_nd, judged->bottles_nd.p50 + kept_nd + missing_nd);
        is_more = true;
    }
    if (wish->is_married && judged->strength_frac < STV__SURE_FRAC) {
        ask->least_abv20_frac += STEP_ABV_FRAC;
        ask->most_abv20_frac -= wish->is_as_drawn ? STEP_ABV_FRAC : 0.0;
        is_more = true;
    }
    if (wish->is_married && judged->wood_frac < STV__SURE_FRAC) {
        ask->wood_least_nd += STEP_WOOD_SHARE * width;
        ask->wood_most_nd -= STEP_WOOD_SHARE * width;
        is_more = true;
    }
    return is_more;
}

static double odds_score(double all_frac)
{
    return log(fmax(LEAST_ODDS_FRAC, all_frac));
}

/* Higher is better: nothing missing, then odds. */
static double score_of(const struct stv_planned_bottling *wish, const struct stv__judged *judged,
                       size_t n_casks)
{
    double missing = 0.0;
    if (wish->bottles_nd > 0.0)
        missing += stv__missing_nd(wish, judged->careful_nd) / wish->bottles_nd;
    if (wish->n_casks > n_casks)
        missing += (double)(wish->n_casks - n_casks) / (double)wish->n_casks;
    return odds_score(judged->all_frac) - 10.0 * missing;
}

/* A cask that stands for others too may be in a wish's list several times: by middle values it is
 * as they are. */
static size_t list_taken(const struct stv__bottling_work *work, size_t wish_idx, int *out)
{
    size_t n = 0, n_casks = work->n_casks;
    for (size_t c = 0; c < n_casks; c++)
        for (size_t i = 0; i < work->taken[wish_idx * n_casks + c]; i++)
            out[n++] = (int)c;
    return n;
}

/* n_most  per cask, NULL: not asked; raised to what a round takes of it in all */
static void raise_most(const struct stv__bottling_work *work, size_t *n_most)
{
    size_t n_casks = work->n_casks;
    for (size_t c = 0; n_most && c < n_casks; c++) {
        size_t n = 0;
        for (size_t w = 0; w < work->request->n_wishes; w++)
            n += work->taken[w * n_casks + c];
        n_most[c] = n > n_most[c] ? n : n_most[c];
    }
}

static enum stv_status choose(struct stv__bottling_work *work, size_t *out_rounds, size_t *n_most)
{
    const struct stv_bottling_plan_request *request = work->request;
    size_t n_casks = work->n_casks;
    const struct stv__choice choice = {work->wishes,
                                       request->n_wishes,
                                       n_casks,
                                       work->casks,
                                       n_most ? request->n_alike : NULL,
                                       request->lot_of_cask};
    double best = -INFINITY;
    bool is_more = true;
    enum stv_status status = STV_OK;
    *out_rounds = 0;
    while (is_more && *out_rounds < ROUNDS_MOST && status == STV_OK) {
        double score = 0.0;
        is_more = false;
        status = stv__choose(&choice, work->taken);
        for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++) {
            size_t n = list_taken(work, w, work->list);
            struct stv__judged judged = stv__judge(work, w, work->list, n, work->day_idx[w]);
            score += score_of(stv__wish_at(work, w), &judged, n);
            is_more |= !work->wishes[w].is_impossible && ask_more(work, w, &judged);
        }
        if (status == STV_OK)
            raise_most(work, n_most);
        if (status == STV_OK && score > best) {
            best = score;
            memcpy(work->best_taken, work->taken,
                   request->n_wishes * n_casks * sizeof *work->taken);
        }
        ++*out_rounds;
    }
    return status;
}

/* --- each chosen cask against those that are left ------------------------------------------ */

/* Higher is better: the odds, then bottles where no number of them is wanted. */
static double score_instead(const struct stv__bottling_work *work, size_t wish_idx,
                            const struct stv__judged *judged, size_t n_casks, double all_nd)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    double fewer = wish->bottles_nd > 0.0 ? 0.0 : fmin(0.0, judged->bottles_nd.p50 - all_nd);
    return score_of(wish, judged, n_casks) + fewer / fmax(1.0, all_nd);
}

/* The best cask that no bottling takes in the stead of the at-th of a wish's; true when that
 * betters the whole by more than a tie and more than chance among so many lets one look. */
static bool find_instead(struct stv__bottling_work *work, size_t wish_idx, size_t at)
{
    size_t n_casks = work->n_casks, n_draws = work->blend.n_draws;
    size_t n = stv__casks_of_wish(work, wish_idx, work->list);
    size_t day_idx = work->day_idx[wish_idx];
    int chosen = work->list[at], instead = -1;
    const struct stv__judged now = stv__judge(work, wish_idx, work->list, n, day_idx);
    double all_nd = now.bottles_nd.p50, best = -INFINITY;
    double least = score_instead(work, wish_idx, &now, n, all_nd) + STV__TIE_FRAC;
    bool is_better = false;
    memcpy(work->did, work->does, n_draws);
    stv__judge_rest(work, wish_idx, work->list, n, at, day_idx);
    for (size_t c = 0; c < n_casks; c++) {
        if (work->best_of_cask[c] != SIZE_MAX || !work->casks[wish_idx * n_casks + c].may_serve)
            continue;
        struct stv__judged judged = stv__judge_odds_instead(work, wish_idx, (int)c, day_idx);
        if (odds_score(judged.all_frac) <= best)
            continue; /* whatever its bottles, for what is missing only lowers a score */
        stv__judge_bottles(work, &judged);
        double score = score_instead(work, wish_idx, &judged, n, all_nd);
        if (score <= best)
            continue;
        best = score;
        instead = (int)c;
        is_better = score > least && judged.all_frac - now.all_frac >
                                         BEST_OF_MANY_ERRORS * stv__gain_error_frac(work);
    }
    work->instead[chosen] = instead;
    return is_better;
}

/* Holds every chosen cask against those that are left and, when it may, takes the better one. */
static bool sweep(struct stv__bottling_work *work, bool may_take)
{
    bool has_taken = false;
    for (size_t w = 0; w < work->request->n_wishes; w++) {
        size_t n = stv__casks_of_wish(work, w, work->list);
        for (size_t at = 0; at < n; at++) {
            stv__casks_of_wish(work, w, work->list);
            int chosen = work->list[at];
            if (!find_instead(work, w, at) || !may_take)
                continue;
            work->best_of_cask[work->instead[chosen]] = w;
            work->best_of_cask[chosen] = SIZE_MAX;
            has_taken = true;
        }
    }
    return has_taken;
}

static void better_the_choice(struct stv__bottling_work *work)
{
    size_t n_casks = work->n_casks;
    for (size_t c = 0; c < n_casks; c++)
        for (size_t w = 0; w < work->request->n_wishes; w++)
            if (work->best_taken[w * n_casks + c] > 0)
                work->best_of_cask[c] = w;
    for (size_t s = 1; s < SWEEPS_MOST; s++)
        if (!sweep(work, true))
            return;
    sweep(work, false);
}

/* --- the whole ------------------------------------------------------------------------- */

static enum stv_status find_days(struct stv__bottling_work *work)
{
    const struct stv_outlook *outlook = work->outlook;
    for (size_t w = 0; w < work->request->n_wishes; w++) {
        const struct stv_planned_bottling *wish = stv__wish_at(work, w);
        bool is_good = wish->least_abv20_frac > 0.0 && wish->most_abv20_frac <= 1.0 &&
                       wish->least_abv20_frac <= wish->most_abv20_frac && wish->bottles_nd >= 0.0 &&
                       wish->kept_back_nd >= 0.0 && (wish->bottles_nd > 0.0 || wish->n_casks > 0);
        if (!is_good)
            return STV_E_DOMAIN;
        work->day_idx[w] = stv_days_find(outlook->days_d, outlook->n_days, wish->day_d);
        if (work->day_idx[w] == outlook->n_days)
            return STV_E_NO_DATA;
        work->later_idx[w] = stv_days_find(outlook->days_d, outlook->n_days,
                                           stv_day_add_months(wish->day_d, STV_MONTHS));
        if (work->later_idx[w] == outlook->n_days)
            work->later_idx[w] = SIZE_MAX;
    }
    return STV_OK;
}

static enum stv_status work_new(const struct stv_bottling_plan_request *request,
                                struct stv__bottling_work *work)
{
    size_t n_wishes = request->n_wishes, n_casks = request->outlook->n_casks;
    size_t n_cells = n_wishes * n_casks + 1, n_draws = request->outlook->n_draws, n_house = 0;
    for (size_t c = 0; c < n_casks; c++)
        n_house += stv__stands_for(request, c);
    *work = (struct stv__bottling_work){
        .request = request, .outlook = request->outlook, .n_casks = n_casks};
    work->told_at = malloc((n_casks + 1) * sizeof *work->told_at);
    work->day_idx = malloc((n_wishes + 1) * sizeof *work->day_idx);
    work->later_idx = malloc((n_wishes + 1) * sizeof *work->later_idx);
    work->lineages = calloc(n_wishes + 1, sizeof(struct stv_lineage *));
    work->wishes = calloc(n_wishes + 1, sizeof *work->wishes);
    work->casks = calloc(n_cells, sizeof *work->casks);
    work->ok_frac = calloc(n_cells, sizeof *work->ok_frac);
    work->over_frac = calloc(n_cells, sizeof *work->over_frac);
    work->taken = calloc(n_cells, sizeof *work->taken);
    work->best_taken = calloc(n_cells, sizeof *work->best_taken);
    work->best_of_cask = malloc((n_casks + 1) * sizeof *work->best_of_cask);
    work->total_nd = malloc((n_draws + 1) * sizeof *work->total_nd);
    work->other_nd = malloc((n_draws + 1) * sizeof *work->other_nd);
    work->now_nd = malloc((n_draws + 1) * sizeof *work->now_nd);
    work->rest_total_nd = malloc((n_draws + 1) * sizeof *work->rest_total_nd);
    work->rest_other_nd = malloc((n_draws + 1) * sizeof *work->rest_other_nd);
    work->does = malloc(n_draws + 1);
    work->did = malloc(n_draws + 1);
    work->instead = malloc((n_casks + 1) * sizeof *work->instead);
    work->list = malloc((n_house + 1) * sizeof *work->list);
    for (size_t c = 0; c < n_casks && work->best_of_cask; c++)
        work->best_of_cask[c] = SIZE_MAX;
    enum stv_status status = stv__blend_new(n_draws, &work->blend);
    if (status == STV_OK)
        status = stv__blend_new(n_draws, &work->rest);
    if (!work->day_idx || !work->later_idx || !work->lineages || !work->wishes || !work->casks ||
        !work->ok_frac || !work->over_frac || !work->taken || !work->best_taken ||
        !work->best_of_cask || !work->total_nd || !work->other_nd || !work->now_nd ||
        !work->rest_total_nd || !work->rest_other_nd || !work->does || !work->did ||
        !work->instead || !work->list || !work->told_at)
        return STV_E_MEMORY;
    return status;
}

static void work_free(struct stv__bottling_work *work)
{
    for (size_t w = 0; work->lineages && w < work->request->n_wishes; w++)
        stv_lineage_free(work->lineages[w]);
    free(work->lineages);
    stv_outlook_free(&work->told);
    free(work->told_at);
    free(work->day_idx);
    free(work->later_idx);
    free(work->wishes);
    free(work->casks);
    free(work->ok_frac);
    free(work->over_frac);
    free(work->taken);
    free(work->best_taken);
    free(work->best_of_cask);
    free(work->total_nd);
    free(work->other_nd);
    free(work->now_nd);
    free(work->rest_total_nd);
    free(work->rest_other_nd);
    free(work->does);
    free(work->did);
    free(work->instead);
    free(work->list);
    stv__blend_free(&work->blend);
    stv__blend_free(&work->rest);
}

/* The chosen and their substitutes, ascending. */
static size_t list_told(struct stv__bottling_work *work, int *out)
{
    size_t n = 0;
    for (size_t c = 0; c < work->n_casks; c++)
        work->told_at[c] = -1;
    for (size_t c = 0; c < work->n_casks; c++) {
        if (work->best_of_cask[c] == SIZE_MAX)
            continue;
        work->told_at[c] = 0;
        if (work->instead[c] >= 0)
            work->told_at[work->instead[c]] = 0;
    }
    for (size_t c = 0; c < work->n_casks; c++)
        if (work->told_at[c] == 0)
            out[n++] = (int)c;
    return n;
}

/* From the choice to the telling: other trials, in which nothing was chosen. */
static enum stv_status turn_to_told(struct stv__bottling_work *work)
{
    const struct stv_bottling_plan_request *request = work->request;
    size_t n_draws = work->outlook->n_draws, n = list_told(work, work->list);
    if (!request->run_told || n == 0)
        return STV_OK;
    int *at = malloc(n * sizeof *at);
    if (!at)
        return STV_E_MEMORY;
    enum stv_status status =
        request->run_told(request->told_context, work->list, n, &work->told, at);
    for (size_t i = 0; i < n && status == STV_OK; i++)
        work->told_at[work->list[i]] = at[i];
    free(at);
    if (status == STV_OK && work->told.n_draws != n_draws)
        status = STV_E_ARG;
    if (status != STV_OK)
        return status;
    work->outlook = &work->told;
    status = find_days(work);
    for (size_t c = 0; c < work->n_casks && status == STV_OK; c++)
        if (work->best_of_cask[c] != SIZE_MAX)
            ask_of_cask(work, work->best_of_cask[c], (int)c);
    return status;
}

/* Asks of every cask under every wish and lets the solver choose.  Free the work in any case. */
static enum stv_status begin(const struct stv_bottling_plan_request *request, size_t *n_most,
                             struct stv__bottling_work *work, size_t *out_rounds)
{
    enum stv_status status = work_new(request, work);
    if (status == STV_OK)
        status = request->outlook->n_days ? find_days(work) : STV_E_NO_DATA;
    for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++)
        status = stv_lineage_new(request->ledger, request->wishes[w].day_d, &work->lineages[w]);
    for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++) {
        ask_of_wish(work, w);
        leave_impossible(work, w);
    }
    if (status == STV_OK && request->n_wishes > 0)
        status = choose(work, out_rounds, n_most);
    return status;
}

enum stv_status stv_bottling_plan_numbers(const struct stv_bottling_plan_request *request,
                                          size_t *out_n_most)
{
    struct stv__bottling_work work;
    size_t n_rounds = 0;
    memset(out_n_most, 0, request->outlook->n_casks * sizeof *out_n_most);
    enum stv_status status = begin(request, out_n_most, &work, &n_rounds);
    work_free(&work);
    return status;
}

enum stv_status stv_bottling_plan(const struct stv_bottling_plan_request *request,
                                  struct stv_bottling_plan *out)
{
    struct stv__bottling_work work;
    *out = (struct stv_bottling_plan){.n = request->n_wishes};
    out->outcomes = calloc(request->n_wishes + 1, sizeof *out->outcomes);
    enum stv_status status = begin(request, NULL, &work, &out->n_rounds);
    if (!out->outcomes)
        status = STV_E_MEMORY;
    if (status == STV_OK)
        better_the_choice(&work);
    for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++) {
        if (work.wishes[w].is_impossible) /* what could serve, were it less */
            ask_of_wish(&work, w);
        stv__bottling_count(&work, w, &out->outcomes[w]);
    }
    if (status == STV_OK)
        status = turn_to_told(&work);
    for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++)
        status = stv__bottling_tell(&work, w, &out->outcomes[w]);
    work_free(&work);
    if (status != STV_OK)
        stv_bottling_plan_free(out);
    return status;
}

void stv_bottling_plan_free(struct stv_bottling_plan *plan)
{
    for (size_t w = 0; plan->outcomes && w < plan->n; w++)
        free(plan->outcomes[w].casks);
    free(plan->outcomes);
    *plan = (struct stv_bottling_plan){0};
}
