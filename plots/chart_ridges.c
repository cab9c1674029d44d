/* Ridgelines: for every tier the share of hours at each temperature of the liquid, warm season
 * over cold on one common axis, the floor at the bottom.  All ridges have one vertical scale, so
 * areas can be compared.  The warm season has a solid edge, the cold one a dashed edge; a short
 * upright line stands at each middle value.  The shares come as they are; nothing is smoothed. */
#include "plots/charts.h"

#include <math.h>
#include <stdio.h>

#define ROW_PX 40.0
#define ROW_SMALL_PX 26.0
#define ROWS_LARGE 12
#define BIN_MERGE_ROWS 14     /* above this, two bins are drawn as one to keep the file small */
#define RIDGE_ROWS 1.3        /* height of the highest ridge, in rows */
#define MIDDLE_ROWS_MOST 0.45 /* keeps the marks of neighbours apart where tiers are alike */
#define LABEL_PX 130.0        /* width of "warm season" and a gap */
#define LABEL_GAP_PX 4.0
#define LEFT_PX 70.0
#define RIGHT_PX 662.0
#define TOP_PX 88.0
#define BELOW_PX 68.0
#define LEAST_BINS 12 /* an axis of 6 K, so that it has a number and air of one heat a hill */
#define LEAST_SHARE_FRAC 1e-4 /* under an hour a year: left out of the axis */

struct ridges {
    const struct stv_warehouse_climate *warehouse;
    double highest_frac; /* share of the fullest bin drawn */
    size_t first_bin, last_bin, n_merged;
};

/* Mean share of the merged bins that start at `bin`. */
static double share_at(const struct ridges *ridges, size_t tier, int season, size_t bin)
{
    const double *shares = ridges->warehouse->tiers[tier].liquid_histogram_frac[season];
    double sum = 0.0;
    for (size_t i = bin; i < bin + ridges->n_merged; i++)
        sum += i < STV_HISTOGRAM_BINS ? shares[i] : 0.0;
    return sum / (double)ridges->n_merged;
}

static double bin_left_c(size_t bin)
{
    return STV_HISTOGRAM_FROM_C + (double)bin * STV_HISTOGRAM_STEP_K;
}

static void find_extent(struct ridges *ridges)
{
    const struct stv_warehouse_climate *w = ridges->warehouse;
    ridges->n_merged = w->n_tiers > BIN_MERGE_ROWS ? 2 : 1;
    ridges->first_bin = STV_HISTOGRAM_BINS;
    for (size_t t = 0; t < w->n_tiers; t++)
        for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
            for (size_t b = 0; b < STV_HISTOGRAM_BINS; b += ridges->n_merged) {
                double share = share_at(ridges, t, s, b);
                if (!(share > LEAST_SHARE_FRAC))
                    continue;
                ridges->highest_frac = fmax(ridges->highest_frac, share);
                ridges->first_bin = b < ridges->first_bin ? b : ridges->first_bin;
                ridges->last_bin = b > ridges->last_bin ? b : ridges->last_bin;
            }
}

/* Air that is nearly constant falls into a bin or two: the axis reaches out on both sides. */
static void widen(struct ridges *ridges)
{
    size_t step = ridges->n_merged;
    while (ridges->last_bin - ridges->first_bin < LEAST_BINS) {
        ridges->first_bin -= ridges->first_bin >= step ? step : 0;
        ridges->last_bin += ridges->last_bin + step < STV_HISTOGRAM_BINS ? step : 0;
    }
}

static double height_rows(const struct ridges *ridges, double share)
{
    return RIDGE_ROWS * share / ridges->highest_frac;
}

/* One ridge as x, top, base; returns how many points it has. */
static size_t add_ridge(const struct ridges *ridges, struct stv_chart *chart, size_t tier,
                        int season)
{
    double base = (double)tier;
    size_t n = 0;
    double previous = 0.0;
    for (size_t b = ridges->first_bin; b <= ridges->last_bin + ridges->n_merged;
         b += ridges->n_merged) {
        double share = share_at(ridges, tier, season, b);
        double next = share_at(ridges, tier, season, b + ridges->n_merged);
        bool is_part = share > 0.0 || previous > 0.0 || next > 0.0;
        previous = share;
        if (!is_part)
            continue;
        double middle_c = bin_left_c(b) + 0.5 * (double)ridges->n_merged * STV_HISTOGRAM_STEP_K;
        const double row[] = {middle_c, base + height_rows(ridges, share), base};
        stv_chart_row(chart, row, 3);
        n++;
    }
    stv_chart_row(chart, NULL, 0);
    return n;
}

