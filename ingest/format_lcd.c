/* Local Climatological Data, first version (whole F) and second (C).
 *
 * One file mixes reports of hours with rows of days and months, which are not read.  Local standard
 * time of a zone that no column names: where the remarks hold the reports' own UTC times the whole
 * file votes for the offset, else someone has to say it.  The first version's stations have eleven
 * digits and F, the second's the letters of GHCN and C; the reports' own temperatures, or a value
 * that no C can be, overrule that, and a file that contradicts itself is refused.
 * Source: NOAA, LCD documentation (first version); units of the second from memory, hence the
 * check. */
#include "ingest/isd_codes.h"
#include "ingest/metar.h"
#include "ingest/noaa_station.h"

#include "model/units.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELLS_MAX 400
#define F_FACTOR (1.0 / 1.8)
#define F_OFFSET (-32.0 / 1.8)
#define INCH_HG_PA 3386.389
#define MILE_H_M_S (1609.344 / 3600.0)
#define DAY_MIN 1440
#define STEP_MIN 15
#define BEHIND_MOST_MIN 720 /* zones reach from 12 h behind UTC to 14 h ahead */
#define OFFSETS (DAY_MIN / STEP_MIN + 8)
#define VOTES_LEAST 20
#define VOTES_FRAC 0.9
#define LEAST_F 60.0   /* no air is that many C */
#define ROUNDING_K 1.0 /* of F and of the report's whole C together */

struct table {
    struct stv__noaa_station station;
    size_t date, type, remarks;
    size_t dry_bulb, dew_point, humidity, pressure, wind;
};

/* What the file's rows say of clock and unit. */
struct vote {
    size_t offsets[OFFSETS], n_offsets;
    size_t n_f, n_c; /* reports whose temperature fits one unit alone */
    double most;
    bool has_letters; /* in the station's name */
};

static bool read_header(const struct stv_line *line, struct table *out)
{
    struct stv_slice cells[CELLS_MAX];
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    *out = (struct table){.station = stv__noaa_station_find(cells, n),
                          .date = stv_slice_find(cells, n, "DATE"),
                          .type = stv_slice_find(cells, n, "REPORT_TYPE"),
                          .remarks = stv_slice_find(cells, n, "REM"),
                          .dry_bulb = stv_slice_find(cells, n, "HourlyDryBulbTemperature"),
                          .dew_point = stv_slice_find(cells, n, "HourlyDewPointTemperature"),
                          .humidity = stv_slice_find(cells, n, "HourlyRelativeHumidity"),
                          .pressure = stv_slice_find(cells, n, "HourlyStationPressure"),
                          .wind = stv_slice_find(cells, n, "HourlyWindSpeed")};
    return out->station.station != SIZE_MAX && out->date != SIZE_MAX && out->dry_bulb != SIZE_MAX;
}

static bool is_mine(const struct stv_line *lines, size_t n_lines)
{
    struct table table;
    (void)n_lines;
    return read_header(&lines[0], &table);
}

/* A value's digits, without the letter of doubt (s) or of change (V) behind them; *out_letter is
 * that letter or 0. */
static struct stv_slice without_letter(struct stv_slice cell, char *out_letter)
{
    *out_letter = '\0';
    if (cell.n > 1 && isalpha((unsigned char)cell.text[cell.n - 1]) &&
        isdigit((unsigned char)cell.text[cell.n - 2])) {
        *out_letter = cell.text[cell.n - 1];
        cell.n--;
    }
    return cell;
}

static void vote_for_offset(struct vote *vote, int64_t local_s, int32_t utc_minute)
{
    int32_t local_minute = (int32_t)((local_s / 60) % DAY_MIN);
    int32_t ahead_min = local_minute - utc_minute;
    while (ahead_min < -BEHIND_MOST_MIN)
        ahead_min += DAY_MIN;
    while (ahead_min >= DAY_MIN - BEHIND_MOST_MIN)
        ahead_min -= DAY_MIN;
    int32_t slot = (ahead_min + BEHIND_MOST_MIN + STEP_MIN / 2) / STEP_MIN;
    vote->offsets[slot]++;
    vote->n_offsets++;
}

