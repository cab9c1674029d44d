/* Copies of casks that part on one day, and the yardstick for what each then gives. */
#include "model/placement_trial.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Margins inside which two places are as good as each other; judgement, set beforehand. */
#define MARGIN_OK_FRAC 0.10
#define MARGIN_QUALITY_ND 0.04
/* How much full marks for fruit (or wood) weigh against all the bottles; judgement. */
#define QUALITY_WEIGHT 0.5

void stv__trial_free(struct stv__trial *trial)
{
    stv_ledger_free(&trial->ledger);
    free(trial->cask_of_want);
    *trial = (struct stv__trial){0};
}

/* Room for a part's casks and events, and a move, behind what is there. */
static enum stv_status grow(struct stv_ledger *ledger, const struct stv_ledger *part)
{
    struct stv_cask *casks =
        realloc(ledger->casks, (ledger->n_casks + part->n_casks + 1) * sizeof *casks);
    if (casks)
        ledger->casks = casks;
    struct stv_event *events =
        realloc(ledger->events, (ledger->n_events + part->n_events + 2) * sizeof *events);
    if (events)
        ledger->events = events;
    return casks && events ? STV_OK : STV_E_MEMORY;
}

/* Adds a copy of the part's casks and events up to the day, and the move. */
static enum stv_status add_copy(const struct stv_ledger *part, int cask_idx, int64_t from_day_d,
                                const struct stv_place *place, struct stv_ledger *to)
{
    int first = (int)to->n_casks;
    enum stv_status status = grow(to, part);
    if (status != STV_OK)
        return status;
    memcpy(to->casks + to->n_casks, part->casks, part->n_casks * sizeof *part->casks);
    to->n_casks += part->n_casks;
    for (size_t e = 0; e < part->n_events && part->events[e].day_d <= from_day_d; e++) {
        struct stv_event event = part->events[e];
        event.cask_idx += first;
        event.other_idx += event.other_idx >= 0 ? first : 0;
        to->events[to->n_events++] = event;
    }
    if (place->warehouse_idx >= 0)
        to->events[to->n_events++] = (struct stv_event){
            .day_d = from_day_d,
            .kind = STV_EVENT_MOVE,
            .cask_idx = first + cask_idx,
            .other_idx = -1,
            .volume20_l = NAN,
            .abv20_frac = NAN,
            .water_kg = NAN,
            .place = *place,
            .row = SIZE_MAX, /* after all else of that day */
        };
    return STV_OK;
}

enum stv_status stv__trial_new(const struct stv_ledger *ledger, int64_t from_day_d,
                               const struct stv__trial_want *wants, size_t n_wants,
                               struct stv__trial *out)
{
    struct stv_ledger part = {0};
    int *idx_of = malloc((ledger->n_casks + 1) * sizeof *idx_of);
    *out = (struct stv__trial){.cask_of_want = malloc((n_wants + 1) * sizeof(size_t))};
    enum stv_status status = idx_of && out->cask_of_want ? STV_OK : STV_E_MEMORY;
    for (size_t w = 0; w < n_wants && status == STV_OK; w++) {
        int cask_idx = wants[w].cask_idx;
        if (w == 0 || cask_idx != wants[w - 1].cask_idx) {
            stv_ledger_free(&part);
            status = stv_ledger_part(ledger, &cask_idx, 1, &part, idx_of);
        }
        if (status != STV_OK)
            break;
        out->cask_of_want[w] = out->ledger.n_casks + (size_t)idx_of[cask_idx];
        status = add_copy(&part, idx_of[cask_idx], from_day_d, &wants[w].place, &out->ledger);
    }
    stv_ledger_free(&part);
    free(idx_of);
    return status == STV_OK ? stv_ledger_sort(&out->ledger) : status;
}

/* What a house that puts fruit (or wood) first counts: up to 1. */
static double quality_nd(const struct stv_house_rules *rules, double wood_nd, double fruit_nd)
{
    return rules->wood_first ? fmin(1.0, wood_nd / rules->wood_most_nd) : fruit_nd;
}

static struct stv_range range_of(const double *draws, size_t n_draws, double *room)
{
    memcpy(room, draws, n_draws * sizeof *room);
    return stv_range_of(room, n_draws);
}

/* What a cask that meets its wishes for wood and strength (1) is worth against one that does not.
 */
static double wishes_nd(double wood_ok, double abv_ok)
{
    return 0.5 * (1.0 + 0.5 * (wood_ok + abv_ok));
}

