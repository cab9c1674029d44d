/* One file after the other: services ask for that, and a failure is then told before the next. */
#include "cli/fetch_run.h"

#include "cli/messages.h"
#include "ingest/weather_folder.h"
#include "ingest/weather_meta.h"
#include "model/calendar.h"

#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <time.h>

#define MS_PER_S 1000
#define NS_PER_MS 1000000L

/* The service answered, and has no such file.  The status stands in the words of stv_fetch. */
static bool is_missing(enum stv_status status, const char *why)
{
    return status == STV_E_NETWORK && (strstr(why, "status 404") || strstr(why, "status 410"));
}

static void complete(char *why, size_t size, const char *what, const char *reason)
{
    snprintf(why, size, "%s: %s.", what, reason);
}

/* The progress of a file ends with all of it there, however it went. */
static enum stv_status fetch(const struct stv_fetch_rules *rules, const char *url,
                             struct stv_fetched *out, char *why, size_t size)
{
    enum stv_status status = stv_fetch(rules, url, out, why, size);
    if (rules->progress)
        rules->progress(rules->progress_context, url, 0, 0);
    return status;
}

/* ---- stations ---------------------------------------------------------------------------------
 */

static const char *file_name(const char *url)
{
    const char *slash = strrchr(url, '/');
    return slash ? slash + 1 : url;
}

static enum stv_status read_list(struct stv_fetch_run *run, const struct stv_fetch_list *list,
                                 bool is_offline, char *why, size_t size)
{
    char url[STV_FETCH_URL], reason[500];
    struct stv_fetch_rules rules = run->rules;
    struct stv_fetched fetched;
    rules.is_offline = rules.is_offline || is_offline;
    enum stv_status status =
        stv_fetch_list_url(list, run->request.wish.base, url, reason, sizeof reason);
    if (status == STV_OK) {
        stv_messages_step(run->options, "Station list: %s", url);
        status = fetch(&rules, url, &fetched, reason, sizeof reason);
    }
    if (status != STV_OK) {
        complete(why, size, url, reason);
        return status;
    }
    status =
        stv_station_list_read(list->kind, fetched.path, file_name(url), &run->problems, &run->list);
    if (status != STV_OK)
        complete(why, size, url, "is not the list of stations that is expected");
    return status;
}

/* The list, then the one that adds names; without the second the first will do. */
static enum stv_status read_lists(struct stv_fetch_run *run, bool is_offline, char *why,
                                  size_t size)
{
    const struct stv_fetch_list *lists = run->request.wish.service->lists;
    enum stv_status status = read_list(run, &lists[0], is_offline, why, size);
    if (status == STV_OK && lists[1].url && read_list(run, &lists[1], is_offline, why, size))
        stv_messages_note(run->options, "Names and heights are missing: %s", why);
    run->answer.n_faulty = run->list.n_faulty;
    return status;
}

static struct stv_station_wish wish_of(const struct stv_fetch_request *request)
{
    const struct stv_fetch_wish *wish = &request->wish;
    int64_t last_d = stv_day_from_date((struct stv_date){wish->last_year, 12, 31});
    return (struct stv_station_wish){
        .latitude_deg = request->latitude_deg,
        .longitude_deg = request->longitude_deg,
        .first_day_d = stv_day_from_date((struct stv_date){wish->first_year, 1, 1}),
        .last_day_d = last_d < wish->today_d ? last_d : wish->today_d};
}

