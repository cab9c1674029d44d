/* The options of `fetch` either name one address, or a service with a station or a place. */
#include "cli/fetch_request.h"

#include "cli/cache_folder.h"
#include "model/units.h"

#include <errno.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>
#include <sys/stat.h>
#include <time.h>
#include <unistd.h>

#define REASON_MAX 400

/* Options that go with a service alone. */
static const enum stv_option of_service[] = {STV_OPT_SERVICE, STV_OPT_FETCH_STATION, STV_OPT_NEAR,
                                             STV_OPT_YEARS,   STV_OPT_STATIONS,      STV_OPT_BASE};

static enum stv_status complain(char *why, size_t size, const char *what)
{
    snprintf(why, size, "%s", what);
    return STV_E_USAGE;
}

/* A reason of ingest/ as a sentence of its own. */
static enum stv_status complain_of(char *why, size_t size, const char *reason)
{
    snprintf(why, size, "%s.", reason);
    if (why[0] >= 'a' && why[0] <= 'z')
        why[0] = (char)(why[0] - 'a' + 'A');
    return STV_E_USAGE;
}

static enum stv_status read_address(const struct stv_options *options,
                                    struct stv_fetch_request *out, char *why, size_t size)
{
    out->url = stv_options_text(options, STV_OPT_URL);
    for (size_t i = 0; i < sizeof of_service / sizeof of_service[0]; i++)
        if (stv_options_has(options, of_service[i]))
            return complain(why, size,
                            "Give --url alone, or a service with its station and years.");
    return STV_OK;
}

static enum stv_status read_service(const struct stv_options *options,
                                    struct stv_fetch_request *out, char *why, size_t size)
{
    char reason[REASON_MAX];
    const char *name = stv_options_text(options, STV_OPT_SERVICE);
    if (!name)
        return complain(why, size,
                        "Say from where: --service NAME, or --url ADDRESS; `stavecast fetch "
                        "--services` lists the services.");
    out->wish.service = stv_fetch_service_find(name, reason, sizeof reason);
    return out->wish.service ? STV_OK : complain_of(why, size, reason);
}

static enum stv_status read_years(const struct stv_options *options, struct stv_fetch_request *out,
                                  char *why, size_t size)
{
    char reason[REASON_MAX];
    const char *years = stv_options_text(options, STV_OPT_YEARS);
    if (!years)
        return STV_OK;
    if (stv_fetch_years_read(years, out->wish.today_d, &out->wish.first_year, &out->wish.last_year,
                             reason, sizeof reason) != STV_OK)
        return complain_of(why, size, reason);
    return STV_OK;
}

static enum stv_status read_station(const struct stv_options *options,
                                    struct stv_fetch_request *out, char *why, size_t size)
{
    char reason[REASON_MAX];
    const struct stv_fetch_service *service = out->wish.service;
    const char *station = stv_options_text(options, STV_OPT_FETCH_STATION);
    const char *near = stv_options_text(options, STV_OPT_NEAR);
    bool is_place = service->form == STV_FORM_PLACE;
    if (station && near)
        return complain(why, size, "Give --station or --near, not both.");
    if (!station && !near) {
        snprintf(reason, sizeof reason, "say where: --near LAT,LON%s%s",
                 is_place ? "" : ", or --station as ", is_place ? "" : service->station_words);
        return complain_of(why, size, reason);
    }
    if (near && !is_place && !service->lists[0].url) {
        snprintf(reason, sizeof reason,
                 "%s has no list of stations that can be searched here: look on its pages, then "
                 "name one, --station with %s",
                 service->name, service->station_words);
        return complain_of(why, size, reason);
    }
    if (near && stv_fetch_place_read(near, &out->latitude_deg, &out->longitude_deg, reason,
                                     sizeof reason) != STV_OK)
        return complain_of(why, size, reason);
    out->is_near = near && !is_place;
    if (!out->is_near && stv_fetch_station_read(service, station ? station : near,
                                                out->wish.station, reason, sizeof reason) != STV_OK)
        return complain_of(why, size, reason);
    if (out->is_near && out->wish.first_year == 0)
        return complain(why, size,
                        "--near needs --years, so that a station is found that has them.");
    if (stv_options_has(options, STV_OPT_STATIONS) && !out->is_near)
        return complain(why, size, "--stations goes with --near, to list that many.");
    return STV_OK;
}

