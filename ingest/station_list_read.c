/* The station lists of the services, each a table of where its fields stand: columns with names, or
 * places in a line of fixed width.
 *
 * Positions of 0, 0 and heights of -999 mean "not known".  A row without a position is counted and
 * left out; one that cannot be read is said.
 * Source: NOAA, header of isd-history.csv, GHCN-Daily readme (both text files), header of
 * ghcnh-station-list.csv; header of Environment Canada's Station Inventory EN.csv; stations.tsv of
 * USCRN, its layout and its heights in feet partly from memory. */
#include "ingest/station_list.h"

#include "ingest/lines.h"
#include "ingest/station_parts.h"
#include "ingest/text_file.h"
#include "model/calendar.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WHY_MAX 256
#define CELLS_MAX 64
#define HEADER_LINES_MOST 20 /* Environment Canada writes three lines above its header */
#define HEIGHT_LEAST_M (-430.0)
#define HEIGHT_MOST_M 6000.0
#define FOOT_M 0.3048
#define YEAR_LEAST 1700
#define USAF_LETTERS 6
#define WBAN_LETTERS 5
#define GHCN_LETTERS 11
#define ICAO_LETTERS 4

enum field { ID, ID_2, ID_3, NAME, LATITUDE, LONGITUDE, HEIGHT, FIRST, LAST, N_FIELDS };

/* Column names, or first and last place in the line; both empty: there is no such field. */
struct layout {
    char delimiter; /* 0: fixed width */
    const char *columns[N_FIELDS];
    unsigned char places[N_FIELDS][2];
    double height_m; /* its unit */
};

#define ISD_YEARS                                                                           \
    [NAME] = "STATION NAME", [LATITUDE] = "LAT", [LONGITUDE] = "LON", [HEIGHT] = "ELEV(M)", \
    [FIRST] = "BEGIN", [LAST] = "END"

static const struct layout layouts[] = {
    [STV_STATIONS_ISD] = {',', {[ID] = "USAF", [ID_2] = "WBAN", ISD_YEARS}, {{0}}, 1.0},
    [STV_STATIONS_ISD_AIRPORTS] = {',', {[ID] = "ICAO", ISD_YEARS}, {{0}}, 1.0},
    [STV_STATIONS_ISD_US] = {',', {[ID] = "WBAN", [ID_2] = "CTRY", ISD_YEARS}, {{0}}, 1.0},
    [STV_STATIONS_GHCN_DAILY] = {0,
                                 {NULL},
                                 {[ID] = {1, 11},
                                  [LATITUDE] = {13, 20},
                                  [LONGITUDE] = {22, 30},
                                  [ID_2] = {32, 35},
                                  [FIRST] = {37, 40},
                                  [LAST] = {42, 45}},
                                 1.0},
    [STV_STATIONS_GHCN_DAILY_NAMES] = {0,
                                       {NULL},
                                       {[ID] = {1, 11},
                                        [LATITUDE] = {13, 20},
                                        [LONGITUDE] = {22, 30},
                                        [HEIGHT] = {32, 37},
                                        [NAME] = {42, 71}},
                                       1.0},
    [STV_STATIONS_GHCN_HOURLY] = {',',
                                  {[ID] = "GHCN_ID",
                                   [NAME] = "NAME",
                                   [LATITUDE] = "LATITUDE",
                                   [LONGITUDE] = "LONGITUDE",
                                   [HEIGHT] = "ELEVATION"},
                                  {{0}},
                                  1.0},
    [STV_STATIONS_USCRN] = {'\t',
                            {[ID] = "STATE",
                             [ID_2] = "LOCATION",
                             [ID_3] = "VECTOR",
                             [NAME] = "NAME",
                             [LATITUDE] = "LATITUDE",
                             [LONGITUDE] = "LONGITUDE",
                             [HEIGHT] = "ELEVATION",
                             [FIRST] = "COMMISSIONING",
                             [LAST] = "CLOSING"},
                            {{0}},
                            FOOT_M},
    [STV_STATIONS_CANADA] = {',',
                             {[ID] = "Station ID",
                              [NAME] = "Name",
                              [LATITUDE] = "Latitude (Decimal Degrees)",
                              [LONGITUDE] = "Longitude (Decimal Degrees)",
                              [HEIGHT] = "Elevation (m)",
                              [FIRST] = "HLY First Year",
                              [LAST] = "HLY Last Year"},
                             {{0}},
                             1.0},
};

