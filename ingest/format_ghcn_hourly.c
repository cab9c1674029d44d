/* GHCN-Hourly: reports of a station between bars, each variable with its codes behind it.
 *
 * UTC.  Names of columns are found whatever their case; a file has DATE or Year to Minute.  Quality
 * codes differ by source: digits say how good, letters which check failed.  Blank, 0, 1, 4, 5, 9
 * and A pass; all else is taken as the service's own doubt. Source: NOAA, GHCN-Hourly
 * documentation, as summarised by its users. */
#include "ingest/isd_codes.h"
#include "ingest/noaa_station.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 400
#define LEAST_C (-900.0) /* readers of these files met such codes */

static const struct {
    const char *name, *quality, *type;
    struct stv_weather_want want;
} known[] = {
    {"temperature",
     "temperature_Quality_Code",
     "temperature_Report_Type",
     {STV_WQ_TEMP_C, 1.0, 0.0, -9999.0}},
    {"dew_point_temperature",
     "dew_point_temperature_Quality_Code",
     "dew_point_temperature_Report_Type",
     {STV_WQ_DEW_POINT_C, 1.0, 0.0, -9999.0}},
    {"relative_humidity",
     "relative_humidity_Quality_Code",
     "relative_humidity_Report_Type",
     {STV_WQ_RH_FRAC, 0.01, 0.0, -9999.0}},
    {"station_level_pressure",
     "station_level_pressure_Quality_Code",
     "station_level_pressure_Report_Type",
     {STV_WQ_PRESSURE_PA, 100.0, 0.0, -9999.0}},
    {"wind_speed",
     "wind_speed_Quality_Code",
     "wind_speed_Report_Type",
     {STV_WQ_WIND_M_S, 1.0, 0.0, -9999.0}},
};
#define N_KNOWN (sizeof known / sizeof known[0])
enum { YEAR, MONTH, DAY, HOUR, MINUTE, N_TIME };

struct table {
    struct stv__noaa_station station;
    size_t date;
    size_t time[N_TIME], cell[N_KNOWN], quality[N_KNOWN], type[N_KNOWN];
};

static bool read_header(const struct stv_line *line, struct table *out)
{
    static const char *const time_names[N_TIME] = {"Year", "Month", "Day", "Hour", "Minute"};
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, '|', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    out->station = stv__noaa_station_find(cells, n);
    out->date = stv_slice_find(cells, n, "DATE");
    bool has_time = true;
    for (size_t i = 0; i < N_TIME; i++) {
        out->time[i] = stv_slice_find(cells, n, time_names[i]);
        has_time = has_time && out->time[i] != SIZE_MAX;
    }
    for (size_t i = 0; i < N_KNOWN; i++) {
        out->cell[i] = stv_slice_find(cells, n, known[i].name);
        out->quality[i] = stv_slice_find(cells, n, known[i].quality);
        out->type[i] = stv_slice_find(cells, n, known[i].type);
    }
    return out->station.station != SIZE_MAX && out->cell[0] != SIZE_MAX &&
           (has_time || out->date != SIZE_MAX);
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct table table;
    (void)n_lines;
    return stv_slice_has(lines[0].all, "|") && read_header(&lines[0], &table);
}

static bool row_time(const struct table *table, const struct stv_slice *cells, size_t n,
                     int64_t *out_s)
{
    int32_t at[N_TIME];
    if (table->date < n && stv__weather_stamp(cells[table->date], out_s))
        return true;
    for (size_t i = 0; i < N_TIME; i++)
        if (table->time[i] >= n || !stv_slice_int(cells[table->time[i]], &at[i]))
            return false;
    return stv__weather_time(at[YEAR], at[MONTH], at[DAY], at[HOUR], at[MINUTE], out_s);
}

static bool passes(struct stv_slice quality)
{
    return quality.n == 0 || (quality.n == 1 && strchr("01459A", quality.text[0]));
}

static double read_value(struct stv_weather_text *file, const struct stv_line *line,
                         const struct table *table, const struct stv_slice *cells, size_t n,
                         size_t i)
{
    double number;
    if (table->cell[i] >= n ||
        (stv_slice_number(cells[table->cell[i]], &number) && number < LEAST_C))
        return (double)NAN;
    double value = stv__weather_value(file, line, cells[table->cell[i]], known[i].want);
    if (isnan(value) || table->quality[i] >= n || passes(cells[table->quality[i]]))
        return value;
    stv__weather_flagged(file, line, known[i].want.quantity, cells[table->quality[i]]);
    return (double)NAN;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, '|', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (n <= table->station.station || !row_time(table, cells, n, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no station and time: the row is not used");
        return;
    }
    struct stv_slice type = table->type[0] < n ? cells[table->type[0]] : (struct stv_slice){"", 0};
    if (stv__isd_is_summary(type))
        return;
    stv__noaa_station_take(file, "NOAA GHCN-Hourly", &table->station, cells, n);
    for (size_t i = 0; i < N_KNOWN; i++)
        row.values[known[i].want.quantity] = read_value(file, line, table, cells, n, i);
    stv__weather_take_ranked(file, line, &row, type.n ? stv__isd_rank(type) : 0);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table;
    unsigned set = 0;
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return STV_E_PARSE;
    for (size_t i = 0; i < N_KNOWN; i++)
        set |= table.cell[i] != SIZE_MAX ? STV_SAMPLES_BIT(known[i].want.quantity) : 0u;
    if (!stv__weather_begin(file, set))
        return file->status;
    file->has_reports = true;
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "UTC, each report at its minute");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    return file->status;
}

const struct stv_weather_format stv__format_ghcn_hourly = {"NOAA GHCN-Hourly", is_mine, read};
