/* Degree-days by year: the sums from the year's first day on, one grey line for each year, the
 * newest in bold, and under them the middle and the range of the whole years.  A year begins in the
 * cold half.  Ends are labelled at the right, moved apart where they lie close. */
#include "plots/charts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdio.h>

#define HEIGHT_PX 440
#define LEFT_PX 74.0
#define RIGHT_PX 490.0
#define TOP_PX 92.0
#define BELOW_PX 44.0
#define STEP_D 5 /* sums run smoothly: every fifth day draws them */
#define LABEL_PX 21.0
#define LABELS_MOST 4
#define SUM_LABELS_MOST 6
#define MIDDLE_COLOUR "#00664b"
#define NEARLY_END_D 330 /* from here on an end is labelled at the right */

struct degree_days {
    const struct stv_climate_days *days;
    struct stv_degree_years years;
    const char *warehouse;
    double most_k_d; /* of the axis */
};

struct end_label {
    struct stv_text text;
    double value_k_d;
    const char *colour;
};

static const struct stv_degree_year *newest(const struct degree_days *d)
{
    return &d->years.years[d->years.n - 1];
}

/* "30 Nov" of a day of the year that begins with the first month. */
static void add_date(const struct degree_days *d, struct stv_text *out, size_t day)
{
    int first_doy =
        stv_season_day(stv_day_from_date((struct stv_date){2001, d->years.first_month, 1}));
    stv_chart_day_of_year(out, (first_doy + (int)day) % STV_DEGREE_YEAR_D);
}

/* "62 over" or "110 under". */
static void add_side(struct stv_text *out, double more_k_d)
{
    stv_text_add_count(out, fabs(more_k_d));
    stv_text_add(out, more_k_d < 0.0 ? " under" : " over");
}

static double end_k_d(const struct stv_degree_year *year)
{
    return year->sum_k_d[year->n_days - 1];
}

static bool has_range(const struct degree_days *d)
{
    return d->years.n_whole >= STV_DEGREE_RANGE_LEAST_YEARS;
}

/* Days to draw, one after another: 4, 9 and so on, and the last; n_days when all are through. */
static size_t next_day(size_t day, size_t n_days)
{
    return day + 1 == n_days ? n_days : day + STEP_D < n_days ? day + STEP_D : n_days - 1;
}

static void add_year(const struct stv_degree_year *year, struct stv_chart *chart)
{
    const double zero[2] = {0.0, 0.0};
    stv_chart_row(chart, zero, 2);
    for (size_t day = STEP_D - 1; day < year->n_days; day = next_day(day, year->n_days)) {
        const double row[] = {(double)(day + 1), year->sum_k_d[day]};
        stv_chart_row(chart, row, 2);
    }
    stv_chart_row(chart, NULL, 0);
}

static void add_range(const struct degree_days *d, struct stv_chart *chart)
{
    const struct stv_degree_years *years = &d->years;
    const double zero[4] = {0.0, 0.0, 0.0, 0.0};
    if (!has_range(d))
        return;
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, zero, 4);
    for (size_t day = STEP_D - 1; day < STV_DEGREE_YEAR_D; day = next_day(day, STV_DEGREE_YEAR_D)) {
        const double row[] = {(double)(day + 1), years->p10_k_d[day], years->middle_k_d[day],
                              years->p90_k_d[day]};
        stv_chart_row(chart, row, 4);
    }
    stv_chart_layer(chart, block,
                    "using 1:2:4 with filledcurves fs solid noborder lc rgb '#a9d9c7'");
    stv_chart_layer(chart, block,
                    "using 1:3 with lines lw 2 dt (8,5) lc rgb '" STV_COLOUR_RANGE "'");
}

/* White dashes over the days whose weather is of other years: of the newest year's line, or of the
 * lines that it is drawn over. */
