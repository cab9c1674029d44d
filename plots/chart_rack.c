/* Rack heat map: one row per tier, the floor at the bottom, warm season and cold season in two
 * panels with one colour scale.  The first column is the tier as a whole; each bay with a logger
 * of its own has a further column, so nothing is drawn where nothing is known.  A black ring
 * marks what a logger measured at least in part.  Up to three bays the panels stand side by
 * side; beyond that one under the other, up to nine bays. */
#include "plots/charts.h"

#include <math.h>
#include <stdio.h>

#define RINGED_LEAST_FRAC 0.01 /* of the hours */
#define BAYS_BESIDE 3
#define BAYS_MOST 9
#define TIER_COLUMN 1.3 /* width of the tier's column, in bays */
#define ROW_PX 36.0
#define ROW_SMALL_PX 27.0
#define ROWS_LARGE 12
#define TOP_PX 100.0
#define BELOW_PX 34.0
#define BELOW_LABELS_PX 56.0
#define PANEL_GAP_PX 44.0
#define LEFT_PX 70.0
#define SCALE_LEFT_PX 590.0
#define SCALE_WIDTH_PX 18.0
#define CELL_INSET_PX 1.0
#define RING_INSET_PX 4.5

struct quantity {
    const char *stem, *title, *unit_text, *column;
    double factor_nd; /* from the struct's unit to the shown one */
    int n_decimals;
};

static const struct quantity quantities[STV_RACK_N] = {
    {"temperature", "Temperature in the cask, °C", "°C", "liquid_mean_c", 1.0, 1},
    {"evaporation", "Litres leaving the cask, % a year", "% a year", "evaporation_pct_per_y", 100.0,
     1},
    {"extraction", "Wood given, against 20 °C = 1", "of the rate at 20 °C", "extraction_rel_nd",
     1.0, 2},
};

/* A bay's column: bay and depth. */
struct column {
    int bay_idx, depth_idx;
};

struct rack {
    const struct stv_warehouse_climate *warehouse;
    const struct quantity *quantity;
    enum stv_rack_quantity which;
    struct column columns[BAYS_MOST];
    size_t n_columns, n_columns_left_out;
    bool is_stacked;
    double row_px, panel_px, least, most;
};

static double value_of(const struct rack *rack, const struct stv_position_metrics *metrics,
                       enum stv_season season)
{
    const struct stv_season_metrics *m = &metrics->seasons[season];
    const double values[STV_RACK_N] = {m->liquid_mean_c, m->evaporation_frac_per_y,
                                       m->extraction_rel_nd};
    return values[rack->which] * rack->quantity->factor_nd;
}

static void collect_columns(struct rack *rack)
{
    const struct stv_warehouse_climate *w = rack->warehouse;
    for (size_t b = 0; b < w->n_bays; b++) {
        struct column column = {w->bays[b].place.bay_idx, w->bays[b].place.depth_idx};
        size_t at = 0;
        while (at < rack->n_columns && (rack->columns[at].bay_idx < column.bay_idx ||
                                        (rack->columns[at].bay_idx == column.bay_idx &&
                                         rack->columns[at].depth_idx < column.depth_idx)))
            at++;
        if (at < rack->n_columns && rack->columns[at].bay_idx == column.bay_idx &&
            rack->columns[at].depth_idx == column.depth_idx)
            continue;
        if (rack->n_columns == BAYS_MOST) {
            rack->n_columns_left_out++;
            continue;
        }
        for (size_t i = rack->n_columns; i > at; i--)
            rack->columns[i] = rack->columns[i - 1];
        rack->columns[at] = column;
        rack->n_columns++;
    }
}

/* Column of a bay, or n_columns when it is left out. */
static size_t column_of(const struct rack *rack, const struct stv_place *place)
{
    size_t i = 0;
    while (i < rack->n_columns && (rack->columns[i].bay_idx != place->bay_idx ||
                                   rack->columns[i].depth_idx != place->depth_idx))
        i++;
    return i;
}

static void widen(struct rack *rack, const struct stv_position_metrics *metrics)
{
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++) {
        double value = value_of(rack, metrics, (enum stv_season)s);
        if (!isfinite(value))
            continue;
        rack->least = fmin(rack->least, value); /* fmin leaves out the NaN of the start */
        rack->most = fmax(rack->most, value);
    }
}

static void collect_scale(struct rack *rack)
{
    rack->least = rack->most = NAN;
    for (size_t t = 0; t < rack->warehouse->n_tiers; t++)
        widen(rack, &rack->warehouse->tiers[t]);
    for (size_t b = 0; b < rack->warehouse->n_bays; b++)
        widen(rack, &rack->warehouse->bays[b]);
}

