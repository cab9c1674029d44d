#include "model/retarget.h"

#include "model/days.h"
#include "model/spirit.h"

#include <math.h>
#include <stdlib.h>

#define TURNS 2
#define ROOM_L 0.3 /* how near is near enough: well below a gauge's own error */
#define ROOM_FRAC 0.0005
#define SHIFT_MOST_ND 4.0

/* One learned cask of the group. */
struct target {
    const struct stv_posterior_cask *cask;
    const double *by_shared; /* litres, then strength */
    size_t member_idx, cask_idx, day_idx;
};

struct hunt {
    const struct stv__ensemble *ensemble;
    const struct stv_path_group *group;
    struct target *targets;
    size_t n_targets;
    int64_t *days_d;
    size_t n_days;
    struct stv__own_shift *shifts;
};

/* Lists the group's casks with a gauge, and their days. */
static void find_targets(struct hunt *hunt)
{
    const struct stv_posterior *learned = hunt->ensemble->learned;
    for (size_t m = 0; m < hunt->group->n_members; m++) {
        size_t cask_idx = hunt->group->members[m];
        const struct stv_posterior_cask *cask =
            stv_posterior_find(learned, hunt->ensemble->cask_keys[cask_idx]);
        if (!cask || cask->told_day_d == INT64_MIN)
            continue;
        size_t at = (size_t)(cask - learned->casks);
        hunt->targets[hunt->n_targets++] = (struct target){
            cask, learned->told_by_shared_nd + at * 2 * learned->n_shared, m, cask_idx, 0};
        hunt->days_d[hunt->n_days++] = cask->told_day_d;
    }
    hunt->n_days = stv_days_sort(hunt->days_d, hunt->n_days);
    for (size_t t = 0; t < hunt->n_targets; t++)
        hunt->targets[t].day_idx =
            stv_days_find(hunt->days_d, hunt->n_days, hunt->targets[t].cask->told_day_d);
}

/* What the straight line says of a draw at the gauge, less what the trial showed. */
struct miss {
    double litres_l, strength_frac;
};

static struct miss miss_of(const struct hunt *hunt, const struct target *target,
                           const struct stv_scores *scores, const struct stv_spirit_amount *shown,
                           size_t draw_idx)
{
    const struct stv_posterior *learned = hunt->ensemble->learned;
    const struct stv_posterior_cask *cask = target->cask;
    const double *shared = hunt->ensemble->house.shared_nd + draw_idx * learned->n_shared;
    struct miss miss = {cask->told_l - shown->volume20_l, cask->told_frac - shown->abv20_frac};
    for (size_t i = 0; i < learned->n_shared; i++) {
        double off = shared[i] - learned->mean_nd[i];
        miss.litres_l += target->by_shared[i] * off;
        miss.strength_frac += target->by_shared[learned->n_shared + i] * off;
    }
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++) {
        double off = scores->own_nd[s] - cask->mean_nd[s];
        miss.litres_l += cask->told_l_by_own_nd[s] * off;
        miss.strength_frac += cask->told_frac_by_own_nd[s] * off;
    }
    return miss;
}

/* The smallest move of the own scores that makes up for a miss: J' (J J' + R)^-1 miss. */
static void add_shift(const struct stv_posterior_cask *cask, struct miss miss,
                      struct stv__own_shift *shift)
{
    const double *l = cask->told_l_by_own_nd, *f = cask->told_frac_by_own_nd;
    double ll = ROOM_L * ROOM_L, lf = 0.0, ff = ROOM_FRAC * ROOM_FRAC;
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++) {
        ll += l[s] * l[s];
        lf += l[s] * f[s];
        ff += f[s] * f[s];
    }
    double whole = ll * ff - lf * lf;
    double a = (ff * miss.litres_l - lf * miss.strength_frac) / whole;
    double b = (ll * miss.strength_frac - lf * miss.litres_l) / whole;
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++) {
        double moved = shift->score_nd[s] + l[s] * a + f[s] * b;
        shift->score_nd[s] = fmax(-SHIFT_MOST_ND, fmin(SHIFT_MOST_ND, moved));
    }
}

static void see(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                const struct stv__packet *packet)
{
    const struct hunt *hunt = context;
    for (size_t t = 0; t < hunt->n_targets; t++) {
        const struct target *target = &hunt->targets[t];
        if (target->member_idx != member_idx || target->day_idx != day_idx)
            continue;
        for (size_t l = 0; l < STV__PACKET; l++) {
            size_t draw = hunt->ensemble->draw_of_lane[packet_idx * STV__PACKET + l];
            size_t at = (member_idx * hunt->ensemble->n_packets + packet_idx) * STV__PACKET + l;
            if (draw == SIZE_MAX)
                continue;
            struct stv_spirit_amount shown =
                stv_spirit_amount(packet->ethanol_kg[l], packet->water_kg[l]);
            struct stv_scores scores = stv__ensemble_scores(hunt->ensemble, target->cask_idx, draw);
            /* What a leak took is not made up for by a tighter cask. */
            if (shown.volume20_l > 0.0 && scores.leak_per_y == 0.0)
                add_shift(target->cask, miss_of(hunt, target, &scores, &shown, draw),
                          &hunt->shifts[at]);
        }
    }
}

static enum stv_status turn(struct hunt *hunt, struct stv__lane_cask *lanes)
{
    struct stv_path_input input = stv__ensemble_path(hunt->ensemble);
    input.days_d = hunt->days_d;
    input.n_days = hunt->n_days;
    enum stv_status status = stv_path_run(&input, hunt->group, lanes, see, hunt);
    stv__ensemble_lanes(hunt->ensemble, hunt->group, hunt->shifts, lanes);
    return status;
}

enum stv_status stv__retarget(const struct stv__ensemble *ensemble,
                              const struct stv_path_group *group, struct stv__lane_cask *out)
{
    stv__ensemble_lanes(ensemble, group, NULL, out);
    if (!ensemble->learned || ensemble->is_central)
        return STV_OK;
    size_t n = group->n_members;
    struct hunt hunt = {
        .ensemble = ensemble,
        .group = group,
        .targets = calloc(n + 1, sizeof *hunt.targets),
        .days_d = calloc(n + 1, sizeof *hunt.days_d),
        .shifts = calloc(n * ensemble->n_packets * STV__PACKET + 1, sizeof *hunt.shifts),
    };
    enum stv_status status = hunt.targets && hunt.days_d && hunt.shifts ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        find_targets(&hunt);
    for (int i = 0; i < TURNS && hunt.n_targets && status == STV_OK; i++)
        status = turn(&hunt, out);
    free(hunt.targets);
    free(hunt.days_d);
    free(hunt.shifts);
    return status;
}
