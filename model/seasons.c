/* The store's own seasons: the warmest and the coldest 13 weeks of its mean year. */
#include "model/calendar.h"
#include "model/climate_metrics.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>

#define MEAN_YEAR_D 365
#define SEASON_D 91       /* 13 weeks */
#define UNKNOWN_MOST_D 30 /* a longer hole could hold the turn of a season; judgement */

int stv_season_day(int64_t day_d)
{
    return stv_day_of_common_year(day_d);
}

/* Days that no year has take a straight line between their neighbours, the year being a ring; only
 * to find where the seasons lie.  False when a run of them is too long. */
static bool bridge_days(double *mean)
{
    int known = 0;
    while (known < MEAN_YEAR_D && isnan(mean[known]))
        known++;
    if (known == MEAN_YEAR_D)
        return false;
    int last = known;
    for (int i = known + 1; i <= known + MEAN_YEAR_D; i++) {
        double value = mean[i % MEAN_YEAR_D], from = mean[last % MEAN_YEAR_D];
        if (isnan(value))
            continue;
        if (i - last - 1 > UNKNOWN_MOST_D)
            return false;
        for (int d = last + 1; d < i; d++)
            mean[d % MEAN_YEAR_D] = from + (value - from) * (d - last) / (i - last);
        last = i;
    }
    return true;
}

static enum stv_status mean_year(const struct stv_grid *grid, const double *values, double *out)
{
    double sum[MEAN_YEAR_D] = {0.0};
    size_t count[MEAN_YEAR_D] = {0};
    for (size_t k = 0; k < grid->n; k++) {
        if (!isfinite(values[k]))
            continue;
        int doy = stv_season_day(stv_grid_local_day(grid, k, NULL));
        sum[doy] += values[k];
        count[doy]++;
    }
    for (int d = 0; d < MEAN_YEAR_D; d++)
        out[d] = count[d] ? sum[d] / (double)count[d] : (double)NAN;
    return bridge_days(out) ? STV_OK : STV_E_NO_DATA;
}

static struct stv_season_span span_from(int from_doy)
{
    return (struct stv_season_span){from_doy, (from_doy + SEASON_D - 1) % MEAN_YEAR_D};
}

enum stv_status stv_seasons_find(const struct stv_grid *grid, const double *air_c,
                                 struct stv_season_span out[STV_SEASON_N])
{
    double mean[MEAN_YEAR_D];
    enum stv_status status = mean_year(grid, air_c, mean);
    if (status != STV_OK)
        return status;
    double sum = 0.0;
    for (int d = 0; d < SEASON_D; d++)
        sum += mean[d];
    double warmest = sum;
    double coldest = sum;
    int warm_from = 0;
    int cold_from = 0;
    for (int from = 1; from < MEAN_YEAR_D; from++) {
        sum += mean[(from + SEASON_D - 1) % MEAN_YEAR_D] - mean[from - 1];
        if (sum > warmest) {
            warmest = sum;
            warm_from = from;
        }
        if (sum < coldest) {
            coldest = sum;
            cold_from = from;
        }
    }
    out[STV_SEASON_WARM] = span_from(warm_from);
    out[STV_SEASON_COLD] = span_from(cold_from);
    out[STV_SEASON_YEAR] = (struct stv_season_span){0, MEAN_YEAR_D - 1};
    return STV_OK;
}

int stv_season_holds(const struct stv_season_span *span, int doy)
{
    if (span->from_doy <= span->to_doy)
        return doy >= span->from_doy && doy <= span->to_doy;
    return doy >= span->from_doy || doy <= span->to_doy;
}

struct stv_season_span stv_season_of_months(const int holds[STV_MONTHS])
{
    static const int first_doy[STV_MONTHS + 1] = {0,   31,  59,  90,  120, 151, 181,
                                                  212, 243, 273, 304, 334, 365};
    struct stv_season_span span = {0, MEAN_YEAR_D - 1};
    for (int m = 0; m < STV_MONTHS; m++) {
        if (!holds[m])
            continue;
        if (!holds[(m + STV_MONTHS - 1) % STV_MONTHS])
            span.from_doy = first_doy[m];
        if (!holds[(m + 1) % STV_MONTHS])
            span.to_doy = first_doy[m + 1] - 1;
    }
    return span;
}
