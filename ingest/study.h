/* sites.yaml: the same casks and building under several skies. */
#ifndef STV_INGEST_STUDY_H
#define STV_INGEST_STUDY_H

#include "ingest/book.h"
#include "model/sites.h"

#define STV_STUDY_SITES_MAX 64

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
    struct stv_study_site sites[STV_STUDY_SITES_MAX];
    size_t n_sites;
};

/* Reads a study.
 *
 * path      sites.yaml; weather files are relative to its folder and must be there
 * problems  every fault with line and column, as STV_REFUSED
 * out       a plain struct, nothing to free; undefined after a failure
 *
 * Keys:     study, building (kind needed), tier (one-based), cask (size, held, uses, stave,
 *           strength), margin (litres, alcohol, strength, wood, fruit), sites (name, weather)
 * Defaults: the middle tier; a new 200 L cask filled at 60 %vol; margins litres 0.3 %, alcohol
 *           0.3 %, strength 0.15 %vol, wood 0.05, fruit 0.05 (assumed: about what a gauge tells)
 * Errors:   STV_E_IO no such file; STV_E_PARSE something was refused; STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_study_read(const char *path, struct stv_problems *problems,
                                              struct stv_study *out);

#endif
