/* sites.yaml: one building, one cask, several skies.  It shares the words of book.yaml. */
#include "ingest/study.h"

#include "ingest/book_parts.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

/* Differences below these cannot be told apart in a warehouse.  Assumed: about what a careful
 * gauge and an experienced nose tell; no published source. */
static const double default_margin[STV_SITE_METRIC_N] = {
    [STV_SITE_VOLUME_LOSS_FRAC] = 0.003, [STV_SITE_LPA_LOSS_FRAC] = 0.003,
    [STV_SITE_DRIFT_FRAC] = 0.0015,      [STV_SITE_WOOD_ND] = 0.05,
    [STV_SITE_FRUIT_ND] = 0.05,
};

static void read_cask(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_study *out)
{
    static const char *const keys[] = {"size", "held", "uses", "stave", "strength"};
    static const size_t uses_range[2] = {0, 30};
    struct stv_yaml_want size = {STV_DIM_VOLUME, NULL, 1.0, 1000.0};
    struct stv_yaml_want stave = {STV_DIM_LENGTH, NULL, 0.010, 0.060};
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.05, 0.972};
    struct stv_yaml_words held_words = {stv__held_words, stv__n_held_words};
    double size_l = 200.0, stave_m = NAN;
    size_t held = 0, n_uses = 0;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    stv_yaml_quantity(context, map, "size", size, &size_l);
    stv_yaml_quantity(context, map, "stave", stave, &stave_m);
    stv_yaml_quantity(context, map, "strength", strength, &out->fill_abv20_frac);
    stv_yaml_word(context, map, "held", held_words, &held);
    stv_yaml_count(context, map, "uses", uses_range, &n_uses);
    if (stv_cask_geometry(size_l, 1000.0 * stave_m, &out->cask.geometry) != STV_OK)
        stv_yaml_refuse(context, map, "no cask of this size and stave is known");
    out->cask.history = stv__wood_history(held, n_uses);
    stv__cask_kind_name(held, n_uses, size_l, out->cask.kind_name, sizeof out->cask.kind_name);
}

static void read_margin(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                        double margin[STV_SITE_METRIC_N])
{
    static const char *const keys[STV_SITE_METRIC_N] = {
        [STV_SITE_VOLUME_LOSS_FRAC] = "litres", [STV_SITE_LPA_LOSS_FRAC] = "alcohol",
        [STV_SITE_DRIFT_FRAC] = "strength",     [STV_SITE_WOOD_ND] = "wood",
        [STV_SITE_FRUIT_ND] = "fruit",
    };
    static const enum stv_dimension dimensions[STV_SITE_METRIC_N] = {
        [STV_SITE_VOLUME_LOSS_FRAC] = STV_DIM_FRACTION, [STV_SITE_LPA_LOSS_FRAC] = STV_DIM_FRACTION,
        [STV_SITE_DRIFT_FRAC] = STV_DIM_STRENGTH,       [STV_SITE_WOOD_ND] = STV_DIM_NUMBER,
        [STV_SITE_FRUIT_ND] = STV_DIM_NUMBER,
    };
    stv_yaml_known_keys(context, map, keys, STV_SITE_METRIC_N);
    for (size_t i = 0; i < STV_SITE_METRIC_N; i++) {
        struct stv_yaml_want want = {dimensions[i], NULL, 0.0, 1.0};
        stv_yaml_quantity(context, map, keys[i], want, &margin[i]);
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
                      const char *folder, struct stv_study *out)
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
    if (site->name[0] && is_name_taken(out, site->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"), "is the name of an earlier site");
    out->n_sites++;
}

static void read_sites(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                       const char *folder, struct stv_study *out)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "sites");
    if (!stv_yaml_find(root, "sites"))
        stv_yaml_refuse(context, root, "needs sites: a list of places with their weather");
    if (list && (list->n_items == 0 || list->n_items > STV_STUDY_SITES_MAX))
        stv_yaml_refuse(context, list, "lists %zu sites; 1 to %d are wanted", list->n_items,
                        STV_STUDY_SITES_MAX);
    for (size_t i = 0; list && i < list->n_items && out->n_sites < STV_STUDY_SITES_MAX; i++)
        read_site(context, &list->items[i], folder, out);
}

static void read_building(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                          struct stv_study *out)
{
    const struct stv_yaml_node *map = stv_yaml_map(context, root, "building");
    if (!stv_yaml_find(root, "building"))
        stv_yaml_refuse(context, root, "needs a building, like {kind: racked shed, tiers: 6}");
    bool is_good = map && stv__building_from_yaml(context, map, &out->building, NULL, 0);
    size_t n_tiers = is_good ? out->building.n_tiers : STV_TIERS_MAX;
    size_t range[2] = {1, n_tiers}, tier = n_tiers / 2 + 1;
    stv_yaml_count(context, root, "tier", range, &tier);
    out->tier_idx = (int)tier - 1;
}

static void read_root(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                      const char *folder, struct stv_study *out)
{
    static const char *const keys[] = {"study", "building", "tier", "cask", "margin", "sites"};
    stv_yaml_known_keys(context, root, keys, N_OF(keys));
    stv_yaml_text(context, root, "study", out->name, sizeof out->name);
    if (!stv_yaml_find(root, "study"))
        stv_yaml_refuse(context, root, "needs study: a line that says what is asked");
    read_building(context, root, out);
    const struct stv_yaml_node *cask = stv_yaml_map(context, root, "cask");
    read_cask(context, cask ? cask : &(struct stv_yaml_node){.type = STV_YAML_MAP}, out);
    const struct stv_yaml_node *margin = stv_yaml_map(context, root, "margin");
    if (margin)
        read_margin(context, margin, out->margin);
    read_sites(context, root, folder, out);
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
    *out = (struct stv_study){.fill_abv20_frac = 0.60};
    memcpy(out->margin, default_margin, sizeof default_margin);
    snprintf(out->cask.id, sizeof out->cask.id, "study");
    size_t n_before = stv__n_refused(problems);
    char folder[STV__PATH_MAX];
    struct stv_yaml_node *root = NULL;
    if (!folder_of(path, folder)) {
        stv_problem_add(problems, STV_REFUSED, path, 0, 0, NULL, "is too long a path");
        return STV_E_IO;
    }
    enum stv_status status = stv_yaml_read(path, path, problems, &root);
    struct stv_yaml_context context = {.file = path, .problems = problems};
    if (root)
        read_root(&context, root, folder, out);
    stv_yaml_free(root);
    if (status == STV_OK && stv__n_refused(problems) > n_before)
        status = STV_E_PARSE;
    return status;
}
