/* A warehouse through its weather.  Each tier is one node of air with its walls and its casks
 * (shell and liquid); above the top tier stands the head space under the roof.
 *
 *   rho c V dT_z/dt = walls, floor, roof + casks + rho c sum Q (T_j - T_z)
 *
 * A step has two implicit stages of one L-stable second-order rule (model/envelope.h).  In a stage
 * the walls, roof and floor are eliminated to one line each, then air movement, vapour and heat of
 * the rooms are solved in a few passes in which only the air flows and the ceiling film, the things
 * that are not linear, are renewed.  Every stage's flows of heat and water are booked with the
 * stage's weight, so the balance of the last year can be closed and is reported.
 *
 * The parts: shape and what is impossible in building_shape.c, outside faces in building_faces.c,
 * floor and ground in building_ground.c, air in building_air.c, heat of the rooms in
 * building_heat.c, vapour in building_moisture.c.  No doors, people, heating or windows. */
#include "model/building.h"

#include "model/air.h"
#include "model/building_parts.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define YEAR_H ((size_t)8760)
/* Each pass moves the eddy terms half way to what its temperatures ask for.  Against eight passes,
 * two move monthly means of tier air by at most 0.01 K. */
#define PASSES 2
#define AIR_CP_J_KGK 1006.0 /* Source: dry air, from memory */

struct books { /* of the last year run: net, and what came in */
    double heat_net_j, heat_in_j, water_net_kg, water_in_kg;
    double heat_start_j, water_start_kg;
};

struct tier_sums {
    double air_c[STV_TIERS_MAX], rh_frac[STV_TIERS_MAX], radiant_c[STV_TIERS_MAX];
};

struct run {
    const struct stv_building *building;
    const struct stv_weather *weather;
    double step_s;
    int n_steps; /* per hour */
    struct stv__shape shape;
    struct stv__ground ground;
    struct stv_wall *walls, *roof, *floor;
    struct stv__hour hour;
    struct stv__face wall_face[STV__FACES], roof_face;
    size_t n_lanes;
    /* per wall lane, level-major: lane = level x STV__FACES + face */
    double start_c[STV__LANES_MAX], outside_w_m2k[STV__LANES_MAX], outside_c[STV__LANES_MAX];
    double wall_w_m2k[STV__LANES_MAX], wall_w_m2[STV__LANES_MAX], surface_c[STV__LANES_MAX];
    double roof_start_c, roof_w_m2k, roof_sol_air_c;
    struct stv__draught draught;
    struct stv__flows flows;
    struct stv__rooms rooms, rooms_old;
    struct stv__heat heat;
    struct stv__moisture moisture;
    struct books books;
    struct tier_sums sums; /* of the hour */
    double outdoor_m3;     /* outdoor air taken in, whole run of the record */
};

static void release_run(struct run *run)
{
    stv_wall_free(run->walls);
    stv_wall_free(run->roof);
    stv_wall_free(run->floor);
    free(run);
}

static enum stv_status make_envelope(struct run *run, double start_c)
{
    run->n_lanes = run->shape.n_levels * STV__FACES;
    enum stv_status status =
        stv_wall_new(&run->building->wall, run->n_lanes, run->step_s, start_c, &run->walls);
    if (status == STV_OK)
        status = stv_wall_new(&run->building->roof, 1, run->step_s, start_c, &run->roof);
    if (status == STV_OK)
        status = stv_wall_new(&run->ground.floor, 1, run->step_s, start_c, &run->floor);
    return status;
}

static void start_rooms(struct run *run, double start_c)
{
    for (size_t i = 0; i < STV__LEVELS_MAX; i++)
        run->rooms.air_c[i] = start_c;
    for (size_t i = 0; i < STV_TIERS_MAX; i++)
        run->rooms.shell_c[i] = run->rooms.liquid_c[i] = start_c;
    run->rooms.floor_c = run->rooms.roof_c = start_c;
    stv__moisture_start(&run->moisture, run->building, &run->shape, run->step_s, start_c);
}

