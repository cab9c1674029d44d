/* Steps are found one after another, for all casks at once: the future is asked with the steps so
 * far, each cask's next step is decided, and so on; at last the casks' last steps are corrected for
 * what the air does to weaker spirit. */
#include "model/reduction_parts.h"

#include "model/cask_room.h"
#include "model/spirit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define CORRECTIONS 3
/* The middle trial ends so near to the target. */
#define MISS_FRAC 1e-5
/* So that 1.5 points in steps of 0.5 are three. */
#define ROUNDING_STEPS 1e-9

/* --- days --------------------------------------------------------------------------------- */

static int64_t month_begin(int64_t day_d)
{
    struct stv_date date = stv_date_from_day(day_d);
    return stv_day_from_date((struct stv_date){date.year, date.month, 1});
}

static int may_add(const struct stv_reduction_rules *rules, const struct stv_reduction_wish *wish,
                   int64_t day_d)
{
    for (size_t i = 0; i < wish->n_added; i++)
        if (day_d > wish->added_d[i] - STV_REDUCTION_REST_D &&
            day_d < wish->added_d[i] + STV_REDUCTION_REST_D)
            return 0;
    return rules->month_holds[stv_date_from_day(day_d).month - 1] && day_d >= wish->from_day_d &&
           day_d <= wish->end_day_d - STV_REDUCTION_REST_D &&
           wish->end_day_d - day_d <= rules->over_d;
}

/* A month that is under way: its first day is over, and the next is too near where it may do. */
static int may_begin(const struct stv_reduction_rules *rules, const struct stv_reduction_wish *wish)
{
    int64_t day_d = wish->from_day_d, next_d = stv_day_add_months(month_begin(day_d), 1);
    return day_d > month_begin(day_d) && may_add(rules, wish, day_d) &&
           !(next_d < day_d + STV_REDUCTION_REST_D && may_add(rules, wish, next_d));
}

/* The first day, the first of every month behind it, the last day; and those of them that may be
 * chosen. */
static enum stv_status list_days(const struct stv_reduction_rules *rules,
                                 struct stv__reduction_work *work)
{
    const struct stv_reduction_wish *wish = work->wish;
    size_t most = 3;
    if (wish->end_day_d > wish->from_day_d)
        most += (size_t)(wish->end_day_d - wish->from_day_d) / 28;
    work->days_d = malloc(most * sizeof *work->days_d);
    work->chosen = malloc(most * sizeof *work->chosen);
    if (!work->days_d || !work->chosen)
        return STV_E_MEMORY;
    if (may_begin(rules, wish))
        work->chosen[work->n_chosen++] = work->n_days;
    work->days_d[work->n_days++] = wish->from_day_d;
    for (int64_t day_d = month_begin(wish->from_day_d); day_d < wish->end_day_d;
         day_d = stv_day_add_months(day_d, 1)) {
        if (day_d > wish->from_day_d)
            work->days_d[work->n_days++] = day_d;
        if (may_add(rules, wish, day_d))
            work->chosen[work->n_chosen++] = work->n_days - 1;
    }
    if (wish->end_day_d > wish->from_day_d)
        work->days_d[work->n_days++] = wish->end_day_d;
    return STV_OK;
}

/* Keeps n of the days, evenly, the last one always. */
static void thin_out(struct stv__reduction_work *work, size_t n)
{
    for (size_t i = 0; i < n; i++)
        work->chosen[i] = work->chosen[(i + 1) * work->n_chosen / n - 1];
    work->n_chosen = n;
}

/* --- one step ----------------------------------------------------------------------------- */

/* Least strength after a step on a day: the least allowed, and what falls by itself behind it. */
static double floor_of(const struct stv__reduction_planning *planning,
                       const struct stv__reduction_work *work, size_t day_idx)
{
    double from = stv__reduction_middle_nd(planning, work, day_idx, STV_REDUCTION_ABV20_FRAC),
           fall = 0.0;
    for (size_t d = day_idx + 1; d < work->n_days; d++)
        fall = fmax(fall,
                    from - stv__reduction_middle_nd(planning, work, d, STV_REDUCTION_ABV20_FRAC));
    return planning->rules->least_abv20_frac + fall;
}

