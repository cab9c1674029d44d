/* A window is the run of months, around the surest one, in which at least half the trials meet
 * every wish of the house: old enough, wood in range, strong enough, bottles enough. */
#include "model/bottling.h"

#include "model/bottling_parts.h"
#include "model/calendar.h"

#include <math.h>
#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

#define OPEN_FRAC 0.5
/* Months whose odds lie within this of the surest one's are as sure: what 64 trials can tell apart;
 * judgement. */
#define AS_SURE_FRAC 0.05

enum wish { WISH_AGE, WISH_WOOD_LOW, WISH_WOOD_HIGH, WISH_STRENGTH, WISH_VOLUME, WISH_N };

static const enum stv_window_side SIDE_OF_WISH[WISH_N] = {
    STV_SIDE_AGE, STV_SIDE_WOOD_LOW, STV_SIDE_WOOD_HIGH, STV_SIDE_STRENGTH, STV_SIDE_VOLUME};

/* Shares of draws in one month. */
struct month {
    double all_frac;
    double fails_frac[WISH_N];
    bool is_empty; /* in every draw */
};

const char *stv_window_side_text(enum stv_window_side side)
{
    switch (side) {
    case STV_SIDE_NONE:
        return "nothing soon";
    case STV_SIDE_AGE:
        return "age";
    case STV_SIDE_WOOD_LOW:
        return "not enough wood yet";
    case STV_SIDE_WOOD_HIGH:
        return "too much wood";
    case STV_SIDE_STRENGTH:
        return "strength";
    case STV_SIDE_VOLUME:
        return "too few bottles";
    case STV_SIDE_EMPTIED:
        return "emptied by then";
    }
    return "unknown";
}

/* One cask or lot, and room for what it is in a month. */
struct group {
    const struct stv_bottling_request *request;
    const int *casks; /* n_casks */
    size_t n_casks;
    int64_t old_enough_d;
    struct stv__blend blend;
    double *bottles; /* n_draws */
    double *wood;    /* [month * n_draws + draw] */
    const double **wood_by_month;
    struct month *months;
};

/* False where there is nothing left to bottle. */
static bool add_bottles(struct group *group, size_t month_idx)
{
    const struct stv_outlook *outlook = group->request->outlook;
    bool has_any = false;
    for (size_t d = 0; d < outlook->n_draws; d++)
        group->bottles[d] = 0.0;
    for (size_t i = 0; i < group->n_casks; i++) {
        const double *bottles =
            stv_outlook_draws(outlook, (size_t)group->casks[i], month_idx, STV_Q_BOTTLES_ND);
        for (size_t d = 0; d < outlook->n_draws; d++) {
            has_any = has_any || isfinite(bottles[d]);
            group->bottles[d] += isfinite(bottles[d]) ? bottles[d] : 0.0;
        }
    }
    return has_any;
}

/* The group in a month: one cask as it is told, a lot as one liquid. */
static bool fill_group(struct group *group, size_t month_idx)
{
    const struct stv_outlook *outlook = group->request->outlook;
    size_t n = outlook->n_draws, cask = (size_t)group->casks[0];
    bool has_any = add_bottles(group, month_idx);
    if (group->n_casks > 1) {
        stv__blend_of(outlook, group->casks, group->n_casks, month_idx, &group->blend);
        return has_any;
    }
    memcpy(group->blend.abv20_frac, stv_outlook_draws(outlook, cask, month_idx, STV_Q_ABV20_FRAC),
           n * sizeof(double));
    memcpy(group->blend.wood_nd, stv_outlook_draws(outlook, cask, month_idx, STV_Q_WOOD_INDEX_ND),
           n * sizeof(double));
    return has_any;
}

static struct month month_of(struct group *group, size_t month_idx)
{
    const struct stv_outlook *outlook = group->request->outlook;
    const struct stv_house_rules *rules = group->request->rules;
    double least_abv = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac);
    double least_bottles = group->request->least_bottles_nd * (double)group->n_casks;
    struct month month = {0};
    double share = 1.0 / (double)outlook->n_draws;
    month.is_empty = !fill_group(group, month_idx);
    for (size_t d = 0; d < outlook->n_draws; d++) {
        int fails[WISH_N];
        fails[WISH_AGE] = outlook->days_d[month_idx] < group->old_enough_d;
        fails[WISH_WOOD_LOW] = !(group->blend.wood_nd[d] >= rules->wood_least_nd);
        fails[WISH_WOOD_HIGH] = group->blend.wood_nd[d] > rules->wood_most_nd;
        fails[WISH_STRENGTH] = !(group->blend.abv20_frac[d] >= least_abv);
        fails[WISH_VOLUME] = !(group->bottles[d] >= least_bottles);
        int any = 0;
        for (size_t w = 0; w < WISH_N; w++) {
            month.fails_frac[w] += fails[w] * share;
            any |= fails[w];
        }
        month.all_frac += !any * share;
    }
    memcpy(group->wood + month_idx * outlook->n_draws, group->blend.wood_nd,
           outlook->n_draws * sizeof(double));
    return month;
}

