/* book.yaml: who, where, under which sky, in which buildings, and what the house wants. */
#include "ingest/book_parts.h"
#include "ingest/weather_meta.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define WHY_MAX 192
#define HOLE_MOST_D 60.0 /* beyond two months nothing that was measured is left of a season */

static void read_units(struct stv__book_reader *reader, struct stv_yaml_context *context,
                       const struct stv_yaml_node *map)
{
    static const char *const keys[] = {"strength", "volume", "mass", "temperature", "length"};
    static const enum stv_dimension dimensions[] = {STV_DIM_STRENGTH, STV_DIM_VOLUME, STV_DIM_MASS,
                                                    STV_DIM_TEMPERATURE, STV_DIM_LENGTH};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    for (size_t i = 0; i < N_OF(keys); i++) {
        enum stv_dimension dimension = dimensions[i];
        char why[WHY_MAX], *unit = reader->unit_text[dimension];
        if (!stv_yaml_text(context, map, keys[i], unit, STV__UNIT_MAX))
            continue;
        if (stv_unit_fits(unit, dimension, why, sizeof why))
            reader->units[dimension] = unit;
        else
            stv_yaml_refuse(context, stv_yaml_find(map, keys[i]), "%s", why);
    }
    /* A house that says F means differences in F as well. */
    const char *temperature = reader->units[STV_DIM_TEMPERATURE];
    char why[WHY_MAX];
    if (temperature && stv_unit_fits(temperature, STV_DIM_TEMP_STEP, why, sizeof why))
        reader->units[STV_DIM_TEMP_STEP] = temperature;
    memcpy(context->units, reader->units, sizeof context->units);
}

static void read_clock(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_clock *out)
{
    char text[STV_NAME_MAX], why[WHY_MAX];
    if (stv_yaml_text(context, map, "clock", text, sizeof text) &&
        stv_clock_parse(text, out, why, sizeof why) != STV_OK)
        stv_yaml_refuse(context, stv_yaml_find(map, "clock"), "%s", why);
}

static void read_site(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_book *book)
{
    static const char *const keys[] = {"latitude", "longitude", "elevation", "clock"};
    struct stv_yaml_want latitude = {STV_DIM_LATITUDE, "deg", -90.0, 90.0};
    struct stv_yaml_want longitude = {STV_DIM_LONGITUDE, "deg", -180.0, 180.0};
    struct stv_yaml_want elevation = {STV_DIM_LENGTH, "m", -500.0, 6000.0};
    struct stv_site_position *site = &book->site;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    read_clock(context, map, &book->clock);
    bool has_latitude = stv_yaml_quantity(context, map, "latitude", latitude, &site->latitude_deg);
    bool has_longitude =
        stv_yaml_quantity(context, map, "longitude", longitude, &site->longitude_deg);
    bool has_elevation =
        stv_yaml_quantity(context, map, "elevation", elevation, &site->elevation_m);
    book->has_site = has_latitude && has_longitude && has_elevation;
    for (size_t i = 0; i < 3; i++)
        if (!stv_yaml_find(map, keys[i]))
            stv_yaml_refuse(context, map, "needs latitude, longitude and elevation; %s is missing",
                            keys[i]);
}

bool stv__weather_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                            const char *folder, struct stv_weather_source *out)
{
    size_t n_before = stv__n_refused(context->problems);
    *out = (struct stv_weather_source){0};
    stv_weather_meta_from_yaml(map, context->file, context->problems, &out->meta);
    stv_yaml_text(context, map, "station", out->station, sizeof out->station);
    char file[STV__PATH_MAX];
    const struct stv_yaml_node *node = stv_yaml_find(map, "file");
    if (!node)
        stv_yaml_refuse(context, map, "needs a file, like weather/station.csv");
    else if (stv_yaml_text(context, map, "file", file, sizeof file)) {
        if (!stv__join_path(folder, file, out->path))
            stv_yaml_refuse(context, node, "makes too long a path");
        else if (!stv__exists(out->path)) /* a folder holds the files of one station */
            stv_yaml_refuse(context, node,
                            "there is no such file at %s: put it there, or correct the name",
                            out->path);
    }
    return stv__n_refused(context->problems) == n_before;
}

static void read_weather(struct stv__book_reader *reader, const struct stv_yaml_context *context,
                         const struct stv_yaml_node *root)
{
    const struct stv_yaml_node *map = stv_yaml_map(context, root, "weather");
    struct stv_book *book = reader->book;
    if (map)
        book->has_weather = stv__weather_from_yaml(context, map, reader->folder, &book->weather);
}

