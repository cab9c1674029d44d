/* Both files are small texts around what one part of `learn` found; how they are kept does not
 * depend on what that is. */
#include "ingest/learned_parts.h"

#include "ingest/book_parts.h"
#include "ingest/weather_folder.h"
#include "ingest/write_file.h"
#include "model/calendar.h"

#include <stdlib.h>
#include <string.h>

#define BYTES_MOST ((size_t)256 << 20)

enum stv_status stv__learned_add_input(const char *path, const char *label,
                                       struct stv_learned_input **inputs, size_t *n)
{
    struct stv_learned_input *grown = stv__grown(*inputs, *n, sizeof *grown);
    if (!grown)
        return STV_E_MEMORY;
    *inputs = grown;
    struct stv_learned_input *input = &grown[(*n)++];
    snprintf(input->file, sizeof input->file, "%s", label);
    return stv_weather_sha256(path, input->sha256);
}

enum stv_status stv__learned_add_file(const struct stv_book *book, const char *name,
                                      struct stv_learned_input **inputs, size_t *n)
{
    char path[STV__PATH_MAX];
    if (!stv__join_path(book->folder, name, path))
        return STV_E_IO;
    return stv__learned_add_input(path, name, inputs, n);
}

void stv__learned_write_text(FILE *file, const char *text)
{
    fputc('"', file);
    for (; *text; text++) {
        if (*text == '"' || *text == '\\')
            fputc('\\', file);
        fputc(*text, file);
    }
    fputc('"', file);
}

void stv__learned_write_inputs(FILE *file, const struct stv_learned_input *inputs, size_t n)
{
    for (size_t i = 0; i < n; i++) {
        fprintf(file, "  - file: ");
        stv__learned_write_text(file, inputs[i].file);
        fprintf(file, "\n    sha256: %s\n", inputs[i].sha256);
    }
}

void stv__learned_write_day(FILE *file, int64_t day_d)
{
    struct stv_date date = stv_date_from_day(day_d);
    fprintf(file, "%d-%02d-%02d", (int)date.year, date.month, date.day);
}

enum stv_status stv__learned_write(const struct stv_book *book, const char *name,
                                   stv__learned_writer *write_all, const void *learned, char *why,
                                   size_t size)
{
    char path[STV__PATH_MAX], *bytes = NULL;
    size_t n = 0;
    if (!stv__join_path(book->folder, name, path)) {
        snprintf(why, size, "the path of the book's folder is too long");
        return STV_E_IO;
    }
    FILE *file = open_memstream(&bytes, &n);
    if (!file)
        return STV_E_MEMORY;
    write_all(file, book, learned);
    bool is_whole = !ferror(file);
    is_whole = fclose(file) == 0 && is_whole;
    enum stv_status status = is_whole ? stv_write_file(path, bytes, n, why, size) : STV_E_MEMORY;
    free(bytes);
    return status;
}

enum stv_status stv__learned_read_inputs(const struct stv_yaml_context *context,
                                         const struct stv_yaml_node *list,
                                         struct stv_learned_input **out, size_t *out_n)
{
    static const char *const keys[] = {"file", "sha256"};
    *out_n = 0;
    *out = calloc(list->n_items + 1, sizeof **out);
    if (!*out)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n_items; i++) {
        struct stv_learned_input *input = &(*out)[(*out_n)++];
        stv_yaml_known_keys(context, &list->items[i], keys, sizeof keys / sizeof keys[0]);
        stv_yaml_text(context, &list->items[i], "file", input->file, sizeof input->file);
        stv_yaml_text(context, &list->items[i], "sha256", input->sha256, sizeof input->sha256);
    }
    return STV_OK;
}

enum stv_status stv__learned_read(const struct stv_book *book, const char *name,
                                  const char *without, struct stv_problems *problems,
                                  stv__learned_reader *read_root, void *out)
{
    char path[STV__PATH_MAX];
    if (!stv__join_path(book->folder, name, path) || !stv__exists(path))
        return STV_OK;
    size_t n_before = stv__n_refused(problems);
    struct stv_yaml_node *root = NULL;
    struct stv_yaml_context context = {.file = path, .problems = problems};
    enum stv_status status = stv_yaml_read_long(path, path, BYTES_MOST, problems, &root);
    if (root && status == STV_OK)
        status = read_root(&context, root, book, out);
    stv_yaml_free(root);
    if (stv__n_refused(problems) > n_before) {
        stv_problem_add(problems, STV_NOTED, path, 0, 0, NULL,
                        "`learn` makes this file anew; without it %s", without);
        status = status == STV_OK ? STV_E_PARSE : status;
    }
    return status;
}
