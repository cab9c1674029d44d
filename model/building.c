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
 * This file runs the record; the parts: an hour and its books in building_step.c, shape and what is
 * impossible in building_shape.c, outside faces in building_faces.c, floor and ground in
 * building_ground.c, air in building_air.c, heat of the rooms in building_heat.c, vapour in
 * building_moisture.c, heat of a plain zone in building_zone.c, windows in building_panes.c, mist
 * and roof spray in building_water.c.  No doors and no people. */
#include "model/building.h"

#include "model/air.h"
#include "model/building_run.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define YEAR_H ((size_t)8760)
#define AIR_CP_J_KGK 1006.0 /* Source: dry air, from memory */

static void release_run(struct stv__run *run)
{
    stv_wall_free(run->walls);
    stv_wall_free(run->roof);
    stv_wall_free(run->floor);
    free(run);
}

static enum stv_status make_envelope(struct stv__run *run, double start_c)
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

static void start_rooms(struct stv__run *run, double start_c)
{
    for (size_t i = 0; i < STV__LEVELS_MAX; i++)
        run->rooms.air_c[i] = start_c;
    for (size_t i = 0; i < STV_TIERS_MAX; i++)
        run->rooms.shell_c[i] = run->rooms.liquid_c[i] = start_c;
    run->rooms.floor_c = run->rooms.roof_c = run->rooms.radiant_c = start_c;
    stv__moisture_start(&run->moisture, run->building, &run->shape, run->step_s, start_c);
}

static void set_air_of_site(struct stv__run *run, double mean_c)
{
    const double *pressure_pa = run->weather->columns[STV_WC_PRESSURE_PA];
    const double *vapour_pa = run->weather->columns[STV_WC_VAPOUR_PA];
    size_t n = run->weather->grid.n;
    run->shape.air_j_m3k = AIR_CP_J_KGK * stv_air_density_kg_m3(mean_c, stv_mean_nd(vapour_pa, n),
                                                                stv_mean_nd(pressure_pa, n));
}

static void make_faces(struct stv__run *run)
{
    const struct stv_building *building = run->building;
    for (size_t face = 0; face < STV__FACES; face++)
        run->wall_face[face] =
            (struct stv__face){.absorptance_frac = building->wall.absorptance_frac,
                               .emittance_frac = building->wall.emittance_frac,
                               .sky_share_frac = stv__sky_share_frac(90.0) *
                                                 (1.0 - run->shape.wall_shade[face].sky_frac)};
    run->roof_face =
        (struct stv__face){.absorptance_frac = building->roof.absorptance_frac,
                           .emittance_frac = building->roof.emittance_frac,
                           .sky_share_frac = stv__sky_share_frac(building->roof_pitch_deg) *
                                             (1.0 - building->roof_shade.sky_frac)};
}

static enum stv_status start_run(struct stv__run *run)
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
    if (!run->shape.has_head)
        status = stv__zone_start(&run->zone, run->building, &run->shape, start_c);
    else
        status = stv__windows_start(&run->windows, run->building, &run->shape, start_c);
    if (status != STV_OK)
        return status;
    run->heat.shape = &run->shape;
    run->heat.heating_c = run->building->heating_c;
    run->heat.stage_s = STV_STAGE_GAMMA_FRAC * run->step_s;
    return make_envelope(run, start_c);
}

static void spin_up(struct stv__run *run)
{
    size_t n = run->weather->grid.n < YEAR_H ? run->weather->grid.n : YEAR_H;
    for (size_t hour = 0; hour < YEAR_H || hour % n != 0; hour++)
        stv__run_hour(run, hour % n);
}

static void run_record(struct stv__run *run, struct stv_building_climate *out)
{
    size_t n = run->weather->grid.n;
    run->outdoor_m3 = run->mist_kg = run->roof_kg = 0.0;
    for (size_t hour = 0; hour < n; hour++) {
        if (hour + YEAR_H == n || (hour == 0 && n <= YEAR_H))
            stv__open_books(run);
        double before_m3 = run->outdoor_m3;
        stv__run_hour(run, hour);
        out->outdoor_m3_h[hour] = run->outdoor_m3 - before_m3;
        for (size_t i = 0; i < run->shape.n_tiers; i++) {
            out->air_c[i * n + hour] = run->sums.air_c[i];
            out->rh_frac[i * n + hour] = run->sums.rh_frac[i];
            out->radiant_c[i * n + hour] = run->sums.radiant_c[i];
        }
    }
    out->volume_m3 = run->shape.volume_m3;
    out->air_change_mean_per_h = run->outdoor_m3 / (run->shape.volume_m3 * (double)n);
    out->mist_kg_per_y = run->mist_kg * (double)YEAR_H / (double)n;
    out->roof_water_kg_per_y = run->roof_kg * (double)YEAR_H / (double)n;
    stv__close_books(run, out);
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
    struct stv__run *run = calloc(1, sizeof *run);
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
    out->outdoor_m3_h = malloc(weather->grid.n * sizeof(double));
    status = out->air_c && out->rh_frac && out->radiant_c && out->outdoor_m3_h ? start_run(run)
                                                                               : STV_E_MEMORY;
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
    free(climate->outdoor_m3_h);
    climate->air_c = climate->rh_frac = climate->radiant_c = climate->outdoor_m3_h = NULL;
    climate->n_tiers = 0;
}
