/* Long wave from the sky when it was not measured.
 *
 *     L = min(1, eps_clear . F(N)) sigma T^4
 * with the clear-sky emissivity of Martin and Berdahl and Walton's cloud factor F of the cloud
 * share N.  N is the file's, or what the day's clearness stands for: the day's global radiation
 * over its clear-sky sum (Haurwitz), put through Kasten and Czeplak backwards.  Night hours carry
 * their day's value, and a day too dark to judge the day before's.  Cloud height is not known. */
#include "model/weather_parts.h"

#include "model/air.h"

#include <math.h>
#include <stdlib.h>

#define PI 3.14159265358979323846

/* A day with less clear sun than this (a mean of 6 W/m2) says nothing about cloud.  Assumed. */
#define JUDGED_CLEAR_J_M2 5.0e5
/* Assumed when no day of the record can be judged: polar night. */
#define UNKNOWN_CLOUD_FRAC 0.5

double stv_clear_sky_emissivity_nd(double dew_point_c, double solar_hour_h, double pressure_pa)
{
    double td = dew_point_c / 100.0;
    return 0.711 + 0.56 * td + 0.73 * td * td + 0.013 * cos(2.0 * PI * solar_hour_h / STV_DAY_H) +
           0.00012 * (pressure_pa / 100.0 - 1000.0);
}

double stv_cloud_sky_factor_nd(double cloud_frac)
{
    if (!(cloud_frac >= 0.0 && cloud_frac <= 1.0))
        return NAN;
    double tenths = 10.0 * cloud_frac;
    return 1.0 + tenths * (0.0224 + tenths * (-0.0035 + tenths * 0.00028));
}

/* Cloud of each day from its clearness; NaN where it cannot be judged. */
static void judge_days(const struct stv__weather_work *work, double *cloud_frac, double *clear_j_m2)
{
    const double *ghi_w_m2 = work->out->columns[STV_WC_GHI_W_M2];
    for (size_t d = 0; d < work->n_days; d++)
        cloud_frac[d] = clear_j_m2[d] = 0.0;
    for (size_t k = 0; k < work->out->grid.n; k++) {
        size_t slot = k + work->first_hour, day = stv__hour_day(work, k);
        clear_j_m2[day] += STV_HOUR_S * work->sunlit_frac[slot] *
                           stv_clear_sky_ghi_w_m2(work->suns[slot].zenith_deg);
        cloud_frac[day] += STV_HOUR_S * ghi_w_m2[k];
    }
    for (size_t d = 0; d < work->n_days; d++) {
        bool is_judged = clear_j_m2[d] > JUDGED_CLEAR_J_M2;
        double clearness_nd = is_judged ? cloud_frac[d] / clear_j_m2[d] : (double)NAN;
        cloud_frac[d] = stv_cloud_from_clearness_frac(clearness_nd);
    }
}

/* A day that cannot be judged carries the day before; days before the first take the first. */
static void carry_days(double *cloud_frac, size_t n)
{
    double carried = UNKNOWN_CLOUD_FRAC;
    for (size_t d = n; d-- > 0;)
        carried = isnan(cloud_frac[d]) ? carried : cloud_frac[d];
    for (size_t d = 0; d < n; d++) {
        carried = isnan(cloud_frac[d]) ? carried : cloud_frac[d];
        cloud_frac[d] = carried;
    }
}

/* Cloud of each output hour: the file's, else the day's by its clearness. */
static enum stv_status cloud_hours(const struct stv__weather_work *work, double **out,
                                   bool *out_from_file)
{
    size_t n_missing = 0, n_days = work->n_days;
    enum stv_status status = stv__weather_held(work, STV_WQ_CLOUD_FRAC, out, &n_missing);
    *out_from_file = *out != NULL;
    if (status || *out)
        return status;
    double *days = malloc(2 * n_days * sizeof *days);
    *out = malloc(work->out->grid.n * sizeof **out);
    if (days && *out) {
        judge_days(work, days, days + n_days);
        carry_days(days, n_days);
        for (size_t k = 0; k < work->out->grid.n; k++)
            (*out)[k] = days[stv__hour_day(work, k)];
    } else {
        status = STV_E_MEMORY;
    }
    free(days);
    return status;
}

