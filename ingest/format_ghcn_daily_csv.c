/* GHCN-Daily as the access service's CSV: a row for each day, a column for each element and one for
 * its flags, "M,Q,S".
 *
 * Tenths of C, padded with blanks; an export in metric units gives degrees C with decimals, one in
 * US units whole F, and no column says which.  The temperatures of the whole file decide, and a
 * file that leaves it open is refused.  An export may hold several stations, of which one is read.
 * Source: NOAA, GHCN-Daily access CSV and daily summaries (column names, units from memory). */
#include "ingest/ghcn_elements.h"
#include "ingest/noaa_station.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 256
#define COLUMNS_MAX 16
#define MISSING (-9999.0)
#define MOST_F 134.0 /* the hottest air ever measured, 56.7 C (WMO records; from memory) */

struct column {
    size_t cell, flags; /* flags SIZE_MAX when there are none */
    struct stv_weather_want want;
};
struct table {
    struct stv__noaa_station station;
    size_t date;
    struct column columns[COLUMNS_MAX];
    size_t n_columns, n_cells;
    char chosen[STV_NAME_MAX];
};
struct signs {
    size_t n_values;
    bool has_decimals, has_tenths, is_padded;
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
    *out = (struct table){.station = stv__noaa_station_find(cells, n),
                          .date = stv_slice_find(cells, n, "DATE"),
                          .n_cells = n};
    bool has_temperature = false;
    for (size_t i = 0; i < n && out->n_columns < COLUMNS_MAX; i++) {
        struct stv_weather_want want;
        if (!stv__ghcn_element(cells[i], &want))
            continue;
        has_temperature = has_temperature || want.quantity == STV_WQ_TEMP_MAX_C ||
                          want.quantity == STV_WQ_TEMP_MIN_C || want.quantity == STV_WQ_TEMP_C;
        out->columns[out->n_columns++] = (struct column){i, flags_of(cells, n, cells[i]), want};
    }
    return out->station.station != SIZE_MAX && out->date != SIZE_MAX && has_temperature;
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct table table;
    (void)n_lines;
    return read_header(&lines[0], &table);
}

static bool is_temperature(enum stv_weather_quantity quantity)
{
    return quantity == STV_WQ_TEMP_C || quantity == STV_WQ_TEMP_MIN_C ||
           quantity == STV_WQ_TEMP_MAX_C || quantity == STV_WQ_DEW_POINT_C;
}

/* What a cell tells of its unit: tenths are whole numbers, padded to a width by the service, and
 * soon beyond what F can be; degrees C have decimals. */
static void look_at(const struct stv_line *line, struct stv_slice cell, struct signs *signs)
{
    double value;
    if (!stv_slice_number(cell, &value) || value == MISSING)
        return;
    signs->n_values++;
    signs->has_decimals = signs->has_decimals || value != floor(value);
    signs->has_tenths = signs->has_tenths || fabs(value) > MOST_F;
    signs->is_padded = signs->is_padded || (cell.text > line->all.text && cell.text[-1] == ' ');
}

static struct stv_slice station_of(const struct stv_line *line, const void *context)
{
    const struct table *table = context;
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    return table->station.station < n && table->station.station < CELLS_MAX
               ? cells[table->station.station]
               : (struct stv_slice){line->all.text, 0};
}

/* Decides between tenths and degrees C for the whole file, and sets the factors. */
static enum stv_status choose_unit(struct stv_weather_text *file, struct stv_lines lines,
                                   struct table *table)
{
    struct stv_line line;
    struct stv_slice cells[CELLS_MAX];
    struct signs signs = {.n_values = 0};
    while (stv_lines_next(&lines, &line)) {
        size_t n = stv_line_cells(line.all, ',', cells, CELLS_MAX);
        n = n < CELLS_MAX ? n : CELLS_MAX;
        if (table->station.station >= n ||
            !stv_slice_is(cells[table->station.station], table->chosen))
            continue;
        for (size_t i = 0; i < table->n_columns; i++)
            if (is_temperature(table->columns[i].want.quantity) && table->columns[i].cell < n)
                look_at(&line, cells[table->columns[i].cell], &signs);
    }
    bool is_tenths = signs.has_tenths || signs.is_padded;
    if (signs.n_values > 0 && is_tenths == signs.has_decimals)
        return stv__weather_refuse(
            file, 0, stv_slice_of("TMAX, TMIN"),
            is_tenths ? "some of the temperatures can only be degrees and some only tenths of one; "
                        "give the units of its columns in its description"
                      : "the temperatures may be tenths of C, whole C or whole F, and nothing in "
                        "the file decides; give the units of its columns in its description");
    for (size_t i = 0; signs.has_decimals && i < table->n_columns; i++)
        if (table->columns[i].want.quantity != STV_WQ_RH_FRAC)
            table->columns[i].want.factor = 1.0;
    return STV_OK;
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
    bool is_cut = !line->has_end && n < table->n_cells;
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (is_cut || n <= table->date || n <= table->station.station ||
        !stv__weather_stamp(cells[table->date], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               "no station and date, or cut short: the row is not used");
        return;
    }
    if (!stv_slice_is(cells[table->station.station], table->chosen))
        return;
    stv__noaa_station_take(file, "NOAA GHCN-Daily", &table->station, cells, n);
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
    enum stv_status status = stv__ghcn_choose(file, lines, station_of, &table, table.chosen);
    if (status == STV_OK)
        status = choose_unit(file, lines, &table);
    if (status != STV_OK)
        return status;
    if (!stv__weather_begin(file, stv__ghcn_quantities()))
        return file->status;
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    stv__ghcn_finish(file);
    return file->status;
}

const struct stv_weather_format stv__format_ghcn_daily_csv = {"NOAA GHCN-Daily CSV", is_mine, read};
