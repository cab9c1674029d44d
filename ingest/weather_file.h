/* Weather as a service wrote it, described by a NAME.meta.yaml or by the book. */
#ifndef STV_INGEST_WEATHER_FILE_H
#define STV_INGEST_WEATHER_FILE_H

#include "ingest/clock.h"
#include "ingest/problem.h"
#include "model/status.h"
#include "model/weather.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_META_COLUMNS_MAX 32
#define STV_META_STATIONS_MAX 64
#define STV_NAME_MAX 64

struct stv_meta_column {
    char name[STV_NAME_MAX]; /* header of the file */
    enum stv_weather_quantity quantity;
    char unit[16];
    bool is_sea_level; /* pressure, reduced to sea level: brought back when read */
};
struct stv_meta_station {
    char name[STV_NAME_MAX];
    struct stv_site_position site;
    bool has_site;
    char clock[64]; /* "" = the file's */
};

/* What a meta file, a book's `weather:` entry or the command line says; NaN and "" = not said. */
struct stv_weather_meta {
    char source[256], licence[128];
    bool is_invented, is_typical;
    int step_s; /* 3600 or 86400; 0 = from the stamps */
    char clock[64];
    char stamp[16]; /* "start", "end" or "instant" of the step */
    char time_column[STV_NAME_MAX];
    char station_column[STV_NAME_MAX];
    struct stv_meta_column columns[STV_META_COLUMNS_MAX];
    size_t n_columns;
    struct stv_meta_station stations[STV_META_STATIONS_MAX];
    size_t n_stations;
    struct stv_site_position site;
    bool has_site;
    /* Found while reading, never said by a person: */
    const char *format;  /* what the file is: "EPW"; static text */
    char how[320];       /* how it was read, in words: clock, stamps, position, counts */
};

struct stv_weather_source {
    char path[512];
    char station[STV_NAME_MAX];
    struct stv_weather_meta meta; /* what the caller says itself; wins over the file beside it */
    struct stv_site_position fallback_site; /* the house's, used when nobody says the station's */
    bool has_fallback_site;
    char fallback_clock[64];                /* likewise; "" when there is none */
};

/* Reads PATH; PATH's NAME.meta.yaml (weather.csv -> weather.meta.yaml) is read when it is there.
 * Site and clock are the caller's, else the station's, else the file's, else the fallback.
 * out_meta may be NULL; it receives the merged description.
 * Errors: STV_E_USAGE several stations and none chosen, or an unknown one: `problems` lists the
 * names; STV_E_IO; STV_E_PARSE nothing can be trusted; STV_E_NO_DATA no usable row.
 * Rows set aside are in `problems` (STV_SET_ASIDE). */
STV_MUST_CHECK enum stv_status stv_weather_file_read(const struct stv_weather_source *source,
                                                     struct stv_problems *problems,
                                                     struct stv_weather_record *out,
                                                     struct stv_weather_meta *out_meta);
#endif
