#include "model/series.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>

int64_t stv_grid_start_s(const struct stv_grid *grid, size_t k)
{
    return grid->t0_s + (int64_t)k * grid->step_s;
}

int64_t stv_grid_local_day(const struct stv_grid *grid, size_t k, int *out_hour)
{
    int32_t second_s;
    int64_t middle_s = stv_grid_start_s(grid, k) + grid->step_s / 2;
    int64_t day_d = stv_local_day(middle_s, grid->utc_offset_min, &second_s);
    if (out_hour)
        *out_hour = second_s / STV_HOUR_S;
    return day_d;
}

int64_t stv_grid_first_day(const struct stv_grid *grid)
{
    int32_t second_s;
    if (grid->step_s > STV_HOUR_S)
        return stv_grid_local_day(grid, 0, NULL);
    return stv_local_day(stv_grid_start_s(grid, 1), grid->utc_offset_min, &second_s);
}

size_t stv_grid_index(const struct stv_grid *grid, int64_t time_s)
{
    if (time_s < grid->t0_s)
        return grid->n;
    size_t k = (size_t)((time_s - grid->t0_s) / grid->step_s);
    return k < grid->n ? k : grid->n;
}

double stv_mean_nd(const double *values, size_t n)
{
    double sum = 0.0;
    size_t count = 0;
    for (size_t i = 0; i < n; i++) {
        if (isfinite(values[i])) {
            sum += values[i];
            count++;
        }
    }
    return count ? sum / (double)count : (double)NAN;
}
