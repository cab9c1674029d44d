/* Addresses are those that the services publish, letter by letter; what is typed can become nothing
 * else than a station, a place or a year in them. */
#include "tests/check.h"

#include "ingest/fetch_service.h"
#include "model/calendar.h"

#include <string.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])
#define LICENCE_MOST 127 /* of a description, ingest/weather_file.h */
#define SOURCE_MOST 180  /* leaves room for station and name */

/* 25 November 2026 */
static int64_t today(void)
{
    return stv_day_from_date((struct stv_date){2026, 11, 25});
}

static struct stv_fetch_wish wish_of(const char *service, const char *station, const char *years)
{
    char why[500];
    struct stv_fetch_wish wish = {.today_d = today()};
    wish.service = stv_fetch_service_find(service, why, sizeof why);
    assert_non_null(wish.service);
    stv_assert_ok(stv_fetch_station_read(wish.service, station, wish.station, why, sizeof why));
    if (years)
        stv_assert_ok(stv_fetch_years_read(years, wish.today_d, &wish.first_year, &wish.last_year,
                                           why, sizeof why));
    return wish;
}

static struct stv_fetch_file file_of(const struct stv_fetch_wish *wish, size_t file_idx)
{
    char why[500];
    struct stv_fetch_file file;
    stv_assert_ok(stv_fetch_wish_check(wish, why, sizeof why));
    assert_true(file_idx < stv_fetch_n_files(wish));
    stv_assert_ok(stv_fetch_file_of(wish, file_idx, &file, why, sizeof why));
    assert_true(stv_fetch_is_plain_name(file.name));
    return file;
}

/* Source: NOAA NCEI, its documents of ISD-Lite, ISD, GHCN-Daily, GHCN-Hourly, LCD v2 and USCRN and
 * programs that fetch from it; Meteostat, its documentation of June 2025; Iowa Environmental
 * Mesonet, source of its download service; Environment Canada, address of its bulk download. */
static const struct {
    const char *service, *station, *years, *url, *name;
} published[] = {
    {"isd-lite", "723630-23047", "2020",
     "https://www.ncei.noaa.gov/pub/data/noaa/isd-lite/2020/723630-23047-2020.gz",
     "isd-lite-723630-23047-2020.gz"},
    {"isd", "024130-99999", "2016",
     "https://www.ncei.noaa.gov/pub/data/noaa/2016/024130-99999-2016.gz",
     "isd-024130-99999-2016.gz"},
    {"global-hourly", "00702699999", "2017",
     "https://www.ncei.noaa.gov/data/global-hourly/access/2017/00702699999.csv",
     "global-hourly-007026-99999-2017.csv"},
    {"ghcn-daily", "USW00013958", NULL,
     "https://www.ncei.noaa.gov/data/global-historical-climatology-network-daily/access/"
     "USW00013958.csv",
     "ghcn-daily-USW00013958.csv"},
    {"ghcn-hourly", "GMI0000EDDF", NULL,
     "https://www.ncei.noaa.gov/oa/global-historical-climatology-network/hourly/access/by-station/"
     "GHCNh_GMI0000EDDF_por.psv",
     "ghcn-hourly-GMI0000EDDF.psv"},
    {"ghcn-hourly", "GMI0000EDDF", "2021",
     "https://www.ncei.noaa.gov/oa/global-historical-climatology-network/hourly/access/by-year/"
     "2021/psv/GHCNh_GMI0000EDDF_2021.psv",
     "ghcn-hourly-GMI0000EDDF-2021.psv"},
    {"lcd", "USW00013958", "2021",
     "https://www.ncei.noaa.gov/oa/local-climatological-data/v2/access/2021/"
     "LCD_USW00013958_2021.csv",
     "lcd-USW00013958-2021.csv"},
    {"uscrn", "AZ_Tucson_11_W", "2019",
     "https://www.ncei.noaa.gov/pub/data/uscrn/products/hourly02/2019/"
     "CRNH0203-2019-AZ_Tucson_11_W.txt",
     "uscrn-AZ_Tucson_11_W-2019.txt"},
    {"meteostat", "10637", "2023", "https://data.meteostat.net/hourly/2023/10637.csv.gz",
     "meteostat-10637-2023.csv.gz"},
    {"asos", "ACT", "2024",
     "https://mesonet.agron.iastate.edu/cgi-bin/request/asos.py?station=ACT&data=tmpf&data=dwpf"
     "&data=relh&data=sknt&sts=2024-01-01T00:00:00Z&ets=2025-01-01T00:00:00Z&tz=UTC"
     "&format=onlycomma&latlon=yes&missing=empty&trace=0.0001&report_type=3",
     "asos-ACT-2024.csv"},
    {"open-meteo", "35.2, -101.7", "2024",
     "https://archive-api.open-meteo.com/v1/archive?latitude=35.2000&longitude=-101.7000"
     "&start_date=2024-01-01&end_date=2024-12-31&hourly=temperature_2m,relative_humidity_2m,"
     "dew_point_2m,surface_pressure,wind_speed_10m,shortwave_radiation,direct_normal_irradiance,"
     "diffuse_radiation,cloud_cover&timezone=GMT&format=csv",
     "open-meteo-35.2000_-101.7000-2024.csv"},
    {"environment-canada", "51442", "2019",
     "https://climate.weather.gc.ca/climate_data/bulk_data_e.html?format=csv&stationID=51442"
     "&Year=2019&Month=1&Day=1&timeframe=1&submit=Download+Data",
     "environment-canada-51442-2019-01.csv"},
};

