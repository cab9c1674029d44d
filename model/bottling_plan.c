/* Casks are chosen by their middle values (bottling_choice.c), judged by all draws at once, and
 * chosen again with more to spare until 19 draws in 20 have what is wanted. */
#include "model/bottling_plan.h"

#include "model/bottling_parts.h"
#include "model/calendar.h"
#include "model/days.h"
#include "model/marry.h"
#include "model/reduce.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define SERVES_FRAC 0.5      /* a cask is looked at when most draws let it serve */
#define ROUNDS_MOST 8        /* of a choice made more careful */
#define SURE_FRAC 0.95       /* 19 in 20 */
#define STEP_ABV_FRAC 0.0025 /* how much more careful a round makes a marriage's strength ... */
#define STEP_WOOD_SHARE 0.05 /* ... and its wood, as a share of what is allowed */
#define LEAST_STEP_NEED 1.01
#define HASTE_COST 0.2 /* a cask that would wait a year unharmed costs that much: judgement */
#define LEAST_ODDS_FRAC 0.02
/* Two choices are a tie when odds and bottles differ by less: as between places. */
#define TIE_FRAC 0.05
#define TIE_BOTTLES_SHARE 0.015

struct work {
    const struct stv_bottling_plan_request *request;
    const struct stv_outlook *outlook; /* of the choice, then of what is told */
    struct stv_lineage *lineage;
    size_t *day_idx, *later_idx; /* per wish; later SIZE_MAX without such a day */
    struct stv__choice_wish *wishes;
    struct stv__choice_cask *casks; /* [wish * n_casks + cask] */
    double *ok_frac, *over_frac;    /* likewise */
    size_t *wish_of_cask, *best_of_cask;
    struct stv__blend blend;
    double *total, *other; /* n_draws: bottles */
    int *list;             /* n_casks */
};

/* What draws say of a set of casks on a day. */
struct judged {
    double bottles_frac, strength_frac, wood_frac, over_frac, all_frac;
    struct stv_range bottles_nd; /* the draws stay in work->total */
};

static const struct stv_planned_bottling *wish_at(const struct work *work, size_t wish)
{
    return &work->request->wishes[wish];
}

/* Bottles of so much spirit at the strength it is bottled at, after losses. */
static double bottles_of(const struct work *work, const struct stv_planned_bottling *wish,
                         double lpa_l, double abv20_frac)
{
    const struct stv_house_rules *rules = work->request->rules;
    double bottled_frac = wish->is_as_drawn ? abv20_frac : fmin(abv20_frac, wish->most_abv20_frac);
    return lpa_l * (1.0 - rules->bottling_loss_frac) / (bottled_frac * rules->bottle_l);
}

static bool strength_does(const struct stv_planned_bottling *wish, double abv20_frac)
{
    return abv20_frac >= wish->least_abv20_frac &&
           (!wish->is_as_drawn || abv20_frac <= wish->most_abv20_frac);
}

static bool wood_does(const struct stv_house_rules *rules, double wood_nd)
{
    return wood_nd >= rules->wood_least_nd && wood_nd <= rules->wood_most_nd;
}

static bool is_old_enough(const struct work *work, int cask_idx, int64_t day_d)
{
    int64_t born_d = stv_lineage_spirit(work->lineage, cask_idx).youngest.to_day_d;
    return day_d >= stv__old_enough_day(work->request->rules, born_d);
}

/* Draws of one cask by itself; blend and total are of that cask then. */
static void one_cask(struct work *work, size_t wish_idx, int cask_idx, size_t day_idx)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    stv__blend_of(work->outlook, &cask_idx, 1, day_idx, &work->blend);
    for (size_t d = 0; d < work->blend.n_draws; d++)
        work->total[d] = bottles_of(work, wish, work->blend.lpa_l[d], work->blend.abv20_frac[d]);
}

/* --- what the solver is asked ---------------------------------------------------------- */

static double share_over(const struct work *work)
{
    size_t over = 0;
    for (size_t d = 0; d < work->blend.n_draws; d++)
        over += work->blend.wood_nd[d] > work->request->rules->wood_most_nd;
    return (double)over / (double)work->blend.n_draws;
}