static enum stv_window_side worst_of(const struct month *month)
{
    size_t worst = 0;
    if (month->is_empty)
        return STV_SIDE_EMPTIED;
    for (size_t w = 1; w < WISH_N; w++)
        if (month->fails_frac[w] > month->fails_frac[worst])
            worst = w;
    return month->fails_frac[worst] > 0.0 ? SIDE_OF_WISH[worst] : STV_SIDE_NONE;
}

static double over_frac(const struct group *group, size_t month_idx)
{
    size_t n = group->request->outlook->n_draws, over = 0;
    for (size_t d = 0; d < n; d++)
        over += group->wood[month_idx * n + d] > group->request->rules->wood_most_nd;
    return (double)over / (double)n;
}

/* Bottles a year after the surest month, against those of that month, trial by trial. */
static enum stv_status cost_of_waiting(struct group *group, struct stv_window *window)
{
    size_t n = group->request->outlook->n_draws;
    size_t later = window->surest_idx + STV_MONTHS;
    window->wait_cost_bottles_nd = NAN;
    window->wait_over_frac = NAN;
    if (later >= group->request->outlook->n_days || group->months[later].is_empty)
        return STV_OK;
    double *now = malloc((n + 1) * sizeof *now);
    if (!now)
        return STV_E_MEMORY;
    (void)add_bottles(group, window->surest_idx);
    memcpy(now, group->bottles, n * sizeof *now);
    (void)add_bottles(group, later);
    for (size_t d = 0; d < n; d++)
        now[d] -= group->bottles[d];
    window->wait_cost_bottles_nd = stv_range_of(now, n).p50;
    window->wait_over_frac = over_frac(group, later);
    free(now);
    return STV_OK;
}

static void find_surest_months(const struct month *months, size_t n_months,
                               struct stv_window *window)
{
    double least_frac = fmax(OPEN_FRAC, window->surest_frac - AS_SURE_FRAC);
    size_t from = window->surest_idx, to = window->surest_idx;
    while (from > 0 && months[from - 1].all_frac >= least_frac)
        from--;
    while (to + 1 < n_months && months[to + 1].all_frac >= least_frac)
        to++;
    window->surest_from_idx = from;
    window->surest_to_idx = to;
}

static void find_window(const struct month *months, size_t n_months, struct stv_window *window)
{
    size_t surest = 0;
    for (size_t m = 1; m < n_months; m++)
        if (months[m].all_frac > months[surest].all_frac)
            surest = m;
    window->surest_idx = surest;
    window->surest_frac = months[surest].all_frac;
    window->has_window = months[surest].all_frac >= OPEN_FRAC;
    if (!window->has_window) {
        window->never_by = worst_of(&months[surest]);
        return;
    }
    if (window->over_now_frac >= OPEN_FRAC) { /* and is not waited for */
        window->has_window = 0;
        window->never_by = STV_SIDE_WOOD_HIGH;
        return;
    }
    size_t open = surest;
    while (open > 0 && months[open - 1].all_frac >= OPEN_FRAC)
        open--;
    size_t close = surest;
    while (close + 1 < n_months && months[close + 1].all_frac >= OPEN_FRAC)
        close++;
    find_surest_months(months, n_months, window);
    window->open_idx = open;
    window->close_idx = close;
    window->closes = close + 1 < n_months;
    window->opens_by = open > 0 ? worst_of(&months[open - 1]) : STV_SIDE_NONE;
    window->closes_by = window->closes ? worst_of(&months[close + 1]) : STV_SIDE_NONE;
}

static enum stv_status find_wood_days(const struct group *group, struct stv_window *window)
{
    const struct stv_outlook *outlook = group->request->outlook;
    const size_t n[2] = {outlook->n_days, outlook->n_draws};
    const struct stv_level enough = {group->request->rules->wood_least_nd, 0};
    const struct stv_level too_much = {group->request->rules->wood_most_nd, 0};
    enum stv_status status =
        stv_crossing_find(outlook->days_d, group->wood_by_month, n, enough, &window->enough_wood);
    if (status == STV_OK)
        status = stv_crossing_find(outlook->days_d, group->wood_by_month, n, too_much,
                                   &window->too_much_wood);
    return status;
}

static enum stv_status one_window(struct group *group, struct stv_window *window)
{
    size_t n = group->request->outlook->n_draws;
    window->cask_idx = group->casks[0];
    window->n_casks = group->n_casks;
    for (size_t m = 0; m < group->request->outlook->n_days; m++)
        group->months[m] = month_of(group, m);
    window->over_now_frac = over_frac(group, 0);
    find_window(group->months, group->request->outlook->n_days, window);
    enum stv_status status = find_wood_days(group, window);
    (void)fill_group(group, window->surest_idx);
    window->bottles_nd = stv_range_of(group->bottles, n);
    window->abv20_frac = stv_range_of(group->blend.abv20_frac, n);
    window->wood_nd = stv_range_of(group->blend.wood_nd, n);
    return status == STV_OK ? cost_of_waiting(group, window) : status;
}

