/* Wood against loss: the path of one same cask on each tier, a mark for each year, and the two
 * ranges as a cross at its end.  The band is the wood that the house calls ready.  Tiers mostly
 * differ by far less than their ranges, so their ends stand once more in a panel of their own,
 * enlarged.  Tiers go from dark to light; their names are tied to their ends there. */
#include "plots/charts.h"

#include <math.h>
#include <stdio.h>
#include <stdlib.h>

#define HEIGHT_PX 470
#define LEFT_PX 62.0
#define RIGHT_PX 366.0
#define ENDS_LEFT_PX 444.0
#define ENDS_RIGHT_PX 584.0
#define TOP_PX 98.0
#define BOTTOM_PX 386.0
#define NAME_X_PX 614.0
#define ENDS_LEAST_SHARE 0.04 /* of the whole axis: nothing is enlarged more than that */
#define ENDS_LABELS_MOST 3
#define NAME_STEP_PX 20.0
#define NAMES_MOST 12
#define VALUE_LABELS_MOST 6
#define BAND_LOOK "fs solid noborder lc rgb '#e2efe9'"
#define RAMP_MOST 0.85 /* the lightest colours are lost on white */

/* A panel: its edges, and what they stand for. */
struct view {
    double left_px, right_px;
    double from_pct, to_pct, from_wood_nd, to_wood_nd;
};

struct paths {
    const struct stv_store_paths *store;
    struct view whole, ends;
};

static const struct stv_path_age *age_of(const struct paths *paths, size_t tier, size_t age)
{
    return &paths->store->told[tier * paths->store->n_ages + age];
}

static bool is_told(const struct stv_path_age *age)
{
    return isfinite(age->lost_frac.p50) && isfinite(age->wood_nd.p50);
}

/* The last age that a path reaches; n_ages: none. */
static size_t last_age(const struct paths *paths, size_t tier)
{
    for (size_t a = paths->store->n_ages; a-- > 0;)
        if (is_told(age_of(paths, tier, a)))
            return a;
    return paths->store->n_ages;
}

/* Room around what lies between two numbers, at least a share of a whole axis. */
static void widen(double whole, double *from, double *to)
{
    double half = 0.5 * fmax(1.3 * (*to - *from), ENDS_LEAST_SHARE * whole);
    double middle = 0.5 * (*from + *to);
    *from = middle - half;
    *to = middle + half;
}

static bool find_extent(struct paths *paths)
{
    struct view *whole = &paths->whole, *ends = &paths->ends;
    *whole = (struct view){LEFT_PX, RIGHT_PX, 0.0, NAN, 0.0, NAN};
    *ends = (struct view){ENDS_LEFT_PX, ENDS_RIGHT_PX, NAN, NAN, NAN, NAN};
    for (size_t t = 0; t < paths->store->n_tiers; t++) {
        size_t last = last_age(paths, t);
        if (last == paths->store->n_ages)
            continue;
        const struct stv_path_age *end = age_of(paths, t, last);
        double pct = 100.0 * end->lost_frac.p50, wood_nd = end->wood_nd.p50;
        whole->to_pct = fmax(whole->to_pct, 104.0 * end->lost_frac.p95); /* NaN is left out */
        whole->to_wood_nd = fmax(whole->to_wood_nd, 1.04 * end->wood_nd.p95);
        ends->from_pct = fmin(ends->from_pct, pct);
        ends->to_pct = fmax(ends->to_pct, pct);
        ends->from_wood_nd = fmin(ends->from_wood_nd, wood_nd);
        ends->to_wood_nd = fmax(ends->to_wood_nd, wood_nd);
    }
    if (!(whole->to_pct > 0.0) || !(whole->to_wood_nd > 0.0))
        return false;
    if (paths->store->wood_most_nd < 2.0 * whole->to_wood_nd)
        whole->to_wood_nd = fmax(whole->to_wood_nd, 1.04 * paths->store->wood_most_nd);
    widen(whole->to_pct, &ends->from_pct, &ends->to_pct);
    widen(whole->to_wood_nd, &ends->from_wood_nd, &ends->to_wood_nd);
    return true;
}

