/* Charts: each is made from invented structs, drawn by the real gnuplot, and must be well-formed,
 * small, and silent; the table beside it must hold the structs' own numbers.  All results here
 * are invented (tests/made_up.h); 9 significant digits are what CSV promises. */
#include "tests/chart_check.h"
#include "tests/made_up.h"

#include "plots/gnuplot.h"
#include "plots/quote.h"

#include <sys/stat.h>
#include <unistd.h>

static void test_rack(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 2);
    const struct stv_warehouse_climate *w = climate.warehouses;
    const char *const columns[] = {"liquid_mean_c", "evaporation_pct_per_y", "extraction_rel_nd"};
    for (int q = 0; q < STV_RACK_N; q++) {
        struct stv_chart chart = {0};
        stv_assert_ok(stv_chart_rack(w, (enum stv_rack_quantity)q, 1, true, &chart));
        draw(&chart);
        struct csv_cells cells = cells_of(&chart);
        for (size_t t = 0; t < 16; t++) { /* two seasons of six tiers and two bays */
            const struct stv_position_metrics *m =
                t % 8 < 6 ? &w->tiers[t % 8] : &w->bays[t % 8 - 6];
            const struct stv_season_metrics *s =
                &m->seasons[t < 8 ? STV_SEASON_WARM : STV_SEASON_COLD];
            const double want[] = {s->liquid_mean_c, 100.0 * s->evaporation_frac_per_y,
                                   s->extraction_rel_nd};
            stv_assert_close(csv_number(&cells, t, columns[q]), want[q], CSV_REL, 0.0);
            stv_assert_close(csv_number(&cells, t, "tier"), m->place.tier_idx + 1, 0.0, 0.0);
            assert_string_equal(csv_text(&cells, t, "season"), t < 8 ? "warm" : "cold");
        }
        stv_assert_close(csv_number(&cells, 6, "bay"), 3.0, 0.0, 0.0);
        assert_string_equal(csv_text(&cells, 0, "bay"), "");
        csv_cells_free(&cells);
        stv_chart_free(&chart);
    }
    made_climate_free(&climate);
}

static void test_rack_text(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 2);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_rack(climate.warehouses, STV_RACK_LIQUID_C, 1, true, &chart));
    draw(&chart);
    has_words(&chart, "Warm season: 22.4 (tier 1) to 29.8 (tier 6)");
    has_words(&chart, "Cold season: 8.4 (tier 1) to 8.8 (tier 6)");
    assert_non_null(strstr(chart.picture.bytes, "Warm, 4 Jun to 2 Sep"));
    assert_non_null(strstr(chart.picture.bytes, ">26.8<"));
    stv_chart_free(&chart);
    made_climate_free(&climate);
}

/* Sizes at the ends: one tier, the most tiers the model has, many bays. */
static void test_climate_sizes(void **state)
{
    (void)state;
    const size_t sizes[][2] = {{1, 0}, {2, 1}, {32, 0}, {9, 24}};
    for (size_t i = 0; i < 4; i++) {
        struct stv_climate_result climate = made_climate("Rick", sizes[i][0], sizes[i][1]);
        struct stv_chart rack = {0}, ridges = {0};
        stv_assert_ok(stv_chart_rack(climate.warehouses, STV_RACK_EXTRACTION_ND, 2, true, &rack));
        draw(&rack);
        stv_assert_ok(stv_chart_ridges(climate.warehouses, 2, true, &ridges));
        draw(&ridges);
        stv_chart_free(&rack);
        stv_chart_free(&ridges);
        made_climate_free(&climate);
    }
}

/* Hours that all fall into one bin: a hill in the middle of an axis with numbers. */
static void test_ridge_of_one_bin(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 1, 1);
    struct stv_chart chart = {0};
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        for (size_t b = 0; b < STV_HISTOGRAM_BINS; b++)
            climate.warehouses[0].tiers[0].liquid_histogram_frac[s][b] = b == 85 ? 1.0 : 0.0;
    stv_assert_ok(stv_chart_ridges(climate.warehouses, 1, true, &chart));
    assert_non_null(strstr(chart.script.bytes, "set xrange [19.5000:26.0000]"));
    assert_int_equal(stv_sheet_n_rows(&chart.table), 2);
    draw(&chart);
    stv_chart_free(&chart);
    made_climate_free(&climate);
}

