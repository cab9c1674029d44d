/* Losses by tier: one row per tier, the floor at the bottom, warm season beside cold on one scale.
 * A bar is the mean full cask's loss in kilograms, cause after cause; the stroke under it is the
 * range of the whole, nine trials in ten. */
#include "plots/charts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdio.h>

#define TOP_PX 100.0
#define ROW_PX 36.0
#define ROW_SMALL_PX 27.0
#define ROWS_LARGE 12
#define LEFT_PX 70.0
#define HEADING_PX 14.0
#define PANEL_PX 280.0
#define GAP_PX 22.0
#define TICS_PX 62.0 /* numbers and unit under the panels */
#define KEY_ROW_PX 24.0
#define KEY_COLUMN_PX 236.0
#define KEY_COLUMNS 3
#define BELOW_PX 26.0
#define BAR_HALF 0.30
#define RANGE_UNDER 0.41 /* under the bar, which it would hide */
#define RANGE_END 0.07
#define BAR_GAP_PX 1.5        /* white between two causes */
#define NUMBER_ROOM 0.20      /* of the scale, for the number behind a bar */
#define KEY_LEAST_SHARE 0.001 /* less is not seen */
#define VALUE_LABELS_MOST 5

/* Ordered from dark to light so that neighbours differ in grey too. */
static const struct part {
    const char *column, *name, *colour;
} parts[STV_PART_ALL] = {
    [STV_PART_AIR_WATER] = {"water_through_wood_kg", "water, through wood", "#9ad4c0"},
    [STV_PART_AIR_ETHANOL] = {"alcohol_through_wood_kg", "alcohol, through wood", "#00523b"},
    [STV_PART_JOINTS] = {"joints_kg", "both, at joints", "#E69F00"},
    [STV_PART_INDRINK] = {"soaked_in_kg", "soaked into staves", "#7a4a6b"},
    [STV_PART_SAMPLES] = {"samples_kg", "samples", "#bbbbbb"},
    [STV_PART_LEAK] = {"leaks_kg", "leaks", "#000000"},
};

struct losses {
    const struct stv_season_losses *store;
    double row_px, least_kg, most_kg; /* ends of the scale */
    bool is_in_key[STV_PART_ALL];
};

static const struct stv_group_losses *tier_of(const struct losses *losses, int season, size_t tier)
{
    return &losses->store->tiers[season][tier];
}

/* Middles of causes do not add up to the middle of the whole: the bar ends where the whole's
 * stands, shared out as the middles of its causes are. */
static double share_nd(const struct stv_group_losses *tier)
{
    double sum_kg = 0.0, all_kg = tier->part_kg[STV_PART_ALL].p50;
    for (size_t p = 0; p < STV_PART_ALL; p++)
        sum_kg += tier->part_kg[p].p50;
    return sum_kg > 0.0 && all_kg > 0.0 ? all_kg / sum_kg : 1.0;
}

/* Kilograms of a cause's bar from nought: losses go on to the right of those before it, gains
 * (water out of damp air) to the left. */
static void find_ends(const struct stv_group_losses *tier, size_t part, double out_kg[2])
{
    double kg = tier->part_kg[part].p50, from = 0.0, share = share_nd(tier);
    for (size_t p = 0; p < part; p++)
        if ((tier->part_kg[p].p50 < 0.0) == (kg < 0.0))
            from += tier->part_kg[p].p50;
    out_kg[0] = share * fmin(from, from + kg);
    out_kg[1] = share * fmax(from, from + kg);
}

/* Scale and key; false when no tier has a cask. */
static bool find_extent(struct losses *losses)
{
    double least = 0.0, most = NAN, longest[STV_PART_ALL] = {0.0};
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        for (size_t t = 0; t < losses->store->n_tiers; t++) {
            const struct stv_group_losses *tier = tier_of(losses, s, t);
            double ends[2];
            if (tier->n_casks == 0)
                continue;
            most = fmax(most, tier->part_kg[STV_PART_ALL].p95); /* fmax leaves out NaN */
            least = fmin(least, tier->part_kg[STV_PART_ALL].p05);
            for (size_t p = 0; p < STV_PART_ALL; p++) {
                find_ends(tier, p, ends);
                least = fmin(least, ends[0]);
                most = fmax(most, ends[1]);
                longest[p] = fmax(longest[p], ends[1] - ends[0]);
            }
        }
    for (size_t p = 0; p < STV_PART_ALL; p++)
        losses->is_in_key[p] = longest[p] > KEY_LEAST_SHARE * (most - least);
    losses->least_kg = least - (least < 0.0 ? 0.03 * (most - least) : 0.0);
    losses->most_kg = most + NUMBER_ROOM * (most - least);
    return most > least;
}