/* What became of a row. */
enum row { TAKEN, WITHOUT_PLACE, NOT_WANTED, FAULTY };

static bool has_letters(struct stv_slice slice, size_t n, int (*is_good)(int))
{
    for (size_t i = 0; i < slice.n; i++)
        if ((unsigned char)slice.text[i] > 0x7E || !is_good((unsigned char)slice.text[i]))
            return false;
    return slice.n == n;
}

static void set_id(struct stv_station *station, const char *front, struct stv_slice slice)
{
    snprintf(station->id, sizeof station->id, "%s%.*s", front,
             (int)(slice.n < STV_STATION_ID ? slice.n : STV_STATION_ID), slice.text);
}

static enum row isd_id(const struct stv_slice *fields, struct stv_station *station)
{
    if (!has_letters(fields[ID], USAF_LETTERS, isalnum) ||
        !has_letters(fields[ID_2], WBAN_LETTERS, isdigit))
        return FAULTY;
    snprintf(station->id, sizeof station->id, "%.6s-%.5s", fields[ID].text, fields[ID_2].text);
    return TAKEN;
}

static enum row airport_id(const struct stv_slice *fields, struct stv_station *station)
{
    if (!has_letters(fields[ID], ICAO_LETTERS, isalnum))
        return fields[ID].n == 0 ? NOT_WANTED : FAULTY;
    set_id(station, "", fields[ID]);
    if (station->id[0] == 'K')
        memmove(station->id, station->id + 1, ICAO_LETTERS);
    return TAKEN;
}

/* A station of the United States with a WBAN number has it in its GHCN name. */
static enum row us_id(const struct stv_slice *fields, struct stv_station *station)
{
    if (!has_letters(fields[ID], WBAN_LETTERS, isdigit))
        return FAULTY;
    if (!stv_slice_is(fields[ID_2], "US") || stv_slice_is(fields[ID], "99999"))
        return NOT_WANTED;
    set_id(station, "USW000", fields[ID]);
    return TAKEN;
}

static enum row ghcn_id(const struct stv_slice *fields, struct stv_station *station)
{
    if (fields[ID].n != GHCN_LETTERS)
        return FAULTY;
    set_id(station, "", fields[ID]);
    return TAKEN;
}

static enum row ghcn_daily_id(const struct stv_slice *fields, struct stv_station *station)
{
    station->elements = stv_slice_is(fields[ID_2], "TMAX")   ? STV__MEASURES_HIGHEST
                        : stv_slice_is(fields[ID_2], "TMIN") ? STV__MEASURES_LOWEST
                                                             : 0;
    bool has_element = has_letters(fields[ID_2], 4, isalnum);
    if (has_element && station->elements == 0 && fields[ID].n == GHCN_LETTERS)
        return NOT_WANTED;
    return has_element ? ghcn_id(fields, station) : FAULTY;
}

static enum row uscrn_id(const struct stv_slice *fields, struct stv_station *station)
{
    char parts[3][STV_STATION_ID];
    for (size_t i = 0; i < 3; i++) {
        if (fields[ID + i].n == 0)
            return FAULTY;
        stv_slice_copy(fields[ID + i], parts[i], sizeof parts[i]);
    }
    int n = snprintf(station->id, sizeof station->id, "%s_%s_%s", parts[0], parts[1], parts[2]);
    for (char *at = station->id; *at; at++)
        if (*at == ' ')
            *at = '_';
    return n > 0 && (size_t)n < sizeof station->id ? TAKEN : FAULTY;
}

static enum row canada_id(const struct stv_slice *fields, struct stv_station *station)
{
    if (fields[ID].n >= STV_STATION_ID || !has_letters(fields[ID], fields[ID].n, isdigit) ||
        fields[ID].n == 0)
        return FAULTY;
    if (fields[FIRST].n == 0)
        return NOT_WANTED;
    set_id(station, "", fields[ID]);
    return TAKEN;
}

