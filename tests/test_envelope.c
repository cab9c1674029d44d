/* Walls against closed forms and laws; their waves are tests/test_wall_waves.c. */
#include "tests/check.h"

#include "model/constructions.h"
#include "model/envelope.h"
#include "model/units.h"
#include "tests/wall_case.h"

#include <complex.h>

/* The standard I is a complex float. */
#define IMAGINARY ((double complex)I)

static const double pi_nd = 3.14159265358979323846;

struct wave { /* amplitude W/m2K and lag h of the flux that passes inside held at 0 C */
    double amplitude_w_m2k, lag_h;
};

static const double still_c[STV_STAGES] = {0.0, 0.0};

/* Amplitude and lag from the last of n_periods of a unit wave outside, by the first Fourier
 * coefficient of the fluxes at the ends of the steps. */
static struct wave simulated_wave(const struct wall_case *row, double period_h, int per_period,
                                  int n_periods)
{
    struct stv_wall *wall;
    stv_assert_ok(
        stv_wall_new(&row->construction, 1, period_h * STV_HOUR_S / per_period, 0.0, &wall));
    double complex sum = 0.0;
    for (int i = 0; i < n_periods * per_period; i++) {
        double outside_c[2];
        struct wall_fluxes fluxes;
        for (int stage = 0; stage < STV_STAGES; stage++)
            outside_c[stage] = cos(2.0 * pi_nd * (i + stv_stage_time_frac(stage)) / per_period);
        wall_case_step(wall, row, outside_c, still_c, &fluxes);
        if (i >= (n_periods - 1) * per_period)
            sum += fluxes.into_room_w_m2[1] *
                   cexp(-2.0 * pi_nd * IMAGINARY * (double)(i + 1) / (double)per_period);
    }
    stv_wall_free(wall);
    sum *= 2.0 / per_period;
    double phase_rad = carg(sum);
    if (phase_rad > 0.0)
        phase_rad -= 2.0 * pi_nd;
    return (struct wave){cabs(sum), -phase_rad * period_h / (2.0 * pi_nd)};
}

/* Heat held at the end = heat at the start + what came in by both faces, booked by stage. */
static void test_heat_balance_closes(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_WALL_CASES; i++) {
        struct stv_wall *wall;
        stv_assert_ok(stv_wall_new(&wall_cases[i].construction, 1, STV_HOUR_S, 11.3, &wall));
        double net_j_m2 = 0.0, gross_j_m2 = 0.0, start_j_m2 = stv_wall_heat_j_m2(wall, 0);
        double outside_w_m2k = 1.0 / wall_cases[i].film_out_m2k_w,
               film = 1.0 / wall_cases[i].film_in_m2k_w;
        for (int step = 0; step < 100; step++) {
            stv_wall_begin_step(wall, &outside_w_m2k);
            for (int stage = 0; stage < STV_STAGES; stage++) {
                double outside_c = 20.0 * sin(0.7 * step + stage), g, s;
                stv_wall_eliminate(wall, stage, &outside_c, &g, &s);
                double surface_c = s / (g + film);
                stv_wall_substitute(wall, &surface_c);
                double in_w_m2 = outside_w_m2k * (outside_c - stv_wall_outside_surface_c(wall)[0]) -
                                 film * stv_wall_inside_surface_c(wall)[0];
                net_j_m2 += STV_HOUR_S * stv_stage_weight_frac(stage) * in_w_m2;
                gross_j_m2 += STV_HOUR_S * stv_stage_weight_frac(stage) * fabs(in_w_m2);
            }
        }
        stv_assert_close(stv_wall_heat_j_m2(wall, 0) - start_j_m2, net_j_m2, 0.0,
                         1e-10 * gross_j_m2);
        stv_wall_free(wall);
    }
}

/* A sheet that conducts so well that it is one node behind a film. */
static struct wall_case one_node(double tau_h)
{
    double film_w_m2k = 8.25;
    double thickness_m = 0.1, density_kg_m3 = 2000.0;
    double cp_j_kgk = film_w_m2k * tau_h * STV_HOUR_S / (thickness_m * density_kg_m3);
    return (struct wall_case){
        .construction = {.layers = {{1e5, thickness_m, density_kg_m3, cp_j_kgk, 0}}, .n_layers = 1},
        .film_in_m2k_w = 1e9, /* nearly adiabatic inside */
        .film_out_m2k_w = 1.0 / film_w_m2k};
}

