/* Lists as their makers write them, damaged ones, and the laws of the ranking. */
#include "tests/check.h"
#include "tests/scratch.h"

#include "ingest/station_list.h"
#include "model/calendar.h"

#include <stdio.h>
#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define MANY 400

struct opened {
    struct stv_scratch scratch;
    struct stv_problems problems;
    struct stv_station_list list;
};

static void begin(struct opened *one)
{
    *one = (struct opened){.list = {0}};
    stv_scratch_open(&one->scratch);
    stv_problems_init(&one->problems);
}

static enum stv_status add(struct opened *one, enum stv_station_list_kind kind, const char *text)
{
    char name[24];
    snprintf(name, sizeof name, "list-%zu", one->scratch.n);
    const char *path = stv_scratch_text(&one->scratch, name, text);
    return stv_station_list_read(kind, path, "list", &one->problems, &one->list);
}

static void end(struct opened *one)
{
    stv_station_list_free(&one->list);
    stv_problems_free(&one->problems);
    stv_scratch_close(&one->scratch);
}

static int64_t day(int32_t year, int32_t month, int32_t day_of_month)
{
    return stv_day_from_date((struct stv_date){year, month, day_of_month});
}

static const struct stv_station *station(const struct opened *one, const char *id)
{
    const struct stv_station *found = stv_station_find(&one->list, id);
    assert_non_null(found);
    return found;
}

/* Header and the rows of WXPOD 7018, Bartin, Jan Mayen and Denver as NOAA's isd-history.csv has
 * them, quoted in several repositories; the rest made up after them. */
static const char isd[] =
    "\"USAF\",\"WBAN\",\"STATION NAME\",\"CTRY\",\"STATE\",\"ICAO\",\"LAT\",\"LON\",\"ELEV(M)\","
    "\"BEGIN\",\"END\"\n"
    "\"007018\",\"99999\",\"WXPOD 7018\",\"\",\"\",\"\",\"+00.000\",\"+000.000\",\"+7018.0\","
    "\"20110309\",\"20130730\"\n"
    "\"170200\",\"99999\",\"BARTIN\",\"TU\",\"\",\"\",\"+41.633\",\"+032.333\",\"+0033.0\","
    "\"19510101\",\"20250824\"\n"
    "\"010010\",\"99999\",\"JAN MAYEN\",\"NO\",\"\",\"ENJA\",\"+70.933\",\"-008.667\",\"+0009.0\","
    "\"19310101\",\"20250824\"\n"
    "\"720534\",\"00161\",\"DENVER\",\"US\",\"CO\",\"KBJC\",\"+39.950\",\"-105.117\",\"+1724.0\","
    "\"20050101\",\"20260115\"\n"
    "\"999999\",\"00161\",\"DENVER, OLD\",\"US\",\"CO\",\"KBJC\",\"+39.900\",\"-105.100\","
    "\"-0999.0\",\"19870101\",\"20041231\"\n"
    "\"829999\",\"99999\",\"NO PLACE\",\"BR\",\"\",\"\",\"\",\"\",\"+0010.0\",\"19450101\","
    "\"20260115\"\n";

static void isd_history_is_read(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    stv_assert_ok(add(&one, STV_STATIONS_ISD, isd));
    assert_int_equal(one.list.n, 4);
    assert_int_equal(one.list.n_rows, 6);
    assert_int_equal(one.list.n_without_place, 2);
    assert_int_equal(one.list.n_faulty, 0);
    assert_int_equal(one.problems.n_total, 0);
    const struct stv_station *denver = station(&one, "720534-00161");
    assert_string_equal(denver->name, "DENVER");
    stv_assert_close(denver->site.latitude_deg, 39.95, 0, 1e-12);
    stv_assert_close(denver->site.longitude_deg, -105.117, 0, 1e-12);
    stv_assert_close(denver->site.elevation_m, 1724.0, 0, 1e-12);
    assert_int_equal(denver->first_day_d, day(2005, 1, 1));
    assert_int_equal(denver->last_day_d, day(2026, 1, 15));
    assert_true(isnan(station(&one, "999999-00161")->site.elevation_m));
    assert_null(stv_station_find(&one.list, "829999-99999"));
    end(&one);
}