static enum row (*const id_of[])(const struct stv_slice *, struct stv_station *) = {
    [STV_STATIONS_ISD] = isd_id,
    [STV_STATIONS_ISD_AIRPORTS] = airport_id,
    [STV_STATIONS_ISD_US] = us_id,
    [STV_STATIONS_GHCN_DAILY] = ghcn_daily_id,
    [STV_STATIONS_GHCN_DAILY_NAMES] = ghcn_id,
    [STV_STATIONS_GHCN_HOURLY] = ghcn_id,
    [STV_STATIONS_USCRN] = uscrn_id,
    [STV_STATIONS_CANADA] = canada_id,
};

static enum row read_place(const struct layout *layout, const struct stv_slice *fields,
                           struct stv_site_position *out)
{
    double height_m;
    if (fields[LATITUDE].n == 0 && fields[LONGITUDE].n == 0)
        return WITHOUT_PLACE;
    if (!stv_slice_number(fields[LATITUDE], &out->latitude_deg) ||
        !stv_slice_number(fields[LONGITUDE], &out->longitude_deg) ||
        fabs(out->latitude_deg) > 90.0 || fabs(out->longitude_deg) > 180.0)
        return FAULTY;
    if (out->latitude_deg == 0.0 && out->longitude_deg == 0.0)
        return WITHOUT_PLACE;
    out->elevation_m = (double)NAN;
    if (stv_slice_number(fields[HEIGHT], &height_m)) {
        height_m *= layout->height_m;
        if (height_m >= HEIGHT_LEAST_M && height_m <= HEIGHT_MOST_M)
            out->elevation_m = height_m;
    }
    return TAKEN;
}

/* 2015, 20150826 or 2015-08-26 with whatever behind; a year alone is its first day or its last. */
static bool read_day(struct stv_slice slice, bool is_last, int64_t *out_day_d)
{
    char digits[9] = "";
    size_t n = 0, at = 0;
    for (; at < slice.n && n < 8; at++)
        if (isdigit((unsigned char)slice.text[at]))
            digits[n++] = slice.text[at];
        else if (slice.text[at] != '-' || (n != 4 && n != 6))
            break;
    bool is_date = n == 8 && (at == slice.n || slice.text[at] == ' ' || slice.text[at] == 'T');
    if (!is_date && (n != 4 || slice.n != 4))
        return false;
    long number = strtol(digits, NULL, 10);
    struct stv_date date =
        is_date ? (struct stv_date){(int32_t)(number / 10000), (int32_t)(number / 100 % 100),
                                    (int32_t)(number % 100)}
                : (struct stv_date){(int32_t)number, is_last ? 12 : 1, is_last ? 31 : 1};
    if (date.year < YEAR_LEAST || !stv_date_is_valid(date))
        return false;
    *out_day_d = stv_day_from_date(date);
    return true;
}

static bool is_told(struct stv_slice slice)
{
    return slice.n > 0 && !stv_slice_is(slice, "NA") && !stv_slice_is(slice, "UN");
}

static enum row read_days(const struct stv_slice *fields, struct stv_station *out)
{
    out->first_day_d = STV_DAY_BEFORE_ALL;
    out->last_day_d = STV_DAY_AFTER_ALL;
    if (is_told(fields[FIRST]) && !read_day(fields[FIRST], false, &out->first_day_d))
        return FAULTY;
    if (is_told(fields[LAST]) && !read_day(fields[LAST], true, &out->last_day_d))
        return FAULTY;
    return out->first_day_d <= out->last_day_d ? TAKEN : FAULTY;
}

static enum row read_row(enum stv_station_list_kind kind, const struct stv_slice *fields,
                         struct stv_station *out)
{
    *out = (struct stv_station){.elements = 0};
    enum row row = id_of[kind](fields, out);
    if (row == TAKEN)
        row = read_place(&layouts[kind], fields, &out->site);
    if (row == TAKEN)
        row = read_days(fields, out);
    if (row == TAKEN)
        stv_slice_copy(fields[NAME], out->name, sizeof out->name);
    return row;
}

/* Name and height of a station that an inventory brought. */
static void add_name(struct stv_station_list *list, const struct stv_station *told)
{
    const struct stv_station *known = stv_station_find(list, told->id);
    if (!known)
        return;
    struct stv_station *station = &list->stations[known - list->stations];
    memcpy(station->name, told->name, sizeof station->name);
    station->site.elevation_m = told->site.elevation_m;
}

