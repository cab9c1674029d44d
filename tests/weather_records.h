/* Made-up weather records for the tests of their completion. */
#ifndef STV_TESTS_WEATHER_RECORDS_H
#define STV_TESTS_WEATHER_RECORDS_H

#include "tests/check.h"

#include "model/calendar.h"
#include "model/units.h"
#include "model/weather.h"

#include <stdlib.h>
#include <string.h>

#define PI 3.14159265358979323846
#define RAD (PI / 180.0)

static const struct stv_site_position PLAIN = {35.2, -101.7, 1100.0};

/* An empty record of n samples from local midnight of 2021-03-01. */
static inline struct stv_weather_record record_new(int32_t step_s, size_t n, int32_t offset_min,
                                                   struct stv_site_position site)
{
    struct stv_weather_record record;
    memset(&record, 0, sizeof record);
    record.grid.t0_s =
        stv_day_from_date((struct stv_date){2021, 3, 1}) * STV_DAY_S - (int64_t)offset_min * 60;
    record.grid.step_s = step_s;
    record.grid.utc_offset_min = offset_min;
    record.grid.n = n;
    record.site = site;
    return record;
}

static inline double *column_new(struct stv_weather_record *record,
                                 enum stv_weather_quantity quantity, double value)
{
    double *column = malloc(record->grid.n * sizeof *column);
    assert_non_null(column);
    for (size_t k = 0; k < record->grid.n; k++)
        column[k] = value;
    record->columns[quantity] = column;
    return column;
}

/* Daily extremes of a year with fronts: uneven, and often crossing from one day to the next. */
static inline void add_extremes(struct stv_weather_record *record)
{
    double *low = column_new(record, STV_WQ_TEMP_MIN_C, 0.0);
    double *high = column_new(record, STV_WQ_TEMP_MAX_C, 0.0);
    for (size_t d = 0; d < record->grid.n; d++) {
        double x = (double)d;
        low[d] = 9.0 - 11.0 * cos(2.0 * PI * x / 365.25) + 6.3 * sin(1.9 * x) + 4.1 * sin(0.37 * x);
        high[d] = low[d] + 11.7 + 8.2 * sin(2.3 * x) * sin(0.11 * x);
    }
}

/* Hourly temperature with the day's wave and a slow one. */
static inline double *add_hours(struct stv_weather_record *record)
{
    double *temp_c = column_new(record, STV_WQ_TEMP_C, 0.0);
    for (size_t k = 0; k < record->grid.n; k++) {
        double x = (double)k;
        temp_c[k] = 17.3 - 6.1 * cos(2.0 * PI * (x - 3.0) / 24.0) + 3.3 * sin(0.013 * x);
    }
    return temp_c;
}

static inline void drop(struct stv_weather_record *record, enum stv_weather_quantity quantity,
                        size_t from, size_t n)
{
    for (size_t k = from; k < from + n; k++)
        record->columns[quantity][k] = (double)NAN;
}

static inline void all_finite(const struct stv_weather *weather)
{
    for (size_t i = 0; i < STV_WC_N; i++) {
        assert_non_null(weather->columns[i]);
        assert_non_null(weather->method[i]);
        for (size_t k = 0; k < weather->grid.n; k++)
            assert_true(isfinite(weather->columns[i][k]));
    }
}

#endif