static double share_ok(const struct work *work, size_t wish_idx, int cask_idx)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    size_t ok = 0;
    if (!is_old_enough(work, cask_idx, wish->day_d))
        return 0.0;
    for (size_t d = 0; d < work->blend.n_draws; d++)
        ok += strength_does(wish, work->blend.abv20_frac[d]) &&
              wood_does(work->request->rules, work->blend.wood_nd[d]) &&
              work->total[d] >= work->request->least_bottles_nd;
    return (double)ok / (double)work->blend.n_draws;
}

static double middle(double *values, size_t n)
{
    return stv_range_of(values, n).p50;
}

static void ask_of_cask(struct work *work, size_t wish_idx, int cask_idx)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    size_t at = wish_idx * work->outlook->n_casks + (size_t)cask_idx;
    size_t n = work->blend.n_draws;
    struct stv__choice_cask *out = &work->casks[at];
    *out = (struct stv__choice_cask){0};
    work->ok_frac[at] = work->over_frac[at] = 0.0;
    if (!stv_lineage_spirit(work->lineage, cask_idx).is_there)
        return;
    double later = 0.0;
    if (work->later_idx[wish_idx] != SIZE_MAX) {
        one_cask(work, wish_idx, cask_idx, work->later_idx[wish_idx]);
        later = share_over(work);
    }
    one_cask(work, wish_idx, cask_idx, work->day_idx[wish_idx]);
    work->ok_frac[at] = share_ok(work, wish_idx, cask_idx);
    work->over_frac[at] = share_over(work);
    bool is_near = wish->is_married ? is_old_enough(work, cask_idx, wish->day_d) &&
                                          work->over_frac[at] < SERVES_FRAC
                                    : work->ok_frac[at] >= SERVES_FRAC;
    double bottles_nd = middle(work->total, n) - (wish->is_married ? 0.0 : wish->kept_back_nd);
    double haste = fmax(0.0, later - work->over_frac[at]);
    *out = (struct stv__choice_cask){
        .may_serve = is_near && bottles_nd > 0.0,
        .bottles_nd = bottles_nd,
        .cost_nd = HASTE_COST * (1.0 - haste) -
                   (wish->is_married ? 0.0 : log(fmax(LEAST_ODDS_FRAC, work->ok_frac[at]))),
        .volume20_l = middle(work->blend.volume20_l, n),
        .lpa_l = middle(work->blend.lpa_l, n),
        .wood_nd = middle(work->blend.wood_nd, n),
    };
}

static void ask_of_wish(struct work *work, size_t wish_idx)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    const struct stv_house_rules *rules = work->request->rules;
    bool is_in_series = false;
    for (size_t w = 0; w < work->request->n_wishes; w++)
        is_in_series |= w != wish_idx && wish_at(work, w)->series_idx == wish->series_idx;
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
    };
    for (size_t c = 0; c < work->outlook->n_casks; c++)
        ask_of_cask(work, wish_idx, (int)c);
}

/* --- what draws say -------------------------------------------------------------------- */

/* Which draws fail: bits of the three wishes, and of a cask over the wood allowed. */
enum { FAILS_STRENGTH = 1, FAILS_WOOD = 2, IS_OVER = 4, FAILS_BOTTLES = 8 };

static int fails_of(const struct work *work, const struct stv_planned_bottling *wish, size_t draw)
{
    const struct stv_house_rules *rules = work->request->rules;
    double wood_nd = work->blend.wood_nd[draw];
    return (strength_does(wish, work->blend.abv20_frac[draw]) ? 0 : FAILS_STRENGTH) |
           (wood_does(rules, wood_nd) ? 0 : FAILS_WOOD) |
           (wood_nd > rules->wood_most_nd ? IS_OVER : 0);
}

