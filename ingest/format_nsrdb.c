/* NSRDB as CSV: a line of names, a line of values, a header, rows of 60, 30 or 5 minutes.
 *
 * The stamps follow "Time Zone", which is local standard time or UTC as asked; a row of 60 minutes
 * stands at half past.  Leap days are left out.  Temperatures may be whole degrees.  A typical year
 * has each month from another year, so that the year goes back somewhere.
 * Source: NREL, NSRDB physical solar model files and their metadata lines. */
#include "ingest/weather_columns.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define CELLS_MAX 64
#define MONTHS 12
#define SLIP_PART 50 /* a month is a twelfth; a fiftieth of the rows is no month */

static const struct stv_weather_known known[] = {
    {"Temperature", {STV_WQ_TEMP_C, 1.0, 0.0, (double)NAN}},
    {"Dew Point", {STV_WQ_DEW_POINT_C, 1.0, 0.0, (double)NAN}},
    {"Relative Humidity", {STV_WQ_RH_FRAC, 0.01, 0.0, (double)NAN}},
    {"Pressure", {STV_WQ_PRESSURE_PA, 100.0, 0.0, (double)NAN}},
    {"Wind Speed", {STV_WQ_WIND_M_S, 1.0, 0.0, (double)NAN}},
    {"GHI", {STV_WQ_GHI_W_M2, 1.0, 0.0, (double)NAN}},
    {"DNI", {STV_WQ_DNI_W_M2, 1.0, 0.0, (double)NAN}},
    {"DHI", {STV_WQ_DHI_W_M2, 1.0, 0.0, (double)NAN}},
};
#define N_KNOWN (sizeof known / sizeof known[0])
enum { YEAR, MONTH, DAY, HOUR, MINUTE, N_TIME };
static const char *const time_names[N_TIME] = {"Year", "Month", "Day", "Hour", "Minute"};

struct table {
    struct stv_weather_columns columns;
    size_t time[N_TIME], n_cells;
    int64_t offset_s;
    bool is_typical;
};

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    return n_lines > 2 && stv_slice_starts(lines[0].all, "Source,Location ID") &&
           stv_slice_has(lines[0].all, "Time Zone");
}

static double named(const struct stv_slice *heads, size_t n_heads, const struct stv_slice *cells,
                    size_t n, const char *name)
{
    double value;
    size_t at = stv_slice_find(heads, n_heads, name);
    return at < n && stv_slice_number(cells[at], &value) ? value : (double)NAN;
}

static enum stv_status read_place(struct stv_weather_text *file, const struct stv_line *names,
                                  const struct stv_line *values, struct table *table)
{
    struct stv_slice heads[CELLS_MAX], cells[CELLS_MAX];
    size_t n_heads = stv_line_cells(names->all, ',', heads, CELLS_MAX);
    size_t n = stv_line_cells(values->all, ',', cells, CELLS_MAX);
    n_heads = n_heads < CELLS_MAX ? n_heads : CELLS_MAX;
    n = n < CELLS_MAX ? n : CELLS_MAX;
    double zone_h = named(heads, n_heads, cells, n, "Time Zone");
    if (!(fabs(zone_h) <= 14.0))
        return stv__weather_refuse(file, values->number, stv_slice_of("Time Zone"),
                                   "the second line has no such value in hours");
    table->offset_s = llround(zone_h * STV_HOUR_S);
    stv__weather_clock(file, zone_h);
    (void)stv__weather_site(file, named(heads, n_heads, cells, n, "Latitude"),
                            named(heads, n_heads, cells, n, "Longitude"),
                            named(heads, n_heads, cells, n, "Elevation"));
    size_t id = stv_slice_find(heads, n_heads, "Location ID");
    if (id < n)
        snprintf(file->meta.source, sizeof file->meta.source, "NSRDB, location %.*s",
                 (int)(cells[id].n < 20 ? cells[id].n : 20), cells[id].text);
    return STV_OK;
}

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    out->n_cells = n;
    n = n < CELLS_MAX ? n : CELLS_MAX;
    bool has_time = true;
    for (size_t i = 0; i < N_TIME; i++) {
        out->time[i] = stv_slice_find(cells, n, time_names[i]);
        has_time = has_time && out->time[i] != SIZE_MAX;
    }
    out->columns = stv__weather_columns_find(known, N_KNOWN, cells, n);
    return has_time && out->columns.cell[0] != SIZE_MAX;
}