/* The bars of one cause: middle, y, and edges. */
static void add_part(const struct losses *losses, struct stv_chart *chart, int season, size_t part)
{
    size_t block = stv_chart_block(chart), n = 0;
    double gap_kg = BAR_GAP_PX * (losses->most_kg - losses->least_kg) / PANEL_PX;
    for (size_t t = 0; t < losses->store->n_tiers; t++) {
        const struct stv_group_losses *tier = tier_of(losses, season, t);
        double ends[2] = {0.0, 0.0}, y = (double)t;
        if (tier->n_casks > 0)
            find_ends(tier, part, ends);
        if (!(ends[1] - ends[0] > gap_kg))
            continue;
        ends[1] -= gap_kg;
        const double row[] = {
            0.5 * (ends[0] + ends[1]), y, ends[0], ends[1], y - BAR_HALF, y + BAR_HALF};
        stv_chart_row(chart, row, sizeof row / sizeof row[0]);
        n++;
    }
    char how[96];
    snprintf(how, sizeof how, "using 1:2:3:4:5:6 with boxxyerror fs solid noborder lc rgb '%s'",
             parts[part].colour);
    if (n > 0)
        stv_chart_layer(chart, block, how);
}

/* The range of the whole, with an end stroke at both ends, and its middle in figures. */
static void add_ranges(const struct losses *losses, struct stv_chart *chart, int season)
{
    size_t block = stv_chart_block(chart), n = 0;
    for (size_t t = 0; t < losses->store->n_tiers; t++) {
        const struct stv_group_losses *tier = tier_of(losses, season, t);
        struct stv_range all = tier->part_kg[STV_PART_ALL];
        double y = (double)t;
        struct stv_text text = {0};
        if (tier->n_casks > 0) {
            const double at = y - RANGE_UNDER, high = at + RANGE_END, low = at - RANGE_END;
            const double strokes[][2][2] = {{{all.p05, low}, {all.p05, high}},
                                            {{all.p05, at}, {all.p95, at}},
                                            {{all.p95, low}, {all.p95, high}}};
            for (size_t i = 0; i < sizeof strokes / sizeof strokes[0]; i++)
                stv_chart_stroke(chart, strokes[i][0], strokes[i][1]);
            n++;
            stv_text_add_number(&text, all.p50, 1);
        } else {
            stv_text_add(&text, "no cask");
        }
        stv_chart_label(
            chart,
            &(struct stv_chart_label){
                stv_text_string(&text),
                tier->n_casks > 0
                    ? fmax(all.p95, all.p50) + 0.025 * (losses->most_kg - losses->least_kg)
                    : 0.02 * (losses->most_kg - losses->least_kg),
                y, "first", "left", tier->n_casks > 0 ? STV_COLOUR_INK : STV_COLOUR_FAINT, 0});
        stv_text_free(&text);
    }
    if (n == 0)
        return;
    stv_chart_layer(chart, block, STV_CHART_STROKES "lw 1.5 lc rgb '#000000'");
}

static void add_tier_labels(const struct losses *losses, struct stv_chart *chart, bool has_labels)
{
    stv_text_add(&chart->script, has_labels ? "set ytics (" : "unset ytics\n");
    if (!has_labels)
        return;
    for (size_t t = 0; t < losses->store->n_tiers; t++)
        stv_text_format(&chart->script, "%s'tier %zu' %zu", t == 0 ? "" : ", ", t + 1, t);
    stv_text_add(&chart->script, ")\nset ytics scale 0\n");
}

