/* CSV of the Open-Meteo archive: a line of place names, a line of their values, and tables below.
 *
 * Every stamp stands at the one offset that the second line states, whatever zone it names and
 * whatever summer time that zone has.  Values are instants, sums and means those of the hour
 * before; so an hour ends at its stamp.  The data are a reanalysis on a grid, with flatter peaks
 * than a station's.
 * Source: Open-Meteo, CSV writer of its server and its unit test; units stand in the header;
 * licence from memory. */
#include "ingest/weather_format.h"

#include "ingest/reading.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 64
#define STATIONS_MAX 64
#define UNIT_MAX 16
#define SUPERSCRIPT_TWO '\xB2' /* behind C2, in UTF-8 */
#define UNIX_LEAST_S 1e8 /* no date written as a number looks like this */
#define OFFSET_MOST_S (15 * STV_HOUR_S)

struct place {
    struct stv_slice id;
    double latitude_deg, longitude_deg, elevation_m;
    int32_t offset_s;
};

/* What is read of a table. */
struct column {
    size_t cell_idx;
    struct stv_weather_want want;
};
struct table {
    size_t time_cell, id_cell;
    struct column columns[CELLS_MAX];
    size_t n_columns;
    bool is_daily;
};

static const struct {
    const char *name;
    enum stv_weather_quantity quantity;
    bool is_daily;
} known[] = {
    {"temperature_2m", STV_WQ_TEMP_C, false},
    {"relative_humidity_2m", STV_WQ_RH_FRAC, false},
    {"relativehumidity_2m", STV_WQ_RH_FRAC, false},
    {"dew_point_2m", STV_WQ_DEW_POINT_C, false},
    {"dewpoint_2m", STV_WQ_DEW_POINT_C, false},
    {"surface_pressure", STV_WQ_PRESSURE_PA, false},
    {"wind_speed_10m", STV_WQ_WIND_M_S, false},
    {"windspeed_10m", STV_WQ_WIND_M_S, false},
    {"shortwave_radiation", STV_WQ_GHI_W_M2, false},
    {"direct_normal_irradiance", STV_WQ_DNI_W_M2, false},
    {"diffuse_radiation", STV_WQ_DHI_W_M2, false},
    {"cloud_cover", STV_WQ_CLOUD_FRAC, false},
    {"cloudcover", STV_WQ_CLOUD_FRAC, false},
    {"temperature_2m_max", STV_WQ_TEMP_MAX_C, true},
    {"temperature_2m_min", STV_WQ_TEMP_MIN_C, true},
    {"temperature_2m_mean", STV_WQ_TEMP_C, true},
};

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(lines[0].all, ',', cells, CELLS_MAX);
    return n_lines > 1 && n <= CELLS_MAX &&
           stv_slice_find(cells, n, "utc_offset_seconds") != SIZE_MAX &&
           stv_slice_find(cells, n, "latitude") != SIZE_MAX;
}

/* "temperature_2m (°C)" cut into its name and its unit; a degree sign, in any encoding, is left
 * out. */
static struct stv_slice split_unit(struct stv_slice head, char unit[UNIT_MAX])
{
    size_t open = 0, used = 0;
    while (open < head.n && head.text[open] != '(')
        open++;
    for (size_t i = open + 1; i < head.n && head.text[i] != ')' && used + 1 < UNIT_MAX; i++) {
        if ((unsigned char)head.text[i] < 0x80)
            unit[used++] = head.text[i];
        else if (head.text[i] == SUPERSCRIPT_TWO && head.text[i - 1] == '\xC2')
            unit[used++] = '2';
    }
    unit[used] = '\0';
    return stv_slice_trimmed((struct stv_slice){head.text, open});
}

/* Adds a column of a known name; false after a refusal of its unit. */
static bool add_column(struct stv_weather_text *file, const struct stv_line *line,
                       struct table *table, struct stv_slice head, size_t cell_idx)
{
    char unit[UNIT_MAX], why[160];
    struct stv_scale scale;
    struct stv_slice name = split_unit(head, unit);
    for (size_t i = 0; i < sizeof known / sizeof known[0]; i++) {
        if (!stv_slice_is(name, known[i].name) || known[i].is_daily != table->is_daily)
            continue;
        if (stv_reading_scale(known[i].quantity, unit, &scale, why, sizeof why) != STV_OK) {
            (void)stv__weather_refuse(file, line->number, head, why);
            return false;
        }
        table->columns[table->n_columns++] =
            (struct column){cell_idx, {known[i].quantity, scale.factor, scale.offset, (double)NAN}};
    }
    return true;
}

/* Reads a table's header; false when it is none that can be read, or after a refusal. */
static bool read_header(struct stv_weather_text *file, const struct stv_line *line, bool is_daily,
                        struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    *out = (struct table){.is_daily = is_daily};
    if (n > CELLS_MAX)
        n = CELLS_MAX;
    out->time_cell = stv_slice_find(cells, n, "time");
    out->id_cell = stv_slice_find(cells, n, "location_id");
    if (out->time_cell == SIZE_MAX)
        return false;
    for (size_t i = 0; i < n; i++)
        if (!add_column(file, line, out, cells[i], i))
            return false;
    return out->n_columns > 0;
}

static double number_in(const struct stv_slice *cells, size_t n, size_t idx)
{
    double value;
    return idx < n && stv_slice_number(cells[idx], &value) ? value : (double)NAN;
}

