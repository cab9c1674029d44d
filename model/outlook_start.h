/* Private to outlook.c: what one run leaves of a group for the next, and whether it still holds. */
#ifndef STV_MODEL_OUTLOOK_START_H
#define STV_MODEL_OUTLOOK_START_H

#include "model/ensemble.h"
#include "model/path_start.h"

/* A group of an ensemble, the days on which it is told and the starts of its request. */
struct stv__start_place {
    const struct stv_outlook_starts *starts;
    const struct stv__ensemble *ensemble;
    const struct stv_path_group *group;
    const int64_t *days_d;
    size_t n_days;
};
/* What was left for the group, numbers of its casks put into out_lanes; NULL where nothing holds:
 * other casks, trials, or days and events up to the start's day. */
const struct stv__path_start *stv__start_find(const struct stv__start_place *place,
                                              struct stv__lane_cask *out_lanes);
/* Leaves a start, which is empty afterwards, in the stead of an older one.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__start_leave(const struct stv__start_place *place,
                                                const struct stv__lane_cask *lanes,
                                                struct stv__path_start *start);
/* The first day that any of the group's casks does not want to be known; INT64_MAX: none does. */
int64_t stv__start_leave_day(const struct stv__start_place *place);

#endif
