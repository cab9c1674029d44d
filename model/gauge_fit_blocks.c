/* Normal equations in blocks: casks meet one another in the shared scores only. */
#include "model/gauge_fit_parts.h"

#include <gsl/gsl_blas.h>
#include <gsl/gsl_linalg.h>
#include <stdlib.h>
#include <string.h>

enum stv_status stv__fit_blocks_new(const struct stv_fit_problem *problem,
                                    struct stv__fit_blocks *out)
{
    size_t n_shared = stv__fit_n_shared(problem), n_block = problem->n_own + 1;
    size_t n_casks = problem->n_casks;
    size_t n = n_shared * (n_shared + 1) + n_casks * n_block * (n_block + n_shared + 1);
    *out = (struct stv__fit_blocks){
        .n_shared = n_shared, .n_block = n_block, .memory_nd = calloc(n, sizeof(double))};
    if (!out->memory_nd)
        return STV_E_MEMORY;
    out->shared_nd = out->memory_nd;
    out->shared_side_nd = out->shared_nd + n_shared * n_shared;
    out->block_nd = out->shared_side_nd + n_shared;
    out->cross_nd = out->block_nd + n_casks * n_block * n_block;
    out->side_nd = out->cross_nd + n_casks * n_block * n_shared;
    stv__fit_blocks_reset(out, n_casks);
    return STV_OK;
}

void stv__fit_blocks_free(struct stv__fit_blocks *blocks)
{
    free(blocks->memory_nd);
    *blocks = (struct stv__fit_blocks){0};
}

void stv__fit_blocks_reset(struct stv__fit_blocks *blocks, size_t n_casks)
{
    size_t ns = blocks->n_shared, nb = blocks->n_block;
    size_t n = ns * (ns + 1) + n_casks * nb * (nb + ns + 1);
    memset(blocks->memory_nd, 0, n * sizeof(double));
    for (size_t i = 0; i < ns; i++)
        blocks->shared_nd[i * ns + i] = 1.0;
    for (size_t c = 0; c < n_casks; c++)
        for (size_t i = 0; i < nb; i++)
            blocks->block_nd[(c * nb + i) * nb + i] = 1.0;
}

void stv__fit_blocks_reset_cask(struct stv__fit_blocks *blocks, size_t cask_idx)
{
    size_t ns = blocks->n_shared, nb = blocks->n_block;
    double *block = blocks->block_nd + cask_idx * nb * nb;
    memset(block, 0, nb * nb * sizeof(double));
    memset(blocks->cross_nd + cask_idx * nb * ns, 0, nb * ns * sizeof(double));
    memset(blocks->side_nd + cask_idx * nb, 0, nb * sizeof(double));
    for (size_t i = 0; i < nb; i++)
        block[i * nb + i] = 1.0;
}

void stv__fit_add_shared(struct stv__fit_blocks *blocks, const struct stv__fit_told *row,
                         double side_nd, double sign_nd)
{
    size_t ns = blocks->n_shared;
    for (size_t i = 0; i < ns; i++) {
        double by = sign_nd * row->by_shared_nd[i];
        if (by == 0.0)
            continue;
        for (size_t j = 0; j <= i; j++)
            blocks->shared_nd[i * ns + j] += by * row->by_shared_nd[j];
        blocks->shared_side_nd[i] += by * side_nd;
    }
}

void stv__fit_add_row(struct stv__fit_blocks *blocks, size_t cask_idx,
                      const struct stv__fit_told *row, double side_nd)
{
    size_t ns = blocks->n_shared, nb = blocks->n_block;
    double *block = blocks->block_nd + cask_idx * nb * nb;
    double *cross = blocks->cross_nd + cask_idx * nb * ns;
    stv__fit_add_shared(blocks, row, side_nd, 1.0);
    for (size_t i = 0; i < nb; i++) {
        double by = row->by_block_nd[i];
        if (by == 0.0)
            continue;
        for (size_t j = 0; j <= i; j++)
            block[i * nb + j] += by * row->by_block_nd[j];
        for (size_t j = 0; j < ns; j++)
            cross[i * ns + j] += by * row->by_shared_nd[j];
        blocks->side_nd[cask_idx * nb + i] += by * side_nd;
    }
}

void stv__fit_factor_of(const struct stv__fit_blocks *blocks, size_t cask_idx, double damping_nd,
                        struct stv__fit_factor *out)
{
    size_t ns = blocks->n_shared, nb = blocks->n_block;
    memcpy(out->chol_nd, blocks->block_nd + cask_idx * nb * nb, nb * nb * sizeof(double));
    memcpy(out->cross_nd, blocks->cross_nd + cask_idx * nb * ns, nb * ns * sizeof(double));
    memcpy(out->side_nd, blocks->side_nd + cask_idx * nb, nb * sizeof(double));
    for (size_t i = 0; i < nb; i++)
        out->chol_nd[i * nb + i] += damping_nd;
    gsl_matrix_view chol = gsl_matrix_view_array(out->chol_nd, nb, nb);
    gsl_matrix_view cross = gsl_matrix_view_array(out->cross_nd, nb, ns);
    gsl_vector_view side = gsl_vector_view_array(out->side_nd, nb);
    /* A unit matrix and squares: always positive definite. */
    (void)gsl_linalg_cholesky_decomp1(&chol.matrix);
    gsl_blas_dtrsm(CblasLeft, CblasLower, CblasNoTrans, CblasNonUnit, 1.0, &chol.matrix,
                   &cross.matrix);
    gsl_blas_dtrsv(CblasLower, CblasNoTrans, CblasNonUnit, &chol.matrix, &side.vector);
}

void stv__fit_add_factor(const struct stv__fit_blocks *blocks, const struct stv__fit_factor *factor,
                         double sign_nd, double *shared_nd, double *side_nd)
{
    size_t ns = blocks->n_shared, nb = blocks->n_block;
    for (size_t b = 0; b < nb; b++) {
        const double *cross = factor->cross_nd + b * ns;
        for (size_t i = 0; i < ns; i++) {
            double by = sign_nd * cross[i];
            if (by == 0.0)
                continue;
            for (size_t j = 0; j <= i; j++)
                shared_nd[i * ns + j] += by * cross[j];
            side_nd[i] += by * factor->side_nd[b];
        }
    }
}
