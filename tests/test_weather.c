/* Completing a weather record: temperature, vapour, pressure and wind; gaps; every documented
 * error. Sun and sky stand in test_weather_sun.c. */
#include "tests/weather_records.h"

#include "model/air.h"

/* The curve's arithmetic at the Denver parameters for a day from 6 to 18 h, worked by hand from
 * Parton and Logan 1981 with a 1.86, b 2.20, c -0.17; night hours belong to the day before. */
static void test_parton_logan_by_hand(void **state)
{
    (void)state;
    const struct stv_temp_day day = {10.0, 30.0, 10.0, 6.0, 18.0};
    const double at[][2] = {{24.0, 14.34}, {27.0, 12.50}, {9.0, 21.84},  {12.0, 28.87},
                            {13.69, 30.0}, {15.0, 29.32}, {18.0, 23.03}, {21.0, 17.52}};
    for (size_t i = 0; i < sizeof at / sizeof at[0]; i++)
        stv_assert_close(stv_parton_logan_c(&day, at[i][0]), at[i][1], 0.0, 0.006);
}

/* Each day's coldest and warmest hour are the record's extremes, on every kind of site: temperate
 * north and south, polar night and day, and a clock far from the sun. */
static void test_daily_extremes_are_met(void **state)
{
    (void)state;
    const struct stv_site_position sites[] = {
        PLAIN, {-34.9, 138.6, 50.0}, {78.2, 15.6, 20.0}, {0.3, 32.6, 1150.0}, {39.0, 76.0, 1290.0}};
    const int32_t offsets[] = {-360, 570, 60, 180, 480};
    for (size_t s = 0; s < sizeof sites / sizeof sites[0]; s++) {
        struct stv_weather_record record = record_new(STV_DAY_S, 400, offsets[s], sites[s]);
        struct stv_weather weather;
        add_extremes(&record);
        stv_assert_ok(stv_weather_complete(&record, &weather));
        all_finite(&weather);
        assert_int_equal(weather.grid.n, 400 * 24);
        assert_int_equal(weather.grid.t0_s, record.grid.t0_s);
        assert_int_equal(weather.origin[STV_WC_TEMP_C], STV_ORIGIN_DERIVED);
        for (size_t d = 0; d < 400; d++) {
            const double *hours = weather.columns[STV_WC_TEMP_C] + 24 * d;
            double low = INFINITY, high = -INFINITY;
            for (size_t i = 0; i < 24; i++) {
                low = fmin(low, hours[i]);
                high = fmax(high, hours[i]);
            }
            stv_assert_close(low, record.columns[STV_WQ_TEMP_MIN_C][d], 0.0, 1e-9);
            stv_assert_close(high, record.columns[STV_WQ_TEMP_MAX_C][d], 0.0, 1e-9);
        }
        stv_weather_free(&weather);
        stv_weather_record_free(&record);
    }
}

/* Equal days: the fall from the afternoon to the next morning never turns, and midnight shows no
 * step larger than the hours beside it. */
static void test_no_step_at_midnight(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 6, -360, PLAIN);
    struct stv_weather weather;
    column_new(&record, STV_WQ_TEMP_MIN_C, 10.4);
    column_new(&record, STV_WQ_TEMP_MAX_C, 27.9);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    const double *temp_c = weather.columns[STV_WC_TEMP_C];
    for (size_t k = 24 + 15; k < 48 + 6; k++)
        assert_true(temp_c[k + 1] <= temp_c[k]);
    assert_true(temp_c[47] - temp_c[48] <= temp_c[45] - temp_c[46]);
    stv_weather_free(&weather);
    /* A front between days whose ranges still meet: no jump beyond a third of the larger range. */
    const double low[] = {12.0, 11.0, 3.0, 4.0, 10.0, 9.0},
                 high[] = {27.0, 25.0, 14.0, 15.0, 22.0, 24.0};
    for (size_t d = 0; d < 6; d++) {
        record.columns[STV_WQ_TEMP_MIN_C][d] = low[d];
        record.columns[STV_WQ_TEMP_MAX_C][d] = high[d];
    }
    stv_assert_ok(stv_weather_complete(&record, &weather));
    for (size_t d = 1; d < 6; d++) {
        double step =
            weather.columns[STV_WC_TEMP_C][24 * d] - weather.columns[STV_WC_TEMP_C][24 * d - 1];
        assert_true(fabs(step) < fmax(high[d] - low[d], high[d - 1] - low[d - 1]) / 3.0);
    }
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Air changes after noon.  A colder day: midnight stays within both ranges, 12..27 and 2..13 C, and
 * the night falls through it.  A milder one: its minimum is no lower than the evening, so the
 * temperature goes straight there. */
