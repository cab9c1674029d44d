/* sites.yaml: the same casks and building under several skies, and changes of that building. */
#ifndef STV_INGEST_STUDY_H
#define STV_INGEST_STUDY_H

#include "ingest/book.h"
#include "model/sites_changes.h"

#define STV_STUDY_SITES_MAX 64
#define STV_STUDY_CHANGES_MAX 32

struct stv_study_site {
    char name[STV_ID_MAX];
    struct stv_weather_source weather;
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
 *           temperature, humidity, bottles), sites (name, weather), changes (name, keys of a
 * building) Book:     gives building, weather (when no sites are listed), bottles, reference cask,
 * months of the seasons and parameters; of its files only book.yaml is read Defaults: the middle
 * tier; the book's reference cask, else 200 L at 60 %vol, new; margins litres 0.3 %, alcohol 0.3 %,
 * strength 0.15 %vol, wood 0.05, fruit 0.05, temperature 0.5 K, humidity 3 % (assumed: about what a
 * gauge, a nose and a plain logger tell); bottles 0.25 of a cask a year (assumed: less is not worth
 * a builder's call) Errors:   STV_E_IO no such file; STV_E_PARSE something was refused;
 * STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_study_read(const char *path, struct stv_problems *problems,
                                              struct stv_study *out);

#endif
