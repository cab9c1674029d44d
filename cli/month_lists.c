/* What the book's own rules ask for this month: bottlings, spirit that should leave its wood,
 * water. They come in this order, for a cask that is bottled or emptied gets no water. */
#include "cli/month.h"

#include <stdlib.h>

bool stv_month_bottles(const struct stv_month_answer *answer, int cask_idx)
{
    int w = answer->has_bottlings ? stv_bottling_of_cask(&answer->bottling, cask_idx) : -1;
    return w >= 0 && stv_month_is_due(answer, answer->bottling.planned[w].wish.day_d);
}

bool stv_month_moves(const struct stv_month_answer *answer, int cask_idx)
{
    for (size_t i = 0; i < answer->n_leaving; i++) {
        const struct stv_transfer *item = &answer->transfer.transfers.items[answer->leaving_idx[i]];
        if (item->cask_idx == cask_idx && item->given_idx != SIZE_MAX)
            return true;
    }
    return false;
}

static enum stv_status plan_bottlings(struct stv_month_answer *answer)
{
    const struct stv_book *book = &answer->chain->book;
    const struct stv_bottling_ask ask = {.n_months = 1};
    bool is_due = false;
    for (size_t i = 0; i < book->n_bottlings; i++)
        is_due = is_due || stv_month_is_due(answer, book->bottlings[i].wish.day_d);
    if (!is_due)
        return STV_OK;
    enum stv_status status = stv_bottling_answer_make(answer->chain, &ask, &answer->bottling);
    answer->has_bottlings = status == STV_OK;
    return status;
}

/* To be gone by the end of the month, the first day of a summer being as good as the day before. */
static bool is_due_to_leave(const struct stv_month_answer *answer, const struct stv_transfer *item)
{
    bool has_window = item->leaving.call == STV_LEAVE_BEFORE || item->leaving.call == STV_LEAVE_NOW;
    return has_window && item->leaving.leave_day_d <= answer->to_d + 1 &&
           !stv_month_bottles(answer, item->cask_idx);
}

/* Wood is told in summers: far from one nothing has to leave it. */
static enum stv_status plan_transfers(struct stv_month_answer *answer)
{
    char why[64] = "";
    if (!answer->is_near_summer)
        return STV_OK;
    answer->transfer = (struct stv_transfer_answer){.chain = answer->chain};
    answer->has_transfers = true;
    enum stv_status status = stv_transfer_answer_make(&answer->transfer, NULL, 0, why, sizeof why);
    if (status != STV_OK)
        return status;
    answer->leaving_idx = calloc(answer->transfer.transfers.n + 1, sizeof *answer->leaving_idx);
    if (!answer->leaving_idx)
        return STV_E_MEMORY;
    for (size_t i = 0; i < answer->transfer.transfers.n; i++)
        if (is_due_to_leave(answer, &answer->transfer.transfers.items[i]))
            answer->leaving_idx[answer->n_leaving++] = i;
    return STV_OK;
}

static enum stv_status find_water(struct stv_month_answer *answer, int *casks)
{
    const struct stv_chain *chain = answer->chain;
    size_t n = 0, n_rows = 0;
    for (int c = 0; c < (int)chain->book.ledger.n_casks; c++)
        if (stv_lineage_spirit(chain->lineage, c).is_there && !stv_month_bottles(answer, c) &&
            !stv_month_moves(answer, c))
            casks[n++] = c;
    enum stv_status status = stv_water_make(chain, casks, n, &answer->water);
    if (status == STV_OK)
        status = stv_water_crew(chain, &answer->water, &answer->water_rows, &n_rows);
    while (status == STV_OK && answer->n_water_rows < n_rows) {
        const struct stv_water_row *row = &answer->water_rows[answer->n_water_rows];
        if (answer->water.plans[row->plan_idx].steps[row->step_idx].day_d > answer->to_d)
            break;
        answer->n_water_rows++;
    }
    return status;
}

static enum stv_status plan_water(struct stv_month_answer *answer)
{
    if (!stv_month_has_water(answer))
        return STV_OK;
    int *casks = malloc((answer->chain->book.ledger.n_casks + 1) * sizeof *casks);
    enum stv_status status = casks ? find_water(answer, casks) : STV_E_MEMORY;
    free(casks);
    return status;
}

enum stv_status stv__month_lists(struct stv_month_answer *answer)
{
    enum stv_status status = plan_bottlings(answer);
    if (status == STV_OK)
        status = plan_transfers(answer);
    if (status == STV_OK)
        status = plan_water(answer);
    return status;
}

void stv__month_lists_free(struct stv_month_answer *answer)
{
    if (answer->has_bottlings)
        stv_bottling_answer_free(&answer->bottling);
    if (answer->has_transfers)
        stv_transfer_answer_free(&answer->transfer);
    free(answer->leaving_idx);
    stv_reduction_free(&answer->water);
    free(answer->water_rows);
}