/* All ridges of a season, the top tier at the back.  One layer for all keeps the file small. */
static void add_ridges(const struct ridges *ridges, struct stv_chart *chart, int season)
{
    size_t block = stv_chart_block(chart);
    size_t n = 0;
    for (size_t t = ridges->warehouse->n_tiers; t-- > 0;)
        n += add_ridge(ridges, chart, t, season);
    if (n == 0)
        return;
    bool is_warm = season == STV_SEASON_WARM;
    stv_chart_layer(chart, block,
                    is_warm ? "using 1:2:3 with filledcurves fs transparent solid 0.6 noborder lc "
                              "rgb '" STV_COLOUR_WARM "'"
                            : "using 1:2:3 with filledcurves fs transparent solid 0.6 noborder lc "
                              "rgb '" STV_COLOUR_COLD "'");
    stv_chart_layer(chart, block,
                    is_warm ? "using 1:2 with lines lw 1.5 dt solid lc rgb '#7a3600'"
                            : "using 1:2 with lines lw 1.5 dt (4,3) lc rgb '#003f63'");
}

/* Upright mark on the base at the middle value, no higher than the ridge there. */
static void add_middle(const struct ridges *ridges, struct stv_chart *chart, size_t tier,
                       int season)
{
    double middle_c = ridges->warehouse->tiers[tier].seasons[season].liquid_p50_c;
    double place = (middle_c - STV_HISTOGRAM_FROM_C) / STV_HISTOGRAM_STEP_K;
    if (!(place >= 0.0 && place < STV_HISTOGRAM_BINS))
        return;
    size_t bin = (size_t)place - (size_t)place % ridges->n_merged;
    double ridge = height_rows(ridges, share_at(ridges, tier, season, bin));
    const double rows[2][2] = {{middle_c, (double)tier},
                               {middle_c, (double)tier + fmin(MIDDLE_ROWS_MOST, ridge)}};
    stv_chart_row(chart, rows[0], 2);
    stv_chart_row(chart, rows[1], 2);
    stv_chart_row(chart, NULL, 0);
}

static void add_middles(const struct ridges *ridges, struct stv_chart *chart)
{
    size_t block = stv_chart_block(chart);
    size_t before = chart->data.n;
    for (size_t t = 0; t < ridges->warehouse->n_tiers; t++)
        for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
            add_middle(ridges, chart, t, s);
    if (chart->data.n > before)
        stv_chart_layer(chart, block, "using 1:2 with lines lw 2.5 lc rgb '#000000'");
}

/* "warm" and "cold" stand over the top tier's ridges, side by side where those lie close. */
static void add_season_label(const struct ridges *ridges, struct stv_chart *chart, int season)
{
    size_t top = ridges->warehouse->n_tiers - 1;
    const struct stv_season_metrics *seasons = ridges->warehouse->tiers[top].seasons;
    double middle_c = seasons[season].liquid_p50_c;
    double apart_k = seasons[STV_SEASON_WARM].liquid_p50_c - seasons[STV_SEASON_COLD].liquid_p50_c;
    double span_k = bin_left_c(ridges->last_bin + ridges->n_merged) - bin_left_c(ridges->first_bin);
    bool is_close = fabs(apart_k) * (RIGHT_PX - LEFT_PX) < LABEL_PX * span_k;
    bool is_warm = season == STV_SEASON_WARM;
    double gap_k = is_close ? LABEL_GAP_PX * span_k / (RIGHT_PX - LEFT_PX) : 0.0;
    double high = (double)top;
    for (size_t b = 0; b < STV_HISTOGRAM_BINS; b += ridges->n_merged)
        high = fmax(high, (double)top + height_rows(ridges, share_at(ridges, top, season, b)));
    if (isfinite(middle_c))
        stv_chart_label(chart, &(struct stv_chart_label){
                                   is_warm ? "warm season" : "cold season",
                                   middle_c + (is_warm ? gap_k : -gap_k), high + 0.28, "first",
                                   !is_close ? "center"
                                   : is_warm ? "left"
                                             : "right",
                                   is_warm ? STV_COLOUR_WARM : STV_COLOUR_COLD, 0});
}

static void add_tiers(const struct ridges *ridges, struct stv_chart *chart)
{
    const struct stv_warehouse_climate *w = ridges->warehouse;
    stv_text_add(&chart->script, "set ytics (");
    for (size_t t = 0; t < w->n_tiers; t++)
        stv_text_format(&chart->script, "%s'tier %zu' %zu", t == 0 ? "" : ", ", t + 1, t);
    stv_text_add(&chart->script, ")\nset ytics scale 0\n");
    add_ridges(ridges, chart, STV_SEASON_COLD);
    add_ridges(ridges, chart, STV_SEASON_WARM);
    add_middles(ridges, chart);
}

