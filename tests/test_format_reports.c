/* NOAA's files of reports and days: authentic rows as their users quote them, and constructed ones
 * that are marked so. */
#include "ingest/isd_codes.h"
#include "ingest/metar.h"
#include "tests/format_case.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>
#include <stdio.h>

static const struct stv_weather_format *const formats[] = {&stv__format_isd,
                                                           &stv__format_isd_lite,
                                                           &stv__format_global_hourly,
                                                           &stv__format_ghcn_hourly,
                                                           &stv__format_lcd,
                                                           &stv__format_ghcn_daily,
                                                           &stv__format_ghcn_daily_csv,
                                                           &stv__format_ghcn_daily_long,
                                                           &stv__format_uscrn};
#define N_FORMATS (sizeof formats / sizeof formats[0])

/* Station 024130, 2016-01-01, as NOAA's archive has it: -2.2 C, dew point -3.7 C, no pressure. */
#define ISD_ROW                                                                                \
    "0054024130999992016010100004+60750+012767FM-12+020599999V0200901N003019999999N999999999-" \
    "00221"                                                                                    \
    "-00371999999ADDAW1701REMSYN03602413 47/// /0903 11022 21037 770//=\n"
/* The same report an hour later, with another of the same minute and a suspect temperature. */
#define ISD                                                                                    \
    ISD_ROW                                                                                    \
    "0054024130999992016010101004+60750+012767FM-12+020599999V0201401N003019999999N999999999-" \
    "00241"                                                                                    \
    "-00351999999ADDAW1701REMSYN03602413 47/// /1403 11024 21035 770//=\n"                     \
    "0054024130999992016010101004+60750+012767FM-16+020599999V0201401N003019999999N999999999-" \
    "00242"                                                                                    \
    "-00351999999ADDAW1701REMSYN03602413 47/// /1403 11024 21035 770//=\n"

/* Singleton NSW, 2019, as a public project quotes it. */
#define GLOBAL_HEAD                                                                              \
    "\"STATION\",\"DATE\",\"SOURCE\",\"LATITUDE\",\"LONGITUDE\",\"ELEVATION\",\"NAME\","         \
    "\"REPORT_TYPE\",\"CALL_SIGN\",\"QUALITY_CONTROL\",\"WND\",\"CIG\",\"VIS\",\"TMP\",\"DEW\"," \
    "\"SLP\",\"REM\"\n"
#define GLOBAL                                                                                \
    GLOBAL_HEAD                                                                               \
    "\"94733099999\",\"2019-01-03T22:00:00\",\"4\",\"-32.5833333\",\"151.1666666\",\"45.0\"," \
    "\"SINGLETON STP, AS\",\"FM-12\",\"99999\",\"V020\",\"050,1,N,0010,1\",\"22000,1,9,N\","  \
    "\"025000,1,9,9\",\"+0260,1\",\"+0210,1\",\"99999,9\",\"SYN05294733 11/75\"\n"            \
    "\"94733099999\",\"2019-01-04T04:00:00\",\"4\",\"-32.5833333\",\"151.1666666\",\"45.0\"," \
    "\"SINGLETON STP, AS\",\"FM-12\",\"99999\",\"V020\",\"090,1,N,0021,1\",\"22000,1,9,N\","  \
    "\"025000,1,9,9\",\"+0378,1\",\"+9999,9\",\"99999,9\",\"SYN04294733\"\n"

/* Constructed: a shape, no station's hours. */
#define LITE                                                          \
    "2024 07 15 20   361   191 10119   160    36     0 -9999 -9999\n" \
    "2024 07 15 21   372 -9999 10121   170    41     9 -9999 -9999\n"

/* Layout of other projects' tests, values not guaranteed. */
#define GHCN_HOURLY                                                                                \
    "STATION|Station_name|DATE|temperature|temperature_Measurement_Code|temperature_Quality_Code|" \
    "relative_humidity|relative_humidity_Measurement_Code|relative_humidity_Quality_Code\n"        \
    "USW00026451|ANCHORAGE INTL AP|2024-07-08T12:00:00|21.4|||55||\n"                              \
    "USW00026451|ANCHORAGE INTL AP|2024-07-08T15:00:00|24.8||K|48|D|\n"

