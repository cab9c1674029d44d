/* TMY3: a typical year as CSV, each month taken from another year.
 *
 * Local standard time, the zone in the first line; a stamp is the end of its hour, 01:00 to 24:00.
 * Some vendors write 00:00 for 24:00, under the old date or the new one; the row before tells.
 * Source: Wilcox and Marion 2008, NREL/TP-581-43156, users manual for TMY3; -9900 from memory. */
#include "ingest/weather_columns.h"

#include "ingest/clock.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define CELLS_MAX 80
#define PLACE_CELLS 7
#define MINUTE_S 60
#define MISSING (-9900.0)

static const struct stv_weather_known known[] = {
    {"Dry-bulb (C)", {STV_WQ_TEMP_C, 1.0, 0.0, MISSING}},
    {"Dew-point (C)", {STV_WQ_DEW_POINT_C, 1.0, 0.0, MISSING}},
    {"RHum (%)", {STV_WQ_RH_FRAC, 0.01, 0.0, MISSING}},
    {"Pressure (mbar)", {STV_WQ_PRESSURE_PA, 100.0, 0.0, MISSING}},
    {"Wspd (m/s)", {STV_WQ_WIND_M_S, 1.0, 0.0, MISSING}},
    {"GHI (W/m^2)", {STV_WQ_GHI_W_M2, 1.0, 0.0, MISSING}},
    {"DNI (W/m^2)", {STV_WQ_DNI_W_M2, 1.0, 0.0, MISSING}},
    {"DHI (W/m^2)", {STV_WQ_DHI_W_M2, 1.0, 0.0, MISSING}},
    {"TotCld (tenths)", {STV_WQ_CLOUD_FRAC, 0.1, 0.0, MISSING}},
};
#define N_KNOWN (sizeof known / sizeof known[0])

struct table {
    struct stv_weather_columns columns;
    size_t n_cells;
    int32_t last_day; /* day of the month of the row before; 0 at the start */
    int64_t offset_s;
};

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cell;
    return n_lines > 1 && stv_line_cells(lines[1].all, ',', &cell, 1) > 1 &&
           stv_slice_is(cell, "Date (MM/DD/YYYY)");
}

/* USAF, "name", state, zone in hours, latitude, longitude, elevation */
static enum stv_status read_place(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_slice cells[PLACE_CELLS];
    double number[4];
    size_t n = stv_line_cells(line->all, ',', cells, PLACE_CELLS);
    for (size_t i = 0; i < 4; i++)
        if (i + 3 >= n || !stv_slice_number(cells[i + 3], &number[i]))
            number[i] = (double)NAN;
    if (!(fabs(number[0]) <= 14.0))
        return stv__weather_refuse(file, line->number, n > 3 ? cells[3] : line->all,
                                   "the first line has no time zone in hours as its fourth field");
    stv__weather_clock(file, number[0]);
    (void)stv__weather_site(file, number[1], number[2], number[3]);
    if (n > 1)
        snprintf(file->meta.source, sizeof file->meta.source, "TMY3, %.*s",
                 (int)(cells[1].n < 80 ? cells[1].n : 80), cells[1].text);
    return STV_OK;
}

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    out->n_cells = n;
    out->columns = stv__weather_columns_find(known, N_KNOWN, cells, n < CELLS_MAX ? n : CELLS_MAX);
    return out->columns.cell[0] != SIZE_MAX;
}

/* MM/DD/YYYY and HH:MM as the end of an hour; a spreadsheet leaves out leading zeros. */
static bool row_time(struct stv_slice date, struct stv_slice time, struct table *table,
                     int64_t *out_s)
{
    struct stv_slice dates[3], times[2];
    int32_t month, day, hour;
    if (stv_line_cells(date, '/', dates, 3) != 3 || stv_line_cells(time, ':', times, 2) < 2 ||
        !stv_slice_int(dates[0], &month) || !stv_slice_int(dates[1], &day) ||
        !stv_slice_int(times[0], &hour))
        return false;
    bool is_late_midnight = hour == 0 && table->last_day == day;
    table->last_day = day;
    if (hour != 0)
        return stv__weather_typical_time(month, day, hour, out_s);
    if (is_late_midnight)
        return stv__weather_typical_time(month, day, 24, out_s);
    /* Midnight under the new date: the last hour of the day before, at New Year of the same year.
     */
    if (month == 1 && day == 1)
        return stv__weather_typical_time(12, 31, 24, out_s);
    bool is_good = stv__weather_typical_time(month, day, 1, out_s);
    *out_s -= is_good ? STV_HOUR_S : 0;
    return is_good;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    bool is_cut = n <= table->columns.cell[0] || (!line->has_end && n < table->n_cells);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (is_cut || !row_time(cells[0], cells[1], table, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "no month, day and hour of a typical year, or cut short: not used");
        return;
    }
    row.time_s -= table->offset_s;
    stv__weather_columns_read(&table->columns, file, line, cells, n, &row);
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_clock clock;
    struct table table = {.last_day = 0};
    if (!stv_lines_next(&lines, &line))
        return STV_E_PARSE;
    enum stv_status status = read_place(file, &line);
    if (status == STV_OK)
        status = stv_clock_parse(file->meta.clock, &clock, NULL, 0);
    if (status != STV_OK)
        return status;
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return stv__weather_refuse(file, 2, stv_slice_of("Dry-bulb (C)"),
                                   "the header has no such column");
    if (!stv__weather_begin(file, table.columns.quantities))
        return file->status;
    file->meta.is_typical = true;
    table.offset_s = (int64_t)clock.standard_offset_min * MINUTE_S;
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "local standard time, each hour at its end");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    return file->status;
}

const struct stv_weather_format stv__format_tmy3 = {"TMY3", is_mine, read};
