/* Bottling windows: one row per cask, a bar from the month a window opens to the month it closes,
 * dark at its surest months where the trials agree on them.  What opens and closes it stands in one
 * word at each end; an arrow says that it is still open at the last month looked at.  An end that
 * is not clear has no edge: its outline runs out in dashes.  Casks without a window say what fails.
 * The windows come from the model; nothing is judged here. */
#include "plots/charts.h"

#include "model/window_clear.h"
#include "plots/quote.h"
#include "plots/window_words.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define ROW_PX 30.0
#define LEFT_PX 124.0
#define WORD_PX 9.5 /* of a letter */
#define RIGHT_PX 664.0
#define TOP_PX 74.0
#define BELOW_PX 66.0
#define BAR_HALF 0.32
#define CORE_LEAST_SHARE 0.008 /* least half width of the dark core, of the months' span */
#define OPEN_SHARE 0.05        /* length of an end that is not clear, of the months' span */
#define REASON_SHARE 0.15      /* room for words at both ends, as a share of the months' span */
#define TIME_LABELS_MOST 5
#define ID_CHARS 8
#define MONTH_D 30.4375

struct windows {
    const struct stv_windows_input *input;
    double from_d, to_d; /* ends of the axis */
    double gap_d;        /* between a bar and its word */
};

static double day_at(const struct windows *windows, size_t month_idx)
{
    return (double)windows->input->months->days_d[month_idx];
}

static const struct stv_window *window_at(const struct windows *windows, size_t row)
{
    return &windows->input->bottling->windows[windows->input->first_row + row];
}

/* The first row stands at the top. */
static double row_y(const struct windows *windows, size_t row)
{
    return (double)(windows->input->n_rows - 1 - row);
}

/* One word for a bar's end; the tables have the full text. */
static const char *short_reason(enum stv_window_side side)
{
    switch (side) {
    case STV_SIDE_AGE:
        return "age";
    case STV_SIDE_WOOD_LOW:
    case STV_SIDE_WOOD_HIGH:
        return "wood";
    case STV_SIDE_STRENGTH:
        return "strength";
    case STV_SIDE_VOLUME:
        return "bottles";
    case STV_SIDE_EMPTIED:
        return "emptied";
    case STV_SIDE_NONE:
        break;
    }
    return "";
}

/* A window's bar: a month is as wide as a month. */
struct bar {
    double ends[2];
    double vague_d[2]; /* of each end that is not clear, at most half the bar; else 0 */
};

/* False: the row has no window. */
static bool find_bar(const struct windows *windows, size_t row, struct bar *out)
{
    const struct stv_window *window = window_at(windows, row);
    if (!window->has_window)
        return false;
    out->ends[0] = day_at(windows, window->open_idx);
    out->ends[1] = day_at(windows, window->close_idx) + MONTH_D;
    double most_d =
        fmin(0.5 * (out->ends[1] - out->ends[0]), OPEN_SHARE * (windows->to_d - windows->from_d));
    out->vague_d[0] = stv_window_opens_clear(window) ? 0.0 : most_d;
    out->vague_d[1] = stv_window_closes_clear(window) ? 0.0 : most_d;
    return true;
}

static void add_row(struct stv_chart *chart, double left, double right, double y)
{
    const double row[] = {0.5 * (left + right), y, left, right, y - BAR_HALF, y + BAR_HALF};
    stv_chart_row(chart, row, sizeof row / sizeof row[0]);
}

/* The sure part of each bar, edge to edge. */
static size_t add_bars(const struct windows *windows, struct stv_chart *chart)
{
    size_t n = 0;
    for (size_t r = 0; r < windows->input->n_rows; r++) {
        struct bar bar;
        if (!find_bar(windows, r, &bar))
            continue;
        double left = bar.ends[0] + bar.vague_d[0], right = bar.ends[1] - bar.vague_d[1];
        if (!(right > left))
            continue;
        add_row(chart, left, right, row_y(windows, r));
        n++;
    }
    return n;
}

