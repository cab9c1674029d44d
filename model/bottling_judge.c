/* What draws say of casks that are taken together: bottles, strength, wood and age, all at once. */
#include "model/bottling_work.h"

#include <math.h>
#include <stdbool.h>
#include <string.h>

/* Draws flatter what was chosen by them; so many standard errors of a share are allowed for that,
 * so that other draws find what is wanted: judgement. */
#define CAREFUL_ERRORS 1.5

const struct stv_planned_bottling *stv__wish_at(const struct stv__bottling_work *work, size_t wish)
{
    return &work->request->wishes[wish];
}

/* Bottles of so much spirit at the strength it is bottled at, after losses. */
static double bottles_of(const struct stv__bottling_work *work,
                         const struct stv_planned_bottling *wish, double lpa_l, double abv20_frac)
{
    const struct stv_house_rules *rules = work->request->rules;
    double bottled_frac = wish->is_as_drawn ? abv20_frac : fmin(abv20_frac, wish->most_abv20_frac);
    return lpa_l * (1.0 - rules->bottling_loss_frac) / (bottled_frac * rules->bottle_l);
}

int stv__strength_does(const struct stv_planned_bottling *wish, double abv20_frac)
{
    return abv20_frac >= wish->least_abv20_frac &&
           (!wish->is_as_drawn || abv20_frac <= wish->most_abv20_frac);
}

int stv__wood_does(const struct stv_house_rules *rules, double wood_nd)
{
    return wood_nd >= rules->wood_least_nd && wood_nd <= rules->wood_most_nd;
}

struct stv_spirit_history stv__spirit_of(const struct stv__bottling_work *work, size_t wish_idx,
                                         int cask_idx)
{
    return stv_lineage_spirit(work->lineages[wish_idx], cask_idx);
}

int stv__is_barred(const struct stv__bottling_work *work, size_t wish_idx, int cask_idx)
{
    const char *is_barred = work->request->is_barred;
    return is_barred && is_barred[wish_idx * work->n_casks + (size_t)cask_idx];
}

int stv__is_old_enough(const struct stv__bottling_work *work, size_t wish_idx, int cask_idx)
{
    int64_t born_d = stv__spirit_of(work, wish_idx, cask_idx).youngest.to_day_d;
    return stv__wish_at(work, wish_idx)->day_d >= stv__old_enough_day(work->request->rules, born_d);
}

void stv__together(struct stv__bottling_work *work, const int *casks, size_t n_casks,
                   size_t day_idx)
{
    stv__blend_sum(work->outlook, casks, 0, day_idx, NULL, &work->blend);
    for (size_t i = 0; i < n_casks; i++) {
        int at = work->outlook == &work->told ? work->told_at[casks[i]] : casks[i];
        stv__blend_sum(work->outlook, &at, 1, day_idx, &work->blend, &work->blend);
    }
    stv__blend_mix(&work->blend);
}

void stv__one_cask(struct stv__bottling_work *work, size_t wish_idx, int cask_idx, size_t day_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    stv__together(work, &cask_idx, 1, day_idx);
    for (size_t d = 0; d < work->blend.n_draws; d++)
        work->total_nd[d] = bottles_of(work, wish, work->blend.lpa_l[d], work->blend.abv20_frac[d]);
}

double stv__middle_nd(double *values_nd, size_t n)
{
    return stv_range_of(values_nd, n).p50;
}

double stv__over_frac(const struct stv__bottling_work *work)
{
    size_t over = 0;
    for (size_t d = 0; d < work->blend.n_draws; d++)
        over += work->blend.wood_nd[d] > work->request->rules->wood_most_nd;
    return (double)over / (double)work->blend.n_draws;
}

/* Which draws fail: bits of the three wishes, and of a cask over the wood allowed. */
enum { FAILS_STRENGTH = 1, FAILS_WOOD = 2, IS_OVER = 4, FAILS_BOTTLES = 8 };

static int fails_of(const struct stv__bottling_work *work, const struct stv_planned_bottling *wish,
                    size_t draw)
{
    const struct stv_house_rules *rules = work->request->rules;
    double wood_nd = work->blend.wood_nd[draw];
    return (stv__strength_does(wish, work->blend.abv20_frac[draw]) ? 0 : FAILS_STRENGTH) |
           (stv__wood_does(rules, wood_nd) ? 0 : FAILS_WOOD) |
           (wood_nd > rules->wood_most_nd ? IS_OVER : 0);
}

static void clear_draws(struct stv__bottling_work *work)
{
    for (size_t d = 0; d < work->blend.n_draws; d++)
        work->total_nd[d] = work->other_nd[d] = 0.0;
}

/* Adds the blend's whole bottles and failures to every draw; `other` holds the failures. */
static void add_liquid(struct stv__bottling_work *work, const struct stv_planned_bottling *wish)
{
    for (size_t d = 0; d < work->blend.n_draws; d++) {
        double bottles = bottles_of(work, wish, work->blend.lpa_l[d], work->blend.abv20_frac[d]) -
                         wish->kept_back_nd;
        work->total_nd[d] += isfinite(bottles) ? fmax(0.0, floor(bottles)) : 0.0;
        work->other_nd[d] = (double)((int)work->other_nd[d] | fails_of(work, wish, d));
    }
}

static void add_single(struct stv__bottling_work *work, const struct stv_planned_bottling *wish,
                       int cask_idx, size_t day_idx)
{
    stv__together(work, &cask_idx, 1, day_idx);
    add_liquid(work, wish);
}

