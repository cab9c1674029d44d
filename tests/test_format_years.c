/* Files of a whole year, typical or real: authentic first rows of the publisher's files, typed here
 * with their source, and constructed ones that are marked so. */
#include "tests/format_case.h"

#include "ingest/machine.h"
#include "model/units.h"

#include <math.h>

static const struct stv_weather_format *const formats[] = {&stv__format_epw,   &stv__format_tmy3,
                                                           &stv__format_tmy2,  &stv__format_tmy,
                                                           &stv__format_nsrdb, &stv__format_pvgis};
#define N_FORMATS (sizeof formats / sizeof formats[0])

/* NREL's typical year of Wichita Falls, Texas (TMY3, 723510): two rows of winter, one of summer. */
#define EPW_PLACE \
    "LOCATION,Wichita Falls Municipal Arpt,TX,USA,TMY3,723510,33.98,-98.50,-6.0,314.0\r\n"
#define EPW_PERIOD "DATA PERIODS,1,1,Data,Sunday, 1/ 1,12/31\r\n"
#define EPW_FLAGS "?9?9?9?9E0?9?9?9?9?9?9?9?9?9?9?9?9?9?9?9*9*9?9?9?9,"
#define EPW_TAIL "0,0,16.0,77777,9,999999999,100,0.0590,0,88,0.190,0.0,1.0\r\n"
#define EPW                                                                                   \
    EPW_PLACE EPW_PERIOD                                                                      \
        "2003,1,1,1,0," EPW_FLAGS "0.0,-3.9,72,97100,0,0,245,0,0,0,0,0,0,0,110,3.1," EPW_TAIL \
        "2003,1,1,2,0," EPW_FLAGS "0.6,-3.3,73,97000,0,0,248,0,0,0,0,0,0,0,100,3.6," EPW_TAIL \
        "1988,6,16,8,0," EPW_FLAGS "26.1,18.9,65,98300,534,1323,412,260,278,147,27800,27600," \
        "16700,3050,190,3.6,7,7,16.1,2440,9,999999999,300,0.0740,0,88,999.000,999.0,99.0\r\n"

/* NREL's TMY3 of Camp Mabry, Texas (722544). */
#define TMY3_HEAD                                                                            \
    "722544,\"CAMP MABRY\",TX,-6.0,30.317,-97.767,198\n"                                     \
    "Date (MM/DD/YYYY),Time (HH:MM),GHI (W/m^2),TotCld (tenths),Dry-bulb (C),Dew-point (C)," \
    "RHum (%),Pressure (mbar),Wspd (m/s)\n"
/* Columns between those named in the header left out here. */
#define TMY3                                       \
    TMY3_HEAD                                      \
    "01/01/1981,01:00,0,0,10.0,2.2,59,998,3.1\n"   \
    "01/01/1981,24:00,0,0,10.6,-0.6,46,1006,3.1\n" \
    "01/02/1981,01:00,0,0,10.0,-0.6,48,1006,4.1\n"

/* NREL's TMY2 of Miami, Florida (12839). */
#define TMY2                                                                                   \
    " 12839 MIAMI                  FL  -5 N 25 48 W  80 16     2\n"                            \
    " 62010101000000000000?00000?00000?00000?00000?00000?00000?007A703A70200A70150A7073A71017" \
    "A7158A7067A70161A777777A70999999999013F8062F8000A788E7\n"                                 \
    " 62010113093114150145C40009E40137E50171I40005I40168I50675I510A710A70189A70183A7097A71015" \
    "A7203A7041A70064A702438A70909999099020F8062F8000A788E7\n"

/* The typical year of Denver-Stapleton (23062) that building simulations are tested with: the
 * first hour and one at noon. */
#define TMY                                                                                    \
    "2306259010101000033000099999999999999999999999999999980000999999999999017777023000241000" \
    "0000010071 8278   0 -66203  2807039\n"                                                    \
    "2306259010112001133230573357999999999999999999999999921676999999999999127777020000966000" \
    "00000 9982 8200  89 -89293  9301019\n"

