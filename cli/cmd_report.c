/* `report`: one HTML page for the house, and its first screen on standard output. */
#include "cli/commands.h"

#include "cli/exit_code.h"
#include "cli/json_document.h"
#include "cli/json_report.h"
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
#include <string.h>
#include <unistd.h>

#define PATH_BYTES 1024
#define WHY_MAX 512

/* The texts of the page, cut into lines. */
enum page_part { FIRST, HOUSE, MONTH, RELEASE, WATER, BUYING, KNOWN, CAUTIONS, PARTS };

struct page_words {
    struct stv_text text;
    char *copy;
    const char **lines;
    size_t n;
};

static enum stv_status cut(struct page_words words[PARTS])
{
    enum stv_status status = STV_OK;
    for (int i = 0; i < PARTS && status == STV_OK; i++)
        status = stv_prose_lines(&words[i].text, &words[i].copy, &words[i].lines, &words[i].n);
    return status;
}

static struct stv_report_words shown(const struct page_words *words)
{
    return (struct stv_report_words){words->lines, words->n};
}

static void page_words_free(struct page_words words[PARTS])
{
    for (int i = 0; i < PARTS; i++) {
        stv_text_free(&words[i].text);
        free(words[i].copy);
        free(words[i].lines);
    }
}

/* What other commands answer, a section each. */
static void write_answers(const struct stv_chain *chain, const struct stv_report_answers *answers,
                          struct page_words words[PARTS])
{
    if (answers->has_stock) {
        stv_words_stock_held(&words[HOUSE].text, &answers->stock);
        stv_words_stock_buying(&words[BUYING].text, &answers->stock);
    }
    if (answers->has_month)
        stv_words_month(&words[MONTH].text, &answers->month);
    if (answers->has_release) {
        stv_words_not_promised(&words[RELEASE].text, &answers->release);
        stv_words_planned(&words[RELEASE].text, &answers->release);
        stv_words_bottling_answer(&words[RELEASE].text, chain, &answers->release.windows);
        stv_words_guard(&words[RELEASE].text, &answers->release);
    }
    if (answers->has_water)
        stv_words_water_house(&words[WATER].text, chain, &answers->water);
}

static void write_cautions(const struct stv_report_data *data, struct stv_text *text)
{
    const struct stv_chain *chain = data->chain;
    stv_words_caution_planning(text);
    stv_words_caution_moving(text);
    stv_words_caution_room(text);
    stv_words_caution_haze(text, &chain->book.rules);
    stv_words_caution_vapour(text);
    stv_words_caution_leaks(text);
    stv_words_caution_stores(text, chain);
    if (data->has_sites && data->changes)
        stv_words_changes_cautions(text, data->study);
}

/* What stands on every page: what it rests on, and the cautions. */
static void write_basis(const struct stv_report_data *data, struct page_words words[PARTS])
{
    stv_words_rests_on(&words[KNOWN].text, data->chain, data->has_casks);
    stv_words_would_change(&words[KNOWN].text, data->chain);
    write_cautions(data, &words[CAUTIONS].text);
}

static enum stv_status write_ledger_words(const struct stv_report_data *data,
                                          struct page_words words[PARTS])
{
    const struct stv_first_screen screen = {.chain = data->chain, .climate = &data->climate};
    struct stv_month_answer month;
    enum stv_status status = stv_month_of_ledger(data->chain, &month);
    if (status == STV_OK) {
        stv_words_month_air(&words[MONTH].text, &month);
        stv_words_month_jobs(&words[MONTH].text, &month);
    }
    stv_month_free(&month);
    stv_words_ledger_screen(&words[FIRST].text, &screen);
    write_basis(data, words);
    stv_prose_wrap(&words[CAUTIONS].text, 0,
                   "Vapour by month and hour is worked out, and so left out here: stavecast vapour "
                   "%s tells it. Its absence clears nobody to enter.",
                   data->chain->book.folder);
    return status;
}

