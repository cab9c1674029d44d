/* libyaml's events become a tree; everything stays the text that was typed.  A fault that leaves
 * the structure clear (a repeated key, an alias) is reported and reading goes on, so that one run
 * names all of them.  What it does not do: give values a type (yaml_get.c). */
#include "ingest/yaml.h"

#include "ingest/utf8.h"
#include "ingest/whole_file.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <yaml.h>

#define FILE_MAX ((size_t)1 << 20)
/* Repeated keys are looked for one by one, which must stay quick for a hostile file. */
#define KEYS_MAX 1000

struct builder {
    yaml_parser_t parser;
    yaml_event_t event;
    const char *file;
    struct stv_problems *problems;
    enum stv_status status;
};

static size_t line_of(yaml_mark_t mark)
{
    return mark.line + 1;
}

static size_t column_of(yaml_mark_t mark)
{
    return mark.column + 1;
}

/* Reports and goes on; the status is kept for the end. */
static void refuse_here(struct builder *builder, const char *found, const char *message)
{
    yaml_mark_t mark = builder->event.start_mark;
    stv_problem_add(builder->problems, STV_REFUSED, builder->file, line_of(mark), column_of(mark),
                    found, "%s", message);
    builder->status = STV_E_PARSE;
}

/* Fetches the next event; false when reading cannot go on. */
static bool next_event(struct builder *builder)
{
    yaml_event_delete(&builder->event);
    if (yaml_parser_parse(&builder->parser, &builder->event))
        return true;
    const yaml_parser_t *parser = &builder->parser;
    memset(&builder->event, 0, sizeof builder->event);
    builder->status = parser->error == YAML_MEMORY_ERROR ? STV_E_MEMORY : STV_E_PARSE;
    if (builder->status == STV_E_PARSE)
        stv_problem_add(builder->problems, STV_REFUSED, builder->file,
                        line_of(parser->problem_mark), column_of(parser->problem_mark), NULL,
                        "cannot be read from here on (%s): look at the indentation, brackets and "
                        "quotes at or just before this place",
                        parser->problem ? parser->problem : "no reason given");
    return false;
}

static char *copy_text(const char *text)
{
    size_t n = strlen(text) + 1;
    char *copy = malloc(n);
    if (copy)
        memcpy(copy, text, n);
    return copy;
}

static void free_inside(struct stv_yaml_node *node)
{
    for (size_t i = 0; i < node->n_items; i++)
        free_inside(&node->items[i]);
    free(node->items);
    free(node->text);
    free(node->key);
}

void stv_yaml_free(struct stv_yaml_node *root)
{
    if (!root)
        return;
    free_inside(root);
    free(root);
}

/* A new last entry, or NULL. */
static struct stv_yaml_node *append(struct stv_yaml_node *parent)
{
    /* Room for 4, 8, 16 ...: grown when the count is one of these. */
    size_t n = parent->n_items;
    if (n == 0 || (n >= 4 && (n & (n - 1)) == 0)) {
        size_t capacity = n == 0 ? 4 : 2 * n;
        struct stv_yaml_node *items = realloc(parent->items, capacity * sizeof *items);
        if (!items)
            return NULL;
        parent->items = items;
    }
    parent->items[parent->n_items] = (struct stv_yaml_node){0};
    return &parent->items[parent->n_items++];
}

static void drop_last(struct stv_yaml_node *parent)
{
    free_inside(&parent->items[--parent->n_items]);
}

/* Copies a node with all that is in it; at stands for its place where that is not NULL. */
static bool copy_node(const struct stv_yaml_node *from, const struct stv_yaml_node *at,
                      struct stv_yaml_node *to)
{
    *to = (struct stv_yaml_node){.type = from->type,
                                 .line = at ? at->line : from->line,
                                 .column = at ? at->column : from->column,
                                 .key_line = at ? at->line : from->key_line,
                                 .key_column = at ? at->column : from->key_column};
    to->key = from->key ? copy_text(from->key) : NULL;
    to->text = from->text ? copy_text(from->text) : NULL;
    bool is_whole = (to->key || !from->key) && (to->text || !from->text);
    for (size_t i = 0; i < from->n_items && is_whole; i++) {
        struct stv_yaml_node *item = append(to);
        is_whole = item && copy_node(&from->items[i], at, item);
    }
    return is_whole;
}

static struct stv_yaml_node *entry_of(struct stv_yaml_node *map, const char *key)
{
    for (size_t i = 0; i < map->n_items; i++)
        if (strcmp(map->items[i].key, key) == 0)
            return &map->items[i];
    return NULL;
}

static bool put_over(struct stv_yaml_node *map, const struct stv_yaml_node *over)
{
    bool is_whole = true;
    for (size_t i = 0; i < over->n_items && is_whole; i++) {
        const struct stv_yaml_node *item = &over->items[i];
        struct stv_yaml_node *entry = entry_of(map, item->key);
        if (entry && entry->type == STV_YAML_MAP && item->type == STV_YAML_MAP) {
            entry->line = item->line;
            entry->column = item->column;
            is_whole = put_over(entry, item);
            continue;
        }
        if (entry)
            free_inside(entry);
        else
            entry = append(map);
        is_whole = entry && copy_node(item, NULL, entry);
    }
    return is_whole;
}