/* One airport under two numbers is one station over both times, placed where it was last. */
static void numbers_of_one_station_are_put_together(void **state)
{
    static const struct {
        enum stv_station_list_kind kind;
        const char *id;
        size_t n;
    } as[] = {{STV_STATIONS_ISD_AIRPORTS, "BJC", 2}, {STV_STATIONS_ISD_US, "USW00000161", 1}};
    struct opened one;
    (void)state;
    for (size_t i = 0; i < N_OF(as); i++) {
        begin(&one);
        stv_assert_ok(add(&one, as[i].kind, isd));
        assert_int_equal(one.list.n, as[i].n);
        const struct stv_station *denver = station(&one, as[i].id);
        assert_int_equal(denver->first_day_d, day(1987, 1, 1));
        assert_int_equal(denver->last_day_d, day(2026, 1, 15));
        stv_assert_close(denver->site.elevation_m, 1724.0, 0, 1e-12);
        end(&one);
    }
    begin(&one);
    stv_assert_ok(add(&one, STV_STATIONS_ISD_AIRPORTS, isd));
    assert_string_equal(station(&one, "ENJA")->name, "JAN MAYEN");
    end(&one);
}

/* Places in the line as the GHCN-Daily readme gives them: 1-11, 13-20, 22-30, 32-35, 37-40, 42-45;
 * ghcnd-stations.txt 32-37 and 42-71.  Malin Head's place and height as that readme's example. */
static void ghcn_daily_needs_highest_and_lowest(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    stv_assert_ok(add(&one, STV_STATIONS_GHCN_DAILY,
                      "EI000003980  55.3717   -7.3400 TMAX 1955 2024\n"
                      "EI000003980  55.3717   -7.3400 TMIN 1957 2025\n"
                      "EI000003980  55.3717   -7.3400 PRCP 1890 2026\n"
                      "USC00011084  31.0583  -87.0550 TMAX 1926 2026\n"
                      "AO000066422 -15.2000   12.1500 TMAX 1955 1960\n"
                      "AO000066422 -15.2000   12.1500 TMIN 1970 1980\n"));
    assert_int_equal(one.list.n, 1);
    const struct stv_station *malin = station(&one, "EI000003980");
    assert_int_equal(malin->first_day_d, day(1957, 1, 1));
    assert_int_equal(malin->last_day_d, day(2024, 12, 31));
    assert_true(isnan(malin->site.elevation_m));
    stv_assert_ok(add(&one, STV_STATIONS_GHCN_DAILY_NAMES,
                      "EI000003980  55.3717   -7.3400   21.0    MALIN HEAD"
                      "                     GSN     03980\n"
                      "USC00011084  31.0583  -87.0550   25.9 AL BREWTON 3 SSE\n"));
    malin = station(&one, "EI000003980");
    assert_string_equal(malin->name, "MALIN HEAD");
    stv_assert_close(malin->site.elevation_m, 21.0, 0, 1e-12);
    assert_int_equal(one.list.n, 1);
    end(&one);
}

/* Header and the rows of Antigua and Angola as NOAA's ghcnh-station-list.csv has them. */
static void ghcn_hourly_tells_no_years(void **state)
{
    struct opened one;
    struct stv_station_near near[3];
    size_t n;
    (void)state;
    begin(&one);
    stv_assert_ok(add(
        &one, STV_STATIONS_GHCN_HOURLY,
        "GHCN_ID,LATITUDE,LONGITUDE,ELEVATION,STATE,NAME,GSN,(US)HCN_(US)CRN,WMO_ID,ICAO,ISO_CODE\n"
        "ACM00078861,17.1167,-61.7833,10.0,,COOLIDGE FIELD   ANTIGUA (AUX.,,,78861,,AG\n"
        "AOM00066116,-5.8667,13.4333,-999.9,,NOQUI,,,66116,,AO\n"
        "ARM00087500,0.0,0.0,-999.0,,BOGUS ARGENTINEAN,,,87500,,AR\n"));
    assert_int_equal(one.list.n, 2);
    assert_int_equal(one.list.n_without_place, 1);
    assert_true(isnan(station(&one, "AOM00066116")->site.elevation_m));
    const struct stv_station_wish wish = {17.0, -61.0, day(2015, 1, 1), day(2020, 12, 31)};
    stv_assert_ok(stv_stations_nearest(&one.list, &wish, near, N_OF(near), &n));
    assert_int_equal(n, 2);
    assert_true(isnan(near[0].coverage_frac));
    stv_assert_close(near[0].counted_km, near[0].distance_km + 10.0, 1e-12, 0);
    end(&one);
}

