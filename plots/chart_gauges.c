/* Predicted against measured: litres and strength side by side, the line of equals between them.
 * Litres are drawn as shares of the cask's size, else small and large casks hide every miss.
 * A cross is a figure's two ranges, what was told lying and what was measured upright; its mark is
 * shaped by the wood.  Misses are filled and bear their cask's id: they are where to look. */
#include "plots/chart_gauges_parts.h"
#include "plots/charts.h"
#include "plots/quote.h"

#include <limits.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define TOP_PX 104.0
#define SIDE_PX 262.0
#define LEFT_PX 62.0
#define PANEL_STEP_PX 334.0
#define TICS_PX 66.0
#define KEY_PX 26.0
#define KEY_MARK_PX 18.0
#define KEY_GAP_PX 24.0
#define BELOW_PX 26.0
#define POINTS_MOST 120 /* of a panel; more are thinned, misses kept */
#define MISSES_MOST 60  /* of a panel: the largest */
#define LABELS_MOST 16
#define CHAR_PX 9.5
#define MARK_PX 4.0
#define MARK_WEIGHT 4 /* a label on a mark hides more than one on a stroke */
#define NEAR_PX 8.0   /* from a mark to its label */
#define N_RINGS 3
#define BESIDE_PX 20.0 /* right of a panel, for ids */
#define LEAST_SPAN 1.0
#define FENCE_WIDTHS 3.0
#define LEAST_WIDTH 4.0 /* less would put ordinary misses at the edge */
#define VALUE_LABELS_MOST 5
#define EDGE_PX 22.0 /* from the edge to a mark that lies beyond it; an arrow spans them */

/* gnuplot's marks: open, and filled for a miss. */
static const struct wood {
    const char *colour;
    int open, filled;
    double name_px; /* mark and name, as the key writes them */
} woods[STV_WOOD_HISTORY_N] = {
    [STV_WOOD_NEW] = {"#00523b", 6, 7, 85.0},
    [STV_WOOD_HELD_SPIRIT] = {"#b07400", 4, 5, 156.0},
    [STV_WOOD_HELD_FORTIFIED] = {"#7a4a6b", 8, 9, 228.0},
};

/* One of a figure's numbers as it is drawn: %. */
static double drawn_pct(const struct stv_told_figure *figure, double value)
{
    return 100.0 * (figure->what == STV_GAUGED_LITRES ? value / figure->capacity_l : value);
}

static bool is_known(const struct stv_told_figure *figure)
{
    return isfinite(drawn_pct(figure, figure->told)) &&
           isfinite(drawn_pct(figure, figure->measured));
}

/* Half the length of the upright stroke. */
static double reach_of(const struct stv_told_figure *figure)
{
    return isfinite(figure->measured_sd) ? STV_GAUGE_RANGE_SDS * figure->measured_sd : 0.0;
}

double stv__gauge_miss_size(const struct stv_told_figure *figure)
{
    return fabs(figure->measured - figure->told) / fmax(figure->told_p95 - figure->told_p05, 1e-9);
}

static int compare_ascending(const void *a, const void *b)
{
    const double *x = a, *y = b;
    return (*x > *y) - (*x < *y);
}

/* Size of the least miss that is drawn: all of them unless they are many. */
static enum stv_status least_miss(const struct stv_told_figures *told, enum stv_gauged what,
                                  double *out)
{
    double *sizes = malloc((told->n + 1) * sizeof *sizes);
    size_t n = 0;
    if (sizes == NULL)
        return STV_E_MEMORY;
    for (size_t i = 0; i < told->n; i++) {
        const struct stv_told_figure *figure = &told->figures[i];
        if (figure->what == what && is_known(figure) && figure->is_miss)
            sizes[n++] = stv__gauge_miss_size(figure);
    }
    qsort(sizes, n, sizeof *sizes, compare_ascending);
    *out = n > MISSES_MOST ? sizes[n - MISSES_MOST] : 0.0;
    free(sizes);
    return STV_OK;
}

