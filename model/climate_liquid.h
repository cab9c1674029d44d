/* Private to climate_table.c and climate_cell.c: the liquid of one node of the time constant
 * through a place's record. */
#ifndef STV_MODEL_CLIMATE_LIQUID_H
#define STV_MODEL_CLIMATE_LIQUID_H

#include "model/cask_heat.h"
#include "model/climate_cell.h"

struct stv__table_liquid {
    bool is_walked; /* else only the pressures and counts may be known */
    struct stv__liquid_walk walks[STV__PACKETS]; /* weights of the lanes; their state is not kept */
    float *start_c; /* [run * STV__LANES + lane]: when the run begins; a float is 1e-6 K fine */
    double mean_pressure_pa[STV__LANES]; /* of ethanol, over the record's year */
    size_t n_hours, n_held;              /* hours of all lanes; those outside -15..50 C */
};

/* A liquid that is not walked.
 * Errors: STV_E_MEMORY.  Memory: free with stv__table_liquid_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv__table_liquid_new(struct stv__table_liquid **out);
/* The time constant of a lane at a node. */
double stv__table_lane_tau_h(const struct stv_climate_table *table, size_t node, size_t lane);
/* Walks it through the record, which must be there hour by hour.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__table_liquid_walk(const struct stv_climate_table *table,
                                                      size_t node,
                                                      struct stv__table_liquid *liquid);
void stv__table_liquid_free(struct stv__table_liquid *liquid);

/* Hours of up to STV__PACKET runs side by side: means of the liquid, and its move from the hour's
 * beginning to its end. */
struct stv__liquid_hours {
    stv__v8 at_c[STV__RUN_MOST], move_k[STV__RUN_MOST];
};
/* Walks runs of one lane, each as far as the longest. */
void stv__table_liquid_runs(const struct stv_climate_table *table,
                            const struct stv__table_liquid *liquid, size_t lane,
                            const uint32_t *runs, size_t n_runs, struct stv__liquid_hours *out);

#endif