static void fill_table(const struct ridges *ridges, struct stv_chart *chart)
{
    static const char *const heads[] = {"warehouse", "tier", "season",
                                        "from_c",    "to_c", "hours_pct"};
    static const char *const season_names[] = {"warm", "cold"};
    const struct stv_warehouse_climate *w = ridges->warehouse;
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t t = 0; t < w->n_tiers; t++)
        for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
            for (size_t b = 0; b < STV_HISTOGRAM_BINS; b++) {
                double share = w->tiers[t].liquid_histogram_frac[s][b];
                if (!(share > 0.0))
                    continue;
                stv_sheet_add_text(&chart->table, w->name);
                stv_sheet_add_number(&chart->table, (double)(t + 1), 0);
                stv_sheet_add_text(&chart->table, season_names[s]);
                stv_sheet_add_number(&chart->table, bin_left_c(b), 1);
                stv_sheet_add_number(&chart->table, bin_left_c(b + 1), 1);
                stv_sheet_add_number(&chart->table, 100.0 * share, 2);
            }
}

static void add_tier_words(const struct ridges *ridges, struct stv_text *words, size_t tier)
{
    const struct stv_season_metrics *m = ridges->warehouse->tiers[tier].seasons;
    stv_text_format(words, " Tier %zu: warm season middle ", tier + 1);
    stv_text_add_number(words, m[STV_SEASON_WARM].liquid_p50_c, 1);
    stv_text_add(words, " °C (9 hours in 10 between ");
    stv_text_add_number(words, m[STV_SEASON_WARM].liquid_p05_c, 1);
    stv_text_add(words, " and ");
    stv_text_add_number(words, m[STV_SEASON_WARM].liquid_p95_c, 1);
    stv_text_add(words, "), cold season middle ");
    stv_text_add_number(words, m[STV_SEASON_COLD].liquid_p50_c, 1);
    stv_text_add(words, " °C.");
}

static void add_words(const struct ridges *ridges, struct stv_chart *chart)
{
    size_t n = ridges->warehouse->n_tiers;
    stv_text_format(&chart->words,
                    "How the hours of the two seasons are spread over temperature in the "
                    "cask, tier by tier in %s.",
                    ridges->warehouse->name);
    add_tier_words(ridges, &chart->words, n - 1);
    if (n > 1)
        add_tier_words(ridges, &chart->words, 0);
    stv_text_add(&chart->note,
                 "The higher the hill, the more hours at that temperature. Solid edge: "
                 "warm season; dashed edge: cold season; upright line: the middle.");
}

enum stv_status stv_chart_ridges(const struct stv_warehouse_climate *warehouse, size_t number,
                                 bool is_invented, struct stv_chart *out)
{
    struct ridges ridges = {.warehouse = warehouse};
    find_extent(&ridges);
    if (!(ridges.highest_frac > 0.0))
        return STV_E_NO_DATA;
    widen(&ridges);
    char name[STV_CHART_NAME_MAX];
    snprintf(name, sizeof name, "ridges-%zu", number);
    struct stv_text subtitle = {0};
    stv_text_add(&subtitle, warehouse->name);
    stv_chart_add_years(&subtitle, warehouse);
    double row_px = warehouse->n_tiers <= ROWS_LARGE ? ROW_PX : ROW_SMALL_PX;
    double rows = (double)warehouse->n_tiers + RIDGE_ROWS;
    int height = (int)(TOP_PX + row_px * rows + BELOW_PX);
    stv_chart_begin(out,
                    &(struct stv_chart_frame){name, "Hours at each temperature in the cask",
                                              stv_text_string(&subtitle), height, is_invented});
    stv_text_free(&subtitle);
    stv_chart_panel(out, LEFT_PX, RIGHT_PX, TOP_PX, height - BELOW_PX);
    stv_chart_axis(out, 'x', bin_left_c(ridges.first_bin),
                   bin_left_c(ridges.last_bin + ridges.n_merged));
    stv_chart_axis(out, 'y', -0.15, rows - 0.45);
    stv_text_add(&out->script, "set xtics 5 offset 0,0.35\n");
    stv_chart_label(out, &(struct stv_chart_label){"temperature in the cask, °C", LEFT_PX,
                                                   height - 12.0, "px", "left", STV_COLOUR_INK, 0});
    add_season_label(&ridges, out, STV_SEASON_WARM);
    add_season_label(&ridges, out, STV_SEASON_COLD);
    add_tiers(&ridges, out);
    stv_chart_panel_end(out);
    stv_chart_end(out);
    fill_table(&ridges, out);
    add_words(&ridges, out);
    return stv_chart_status(out);
}
