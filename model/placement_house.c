/* Kinds of casks at kinds of places.  Places of one climate give one outcome, so that only groups
 * times climates are run, and each is told on two days of its own. */
#include "model/placement_house.h"

#include "model/placement_trial.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* In margins (1.5 % of the bottles of the best place), what makes a place less welcome; judgement.
 */
#define COST_MOVE 1.0
#define COST_BEHIND 1.0
#define COST_LIFT 0.1
#define COST_TIER_PER_Y 0.002 /* of the plan: what waits longest lies lowest */
/* When two ways to share out differ; judgement, as for one cask. */
#define MATTERS_CASKS_FRAC 0.10
#define MATTERS_FRUIT_FRAC 0.04
#define SAME_BOTTLES_ND 1e-6 /* sums in another order differ by less */

struct house {
    const struct stv_outlook_request *request;
    const struct stv_house_wish *wish;
    size_t *climate_of_kind; /* n_kinds */
    size_t n_climates, n_draws;
    struct stv__trial trial;
    size_t *try_of_cask;     /* per cask of the trial: [group * n_climates + climate]; SIZE_MAX */
    int64_t *days_d;         /* per group: from, target */
    const int64_t **days_of; /* per cask of the trial */
    size_t *n_days_of;
    struct stv_house_outcome *tried; /* [group * n_climates + climate] */
    double *bottles_nd;              /* [(group * n_climates + climate) * n_draws + draw] */
};

static void house_free(struct house *house)
{
    stv__trial_free(&house->trial);
    free(house->climate_of_kind);
    free(house->try_of_cask);
    free(house->days_d);
    free(house->days_of);
    free(house->n_days_of);
    free(house->tried);
    free(house->bottles_nd);
}

static enum stv_status check(const struct stv_outlook_request *request,
                             const struct stv_house_wish *wish)
{
    if (wish->n_groups == 0 || wish->n_kinds == 0)
        return STV_E_NO_DATA;
    for (size_t g = 0; g < wish->n_groups; g++) {
        const struct stv_cask_group *group = &wish->groups[g];
        if (group->cask_idx < 0 || (size_t)group->cask_idx >= request->ledger->n_casks ||
            group->target_day_d <= wish->from_day_d)
            return STV_E_ARG;
        if (!stv_ledger_is_full(request->ledger, group->cask_idx, wish->from_day_d))
            return STV_E_NO_DATA;
    }
    return STV_OK;
}

/* Climates in the order in which kinds first name them. */
static size_t find_climates(const struct stv_house_wish *wish, size_t *climate_of_kind)
{
    size_t n = 0;
    for (size_t k = 0; k < wish->n_kinds; k++) {
        size_t same = 0;
        while (same < k && wish->kinds[same].position_idx != wish->kinds[k].position_idx)
            same++;
        climate_of_kind[k] = same < k ? climate_of_kind[same] : n++;
    }
    return n;
}

/* Gives the stand-ins of which nothing was learned one id. */
static void name_alike(struct house *house)
{
    const struct stv_posterior *learned = house->request->learned;
    for (size_t w = 0; w < house->wish->n_groups * house->n_climates; w++) {
        struct stv_cask *cask = &house->trial.ledger.casks[house->trial.cask_of_want[w]];
        if (!learned || !stv_posterior_find(learned, stv_key_of(cask->id)))
            memcpy(cask->id, STV_HOUSE_STAND_IN_ID, sizeof STV_HOUSE_STAND_IN_ID);
    }
}

static enum stv_status make_trial(struct house *house)
{
    const struct stv_house_wish *wish = house->wish;
    size_t n_climates = house->n_climates, n_wants = 0;
    struct stv__trial_want *wants = malloc((wish->n_groups * n_climates + 1) * sizeof *wants);
    if (!wants)
        return STV_E_MEMORY;
    /* Climate by climate: an outlook makes its tables for casks that share few of them. */
    for (size_t c = 0, k = 0; c < n_climates; c++) {
        while (house->climate_of_kind[k] != c)
            k++;
        for (size_t g = 0; g < wish->n_groups; g++)
            wants[n_wants++] =
                (struct stv__trial_want){wish->groups[g].cask_idx, wish->kinds[k].place};
    }
    enum stv_status status =
        stv__trial_new(house->request->ledger, wish->from_day_d, wants, n_wants, &house->trial);
    free(wants);
    return status;
}