static void add_made_up(const struct degree_days *d, struct stv_chart *chart, bool is_newest)
{
    const struct stv_climate_days *days = d->days;
    size_t block = stv_chart_block(chart), n_rows = 0;
    bool is_open = false;
    for (size_t k = 0; k < days->n_days; k++) {
        int32_t year;
        size_t day = (size_t)stv_climate_year_day(days, days->first_day_d + (int64_t)k,
                                                  d->years.first_month, &year);
        for (size_t y = 0; days->is_made_up[k] && y < d->years.n; y++) {
            const struct stv_degree_year *of = &d->years.years[y];
            if (of->year != year || day >= of->n_days || (of == newest(d)) != is_newest)
                continue;
            const double row[] = {(double)(day + 1), of->sum_k_d[day]};
            stv_chart_row(chart, row, 2);
            n_rows++;
            is_open = true;
        }
        if (is_open && !days->is_made_up[k]) { /* two empty rows together would end the block */
            stv_chart_row(chart, NULL, 0);
            is_open = false;
        }
    }
    if (n_rows > 0)
        stv_chart_layer(chart, block,
                        is_newest ? "using 1:2 with lines lw 3.5 dt (5,5) lc rgb '#ffffff'"
                                  : "using 1:2 with lines lw 2 dt (5,5) lc rgb '#ffffff'");
}

static void add_years(const struct degree_days *d, struct stv_chart *chart)
{
    if (d->years.n > 1) {
        size_t block = stv_chart_block(chart);
        for (size_t y = 0; y + 1 < d->years.n; y++)
            add_year(&d->years.years[y], chart);
        stv_chart_layer(chart, block, "using 1:2 with lines lw 1 lc rgb '#666666'");
    }
    if (stv_climate_days_made_up(d->days) > 0)
        add_made_up(d, chart, false);
    size_t block = stv_chart_block(chart);
    add_year(newest(d), chart);
    stv_chart_layer(chart, block, "using 1:2 with lines lw 2.5 lc rgb '#000000'");
    if (stv_climate_days_made_up(d->days) > 0)
        add_made_up(d, chart, true);
}

/* Adds a label in the order of height, the highest first. */
static void put_label(struct end_label *labels, size_t *n, struct end_label label)
{
    size_t at = (*n)++;
    for (; at > 0 && labels[at - 1].value_k_d < label.value_k_d; at--)
        labels[at] = labels[at - 1];
    labels[at] = label;
}

static struct end_label label_of(const struct degree_days *d, const struct stv_degree_year *year,
                                 const char *colour)
{
    struct end_label label = {.value_k_d = end_k_d(year), .colour = colour};
    stv_chart_year_name(&label.text, d->days, d->years.first_month, year->year);
    stv_text_add(&label.text, ": ");
    stv_text_add_count(&label.text, label.value_k_d);
    stv_text_add(&label.text, year->n_days < STV_DEGREE_YEAR_D ? " so far" : "");
    return label;
}

/* The whole year, other than the newest, that ends highest or lowest; NULL when there is none. */
static const struct stv_degree_year *extreme(const struct degree_days *d, double sign)
{
    const struct stv_degree_year *found = NULL;
    for (size_t y = 0; y + 1 < d->years.n; y++) {
        const struct stv_degree_year *year = &d->years.years[y];
        if (!found || sign * end_k_d(year) > sign * end_k_d(found))
            found = year;
    }
    return found;
}

static size_t collect_labels(const struct degree_days *d, struct end_label labels[LABELS_MOST])
{
    const struct stv_degree_year *highest = extreme(d, 1.0), *lowest = extreme(d, -1.0);
    size_t n = 0;
    if (newest(d)->n_days >= NEARLY_END_D)
        put_label(labels, &n, label_of(d, newest(d), "#000000"));
    if (highest)
        put_label(labels, &n, label_of(d, highest, STV_COLOUR_FAINT));
    if (lowest && lowest != highest)
        put_label(labels, &n, label_of(d, lowest, STV_COLOUR_FAINT));
    if (has_range(d)) {
        struct end_label middle = {.value_k_d = d->years.middle_k_d[STV_DEGREE_YEAR_D - 1],
                                   .colour = MIDDLE_COLOUR};
        stv_text_add(&middle.text, "middle: ");
        stv_text_add_count(&middle.text, middle.value_k_d);
        put_label(labels, &n, middle);
    }
    return n;
}

static double height_px(const struct degree_days *d, double value_k_d)
{
    return HEIGHT_PX - BELOW_PX - (HEIGHT_PX - BELOW_PX - TOP_PX) * value_k_d / d->most_k_d;
}

