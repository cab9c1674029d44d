/* Heat of a plain zone: one node of air and one of radiation.  Every inside surface gives heat to
 * the air through a convective film and to the radiation node through a long-wave one,
 *
 *   q = h_c (T_s - T_air) + h_r (T_s - T_star),   h_r = 4 eps' sigma T^3,
 *   1/eps' = 1/F + (1 - eps)/eps,  F = 1/(1 - A F/sum A F),
 *
 * so that surfaces, panes and casks are eliminated one by one and two unknowns remain.  Films are
 * what the user fixes, else natural convection at the temperature difference of the pass before.
 * Sun through windows is spread over the surfaces by fixed shares. */
#include "model/building_zone.h"

#include "model/units.h"

#include <math.h>

#define INSIDE_EMITTANCE 0.9
#define VIEW_PASSES 30
/* Source: natural convection, 1.31 dT^(1/3) on walls, 1.51 where heat rises from a floor or to a
 * ceiling, 0.76 where it would have to sink: Walton 1983, after ASHRAE (from memory). */
#define FILM_WALL 1.31
#define FILM_LIVELY 1.51
#define FILM_LAZY 0.76
#define FILM_LEAST_W_M2K 0.1

static void set_views(struct stv__zone *zone)
{
    double sum_m2 = 0.0;
    for (size_t k = 0; k < zone->n; k++) {
        zone->surfaces[k].view_nd = 1.0;
        sum_m2 += zone->surfaces[k].area_m2;
    }
    for (int pass = 0; pass < VIEW_PASSES; pass++) {
        double next_m2 = 0.0;
        for (size_t k = 0; k < zone->n; k++) {
            struct stv__surface *surface = &zone->surfaces[k];
            surface->view_nd = 1.0 / (1.0 - surface->area_m2 * surface->view_nd / sum_m2);
            next_m2 += surface->area_m2 * surface->view_nd;
        }
        sum_m2 = next_m2;
    }
}

static enum stv_status start_window(struct stv__zone *zone, const struct stv__shape *shape,
                                    size_t k, double start_c)
{
    const struct stv_glazing *glazing = &zone->building->windows[k].glazing;
    zone->surfaces[STV__WINDOW_FIRST + k] =
        (struct stv__surface){.face = STV_ZONE_WINDOW,
                              .area_m2 = zone->building->windows[k].area_m2,
                              .inside_c = start_c,
                              .emittance_frac = glazing->emittance_frac};
    return stv__pane_start(&zone->panes[k], glazing, start_c,
                           shape->wall_shade[shape->window_face[k]].sky_frac);
}

enum stv_status stv__zone_start(struct stv__zone *zone, const struct stv_building *building,
                                const struct stv__shape *shape, double start_c)
{
    zone->building = building;
    zone->said = &building->zone;
    zone->n = STV__WINDOW_FIRST + building->n_windows;
    for (size_t k = 0; k < STV__WINDOW_FIRST; k++)
        zone->surfaces[k] = (struct stv__surface){.face = STV_ZONE_WALL,
                                                  .area_m2 = shape->wall_m2[0][k % STV__FACES],
                                                  .inside_c = start_c,
                                                  .emittance_frac = INSIDE_EMITTANCE};
    zone->surfaces[STV__ROOF].face = STV_ZONE_ROOF;
    zone->surfaces[STV__ROOF].area_m2 = shape->roof_m2;
    zone->surfaces[STV__FLOOR].face = STV_ZONE_FLOOR;
    zone->surfaces[STV__FLOOR].area_m2 = shape->plan_m2;
    enum stv_status status = STV_OK;
    for (size_t k = 0; k < building->n_windows && status == STV_OK; k++)
        status = start_window(zone, shape, k, start_c);
    set_views(zone);
    return status;
}

/* Sun of the hour through the panes and onto the surfaces. */
void stv__zone_begin_hour(struct stv__zone *zone, const struct stv__hour *hour)
{
    const struct stv_zone *said = zone->said;
    double through_w = 0.0, walls_m2 = 0.0;
    for (size_t k = 0; k < zone->building->n_windows; k++)
        through_w +=
            zone->building->windows[k].area_m2 *
            stv__pane_sun_w_m2(&zone->panes[k], &hour->window_sun[k], hour, zone->building);
    for (size_t k = 0; k < STV__FACES; k++)
        walls_m2 += zone->surfaces[k].area_m2;
    double wall_frac = 1.0 - said->sun_floor_frac - said->sun_roof_frac - said->sun_lost_frac;
    for (size_t k = 0; k < STV__FACES; k++)
        zone->surfaces[k].sun_w_m2 = walls_m2 > 0.0 ? through_w * wall_frac / walls_m2 : 0.0;
    zone->surfaces[STV__ROOF].sun_w_m2 =
        through_w * said->sun_roof_frac / zone->surfaces[STV__ROOF].area_m2;
    zone->surfaces[STV__FLOOR].sun_w_m2 =
        through_w * said->sun_floor_frac / zone->surfaces[STV__FLOOR].area_m2;
    zone->through_w = through_w;
}

