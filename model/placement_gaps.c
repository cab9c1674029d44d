/* What the house wanted of each kind of cask and does not get where they go. */
#include "model/placement_house.h"

#include <math.h>

struct tally {
    double n_casks, missing_nd, met_nd;
    double parts_nd[STV_PARTS]; /* sums over casks, against their best place */
};

static void add(struct tally *tally, double n_casks, double missing_nd, double met_frac)
{
    tally->n_casks += n_casks;
    tally->missing_nd += n_casks * missing_nd;
    tally->met_nd += n_casks * met_frac;
}

/* Casks of an outcome that is not as good as the best of its group. */
static void add_worse(struct tally *tally, const struct stv_house_placement *placement,
                      size_t outcome_idx, const struct stv_house_rules *rules)
{
    size_t group = outcome_idx / placement->n_kinds;
    const struct stv_place_score *score = &placement->outcomes[outcome_idx].score;
    const struct stv_place_score *best =
        &placement->outcomes[group * placement->n_kinds + placement->best_idx[group]].score;
    double here = (double)placement->assignment.n_placed[outcome_idx], parts_nd[STV_PARTS];
    stv_place_parts(score, best, score->bottles_against_best_nd, rules, parts_nd);
    for (int part = 0; part < STV_PARTS; part++)
        tally->parts_nd[part] += here * parts_nd[part];
    add(tally, here, -score->bottles_against_best_nd, NAN);
}

static void tell(const struct tally *tally, enum stv_house_gap_kind kind, size_t group_idx,
                 struct stv_house_gap *out_gaps, size_t *n)
{
    if (tally->n_casks > 0.0)
        out_gaps[(*n)++] = (struct stv_house_gap){
            .kind = kind,
            .group_idx = group_idx,
            .n_casks = (size_t)llround(tally->n_casks),
            .missing_nd = tally->missing_nd / tally->n_casks,
            .part = stv_place_main_part(tally->parts_nd, -1),
            .met_frac = tally->met_nd / tally->n_casks,
        };
}

size_t stv_house_gaps(const struct stv_house_placement *placement,
                      const struct stv_house_rules *rules, struct stv_house_gap *out_gaps)
{
    double least_frac = fmax(rules->least_abv20_frac, rules->bottling_abv20_frac);
    size_t n = 0;
    for (size_t g = 0; g < placement->n_groups; g++) {
        struct tally low = {0}, high = {0}, weak = {0}, worse = {0};
        struct tally left = {(double)placement->assignment.n_left[g], 0.0, NAN, {0.0}};
        for (size_t k = 0; k < placement->n_kinds; k++) {
            size_t i = g * placement->n_kinds + k;
            double here = (double)placement->assignment.n_placed[i];
            const struct stv_place_score *score = &placement->outcomes[i].score;
            if (here == 0.0)
                continue;
            if (score->wood_ok_frac < 0.5 && score->wood_nd.p50 < rules->wood_least_nd)
                add(&low, here, rules->wood_least_nd - score->wood_nd.p50, score->wood_ok_frac);
            else if (score->wood_ok_frac < 0.5)
                add(&high, here, fmax(score->wood_nd.p50 - rules->wood_most_nd, 0.0),
                    score->wood_ok_frac);
            if (score->abv_ok_frac < 0.5)
                add(&weak, here, fmax(least_frac - score->abv20_frac.p50, 0.0), score->abv_ok_frac);
            if (!score->as_good)
                add_worse(&worse, placement, i, rules);
        }
        tell(&left, STV_GAP_PLACE, g, out_gaps, &n);
        tell(&low, STV_GAP_WOOD_LOW, g, out_gaps, &n);
        tell(&high, STV_GAP_WOOD_HIGH, g, out_gaps, &n);
        tell(&weak, STV_GAP_STRENGTH, g, out_gaps, &n);
        tell(&worse, STV_GAP_BEST, g, out_gaps, &n);
    }
    return n;
}
