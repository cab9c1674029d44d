/* Sites side by side: one panel per metric with its own scale, one row per site.  The thin line
 * is the range of nine in ten over years and trials, the thick line half of them, the upright
 * mark the middle; short strokes under it are single years.  Whether two sites can be told apart is
 * judged on paired differences in the model and told in the table, not read from the overlap. */
#include "plots/charts.h"

#include "plots/quote.h"

#include <math.h>
#include <stdio.h>

#define ROW_PX 34.0
#define ROW_PAD 0.55
#define HEADING_PX 30.0
#define TICS_PX 36.0
#define LEFT_PX 150.0
#define RIGHT_PX 656.0
#define TOP_PX 62.0
#define BELOW_PX 34.0
#define VALUE_LABELS_MOST 5
#define SITE_CHARS 14
#define YEAR_LOW 0.46 /* single years stand as short strokes under the line */
#define YEAR_HIGH 0.22

struct metric {
    const char *heading, *column, *unit;
    double factor_nd;
    int n_decimals;
};

static const struct metric metrics[STV_SITE_METRIC_N] = {
    {"Litres lost in the first year, % of the fill", "volume_loss_pct", "%", 100.0, 1},
    {"Alcohol lost in the first year, % of the fill", "lpa_loss_pct", "%", 100.0, 1},
    {"Change of strength in the first year, % points", "abv20_change_pct", "% points", 100.0, 2},
    {"Wood after a year, reference cask = 1", "wood_nd", "", 1.0, 2},
    {"Still fruit left after a year, of 1", "still_fruit_nd", "", 1.0, 2},
};

static bool is_known(const struct stv_sites_result *sites, size_t m)
{
    for (size_t s = 0; s < sites->n_sites; s++)
        if (isfinite(sites->sites[s].metric[m].p50))
            return true;
    return false;
}

static double row_y(const struct stv_sites_result *sites, size_t site)
{
    return (double)(sites->n_sites - 1 - site);
}

static void find_values(const struct stv_sites_result *sites, size_t m, double ends[2])
{
    double low = NAN, high = NAN;
    for (size_t s = 0; s < sites->n_sites; s++) {
        const struct stv_site_years *site = &sites->sites[s];
        low = fmin(low, site->metric[m].p05); /* fmin and fmax leave out NaN */
        high = fmax(high, site->metric[m].p95);
        for (size_t y = 0; y < site->n_years; y++) {
            low = fmin(low, site->year_median[m][y]);
            high = fmax(high, site->year_median[m][y]);
        }
    }
    double span = high - low > 0.0 ? high - low : fmax(fabs(high), 1.0) * 0.1;
    ends[0] = metrics[m].factor_nd * (low - 0.05 * span);
    ends[1] = metrics[m].factor_nd * (high + 0.05 * span);
}

/* Lines of one width: the outer range, the inner one, or the middle's mark. */
static void add_lines(const struct stv_sites_result *sites, struct stv_chart *chart, size_t m,
                      int part)
{
    static const char *const styles[] = {STV_CHART_STROKES "lw 2 lc rgb '" STV_COLOUR_FAINT "'",
                                         STV_CHART_STROKES "lw 8 lc rgb '#5fbd9c'",
                                         STV_CHART_STROKES "lw 3 lc rgb '#000000'"};
    size_t block = stv_chart_block(chart);
    size_t n = 0;
    for (size_t s = 0; s < sites->n_sites; s++) {
        struct stv_range r = stv_range_scaled(sites->sites[s].metric[m], metrics[m].factor_nd);
        double y = row_y(sites, s);
        if (!isfinite(r.p50))
            continue;
        const double parts[3][2][2] = {{{r.p05, y}, {r.p95, y}},
                                       {{r.p25, y}, {r.p75, y}},
                                       {{r.p50, y - 0.22}, {r.p50, y + 0.22}}};
        stv_chart_stroke(chart, parts[part][0], parts[part][1]);
        n++;
    }
    if (n > 0)
        stv_chart_layer(chart, block, styles[part]);
}

static void add_years(const struct stv_sites_result *sites, struct stv_chart *chart, size_t m)
{
    size_t block = stv_chart_block(chart);
    size_t n = 0;
    for (size_t s = 0; s < sites->n_sites; s++)
        for (size_t y = 0; y < sites->sites[s].n_years; y++) {
            double value = metrics[m].factor_nd * sites->sites[s].year_median[m][y];
            if (!isfinite(value))
                continue;
            const double ends[2][2] = {{value, row_y(sites, s) - YEAR_LOW},
                                       {value, row_y(sites, s) - YEAR_HIGH}};
            stv_chart_stroke(chart, ends[0], ends[1]);
            n++;
        }
    if (n > 0)
        stv_chart_layer(chart, block, STV_CHART_STROKES "lw 2 lc rgb '#8a3f66'");
}

static void add_site_labels(const struct stv_sites_result *sites, struct stv_chart *chart)
{
    stv_text_add(&chart->script, "set ytics (");
    for (size_t s = 0; s < sites->n_sites; s++) {
        struct stv_text label = {0};
        stv_quote_clean(&label, sites->sites[s].name, SITE_CHARS);
        stv_text_add(&chart->script, s == 0 ? "" : ", ");
        stv_quote_gnuplot_tic(&chart->script, stv_text_string(&label), STV_QUOTE_LABEL_CHARS);
        stv_text_format(&chart->script, " %d", (int)row_y(sites, s));
        stv_text_free(&label);
    }
    stv_text_add(&chart->script, ")\nset ytics scale 0\n");
}

