/* What a house holds on given days, and where the alcohol went between them: pure alcohol, litres
 * and bottles by label (tier, wood, year of fill ...) and of the house, summed trial by trial.
 *
 * Layer 8; pure. */
#ifndef STV_MODEL_STOCK_H
#define STV_MODEL_STOCK_H

#include "model/outlook.h"

enum stv_stock_figure {
    STV_STOCK_LPA_L, /* held when the day is over */
    STV_STOCK_VOLUME20_L,
    STV_STOCK_BOTTLES_ND,
    STV_STOCK_WOOD_AIR_LPA_L, /* gone since the day before it in the list */
    STV_STOCK_JOINTS_LPA_L,
    STV_STOCK_INDRINK_LPA_L,
    STV_STOCK_SAMPLES_LPA_L, /* at most what there was */
    STV_STOCK_LEAK_LPA_L,
    STV_STOCK_LOST_LPA_L,   /* all five */
    STV_STOCK_ANGELS_LPA_L, /* through wood and joints alone */
    STV_STOCK_FILLED_LPA_L, /* filled and topped up since, as written */
    STV_STOCK_TAKEN_LPA_L,  /* emptied since */
    STV_STOCK_MOVED_LPA_L,  /* poured over from casks of other labels, less what went to them */
    STV_STOCK_YOUNG_LPA_L,  /* of what is held: too young, or too little wood yet */
    STV_STOCK_READY_LPA_L,  /* old enough, wood and strength as the house allows */
    STV_STOCK_WEAK_LPA_L,   /* old enough and wood in range, but too weak */
    STV_STOCK_OVER_LPA_L,   /* more wood than the house allows */
    STV_STOCK_YOUNG_CASKS_ND,
    STV_STOCK_READY_CASKS_ND,
    STV_STOCK_WEAK_CASKS_ND,
    STV_STOCK_OVER_CASKS_ND,
    STV_STOCK_N
};

struct stv_stock_request {
    const struct stv_outlook_request *house; /* days, sums and rows are not looked at */
    const int64_t *days_d;                   /* ascending, each once */
    size_t n_days;
    const size_t *label_of_cask; /* per cask of the ledger: below n_labels */
    const size_t *kind_of_cask;  /* a second label of each, likewise; NULL: none */
    size_t n_labels;
    const size_t *n_alike; /* per cask of the ledger: for how many it counts; NULL: 1 each */
};

struct stv_stock {
    size_t n_days, n_labels, n_draws; /* draws 0 counts as one */
    double *values; /* [((label * n_days + day) * STV_STOCK_N + figure) * n_draws + draw]; label
                       n_labels is the house */
    size_t *n_full; /* [label * n_days + day]: casks that hold spirit in half the
                       trials or more */
};

/* Sums a house.
 *
 * out      free with stv_stock_free; empty when the status is not OK.  What is gone before the
 * first day is not told: those figures are 0 there.
 *
 * What is ready is told by the wishes of a window (bottling.h) but bottles, on the days asked for.
 *
 * Method:  losses are taken between days on which nothing was poured, for a cask's own losses begin
 *          anew with each fill and go along with liquid that is poured over; of the day on which a
 *          cask is emptied or poured over what the air took counts as taken or moved, of that on
 *          which a sample drains it as sample.  Sums are made in billionths of a litre: the same
 *          bytes at any number of threads.
 * Errors:  STV_E_ARG  no day, or days that do not ascend; those of stv_outlook_run */
STV_MUST_CHECK enum stv_status stv_stock_sum(const struct stv_stock_request *request,
                                             struct stv_stock *out);
/* Frees and empties; may be called twice. */
void stv_stock_free(struct stv_stock *stock);

/* Draws of a figure: n_draws values, read only. */
const double *stv_stock_draws_nd(const struct stv_stock *stock, size_t label_idx, size_t day_idx,
                                 enum stv_stock_figure figure);
/* Its range; NaN when memory ran out. */
struct stv_range stv_stock_range(const struct stv_stock *stock, size_t label_idx, size_t day_idx,
                                 enum stv_stock_figure figure);

/* Share of what was held the day before in the list that was lost by this one: trial by trial, NaN
 * for the first day.  Casks filled between count in what was lost alone. */
struct stv_range stv_stock_lost_frac(const struct stv_stock *stock, size_t label_idx,
                                     size_t day_idx);

/* What is left after years of a steady yearly loss: 10 % for 5 years leaves 59.05 %, not 50 %.
 * loss_per_y 0..1, years_y 0 or more; NaN outside. */
double stv_left_frac(double loss_per_y, double years_y);

#endif
