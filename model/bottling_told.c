/* What is told of the casks that were chosen: odds, prices, substitutes and the words of a label,
 * from draws in which nothing was chosen. */
#include "model/bottling_work.h"

#include "model/calendar.h"
#include "model/marry.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define TELL_APART_ERRORS 2.0 /* 19 times in 20 */

static double median_less(struct stv__bottling_work *work)
{
    for (size_t d = 0; d < work->blend.n_draws; d++)
        work->other_nd[d] = work->now_nd[d] - work->total_nd[d];
    return stv__middle_nd(work->other_nd, work->blend.n_draws);
}

/* What comes of it with another cask in the stead of one. */
static void tell_substitute(struct stv__bottling_work *work, size_t wish_idx, size_t at,
                            struct stv_bottling_outcome *out)
{
    struct stv_chosen_cask *chosen = &out->casks[at];
    double all_nd = fmax(1.0, out->bottles_nd.p50);
    size_t n = stv__casks_of_wish(work, wish_idx, work->list);
    chosen->substitute_idx = work->instead[chosen->cask_idx];
    chosen->substitute_bottles_nd = chosen->substitute_all_frac = NAN;
    chosen->substitute_least_nd = NAN;
    if (chosen->substitute_idx < 0)
        return;
    stv__judge(work, wish_idx, work->list, n, work->day_idx[wish_idx]);
    memcpy(work->now_nd, work->total_nd, work->blend.n_draws * sizeof *work->now_nd);
    memcpy(work->did, work->does, work->blend.n_draws);
    work->list[at] = chosen->substitute_idx;
    struct stv__judged judged = stv__judge(work, wish_idx, work->list, n, work->day_idx[wish_idx]);
    chosen->substitute_bottles_nd = -median_less(work);
    chosen->substitute_all_frac = judged.all_frac;
    chosen->substitute_least_nd = judged.bottles_nd.p05;
    double gain_frac = chosen->substitute_all_frac - out->all_frac;
    double tie_frac = fmax(STV__TIE_FRAC, TELL_APART_ERRORS * stv__gain_error_frac(work));
    double tie_nd = STV_BOTTLES_TIE_SHARE * all_nd;
    double filled_nd = out->missing_bottles_nd -
                       stv__missing_nd(stv__wish_at(work, wish_idx), judged.bottles_nd.p05);
    chosen->is_substitute_better =
        gain_frac > tie_frac || (filled_nd > tie_nd && gain_frac >= -tie_frac);
    chosen->has_like_odds = fabs(gain_frac) <= tie_frac;
    chosen->is_tie = chosen->has_like_odds && fabs(chosen->substitute_bottles_nd) <= tie_nd;
}

static void tell_cask(struct stv__bottling_work *work, size_t wish_idx, struct stv_chosen_cask *out)
{
    size_t at = wish_idx * work->n_casks + (size_t)out->cask_idx;
    size_t n = work->blend.n_draws, later_idx = work->later_idx[wish_idx];
    out->ok_frac = work->ok_frac[at];
    out->over_frac = work->over_frac[at];
    out->wait_cost_bottles_nd = out->wait_over_frac = NAN;
    stv__one_cask(work, wish_idx, out->cask_idx, work->day_idx[wish_idx]);
    memcpy(work->now_nd, work->total_nd, n * sizeof *work->now_nd);
    out->bottles_nd = stv_range_of(work->total_nd, n);
    out->abv20_frac = stv_range_of(work->blend.abv20_frac, n);
    out->wood_nd = stv_range_of(work->blend.wood_nd, n);
    if (later_idx == SIZE_MAX)
        return;
    stv__one_cask(work, wish_idx, out->cask_idx, later_idx);
    out->wait_over_frac = stv__over_frac(work);
    out->wait_cost_bottles_nd = median_less(work);
}

/* What the label may say, and what losses take. */
static void tell_label(struct stv__bottling_work *work, size_t wish_idx,
                       struct stv_bottling_outcome *out)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    double loss_frac = work->request->rules->bottling_loss_frac;
    int64_t youngest_d = INT64_MIN;
    out->may_say_single = !wish->is_married || out->n_casks == 1;
    for (size_t i = 0; i < out->n_casks; i++) {
        struct stv_spirit_history spirit = stv__spirit_of(work, wish_idx, out->casks[i].cask_idx);
        int64_t born_d = spirit.youngest.to_day_d;
        youngest_d = born_d > youngest_d ? born_d : youngest_d;
        out->had_water |= spirit.had_water;
        out->casks[i].may_say_single = spirit.is_single && !spirit.had_top_up;
        out->may_say_single = out->may_say_single && out->casks[i].may_say_single;
        out->gets_water |=
            !wish->is_as_drawn && out->casks[i].abv20_frac.p50 > wish->most_abv20_frac;
        out->lost_bottles_nd += out->casks[i].bottles_nd.p50 * loss_frac / (1.0 - loss_frac);
    }
    out->kept_back_nd =
        wish->kept_back_nd * (double)(wish->is_married ? out->n_casks > 0 : out->n_casks);
    out->youngest_age_y = out->n_casks ? stv_whole_years(youngest_d, wish->day_d) : 0;
    out->age_frac = out->n_casks > 0;
    for (size_t i = 0; i < out->n_casks; i++)
        if (!stv__is_old_enough(work, wish_idx, out->casks[i].cask_idx))
            out->age_frac = 0.0;
}

