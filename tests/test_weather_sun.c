/* Completing a weather record: sun and long wave of the sky, against published values and laws. */
#include "tests/weather_records.h"

/* Allen et al. 1998, FAO-56 example 15 (from memory): 26.6 and 14.8 C, Ra 40.6 MJ/m2d give 22.3. */
static void test_hargreaves_of_fao(void **state)
{
    (void)state;
    stv_assert_close(stv_hargreaves_j_m2(26.6 - 14.8, 40.6e6, 200.0), 22.3e6, 0.0, 0.05e6);
    /* The ceiling, FAO-56 eq. 37: 0.772 of the extraterrestrial at 1100 m. */
    stv_assert_close(stv_hargreaves_j_m2(30.0, 40.6e6, 1100.0), 0.772 * 40.6e6, 1e-12, 0.0);
    stv_assert_close(stv_hargreaves_j_m2(-0.1, 40.6e6, 0.0), (double)NAN, 0.0, 0.0);
}

/* Kasten and Czeplak 1980: 910 sin h - 30 when clear, a quarter of it under full cloud. */
static void test_kasten_czeplak(void **state)
{
    (void)state;
    stv_assert_close(stv_cloudy_ghi_w_m2(30.0, 0.0), 425.0, 0.0, 1e-9);
    stv_assert_close(stv_cloudy_ghi_w_m2(30.0, 1.0), 106.25, 0.0, 1e-9);
    stv_assert_close(stv_cloudy_ghi_w_m2(30.0, 0.5), 425.0 * (1.0 - 0.75 * pow(0.5, 3.4)), 1e-12,
                     0.0);
    stv_assert_close(stv_cloudy_ghi_w_m2(1.0, 0.5), 0.0, 0.0, 0.0);
    stv_assert_close(stv_cloudy_ghi_w_m2(30.0, 1.01), (double)NAN, 0.0, 0.0);
    for (double cloud = 0.05; cloud < 1.0; cloud += 0.131) {
        double clearness = stv_cloudy_ghi_w_m2(47.0, cloud) / stv_cloudy_ghi_w_m2(47.0, 0.0);
        stv_assert_close(stv_cloud_from_clearness_frac(clearness), cloud, 1e-10, 0.0);
    }
    stv_assert_close(stv_cloud_from_clearness_frac(1.2), 0.0, 0.0, 0.0);
    stv_assert_close(stv_cloud_from_clearness_frac(0.1), 1.0, 0.0, 0.0);
    stv_assert_close(stv_cloud_from_clearness_frac(-0.1), (double)NAN, 0.0, 0.0);
}

/* Sum of a column over local day d of a record that starts at midnight, J/m2. */
static double day_sum_j_m2(const struct stv_weather *weather, enum stv_weather_column column,
                           size_t d)
{
    double sum = 0.0;
    for (size_t i = 0; i < 24; i++)
        sum += weather->columns[column][24 * d + i] * STV_HOUR_S;
    return sum;
}

/* DNI cos z + DHI = GHI in every hour, and no light in hours without sun. */
static void beam_and_diffuse_add_up(const struct stv_weather *weather)
{
    for (size_t k = 0; k < weather->grid.n; k++) {
        double sunlit_frac, ghi = weather->columns[STV_WC_GHI_W_M2][k];
        struct stv_sun sun = stv_sun_over(stv_grid_start_s(&weather->grid, k), STV_HOUR_S,
                                          &weather->site, &sunlit_frac);
        double sum = weather->columns[STV_WC_DNI_W_M2][k] * fmax(0.0, cos(RAD * sun.zenith_deg)) +
                     weather->columns[STV_WC_DHI_W_M2][k];
        stv_assert_close(sum, ghi, 1e-12, 1e-9);
        assert_true(weather->columns[STV_WC_DNI_W_M2][k] >= 0.0 && ghi >= 0.0);
        assert_true(weather->columns[STV_WC_DNI_W_M2][k] <= sun.extraterrestrial_w_m2);
        if (sunlit_frac == 0.0)
            stv_assert_close(weather->columns[STV_WC_DNI_W_M2][k], 0.0, 0.0, 0.0);
    }
}

