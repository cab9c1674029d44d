#include "model/retarget.h"

#include "model/days.h"
#include "model/spirit.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

#define TURNS 3
#define ROOM_L 0.3 /* how near is near enough: well below a gauge's own error */
#define ROOM_FRAC 0.0005
#define SHIFT_MOST_ND 4.0
#define LEAST_RATE_PER_Y 1e-6
#define LEAST_STEP2 1e-12

/* One learned cask of the group. */
struct target {
    const struct stv_posterior_cask *cask;
    const double *by_shared; /* STV_LAST_N x n_shared */
    size_t member_idx, cask_idx;
    size_t day_idx[STV_LAST_N], from_day_idx, found_day_idx; /* SIZE_MAX: none */
};

/* What a trial shows on those days; NaN: nothing. */
struct shown {
    double last[STV_LAST_N], from_l, found_l;
};

/* What a trial is held to: nothing, the figure that is told, or the litres that were found. */
enum hold { HOLD_NOT, HOLD_TOLD, HOLD_FOUND };

/* One cask in one trial: where it was moved from, and how what it shows moves, as far as is known:
 * as the straight line does at first, then corrected by what each move brought. */
struct trial {
    enum hold held[STV_LAST_N];
    double rate_per_y, found_l; /* of the leak, and what it left; 0: not seen yet */
    double before[STV_LAST_N], step_nd[STV_OWN_SCORE_N];
    double by_own_nd[STV_LAST_N][STV_OWN_SCORE_N];
};

struct hunt {
    const struct stv__ensemble *ensemble;
    const struct stv_path_group *group;
    struct target *targets;
    size_t n_targets;
    int64_t *days_d;
    size_t n_days;
    struct shown *shown; /* [target * lanes + lane], as are trials */
    struct trial *trials;
    struct stv__own_shift *shifts;
};

static size_t lanes_of(const struct hunt *hunt)
{
    return hunt->ensemble->n_packets * STV__PACKET;
}

static bool may_leak(const struct stv_posterior_cask *cask)
{
    return cask->leak.chance_frac > 0.0 && cask->leak.leaking_y > 0.0;
}

static size_t day_of(const struct hunt *hunt, int64_t day_d)
{
    return day_d == INT64_MIN ? SIZE_MAX : stv_days_find(hunt->days_d, hunt->n_days, day_d);
}

/* Lists the group's casks with a gauge, and their days. */
static void find_targets(struct hunt *hunt)
{
    const struct stv_posterior *learned = hunt->ensemble->learned;
    for (size_t m = 0; m < hunt->group->n_members; m++) {
        size_t cask_idx = hunt->group->members[m], n_before = hunt->n_days;
        const struct stv_posterior_cask *cask =
            stv_posterior_find(learned, hunt->ensemble->cask_keys[cask_idx]);
        for (int k = 0; cask && k < STV_LAST_N; k++)
            if (cask->last[k].day_d != INT64_MIN)
                hunt->days_d[hunt->n_days++] = cask->last[k].day_d;
        if (cask && may_leak(cask))
            hunt->days_d[hunt->n_days++] = cask->leak.found_d;
        if (cask && cask->last[STV_LAST_VOLUME20_L].from_d != INT64_MIN)
            hunt->days_d[hunt->n_days++] = cask->last[STV_LAST_VOLUME20_L].from_d;
        if (hunt->n_days == n_before)
            continue;
        size_t at = (size_t)(cask - learned->casks);
        hunt->targets[hunt->n_targets++] = (struct target){
            .cask = cask,
            .by_shared = learned->last_by_shared_nd + at * STV_LAST_N * learned->n_shared,
            .member_idx = m,
            .cask_idx = cask_idx};
    }
    hunt->n_days = stv_days_sort(hunt->days_d, hunt->n_days);
    for (size_t t = 0; t < hunt->n_targets; t++) {
        struct target *target = &hunt->targets[t];
        for (int k = 0; k < STV_LAST_N; k++)
            target->day_idx[k] = day_of(hunt, target->cask->last[k].day_d);
        target->from_day_idx = day_of(hunt, target->cask->last[STV_LAST_VOLUME20_L].from_d);
        target->found_day_idx =
            may_leak(target->cask) ? day_of(hunt, target->cask->leak.found_d) : SIZE_MAX;
    }
}

/* What the straight line says of a draw at a gauge. */
static double told_at(const struct hunt *hunt, const struct target *target,
                      const struct stv_scores *scores, size_t draw_idx, enum stv_last which)
{
    const struct stv_posterior *learned = hunt->ensemble->learned;
    const struct stv_posterior_last *last = &target->cask->last[which];
    const double *shared = hunt->ensemble->house.shared_nd + draw_idx * learned->n_shared;
    const double *by_shared = target->by_shared + (size_t)which * learned->n_shared;
    double value = last->value;
    for (size_t i = 0; i < learned->n_shared; i++)
        value += by_shared[i] * (shared[i] - learned->mean_nd[i]);
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++)
        value += last->by_own_nd[s] * (scores->own_nd[s] - target->cask->mean_nd[s]);
    return value;
}

