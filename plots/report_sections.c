/* The page, section by section: answers first, then house and month, casks and racks, what is
 * bottled, watered and bought, sites, what it rests on, and cautions.  A section without data says
 * what is missing.  The caution is always printed: by this file where the caller's words do not
 * begin a line with it. */
#include "plots/report_parts.h"

#include "plots/html.h"
#include "plots/quote.h"

#include <stdio.h>
#include <string.h>

#define CAUTION_START "Planning figures."
#define CAUTION CAUTION_START " Not a duty account. Not a safety assessment."

static const struct {
    const char *id, *heading;
    bool is_forecast; /* left out of a page without forecasts */
} sections[] = {{"house", "House", true},
                {"month", "Month sheet", false},
                {"crew", "Crew sheets", true},
                {"casks", "Casks", false},
                {"racks", "Racks, warm and cold", false},
                {"windows", "Release", true},
                {"water", "Water", true},
                {"buying", "Buying", true},
                {"sites", "Sites", true},
                {"how", "How we know", false},
                {"cautions", "Cautions", false}};

enum section {
    HOUSE,
    MONTH,
    CREW,
    CASKS,
    RACKS,
    WINDOWS,
    WATER,
    BUYING,
    SITES,
    HOW,
    CAUTIONS,
    SECTIONS
};

static void begin(struct stv_text *page, enum section section)
{
    stv_html_section(page, sections[section].id, sections[section].heading);
}

static void add_contents(const struct stv_report_input *input, struct stv_text *page)
{
    stv_text_add(page, "<nav aria-label=\"Contents\">\n<ul>\n");
    for (int i = 0; i < SECTIONS; i++)
        if (!input->fill_idx || !sections[i].is_forecast)
            stv_text_format(page, "<li><a href=\"#%s\">%s</a></li>\n", sections[i].id,
                            sections[i].heading);
    stv_text_add(page, "</ul>\n</nav>\n");
}

/* Line at which the words give the caution themselves, or how many lines there are. */
static size_t caution_line(const struct stv_report_words *words)
{
    size_t i = 0;
    while (i < words->n && strncmp(words->lines[i], CAUTION_START, strlen(CAUTION_START)) != 0)
        i++;
    return i;
}

/* The answers, and the caution at their end: the caller's when it closes the lines, else ours. */
static void add_answers(const struct stv_report_words *words, struct stv_text *page)
{
    size_t n = caution_line(words);
    stv_html_lines(page, words->lines, n);
    if (n == words->n) {
        stv_html_paragraph(page, "caution", CAUTION);
        return;
    }
    stv_text_add(page, "<div class=\"caution\">\n");
    stv_html_lines(page, words->lines + n, words->n - n);
    stv_text_add(page, "</div>\n");
}

static void add_first_screen(const struct stv_report_input *input, struct stv_text *page)
{
    stv_text_add(page, "<header>\n<h1>");
    stv_quote_html(page, input->house_name, STV_QUOTE_MAX_CHARS);
    stv_text_add(page, "</h1>\n<p>The house on ");
    stv_text_add_day(page, input->as_of_day_d);
    if (input->is_invented)
        stv_text_add(page, " <span class=\"mark\">invented example</span>");
    stv_text_add(page, "</p>\n</header>\n<main>\n");
    stv_html_section(page, "answers", "Answers");
    add_answers(&input->first_screen, page);
    add_contents(input, page);
    stv_html_section_end(page);
}

static void add_chart(const struct stv_chart_list *list, const char *name, struct stv_text *page)
{
    const struct stv_chart *chart = stv_chart_list_find(list, name);
    if (chart != NULL)
        stv_html_figure(page, chart);
}

static void add_warehouse(const struct stv_report_input *input, const struct stv_chart_list *list,
                          size_t w, struct stv_text *page)
{
    static const char *const stems[] = {"temperature", "evaporation", "extraction"};
    static const char *const others[] = {"ridges", "losses",      "paths",   "vapour",
                                         "cycles", "degree-days", "calendar"};
    const struct stv_warehouse_climate *climate = &input->climate->warehouses[w];
    struct stv_text heading = {0};
    stv_text_add(&heading, climate->name);
    stv_chart_add_years(&heading, climate);
    stv_html_heading(page, stv_text_string(&heading));
    stv_text_free(&heading);
    stv__report_climate_words(climate, page);
    char name[STV_CHART_NAME_MAX];
    for (size_t i = 0; i < sizeof stems / sizeof stems[0]; i++) {
        snprintf(name, sizeof name, "rack-%zu-%s", w + 1, stems[i]);
        add_chart(list, name, page);
    }
    for (size_t i = 0; i < sizeof others / sizeof others[0]; i++) {
        snprintf(name, sizeof name, "%s-%zu", others[i], w + 1);
        add_chart(list, name, page);
    }
    snprintf(name, sizeof name, "degree-days-%zu", w + 1);
    if (input->days != NULL && stv_chart_list_find(list, name) == NULL)
        stv_html_paragraph(
            page, NULL,
            "Degree-days are not drawn year by year: more than 5 days are missing in "
            "every year, or the casks stay below the base.");
    stv__report_climate_tables(climate, page);
}