/* Layout partly from memory, see ingest/station_list_read.c; 2000 ft are 609.6 m. */
static void reference_stations_get_the_name_of_their_files(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    stv_assert_ok(add(&one, STV_STATIONS_USCRN,
                      "WBAN\tCOUNTRY\tSTATE\tLOCATION\tVECTOR\tNAME\tLATITUDE\tLONGITUDE\t"
                      "ELEVATION\tSTATUS\tCOMMISSIONING\tCLOSING\n"
                      "53131\tUS\tAZ\tTucson\t11 W\tSonora Museum\t32.24\t-111.17\t2000\t"
                      "Commissioned\t2002-09-18 00:00:00\tNA\n"
                      "25711\tUS\tAK\tSt. Paul\t4 NE\tAirport\t57.16\t-170.21\t20\tClosed\t"
                      "2005-08-19 00:00:00\t2012-05-01 00:00:00\n"));
    assert_int_equal(one.list.n, 2);
    const struct stv_station *tucson = station(&one, "AZ_Tucson_11_W");
    stv_assert_close(tucson->site.elevation_m, 609.6, 1e-12, 0);
    assert_int_equal(tucson->first_day_d, day(2002, 9, 18));
    assert_true(tucson->last_day_d == STV_DAY_AFTER_ALL);
    assert_int_equal(station(&one, "AK_St._Paul_4_NE")->last_day_d, day(2012, 5, 1));
    end(&one);
}

/* The first five lines of Environment Canada's Station Inventory EN.csv as quoted by its users,
 * the disclaimers shortened, and a made-up station with hours. */
static void canada_is_read_below_its_disclaimers(void **state)
{
    struct opened one;
    (void)state;
    begin(&one);
    stv_assert_ok(add(
        &one, STV_STATIONS_CANADA,
        "\xEF\xBB\xBF\"Modified Date: 2022-12-31 23:33 UTC\"\n"
        "\"Station Inventory Disclaimer: Please note that this inventory list is a snapshot\"\n"
        "\"Station ID Disclaimer: Station IDs are an internal index numbering system\"\n"
        "\"Name\",\"Province\",\"Climate ID\",\"Station ID\",\"WMO ID\",\"TC ID\","
        "\"Latitude (Decimal Degrees)\",\"Longitude (Decimal Degrees)\",\"Latitude\",\"Longitude\","
        "\"Elevation (m)\",\"First Year\",\"Last Year\",\"HLY First Year\",\"HLY Last Year\","
        "\"DLY First Year\",\"DLY Last Year\",\"MLY First Year\",\"MLY Last Year\"\n"
        "\"ACTIVE PASS\",\"BRITISH COLUMBIA\",\"1010066\",\"14\",\"\",\"\",\"48.87\",\"-123.28\","
        "\"485200000\",\"-1231700000\",\"4\",\"1984\",\"1996\",\"\",\"\",\"1984\",\"1996\","
        "\"1984\",\"1996\"\n"
        "\"QUILL BASIN\",\"ALBERTA\",\"3010001\",\"51442\",\"\",\"\",\"50.11\",\"-113.5\","
        "\"500636000\",\"-1133000000\",\"1021.5\",\"2010\",\"2024\",\"2012\",\"2024\",\"2010\","
        "\"2024\",\"\",\"\"\n"));
    assert_int_equal(one.list.n, 1);
    const struct stv_station *basin = station(&one, "51442");
    assert_int_equal(basin->first_day_d, day(2012, 1, 1));
    assert_int_equal(basin->last_day_d, day(2024, 12, 31));
    stv_assert_close(basin->site.elevation_m, 1021.5, 0, 1e-12);
    end(&one);
}

/* ---- damage -----------------------------------------------------------------------------------
 */

