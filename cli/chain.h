/* The one place that builds the chain for every command:
 * book or bare weather file -> weather -> building -> positions -> casks -> outlook. */
#ifndef STV_CLI_CHAIN_H
#define STV_CLI_CHAIN_H

#include "cli/market.h"
#include "ingest/book.h"
#include "ingest/kept_folder.h"
#include "ingest/learned_casks_file.h"
#include "ingest/learned_file.h"
#include "ingest/study.h"
#include "ingest/weather_folder.h"
#include "model/bottling.h"
#include "model/climate_days.h"
#include "model/climate_metrics.h"
#include "model/gap_fill.h"
#include "model/lineage.h"
#include "model/outlook.h"
#include "model/placement.h"
#include "model/sites.h"
#include "model/weather.h"

/* How much of what an answer rests on is told: all, the facts, or only what wants heed. */
enum stv_basis { STV_BASIS_ALL, STV_BASIS_FACTS, STV_BASIS_HEED };

#define STV_MOST_AHEAD_D (60 * 366) /* no cask is planned further */

/* What the user asked for, already parsed; NULL, NaN and 0 when not said. */
struct stv_request {
    const char *book_folder; /* NULL: no book */
    bool keep_going;
    char cache_folder[STV_FOLDER_PATH]; /* "": nothing is kept for another command */
    bool despite_holes;                 /* rank a warm season that a logger misses in part */
    enum stv_basis basis;
    bool forgets_racks; /* what was learned before is not read: it is about to be made anew, or */
    bool forgets_casks; /* ... the answer without it is wanted */
    /* without a book */
    const char *weather_path, *station, *building_kind, *clock;
    double latitude_deg, longitude_deg, elevation_m;
    size_t n_tiers;
    /* runs */
    uint64_t seed;
    size_t n_draws;
    double step_d;
    double warming_k_per_y;
    int64_t date_day_d; /* INT64_MIN: the book's as_of */
};

/* One warehouse with its climate. */
struct stv_chain_warehouse {
    struct stv_building_climate climate; /* n_tiers 0 when there is no weather */
    struct stv_position *positions;      /* tiers first, then bays with their own logger */
    size_t n_positions, n_tiers;
};

/* What a learned rack says of every hour of the weather; humidity NaN where it was not learned. */
struct stv_told {
    double *air_c, *rh_frac; /* owned; NULL until its warehouse is run */
};

struct stv_chain {
    struct stv_book book;             /* of a bare weather file too: one warehouse, no casks */
    struct stv_named_market named;    /* whose rules stand in the book's, taken by the session */
    struct stv_problems problems;     /* everything met so far, of every file */
    struct stv_weather_record record; /* as the weather file has it */
    struct stv_weather_meta weather_meta;
    struct stv_weather weather; /* completed by stv_chain_climate */
    bool has_weather;
    struct stv_logger_hours *loggers; /* book.n_loggers */
    struct stv_logger_report *logger_reports;
    struct stv_gap_report *gap_reports;     /* likewise; NULL before stv_chain_climate */
    struct stv_learned learned;             /* from learned.yaml; empty without */
    struct stv_learned_casks learned_casks; /* from learned-casks.yaml; empty without */
    struct stv_kept_folder cache;           /* from one command to the next; may not move */
    struct stv_kept_tables *kept;           /* from one outlook to the next; NULL: not kept */
    struct stv_told *told;                  /* learned.n_racks; NULL before stv_chain_climate */
    struct stv_rack_sun sun;                /* of the weather, for them; empty without */
    struct stv_chain_warehouse *warehouses; /* book.n_warehouses */
    struct stv_position *flat_positions;    /* all warehouses' positions; columns are theirs */
    double *flat_exposed_frac;
    struct stv_position_set set; /* the same, for the casks */
    int64_t as_of_day_d;
    const char *as_of_table; /* whose latest row that day is; NULL: it was said */
    bool *is_drained; /* per cask: by history.csv more was drawn of it by that day than was left */
    struct stv_lineage *lineage; /* of the book's ledger, to that day */
    struct stv_run_options run;
    enum stv_basis basis;
    bool needs_attention; /* exit code 1 at the end */
    bool despite_holes, is_as_if_never_gauged;
    int64_t hindsight_d; /* to which casks were learned that know too much; INT64_MIN: none */
    char lacking[320];   /* data that an answer would need, in words; "" when all is there */
};

/* Reads and checks everything; no climate yet.  On failure `chain->problems` says why.
 * Errors: those of stv_book_read and the readers; STV_E_USAGE. */
STV_MUST_CHECK enum stv_status stv_chain_read(const struct stv_request *request,
                                              struct stv_chain *chain);
