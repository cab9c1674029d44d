/* A trial needs the pressures of every hour of every place under its member of the climate, which
 * all trials of that member share: so members are taken side by side, and within each a few trials
 * at a time are carried over its places. */
#include "model/vapour_trials.h"

#include "model/cask_kinds.h"
#include "model/draws.h"
#include "model/place_offset.h"
#include "model/vapour.h"
#include "model/vapour_release.h"

#include <math.h>
#include <stdlib.h>

/* What all trials share. */
struct shared {
    const struct stv_vapour_request *request;
    struct stv__cask_functions *functions;
    struct stv__vapour_grid *grid;
    struct stv_house_draws house;
    size_t n_members;
    uint64_t *cask_keys;
    struct stv__cask_kinds kinds;
    unsigned short *clock_of_hour; /* month * STV_DAY_H + hour of the day */
};

static enum stv_status check(const struct stv_vapour_request *request)
{
    if (!(request->volume_m3 > 0.0) || !(request->pressure_pa > 0.0) || !(request->crowd_nd >= 1.0))
        return STV_E_DOMAIN;
    for (size_t i = 0; i < request->n_watch; i++)
        if (request->watch_idx[i] >= request->n_hours)
            return STV_E_ARG;
    for (size_t c = 0; c < request->n_casks; c++)
        if (request->casks[c].position_idx >= request->set->n_positions ||
            request->set->positions[request->casks[c].position_idx].grid.n != request->n_hours)
            return STV_E_ARG;
    return STV_OK;
}

static void shared_free(struct shared *shared)
{
    stv__cask_functions_free(shared->functions);
    stv__vapour_grid_free(shared->grid);
    stv_house_draws_free(&shared->house);
    stv__cask_kinds_free(&shared->kinds);
    free(shared->cask_keys);
    free(shared->clock_of_hour);
}

/* The casks' places share their hours, so that the first stands for all. */
static void lay_clock(const struct stv_vapour_request *request, unsigned short *out)
{
    if (request->n_casks == 0)
        return;
    const struct stv_grid *grid = &request->set->positions[request->casks[0].position_idx].grid;
    for (size_t k = 0; k < request->n_hours; k++) {
        int hour;
        int month_idx = stv_date_from_day(stv_grid_local_day(grid, k, &hour)).month - 1;
        out[k] = (unsigned short)(month_idx * STV_DAY_H + hour);
    }
}

static enum stv_status shared_new(const struct stv_vapour_request *request, struct shared *out)
{
    *out = (struct shared){.request = request};
    enum stv_status status = check(request);
    out->n_members =
        request->n_draws < STV_CLIMATE_MEMBERS ? request->n_draws : STV_CLIMATE_MEMBERS;
    out->cask_keys = malloc((request->n_casks + 1) * sizeof *out->cask_keys);
    const struct stv_cask **casks = malloc((request->n_casks + 1) * sizeof *casks);
    out->clock_of_hour = malloc((request->n_hours + 1) * sizeof *out->clock_of_hour);
    if (status == STV_OK && !(out->cask_keys && casks && out->clock_of_hour))
        status = STV_E_MEMORY;
    if (status == STV_OK)
        lay_clock(request, out->clock_of_hour);
    for (size_t c = 0; c < request->n_casks && status == STV_OK; c++) {
        casks[c] = request->casks[c].cask;
        out->cask_keys[c] = stv_key_of(casks[c]->id);
    }
    if (status == STV_OK)
        status = stv__cask_kinds_of(casks, request->n_casks, &out->kinds);
    free(casks);
    if (status == STV_OK)
        status = stv__cask_functions_new(request->base, &out->functions);
    if (status == STV_OK)
        status = stv__vapour_grid_new(out->functions, &out->grid);
    if (status == STV_OK && request->n_draws > 0)
        status = stv_house_draws_new(request->seed, request->n_draws, out->kinds.keys, out->kinds.n,
                                     &out->house);
    if (status == STV_OK && request->learned && request->n_draws > 0)
        status = stv_posterior_move_house(request->learned, out->kinds.keys, &out->house);
    if (status != STV_OK)
        shared_free(out);
    return status;
}

