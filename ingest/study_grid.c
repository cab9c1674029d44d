/* The grid of a study: several buildings, casks and tiers, and how long each fill is followed. */
#include "ingest/study_parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* A part of a node's text: what it is, how long, and its bytes. */
static size_t put(char *to, char what, const char *text)
{
    size_t n = text ? strlen(text) : 0;
    int n_head = sprintf(to, "%c%zu:", what, n);
    memcpy(to + n_head, text ? text : "", n);
    return (size_t)n_head + n;
}

enum stv_status stv__yaml_sha256(const struct stv_yaml_node *node, char out[STV_SHA256_TEXT])
{
    static const size_t head = 32; /* more than the longest head of a part */
    out[0] = '\0';
    size_t room = head + (node && node->text ? strlen(node->text) : 0), n = 0;
    for (size_t i = 0; node && i < node->n_items; i++)
        room += 2 * head + STV_SHA256_TEXT + (node->items[i].key ? strlen(node->items[i].key) : 0);
    char *text = malloc(room);
    if (!text)
        return STV_E_MEMORY;
    enum stv_status status = STV_OK;
    if (node)
        n += put(text, "sml"[node->type], node -> text);
    for (size_t i = 0; node && i < node->n_items && status == STV_OK; i++) {
        char sha256[STV_SHA256_TEXT];
        const char *key = node->items[i].key;
        if (key && (strcmp(key, "name") == 0 || strcmp(key, "count") == 0))
            continue;
        status = stv__yaml_sha256(&node->items[i], sha256);
        n += put(text + n, 'k', key);
        n += put(text + n, 'v', sha256);
    }
    if (status == STV_OK)
        stv_bytes_sha256(text, n, out);
    free(text);
    return status;
}

/* Names of a list of buildings or casks must differ. */
static bool is_name_taken(const char *names, size_t size, size_t n, const char *name)
{
    for (size_t i = 0; i < n; i++)
        if (strcmp(names + i * size, name) == 0)
            return true;
    return false;
}

/* The list at a key, of 1 to `most` mappings with a name each; NULL after a message. */
static const struct stv_yaml_node *named_list(const struct stv_yaml_context *context,
                                              const struct stv_yaml_node *root, const char *key,
                                              size_t most)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, key);
    if (list && (list->n_items == 0 || list->n_items > most)) {
        stv_yaml_refuse(context, list, "lists %zu %s; 1 to %zu are wanted", list->n_items, key,
                        most);
        return NULL;
    }
    for (size_t i = 0; list && i < list->n_items; i++) {
        const struct stv_yaml_node *entry = &list->items[i];
        if (entry->type == STV_YAML_MAP && stv_yaml_find(entry, "name"))
            continue;
        stv_yaml_refuse(context, entry, "an entry of %s is written {name: ..., and its keys}", key);
        return NULL;
    }
    return list;
}

static enum stv_status read_buildings(const struct stv_yaml_context *context,
                                      const struct stv_yaml_node *list,
                                      const struct stv__study_base *base, struct stv_study *out)
{
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < list->n_items && status == STV_OK; i++) {
        const struct stv_yaml_node *map = &list->items[i];
        struct stv_study_building *building = &out->buildings[i];
        struct stv__study_over over = {base->map, map, "checked"};
        stv_yaml_text(context, map, "name", building->name, sizeof building->name);
        stv_yaml_text(context, map, "checked", building->checked, sizeof building->checked);
        if (is_name_taken(out->buildings[0].name, sizeof *building, i, building->name))
            stv_yaml_refuse(context, stv_yaml_find(map, "name"),
                            "is the name of an earlier building");
        (void)stv__study_building(context, over, &building->building, building->said_sha256,
                                  &status); /* what was refused is among the problems */
        out->n_buildings = i + 1;
    }
    out->building = out->buildings[0].building;
    return status;
}

static enum stv_status take_building(const struct stv_yaml_context *context,
                                     const struct stv_yaml_node *root,
                                     const struct stv__study_base *base, struct stv_study *out)
{
    struct stv_yaml_context with_units = *context;
    memcpy(with_units.units, base->units, sizeof with_units.units);
    if (stv_yaml_find(root, "buildings")) {
        const struct stv_yaml_node *list =
            named_list(&with_units, root, "buildings", STV_STUDY_BUILDINGS_MAX);
        return list ? read_buildings(&with_units, list, base, out) : STV_OK;
    }
    struct stv_study_building *only = &out->buildings[0];
    out->n_buildings = 1;
    only->building = out->building;
    snprintf(only->name, sizeof only->name, "%.*s", STV_ID_MAX - 1,
             out->warehouse[0] ? out->warehouse : stv_building_kind_name(out->building.kind));
    return stv__yaml_sha256(base->map, only->said_sha256);
}

/* Of all casks or of none: a kind without a count beside others that have one is forgotten. */
static void read_count(const struct stv_yaml_context *context, const struct stv_yaml_node *list,
                       size_t idx, struct stv_study_cask *cask)
{
    static const size_t range[2] = {1, STV_STUDY_COUNT_MOST};
    const struct stv_yaml_node *map = &list->items[idx];
    if (!stv_yaml_find(map, "count") != !stv_yaml_find(&list->items[0], "count"))
        stv_yaml_refuse(context, map, "say the count of every kind of cask, or of none");
    stv_yaml_count(context, map, "count", range, &cask->n_alike);
}

