/* Charts of what casks do: losses by tier, gauges against what was told,
 * vapour, wood against loss.  All results here are
 * invented. */
#include "tests/chart_check.h"
#include "tests/made_casks.h"

static void test_losses(void **state)
{
    (void)state;
    struct stv_season_losses losses = made_losses("Long Shed", 6);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_losses(&losses, 1, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    size_t row = 0;
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        for (size_t t = 0; t < 6; t++)
            for (size_t p = 0; p < STV_PART_N; p++, row++) {
                const struct stv_group_losses *tier = &losses.tiers[s][t];
                stv_assert_close(csv_number(&cells, row, "tier"), (double)t + 1.0, 0.0, 0.0);
                stv_assert_close(csv_number(&cells, row, "casks"), (double)tier->n_casks, 0.0, 0.0);
                if (t == 1) {
                    assert_string_equal(csv_text(&cells, row, "p50_kg"), "");
                    continue;
                }
                stv_assert_close(csv_number(&cells, row, "p50_kg"), tier->part_kg[p].p50, CSV_REL,
                                 0.0);
                stv_assert_close(csv_number(&cells, row, "p95_kg"), tier->part_kg[p].p95, CSV_REL,
                                 0.0);
            }
    assert_int_equal(row, stv_sheet_n_rows(&chart.table));
    assert_string_equal(csv_text(&cells, 0, "from"), "2027-06-04");
    assert_string_equal(csv_text(&cells, 0, "loss"), "water, through wood");
    assert_string_equal(csv_text(&cells, STV_PART_ALL, "loss"), "all");
    /* The second cause of the lowest tier's warm bar begins where the first ends. */
    assert_non_null(strstr(chart.data.bytes, " 2.1000 "));
    has_words(&chart, "Warm, 4 Jun to 2 Sep 2027: tier 1 4.4 kg (4.0 to 4.8), of it 2.1 water and "
                      "0.9 alcohol through the wood, 4 casks");
    has_words(&chart, "Cold, 3 Dec 2026 to 3 Mar 2027: tier 1 0.6 kg");
    /* The range of the lowest tier's warm bar lies under the bar, which it would hide. */
    assert_non_null(strstr(chart.data.bytes, " -0.4100 "));
    /* The heading of a warm season that holds two New Years has the tiers' width too. */
    assert_true(label_at(&chart, "Warm, 4 Jun to 2 Sep 2027") < 0.05);
    assert_non_null(strstr(chart.picture.bytes, ">no cask<"));
    assert_non_null(strstr(chart.note.bytes, "Left of nought"));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_losses_free(&losses);
}

/* Causes whose middles add up to less than the middle of the whole: the bar ends at the whole's. */
static void test_losses_shared_out(void **state)
{
    (void)state;
    struct stv_season_losses losses = made_losses("Long Shed", 1);
    struct stv_chart chart = {0};
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        for (size_t p = 0; p < STV_PART_N; p++)
            losses.tiers[s][0].part_kg[p] = stv_range_point(p == STV_PART_ALL           ? 5.0
                                                            : p <= STV_PART_AIR_ETHANOL ? 2.0
                                                                                        : 0.0);
    stv_assert_ok(stv_chart_losses(&losses, 1, true, &chart));
    /* The alcohol, from 2.5 to 5 kg less the gap; the table keeps its own 2. */
    assert_non_null(strstr(chart.data.bytes, " 0.0000 2.5000 4.96"));
    struct csv_cells cells = cells_of(&chart);
    stv_assert_close(csv_number(&cells, STV_PART_AIR_ETHANOL, "p50_kg"), 2.0, 0.0, 0.0);
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_losses_free(&losses);
}

/* Seasons to come are said to be, one tier and many are drawn, a name is text and nothing else. */
static void test_losses_odd(void **state)
{
    (void)state;
    const size_t sizes[] = {1, 32};
    for (size_t i = 0; i < 2; i++) {
        struct stv_season_losses losses =
            made_losses("'; !touch /tmp/x\n<script>]]>&`ls`", sizes[i]);
        struct stv_chart chart = {0};
        losses.is_coming = true;
        stv_assert_ok(stv_chart_losses(&losses, 2, true, &chart));
        draw(&chart);
        assert_null(strstr(chart.picture.bytes, "<script"));
        assert_non_null(strstr(chart.picture.bytes, "&lt;script"));
        assert_non_null(strstr(chart.note.bytes, "these are to come"));
        has_words(&chart, "is to lose in the season");
        stv_chart_free(&chart);
        made_losses_free(&losses);
    }
}

static void test_losses_nothing(void **state)
{
    (void)state;
    struct stv_season_losses losses = made_losses("Long Shed", 2);
    struct stv_chart chart = {0};
    for (int s = 0; s < STV_LOSS_SEASONS; s++) {
        losses.tiers[s][0] = losses.tiers[s][1]; /* no cask there */
    }
    stv_assert_status(stv_chart_losses(&losses, 1, true, &chart), STV_E_NO_DATA);
    losses.n_tiers = 0;
    stv_assert_status(stv_chart_losses(&losses, 1, true, &chart), STV_E_NO_DATA);
    made_losses_free(&losses);
}

static void test_gauges(void **state)
{
    (void)state;
    struct stv_told_figures told = made_told(60, "47");
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_gauges(&told, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    for (size_t i = 0; i < told.n; i++) {
        double factor = i % 2 == 0 ? 1.0 : 100.0;
        const struct stv_told_figure *f = &told.figures[i];
        stv_assert_close(csv_number(&cells, i, "told"), factor * f->told, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, i, "told_p95"), factor * f->told_p95, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, i, "measured"), factor * f->measured, CSV_REL, 0.0);
        assert_string_equal(csv_text(&cells, i, "figure"), i % 2 == 0 ? "litres" : "strength");
        assert_string_equal(csv_text(&cells, i, "is_miss"), f->is_miss ? "yes" : "no");
    }
    /* Litres as shares of the cask's size: the miss of 150.2 L told and 140.2 measured. */
    assert_non_null(strstr(chart.data.bytes, "\n75.1000 70.1000\n"));
    has_words(&chart,
              "Of 30 figures of litres, 29 lie inside the range of nine in ten; the largest "
              "misses: cask 47 140.2 for 150.2 L.");
    has_words(&chart, "Of 30 figures of strength, 29 lie");
    assert_non_null(strstr(chart.picture.bytes, ">47<"));
    /* The key's mark of a miss is the mark of the misses there are. */
    const char *miss = strstr(chart.script.bytes, "ps 0.9 lw 1.5 lc rgb '#000000'");
    const char *drawn = strstr(chart.script.bytes, "ps 0.8 lw 1.5 lc rgb '#000000'");
    assert_non_null(miss);
    assert_non_null(drawn);
    assert_int_equal(atoi(miss - 2), atoi(drawn - 2));
    assert_null(strstr(chart.picture.bytes, ">9<"));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    free(told.figures);
}

