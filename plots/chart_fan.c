/* Fan chart of one cask: strength above, litres below, on one time axis.  The line is the middle
 * of all trials; the dark area holds half of them, the light area nine in ten.  Rings are gauges.
 * Letters at the top say what was done and when.  Between the days told the areas are joined
 * by straight lines; days on which the cask is empty break them. */
#include "plots/charts.h"

#include "model/calendar.h"
#include "plots/quote.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define TITLE_ID_CHARS 36 /* of an id, with what stands beside it as wide as the picture */
#define HEIGHT_PX 602
#define LEFT_PX 66.0
#define RIGHT_PX 664.0
#define UPPER_TOP_PX 128.0
#define UPPER_BOTTOM_PX 270.0
#define LOWER_TOP_PX 308.0
#define LOWER_BOTTOM_PX 450.0
#define LETTERS_Y_PX 80.0
#define KEY_TOP_PX 502.0
#define KEY_LINE_PX 22.0
#define MEANINGS_A_LINE 5
#define LETTER_GAP_PX 16.0 /* letters closer than this join one group */
#define POINTS_MOST 200    /* days drawn; more are thinned to keep the file small */
#define LONE_HALF_WIDTH_D 10
#define TIME_LABELS_MOST 6
#define VALUE_LABELS_MOST 5
#define LEAST_SPAN 1.0       /* per cent or litres */
#define LEAST_LINE_REACH 0.6 /* drawn when within this share of the span below the data */

struct panel {
    enum stv_quantity quantity;
    double factor_nd, top_px, bottom_px;
    const char *heading;
    double low, high; /* ends of the axis */
    double least;     /* least strength line, NaN: none */
};

struct fan {
    const struct stv_fan_input *input;
    struct told *days; /* the outlook's and the cask's own, ascending, each once */
    size_t n_days;
    int64_t from_day_d, to_day_d;
    size_t every; /* one of the outlook's days in so many is drawn */
};

struct told {
    struct stv_fan_day at;
    bool is_own;
};

static int compare_told(const void *a, const void *b)
{
    const struct told *x = a, *y = b;
    int by_day = (x->at.day_d > y->at.day_d) - (x->at.day_d < y->at.day_d);
    return by_day != 0 ? by_day : y->is_own - x->is_own;
}

static enum stv_status gather_days(struct fan *fan)
{
    const struct stv_outlook *outlook = fan->input->outlook;
    const struct stv_fan_days none = {NULL, 0};
    const struct stv_fan_days *own = fan->input->own_days ? fan->input->own_days : &none;
    size_t n = 0, n_kept = 0, cask = fan->input->cask_idx;
    fan->days = calloc(outlook->n_days + own->n + 1, sizeof *fan->days);
    if (fan->days == NULL)
        return STV_E_MEMORY;
    for (size_t d = 0; d < own->n; d++)
        fan->days[n++] = (struct told){own->days[d], true};
    for (size_t d = 0; d < outlook->n_days; d++)
        fan->days[n++] = (struct told){{outlook->days_d[d],
                                        stv_outlook_range(outlook, cask, d, STV_Q_ABV20_FRAC),
                                        stv_outlook_range(outlook, cask, d, STV_Q_VOLUME20_L)},
                                       false};
    qsort(fan->days, n, sizeof *fan->days, compare_told);
    for (size_t d = 0; d < n; d++)
        if (n_kept == 0 || fan->days[d].at.day_d != fan->days[n_kept - 1].at.day_d)
            fan->days[n_kept++] = fan->days[d];
    fan->n_days = n_kept;
    return STV_OK;
}

static struct stv_range range_at(const struct fan *fan, const struct panel *panel, size_t day_idx)
{
    const struct stv_fan_day *day = &fan->days[day_idx].at;
    return stv_range_scaled(panel->quantity == STV_Q_ABV20_FRAC ? day->abv20_frac : day->volume20_l,
                            panel->factor_nd);
}

static double gauge_value(const struct panel *panel, const struct stv_report_gauge *gauge)
{
    return panel->factor_nd *
           (panel->quantity == STV_Q_ABV20_FRAC ? gauge->abv20_frac : gauge->volume20_l);
}

static bool is_own_gauge(const struct fan *fan, size_t i)
{
    const struct stv_report_gauge *gauge = &fan->input->gauges[i];
    return gauge->cask_idx == (int)fan->input->cask_idx && gauge->day_d >= fan->from_day_d &&
           gauge->day_d <= fan->to_day_d;
}

