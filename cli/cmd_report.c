/* `report`: one HTML page for the house, and its first screen on standard output. */
#include "cli/commands.h"

#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/messages.h"
#include "cli/output.h"
#include "cli/prose.h"
#include "cli/report_chart.h"
#include "cli/report_data.h"
#include "cli/session.h"
#include "cli/version.h"
#include "plots/gnuplot.h"

#include <stdio.h>
#include <stdlib.h>
#include <unistd.h>

#define PATH_BYTES 1024
#define WHY_MAX 512

/* The three texts of the page, cut into lines. */
struct page_words {
    struct stv_text text;
    char *copy;
    const char **lines;
    size_t n;
};

static enum stv_status cut(struct page_words *words)
{
    return stv_prose_lines(&words->text, &words->copy, &words->lines, &words->n);
}

static struct stv_report_words shown(const struct page_words *words)
{
    return (struct stv_report_words){words->lines, words->n};
}

static void page_words_free(struct page_words *words)
{
    stv_text_free(&words->text);
    free(words->copy);
    free(words->lines);
}

static void write_words(const struct stv_report_data *data, struct page_words *first,
                        struct page_words *known, struct page_words *cautions)
{
    const struct stv_chain *chain = data->chain;
    const struct stv_first_screen screen = {
        .chain = chain,
        .climate = &data->climate,
        .forecast = data->has_casks ? &data->forecast : NULL,
        .months = data->has_casks ? &data->months : NULL,
        .bottling = data->has_casks ? &data->bottling : NULL,
        .sites = data->has_sites ? &data->sites : NULL,
        .study = data->study,
        .changes = data->has_sites ? data->changes : NULL,
    };
    stv_words_first_screen(&first->text, &screen);
    stv_words_bottle_basis(&known->text, &chain->book.rules);
    stv_words_rests_on(&known->text, chain, data->has_casks);
    stv_words_would_change(&known->text, chain);
    stv_words_caution_planning(&cautions->text);
    stv_words_caution_moving(&cautions->text);
    stv_words_caution_room(&cautions->text);
    stv_words_caution_haze(&cautions->text, &chain->book.rules);
    stv_words_caution_vapour(&cautions->text);
    stv_words_caution_stores(&cautions->text, chain);
    if (screen.changes)
        stv_words_changes_cautions(&cautions->text, data->study);
}

static struct stv_report_input input_of(const struct stv_report_data *data)
{
    const struct stv_chain *chain = data->chain;
    bool has = data->has_casks;
    return (struct stv_report_input){
        .house_name = chain->book.name,
        .is_invented = chain->book.is_invented,
        .as_of_day_d = chain->as_of_day_d,
        .climate = &data->climate,
        .days = data->days,
        .ledger = has ? &chain->book.ledger : NULL,
        .outlook = has ? &data->outlook : NULL,
        .months = has ? &data->months : NULL,
        .bottling = has ? &data->bottling : NULL,
        .gauges = data->gauges,
        .n_gauges = data->n_gauges,
        .told_figures = has ? &data->told_figures : NULL,
        .vapour = has ? data->vapour : NULL,
        .paths = data->paths,
        .losses = has ? data->seasons.stores : NULL,
        .sites = data->has_sites ? &data->sites : NULL,
        .site_climates = data->has_sites ? &data->site_climates : NULL,
        .rules = &chain->book.rules,
        .place_texts = data->place_texts,
        .version = STV_VERSION,
    };
}

/* Prints the first screen, or as JSON where the page lies and the same lines. */
static enum stv_status print_answer(const struct stv_options *options,
                                    const struct stv_chain *chain, const char *folder,
                                    const struct page_words *first)
{
    if (!stv_options_has(options, STV_OPT_JSON)) {
        struct stv_text text = {0};
        stv_prose_heading(&text, "%s: the house on %s%s", chain->book.name,
                          stv_format_day(chain->as_of_day_d).text,
                          chain->book.is_invented ? "  (invented example)" : "");
        stv_text_add_bytes(&text, stv_text_string(&first->text), first->text.n);
        enum stv_status status = stv_output_write(options, &text);
        stv_text_free(&text);
        return status;
    }
    json_t *document = stv_json_document(options, chain, &chain->problems);
    json_t *lines = json_array();
    char page[PATH_BYTES + 16];
    snprintf(page, sizeof page, "%s/index.html", folder);
    for (size_t i = 0; i < first->n; i++)
        stv_json_append(lines, json_string(first->lines[i]));
    stv_json_set(document, "page", stv_json_text(page));
    stv_json_set(document, "first_screen", lines);
    return stv_json_write(options, document);
}