/* The step's ranges: every trial gets the same mass. */
static enum stv_status tell_step(const struct stv__reduction_planning *planning,
                                 const struct stv__reduction_work *work, size_t step_idx)
{
    const struct stv_reduction_rules *rules = planning->rules;
    struct stv_reduction_step *step = &work->plan->steps[step_idx];
    size_t n = planning->future->n_draws;
    const double *volume = work->before_nd, *abv = work->before_nd + n;
    double *after_l = work->before_nd + 2 * n, *after_abv = after_l + n, *hot_l = after_abv + n;
    double with_ethanol_kg = 0.0, with_water_kg = 0.0, ethanol_kg, water_kg;
    enum stv_status status = stv_spirit_masses_kg(step->added20_l, rules->with_abv20_frac,
                                                  &with_ethanol_kg, &with_water_kg);
    for (size_t d = 0; d < n && status == STV_OK; d++) {
        struct stv_reduce_step need;
        if (isnan(volume[d])) { /* empty by then in this trial: nothing goes in */
            work->need_kg[step_idx * n + d] = hot_l[d] = 0.0;
            after_l[d] = after_abv[d] = (double)NAN;
            continue;
        }
        status = stv_spirit_masses_kg(volume[d], abv[d], &ethanol_kg, &water_kg);
        if (status == STV_OK)
            status = stv__reduction_kg_of(rules, volume[d], abv[d], step->aim_abv20_frac, &need);
        if (status != STV_OK)
            break;
        work->need_kg[step_idx * n + d] = need.added_kg;
        ethanol_kg += with_ethanol_kg;
        water_kg += with_water_kg;
        struct stv_spirit_amount after = stv_spirit_amount(ethanol_kg, water_kg);
        after_l[d] = after.volume20_l;
        after_abv[d] = after.abv20_frac;
        double mass_kg = ethanol_kg + water_kg;
        hot_l[d] = stv_spirit_volume_l(mass_kg, ethanol_kg / mass_kg, work->plan->hottest_c);
    }
    if (status != STV_OK)
        return status;
    step->need_kg = stv__reduction_range_of(planning, work->need_kg + step_idx * n);
    step->before20_l = stv__reduction_range_of(planning, volume);
    step->before_abv20_frac = stv__reduction_range_of(planning, abv);
    step->after20_l = stv__reduction_range_of(planning, after_l);
    step->after_abv20_frac = stv__reduction_range_of(planning, after_abv);
    const struct stv_cask_limit limit = {work->wish->capacity_l, work->plan->hottest_c,
                                         rules->room_frac};
    step->hot_l = stv__reduction_range_of(planning, hot_l).p95;
    step->room_l = limit.capacity_l - step->hot_l;
    step->fits = stv_fits(&limit, step->hot_l);
    return isfinite(step->hot_l) ? STV_OK : STV_E_DOMAIN;
}

/* Sets what a step adds, from its aim and what stood before it. */
static enum stv_status set_step(const struct stv__reduction_planning *planning,
                                const struct stv__reduction_work *work, size_t step_idx,
                                double aim_abv20_frac)
{
    struct stv_reduction_step *step = &work->plan->steps[step_idx];
    size_t n = planning->future->n_draws;
    struct stv_reduce_step made;
    enum stv_status status = stv__reduction_kg_of(
        planning->rules, stv__reduction_range_of(planning, work->before_nd).p50,
        stv__reduction_range_of(planning, work->before_nd + n).p50, aim_abv20_frac, &made);
    if (status != STV_OK)
        return status;
    step->aim_abv20_frac = aim_abv20_frac;
    step->added_kg = made.added_kg;
    step->added20_l = made.added20_l;
    return tell_step(planning, work, step_idx);
}

