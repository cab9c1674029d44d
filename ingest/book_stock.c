/* `prices:` and `cask_plan:` of book.yaml: money in the house's own currency, fills to come, and
 * how often a cask is filled before it is retired. */
#include "ingest/book_parts.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define PRICE_MOST 1e9
#define CASKS_MOST 100000
#define FILLS_MOST 30 /* of one cask, as `uses` of casks.csv */
#define MONTH_D (STV_YEAR_D / 12.0)
#define LEAD_MOST_MONTHS 36

static const char *const wood_words[STV_BUYING_WOODS] = {
    [STV_BUYING_NEW] = "new",
    [STV_BUYING_FIRST_FILL] = "first-fill",
    [STV_BUYING_REFILL] = "refill",
};

const char *stv_buying_wood_name(enum stv_buying_wood wood)
{
    return wood_words[wood];
}

struct stv_prices stv_prices_unsaid(void)
{
    return (struct stv_prices){.per_bottle = (double)NAN, .per_lpa = (double)NAN};
}

struct stv_cask_plan stv_cask_plan_unsaid(void)
{
    return (struct stv_cask_plan){.lead_months = STV_BUYING_LEAD_MONTHS};
}

/* --- prices -------------------------------------------------------------------------------- */

static const struct stv_yaml_want any_price = {STV_DIM_NUMBER, NULL, 0.0, PRICE_MOST};

static enum stv_status read_cask_prices(const struct stv_yaml_context *context,
                                        const struct stv_yaml_node *map, struct stv_prices *prices)
{
    for (size_t i = 0; i < map->n_items; i++) {
        const struct stv_yaml_node *item = &map->items[i];
        struct stv_cask_price one = {.price = (double)NAN};
        if (strlen(item->key) >= sizeof one.kind) {
            stv_yaml_refuse(context, item, "the kind has more than %zu letters",
                            sizeof one.kind - 1);
            continue;
        }
        snprintf(one.kind, sizeof one.kind, "%s", item->key);
        if (!stv_yaml_quantity(context, map, item->key, any_price, &one.price))
            continue;
        struct stv_cask_price *grown =
            stv__grown(prices->casks, prices->n_casks, sizeof *prices->casks);
        if (!grown)
            return STV_E_MEMORY;
        prices->casks = grown;
        prices->casks[prices->n_casks++] = one;
    }
    return STV_OK;
}

static enum stv_status read_prices(const struct stv_yaml_context *context,
                                   const struct stv_yaml_node *map, struct stv_prices *prices)
{
    static const char *const keys[] = {"currency", "bottle", "litre_of_alcohol", "casks"};
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    if (!stv_yaml_text(context, map, "currency", prices->currency, sizeof prices->currency) &&
        !stv_yaml_find(map, "currency"))
        stv_yaml_refuse(context, map, "needs the currency, like \"currency: EUR\"");
    stv_yaml_quantity(context, map, "bottle", any_price, &prices->per_bottle);
    stv_yaml_quantity(context, map, "litre_of_alcohol", any_price, &prices->per_lpa);
    const struct stv_yaml_node *casks = stv_yaml_map(context, map, "casks");
    return casks ? read_cask_prices(context, casks, prices) : STV_OK;
}

/* --- casks to come ------------------------------------------------------------------------- */

static bool need(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                 const char *key, const char *example)
{
    if (stv_yaml_find(map, key))
        return true;
    stv_yaml_refuse(context, map, "needs %s, like \"%s: %s\"", key, key, example);
    return false;
}

/* False when anything of the entry was refused. */
static bool read_fill(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      struct stv_planned_fill *out)
{
    static const char *const keys[] = {"date", "casks", "wood", "size", "kind"};
    static const size_t casks_range[2] = {1, CASKS_MOST};
    const struct stv_yaml_words woods = {wood_words, STV_BUYING_WOODS};
    struct stv_yaml_want size = {STV_DIM_VOLUME, NULL, 1.0, 1000.0};
    size_t wood = 0;
    *out = (struct stv_planned_fill){0};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map,
                        "is no fill, like {date: 2028-04-10, casks: 8, wood: new, size: 200 L}");
        return false;
    }
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    bool is_good = need(context, map, "date", "2028-04-10") &&
                   stv_yaml_date(context, map, "date", &out->fill.day_d);
    is_good &= need(context, map, "casks", "8") &&
               stv_yaml_count(context, map, "casks", casks_range, &out->fill.n_casks);
    is_good &=
        need(context, map, "wood", "new") && stv_yaml_word(context, map, "wood", woods, &wood);
    is_good &= need(context, map, "size", "200 L") &&
               stv_yaml_quantity(context, map, "size", size, &out->fill.capacity_l);
    out->fill.wood = (enum stv_buying_wood)wood;
    if (stv_yaml_find(map, "kind"))
        is_good &= stv_yaml_text(context, map, "kind", out->kind, sizeof out->kind);
    else
        snprintf(out->kind, sizeof out->kind, "%s %g L", wood_words[wood], out->fill.capacity_l);
    return is_good;
}

