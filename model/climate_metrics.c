/* Figures of a place by season, as means over the record's whole years.  The liquid is that of a
 * 200 L cask, 97 % full at 60 % vol, soaked; its rates are taken hour by hour at that composition,
 * so they say what the place does, not what one cask's history made of it. */
#include "model/climate_metrics.h"

#include "model/calendar.h"
#include "model/position_liquid.h"
#include "model/season_sums.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define STANDARD_CASK_L 200.0
#define STANDARD_FULL_FRAC 0.97
#define STANDARD_ABV20_FRAC 0.60
#define YEAR_D 365
#define YEAR_H (YEAR_D * STV_DAY_H)
#define NEARLY_YEAR_H (360 * STV_DAY_H) /* files of one year lack its first or last days */

struct stv_metric_options stv_metric_options_default(void)
{
    return (struct stv_metric_options){stv_params_default(), stv_cask_numbers_default()};
}

static enum stv_status standard_cask(const struct stv_cask_numbers *numbers,
                                     struct stv__standard_cask *cask)
{
    cask->volume20_l = STANDARD_CASK_L * STANDARD_FULL_FRAC;
    enum stv_status status = stv_cask_geometry(STANDARD_CASK_L, NAN, numbers, &cask->geometry);
    if (status != STV_OK)
        return status;
    return stv_spirit_masses_kg(cask->volume20_l, STANDARD_ABV20_FRAC, &cask->ethanol_kg,
                                &cask->water_kg);
}

static enum stv_status liquid_of(const struct stv_position *position,
                                 const struct stv_cask_geometry *geometry,
                                 const struct stv_cask_numbers *numbers, double exposed_frac,
                                 double *out_liquid_c)
{
    double tau_h = stv_cask_time_constant_h(geometry, STANDARD_CASK_L * STANDARD_FULL_FRAC,
                                            STANDARD_ABV20_FRAC, numbers) /
                   exposed_frac;
    return stv_position_liquid_at_c(position, tau_h, stv_cask_convective_frac(numbers),
                                    out_liquid_c);
}

enum stv_status stv_position_liquid_c(const struct stv_position *position, double exposed_frac,
                                      const struct stv_cask_numbers *numbers, double *out_liquid_c)
{
    struct stv__standard_cask cask;
    enum stv_status status = standard_cask(numbers, &cask);
    if (status != STV_OK)
        return status;
    return liquid_of(position, &cask.geometry, numbers, exposed_frac, out_liquid_c);
}

/* Whole years of a grid, and the sample they start at: all of it when only leap days are over,
 * else the last full 365-day blocks, so that every season is met equally often. */
static size_t whole_years(const struct stv_grid *grid, size_t *out_from)
{
    size_t years = grid->n / YEAR_H;
    if (years == 0 && grid->n >= NEARLY_YEAR_H) {
        *out_from = 0;
        return 1;
    }
    size_t over_h = grid->n - years * YEAR_H;
    size_t leap_h = (years / 4 + 1) * STV_DAY_H;
    *out_from = over_h <= leap_h ? 0 : over_h;
    return years;
}

/* Sums of the liquid by calendar month and by day of the mean year. */
struct mean_year {
    double month_sum[STV_MONTHS], day_sum[YEAR_D];
    size_t month_n[STV_MONTHS], day_n[YEAR_D];
};

static void mean_year_of(const struct stv_position *position, const double *liquid_c, size_t from,
                         struct mean_year *year)
{
    *year = (struct mean_year){0};
    for (size_t k = from; k < position->grid.n; k++) {
        if (!isfinite(liquid_c[k]))
            continue;
        int64_t day_d = stv_grid_local_day(&position->grid, k, NULL);
        size_t month = (size_t)stv_date_from_day(day_d).month - 1;
        size_t doy = (size_t)stv_season_day(day_d);
        year->month_sum[month] += liquid_c[k];
        year->month_n[month]++;
        year->day_sum[doy] += liquid_c[k];
        year->day_n[doy]++;
    }
}

static double mean_year_day_c(const struct mean_year *year, size_t doy)
{
    return year->day_n[doy] ? year->day_sum[doy] / (double)year->day_n[doy] : (double)NAN;
}

/* Mean of the warmest month, and the days on which the mean year passes the waking point.  Walks
 * from the coldest day, so that both hemispheres read forwards. */
static void year_marks(const struct mean_year *year, double waking_c,
                       struct stv_position_metrics *out)
{
    out->warmest_month_c = NAN;
    for (size_t m = 0; m < STV_MONTHS; m++) {
        double mean_c =
            year->month_n[m] ? year->month_sum[m] / (double)year->month_n[m] : (double)NAN;
        out->warmest_month_c = fmax(out->warmest_month_c, mean_c);
    }
    size_t coldest = 0;
    for (size_t d = 1; d < YEAR_D; d++)
        if (mean_year_day_c(year, d) < mean_year_day_c(year, coldest))
            coldest = d;
    out->waking_doy = -1;
    out->quiet_doy = -1;
    for (size_t i = 1; i <= YEAR_D; i++) {
        size_t d = (coldest + i) % YEAR_D;
        double before_c = mean_year_day_c(year, (coldest + i - 1) % YEAR_D);
        double now_c = mean_year_day_c(year, d);
        if (before_c < waking_c && now_c >= waking_c && out->waking_doy < 0)
            out->waking_doy = (int)d;
        if (before_c >= waking_c && now_c < waking_c)
            out->quiet_doy = (int)d;
    }
}

