/* Several fills of the same cask, told apart by nothing but wood, size and strength. */
#include "model/placement_new.h"

#include "model/placement_trial.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define LEAST_AGE_Y (1.0 / 12.0)
#define PER_LPA_L 100.0

struct run {
    const struct stv_outlook_request *request;
    const struct stv_new_wish *wish;
    struct stv__trial trial;
    struct stv_outlook outlook;
    size_t n_days;
    int64_t days_d[STV_NEW_AGES_MAX + 2]; /* ascending, each once: from, ages and planned */
    size_t day_of_age[STV_NEW_AGES_MAX + 1];
};

static enum stv_status check(const struct stv_outlook_request *house,
                             const struct stv_new_wish *wish)
{
    if (wish->n_casks == 0 || wish->n_places == 0 || wish->n_ages > STV_NEW_AGES_MAX ||
        !(wish->planned_age_y >= LEAST_AGE_Y))
        return STV_E_ARG;
    for (size_t a = 0; a < wish->n_ages; a++)
        if (!(wish->ages_y[a] >= (a ? wish->ages_y[a - 1] : LEAST_AGE_Y)))
            return STV_E_ARG;
    for (size_t c = 0; c < wish->n_casks; c++)
        if (wish->cask_idx[c] < 0 || (size_t)wish->cask_idx[c] >= house->ledger->n_casks)
            return STV_E_ARG;
        else if (!stv_ledger_is_full(house->ledger, wish->cask_idx[c], wish->from_day_d))
            return STV_E_NO_DATA;
    return STV_OK;
}