static void vote_for_unit(struct vote *vote, double number, int32_t temp_c)
{
    bool is_c = fabs(number - temp_c) <= ROUNDING_K;
    bool is_f = fabs(F_OFFSET + F_FACTOR * number - temp_c) <= ROUNDING_K;
    vote->n_c += is_c && !is_f;
    vote->n_f += is_f && !is_c;
}

static void count_votes(struct stv_lines lines, const struct table *table, struct vote *vote)
{
    struct stv_line line;
    struct stv_slice cells[CELLS_MAX];
    while (stv_lines_next(&lines, &line)) {
        size_t n = stv_line_cells(line.all, ',', cells, CELLS_MAX);
        n = n < CELLS_MAX ? n : CELLS_MAX;
        int64_t local_s;
        int32_t minute, temp_c;
        double number;
        char letter;
        struct stv_slice remarks = stv__cell_of(cells, n, table->remarks);
        struct stv_slice station = stv__cell_of(cells, n, table->station.station);
        vote->has_letters =
            vote->has_letters || (station.n > 0 && isalpha((unsigned char)station.text[0]));
        if (table->date >= n || !stv__weather_stamp(cells[table->date], &local_s))
            continue;
        if (!stv_slice_number(without_letter(stv__cell_of(cells, n, table->dry_bulb), &letter),
                              &number))
            continue;
        vote->most = fmax(vote->most, number);
        if (stv__metar_minute(remarks, &minute))
            vote_for_offset(vote, local_s, minute);
        if (stv__metar_temp_c(remarks, &temp_c))
            vote_for_unit(vote, number, temp_c);
    }
}

/* The offset that nine in ten reports agree on. */
static bool elected_offset(const struct vote *vote, double *out_h)
{
    size_t best = 0;
    for (size_t i = 1; i < OFFSETS; i++)
        if (vote->offsets[i] > vote->offsets[best])
            best = i;
    if (vote->n_offsets < VOTES_LEAST ||
        (double)vote->offsets[best] < VOTES_FRAC * (double)vote->n_offsets)
        return false;
    *out_h = ((double)best * STEP_MIN - BEHIND_MOST_MIN) / 60.0;
    return true;
}

static enum stv_status choose_unit(struct stv_weather_text *file, const struct vote *vote,
                                   bool *out_is_f)
{
    *out_is_f = !vote->has_letters || vote->most > LEAST_F;
    if (vote->n_f + vote->n_c < VOTES_LEAST)
        return STV_OK;
    bool says_f = vote->n_f > vote->n_c;
    size_t n_for = says_f ? vote->n_f : vote->n_c;
    if ((double)n_for < VOTES_FRAC * (double)(vote->n_f + vote->n_c) ||
        (!says_f && vote->most > LEAST_F))
        return stv__weather_refuse(file, 0, stv_slice_of("HourlyDryBulbTemperature"),
                                   "some rows agree with their own reports in F and some in C: "
                                   "which unit the file has cannot be told");
    *out_is_f = says_f;
    return STV_OK;
}

/* A cell's value; s behind it is the service's own doubt, * and T and VRB are no numbers. */
static double read_value(struct stv_weather_text *file, const struct stv_line *line,
                         struct stv_slice cell, struct stv_weather_want want)
{
    char letter;
    struct stv_slice digits = without_letter(cell, &letter);
    if (stv_slice_is(cell, "*") || stv_slice_is(cell, "T") || stv_slice_is(cell, "VRB") ||
        stv_slice_is(cell, "M"))
        return (double)NAN;
    double value = stv__weather_value(file, line, digits, want);
    if (letter != 's' || isnan(value))
        return value;
    stv__weather_flagged(file, line, want.quantity, stv_slice_of("s"));
    return (double)NAN;
}