static enum stv_status make_days(struct house *house)
{
    const struct stv_house_wish *wish = house->wish;
    size_t n_casks = house->trial.ledger.n_casks, n_tries = wish->n_groups * house->n_climates;
    house->try_of_cask = malloc((n_casks + 1) * sizeof *house->try_of_cask);
    house->days_d = malloc(2 * wish->n_groups * sizeof *house->days_d);
    house->days_of = calloc(n_casks + 1, sizeof *house->days_of);
    house->n_days_of = calloc(n_casks + 1, sizeof *house->n_days_of);
    house->tried = calloc(n_tries, sizeof *house->tried);
    house->bottles_nd = calloc(n_tries * house->n_draws, sizeof *house->bottles_nd);
    if (!house->try_of_cask || !house->days_d || !house->days_of || !house->n_days_of ||
        !house->tried || !house->bottles_nd)
        return STV_E_MEMORY;
    for (size_t c = 0; c < n_casks; c++)
        house->try_of_cask[c] = SIZE_MAX;
    for (size_t g = 0; g < wish->n_groups; g++) {
        house->days_d[2 * g] = wish->from_day_d;
        house->days_d[2 * g + 1] = wish->groups[g].target_day_d;
        for (size_t c = 0; c < house->n_climates; c++) {
            size_t cask = house->trial.cask_of_want[c * wish->n_groups + g];
            house->try_of_cask[cask] = g * house->n_climates + c;
            house->days_of[cask] = &house->days_d[2 * g];
            house->n_days_of[cask] = 2;
        }
    }
    return STV_OK;
}