static void add_end_labels(const struct degree_days *d, struct stv_chart *chart)
{
    struct end_label labels[LABELS_MOST] = {0};
    double y_px[LABELS_MOST];
    size_t n = collect_labels(d, labels);
    for (size_t i = 0; i < n; i++) {
        y_px[i] = height_px(d, labels[i].value_k_d);
        if (i > 0)
            y_px[i] = fmax(y_px[i], y_px[i - 1] + LABEL_PX);
    }
    /* Moved down by the crowd: half of that is taken back, as far as there is room. */
    double moved_px = n > 0 ? y_px[n - 1] - height_px(d, labels[n - 1].value_k_d) : 0.0;
    double over_px = n > 0 ? fmin(0.5 * moved_px, y_px[0] - TOP_PX) : 0.0;
    for (size_t i = 0; i < n; i++) {
        stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&labels[i].text),
                                                         RIGHT_PX + 8.0, y_px[i] - over_px, "px",
                                                         "left", labels[i].colour, 0});
        stv_text_free(&labels[i].text);
    }
}

/* The newest year where it breaks off in mid-year, under its end, where no line runs. */
static void add_mid_label(const struct degree_days *d, struct stv_chart *chart)
{
    if (newest(d)->n_days >= NEARLY_END_D)
        return;
    struct end_label label = label_of(d, newest(d), "#000000");
    stv_chart_boxed_label(chart, &(struct stv_chart_label){stv_text_string(&label.text),
                                                           (double)newest(d)->n_days + 4.0,
                                                           label.value_k_d - 0.07 * d->most_k_d,
                                                           "first", "left", label.colour, 0});
    stv_text_free(&label.text);
}

/* How the newest year stands on its last day. */
struct standing {
    struct stv_text year, more, others; /* "2027 to 30 Nov", "62 over the middle", "110 under to 95
                                           over": 8 years in 10 on that day */
};

static struct standing standing_of(const struct degree_days *d)
{
    const struct stv_degree_year *year = newest(d);
    struct standing standing = {0};
    size_t day = year->n_days - 1;
    double middle_k_d = d->years.middle_k_d[day];
    stv_chart_year_name(&standing.year, d->days, d->years.first_month, year->year);
    if (!year->is_whole) {
        stv_text_add(&standing.year, " to ");
        add_date(d, &standing.year, day);
    }
    add_side(&standing.more, year->sum_k_d[day] - middle_k_d);
    stv_text_add(&standing.more, " the middle");
    add_side(&standing.others, d->years.p10_k_d[day] - middle_k_d);
    stv_text_add(&standing.others, " to ");
    add_side(&standing.others, d->years.p90_k_d[day] - middle_k_d);
    return standing;
}

static void standing_free(struct standing *standing)
{
    stv_text_free(&standing->year);
    stv_text_free(&standing->more);
    stv_text_free(&standing->others);
}

/* The same in the corner above the lines, which start low. */
static void add_standing_labels(const struct degree_days *d, struct stv_chart *chart)
{
    if (!has_range(d))
        return;
    struct standing standing = standing_of(d);
    const char *const lines[] = {stv_text_string(&standing.year), stv_text_string(&standing.more),
                                 "8 years in 10:", stv_text_string(&standing.others)};
    for (size_t i = 0; i < sizeof lines / sizeof lines[0]; i++)
        stv_chart_boxed_label(
            chart, &(struct stv_chart_label){lines[i], LEFT_PX + 10.0,
                                             TOP_PX + 12.0 + LABEL_PX * (double)i, "px", "left",
                                             i < 2 ? "#000000" : MIDDLE_COLOUR, 0});
    standing_free(&standing);
}

/* Ticks at the first of the months, every second one named. */
static void add_month_tics(const struct degree_days *d, struct stv_chart *chart)
{
    int year = 2001; /* without a leap day; the months of a July year pass into 2002 */
    int64_t first_d = stv_day_from_date((struct stv_date){year, d->years.first_month, 1});
    stv_text_add(&chart->script, "set xtics (");
    for (int m = 0; m < STV_MONTHS; m++) {
        struct stv_text month = {0};
        int64_t day_d = stv_day_add_months(first_d, m);
        stv_text_add_month(&month, day_d);
        stv_text_format(&chart->script, "%s'%.3s' %d", m == 0 ? "" : ", ",
                        m % 2 == 0 ? stv_text_string(&month) : "", (int)(day_d - first_d));
        stv_text_free(&month);
    }
    stv_text_add(&chart->script, ")\nset xtics offset 0,0.35\n");
}