/* Rota, Spain, 2018 (NOAA order export as a public project quotes it, fewer columns): whole F, and
 * METAR texts that prove the clock: 010000Z is stamped 01:00. */
#define LCD                                                                                       \
    "\"STATION\",\"DATE\",\"REPORT_TYPE\",\"SOURCE\",\"HourlyDewPointTemperature\","              \
    "\"HourlyDryBulbTemperature\",\"HourlyRelativeHumidity\",\"HourlyStationPressure\",\"REM\"\n" \
    "\"08449013025\",\"2018-01-01T01:00:00\",\"FM-15\",\"4\",\"48\",\"52\",\"88\",\"30.53\","     \
    "\"MET051METAR LERT 010000Z 01005KT CAVOK 11/09 Q1034 NOSIG=\"\n"                             \
    "\"08449013025\",\"2018-01-01T02:00:00\",\"FM-15\",\"4\",\"48\",\"50\",\"94\",\"30.50\","     \
    "\"MET057METAR LERT 010100Z 05003KT 9999 FEW040 10/09 Q1033 NOSIG=\"\n"

/* A cooperative station, January 1926, as the format's documentation is quoted. */
#define DLY                                                                                        \
    "USC00011084192601TMAX-9999   -9999   -9999   -9999   -9999   -9999   -9999   -9999   -9999  " \
    " "                                                                                            \
    "-9999   -9999   -9999   -9999   -9999   -9999   -9999   -9999   -9999   -9999   -9999     "   \
    "239  6"                                                                                       \
    "  222  6   50  6   50  6  144  6  144  6  161  6  144  6  150  6  128  6  200  6\n"
/* Constructed on the columns of the access service. */
#define DAILY_CSV                                                                      \
    "\"STATION\",\"DATE\",\"LATITUDE\",\"LONGITUDE\",\"ELEVATION\",\"NAME\",\"TMAX\"," \
    "\"TMAX_ATTRIBUTES\",\"TMIN\",\"TMIN_ATTRIBUTES\"\n"                               \
    "\"USW00000001\",\"2012-01-01\",\"40.0\",\"-90.0\",\"200.0\",\"MADE UP, US\",\"  " \
    "128\",\",,W\","                                                                   \
    "\"  -50\",\",,W\"\n"                                                              \
    "\"USW00000001\",\"2012-01-02\",\"40.0\",\"-90.0\",\"200.0\",\"MADE UP, US\",\"  " \
    "106\",\",I,W\","                                                                  \
    "\"   28\",\",,W\"\n"
#define DAILY_LONG                                                                     \
    "USW00000001,20120101,TMAX,128,,,W,2400\nUSW00000001,20120101,TMIN,-50,,,W,2400\n" \
    "USW00000001,20120101,PRCP,5,,,W,\nUSW00000001,20120102,TMAX,106,,I,W,\n"          \
    "USW00000001,20120102,TMIN,28,,,W,\n"

/* Tucson, 2019 (NOAA USCRN subhourly01); the first temperature is missing. */
#define USCRN                                                                                      \
    "53131 20190101 1610 20190101 0910      3 -111.17   32.24 -9999.0     0.0    296 0     4.4 C " \
    "0 "                                                                                           \
    "   90 0 -99.000 -9999.0    24 0   0.78 0\n"                                                   \
    "53131 20190101 1615 20190101 0915      3 -111.17   32.24     3.3     0.0    183 0     4.0 C " \
    "0 "                                                                                           \
    "   87 0 -99.000 -9999.0  1182 0   0.36 3\n"

static const char *const own[N_FORMATS] = {ISD, LITE,      GLOBAL,     GHCN_HOURLY, LCD,
                                           DLY, DAILY_CSV, DAILY_LONG, USCRN};