static bool read_time(const struct table *table, const struct stv_slice *cells, size_t n,
                      int32_t at[N_TIME])
{
    for (size_t i = 0; i < N_TIME; i++)
        if (table->time[i] >= n || !stv_slice_int(cells[table->time[i]], &at[i]))
            return false;
    return true;
}

/* Whether months were put together from other years: the years go back somewhere, none of them is
 * a slip, and no month has two. */
static bool is_patched(struct stv_lines lines, const struct table *table)
{
    struct stv_line line;
    struct stv_slice cells[CELLS_MAX];
    int32_t at[N_TIME], first_year = 0, last_year = 0, of_month[MONTHS] = {0};
    size_t n_rows = 0, n_other = 0, n_mixed = 0;
    bool goes_back = false;
    while (stv_lines_next(&lines, &line)) {
        size_t n = stv_line_cells(line.all, ',', cells, CELLS_MAX);
        if (!read_time(table, cells, n < CELLS_MAX ? n : CELLS_MAX, at) || at[MONTH] < 1 ||
            at[MONTH] > MONTHS)
            continue;
        int32_t *month_year = &of_month[at[MONTH] - 1];
        *month_year = *month_year ? *month_year : at[YEAR];
        first_year = n_rows++ ? first_year : at[YEAR];
        goes_back = goes_back || at[YEAR] < last_year;
        last_year = at[YEAR];
        n_other += at[YEAR] != first_year;
        n_mixed += at[YEAR] != *month_year;
    }
    return goes_back && n_other > n_rows / SLIP_PART && n_mixed <= n_rows / SLIP_PART;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    int32_t at[N_TIME];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    bool is_cut = !line->has_end && n < table->n_cells;
    n = n < CELLS_MAX ? n : CELLS_MAX;
    bool is_good = !is_cut && read_time(table, cells, n, at);
    if (is_good && table->is_typical) {
        is_good = at[HOUR] >= 0 && at[MINUTE] >= 0 && at[MINUTE] < 60 &&
                  stv__weather_typical_time(at[MONTH], at[DAY], at[HOUR] + 1, &row.time_s);
        row.time_s += is_good ? at[MINUTE] * 60 : 0;
    } else if (is_good) {
        is_good =
            stv__weather_time(at[YEAR], at[MONTH], at[DAY], at[HOUR], at[MINUTE], &row.time_s);
    }
    if (!is_good) {
        stv__weather_row_aside(file, line, line->all,
                               "no such date and time, or cut short: not used");
        return;
    }
    row.time_s -= table->offset_s;
    stv__weather_columns_read(&table->columns, file, line, cells, n, &row);
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line names, values, line;
    struct table table = {.offset_s = 0};
    if (!stv_lines_next(&lines, &names) || !stv_lines_next(&lines, &values))
        return STV_E_PARSE;
    enum stv_status status = read_place(file, &names, &values, &table);
    if (status != STV_OK)
        return status;
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return stv__weather_refuse(file, 3, stv_slice_of("Temperature"),
                                   "the third line names no Year to Minute and Temperature");
    if (!stv__weather_begin(file, table.columns.quantities))
        return file->status;
    table.is_typical = file->meta.is_typical = is_patched(lines, &table);
    snprintf(file->meta.licence, sizeof file->meta.licence, "NREL, US government work");
    snprintf(file->stamps, sizeof file->stamps, "fixed offset of the file, each at its minute");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    return file->status;
}

const struct stv_weather_format stv__format_nsrdb = {"NSRDB CSV", is_mine, read};