/* The casks of one place in one draw; SIZE_MAX stands for the default numbers. */
static enum stv_status load_of(const struct shared *shared, size_t position_idx, size_t draw_idx,
                               struct stv__vapour_load *out)
{
    const struct stv_vapour_request *request = shared->request;
    *out = (struct stv__vapour_load){.permeance_ea_j_mol = request->base->permeance_ea_j_mol};
    enum stv_status status = STV_OK;
    for (size_t c = 0; c < request->n_casks && status == STV_OK; c++) {
        const struct stv_vapour_cask *cask = &request->casks[c];
        if (cask->position_idx != position_idx)
            continue;
        bool is_default = draw_idx == SIZE_MAX;
        struct stv_params params = *request->base;
        if (!is_default) {
            struct stv_scores scores =
                stv_scores_drawn(request->base, request->numbers, &shared->house, draw_idx,
                                 shared->kinds.of_cask[c], shared->cask_keys[c]);
            if (request->learned)
                stv_posterior_move_cask(request->learned, &shared->house, draw_idx,
                                        shared->cask_keys[c], &scores);
            params = stv_params_of_scores(request->base, request->numbers, &scores);
        }
        const struct stv__vapour_cask one = {
            .geometry = &cask->cask->geometry,
            .params = &params,
            .numbers = request->numbers,
            .volume20_l = is_default ? cask->middle_volume20_l : cask->volume20_l[draw_idx],
            .abv20_frac = is_default ? cask->middle_abv20_frac : cask->abv20_frac[draw_idx]};
        status = stv__vapour_load_add(shared->functions, &one, out);
    }
    return status;
}

static bool is_used(const struct stv_vapour_request *request, size_t position_idx)
{
    for (size_t c = 0; c < request->n_casks; c++)
        if (request->casks[c].position_idx == position_idx)
            return true;
    return false;
}

/* The first draw of a member, which stands for its climate. */
static size_t first_draw_of(const struct shared *shared, size_t member_idx)
{
    size_t draw = 0;
    while (stv_draw_member(shared->request->seed, draw, shared->n_members) != member_idx)
        draw++;
    return draw;
}

/* The climate of a member at one place, as far off as that place may be; SIZE_MAX: not off. */
static struct stv_climate_member member_at(const struct shared *shared, size_t member_idx,
                                           size_t position_idx)
{
    const struct stv_vapour_request *request = shared->request;
    struct stv_climate_member member = {request->base->liquid_offset_k,
                                        request->base->humidity_offset_frac};
    if (member_idx == SIZE_MAX)
        return member;
    struct stv_scores scores = stv_scores_drawn(request->base, request->numbers, &shared->house,
                                                first_draw_of(shared, member_idx), SIZE_MAX, 0);
    const struct stv_climate_member offset =
        stv__place_offset(request->set, position_idx,
                          (struct stv_climate_member){scores.house_nd[STV_SCORE_LIQUID],
                                                      scores.house_nd[STV_SCORE_HUMIDITY]},
                          request->seed, member_idx);
    member.liquid_offset_k += offset.liquid_offset_k;
    member.humidity_offset_frac += offset.humidity_offset_frac;
    return member;
}

/* What one place gives off in up to STV__PACKET draws of one member, added to it. */
static enum stv_status add_place(const struct shared *shared, size_t position_idx,
                                 size_t member_idx, const size_t *draws, size_t n_draws,
                                 double *inout_kg_h)
{
    const struct stv_vapour_request *request = shared->request;
    const struct stv_position *position = &request->set->positions[position_idx];
    struct stv_climate_member member = member_at(shared, member_idx, position_idx);
    const struct stv__vapour_outside outside = {request->set->exposed_frac[position_idx],
                                                stv_cask_convective_frac(request->numbers)};
    struct stv__vapour_load loads[STV__PACKET] = {{.joint_kg_h = 0.0}};
    struct stv__vapour_hours *hours = NULL;
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < n_draws && status == STV_OK; i++)
        status = load_of(shared, position_idx, draws[i], &loads[i]);
    if (status == STV_OK)
        status = stv__vapour_hours_new(position, &outside, &member, shared->grid, &hours);
    if (status == STV_OK)
        stv__vapour_hours_add(shared->grid, hours, loads, inout_kg_h);
    stv__vapour_hours_free(hours);
    return status;
}

