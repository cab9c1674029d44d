/* BADC-CSV of the Met Office's MIDAS Open: attributes, the line "data", a table, "end data".
 *
 * UTC all year.  Hourly weather: ob_time is the end of the hour.  Daily temperature: the day of an
 * extreme runs from 9 to 9 h UTC, so a highest read at 9 h belongs to the day before and a lowest
 * to the day itself; records of twelve hours are put together.  Units stand in the long_name
 * attributes.  Of several versions of an hour version 1, the checked one, counts.
 * Source: CEDA, BADC-CSV format and MIDAS Open data descriptions; wind in knots where no unit is
 * given. */
#include "ingest/weather_format.h"

#include "ingest/reading.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define CELLS_MAX 160
#define UNIT_MAX 16
#define MORNING_S (9 * STV_HOUR_S)

static const struct {
    const char *name, *unit;
    enum stv_weather_quantity quantity;
} known[] = {
    {"air_temperature", "C", STV_WQ_TEMP_C},  {"dewpoint", "C", STV_WQ_DEW_POINT_C},
    {"rltv_hum", "%", STV_WQ_RH_FRAC},        {"stn_pres", "hPa", STV_WQ_PRESSURE_PA},
    {"wind_speed", "kn", STV_WQ_WIND_M_S},    {"max_air_temp", "C", STV_WQ_TEMP_MAX_C},
    {"min_air_temp", "C", STV_WQ_TEMP_MIN_C},
};
#define N_KNOWN (sizeof known / sizeof known[0])

struct table {
    char unit[N_KNOWN][UNIT_MAX];
    size_t stamp, version, cell[N_KNOWN];
    struct stv_weather_want want[N_KNOWN];
    double place[3]; /* latitude, longitude, elevation */
    bool is_daily, has_end;
};

/* A day's extremes before they are put together. */
struct extreme {
    int64_t day_d;
    struct stv_line line;
    double low_c, high_c;
};
struct extremes {
    struct extreme *items;
    size_t n, capacity;
};

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    (void)n_lines;
    return stv_slice_starts(lines[0].all, "Conventions,G,BADC-CSV");
}

static void read_attribute(struct stv_weather_text *file, const struct stv_line *line,
                           struct table *table)
{
    struct stv_slice cells[5];
    size_t n = stv_line_cells(line->all, ',', cells, 5);
    if (n < 3)
        return;
    if (stv_slice_is(cells[0], "location") && n >= 4) {
        (void)stv_slice_number(cells[2], &table->place[0]);
        (void)stv_slice_number(cells[3], &table->place[1]);
    } else if (stv_slice_is(cells[0], "height")) {
        (void)stv_slice_number(cells[2], &table->place[2]);
    } else if (stv_slice_is(cells[0], "observation_station")) {
        snprintf(file->meta.source, sizeof file->meta.source, "Met Office MIDAS Open, %.*s",
                 (int)(cells[2].n < 80 ? cells[2].n : 80), cells[2].text);
    } else if (stv_slice_is(cells[0], "long_name") && n >= 4) {
        for (size_t i = 0; i < N_KNOWN; i++)
            if (stv_slice_is(cells[1], known[i].name))
                stv_slice_copy(cells[3], table->unit[i], UNIT_MAX);
    }
}

/* Units as BADC-CSV spells them, in our words. */
static const char *our_unit(const char *unit, const char *fallback)
{
    if (strcmp(unit, "degC") == 0)
        return "C";
    if (strcmp(unit, "knots") == 0 || strcmp(unit, "knot") == 0 || strcmp(unit, "kt") == 0)
        return "kn";
    return unit[0] && strcmp(unit, "1") != 0 ? unit : fallback;
}

