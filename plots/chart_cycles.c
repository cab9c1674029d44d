/* Temperature cycles by size: how many a year of each width, the cold season's bars beside the warm
 * season's on a scale of powers of ten, the air as a dashed outline.  Warm bars are full, cold ones
 * hatched.  The counts come as they are, from the sums that tell the cycles of a season. */
#include "plots/charts.h"

#include <math.h>
#include <stdio.h>

#define LEFT_PX 66.0
#define RIGHT_PX 662.0
#define TOP_PX 148.0
#define HEIGHT_PX 446
#define BELOW_PX 66.0
#define KEY_PX 80.0 /* height of the first line of the key */
#define KEY_STEP_PX 22.0
#define BAR_GAP 0.06 /* of a bin, at both sides of a bar */
#define SIZE_LABELS_MOST 10
#define BARS "using 1:2:3:4:5:6 with boxxyerror fs "
#define SMALL_BINS 2 /* cycles up to here are told as small ones */

struct cycles {
    const struct stv_warehouse_climate *warehouse;
    const struct stv_position_metrics *place;
    size_t n_bins; /* up to the widest that was counted */
    double low_nd, high_nd;
};

static const char *const season_names[] = {"warm", "cold"};

static double centre_k(size_t bin)
{
    return STV_CYCLE_LEAST_K + ((double)bin + 0.5) * STV_CYCLE_STEP_K;
}

static double sum_of(const double *count_nd, size_t from, size_t to)
{
    double sum = 0.0;
    for (size_t b = from; b < to; b++)
        sum += count_nd[b];
    return sum;
}

static void widen(struct cycles *cycles, const double *count_nd)
{
    for (size_t b = 0; b < STV_CYCLE_BINS; b++) {
        if (!(count_nd[b] > 0.0))
            continue;
        cycles->n_bins = b + 1 > cycles->n_bins ? b + 1 : cycles->n_bins;
        cycles->low_nd = fmin(cycles->low_nd, count_nd[b]); /* fmin leaves out the first NaN */
        cycles->high_nd = fmax(cycles->high_nd, count_nd[b]);
    }
}

/* Bins and powers of ten that hold all counts; false when there is no cycle at all. */
static bool find_extent(struct cycles *cycles)
{
    cycles->low_nd = cycles->high_nd = NAN;
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++) {
        widen(cycles, cycles->place->seasons[s].liquid_cycles_nd);
        widen(cycles, cycles->place->seasons[s].air_cycles_nd);
    }
    if (cycles->n_bins == 0)
        return false;
    cycles->low_nd *= 0.5; /* the smallest count has a bar too */
    cycles->high_nd *= 2.0;
    return true;
}

static void add_bars(const struct cycles *cycles, struct stv_chart *chart, enum stv_season season)
{
    bool is_warm = season == STV_SEASON_WARM;
    size_t block = stv_chart_block(chart), n = 0;
    for (size_t b = 0; b < cycles->n_bins; b++) {
        double count_nd = cycles->place->seasons[season].liquid_cycles_nd[b];
        if (!(count_nd > 0.0))
            continue;
        double middle = centre_k(b);
        double left = is_warm ? middle - 0.5 + BAR_GAP : middle;
        double right = is_warm ? middle : middle + 0.5 - BAR_GAP;
        const double row[] = {0.5 * (left + right), count_nd, left, right,
                              cycles->low_nd,       count_nd};
        stv_chart_row(chart, row, sizeof row / sizeof row[0]);
        n++;
    }
    if (n > 0)
        stv_chart_layer(chart, block,
                        is_warm ? BARS "solid 1.0 noborder lc rgb '" STV_COLOUR_WARM "'"
                                : BARS "pattern 4 border rgb '" STV_COLOUR_COLD
                                       "' lc rgb '" STV_COLOUR_COLD "'");
}