/* One panel's figures: the largest misses, and of the others every so manieth. */
static enum stv_status choose(struct stv__gauges *gauges, enum stv_gauged what, size_t *room)
{
    const struct stv_told_figures *told = gauges->told;
    size_t n_others, every, k = 0, n_misses = 0;
    double least;
    enum stv_status status = least_miss(told, what, &least);
    if (status != STV_OK)
        return status;
    for (size_t i = 0; i < told->n; i++)
        if (told->figures[i].what == what && is_known(&told->figures[i])) {
            gauges->n_known[what]++;
            gauges->n_misses[what] += told->figures[i].is_miss;
        }
    n_others = gauges->n_known[what] - gauges->n_misses[what];
    every = 1 + n_others / POINTS_MOST;
    gauges->drawn[what] = room;
    for (size_t i = 0; i < told->n; i++) {
        const struct stv_told_figure *figure = &told->figures[i];
        if (figure->what != what || !is_known(figure))
            continue;
        bool is_drawn = figure->is_miss
                            ? stv__gauge_miss_size(figure) >= least && n_misses++ < MISSES_MOST
                            : k++ % every == 0;
        if (is_drawn)
            room[gauges->n_drawn[what]++] = i;
    }
    return STV_OK;
}

/* What lies beyond three times the middle half's width from it is far off: it would hide the
 * rest. */
static enum stv_status find_fences(struct stv__gauges *gauges, enum stv_gauged what)
{
    size_t n = 0;
    double *values = malloc((2 * gauges->n_drawn[what] + 1) * sizeof *values);
    if (values == NULL)
        return STV_E_MEMORY;
    for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        values[n++] = drawn_pct(f, f->told);
        values[n++] = drawn_pct(f, f->measured);
    }
    qsort(values, n, sizeof *values, compare_ascending);
    double first = values[n / 4], third = values[n - 1 - n / 4];
    double reach = FENCE_WIDTHS * fmax(third - first, LEAST_WIDTH);
    gauges->least[what] = first - reach;
    gauges->most[what] = third + reach;
    free(values);
    return STV_OK;
}

bool stv__gauge_is_far(const struct stv__gauges *gauges, const struct stv_told_figure *f)
{
    double x = drawn_pct(f, f->told), y = drawn_pct(f, f->measured);
    return fmin(x, y) < gauges->least[f->what] || fmax(x, y) > gauges->most[f->what];
}

/* One scale for both axes, that holds every range that is drawn but those of figures far off. */
static enum stv_status find_scale(struct stv__gauges *gauges, enum stv_gauged what)
{
    double low = NAN, high = NAN; /* fmin and fmax leave out NaN */
    enum stv_status status = find_fences(gauges, what);
    if (status != STV_OK)
        return status;
    for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        if (stv__gauge_is_far(gauges, f))
            continue;
        double least = fmin(f->told_p05, f->measured - reach_of(f));
        double most = fmax(f->told_p95, f->measured + reach_of(f));
        low = fmin(low, drawn_pct(f, least));
        high = fmax(high, drawn_pct(f, most));
    }
    double span = fmax(high - low, LEAST_SPAN), middle = 0.5 * (low + high);
    gauges->low[what] = middle - 0.54 * span;
    gauges->high[what] = middle + 0.54 * span;
    return STV_OK;
}

/* Where a figure's mark stands along an axis: one that lies beyond stands before the edge. */
static double placed_pct(const struct stv__gauges *gauges, const struct stv_told_figure *f,
                         double value)
{
    double low = gauges->low[f->what], high = gauges->high[f->what], pct = drawn_pct(f, value);
    double inset = EDGE_PX / SIDE_PX * (high - low);
    if (pct >= low && pct <= high)
        return pct;
    return pct < low ? low + inset : high - inset;
}

