/* The shared frame of the charts.  A chart is a gnuplot script with its own data file and one or
 * more panels whose axes stand at fixed pixels, so that nothing moves when a label is long.  The
 * scripts hold numbers and quoted text alone.  What is shown is decided in the chart_*.c files;
 * drawing is in chart_draw.c. */
#include "plots/chart.h"

#include "model/calendar.h"
#include "plots/quote.h"

#include <math.h>
#include <stdio.h>
#include <string.h>

#define TITLE_Y_PX 24
#define SUBTITLE_Y_PX 47
#define COORDINATE_DECIMALS 4
#define EDGE_PARTS 40 /* the last of so many parts of an axis has no room for half a word */

void stv_chart_begin(struct stv_chart *chart, const struct stv_chart_frame *frame)
{
    snprintf(chart->name, sizeof chart->name, "%s", frame->name);
    chart->height_px = frame->height_px;
    stv_text_add(&chart->title, frame->title);
    stv_text_add(
        &chart->script,
        "set multiplot\nset style textbox opaque noborder fillcolor rgb '#ffffff' margins 0.6,0.2\n"
        "unset key\nset border 0\nset samples 2\n"
        "set tics nomirror out scale 0.5 textcolor rgb '" STV_COLOUR_INK "'\n"
        "set grid back lt 1 lw 1 lc rgb '" STV_COLOUR_GRID "'\n");
    stv_chart_label(chart, &(struct stv_chart_label){frame->title, 12, TITLE_Y_PX, "px", "left",
                                                     STV_COLOUR_INK, STV_CHART_TITLE_PX});
    stv_chart_label(chart, &(struct stv_chart_label){frame->subtitle, 12, SUBTITLE_Y_PX, "px",
                                                     "left", STV_COLOUR_FAINT, 0});
    if (frame->is_invented)
        stv_chart_label(chart, &(struct stv_chart_label){"invented example", STV_CHART_WIDTH_PX - 8,
                                                         chart->height_px - 10, "px", "right",
                                                         STV_COLOUR_FAINT, 0});
}

/* Adds numbers parted by a sign. */
static void add_numbers(struct stv_text *text, const double *values, size_t n, const char *between)
{
    for (size_t i = 0; i < n; i++) {
        if (i > 0)
            stv_text_add(text, between);
        stv_text_add_number(text, values[i], COORDINATE_DECIMALS);
    }
}

void stv_chart_panel(struct stv_chart *chart, double left_px, double right_px, double top_px,
                     double bottom_px)
{
    const char *const names[] = {"lmargin", "rmargin", "tmargin", "bmargin"};
    const double places[] = {left_px / STV_CHART_WIDTH_PX, right_px / STV_CHART_WIDTH_PX,
                             1.0 - top_px / chart->height_px, 1.0 - bottom_px / chart->height_px};
    for (size_t i = 0; i < 4; i++) {
        stv_text_format(&chart->script, "set %s at screen ", names[i]);
        add_numbers(&chart->script, &places[i], 1, "");
        stv_text_add(&chart->script, "\n");
    }
}

void stv_chart_axis(struct stv_chart *chart, char axis, double from, double to)
{
    const double ends[] = {from, to};
    stv_text_format(&chart->script, "set %crange [", axis);
    add_numbers(&chart->script, ends, 2, ":");
    stv_text_add(&chart->script, "]\n");
}

static void add_label(struct stv_chart *chart, const struct stv_chart_label *label)
{
    bool is_px = strcmp(label->space, "px") == 0;
    const double at[] = {is_px ? label->x / STV_CHART_WIDTH_PX : label->x,
                         is_px ? 1.0 - label->y / chart->height_px : label->y};
    const char *space = is_px ? "screen" : "first";
    bool is_warm = strcmp(label->colour, STV_COLOUR_WARM) == 0;
    stv_text_add(&chart->script, "set label ");
    stv_quote_gnuplot(&chart->script, label->text, STV_QUOTE_LABEL_CHARS);
    stv_text_format(&chart->script, " at %s ", space);
    add_numbers(&chart->script, &at[0], 1, "");
    stv_text_format(&chart->script, ", %s ", space);
    add_numbers(&chart->script, &at[1], 1, "");
    stv_text_format(&chart->script, " %s noenhanced font ',%d' textcolor rgb '%s' front",
                    label->align, label->size_px > 0 ? label->size_px : STV_CHART_FONT_PX,
                    is_warm ? STV_COLOUR_WARM_TEXT : label->colour);
}

void stv_chart_label(struct stv_chart *chart, const struct stv_chart_label *label)
{
    add_label(chart, label);
    stv_text_add(&chart->script, "\n");
}

void stv_chart_boxed_label(struct stv_chart *chart, const struct stv_chart_label *label)
{
    add_label(chart, label);
    stv_text_add(&chart->script, " boxed\n");
}