/* Writes page and answer; returns the status that decides the exit code. */
static enum stv_status write_report(const struct stv_options *options,
                                    const struct stv_report_data *data, const char *folder)
{
    struct page_words first = {0}, known = {0}, cautions = {0};
    char why[WHY_MAX] = "";
    write_words(data, &first, &known, &cautions);
    enum stv_status status = cut(&first);
    if (status == STV_OK)
        status = cut(&known);
    if (status == STV_OK)
        status = cut(&cautions);
    enum stv_status drawn = STV_OK;
    if (status == STV_OK) {
        struct stv_report_input input = input_of(data);
        input.first_screen = shown(&first);
        input.how_we_know = shown(&known);
        input.cautions = shown(&cautions);
        drawn = stv_report_write(&input, folder, why, sizeof why);
        /* Without gnuplot the page is written all the same, with tables for charts. */
        status = drawn == STV_E_PROGRAM ? STV_OK : drawn;
    }
    if (why[0] && stv_gnuplot_is_there()) /* its absence was said at the start */
        stv_messages_error("%s", why);
    if (status != STV_OK)
        stv_messages_error("The page could not be written: %s.", stv_status_text(status));
    else
        stv_messages_note(options, "The page is %s/index.html", folder);
    if (status == STV_OK)
        status = print_answer(options, data->chain, folder, &first);
    page_words_free(&first);
    page_words_free(&known);
    page_words_free(&cautions);
    return status == STV_OK ? drawn : status;
}

/* The study asked for, else the book's own when there is one, else NULL. */
static const char *study_of(const struct stv_options *options, const char *book, char *buffer,
                            size_t size)
{
    if (stv_options_has(options, STV_OPT_STUDY))
        return stv_options_text(options, STV_OPT_STUDY);
    snprintf(buffer, size, "%s/sites.yaml", book);
    return access(buffer, R_OK) == 0 ? buffer : NULL;
}

int stv_cmd_report(const struct stv_options *options)
{
    struct stv_session session;
    int code;
    bool lists_names = stv_options_has(options, STV_OPT_CHARTS);
    if (!stv_gnuplot_is_there() && stv_options_has(options, STV_OPT_CHART) && !lists_names)
        return stv_refuse(options, NULL, STV_E_PROGRAM,
                          "gnuplot is missing; install it with: " STV_GNUPLOT_INSTALL);
    if (!stv_gnuplot_is_there() && !lists_names)
        stv_messages_error("gnuplot is missing: charts come as tables and words. Install it "
                           "with: " STV_GNUPLOT_INSTALL);
    if (!stv_session_open(&session, options, STV_SESSION_CLIMATE, &code))
        return code;
    struct stv_chain *chain = &session.chain;
    char folder[PATH_BYTES], study[PATH_BYTES];
    if (stv_options_has(options, STV_OPT_OUT))
        snprintf(folder, sizeof folder, "%s", stv_options_text(options, STV_OPT_OUT));
    else
        snprintf(folder, sizeof folder, "%s/report", chain->book.folder);
    struct stv_report_data data;
    struct stv_problems study_problems;
    stv_problems_init(&study_problems);
    stv_messages_step(options, "Following the casks");
    const char *study_path = study_of(options, chain->book.folder, study, sizeof study);
    enum stv_status status = stv_report_data_make(
        chain, study_path, stv_options_has(options, STV_OPT_KEEP_GOING), &study_problems, &data);
    stv_messages_problems(options, &study_problems);
    bool is_refused = study_problems.n_by_severity[STV_REFUSED] > 0;
    bool is_clean = !is_refused && study_problems.n_by_severity[STV_SET_ASIDE] == 0;
    stv_problems_free(&study_problems);
    if (status != STV_OK && is_refused)
        return stv_session_fail(&session, status,
                                "The study %s was refused. Mend it, name another with --study, or "
                                "leave it out with --keep-going.",
                                study_path);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The report could not be made: %s.",
                                stv_status_text(status));
    char why[WHY_MAX] = "";
    struct stv_report_input input = input_of(&data);
    if (stv_options_has(options, STV_OPT_CHART) || stv_options_has(options, STV_OPT_CHARTS))
        status = stv_report_chart(&session, &input, why, sizeof why);
    else
        status = write_report(options, &data, folder);
    stv_report_data_free(&data);
    if (why[0])
        return stv_session_fail(&session, status, "%s", why);
    chain->needs_attention = chain->needs_attention || !is_clean;
    return stv_session_close(&session, status);
}