/* First and last day with liquid; false when there is none. */
static bool find_days(struct fan *fan)
{
    bool is_any = false;
    for (size_t d = 0; d < fan->n_days; d++) {
        const struct stv_fan_day *day = &fan->days[d].at;
        if (!isfinite(day->volume20_l.p50))
            continue;
        if (!is_any)
            fan->from_day_d = day->day_d;
        fan->to_day_d = day->day_d;
        is_any = true;
    }
    if (fan->from_day_d == fan->to_day_d) {
        fan->from_day_d -= LONE_HALF_WIDTH_D;
        fan->to_day_d += LONE_HALF_WIDTH_D;
    }
    fan->every = 1 + fan->input->outlook->n_days / POINTS_MOST;
    return is_any;
}

/* The axis holds all ranges and gauges with a little room; the least strength joins when near. */
static void find_values(const struct fan *fan, struct panel *panel)
{
    double low = NAN, high = NAN;
    for (size_t d = 0; d < fan->n_days; d++) {
        struct stv_range range = range_at(fan, panel, d);
        low = fmin(low, range.p05); /* fmin and fmax leave out NaN */
        high = fmax(high, range.p95);
    }
    for (size_t i = 0; i < fan->input->n_gauges; i++)
        if (is_own_gauge(fan, i)) {
            low = fmin(low, gauge_value(panel, &fan->input->gauges[i]));
            high = fmax(high, gauge_value(panel, &fan->input->gauges[i]));
        }
    double span = fmax(high - low, LEAST_SPAN);
    double middle = 0.5 * (low + high);
    low = fmin(low, middle - 0.5 * span);
    high = fmax(high, middle + 0.5 * span);
    if (panel->least > low - LEAST_LINE_REACH * span &&
        panel->least < high + LEAST_LINE_REACH * span) {
        low = fmin(low, panel->least);
        high = fmax(high, panel->least);
    }
    panel->low = low - 0.06 * span;
    panel->high = high + 0.06 * span;
}

/* A day of the outlook as a row: day, 5, 25, 50, 75 and 95 %. */
static void add_day(struct stv_chart *chart, int64_t day_d, struct stv_range r)
{
    const double row[] = {(double)day_d, r.p05, r.p25, r.p50, r.p75, r.p95};
    stv_chart_row(chart, row, sizeof row / sizeof row[0]);
}

/* A lone day gets some width, else its area would have none. */
static void end_run(struct stv_chart *chart, int64_t day_d, struct stv_range range, size_t n_run)
{
    if (n_run == 1) {
        add_day(chart, day_d - LONE_HALF_WIDTH_D, range);
        add_day(chart, day_d + LONE_HALF_WIDTH_D, range);
    }
    if (n_run > 0)
        stv_chart_row(chart, NULL, 0);
}

static void add_areas(const struct fan *fan, const struct panel *panel, struct stv_chart *chart)
{
    size_t block = stv_chart_block(chart);
    struct stv_range last = stv_range_point(NAN);
    int64_t last_day_d = 0;
    size_t n_run = 0;
    for (size_t d = 0; d < fan->n_days; d++) {
        struct stv_range range = range_at(fan, panel, d);
        bool is_kept = fan->days[d].is_own || d % fan->every == 0 || d + 1 == fan->n_days;
        if (!is_kept && isfinite(range.p50))
            continue;
        if (isfinite(range.p50)) {
            last = range;
            last_day_d = fan->days[d].at.day_d;
            add_day(chart, last_day_d, range);
            n_run++;
        } else {
            end_run(chart, last_day_d, last, n_run);
            n_run = 0;
        }
    }
    end_run(chart, last_day_d, last, n_run);
    stv_chart_layer(chart, block,
                    "using 1:2:6 with filledcurves fs solid noborder lc rgb '#b9e2d4'");
    stv_chart_layer(chart, block,
                    "using 1:3:5 with filledcurves fs solid noborder lc rgb '#5fbd9c'");
    stv_chart_layer(chart, block, "using 1:4 with lines lw 2.5 lc rgb '#000000'");
}

static void add_gauges(const struct fan *fan, const struct panel *panel, struct stv_chart *chart)
{
    size_t block = stv_chart_block(chart);
    size_t n = 0;
    for (size_t i = 0; i < fan->input->n_gauges; i++) {
        double value = gauge_value(panel, &fan->input->gauges[i]);
        if (!is_own_gauge(fan, i) || !isfinite(value))
            continue;
        const double row[] = {(double)fan->input->gauges[i].day_d, value};
        stv_chart_row(chart, row, 2);
        n++;
    }
    if (n == 0)
        return;
    stv_chart_layer(chart, block, "using 1:2 with points pt 7 ps 1.3 lc rgb '#ffffff'");
    stv_chart_layer(chart, block, "using 1:2 with points pt 6 ps 1.3 lw 2.5 lc rgb '#000000'");
}