/* Whole bottles and failures of every draw; `other` holds the failures. */
static void add_draws(struct work *work, size_t wish_idx, const int *casks, size_t n_casks,
                      size_t day_idx)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    size_t n = work->blend.n_draws, n_liquids = wish->is_married ? (n_casks > 0) : n_casks;
    for (size_t d = 0; d < n; d++)
        work->total[d] = work->other[d] = 0.0;
    for (size_t i = 0; i < n_liquids; i++) {
        stv__blend_of(work->outlook, casks + i, wish->is_married ? n_casks : 1, day_idx,
                      &work->blend);
        for (size_t d = 0; d < n; d++) {
            double bottles =
                bottles_of(work, wish, work->blend.lpa_l[d], work->blend.abv20_frac[d]) -
                wish->kept_back_nd;
            work->total[d] += isfinite(bottles) ? fmax(0.0, floor(bottles)) : 0.0;
            work->other[d] = (double)((int)work->other[d] | fails_of(work, wish, d));
        }
    }
}

/* Judges casks taken together on a day; total holds the bottles of every draw afterwards. */
static struct judged judge(struct work *work, size_t wish_idx, const int *casks, size_t n_casks,
                           size_t day_idx)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    size_t n = work->blend.n_draws;
    double share = 1.0 / (double)n;
    struct judged judged = {0};
    bool is_old = true;
    add_draws(work, wish_idx, casks, n_casks, day_idx);
    for (size_t i = 0; i < n_casks; i++)
        is_old = is_old && is_old_enough(work, casks[i], wish->day_d);
    for (size_t d = 0; d < n; d++) {
        int fails = (int)work->other[d] | (work->total[d] >= wish->bottles_nd ? 0 : FAILS_BOTTLES);
        judged.bottles_frac += (fails & FAILS_BOTTLES ? 0.0 : share);
        judged.strength_frac += (fails & FAILS_STRENGTH ? 0.0 : share);
        judged.wood_frac += (fails & FAILS_WOOD ? 0.0 : share);
        judged.over_frac += (fails & IS_OVER ? share : 0.0);
        judged.all_frac += (fails == 0 && is_old ? share : 0.0);
    }
    if (n_casks < wish->n_casks || n_casks == 0)
        judged.all_frac = 0.0;
    memcpy(work->other, work->total, n * sizeof *work->other);
    judged.bottles_nd = stv_range_of(work->other, n);
    return judged;
}

static size_t casks_of_wish(const struct work *work, const size_t *wish_of_cask, size_t wish_idx,
                            int *out)
{
    size_t n = 0;
    for (size_t c = 0; c < work->outlook->n_casks; c++)
        if (wish_of_cask[c] == wish_idx)
            out[n++] = (int)c;
    return n;
}

/* --- the choice, made more careful ----------------------------------------------------- */

static double missing_of(const struct stv_planned_bottling *wish, const struct judged *judged)
{
    return fmax(0.0, wish->bottles_nd - floor(judged->bottles_nd.p05));
}

/* Asks for more where the draws say that it takes more; true when it did. */
static bool ask_more(struct work *work, size_t wish_idx, const struct judged *judged)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    struct stv__choice_wish *ask = &work->wishes[wish_idx];
    double width = work->request->rules->wood_most_nd - work->request->rules->wood_least_nd;
    bool is_more = false;
    if (missing_of(wish, judged) > 0.0) {
        double factor = wish->bottles_nd / fmax(1.0, judged->bottles_nd.p05);
        ask->bottles_nd *= fmin(2.0, fmax(LEAST_STEP_NEED, factor));
        is_more = true;
    }
    if (wish->is_married && judged->strength_frac < SURE_FRAC) {
        ask->least_abv20_frac += STEP_ABV_FRAC;
        ask->most_abv20_frac -= wish->is_as_drawn ? STEP_ABV_FRAC : 0.0;
        is_more = true;
    }
    if (wish->is_married && judged->wood_frac < SURE_FRAC) {
        ask->wood_least_nd += STEP_WOOD_SHARE * width;
        ask->wood_most_nd -= STEP_WOOD_SHARE * width;
        is_more = true;
    }
    return is_more;
}