/* Takes a cask's two days; called from several threads, each for a cask of its own. */
static enum stv_status take(void *context, size_t cask_idx, const double *values)
{
    struct house *house = context;
    size_t tried = house->try_of_cask[cask_idx], n_draws = house->n_draws;
    const int64_t *days_d = house->days_of[cask_idx];
    const double *then = values + (size_t)STV_Q_N * n_draws;
    const double *from_l = values + STV_Q_VOLUME20_L * n_draws;
    const double *then_l = then + STV_Q_VOLUME20_L * n_draws;
    double years = (double)(days_d[1] - days_d[0]) / STV_YEAR_D;
    double *room = malloc(n_draws * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    struct stv_house_outcome *outcome = &house->tried[tried];
    stv__place_score(then, n_draws, house->request->rules, room, &outcome->score);
    memcpy(house->bottles_nd + tried * n_draws, then + STV_Q_BOTTLES_ND * n_draws,
           n_draws * sizeof *room);
    for (size_t d = 0; d < n_draws; d++)
        room[d] = (from_l[d] - then_l[d]) / from_l[d] / years;
    outcome->loss_frac_per_y = stv_range_of(room, n_draws);
    free(room);
    return STV_OK;
}

static enum stv_status run(struct house *house)
{
    struct stv_outlook_rows rows = {house->days_of, house->n_days_of, take, house};
    struct stv_outlook_request request = *house->request;
    struct stv_outlook outlook = {0};
    request.ledger = &house->trial.ledger;
    request.days_d = NULL;
    request.n_days = 0;
    request.sums = NULL;
    request.n_sums = 0;
    request.rows = &rows;
    enum stv_status status = stv_outlook_run(&request, &outlook);
    stv_outlook_free(&outlook);
    return status;
}

/* Median of a group's bottles at one kind of place less those at another. */
static double bottles_apart_nd(const struct house *house, size_t group, size_t kind, size_t other,
                               double *room)
{
    const double *bottles = house->bottles_nd + group * house->n_climates * house->n_draws;
    return stv__paired_median_nd(bottles + house->climate_of_kind[kind] * house->n_draws,
                                 bottles + house->climate_of_kind[other] * house->n_draws,
                                 house->n_draws, room);
}

/* Relates a group's places to its best one and to its present one. */
static void judge_group(const struct house *house, size_t group, double *room,
                        struct stv_house_placement *out)
{
    const struct stv_house_wish *wish = house->wish;
    const struct stv_cask_group *casks = &wish->groups[group];
    struct stv_house_outcome *own = &out->outcomes[group * wish->n_kinds];
    size_t best = SIZE_MAX;
    for (size_t k = 0; k < wish->n_kinds; k++) {
        own[k] = house->tried[group * house->n_climates + house->climate_of_kind[k]];
        own[k].score.free_idx = k;
        own[k].is_allowed = !(casks->mass_kg > wish->kinds[k].most_kg) || casks->present_idx == k;
        if (own[k].is_allowed &&
            (best == SIZE_MAX || own[k].score.merit_nd > own[best].score.merit_nd))
            best = k;
    }
    out->best_idx[group] = best;
    if (best == SIZE_MAX)
        return;
    for (size_t k = 0; k < wish->n_kinds; k++) {
        own[k].score.bottles_against_best_nd = bottles_apart_nd(house, group, k, best, room);
        own[k].score.as_good =
            stv__place_is_as_good(&own[k].score, &own[best].score,
                                  own[k].score.bottles_against_best_nd, house->request->rules);
        if (casks->present_idx != SIZE_MAX)
            own[k].is_as_present = stv__place_is_as_good(
                &own[k].score, &own[casks->present_idx].score,
                bottles_apart_nd(house, group, k, casks->present_idx, room), house->request->rules);
    }
}

/* What the sharing out counts for a cask of a group at a kind of place; NaN where it may not lie.
 */
static double worth_nd(const struct stv_house_wish *wish, const struct stv_house_placement *house,
                       size_t group, size_t kind)
{
    const struct stv_house_outcome *own = &house->outcomes[group * wish->n_kinds];
    size_t present = wish->groups[group].present_idx, best = house->best_idx[group];
    if (!own[kind].is_allowed)
        return NAN;
    double best_nd = own[best].score.merit_nd;
    double margin_nd =
        best_nd / own[best].score.bottles_nd.p50 * stv__place_margin_nd(&own[best].score);
    double years = (double)(wish->groups[group].target_day_d - wish->from_day_d) / STV_YEAR_D;
    double costs = 0.0;
    if (present != kind) { /* who stays needs no reach, and gains none by lying lower */
        costs += COST_TIER_PER_Y * years * wish->kinds[kind].place.tier_idx;
        costs += present != SIZE_MAX ? COST_MOVE : 0.0;
        costs += wish->kinds[kind].reach == STV_REACH_BEHIND ? COST_BEHIND : 0.0;
        costs += wish->kinds[kind].reach == STV_REACH_LIFT ? COST_LIFT : 0.0;
    }
    double merit_nd = own[kind].score.merit_nd;
    if (present != SIZE_MAX)
        merit_nd = own[kind].is_as_present ? own[present].score.merit_nd : merit_nd;
    else if (own[kind].score.as_good)
        merit_nd = best_nd;
    return merit_nd - (isfinite(margin_nd) ? costs * margin_nd : 0.0);
}

static enum stv_status share_out(const struct stv_house_wish *wish, struct stv_house_placement *out)
{
    size_t n_groups = wish->n_groups, n_kinds = wish->n_kinds;
    double *merits_nd = malloc(n_groups * n_kinds * sizeof *merits_nd);
    size_t *counts = malloc((2 * n_groups + n_kinds) * sizeof *counts);
    enum stv_status status = merits_nd && counts ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        size_t *n_casks = counts, *present_idx = counts + n_groups;
        size_t *n_places = counts + 2 * n_groups;
        for (size_t g = 0; g < n_groups; g++) {
            n_casks[g] = wish->groups[g].n_casks;
            present_idx[g] = wish->groups[g].present_idx;
            for (size_t k = 0; k < n_kinds; k++)
                merits_nd[g * n_kinds + k] = worth_nd(wish, out, g, k);
        }
        for (size_t k = 0; k < n_kinds; k++)
            n_places[k] = wish->kinds[k].n_places;
        struct stv_assignment_problem problem = {n_groups,  n_kinds,     n_casks,         n_places,
                                                 merits_nd, present_idx, wish->most_moves};
        status = stv_assignment_solve(&problem, &out->assignment);
    }
    free(merits_nd);
    free(counts);
    return status;
}

