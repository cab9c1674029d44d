/* Calendar: the warmest hour of every day in the cask, one strip for each year, a column a week and
 * a row a weekday, Monday at the top.  Days on end of one step of the colours in one week are one
 * mark, which keeps the file small.  A missing day is white with a cross, one whose weather is made
 * up has a stripe. */
#include "plots/charts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define YEARS_MOST 10
#define STEPS_MOST 20
#define STEPS_LEAST 5
#define MARKS_MOST 2000 /* of about 30 bytes each */
#define WEEK_D 7
#define MONDAY_BEFORE_D (-3) /* 1970-01-01 was a Thursday */
#define WEEK_PX 8.1
#define MARK_PX 7.3 /* width of a day */
#define CROSS_RGB 0x444444U
#define STRIPE_PX 1.2 /* dark on light, so that it stands on every colour */
#define STRIPE_EDGE_PX 3.4
#define ROW_PX 7.0
#define STRIP_PX (WEEK_D * ROW_PX)
#define GAP_PX 11.0
#define LEFT_PX 94.0 /* "2026/27" */
#define TOP_PX 92.0
#define MONTHS_PX 24.0
#define KEY_PX 66.0 /* under the months */
#define KEY_WIDTH_PX 380.0
#define KEY_LABELS_MOST 8
#define KEY_HEIGHT_PX 14.0
#define HIGH_LEFT_PX 538.0 /* the column of the warmest days */

struct calendar {
    const struct stv_climate_days *days;
    int first_month;
    int32_t first_year; /* of the strips */
    size_t n_years;
    double least_c, most_c;
    double low_c, step_c; /* of the colours */
    size_t n_steps;
    size_t n_missing, n_made_up;
};

/* Where a day is drawn; strip n_years: it is not. */
struct cell {
    size_t strip;
    int week, row;
};

static struct cell cell_of(const struct calendar *calendar, size_t d)
{
    int64_t day_d = calendar->days->first_day_d + (int64_t)d;
    int32_t year;
    int at = stv_climate_year_day(calendar->days, day_d, calendar->first_month, &year);
    if (year < calendar->first_year)
        return (struct cell){calendar->n_years, 0, 0};
    size_t strip = (size_t)(year - calendar->first_year);
    if (calendar->days->is_typical)
        return (struct cell){strip, at / WEEK_D, at % WEEK_D};
    int64_t first_d = stv_day_from_date((struct stv_date){year, calendar->first_month, 1});
    int64_t since_d = (first_d - MONDAY_BEFORE_D) % WEEK_D;
    int64_t monday_d = first_d - (since_d < 0 ? since_d + WEEK_D : since_d);
    return (struct cell){strip, (int)((day_d - monday_d) / WEEK_D),
                         (int)((day_d - monday_d) % WEEK_D)};
}

/* Years, range and missing days; false when there is nothing to draw. */
static bool find_extent(struct calendar *calendar)
{
    const struct stv_climate_days *days = calendar->days;
    int32_t first, last;
    double low_c = NAN, high_c = NAN;
    if (days->n_days == 0)
        return false;
    (void)stv_climate_year_day(days, days->first_day_d, calendar->first_month, &first);
    (void)stv_climate_year_day(days, days->first_day_d + (int64_t)days->n_days - 1,
                               calendar->first_month, &last);
    calendar->first_year = last - first < YEARS_MOST ? first : last - YEARS_MOST + 1;
    calendar->n_years = (size_t)(last - calendar->first_year) + 1;
    for (size_t d = 0; d < days->n_days; d++) {
        if (cell_of(calendar, d).strip == calendar->n_years)
            continue;
        calendar->n_missing += isnan(days->max_c[d]) ? 1 : 0;
        calendar->n_made_up += days->is_made_up ? days->is_made_up[d] : 0;
        low_c = fmin(low_c, days->max_c[d]); /* fmin leaves out NaN */
        high_c = fmax(high_c, days->max_c[d]);
    }
    if (isnan(low_c))
        return false;
    calendar->least_c = low_c;
    calendar->most_c = high_c;
    return true;
}

