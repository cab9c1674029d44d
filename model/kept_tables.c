/* A house is run again and again with a step of water, a move or a transfer more: its air is the
 * same each time, and what casks feel in it need not be averaged again. */
#include "model/kept_tables.h"

#include <stdlib.h>

struct stv_kept_tables {
    struct stv__lane_rows *rows;
    struct stv_climate_table **tables; /* n_positions, NULL where there is none */
    size_t n_positions;
};

struct stv_kept_tables *stv_kept_tables_new(void)
{
    return calloc(1, sizeof(struct stv_kept_tables));
}

static void let_go(struct stv__lane_rows *rows, struct stv_climate_table **tables,
                   size_t n_positions)
{
    for (size_t p = 0; p < n_positions; p++)
        stv_climate_table_free(tables[p]);
    free(tables);
    stv__lane_rows_free(rows);
}

void stv_kept_tables_free(struct stv_kept_tables *kept)
{
    if (kept)
        let_go(kept->rows, kept->tables, kept->n_positions);
    free(kept);
}

struct stv__lane_rows *stv__kept_rows_take(struct stv_kept_tables *kept,
                                           const struct stv_params lanes[STV__LANES],
                                           const struct stv_cask_numbers *numbers,
                                           size_t n_distinct)
{
    if (!kept || !kept->rows)
        return NULL;
    struct stv__lane_rows *rows = kept->rows;
    if (stv__lane_rows_serve(rows, lanes, numbers, n_distinct)) {
        kept->rows = NULL;
        return rows;
    }
    let_go(kept->rows, kept->tables, kept->n_positions);
    *kept = (struct stv_kept_tables){0};
    return NULL;
}

struct stv_climate_table *stv__kept_table_take(struct stv_kept_tables *kept, size_t position_idx,
                                               const struct stv__table_plan *plan)
{
    if (!kept || position_idx >= kept->n_positions)
        return NULL;
    struct stv_climate_table *table = kept->tables[position_idx];
    if (!table || !stv_climate_table_serves(table, plan))
        return NULL;
    kept->tables[position_idx] = NULL;
    return table;
}

void stv__kept_leave(struct stv_kept_tables *kept, struct stv__lane_rows *rows,
                     struct stv_climate_table **tables, size_t n_positions)
{
    if (!kept) {
        let_go(rows, tables, n_positions);
        return;
    }
    let_go(kept->rows, kept->tables, kept->n_positions);
    *kept = (struct stv_kept_tables){rows, tables, n_positions};
}