/* A figure moved by other than was foreseen: the smallest change of what is known that says so.
 * Source: Broyden 1965, Math. Comput. 19:577 (from memory) */
static void correct(struct trial *trial, int which, double shown)
{
    double step2 = 0.0, off = shown - trial->before[which];
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++) {
        step2 += trial->step_nd[s] * trial->step_nd[s];
        off -= trial->by_own_nd[which][s] * trial->step_nd[s];
    }
    for (size_t s = 0; s < STV_OWN_SCORE_N && step2 > LEAST_STEP2; s++)
        trial->by_own_nd[which][s] += off * trial->step_nd[s] / step2;
}

/* The smallest move of the own scores that makes up for both misses: J' (J J' + R)^-1 miss. */
static void add_shift(struct trial *trial, const double miss[STV_LAST_N],
                      struct stv__own_shift *shift)
{
    const double *l = trial->by_own_nd[STV_LAST_VOLUME20_L];
    const double *f = trial->by_own_nd[STV_LAST_ABV20_FRAC];
    double ll = ROOM_L * ROOM_L, lf = 0.0, ff = ROOM_FRAC * ROOM_FRAC;
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++) {
        ll += l[s] * l[s];
        lf += l[s] * f[s];
        ff += f[s] * f[s];
    }
    double whole = ll * ff - lf * lf;
    double a = (ff * miss[STV_LAST_VOLUME20_L] - lf * miss[STV_LAST_ABV20_FRAC]) / whole;
    double b = (ll * miss[STV_LAST_ABV20_FRAC] - lf * miss[STV_LAST_VOLUME20_L]) / whole;
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++) {
        double from = shift->score_nd[s], moved = from + l[s] * a + f[s] * b;
        shift->score_nd[s] = fmax(-SHIFT_MOST_ND, fmin(SHIFT_MOST_ND, moved));
        trial->step_nd[s] = shift->score_nd[s] - from;
    }
}

/* How the litres found move with the rate of the leak: by what the last move brought, at first as
 * if nothing was drawn since. */
static double slope_l_y(const struct trial *trial, double leaking_y, double rate_per_y,
                        double shown_l)
{
    double moved_per_y = rate_per_y - trial->rate_per_y, moved_l = shown_l - trial->found_l;
    bool has_moved = trial->found_l > 0.0 && fabs(moved_per_y) > LEAST_RATE_PER_Y;
    if (has_moved && moved_l / moved_per_y < 0.0)
        return moved_l / moved_per_y;
    return -shown_l * leaking_y;
}

/* The cask holds then what was found; a leak that took more than nothing gives nothing back. */
static void add_leak_shift(const struct target *target, const struct stv_scores *scores,
                           double shown_l, double found_l, struct trial *trial,
                           struct stv__own_shift *shift)
{
    double rate_per_y = fmax(0.0, scores->leak_per_y + shift->leak_per_y);
    double slope = slope_l_y(trial, target->cask->leak.leaking_y, rate_per_y, shown_l);
    trial->rate_per_y = rate_per_y;
    trial->found_l = shown_l;
    shift->leak_per_y =
        fmax(-scores->leak_per_y, rate_per_y - scores->leak_per_y + (found_l - shown_l) / slope);
}

/* What a leak took is not made up for by a tighter cask, as long as it took anything; what went
 * since it was stopped is none of it. */
static enum hold hold_of(const struct stv_posterior_cask *cask, const struct stv_scores *scores,
                         const struct stv__own_shift *shift, int which)
{
    const struct stv_posterior_last *last = &cask->last[which];
    if (which != STV_LAST_VOLUME20_L || !(scores->leak_per_y > 0.0) ||
        last->day_d <= cask->leak.from_d)
        return HOLD_TOLD;
    if (scores->leak_per_y + shift->leak_per_y > 0.0)
        return last->from_d != INT64_MIN ? HOLD_TOLD : HOLD_NOT;
    return last->day_d == cask->leak.found_d ? HOLD_FOUND : HOLD_TOLD;
}

/* What a trial shows of what it is held to; NaN: nothing. */
static double shown_of(const struct stv_posterior_cask *cask, const struct shown *shown,
                       enum hold hold, int which)
{
    bool is_since = hold == HOLD_TOLD && cask->last[which].from_d != INT64_MIN;
    return shown->last[which] - (is_since ? shown->from_l : 0.0);
}

/* How it moves at first with the cask's own scores: the whole as what came since, over more years.
 */
static void start_slopes(const struct stv_posterior_cask *cask, enum hold hold, int which,
                         double by_own_nd[STV_OWN_SCORE_N])
{
    const struct stv_posterior_last *last = &cask->last[which];
    double times = 1.0;
    if (hold == HOLD_FOUND && last->from_d != INT64_MIN)
        times = (double)(last->day_d - cask->leak.from_d) / (double)(last->day_d - last->from_d);
    for (size_t s = 0; s < STV_OWN_SCORE_N; s++)
        by_own_nd[s] = times * last->by_own_nd[s];
}