static void add_draws(struct stv__bottling_work *work, size_t wish_idx, const int *casks,
                      size_t n_casks, size_t day_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    clear_draws(work);
    for (size_t i = 0; !wish->is_married && i < n_casks; i++)
        add_single(work, wish, casks[i], day_idx);
    if (!wish->is_married || n_casks == 0)
        return;
    stv__together(work, casks, n_casks, day_idx);
    add_liquid(work, wish);
}

/* Shares of the draws that stand in `total` and `other`. */
static struct stv__judged odds_of_draws(struct stv__bottling_work *work, size_t wish_idx,
                                        bool may_do)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t n = work->blend.n_draws;
    double share = 1.0 / (double)n;
    struct stv__judged judged = {0};
    for (size_t d = 0; d < n; d++) {
        int fails =
            (int)work->other_nd[d] | (work->total_nd[d] >= wish->bottles_nd ? 0 : FAILS_BOTTLES);
        judged.bottles_frac += (fails & FAILS_BOTTLES ? 0.0 : share);
        judged.strength_frac += (fails & FAILS_STRENGTH ? 0.0 : share);
        judged.wood_frac += (fails & FAILS_WOOD ? 0.0 : share);
        judged.over_frac += (fails & IS_OVER ? share : 0.0);
        work->does[d] = fails == 0 && may_do;
        judged.all_frac += (work->does[d] ? share : 0.0);
    }
    return judged;
}

void stv__judge_rest(struct stv__bottling_work *work, size_t wish_idx, const int *casks,
                     size_t n_casks, size_t at, size_t day_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t n = work->blend.n_draws;
    work->rest_may_do = n_casks >= wish->n_casks;
    stv__blend_sum(work->outlook, casks, 0, day_idx, NULL, &work->rest);
    clear_draws(work);
    for (size_t i = 0; i < n_casks; i++) {
        if (i == at)
            continue;
        work->rest_may_do = work->rest_may_do && stv__is_old_enough(work, wish_idx, casks[i]);
        if (wish->is_married)
            stv__blend_sum(work->outlook, casks + i, 1, day_idx, &work->rest, &work->rest);
        else
            add_single(work, wish, casks[i], day_idx);
    }
    memcpy(work->rest_total_nd, work->total_nd, n * sizeof *work->rest_total_nd);
    memcpy(work->rest_other_nd, work->other_nd, n * sizeof *work->rest_other_nd);
}

struct stv__judged stv__judge_odds_instead(struct stv__bottling_work *work, size_t wish_idx,
                                           int cask_idx, size_t day_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t n = work->blend.n_draws;
    bool may_do = work->rest_may_do && stv__is_old_enough(work, wish_idx, cask_idx);
    memcpy(work->total_nd, work->rest_total_nd, n * sizeof *work->total_nd);
    memcpy(work->other_nd, work->rest_other_nd, n * sizeof *work->other_nd);
    stv__blend_sum(work->outlook, &cask_idx, 1, day_idx, wish->is_married ? &work->rest : NULL,
                   &work->blend);
    stv__blend_mix(&work->blend);
    add_liquid(work, wish);
    return odds_of_draws(work, wish_idx, may_do);
}

void stv__judge_bottles(struct stv__bottling_work *work, struct stv__judged *judged)
{
    size_t n = work->blend.n_draws;
    memcpy(work->other_nd, work->total_nd, n * sizeof *work->other_nd);
    judged->bottles_nd = stv_range_of(work->other_nd, n);
    double short_frac = 1.0 - STV__SURE_FRAC;
    double error_frac = sqrt(short_frac * STV__SURE_FRAC / (double)n);
    judged->careful_nd = stv_quantile_nd(work->other_nd, n, /* ascending now */
                                         fmax(0.0, short_frac - CAREFUL_ERRORS * error_frac));
}

struct stv__judged stv__judge(struct stv__bottling_work *work, size_t wish_idx, const int *casks,
                              size_t n_casks, size_t day_idx)
{
    bool may_do = n_casks >= stv__wish_at(work, wish_idx)->n_casks && n_casks > 0;
    add_draws(work, wish_idx, casks, n_casks, day_idx);
    for (size_t i = 0; i < n_casks; i++)
        may_do = may_do && stv__is_old_enough(work, wish_idx, casks[i]);
    struct stv__judged judged = odds_of_draws(work, wish_idx, may_do);
    stv__judge_bottles(work, &judged);
    return judged;
}

double stv__gain_error_frac(const struct stv__bottling_work *work)
{
    double n = (double)work->blend.n_draws, n_apart = 0.0, n_more = 0.0;
    for (size_t d = 0; d < work->blend.n_draws; d++) {
        n_apart += work->does[d] != work->did[d];
        n_more += work->does[d] - work->did[d];
    }
    return sqrt(n_apart - n_more * n_more / n) / n;
}

size_t stv__stands_for(const struct stv_bottling_plan_request *request, size_t cask_idx)
{
    return request->n_alike ? request->n_alike[cask_idx] : 1;
}

size_t stv__casks_of_wish(const struct stv__bottling_work *work, size_t wish_idx, int *out)
{
    size_t n = 0;
    for (size_t c = 0; c < work->n_casks; c++)
        if (work->best_of_cask[c] == wish_idx)
            out[n++] = (int)c;
    return n;
}

double stv__missing_nd(const struct stv_planned_bottling *wish, double least_nd)
{
    return fmax(0.0, wish->bottles_nd - floor(least_nd));
}
