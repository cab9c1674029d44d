/* A cask tried at every free place: copies of it, with the same id and so the same draws, part
 * only at the day of the move.  Places of one climate give one and the same outcome, so only
 * climates are run. */
#include "model/placement_score.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Margins inside which two places are as good as each other; judgement, set beforehand. */
#define MARGIN_BOTTLES_SHARE 0.015
#define MARGIN_OK_FRAC 0.10
#define MARGIN_QUALITY_ND 0.04
/* How much full marks for fruit (or wood) weigh against all the bottles; judgement. */
#define QUALITY_WEIGHT 0.5

/* The ledger of all copies, and which copy stands for which climate. */
struct trial {
    struct stv_ledger ledger;
    size_t *position_of_copy; /* n_copies */
    size_t *cask_of_copy;     /* index in the trial's ledger of the cask that is placed */
    size_t n_copies;
};

static void trial_free(struct trial *trial)
{
    stv_ledger_free(&trial->ledger);
    free(trial->position_of_copy);
    free(trial->cask_of_copy);
}

static enum stv_status trial_allocate(const struct stv_ledger *ledger, size_t n_free,
                                      struct trial *trial)
{
    *trial = (struct trial){0};
    size_t n_casks = n_free * ledger->n_casks;
    size_t n_events = n_free * (ledger->n_events + 1);
    trial->ledger.casks = malloc((n_casks + 1) * sizeof *trial->ledger.casks);
    trial->ledger.events = malloc((n_events + 1) * sizeof *trial->ledger.events);
    trial->position_of_copy = malloc((n_free + 1) * sizeof(size_t));
    trial->cask_of_copy = malloc((n_free + 1) * sizeof(size_t));
    return trial->ledger.casks && trial->ledger.events && trial->position_of_copy &&
                   trial->cask_of_copy
               ? STV_OK
               : STV_E_MEMORY;
}

/* Marks the casks whose spirit ever met the wanted cask's. */
static void mark_group(const struct stv_ledger *ledger, int cask_idx, int *in_group)
{
    in_group[cask_idx] = 1;
    for (int changed = 1; changed;) {
        changed = 0;
        for (size_t e = 0; e < ledger->n_events; e++) {
            const struct stv_event *event = &ledger->events[e];
            if (event->kind != STV_EVENT_TRANSFER ||
                in_group[event->cask_idx] == in_group[event->other_idx])
                continue;
            in_group[event->cask_idx] = in_group[event->other_idx] = 1;
            changed = 1;
        }
    }
}

/* Adds a copy of the group's casks and events up to the move, and the move. */
static void add_copy(const struct stv_ledger *ledger, const struct stv_placement_wish *wish,
                     const struct stv_free_place *free_place, const int *in_group,
                     struct trial *trial)
{
    struct stv_ledger *to = &trial->ledger;
    size_t first = to->n_casks;
    int index_of[2] = {0, 0};
    for (size_t c = 0; c < ledger->n_casks; c++)
        if (in_group[c])
            to->casks[to->n_casks++] = ledger->casks[c];
    for (size_t e = 0; e < ledger->n_events && ledger->events[e].day_d <= wish->from_day_d; e++) {
        struct stv_event event = ledger->events[e];
        if (!in_group[event.cask_idx])
            continue;
        int wanted[2] = {event.cask_idx, event.other_idx};
        for (int i = 0; i < 2; i++) {
            index_of[i] = (int)first;
            for (int c = 0; c < wanted[i]; c++)
                index_of[i] += in_group[c];
        }
        event.cask_idx = index_of[0];
        event.other_idx = wanted[1] >= 0 ? index_of[1] : -1;
        to->events[to->n_events++] = event;
    }
    size_t placed = first;
    for (int c = 0; c < wish->cask_idx; c++)
        placed += (size_t)in_group[c];
    to->events[to->n_events++] = (struct stv_event){
        .day_d = wish->from_day_d,
        .kind = STV_EVENT_MOVE,
        .cask_idx = (int)placed,
        .other_idx = -1,
        .volume20_l = NAN,
        .abv20_frac = NAN,
        .water_kg = NAN,
        .place = free_place->place,
        .row = SIZE_MAX, /* after all else of that day */
    };
    trial->position_of_copy[trial->n_copies] = free_place->position_idx;
    trial->cask_of_copy[trial->n_copies++] = placed;
}

static enum stv_status make_trial(const struct stv_ledger *ledger,
                                  const struct stv_placement_wish *wish, struct trial *trial)
{
    int *in_group = calloc(ledger->n_casks, sizeof *in_group);
    enum stv_status status = trial_allocate(ledger, wish->n_free, trial);
    if (!in_group)
        status = STV_E_MEMORY;
    if (status == STV_OK) {
        mark_group(ledger, wish->cask_idx, in_group);
        for (size_t f = 0; f < wish->n_free; f++) {
            size_t known = 0;
            while (known < trial->n_copies &&
                   trial->position_of_copy[known] != wish->free_places[f].position_idx)
                known++;
            if (known == trial->n_copies)
                add_copy(ledger, wish, &wish->free_places[f], in_group, trial);
        }
        status = stv_ledger_sort(&trial->ledger);
    }
    free(in_group);
    return status;
}

