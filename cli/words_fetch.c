/* The licence is told each time, also when nothing new came: it goes with the data, not with the
 * download. */
#include "cli/words_fetch.h"

#include "cli/format.h"
#include "cli/prose.h"
#include "model/calendar.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <string.h>

#define ID_COLUMNS 15
#define NAME_COLUMNS 24

static struct stv_formatted place_text(double latitude_deg, double longitude_deg)
{
    return stv_format("%.2f %c, %.2f %c", fabs(latitude_deg), latitude_deg < 0.0 ? 'S' : 'N',
                      fabs(longitude_deg), longitude_deg < 0.0 ? 'W' : 'E');
}

static struct stv_formatted years_text(const struct stv_fetch_wish *wish)
{
    if (wish->first_year == wish->last_year)
        return stv_format("%d", wish->first_year);
    return stv_format("%d-%d", wish->first_year, wish->last_year);
}

/* "1945-2025", with a question mark for an end that the list does not tell. */
static struct stv_formatted span_text(const struct stv_station *station)
{
    char first[16] = "?", last[16] = "?";
    if (station->first_day_d != STV_DAY_BEFORE_ALL)
        snprintf(first, sizeof first, "%d", stv_date_from_day(station->first_day_d).year);
    if (station->last_day_d != STV_DAY_AFTER_ALL)
        snprintf(last, sizeof last, "%d", stv_date_from_day(station->last_day_d).year);
    return stv_format("%s-%s", first, last);
}

static void add_station(struct stv_text *text, const struct stv_station_near *near)
{
    const struct stv_station *station = near->station;
    double coverage_pct = floor(100.0 * near->coverage_frac); /* 100 only when all are there */
    stv_prose_add(text, "  ");
    stv_prose_cell(text, station->id, ID_COLUMNS);
    stv_prose_add(text, " ");
    stv_prose_cell(text, station->name[0] ? station->name : "-", NAME_COLUMNS);
    stv_prose_add(text, " %6s %6s  %-9s %4s\n", stv_format_number(near->distance_km, 0).text,
                  stv_format_number(station->site.elevation_m, 0).text, span_text(station).text,
                  stv_format_number(coverage_pct, 0).text);
}

void stv_words_stations(struct stv_text *text, const struct stv_fetch_answer *answer)
{
    const struct stv_fetch_request *request = answer->request;
    stv_prose_wrap(text, 0, "Stations of %s near %s, for %s:", request->wish.service->name,
                   place_text(request->latitude_deg, request->longitude_deg).text,
                   years_text(&request->wish).text);
    stv_prose_heading(text, "  %-*s %-*s %6s %6s  %-9s %4s", ID_COLUMNS, "station", NAME_COLUMNS,
                      "name", "km", "m high", "years", "%");
    for (size_t i = 0; i < answer->n_near; i++)
        add_station(text, &answer->near[i]);
    stv_prose_wrap(text, 0,
                   "In order of %s (%% in the table; - where the list tells no years, which counts "
                   "as all). Heights do not count: look at them. Taken: the first, %s; --station "
                   "takes another.",
                   stv_stations_rule(), answer->near[0].station->id);
    if (answer->n_faulty)
        stv_prose_wrap(text, 0, "%s of the list could not be read and %s left out.",
                       stv_format_count(answer->n_faulty, "row", "rows").text,
                       answer->n_faulty == 1 ? "is" : "are");
    stv_prose_add(text, "\n");
}

/* ---- files ------------------------------------------------------------------------------------
 */

static const char *end_text(const struct stv_fetch_result *result)
{
    switch (result->end) {
    case STV_FETCH_NOT_TRIED:
        return "not tried";
    case STV_FETCH_MISSING:
        return "the service has no such file";
    case STV_FETCH_FAILED:
        return "failed";
    case STV_FETCH_REFUSED:
        return "refused";
    case STV_FETCH_KEPT:
        break;
    }
    switch (result->kept.outcome) {
    case STV_KEPT_NEW:
        return "new";
    case STV_KEPT_SAME:
        return "there already, the same";
    case STV_KEPT_UPDATED:
        return "newer bytes, the earlier ones replaced";
    }
    return "";
}

static struct stv_formatted size_text(uint64_t n_bytes)
{
    double n = (double)n_bytes;
    if (n_bytes < 1000)
        return stv_format("%.0f B", n);
    return n_bytes < 1000000 ? stv_format("%.0f kB", n / 1e3) : stv_format("%.1f MB", n / 1e6);
}