static bool is_name_taken(const struct stv_book *book, const char *name)
{
    for (size_t i = 0; i < book->n_warehouses; i++)
        if (strcasecmp(book->warehouses[i].name, name) == 0)
            return true;
    return false;
}

static enum stv_status read_warehouses(struct stv__book_reader *reader,
                                       const struct stv_yaml_context *context,
                                       const struct stv_yaml_node *list)
{
    struct stv_book *book = reader->book;
    for (size_t i = 0; i < list->n_items; i++) {
        struct stv_warehouse warehouse;
        bool is_good = stv__warehouse_from_yaml(context, &list->items[i], &warehouse);
        bool is_repeated = warehouse.name[0] && is_name_taken(book, warehouse.name);
        bool is_reserved = strcmp(warehouse.name, "outdoors") == 0;
        if (is_repeated || is_reserved)
            stv_yaml_refuse(context, stv_yaml_find(&list->items[i], "name"),
                            is_repeated ? "is the name of an earlier warehouse"
                                        : "means the yard in loggers.csv: choose another name");
        if (!is_good || is_repeated || is_reserved) {
            if (!is_repeated && reader->n_lost_warehouses < STV__LOST_MAX)
                memcpy(reader->lost_warehouses[reader->n_lost_warehouses++], warehouse.name,
                       sizeof warehouse.name);
            continue;
        }
        void *grown = stv__grown(book->warehouses, book->n_warehouses, sizeof warehouse);
        if (!grown)
            return STV_E_MEMORY;
        book->warehouses = grown;
        book->warehouses[book->n_warehouses++] = warehouse;
    }
    return STV_OK;
}

/* Month of "Jun", "June" or "6": 0..11, or -1. */
static int month_of(const char *text)
{
    static const char *const names[STV_MONTHS] = {"January",   "February", "March",    "April",
                                                  "May",       "June",     "July",     "August",
                                                  "September", "October",  "November", "December"};
    static const size_t range[2] = {1, STV_MONTHS};
    char why[WHY_MAX];
    size_t number = 0, n = strlen(text);
    if (stv_count_parse(text, range, &number, why, sizeof why) == STV_OK)
        return (int)number - 1;
    for (int i = 0; i < STV_MONTHS; i++)
        if ((n == 3 || n == strlen(names[i])) && strncmp(names[i], text, n) == 0)
            return i;
    return -1;
}

void stv__months_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           const char *key, struct stv_months *out)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, map, key);
    for (size_t i = 0; list && i < list->n_items; i++) {
        const struct stv_yaml_node *item = &list->items[i];
        if (!stv_yaml_is_scalar(context, item))
            continue;
        int month = month_of(item->text);
        if (month < 0)
            stv_yaml_refuse(context, item, "is not a month: write it like Jun");
        else if (out->holds[month])
            stv_yaml_refuse(context, item, "is listed twice");
        else
            out->holds[month] = out->is_said = true;
    }
    if (list && list->n_items == 0)
        stv_yaml_refuse(context, list, "lists no month");
}

static void read_seasons(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_book *book)
{
    static const char *const keys[] = {"warm", "cold"};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    stv__months_from_yaml(context, map, "warm", &book->warm_months);
    stv__months_from_yaml(context, map, "cold", &book->cold_months);
    if (!stv_yaml_find(map, "warm") || !stv_yaml_find(map, "cold"))
        stv_yaml_refuse(context, map, "needs both warm and cold months");
    for (size_t i = 0; i < STV_MONTHS; i++)
        if (book->warm_months.holds[i] && book->cold_months.holds[i]) {
            stv_yaml_refuse(context, map, "month %zu is both warm and cold", i + 1);
            return;
        }
}

/* How holes in the loggers' hours are filled, and up to what length. */
static void read_holes(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_gap_rules *gaps)
{
    static const char *const keys[] = {"fill_up_to", "from"};
    static const char *const ways[] = {"neighbour", "weather", "both"};
    struct stv_yaml_want longest = {STV_DIM_TIME, NULL, 0.0, HOLE_MOST_D};
    double longest_d;
    size_t way_idx;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    if (stv_yaml_quantity(context, map, "fill_up_to", longest, &longest_d))
        gaps->longest_h = longest_d * STV_DAY_H;
    if (stv_yaml_word(context, map, "from", (struct stv_yaml_words){ways, N_OF(ways)}, &way_idx)) {
        gaps->by_neighbour = way_idx != 1;
        gaps->by_weather = way_idx != 0;
    }
}

