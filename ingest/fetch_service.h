/* Public weather services: what they hold, how they name a station, and which addresses give its
 * files.  Nothing here speaks to a network. */
#ifndef STV_INGEST_FETCH_SERVICE_H
#define STV_INGEST_FETCH_SERVICE_H

#include "ingest/fetch.h"
#include "ingest/station_list.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

#define STV_FETCH_STATION 48
#define STV_FETCH_NAME 128
#define STV_FETCH_LISTS 2

/* How a service names a station. */
enum stv_station_form {
    STV_FORM_USAF_WBAN, /* 723630-23047; an unknown WBAN is 99999 */
    STV_FORM_GHCN,      /* USW00023047 */
    STV_FORM_USCRN,     /* AZ_Tucson_11_W */
    STV_FORM_METEOSTAT, /* 10637 */
    STV_FORM_AIRPORT,   /* ACT, EDDF */
    STV_FORM_CANADA,    /* 51442: the Station ID of the address, not the Climate ID */
    STV_FORM_PLACE      /* 35.2000,-101.7000 */
};

struct stv_fetch_list {
    enum stv_station_list_kind kind;
    const char *url; /* NULL: no list */
};

/* Addresses hold {station}, {usaf}, {wban}, {year}, {next_year}, {month}, {latitude}, {longitude}
 * and {last_day}, the last day of the year that can be there. */
struct stv_fetch_service {
    const char *name;
    const char *also; /* other names, cut at '|' */
    const char *what; /* a few words */
    const char *station_words;
    const char *source; /* as a description names it */
    const char *licence;
    const char *attribution;
    const char *by_year, *by_month, *whole; /* NULL: not served so */
    const char *ending;                     /* of the file's name */
    enum stv_station_form form;
    struct stv_fetch_list lists[STV_FETCH_LISTS]; /* the second adds names to the first */
    int32_t delay_d;                              /* days until a day is there */
    long pause_ms;                                /* to leave between two requests */
    bool lacks_position;                          /* its files do not say where the station is */
};

/* What cannot be fetched without a person. */
struct stv_fetch_by_hand {
    const char *name, *advice;
};

const struct stv_fetch_service *stv_fetch_services(size_t *out_n);
const struct stv_fetch_by_hand *stv_fetch_by_hand_table(size_t *out_n);

/* The service of a name, in letters of any size, with or without blanks and dashes.  NULL when
 * there is none; `why` then says the nearest, or how to get the data of one that needs a person. */
const struct stv_fetch_service *stv_fetch_service_find(const char *name, char *why, size_t size);

/* A station as the service's addresses write it.
 *
 * text  as typed: blanks around it, small letters and a dash left out of USAF-WBAN are understood
 * Errors: STV_E_USAGE, `why` says how the service names one; out is "" then */
STV_MUST_CHECK enum stv_status stv_fetch_station_read(const struct stv_fetch_service *service,
                                                      const char *text, char out[STV_FETCH_STATION],
                                                      char *why, size_t size);

/* "35.2,-101.7" or "35.2 N, 101.7 W".  Errors: STV_E_USAGE */
STV_MUST_CHECK enum stv_status stv_fetch_place_read(const char *text, double *out_latitude_deg,
                                                    double *out_longitude_deg, char *why,
                                                    size_t size);

/* "2015-2024" or "2024".
 * today_d  tells what lies in the future
 * Errors:  STV_E_USAGE */
STV_MUST_CHECK enum stv_status stv_fetch_years_read(const char *text, int64_t today_d,
                                                    int32_t *out_first, int32_t *out_last,
                                                    char *why, size_t size);

/* What is to be fetched. */
struct stv_fetch_wish {
    const struct stv_fetch_service *service;
    char station[STV_FETCH_STATION]; /* as stv_fetch_station_read gives it */
    int32_t first_year, last_year;   /* 0: not said, which asks for the whole record */
    int64_t today_d;
    const char *base; /* in place of the service's own scheme and host; NULL */
};

struct stv_fetch_file {
    char url[STV_FETCH_URL];
    char name[STV_FETCH_NAME]; /* a plain name, see stv_fetch_is_plain_name */
    char label[16];            /* "2020", "2020-03", "all years" */
};

/* Whether the wish can be served.  Errors: STV_E_USAGE, `why` says what to ask for. */
STV_MUST_CHECK enum stv_status stv_fetch_wish_check(const struct stv_fetch_wish *wish, char *why,
                                                    size_t size);

/* Files of a wish that passed stv_fetch_wish_check, in order of time; months that have not begun
 * are left out. */
size_t stv_fetch_n_files(const struct stv_fetch_wish *wish);
/* The file of an index below that.  Errors: STV_E_USAGE the address is too long */
STV_MUST_CHECK enum stv_status stv_fetch_file_of(const struct stv_fetch_wish *wish, size_t file_idx,
                                                 struct stv_fetch_file *out, char *why,
                                                 size_t size);

/* The address of a station list, at the base when there is one.  Errors: STV_E_USAGE */
STV_MUST_CHECK enum stv_status stv_fetch_list_url(const struct stv_fetch_list *list,
                                                  const char *base, char out[STV_FETCH_URL],
                                                  char *why, size_t size);

/* A file name for any address: its last part, letters other than those of a plain name made "_";
 * with a query, some digits of its check sum too. */
void stv_fetch_name_of_url(const char *url, char out[STV_FETCH_NAME]);

/* True for a name that can lie nowhere but in the folder it is put into: letters, digits, ".", "_"
 * and "-", neither "." nor "-" in front, and not that of a description. */
bool stv_fetch_is_plain_name(const char *name);

/* Shared with fetch_service_table.c. */
extern const struct stv_fetch_service stv__fetch_services[];
extern const size_t stv__fetch_n_services;
extern const struct stv_fetch_by_hand stv__fetch_by_hand[];
extern const size_t stv__fetch_n_by_hand;

#endif
