/* Environment Canada's hourly CSV, in its three generations of header.
 *
 * Local standard time all year, without saying of which zone, so that the clock comes from the
 * description or the house.  Every cell quoted; pressure in kPa at the station, wind in km/h.  A
 * flag behind a value says M missing, E estimated, NA not available.  A month outside a station's
 * life comes as blank rows, which are holes and no faults.
 * Source: Environment and Climate Change Canada, hourly data files and the legend in them. */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 64
#define HEADER_LINES 40
#define NAME_MAX_BYTES 32
#define KM_H_TO_M_S (1.0 / 3.6)

static const struct {
    const char *name; /* without the bytes of its degree sign, however that was spoilt */
    struct stv_weather_want want;
} known[] = {
    {"Temp (C)", {STV_WQ_TEMP_C, 1.0, 0.0, (double)NAN}},
    {"Dew Point Temp (C)", {STV_WQ_DEW_POINT_C, 1.0, 0.0, (double)NAN}},
    {"Rel Hum (%)", {STV_WQ_RH_FRAC, 0.01, 0.0, (double)NAN}},
    {"Wind Spd (km/h)", {STV_WQ_WIND_M_S, KM_H_TO_M_S, 0.0, (double)NAN}},
    {"Stn Press (kPa)", {STV_WQ_PRESSURE_PA, 1000.0, 0.0, (double)NAN}},
};
#define N_KNOWN (sizeof known / sizeof known[0])

struct table {
    size_t stamp, latitude, longitude, name;
    size_t cell[N_KNOWN];
    bool has_place;
};

/* A name without blanks around it and without bytes outside ASCII: "Temp (°C)" is "Temp (C)". */
static void plain_name(struct stv_slice cell, char out[NAME_MAX_BYTES])
{
    size_t used = 0;
    for (size_t i = 0; i < cell.n && used + 1 < NAME_MAX_BYTES; i++)
        if ((unsigned char)cell.text[i] < 0x80)
            out[used++] = cell.text[i];
    out[used] = '\0';
}

static size_t find_plain(const struct stv_slice *cells, size_t n, const char *name)
{
    char plain[NAME_MAX_BYTES];
    for (size_t i = 0; i < n; i++) {
        plain_name(cells[i], plain);
        if (stv_slice_is(stv_slice_of(plain), name))
            return i;
    }
    return SIZE_MAX;
}

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    *out = (struct table){.stamp = stv_slice_find(cells, n, "Date/Time (LST)"),
                          .latitude = stv_slice_find(cells, n, "Latitude (y)"),
                          .longitude = stv_slice_find(cells, n, "Longitude (x)"),
                          .name = stv_slice_find(cells, n, "Station Name")};
    if (out->stamp == SIZE_MAX)
        out->stamp = stv_slice_find(cells, n, "Date/Time");
    for (size_t i = 0; i < N_KNOWN; i++)
        out->cell[i] = find_plain(cells, n, known[i].name);
    bool has_flags = stv_slice_find(cells, n, "Temp Flag") != SIZE_MAX;
    return out->stamp != SIZE_MAX && out->cell[0] != SIZE_MAX && has_flags;
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct table table;
    for (size_t i = 0; i < n_lines && i < HEADER_LINES; i++)
        if (read_header(&lines[i], &table))
            return true;
    return false;
}

/* Place and name, from the first row that has them. */
static void read_place(struct stv_weather_text *file, struct table *table,
                       const struct stv_slice *cells, size_t n)
{
    double latitude_deg, longitude_deg;
    if (table->has_place || table->latitude >= n || table->longitude >= n)
        return;
    table->has_place = stv_slice_number(cells[table->latitude], &latitude_deg) &&
                       stv_slice_number(cells[table->longitude], &longitude_deg) &&
                       stv__weather_site(file, latitude_deg, longitude_deg, (double)NAN);
    if (table->has_place && table->name < n)
        snprintf(file->meta.source, sizeof file->meta.source, "Environment Canada, %.*s",
                 (int)(cells[table->name].n < 80 ? cells[table->name].n : 80),
                 cells[table->name].text);
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    if (n <= table->stamp || !stv__weather_stamp(cells[table->stamp], &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no date and time: the row is not used");
        return;
    }
    read_place(file, table, cells, n);
    for (size_t i = 0; i < N_KNOWN; i++) {
        size_t at = table->cell[i];
        if (at >= n || stv_slice_is(cells[at], "NA") || stv_slice_is(cells[at], "M"))
            continue;
        bool is_missing = at + 1 < n && stv_slice_is(cells[at + 1], "M");
        if (!is_missing)
            row.values[known[i].want.quantity] =
                stv__weather_value(file, line, cells[at], known[i].want);
        if (at + 1 < n && stv_slice_is(cells[at + 1], "E") && i == 0)
            file->n_estimated++;
    }
    stv__weather_take(file, line, &row);
}

/* "Latitude","51.11" and so on, above the header of the oldest files. */
static void read_preamble(struct stv_weather_text *file, const struct stv_line *line,
                          double place[3])
{
    static const char *const keys[3] = {"Latitude", "Longitude", "Elevation"};
    struct stv_slice cells[2];
    double value;
    if (stv_line_cells(line->all, ',', cells, 2) < 2)
        return;
    for (size_t i = 0; i < 3; i++)
        if (stv_slice_is(cells[0], keys[i]) && stv_slice_number(cells[1], &value))
            place[i] = value;
    if (stv_slice_is(cells[0], "Station Name"))
        snprintf(file->meta.source, sizeof file->meta.source, "Environment Canada, %.*s",
                 (int)(cells[1].n < 80 ? cells[1].n : 80), cells[1].text);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table = {0};
    double place[3] = {(double)NAN, (double)NAN, (double)NAN};
    unsigned set = 0;
    bool has_header = false;
    while (!has_header && stv_lines_next(&lines, &line)) {
        has_header = read_header(&line, &table);
        if (!has_header)
            read_preamble(file, &line, place);
    }
    for (size_t i = 0; i < N_KNOWN; i++)
        set |= STV_SAMPLES_BIT(known[i].want.quantity);
    if (!stv__weather_begin(file, set))
        return file->status;
    table.has_place = stv__weather_site(file, place[0], place[1], place[2]);
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table);
    file->is_local = true;
    stv__weather_hour_ending(file);
    if (!file->meta.source[0])
        snprintf(file->meta.source, sizeof file->meta.source, "Environment Canada");
    snprintf(file->meta.licence, sizeof file->meta.licence,
             "based on Environment and Climate Change Canada data");
    snprintf(file->stamps, sizeof file->stamps, "local standard time, each hour");
    if (file->n_estimated)
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, NULL,
                        "%zu temperatures are marked as estimated by the service: used",
                        file->n_estimated);
    return file->status;
}

const struct stv_weather_format stv__format_environment_canada = {"Environment Canada CSV", is_mine,
                                                                  read};