static void add_panel(const struct stv_sites_result *sites, struct stv_chart *chart, size_t m,
                      double top_px)
{
    double ends[2];
    find_values(sites, m, ends);
    double rows_px = ROW_PX * (double)sites->n_sites;
    stv_chart_panel(chart, LEFT_PX, RIGHT_PX, top_px + HEADING_PX, top_px + HEADING_PX + rows_px);
    stv_chart_axis(chart, 'x', ends[0], ends[1]);
    stv_chart_axis(chart, 'y', -ROW_PAD, (double)sites->n_sites - ROW_PAD);
    stv_text_add(&chart->script, "set xtics ");
    stv_text_add_exact(&chart->script, stv_chart_nice_step(ends[1] - ends[0], VALUE_LABELS_MOST));
    stv_text_add(&chart->script,
                 " offset 0,0.35\nset border 1 lw 1 lc rgb '" STV_COLOUR_FAINT "'\n");
    add_site_labels(sites, chart);
    stv_chart_label(chart, &(struct stv_chart_label){metrics[m].heading, 12.0, top_px + 14.0, "px",
                                                     "left", STV_COLOUR_INK, 0});
    for (int part = 0; part < 3; part++)
        add_lines(sites, chart, m, part);
    add_years(sites, chart, m);
    stv_chart_panel_end(chart);
}

static void add_table_row(struct stv_sheet *table, const char *site, const char *metric,
                          double year)
{
    stv_sheet_add_text(table, site);
    stv_sheet_add_text(table, metric);
    stv_sheet_add_number(table, year, 0);
}

static void fill_table(const struct stv_sites_result *sites, struct stv_chart *chart)
{
    static const char *const heads[] = {"site", "metric", "year", "p05",
                                        "p25",  "p50",    "p75",  "p95"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++)
        for (size_t s = 0; s < sites->n_sites; s++) {
            const struct stv_site_years *site = &sites->sites[s];
            double factor = metrics[m].factor_nd;
            add_table_row(&chart->table, site->name, metrics[m].column, NAN);
            stv_sheet_add_range_cells(&chart->table, stv_range_scaled(site->metric[m], factor),
                                      metrics[m].n_decimals);
            for (size_t y = 0; y < site->n_years; y++) {
                struct stv_range only = {NAN, NAN, factor * site->year_median[m][y], NAN, NAN};
                add_table_row(&chart->table, site->name, metrics[m].column, site->years[y]);
                stv_sheet_add_range_cells(&chart->table, only, metrics[m].n_decimals);
            }
        }
}

static void add_words(const struct stv_sites_result *sites, struct stv_chart *chart)
{
    stv_text_format(&chart->words, "The same cask at %zu sites.", sites->n_sites);
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++) {
        if (!is_known(sites, m))
            continue;
        stv_text_format(&chart->words, " %s: ", metrics[m].heading);
        for (size_t s = 0; s < sites->n_sites; s++) {
            struct stv_range r = stv_range_scaled(sites->sites[s].metric[m], metrics[m].factor_nd);
            stv_text_format(&chart->words, "%s%s ", s == 0 ? "" : ", ", sites->sites[s].name);
            stv_text_add_number(&chart->words, r.p50, metrics[m].n_decimals);
            stv_chart_add_ends(&chart->words, r, metrics[m].n_decimals);
        }
        stv_text_add(&chart->words, ".");
    }
    stv_text_add(&chart->note,
                 "Upright mark: the middle over years and trials. Thick line: half of "
                 "them; thin line: nine in ten. Short strokes: single years.");
}

enum stv_status stv_chart_sites(const struct stv_sites_result *sites, bool is_invented,
                                struct stv_chart *out)
{
    size_t n_panels = 0;
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++)
        n_panels += is_known(sites, m);
    if (n_panels == 0)
        return STV_E_NO_DATA;
    double panel_px = HEADING_PX + ROW_PX * (double)sites->n_sites + TICS_PX;
    int height = (int)(TOP_PX + panel_px * (double)n_panels + BELOW_PX);
    struct stv_text title = {0};
    stv_text_add(&title, "One ");
    stv_text_add_number(&title, sites->capacity_l, 0);
    stv_text_add(&title, " L cask of ");
    stv_text_add_number(&title, 100.0 * sites->fill_abv20_frac, 1);
    stv_text_add(&title, " % at each site");
    stv_chart_begin(out, &(struct stv_chart_frame){
                             "sites-1", stv_text_string(&title),
                             "mark: middle; thick: half; thin: nine in ten; strokes: years", height,
                             is_invented});
    stv_text_free(&title);
    double top_px = TOP_PX;
    for (size_t m = 0; m < STV_SITE_METRIC_N; m++) {
        if (!is_known(sites, m))
            continue;
        add_panel(sites, out, m, top_px);
        top_px += panel_px;
    }
    stv_chart_end(out);
    fill_table(sites, out);
    add_words(sites, out);
    return stv_chart_status(out);
}