/* What a house that puts fruit (or wood) first counts: up to 1. */
static double quality_nd(const struct stv_house_rules *rules, double wood_nd, double fruit_nd)
{
    return rules->wood_first ? fmin(1.0, wood_nd / rules->wood_most_nd) : fruit_nd;
}

void stv__score_told(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx,
                     const struct stv_house_rules *rules, struct stv_place_score *score)
{
    const double *bottles = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_BOTTLES_ND);
    const double *abv = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_ABV20_FRAC);
    const double *wood = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_WOOD_INDEX_ND);
    const double *fruit = stv_outlook_draws(outlook, cask_idx, day_idx, STV_Q_STILL_FRUIT_ND);
    double n = (double)outlook->n_draws;
    double least_abv = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac);
    for (size_t d = 0; d < outlook->n_draws; d++) {
        int wood_ok = wood[d] >= rules->wood_least_nd && wood[d] <= rules->wood_most_nd;
        int abv_ok = abv[d] >= least_abv;
        double wishes = 0.5 * (1.0 + 0.5 * (wood_ok + abv_ok));
        double quality = 1.0 + QUALITY_WEIGHT * quality_nd(rules, wood[d], fruit[d]);
        score->wood_ok_frac += wood_ok / n;
        score->abv_ok_frac += abv_ok / n;
        score->merit_nd += bottles[d] * wishes * quality / n;
    }
    score->bottles_nd = stv_outlook_range(outlook, cask_idx, day_idx, STV_Q_BOTTLES_ND);
    score->abv20_frac = stv_outlook_range(outlook, cask_idx, day_idx, STV_Q_ABV20_FRAC);
    score->wood_nd = stv_outlook_range(outlook, cask_idx, day_idx, STV_Q_WOOD_INDEX_ND);
    score->fruit_nd = stv_outlook_range(outlook, cask_idx, day_idx, STV_Q_STILL_FRUIT_ND);
    score->lpa_l = stv_outlook_range(outlook, cask_idx, day_idx, STV_Q_LPA_L);
}

double stv__score_margin_bottles_nd(const struct stv_place_score *best)
{
    return MARGIN_BOTTLES_SHARE * best->bottles_nd.p50;
}

static int is_as_good(const struct stv_place_score *score, const struct stv_place_score *best,
                      double bottles_against_nd, const struct stv_house_rules *rules)
{
    double quality = quality_nd(rules, score->wood_nd.p50, score->fruit_nd.p50);
    double best_quality = quality_nd(rules, best->wood_nd.p50, best->fruit_nd.p50);
    return fabs(bottles_against_nd) <= stv__score_margin_bottles_nd(best) &&
           fabs(score->wood_ok_frac - best->wood_ok_frac) <= MARGIN_OK_FRAC &&
           fabs(score->abv_ok_frac - best->abv_ok_frac) <= MARGIN_OK_FRAC &&
           fabs(quality - best_quality) <= MARGIN_QUALITY_ND;
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
    const double *own = stv_outlook_draws(outlook, cask_idx, 0, STV_Q_BOTTLES_ND);
    const double *other = stv_outlook_draws(outlook, other_idx, 0, STV_Q_BOTTLES_ND);
    for (size_t d = 0; d < outlook->n_draws; d++)
        room[d] = own[d] - other[d];
    return stv_range_of(room, outlook->n_draws).p50;
}

static void judge(const struct stv_outlook *outlook, const struct stv_house_rules *rules,
                  struct row *rows, size_t n_rows, double *room, struct stv_placement *out)
{
    const struct stv_place_score *best = &rows[0].score;
    out->margin_bottles_nd = stv__score_margin_bottles_nd(best);
    out->is_matter = 0;
    for (size_t r = 0; r < n_rows; r++) {
        double bottles_nd = paired_bottles_nd(outlook, rows[r].cask_idx, rows[0].cask_idx, room);
        rows[r].score.as_good = is_as_good(&rows[r].score, best, bottles_nd, rules);
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

static enum stv_status rank_rows(const struct stv_outlook *outlook, const struct trial *trial,
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
            while (trial->position_of_copy[copy] != wish->free_places[f].position_idx)
                copy++;
            rows[f] = (struct row){.free_place = &wish->free_places[f],
                                   .cask_idx = trial->cask_of_copy[copy]};
            rows[f].score.free_idx = f;
            stv__score_told(outlook, rows[f].cask_idx, 0, rules, &rows[f].score);
        }
        qsort(rows, wish->n_free, sizeof *rows, compare_merit);
        judge(outlook, rules, rows, wish->n_free, room, out);
        qsort(rows, wish->n_free, sizeof *rows, compare_rows);
        relate_to_first(outlook, rows, wish->n_free, room);
        for (size_t f = 0; f < wish->n_free; f++)
            out->scores[f] = rows[f].score;
        out->n_scores = wish->n_free;
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
    struct trial trial;
    struct stv_outlook outlook = {0};
    enum stv_status status = make_trial(house->ledger, wish, &trial);
    if (status == STV_OK) {
        struct stv_outlook_request request = *house;
        request.ledger = &trial.ledger;
        request.days_d = &wish->target_day_d;
        request.n_days = 1;
        status = stv_outlook_run(&request, &outlook);
    }
    if (status == STV_OK)
        status = rank_rows(&outlook, &trial, house->rules, wish, out);
    stv_outlook_free(&outlook);
    trial_free(&trial);
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