static void add_line(struct stv_chart *chart, double x0, double y0, double x1, double y1)
{
    const double rows[2][2] = {{x0, y0}, {x1, y1}};
    stv_chart_row(chart, rows[0], 2);
    stv_chart_row(chart, rows[1], 2);
    stv_chart_row(chart, NULL, 0);
}

static void add_equals(const struct stv__gauges *gauges, struct stv_chart *chart,
                       enum stv_gauged what)
{
    size_t block = stv_chart_block(chart);
    add_line(chart, gauges->low[what], gauges->low[what], gauges->high[what], gauges->high[what]);
    stv_chart_layer(chart, block, "using 1:2 with lines lw 1.5 lc rgb '" STV_COLOUR_FAINT "'");
}

static void add_crosses(const struct stv__gauges *gauges, struct stv_chart *chart,
                        enum stv_gauged what)
{
    size_t block = stv_chart_block(chart);
    for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        double x = drawn_pct(f, f->told), y = drawn_pct(f, f->measured);
        double reach = drawn_pct(f, reach_of(f));
        if (stv__gauge_is_far(gauges, f))
            continue;
        add_line(chart, drawn_pct(f, f->told_p05), y, drawn_pct(f, f->told_p95), y);
        if (reach > 0.0)
            add_line(chart, x, y - reach, x, y + reach);
    }
    stv_chart_layer(chart, block, "using 1:2 with lines lw 1 lc rgb '#888888'");
}

/* From a mark towards what lies beyond the edge: 0 where the axis holds it. */
static double beyond_pct(const struct stv__gauges *gauges, const struct stv_told_figure *f,
                         double value)
{
    double from = placed_pct(gauges, f, value), pct = drawn_pct(f, value);
    return fmin(fmax(pct, gauges->low[f->what]), gauges->high[f->what]) - from;
}

static void add_arrows(const struct stv__gauges *gauges, struct stv_chart *chart,
                       enum stv_gauged what)
{
    size_t block = stv_chart_block(chart), n = 0;
    for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        const double row[] = {placed_pct(gauges, f, f->told), placed_pct(gauges, f, f->measured),
                              beyond_pct(gauges, f, f->told), beyond_pct(gauges, f, f->measured)};
        if (row[2] == 0.0 && row[3] == 0.0)
            continue;
        stv_chart_row(chart, row, sizeof row / sizeof row[0]);
        n++;
    }
    if (n > 0)
        stv_chart_layer(chart, block,
                        "using 1:2:3:4 with vectors head filled lw 1.5 lc rgb '#000000'");
}

static void add_marks(const struct stv__gauges *gauges, struct stv_chart *chart,
                      enum stv_gauged what)
{
    for (int wood = 0; wood < STV_WOOD_HISTORY_N; wood++)
        for (int is_miss = 0; is_miss <= 1; is_miss++) {
            size_t block = stv_chart_block(chart), n = 0;
            for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
                const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
                const double row[] = {placed_pct(gauges, f, f->told),
                                      placed_pct(gauges, f, f->measured)};
                if ((int)f->wood != wood || f->is_miss != (is_miss != 0))
                    continue;
                stv_chart_row(chart, row, 2);
                n++;
            }
            char how[96];
            snprintf(how, sizeof how, "using 1:2 with points pt %d ps %s lw 1.5 lc rgb '%s'",
                     is_miss ? woods[wood].filled : woods[wood].open, is_miss ? "0.8" : "0.6",
                     is_miss ? "#000000" : woods[wood].colour);
            if (n > 0)
                stv_chart_layer(chart, block, how);
        }
}

/* The largest miss below a size; NULL: none is left. */
const struct stv_told_figure *stv__gauge_next_miss(const struct stv__gauges *gauges,
                                                   enum stv_gauged what, double below)
{
    const struct stv_told_figure *best = NULL;
    for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        if (f->is_miss && stv__gauge_miss_size(f) < below &&
            (best == NULL || stv__gauge_miss_size(f) > stv__gauge_miss_size(best)))
            best = f;
    }
    return best;
}