/* The step on the nth chosen day, if it is one. */
static enum stv_status next_step(const struct stv__reduction_planning *planning,
                                 struct stv__reduction_work *work, size_t nth)
{
    const struct stv_reduction_rules *rules = planning->rules;
    size_t n = planning->future->n_draws, day_idx = work->chosen[nth];
    double from = stv__reduction_middle_nd(planning, work, day_idx, STV_REDUCTION_ABV20_FRAC);
    double end =
        stv__reduction_middle_nd(planning, work, work->n_days - 1, STV_REDUCTION_ABV20_FRAC);
    double share = (end - stv__reduction_goal_frac(rules)) / (double)(work->n_chosen - nth);
    double floor_abv = floor_of(planning, work, day_idx);
    double aim = fmax(from - fmin(share, rules->most_step_frac), floor_abv);
    if (!(from - aim > STV__REDUCTION_NO_STEP_FRAC))
        return STV_OK;
    struct stv_reduce_step made;
    double litres = stv__reduction_middle_nd(planning, work, day_idx, STV_REDUCTION_VOLUME20_L);
    enum stv_status status = stv__reduction_kg_of(rules, litres, from, aim, &made);
    if (status != STV_OK)
        return status;
    if (made.added_kg < rules->least_step_kg) {
        work->plan->n_put_off++;
        return STV_OK;
    }
    work->last_from_frac = from;
    work->last_floor_frac = floor_abv;
    work->last_day_idx = day_idx;
    memcpy(work->before_nd,
           stv__reduction_told_nd(planning, work, day_idx, STV_REDUCTION_VOLUME20_L),
           n * sizeof *work->before_nd);
    memcpy(work->before_nd + n,
           stv__reduction_told_nd(planning, work, day_idx, STV_REDUCTION_ABV20_FRAC),
           n * sizeof *work->before_nd);
    work->plan->steps[work->plan->n_steps++] =
        (struct stv_reduction_step){.day_d = work->days_d[day_idx]};
    return set_step(planning, work, work->plan->n_steps - 1, aim);
}

/* Moves the last step by what the middle trial misses the target by; 1 when it moved. */
static enum stv_status correct_last(const struct stv__reduction_planning *planning,
                                    struct stv__reduction_work *work, int *out_moved)
{
    const struct stv_reduction_rules *rules = planning->rules;
    *out_moved = 0;
    if (work->plan->n_steps == 0)
        return STV_OK;
    size_t last = work->plan->n_steps - 1;
    work->last_floor_frac = floor_of(planning, work, work->last_day_idx);
    double miss =
        stv__reduction_middle_nd(planning, work, work->n_days - 1, STV_REDUCTION_ABV20_FRAC) -
        stv__reduction_goal_frac(rules);
    double aim = work->plan->steps[last].aim_abv20_frac - miss;
    aim = fmax(aim, fmax(work->last_floor_frac, work->last_from_frac - rules->most_step_frac));
    aim = fmin(aim, work->last_from_frac - STV__REDUCTION_NO_STEP_FRAC);
    if (fabs(aim - work->plan->steps[last].aim_abv20_frac) <= MISS_FRAC)
        return STV_OK;
    *out_moved = 1;
    return set_step(planning, work, last, aim);
}

/* --- all casks ---------------------------------------------------------------------------- */

/* Only the last step is ever corrected, and the next one comes after it. */
static int64_t later_day(const struct stv__reduction_work *work)
{
    const struct stv_reduction_plan *plan = work->plan;
    if (plan->n_steps > 0)
        return plan->steps[plan->n_steps - 1].day_d;
    return work->n_chosen > 0 ? work->days_d[work->chosen[0]] : INT64_MAX;
}

/* Asks the future of those casks that are open. */
static enum stv_status ask(const struct stv__reduction_planning *planning)
{
    struct stv_reduction_asked *asked = malloc((planning->n + 1) * sizeof *asked);
    size_t n = 0;
    if (!asked)
        return STV_E_MEMORY;
    for (size_t i = 0; i < planning->n; i++) {
        const struct stv__reduction_work *work = &planning->works[i];
        if (work->is_open)
            asked[n++] = (struct stv_reduction_asked){
                .cask_idx = work->wish->cask_idx,
                .days_d = work->days_d,
                .n_days = work->n_days,
                .steps = work->plan->steps,
                .n_steps = work->plan->n_steps,
                .later_day_d = later_day(work),
                .values = work->values,
            };
    }
    enum stv_status status =
        n == 0 ? STV_OK : planning->future->tell(planning->future->context, asked, n);
    free(asked);
    return status;
}