static void test_sun_of_daily_files(void **state)
{
    (void)state;
    const struct stv_site_position sites[] = {PLAIN, {-34.9, 138.6, 50.0}, {78.2, 15.6, 20.0}};
    const int32_t offsets[] = {-360, 570, 60};
    for (size_t s = 0; s < 3; s++) {
        struct stv_weather_record record = record_new(STV_DAY_S, 365, offsets[s], sites[s]);
        struct stv_weather weather;
        column_new(&record, STV_WQ_TEMP_MIN_C, 9.2);
        column_new(&record, STV_WQ_TEMP_MAX_C, 20.7);
        stv_assert_ok(stv_weather_complete(&record, &weather));
        beam_and_diffuse_add_up(&weather);
        for (size_t d = 0; d < 365; d++) {
            int64_t day_d = stv_grid_local_day(&weather.grid, 24 * d, NULL);
            struct stv_sun_day day = stv_sun_day(day_d, offsets[s], &sites[s]);
            double want = 0.16 * sqrt(20.7 - 9.2) * day.extraterrestrial_j_m2;
            stv_assert_close(day_sum_j_m2(&weather, STV_WC_GHI_W_M2, d), want, 1e-9, 1e-6);
        }
        stv_weather_free(&weather);
        /* A measured day sum is kept whole too, and a missing one is estimated and counted. */
        double *ghi = column_new(&record, STV_WQ_GHI_W_M2, 0.0);
        for (size_t d = 0; d < 365; d++)
            ghi[d] = 90.0 + 60.0 * sin(0.8 * (double)d);
        ghi[17] = (double)NAN;
        stv_assert_ok(stv_weather_complete(&record, &weather));
        for (size_t d = 0; d < 365; d++) {
            if (d != 17)
                stv_assert_close(day_sum_j_m2(&weather, STV_WC_GHI_W_M2, d), ghi[d] * STV_DAY_S,
                                 1e-9, 0.0);
        }
        assert_int_equal(weather.n_filled[STV_WC_GHI_W_M2], 24);
        beam_and_diffuse_add_up(&weather);
        stv_weather_free(&weather);
        stv_weather_record_free(&record);
    }
}

/* Hargreaves takes the mean range of seven days: one odd day changes seven days a little. */
static void test_hargreaves_takes_a_week(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 20, -360, PLAIN);
    struct stv_weather weather;
    column_new(&record, STV_WQ_TEMP_MIN_C, 9.0);
    column_new(&record, STV_WQ_TEMP_MAX_C, 18.0)[10] += 7.0;
    stv_assert_ok(stv_weather_complete(&record, &weather));
    for (size_t d = 0; d < 20; d++) {
        int64_t day_d = stv_grid_local_day(&weather.grid, 24 * d, NULL);
        double range_k = d >= 7 && d <= 13 ? 10.0 : 9.0;
        double want = 0.16 * sqrt(range_k) * stv_sun_day(day_d, -360, &PLAIN).extraterrestrial_j_m2;
        stv_assert_close(day_sum_j_m2(&weather, STV_WC_GHI_W_M2, d), want, 1e-9, 0.0);
    }
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Collares-Pereira and Rabl 1979 (from memory): share of the day's sum in an hour about hour angle
 * w, pi/24 (a + b cos w)(cos w - cos ws)/(sin ws - ws cos ws). */
