/* Keys name their units, so that values are plain numbers; figures that are not known are left
 * out.  Every key is listed once, for writing and for reading. */
#include "ingest/learned_file.h"

#include "ingest/book_parts.h"
#include "ingest/learned_parts.h"
#include "ingest/yaml.h"

#include <math.h>
#include <stddef.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FORM 1         /* of the file; another is refused */
#define TOO_MUCH 1e6   /* of any figure; a hand was in the file */
#define SUM_MOST 300.0 /* of what is always added, and of a term: no rack is told by more */
#define N_OF(array) (sizeof(array) / sizeof(array)[0])

static const char *const start_words[STV_RACK_STARTS] = {
    [STV_START_OUTDOOR] = "outdoor air",
    [STV_START_STORE] = "building model",
    [STV_START_TIER] = "another tier",
};
static const char *const target_keys[STV_RACK_TARGETS] = {
    [STV_RACK_AIR] = "air",
    [STV_RACK_VAPOUR] = "vapour",
};

/* Plain figures of a rack: key, place, and the least that a sound file has. */
struct figure {
    const char *key;
    size_t offset;
    double least_nd;
};
#define FIGURE(key, member, least)                    \
    {                                                 \
        key, offsetof(struct stv_rack, member), least \
    }
#define SIZE(key, member) FIGURE(key, member, 0.0) /* how far, whichever way */
#define SIGNED(key, member) FIGURE(key, member, -TOO_MUCH)
static const struct figure figures[STV_LEARNED_FIGURES] = {
    SIZE("casks_stored", n_casks),
    SIGNED("outdoor_30_days_least_c", lived[STV_RACK_AIR].least_c),
    SIGNED("outdoor_30_days_most_c", lived[STV_RACK_AIR].most_c),
    SIGNED("humidity_outdoor_30_days_least_c", lived[STV_RACK_VAPOUR].least_c),
    SIGNED("humidity_outdoor_30_days_most_c", lived[STV_RACK_VAPOUR].most_c),
    SIZE("misses_hour_k", skill.air_k.hour_nd),
    SIZE("misses_month_k", skill.air_k.month_nd),
    SIGNED("misses_worst_month_k", skill.air_k.worst_month_nd),
    SIGNED("misses_bias_k", skill.air_k.bias_nd),
    SIZE("misses_95_in_100_hours_k", skill.air_k.p95_nd),
    SIZE("outdoor_air_misses_hour_k", skill.outdoor_k.hour_nd),
    SIZE("outdoor_air_misses_month_k", skill.outdoor_k.month_nd),
    SIZE("own_months_miss_hour_k", skill.own_k.hour_nd),
    SIZE("own_months_miss_month_k", skill.own_k.month_nd),
    SIZE("outdoor_30_days_miss_hour_k", skill.month_30d_k.hour_nd),
    SIZE("outdoor_30_days_miss_month_k", skill.month_30d_k.month_nd),
    SIZE("building_model_misses_hour_k", skill.store_k.hour_nd),
    SIZE("building_model_misses_month_k", skill.store_k.month_nd),
    SIZE("humidity_misses_hour_frac", skill.rh_frac.hour_nd),
    SIZE("humidity_misses_month_frac", skill.rh_frac.month_nd),
    SIZE("building_model_humidity_misses_month_frac", skill.store_rh_frac.month_nd),
    SIGNED("degree_days_off_frac", skill.degree_days_frac),
    SIGNED("daily_swing_off_frac", skill.swing_frac),
    SIGNED("vapour_deficit_off_pa", skill.deficit_pa),
};

static double *figure_at(struct stv_rack *rack, const struct figure *figure)
{
    return (double *)(void *)((char *)rack + figure->offset);
}

void stv_learned_figures(const struct stv_rack *rack,
                         struct stv_learned_figure out[STV_LEARNED_FIGURES])
{
    struct stv_rack copy = *rack;
    for (size_t i = 0; i < STV_LEARNED_FIGURES; i++)
        out[i] = (struct stv_learned_figure){figures[i].key, *figure_at(&copy, &figures[i])};
}

