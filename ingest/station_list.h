/* Lists of weather stations, and the ones nearest to a place. */
#ifndef STV_INGEST_STATION_LIST_H
#define STV_INGEST_STATION_LIST_H

#include "ingest/problem.h"
#include "model/status.h"
#include "model/sun.h"

#include <stddef.h>
#include <stdint.h>

enum stv_station_list_kind {
    STV_STATIONS_ISD,              /* isd-history.csv, ids as 723630-23047 */
    STV_STATIONS_ISD_AIRPORTS,     /* the same file, its airports as ACT or EDDF */
    STV_STATIONS_ISD_US,           /* the same file, its United States stations as USW00023047 */
    STV_STATIONS_GHCN_DAILY,       /* ghcnd-inventory.txt: those with highest and lowest */
    STV_STATIONS_GHCN_DAILY_NAMES, /* ghcnd-stations.txt: adds names and heights to the last */
    STV_STATIONS_GHCN_HOURLY,      /* ghcnh-station-list.csv; tells no years */
    STV_STATIONS_USCRN,            /* stations.tsv, ids as AZ_Tucson_11_W */
    STV_STATIONS_CANADA            /* Station Inventory EN.csv: those with hours */
};

#define STV_STATION_ID 48
#define STV_STATION_NAME 64

/* A day that the list does not tell. */
#define STV_DAY_BEFORE_ALL INT64_MIN
#define STV_DAY_AFTER_ALL INT64_MAX

struct stv_station {
    char id[STV_STATION_ID];
    char name[STV_STATION_NAME];
    struct stv_site_position site; /* elevation NaN: not told */
    int64_t first_day_d, last_day_d;
    unsigned elements; /* bits of what it measures, while a list is read */
};

/* Start with all members zero. */
struct stv_station_list {
    struct stv_station *stations; /* in order of id, each once */
    size_t n, capacity;
    size_t n_rows; /* of the lists read so far, headers apart */
    size_t n_without_place, n_faulty;
};

/* Reads a list; adds to what is there.
 *
 * path      of the file
 * file      how messages name it
 * problems  faulty rows, as STV_SET_ASIDE; why the file was refused, as STV_REFUSED
 * Rows without a position, or without what the kind asks for, are left out.
 * A station that stands there several times spans all its times; a day's station only those in
 * which both highest and lowest were measured.
 *
 * Errors:  STV_E_IO, STV_E_PARSE (no such list), STV_E_MEMORY
 * Memory:  caller frees with stv_station_list_free, whatever the status */
STV_MUST_CHECK enum stv_status stv_station_list_read(enum stv_station_list_kind kind,
                                                     const char *path, const char *file,
                                                     struct stv_problems *problems,
                                                     struct stv_station_list *list);

/* Empties it; accepts NULL. */
void stv_station_list_free(struct stv_station_list *list);

/* The station of an id; NULL when there is none. */
const struct stv_station *stv_station_find(const struct stv_station_list *list, const char *id);

/* Where, and for which days. */
struct stv_station_wish {
    double latitude_deg, longitude_deg;
    int64_t first_day_d, last_day_d; /* both included */
};

struct stv_station_near {
    const struct stv_station *station; /* in the list */
    double distance_km;
    double coverage_frac; /* share of the days between its first and its last; NaN: not told */
    double counted_km;    /* what it is ranked by */
};

/* The best stations first.
 *
 * The rule: distance and 10 km more, divided by the share of the wanted days that lie between the
 * station's first and its last.  Half the days count like twice the way; inside a few kilometres
 * the days decide.  Without a single wanted day a station is left out; where the list tells no
 * years the share is taken as one.  The rule is our judgement; heights do not count in it.
 *
 * out    out_n rows, at most `most`; of equals by id
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_stations_nearest(const struct stv_station_list *list,
                                                    const struct stv_station_wish *wish,
                                                    struct stv_station_near *out, size_t most,
                                                    size_t *out_n);

/* The rule in words, for the answer. */
const char *stv_stations_rule(void);

/* Great-circle distance on a sphere of the earth's mean radius; 0.6 % from that on the ellipsoid at
 * worst. */
double stv_great_circle_km(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                           double longitude2_deg);

#endif
