/* The store's own seasons, in both hemispheres, and the months a user names. */
#include "model/climate_metrics.h"
#include "tests/places.h"

#define YEAR_H 8760

/* Warmest on 20 July (0-based day 200.0 of the year), coldest half a year away at 17.4. */
static struct stv_position waving_place(double year_k, int n_years, int offset_min)
{
    struct climate_of climate = {.mean_c = 15.0, .year_k = year_k, .day_k = 6.0, .rh_frac = 0.6};
    return place_new(2001, (size_t)n_years * YEAR_H, offset_min, &climate);
}

static void thirteen_weeks_about(const struct stv_season_span *span, double middle_d)
{
    int length = (span->to_doy - span->from_doy + 365) % 365 + 1;
    assert_int_equal(length, 91);
    double from_d = fmod(middle_d - 45.5 + 365.0, 365.0);
    stv_assert_close(span->from_doy, from_d, 0.0, 1.0);
}

static void northern_year(void **state)
{
    (void)state;
    struct stv_position place = waving_place(11.0, 3, -420);
    struct stv_season_span seasons[STV_SEASON_N];
    stv_assert_ok(stv_seasons_find(&place.grid, place.air_c, seasons));
    thirteen_weeks_about(&seasons[STV_SEASON_WARM], 200.0);
    thirteen_weeks_about(&seasons[STV_SEASON_COLD], 17.4);
    assert_true(seasons[STV_SEASON_COLD].from_doy > seasons[STV_SEASON_COLD].to_doy);
    assert_int_equal(seasons[STV_SEASON_YEAR].from_doy, 0);
    assert_int_equal(seasons[STV_SEASON_YEAR].to_doy, 364);
    place_end(&place);
}

static void southern_summer_passes_the_new_year(void **state)
{
    (void)state;
    struct stv_position place = waving_place(-11.0, 3, 600);
    struct stv_season_span seasons[STV_SEASON_N];
    stv_assert_ok(stv_seasons_find(&place.grid, place.air_c, seasons));
    thirteen_weeks_about(&seasons[STV_SEASON_WARM], 17.4);
    thirteen_weeks_about(&seasons[STV_SEASON_COLD], 200.0);
    assert_true(stv_season_holds(&seasons[STV_SEASON_WARM], 0));
    assert_true(stv_season_holds(&seasons[STV_SEASON_WARM], 364));
    assert_false(stv_season_holds(&seasons[STV_SEASON_WARM], 180));
    place_end(&place);
}

/* Thirty days that no year has are bridged to find the seasons; thirty-one are not. */
static void days_never_seen(void **state)
{
    (void)state;
    struct stv_position place = waving_place(11.0, 2, 0);
    struct stv_season_span seasons[STV_SEASON_N];
    for (size_t k = 0; k < 31 * 24; k++)
        place.air_c[31 * 24 + k] = NAN;
    stv_assert_ok(stv_seasons_find(&place.grid, place.air_c, seasons)); /* the other year has it */
    place.grid.n = YEAR_H;
    stv_assert_status(stv_seasons_find(&place.grid, place.air_c, seasons), STV_E_NO_DATA);
    place.air_c[31 * 24] = 5.0;
    stv_assert_ok(stv_seasons_find(&place.grid, place.air_c, seasons));
    place_end(&place);
}

static void leap_day_counts_with_the_28th(void **state)
{
    (void)state;
    assert_int_equal(stv_season_day(day_of(2003, 1, 1)), 0);
    assert_int_equal(stv_season_day(day_of(2003, 2, 28)), 58);
    assert_int_equal(stv_season_day(day_of(2003, 3, 1)), 59);
    assert_int_equal(stv_season_day(day_of(2003, 12, 31)), 364);
    assert_int_equal(stv_season_day(day_of(2004, 2, 28)), 58);
    assert_int_equal(stv_season_day(day_of(2004, 2, 29)), 58);
    assert_int_equal(stv_season_day(day_of(2004, 3, 1)), 59);
    assert_int_equal(stv_season_day(day_of(2004, 12, 31)), 364);
}

static void months_make_one_run(void **state)
{
    (void)state;
    const int summer[12] = {[5] = 1, [6] = 1, [7] = 1};
    const int winter[12] = {[0] = 1, [1] = 1, [11] = 1};
    const int all[12] = {1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1, 1};
    struct stv_season_span span = stv_season_of_months(summer);
    assert_int_equal(span.from_doy, stv_season_day(day_of(2003, 6, 1)));
    assert_int_equal(span.to_doy, stv_season_day(day_of(2003, 8, 31)));
    span = stv_season_of_months(winter);
    assert_int_equal(span.from_doy, stv_season_day(day_of(2003, 12, 1)));
    assert_int_equal(span.to_doy, stv_season_day(day_of(2003, 2, 28)));
    assert_true(stv_season_holds(&span, 364));
    assert_true(stv_season_holds(&span, 58));
    assert_false(stv_season_holds(&span, 59));
    assert_false(stv_season_holds(&span, 333));
    span = stv_season_of_months(all);
    assert_int_equal(span.from_doy, 0);
    assert_int_equal(span.to_doy, 364);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(northern_year),
        cmocka_unit_test(southern_summer_passes_the_new_year),
        cmocka_unit_test(days_never_seen),
        cmocka_unit_test(leap_day_counts_with_the_28th),
        cmocka_unit_test(months_make_one_run),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