static enum stv_status choose(struct stv_fetch_run *run, char *why, size_t size)
{
    struct stv_fetch_request *request = &run->request;
    const struct stv_station_wish wish = wish_of(request);
    char reason[400];
    run->near = calloc(request->n_stations, sizeof *run->near);
    if (!run->near)
        return STV_E_MEMORY;
    enum stv_status status = stv_stations_nearest(&run->list, &wish, run->near, request->n_stations,
                                                  &run->answer.n_near);
    if (status != STV_OK)
        return status;
    if (run->answer.n_near == 0) {
        snprintf(why, size, "No station of %s has any of these years.",
                 request->wish.service->name);
        return STV_E_NO_DATA;
    }
    run->answer.near = run->near;
    run->answer.station = run->near[0].station;
    /* An id goes into an address and into a file's name: it is read like a typed one. */
    if (stv_fetch_station_read(request->wish.service, run->answer.station->id,
                               request->wish.station, reason, sizeof reason) == STV_OK)
        return STV_OK;
    complete(why, size, "The list of stations", reason);
    return STV_E_PARSE;
}

enum stv_status stv_fetch_run_station(struct stv_fetch_run *run, char *why, size_t size)
{
    const struct stv_fetch_request *request = &run->request;
    const struct stv_fetch_service *service = request->wish.service;
    if (request->url || !service->lists[0].url)
        return STV_OK;
    if (request->is_near) {
        enum stv_status status = read_lists(run, request->is_dry, why, size);
        if (status == STV_E_NETWORK && request->is_dry)
            return STV_OK;
        return status == STV_OK ? choose(run, why, size) : status;
    }
    /* A list that is at hand tells where the station is; without one a person can.  What is wrong
     * with its other rows does not matter then. */
    if (!request->is_dry && service->lacks_position && read_lists(run, true, why, size) == STV_OK)
        run->answer.station = stv_station_find(&run->list, request->wish.station);
    run->answer.n_faulty = 0;
    stv_problems_free(&run->problems);
    stv_problems_init(&run->problems);
    return STV_OK;
}

/* ---- files ------------------------------------------------------------------------------------
 */

enum stv_status stv_fetch_run_plan(struct stv_fetch_run *run, char *why, size_t size)
{
    const struct stv_fetch_request *request = &run->request;
    struct stv_fetch_answer *answer = &run->answer;
    char reason[400];
    bool is_known = request->url || request->wish.station[0];
    answer->request = request;
    answer->n = request->url ? 1 : is_known ? stv_fetch_n_files(&request->wish) : 0;
    answer->results = calloc(answer->n + 1, sizeof *answer->results);
    if (!answer->results)
        return STV_E_MEMORY;
    for (size_t i = 0; i < answer->n; i++) {
        struct stv_fetch_file *file = &answer->results[i].file;
        if (!request->url) {
            enum stv_status status =
                stv_fetch_file_of(&request->wish, i, file, reason, sizeof reason);
            if (status != STV_OK) {
                complete(why, size, "--base", reason);
                return status;
            }
            continue;
        }
        if (strlen(request->url) >= sizeof file->url) {
            snprintf(why, size, "The address is longer than %d letters.", STV_FETCH_URL - 1);
            return STV_E_USAGE;
        }
        snprintf(file->url, sizeof file->url, "%s", request->url);
        stv_fetch_name_of_url(request->url, file->name);
    }
    return STV_OK;
}

static void pause_ms(long wait_ms)
{
    struct timespec left = {.tv_sec = wait_ms / MS_PER_S,
                            .tv_nsec = wait_ms % MS_PER_S * NS_PER_MS};
    nanosleep(&left, NULL);
}

static enum stv_status keep(const struct stv_fetch_run *run, struct stv_fetch_result *result)
{
    const struct stv_fetch_request *request = &run->request;
    const struct stv_fetch_service *service = request->wish.service;
    const struct stv_station *station = run->answer.station;
    char source[256];
    if (service)
        snprintf(source, sizeof source, "%s, %s %s%s%s", service->source,
                 service->form == STV_FORM_PLACE ? "place" : "station", request->wish.station,
                 station && station->name[0] ? ", " : "", station ? station->name : "");
    else
        snprintf(source, sizeof source, "%.200s", request->url);
    const struct stv_fetch_origin origin = {
        .url = result->file.url,
        .source = source,
        .licence = service ? service->licence : NULL,
        .attribution = service ? service->attribution : NULL,
        .site = service && service->lacks_position && station ? &station->site : NULL,
        .is_named_after_it = service != NULL};
    return stv_fetch_keep(&result->fetched, &origin, run->answer.folder.path, result->file.name,
                          &result->kept, result->why, sizeof result->why);
}

