/* `plates:` what the plate on a rack allows: the most that one bay of a tier may bear, front and
 * behind together. */
#include "ingest/book_parts.h"

#include <string.h>
#include <strings.h>

static struct stv_warehouse *warehouse_of(const struct stv_yaml_context *context,
                                          const struct stv_yaml_node *map, struct stv_book *book)
{
    char name[STV_NAME_MAX];
    const struct stv_yaml_node *node = stv_yaml_find(map, "warehouse");
    if (!node) {
        stv_yaml_refuse(context, map, "needs the warehouse whose racks bear this plate");
        return NULL;
    }
    if (!stv_yaml_text(context, map, "warehouse", name, sizeof name))
        return NULL;
    for (size_t i = 0; i < book->n_warehouses; i++)
        if (strcasecmp(book->warehouses[i].name, name) == 0)
            return &book->warehouses[i];
    stv_yaml_refuse(context, node, "is no warehouse of this book");
    return NULL;
}

static void read_plate(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       struct stv_book *book)
{
    static const char *const keys[] = {"warehouse", "tier", "most"};
    const struct stv_yaml_want mass = {STV_DIM_MASS, NULL, 20.0, 100000.0};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map,
                        "a plate is written as {warehouse: NAME, tier: 2, most: 520 kg}");
        return;
    }
    stv_yaml_known_keys(context, map, keys, 3);
    struct stv_warehouse *warehouse = warehouse_of(context, map, book);
    if (!warehouse)
        return;
    size_t first = 1, last = warehouse->building.n_tiers, range[2] = {1, last};
    double most_kg = 0.0;
    if (stv_yaml_count(context, map, "tier", range, &first))
        last = first;
    else if (stv_yaml_find(map, "tier"))
        return;
    if (!stv_yaml_find(map, "most"))
        stv_yaml_refuse(context, map, "needs most, what the plate says one bay of a tier bears");
    if (!stv_yaml_quantity(context, map, "most", mass, &most_kg))
        return;
    for (size_t tier = first; tier <= last; tier++) {
        if (warehouse->plate_kg[tier - 1] > 0.0) {
            stv_yaml_refuse(context, map, "is a second plate for tier %zu of %s", tier,
                            warehouse->name);
            return;
        }
        warehouse->plate_kg[tier - 1] = most_kg;
    }
}

void stv__plates_from_yaml(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                           struct stv_book *book)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "plates");
    for (size_t i = 0; list && i < list->n_items; i++)
        read_plate(context, &list->items[i], book);
    if (list && list->n_items == 0)
        stv_yaml_refuse(context, list, "lists no plate");
}