void stv__zone_begin_step(struct stv__zone *zone)
{
    for (size_t k = 0; k < zone->building->n_windows; k++)
        stv__pane_begin_step(&zone->panes[k], zone->surfaces[STV__WINDOW_FIRST + k].inside_c);
}

void stv__zone_eliminate(struct stv__zone *zone, const struct stv__heat *heat,
                         const double *wall_w_m2k, const double *wall_w_m2)
{
    for (size_t k = 0; k < STV__FACES; k++) {
        zone->surfaces[k].conductance_w_m2k = wall_w_m2k[k];
        zone->surfaces[k].source_w_m2 = wall_w_m2[k];
    }
    struct stv__surface *roof = &zone->surfaces[STV__ROOF], *floor = &zone->surfaces[STV__FLOOR];
    roof->conductance_w_m2k = heat->roof.conductance_w_k / roof->area_m2;
    roof->source_w_m2 = heat->roof.source_w / roof->area_m2;
    floor->conductance_w_m2k = heat->floor.conductance_w_k / floor->area_m2;
    floor->source_w_m2 = heat->floor.source_w / floor->area_m2;
    for (size_t k = 0; k < zone->building->n_windows; k++) {
        struct stv__line line = stv__pane_eliminate(&zone->panes[k], heat->outdoor_c);
        zone->surfaces[STV__WINDOW_FIRST + k].conductance_w_m2k = line.conductance_w_m2k;
        zone->surfaces[STV__WINDOW_FIRST + k].source_w_m2 = line.source_w_m2;
    }
}

static double natural_film_w_m2k(const struct stv__surface *surface, double air_c)
{
    double warmer_k = surface->inside_c - air_c, factor = FILM_WALL;
    if (surface->face == STV_ZONE_FLOOR)
        factor = warmer_k > 0.0 ? FILM_LIVELY : FILM_LAZY;
    else if (surface->face == STV_ZONE_ROOF)
        factor = warmer_k < 0.0 ? FILM_LIVELY : FILM_LAZY;
    return fmax(factor * cbrt(fabs(warmer_k)), FILM_LEAST_W_M2K);
}

static void set_films(struct stv__zone *zone, const struct stv__rooms *rooms)
{
    double star_k = stv_k_from_c(rooms->radiant_c);
    double black_w_m2k = 4.0 * STV_STEFAN_W_M2K4 * star_k * star_k * star_k;
    for (size_t k = 0; k < zone->n; k++) {
        struct stv__surface *surface = &zone->surfaces[k];
        double said_w_m2k = zone->said->inside_film_w_m2k[surface->face];
        surface->film_w_m2k =
            isfinite(said_w_m2k) ? said_w_m2k : natural_film_w_m2k(surface, rooms->air_c[0]);
        surface->radiant_w_m2k =
            black_w_m2k /
            (1.0 / surface->view_nd + (1.0 - surface->emittance_frac) / surface->emittance_frac);
    }
}

/* Two lines: what the air and the radiation node give off, a T_air + b T_star = c. */
struct pair {
    double aa, as, ss, air_w, star_w;
};

static void add_surface(const struct stv__surface *surface, struct pair *pair)
{
    double film = surface->film_w_m2k, radiant = surface->radiant_w_m2k, m2 = surface->area_m2;
    double all = surface->conductance_w_m2k + film + radiant;
    double given_w_m2 = surface->source_w_m2 + surface->sun_w_m2;
    pair->aa += m2 * film * (1.0 - film / all);
    pair->ss += m2 * radiant * (1.0 - radiant / all);
    pair->as += m2 * film * radiant / all;
    pair->air_w += m2 * film * given_w_m2 / all;
    pair->star_w += m2 * radiant * given_w_m2 / all;
}

/* Casks by shell and liquid, which only the air touches. */
static void add_casks(const struct stv__heat *heat, struct pair *pair)
{
    const struct stv__casks *casks = &heat->shape->casks;
    if (casks->n <= 0.0) {
        pair->air_w += heat->given_w[0];
        return;
    }
    double liquid = casks->liquid_j_k / heat->stage_s;
    double shell = casks->shell_j_k / heat->stage_s;
    double core = casks->core_w_k * liquid / (casks->core_w_k + liquid);
    double all = shell + core + casks->film_w_k;
    double given_w =
        shell * heat->base.shell_c[0] + core * heat->base.liquid_c[0] + heat->given_w[0];
    pair->aa += casks->film_w_k * (1.0 - casks->film_w_k / all);
    pair->air_w += casks->film_w_k * given_w / all;
}

