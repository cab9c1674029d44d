/* From a table of stamped values to one regular grid.
 *
 * A sample is the mean of what falls into it: an hour for hourly and finer files, a local day for
 * daily ones.  What is missing stays NaN; completing it is the model's work (model/weather.h).
 * An hourly file of instants puts each into the hour that it opens. */
#include "ingest/weather_file.h"

#include "ingest/text_file.h"
#include "ingest/weather_header.h"
#include "ingest/weather_known.h"
#include "ingest/weather_meta.h"
#include "model/air.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PATH_BYTES 600
#define WHY_MAX 200
#define PADDED_MOST_H 3
#define YEAR_LEAST_H 8736 /* 364 days: shorter records have no year to complete */
#define MINUTE_S 60
#define GAP_NOTED_S (3 * STV_HOUR_S)
/* A dew point above the air by more than rounding of both to half a degree. */
#define DEW_ABOVE_MOST_K 0.5

static enum stv_status refuse(const struct stv_machine *machine, enum stv_status status,
                              const char *found, const char *what)
{
    stv_problem_add(machine->problems, STV_REFUSED, machine->file, 0, 0, found, "%s", what);
    return status;
}

/* weather/basin.csv -> weather/basin.meta.yaml */
static void meta_path(const char *path, char *out, size_t size)
{
    const char *slash = strrchr(path, '/');
    const char *dot = strrchr(slash ? slash : path, '.');
    int n = (int)(dot ? (size_t)(dot - path) : strlen(path));
    snprintf(out, size, "%.*s.meta.yaml", n, path);
}

/* The caller's description with that of the file beside it, when there is one, below. */
static enum stv_status read_meta(const struct stv_weather_source *source,
                                 struct stv_problems *problems, struct stv_weather_meta *out)
{
    char path[PATH_BYTES];
    struct stv_weather_meta beside;
    struct stv_yaml_node *root = NULL;
    size_t n_refused = problems->n_by_severity[STV_REFUSED];
    *out = source->meta;
    meta_path(source->path, path, sizeof path);
    FILE *file = fopen(path, "rb");
    if (!file)
        return STV_OK;
    fclose(file);
    enum stv_status status = stv_yaml_read(path, path, problems, &root);
    if (status == STV_OK || (status == STV_E_PARSE && root)) {
        stv_weather_meta_from_yaml(root, path, problems, &beside);
        stv_weather_meta_merge(out, &beside);
    }
    stv_yaml_free(root);
    if (status == STV_OK && problems->n_by_severity[STV_REFUSED] > n_refused)
        status = STV_E_PARSE;
    return status;
}

/* Site and clock: the caller's, else the station's, else the file's, else the fallback. */
static enum stv_status find_place(struct stv_machine *machine,
                                  const struct stv_weather_source *source,
                                  struct stv_weather_meta *meta)
{
    char why[WHY_MAX];
    const struct stv_meta_station *station = stv_weather_meta_station(meta, machine->station);
    if (station && station->has_site && !source->meta.has_site) {
        meta->site = station->site;
        meta->has_site = true;
    }
    if (station && station->clock[0] && !source->meta.clock[0])
        snprintf(meta->clock, sizeof meta->clock, "%s", station->clock);
    if (!meta->has_site && source->has_fallback_site) {
        meta->site = source->fallback_site;
        meta->has_site = true;
    }
    if (!meta->clock[0])
        snprintf(meta->clock, sizeof meta->clock, "%s", source->fallback_clock);
    if (!meta->has_site)
        return refuse(machine, STV_E_USAGE, machine->station,
                      "where the weather was measured is not said; give position: {latitude, "
                      "longitude, elevation}");
    if (!meta->clock[0])
        return refuse(machine, STV_E_USAGE, machine->station,
                      "what clock the stamps follow is not said; give clock: UTC, UTC-06:00 or a "
                      "POSIX rule");
    if (stv_clock_parse(meta->clock, &machine->clock, why, sizeof why) != STV_OK)
        return refuse(machine, STV_E_PARSE, meta->clock, why);
    return STV_OK;
}

/* True when every stamp has the same time of day, or none has any. */
static bool looks_daily(const struct stv_machine *machine)
{
    int32_t second_s = -1;
    for (size_t row = 0; row < machine->csv->n_rows; row++) {
        if (!machine->has_stamp[row])
            continue;
        if (second_s >= 0 && machine->stamps[row].second_s != second_s)
            return false;
        second_s = machine->stamps[row].second_s;
    }
    return machine->n_stamps > 1 || machine->n_with_time == 0;
}

static enum stv_status choose_step(struct stv_machine *machine, struct stv_weather_meta *meta)
{
    if (meta->step_s == 0)
        meta->step_s = looks_daily(machine) ? STV_DAY_S : STV_HOUR_S;
    if (meta->step_s == STV_HOUR_S && machine->n_with_time == 0)
        return refuse(machine, STV_E_PARSE, "step: hour",
                      "the stamps have dates but no time of day; write step: day");
    machine->is_daily = meta->step_s == STV_DAY_S;
    machine->is_typical = meta->is_typical;
    if (machine->is_daily || machine->is_typical) /* days and mean years know no summer time */
        machine->clock.has_summer = false;
    /* One second is enough to put the end of an hour into that hour. */
    machine->shift_s = !machine->is_daily && strcmp(meta->stamp, "end") == 0;
    machine->from_s = INT64_MIN;
    machine->to_s = INT64_MAX;
    return STV_OK;
}