/* Higher is better: nothing missing, then odds. */
static double score_of(const struct stv_planned_bottling *wish, const struct judged *judged,
                       size_t n_casks)
{
    double missing = 0.0;
    if (wish->bottles_nd > 0.0)
        missing += missing_of(wish, judged) / wish->bottles_nd;
    if (wish->n_casks > n_casks)
        missing += (double)(wish->n_casks - n_casks) / (double)wish->n_casks;
    return log(fmax(LEAST_ODDS_FRAC, judged->all_frac)) - 10.0 * missing;
}

static enum stv_status choose(struct work *work, size_t *out_rounds)
{
    const struct stv_bottling_plan_request *request = work->request;
    size_t n_casks = work->outlook->n_casks;
    const struct stv__choice choice = {work->wishes, request->n_wishes, n_casks, work->casks,
                                       request->lot_of_cask};
    double best = -INFINITY;
    bool is_more = true;
    enum stv_status status = STV_OK;
    *out_rounds = 0;
    while (is_more && *out_rounds < ROUNDS_MOST && status == STV_OK) {
        double score = 0.0;
        is_more = false;
        status = stv__choose(&choice, work->wish_of_cask);
        for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++) {
            size_t n = casks_of_wish(work, work->wish_of_cask, w, work->list);
            struct judged judged = judge(work, w, work->list, n, work->day_idx[w]);
            score += score_of(wish_at(work, w), &judged, n);
            is_more |= ask_more(work, w, &judged);
        }
        if (status == STV_OK && score > best) {
            best = score;
            memcpy(work->best_of_cask, work->wish_of_cask, n_casks * sizeof *work->best_of_cask);
        }
        ++*out_rounds;
    }
    return status;
}

/* --- what is told ---------------------------------------------------------------------- */

static double median_less(struct work *work, const double *now)
{
    for (size_t d = 0; d < work->blend.n_draws; d++)
        work->other[d] = now[d] - work->total[d];
    return middle(work->other, work->blend.n_draws);
}

/* The best cask that no bottling takes, in the stead of one that is taken. */
static void find_substitute(struct work *work, size_t wish_idx, size_t at, double *now,
                            struct stv_bottling_outcome *out)
{
    size_t n_casks = work->outlook->n_casks;
    struct stv_chosen_cask *chosen = &out->casks[at];
    double best = -INFINITY, all_nd = fmax(1.0, out->bottles_nd.p50);
    size_t n = casks_of_wish(work, work->best_of_cask, wish_idx, work->list);
    judge(work, wish_idx, work->list, n, work->day_idx[wish_idx]);
    memcpy(now, work->total, work->blend.n_draws * sizeof *now);
    chosen->substitute_idx = -1;
    chosen->substitute_bottles_nd = chosen->substitute_all_frac = NAN;
    for (size_t c = 0; c < n_casks; c++) {
        if (work->best_of_cask[c] != SIZE_MAX || !work->casks[wish_idx * n_casks + c].may_serve)
            continue;
        work->list[at] = (int)c;
        struct judged judged = judge(work, wish_idx, work->list, n, work->day_idx[wish_idx]);
        double more = -median_less(work, now);
        double score = judged.all_frac + fmin(0.0, more) / all_nd;
        if (score <= best)
            continue;
        best = score;
        chosen->substitute_idx = (int)c;
        chosen->substitute_bottles_nd = more;
        chosen->substitute_all_frac = judged.all_frac;
    }
    chosen->is_tie = chosen->substitute_idx >= 0 &&
                     fabs(chosen->substitute_all_frac - out->all_frac) <= TIE_FRAC &&
                     fabs(chosen->substitute_bottles_nd) <= TIE_BOTTLES_SHARE * all_nd;
}

