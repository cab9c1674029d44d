/* Sentences made from the results, so that the page can be read without a chart or a table.
 * Losses: bottles first, then litres of pure alcohol, then litres. */
#include "plots/report_parts.h"

#include "plots/html.h"

#include <math.h>

/* 0.05 K for each metre is about 0.3 K over six tiers, a good logger's own error (assumed). */
#define LEAST_GRADIENT_K_M 0.05

/* "6,140 (5,980 to 6,290)". */
static void add_range(struct stv_text *text, struct stv_range range)
{
    stv_text_add_count(text, range.p50);
    if (!(range.p95 > range.p05))
        return;
    stv_text_add(text, " (");
    stv_text_add_count(text, range.p05);
    stv_text_add(text, " to ");
    stv_text_add_count(text, range.p95);
    stv_text_add(text, ")");
}

static struct stv_range total(const struct stv_report_input *input, enum stv_quantity quantity,
                              size_t day_idx)
{
    struct stv_range range;
    if (stv__report_total(input, quantity, day_idx, &range) != STV_OK)
        return stv_range_point(NAN);
    return range;
}

static struct stv_range total_drop(const struct stv_report_input *input, enum stv_quantity quantity,
                                   size_t day_idx, size_t later_idx)
{
    struct stv_range range;
    if (stv__report_total_drop(input, quantity, day_idx, later_idx, &range) != STV_OK)
        return stv_range_point(NAN);
    return range;
}

static void add_bottle(const struct stv_house_rules *rules, struct stv_text *text)
{
    if (rules == NULL)
        return;
    stv_text_add(text, " of ");
    stv_text_add_number(text, 100.0 * rules->bottle_l, 0);
    stv_text_add(text, " cl at ");
    stv_text_add_number(text, 100.0 * rules->bottling_abv20_frac, 1);
    stv_text_add(text, " %");
}

static void add_stock(const struct stv_report_input *input, size_t now, struct stv_text *text)
{
    size_t n_full = 0;
    for (size_t c = 0; c < input->outlook->n_casks; c++)
        n_full += stv__report_is_full(input->outlook, c, now);
    stv_text_add(text, "On ");
    stv_text_add_day(text, input->outlook->days_d[now]);
    stv_text_format(text, " %zu %s full. ", n_full, n_full == 1 ? "cask is" : "casks are");
    struct stv_range bottles = total(input, STV_Q_BOTTLES_ND, now);
    if (!isfinite(bottles.p50))
        return;
    stv_text_add(text, "If all were bottled that day: ");
    add_range(text, bottles);
    stv_text_add(text, " bottles");
    add_bottle(input->rules, text);
    stv_text_add(text, ". Pure alcohol in them: ");
    add_range(text, total(input, STV_Q_LPA_L, now));
    stv_text_add(text, " litres.");
}

static void add_loss(const struct stv_report_input *input, size_t now, struct stv_text *text)
{
    size_t next = stv__report_day_next(input), n_left_out = 0;
    if (next == STV_REPORT_NO_DAY || next == now)
        return;
    struct stv_range bottles = total_drop(input, STV_Q_BOTTLES_ND, now, next);
    if (!isfinite(bottles.p50))
        return;
    stv_text_add(text, "By ");
    stv_text_add_day(text, input->outlook->days_d[next]);
    stv_text_add(text, " air, joints, leaks and dry staves take about ");
    add_range(text, bottles);
    stv_text_add(text, " bottles: ");
    add_range(text, total_drop(input, STV_Q_LPA_L, now, next));
    stv_text_add(text, " litres of pure alcohol, ");
    add_range(text, total_drop(input, STV_Q_VOLUME20_L, now, next));
    stv_text_add(text, " litres of spirit");
    for (size_t c = 0; c < input->outlook->n_casks; c++)
        n_left_out += stv__report_is_full(input->outlook, c, now) &&
                      !stv__report_is_followed(input, c, now, next);
    if (n_left_out > 0)
        stv_text_format(
            text, "; %zu %s left out, for history.csv fills, pours or empties %s by then",
            n_left_out, n_left_out == 1 ? "cask is" : "casks are", n_left_out == 1 ? "it" : "them");
    stv_text_add(text, ".");
}

