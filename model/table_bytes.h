/* Shared inside model/: a climate table's rows as bytes, to be kept and taken up again. */
#ifndef STV_MODEL_TABLE_BYTES_H
#define STV_MODEL_TABLE_BYTES_H

#include "model/byte_store.h"
#include "model/climate_cell.h"

#include <stdbool.h>
#include <stdint.h>

/* Everything that a table's rows are made of. */
enum { STV__TABLE_KEY_RUNS = 6 };
struct stv__table_key {
    uint64_t counts[8];
    double members_nd[STV__LANES][3]; /* the errors of a lane, and its factor */
    double convective_frac;
    struct stv_byte_run runs[STV__TABLE_KEY_RUNS];
};
/* The key points into itself, and into what the plan points to. */
void stv__table_key_of(const struct stv__table_plan *plan, struct stv__table_key *out);

/* Takes up rows that a table of the same key gave, where they lie: each cell's when it is first
 * asked for.  Bytes
 * that are not whole, or of another shape, are refused and change nothing.
 *
 * bytes  malloc'd; the table's when the answer is true, else still the caller's */
bool stv__table_take_bytes(struct stv_climate_table *table, void *bytes, size_t n);

/* Whether rows were made that its bytes lack. */
bool stv__table_has_grown(const struct stv_climate_table *table);

/* All its rows, those that were taken up and not asked for too; rows of warmed years are left out.
 * The runs point into the table. */
struct stv__table_told {
    struct stv_byte_run *runs; /* one behind the other */
    size_t n_runs;
    unsigned char *own; /* what the table itself does not hold like that */
};
/* Errors: STV_E_MEMORY.  Free with stv__table_told_free when STV_OK */
STV_MUST_CHECK enum stv_status stv__table_tell(const struct stv_climate_table *table,
                                               struct stv__table_told *out);
void stv__table_told_free(struct stv__table_told *told);

/* For climate_table.c: what was taken up of a liquid and of a cell, if anything, put into them. */
void stv__table_tell_liquid(const struct stv_climate_table *table, size_t node,
                            struct stv__table_liquid *out);
void stv__table_tell_cell(const struct stv_climate_table *table, struct stv__cell *cell);

#endif
