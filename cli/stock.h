/* What a house holds year by year and which casks it has to buy: what `stock` shows. */
#ifndef STV_CLI_STOCK_H
#define STV_CLI_STOCK_H

#include "cli/chain.h"
#include "model/buying.h"
#include "model/stock.h"

#include <jansson.h>

enum stv_stock_by { STV_STOCK_BY_TIER, STV_STOCK_BY_WOOD, STV_STOCK_BY_YEAR, STV_STOCK_BY_HOUSE };
/* "tier", "wood", "year", "house". */
const char *stv_stock_by_key(enum stv_stock_by by);

#define STV_STOCK_NAME_MAX 192

/* One of the house's own casks that is or comes free. */
struct stv_stock_cask {
    struct stv_buying_cask cask;
    bool is_planned; /* by history.csv; else by the house's planned age, or empty already */
    bool is_empty;   /* today */
};

struct stv_stock_answer {
    const struct stv_chain *chain;
    enum stv_stock_by by;
    size_t n_years;
    int64_t *days_d; /* n_years + 1: the day of the answer and its anniversaries */
    struct stv_stock stock;
    char (*names)[STV_STOCK_NAME_MAX]; /* per label */
    size_t n_labels, n_full, n_empty;
    size_t n_run; /* casks that were run: some of each kind of casks alike stand for all */
    size_t n_by;  /* labels of `by`, the first ones */
    size_t kinds_from,
        n_kinds; /* labels of the kinds of casks; those of `by` when it asks for them */
    /* Casks to buy. */
    struct stv_stock_cask *casks;
    size_t n_casks;
    struct stv_buying_plan plan; /* of the book's planned fills */
};

/* Sums the house over years, and serves the book's planned fills.
 *
 * chain   with its climate; must outlive the answer
 * Errors: those of stv_stock_sum.  Free with stv_stock_answer_free, also after a failure. */
STV_MUST_CHECK enum stv_status stv_stock_make(const struct stv_chain *chain, enum stv_stock_by by,
                                              size_t n_years, struct stv_stock_answer *out);
/* Serves the planned fills alone: no sums, no days. */
STV_MUST_CHECK enum stv_status stv_stock_plan(const struct stv_chain *chain,
                                              struct stv_stock_answer *out);
void stv_stock_answer_free(struct stv_stock_answer *answer);

/* The house's label. */
static inline size_t stv_stock_house(const struct stv_stock_answer *answer)
{
    return answer->n_labels;
}

/* Least and greatest size of the full casks under a label of `by`; NaN without one. */
void stv_stock_sizes(const struct stv_stock_answer *answer, size_t label, double *out_least_l,
                     double *out_most_l);

/* Fill runs of one day, as they are ordered together. */
struct stv_stock_order {
    int64_t fill_day_d, order_day_d;
    bool is_late;        /* the day to order by is past */
    size_t n_own, n_buy; /* of all its fills */
    double price;        /* of those to buy; NaN when one has no price */
};
/* The order that a planned fill belongs to, made of all fills of its day; false when an earlier
 * fill of the list has the same day. */
bool stv_stock_order_of(const struct stv_stock_answer *answer, size_t fill_idx,
                        struct stv_stock_order *out);
/* Price of one cask of a kind; NaN when the book says none. */
double stv_stock_price_of(const struct stv_book *book, const char *kind);

struct stv_text;
/* "Order by 10 January 2028: 8 new ..." for each order that is to be placed by until_d; true when
 * there was any. */
bool stv_words_orders(struct stv_text *text, const struct stv_stock_answer *answer,
                      int64_t until_d);
/* The same as an array, one entry for each planned fill. */
json_t *stv_stock_orders_json(const struct stv_stock_answer *answer, int64_t until_d);
/* What is ready, not yet, too weak or over in wood, by year and kind. */
void stv_words_stock_ready(struct stv_text *text, const struct stv_stock_answer *answer);
/* Its parts: what is held and lost by year, and casks to buy. */
void stv_words_stock_held(struct stv_text *text, const struct stv_stock_answer *answer);
void stv_words_stock_buying(struct stv_text *text, const struct stv_stock_answer *answer);
/* What all losses take in the coming year; nothing where no cask is full. */
void stv_words_stock_year(struct stv_text *text, const struct stv_stock_answer *answer);
void stv_words_stock(struct stv_text *text, const struct stv_stock_answer *answer);

#endif
