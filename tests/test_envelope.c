/* Walls against the exact solutions of the heat equation. */
#include "tests/check.h"

#include "model/constructions.h"
#include "model/envelope.h"
#include "model/units.h"

#include <complex.h>

/* The standard I is a complex float. */
#define IMAGINARY ((double complex)I)

static const double pi_nd = 3.14159265358979323846;

struct wave { /* amplitude W/m2K and lag h of the flux that passes inside held at 0 C */
    double amplitude_w_m2k, lag_h;
};

struct row {
    const char *what;
    struct stv_construction construction; /* outside first */
    double film_in_m2k_w, film_out_m2k_w;
    double u_w_m2k, transmitted_w_m2k, lag_h;
};

/* U, periodic thermal transmittance and lag for 24 h.  The typed figures are exact solutions of the
 * matrix of ISO 13786:2017 (computed independently of this code, to the digits shown). */
static const struct row rows[] = {
    {"200 mm concrete",
     {.layers = {{1.8, 0.2, 2400, 1000, 0}}, .n_layers = 1},
     0.13,
     0.04,
     3.5573,
     1.8271,
     5.676},
    {"insulated concrete",
     {.layers = {{0.04, 0.1, 30, 1400, 0}, {1.8, 0.2, 2400, 1000, 0}}, .n_layers = 2},
     0.13,
     0.04,
     0.3596,
     0.0607,
     8.002},
    {"600 mm rubble",
     {.layers = {{1.7, 0.6, 2200, 900, 0}}, .n_layers = 1},
     0.13,
     0.04,
     1.9123,
     0.1476,
     15.087},
    {"80 mm foam",
     {.layers = {{0.025, 0.08, 35, 1400, 0}}, .n_layers = 1},
     0.13,
     0.04,
     0.2967,
     0.2951,
     0.640},
    {"slate on boards",
     {.layers = {{2.0, 0.01, 2700, 800, 0}, {0.13, 0.025, 500, 1600, 0}}, .n_layers = 2},
     0.13,
     0.04,
     2.7225,
     2.7040,
     0.660},
    {"light test wall",
     {.layers = {{0.14, 0.009, 530, 900, 0}, {0.04, 0.066, 12, 840, 0}, {0.16, 0.012, 950, 840, 0}},
      .n_layers = 3},
     0.1206,
     0.0341,
     0.5144,
     0.5119,
     0.529},
    {"heavy test wall",
     {.layers = {{0.14, 0.009, 530, 900, 0},
                 {0.04, 0.0615, 10, 1400, 0},
                 {0.51, 0.1, 1400, 1000, 0}},
      .n_layers = 3},
     0.1206,
     0.0341,
     0.5121,
     0.2578,
     5.165},
};
#define N_ROWS (sizeof rows / sizeof rows[0])

/* Half a unit of the last printed digit, for the typed figures. */
#define TYPED_U 0.00005
#define TYPED_TRANSMITTED 0.00005
#define TYPED_LAG_H 0.0005

static void multiply(double complex z[2][2], const double complex by[2][2])
{
    for (int i = 0; i < 2; i++) {
        double complex a = z[i][0], b = z[i][1];
        z[i][0] = a * by[0][0] + b * by[1][0];
        z[i][1] = a * by[0][1] + b * by[1][1];
    }
}

static void multiply_film(double complex z[2][2], double film_m2k_w)
{
    const double complex film[2][2] = {{1.0, -film_m2k_w}, {0.0, 1.0}};
    multiply(z, film);
}