static void read_row(struct stv_weather_text *file, const struct stv_line *line,
                     const struct table *table, bool is_f, int64_t offset_s)
{
    struct stv_slice cells[CELLS_MAX];
    struct stv_weather_row row = stv__weather_row();
    size_t n = stv_line_cells(line->all, ',', cells, CELLS_MAX);
    n = n < CELLS_MAX ? n : CELLS_MAX;
    struct stv_slice type = stv__cell_of(cells, n, table->type);
    double factor = is_f ? F_FACTOR : 1.0, offset = is_f ? F_OFFSET : 0.0;
    if (stv__isd_is_summary(type))
        return;
    if (n <= table->station.station ||
        !stv__weather_stamp(stv__cell_of(cells, n, table->date), &row.time_s)) {
        stv__weather_row_aside(file, line, line->all, "no station and date: the row is not used");
        return;
    }
    stv__noaa_station_take(file, "NOAA LCD", &table->station, cells, n);
    row.time_s -= offset_s;
    row.values[STV_WQ_TEMP_C] =
        read_value(file, line, stv__cell_of(cells, n, table->dry_bulb),
                   (struct stv_weather_want){STV_WQ_TEMP_C, factor, offset, (double)NAN});
    row.values[STV_WQ_DEW_POINT_C] =
        read_value(file, line, stv__cell_of(cells, n, table->dew_point),
                   (struct stv_weather_want){STV_WQ_DEW_POINT_C, factor, offset, (double)NAN});
    row.values[STV_WQ_RH_FRAC] =
        read_value(file, line, stv__cell_of(cells, n, table->humidity),
                   (struct stv_weather_want){STV_WQ_RH_FRAC, 0.01, 0.0, (double)NAN});
    if (is_f) { /* the second version's units of these two are not certain */
        row.values[STV_WQ_PRESSURE_PA] =
            read_value(file, line, stv__cell_of(cells, n, table->pressure),
                       (struct stv_weather_want){STV_WQ_PRESSURE_PA, INCH_HG_PA, 0.0, (double)NAN});
        row.values[STV_WQ_WIND_M_S] =
            read_value(file, line, stv__cell_of(cells, n, table->wind),
                       (struct stv_weather_want){STV_WQ_WIND_M_S, MILE_H_M_S, 0.0, (double)NAN});
    }
    stv__weather_take_ranked(file, line, &row, stv__isd_rank(type));
}

static enum stv_status read(struct stv_weather_text *file)
{
    struct stv_lines lines = {.text = file->text, .n = file->n};
    struct stv_line line;
    struct table table;
    struct vote vote = {.most = -HUGE_VAL};
    double offset_h = 0.0;
    bool is_f;
    if (!stv_lines_next(&lines, &line) || !read_header(&line, &table))
        return STV_E_PARSE;
    count_votes(lines, &table, &vote);
    enum stv_status status = choose_unit(file, &vote, &is_f);
    if (status != STV_OK)
        return status;
    bool has_clock = elected_offset(&vote, &offset_h);
    file->is_local = !has_clock;
    if (has_clock)
        stv__weather_clock(file, offset_h);
    if (!stv__weather_begin(
            file, STV_SAMPLES_BIT(STV_WQ_TEMP_C) | STV_SAMPLES_BIT(STV_WQ_DEW_POINT_C) |
                      STV_SAMPLES_BIT(STV_WQ_RH_FRAC) | STV_SAMPLES_BIT(STV_WQ_PRESSURE_PA) |
                      STV_SAMPLES_BIT(STV_WQ_WIND_M_S)))
        return file->status;
    file->has_reports = true;
    stv__weather_hour_ending(file);
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps,
             "local standard time%s, each report at its minute, %s",
             has_clock ? ", its zone told by the reports' own UTC times" : "", is_f ? "F" : "C");
    while (stv_lines_next(&lines, &line))
        read_row(file, &line, &table, is_f, llround(offset_h * STV_HOUR_S));
    return file->status;
}

const struct stv_weather_format stv__format_lcd = {"NOAA LCD", is_mine, read};