static void tell_cask(struct work *work, size_t wish_idx, double *now, struct stv_chosen_cask *out)
{
    size_t at = wish_idx * work->outlook->n_casks + (size_t)out->cask_idx;
    size_t n = work->blend.n_draws, later_idx = work->later_idx[wish_idx];
    out->ok_frac = work->ok_frac[at];
    out->over_frac = work->over_frac[at];
    out->wait_cost_bottles_nd = out->wait_over_frac = NAN;
    one_cask(work, wish_idx, out->cask_idx, work->day_idx[wish_idx]);
    memcpy(now, work->total, n * sizeof *now);
    out->bottles_nd = stv_range_of(work->total, n);
    out->abv20_frac = stv_range_of(work->blend.abv20_frac, n);
    out->wood_nd = stv_range_of(work->blend.wood_nd, n);
    if (later_idx == SIZE_MAX)
        return;
    one_cask(work, wish_idx, out->cask_idx, later_idx);
    out->wait_over_frac = share_over(work);
    out->wait_cost_bottles_nd = median_less(work, now);
}

/* What the label may say, and what losses take. */
static void tell_label(struct work *work, size_t wish_idx, struct stv_bottling_outcome *out)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    double loss_frac = work->request->rules->bottling_loss_frac;
    int64_t youngest_d = INT64_MIN;
    out->may_say_single = !wish->is_married || out->n_casks == 1;
    for (size_t i = 0; i < out->n_casks; i++) {
        struct stv_spirit_history spirit =
            stv_lineage_spirit(work->lineage, out->casks[i].cask_idx);
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
        if (!is_old_enough(work, out->casks[i].cask_idx, wish->day_d))
            out->age_frac = 0.0;
}

static void count_left(const struct work *work, size_t wish_idx, struct stv_bottling_outcome *out)
{
    size_t n_casks = work->outlook->n_casks;
    for (size_t c = 0; c < n_casks; c++)
        out->n_left +=
            work->best_of_cask[c] == SIZE_MAX && work->casks[wish_idx * n_casks + c].may_serve;
    out->n_could_serve = out->n_left + out->n_casks;
}

static void tell_odds(struct work *work, size_t wish_idx, double *now,
                      struct stv_bottling_outcome *out)
{
    const struct stv_planned_bottling *wish = wish_at(work, wish_idx);
    size_t n = casks_of_wish(work, work->best_of_cask, wish_idx, work->list);
    size_t n_draws = work->blend.n_draws;
    struct judged judged = judge(work, wish_idx, work->list, n, work->day_idx[wish_idx]);
    memcpy(now, work->total, n_draws * sizeof *now);
    out->bottles_nd = judged.bottles_nd;
    out->missing_bottles_nd = missing_of(wish, &judged);
    out->n_missing_casks = wish->n_casks > n ? wish->n_casks - n : 0;
    out->bottles_frac = judged.bottles_frac;
    out->strength_frac = judged.strength_frac;
    out->wood_frac = judged.wood_frac;
    out->all_frac = judged.all_frac;
    out->wait_cost_bottles_nd = out->wait_over_frac = NAN;
    if (work->later_idx[wish_idx] != SIZE_MAX && n > 0) {
        judged = judge(work, wish_idx, work->list, n, work->later_idx[wish_idx]);
        out->wait_over_frac = judged.over_frac;
        out->wait_cost_bottles_nd = median_less(work, now);
    }
    stv__blend_of(work->outlook, work->list, n, work->day_idx[wish_idx], &work->blend);
    out->abv20_frac = stv_range_of(work->blend.abv20_frac, n_draws);
    out->wood_nd = stv_range_of(work->blend.wood_nd, n_draws);
}

static enum stv_status tell(struct work *work, size_t wish_idx, double *now,
                            struct stv_bottling_outcome *out)
{
    size_t n = casks_of_wish(work, work->best_of_cask, wish_idx, work->list);
    out->casks = calloc(n + 1, sizeof *out->casks);
    if (!out->casks)
        return STV_E_MEMORY;
    out->n_casks = n;
    for (size_t i = 0; i < n; i++)
        out->casks[i].cask_idx = work->list[i];
    tell_odds(work, wish_idx, now, out);
    for (size_t i = 0; i < n; i++) {
        tell_cask(work, wish_idx, now, &out->casks[i]);
        find_substitute(work, wish_idx, i, now, out);
    }
    tell_label(work, wish_idx, out);
    count_left(work, wish_idx, out);
    return STV_OK;
}