/* Closed forms of one node: gain 1/sqrt(1 + (2 pi tau/P)^2), lag P/(2 pi) atan(2 pi tau/P). */
static void test_one_node_follows_its_closed_forms(void **state)
{
    (void)state;
    const double year_h = 365.0 * STV_DAY_H;
    const struct {
        double tau_h, period_h, gain_nd, lag_h, lag_digits_h;
    } known[] = {{6.0, STV_DAY_H, 0.5370, 3.83, 5e-3},
                 {30.0, STV_DAY_H, 0.1263, 5.52, 5e-3},
                 {660.0, STV_DAY_H, 0.0058, 5.98, 5e-3},
                 {30.0, year_h, 0.9998, 30.0, 5e-2},
                 {660.0, year_h, 0.9038, 616.4, 5e-2}};
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        struct wall_case row = one_node(known[i].tau_h);
        int n_periods = 10 + (int)(15.0 * known[i].tau_h / known[i].period_h);
        struct wave wave = simulated_wave(&row, known[i].period_h, 1440, n_periods);
        double gain_nd = wave.amplitude_w_m2k * row.film_in_m2k_w;
        double x = 2.0 * pi_nd * known[i].tau_h / known[i].period_h;
        print_message("one node, tau %3.0f h, period %4.0f h: gain %.4f, lag %.2f h\n",
                      known[i].tau_h, known[i].period_h, gain_nd, wave.lag_h);
        stv_assert_close(gain_nd, 1.0 / sqrt(1.0 + x * x), 1e-3, 0.0);
        stv_assert_close(wave.lag_h, known[i].period_h / (2.0 * pi_nd) * atan(x), 1e-3, 0.0);
        stv_assert_close(gain_nd, known[i].gain_nd, 0.0, 5e-5);
        stv_assert_close(wave.lag_h, known[i].lag_h, 0.0, known[i].lag_digits_h);
    }
    /* A step: T = T1 + (T0 - T1) exp(-t/tau). */
    struct wall_case row = one_node(6.0);
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row.construction, 1, STV_HOUR_S, 4.2, &wall));
    const double outside_c[2] = {19.6, 19.6};
    struct wall_fluxes fluxes;
    for (int step = 0; step < 9; step++)
        wall_case_step(wall, &row, outside_c, still_c, &fluxes);
    stv_assert_close(stv_wall_outside_surface_c(wall)[0], 19.6 - 15.4 * exp(-9.0 / 6.0), 0.0, 0.01);
    stv_wall_free(wall);
}

/* Lanes are strangers: two walls side by side behave as two walls apart. */
static void test_lanes_do_not_mix(void **state)
{
    (void)state;
    struct stv_wall *pair, *single;
    stv_assert_ok(stv_wall_new(&wall_cases[2].construction, 2, STV_HOUR_S, 9.1, &pair));
    stv_assert_ok(stv_wall_new(&wall_cases[2].construction, 1, STV_HOUR_S, 9.1, &single));
    const double u[2] = {13.4, 25.7}, t[2] = {31.2, -4.4};
    for (int step = 0; step < 50; step++) {
        stv_wall_begin_step(pair, u);
        stv_wall_begin_step(single, &u[1]);
        for (int stage = 0; stage < STV_STAGES; stage++) {
            double g[2], s[2], g1, s1;
            stv_wall_eliminate(pair, stage, t, g, s);
            stv_wall_eliminate(single, stage, &t[1], &g1, &s1);
            const double surface_c[2] = {s[0] / (g[0] + 2.0), s[1] / (g[1] + 7.7)};
            double single_c = s1 / (g1 + 7.7);
            stv_wall_substitute(pair, surface_c);
            stv_wall_substitute(single, &single_c);
        }
    }
    for (size_t j = 0; j < stv_wall_n_nodes(pair); j++)
        stv_assert_close(stv_wall_node_c(pair, j, 1), stv_wall_node_c(single, j, 0), 0.0, 0.0);
    stv_wall_free(pair);
    stv_wall_free(single);
}

/* Sheet metal has no mass: the wall answers at once, and a step in forcing leaves no ringing. */
static void test_metal_skin_is_massless(void **state)
{
    (void)state;
    struct wall_case row = {.film_in_m2k_w = 0.13, .film_out_m2k_w = 0.04};
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &row.construction));
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row.construction, 1, STV_HOUR_S, 5.0, &wall));
    stv_assert_close(stv_wall_heat_j_m2(wall, 0), 0.0, 0.0, 0.0);
    const double outside_c[2] = {17.3, 28.9};
    struct wall_fluxes fluxes;
    wall_case_step(wall, &row, outside_c, still_c, &fluxes);
    double u_w_m2k = stv_construction_u_w_m2k(&row.construction, 0.13, 0.04);
    stv_assert_close(fluxes.into_room_w_m2[0], 17.3 * u_w_m2k, 1e-9, 0.0);
    stv_assert_close(fluxes.into_room_w_m2[1], 28.9 * u_w_m2k, 1e-9, 0.0);
    stv_wall_free(wall);
}

static void test_refusals(void **state)
{
    (void)state;
    struct stv_wall *wall = NULL;
    struct stv_construction bad = wall_cases[0].construction;
    stv_assert_status(stv_wall_new(NULL, 1, 3600.0, 0.0, &wall), STV_E_ARG);
    stv_assert_status(stv_wall_new(&bad, 0, 3600.0, 0.0, &wall), STV_E_ARG);
    stv_assert_status(stv_wall_new(&bad, 1, 0.0, 0.0, &wall), STV_E_ARG);
    stv_assert_status(stv_wall_new(&bad, 1, 3600.0, NAN, &wall), STV_E_ARG);
    stv_assert_status(stv_construction_check(NULL), STV_E_ARG);
    stv_assert_close(stv_construction_u_w_m2k(NULL, 0.13, 0.04), NAN, 0.0, 0.0);
    bad.n_layers = 0;
    stv_assert_status(stv_wall_new(&bad, 1, 3600.0, 0.0, &wall), STV_E_DOMAIN);
    bad.n_layers = STV_LAYERS_MAX + 1;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad = wall_cases[0].construction;
    bad.layers[0].conductivity_w_mk = -1.8;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad.layers[0].conductivity_w_mk = 0.0;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad.layers[0].conductivity_w_mk = NAN;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad = wall_cases[0].construction;
    bad.layers[0].thickness_m = 3.5;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad = wall_cases[0].construction;
    bad.absorptance_frac = 1.2;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad.absorptance_frac = 0.6;
    bad.emittance_frac = NAN;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    stv_wall_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_heat_balance_closes),
        cmocka_unit_test(test_one_node_follows_its_closed_forms),
        cmocka_unit_test(test_lanes_do_not_mix),
        cmocka_unit_test(test_metal_skin_is_massless),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
