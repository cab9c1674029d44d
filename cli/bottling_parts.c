#include "cli/bottling_parts.h"

#include <stdlib.h>

#define DRAWS_TIMES 4
#define DRAWS_MOST 256

enum stv_status stv__cask_part_new(const struct stv_chain *chain, const int *casks, size_t n,
                                   const size_t *lot_of_cask, struct stv__cask_part *out)
{
    const struct stv_ledger *book = &chain->book.ledger;
    *out = (struct stv__cask_part){
        .idx_of = malloc((book->n_casks + 1) * sizeof *out->idx_of),
        .book_of = malloc((book->n_casks + 1) * sizeof *out->book_of),
        .lot_of = malloc((book->n_casks + 1) * sizeof *out->lot_of),
    };
    if (!out->idx_of || !out->book_of || !out->lot_of)
        return STV_E_MEMORY;
    enum stv_status status = stv_ledger_part(book, casks, n, &out->ledger, out->idx_of);
    for (size_t c = 0; c < book->n_casks && status == STV_OK; c++)
        if (out->idx_of[c] >= 0) {
            out->book_of[out->idx_of[c]] = (int)c;
            out->lot_of[out->idx_of[c]] = lot_of_cask[c];
        }
    return status;
}

void stv__cask_part_free(struct stv__cask_part *part)
{
    stv_ledger_free(&part->ledger);
    free(part->idx_of);
    free(part->book_of);
    free(part->lot_of);
    *part = (struct stv__cask_part){0};
}

size_t stv_bottling_draws(size_t n_draws)
{
    size_t more = DRAWS_TIMES * n_draws;
    return more < DRAWS_MOST ? more : n_draws > DRAWS_MOST ? n_draws : DRAWS_MOST;
}

void stv_bottling_ask_quantities(struct stv_outlook_request *request)
{
    static const enum stv_quantity bottled[] = {STV_Q_VOLUME20_L, STV_Q_ABV20_FRAC, STV_Q_LPA_L,
                                                STV_Q_WOOD_INDEX_ND, STV_Q_BOTTLES_ND};
    request->told = bottled;
    request->n_told = sizeof bottled / sizeof *bottled;
}

enum stv_status stv__cask_part_run(const struct stv_chain *chain, const struct stv__cask_part *part,
                                   const struct stv__day_list *days, struct stv_run_options options,
                                   struct stv_outlook *out)
{
    struct stv_outlook_request request = stv_chain_request(chain);
    request.ledger = &part->ledger;
    request.days_d = days->days_d;
    request.n_days = days->n;
    request.options = options;
    stv_bottling_ask_quantities(&request);
    return stv_outlook_run(&request, out);
}

enum stv_status stv_bottling_months(const struct stv_chain *chain, size_t n_months,
                                    struct stv_outlook *out)
{
    struct stv_outlook_request request = stv_chain_request(chain);
    int64_t *days_d = stv_chain_months(chain, n_months);
    request.days_d = days_d;
    request.n_days = n_months + 1;
    request.options.n_draws = stv_bottling_draws(chain->run.n_draws);
    stv_bottling_ask_quantities(&request);
    enum stv_status status = days_d ? stv_outlook_run(&request, out) : STV_E_MEMORY;
    free(days_d);
    return status;
}
