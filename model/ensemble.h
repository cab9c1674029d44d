/* Private to outlook.c: what all draws share - tables, groups, scores. */
#ifndef STV_MODEL_ENSEMBLE_H
#define STV_MODEL_ENSEMBLE_H

#include "model/draws.h"
#include "model/outlook.h"
#include "model/path.h"

struct stv__ensemble {
    const struct stv_ledger *ledger;
    const struct stv_position_set *set;
    struct stv_params base;
    struct stv_cask_numbers numbers;
    struct stv__cask_functions *functions;
    struct stv_climate_table **tables; /* [member * n_positions + position], NULL when unused */
    size_t n_members, n_draws;         /* n_draws >= 1 */
    bool is_central;
    uint64_t seed;
    struct stv_house_draws house;
    uint64_t *cask_keys;
    size_t *event_positions;
    struct stv_path_group *groups; /* their index lists live in group_room */
    size_t n_groups;
    size_t *group_room;
};

/* Builds what a request needs; positions where no cask ever stands get no table.
 * Errors: STV_E_NO_DATA no position; others of stv_climate_table_new, stv_house_draws_new.
 * Memory: free with stv__ensemble_free when STV_OK; request's parts must outlive it. */
STV_MUST_CHECK enum stv_status stv__ensemble_new(const struct stv_outlook_request *request,
                                                 struct stv__ensemble *out);
void stv__ensemble_free(struct stv__ensemble *ensemble);

/* Largest share of held hours (stv_table_held_frac) among the climates that casks stand in. */
double stv__ensemble_held_frac(const struct stv__ensemble *ensemble);

/* Parameters of all casks in one draw; cask_idx n_casks is the reference cask. */
void stv__ensemble_params(const struct stv__ensemble *ensemble, size_t draw_idx,
                          struct stv_params *out_params);
/* Climate member of a draw, 0 for the central run. */
size_t stv__ensemble_member(const struct stv__ensemble *ensemble, size_t draw_idx);

#endif