const char *stv_learned_start_name(enum stv_rack_start start)
{
    return (unsigned)start < STV_RACK_STARTS ? start_words[start] : "unknown";
}

/* A path without the book's folder in front of it. */
static const char *inside(const struct stv_book *book, const char *path)
{
    size_t n = strlen(book->folder);
    return strncmp(path, book->folder, n) == 0 && path[n] == '/' ? path + n + 1 : path;
}

enum stv_status stv_learned_inputs(const struct stv_book *book, struct stv_learned_input **out,
                                   size_t *out_n)
{
    struct stv_learned_input *inputs = NULL;
    size_t n = 0;
    enum stv_status status = stv__learned_add_file(book, "book.yaml", &inputs, &n);
    if (status == STV_OK && book->n_loggers)
        status = stv__learned_add_file(book, "loggers.csv", &inputs, &n);
    if (status == STV_OK && book->has_weather)
        status = stv__learned_add_input(book->weather.path, inside(book, book->weather.path),
                                        &inputs, &n);
    for (size_t i = 0; i < book->n_loggers && status == STV_OK; i++) {
        const char *path = book->loggers[i].path;
        bool is_listed = false;
        for (size_t k = 0; k < n; k++)
            is_listed = is_listed || strcmp(inputs[k].file, inside(book, path)) == 0;
        if (!is_listed)
            status = stv__learned_add_input(path, inside(book, path), &inputs, &n);
    }
    if (status != STV_OK) {
        free(inputs);
        inputs = NULL;
        n = 0;
    }
    *out = inputs;
    *out_n = n;
    return status;
}

static void write_quantity(FILE *file, enum stv_rack_target target,
                           const struct stv_rack_sum *quantity)
{
    if (!quantity->is_learned)
        return;
    fprintf(file, "    %s:\n      added_to: %s\n      always: %.9g\n", target_keys[target],
            start_words[quantity->start], quantity->intercept_nd);
    const char *name;
    bool has_terms = false;
    for (size_t c = 0; (name = stv_rack_column_name(target, c)) != NULL; c++) {
        if (quantity->coef_nd[c] == 0.0)
            continue;
        fprintf(file, "%s        %s: %.9g\n", has_terms ? "" : "      terms:\n", name,
                quantity->coef_nd[c]);
        has_terms = true;
    }
}

static void write_rack(FILE *file, const struct stv_book *book, const struct stv_rack *rack)
{
    fprintf(file, "  - warehouse: ");
    stv__learned_write_text(file, book->warehouses[rack->place.warehouse_idx].name);
    fprintf(file, "\n    tier: %d\n", rack->place.tier_idx + 1);
    if (rack->place.bay_idx >= 0)
        fprintf(file, "    bay: %d\n", rack->place.bay_idx + 1);
    if (rack->place.depth_idx >= 0)
        fprintf(file, "    depth: %d\n", rack->place.depth_idx + 1);
    if (rack->from_tier_idx >= 0)
        fprintf(file, "    from_tier: %d\n", rack->from_tier_idx + 1);
    fputs("    logged_from: ", file);
    stv__learned_write_day(file, rack->first_day_d);
    fputs("\n    logged_to: ", file);
    stv__learned_write_day(file, rack->last_day_d);
    fprintf(file, "\n    hours: %zu\n    months: %zu\n    humidity_hours: %zu\n",
            rack->skill.n_hours, rack->skill.n_months, rack->skill.n_rh_hours);
    struct stv_learned_figure known[STV_LEARNED_FIGURES];
    stv_learned_figures(rack, known);
    for (size_t i = 0; i < STV_LEARNED_FIGURES; i++)
        if (isfinite(known[i].value_nd))
            fprintf(file, "    %s: %.6g\n", known[i].key, known[i].value_nd);
    for (size_t t = 0; t < STV_RACK_TARGETS; t++)
        write_quantity(file, t, &rack->sum[t]);
}

