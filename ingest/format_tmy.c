/* The first typical years: records of 123 characters, no line with the station.
 *
 * A record is the hour that ends at its hour, 1 to 24, in local standard time of a zone that the
 * file does not name.  The sun's hour is counted in solar time and taken for the same hour, wrong
 * by as much as the station's noon lies off the clock's: up to 17 minutes in Denver, three quarters
 * of an hour at the edge of a zone.  Sums of the sun are kJ/m2; of its several global sums the
 * completed one is read.  Humidity is not in the record.
 * Source: National Climatic Center, TMY users manual, tape deck 9734 (from memory); each column
 * checked against the same year of Denver-Stapleton in a second format, 47 hours of five days: air
 * and wind alike to the last digit, sun within the rounding to 1 W/m2. */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>

#define RECORD_COLUMNS 123
#define RECORD_LEAST 118 /* to the wind speed */
#define DIGITS 23        /* station, date, both times and the sun above the air */
#define KJ_H_W (1.0 / 3.6)

static const struct {
    size_t from, to;
    struct stv_weather_want want;
} wanted[] = {
    {104, 107, {STV_WQ_TEMP_C, 0.1, 0.0, 9999.0}},
    {108, 111, {STV_WQ_DEW_POINT_C, 0.1, 0.0, 9999.0}},
    {99, 103, {STV_WQ_PRESSURE_PA, 10.0, 0.0, 99999.0}},
    {115, 118, {STV_WQ_WIND_M_S, 0.1, 0.0, 9999.0}},
    {55, 58, {STV_WQ_GHI_W_M2, KJ_H_W, 0.0, 9999.0}},
    {25, 28, {STV_WQ_DNI_W_M2, KJ_H_W, 0.0, 9999.0}},
};
#define N_WANTED (sizeof wanted / sizeof wanted[0])

static bool is_record(struct stv_slice line)
{
    if (line.n < RECORD_LEAST || line.n > RECORD_COLUMNS)
        return false;
    for (size_t i = 0; i < DIGITS; i++)
        if (!isdigit((unsigned char)line.text[i]))
            return false;
    return true;
}

static bool record_time(struct stv_slice line, int64_t *out_s)
{
    int32_t month, day, hour;
    return stv_slice_int(stv_line_columns(line, 8, 9), &month) &&
           stv_slice_int(stv_line_columns(line, 10, 11), &day) &&
           stv_slice_int(stv_line_columns(line, 12, 13), &hour) &&
           stv__weather_typical_time(month, day, hour, out_s);
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    int64_t time_s;
    for (size_t i = 0; i < n_lines && i < 3; i++)
        if (lines[i].all.n != RECORD_COLUMNS || !is_record(lines[i].all) ||
            !record_time(lines[i].all, &time_s))
            return false;
    return true;
}

static void read_record(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_weather_row row = stv__weather_row();
    if (!is_record(line->all) || !record_time(line->all, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "is no whole record of an hour of a typical year: not used");
        return;
    }
    for (size_t i = 0; i < N_WANTED; i++)
        row.values[wanted[i].want.quantity] = stv__weather_value(
            file, line, stv_line_columns(line->all, wanted[i].from, wanted[i].to), wanted[i].want);
    if (stv_slice_is(stv_line_columns(line->all, 20, 23), "0000"))
        row.values[STV_WQ_DNI_W_M2] = 0.0; /* a night has no beam, though its code says unknown */
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    unsigned set = 0;
    for (size_t i = 0; i < N_WANTED; i++)
        set |= STV_SAMPLES_BIT(wanted[i].want.quantity);
    if (!stv__weather_begin(file, set))
        return file->status;
    file->meta.is_typical = true;
    file->is_local = true;
    snprintf(file->meta.source, sizeof file->meta.source, "TMY, station %.5s", file->text);
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "local standard time, each hour at its end");
    while (stv_lines_next(&lines, &line))
        read_record(file, &line);
    return file->status;
}

const struct stv_weather_format stv__format_tmy = {"TMY", is_mine, read};
