/* The services, as a table: addresses, names and terms.  Addresses change; --base and --url are
 * the way around one that did.
 * Source: the addresses of ISD-Lite, raw ISD, GHCN-Daily, GHCN-Hourly, LCD v2, USCRN, Meteostat,
 * Open-Meteo, the Iowa Environmental Mesonet and Environment Canada as their documents and programs
 * that fetch from them write them; file names of ISD-Lite and Global Hourly from memory.  Terms are
 * those of the services' own pages, from memory where they say so. */
#include "ingest/fetch_service.h"

#define NOAA "https://www.ncei.noaa.gov"
#define NOAA_TERMS \
    "US government work, public domain; other countries' data by WMO Resolution 40 (from memory)"
#define NOAA_CREDIT "NOAA National Centers for Environmental Information"
#define ISD_HISTORY NOAA "/pub/data/noaa/isd-history.csv"
#define GHCN_DAILY NOAA "/pub/data/ghcn/daily"
#define GHCN_HOURLY NOAA "/oa/global-historical-climatology-network/hourly"
#define USCRN NOAA "/pub/data/uscrn/products"
#define USAF_WBAN_WORDS "USAF-WBAN, as 723630-23047; WBAN 99999 when there is none"
#define GHCN_WORDS "its 11 letters, as USW00023047"