static void test_fronts(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 4, -360, PLAIN);
    struct stv_weather weather;
    const double low[] = {12.0, 12.0, 2.0, 11.9}, high[] = {27.0, 27.0, 13.0, 20.0};
    memcpy(column_new(&record, STV_WQ_TEMP_MIN_C, 0.0), low, sizeof low);
    memcpy(column_new(&record, STV_WQ_TEMP_MAX_C, 0.0), high, sizeof high);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    const double *temp_c = weather.columns[STV_WC_TEMP_C];
    assert_true(temp_c[47] > 12.0 && temp_c[48] < 13.0 && temp_c[47] - temp_c[48] < 2.5);
    double slope_k_h = (temp_c[71] - temp_c[64]) / 7.0;
    for (size_t k = 64; k < 71; k++)
        stv_assert_close(temp_c[k + 1] - temp_c[k], slope_k_h, 0.0, 1e-9);
    assert_true(temp_c[71] > 11.9 && temp_c[64] < 13.0);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

static void test_hourly_keeps_its_hours(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 24 * 9 + 5, -360, PLAIN);
    struct stv_weather weather;
    record.grid.t0_s += 15 * STV_HOUR_S; /* starts and ends within a day */
    double *temp_c = add_hours(&record);
    column_new(&record, STV_WQ_RH_FRAC, 0.47);
    column_new(&record, STV_WQ_PRESSURE_PA, 88800.0);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    all_finite(&weather);
    assert_int_equal(weather.grid.t0_s, record.grid.t0_s);
    assert_int_equal(weather.grid.n, record.grid.n);
    assert_int_equal(weather.grid.utc_offset_min, -360);
    for (size_t k = 0; k < weather.grid.n; k++) {
        stv_assert_close(weather.columns[STV_WC_TEMP_C][k], temp_c[k], 0.0, 0.0);
        stv_assert_close(weather.columns[STV_WC_VAPOUR_PA][k], 0.47 * stv_water_psat_pa(temp_c[k]),
                         1e-12, 0.0);
        stv_assert_close(weather.columns[STV_WC_PRESSURE_PA][k], 88800.0, 0.0, 0.0);
    }
    assert_int_equal(weather.origin[STV_WC_TEMP_C], STV_ORIGIN_MEASURED);
    assert_int_equal(weather.origin[STV_WC_VAPOUR_PA], STV_ORIGIN_MEASURED);
    assert_int_equal(weather.origin[STV_WC_GHI_W_M2], STV_ORIGIN_DERIVED);
    assert_int_equal(weather.origin[STV_WC_WIND_M_S], STV_ORIGIN_ASSUMED);
    stv_assert_close(weather.columns[STV_WC_WIND_M_S][7], 2.5, 0.0, 0.0);
    for (size_t i = 0; i < STV_WC_N; i++)
        assert_int_equal(weather.n_filled[i], 0);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Records of a few hours, of which no local day is whole, still complete. */
static void test_short_records(void **state)
{
    (void)state;
    for (size_t n = 1; n < 60; n += 13) {
        struct stv_weather_record record =
            record_new(STV_HOUR_S, n, 330, (struct stv_site_position){26.9, 75.8, 430.0});
        struct stv_weather weather;
        record.grid.t0_s += 17 * STV_HOUR_S + 1800; /* whole UTC hours on a half-hour clock */
        add_hours(&record);
        stv_assert_ok(stv_weather_complete(&record, &weather));
        all_finite(&weather);
        assert_int_equal(weather.grid.n, n);
        stv_weather_free(&weather);
        stv_weather_record_free(&record);
    }
}