static int compare_days(const void *a, const void *b)
{
    const int64_t *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

static void make_days(struct run *run)
{
    const struct stv_new_wish *wish = run->wish;
    int64_t wanted_d[STV_NEW_AGES_MAX + 1];
    run->days_d[0] = wish->from_day_d;
    for (size_t a = 0; a <= wish->n_ages; a++) {
        double age_y = a < wish->n_ages ? wish->ages_y[a] : wish->planned_age_y;
        wanted_d[a] = wish->from_day_d + (int64_t)llround(age_y * STV_YEAR_D);
        run->days_d[1 + a] = wanted_d[a];
    }
    size_t n = wish->n_ages + 2;
    qsort(run->days_d, n, sizeof *run->days_d, compare_days);
    for (size_t i = 0; i < n; i++)
        if (i == 0 || run->days_d[i] != run->days_d[run->n_days - 1])
            run->days_d[run->n_days++] = run->days_d[i];
    for (size_t a = 0; a <= wish->n_ages; a++)
        for (size_t i = 0; i < run->n_days; i++)
            if (run->days_d[i] == wanted_d[a])
                run->day_of_age[a] = i;
}

static enum stv_status make_trial(struct run *run)
{
    const struct stv_new_wish *wish = run->wish;
    struct stv__trial_want *wants = malloc(wish->n_casks * wish->n_places * sizeof *wants);
    if (!wants)
        return STV_E_MEMORY;
    for (size_t c = 0; c < wish->n_casks; c++)
        for (size_t p = 0; p < wish->n_places; p++)
            wants[c * wish->n_places + p] =
                (struct stv__trial_want){wish->cask_idx[c], wish->places[p]};
    enum stv_status status = stv__trial_new(run->request->ledger, wish->from_day_d, wants,
                                            wish->n_casks * wish->n_places, &run->trial);
    free(wants);
    return status;
}

static void tell(const struct run *run, size_t want, size_t age, struct stv_new_outcome *out)
{
    const struct stv_outlook *outlook = &run->outlook;
    size_t cask = run->trial.cask_of_want[want], day = run->day_of_age[age];
    const double *abv_draws = stv_outlook_draws(outlook, cask, day, STV_Q_ABV20_FRAC);
    *out = (struct stv_new_outcome){
        .abv20_frac = stv_outlook_range(outlook, cask, day, STV_Q_ABV20_FRAC),
        .wood_nd = stv_outlook_range(outlook, cask, day, STV_Q_WOOD_INDEX_ND),
        .fruit_nd = stv_outlook_range(outlook, cask, day, STV_Q_STILL_FRUIT_ND),
        .bottles_nd = stv_outlook_range(outlook, cask, day, STV_Q_BOTTLES_ND)};
    for (size_t d = 0; d < outlook->n_draws; d++)
        out->too_weak_frac +=
            (abv_draws[d] < run->wish->least_abv20_frac) / (double)outlook->n_draws;
}

/* One cask at the planned age, all places one behind the other as draws of one sample. */
static void gather(const struct run *run, size_t cask, double *values)
{
    size_t n_draws = run->outlook.n_draws, n_places = run->wish->n_places;
    for (size_t p = 0; p < n_places; p++) {
        size_t copy = run->trial.cask_of_want[cask * n_places + p];
        size_t day = run->day_of_age[run->wish->n_ages];
        const double *in_draws = stv_outlook_draws(&run->outlook, copy, 0, STV_Q_LPA_L);
        for (int q = 0; q < STV_Q_N; q++) {
            const double *draws = stv_outlook_draws(&run->outlook, copy, day, (enum stv_quantity)q);
            for (size_t d = 0; d < n_draws; d++)
                values[((size_t)q * n_places + p) * n_draws + d] =
                    q == STV_Q_BOTTLES_ND ? PER_LPA_L * draws[d] / in_draws[d] : draws[d];
        }
    }
}

static int is_barred(const struct stv_new_wish *wish, size_t cask)
{
    return wish->is_barred && wish->is_barred[cask];
}

static size_t best_of(const struct stv_new_wish *wish, const struct stv_place_score *scores)
{
    size_t best = 0;
    for (size_t c = 1; c < wish->n_casks; c++)
        if (!is_barred(wish, c) &&
            (is_barred(wish, best) || scores[c].merit_nd > scores[best].merit_nd))
            best = c;
    return best;
}

/* A merit within the margin of bottles is no reason to buy the one and not the other. */
static bool is_tie(const struct stv_place_score *score, const struct stv_place_score *best)
{
    double share = stv__place_margin_nd(best) / best->bottles_nd.p50;
    return best->merit_nd - score->merit_nd <= share * best->merit_nd;
}

static enum stv_status judge(const struct run *run, struct stv_new_result *out)
{
    const struct stv_house_rules *rules = run->request->rules;
    size_t n = run->outlook.n_draws * run->wish->n_places, n_casks = run->wish->n_casks;
    double *values = malloc((size_t)STV_Q_N * n * sizeof *values);
    double *bottles = malloc(n_casks * n * sizeof *bottles), *room = malloc(n * sizeof *room);
    enum stv_status status = values && bottles && room ? STV_OK : STV_E_MEMORY;
    for (size_t c = 0; c < n_casks && status == STV_OK; c++) {
        gather(run, c, values);
        memcpy(bottles + c * n, values + STV_Q_BOTTLES_ND * n, n * sizeof *bottles);
        stv__place_score(values, n, rules, room, &out->scores[c]);
        out->scores[c].free_idx = c;
    }
    out->best_idx = status == STV_OK ? best_of(run->wish, out->scores) : 0;
    for (size_t c = 0; c < n_casks && status == STV_OK; c++) {
        struct stv_place_score *score = &out->scores[c];
        score->bottles_against_best_nd =
            stv__paired_median_nd(bottles + c * n, bottles + out->best_idx * n, n, room);
        score->as_good = stv__place_is_as_good(score, &out->scores[out->best_idx],
                                               score->bottles_against_best_nd, rules) ||
                         is_tie(score, &out->scores[out->best_idx]);
    }
    free(values);
    free(bottles);
    free(room);
    return status;
}

enum stv_status stv_new_compare(const struct stv_outlook_request *house,
                                const struct stv_new_wish *wish, struct stv_new_result *out)
{
    *out = (struct stv_new_result){wish->n_casks, wish->n_places, wish->n_ages + 1, NULL, NULL, 0};
    enum stv_status status = check(house, wish);
    if (status != STV_OK)
        return status;
    struct run run = {.request = house, .wish = wish};
    struct stv_outlook_request request = *house;
    make_days(&run);
    status = make_trial(&run);
    if (status == STV_OK) {
        request.ledger = &run.trial.ledger;
        request.days_d = run.days_d;
        request.n_days = run.n_days;
        request.sums = NULL;
        request.n_sums = 0;
        status = stv_outlook_run(&request, &run.outlook);
    }
    if (status == STV_OK) {
        size_t n_wants = wish->n_casks * wish->n_places;
        out->outcomes = calloc(n_wants * out->n_ages, sizeof *out->outcomes);
        out->scores = calloc(wish->n_casks, sizeof *out->scores);
        status = out->outcomes && out->scores ? STV_OK : STV_E_MEMORY;
        for (size_t w = 0; w < n_wants && status == STV_OK; w++)
            for (size_t a = 0; a < out->n_ages; a++)
                tell(&run, w, a, &out->outcomes[w * out->n_ages + a]);
    }
    if (status == STV_OK)
        status = judge(&run, out);
    stv_outlook_free(&run.outlook);
    stv__trial_free(&run.trial);
    if (status != STV_OK)
        stv_new_result_free(out);
    return status;
}

void stv_new_result_free(struct stv_new_result *result)
{
    free(result->outcomes);
    free(result->scores);
    *result = (struct stv_new_result){0};
}
