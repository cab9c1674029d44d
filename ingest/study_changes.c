/* A change of a study: any keys of a building, put over the building as it is.  The building is
 * then read anew from both together, so a change is understood exactly as a book would be. */
#include "ingest/study_parts.h"

#include <stdio.h>
#include <string.h>

static struct stv_yaml_node *entry_of(struct stv_yaml_node *map, const char *key)
{
    for (size_t i = 0; i < map->n_items; i++)
        if (strcmp(map->items[i].key, key) == 0)
            return &map->items[i];
    return NULL;
}

/* A wall is a construction or layers: the one that the change says replaces the other. */
static void settle_wall(const struct stv_yaml_node *change, const char *key,
                        struct stv_yaml_node *merged)
{
    const struct stv_yaml_node *said = stv_yaml_find(change, key);
    struct stv_yaml_node *wall = entry_of(merged, key);
    if (!said || !wall)
        return;
    bool has_name = stv_yaml_find(said, "construction"), has_layers = stv_yaml_find(said, "layers");
    if (has_name && !has_layers)
        stv_yaml_drop(wall, "layers");
    if (has_layers && !has_name)
        stv_yaml_drop(wall, "construction");
}

/* Another floor leaves the wetness of the earth, or the layers of a suspended one, behind. */
static void settle_floor(const struct stv_yaml_node *change, struct stv_yaml_node *merged)
{
    const struct stv_yaml_node *said = stv_yaml_find(change, "floor");
    const struct stv_yaml_node *kind = said ? stv_yaml_find(said, "kind") : NULL;
    struct stv_yaml_node *floor = entry_of(merged, "floor");
    if (!kind || !kind->text || !floor)
        return;
    if (strcmp(kind->text, "earth") != 0 && !stv_yaml_find(said, "wetness"))
        stv_yaml_drop(floor, "wetness");
    if (strcmp(kind->text, "suspended") != 0 && !stv_yaml_find(said, "layers"))
        stv_yaml_drop(floor, "layers");
}

static bool is_name_taken(const struct stv_study *study, const char *name)
{
    for (size_t i = 0; i < study->n_changes; i++)
        if (strcmp(study->changes[i].name, name) == 0)
            return true;
    return false;
}

/* Its name, and that it says something of the building. */
static void read_head(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const struct stv_study *study, struct stv_building_change *change)
{
    stv_yaml_text(context, map, "name", change->name, sizeof change->name);
    if (!stv_yaml_find(map, "name"))
        stv_yaml_refuse(context, map, "needs a name, like \"name: white roof\"");
    else if (map->n_items < 2)
        stv_yaml_refuse(context, map, "changes nothing: add keys of the building");
    if (change->name[0] && is_name_taken(study, change->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"), "is the name of an earlier change");
    if (stv_yaml_find(map, "reach"))
        stv_yaml_refuse(context, stv_yaml_find(map, "reach"),
                        "does nothing to the air: leave it out");
}

bool stv__study_building(const struct stv_yaml_context *context, struct stv__study_over put,
                         struct stv_building *out, char out_sha256[STV_SHA256_TEXT],
                         enum stv_status *out_status)
{
    static const struct stv_yaml_node nothing = {.type = STV_YAML_MAP};
    struct stv_yaml_node *merged;
    out_sha256[0] = '\0';
    *out_status = stv_yaml_merge(put.base ? put.base : &nothing, put.over, &merged);
    if (*out_status != STV_OK)
        return false;
    settle_wall(put.over, "wall", merged);
    settle_wall(put.over, "roof", merged);
    settle_floor(put.over, merged);
    if (put.also)
        stv_yaml_drop(merged, put.also);
    bool is_read = stv__building_from_yaml(context, merged, out, NULL, 0);
    if (is_read)
        *out_status = stv__yaml_sha256(merged, out_sha256);
    stv_yaml_free(merged);
    return is_read && *out_status == STV_OK;
}

static enum stv_status read_change(const struct stv_yaml_context *context,
                                   const struct stv_yaml_node *map,
                                   const struct stv__study_base *base, struct stv_study *out)
{
    struct stv_building_change *change = &out->changes[out->n_changes];
    *change = (struct stv_building_change){.name = ""};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map,
                        "a change is written {name: white roof, roof: {absorptance: 25 %%}}");
        return STV_OK;
    }
    read_head(context, map, out, change);
    enum stv_status status = STV_OK;
    char sha256[STV_SHA256_TEXT];
    struct stv__study_over put = {base->map, map, NULL};
    if (stv__study_building(context, put, &change->building, sha256, &status) &&
        change->building.n_tiers != out->building.n_tiers)
        stv_yaml_refuse(context, map,
                        "makes %zu tiers of %zu: differences are told tier by tier, so a change "
                        "keeps them; another number of tiers is a study of its own",
                        change->building.n_tiers, out->building.n_tiers);
    if (status != STV_OK)
        return status;
    out->n_changes++;
    return STV_OK;
}

enum stv_status stv__study_changes(const struct stv_yaml_context *context,
                                   const struct stv_yaml_node *root,
                                   const struct stv__study_base *base, struct stv_study *out)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "changes");
    if (!list || !base->map)
        return STV_OK;
    struct stv_yaml_context with_units = *context;
    memcpy(with_units.units, base->units, sizeof with_units.units);
    if (list->n_items == 0 || list->n_items > STV_STUDY_CHANGES_MAX)
        stv_yaml_refuse(context, list, "lists %zu changes; 1 to %d are wanted", list->n_items,
                        STV_STUDY_CHANGES_MAX);
    enum stv_status status = STV_OK;
    for (size_t i = 0;
         i < list->n_items && out->n_changes < STV_STUDY_CHANGES_MAX && status == STV_OK; i++)
        status = read_change(&with_units, &list->items[i], base, out);
    return status;
}
