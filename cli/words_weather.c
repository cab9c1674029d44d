/* A weather file on its own: nothing is derived or filled in here, so that what is told is what the
 * file says. */
#include "cli/words_weather.h"

#include "cli/format.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "ingest/stamp.h"
#include "ingest/weather_summary.h"

#include <math.h>
#include <stdlib.h>

/* As people read it: value times factor. */
static const struct {
    const char *name, *key, *unit;
    double factor;
    int n_decimals;
} shown[STV_WQ_N] = {
    [STV_WQ_TEMP_C] = {"temperature", "temp_c", "C", 1.0, 2},
    [STV_WQ_TEMP_MIN_C] = {"lowest of the day", "temp_min_c", "C", 1.0, 2},
    [STV_WQ_TEMP_MAX_C] = {"highest of the day", "temp_max_c", "C", 1.0, 2},
    [STV_WQ_DEW_POINT_C] = {"dew point", "dew_point_c", "C", 1.0, 2},
    [STV_WQ_RH_FRAC] = {"humidity", "rh_frac", "%", 100.0, 1},
    [STV_WQ_PRESSURE_PA] = {"pressure", "pressure_pa", "hPa", 0.01, 1},
    [STV_WQ_WIND_M_S] = {"wind", "wind_m_s", "m/s", 1.0, 2},
    [STV_WQ_GHI_W_M2] = {"sun on the flat", "ghi_w_m2", "W/m2", 1.0, 0},
    [STV_WQ_DNI_W_M2] = {"sun's beam", "dni_w_m2", "W/m2", 1.0, 0},
    [STV_WQ_DHI_W_M2] = {"sun from the sky", "dhi_w_m2", "W/m2", 1.0, 0},
    [STV_WQ_CLOUD_FRAC] = {"cloud", "cloud_frac", "%", 100.0, 0},
    [STV_WQ_SKY_W_M2] = {"long wave from the sky", "sky_w_m2", "W/m2", 1.0, 0},
};

static bool is_daily(const struct stv_weather_record *record)
{
    return record->grid.step_s > 3600;
}

static void add_span(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_weather_record *record = &chain->record;
    const struct stv_grid *grid = &record->grid;
    const char *steps = is_daily(record) ? "days" : "hours";
    char first[STV_STAMP_TEXT], last[STV_STAMP_TEXT];
    stv_stamp_text(stv_grid_start_s(grid, 1), grid->utc_offset_min, first, sizeof first);
    stv_stamp_text(stv_grid_start_s(grid, grid->n), grid->utc_offset_min, last, sizeof last);
    if (grid->is_typical)
        stv_prose_wrap(text, 2, "%zu %s of a typical year, which has no calendar year.", grid->n,
                       steps);
    else if (is_daily(record))
        stv_prose_wrap(text, 2, "%zu days, from %s to %s.", grid->n,
                       stv_format_iso_day(stv_grid_first_day(grid)).text,
                       stv_format_iso_day(stv_grid_local_day(grid, grid->n - 1, NULL)).text);
    else
        stv_prose_wrap(text, 2, "%zu hours; the first ends at %s, the last at %s.", grid->n, first,
                       last);
    stv_prose_wrap(text, 2,
                   "Place: latitude %s, longitude %s, %s m; days are cut at UTC%+03d:%02d.",
                   stv_format_number(record->site.latitude_deg, 4).text,
                   stv_format_number(record->site.longitude_deg, 4).text,
                   stv_format_number(record->site.elevation_m, 0).text, grid->utc_offset_min / 60,
                   abs(grid->utc_offset_min) % 60);
}

void stv_words_weather(struct stv_text *text, const struct stv_chain *chain)
{
    const struct stv_weather_record *record = &chain->record;
    stv_prose_heading(text, "%s", chain->book.weather.path);
    if (chain->weather_meta.source[0])
        stv_prose_wrap(text, 2, "Source: %s.", chain->weather_meta.source);
    if (chain->weather_meta.licence[0])
        stv_prose_wrap(text, 2, "Licence: %s.", chain->weather_meta.licence);
    if (chain->weather_meta.how[0])
        stv_prose_wrap(text, 2, "How: %s.", chain->weather_meta.how);
    add_span(text, chain);
    stv_prose_add(text, "\n  %-24s %-5s %9s %9s %9s %9s\n", "", "",
                  is_daily(record) ? "days" : "hours", "mean", "least", "most");
    for (size_t j = 0; j < STV_WQ_N; j++) {
        struct stv_weather_summary summary =
            stv_weather_summary_of(record, (enum stv_weather_quantity)j);
        double factor = shown[j].factor;
        if (summary.n > 0)
            stv_prose_add(text, "  %-24s %-5s %9zu %9s %9s %9s\n", shown[j].name, shown[j].unit,
                          summary.n,
                          stv_format_number(factor * summary.mean, shown[j].n_decimals).text,
                          stv_format_number(factor * summary.least, shown[j].n_decimals).text,
                          stv_format_number(factor * summary.most, shown[j].n_decimals).text);
    }
    stv_text_add(text, "\n");
}

json_t *stv_json_weather_columns(const struct stv_chain *chain)
{
    const struct stv_weather_record *record = &chain->record;
    json_t *array = json_array();
    for (size_t j = 0; j < STV_WQ_N; j++) {
        struct stv_weather_summary summary =
            stv_weather_summary_of(record, (enum stv_weather_quantity)j);
        if (summary.n == 0)
            continue;
        json_t *object = json_object();
        stv_json_set(object, "name", stv_json_text(shown[j].key));
        stv_json_set(object, "n", json_integer((json_int_t)summary.n));
        stv_json_set(object, "mean", stv_json_number(summary.mean));
        stv_json_set(object, "least", stv_json_number(summary.least));
        stv_json_set(object, "most", stv_json_number(summary.most));
        stv_json_append(array, object);
    }
    return array;
}

enum stv_status stv_weather_hours_write(const struct stv_options *options,
                                        const struct stv_chain *chain, const char *path)
{
    const struct stv_weather_record *record = &chain->record;
    struct stv_text text = {0};
    stv_text_add(&text, "time_utc");
    for (size_t j = 0; j < STV_WQ_N; j++)
        if (record->columns[j])
            stv_text_format(&text, ",%s", shown[j].key);
    stv_text_add(&text, record->covered_frac ? ",covered_frac\n" : "\n");
    for (size_t k = 0; k < record->grid.n && !text.has_failed; k++) {
        stv_text_add(&text, stv_format_iso_time(stv_grid_start_s(&record->grid, k + 1)).text);
        for (size_t j = 0; j < STV_WQ_N; j++) {
            if (!record->columns[j])
                continue;
            stv_text_add(&text, ",");
            if (isfinite(record->columns[j][k]))
                stv_text_add_exact(&text, record->columns[j][k]);
        }
        if (record->covered_frac)
            stv_text_format(&text, ",%.4g", record->covered_frac[k]);
        stv_text_add(&text, "\n");
    }
    enum stv_status status = stv_output_file(path, &text);
    if (status == STV_OK)
        stv_messages_note(options, "Written: %s", path);
    stv_text_free(&text);
    return status;
}
