/* A cask tried at every free place: copies of it, with the same id and so the same draws, part
 * only at the day of the move.  Places of one climate give one and the same outcome, so only
 * climates are run. */
#include "model/placement.h"

#include "model/placement_trial.h"
#include "model/spirit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* One copy for each climate among the free places. */
struct tries {
    struct stv__trial trial;
    struct stv__trial_want *wants;
    size_t *position_of_want; /* n_wants */
    size_t n_wants;
};

static void tries_free(struct tries *tries)
{
    stv__trial_free(&tries->trial);
    free(tries->wants);
    free(tries->position_of_want);
}

static enum stv_status make_tries(const struct stv_ledger *ledger,
                                  const struct stv_placement_wish *wish, struct tries *out)
{
    *out = (struct tries){.wants = calloc(wish->n_free + 1, sizeof *out->wants),
                          .position_of_want = calloc(wish->n_free + 1, sizeof(size_t))};
    if (!out->wants || !out->position_of_want)
        return STV_E_MEMORY;
    for (size_t f = 0; f < wish->n_free; f++) {
        size_t known = 0;
        while (known < out->n_wants &&
               out->position_of_want[known] != wish->free_places[f].position_idx)
            known++;
        if (known < out->n_wants)
            continue;
        out->position_of_want[known] = wish->free_places[f].position_idx;
        out->wants[out->n_wants++] =
            (struct stv__trial_want){wish->cask_idx, wish->free_places[f].place};
    }
    return stv__trial_new(ledger, wish->from_day_d, out->wants, out->n_wants, &out->trial);
}

/* A free place with its score, and which cask of the trial stands for it. */
struct row {
    struct stv_place_score score;
    const struct stv_free_place *free_place;
    size_t cask_idx;
};

static int compare_merit(const void *a, const void *b)
{
    const struct row *x = a;
    const struct row *y = b;
    if (x->score.merit_nd != y->score.merit_nd)
        return x->score.merit_nd > y->score.merit_nd ? -1 : 1;
    return (x->score.free_idx > y->score.free_idx) - (x->score.free_idx < y->score.free_idx);
}

/* Among places as good as the best: where the cask lies now, then the easier reach, then the lower
 * tier.  The others follow by merit. */
static int compare_rows(const void *a, const void *b)
{
    const struct row *x = a;
    const struct row *y = b;
    if (x->score.as_good != y->score.as_good)
        return y->score.as_good - x->score.as_good;
    if (!x->score.as_good)
        return compare_merit(a, b);
    if (x->free_place->is_present != y->free_place->is_present)
        return y->free_place->is_present - x->free_place->is_present;
    if (x->free_place->reach != y->free_place->reach)
        return (int)x->free_place->reach - (int)y->free_place->reach;
    if (x->free_place->place.tier_idx != y->free_place->place.tier_idx)
        return x->free_place->place.tier_idx - y->free_place->place.tier_idx;
    return compare_merit(a, b);
}

/* Median over draws of one cask's bottles less another's. */
static double paired_bottles_nd(const struct stv_outlook *outlook, size_t cask_idx,
                                size_t other_idx, double *room)
{
    return stv__paired_median_nd(stv_outlook_draws(outlook, cask_idx, 0, STV_Q_BOTTLES_ND),
                                 stv_outlook_draws(outlook, other_idx, 0, STV_Q_BOTTLES_ND),
                                 outlook->n_draws, room);
}

static void judge(const struct stv_outlook *outlook, const struct stv_house_rules *rules,
                  struct row *rows, size_t n_rows, double *room, struct stv_placement *out)
{
    const struct stv_place_score *best = &rows[0].score;
    out->margin_bottles_nd = stv__place_margin_nd(best);
    out->is_matter = 0;
    for (size_t r = 0; r < n_rows; r++) {
        double bottles_nd = paired_bottles_nd(outlook, rows[r].cask_idx, rows[0].cask_idx, room);
        rows[r].score.as_good = stv__place_is_as_good(&rows[r].score, best, bottles_nd, rules);
        out->is_matter |= !rows[r].score.as_good;
    }
}

/* Bottles are told against the place that is put first. */
static void relate_to_first(const struct stv_outlook *outlook, struct row *rows, size_t n_rows,
                            double *room)
{
    for (size_t r = 0; r < n_rows; r++)
        rows[r].score.bottles_against_best_nd =
            paired_bottles_nd(outlook, rows[r].cask_idx, rows[0].cask_idx, room);
}