static void addresses_are_those_published(void **state)
{
    (void)state;
    for (size_t i = 0; i < N_OF(published); i++) {
        struct stv_fetch_wish wish =
            wish_of(published[i].service, published[i].station, published[i].years);
        struct stv_fetch_file file = file_of(&wish, 0);
        assert_string_equal(file.url, published[i].url);
        assert_string_equal(file.name, published[i].name);
    }
}

/* Source: as above; that of Environment Canada's inventory as programs that fetch it write it. */
static void lists_are_where_they_are_published(void **state)
{
    static const struct {
        const char *service, *url;
    } wanted[] = {
        {"isd-lite", "https://www.ncei.noaa.gov/pub/data/noaa/isd-history.csv"},
        {"ghcn-daily", "https://www.ncei.noaa.gov/pub/data/ghcn/daily/ghcnd-inventory.txt"},
        {"ghcn-hourly", "https://www.ncei.noaa.gov/oa/global-historical-climatology-network/hourly/"
                        "doc/ghcnh-station-list.csv"},
        {"uscrn", "https://www.ncei.noaa.gov/pub/data/uscrn/products/stations.tsv"},
        {"environment-canada",
         "https://collaboration.cmc.ec.gc.ca/cmc/climate/Get_More_Data_Plus_de_donnees/"
         "Station%20Inventory%20EN.csv"}};
    char url[STV_FETCH_URL], why[500];
    (void)state;
    for (size_t i = 0; i < N_OF(wanted); i++) {
        const struct stv_fetch_service *service =
            stv_fetch_service_find(wanted[i].service, why, sizeof why);
        stv_assert_ok(stv_fetch_list_url(&service->lists[0], NULL, url, why, sizeof why));
        assert_string_equal(url, wanted[i].url);
        stv_assert_ok(
            stv_fetch_list_url(&service->lists[0], "http://127.0.0.1:8080/", url, why, sizeof why));
        assert_memory_equal(url, "http://127.0.0.1:8080/", 22);
        assert_string_equal(url + 21, strchr(wanted[i].url + 8, '/'));
    }
}

static void a_base_takes_the_place_of_the_host(void **state)
{
    static const char *const bad[] = {"ftp://host",     "host",       "http://",
                                      "http:///x",      "http://a b", "http://host/?q",
                                      "http://me@host", "http://h#x"};
    char why[500];
    (void)state;
    struct stv_fetch_wish wish = wish_of("isd-lite", "723630-23047", "2020");
    wish.base = "http://127.0.0.1:8080/mirror/";
    assert_string_equal(file_of(&wish, 0).url,
                        "http://127.0.0.1:8080/mirror/pub/data/noaa/isd-lite/2020/"
                        "723630-23047-2020.gz");
    for (size_t i = 0; i < N_OF(bad); i++) {
        wish.base = bad[i];
        stv_assert_status(stv_fetch_wish_check(&wish, why, sizeof why), STV_E_USAGE);
        assert_non_null(strstr(why, bad[i]));
    }
    char longest[STV_FETCH_URL + 10];
    memset(longest, 'a', sizeof longest);
    memcpy(longest, "http://", 7);
    longest[sizeof longest - 1] = '\0';
    struct stv_fetch_file file;
    wish.base = longest;
    stv_assert_status(stv_fetch_file_of(&wish, 0, &file, why, sizeof why), STV_E_USAGE);
}