static unsigned colour_of(const struct paths *paths, size_t tier)
{
    size_t n = paths->store->n_tiers;
    return stv_chart_ramp(n > 1 ? RAMP_MOST * (double)tier / (double)(n - 1) : 0.0);
}

static void add_band(const struct paths *paths, const struct view *view, struct stv_chart *chart)
{
    double low = fmax(paths->store->wood_least_nd, view->from_wood_nd);
    double high = fmin(paths->store->wood_most_nd, view->to_wood_nd);
    if (!(high > low))
        return;
    const double row[] = {0.5 * (view->from_pct + view->to_pct),
                          0.5 * (low + high),
                          view->from_pct,
                          view->to_pct,
                          low,
                          high};
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, row, sizeof row / sizeof row[0]);
    stv_chart_layer(chart, block, "using 1:2:3:4:5:6 with boxxyerror " BAND_LOOK);
}

/* Where the other panel looks. */
static void add_marks(const struct paths *paths, struct stv_chart *chart)
{
    const struct view *ends = &paths->ends;
    const double x[] = {ends->from_pct, ends->to_pct}, y[] = {ends->from_wood_nd, ends->to_wood_nd};
    size_t block = stv_chart_block(chart);
    for (size_t i = 0; i < 5; i++)
        stv_chart_row(chart, (const double[2]){x[i == 1 || i == 2], y[i == 2 || i == 3]}, 2);
    stv_chart_layer(chart, block, "using 1:2 with lines lw 2 lc rgb '#000000'");
}

/* What the band stands for: under the panels, where no path runs, in a panel of pixels. */
static void add_ready(const struct paths *paths, struct stv_chart *chart)
{
    const double y_px = BOTTOM_PX + 46.0, half_px = 8.0;
    const double row[] = {ENDS_LEFT_PX + half_px,       -y_px,           ENDS_LEFT_PX,
                          ENDS_LEFT_PX + 2.0 * half_px, -y_px - half_px, -y_px + half_px};
    struct stv_text text = {0};
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, row, sizeof row / sizeof row[0]);
    stv_chart_layer(chart, block, "using 1:2:3:4:5:6 with boxxyerror " BAND_LOOK);
    stv_text_add(&text, "ready: ");
    stv_text_add_number(&text, paths->store->wood_least_nd, 2);
    stv_text_add(&text, " to ");
    stv_text_add_number(&text, paths->store->wood_most_nd, 2);
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&text),
                                                     ENDS_LEFT_PX + 2.0 * half_px + 8.0, -y_px,
                                                     "first", "left", STV_COLOUR_INK, 0});
    stv_text_free(&text);
}

/* Both ranges at the end of a path. */
static void add_cross(const struct paths *paths, struct stv_chart *chart, size_t tier)
{
    size_t last = last_age(paths, tier);
    const struct stv_path_age *end = age_of(paths, tier, last);
    struct stv_range lost = stv_range_scaled(end->lost_frac, 100.0), wood = end->wood_nd;
    const double rows[4][2] = {
        {lost.p05, wood.p50}, {lost.p95, wood.p50}, {lost.p50, wood.p05}, {lost.p50, wood.p95}};
    char how[80];
    size_t block = stv_chart_block(chart);
    for (size_t i = 0; i < 4; i++) {
        stv_chart_row(chart, rows[i], 2);
        if (i == 1 || i == 3)
            stv_chart_row(chart, NULL, 0);
    }
    snprintf(how, sizeof how, "using 1:2 with lines lw 1.2 dt (3,2) lc rgb '#%06x'",
             colour_of(paths, tier));
    stv_chart_layer(chart, block, how);
}

