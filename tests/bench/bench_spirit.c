/* How fast the strength of a density is found, against bisection on the same formula.
 *
 * Prints nanoseconds and ratios of one run; it judges nothing, since a slow machine is no fault of
 * the program.  Both ways solve the same million densities, at as many temperatures, and must
 * agree. */
#include "model/spirit.h"
#include "tests/bench/clock.h"
#include "tests/bench/printed_r22.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define N_POINTS 1000000

static double solve(double rho_kg_m3, double temp_c)
{
    double p;
    struct stv_spirit_at at;
    if (stv_spirit_at(temp_c, &at) != STV_OK ||
        stv_spirit_at_mass_frac(&at, rho_kg_m3, &p) != STV_OK)
        return NAN;
    return p;
}

int main(void)
{
    double *rho_kg_m3 = malloc(N_POINTS * sizeof *rho_kg_m3);
    double *temp_c = malloc(N_POINTS * sizeof *temp_c);
    double *found = malloc(N_POINTS * sizeof *found);
    if (!rho_kg_m3 || !temp_c || !found)
        return 1;
    for (int i = 0; i < N_POINTS; i++) {
        double p = 0.25 + 0.70 * fmod(i * 0.6180339887498949, 1.0);
        temp_c[i] = 5.0 + 35.0 * fmod(i * 0.7548776662466927, 1.0);
        rho_kg_m3[i] = printed_rho_kg_m3(p, temp_c[i]);
    }
    double start_s = now_s();
    for (int i = 0; i < N_POINTS; i++)
        found[i] = solve(rho_kg_m3[i], temp_c[i]);
    double ours_s = now_s() - start_s, most = 0.0;
    start_s = now_s();
    for (int i = 0; i < N_POINTS; i++) {
        double off = fabs(printed_mass_frac(rho_kg_m3[i], temp_c[i]) - found[i]);
        most = off <= most ? most : off;
    }
    double bisection_s = now_s() - start_s;
    printf("strength of a density, %d of them, 5 to 40 C\n", N_POINTS);
    printf("  as built     %8.1f ns each\n", 1e9 * ours_s / N_POINTS);
    printf("  by bisection %8.1f ns each, %d halvings\n", 1e9 * bisection_s / N_POINTS,
           PRINTED_HALVINGS);
    printf("  ratio        %8.1f\n", bisection_s / ours_s);
    printf("  largest difference %.1e of mass fraction\n", most);
    free(rho_kg_m3);
    free(temp_c);
    free(found);
    return most < 1e-10 ? 0 : 1;
}
