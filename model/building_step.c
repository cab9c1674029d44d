/* An hour of a building: steps of two stages, and the books of heat and water.
 *
 * In a stage walls, roof and floor are first eliminated to one line each; then the air flows, the
 * vapour and the heat of the rooms are solved in a few passes that renew what is not linear (flows,
 * ceiling film); then the inside of the walls is filled in.  What crosses the outside, with the
 * stage's weight, is booked from temperatures and flows alone, not from the solved systems, so the
 * balance is a check on them.  Means over the hour are the same weighted sums. */
#include "model/building_run.h"

#include "model/units.h"

#include <float.h>
#include <math.h>

/* Each pass moves the eddy terms half way to what its temperatures ask for.  Against eight passes,
 * two move monthly means of tier air by at most 0.01 K. */
#define PASSES 2

static void begin_hour(struct stv__run *run, size_t hour_idx)
{
    stv__hour_of(run->building, &run->shape, run->weather, hour_idx, &run->hour);
    run->hour.ground_c = stv__ground_c(
        &run->ground, stv_grid_start_s(&run->weather->grid, hour_idx) + STV_HOUR_S / 2);
    const double *said_w_m2k = run->building->zone.outside_film_w_m2k;
    for (size_t face = 0; face < STV__FACES; face++) {
        run->wall_face[face].film_w_m2k =
            isfinite(said_w_m2k[STV_ZONE_WALL])
                ? said_w_m2k[STV_ZONE_WALL]
                : stv__wall_film_w_m2k(run->shape.numbers, run->hour.wind_m_s);
        run->wall_face[face].sun_w_m2 = run->hour.wall_sun_w_m2[face];
        run->wall_face[face].sky_w_m2 = run->hour.sky_w_m2;
    }
    run->roof_face.film_w_m2k = isfinite(said_w_m2k[STV_ZONE_ROOF])
                                    ? said_w_m2k[STV_ZONE_ROOF]
                                    : stv__roof_film_w_m2k(run->shape.numbers, run->hour.wind_m_s);
    run->roof_face.sun_w_m2 = run->hour.roof_sun_w_m2;
    run->roof_face.sky_w_m2 = run->hour.sky_w_m2;
    const struct stv_roof_spray *spray = &run->building->roof_spray;
    run->roof_face.wet_frac = stv__spray_runs(spray, &run->hour) ? spray->wet_frac : 0.0;
    run->roof_face.outdoor_kg_m3 = run->hour.vapour_kg_m3;
    run->roof_face.air_j_m3k = run->shape.air_j_m3k;
    run->draught.wind_m_s = run->hour.wind_m_s;
    if (!run->shape.has_head)
        stv__zone_begin_hour(&run->zone, &run->hour);
    if (run->windows.n > 0)
        stv__windows_begin_hour(&run->windows, &run->hour);
    for (size_t i = 0; i < STV_TIERS_MAX; i++)
        run->sums.air_c[i] = run->sums.rh_frac[i] = run->sums.radiant_c[i] = 0.0;
}

/* Heat of vapour that became water in the last step, and of the casks' own evaporation. */
static void give_latent(struct stv__run *run)
{
    const struct stv__moisture *moisture = &run->moisture;
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        double source_kg_s = i < run->shape.n_tiers ? moisture->source_kg_s : 0.0;
        run->heat.given_w[i] =
            STV__LATENT_J_KG * (moisture->bound_kg[i] / run->step_s - source_kg_s);
    }
    run->heat.given_floor_w = STV__LATENT_J_KG * moisture->bound_floor_kg / run->step_s;
}

/* Sun through windows, lamps and machines; a plain zone sees to its own. */
static void give_sun_and_gains(struct stv__run *run)
{
    const struct stv_building *building = run->building;
    double cover_frac = run->shape.casks.cover_frac;
    size_t top_tier = run->shape.n_tiers - 1;
    double tier_w = building->gain_w / (double)run->shape.n_tiers;
    run->gain_air_w = (1.0 - building->gain_radiant_frac) * tier_w;
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        double sun_w = run->windows.sun_w[i];
        run->heat.given_w[i < top_tier ? i : top_tier] += cover_frac * sun_w;
        run->heat.given_floor_w += (1.0 - cover_frac) * sun_w;
    }
    for (size_t i = 0; i < run->shape.n_tiers; i++) {
        run->heat.given_w[i] += building->gain_radiant_frac * tier_w;
        run->heat.given_air_w[i] = run->gain_air_w;
    }
}