static void add_files(struct stv_text *text, const struct stv_fetch_answer *answer)
{
    const struct stv_fetch_wish *wish = &answer->request->wish;
    if (answer->request->url)
        stv_prose_wrap(text, 0, "In %s:", answer->folder.path);
    else
        stv_prose_wrap(text, 0, "%s%s%s, %zu of %s in %s:", wish->station,
                       answer->station && answer->station->name[0] ? ", " : "",
                       answer->station ? answer->station->name : "", answer->n_kept,
                       stv_format_count(answer->n, "file", "files").text, answer->folder.path);
    for (size_t i = 0; i < answer->n; i++) {
        const struct stv_fetch_result *result = &answer->results[i];
        bool is_kept = result->end == STV_FETCH_KEPT;
        stv_prose_add(text, "  %s  %s%s%s\n", result->file.name,
                      is_kept ? size_text(result->fetched.n_bytes).text : "", is_kept ? ", " : "",
                      end_text(result));
    }
}

static void add_terms(struct stv_text *text, const struct stv_fetch_answer *answer)
{
    const struct stv_fetch_service *service = answer->request->wish.service;
    size_t n_by_other = 0;
    for (size_t i = 0; i < answer->n; i++)
        n_by_other += answer->results[i].end == STV_FETCH_KEPT &&
                      answer->results[i].kept.description == STV_DESCRIBED_BY_OTHER;
    if (service)
        stv_prose_wrap(text, 0, "Licence: %s. To be credited: %s.", service->licence,
                       service->attribution);
    else
        stv_prose_wrap(text, 0,
                       "Licence: not known here. Look where the file came from, then write it into "
                       "the description: licence, attribution.");
    stv_prose_wrap(text, 0,
                   n_by_other ? "A description that you wrote was left as it is; origin and check "
                                "sum do not stand in it."
                              : "Origin, terms and check sum stand in the NAME.meta.yaml beside "
                                "each file.");
    if (service && service->lacks_position &&
        !(answer->station && isfinite(answer->station->site.elevation_m)))
        stv_prose_wrap(text, 0,
                       "The files do not say where the station lies, and no list at hand does: "
                       "write position: {latitude: .., longitude: .., elevation: .. m} into the "
                       "descriptions, else the house's own place is taken.");
}

struct path_text {
    char text[2 * STV_FETCH_PATH];
};

/* folder, or folder/name. */
static struct path_text path_of(const char *folder, const char *name)
{
    struct path_text path;
    snprintf(path.text, sizeof path.text, "%s%s%s", folder, name ? "/" : "", name ? name : "");
    return path;
}

/* A path as YAML takes it: in single quotes, those inside doubled, when it is not all plain. */
static struct path_text quoted(const char *folder, const char *name)
{
    const struct path_text path = path_of(folder, name);
    struct path_text out = path;
    bool is_plain = true;
    for (const char *at = path.text; *at; at++)
        is_plain = is_plain && (isalnum((unsigned char)*at) || strchr("/._-", *at));
    if (is_plain)
        return out;
    size_t n = 0;
    out.text[n++] = '\'';
    for (const char *at = path.text; *at && n + 4 < sizeof out.text; at++) {
        if (*at == '\'')
            out.text[n++] = '\'';
        out.text[n++] = *at;
    }
    out.text[n++] = '\'';
    out.text[n] = '\0';
    return out;
}

static const struct stv_fetch_result *first_kept(const struct stv_fetch_answer *answer)
{
    for (size_t i = 0; i < answer->n; i++)
        if (answer->results[i].end == STV_FETCH_KEPT)
            return &answer->results[i];
    return NULL;
}

static void add_book_line(struct stv_text *text, const struct stv_fetch_answer *answer)
{
    const struct stv_fetch_result *first = first_kept(answer);
    if (!first || answer->n_unread > 0)
        return;
    stv_prose_add(text, "\nIn book.yaml:\n  weather: {file: %s}\n",
                  quoted(answer->folder.named, first->file.name).text);
    if (answer->n_kept > 1)
        stv_prose_wrap(text, 0,
                       "That is the first file alone. All of them are one record when the line "
                       "names their folder, %s, and it holds nothing else; --out FOLDER gives them "
                       "one of their own.",
                       quoted(answer->folder.named, NULL).text);
}

void stv_words_fetch(struct stv_text *text, const struct stv_fetch_answer *answer)
{
    if (answer->n_near)
        stv_words_stations(text, answer);
    add_files(text, answer);
    add_terms(text, answer);
    add_book_line(text, answer);
}

/* ---- JSON -------------------------------------------------------------------------------------
 */

static json_t *station_object(const struct stv_station *station)
{
    json_t *object = json_object();
    stv_json_set(object, "station", stv_json_text(station->id));
    stv_json_set(object, "name", stv_json_text(station->name));
    stv_json_set(object, "latitude_deg", stv_json_number(station->site.latitude_deg));
    stv_json_set(object, "longitude_deg", stv_json_number(station->site.longitude_deg));
    stv_json_set(object, "elevation_m", stv_json_number(station->site.elevation_m));
    stv_json_set(object, "first_day",
                 station->first_day_d == STV_DAY_BEFORE_ALL ? json_null()
                                                            : stv_json_day(station->first_day_d));
    stv_json_set(object, "last_day",
                 station->last_day_d == STV_DAY_AFTER_ALL ? json_null()
                                                          : stv_json_day(station->last_day_d));
    return object;
}