/* --- the whole ------------------------------------------------------------------------- */

static enum stv_status find_days(struct work *work)
{
    const struct stv_outlook *outlook = work->outlook;
    for (size_t w = 0; w < work->request->n_wishes; w++) {
        const struct stv_planned_bottling *wish = wish_at(work, w);
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

static enum stv_status work_new(const struct stv_bottling_plan_request *request, struct work *work)
{
    size_t n_wishes = request->n_wishes, n_casks = request->outlook->n_casks;
    size_t n_cells = n_wishes * n_casks + 1, n_draws = request->outlook->n_draws;
    *work = (struct work){.request = request, .outlook = request->outlook};
    work->day_idx = malloc((n_wishes + 1) * sizeof *work->day_idx);
    work->later_idx = malloc((n_wishes + 1) * sizeof *work->later_idx);
    work->wishes = calloc(n_wishes + 1, sizeof *work->wishes);
    work->casks = calloc(n_cells, sizeof *work->casks);
    work->ok_frac = calloc(n_cells, sizeof *work->ok_frac);
    work->over_frac = calloc(n_cells, sizeof *work->over_frac);
    work->wish_of_cask = malloc((n_casks + 1) * sizeof *work->wish_of_cask);
    work->best_of_cask = malloc((n_casks + 1) * sizeof *work->best_of_cask);
    work->total = malloc((n_draws + 1) * sizeof *work->total);
    work->other = malloc((n_draws + 1) * sizeof *work->other);
    work->list = malloc((n_casks + 1) * sizeof *work->list);
    enum stv_status status = stv__blend_new(n_draws, &work->blend);
    if (!work->day_idx || !work->later_idx || !work->wishes || !work->casks || !work->ok_frac ||
        !work->over_frac || !work->wish_of_cask || !work->best_of_cask || !work->total ||
        !work->other || !work->list)
        return STV_E_MEMORY;
    return status;
}

static void work_free(struct work *work)
{
    stv_lineage_free(work->lineage);
    free(work->day_idx);
    free(work->later_idx);
    free(work->wishes);
    free(work->casks);
    free(work->ok_frac);
    free(work->over_frac);
    free(work->wish_of_cask);
    free(work->best_of_cask);
    free(work->total);
    free(work->other);
    free(work->list);
    stv__blend_free(&work->blend);
}

/* From the choice to the telling: other trials, in which nothing was chosen. */
static enum stv_status turn_to_told(struct work *work)
{
    const struct stv_outlook *told = work->request->told;
    if (!told)
        return STV_OK;
    if (told->n_draws != work->outlook->n_draws || told->n_casks != work->outlook->n_casks)
        return STV_E_ARG;
    work->outlook = told;
    enum stv_status status = find_days(work);
    for (size_t w = 0; w < work->request->n_wishes && status == STV_OK; w++)
        ask_of_wish(work, w);
    return status;
}

enum stv_status stv_bottling_plan(const struct stv_bottling_plan_request *request,
                                  struct stv_bottling_plan *out)
{
    struct work work;
    *out = (struct stv_bottling_plan){.n = request->n_wishes};
    if (request->outlook->n_days == 0)
        return STV_E_NO_DATA;
    out->outcomes = calloc(request->n_wishes + 1, sizeof *out->outcomes);
    double *now = malloc((request->outlook->n_draws + 1) * sizeof *now);
    enum stv_status status = work_new(request, &work);
    if (!out->outcomes || !now)
        status = STV_E_MEMORY;
    if (status == STV_OK)
        status = find_days(&work);
    if (status == STV_OK)
        status = stv_lineage_new(request->ledger, request->outlook->days_d[0], &work.lineage);
    for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++)
        ask_of_wish(&work, w);
    if (status == STV_OK && request->n_wishes > 0)
        status = choose(&work, &out->n_rounds);
    if (status == STV_OK)
        status = turn_to_told(&work);
    for (size_t w = 0; w < request->n_wishes && status == STV_OK; w++)
        status = tell(&work, w, now, &out->outcomes[w]);
    free(now);
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
