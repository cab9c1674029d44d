/* Figures of a place by season, as means over the record's whole years.  The liquid is that of a
 * 200 L cask, 97 % full at 60 % vol, soaked; its rates are taken hour by hour at that composition,
 * so they say what the place does, not what one cask's history made of it. */
#include "model/climate_metrics.h"

#include "model/calendar.h"
#include "model/cask_room.h"
#include "model/position_liquid.h"
#include "model/season_sums.h"
#include "model/spirit.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>

#define STANDARD_CASK_L 200.0
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
    cask->volume20_l = STANDARD_CASK_L * STV_USUAL_FILL_FRAC;
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
    double tau_h = stv_cask_time_constant_h(geometry, STANDARD_CASK_L * STV_USUAL_FILL_FRAC,
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

/* Hours of a season: all, those a logger hung there, filled ones and holes. */
struct origins {
    size_t n, n_hung, n_filled, n_hole;
};

/* What the figures of one place are made from, and what they are summed in. */
struct place_hours {
    const struct stv_position *position;
    const struct stv_season_span *seasons;
    const double *liquid_c;
    size_t from; /* first hour of the whole years */
    struct stv__standard_cask cask;
    struct mean_year year;
    struct stv__season_sums sums[STV_SEASON_N];
    struct origins origins[STV_SEASON_N];
};

/* A local day, and which seasons hold it. */
struct day {
    int64_t day_d;
    size_t month_idx, doy;
    bool holds[STV_SEASON_N];
};

static struct day day_of(const struct place_hours *place, int64_t day_d)
{
    struct day day = {
        day_d, (size_t)stv_date_from_day(day_d).month - 1, (size_t)stv_season_day(day_d), {false}};
    for (size_t s = 0; s < STV_SEASON_N; s++)
        day.holds[s] = stv_season_holds(&place->seasons[s], (int)day.doy);
    return day;
}

static enum stv_hour_origin origin_of(const struct stv_position *position, size_t k)
{
    return position->origin ? (enum stv_hour_origin)position->origin[k] : STV_HOUR_OUTSIDE;
}

static bool is_in_hole(enum stv_hour_origin origin)
{
    return origin != STV_HOUR_OUTSIDE && origin != STV_HOUR_MEASURED;
}

static void count_origin(enum stv_hour_origin origin, struct origins *origins)
{
    origins->n++;
    origins->n_hung += origin != STV_HOUR_OUTSIDE;
    origins->n_hole += origin == STV_HOUR_HOLE;
    origins->n_filled += is_in_hole(origin) && origin != STV_HOUR_HOLE;
}

static void add_to_year(const struct day *day, double liquid_c, struct mean_year *year)
{
    year->month_sum[day->month_idx] += liquid_c;
    year->month_n[day->month_idx]++;
    year->day_sum[day->doy] += liquid_c;
    year->day_n[day->doy]++;
}

static enum stv_status add_hour(const struct stv_metric_options *options, const struct day *day,
                                size_t k, struct place_hours *place)
{
    const struct stv_position *position = place->position;
    enum stv_hour_origin origin = origin_of(position, k);
    struct stv__hour hour = {.k = k,
                             .day_d = day->day_d,
                             .air_c = position->air_c[k],
                             .rh_frac = position->rh_frac[k],
                             .liquid_c = place->liquid_c[k],
                             .is_filled = is_in_hole(origin)};
    for (size_t s = 0; s < STV_SEASON_N; s++)
        if (day->holds[s])
            count_origin(origin, &place->origins[s]);
    if (!isfinite(hour.liquid_c))
        return STV_OK;
    add_to_year(day, hour.liquid_c, &place->year);
    if (!isfinite(hour.rh_frac) || !isfinite(hour.air_c))
        return STV_OK;
    enum stv_status status = stv__hour_rates(&place->cask, options, &hour);
    for (size_t s = 0; s < STV_SEASON_N && status == STV_OK; s++)
        if (day->holds[s])
            status = stv__season_add(&options->numbers, &hour, &place->sums[s]);
    return status;
}

static enum stv_status add_hours(const struct stv_metric_options *options,
                                 struct place_hours *place)
{
    const struct stv_grid *grid = &place->position->grid;
    struct day day = {.day_d = INT64_MIN};
    enum stv_status status = STV_OK;
    for (size_t k = place->from; k < grid->n && status == STV_OK; k++) {
        int64_t day_d = stv_grid_local_day(grid, k, NULL);
        if (day_d != day.day_d)
            day = day_of(place, day_d);
        status = add_hour(options, &day, k, place);
    }
    return status;
}

/* How often a season was met: as often as there are years, less where the record has holes. */
static double times_met(const struct stv_season_span *span, size_t n_years, size_t n_hours)
{
    int days = (span->to_doy - span->from_doy + YEAR_D) % YEAR_D + 1;
    return fmin((double)n_years, (double)n_hours / (days * STV_DAY_H));
}

static enum stv_status finish(const struct stv_metric_options *options, struct place_hours *place,
                              struct stv_position_metrics *out)
{
    enum stv_status status = STV_OK;
    year_marks(&place->year, options->numbers.waking_c, out);
    for (size_t s = 0; s < STV_SEASON_N && status == STV_OK; s++) {
        struct stv__season_sums *sums = &place->sums[s];
        const struct origins *origins = &place->origins[s];
        struct stv_season_metrics *season = &out->seasons[s];
        status = stv__season_finish(&place->cask, options,
                                    times_met(&place->seasons[s], out->n_years, sums->n), sums,
                                    season, out->liquid_histogram_frac[s]);
        season->unfilled_degree_days_k_d =
            sums->unfilled_degree_h / STV_DAY_H / (double)out->n_years;
        season->filled_frac = origins->n ? (double)origins->n_filled / (double)origins->n : 0.0;
        season->hole_frac =
            origins->n_hung ? (double)origins->n_hole / (double)origins->n_hung : 0.0;
    }
    return status;
}

enum stv_status stv_position_metrics(const struct stv_position *position,
                                     const struct stv_season_span seasons[STV_SEASON_N],
                                     const struct stv_metric_options *options, double exposed_frac,
                                     struct stv_position_metrics *out)
{
    size_t n = position->grid.n;
    struct place_hours place = {.position = position, .seasons = seasons};
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
    double *room = malloc((1 + 2 * STV_SEASON_N) * n * sizeof *room);
    if (!room)
        return STV_E_MEMORY;
    place.liquid_c = room;
    for (size_t s = 0; s < STV_SEASON_N; s++) {
        place.sums[s].air_c = room + (1 + 2 * s) * n;
        place.sums[s].liquid_c = room + (2 + 2 * s) * n;
    }
    if (status == STV_OK)
        status = liquid_of(position, &place.cask.geometry, &options->numbers, exposed_frac, room);
    if (status == STV_OK)
        status = add_hours(options, &place);
    if (status == STV_OK)
        status = finish(options, &place, out);
    free(room);
    return status;
}
