/* Shared inside model/: casks through time, all trials of a group of casks at once - evaporation,
 * joints, leaks, indrink, oak and esters between events, and the events themselves. */
#ifndef STV_MODEL_PATH_H
#define STV_MODEL_PATH_H

#include "model/ledger.h"
#include "model/path_packet.h"

/* Casks that exchange spirit, and all that was done with them. */
struct stv_path_group {
    const size_t *members, *events; /* indices in the ledger, both ascending */
    size_t n_members, n_events;
};

struct stv__path_start; /* model/path_start.h */

/* What is told of a cask on a day; packet counts from 0, is_full 0 when it holds nothing. */
typedef void stv__path_report(void *context, size_t member_idx, size_t day_idx, size_t packet_idx,
                              const struct stv__packet *packet);

struct stv_path_input {
    const struct stv_ledger *ledger;
    const struct stv__path_model *model;
    struct stv_climate_table *const *tables; /* per position; of the years of events and days */
    const size_t *event_positions;           /* per event: position of its place */
    size_t reference_idx;                    /* position of a cask whose place nobody said */
    const int64_t *days_d;                   /* days to be reported, ascending */
    size_t n_days;
    size_t n_packets; /* trials / STV__PACKET; packet p holds lanes of half p % STV__PACKETS */
    /* [packet * STV__PACKET + lane]; SIZE_MAX: the lane stays empty, for it is told to nobody.
     * NULL: all are told. */
    const size_t *draw_of_lane;
    const struct stv__path_start *from; /* goes on from there; NULL: from the first event */
    int64_t leave_day_d;                /* what is left to `leave` knows nothing of this day */
    struct stv__path_start *leave;      /* stays empty where no step begins in time; NULL: nobody */
};

/* Runs the casks of one group.
 *
 * input    the ledger should have passed stv_ledger_check; a transfer out of an empty cask moves
 *          nothing, and litres that empty a cask leave it empty
 * casks    [member * n_packets + packet]
 * report   called for every member, day and packet with the state after that day's events; not for
 *          days up to that of `from`
 *
 * Errors:  STV_E_DOMAIN  a fill or top-up that cannot be; STV_E_MEMORY
 * Accuracy: as tested: 1e-4 of every state, or of 1 % of the fill where that is more, against an
 *           integration over every hour of 20 years, down to two litres; of a cask that leaks 2e-4,
 *           and 2e-3 in these (tests/test_engine.c); water and ethanol are kept to 1e-9
 * Source:  parameter sheet (DEVELOPERS.md, Sources), sections 2, 4, 5
 * Assumes: nothing evaporates below 1 L; beyond 12..92 % vol the fluxes are those of that end; a
 *          cask that is filled, moved or added to is at once as warm as one that always held so
 *          much there
 * Memory:  frees what it allocates */
STV_MUST_CHECK enum stv_status stv_path_run(const struct stv_path_input *input,
                                            const struct stv_path_group *group,
                                            const struct stv__lane_cask *casks,
                                            stv__path_report *report, void *context);

#endif