static void add_path(const struct paths *paths, struct stv_chart *chart, size_t tier,
                     const char *mark_size)
{
    char how[80];
    size_t block = stv_chart_block(chart);
    stv_chart_row(chart, (const double[2]){0.0, 0.0}, 2);
    for (size_t a = 0; a < paths->store->n_ages; a++) {
        const struct stv_path_age *age = age_of(paths, tier, a);
        const double row[] = {100.0 * age->lost_frac.p50, age->wood_nd.p50};
        if (is_told(age))
            stv_chart_row(chart, row, 2);
    }
    snprintf(how, sizeof how, "using 1:2 with linespoints pt 7 ps %s lw 2.2 lc rgb '#%06x'",
             mark_size, colour_of(paths, tier));
    stv_chart_layer(chart, block, how);
}

/* A tier's name in the right margin: where its path ends, and where the name stands. */
struct name {
    size_t tier;
    double x_px, y_px, name_y_px;
};

static int compare_names(const void *a, const void *b)
{
    const struct name *x = a, *y = b;
    return (x->y_px > y->y_px) - (x->y_px < y->y_px);
}

/* Names from the top down, each at its path's end or below the one before it. */
static size_t lay_names(const struct paths *paths, struct name *names)
{
    const struct stv_store_paths *store = paths->store;
    const struct view *ends = &paths->ends;
    size_t n = 0, every = 1 + (store->n_tiers - 1) / NAMES_MOST;
    for (size_t t = 0; t < store->n_tiers; t++) {
        size_t last = last_age(paths, t);
        if (last == store->n_ages || (t % every != 0 && t + 1 != store->n_tiers))
            continue;
        const struct stv_path_age *end = age_of(paths, t, last);
        double across =
            (100.0 * end->lost_frac.p50 - ends->from_pct) / (ends->to_pct - ends->from_pct);
        double up =
            (end->wood_nd.p50 - ends->from_wood_nd) / (ends->to_wood_nd - ends->from_wood_nd);
        names[n++] = (struct name){t, ends->left_px + across * (ends->right_px - ends->left_px),
                                   BOTTOM_PX - up * (BOTTOM_PX - TOP_PX), 0.0};
    }
    qsort(names, n, sizeof *names, compare_names);
    double above_px = NAME_STEP_PX * (double)n;
    for (size_t i = 0; i < n; i++, above_px -= NAME_STEP_PX) {
        double lowest_px = BOTTOM_PX + NAME_STEP_PX - above_px; /* leaves room for the rest */
        names[i].name_y_px = fmin(names[i].y_px, lowest_px);
        if (i > 0)
            names[i].name_y_px = fmax(names[i].name_y_px, names[i - 1].name_y_px + NAME_STEP_PX);
    }
    return n;
}

/* Names and the thin lines to them, and what the band is, in a panel whose unit is the pixel. */
static void add_names(const struct paths *paths, struct stv_chart *chart)
{
    struct name *names = calloc(paths->store->n_tiers, sizeof *names);
    if (names == NULL) {
        chart->script.has_failed = true;
        return;
    }
    size_t n = lay_names(paths, names);
    stv_chart_panel(chart, 0.0, STV_CHART_WIDTH_PX, 0.0, HEIGHT_PX);
    stv_chart_axis(chart, 'x', 0.0, STV_CHART_WIDTH_PX);
    stv_chart_axis(chart, 'y', -HEIGHT_PX, 0.0);
    stv_text_add(&chart->script, "set border 0\nunset tics\nunset grid\n");
    size_t block = stv_chart_block(chart);
    for (size_t i = 0; i < n; i++) {
        const double from[] = {names[i].x_px, -names[i].y_px};
        const double to[] = {NAME_X_PX - 4.0, -names[i].name_y_px};
        char text[32];
        stv_chart_row(chart, from, 2);
        stv_chart_row(chart, to, 2);
        stv_chart_row(chart, NULL, 0);
        snprintf(text, sizeof text, "tier %zu", names[i].tier + 1);
        stv_chart_label(chart, &(struct stv_chart_label){text, NAME_X_PX, -names[i].name_y_px,
                                                         "first", "left", STV_COLOUR_INK, 0});
    }
    stv_chart_layer(chart, block, "using 1:2 with lines lw 1 lc rgb '#999999'");
    add_ready(paths, chart);
    stv_chart_panel_end(chart);
    free(names);
}