void stv__report_stock_words(const struct stv_report_input *input, struct stv_text *page)
{
    size_t now = stv__report_day_now(input);
    struct stv_text stock = {0}, loss = {0};
    add_stock(input, now, &stock);
    stv_html_paragraph(page, NULL, stv_text_string(&stock));
    add_loss(input, now, &loss);
    if (loss.n > 0)
        stv_html_paragraph(page, NULL, stv_text_string(&loss));
    stv_text_free(&stock);
    stv_text_free(&loss);
}

/* How the air changes with height; less than a logger can tell apart is called alike. */
static void add_gradient(double gradient_k_m, struct stv_text *text)
{
    if (!(fabs(gradient_k_m) >= LEAST_GRADIENT_K_M)) {
        stv_text_add(text, "the air is alike at every height");
        return;
    }
    stv_text_format(text, "the air is %s by ", gradient_k_m > 0.0 ? "warmer" : "cooler");
    stv_text_add_number(text, fabs(gradient_k_m), 2);
    stv_text_add(text, " °C for each metre up");
}

static void add_season(const struct stv_warehouse_climate *w, enum stv_season season,
                       struct stv_text *text)
{
    double bottom = w->tiers[0].seasons[season].liquid_mean_c;
    double top = w->tiers[w->n_tiers - 1].seasons[season].liquid_mean_c;
    stv_text_add(text, season == STV_SEASON_WARM ? "In the warm season (" : "In the cold season (");
    stv_chart_season_dates(text, &w->seasons[season]);
    stv_text_add(text, ") the cask is at ");
    stv_text_add_number(text, bottom, 1);
    stv_text_add(text, " °C");
    if (w->n_tiers > 1) {
        stv_text_format(text, " on tier 1 and ");
        stv_text_add_number(text, top, 1);
        stv_text_format(text, " °C on tier %zu; ", w->n_tiers);
        add_gradient(w->gradient_k_m[season], text);
    }
    stv_text_add(text, ". ");
}

void stv__report_climate_words(const struct stv_warehouse_climate *warehouse, struct stv_text *page)
{
    struct stv_text text = {0};
    if (warehouse->n_tiers == 0)
        return;
    add_season(warehouse, STV_SEASON_WARM, &text);
    add_season(warehouse, STV_SEASON_COLD, &text);
    if (isfinite(warehouse->air_change_mean_per_h)) {
        stv_text_add(&text, "The air changes ");
        stv_text_add_number(&text, warehouse->air_change_mean_per_h, 2);
        stv_text_add(&text, " times an hour on average.");
    }
    stv_html_paragraph(page, NULL, stv_text_string(&text));
    stv_text_free(&text);
}

void stv__report_windows_words(const struct stv_report_input *input, struct stv_text *page)
{
    size_t n_now = 0, n_with = 0;
    const struct stv_bottling *bottling = input->bottling;
    for (size_t i = 0; i < bottling->n_windows; i++) {
        n_with += bottling->windows[i].has_window != 0;
        n_now += bottling->windows[i].has_window != 0 && bottling->windows[i].open_idx == 0;
    }
    struct stv_text text = {0};
    stv_text_format(&text, "%zu of %zu casks have a bottling window in the months from ", n_with,
                    bottling->n_windows);
    stv_text_add_month(&text, input->months->days_d[0]);
    stv_text_add(&text, " to ");
    stv_text_add_month(&text, input->months->days_d[input->months->n_days - 1]);
    stv_text_format(&text, "; %zu of them %s open at the start.", n_now, n_now == 1 ? "is" : "are");
    stv_html_paragraph(page, NULL, stv_text_string(&text));
    stv_text_free(&text);
}
