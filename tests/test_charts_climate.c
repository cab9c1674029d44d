/* Charts of a place's days and cycles.  All results here are invented (tests/made_up.h). */
#include "tests/chart_check.h"
#include "tests/made_up.h"

static struct stv_days_input input_of(const struct stv_climate_result *climate,
                                      const struct stv_climate_days *days)
{
    return (struct stv_days_input){climate->warehouses, days, 1, true};
}

static void has_note(const struct stv_chart *chart, const char *part)
{
    if (strstr(chart->note.bytes, part) == NULL)
        print_error("\"%s\" is not in: %s\n", part, chart->note.bytes);
    assert_non_null(strstr(chart->note.bytes, part));
}

static void has_picture(const struct stv_chart *chart, const char *part)
{
    if (strstr(chart->picture.bytes, part) == NULL)
        print_error("\"%s\" is not in the picture of %s\n", part, chart->name);
    assert_non_null(strstr(chart->picture.bytes, part));
}

/* The counts are those of the middle tier, and their sum is what `climate` tells. */
static void test_cycles(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 1);
    struct stv_chart chart = {0};
    climate.warehouses->tiers[2].seasons[STV_SEASON_WARM].liquid_cycles_nd[0] = 77.0;
    climate.warehouses->tiers[2].seasons[STV_SEASON_WARM].cycles_nd -= 13.0;
    stv_assert_ok(stv_chart_cycles(climate.warehouses, 1, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    double sum_nd[2] = {0.0, 0.0};
    assert_int_equal(stv_sheet_n_rows(&chart.table), 2 * 20); /* up to the air's widest */
    for (size_t i = 0; i < 40; i++) {
        int season = i < 20 ? STV_SEASON_WARM : STV_SEASON_COLD;
        const struct stv_season_metrics *m = &climate.warehouses->tiers[2].seasons[season];
        size_t bin = i % 20;
        assert_string_equal(csv_text(&cells, i, "season"), i < 20 ? "warm" : "cold");
        stv_assert_close(csv_number(&cells, i, "tier"), 3.0, 0.0, 0.0);
        stv_assert_close(csv_number(&cells, i, "from_k"), 0.5 + (double)bin, 0.0, 0.0);
        stv_assert_close(csv_number(&cells, i, "air_cycles_per_y"), m->air_cycles_nd[bin], CSV_REL,
                         0.0);
        sum_nd[season] += csv_number(&cells, i, "liquid_cycles_per_y");
    }
    for (int s = STV_SEASON_WARM; s <= STV_SEASON_COLD; s++)
        stv_assert_close(sum_nd[s], climate.warehouses->tiers[2].seasons[s].cycles_nd, CSV_REL,
                         0.0);
    /* The first warm bar: its middle, its count, its edges, down to half the smallest count. */
    assert_int_equal(strncmp(chart.data.bytes, "0.7800 77.0000 0.5600 1.0000 0.000", 34), 0);
    has_words(&chart, "In the warm season 122 a year in the cask, 15 of them of 2.5 K or more, the "
                      "widest about 12 K; in the air 411.");
    has_note(&chart, "ASTM E1049-85");
    has_picture(&chart, "cycles a year; each line is ten times the one below");
    has_picture(&chart, "warm, 4 Jun to 2 Sep: 122 in the cask, 411 in the air");
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    made_climate_free(&climate);
}

static void test_cycles_at_the_ends(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 1, 0);
    struct stv_season_metrics *seasons = climate.warehouses->tiers[0].seasons;
    struct stv_chart chart = {0};
    seasons[STV_SEASON_COLD].liquid_cycles_nd[STV_CYCLE_BINS - 1] = 0.05;
    stv_assert_ok(stv_chart_cycles(climate.warehouses, 2, true, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    assert_string_equal(csv_text(&cells, 79, "to_k"), ""); /* the last bin is open */
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    for (int s = 0; s < STV_SEASON_N; s++)
        seasons[s] = (struct stv_season_metrics){0};
    stv_assert_status(stv_chart_cycles(climate.warehouses, 1, true, &chart), STV_E_NO_DATA);
    climate.warehouses->n_tiers = 0;
    stv_assert_status(stv_chart_cycles(climate.warehouses, 1, true, &chart), STV_E_NO_DATA);
    made_climate_free(&climate);
}

/* Every day of the last ten years has its row, and a missing one an empty cell and a cross. */
static void test_calendar(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 0);
    int64_t from_d = made_day(2010, 5, 1), shown_d = made_day(2018, 1, 1);
    size_t n_days = (size_t)(made_day(2027, 11, 30) - from_d) + 1;
    struct stv_climate_days days = made_climate_days(from_d, n_days);
    struct stv_days_input input = input_of(&climate, &days);
    struct stv_chart chart = {0};
    size_t skipped = (size_t)(shown_d - from_d);
    for (size_t d = 0; d < 9; d++)
        days.max_c[skipped + 189 + d] = NAN; /* from Monday 9 July 2018 on */
    stv_assert_ok(stv_chart_calendar(&input, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    assert_int_equal(stv_sheet_n_rows(&chart.table), n_days - skipped);
    assert_string_equal(csv_text(&cells, 0, "day"), "2018-01-01");
    for (size_t row = 0; row < n_days - skipped; row++) {
        double want_c = days.max_c[skipped + row];
        if (isnan(want_c))
            assert_string_equal(csv_text(&cells, row, "liquid_max_c"), "");
        else
            stv_assert_close(csv_number(&cells, row, "liquid_max_c"), want_c, CSV_REL, 0.0);
    }
    has_words(&chart, "10 years. Warmest, °C: 2018 ");
    has_words(&chart, "Days missing: 9; weather made up from other years: 0.");
    has_picture(&chart, "2018-01-01 to 2027-11-30, 9 missing");
    has_picture(&chart, ">2027<");
    /* A whole week and two days: two crosses of two lines.  1 January 2018 was a Monday, so week 27
     * of the first strip, from its top to its bottom. */
    assert_non_null(strstr(chart.data.bytes,
                           "\n219.1000 0.0000 7.3000 49.0000\n226.4000 0.0000 -7.3000 49.0000\n"));
    assert_non_null(strstr(chart.data.bytes, "\n227.2000 0.0000 7.3000 14.0000\n"));
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    stv_climate_days_free(&days);
    made_climate_free(&climate);
}

static void test_calendar_odd(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 1, 0);
    struct stv_climate_days days = made_climate_days(made_day(2027, 6, 3), 1);
    struct stv_days_input input = input_of(&climate, &days);
    struct stv_chart one = {0}, typical = {0}, south = {0}, none = {0};
    stv_assert_ok(stv_chart_calendar(&input, &one)); /* one day */
    draw(&one);
    has_words(&one, "1 year. Warmest, °C: 2027 ");
    stv_climate_days_free(&days);
    days = made_climate_days(made_day(2001, 1, 1), 365);
    days.is_typical = true;
    stv_assert_ok(stv_chart_calendar(&input, &typical));
    draw(&typical);
    has_note(&typical, "A typical year has no weekdays");
    has_picture(&typical, "a typical year");
    has_picture(&typical, ">typical<");
    assert_null(strstr(typical.picture.bytes, "2001"));
    days.is_typical = false;
    climate.warehouses->seasons[STV_SEASON_WARM] = (struct stv_season_span){337, 62};
    stv_assert_ok(stv_chart_calendar(&input, &south)); /* two halves of years from July on */
    draw(&south);
    has_picture(&south, ">2000/01<");
    has_picture(&south, ">2001/02<");
    /* Room for seven characters left of where the label ends. */
    assert_true(label_at(&south, "2001/02") * STV_CHART_WIDTH_PX > 7.0 * 12.0);
    has_picture(&south, "2001-01-01 to 2001-12-31<"); /* nothing is missing, and nothing is cut */
    for (size_t d = 0; d < 365; d++)
        days.max_c[d] = NAN;
    stv_assert_status(stv_chart_calendar(&input, &none), STV_E_NO_DATA);
    stv_climate_days_free(&days); /* days that never were */
    stv_assert_status(stv_chart_calendar(&input, &none), STV_E_NO_DATA);
    stv_assert_status(stv_chart_degree_days(&input, &none), STV_E_NO_DATA);
    stv_chart_free(&one);
    stv_chart_free(&typical);
    stv_chart_free(&south);
    made_climate_free(&climate);
}

/* Where days differ as much as seasons, colours are coarser and the file stays small. */
static void test_calendar_restless(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 1, 0);
    struct stv_climate_days days = made_climate_days(made_day(2018, 1, 1), 3652);
    struct stv_days_input input = input_of(&climate, &days);
    struct stv_chart chart = {0};
    for (size_t d = 0; d < days.n_days; d++)
        days.max_c[d] = 26.0 + 1.3 * sin(1.3 * (double)(d * d % 97));
    stv_assert_ok(stv_chart_calendar(&input, &chart));
    draw(&chart);
    stv_chart_free(&chart);
    stv_climate_days_free(&days);
    made_climate_free(&climate);
}

/* Rows are the sums of the days, and the ends are what the labels say. */
static void test_degree_days(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 6, 0);
    int64_t from_d = made_day(2021, 1, 1);
    struct stv_climate_days days =
        made_climate_days(from_d, (size_t)(made_day(2027, 6, 30) - from_d) + 1);
    struct stv_days_input input = input_of(&climate, &days);
    struct stv_chart chart = {0};
    stv_assert_ok(stv_chart_degree_days(&input, &chart));
    draw(&chart);
    struct csv_cells cells = cells_of(&chart);
    double sum_k_d = 0.0;
    for (size_t d = 0; d < 5; d++)
        sum_k_d += days.degree_days_k_d[d];
    assert_string_equal(csv_text(&cells, 0, "line"), "2021");
    assert_string_equal(csv_text(&cells, 0, "date"), "5 Jan");
    stv_assert_close(csv_number(&cells, 0, "degree_days_k_d"), sum_k_d, CSV_REL, 1e-12);
    for (size_t d = 5; d < 365; d++)
        sum_k_d += days.degree_days_k_d[d];
    stv_assert_close(csv_number(&cells, 72, "day_of_line"), 365.0, 0.0, 0.0);
    stv_assert_close(csv_number(&cells, 72, "degree_days_k_d"), sum_k_d, CSV_REL, 0.0);
    /* Six whole years, 181 days of the seventh, then three lines of the range. */
    assert_int_equal(stv_sheet_n_rows(&chart.table), 6 * 73 + 37 + 3 * 73);
    assert_string_equal(csv_text(&cells, 6 * 73 + 36, "date"), "30 Jun");
    assert_string_equal(csv_text(&cells, 6 * 73 + 37, "line"), "p10");
    struct stv_degree_years years;
    stv_assert_ok(stv_degree_years_make(&days, 1, &years));
    double over_k_d = years.years[6].sum_k_d[180] - years.middle_k_d[180];
    char standing[64];
    snprintf(standing, sizeof standing, "2027 to 30 Jun: %.0f %s the middle", fabs(over_k_d),
             over_k_d < 0.0 ? "under" : "over");
    has_words(&chart, standing);
    has_picture(&chart, strchr(standing, ':') + 2);
    has_picture(&chart, ">2027 to 30 Jun<");
    stv_assert_close(csv_number(&cells, 6 * 73 + 37 + 2 * 73 - 1, "degree_days_k_d"),
                     years.middle_k_d[364], CSV_REL, 0.0);
    stv_assert_close(csv_number(&cells, 6 * 73 + 37 + 3 * 73 - 1, "degree_days_k_d"),
                     years.p90_k_d[364], CSV_REL, 0.0);
    stv_degree_years_free(&years);
    has_picture(&chart, "degree-days above 10 °C, K d");
    has_picture(&chart, "6 whole years and to 2027-06-30");
    has_picture(&chart, " so far<");
    has_note(&chart, "10 to 90 % of the 6 whole years");
    has_words(&chart, "8 years in 10 between ");
    csv_cells_free(&cells);
    stv_chart_free(&chart);
    stv_climate_days_free(&days);
    made_climate_free(&climate);
}

