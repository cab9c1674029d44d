/* Changes of a building, judged on paired differences.  A job is one side (as it is, or a change)
 * in one member: the year of the weather through the drawn building, the tiers' means, and the cask
 * through every draw of that member.  Jobs run side by side, each into its own slot. */
#include "model/sites_changes.h"

#include "model/calendar.h"
#include "model/draws.h"
#include "model/sites_year.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Far apart in the hash of model/draws.h; any odd number would do. */
#define SEED_STEP 0x9E3779B97F4A7C15u

struct plan {
    const struct stv_changes_request *request;
    int32_t first_year;
    size_t n_years; /* whole ones of the record */
    size_t n_members, n_draws;
    size_t n_sides, n_tiers;
    double *values; /* [((side * (n_tiers + 1) + row) * FIGURES + figure) * n_trials + trial] */
};

struct job {
    const struct plan *plan;
    size_t side_idx, member_idx;
    struct stv_weather weather; /* columns borrowed */
    int32_t first_year;
    size_t n_years;
    struct stv_building building;
    struct stv_climate_member error; /* of the whole model, alike on both sides */
    struct stv_building_climate climate;
    struct stv_position *tiers;
    double *exposed_frac;
    double *liquid_c; /* of one tier */
};

static size_t n_trials_of(const struct plan *plan)
{
    return plan->n_members * plan->n_draws;
}

/* n_trials values of a row; the row after the last tier is the mean. */
static double *values_of(const struct plan *plan, size_t side, size_t row, size_t figure)
{
    size_t at = (side * (plan->n_tiers + 1) + row) * STV_CHANGE_FIGURES + figure;
    return plan->values + at * n_trials_of(plan);
}

static size_t hour_of(const struct stv_grid *grid, int32_t year)
{
    int64_t local_s = stv_day_from_date((struct stv_date){year, 1, 1}) * STV_DAY_S;
    return stv_grid_index(grid, local_s - (int64_t)grid->utc_offset_min * 60);
}

/* The years a member runs: one of the record, the record's in turn; without draws all of them. */
static void choose_years(struct job *job)
{
    const struct plan *plan = job->plan;
    const struct stv_weather *whole = plan->request->weather;
    bool has_all = plan->request->options.n_draws == 0;
    size_t nth = has_all ? 0 : job->member_idx * plan->n_years / plan->n_members;
    job->n_years = has_all ? plan->n_years : 1;
    job->first_year = plan->first_year + (int32_t)nth;
    size_t from = hour_of(&whole->grid, job->first_year);
    size_t to = hour_of(&whole->grid, job->first_year + (int32_t)job->n_years);
    job->weather = *whole;
    job->weather.grid.t0_s = stv_grid_start_s(&whole->grid, from);
    job->weather.grid.n = to - from;
    for (size_t c = 0; c < STV_WC_N; c++)
        job->weather.columns[c] = whole->columns[c] + from;
}

static enum stv_status run_building(struct job *job)
{
    const struct stv_changes_request *request = job->plan->request;
    const struct stv_building *side =
        job->side_idx ? &request->changes[job->side_idx - 1].building : request->as_is;
    struct stv_building_member member = {request->options.seed, job->member_idx,
                                         job->plan->n_members};
    choose_years(job);
    job->error = stv_climate_member(request->options.seed, job->member_idx, job->plan->n_members,
                                    stv_climate_error_weather(request->numbers));
    job->building = stv_building_drawn(side, request->as_is, member);
    enum stv_status status =
        stv_building_simulate(&job->building, &job->weather, STV_HOUR_S, &job->climate);
    job->tiers = calloc(job->plan->n_tiers, sizeof *job->tiers);
    job->exposed_frac = calloc(job->plan->n_tiers, sizeof *job->exposed_frac);
    job->liquid_c = malloc(job->weather.grid.n * sizeof *job->liquid_c);
    if (!job->tiers || !job->exposed_frac || !job->liquid_c)
        return STV_E_MEMORY;
    for (size_t t = 0; t < job->plan->n_tiers && status == STV_OK; t++) {
        struct stv_place place = {0, (int)t, -1, -1};
        job->exposed_frac[t] = job->building.exposed_frac;
        status = stv_position_join(place, &job->climate, NULL, NULL, 0, &job->tiers[t]);
    }
    return status;
}