/* NREL's NSRDB for 35.21 N 101.94 W, 2012: columns of the first line left out here. */
#define NSRDB_HEAD                                                                             \
    "Source,Location ID,City,State,Country,Latitude,Longitude,Time Zone,Elevation,Local Time " \
    "Zone\n"                                                                                   \
    "NSRDB,564277,-,-,-,35.21,-101.94,-6,1102,-6\n"                                            \
    "Year,Month,Day,Hour,Minute,GHI,DHI,DNI,Wind Speed,Temperature,Solar Zenith Angle,"        \
    "Pressure,Dew Point\n"
#define NSRDB                                 \
    NSRDB_HEAD                                \
    "2012,1,1,0,30,0,0,0,1.8,-1,167,900,-6\n" \
    "2012,1,1,1,30,0,0,0,1.6,-1,165.16,900,-7\n"

/* Header of a public reader's test file, and its first hour as far as it is quoted; the rest and
 * the lines about the place are constructed. */
#define PVGIS                                                           \
    "Latitude (decimal degrees): 45.000\r\n"                            \
    "Longitude (decimal degrees): 8.000\r\n"                            \
    "Elevation (m): 250\r\n"                                            \
    "month,year\r\n"                                                    \
    "1,2018\r\n"                                                        \
    "time(UTC),T2m,RH,G(h),Gb(n),Gd(h),IR(h),WS10m,WD10m,SP\r\n"        \
    "20180101:0000,2.04,94.38,0.0,-0.0,0.0,302.1,1.2,90.0,98100\r\n"    \
    "20110601:1200,25.5,40.0,800.0,700.0,150.0,390.0,2.5,180,98000\r\n" \
    "\r\n"                                                              \
    "T2m: 2-m air temperature (degree Celsius)\r\n"

static const char *const own[N_FORMATS] = {EPW, TMY3, TMY2, TMY, NSRDB, PVGIS};

static void each_knows_its_own(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_FORMATS; i++)
        for (size_t j = 0; j < N_FORMATS; j++)
            assert_int_equal(format_is_mine(formats[i], own[j]), i == j);
}

/* Start of an hour of a typical year in UTC; the hour 1..24 is the file's, which ends there. */
static int64_t typical_at(int month, int day, int hour, int utc_offset_h)
{
    return format_at(STV_TYPICAL_YEAR, month, day, hour - 1, 0) - utc_offset_h * STV_HOUR_S;
}

static void epw(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_epw, EPW, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 3);
    assert_true(one.file.meta.is_typical);
    assert_string_equal(one.file.meta.clock, "UTC-06:00");
    assert_int_equal(one.file.samples.time_s[0], typical_at(1, 1, 1, -6));
    assert_int_equal(one.file.samples.time_s[2], typical_at(6, 16, 8, -6));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 2), 26.1, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 2), 18.9, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 2), 0.65, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 2), 98300.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_SKY_W_M2, 2), 412.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_GHI_W_M2, 2), 260.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DNI_W_M2, 2), 278.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DHI_W_M2, 2), 147.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 2), 3.6, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_CLOUD_FRAC, 2), 0.7, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.elevation_m, 314.0, 0.0, 0.0);
    format_case_free(&one);
}

/* Constructed: missing codes of each field, a row cut short, and an hour that is none. */
static void epw_damaged(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(
        &one, &stv__format_epw,
        EPW_PLACE EPW_PERIOD
        "2003,1,1,1,0," EPW_FLAGS
        "99.9,99.9,999,999999,0,0,9999,9999,9999,9999,0,0,0,0,110,999.0,99,0"
        "\r\n"
        "2003,1,1,2,0," EPW_FLAGS "0.6,-3.3\r\n"
        "2003,1,1,25,0," EPW_FLAGS "0.6,-3.3,73,97000,0,0,248,0,0,0,0,0,0,0,100,3.6," EPW_TAIL
        "2003,2,29,1,0," EPW_FLAGS "0.6,-3.3,73,97000,0,0,248,0,0,0,0,0,0,0,100,3.6," EPW_TAIL,
        "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.n_rows, 4);
    assert_int_equal(one.file.n_empty, 1);
    assert_int_equal(one.file.n_set_aside, 3);
    assert_int_equal(one.problems.n_by_severity[STV_SET_ASIDE], 3);
    format_case_free(&one);
    format_case_read(&one, &stv__format_epw,
                     "LOCATION,Nowhere,TX,USA,TMY3,1,33.98,-98.50,,314.0\r\n", "");
    stv_assert_status(one.status, STV_E_PARSE);
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 1);
    format_case_free(&one);
}

