/* One description from three places: the command line or the book wins over the file beside the
 * data.  A description is typed by a person, so that what is wrong in it is refused, not set
 * aside.  What it does not do: look at the data. */
#include "ingest/weather_meta.h"

#include "ingest/clock.h"
#include "ingest/reading.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define WHY_MAX 200
#define COUNT_OF(array) (sizeof(array) / sizeof(array)[0])

/* Dead Sea shore and the highest towns with weather stations, with room; a warehouse stands
 * between them. */
#define ELEVATION_LEAST_M (-450.0)
#define ELEVATION_MOST_M 6000.0

static const char *const words[] = {
    "temperature", "temperature_min", "temperature_max",    "dew_point",
    "humidity",    "pressure",        "pressure_sea_level", "wind",
    "global_sun",  "beam_sun",        "diffuse_sun",        "cloud",
    "sky_longwave"};
static const enum stv_weather_quantity quantities[] = {
    STV_WQ_TEMP_C,      STV_WQ_TEMP_MIN_C,  STV_WQ_TEMP_MAX_C, STV_WQ_DEW_POINT_C, STV_WQ_RH_FRAC,
    STV_WQ_PRESSURE_PA, STV_WQ_PRESSURE_PA, STV_WQ_WIND_M_S,   STV_WQ_GHI_W_M2,    STV_WQ_DNI_W_M2,
    STV_WQ_DHI_W_M2,    STV_WQ_CLOUD_FRAC,  STV_WQ_SKY_W_M2};

void stv_weather_meta_init(struct stv_weather_meta *meta)
{
    *meta = (struct stv_weather_meta){0};
    meta->site = (struct stv_site_position){(double)NAN, (double)NAN, (double)NAN};
}

static void set_quantity(size_t word_idx, enum stv_weather_quantity *out, bool *is_sea_level)
{
    *out = quantities[word_idx];
    if (is_sea_level)
        *is_sea_level = strcmp(words[word_idx], "pressure_sea_level") == 0;
}

bool stv_weather_quantity_from_word(const char *word, enum stv_weather_quantity *out,
                                    bool *is_sea_level)
{
    for (size_t i = 0; i < COUNT_OF(words); i++) {
        if (strcmp(word, words[i]) == 0) {
            set_quantity(i, out, is_sea_level);
            return true;
        }
    }
    return false;
}

const struct stv_meta_station *stv_weather_meta_station(const struct stv_weather_meta *meta,
                                                        const char *name)
{
    for (size_t i = 0; i < meta->n_stations; i++)
        if (strcmp(meta->stations[i].name, name) == 0)
            return &meta->stations[i];
    return NULL;
}

static bool is_map(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                   const char *example)
{
    if (node->type == STV_YAML_MAP)
        return true;
    stv_yaml_refuse(context, node, "must be written as keys and values, such as %s", example);
    return false;
}

/* Copies the key of an entry, which is a name in the data. */
static bool take_name(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                      char name[STV_NAME_MAX])
{
    if (strlen(node->key) >= STV_NAME_MAX) {
        stv_yaml_refuse(context, node, "the name is longer than %d bytes", STV_NAME_MAX - 1);
        return false;
    }
    snprintf(name, STV_NAME_MAX, "%s", node->key);
    return true;
}

static void read_clock(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       char *out, size_t size)
{
    struct stv_clock clock;
    char why[WHY_MAX];
    if (!stv_yaml_text(context, map, "clock", out, size))
        return;
    if (stv_clock_parse(out, &clock, why, sizeof why) != STV_OK) {
        stv_yaml_refuse(context, stv_yaml_find(map, "clock"), "%s", why);
        out[0] = '\0';
    }
}

/* latitude, longitude and elevation of a mapping; true when all three stand. */
static bool read_site(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_site_position *site)
{
    static const char *const keys[] = {"latitude", "longitude", "elevation"};
    static const struct stv_yaml_want want[] = {
        {STV_DIM_LATITUDE, "deg", -90.0, 90.0},
        {STV_DIM_LONGITUDE, "deg", -180.0, 180.0},
        {STV_DIM_LENGTH, "m", ELEVATION_LEAST_M, ELEVATION_MOST_M}};
    double *const out[] = {&site->latitude_deg, &site->longitude_deg, &site->elevation_m};
    size_t n_read = 0, n_said = 0;
    for (size_t i = 0; i < COUNT_OF(keys); i++) {
        n_said += stv_yaml_find(map, keys[i]) != NULL;
        n_read += stv_yaml_quantity(context, map, keys[i], want[i], out[i]);
    }
    if (n_said && n_said < COUNT_OF(keys))
        stv_yaml_refuse(context, map, "a position needs latitude, longitude and elevation");
    return n_read == COUNT_OF(keys);
}

static void read_column(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                        struct stv_weather_meta *meta)
{
    static const char *const known[] = {"quantity", "unit"};
    struct stv_meta_column column = {0};
    struct stv_scale scale;
    char why[WHY_MAX];
    size_t word_idx;
    if (!is_map(context, node, "{quantity: temperature, unit: C}") ||
        !take_name(context, node, column.name))
        return;
    stv_yaml_known_keys(context, node, known, COUNT_OF(known));
    if (!stv_yaml_find(node, "quantity") || !stv_yaml_find(node, "unit")) {
        stv_yaml_refuse(context, node, "a column needs quantity and unit");
        return;
    }
    struct stv_yaml_words all = {words, COUNT_OF(words)};
    if (!stv_yaml_word(context, node, "quantity", all, &word_idx) ||
        !stv_yaml_text(context, node, "unit", column.unit, sizeof column.unit))
        return;
    set_quantity(word_idx, &column.quantity, &column.is_sea_level);
    if (stv_reading_scale(column.quantity, column.unit, &scale, why, sizeof why) != STV_OK)
        stv_yaml_refuse(context, stv_yaml_find(node, "unit"), "%s", why);
    else if (meta->n_columns == STV_META_COLUMNS_MAX)
        stv_yaml_refuse(context, node, "more than %d columns", STV_META_COLUMNS_MAX);
    else
        meta->columns[meta->n_columns++] = column;
}