/* Step of a day; n_steps when it is missing, one more when it is not drawn. */
static size_t step_of(const struct calendar *calendar, size_t d)
{
    if (cell_of(calendar, d).strip == calendar->n_years)
        return calendar->n_steps + 1;
    double high_c = calendar->days->max_c[d];
    if (isnan(high_c))
        return calendar->n_steps;
    return (size_t)((high_c - calendar->low_c) / calendar->step_c);
}

/* Last of the days on end from `from` that have one step and lie in one week. */
static size_t end_of_mark(const struct calendar *calendar, size_t from)
{
    struct cell first = cell_of(calendar, from);
    size_t step = step_of(calendar, from), to = from;
    while (to + 1 < calendar->days->n_days && step_of(calendar, to + 1) == step) {
        struct cell next = cell_of(calendar, to + 1);
        if (next.week != first.week || next.strip != first.strip)
            break;
        to++;
    }
    return to;
}

/* Steps of colour: as fine as the size of the file allows, for where days differ as much as seasons
 * every day is a mark of its own. */
static void find_steps(struct calendar *calendar)
{
    size_t n_marks = MARKS_MOST + 1;
    for (int n_most = STEPS_MOST; n_most >= STEPS_LEAST && n_marks > MARKS_MOST; n_most /= 2) {
        calendar->step_c = stv_chart_nice_step(calendar->most_c - calendar->least_c, n_most);
        calendar->low_c = floor(calendar->least_c / calendar->step_c) * calendar->step_c;
        calendar->n_steps =
            (size_t)floor((calendar->most_c - calendar->low_c) / calendar->step_c) + 1;
        n_marks = 0;
        for (size_t d = 0; d < calendar->days->n_days; d = end_of_mark(calendar, d) + 1)
            n_marks++;
    }
}

static unsigned colour_of(const struct calendar *calendar, size_t step)
{
    return stv_chart_ramp(((double)step + 0.5) / (double)calendar->n_steps);
}

static double strip_top_px(size_t strip)
{
    return (double)strip * (STRIP_PX + GAP_PX);
}

/* Adds one mark: days from `from` to `to` in one week, as an upright line, or as a cross. */
static void add_mark(const struct calendar *calendar, struct stv_chart *chart, size_t from,
                     size_t to, bool is_cross)
{
    struct cell first = cell_of(calendar, from), last = cell_of(calendar, to);
    double x = ((double)first.week + 0.5) * WEEK_PX, half = is_cross ? 0.5 * MARK_PX : 0.0;
    double top = strip_top_px(first.strip) + first.row * ROW_PX;
    double high = (last.row - first.row + 1) * ROW_PX;
    const double strokes[2][4] = {{x - half, top, 2.0 * half, high},
                                  {x + half, top, -2.0 * half, high}};
    for (size_t i = 0; i < (is_cross ? 2U : 1U); i++)
        stv_chart_row(chart, strokes[i], 4);
}

/* All marks of one step, or of the missing days; returns how many. */
static size_t add_marks(const struct calendar *calendar, struct stv_chart *chart, size_t step)
{
    size_t n_days = calendar->days->n_days, n = 0;
    for (size_t from = 0; from < n_days; from++) {
        if (step_of(calendar, from) != step)
            continue;
        size_t to = end_of_mark(calendar, from);
        add_mark(calendar, chart, from, to, step == calendar->n_steps);
        from = to;
        n++;
    }
    return n;
}

static void add_layers(const struct calendar *calendar, struct stv_chart *chart)
{
    for (size_t step = 0; step <= calendar->n_steps; step++) {
        struct stv_text how = {0};
        bool is_missing = step == calendar->n_steps;
        size_t block = stv_chart_block(chart);
        stv_text_add(&how, "using 1:2:3:4 with vectors nohead lw ");
        stv_text_add_exact(&how, is_missing ? 1.0 : MARK_PX);
        stv_text_format(&how, " lc rgb '#%06x'",
                        is_missing ? CROSS_RGB : colour_of(calendar, step));
        if (add_marks(calendar, chart, step) > 0)
            stv_chart_layer(chart, block, stv_text_string(&how));
        stv_text_free(&how);
    }
}

