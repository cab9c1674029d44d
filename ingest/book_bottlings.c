/* `bottlings:` of book.yaml: what is planned to be bottled.  A series is spread out into its
 * releases, so that nothing behind this file knows of it but by the number they share. */
#include "ingest/book_parts.h"
#include "ingest/date_typed.h"
#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>
#include <strings.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define WHY_MAX 192
#define RELEASES_MOST 20
#define BOTTLINGS_MOST 200
#define APART_MOST_Y 10.0

/* One entry before it is spread out. */
struct entry {
    struct stv_book_bottling bottling;
    size_t n_releases;
    int months_apart;
};

static void read_day(const struct stv__book_reader *reader, const struct stv_yaml_context *context,
                     const struct stv_yaml_node *map, struct stv_book_bottling *out)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, "when");
    char why[WHY_MAX];
    struct stv_date_typed typed;
    if (!node)
        stv_yaml_refuse(context, map, "needs when, like 2028-11 or 2028-11-15");
    else if (!stv_yaml_is_scalar(context, node))
        return;
    else if (stv_date_typed_read(node->text, STV_ORDER_OPEN, stv__book_side(reader->book), &typed,
                                 why, sizeof why) != STV_OK)
        stv_yaml_refuse(context, node, "%s", why);
    else {
        out->wish.day_d = typed.day_d;
        out->day_width_d = typed.width_d;
    }
}

static void read_strength(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          struct stv_planned_bottling *out)
{
    static const char *const keys[] = {"least", "most"};
    struct stv_yaml_want strength = {STV_DIM_STRENGTH, NULL, 0.05, 0.972};
    const struct stv_yaml_node *range = stv_yaml_map(context, map, "strength");
    /* As drawn it is as strong as it is: the house's strength is only the least. */
    if (out->is_as_drawn)
        out->most_abv20_frac = 1.0;
    if (!range)
        return;
    stv_yaml_known_keys(context, range, keys, N_OF(keys));
    bool has_least = stv_yaml_quantity(context, range, "least", strength, &out->least_abv20_frac);
    bool has_most = stv_yaml_quantity(context, range, "most", strength, &out->most_abv20_frac);
    if (has_least && !has_most)
        out->most_abv20_frac = fmax(out->most_abv20_frac, out->least_abv20_frac);
    if (has_most && !has_least)
        out->least_abv20_frac = fmin(out->most_abv20_frac, out->least_abv20_frac);
    if (out->least_abv20_frac > out->most_abv20_frac)
        stv_yaml_refuse(context, range, "least is more than most (%g and %g %%vol)",
                        100.0 * out->least_abv20_frac, 100.0 * out->most_abv20_frac);
}

static void read_amounts(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         struct stv_book_bottling *out)
{
    static const size_t casks[2] = {1, 100000};
    struct stv_yaml_want bottles = {STV_DIM_NUMBER, NULL, 1.0, 1e7};
    struct stv_yaml_want kept = {STV_DIM_NUMBER, NULL, 0.0, 1e4};
    stv_yaml_quantity(context, map, "bottles", bottles, &out->wish.bottles_nd);
    stv_yaml_count(context, map, "casks", casks, &out->wish.n_casks);
    stv_yaml_quantity(context, map, "samples", kept, &out->samples_nd);
    stv_yaml_quantity(context, map, "archive", kept, &out->archive_nd);
    out->wish.kept_back_nd = out->samples_nd + out->archive_nd;
    if (!stv_yaml_find(map, "bottles") && !stv_yaml_find(map, "casks"))
        stv_yaml_refuse(context, map, "needs bottles or casks: how much is wanted");
}

static void read_releases(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                          struct entry *out)
{
    static const size_t releases[2] = {2, RELEASES_MOST};
    struct stv_yaml_want apart = {STV_DIM_TIME, NULL, STV_YEAR_D / STV_MONTHS,
                                  APART_MOST_Y * STV_YEAR_D};
    double apart_d = NAN;
    out->n_releases = 1;
    bool has_every = stv_yaml_quantity(context, map, "every", apart, &apart_d);
    bool has_releases = stv_yaml_count(context, map, "releases", releases, &out->n_releases);
    if (has_every)
        out->months_apart = (int)lround(apart_d / (STV_YEAR_D / STV_MONTHS));
    const struct stv_yaml_node *every = stv_yaml_find(map, "every");
    const struct stv_yaml_node *count = stv_yaml_find(map, "releases");
    if (has_every && !count)
        stv_yaml_refuse(context, every, "needs releases as well: how many there will be");
    if (has_releases && !every)
        stv_yaml_refuse(context, count, "needs every as well, like 2 y");
}

