/* Windows.  A pane seen from inside is one line: the outer pane, which has no mass, is eliminated
 * into the inner one.  In a plain zone the inner pane is one of the zone's surfaces.  In a store of
 * tiers a window is spread over the whole height of its wall, a strip of it in every level, and
 * stands to that level's air as the wall about it does.  The sun that comes in through a level's
 * strip, but for the share that leaves again, warms the casks of that tier as far as they are
 * stacked so close as to catch it (cover_frac), and the floor with the rest; under the roof it
 * falls on the top tier.  That is judgement: sun through a window by the floor of a real store
 * lights the nearest casks, and these stand for all of their tier. */
#include "model/building_run.h"

#include <math.h>

enum stv_status stv__pane_start(struct stv__pane *pane, const struct stv_glazing *glazing,
                                double start_c, double sky_kept_frac)
{
    pane->glazing = glazing;
    pane->outer_c = start_c;
    pane->face =
        (struct stv__face){.emittance_frac = glazing->emittance_frac,
                           .sky_share_frac = stv__sky_share_frac(90.0) * (1.0 - sky_kept_frac)};
    return stv_glass_of(glazing, &pane->glass);
}

double stv__pane_sun_w_m2(struct stv__pane *pane, const struct stv__beam *sun,
                          const struct stv__hour *hour, const struct stv_building *building)
{
    double said_w_m2k = building->zone.outside_film_w_m2k[STV_ZONE_WINDOW];
    struct stv_glass_sun beam = stv_glass_beam(&pane->glass, sun->cos_incidence_nd);
    const struct stv_glass_sun *diffuse = &pane->glass.diffuse;
    for (size_t i = 0; i < STV_PANES_MAX; i++)
        pane->absorbed_w_m2[i] =
            sun->beam_w_m2 * beam.absorbed_frac[i] + sun->diffuse_w_m2 * diffuse->absorbed_frac[i];
    pane->face.film_w_m2k = isfinite(said_w_m2k)
                                ? said_w_m2k
                                : stv__wall_film_w_m2k(&building->numbers, hour->wind_m_s);
    pane->face.sky_w_m2 = hour->sky_w_m2;
    return sun->beam_w_m2 * beam.through_frac + sun->diffuse_w_m2 * diffuse->through_frac;
}

void stv__pane_begin_step(struct stv__pane *pane, double inside_c)
{
    pane->start_c = pane->outer_c;
    pane->outside_w_m2k = stv__face_conductance_w_m2k(&pane->face, pane->start_c);
    pane->gap_w_m2k = stv_glazing_gap_w_m2k(pane->glazing, 0.5 * (pane->start_c + inside_c));
}

struct stv__line stv__pane_eliminate(struct stv__pane *pane, double outdoor_c)
{
    pane->sol_air_c = stv__face_sol_air_c(&pane->face, outdoor_c, pane->start_c);
    double out_w_m2k = pane->outside_w_m2k, gap_w_m2k = pane->gap_w_m2k;
    if (pane->glass.n_panes == 1)
        return (struct stv__line){out_w_m2k, out_w_m2k * pane->sol_air_c + pane->absorbed_w_m2[0]};
    double share = gap_w_m2k / (out_w_m2k + gap_w_m2k);
    return (struct stv__line){out_w_m2k * share,
                              share * (out_w_m2k * pane->sol_air_c + pane->absorbed_w_m2[0]) +
                                  pane->absorbed_w_m2[1]};
}

void stv__pane_substitute(struct stv__pane *pane, double inside_c)
{
    pane->outer_c = pane->glass.n_panes == 1
                        ? inside_c
                        : (pane->outside_w_m2k * pane->sol_air_c + pane->absorbed_w_m2[0] +
                           pane->gap_w_m2k * inside_c) /
                              (pane->outside_w_m2k + pane->gap_w_m2k);
}

double stv__pane_gain_w_m2(const struct stv__pane *pane)
{
    return pane->outside_w_m2k * (pane->sol_air_c - pane->outer_c) + pane->absorbed_w_m2[0] +
           pane->absorbed_w_m2[1];
}

/* ---- In a store of tiers ---- */

enum stv_status stv__windows_start(struct stv__windows *windows,
                                   const struct stv_building *building,
                                   const struct stv__shape *shape, double start_c)
{
    enum stv_status status = STV_OK;
    windows->n = building->n_windows;
    windows->building = building;
    windows->shape = shape;
    for (size_t k = 0; k < building->n_windows && status == STV_OK; k++) {
        struct stv__strip strip = {.inside_c = start_c};
        status = stv__pane_start(&strip.pane, &building->windows[k].glazing, start_c,
                                 shape->wall_shade[shape->window_face[k]].sky_frac);
        for (size_t i = 0; i < shape->n_levels; i++) {
            windows->strips[i][k] = strip;
            windows->strips[i][k].area_m2 = building->windows[k].area_m2 * shape->eaves_frac[i];
        }
    }
    return status;
}

void stv__windows_begin_hour(struct stv__windows *windows, const struct stv__hour *hour)
{
    double in_frac = 1.0 - windows->building->zone.sun_lost_frac;
    for (size_t i = 0; i < windows->shape->n_levels; i++) {
        windows->sun_w[i] = 0.0;
        for (size_t k = 0; k < windows->n; k++) {
            struct stv__strip *strip = &windows->strips[i][k];
            windows->sun_w[i] +=
                in_frac * strip->area_m2 *
                stv__pane_sun_w_m2(&strip->pane, &hour->window_sun[k], hour, windows->building);
        }
    }
}

void stv__windows_begin_step(struct stv__windows *windows)
{
    for (size_t i = 0; i < windows->shape->n_levels; i++)
        for (size_t k = 0; k < windows->n; k++)
            stv__pane_begin_step(&windows->strips[i][k].pane, windows->strips[i][k].inside_c);
}

void stv__windows_reduce(struct stv__windows *windows, size_t level, double outdoor_c,
                         struct stv__port *port)
{
    double film = windows->building->numbers.wall_inside_w_m2k;
    for (size_t k = 0; k < windows->n; k++) {
        struct stv__strip *strip = &windows->strips[level][k];
        strip->line = stv__pane_eliminate(&strip->pane, outdoor_c);
        double through = strip->area_m2 * film / (strip->line.conductance_w_m2k + film);
        port->conductance_w_k += through * strip->line.conductance_w_m2k;
        port->source_w += through * strip->line.source_w_m2;
    }
}

void stv__windows_substitute(struct stv__windows *windows, const double *air_c)
{
    double film = windows->building->numbers.wall_inside_w_m2k;
    for (size_t i = 0; i < windows->shape->n_levels; i++)
        for (size_t k = 0; k < windows->n; k++) {
            struct stv__strip *strip = &windows->strips[i][k];
            strip->inside_c = (strip->line.source_w_m2 + film * air_c[i]) /
                              (strip->line.conductance_w_m2k + film);
            stv__pane_substitute(&strip->pane, strip->inside_c);
        }
}

double stv__windows_gain_w(const struct stv__windows *windows)
{
    double gain_w = 0.0;
    for (size_t i = 0; i < windows->shape->n_levels; i++)
        for (size_t k = 0; k < windows->n; k++)
            gain_w +=
                windows->strips[i][k].area_m2 * stv__pane_gain_w_m2(&windows->strips[i][k].pane);
    return gain_w;
}
