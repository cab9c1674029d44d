/* Meteostat's dumps: hourly with a header, and the older hourly and daily ones without.
 *
 * UTC, C, per cent, km/h and hPa (reduced to sea level).  Behind each value may stand its source;
 * a model's value fills in where no station reported, and is counted in the note that says so.
 * Source: Meteostat, description of its bulk data (columns of the older dumps and the licence from
 * memory). */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 40
#define KM_H_TO_M_S (1.0 / 3.6)
#define HOURLY_CELLS 13
#define DAILY_CELLS 11

/* Where the columns stand; SIZE_MAX for what is not there. */
struct layout {
    size_t year, month, day, hour, date;
    size_t cell[STV_WQ_N];
    size_t source; /* of the temperature */
    bool is_daily, has_header;
};

static const struct stv_weather_want wants[STV_WQ_N] = {
    [STV_WQ_TEMP_C] = {STV_WQ_TEMP_C, 1.0, 0.0, -9999.0},
    [STV_WQ_TEMP_MIN_C] = {STV_WQ_TEMP_MIN_C, 1.0, 0.0, -9999.0},
    [STV_WQ_TEMP_MAX_C] = {STV_WQ_TEMP_MAX_C, 1.0, 0.0, -9999.0},
    [STV_WQ_DEW_POINT_C] = {STV_WQ_DEW_POINT_C, 1.0, 0.0, -9999.0},
    [STV_WQ_RH_FRAC] = {STV_WQ_RH_FRAC, 0.01, 0.0, -9999.0},
    [STV_WQ_WIND_M_S] = {STV_WQ_WIND_M_S, KM_H_TO_M_S, 0.0, -9999.0},
};
static const char *const names[STV_WQ_N] = {
    [STV_WQ_TEMP_C] = "temp",      [STV_WQ_TEMP_MIN_C] = "tmin", [STV_WQ_TEMP_MAX_C] = "tmax",
    [STV_WQ_DEW_POINT_C] = "dwpt", [STV_WQ_RH_FRAC] = "rhum",    [STV_WQ_WIND_M_S] = "wspd"};

static struct layout no_layout(void)
{
    struct layout layout = {SIZE_MAX, SIZE_MAX, SIZE_MAX, SIZE_MAX, SIZE_MAX,
                            {0},      SIZE_MAX, false,    false};
    for (size_t j = 0; j < STV_WQ_N; j++)
        layout.cell[j] = SIZE_MAX;
    return layout;
}

static bool layout_of_header(const struct stv_slice *cells, size_t n, struct layout *out)
{
    *out = no_layout();
    out->has_header = true;
    out->year = stv_slice_find(cells, n, "year");
    out->month = stv_slice_find(cells, n, "month");
    out->day = stv_slice_find(cells, n, "day");
    out->hour = stv_slice_find(cells, n, "hour");
    out->date = stv_slice_find(cells, n, "date");
    out->source = stv_slice_find(cells, n, "temp_source");
    bool has_own_name = false; /* names that no other service uses */
    for (size_t j = 0; j < STV_WQ_N; j++) {
        out->cell[j] = names[j] ? stv_slice_find(cells, n, names[j]) : SIZE_MAX;
        has_own_name = has_own_name || (j != STV_WQ_TEMP_C && out->cell[j] != SIZE_MAX);
    }
    if (out->cell[STV_WQ_TEMP_C] == SIZE_MAX)
        out->cell[STV_WQ_TEMP_C] = stv_slice_find(cells, n, "tavg");
    bool has_day = out->date != SIZE_MAX ||
                   (out->year != SIZE_MAX && out->month != SIZE_MAX && out->day != SIZE_MAX);
    out->is_daily = out->hour == SIZE_MAX;
    return has_day && (has_own_name || out->source != SIZE_MAX) &&
           (out->cell[STV_WQ_TEMP_C] != SIZE_MAX || out->cell[STV_WQ_TEMP_MAX_C] != SIZE_MAX);
}

/* True for cells that are all numbers or empty from `from` on. */
static bool are_numbers(const struct stv_slice *cells, size_t from, size_t n)
{
    double number;
    for (size_t i = from; i < n; i++)
        if (cells[i].n > 0 && !stv_slice_number(cells[i], &number))
            return false;
    return true;
}

/* date,hour,temp,dwpt,rhum,prcp,snow,wdir,wspd,wpgt,pres,tsun,coco
 * date,tavg,tmin,tmax,prcp,snow,wdir,wspd,wpgt,pres,tsun */