/* Stripes down the days whose weather is of other years. */
static void add_stripes(const struct calendar *calendar, struct stv_chart *chart)
{
    static const struct {
        double px;
        const char *rgb;
    } strokes[] = {{STRIPE_EDGE_PX, "#ffffff"}, {STRIPE_PX, "#000000"}};
    const uint8_t *is_made_up = calendar->days->is_made_up;
    size_t block = stv_chart_block(chart);
    for (size_t d = 0; d < calendar->days->n_days; d++) {
        if (is_made_up[d] && step_of(calendar, d) < calendar->n_steps)
            add_mark(calendar, chart, d, d, false);
    }
    for (size_t i = 0; i < sizeof strokes / sizeof strokes[0]; i++) {
        struct stv_text how = {0};
        stv_text_add(&how, "using 1:2:3:4 with vectors nohead lw ");
        stv_text_add_exact(&how, strokes[i].px);
        stv_text_format(&how, " lc rgb '%s'", strokes[i].rgb);
        stv_chart_layer(chart, block, stv_text_string(&how));
        stv_text_free(&how);
    }
}

/* "2026", or "2026/27" where years begin in July. */
static void add_year_name(const struct calendar *calendar, struct stv_text *out, size_t strip)
{
    stv_chart_year_name(out, calendar->days, calendar->first_month,
                        calendar->first_year + (int32_t)strip);
}

/* The strip's warmest day; n_days when none is known. */
static size_t warmest_day(const struct calendar *calendar, size_t strip)
{
    const struct stv_climate_days *days = calendar->days;
    size_t warmest = days->n_days;
    for (size_t d = 0; d < days->n_days; d++)
        if (cell_of(calendar, d).strip == strip && !isnan(days->max_c[d]) &&
            (warmest == days->n_days || days->max_c[d] > days->max_c[warmest]))
            warmest = d;
    return warmest;
}

/* "34.1 on 12 Jul". */
static void add_warmest(const struct calendar *calendar, struct stv_text *out, size_t strip)
{
    size_t d = warmest_day(calendar, strip);
    if (d == calendar->days->n_days)
        return;
    stv_text_add_number(out, calendar->days->max_c[d], 1);
    stv_text_add(out, " on ");
    stv_chart_day_of_year(out, stv_season_day(calendar->days->first_day_d + (int64_t)d));
}

static void add_strip_labels(const struct calendar *calendar, struct stv_chart *chart)
{
    for (size_t s = 0; s < calendar->n_years; s++) {
        struct stv_text year = {0}, warmest = {0};
        double y = TOP_PX + strip_top_px(s) + 0.5 * STRIP_PX;
        add_year_name(calendar, &year, s);
        add_warmest(calendar, &warmest, s);
        stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&year), LEFT_PX - 8.0, y,
                                                         "px", "right", STV_COLOUR_INK, 0});
        stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&warmest), HIGH_LEFT_PX, y,
                                                         "px", "left", STV_COLOUR_INK, 0});
        stv_text_free(&year);
        stv_text_free(&warmest);
    }
    stv_chart_label(chart, &(struct stv_chart_label){"warmest", HIGH_LEFT_PX, TOP_PX - 16.0, "px",
                                                     "left", STV_COLOUR_FAINT, 0});
}