/* The outline of the air's counts, down to the axis where there is none. */
static void add_air(const struct cycles *cycles, struct stv_chart *chart, enum stv_season season)
{
    const double *count_nd = cycles->place->seasons[season].air_cycles_nd;
    size_t block = stv_chart_block(chart);
    double before = cycles->low_nd;
    for (size_t b = 0; b <= cycles->n_bins; b++) {
        double edge_k = STV_CYCLE_LEAST_K + (double)b * STV_CYCLE_STEP_K;
        double now = b < cycles->n_bins && count_nd[b] > 0.0 ? count_nd[b] : cycles->low_nd;
        const double ends[2][2] = {{edge_k, before}, {edge_k, now}};
        stv_chart_row(chart, ends[0], 2);
        stv_chart_row(chart, ends[1], 2);
        before = now;
    }
    stv_chart_layer(chart, block,
                    season == STV_SEASON_WARM
                        ? "using 1:2 with lines lw 2 dt (7,4) lc rgb '" STV_COLOUR_WARM "'"
                        : "using 1:2 with lines lw 2 dt (2,3) lc rgb '" STV_COLOUR_COLD "'");
}

/* "warm, 1 May to 30 Sep: 46 in the cask, 142 in the air". */
static void add_key(const struct cycles *cycles, struct stv_chart *chart, enum stv_season season)
{
    bool is_warm = season == STV_SEASON_WARM;
    const struct stv_season_metrics *m = &cycles->place->seasons[season];
    struct stv_text text = {0};
    stv_text_add(&text, is_warm ? "warm, " : "cold, ");
    stv_chart_season_dates(&text, &cycles->warehouse->seasons[season]);
    stv_text_add(&text, ": ");
    stv_text_add_number(&text, m->cycles_nd, 0);
    stv_text_add(&text, " in the cask, ");
    stv_text_add_number(&text, sum_of(m->air_cycles_nd, 0, STV_CYCLE_BINS), 0);
    stv_text_add(&text, " in the air");
    stv_chart_label(chart, &(struct stv_chart_label){
                               stv_text_string(&text), 12.0, KEY_PX + (is_warm ? 0.0 : KEY_STEP_PX),
                               "px", "left", is_warm ? STV_COLOUR_WARM : STV_COLOUR_COLD, 0});
    stv_text_free(&text);
}

static void add_panel(const struct cycles *cycles, struct stv_chart *chart)
{
    double span_k = (double)cycles->n_bins * STV_CYCLE_STEP_K;
    stv_chart_panel(chart, LEFT_PX, RIGHT_PX, TOP_PX, HEIGHT_PX - BELOW_PX);
    stv_chart_axis(chart, 'x', STV_CYCLE_LEAST_K, STV_CYCLE_LEAST_K + span_k);
    stv_chart_axis(chart, 'y', cycles->low_nd, cycles->high_nd);
    stv_text_add(&chart->script, "set logscale y 10\nset mytics 10\nset format y '%g'\n"
                                 "set xtics offset 0,0.35\nset xtics 0,");
    stv_text_add_exact(&chart->script, fmax(1.0, stv_chart_nice_step(span_k, SIZE_LABELS_MOST)));
    stv_text_add(&chart->script, "\nset border 1 lw 1 lc rgb '" STV_COLOUR_FAINT "'\n");
    stv_chart_label(chart,
                    &(struct stv_chart_label){"width of the cycle, K", LEFT_PX, HEIGHT_PX - 12.0,
                                              "px", "left", STV_COLOUR_INK, 0});
    stv_chart_label(
        chart, &(struct stv_chart_label){"cycles a year; each line is ten times the one below",
                                         12.0, TOP_PX - 16.0, "px", "left", STV_COLOUR_INK, 0});
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        add_key(cycles, chart, (enum stv_season)s);
    stv_chart_boxed_label(chart, &(struct stv_chart_label){"bars: in the cask, cold hatched",
                                                           RIGHT_PX, TOP_PX + 14.0, "px", "right",
                                                           STV_COLOUR_INK, 0});
    stv_chart_boxed_label(chart, &(struct stv_chart_label){"lines: in the air, cold dotted",
                                                           RIGHT_PX, TOP_PX + 14.0 + KEY_STEP_PX,
                                                           "px", "right", STV_COLOUR_INK, 0});
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        add_bars(cycles, chart, (enum stv_season)s);
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        add_air(cycles, chart, (enum stv_season)s);
    stv_chart_panel_end(chart);
}