/* "Warm, 4 Jun to 2 Sep 2027"; the year of the first day too where it is another. */
static void add_dates(const struct losses *losses, int season, struct stv_text *out)
{
    const struct stv_season_losses *store = losses->store;
    struct stv_text from = {0}, to = {0};
    int64_t first_d = store->from_day_d[season] + 1, last_d = store->to_day_d[season];
    stv_chart_day_of_year(&from, stv_season_day(first_d));
    stv_chart_day_of_year(&to, stv_season_day(last_d));
    bool is_one_year = stv_date_from_day(first_d).year == stv_date_from_day(last_d).year;
    if (!is_one_year)
        stv_text_format(&from, " %d", (int)stv_date_from_day(first_d).year);
    stv_text_format(out, "%s, %s to %s %d", season == STV_SEASON_WARM ? "Warm" : "Cold",
                    stv_text_string(&from), stv_text_string(&to),
                    (int)stv_date_from_day(last_d).year);
    stv_text_free(&from);
    stv_text_free(&to);
}

static void add_panel(const struct losses *losses, struct stv_chart *chart, int season)
{
    bool is_warm = season == STV_SEASON_WARM;
    const char *colour = is_warm ? STV_COLOUR_WARM : STV_COLOUR_COLD;
    double n_tiers = (double)losses->store->n_tiers, height = losses->row_px * n_tiers;
    double left = LEFT_PX + (is_warm ? 0.0 : PANEL_PX + GAP_PX);
    struct stv_text heading = {0};
    add_dates(losses, season, &heading);
    stv_chart_panel(chart, left, left + PANEL_PX, TOP_PX, TOP_PX + height);
    stv_chart_axis(chart, 'x', losses->least_kg, losses->most_kg);
    stv_chart_axis(chart, 'y', -0.5, n_tiers - 0.5);
    stv_text_format(&chart->script,
                    "set border 15 lw 2 lc rgb '%s' dashtype %s\nunset grid\nset grid xtics back "
                    "lt 1 lw 1 lc rgb '" STV_COLOUR_GRID "'\nset xtics ",
                    colour, is_warm ? "solid" : "(8,6)");
    stv_text_add_exact(&chart->script,
                       stv_chart_nice_step(losses->most_kg - losses->least_kg, VALUE_LABELS_MOST));
    stv_text_add(&chart->script, " offset 0,0.35\n");
    add_tier_labels(losses, chart, is_warm);
    /* Over the tiers' names too: both years of a winter are longer than the panel. */
    stv_chart_label(chart, &(struct stv_chart_label){stv_text_string(&heading),
                                                     is_warm ? HEADING_PX : left, TOP_PX - 14.0,
                                                     "px", "left", colour, 0});
    if (losses->least_kg < 0.0)
        stv_text_add(&chart->script, "set yzeroaxis lt 1 lw 1.5 lc rgb '#000000'\n");
    for (size_t p = 0; p < STV_PART_ALL; p++)
        add_part(losses, chart, season, p);
    add_ranges(losses, chart, season);
    stv_chart_panel_end(chart);
    stv_text_free(&heading);
}

static size_t key_rows(const struct losses *losses)
{
    size_t n = 0;
    for (size_t p = 0; p < STV_PART_ALL; p++)
        n += losses->is_in_key[p];
    return (n + 1 + KEY_COLUMNS - 1) / KEY_COLUMNS; /* the range has a place, too */
}

