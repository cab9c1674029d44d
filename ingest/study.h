/* sites.yaml: the same casks and building under several skies, and changes of that building. */
#ifndef STV_INGEST_STUDY_H
#define STV_INGEST_STUDY_H

#include "ingest/book.h"
#include "ingest/hash.h"
#include "model/sites_changes.h"
#include "model/sites_grid.h"

#define STV_STUDY_SITES_MAX 64
#define STV_STUDY_CHANGES_MAX 32
#define STV_STUDY_BUILDINGS_MAX 8
#define STV_STUDY_CASKS_MAX 256
#define STV_STUDY_COUNT_MOST 1000000

struct stv_study_site {
    char name[STV_ID_MAX];
    struct stv_weather_source weather;
    char said_sha256[STV_SHA256_TEXT]; /* of what the study says of it, its name apart */
};

/* One of the buildings and of the casks that a study puts under each sky. */
struct stv_study_building {
    char name[STV_ID_MAX];
    char checked[STV_NAME_MAX]; /* how its model was checked against loggers; "": never */
    struct stv_building building;
    char said_sha256[STV_SHA256_TEXT];
};
struct stv_study_cask {
    char name[STV_ID_MAX];
    struct stv_cask cask;
    double fill_abv20_frac;
    size_t n_alike; /* such casks, for means over all; 1 where the study says none */
    char said_sha256[STV_SHA256_TEXT];
};

struct stv_study {
    char name[STV_NAME_MAX];
    struct stv_building building;
    int tier_idx; /* tier judged; middle when not said */
    struct stv_cask cask;
    double fill_abv20_frac;
    double margin[STV_SITE_METRIC_N];
    double margin_liquid_k, margin_rh_frac, margin_bottles_nd; /* for changes */
    struct stv_study_site sites[STV_STUDY_SITES_MAX];
    size_t n_sites;
    struct stv_building_change changes[STV_STUDY_CHANGES_MAX];
    size_t n_changes;
    /* The grid; a study that says none of it is one building, one cask, one tier and one year. */
    bool is_grid; /* it says buildings, casks, tiers or follow_years */
    struct stv_study_building buildings[STV_STUDY_BUILDINGS_MAX];
    struct stv_study_cask casks[STV_STUDY_CASKS_MAX];
    int tiers_idx[STV_TIERS_MAX];
    size_t n_buildings, n_casks, n_tiers, follow_y;
    double cell_margin[STV_CELL_METRIC_N];
    char book_path[512]; /* its book.yaml; "" without a book */
    /* The house's, where the study names its book: else the defaults. */
    char house[STV_NAME_MAX], warehouse[STV_NAME_MAX]; /* "" without a book */
    bool has_own_site;                                 /* sites[0] is the book's weather */
    struct stv_house_rules rules;
    struct stv_params params;
    struct stv_cask_numbers numbers;
    struct stv_gauge_numbers gauge_numbers;
    char overridden[STV_OVERRIDDEN_MAX]; /* as in struct stv_book */
    struct stv_months warm_months, cold_months;
};

/* Reads a study.
 *
 * path      sites.yaml; weather files are relative to its folder and must be there
 * problems  every fault with line and column, as STV_REFUSED
 * out       a plain struct, nothing to free; undefined after a failure
 *
 * Keys:     study, building (kind needed) or book (its folder) and warehouse, tier (one-based),
 * cask (size, held, uses, stave, strength), margin (litres, alcohol, strength, wood, fruit,
 *           temperature, humidity, bottles, window, hot_hours, cool_hours, cycles), sites (name,
 *           weather), changes (name, keys of a building); for a grid buildings (name, checked, keys
 *           of a building put over building or book), casks (name, count of all or of none, keys of
 * a cask), tiers, follow_years Book:     gives building, weather (when no sites are listed),
 * bottles, reference cask, months of the seasons and parameters; of its files only book.yaml is
 * read Defaults: the middle tier; the book's reference cask, else 200 L at 60 %vol, new; one year
 *           followed; margins litres 0.3 %, alcohol 0.3 %, strength 0.15 %vol, wood 0.05, fruit
 *           0.05, temperature 0.5 K, humidity 3 % (assumed: about what a gauge, a nose and a plain
 *           logger tell); bottles 0.25 of a cask a year for changes (assumed: less is not worth a
 *           builder's call) and 1 for a grid, window 1 month, hot hours 50, cool hours 100 and
 *           cycles 5 a year (assumed: less plans nothing)
 * Errors:   STV_E_IO no such file; STV_E_PARSE something was refused; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_study_read(const char *path, struct stv_problems *problems,
                                              struct stv_study *out);

#endif
