/* Vapour clock: hours of the day across, months down, each field the highest hour of the record.
 * Colours are the middle of all trials; stepped lines stand where the upper end of the range
 * passes a limit.  The caution stands inside the frame, so that nobody copies one without the
 * other. */
#include "plots/charts.h"

#include "model/vapour.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define CELL_W_PX 22.0
#define CELL_H_PX 21.0
#define LEFT_PX 62.0
#define TOP_PX 92.0
#define TICS_PX 68.0
#define LINE_PX 23.0
#define BELOW_PX 34.0
#define FRAME_LEFT_PX 8.0
#define FRAME_TOP_PX 60.0
#define KEY_RIGHT_PX 664.0 /* inside the frame, whatever the figures */
#define SCALE_GAP_PX 20.0
#define SCALE_WIDTH_PX 16.0
#define CAUTION_CHARS 58 /* of a line */
#define LEVEL_N 3
#define LOWER_EXPLOSIVE_PPM (10.0 * STV_VAPOUR_TENTH_LEL_PPM)

/* Half of a working day's limit is no limit of anybody's: it tells where one comes near. */
static const struct level {
    double ppm;
    const char *name, *dash;
} levels[LEVEL_N] = {
    {0.5 * STV_VAPOUR_DAY_PPM, "500", "solid"},
    {STV_VAPOUR_DAY_PPM, "1000", "(6,3)"},
    {STV_VAPOUR_TENTH_LEL_PPM, "3300", "(2,2)"},
};

struct clock {
    const struct stv_vapour_clock *store;
    double least_ppm, most_ppm; /* of the middles */
    size_t n_above[LEVEL_N];    /* fields whose upper end passes it */
    double panel_bottom_px;
};

static bool find_extent(struct clock *clock)
{
    clock->least_ppm = clock->most_ppm = NAN;
    for (int m = 0; m < STV_MONTHS; m++)
        for (int h = 0; h < STV_DAY_H; h++) {
            const struct stv_range *ppm = &clock->store->highest_ppm[m][h];
            clock->least_ppm = fmin(clock->least_ppm, ppm->p50); /* they leave out NaN */
            clock->most_ppm = fmax(clock->most_ppm, ppm->p50);
            for (size_t l = 0; l < LEVEL_N; l++)
                clock->n_above[l] += ppm->p95 >= levels[l].ppm;
        }
    return isfinite(clock->most_ppm);
}

static double share_of(const struct clock *clock, double ppm)
{
    double span = clock->most_ppm - clock->least_ppm;
    return span > 0.0 ? (ppm - clock->least_ppm) / span : 0.5;
}

/* January stands at the top. */
static double lower_edge(int month_idx)
{
    return (double)(STV_MONTHS - 1 - month_idx);
}

static void add_cells(const struct clock *clock, struct stv_chart *chart)
{
    size_t block = stv_chart_block(chart);
    for (int m = 0; m < STV_MONTHS; m++)
        for (int h = 0; h < STV_DAY_H; h++) {
            double ppm = clock->store->highest_ppm[m][h].p50, y = lower_edge(m), x = (double)h;
            if (!isfinite(ppm))
                continue;
            const double row[] = {x + 0.5,
                                  y + 0.5,
                                  x,
                                  x + 1.0,
                                  y,
                                  y + 1.0,
                                  (double)stv_chart_ramp(share_of(clock, ppm))};
            stv_chart_row(chart, row, sizeof row / sizeof row[0]);
        }
    stv_chart_layer(chart, block,
                    "using 1:2:3:4:5:6:7 with boxxyerror fs solid noborder lc rgb variable");
}

/* False beyond the chart: a region closes at its edge. */
static bool is_above(const struct clock *clock, int month_idx, int hour, double ppm)
{
    return month_idx >= 0 && month_idx < STV_MONTHS && hour >= 0 && hour < STV_DAY_H &&
           clock->store->highest_ppm[month_idx][hour].p95 >= ppm;
}

static void add_edge(struct stv_chart *chart, double x0, double y0, double x1, double y1)
{
    const double rows[2][2] = {{x0, y0}, {x1, y1}};
    stv_chart_row(chart, rows[0], 2);
    stv_chart_row(chart, rows[1], 2);
    stv_chart_row(chart, NULL, 0);
}