static void store(const struct job *job, size_t tier, size_t figure, size_t draw, double value)
{
    values_of(job->plan, job->side_idx, tier, figure)[job->member_idx * job->plan->n_draws + draw] =
        value;
}

/* Means of the seasons are the same in every draw of the member. */
static enum stv_status store_seasons(const struct job *job, size_t tier)
{
    const struct stv_position *position = &job->tiers[tier];
    enum stv_status status = stv_position_liquid_c(position, job->exposed_frac[tier],
                                                   job->plan->request->numbers, job->liquid_c);
    if (status != STV_OK)
        return status;
    double liquid_c[STV_SEASON_N] = {0.0}, rh_frac[STV_SEASON_N] = {0.0};
    size_t n[STV_SEASON_N] = {0};
    for (size_t k = 0; k < position->grid.n; k++) {
        int doy = stv_season_day(stv_grid_local_day(&position->grid, k, NULL));
        for (size_t s = 0; s < STV_SEASON_N; s++) {
            if (!stv_season_holds(&job->plan->request->seasons[s], doy))
                continue;
            liquid_c[s] += job->liquid_c[k] + job->error.liquid_offset_k;
            rh_frac[s] +=
                fmin(1.0, fmax(0.0, position->rh_frac[k] + job->error.humidity_offset_frac));
            n[s]++;
        }
    }
    for (size_t s = 0; s < STV_SEASON_N; s++)
        for (size_t d = 0; d < job->plan->n_draws; d++) {
            store(job, tier, STV_CHANGE_WARM_LIQUID_C + s, d, liquid_c[s] / (double)n[s]);
            store(job, tier, STV_CHANGE_WARM_RH_FRAC + s, d, rh_frac[s] / (double)n[s]);
        }
    return STV_OK;
}

_Static_assert(STV_CHANGE_YEAR_LIQUID_C - STV_CHANGE_WARM_LIQUID_C == STV_SEASON_YEAR &&
                   STV_CHANGE_YEAR_RH_FRAC - STV_CHANGE_WARM_RH_FRAC == STV_SEASON_YEAR,
               "the figures of seasons stand in the seasons' order");

static void store_casks(const struct job *job, const struct stv_outlook *outlook, size_t tier)
{
    static const enum stv_quantity quantities[STV_CHANGE_FIGURES] = {
        [STV_CHANGE_BOTTLES_ND] = STV_Q_BOTTLES_ND,    [STV_CHANGE_LPA_L] = STV_Q_LPA_L,
        [STV_CHANGE_VOLUME20_L] = STV_Q_VOLUME20_L,    [STV_CHANGE_ABV20_FRAC] = STV_Q_ABV20_FRAC,
        [STV_CHANGE_WOOD_ND] = STV_Q_OAK_MG_PER_LPA_L, [STV_CHANGE_FRUIT_ND] = STV_Q_STILL_FRUIT_ND,
    };
    for (size_t f = STV_CHANGE_BOTTLES_ND; f < STV_CHANGE_FIGURES; f++)
        for (size_t d = 0; d < job->plan->n_draws; d++) {
            double sum = 0.0;
            for (size_t y = 0; y < job->n_years; y++)
                sum += stv_outlook_draws(outlook, tier * job->n_years + y, y, quantities[f])[d];
            store(job, tier, f, d, sum / (double)job->n_years);
        }
}

static enum stv_status run_casks(const struct job *job)
{
    const struct stv_changes_request *request = job->plan->request;
    size_t n_tiers = job->plan->n_tiers;
    struct stv_params base = request->base ? *request->base : stv_params_default();
    base.liquid_offset_k += job->error.liquid_offset_k;
    base.humidity_offset_frac += job->error.humidity_offset_frac;
    struct stv_position_set set = {job->tiers, n_tiers, job->exposed_frac, (n_tiers - 1) / 2, 1};
    struct stv_run_options options = request->options;
    options.n_draws = options.n_draws ? job->plan->n_draws : 0;
    options.seed += job->member_idx * SEED_STEP;
    options.progress = NULL; /* jobs run side by side: they are what is counted */
    struct stv_house_rules rules = *request->rules;
    rules.reference_months = 1.0; /* no figure is told against the reference cask */
    struct stv__fresh_fills fills = {&set,  request->cask, request->fill_abv20_frac, &rules,
                                     &base, options,       request->numbers,         1,
                                     NULL,  NULL};
    struct stv_outlook outlook;
    enum stv_status status = stv__fresh_fills_run(&fills, job->first_year, job->n_years, &outlook);
    if (status != STV_OK)
        return status;
    for (size_t t = 0; t < n_tiers; t++)
        store_casks(job, &outlook, t);
    stv_outlook_free(&outlook);
    return STV_OK;
}

