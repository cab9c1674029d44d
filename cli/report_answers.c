#include "cli/report_answers.h"

#include "cli/cask_state.h"

#include <stdlib.h>

static enum stv_status make_water(const struct stv_chain *chain, struct stv_report_answers *out)
{
    size_t n = 0, n_casks = chain->book.ledger.n_casks;
    int *casks = malloc((n_casks + 1) * sizeof *casks);
    if (!casks)
        return STV_E_MEMORY;
    for (size_t c = 0; c < n_casks; c++)
        if (stv_lineage_spirit(chain->lineage, (int)c).is_there)
            casks[n++] = (int)c;
    enum stv_status status = stv_water_make(chain, casks, n, &out->water);
    free(casks);
    if (status == STV_OK)
        status = stv_water_crew(chain, &out->water, &out->water_rows, &out->n_water_rows);
    out->has_water = status == STV_OK;
    return status;
}

static enum stv_status make_release(const struct stv_chain *chain,
                                    const struct stv_report_wishes *wishes,
                                    struct stv_report_answers *out)
{
    const struct stv_bottling_ask ask = {.n_months = wishes->n_months,
                                         .half_years = wishes->half_years};
    enum stv_status status = stv_bottling_answer_make(chain, &ask, &out->release);
    out->has_release = status == STV_OK;
    return status;
}

enum stv_status stv_report_answers_make(const struct stv_chain *chain,
                                        const struct stv_report_wishes *wishes,
                                        struct stv_report_answers *out)
{
    size_t n_full, n_empty;
    *out = (struct stv_report_answers){0};
    stv_count_casks(chain, &n_full, &n_empty);
    if (n_full == 0)
        return STV_OK;
    enum stv_status status = stv_stock_make(chain, STV_STOCK_BY_TIER, wishes->n_years, &out->stock);
    out->has_stock = status == STV_OK;
    if (status == STV_OK)
        status = stv_month_of_learned(chain, wishes->limits, &out->month);
    out->has_month = status == STV_OK;
    if (status == STV_OK && n_full <= STV_REPORT_WATER_CASKS && chain->book.water.is_said)
        status = make_water(chain, out);
    /* Last, for it lets the kept climate tables go for those of another seed. */
    if (status == STV_OK)
        status = make_release(chain, wishes, out);
    return status;
}

void stv_report_answers_free(struct stv_report_answers *answers)
{
    stv_month_free(&answers->month);
    if (answers->has_release)
        stv_bottling_answer_free(&answers->release);
    stv_stock_answer_free(&answers->stock);
    stv_reduction_free(&answers->water);
    free(answers->water_rows);
    *answers = (struct stv_report_answers){0};
}
