/* Sums over the hours of one season.  Cycles are counted in each unbroken run apart, so that the
 * jump from one year's season to the next is no cycle; swings are taken on local days. */
#include "model/season_sums.h"

#include "model/air.h"
#include "model/cycles.h"
#include "model/esters.h"
#include "model/evaporation.h"
#include "model/extraction.h"
#include "model/quantiles.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define LEAST_DAY_H 20 /* hours a day needs to have a swing */
/* Range of the activities: hours beyond it are held at its end for the rates, and counted. */
#define LEAST_LIQUID_C (-15.0)
#define MOST_LIQUID_C 50.0

static void swing_close_day(struct stv__swing *swing)
{
    if (swing->n_hours >= LEAST_DAY_H)
        swing->sum_k += swing->high_c - swing->low_c;
    swing->n_hours = 0;
}

static void swing_add(struct stv__swing *swing, double value_c)
{
    swing->low_c = swing->n_hours ? fmin(swing->low_c, value_c) : value_c;
    swing->high_c = swing->n_hours ? fmax(swing->high_c, value_c) : value_c;
    swing->n_hours++;
}

static void close_day(struct stv__season_sums *sums)
{
    if (sums->air_swing.n_hours >= LEAST_DAY_H)
        sums->n_days++;
    swing_close_day(&sums->air_swing);
    swing_close_day(&sums->liquid_swing);
}

static enum stv_status close_run(struct stv__season_sums *sums)
{
    const struct stv_cycle_bins bins = {STV_CYCLE_LEAST_K, STV_CYCLE_STEP_K, STV_CYCLE_BINS};
    size_t n = sums->n - sums->run_start;
    enum stv_status status =
        stv_cycles_add_bins_nd(sums->liquid_c + sums->run_start, n, &bins, sums->liquid_cycles_nd);
    if (status == STV_OK)
        status =
            stv_cycles_add_bins_nd(sums->air_c + sums->run_start, n, &bins, sums->air_cycles_nd);
    sums->run_start = sums->n;
    return status;
}

enum stv_status stv__hour_rates(const struct stv__standard_cask *cask,
                                const struct stv_metric_options *options, struct stv__hour *hour)
{
    const struct stv_cask_numbers *numbers = &options->numbers;
    const struct stv_cask_wood wood = {&cask->geometry, &options->params, numbers};
    struct stv_evaporation rates;
    double held_c = fmin(MOST_LIQUID_C, fmax(LEAST_LIQUID_C, hour->liquid_c));
    enum stv_status status = stv_evaporation_rates(&wood, cask->ethanol_kg, cask->water_kg, held_c,
                                                   hour->air_c, hour->rh_frac, &rates);
    if (status != STV_OK)
        return status;
    hour->is_held = held_c != hour->liquid_c;
    hour->psat_pa = stv_water_psat_pa(hour->air_c);
    hour->kinetic_nd =
        exp(-numbers->kinetic_mean_ea_j_mol / (STV_GAS_J_MOLK * stv_k_from_c(hour->liquid_c)));
    hour->extraction_nd = stv_arrhenius20_nd(numbers->oak_phenolics_fast_ea_j_mol, hour->liquid_c);
    hour->fruit_per_y = stv_ester_rate25_per_y(&options->params, numbers) *
                        stv_arrhenius25_nd(options->params.ester_ea_j_mol, hour->liquid_c);
    hour->ethanol_kg_s = rates.air_ethanol_kg_s + rates.joint_ethanol_kg_s;
    hour->water_kg_s = rates.air_water_kg_s + rates.joint_water_kg_s;
    return STV_OK;
}

enum stv_status stv__season_add(const struct stv_cask_numbers *numbers,
                                const struct stv__hour *hour, struct stv__season_sums *sums)
{
    enum stv_status status = STV_OK;
    if (sums->n > 0 && hour->day_d != sums->day_d)
        close_day(sums);
    if (sums->n > 0 && hour->k != sums->last_k + 1)
        status = close_run(sums);
    sums->n_held += hour->is_held;
    sums->rh_frac += hour->rh_frac;
    sums->rh_psat_pa += hour->rh_frac * hour->psat_pa;
    sums->psat_pa += hour->psat_pa;
    sums->kinetic_nd += hour->kinetic_nd;
    sums->extraction_nd += hour->extraction_nd;
    sums->fruit_per_y += hour->fruit_per_y;
    double degree_h = fmax(0.0, hour->liquid_c - numbers->degree_day_base_c);
    sums->degree_h += degree_h;
    if (!hour->is_filled)
        sums->unfilled_degree_h += degree_h;
    sums->cool_h += hour->liquid_c <= numbers->cool_below_c;
    sums->ethanol_kg_s += hour->ethanol_kg_s;
    sums->water_kg_s += hour->water_kg_s;
    swing_add(&sums->air_swing, hour->air_c);
    swing_add(&sums->liquid_swing, hour->liquid_c);
    sums->air_c[sums->n] = hour->air_c;
    sums->liquid_c[sums->n] = hour->liquid_c;
    sums->n++;
    sums->last_k = hour->k;
    sums->day_d = hour->day_d;
    return status;
}

