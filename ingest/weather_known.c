/* What a person said about a file wins over what the file says of itself, and that over the
 * house's place and clock.  A format whose stamps are local time without saying of where needs a
 * clock from one of them: it is never guessed from the longitude, for zones are wider than their
 * hour. */
#include "ingest/weather_known.h"

#include "ingest/clock.h"
#include "ingest/weather_grid.h"
#include "ingest/weather_meta.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define BEYOND_LEAST 24 /* values; fewer are slips */
#define BEYOND_PART 20  /* of the rows; a year of a hot place in F has a fifth beyond 60 */
#define MINUTE_S 60
#define WHY_MAX 200
#define THIN_FRAC 0.5

static enum stv_status refuse(const struct stv_weather_text *file, const char *what)
{
    stv_problem_add(file->problems, STV_REFUSED, file->file, 0, 0, NULL, "%s", what);
    return STV_E_USAGE;
}

/* A position without a height takes the house's height, for pressure changes little with it. */
static void complete_height(const struct stv_weather_text *file,
                            const struct stv_weather_source *source, struct stv_weather_meta *meta)
{
    if (isfinite(meta->site.elevation_m))
        return;
    meta->site.elevation_m = source->has_fallback_site ? source->fallback_site.elevation_m : 0.0;
    stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, NULL,
                    "the file does not say how high the station stands: %.0f m is used%s",
                    meta->site.elevation_m,
                    source->has_fallback_site ? ", the house's height"
                                              : "; say it with position: or --elevation");
}

static enum stv_status find_site(const struct stv_weather_text *file,
                                 const struct stv_weather_source *source,
                                 struct stv_weather_meta *meta)
{
    const struct stv_meta_station *station = stv_weather_meta_station(meta, source->station);
    if (!meta->has_site && station && station->has_site) {
        meta->site = station->site;
        meta->has_site = true;
    }
    if (!meta->has_site && file->meta.has_site) {
        meta->site = file->meta.site;
        meta->has_site = true;
        complete_height(file, source, meta);
    }
    if (!meta->has_site && source->has_fallback_site) {
        meta->site = source->fallback_site;
        meta->has_site = true;
    }
    if (!meta->has_site)
        return refuse(file, "where the weather was measured is not said, neither by the file; give "
                            "position: {latitude, longitude, elevation} in its description or the "
                            "book, or --latitude, --longitude and --elevation");
    return STV_OK;
}

/* A clock that somebody says of stamps whose clock the format fixes. */
static enum stv_status pass_over_clock(struct stv_weather_text *file, const char *said)
{
    struct stv_clock own, other;
    char why[WHY_MAX];
    enum stv_status status = stv_clock_parse(said, &other, why, sizeof why);
    if (status != STV_OK)
        stv_problem_add(file->problems, STV_REFUSED, file->file, 0, 0, said, "clock: %s", why);
    else if (stv_clock_parse(file->meta.clock, &own, NULL, 0) == STV_OK &&
             other.standard_offset_min != own.standard_offset_min)
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, said,
                        "the file tells its own clock, %s, by which it is read: the clock said "
                        "here is not used",
                        file->meta.clock);
    return status;
}

/* A station that is asked for where the file is of one and names none. */
static void pass_over_station(struct stv_weather_text *file, const struct stv_weather_meta *meta)
{
    if (file->station[0] && !file->has_chosen && !stv_weather_meta_station(meta, file->station))
        stv_problem_add(file->problems, STV_NOTED, file->file, 0, 0, file->station,
                        "the file is of one station and is read whole: the station asked for is "
                        "not looked for in it");
}

/* Brings local times to UTC. */
static enum stv_status find_clock(struct stv_weather_text *file,
                                  const struct stv_weather_source *source,
                                  struct stv_weather_meta *meta)
{
    struct stv_clock clock;
    char why[WHY_MAX];
    if (file->is_daily || !file->is_local) {
        if (meta->clock[0] && pass_over_clock(file, meta->clock) != STV_OK)
            return STV_E_PARSE;
        snprintf(meta->clock, sizeof meta->clock, "%s", file->meta.clock);
        return STV_OK;
    }
    if (!meta->clock[0])
        snprintf(meta->clock, sizeof meta->clock, "%s",
                 file->meta.clock[0] ? file->meta.clock : source->fallback_clock);
    if (!meta->clock[0])
        return refuse(file, "its stamps are local standard time, and nothing says of which zone; "
                            "give clock: UTC-06:00, or whichever it is, in its description or the "
                            "book, or --clock");
    enum stv_status status = stv_clock_parse(meta->clock, &clock, why, sizeof why);
    if (status != STV_OK) {
        stv_problem_add(file->problems, STV_REFUSED, file->file, 0, 0, meta->clock, "%s", why);
        return status;
    }
    for (size_t k = 0; k < file->samples.n; k++)
        file->samples.time_s[k] -= (int64_t)clock.standard_offset_min * MINUTE_S;
    return STV_OK;
}