static bool is_name_taken(const struct stv_book *book, const char *name)
{
    for (size_t i = 0; i < book->n_bottlings; i++)
        if (strcasecmp(book->bottlings[i].name, name) == 0)
            return true;
    return false;
}

static void read_name(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                      const struct stv_book *book, struct stv_book_bottling *out)
{
    if (stv_yaml_text(context, map, "name", out->name, sizeof out->name) &&
        is_name_taken(book, out->name))
        stv_yaml_refuse(context, stv_yaml_find(map, "name"), "is the name of an earlier bottling");
    if (!stv_yaml_find(map, "name"))
        stv_yaml_refuse(context, map, "needs a name, like \"name: November singles\"");
}

/* False when anything was refused. */
static bool read_entry(struct stv__book_reader *reader, const struct stv_yaml_context *context,
                       const struct stv_yaml_node *map, struct entry *out)
{
    static const char *const keys[] = {"name",    "when",     "style",   "casks",
                                       "bottles", "strength", "water",   "samples",
                                       "archive", "every",    "releases"};
    static const char *const styles[] = {"single casks", "married"};
    const struct stv_house_rules *rules = &reader->book->rules;
    struct stv_book_bottling *bottling = &out->bottling;
    size_t n_before = stv__n_refused(context->problems), style = 0;
    bool gets_water = true;
    *out = (struct entry){.bottling.wish = {.least_abv20_frac = rules->bottling_abv20_frac,
                                            .most_abv20_frac = rules->bottling_abv20_frac}};
    if (map->type != STV_YAML_MAP) {
        stv_yaml_refuse(context, map, "is not a bottling: each has name, when, style and bottles");
        return false;
    }
    stv_yaml_known_keys(context, map, keys, N_OF(keys));
    read_name(context, map, reader->book, bottling);
    read_day(reader, context, map, bottling);
    if (stv_yaml_word(context, map, "style", (struct stv_yaml_words){styles, 2}, &style))
        bottling->wish.is_married = style == 1;
    else if (!stv_yaml_find(map, "style"))
        stv_yaml_refuse(context, map, "needs a style: single casks or married");
    if (stv_yaml_flag(context, map, "water", &gets_water))
        bottling->wish.is_as_drawn = !gets_water;
    read_strength(context, map, &bottling->wish);
    read_amounts(context, map, bottling);
    read_releases(context, map, out);
    return stv__n_refused(context->problems) == n_before;
}

static enum stv_status add_releases(struct stv_book *book, const struct entry *entry,
                                    size_t series_idx)
{
    for (size_t r = 0; r < entry->n_releases; r++) {
        void *grown = stv__grown(book->bottlings, book->n_bottlings, sizeof *book->bottlings);
        if (!grown)
            return STV_E_MEMORY;
        book->bottlings = grown;
        struct stv_book_bottling *release = &book->bottlings[book->n_bottlings++];
        *release = entry->bottling;
        release->wish.day_d =
            stv_day_add_months(entry->bottling.wish.day_d, (int)r * entry->months_apart);
        release->wish.series_idx = series_idx;
        release->release = r + 1;
        release->n_releases = entry->n_releases;
    }
    return STV_OK;
}

static int compare_days(const void *a, const void *b)
{
    const struct stv_book_bottling *x = a, *y = b;
    if (x->wish.day_d != y->wish.day_d)
        return x->wish.day_d < y->wish.day_d ? -1 : 1;
    return (x->wish.series_idx > y->wish.series_idx) - (x->wish.series_idx < y->wish.series_idx);
}

enum stv_status stv__bottlings_from_yaml(struct stv__book_reader *reader,
                                         const struct stv_yaml_context *context,
                                         const struct stv_yaml_node *root)
{
    const struct stv_yaml_node *list = stv_yaml_list(context, root, "bottlings");
    struct stv_book *book = reader->book;
    enum stv_status status = STV_OK;
    if (!list)
        return STV_OK;
    if (list->n_items > BOTTLINGS_MOST) {
        stv_yaml_refuse(context, list, "lists more than %d bottlings", BOTTLINGS_MOST);
        return STV_OK;
    }
    for (size_t i = 0; i < list->n_items && status == STV_OK; i++) {
        struct entry entry;
        if (read_entry(reader, context, &list->items[i], &entry))
            status = add_releases(book, &entry, i);
    }
    if (book->n_bottlings > 1)
        qsort(book->bottlings, book->n_bottlings, sizeof *book->bottlings, compare_days);
    return status;
}