/* Constructed: a year that was, in its leap year, and one with four records an hour. */
static void epw_real_year(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_epw,
                     "LOCATION,Made Up,-,-,Site,1,33.98,-98.50,-6.0,314.0\n"
                     "DATA PERIODS,1,4,Data,Sunday,1/1,12/31\n"
                     "2024,2,29,3,15,x,10.0,1,50,97000,0,0,248,0,0,0,0,0,0,0,100,3.6,0\n"
                     "2024,2,29,3,60,x,11.0,1,50,97000,0,0,248,0,0,0,0,0,0,0,100,3.6,0\n",
                     "");
    stv_assert_ok(one.status);
    assert_false(one.file.meta.is_typical);
    assert_int_equal(one.file.samples.time_s[0], format_at(2024, 2, 29, 8, 0));
    assert_int_equal(one.file.samples.time_s[1], format_at(2024, 2, 29, 8, 45));
    format_case_free(&one);
}

static void tmy3(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_tmy3, TMY3, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_true(one.file.meta.is_typical);
    assert_string_equal(one.file.meta.clock, "UTC-06:00");
    assert_int_equal(one.file.samples.time_s[0], typical_at(1, 1, 1, -6));
    assert_int_equal(one.file.samples.time_s[1], typical_at(1, 1, 24, -6));
    assert_int_equal(one.file.samples.time_s[2], typical_at(1, 2, 1, -6));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), 10.6, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 1), -0.6, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 1), 0.46, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 1), 100600.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 2), 4.1, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.latitude_deg, 30.317, 0.0, 0.0);
    format_case_free(&one);
}

/* Constructed: midnight as 00:00 under the old date and under the new one, -9900, a cut line. */
static void tmy3_variants(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_tmy3,
                     TMY3_HEAD "01/01/1981,23:00,0,0,10.0,2.2,59,998,3.1\n"
                               "01/01/1981,00:00,0,0,10.6,-0.6,46,1006,3.1\n"
                               "1/2/1981,1:00,0,0,-9900,-0.6,48,-9900,4.1\n"
                               "01/02/1981,02:00,0,0,10",
                     "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.n_set_aside, 1);
    assert_int_equal(one.file.samples.time_s[1], typical_at(1, 1, 24, -6));
    assert_int_equal(one.file.samples.time_s[2], typical_at(1, 2, 1, -6));
    assert_true(isnan(format_value(&one, STV_WQ_TEMP_C, 2)));
    assert_true(isnan(format_value(&one, STV_WQ_PRESSURE_PA, 2)));
    format_case_free(&one);
    format_case_read(&one, &stv__format_tmy3,
                     TMY3_HEAD "01/01/1981,23:00,0,0,10.0,2.2,59,998,3.1\n"
                               "01/02/1981,00:00,0,0,10.6,-0.6,46,1006,3.1\n"
                               "01/02/1981,01:00,0,0,10.6,-0.6,46,1006,3.1\n",
                     "");
    stv_assert_ok(one.status);
    assert_int_equal(one.file.samples.time_s[1], typical_at(1, 1, 24, -6));
    assert_int_equal(one.file.samples.time_s[2], typical_at(1, 2, 1, -6));
    format_case_free(&one);
}