/* Hours of the record without a temperature, and with one that speaks for less than half of it. */
static void count_thin_hours(const struct stv_weather_record *record, size_t *out_none,
                             size_t *out_thin)
{
    *out_none = *out_thin = 0;
    for (size_t i = 0; record->covered_frac && i < record->grid.n; i++) {
        *out_none += record->covered_frac[i] <= 0.0;
        *out_thin += record->covered_frac[i] > 0.0 && record->covered_frac[i] < THIN_FRAC;
    }
}

static void describe(const struct stv_weather_format *format, const struct stv_weather_text *file,
                     const struct stv_weather_record *record, struct stv_weather_meta *meta)
{
    meta->format = format->name;
    meta->is_typical = meta->is_typical || file->meta.is_typical;
    meta->step_s = record->grid.step_s;
    if (!meta->source[0])
        snprintf(meta->source, sizeof meta->source, "%s", file->meta.source);
    if (!meta->licence[0])
        snprintf(meta->licence, sizeof meta->licence, "%s", file->meta.licence);
    snprintf(meta->how, sizeof meta->how,
             "read as %s; stamps %s; position %s; %zu rows, %zu used, %zu without a value, %zu set "
             "aside",
             format->name, file->stamps,
             file->meta.has_site && meta->site.latitude_deg == file->meta.site.latitude_deg
                 ? "from the file"
                 : "as said",
             file->n_rows, file->samples.n, file->n_empty, file->n_set_aside);
    size_t n_none, n_thin, used = strlen(meta->how);
    count_thin_hours(record, &n_none, &n_thin);
    if (n_none || n_thin)
        snprintf(meta->how + used, sizeof meta->how - used,
                 "; of %zu hours %zu have no temperature and %zu less than half of one",
                 record->grid.n, n_none, n_thin);
}

/* A column of which so much cannot be is in another unit, and its possible values are wrong too. */
static enum stv_status judge_temperature(struct stv_weather_text *file, size_t n_problems_before)
{
    size_t n_beyond = file->n_beyond[STV_WQ_TEMP_C];
    if (n_beyond < BEYOND_LEAST || n_beyond < file->n_rows / BEYOND_PART)
        return STV_OK;
    stv_problems_keep_refusals(file->problems, n_problems_before);
    stv_problem_add(file->problems, STV_REFUSED, file->file, 0, 0, NULL,
                    "%zu of its %zu temperatures cannot be in C: they look like F, which this kind "
                    "of file never has; take it from its source again",
                    n_beyond, file->n_rows);
    return STV_E_PARSE;
}

enum stv_status stv__weather_known(const struct stv_weather_format *format,
                                   const struct stv_text_file *text,
                                   const struct stv_weather_source *source,
                                   struct stv_problems *problems, struct stv_weather_meta *meta,
                                   struct stv_weather_record *out)
{
    struct stv_weather_text file = {.text = text->text,
                                    .n = text->n,
                                    .file = source->path,
                                    .problems = problems,
                                    .station = source->station};
    size_t n_problems_before = problems->n;
    stv_weather_meta_init(&file.meta);
    enum stv_status status = format->read(&file);
    if (status == STV_OK)
        status = file.status;
    if (status == STV_OK)
        status = judge_temperature(&file, n_problems_before);
    if (status == STV_OK)
        status = find_site(&file, source, meta);
    if (status == STV_OK)
        status = find_clock(&file, source, meta);
    if (status == STV_OK)
        pass_over_station(&file, meta);
    meta->is_typical = meta->is_typical || file.meta.is_typical;
    if (status == STV_OK)
        status = stv__weather_grid(&file, source, meta, out);
    if (status == STV_OK)
        describe(format, &file, out, meta);
    else if (status == STV_E_MEMORY)
        stv_problem_add(problems, STV_REFUSED, source->path, 0, 0, NULL,
                        "does not fit into the memory");
    stv_samples_free(&file.samples);
    return status;
}