/* A label's box in the panel, pixels from its lower left corner. */
struct box {
    double left_px, right_px, low_px, high_px;
};

static struct box meet(struct box a, struct box b)
{
    return (struct box){fmax(a.left_px, b.left_px), fmin(a.right_px, b.right_px),
                        fmax(a.low_px, b.low_px), fmin(a.high_px, b.high_px)};
}

static bool overlap(struct box a, struct box b)
{
    struct box both = meet(a, b);
    return both.left_px < both.right_px && both.low_px < both.high_px;
}

/* What a label there would lie on: marks, strokes, the line of equals. */
static int count_under(const struct stv__gauges *gauges, enum stv_gauged what, struct box box)
{
    double low = gauges->low[what], px = SIDE_PX / (gauges->high[what] - low);
    int n = box.low_px < box.right_px && box.left_px < box.high_px;
    for (size_t k = 0; k < gauges->n_drawn[what]; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        double x_px = px * (placed_pct(gauges, f, f->told) - low);
        double y_px = px * (placed_pct(gauges, f, f->measured) - low);
        double reach_px = px * drawn_pct(f, reach_of(f));
        const struct box mark = {x_px - MARK_PX, x_px + MARK_PX, y_px - MARK_PX, y_px + MARK_PX};
        const struct box lying = {px * (drawn_pct(f, f->told_p05) - low),
                                  px * (drawn_pct(f, f->told_p95) - low), y_px - 1.0, y_px + 1.0};
        const struct box upright = {x_px - 1.0, x_px + 1.0, y_px - reach_px, y_px + reach_px};
        n += MARK_WEIGHT * overlap(box, mark);
        if (!stv__gauge_is_far(gauges, f))
            n += overlap(box, lying) + overlap(box, upright);
    }
    return n;
}

/* Labels of a panel, and where they stand. */
struct labels {
    struct box boxes[LABELS_MOST];
    size_t n;
};

/* The clearest place around a mark, near before far; false: every one is off the panel or taken. */
static bool find_box(const struct stv__gauges *gauges, const struct stv_told_figure *f,
                     const struct labels *labels, double width_px, struct box *out)
{
    double low = gauges->low[f->what], px = SIDE_PX / (gauges->high[f->what] - low);
    double x_px = px * (placed_pct(gauges, f, f->told) - low);
    double y_px = px * (placed_pct(gauges, f, f->measured) - low);
    static const int sides[8][2] = {{1, -1}, {-1, 1},  {1, 0}, {-1, 0},
                                    {1, 1},  {-1, -1}, {0, 1}, {0, -1}};
    const struct box panel = {0.0, SIDE_PX + BESIDE_PX, 0.0, SIDE_PX};
    int least = INT_MAX;
    for (int i = 0; i < 8 * N_RINGS; i++) {
        double away_px = NEAR_PX * (1.0 + (double)(i / 8));
        double middle_px = x_px + sides[i % 8][0] * (0.5 * width_px + away_px);
        double height_px = y_px + sides[i % 8][1] * (0.5 * STV_CHART_FONT_PX + away_px - 4.0);
        const struct box box = {middle_px - 0.5 * width_px, middle_px + 0.5 * width_px,
                                height_px - 0.5 * STV_CHART_FONT_PX,
                                height_px + 0.5 * STV_CHART_FONT_PX};
        const struct box inside = meet(box, panel);
        bool is_taken = inside.left_px != box.left_px || inside.right_px != box.right_px ||
                        inside.low_px != box.low_px || inside.high_px != box.high_px;
        for (size_t k = 0; k < labels->n; k++)
            is_taken |= overlap(box, labels->boxes[k]);
        int n = is_taken ? INT_MAX : count_under(gauges, f->what, box) + 2 * (i / 8);
        if (n < least) {
            least = n;
            *out = box;
        }
    }
    return least < INT_MAX;
}