static void write_words(const struct stv_report_data *data, struct page_words words[PARTS])
{
    const struct stv_chain *chain = data->chain;
    const struct stv_first_screen screen = {
        .chain = chain,
        .climate = &data->climate,
        .forecast = data->has_casks ? &data->forecast : NULL,
        .months = data->has_casks ? &data->months : NULL,
        .bottling = data->has_casks ? &data->bottling : NULL,
        .answers = &data->answers,
        .sites = data->has_sites ? &data->sites : NULL,
        .study = data->study,
        .changes = data->has_sites ? data->changes : NULL,
    };
    stv_words_first_screen(&words[FIRST].text, &screen);
    write_answers(chain, &data->answers, words);
    stv_words_bottle_basis(&words[KNOWN].text, &chain->book.rules, 0);
    write_basis(data, words);
}

static struct stv_report_input input_of(const struct stv_report_data *data)
{
    const struct stv_chain *chain = data->chain;
    bool has = data->has_casks, has_ledger = has || data->fill_idx;
    return (struct stv_report_input){
        .house_name = chain->book.name,
        .is_invented = chain->book.is_invented,
        .as_of_day_d = chain->as_of_day_d,
        .climate = &data->climate,
        .days = data->days,
        .ledger = has_ledger ? &chain->book.ledger : NULL,
        .fill_idx = data->fill_idx,
        .outlook = has ? &data->outlook : NULL,
        .own_days = data->own_days,
        .trials = data->is_large ? &data->trials : NULL,
        .kinds = data->is_large ? &data->kinds : NULL,
        .months = has ? &data->months : NULL,
        .bottling = has ? &data->bottling : NULL,
        .gauges = data->gauges,
        .n_gauges = data->n_gauges,
        .set_aside = data->set_aside,
        .n_set_aside = data->n_set_aside,
        .told_figures = has ? &data->told_figures : NULL,
        .vapour = has ? data->vapour : NULL,
        .paths = data->paths,
        .losses = has ? data->seasons.stores : NULL,
        .sites = data->has_sites ? &data->sites : NULL,
        .site_climates = data->has_sites ? &data->site_climates : NULL,
        .sheets = data->crew.sheets,
        .n_sheets = data->crew.n,
        .rules = &chain->book.rules,
        .place_texts = data->place_texts,
        .version = STV_VERSION,
    };
}

/* Prints the first screen, or as JSON where the page lies, the same lines, and figures of charts.
 */
static enum stv_status print_answer(const struct stv_options *options,
                                    const struct stv_report_data *data, const char *folder,
                                    const struct page_words *first)
{
    const struct stv_chain *chain = data->chain;
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
    for (size_t i = 0; i < first->n; i++) {
        const char *line = stv_prose_unmarked(first->lines[i]);
        struct stv_text plain = {0};
        stv_prose_plain(&plain, line, strlen(line));
        stv_json_append(lines, json_string(stv_text_string(&plain)));
        stv_text_free(&plain);
    }
    stv_json_set(document, "page", stv_json_text(page));
    stv_json_set(document, "without_forecasts",
                 json_boolean(stv_options_has(options, STV_OPT_WITHOUT_FORECASTS)));
    stv_json_set(document, "first_screen", lines);
    stv_report_set_json(document, data);
    struct stv_text cautions = {0};
    write_cautions(data, &cautions);
    stv_json_caution_text(document, &cautions);
    return stv_json_write(options, document);
}

static void show_words(const struct page_words words[PARTS], struct stv_report_input *input)
{
    input->first_screen = shown(&words[FIRST]);
    input->house = shown(&words[HOUSE]);
    input->month = shown(&words[MONTH]);
    input->release = shown(&words[RELEASE]);
    input->water = shown(&words[WATER]);
    input->buying = shown(&words[BUYING]);
    input->how_we_know = shown(&words[KNOWN]);
    input->cautions = shown(&words[CAUTIONS]);
}

