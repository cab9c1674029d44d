/* Names of services, stations, places and years as people type them.  A station that is not
 * written as its service writes one is refused here, so that nothing typed can become another part
 * of an address or of a path. */
#include "ingest/fetch_service.h"

#include "ingest/quantity.h"
#include "model/calendar.h"

#include <ctype.h>
#include <math.h>
#include <stdio.h>
#include <stdlib.h>
#include <string.h>

#define WORDS_MOST 64
#define WORD_MAX 48
#define FIRST_YEAR 1750 /* no record is older */
#define YEARS_MOST 150
#define USAF_LETTERS 6
#define WBAN_LETTERS 5
#define GHCN_LETTERS 11
#define METEOSTAT_LETTERS 5
#define CANADA_MOST 6 /* its Climate IDs have seven */

const struct stv_fetch_service *stv_fetch_services(size_t *out_n)
{
    *out_n = stv__fetch_n_services;
    return stv__fetch_services;
}

const struct stv_fetch_by_hand *stv_fetch_by_hand_table(size_t *out_n)
{
    *out_n = stv__fetch_n_by_hand;
    return stv__fetch_by_hand;
}

/* Same letters and digits, ignoring case and whatever stands between them. */
static bool is_alike(const char *typed, const char *name, size_t n_name)
{
    size_t at = 0;
    for (const char *from = typed;; from++) {
        while (*from && !isalnum((unsigned char)*from))
            from++;
        while (at < n_name && !isalnum((unsigned char)name[at]))
            at++;
        if (!*from || at == n_name)
            return !*from && at == n_name && at > 0;
        if (tolower((unsigned char)*from) != tolower((unsigned char)name[at++]))
            return false;
    }
}

static bool is_one_of(const char *typed, const char *names)
{
    while (*names) {
        size_t n = strcspn(names, "|");
        if (is_alike(typed, names, n))
            return true;
        names += n + (names[n] == '|');
    }
    return false;
}

/* All names there are, for the nearest of them; owners tell whose each is. */
struct names {
    char text[WORDS_MOST][WORD_MAX];
    const char *words[WORDS_MOST];
    const char *owners[WORDS_MOST];
    size_t n;
};

static void add_names(struct names *names, const char *list, const char *owner)
{
    while (*list && names->n < WORDS_MOST) {
        size_t n = strcspn(list, "|");
        snprintf(names->text[names->n], WORD_MAX, "%.*s", (int)n, list);
        names->words[names->n] = names->text[names->n];
        names->owners[names->n++] = owner;
        list += n + (list[n] == '|');
    }
}

static void advise(const char *name, char *why, size_t size)
{
    struct names names = {.n = 0};
    for (size_t i = 0; i < stv__fetch_n_services; i++) {
        add_names(&names, stv__fetch_services[i].name, stv__fetch_services[i].name);
        add_names(&names, stv__fetch_services[i].also, stv__fetch_services[i].name);
    }
    const char *nearest = stv_nearest_word(name, names.words, names.n);
    for (size_t i = 0; nearest && i < names.n; i++) {
        if (names.words[i] != nearest)
            continue;
        snprintf(why, size, "there is no service \"%.40s\": did you mean %s?", name,
                 names.owners[i]);
        return;
    }
    int used = snprintf(why, size, "there is no service \"%.40s\"; there are", name);
    for (size_t i = 0; i < stv__fetch_n_services && used > 0 && (size_t)used < size; i++)
        used += snprintf(why + used, size - (size_t)used, "%s%s", i ? ", " : " ",
                         stv__fetch_services[i].name);
}

const struct stv_fetch_service *stv_fetch_service_find(const char *name, char *why, size_t size)
{
    why[0] = '\0';
    for (size_t i = 0; i < stv__fetch_n_services; i++)
        if (is_one_of(name, stv__fetch_services[i].name) ||
            is_one_of(name, stv__fetch_services[i].also))
            return &stv__fetch_services[i];
    for (size_t i = 0; i < stv__fetch_n_by_hand; i++)
        if (is_one_of(name, stv__fetch_by_hand[i].name)) {
            snprintf(why, size, "%s", stv__fetch_by_hand[i].advice);
            return NULL;
        }
    advise(name, why, size);
    return NULL;
}