static double quality_worth_nd(double quality)
{
    return 1.0 + QUALITY_WEIGHT * quality;
}

void stv_place_parts(const struct stv_place_score *own, const struct stv_place_score *other,
                     double bottles_nd, const struct stv_house_rules *rules,
                     double out_nd[STV_PARTS])
{
    double abv_ok = 0.5 * (own->abv_ok_frac + other->abv_ok_frac);
    double wood_ok = 0.5 * (own->wood_ok_frac + other->wood_ok_frac);
    double own_quality = quality_nd(rules, own->wood_nd.p50, own->fruit_nd.p50);
    double other_quality = quality_nd(rules, other->wood_nd.p50, other->fruit_nd.p50);
    double bottles_share = other->bottles_nd.p50 > 0.0 ? bottles_nd / other->bottles_nd.p50 : 0.0;
    out_nd[STV_PART_BOTTLES] = log1p(bottles_share);
    out_nd[STV_PART_WOOD] =
        log(wishes_nd(own->wood_ok_frac, abv_ok) / wishes_nd(other->wood_ok_frac, abv_ok));
    out_nd[STV_PART_STRENGTH] =
        log(wishes_nd(wood_ok, own->abv_ok_frac) / wishes_nd(wood_ok, other->abv_ok_frac));
    out_nd[STV_PART_QUALITY] = log(quality_worth_nd(own_quality) / quality_worth_nd(other_quality));
}

enum stv_place_part stv_place_main_part(const double parts_nd[STV_PARTS], int sign)
{
    int most = 0;
    for (int part = 1; part < STV_PARTS; part++)
        if (sign * parts_nd[part] > sign * parts_nd[most])
            most = part;
    return (enum stv_place_part)most;
}

void stv__place_score(const double *values, size_t n_draws, const struct stv_house_rules *rules,
                      double *room, struct stv_place_score *score)
{
    const double *bottles = values + STV_Q_BOTTLES_ND * n_draws;
    const double *abv = values + STV_Q_ABV20_FRAC * n_draws;
    const double *wood = values + STV_Q_WOOD_INDEX_ND * n_draws;
    const double *fruit = values + STV_Q_STILL_FRUIT_ND * n_draws;
    double n = (double)n_draws;
    double least_abv = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac);
    for (size_t d = 0; d < n_draws; d++) {
        int wood_ok = wood[d] >= rules->wood_least_nd && wood[d] <= rules->wood_most_nd;
        int abv_ok = abv[d] >= least_abv;
        double wishes = wishes_nd(wood_ok, abv_ok);
        double quality = quality_worth_nd(quality_nd(rules, wood[d], fruit[d]));
        score->wood_ok_frac += wood_ok / n;
        score->abv_ok_frac += abv_ok / n;
        score->merit_nd += bottles[d] * wishes * quality / n;
    }
    score->bottles_nd = range_of(bottles, n_draws, room);
    score->abv20_frac = range_of(abv, n_draws, room);
    score->wood_nd = range_of(wood, n_draws, room);
    score->fruit_nd = range_of(fruit, n_draws, room);
    score->lpa_l = range_of(values + STV_Q_LPA_L * n_draws, n_draws, room);
}

double stv__paired_median_nd(const double *own_draws, const double *other_draws, size_t n_draws,
                             double *room)
{
    for (size_t d = 0; d < n_draws; d++)
        room[d] = own_draws[d] - other_draws[d];
    return stv_range_of(room, n_draws).p50;
}

double stv__place_margin_nd(const struct stv_place_score *best)
{
    return STV_BOTTLES_TIE_SHARE * best->bottles_nd.p50;
}

int stv__place_is_as_good(const struct stv_place_score *score, const struct stv_place_score *best,
                          double bottles_nd, const struct stv_house_rules *rules)
{
    double quality = quality_nd(rules, score->wood_nd.p50, score->fruit_nd.p50);
    double best_quality = quality_nd(rules, best->wood_nd.p50, best->fruit_nd.p50);
    return fabs(bottles_nd) <= stv__place_margin_nd(best) &&
           fabs(score->wood_ok_frac - best->wood_ok_frac) <= MARGIN_OK_FRAC &&
           fabs(score->abv_ok_frac - best->abv_ok_frac) <= MARGIN_OK_FRAC &&
           fabs(quality - best_quality) <= MARGIN_QUALITY_ND;
}