/* Each year once, in order; months, and no month that has not begun. */
static void years_and_months_are_cut_apart(void **state)
{
    (void)state;
    struct stv_fetch_wish wish = wish_of("isd-lite", "723630-23047", "2015-2024");
    assert_int_equal(stv_fetch_n_files(&wish), 10);
    assert_string_equal(file_of(&wish, 0).label, "2015");
    assert_string_equal(file_of(&wish, 9).label, "2024");
    wish = wish_of("environment-canada", "51442", "2025-2026");
    assert_int_equal(stv_fetch_n_files(&wish), 12 + 11);
    assert_string_equal(file_of(&wish, 12).label, "2026-01");
    assert_string_equal(file_of(&wish, 22).label, "2026-11");
    assert_non_null(strstr(file_of(&wish, 22).url, "&Year=2026&Month=11&"));
    wish = wish_of("ghcn-daily", "USW00013958", "2015-2024");
    assert_int_equal(stv_fetch_n_files(&wish), 1);
    assert_string_equal(file_of(&wish, 0).label, "all years");
}

/* The year that runs is asked for up to the newest day that can be there. */
static void the_running_year_ends_where_the_data_do(void **state)
{
    char why[500];
    (void)state;
    struct stv_fetch_wish wish = wish_of("open-meteo", "35.2,-101.7", "2025-2026");
    assert_non_null(strstr(file_of(&wish, 0).url, "end_date=2025-12-31&"));
    assert_non_null(strstr(file_of(&wish, 1).url, "end_date=2026-11-19&"));
    wish.today_d = stv_day_from_date((struct stv_date){2026, 1, 6});
    stv_assert_status(stv_fetch_wish_check(&wish, why, sizeof why), STV_E_USAGE);
    assert_non_null(strstr(why, "nothing of 2026 yet"));
    wish.today_d++;
    assert_non_null(strstr(file_of(&wish, 1).url, "end_date=2026-01-01&"));
    struct stv_fetch_wish whole = wish_of("isd-lite", "723630-23047", NULL);
    stv_assert_status(stv_fetch_wish_check(&whole, why, sizeof why), STV_E_USAGE);
    assert_non_null(strstr(why, "--years"));
}

static void services_are_found_by_plain_words(void **state)
{
    static const struct {
        const char *typed, *name;
    } good[] = {{"isd-lite", "isd-lite"},
                {"ISD Lite", "isd-lite"},
                {"isdlite", "isd-lite"},
                {"noaa isd lite", "isd-lite"},
                {"isd", "isd"},
                {"Open-Meteo", "open-meteo"},
                {"iowa mesonet", "asos"},
                {"IEM", "asos"},
                {"Environment Canada", "environment-canada"},
                {"eccc", "environment-canada"},
                {"ghcnh", "ghcn-hourly"}};
    static const struct {
        const char *typed, *said;
    } bad[] = {{"isd-light", "did you mean isd-lite?"},
               {"meteostad", "did you mean meteostat?"},
               {"iowa mesonett", "did you mean asos?"},
               {"zzz", "there are isd-lite, isd,"},
               {"", "there are isd-lite"},
               {"--", "there are isd-lite"},
               {"midas", "in a browser, then put it into weather/"},
               {"NSRDB", "in a browser, then put it into weather/"},
               {"dwd", "produkt_"}};
    char why[500];
    (void)state;
    for (size_t i = 0; i < N_OF(good); i++)
        assert_string_equal(stv_fetch_service_find(good[i].typed, why, sizeof why)->name,
                            good[i].name);
    for (size_t i = 0; i < N_OF(bad); i++) {
        assert_null(stv_fetch_service_find(bad[i].typed, why, sizeof why));
        assert_non_null(strstr(why, bad[i].said));
    }
}

