/* Charts of what casks do: losses by tier.  All results here are invented. */
#include "tests/chart_check.h"
#include "tests/made_up.h"

/* kg of a cause: more in the warm season and higher up; water is taken up on the cold floor. */
static double made_kg(int season, size_t tier, size_t part)
{
    static const double warm_kg[STV_PART_ALL] = {2.1, 0.9, 1.0, 0.2, 0.06, 0.1};
    double more = 0.35 * (double)tier;
    if (part == STV_PART_AIR_WATER)
        return season == STV_SEASON_WARM ? 2.1 + more : -0.3 + more;
    return warm_kg[part] * (season == STV_SEASON_WARM ? 1.0 : 0.4);
}

static struct stv_season_losses made_losses(const char *name, size_t n_tiers)
{
    struct stv_season_losses out = {.name = name, .n_tiers = n_tiers};
    for (int s = 0; s < STV_LOSS_SEASONS; s++) {
        out.from_day_d[s] = s == STV_SEASON_WARM ? made_day(2027, 6, 3) : made_day(2026, 12, 2);
        out.to_day_d[s] = out.from_day_d[s] + 91;
        out.tiers[s] = made_room(n_tiers, sizeof *out.tiers[s]);
        for (size_t t = 0; t < n_tiers; t++) {
            struct stv_group_losses *tier = &out.tiers[s][t];
            double all_kg = 0.0;
            tier->n_casks = t == 1 ? 0 : 4 + t;
            for (size_t p = 0; p < STV_PART_ALL; p++) {
                double kg = t == 1 ? (double)NAN : made_kg(s, t, p);
                tier->part_kg[p] = (struct stv_range){0.8 * kg, 0.9 * kg, kg, 1.1 * kg, 1.2 * kg};
                all_kg += kg;
            }
            tier->part_kg[STV_PART_ALL] =
                (struct stv_range){all_kg - 0.4, all_kg - 0.2, all_kg, all_kg + 0.2, all_kg + 0.4};
        }
    }
    return out;
}

static void made_losses_free(struct stv_season_losses *losses)
{
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        free(losses->tiers[s]);
}

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
    assert_non_null(strstr(chart.svg.bytes, ">no cask<"));
    assert_non_null(strstr(chart.note.bytes, "Left of nought"));
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
        assert_null(strstr(chart.svg.bytes, "<script"));
        assert_non_null(strstr(chart.svg.bytes, "&lt;script"));
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

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_losses),
        cmocka_unit_test(test_losses_odd),
        cmocka_unit_test(test_losses_nothing),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
