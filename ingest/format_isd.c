/* Raw integrated surface data: lines of fixed columns with a tail of groups that is not read.
 *
 * UTC, each report at its minute.  Several reports may stand in one hour, even in one minute.
 * Source: NOAA, Federal Climate Complex data documentation for integrated surface data: columns,
 * scales and missing codes. */
#include "ingest/weather_format.h"

#include "ingest/isd_codes.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>

#define CONTROL_COLUMNS 105 /* before the tail */
#define TENTH 0.1

static const struct {
    size_t from, to;
    struct stv_weather_want want;
} wanted[] = {
    {88, 92, {STV_WQ_TEMP_C, TENTH, 0.0, 9999.0}},
    {94, 98, {STV_WQ_DEW_POINT_C, TENTH, 0.0, 9999.0}},
    {66, 69, {STV_WQ_WIND_M_S, TENTH, 0.0, 9999.0}},
};
#define N_WANTED (sizeof wanted / sizeof wanted[0])

static bool are_digits(struct stv_slice line, size_t from, size_t to)
{
    for (size_t i = from - 1; i < to; i++)
        if (!isdigit((unsigned char)line.text[i]))
            return false;
    return true;
}

static bool is_record(struct stv_slice line)
{
    return line.n >= CONTROL_COLUMNS && are_digits(line, 1, 4) && are_digits(line, 11, 27) &&
           (line.text[28] == '+' || line.text[28] == '-') &&
           (line.text[34] == '+' || line.text[34] == '-');
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    (void)n_lines;
    return is_record(lines[0].all);
}

static bool record_time(struct stv_slice line, int64_t *out_s)
{
    int32_t at[5];
    static const size_t from[5] = {16, 20, 22, 24, 26}, to[5] = {19, 21, 23, 25, 27};
    for (size_t i = 0; i < 5; i++)
        if (!stv_slice_int(stv_line_columns(line, from[i], to[i]), &at[i]))
            return false;
    return stv__weather_time(at[0], at[1], at[2], at[3], at[4], out_s);
}

static void read_place(struct stv_weather_text *file, struct stv_slice line)
{
    double latitude, longitude, elevation_m;
    if (file->meta.has_site || !stv_slice_number(stv_line_columns(line, 29, 34), &latitude) ||
        !stv_slice_number(stv_line_columns(line, 35, 41), &longitude))
        return;
    if (!stv_slice_number(stv_line_columns(line, 47, 51), &elevation_m) || elevation_m == 9999.0)
        elevation_m = (double)NAN;
    if (stv__weather_site(file, latitude / 1000.0, longitude / 1000.0, elevation_m))
        snprintf(file->meta.source, sizeof file->meta.source,
                 "NOAA integrated surface data, station %.6s-%.5s", line.text + 4, line.text + 10);
}

static void read_record(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_weather_row row = stv__weather_row();
    struct stv_slice type = stv_line_columns(line->all, 42, 46);
    if (!is_record(line->all) || !record_time(line->all, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "is no whole record of a report: not used");
        return;
    }
    if (stv__isd_is_summary(type))
        return;
    read_place(file, line->all);
    for (size_t i = 0; i < N_WANTED; i++) {
        struct stv_slice cell = stv_line_columns(line->all, wanted[i].from, wanted[i].to);
        struct stv_slice code = {line->all.text + wanted[i].to, 1};
        double value = stv__weather_value(file, line, cell, wanted[i].want);
        if (isnan(value))
            continue;
        if (stv__isd_is_good(code.text[0]))
            row.values[wanted[i].want.quantity] = value;
        else
            stv__weather_flagged(file, line, wanted[i].want.quantity, code);
    }
    stv__weather_take_ranked(file, line, &row, stv__isd_rank(type));
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
    file->has_reports = true;
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.licence, sizeof file->meta.licence,
             "public domain (US government; WMO Resolution 40 for others, from memory)");
    snprintf(file->stamps, sizeof file->stamps, "UTC, each report at its minute");
    while (stv_lines_next(&lines, &line))
        read_record(file, &line);
    return file->status;
}

const struct stv_weather_format stv__format_isd = {"NOAA integrated surface data", is_mine, read};