static void stations_are_written_as_the_service_does(void **state)
{
    static const struct {
        const char *service, *typed, *written;
    } good[] = {{"isd", " 723630-23047 ", "723630-23047"},
                {"isd", "72363023047", "723630-23047"},
                {"isd", "a00002-99999", "A00002-99999"},
                {"lcd", "usw00013958", "USW00013958"},
                {"ghcn-hourly", "UKU68-00010", "UKU68-00010"},
                {"uscrn", "az Tucson 11 W", "AZ_Tucson_11_W"},
                {"uscrn", "AK_St._Paul_4_NE", "AK_St._Paul_4_NE"},
                {"asos", "KACT", "ACT"},
                {"asos", "eddf", "EDDF"},
                {"open-meteo", "35.2 N, 101.7 W", "35.2000,-101.7000"}};
    static const struct {
        const char *service, *typed;
    } bad[] = {{"isd", "723630"},
               {"isd", "723630-2304"},
               {"isd", "723630/23047"},
               {"isd", "../../etc/passwd"},
               {"isd", ""},
               {"isd", "723630-2304x"},
               {"lcd", "72363023047"},
               {"lcd", "USW0001395"},
               {"lcd", "USW/0013958"},
               {"uscrn", "AZ_Tucson"},
               {"uscrn", "AZ_../x_11_W"},
               {"uscrn", "Tucson_11_W_A"},
               {"meteostat", "1063"},
               {"meteostat", "1063?"},
               {"asos", "A/C"},
               {"asos", "AC"},
               {"asos", "ACTXY"},
               {"asos", "A&b"},
               {"environment-canada", "2403497"},
               {"environment-canada", "12a"},
               {"open-meteo", "35.2"},
               {"open-meteo", "95,10"},
               {"open-meteo", "35,2,101,7"}};
    char out[STV_FETCH_STATION], why[500];
    (void)state;
    for (size_t i = 0; i < N_OF(good); i++) {
        stv_assert_ok(
            stv_fetch_station_read(stv_fetch_service_find(good[i].service, why, sizeof why),
                                   good[i].typed, out, why, sizeof why));
        assert_string_equal(out, good[i].written);
    }
    for (size_t i = 0; i < N_OF(bad); i++) {
        const struct stv_fetch_service *service =
            stv_fetch_service_find(bad[i].service, why, sizeof why);
        stv_assert_status(stv_fetch_station_read(service, bad[i].typed, out, why, sizeof why),
                          STV_E_USAGE);
        assert_string_equal(out, "");
        assert_non_null(strstr(why, service->station_words));
    }
}

static uint64_t next_chance(uint64_t *chance)
{
    *chance = *chance * 6364136223846793005u + 1442695040888963407u;
    return *chance >> 40;
}

/* Stations with some of their letters changed: refused, or a plain name of one file and an address
 * without a blank, a new part or another folder in it. */
static void nothing_typed_leaves_its_place(void **state)
{
    static const char letters[] = "aA0-_./,% &?#\\\"'\n\tN\xC3";
    uint64_t chance = 2385; /* a fixed beginning */
    size_t n_taken = 0, n_refused = 0;
    char why[500];
    (void)state;
    for (size_t i = 0; i < 24000; i++) {
        size_t row = i % N_OF(published), n = strlen(published[row].station);
        char typed[STV_FETCH_STATION];
        struct stv_fetch_wish wish = {.today_d = today(), .first_year = 2020, .last_year = 2020};
        snprintf(typed, sizeof typed, "%s", published[row].station);
        for (size_t k = 0; k <= i % 3; k++)
            typed[next_chance(&chance) % n] = letters[next_chance(&chance) % (sizeof letters - 1)];
        wish.service = stv_fetch_service_find(published[row].service, why, sizeof why);
        if (stv_fetch_station_read(wish.service, typed, wish.station, why, sizeof why) != STV_OK) {
            n_refused++;
            continue;
        }
        n_taken++;
        struct stv_fetch_file file = file_of(&wish, 0), model;
        struct stv_fetch_wish plain =
            wish_of(published[row].service, published[row].station, "2020");
        model = file_of(&plain, 0);
        assert_null(strpbrk(file.url + 8, " \n\t\"\\#%'"));
        assert_null(strstr(file.url, "/../"));
        for (const char *mark = "/?&="; *mark; mark++) {
            size_t n_here = 0, n_there = 0;
            for (const char *at = file.url; *at; at++)
                n_here += *at == *mark;
            for (const char *at = model.url; *at; at++)
                n_there += *at == *mark;
            assert_int_equal(n_here, n_there);
        }
    }
    assert_true(n_taken > 1000 && n_refused > 1000);
}