/* ---- stations ---------------------------------------------------------------------------------
 */

static bool all(const char *text, size_t n, int (*is_good)(int))
{
    for (size_t i = 0; i < n; i++)
        if ((unsigned char)text[i] > 0x7E || !is_good((unsigned char)text[i]))
            return false;
    return true;
}

/* Six figures, of which the first may be a letter, and five. */
static bool read_usaf_wban(const char *text, size_t n, char *out)
{
    bool has_dash = n == USAF_LETTERS + 1 + WBAN_LETTERS && text[USAF_LETTERS] == '-';
    if (!has_dash && n != USAF_LETTERS + WBAN_LETTERS)
        return false;
    const char *wban = text + n - WBAN_LETTERS;
    if (!isalnum((unsigned char)text[0]) || !all(text + 1, USAF_LETTERS - 1, isdigit) ||
        !all(wban, WBAN_LETTERS, isdigit))
        return false;
    snprintf(out, STV_FETCH_STATION, "%.6s-%.5s", text, wban);
    return true;
}

/* Two letters of the country, one of the network, eight of the station; a few have a dash. */
static bool read_ghcn(const char *text, size_t n, char *out)
{
    if (n != GHCN_LETTERS || !all(text, 2, isalpha))
        return false;
    for (size_t i = 2; i < n; i++)
        if (!isalnum((unsigned char)text[i]) && text[i] != '-')
            return false;
    snprintf(out, STV_FETCH_STATION, "%s", text);
    return true;
}

/* AZ_Tucson_11_W: state, name, distance and direction from the town. */
static bool read_uscrn(const char *text, size_t n, char *out)
{
    size_t n_bars = 0;
    if (n < 4 || n >= STV_FETCH_STATION || !all(text, 2, isalpha) || text[2] != '_')
        return false;
    for (size_t i = 0; i < n; i++) {
        if (!isalnum((unsigned char)text[i]) && !strchr("_.-", text[i]))
            return false;
        n_bars += text[i] == '_';
    }
    if (n_bars < 3)
        return false;
    snprintf(out, STV_FETCH_STATION, "%s", text);
    return true;
}

static bool read_meteostat(const char *text, size_t n, char *out)
{
    if (n != METEOSTAT_LETTERS || !all(text, n, isalnum))
        return false;
    snprintf(out, STV_FETCH_STATION, "%s", text);
    return true;
}

static bool read_airport(const char *text, size_t n, char *out)
{
    if (n < 3 || n > 4 || !all(text, n, isalnum))
        return false;
    bool has_k = n == 4 && text[0] == 'K';
    snprintf(out, STV_FETCH_STATION, "%s", text + has_k);
    return true;
}

static bool read_canada(const char *text, size_t n, char *out)
{
    if (n == 0 || n > CANADA_MOST || !all(text, n, isdigit))
        return false;
    snprintf(out, STV_FETCH_STATION, "%s", text);
    return true;
}

static bool read_place(const char *text, size_t n, char *out)
{
    char why[256];
    double latitude_deg, longitude_deg;
    (void)n;
    if (stv_fetch_place_read(text, &latitude_deg, &longitude_deg, why, sizeof why) != STV_OK)
        return false;
    snprintf(out, STV_FETCH_STATION, "%.4f,%.4f", latitude_deg, longitude_deg);
    return true;
}