static void test_collares_pereira_rabl(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_DAY_S, 200, -360, PLAIN);
    struct stv_weather weather;
    add_extremes(&record);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    for (size_t d = 3; d < 200; d += 37) {
        struct stv_sun_day day =
            stv_sun_day(stv_grid_local_day(&weather.grid, 24 * d, NULL), -360, &PLAIN);
        double ws = PI * (day.sunset_s - day.sunrise_s) / STV_DAY_S;
        double a = 0.409 + 0.5016 * sin(ws - PI / 3.0), b = 0.6609 - 0.4767 * sin(ws - PI / 3.0);
        for (size_t i = 8; i < 18; i++) {
            double w = 2.0 * PI * (((double)i + 0.5) * 3600.0 - day.noon_s) / STV_DAY_S;
            double want =
                PI / 24.0 * (a + b * cos(w)) * (cos(w) - cos(ws)) / (sin(ws) - ws * cos(ws));
            double share = weather.columns[STV_WC_GHI_W_M2][24 * d + i] * STV_HOUR_S /
                           day_sum_j_m2(&weather, STV_WC_GHI_W_M2, d);
            stv_assert_close(share, want, 0.02, 0.001);
        }
    }
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* June is bright in the north and weak in the south; the sun's noon is where the clock says. */
static void test_seasons_of_both_hemispheres(void **state)
{
    (void)state;
    const struct stv_site_position sites[] = {{35.2, -101.7, 0.0}, {-35.2, -101.7, 0.0}};
    double june[2], december[2];
    for (size_t s = 0; s < 2; s++) {
        struct stv_weather_record record = record_new(STV_DAY_S, 365, -420, sites[s]);
        struct stv_weather weather;
        column_new(&record, STV_WQ_TEMP_MIN_C, 9.2);
        column_new(&record, STV_WQ_TEMP_MAX_C, 20.7);
        stv_assert_ok(stv_weather_complete(&record, &weather));
        june[s] = day_sum_j_m2(&weather, STV_WC_GHI_W_M2, 112);
        december[s] = day_sum_j_m2(&weather, STV_WC_GHI_W_M2, 295);
        const double *day = weather.columns[STV_WC_GHI_W_M2] + 24 * 112;
        assert_true(day[11] > day[9] && day[12] > day[14] && day[0] == 0.0 && day[23] == 0.0);
        stv_weather_free(&weather);
        stv_weather_record_free(&record);
    }
    assert_true(june[0] > 2.0 * december[0] && december[1] > 2.0 * june[1]);
    /* The Earth is nearer the sun in December: by (1.0167/0.9833)^2 = 1.069. */
    stv_assert_close(december[1] / june[0], 1.069, 0.01, 0.0);
}

