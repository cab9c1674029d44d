/* `wood_life:` how long a wood serves and may stand dry, and what a move from cask to cask costs.
 */
#include "ingest/book_parts.h"

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define USES_MOST 30
#define DRY_MOST_D 3650.0

static void read_kind(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      enum stv_wood_history history, struct stv_wood_rules *rules)
{
    static const char *const keys[] = {"uses", "dry_after"};
    static const size_t range[2] = {1, USES_MOST};
    struct stv_yaml_want dry = {STV_DIM_TIME, NULL, 1.0, DRY_MOST_D};
    size_t n_uses = 0;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    if (stv_yaml_count(context, map, "uses", range, &n_uses))
        rules->most_uses[history] = (int)n_uses;
    stv_yaml_quantity(context, map, "dry_after", dry, &rules->dry_after_d[history]);
}

void stv__wood_life_from_yaml(const struct stv_yaml_context *context,
                              const struct stv_yaml_node *map, struct stv_book *book)
{
    static const char *const keys[] = {[STV_WOOD_NEW] = "new",
                                       [STV_WOOD_HELD_SPIRIT] = "spirit",
                                       [STV_WOOD_HELD_FORTIFIED] = "fortified",
                                       [STV_WOOD_HISTORY_N] = "move_loss"};
    struct stv_yaml_want loss = {STV_DIM_FRACTION, NULL, 0.0, 0.2};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    stv_yaml_quantity(context, map, "move_loss", loss, &book->wood_rules.move_loss_frac);
    for (int h = 0; h < STV_WOOD_HISTORY_N; h++) {
        const struct stv_yaml_node *kind = stv_yaml_map(context, map, keys[h]);
        if (kind)
            read_kind(context, kind, (enum stv_wood_history)h, &book->wood_rules);
    }
    book->has_wood_rules = true;
}