static double share_of(const struct rack *rack, double value)
{
    double span = rack->most - rack->least;
    return span > 0.0 ? (value - rack->least) / span : 0.5;
}

/* Left edge of a column in the panel, pixels; 0 is the tier's, n_columns + 1 the right end. */
static double edge_px(const struct rack *rack, size_t column)
{
    double all = TIER_COLUMN + (double)rack->n_columns;
    double left = column == 0 ? 0.0 : TIER_COLUMN + (double)(column - 1);
    return rack->panel_px * left / all;
}

/* Left, right, lower and upper edge of a place's cell, `inset_px` inside. */
static void find_edges(const struct rack *rack, const struct stv_place *place, double inset_px,
                       double out[4])
{
    size_t column = place->bay_idx >= 0 ? column_of(rack, place) + 1 : 0;
    out[0] = edge_px(rack, column) + inset_px;
    out[1] = edge_px(rack, column + 1) - inset_px;
    out[2] = place->tier_idx * rack->row_px + inset_px;
    out[3] = (place->tier_idx + 1) * rack->row_px - inset_px;
}

/* Adds a cell: middle, edges, colour, colour of its text, value. */
static void add_cell(const struct rack *rack, struct stv_chart *chart,
                     const struct stv_place *place, double value)
{
    double e[4];
    find_edges(rack, place, CELL_INSET_PX, e);
    unsigned rgb = stv_chart_ramp(share_of(rack, value));
    const double row[] = {0.5 * (e[0] + e[1]),
                          0.5 * (e[2] + e[3]),
                          e[0],
                          e[1],
                          e[2],
                          e[3],
                          (double)rgb,
                          stv_chart_is_dark(rgb) ? (double)0xFFFFFF : 0.0,
                          value};
    stv_chart_row(chart, row, sizeof row / sizeof row[0]);
}

/* Adds a ring as a closed line of its own. */
static void add_ring(const struct rack *rack, struct stv_chart *chart,
                     const struct stv_place *place)
{
    double e[4];
    find_edges(rack, place, RING_INSET_PX, e);
    const double corners[][2] = {
        {e[0], e[2]}, {e[1], e[2]}, {e[1], e[3]}, {e[0], e[3]}, {e[0], e[2]}};
    for (size_t i = 0; i < sizeof corners / sizeof corners[0]; i++)
        stv_chart_row(chart, corners[i], 2);
    stv_chart_row(chart, NULL, 0);
}

static bool is_drawn(const struct rack *rack, const struct stv_position_metrics *metrics)
{
    return metrics->place.bay_idx < 0 || column_of(rack, &metrics->place) < rack->n_columns;
}

/* A day or two of a logger measured nothing that a season's figure rests on. */
static bool is_ringed(const struct stv_position_metrics *metrics)
{
    return metrics->source != STV_SOURCE_MODELLED && metrics->measured_frac >= RINGED_LEAST_FRAC;
}

/* One block of cells or of rings; returns how many rows it has. */
static size_t add_boxes(const struct rack *rack, struct stv_chart *chart, enum stv_season season,
                        bool is_ring)
{
    const struct stv_warehouse_climate *w = rack->warehouse;
    size_t n = 0;
    for (size_t i = 0; i < w->n_tiers + w->n_bays; i++) {
        const struct stv_position_metrics *m =
            i < w->n_tiers ? &w->tiers[i] : &w->bays[i - w->n_tiers];
        double value = value_of(rack, m, season);
        if (!isfinite(value) || !is_drawn(rack, m) || (is_ring && !is_ringed(m)))
            continue;
        if (is_ring)
            add_ring(rack, chart, &m->place);
        else
            add_cell(rack, chart, &m->place, value);
        n++;
    }
    return n;
}

static void add_layers(const struct rack *rack, struct stv_chart *chart, enum stv_season season)
{
    char how[160];
    size_t cells = stv_chart_block(chart);
    if (add_boxes(rack, chart, season, false) > 0) {
        stv_chart_layer(chart, cells,
                        "using 1:2:3:4:5:6:7 with boxxyerror fs solid noborder lc rgb variable");
        snprintf(how, sizeof how,
                 "using 1:2:(sprintf('%%.%df',$9)):8 with labels center textcolor rgb variable",
                 rack->quantity->n_decimals);
        stv_chart_layer(chart, cells, how);
    }
    size_t rings = stv_chart_block(chart);
    if (add_boxes(rack, chart, season, true) > 0) {
        stv_chart_layer(chart, rings, "using 1:2 with lines lc rgb '#ffffff' lw 3.5");
        stv_chart_layer(chart, rings, "using 1:2 with lines lc rgb '#000000' lw 1.5");
    }
}