/* k faulty rows of n give n - k stations and k counted, wherever they stand. */
static void faulty_rows_are_counted_and_left_out(void **state)
{
    static const char *const faults[] = {
        "\"72363\",\"23047\",\"SHORT ID\",\"US\",\"\",\"\",\"+35.2\",\"-101.7\",\"+1\","
        "\"20000101\",\"20200101\"\n",
        "\"723630\",\"23047\",\"FAR NORTH\",\"US\",\"\",\"\",\"+95.2\",\"-101.7\",\"+1\","
        "\"20000101\",\"20200101\"\n",
        "\"723630\",\"23047\",\"BACKWARDS\",\"US\",\"\",\"\",\"+35.2\",\"-101.7\",\"+1\","
        "\"20200101\",\"20000101\"\n",
        "\"723630\",\"23047\",\"NO SUCH DAY\",\"US\",\"\",\"\",\"+35.2\",\"-101.7\",\"+1\","
        "\"20010229\",\"20200101\"\n",
        "\"723630\",\"23047\",\"A WORD\",\"US\",\"\",\"\",\"north\",\"-101.7\",\"+1\","
        "\"20000101\",\"20200101\"\n",
        "\"723630\",\"230\n",
        "\x1A\x1A\x1A garbage\n"};
    static char text[MANY * 200];
    struct opened one;
    (void)state;
    for (size_t every = 2; every < 9; every++) {
        size_t n_faulty = 0;
        int used = snprintf(text, sizeof text, "%.*s", (int)(strchr(isd, '\n') - isd + 1), isd);
        for (size_t i = 0; i < MANY; i++) {
            bool is_faulty = i % every == 1;
            n_faulty += is_faulty;
            if (is_faulty)
                used += snprintf(text + used, sizeof text - (size_t)used, "%s",
                                 faults[n_faulty % N_OF(faults)]);
            else
                used += snprintf(text + used, sizeof text - (size_t)used,
                                 "\"%06zu\",\"99999\",\"S\",\"US\",\"\",\"\",\"+35.2\",\"-101.7\","
                                 "\"+0001.0\",\"20000101\",\"20200101\"\n",
                                 100000 + i);
        }
        begin(&one);
        stv_assert_ok(add(&one, STV_STATIONS_ISD, text));
        assert_int_equal(one.list.n, MANY - n_faulty);
        assert_int_equal(one.list.n_faulty, n_faulty);
        assert_int_equal(one.list.n_rows, MANY);
        assert_int_equal(one.problems.n_by_severity[STV_SET_ASIDE], n_faulty);
        assert_int_equal(one.problems.items[0].row, 3);
        end(&one);
    }
}

static void other_files_are_refused(void **state)
{
    static const char *const others[] = {
        "", "<!DOCTYPE html><html><head><title>404</title></head></html>\n", "a,b\n1,2\n",
        "\"USAF\",\"WBAN\",\"STATION NAME\"\n\"723630\",\"23047\",\"NO PLACES\"\n", isd};
    static const enum stv_station_list_kind kinds[] = {STV_STATIONS_ISD, STV_STATIONS_GHCN_DAILY,
                                                       STV_STATIONS_GHCN_HOURLY, STV_STATIONS_USCRN,
                                                       STV_STATIONS_CANADA};
    struct opened one;
    (void)state;
    for (size_t i = 0; i < N_OF(others); i++) {
        for (size_t k = 0; k < N_OF(kinds); k++) {
            if (others[i] == isd && kinds[k] == STV_STATIONS_ISD)
                continue;
            begin(&one);
            stv_assert_status(add(&one, kinds[k], others[i]), STV_E_PARSE);
            assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 1);
            assert_int_equal(one.list.n, 0);
            end(&one);
        }
    }
}

/* ---- ranking ----------------------------------------------------------------------------------
 */

/* The cosine rule of the sphere, good for places that are far apart. */
static double by_cosines_km(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                            double longitude2_deg)
{
    const double rad = 3.14159265358979323846 / 180.0;
    return 6371.0088 * acos(sin(latitude1_deg * rad) * sin(latitude2_deg * rad) +
                            cos(latitude1_deg * rad) * cos(latitude2_deg * rad) *
                                cos((longitude2_deg - longitude1_deg) * rad));
}

/* Mean radius as in ingest/station_list.c; a quarter of the globe, other formula, symmetry. */
static void distances_are_great_circles(void **state)
{
    const double quarter_km = 6371.0088 * 3.14159265358979323846 / 2.0;
    (void)state;
    stv_assert_close(stv_great_circle_km(48.8365, 2.3365, 51.4779, -0.0015),
                     by_cosines_km(48.8365, 2.3365, 51.4779, -0.0015), 1e-9, 0);
    stv_assert_close(stv_great_circle_km(-35.2, 149.1, 35.2, -101.7),
                     by_cosines_km(-35.2, 149.1, 35.2, -101.7), 1e-12, 0);
    stv_assert_close(stv_great_circle_km(0, 0, 0, 90), quarter_km, 1e-12, 0);
    stv_assert_close(stv_great_circle_km(90, 17, 0, -44), quarter_km, 1e-12, 0);
    stv_assert_close(stv_great_circle_km(12, 34, -12, -146), 2.0 * quarter_km, 1e-7, 0);
    stv_assert_close(stv_great_circle_km(35.2, 179.9, 35.2, -179.9),
                     stv_great_circle_km(35.2, 0.0, 35.2, 0.2), 1e-9, 0);
    stv_assert_close(stv_great_circle_km(35.2, -101.7, 35.2, -101.7), 0.0, 0, 0);
    for (double latitude_deg = -80.0; latitude_deg < 81.0; latitude_deg += 23.85)
        stv_assert_close(stv_great_circle_km(latitude_deg, 10, 35.2, -101.7),
                         stv_great_circle_km(35.2, -101.7, latitude_deg, 10), 1e-14, 0);
}

