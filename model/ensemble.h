/* Shared inside model/: what all trials share - climate tables, groups, scores. */
#ifndef STV_MODEL_ENSEMBLE_H
#define STV_MODEL_ENSEMBLE_H

#include "model/cask_kinds.h"
#include "model/draws.h"
#include "model/outlook.h"
#include "model/path.h"

struct stv__ensemble {
    const struct stv_ledger *ledger;
    const struct stv_position_set *set;
    struct stv_params base;
    struct stv_cask_numbers numbers;
    struct stv_run_options options;
    const struct stv_posterior *learned; /* NULL: nothing */
    bool is_central;
    bool is_probing;              /* lanes differ by one score each, for derivatives */
    size_t n_draws, n_packets;    /* n_draws >= 1 */
    size_t *draw_of_lane;         /* [packet * STV__PACKET + lane]: SIZE_MAX where none is left */
    struct stv_house_draws house; /* empty for the central run */
    struct stv__cask_kinds kinds;
    uint64_t *cask_keys;
    /* Of each member: its errors of temperature and humidity, and its factor on time constants. */
    double liquid_nd[STV__LANES], humidity_nd[STV__LANES], tau_factor_nd[STV__LANES];
    struct stv__lane_rows *rows;
    struct stv__path_model model;
    struct stv_climate_table **tables; /* per position, NULL when not in use */
    struct stv_kept_tables *kept;      /* NULL: nothing is kept for another run */
    int32_t first_year, last_year;     /* of events and days */
    /* The reference cask is filled on the first day of one and told in the other. */
    int32_t reference_year, last_reference_year;
    size_t *event_positions;
    double *stays_y;               /* per position, of all casks that are put there */
    struct stv_path_group *groups; /* by the first position they stand in */
    size_t n_groups;
    size_t *group_room; /* the groups' lists */
    double held_frac;   /* worst of the tables dropped so far */
};

/* Builds what a request needs; no table yet.
 * Errors: STV_E_NO_DATA no position; others of stv__lane_rows_new, stv_house_draws_new.
 * Memory: free with stv__ensemble_free when STV_OK; request's parts must outlive it. */
STV_MUST_CHECK enum stv_status stv__ensemble_new(const struct stv_outlook_request *request,
                                                 struct stv__ensemble *out);
/* The same for derivatives: lane 0 is the middle of all scores, lane 1 + s has the member's score s
 * at STV__PROBE_ND, the second half of the lanes is lane 0 again.  Numbers of casks are the
 * caller's. */
#define STV__PROBE_ND 0.5
STV_MUST_CHECK enum stv_status stv__ensemble_new_probing(const struct stv_outlook_request *request,
                                                         struct stv__ensemble *out);
void stv__ensemble_free(struct stv__ensemble *ensemble);

/* Groups [from, *out_to) that share so few positions that their tables fit together: makes these
 * tables and drops those that are not needed any more.  The reference's stays.
 * Errors: those of stv_climate_table_new and stv__table_cell */
STV_MUST_CHECK enum stv_status stv__ensemble_tables(struct stv__ensemble *ensemble, size_t from,
                                                    size_t *out_to);

/* Largest share of held hours (stv_table_held_frac) of all tables so far. */
double stv__ensemble_held_frac(const struct stv__ensemble *ensemble);

/* Numbers of a group's casks, [member * n_packets + packet].
 * shifts_nd   NULL, or what to add to the own scores and the leak: [(member * n_packets + packet) *
 * STV__PACKET
 *             + lane] */
struct stv__own_shift {
    double score_nd[STV_OWN_SCORE_N];
    double leak_per_y; /* of a trial in which the cask leaks */
};
void stv__ensemble_lanes(const struct stv__ensemble *ensemble, const struct stv_path_group *group,
                         const struct stv__own_shift *shifts_nd, struct stv__lane_cask *out);
/* Scores of a cask of the ledger in a draw, moved to what was learned. */
struct stv_scores stv__ensemble_scores(const struct stv__ensemble *ensemble, size_t cask_idx,
                                       size_t draw_idx);
/* Those of the house's reference cask, n_packets. */
void stv__ensemble_reference_lanes(const struct stv__ensemble *ensemble,
                                   const struct stv_cask_geometry *geometry,
                                   struct stv__lane_cask *out);

/* What a path over this ensemble's groups needs, but for its days. */
struct stv_path_input stv__ensemble_path(const struct stv__ensemble *ensemble);

/* Tables of all positions that groups stand in at once, for callers that come back to them. */
STV_MUST_CHECK enum stv_status stv__ensemble_all_tables(struct stv__ensemble *ensemble);

/* The house's reference cask as a ledger of its own: filled on the first day of the reference's
 * year, told at its age. */
struct stv__reference_run {
    struct stv_cask cask;
    struct stv_event fill;
    int64_t end_d;
};
STV_MUST_CHECK enum stv_status stv__reference_run_of(const struct stv__ensemble *ensemble,
                                                     const struct stv_house_rules *rules,
                                                     struct stv__reference_run *out);
/* All bytes that decide how the run ends, but for its table's; NULL without memory.  The caller
 * frees them. */
void *stv__reference_key(const struct stv__ensemble *ensemble, const struct stv__reference_run *run,
                         const struct stv__lane_cask *lanes, size_t *out_n);
/* lanes: n_packets.  The reference's table must be there. */
STV_MUST_CHECK enum stv_status stv__reference_run(const struct stv__ensemble *ensemble,
                                                  const struct stv__reference_run *run,
                                                  const struct stv__lane_cask *lanes,
                                                  stv__path_report *report, void *context);

#endif