static void add_axis(struct stv_chart *chart, char axis, double from, double to, int n_most)
{
    stv_chart_axis(chart, axis, from, to);
    stv_text_format(&chart->script, "set %ctics ", axis);
    stv_text_add_exact(&chart->script, stv_chart_nice_step(to - from, n_most));
    stv_text_add(&chart->script, axis == 'x' ? " offset 0,0.35\n" : "\n");
}

static void add_panel(const struct paths *paths, const struct view *view, struct stv_chart *chart)
{
    bool is_whole = view == &paths->whole;
    int n_most = is_whole ? VALUE_LABELS_MOST : ENDS_LABELS_MOST;
    stv_chart_panel(chart, view->left_px, view->right_px, TOP_PX, BOTTOM_PX);
    stv_text_format(&chart->script, "set border %d lw %d lc rgb '%s'\n", is_whole ? 3 : 15,
                    is_whole ? 1 : 2, is_whole ? STV_COLOUR_FAINT : "#000000");
    add_axis(chart, 'x', view->from_pct, view->to_pct, n_most);
    add_axis(chart, 'y', view->from_wood_nd, view->to_wood_nd, VALUE_LABELS_MOST);
    stv_chart_label(
        chart, &(struct stv_chart_label){is_whole ? "wood, reference cask = 1" : "ends, enlarged",
                                         is_whole ? 12.0 : view->left_px, TOP_PX - 18.0, "px",
                                         "left", STV_COLOUR_INK, 0});
    if (is_whole)
        stv_chart_label(chart, &(struct stv_chart_label){"pure alcohol gone since the fill, %",
                                                         view->left_px, BOTTOM_PX + 46.0, "px",
                                                         "left", STV_COLOUR_INK, 0});
    if (is_whole)
        stv_chart_label(chart, &(struct stv_chart_label){"dots: years; crosses: 9 in 10 at the end",
                                                         view->left_px, BOTTOM_PX + 68.0, "px",
                                                         "left", STV_COLOUR_FAINT, 0});
    add_band(paths, view, chart);
    for (size_t t = 0; t < paths->store->n_tiers; t++)
        if (last_age(paths, t) < paths->store->n_ages) {
            if (is_whole)
                add_cross(paths, chart, t);
            add_path(paths, chart, t, is_whole ? "0.4" : "1.0");
        }
    if (is_whole)
        add_marks(paths, chart);
    stv_chart_panel_end(chart);
}

static void fill_table(const struct paths *paths, struct stv_chart *chart)
{
    static const char *const heads[] = {"warehouse",    "tier",         "age_y",
                                        "lost_p05_pct", "lost_p50_pct", "lost_p95_pct",
                                        "wood_p05_nd",  "wood_p50_nd",  "wood_p95_nd"};
    stv_sheet_heads(&chart->table, heads, sizeof heads / sizeof heads[0]);
    for (size_t t = 0; t < paths->store->n_tiers; t++)
        for (size_t a = 0; a < paths->store->n_ages; a++) {
            const struct stv_path_age *age = age_of(paths, t, a);
            const double numbers[] = {100.0 * age->lost_frac.p05, 100.0 * age->lost_frac.p50,
                                      100.0 * age->lost_frac.p95, age->wood_nd.p05,
                                      age->wood_nd.p50,           age->wood_nd.p95};
            stv_sheet_add_text(&chart->table, paths->store->name);
            stv_sheet_add_number(&chart->table, (double)(t + 1), 0);
            stv_sheet_add_number(&chart->table, paths->store->ages_y[a], 1);
            for (size_t i = 0; i < sizeof numbers / sizeof numbers[0]; i++)
                stv_sheet_add_number(&chart->table, numbers[i], i < 3 ? 1 : 2);
        }
}