static struct stv_station made(const char *id, double latitude_deg, int32_t first, int32_t last)
{
    struct stv_station one = {.site = {latitude_deg, -101.7, 1000.0},
                              .first_day_d = day(first, 1, 1),
                              .last_day_d = day(last, 12, 31)};
    snprintf(one.id, sizeof one.id, "%s", id);
    return one;
}

static void near_and_complete_comes_first(void **state)
{
    struct stv_station stations[] = {
        made("a-near-half", 35.25, 2016, 2019), made("b-near-none", 35.2, 1990, 2009),
        made("e-middle-all", 35.30, 2000, 2025), made("d-far-all", 36.2, 2000, 2025),
        made("c-middle-all", 35.30, 2000, 2025)};
    const struct stv_station_list list = {.stations = stations, .n = N_OF(stations)};
    const struct stv_station_wish wish = {35.2, -101.7, day(2016, 1, 1), day(2023, 12, 31)};
    struct stv_station_near near[N_OF(stations)];
    size_t n;
    (void)state;
    stv_assert_ok(stv_stations_nearest(&list, &wish, near, N_OF(near), &n));
    assert_int_equal(n, 4); /* the one without any of the years is left out */
    assert_string_equal(near[0].station->id, "c-middle-all");
    assert_string_equal(near[1].station->id, "e-middle-all"); /* of equals by id */
    assert_string_equal(near[2].station->id, "a-near-half");
    assert_string_equal(near[3].station->id, "d-far-all");
    stv_assert_close(near[0].coverage_frac, 1.0, 0, 0);
    stv_assert_close(near[2].coverage_frac, 1461.0 / 2922.0, 1e-12, 0);
    for (size_t i = 0; i < n; i++) {
        stv_assert_close(near[i].counted_km, (near[i].distance_km + 10.0) / near[i].coverage_frac,
                         1e-12, 0);
        assert_true(i == 0 || near[i].counted_km >= near[i - 1].counted_km);
    }
    stv_assert_ok(stv_stations_nearest(&list, &wish, near, 2, &n));
    assert_int_equal(n, 2);
    assert_string_equal(near[0].station->id, "c-middle-all");
    assert_non_null(strstr(stv_stations_rule(), "10 km"));
}

/* More days never rank lower, nor does a shorter way. */
static void more_days_and_less_way_never_harm(void **state)
{
    const struct stv_station_wish wish = {35.2, -101.7, day(2000, 1, 1), day(2019, 12, 31)};
    double before_km = HUGE_VAL;
    size_t n;
    (void)state;
    for (int32_t last = 2000; last < 2025; last++) {
        struct stv_station one = made("x", 36.0, 2000, last);
        const struct stv_station_list list = {.stations = &one, .n = 1};
        struct stv_station_near near;
        stv_assert_ok(stv_stations_nearest(&list, &wish, &near, 1, &n));
        assert_true(near.counted_km <= before_km);
        before_km = near.counted_km;
    }
    for (double latitude_deg = 36.0; latitude_deg > 35.2; latitude_deg -= 0.1) {
        struct stv_station one = made("x", latitude_deg, 2000, 2019);
        const struct stv_station_list list = {.stations = &one, .n = 1};
        struct stv_station_near near;
        stv_assert_ok(stv_stations_nearest(&list, &wish, &near, 1, &n));
        assert_true(near.counted_km <= before_km);
        before_km = near.counted_km;
    }
    const struct stv_station_list empty = {0};
    struct stv_station_near none;
    stv_assert_ok(stv_stations_nearest(&empty, &wish, &none, 1, &n));
    assert_int_equal(n, 0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(isd_history_is_read),
        cmocka_unit_test(numbers_of_one_station_are_put_together),
        cmocka_unit_test(ghcn_daily_needs_highest_and_lowest),
        cmocka_unit_test(ghcn_hourly_tells_no_years),
        cmocka_unit_test(reference_stations_get_the_name_of_their_files),
        cmocka_unit_test(canada_is_read_below_its_disclaimers),
        cmocka_unit_test(faulty_rows_are_counted_and_left_out),
        cmocka_unit_test(other_files_are_refused),
        cmocka_unit_test(distances_are_great_circles),
        cmocka_unit_test(near_and_complete_comes_first),
        cmocka_unit_test(more_days_and_less_way_never_harm),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
