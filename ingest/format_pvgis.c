/* PVGIS typical years as CSV: lines about the place, a table, lines that explain its columns.
 *
 * UTC, "20180101:0000"; the months come from several years.  An hour's values stand for the hour
 * that opens at the stamp (from memory).
 * Source: European Commission JRC, PVGIS, TMY output: columns T2m, RH, G(h), Gb(n), Gd(h), IR(h),
 * WS10m, SP. */
#include "ingest/weather_columns.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 24

static const struct stv_weather_known known[] = {
    {"T2m", {STV_WQ_TEMP_C, 1.0, 0.0, (double)NAN}},
    {"RH", {STV_WQ_RH_FRAC, 0.01, 0.0, (double)NAN}},
    {"G(h)", {STV_WQ_GHI_W_M2, 1.0, 0.0, (double)NAN}},
    {"Gb(n)", {STV_WQ_DNI_W_M2, 1.0, 0.0, (double)NAN}},
    {"Gd(h)", {STV_WQ_DHI_W_M2, 1.0, 0.0, (double)NAN}},
    {"IR(h)", {STV_WQ_SKY_W_M2, 1.0, 0.0, (double)NAN}},
    {"WS10m", {STV_WQ_WIND_M_S, 1.0, 0.0, (double)NAN}},
    {"SP", {STV_WQ_PRESSURE_PA, 1.0, 0.0, (double)NAN}},
};
#define N_KNOWN (sizeof known / sizeof known[0])

struct table {
    struct stv_weather_columns columns;
    size_t n_cells;
};

static bool is_header(struct stv_slice line)
{
    return stv_slice_starts(line, "time(UTC),") && stv_slice_has(line, "T2m");
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    for (size_t i = 0; i < n_lines; i++)
        if (is_header(lines[i].all))
            return true;
    return false;
}

/* "Latitude (decimal degrees): 45.000" */
static void read_preamble(struct stv_slice line, double place[3])
{
    static const char *const keys[3] = {"Latitude", "Longitude", "Elevation"};
    const char *colon = memchr(line.text, ':', line.n);
    double value;
    if (!colon)
        return;
    size_t at = (size_t)(colon - line.text) + 1;
    struct stv_slice rest = stv_slice_trimmed((struct stv_slice){colon + 1, line.n - at});
    for (size_t i = 0; i < 3; i++)
        if (stv_slice_starts(line, keys[i]) && stv_slice_number(rest, &value))
            place[i] = value;
}

/* 20180101:0000, its year left out. */
static bool row_time(struct stv_slice text, int64_t *out_s)
{
    int32_t month, day, hour, minute;
    if (text.n != 13 || text.text[8] != ':' ||
        !stv_slice_int((struct stv_slice){text.text + 4, 2}, &month) ||
        !stv_slice_int((struct stv_slice){text.text + 6, 2}, &day) ||
        !stv_slice_int((struct stv_slice){text.text + 9, 2}, &hour) ||
        !stv_slice_int((struct stv_slice){text.text + 11, 2}, &minute) || minute < 0 || minute > 59)
        return false;
    bool is_good = stv__weather_typical_time(month, day, hour + 1, out_s);
    *out_s += is_good ? minute * 60 : 0;
    return is_good;
}

static bool is_row(struct stv_slice line)
{
    return line.n > 0 && line.text[0] >= '0' && line.text[0] <= '9';
}

/* Number of the last line that is a row; what comes behind it explains the columns. */
static size_t last_row(struct stv_lines lines)
{
    struct stv_line line;
    size_t number = 0;
    while (stv_lines_next(&lines, &line))
        number = is_row(line.all) ? line.number : number;
    return number;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    bool is_cut = !line->has_end && n < table->n_cells;
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (is_cut || !row_time(cells[0], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "no such date and hour, or cut short: not used");
        return;
    }
    stv__weather_columns_read(&table->columns, file, line, cells, n, &row);
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_slice cells[CELLS_MAX];
    double place[3] = {(double)NAN, (double)NAN, (double)NAN};
    struct table table;
    bool has_header = false;
    while (!has_header && stv_lines_next(&lines, &line)) {
        has_header = is_header(line.all);
        if (!has_header)
            read_preamble(line.all, place);
    }
    if (!has_header)
        return STV_E_PARSE;
    table.n_cells = stv_line_cells(line.all, ',', cells, CELLS_MAX);
    size_t n = table.n_cells < CELLS_MAX ? table.n_cells : CELLS_MAX;
    table.columns = stv__weather_columns_find(known, N_KNOWN, cells, n);
    if (!stv__weather_begin(file, table.columns.quantities))
        return file->status;
    file->meta.is_typical = true;
    stv__weather_clock(file, 0.0);
    (void)stv__weather_site(file, place[0], place[1], place[2]);
    snprintf(file->meta.source, sizeof file->meta.source,
             "PVGIS typical year, European Commission");
    snprintf(file->stamps, sizeof file->stamps, "UTC, each hour at its start");
    size_t last = last_row(lines);
    while (stv_lines_next(&lines, &line) && line.number <= last)
        read_row(file, &line, &table);
    return file->status;
}

const struct stv_weather_format stv__format_pvgis = {"PVGIS typical year", is_mine, read};