/* What every season of one place is summed from. */
struct place_hours {
    const struct stv_position *position;
    const double *liquid_c;
    size_t from; /* first hour of the whole years */
    struct stv__standard_cask cask;
};

static enum stv_hour_origin origin_of(const struct stv_position *position, size_t k)
{
    return position->origin ? (enum stv_hour_origin)position->origin[k] : STV_HOUR_OUTSIDE;
}

static bool is_in_hole(enum stv_hour_origin origin)
{
    return origin != STV_HOUR_OUTSIDE && origin != STV_HOUR_MEASURED;
}

/* Shares of a season's hours that were filled, and that are holes. */
static void count_origins(const struct place_hours *place, const struct stv_season_span *span,
                          struct stv_season_metrics *out)
{
    const struct stv_position *position = place->position;
    size_t n = 0, n_hung = 0, n_filled = 0, n_hole = 0;
    for (size_t k = place->from; k < position->grid.n; k++) {
        if (!stv_season_holds(span, stv_season_day(stv_grid_local_day(&position->grid, k, NULL))))
            continue;
        enum stv_hour_origin origin = origin_of(position, k);
        n++;
        n_hung += origin != STV_HOUR_OUTSIDE;
        n_hole += origin == STV_HOUR_HOLE;
        n_filled += is_in_hole(origin) && origin != STV_HOUR_HOLE;
    }
    out->filled_frac = n ? (double)n_filled / (double)n : 0.0;
    out->hole_frac = n_hung ? (double)n_hole / (double)n_hung : 0.0;
}

static enum stv_status add_hours(const struct place_hours *place,
                                 const struct stv_season_span *span,
                                 const struct stv_metric_options *options,
                                 struct stv__season_sums *sums)
{
    const struct stv_position *position = place->position;
    for (size_t k = place->from; k < position->grid.n; k++) {
        struct stv__hour hour = {k,
                                 stv_grid_local_day(&position->grid, k, NULL),
                                 position->air_c[k],
                                 position->rh_frac[k],
                                 place->liquid_c[k],
                                 is_in_hole(origin_of(position, k))};
        if (!isfinite(hour.liquid_c) || !isfinite(hour.rh_frac) || !isfinite(hour.air_c) ||
            !stv_season_holds(span, stv_season_day(hour.day_d)))
            continue;
        enum stv_status status = stv__season_add(&place->cask, options, &hour, sums);
        if (status != STV_OK)
            return status;
    }
    return STV_OK;
}

/* How often a season was met: as often as there are years, less where the record has holes. */
static double times_met(const struct stv_season_span *span, size_t n_years, size_t n_hours)
{
    int days = (span->to_doy - span->from_doy + YEAR_D) % YEAR_D + 1;
    return fmin((double)n_years, (double)n_hours / (days * STV_DAY_H));
}

static void year_marks_of(const struct place_hours *place, double waking_c,
                          struct stv_position_metrics *out)
{
    struct mean_year year;
    mean_year_of(place->position, place->liquid_c, place->from, &year);
    year_marks(&year, waking_c, out);
}

enum stv_status stv_position_metrics(const struct stv_position *position,
                                     const struct stv_season_span seasons[STV_SEASON_N],
                                     const struct stv_metric_options *options, double exposed_frac,
                                     struct stv_position_metrics *out)
{
    size_t n = position->grid.n;
    struct place_hours place = {.position = position};
    *out = (struct stv_position_metrics){.place = position->place,
                                         .source = position->source,
                                         .rest = position->rest,
                                         .error = position->error,
                                         .measured_frac = position->measured_frac,
                                         .offset_k = position->offset_k,
                                         .offset_rh_frac = position->offset_rh_frac};
    out->n_years = whole_years(&position->grid, &place.from);
    if (out->n_years == 0)
        return STV_E_NO_DATA;
    enum stv_status status = standard_cask(&options->numbers, &place.cask);
    double *room = malloc(3 * n * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    place.liquid_c = room;
    if (status == STV_OK)
        status = liquid_of(position, &place.cask.geometry, &options->numbers, exposed_frac, room);
    if (status == STV_OK)
        year_marks_of(&place, options->numbers.waking_c, out);
    for (size_t s = 0; s < STV_SEASON_N && status == STV_OK; s++) {
        struct stv__season_sums sums = {.air_c = room + n, .liquid_c = room + 2 * n};
        status = add_hours(&place, &seasons[s], options, &sums);
        if (status == STV_OK)
            status = stv__season_finish(&place.cask, options,
                                        times_met(&seasons[s], out->n_years, sums.n), &sums,
                                        &out->seasons[s], out->liquid_histogram_frac[s]);
        out->seasons[s].unfilled_degree_days_k_d =
            sums.unfilled_degree_h / STV_DAY_H / (double)out->n_years;
        count_origins(&place, &seasons[s], &out->seasons[s]);
    }
    free(room);
    return status;
}