/* What fails in most draws of a cask that cannot serve. */
static enum stv_unfit unfit_by(struct stv__bottling_work *work, size_t wish_idx, int cask_idx)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t n_fail[STV_UNFIT_N] = {0}, worst = STV_UNFIT_STRENGTH;
    if (stv__is_barred(work, wish_idx, cask_idx))
        return STV_UNFIT_MARKET;
    if (!stv__is_old_enough(work, wish_idx, cask_idx))
        return STV_UNFIT_AGE;
    if (wish->is_married) /* strength and wood of the mean bar none by itself */
        return STV_UNFIT_BOTTLES;
    stv__one_cask(work, wish_idx, cask_idx, work->day_idx[wish_idx]);
    for (size_t d = 0; d < work->blend.n_draws; d++) {
        n_fail[STV_UNFIT_STRENGTH] += !stv__strength_does(wish, work->blend.abv20_frac[d]);
        n_fail[STV_UNFIT_WOOD] += !stv__wood_does(work->request->rules, work->blend.wood_nd[d]);
        n_fail[STV_UNFIT_BOTTLES] += !(work->total_nd[d] >= work->request->least_bottles_nd);
    }
    for (size_t u = worst; u <= STV_UNFIT_BOTTLES; u++)
        worst = n_fail[u] > n_fail[worst] ? u : worst;
    return (enum stv_unfit)worst;
}

void stv__bottling_count(struct stv__bottling_work *work, size_t wish_idx,
                         struct stv_bottling_outcome *out)
{
    size_t n_casks = work->n_casks;
    for (size_t c = 0; c < n_casks; c++) {
        bool may_serve = work->casks[wish_idx * n_casks + c].may_serve;
        bool is_taken = work->best_of_cask[c] != SIZE_MAX;
        size_t n_alike = stv__stands_for(work->request, c);
        out->n_left += may_serve ? n_alike - is_taken : 0;
        out->n_elsewhere += is_taken && work->best_of_cask[c] != wish_idx && may_serve;
        if (!stv__spirit_of(work, wish_idx, (int)c).is_there)
            continue;
        stv__one_cask(work, wish_idx, (int)c, work->day_idx[wish_idx]);
        double bottles_nd = stv__middle_nd(work->total_nd, work->blend.n_draws);
        out->house_bottles_nd += isfinite(bottles_nd) ? (double)n_alike * bottles_nd : 0.0;
        if (!may_serve)
            out->n_unfit[unfit_by(work, wish_idx, (int)c)] += n_alike;
    }
    out->n_could_serve = out->n_left + stv__casks_of_wish(work, wish_idx, work->list);
}

/* How far the strength of any of the liquids lies outside what is wanted, 19 times in 20. */
static double missing_abv20_frac(struct stv__bottling_work *work, size_t wish_idx, size_t n_casks)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t n = work->blend.n_draws, n_liquids = wish->is_married ? (n_casks > 0) : n_casks;
    for (size_t d = 0; d < n; d++)
        work->other_nd[d] = 0.0;
    for (size_t i = 0; i < n_liquids; i++) {
        stv__together(work, work->list + i, wish->is_married ? n_casks : 1,
                      work->day_idx[wish_idx]);
        for (size_t d = 0; d < n; d++) {
            double abv20_frac = work->blend.abv20_frac[d];
            double over = wish->is_as_drawn ? abv20_frac - wish->most_abv20_frac : 0.0;
            work->other_nd[d] =
                fmax(work->other_nd[d], fmax(wish->least_abv20_frac - abv20_frac, over));
        }
    }
    return stv_range_of(work->other_nd, n).p95;
}

static void tell_odds(struct stv__bottling_work *work, size_t wish_idx,
                      struct stv_bottling_outcome *out)
{
    const struct stv_planned_bottling *wish = stv__wish_at(work, wish_idx);
    size_t n = stv__casks_of_wish(work, wish_idx, work->list);
    size_t n_draws = work->blend.n_draws;
    struct stv__judged judged = stv__judge(work, wish_idx, work->list, n, work->day_idx[wish_idx]);
    memcpy(work->now_nd, work->total_nd, n_draws * sizeof *work->now_nd);
    out->bottles_nd = judged.bottles_nd;
    out->missing_bottles_nd = stv__missing_nd(wish, judged.bottles_nd.p05);
    out->missing_abv20_frac = missing_abv20_frac(work, wish_idx, n);
    out->n_missing_casks = wish->n_casks > n ? wish->n_casks - n : 0;
    out->bottles_frac = judged.bottles_frac;
    out->strength_frac = judged.strength_frac;
    out->wood_frac = judged.wood_frac;
    out->all_frac = judged.all_frac;
    out->wait_cost_bottles_nd = out->wait_over_frac = NAN;
    if (work->later_idx[wish_idx] != SIZE_MAX && n > 0) {
        judged = stv__judge(work, wish_idx, work->list, n, work->later_idx[wish_idx]);
        out->wait_over_frac = judged.over_frac;
        out->wait_cost_bottles_nd = median_less(work);
    }
    stv__together(work, work->list, n, work->day_idx[wish_idx]);
    out->abv20_frac = stv_range_of(work->blend.abv20_frac, n_draws);
    out->wood_nd = stv_range_of(work->blend.wood_nd, n_draws);
}

enum stv_status stv__bottling_tell(struct stv__bottling_work *work, size_t wish_idx,
                                   struct stv_bottling_outcome *out)
{
    size_t n = stv__casks_of_wish(work, wish_idx, work->list);
    out->casks = calloc(n + 1, sizeof *out->casks);
    if (!out->casks)
        return STV_E_MEMORY;
    out->n_casks = n;
    out->is_impossible = work->wishes[wish_idx].is_impossible;
    for (size_t i = 0; i < n; i++)
        out->casks[i].cask_idx = work->list[i];
    tell_odds(work, wish_idx, out);
    for (size_t i = 0; i < n; i++) {
        tell_cask(work, wish_idx, &out->casks[i]);
        tell_substitute(work, wish_idx, i, out);
    }
    tell_label(work, wish_idx, out);
    return STV_OK;
}