/* Writes page and answer; returns the status that decides the exit code. */
static enum stv_status write_page(const struct stv_options *options,
                                  const struct stv_report_data *data, const char *folder)
{
    struct page_words words[PARTS] = {0};
    char why[WHY_MAX] = "";
    enum stv_status status = STV_OK;
    if (data->fill_idx)
        status = write_ledger_words(data, words);
    else
        write_words(data, words);
    if (status == STV_OK)
        status = cut(words);
    enum stv_status drawn = STV_OK;
    if (status == STV_OK) {
        struct stv_report_input input = input_of(data);
        show_words(words, &input);
        drawn = stv_report_write(&input, folder, why, sizeof why);
        /* Without gnuplot the page is written all the same, with tables for charts. */
        status = drawn == STV_E_PROGRAM ? STV_OK : drawn;
    }
    if (why[0] && stv_gnuplot_is_there()) /* its absence was said at the start */
        stv_messages_error("%s", why);
    if (status != STV_OK && why[0])
        stv_messages_error("The page could not be written.");
    else if (status != STV_OK)
        stv_messages_error("The page could not be written: %s.", stv_status_text(status));
    else
        stv_messages_note(options, "The page is %s/index.html", folder);
    if (status == STV_OK)
        status = print_answer(options, data, folder, &words[FIRST]);
    page_words_free(words);
    return status == STV_OK ? drawn : status;
}

/* What the commands of the answers take where nothing else is said. */
static struct stv_report_wishes wishes_of(const struct stv_options *options)
{
    return (struct stv_report_wishes){
        .limits = {.most_casks = (size_t)stv_options_number(options, STV_OPT_MOST),
                   .most_samples_l = stv_options_number(options, STV_OPT_SAMPLES),
                   .most_share_frac = STV_SAMPLING_MOST_SHARE_FRAC},
        .n_months = (size_t)stv_options_number(options, STV_OPT_MONTHS),
        .n_years = (size_t)stv_options_number(options, STV_OPT_STOCK_YEARS),
    };
}

static enum stv_status write_report(const struct stv_options *options, struct stv_report_data *data,
                                    const char *folder)
{
    struct stv_report_wishes wishes = wishes_of(options);
    wishes.half_years = data->has_casks && !data->is_large ? &data->half_years : NULL;
    if (data->fill_idx)
        return write_page(options, data, folder);
    stv_messages_step(options, "Planning bottlings, water and the month");
    enum stv_status status = stv_report_answers_make(data->chain, &wishes, &data->answers);
    if (status == STV_OK)
        status = stv_report_take_windows(data);
    if (status == STV_OK)
        status = stv_report_crew_make(&data->answers, &data->crew);
    if (status != STV_OK) {
        stv_messages_error("The page could not be made: %s.", stv_status_text(status));
        return status;
    }
    return write_page(options, data, folder);
}

/* A chart alone, or the names of all. */
static enum stv_status write_chart(const struct stv_session *session, struct stv_report_data *data,
                                   char *why, size_t size)
{
    enum stv_status status = data->fill_idx ? STV_OK : stv_report_find_windows(data);
    struct stv_report_input input = input_of(data);
    return status == STV_OK ? stv_report_chart(session, &input, why, size) : status;
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
    const struct stv_report_ask ask = {
        .study_path = study_of(options, chain->book.folder, study, sizeof study),
        .keep_going = stv_options_has(options, STV_OPT_KEEP_GOING),
        .without_forecasts = stv_options_has(options, STV_OPT_WITHOUT_FORECASTS)};
    if (!ask.without_forecasts)
        stv_messages_step(options, "Following the casks");
    enum stv_status status = stv_report_data_make(chain, &ask, &study_problems, &data);
    stv_messages_problems(options, &study_problems);
    bool is_refused = study_problems.n_by_severity[STV_REFUSED] > 0;
    bool is_clean = !is_refused && study_problems.n_by_severity[STV_SET_ASIDE] == 0;
    stv_problems_free(&study_problems);
    if (status != STV_OK && is_refused)
        return stv_session_fail(&session, status,
                                "The study %s was refused. Mend it, name another with --study, or "
                                "leave it out with --keep-going.",
                                ask.study_path);
    if (status != STV_OK)
        return stv_session_fail(&session, status, "The report could not be made: %s.",
                                stv_status_text(status));
    char why[WHY_MAX] = "";
    if (stv_options_has(options, STV_OPT_CHART) || lists_names)
        status = write_chart(&session, &data, why, sizeof why);
    else
        status = write_report(options, &data, folder);
    stv_report_data_free(&data);
    if (why[0])
        return stv_session_fail(&session, status, "%s", why);
    chain->needs_attention = chain->needs_attention || !is_clean;
    return stv_session_close(&session, status);
}
