/* What the files that complete a weather record share.  Private to model/weather*.c. */
#ifndef STV_MODEL_WEATHER_PARTS_H
#define STV_MODEL_WEATHER_PARTS_H

#include "model/units.h"
#include "model/weather.h"

#include <stdbool.h>
#include <stddef.h>

/* Work in progress.  Output hour k is slot k + first_hour; slots cover whole local days. */
struct stv__weather_work {
    const struct stv_weather_record *record;
    struct stv_weather *out;
    int64_t first_day_d;   /* local day of slot 0 */
    int64_t slot_0_s;      /* UTC start of slot 0 */
    double slot_shift_s;   /* start of slot 0 after local midnight, less than half an hour off */
    size_t first_hour;     /* hour of the day of output hour 0 */
    size_t n_days;         /* local days touched by the grid */
    bool is_daily;         /* the record's step is a day; then n_days is its length */
    double *min_c, *max_c; /* per day */
    double *sunlit_frac;   /* per slot */
    struct stv_sun *suns;  /* per slot, stv_sun_over */
    struct stv_sun_day *sun_days; /* per day */
};

/* Index of the local day of output hour k. */
static inline size_t stv__hour_day(const struct stv__weather_work *work, size_t k)
{
    return (k + work->first_hour) / STV_DAY_H;
}

/* Middle of the i-th slot of a day, seconds after local midnight. */
static inline double stv__slot_middle_s(const struct stv__weather_work *work, size_t i)
{
    return work->slot_shift_s + ((double)i + 0.5) * STV_HOUR_S;
}

/* A new output column, owned by the output; NULL when out of memory. */
double *stv__weather_new_hours(struct stv__weather_work *work, enum stv_weather_column column);

/* How a column came to be. */
void stv__weather_note(struct stv__weather_work *work, enum stv_weather_column column,
                       enum stv_origin origin, const char *method);

/* --- weather_fill.c --- */

/* Copy of a column of the record with infinities as NaN; *out is NULL when the column is absent or
 * holds nothing finite.  Caller frees. */
STV_MUST_CHECK enum stv_status stv__weather_copy(const struct stv_weather_record *record,
                                                 enum stv_weather_quantity quantity, double **out);

/* Number of samples in the longest run of NaN. */
size_t stv__weather_longest_gap(const double *values, size_t n);

/* --- weather_holes.c --- */

/* The longest gap that is filled from the days beside it, in steps of a grid. */
size_t stv__weather_gap_steps(const struct stv_grid *grid);

/* Fills what other years have of every gap too long to be filled from the days beside it; adds the
 * number of values to *n_filled. */
STV_MUST_CHECK enum stv_status stv__weather_fill_holes(const struct stv_grid *grid, double *values,
                                                       size_t *n_filled);

/* --- weather_fill.c --- */

/* Fills every NaN of a column that holds something finite; adds their number to *n_filled. */
STV_MUST_CHECK enum stv_status stv__weather_fill(const struct stv_grid *grid, double *values,
                                                 size_t *n_filled);

/* A column of the record, filled, one value per output hour: hourly as it is, daily held over the
 * day and blended at midnight.  *out is NULL when the record lacks it; n_filled counts hours. */
STV_MUST_CHECK enum stv_status stv__weather_held(const struct stv__weather_work *work,
                                                 enum stv_weather_quantity quantity, double **out,
                                                 size_t *n_filled);

/* Daily values to output hours, blended within 3 h of midnight. */
void stv__weather_blend_days(const struct stv__weather_work *work, const double *day_values,
                             double *out_hours);

/* --- weather_hours.c: temperature; min_c and max_c of each day --- */
STV_MUST_CHECK enum stv_status stv__weather_temperature(struct stv__weather_work *work);

/* --- weather_vapour.c --- */
STV_MUST_CHECK enum stv_status stv__weather_vapour(struct stv__weather_work *work);

/* --- weather_sun.c: GHI, DNI, DHI --- */
STV_MUST_CHECK enum stv_status stv__weather_sun(struct stv__weather_work *work);

/* --- weather_sky.c --- */
STV_MUST_CHECK enum stv_status stv__weather_sky(struct stv__weather_work *work);

/* Mean over `n_days` days centred on each day, of what the record holds. */
void stv__weather_running_mean(const double *day_values, size_t n, size_t n_days, double *out);

#endif
