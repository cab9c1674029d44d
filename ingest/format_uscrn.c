/* US Climate Reference Network: hourly files of 38 fields and five-minute files of 23.
 *
 * UTC, each value at the end of its interval; the local standard time beside it gives the station's
 * own offset.  Missing codes differ by quantity, flags of 3 mean erroneous.  Damaged files have
 * runs of NULs or blanks in front of good rows; they are passed over.  Wind, in the five-minute
 * files alone, is measured at 1.5 m (from memory) and taken as it is.
 * Source: NOAA, USCRN readme of the hourly02 and subhourly01 products. */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define HOURLY_FIELDS 38
#define FINE_FIELDS 23
#define MINUTE_S 60
#define HEAD_ROWS 4 /* a damaged first row is no reason not to know the file */
#define NO_FLAG SIZE_MAX
#define MISSING_TEMPERATURE (-9999.0)

struct field {
    size_t cell, flag;
    struct stv_weather_want want;
};
static const struct field hourly[] = {
    {9, NO_FLAG, {STV_WQ_TEMP_C, 1.0, 0.0, MISSING_TEMPERATURE}},
    {13, 14, {STV_WQ_GHI_W_M2, 1.0, 0.0, -99999.0}},
    {26, 27, {STV_WQ_RH_FRAC, 0.01, 0.0, -9999.0}},
};
static const struct field fine[] = {
    {8, NO_FLAG, {STV_WQ_TEMP_C, 1.0, 0.0, MISSING_TEMPERATURE}},
    {10, 11, {STV_WQ_GHI_W_M2, 1.0, 0.0, -99999.0}},
    {15, 16, {STV_WQ_RH_FRAC, 0.01, 0.0, -9999.0}},
    {21, 22, {STV_WQ_WIND_M_S, 1.0, 0.0, -99.0}},
};
enum { WBAN, UTC_DATE, UTC_TIME, LST_DATE, LST_TIME, LONGITUDE = 6, LATITUDE };

/* YYYYMMDD and HHMM */
static bool stamp_of(struct stv_slice date, struct stv_slice time, int64_t *out_s)
{
    int32_t hour, minute;
    if (date.n != 8 || time.n != 4 || !stv__weather_stamp(date, out_s) ||
        !stv_slice_int((struct stv_slice){time.text, 2}, &hour) ||
        !stv_slice_int((struct stv_slice){time.text + 2, 2}, &minute) || hour < 0 || hour > 24 ||
        minute < 0 || minute > 59 || (hour == 24 && minute > 0))
        return false;
    *out_s += hour * STV_HOUR_S + minute * MINUTE_S;
    return true;
}

static bool is_row(const struct stv_slice *cells, size_t n)
{
    int64_t utc_s, local_s;
    return (n == HOURLY_FIELDS || n == FINE_FIELDS) && cells[WBAN].n == 5 &&
           stamp_of(cells[UTC_DATE], cells[UTC_TIME], &utc_s) &&
           stamp_of(cells[LST_DATE], cells[LST_TIME], &local_s);
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cells[HOURLY_FIELDS];
    for (size_t i = 0; i < n_lines && i < HEAD_ROWS; i++)
        if (is_row(cells, stv_line_cells(lines[i].all, ' ', cells, HOURLY_FIELDS)))
            return true;
    return false;
}

/* Place and offset, from the first good row. */
static void read_place(struct stv_weather_text *file, const struct stv_slice *cells)
{
    double latitude_deg, longitude_deg;
    int64_t utc_s, local_s;
    if (file->meta.clock[0])
        return;
    (void)stamp_of(cells[UTC_DATE], cells[UTC_TIME], &utc_s);
    (void)stamp_of(cells[LST_DATE], cells[LST_TIME], &local_s);
    double offset_h = (double)(local_s - utc_s) / STV_HOUR_S;
    stv__weather_clock(file, fabs(offset_h) <= 14.0 ? offset_h : 0.0);
    if (stv_slice_number(cells[LATITUDE], &latitude_deg) &&
        stv_slice_number(cells[LONGITUDE], &longitude_deg))
        (void)stv__weather_site(file, latitude_deg, longitude_deg, (double)NAN);
    snprintf(file->meta.source, sizeof file->meta.source, "NOAA USCRN, station %.*s",
             (int)cells[WBAN].n, cells[WBAN].text);
}

/* Two codes for "no value" stand in one column where a file was made from another. */
static bool is_other_code(struct stv_slice cell)
{
    double number;
    return stv_slice_number(cell, &number) && (number <= -9999.0 || number == -99.0);
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_slice cells[HOURLY_FIELDS];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ' ', cells, HOURLY_FIELDS);
    if (!is_row(cells, n)) {
        stv__weather_row_aside(file, line, line->all,
                               "has not the fields of an hour or of five minutes: not used");
        return;
    }
    read_place(file, cells);
    (void)stamp_of(cells[UTC_DATE], cells[UTC_TIME], &row.time_s);
    const struct field *fields = n == HOURLY_FIELDS ? hourly : fine;
    size_t n_fields =
        n == HOURLY_FIELDS ? sizeof hourly / sizeof hourly[0] : sizeof fine / sizeof fine[0];
    for (size_t i = 0; i < n_fields; i++) {
        if (is_other_code(cells[fields[i].cell]))
            continue;
        double value = stv__weather_value(file, line, cells[fields[i].cell], fields[i].want);
        bool is_bad = fields[i].flag != NO_FLAG && !stv_slice_is(cells[fields[i].flag], "0");
        if (is_bad && !isnan(value))
            stv__weather_flagged(file, line, fields[i].want.quantity, cells[fields[i].flag]);
        else
            row.values[fields[i].want.quantity] = value;
    }
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    if (!stv__weather_begin(file,
                            STV_SAMPLES_BIT(STV_WQ_TEMP_C) | STV_SAMPLES_BIT(STV_WQ_GHI_W_M2) |
                                STV_SAMPLES_BIT(STV_WQ_RH_FRAC) | STV_SAMPLES_BIT(STV_WQ_WIND_M_S)))
        return file->status;
    stv__weather_hour_ending(file);
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "UTC, each interval at its end");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line);
    if (!file->meta.clock[0])
        stv__weather_clock(file, 0.0);
    return file->status;
}

const struct stv_weather_format stv__format_uscrn = {"NOAA USCRN", is_mine, read};
