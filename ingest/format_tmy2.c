/* TMY2: a typical year in fixed columns behind one line with the station.
 *
 * Local standard time; a record is the hour that ends at its hour, 1 to 24; years are of two
 * digits and mean nothing.  Tenths where a point would stand.
 * Source: Marion and Urban 1995, users manual for TMY2s, NREL; columns checked on a file. */
#include "ingest/weather_format.h"

#include "ingest/clock.h"
#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>

#define RECORD_COLUMNS 142
#define RECORD_LEAST 98 /* to the wind speed */
#define MINUTE_S 60
#define HEAD_CELLS 16

static const struct {
    size_t from, to;
    struct stv_weather_want want;
} wanted[] = {
    {68, 71, {STV_WQ_TEMP_C, 0.1, 0.0, 9999.0}},
    {74, 77, {STV_WQ_DEW_POINT_C, 0.1, 0.0, 9999.0}},
    {80, 82, {STV_WQ_RH_FRAC, 0.01, 0.0, 999.0}},
    {85, 88, {STV_WQ_PRESSURE_PA, 100.0, 0.0, 9999.0}},
    {96, 98, {STV_WQ_WIND_M_S, 0.1, 0.0, 999.0}},
    {18, 21, {STV_WQ_GHI_W_M2, 1.0, 0.0, 9999.0}},
    {24, 27, {STV_WQ_DNI_W_M2, 1.0, 0.0, 9999.0}},
    {30, 33, {STV_WQ_DHI_W_M2, 1.0, 0.0, 9999.0}},
    {60, 61, {STV_WQ_CLOUD_FRAC, 0.1, 0.0, 99.0}},
};
#define N_WANTED (sizeof wanted / sizeof wanted[0])

static bool is_record(struct stv_slice line)
{
    if (line.n < RECORD_LEAST || line.n > RECORD_COLUMNS + 2 || line.text[0] != ' ')
        return false;
    for (size_t i = 1; i < 21; i++)
        if (!isdigit((unsigned char)line.text[i]))
            return false;
    return true;
}

/* WBAN city state zone N degrees minutes W degrees minutes elevation */
static bool read_head(const struct stv_line *line, struct stv_slice cells[HEAD_CELLS],
                      size_t *out_first)
{
    size_t n = stv_line_cells(line->all, ' ', cells, HEAD_CELLS);
    int32_t number;
    if (n < 10 || n > HEAD_CELLS || !stv_slice_int(cells[0], &number))
        return false;
    for (size_t i = 3; i + 6 < n; i++)
        if ((stv_slice_is(cells[i], "N") || stv_slice_is(cells[i], "S")) &&
            (stv_slice_is(cells[i + 3], "E") || stv_slice_is(cells[i + 3], "W"))) {
            *out_first = i - 1;
            return true;
        }
    return false;
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cells[HEAD_CELLS];
    size_t first;
    return n_lines > 1 && read_head(&lines[0], cells, &first) && is_record(lines[1].all);
}

static enum stv_status read_place(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_slice cells[HEAD_CELLS];
    double number[6]; /* zone, degrees, minutes, degrees, minutes, elevation */
    static const size_t at[6] = {0, 2, 3, 5, 6, 7};
    size_t first;
    if (!read_head(line, cells, &first))
        return STV_E_PARSE;
    for (size_t i = 0; i < 6; i++)
        if (!stv_slice_number(cells[first + at[i]], &number[i]))
            number[i] = (double)NAN;
    if (!(fabs(number[0]) <= 14.0))
        return stv__weather_refuse(file, line->number, cells[first],
                                   "the first line has no time zone in hours");
    double latitude_deg = number[1] + number[2] / 60.0,
           longitude_deg = number[3] + number[4] / 60.0;
    if (stv_slice_is(cells[first + 1], "S"))
        latitude_deg = -latitude_deg;
    if (stv_slice_is(cells[first + 4], "W"))
        longitude_deg = -longitude_deg;
    stv__weather_clock(file, number[0]);
    (void)stv__weather_site(file, latitude_deg, longitude_deg, number[5]);
    snprintf(file->meta.source, sizeof file->meta.source, "TMY2, station %.*s, %.*s",
             (int)(cells[0].n < 12 ? cells[0].n : 12), cells[0].text,
             (int)(cells[1].n < 40 ? cells[1].n : 40), cells[1].text);
    return STV_OK;
}

static void read_record(struct stv_weather_text *file, const struct stv_line *line,
                        int64_t offset_s)
{
    struct stv_weather_row row = stv__weather_row();
    int32_t month, day, hour;
    if (!is_record(line->all) || !stv_slice_int(stv_line_columns(line->all, 4, 5), &month) ||
        !stv_slice_int(stv_line_columns(line->all, 6, 7), &day) ||
        !stv_slice_int(stv_line_columns(line->all, 8, 9), &hour) ||
        !stv__weather_typical_time(month, day, hour, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "is no whole record of an hour of a typical year: not used");
        return;
    }
    row.time_s -= offset_s;
    for (size_t i = 0; i < N_WANTED; i++)
        row.values[wanted[i].want.quantity] = stv__weather_value(
            file, line, stv_line_columns(line->all, wanted[i].from, wanted[i].to), wanted[i].want);
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_clock clock;
    unsigned set = 0;
    if (!stv_lines_next(&lines, &line))
        return STV_E_PARSE;
    enum stv_status status = read_place(file, &line);
    if (status == STV_OK)
        status = stv_clock_parse(file->meta.clock, &clock, NULL, 0);
    if (status != STV_OK)
        return status;
    for (size_t i = 0; i < N_WANTED; i++)
        set |= STV_SAMPLES_BIT(wanted[i].want.quantity);
    if (!stv__weather_begin(file, set))
        return file->status;
    file->meta.is_typical = true;
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "local standard time, each hour at its end");
    while (stv_lines_next(&lines, &line))
        read_record(file, &line, (int64_t)clock.standard_offset_min * MINUTE_S);
    return file->status;
}

const struct stv_weather_format stv__format_tmy2 = {"TMY2", is_mine, read};