/* The edges between fields on either side of a level. */
static void add_level(const struct clock *clock, struct stv_chart *chart, size_t level)
{
    double ppm = levels[level].ppm;
    char how[96];
    if (clock->n_above[level] == 0)
        return;
    size_t block = stv_chart_block(chart);
    for (int m = 0; m <= STV_MONTHS; m++)
        for (int h = 0; h <= STV_DAY_H; h++) {
            double x = (double)h, top = lower_edge(m) + 1.0;
            bool is_here = is_above(clock, m, h, ppm);
            if (is_here != is_above(clock, m, h - 1, ppm))
                add_edge(chart, x, top, x, top - 1.0);
            if (is_here != is_above(clock, m - 1, h, ppm))
                add_edge(chart, x, top, x + 1.0, top);
        }
    stv_chart_layer(chart, block, "using 1:2 with lines lw 5 lc rgb '#ffffff'");
    snprintf(how, sizeof how, "using 1:2 with lines lw 2.5 dt %s lc rgb '#000000'",
             levels[level].dash);
    stv_chart_layer(chart, block, how);
}

static void add_star(struct stv_chart *chart, double x, double y)
{
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, (const double[2]){x, y}, 2);
    stv_chart_layer(chart, block, "using 1:2 with points pt 3 ps 2 lw 4.5 lc rgb '#ffffff'");
    stv_chart_layer(chart, block, "using 1:2 with points pt 3 ps 2 lw 1.5 lc rgb '#000000'");
}

static void add_panel(const struct clock *clock, struct stv_chart *chart)
{
    stv_chart_panel(chart, LEFT_PX, LEFT_PX + CELL_W_PX * STV_DAY_H, TOP_PX,
                    clock->panel_bottom_px);
    stv_chart_axis(chart, 'x', 0.0, STV_DAY_H);
    stv_chart_axis(chart, 'y', 0.0, STV_MONTHS);
    stv_text_add(&chart->script,
                 "unset border\nunset grid\nset xtics 3 offset 0,0.35\nset ytics (");
    for (int m = 0; m < STV_MONTHS; m++) {
        struct stv_text month = {0};
        stv_text_add_month(&month, stv_day_from_date((struct stv_date){2001, m + 1, 1}));
        stv_text_format(&chart->script, "%s'%.3s' %d.5", m == 0 ? "" : ", ",
                        stv_text_string(&month), STV_MONTHS - 1 - m);
        stv_text_free(&month);
    }
    stv_text_add(&chart->script, ")\nset ytics scale 0\n");
    stv_chart_label(chart, &(struct stv_chart_label){"hour of the day, standard time", LEFT_PX,
                                                     clock->panel_bottom_px + 46.0, "px", "left",
                                                     STV_COLOUR_INK, 0});
    add_cells(clock, chart);
    for (size_t l = 0; l < LEVEL_N; l++)
        add_level(clock, chart, l);
    int month_idx = stv_date_from_day(clock->store->worst_day_d).month - 1;
    add_star(chart, clock->store->worst_hour + 0.5, lower_edge(month_idx) + 0.5);
    stv_chart_panel_end(chart);
}

static void add_scale(const struct clock *clock, struct stv_chart *chart)
{
    double left = LEFT_PX + CELL_W_PX * STV_DAY_H + SCALE_GAP_PX;
    const struct stv_chart_key key = {left,
                                      left + SCALE_WIDTH_PX,
                                      TOP_PX,
                                      clock->panel_bottom_px,
                                      clock->least_ppm,
                                      clock->most_ppm,
                                      0};
    stv_chart_ramp_key(chart, &key);
}

/* "572 ppm (268 to 1231)". */
static void add_ppm(struct stv_text *text, struct stv_range ppm)
{
    stv_text_add_count(text, ppm.p50);
    stv_text_add(text, " ppm (");
    stv_text_add_count(text, ppm.p05);
    stv_text_add(text, " to ");
    stv_text_add_count(text, ppm.p95);
    stv_text_add(text, ")");
}

/* "20 Aug 2026, 0 to 1 h". */
static void add_worst_time(const struct stv_vapour_clock *store, struct stv_text *text)
{
    struct stv_date date = stv_date_from_day(store->worst_day_d);
    struct stv_text month = {0};
    stv_text_add_month(&month, store->worst_day_d);
    stv_text_format(text, "%d %.3s", (int)date.day, stv_text_string(&month));
    if (!store->is_typical)
        stv_text_format(text, " %d", (int)date.year);
    stv_text_format(text, ", %d to %d h", store->worst_hour, store->worst_hour + 1);
    stv_text_free(&month);
}

