/* A window is the run of months, around the surest one, in which at least half the trials meet
 * every wish of the house: old enough, wood in range, strong enough, bottles enough. */
#include "model/bottling.h"

#include "model/calendar.h"
#include "model/lineage.h"

#include <math.h>
#include <stdlib.h>

#define OPEN_FRAC 0.5
#define YEAR_MONTHS 12

enum wish { WISH_AGE, WISH_WOOD_LOW, WISH_WOOD_HIGH, WISH_STRENGTH, WISH_VOLUME, WISH_N };

static const enum stv_window_side SIDE_OF_WISH[WISH_N] = {
    STV_SIDE_AGE, STV_SIDE_WOOD_LOW, STV_SIDE_WOOD_HIGH, STV_SIDE_STRENGTH, STV_SIDE_VOLUME};

/* Shares of draws in one month. */
struct month {
    double all_frac;
    double fails_frac[WISH_N];
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
    }
    return "unknown";
}

/* The day on which spirit is old enough: by the calendar, for three years are three birthdays. */
static int64_t old_enough_day(const struct stv_house_rules *rules, int64_t born_day_d)
{
    return stv_day_add_months(born_day_d, (int)lround(rules->least_age_y * YEAR_MONTHS));
}

static struct month month_of(const struct stv_bottling_request *request, size_t cask_idx,
                             size_t day_idx, int64_t old_enough_d)
{
    const struct stv_outlook *outlook = request->outlook;
    const struct stv_house_rules *rules = request->rules;
    const double *abv = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_ABV20_FRAC);
    const double *wood = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_WOOD_INDEX_ND);
    const double *bottles = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_BOTTLES_ND);
    double least_abv = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac);
    struct month month = {0};
    double share = 1.0 / (double)outlook->n_draws;
    for (size_t d = 0; d < outlook->n_draws; d++) {
        int fails[WISH_N];
        fails[WISH_AGE] = outlook->days_d[day_idx] < old_enough_d;
        fails[WISH_WOOD_LOW] = !(wood[d] >= rules->wood_least_nd);
        fails[WISH_WOOD_HIGH] = wood[d] > rules->wood_most_nd;
        fails[WISH_STRENGTH] = !(abv[d] >= least_abv);
        fails[WISH_VOLUME] = !(bottles[d] >= request->least_bottles_nd);
        int any = 0;
        for (size_t w = 0; w < WISH_N; w++) {
            month.fails_frac[w] += fails[w] * share;
            any |= fails[w];
        }
        month.all_frac += !any * share;
    }
    return month;
}

static enum stv_window_side worst_of(const struct month *month)
{
    size_t worst = 0;
    for (size_t w = 1; w < WISH_N; w++)
        if (month->fails_frac[w] > month->fails_frac[worst])
            worst = w;
    return month->fails_frac[worst] > 0.0 ? SIDE_OF_WISH[worst] : STV_SIDE_NONE;
}

static void cost_of_waiting(const struct stv_outlook *outlook, const struct stv_house_rules *rules,
                            double *room, struct stv_window *window)
{
    size_t later = window->surest_idx + YEAR_MONTHS;
    size_t cask = (size_t)window->cask_idx;
    if (later >= outlook->n_days) {
        window->wait_cost_bottles_nd = NAN;
        window->wait_over_frac = NAN;
        return;
    }
    const double *now = stv_outlook_draws(outlook, cask, window->surest_idx, STV_Q_BOTTLES_ND);
    const double *then = stv_outlook_draws(outlook, cask, later, STV_Q_BOTTLES_ND);
    const double *wood = stv_outlook_draws(outlook, cask, later, STV_Q_WOOD_INDEX_ND);
    size_t over = 0;
    for (size_t d = 0; d < outlook->n_draws; d++) {
        room[d] = now[d] - then[d];
        over += wood[d] > rules->wood_most_nd;
    }
    window->wait_cost_bottles_nd = stv_range_of(room, outlook->n_draws).p50;
    window->wait_over_frac = (double)over / (double)outlook->n_draws;
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
    size_t open = surest;
    while (open > 0 && months[open - 1].all_frac >= OPEN_FRAC)
        open--;
    size_t close = surest;
    while (close + 1 < n_months && months[close + 1].all_frac >= OPEN_FRAC)
        close++;
    window->open_idx = open;
    window->close_idx = close;
    window->closes = close + 1 < n_months;
    window->opens_by = open > 0 ? worst_of(&months[open - 1]) : STV_SIDE_NONE;
    window->closes_by = window->closes ? worst_of(&months[close + 1]) : STV_SIDE_NONE;
}

static void one_window(const struct stv_bottling_request *request,
                       const struct stv_lineage *lineage, struct month *months, double *room,
                       struct stv_window *window)
{
    const struct stv_outlook *outlook = request->outlook;
    size_t cask = (size_t)window->cask_idx;
    struct stv_spirit_history spirit = stv_lineage_spirit(lineage, window->cask_idx);
    /* A vague fill may be as young as its last day: a label is held to that. */
    int64_t old_enough_d = old_enough_day(request->rules, spirit.youngest.to_day_d);
    for (size_t m = 0; m < outlook->n_days; m++)
        months[m] = month_of(request, cask, m, old_enough_d);
    find_window(months, outlook->n_days, window);
    window->bottles_nd = stv_outlook_range(outlook, cask, window->surest_idx, STV_Q_BOTTLES_ND);
    window->abv20_frac = stv_outlook_range(outlook, cask, window->surest_idx, STV_Q_ABV20_FRAC);
    window->wood_nd = stv_outlook_range(outlook, cask, window->surest_idx, STV_Q_WOOD_INDEX_ND);
    cost_of_waiting(outlook, request->rules, room, window);
}

enum stv_status stv_bottling_windows(const struct stv_bottling_request *request,
                                     struct stv_bottling *out)
{
    const struct stv_outlook *outlook = request->outlook;
    *out = (struct stv_bottling){0};
    if (outlook->n_days == 0)
        return STV_E_NO_DATA;
    out->windows = calloc(outlook->n_casks + 1, sizeof *out->windows);
    struct month *months = malloc(outlook->n_days * sizeof *months);
    double *room = malloc(outlook->n_draws * sizeof *room);
    struct stv_lineage *lineage = NULL;
    enum stv_status status = out->windows && months && room ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_lineage_new(request->ledger, outlook->days_d[0], &lineage);
    for (size_t c = 0; c < outlook->n_casks && status == STV_OK; c++) {
        if (!stv_lineage_spirit(lineage, (int)c).is_there)
            continue;
        struct stv_window *window = &out->windows[out->n_windows++];
        window->cask_idx = (int)c;
        one_window(request, lineage, months, room, window);
    }
    stv_lineage_free(lineage);
    free(months);
    free(room);
    if (status != STV_OK)
        stv_bottling_free(out);
    return status;
}

void stv_bottling_free(struct stv_bottling *bottling)
{
    free(bottling->windows);
    *bottling = (struct stv_bottling){0};
}