static void store_mean(const struct job *job)
{
    const struct plan *plan = job->plan;
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++)
        for (size_t d = 0; d < plan->n_draws; d++) {
            size_t trial = job->member_idx * plan->n_draws + d;
            double sum = 0.0;
            for (size_t t = 0; t < plan->n_tiers; t++)
                sum += values_of(plan, job->side_idx, t, f)[trial];
            store(job, plan->n_tiers, f, d, sum / (double)plan->n_tiers);
        }
}

static enum stv_status run_job(const struct plan *plan, size_t side_idx, size_t member_idx)
{
    struct job *job = calloc(1, sizeof *job);
    if (!job)
        return STV_E_MEMORY;
    job->plan = plan;
    job->side_idx = side_idx;
    job->member_idx = member_idx;
    enum stv_status status = run_building(job);
    for (size_t t = 0; t < plan->n_tiers && status == STV_OK; t++)
        status = store_seasons(job, t);
    if (status == STV_OK)
        status = run_casks(job);
    if (status == STV_OK)
        store_mean(job);
    for (size_t t = 0; job->tiers && t < plan->n_tiers; t++)
        stv_position_free(&job->tiers[t]);
    free(job->tiers);
    free(job->exposed_frac);
    free(job->liquid_c);
    stv_building_climate_free(&job->climate);
    free(job);
    return status;
}

static enum stv_status run_jobs(const struct plan *plan)
{
    size_t n_jobs = plan->n_sides * plan->n_members;
    enum stv_status *status = calloc(n_jobs, sizeof *status);
    enum stv_status worst = status ? STV_OK : STV_E_MEMORY;
    struct stv_progress_count done = {plan->request->options.progress, 0, n_jobs};
    if (worst == STV_OK) {
#pragma omp parallel for schedule(dynamic)
        for (size_t j = 0; j < n_jobs; j++) {
            status[j] = run_job(plan, j / plan->n_members, j % plan->n_members);
            stv_progress_one_more(&done);
        }
        stv_progress_end(&done);
        for (size_t j = 0; j < n_jobs && worst == STV_OK; j++)
            worst = status[j];
    }
    free(status);
    return worst;
}

/* Levels of a row of the building as it is. */
static void summarise(const struct plan *plan, size_t row, double *room, struct stv_change_row *out)
{
    size_t n = n_trials_of(plan);
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++) {
        memcpy(room, values_of(plan, 0, row, f), n * sizeof *room);
        out->figure[f] = stv_range_of(room, n);
    }
}

/* Change minus as it is, trial by trial; wood as a share. */
static void compare(const struct plan *plan, size_t side, size_t row, double *room,
                    struct stv_change_row *out)
{
    size_t n = n_trials_of(plan);
    for (size_t f = 0; f < STV_CHANGE_FIGURES; f++) {
        const double *changed = values_of(plan, side, row, f);
        const double *as_is = values_of(plan, 0, row, f);
        for (size_t i = 0; i < n; i++)
            room[i] = f == STV_CHANGE_WOOD_ND ? changed[i] / as_is[i] - 1.0 : changed[i] - as_is[i];
        out->figure[f] = stv_range_of(room, n);
    }
}

/* Which change keeps most, and by how much each of the others falls behind it. */
static void rank(const struct plan *plan, double *room, struct stv_changes_result *out)
{
    size_t n = n_trials_of(plan);
    for (size_t c = 1; c < out->n_effects; c++)
        if (out->effects[c].mean.figure[STV_CHANGE_LPA_L].p50 >
            out->effects[out->best_idx].mean.figure[STV_CHANGE_LPA_L].p50)
            out->best_idx = c;
    const double *best = values_of(plan, out->best_idx + 1, plan->n_tiers, STV_CHANGE_LPA_L);
    for (size_t c = 0; c < out->n_effects; c++) {
        const double *other = values_of(plan, c + 1, plan->n_tiers, STV_CHANGE_LPA_L);
        for (size_t i = 0; i < n; i++)
            room[i] = best[i] - other[i];
        out->effects[c].behind_lpa_l = stv_range_of(room, n);
    }
}