/* ", from 1 July": said where it is not January. */
static void add_start(const struct degree_days *d, struct stv_text *out)
{
    if (d->years.first_month != 1)
        stv_text_add(out, ", from 1 July");
}

static void add_panel(const struct degree_days *d, struct stv_chart *chart)
{
    stv_chart_panel(chart, LEFT_PX, RIGHT_PX, TOP_PX, HEIGHT_PX - BELOW_PX);
    stv_chart_axis(chart, 'x', 0.0, STV_DEGREE_YEAR_D);
    stv_chart_axis(chart, 'y', 0.0, d->most_k_d);
    add_month_tics(d, chart);
    stv_text_add(&chart->script, "set ytics ");
    stv_text_add_exact(&chart->script, stv_chart_nice_step(d->most_k_d, SUM_LABELS_MOST));
    stv_text_add(&chart->script, "\nset border 3 lw 1 lc rgb '" STV_COLOUR_FAINT "'\n");
    struct stv_text unit = {0};
    stv_text_add(&unit, "degree-days above ");
    stv_text_add_exact(&unit, d->days->base_c);
    stv_text_add(&unit, " °C, K d");
    add_start(d, &unit);
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&unit), 12.0, TOP_PX - 16.0,
                                                     "px", "left", STV_COLOUR_INK, 0});
    stv_text_free(&unit);
    add_end_labels(d, chart);
    add_mid_label(d, chart);
    add_standing_labels(d, chart);
    size_t n_made_up = stv_climate_days_made_up(d->days);
    if (n_made_up > 0)
        stv_chart_made_up_label(chart, n_made_up, "dashed", STV_CHART_WIDTH_PX - 8.0,
                                HEIGHT_PX - BELOW_PX - 12.0);
    add_range(d, chart);
    add_years(d, chart);
    stv_chart_panel_end(chart);
}

static void add_row(const struct degree_days *d, struct stv_chart *chart, const char *what,
                    size_t day, double value_k_d)
{
    struct stv_text date = {0};
    add_date(d, &date, day);
    stv_sheet_add_text(&chart->table, d->warehouse);
    stv_sheet_add_number(&chart->table, d->days->place.tier_idx + 1, 0);
    stv_sheet_add_text(&chart->table, what);
    stv_sheet_add_number(&chart->table, (double)(day + 1), 0);
    stv_sheet_add_text(&chart->table, stv_text_string(&date));
    stv_sheet_add_number(&chart->table, value_k_d, 1);
    stv_text_free(&date);
}

static void fill_table(const struct degree_days *d, struct stv_chart *chart)
{
    static const char *const heads[] = {"warehouse",   "tier", "line",
                                        "day_of_line", "date", "degree_days_k_d"};
    const struct stv_degree_years *years = &d->years;
    const double *const ranges[] = {years->p10_k_d, years->middle_k_d, years->p90_k_d};
    static const char *const names[] = {"p10", "middle", "p90"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t y = 0; y < years->n; y++) {
        const struct stv_degree_year *year = &years->years[y];
        struct stv_text name = {0};
        stv_chart_year_name(&name, d->days, years->first_month, year->year);
        for (size_t day = STEP_D - 1; day < year->n_days; day = next_day(day, year->n_days))
            add_row(d, chart, stv_text_string(&name), day, year->sum_k_d[day]);
        stv_text_free(&name);
    }
    for (size_t r = 0; r < 3 && has_range(d); r++)
        for (size_t day = STEP_D - 1; day < STV_DEGREE_YEAR_D;
             day = next_day(day, STV_DEGREE_YEAR_D))
            add_row(d, chart, names[r], day, ranges[r][day]);
}