/* ASHRAE Fundamentals 2017 ch. 1 table 1: 89875 Pa at 1000 m. */
static void test_pressure_of_the_height(void **state)
{
    (void)state;
    struct stv_weather_record record =
        record_new(STV_DAY_S, 3, 0, (struct stv_site_position){40.0, 0.0, 1000.0});
    struct stv_weather weather;
    add_extremes(&record);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    stv_assert_close(weather.columns[STV_WC_PRESSURE_PA][31], 89875.0, 0.0, 1.0);
    assert_int_equal(weather.origin[STV_WC_PRESSURE_PA], STV_ORIGIN_DERIVED);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

static void never_above_saturation(const struct stv_weather *weather)
{
    for (size_t k = 0; k < weather->grid.n; k++) {
        double room_pa = stv_water_psat_pa(weather->columns[STV_WC_TEMP_C][k]) -
                         weather->columns[STV_WC_VAPOUR_PA][k];
        assert_true(room_pa >= 0.0 && weather->columns[STV_WC_VAPOUR_PA][k] > 0.0);
    }
}

static void test_daily_dew_point_is_a_constant_pressure(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 5, -360, PLAIN);
    struct stv_weather weather;
    column_new(&record, STV_WQ_TEMP_MIN_C, 12.0);
    column_new(&record, STV_WQ_TEMP_MAX_C, 28.0);
    double *dew_c = column_new(&record, STV_WQ_DEW_POINT_C, 7.5);
    dew_c[2] = 3.1;
    stv_assert_ok(stv_weather_complete(&record, &weather));
    const double *vapour_pa = weather.columns[STV_WC_VAPOUR_PA];
    for (size_t i = 3; i < 21; i++) {
        stv_assert_close(vapour_pa[24 + i], stv_water_psat_pa(7.5), 1e-12, 0.0);
        stv_assert_close(vapour_pa[48 + i], stv_water_psat_pa(3.1), 1e-12, 0.0);
    }
    /* The two hours at midnight share the step between the days evenly. */
    stv_assert_close(vapour_pa[47] + vapour_pa[48], stv_water_psat_pa(7.5) + stv_water_psat_pa(3.1),
                     1e-12, 0.0);
    assert_true(vapour_pa[47] > vapour_pa[48]);
    assert_int_equal(weather.n_saturated, 0);
    stv_weather_free(&weather);
    /* A dew point above the day's minimum is cut at saturation, hour by hour, and counted. */
    dew_c[2] = 15.0;
    stv_assert_ok(stv_weather_complete(&record, &weather));
    never_above_saturation(&weather);
    assert_true(weather.n_saturated > 3 && weather.n_saturated < 15);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* The mean humidity of the hours is the day's humidity. */
static void test_daily_humidity_is_reproduced(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 5, -360, PLAIN);
    struct stv_weather weather;
    column_new(&record, STV_WQ_TEMP_MIN_C, 12.0);
    column_new(&record, STV_WQ_TEMP_MAX_C, 28.0);
    column_new(&record, STV_WQ_RH_FRAC, 0.385);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    double sum = 0.0;
    for (size_t k = 48; k < 72; k++)
        sum += weather.columns[STV_WC_VAPOUR_PA][k] /
               stv_water_psat_pa(weather.columns[STV_WC_TEMP_C][k]);
    stv_assert_close(sum / 24.0, 0.385, 0.0, 0.002);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Allen et al. 1998, FAO-56 annex 6 (from memory): dew point at the minimum in humid places, 2 K
 * below it in dry ones. */
static void test_no_humidity_at_all(void **state)
{
    (void)state;
    const double range_k[] = {8.0, 17.0}, below_k[] = {0.0, 2.0};
    for (size_t i = 0; i < 2; i++) {
        struct stv_weather_record record = record_new(STV_DAY_S, 40, -360, PLAIN);
        struct stv_weather weather;
        column_new(&record, STV_WQ_TEMP_MIN_C, 11.3);
        double *high_c = column_new(&record, STV_WQ_TEMP_MAX_C, 11.3 + range_k[i]);
        high_c[20] += 3.0 - 6.0 * (double)i; /* one odd day does not make a climate */
        stv_assert_ok(stv_weather_complete(&record, &weather));
        stv_assert_close(weather.columns[STV_WC_VAPOUR_PA][24 * 20 + 13],
                         stv_water_psat_pa(11.3 - below_k[i]), 1e-12, 0.0);
        never_above_saturation(&weather);
        assert_int_equal(weather.origin[STV_WC_VAPOUR_PA], STV_ORIGIN_DERIVED);
        stv_weather_free(&weather);
        stv_weather_record_free(&record);
    }
}

static void test_hourly_gaps(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 24 * 40, -360, PLAIN);
    struct stv_weather weather;
    double *temp_c = add_hours(&record);
    double at_99 = temp_c[99], at_106 = temp_c[106];
    double mean_of_days = 0.5 * (temp_c[300 - 24] + temp_c[300 + 24]);
    double next_day = temp_c[24 + 2];
    drop(&record, STV_WQ_TEMP_C, 100, 6);   /* a straight line */
    drop(&record, STV_WQ_TEMP_C, 296, 9);   /* the same hour of two days */
    drop(&record, STV_WQ_TEMP_C, 500, 240); /* ten days */
    drop(&record, STV_WQ_TEMP_C, 0, 5);     /* at the start only the next day is known */
    record.columns[STV_WQ_TEMP_C][900] = INFINITY;
    stv_assert_ok(stv_weather_complete(&record, &weather));
    all_finite(&weather);
    const double *filled_c = weather.columns[STV_WC_TEMP_C];
    stv_assert_close(filled_c[102], at_99 + (at_106 - at_99) * 3.0 / 7.0, 1e-12, 0.0);
    stv_assert_close(filled_c[300], mean_of_days, 1e-12, 0.0);
    stv_assert_close(filled_c[2], next_day, 1e-12, 0.0);
    /* Two thirds into the long gap the wave of the day is still there. */
    assert_true(filled_c[24 * 27 + 15] - filled_c[24 * 27 + 3] > 10.0);
    assert_int_equal(weather.n_filled[STV_WC_TEMP_C], 6 + 9 + 240 + 5 + 1);
    stv_weather_free(&weather);
    drop(&record, STV_WQ_TEMP_C, 740, 1);
    stv_assert_status(stv_weather_complete(&record, &weather), STV_E_NO_DATA);
    assert_null(weather.columns[STV_WC_TEMP_C]);
    stv_weather_record_free(&record);
}