static void each_knows_its_own(void **state)
{
    (void)state;
    static const char *const others[] = {
        "LOCATION,Somewhere,-,USA,TMY3,1,30.0,-97.0,-6.0,198\n",
        "Time,Temp (C)\n2024-06-01 00:00,20.1\n",
        "1 2 3\n4 5 6\n",
    };
    for (size_t i = 0; i < N_FORMATS; i++) {
        for (size_t j = 0; j < N_FORMATS; j++)
            assert_int_equal(format_is_mine(formats[i], own[j]), i == j);
        for (size_t k = 0; k < sizeof others / sizeof others[0]; k++)
            assert_false(format_is_mine(formats[i], others[k]));
        assert_ptr_equal(stv__weather_format_of(own[i], strlen(own[i])), formats[i]);
    }
}

static void isd(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_isd, ISD, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 3);
    assert_int_equal(one.file.samples.time_s[0], format_at(2016, 1, 1, 0, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), -2.2, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 0), -3.7, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), -2.4, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 2))); /* code 2, suspect */
    assert_int_equal(one.file.n_flags, 1);
    assert_int_equal(one.file.samples.rank[1], 0);
    assert_int_equal(one.file.samples.rank[2], 1);
    stv_assert_close(one.file.meta.site.latitude_deg, 60.75, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.elevation_m, 205.0, 0.0, 0.0);
    format_case_free(&one);
    char cut[400];
    snprintf(cut, sizeof cut, "%s%.90s", ISD_ROW, ISD_ROW);
    format_case_read(&one, &stv__format_isd, cut, "");
    format_case_assert_counts(&one);
    assert_int_equal(one.file.n_set_aside, 1);
    assert_int_equal(one.problems.items[0].row, 2);
    format_case_free(&one);
    assert_true(stv__isd_is_good('1') && stv__isd_is_good('A') && !stv__isd_is_good('3') &&
                !stv__isd_is_good('\0'));
}

/* The same report in both forms: the same sample. */
static void two_forms_of_one_report(void **state)
{
    (void)state;
    struct format_case raw, csv;
    format_case_read(&raw, &stv__format_isd, ISD_ROW, "");
    format_case_read(
        &csv, &stv__format_global_hourly,
        GLOBAL_HEAD
        "\"02413099999\",\"2016-01-01T00:00:00\",\"4\",\"60.75\",\"12.767\",\"205.0\","
        "\"CONSTRUCTED\",\"FM-12\",\"99999\",\"V020\",\"090,1,N,0030,1\",\"99999,9,9,N\","
        "\"999999,9,9,9\",\"-0022,1\",\"-0037,1\",\"99999,9\",\"\"\n",
        "");
    assert_int_equal(raw.file.samples.time_s[0], csv.file.samples.time_s[0]);
    stv_assert_close(format_value(&raw, STV_WQ_TEMP_C, 0), format_value(&csv, STV_WQ_TEMP_C, 0),
                     0.0, 0.0);
    stv_assert_close(format_value(&raw, STV_WQ_DEW_POINT_C, 0),
                     format_value(&csv, STV_WQ_DEW_POINT_C, 0), 0.0, 0.0);
    format_case_free(&raw);
    format_case_free(&csv);
}

static void global_hourly(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_global_hourly, GLOBAL, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.time_s[1], format_at(2019, 1, 4, 4, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), 37.8, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 1), 2.1, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_DEW_POINT_C, 1)));
    stv_assert_close(one.file.meta.site.longitude_deg, 151.1666666, 1e-12, 0.0);
    format_case_free(&one);
    /* Constructed: plain degrees of the access service, a place of 0, 0 and a day's summary. */
    format_case_read(
        &one, &stv__format_global_hourly,
        GLOBAL_HEAD
        "\"1\",\"2019-01-03T22:00:00\",\"4\",\"0.0\",\"0.0\",\"7026.0\",\"X\",\"FM-15\",\"\","
        "\"\",\"\",\"\",\"\",\"26.4\",\"21\",\"\",\"\"\n"
        "\"1\",\"2019-01-03T23:59:00\",\"4\",\"0.0\",\"0.0\",\"7026.0\",\"X\",\"SOD  \",\"\","
        "\"\",\"\",\"\",\"\",\"+9999,9\",\"+9999,9\",\"\",\"\"\n",
        "");
    assert_int_equal(one.file.samples.n, 1);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 26.4, 1e-12, 0.0);
    assert_false(one.file.meta.has_site);
    format_case_free(&one);
}