/* What would be done without an answer: stay, and fill up from the floor, by hand first. */
static enum stv_status plain_way(const struct stv_house_wish *wish,
                                 const struct stv_house_placement *house, size_t *n_placed)
{
    size_t *n_free = malloc(wish->n_kinds * sizeof *n_free);
    if (!n_free)
        return STV_E_MEMORY;
    for (size_t k = 0; k < wish->n_kinds; k++)
        n_free[k] = wish->kinds[k].n_places;
    for (size_t g = 0; g < wish->n_groups; g++)
        if (wish->groups[g].present_idx != SIZE_MAX) {
            n_placed[g * wish->n_kinds + wish->groups[g].present_idx] = wish->groups[g].n_casks;
            n_free[wish->groups[g].present_idx] -= wish->groups[g].n_casks;
        }
    for (size_t g = 0; g < wish->n_groups; g++) {
        size_t n = wish->groups[g].present_idx == SIZE_MAX ? wish->groups[g].n_casks : 0;
        while (n > 0) {
            size_t low = SIZE_MAX;
            for (size_t k = 0; k < wish->n_kinds; k++)
                if (n_free[k] && house->outcomes[g * wish->n_kinds + k].is_allowed &&
                    (low == SIZE_MAX ||
                     wish->kinds[k].place.tier_idx < wish->kinds[low].place.tier_idx ||
                     (wish->kinds[k].place.tier_idx == wish->kinds[low].place.tier_idx &&
                      wish->kinds[k].reach < wish->kinds[low].reach)))
                    low = k;
            if (low == SIZE_MAX)
                break;
            size_t here = n < n_free[low] ? n : n_free[low];
            n_placed[g * wish->n_kinds + low] += here;
            n_free[low] -= here;
            n -= here;
        }
    }
    free(n_free);
    return STV_OK;
}

/* Adds a way's figures, times sign, to a difference, and its bottles to the draws. */
static void add_way(const struct house *house, const struct stv_house_placement *placement,
                    const size_t *n_placed, double sign, struct stv_house_difference *out,
                    double *bottles_draws)
{
    const struct stv_house_wish *wish = house->wish;
    double n_casks = 0.0, fruit_nd = 0.0;
    for (size_t g = 0; g < wish->n_groups; g++)
        for (size_t k = 0; k < wish->n_kinds; k++) {
            double n = (double)n_placed[g * wish->n_kinds + k];
            if (n == 0.0)
                continue;
            const struct stv_place_score *score = &placement->outcomes[g * wish->n_kinds + k].score;
            const double *draws =
                house->bottles_nd +
                (g * house->n_climates + house->climate_of_kind[k]) * house->n_draws;
            for (size_t d = 0; d < house->n_draws; d++)
                bottles_draws[d] += sign * n * draws[d];
            out->wood_ok_nd += sign * n * score->wood_ok_frac;
            out->abv_ok_nd += sign * n * score->abv_ok_frac;
            fruit_nd += n * score->fruit_nd.p50;
            out->behind_nd +=
                wish->kinds[k].reach == STV_REACH_BEHIND && wish->groups[g].present_idx != k
                    ? sign * n
                    : 0.0;
            n_casks += n;
        }
    out->fruit_frac += n_casks > 0.0 ? sign * fruit_nd / n_casks : 0.0;
}

