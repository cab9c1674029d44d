/* The same cask in the same building under several skies, year by year and draw by draw. */
#ifndef STV_MODEL_SITES_H
#define STV_MODEL_SITES_H

#include "model/outlook.h"
#include "model/sites_judge.h"

/* How full a cask of a study is filled: to the brim, as in the parameter sheet's tables, so that a
 * study can be held against them.  Less is a larger share lost, for the whole wall evaporates. */
#define STV_STUDY_FILL_FRAC 1.0

enum stv_site_metric {
    STV_SITE_VOLUME_LOSS_FRAC, /* of the fill, first year */
    STV_SITE_LPA_LOSS_FRAC,
    STV_SITE_DRIFT_FRAC, /* change of strength, first year */
    STV_SITE_WOOD_ND,    /* phenolics over the reference cask's at the first site */
    STV_SITE_FRUIT_ND,   /* still fruit left after a year */
    STV_SITE_METRIC_N
};
/* In words, never NULL. */
const char *stv_site_metric_name(enum stv_site_metric metric);

struct stv_site_input {
    char name[STV_ID_MAX];
    const struct stv_position *position; /* the tier that is judged */
    double exposed_frac;
};

struct stv_site_years {
    char name[STV_ID_MAX];
    int32_t *years; /* years of the record that are whole; 0 is a typical year */
    size_t n_years;
    struct stv_range metric[STV_SITE_METRIC_N]; /* over years and draws */
    double *year_median[STV_SITE_METRIC_N];     /* n_years: median over draws */
    double *values[STV_SITE_METRIC_N];          /* [year * n_draws + draw] */
};

struct stv_site_pair {
    size_t a_idx, b_idx;
    size_t n_common_years;
    struct stv_judged metric[STV_SITE_METRIC_N]; /* a minus b, same year, same draw */
};

struct stv_sites_result {
    struct stv_site_years *sites;
    size_t n_sites;
    struct stv_site_pair *pairs;
    size_t n_pairs;
    size_t n_draws;
    double margin[STV_SITE_METRIC_N];   /* set beforehand, in the metric's unit */
    double capacity_l, fill_abv20_frac; /* of the cask, and of its fill */
};

struct stv_sites_request {
    const struct stv_site_input *sites;
    size_t n_sites;
    const struct stv_cask *cask;
    double fill_abv20_frac;
    double margin[STV_SITE_METRIC_N]; /* differences inside are "the same"; set beforehand */
    const struct stv_params *base;    /* NULL: defaults */
    struct stv_run_options options;
    const struct stv_cask_numbers *numbers; /* NULL: defaults */
    const struct stv_house_rules *rules;    /* whose reference cask; NULL: defaults */
    const struct stv_byte_store *store;     /* of climate tables, for other runs; NULL: none */
};

/* Fills the cask afresh, soaked and full, on every 1 January of each site's record and follows it
 * for 365 days, with the same draws at every site.  Years are paired by the calendar; verdicts are
 * adjusted for the number of pairs of each metric.
 *
 * request  a typical year counts as year 0: it pairs with other typical years only, and gives no
 *          spread over years
 * out      sites as asked, and every pair of them; empty when the status is not OK
 *
 * Errors:  STV_E_NO_DATA  a site without a whole calendar year; others of stv_outlook_run
 * Accuracy: as stv_outlook_run
 * Assumes: no logger at any site, so the widest climate error
 * Memory:  free with stv_sites_result_free */
STV_MUST_CHECK enum stv_status stv_sites_compare(const struct stv_sites_request *request,
                                                 struct stv_sites_result *out);
/* Frees and empties; may be called twice. */
void stv_sites_result_free(struct stv_sites_result *result);

#endif
