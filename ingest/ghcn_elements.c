/* One table and one choice of station, so that the three layouts cannot differ. */
#include "ingest/ghcn_elements.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define MISSING (-9999.0)
#define STATIONS_MAX 64

static const struct {
    const char *name;
    struct stv_weather_want want;
} known[] = {
    {"TMAX", {STV_WQ_TEMP_MAX_C, 0.1, 0.0, MISSING}},
    {"TMIN", {STV_WQ_TEMP_MIN_C, 0.1, 0.0, MISSING}},
    {"TAVG", {STV_WQ_TEMP_C, 0.1, 0.0, MISSING}},
    {"AWND", {STV_WQ_WIND_M_S, 0.1, 0.0, MISSING}},
    {"RHAV", {STV_WQ_RH_FRAC, 0.01, 0.0, MISSING}},
    {"ADPT", {STV_WQ_DEW_POINT_C, 0.1, 0.0, MISSING}},
};
#define N_KNOWN (sizeof known / sizeof known[0])

bool stv__ghcn_element(struct stv_slice name, struct stv_weather_want *out)
{
    for (size_t i = 0; i < N_KNOWN; i++) {
        if (!stv_slice_is(name, known[i].name))
            continue;
        *out = known[i].want;
        return true;
    }
    return false;
}

unsigned stv__ghcn_quantities(void)
{
    unsigned set = 0;
    for (size_t i = 0; i < N_KNOWN; i++)
        set |= STV_SAMPLES_BIT(known[i].want.quantity);
    return set;
}

static bool is_listed(const struct stv_slice *stations, size_t n, struct stv_slice name)
{
    char text[STV_NAME_MAX];
    stv_slice_copy(name, text, sizeof text);
    while (n > 0 && !stv_slice_is(stations[n - 1], text)) /* rows of a station stand together */
        n--;
    return n > 0;
}

enum stv_status stv__ghcn_choose(struct stv_weather_text *file, struct stv_lines lines,
                                 stv__ghcn_namer *namer, const void *context,
                                 char out[STV_NAME_MAX])
{
    struct stv_slice stations[STATIONS_MAX];
    struct stv_line line;
    size_t n = 0, idx = 0;
    bool is_found = false;
    while (!is_found && stv_lines_next(&lines, &line)) {
        struct stv_slice name = namer(&line, context);
        if (name.n == 0)
            continue;
        is_found = file->station[0] && stv_slice_is(name, file->station);
        if (is_found) {
            stations[0] = name;
            n = 1;
        } else if (n < STATIONS_MAX && !is_listed(stations, n, name)) {
            stations[n++] = name;
        }
        is_found = is_found || (n == STATIONS_MAX && !file->station[0]);
    }
    out[0] = '\0';
    if (n == 0)
        return STV_OK;
    enum stv_status status = stv__weather_choose(file, stations, n, &idx);
    if (status == STV_OK)
        stv_slice_copy(stations[idx], out, STV_NAME_MAX);
    return status;
}

static bool has_any(const double *values, size_t n)
{
    for (size_t k = 0; k < n; k++)
        if (isfinite(values[k]))
            return true;
    return false;
}

void stv__ghcn_finish(struct stv_weather_text *file)
{
    struct stv_samples *samples = &file->samples;
    file->is_daily = true;
    file->has_reports = true; /* a day's elements stand in several rows */
    snprintf(file->meta.licence, sizeof file->meta.licence, "public domain (US government)");
    snprintf(file->stamps, sizeof file->stamps, "the station's own observing days");
    if (samples->values[STV_WQ_TEMP_C] && has_any(samples->values[STV_WQ_TEMP_MAX_C], samples->n) &&
        has_any(samples->values[STV_WQ_TEMP_MIN_C], samples->n)) {
        free(samples->values[STV_WQ_TEMP_C]);
        samples->values[STV_WQ_TEMP_C] = NULL;
    }
}
