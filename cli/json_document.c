/* The frame around each command's own keys.  Inputs are echoed as the program understood them,
 * so that a reader can see what an answer was made from. */
#include "cli/json_document.h"

#include "cli/parameters.h"
#include "cli/prose.h"
#include "model/units.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>

#define SENTENCE_MAX 768

const char *stv_severity_text(enum stv_severity severity)
{
    switch (severity) {
    case STV_REFUSED:
        return "refused";
    case STV_SET_ASIDE:
        return "set aside";
    case STV_SUSPECT:
        return "suspect";
    case STV_NOTED:
        return "noted";
    }
    return "unknown";
}

json_t *stv_json_problems(const struct stv_problems *problems)
{
    json_t *array = json_array();
    for (size_t i = 0; problems && i < problems->n; i++) {
        const struct stv_problem *problem = &problems->items[i];
        json_t *object = json_object();
        stv_json_set(object, "what_was_done", stv_json_text(stv_severity_text(problem->severity)));
        stv_json_set(object, "file", stv_json_text(problem->file));
        stv_json_set(object, "row",
                     problem->row ? json_integer((json_int_t)problem->row) : json_null());
        stv_json_set(object, "last_row",
                     problem->row ? json_integer((json_int_t)problem->last_row) : json_null());
        stv_json_set(object, "column",
                     problem->column ? json_integer((json_int_t)problem->column) : json_null());
        stv_json_set(object, "count", json_integer((json_int_t)problem->count));
        stv_json_set(object, "found", stv_json_text(problem->found));
        stv_json_set(object, "rule", problem->rule[0] ? stv_json_text(problem->rule) : json_null());
        stv_json_set(object, "message", stv_json_text(problem->message));
        stv_json_append(array, object);
    }
    return array;
}

json_t *stv_json_place_object(const struct stv_chain *chain, const struct stv_place *place)
{
    if (place->warehouse_idx < 0)
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "warehouse",
                 stv_json_text(chain->book.warehouses[place->warehouse_idx].name));
    stv_json_set(object, "tier", stv_json_place(place->tier_idx));
    stv_json_set(object, "bay", stv_json_place(place->bay_idx));
    stv_json_set(object, "depth", stv_json_place(place->depth_idx));
    return object;
}

static json_t *site_object(const struct stv_site_position *site)
{
    json_t *object = json_object();
    stv_json_set(object, "latitude_deg", stv_json_number(site->latitude_deg));
    stv_json_set(object, "longitude_deg", stv_json_number(site->longitude_deg));
    stv_json_set(object, "elevation_m", stv_json_number(site->elevation_m));
    return object;
}

