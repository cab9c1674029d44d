/* sites.yaml: one building, one cask, several skies.  It shares the words of book.yaml. */
#include "ingest/study.h"

#include "ingest/study_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

/* Differences below these cannot be told apart in a warehouse.  Assumed: about what a careful
 * gauge and an experienced nose tell; no published source. */
static const double default_cell_margin[STV_CELL_METRIC_N] = {
    [STV_CELL_BOTTLES_ND] = 1.0, [STV_CELL_WINDOW_MONTHS] = 1.0, [STV_CELL_HOT_H] = 50.0,
    [STV_CELL_COOL_H] = 100.0,   [STV_CELL_CYCLES_ND] = 5.0,
};
static const double default_margin[STV_SITE_METRIC_N] = {
    [STV_SITE_VOLUME_LOSS_FRAC] = 0.003, [STV_SITE_LPA_LOSS_FRAC] = 0.003,
    [STV_SITE_DRIFT_FRAC] = 0.0015,      [STV_SITE_WOOD_ND] = 0.05,
    [STV_SITE_FRUIT_ND] = 0.05,
};
/* For changes: what two plain loggers tell, and what is not worth a builder's call, of a cask a
 * year; assumed. */
#define MARGIN_LIQUID_K 0.5
#define MARGIN_RH_FRAC 0.03
#define MARGIN_BOTTLES_ND 0.25

void stv__study_cask(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                     bool is_listed, const struct stv_study *study, struct stv_study_cask *out)
{
    static const char *const keys[] = {"size",     "held", "uses", "stave",
                                       "strength", "name", "count"};
    static const size_t n_own = 5;
    static const size_t uses_range[2] = {0, 30};
    struct stv_yaml_want size = {STV_DIM_VOLUME, NULL, 1.0, 1000.0};
    struct stv_yaml_want stave = {STV_DIM_LENGTH, NULL, 0.010, 0.060};
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.05, 0.972};
    struct stv_yaml_words held_words = {stv__held_words, stv__n_held_words};
    double size_l = study->rules.reference_capacity_l, stave_m = NAN;
    size_t held = 0, n_uses = 0;
    out->fill_abv20_frac = study->rules.reference_abv20_frac;
    out->n_alike = 1;
    snprintf(out->cask.id, sizeof out->cask.id, "study"); /* one id: the same draws for all */
    stv_yaml_known_keys(context, map, keys, is_listed ? N_OF(keys) : n_own);
    stv_yaml_quantity(context, map, "size", size, &size_l);
    stv_yaml_quantity(context, map, "stave", stave, &stave_m);
    stv_yaml_quantity(context, map, "strength", strength, &out->fill_abv20_frac);
    stv_yaml_word(context, map, "held", held_words, &held);
    stv_yaml_count(context, map, "uses", uses_range, &n_uses);
    if (stv_cask_geometry(size_l, 1000.0 * stave_m, &study->numbers, &out->cask.geometry) != STV_OK)
        stv_yaml_refuse(context, map, "no cask of this size and stave is known");
    out->cask.history = stv__wood_history(held, n_uses);
    stv__cask_kind_name(held, n_uses, size_l, out->cask.kind_name, sizeof out->cask.kind_name);
}

