/* Writes the report: fills the charts, draws them in one gnuplot, builds the page, and writes
 * page, pictures and numbers together.  Without gnuplot the page is still whole: each chart is
 * replaced by its words and its numbers.  The same input gives the same bytes. */
#include "plots/report.h"

#include "plots/html.h"

#include "plots/report_parts.h"

#include <errno.h>
#include <stdbool.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define FILES_PER_CHART 2

struct stv_why {
    char *text;
    size_t size;
};

static void set_path(struct stv_file *file, const char *folder, const char *name,
                     const char *ending)
{
    stv_text_format(&file->path, "%s/%s%s", folder, name, ending);
}

/* The page, then per chart its numbers and, when it could be drawn, its picture. */
static size_t fill_files(const struct stv_report_input *input, const struct stv_chart_list *list,
                         const char *folder, struct stv_file *files)
{
    size_t n = 0;
    set_path(&files[n], folder, "index", ".html");
    stv__report_page(input, list, &files[n++].content);
    for (size_t i = 0; i < list->n; i++) {
        const struct stv_chart *chart = &list->charts[i];
        struct stv_text name = {0};
        stv_text_format(&name, "charts/%s", chart->name);
        set_path(&files[n], folder, stv_text_string(&name), ".csv");
        stv_sheet_csv(&chart->table, &files[n++].content);
        if (chart->picture.n > 0) {
            set_path(&files[n], folder, stv_text_string(&name), ".svg");
            stv_text_add_bytes(&files[n++].content, chart->picture.bytes, chart->picture.n);
        }
        stv_text_free(&name);
    }
    return n;
}

static enum stv_status write_in(const struct stv_report_input *input,
                                const struct stv_chart_list *list, const char *folder,
                                const char *charts_folder, struct stv_why *why)
{
    struct stv_file *files = calloc(1 + FILES_PER_CHART * list->n, sizeof *files);
    if (files == NULL)
        return STV_E_MEMORY;
    size_t n = fill_files(input, list, folder, files);
    enum stv_status status = stv__files_write(files, n, why->text, why->size);
    if (status == STV_OK)
        stv__files_remove_old(charts_folder, files, n);
    for (size_t i = 0; i < n; i++) {
        stv_text_free(&files[i].path);
        stv_text_free(&files[i].content);
    }
    free(files);
    return status;
}

/* True when the folder's page is not there, or is one of ours. */
static bool is_ours_to_write(const char *folder)
{
    struct stv_text path = {0};
    char start[512] = "";
    stv_text_format(&path, "%s/index.html", folder);
    FILE *page = fopen(stv_text_string(&path), "rb");
    stv_text_free(&path);
    if (!page)
        return true;
    size_t n = fread(start, 1, sizeof start - 1, page);
    fclose(page);
    start[n] = '\0';
    return strstr(start, STV_HTML_MARK) != NULL;
}

static enum stv_status write_files(const struct stv_report_input *input,
                                   const struct stv_chart_list *list, const char *folder,
                                   struct stv_why *why)
{
    struct stv_text charts_folder = {0};
    if (!is_ours_to_write(folder)) {
        snprintf(why->text, why->size,
                 "%s/index.html is no report of stavecast and is left alone: name another folder "
                 "with --out",
                 folder);
        return STV_E_IO;
    }
    stv_text_format(&charts_folder, "%s/charts", folder);
    size_t n_there;
    enum stv_status status = stv__folder_make(stv_text_string(&charts_folder), &n_there);
    if (status == STV_OK)
        status = write_in(input, list, folder, stv_text_string(&charts_folder), why);
    else
        snprintf(why->text, why->size, "the folder %s cannot be made: %s", folder, strerror(errno));
    if (status != STV_OK)
        stv__folder_unmake(stv_text_string(&charts_folder), n_there);
    stv_text_free(&charts_folder);
    return status;
}

enum stv_status stv_report_write(const struct stv_report_input *input, const char *folder,
                                 char *why, size_t size)
{
    struct stv_chart_list list = {0};
    enum stv_status drawn = STV_OK;
    if (size == 0 || folder[0] == '\0')
        return STV_E_ARG;
    why[0] = '\0';
    enum stv_status status = stv_chart_list_fill(&list, input);
    if (status != STV_OK)
        goto done;
    drawn = stv_charts_draw(list.charts, list.n, STV_PICTURE_SVG, why, size);
    if (drawn != STV_OK && drawn != STV_E_PROGRAM) {
        status = drawn;
        goto done;
    }
    if (drawn == STV_OK)
        why[0] = '\0';
    status = write_files(input, &list, folder, &(struct stv_why){why, size});
done:
    stv_chart_list_free(&list);
    return status != STV_OK ? status : drawn;
}
