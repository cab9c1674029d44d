/* The German weather service's station files: hours of air temperature, or ten minutes.
 *
 * Semicolons, values padded with blanks, the last column "eor".  UTC; an hour's reading is taken at
 * ten to it.  Stamps of ten minutes are the interval's end, in UTC from 2000 on and in CET (one
 * hour ahead) before.  Older hourly files changed from CET too, station by station, which only the
 * metadata in the archive tell: said for years before 1996.
 * Source: Deutscher Wetterdienst, data set descriptions of hourly and 10-minute station
 * observations, Climate Data Center; the reading at ten to the hour as its product is described by
 * users; licence from memory. */
#include "ingest/weather_columns.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>

#define CELLS_MAX 64
#define MINUTE_S 60
#define READ_BEFORE_S (10 * MINUTE_S)
#define HOUR_STAMP 10         /* digits of 2024031407; ten minutes have twelve */
#define CET_UNTIL_S 946684800 /* 2000-01-01 00:00 UTC */
#define HOURLY_DOUBT_YEAR 1996

static const struct stv_weather_known known[] = {
    {"TT_TU", {STV_WQ_TEMP_C, 1.0, 0.0, -999.0}},
    {"RF_TU", {STV_WQ_RH_FRAC, 0.01, 0.0, -999.0}},
    {"TT_10", {STV_WQ_TEMP_C, 1.0, 0.0, -999.0}},
    {"RF_10", {STV_WQ_RH_FRAC, 0.01, 0.0, -999.0}},
    {"TD_10", {STV_WQ_DEW_POINT_C, 1.0, 0.0, -999.0}},
    {"PP_10", {STV_WQ_PRESSURE_PA, 100.0, 0.0, -999.0}},
    {"TT", {STV_WQ_TEMP_C, 1.0, 0.0, -999.0}},
    {"TD", {STV_WQ_DEW_POINT_C, 1.0, 0.0, -999.0}},
};
#define N_KNOWN (sizeof known / sizeof known[0])

struct table {
    struct stv_weather_columns columns;
    size_t stamp, station;
    struct stv_slice wanted; /* station */
    bool is_fine;            /* ten minutes */
    size_t n_doubtful;       /* hourly rows of years whose clock is not certain */
    size_t n_cet;
};

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    (void)n_lines;
    return stv_slice_starts(lines[0].all, "STATIONS_ID;MESS_DATUM");
}

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ';', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    out->station = stv_slice_find(cells, n, "STATIONS_ID");
    out->stamp = stv_slice_find(cells, n, "MESS_DATUM");
    out->columns = stv__weather_columns_find(known, N_KNOWN, cells, n);
    return out->columns.quantities & STV_SAMPLES_BIT(STV_WQ_TEMP_C);
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ';', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (n <= table->stamp || !stv__weather_stamp(cells[table->stamp], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no station and date: the row is not used");
        return;
    }
    table->is_fine = table->is_fine || cells[table->stamp].n > HOUR_STAMP;
    bool is_cet = table->is_fine && row.time_s < CET_UNTIL_S - STV_HOUR_S;
    if (is_cet)
        row.time_s -= STV_HOUR_S;
    table->n_cet += is_cet;
    if (!table->is_fine)
        table->n_doubtful += stv_date_from_day(row.time_s / STV_DAY_S).year < HOURLY_DOUBT_YEAR;
    stv__weather_columns_read(&table->columns, file, line, cells, n, &row);
    stv__weather_take(file, line, &row);
}

static void say_clock(struct stv_weather_text *file, const struct table *table)
{
    if (table->n_cet)
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, NULL,
                        "%zu rows before 2000 are stamped in CET and were brought to UTC",
                        table->n_cet);
    if (table->n_doubtful)
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, NULL,
                        "%zu hourly rows are older than %d: some stations then wrote CET, one hour "
                        "ahead of UTC; the metadata in the archive tell. They are read as UTC",
                        table->n_doubtful, HOURLY_DOUBT_YEAR);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table = {0};
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return stv__weather_refuse(file, 1, stv_slice_of("STATIONS_ID;MESS_DATUM"),
                                   "no column of air temperature (TT_TU, TT_10 or TT): this is "
                                   "another of the service's products");
    if (!stv__weather_begin(file, table.columns.quantities))
        return file->status;
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    stv__weather_clock(file, 0.0);
    for (size_t j = 0; j < STV_WQ_N; j++)
        file->shift_s[j] = table.is_fine ? -1 : -READ_BEFORE_S;
    snprintf(file->meta.source, sizeof file->meta.source,
             "Deutscher Wetterdienst, Climate Data Center");
    snprintf(file->meta.licence, sizeof file->meta.licence,
             "open data, Deutscher Wetterdienst (CC BY 4.0, from memory)");
    snprintf(file->stamps, sizeof file->stamps, "UTC, %s",
             table.is_fine ? "ten minutes at their end" : "hours, read at ten to them");
    say_clock(file, &table);
    return file->status;
}

const struct stv_weather_format stv__format_dwd = {"DWD station file", is_mine, read};
