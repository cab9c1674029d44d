/* Addresses and file names out of the patterns of the services. */
#include "ingest/fetch_service.h"

#include "ingest/hash.h"
#include "model/calendar.h"

#include <ctype.h>
#include <stdio.h>
#include <string.h>

#define HASH_LETTERS 8

/* One file's time, and the text being made. */
struct filling {
    const struct stv_fetch_wish *wish;
    int32_t year, month;
    char *out;
    size_t used, size;
};

static void add(struct filling *filling, const char *text, size_t n)
{
    if (filling->used + n < filling->size) {
        memcpy(filling->out + filling->used, text, n);
        filling->out[filling->used + n] = '\0';
    }
    filling->used += n;
}

static bool is_named(const char *name, size_t n, const char *known)
{
    return strlen(known) == n && strncmp(name, known, n) == 0;
}

/* The newest day of a year that the service can have. */
static int64_t last_day_of(const struct stv_fetch_wish *wish, int32_t year)
{
    int64_t end_d = stv_day_from_date((struct stv_date){year, 12, 31});
    int64_t newest_d = wish->today_d - wish->service->delay_d;
    return newest_d < end_d ? newest_d : end_d;
}

static void add_value(struct filling *filling, const char *name, size_t n)
{
    const char *station = filling->wish->station;
    size_t n_station = strlen(station), n_part = strcspn(station, "-");
    char text[32];
    if (is_named(name, n, "station")) {
        add(filling, station, n_station);
        return;
    }
    if (is_named(name, n, "usaf")) {
        add(filling, station, n_part);
        return;
    }
    if (is_named(name, n, "wban")) {
        add(filling, station + n_part + 1, n_station - n_part - 1);
        return;
    }
    n_part = strcspn(station, ",");
    if (is_named(name, n, "latitude")) {
        add(filling, station, n_part);
        return;
    }
    if (is_named(name, n, "longitude")) {
        add(filling, station + n_part + 1, n_station - n_part - 1);
        return;
    }
    if (is_named(name, n, "last_day")) {
        struct stv_date date = stv_date_from_day(last_day_of(filling->wish, filling->year));
        snprintf(text, sizeof text, "%04d-%02d-%02d", date.year, date.month, date.day);
    } else {
        int32_t number = is_named(name, n, "month")       ? filling->month
                         : is_named(name, n, "next_year") ? filling->year + 1
                                                          : filling->year;
        snprintf(text, sizeof text, "%d", number);
    }
    add(filling, text, strlen(text));
}

/* The part of an address behind its host. */
static const char *path_of(const char *url)
{
    const char *slashes = strstr(url, "://");
    return slashes ? slashes + 3 + strcspn(slashes + 3, "/?#") : url;
}

static bool fill(struct filling *filling, const char *pattern)
{
    const char *base = filling->wish->base;
    if (base) {
        size_t n = strlen(base);
        while (n > 0 && base[n - 1] == '/')
            n--;
        add(filling, base, n);
        pattern = path_of(pattern);
    }
    while (*pattern) {
        size_t n = strcspn(pattern, "{");
        add(filling, pattern, n);
        pattern += n;
        if (*pattern == '{') {
            n = strcspn(pattern, "}");
            add_value(filling, pattern + 1, n - 1);
            pattern += n + 1;
        }
    }
    return filling->used < filling->size;
}

static const char *base_fault(const char *base)
{
    const char *slashes = strstr(base, "://");
    if (strncmp(base, "http://", 7) != 0 && strncmp(base, "https://", 8) != 0)
        return "does not begin with http:// or https://";
    if (!isalnum((unsigned char)slashes[3]) && slashes[3] != '[')
        return "names no host";
    for (const char *at = base; *at; at++)
        if (!isgraph((unsigned char)*at) || strchr("?#@", *at))
            return "holds more than a host and a folder";
    return NULL;
}

enum stv_status stv_fetch_wish_check(const struct stv_fetch_wish *wish, char *why, size_t size)
{
    const struct stv_fetch_service *service = wish->service;
    const char *fault = wish->base ? base_fault(wish->base) : NULL;
    if (fault) {
        snprintf(why, size, "base \"%.80s\" %s", wish->base, fault);
        return STV_E_USAGE;
    }
    if (wish->first_year == 0 && !service->whole) {
        snprintf(why, size, "%s gives its data year by year: say which, --years 2015-2024",
                 service->name);
        return STV_E_USAGE;
    }
    int64_t start_d = stv_day_from_date((struct stv_date){wish->last_year, 1, 1});
    if (wish->last_year != 0 && start_d > last_day_of(wish, wish->last_year)) {
        snprintf(why, size, "%s has nothing of %d yet: its newest days are %d days old",
                 service->name, wish->last_year, service->delay_d);
        return STV_E_USAGE;
    }
    return STV_OK;
}