static double sky_w_m2(const struct stv__weather_work *work, size_t k, double cloud_frac)
{
    double *const *columns = work->out->columns;
    size_t slot = k + work->first_hour;
    const struct stv_sun_day *day = &work->sun_days[slot / STV_DAY_H];
    double solar_hour_h =
        (stv__slot_middle_s(work, slot % STV_DAY_H) - day->noon_s) / STV_HOUR_S + STV_DAY_H / 2.0;
    double clear_nd = stv_clear_sky_emissivity_nd(stv_dew_point_c(columns[STV_WC_VAPOUR_PA][k]),
                                                  solar_hour_h, columns[STV_WC_PRESSURE_PA][k]);
    double factor_nd = stv_cloud_sky_factor_nd(fmin(1.0, fmax(0.0, cloud_frac)));
    double temp_k = stv_k_from_c(columns[STV_WC_TEMP_C][k]);
    return fmin(1.0, clear_nd * factor_nd) * STV_STEFAN_W_M2K4 * temp_k * temp_k * temp_k * temp_k;
}

/* Measured hours over the derived ones. */
static void take_hours(struct stv_weather *out, const double *measured_w_m2)
{
    for (size_t k = 0; k < out->grid.n; k++) {
        if (isfinite(measured_w_m2[k]))
            out->columns[STV_WC_SKY_W_M2][k] = measured_w_m2[k];
        else
            out->n_filled[STV_WC_SKY_W_M2]++;
    }
}

static enum stv_status derive(struct stv__weather_work *work)
{
    bool from_file = false;
    double *cloud_frac = NULL, *hours_w_m2 = stv__weather_new_hours(work, STV_WC_SKY_W_M2);
    enum stv_status status = hours_w_m2 ? STV_OK : STV_E_MEMORY;
    if (!status)
        status = cloud_hours(work, &cloud_frac, &from_file);
    for (size_t k = 0; !status && k < work->out->grid.n; k++)
        hours_w_m2[k] = sky_w_m2(work, k, cloud_frac[k]);
    free(cloud_frac);
    stv__weather_note(work, STV_WC_SKY_W_M2, STV_ORIGIN_DERIVED,
                      from_file ? "from dew point and cloud (Martin-Berdahl); misses an hour by "
                                  "17 to 35 W/m2"
                                : "from dew point and the day's clearness (Martin-Berdahl); "
                                  "misses an hour by 24 to 40 W/m2");
    return status;
}

enum stv_status stv__weather_sky(struct stv__weather_work *work)
{
    double *measured_w_m2 = NULL;
    enum stv_status status;
    if (work->is_daily) {
        status = stv__weather_held(work, STV_WQ_SKY_W_M2, &measured_w_m2,
                                   &work->out->n_filled[STV_WC_SKY_W_M2]);
        if (!status && measured_w_m2) {
            work->out->columns[STV_WC_SKY_W_M2] = measured_w_m2;
            stv__weather_note(work, STV_WC_SKY_W_M2, STV_ORIGIN_DERIVED,
                              "the day's measured mean, held over the day");
            return STV_OK;
        }
        return status ? status : derive(work);
    }
    status = derive(work);
    if (!status)
        status = stv__weather_copy(work->record, STV_WQ_SKY_W_M2, &measured_w_m2);
    if (!status && measured_w_m2) {
        take_hours(work->out, measured_w_m2);
        stv__weather_note(work, STV_WC_SKY_W_M2, STV_ORIGIN_MEASURED, "measured");
    }
    free(measured_w_m2);
    return status;
}
