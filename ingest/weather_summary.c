#include "ingest/weather_summary.h"

#include <math.h>

struct stv_weather_summary stv_weather_summary_of(const struct stv_weather_record *record,
                                                  enum stv_weather_quantity quantity)
{
    struct stv_weather_summary summary = {.least = HUGE_VAL, .most = -HUGE_VAL};
    const double *values = record->columns[quantity];
    for (size_t k = 0; values && k < record->grid.n; k++) {
        if (!isfinite(values[k]))
            continue;
        summary.n++;
        summary.mean += values[k];
        summary.least = fmin(summary.least, values[k]);
        summary.most = fmax(summary.most, values[k]);
    }
    summary.mean /= (double)(summary.n ? summary.n : 1);
    summary.known_s = (int64_t)summary.n * record->grid.step_s;
    return summary;
}