/* ISO 13786: Z = Z_se Z_n .. Z_1 Z_si, Y_ie = -1/Z12. */
static struct wave exact_wave(const struct row *row)
{
    double complex z[2][2] = {{1.0, 0.0}, {0.0, 1.0}};
    multiply_film(z, row->film_out_m2k_w);
    for (size_t i = 0; i < row->construction.n_layers; i++) {
        const struct stv_layer *layer = &row->construction.layers[i];
        double depth_m = sqrt(layer->conductivity_w_mk * STV_DAY_S /
                              (pi_nd * layer->density_kg_m3 * layer->cp_j_kgk));
        double complex g = (1.0 + IMAGINARY) / depth_m, q = g * layer->thickness_m;
        double complex kg = layer->conductivity_w_mk * g;
        const double complex m[2][2] = {{ccosh(q), -csinh(q) / kg}, {-kg * csinh(q), ccosh(q)}};
        multiply(z, m);
    }
    multiply_film(z, row->film_in_m2k_w);
    double complex y = -1.0 / z[0][1];
    double phase_rad = carg(y);
    if (phase_rad > 0.0)
        phase_rad -= 2.0 * pi_nd;
    return (struct wave){cabs(y), -phase_rad * STV_DAY_H / (2.0 * pi_nd)};
}

/* One step with the inside air held at 0 C: returns the two stage fluxes into the room, W/m2. */
static void step_wall(struct stv_wall *wall, const struct row *row, const double outside_c[2],
                      double out_flux_w_m2[2])
{
    double outside_w_m2k = 1.0 / row->film_out_m2k_w, film = 1.0 / row->film_in_m2k_w;
    stv_wall_begin_step(wall, &outside_w_m2k);
    for (int stage = 0; stage < STV_STAGES; stage++) {
        double g, s;
        stv_wall_eliminate(wall, stage, &outside_c[stage], &g, &s);
        double surface_c = s / (g + film);
        stv_wall_substitute(wall, &surface_c);
        out_flux_w_m2[stage] = film * surface_c;
    }
}

/* Amplitude and lag from the last of n_days, by the first Fourier coefficient of the fluxes at the
 * ends of the steps. */
static struct wave simulated_wave(const struct row *row, double step_s, int n_days)
{
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row->construction, 1, step_s, 0.0, &wall));
    int per_day = (int)(STV_DAY_S / step_s + 0.5);
    double complex sum = 0.0;
    for (int i = 0; i < n_days * per_day; i++) {
        double outside_c[2], flux_w_m2[2];
        for (int stage = 0; stage < STV_STAGES; stage++)
            outside_c[stage] =
                cos(2.0 * pi_nd * (i + stv_stage_time_frac(stage)) * step_s / STV_DAY_S);
        step_wall(wall, row, outside_c, flux_w_m2);
        if (i >= (n_days - 1) * per_day)
            sum +=
                flux_w_m2[1] * cexp(-2.0 * pi_nd * IMAGINARY * (double)(i + 1) / (double)per_day);
    }
    stv_wall_free(wall);
    sum *= 2.0 / per_day;
    double phase_rad = carg(sum);
    if (phase_rad > 0.0)
        phase_rad -= 2.0 * pi_nd;
    return (struct wave){cabs(sum), -phase_rad * STV_DAY_H / (2.0 * pi_nd)};
}

static void test_matrix_gives_the_typed_rows(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS; i++) {
        struct wave exact = exact_wave(&rows[i]);
        stv_assert_close(exact.amplitude_w_m2k, rows[i].transmitted_w_m2k, 0.0, TYPED_TRANSMITTED);
        stv_assert_close(exact.lag_h, rows[i].lag_h, 0.0, TYPED_LAG_H);
        stv_assert_close(stv_construction_u_w_m2k(&rows[i].construction, rows[i].film_in_m2k_w,
                                                  rows[i].film_out_m2k_w),
                         rows[i].u_w_m2k, 0.0, TYPED_U);
    }
}

static void test_daily_wave_at_five_minutes(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS; i++) {
        struct wave got = simulated_wave(&rows[i], 300.0, 20);
        struct wave exact = exact_wave(&rows[i]);
        stv_assert_close(got.amplitude_w_m2k, exact.amplitude_w_m2k, 0.01, 0.0);
        stv_assert_close(got.lag_h, exact.lag_h, 0.0, 0.1);
    }
}

