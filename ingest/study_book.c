/* A study of a building that a book describes already: only book.yaml is read, none of its tables
 * and no logger. */
#include "ingest/study_parts.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>

/* The folder of the book; false after a message. */
static bool find_folder(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                        const char *folder, char out[STV__PATH_MAX])
{
    char name[STV__PATH_MAX], path[STV__PATH_MAX];
    const struct stv_yaml_node *node = stv_yaml_find(root, "book");
    if (!stv_yaml_text(context, root, "book", name, sizeof name))
        return false;
    bool is_here = strcmp(name, ".") == 0;
    bool fits = stv__join_path(is_here ? "." : folder, is_here ? folder : name, out) &&
                stv__join_path(out, "book.yaml", path);
    if (!fits)
        stv_yaml_refuse(context, node, "makes too long a path");
    else if (!stv__exists(path))
        stv_yaml_refuse(context, node, "there is no %s: write the folder of the book, or \".\"",
                        path);
    return fits && stv__exists(path);
}

/* The warehouse of that name as book.yaml writes it; the book passed already. */
static enum stv_status find_map(const char *folder, const char *name, struct stv_problems *problems,
                                struct stv__study_base *base)
{
    char path[STV__PATH_MAX];
    if (!stv__join_path(folder, "book.yaml", path))
        return STV_E_IO;
    enum stv_status status = stv_yaml_read(path, path, problems, &base->owned);
    const struct stv_yaml_node *list =
        status == STV_OK ? stv_yaml_find(base->owned, "warehouses") : NULL;
    for (size_t i = 0; list && i < list->n_items; i++) {
        const struct stv_yaml_node *node = stv_yaml_find(&list->items[i], "name");
        if (node && node->text && strcmp(node->text, name) == 0)
            base->map = &list->items[i];
    }
    return status;
}

/* Which of the book's warehouses; false after a message. */
static bool choose(const struct stv_yaml_context *context, const struct stv_yaml_node *root,
                   const struct stv_book *book, size_t *out)
{
    const struct stv_yaml_node *node = stv_yaml_find(root, "book");
    if (book->n_warehouses == 0) {
        stv_yaml_refuse(context, node, "that book has no warehouse");
        return false;
    }
    *out = 0;
    if (!stv_yaml_find(root, "warehouse")) {
        if (book->n_warehouses > 1)
            stv_yaml_refuse(context, node,
                            "that book has %zu warehouses: add warehouse: and a name",
                            book->n_warehouses);
        return book->n_warehouses == 1;
    }
    const char **names = calloc(book->n_warehouses, sizeof *names);
    for (size_t i = 0; names && i < book->n_warehouses; i++)
        names[i] = book->warehouses[i].name;
    bool is_found = names && stv_yaml_word(context, root, "warehouse",
                                           (struct stv_yaml_words){names, book->n_warehouses}, out);
    free(names);
    return is_found;
}

static void take(const struct stv_book *book, size_t warehouse_idx, struct stv_study *out)
{
    const struct stv_warehouse *warehouse = &book->warehouses[warehouse_idx];
    out->building = warehouse->building;
    snprintf(out->warehouse, sizeof out->warehouse, "%s", warehouse->name);
    snprintf(out->house, sizeof out->house, "%s", book->name);
    out->rules = book->rules;
    out->params = book->params;
    out->numbers = book->numbers;
    out->gauge_numbers = book->gauge_numbers;
    memcpy(out->overridden, book->overridden, sizeof out->overridden);
    out->warm_months = book->warm_months;
    out->cold_months = book->cold_months;
    if (!book->has_weather)
        return;
    struct stv_study_site *site = &out->sites[0];
    snprintf(site->name, sizeof site->name, "%.*s", STV_ID_MAX - 1, book->name);
    site->weather = book->weather;
    stv_book_weather_fallbacks(book, &site->weather);
    out->has_own_site = true;
}

static void keep_units(const struct stv__book_reader *reader, struct stv__study_base *base)
{
    for (size_t d = 0; d < STV_DIM_N; d++) {
        const char *unit = reader->units[d];
        snprintf(base->unit_text[d], sizeof base->unit_text[d], "%s", unit ? unit : "");
        base->units[d] = unit ? base->unit_text[d] : NULL;
    }
}

enum stv_status stv__study_book(const struct stv_yaml_context *context,
                                const struct stv_yaml_node *root, const char *folder,
                                struct stv_study *out, struct stv__study_base *base)
{
    char path[STV__PATH_MAX];
    if (!find_folder(context, root, folder, path))
        return STV_OK;
    struct stv_book *book = calloc(1, sizeof *book);
    struct stv__book_reader *reader = calloc(1, sizeof *reader);
    enum stv_status status = book && reader ? STV_OK : STV_E_MEMORY;
    if (status == STV_OK) {
        size_t n_before = stv__n_refused(context->problems), chosen = 0;
        *book = stv__book_blank();
        *reader =
            (struct stv__book_reader){.book = book, .problems = context->problems, .folder = path};
        status = stv__book_yaml(reader);
        if (status == STV_OK && stv__n_refused(context->problems) == n_before &&
            choose(context, root, book, &chosen)) {
            keep_units(reader, base);
            take(book, chosen, out);
            snprintf(out->book_path, sizeof out->book_path, "%.*s/book.yaml",
                     (int)sizeof out->book_path - 11, path);
            status = find_map(path, out->warehouse, context->problems, base);
        }
    }
    free(reader);
    stv_book_free(book);
    free(book);
    return status;
}
