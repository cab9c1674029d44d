/* Casks in the climates of published observations, as many trials as one likes. */
#ifndef STV_TESTS_ACCURACY_STORE_H
#define STV_TESTS_ACCURACY_STORE_H

#include "model/outlook.h"
#include "tests/places.h"

#include <stddef.h>

/* Trials of the table, and their seed. */
#define ACC_DRAWS 256
#define ACC_SEED 1
/* Casks of a filling where a mean over many was published. */
#define ACC_MEAN 4

enum acc_place {
    ACC_KENTUCKY,
    ACC_KENTUCKY_FLOOR,
    ACC_HOT_DRY,
    ACC_WEST_COAST,
    ACC_SCOTLAND,
    ACC_BOTTOM_TIER,
    ACC_TOP_TIER,
    ACC_CELLAR_DRY,
    ACC_CELLAR_MIDDLE,
    ACC_CELLAR_HUMID,
    ACC_WINE_CELLAR,
    ACC_WINE_DRY,
    ACC_WINE_HUMID,
    ACC_WINE_HALL,
    ACC_WINE_CAVE,
    ACC_CALIFORNIA,
    ACC_CARIBBEAN,
    ACC_INDIA,
    ACC_BRAZIL,
    ACC_TRADE_COOL,
    ACC_TRADE_HOT,
    ACC_STEADY_COOL,
    ACC_STEADY,
    ACC_SWINGING,
    ACC_STEADY_WARM,
    ACC_PLACES,
    ACC_NOWHERE = ACC_PLACES /* a row that has no climate */
};

struct acc_climate {
    const char *key; /* as the table refers to it */
    struct climate_of wave;
    int is_stated;     /* by the source, so that the doubt is a logger's; else a weather file's */
    const char *words; /* what was stated, what assumed */
};
const struct acc_climate *acc_climate_of(enum acc_place place);

/* Casks that are alike but for what each draws for itself, filled on 1 January. */
struct acc_filling {
    enum acc_place place;
    size_t n_casks; /* 1 where one cask was told of, some where a mean of many was */
    double capacity_l, fill_l, abv20_frac;
    enum stv_wood_history history;
    int is_soaked;
    double refill_y; /* above 0: emptied and filled again, alike, whenever so long has passed */
    size_t n_refills;
};

struct acc_casks {
    struct stv_outlook outlook;
    size_t n_draws; /* 1 without trials */
    double fill_l, fill_lpa_l;
};

/* Runs them to ages since the first fill, ascending, in years; casks of the same number draw the
 * same in every run, so that runs can be compared trial by trial.  n_draws 0 takes the defaults
 * alone.  Free with acc_casks_free. */
struct acc_casks acc_run(const struct acc_filling *filling, const double *ages_y, size_t n_ages,
                         size_t n_draws);
void acc_casks_free(struct acc_casks *casks);

/* Sum over the casks over their number, of an amount at an age; a cask that ran dry counts as 0. */
double acc_amount(const struct acc_casks *casks, size_t age_idx, enum stv_quantity quantity,
                  size_t draw_idx);
/* Strength of all of them poured together; NaN when all are dry. */
double acc_abv20_frac(const struct acc_casks *casks, size_t age_idx, size_t draw_idx);
/* ln(water at fill / water left) over the same of ethanol; NaN when all are dry. */
double acc_log_ratio(const struct acc_casks *casks, size_t age_idx, size_t draw_idx);
/* Extract in all of them, mg of phenolics and colour in a cask; for ratios only. */
double acc_oak_mg(const struct acc_casks *casks, size_t age_idx, size_t draw_idx);

/* What left through the wood alone from the fill to an age, kg a cask. */
struct acc_wood_loss {
    double ethanol_kg, water_kg;
};
struct acc_wood_loss acc_wood_loss(const struct acc_casks *casks, size_t age_idx, size_t draw_idx);

#endif