static void test_daily_wave_at_the_production_step(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS; i++) {
        struct wave got = simulated_wave(&rows[i], STV_HOUR_S, 20);
        struct wave exact = exact_wave(&rows[i]);
        stv_assert_close(got.amplitude_w_m2k, exact.amplitude_w_m2k, 0.03, 0.0);
        stv_assert_close(got.lag_h, exact.lag_h, 0.0, 0.3);
    }
}

static void test_steady_flux_is_u(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS; i++) {
        struct stv_wall *wall;
        stv_assert_ok(stv_wall_new(&rows[i].construction, 1, STV_HOUR_S, 3.7, &wall));
        const double outside_c[2] = {23.85, 23.85};
        double flux_w_m2[2];
        for (int step = 0; step < 24 * 60; step++)
            step_wall(wall, &rows[i], outside_c, flux_w_m2);
        stv_assert_close(flux_w_m2[1],
                         23.85 * stv_construction_u_w_m2k(&rows[i].construction,
                                                          rows[i].film_in_m2k_w,
                                                          rows[i].film_out_m2k_w),
                         1e-9, 0.0);
        stv_wall_free(wall);
    }
}

/* Heat held at the end = heat at the start + what came in by both faces, booked by stage. */
static void test_heat_balance_closes(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_ROWS; i++) {
        struct stv_wall *wall;
        stv_assert_ok(stv_wall_new(&rows[i].construction, 1, STV_HOUR_S, 11.3, &wall));
        double net_j_m2 = 0.0, gross_j_m2 = 0.0, start_j_m2 = stv_wall_heat_j_m2(wall, 0);
        double outside_w_m2k = 1.0 / rows[i].film_out_m2k_w, film = 1.0 / rows[i].film_in_m2k_w;
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
static struct row one_node(double tau_h)
{
    double film_w_m2k = 8.25;
    double thickness_m = 0.1, density_kg_m3 = 2000.0;
    double cp_j_kgk = film_w_m2k * tau_h * STV_HOUR_S / (thickness_m * density_kg_m3);
    return (struct row){
        .construction = {.layers = {{1e5, thickness_m, density_kg_m3, cp_j_kgk, 0}}, .n_layers = 1},
        .film_in_m2k_w = 1e9, /* nearly adiabatic inside */
        .film_out_m2k_w = 1.0 / film_w_m2k};
}

/* Closed forms of one node: gain 1/sqrt(1 + (2 pi tau/P)^2), lag P/(2 pi) atan(2 pi tau/P). */
static void test_one_node_follows_its_closed_forms(void **state)
{
    (void)state;
    const double known[][3] = {{6.0, 0.5370, 3.83}, {30.0, 0.1263, 5.52}}; /* tau h, gain, lag h */
    for (int i = 0; i < 2; i++) {
        struct row row = one_node(known[i][0]);
        struct wave wave = simulated_wave(&row, 300.0, 60);
        stv_assert_close(wave.amplitude_w_m2k * row.film_in_m2k_w, known[i][1], 1e-3, 0.0);
        stv_assert_close(wave.lag_h, known[i][2], 0.0, 0.01);
    }
    /* A step: T = T1 + (T0 - T1) exp(-t/tau). */
    struct row row = one_node(6.0);
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row.construction, 1, STV_HOUR_S, 4.2, &wall));
    const double outside_c[2] = {19.6, 19.6};
    double flux_w_m2[2];
    for (int step = 0; step < 9; step++)
        step_wall(wall, &row, outside_c, flux_w_m2);
    stv_assert_close(stv_wall_outside_surface_c(wall)[0], 19.6 - 15.4 * exp(-9.0 / 6.0), 0.0, 0.01);
    stv_wall_free(wall);
}

