/* Days of places whose days are known, and years laid over each other by hand. */
#include "model/climate_days.h"
#include "tests/places.h"
#include "tests/usual.h"

#define YEAR_H 8760
#define DAYS_MOST 2400

static struct stv_climate_days days_of(const struct stv_position *place)
{
    struct stv_metric_options options = stv_metric_options_default();
    struct stv_climate_days out;
    stv_assert_ok(stv_climate_days_make(place, &options, 1.0, NULL, &out));
    return out;
}

static struct stv_degree_years years_of(const struct stv_climate_days *days, int first_month)
{
    struct stv_degree_years out;
    stv_assert_ok(stv_degree_years_make(days, first_month, &out));
    return out;
}

/* Days made by hand: each has `by_year_k_d` times the year's distance from 2000. */
static struct stv_climate_days made_days(int64_t from_d, int64_t to_d, double by_year_k_d)
{
    static double max_c[DAYS_MOST], degree_days_k_d[DAYS_MOST];
    struct stv_climate_days out = {.base_c = 10.0,
                                   .first_day_d = from_d,
                                   .n_days = (size_t)(to_d - from_d) + 1,
                                   .max_c = max_c,
                                   .degree_days_k_d = degree_days_k_d};
    assert_true(out.n_days <= DAYS_MOST);
    for (size_t d = 0; d < out.n_days; d++) {
        max_c[d] = 20.0;
        degree_days_k_d[d] = by_year_k_d * (stv_date_from_day(from_d + (int64_t)d).year - 2000);
    }
    return out;
}

static void steady_days(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, 2 * YEAR_H, 20.0, 0.60);
    struct stv_climate_days days = days_of(&place);
    assert_int_equal(days.first_day_d, day_of(2003, 1, 1));
    assert_int_equal(days.n_days, 730);
    for (size_t d = 0; d < 730; d++) {
        stv_assert_close(days.max_c[d], 20.0, 1e-12, 0.0);
        stv_assert_close(days.degree_days_k_d[d], 10.0, 1e-12, 0.0); /* over the base of 10 C */
    }
    stv_climate_days_free(&days);
    place_end(&place);
}

/* What the years end at is what `climate` tells of the year, and the warmest day its warmest hour.
 */
static void years_end_at_the_metrics(void **state)
{
    (void)state;
    const struct stv_season_span spans[STV_SEASON_N] = {[STV_SEASON_WARM] = {155, 245},
                                                        [STV_SEASON_COLD] = {337, 62},
                                                        [STV_SEASON_YEAR] = {0, 364}};
    struct stv_metric_options options = stv_metric_options_default();
    static struct stv_position_metrics metrics;
    struct climate_of climate = {.mean_c = 14.0, .year_k = 11.0, .day_k = 6.0, .rh_frac = 0.6};
    struct stv_position place = place_new(2001, 3 * YEAR_H, -420, &climate);
    stv_assert_ok(stv_position_metrics(&place, spans, &options, 1.0, &metrics));
    struct stv_climate_days days = days_of(&place);
    struct stv_degree_years years = years_of(&days, 1);
    const struct stv_season_metrics *year = &metrics.seasons[STV_SEASON_YEAR];
    assert_int_equal(years.n_whole, 3);
    double sum_k_d = 0.0, high_c = -99.0;
    for (size_t y = 0; y < 3; y++)
        sum_k_d += years.years[y].sum_k_d[STV_DEGREE_YEAR_D - 1];
    for (size_t d = 0; d < days.n_days; d++)
        high_c = fmax(high_c, days.max_c[d]);
    stv_assert_close(sum_k_d / 3.0, year->degree_days_k_d, 1e-10, 0.0);
    stv_assert_close(high_c, year->liquid_max_c, 0.0, 0.0);
    stv_degree_years_free(&years);
    stv_climate_days_free(&days);
    place_end(&place);
}

/* Nineteen hours are no day; unknown days at the ends are not in the record at all. */
static void holes_are_not_days(void **state)
{
    (void)state;
    struct stv_position place = steady_place(2003, YEAR_H, 20.0, 0.60);
    for (size_t k = 0; k < 29; k++) /* all of the first day, 5 hours of the second */
        place.air_c[k] = NAN;
    for (size_t k = 100 * 24; k < 100 * 24 + 4; k++)
        place.rh_frac[k] = NAN;
    for (size_t k = 200 * 24; k < 200 * 24 + 5; k++)
        place.air_c[k] = NAN;
    struct stv_climate_days days = days_of(&place);
    assert_int_equal(days.first_day_d, day_of(2003, 1, 3));
    assert_int_equal(days.n_days, 363);
    stv_assert_close(days.max_c[98], 20.0, 1e-12, 0.0);
    stv_assert_close(days.degree_days_k_d[98], 10.0 * 20.0 / 24.0, 1e-12, 0.0);
    assert_true(isnan(days.max_c[198]) && isnan(days.degree_days_k_d[198]));
    stv_climate_days_free(&days);
    struct stv_metric_options options = stv_metric_options_default();
    for (size_t k = 0; k < YEAR_H; k++)
        place.rh_frac[k] = NAN;
    stv_assert_status(stv_climate_days_make(&place, &options, 1.0, NULL, &days), STV_E_NO_DATA);
    assert_null(days.max_c);
    place_end(&place);
}

