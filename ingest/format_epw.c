/* EPW, the weather file of building simulation: eight header lines, then hours of 35 fields.
 *
 * The stamp is the end of the hour, in local standard time, whatever the minute field says, unless
 * the file has several records an hour.  A file whose years differ from month to month is a
 * typical year put together from several; one whose rows are all of one year is that year.
 * Source: field order and missing codes from the EnergyPlus Auxiliary Programs guide (from memory);
 * minute 0 and 60 mean the same: seen in files of both kinds. */
#include "ingest/weather_format.h"

#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define FIELDS_LEAST 22 /* to the wind speed; short files end there */
#define FIELDS 35
#define MINUTE_S 60

enum {
    YEAR,
    MONTH,
    DAY,
    HOUR,
    MINUTE,
    DRY_BULB = 6,
    DEW_POINT,
    HUMIDITY,
    PRESSURE,
    SKY = 12,
    GLOBAL,
    BEAM,
    DIFFUSE,
    WIND = 21,
    CLOUD = 22
};

static const struct {
    size_t field;
    struct stv_weather_want want;
} wanted[] = {
    {DRY_BULB, {STV_WQ_TEMP_C, 1.0, 0.0, 99.9}},
    {DEW_POINT, {STV_WQ_DEW_POINT_C, 1.0, 0.0, 99.9}},
    {HUMIDITY, {STV_WQ_RH_FRAC, 0.01, 0.0, 999.0}},
    {PRESSURE, {STV_WQ_PRESSURE_PA, 1.0, 0.0, 999999.0}},
    {SKY, {STV_WQ_SKY_W_M2, 1.0, 0.0, 9999.0}},
    {GLOBAL, {STV_WQ_GHI_W_M2, 1.0, 0.0, 9999.0}},
    {BEAM, {STV_WQ_DNI_W_M2, 1.0, 0.0, 9999.0}},
    {DIFFUSE, {STV_WQ_DHI_W_M2, 1.0, 0.0, 9999.0}},
    {WIND, {STV_WQ_WIND_M_S, 1.0, 0.0, 999.0}},
    {CLOUD, {STV_WQ_CLOUD_FRAC, 0.1, 0.0, 99.0}},
};
#define N_WANTED (sizeof wanted / sizeof wanted[0])

/* A table whose first column is named location is none: the word is in capitals here, and latitude
 * and longitude are numbers. */
static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    static const char word[] = "LOCATION,";
    struct stv_slice cells[10], line = lines[0].all;
    double number;
    (void)n_lines;
    return line.n >= sizeof word && memcmp(line.text, word, sizeof word - 1) == 0 &&
           stv_line_cells(line, ',', cells, 10) >= 8 && stv_slice_number(cells[6], &number) &&
           stv_slice_number(cells[7], &number);
}

/* Kinds of typical year as the LOCATION line names its source (from memory). */
static bool is_typical_source(struct stv_slice source)
{
    static const char *const kinds[] = {"TMY",  "IWEC", "RMY",   "TRY",   "CWEC",
                                        "WYEC", "CSWD", "SWERA", "INETI", "SWEC"};
    for (size_t i = 0; i < sizeof kinds / sizeof kinds[0]; i++)
        if (stv_slice_has(source, kinds[i]))
            return true;
    return false;
}

/* LOCATION,city,state,country,source,WMO,latitude,longitude,time zone,elevation */
static enum stv_status read_place(struct stv_weather_text *file, const struct stv_line *line)
{
    struct stv_slice cells[10];
    double latitude_deg, longitude_deg, offset_h, elevation_m;
    size_t n = stv_line_cells(line->all, ',', cells, 10);
    if (n < 9 || !stv_slice_number(cells[8], &offset_h) || !(fabs(offset_h) <= 14.0))
        return stv__weather_refuse(file, line->number, n > 8 ? cells[8] : line->all,
                                   "the LOCATION line has no time zone in hours, without which no "
                                   "hour of the file can be placed");
    stv__weather_clock(file, offset_h);
    file->meta.is_typical = is_typical_source(cells[4]);
    if (n < 10 || !stv_slice_number(cells[9], &elevation_m))
        elevation_m = (double)NAN;
    if (stv_slice_number(cells[6], &latitude_deg) && stv_slice_number(cells[7], &longitude_deg))
        (void)stv__weather_site(file, latitude_deg, longitude_deg, elevation_m);
    snprintf(file->meta.source, sizeof file->meta.source, "EPW file, %.*s, %.*s",
             (int)(cells[1].n < 80 ? cells[1].n : 80), cells[1].text,
             (int)(cells[4].n < 80 ? cells[4].n : 80), cells[4].text);
    return STV_OK;
}