static void begin_step(struct stv__run *run)
{
    const double *surface_c = stv_wall_outside_surface_c(run->walls);
    for (size_t lane = 0; lane < run->n_lanes; lane++) {
        run->start_c[lane] = surface_c[lane];
        run->outside_w_m2k[lane] =
            stv__face_conductance_w_m2k(&run->wall_face[lane % STV__FACES], run->start_c[lane]);
    }
    run->roof_start_c = stv_wall_outside_surface_c(run->roof)[0];
    run->roof_wetting = stv__face_wetting(&run->roof_face, run->roof_start_c);
    run->roof_w_m2k = stv__face_conductance_w_m2k(&run->roof_face, run->roof_start_c);
    stv_wall_begin_step(run->walls, run->outside_w_m2k);
    stv_wall_begin_step(run->roof, &run->roof_w_m2k);
    stv_wall_begin_step(run->floor, &run->ground.under_w_m2k);
    if (!run->shape.has_head)
        stv__zone_begin_step(&run->zone);
    if (run->windows.n > 0)
        stv__windows_begin_step(&run->windows);
    stv__moisture_begin_step(&run->moisture);
    give_latent(run);
    if (run->windows.n > 0 || (run->shape.has_head && run->building->gain_w > 0.0))
        give_sun_and_gains(run);
    if (run->building->misting.rate_kg_h > 0.0)
        stv__mist_set(run, 0.0);
    run->rooms_old = run->rooms;
    double inside_c = run->rooms.air_c[run->shape.n_tiers - 1];
    run->draught.fan_runs =
        stv__fan_wanted(run->building, inside_c, run->hour.temp_mean_c, run->hour.fan_hour_h);
}

static double under_floor_c(const struct stv__run *run)
{
    return run->building->floor == STV_FLOOR_SUSPENDED ? run->draught.outdoor_c
                                                       : run->hour.ground_c;
}

/* Walls of a level: from their inside surfaces to one line seen by the air. */
static void reduce_walls(struct stv__run *run)
{
    double film = run->shape.numbers->wall_inside_w_m2k;
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        struct stv__port port = {0.0, 0.0};
        for (size_t face = 0; face < STV__FACES; face++) {
            size_t lane = i * STV__FACES + face;
            double through = run->shape.wall_m2[i][face] * film / (run->wall_w_m2k[lane] + film);
            port.conductance_w_k += through * run->wall_w_m2k[lane];
            port.source_w += through * run->wall_w_m2[lane];
        }
        if (run->windows.n > 0)
            stv__windows_reduce(&run->windows, i, run->draught.outdoor_c, &port);
        run->heat.wall[i] = port;
    }
}

static void eliminate_envelope(struct stv__run *run, int stage)
{
    double outdoor_c = run->draught.outdoor_c, floor_c = under_floor_c(run);
    double plan_m2 = run->shape.plan_m2, roof_m2 = run->shape.roof_m2, g, s;
    for (size_t lane = 0; lane < run->n_lanes; lane++)
        run->outside_c[lane] =
            stv__face_sol_air_c(&run->wall_face[lane % STV__FACES], outdoor_c, run->start_c[lane]);
    stv_wall_eliminate(run->walls, stage, run->outside_c, run->wall_w_m2k, run->wall_w_m2);
    reduce_walls(run);
    run->roof_sol_air_c = stv__face_sol_air_c(&run->roof_face, outdoor_c, run->roof_start_c);
    stv_wall_eliminate(run->roof, stage, &run->roof_sol_air_c, &g, &s);
    run->heat.roof = (struct stv__port){g * roof_m2, s * roof_m2};
    stv_wall_eliminate(run->floor, stage, &floor_c, &g, &s);
    run->heat.floor = (struct stv__port){g * plan_m2, s * plan_m2};
    if (!run->shape.has_head)
        stv__zone_eliminate(&run->zone, &run->heat, run->wall_w_m2k, run->wall_w_m2);
}