static void correct_sea_level(struct stv_machine *machine, double elevation_m)
{
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].is_sea_level)
            machine->columns[j].scale.factor *=
                stv_pressure_at_height_pa(elevation_m) / STV_STANDARD_PRESSURE_PA;
}

static size_t column_of(const struct stv_machine *machine, enum stv_weather_quantity quantity)
{
    size_t j = 0;
    while (j < machine->n_columns && machine->columns[j].quantity != quantity)
        j++;
    return j;
}

static void set_value_aside(struct stv_machine *machine, size_t k, size_t j, const char *what)
{
    size_t row = machine->rows[k].csv_row;
    machine->n_values_set_aside++;
    stv_problem_add(machine->problems, STV_SET_ASIDE, machine->file,
                    stv__machine_line(machine, row), 0,
                    stv_csv_text(machine->csv, row, machine->columns[j].cell_idx), "%s", what);
}

/* Values that contradict each other cannot both be true, and nothing tells which is wrong. */
static void drop_contradictions(struct stv_machine *machine)
{
    size_t low = column_of(machine, STV_WQ_TEMP_MIN_C);
    size_t high = column_of(machine, STV_WQ_TEMP_MAX_C);
    size_t dew = column_of(machine, STV_WQ_DEW_POINT_C);
    size_t air = column_of(machine, STV_WQ_TEMP_C);
    size_t n = machine->n_columns;
    for (size_t k = 0; k < machine->n; k++) {
        double *values = stv__machine_values(machine, k);
        if (low < n && high < n && values[low] > values[high]) {
            set_value_aside(machine, k, low,
                            "the lowest temperature is above the highest: neither is used");
            machine->n_values_set_aside++;
            values[low] = values[high] = (double)NAN;
        }
        if (dew < n && air < n && !machine->is_daily &&
            values[dew] > values[air] + DEW_ABOVE_MOST_K) {
            set_value_aside(machine, k, dew,
                            "the dew point is above the temperature: it is not used");
            values[dew] = (double)NAN;
        }
    }
    stv__machine_drop_empty(machine);
}

/* Local hour or day that holds an instant, as UTC seconds of its start. */
static int64_t sample_start_s(const struct stv_machine *machine, int64_t time_s)
{
    int32_t offset_min = machine->clock.standard_offset_min, second_s;
    int64_t day_d = stv_local_day(time_s, offset_min, &second_s);
    int32_t into_s = machine->is_daily ? second_s : second_s % STV_HOUR_S;
    return day_d * STV_DAY_S + second_s - into_s - (int64_t)offset_min * MINUTE_S;
}

static enum stv_status allocate(const struct stv_machine *machine, struct stv_weather_record *out)
{
    for (size_t j = 0; j < machine->n_columns; j++) {
        double **column = &out->columns[machine->columns[j].quantity];
        *column = calloc(out->grid.n, sizeof **column);
        if (!*column)
            return STV_E_MEMORY;
    }
    return STV_OK;
}

/* Mean of the values in each sample, NaN where there are none. */
static void average(const struct stv_machine *machine, size_t j, uint32_t *count,
                    struct stv_weather_record *out)
{
    double *column = out->columns[machine->columns[j].quantity];
    memset(count, 0, out->grid.n * sizeof *count);
    for (size_t k = 0; k < machine->n; k++) {
        double value = stv__machine_values(machine, k)[j];
        if (isnan(value))
            continue;
        size_t i = stv_grid_index(&out->grid, machine->rows[k].time_s);
        column[i] += value;
        count[i]++;
    }
    for (size_t i = 0; i < out->grid.n; i++)
        column[i] = count[i] ? column[i] / count[i] : (double)NAN;
}

/* Ends of a year's hourly record that miss a local midnight by a few hours are carried to it, the
 * hours between missing, so that a year that lacks its first hour is still a year. */
static void reach_midnights(struct stv_grid *grid)
{
    int32_t first_s, end_s;
    stv_local_day(grid->t0_s, grid->utc_offset_min, &first_s);
    if (first_s <= PADDED_MOST_H * STV_HOUR_S) {
        grid->t0_s -= first_s;
        grid->n += (size_t)(first_s / STV_HOUR_S);
    }
    stv_local_day(stv_grid_start_s(grid, grid->n), grid->utc_offset_min, &end_s);
    int32_t left_s = (STV_DAY_S - end_s) % STV_DAY_S;
    if (left_s <= PADDED_MOST_H * STV_HOUR_S)
        grid->n += (size_t)(left_s / STV_HOUR_S);
}

