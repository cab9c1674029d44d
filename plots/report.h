/* The report: one self-contained HTML page, readable without script, with its charts inside. */
#ifndef STV_PLOTS_REPORT_H
#define STV_PLOTS_REPORT_H

#include "model/bottling.h"
#include "model/climate_days.h"
#include "model/climate_metrics.h"
#include "model/outlook.h"
#include "model/placement.h"
#include "model/sites.h"
#include "model/status.h"
#include "plots/chart.h"
#include "plots/chart_gauges.h"
#include "plots/chart_losses.h"
#include "plots/chart_paths.h"
#include "plots/chart_vapour.h"
#include "plots/crew_sheets.h"

#include <stdbool.h>

/* Lines of text for one section, made by the caller in trade words, as they are printed on a
 * terminal of 80 columns: a line that begins with the byte 1 is a small heading; two blanks
 * start an item of a list and four go on with it; three blanks or more inside a line make it a row
 * of columns, kept as it is; all else is paragraphs, joined again where a line was full.  Texts
 * are quoted by the report and may hold anything. */
struct stv_report_words {
    const char *const *lines;
    size_t n;
};

/* A measured point for the fan charts; NaN where not measured.
 * cask_idx into the ledger, day_d local day number, volume in litres at 20 C, strength 0..1; one
 * standard deviation of the gauge itself each, NaN where not known; litres_of and strength_of what
 * was typed for them, "" where nothing. */
struct stv_report_gauge {
    int cask_idx;
    int64_t day_d;
    double volume20_l, abv20_frac;
    double volume_sd_l, abv_sd_frac;
    const char *litres_of, *strength_of;
};

/* In place of a chart for each cask of a large house: kinds of casks that were filled alike on one
 * day, each told by its mean cask.
 *
 * ledger    a cask for each kind, "Kind 3", with the kind's name and its fill
 * outlook   litres, strength, alcohol and bottles of the mean cask, on the casks' own days
 * n_casks   per kind, full on the day of the answer
 * windows   of all casks of a kind together, cask_idx being the kind; the months are the casks' */
struct stv_report_kinds {
    struct stv_ledger ledger;
    struct stv_outlook outlook;
    size_t *n_casks;
    struct stv_bottling windows;
};

/* What the page is made of.  Everything is read only and stays the caller's.
 *
 * as_of_day_d   the day the answers speak of; "now" is the outlook's first day on or after it
 * outlook       n_casks as in the ledger; its days should be a year or less apart; ranges will do
 * trials        values for what is told trial by trial, of now and a year on: litres, strength,
 *               alcohol, bottles and losses; NULL: those of the outlook
 * kinds         NULL: each cask has its chart
 * months        the outlook whose days the windows' indices mean
 * gauges        n_gauges of them; cask_idx inside the ledger
 * set_aside     n_set_aside more, taken for slips: written in the table, in no chart
 * rules         NULL: no least-strength line, no bottle size in words
 * place_texts   one per cask of the ledger, or NULL
 * version       of the program, for the footer */
struct stv_report_input {
    const char *house_name;
    bool is_invented;
    int64_t as_of_day_d;
    struct stv_report_words first_screen; /* answers first */
    /* Sections in words; without lines the section says what is missing. */
    struct stv_report_words house, month, release, water, buying;
    const struct stv_crew_sheet *sheets; /* n_sheets, for the crew */
    size_t n_sheets;
    struct stv_report_words how_we_know;
    struct stv_report_words cautions;
    const struct stv_climate_result *climate; /* NULL: section says what is missing */
    const struct stv_climate_days *days;      /* NULL, or one per warehouse of climate */
    const struct stv_ledger *ledger;          /* NULL: no casks */
    /* Not NULL: a page without forecasts, of the ledger, the gauges and the climate.  Per cask of
     * the ledger the event that began what it holds; -1: it is empty. */
    const int *fill_idx;
    const struct stv_outlook *outlook;   /* years or months for the fan charts */
    const struct stv_fan_days *own_days; /* per cask, beside the outlook's; NULL: none */
    const struct stv_outlook *trials;
    const struct stv_report_kinds *kinds;
    const struct stv_outlook *months; /* the bottling outlook */
    const struct stv_bottling *bottling;
    const struct stv_report_gauge *gauges, *set_aside;
    size_t n_gauges, n_set_aside;
    const struct stv_told_figures *told_figures; /* NULL: none */
    const struct stv_store_paths *paths;         /* per warehouse of the climate; NULL: none */
    const struct stv_vapour_clock *vapour;       /* per warehouse of the climate; NULL: none */
    const struct stv_season_losses *losses;      /* per warehouse of the climate; NULL: none */
    const struct stv_sites_result *sites;        /* NULL: none */
    const struct stv_climate_result *site_climates;
    const struct stv_house_rules *rules;
    const char *const *place_texts; /* per cask: where it lies, in words */
    const char *version;
};

/* Charts of a report, without pictures until they are drawn (stv_charts_draw). */
struct stv_chart_list {
    struct stv_chart *charts;
    size_t n, room;
    enum stv_status status; /* worst so far, while it is filled */
};

/* Fills the charts that the report of this input has; start with all members zero and free it in
 * every case.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_chart_list_fill(struct stv_chart_list *list,
                                                   const struct stv_report_input *input);
/* The chart of a name, or NULL. */
struct stv_chart *stv_chart_list_find(const struct stv_chart_list *list, const char *name);
void stv_chart_list_free(struct stv_chart_list *list);

/* Writes FOLDER/index.html with its charts inside, and beside it charts/NAME.svg and
 * charts/NAME.csv.
 *
 * input    see above; the same input gives the same bytes, in every locale and at any time
 * folder   made with those above it where missing; earlier charts of a report in it that are not
 *          written anew are removed, other files are left alone
 * why      size bytes (at least 1): what went wrong, with the install line when gnuplot is missing
 *
 * Files are written under temporary names and renamed when all are written.
 * Errors: STV_E_PROGRAM  gnuplot missing or failed; the page is written all the same, with words
 *                        and tables in place of the charts that could not be drawn
 *         STV_E_IO       a file or folder could not be written; earlier files are as they were,
 *                        unless renaming itself failed half way
 *         STV_E_ARG      size 0 or an empty folder name
 *         STV_E_MEMORY
 * Memory: freed before it returns; peak about three times the size of the page. */
STV_MUST_CHECK enum stv_status stv_report_write(const struct stv_report_input *input,
                                                const char *folder, char *why, size_t size);

#endif
