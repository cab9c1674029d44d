/* Tables of racks and sites.  Percent, one-based tiers and dates are made here from the model's
 * fractions, indices and days of the year; nothing else is computed but ratios to a reference. */
#include "plots/report_parts.h"

#include "model/calendar.h"
#include "plots/sheet.h"

#include <math.h>
#include <stdio.h>

#define HOURS_PER_DAY 24.0
#define NO_BREAK_SPACE "\xC2\xA0"

/* "23 Apr" of a 365-day year; "-" when it never comes. */
static void add_day_of_year(struct stv_sheet *table, int doy)
{
    struct stv_text text = {0};
    if (doy < 0)
        stv_text_add(&text, "-");
    else
        stv_chart_day_of_year(&text, doy);
    struct stv_text joined = {0}; /* a date must not be parted at a cell's edge */
    for (size_t i = 0; i < text.n; i++) {
        if (text.bytes[i] == ' ')
            stv_text_add(&joined, NO_BREAK_SPACE);
        else
            stv_text_add_bytes(&joined, &text.bytes[i], 1);
    }
    stv_sheet_add_text(table, stv_text_string(&joined));
    stv_text_free(&joined);
    stv_text_free(&text);
}

static void add_place(struct stv_sheet *table, const struct stv_place *place)
{
    struct stv_text text = {0};
    stv_text_format(&text, "%d", place->tier_idx + 1);
    if (place->bay_idx >= 0)
        stv_text_format(&text, ", bay %d", place->bay_idx + 1);
    if (place->bay_idx >= 0 && place->depth_idx >= 0)
        stv_text_format(&text, ", row %d", place->depth_idx + 1);
    stv_sheet_add_text(table, stv_text_string(&text));
    stv_text_free(&text);
}

static void add_metrics(struct stv_sheet *table, const struct stv_position_metrics *m)
{
    const struct stv_season_metrics *warm = &m->seasons[STV_SEASON_WARM];
    const struct stv_season_metrics *cold = &m->seasons[STV_SEASON_COLD];
    const struct stv_season_metrics *year = &m->seasons[STV_SEASON_YEAR];
    add_place(table, &m->place);
    stv_sheet_add_number(table, warm->liquid_mean_c, 1);
    stv_sheet_add_number(table, m->warmest_month_c, 1);
    stv_sheet_add_number(table, cold->liquid_mean_c, 1);
    stv_sheet_add_number(table, warm->liquid_swing_k, 1);
    stv_sheet_add_number(table, year->cool_hours_h / HOURS_PER_DAY, 0);
    stv_sheet_add_number(table, 100.0 * warm->rh_mean_frac, 0);
    stv_sheet_add_number(table, 100.0 * cold->rh_mean_frac, 0);
    add_day_of_year(table, m->waking_doy);
    add_day_of_year(table, m->quiet_doy);
    stv_sheet_add_number(table, 100.0 * m->measured_frac, 0);
}

static void add_positions_table(const struct stv_warehouse_climate *w, struct stv_text *page)
{
    static const char *const heads[] = {"tier",
                                        "warm, in the cask, °C",
                                        "warmest month, °C",
                                        "cold, in the cask, °C",
                                        "warm, swing in a day, °C",
                                        "cool days a year",
                                        "warm, humidity %",
                                        "cold, humidity %",
                                        "wakes",
                                        "quiet again",
                                        "measured, % of hours"};
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t t = w->n_tiers; t-- > 0;)
        add_metrics(&table, &w->tiers[t]);
    for (size_t b = 0; b < w->n_bays; b++)
        add_metrics(&table, &w->bays[b]);
    stv_sheet_html(&table, "Places, top tier first, then bays with a logger of their own", page);
    stv_sheet_free(&table);
}

/* Per cent of the reference tier's figure; NaN where that is zero or unknown. */
static double against_pct(double value, double reference)
{
    return reference > 0.0 || reference < 0.0 ? 100.0 * value / reference : (double)NAN;
}