static json_t *near_array(const struct stv_fetch_answer *answer)
{
    json_t *array = json_array();
    for (size_t i = 0; i < answer->n_near; i++) {
        json_t *object = station_object(answer->near[i].station);
        stv_json_set(object, "distance_km", stv_json_number(answer->near[i].distance_km));
        stv_json_set(object, "coverage_pct",
                     stv_json_number(100.0 * answer->near[i].coverage_frac));
        stv_json_set(object, "counted_km", stv_json_number(answer->near[i].counted_km));
        stv_json_append(array, object);
    }
    return array;
}

static json_t *file_object(const struct stv_fetch_result *result)
{
    bool is_kept = result->end == STV_FETCH_KEPT;
    json_t *object = json_object();
    stv_json_set(object, "time", stv_json_text(result->file.label));
    stv_json_set(object, "url", stv_json_text(result->file.url));
    stv_json_set(object, "name", stv_json_text(result->file.name));
    stv_json_set(object, "what_was_done", stv_json_text(end_text(result)));
    stv_json_set(object, "is_there", json_boolean(is_kept));
    stv_json_set(object, "why", stv_json_text(is_kept ? "" : result->why));
    stv_json_set(object, "path", stv_json_text(is_kept ? result->kept.path : ""));
    stv_json_set(object, "sha256", stv_json_text(is_kept ? result->fetched.sha256 : ""));
    stv_json_set(object, "bytes",
                 is_kept ? json_integer((json_int_t)result->fetched.n_bytes) : json_null());
    stv_json_set(object, "fetched", stv_json_text(is_kept ? result->fetched.fetched_at : ""));
    stv_json_set(object, "reads_as", is_kept ? stv_json_text(result->reads_as) : json_null());
    stv_json_set(object, "unread_because", is_kept ? stv_json_text(result->unread) : json_null());
    stv_json_set(object, "was_in_cache",
                 is_kept ? json_boolean(result->fetched.was_in_cache) : json_null());
    return object;
}

void stv_json_fetch(json_t *document, const struct stv_fetch_answer *answer)
{
    const struct stv_fetch_service *service = answer->request->wish.service;
    const struct stv_fetch_result *first = first_kept(answer);
    json_t *files = json_array();
    for (size_t i = 0; i < answer->n; i++)
        stv_json_append(files, file_object(&answer->results[i]));
    stv_json_set(document, "service", stv_json_text(service ? service->name : ""));
    stv_json_set(document, "licence", stv_json_text(service ? service->licence : ""));
    stv_json_set(document, "attribution", stv_json_text(service ? service->attribution : ""));
    stv_json_set(document, "station", stv_json_text(answer->request->wish.station));
    stv_json_set(document, "station_known",
                 answer->station ? station_object(answer->station) : json_null());
    stv_json_set(document, "stations", near_array(answer));
    stv_json_set(document, "order", stv_json_text(answer->n_near ? stv_stations_rule() : ""));
    stv_json_set(document, "list_rows_left_out", json_integer((json_int_t)answer->n_faulty));
    stv_json_set(document, "folder", stv_json_text(answer->folder.path));
    stv_json_set(document, "files", files);
    stv_json_set(document, "weather_file",
                 first ? stv_json_text(path_of(answer->folder.named, first->file.name).text)
                       : json_null());
}

/* ---- services ---------------------------------------------------------------------------------
 */

void stv_words_services(struct stv_text *text)
{
    size_t n, n_by_hand;
    const struct stv_fetch_service *services = stv_fetch_services(&n);
    const struct stv_fetch_by_hand *by_hand = stv_fetch_by_hand_table(&n_by_hand);
    for (size_t i = 0; i < n; i++) {
        const struct stv_fetch_service *service = &services[i];
        stv_prose_heading(text, "%s", service->name);
        stv_prose_wrap(text, 2, "%s.", service->what);
        stv_prose_wrap(text, 2, "station: %s%s", service->station_words,
                       service->lists[0].url || service->form == STV_FORM_PLACE
                           ? ""
                           : "; --near does not find it");
        stv_prose_wrap(text, 2, "licence: %s", service->licence);
    }
    stv_prose_add(text, "\n");
    stv_prose_heading(text, "not to be fetched from here");
    for (size_t i = 0; i < n_by_hand; i++)
        if (i == 0 || strcmp(by_hand[i].advice, by_hand[i - 1].advice) != 0)
            stv_prose_wrap(text, 2, "%s.", by_hand[i].advice);
}