/* What all places give off: release_kg_h[hour * STV__PACKET + i] in draw i. */
static enum stv_status release_of(const struct shared *shared, size_t member_idx,
                                  const size_t *draws, size_t n_draws, double *release_kg_h)
{
    const struct stv_vapour_request *request = shared->request;
    enum stv_status status = STV_OK;
    for (size_t k = 0; k < STV__PACKET * request->n_hours; k++)
        release_kg_h[k] = 0.0;
    for (size_t p = 0; p < request->set->n_positions && status == STV_OK; p++)
        if (is_used(request, p))
            status = add_place(shared, p, member_idx, draws, n_draws, release_kg_h);
    return status;
}

/* One draw's releases out of those of release_of, with the casks that are not listed. */
static void take_draw(const struct stv_vapour_request *request, const double *release_kg_h,
                      size_t i, double *out_kg_h)
{
    for (size_t k = 0; k < request->n_hours; k++)
        out_kg_h[k] = request->crowd_nd * release_kg_h[k * STV__PACKET + i];
}

static void find_clock(const struct shared *shared, const double *ppm, struct stv_vapour_trial *out)
{
    double *highest = &out->clock_ppm[0][0];
    for (size_t i = 0; i < STV_MONTHS * STV_DAY_H; i++)
        highest[i] = (double)NAN;
    for (size_t k = 0; k < shared->request->n_hours && shared->request->n_casks > 0; k++)
        highest[shared->clock_of_hour[k]] =
            fmax(highest[shared->clock_of_hour[k]], ppm[k]); /* fmax leaves out NaN */
}

/* Means and the worst over the known hours. */
static void sum_hours(const struct stv_vapour_request *request, const double *release_kg_h,
                      const double *air_m3_h, const double *ppm, struct stv_vapour_trial *out)
{
    size_t n_known = 0, n_over = 0;
    *out = (struct stv_vapour_trial){.mean_kg_h = 0.0};
    for (size_t k = 0; k < request->n_hours; k++) {
        if (!isfinite(ppm[k]))
            continue;
        n_known++;
        n_over += ppm[k] > STV_VAPOUR_DAY_PPM;
        out->mean_kg_h += release_kg_h[k];
        out->mean_ppm += ppm[k];
        out->air_mean_m3_h += air_m3_h[k];
        out->peak_ppm = fmax(out->peak_ppm, ppm[k]);
        if (release_kg_h[k] > out->peak_kg_h) {
            out->peak_kg_h = release_kg_h[k];
            out->peak_idx = k;
        }
    }
    double n = n_known ? (double)n_known : 1.0;
    out->mean_kg_h /= n;
    out->mean_ppm /= n;
    out->air_mean_m3_h /= n;
    out->over_day_frac = (double)n_over / n;
    out->peak_vapour_m3_h =
        stv_vapour_m3_h(out->peak_kg_h, request->air_c[out->peak_idx], request->pressure_pa);
    for (size_t i = 0; i < request->n_watch; i++) {
        out->watch_ppm[i] = ppm[request->watch_idx[i]];
        out->watch_kg_h[i] = release_kg_h[request->watch_idx[i]];
    }
}