static void add_level(struct stv_chart *chart, const struct fan *fan, double level)
{
    const double rows[2][2] = {{(double)fan->from_day_d, level}, {(double)fan->to_day_d, level}};
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, rows[0], 2);
    stv_chart_row(chart, rows[1], 2);
    stv_chart_layer(chart, block, "using 1:2 with lines lw 2 dt (8,5) lc rgb '#000000'");
}

static void add_least_line(const struct fan *fan, const struct panel *panel,
                           struct stv_chart *chart)
{
    if (!(panel->least > panel->low && panel->least < panel->high))
        return;
    struct stv_text text = {0};
    stv_text_add(&text, "least ");
    stv_text_add_number(&text, panel->least, 1);
    stv_text_add(&text, " %");
    double lift = 0.07 * (panel->high - panel->low);
    bool is_low = panel->least < 0.5 * (panel->low + panel->high);
    stv_chart_label(
        chart, &(struct stv_chart_label){
                   stv_text_string(&text),
                   (double)fan->from_day_d + 0.012 * (double)(fan->to_day_d - fan->from_day_d),
                   panel->least + (is_low ? lift : -lift), "first", "left", STV_COLOUR_INK, 0});
    add_level(chart, fan, panel->least);
    stv_text_free(&text);
}

static bool has_today(const struct fan *fan)
{
    return fan->input->as_of_day_d >= fan->from_day_d && fan->input->as_of_day_d <= fan->to_day_d;
}

/* Upright line on today. */
static void add_today(const struct fan *fan, const struct panel *panel, struct stv_chart *chart)
{
    int64_t today = fan->input->as_of_day_d;
    if (!has_today(fan))
        return;
    const double rows[2][2] = {{(double)today, panel->low}, {(double)today, panel->high}};
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, rows[0], 2);
    stv_chart_row(chart, rows[1], 2);
    stv_chart_layer(chart, block,
                    "using 1:2 with lines lw 1.5 dt (2,3) lc rgb '" STV_COLOUR_FAINT "'");
}

static double x_px(const struct fan *fan, int64_t day_d)
{
    return LEFT_PX + (RIGHT_PX - LEFT_PX) * (double)(day_d - fan->from_day_d) /
                         (double)(fan->to_day_d - fan->from_day_d);
}

static void put_letters(struct stv_chart *chart, const struct stv_text *letters, double x)
{
    if (letters->n > 0)
        stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(letters), x, LETTERS_Y_PX,
                                                         "px", "center", STV_COLOUR_FAINT, 0});
}

static bool is_own_event(const struct fan *fan, const struct stv_event *event)
{
    int cask_idx = (int)fan->input->cask_idx;
    return (event->cask_idx == cask_idx || event->other_idx == cask_idx) &&
           event->day_d >= fan->from_day_d && event->day_d <= fan->to_day_d;
}

static const char letters[STV_EVENT_N + 1] = "FMTWUSLRE";

/* Letters of what was done; near ones stand together. */
static void add_events(const struct fan *fan, struct stv_chart *chart)
{
    const struct stv_ledger *ledger = fan->input->ledger;
    struct stv_text group = {0};
    double group_x = 0.0;
    for (size_t i = 0; i < ledger->n_events; i++) {
        const struct stv_event *event = &ledger->events[i];
        if (!is_own_event(fan, event))
            continue;
        double x = x_px(fan, event->day_d);
        if (group.n > 0 && x - group_x > LETTER_GAP_PX) {
            put_letters(chart, &group, group_x);
            stv_text_free(&group);
        }
        if (group.n == 0)
            group_x = x;
        stv_text_add_bytes(&group, &letters[event->kind], 1);
    }
    put_letters(chart, &group, group_x);
    stv_text_free(&group);
}

static bool is_done(const struct fan *fan, int kind)
{
    const struct stv_ledger *ledger = fan->input->ledger;
    for (size_t i = 0; i < ledger->n_events; i++)
        if ((int)ledger->events[i].kind == kind && is_own_event(fan, &ledger->events[i]))
            return true;
    return false;
}

static void put_key_line(struct stv_chart *chart, const struct stv_text *line, int line_idx)
{
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(line), 12.0,
                                                     KEY_TOP_PX + KEY_LINE_PX * line_idx, "px",
                                                     "left", STV_COLOUR_FAINT, 0});
}