static void set_base(struct stv__run *run, int stage)
{
    const struct stv__rooms *old = &run->rooms_old, *now = &run->rooms;
    struct stv__rooms *base = &run->heat.base;
    for (size_t i = 0; i < run->shape.n_levels; i++)
        base->air_c[i] = stv_stage_base_nd(stage, old->air_c[i], now->air_c[i]);
    for (size_t i = 0; i < run->shape.n_tiers; i++) {
        base->shell_c[i] = stv_stage_base_nd(stage, old->shell_c[i], now->shell_c[i]);
        base->liquid_c[i] = stv_stage_base_nd(stage, old->liquid_c[i], now->liquid_c[i]);
    }
}

/* Vapour, if it is wanted, and heat of the rooms at the flows as they stand. */
static void solve_pass(struct stv__run *run, int stage, bool wants_vapour)
{
    struct stv__rooms *rooms = &run->rooms;
    if (wants_vapour)
        stv__moisture_eliminate(&run->moisture, stage, &run->flows, rooms, run->hour.vapour_kg_m3);
    run->heat.evaporation = stv__moisture_evaporation(&run->moisture, rooms->floor_c);
    if (!run->shape.has_head) {
        stv__zone_solve(&run->zone, &run->heat, &run->flows, rooms);
        return;
    }
    run->heat.roof_film_w_m2k = stv__roof_film_inside_w_m2k(run->shape.numbers, rooms->roof_c,
                                                            rooms->air_c[run->shape.n_levels - 1]);
    stv__heat_solve(&run->heat, &run->flows, rooms);
}

static double evaporation_kg_s(const struct stv__run *run)
{
    const struct stv__evaporation *evaporation = &run->heat.evaporation;
    return evaporation->rate_kg_s + evaporation->slope_kg_sk * run->rooms.floor_c;
}

static void try_mist(struct stv__run *run, int stage, double share_frac,
                     struct stv__mist_trial *out)
{
    struct stv__rooms before = run->rooms;
    stv__mist_set(run, share_frac);
    solve_pass(run, stage, true);
    stv__moisture_vapour(&run->moisture, &run->flows, evaporation_kg_s(run), out->vapour_kg_m3);
    out->rooms = run->rooms;
    run->rooms = before;
}

static void open_mist(struct stv__run *run, int stage)
{
    struct stv__mist_trial shut, open;
    try_mist(run, stage, 0.0, &shut);
    try_mist(run, stage, 1.0, &open);
    stv__mist_set(run, stv__mist_share_frac(run->building, &shut, &open));
}

static bool may_mist(const struct stv__run *run)
{
    const struct stv_misting *misting = &run->building->misting;
    return misting->rate_kg_h > 0.0 &&
           stv__is_between(misting->from_h, misting->to_h, run->hour.fan_hour_h);
}

/* Air, vapour and heat of the rooms; the floor's evaporation comes back, kg/s. */
static double solve_rooms(struct stv__run *run, int stage)
{
    bool is_wet = run->moisture.wet_m3_s > 0.0, has_mist = may_mist(run);
    for (int pass = 0; pass < PASSES; pass++) {
        stv__air_flows(run->building, &run->shape, &run->draught, run->rooms.air_c, &run->flows);
        if (has_mist)
            open_mist(run, stage);
        solve_pass(run, stage, is_wet || has_mist || pass == PASSES - 1);
    }
    return evaporation_kg_s(run);
}

static void substitute_envelope(struct stv__run *run)
{
    double film = run->shape.numbers->wall_inside_w_m2k;
    for (size_t lane = 0; lane < run->n_lanes; lane++)
        run->surface_c[lane] =
            !run->shape.has_head
                ? run->zone.surfaces[lane].inside_c
                : (run->wall_w_m2[lane] + film * run->rooms.air_c[lane / STV__FACES]) /
                      (run->wall_w_m2k[lane] + film);
    stv_wall_substitute(run->walls, run->surface_c);
    stv_wall_substitute(run->roof, &run->rooms.roof_c);
    stv_wall_substitute(run->floor, &run->rooms.floor_c);
    if (run->windows.n > 0)
        stv__windows_substitute(&run->windows, run->rooms.air_c);
}