static void histogram_of(const double *values, size_t n, double *out_frac)
{
    for (size_t b = 0; b < STV_HISTOGRAM_BINS; b++)
        out_frac[b] = 0.0;
    for (size_t i = 0; i < n; i++) {
        double place = (values[i] - STV_HISTOGRAM_FROM_C) / STV_HISTOGRAM_STEP_K;
        if (place >= 0.0 && place < STV_HISTOGRAM_BINS)
            out_frac[(size_t)place] += 1.0 / (double)n;
    }
}

static void quantiles_of(struct stv__season_sums *sums, struct stv_season_metrics *out)
{
    size_t n = sums->n;
    stv_sort_nd(sums->air_c, n);
    stv_sort_nd(sums->liquid_c, n);
    out->air_p05_c = stv_quantile_nd(sums->air_c, n, 0.05);
    out->air_p95_c = stv_quantile_nd(sums->air_c, n, 0.95);
    out->air_min_c = sums->air_c[0];
    out->air_max_c = sums->air_c[n - 1];
    out->liquid_p05_c = stv_quantile_nd(sums->liquid_c, n, 0.05);
    out->liquid_p25_c = stv_quantile_nd(sums->liquid_c, n, 0.25);
    out->liquid_p50_c = stv_quantile_nd(sums->liquid_c, n, 0.50);
    out->liquid_p75_c = stv_quantile_nd(sums->liquid_c, n, 0.75);
    out->liquid_p95_c = stv_quantile_nd(sums->liquid_c, n, 0.95);
    out->liquid_min_c = sums->liquid_c[0];
    out->liquid_max_c = sums->liquid_c[n - 1];
}

/* Change of volume and strength when a small time of loss is taken off the standard content. */
static void rates_of(const struct stv__standard_cask *cask, double ethanol_kg_y, double water_kg_y,
                     struct stv_season_metrics *out)
{
    const double slice_y = 1e-3; /* small against a year's loss, large against rounding */
    struct stv_spirit_amount before = stv_spirit_amount(cask->ethanol_kg, cask->water_kg);
    struct stv_spirit_amount after = stv_spirit_amount(cask->ethanol_kg - slice_y * ethanol_kg_y,
                                                       cask->water_kg - slice_y * water_kg_y);
    out->ethanol_lost_kg_per_y = ethanol_kg_y;
    out->water_lost_kg_per_y = water_kg_y;
    out->evaporation_frac_per_y =
        (before.volume20_l - after.volume20_l) / before.volume20_l / slice_y;
    out->abv20_drift_frac_per_y = (after.abv20_frac - before.abv20_frac) / slice_y;
}

static void cycles_of(const struct stv__season_sums *sums, double n_years,
                      struct stv_season_metrics *out)
{
    double sum_nd = 0.0;
    for (size_t b = 0; b < STV_CYCLE_BINS; b++) {
        sum_nd += sums->liquid_cycles_nd[b];
        out->liquid_cycles_nd[b] = sums->liquid_cycles_nd[b] / n_years;
        out->air_cycles_nd[b] = sums->air_cycles_nd[b] / n_years;
    }
    out->cycles_nd = sum_nd / n_years;
}

enum stv_status stv__season_finish(const struct stv__standard_cask *cask,
                                   const struct stv_metric_options *options, double n_years,
                                   struct stv__season_sums *sums, struct stv_season_metrics *out,
                                   double *out_histogram_frac)
{
    if (sums->n == 0)
        return STV_E_NO_DATA;
    close_day(sums);
    enum stv_status status = close_run(sums);
    if (status != STV_OK)
        return status;
    double n = (double)sums->n;
    double days = (double)sums->n_days;
    out->air_mean_c = stv_mean_nd(sums->air_c, sums->n);
    out->liquid_mean_c = stv_mean_nd(sums->liquid_c, sums->n);
    out->rh_mean_frac = sums->rh_frac / n;
    out->rh_weighted_frac = sums->rh_psat_pa / sums->psat_pa;
    out->kinetic_mean_c = stv_c_from_k(-options->numbers.kinetic_mean_ea_j_mol / STV_GAS_J_MOLK /
                                       log(sums->kinetic_nd / n));
    out->extraction_rel_nd = sums->extraction_nd / n;
    out->fruit_fading_per_y = sums->fruit_per_y / n;
    out->held_frac = (double)sums->n_held / n;
    out->degree_days_k_d = sums->degree_h / STV_DAY_H / n_years;
    out->cool_hours_h = sums->cool_h / n_years;
    cycles_of(sums, n_years, out);
    out->air_swing_k = days > 0.0 ? sums->air_swing.sum_k / days : (double)NAN;
    out->liquid_swing_k = days > 0.0 ? sums->liquid_swing.sum_k / days : (double)NAN;
    double seconds_y = STV_YEAR_D * STV_DAY_S;
    rates_of(cask, sums->ethanol_kg_s / n * seconds_y, sums->water_kg_s / n * seconds_y, out);
    histogram_of(sums->liquid_c, sums->n, out_histogram_frac);
    quantiles_of(sums, out);
    return STV_OK;
}