static void test_degree_days_odd(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("Long Shed", 2, 0);
    struct stv_climate_days days = made_climate_days(made_day(1997, 1, 1), 30 * 365 + 7);
    struct stv_days_input input = input_of(&climate, &days);
    struct stv_chart many = {0}, few = {0}, typical = {0}, cold = {0};
    climate.warehouses->seasons[STV_SEASON_WARM] = (struct stv_season_span){337, 62};
    stv_assert_ok(stv_chart_degree_days(&input, &many)); /* thirty years, from July on */
    draw(&many);
    has_picture(&many, "29 whole years and to 2026-12-31<");
    has_picture(&many, "degree-days above 10 °C, K d, from 1 July");
    has_words(&many, " 1997/98: ");
    has_note(&many, "1 year left out, with more than 5 days missing");
    stv_climate_days_free(&days);
    days = made_climate_days(made_day(2001, 1, 1), 365);
    days.is_typical = true;
    stv_assert_ok(stv_chart_degree_days(&input, &typical));
    draw(&typical);
    has_picture(&typical, "a typical year: no spread between years<");
    has_note(&typical, "says nothing of how years differ");
    assert_int_equal(stv_sheet_n_rows(&typical.table), 73);
    stv_climate_days_free(&days);
    climate.warehouses->seasons[STV_SEASON_WARM] = (struct stv_season_span){154, 244};
    days = made_climate_days(made_day(2001, 1, 1), 2 * 365);
    stv_assert_ok(stv_chart_degree_days(&input, &few));
    draw(&few);
    has_note(&few, "2 whole years: too few for a range, which needs 5");
    assert_int_equal(stv_sheet_n_rows(&few.table), 2 * 73);
    for (size_t d = 0; d < days.n_days; d++)
        days.degree_days_k_d[d] = 0.0;
    stv_assert_status(stv_chart_degree_days(&input, &cold), STV_E_NO_DATA);
    stv_climate_days_free(&days);
    stv_chart_free(&many);
    stv_chart_free(&few);
    stv_chart_free(&typical);
    made_climate_free(&climate);
}

