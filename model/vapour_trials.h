/* Trials of a store's vapour: every cask with its own size, content and strength, its wood and
 * joints drawn as in a forecast, the house's part common to all; the air that passes drawn beside
 * them. */
#ifndef STV_MODEL_VAPOUR_TRIALS_H
#define STV_MODEL_VAPOUR_TRIALS_H

#include "model/calendar.h"
#include "model/cask_posterior.h"
#include "model/ledger.h"
#include "model/outlook.h"
#include "model/params.h"
#include "model/status.h"
#include "model/units.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Hours that every trial is asked for. */
#define STV_VAPOUR_WATCH 64

/* A cask that lies in the store. */
struct stv_vapour_cask {
    const struct stv_cask *cask;
    size_t position_idx;
    /* n_draws each, of the same draws as the trials; NaN: empty in that draw */
    const double *volume20_l, *abv20_frac;
    double middle_volume20_l, middle_abv20_frac; /* for the default numbers */
};

struct stv_vapour_request {
    const struct stv_vapour_cask *casks;
    size_t n_casks;
    double crowd_nd; /* times what they give off: casks that stand there and are not listed; >= 1 */
    const struct stv_position_set *set; /* positions of the casks share the store's hours */
    const struct stv_params *base;
    const struct stv_cask_numbers *numbers;
    const struct stv_posterior *learned; /* NULL: nothing was learned */
    uint64_t seed, store_key;
    size_t n_draws; /* 0: no trials */
    /* the room: n_hours each */
    const double *air_m3_h, *air_c;
    size_t n_hours;
    bool is_air_said; /* the air that passes is not drawn */
    double volume_m3, pressure_pa;
    size_t watch_idx[STV_VAPOUR_WATCH]; /* hours, n_watch of them */
    size_t n_watch;
};

/* Figures of one trial, means over its known hours. */
struct stv_vapour_trial {
    double mean_kg_h, peak_kg_h;
    double peak_vapour_m3_h; /* of the hour that gives off most */
    size_t peak_idx;
    double air_mean_m3_h, mean_ppm, peak_ppm;
    double over_day_frac; /* share of the hours above STV_VAPOUR_DAY_PPM */
    double watch_ppm[STV_VAPOUR_WATCH], watch_kg_h[STV_VAPOUR_WATCH];
    /* Highest in each hour of the day of each month, local standard time; NaN where no hour is
     * known, or no cask lies there. */
    double clock_ppm[STV_MONTHS][STV_DAY_H];
};

/* The default numbers, at the casks' middle contents.
 *
 * out_release_kg_h, out_ppm   n_hours each; NaN where a place's climate is not known
 *
 * Errors:  STV_E_ARG     an hour that is watched lies outside; positions of other hours
 *          STV_E_DOMAIN  volume or pressure; a content that cannot be
 *          STV_E_MEMORY
 * Accuracy: as tested: within 0.3 % of stv_evaporation_rates hour by hour
 * Source:  as stv_evaporation_rates; the liquid of each cask has its own time constant
 * Assumes: contents stay what they are over the record; the room's vapour slows nothing; what the
 *          joints lose follows no hour but, in trials, the pressure of ethanol */
STV_MUST_CHECK enum stv_status stv_vapour_default(const struct stv_vapour_request *request,
                                                  double *out_release_kg_h, double *out_ppm,
                                                  struct stv_vapour_trial *out);

/* n_draws trials, the same bytes at any number of threads.
 *
 * Source:  stv_scores_drawn, stv_posterior_move_cask, stv_air_factor_drawn_nd
 * Memory:  some 16 doubles for each hour and 3 MB, in each thread */
STV_MUST_CHECK enum stv_status stv_vapour_trials(const struct stv_vapour_request *request,
                                                 struct stv_vapour_trial *out);

#endif