static void test_daily_gaps(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 60, -360, PLAIN);
    struct stv_weather weather;
    add_extremes(&record);
    drop(&record, STV_WQ_TEMP_MIN_C, 20, 10);
    drop(&record, STV_WQ_TEMP_MAX_C, 25, 10);
    record.columns[STV_WQ_TEMP_MIN_C][45] = record.columns[STV_WQ_TEMP_MAX_C][45] + 1.0;
    stv_assert_ok(stv_weather_complete(&record, &weather));
    all_finite(&weather);
    /* Fifteen days lack one or both; one contradicts itself. */
    assert_int_equal(weather.n_filled[STV_WC_TEMP_C], 24 * 16);
    stv_weather_free(&weather);
    drop(&record, STV_WQ_TEMP_MIN_C, 30, 1);
    stv_assert_status(stv_weather_complete(&record, &weather), STV_E_NO_DATA);
    stv_weather_record_free(&record);
}

/* A hole of more than ten days takes the mean of the same hours of the other years, and is marked;
 * one that no other year has is refused. */
static void test_hole_from_other_years(void **state)
{
    (void)state;
    size_t year_h = 24 * 365, from = year_h + 4000, n = 24 * 20;
    struct stv_weather_record record = record_new(STV_HOUR_S, 3 * year_h, -360, PLAIN);
    struct stv_weather weather;
    struct stv_weather_hole hole = {0};
    double *temp_c = add_hours(&record);
    for (size_t k = 0; k < 3 * year_h; k++)
        temp_c[k] += 1.7 * (double)(k / year_h) + (double)(k % 24) / 7.0;
    double same_hours = 0.5 * (temp_c[from + 77 - year_h] + temp_c[from + 77 + year_h]);
    assert_false(stv_weather_next_hole(&record, &hole));
    drop(&record, STV_WQ_TEMP_C, from, n);
    drop(&record, STV_WQ_TEMP_C, from + 90 - year_h, 3); /* few hours that one other year lacks */
    stv_assert_ok(stv_weather_complete(&record, &weather));
    all_finite(&weather);
    stv_assert_close(weather.columns[STV_WC_TEMP_C][from + 77], same_hours, 1e-12, 0.0);
    assert_non_null(weather.is_made_up);
    size_t n_made_up = 0;
    for (size_t k = 0; k < 3 * year_h; k++)
        n_made_up += weather.is_made_up[k];
    assert_int_equal(n_made_up, n);
    assert_int_equal(weather.is_made_up[from], 1);
    assert_int_equal(weather.n_filled[STV_WC_TEMP_C], n + 3);
    stv_weather_free(&weather);
    assert_true(stv_weather_next_hole(&record, &hole));
    assert_int_equal(hole.from, from);
    assert_int_equal(hole.n, n);
    assert_true(hole.is_covered);
    assert_false(stv_weather_next_hole(&record, &hole));
    drop(&record, STV_WQ_TEMP_C, from - year_h, n);
    drop(&record, STV_WQ_TEMP_C, from + year_h, n);
    stv_assert_status(stv_weather_complete(&record, &weather), STV_E_NO_DATA);
    assert_null(weather.is_made_up);
    hole = (struct stv_weather_hole){0};
    assert_true(stv_weather_next_hole(&record, &hole));
    assert_int_equal(hole.from, from - year_h);
    assert_false(hole.is_covered);
    stv_weather_record_free(&record);
}