static void add_racks(const struct stv_report_input *input, const struct stv_chart_list *list,
                      struct stv_text *page)
{
    begin(page, RACKS);
    if (input->climate == NULL || input->climate->n_warehouses == 0)
        stv_html_paragraph(page, NULL,
                           "Nothing is known of the racks: this needs a weather file, or "
                           "loggers, and a warehouse in the book.");
    else
        for (size_t w = 0; w < input->climate->n_warehouses; w++)
            add_warehouse(input, list, w, page);
    stv_html_section_end(page);
}

/* Casks that are shown one by one: all that are full, of a large house those with a chart. */
static bool is_shown(const struct stv_report_input *input, const struct stv_chart_list *list,
                     size_t cask_idx)
{
    return input->kinds != NULL
               ? stv__report_cask_chart(list, cask_idx) != NULL
               : stv__report_is_full(input->outlook, cask_idx, stv__report_day_now(input));
}

/* Hidden until the script shows it: without script all casks are on the page anyway. */
static void add_cask_choice(const struct stv_report_input *input, const struct stv_chart_list *list,
                            struct stv_text *page)
{
    stv_text_add(page,
                 "<p class=\"choice\" hidden=\"hidden\"><label>Show <select id=\"cask-choice\">\n"
                 "<option value=\"\">all casks</option>\n");
    for (size_t c = 0; c < input->ledger->n_casks; c++) {
        if (!is_shown(input, list, c))
            continue;
        stv_text_format(page, "<option value=\"cask-%zu\">cask ", c + 1);
        stv_quote_html(page, input->ledger->casks[c].id, STV_QUOTE_LABEL_CHARS);
        stv_text_add(page, "</option>\n");
    }
    stv_text_add(page, "</select></label></p>\n");
}

static void add_cask(const struct stv_report_input *input, const struct stv_chart_list *list,
                     size_t c, struct stv_text *page)
{
    const struct stv_cask *cask = &input->ledger->casks[c];
    const struct stv_chart *chart = stv__report_cask_chart(list, c);
    struct stv_text heading = {0}, about = {0}, flag = {0};
    stv_text_format(page, "<div class=\"cask\" id=\"cask-%zu\">\n", c + 1);
    stv_text_format(&heading, "Cask %s", cask->id);
    stv_html_heading(page, stv_text_string(&heading));
    stv_text_add(&about, cask->kind_name);
    if (input->place_texts != NULL && input->place_texts[c] != NULL)
        stv_text_format(&about, ", %s", input->place_texts[c]);
    stv_html_paragraph(page, "faint", stv_text_string(&about));
    stv__report_flag(input, c, &flag);
    if (flag.n > 0)
        stv_html_paragraph(page, NULL, stv_text_string(&flag));
    if (chart != NULL)
        stv_html_figure(page, chart);
    stv__report_cask_days_table(input, c, page);
    stv_text_add(page, "</div>\n");
    stv_text_free(&heading);
    stv_text_free(&about);
    stv_text_free(&flag);
}

static void add_kinds(const struct stv_report_input *input, const struct stv_chart_list *list,
                      struct stv_text *page)
{
    struct stv_text about = {0};
    stv_text_format(&about,
                    "A house of so many casks is drawn by kinds: what was filled on one day into "
                    "casks of one kind. At most %d casks that ask for a look have a chart too; the "
                    "table of casks names them all.",
                    STV_REPORT_FLAGGED_MOST);
    stv_html_paragraph(page, NULL, stv_text_string(&about));
    stv_text_free(&about);
    stv__report_kinds_table(input, page);
    for (size_t k = 0; k < input->kinds->ledger.n_casks; k++) {
        char name[STV_CHART_NAME_MAX];
        snprintf(name, sizeof name, "kind-%03zu", k + 1);
        add_chart(list, name, page);
    }
}

static void add_casks(const struct stv_report_input *input, const struct stv_chart_list *list,
                      struct stv_text *page)
{
    begin(page, CASKS);
    if (!stv__report_has_casks(input)) {
        stv_html_paragraph(page, NULL,
                           "Nothing is known of the casks: this needs casks.csv and "
                           "history.csv in the book, and a climate for their places.");
        stv_html_section_end(page);
        return;
    }
    stv__report_stock_words(input, page);
    if (input->kinds != NULL)
        add_kinds(input, list, page);
    stv__report_casks_table(input, page);
    stv__report_losses_table(input, page);
    add_cask_choice(input, list, page);
    for (size_t c = 0; c < input->ledger->n_casks; c++)
        if (is_shown(input, list, c))
            add_cask(input, list, c, page);
    stv_html_section_end(page);
}