static enum stv_status read_header(struct stv_weather_text *file, const struct stv_line *line,
                                   struct table *table)
{
    struct stv_slice cells[CELLS_MAX];
    char why[160];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    table->stamp = stv_slice_find(cells, n, "ob_time");
    table->is_daily = table->stamp == SIZE_MAX;
    if (table->is_daily)
        table->stamp = stv_slice_find(cells, n, "ob_end_time");
    table->version = stv_slice_find(cells, n, "version_num");
    bool has_temperature = false;
    for (size_t i = 0; i < N_KNOWN; i++) {
        struct stv_scale scale;
        const char *unit = our_unit(table->unit[i], known[i].unit);
        bool is_daily =
            known[i].quantity == STV_WQ_TEMP_MAX_C || known[i].quantity == STV_WQ_TEMP_MIN_C;
        table->cell[i] =
            is_daily == table->is_daily ? stv_slice_find(cells, n, known[i].name) : SIZE_MAX;
        if (stv_reading_scale(known[i].quantity, unit, &scale, why, sizeof why) != STV_OK)
            return stv__weather_refuse(file, line->number, stv_slice_of(unit), why);
        table->want[i] =
            (struct stv_weather_want){known[i].quantity, scale.factor, scale.offset, (double)NAN};
        has_temperature =
            has_temperature || (table->cell[i] != SIZE_MAX && known[i].quantity != STV_WQ_WIND_M_S);
    }
    if (table->stamp == SIZE_MAX || !has_temperature)
        return stv__weather_refuse(file, line->number, line->all,
                                   "no ob_time with air_temperature, nor ob_end_time with "
                                   "max_air_temp: this is another of the data sets");
    return STV_OK;
}

/* Values of a row; false when it has no time and was set aside. */
static bool read_values(struct stv_weather_text *file, const struct stv_line *line,
                        const struct table *table, struct stv_weather_row *row, uint8_t *rank)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    *row = stv__weather_row();
    *rank = table->version < n && !stv_slice_is(cells[table->version], "1");
    if (table->stamp >= n || !stv__weather_stamp(cells[table->stamp], &row->time_s)) {
        stv__weather_row_aside(file, line, line->all, "no time of observation: not used");
        return false;
    }
    for (size_t i = 0; i < N_KNOWN; i++)
        if (table->cell[i] < n && !stv_slice_is(cells[table->cell[i]], "NA"))
            row->values[known[i].quantity] =
                stv__weather_value(file, line, cells[table->cell[i]], table->want[i]);
    return true;
}

static bool add_extreme(struct extremes *all, struct extreme next)
{
    if (all->n == all->capacity) {
        size_t capacity = all->capacity ? 2 * all->capacity : 1024;
        struct extreme *items = realloc(all->items, capacity * sizeof *items);
        if (!items)
            return false;
        all->items = items;
        all->capacity = capacity;
    }
    all->items[all->n++] = next;
    return true;
}

/* A record that ends in the morning has the highest of the day before and the lowest of its own;
 * one that ends in the evening the highest of its own and the lowest of the next. */
static void take_extremes(struct stv_weather_text *file, const struct stv_line *line,
                          const struct stv_weather_row *row, struct extremes *all)
{
    int32_t second_s;
    int64_t day_d = stv_local_day(row->time_s, 0, &second_s);
    int before = second_s <= MORNING_S;
    double low_c = row->values[STV_WQ_TEMP_MIN_C], high_c = row->values[STV_WQ_TEMP_MAX_C];
    bool is_good = true;
    file->n_rows++;
    if (isnan(low_c) && isnan(high_c)) {
        file->n_empty++;
        return;
    }
    if (!isnan(high_c))
        is_good = add_extreme(all, (struct extreme){day_d - before, *line, (double)NAN, high_c});
    if (is_good && !isnan(low_c))
        is_good = add_extreme(all, (struct extreme){day_d + 1 - before, *line, low_c, (double)NAN});
    if (!is_good)
        file->status = STV_E_MEMORY;
}

