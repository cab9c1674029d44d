/* Records that hold a 29 February, from hours of weather to the figures of a place, beside twins
 * without one. */
#include "model/climate_metrics.h"
#include "model/outlook.h"
#include "model/position.h"
#include "tests/places.h"
#include "tests/weather_records.h"

#define LOCAL_MIN (-420)
#define N_TIERS 3

static const struct stv_site_position SITE = {35.2, -101.7, 1100.0};

/* Weather of an hour by its date alone: the year's wave, fronts of some days, and the day's wave.
 * 29 February repeats the 28th.  The second year's fronts differ from the first's. */
static double temp_of_c(int year_idx, int doy, int hour)
{
    double x = doy + 365.0 * year_idx;
    return 14.0 - 10.0 * cos(TWO_PI * (doy - 18.0) / 365.0) + 4.0 * sin(1.31 * x) +
           2.5 * sin(0.47 * x) - 6.0 * cos(TWO_PI * (hour - 3.0) / 24.0);
}

/* Whole calendar years from first_year on, hourly. */
static struct stv_weather_record years_new(int first_year, int n_years)
{
    int64_t from_d = day_of(first_year, 1, 1), to_d = day_of(first_year + n_years, 1, 1);
    struct stv_weather_record record =
        record_new(STV_HOUR_S, (size_t)(to_d - from_d) * 24, LOCAL_MIN, SITE);
    record.grid.t0_s = from_d * STV_DAY_S - (int64_t)LOCAL_MIN * 60;
    double *temp_c = column_new(&record, STV_WQ_TEMP_C, 0.0);
    double *dew_c = column_new(&record, STV_WQ_DEW_POINT_C, 0.0);
    for (size_t k = 0; k < record.grid.n; k++) {
        int hour;
        int64_t day_d = stv_grid_local_day(&record.grid, k, &hour);
        int year_idx = stv_date_from_day(day_d).year - first_year;
        temp_c[k] = temp_of_c(year_idx, stv_season_day(day_d), hour);
        dew_c[k] = temp_of_c(year_idx, stv_season_day(day_d), 3) - 4.0;
    }
    return record;
}

/* Everything that a record becomes. */
struct chain {
    struct stv_weather weather;
    struct stv_building_climate climate;
    struct stv_position tiers[N_TIERS];
    struct stv_season_span seasons[STV_SEASON_N];
    struct stv_position_metrics metrics[N_TIERS];
};

static void chain_run(const struct stv_weather_record *record, struct chain *out)
{
    struct stv_building shed;
    struct stv_metric_options options = stv_metric_options_default();
    stv_assert_ok(stv_weather_complete(record, &out->weather));
    stv_assert_ok(stv_building_of_kind(STV_BUILDING_RACKED_SHED, N_TIERS, 10, 2, &shed));
    stv_assert_ok(stv_building_simulate(&shed, &out->weather, STV_HOUR_S, &out->climate));
    for (int t = 0; t < N_TIERS; t++)
        stv_assert_ok(stv_position_join((struct stv_place){0, t, -1, -1}, &out->climate, NULL, NULL,
                                        0, &out->tiers[t]));
    stv_assert_ok(stv_seasons_find(&out->tiers[1].grid, out->tiers[1].air_c, out->seasons));
    for (int t = 0; t < N_TIERS; t++)
        stv_assert_ok(stv_position_metrics(&out->tiers[t], out->seasons, &options,
                                           shed.exposed_frac, &out->metrics[t]));
}

static void chain_end(struct chain *chain)
{
    for (int t = 0; t < N_TIERS; t++)
        stv_position_free(&chain->tiers[t]);
    stv_building_climate_free(&chain->climate);
    stv_weather_free(&chain->weather);
}

static size_t hour_of(const struct stv_grid *grid, int year, int month, int day)
{
    return (size_t)((day_of(year, month, day) * STV_DAY_S - (int64_t)LOCAL_MIN * 60 - grid->t0_s) /
                    STV_HOUR_S);
}