static void set_air_of_site(struct run *run, double mean_c)
{
    const double *pressure_pa = run->weather->columns[STV_WC_PRESSURE_PA];
    const double *vapour_pa = run->weather->columns[STV_WC_VAPOUR_PA];
    size_t n = run->weather->grid.n;
    run->shape.air_j_m3k = AIR_CP_J_KGK * stv_air_density_kg_m3(mean_c, stv_mean_nd(vapour_pa, n),
                                                                stv_mean_nd(pressure_pa, n));
}

static void make_faces(struct run *run)
{
    const struct stv_building *building = run->building;
    for (size_t face = 0; face < STV__FACES; face++)
        run->wall_face[face] =
            (struct stv__face){.absorptance_frac = building->wall.absorptance_frac,
                               .emittance_frac = building->wall.emittance_frac,
                               .sky_share_frac = stv__sky_share_frac(90.0)};
    run->roof_face =
        (struct stv__face){.absorptance_frac = building->roof.absorptance_frac,
                           .emittance_frac = building->roof.emittance_frac,
                           .sky_share_frac = stv__sky_share_frac(building->roof_pitch_deg)};
}

static enum stv_status start_run(struct run *run)
{
    stv__shape_of(run->building, &run->shape);
    enum stv_status status = stv__casks_of(run->building, &run->shape);
    if (status == STV_OK)
        status = stv__ground_of(run->building, &run->shape, run->weather, &run->ground);
    if (status != STV_OK)
        return status;
    size_t n_first = run->weather->grid.n < YEAR_H ? run->weather->grid.n : YEAR_H;
    double start_c = stv_mean_nd(run->weather->columns[STV_WC_TEMP_C], n_first);
    set_air_of_site(run, start_c);
    make_faces(run);
    start_rooms(run, start_c);
    run->heat.shape = &run->shape;
    run->heat.stage_s = STV_STAGE_GAMMA_FRAC * run->step_s;
    return make_envelope(run, start_c);
}

static void begin_hour(struct run *run, size_t hour_idx)
{
    stv__hour_of(run->building, &run->shape, run->weather, hour_idx, &run->hour);
    run->hour.ground_c = stv__ground_c(
        &run->ground, stv_grid_start_s(&run->weather->grid, hour_idx) + STV_HOUR_S / 2);
    for (size_t face = 0; face < STV__FACES; face++) {
        run->wall_face[face].film_w_m2k = stv__wall_film_w_m2k(run->hour.wind_m_s);
        run->wall_face[face].sun_w_m2 = run->hour.wall_sun_w_m2[face];
        run->wall_face[face].sky_w_m2 = run->hour.sky_w_m2;
    }
    run->roof_face.film_w_m2k = stv__roof_film_w_m2k(run->hour.wind_m_s);
    run->roof_face.sun_w_m2 = run->hour.roof_sun_w_m2;
    run->roof_face.sky_w_m2 = run->hour.sky_w_m2;
    run->draught.wind_m_s = run->hour.wind_m_s;
    for (size_t i = 0; i < STV_TIERS_MAX; i++)
        run->sums.air_c[i] = run->sums.rh_frac[i] = run->sums.radiant_c[i] = 0.0;
}

/* Heat of vapour that became water in the last step, and of the casks' own evaporation. */
static void set_latent(struct run *run)
{
    const struct stv__moisture *moisture = &run->moisture;
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        double source_kg_s = i < run->shape.n_tiers ? moisture->source_kg_s : 0.0;
        run->heat.latent_w[i] =
            STV__LATENT_J_KG * (moisture->bound_kg[i] / run->step_s - source_kg_s);
    }
    run->heat.latent_floor_w = STV__LATENT_J_KG * moisture->bound_floor_kg / run->step_s;
}