static void add_tier_labels(const struct rack *rack, struct stv_chart *chart)
{
    for (size_t t = 0; t < rack->warehouse->n_tiers; t++) {
        char text[32];
        snprintf(text, sizeof text, "tier %zu", t + 1);
        stv_chart_label(chart,
                        &(struct stv_chart_label){text, -8.0, ((double)t + 0.5) * rack->row_px,
                                                  "first", "right", STV_COLOUR_INK, 0});
    }
}

static void add_column_labels(const struct rack *rack, struct stv_chart *chart)
{
    if (rack->n_columns == 0)
        return;
    for (size_t c = 0; c <= rack->n_columns; c++) {
        char text[32] = "tier";
        const struct column *column = &rack->columns[c == 0 ? 0 : c - 1];
        if (c > 0 && column->depth_idx > 0)
            snprintf(text, sizeof text, "%d/%d", column->bay_idx + 1, column->depth_idx + 1);
        else if (c > 0)
            snprintf(text, sizeof text, "%s%d", rack->n_columns <= BAYS_BESIDE ? "bay " : "",
                     column->bay_idx + 1);
        double x = 0.5 * (edge_px(rack, c) + edge_px(rack, c + 1));
        stv_chart_label(
            chart, &(struct stv_chart_label){text, x, -14.0, "first", "center", STV_COLOUR_INK, 0});
    }
}

/* One season.  The frame is solid for the warm season and dashed for the cold one, so that the
 * two are told apart without colour. */
static void add_panel(const struct rack *rack, struct stv_chart *chart, enum stv_season season)
{
    bool is_warm = season == STV_SEASON_WARM;
    double height = rack->row_px * (double)rack->warehouse->n_tiers;
    double left = LEFT_PX + (is_warm || rack->is_stacked ? 0.0 : rack->panel_px + 20.0);
    double top = TOP_PX + (is_warm || !rack->is_stacked ? 0.0 : height + PANEL_GAP_PX + 20.0);
    const char *colour = is_warm ? STV_COLOUR_WARM : STV_COLOUR_COLD;
    struct stv_text heading = {0};
    stv_text_add(&heading, is_warm ? "Warm, " : "Cold, ");
    stv_chart_season_dates(&heading, &rack->warehouse->seasons[season]);
    stv_chart_panel(chart, left, left + rack->panel_px, top, top + height);
    stv_chart_axis(chart, 'x', 0.0, rack->panel_px);
    stv_chart_axis(chart, 'y', 0.0, height);
    stv_text_format(&chart->script,
                    "unset tics\nunset grid\nset border 15 lw 2 lc rgb '%s' dashtype %s\n", colour,
                    is_warm ? "solid" : "(8,6)");
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&heading), 0.0, height + 14.0,
                                                     "first", "left", colour, 0});
    if (is_warm || rack->is_stacked)
        add_tier_labels(rack, chart);
    add_column_labels(rack, chart);
    add_layers(rack, chart, season);
    stv_chart_panel_end(chart);
    stv_text_free(&heading);
}

static void add_scale(const struct rack *rack, struct stv_chart *chart)
{
    double height = rack->row_px * (double)rack->warehouse->n_tiers;
    const struct stv_chart_key key = {
        SCALE_LEFT_PX, SCALE_LEFT_PX + SCALE_WIDTH_PX, TOP_PX, TOP_PX + height, rack->least,
        rack->most,    rack->quantity->n_decimals};
    stv_chart_ramp_key(chart, &key);
}

static void fill_table(const struct rack *rack, struct stv_chart *chart)
{
    static const char *const season_names[] = {"warm", "cold"};
    static const char *const source_names[] = {
        [STV_SOURCE_MEASURED] = "measured",
        [STV_SOURCE_MIXED] = "measured and told",
        [STV_SOURCE_MODELLED] = "told",
        [STV_SOURCE_BORROWED] = "borrowed",
    };
    const struct stv_warehouse_climate *w = rack->warehouse;
    const char *const heads[] = {"warehouse",           "season", "tier", "bay", "depth", "source",
                                 rack->quantity->column};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        for (size_t i = 0; i < w->n_tiers + w->n_bays; i++) {
            const struct stv_position_metrics *m =
                i < w->n_tiers ? &w->tiers[i] : &w->bays[i - w->n_tiers];
            bool is_bay = m->place.bay_idx >= 0;
            stv_sheet_add_text(&chart->table, w->name);
            stv_sheet_add_text(&chart->table, season_names[s]);
            stv_sheet_add_number(&chart->table, m->place.tier_idx + 1, 0);
            stv_sheet_add_number(&chart->table, is_bay ? m->place.bay_idx + 1 : (double)NAN, 0);
            stv_sheet_add_number(
                &chart->table,
                is_bay && m->place.depth_idx >= 0 ? m->place.depth_idx + 1 : (double)NAN, 0);
            stv_sheet_add_text(&chart->table, source_names[m->source]);
            stv_sheet_add_number(&chart->table, value_of(rack, m, (enum stv_season)s),
                                 rack->quantity->n_decimals);
        }
}