/* A leap year alone: as many hours come out as went in, all known, the 29th among them. */
static void hours_out_are_hours_in(void **state)
{
    (void)state;
    static const int years[] = {2016, 2020};
    for (size_t i = 0; i < 2; i++) {
        static struct chain chain;
        struct stv_weather_record record = years_new(years[i], 1);
        assert_int_equal(record.grid.n, 366 * 24);
        chain_run(&record, &chain);
        assert_int_equal(chain.weather.grid.n, record.grid.n);
        assert_int_equal(chain.climate.grid.n, record.grid.n);
        all_finite(&chain.weather);
        for (size_t k = 0; k < record.grid.n; k++) {
            stv_assert_close(chain.weather.columns[STV_WC_TEMP_C][k],
                             record.columns[STV_WQ_TEMP_C][k], 0.0, 0.0);
            for (int t = 0; t < N_TIERS; t++)
                assert_true(isfinite(chain.tiers[t].air_c[k]) &&
                            isfinite(chain.tiers[t].rh_frac[k]));
        }
        size_t leap = hour_of(&record.grid, years[i], 2, 29);
        assert_int_equal(stv_date_from_day(stv_grid_local_day(&record.grid, leap, NULL)).day, 29);
        double sun = 0.0;
        for (size_t k = leap; k < leap + 24; k++)
            sun += chain.weather.columns[STV_WC_GHI_W_M2][k];
        assert_true(sun > 1000.0);
        assert_int_equal(chain.metrics[0].n_years, 1);
        assert_int_equal(chain.tiers[0].grid.n, record.grid.n);
        chain_end(&chain);
        stv_weather_record_free(&record);
    }
}

/* How far two records' hours of the same dates lie apart, K, in the air of a tier; the first years
 * of both are index 0. */
static double apart_k(const struct chain *a, int year_a, const struct chain *b, int year_b)
{
    double most_k = 0.0;
    size_t from_a = hour_of(&a->climate.grid, year_a, 1, 1);
    for (size_t k = from_a; k < from_a + 365 * 24; k++) {
        int hour;
        struct stv_date date = stv_date_from_day(stv_grid_local_day(&a->climate.grid, k, &hour));
        size_t other = hour_of(&b->climate.grid, year_b, date.month, date.day) + (size_t)hour;
        for (int t = 0; t < N_TIERS; t++)
            most_k = fmax(most_k, fabs(a->tiers[t].air_c[k] - b->tiers[t].air_c[other]));
    }
    return most_k;
}

static void print_pair(const char *what, double with, double without)
{
    print_message("%-28s %10.4f with 29 February, %10.4f without (%+.4f)\n", what, with, without,
                  with - without);
}

/* 2015-2016 against 2014-2015 with the same values: seasons and dates are the same days, and sums
 * differ by what one day more in 731 holds.  The sun of a date moves by a quarter of a day or
 * three, hence a few hundredths of a kelvin. */
static void a_twin_without_the_day_agrees(void **state)
{
    (void)state;
    static struct chain with, without;
    struct stv_weather_record leap = years_new(2015, 2), plain = years_new(2014, 2);
    assert_int_equal(leap.grid.n, plain.grid.n + 24);
    chain_run(&leap, &with);
    chain_run(&plain, &without);
    for (int s = 0; s < STV_SEASON_N; s++) {
        assert_int_equal(with.seasons[s].from_doy, without.seasons[s].from_doy);
        assert_int_equal(with.seasons[s].to_doy, without.seasons[s].to_doy);
    }
    double first_k = apart_k(&without, 2014, &with, 2015);
    double second_k = apart_k(&without, 2015, &with, 2016);
    print_message("hours of the same date: %.3f K apart in the first year, %.3f K in the second\n",
                  first_k, second_k);
    assert_true(first_k < 0.1 && second_k < 0.3);
    for (int t = 0; t < N_TIERS; t++) {
        const struct stv_position_metrics *a = &with.metrics[t], *b = &without.metrics[t];
        const struct stv_season_metrics *year = &a->seasons[STV_SEASON_YEAR];
        const struct stv_season_metrics *plain_year = &b->seasons[STV_SEASON_YEAR];
        assert_int_equal(a->n_years, 2);
        assert_int_equal(b->n_years, 2);
        assert_true(a->waking_doy >= 0);
        print_pair("waking, day of the year", a->waking_doy, b->waking_doy);
        stv_assert_close(a->waking_doy, b->waking_doy, 0.0, 1.0);
        stv_assert_close(a->quiet_doy, b->quiet_doy, 0.0, 1.0);
        print_pair("degree-days", year->degree_days_k_d, plain_year->degree_days_k_d);
        stv_assert_close(year->degree_days_k_d, plain_year->degree_days_k_d, 0.001, 0.0);
        print_pair("year's mean C", year->liquid_mean_c, plain_year->liquid_mean_c);
        stv_assert_close(year->liquid_mean_c, plain_year->liquid_mean_c, 0.0, 0.02);
        stv_assert_close(a->seasons[STV_SEASON_WARM].liquid_mean_c,
                         b->seasons[STV_SEASON_WARM].liquid_mean_c, 0.0, 0.05);
        stv_assert_close(year->ethanol_lost_kg_per_y, plain_year->ethanol_lost_kg_per_y, 0.003,
                         0.0);
        stv_assert_close(a->warmest_month_c, b->warmest_month_c, 0.0, 0.05);
    }
    chain_end(&with);
    chain_end(&without);
    stv_weather_record_free(&leap);
    stv_weather_record_free(&plain);
}