/* What is drawn, and "F fill, W add water" of the letters that are used. */
static void add_key(const struct fan *fan, struct stv_chart *chart)
{
    struct stv_text line = {0};
    int n_lines = 0, n_on_line = 0;
    stv_text_add(&line, "Line: middle. Dark: half of the trials. Light: 9 in 10.");
    put_key_line(chart, &line, n_lines++);
    stv_text_free(&line);
    stv_text_add(&line, fan->input->n_alike > 0 ? "" : "Ring: gauge. ");
    if (has_today(fan)) {
        stv_text_add(&line, "Dotted: ");
        stv_text_add_day(&line, fan->input->as_of_day_d);
        stv_text_add(&line, ".");
    }
    put_key_line(chart, &line, n_lines++);
    stv_text_free(&line);
    for (int k = 0; k < STV_EVENT_N; k++) {
        if (!is_done(fan, k))
            continue;
        if (n_on_line == MEANINGS_A_LINE) {
            put_key_line(chart, &line, n_lines++);
            stv_text_free(&line);
            n_on_line = 0;
        }
        stv_text_format(&line, "%s%c %s", n_on_line++ > 0 ? ", " : "", letters[k],
                        stv_event_kind_name((enum stv_event_kind)k));
    }
    put_key_line(chart, &line, n_lines);
    stv_text_free(&line);
}

/* "new oak 200 L, filled on 3 May 2021". */
static void add_subtitle(const struct fan *fan, struct stv_text *out)
{
    stv_text_add(out, fan->input->ledger->casks[fan->input->cask_idx].kind_name);
    if (fan->input->n_alike == 0)
        return;
    stv_text_add(out, ", filled on ");
    stv_text_add_day(out, fan->input->ledger->events[fan->input->cask_idx].day_d);
}

/* The upper panel has the lines of the time axis but not its labels. */
static void add_panel(const struct fan *fan, struct panel *panel, struct stv_chart *chart)
{
    find_values(fan, panel);
    stv_chart_panel(chart, LEFT_PX, RIGHT_PX, panel->top_px, panel->bottom_px);
    stv_chart_axis(chart, 'x', (double)fan->from_day_d, (double)fan->to_day_d);
    stv_chart_axis(chart, 'y', panel->low, panel->high);
    stv_chart_time_tics(chart, fan->from_day_d, fan->to_day_d, TIME_LABELS_MOST,
                        panel->quantity != STV_Q_ABV20_FRAC);
    stv_text_add(&chart->script, "set xtics offset 0,0.35\nset ytics ");
    stv_text_add_exact(&chart->script,
                       stv_chart_nice_step(panel->high - panel->low, VALUE_LABELS_MOST));
    stv_text_add(&chart->script,
                 " offset 0.5,0\nset border 3 lw 1 lc rgb '" STV_COLOUR_FAINT "'\n");
    stv_chart_label(chart, &(struct stv_chart_label){panel->heading, 12.0, panel->top_px - 20.0,
                                                     "px", "left", STV_COLOUR_INK, 0});
    add_areas(fan, panel, chart);
    add_least_line(fan, panel, chart);
    add_today(fan, panel, chart);
    add_gauges(fan, panel, chart);
    stv_chart_panel_end(chart);
}

static void fill_table(const struct fan *fan, struct stv_chart *chart)
{
    static const char *const heads[] = {
        "cask",           "date",           "kind",          "abv20_p05_pct",  "abv20_p25_pct",
        "abv20_p50_pct",  "abv20_p75_pct",  "abv20_p95_pct", "volume20_p05_l", "volume20_p25_l",
        "volume20_p50_l", "volume20_p75_l", "volume20_p95_l"};
    const char *id = fan->input->ledger->casks[fan->input->cask_idx].id;
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t i = 0; i < fan->n_days + fan->input->n_gauges; i++) {
        bool is_gauge = i >= fan->n_days;
        size_t g = i - fan->n_days;
        if (is_gauge && !is_own_gauge(fan, g))
            continue;
        struct stv_range abv, volume;
        if (is_gauge) {
            abv = stv_range_point(fan->input->gauges[g].abv20_frac);
            volume = stv_range_point(fan->input->gauges[g].volume20_l);
        } else {
            abv = fan->days[i].at.abv20_frac;
            volume = fan->days[i].at.volume20_l;
            if (!isfinite(abv.p50))
                continue;
        }
        struct stv_text date = {0};
        stv_text_add_iso_day(&date, is_gauge ? fan->input->gauges[g].day_d : fan->days[i].at.day_d);
        stv_sheet_add_text(&chart->table, id);
        stv_sheet_add_text(&chart->table, stv_text_string(&date));
        stv_sheet_add_text(&chart->table, is_gauge ? "gauge" : "outlook");
        stv_sheet_add_range_cells(&chart->table, stv_range_scaled(abv, 100.0), 2);
        stv_sheet_add_range_cells(&chart->table, volume, 1);
        stv_text_free(&date);
    }
}