/* Semi-infinite moist soil: amplitude exp(-x/d), lag x/d rad, d = 0.1436 m for a day. */
static void test_wave_sinks_into_soil(void **state)
{
    (void)state;
    struct row row = {.construction = {.layers = {{1.5, 2.0, 1800, 1111, 0}}, .n_layers = 1},
                      .film_in_m2k_w = 0.13,
                      .film_out_m2k_w = 1e-7};
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row.construction, 1, 300.0, 0.0, &wall));
    size_t node_idx = 8;
    double depth_m = 2.0 * (double)node_idx / (double)(stv_wall_n_nodes(wall) - 1);
    double complex sum = 0.0;
    int per_day = 288, n_days = 30;
    for (int i = 0; i < n_days * per_day; i++) {
        double outside_c[2], flux_w_m2[2];
        for (int stage = 0; stage < STV_STAGES; stage++)
            outside_c[stage] = cos(2.0 * pi_nd * (i + stv_stage_time_frac(stage)) / per_day);
        step_wall(wall, &row, outside_c, flux_w_m2);
        if (i >= (n_days - 1) * per_day)
            sum += stv_wall_node_c(wall, node_idx, 0) *
                   cexp(-2.0 * pi_nd * IMAGINARY * (double)(i + 1) / (double)per_day) * 2.0 /
                   per_day;
    }
    stv_wall_free(wall);
    double wave_depth_m = 0.1436;
    stv_assert_close(cabs(sum), exp(-depth_m / wave_depth_m), 0.01, 0.0);
    stv_assert_close(-carg(sum) * STV_DAY_H / (2.0 * pi_nd), 26.6 * depth_m, 0.0, 0.03);
}

/* Lanes are strangers: two walls side by side behave as two walls apart. */
static void test_lanes_do_not_mix(void **state)
{
    (void)state;
    struct stv_wall *pair, *single;
    stv_assert_ok(stv_wall_new(&rows[2].construction, 2, STV_HOUR_S, 9.1, &pair));
    stv_assert_ok(stv_wall_new(&rows[2].construction, 1, STV_HOUR_S, 9.1, &single));
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
    struct row row = {.film_in_m2k_w = 0.13, .film_out_m2k_w = 0.04};
    stv_assert_ok(stv_construction_from_name("bare steel sheet", &row.construction));
    struct stv_wall *wall;
    stv_assert_ok(stv_wall_new(&row.construction, 1, STV_HOUR_S, 5.0, &wall));
    stv_assert_close(stv_wall_heat_j_m2(wall, 0), 0.0, 0.0, 0.0);
    const double outside_c[2] = {17.3, 28.9};
    double flux_w_m2[2];
    step_wall(wall, &row, outside_c, flux_w_m2);
    double u_w_m2k = stv_construction_u_w_m2k(&row.construction, 0.13, 0.04);
    stv_assert_close(flux_w_m2[0], 17.3 * u_w_m2k, 1e-9, 0.0);
    stv_assert_close(flux_w_m2[1], 28.9 * u_w_m2k, 1e-9, 0.0);
    stv_wall_free(wall);
}

static void test_refusals(void **state)
{
    (void)state;
    struct stv_wall *wall = NULL;
    struct stv_construction bad = rows[0].construction;
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
    bad = rows[0].construction;
    bad.layers[0].conductivity_w_mk = -1.8;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad.layers[0].conductivity_w_mk = 0.0;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad.layers[0].conductivity_w_mk = NAN;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad = rows[0].construction;
    bad.layers[0].thickness_m = 3.5;
    stv_assert_status(stv_construction_check(&bad), STV_E_DOMAIN);
    bad = rows[0].construction;
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
        cmocka_unit_test(test_matrix_gives_the_typed_rows),
        cmocka_unit_test(test_daily_wave_at_five_minutes),
        cmocka_unit_test(test_daily_wave_at_the_production_step),
        cmocka_unit_test(test_steady_flux_is_u),
        cmocka_unit_test(test_heat_balance_closes),
        cmocka_unit_test(test_one_node_follows_its_closed_forms),
        cmocka_unit_test(test_wave_sinks_into_soil),
        cmocka_unit_test(test_lanes_do_not_mix),
        cmocka_unit_test(test_metal_skin_is_massless),
        cmocka_unit_test(test_refusals),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
