/* Days of a place, and degree-days by year.  A year begins in the cold half, so that the warm
 * season is met whole in either hemisphere. */
#include "model/climate_days.h"

#include "model/calendar.h"
#include "model/quantiles.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define YEAR_D STV_DEGREE_YEAR_D
#define LEAST_DAY_H 20   /* hours a day needs to be known */
#define MOST_MISSING_D 5 /* files of one year lack its first or last days */
#define LEAST_NEW_D 30   /* a year that has just begun tells nothing yet */
#define FIRST_OF_JULY 181

/* Fills a day for each local day of the grid; those with too few hours stay NaN. */
static void sum_hours(const struct stv_position *position, const double *liquid_c,
                      struct stv_climate_days *out)
{
    const struct stv_grid *grid = &position->grid;
    double high_c = NAN, degree_h = 0.0;
    size_t n_hours = 0;
    for (size_t k = 0; k < grid->n; k++) {
        int64_t day_d = stv_grid_local_day(grid, k, NULL);
        if (isfinite(liquid_c[k]) && isfinite(position->rh_frac[k]) &&
            isfinite(position->air_c[k])) {
            high_c = fmax(high_c, liquid_c[k]); /* fmax leaves out the NaN of the start */
            degree_h += fmax(0.0, liquid_c[k] - out->base_c);
            n_hours++;
        }
        if (k + 1 < grid->n && stv_grid_local_day(grid, k + 1, NULL) == day_d)
            continue;
        size_t d = (size_t)(day_d - out->first_day_d);
        out->max_c[d] = n_hours >= LEAST_DAY_H ? high_c : (double)NAN;
        out->degree_days_k_d[d] = n_hours >= LEAST_DAY_H ? degree_h / STV_DAY_H : (double)NAN;
        high_c = NAN;
        degree_h = 0.0;
        n_hours = 0;
    }
}

/* Marks the days of which too few hours are left when those made up are not counted. */
static void mark_made_up(const struct stv_weather *weather, struct stv_climate_days *days)
{
    size_t n_hours = 0;
    for (size_t k = 0; k < weather->grid.n; k++) {
        int64_t day_d = stv_grid_local_day(&weather->grid, k, NULL);
        int64_t d = day_d - days->first_day_d;
        n_hours += weather->is_made_up[k];
        if (k + 1 < weather->grid.n && stv_grid_local_day(&weather->grid, k + 1, NULL) == day_d)
            continue;
        if (d >= 0 && d < (int64_t)days->n_days)
            days->is_made_up[d] = n_hours > STV_DAY_H - LEAST_DAY_H && !isnan(days->max_c[d]);
        n_hours = 0;
    }
}

size_t stv_climate_days_made_up(const struct stv_climate_days *days)
{
    size_t n = 0;
    for (size_t d = 0; days->is_made_up && d < days->n_days; d++)
        n += days->is_made_up[d];
    return n;
}

/* Takes off unknown days at both ends. */
static enum stv_status trim(struct stv_climate_days *days)
{
    size_t from = 0, to = days->n_days;
    while (to > 0 && isnan(days->max_c[to - 1]))
        to--;
    if (to == 0)
        return STV_E_NO_DATA;
    while (isnan(days->max_c[from]))
        from++;
    days->n_days = to - from;
    days->first_day_d += (int64_t)from;
    for (size_t d = 0; d < days->n_days; d++) {
        days->max_c[d] = days->max_c[d + from];
        days->degree_days_k_d[d] = days->degree_days_k_d[d + from];
    }
    return STV_OK;
}

enum stv_status stv_climate_days_make(const struct stv_position *position,
                                      const struct stv_metric_options *options, double exposed_frac,
                                      const struct stv_weather *weather,
                                      struct stv_climate_days *out)
{
    const struct stv_grid *grid = &position->grid;
    *out = (struct stv_climate_days){.place = position->place,
                                     .is_typical = grid->is_typical,
                                     .base_c = options->numbers.degree_day_base_c};
    if (grid->n == 0)
        return STV_E_ARG;
    out->first_day_d = stv_grid_local_day(grid, 0, NULL);
    out->n_days = (size_t)(stv_grid_local_day(grid, grid->n - 1, NULL) - out->first_day_d) + 1;
    out->max_c = malloc(out->n_days * sizeof *out->max_c);
    out->degree_days_k_d = malloc(out->n_days * sizeof *out->degree_days_k_d);
    out->is_made_up = calloc(out->n_days, sizeof *out->is_made_up);
    double *liquid_c = malloc(grid->n * sizeof *liquid_c);
    bool has_all = out->max_c && out->degree_days_k_d && out->is_made_up && liquid_c;
    enum stv_status status = has_all ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK)
        status = stv_position_liquid_c(position, exposed_frac, &options->numbers, liquid_c);
    if (status == STV_OK) {
        sum_hours(position, liquid_c, out);
        status = trim(out);
    }
    if (status == STV_OK && weather && weather->is_made_up)
        mark_made_up(weather, out);
    free(liquid_c);
    if (status != STV_OK)
        stv_climate_days_free(out);
    return status;
}

void stv_climate_days_free(struct stv_climate_days *days)
{
    free(days->max_c);
    free(days->degree_days_k_d);
    free(days->is_made_up);
    *days = (struct stv_climate_days){0};
}