static void read_station(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                         struct stv_weather_meta *meta)
{
    static const char *const known[] = {"latitude", "longitude", "elevation", "clock"};
    struct stv_meta_station station = {.site = {(double)NAN, (double)NAN, (double)NAN}};
    if (!is_map(context, node, "{latitude: 35.2, longitude: -101.7, elevation: 1100 m}") ||
        !take_name(context, node, station.name))
        return;
    stv_yaml_known_keys(context, node, known, COUNT_OF(known));
    station.has_site = read_site(context, node, &station.site);
    read_clock(context, node, station.clock, sizeof station.clock);
    if (meta->n_stations == STV_META_STATIONS_MAX)
        stv_yaml_refuse(context, node, "more than %d stations", STV_META_STATIONS_MAX);
    else
        meta->stations[meta->n_stations++] = station;
}

static void read_lists(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_weather_meta *meta)
{
    static const char *const known[] = {"latitude", "longitude", "elevation"};
    const struct stv_yaml_node *columns = stv_yaml_map(context, map, "columns");
    for (size_t i = 0; columns && i < columns->n_items; i++)
        read_column(context, &columns->items[i], meta);
    const struct stv_yaml_node *stations = stv_yaml_map(context, map, "stations");
    for (size_t i = 0; stations && i < stations->n_items; i++)
        read_station(context, &stations->items[i], meta);
    const struct stv_yaml_node *position = stv_yaml_map(context, map, "position");
    if (position) {
        stv_yaml_known_keys(context, position, known, COUNT_OF(known));
        meta->has_site = read_site(context, position, &meta->site);
    }
}

void stv_weather_meta_from_yaml(const struct stv_yaml_node *map, const char *file,
                                struct stv_problems *problems, struct stv_weather_meta *out)
{
    static const char *const known[] = {
        "source",      "licence",        "invented", "typical",  "step",     "clock", "stamp",
        "time_column", "station_column", "columns",  "stations", "position", "file",  "station",
        /* written by fetch, for a person */
        "attribution", "url",            "sha256",   "fetched"};
    static const char *const steps[] = {"hour", "day"};
    static const char *const stamps[] = {"start", "end", "instant"};
    const struct stv_yaml_context context = {.file = file, .problems = problems};
    size_t word_idx;
    stv_weather_meta_init(out);
    if (!map || !is_map(&context, map, "clock: UTC-06:00"))
        return;
    stv_yaml_known_keys(&context, map, known, COUNT_OF(known));
    stv_yaml_text(&context, map, "source", out->source, sizeof out->source);
    stv_yaml_text(&context, map, "licence", out->licence, sizeof out->licence);
    stv_yaml_flag(&context, map, "invented", &out->is_invented);
    stv_yaml_flag(&context, map, "typical", &out->is_typical);
    if (stv_yaml_word(&context, map, "step", (struct stv_yaml_words){steps, 2}, &word_idx))
        out->step_s = word_idx == 0 ? STV_HOUR_S : STV_DAY_S;
    if (stv_yaml_word(&context, map, "stamp", (struct stv_yaml_words){stamps, 3}, &word_idx))
        snprintf(out->stamp, sizeof out->stamp, "%s", stamps[word_idx]);
    stv_yaml_text(&context, map, "time_column", out->time_column, sizeof out->time_column);
    stv_yaml_text(&context, map, "station_column", out->station_column, sizeof out->station_column);
    read_clock(&context, map, out->clock, sizeof out->clock);
    read_lists(&context, map, out);
}

static void take_text(char *own, size_t size, const char *below)
{
    if (own[0] == '\0')
        snprintf(own, size, "%s", below);
}

static bool has_column(const struct stv_weather_meta *meta, const char *name)
{
    for (size_t i = 0; i < meta->n_columns; i++)
        if (strcmp(meta->columns[i].name, name) == 0)
            return true;
    return false;
}

static void merge_lists(struct stv_weather_meta *meta, const struct stv_weather_meta *below)
{
    for (size_t i = 0; i < below->n_columns && meta->n_columns < STV_META_COLUMNS_MAX; i++)
        if (!has_column(meta, below->columns[i].name))
            meta->columns[meta->n_columns++] = below->columns[i];
    for (size_t i = 0; i < below->n_stations && meta->n_stations < STV_META_STATIONS_MAX; i++)
        if (!stv_weather_meta_station(meta, below->stations[i].name))
            meta->stations[meta->n_stations++] = below->stations[i];
}

void stv_weather_meta_merge(struct stv_weather_meta *meta, const struct stv_weather_meta *below)
{
    take_text(meta->source, sizeof meta->source, below->source);
    take_text(meta->licence, sizeof meta->licence, below->licence);
    take_text(meta->clock, sizeof meta->clock, below->clock);
    take_text(meta->stamp, sizeof meta->stamp, below->stamp);
    take_text(meta->time_column, sizeof meta->time_column, below->time_column);
    take_text(meta->station_column, sizeof meta->station_column, below->station_column);
    meta->is_invented = meta->is_invented || below->is_invented;
    meta->is_typical = meta->is_typical || below->is_typical;
    if (meta->step_s == 0)
        meta->step_s = below->step_s;
    if (!meta->has_site && below->has_site) {
        meta->site = below->site;
        meta->has_site = true;
    }
    merge_lists(meta, below);
}