static void test_polar_night(void **state)
{
    (void)state;
    struct stv_weather_record record =
        record_new(STV_HOUR_S, 240, 60, (struct stv_site_position){78.2, 15.6, 20.0});
    struct stv_weather weather;
    record.grid.t0_s = stv_day_from_date((struct stv_date){2021, 12, 16}) * STV_DAY_S - 3600;
    add_hours(&record);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    all_finite(&weather);
    for (size_t k = 0; k < 240; k++) {
        stv_assert_close(weather.columns[STV_WC_GHI_W_M2][k], 0.0, 0.0, 0.0);
        stv_assert_close(weather.columns[STV_WC_DNI_W_M2][k], 0.0, 0.0, 0.0);
    }
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Measured sun is kept; a missing beam or diffuse comes from the other two; a missing global from
 * beam and diffuse, or from cloud; all counted. */
static void test_measured_sun(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 72, -420, PLAIN);
    struct stv_weather weather, again;
    add_hours(&record);
    column_new(&record, STV_WQ_CLOUD_FRAC, 0.31);
    stv_assert_ok(stv_weather_complete(&record, &weather));
    beam_and_diffuse_add_up(&weather);
    double sunlit_frac;
    struct stv_sun sun =
        stv_sun_over(stv_grid_start_s(&record.grid, 36), STV_HOUR_S, &PLAIN, &sunlit_frac);
    stv_assert_close(weather.columns[STV_WC_GHI_W_M2][36],
                     stv_cloudy_ghi_w_m2(90.0 - sun.zenith_deg, 0.31), 1e-12, 0.0);
    memcpy(column_new(&record, STV_WQ_GHI_W_M2, 0.0), weather.columns[STV_WC_GHI_W_M2],
           72 * sizeof(double));
    memcpy(column_new(&record, STV_WQ_DHI_W_M2, 0.0), weather.columns[STV_WC_DHI_W_M2],
           72 * sizeof(double));
    record.columns[STV_WQ_GHI_W_M2][2] = -3.0; /* a pyranometer at night */
    record.columns[STV_WQ_GHI_W_M2][37] = (double)NAN;
    record.columns[STV_WQ_DHI_W_M2][38] = (double)NAN;
    stv_assert_ok(stv_weather_complete(&record, &again));
    for (size_t k = 0; k < 72; k++) {
        stv_assert_close(again.columns[STV_WC_GHI_W_M2][k], weather.columns[STV_WC_GHI_W_M2][k],
                         1e-9, 1e-9);
        if (k != 38) /* split anew there, by another way than an estimated global */
            stv_assert_close(again.columns[STV_WC_DNI_W_M2][k],
                             weather.columns[STV_WC_DNI_W_M2][k], 1e-6, 1e-6);
    }
    beam_and_diffuse_add_up(&again);
    assert_int_equal(again.n_filled[STV_WC_GHI_W_M2], 1);
    assert_int_equal(again.n_filled[STV_WC_DHI_W_M2], 1);
    assert_int_equal(again.origin[STV_WC_GHI_W_M2], STV_ORIGIN_MEASURED);
    assert_int_equal(again.origin[STV_WC_DHI_W_M2], STV_ORIGIN_MEASURED);
    assert_int_equal(again.origin[STV_WC_DNI_W_M2], STV_ORIGIN_DERIVED);
    stv_weather_free(&again);
    /* Beam and diffuse without global. */
    memcpy(column_new(&record, STV_WQ_DNI_W_M2, 0.0), weather.columns[STV_WC_DNI_W_M2],
           72 * sizeof(double));
    record.columns[STV_WQ_DHI_W_M2][38] = weather.columns[STV_WC_DHI_W_M2][38];
    free(record.columns[STV_WQ_GHI_W_M2]);
    record.columns[STV_WQ_GHI_W_M2] = NULL;
    stv_assert_ok(stv_weather_complete(&record, &again));
    for (size_t k = 0; k < 72; k++)
        stv_assert_close(again.columns[STV_WC_GHI_W_M2][k], weather.columns[STV_WC_GHI_W_M2][k],
                         1e-9, 1e-9);
    assert_int_equal(again.origin[STV_WC_GHI_W_M2], STV_ORIGIN_DERIVED);
    assert_int_equal(again.n_filled[STV_WC_GHI_W_M2], 0);
    stv_weather_free(&again);
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

/* Martin and Berdahl 1984 and Walton 1983 as formulas, worked by hand. */
static void test_sky_formulas(void **state)
{
    (void)state;
    stv_assert_close(stv_clear_sky_emissivity_nd(10.0, 0.0, 100000.0),
                     0.711 + 0.056 + 0.0073 + 0.013, 1e-12, 0.0);
    stv_assert_close(stv_clear_sky_emissivity_nd(-7.0, 12.0, 88000.0),
                     0.711 - 0.0392 + 0.003577 - 0.013 - 0.0144, 1e-12, 0.0);
    stv_assert_close(stv_cloud_sky_factor_nd(0.0), 1.0, 0.0, 0.0);
    stv_assert_close(stv_cloud_sky_factor_nd(1.0), 1.154, 0.0, 1e-12);
    stv_assert_close(stv_cloud_sky_factor_nd(1.1), (double)NAN, 0.0, 0.0);
}

static void test_sky_follows_cloud_and_measurement(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 96, -420, PLAIN);
    struct stv_weather clear, cloudy, measured;
    double *temp_c = add_hours(&record), *cloud = column_new(&record, STV_WQ_CLOUD_FRAC, 0.0);
    column_new(&record, STV_WQ_DEW_POINT_C, 4.2);
    stv_assert_ok(stv_weather_complete(&record, &clear));
    for (size_t k = 0; k < 96; k++)
        cloud[k] = 0.95;
    stv_assert_ok(stv_weather_complete(&record, &cloudy));
    column_new(&record, STV_WQ_SKY_W_M2, 301.5);
    drop(&record, STV_WQ_SKY_W_M2, 30, 4);
    stv_assert_ok(stv_weather_complete(&record, &measured));
    for (size_t k = 0; k < 96; k++) {
        double black = STV_STEFAN_W_M2K4 * pow(stv_k_from_c(temp_c[k]), 4.0);
        double at_clear = clear.columns[STV_WC_SKY_W_M2][k],
               at_cloud = cloudy.columns[STV_WC_SKY_W_M2][k];
        stv_assert_close(at_cloud / at_clear, stv_cloud_sky_factor_nd(0.95), 1e-12, 0.0);
        assert_true(at_clear > 0.6 * black && at_cloud <= black);
        stv_assert_close(measured.columns[STV_WC_SKY_W_M2][k], k >= 30 && k < 34 ? at_cloud : 301.5,
                         1e-12, 0.0);
    }
    assert_int_equal(measured.n_filled[STV_WC_SKY_W_M2], 4);
    assert_int_equal(measured.origin[STV_WC_SKY_W_M2], STV_ORIGIN_MEASURED);
    assert_int_equal(cloudy.origin[STV_WC_SKY_W_M2], STV_ORIGIN_DERIVED);
    stv_weather_free(&clear);
    stv_weather_free(&cloudy);
    stv_weather_free(&measured);
    stv_weather_record_free(&record);
}