static void isd_lite(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_isd_lite, LITE "2024 07 15 2", "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.time_s[1], format_at(2024, 7, 15, 21, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), 37.2, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_DEW_POINT_C, 1)));
    assert_true(isnan(format_value(&one, STV_WQ_CLOUD_FRAC, 1))); /* 9: nobody saw the sky */
    assert_int_equal(one.file.n_set_aside, 1);
    format_case_free(&one);
}

static void ghcn_hourly(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_ghcn_hourly, GHCN_HOURLY, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.time_s[0], format_at(2024, 7, 8, 12, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 21.4, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 1))); /* a streak, says the service */
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 1), 0.48, 1e-12, 0.0);
    format_case_free(&one);
    /* Constructed on the older header. */
    format_case_read(
        &one, &stv__format_ghcn_hourly,
        "Station_ID|Station_name|Year|Month|Day|Hour|Minute|Latitude|Longitude|Elevation|"
        "temperature|temperature_Measurement_Code|temperature_Quality_Code\n"
        "X|MADE UP|2020|2|29|23|51|40.0|-90.0|******|12.5||\n"
        "X|MADE UP|2020|2|30|23|51|40.0|-90.0|******|12.5||\n",
        "");
    assert_int_equal(one.file.samples.time_s[0], format_at(2020, 2, 29, 23, 51));
    assert_true(isnan(one.file.meta.site.elevation_m));
    assert_int_equal(one.file.n_set_aside, 1);
    format_case_free(&one);
}

static void lcd(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_lcd, LCD, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_true(one.file.is_local); /* two reports are too few to elect a zone */
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 20.0 / 1.8, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 0), 30.53 * 3386.389, 1e-12, 0.0);
    format_case_free(&one);
}

/* Constructed: a day of reports whose METAR texts elect UTC+1, in F and in C; then half and half.
 */
static void lcd_votes(void **state)
{
    (void)state;
    char text[8000];
    static const char head[] = "\"STATION\",\"DATE\",\"REPORT_TYPE\",\"HourlyDewPointTemperature\","
                               "\"HourlyDryBulbTemperature\",\"REM\"\n";
    for (int kind = 0; kind < 3; kind++) { /* F, C, half of each */
        struct format_case one;
        int used = snprintf(text, sizeof text, "%s", head);
        for (int hour = 0; hour < 24; hour++) {
            int temp_c = 20 + hour % 12;
            bool is_f = kind == 0 || (kind == 2 && hour % 2);
            used += snprintf(text + used, sizeof text - (size_t)used,
                             "\"%s\",\"2021-07-%02dT%02d:51:00\",\"FM-15\",\"50%s\",\"%.0f\","
                             "\"METAR KABC %02d%02d51Z AUTO %02d/10 A3000\"\n",
                             kind == 0 ? "08449013025" : "USW00013958", hour < 23 ? 5 : 6,
                             (hour + 1) % 24, hour == 3 ? "s" : "",
                             is_f ? temp_c * 1.8 + 32 : temp_c, 5, hour, temp_c);
        }
        format_case_read(&one, &stv__format_lcd, text, "");
        stv_assert_status(one.status, kind == 2 ? STV_E_PARSE : STV_OK);
        if (kind < 2) {
            assert_string_equal(one.file.meta.clock, "UTC+01:00");
            assert_false(one.file.is_local);
            assert_int_equal(one.file.samples.time_s[0], format_at(2021, 7, 5, 0, 51));
            stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 5), 25.0, 0.02, 0.0);
            assert_true(isnan(format_value(&one, STV_WQ_DEW_POINT_C, 3)));
        }
        format_case_free(&one);
    }
    int32_t minute, temp_c;
    assert_true(stv__metar_minute(stv_slice_of("METAR EDDF 311250Z 24006KT"), &minute));
    assert_int_equal(minute, 12 * 60 + 50);
    assert_false(stv__metar_minute(stv_slice_of("METAR EDDF 312550Z"), &minute));
    assert_true(stv__metar_temp_c(stv_slice_of("CAVOK M02/M13 Q1013"), &temp_c));
    assert_int_equal(temp_c, -2);
    assert_false(stv__metar_temp_c(stv_slice_of("11/ 1/2SM // R27/1200"), &temp_c));
}