/* ---- lines ------------------------------------------------------------------------------------
 */

struct reader {
    enum stv_station_list_kind kind;
    const struct layout *layout;
    const char *file;
    struct stv_problems *problems;
    struct stv_station_list *list;
    size_t cell[N_FIELDS]; /* of the header; SIZE_MAX: no such field */
    size_t n_read;         /* rows that make sense, wanted or not */
    bool is_short_of_memory;
};

static void cut(const struct reader *reader, struct stv_slice line, struct stv_slice *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = 0;
    if (reader->layout->delimiter)
        n = stv_line_cells(line, reader->layout->delimiter, cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    for (size_t i = 0; i < N_FIELDS; i++) {
        const unsigned char *place = reader->layout->places[i];
        out[i] = (struct stv_slice){"", 0};
        if (reader->layout->delimiter ? reader->cell[i] < n : place[0] > 0)
            out[i] = reader->layout->delimiter ? cells[reader->cell[i]]
                                               : stv_line_columns(line, place[0], place[1]);
    }
}

static bool read_header(struct reader *reader, struct stv_slice line)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line, reader->layout->delimiter, cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    for (size_t i = 0; i < N_FIELDS; i++) {
        const char *name = reader->layout->columns[i];
        reader->cell[i] = name ? stv_slice_find(cells, n, name) : SIZE_MAX;
        if (name && reader->cell[i] == SIZE_MAX && i != HEIGHT && i != NAME)
            return false;
    }
    return true;
}

static void take_line(struct reader *reader, const struct stv_line *line)
{
    struct stv_slice fields[N_FIELDS];
    struct stv_station station;
    char found[WHY_MAX];
    cut(reader, line->all, fields);
    enum row row = read_row(reader->kind, fields, &station);
    reader->list->n_rows++;
    reader->n_read += row != FAULTY;
    reader->list->n_without_place += row == WITHOUT_PLACE;
    if (row == FAULTY) {
        reader->list->n_faulty++;
        stv_slice_copy(line->all, found, sizeof found);
        stv_problem_add(reader->problems, STV_SET_ASIDE, reader->file, line->number, 0, found,
                        "no station with an id, a position and years that can be read: left out");
    } else if (row == TAKEN && reader->kind == STV_STATIONS_GHCN_DAILY_NAMES) {
        add_name(reader->list, &station);
    } else if (row == TAKEN && !stv__station_add(reader->list, &station)) {
        reader->is_short_of_memory = true;
    }
}

static enum stv_status refuse(const struct reader *reader, const char *what)
{
    stv_problem_add(reader->problems, STV_REFUSED, reader->file, 0, 0, NULL, "%s", what);
    return STV_E_PARSE;
}

static enum stv_status read_lines(struct reader *reader, const struct stv_text_file *text)
{
    struct stv_lines lines = {.text = text->text, .n = text->n};
    struct stv_line line;
    bool has_header = reader->layout->delimiter == 0;
    for (size_t i = 0; !has_header && i < HEADER_LINES_MOST && stv_lines_next(&lines, &line); i++)
        has_header = read_header(reader, line.all);
    if (!has_header)
        return refuse(reader, "is not the station list it should be: its columns are missing");
    while (!reader->is_short_of_memory && stv_lines_next(&lines, &line))
        take_line(reader, &line);
    if (reader->is_short_of_memory)
        return STV_E_MEMORY;
    if (reader->n_read == 0)
        return refuse(reader, "is not the station list it should be: no row could be read");
    return STV_OK;
}

enum stv_status stv_station_list_read(enum stv_station_list_kind kind, const char *path,
                                      const char *file, struct stv_problems *problems,
                                      struct stv_station_list *list)
{
    struct reader reader = {
        .kind = kind, .layout = &layouts[kind], .file = file, .problems = problems, .list = list};
    struct stv_text_file text = {0};
    char why[WHY_MAX];
    enum stv_status status = stv_text_file_read(path, &text, why, sizeof why);
    if (status == STV_OK)
        status = read_lines(&reader, &text);
    else
        (void)refuse(&reader, why);
    if (status == STV_OK && kind != STV_STATIONS_GHCN_DAILY_NAMES)
        stv__stations_fold(list, kind == STV_STATIONS_GHCN_DAILY);
    stv_text_file_free(&text);
    return status;
}
