/* Walls whose waves are known exactly, and a step between two airs. */
#ifndef STV_TESTS_WALL_CASE_H
#define STV_TESTS_WALL_CASE_H

#include "model/envelope.h"

#include <stddef.h>

/* Of a daily wave: admittances of both faces and what passes, W/m2K; by how many hours the flux of
 * a face leads its air, and what passes lags; areal heat capacities, kJ/m2K. */
struct wall_figures {
    double u, y11, lead11_h, y22, lead22_h, yie, lag_h, decrement, kappa1, kappa2;
};

struct wall_case {
    const char *what;
    struct stv_construction construction; /* outside first */
    double film_in_m2k_w, film_out_m2k_w;
    struct wall_figures known;
};

/* Source: exact solutions of the matrix of ISO 13786:2017, worked out independently of this code to
 * the digits shown; the test walls are cases 600 and 900 of ANSI/ASHRAE 140. */
static const struct wall_case wall_cases[] = {
    {"200 mm concrete",
     {.layers = {{1.8, 0.2, 2400, 1000, 0}}, .n_layers = 1},
     0.13,
     0.04,
     {3.5573, 5.7043, 0.948, 11.5919, 1.873, 1.8271, 5.676, 0.5136, 86.17, 170.87}},
    {"insulated concrete",
     {.layers = {{0.04, 0.1, 30, 1400, 0}, {1.8, 0.2, 2400, 1000, 0}}, .n_layers = 2},
     0.13,
     0.04,
     {0.3596, 5.9418, 0.853, 0.4092, 0.996, 0.0607, 8.002, 0.1688, 82.27, 6.24}},
    {"600 mm rubble",
     {.layers = {{1.7, 0.6, 2200, 900, 0}}, .n_layers = 1},
     0.13,
     0.04,
     {1.9123, 5.5262, 0.964, 10.3676, 1.864, 0.1476, 15.087, 0.0772, 77.00, 143.13}},
    {"80 mm foam",
     {.layers = {{0.025, 0.08, 35, 1400, 0}}, .n_layers = 1},
     0.13,
     0.04,
     {0.2967, 0.3159, 1.082, 0.3182, 1.169, 0.2951, 0.640, 0.9944, 1.90, 2.00}},
    {"slate on boards",
     {.layers = {{2.0, 0.01, 2700, 800, 0}, {0.13, 0.025, 500, 1600, 0}}, .n_layers = 2},
     0.13,
     0.04,
     {2.7225, 2.7604, 0.369, 3.4119, 2.115, 2.7040, 0.660, 0.9932, 10.12, 31.23}},
    {"light test wall",
     {.layers = {{0.14, 0.009, 530, 900, 0}, {0.04, 0.066, 12, 840, 0}, {0.16, 0.012, 950, 840, 0}},
      .n_layers = 3},
     0.1206,
     0.0341,
     {0.5144, 0.8259, 3.083, 0.6071, 2.062, 0.5119, 0.529, 0.9952, 9.22, 5.27}},
    {"heavy test wall",
     {.layers = {{0.14, 0.009, 530, 900, 0},
                 {0.04, 0.0615, 10, 1400, 0},
                 {0.51, 0.1, 1400, 1000, 0}},
      .n_layers = 3},
     0.1206,
     0.0341,
     {0.5121, 4.5791, 2.006, 0.6753, 2.052, 0.2578, 5.165, 0.5033, 64.13, 10.93}},
};
#define N_WALL_CASES (sizeof wall_cases / sizeof wall_cases[0])

/* Fluxes of a step at the ends of its two stages, W/m2: into the room, and into the wall from
 * outside. */
struct wall_fluxes {
    double into_room_w_m2[STV_STAGES], from_outside_w_m2[STV_STAGES];
};

static inline void wall_case_step(struct stv_wall *wall, const struct wall_case *row,
                                  const double outside_c[STV_STAGES],
                                  const double inside_c[STV_STAGES], struct wall_fluxes *out)
{
    double outside_w_m2k = 1.0 / row->film_out_m2k_w, film = 1.0 / row->film_in_m2k_w;
    stv_wall_begin_step(wall, &outside_w_m2k);
    for (int stage = 0; stage < STV_STAGES; stage++) {
        double g, s;
        stv_wall_eliminate(wall, stage, &outside_c[stage], &g, &s);
        double surface_c = (s + film * inside_c[stage]) / (g + film);
        stv_wall_substitute(wall, &surface_c);
        out->into_room_w_m2[stage] = film * (surface_c - inside_c[stage]);
        out->from_outside_w_m2[stage] =
            outside_w_m2k * (outside_c[stage] - stv_wall_outside_surface_c(wall)[0]);
    }
}

#endif
