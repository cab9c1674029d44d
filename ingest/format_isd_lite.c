/* ISD-Lite: twelve whole numbers an hour, blank-separated, tenths, -9999 for missing.
 *
 * UTC; a stamp is the nearest whole hour of a report that was made in the ten minutes before it.
 * Hours without a report have no line.  The file does not name its station's place.
 * Source: NOAA, Integrated Surface Data - Lite, format documentation, 2006; UTC from memory. */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define CELLS 12
#define CELLS_LEAST 8 /* to the cloud cover; without rain in older copies */
#define YEAR_LEAST 1880
#define YEAR_MOST 2150
#define OKTAS 8.0

enum { YEAR, MONTH, DAY, HOUR, TEMPERATURE, DEW_POINT, WIND = 8, SKY = 9 };

static bool read_cells(struct stv_slice line, struct stv_slice cells[CELLS], size_t *out_n)
{
    int32_t number;
    *out_n = stv_line_cells(line, ' ', cells, CELLS);
    if (*out_n < CELLS_LEAST || *out_n > CELLS)
        return false;
    for (size_t i = 0; i < *out_n; i++)
        if (!stv_slice_int(cells[i], &number))
            return false;
    return cells[YEAR].n == 4;
}

static bool row_time(const struct stv_slice *cells, int64_t *out_s)
{
    int32_t at[4];
    for (size_t i = 0; i < 4; i++)
        if (!stv_slice_int(cells[i], &at[i]))
            return false;
    return at[YEAR] >= YEAR_LEAST && at[YEAR] <= YEAR_MOST &&
           stv__weather_time(at[YEAR], at[MONTH], at[DAY], at[HOUR], 0, out_s);
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cells[CELLS];
    int64_t time_s;
    size_t n;
    for (size_t i = 0; i < n_lines && i < 3; i++)
        if (!read_cells(lines[i].all, cells, &n) || n != CELLS || !row_time(cells, &time_s))
            return false;
    return true;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_slice cells[CELLS];
    struct stv_weather_row row = stv__weather_row();
    size_t n;
    if (!read_cells(line->all, cells, &n) || !row_time(cells, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "is not a year, month, day and hour with eight numbers: not used");
        return;
    }
    row.values[STV_WQ_TEMP_C] =
        stv__weather_value(file, line, cells[TEMPERATURE],
                           (struct stv_weather_want){STV_WQ_TEMP_C, 0.1, 0.0, -9999.0});
    row.values[STV_WQ_DEW_POINT_C] =
        stv__weather_value(file, line, cells[DEW_POINT],
                           (struct stv_weather_want){STV_WQ_DEW_POINT_C, 0.1, 0.0, -9999.0});
    if (WIND < n)
        row.values[STV_WQ_WIND_M_S] = stv__weather_value(
            file, line, cells[WIND], (struct stv_weather_want){STV_WQ_WIND_M_S, 0.1, 0.0, -9999.0});
    double oktas;
    if (SKY < n && stv_slice_number(cells[SKY], &oktas) && oktas >= 0.0 && oktas <= OKTAS)
        row.values[STV_WQ_CLOUD_FRAC] =
            oktas / OKTAS; /* 9 and above mean that nobody saw the sky */
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    if (!stv__weather_begin(
            file, STV_SAMPLES_BIT(STV_WQ_TEMP_C) | STV_SAMPLES_BIT(STV_WQ_DEW_POINT_C) |
                      STV_SAMPLES_BIT(STV_WQ_WIND_M_S) | STV_SAMPLES_BIT(STV_WQ_CLOUD_FRAC)))
        return file->status;
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.source, sizeof file->meta.source, "NOAA ISD-Lite");
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "UTC, the hour of a report just before it");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line);
    return file->status;
}

const struct stv_weather_format stv__format_isd_lite = {"NOAA ISD-Lite", is_mine, read};