static void begin_step(struct run *run)
{
    const double *surface_c = stv_wall_outside_surface_c(run->walls);
    for (size_t lane = 0; lane < run->n_lanes; lane++) {
        run->start_c[lane] = surface_c[lane];
        run->outside_w_m2k[lane] =
            stv__face_conductance_w_m2k(&run->wall_face[lane % STV__FACES], run->start_c[lane]);
    }
    run->roof_start_c = stv_wall_outside_surface_c(run->roof)[0];
    run->roof_w_m2k = stv__face_conductance_w_m2k(&run->roof_face, run->roof_start_c);
    stv_wall_begin_step(run->walls, run->outside_w_m2k);
    stv_wall_begin_step(run->roof, &run->roof_w_m2k);
    stv_wall_begin_step(run->floor, &run->ground.under_w_m2k);
    stv__moisture_begin_step(&run->moisture);
    set_latent(run);
    run->rooms_old = run->rooms;
    double inside_c = stv_mean_nd(run->rooms.air_c, run->shape.n_tiers);
    run->draught.fan_runs = stv__fan_wanted(run->building, inside_c, run->hour.temp_mean_c);
}

static double under_floor_c(const struct run *run)
{
    return run->building->floor == STV_FLOOR_SUSPENDED ? run->draught.outdoor_c
                                                       : run->hour.ground_c;
}

/* Walls of a level: from their inside surfaces to one line seen by the air. */
static void reduce_walls(struct run *run)
{
    double film = stv__wall_film_inside_w_m2k();
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        struct stv__port port = {0.0, 0.0};
        for (size_t face = 0; face < STV__FACES; face++) {
            size_t lane = i * STV__FACES + face;
            double through = run->shape.wall_m2[i][face] * film / (run->wall_w_m2k[lane] + film);
            port.conductance_w_k += through * run->wall_w_m2k[lane];
            port.source_w += through * run->wall_w_m2[lane];
        }
        run->heat.wall[i] = port;
    }
}

static void eliminate_envelope(struct run *run, int stage)
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
}

static void set_base(struct run *run, int stage)
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

/* Air, vapour and heat of the rooms; the floor's evaporation comes back, kg/s. */
static double solve_rooms(struct run *run, int stage)
{
    bool is_wet = run->moisture.wet_m3_s > 0.0;
    struct stv__rooms *rooms = &run->rooms;
    struct stv__evaporation evaporation = {0.0, 0.0};
    for (int pass = 0; pass < PASSES; pass++) {
        stv__air_flows(run->building, &run->shape, &run->draught, rooms->air_c, &run->flows);
        if (is_wet || pass == PASSES - 1)
            stv__moisture_eliminate(&run->moisture, stage, &run->flows, rooms,
                                    run->hour.vapour_kg_m3);
        evaporation = stv__moisture_evaporation(&run->moisture, rooms->floor_c);
        run->heat.evaporation = evaporation;
        run->heat.roof_film_w_m2k =
            stv__roof_film_inside_w_m2k(rooms->roof_c, rooms->air_c[run->shape.n_levels - 1]);
        stv__heat_solve(&run->heat, &run->flows, rooms);
    }
    return evaporation.rate_kg_s + evaporation.slope_kg_sk * rooms->floor_c;
}

static void substitute_envelope(struct run *run)
{
    double film = stv__wall_film_inside_w_m2k();
    for (size_t lane = 0; lane < run->n_lanes; lane++)
        run->surface_c[lane] = (run->wall_w_m2[lane] + film * run->rooms.air_c[lane / STV__FACES]) /
                               (run->wall_w_m2k[lane] + film);
    stv_wall_substitute(run->walls, run->surface_c);
    stv_wall_substitute(run->roof, &run->rooms.roof_c);
    stv_wall_substitute(run->floor, &run->rooms.floor_c);
}

static void book_heat(struct books *books, double heat_j)
{
    books->heat_net_j += heat_j;
    books->heat_in_j += fmax(heat_j, 0.0);
}

