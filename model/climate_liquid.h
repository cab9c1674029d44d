/* Private to climate_table.c and climate_cell.c: the liquid of one node of the time constant
 * through a place's record. */
#ifndef STV_MODEL_CLIMATE_LIQUID_H
#define STV_MODEL_CLIMATE_LIQUID_H

#include "model/cask_heat.h"
#include "model/climate_cell.h"

struct stv__table_liquid {
    bool is_walked; /* else only the pressures and counts may be known */
    struct stv__liquid_walk walks[STV__PACKETS]; /* weights of the lanes; their state is not kept */
    /* [run * STV__LANES + lane]: the state when the hour before the run begins, or the run itself
     * where that hour is not known.  A float is 1e-6 K fine. */
    float *start_c;
    double mean_pressure_pa[STV__LANES]; /* of ethanol, over the record's year */
    size_t n_hours, n_held;              /* hours of all lanes; those outside -15..50 C */
};

/* A liquid that is not walked.
 * Errors: STV_E_MEMORY.  Memory: free with stv__table_liquid_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv__table_liquid_new(struct stv__table_liquid **out);
/* Walks it through the record, which must be there hour by hour.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv__table_liquid_walk(const struct stv_climate_table *table,
                                                      size_t node,
                                                      struct stv__table_liquid *liquid);
void stv__table_liquid_free(struct stv__table_liquid *liquid);

/* Hourly means of one lane in up to STV__PACKET runs side by side: at_c[0] is the hour before the
 * run where stv__run_has_before, and n + 2 hours are written for the longest run. */
void stv__table_liquid_runs(const struct stv_climate_table *table,
                            const struct stv__table_liquid *liquid, size_t lane,
                            const uint32_t *runs, size_t n_runs, stv__v8 *at_c);

/* Whether the liquid is known in the hour before a run, and in the one after it. */
static inline bool stv__run_has_before(const struct stv_climate_table *table,
                                       const struct stv__run *run)
{
    return run->from > 0 && isfinite(table->outside_c[run->from - 1]);
}
static inline bool stv__run_has_after(const struct stv_climate_table *table,
                                      const struct stv__run *run)
{
    size_t to = (size_t)run->from + run->n;
    return to < table->plan.position->grid.n && isfinite(table->outside_c[to]);
}

/* At what temperature an hour of a moving liquid is taken, for pressures and factors that bend: at
 * one of the two points that integrate a straight move, 1/sqrt(12) of it off the mean, and in the
 * next hour at the other.  What is straight cancels over a day.
 *
 * move_k  half of what the mean of the hour after is above that of the hour before, which of a
 * daily wave is 0.987 of the move Accuracy: 3 % of the bend, which is 1e-3 of the last litres' flux
 * under a strong daily swing */
static inline double stv__hour_point_c(double mean_c, double move_k, size_t hour_idx)
{
    double off_k = move_k / (0.987 * 3.4641016151377544);
    return hour_idx % 2 ? mean_c - off_k : mean_c + off_k;
}

#endif