/* A place whose air is a matter of the date alone, so that nothing but the 29th can differ. */
static struct stv_position dated_place(int first_year, int n_years)
{
    size_t n = (size_t)(day_of(first_year + n_years, 1, 1) - day_of(first_year, 1, 1)) * 24;
    struct stv_position place = steady_place(first_year, n, 0.0, 0.6);
    for (size_t k = 0; k < n; k++) {
        int doy = stv_season_day(stv_grid_local_day(&place.grid, k, NULL));
        place.air_c[k] = place.radiant_c[k] = 16.0 - 9.0 * cos(TWO_PI * (doy - 18.0) / 365.0);
    }
    return place;
}

static struct stv_position_metrics metrics_of(const struct stv_position *place,
                                              struct stv_season_span seasons[STV_SEASON_N])
{
    static struct stv_position_metrics out;
    struct stv_metric_options options = stv_metric_options_default();
    options.numbers.degree_day_base_c = 5.0;
    stv_assert_ok(stv_seasons_find(&place->grid, place->air_c, seasons));
    stv_assert_ok(stv_position_metrics(place, seasons, &options, 1.0, &out));
    return out;
}

/* What the 29th adds is its own degree-days, its own hours below 15 C, and nothing else. */
static void the_day_adds_itself(void **state)
{
    (void)state;
    struct stv_position with = dated_place(2015, 2), without = dated_place(2014, 2);
    struct stv_season_span seasons[2][STV_SEASON_N];
    struct stv_position_metrics a = metrics_of(&with, seasons[0]);
    struct stv_position_metrics b = metrics_of(&without, seasons[1]);
    assert_memory_equal(seasons[0], seasons[1], sizeof seasons[0]);
    assert_int_equal(a.waking_doy, b.waking_doy);
    assert_int_equal(a.quiet_doy, b.quiet_doy);
    int doy = stv_season_day(day_of(2016, 2, 29));
    double day_k_d = 11.0 - 9.0 * cos(TWO_PI * (doy - 18.0) / 365.0); /* over the base of 5 C */
    double added_k_d = 2.0 * (a.seasons[STV_SEASON_YEAR].degree_days_k_d -
                              b.seasons[STV_SEASON_YEAR].degree_days_k_d);
    print_message("29 February: %.3f degree-days by hand, %.3f in the sums\n", day_k_d, added_k_d);
    stv_assert_close(added_k_d, day_k_d, 0.0, 0.02);
    stv_assert_close(
        2.0 * (a.seasons[STV_SEASON_YEAR].cool_hours_h - b.seasons[STV_SEASON_YEAR].cool_hours_h),
        24.0, 0.0, 2.0);
    stv_assert_close(a.seasons[STV_SEASON_WARM].degree_days_k_d,
                     b.seasons[STV_SEASON_WARM].degree_days_k_d, 1e-9, 0.0);
    stv_assert_close(a.warmest_month_c, b.warmest_month_c, 1e-9, 0.0);
    place_end(&with);
    place_end(&without);
}