/* The room under one release and a factor on the air that passes; air_m3_h and ppm are room. */
static enum stv_status air_out(const struct shared *shared, const double *release_kg_h,
                               double air_factor_nd, double *air_m3_h, double *ppm,
                               struct stv_vapour_trial *out)
{
    const struct stv_vapour_request *request = shared->request;
    for (size_t k = 0; k < request->n_hours; k++)
        air_m3_h[k] = air_factor_nd * request->air_m3_h[k];
    enum stv_status status =
        stv_vapour_room(release_kg_h, air_m3_h, request->air_c, request->n_hours,
                        request->volume_m3, request->pressure_pa, ppm);
    if (status == STV_OK) {
        sum_hours(request, release_kg_h, air_m3_h, ppm, out);
        find_clock(shared, ppm, out);
    }
    return status;
}

enum stv_status stv_vapour_default(const struct stv_vapour_request *request,
                                   double *out_release_kg_h, double *out_ppm,
                                   struct stv_vapour_trial *out)
{
    struct shared shared;
    size_t draw = SIZE_MAX;
    enum stv_status status = shared_new(request, &shared);
    if (status != STV_OK)
        return status;
    double *room = malloc((STV__PACKET + 1) * (request->n_hours + 1) * sizeof *room);
    status = room ? release_of(&shared, SIZE_MAX, &draw, 1, room) : STV_E_MEMORY;
    if (status == STV_OK) {
        take_draw(request, room, 0, out_release_kg_h);
        status = air_out(&shared, out_release_kg_h,
                         request->is_air_said ? 1.0 : request->numbers->vapour_air_factor_nd,
                         room + STV__PACKET * request->n_hours, out_ppm, out);
    }
    free(room);
    shared_free(&shared);
    return status;
}

/* A few draws of one member; room holds STV__PACKET + 3 times n_hours. */
static enum stv_status run_block(const struct shared *shared, size_t member_idx,
                                 const size_t *draws, size_t n, double *room,
                                 struct stv_vapour_trial *out)
{
    const struct stv_vapour_request *request = shared->request;
    double *one_kg_h = room + STV__PACKET * request->n_hours;
    double *air_m3_h = one_kg_h + request->n_hours, *ppm = air_m3_h + request->n_hours;
    enum stv_status status = release_of(shared, member_idx, draws, n, room);
    for (size_t i = 0; i < n && status == STV_OK; i++) {
        double factor = request->is_air_said
                            ? 1.0
                            : stv_air_factor_drawn_nd(request->numbers, request->seed,
                                                      request->store_key, draws[i]);
        take_draw(request, room, i, one_kg_h);
        status = air_out(shared, one_kg_h, factor, air_m3_h, ppm, &out[draws[i]]);
    }
    return status;
}

static enum stv_status run_member(const struct shared *shared, size_t member_idx,
                                  struct stv_vapour_trial *out)
{
    const struct stv_vapour_request *request = shared->request;
    double *room = malloc((STV__PACKET + 3) * (request->n_hours + 1) * sizeof *room);
    enum stv_status status = room ? STV_OK : STV_E_MEMORY;
    size_t draws[STV__PACKET], n = 0;
    for (size_t d = 0; d < request->n_draws && status == STV_OK; d++) {
        if (stv_draw_member(request->seed, d, shared->n_members) == member_idx)
            draws[n++] = d;
        if (n == STV__PACKET || (d + 1 == request->n_draws && n > 0)) {
            status = run_block(shared, member_idx, draws, n, room, out);
            n = 0;
        }
    }
    free(room);
    return status;
}

enum stv_status stv_vapour_trials(const struct stv_vapour_request *request,
                                  struct stv_vapour_trial *out)
{
    struct shared shared;
    enum stv_status statuses[STV_CLIMATE_MEMBERS] = {STV_OK};
    enum stv_status status = shared_new(request, &shared);
    if (status != STV_OK)
        return status;
#pragma omp parallel for schedule(dynamic)
    for (size_t m = 0; m < shared.n_members; m++)
        statuses[m] = run_member(&shared, m, out);
    for (size_t m = 0; m < shared.n_members && status == STV_OK; m++)
        status = statuses[m];
    shared_free(&shared);
    return status;
}
