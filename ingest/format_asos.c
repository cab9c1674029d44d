/* Airport reports as the Iowa Environmental Mesonet serves them.
 *
 * Lines of "#DEBUG:" may stand first; then station,valid and what was asked for: tmpf in F or tmpc
 * in C, relh, dwpf or dwpc, sknt in knots or sped in mph, alti.  Missing is M, null or empty as
 * asked; a trace of rain is T.  `valid` is in the zone that was asked for, which the file does not
 * say: UTC unless the asker chose another, so a description's clock wins.
 * Source: Iowa Environmental Mesonet, its ASOS download service and source. */
#include "ingest/weather_columns.h"

#include "ingest/clock.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 64
#define STATIONS_MAX 64
#define KNOT_M_S (1852.0 / 3600.0)
#define MILE_H_M_S (1609.344 / 3600.0)
#define F_FACTOR (1.0 / 1.8)
#define F_OFFSET (-32.0 / 1.8)

static const struct stv_weather_known known[] = {
    {"tmpf", {STV_WQ_TEMP_C, F_FACTOR, F_OFFSET, (double)NAN}},
    {"tmpc", {STV_WQ_TEMP_C, 1.0, 0.0, (double)NAN}},
    {"dwpf", {STV_WQ_DEW_POINT_C, F_FACTOR, F_OFFSET, (double)NAN}},
    {"dwpc", {STV_WQ_DEW_POINT_C, 1.0, 0.0, (double)NAN}},
    {"relh", {STV_WQ_RH_FRAC, 0.01, 0.0, (double)NAN}},
    {"sknt", {STV_WQ_WIND_M_S, KNOT_M_S, 0.0, (double)NAN}},
    {"sped", {STV_WQ_WIND_M_S, MILE_H_M_S, 0.0, (double)NAN}},
};
#define N_KNOWN (sizeof known / sizeof known[0])

struct table {
    char delimiter;
    size_t station, valid, latitude, longitude, elevation;
    struct stv_weather_columns columns;
    char wanted[STV_NAME_MAX];
};

static bool is_remark(const struct stv_line *line)
{
    return line->all.text[0] == '#';
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    size_t i = 0;
    while (i < n_lines && is_remark(&lines[i]))
        i++;
    return i < n_lines && (stv_slice_starts(lines[i].all, "station,valid") ||
                           stv_slice_starts(lines[i].all, "station\tvalid"));
}

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    out->delimiter = stv_slice_has(line->all, "\t") ? '\t' : ',';
    size_t n = stv_line_cells(line->all, out->delimiter, cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    out->station = stv_slice_find(cells, n, "station");
    out->valid = stv_slice_find(cells, n, "valid");
    out->latitude = stv_slice_find(cells, n, "lat");
    out->longitude = stv_slice_find(cells, n, "lon");
    out->elevation = stv_slice_find(cells, n, "elevation");
    out->columns = stv__weather_columns_find(known, N_KNOWN, cells, n);
    return out->columns.quantities & STV_SAMPLES_BIT(STV_WQ_TEMP_C);
}

/* The stations of the file, in its order. */
static size_t list_stations(const struct stv_weather_text *file, const struct table *table,
                            struct stv_slice *out)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_slice cells[CELLS_MAX];
    size_t n_stations = 0;
    while (stv_lines_next(&lines, &line)) {
        size_t n = stv_line_cells(line.all, table->delimiter, cells, table->station + 1);
        char name[STV_NAME_MAX];
        if (is_remark(&line) || n <= table->station ||
            stv_slice_is(cells[table->station], "station"))
            continue;
        stv_slice_copy(cells[table->station], name, sizeof name);
        size_t i = n_stations; /* backwards: rows of one station stand together */
        while (i > 0 && !stv_slice_is(out[i - 1], name))
            i--;
        if (i == 0 && n_stations < STATIONS_MAX)
            out[n_stations++] = cells[table->station];
    }
    return n_stations;
}

static bool is_missing(struct stv_slice cell)
{
    return stv_slice_is(cell, "M") || stv_slice_is(cell, "null");
}

static void read_place(struct stv_weather_text *file, const struct table *table,
                       const struct stv_slice *cells, size_t n)
{
    double latitude_deg, longitude_deg, elevation_m = (double)NAN;
    if (file->meta.has_site || table->latitude >= n || table->longitude >= n ||
        !stv_slice_number(cells[table->latitude], &latitude_deg) ||
        !stv_slice_number(cells[table->longitude], &longitude_deg))
        return;
    if (table->elevation < n)
        (void)stv_slice_number(cells[table->elevation], &elevation_m);
    (void)stv__weather_site(file, latitude_deg, longitude_deg, elevation_m);
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, table->delimiter, cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (table->station < n && !stv_slice_is(cells[table->station], table->wanted))
        return;
    if (table->valid >= n || !stv__weather_stamp(cells[table->valid], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no station and time: the row is not used");
        return;
    }
    read_place(file, table, cells, n);
    for (size_t i = 0; i < n; i++)
        cells[i].n = is_missing(cells[i]) ? 0 : cells[i].n;
    stv__weather_columns_read(&table->columns, file, line, cells, n, &row);
    stv__weather_take(file, line, &row);
}

static enum stv_status read_rows(struct stv_weather_text *file, struct stv_lines *lines,
                                 struct table *table)
{
    struct stv_slice stations[STATIONS_MAX];
    struct stv_line line;
    size_t idx, n_stations = list_stations(file, table, stations);
    if (n_stations == 0)
        return STV_OK;
    enum stv_status status = stv__weather_choose(file, stations, n_stations, &idx);
    if (status != STV_OK)
        return status;
    stv_slice_copy(stations[idx], table->wanted, sizeof table->wanted);
    while (stv_lines_next(lines, &line))
        if (!is_remark(&line))
            read_row(file, &line, table);
    snprintf(file->meta.source, sizeof file->meta.source, "%s, %s",
             "ASOS reports, Iowa Environmental Mesonet", table->wanted);
    return file->status;
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table = {0};
    while (stv_lines_next(&lines, &line) && is_remark(&line))
        continue;
    if (!read_header(&line, &table))
        return stv__weather_refuse(file, line.number, line.all,
                                   "no temperature (tmpf or tmpc) among the columns: ask the "
                                   "service for it");
    if (!stv__weather_begin(file, table.columns.quantities))
        return file->status;
    file->has_reports = true;
    file->is_local = true; /* of the zone asked for; UTC when nobody says another */
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->stamps, sizeof file->stamps,
             "each report at its minute, in the zone asked of the service: UTC unless said");
    return read_rows(file, &lines, &table);
}

const struct stv_weather_format stv__format_asos = {"ASOS CSV, Iowa Environmental Mesonet", is_mine,
                                                    read};
