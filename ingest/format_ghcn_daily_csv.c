/* GHCN-Daily as the access service's CSV: a row for each day, a column for each element and one for
 * its flags, "M,Q,S".
 *
 * Tenths of C, often padded with blanks; an export with metric units gives whole degrees with a
 * point instead.  A point anywhere in the temperatures decides for degrees.
 * Source: NOAA, GHCN-Daily access CSV (column names from memory). */
#include "ingest/ghcn_elements.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 256
#define COLUMNS_MAX 16

struct column {
    size_t cell, flags; /* flags SIZE_MAX when there are none */
    struct stv_weather_want want;
};
struct table {
    size_t station, date, latitude, longitude, elevation, name;
    struct column columns[COLUMNS_MAX];
    size_t n_columns;
};

static size_t flags_of(const struct stv_slice *cells, size_t n, struct stv_slice element)
{
    char name[32];
    int used = snprintf(name, sizeof name, "%.*s_ATTRIBUTES", (int)element.n, element.text);
    return used > 0 && (size_t)used < sizeof name ? stv_slice_find(cells, n, name) : SIZE_MAX;
}

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    *out = (struct table){.station = stv_slice_find(cells, n, "STATION"),
                          .date = stv_slice_find(cells, n, "DATE"),
                          .latitude = stv_slice_find(cells, n, "LATITUDE"),
                          .longitude = stv_slice_find(cells, n, "LONGITUDE"),
                          .elevation = stv_slice_find(cells, n, "ELEVATION"),
                          .name = stv_slice_find(cells, n, "NAME")};
    bool has_temperature = false;
    for (size_t i = 0; i < n && out->n_columns < COLUMNS_MAX; i++) {
        struct stv_weather_want want;
        if (!stv__ghcn_element(cells[i], &want))
            continue;
        has_temperature = has_temperature || want.quantity == STV_WQ_TEMP_MAX_C ||
                          want.quantity == STV_WQ_TEMP_MIN_C || want.quantity == STV_WQ_TEMP_C;
        out->columns[out->n_columns++] = (struct column){i, flags_of(cells, n, cells[i]), want};
    }
    return out->station != SIZE_MAX && out->date != SIZE_MAX && has_temperature;
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct table table;
    (void)n_lines;
    return read_header(&lines[0], &table);
}

static bool is_scaled(enum stv_weather_quantity quantity)
{
    return quantity != STV_WQ_RH_FRAC;
}

/* True when the file gives degrees, not tenths. */
static bool has_points(struct stv_lines lines, const struct table *table)
{
    struct stv_line line;
    struct stv_slice cells[CELLS_MAX];
    while (stv_lines_next(&lines, &line)) {
        size_t n = stv_line_cells(line.all, ',', cells, CELLS_MAX);
        n = n < CELLS_MAX ? n : CELLS_MAX;
        for (size_t i = 0; i < table->n_columns; i++) {
            const struct column *column = &table->columns[i];
            if (is_scaled(column->want.quantity) && column->cell < n &&
                stv_slice_has(cells[column->cell], "."))
                return true;
        }
    }
    return false;
}

static void read_place(struct stv_weather_text *file, const struct table *table,
                       const struct stv_slice *cells, size_t n)
{
    double latitude_deg, longitude_deg, elevation_m = (double)NAN;
    if (file->meta.source[0])
        return;
    snprintf(file->meta.source, sizeof file->meta.source, "NOAA GHCN-Daily, %.*s %.*s",
             (int)(cells[table->station].n < 20 ? cells[table->station].n : 20),
             cells[table->station].text,
             table->name < n ? (int)(cells[table->name].n < 80 ? cells[table->name].n : 80) : 0,
             table->name < n ? cells[table->name].text : "");
    if (table->latitude >= n || table->longitude >= n ||
        !stv_slice_number(cells[table->latitude], &latitude_deg) ||
        !stv_slice_number(cells[table->longitude], &longitude_deg))
        return;
    if (table->elevation < n)
        (void)stv_slice_number(cells[table->elevation], &elevation_m);
    (void)stv__weather_site(file, latitude_deg, longitude_deg, elevation_m);
}

/* "M,Q,S" or "M,Q,S,time": the second part, empty when the value passed. */
static struct stv_slice quality_of(struct stv_slice flags)
{
    struct stv_slice parts[2];
    return stv_line_cells(flags, ',', parts, 2) >= 2 ? parts[1] : (struct stv_slice){flags.text, 0};
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (n <= table->date || n <= table->station ||
        !stv__weather_stamp(cells[table->date], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no station and date: the row is not used");
        return;
    }
    read_place(file, table, cells, n);
    for (size_t i = 0; i < table->n_columns; i++) {
        const struct column *column = &table->columns[i];
        if (column->cell >= n)
            continue;
        double value = stv__weather_value(file, line, cells[column->cell], column->want);
        struct stv_slice quality =
            column->flags < n ? quality_of(cells[column->flags]) : (struct stv_slice){"", 0};
        if (!isnan(value) && quality.n > 0)
            stv__weather_flagged(file, line, column->want.quantity, quality);
        else
            row.values[column->want.quantity] = value;
    }
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table;
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return STV_E_PARSE;
    if (has_points(lines, &table))
        for (size_t i = 0; i < table.n_columns; i++)
            if (is_scaled(table.columns[i].want.quantity))
                table.columns[i].want.factor = 1.0;
    if (!stv__weather_begin(file, stv__ghcn_quantities()))
        return file->status;
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    stv__ghcn_finish(file);
    return file->status;
}

const struct stv_weather_format stv__format_ghcn_daily_csv = {"NOAA GHCN-Daily CSV", is_mine, read};