static void years_are_read_or_refused(void **state)
{
    static const struct {
        const char *typed, *said;
    } bad[] = {{"2024-2015", "run backwards"},
               {"2026-2027", "in the future"},
               {"2027", "in the future"},
               {"15-24", "not written"},
               {"2015-", "not written"},
               {"2015-2016-2017", "not written"},
               {"20155", "not written"},
               {"", "not written"},
               {"2015 2016", "not written"},
               {"1700", "more than there can be"},
               {"1800-2020", "more than there can be"}};
    int32_t first, last;
    char why[500];
    (void)state;
    stv_assert_ok(stv_fetch_years_read("2015-2026", today(), &first, &last, why, sizeof why));
    assert_int_equal(first, 2015);
    assert_int_equal(last, 2026);
    stv_assert_ok(stv_fetch_years_read("1987", today(), &first, &last, why, sizeof why));
    assert_int_equal(first, 1987);
    assert_int_equal(last, 1987);
    for (size_t i = 0; i < N_OF(bad); i++) {
        stv_assert_status(
            stv_fetch_years_read(bad[i].typed, today(), &first, &last, why, sizeof why),
            STV_E_USAGE);
        assert_non_null(strstr(why, bad[i].said));
    }
}

/* Every row of the table can be told and described. */
static void every_service_says_its_terms(void **state)
{
    size_t n;
    const struct stv_fetch_service *services = stv_fetch_services(&n);
    (void)state;
    assert_int_equal(n, 11);
    for (size_t i = 0; i < n; i++) {
        assert_true(services[i].what[0] && services[i].station_words[0]);
        assert_true(services[i].licence[0] && strlen(services[i].licence) <= LICENCE_MOST);
        assert_true(services[i].attribution[0]);
        assert_true(services[i].source[0] && strlen(services[i].source) <= SOURCE_MOST);
        assert_true(services[i].by_year || services[i].by_month || services[i].whole);
        assert_true(services[i].ending[0] == '.');
    }
}

static void names_of_addresses_are_plain(void **state)
{
    static const struct {
        const char *url, *name;
    } cases[] = {{"https://host/a/basin.csv", "basin.csv"},
                 {"https://host/a/basin%20two.csv", "basin_20two.csv"},
                 {"https://host/", "weather"},
                 {"https://host", "weather"},
                 {"https://host/a/../..", "weather"},
                 {"https://host/.profile", "profile"},
                 {"https://host/x.meta.yaml", "weather"},
                 {"https://host/a.epw#part", "a.epw"}};
    char name[STV_FETCH_NAME], other[STV_FETCH_NAME];
    (void)state;
    for (size_t i = 0; i < N_OF(cases); i++) {
        stv_fetch_name_of_url(cases[i].url, name);
        assert_string_equal(name, cases[i].name);
    }
    stv_fetch_name_of_url("https://host/get.py?station=A", name);
    stv_fetch_name_of_url("https://host/get.py?station=B", other);
    assert_string_not_equal(name, other);
    assert_int_equal(strlen(name), strlen("get-12345678.py"));
    assert_false(stv_fetch_is_plain_name("a/b"));
    assert_false(stv_fetch_is_plain_name(".."));
    assert_false(stv_fetch_is_plain_name(""));
    assert_false(stv_fetch_is_plain_name("x.meta.yaml"));
    assert_true(stv_fetch_is_plain_name("open-meteo-35.2000_-101.7000-2024.csv"));
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(addresses_are_those_published),
        cmocka_unit_test(lists_are_where_they_are_published),
        cmocka_unit_test(a_base_takes_the_place_of_the_host),
        cmocka_unit_test(years_and_months_are_cut_apart),
        cmocka_unit_test(the_running_year_ends_where_the_data_do),
        cmocka_unit_test(services_are_found_by_plain_words),
        cmocka_unit_test(stations_are_written_as_the_service_does),
        cmocka_unit_test(nothing_typed_leaves_its_place),
        cmocka_unit_test(years_are_read_or_refused),
        cmocka_unit_test(every_service_says_its_terms),
        cmocka_unit_test(names_of_addresses_are_plain),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