static bool layout_without_header(const struct stv_slice *cells, size_t n, struct layout *out)
{
    int64_t time_s;
    *out = no_layout();
    out->date = 0;
    if ((n != HOURLY_CELLS && n != DAILY_CELLS) || cells[0].n != 10 || cells[0].text[4] != '-' ||
        !stv__weather_stamp(cells[0], &time_s) || !are_numbers(cells, 1, n))
        return false;
    out->is_daily = n == DAILY_CELLS;
    if (out->is_daily) {
        out->cell[STV_WQ_TEMP_C] = 1;
        out->cell[STV_WQ_TEMP_MIN_C] = 2;
        out->cell[STV_WQ_TEMP_MAX_C] = 3;
        out->cell[STV_WQ_WIND_M_S] = 7;
        return true;
    }
    out->hour = 1;
    out->cell[STV_WQ_TEMP_C] = 2;
    out->cell[STV_WQ_DEW_POINT_C] = 3;
    out->cell[STV_WQ_RH_FRAC] = 4;
    out->cell[STV_WQ_WIND_M_S] = 8;
    int32_t hour;
    return stv_slice_int(cells[1], &hour) && hour >= 0 && hour <= 23;
}

static bool find_layout(const struct stv_line *line, struct layout *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    return n <= CELLS_MAX &&
           (layout_of_header(cells, n, out) || layout_without_header(cells, n, out));
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct layout layout;
    (void)n_lines;
    return find_layout(&lines[0], &layout);
}

static bool row_time(const struct layout *layout, const struct stv_slice *cells, size_t n,
                     int64_t *out_s)
{
    int32_t year, month, day, hour = 0;
    if (layout->hour != SIZE_MAX &&
        (layout->hour >= n || !stv_slice_int(cells[layout->hour], &hour) || hour < 0 || hour > 23))
        return false;
    if (layout->date != SIZE_MAX) {
        bool is_good = layout->date < n && stv__weather_stamp(cells[layout->date], out_s);
        *out_s += is_good ? (int64_t)hour * STV_HOUR_S : 0;
        return is_good;
    }
    return layout->year < n && layout->month < n && layout->day < n &&
           stv_slice_int(cells[layout->year], &year) &&
           stv_slice_int(cells[layout->month], &month) && stv_slice_int(cells[layout->day], &day) &&
           stv__weather_time(year, month, day, hour, 0, out_s);
}

/* A source cell names its providers; a model's names hold these words (from memory). */
static bool is_modelled(struct stv_slice source)
{
    return stv_slice_has(source, "mosmix") || stv_slice_has(source, "model") ||
           stv_slice_has(source, "metno_forecast");
}

/* Returns true when the row's temperature is a model's. */
static bool read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct layout *layout)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (!row_time(layout, cells, n, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no date and hour: the row is not used");
        return false;
    }
    for (size_t j = 0; j < STV_WQ_N; j++)
        if (layout->cell[j] < n)
            row.values[j] = stv__weather_value(file, line, cells[layout->cell[j]], wants[j]);
    stv__weather_take(file, line, &row);
    return layout->source < n && is_modelled(cells[layout->source]);
}

static unsigned quantities_of(const struct layout *layout)
{
    unsigned set = 0;
    for (unsigned j = 0; j < STV_WQ_N; j++)
        set |= layout->cell[j] != SIZE_MAX ? STV_SAMPLES_BIT(j) : 0u;
    return set;
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct layout layout = no_layout();
    size_t n_modelled = 0;
    bool is_first = true;
    while (stv_lines_next(&lines, &line)) {
        if (is_first) {
            is_first = false;
            if (!find_layout(&line, &layout) || !stv__weather_begin(file, quantities_of(&layout)))
                return file->status != STV_OK ? file->status : STV_E_PARSE;
            if (layout.has_header)
                continue;
        }
        n_modelled += read_row(file, &line, &layout);
    }
    file->is_daily = layout.is_daily;
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.source, sizeof file->meta.source, "Meteostat");
    snprintf(file->meta.licence, sizeof file->meta.licence,
             "CC BY-NC 4.0, source: Meteostat (as of 2025)");
    snprintf(file->stamps, sizeof file->stamps, layout.is_daily ? "days" : "UTC, hours");
    if (n_modelled)
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, NULL,
                        "%zu temperatures come from a weather model, where no station reported",
                        n_modelled);
    return file->status;
}

const struct stv_weather_format stv__format_meteostat = {"Meteostat CSV", is_mine, read};