static void book_water(struct books *books, double water_kg)
{
    books->water_net_kg += water_kg;
    books->water_in_kg += fmax(water_kg, 0.0);
}

/* Across the outside of every element, from temperatures alone: not from the solved system. */
static void book_envelope(struct run *run, double span_s)
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

static void book_stage(struct run *run, double span_s, double evaporation_kg_s)
{
    book_envelope(run, span_s);
    book_heat(&run->books,
              span_s * (run->heat.latent_floor_w - STV__LATENT_J_KG * evaporation_kg_s));
    book_water(&run->books, span_s * evaporation_kg_s);
    book_water(&run->books, span_s * run->moisture.source_kg_s * (double)run->shape.n_tiers);
    for (size_t i = 0; i < run->shape.n_levels; i++) {
        double in_m3 = span_s * run->flows.in[i], out_m3 = span_s * run->flows.out[i];
        double air = run->shape.air_j_m3k;
        book_heat(&run->books, span_s * run->heat.latent_w[i]);
        book_heat(&run->books,
                  air * (in_m3 * run->draught.outdoor_c - out_m3 * run->rooms.air_c[i]));
        book_water(&run->books, in_m3 * run->hour.vapour_kg_m3);
        book_water(&run->books, -out_m3 * run->moisture.now_kg_m3[i]);
        run->outdoor_m3 += in_m3;
    }
}

/* Humidity cannot pass saturation: what would has condensed by the end of the step. */
static void add_to_hour(struct run *run, double weight_frac)
{
    for (size_t i = 0; i < run->shape.n_tiers; i++) {
        double air_c = run->rooms.air_c[i];
        double rh_frac = fmin(run->moisture.now_kg_m3[i] / stv__saturation_kg_m3(air_c), 1.0);
        run->sums.air_c[i] += weight_frac * air_c;
        run->sums.rh_frac[i] += weight_frac * fmax(rh_frac, 0.0);
        run->sums.radiant_c[i] += weight_frac * stv__radiant_c(&run->shape, &run->rooms,
                                                               run->surface_c + i * STV__FACES, i);
    }
}

static void run_step(struct run *run, int step_idx)
{
    begin_step(run);
    for (int stage = 0; stage < STV_STAGES; stage++) {
        double hour_frac = (step_idx + stv_stage_time_frac(stage)) / run->n_steps;
        double weight_frac = stv_stage_weight_frac(stage);
        run->draught.outdoor_c = stv__outdoor_c(&run->hour, hour_frac);
        run->heat.outdoor_c = run->draught.outdoor_c;
        eliminate_envelope(run, stage);
        set_base(run, stage);
        double evaporation_kg_s = solve_rooms(run, stage);
        substitute_envelope(run);
        stv__moisture_substitute(&run->moisture, &run->flows, evaporation_kg_s);
        book_stage(run, weight_frac * run->step_s, evaporation_kg_s);
        add_to_hour(run, weight_frac / run->n_steps);
    }
    book_water(&run->books, -stv__moisture_end_step_kg(&run->moisture, &run->rooms));
}

static void run_hour(struct run *run, size_t hour_idx)
{
    begin_hour(run, hour_idx);
    for (int step = 0; step < run->n_steps; step++)
        run_step(run, step);
}

static double heat_held_j(const struct run *run)
{
    double heat_j = stv__rooms_heat_j(&run->shape, &run->rooms);
    for (size_t lane = 0; lane < run->n_lanes; lane++)
        heat_j += run->shape.wall_m2[lane / STV__FACES][lane % STV__FACES] *
                  stv_wall_heat_j_m2(run->walls, lane);
    return heat_j + run->shape.roof_m2 * stv_wall_heat_j_m2(run->roof, 0) +
           run->shape.plan_m2 * stv_wall_heat_j_m2(run->floor, 0);
}

static void open_books(struct run *run)
{
    run->books = (struct books){.heat_start_j = heat_held_j(run),
                                .water_start_kg = stv__moisture_held_kg(&run->moisture)};
}