void stv_chart_made_up_label(struct stv_chart *chart, size_t n_days, const char *how, double x_px,
                             double y_px)
{
    struct stv_text text = {0};
    stv_text_format(&text, "%s: %zu day%s made up", how, n_days, n_days == 1 ? "" : "s");
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&text), x_px, y_px, "px",
                                                     "right", STV_COLOUR_FAINT, 0});
    stv_text_free(&text);
}

size_t stv_chart_block(struct stv_chart *chart)
{
    if (chart->n_blocks > 0 && chart->data.n == chart->block_start)
        return chart->n_blocks - 1;
    /* Exactly two empty lines part blocks, whether or not the last row was an empty one. */
    bool has_empty_row = chart->data.n >= 2 && chart->data.bytes[chart->data.n - 1] == '\n' &&
                         chart->data.bytes[chart->data.n - 2] == '\n';
    if (chart->n_blocks > 0)
        stv_text_add(&chart->data, has_empty_row ? "\n" : "\n\n");
    chart->block_start = chart->data.n;
    return chart->n_blocks++;
}

void stv_chart_row(struct stv_chart *chart, const double *values, size_t n)
{
    add_numbers(&chart->data, values, n, " ");
    stv_text_add(&chart->data, "\n");
}

void stv_chart_stroke(struct stv_chart *chart, const double from[2], const double to[2])
{
    const double row[] = {from[0], from[1], to[0] - from[0], to[1] - from[1]};
    stv_chart_row(chart, row, sizeof row / sizeof row[0]);
}

void stv_chart_layer(struct stv_chart *chart, size_t block, const char *how)
{
    stv_text_format(&chart->layers, "%s'%s.dat' index %zu %s",
                    chart->layers.n == 0 ? "" : ", \\\n  ", chart->name, block, how);
}

void stv_chart_panel_end(struct stv_chart *chart)
{
    stv_text_format(&chart->script, "plot %s\nunset label\n",
                    chart->layers.n == 0 ? "NaN" : chart->layers.bytes);
    bool has_failed = chart->layers.has_failed;
    stv_text_free(&chart->layers);
    chart->layers.has_failed = has_failed;
}

void stv_chart_end(struct stv_chart *chart)
{
    stv_text_format(&chart->script,
                    "unset multiplot\nset output\nset print '%s.done'\nprint 'done'\nset print\n",
                    chart->name);
}

double stv_chart_nice_step(double span, int n_most)
{
    double rough = span / n_most;
    if (!(rough > 0.0) || !isfinite(rough))
        return 1.0;
    double power = pow(10.0, floor(log10(rough)));
    double share = rough / power;
    return power * (share <= 1.0 ? 1.0 : share <= 2.0 ? 2.0 : share <= 5.0 ? 5.0 : 10.0);
}

/* Months between ticks: the first step with few enough labels. */
static int months_between_tics(int64_t span_d, int n_most)
{
    static const int steps[] = {1, 2, 3, 6, 12, 24, 60, 120};
    const double month_d = 365.25 / STV_MONTHS;
    size_t n = sizeof steps / sizeof steps[0];
    for (size_t i = 0; i < n; i++)
        if ((double)span_d / (month_d * steps[i]) <= n_most)
            return steps[i];
    return steps[n - 1];
}

/* One explicit tick; dates are made here and need no quoting. */
static void add_tic(struct stv_chart *chart, int64_t day_d, int step_months, const char *between)
{
    stv_text_format(&chart->script, "%s'", between);
    if (step_months >= STV_MONTHS)
        stv_text_format(&chart->script, "%d", (int)stv_date_from_day(day_d).year);
    else if (step_months > 0)
        stv_text_add_month(&chart->script, day_d);
    stv_text_format(&chart->script, "' %lld", (long long)day_d);
}

/* The first of January from which steps are counted, on or before a day. */
static int64_t first_tic(int64_t from_day_d, int step_months)
{
    struct stv_date date = {stv_date_from_day(from_day_d).year, 1, 1};
    if (step_months > STV_MONTHS)
        date.year -= date.year % (step_months / STV_MONTHS);
    return stv_day_from_date(date);
}

void stv_chart_time_tics(struct stv_chart *chart, int64_t from_day_d, int64_t to_day_d, int n_most,
                         bool has_labels)
{
    int step = months_between_tics(to_day_d - from_day_d, n_most);
    const char *between = "";
    stv_text_add(&chart->script, "set xtics (");
    for (int64_t day = first_tic(from_day_d, step); day <= to_day_d;
         day = stv_day_add_months(day, step)) {
        if (day < from_day_d)
            continue;
        bool is_cut = between[0] != '\0' && EDGE_PARTS * (to_day_d - day) < to_day_d - from_day_d;
        add_tic(chart, day, has_labels && !is_cut ? step : 0, between);
        between = ", ";
    }
    if (between[0] == '\0') {
        int64_t middle_d = from_day_d + (to_day_d - from_day_d) / 2;
        stv_text_add(&chart->script, "'");
        if (has_labels)
            stv_text_add_day(&chart->script, middle_d);
        stv_text_format(&chart->script, "' %lld", (long long)middle_d);
    }
    stv_text_add(&chart->script, ")\n");
}