static void write_all(FILE *file, const struct stv_book *book, const void *what)
{
    const struct stv_learned *learned = what;
    fprintf(file,
            "# Written by `stavecast learn`, and made anew by it: nothing here wants typing.\n"
            "# Without this file the answers rest on the building model and the loggers alone.\n"
            "# A rack's air is what it is added to, plus `always`, plus each term times the\n"
            "# weather's column of that name; `misses` are of months that had no part in it.\n"
            "learned: %d\ninputs:\n",
            FORM);
    stv__learned_write_inputs(file, learned->inputs, learned->n_inputs);
    if (learned->n_between)
        fprintf(file, "between_tiers:\n");
    for (size_t i = 0; i < learned->n_between; i++) {
        const struct stv_learned_between *between = &learned->between[i];
        fprintf(file, "  - warehouse: ");
        stv__learned_write_text(file, book->warehouses[between->warehouse_idx].name);
        fprintf(file,
                "\n    logged_tiers: %zu\n    misses_hour_k: %.6g\n    misses_month_k: %.6g\n",
                between->n_tiers, between->hour_k, between->month_k);
        if (isfinite(between->rh_month_frac))
            fprintf(file, "    humidity_misses_month_frac: %.6g\n", between->rh_month_frac);
    }
    fprintf(file, "racks:\n");
    for (size_t i = 0; i < learned->n_racks; i++)
        write_rack(file, book, &learned->racks[i]);
}

enum stv_status stv_learned_write(const struct stv_book *book, const struct stv_learned *learned,
                                  char *why, size_t size)
{
    return stv__learned_write(book, STV_LEARNED_FILE, write_all, learned, why, size);
}

/* --- reading ---------------------------------------------------------------------------------- */

static const struct stv_yaml_want sum_number = {STV_DIM_NUMBER, NULL, -SUM_MOST, SUM_MOST};

bool stv_learned_can_hold(const struct stv_rack *rack)
{
    for (size_t t = 0; t < STV_RACK_TARGETS; t++) {
        const struct stv_rack_sum *sum = &rack->sum[t];
        bool is_held = fabs(sum->intercept_nd) <= SUM_MOST;
        for (size_t c = 0; c < STV_RACK_COLUMNS_MAX; c++)
            is_held = is_held && fabs(sum->coef_nd[c]) <= SUM_MOST;
        if (sum->is_learned && !is_held)
            return false;
    }
    return true;
}

/* NaN where it is not said. */
static void read_number(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                        const char *key, double least, double *out)
{
    *out = NAN;
    stv_yaml_quantity(context, map, key,
                      (struct stv_yaml_want){STV_DIM_NUMBER, NULL, least, TOO_MUCH}, out);
}

/* The warehouse of an entry; -1 when the book has none of that name. */
static int find_warehouse(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          const struct stv_book *book)
{
    char name[STV_NAME_MAX];
    if (!stv_yaml_text(context, map, "warehouse", name, sizeof name))
        return -1;
    for (size_t w = 0; w < book->n_warehouses; w++)
        if (strcmp(book->warehouses[w].name, name) == 0)
            return (int)w;
    return -1;
}

static void read_terms(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       enum stv_rack_target target, struct stv_rack_sum *out)
{
    const char *names[STV_RACK_COLUMNS_MAX];
    size_t n = stv_rack_n_columns(target);
    for (size_t c = 0; c < n; c++)
        names[c] = stv_rack_column_name(target, c);
    stv_yaml_known_keys(context, map, names, n);
    for (size_t c = 0; c < n; c++) {
        double coef = 0.0;
        if (!stv_yaml_quantity(context, map, names[c], sum_number, &coef))
            continue;
        out->coef_nd[c] = coef;
        out->groups |= 1u << stv_rack_column_group(target, c);
    }
}

static void read_quantity(const struct stv_yaml_context *context, const struct stv_yaml_node *rack,
                          enum stv_rack_target target, struct stv_rack_sum *out)
{
    static const char *const keys[] = {"added_to", "always", "terms"};
    const struct stv_yaml_node *map = stv_yaml_map(context, rack, target_keys[target]);
    size_t start = 0;
    if (!map)
        return;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    bool is_whole = stv_yaml_word(context, map, "added_to",
                                  (struct stv_yaml_words){start_words, STV_RACK_STARTS}, &start);
    is_whole =
        stv_yaml_quantity(context, map, "always", sum_number, &out->intercept_nd) && is_whole;
    if (!is_whole)
        stv_yaml_refuse(context, map, "needs added_to and always");
    out->is_learned = is_whole;
    out->start = start;
    const struct stv_yaml_node *terms = stv_yaml_map(context, map, "terms");
    if (terms)
        read_terms(context, terms, target, out);
}

