/* Shared inside model/: rows and climate tables between the runs of one house. */
#ifndef STV_MODEL_KEPT_TABLES_H
#define STV_MODEL_KEPT_TABLES_H

#include "model/climate_table.h"
#include "model/outlook.h"

/* Takes what was kept where it serves; NULL where nothing does.  Rows come first: without them all
 * tables are let go. */
struct stv__lane_rows *stv__kept_rows_take(struct stv_kept_tables *kept,
                                           const struct stv_params lanes[STV__LANES],
                                           const struct stv_cask_numbers *numbers,
                                           size_t n_distinct);

/* A position's table that asks for the plan's years: what was kept where it serves, else a new one,
 * with the rows of an earlier run of the program where there are any.
 * Errors: those of stv_climate_table_new; *out is NULL then */
STV_MUST_CHECK enum stv_status stv__kept_table_of(struct stv_kept_tables *kept, size_t position_idx,
                                                  const struct stv__table_plan *plan,
                                                  struct stv_climate_table **out);
/* Lets a table go, its rows to the store. */
void stv__kept_table_drop(struct stv_kept_tables *kept, struct stv_climate_table *table);

/* What was worked out on a table, to be told again while that table is kept: n bytes that depend on
 * the table and the key alone.  False where they are not there. */
bool stv__kept_told_find(const struct stv_kept_tables *kept, const struct stv_climate_table *table,
                         const struct stv_byte_run *key, void *out, size_t n);
/* In the place of what was told last; nothing is kept without memory. */
void stv__kept_told_keep(struct stv_kept_tables *kept, const struct stv_climate_table *table,
                         const struct stv_byte_run *key, const void *told, size_t n);

/* Leaves rows and the positions' tables to the next run, and the list itself; frees them where
 * nothing is kept. */
void stv__kept_leave(struct stv_kept_tables *kept, struct stv__lane_rows *rows,
                     struct stv_climate_table **tables, size_t n_positions);

#endif