/* The same of days: lows and highs that miss other days make one hole. */
static void test_daily_hole(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 2 * 365, -360, PLAIN);
    struct stv_weather weather;
    struct stv_weather_hole hole = {0};
    add_extremes(&record);
    double low = record.columns[STV_WQ_TEMP_MIN_C][105];
    drop(&record, STV_WQ_TEMP_MIN_C, 365 + 100, 14);
    drop(&record, STV_WQ_TEMP_MAX_C, 365 + 103, 14);
    drop(&record, STV_WQ_TEMP_MAX_C, 365 + 200, 10); /* no hole */
    stv_assert_ok(stv_weather_complete(&record, &weather));
    all_finite(&weather);
    const double *hours_c = weather.columns[STV_WC_TEMP_C] + 24 * (365 + 105);
    double least_c = INFINITY;
    for (size_t i = 0; i < 24; i++)
        least_c = fmin(least_c, hours_c[i]);
    stv_assert_close(least_c, low, 0.0, 1e-9);
    assert_int_equal(weather.is_made_up[24 * (365 + 100)], 1);
    assert_int_equal(weather.is_made_up[24 * (365 + 117) - 1], 1);
    assert_int_equal(weather.is_made_up[24 * (365 + 117)], 0);
    stv_weather_free(&weather);
    assert_true(stv_weather_next_hole(&record, &hole));
    assert_int_equal(hole.from, 365 + 100);
    assert_int_equal(hole.n, 17);
    assert_true(hole.is_covered);
    assert_false(stv_weather_next_hole(&record, &hole));
    stv_weather_record_free(&record);
}

/* Gaps in the other columns are filled at any length: from the same day of other years, else the
 * mean of the record. */
static void test_long_gaps_elsewhere(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 800, -360, PLAIN);
    struct stv_weather weather;
    column_new(&record, STV_WQ_TEMP_MIN_C, 18.0);
    column_new(&record, STV_WQ_TEMP_MAX_C, 31.0);
    double *wind = column_new(&record, STV_WQ_WIND_M_S, 0.0);
    for (size_t d = 0; d < 800; d++)
        wind[d] = 3.0 + sin(2.0 * PI * (double)d / 365.0);
    double same_day = wind[450 - 365];
    drop(&record, STV_WQ_WIND_M_S, 440, 40);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    stv_assert_close(weather.columns[STV_WC_WIND_M_S][24 * 450 + 12], same_day, 1e-9, 0.0);
    assert_int_equal(weather.n_filled[STV_WC_WIND_M_S], 24 * 40);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);

    record = record_new(STV_HOUR_S, 24 * 60, -360, PLAIN);
    add_hours(&record);
    double *pressure = column_new(&record, STV_WQ_PRESSURE_PA, 89000.0);
    pressure[5] = 89000.0 + 719.0;
    drop(&record, STV_WQ_PRESSURE_PA, 480, 720);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    /* 720 values remain, of which one is 719 Pa too high. */
    stv_assert_close(weather.columns[STV_WC_PRESSURE_PA][24 * 30], 89000.0 + 719.0 / 720.0, 1e-12,
                     0.0);
    assert_int_equal(weather.n_filled[STV_WC_PRESSURE_PA], 720);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* A missing dew point gives way to the humidity of the hour, and only then is it a gap. */