static void years_begin_in_the_cold_half(void **state)
{
    (void)state;
    assert_int_equal(stv_climate_year_month(&(struct stv_season_span){154, 244}), 1);
    assert_int_equal(stv_climate_year_month(&(struct stv_season_span){337, 62}), 7);
    assert_int_equal(stv_climate_year_month(&(struct stv_season_span){0, 364}), 1);
    struct stv_climate_days days = made_days(day_of(2001, 1, 1), day_of(2003, 12, 31), 1.0);
    struct stv_degree_years years = years_of(&days, 7);
    assert_int_equal(years.n_left_out, 1); /* the first half of 2001 */
    assert_int_equal(years.n, 3);
    assert_int_equal(years.n_whole, 2);
    assert_int_equal(years.years[0].year, 2001);
    stv_assert_close(years.years[0].sum_k_d[364], 184.0 + 2.0 * 181.0, 1e-12, 0.0);
    assert_int_equal(years.years[2].n_days, 184);
    assert_false(years.years[2].is_whole);
    stv_assert_close(years.years[2].sum_k_d[183], 3.0 * 184.0, 1e-12, 0.0);
    stv_degree_years_free(&years);
    days.is_typical = true; /* runs round: its July follows on its June */
    days.n_days = 365;
    years = years_of(&days, 7);
    assert_int_equal(years.n_whole, 1);
    stv_assert_close(years.years[0].sum_k_d[364], 365.0, 1e-12, 0.0);
    stv_degree_years_free(&years);
}

static void days_missing_from_years(void **state)
{
    (void)state;
    struct stv_climate_days days = made_days(day_of(2001, 1, 1), day_of(2002, 12, 31), 1.0);
    for (size_t d = 40; d < 45; d++)
        days.degree_days_k_d[d] = NAN;
    struct stv_degree_years years = years_of(&days, 1);
    assert_int_equal(years.n_whole, 2);
    stv_assert_close(years.years[0].sum_k_d[44], 40.0, 1e-12, 0.0); /* they add nothing */
    stv_assert_close(years.years[0].sum_k_d[364], 360.0, 1e-12, 0.0);
    stv_degree_years_free(&years);
    days.degree_days_k_d[45] = NAN;
    years = years_of(&days, 1);
    assert_int_equal(years.n_left_out, 1);
    assert_int_equal(years.years[0].year, 2002);
    stv_degree_years_free(&years);
    days.n_days = 365; /* nothing is left of it then */
    stv_assert_status(stv_degree_years_make(&days, 1, &years), STV_E_NO_DATA);
}

/* A year that goes on counts from its thirtieth day; whole years alone make the range. */
static void range_and_new_year(void **state)
{
    (void)state;
    struct stv_climate_days days = made_days(day_of(2001, 1, 1), day_of(2007, 1, 29), 1.0);
    struct stv_degree_years years = years_of(&days, 1);
    assert_int_equal(years.n, 6);
    assert_int_equal(years.n_left_out, 1);
    /* 365, 730, 1095, 4 x 366, 1825 and 2190: type 7 between the first two and the last two. */
    stv_assert_close(years.p10_k_d[364], 547.5, 1e-12, 0.0);
    stv_assert_close(years.middle_k_d[364], 0.5 * (1095.0 + 1464.0), 1e-12, 0.0);
    stv_assert_close(years.p90_k_d[364], 2007.5, 1e-12, 0.0);
    stv_degree_years_free(&years);
    days = made_days(day_of(2001, 1, 1), day_of(2007, 1, 30), 1.0);
    years = years_of(&days, 1);
    assert_int_equal(years.n, 7);
    assert_int_equal(years.n_whole, 6);
    assert_int_equal(years.years[6].n_days, 30);
    stv_assert_close(years.p90_k_d[364], 2007.5, 1e-12, 0.0);
    stv_degree_years_free(&years);
    days = made_days(day_of(2001, 1, 1), day_of(2004, 12, 31), 1.0);
    years = years_of(&days, 1);
    assert_true(isnan(years.middle_k_d[364])); /* four years are no range */
    stv_degree_years_free(&years);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(steady_days),
        cmocka_unit_test(years_end_at_the_metrics),
        cmocka_unit_test(holes_are_not_days),
        cmocka_unit_test(years_begin_in_the_cold_half),
        cmocka_unit_test(days_missing_from_years),
        cmocka_unit_test(range_and_new_year),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