static enum stv_status read_fills(const struct stv_yaml_context *context,
                                  const struct stv_yaml_node *list, struct stv_cask_plan *plan)
{
    for (size_t i = 0; i < list->n_items; i++) {
        struct stv_planned_fill fill;
        if (!read_fill(context, &list->items[i], &fill))
            continue;
        struct stv_planned_fill *grown =
            stv__grown(plan->fills, plan->n_fills, sizeof *plan->fills);
        if (!grown)
            return STV_E_MEMORY;
        plan->fills = grown;
        plan->fills[plan->n_fills++] = fill;
    }
    return STV_OK;
}

/* Whether `wood_life:` says the uses of a wood. */
static bool says_uses(const struct stv_yaml_node *root, const char *wood)
{
    const struct stv_yaml_node *life = stv_yaml_find(root, "wood_life");
    const struct stv_yaml_node *kind = life ? stv_yaml_find(life, wood) : NULL;
    return kind && stv_yaml_find(kind, "uses");
}

/* How often a wood serves is one number of the house, said here or in `wood_life:`. */
static bool read_fills_of(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          const char *key, bool is_said_before, int *uses)
{
    static const size_t fills_range[2] = {1, FILLS_MOST};
    size_t n = 0;
    if (!stv_yaml_count(context, map, key, fills_range, &n))
        return is_said_before;
    if (is_said_before)
        stv_yaml_refuse(context, stv_yaml_find(map, key),
                        "`wood_life:` says these uses too: say them in one place");
    *uses = (int)n;
    return true;
}

static enum stv_status read_plan(const struct stv_yaml_context *context,
                                 const struct stv_yaml_node *map, struct stv_book *book)
{
    int *uses = book->wood_rules.most_uses;
    struct stv_cask_plan *plan = &book->cask_plan;
    static const char *const keys[] = {"lead_time", "fills_of_new", "fills_of_used", "fills"};
    struct stv_yaml_want lead = {STV_DIM_TIME, NULL, 0.0, LEAD_MOST_MONTHS * MONTH_D};
    double lead_d = (double)NAN;
    plan->is_said = true;
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    plan->has_lead = stv_yaml_quantity(context, map, "lead_time", lead, &lead_d);
    if (plan->has_lead)
        plan->lead_months = (int)ceil(lead_d / MONTH_D - 1e-6);
    plan->has_fills_of_new =
        read_fills_of(context, map, "fills_of_new", plan->has_fills_of_new, &uses[STV_WOOD_NEW]);
    plan->has_fills_of_used = read_fills_of(context, map, "fills_of_used", plan->has_fills_of_used,
                                            &uses[STV_WOOD_HELD_SPIRIT]);
    if (stv_yaml_find(map, "fills_of_used"))
        uses[STV_WOOD_HELD_FORTIFIED] = uses[STV_WOOD_HELD_SPIRIT];
    const struct stv_yaml_node *list = stv_yaml_list(context, map, "fills");
    return list ? read_fills(context, list, plan) : STV_OK;
}

enum stv_status stv__stock_from_yaml(const struct stv_yaml_context *context,
                                     const struct stv_yaml_node *root, struct stv_book *book)
{
    const struct stv_yaml_node *prices = stv_yaml_map(context, root, "prices");
    const struct stv_yaml_node *plan = stv_yaml_map(context, root, "cask_plan");
    enum stv_status status = STV_OK;
    if (prices)
        status = read_prices(context, prices, &book->prices);
    book->cask_plan.has_fills_of_new = says_uses(root, "new");
    book->cask_plan.has_fills_of_used = says_uses(root, "spirit") || says_uses(root, "fortified");
    if (plan && status == STV_OK)
        status = read_plan(context, plan, book);
    return status;
}
