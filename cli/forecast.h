/* Casks followed from their present fill: what `forecast` and the report show. */
#ifndef STV_CLI_FORECAST_H
#define STV_CLI_FORECAST_H

#include "cli/chain.h"

/* All quantities of one cask on one day. */
struct stv_forecast_row {
    int64_t day_d;
    struct stv_range quantity[STV_Q_N]; /* by enum stv_quantity */
    bool is_in_record;                  /* the day lies inside the weather record */
};

struct stv_forecast_cask {
    int cask_idx;
    int fill_idx;  /* ledger event that began the fill; -1: the cask is empty, no rows */
    int gauge_idx; /* latest gauge with a volume; -1 */
    struct stv_forecast_row *rows; /* n_rows, the fill first, ascending */
    size_t n_rows;
    struct stv_forecast_row now;      /* as_of */
    struct stv_forecast_row at_gauge; /* meaningless without a gauge */
    struct stv_forecast_row end;      /* the last day asked for */
};

/* Sums over all full casks of the book, trial by trial, so that what casks share stays shared. */
struct stv_forecast_totals {
    struct stv_range lpa_l, bottles_nd, volume20_l;
    size_t n_weak;     /* casks below the house's bottling strength, counted at their own */
    size_t n_overfull; /* casks that would hold more than there is room for */
    int overfull_idx;  /* the first of them */
};

struct stv_forecast {
    struct stv_forecast_cask *casks;
    size_t n_casks;
    size_t n_full, n_empty;
    int64_t end_day_d;
    struct stv_forecast_totals now, end;
    double balance_residual_frac;
    size_t n_strength_held; /* casks times trials whose strength left the tables */
    double held_frac;       /* share of hours outside the range of the spirit's properties */
};

/* Which days to tell of. */
struct stv_forecast_days {
    int64_t until_day_d;
    bool has_until;      /* said by the user: then it is a row of its own */
    int months_apart;    /* 1 or 12 */
    const int64_t *at_d; /* further days */
    size_t n_at;
};

/* cask_idx: n of them.  Errors: those of stv_chain_outlook. */
STV_MUST_CHECK enum stv_status stv_forecast_make(const struct stv_chain *chain, const int *cask_idx,
                                                 size_t n, const struct stv_forecast_days *days,
                                                 struct stv_forecast *out);
/* All full casks from an outlook that was run already: now, the last gauge and the end, no paths.
 * The outlook must hold those days.  Errors: STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv_forecast_of_outlook(const struct stv_chain *chain,
                                                       const struct stv_outlook *outlook,
                                                       int64_t end_day_d, struct stv_forecast *out);
void stv_forecast_free(struct stv_forecast *forecast);

#endif