/* Without cloud in the file, the day's clearness rules the night as well. */
static void test_night_sky_carries_the_day(void **state)
{
    (void)state;
    struct stv_weather_record record = record_new(STV_HOUR_S, 72, -420, PLAIN);
    struct stv_weather weather;
    column_new(&record, STV_WQ_TEMP_C, 15.0);
    column_new(&record, STV_WQ_DEW_POINT_C, 5.0);
    double *ghi = column_new(&record, STV_WQ_GHI_W_M2, 0.0);
    for (size_t k = 0; k < 72; k++) {
        double sunlit_frac;
        struct stv_sun sun =
            stv_sun_over(stv_grid_start_s(&record.grid, k), STV_HOUR_S, &PLAIN, &sunlit_frac);
        double clear = sunlit_frac * stv_clear_sky_ghi_w_m2(sun.zenith_deg);
        ghi[k] = k / 24 == 1 ? 0.3 * clear : clear; /* the second day is dull */
    }
    stv_assert_ok(stv_weather_complete(&record, &weather));
    const double *sky = weather.columns[STV_WC_SKY_W_M2];
    double factor = stv_cloud_sky_factor_nd(stv_cloud_from_clearness_frac(0.3));
    for (size_t i = 0; i < 24; i += 5) {
        stv_assert_close(sky[24 + i] / sky[i], factor, 1e-4, 0.0);
        stv_assert_close(sky[48 + i], sky[i], 1e-4, 0.0);
    }
    stv_weather_free(&weather);
    stv_weather_record_free(&record);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(test_hargreaves_of_fao),
        cmocka_unit_test(test_kasten_czeplak),
        cmocka_unit_test(test_sun_of_daily_files),
        cmocka_unit_test(test_hargreaves_takes_a_week),
        cmocka_unit_test(test_collares_pereira_rabl),
        cmocka_unit_test(test_seasons_of_both_hemispheres),
        cmocka_unit_test(test_polar_night),
        cmocka_unit_test(test_measured_sun),
        cmocka_unit_test(test_sky_formulas),
        cmocka_unit_test(test_sky_follows_cloud_and_measurement),
        cmocka_unit_test(test_night_sky_carries_the_day),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
