/* Private to climate_table.c and climate_cell.c: a table's insides. */
#ifndef STV_MODEL_CLIMATE_CELL_H
#define STV_MODEL_CLIMATE_CELL_H

#include "model/climate_table.h"

#include <omp.h>

#define STV__NO_RUN UINT32_MAX
#define STV__TABLE_YEAR_D 365 /* 29 February is an odd day of the last step */

/* Known hours without a break, all of one day of one step. */
struct stv__run {
    uint32_t from, n;
    uint32_t next; /* of the same step; STV__NO_RUN at the end */
    uint32_t day;  /* of the step, from 0 */
};

struct stv__cell {
    struct stv_climate_table *table;
    size_t panel_idx, node;
    size_t n_columns;
    float *steps; /* [(year * n_steps + step) * n_columns + column] * STV__LANES + lane */
    float **days; /* [year * n_steps + step]: its days, NULL until asked for */
    double mean_pressure_pa[STV__LANES]; /* of ethanol, over the record's year */
    size_t n_hours, n_held;
};

struct stv_climate_table {
    struct stv__table_plan plan;
    size_t n_steps;
    int32_t record_year; /* first */
    size_t n_record_years;
    struct stv__run *runs;
    uint32_t *first_run;    /* [record year * n_steps + step] */
    uint32_t *n_data_hours; /* likewise; 0 where too few are known */
    int32_t *whole_years;
    size_t n_whole;
    size_t n_years;    /* that are asked for */
    uint32_t *source;  /* [(year * n_steps + step) * STV__LANES + lane]: step of the record */
    double *warming_k; /* [year] */
    /* Of each distinct lane, [lane * n hours + hour]: the room as it is there. */
    float *rh_frac, *room_pa;
    omp_lock_t locks[STV__PANELS][STV__TAU_NODES]; /* a cell and its days are made under its own */
    struct stv__cell *cells[STV__PANELS][STV__TAU_NODES];
};

/* Days of a step in a common year. */
size_t stv__table_days_of(const struct stv_climate_table *table, size_t step_idx);

STV_MUST_CHECK enum stv_status stv__cell_new(struct stv_climate_table *table, size_t panel_idx,
                                             size_t node, struct stv__cell **out);
void stv__cell_free(struct stv__cell *cell);

#endif