static void read_margin(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                        struct stv_study *out)
{
    static const char *const keys[] = {
        [STV_SITE_VOLUME_LOSS_FRAC] = "litres",
        [STV_SITE_LPA_LOSS_FRAC] = "alcohol",
        [STV_SITE_DRIFT_FRAC] = "strength",
        [STV_SITE_WOOD_ND] = "wood",
        [STV_SITE_FRUIT_ND] = "fruit",
        "temperature",
        "humidity",
        "bottles",
        "window",
        "hot_hours",
        "cool_hours",
        "cycles",
    };
    static const struct {
        const char *key;
        enum stv_cell_metric metric;
        double most;
    } counted[] = {{"window", STV_CELL_WINDOW_MONTHS, 360.0},
                   {"hot_hours", STV_CELL_HOT_H, 8784.0},
                   {"cool_hours", STV_CELL_COOL_H, 8784.0},
                   {"cycles", STV_CELL_CYCLES_ND, 8784.0}};
    static const enum stv_dimension dimensions[STV_SITE_METRIC_N] = {
        [STV_SITE_VOLUME_LOSS_FRAC] = STV_DIM_FRACTION, [STV_SITE_LPA_LOSS_FRAC] = STV_DIM_FRACTION,
        [STV_SITE_DRIFT_FRAC] = STV_DIM_STRENGTH,       [STV_SITE_WOOD_ND] = STV_DIM_NUMBER,
        [STV_SITE_FRUIT_ND] = STV_DIM_NUMBER,
    };
    struct stv_yaml_want liquid = {STV_DIM_TEMP_STEP, NULL, 0.0, 20.0};
    struct stv_yaml_want humidity = {STV_DIM_FRACTION, NULL, 0.0, 1.0};
    struct stv_yaml_want bottles = {STV_DIM_NUMBER, NULL, 0.0, 1000.0};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    for (size_t i = 0; i < STV_SITE_METRIC_N; i++) {
        struct stv_yaml_want want = {dimensions[i], NULL, 0.0, 1.0};
        stv_yaml_quantity(context, map, keys[i], want, &out->margin[i]);
    }
    stv_yaml_quantity(context, map, "temperature", liquid, &out->margin_liquid_k);
    stv_yaml_quantity(context, map, "humidity", humidity, &out->margin_rh_frac);
    if (stv_yaml_quantity(context, map, "bottles", bottles, &out->margin_bottles_nd))
        out->cell_margin[STV_CELL_BOTTLES_ND] = out->margin_bottles_nd;
    for (size_t i = 0; i < N_OF(counted); i++) {
        struct stv_yaml_want want = {STV_DIM_NUMBER, NULL, 0.0, counted[i].most};
        stv_yaml_quantity(context, map, counted[i].key, want, &out->cell_margin[counted[i].metric]);
    }
}

static bool is_name_taken(const struct stv_study *study, const char *name)
{
    for (size_t i = 0; i < study->n_sites; i++)
        if (strcmp(study->sites[i].name, name) == 0)
            return true;
    return false;
}

static void read_site(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const char *folder, struct stv_study *out, enum stv_status *status)
{
    static const char *const keys[] = {"name", "weather"};
    struct stv_study_site *site = &out->sites[out->n_sites];
    *site = (struct stv_study_site){0};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map, "a site is written {name: ..., weather: {file: ...}}");
        return;
    }
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    stv_yaml_text(context, map, "name", site->name, sizeof site->name);
    for (size_t i = 0; i < N_OF(keys); i++)
        if (!stv_yaml_find(map, keys[i]))
            stv_yaml_refuse(context, map, "needs a name and a weather; %s is missing", keys[i]);
    const struct stv_yaml_node *weather = stv_yaml_map(context, map, "weather");
    if (weather)
        stv__weather_from_yaml(context, weather, folder, &site->weather);
    *status = stv__yaml_sha256(map, site->said_sha256);
    if (site->name[0] && is_name_taken(out, site->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"), "is the name of an earlier site");
    out->n_sites++;
}

static enum stv_status read_sites(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *root, const char *folder,
                                  struct stv_study *out)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "sites");
    if (!stv_yaml_find(root, "sites")) {
        if (!out->has_own_site)
            stv_yaml_refuse(context, root, "needs sites: a list of places with their weather");
        out->n_sites = out->has_own_site;
        return STV_OK;
    }
    out->has_own_site = false;
    if (list && (list->n_items == 0 || list->n_items > STV_STUDY_SITES_MAX))
        stv_yaml_refuse(context, list, "lists %zu sites; 1 to %d are wanted", list->n_items,
                        STV_STUDY_SITES_MAX);
    enum stv_status status = STV_OK;
    for (size_t i = 0;
         list && i < list->n_items && out->n_sites < STV_STUDY_SITES_MAX && status == STV_OK; i++)
        read_site(context, &list->items[i], folder, out, &status);
    return status;
}