/* Strokes and star with their meaning, in a panel whose unit is the pixel. */
static void add_key(const struct clock *clock, struct stv_chart *chart, double top_px)
{
    struct stv_text when = {0}, worst = {0};
    double x = 300.0;
    stv_chart_panel(chart, 0.0, STV_CHART_WIDTH_PX, top_px, top_px + 2.0 * LINE_PX);
    stv_chart_axis(chart, 'x', 0.0, STV_CHART_WIDTH_PX);
    stv_chart_axis(chart, 'y', 0.0, 2.0 * LINE_PX);
    add_star(chart, 28.0, 1.5 * LINE_PX);
    add_worst_time(clock->store, &when);
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&when), 46.0, 1.5 * LINE_PX,
                                                     "first", "left", STV_COLOUR_INK, 0});
    stv_text_add(&worst, "worst hour of a trial: ");
    add_ppm(&worst, clock->store->worst_ppm);
    stv_chart_label(chart,
                    &(struct stv_chart_label){stv_text_string(&worst), KEY_RIGHT_PX, 1.5 * LINE_PX,
                                              "first", "right", STV_COLOUR_INK, 0});
    stv_chart_label(chart, &(struct stv_chart_label){
                               clock->n_above[0] > 0 ? "upper end of the range passes"
                                                     : "upper end of the range: under 500 ppm",
                               20.0, 0.5 * LINE_PX, "first", "left", STV_COLOUR_INK, 0});
    for (size_t l = 0; l < LEVEL_N; l++) {
        char how[80], text[16];
        if (clock->n_above[l] == 0)
            continue;
        size_t block = stv_chart_block(chart);
        add_edge(chart, x, 0.5 * LINE_PX, x + 40.0, 0.5 * LINE_PX);
        snprintf(how, sizeof how, "using 1:2 with lines lw 2.5 dt %s lc rgb '#000000'",
                 levels[l].dash);
        stv_chart_layer(chart, block, how);
        snprintf(text, sizeof text, "%s ppm", levels[l].name);
        stv_chart_label(chart, &(struct stv_chart_label){text, x + 46.0, 0.5 * LINE_PX, "first",
                                                         "left", STV_COLOUR_INK, 0});
        x += 130.0;
    }
    stv_chart_panel_end(chart);
    stv_text_free(&when);
    stv_text_free(&worst);
}

/* How many bytes of a text make its next line: up to a blank, at most CAUTION_CHARS. */
static size_t line_length(const char *text)
{
    size_t n = strlen(text);
    if (n <= CAUTION_CHARS)
        return n;
    for (n = CAUTION_CHARS; n > 0 && text[n] != ' ';)
        n--;
    return n > 0 ? n : CAUTION_CHARS;
}

static size_t caution_lines(const char *caution)
{
    size_t n = 0;
    for (const char *rest = caution; *rest != '\0'; n++) {
        rest += line_length(rest);
        rest += *rest == ' ';
    }
    return n;
}

/* The frame round everything, and the caution in it. */
static void add_frame(const struct clock *clock, struct stv_chart *chart, double caution_px)
{
    double y = caution_px + 0.5 * LINE_PX;
    stv_chart_panel(chart, FRAME_LEFT_PX, STV_CHART_WIDTH_PX - FRAME_LEFT_PX, FRAME_TOP_PX,
                    chart->height_px - BELOW_PX);
    stv_chart_axis(chart, 'x', 0.0, 1.0);
    stv_chart_axis(chart, 'y', 0.0, 1.0);
    stv_text_add(&chart->script,
                 "set border 15 lw 2 lc rgb '#000000' dashtype solid\nunset tics\n");
    for (const char *rest = clock->store->caution; *rest != '\0'; y += LINE_PX) {
        struct stv_text line = {0};
        size_t n = line_length(rest);
        stv_text_add_bytes(&line, rest, n);
        stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&line), 20.0, y, "px",
                                                         "left", STV_COLOUR_INK, 0});
        stv_text_free(&line);
        rest += n;
        rest += *rest == ' ';
    }
    stv_chart_panel_end(chart);
}