static void add_year_table(const struct stv_warehouse_climate *w, struct stv_text *page)
{
    static const char *const heads[] = {"tier",
                                        "litres lost, % a year",
                                        "alcohol lost, kg a cask",
                                        "change of strength, % points a year",
                                        "wood, %",
                                        "alcohol lost, %",
                                        "still fruit fading, %"};
    size_t middle = (w->n_tiers - 1) / 2;
    const struct stv_season_metrics *reference = &w->tiers[middle].seasons[STV_SEASON_YEAR];
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t t = w->n_tiers; t-- > 0;) {
        const struct stv_season_metrics *m = &w->tiers[t].seasons[STV_SEASON_YEAR];
        stv_sheet_add_number(&table, (double)(t + 1), 0);
        stv_sheet_add_number(&table, 100.0 * m->evaporation_frac_per_y, 1);
        stv_sheet_add_number(&table, m->ethanol_lost_kg_per_y, 2);
        stv_sheet_add_number(&table, 100.0 * m->abv20_drift_frac_per_y, 2);
        stv_sheet_add_number(&table,
                             against_pct(m->extraction_rel_nd, reference->extraction_rel_nd), 0);
        stv_sheet_add_number(
            &table, against_pct(m->ethanol_lost_kg_per_y, reference->ethanol_lost_kg_per_y), 0);
        stv_sheet_add_number(&table,
                             against_pct(m->fruit_fading_per_y, reference->fruit_fading_per_y), 0);
    }
    char caption[160];
    snprintf(
        caption, sizeof caption,
        "A year of a 200 L cask filled at 60 %%; the last three columns against tier %zu = 100",
        middle + 1);
    stv_sheet_html(&table, caption, page);
    stv_sheet_free(&table);
}

void stv__report_climate_tables(const struct stv_warehouse_climate *warehouse,
                                struct stv_text *page)
{
    add_positions_table(warehouse, page);
    if (warehouse->n_tiers > 0)
        add_year_table(warehouse, page);
}

/* How a metric of the site comparison is shown. */
struct metric {
    const char *name, *unit;
    double factor_nd;
    int n_decimals;
};

static const struct metric site_metrics[STV_SITE_METRIC_N] = {
    {"litres lost", "% of the fill", 100.0, 1},   {"alcohol lost", "% of the fill", 100.0, 1},
    {"change of strength", "% points", 100.0, 2}, {"wood", "of the first site", 1.0, 2},
    {"still fruit left", "of 1", 1.0, 2},
};

static void add_sites_table(const struct stv_sites_result *sites, struct stv_text *page)
{
    static const char *const heads[] = {"site",
                                        "years",
                                        "litres lost, % of the fill",
                                        "alcohol lost, % of the fill",
                                        "change of strength, % points",
                                        "wood, first site = 1",
                                        "still fruit left, of 1"};
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t s = 0; s < sites->n_sites; s++) {
        const struct stv_site_years *site = &sites->sites[s];
        stv_sheet_add_text(&table, site->name);
        stv_sheet_add_number(&table, (double)site->n_years, 0);
        for (size_t m = 0; m < STV_SITE_METRIC_N; m++)
            stv_sheet_add_range(&table,
                                stv_range_scaled(site->metric[m], site_metrics[m].factor_nd),
                                site_metrics[m].n_decimals);
    }
    stv_sheet_html(&table,
                   "A cask's first year at each site: middle, and range of nine in ten over "
                   "years and trials",
                   page);
    stv_sheet_free(&table);
}

static const char *verdict_text(enum stv_verdict verdict)
{
    switch (verdict) {
    case STV_VERDICT_MORE:
        return "more at the first";
    case STV_VERDICT_LESS:
        return "less at the first";
    case STV_VERDICT_SAME:
        return "indistinguishable, inside the margin";
    case STV_VERDICT_UNSURE:
        break;
    }
    return "cannot be told apart";
}