/* "Tier 6: 16.2 % gone (13.0 to 20.1), wood 1.52 (0.9 to 2.3)." */
static void add_tier_words(const struct paths *paths, size_t tier, struct stv_text *words)
{
    size_t last = last_age(paths, tier);
    if (last == paths->store->n_ages)
        return;
    const struct stv_path_age *end = age_of(paths, tier, last);
    struct stv_range lost = stv_range_scaled(end->lost_frac, 100.0);
    stv_text_format(words, " Tier %zu: ", tier + 1);
    stv_text_add_number(words, lost.p50, 1);
    stv_text_add(words, " % of the alcohol gone");
    stv_chart_add_ends(words, lost, 1);
    stv_text_add(words, ", wood ");
    stv_text_add_number(words, end->wood_nd.p50, 2);
    stv_chart_add_ends(words, end->wood_nd, 2);
    stv_text_add(words, ".");
}

static void add_words(const struct paths *paths, struct stv_chart *chart)
{
    const struct stv_store_paths *store = paths->store;
    stv_text_format(&chart->words,
                    "Wood against alcohol lost of one same new cask on each tier of "
                    "%s, after ",
                    store->name);
    stv_text_add_number(&chart->words, store->ages_y[store->n_ages - 1], 1);
    stv_text_add(&chart->words, " years.");
    add_tier_words(paths, 0, &chart->words);
    if (store->n_tiers > 2)
        add_tier_words(paths, (store->n_tiers - 1) / 2, &chart->words);
    if (store->n_tiers > 1)
        add_tier_words(paths, store->n_tiers - 1, &chart->words);
    stv_text_add(&chart->words, " The house calls ready what lies from ");
    stv_text_add_number(&chart->words, store->wood_least_nd, 2);
    stv_text_add(&chart->words, " to ");
    stv_text_add_number(&chart->words, store->wood_most_nd, 2);
    stv_text_add(&chart->words, ".");
    stv_text_add(&chart->note,
                 "A mark for each year, the last at the planned age; the cross is nine trials in "
                 "ten of both. At the right the ends again, without crosses, enlarged. Band: the "
                 "wood that the house calls ready. Gone is all that left "
                 "the liquid, what soaked into the staves too. Tiers share most of their range: "
                 "what the wood is worth moves all of them together.");
}

enum stv_status stv_chart_paths(const struct stv_store_paths *store, size_t number,
                                bool is_invented, struct stv_chart *out)
{
    struct paths paths = {.store = store};
    if (store->n_tiers == 0 || store->n_ages == 0 || !find_extent(&paths))
        return STV_E_NO_DATA;
    char name[STV_CHART_NAME_MAX];
    struct stv_text subtitle = {0};
    snprintf(name, sizeof name, "paths-%zu", number);
    stv_text_format(&subtitle, "%s: new ", store->name);
    stv_text_add_number(&subtitle, store->capacity_l, 0);
    stv_text_add(&subtitle, " L at ");
    stv_text_add_number(&subtitle, 100.0 * store->abv20_frac, 1);
    stv_text_add(&subtitle, " %, filled ");
    stv_text_add_month(&subtitle, store->from_day_d);
    stv_chart_begin(out,
                    &(struct stv_chart_frame){name, "Wood against loss, tier by tier",
                                              stv_text_string(&subtitle), HEIGHT_PX, is_invented});
    stv_text_free(&subtitle);
    add_panel(&paths, &paths.whole, out);
    add_panel(&paths, &paths.ends, out);
    add_names(&paths, out);
    stv_chart_end(out);
    fill_table(&paths, out);
    add_words(&paths, out);
    return stv_chart_status(out);
}