static void take_casks(const struct stv__heat *heat, struct stv__rooms *rooms)
{
    const struct stv__casks *casks = &heat->shape->casks;
    rooms->shell_c[0] = rooms->liquid_c[0] = rooms->air_c[0];
    if (casks->n <= 0.0)
        return;
    double liquid = casks->liquid_j_k / heat->stage_s;
    double shell = casks->shell_j_k / heat->stage_s;
    double core = casks->core_w_k * liquid / (casks->core_w_k + liquid);
    rooms->shell_c[0] = (shell * heat->base.shell_c[0] + core * heat->base.liquid_c[0] +
                         heat->given_w[0] + casks->film_w_k * rooms->air_c[0]) /
                        (shell + core + casks->film_w_k);
    rooms->liquid_c[0] = (liquid * heat->base.liquid_c[0] + casks->core_w_k * rooms->shell_c[0]) /
                         (liquid + casks->core_w_k);
}

static void take_surfaces(struct stv__zone *zone, struct stv__rooms *rooms)
{
    for (size_t k = 0; k < zone->n; k++) {
        struct stv__surface *s = &zone->surfaces[k];
        s->inside_c = (s->source_w_m2 + s->sun_w_m2 + s->film_w_m2k * rooms->air_c[0] +
                       s->radiant_w_m2k * rooms->radiant_c) /
                      (s->conductance_w_m2k + s->film_w_m2k + s->radiant_w_m2k);
    }
    rooms->roof_c = zone->surfaces[STV__ROOF].inside_c;
    rooms->floor_c = zone->surfaces[STV__FLOOR].inside_c;
    for (size_t k = 0; k < zone->building->n_windows; k++)
        stv__pane_substitute(&zone->panes[k], zone->surfaces[STV__WINDOW_FIRST + k].inside_c);
}

void stv__zone_solve(struct stv__zone *zone, const struct stv__heat *heat,
                     const struct stv__flows *flows, struct stv__rooms *rooms)
{
    const struct stv__shape *shape = heat->shape;
    const struct stv_building *building = zone->building;
    struct stv__surface *floor = &zone->surfaces[STV__FLOOR];
    double plain_w_m2k = floor->conductance_w_m2k, plain_w_m2 = floor->source_w_m2;
    set_films(zone, rooms);
    floor->conductance_w_m2k += STV__LATENT_J_KG * heat->evaporation.slope_kg_sk / floor->area_m2;
    floor->source_w_m2 +=
        (heat->given_floor_w - STV__LATENT_J_KG * heat->evaporation.rate_kg_s) / floor->area_m2;
    double store_w_k = shape->air_j_m3k * shape->level_volume_m3[0] / heat->stage_s;
    double draught_w_k = shape->air_j_m3k * flows->in_m3_s[0];
    struct pair pair = {.aa = store_w_k + draught_w_k,
                        .air_w = store_w_k * heat->base.air_c[0] + draught_w_k * heat->outdoor_c +
                                 building->gain_w * (1.0 - building->gain_radiant_frac) +
                                 heat->given_air_w[0],
                        .star_w = building->gain_w * building->gain_radiant_frac};
    for (size_t k = 0; k < zone->n; k++)
        add_surface(&zone->surfaces[k], &pair);
    add_casks(heat, &pair);
    double air_c =
        (pair.air_w * pair.ss + pair.star_w * pair.as) / (pair.aa * pair.ss - pair.as * pair.as);
    bool is_heated = isfinite(building->heating_c) && air_c < building->heating_c;
    rooms->air_c[0] = is_heated ? building->heating_c : air_c;
    rooms->radiant_c = (pair.star_w + pair.as * rooms->air_c[0]) / pair.ss;
    zone->heating_w =
        is_heated ? pair.aa * rooms->air_c[0] - pair.as * rooms->radiant_c - pair.air_w : 0.0;
    take_casks(heat, rooms);
    take_surfaces(zone, rooms);
    floor->conductance_w_m2k = plain_w_m2k;
    floor->source_w_m2 = plain_w_m2;
}

double stv__zone_gain_w(const struct stv__zone *zone)
{
    const struct stv_building *building = zone->building;
    double gain_w =
        building->gain_w + zone->heating_w + zone->through_w * (1.0 - zone->said->sun_lost_frac);
    for (size_t k = 0; k < building->n_windows; k++)
        gain_w += building->windows[k].area_m2 * stv__pane_gain_w_m2(&zone->panes[k]);
    return gain_w;
}