/* Eight points of the viridis ramp (van der Walt and Smith, 2015, public domain; hex from memory).
 */
static const unsigned ramp[] = {0x440154, 0x46327E, 0x365C8D, 0x277F8E,
                                0x1FA187, 0x4AC16D, 0xA0DA39, 0xFDE725};

static double channel(unsigned rgb, unsigned shift)
{
    return (double)((rgb >> shift) & 0xFFU);
}

unsigned stv_chart_ramp(double share_frac)
{
    const size_t n_steps = sizeof ramp / sizeof ramp[0] - 1;
    double place = fmin(fmax(share_frac, 0.0), 1.0) * (double)n_steps;
    size_t low = (size_t)place < n_steps ? (size_t)place : n_steps - 1;
    double part = place - (double)low;
    unsigned rgb = 0;
    for (unsigned shift = 0; shift <= 16; shift += 8) {
        double mixed =
            (1.0 - part) * channel(ramp[low], shift) + part * channel(ramp[low + 1], shift);
        rgb |= (unsigned)lround(mixed) << shift;
    }
    return rgb;
}

/* Relative luminance of WCAG 2.1; white and black have equal contrast at about 0.18. */
bool stv_chart_is_dark(unsigned rgb)
{
    static const double weight[] = {0.0722, 0.7152, 0.2126}; /* blue, green, red */
    double luminance = 0.0;
    for (unsigned i = 0; i < 3; i++) {
        double c = channel(rgb, 8 * i) / 255.0;
        luminance += weight[i] * (c <= 0.04045 ? c / 12.92 : pow((c + 0.055) / 1.055, 2.4));
    }
    return luminance < 0.18;
}

void stv_chart_day_of_year(struct stv_text *out, int doy)
{
    const struct stv_date first = {2001, 1, 1}; /* any year without a leap day */
    int64_t day_d = stv_day_from_date(first) + doy;
    struct stv_text month = {0};
    stv_text_add_month(&month, day_d);
    stv_text_format(out, "%d %.3s", (int)stv_date_from_day(day_d).day, stv_text_string(&month));
    stv_text_free(&month);
}

void stv_chart_season_dates(struct stv_text *out, const struct stv_season_span *span)
{
    stv_chart_day_of_year(out, span->from_doy);
    stv_text_add(out, " to ");
    stv_chart_day_of_year(out, span->to_doy);
}

/* The year number of a single year is left out: a typical year has none that means anything. */
void stv_chart_add_years(struct stv_text *out, const struct stv_warehouse_climate *climate)
{
    if (climate->n_years == 1)
        stv_text_add(out, ", 1 year");
    else
        stv_text_format(out, ", %zu whole years to %d", climate->n_years, (int)climate->last_year);
}

void stv_chart_year_name(struct stv_text *out, const struct stv_climate_days *days, int first_month,
                         int32_t year)
{
    if (days->is_typical)
        stv_text_add(out, "typical");
    else if (first_month == 1)
        stv_text_format(out, "%d", (int)year);
    else
        stv_text_format(out, "%d/%02d", (int)year, (int)(year + 1) % 100);
}

const struct stv_position_metrics *
stv_chart_middle_tier(const struct stv_warehouse_climate *climate)
{
    return climate->n_tiers > 0 ? &climate->tiers[(climate->n_tiers - 1) / 2] : NULL;
}

void stv_chart_add_ends(struct stv_text *out, struct stv_range range, int n_decimals)
{
    stv_text_add(out, " (");
    stv_text_add_number(out, range.p05, n_decimals);
    stv_text_add(out, " to ");
    stv_text_add_number(out, range.p95, n_decimals);
    stv_text_add(out, ")");
}

enum stv_status stv_chart_status(const struct stv_chart *chart)
{
    bool has_failed = chart->title.has_failed || chart->note.has_failed ||
                      chart->words.has_failed || chart->script.has_failed ||
                      chart->layers.has_failed || chart->data.has_failed ||
                      chart->table.has_failed || chart->picture.has_failed;
    return has_failed ? STV_E_MEMORY : STV_OK;
}

void stv_chart_free(struct stv_chart *chart)
{
    struct stv_text *const texts[] = {&chart->title,  &chart->note, &chart->words,  &chart->script,
                                      &chart->layers, &chart->data, &chart->picture};
    for (size_t i = 0; i < sizeof texts / sizeof texts[0]; i++)
        stv_text_free(texts[i]);
    stv_sheet_free(&chart->table);
    *chart = (struct stv_chart){0};
}