/* Every second month, where its middle lies in most years. */
static void add_month_labels(const struct calendar *calendar, struct stv_chart *chart)
{
    double y = TOP_PX + strip_top_px(calendar->n_years - 1) + STRIP_PX + 0.6 * MONTHS_PX;
    for (int m = 0; m < STV_MONTHS; m += 2) {
        struct stv_text month = {0};
        int month_of_year = (calendar->first_month - 1 + m) % STV_MONTHS + 1;
        stv_text_add_month(&month, stv_day_from_date((struct stv_date){2001, month_of_year, 1}));
        char text[4];
        snprintf(text, sizeof text, "%.3s", stv_text_string(&month));
        double weeks = ((double)m + 0.5) * STV_DEGREE_YEAR_D / STV_MONTHS / WEEK_D + 0.5;
        stv_chart_label(chart, &(struct stv_chart_label){text, LEFT_PX + weeks * WEEK_PX, y, "px",
                                                         "center", STV_COLOUR_INK, 0});
        stv_text_free(&month);
    }
}

/* The colours of the steps, with temperatures beneath where they lie. */
static void add_key(const struct calendar *calendar, struct stv_chart *chart, double top_px)
{
    double span_c = (double)calendar->n_steps * calendar->step_c;
    double label_c = stv_chart_nice_step(span_c, KEY_LABELS_MOST);
    stv_chart_panel(chart, LEFT_PX, LEFT_PX + KEY_WIDTH_PX, top_px, top_px + KEY_HEIGHT_PX);
    stv_chart_axis(chart, 'x', calendar->low_c, calendar->low_c + span_c);
    stv_chart_axis(chart, 'y', 0.0, 1.0);
    stv_text_add(&chart->script, "set xtics scale 0 offset 0,0.5 ");
    stv_text_add_exact(&chart->script, label_c);
    stv_text_add(&chart->script, "\n");
    size_t block = stv_chart_block(chart);
    for (size_t i = 0; i < calendar->n_steps; i++) {
        double left = calendar->low_c + (double)i * calendar->step_c;
        double right = left + calendar->step_c;
        const double row[] = {0.5 * (left + right),          0.5, left, right, 0.0, 1.0,
                              (double)colour_of(calendar, i)};
        stv_chart_row(chart, row, sizeof row / sizeof row[0]);
    }
    stv_chart_layer(chart, block,
                    "using 1:2:3:4:5:6:7 with boxxyerror fs solid noborder lc rgb variable");
    stv_chart_label(chart, &(struct stv_chart_label){"°C", LEFT_PX + KEY_WIDTH_PX + 8.0,
                                                     top_px + 0.5 * KEY_HEIGHT_PX, "px", "left",
                                                     STV_COLOUR_INK, 0});
    stv_chart_panel_end(chart);
}

static void add_panels(const struct calendar *calendar, struct stv_chart *chart)
{
    double width = 54.0 * WEEK_PX;
    double height = strip_top_px(calendar->n_years - 1) + STRIP_PX;
    double key_px = TOP_PX + height + MONTHS_PX + 8.0;
    stv_chart_panel(chart, LEFT_PX, LEFT_PX + width, TOP_PX, TOP_PX + height);
    stv_chart_axis(chart, 'x', 0.0, width);
    stv_text_add(&chart->script, "set yrange [");
    stv_text_add_exact(&chart->script, height);
    stv_text_add(&chart->script, ":0]\nunset tics\nunset grid\n");
    add_strip_labels(calendar, chart);
    add_month_labels(calendar, chart);
    if (calendar->n_made_up > 0)
        stv_chart_made_up_label(chart, calendar->n_made_up, "striped", LEFT_PX + 240.0,
                                key_px + 3.4 * KEY_HEIGHT_PX);
    add_layers(calendar, chart);
    if (calendar->n_made_up > 0)
        add_stripes(calendar, chart);
    stv_chart_panel_end(chart);
    add_key(calendar, chart, key_px);
}

