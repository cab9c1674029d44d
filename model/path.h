/* Casks through time in one draw: evaporation, joints, indrink, oak and esters between events,
 * and the events themselves. */
#ifndef STV_MODEL_PATH_H
#define STV_MODEL_PATH_H

#include "model/climate_table.h"
#include "model/extraction.h"
#include "model/ledger.h"
#include "model/params.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* Where water and ethanol went, since the spirit was filled; carried along with transfers. */
struct stv_losses {
    double air_ethanol_kg, air_water_kg;
    double joint_ethanol_kg, joint_water_kg;
    double indrink_ethanol_kg, indrink_water_kg;
    double sample_ethanol_kg, sample_water_kg;
};

/* One cask at one moment. */
struct stv_cask_state {
    bool is_full;
    bool is_strength_held; /* its strength once left the tables' range */
    double ethanol_kg, water_kg;
    double content_mg[STV_OAK_N];
    double ester_mg, fruit_nd;
    struct stv_oak_pools pools;
    struct stv_losses losses;
    size_t position_idx;
    double indrink_total_l, damp_water_kg; /* what dry wood takes, and what rinsed wood gives */
    int64_t wetted_day_d;                  /* since when */
    int64_t emptied_day_d;                 /* INT64_MIN when the wood was never wet here */
    double in_ethanol_kg, in_water_kg;     /* all that ever came in, and went out by hand */
    double out_ethanol_kg, out_water_kg;
    double gone_ethanol_kg, gone_water_kg; /* all that ever went by itself or as sample */
};

/* What one draw gives to the casks of a ledger. */
struct stv_path_input {
    const struct stv_ledger *ledger;
    const struct stv_params *params;               /* per cask of the ledger */
    const struct stv_cask_numbers *numbers;        /* of all casks; never NULL */
    const struct stv_climate_table *const *tables; /* per position, of this draw's member */
    const struct stv__cask_functions *functions;
    const size_t *event_positions; /* per event: position of its place */
    size_t reference_idx;          /* position of a cask whose place nobody said */
    const int64_t *days_d;         /* days to be reported, ascending */
    size_t n_days;
    uint64_t seed;
    size_t member_idx;
    bool is_central; /* default parameters alone: years after the record repeat in order */
};

/* Casks that exchange spirit, and all that was done with them. */
struct stv_path_group {
    const size_t *members, *events; /* indices in the ledger, events in its order */
    size_t n_members, n_events;
};

/* Runs the casks of one group.
 *
 * input       the ledger should have passed stv_ledger_check; a transfer out of an empty cask moves
 *             nothing, and litres that empty a cask leave it empty
 * out_states  [member * n_days + day]: the state after that day's events
 *
 * Errors:  STV_E_DOMAIN  a fill or top-up that cannot be; STV_E_MEMORY
 * Accuracy: as tested: litres and strength within 1e-4 of an integration over every hour for two
 *           harsh years (200 L; 50 L 2e-4), and when the step is halved; water and ethanol are kept
 * to 1e-9 Source:  parameter sheet (DEVELOPERS.md, Sources), sections 2, 4, 5 Assumes: nothing
 * evaporates below 1 L; beyond 12..92 % vol the fluxes are those of that end Memory:  frees what it
 * allocates */
STV_MUST_CHECK enum stv_status stv_path_run(const struct stv_path_input *input,
                                            const struct stv_path_group *group,
                                            struct stv_cask_state *out_states);

#endif