/* A cask far off from all others stands before the edge with its figures and an arrow, and does
 * not set the scale; no label leaves the panel. */
static void test_gauges_far(void **state)
{
    (void)state;
    struct stv_told_figures told = made_told(60, "47");
    struct stv_chart chart = {0};
    struct stv_told_figure *far = &told.figures[4];
    far->told = 40.0;
    far->told_p05 = 39.0;
    far->told_p95 = 41.0;
    far->measured = 44.0;
    stv_assert_ok(stv_chart_gauges(&told, true, &chart));
    draw(&chart);
    assert_non_null(strstr(chart.note.bytes,
                           "Beyond the axes, with an arrow and without strokes: cask 47 44.0 "
                           "for 40.0 L."));
    assert_non_null(strstr(chart.script.bytes, "with vectors"));
    assert_non_null(strstr(chart.picture.bytes, ">47 at 22<")); /* per cent of 200 L */
    const char *range = strstr(chart.script.bytes, "set xrange [");
    assert_non_null(range);
    assert_true(strtod(range + strlen("set xrange ["), NULL) > 60.0);
    stv_chart_free(&chart);
    free(told.figures);
}

/* Many are thinned, a single panel is drawn alone, ids are text and nothing else. */
static void test_gauges_odd(void **state)
{
    (void)state;
    struct stv_told_figures told = made_told(3000, "=1'\"\\<b>%s\xE2\x80\xAE\xC3(");
    struct stv_chart many = {0}, one = {0}, none = {0};
    told.is_then = false;
    stv_assert_ok(stv_chart_gauges(&told, true, &many));
    draw(&many);
    assert_int_equal(stv_sheet_n_rows(&many.table), 3000);
    assert_non_null(strstr(many.picture.bytes, ">=1\xE2\x80\xA6>%s"));
    assert_non_null(strstr(many.note.bytes, "only some are drawn"));
    assert_non_null(strstr(many.note.bytes, "Nothing was learned"));
    has_words(&many, "a forecast that no gauge has moved");
    struct stv_chart missed = {0};
    for (size_t i = 0; i < told.n; i++) {
        told.figures[i].is_miss = true;
        told.figures[i].measured += told.figures[i].told_p95 - told.figures[i].told;
    }
    stv_assert_ok(stv_chart_gauges(&told, true, &missed));
    draw(&missed);
    has_words(&missed, "Of 1500 figures of litres, 0 lie inside");
    stv_chart_free(&missed);
    for (size_t i = 0; i < told.n; i++)
        if (told.figures[i].what == STV_GAUGED_LITRES)
            told.figures[i].measured = NAN;
    told.n = 4;
    stv_assert_ok(stv_chart_gauges(&told, true, &one));
    draw(&one);
    assert_null(strstr(one.picture.bytes, "litres told"));
    told.n = 1;
    stv_assert_status(stv_chart_gauges(&told, true, &none), STV_E_NO_DATA);
    stv_chart_free(&many);
    stv_chart_free(&one);
    free(told.figures);
}

