/* Shared inside model/: where the walk of a group stands on a day, so that another walk, whose
 * events and reported days are the same up to it, goes on from there to the same bytes. */
#ifndef STV_MODEL_PATH_START_H
#define STV_MODEL_PATH_START_H

#include "model/path_events.h"

struct stv__path_start {
    int64_t day_d; /* begins a step of the tables: no later event cuts what lies before it */
    int64_t last_event_d;
    size_t n_events, n_days; /* of the group's events and the reported days, done by then */
    size_t n_members, n_packets;
    struct stv__cask_now *casks; /* n_members; without their packets, lanes and wood */
    struct stv__packet *packets; /* [member * n_packets + packet]; NULL: nothing was left */
};
/* Errors: STV_E_MEMORY.  Free in any case. */
STV_MUST_CHECK enum stv_status stv__path_start_new(size_t n_members, size_t n_packets,
                                                   struct stv__path_start *out);
void stv__path_start_free(struct stv__path_start *start); /* may be called twice */

#endif