static void close_books(const struct run *run, struct stv_building_climate *out)
{
    const struct books *books = &run->books;
    double heat_j = heat_held_j(run) - books->heat_start_j;
    double water_kg = stv__moisture_held_kg(&run->moisture) - books->water_start_kg;
    out->energy_residual_frac = fabs(heat_j - books->heat_net_j) / books->heat_in_j;
    out->moisture_residual_frac = fabs(water_kg - books->water_net_kg) / books->water_in_kg;
}

static void spin_up(struct run *run)
{
    size_t n = run->weather->grid.n < YEAR_H ? run->weather->grid.n : YEAR_H;
    for (size_t hour = 0; hour < YEAR_H || hour % n != 0; hour++)
        run_hour(run, hour % n);
}

static void run_record(struct run *run, struct stv_building_climate *out)
{
    size_t n = run->weather->grid.n;
    run->outdoor_m3 = 0.0;
    for (size_t hour = 0; hour < n; hour++) {
        if (hour + YEAR_H == n || (hour == 0 && n <= YEAR_H))
            open_books(run);
        run_hour(run, hour);
        for (size_t i = 0; i < run->shape.n_tiers; i++) {
            out->air_c[i * n + hour] = run->sums.air_c[i];
            out->rh_frac[i * n + hour] = run->sums.rh_frac[i];
            out->radiant_c[i * n + hour] = run->sums.radiant_c[i];
        }
    }
    out->air_change_mean_per_h = run->outdoor_m3 / (run->shape.volume_m3 * (double)n);
    close_books(run, out);
}

static enum stv_status check_input(const struct stv_building *building,
                                   const struct stv_weather *weather, int step_s)
{
    for (size_t c = 0; c < STV_WC_N; c++)
        if (!weather->columns[c])
            return STV_E_ARG;
    if (step_s < 1 || STV_HOUR_S % step_s != 0)
        return STV_E_ARG;
    if (stv_building_fault(building) || weather->grid.step_s != STV_HOUR_S)
        return STV_E_DOMAIN;
    if (weather->grid.n < STV_DAY_H)
        return STV_E_NO_DATA;
    for (size_t c = 0; c < STV_WC_N; c++)
        for (size_t k = 0; k < weather->grid.n; k++)
            if (!isfinite(weather->columns[c][k]))
                return STV_E_DOMAIN;
    return STV_OK;
}

enum stv_status stv_building_simulate(const struct stv_building *building,
                                      const struct stv_weather *weather, int step_s,
                                      struct stv_building_climate *out)
{
    if (!building || !weather || !out)
        return STV_E_ARG;
    *out = (struct stv_building_climate){.grid = weather->grid};
    enum stv_status status = check_input(building, weather, step_s);
    if (status != STV_OK)
        return status;
    struct run *run = calloc(1, sizeof *run);
    if (!run)
        return STV_E_MEMORY;
    run->building = building;
    run->weather = weather;
    run->step_s = step_s;
    run->n_steps = STV_HOUR_S / step_s;
    size_t n_values = building->n_tiers * weather->grid.n;
    out->n_tiers = building->n_tiers;
    out->air_c = malloc(n_values * sizeof(double));
    out->rh_frac = malloc(n_values * sizeof(double));
    out->radiant_c = malloc(n_values * sizeof(double));
    status = out->air_c && out->rh_frac && out->radiant_c ? start_run(run) : STV_E_MEMORY;
    if (status == STV_OK) {
        spin_up(run);
        run_record(run, out);
    }
    release_run(run);
    if (status != STV_OK)
        stv_building_climate_free(out);
    return status;
}

void stv_building_climate_free(struct stv_building_climate *climate)
{
    if (!climate)
        return;
    free(climate->air_c);
    free(climate->rh_frac);
    free(climate->radiant_c);
    climate->air_c = climate->rh_frac = climate->radiant_c = NULL;
    climate->n_tiers = 0;
}