static void add_windows(const struct stv_report_input *input, const struct stv_chart_list *list,
                        struct stv_text *page)
{
    begin(page, WINDOWS);
    if (!stv__report_has_windows(input)) {
        stv_html_paragraph(page, NULL,
                           "No bottling windows: this needs full casks with an outlook of "
                           "at least two months.");
        stv_html_section_end(page);
        return;
    }
    stv_html_lines(page, input->release.lines, input->release.n);
    stv__report_windows_words(input, page);
    size_t n_drawn = stv__report_drawn_windows(input)->n_windows;
    for (size_t number = 1; (number - 1) * STV_WINDOW_ROWS_MAX < n_drawn; number++) {
        char name[STV_CHART_NAME_MAX];
        snprintf(name, sizeof name, "windows-%zu", number);
        add_chart(list, name, page);
    }
    stv__report_windows_table(input, page);
    stv_html_section_end(page);
}

static void add_crew(const struct stv_report_input *input, struct stv_text *page)
{
    begin(page, CREW);
    stv__report_crew_sheets(input, page);
    stv_html_section_end(page);
}

/* A section of words alone, or what it would need. */
static void add_words(const struct stv_report_words *words, enum section section,
                      const char *missing, struct stv_text *page)
{
    begin(page, section);
    if (words->n > 0)
        stv_html_lines(page, words->lines, words->n);
    else
        stv_html_paragraph(page, NULL, missing);
    stv_html_section_end(page);
}

static void add_sites(const struct stv_report_input *input, const struct stv_chart_list *list,
                      struct stv_text *page)
{
    begin(page, SITES);
    if (input->sites == NULL || input->sites->n_sites == 0) {
        stv_html_paragraph(page, NULL,
                           "No sites were compared: this needs sites.yaml in the book.");
    } else {
        add_chart(list, "sites-1", page);
        stv__report_sites_tables(input, page);
    }
    stv_html_section_end(page);
}

static void add_end(const struct stv_report_input *input, const struct stv_chart_list *list,
                    struct stv_text *page)
{
    begin(page, HOW);
    stv_html_lines(page, input->how_we_know.lines, input->how_we_know.n);
    add_chart(list, "gauges-1", page);
    if (input->fill_idx)
        stv_html_paragraph(page, NULL, "Litres and strength are at 20 °C.");
    else
        stv_html_paragraph(page, NULL,
                           "A range in brackets holds nine trials in ten. Litres and strength "
                           "are at 20 °C. Wood is quoted against the house's reference cask = 1.");
    stv_html_section_end(page);
    begin(page, CAUTIONS);
    if (caution_line(&input->cautions) == input->cautions.n)
        stv_html_paragraph(page, "caution", CAUTION);
    stv_html_lines(page, input->cautions.lines, input->cautions.n);
    stv_html_section_end(page);
    stv_text_add(page, "</main>\n<footer class=\"faint\">\n<p>Made by stavecast ");
    stv_quote_html(page, input->version, STV_QUOTE_LABEL_CHARS);
    stv_text_add(page, input->is_invented ? ". Invented example. " : ". ");
    stv_text_add(page, CAUTION "</p>\n</footer>\n");
}

/* A page whose charts are tables says why. */
static void add_undrawn(const struct stv_chart_list *list, struct stv_text *page)
{
    size_t n_undrawn = 0;
    for (size_t i = 0; i < list->n; i++)
        n_undrawn += list->charts[i].picture.n == 0;
    if (n_undrawn > 0)
        stv_html_paragraph(page, NULL,
                           "Charts could not be drawn, because gnuplot is missing or failed: their "
                           "tables stand in their place. Install it with: apt-get install "
                           "gnuplot-nox");
}

/* What was measured and what is written, without anything that is forecast. */
static void add_ledger(const struct stv_report_input *input, const struct stv_chart_list *list,
                       struct stv_text *page)
{
    add_words(&input->month, MONTH, "Nothing is planned.", page);
    begin(page, CASKS);
    stv__report_ledger_tables(input, page);
    stv_html_section_end(page);
    add_racks(input, list, page);
}

static void add_all(const struct stv_report_input *input, const struct stv_chart_list *list,
                    struct stv_text *page)
{
    add_words(&input->house, HOUSE,
              "Nothing is told of the house by year: this needs full casks in the book.", page);
    add_words(&input->month, MONTH, "No month sheet: this needs full casks in the book.", page);
    add_crew(input, page);
    add_casks(input, list, page);
    add_racks(input, list, page);
    add_windows(input, list, page);
    add_words(&input->water, WATER,
              "No slow water: this needs full casks and `water:` in book.yaml, and a house of at "
              "most 1000 full casks; of a larger one stavecast water tells it.",
              page);
    add_words(&input->buying, BUYING,
              "Nothing is told of casks to buy: this needs full casks, and `cask_plan:` in "
              "book.yaml.",
              page);
    add_sites(input, list, page);
}

void stv__report_page(const struct stv_report_input *input, const struct stv_chart_list *list,
                      struct stv_text *page)
{
    struct stv_text title = {0};
    stv_text_format(&title, "%s%s", input->house_name,
                    input->is_invented ? " (invented example)" : "");
    stv_html_begin(page, stv_text_string(&title));
    stv_text_free(&title);
    add_first_screen(input, page);
    add_undrawn(list, page);
    if (input->fill_idx)
        add_ledger(input, list, page);
    else
        add_all(input, list, page);
    add_end(input, list, page);
    stv_html_end(page);
}