static void test_vapour(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 0);
    struct stv_vapour_clock clock = made_clock("Long Shed", 600.0);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_vapour(&clock, climate.warehouses, 1, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    for (size_t i = 0; i < STV_MONTHS * STV_DAY_H; i++) {
        const struct stv_range *ppm = &clock.highest_ppm[i / STV_DAY_H][i % STV_DAY_H];
        stv_assert_close(csv_number(&cells, i, "month"), (double)(i / STV_DAY_H + 1), 0.0, 0.0);
        stv_assert_close(csv_number(&cells, i, "hour"), (double)(i % STV_DAY_H), 0.0, 0.0);
        stv_assert_close(csv_number(&cells, i, "p50_ppm"), ppm->p50, CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, i, "p95_ppm"), ppm->p95, CSV_REL, 0.0);
    }
    has_words(&chart,
              "Each trial's own worst hour: 600 ppm (300 to 1200); the upper end of one hour is "
              "highest on 20 Aug 2026, 2 to 3 h.");
    has_words(&chart, "No figure here clears anybody to enter");
    assert_non_null(strstr(chart.picture.bytes, "worst hour of a trial: 600 ppm (300 to 1200)"));
    assert_non_null(strstr(chart.picture.bytes, "20 Aug 2026, 2 to 3 h"));
    assert_non_null(strstr(chart.picture.bytes, "Steady evaporation only."));
    assert_non_null(strstr(chart.picture.bytes, "then enter."));
    assert_non_null(strstr(chart.picture.bytes, ">1000 ppm<"));
    assert_null(strstr(chart.picture.bytes, "3300"));
    /* The cold edge of the line of 1000 ppm, 500 in the middle: July and September hold it at two
     * o'clock, June (480) does not. */
    assert_non_null(strstr(chart.data.bytes, "\n2.0000 6.0000\n3.0000 6.0000\n"));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_climate_free(&climate);
}