static void test_ridges(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 0);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_ridges(climate.warehouses, 1, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    size_t row = 0;
    for (size_t t = 0; t < 6; t++)
        for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
            for (size_t b = 0; b < STV_HISTOGRAM_BINS; b++) {
                double share = climate.warehouses[0].tiers[t].liquid_histogram_frac[s][b];
                if (!(share > 0.0))
                    continue;
                stv_assert_close(csv_number(&cells, row, "hours_pct"), 100.0 * share, CSV_REL, 0.0);
                stv_assert_close(csv_number(&cells, row, "from_c"), -20.0 + 0.5 * (double)b, 0.0,
                                 1e-9);
                row++;
            }
    assert_int_equal(row, stv_sheet_n_rows(&chart.table));
    has_words(&chart, "Tier 6: warm season middle 29.8");
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_climate_free(&climate);
}

static void test_nothing_known(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 2, 0);
    struct stv_chart rack = {0}, ridges = {0};
    for (int t = 0; t < 2; t++)
        for (int s = 0; s < STV_SEASON_N; s++) {
            climate.warehouses[0].tiers[t].seasons[s].liquid_mean_c = NAN;
            memset(climate.warehouses[0].tiers[t].liquid_histogram_frac[s], 0,
                   STV_HISTOGRAM_BINS * sizeof(double));
        }
    stv_assert_status(stv_chart_rack(climate.warehouses, STV_RACK_LIQUID_C, 1, true, &rack),
                      STV_E_NO_DATA);
    stv_assert_status(stv_chart_ridges(climate.warehouses, 1, true, &ridges), STV_E_NO_DATA);
    made_climate_free(&climate);
}

/* A cask with gauges and events; days as given. */
static void fan(size_t cask_idx, int step_months, size_t n_days, struct stv_chart *chart)
{
    int64_t filled = made_day(2024, 3, 14);
    struct stv_ledger ledger = made_ledger(5);
    struct stv_outlook outlook = made_outlook(5, filled, step_months, n_days);
    struct stv_house_rules rules = made_rules();
    const struct stv_report_gauge gauges[] = {{0, filled + 200, 190.5, 0.593, 1.0, 0.002, "", ""},
                                              {0, filled + 700, 178.0, 0.601, 1.0, 0.002, "", ""},
                                              {1, filled + 900, NAN, 0.57, NAN, 0.002, "", ""}};
    const struct stv_fan_input input = {.ledger = &ledger,
                                        .outlook = &outlook,
                                        .rules = &rules,
                                        .gauges = gauges,
                                        .n_gauges = 3,
                                        .cask_idx = cask_idx,
                                        .as_of_day_d = made_day(2027, 12, 12),
                                        .is_invented = true};
    stv_assert_ok(stv_chart_fan(&input, chart));
    draw(chart);
    struct csv_cells cells = cells_of(chart);
    for (size_t d = 0; d < n_days && cask_idx < 4; d++) {
        struct stv_range abv = stv_outlook_range(&outlook, cask_idx, d, STV_Q_ABV20_FRAC);
        struct stv_range volume = stv_outlook_range(&outlook, cask_idx, d, STV_Q_VOLUME20_L);
        stv_assert_close(csv_number(&cells, d, "abv20_p05_pct"), 100.0 * abv.p05, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, d, "abv20_p50_pct"), 100.0 * abv.p50, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, d, "volume20_p25_l"), volume.p25, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, d, "volume20_p95_l"), volume.p95, CSV_REL, 0.0);
    }
    if (cask_idx == 0 && n_days > 1) {
        assert_string_equal(csv_text(&cells, n_days, "kind"), "gauge");
        stv_assert_close(csv_number(&cells, n_days, "volume20_p50_l"), 190.5, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, n_days + 1, "abv20_p50_pct"), 60.1, CSV_REL, 0.0);
        assert_int_equal(stv_sheet_n_rows(&chart->table), n_days + 2);
    }
    csv_cells_free(&cells);
    made_outlook_free(&outlook);
    made_ledger_free(&ledger);
}