static bool is_whole(const struct stv_fetch_wish *wish)
{
    return wish->first_year == 0 || (!wish->service->by_year && !wish->service->by_month);
}

size_t stv_fetch_n_files(const struct stv_fetch_wish *wish)
{
    if (is_whole(wish))
        return 1;
    size_t n_years = (size_t)(wish->last_year - wish->first_year + 1);
    if (wish->service->by_year)
        return n_years;
    struct stv_date today = stv_date_from_day(wish->today_d);
    size_t n_to_come = wish->last_year == today.year ? (size_t)(STV_MONTHS - today.month) : 0;
    return n_years * STV_MONTHS - n_to_come;
}

static void name_file(const struct stv_fetch_wish *wish, struct stv_fetch_file *out)
{
    bool is_all = is_whole(wish);
    snprintf(out->name, sizeof out->name, "%s-%s%s%s%s", wish->service->name, wish->station,
             is_all ? "" : "-", is_all ? "" : out->label, wish->service->ending);
    for (char *at = out->name; *at; at++)
        if (*at == ',')
            *at = '_';
}

enum stv_status stv_fetch_file_of(const struct stv_fetch_wish *wish, size_t file_idx,
                                  struct stv_fetch_file *out, char *why, size_t size)
{
    const struct stv_fetch_service *service = wish->service;
    struct filling filling = {.wish = wish, .out = out->url, .size = sizeof out->url};
    const char *pattern = service->whole;
    snprintf(out->label, sizeof out->label, "all years");
    if (!is_whole(wish) && service->by_year) {
        pattern = service->by_year;
        filling.year = wish->first_year + (int32_t)file_idx;
        snprintf(out->label, sizeof out->label, "%04d", filling.year);
    } else if (!is_whole(wish)) {
        pattern = service->by_month;
        filling.year = wish->first_year + (int32_t)(file_idx / STV_MONTHS);
        filling.month = (int32_t)(file_idx % STV_MONTHS) + 1;
        snprintf(out->label, sizeof out->label, "%04d-%02d", filling.year, filling.month);
    }
    name_file(wish, out);
    if (fill(&filling, pattern))
        return STV_OK;
    snprintf(why, size, "base \"%.80s\" makes too long an address", wish->base);
    return STV_E_USAGE;
}

enum stv_status stv_fetch_list_url(const struct stv_fetch_list *list, const char *base,
                                   char out[STV_FETCH_URL], char *why, size_t size)
{
    const struct stv_fetch_wish wish = {.base = base};
    struct filling filling = {.wish = &wish, .out = out, .size = STV_FETCH_URL};
    const char *fault = base ? base_fault(base) : NULL;
    if (!fault && fill(&filling, list->url))
        return STV_OK;
    snprintf(why, size, "base \"%.80s\" %s", base, fault ? fault : "makes too long an address");
    return STV_E_USAGE;
}

static bool is_plain_letter(char letter)
{
    return ((unsigned char)letter < 0x80 && isalnum((unsigned char)letter)) || letter == '.' ||
           letter == '_' || letter == '-';
}

void stv_fetch_name_of_url(const char *url, char out[STV_FETCH_NAME])
{
    const char *path = path_of(url);
    size_t n_path = strcspn(path, "?#"), at = n_path;
    while (at > 0 && path[at - 1] != '/')
        at--;
    size_t n = n_path - at;
    while (n > 0 && path[at] == '.') { /* a name that would be hidden */
        at++;
        n--;
    }
    char hash[STV_SHA256_TEXT] = "";
    if (path[n_path] == '?')
        stv_bytes_sha256(url, strlen(url), hash);
    const char *dot = n > 0 ? memchr(path + at, '.', n) : NULL;
    size_t n_stem = dot ? (size_t)(dot - path) - at : n;
    snprintf(out, STV_FETCH_NAME, "%.*s%s%.*s%.*s", n > 0 ? (int)(n_stem < 60 ? n_stem : 60) : 7,
             n > 0 ? path + at : "weather", hash[0] ? "-" : "", HASH_LETTERS, hash,
             (int)(n - n_stem < 40 ? n - n_stem : 40), path + at + n_stem);
    for (char *letter = out; *letter; letter++)
        if (!is_plain_letter(*letter))
            *letter = '_';
    if (!stv_fetch_is_plain_name(out))
        snprintf(out, STV_FETCH_NAME, "weather");
}

bool stv_fetch_is_plain_name(const char *name)
{
    static const char description[] = ".meta.yaml";
    size_t n = strlen(name), n_description = sizeof description - 1;
    if (n == 0 || n >= STV_FETCH_NAME || name[0] == '.' || name[0] == '-')
        return false;
    for (size_t i = 0; i < n; i++)
        if (!is_plain_letter(name[i]))
            return false;
    return n < n_description || strcmp(name + n - n_description, description) != 0;
}
