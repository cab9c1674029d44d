/* What the chart of predicted against measured says: table, words, note. */
#include "plots/chart_gauges_parts.h"
#include "plots/quote.h"

#include <math.h>

#define FAR_MOST 6 /* told in the note */

const struct stv__gauged stv__gauged[STV_GAUGED_N] = {
    [STV_GAUGED_LITRES] = {"litres", "Litres measured, % of the cask's size", "litres told, %", "L",
                           1.0, 1},
    [STV_GAUGED_STRENGTH] = {"strength", "% vol measured", "% vol told", "% vol", 100.0, 1},
};

void stv__gauges_table(const struct stv__gauges *gauges, struct stv_chart *chart)
{
    static const char *const heads[] = {"cask",     "wood",    "size_l",     "day",      "figure",
                                        "unit",     "told",    "told_p05",   "told_p95", "measured",
                                        "error_sd", "is_miss", "is_left_out"};
    struct stv_sheet *table = &chart->table;
    stv_sheet_heads(table, heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < gauges->told->n; i++) {
        const struct stv_told_figure *f = &gauges->told->figures[i];
        const struct stv__gauged *what = &stv__gauged[f->what];
        const double numbers[] = {f->told, f->told_p05, f->told_p95, f->measured, f->measured_sd};
        struct stv_text day = {0};
        stv_text_add_iso_day(&day, f->day_d);
        stv_sheet_add_text(table, f->cask_id);
        stv_sheet_add_text(table, stv_wood_history_name(f->wood));
        stv_sheet_add_number(table, f->capacity_l, 0);
        stv_sheet_add_text(table, stv_text_string(&day));
        stv_sheet_add_text(table, what->key);
        stv_sheet_add_text(table, what->unit);
        for (size_t k = 0; k < sizeof numbers / sizeof numbers[0]; k++)
            stv_sheet_add_number(table, what->factor_nd * numbers[k], what->n_decimals);
        stv_sheet_add_text(table, f->is_miss ? "yes" : "no");
        stv_sheet_add_text(table, f->is_left_out ? "yes" : "no");
        stv_text_free(&day);
    }
}

/* "190.5 for 201.2 L" */
static void add_measured_for_told(const struct stv_told_figure *f, struct stv_text *out)
{
    const struct stv__gauged *what = &stv__gauged[f->what];
    stv_text_add_number(out, what->factor_nd * f->measured, what->n_decimals);
    stv_text_add(out, " for ");
    stv_text_add_number(out, what->factor_nd * f->told, what->n_decimals);
    stv_text_format(out, " %s", what->unit);
}

/* "Litres: 279 measured, 275 within what 9 in 10 were to; the largest misses: cask 47 190.5 for
 * 201.2." */
static void add_what_words(const struct stv__gauges *gauges, enum stv_gauged what,
                           struct stv_text *words)
{
    double below = INFINITY;
    if (gauges->n_known[what] == 0)
        return;
    stv_text_format(words, " Of %zu figures of %s, %zu lie inside the range of nine in ten",
                    gauges->n_known[what], stv__gauged[what].key,
                    gauges->n_known[what] - gauges->n_misses[what]);
    for (int i = 0; i < 3; i++) {
        const struct stv_told_figure *f = stv__gauge_next_miss(gauges, what, below);
        if (f == NULL)
            break;
        below = stv__gauge_miss_size(f);
        stv_text_format(words, "%s cask %s ", i == 0 ? "; the largest misses:" : ",", f->cask_id);
        add_measured_for_told(f, words);
    }
    stv_text_add(words, ".");
}

/* "Beyond the axes, with an arrow and without strokes: cask E1 22.0 for 20.0 L." */
static void add_far_words(const struct stv__gauges *gauges, struct stv_text *note)
{
    size_t n = 0;
    for (int what = 0; what < STV_GAUGED_N; what++)
        for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
            const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
            if (!stv__gauge_is_far(gauges, f) || n++ >= FAR_MOST)
                continue;
            stv_text_add(note, n == 1 ? " Beyond the axes, with an arrow and without strokes: cask "
                                      : ", cask ");
            stv_quote_clean_id(note, f->cask_id, STV__GAUGE_ID_CHARS);
            stv_text_add(note, " ");
            add_measured_for_told(f, note);
        }
    if (n > FAR_MOST)
        stv_text_format(note, ", and %zu more", n - FAR_MOST);
    stv_text_add(note, n > 0 ? "." : "");
}

void stv__gauges_words(const struct stv__gauges *gauges, struct stv_chart *chart)
{
    bool is_thinned = false;
    stv_text_add(&chart->words, gauges->told->is_then
                                    ? "Gauges against what was told of them from the gauges of "
                                      "earlier days alone."
                                    : "The last gauge of each full cask against a forecast that "
                                      "no gauge has moved.");
    for (int w = 0; w < STV_GAUGED_N; w++) {
        add_what_words(gauges, (enum stv_gauged)w, &chart->words);
        is_thinned |= gauges->n_drawn[w] < gauges->n_known[w];
    }
    stv_text_add(&chart->note,
                 "On the sloping line a figure is what was told. Lying stroke: what was told, "
                 "nine in ten; upright stroke: the gauge, likewise. Filled, with the cask's id: "
                 "outside by more than both account for; look there for a leak or a slip.");
    add_far_words(gauges, &chart->note);
    if (gauges->told->is_then)
        stv_text_add(&chart->note, " Told each time from earlier days alone; the lying stroke has "
                                   "the gauge's own error in it.");
    else
        stv_text_add(&chart->note, " Nothing was learned from these gauges yet: run learn.");
    if (is_thinned)
        stv_text_add(&chart->note, " Of many figures inside their range only some are drawn, of "
                                   "many misses the largest; the table has all.");
}

void stv__gauges_subtitle(const struct stv__gauges *gauges, struct stv_text *out)
{
    int64_t first_d = INT64_MAX, last_d = INT64_MIN;
    for (size_t i = 0; i < gauges->told->n; i++) {
        int64_t day_d = gauges->told->figures[i].day_d;
        first_d = day_d < first_d ? day_d : first_d;
        last_d = day_d > last_d ? day_d : last_d;
    }
    stv_text_format(out, "%zu figures, ",
                    gauges->n_known[STV_GAUGED_LITRES] + gauges->n_known[STV_GAUGED_STRENGTH]);
    stv_text_add_month(out, first_d);
    stv_text_add(out, " to ");
    stv_text_add_month(out, last_d);
    stv_text_add(out,
                 gauges->told->is_then ? "; told from earlier gauges" : "; told without any gauge");
}