/* "warm season from 22.5 (tier 1) to 30.0 (tier 6)". */
static void add_season_words(const struct rack *rack, struct stv_text *words,
                             enum stv_season season)
{
    const struct stv_warehouse_climate *w = rack->warehouse;
    size_t low = 0, high = 0;
    for (size_t t = 1; t < w->n_tiers; t++) {
        double value = value_of(rack, &w->tiers[t], season);
        if (value < value_of(rack, &w->tiers[low], season))
            low = t;
        if (value > value_of(rack, &w->tiers[high], season))
            high = t;
    }
    stv_text_format(words, " %s season: ", season == STV_SEASON_WARM ? "Warm" : "Cold");
    stv_text_add_number(words, value_of(rack, &w->tiers[low], season), rack->quantity->n_decimals);
    if (high != low) {
        stv_text_format(words, " (tier %zu) to ", low + 1);
        stv_text_add_number(words, value_of(rack, &w->tiers[high], season),
                            rack->quantity->n_decimals);
        stv_text_format(words, " (tier %zu)", high + 1);
    }
    stv_text_format(words, " %s.", rack->quantity->unit_text);
}

static void add_words(const struct rack *rack, struct stv_chart *chart)
{
    stv_text_format(&chart->words, "%s, tier by tier in %s.", rack->quantity->title,
                    rack->warehouse->name);
    add_season_words(rack, &chart->words, STV_SEASON_WARM);
    add_season_words(rack, &chart->words, STV_SEASON_COLD);
    stv_text_add(&chart->note,
                 "One colour scale for both seasons. A ring marks a place where a "
                 "logger measured; the rest is told by the model or by what was learned.");
    if (rack->n_columns > 0)
        stv_text_add(&chart->note, " Columns: the tier as a whole, then bays with a logger of "
                                   "their own (second row in depth: bay/2).");
    if (rack->n_columns_left_out > 0)
        stv_text_format(&chart->note, " Further bays, %zu places, stand in the table only.",
                        rack->n_columns_left_out);
}

static void add_frame(const struct rack *rack, struct stv_chart *chart, size_t number,
                      bool is_invented)
{
    const struct stv_warehouse_climate *w = rack->warehouse;
    char name[STV_CHART_NAME_MAX];
    snprintf(name, sizeof name, "rack-%zu-%s", number, rack->quantity->stem);
    double height = rack->row_px * (double)w->n_tiers;
    double panels = rack->is_stacked ? 2.0 * height + PANEL_GAP_PX + 20.0 : height;
    double below = rack->n_columns == 0 ? BELOW_PX : BELOW_LABELS_PX;
    struct stv_text subtitle = {0};
    stv_text_add(&subtitle, w->name);
    stv_chart_add_years(&subtitle, w);
    stv_chart_begin(chart, &(struct stv_chart_frame){name, rack->quantity->title,
                                                     stv_text_string(&subtitle),
                                                     (int)(TOP_PX + panels + below), is_invented});
    stv_text_free(&subtitle);
}

enum stv_status stv_chart_rack(const struct stv_warehouse_climate *warehouse,
                               enum stv_rack_quantity quantity, size_t number, bool is_invented,
                               struct stv_chart *out)
{
    struct rack rack = {
        .warehouse = warehouse, .quantity = &quantities[quantity], .which = quantity};
    collect_columns(&rack);
    collect_scale(&rack);
    if (warehouse->n_tiers == 0 || !isfinite(rack.least))
        return STV_E_NO_DATA;
    rack.is_stacked = rack.n_columns > BAYS_BESIDE;
    rack.row_px = warehouse->n_tiers <= ROWS_LARGE ? ROW_PX : ROW_SMALL_PX;
    rack.panel_px = rack.is_stacked ? 490.0 : 240.0;
    add_frame(&rack, out, number, is_invented);
    add_panel(&rack, out, STV_SEASON_WARM);
    add_panel(&rack, out, STV_SEASON_COLD);
    add_scale(&rack, out);
    stv_chart_end(out);
    fill_table(&rack, out);
    add_words(&rack, out);
    return stv_chart_status(out);
}