/* "57.0 % (55.9 to 58.1)"; a range without width is not said. */
static void add_range_words(struct stv_text *words, struct stv_range range, int n_decimals,
                            const char *unit)
{
    stv_text_add_number(words, range.p50, n_decimals);
    stv_text_format(words, " %s", unit);
    if (!(range.p95 > range.p05))
        return;
    stv_chart_add_ends(words, range, n_decimals);
}

static void add_day_words(const struct fan *fan, struct stv_text *words, size_t day_idx)
{
    const struct stv_fan_day *day = &fan->days[day_idx].at;
    stv_text_add(words, " On ");
    stv_text_add_day(words, day->day_d);
    stv_text_add(words, ": ");
    add_range_words(words, stv_range_scaled(day->abv20_frac, 100.0), 1, "%");
    stv_text_add(words, " and ");
    add_range_words(words, day->volume20_l, 0, "L");
    stv_text_add(words, ".");
}

/* The first day, the first from today on, and the last day with liquid. */
static void add_words(const struct fan *fan, struct stv_chart *chart)
{
    size_t first = fan->n_days, now = fan->n_days, last = fan->n_days;
    for (size_t d = 0; d < fan->n_days; d++) {
        int64_t day_d = fan->days[d].at.day_d;
        if (day_d < fan->from_day_d || day_d > fan->to_day_d)
            continue;
        first = first == fan->n_days ? d : first;
        last = d;
        if (now == fan->n_days && day_d >= fan->input->as_of_day_d)
            now = d;
    }
    stv_text_add(&chart->words, stv_text_string(&chart->title));
    stv_text_add(&chart->words, fan->input->n_alike > 0
                                    ? ": strength and litres of the mean cask through time."
                                    : ": strength and litres through time.");
    add_day_words(fan, &chart->words, first);
    if (now != first && now < last)
        add_day_words(fan, &chart->words, now);
    if (last != first)
        add_day_words(fan, &chart->words, last);
    stv_text_format(&chart->note,
                    "Line: the middle of all trials. Dark: half of them; light: nine in ten. "
                    "%sDotted line: today. Letters: what was done.",
                    fan->input->n_alike > 0 ? "" : "Rings: gauges. ");
}

static void draw(struct fan *fan, struct stv_chart *out)
{
    const struct stv_fan_input *input = fan->input;
    const struct stv_cask *cask = &input->ledger->casks[input->cask_idx];
    struct stv_text title = {0}, subtitle = {0};
    char name[STV_CHART_NAME_MAX];
    bool is_kind = input->n_alike > 0;
    snprintf(name, sizeof name, is_kind ? "kind-%03zu" : "cask-%03zu", input->cask_idx + 1);
    stv_text_add(&title, is_kind ? "" : "Cask ");
    stv_quote_clean_id(&title, cask->id, TITLE_ID_CHARS);
    if (is_kind)
        stv_text_format(&title, ", the mean of %zu %s", input->n_alike,
                        input->n_alike == 1 ? "cask" : "casks");
    add_subtitle(fan, &subtitle);
    stv_chart_begin(out, &(struct stv_chart_frame){name, stv_text_string(&title),
                                                   stv_text_string(&subtitle), HEIGHT_PX,
                                                   input->is_invented});
    add_events(fan, out);
    add_key(fan, out);
    struct panel upper = {STV_Q_ABV20_FRAC,
                          100.0,
                          UPPER_TOP_PX,
                          UPPER_BOTTOM_PX,
                          "strength at 20 °C, %",
                          .least = input->rules == NULL ? (double)NAN
                                                        : 100.0 * input->rules->least_abv20_frac};
    struct panel lower = {STV_Q_VOLUME20_L,  1.0,         LOWER_TOP_PX, LOWER_BOTTOM_PX,
                          "litres at 20 °C", .least = NAN};
    add_panel(fan, &upper, out);
    add_panel(fan, &lower, out);
    stv_chart_end(out);
    fill_table(fan, out);
    add_words(fan, out);
    stv_text_free(&title);
    stv_text_free(&subtitle);
}

enum stv_status stv_chart_fan(const struct stv_fan_input *input, struct stv_chart *out)
{
    struct fan fan = {.input = input};
    enum stv_status status = gather_days(&fan);
    if (status == STV_OK && !find_days(&fan))
        status = STV_E_NO_DATA;
    if (status == STV_OK) {
        draw(&fan, out);
        status = stv_chart_status(out);
    }
    free(fan.days);
    return status;
}