/* A name that was typed is text and nothing else, in all three. */
static void test_hostile_name(void **state)
{
    (void)state;
    struct stv_climate_result climate = made_climate("'; !touch /tmp/x\n<script>]]>&`ls`", 3, 0);
    struct stv_climate_days days = made_climate_days(made_day(2020, 1, 1), 1000);
    struct stv_days_input input = input_of(&climate, &days);
    struct stv_chart charts[3] = {0};
    stv_assert_ok(stv_chart_cycles(climate.warehouses, 1, true, &charts[0]));
    stv_assert_ok(stv_chart_calendar(&input, &charts[1]));
    stv_assert_ok(stv_chart_degree_days(&input, &charts[2]));
    for (size_t i = 0; i < 3; i++) {
        draw(&charts[i]);
        assert_null(strstr(charts[i].picture.bytes, "<script"));
        has_picture(&charts[i], "&lt;script");
        stv_chart_free(&charts[i]);
    }
    stv_climate_days_free(&days);
    made_climate_free(&climate);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_cycles),
        cmocka_unit_test(test_cycles_at_the_ends),
        cmocka_unit_test(test_calendar),
        cmocka_unit_test(test_calendar_odd),
        cmocka_unit_test(test_calendar_restless),
        cmocka_unit_test(test_degree_days),
        cmocka_unit_test(test_degree_days_odd),
        cmocka_unit_test(test_hostile_name),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