/* Records an hour, from the line DATA PERIODS,number,records per hour,... */
static int32_t records_per_hour(const struct stv_line *line)
{
    struct stv_slice cells[3];
    int32_t n_records;
    bool is_said = stv_line_cells(line->all, ',', cells, 3) >= 3 &&
                   stv_slice_int(cells[2], &n_records) && n_records >= 1 && n_records <= MINUTE_S;
    return is_said ? n_records : 1;
}

static bool is_data(const struct stv_line *line)
{
    return line->all.n > 0 && line->all.text[0] >= '0' && line->all.text[0] <= '9';
}

/* True when the rows carry more than one year and so were put together from several. */
static bool is_patched(const struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_slice cells[2], first = {NULL, 0};
    size_t n_same = 0, n_other = 0;
    while (stv_lines_next(&lines, &line)) {
        int32_t year;
        if (!is_data(&line) || stv_line_cells(line.all, ',', cells, 2) < 2 ||
            !stv_slice_int(cells[0], &year))
            continue;
        if (!first.text)
            first = cells[0];
        char text[16];
        stv_slice_copy(first, text, sizeof text);
        n_same += stv_slice_is(cells[0], text);
        n_other += !stv_slice_is(cells[0], text);
    }
    return n_other > n_same / 50; /* a month is a twelfth; single slips are not another year */
}

/* Start of what a row stands for. */
static bool row_time(const struct stv_weather_text *file, const struct stv_slice *cells,
                     int32_t n_records, int64_t *out_s)
{
    int32_t at[5];
    for (size_t i = 0; i < 5; i++)
        if (!stv_slice_int(cells[i], &at[i]))
            return false;
    bool is_good = at[HOUR] >= 1 && at[HOUR] <= STV_DAY_H &&
                   (file->meta.is_typical
                        ? stv__weather_typical_time(at[MONTH], at[DAY], at[HOUR], out_s)
                        : stv__weather_time(at[YEAR], at[MONTH], at[DAY], at[HOUR] - 1, 0, out_s));
    if (is_good && n_records > 1 && at[MINUTE] > 0 && at[MINUTE] <= MINUTE_S)
        *out_s += (at[MINUTE] - MINUTE_S / n_records) * MINUTE_S;
    return is_good;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line, int32_t n_records,
                     int64_t offset_s)
{
    struct stv_slice cells[FIELDS];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, FIELDS);
    if (n < FIELDS_LEAST) {
        stv__weather_row_aside(file, line, line->all,
                               "the row has fewer fields than an hour needs: cut short, not used");
        return;
    }
    if (!row_time(file, cells, n_records, &row.time_s)) {
        stv__weather_row_aside(file, line, line->all,
                               file->meta.is_typical
                                   ? "no month, day and hour of a typical year: not used"
                                   : "no such date and hour: not used");
        return;
    }
    row.time_s -= offset_s;
    for (size_t i = 0; i < N_WANTED; i++)
        if (wanted[i].field < n)
            row.values[wanted[i].want.quantity] =
                stv__weather_value(file, line, cells[wanted[i].field], wanted[i].want);
    stv__weather_take(file, line, &row);
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct stv_clock clock;
    int32_t n_records = 1;
    unsigned quantities = 0;
    for (size_t i = 0; i < N_WANTED; i++)
        quantities |= STV_SAMPLES_BIT(wanted[i].want.quantity);
    if (!stv__weather_begin(file, quantities))
        return file->status;
    if (!stv_lines_next(&lines, &line))
        return STV_E_NO_DATA;
    enum stv_status status = read_place(file, &line);
    if (status == STV_OK)
        status = stv_clock_parse(file->meta.clock, &clock, NULL, 0);
    if (status != STV_OK)
        return status;
    file->meta.is_typical = file->meta.is_typical || is_patched(file);
    snprintf(file->stamps, sizeof file->stamps, "local standard time, each hour at its end");
    while (stv_lines_next(&lines, &line)) {
        if (stv_slice_starts(line.all, "DATA PERIODS"))
            n_records = records_per_hour(&line);
        else if (is_data(&line))
            read_row(file, &line, n_records, (int64_t)clock.standard_offset_min * MINUTE_S);
        else if (file->n_rows > 0)
            stv__weather_row_aside(file, &line, line.all, "is no row of weather: not used");
    }
    return file->status;
}

const struct stv_weather_format stv__format_epw = {"EPW", is_mine, read};