/* Holes in the temperature that other years fill. */
static json_t *made_up_days(const struct stv_weather_record *record)
{
    json_t *array = json_array();
    struct stv_weather_hole hole = {0};
    while (stv_weather_next_hole(record, &hole)) {
        const struct stv_grid *grid = &record->grid;
        json_t *object = json_object();
        stv_json_set(object, "from", stv_json_day(stv_grid_local_day(grid, hole.from, NULL)));
        stv_json_set(object, "to",
                     stv_json_day(stv_grid_local_day(grid, hole.from + hole.n - 1, NULL)));
        stv_json_set(object, "hours", json_integer((json_int_t)hole.n * grid->step_s / STV_HOUR_S));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *weather_object(const struct stv_chain *chain)
{
    if (!chain->book.has_weather)
        return json_null();
    json_t *object = json_object();
    stv_json_set(object, "file", stv_json_text(chain->book.weather.path));
    stv_json_set(object, "station", stv_json_text(chain->book.weather.station));
    stv_json_set(object, "source", stv_json_text(chain->weather_meta.source));
    stv_json_set(object, "licence", stv_json_text(chain->weather_meta.licence));
    stv_json_set(object, "format",
                 chain->weather_meta.format ? stv_json_text(chain->weather_meta.format)
                                            : json_null());
    stv_json_set(object, "how_read", stv_json_text(chain->weather_meta.how));
    stv_json_set(object, "clock", stv_json_text(chain->weather_meta.clock));
    stv_json_set(object, "is_typical_year", json_boolean(chain->weather_meta.is_typical));
    stv_json_set(object, "is_invented", json_boolean(chain->weather_meta.is_invented));
    stv_json_set(object, "temperature_made_up", made_up_days(&chain->record));
    if (chain->has_weather)
        stv_json_set(object, "site", site_object(&chain->record.site));
    return object;
}

static json_t *warehouses_array(const struct stv_chain *chain)
{
    json_t *array = json_array();
    for (size_t i = 0; i < chain->book.n_warehouses; i++) {
        const struct stv_warehouse *warehouse = &chain->book.warehouses[i];
        const struct stv_building *building = &warehouse->building;
        json_t *object = json_object();
        stv_json_set(object, "name", stv_json_text(warehouse->name));
        stv_json_set(object, "kind", stv_json_text(stv_building_kind_name(building->kind)));
        stv_json_set(object, "tiers", json_integer((json_int_t)building->n_tiers));
        stv_json_set(object, "bays", json_integer((json_int_t)building->n_bays));
        stv_json_set(object, "depth", json_integer((json_int_t)building->n_depth));
        stv_json_set(object, "length_m", stv_json_number(building->length_m));
        stv_json_set(object, "width_m", stv_json_number(building->width_m));
        stv_json_set(object, "eaves_height_m", stv_json_number(building->eaves_height_m));
        stv_json_set(object, "tier_height_m", stv_json_number(building->tier_height_m));
        stv_json_set(object, "casks_stored", stv_json_number(building->n_casks));
        stv_json_set(object, "usual_cask_l", stv_json_number(building->cask_capacity_l));
        stv_json_set(object, "filled_in", stv_json_text(warehouse->filled_in));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *inputs_object(const struct stv_options *options, const struct stv_chain *chain)
{
    json_t *object = json_object();
    stv_json_set(object, "operand", stv_json_text(options->operand));
    if (options->command != STV_CMD_N && stv_option_is_for(STV_OPT_DRAWS, options->command)) {
        stv_json_set(object, "seed",
                     json_integer((json_int_t)stv_options_number(options, STV_OPT_SEED)));
        stv_json_set(object, "draws",
                     json_integer((json_int_t)stv_options_number(options, STV_OPT_DRAWS)));
    }
    if (!chain)
        return object;
    stv_json_set(object, "house", stv_json_text(chain->book.name));
    stv_json_set(object, "is_invented", json_boolean(chain->book.is_invented));
    stv_json_set(object, "book", stv_json_text(chain->book.folder));
    stv_json_set(object, "as_of", stv_json_day(chain->as_of_day_d));
    stv_json_set(object, "step_d", stv_json_number(chain->run.step_d));
    stv_json_set(object, "weather", weather_object(chain));
    stv_json_set(object, "warehouses", warehouses_array(chain));
    stv_json_set(object, "casks", json_integer((json_int_t)chain->book.ledger.n_casks));
    stv_json_set(object, "gauges", json_integer((json_int_t)chain->book.n_gauges));
    stv_json_set(object, "loggers", json_integer((json_int_t)chain->book.n_loggers));
    return object;
}

static void append_sentence(json_t *document, const char *key, const char *sentence)
{
    if (!json_object_get(document, key))
        stv_json_set(document, key, json_array());
    stv_json_append(json_object_get(document, key), stv_json_text(sentence));
}

static void add_sentence(json_t *document, const char *key, const char *format, va_list args)
{
    char sentence[SENTENCE_MAX];
    vsnprintf(sentence, sizeof sentence, format, args);
    append_sentence(document, key, sentence);
}

void stv_json_warn(json_t *document, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    add_sentence(document, "warnings", format, args);
    va_end(args);
}

void stv_json_caution(json_t *document, const char *format, ...)
{
    va_list args;
    va_start(args, format);
    add_sentence(document, "cautions", format, args);
    va_end(args);
}

/* A line goes on in the next one where that one's first word had no room on it. */
static bool goes_on(const char *line, size_t n_bytes, const char *next)
{
    size_t word = stv_prose_columns(next, strcspn(next, " \n"));
    return *next && stv_prose_columns(line, n_bytes) + 1 + word > STV_PROSE_COLUMNS;
}

/* Each paragraph is one sentence in JSON, whatever its lines. */
void stv_json_caution_text(json_t *document, struct stv_text *text)
{
    struct stv_text paragraph = {0};
    for (const char *line = stv_text_string(text); *line;) {
        size_t n = strcspn(line, "\n");
        const char *next = line + n + (line[n] == '\n');
        stv_text_add(&paragraph, paragraph.n ? " " : "");
        stv_text_add_bytes(&paragraph, line, n);
        if (!goes_on(line, n, next)) {
            append_sentence(document, "cautions", stv_text_string(&paragraph));
            stv_text_free(&paragraph);
        }
        line = next;
    }
    stv_text_free(text);
}

void stv_json_caution_by(json_t *document, void (*words)(struct stv_text *text))
{
    struct stv_text text = {0};
    words(&text);
    stv_json_caution_text(document, &text);
}

json_t *stv_json_document(const struct stv_options *options, const struct stv_chain *chain,
                          const struct stv_problems *problems)
{
    json_t *document = json_object();
    json_t *schema = json_object();
    char name[64];
    snprintf(name, sizeof name, "stavecast-%s",
             options->command == STV_CMD_N ? "command"
                                           : stv_command_table()[options->command].name);
    stv_json_set(schema, "name", json_string(name));
    stv_json_set(schema, "version", json_integer(STV_SCHEMA_VERSION));
    stv_json_set(document, "schema", schema);
    stv_json_set(document, "inputs", inputs_object(options, chain));
    bool is_bench =
        options->command != STV_CMD_N && !stv_command_table()[options->command].operand[0];
    stv_json_set(document, "parameters",
                 is_bench ? stv_parameters_bench_json()
                          : stv_parameters_json(chain ? &chain->book : NULL));
    if (chain && chain->book.ledger.n_casks > 0)
        stv_json_set(document, "market", stv_market_json_of_chain(chain));
    stv_json_set(document, "warnings", json_array());
    for (size_t i = 0; problems && i < problems->n; i++) {
        char line[SENTENCE_MAX];
        stv_problem_text(&problems->items[i], line, sizeof line);
        stv_json_warn(document, "%s", line);
    }
    stv_json_set(document, "problems", stv_json_problems(problems));
    return document;
}
