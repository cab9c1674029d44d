/* Typed reading of YAML scalars: the whole text is consumed, unit and range are checked, and what
 * does not fit is reported at its own line and column. */
#include "ingest/yaml.h"

#include <stdarg.h>
#include <stdio.h>
#include <string.h>
#include <strings.h>

#define WHY_MAX 192
#define MORE_MAX 32 /* ", " before a word, " and 1000 more (README)" behind the last */

const struct stv_yaml_node *stv_yaml_find(const struct stv_yaml_node *map, const char *key)
{
    if (!map || map->type != STV_YAML_MAP)
        return NULL;
    for (size_t i = 0; i < map->n_items; i++)
        if (map->items[i].key && strcmp(map->items[i].key, key) == 0)
            return &map->items[i];
    return NULL;
}

void stv_yaml_refuse(const struct stv_yaml_context *context, const struct stv_yaml_node *node,
                     const char *format, ...)
{
    char text[256];
    va_list arguments;
    va_start(arguments, format);
    vsnprintf(text, sizeof text, format, arguments);
    va_end(arguments);
    stv_problem_add(context->problems, STV_REFUSED, context->file, node->line, node->column,
                    node->text, "%s%s%s", node->key ? node->key : "", node->key ? ": " : "", text);
}

static void refuse_key(const struct stv_yaml_context *context, const struct stv_yaml_node *item,
                       const char *const *known, size_t n)
{
    const char *nearest = stv_nearest_word(item->key, known, n);
    if (nearest) {
        stv_problem_add(context->problems, STV_REFUSED, context->file, item->key_line,
                        item->key_column, item->key,
                        "is not a key known here: did you mean \"%s\"?", nearest);
        return;
    }
    char list[160] = "";
    size_t used = 0, i = 0;
    for (; i < n && used + strlen(known[i]) + MORE_MAX < sizeof list; i++)
        used +=
            (size_t)snprintf(list + used, sizeof list - used, "%s%s", used ? ", " : "", known[i]);
    if (i < n)
        snprintf(list + used, sizeof list - used, " and %zu more (README)", n - i);
    stv_problem_add(context->problems, STV_REFUSED, context->file, item->key_line, item->key_column,
                    item->key, "is not a key known here; known: %s", list);
}

void stv_yaml_known_keys(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                         const char *const *known, size_t n)
{
    if (!map || map->type != STV_YAML_MAP)
        return;
    for (size_t i = 0; i < map->n_items; i++) {
        bool is_known = false;
        for (size_t k = 0; k < n && !is_known; k++)
            is_known = strcmp(map->items[i].key, known[k]) == 0;
        if (!is_known)
            refuse_key(context, &map->items[i], known, n);
    }
}

/* The value at a key when it has the wanted type; an alias was reported when it was read. */
static const struct stv_yaml_node *of_type(const struct stv_yaml_context *context,
                                           const struct stv_yaml_node *map, const char *key,
                                           enum stv_yaml_type type)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, key);
    if (!node || node->type == type)
        return node;
    if (node->type != STV_YAML_SCALAR || node->text)
        stv_yaml_refuse(context, node,
                        type == STV_YAML_MAP ? "\"key: value\" pairs are wanted here"
                                             : "a list is wanted here, each entry after a \"- \"");
    return NULL;
}

const struct stv_yaml_node *stv_yaml_map(const struct stv_yaml_context *context,
                                         const struct stv_yaml_node *map, const char *key)
{
    return of_type(context, map, key, STV_YAML_MAP);
}

const struct stv_yaml_node *stv_yaml_list(const struct stv_yaml_context *context,
                                          const struct stv_yaml_node *map, const char *key)
{
    return of_type(context, map, key, STV_YAML_LIST);
}

bool stv_yaml_is_scalar(const struct stv_yaml_context *context, const struct stv_yaml_node *node)
{
    if (node->type != STV_YAML_SCALAR)
        stv_yaml_refuse(context, node, "a single value is wanted here");
    else if (node->text && !node->text[0])
        stv_yaml_refuse(context, node, "has no value: write one, or leave the line out");
    return node->type == STV_YAML_SCALAR && node->text && node->text[0];
}

/* The scalar at a key; NULL when absent or refused. */
static const struct stv_yaml_node *scalar(const struct stv_yaml_context *context,
                                          const struct stv_yaml_node *map, const char *key)
{
    const struct stv_yaml_node *node = stv_yaml_find(map, key);
    return node && stv_yaml_is_scalar(context, node) ? node : NULL;
}

bool stv_yaml_text(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, char *buffer, size_t size)
{
    const struct stv_yaml_node *node = scalar(context, map, key);
    if (!node)
        return false;
    size_t n = strlen(node->text);
    if (n >= size) {
        stv_yaml_refuse(context, node, "is too long: at most %zu letters", size - 1);
        return false;
    }
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)node->text[i] < ' ') {
            stv_yaml_refuse(context, node, "must stand on one line");
            return false;
        }
    memcpy(buffer, node->text, n + 1);
    return true;
}

bool stv_yaml_quantity(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                       const char *key, struct stv_yaml_want want, double *out)
{
    const struct stv_yaml_node *node = scalar(context, map, key);
    if (!node)
        return false;
    char why[WHY_MAX];
    double value = 0.0;
    const char *unit = want.default_unit ? want.default_unit : context->units[want.dimension];
    if (stv_quantity_parse(node->text, want.dimension, unit, &value, why, sizeof why) != STV_OK) {
        stv_yaml_refuse(context, node, "%s", why);
        return false;
    }
    if (!(value >= want.least && value <= want.most)) {
        char range[WHY_MAX];
        stv_range_text(want.dimension, want.least, want.most, range, sizeof range);
        stv_yaml_refuse(context, node, "is outside %s", range);
        return false;
    }
    *out = value;
    return true;
}

bool stv_yaml_count(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                    const char *key, const size_t range[2], size_t *out)
{
    const struct stv_yaml_node *node = scalar(context, map, key);
    char why[WHY_MAX];
    if (!node)
        return false;
    bool is_good = stv_count_parse(node->text, range, out, why, sizeof why) == STV_OK;
    if (!is_good)
        stv_yaml_refuse(context, node, "%s", why);
    return is_good;
}

bool stv_yaml_flag(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, bool *out)
{
    static const char *const words[] = {"yes", "true", "no", "false"};
    size_t index = 0;
    bool is_said = stv_yaml_word(context, map, key, (struct stv_yaml_words){words, 4}, &index);
    if (is_said)
        *out = index < 2;
    return is_said;
}

bool stv_yaml_word(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, struct stv_yaml_words known, size_t *out)
{
    const struct stv_yaml_node *node = scalar(context, map, key);
    if (!node)
        return false;
    for (size_t i = 0; i < known.n; i++)
        if (strcasecmp(node->text, known.words[i]) == 0) {
            *out = i;
            return true;
        }
    char why[WHY_MAX];
    stv_word_advice(node->text, known.words, known.n, why, sizeof why);
    stv_yaml_refuse(context, node, "%s", why);
    return false;
}

bool stv_yaml_date(const struct stv_yaml_context *context, const struct stv_yaml_node *map,
                   const char *key, int64_t *out_day_d)
{
    const struct stv_yaml_node *node = scalar(context, map, key);
    char why[WHY_MAX];
    if (!node)
        return false;
    bool is_good = stv_date_parse(node->text, out_day_d, why, sizeof why) == STV_OK;
    if (!is_good)
        stv_yaml_refuse(context, node, "%s", why);
    return is_good;
}