enum stv_status stv_yaml_merge(const struct stv_yaml_node *base, const struct stv_yaml_node *over,
                               struct stv_yaml_node **out)
{
    *out = calloc(1, sizeof **out);
    if (*out && copy_node(base, over, *out) && put_over(*out, over))
        return STV_OK;
    stv_yaml_free(*out);
    *out = NULL;
    return STV_E_MEMORY;
}

void stv_yaml_drop(struct stv_yaml_node *map, const char *key)
{
    struct stv_yaml_node *entry = entry_of(map, key);
    if (!entry)
        return;
    free_inside(entry);
    size_t n_after = (size_t)(map->items + map->n_items - (entry + 1));
    memmove(entry, entry + 1, n_after * sizeof *entry);
    map->n_items--;
}

/* Anchors and tags of the event at hand are refused; its value is still read. */
static void refuse_decoration(struct builder *builder, const yaml_char_t *anchor,
                              const yaml_char_t *tag)
{
    if (anchor)
        refuse_here(builder, (const char *)anchor,
                    "is an anchor (&): write the values out in each place");
    if (tag)
        refuse_here(builder, (const char *)tag, "is a tag (!): leave it out");
}

static bool build_value(struct builder *builder, struct stv_yaml_node *node, int depth);

static bool build_scalar(struct builder *builder, struct stv_yaml_node *node)
{
    const yaml_event_t *event = &builder->event;
    refuse_decoration(builder, event->data.scalar.anchor, event->data.scalar.tag);
    node->type = STV_YAML_SCALAR;
    const char *value = (const char *)event->data.scalar.value;
    if (strlen(value) != event->data.scalar.length)
        refuse_here(builder, value, "holds a zero byte: leave it out");
    node->text = copy_text(value);
    if (!node->text)
        builder->status = STV_E_MEMORY;
    return node->text != NULL;
}

static bool build_list(struct builder *builder, struct stv_yaml_node *node, int depth)
{
    refuse_decoration(builder, builder->event.data.sequence_start.anchor,
                      builder->event.data.sequence_start.tag);
    node->type = STV_YAML_LIST;
    while (next_event(builder)) {
        if (builder->event.type == YAML_SEQUENCE_END_EVENT)
            return true;
        struct stv_yaml_node *item = append(node);
        if (!item) {
            builder->status = STV_E_MEMORY;
            return false;
        }
        if (!build_value(builder, item, depth + 1))
            return false;
    }
    return false;
}

/* Takes the key event at hand into a new entry of the mapping; NULL when reading must stop. */
static struct stv_yaml_node *take_key(struct builder *builder, struct stv_yaml_node *map,
                                      bool *out_is_repeated)
{
    *out_is_repeated = false;
    if (builder->event.type != YAML_SCALAR_EVENT) {
        refuse_here(builder, NULL, "a key must be a plain word");
        return NULL;
    }
    const char *key = (const char *)builder->event.data.scalar.value;
    refuse_decoration(builder, builder->event.data.scalar.anchor, builder->event.data.scalar.tag);
    if (map->n_items >= KEYS_MAX) {
        refuse_here(builder, key, "is one key too many here: at most 1000 are read");
        return NULL;
    }
    if (stv_yaml_find(map, key)) {
        refuse_here(builder, key, "is said twice here: keep one of the two");
        *out_is_repeated = true;
    }
    struct stv_yaml_node *item = append(map);
    if (item)
        item->key = copy_text(key);
    if (!item || !item->key) {
        builder->status = STV_E_MEMORY;
        return NULL;
    }
    item->key_line = line_of(builder->event.start_mark);
    item->key_column = column_of(builder->event.start_mark);
    return item;
}

static bool build_map(struct builder *builder, struct stv_yaml_node *node, int depth)
{
    refuse_decoration(builder, builder->event.data.mapping_start.anchor,
                      builder->event.data.mapping_start.tag);
    node->type = STV_YAML_MAP;
    while (next_event(builder)) {
        if (builder->event.type == YAML_MAPPING_END_EVENT)
            return true;
        bool is_repeated = false;
        struct stv_yaml_node *item = take_key(builder, node, &is_repeated);
        if (!item || !next_event(builder) || !build_value(builder, item, depth + 1))
            return false;
        if (is_repeated)
            drop_last(node);
    }
    return false;
}

