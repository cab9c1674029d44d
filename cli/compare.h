/* The same casks run twice, told side by side: differences are made trial by trial, so that what
 * both runs do not know in the same way drops out of them. */
#ifndef STV_CLI_COMPARE_H
#define STV_CLI_COMPARE_H

#include "cli/chain.h"

enum stv_figure {
    STV_FIGURE_VOLUME,
    STV_FIGURE_STRENGTH,
    STV_FIGURE_LPA,
    STV_FIGURE_BOTTLES,
    STV_FIGURE_WOOD,
    STV_FIGURE_FRUIT,
    STV_FIGURE_ESTERS,
    STV_FIGURE_TOLD, /* those before are levels that can be told; below only ratios can */
    STV_FIGURE_OAK = STV_FIGURE_TOLD,
    STV_FIGURE_N
};
struct stv_figure_form {
    const char *key, *name;
    enum stv_quantity quantity;
    double factor_nd; /* from the model's unit to the printed one */
    int decimals;
    /* A difference of less does not matter: of the figure itself, or of what it is as it stands. */
    double margin, margin_share;
};
const struct stv_figure_form *stv_figure_form(enum stv_figure figure);

/* In the model's unit; NaN where the cask is empty on one side. */
struct stv_compared {
    struct stv_range one, other, difference;
    struct stv_range ratio_nd; /* other over one */
    bool matters;              /* the middle difference is beyond the margin */
    bool is_sure;              /* 9 trials in 10 have its sign */
};

/* A cask, and the one that holds its spirit in the other run. */
struct stv_compare_pair {
    int cask_idx, other_idx;
};

struct stv_comparison {
    const struct stv_compare_pair *pairs; /* the asker's */
    size_t n_pairs;
    const int64_t *days_d; /* the asker's */
    size_t n_days;
    struct stv_compared *figures;  /* [(pair * n_days + day) * STV_FIGURE_N + figure] */
    struct stv_compared *together; /* [day * STV_FIGURE_N + figure]: all casks of the pairs; of
                                      litres, alcohol and bottles alone, else NaN */
};

struct stv_compare_side {
    const struct stv_ledger *ledger; /* of the same casks as the book's */
    double cycling_gain_per_k;
};

struct stv_compare_ask {
    struct stv_compare_side one, other;
    const struct stv_compare_pair *pairs;
    size_t n_pairs;
    const int64_t *days_d; /* ascending, each once */
    size_t n_days;
};

/* Runs both sides.  The ask's arrays must outlive the comparison.
 * Errors: those of stv_outlook_run.  Free with stv_comparison_free when STV_OK. */
STV_MUST_CHECK enum stv_status stv_compare(const struct stv_chain *chain,
                                           const struct stv_compare_ask *ask,
                                           struct stv_comparison *out);
void stv_comparison_free(struct stv_comparison *comparison);

const struct stv_compared *stv_compared_of(const struct stv_comparison *comparison, size_t pair_idx,
                                           size_t day_idx, enum stv_figure figure);
/* Whether the cask that holds the spirit on the other side would hold more than there is room for.
 */
bool stv_compared_is_overfull(const struct stv_ledger *ledger,
                              const struct stv_comparison *comparison, size_t pair_idx,
                              size_t day_idx);

#endif