/* Whole years of records that begin and end anywhere about a leap day; three days short of three
 * years are still two. */
static void whole_years_are_counted(void **state)
{
    (void)state;
    static const struct {
        struct stv_date from, to; /* the day after the last */
        size_t n_years;
    } records[] = {{{2015, 3, 1}, {2016, 3, 1}, 1},   {{2016, 1, 1}, {2017, 1, 1}, 1},
                   {{2016, 2, 29}, {2017, 2, 28}, 1}, {{2013, 1, 1}, {2017, 1, 1}, 4},
                   {{2012, 1, 1}, {2017, 1, 1}, 5},   {{2012, 2, 1}, {2021, 2, 1}, 9},
                   {{2014, 1, 1}, {2016, 12, 28}, 2}, {{2015, 3, 1}, {2016, 2, 29}, 1}};
    for (size_t i = 0; i < sizeof records / sizeof records[0]; i++) {
        int64_t from_d = stv_day_from_date(records[i].from);
        size_t n = (size_t)(stv_day_from_date(records[i].to) - from_d) * 24;
        struct stv_position place = steady_place(2012, n, 18.5, 0.6);
        place.grid.t0_s = from_d * STV_DAY_S;
        struct stv_season_span spans[STV_SEASON_N] = {{150, 240}, {330, 55}, {0, 364}};
        struct stv_metric_options options = stv_metric_options_default();
        static struct stv_position_metrics out;
        stv_assert_ok(stv_position_metrics(&place, spans, &options, 1.0, &out));
        assert_int_equal(out.n_years, records[i].n_years);
        /* 8.5 K over the base on every day: 365 of them, and a leap day's share. */
        double degree_days = out.seasons[STV_SEASON_YEAR].degree_days_k_d;
        assert_true(degree_days >= 8.5 * 365.0 - 1e-6 && degree_days <= 8.5 * 366.0 + 1e-6);
        place_end(&place);
    }
}

/* A hole of weeks takes the same dates of the other year, on either side of the leap day; the last
 * day of the leap year, its 366th, too. */
static void holes_take_the_same_dates(void **state)
{
    (void)state;
    static const struct {
        struct stv_date from, to;
    } holes[] = {{{2016, 2, 20}, {2016, 3, 14}},
                 {{2016, 12, 10}, {2017, 1, 1}},
                 {{2015, 12, 10}, {2016, 1, 1}}};
    for (size_t i = 0; i < sizeof holes / sizeof holes[0]; i++) {
        struct stv_weather_record record = years_new(2015, 2);
        struct stv_weather weather;
        double *wind_m_s = column_new(&record, STV_WQ_WIND_M_S, 0.0);
        for (size_t k = 0; k < record.grid.n; k++)
            wind_m_s[k] = 1.0 + stv_season_day(stv_grid_local_day(&record.grid, k, NULL)) / 100.0;
        size_t from =
            hour_of(&record.grid, holes[i].from.year, holes[i].from.month, holes[i].from.day);
        size_t to =
            (size_t)((stv_day_from_date(holes[i].to) - stv_day_from_date(holes[i].from)) * 24) +
            from;
        drop(&record, STV_WQ_WIND_M_S, from, to - from);
        stv_assert_ok(stv_weather_complete(&record, &weather));
        assert_int_equal(weather.n_filled[STV_WC_WIND_M_S], to - from);
        for (size_t k = from; k < to; k++) {
            int doy = stv_season_day(stv_grid_local_day(&record.grid, k, NULL));
            stv_assert_close(weather.columns[STV_WC_WIND_M_S][k], 1.0 + doy / 100.0, 1e-12, 0.0);
        }
        stv_weather_free(&weather);
        stv_weather_record_free(&record);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(hours_out_are_hours_in),
        cmocka_unit_test(a_twin_without_the_day_agrees),
        cmocka_unit_test(the_day_adds_itself),
        cmocka_unit_test(whole_years_are_counted),
        cmocka_unit_test(holes_take_the_same_dates),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