static void ghcn_daily(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_ghcn_daily, DLY, "");
    stv_assert_ok(one.status);
    assert_true(one.file.is_daily);
    assert_int_equal(one.file.samples.n, 11);
    assert_int_equal(one.file.samples.time_s[0], format_at(1926, 1, 21, 0, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 0), 23.9, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 1), 22.2, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 10), 20.0, 1e-12, 0.0);
    format_case_free(&one);
    /* Constructed: cut behind day 21, as by an editor; a failed check on day 1. */
    char cut[300] = "USC00011084192602TMIN   33 X6";
    format_case_read(&one, &stv__format_ghcn_daily, cut, "");
    assert_int_equal(one.file.samples.n, 0);
    assert_int_equal(one.file.n_flags, 1);
    format_case_free(&one);
}

static void ghcn_daily_csv(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_ghcn_daily_csv, DAILY_CSV, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 0), 12.8, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MIN_C, 0), -5.0, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_MAX_C, 1)));
    format_case_free(&one);
    format_case_read(&one, &stv__format_ghcn_daily_csv,
                     "STATION,DATE,TMAX,TMIN\nX,2012-01-01,12.8,5\nX,2012-01-02,9,4\n", "");
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 1), 9.0, 1e-12,
                     0.0); /* degrees, by the point */
    format_case_free(&one);
    format_case_read(&one, &stv__format_ghcn_daily_long, DAILY_LONG, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 3);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MIN_C, 1), -5.0, 1e-12, 0.0);
    assert_int_equal(one.file.n_flags, 1);
    format_case_free(&one);
}

static void uscrn(void **state)
{
    (void)state;
    struct format_case one;
    /* A run of NULs, as the reader of the file hides them, in front of a good row. */
    format_case_read(&one, &stv__format_uscrn, USCRN "\x1A\x1A\x1A\x1A   \x1A" USCRN, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 4);
    assert_int_equal(one.file.samples.time_s[1], format_at(2019, 1, 1, 16, 15));
    assert_string_equal(one.file.meta.clock, "UTC-07:00");
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 0)));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), 3.3, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 1), 0.87, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_GHI_W_M2, 0), 296.0, 0.0, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_WIND_M_S, 1))); /* flag 3 */
    format_case_free(&one);
    /* Constructed on the columns of hourly02. */
    format_case_read(
        &one, &stv__format_uscrn,
        "53131 20190101 0100 20181231 1800      3 -111.17   32.24     3.3     3.5     4.0 "
        "    3.1     0.0      0 0      0 0      0 0 C     2.2 0     2.9 0     1.9 0    77 "
        "0 -99.000 -99.000 -99.000 -99.000 -99.000 -9999.0 -9999.0 -9999.0 -9999.0 "
        "-9999.0\n",
        "");
    stv_assert_ok(one.status);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 3.5, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 0), 0.77, 1e-12, 0.0);
    format_case_free(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_knows_its_own),
        cmocka_unit_test(isd),
        cmocka_unit_test(two_forms_of_one_report),
        cmocka_unit_test(global_hourly),
        cmocka_unit_test(isd_lite),
        cmocka_unit_test(ghcn_hourly),
        cmocka_unit_test(lcd),
        cmocka_unit_test(lcd_votes),
        cmocka_unit_test(ghcn_daily),
        cmocka_unit_test(ghcn_daily_csv),
        cmocka_unit_test(uscrn),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
