/* How fast a row of a gauge sheet is worked out, against the same gauge by bisection on the
 * formula as it is printed.
 *
 * Prints nanoseconds and ratios of one run; it judges nothing, since a slow machine is no fault of
 * the program.  Both ways work the same rows, hydrometer and net weight with the errors of reading,
 * temperature and weight, and must agree. */
#include "model/gauge.h"
#include "model/units.h"
#include "tests/bench/clock.h"
#include "tests/bench/printed_r22.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define N_ROWS 200000
#define READING_ERROR_FRAC 0.0015
#define TEMP_ERROR_K 0.3
#define NET_ERROR_KG 0.2

/* Both are right to the rounding of their last steps. */
#define MOST_VALUE_OFF 1e-10
#define MOST_ERROR_OFF 1e-6

/* The values of one row, in the order of enum stv_gauge_value. */
static void values_by_bisection(double shown, double reference_c, double temp_c, double net_kg,
                                double value[STV_GAUGE_N])
{
    double glass = 1.0 - STV_GLASS_PER_K * (temp_c - reference_c);
    double p = printed_mass_frac(printed_rho_kg_m3(shown, reference_c) * glass, temp_c);
    double rho = printed_rho_kg_m3(p, temp_c);
    double rho20 = printed_rho_kg_m3(p, 20.0), rho60f = printed_rho_kg_m3(p, STV_60F_C);
    double mass_kg = stv_mass_from_net_kg(net_kg, rho);
    value[STV_GAUGE_ABV20_FRAC] = p * rho20 / STV_ETHANOL_RHO20_KG_M3;
    value[STV_GAUGE_US_PROOF_ND] = 200.0 * p * rho60f / printed_rho_kg_m3(1.0, STV_60F_C);
    value[STV_GAUGE_NET_IN_AIR_KG] = net_kg;
    value[STV_GAUGE_MASS_KG] = mass_kg;
    value[STV_GAUGE_VOLUME20_L] = 1000.0 * mass_kg / rho20;
    value[STV_GAUGE_LPA_L] = 1000.0 * mass_kg * p / STV_ETHANOL_RHO20_KG_M3;
    value[STV_GAUGE_WINE_GAL] = 1000.0 * mass_kg / rho60f / STV_WINE_GALLON_L;
    value[STV_GAUGE_PROOF_GAL] = value[STV_GAUGE_WINE_GAL] * value[STV_GAUGE_US_PROOF_ND] / 100.0;
}

static void work_by_bisection(const struct stv_gauge_input *row, struct stv_gauged *out)
{
    double warmer[STV_GAUGE_N], stronger[STV_GAUGE_N];
    double shown = row->reading.mass_frac, reference_c = row->reading.reference_c;
    values_by_bisection(shown, reference_c, row->temp_c, row->net_in_air_kg, out->value);
    values_by_bisection(shown + row->reading.error_mass_frac, reference_c, row->temp_c,
                        row->net_in_air_kg, stronger);
    values_by_bisection(shown, reference_c, row->temp_c + row->temp_error_k, row->net_in_air_kg,
                        warmer);
    for (int i = 0; i < STV_GAUGE_N; i++) {
        double by_reading = stronger[i] - out->value[i], by_temp = warmer[i] - out->value[i];
        double by_net = i < STV_GAUGE_NET_IN_AIR_KG
                            ? 0.0
                            : out->value[i] * row->net_error_kg / row->net_in_air_kg;
        out->error[i] = sqrt(by_reading * by_reading + by_temp * by_temp + by_net * by_net);
    }
}

/* Cask spirit in a cool or a hot store, on a glass of either country. */
static struct stv_gauge_input row_of(int i)
{
    return (struct stv_gauge_input){
        .reading = {.instrument = STV_HYDROMETER,
                    .mass_frac = 0.30 + 0.45 * fmod(i * 0.6180339887498949, 1.0),
                    .error_mass_frac = READING_ERROR_FRAC,
                    .reference_c = i % 2 ? STV_60F_C : 20.0},
        .temp_c = 5.0 + 33.0 * fmod(i * 0.7548776662466927, 1.0),
        .temp_error_k = TEMP_ERROR_K,
        .by = STV_BY_WEIGHT,
        .net_in_air_kg = 60.0 + 150.0 * fmod(i * 0.5698402909980532, 1.0),
        .net_error_kg = NET_ERROR_KG};
}

/* Largest share by which two answers differ. */
static void compare(const struct stv_gauged *one, const struct stv_gauged *other, double *value_off,
                    double *error_off)
{
    for (int i = 0; i < STV_GAUGE_N; i++) {
        double value = fabs(one->value[i] / other->value[i] - 1.0);
        double error = fabs(one->error[i] / other->error[i] - 1.0);
        if (!(value <= *value_off))
            *value_off = value;
        if (!(error <= *error_off))
            *error_off = error;
    }
}

int main(void)
{
    struct stv_gauge_input *rows = malloc(N_ROWS * sizeof *rows);
    struct stv_gauged *ours = malloc(N_ROWS * sizeof *ours);
    double value_off = 0.0, error_off = 0.0;
    int n_refused = 0;
    if (!rows || !ours)
        return 1;
    for (int i = 0; i < N_ROWS; i++)
        rows[i] = row_of(i);
    double start_s = now_s();
    for (int i = 0; i < N_ROWS; i++)
        n_refused += stv_gauge_work(&rows[i], &ours[i]) != STV_OK;
    double ours_s = now_s() - start_s;
    start_s = now_s();
    for (int i = 0; i < N_ROWS; i++) {
        struct stv_gauged theirs;
        work_by_bisection(&rows[i], &theirs);
        compare(&ours[i], &theirs, &value_off, &error_off);
    }
    double bisection_s = now_s() - start_s;
    printf("hydrometer gauges with errors, %d rows, 5 to 38 C, %d refused\n", N_ROWS, n_refused);
    printf("  as built     %8.1f ns a row, %.2f million rows a second\n", 1e9 * ours_s / N_ROWS,
           1e-6 * N_ROWS / ours_s);
    printf("  by bisection %8.1f ns a row, %d halvings\n", 1e9 * bisection_s / N_ROWS,
           PRINTED_HALVINGS);
    printf("  ratio        %8.1f\n", bisection_s / ours_s);
    printf("  largest difference %.1e of a value, %.1e of an error\n", value_off, error_off);
    free(rows);
    free(ours);
    return n_refused == 0 && value_off <= MOST_VALUE_OFF && error_off <= MOST_ERROR_OFF ? 0 : 1;
}
