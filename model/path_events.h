/* Private to path.c: what is done with a cask, in every trial of it. */
#ifndef STV_MODEL_PATH_EVENTS_H
#define STV_MODEL_PATH_EVENTS_H

#include "model/path.h"

/* A cask of the group: what all its trials share, and its packets. */
struct stv__cask_now {
    bool is_full;      /* holds spirit */
    int64_t stopped_d; /* when its leak was stopped last; INT64_MIN: never */
    size_t position_idx;
    double indrink_total_l, damp_water_kg; /* what dry wood takes, and what rinsed wood gives */
    int64_t wetted_day_d;                  /* since when */
    int64_t emptied_day_d;                 /* INT64_MIN when the wood was never wet here */
    const struct stv_cask *cask;
    const struct stv__lane_cask *lanes; /* n_packets */
    struct stv__packet *packets;        /* n_packets */
};

void stv__cask_now_start(const struct stv_path_input *input, struct stv__cask_now *now);

/* Applies an event to the cask and, for a transfer, to the other one (else NULL).
 * Errors: STV_E_DOMAIN a fill or top-up that cannot be */
STV_MUST_CHECK enum stv_status stv__event_apply(const struct stv_path_input *input,
                                                size_t event_idx, struct stv__cask_now *now,
                                                struct stv__cask_now *other);

#endif
