/* Stations in order of id, and the best of them for a place and its years.  What this does not do:
 * weigh heights, coasts or hills; the answer shows the height, and a person decides. */
#include "ingest/station_list.h"

#include "ingest/station_parts.h"

#include <math.h>
#include <stdlib.h>
#include <string.h>

/* Mean radius of the earth, 2 a / 3 + c / 3 of GRS 80.
 * Source: H. Moritz, J. Geodesy 74 (2000) 128 (from memory). */
#define EARTH_RADIUS_KM 6371.0088
#define RAD_PER_DEG (3.14159265358979323846 / 180.0)
#define OFFSET_KM 10.0 /* of the rule */
#define FIRST_CAPACITY 1024

bool stv__station_add(struct stv_station_list *list, const struct stv_station *station)
{
    if (list->n == list->capacity) {
        size_t capacity = list->capacity ? 2 * list->capacity : FIRST_CAPACITY;
        struct stv_station *longer = realloc(list->stations, capacity * sizeof *longer);
        if (!longer)
            return false;
        list->stations = longer;
        list->capacity = capacity;
    }
    list->stations[list->n++] = *station;
    return true;
}

void stv_station_list_free(struct stv_station_list *list)
{
    if (!list)
        return;
    free(list->stations);
    *list = (struct stv_station_list){0};
}

/* By id; of one id the latest last, whose place and name count. */
static int by_id(const void *a, const void *b)
{
    const struct stv_station *one = a, *other = b;
    int order = strcmp(one->id, other->id);
    if (order == 0)
        order = (one->last_day_d > other->last_day_d) - (one->last_day_d < other->last_day_d);
    if (order == 0)
        order = (one->first_day_d > other->first_day_d) - (one->first_day_d < other->first_day_d);
    return order;
}

static int64_t least_day(int64_t a_d, int64_t b_d)
{
    return a_d < b_d ? a_d : b_d;
}

static int64_t most_day(int64_t a_d, int64_t b_d)
{
    return a_d > b_d ? a_d : b_d;
}

/* Times of one element, put together. */
static void lengthen(int64_t span_d[2], const struct stv_station *by)
{
    span_d[0] = least_day(span_d[0], by->first_day_d);
    span_d[1] = most_day(span_d[1], by->last_day_d);
}

/* n stations of one id as one; false when none of it can be used. */
static bool fold(const struct stv_station *same, size_t n, bool needs_both, struct stv_station *out)
{
    /* span of all, of the highest, of the lowest; empty to begin with */
    int64_t span_d[3][2] = {{INT64_MAX, INT64_MIN}, {INT64_MAX, INT64_MIN}, {INT64_MAX, INT64_MIN}};
    unsigned elements = 0;
    for (size_t i = 0; i < n; i++) {
        elements |= same[i].elements;
        lengthen(span_d[0], &same[i]);
        if (same[i].elements & STV__MEASURES_HIGHEST)
            lengthen(span_d[1], &same[i]);
        if (same[i].elements & STV__MEASURES_LOWEST)
            lengthen(span_d[2], &same[i]);
    }
    struct stv_station folded = same[n - 1];
    folded.elements = elements;
    folded.first_day_d = needs_both ? most_day(span_d[1][0], span_d[2][0]) : span_d[0][0];
    folded.last_day_d = needs_both ? least_day(span_d[1][1], span_d[2][1]) : span_d[0][1];
    *out = folded;
    return folded.first_day_d <= folded.last_day_d;
}

void stv__stations_fold(struct stv_station_list *list, bool needs_both)
{
    size_t n_kept = 0;
    if (list->n == 0)
        return;
    qsort(list->stations, list->n, sizeof *list->stations, by_id);
    for (size_t i = 0, end; i < list->n; i = end) {
        end = i + 1;
        while (end < list->n && strcmp(list->stations[i].id, list->stations[end].id) == 0)
            end++;
        n_kept += fold(&list->stations[i], end - i, needs_both, &list->stations[n_kept]);
    }
    list->n = n_kept;
}

static int id_order(const void *id, const void *station)
{
    return strcmp(id, ((const struct stv_station *)station)->id);
}

const struct stv_station *stv_station_find(const struct stv_station_list *list, const char *id)
{
    return list->n ? bsearch(id, list->stations, list->n, sizeof *list->stations, id_order) : NULL;
}

double stv_great_circle_km(double latitude1_deg, double longitude1_deg, double latitude2_deg,
                           double longitude2_deg)
{
    /* The haversine form keeps its digits for places close together. */
    double south_nd = sin((latitude2_deg - latitude1_deg) * RAD_PER_DEG / 2.0);
    double east_nd = sin((longitude2_deg - longitude1_deg) * RAD_PER_DEG / 2.0);
    double h_nd = south_nd * south_nd + cos(latitude1_deg * RAD_PER_DEG) *
                                            cos(latitude2_deg * RAD_PER_DEG) * east_nd * east_nd;
    return 2.0 * EARTH_RADIUS_KM * asin(fmin(1.0, sqrt(h_nd)));
}

static double coverage_frac(const struct stv_station *station, const struct stv_station_wish *wish)
{
    if (station->first_day_d == STV_DAY_BEFORE_ALL && station->last_day_d == STV_DAY_AFTER_ALL)
        return (double)NAN;
    int64_t first_d = most_day(station->first_day_d, wish->first_day_d);
    int64_t last_d = least_day(station->last_day_d, wish->last_day_d);
    if (last_d < first_d)
        return 0.0;
    return (double)(last_d - first_d + 1) / (double)(wish->last_day_d - wish->first_day_d + 1);
}

static int by_count(const void *a, const void *b)
{
    const struct stv_station_near *one = a, *other = b;
    int order = (one->counted_km > other->counted_km) - (one->counted_km < other->counted_km);
    return order ? order : strcmp(one->station->id, other->station->id);
}

enum stv_status stv_stations_nearest(const struct stv_station_list *list,
                                     const struct stv_station_wish *wish,
                                     struct stv_station_near *out, size_t most, size_t *out_n)
{
    struct stv_station_near *all = malloc((list->n + 1) * sizeof *all);
    size_t n = 0;
    *out_n = 0;
    if (!all)
        return STV_E_MEMORY;
    for (size_t i = 0; i < list->n; i++) {
        const struct stv_station *station = &list->stations[i];
        struct stv_station_near near = {.station = station};
        near.coverage_frac = coverage_frac(station, wish);
        if (near.coverage_frac == 0.0)
            continue;
        near.distance_km =
            stv_great_circle_km(wish->latitude_deg, wish->longitude_deg, station->site.latitude_deg,
                                station->site.longitude_deg);
        double share_frac = isnan(near.coverage_frac) ? 1.0 : near.coverage_frac;
        near.counted_km = (near.distance_km + OFFSET_KM) / share_frac;
        all[n++] = near;
    }
    qsort(all, n, sizeof *all, by_count);
    *out_n = n < most ? n : most;
    memcpy(out, all, *out_n * sizeof *out);
    free(all);
    return STV_OK;
}

const char *stv_stations_rule(void)
{
    return "distance and 10 km more, divided by the share of the wanted days that lie between the "
           "station's first day and its last";
}
