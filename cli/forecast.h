/* Casks followed from their present fill: what `forecast` and the report show. */
#ifndef STV_CLI_FORECAST_H
#define STV_CLI_FORECAST_H

#include "cli/chain.h"
#include "model/crossing.h"

/* A cask filled to the bung is a little over its size by maker and moisture; more litres than this
 * share of it do not fit: judgement. */
#define STV_OVERFULL_FRAC 1.03

/* Where the spirit of a cask went. */
enum stv_loss {
    STV_LOSS_WOOD_AIR,
    STV_LOSS_JOINTS,
    STV_LOSS_INDRINK, /* soaked into the staves */
    STV_LOSS_SAMPLES,
    STV_LOSS_LEAK,
    STV_LOSS_ALL,
    STV_LOSS_N
};
/* Which quantities hold a loss, as pure alcohol and as litres; not of STV_LOSS_ALL. */
enum stv_quantity stv_loss_lpa(enum stv_loss loss);
enum stv_quantity stv_loss_litres(enum stv_loss loss);
/* "wood_air", "joints", ..., for keys; and in words. */
const char *stv_loss_key(enum stv_loss loss);
const char *stv_loss_name(enum stv_loss loss);

/* Losses of a span of time; all of them together trial by trial. */
struct stv_losses_told {
    struct stv_range lpa_l[STV_LOSS_N], volume20_l[STV_LOSS_N];
};

/* All quantities of one cask on one day. */
struct stv_forecast_row {
    int64_t day_d;
    double asked_age_y;                 /* the row was asked for by this age; NaN */
    struct stv_range quantity[STV_Q_N]; /* by enum stv_quantity */
    bool is_in_record;                  /* the day lies inside the weather record */
};

/* A level that a cask may pass in the years to come. */
struct stv_threshold {
    enum stv_quantity quantity;
    struct stv_level level;
};

struct stv_forecast_cask {
    int cask_idx;
    int fill_idx;  /* ledger event that began the fill; -1: the cask is empty, no rows */
    int gauge_idx; /* latest gauge with litres or a strength; -1 */
    const struct stv_event *emptied; /* later event that leaves it empty; NULL: none */
    struct stv_forecast_row *rows;   /* n_rows, the fill first, ascending */
    size_t n_rows;
    size_t n_left_out;                /* days asked for that lie before the fill */
    struct stv_forecast_row now;      /* as_of */
    struct stv_forecast_row at_gauge; /* meaningless without a gauge */
    struct stv_forecast_row end;      /* the last day asked for */
    struct stv_losses_told gone;      /* from the fill to now */
    struct stv_losses_told coming;    /* from now to a year on; NaN when the fill ends before */
    struct stv_crossing *crossings;   /* per threshold of the forecast; NULL when not asked for */
};

/* Sums over casks, trial by trial, so that what casks share stays shared. */
struct stv_forecast_totals {
    struct stv_range lpa_l, bottles_nd, volume20_l;
    struct stv_losses_told gone; /* of the fills that are there that day, since each began */
    size_t n_weak;     /* casks below the house's bottling strength, counted at their own */
    size_t n_overfull; /* casks that would hold more than there is room for */
    int overfull_idx;  /* the first of them */
};

enum stv_forecast_by { STV_BY_CASK, STV_BY_LOT, STV_BY_TIER, STV_BY_HOUSE };

#define STV_SUM_NAME_MAX 192
/* Sums of one lot, one tier or the house. */
struct stv_forecast_sum {
    char name[STV_SUM_NAME_MAX];
    size_t n_casks; /* full today */
    struct stv_forecast_totals now, end;
};

struct stv_forecast {
    struct stv_forecast_cask *casks; /* none where sums alone were asked for */
    size_t n_casks, n_asked;         /* told one by one; asked for */
    size_t n_full, n_empty;
    int64_t end_day_d;
    bool has_totals; /* of the whole house; not when casks were named */
    struct stv_forecast_totals now, end;
    struct stv_threshold *thresholds;
    size_t n_thresholds;
    int64_t horizon_day_d; /* how far thresholds were looked for */
    struct stv_forecast_sum *sums;
    size_t n_sums;
    size_t n_unsummed; /* casks asked for that are in none, for they are empty today */
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
    const double *ages_y; /* and ages of the youngest part of the spirit */
    size_t n_ages;
};

/* What to follow. */
struct stv_forecast_ask {
    const int *cask_idx; /* n_casks, each once */
    size_t n_casks;
    bool is_named;  /* these casks alone are run, not the house */
    bool has_paths; /* else only now and the end of each */
    enum stv_forecast_by by;
    struct stv_forecast_days days;
    const struct stv_threshold *thresholds;
    size_t n_thresholds;
};

/* Errors: those of stv_outlook_run. */
STV_MUST_CHECK enum stv_status stv_forecast_make(const struct stv_chain *chain,
                                                 const struct stv_forecast_ask *ask,
                                                 struct stv_forecast *out);
/* All full casks from an outlook that was run already: now, the last gauge and the end, no paths.
 * The outlook must hold those days and the casks' values.  Errors: STV_E_MEMORY. */
STV_MUST_CHECK enum stv_status stv_forecast_of_outlook(const struct stv_chain *chain,
                                                       const struct stv_outlook *outlook,
                                                       int64_t end_day_d, struct stv_forecast *out);
/* The same by parts, for a run that hands out each cask's values on days of its own: what is known
 * of the full casks, and the days that one must be told on; one cask's values, as struct
 * stv_outlook_rows has them, from several threads at once if of several casks; and the house, from
 * an outlook of now and the end whose first sum is that of all casks.
 * Errors: STV_E_MEMORY; free with stv_forecast_free, also after one. */
struct stv__day_list;
STV_MUST_CHECK enum stv_status stv_forecast_begin(const struct stv_chain *chain, int64_t end_day_d,
                                                  struct stv_forecast *out);
STV_MUST_CHECK enum stv_status stv_forecast_cask_days(const struct stv_chain *chain,
                                                      const struct stv_forecast_cask *cask,
                                                      struct stv__day_list *list);
STV_MUST_CHECK enum stv_status stv_forecast_take(const struct stv_chain *chain,
                                                 const int64_t *days_d, size_t n_days,
                                                 const double *values,
                                                 struct stv_forecast_cask *inout);
STV_MUST_CHECK enum stv_status stv_forecast_end(const struct stv_chain *chain,
                                                const struct stv_outlook *outlook,
                                                struct stv_forecast *inout);
void stv_forecast_free(struct stv_forecast *forecast);

#endif
