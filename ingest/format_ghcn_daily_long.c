/* GHCN-Daily in its long form: ID,YYYYMMDD,ELEMENT,VALUE,M,Q,S,TIME, one value a line, no header
 * (newer copies may have one, from memory).
 *
 * Units, flags and days as in the .dly files.  A file by year holds all stations.
 * Source: NOAA, GHCN-Daily readme of the by-station and by-year files. */
#include "ingest/ghcn_elements.h"

#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>

#define CELLS 8
#define CELLS_LEAST 4
#define ID_LETTERS 11

static bool is_row(const struct stv_slice *cells, size_t n)
{
    int64_t time_s;
    return n >= CELLS_LEAST && n <= CELLS && cells[0].n == ID_LETTERS && cells[1].n == 8 &&
           cells[2].n == 4 && isalpha((unsigned char)cells[0].text[0]) &&
           stv__weather_stamp(cells[1], &time_s);
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cells[CELLS];
    for (size_t i = 0; i < n_lines && i < 2; i++)
        if (is_row(cells, stv_line_cells(lines[i].all, ',', cells, CELLS)))
            return true;
    return false;
}

static struct stv_slice station_of(const struct stv_line *line, const void *context)
{
    struct stv_slice cells[CELLS];
    (void)context;
    return is_row(cells, stv_line_cells(line->all, ',', cells, CELLS))
               ? cells[0]
               : (struct stv_slice){line->all.text, 0};
}

/* n_usual  cells of the rows before; a last one with fewer is cut */
static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const char *station, size_t *n_usual)
{
    struct stv_slice cells[CELLS];
    struct stv_weather_row row = stv__weather_row();
    struct stv_weather_want want;
    size_t n = stv_line_cells(line->all, ',', cells, CELLS);
    if (!is_row(cells, n) || (!line->has_end && n < *n_usual)) {
        stv__weather_row_aside(file, line, line->all,
                               "is not a station, date, element and value, or cut short: not used");
        return;
    }
    *n_usual = n;
    if (!stv_slice_is(cells[0], station) || !stv__ghcn_element(cells[2], &want))
        return;
    double value = stv__weather_value(file, line, cells[3], want);
    if (!isnan(value) && n > 5 && cells[5].n > 0) {
        stv__weather_flagged(file, line, want.quantity, cells[5]);
        value = (double)NAN;
    }
    (void)stv__weather_stamp(cells[1], &row.time_s);
    row.values[want.quantity] = value;
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    char station[STV_NAME_MAX];
    size_t n_usual = 0;
    enum stv_status status = stv__ghcn_choose(file, lines, station_of, NULL, station);
    if (status != STV_OK)
        return status;
    if (!stv__weather_begin(file, stv__ghcn_quantities()))
        return file->status;
    while (stv_lines_next(&lines, &line))
        if (!stv_slice_starts(line.all, "ID,") && !stv_slice_starts(line.all, "\"ID\""))
            read_row(file, &line, station, &n_usual);
    snprintf(file->meta.source, sizeof file->meta.source, "NOAA GHCN-Daily, station %s", station);
    stv__ghcn_finish(file);
    return file->status;
}

const struct stv_weather_format stv__format_ghcn_daily_long = {"NOAA GHCN-Daily, long CSV", is_mine,
                                                               read};