/* Reads a kept file as weather, so that what no reader takes is said at once and not later.  Place
 * and clock that a file leaves to its book stand in here, where nothing comes of them. */
static void try_reading(struct stv_fetch_result *result)
{
    struct stv_weather_source source = {.has_fallback_site = true, .fallback_clock = "UTC"};
    struct stv_weather_record record = {0};
    struct stv_weather_meta meta;
    struct stv_problems problems;
    result->reads_as = "";
    if (strlen(result->kept.path) >= sizeof source.path) {
        snprintf(result->unread, sizeof result->unread, "its path is too long to be read");
        return;
    }
    memcpy(source.path, result->kept.path, strlen(result->kept.path));
    stv_weather_meta_init(&source.meta);
    stv_problems_init(&problems);
    enum stv_status status = stv_weather_read(&source, &problems, &record, &meta);
    if (status == STV_OK)
        result->reads_as = meta.format;
    else
        snprintf(result->unread, sizeof result->unread, "%s", stv_status_text(status));
    for (size_t i = problems.n; i-- > 0 && status != STV_OK;)
        if (problems.items[i].severity == STV_REFUSED)
            snprintf(result->unread, sizeof result->unread, "%s", problems.items[i].message);
    stv_weather_record_free(&record);
    stv_problems_free(&problems);
}

/* False when the rest is not to be tried. */
static bool take_file(struct stv_fetch_run *run, struct stv_fetch_result *result)
{
    stv_messages_step(run->options, "%s", result->file.url);
    enum stv_status status =
        fetch(&run->rules, result->file.url, &result->fetched, result->why, sizeof result->why);
    if (status == STV_OK) {
        status = result->status = keep(run, result);
        result->end = status == STV_OK ? STV_FETCH_KEPT : STV_FETCH_REFUSED;
        run->answer.n_kept += status == STV_OK;
        if (status == STV_OK)
            try_reading(result);
        run->answer.n_unread += result->unread[0] != '\0';
        return status == STV_OK || status == STV_E_CONSISTENCY;
    }
    result->status = status;
    result->end = is_missing(status, result->why) ? STV_FETCH_MISSING
                  : status == STV_E_NETWORK       ? STV_FETCH_FAILED
                                                  : STV_FETCH_REFUSED;
    return result->end == STV_FETCH_MISSING ||
           (result->end == STV_FETCH_FAILED && run->rules.is_offline);
}

void stv_fetch_run_files(struct stv_fetch_run *run)
{
    const struct stv_fetch_service *service = run->request.wish.service;
    struct stv_fetch_answer *answer = &run->answer;
    bool goes_on = true;
    for (size_t i = 0; i < answer->n; i++) {
        struct stv_fetch_result *result = &answer->results[i];
        if (!goes_on) {
            snprintf(result->why, sizeof result->why, "not tried after the one before it");
            continue;
        }
        if (i > 0 && service && service->pause_ms > 0 && !run->rules.is_offline)
            pause_ms(service->pause_ms);
        goes_on = take_file(run, result);
        if (result->end != STV_FETCH_KEPT)
            stv_messages_error("%s: %s.", result->file.url, result->why);
        else if (result->unread[0])
            stv_messages_error("%s is kept, but does not read as weather yet: %s.",
                               result->kept.path, result->unread);
    }
}

void stv_fetch_run_free(struct stv_fetch_run *run)
{
    stv_station_list_free(&run->list);
    stv_problems_free(&run->problems);
    free(run->near);
    free(run->answer.results);
}
