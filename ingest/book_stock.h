/* What a book says of money and of casks to come: its sections `prices:` and `cask_plan:`. */
#ifndef STV_INGEST_BOOK_STOCK_H
#define STV_INGEST_BOOK_STOCK_H

#include "model/buying.h"
#include "model/ledger.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_CURRENCY_MAX 16

struct stv_cask_price {
    char kind[STV_ID_MAX]; /* as the plan or casks.csv calls such a cask */
    double price;
};
/* In a currency that the house names; NaN where nothing is said. */
struct stv_prices {
    char currency[STV_CURRENCY_MAX]; /* "" when the book has no prices */
    double per_bottle, per_lpa;
    struct stv_cask_price *casks;
    size_t n_casks;
};

struct stv_planned_fill {
    struct stv_buying_fill fill;
    char kind[STV_ID_MAX]; /* the house's word for such a cask; made from wood and size if unsaid */
};
struct stv_cask_plan {
    bool is_said;
    /* Said, fills here or as uses of `wood_life:`; else assumed. */
    bool has_lead, has_fills_of_new, has_fills_of_used;
    int lead_months;
    struct stv_planned_fill *fills;
    size_t n_fills;
};

/* Nothing said: no prices, the assumed numbers of model/buying.h, no fills. */
struct stv_prices stv_prices_unsaid(void);
struct stv_cask_plan stv_cask_plan_unsaid(void);

/* "new", "first-fill", "refill". */
const char *stv_buying_wood_name(enum stv_buying_wood wood);

#endif