static void fill_table(const struct cycles *cycles, struct stv_chart *chart)
{
    static const char *const heads[] = {
        "warehouse", "tier", "season", "from_k", "to_k", "liquid_cycles_per_y", "air_cycles_per_y"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        for (size_t b = 0; b < cycles->n_bins; b++) {
            const struct stv_season_metrics *m = &cycles->place->seasons[s];
            bool is_open = b + 1 == STV_CYCLE_BINS;
            stv_sheet_add_text(&chart->table, cycles->warehouse->name);
            stv_sheet_add_number(&chart->table, cycles->place->place.tier_idx + 1, 0);
            stv_sheet_add_text(&chart->table, season_names[s]);
            stv_sheet_add_number(&chart->table, centre_k(b) - 0.5 * STV_CYCLE_STEP_K, 1);
            stv_sheet_add_number(&chart->table,
                                 is_open ? (double)NAN : centre_k(b) + 0.5 * STV_CYCLE_STEP_K, 1);
            stv_sheet_add_number(&chart->table, m->liquid_cycles_nd[b], 2);
            stv_sheet_add_number(&chart->table, m->air_cycles_nd[b], 2);
        }
}

static void add_season_words(const struct cycles *cycles, struct stv_text *words,
                             enum stv_season season)
{
    const struct stv_season_metrics *m = &cycles->place->seasons[season];
    size_t widest = STV_CYCLE_BINS;
    while (widest > 0 && !(m->liquid_cycles_nd[widest - 1] > 0.0))
        widest--;
    stv_text_format(words, " In the %s season ", season_names[season]);
    stv_text_add_number(words, m->cycles_nd, 0);
    stv_text_add(words, " a year in the cask, ");
    stv_text_add_number(words, sum_of(m->liquid_cycles_nd, SMALL_BINS, STV_CYCLE_BINS), 0);
    stv_text_add(words, " of them of 2.5 K or more");
    if (widest > 0) {
        stv_text_add(words, ", the widest about ");
        stv_text_add_number(words, centre_k(widest - 1), 0);
        stv_text_add(words, " K");
    }
    stv_text_add(words, "; in the air ");
    stv_text_add_number(words, sum_of(m->air_cycles_nd, 0, STV_CYCLE_BINS), 0);
    stv_text_add(words, ".");
}

static void add_words(const struct cycles *cycles, struct stv_chart *chart)
{
    stv_text_format(&chart->words,
                    "Temperature cycles of 0.5 K or more by their width, tier %d of %s.",
                    cycles->place->place.tier_idx + 1, cycles->warehouse->name);
    add_season_words(cycles, &chart->words, STV_SEASON_WARM);
    add_season_words(cycles, &chart->words, STV_SEASON_COLD);
    stv_text_add(
        &chart->note,
        "Each mark of the scale at the left is ten times the one below. A bar over 3 counts "
        "cycles of 2.5 to 3.5 K. Counted by rainflow (ASTM E1049-85, three-point rule) on "
        "the hours of the liquid in a 200 L cask, each season of each year apart, mean of "
        "the years; a swing that never closes counts as half.");
}

enum stv_status stv_chart_cycles(const struct stv_warehouse_climate *warehouse, size_t number,
                                 bool is_invented, struct stv_chart *out)
{
    struct cycles cycles = {.warehouse = warehouse, .place = stv_chart_middle_tier(warehouse)};
    if (cycles.place == NULL || !find_extent(&cycles))
        return STV_E_NO_DATA;
    char name[STV_CHART_NAME_MAX];
    struct stv_text subtitle = {0};
    snprintf(name, sizeof name, "cycles-%zu", number);
    stv_text_format(&subtitle, "%s, tier %d", warehouse->name, cycles.place->place.tier_idx + 1);
    stv_chart_add_years(&subtitle, warehouse);
    stv_chart_begin(out,
                    &(struct stv_chart_frame){name, "Temperature cycles a year, by width",
                                              stv_text_string(&subtitle), HEIGHT_PX, is_invented});
    stv_text_free(&subtitle);
    add_panel(&cycles, out);
    stv_chart_end(out);
    fill_table(&cycles, out);
    add_words(&cycles, out);
    return stv_chart_status(out);
}