/* The building, from the study or from its book. */
static enum stv_status read_building(const struct stv_yaml_context *context,
                                     const struct stv_yaml_node *root, const char *folder,
                                     struct stv_study *out, struct stv__study_base *base)
{
    const struct stv_yaml_node *map = stv_yaml_map(context, root, "building");
    const struct stv_yaml_node *book = stv_yaml_find(root, "book");
    const struct stv_yaml_node *warehouse = stv_yaml_find(root, "warehouse");
    enum stv_status status = STV_OK;
    if (book && stv_yaml_find(root, "building"))
        stv_yaml_refuse(context, book, "says the building twice: keep book or building");
    else if (book)
        status = stv__study_book(context, root, folder, out, base);
    else if (!stv_yaml_find(root, "building") && !stv_yaml_find(root, "buildings"))
        stv_yaml_refuse(context, root,
                        "needs a building, like {kind: racked shed, tiers: 6}, or a book");
    else if (map && stv__building_from_yaml(context, map, &out->building, NULL, 0))
        base->map = map;
    if (warehouse && !book)
        stv_yaml_refuse(context, warehouse, "belongs to a book: add book: and its folder");
    size_t n_tiers = base->map ? out->building.n_tiers : STV_TIERS_MAX;
    size_t range[2] = {1, n_tiers}, tier = n_tiers / 2 + 1;
    stv_yaml_count(context, root, "tier", range, &tier);
    out->tier_idx = (int)tier - 1;
    return status;
}

static enum stv_status read_root(const struct stv_yaml_context *context,
                                 const struct stv_yaml_node *root, const char *folder,
                                 struct stv_study *out)
{
    static const char *const keys[] = {"study", "building", "book",        "warehouse", "tier",
                                       "cask",  "margin",   "sites",       "changes",   "buildings",
                                       "casks", "tiers",    "follow_years"};
    struct stv__study_base base = {.owned = NULL};
    stv_yaml_known_keys(context, root, keys, N_OF(keys));
    stv_yaml_text(context, root, "study", out->name, sizeof out->name);
    if (!stv_yaml_find(root, "study"))
        stv_yaml_refuse(context, root, "needs study: a line that says what is asked");
    enum stv_status status = read_building(context, root, folder, out, &base);
    const struct stv_yaml_node *margin = stv_yaml_map(context, root, "margin");
    if (margin)
        read_margin(context, margin, out);
    /* A book that was refused may have had the weather that is missing. */
    if (base.map || !stv_yaml_find(root, "book") || stv_yaml_find(root, "sites")) {
        enum stv_status read = read_sites(context, root, folder, out);
        status = status == STV_OK ? read : status;
    }
    if (status == STV_OK)
        status = stv__study_grid(context, root, &base, out);
    if (status == STV_OK)
        status = stv__study_changes(context, root, &base, out);
    stv_yaml_free(base.owned);
    return status;
}

/* The folder that a path lies in; "." when it names none. */
static bool folder_of(const char *path, char out[STV__PATH_MAX])
{
    const char *slash = strrchr(path, '/');
    size_t n = slash ? (size_t)(slash - path) : 0;
    if (n >= STV__PATH_MAX)
        return false;
    memcpy(out, path, n);
    out[n] = '\0';
    if (n == 0)
        snprintf(out, STV__PATH_MAX, slash ? "/" : ".");
    return true;
}

enum stv_status stv_study_read(const char *path, struct stv_problems *problems,
                               struct stv_study *out)
{
    *out = (struct stv_study){.rules = stv_house_rules_default(),
                              .params = stv_params_default(),
                              .numbers = stv_cask_numbers_default(),
                              .gauge_numbers = stv_gauge_numbers_default(),
                              .margin_liquid_k = MARGIN_LIQUID_K,
                              .margin_rh_frac = MARGIN_RH_FRAC,
                              .margin_bottles_nd = MARGIN_BOTTLES_ND};
    memcpy(out->margin, default_margin, sizeof default_margin);
    memcpy(out->cell_margin, default_cell_margin, sizeof default_cell_margin);
    size_t n_before = stv__n_refused(problems);
    char folder[STV__PATH_MAX];
    struct stv_yaml_node *root = NULL;
    if (!folder_of(path, folder)) {
        stv_problem_add(problems, STV_REFUSED, path, 0, 0, NULL, "is too long a path");
        return STV_E_IO;
    }
    enum stv_status status = stv_yaml_read(path, path, problems, &root);
    struct stv_yaml_context context = {.file = path, .problems = problems};
    enum stv_status inside = root ? read_root(&context, root, folder, out) : STV_OK;
    if (status == STV_OK)
        status = inside;
    stv_yaml_free(root);
    if (status == STV_OK && stv__n_refused(problems) > n_before)
        status = STV_E_PARSE;
    return status;
}