static void book_heat(struct stv__books *books, double heat_j)
{
    books->heat_net_j += heat_j;
    books->heat_in_j += fmax(heat_j, 0.0);
}

static void book_water(struct stv__books *books, double water_kg)
{
    books->water_net_kg += water_kg;
    books->water_in_kg += fmax(water_kg, 0.0);
}

/* Across the outside of every element, from temperatures alone: not from the solved system. */
static void book_envelope(struct stv__run *run, double span_s)
{
    const double *wall_c = stv_wall_outside_surface_c(run->walls);
    for (size_t lane = 0; lane < run->n_lanes; lane++)
        book_heat(&run->books, span_s * run->shape.wall_m2[lane / STV__FACES][lane % STV__FACES] *
                                   run->outside_w_m2k[lane] *
                                   (run->outside_c[lane] - wall_c[lane]));
    book_heat(&run->books, span_s * run->shape.roof_m2 * run->roof_w_m2k *
                               (run->roof_sol_air_c - stv_wall_outside_surface_c(run->roof)[0]));
    book_heat(&run->books, span_s * run->shape.plan_m2 * run->ground.under_w_m2k *
                               (under_floor_c(run) - stv_wall_outside_surface_c(run->floor)[0]));
}

/* Water from a sprayed roof: its heat is already in what crosses the roof's outside. */
static void count_roof_water(struct stv__run *run, double span_s)
{
    const struct stv__wetting *wetting = &run->roof_wetting;
    double surface_c = stv_wall_outside_surface_c(run->roof)[0];
    double drawn_w_m2 = wetting->loss_w_m2 + wetting->slope_w_m2k * (surface_c - run->roof_start_c);
    run->roof_kg += span_s * run->shape.roof_m2 * drawn_w_m2 / STV__LATENT_J_KG;
}

/* Lamps, machines, heating and mist, which a plain building has none of. */
static void book_tiers(struct stv__run *run, double span_s)
{
    const struct stv_building *building = run->building;
    if (building->gain_w <= 0.0 && building->misting.rate_kg_h <= 0.0 && isnan(building->heating_c))
        return;
    for (size_t i = 0; i < run->shape.n_tiers; i++) {
        double mist_kg = span_s * run->moisture.mist_kg_s[i];
        book_heat(&run->books, span_s * run->heat.given_air_w[i]);
        book_heat(&run->books, span_s * run->rooms.heating_w[i]);
        book_water(&run->books, mist_kg);
        run->mist_kg += mist_kg;
    }
}

static void book_stage(struct stv__run *run, double span_s, double floor_kg_s)
{
    book_envelope(run, span_s);
    book_tiers(run, span_s);
    if (run->roof_face.wet_frac > 0.0)
        count_roof_water(run, span_s);
    if (!run->shape.has_head)
        book_heat(&run->books, span_s * stv__zone_gain_w(&run->zone));
    if (run->windows.n > 0)
        book_heat(&run->books, span_s * stv__windows_gain_w(&run->windows));
    book_heat(&run->books, span_s * (run->heat.given_floor_w - STV__LATENT_J_KG * floor_kg_s));
    book_water(&run->books, span_s * floor_kg_s);
    book_water(&run->books, span_s * run->moisture.source_kg_s * (double)run->shape.n_tiers);
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        double in_m3 = span_s * run->flows.in_m3_s[i], out_m3 = span_s * run->flows.out_m3_s[i];
        double air = run->shape.air_j_m3k;
        book_heat(&run->books, span_s * run->heat.given_w[i]);
        book_heat(&run->books,
                  air * (in_m3 * run->draught.outdoor_c - out_m3 * run->rooms.air_c[i]));
        book_water(&run->books, in_m3 * run->hour.vapour_kg_m3);
        book_water(&run->books, -out_m3 * run->moisture.now_kg_m3[i]);
        run->outdoor_m3 += in_m3;
    }
}

