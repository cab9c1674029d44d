/* A house is run again and again with a step of water, a move or a transfer more: its air is the
 * same each time, and what casks feel in it need not be averaged again. */
#include "model/kept_tables.h"

#include "model/table_bytes.h"

#include <stdlib.h>
#include <string.h>

struct stv_kept_tables {
    const struct stv_byte_store *store; /* for other runs of the program; NULL: none */
    struct stv__lane_rows *rows;
    struct stv_climate_table **tables; /* n_positions, NULL where there is none */
    size_t n_positions;
    struct told {
        const struct stv_climate_table *table; /* NULL: nothing is told */
        void *bytes;                           /* the key's, then the answer's */
        size_t n_key, n_answer;
    } told;
};

static void forget(struct stv_kept_tables *kept)
{
    free(kept->told.bytes);
    kept->told = (struct told){0};
}

struct stv_kept_tables *stv_kept_tables_new(const struct stv_byte_store *store)
{
    struct stv_kept_tables *kept = calloc(1, sizeof *kept);
    if (kept)
        kept->store = store;
    return kept;
}

/* Rows to the store, if there are new ones. */
static void put_away(const struct stv_byte_store *store, const struct stv_climate_table *table)
{
    struct stv__table_told told;
    if (!stv__table_has_grown(table) || stv__table_tell(table, &told) != STV_OK)
        return;
    struct stv__table_key key;
    stv__table_key_of(&table->plan, &key);
    store->keep(store->context, key.runs, STV__TABLE_KEY_RUNS, told.runs, told.n_runs);
    stv__table_told_free(&told);
}

static void forget_and_free(struct stv_kept_tables *kept, struct stv_climate_table *table)
{
    if (table && kept && kept->told.table == table)
        forget(kept);
    stv_climate_table_free(table);
}

void stv__kept_table_drop(struct stv_kept_tables *kept, struct stv_climate_table *table)
{
    if (table && kept && kept->store)
        put_away(kept->store, table);
    forget_and_free(kept, table);
}

static void let_go(struct stv_kept_tables *kept, struct stv__lane_rows *rows,
                   struct stv_climate_table **tables, size_t n_positions)
{
#pragma omp parallel for schedule(dynamic) if (kept && kept->store)
    for (size_t p = 0; p < n_positions; p++)
        if (tables[p] && kept && kept->store)
            put_away(kept->store, tables[p]);
    for (size_t p = 0; p < n_positions; p++)
        forget_and_free(kept, tables[p]);
    free(tables);
    stv__lane_rows_free(rows);
}

static void let_all_go(struct stv_kept_tables *kept)
{
    let_go(kept, kept->rows, kept->tables, kept->n_positions);
    kept->rows = NULL;
    kept->tables = NULL;
    kept->n_positions = 0;
}

void stv_kept_tables_free(struct stv_kept_tables *kept)
{
    if (kept)
        let_all_go(kept);
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
    let_all_go(kept);
    return NULL;
}

static struct stv_climate_table *take(struct stv_kept_tables *kept, size_t position_idx,
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

static void take_up(const struct stv_byte_store *store, struct stv_climate_table *table)
{
    struct stv__table_key key;
    size_t n;
    stv__table_key_of(&table->plan, &key);
    void *bytes = store->find(store->context, key.runs, STV__TABLE_KEY_RUNS, &n);
    if (bytes && !stv__table_take_bytes(table, bytes, n))
        free(bytes);
}

enum stv_status stv__kept_table_of(struct stv_kept_tables *kept, size_t position_idx,
                                   const struct stv__table_plan *plan,
                                   struct stv_climate_table **out)
{
    *out = take(kept, position_idx, plan);
    if (*out)
        return stv_climate_table_ask(*out, plan->first_year, plan->last_year);
    enum stv_status status = stv_climate_table_new(plan, out);
    if (status == STV_OK && kept && kept->store)
        take_up(kept->store, *out);
    return status;
}

void stv__kept_leave(struct stv_kept_tables *kept, struct stv__lane_rows *rows,
                     struct stv_climate_table **tables, size_t n_positions)
{
    if (!kept) {
        let_go(NULL, rows, tables, n_positions);
        return;
    }
    let_all_go(kept);
    kept->rows = rows;
    kept->tables = tables;
    kept->n_positions = n_positions;
}

bool stv__kept_told_find(const struct stv_kept_tables *kept, const struct stv_climate_table *table,
                         const struct stv_byte_run *key, void *out, size_t n)
{
    if (!kept || kept->told.table != table || kept->told.n_key != key->n ||
        kept->told.n_answer != n || memcmp(kept->told.bytes, key->bytes, key->n) != 0)
        return false;
    memcpy(out, (const unsigned char *)kept->told.bytes + key->n, n);
    return true;
}

void stv__kept_told_keep(struct stv_kept_tables *kept, const struct stv_climate_table *table,
                         const struct stv_byte_run *key, const void *told, size_t n)
{
    if (!kept)
        return;
    forget(kept);
    unsigned char *bytes = malloc(key->n + n);
    if (!bytes)
        return;
    memcpy(bytes, key->bytes, key->n);
    memcpy(bytes + key->n, told, n);
    kept->told = (struct told){table, bytes, key->n, n};
}