/* True when the cask holds spirit on every day in some trial. */
static int stays_full(const struct stv__reduction_planning *planning,
                      const struct stv__reduction_work *work)
{
    for (size_t d = 0; d < work->n_days; d++)
        if (isnan(stv__reduction_middle_nd(planning, work, d, STV_REDUCTION_ABV20_FRAC)))
            return 0;
    return 1;
}

/* What a cask that nothing is added to comes to, and whether and how often it should be. */
static enum stv_reduction_kind judge_alone(const struct stv__reduction_planning *planning,
                                           struct stv__reduction_work *work)
{
    const struct stv_reduction_rules *rules = planning->rules;
    size_t end = work->n_days - 1;
    if (!stays_full(planning, work))
        return STV_REDUCTION_LEAVES;
    double over = stv__reduction_middle_nd(planning, work, end, STV_REDUCTION_ABV20_FRAC) -
                  stv__reduction_goal_frac(rules);
    if (over <= 0.0)
        return STV_REDUCTION_BELOW;
    if (over < rules->least_step_frac)
        return STV_REDUCTION_TANK;
    if (work->n_chosen == 0)
        return STV_REDUCTION_MONTHS;
    size_t n = work->n_chosen, worth = (size_t)(over / rules->least_step_frac + ROUNDING_STEPS);
    n = worth < n ? worth : n;
    if (rules->most_steps)
        n = rules->most_steps < n ? rules->most_steps : n;
    thin_out(work, n);
    return STV_REDUCTION_STEPS;
}

static enum stv_status begin_work(const struct stv__reduction_planning *planning,
                                  struct stv__reduction_work *work)
{
    size_t n_draws = planning->future->n_draws;
    enum stv_status status = list_days(planning->rules, work);
    if (status != STV_OK)
        return status;
    *work->plan = (struct stv_reduction_plan){.cask_idx = work->wish->cask_idx,
                                              .kind = STV_REDUCTION_PAST,
                                              .end_day_d = work->wish->end_day_d,
                                              .hottest_c = work->wish->hottest_c};
    work->plan->steps = calloc(work->n_chosen + 1, sizeof *work->plan->steps);
    work->values = malloc(work->n_days * STV_REDUCTION_TOLD_N * n_draws * sizeof *work->values);
    work->alone_nd = malloc(STV_REDUCTION_TOLD_N * n_draws * sizeof *work->alone_nd);
    work->before_nd = malloc(5 * n_draws * sizeof *work->before_nd);
    work->need_kg = malloc((work->n_chosen + 1) * n_draws * sizeof *work->need_kg);
    if (!work->plan->steps || !work->values || !work->alone_nd || !work->before_nd ||
        !work->need_kg)
        return STV_E_MEMORY;
    work->is_open = work->wish->end_day_d > work->wish->from_day_d;
    return STV_OK;
}

static void keep_alone(const struct stv__reduction_planning *planning,
                       struct stv__reduction_work *work)
{
    size_t n_draws = planning->future->n_draws, end = work->n_days - 1;
    memcpy(work->alone_nd, stv__reduction_told_nd(planning, work, end, STV_REDUCTION_VOLUME20_L),
           STV_REDUCTION_TOLD_N * n_draws * sizeof *work->alone_nd);
    work->plan->kind = judge_alone(planning, work);
    work->plan->alone20_l = stv__reduction_range_of(planning, work->alone_nd);
    work->plan->alone_abv20_frac =
        stv__reduction_range_of(planning, work->alone_nd + STV_REDUCTION_ABV20_FRAC * n_draws);
}

/* --- the planning ------------------------------------------------------------------------- */