static void fill_table(const struct clock *clock, struct stv_chart *chart)
{
    static const char *const heads[] = {"warehouse", "month",   "hour",    "p05_ppm",
                                        "p25_ppm",   "p50_ppm", "p75_ppm", "p95_ppm"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (int m = 0; m < STV_MONTHS; m++)
        for (int h = 0; h < STV_DAY_H; h++) {
            stv_sheet_add_text(&chart->table, clock->store->name);
            stv_sheet_add_number(&chart->table, m + 1, 0);
            stv_sheet_add_number(&chart->table, h, 0);
            stv_sheet_add_range_cells(&chart->table, clock->store->highest_ppm[m][h], 0);
        }
}

static void add_words(const struct clock *clock, struct stv_chart *chart)
{
    const struct stv_vapour_clock *store = clock->store;
    struct stv_text *words = &chart->words;
    stv_text_format(words,
                    "Ethanol in the air of %s by hour of the day and month, the highest hour of "
                    "the record in each: middle from ",
                    store->name);
    stv_text_add_count(words, clock->least_ppm);
    stv_text_add(words, " to ");
    stv_text_add_count(words, clock->most_ppm);
    stv_text_add(words, " ppm. Each trial's own worst hour: ");
    add_ppm(words, store->worst_ppm);
    stv_text_add(words, "; the upper end of one hour is highest on ");
    add_worst_time(store, words);
    stv_text_add(words, ". Of 288 fields the upper end of the range passes");
    for (size_t l = 0; l < LEVEL_N; l++)
        stv_text_format(words, "%s %s ppm in %zu",
                        l == 0            ? ""
                        : l + 1 < LEVEL_N ? ","
                                          : " and",
                        levels[l].name, clock->n_above[l]);
    stv_text_add(words, ".");
    if (store->worst_ppm.p95 >= LOWER_EXPLOSIVE_PPM)
        stv_text_add(words, " At its upper end the worst hour can burn.");
    stv_text_format(words, " %s", store->caution);
    stv_text_add(&chart->note,
                 "Colour: the middle of all trials; black lines: where the upper end of the range, "
                 "one trial in twenty, passes 500, 1000 (limit of a working day, NIOSH) or 3300 "
                 "ppm (dangerous to life, NIOSH); star: the hour whose upper end is highest; "
                 "beside it each trial's own worst hour, nine trials in ten in brackets. Mixed "
                 "air: in corners and low down it can be more.");
    if (store->is_listed_alone)
        stv_text_add(&chart->note, " Only casks of casks.csv are counted: casks_stored is not said "
                                   "for this store, and more casks give off more.");
    if (store->is_typical)
        stv_text_add(&chart->note, " The weather is a typical year: no single heat wave is in it, "
                                   "so a worst hour can be worse.");
}

enum stv_status stv_chart_vapour(const struct stv_vapour_clock *store,
                                 const struct stv_warehouse_climate *climate, size_t number,
                                 bool is_invented, struct stv_chart *out)
{
    struct clock clock = {.store = store, .panel_bottom_px = TOP_PX + CELL_H_PX * STV_MONTHS};
    if (!store->has_any || !find_extent(&clock))
        return STV_E_NO_DATA;
    double key_px = clock.panel_bottom_px + TICS_PX, caution_px = key_px + 2.0 * LINE_PX + 6.0;
    char name[STV_CHART_NAME_MAX];
    struct stv_text subtitle = {0};
    snprintf(name, sizeof name, "vapour-%zu", number);
    stv_text_format(&subtitle, "%s, ", store->name);
    stv_text_add_count(&subtitle, store->n_casks);
    stv_text_add(&subtitle, store->is_listed_alone ? " casks listed" : " casks");
    stv_chart_add_years(&subtitle, climate);
    stv_chart_begin(
        out,
        &(struct stv_chart_frame){
            name, "Ethanol in the air of the store, highest hour, ppm", stv_text_string(&subtitle),
            (int)(caution_px + LINE_PX * (double)caution_lines(store->caution) + 4.0 + BELOW_PX),
            is_invented});
    stv_text_free(&subtitle);
    add_panel(&clock, out);
    add_scale(&clock, out);
    add_key(&clock, out, key_px);
    add_frame(&clock, out, caution_px);
    stv_chart_end(out);
    fill_table(&clock, out);
    add_words(&clock, out);
    return stv_chart_status(out);
}
