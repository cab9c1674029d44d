/* The book a distillery keeps: book.yaml, casks.csv, history.csv, gauges.csv, loggers.csv. */
#ifndef STV_INGEST_BOOK_H
#define STV_INGEST_BOOK_H

#include "ingest/logger_file.h"
#include "ingest/problem.h"
#include "ingest/weather_file.h"
#include "model/building.h"
#include "model/ledger.h"
#include "model/outlook.h"

#include <stdbool.h>

struct stv_warehouse {
    char name[STV_NAME_MAX];
    struct stv_building building;
    size_t by_hand_tiers;   /* tiers a hand reaches from the floor */
    size_t with_lift_tiers; /* tiers the gear reaches */
    char filled_in[512];    /* keys the kind filled in, for "how we know" */
};

struct stv_gauge {
    int64_t day_d;
    int cask_idx;
    double volume20_l, abv20_frac; /* NaN when not measured */
    char nose[16];                 /* "not yet", "nearly", "ready", "over", or "" */
    char by[32];
    size_t row;
};

struct stv_months {
    bool is_said;
    bool holds[12];
};

struct stv_book {
    char folder[512];
    char name[STV_NAME_MAX];
    bool is_invented;
    int64_t as_of_day_d;      /* the day the answers speak of */
    struct stv_site_position site;
    bool has_site;
    struct stv_clock clock;   /* the site's; fixed offset for local days */
    struct stv_weather_source weather;
    bool has_weather;
    struct stv_warehouse *warehouses;
    size_t n_warehouses;
    struct stv_months warm_months, cold_months;
    struct stv_house_rules rules;
    double least_bottles_nd;
    struct stv_params params;
    char overridden[512];     /* names of parameters the book sets, comma-separated */
    struct stv_ledger ledger;
    struct stv_gauge *gauges;
    size_t n_gauges;
    struct stv_logger_source *loggers;
    size_t n_loggers;
};

/* Reads a book.  Every fault of the whole book is collected in problems before it is refused.
 * keep_going: rows refused are left out (with all that hangs on them) and the rest is returned.
 * Errors: STV_E_IO no such folder or no book.yaml; STV_E_PARSE something was refused;
 * STV_E_CONSISTENCY the ledger contradicts itself; STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv_book_read(const char *folder, bool keep_going,
                                             struct stv_problems *problems, struct stv_book *out);
void stv_book_free(struct stv_book *book);

/* Writes an empty book with headers and one example row each.  Refuses a folder that has any of
 * the files.  Whole or not at all.  Errors: STV_E_IO, STV_E_USAGE (exists) with `why`. */
STV_MUST_CHECK enum stv_status stv_book_new(const char *folder, char *why, size_t size);

#endif