static enum stv_status tell_apart(const struct plan *plan, struct stv_changes_result *out)
{
    double *room = malloc(n_trials_of(plan) * sizeof *room);
    out->as_is = calloc(plan->n_tiers, sizeof *out->as_is);
    out->effects = calloc(plan->request->n_changes + 1, sizeof *out->effects);
    enum stv_status status = room && out->as_is && out->effects ? STV_OK : STV_E_MEMORY;
    for (size_t t = 0; t < plan->n_tiers && status == STV_OK; t++)
        summarise(plan, t, room, &out->as_is[t]);
    if (status == STV_OK)
        summarise(plan, plan->n_tiers, room, &out->as_is_mean);
    for (size_t c = 0; c < plan->request->n_changes && status == STV_OK; c++) {
        struct stv_change_effect *effect = &out->effects[out->n_effects++];
        memcpy(effect->name, plan->request->changes[c].name, sizeof effect->name);
        effect->n_casks = plan->request->changes[c].building.n_casks;
        effect->tiers = calloc(plan->n_tiers, sizeof *effect->tiers);
        if (!effect->tiers) {
            status = STV_E_MEMORY;
            break;
        }
        for (size_t t = 0; t < plan->n_tiers; t++)
            compare(plan, c + 1, t, room, &effect->tiers[t]);
        compare(plan, c + 1, plan->n_tiers, room, &effect->mean);
    }
    if (status == STV_OK && out->n_effects > 0)
        rank(plan, room, out);
    free(room);
    return status;
}

static enum stv_status make_plan(const struct stv_changes_request *request, struct plan *plan)
{
    size_t n_draws = request->options.n_draws;
    *plan = (struct plan){.request = request,
                          .n_members = 1,
                          .n_draws = 1,
                          .n_sides = request->n_changes + 1,
                          .n_tiers = request->as_is->n_tiers};
    if (n_draws > 0)
        plan->n_members = n_draws < STV_BUILDING_MEMBERS ? n_draws : STV_BUILDING_MEMBERS;
    if (n_draws > 0)
        plan->n_draws = (n_draws + plan->n_members - 1) / plan->n_members;
    for (size_t c = 0; c < request->n_changes; c++)
        if (request->changes[c].building.n_tiers != plan->n_tiers)
            return STV_E_DOMAIN;
    plan->n_years = stv__whole_years(&request->weather->grid, &plan->first_year);
    if (plan->n_years == 0)
        return STV_E_NO_DATA;
    plan->values =
        calloc(plan->n_sides * (plan->n_tiers + 1) * STV_CHANGE_FIGURES * n_trials_of(plan),
               sizeof *plan->values);
    return plan->values ? STV_OK : STV_E_MEMORY;
}

enum stv_status stv_sites_changes(const struct stv_changes_request *request,
                                  struct stv_changes_result *out)
{
    struct plan plan;
    *out = (struct stv_changes_result){0};
    enum stv_status status = make_plan(request, &plan);
    if (status == STV_OK)
        status = run_jobs(&plan);
    if (status == STV_OK)
        status = tell_apart(&plan, out);
    if (status == STV_OK) {
        out->n_tiers = plan.n_tiers;
        out->n_members = plan.n_members;
        out->n_trials = n_trials_of(&plan);
        out->n_years = request->options.n_draws == 0 || plan.n_years < plan.n_members
                           ? plan.n_years
                           : plan.n_members;
        out->is_typical = request->weather->grid.is_typical;
        memcpy(out->margin, request->margin, sizeof out->margin);
    }
    free(plan.values);
    if (status != STV_OK)
        stv_changes_result_free(out);
    return status;
}

void stv_changes_result_free(struct stv_changes_result *result)
{
    for (size_t c = 0; result->effects && c < result->n_effects; c++)
        free(result->effects[c].tiers);
    free(result->effects);
    free(result->as_is);
    *result = (struct stv_changes_result){0};
}