/* Which row would be in front for a house of the other taste. */
static size_t front_of_other_taste(const struct stv_outlook *outlook,
                                   const struct stv_house_rules *rules, const struct row *rows,
                                   size_t n_rows, double *room)
{
    struct stv_house_rules other = *rules;
    struct stv_place_score first = {0}, best = {0};
    size_t best_idx = 0;
    other.wood_first = !rules->wood_first;
    for (size_t r = 0; r < n_rows; r++) {
        struct stv_place_score score = {0};
        stv__place_score(stv_outlook_draws(outlook, rows[r].cask_idx, 0, 0), outlook->n_draws,
                         &other, room, &score);
        if (r == 0)
            first = score;
        if (r == 0 || score.merit_nd > best.merit_nd) {
            best = score;
            best_idx = r;
        }
    }
    double bottles_nd = paired_bottles_nd(outlook, rows[0].cask_idx, rows[best_idx].cask_idx, room);
    return stv__place_is_as_good(&first, &best, bottles_nd, &other) ? 0 : best_idx;
}

/* Water to the bottling strength, draw by draw: m w = (m + water) w'. */
static struct stv_range water_kg(const double *values, size_t n_draws,
                                 const struct stv_house_rules *rules, double *room)
{
    const double *litres_l = values + STV_Q_VOLUME20_L * n_draws;
    const double *abv = values + STV_Q_ABV20_FRAC * n_draws;
    double aim = NAN;
    enum stv_status status = stv_mass_frac_from_abv20(rules->bottling_abv20_frac, &aim);
    for (size_t d = 0; d < n_draws; d++) {
        double is = NAN;
        room[d] = 0.0;
        if (status != STV_OK || abv[d] <= rules->bottling_abv20_frac)
            continue;
        status = stv_mass_frac_from_abv20(abv[d], &is);
        room[d] = 1e-3 * litres_l[d] * stv_spirit_rho20_kg_m3(is) * (is - aim) / aim;
    }
    return status == STV_OK ? stv_range_of(room, n_draws) : stv_range_point(NAN);
}

static enum stv_status rank_rows(const struct stv_outlook *outlook, const struct tries *tries,
                                 const struct stv_house_rules *rules,
                                 const struct stv_placement_wish *wish, struct stv_placement *out)
{
    struct row *rows = calloc(wish->n_free, sizeof *rows);
    double *room = malloc(outlook->n_draws * sizeof *room);
    out->scores = malloc(wish->n_free * sizeof *out->scores);
    enum stv_status status = rows && room && out->scores ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        for (size_t f = 0; f < wish->n_free; f++) {
            size_t copy = 0;
            while (tries->position_of_want[copy] != wish->free_places[f].position_idx)
                copy++;
            rows[f] = (struct row){.free_place = &wish->free_places[f],
                                   .cask_idx = tries->trial.cask_of_want[copy]};
            rows[f].score.free_idx = f;
            const double *values = stv_outlook_draws(outlook, rows[f].cask_idx, 0, 0);
            stv__place_score(values, outlook->n_draws, rules, room, &rows[f].score);
            rows[f].score.water_kg = water_kg(values, outlook->n_draws, rules, room);
        }
        qsort(rows, wish->n_free, sizeof *rows, compare_merit);
        judge(outlook, rules, rows, wish->n_free, room, out);
        qsort(rows, wish->n_free, sizeof *rows, compare_rows);
        relate_to_first(outlook, rows, wish->n_free, room);
        for (size_t f = 0; f < wish->n_free; f++)
            out->scores[f] = rows[f].score;
        out->n_scores = wish->n_free;
        out->other_taste_idx = front_of_other_taste(outlook, rules, rows, wish->n_free, room);
    }
    free(rows);
    free(room);
    return status;
}

enum stv_status stv_placement_rank(const struct stv_outlook_request *house,
                                   const struct stv_placement_wish *wish, struct stv_placement *out)
{
    *out = (struct stv_placement){.cask_idx = wish->cask_idx, .target_day_d = wish->target_day_d};
    if (wish->cask_idx < 0 || (size_t)wish->cask_idx >= house->ledger->n_casks ||
        wish->target_day_d < wish->from_day_d)
        return STV_E_ARG;
    if (wish->n_free == 0 || !stv_ledger_is_full(house->ledger, wish->cask_idx, wish->from_day_d))
        return STV_E_NO_DATA;
    struct tries tries;
    struct stv_outlook outlook = {0};
    enum stv_status status = make_tries(house->ledger, wish, &tries);
    if (status == STV_OK) {
        struct stv_outlook_request request = *house;
        request.ledger = &tries.trial.ledger;
        request.days_d = &wish->target_day_d;
        request.n_days = 1;
        status = stv_outlook_run(&request, &outlook);
    }
    if (status == STV_OK)
        status = rank_rows(&outlook, &tries, house->rules, wish, out);
    stv_outlook_free(&outlook);
    tries_free(&tries);
    if (status != STV_OK)
        stv_placement_free(out);
    return status;
}

void stv_placement_free(struct stv_placement *placement)
{
    free(placement->scores);
    placement->scores = NULL;
    placement->n_scores = 0;
}
