/* The density formula of R 22 as it is printed, and its inverse by bisection: what the benches
 * measure against. */
#ifndef STV_TESTS_BENCH_PRINTED_R22_H
#define STV_TESTS_BENCH_PRINTED_R22_H

#include "model/tables/oiml_r22.h"

#define PRINTED_HALVINGS 53 /* until a double has no more bits */

static inline double printed_sum(const double *coefficient, int n, double x)
{
    double sum = 0.0;
    for (int k = n - 1; k >= 0; k--)
        sum = sum * x + coefficient[k];
    return sum;
}

static inline double printed_rho_kg_m3(double p, double temp_c)
{
    double t = temp_c - R22_REFERENCE_C;
    double rho = printed_sum(r22_a_kg_m3, R22_N_A, p) + t * printed_sum(r22_b_kg_m3, R22_N_B, t);
    rho += t * p * printed_sum(r22_c1_kg_m3, 11, p);
    rho += t * t * p * printed_sum(r22_c2_kg_m3, 10, p);
    rho += t * t * t * p * printed_sum(r22_c3_kg_m3, 9, p);
    rho += t * t * t * t * p * printed_sum(r22_c4_kg_m3, 4, p);
    return rho + t * t * t * t * t * p * printed_sum(r22_c5_kg_m3, 2, p);
}

static inline double printed_mass_frac(double rho_kg_m3, double temp_c)
{
    double low = 0.0, high = 1.0;
    for (int i = 0; i < PRINTED_HALVINGS; i++) {
        double middle = 0.5 * (low + high);
        if (printed_rho_kg_m3(middle, temp_c) > rho_kg_m3)
            low = middle;
        else
            high = middle;
    }
    return 0.5 * (low + high);
}

#endif