/* The months that cannot be told from the surest one. */
static size_t add_cores(const struct windows *windows, struct stv_chart *chart)
{
    size_t n = 0;
    for (size_t r = 0; r < windows->input->n_rows; r++) {
        const struct stv_window *window = window_at(windows, r);
        if (!window->has_window || !stv_window_surest_is_clear(window))
            continue;
        double from = day_at(windows, window->surest_from_idx);
        double to = day_at(windows, window->surest_to_idx) + MONTH_D;
        double half = fmax(0.5 * (to - from), CORE_LEAST_SHARE * (windows->to_d - windows->from_d));
        add_row(chart, 0.5 * (from + to) - half, 0.5 * (from + to) + half, row_y(windows, r));
        n++;
    }
    return n;
}

/* Upper and lower outline of the ends that are not clear. */
static size_t add_open_ends(const struct windows *windows, struct stv_chart *chart)
{
    size_t n = 0;
    for (size_t r = 0; r < windows->input->n_rows; r++) {
        struct bar bar;
        if (!find_bar(windows, r, &bar))
            continue;
        for (int i = 0; i < 4; i++) {
            double vague_d = bar.vague_d[i / 2];
            double from = i < 2 ? bar.ends[0] : bar.ends[1] - vague_d;
            double y = row_y(windows, r) + (i % 2 ? BAR_HALF : -BAR_HALF);
            const double rows[2][2] = {{from, y}, {from + vague_d, y}};
            if (!(vague_d > 0.0))
                continue;
            stv_chart_row(chart, rows[0], 2);
            stv_chart_row(chart, rows[1], 2);
            stv_chart_row(chart, NULL, 0);
            n++;
        }
    }
    return n;
}

static void add_layers(const struct windows *windows, struct stv_chart *chart)
{
    size_t block = stv_chart_block(chart);
    if (add_bars(windows, chart) > 0)
        stv_chart_layer(chart, block,
                        "using 1:2:3:4:5:6 with boxxyerror fs solid noborder lc rgb '#9ad4c0'");
    block = stv_chart_block(chart);
    if (add_cores(windows, chart) > 0)
        stv_chart_layer(chart, block,
                        "using 1:2:3:4:5:6 with boxxyerror fs solid noborder lc rgb '#00523b'");
    block = stv_chart_block(chart);
    if (add_open_ends(windows, chart) > 0)
        stv_chart_layer(chart, block, "using 1:2 with lines lw 2 dt (3,3) lc rgb '#00523b'");
}

static void add_word(struct stv_chart *chart, const char *word, double x, double y,
                     const char *align)
{
    stv_chart_boxed_label(chart,
                          &(struct stv_chart_label){word, x, y, "first", align, STV_COLOUR_INK, 0});
}

/* Where a word left of x ends, so that the line of today does not run through it. */
static double clear_of_today(const struct windows *windows, const char *word, double x)
{
    double today = (double)windows->input->as_of_day_d;
    double day_px = (RIGHT_PX - LEFT_PX) / (windows->to_d - windows->from_d);
    double left = x - WORD_PX * (double)strlen(word) / day_px;
    return today > left - windows->gap_d && today < x ? today - windows->gap_d : x;
}

static void add_row_words(const struct windows *windows, struct stv_chart *chart, size_t row)
{
    const struct stv_window *window = window_at(windows, row);
    double y = row_y(windows, row);
    struct bar bar;
    if (!find_bar(windows, row, &bar)) {
        char text[48];
        const char *side = window->never_by == STV_SIDE_WOOD_LOW    ? "too little "
                           : window->never_by == STV_SIDE_WOOD_HIGH ? "too much "
                                                                    : "";
        snprintf(text, sizeof text, "no window: %s%s", side, short_reason(window->never_by));
        stv_chart_boxed_label(chart,
                              &(struct stv_chart_label){text, day_at(windows, 0) + windows->gap_d,
                                                        y, "first", "left", STV_COLOUR_FAINT, 0});
        return;
    }
    char word[24];
    snprintf(word, sizeof word, "%s%s",
             window->opens_by == STV_SIDE_NONE ? "open" : short_reason(window->opens_by),
             stv_window_opens_clear(window) ? "" : "?");
    add_word(chart, word, clear_of_today(windows, word, bar.ends[0] - windows->gap_d), y, "right");
    snprintf(word, sizeof word, "%s%s", window->closes ? short_reason(window->closes_by) : "→ open",
             stv_window_closes_clear(window) ? "" : "?");
    add_word(chart, word, bar.ends[1] + windows->gap_d, y, "left");
}

