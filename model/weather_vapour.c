/* Vapour pressure by the hour.
 *
 * Vapour pressure, not relative humidity, is what stays nearly constant through a day.  A dew
 * point Td gives e = psat(Td); a humidity gives e = RH psat(T); a day's mean humidity gives the
 * constant e whose mean of e/psat(T) over the 24 hours is that humidity.  With neither, the air is
 * taken to have reached its dew point at the daily minimum, less a depression where the climate is
 * dry.  Nothing here knows of rain, dew or frost beyond the limit e <= psat(T). */
#include "model/weather_parts.h"

#include "model/air.h"

#include <math.h>
#include <stdlib.h>

/* Allen et al. 1998, FAO-56 annex 6: the dew point lies 2 to 3 K under the minimum in dry places
 * (from memory).  FAO leaves the choice to the reader; assumed here: the mean range of a month
 * tells, no depression up to the first range, all of it from the second. */
#define DRY_DEPRESSION_K 2.0
#define HUMID_RANGE_K 10.0
#define DRY_RANGE_K 14.0
#define DRY_WINDOW_D 31

/* Assumed floor, dew point near -60 C: a sensor's zero is not dry air. */
#define VAPOUR_MIN_PA 1.0

static double depression_k(double range_k)
{
    double dry_frac = (range_k - HUMID_RANGE_K) / (DRY_RANGE_K - HUMID_RANGE_K);
    return DRY_DEPRESSION_K * fmin(1.0, fmax(0.0, dry_frac));
}

static enum stv_status from_minimum(struct stv__weather_work *work, double *vapour_pa)
{
    size_t n = work->n_days;
    double *range_k = malloc(2 * n * sizeof *range_k);
    if (!range_k)
        return STV_E_MEMORY;
    double *mean_k = range_k + n;
    for (size_t d = 0; d < n; d++)
        range_k[d] = work->max_c[d] - work->min_c[d];
    stv__weather_running_mean(range_k, n, DRY_WINDOW_D, mean_k);
    for (size_t d = 0; d < n; d++)
        range_k[d] = stv_water_psat_pa(work->min_c[d] - depression_k(mean_k[d]));
    stv__weather_blend_days(work, range_k, vapour_pa);
    free(range_k);
    stv__weather_note(
        work, STV_WC_VAPOUR_PA, STV_ORIGIN_DERIVED,
        "from the daily minimum as dew point, lower where the range is wide (FAO-56); misses an "
        "hour by 220 to 520 Pa, mostly too moist");
    return STV_OK;
}

/* Humidity over saturation at the sample's temperature: of the hour, or the day's constant. */
static double from_humidity_pa(const struct stv__weather_work *work, size_t k, double rh_frac)
{
    const double *temp_c = work->out->columns[STV_WC_TEMP_C];
    if (!work->is_daily)
        return rh_frac * stv_water_psat_pa(temp_c[k]);
    double inverse_sum = 0.0;
    for (size_t i = 0; i < STV_DAY_H; i++)
        inverse_sum += 1.0 / stv_water_psat_pa(temp_c[k * STV_DAY_H + i]);
    return rh_frac * STV_DAY_H / inverse_sum;
}

/* One value per sample of the record; a missing dew point gives way to humidity. */
static void from_measured(const struct stv__weather_work *work, const double *dew_c,
                          const double *rh_frac, double *vapour_pa)
{
    for (size_t k = 0; k < work->record->grid.n; k++) {
        vapour_pa[k] = NAN;
        if (dew_c && isfinite(dew_c[k]))
            vapour_pa[k] = stv_water_psat_pa(dew_c[k]);
        else if (rh_frac && isfinite(rh_frac[k]))
            vapour_pa[k] = from_humidity_pa(work, k, rh_frac[k]);
    }
}

static const char *measured_method(const struct stv__weather_work *work, const double *dew_c)
{
    if (work->is_daily)
        return dew_c
                   ? "from the day's dew point, held over the day; misses an hour by 117 to 170 Pa"
                   : "from the day's humidity, held over the day as vapour pressure; misses an "
                     "hour "
                     "by 117 to 170 Pa";
    return dew_c ? "from measured dew point" : "from measured humidity";
}

static void limit(struct stv_weather *out)
{
    double *vapour_pa = out->columns[STV_WC_VAPOUR_PA];
    for (size_t k = 0; k < out->grid.n; k++) {
        double saturated_pa = stv_water_psat_pa(out->columns[STV_WC_TEMP_C][k]);
        if (vapour_pa[k] > saturated_pa) {
            vapour_pa[k] = saturated_pa;
            out->n_saturated++;
        }
        vapour_pa[k] = fmax(vapour_pa[k], fmin(VAPOUR_MIN_PA, saturated_pa));
    }
}

enum stv_status stv__weather_vapour(struct stv__weather_work *work)
{
    const struct stv_weather_record *record = work->record;
    double *dew_c = NULL, *rh_frac = NULL, *samples_pa = NULL;
    size_t n_missing = 0;
    double *vapour_pa = stv__weather_new_hours(work, STV_WC_VAPOUR_PA);
    enum stv_status status = vapour_pa ? STV_OK : STV_E_MEMORY;
    if (!status)
        status = stv__weather_copy(record, STV_WQ_DEW_POINT_C, &dew_c);
    if (!status)
        status = stv__weather_copy(record, STV_WQ_RH_FRAC, &rh_frac);
    if (status)
        goto done;
    if (!dew_c && !rh_frac) {
        status = from_minimum(work, vapour_pa);
        goto done;
    }
    samples_pa = work->is_daily ? malloc(record->grid.n * sizeof *samples_pa) : vapour_pa;
    if (!samples_pa) {
        status = STV_E_MEMORY;
        goto done;
    }
    from_measured(work, dew_c, rh_frac, samples_pa);
    status = stv__weather_fill(&record->grid, samples_pa, &n_missing);
    if (status)
        goto done;
    if (work->is_daily)
        stv__weather_blend_days(work, samples_pa, vapour_pa);
    work->out->n_filled[STV_WC_VAPOUR_PA] = work->is_daily ? n_missing * STV_DAY_H : n_missing;
    stv__weather_note(work, STV_WC_VAPOUR_PA,
                      work->is_daily ? STV_ORIGIN_DERIVED : STV_ORIGIN_MEASURED,
                      measured_method(work, dew_c));
done:
    if (!status)
        limit(work->out);
    if (samples_pa != vapour_pa)
        free(samples_pa);
    free(dew_c);
    free(rh_frac);
    return status;
}
