/* What a plan comes to: its last day, its lowest strength, what is left to the tank, and what the
 * house adds on each day. */
#include "model/reduction_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

const double *stv__reduction_told_nd(const struct stv__reduction_planning *planning,
                                     const struct stv__reduction_work *work, size_t day_idx,
                                     enum stv_reduction_told what)
{
    return work->values +
           (day_idx * STV_REDUCTION_TOLD_N + (size_t)what) * planning->future->n_draws;
}

struct stv_range stv__reduction_range_of(const struct stv__reduction_planning *planning,
                                         const double *values)
{
    memcpy(planning->room_nd, values, planning->future->n_draws * sizeof *values);
    return stv_range_of(planning->room_nd, planning->future->n_draws);
}

double stv__reduction_middle_nd(const struct stv__reduction_planning *planning,
                                const struct stv__reduction_work *work, size_t day_idx,
                                enum stv_reduction_told what)
{
    return stv__reduction_range_of(planning, stv__reduction_told_nd(planning, work, day_idx, what))
        .p50;
}

double stv__reduction_goal_frac(const struct stv_reduction_rules *rules)
{
    return rules->to_abv20_frac + rules->for_tank_frac;
}

enum stv_status stv__reduction_kg_of(const struct stv_reduction_rules *rules, double volume20_l,
                                     double from_abv20_frac, double to_abv20_frac,
                                     struct stv_reduce_step *out)
{
    *out = (struct stv_reduce_step){0};
    if (!(from_abv20_frac > to_abv20_frac))
        return STV_OK;
    const struct stv_reduce_input input = {.volume_l = volume20_l,
                                           .temp_c = 20.0,
                                           .from_abv20_frac = from_abv20_frac,
                                           .to_abv20_frac = to_abv20_frac,
                                           .with_abv20_frac = rules->with_abv20_frac,
                                           .n_steps = 1,
                                           .limit = {NAN, 20.0, 0.0}};
    return stv_reduce_work(&input, out);
}

/* --- what a plan comes to ----------------------------------------------------------------- */

/* What the steps gain in one trial: bottles with them, less those of nothing added, less what the
 * alcohol of reducing spirit makes. */
static double gain_nd(const struct stv__reduction_planning *planning,
                      const struct stv__reduction_work *work, size_t draw)
{
    size_t n = planning->future->n_draws, end = work->n_days - 1;
    double volume20_l = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_VOLUME20_L)[draw];
    double abv20_frac = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_ABV20_FRAC)[draw];
    double bottles_nd = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_BOTTLES_ND)[draw];
    double brought_l = 0.0;
    for (size_t s = 0; s < work->plan->n_steps; s++)
        brought_l += work->plan->steps[s].added20_l * planning->rules->with_abv20_frac;
    return bottles_nd * (1.0 - brought_l / (volume20_l * abv20_frac)) -
           work->alone_nd[STV_REDUCTION_BOTTLES_ND * n + draw];
}

static void tell_end(const struct stv__reduction_planning *planning,
                     struct stv__reduction_work *work)
{
    struct stv_reduction_plan *plan = work->plan;
    size_t n = planning->future->n_draws, end = work->n_days - 1;
    double *room_nd = planning->room_nd;
    const double *abv = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_ABV20_FRAC);
    const double *bottles = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_BOTTLES_ND);
    const double *wood = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_WOOD_ND);
    const double *after =
        stv__reduction_told_nd(planning, work, work->last_day_idx, STV_REDUCTION_ABV20_FRAC);
    plan->end_abv20_frac = stv__reduction_range_of(planning, abv);
    plan->end20_l = stv__reduction_range_of(
        planning, stv__reduction_told_nd(planning, work, end, STV_REDUCTION_VOLUME20_L));
    plan->bottles_nd = stv__reduction_range_of(planning, bottles);
    for (size_t d = 0; d < n; d++) {
        room_nd[d] = abv[d] - after[d];
        plan->near_frac +=
            (fabs(abv[d] - planning->rules->to_abv20_frac) <= STV_REDUCTION_NEAR_FRAC) / (double)n;
    }
    plan->drift_frac = stv_range_of(room_nd, n);
    for (size_t d = 0; d < n; d++)
        room_nd[d] = gain_nd(planning, work, d);
    plan->gain_bottles_nd = stv_range_of(room_nd, n);
    for (size_t d = 0; d < n; d++)
        room_nd[d] = wood[d] / work->alone_nd[STV_REDUCTION_WOOD_ND * n + d];
    plan->wood_ratio_nd = stv_range_of(room_nd, n);
}

/* The lowest that strength gets from the first step on, in the middle trial and in each. */
static void tell_lowest(const struct stv__reduction_planning *planning,
                        struct stv__reduction_work *work)
{
    struct stv_reduction_plan *plan = work->plan;
    size_t n = planning->future->n_draws;
    double *lowest = work->before_nd;
    plan->lowest_abv20_frac = INFINITY;
    for (size_t d = 0; d < n; d++)
        lowest[d] = INFINITY;
    for (size_t day = 0; day < work->n_days; day++) {
        if (work->days_d[day] < plan->steps[0].day_d)
            continue;
        const double *abv = stv__reduction_told_nd(planning, work, day, STV_REDUCTION_ABV20_FRAC);
        plan->lowest_abv20_frac =
            fmin(plan->lowest_abv20_frac, stv__reduction_range_of(planning, abv).p50);
        for (size_t d = 0; d < n; d++)
            lowest[d] = fmin(lowest[d], abv[d]);
    }
    for (size_t d = 0; d < n; d++)
        plan->under_frac += (lowest[d] < planning->rules->least_abv20_frac) / (double)n;
}

