/* Calendar strips: for each logger a band of its days.  Height tells the state as much as colour:
 * a full band for days that are used whole, a lower one for days in part, a half band with a dark
 * line for suspect ones, a thin line where hours are missing.  Long spans are drawn in bins of
 * several days that show their worst day, so that no bad day is lost. */
#include "plots/charts.h"

#include "plots/quote.h"

#include <math.h>
#include <stdio.h>

#define ROW_PX 34.0
#define LEFT_PX 124.0
#define RIGHT_PX 600.0
#define TOP_PX 74.0
#define BELOW_PX 62.0
#define BINS_MOST 366
#define TIME_LABELS_MOST 5
#define LABEL_CHARS 12
#define WHOLE_FRAC 0.99

enum state { OUTSIDE, USED, PARTLY, SUSPECT, MISSING, N_STATES };

static const struct {
    double half; /* height */
    const char *how;
} looks[N_STATES] = {
    [USED] = {0.34, "with boxxyerror fs solid noborder lc rgb '#9ad4c0'"},
    [PARTLY] = {0.20, "with boxxyerror fs solid noborder lc rgb '#4f9f87'"},
    [SUSPECT] = {0.34, "with boxxyerror fs solid noborder lc rgb '" STV_COLOUR_POINT "'"},
    [MISSING] = {0.05, "with boxxyerror fs solid noborder lc rgb '#000000'"},
};

struct band {
    const struct stv_strip *strips;
    size_t n;
    int64_t from_d, to_d; /* first day, and the one behind the last */
    int64_t bin_d;
};

static enum state state_of_day(const struct stv_strip *strip, int64_t day_d)
{
    int64_t at = day_d - strip->first_day_d;
    if (at < 0 || at >= (int64_t)strip->n_days || isnan(strip->used_frac[at]))
        return OUTSIDE;
    if (strip->used_frac[at] <= 0.0f && strip->suspect_frac[at] <= 0.0f)
        return MISSING;
    if (strip->suspect_frac[at] > 0.0f)
        return SUSPECT;
    return strip->used_frac[at] < (float)WHOLE_FRAC ? PARTLY : USED;
}

/* The worst day of a bin: missing before suspect before partly used. */
static enum state state_of_bin(const struct band *band, const struct stv_strip *strip,
                               int64_t from_d)
{
    enum state worst = OUTSIDE;
    for (int64_t d = from_d; d < from_d + band->bin_d && d < band->to_d; d++) {
        enum state state = state_of_day(strip, d);
        worst = state > worst ? state : worst;
    }
    return worst;
}

/* Boxes of one state, neighbours in one. */
static size_t add_boxes(const struct band *band, enum state wanted, struct stv_chart *chart)
{
    size_t n_boxes = 0;
    for (size_t i = 0; i < band->n; i++) {
        double y = (double)(band->n - 1 - i);
        int64_t from_d = INT64_MIN;
        for (int64_t d = band->from_d; d <= band->to_d; d += band->bin_d) {
            bool is_wanted = d < band->to_d && state_of_bin(band, &band->strips[i], d) == wanted;
            if (is_wanted && from_d == INT64_MIN)
                from_d = d;
            if (is_wanted || from_d == INT64_MIN)
                continue;
            double left = (double)from_d, right = (double)(d < band->to_d ? d : band->to_d);
            const double row[] = {0.5 * (left + right),  y, left, right, y - looks[wanted].half,
                                  y + looks[wanted].half};
            stv_chart_row(chart, row, sizeof row / sizeof row[0]);
            from_d = INT64_MIN;
            n_boxes++;
        }
    }
    return n_boxes;
}

struct counts {
    double used_d, suspect_d, missing_d, all_d;
};

static struct counts count_days(const struct stv_strip *strip)
{
    struct counts counts = {0};
    for (size_t i = 0; i < strip->n_days; i++) {
        if (isnan(strip->used_frac[i]))
            continue;
        counts.all_d += 1.0;
        counts.used_d += (double)strip->used_frac[i];
        counts.suspect_d += (double)strip->suspect_frac[i];
    }
    counts.missing_d = counts.all_d - counts.used_d - counts.suspect_d;
    return counts;
}