static void test_fan(void **state)
{
    (void)state;
    struct stv_chart chart = {0};
    fan(0, 12, 9, &chart);
    has_words(&chart, "On 14 March 2024: 59.2 % and 195 L.");
    has_words(&chart, "On 14 March 2032: 60.8 %");
    /* Day, then 5, 25, 50, 75 and 95 % as drawn: all alike on the day of the fill. */
    assert_int_equal(
        strncmp(chart.data.bytes, "19796.0000 59.2000 59.2000 59.2000 59.2000 59.2000\n", 51), 0);
    assert_non_null(strstr(chart.data.bytes, "\n19996.0000 190.5000\n")); /* the first gauge */
    assert_non_null(strstr(chart.picture.bytes, "least 57.0 %"));
    assert_non_null(strstr(chart.picture.bytes, "F fill, W add water"));
    stv_chart_free(&chart);
}

/* Monthly days over 30 years, a single day, and a cask that was emptied on the way. */
static void test_fan_sizes(void **state)
{
    (void)state;
    struct stv_chart many = {0}, one = {0}, emptied = {0};
    fan(1, 1, 360, &many);
    fan(2, 1, 1, &one);
    fan(4, 12, 9, &emptied);
    assert_int_equal(stv_sheet_n_rows(&emptied.table), 4); /* 2024 to 2027 */
    stv_chart_free(&many);
    stv_chart_free(&one);
    stv_chart_free(&emptied);
}

/* Days of a cask's own stand between the outlook's, none thinned away, none twice: a cask that
 * water goes into falls between two days that touch. */
static void test_fan_own_days(void **state)
{
    (void)state;
    int64_t filled = made_day(2024, 3, 14), watered = made_day(2030, 10, 12);
    struct stv_ledger ledger = made_ledger(2);
    struct stv_outlook outlook = made_outlook(2, filled, 1, 360);
    struct stv_range strong = stv_range_point(0.61), weak = stv_range_point(0.58);
    struct stv_fan_day days[] = {{outlook.days_d[7], strong, stv_range_point(180.0)},
                                 {watered - 1, strong, stv_range_point(160.0)},
                                 {watered, weak, stv_range_point(170.0)}};
    const struct stv_fan_days own = {days, 3};
    const struct stv_fan_input input = {
        .ledger = &ledger, .outlook = &outlook, .own_days = &own, .as_of_day_d = filled};
    struct stv_chart chart = {0};
    char before[48], after[48];
    stv_assert_ok(stv_chart_fan(&input, &chart));
    snprintf(before, sizeof before, "\n%lld.0000 61.0000", (long long)watered - 1);
    snprintf(after, sizeof after, "\n%lld.0000 58.0000", (long long)watered);
    assert_non_null(strstr(chart.data.bytes, before));
    assert_non_null(strstr(chart.data.bytes, after));
    assert_int_equal(stv_sheet_n_rows(&chart.table), 360 + 2);
    struct csv_cells cells = cells_of(&chart);
    for (size_t i = 1; i < stv_sheet_n_rows(&chart.table); i++)
        assert_true(strcmp(csv_text(&cells, i - 1, "date"), csv_text(&cells, i, "date")) < 0);
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_outlook_free(&outlook);
    made_ledger_free(&ledger);
}

static void test_fan_empty(void **state)
{
    (void)state;
    struct stv_ledger ledger = made_ledger(2);
    struct stv_outlook outlook = made_outlook(2, made_day(2028, 1, 1), 1, 3);
    const struct stv_fan_input input = {.ledger = &ledger, .outlook = &outlook, .cask_idx = 1};
    struct stv_chart chart = {0};
    stv_assert_status(stv_chart_fan(&input, &chart), STV_E_NO_DATA);
    stv_chart_free(&chart);
    made_outlook_free(&outlook);
    made_ledger_free(&ledger);
}