/* Without blanks around it; capitals where the service writes capitals. */
static void tidy(const struct stv_fetch_service *service, const char *text, char *out, size_t size)
{
    bool is_uscrn = service->form == STV_FORM_USCRN;
    while (isspace((unsigned char)*text))
        text++;
    snprintf(out, size, "%s", text);
    size_t n = strlen(out);
    while (n > 0 && isspace((unsigned char)out[n - 1]))
        out[--n] = '\0';
    for (size_t i = 0; i < n; i++) {
        if (is_uscrn && out[i] == ' ')
            out[i] = '_';
        else if (!is_uscrn || i < 2)
            out[i] = (char)toupper((unsigned char)out[i]);
    }
}

enum stv_status stv_fetch_station_read(const struct stv_fetch_service *service, const char *text,
                                       char out[STV_FETCH_STATION], char *why, size_t size)
{
    static bool (*const read[])(const char *, size_t, char *) = {
        [STV_FORM_USAF_WBAN] = read_usaf_wban, [STV_FORM_GHCN] = read_ghcn,
        [STV_FORM_USCRN] = read_uscrn,         [STV_FORM_METEOSTAT] = read_meteostat,
        [STV_FORM_AIRPORT] = read_airport,     [STV_FORM_CANADA] = read_canada,
        [STV_FORM_PLACE] = read_place};
    char tidied[STV_FETCH_STATION + 16];
    out[0] = '\0';
    tidy(service, text, tidied, sizeof tidied);
    size_t n = strlen(tidied);
    if (strlen(text) < sizeof tidied && read[service->form](tidied, n, out))
        return STV_OK;
    snprintf(why, size, "station \"%.40s\" is not how %s names one: %s", text, service->name,
             service->station_words);
    return STV_E_USAGE;
}

/* ---- places and years -------------------------------------------------------------------------
 */

enum stv_status stv_fetch_place_read(const char *text, double *out_latitude_deg,
                                     double *out_longitude_deg, char *why, size_t size)
{
    char latitude[32], reason[200] = "";
    const char *comma = strchr(text, ',');
    if (!comma || strchr(comma + 1, ',') || (size_t)(comma - text) >= sizeof latitude) {
        snprintf(why, size,
                 "place \"%.40s\" is not latitude and longitude with a comma between, as "
                 "35.2,-101.7",
                 text);
        return STV_E_USAGE;
    }
    snprintf(latitude, sizeof latitude, "%.*s", (int)(comma - text), text);
    if (stv_quantity_parse(latitude, STV_DIM_LATITUDE, "deg", out_latitude_deg, reason,
                           sizeof reason) == STV_OK &&
        stv_quantity_parse(comma + 1, STV_DIM_LONGITUDE, "deg", out_longitude_deg, reason,
                           sizeof reason) == STV_OK)
        return STV_OK;
    snprintf(why, size, "place \"%.40s\": %s", text, reason);
    return STV_E_USAGE;
}

/* Four digits, and what stands behind them. */
static bool read_year(const char **at, int32_t *out)
{
    if (strlen(*at) < 4 || !all(*at, 4, isdigit) || isdigit((unsigned char)(*at)[4]))
        return false;
    *out = (int32_t)strtol(*at, NULL, 10);
    *at += 4;
    return true;
}

enum stv_status stv_fetch_years_read(const char *text, int64_t today_d, int32_t *out_first,
                                     int32_t *out_last, char *why, size_t size)
{
    int32_t first, last, this_year = stv_date_from_day(today_d).year;
    const char *at = text, *fault = NULL;
    if (!read_year(&at, &first) || (last = first, *at == '-' && (at++, !read_year(&at, &last))) ||
        *at)
        fault = "are not written as 2015-2024, or 2024 for one";
    else if (first > last)
        fault = "run backwards: the earlier year comes first";
    else if (last > this_year)
        fault = "lie in the future";
    else if (first < FIRST_YEAR || last - first >= YEARS_MOST)
        fault = "are more than there can be: 150 years, from 1750 on";
    if (fault) {
        snprintf(why, size, "years \"%.40s\" %s", text, fault);
        return STV_E_USAGE;
    }
    *out_first = first;
    *out_last = last;
    return STV_OK;
}
