/* Casks by the ledger and the gauges alone: where they lie, what was filled in, and what was
 * measured since, reduced to 20 C.  Nothing here is forecast. */
#include "plots/report_parts.h"

#include "plots/html.h"
#include "plots/sheet.h"

#include <math.h>

static void add_day(struct stv_sheet *table, int64_t day_d)
{
    struct stv_text text = {0};
    stv_text_add_iso_day(&text, day_d);
    stv_sheet_add_text(table, stv_text_string(&text));
    stv_text_free(&text);
}

static void add_amount(struct stv_sheet *table, double volume20_l, double abv20_frac)
{
    stv_sheet_add_number(table, volume20_l, 1);
    stv_sheet_add_number(table, 100.0 * abv20_frac, 1);
}

/* The last gauge of a cask since a day, up to the day of the answer; NULL: none. */
static const struct stv_report_gauge *last_gauge(const struct stv_report_input *input,
                                                 size_t cask_idx, int64_t from_d)
{
    const struct stv_report_gauge *last = NULL;
    for (size_t g = 0; g < input->n_gauges; g++) {
        const struct stv_report_gauge *gauge = &input->gauges[g];
        if (gauge->cask_idx == (int)cask_idx && gauge->day_d >= from_d &&
            gauge->day_d <= input->as_of_day_d && (last == NULL || gauge->day_d >= last->day_d))
            last = gauge;
    }
    return last;
}

static void add_cask(const struct stv_report_input *input, size_t cask_idx, struct stv_sheet *table)
{
    const struct stv_cask *cask = &input->ledger->casks[cask_idx];
    const struct stv_event *fill = &input->ledger->events[input->fill_idx[cask_idx]];
    const struct stv_report_gauge *gauge = last_gauge(input, cask_idx, fill->day_d);
    bool is_fill = fill->kind == STV_EVENT_FILL;
    stv_sheet_add_text(table, cask->id);
    stv_sheet_add_text(table, cask->kind_name);
    stv_sheet_add_text(table, input->place_texts == NULL ? "" : input->place_texts[cask_idx]);
    add_day(table, fill->day_d);
    add_amount(table, is_fill ? fill->volume20_l : (double)NAN,
               is_fill ? fill->abv20_frac : (double)NAN);
    if (gauge == NULL) {
        for (int i = 0; i < 3; i++)
            stv_sheet_add_text(table, "");
        return;
    }
    add_day(table, gauge->day_d);
    add_amount(table, gauge->volume20_l, gauge->abv20_frac);
}

static void add_casks_table(const struct stv_report_input *input, struct stv_text *page)
{
    static const char *const heads[] = {"cask",
                                        "kind",
                                        "lies",
                                        "filled",
                                        "litres filled",
                                        "strength filled, %",
                                        "last gauge used",
                                        "litres gauged",
                                        "strength gauged, %"};
    struct stv_sheet table = {0};
    struct stv_text caption = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t c = 0; c < input->ledger->n_casks; c++)
        if (input->fill_idx[c] >= 0)
            add_cask(input, c, &table);
    stv_text_add(&caption, "Full casks on ");
    stv_text_add_day(&caption, input->as_of_day_d);
    stv_text_add(&caption, ", as they were filled and last gauged");
    stv_sheet_html(&table, stv_text_string(&caption), page);
    stv_text_free(&caption);
    stv_sheet_free(&table);
}

static void add_gauge_rows(const struct stv_report_input *input, bool is_set_aside,
                           struct stv_sheet *table)
{
    const struct stv_report_gauge *gauges = is_set_aside ? input->set_aside : input->gauges;
    size_t n = is_set_aside ? input->n_set_aside : input->n_gauges;
    for (size_t g = 0; g < n; g++) {
        if (gauges[g].day_d > input->as_of_day_d)
            continue;
        stv_sheet_add_text(table, input->ledger->casks[gauges[g].cask_idx].id);
        add_day(table, gauges[g].day_d);
        add_amount(table, gauges[g].volume20_l, gauges[g].abv20_frac);
        stv_sheet_add_text(table, gauges[g].litres_of);
        stv_sheet_add_text(table, gauges[g].strength_of);
        if (input->n_set_aside > 0)
            stv_sheet_add_text(table, is_set_aside ? "not used, see check" : "");
    }
}

static void add_gauges_table(const struct stv_report_input *input, struct stv_text *page)
{
    static const char *const heads[] = {"cask",      "date",        "litres", "strength, %",
                                        "litres of", "strength of", "remark"};
    size_t n_heads = sizeof heads / sizeof heads[0];
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, input->n_set_aside > 0 ? n_heads : n_heads - 1);
    add_gauge_rows(input, false, &table);
    add_gauge_rows(input, true, &table);
    if (stv_sheet_n_rows(&table) > 0)
        stv_sheet_html(&table, "Gauges, reduced to 20 °C and true strength from what was typed",
                       page);
    else
        stv_html_paragraph(page, NULL, "No cask was gauged yet.");
    stv_sheet_free(&table);
}

void stv__report_ledger_tables(const struct stv_report_input *input, struct stv_text *page)
{
    size_t n_full = 0;
    for (size_t c = 0; c < input->ledger->n_casks; c++)
        n_full += input->fill_idx[c] >= 0;
    if (n_full == 0) {
        stv_html_paragraph(page, NULL, "No cask is full: casks.csv and history.csv name none.");
        return;
    }
    add_casks_table(input, page);
    add_gauges_table(input, page);
}