static void add_labels(const struct band *band, struct stv_chart *chart)
{
    stv_text_add(&chart->script, "set ytics (");
    for (size_t i = 0; i < band->n; i++) {
        struct stv_text label = {0};
        stv_quote_clean(&label, band->strips[i].label, LABEL_CHARS);
        stv_text_add(&chart->script, i == 0 ? "" : ", ");
        stv_quote_gnuplot_tic(&chart->script, stv_text_string(&label), STV_QUOTE_LABEL_CHARS);
        stv_text_format(&chart->script, " %d", (int)(band->n - 1 - i));
        stv_text_free(&label);
    }
    stv_text_add(&chart->script, ")\nset ytics scale 0\n");
    for (size_t i = 0; i < band->n; i++) {
        char text[32];
        struct counts counts = count_days(&band->strips[i]);
        snprintf(text, sizeof text, "%.1f %%",
                 100.0 * (counts.used_d + counts.suspect_d) / fmax(1.0, counts.all_d));
        stv_chart_label(chart,
                        &(struct stv_chart_label){
                            text, (double)band->to_d + 0.01 * (double)(band->to_d - band->from_d),
                            (double)(band->n - 1 - i), "first", "left", STV_COLOUR_INK, 0});
    }
}

static void add_panel(const struct band *band, struct stv_chart *chart)
{
    stv_chart_panel(chart, LEFT_PX, RIGHT_PX, TOP_PX, chart->height_px - BELOW_PX);
    stv_chart_axis(chart, 'x', (double)band->from_d, (double)band->to_d);
    stv_chart_axis(chart, 'y', -0.5, (double)band->n - 0.5);
    stv_chart_time_tics(chart, band->from_d, band->to_d, TIME_LABELS_MOST, true);
    stv_text_add(&chart->script, "set xtics offset 0,0.35\nunset grid\nset grid xtics back lt 1 "
                                 "lw 1 lc rgb '" STV_COLOUR_GRID "'\n");
    add_labels(band, chart);
    for (int state = USED; state < N_STATES; state++) {
        char how[120];
        size_t block = stv_chart_block(chart);
        snprintf(how, sizeof how, "using 1:2:3:4:5:6 %s", looks[state].how);
        if (add_boxes(band, (enum state)state, chart) > 0)
            stv_chart_layer(chart, block, how);
    }
    stv_chart_panel_end(chart);
}

static void fill_table(const struct band *band, struct stv_chart *chart)
{
    static const char *const heads[] = {"logger", "day", "used_frac", "suspect_frac"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < band->n; i++) {
        const struct stv_strip *strip = &band->strips[i];
        for (size_t k = 0; k < strip->n_days; k++) {
            struct stv_text day = {0};
            if (isnan(strip->used_frac[k]))
                continue;
            stv_text_add_iso_day(&day, strip->first_day_d + (int64_t)k);
            stv_sheet_add_text(&chart->table, strip->label);
            stv_sheet_add_text(&chart->table, stv_text_string(&day));
            stv_sheet_add_number(&chart->table, (double)strip->used_frac[k], 3);
            stv_sheet_add_number(&chart->table, (double)strip->suspect_frac[k], 3);
            stv_text_free(&day);
        }
    }
}

static void add_words(const struct band *band, struct stv_chart *chart)
{
    stv_text_format(&chart->words, "Days of %zu loggers.", band->n);
    for (size_t i = 0; i < band->n; i++) {
        struct counts counts = count_days(&band->strips[i]);
        stv_text_format(&chart->words, " %s: %.0f days, %.1f missing, %.1f suspect.",
                        band->strips[i].label, counts.all_d, counts.missing_d, counts.suspect_d);
    }
    stv_text_format(&chart->note,
                    "Full band: the day is used. Lower band: in part. Purple: suspect hours, used. "
                    "Black line: missing. At the right: share of the hours that are known.%s",
                    band->bin_d > 1 ? " Each mark is several days and shows the worst of them."
                                    : "");
}

enum stv_status stv_chart_strips(const struct stv_strip *strips, size_t n, bool is_invented,
                                 struct stv_chart *out)
{
    struct band band = {.strips = strips, .n = n, .from_d = INT64_MAX, .to_d = INT64_MIN};
    for (size_t i = 0; i < n; i++) {
        int64_t end_d = strips[i].first_day_d + (int64_t)strips[i].n_days;
        if (strips[i].n_days == 0)
            continue;
        band.from_d = strips[i].first_day_d < band.from_d ? strips[i].first_day_d : band.from_d;
        band.to_d = end_d > band.to_d ? end_d : band.to_d;
    }
    if (n == 0 || n > STV_STRIPS_MAX || band.to_d <= band.from_d)
        return STV_E_NO_DATA;
    band.bin_d = (band.to_d - band.from_d + BINS_MOST - 1) / BINS_MOST;
    int height = (int)(TOP_PX + ROW_PX * (double)n + BELOW_PX);
    stv_chart_begin(out,
                    &(struct stv_chart_frame){"loggers", "Which days the loggers gave",
                                              "low band: in part; purple: suspect; black line: "
                                              "missing",
                                              height, is_invented});
    add_panel(&band, out);
    stv_chart_end(out);
    fill_table(&band, out);
    add_words(&band, out);
    return stv_chart_status(out);
}