static void add_id(const struct stv__gauges *gauges, const struct stv_told_figure *f,
                   struct labels *labels, struct stv_chart *chart)
{
    double low = gauges->low[f->what], px = SIDE_PX / (gauges->high[f->what] - low);
    struct stv_text id = {0};
    struct box box;
    stv_quote_clean_id(&id, f->cask_id, STV__GAUGE_ID_CHARS);
    if (beyond_pct(gauges, f, f->measured) != 0.0) {
        stv_text_add(&id, " at ");
        stv_text_add_number(&id, drawn_pct(f, f->measured), 0);
    }
    if (find_box(gauges, f, labels, CHAR_PX * (double)id.n, &box)) {
        labels->boxes[labels->n++] = box;
        stv_chart_label(chart,
                        &(struct stv_chart_label){stv_text_string(&id), low + box.left_px / px,
                                                  low + 0.5 * (box.low_px + box.high_px) / px,
                                                  "first", "left", STV_COLOUR_INK, 0});
    }
    stv_text_free(&id);
}

/* Ids of the figures far off and of the largest misses. */
static void add_ids(const struct stv__gauges *gauges, struct stv_chart *chart, enum stv_gauged what)
{
    struct labels labels = {.n = 0};
    double below = INFINITY;
    for (size_t k = 0; k < gauges->n_drawn[what] && labels.n < LABELS_MOST; k++) {
        const struct stv_told_figure *f = &gauges->told->figures[gauges->drawn[what][k]];
        if (stv__gauge_is_far(gauges, f))
            add_id(gauges, f, &labels, chart);
    }
    for (const struct stv_told_figure *f;
         labels.n < LABELS_MOST && (f = stv__gauge_next_miss(gauges, what, below)) != NULL;) {
        below = stv__gauge_miss_size(f);
        if (!stv__gauge_is_far(gauges, f))
            add_id(gauges, f, &labels, chart);
    }
}

static void add_panel(const struct stv__gauges *gauges, struct stv_chart *chart,
                      enum stv_gauged what, double left)
{
    double step = stv_chart_nice_step(gauges->high[what] - gauges->low[what], VALUE_LABELS_MOST);
    stv_chart_panel(chart, left, left + SIDE_PX, TOP_PX, TOP_PX + SIDE_PX);
    stv_chart_axis(chart, 'x', gauges->low[what], gauges->high[what]);
    stv_chart_axis(chart, 'y', gauges->low[what], gauges->high[what]);
    for (int axis = 0; axis < 2; axis++) {
        stv_text_add(&chart->script, axis == 0 ? "set xtics " : "set ytics ");
        stv_text_add_exact(&chart->script, step);
        stv_text_add(&chart->script, axis == 0 ? " offset 0,0.35\n" : "\n");
    }
    stv_text_add(&chart->script, "set border 3 lw 1 lc rgb '" STV_COLOUR_FAINT "'\n");
    stv_chart_label(chart,
                    &(struct stv_chart_label){stv__gauged[what].heading, left - 48.0, TOP_PX - 18.0,
                                              "px", "left", STV_COLOUR_INK, 0});
    stv_chart_label(chart, &(struct stv_chart_label){stv__gauged[what].under, left + SIDE_PX,
                                                     TOP_PX + SIDE_PX + 46.0, "px", "right",
                                                     STV_COLOUR_INK, 0});
    add_equals(gauges, chart, what);
    add_crosses(gauges, chart, what);
    add_arrows(gauges, chart, what);
    add_marks(gauges, chart, what);
    add_ids(gauges, chart, what);
    stv_chart_panel_end(chart);
}

static void add_key_mark(struct stv_chart *chart, double x, int mark, const char *colour)
{
    char how[96];
    snprintf(how, sizeof how, "using 1:2 with points pt %d ps 0.9 lw 1.5 lc rgb '%s'", mark,
             colour);
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, (const double[2]){x, 0.5 * KEY_PX}, 2);
    stv_chart_layer(chart, block, how);
}