static enum stv_status compare_to_plain(const struct house *house, struct stv_house_placement *out)
{
    const struct stv_house_wish *wish = house->wish;
    size_t *plain = calloc(wish->n_groups * wish->n_kinds, sizeof *plain);
    double *all = calloc(2 * house->n_draws, sizeof *all), *difference = NULL;
    enum stv_status status = plain && all ? plain_way(wish, out, plain) : STV_E_MEMORY;
    if (status == STV_OK) {
        struct stv_house_difference unused = {0}, *against = &out->against_plain;
        double n_casks = 0.0;
        difference = all + house->n_draws;
        add_way(house, out, out->assignment.n_placed, 1.0, &unused, all);
        add_way(house, out, out->assignment.n_placed, 1.0, against, difference);
        add_way(house, out, plain, -1.0, against, difference);
        out->bottles_nd = stv_range_of(all, house->n_draws);
        for (size_t d = 0; d < house->n_draws; d++)
            against->more_frac += (difference[d] > SAME_BOTTLES_ND) / (double)house->n_draws;
        against->bottles_nd = stv_range_of(difference, house->n_draws).p50;
        out->margin_bottles_nd = STV_BOTTLES_TIE_SHARE * out->bottles_nd.p50;
        for (size_t g = 0; g < wish->n_groups; g++)
            n_casks += (double)wish->groups[g].n_casks;
        against->is_matter = fabs(against->bottles_nd) > out->margin_bottles_nd ||
                             fabs(against->wood_ok_nd) > MATTERS_CASKS_FRAC * n_casks ||
                             fabs(against->abv_ok_nd) > MATTERS_CASKS_FRAC * n_casks ||
                             fabs(against->fruit_frac) > MATTERS_FRUIT_FRAC;
    }
    free(plain);
    free(all);
    return status;
}

static enum stv_status judge_all(struct house *house, struct stv_house_placement *out)
{
    const struct stv_house_wish *wish = house->wish;
    double *room = malloc(house->n_draws * sizeof *room);
    out->outcomes = calloc(wish->n_groups * wish->n_kinds, sizeof *out->outcomes);
    out->best_idx = malloc(wish->n_groups * sizeof *out->best_idx);
    enum stv_status status = room && out->outcomes && out->best_idx ? STV_OK : STV_E_MEMORY;
    for (size_t g = 0; g < wish->n_groups && status == STV_OK; g++)
        judge_group(house, g, room, out);
    free(room);
    if (status == STV_OK)
        status = share_out(wish, out);
    return status == STV_OK ? compare_to_plain(house, out) : status;
}

enum stv_status stv_house_place(const struct stv_outlook_request *request,
                                const struct stv_house_wish *wish, struct stv_house_placement *out)
{
    *out = (struct stv_house_placement){.n_groups = wish->n_groups, .n_kinds = wish->n_kinds};
    struct house house = {.request = request,
                          .wish = wish,
                          .n_draws = request->options.n_draws ? request->options.n_draws : 1};
    enum stv_status status = check(request, wish);
    if (status != STV_OK)
        return status;
    house.climate_of_kind = malloc(wish->n_kinds * sizeof *house.climate_of_kind);
    if (!house.climate_of_kind)
        return STV_E_MEMORY;
    house.n_climates = find_climates(wish, house.climate_of_kind);
    status = make_trial(&house);
    if (status == STV_OK) {
        name_alike(&house);
        status = make_days(&house);
    }
    if (status == STV_OK)
        status = run(&house);
    if (status == STV_OK)
        status = judge_all(&house, out);
    house_free(&house);
    if (status != STV_OK)
        stv_house_placement_free(out);
    return status;
}

void stv_house_placement_free(struct stv_house_placement *placement)
{
    free(placement->outcomes);
    free(placement->best_idx);
    stv_assignment_free(&placement->assignment);
    *placement = (struct stv_house_placement){0};
}