/* What the colours mean, in the order of the bars: a panel of its own whose unit is the pixel. */
static void add_key(const struct losses *losses, struct stv_chart *chart, double top_px)
{
    double height = KEY_ROW_PX * (double)key_rows(losses);
    stv_chart_panel(chart, 0.0, STV_CHART_WIDTH_PX, top_px, top_px + height);
    stv_chart_axis(chart, 'x', 0.0, STV_CHART_WIDTH_PX);
    stv_chart_axis(chart, 'y', -height, 0.0);
    stv_text_add(&chart->script, "set border 0\nunset tics\nunset grid\nunset yzeroaxis\n");
    size_t i = 0;
    for (size_t p = 0; p < STV_PART_ALL; p++) {
        if (!losses->is_in_key[p])
            continue;
        double x = 16.0 + KEY_COLUMN_PX * (double)(i % KEY_COLUMNS);
        double y = -KEY_ROW_PX * ((double)(i / KEY_COLUMNS) + 0.5);
        const double row[] = {x + 8.0, y, x, x + 16.0, y - 7.0, y + 7.0};
        char how[96];
        snprintf(how, sizeof how, "using 1:2:3:4:5:6 with boxxyerror fs solid noborder lc rgb '%s'",
                 parts[p].colour);
        size_t block = stv_chart_block(chart);
        stv_chart_row(chart, row, sizeof row / sizeof row[0]);
        stv_chart_layer(chart, block, how);
        stv_chart_label(chart, &(struct stv_chart_label){parts[p].name, x + 24.0, y, "first",
                                                         "left", STV_COLOUR_INK, 0});
        i++;
    }
    double x = 16.0 + KEY_COLUMN_PX * (double)(i % KEY_COLUMNS);
    double y = -KEY_ROW_PX * ((double)(i / KEY_COLUMNS) + 0.5);
    size_t block = stv_chart_block(chart);
    for (int end = 0; end < 2; end++)
        stv_chart_stroke(chart, (const double[2]){x + 16.0 * end, y - 4.0},
                         (const double[2]){x + 16.0 * end, y + 4.0});
    stv_chart_stroke(chart, (const double[2]){x, y}, (const double[2]){x + 16.0, y});
    stv_chart_layer(chart, block, STV_CHART_STROKES "lw 1.5 lc rgb '#000000'");
    stv_chart_label(chart, &(struct stv_chart_label){"all together, 9 in 10", x + 24.0, y, "first",
                                                     "left", STV_COLOUR_INK, 0});
    stv_chart_panel_end(chart);
}

static void add_iso_day(struct stv_sheet *table, int64_t day_d)
{
    struct stv_text text = {0};
    stv_text_add_iso_day(&text, day_d);
    stv_sheet_add_text(table, stv_text_string(&text));
    stv_text_free(&text);
}

static void fill_table(const struct losses *losses, struct stv_chart *chart)
{
    static const char *const heads[] = {"warehouse", "season", "from",   "to",
                                        "tier",      "casks",  "loss",   "p05_kg",
                                        "p25_kg",    "p50_kg", "p75_kg", "p95_kg"};
    static const char *const season_names[] = {"warm", "cold"};
    const struct stv_season_losses *store = losses->store;
    struct stv_sheet *table = &chart->table;
    stv_sheet_heads(table, heads, sizeof heads / sizeof heads[0]);
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        for (size_t t = 0; t < store->n_tiers; t++)
            for (size_t p = 0; p < STV_PART_N; p++) {
                const struct stv_group_losses *tier = tier_of(losses, s, t);
                stv_sheet_add_text(table, store->name);
                stv_sheet_add_text(table, season_names[s]);
                add_iso_day(table, store->from_day_d[s] + 1);
                add_iso_day(table, store->to_day_d[s]);
                stv_sheet_add_number(table, (double)(t + 1), 0);
                stv_sheet_add_number(table, (double)tier->n_casks, 0);
                stv_sheet_add_text(table, p < STV_PART_ALL ? parts[p].name : "all");
                stv_sheet_add_range_cells(table, tier->part_kg[p], 2);
            }
}

static void add_tier_words(const struct stv_group_losses *tier, size_t idx, struct stv_text *words)
{
    struct stv_range all = tier->part_kg[STV_PART_ALL];
    stv_text_format(words, " tier %zu ", idx + 1);
    stv_text_add_number(words, all.p50, 1);
    stv_text_add(words, " kg");
    stv_chart_add_ends(words, all, 1);
    stv_text_add(words, ", of it ");
    stv_text_add_number(words, tier->part_kg[STV_PART_AIR_WATER].p50, 1);
    stv_text_add(words, " water and ");
    stv_text_add_number(words, tier->part_kg[STV_PART_AIR_ETHANOL].p50, 1);
    stv_text_format(words, " alcohol through the wood, %zu cask%s;", tier->n_casks,
                    tier->n_casks == 1 ? "" : "s");
}

/* Casks of different sizes make tiers differ, whatever their places. */
static bool has_sizes(const struct stv_season_losses *store)
{
    return store->n_tiers > 1 && store->least_l < store->most_l;
}