static void check_rack_keys(const struct stv_yaml_context *context, const struct stv_yaml_node *map)
{
    static const char *const others[] = {"warehouse", "tier",        "bay",       "depth",
                                         "from_tier", "logged_from", "logged_to", "hours",
                                         "months",    "air",         "vapour",    "humidity_hours"};
    const char *keys[N_OF(others) + N_OF(figures)];
    size_t n = 0;
    for (size_t i = 0; i < N_OF(others); i++)
        keys[n++] = others[i];
    for (size_t i = 0; i < N_OF(figures); i++)
        keys[n++] = figures[i].key;
    stv_yaml_known_keys(context, map, keys, n);
}

/* A one-based number of a place; -1 when it is not said. */
static int read_place(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const char *key)
{
    static const size_t range[2] = {1, 10000};
    size_t number = 0;
    return stv_yaml_count(context, map, key, range, &number) ? (int)number - 1 : -1;
}

/* False when the book has no such place any more. */
static bool read_rack(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const struct stv_book *book, struct stv_rack *out)
{
    static const size_t any_hours[2] = {0, 100000000}, any_months[2] = {0, 12};
    *out = (struct stv_rack){.place = {-1, -1, -1, -1}, .from_tier_idx = -1};
    check_rack_keys(context, map);
    int warehouse_idx = find_warehouse(context, map, book);
    const struct stv_yaml_node *tier = stv_yaml_find(map, "tier");
    if (!tier || !stv_yaml_find(map, "warehouse"))
        stv_yaml_refuse(context, map, "a rack needs a warehouse and a tier");
    if (warehouse_idx < 0)
        return false;
    const struct stv_building *building = &book->warehouses[warehouse_idx].building;
    out->place =
        (struct stv_place){warehouse_idx, read_place(context, map, "tier"),
                           read_place(context, map, "bay"), read_place(context, map, "depth")};
    out->from_tier_idx = read_place(context, map, "from_tier");
    stv_yaml_date(context, map, "logged_from", &out->first_day_d);
    stv_yaml_date(context, map, "logged_to", &out->last_day_d);
    stv_yaml_count(context, map, "hours", any_hours, &out->skill.n_hours);
    stv_yaml_count(context, map, "months", any_months, &out->skill.n_months);
    stv_yaml_count(context, map, "humidity_hours", any_hours, &out->skill.n_rh_hours);
    for (size_t i = 0; i < N_OF(figures); i++)
        read_number(context, map, figures[i].key, figures[i].least_nd, figure_at(out, &figures[i]));
    for (size_t t = 0; t < STV_RACK_TARGETS; t++)
        read_quantity(context, map, t, &out->sum[t]);
    if (!out->sum[STV_RACK_AIR].is_learned)
        stv_yaml_refuse(context, map, "a rack needs what was learned of its air");
    return out->place.tier_idx >= 0 && (size_t)out->place.tier_idx < building->n_tiers &&
           (size_t)(out->from_tier_idx + 1) <= building->n_tiers &&
           (size_t)(out->place.bay_idx + 1) <= building->n_bays &&
           (size_t)(out->place.depth_idx + 1) <= building->n_depth;
}

/* A rack leans on a tier of the file that leans on none, or, a bay, on its own tier. */
static bool stands(const struct stv_learned *learned, const struct stv_rack *rack)
{
    if (rack->from_tier_idx < 0)
        return true;
    for (size_t i = 0; i < learned->n_racks; i++) {
        const struct stv_rack *from = &learned->racks[i];
        if (from->place.warehouse_idx == rack->place.warehouse_idx && from->place.bay_idx < 0 &&
            from->place.tier_idx == rack->from_tier_idx)
            return from != rack && (rack->place.bay_idx >= 0 || from->from_tier_idx < 0);
    }
    return false;
}