static enum stv_status tell_tank(const struct stv__reduction_planning *planning,
                                 struct stv__reduction_work *work)
{
    size_t n = planning->future->n_draws, end = work->n_days - 1;
    const double *volume = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_VOLUME20_L);
    const double *abv = stv__reduction_told_nd(planning, work, end, STV_REDUCTION_ABV20_FRAC);
    const struct stv_reduction_rules tank = {.with_abv20_frac = 0.0};
    for (size_t d = 0; d < n; d++) {
        struct stv_reduce_step made;
        enum stv_status status =
            stv__reduction_kg_of(&tank, volume[d], abv[d], planning->rules->to_abv20_frac, &made);
        if (status != STV_OK)
            return status;
        planning->room_nd[d] = made.added_kg;
    }
    work->plan->tank_kg = stv_range_of(planning->room_nd, n);
    return STV_OK;
}

bool stv_reduction_is_for_tank(const struct stv_reduction_plan *plan)
{
    return plan->kind == STV_REDUCTION_TANK || plan->kind == STV_REDUCTION_MONTHS;
}

enum stv_status stv__reduction_finish(const struct stv__reduction_planning *planning,
                                      struct stv__reduction_work *work)
{
    struct stv_reduction_plan *plan = work->plan;
    if (plan->kind == STV_REDUCTION_STEPS && plan->n_steps == 0)
        plan->kind = plan->n_put_off > 0 ? STV_REDUCTION_TANK : STV_REDUCTION_LEAST;
    if (stv_reduction_is_for_tank(plan))
        return tell_tank(planning, work);
    if (plan->kind != STV_REDUCTION_STEPS)
        return STV_OK;
    tell_end(planning, work);
    tell_lowest(planning, work);
    while (plan->n_fitting < plan->n_steps && plan->steps[plan->n_fitting].fits)
        plan->n_fitting++;
    double over = plan->end_abv20_frac.p50 - stv__reduction_goal_frac(planning->rules);
    plan->is_short = over > planning->rules->least_step_frac;
    plan->is_held_by_least =
        plan->is_short && plan->steps[plan->n_steps - 1].aim_abv20_frac <=
                              work->last_floor_frac + STV__REDUCTION_NO_STEP_FRAC;
    return tell_tank(planning, work);
}

/* --- the house ---------------------------------------------------------------------------- */

static int compare_days(const void *a, const void *b)
{
    int64_t x = ((const struct stv_reduction_day *)a)->day_d,
            y = ((const struct stv_reduction_day *)b)->day_d;
    return (x > y) - (x < y);
}

static size_t list_house_days(const struct stv__reduction_planning *planning,
                              struct stv_reduction_day *days)
{
    size_t n = 0;
    for (size_t i = 0; i < planning->n; i++) {
        const struct stv_reduction_plan *plan = planning->works[i].plan;
        for (size_t s = 0; s < plan->n_fitting; s++) {
            size_t at = 0;
            while (at < n && days[at].day_d != plan->steps[s].day_d)
                at++;
            if (at == n)
                days[n++] = (struct stv_reduction_day){.day_d = plan->steps[s].day_d};
            days[at].n_casks++;
            days[at].added_kg += plan->steps[s].added_kg;
            days[at].added20_l += plan->steps[s].added20_l;
        }
    }
    qsort(days, n, sizeof *days, compare_days);
    return n;
}

static void sum_day(const struct stv__reduction_planning *planning, struct stv_reduction_day *day)
{
    size_t n = planning->future->n_draws;
    for (size_t d = 0; d < n; d++) {
        planning->room_nd[d] = 0.0;
        for (size_t i = 0; i < planning->n; i++) {
            const struct stv__reduction_work *work = &planning->works[i];
            for (size_t s = 0; s < work->plan->n_fitting; s++)
                if (work->plan->steps[s].day_d == day->day_d)
                    planning->room_nd[d] += work->need_kg[s * n + d];
        }
    }
    day->need_kg = stv_range_of(planning->room_nd, n);
}

/* Bottles of all casks whose steps find room; is_gain: what the steps gain. */
static struct stv_range sum_bottles(const struct stv__reduction_planning *planning, int is_gain)
{
    size_t n = planning->future->n_draws;
    for (size_t d = 0; d < n; d++) {
        planning->room_nd[d] = 0.0;
        for (size_t i = 0; i < planning->n; i++) {
            const struct stv__reduction_work *work = &planning->works[i];
            if (work->plan->n_steps == 0 || work->plan->n_fitting < work->plan->n_steps)
                continue;
            planning->room_nd[d] += is_gain
                                        ? gain_nd(planning, work, d)
                                        : stv__reduction_told_nd(planning, work, work->n_days - 1,
                                                                 STV_REDUCTION_BOTTLES_ND)[d];
        }
    }
    return stv_range_of(planning->room_nd, n);
}

enum stv_status stv__reduction_add_up(const struct stv__reduction_planning *planning,
                                      struct stv_reduction *out)
{
    size_t most = 1;
    for (size_t i = 0; i < planning->n; i++)
        most += planning->works[i].plan->n_fitting;
    out->days = calloc(most, sizeof *out->days);
    if (!out->days)
        return STV_E_MEMORY;
    out->n_days = list_house_days(planning, out->days);
    for (size_t i = 0; i < out->n_days; i++)
        sum_day(planning, &out->days[i]);
    out->bottles_nd = sum_bottles(planning, 0);
    out->gain_bottles_nd = sum_bottles(planning, 1);
    return STV_OK;
}