static void add_words(const struct degree_days *d, struct stv_chart *chart)
{
    struct stv_text *words = &chart->words;
    stv_text_add(words, "Degree-days above ");
    stv_text_add_exact(words, d->days->base_c);
    stv_text_format(words, " °C in the cask, summed through the year, tier %d of %s",
                    d->days->place.tier_idx + 1, d->warehouse);
    add_start(d, words);
    stv_text_add(words, ".");
    for (size_t y = 0; y < d->years.n; y++) {
        struct end_label label = label_of(d, &d->years.years[y], NULL);
        stv_text_format(words, " %s.", stv_text_string(&label.text));
        stv_text_free(&label.text);
    }
    if (has_range(d)) {
        const size_t last = STV_DEGREE_YEAR_D - 1;
        stv_text_add(words, " Middle of the whole years ");
        stv_text_add_count(words, d->years.middle_k_d[last]);
        stv_text_add(words, ", 8 years in 10 between ");
        stv_text_add_count(words, d->years.p10_k_d[last]);
        stv_text_add(words, " and ");
        stv_text_add_count(words, d->years.p90_k_d[last]);
        struct standing standing = standing_of(d);
        stv_text_format(words, ". %s: %s (8 years in 10: %s).", stv_text_string(&standing.year),
                        stv_text_string(&standing.more), stv_text_string(&standing.others));
        standing_free(&standing);
    }
    size_t n_made_up = stv_climate_days_made_up(d->days);
    if (n_made_up > 0)
        stv_text_format(words, " Days of weather made up from other years: %zu.", n_made_up);
}

static void add_note(const struct degree_days *d, struct stv_text *note)
{
    if (d->days->is_typical)
        stv_text_add(note, "A typical year is one line: it says nothing of how years differ.");
    else if (has_range(d))
        stv_text_format(note,
                        "Bold: the newest year. Grey: the others. Green: 10 to 90 %% of the %zu "
                        "whole years, dashed their middle.",
                        d->years.n_whole);
    else
        stv_text_format(note,
                        "Bold: the newest year. %zu whole year%s: too few for a range, which needs "
                        "%d.",
                        d->years.n_whole, d->years.n_whole == 1 ? "" : "s",
                        STV_DEGREE_RANGE_LEAST_YEARS);
    stv_text_add(note,
                 " The steeper a line, the warmer the cask. The liquid is that of a 200 L cask. "
                 "A missing day adds nothing");
    if (stv_climate_days_made_up(d->days) > 0)
        stv_text_add(note, "; dashed: weather made up from other years");
    if (d->years.n_left_out > 0)
        stv_text_format(note, "; %zu year%s left out, with more than 5 days missing or just begun",
                        d->years.n_left_out, d->years.n_left_out == 1 ? "" : "s");
    stv_text_add(note, ".");
}

static void add_subtitle(const struct degree_days *d, struct stv_text *out)
{
    stv_text_format(out, "%s, tier %d, ", d->warehouse, d->days->place.tier_idx + 1);
    if (d->days->is_typical)
        stv_text_add(out, "a typical year: no spread between years");
    else
        stv_text_format(out, "%zu whole year%s", d->years.n_whole,
                        d->years.n_whole == 1 ? "" : "s");
    if (!newest(d)->is_whole) {
        stv_text_add(out, " and to ");
        stv_text_add_iso_day(out, d->days->first_day_d + (int64_t)d->days->n_days - 1);
    }
}

static void draw(const struct degree_days *d, const struct stv_days_input *input,
                 struct stv_chart *out)
{
    char name[STV_CHART_NAME_MAX];
    struct stv_text subtitle = {0};
    snprintf(name, sizeof name, "degree-days-%zu", input->number);
    add_subtitle(d, &subtitle);
    stv_chart_begin(out, &(struct stv_chart_frame){name, "Warmth in the cask, year by year",
                                                   stv_text_string(&subtitle), HEIGHT_PX,
                                                   input->is_invented});
    stv_text_free(&subtitle);
    add_panel(d, out);
    stv_chart_end(out);
    fill_table(d, out);
    add_words(d, out);
    add_note(d, &out->note);
}

enum stv_status stv_chart_degree_days(const struct stv_days_input *input, struct stv_chart *out)
{
    struct degree_days d = {.days = input->days, .warehouse = input->warehouse->name};
    enum stv_status status = stv_degree_years_make(
        input->days, stv_climate_year_month(&input->warehouse->seasons[STV_SEASON_WARM]), &d.years);
    if (status != STV_OK)
        return status;
    for (size_t y = 0; y < d.years.n; y++)
        d.most_k_d = fmax(d.most_k_d, 1.05 * end_k_d(&d.years.years[y]));
    if (d.most_k_d > 0.0) /* else the cask never passes the base */
        draw(&d, input, out);
    stv_degree_years_free(&d.years);
    return d.most_k_d > 0.0 ? stv_chart_status(out) : STV_E_NO_DATA;
}
