/* Global Hourly: integrated surface data as CSV, fields of several parts in one quoted cell.
 *
 * UTC, each report at its minute.  TMP is "+0020,1": tenths and a quality code; the access service
 * may serve plain degrees instead, which have no comma.  Coordinates of 0, 0 and a height beyond
 * any station's stand where nobody knew them.
 * Source: NOAA, Global Hourly CSV documentation and Federal Climate Complex data documentation;
 * the plain form of the access service from memory. */
#include "ingest/isd_codes.h"
#include "ingest/noaa_station.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 256
#define ELEVATION_MOST_M 6000.0
#define PARTS 5

struct table {
    struct stv__noaa_station station;
    size_t date, type, temperature, dew_point, wind;
};

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    *out = (struct table){.station = stv__noaa_station_find(cells, n),
                          .date = stv_slice_find(cells, n, "DATE"),
                          .type = stv_slice_find(cells, n, "REPORT_TYPE"),
                          .temperature = stv_slice_find(cells, n, "TMP"),
                          .dew_point = stv_slice_find(cells, n, "DEW"),
                          .wind = stv_slice_find(cells, n, "WND")};
    return out->station.station != SIZE_MAX && out->date != SIZE_MAX &&
           out->temperature != SIZE_MAX;
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct table table;
    (void)n_lines;
    return read_header(&lines[0], &table);
}

/* Value and quality of a composite cell; number and code are the parts of that index. */
static double composite(struct stv_weather_text *file, const struct stv_line *line,
                        struct stv_slice cell, const size_t part[2], struct stv_weather_want want)
{
    struct stv_slice parts[PARTS];
    size_t n = stv_line_cells(cell, ',', parts, PARTS);
    if (n == 1) { /* the access service's plain degrees */
        want.factor = 1.0;
        want.missing = (double)NAN;
        return stv__weather_value(file, line, cell, want);
    }
    if (part[1] >= n || part[1] >= PARTS)
        return (double)NAN;
    double value = stv__weather_value(file, line, parts[part[0]], want);
    if (isnan(value) || (parts[part[1]].n == 1 && stv__isd_is_good(parts[part[1]].text[0])))
        return value;
    stv__weather_flagged(file, line, want.quantity, parts[part[1]]);
    return (double)NAN;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table)
{
    static const size_t value_and_code[2] = {0, 1}, speed_and_code[2] = {3, 4};
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    struct stv_slice type = stv__cell_of(cells, n, table->type);
    if (stv__isd_is_summary(type))
        return;
    if (n <= table->temperature || n <= table->date ||
        !stv__weather_stamp(cells[table->date], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "no date, or fewer cells than the header: the row is not used");
        return;
    }
    stv__noaa_station_take(file, "NOAA Global Hourly", &table->station, cells, n);
    row.values[STV_WQ_TEMP_C] =
        composite(file, line, cells[table->temperature], value_and_code,
                  (struct stv_weather_want){STV_WQ_TEMP_C, 0.1, 0.0, 9999.0});
    row.values[STV_WQ_DEW_POINT_C] =
        composite(file, line, stv__cell_of(cells, n, table->dew_point), value_and_code,
                  (struct stv_weather_want){STV_WQ_DEW_POINT_C, 0.1, 0.0, 9999.0});
    if (stv_slice_has(stv__cell_of(cells, n, table->wind), ","))
        row.values[STV_WQ_WIND_M_S] =
            composite(file, line, cells[table->wind], speed_and_code,
                      (struct stv_weather_want){STV_WQ_WIND_M_S, 0.1, 0.0, 9999.0});
    stv__weather_take_ranked(file, line, &row, stv__isd_rank(type));
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table;
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return STV_E_PARSE;
    if (!stv__weather_begin(file, STV_SAMPLES_BIT(STV_WQ_TEMP_C) |
                                      STV_SAMPLES_BIT(STV_WQ_DEW_POINT_C) |
                                      STV_SAMPLES_BIT(STV_WQ_WIND_M_S)))
        return file->status;
    file->has_reports = true;
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.licence, sizeof file->meta.licence,
             "public domain (US government; WMO Resolution 40 for others, from memory)");
    snprintf(file->stamps, sizeof file->stamps, "UTC, each report at its minute");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    return file->status;
}

const struct stv_weather_format stv__format_global_hourly = {"NOAA Global Hourly CSV", is_mine,
                                                             read};
