/* Shared inside model/: room for the rows of a table, in a few large pieces that go together. */
#ifndef STV_MODEL_ROW_POOL_H
#define STV_MODEL_ROW_POOL_H

#include <omp.h>
#include <stddef.h>

struct stv__row_pool {
    omp_lock_t lock;
    float **pieces;
    size_t n_pieces, n_room; /* n_room: of the list */
    size_t n_left;           /* floats of the last piece */
};

void stv__row_pool_open(struct stv__row_pool *pool);
/* Frees all that was taken. */
void stv__row_pool_close(struct stv__row_pool *pool);

/* Room for floats that follow on one another, up to STV__ROW_PIECE of them; where they begin is
 * aligned to 32 bytes if whole eights are taken.  NULL without memory.  Safe from several threads.
 */
enum { STV__ROW_PIECE = 1 << 18 };
float *stv__row_pool_take(struct stv__row_pool *pool, size_t n_floats);

/* Bytes of all pieces.  Nobody may take meanwhile. */
size_t stv__row_pool_bytes(const struct stv__row_pool *pool);

#endif