/* Right of the mark at x. */
static void add_key_name(struct stv_chart *chart, double x, const char *name)
{
    stv_chart_label(chart, &(struct stv_chart_label){name, x + 14.0, 0.5 * KEY_PX, "first", "left",
                                                     STV_COLOUR_INK, 0});
}

/* What the marks mean: a panel whose unit is the pixel. */
static void add_key(const struct stv__gauges *gauges, struct stv_chart *chart)
{
    double top = TOP_PX + SIDE_PX + TICS_PX, x = 20.0;
    bool has[STV_WOOD_HISTORY_N] = {false}, has_miss[STV_WOOD_HISTORY_N] = {false};
    bool is_any_missed = false;
    for (size_t i = 0; i < gauges->told->n; i++) {
        const struct stv_told_figure *f = &gauges->told->figures[i];
        has[f->wood] = true;
        has_miss[f->wood] |= f->is_miss;
        is_any_missed |= f->is_miss;
    }
    stv_chart_panel(chart, 0.0, STV_CHART_WIDTH_PX, top, top + KEY_PX);
    stv_chart_axis(chart, 'x', 0.0, STV_CHART_WIDTH_PX);
    stv_chart_axis(chart, 'y', 0.0, KEY_PX);
    stv_text_add(&chart->script, "set border 0\nunset tics\nunset grid\n");
    for (int w = 0; w < STV_WOOD_HISTORY_N; w++) {
        if (!has[w])
            continue;
        add_key_mark(chart, x, woods[w].open, woods[w].colour);
        add_key_name(chart, x, stv_wood_history_name((enum stv_wood_history)w));
        x += KEY_GAP_PX + woods[w].name_px;
    }
    for (int w = 0; w < STV_WOOD_HISTORY_N; w++)
        if (has_miss[w]) {
            add_key_mark(chart, x, woods[w].filled, "#000000");
            x += KEY_MARK_PX;
        }
    if (is_any_missed)
        add_key_name(chart, x - KEY_MARK_PX, "a miss");
    stv_chart_panel_end(chart);
}

enum stv_status stv_chart_gauges(const struct stv_told_figures *told, bool is_invented,
                                 struct stv_chart *out)
{
    struct stv__gauges gauges = {.told = told};
    size_t *room = malloc((told->n + 1) * sizeof *room);
    if (room == NULL)
        return STV_E_MEMORY;
    enum stv_status status = choose(&gauges, STV_GAUGED_LITRES, room);
    if (status == STV_OK)
        status = choose(&gauges, STV_GAUGED_STRENGTH, room + gauges.n_drawn[STV_GAUGED_LITRES]);
    if (status == STV_OK &&
        gauges.n_drawn[STV_GAUGED_LITRES] + gauges.n_drawn[STV_GAUGED_STRENGTH] == 0)
        status = STV_E_NO_DATA;
    for (int what = 0; status == STV_OK && what < STV_GAUGED_N; what++)
        if (gauges.n_drawn[what] > 0)
            status = find_scale(&gauges, (enum stv_gauged)what);
    if (status != STV_OK) {
        free(room);
        return status;
    }
    struct stv_text subtitle = {0};
    stv__gauges_subtitle(&gauges, &subtitle);
    stv_chart_begin(out, &(struct stv_chart_frame){
                             "gauges-1", "What was told, and what was measured",
                             stv_text_string(&subtitle),
                             (int)(TOP_PX + SIDE_PX + TICS_PX + KEY_PX + BELOW_PX), is_invented});
    stv_text_free(&subtitle);
    double left = LEFT_PX;
    for (int what = 0; what < STV_GAUGED_N; what++) {
        if (gauges.n_drawn[what] == 0)
            continue;
        add_panel(&gauges, out, (enum stv_gauged)what, left);
        left += PANEL_STEP_PX;
    }
    add_key(&gauges, out);
    stv_chart_end(out);
    stv__gauges_table(&gauges, out);
    stv__gauges_words(&gauges, out);
    free(room);
    return stv_chart_status(out);
}