/* The places: one line of values each, until the next header. */
static size_t read_places(struct stv_lines *lines, struct place *out, size_t most)
{
    struct stv_slice heads[CELLS_MAX], cells[CELLS_MAX];
    struct stv_line line;
    size_t n_places = 0;
    if (!stv_lines_next(lines, &line))
        return 0;
    size_t n_heads = stv_line_cells(line.all, ',', heads, CELLS_MAX);
    size_t offset_idx = stv_slice_find(heads, n_heads, "utc_offset_seconds");
    size_t latitude_idx = stv_slice_find(heads, n_heads, "latitude");
    size_t longitude_idx = stv_slice_find(heads, n_heads, "longitude");
    size_t elevation_idx = stv_slice_find(heads, n_heads, "elevation");
    size_t id_idx = stv_slice_find(heads, n_heads, "location_id");
    struct stv_lines before = *lines;
    while (stv_lines_next(lines, &line)) {
        size_t n = stv_line_cells(line.all, ',', cells, CELLS_MAX);
        double offset_s = number_in(cells, n < CELLS_MAX ? n : CELLS_MAX, offset_idx);
        if (!(fabs(offset_s) <= OFFSET_MOST_S) || n > CELLS_MAX || n_places == most)
            break;
        out[n_places++] =
            (struct place){.id = id_idx < n ? cells[id_idx] : (struct stv_slice){line.all.text, 0},
                           .latitude_deg = number_in(cells, n, latitude_idx),
                           .longitude_deg = number_in(cells, n, longitude_idx),
                           .elevation_m = number_in(cells, n, elevation_idx),
                           .offset_s = (int32_t)offset_s};
        before = *lines;
    }
    *lines = before; /* the line that is no place is a header */
    return n_places;
}

static bool row_time(struct stv_slice text, int64_t *out_s)
{
    double seconds;
    if (stv__weather_stamp(text, out_s))
        return true;
    if (!stv_slice_number(text, &seconds) || !(seconds >= UNIX_LEAST_S) || seconds > 1e11)
        return false;
    *out_s = (int64_t)seconds;
    return true;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table, const struct place *place)
{
    struct stv_slice cells[CELLS_MAX], none = {line->all.text, 0};
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    char id[STV_NAME_MAX];
    stv_slice_copy(place->id, id, sizeof id);
    if (table->id_cell < n && !stv_slice_is(cells[table->id_cell], id))
        return;
    if (table->time_cell >= n || !row_time(cells[table->time_cell], &row.time_s)) {
        stv__weather_row_aside(file, line, table->time_cell < n ? cells[table->time_cell] : none,
                               "no date and time: the row is not used");
        return;
    }
    if (!table->is_daily)
        row.time_s -= place->offset_s;
    for (size_t i = 0; i < table->n_columns; i++) {
        const struct column *column = &table->columns[i];
        struct stv_slice cell = column->cell_idx < n ? cells[column->cell_idx] : none;
        if (!stv_slice_is(cell, "NaN"))
            row.values[column->want.quantity] = stv__weather_value(file, line, cell, column->want);
    }
    stv__weather_take(file, line, &row);
}

/* Finds the hourly table, or the daily one where there is none; leaves lines at its first row. */
static bool find_table(struct stv_weather_text *file, struct stv_lines *lines, struct table *out)
{
    struct stv_line line;
    size_t n_refused = file->problems->n_by_severity[STV_REFUSED];
    for (int is_daily = 0; is_daily < 2; is_daily++) {
        struct stv_lines at = *lines;
        while (stv_lines_next(&at, &line)) {
            if (!stv_slice_starts(line.all, "time") && !stv_slice_starts(line.all, "location_id"))
                continue;
            bool is_found = read_header(file, &line, is_daily != 0, out);
            if (is_found)
                *lines = at;
            if (is_found || file->problems->n_by_severity[STV_REFUSED] > n_refused)
                return is_found;
        }
    }
    (void)stv__weather_refuse(
        file, 0, stv_slice_of(""),
        "no table with temperature_2m, or temperature_2m_max and _min, in it");
    return false;
}

static unsigned quantities_of(const struct table *table)
{
    unsigned set = 0;
    for (size_t i = 0; i < table->n_columns; i++)
        set |= STV_SAMPLES_BIT(table->columns[i].want.quantity);
    return set;
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct place places[STATIONS_MAX];
    struct stv_slice ids[STATIONS_MAX];
    struct table table;
    struct stv_line line;
    size_t idx, n_places = read_places(&lines, places, STATIONS_MAX);
    if (n_places == 0)
        return stv__weather_refuse(file, 2, stv_slice_of(""),
                                   "the line of values under latitude and utc_offset_seconds is "
                                   "missing: without it no stamp can be placed");
    for (size_t i = 0; i < n_places; i++)
        ids[i] = places[i].id;
    enum stv_status status = stv__weather_choose(file, ids, n_places, &idx);
    if (status != STV_OK)
        return status;
    if (!find_table(file, &lines, &table))
        return STV_E_PARSE;
    if (!stv__weather_begin(file, quantities_of(&table)))
        return file->status;
    const struct place *place = &places[idx];
    file->is_daily = table.is_daily;
    stv__weather_clock(file, place->offset_s / (double)STV_HOUR_S);
    (void)stv__weather_site(file, place->latitude_deg, place->longitude_deg, place->elevation_m);
    stv__weather_hour_ending(file);
    snprintf(file->meta.source, sizeof file->meta.source, "Open-Meteo archive, a reanalysis grid");
    snprintf(file->meta.licence, sizeof file->meta.licence, "CC BY 4.0, Open-Meteo (from memory)");
    snprintf(file->stamps, sizeof file->stamps, "one fixed offset for the whole file, %s",
             file->meta.clock);
    while (stv_lines_next(&lines, &line)) {
        if (stv_slice_starts(line.all, "time,") || stv_slice_starts(line.all, "location_id,"))
            break; /* the next table */
        read_row(file, &line, &table, place);
    }
    return file->status;
}

const struct stv_weather_format stv__format_open_meteo = {"Open-Meteo CSV", is_mine, read};