/* Cask ids are tic labels, cut to fit the left margin. */
static void add_cask_labels(const struct windows *windows, struct stv_chart *chart)
{
    stv_text_add(&chart->script, "set ytics (");
    for (size_t r = 0; r < windows->input->n_rows; r++) {
        struct stv_text label = {0};
        int cask_idx = window_at(windows, r)->cask_idx;
        stv_quote_clean_id(&label, windows->input->ledger->casks[cask_idx].id, ID_CHARS);
        stv_text_add(&chart->script, r == 0 ? "" : ", ");
        stv_quote_gnuplot_tic(&chart->script, stv_text_string(&label), STV_QUOTE_LABEL_CHARS);
        stv_text_format(&chart->script, " %d", (int)row_y(windows, r));
        stv_text_free(&label);
    }
    stv_text_add(&chart->script, ")\nset ytics scale 0\n");
}

static void add_today(const struct windows *windows, struct stv_chart *chart)
{
    double today = (double)windows->input->as_of_day_d;
    if (today < windows->from_d || today > windows->to_d)
        return;
    double top = (double)windows->input->n_rows - 0.5;
    const double rows[2][2] = {{today, -0.5}, {today, top}};
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, rows[0], 2);
    stv_chart_row(chart, rows[1], 2);
    stv_chart_layer(chart, block, "using 1:2 with lines lw 2 dt (4,3) lc rgb '#000000'");
    add_word(chart, "today", today, top + 0.3, "center");
}

static void add_panel(const struct windows *windows, struct stv_chart *chart)
{
    const struct stv_outlook *months = windows->input->months;
    double n_rows = (double)windows->input->n_rows;
    stv_chart_panel(chart, LEFT_PX, RIGHT_PX, TOP_PX, chart->height_px - BELOW_PX);
    stv_chart_axis(chart, 'x', windows->from_d, windows->to_d);
    stv_chart_axis(chart, 'y', -0.5, n_rows);
    stv_chart_time_tics(chart, months->days_d[0], months->days_d[months->n_days - 1],
                        TIME_LABELS_MOST, true);
    stv_text_add(&chart->script, "set xtics offset 0,0.35\nunset grid\nset grid xtics back lt 1 "
                                 "lw 1 lc rgb '" STV_COLOUR_GRID "'\n");
    add_cask_labels(windows, chart);
    for (size_t r = 0; r < windows->input->n_rows; r++)
        add_row_words(windows, chart, r);
    add_layers(windows, chart);
    add_today(windows, chart);
    stv_chart_panel_end(chart);
}

static void add_month_cell(struct stv_sheet *table, const struct windows *windows,
                           const struct stv_window *window, size_t month_idx)
{
    struct stv_text text = {0};
    if (window->has_window)
        stv_text_add_iso_day(&text, windows->input->months->days_d[month_idx]);
    stv_sheet_add_text(table, stv_text_string(&text));
    stv_text_free(&text);
}

static void add_clear_cell(struct stv_sheet *table, const struct stv_window *window, bool is_clear)
{
    stv_sheet_add_text(table, !window->has_window ? "" : is_clear ? "yes" : "no");
}