static enum stv_status fill_grid(const struct stv_machine *machine,
                                 const struct stv_weather_meta *meta,
                                 struct stv_weather_record *out)
{
    out->site = meta->site;
    out->grid.step_s = meta->step_s;
    out->grid.utc_offset_min = machine->clock.standard_offset_min;
    out->grid.is_typical = meta->is_typical;
    out->grid.t0_s = sample_start_s(machine, machine->rows[0].time_s);
    int64_t last_s = sample_start_s(machine, machine->rows[machine->n - 1].time_s);
    out->grid.n = (size_t)((last_s - out->grid.t0_s) / meta->step_s) + 1;
    if (!machine->is_daily && out->grid.n >= YEAR_LEAST_H)
        reach_midnights(&out->grid);
    uint32_t *count = calloc(out->grid.n, sizeof *count);
    enum stv_status status = count ? allocate(machine, out) : STV_E_MEMORY;
    for (size_t j = 0; status == STV_OK && j < machine->n_columns; j++)
        average(machine, j, count, out);
    free(count);
    return status;
}

/* A daily extreme has no place in an hourly record. */
static void drop_daily_columns(struct stv_machine *machine)
{
    size_t kept = 0;
    for (size_t j = 0; j < machine->n_columns; j++) {
        enum stv_weather_quantity quantity = machine->columns[j].quantity;
        bool is_extreme = quantity == STV_WQ_TEMP_MIN_C || quantity == STV_WQ_TEMP_MAX_C;
        if (is_extreme && !machine->is_daily)
            stv_problem_add(machine->problems, STV_NOTED, machine->file, 0, 0,
                            machine->columns[j].name,
                            "a lowest or highest temperature in an hourly file is not read");
        else
            machine->columns[kept++] = machine->columns[j];
    }
    machine->n_columns = kept;
}

static enum stv_status read_table(struct stv_machine *machine,
                                  const struct stv_weather_source *source,
                                  struct stv_weather_meta *meta, struct stv_weather_record *out)
{
    enum stv_status status = stv__weather_header(machine, meta);
    if (status == STV_OK)
        status = stv__weather_station(machine, meta, source->station);
    if (status == STV_OK)
        status = find_place(machine, source, meta);
    if (status == STV_OK)
        status = stv__machine_scan(machine);
    if (status == STV_OK)
        status = choose_step(machine, meta);
    if (status != STV_OK)
        return status;
    drop_daily_columns(machine);
    correct_sea_level(machine, meta->site.elevation_m);
    if (machine->n_columns == 0)
        return refuse(machine, STV_E_PARSE, NULL, "no column with a known quantity is left");
    status = stv__machine_read(machine);
    if (status != STV_OK)
        return status;
    stv__machine_order(machine);
    drop_contradictions(machine);
    if (machine->n == 0)
        return refuse(machine, STV_E_NO_DATA, NULL, "no row of the file can be used");
    stv__machine_note_gaps(machine, machine->is_daily ? STV_DAY_S : GAP_NOTED_S);
    return fill_grid(machine, meta, out);
}

static enum stv_status read_other(const struct stv_weather_source *source,
                                  struct stv_problems *problems, struct stv_weather_meta *meta,
                                  struct stv_weather_record *out)
{
    struct stv_csv csv = {0};
    char why[WHY_MAX];
    struct stv_machine machine = {.csv = &csv, .file = source->path, .problems = problems};
    enum stv_status status = stv_csv_read(source->path, &csv, why, sizeof why);
    if (status != STV_OK)
        (void)refuse(&machine, status, NULL, why);
    else
        status = read_table(&machine, source, meta, out);
    stv__machine_free(&machine);
    stv_csv_free(&csv);
    return status;
}

/* A description that names the columns wins over any format that the file looks like. */
static enum stv_status read_any(const struct stv_weather_source *source,
                                struct stv_problems *problems, struct stv_weather_meta *meta,
                                struct stv_weather_record *out)
{
    struct stv_text_file text;
    char why[WHY_MAX];
    enum stv_status status = stv_text_file_read(source->path, &text, why, sizeof why);
    if (status != STV_OK) {
        stv_problem_add(problems, STV_REFUSED, source->path, 0, 0, NULL, "%s", why);
        return status;
    }
    const struct stv_weather_format *format =
        meta->n_columns ? NULL : stv__weather_format_of(text.text, text.n);
    if (format)
        status = stv__weather_known(format, &text, source, problems, meta, out);
    stv_text_file_free(&text);
    return format ? status : read_other(source, problems, meta, out);
}

enum stv_status stv_weather_file_read(const struct stv_weather_source *source,
                                      struct stv_problems *problems, struct stv_weather_record *out,
                                      struct stv_weather_meta *out_meta)
{
    struct stv_weather_meta meta;
    *out = (struct stv_weather_record){0};
    enum stv_status status = read_meta(source, problems, &meta);
    if (status == STV_OK)
        status = read_any(source, problems, &meta, out);
    if (status != STV_OK)
        stv_weather_record_free(out);
    else if (out_meta)
        *out_meta = meta;
    return status;
}