static void fill_table(const struct calendar *calendar, const char *warehouse,
                       struct stv_chart *chart)
{
    static const char *const heads[] = {"warehouse", "tier", "day", "liquid_max_c",
                                        "weather_made_up"};
    const struct stv_climate_days *days = calendar->days;
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t d = 0; d < days->n_days; d++) {
        struct stv_text day = {0};
        int64_t day_d = days->first_day_d + (int64_t)d;
        if (cell_of(calendar, d).strip == calendar->n_years)
            continue;
        if (days->is_typical)
            stv_chart_day_of_year(&day, stv_season_day(day_d));
        else
            stv_text_add_iso_day(&day, day_d);
        stv_sheet_add_text(&chart->table, warehouse);
        stv_sheet_add_number(&chart->table, days->place.tier_idx + 1, 0);
        stv_sheet_add_text(&chart->table, stv_text_string(&day));
        stv_sheet_add_number(&chart->table, days->max_c[d], 1);
        stv_sheet_add_text(&chart->table, days->is_made_up && days->is_made_up[d] ? "yes" : "no");
        stv_text_free(&day);
    }
}

static void add_words(const struct calendar *calendar, const char *warehouse,
                      struct stv_chart *chart)
{
    stv_text_format(&chart->words,
                    "Warmest hour of each day in the cask, tier %d of %s, %zu year%s.",
                    calendar->days->place.tier_idx + 1, warehouse, calendar->n_years,
                    calendar->n_years == 1 ? "" : "s");
    for (size_t s = 0; s < calendar->n_years; s++) {
        if (warmest_day(calendar, s) == calendar->days->n_days)
            continue;
        stv_text_add(&chart->words, s == 0 ? " Warmest, °C: " : "; ");
        add_year_name(calendar, &chart->words, s);
        stv_text_add(&chart->words, " ");
        add_warmest(calendar, &chart->words, s);
    }
    stv_text_format(&chart->words, ". Days missing: %zu; weather made up from other years: %zu.",
                    calendar->n_missing, calendar->n_made_up);
    stv_text_add(&chart->note, calendar->days->is_typical
                                   ? "Each column is seven days. A typical year has no weekdays."
                                   : "Each column is a week, Monday at the top.");
    stv_text_add(&chart->note, " The liquid is that of a 200 L cask; a figure of the key is where "
                               "its colour begins. White with a cross: fewer than 20 hours of the "
                               "day are known; blank: before or after the record; striped: weather "
                               "made up from other years.");
}

static void add_subtitle(const struct calendar *calendar, const char *warehouse,
                         struct stv_text *out)
{
    const struct stv_climate_days *days = calendar->days;
    stv_text_format(out, "%s, tier %d, ", warehouse, days->place.tier_idx + 1);
    if (days->is_typical) {
        stv_text_add(out, "a typical year");
        return;
    }
    size_t first = 0;
    while (cell_of(calendar, first).strip == calendar->n_years)
        first++;
    stv_text_add_iso_day(out, days->first_day_d + (int64_t)first);
    stv_text_add(out, " to ");
    stv_text_add_iso_day(out, days->first_day_d + (int64_t)days->n_days - 1);
    if (calendar->n_missing > 0)
        stv_text_format(out, ", %zu missing", calendar->n_missing);
}

enum stv_status stv_chart_calendar(const struct stv_days_input *input, struct stv_chart *out)
{
    const char *warehouse = input->warehouse->name;
    struct calendar calendar = {
        .days = input->days,
        .first_month = stv_climate_year_month(&input->warehouse->seasons[STV_SEASON_WARM])};
    if (!find_extent(&calendar))
        return STV_E_NO_DATA;
    find_steps(&calendar);
    char name[STV_CHART_NAME_MAX];
    struct stv_text subtitle = {0};
    snprintf(name, sizeof name, "calendar-%zu", input->number);
    add_subtitle(&calendar, warehouse, &subtitle);
    int height = (int)(TOP_PX + strip_top_px(calendar.n_years - 1) + STRIP_PX + MONTHS_PX + KEY_PX);
    stv_chart_begin(out, &(struct stv_chart_frame){name, "Warmest hour of each day in the cask, °C",
                                                   stv_text_string(&subtitle), height,
                                                   input->is_invented});
    stv_text_free(&subtitle);
    add_panels(&calendar, out);
    stv_chart_end(out);
    fill_table(&calendar, warehouse, out);
    add_words(&calendar, warehouse, out);
    return stv_chart_status(out);
}
