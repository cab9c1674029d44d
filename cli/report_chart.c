#include "cli/report_chart.h"

#include "cli/json_document.h"
#include "cli/output.h"
#include "cli/picture.h"
#include "cli/prose.h"
#include "cli/targets.h"
#include "ingest/quantity.h"

#include <stdio.h>
#include <stdlib.h>
#include <strings.h>

#define PATH_BYTES 4096
#define NAME_COLUMNS 22

static enum stv_status list_names(const struct stv_session *session,
                                  const struct stv_chart_list *list)
{
    const struct stv_options *options = session->options;
    if (stv_options_has(options, STV_OPT_JSON)) {
        json_t *document = stv_json_document(options, &session->chain, &session->chain.problems);
        json_t *charts = json_array();
        for (size_t i = 0; i < list->n; i++) {
            json_t *chart = json_object();
            stv_json_set(chart, "name", stv_json_text(list->charts[i].name));
            stv_json_set(chart, "title", stv_json_text(stv_text_string(&list->charts[i].title)));
            stv_json_append(charts, chart);
        }
        stv_json_set(document, "charts", charts);
        return stv_json_write(options, document);
    }
    struct stv_text text = {0};
    for (size_t i = 0; i < list->n; i++) {
        stv_prose_cell(&text, list->charts[i].name, NAME_COLUMNS);
        stv_prose_add(&text, "  %s\n", stv_text_string(&list->charts[i].title));
    }
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

/* What the chart shows, for whoever cannot see it. */
static enum stv_status print_words(const struct stv_session *session, const char *path,
                                   const struct stv_chart *chart)
{
    const struct stv_options *options = session->options;
    const char *words = stv_text_string(&chart->words);
    const char *note = stv_text_string(&chart->note);
    if (stv_options_has(options, STV_OPT_JSON)) {
        char beside[PATH_BYTES];
        stv_targets_beside(path, beside, sizeof beside);
        json_t *document = stv_json_document(options, &session->chain, &session->chain.problems);
        stv_json_set(document, "chart", stv_json_text(chart->name));
        stv_json_set(document, "title", stv_json_text(stv_text_string(&chart->title)));
        stv_json_set(document, "picture", stv_json_text(path));
        stv_json_set(document, "table", stv_json_text(beside));
        stv_json_set(document, "words", stv_json_text(words));
        stv_json_set(document, "note", stv_json_text(note));
        return stv_json_write(options, document);
    }
    struct stv_text text = {0};
    stv_prose_heading(&text, "%s", stv_text_string(&chart->title));
    stv_prose_wrap(&text, 0, "%s", words);
    stv_prose_wrap(&text, 0, "%s", note);
    enum stv_status status = stv_output_write(options, &text);
    stv_text_free(&text);
    return status;
}

/* The chart of the cask of that id, by its title; NULL when there is none. */
static const char *name_of_cask(const struct stv_chart_list *list, const char *id)
{
    struct stv_text title = {0};
    const char *name = NULL;
    stv_text_format(&title, "Cask %s", id);
    for (size_t i = 0; i < list->n && !name; i++)
        if (strcasecmp(stv_text_string(&list->charts[i].title), stv_text_string(&title)) == 0)
            name = list->charts[i].name;
    stv_text_free(&title);
    return name;
}

static enum stv_status refuse(const struct stv_chart_list *list, const char *name, char *why,
                              size_t size)
{
    const char **names = calloc(list->n + 1, sizeof *names);
    if (!names)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n; i++)
        names[i] = list->charts[i].name;
    const char *of_cask = name_of_cask(list, name);
    if (!of_cask && strncasecmp(name, "cask-", 5) == 0)
        of_cask = name_of_cask(list, name + 5);
    const char *nearest = of_cask ? of_cask : stv_nearest_word(name, names, list->n);
    snprintf(why, size, "The report has no chart \"%.60s\".%s%s%s --charts lists them.", name,
             nearest ? " Did you mean \"" : "", nearest ? nearest : "", nearest ? "\"?" : "");
    free(names);
    return STV_E_USAGE;
}

enum stv_status stv_report_chart(const struct stv_session *session,
                                 const struct stv_report_input *input, char *why, size_t size)
{
    const struct stv_options *options = session->options;
    struct stv_chart_list list = {0};
    enum stv_status status = stv_chart_list_fill(&list, input);
    if (status == STV_OK && stv_options_has(options, STV_OPT_CHARTS)) {
        status = list_names(session, &list);
    } else if (status == STV_OK) {
        const char *name = stv_options_text(options, STV_OPT_CHART);
        const char *path = stv_options_text(options, STV_OPT_OUT);
        struct stv_chart *chart = stv_chart_list_find(&list, name);
        status = chart ? stv_picture_write(options, path, chart) : refuse(&list, name, why, size);
        if (status == STV_OK)
            status = print_words(session, path, chart);
    }
    stv_chart_list_free(&list);
    return status;
}