/* Both seasons: the lowest and the highest tier that have casks. */
static void add_words(const struct losses *losses, struct stv_chart *chart)
{
    const struct stv_season_losses *store = losses->store;
    struct stv_text *words = &chart->words;
    stv_text_format(words, "What the mean full cask of each tier of %s %s in the season.",
                    store->name, store->is_coming ? "is to lose" : "lost");
    for (int s = 0; s < STV_LOSS_SEASONS; s++) {
        size_t low = SIZE_MAX, high = 0;
        for (size_t t = 0; t < store->n_tiers; t++)
            if (tier_of(losses, s, t)->n_casks > 0) {
                low = low == SIZE_MAX ? t : low;
                high = t;
            }
        stv_text_add(words, " ");
        add_dates(losses, s, words);
        stv_text_add(words, low == SIZE_MAX ? ": no cask;" : ":");
        if (low != SIZE_MAX && low != high)
            add_tier_words(tier_of(losses, s, low), low, words);
        if (low != SIZE_MAX)
            add_tier_words(tier_of(losses, s, high), high, words);
        if (words->n > 0 && !words->has_failed)
            words->bytes[words->n - 1] = '.';
    }
    stv_text_add(
        &chart->note,
        "Figure and bar: the middle of the whole, shared out as the middles of its causes are; "
        "stroke under it: nine trials in ten of the whole. A cask counts where it lay on one tier, "
        "filled once, all season.");
    if (losses->least_kg < 0.0)
        stv_text_add(&chart->note, " Left of nought: water taken up out of damp air.");
    if (has_sizes(store))
        stv_text_format(&chart->note,
                        " The casks are of %.0f to %.0f L: tiers differ by their casks' sizes too, "
                        "not by their places alone.",
                        store->least_l, store->most_l);
    stv_text_add(&chart->note, store->is_coming
                                   ? " No season of this book is over: these are to come, in the "
                                     "weather of the record."
                                   : " The last seasons that are over, worked out, not measured.");
}

static void add_subtitle(const struct losses *losses, struct stv_text *out)
{
    size_t n[STV_LOSS_SEASONS] = {0};
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        for (size_t t = 0; t < losses->store->n_tiers; t++)
            n[s] += tier_of(losses, s, t)->n_casks;
    stv_text_format(out, "%s, full casks: %zu warm, %zu cold%s", losses->store->name,
                    n[STV_SEASON_WARM], n[STV_SEASON_COLD],
                    losses->store->is_coming ? ", to come" : "");
    if (has_sizes(losses->store))
        stv_text_format(out, "; %.0f to %.0f L", losses->store->least_l, losses->store->most_l);
}

enum stv_status stv_chart_losses(const struct stv_season_losses *store, size_t number,
                                 bool is_invented, struct stv_chart *out)
{
    struct losses losses = {.store = store};
    if (store->n_tiers == 0 || !find_extent(&losses))
        return STV_E_NO_DATA;
    losses.row_px = store->n_tiers <= ROWS_LARGE ? ROW_PX : ROW_SMALL_PX;
    double key_top = TOP_PX + losses.row_px * (double)store->n_tiers + TICS_PX;
    int height = (int)(key_top + KEY_ROW_PX * (double)key_rows(&losses) + BELOW_PX);
    char name[STV_CHART_NAME_MAX];
    struct stv_text subtitle = {0};
    snprintf(name, sizeof name, "losses-%zu", number);
    add_subtitle(&losses, &subtitle);
    stv_chart_begin(out,
                    &(struct stv_chart_frame){name, "What a cask loses in a season, kg",
                                              stv_text_string(&subtitle), height, is_invented});
    stv_text_free(&subtitle);
    stv_chart_label(out,
                    &(struct stv_chart_label){"kg from a full cask in the season", LEFT_PX,
                                              key_top - 14.0, "px", "left", STV_COLOUR_INK, 0});
    add_panel(&losses, out, STV_SEASON_WARM);
    add_panel(&losses, out, STV_SEASON_COLD);
    add_key(&losses, out, key_top);
    stv_chart_end(out);
    fill_table(&losses, out);
    add_words(&losses, out);
    return stv_chart_status(out);
}
