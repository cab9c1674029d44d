/* Completes an outdoor record: the order of the work, and the columns that need no physics.
 *
 * Temperature comes first, because humidity, sun and sky lean on it; then vapour pressure, pressure
 * and wind; then the sun's place in each hour and its strength; last the sky's long wave, which
 * needs all of them.  The methods live in weather_hours.c, weather_vapour.c, weather_sun.c and
 * weather_sky.c, the filling of gaps in weather_fill.c.  No station is moved to another height. */
#include "model/weather_parts.h"

#include "model/air.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Assumed: a mean over open country, between a calm night and a windy afternoon. */
#define ASSUMED_WIND_M_S 2.5

/* Lowest shores and highest summits, with room. */
#define ELEVATION_MIN_M (-500.0)
#define ELEVATION_MAX_M 9000.0

void stv_weather_record_free(struct stv_weather_record *record)
{
    for (size_t i = 0; record && i < STV_WQ_N; i++) {
        free(record->columns[i]);
        record->columns[i] = NULL;
    }
    if (record) {
        free(record->covered_frac);
        record->covered_frac = NULL;
    }
}

void stv_weather_free(struct stv_weather *weather)
{
    for (size_t i = 0; weather && i < STV_WC_N; i++) {
        free(weather->columns[i]);
        weather->columns[i] = NULL;
    }
    if (weather) {
        free(weather->is_made_up);
        weather->is_made_up = NULL;
    }
}

double *stv__weather_new_hours(struct stv__weather_work *work, enum stv_weather_column column)
{
    double *hours = malloc(work->out->grid.n * sizeof *hours);
    work->out->columns[column] = hours;
    return hours;
}

void stv__weather_note(struct stv__weather_work *work, enum stv_weather_column column,
                       enum stv_origin origin, const char *method)
{
    work->out->origin[column] = origin;
    work->out->method[column] = method;
}

static bool position_is_known(const struct stv_site_position *site)
{
    return fabs(site->latitude_deg) <= 90.0 && fabs(site->longitude_deg) <= 180.0 &&
           site->elevation_m >= ELEVATION_MIN_M && site->elevation_m <= ELEVATION_MAX_M;
}

/* The hourly grid of the output, and where its hours stand in their local days. */
static void lay_out(struct stv__weather_work *work)
{
    const struct stv_grid *from = &work->record->grid;
    struct stv_grid *grid = &work->out->grid;
    int hour = 0;
    *grid = *from;
    work->out->site = work->record->site;
    work->is_daily = from->step_s == STV_DAY_S;
    work->first_day_d = stv_grid_local_day(from, 0, &hour);
    if (work->is_daily) {
        grid->step_s = STV_HOUR_S;
        grid->n = from->n * STV_DAY_H;
        grid->t0_s = work->first_day_d * STV_DAY_S - (int64_t)from->utc_offset_min * 60;
        hour = 0;
    }
    work->first_hour = (size_t)hour;
    work->n_days = (grid->n + work->first_hour + STV_DAY_H - 1) / STV_DAY_H;
    /* Hourly stamps need not stand on the local hour: the slots start as far off as they do. */
    int64_t slot_0_s = grid->t0_s - (int64_t)work->first_hour * STV_HOUR_S;
    work->slot_0_s = slot_0_s;
    work->slot_shift_s =
        (double)(slot_0_s + (int64_t)grid->utc_offset_min * 60 - work->first_day_d * STV_DAY_S);
}

static enum stv_status allocate(struct stv__weather_work *work)
{
    size_t n_slots = work->n_days * STV_DAY_H;
    work->min_c = malloc(work->n_days * sizeof *work->min_c);
    work->max_c = malloc(work->n_days * sizeof *work->max_c);
    work->sun_days = malloc(work->n_days * sizeof *work->sun_days);
    work->suns = malloc(n_slots * sizeof *work->suns);
    work->sunlit_frac = malloc(n_slots * sizeof *work->sunlit_frac);
    bool all = work->min_c && work->max_c && work->sun_days && work->suns && work->sunlit_frac;
    return all ? STV_OK : STV_E_MEMORY;
}

static void place_suns(struct stv__weather_work *work)
{
    const struct stv_site_position *site = &work->out->site;
    for (size_t d = 0; d < work->n_days; d++)
        work->sun_days[d] =
            stv_sun_day(work->first_day_d + (int64_t)d, work->out->grid.utc_offset_min, site);
#pragma omp parallel for schedule(static)
    for (size_t slot = 0; slot < work->n_days * STV_DAY_H; slot++)
        work->suns[slot] = stv_sun_over(work->slot_0_s + (int64_t)slot * STV_HOUR_S, STV_HOUR_S,
                                        site, &work->sunlit_frac[slot]);
}

/* A column carried over as it is; the same value every hour when the record lacks it. */
static enum stv_status carry(struct stv__weather_work *work, enum stv_weather_quantity quantity,
                             enum stv_weather_column column, double otherwise)
{
    double *hours = NULL;
    enum stv_status status =
        stv__weather_held(work, quantity, &hours, &work->out->n_filled[column]);
    if (status)
        return status;
    work->out->columns[column] = hours;
    if (hours) {
        stv__weather_note(work, column, work->is_daily ? STV_ORIGIN_DERIVED : STV_ORIGIN_MEASURED,
                          work->is_daily ? "the day's measured mean, held over the day"
                                         : "measured");
        return STV_OK;
    }
    hours = stv__weather_new_hours(work, column);
    if (!hours)
        return STV_E_MEMORY;
    for (size_t k = 0; k < work->out->grid.n; k++)
        hours[k] = otherwise;
    return STV_OK;
}

static enum stv_status pressure_and_wind(struct stv__weather_work *work)
{
    stv__weather_note(
        work, STV_WC_PRESSURE_PA, STV_ORIGIN_DERIVED,
        "standard atmosphere at the site's elevation; misses an hour by 0.4 to 0.9 kPa");
    stv__weather_note(work, STV_WC_WIND_M_S, STV_ORIGIN_ASSUMED,
                      "assumed 2.5 m/s; calm and windy hours are all the same");
    enum stv_status status = carry(work, STV_WQ_PRESSURE_PA, STV_WC_PRESSURE_PA,
                                   stv_pressure_at_height_pa(work->out->site.elevation_m));
    return status ? status : carry(work, STV_WQ_WIND_M_S, STV_WC_WIND_M_S, ASSUMED_WIND_M_S);
}

enum stv_status stv_weather_complete(const struct stv_weather_record *record,
                                     struct stv_weather *out)
{
    if (!record || !out)
        return STV_E_ARG;
    memset(out, 0, sizeof *out);
    if (record->grid.n == 0 ||
        (record->grid.step_s != STV_HOUR_S && record->grid.step_s != STV_DAY_S))
        return STV_E_ARG;
    if (!position_is_known(&record->site))
        return STV_E_DOMAIN;
    struct stv__weather_work work = {.record = record, .out = out};
    lay_out(&work);
    enum stv_status status = allocate(&work);
    if (status)
        goto done;
    place_suns(&work);
    status = stv__weather_temperature(&work);
    if (!status)
        status = stv__weather_vapour(&work);
    if (!status)
        status = pressure_and_wind(&work);
    if (!status)
        status = stv__weather_sun(&work);
    if (!status)
        status = stv__weather_sky(&work);
done:
    free(work.min_c);
    free(work.max_c);
    free(work.sun_days);
    free(work.suns);
    free(work.sunlit_frac);
    if (status) {
        stv_weather_free(out);
        memset(out, 0, sizeof *out);
    }
    return status;
}
