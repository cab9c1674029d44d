/* From a table of stamped values to one regular grid.
 *
 * A sample is the mean of what falls into it: an hour for hourly and finer files, a local day for
 * daily ones.  What is missing stays NaN; completing it is the model's work (model/weather.h).
 * An hourly file of instants puts each into the hour that it opens. */
#include "ingest/weather_file.h"

#include "ingest/text_file.h"
#include "ingest/weather_grid.h"
#include "ingest/weather_header.h"
#include "ingest/weather_known.h"
#include "ingest/weather_meta.h"
#include "ingest/weather_units.h"
#include "model/air.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define PATH_BYTES 600
#define WHY_MAX 200
#define MINUTE_S 60

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

/* Place and clock are asked for together: on the command line, or in the file's description. */
static enum stv_status refuse_place(struct stv_machine *machine,
                                    const struct stv_weather_meta *meta)
{
    if (!meta->has_site && !meta->clock[0])
        return refuse(machine, STV_E_USAGE, machine->station,
                      "where the weather was measured is not said, nor what clock the stamps "
                      "follow: give --latitude, --longitude, --elevation and --clock, or in "
                      "NAME.meta.yaml position: {latitude, longitude, elevation} and clock: "
                      "(UTC-06:00, or a POSIX rule)");
    if (!meta->has_site)
        return refuse(machine, STV_E_USAGE, machine->station,
                      "where the weather was measured is not said: give --latitude, --longitude "
                      "and --elevation, or in NAME.meta.yaml position: {latitude, longitude, "
                      "elevation}");
    return refuse(machine, STV_E_USAGE, machine->station,
                  "what clock the stamps follow is not said: give --clock UTC-06:00, or in "
                  "NAME.meta.yaml clock: (UTC-06:00, or a POSIX rule)");
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
    if (!meta->has_site || !meta->clock[0])
        return refuse_place(machine, meta);
    if (stv_clock_parse(meta->clock, &machine->clock, why, sizeof why) != STV_OK)
        return refuse(machine, STV_E_PARSE, meta->clock, why);
    return STV_OK;
}

static enum stv_status choose_step(struct stv_machine *machine, struct stv_weather_meta *meta)
{
    if (meta->step_s == 0)
        meta->step_s = machine->has_one_time ? STV_DAY_S : STV_HOUR_S;
    if (meta->step_s == STV_HOUR_S && machine->has_stamps && !machine->has_times)
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
    machine->latest_s = INT64_MAX;
    return STV_OK;
}

static void correct_sea_level(struct stv_machine *machine, double elevation_m)
{
    for (size_t j = 0; j < machine->n_columns; j++)
        if (machine->columns[j].is_sea_level)
            machine->columns[j].scale.factor *=
                stv_pressure_at_height_pa(elevation_m) / STV_STANDARD_PRESSURE_PA;
}

/* The rows on one grid, by the steps that all formats share. */
static enum stv_status fill_grid(struct stv_machine *machine,
                                 const struct stv_weather_source *source,
                                 struct stv_weather_meta *meta, struct stv_weather_record *out)
{
    struct stv_weather_text file = {.text = machine->text->text,
                                    .n = machine->text->n,
                                    .file = machine->file,
                                    .problems = machine->problems,
                                    .station = machine->station,
                                    .samples = machine->samples,
                                    .is_daily = machine->is_daily,
                                    .cuts_days_by_clock = true,
                                    .n_rows = machine->n_rows,
                                    .n_set_aside = machine->n_set_aside};
    file.meta.is_typical = meta->is_typical;
    /* A day's midnight counts as if it were UTC. */
    for (size_t k = 0; machine->is_daily && k < file.samples.n; k++)
        file.samples.time_s[k] += (int64_t)machine->clock.standard_offset_min * MINUTE_S;
    enum stv_status status = stv__weather_grid(&file, source, meta, out);
    machine->samples = file.samples;
    meta->format = "table with named columns";
    snprintf(meta->how, sizeof meta->how,
             "read as a table with named columns; stamps %s; %zu rows, %zu used, %zu set aside",
             meta->clock, machine->n_rows, machine->samples.n, file.n_set_aside);
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
    size_t n_problems_before = machine->problems->n;
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
    if (status == STV_OK)
        status = stv__machine_order(machine);
    if (status == STV_OK)
        status = fill_grid(machine, source, meta, out);
    return status == STV_OK
               ? stv__weather_units(machine, out, meta->site.latitude_deg, n_problems_before)
               : status;
}

static enum stv_status read_other(const struct stv_text_file *text,
                                  const struct stv_weather_source *source,
                                  struct stv_problems *problems, struct stv_weather_meta *meta,
                                  struct stv_weather_record *out)
{
    char why[WHY_MAX];
    struct stv_machine machine = {.text = text, .file = source->path, .problems = problems};
    enum stv_status status = stv__machine_head(&machine, 0, why, sizeof why);
    if (status != STV_OK)
        (void)refuse(&machine, status, NULL, why);
    else
        status = read_table(&machine, source, meta, out);
    stv__machine_free(&machine);
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
    stv_text_file_end_lines(&text);
    status = format ? stv__weather_known(format, &text, source, problems, meta, out)
                    : read_other(&text, source, problems, meta, out);
    stv_text_file_free(&text);
    return status;
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