static void test_gaps_in_humidity(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 96, -360, PLAIN);
    struct stv_weather weather;
    double *temp_c = add_hours(&record);
    column_new(&record, STV_WQ_DEW_POINT_C, 6.0);
    column_new(&record, STV_WQ_RH_FRAC, 0.44);
    drop(&record, STV_WQ_DEW_POINT_C, 40, 5);
    drop(&record, STV_WQ_RH_FRAC, 42, 2);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    stv_assert_close(weather.columns[STV_WC_VAPOUR_PA][39], stv_water_psat_pa(6.0), 1e-12, 0.0);
    stv_assert_close(weather.columns[STV_WC_VAPOUR_PA][41], 0.44 * stv_water_psat_pa(temp_c[41]),
                     1e-12, 0.0);
    assert_int_equal(weather.n_filled[STV_WC_VAPOUR_PA], 2);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Daily stamps off midnight belong to the day that holds their middle. */
static void test_daily_stamps_off_midnight(void **state)
{
    (void)state;
    struct stv_weather_record record =
        record_new(STV_DAY_S, 4, 600, (struct stv_site_position){-37.8, 145.0, 30.0});
    struct stv_weather weather;
    int64_t midnight_s = record.grid.t0_s;
    record.grid.t0_s += 9 * STV_HOUR_S;
    add_extremes(&record);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    assert_int_equal(weather.grid.t0_s, midnight_s);
    assert_int_equal(weather.grid.n, 96);
    assert_int_equal(weather.grid.step_s, STV_HOUR_S);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

static void expect(struct stv_weather_record *record, enum stv_status want)
{
    struct stv_weather weather;
    stv_assert_status(stv_weather_complete(record, &weather), want);
    for (size_t i = 0; i < STV_WC_N; i++)
        assert_null(weather.columns[i]);
}

static void test_every_error(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 48, -360, PLAIN);
    struct stv_weather weather;
    expect(&record, STV_E_NO_DATA); /* no temperature */
    column_new(&record, STV_WQ_TEMP_C, (double)NAN);
    expect(&record, STV_E_NO_DATA);
    record.grid.step_s = STV_DAY_S; /* a daily mean alone is not enough */
    expect(&record, STV_E_NO_DATA);
    column_new(&record, STV_WQ_TEMP_MIN_C, 4.0);
    expect(&record, STV_E_NO_DATA);
    record.grid.step_s = 1800;
    expect(&record, STV_E_ARG);
    record.grid.step_s = STV_HOUR_S;
    free(record.columns[STV_WQ_TEMP_C]);
    add_hours(&record);
    record.grid.n = 0;
    expect(&record, STV_E_ARG);
    record.grid.n = 48;
    stv_assert_status(stv_weather_complete(NULL, &weather), STV_E_ARG);
    stv_assert_status(stv_weather_complete(&record, NULL), STV_E_ARG);
    const struct stv_site_position bad[] = {{90.1, 0.0, 0.0},        {0.0, 180.1, 0.0},
                                            {0.0, 0.0, 9001.0},      {0.0, 0.0, -501.0},
                                            {0.0, 0.0, (double)NAN}, {(double)NAN, 0.0, 0.0}};
    for (size_t i = 0; i < sizeof bad / sizeof bad[0]; i++) {
        record.site = bad[i];
        expect(&record, STV_E_DOMAIN);
    }
    stv_weather_record_free(&record);
    stv_weather_record_free(&record);
    stv_weather_record_free(NULL);
    stv_weather_free(NULL);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_parton_logan_by_hand),
        cmocka_unit_test(test_daily_extremes_are_met),
        cmocka_unit_test(test_no_step_at_midnight),
        cmocka_unit_test(test_fronts),
        cmocka_unit_test(test_hourly_keeps_its_hours),
        cmocka_unit_test(test_short_records),
        cmocka_unit_test(test_pressure_of_the_height),
        cmocka_unit_test(test_daily_dew_point_is_a_constant_pressure),
        cmocka_unit_test(test_daily_humidity_is_reproduced),
        cmocka_unit_test(test_no_humidity_at_all),
        cmocka_unit_test(test_hourly_gaps),
        cmocka_unit_test(test_daily_gaps),
        cmocka_unit_test(test_hole_from_other_years),
        cmocka_unit_test(test_daily_hole),
        cmocka_unit_test(test_long_gaps_elsewhere),
        cmocka_unit_test(test_gaps_in_humidity),
        cmocka_unit_test(test_daily_stamps_off_midnight),
        cmocka_unit_test(test_every_error),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