/* Insides of a tier's walls and of their windows. */
static struct stv__skin walls_of(const struct stv__run *run, size_t tier)
{
    double m2 = 0.0, sum_m2c = 0.0;
    for (size_t face = 0; face < STV__FACES; face++) {
        m2 += run->shape.wall_m2[tier][face];
        sum_m2c += run->shape.wall_m2[tier][face] * run->surface_c[tier * STV__FACES + face];
    }
    for (size_t k = 0; k < run->windows.n; k++) {
        m2 += run->windows.strips[tier][k].area_m2;
        sum_m2c += run->windows.strips[tier][k].area_m2 * run->windows.strips[tier][k].inside_c;
    }
    return (struct stv__skin){m2, sum_m2c / m2};
}

static double radiant_of_c(const struct stv__run *run, size_t tier)
{
    if (!run->shape.has_head)
        return run->rooms.radiant_c;
    struct stv__skin walls = walls_of(run, tier);
    return stv__radiant_c(&run->shape, &run->rooms, &walls, tier);
}

/* Humidity cannot pass saturation: what would has condensed by the end of the step. */
static void add_to_hour(struct stv__run *run, double weight_frac)
{
    for (size_t i = 0; i < run->shape.n_tiers; i++) {
        double air_c = run->rooms.air_c[i];
        double rh_frac = fmin(run->moisture.now_kg_m3[i] / stv__saturation_kg_m3(air_c), 1.0);
        run->sums.air_c[i] += weight_frac * air_c;
        run->sums.rh_frac[i] += weight_frac * fmax(rh_frac, 0.0);
        run->sums.radiant_c[i] += weight_frac * radiant_of_c(run, i);
    }
}

static void run_step(struct stv__run *run, int step_idx)
{
    begin_step(run);
    for (int stage = 0; stage < STV_STAGES; stage++) {
        double hour_frac = (step_idx + stv_stage_time_frac(stage)) / run->n_steps;
        double weight_frac = stv_stage_weight_frac(stage);
        run->draught.outdoor_c = stv__outdoor_c(&run->hour, hour_frac);
        run->heat.outdoor_c = run->draught.outdoor_c;
        eliminate_envelope(run, stage);
        set_base(run, stage);
        double floor_kg_s = solve_rooms(run, stage);
        substitute_envelope(run);
        stv__moisture_substitute(&run->moisture, &run->flows, floor_kg_s);
        book_stage(run, weight_frac * run->step_s, floor_kg_s);
        add_to_hour(run, weight_frac / run->n_steps);
    }
    book_water(&run->books, -stv__moisture_end_step_kg(&run->moisture, &run->rooms));
}

void stv__run_hour(struct stv__run *run, size_t hour_idx)
{
    begin_hour(run, hour_idx);
    for (int step = 0; step < run->n_steps; step++)
        run_step(run, step);
}

static double heat_held_j(const struct stv__run *run)
{
    double heat_j = stv__rooms_heat_j(&run->shape, &run->rooms);
    for (size_t lane = 0; lane < run->n_lanes; lane++)
        heat_j += run->shape.wall_m2[lane / STV__FACES][lane % STV__FACES] *
                  stv_wall_heat_j_m2(run->walls, lane);
    return heat_j + run->shape.roof_m2 * stv_wall_heat_j_m2(run->roof, 0) +
           run->shape.plan_m2 * stv_wall_heat_j_m2(run->floor, 0);
}

void stv__open_books(struct stv__run *run)
{
    run->books = (struct stv__books){.heat_start_j = heat_held_j(run),
                                     .water_start_kg = stv__moisture_held_kg(&run->moisture)};
}

void stv__close_books(const struct stv__run *run, struct stv_building_climate *out)
{
    const struct stv__books *books = &run->books;
    double heat_j = heat_held_j(run) - books->heat_start_j;
    double water_kg = stv__moisture_held_kg(&run->moisture) - books->water_start_kg;
    out->energy_residual_frac = fabs(heat_j - books->heat_net_j) / fmax(books->heat_in_j, DBL_MIN);
    out->moisture_residual_frac =
        fabs(water_kg - books->water_net_kg) / fmax(books->water_in_kg, DBL_MIN);
}