static void read_reference(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                           struct stv_house_rules *rules)
{
    static const char *const keys[] = {"size", "strength", "age"};
    struct stv_yaml_want size = {STV_DIM_VOLUME, NULL, 1.0, 1000.0};
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.1, 0.972};
    struct stv_yaml_want age = {STV_DIM_TIME, NULL, 30.0, 100.0 * STV_YEAR_D};
    double age_d = NAN;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    stv_yaml_quantity(context, map, "size", size, &rules->reference_capacity_l);
    stv_yaml_quantity(context, map, "strength", strength, &rules->reference_abv20_frac);
    if (stv_yaml_quantity(context, map, "age", age, &age_d))
        rules->reference_months = age_d / (STV_YEAR_D / STV_MONTHS);
}

static void read_wood(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_book *book)
{
    struct stv_house_rules *rules = &book->rules;
    static const char *const keys[] = {"least", "most"};
    struct stv_yaml_want part = {STV_DIM_NUMBER, NULL, 0.0, 100.0};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    bool has_least = stv_yaml_quantity(context, map, "least", part, &rules->wood_least_nd);
    bool has_most = stv_yaml_quantity(context, map, "most", part, &rules->wood_most_nd);
    if (has_least || has_most)
        book->wood_from = STV_WOOD_BOOK;
    if (rules->wood_least_nd > rules->wood_most_nd)
        stv_yaml_refuse(context, map, "least is more than most (%g and %g)", rules->wood_least_nd,
                        rules->wood_most_nd);
}

/* Nothing may be bottled at an age that is planned under the least. */
static void note_ages(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      double planned_d, double least_d)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, "planned_age");
    if (planned_d < least_d) /* NaN where one is not said */
        stv_problem_add(context->problems, STV_NOTED, context->file, node->line, node->column, NULL,
                        "planned_age: is under least_age, at which nothing may be bottled yet: "
                        "plan longer, or allow less");
}

static void read_targets(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_book *book)
{
    static const char *const keys[] = {"planned_age",    "least_age",     "bottling_strength",
                                       "bottle",         "bottling_loss", "wood",
                                       "least_strength", "least_bottles", "prefer"};
    static const char *const preferences[] = {"fruit", "wood"};
    struct stv_yaml_want age = {STV_DIM_TIME, NULL, 30.0, 100.0 * STV_YEAR_D};
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.05, 0.972};
    struct stv_yaml_want bottle = {STV_DIM_VOLUME, NULL, 0.02, 10.0};
    struct stv_yaml_want loss = {STV_DIM_FRACTION, NULL, 0.0, 0.5};
    struct stv_yaml_want bottles = {STV_DIM_NUMBER, NULL, 0.0, 10000.0};
    struct stv_house_rules *rules = &book->rules;
    struct stv_yaml_want least_age = {STV_DIM_TIME, NULL, 0.0, 100.0 * STV_YEAR_D};
    double age_d = NAN, least_age_d = NAN;
    size_t preference = 0;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    if (stv_yaml_quantity(context, map, "planned_age", age, &age_d))
        rules->planned_age_y = age_d / STV_YEAR_D;
    if (stv_yaml_quantity(context, map, "least_age", least_age, &least_age_d))
        rules->least_age_y = least_age_d / STV_YEAR_D;
    note_ages(context, map, age_d, least_age_d);
    stv_yaml_quantity(context, map, "bottling_strength", strength, &rules->bottling_abv20_frac);
    stv_yaml_quantity(context, map, "bottle", bottle, &rules->bottle_l);
    stv_yaml_quantity(context, map, "bottling_loss", loss, &rules->bottling_loss_frac);
    stv_yaml_quantity(context, map, "least_strength", strength, &rules->least_abv20_frac);
    stv_yaml_quantity(context, map, "least_bottles", bottles, &book->least_bottles_nd);
    const struct stv_yaml_node *wood = stv_yaml_map(context, map, "wood");
    if (wood)
        read_wood(context, wood, book);
    if (stv_yaml_word(context, map, "prefer", (struct stv_yaml_words){preferences, 2}, &preference))
        rules->wood_first = preference == 1;
}

static void read_market(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                        struct stv_book_market *out)
{
    if (!stv_yaml_text(context, root, "market", out->name, sizeof out->name))
        return;
    const struct stv_yaml_node *node = stv_yaml_find(root, "market");
    out->line = node->line;
    out->column = node->column;
}