static void fill_table(const struct windows *windows, struct stv_chart *chart)
{
    static const char *const heads[] = {"cask",        "opens",     "surest",      "last_month_in",
                                        "opens_by",    "closes_by", "surest_pct",  "still_open",
                                        "surest_from", "surest_to", "opens_clear", "surest_clear",
                                        "closes_clear"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t r = 0; r < windows->input->n_rows; r++) {
        const struct stv_window *window = window_at(windows, r);
        struct stv_sheet *table = &chart->table;
        stv_sheet_add_text(table, windows->input->ledger->casks[window->cask_idx].id);
        add_month_cell(table, windows, window, window->open_idx);
        add_month_cell(table, windows, window, window->surest_idx);
        add_month_cell(table, windows, window, window->close_idx);
        stv_sheet_add_text(table, window->has_window ? short_reason(window->opens_by)
                                                     : short_reason(window->never_by));
        stv_sheet_add_text(table, window->has_window ? short_reason(window->closes_by) : "none");
        stv_sheet_add_number(table, 100.0 * window->surest_frac, 0);
        stv_sheet_add_text(table, window->has_window && !window->closes ? "yes" : "no");
        add_month_cell(table, windows, window, window->surest_from_idx);
        add_month_cell(table, windows, window, window->surest_to_idx);
        add_clear_cell(table, window, stv_window_opens_clear(window));
        add_clear_cell(table, window, stv_window_surest_is_clear(window));
        add_clear_cell(table, window, stv_window_closes_clear(window));
    }
}

static void add_words(const struct windows *windows, struct stv_chart *chart)
{
    size_t n_with = 0;
    for (size_t r = 0; r < windows->input->n_rows; r++)
        n_with += window_at(windows, r)->has_window != 0;
    bool is_of_kinds = windows->input->is_of_kinds;
    stv_text_format(&chart->words, "Bottling windows of %zu %s; %zu have one.",
                    windows->input->n_rows, is_of_kinds ? "kinds" : "casks", n_with);
    for (size_t r = 0; r < windows->input->n_rows; r++) {
        const struct stv_window *window = window_at(windows, r);
        if (!window->has_window)
            continue;
        const struct stv_outlook *months = windows->input->months;
        stv_text_format(&chart->words, " %s%s: ", is_of_kinds ? "" : "Cask ",
                        windows->input->ledger->casks[window->cask_idx].id);
        stv_text_add_month(&chart->words, months->days_d[window->open_idx]);
        stv_text_add(&chart->words, stv_window_opens_clear(window) ? " to " : " (not clear) to ");
        stv_text_add_month(&chart->words, months->days_d[window->close_idx]);
        stv_text_add(&chart->words, !window->closes                   ? " or later, surest "
                                    : stv_window_closes_clear(window) ? ", surest "
                                                                      : " (not clear), surest ");
        stv_window_add_surest(&chart->words, window, months->days_d);
        stv_text_add(&chart->words, ".");
    }
    stv_text_add(
        &chart->note,
        "Bar: from opening to closing; dark: the surest months, none where 7 trials in 10 "
        "agree on no month. An end in dashes, with \"?\": wood decides it and is not known "
        "to the half year. At its left end: "
        "what opens it, or \"open\" when it is open from the start; at its right "
        "end: what closes it, or \"→ open\" when nothing does in the months looked "
        "at. Dashed line: today.");
}

enum stv_status stv_chart_windows(const struct stv_windows_input *input, struct stv_chart *out)
{
    if (input->n_rows == 0 || input->n_rows > STV_WINDOW_ROWS_MAX || input->months->n_days < 2)
        return STV_E_NO_DATA;
    double first = (double)input->months->days_d[0];
    double last = (double)input->months->days_d[input->months->n_days - 1] + MONTH_D;
    struct windows windows = {.input = input,
                              .from_d = first - REASON_SHARE * (last - first),
                              .to_d = last + REASON_SHARE * (last - first),
                              .gap_d = 0.012 * (last - first)};
    struct stv_text title = {0}, name = {0};
    stv_text_format(&title, "When each %s can be bottled", input->is_of_kinds ? "kind" : "cask");
    stv_text_format(&name, "windows-%zu", input->number);
    int height = (int)(TOP_PX + ROW_PX * ((double)input->n_rows + 0.5) + BELOW_PX);
    stv_chart_begin(out, &(struct stv_chart_frame){
                             stv_text_string(&name), stv_text_string(&title),
                             input->is_of_kinds
                                 ? "one row per kind; dark: surest; dashed, no dark: not clear"
                                 : "one row per cask; dark: surest; dashed, no dark: not clear",
                             height, input->is_invented});
    add_panel(&windows, out);
    stv_chart_end(out);
    fill_table(&windows, out);
    add_words(&windows, out);
    stv_text_free(&title);
    stv_text_free(&name);
    return stv_chart_status(out);
}
