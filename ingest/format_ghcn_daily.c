/* GHCN-Daily as its .dly files: a line for each month and element, 31 groups of eight columns.
 * Files laid behind one another hold several stations, of which one is read.
 *
 * Tenths of C; any quality flag means a failed check and the value is not used.  A day is the
 * station's own observing day: at a cooperative station that is read in the morning the highest
 * belongs to the afternoon before, which no column tells.  Lines may have lost the blanks at their
 * end.
 * Source: NOAA, GHCN-Daily readme. */
#include "ingest/ghcn_elements.h"

#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>

#define DAYS 31
#define FIRST_GROUP 22
#define GROUP 8
#define VALUE 5
#define QUALITY 6 /* in the group, counted from 0 */
#define LEAST_COLUMNS 26
#define MOST_COLUMNS 269
#define ID_COLUMNS 11

static bool is_record(struct stv_slice line)
{
    if (line.n < LEAST_COLUMNS || line.n > MOST_COLUMNS + 1)
        return false;
    for (size_t i = 0; i < 21; i++) {
        unsigned char letter = (unsigned char)line.text[i];
        bool is_number = i >= 11 && i < 17;
        if (is_number ? !isdigit(letter) : !isalnum(letter))
            return false;
    }
    return isalpha((unsigned char)line.text[17]) && isalpha((unsigned char)line.text[0]);
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    int32_t value;
    (void)n_lines;
    return is_record(lines[0].all) &&
           stv_slice_int(stv_line_columns(lines[0].all, FIRST_GROUP, FIRST_GROUP + VALUE - 1),
                         &value);
}

/* Values of one month's line, each a row of its own; the same day's rows are put together later. */
static void read_month(struct stv_weather_text *file, const struct stv_line *line,
                       struct stv_weather_want want)
{
    int32_t year, month;
    int64_t time_s;
    (void)stv_slice_int(stv_line_columns(line->all, 12, 15), &year);
    (void)stv_slice_int(stv_line_columns(line->all, 16, 17), &month);
    for (int32_t day = 1; day <= DAYS; day++) {
        size_t from = (size_t)(FIRST_GROUP + GROUP * (day - 1));
        struct stv_slice cell = stv_line_columns(line->all, from, from + VALUE - 1);
        if (cell.n > 0 && line->all.n < from + VALUE - 1) {
            stv__weather_row_aside(file, line, cell, "the line is cut within a value: not used");
            return;
        }
        double value = stv__weather_value(file, line, cell, want);
        if (isnan(value))
            continue;
        struct stv_slice quality = stv_line_columns(line->all, from + QUALITY, from + QUALITY);
        if (quality.n > 0) {
            stv__weather_flagged(file, line, want.quantity, quality);
            continue;
        }
        struct stv_weather_row row = stv__weather_row();
        if (!stv__weather_time(year, month, day, 0, 0, &time_s)) {
            stv__weather_row_aside(file, line, cell, "a value for a day that the month has not");
            continue;
        }
        row.time_s = time_s;
        row.values[want.quantity] = value;
        stv__weather_take(file, line, &row);
    }
}

static struct stv_slice station_of(const struct stv_line *line, const void *context)
{
    (void)context;
    return (struct stv_slice){line->all.text, is_record(line->all) ? ID_COLUMNS : 0};
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_weather_want want;
    char station[STV_NAME_MAX];
    enum stv_status status = stv__ghcn_choose(file, lines, station_of, NULL, station);
    if (status != STV_OK)
        return status;
    if (!stv__weather_begin(file, stv__ghcn_quantities()))
        return file->status;
    while (stv_lines_next(&lines, &line)) {
        if (!is_record(line.all))
            stv__weather_row_aside(file, &line, line.all,
                                   "is no month of a station's element: not used");
        else if (stv_slice_is(station_of(&line, NULL), station) &&
                 stv__ghcn_element(stv_line_columns(line.all, 18, 21), &want))
            read_month(file, &line, want);
    }
    snprintf(file->meta.source, sizeof file->meta.source, "NOAA GHCN-Daily, station %s", station);
    stv__ghcn_finish(file);
    return file->status;
}

const struct stv_weather_format stv__format_ghcn_daily = {"NOAA GHCN-Daily (.dly)", is_mine, read};