static int by_day(const void *a, const void *b)
{
    const struct extreme *left = a, *right = b;
    if (left->day_d != right->day_d)
        return left->day_d < right->day_d ? -1 : 1;
    return left->line.at < right->line.at ? -1 : left->line.at > right->line.at;
}

/* The highest of the highest and the lowest of the lowest of each day.  Rows become days here, so
 * rows are counted as read and days as samples. */
static void merge_days(struct stv_weather_text *file, struct extremes *all)
{
    if (all->n > 0)
        qsort(all->items, all->n, sizeof *all->items, by_day);
    for (size_t i = 0; i < all->n && file->status == STV_OK;) {
        struct stv_weather_row row = stv__weather_row();
        size_t first = i;
        for (; i < all->n && all->items[i].day_d == all->items[first].day_d; i++) {
            double *low_c = &row.values[STV_WQ_TEMP_MIN_C],
                   *high_c = &row.values[STV_WQ_TEMP_MAX_C];
            *low_c = fmin(*low_c, all->items[i].low_c); /* fmin and fmax pass over NaN */
            *high_c = fmax(*high_c, all->items[i].high_c);
        }
        file->status = stv_samples_add(&file->samples, all->items[first].day_d * STV_DAY_S,
                                       all->items[first].line.at, row.values);
    }
    file->n_rows = file->samples.n + file->n_set_aside + file->n_empty;
}

static void read_table(struct stv_weather_text *file, struct stv_lines *lines, struct table *table)
{
    struct stv_line line;
    struct stv_weather_row row;
    struct extremes extremes = {NULL, 0, 0};
    uint8_t rank;
    while (!table->has_end && stv_lines_next(lines, &line)) {
        table->has_end = stv_slice_starts(line.all, "end data");
        if (table->has_end || !read_values(file, &line, table, &row, &rank))
            continue;
        if (table->is_daily)
            take_extremes(file, &line, &row, &extremes);
        else
            stv__weather_take_ranked(file, &line, &row, rank);
    }
    merge_days(file, &extremes);
    free(extremes.items);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table = {.place = {(double)NAN, (double)NAN, (double)NAN}};
    unsigned set = 0;
    bool has_data = false;
    while (!has_data && stv_lines_next(&lines, &line)) {
        has_data = stv_slice_is(line.all, "data");
        read_attribute(file, &line, &table);
    }
    if (!has_data || !stv_lines_next(&lines, &line))
        return stv__weather_refuse(
            file, 0, stv_slice_of(""),
            "the line \"data\" and a table behind it are missing: cut short; "
            "fetch it again");
    enum stv_status status = read_header(file, &line, &table);
    for (size_t i = 0; i < N_KNOWN; i++)
        set |= table.cell[i] != SIZE_MAX ? STV_SAMPLES_BIT(known[i].quantity) : 0u;
    if (status != STV_OK || !stv__weather_begin(file, set))
        return status != STV_OK ? status : file->status;
    (void)stv__weather_site(file, table.place[0], table.place[1], table.place[2]);
    file->is_daily = table.is_daily;
    file->has_reports = true; /* synoptic and airport messages stand side by side */
    stv__weather_clock(file, 0.0);
    stv__weather_hour_ending(file);
    snprintf(file->meta.licence, sizeof file->meta.licence, "Open Government Licence v3");
    snprintf(file->stamps, sizeof file->stamps, "UTC, %s",
             table.is_daily ? "days from 9 to 9 h" : "each hour at its end");
    read_table(file, &lines, &table);
    if (!table.has_end) {
        struct stv_finding finding = {
            .severity = STV_SUSPECT, .rule = "cut", .file = file->file, .row = lines.number};
        stv_finding_add(file->problems, &finding,
                        "the line \"end data\" is missing: the download was cut; what is there is "
                        "used; fetch it again");
    }
    return file->status;
}

const struct stv_weather_format stv__format_midas = {"MIDAS Open, BADC-CSV", is_mine, read};