static enum stv_status group_new(const struct stv_bottling_request *request, struct group *group)
{
    size_t n_months = request->outlook->n_days, n_draws = request->outlook->n_draws;
    *group = (struct group){.request = request};
    enum stv_status status = stv__blend_new(n_draws, &group->blend);
    group->bottles = malloc((n_draws + 1) * sizeof *group->bottles);
    group->wood = malloc((n_months * n_draws + 1) * sizeof *group->wood);
    group->wood_by_month = malloc(n_months * sizeof *group->wood_by_month);
    group->months = malloc(n_months * sizeof *group->months);
    if (!group->bottles || !group->wood || !group->wood_by_month || !group->months)
        return STV_E_MEMORY;
    for (size_t m = 0; m < n_months; m++)
        group->wood_by_month[m] = group->wood + m * n_draws;
    return status;
}

static void group_free(struct group *group)
{
    stv__blend_free(&group->blend);
    free(group->bottles);
    free(group->wood);
    free(group->wood_by_month);
    free(group->months);
}

/* Puts the full casks of a cask's lot into `casks`, none when an earlier cask stands for it. */
static size_t members_of(const struct stv_bottling_request *request,
                         const struct stv_lineage *lineage, size_t first, int *casks)
{
    size_t n = 0, lot = request->lot_of_cask ? request->lot_of_cask[first] : SIZE_MAX;
    if (!stv_lineage_spirit(lineage, (int)first).is_there)
        return 0;
    for (size_t c = 0; c < request->outlook->n_casks; c++) {
        bool is_member = c == first || (lot != SIZE_MAX && request->lot_of_cask[c] == lot);
        if (!is_member || !stv_lineage_spirit(lineage, (int)c).is_there)
            continue;
        if (c < first)
            return 0;
        casks[n++] = (int)c;
    }
    return n;
}

/* A vague fill may be as young as its last day: a label is held to that. */
static int64_t youngest_day(const struct stv_lineage *lineage, const int *casks, size_t n)
{
    int64_t youngest_d = INT64_MIN;
    for (size_t i = 0; i < n; i++) {
        int64_t day_d = stv_lineage_spirit(lineage, casks[i]).youngest.to_day_d;
        youngest_d = day_d > youngest_d ? day_d : youngest_d;
    }
    return youngest_d;
}

enum stv_status stv_bottling_windows(const struct stv_bottling_request *request,
                                     struct stv_bottling *out)
{
    const struct stv_outlook *outlook = request->outlook;
    *out = (struct stv_bottling){0};
    if (outlook->n_days == 0)
        return STV_E_NO_DATA;
    struct group group;
    struct stv_lineage *lineage = NULL;
    enum stv_status status = group_new(request, &group);
    int *casks = malloc((outlook->n_casks + 1) * sizeof *casks);
    out->windows = calloc(outlook->n_casks + 1, sizeof *out->windows);
    if (!out->windows || !casks)
        status = STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_lineage_new(request->ledger, outlook->days_d[0], &lineage);
    for (size_t c = 0; c < outlook->n_casks && status == STV_OK; c++) {
        group.n_casks = members_of(request, lineage, c, casks);
        group.casks = casks;
        if (group.n_casks == 0)
            continue;
        group.old_enough_d =
            stv__old_enough_day(request->rules, youngest_day(lineage, casks, group.n_casks));
        status = one_window(&group, &out->windows[out->n_windows++]);
    }
    stv_lineage_free(lineage);
    free(casks);
    group_free(&group);
    if (status != STV_OK)
        stv_bottling_free(out);
    return status;
}

void stv_bottling_free(struct stv_bottling *bottling)
{
    free(bottling->windows);
    *bottling = (struct stv_bottling){0};
}

enum stv_status stv_strength_guard(const struct stv_outlook *outlook, int cask_idx,
                                   double level_abv20_frac, struct stv_crossing *out)
{
    const size_t n[2] = {outlook->n_days, outlook->n_draws};
    const struct stv_level level = {level_abv20_frac, 1};
    const double **strengths = malloc((outlook->n_days + 1) * sizeof *strengths);
    if (!strengths)
        return STV_E_MEMORY;
    for (size_t d = 0; d < outlook->n_days; d++)
        strengths[d] = stv_outlook_draws(outlook, (size_t)cask_idx, d, STV_Q_ABV20_FRAC);
    enum stv_status status = stv_crossing_find(outlook->days_d, strengths, n, level, out);
    free(strengths);
    return status;
}
