#include "model/row_pool.h"

#include <stdbool.h>
#include <stdlib.h>
#include <string.h>

void stv__row_pool_open(struct stv__row_pool *pool)
{
    memset(pool, 0, sizeof *pool);
    omp_init_lock(&pool->lock);
}

void stv__row_pool_close(struct stv__row_pool *pool)
{
    for (size_t i = 0; i < pool->n_pieces; i++)
        free(pool->pieces[i]);
    free(pool->pieces);
    omp_destroy_lock(&pool->lock);
}

/* What the last piece has left is lost; false without memory. */
static bool add_piece(struct stv__row_pool *pool)
{
    if (pool->n_pieces == pool->n_room) {
        size_t n_room = 2 * pool->n_room + 8;
        float **pieces = realloc(pool->pieces, n_room * sizeof *pieces);
        if (!pieces)
            return false;
        pool->pieces = pieces;
        pool->n_room = n_room;
    }
    float *piece = aligned_alloc(64, STV__ROW_PIECE * sizeof *piece);
    if (!piece)
        return false;
    pool->pieces[pool->n_pieces++] = piece;
    pool->n_left = STV__ROW_PIECE;
    return true;
}

float *stv__row_pool_take(struct stv__row_pool *pool, size_t n_floats)
{
    float *taken = NULL;
    omp_set_lock(&pool->lock);
    bool fits = pool->n_pieces > 0 && n_floats <= pool->n_left;
    if (fits || (n_floats <= STV__ROW_PIECE && add_piece(pool))) {
        taken = pool->pieces[pool->n_pieces - 1] + (STV__ROW_PIECE - pool->n_left);
        pool->n_left -= n_floats;
    }
    omp_unset_lock(&pool->lock);
    return taken;
}

size_t stv__row_pool_bytes(const struct stv__row_pool *pool)
{
    return pool->n_pieces * STV__ROW_PIECE * sizeof(float);
}