enum stv_status stv_fetch_request_read(const struct stv_options *options,
                                       struct stv_fetch_request *out, char *why, size_t size)
{
    char reason[REASON_MAX];
    *out = (struct stv_fetch_request){
        .is_dry = stv_options_has(options, STV_OPT_DRY_RUN),
        .is_offline = stv_options_has(options, STV_OPT_OFFLINE),
        .n_stations = (size_t)stv_options_number(options, STV_OPT_STATIONS),
        .wish.today_d = (int64_t)time(NULL) / STV_DAY_S,
        .wish.base = stv_options_text(options, STV_OPT_BASE),
    };
    enum stv_status status = stv_options_has(options, STV_OPT_URL)
                                 ? read_address(options, out, why, size)
                                 : read_service(options, out, why, size);
    if (status == STV_OK && !out->url)
        status = read_years(options, out, why, size);
    if (status == STV_OK && !out->url)
        status = read_station(options, out, why, size);
    if (status == STV_OK && !out->url &&
        stv_fetch_wish_check(&out->wish, reason, sizeof reason) != STV_OK)
        status = complain_of(why, size, reason);
    const char *fault = status == STV_OK ? stv_cache_folder("", out->cache) : NULL;
    return fault ? complain(why, size, fault) : status;
}

/* ---- the folder -------------------------------------------------------------------------------
 */

static bool has_book(const char *folder)
{
    char path[STV_FETCH_PATH];
    int n = snprintf(path, sizeof path, "%s/book.yaml", folder);
    return n > 0 && (size_t)n < sizeof path && access(path, R_OK) == 0;
}

static enum stv_status make_folder(const char *path, char *why, size_t size)
{
    struct stat found;
    if (mkdir(path, 0777) == 0 ||
        (errno == EEXIST && stat(path, &found) == 0 && S_ISDIR(found.st_mode)))
        return STV_OK;
    snprintf(why, size, "%s cannot be used as a folder: %s.", path,
             errno == EEXIST ? "it is a file" : strerror(errno));
    return STV_E_IO;
}

/* As a book names it: from its own folder where it lies in it, else from the root. */
static enum stv_status name_folder(const char *book, struct stv_fetch_folder *out, char *why,
                                   size_t size)
{
    char here[STV_FETCH_PATH];
    size_t n = book ? strlen(book) : 0;
    while (n > 1 && book[n - 1] == '/')
        n--;
    bool is_absolute = out->path[0] == '/';
    bool is_inside = book && strncmp(out->path, book, n) == 0 && out->path[n] == '/';
    bool is_here = book && strcmp(book, ".") == 0 && !is_absolute;
    int used = -1;
    if (is_inside)
        used = snprintf(out->named, sizeof out->named, "%s",
                        out->path + n + strspn(out->path + n, "/"));
    else if (is_here || is_absolute)
        used = snprintf(out->named, sizeof out->named, "%s", out->path);
    else if (getcwd(here, sizeof here))
        used = snprintf(out->named, sizeof out->named, "%s/%s", here, out->path);
    if (used >= 0 && (size_t)used < sizeof out->named)
        return STV_OK;
    snprintf(why, size, "The name of the folder %s is too long.", out->path);
    return STV_E_IO;
}

enum stv_status stv_fetch_folder_find(const struct stv_options *options,
                                      struct stv_fetch_folder *out, char *why, size_t size)
{
    const char *book = options->operand ? options->operand : has_book(".") ? "." : NULL;
    const char *folder = stv_options_text(options, STV_OPT_FETCH_OUT);
    bool is_said = stv_options_has(options, STV_OPT_FETCH_OUT);
    if (options->operand && !has_book(options->operand)) {
        snprintf(why, size, "There is no book.yaml in %s.", options->operand);
        return STV_E_IO;
    }
    if (!is_said && !book)
        return complain(why, size,
                        "There is no book.yaml here. Name the book's folder, or a folder for the "
                        "files with --out.");
    int n = is_said ? snprintf(out->path, sizeof out->path, "%s", folder)
                    : snprintf(out->path, sizeof out->path, "%s/weather", book);
    if (n < 0 || (size_t)n >= sizeof out->path)
        return complain(why, size, "The name of the folder is too long.");
    while (n > 1 && out->path[n - 1] == '/')
        out->path[--n] = '\0';
    enum stv_status status = make_folder(out->path, why, size);
    return status == STV_OK ? name_folder(book, out, why, size) : status;
}
