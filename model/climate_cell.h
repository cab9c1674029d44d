/* Private to climate_table.c and climate_cell.c: what a table is made of. */
#ifndef STV_MODEL_CLIMATE_CELL_H
#define STV_MODEL_CLIMATE_CELL_H

#include "model/climate_table.h"
#include "model/row_pool.h"

#include <math.h>
#include <omp.h>

#define STV__NO_RUN UINT32_MAX
#define STV__TABLE_YEAR_D 365 /* steps of a table's year, without the leap day */
enum { STV__RUN_MOST = 24 };  /* hours */

/* An unbroken run of known hours of one day of one step of the record. */
struct stv__run {
    uint32_t from, n;
    uint32_t next; /* of the same step; STV__NO_RUN at the end */
    uint32_t day;  /* of the step, from 0 */
};

/* One node of the time constant in one panel of composition.  Its entries are the steps of the
 * record, and after them those of the warmed years that were asked for. */
struct stv__cell {
    struct stv_climate_table *table;
    struct stv__table_liquid *liquid;
    size_t panel_idx, node;
    bool can_make;                     /* all is there that its rows are made of */
    omp_lock_t locks[STV__LANES];      /* while something of a lane is made */
    unsigned char n_asked[STV__LANES]; /* how often, up to a year's worth */
    /* [lane * n_entries + entry]: its row, and the rows of its days; NULL until they are asked for.
     * Those that were taken up lie where they were read, the others in the table's room. */
    const float **rows, **days;
};

struct stv__taken_bytes;

struct stv_climate_table {
    struct stv__table_plan plan;
    size_t n_steps;
    int32_t record_year; /* first */
    size_t n_record_years;
    size_t n_entries;      /* of a cell's lane */
    size_t row_floats;     /* columns of a row, in whole vectors */
    double *outside_c;     /* hour by hour, once a row is to be made; NaN where it is not known */
    struct stv__run *runs; /* in their order */
    size_t n_runs;
    uint32_t *first_run;    /* [record year * n_steps + step] */
    uint32_t *n_data_hours; /* likewise; 0 where too few are known */
    int32_t *whole_years;
    size_t n_whole;
    size_t n_years;    /* that are asked for */
    uint32_t *source;  /* [(year * n_steps + step) * STV__LANES + lane]: step of the record */
    double *warming_k; /* [year] */
    /* Of each distinct lane, [lane * n hours + hour]: the room as it is there; likewise. */
    float *rh_frac, *room_pa;
    struct stv__row_pool room;      /* of the rows that were made */
    struct stv__taken_bytes *taken; /* rows of an earlier run (table_bytes.h); NULL: none */
    size_t n_new_rows;              /* of steps, or of all days of one, not taken up */
    omp_lock_t lock;                /* while a cell, or what rows are made of, is made */
    struct stv__cell *cells[STV__PANELS][STV__TAU_NODES];
    struct stv__table_liquid *liquids[STV__TAU_NODES];
};

void stv__taken_bytes_free(struct stv__taken_bytes *taken);      /* accepts NULL */
size_t stv__taken_bytes_n(const struct stv__taken_bytes *taken); /* 0 of NULL */

/* Days of a step in a common year. */
size_t stv__table_days_of(const struct stv_climate_table *table, size_t step_idx);
/* Days of an entry that rows are made for: the last step of a year has one more in a leap year. */
size_t stv__table_day_rows(const struct stv_climate_table *table, size_t entry);

/* A cell without rows, of the table's liquid of that node.
 * Errors: STV_E_MEMORY.  Memory: free with stv__cell_free, which accepts NULL */
STV_MUST_CHECK enum stv_status stv__cell_new(struct stv_climate_table *table, size_t panel_idx,
                                             size_t node, struct stv__cell **out);
void stv__cell_free(struct stv__cell *cell);
/* Makes what a cell's rows are made of, unless it is there.
 * Errors: STV_E_MEMORY; those of stv__lane_rows_panel */
STV_MUST_CHECK enum stv_status stv__table_prepare(struct stv__cell *cell);

/* Where a lane's row comes from: the record's step, how much warmer, and its entry. */
struct stv__row_source {
    size_t lane, data, entry;
    double warming_k;
};
/* Makes a row and marks it as made; a second maker waits and does nothing.
 * Errors: those of stv__table_prepare */
STV_MUST_CHECK enum stv_status stv__cell_make_row(struct stv__cell *cell,
                                                  const struct stv__row_source *source);
/* Makes the rows of the days of a step.  Errors: STV_E_MEMORY; those of stv__table_prepare */
STV_MUST_CHECK enum stv_status stv__cell_make_days(struct stv__cell *cell,
                                                   const struct stv__row_source *source);

#endif
