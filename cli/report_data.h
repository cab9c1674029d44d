/* Everything that the report shows, gathered once. */
#ifndef STV_CLI_REPORT_DATA_H
#define STV_CLI_REPORT_DATA_H

#include "cli/chain.h"
#include "cli/forecast.h"
#include "cli/report_answers.h"
#include "cli/report_crew.h"
#include "cli/season_losses.h"
#include "cli/tier_paths.h"
#include "cli/told_gauges.h"
#include "cli/vapour_clock.h"
#include "cli/words.h"
#include "plots/report.h"

struct stv_report_data {
    const struct stv_chain *chain;
    struct stv_climate_result climate;
    struct stv_climate_days *days; /* of each warehouse's middle tier */
    struct stv_store_paths *paths; /* per warehouse */
    int *fill_idx;                 /* of a page without forecasts, as in struct stv_report_input */
    bool has_casks;                /* at least one cask is full: the eight below are filled, of a
                                      house that is not large months and bottling later */
    bool is_large;                 /* of the outlook the ranges alone; trials and kinds beside it */
    struct stv_outlook outlook, trials;
    struct stv_fan_days *own_days; /* per cask of the ledger */
    struct stv_outlook half_years; /* of a house that is not large, on the guards' days */
    struct stv_report_kinds kinds;
    struct stv_forecast forecast;
    struct stv_outlook months;
    struct stv_bottling bottling;
    struct stv_house_seasons seasons;
    struct stv_told_figures told_figures;
    struct stv_vapour_clock *vapour;   /* per warehouse */
    struct stv_report_answers answers; /* of the whole page alone */
    struct stv_report_crew crew;       /* likewise */
    bool has_sites;
    struct stv_sites_result sites;
    struct stv_climate_result site_climates;
    struct stv_study *study;            /* NULL: none */
    struct stv_changes_result *changes; /* per site of the study; NULL without any */
    struct stv_place_words *places;     /* per cask */
    const char **place_texts;           /* into places */
    struct stv_report_gauge *gauges, *set_aside;
    size_t n_gauges, n_set_aside;
};

struct stv_report_ask {
    const char *study_path; /* NULL: none */
    bool keep_going;        /* a study that is refused is left out */
    bool without_forecasts; /* no cask is followed, no site compared */
};

/* Faults of the study go to `problems`.
 * Errors: those of the chain and of stv_study_read; frees what it made. */
STV_MUST_CHECK enum stv_status stv_report_data_make(const struct stv_chain *chain,
                                                    const struct stv_report_ask *ask,
                                                    struct stv_problems *problems,
                                                    struct stv_report_data *out);
void stv_report_data_free(struct stv_report_data *data);

/* Months and windows of a house that is not large: found here, where nothing else asked for them,
 * or taken from the answers.  Errors: those of stv_outlook_run */
STV_MUST_CHECK enum stv_status stv_report_find_windows(struct stv_report_data *data);
STV_MUST_CHECK enum stv_status stv_report_take_windows(struct stv_report_data *data);

#endif