int stv_climate_year_month(const struct stv_season_span *warm)
{
    static const struct stv_season_span northern = {90, 272}; /* April to September */
    int length_d = (warm->to_doy - warm->from_doy + YEAR_D) % YEAR_D;
    return stv_season_holds(&northern, (warm->from_doy + length_d / 2) % YEAR_D) ? 1 : 7;
}

int stv_climate_year_day(const struct stv_climate_days *days, int64_t day_d, int first_month,
                         int32_t *out_year)
{
    int doy = stv_season_day(day_d);
    int first_doy = first_month == 1 ? 0 : FIRST_OF_JULY;
    *out_year = stv_date_from_day(days->is_typical ? days->first_day_d : day_d).year;
    if (!days->is_typical && doy < first_doy)
        (*out_year)--;
    return (doy - first_doy + YEAR_D) % YEAR_D;
}

/* Sums up one year whose days stand in sum_k_d, NaN where they are missing. */
static bool settle(struct stv_degree_year *year, bool is_last)
{
    size_t n_missing = 0;
    year->n_days = YEAR_D;
    while (year->n_days > 0 && isnan(year->sum_k_d[year->n_days - 1]))
        year->n_days--;
    double sum_k_d = 0.0;
    for (size_t d = 0; d < year->n_days; d++) {
        n_missing += isnan(year->sum_k_d[d]) ? 1 : 0;
        sum_k_d += isnan(year->sum_k_d[d]) ? 0.0 : year->sum_k_d[d];
        year->sum_k_d[d] = sum_k_d;
    }
    year->is_whole = n_missing + (YEAR_D - year->n_days) <= MOST_MISSING_D;
    for (size_t d = year->n_days; d < YEAR_D && year->is_whole; d++)
        year->sum_k_d[d] = sum_k_d;
    if (year->is_whole)
        year->n_days = YEAR_D;
    return year->is_whole ||
           (is_last && n_missing <= MOST_MISSING_D && year->n_days >= LEAST_NEW_D);
}

/* Range of the whole years on each day. */
static enum stv_status range_of(struct stv_degree_years *years)
{
    for (size_t d = 0; d < YEAR_D; d++)
        years->p10_k_d[d] = years->middle_k_d[d] = years->p90_k_d[d] = NAN;
    if (years->n_whole < STV_DEGREE_RANGE_LEAST_YEARS)
        return STV_OK;
    double *sums_k_d = malloc(years->n_whole * sizeof *sums_k_d);
    if (!sums_k_d)
        return STV_E_MEMORY;
    for (size_t d = 0; d < YEAR_D; d++) {
        size_t n = 0;
        for (size_t y = 0; y < years->n; y++)
            if (years->years[y].is_whole)
                sums_k_d[n++] = years->years[y].sum_k_d[d];
        stv_range_of(sums_k_d, n); /* sorts */
        years->p10_k_d[d] = stv_quantile_nd(sums_k_d, n, 0.10);
        years->middle_k_d[d] = stv_quantile_nd(sums_k_d, n, 0.50);
        years->p90_k_d[d] = stv_quantile_nd(sums_k_d, n, 0.90);
    }
    free(sums_k_d);
    return STV_OK;
}

/* Puts every day where it stands in its year. */
static void lay_out(const struct stv_climate_days *days, struct stv_degree_years *years,
                    int32_t first_year)
{
    for (size_t y = 0; y < years->n; y++) {
        years->years[y].year = first_year + (int32_t)y;
        for (size_t d = 0; d < YEAR_D; d++)
            years->years[y].sum_k_d[d] = NAN;
    }
    for (size_t d = 0; d < days->n_days; d++) {
        int32_t year;
        int at =
            stv_climate_year_day(days, days->first_day_d + (int64_t)d, years->first_month, &year);
        double *sum_k_d = &years->years[year - first_year].sum_k_d[at];
        double day_k_d = days->degree_days_k_d[d];
        if (isfinite(day_k_d))
            *sum_k_d = isfinite(*sum_k_d) ? *sum_k_d + day_k_d : day_k_d;
    }
}

enum stv_status stv_degree_years_make(const struct stv_climate_days *days, int first_month,
                                      struct stv_degree_years *out)
{
    *out = (struct stv_degree_years){.first_month = first_month};
    if (days->n_days == 0)
        return STV_E_NO_DATA;
    int32_t first, last;
    (void)stv_climate_year_day(days, days->first_day_d, first_month, &first);
    (void)stv_climate_year_day(days, days->first_day_d + (int64_t)days->n_days - 1, first_month,
                               &last);
    out->n = (size_t)(last - first) + 1;
    out->years = malloc(out->n * sizeof *out->years);
    if (!out->years)
        return STV_E_MEMORY;
    lay_out(days, out, first);
    size_t n_all = out->n;
    out->n = 0;
    for (size_t y = 0; y < n_all; y++) {
        if (settle(&out->years[y], y + 1 == n_all))
            out->years[out->n++] = out->years[y];
    }
    out->n_left_out = n_all - out->n;
    for (size_t y = 0; y < out->n; y++)
        out->n_whole += out->years[y].is_whole;
    enum stv_status status = out->n == 0 ? STV_E_NO_DATA : range_of(out);
    if (status != STV_OK)
        stv_degree_years_free(out);
    return status;
}

void stv_degree_years_free(struct stv_degree_years *years)
{
    free(years->years);
    *years = (struct stv_degree_years){0};
}