static enum stv_status read_casks(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *list, struct stv_study *out)
{
    enum stv_status status = STV_OK;
    for (size_t i = 0; i < list->n_items && status == STV_OK; i++) {
        const struct stv_yaml_node *map = &list->items[i];
        struct stv_study_cask *cask = &out->casks[i];
        stv_yaml_text(context, map, "name", cask->name, sizeof cask->name);
        if (is_name_taken(out->casks[0].name, sizeof *cask, i, cask->name))
            stv_yaml_refuse(context, stv_yaml_find(map, "name"), "is the name of an earlier cask");
        stv__study_cask(context, map, true, out, cask);
        read_count(context, list, i, cask);
        status = stv__yaml_sha256(map, cask->said_sha256);
        out->n_casks = i + 1;
    }
    return status;
}

static enum stv_status take_casks(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *root, struct stv_study *out)
{
    static const struct stv_yaml_node nothing = {.type = STV_YAML_MAP};
    const struct stv_yaml_node *one = stv_yaml_map(context, root, "cask");
    const struct stv_yaml_node *many = stv_yaml_find(root, "casks");
    enum stv_status status = STV_OK;
    if (many && stv_yaml_find(root, "cask"))
        stv_yaml_refuse(context, many, "says the cask twice: keep cask or casks");
    const struct stv_yaml_node *list =
        many ? named_list(context, root, "casks", STV_STUDY_CASKS_MAX) : NULL;
    if (list) {
        status = read_casks(context, list, out);
    } else {
        struct stv_study_cask *only = &out->casks[0];
        out->n_casks = 1;
        stv__study_cask(context, one ? one : &nothing, false, out, only);
        snprintf(only->name, sizeof only->name, "%.*s", STV_ID_MAX - 1, only->cask.kind_name);
        status = stv__yaml_sha256(one, only->said_sha256);
    }
    out->cask = out->casks[0].cask;
    out->fill_abv20_frac = out->casks[0].fill_abv20_frac;
    return status;
}

static void take_tiers(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                       struct stv_study *out)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "tiers");
    size_t least = STV_TIERS_MAX;
    for (size_t b = 0; b < out->n_buildings; b++)
        if (out->buildings[b].building.n_tiers < least)
            least = out->buildings[b].building.n_tiers;
    if (list && stv_yaml_find(root, "tier"))
        stv_yaml_refuse(context, list, "says the tier twice: keep tier or tiers");
    if (list && (list->n_items == 0 || list->n_items > STV_TIERS_MAX))
        stv_yaml_refuse(context, list, "lists %zu tiers; 1 to %d are wanted", list->n_items,
                        STV_TIERS_MAX);
    for (size_t i = 0; list && i < list->n_items && i < STV_TIERS_MAX; i++) {
        size_t range[2] = {i ? (size_t)out->tiers_idx[i - 1] + 2 : 1, least}, tier = range[0];
        char key[] = "tiers";
        struct stv_yaml_node item = list->items[i];
        item.key = key;
        struct stv_yaml_node alone = {.type = STV_YAML_MAP, .items = &item, .n_items = 1};
        if (range[0] > range[1])
            stv_yaml_refuse(context, &list->items[i],
                            "tiers are listed from the floor up, each once, and the lowest "
                            "building has %zu",
                            least);
        else
            stv_yaml_count(context, &alone, key, range, &tier);
        out->tiers_idx[i] = (int)tier - 1;
        out->n_tiers = i + 1;
    }
    if (list)
        return;
    if ((size_t)out->tier_idx >= least && stv_yaml_find(root, "tier"))
        stv_yaml_refuse(context, stv_yaml_find(root, "tier"), "the lowest building has %zu tiers",
                        least);
    if (stv_yaml_find(root, "buildings") && !stv_yaml_find(root, "tier"))
        out->tier_idx = (int)least / 2;
    out->tiers_idx[0] = out->tier_idx;
    out->n_tiers = 1;
}

enum stv_status stv__study_grid(const struct stv_yaml_context *context,
                                const struct stv_yaml_node *root,
                                const struct stv__study_base *base, struct stv_study *out)
{
    static const size_t follow_range[2] = {1, STV_FOLLOW_MOST_Y};
    static const char *const words[] = {"buildings", "casks", "tiers", "follow_years"};
    for (size_t i = 0; i < sizeof words / sizeof words[0]; i++)
        out->is_grid = out->is_grid || stv_yaml_find(root, words[i]);
    if (out->is_grid && stv_yaml_find(root, "changes"))
        stv_yaml_refuse(context, stv_yaml_find(root, "changes"),
                        "belong to a study of one building and cask: list them under buildings, "
                        "or leave out buildings, casks, tiers and follow_years");
    out->follow_y = 1;
    stv_yaml_count(context, root, "follow_years", follow_range, &out->follow_y);
    enum stv_status status = take_building(context, root, base, out);
    if (status == STV_OK)
        status = take_casks(context, root, out);
    take_tiers(context, root, out);
    out->cell_margin[STV_CELL_LPA_LOSS_FRAC] = out->margin[STV_SITE_LPA_LOSS_FRAC];
    out->cell_margin[STV_CELL_VOLUME_LOSS_FRAC] = out->margin[STV_SITE_VOLUME_LOSS_FRAC];
    out->cell_margin[STV_CELL_DRIFT_FRAC] = out->margin[STV_SITE_DRIFT_FRAC];
    out->cell_margin[STV_CELL_WOOD_ND] = out->margin[STV_SITE_WOOD_ND];
    out->cell_margin[STV_CELL_FRUIT_ND] = out->margin[STV_SITE_FRUIT_ND];
    out->cell_margin[STV_CELL_AIR_C] = out->margin_liquid_k;
    out->cell_margin[STV_CELL_RH_FRAC] = out->margin_rh_frac;
    return status;
}