static void add_pair_row(struct stv_sheet *table, const struct stv_sites_result *sites,
                         const struct stv_site_pair *pair, size_t m)
{
    const struct metric *shown = &site_metrics[m];
    struct stv_text pair_text = {0}, what = {0}, years = {0};
    stv_text_format(&pair_text, "%s and %s", sites->sites[pair->a_idx].name,
                    sites->sites[pair->b_idx].name);
    stv_text_format(&what, "%s, %s", shown->name, shown->unit);
    stv_text_format(&years, "%zu of %zu", pair->metric[m].n_years_more, pair->n_common_years);
    stv_sheet_add_text(table, stv_text_string(&pair_text));
    stv_sheet_add_text(table, stv_text_string(&what));
    stv_sheet_add_text(table, verdict_text(pair->metric[m].verdict));
    stv_sheet_add_range(table, stv_range_scaled(pair->metric[m].spread, shown->factor_nd),
                        shown->n_decimals);
    stv_sheet_add_text(table, stv_text_string(&years));
    stv_sheet_add_number(table, shown->factor_nd * sites->margin[m], shown->n_decimals);
    stv_text_free(&pair_text);
    stv_text_free(&what);
    stv_text_free(&years);
}

static void add_pairs_table(const struct stv_sites_result *sites, struct stv_text *page)
{
    static const char *const heads[] = {"first and second site",
                                        "what",
                                        "verdict",
                                        "first less second",
                                        "years in which the first has more",
                                        "margin set beforehand"};
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t p = 0; p < sites->n_pairs; p++)
        for (size_t m = 0; m < STV_SITE_METRIC_N; m++)
            if (isfinite(sites->pairs[p].metric[m].spread.p50))
                add_pair_row(&table, sites, &sites->pairs[p], m);
    if (stv_sheet_n_rows(&table) > 0)
        stv_sheet_html(&table, "Two by two, same years and same trials", page);
    stv_sheet_free(&table);
}

static void add_site_climates_table(const struct stv_climate_result *climates,
                                    struct stv_text *page)
{
    static const char *const heads[] = {"site",
                                        "tier",
                                        "warm, in the cask, °C",
                                        "cold, in the cask, °C",
                                        "warm, humidity %",
                                        "cold, humidity %",
                                        "litres lost, % a year",
                                        "cool days a year"};
    struct stv_sheet table = {0};
    stv_sheet_heads(&table, heads, sizeof heads / sizeof heads[0]);
    for (size_t w = 0; w < climates->n_warehouses; w++)
        for (size_t t = 0; t < climates->warehouses[w].n_tiers; t++) {
            const struct stv_position_metrics *m = &climates->warehouses[w].tiers[t];
            stv_sheet_add_text(&table, climates->warehouses[w].name);
            stv_sheet_add_number(&table, m->place.tier_idx + 1, 0);
            stv_sheet_add_number(&table, m->seasons[STV_SEASON_WARM].liquid_mean_c, 1);
            stv_sheet_add_number(&table, m->seasons[STV_SEASON_COLD].liquid_mean_c, 1);
            stv_sheet_add_number(&table, 100.0 * m->seasons[STV_SEASON_WARM].rh_mean_frac, 0);
            stv_sheet_add_number(&table, 100.0 * m->seasons[STV_SEASON_COLD].rh_mean_frac, 0);
            stv_sheet_add_number(&table, 100.0 * m->seasons[STV_SEASON_YEAR].evaporation_frac_per_y,
                                 1);
            stv_sheet_add_number(&table, m->seasons[STV_SEASON_YEAR].cool_hours_h / HOURS_PER_DAY,
                                 0);
        }
    stv_sheet_html(&table, "What the cask would live in", page);
    stv_sheet_free(&table);
}

void stv__report_sites_tables(const struct stv_report_input *input, struct stv_text *page)
{
    add_sites_table(input->sites, page);
    add_pairs_table(input->sites, page);
    if (input->site_climates != NULL && input->site_climates->n_warehouses > 0)
        add_site_climates_table(input->site_climates, page);
}