static enum stv_status read_racks(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *list, const struct stv_book *book,
                                  struct stv_learned *out)
{
    out->racks = calloc(list->n_items + 1, sizeof *out->racks);
    if (!out->racks)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n_items; i++) {
        const struct stv_yaml_node *map = &list->items[i];
        size_t n_before = stv__n_refused(context->problems);
        if (read_rack(context, map, book, &out->racks[out->n_racks]))
            out->n_racks++;
        else if (stv__n_refused(context->problems) == n_before)
            stv_problem_add(context->problems, STV_NOTED, context->file, map->line, map->column,
                            NULL,
                            "what was learned here is not used: the book no longer has this "
                            "warehouse, tier or bay");
    }
    for (size_t i = 0; i < out->n_racks; i++)
        if (!stands(out, &out->racks[i]))
            stv_yaml_refuse(context, list, "tier %d leans on tier %d, of which nothing stands here",
                            out->racks[i].place.tier_idx + 1, out->racks[i].from_tier_idx + 1);
    return STV_OK;
}

static enum stv_status read_between(const struct stv_yaml_context *context,
                                    const struct stv_yaml_node *list, const struct stv_book *book,
                                    struct stv_learned *out)
{
    static const char *const keys[] = {"warehouse", "logged_tiers", "misses_hour_k",
                                       "misses_month_k", "humidity_misses_month_frac"};
    static const size_t any_tiers[2] = {2, STV_TIERS_MAX};
    out->between = calloc(list->n_items + 1, sizeof *out->between);
    if (!out->between)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n_items; i++) {
        const struct stv_yaml_node *map = &list->items[i];
        struct stv_learned_between *between = &out->between[out->n_between];
        stv_yaml_known_keys(context, map, keys, N_OF(keys));
        between->warehouse_idx = find_warehouse(context, map, book);
        stv_yaml_count(context, map, "logged_tiers", any_tiers, &between->n_tiers);
        read_number(context, map, "misses_hour_k", 0.0, &between->hour_k);
        read_number(context, map, "misses_month_k", 0.0, &between->month_k);
        read_number(context, map, "humidity_misses_month_frac", 0.0, &between->rh_month_frac);
        out->n_between += between->warehouse_idx >= 0;
    }
    return STV_OK;
}

static enum stv_status read_root(const struct stv_yaml_context *context,
                                 const struct stv_yaml_node *root, const struct stv_book *book,
                                 void *what)
{
    struct stv_learned *out = what;
    static const char *const keys[] = {"learned", "inputs", "between_tiers", "racks"};
    static const size_t forms[2] = {FORM, FORM};
    size_t form = 0;
    stv_yaml_known_keys(context, root, keys, N_OF(keys));
    if (!stv_yaml_count(context, root, "learned", forms, &form))
        stv_yaml_refuse(context, root, "was written by another version: run `learn` again");
    const struct stv_yaml_node *inputs = stv_yaml_list(context, root, "inputs");
    const struct stv_yaml_node *between = stv_yaml_list(context, root, "between_tiers");
    const struct stv_yaml_node *racks = stv_yaml_list(context, root, "racks");
    enum stv_status status = STV_OK;
    if (inputs)
        status = stv__learned_read_inputs(context, inputs, &out->inputs, &out->n_inputs);
    if (status == STV_OK && between)
        status = read_between(context, between, book, out);
    if (status == STV_OK && racks)
        status = read_racks(context, racks, book, out);
    return status;
}

enum stv_status stv_learned_read(const struct stv_book *book, struct stv_problems *problems,
                                 struct stv_learned *out)
{
    *out = (struct stv_learned){0};
    enum stv_status status = stv__learned_read(
        book, STV_LEARNED_FILE, "the answers rest on the building model and the loggers alone",
        problems, read_root, out);
    if (status != STV_OK)
        stv_learned_free(out);
    return status;
}

void stv_learned_free(struct stv_learned *learned)
{
    if (!learned)
        return;
    free(learned->racks);
    free(learned->between);
    free(learned->inputs);
    *learned = (struct stv_learned){0};
}