static void tmy2(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_tmy2, TMY2, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_true(one.file.meta.is_typical);
    assert_int_equal(one.file.samples.time_s[1], typical_at(1, 1, 13, -5));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 20.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 1), 18.9, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 1), 18.3, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 1), 0.97, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 1), 101500.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_GHI_W_M2, 1), 145.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DNI_W_M2, 1), 9.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DHI_W_M2, 1), 137.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 1), 4.1, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.latitude_deg, 25.8, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.longitude_deg, -(80.0 + 16.0 / 60.0), 1e-12, 0.0);
    format_case_free(&one);
}

static void tmy(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_tmy, TMY, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_true(one.file.meta.is_typical);
    assert_true(one.file.is_local); /* of a zone that the file does not name */
    assert_int_equal(one.file.samples.time_s[0], typical_at(1, 1, 1, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 0.0, 0.0, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 0), -6.6, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 0), 82780.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 0), 2.8, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DNI_W_M2, 0), 0.0, 0.0, 0.0);
    format_case_free(&one);
}

static void nsrdb(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_nsrdb, NSRDB, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_false(one.file.meta.is_typical);
    assert_string_equal(one.file.meta.clock, "UTC-06:00");
    assert_int_equal(one.file.samples.time_s[0], format_at(2012, 1, 1, 6, 30));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), -1.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_DEW_POINT_C, 1), -7.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_PRESSURE_PA, 0), 90000.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_WIND_M_S, 0), 1.8, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.elevation_m, 1102.0, 0.0, 0.0);
    format_case_free(&one);
}

/* Constructed: months of other years in one file make a typical year; a file that runs over New
 * Year does not. */
static void nsrdb_patched(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_nsrdb,
                     NSRDB_HEAD "2012,1,31,23,30,0,0,0,1.8,-1,167,900,-6\n"
                                "2003,2,1,0,30,0,0,0,1.6,-1,165.16,900,-7\n"
                                "2009,3,1,0,30,0,0,0,1.6,-1,165.16,900,-7\n",
                     "");
    stv_assert_ok(one.status);
    assert_true(one.file.meta.is_typical);
    assert_int_equal(one.file.samples.time_s[0], typical_at(1, 31, 24, -6) + 1800);
    format_case_free(&one);
    format_case_read(&one, &stv__format_nsrdb,
                     NSRDB_HEAD "2011,12,31,23,30,0,0,0,1.8,-1,167,900,-6\n"
                                "2012,1,1,0,30,0,0,0,1.6,-1,165.16,900,-7\n",
                     "");
    stv_assert_ok(one.status);
    assert_false(one.file.meta.is_typical);
    format_case_free(&one);
}

static void pvgis(void **state)
{
    (void)state;
    struct format_case one;
    format_case_read(&one, &stv__format_pvgis, PVGIS, "");
    stv_assert_ok(one.status);
    format_case_assert_counts(&one);
    assert_int_equal(one.file.samples.n, 2);
    assert_true(one.file.meta.is_typical);
    assert_int_equal(one.file.samples.time_s[0], typical_at(1, 1, 1, 0));
    assert_int_equal(one.file.samples.time_s[1], typical_at(6, 1, 13, 0));
    stv_assert_close(format_value(&one, STV_WQ_TEMP_C, 0), 2.04, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_RH_FRAC, 0), 0.9438, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_GHI_W_M2, 1), 800.0, 1e-12, 0.0);
    stv_assert_close(format_value(&one, STV_WQ_SKY_W_M2, 1), 390.0, 1e-12, 0.0);
    stv_assert_close(one.file.meta.site.longitude_deg, 8.0, 0.0, 0.0);
    assert_int_equal(one.problems.n_total, 0);
    format_case_free(&one);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(each_knows_its_own),
        cmocka_unit_test(epw),
        cmocka_unit_test(epw_damaged),
        cmocka_unit_test(epw_real_year),
        cmocka_unit_test(tmy3),
        cmocka_unit_test(tmy3_variants),
        cmocka_unit_test(tmy2),
        cmocka_unit_test(tmy),
        cmocka_unit_test(nsrdb),
        cmocka_unit_test(nsrdb_patched),
        cmocka_unit_test(pvgis),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
