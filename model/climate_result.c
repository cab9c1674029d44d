/* Small duties of the `climate` result. */
#include "model/climate_metrics.h"

#include <math.h>
#include <stdlib.h>

void stv_climate_result_free(struct stv_climate_result *result)
{
    for (size_t w = 0; w < result->n_warehouses; w++) {
        free(result->warehouses[w].tiers);
        free(result->warehouses[w].bays);
    }
    free(result->warehouses);
    *result = (struct stv_climate_result){0};
}

double stv_tier_gradient_k_m(const double *values_c, size_t n_tiers, double tier_height_m)
{
    double mean_tier = 0.5 * (double)(n_tiers - 1);
    double mean_c = stv_mean_nd(values_c, n_tiers);
    double cross = 0.0;
    double square = 0.0;
    if (n_tiers < 2)
        return NAN;
    for (size_t t = 0; t < n_tiers; t++) {
        double off = ((double)t - mean_tier) * tier_height_m;
        cross += off * (values_c[t] - mean_c);
        square += off * off;
    }
    return cross / square;
}