static void test_vapour_odd(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 1, 0);
    struct stv_vapour_clock clock = made_clock("'; !touch /tmp/x\n<script>]]>&`ls`", 40.0);
    struct stv_chart low = {0}, high = {0}, none = {0};
    stv_assert_ok(stv_chart_vapour(&clock, climate.warehouses, 1, true, &low));
    draw(&low);
    assert_non_null(strstr(low.picture.bytes, "under 500 ppm"));
    assert_null(strstr(low.picture.bytes, "<script"));
    clock = made_clock("Long Shed", 30000.0);
    clock.is_typical = true;
    clock.highest_ppm[0][0] = stv_range_point(NAN);
    stv_assert_ok(stv_chart_vapour(&clock, climate.warehouses, 1, true, &high));
    draw(&high);
    has_words(&high, "At its upper end the worst hour can burn.");
    assert_null(strstr(high.picture.bytes, "Aug 2026"));
    assert_non_null(strstr(high.note.bytes, "a worst hour can be worse"));
    clock.has_any = false;
    stv_assert_status(stv_chart_vapour(&clock, climate.warehouses, 1, true, &none), STV_E_NO_DATA);
    stv_chart_free(&low);
    stv_chart_free(&high);
    made_climate_free(&climate);
}

static void test_paths(void **state)
{
    (void)state;
    struct stv_store_paths paths = made_paths("Long Shed", 6);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_paths(&paths, 1, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    for (size_t i = 0; i < 36; i++) {
        stv_assert_close(csv_number(&cells, i, "tier"), (double)(i / 6 + 1), 0.0, 0.0);
        stv_assert_close(csv_number(&cells, i, "age_y"), paths.ages_y[i % 6], CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, i, "lost_p50_pct"), 100.0 * paths.told[i].lost_frac.p50,
                         CSV_REL, 0.0);
        stv_assert_close(csv_number(&cells, i, "wood_p95_nd"), paths.told[i].wood_nd.p95, CSV_REL,
                         0.0);
    }
    /* The lowest tier's path: from nothing through its first year. */
    assert_non_null(strstr(chart.data.bytes, "\n0.0000 0.0000\n3.0000 0.2500\n6.0000 0.5000\n"));
    has_words(&chart, "after 6.4 years. Tier 1: 19.2 % of the alcohol gone (11.5 to 36.5), wood "
                      "1.60 (0.96 to 2.40). Tier 3:");
    has_words(&chart, "ready what lies from 0.70 to 1.30.");
    assert_non_null(strstr(chart.picture.bytes, ">tier 6<"));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    free(paths.told);
}

/* One tier and many, a cask that is empty before the end, nothing at all. */
static void test_paths_odd(void **state)
{
    (void)state;
    const size_t sizes[] = {1, 32};
    for (size_t i = 0; i < 2; i++) {
        struct stv_store_paths paths = made_paths("'; !touch /tmp/x\n<script>]]>&`ls`", sizes[i]);
        struct stv_chart chart = {0}, none = {0};
        paths.told[5].lost_frac = stv_range_point(NAN);
        stv_assert_ok(stv_chart_paths(&paths, 2, true, &chart));
        draw(&chart);
        assert_null(strstr(chart.picture.bytes, "<script"));
        assert_null(strstr(chart.data.bytes, "NaN"));
        paths.n_tiers = 0;
        stv_assert_status(stv_chart_paths(&paths, 2, true, &none), STV_E_NO_DATA);
        stv_chart_free(&chart);
        free(paths.told);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_losses),     cmocka_unit_test(test_losses_shared_out),
        cmocka_unit_test(test_losses_odd), cmocka_unit_test(test_losses_nothing),
        cmocka_unit_test(test_gauges),     cmocka_unit_test(test_gauges_odd),
        cmocka_unit_test(test_gauges_far), cmocka_unit_test(test_vapour),
        cmocka_unit_test(test_vapour_odd), cmocka_unit_test(test_paths),
        cmocka_unit_test(test_paths_odd),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