/* The mappings that have a function each. */
static void read_house(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                       struct stv_book *book)
{
    const struct stv_yaml_node *map;
    if ((map = stv_yaml_map(context, root, "site")))
        read_site(context, map, book);
    if ((map = stv_yaml_map(context, root, "seasons")))
        read_seasons(context, map, book);
    if ((map = stv_yaml_map(context, root, "holes")))
        read_holes(context, map, &book->gaps);
    if ((map = stv_yaml_map(context, root, "reference_cask")))
        read_reference(context, map, &book->rules);
    if ((map = stv_yaml_map(context, root, "targets")))
        read_targets(context, map, book);
    if ((map = stv_yaml_map(context, root, "water"))) /* after the targets that it may lean on */
        stv__water_from_yaml(context, map, book);
    if ((map = stv_yaml_map(context, root, "parameters")))
        stv__parameters_from_yaml(context, map, book);
    if ((map = stv_yaml_map(context, root, "wood_life")))
        stv__wood_life_from_yaml(context, map, book);
}

static enum stv_status read_root(struct stv__book_reader *reader, const char *file,
                                 const struct stv_yaml_node *root)
{
    static const char *const keys[] = {"name",      "invented",       "as_of",      "units",
                                       "site",      "weather",        "warehouses", "seasons",
                                       "holes",     "reference_cask", "targets",    "parameters",
                                       "bottlings", "prices",         "cask_plan",  "plates",
                                       "wood_life", "water",          "market"};
    struct stv_book *book = reader->book;
    struct stv_yaml_context context = {.file = file, .problems = reader->problems};
    stv_yaml_known_keys(&context, root, keys, N_OF(keys));
    const struct stv_yaml_node *units = stv_yaml_map(&context, root, "units");
    if (units) /* first: the rest may leave units out */
        read_units(reader, &context, units);
    stv_yaml_text(&context, root, "name", book->name, sizeof book->name);
    if (!stv_yaml_find(root, "name"))
        stv_yaml_refuse(&context, root, "needs a name, like \"name: Quill Basin\"");
    stv_yaml_flag(&context, root, "invented", &book->is_invented);
    stv_yaml_date(&context, root, "as_of", &book->as_of_day_d);
    read_house(&context, root, book);
    read_market(&context, root, &book->market);
    read_weather(reader, &context, root);
    enum stv_status status = stv__bottlings_from_yaml(reader, &context, root);
    if (status == STV_OK)
        status = stv__stock_from_yaml(&context, root, book);
    const struct stv_yaml_node *list = stv_yaml_list(&context, root, "warehouses");
    if (status == STV_OK && list)
        status = read_warehouses(reader, &context, list);
    /* A warehouse that was refused is not in the book: its plates would be refused for that. */
    if (status == STV_OK && (!list || book->n_warehouses == list->n_items))
        stv__plates_from_yaml(&context, root, book);
    return status;
}

/* The path of book.yaml; false, after a message that knows what to do, when it is not there. */
static bool find_book(struct stv__book_reader *reader, char path[STV__PATH_MAX])
{
    const char *message = NULL;
    if (!stv__join_path(reader->folder, "book.yaml", path))
        message = "is too long a path";
    else if (!stv__exists(reader->folder))
        message = "there is no such folder: \"stavecast new FOLDER\" makes an empty book";
    else if (!stv__exists(path))
        message = "there is no book.yaml in this folder: \"stavecast new FOLDER\" makes an empty "
                  "book";
    if (message)
        stv_problem_add(reader->problems, STV_REFUSED, reader->folder, 0, 0, NULL, "%s", message);
    return message == NULL;
}

enum stv_status stv__book_yaml(struct stv__book_reader *reader)
{
    char path[STV__PATH_MAX];
    if (!find_book(reader, path))
        return STV_E_IO;
    struct stv_yaml_node *root = NULL;
    enum stv_status status = stv_yaml_read(path, path, reader->problems, &root);
    if (root && status != STV_E_MEMORY) {
        enum stv_status inside = read_root(reader, path, root);
        if (inside != STV_OK)
            status = inside;
    }
    bool has_tree = root != NULL;
    stv_yaml_free(root);
    /* Faults inside a tree are in problems; only a book without a tree cannot go on. */
    return status == STV_E_PARSE && has_tree ? STV_OK : status;
}