/* Turns the event at hand and what belongs to it into a node; false when reading must stop. */
static bool build_value(struct builder *builder, struct stv_yaml_node *node, int depth)
{
    node->line = line_of(builder->event.start_mark);
    node->column = column_of(builder->event.start_mark);
    bool is_nested = builder->event.type == YAML_MAPPING_START_EVENT ||
                     builder->event.type == YAML_SEQUENCE_START_EVENT;
    if (is_nested && depth > STV_YAML_DEPTH_MAX) {
        refuse_here(builder, NULL, "is nested deeper than 8 levels");
        return false;
    }
    if (builder->event.type == YAML_MAPPING_START_EVENT)
        return build_map(builder, node, depth);
    if (builder->event.type == YAML_SEQUENCE_START_EVENT)
        return build_list(builder, node, depth);
    if (builder->event.type == YAML_SCALAR_EVENT)
        return build_scalar(builder, node);
    /* A scalar without text stands for it, which the getters pass over in silence. */
    refuse_here(builder, (const char *)builder->event.data.alias.anchor,
                "is an alias (*): write the values out here");
    return true;
}

/* Stream start, document start, the root, document end, stream end; true when the tree is whole. */
static bool build_document(struct builder *builder, struct stv_yaml_node *root)
{
    if (!next_event(builder) || !next_event(builder))
        return false;
    if (builder->event.type == YAML_STREAM_END_EVENT) {
        stv_problem_add(builder->problems, STV_REFUSED, builder->file, 1, 1, NULL,
                        "is empty: at least one \"key: value\" is needed");
        builder->status = STV_E_PARSE;
        return false;
    }
    if (!next_event(builder))
        return false;
    if (builder->event.type != YAML_MAPPING_START_EVENT) {
        refuse_here(builder, NULL, "must start with \"key: value\" lines");
        return false;
    }
    if (!build_value(builder, root, 1) || !next_event(builder) || !next_event(builder))
        return false;
    if (builder->event.type != YAML_STREAM_END_EVENT)
        refuse_here(builder, NULL, "starts a second document (---): only one is read");
    return true;
}

static bool refuse_line(const char *file, struct stv_problems *problems,
                        struct stv__utf8_place place, const char *message)
{
    stv_problem_add(problems, STV_REFUSED, file, place.line, place.column, NULL, "%s", message);
    return false;
}

/* What libyaml would report without a line, or in words that help nobody. */
static bool check_bytes(const char *bytes, size_t n, const char *file,
                        struct stv_problems *problems)
{
    bool is_wide =
        n >= 2 && (memcmp(bytes, "\xFF\xFE", 2) == 0 || memcmp(bytes, "\xFE\xFF", 2) == 0);
    if (is_wide || memchr(bytes, '\0', n))
        return refuse_line(file, problems, (struct stv__utf8_place){0, 0},
                           "is not a plain text file: save it as text in UTF-8");
    struct stv__utf8_place bad = stv__utf8_first_bad(bytes, n);
    if (bad.line)
        return refuse_line(file, problems, bad,
                           "has a letter that is not UTF-8: save the file again as UTF-8");
    bool is_good = true;
    size_t line = 1;
    for (size_t at = 0; at < n; line++) {
        const char *end = memchr(bytes + at, '\n', n - at);
        size_t length = end ? (size_t)(end - (bytes + at)) : n - at;
        size_t n_spaces = strspn(bytes + at, " ");
        size_t n_blanks = strspn(bytes + at, " \t\r");
        if (n_spaces < length && bytes[at + n_spaces] == '\t' && n_blanks < length)
            is_good = refuse_line(file, problems, (struct stv__utf8_place){line, n_spaces + 1},
                                  "has a tab in front of the text: use spaces");
        at += length + 1;
    }
    return is_good;
}

enum stv_status stv_yaml_parse(const char *bytes, size_t n, const char *file,
                               struct stv_problems *problems, struct stv_yaml_node **out)
{
    *out = NULL;
    if (!check_bytes(bytes, n, file, problems))
        return STV_E_PARSE;
    struct stv_yaml_node *root = calloc(1, sizeof *root);
    struct builder builder = {.file = file, .problems = problems, .status = STV_OK};
    if (!root || !yaml_parser_initialize(&builder.parser)) {
        free(root);
        return STV_E_MEMORY;
    }
    yaml_parser_set_input_string(&builder.parser, (const unsigned char *)bytes, n);
    bool is_whole = build_document(&builder, root);
    yaml_event_delete(&builder.event);
    yaml_parser_delete(&builder.parser);
    if (!is_whole) {
        stv_yaml_free(root);
        root = NULL;
    }
    *out = root;
    return builder.status;
}

enum stv_status stv_yaml_read_long(const char *path, const char *file, size_t most,
                                   struct stv_problems *problems, struct stv_yaml_node **out)
{
    *out = NULL;
    char why[160];
    char *bytes = NULL;
    size_t n = 0;
    enum stv_status status = stv__whole_file(path, most, &bytes, &n, why, sizeof why);
    if (status != STV_OK)
        stv_problem_add(problems, STV_REFUSED, file, 0, 0, NULL, "%s", why);
    else
        status = stv_yaml_parse(bytes, n, file, problems, out);
    free(bytes);
    return status;
}

enum stv_status stv_yaml_read(const char *path, const char *file, struct stv_problems *problems,
                              struct stv_yaml_node **out)
{
    return stv_yaml_read_long(path, file, FILE_MAX, problems, out);
}