/* Windows of 24 casks, and what the chart is told of them. */
struct windows_case {
    struct stv_ledger ledger;
    struct stv_outlook months;
    struct stv_bottling bottling;
    struct stv_windows_input input;
};

static void windows_new(struct windows_case *out)
{
    *out = (struct windows_case){.ledger = made_ledger(25),
                                 .months = made_outlook(25, made_day(2027, 12, 1), 1, 48),
                                 .bottling = made_bottling(24, 48)};
    out->input = (struct stv_windows_input){.ledger = &out->ledger,
                                            .months = &out->months,
                                            .bottling = &out->bottling,
                                            .n_rows = 24,
                                            .as_of_day_d = made_day(2027, 12, 12),
                                            .is_invented = true,
                                            .number = 1};
}

static void windows_free(struct windows_case *made)
{
    free(made->bottling.windows);
    made_outlook_free(&made->months);
    made_ledger_free(&made->ledger);
}

/* An end that wood decides and that is not known to the half year has no edge, and a window in
 * which the trials agree on no month has no dark one. */
static void test_windows_not_clear(void **state)
{
    (void)state;
    struct windows_case made;
    windows_new(&made);
    made.input.n_rows = 5;
    made.bottling.windows[2].too_much_wood = (struct stv_crossing){1.0, 0.0, 300.0, 400.0, 600.0};
    made.bottling.windows[2].surest_frac = 0.6;
    made.bottling.windows[4].surest_to_idx += 2;
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_windows(&made.input, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    assert_string_equal(csv_text(&cells, 2, "closes_clear"), "no");
    assert_string_equal(csv_text(&cells, 2, "surest_clear"), "no");
    assert_string_equal(csv_text(&cells, 2, "opens_clear"), "yes");
    assert_string_equal(csv_text(&cells, 0, "surest_clear"), "yes");
    has_words(&chart, "Cask 3: May 2028 to May 2029 (not clear), surest not clear.");
    has_words(&chart, "surest Sep-Nov 2028.");
    assert_non_null(strstr(chart.picture.bytes, "wood?"));
    /* The word before the bar that begins soon ends where the line of today does not meet it. */
    made.bottling.windows[1].open_idx = 1;
    made.bottling.windows[1].opens_by = STV_SIDE_STRENGTH;
    struct stv_chart soon = {0};
    stv_assert_ok(stv_chart_windows(&made.input, &soon));
    assert_true(label_at(&soon, "strength") < (double)made.input.as_of_day_d);
    stv_chart_free(&soon);
    assert_null(strstr(chart.picture.bytes, "\u2026")); /* nothing is cut */
    char bar[96];                                       /* its hard end is gone */
    snprintf(bar, sizeof bar, " %.4f 1.6800 2.3200", (double)made_day(2029, 5, 1) + 30.4375);
    assert_null(strstr(chart.data.bytes, bar));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    windows_free(&made);
}

static void test_windows(void **state)
{
    (void)state;
    struct windows_case made;
    windows_new(&made);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_windows(&made.input, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    assert_int_equal(stv_sheet_n_rows(&chart.table), 24);
    assert_string_equal(csv_text(&cells, 2, "opens"), "2028-05-01");
    assert_string_equal(csv_text(&cells, 2, "surest"), "2028-12-01");
    assert_string_equal(csv_text(&cells, 2, "last_month_in"), "2029-05-01");
    assert_string_equal(csv_text(&cells, 2, "closes_by"), "wood");
    assert_string_equal(csv_text(&cells, 1, "still_open"), "yes");
    assert_string_equal(csv_text(&cells, 3, "opens"), "");
    assert_string_equal(csv_text(&cells, 3, "opens_by"), "strength");
    stv_assert_close(csv_number(&cells, 2, "surest_pct"), 71.0, CSV_REL, 0.0);
    /* The bar itself: from the first day of the month it opens to the end of the last month in,
     * a month being 30.4375 days wide; the third of 24 rows stands at height 21. */
    char bar[96];
    double left = (double)made_day(2028, 5, 1), right = (double)made_day(2029, 5, 1) + 30.4375;
    snprintf(bar, sizeof bar, "\n%.4f 21.0000 %.4f %.4f ", 0.5 * (left + right), left, right);
    assert_non_null(strstr(chart.data.bytes, bar));
    has_words(&chart, "Cask 3: May 2028 to May 2029, surest Dec 2028.");
    assert_non_null(strstr(chart.picture.bytes, "no window: strength"));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made.input.n_rows = STV_WINDOW_ROWS_MAX + 1;
    stv_assert_status(stv_chart_windows(&made.input, &chart), STV_E_NO_DATA);
    windows_free(&made);
}

static void test_sites(void **state)
{
    (void)state;
    const char *const metrics[] = {"volume_loss_pct", "lpa_loss_pct", "abv20_change_pct", "wood_nd",
                                   "still_fruit_nd"};
    struct stv_sites_result sites = made_sites(3);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_sites(&sites, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    size_t row = 0;
    for (int m = 0; m < STV_SITE_METRIC_N; m++)
        for (size_t s = 0; s < 3; s++) {
            double factor = m < 3 ? 100.0 : 1.0;
            assert_string_equal(csv_text(&cells, row, "metric"), metrics[m]);
            assert_string_equal(csv_text(&cells, row, "site"), sites.sites[s].name);
            stv_assert_close(csv_number(&cells, row, "p05"), factor * sites.sites[s].metric[m].p05,
                             CSV_REL, 0.0);
            stv_assert_close(csv_number(&cells, row, "p95"), factor * sites.sites[s].metric[m].p95,
                             CSV_REL, 0.0);
            for (size_t y = 0; y < 9; y++) {
                stv_assert_close(csv_number(&cells, row + 1 + y, "year"), sites.sites[s].years[y],
                                 0.0, 0.0);
                stv_assert_close(csv_number(&cells, row + 1 + y, "p50"),
                                 factor * sites.sites[s].year_median[m][y], CSV_REL, 0.0);
            }
            row += 10;
        }
    assert_int_equal(row, stv_sheet_n_rows(&chart.table));
    has_words(&chart, "Quill Basin 7.2 (5.9 to 8.8)");
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_sites_free(&sites);
}

/* Names that were typed reach the picture as text and nothing else. */
static void test_hostile_names(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("'; !touch /tmp/x\n<script>]]>&`ls`", 3, 0);
    struct stv_ledger ledger = made_ledger(2);
    struct stv_outlook outlook = made_outlook(2, made_day(2024, 3, 14), 6, 5);
    const struct stv_fan_input input = {
        .ledger = &ledger, .outlook = &outlook, .is_invented = true};
    struct stv_chart rack = {0}, cask = {0};
    snprintf(ledger.casks[0].id, STV_ID_MAX, "%s", "=1'\"\\<b>%s\xE2\x80\xAE\xC3(");
    stv_assert_ok(stv_chart_rack(climate.warehouses, STV_RACK_LIQUID_C, 1, true, &rack));
    stv_assert_ok(stv_chart_fan(&input, &cask));
    draw(&rack);
    draw(&cask);
    assert_null(strstr(rack.picture.bytes, "<script"));
    assert_non_null(strstr(rack.picture.bytes, "&lt;script"));
    assert_non_null(strstr(cask.picture.bytes, "&lt;b"));
    struct stv_text csv = {0};
    stv_sheet_csv(&cask.table, &csv);
    assert_non_null(strstr(csv.bytes, "\n\"'=1'\"\""));
    stv_text_free(&csv);
    stv_chart_free(&rack);
    stv_chart_free(&cask);
    made_climate_free(&climate);
    made_outlook_free(&outlook);
    made_ledger_free(&ledger);
}

/* One bad script takes its own chart away, not the others. */
static void test_one_fails(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 3, 0);
    struct stv_chart charts[3] = {0};
    char why[300];
    for (size_t i = 0; i < 3; i++)
        stv_assert_ok(
            stv_chart_rack(climate.warehouses, STV_RACK_LIQUID_C, i + 1, true, &charts[i]));
    /* The picture is begun and gnuplot closes it, yet it is not whole. */
    char *end = strstr(charts[1].script.bytes, "unset multiplot");
    assert_non_null(end);
    memcpy(end, "nonsense !!    ", strlen("unset multiplot"));
    stv_assert_status(stv_charts_draw(charts, 3, STV_PICTURE_SVG, why, sizeof why), STV_E_PROGRAM);
    assert_non_null(strstr(why, "invalid command"));
    assert_true(charts[0].picture.n > 0 && charts[1].picture.n == 0 && charts[2].picture.n > 0);
    for (size_t i = 0; i < 3; i++)
        stv_chart_free(&charts[i]);
    made_climate_free(&climate);
}

/* Every kind of picture is what its name says, and the same twice, though a PDF tells the time. */
static void test_kinds(void **state)
{
    (void)state;
    static const char *const starts[STV_PICTURE_N] = {"<?xml", "\x89PNG\r\n", "%PDF-"};
    struct stv_climate_result climate = made_climate("Long Shed", 3, 0);
    for (int k = 0; k < STV_PICTURE_N; k++) {
        struct stv_chart charts[2] = {0};
        char why[300], path[40];
        enum stv_picture kind;
        snprintf(path, sizeof path, "a.folder/rack.%s", stv_picture_ending((enum stv_picture)k));
        assert_true(stv_picture_of_path(path, &kind));
        assert_int_equal(kind, k);
        for (size_t i = 0; i < 2; i++) {
            stv_assert_ok(
                stv_chart_rack(climate.warehouses, STV_RACK_LIQUID_C, 1, true, &charts[i]));
            stv_assert_ok(stv_charts_draw(&charts[i], 1, kind, why, sizeof why));
            assert_string_equal(why, "");
            assert_memory_equal(charts[i].picture.bytes, starts[k], strlen(starts[k]));
            if (k == STV_PICTURE_PDF && i == 0)
                sleep(1); /* the clock that it would tell */
        }
        assert_int_equal(charts[0].picture.n, charts[1].picture.n);
        assert_memory_equal(charts[0].picture.bytes, charts[1].picture.bytes, charts[0].picture.n);
        for (size_t i = 0; i < 2; i++)
            stv_chart_free(&charts[i]);
    }
    enum stv_picture kind;
    assert_false(stv_picture_of_path("rack.svg.jpg", &kind));
    assert_false(stv_picture_of_path("svg", &kind));
    made_climate_free(&climate);
}

static void run_script(const char *script, int limit_s, enum stv_status want, const char *part)
{
    struct stv_gnuplot *gnuplot = NULL;
    struct stv_text text = {0};
    char why[300];
    stv_text_add(&text, script);
    stv_assert_ok(stv_gnuplot_new(&gnuplot));
    stv_assert_ok(stv_gnuplot_put(gnuplot, "x.gp", &text));
    stv_assert_status(stv_gnuplot_run(gnuplot, "x.gp", limit_s, why, sizeof why), want);
    if (strstr(why, part) == NULL)
        print_error("\"%s\" is not in \"%s\"\n", part, why);
    assert_non_null(strstr(why, part));
    stv_gnuplot_free(gnuplot);
    stv_text_free(&text);
}

static void test_gnuplot_errors(void **state)
{
    (void)state;
    run_script("print 'x'\n", 10, STV_OK, "x");
    run_script("nonsense\n", 10, STV_E_PROGRAM, "invalid command");
    run_script("pause 30\n", 1, STV_E_PROGRAM, "longer than 1 s");
}

static void test_gnuplot_names(void **state)
{
    (void)state;
    static const char *const bad[] = {"", "../x", "<ls", "|ls", "a b", "-x", "a/b", ".x"};
    struct stv_gnuplot *gnuplot = NULL;
    struct stv_text text = {0};
    struct stat about;
    stv_assert_ok(stv_gnuplot_new(&gnuplot));
    assert_int_equal(stat(stv_gnuplot_folder(gnuplot), &about), 0);
    assert_int_equal(about.st_mode & 0777, 0700);
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++)
        stv_assert_status(stv_gnuplot_put(gnuplot, bad[i], &text), STV_E_ARG);
    stv_assert_status(stv_gnuplot_get(gnuplot, "missing.svg", &text), STV_E_IO);
    char folder[256];
    snprintf(folder, sizeof folder, "%s", stv_gnuplot_folder(gnuplot));
    stv_gnuplot_free(gnuplot);
    assert_int_not_equal(stat(folder, &about), 0);
}

static void test_gnuplot_missing(void **state)
{
    (void)state;
    char *path = strdup(getenv("PATH"));
    assert_non_null(path);
    /* A gnuplot in the current folder or a relative one is never meant. */
    char here[256], folder[] = "/tmp/stv-fake-XXXXXX";
    assert_non_null(getcwd(here, sizeof here));
    assert_non_null(mkdtemp(folder));
    assert_int_equal(chdir(folder), 0);
    FILE *fake = fopen("gnuplot", "w");
    assert_non_null(fake);
    fputs("#!/bin/sh\nexit 0\n", fake);
    fclose(fake);
    assert_int_equal(chmod("gnuplot", 0700), 0);
    setenv("PATH", ":.:./:/nowhere", 1);
    run_script("print 1\n", 10, STV_E_PROGRAM, "apt-get install gnuplot-nox");
    assert_int_equal(unlink("gnuplot"), 0);
    assert_int_equal(chdir(here), 0);
    assert_int_equal(rmdir(folder), 0);
    setenv("PATH", path, 1);
    char *tmp = getenv("TMPDIR") == NULL ? NULL : strdup(getenv("TMPDIR"));
    setenv("TMPDIR", "/nowhere", 1);
    struct stv_gnuplot *gnuplot = NULL;
    stv_assert_status(stv_gnuplot_new(&gnuplot), STV_E_IO);
    if (tmp != NULL)
        setenv("TMPDIR", tmp, 1);
    else
        unsetenv("TMPDIR");
    free(tmp);
    free(path);
}

static void test_frame(void **state)
{
    (void)state;
    stv_assert_close(stv_chart_nice_step(75.0, 5), 20.0, 1e-12, 0.0);
    stv_assert_close(stv_chart_nice_step(0.9, 5), 0.2, 1e-12, 0.0);
    stv_assert_close(stv_chart_nice_step(0.0, 5), 1.0, 0.0, 0.0);
    assert_int_equal(stv_chart_ramp(0.0), 0x440154);
    assert_int_equal(stv_chart_ramp(1.0), 0xFDE725);
    assert_int_equal(stv_chart_ramp(1.7), 0xFDE725);
    assert_true(stv_chart_is_dark(0x440154));
    assert_false(stv_chart_is_dark(0xFDE725));
    /* Lightness rises all the way, so the ramp also reads in grey. */
    double before = -1.0;
    for (int i = 0; i <= 50; i++) {
        unsigned rgb = stv_chart_ramp(i / 50.0);
        double grey = 0.2126 * (rgb >> 16) + 0.7152 * ((rgb >> 8) & 255U) + 0.0722 * (rgb & 255U);
        assert_true(grey > before);
        before = grey;
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_frame),
        cmocka_unit_test(test_rack),
        cmocka_unit_test(test_rack_text),
        cmocka_unit_test(test_climate_sizes),
        cmocka_unit_test(test_ridges),
        cmocka_unit_test(test_ridge_of_one_bin),
        cmocka_unit_test(test_nothing_known),
        cmocka_unit_test(test_fan),
        cmocka_unit_test(test_fan_sizes),
        cmocka_unit_test(test_fan_own_days),
        cmocka_unit_test(test_fan_empty),
        cmocka_unit_test(test_windows),
        cmocka_unit_test(test_windows_not_clear),
        cmocka_unit_test(test_sites),
        cmocka_unit_test(test_hostile_names),
        cmocka_unit_test(test_one_fails),
        cmocka_unit_test(test_kinds),
        cmocka_unit_test(test_gnuplot_errors),
        cmocka_unit_test(test_gnuplot_names),
        cmocka_unit_test(test_gnuplot_missing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