static int is_possible(const struct stv_reduction_rules *rules)
{
    return rules->to_abv20_frac > rules->with_abv20_frac && rules->with_abv20_frac >= 0.0 &&
           rules->to_abv20_frac < 1.0 && rules->least_abv20_frac <= rules->to_abv20_frac &&
           rules->least_abv20_frac > rules->with_abv20_frac && rules->most_step_frac > 0.0 &&
           rules->least_step_frac > 0.0 && rules->least_step_kg >= 0.0 &&
           rules->for_tank_frac >= 0.0 && rules->room_frac >= 0.0 && rules->room_frac <= 0.5;
}

/* The next thing to be done about a cask: a step, or a correction of its last one; open when it
 * changed anything, so that its future must be asked again. */
static enum stv_status go_on(const struct stv__reduction_planning *planning,
                             struct stv__reduction_work *work)
{
    size_t n_before = work->plan->n_steps;
    work->is_open = 0;
    if (work->plan->kind != STV_REDUCTION_STEPS)
        return STV_OK;
    while (work->n_tried < work->n_chosen && work->plan->n_steps == n_before) {
        enum stv_status status = next_step(planning, work, work->n_tried++);
        if (status != STV_OK)
            return status;
    }
    work->is_open = work->plan->n_steps > n_before;
    if (work->is_open || work->n_corrections == CORRECTIONS)
        return STV_OK;
    work->n_corrections++;
    return correct_last(planning, work, &work->is_open);
}

static enum stv_status find_steps(const struct stv__reduction_planning *planning)
{
    enum stv_status status = ask(planning);
    for (size_t i = 0; i < planning->n && status == STV_OK; i++)
        if (planning->works[i].is_open)
            keep_alone(planning, &planning->works[i]);
    for (size_t n_open = 1; n_open > 0 && status == STV_OK;) {
        n_open = 0;
        for (size_t i = 0; i < planning->n && status == STV_OK; i++) {
            status = go_on(planning, &planning->works[i]);
            n_open += planning->works[i].is_open != 0;
        }
        if (status == STV_OK)
            status = ask(planning);
    }
    return status;
}

static void works_free(struct stv__reduction_work *works, size_t n)
{
    for (size_t i = 0; works && i < n; i++) {
        free(works[i].days_d);
        free(works[i].chosen);
        free(works[i].values);
        free(works[i].alone_nd);
        free(works[i].before_nd);
        free(works[i].need_kg);
    }
    free(works);
}

enum stv_status stv_reduction_make(const struct stv_reduction_rules *rules,
                                   const struct stv_reduction_wish *wishes, size_t n,
                                   const struct stv_reduction_future *future,
                                   struct stv_reduction *out)
{
    *out = (struct stv_reduction){0};
    if (!is_possible(rules) || future->n_draws == 0)
        return STV_E_ARG;
    struct stv__reduction_planning planning = {
        .rules = rules,
        .future = future,
        .works = calloc(n + 1, sizeof *planning.works),
        .room_nd = malloc(future->n_draws * sizeof *planning.room_nd)};
    out->plans = calloc(n + 1, sizeof *out->plans);
    enum stv_status status =
        planning.works && planning.room_nd && out->plans ? STV_OK : STV_E_MEMORY;
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        planning.n = out->n_plans = i + 1;
        planning.works[i] =
            (struct stv__reduction_work){.wish = &wishes[i], .plan = &out->plans[i]};
        status = begin_work(&planning, &planning.works[i]);
    }
    if (status == STV_OK)
        status = find_steps(&planning);
    for (size_t i = 0; i < n && status == STV_OK; i++)
        status = stv__reduction_finish(&planning, &planning.works[i]);
    if (status == STV_OK)
        status = stv__reduction_add_up(&planning, out);
    works_free(planning.works, planning.n);
    free(planning.room_nd);
    if (status != STV_OK)
        stv_reduction_free(out);
    return status;
}

void stv_reduction_free(struct stv_reduction *reduction)
{
    for (size_t i = 0; i < reduction->n_plans; i++)
        free(reduction->plans[i].steps);
    free(reduction->plans);
    free(reduction->days);
    *reduction = (struct stv_reduction){0};
}