const struct stv_fetch_service stv__fetch_services[] = {
    {.name = "isd-lite",
     .also = "noaa isd lite|integrated surface lite",
     .what = "hourly reports of airports and weather offices of the world, checked and short",
     .station_words = USAF_WBAN_WORDS,
     .source = "NOAA ISD-Lite",
     .licence = NOAA_TERMS,
     .attribution = NOAA_CREDIT,
     .by_year = NOAA "/pub/data/noaa/isd-lite/{year}/{station}-{year}.gz",
     .ending = ".gz",
     .form = STV_FORM_USAF_WBAN,
     .lists = {{STV_STATIONS_ISD, ISD_HISTORY}},
     .lacks_position = true},
    {.name = "isd",
     .also = "noaa isd|integrated surface database",
     .what = "the same stations, every report in full",
     .station_words = USAF_WBAN_WORDS,
     .source = "NOAA Integrated Surface Database",
     .licence = NOAA_TERMS,
     .attribution = NOAA_CREDIT,
     .by_year = NOAA "/pub/data/noaa/{year}/{station}-{year}.gz",
     .ending = ".gz",
     .form = STV_FORM_USAF_WBAN,
     .lists = {{STV_STATIONS_ISD, ISD_HISTORY}}},
    {.name = "global-hourly",
     .also = "noaa global hourly",
     .what = "the same stations and reports as a table",
     .station_words = USAF_WBAN_WORDS,
     .source = "NOAA Global Hourly",
     .licence = NOAA_TERMS,
     .attribution = NOAA_CREDIT,
     .by_year = NOAA "/data/global-hourly/access/{year}/{usaf}{wban}.csv",
     .ending = ".csv",
     .form = STV_FORM_USAF_WBAN,
     .lists = {{STV_STATIONS_ISD, ISD_HISTORY}}},
    {.name = "ghcn-daily",
     .also = "ghcnd|noaa ghcn daily|ghcn",
     .what = "highest and lowest of each day, stations of the world, long records",
     .station_words = GHCN_WORDS,
     .source = "NOAA GHCN-Daily",
     .licence = NOAA_TERMS,
     .attribution = NOAA_CREDIT,
     .whole = NOAA "/data/global-historical-climatology-network-daily/access/{station}.csv",
     .ending = ".csv",
     .form = STV_FORM_GHCN,
     .lists = {{STV_STATIONS_GHCN_DAILY, GHCN_DAILY "/ghcnd-inventory.txt"},
               {STV_STATIONS_GHCN_DAILY_NAMES, GHCN_DAILY "/ghcnd-stations.txt"}}},
    {.name = "ghcn-hourly",
     .also = "ghcnh|noaa ghcn hourly",
     .what = "hourly reports of the world, what follows ISD; the whole record without --years",
     .station_words = GHCN_WORDS,
     .source = "NOAA GHCN-Hourly",
     .licence = NOAA_TERMS,
     .attribution = NOAA_CREDIT,
     .by_year = GHCN_HOURLY "/access/by-year/{year}/psv/GHCNh_{station}_{year}.psv",
     .whole = GHCN_HOURLY "/access/by-station/GHCNh_{station}_por.psv",
     .ending = ".psv",
     .form = STV_FORM_GHCN,
     .lists = {{STV_STATIONS_GHCN_HOURLY, GHCN_HOURLY "/doc/ghcnh-station-list.csv"}}},
    {.name = "lcd",
     .also = "local climatological data|noaa lcd",
     .what = "hourly reports of stations of the United States, with daily sums",
     .station_words = GHCN_WORDS,
     .source = "NOAA Local Climatological Data",
     .licence = NOAA_TERMS,
     .attribution = NOAA_CREDIT,
     .by_year = NOAA "/oa/local-climatological-data/v2/access/{year}/LCD_{station}_{year}.csv",
     .ending = ".csv",
     .form = STV_FORM_GHCN,
     .lists = {{STV_STATIONS_ISD_US, ISD_HISTORY}}},
    {.name = "uscrn",
     .also = "climate reference network|crn|noaa uscrn",
     .what = "the reference network of the United States: hours, humidity and sun, well kept",
     .station_words = "state and name, as AZ_Tucson_11_W",
     .source = "NOAA US Climate Reference Network",
     .licence = "US government work, public domain (from memory)",
     .attribution = NOAA_CREDIT,
     .by_year = USCRN "/hourly02/{year}/CRNH0203-{year}-{station}.txt",
     .ending = ".txt",
     .form = STV_FORM_USCRN,
     .lists = {{STV_STATIONS_USCRN, USCRN "/stations.tsv"}}},
    {.name = "meteostat",
     .also = "meteo stat",
     .what = "hours of stations of the world from many offices, holes filled from models",
     .station_words = "its five letters, often the WMO number, as 10637",
     .source = "Meteostat",
     .licence = "CC BY-NC 4.0 (as of June 2025): not for commercial use; look at its terms",
     .attribution = "Source: Meteostat",
     .by_year = "https://data.meteostat.net/hourly/{year}/{station}.csv.gz",
     .ending = ".csv.gz",
     .form = STV_FORM_METEOSTAT,
     .lacks_position = true},
    {.name = "open-meteo",
     .also = "open meteo archive|era5",
     .what = "hours of any place on earth from a reanalysis, with sun: no station, peaks flattened",
     .station_words = "the place, --near LAT,LON",
     .source = "Open-Meteo archive, a reanalysis grid",
     .licence =
         "CC BY 4.0; the free host is for non-commercial use (from memory): look at its terms",
     .attribution = "Weather data by Open-Meteo.com, from ERA5 of the Copernicus service",
     .by_year = "https://archive-api.open-meteo.com/v1/archive?latitude={latitude}"
                "&longitude={longitude}&start_date={year}-01-01&end_date={last_day}"
                "&hourly=temperature_2m,relative_humidity_2m,dew_point_2m,surface_pressure,"
                "wind_speed_10m,shortwave_radiation,direct_normal_irradiance,diffuse_radiation,"
                "cloud_cover&timezone=GMT&format=csv",
     .ending = ".csv",
     .form = STV_FORM_PLACE,
     .delay_d = 6},
    {.name = "asos",
     .also = "iowa mesonet|iem|iowa environmental mesonet|metar",
     .what = "airport reports of the world as the Iowa Environmental Mesonet keeps them",
     .station_words = "three or four letters, without the K of the United States, as ACT or EDDF",
     .source = "Iowa Environmental Mesonet, airport reports",
     .licence = "free to use (from memory)",
     .attribution = "Iowa Environmental Mesonet, Iowa State University",
     .by_year = "https://mesonet.agron.iastate.edu/cgi-bin/request/asos.py?station={station}"
                "&data=tmpf&data=dwpf&data=relh&data=sknt&sts={year}-01-01T00:00:00Z"
                "&ets={next_year}-01-01T00:00:00Z&tz=UTC&format=onlycomma&latlon=yes"
                "&missing=empty&trace=0.0001&report_type=3",
     .ending = ".csv",
     .form = STV_FORM_AIRPORT,
     .lists = {{STV_STATIONS_ISD_AIRPORTS, ISD_HISTORY}},
     .pause_ms = 1000},
    {.name = "environment-canada",
     .also = "eccc|canada|climate canada|environment and climate change canada",
     .what = "hours of stations of Canada, a file a month",
     .station_words = "the Station ID of its inventory, as 51442; not the Climate ID",
     .source = "Environment and Climate Change Canada",
     .licence = "Environment and Climate Change Canada data licence: free; pass the same terms on",
     .attribution = "Based on Environment and Climate Change Canada data",
     .by_month = "https://climate.weather.gc.ca/climate_data/bulk_data_e.html?format=csv"
                 "&stationID={station}&Year={year}&Month={month}&Day=1&timeframe=1"
                 "&submit=Download+Data",
     .ending = ".csv",
     .form = STV_FORM_CANADA,
     .lists = {{STV_STATIONS_CANADA,
                "https://collaboration.cmc.ec.gc.ca/cmc/climate/Get_More_Data_Plus_de_donnees/"
                "Station%20Inventory%20EN.csv"}},
     .pause_ms = 1000},
};
const size_t stv__fetch_n_services = sizeof stv__fetch_services / sizeof stv__fetch_services[0];

const struct stv_fetch_by_hand stv__fetch_by_hand[] = {
    {"midas", "MIDAS Open wants an account: download it in a browser, then put it into weather/"},
    {"nsrdb", "NSRDB wants a key: download it in a browser, then put it into weather/"},
    {"dwd", "DWD packs its files with zip: download one in a browser, unpack the produkt_ file in "
            "it, then put that into weather/"},
    {"epw", "EPW and TMY3 years lie on many servers: download one in a browser and put it into "
            "weather/, or give its address with --url"},
    {"tmy3", "EPW and TMY3 years lie on many servers: download one in a browser and put it into "
             "weather/, or give its address with --url"},
    {"pvgis", "PVGIS makes its files when asked: download one in a browser, then put it into "
              "weather/"},
};
const size_t stv__fetch_n_by_hand = sizeof stv__fetch_by_hand / sizeof stv__fetch_by_hand[0];