static void move_lane(const struct hunt *hunt, const struct target *target,
                      const struct shown *shown, size_t draw_idx, struct trial *trial,
                      struct stv__own_shift *shift)
{
    const struct stv_posterior_cask *cask = target->cask;
    struct stv_scores scores = stv__ensemble_scores(hunt->ensemble, target->cask_idx, draw_idx);
    double found_l = stv_posterior_leak_found_l(cask, &hunt->ensemble->house, draw_idx);
    double miss[STV_LAST_N] = {0.0};
    for (int k = 0; k < STV_LAST_N; k++) {
        enum hold before = trial->held[k], hold = hold_of(cask, &scores, shift, k);
        double now = shown_of(cask, shown, hold, k);
        trial->held[k] = hold = isnan(now) ? HOLD_NOT : hold;
        if (hold == HOLD_NOT) {
            memset(trial->by_own_nd[k], 0, sizeof trial->by_own_nd[k]);
            continue;
        }
        double wanted = hold == HOLD_FOUND
                            ? found_l
                            : told_at(hunt, target, &scores, draw_idx, (enum stv_last)k);
        if (before == hold)
            correct(trial, k, now);
        else
            start_slopes(cask, hold, k, trial->by_own_nd[k]);
        miss[k] = wanted - now;
        trial->before[k] = now;
    }
    add_shift(trial, miss, shift);
    if (scores.leak_per_y > 0.0 && shown->found_l > 0.0)
        add_leak_shift(target, &scores, shown->found_l, found_l, trial, shift);
}

static void see(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                const struct stv__packet *packet)
{
    const struct hunt *hunt = context;
    for (size_t t = 0; t < hunt->n_targets; t++) {
        const struct target *target = &hunt->targets[t];
        if (target->member_idx != member_idx)
            continue;
        struct shown *shown = &hunt->shown[t * lanes_of(hunt) + packet_idx * STV__PACKET];
        for (size_t l = 0; l < STV__PACKET; l++) {
            struct stv_spirit_amount amount =
                stv_spirit_amount(packet->ethanol_kg[l], packet->water_kg[l]);
            if (!(amount.volume20_l > 0.0))
                continue;
            if (target->day_idx[STV_LAST_VOLUME20_L] == day_idx)
                shown[l].last[STV_LAST_VOLUME20_L] = amount.volume20_l;
            if (target->day_idx[STV_LAST_ABV20_FRAC] == day_idx)
                shown[l].last[STV_LAST_ABV20_FRAC] = amount.abv20_frac;
            if (target->from_day_idx == day_idx)
                shown[l].from_l = amount.volume20_l;
            if (target->found_day_idx == day_idx)
                shown[l].found_l = amount.volume20_l;
        }
    }
}

static void move_all(const struct hunt *hunt)
{
    size_t n_lanes = lanes_of(hunt);
    for (size_t t = 0; t < hunt->n_targets; t++)
        for (size_t l = 0; l < n_lanes; l++)
            if (hunt->ensemble->draw_of_lane[l] != SIZE_MAX)
                move_lane(hunt, &hunt->targets[t], &hunt->shown[t * n_lanes + l],
                          hunt->ensemble->draw_of_lane[l], &hunt->trials[t * n_lanes + l],
                          &hunt->shifts[hunt->targets[t].member_idx * n_lanes + l]);
}

static enum stv_status turn(struct hunt *hunt, struct stv__lane_cask *lanes)
{
    struct stv_path_input input = stv__ensemble_path(hunt->ensemble);
    input.days_d = hunt->days_d;
    input.n_days = hunt->n_days;
    for (size_t i = 0; i < hunt->n_targets * lanes_of(hunt); i++)
        hunt->shown[i] = (struct shown){{(double)NAN, (double)NAN}, (double)NAN, (double)NAN};
    enum stv_status status = stv_path_run(&input, hunt->group, lanes, see, hunt);
    if (status == STV_OK)
        move_all(hunt);
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
        .days_d = calloc((STV_LAST_N + 2) * n + 1, sizeof *hunt.days_d),
        .shown = calloc(n * ensemble->n_packets * STV__PACKET + 1, sizeof *hunt.shown),
        .trials = calloc(n * ensemble->n_packets * STV__PACKET + 1, sizeof *hunt.trials),
        .shifts = calloc(n * ensemble->n_packets * STV__PACKET + 1, sizeof *hunt.shifts),
    };
    enum stv_status status = hunt.targets && hunt.days_d && hunt.shown && hunt.trials && hunt.shifts
                                 ? STV_OK
                                 : STV_E_MEMORY;
    if (status == STV_OK)
        find_targets(&hunt);
    for (int i = 0; i < TURNS && hunt.n_targets && status == STV_OK; i++)
        status = turn(&hunt, out);
    free(hunt.targets);
    free(hunt.days_d);
    free(hunt.shown);
    free(hunt.trials);
    free(hunt.shifts);
    return status;
}