/* The wood that the house's noses call ready stands in where the book says nothing of it. */
void stv_chain_take_noses(struct stv_chain *chain);
/* Weather completed, buildings run, positions joined.  STV_E_NO_DATA when nothing is known. */
STV_MUST_CHECK enum stv_status stv_chain_climate(struct stv_chain *chain);
void stv_chain_free(struct stv_chain *chain);

/* Results, each from a chain with its climate; free with the model's own functions. */
STV_MUST_CHECK enum stv_status stv_chain_climate_result(const struct stv_chain *chain,
                                                        struct stv_climate_result *out);
/* Years of the tier that stands for a warehouse. */
struct stv_chain_years {
    struct stv_climate_days days;
    struct stv_degree_years years; /* n 0: none is whole or goes on */
};

/* Days of the tier that stands for a warehouse; free with stv_climate_days_free.
 * Errors: those of stv_climate_days_make */
STV_MUST_CHECK enum stv_status stv_chain_days(const struct stv_chain *chain, size_t warehouse_idx,
                                              struct stv_climate_days *out);
/* What the chain says of an outlook: ledger, climates, rules, numbers and trials; no day yet. */
struct stv_outlook_request stv_chain_request(const struct stv_chain *chain);
/* Casks at the given days, and the sum of them all; rows may be NULL. */
STV_MUST_CHECK enum stv_status stv_chain_outlook(const struct stv_chain *chain,
                                                 const int64_t *days_d, size_t n_days,
                                                 const struct stv_outlook_rows *rows,
                                                 struct stv_outlook *out);
/* The day of a cask's planned age, a year from the day of the answer at least. */
int64_t stv_chain_planned_day(const struct stv_chain *chain, int cask_idx);
/* True of such a day that is a year ahead, since the planned age itself comes sooner. */
bool stv_chain_is_year_ahead(const struct stv_chain *chain, int64_t planned_day_d);
/* The day of the answer and the same day of each of the next n_months; malloc'd, NULL without
 * memory. */
int64_t *stv_chain_months(const struct stv_chain *chain, size_t n_months);
/* Windows in an outlook of those months. */
STV_MUST_CHECK enum stv_status stv_chain_windows(const struct stv_chain *chain,
                                                 const struct stv_outlook *months,
                                                 struct stv_bottling *out);
/* How sites are compared: trials, and where the air of their buildings and its tables are kept,
 * NULL for nowhere. */
struct stv_sites_terms {
    struct stv_run_options run;
    const struct stv_byte_store *store;
};
/* Sites of a study, out NULL to leave them; the climates of the judged tier come back.  out_changes
 * receives one result per site when the study has changes, else NULL; free with
 * stv_chain_changes_free, also after a failure.
 * Problems of the weather files go to `problems`. */
STV_MUST_CHECK enum stv_status
stv_chain_sites(const struct stv_study *study, const struct stv_sites_terms *terms,
                struct stv_problems *problems, struct stv_sites_result *out,
                struct stv_climate_result *out_climates, struct stv_changes_result **out_changes);
void stv_chain_changes_free(const struct stv_study *study, struct stv_changes_result *changes);
/* Weather of a site of a study, made whole.  Both are to be freed, also after a failure, and start
 * with all members zero.  Errors: as stv_weather_read and stv_weather_complete */
STV_MUST_CHECK enum stv_status stv_chain_site_weather(const struct stv_study_site *site,
                                                      struct stv_problems *problems,
                                                      struct stv_weather_record *out_record,
                                                      struct stv_weather *out,
                                                      struct stv_weather_meta *out_meta);
/* A tier of a building there, with no logger.  Errors: as stv_position_join */
STV_MUST_CHECK enum stv_status stv_chain_site_tier(const struct stv_study *study, int tier_idx,
                                                   const struct stv_building_climate *climate,
                                                   struct stv_position *out);
/* Seasons of a warehouse with tiers: the user's months where they are said, else its own 13 weeks.
 * Errors: those of stv_seasons_find */
STV_MUST_CHECK enum stv_status stv_chain_seasons(const struct stv_chain *chain,
                                                 size_t warehouse_idx,
                                                 struct stv_season_span out[STV_SEASON_N]);
/* Puts the months that a user named in the place of the store's own 13 weeks. */
void stv_chain_named_seasons(const struct stv_months *warm, const struct stv_months *cold,
                             struct stv_season_span out[STV_SEASON_N]);

/* Full casks that the book lists in a warehouse on its day. */
size_t stv_chain_listed(const struct stv_chain *chain, size_t warehouse_idx);

/* Index of a cask by id; -1 when unknown. */
int stv_chain_cask(const struct stv_chain *chain, const char *id);
/* Id of the cask that may have been meant; NULL when none is near. */
const char *stv_chain_nearest_cask(const struct stv_chain *chain, const char *id);
/* "tier 2, bay 7, front": a place in words, one-based. */
void stv_place_text(const struct stv_place *place, char *buffer, size_t size);

#endif
