/* What the loggers of one rack taught about it: how its air and humidity follow from the weather,
 * and how far that misses months it has not seen. */
#ifndef STV_MODEL_RACK_H
#define STV_MODEL_RACK_H

#include "model/position.h"
#include "model/rack_columns.h"
#include "model/rack_fit.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>
#include <stdint.h>

/* What the sum of columns is added to. */
enum stv_rack_start {
    STV_START_OUTDOOR, /* nothing */
    STV_START_STORE,   /* the building model's tier: only where it falls short is learned */
    STV_START_TIER,    /* what another rack of the house learned: only the difference is */
    STV_RACK_STARTS
};

struct stv_rack_sum {
    bool is_learned;
    enum stv_rack_start start;
    uint32_t groups; /* of columns taken in, a bit each */
    double intercept_nd;
    double coef_nd[STV_RACK_COLUMNS_MAX];
};

/* How far one series misses what was measured. */
struct stv_rack_miss {
    double hour_nd;        /* root mean square of the hours */
    double month_nd;       /* of the means of months with ten days of hours, year by year */
    double worst_month_nd; /* the largest of those, with its sign */
    double bias_nd;        /* told less measured */
    double p95_nd;         /* 95 in 100 hours miss by less */
};

struct stv_rack_skill {
    size_t n_hours, n_months;         /* measured hours; calendar months with ten days of them */
    struct stv_rack_miss air_k;       /* each calendar month told without it */
    struct stv_rack_miss outdoor_k;   /* outdoor air taken for the rack's */
    struct stv_rack_miss own_k;       /* the rack's own monthly means, each from those beside it */
    struct stv_rack_miss month_30d_k; /* mean of the last 30 days outdoors */
    struct stv_rack_miss store_k;     /* the building model alone; NaN without */
    size_t n_rh_hours;
    struct stv_rack_miss rh_frac, store_rh_frac; /* NaN without humidity */
    double degree_days_frac;                     /* above 10 C, told over measured less 1 */
    double swing_frac;                           /* mean daily swing, likewise */
    double deficit_pa; /* mean vapour pressure deficit, told less measured; NaN without */
};

/* least_c above most_c: nothing was measured. */
struct stv_rack_span {
    double least_c, most_c;
};

struct stv_rack {
    struct stv_place place;
    int from_tier_idx; /* of STV_START_TIER; -1 else */
    struct stv_rack_sum sum[STV_RACK_TARGETS];
    struct stv_rack_skill skill;
    int64_t first_day_d, last_day_d; /* local days of the first and last measured hour */
    /* Outdoor means of 30 days that the loggers of air, and of humidity, lived through. */
    struct stv_rack_span lived[STV_RACK_TARGETS];
    double n_casks; /* stored while it was learned, as the book has it */
};

struct stv_rack_request {
    const struct stv_weather *weather;         /* real years */
    const struct stv_rack_sun *sun;            /* of that weather; NULL: no sun on sides */
    const double *store_air_c, *store_rh_frac; /* the building model's tier; NULL without */
    struct stv_air_hours measured;
    struct stv_air_hours from; /* what another rack's learning says, told unseen; NULLs: none */
    bool from_is_covered[STV_RACK_TARGETS]; /* that rack's loggers lived through the weather */
};

/* Learns a rack.
 *
 * out_unseen_air_c, out_unseen_rh_frac  weather->grid.n values each, or NULL: what is said of every
 *            hour by a fit without that calendar month
 * out        place, from_tier_idx and n_casks are the caller's; untouched when the status is not OK
 *
 * Method:    stv_rack_fit from each start there is; the least error wins, and the building
 *            model within 1 % of it.  Where the loggers have not seen the warmth or cold of the
 *            weather, by 2 K in means of 30 days, the building model and a constant, with the
 *            hours of the day alone learned, is tried too; judged are then the coldest and the
 *            warmest month that were seen, each told without it, and a sum is charged with
 *            1 K, unless it leans on a rack that did live through them.
 *            Humidity is learned as the logarithm of vapour pressure, with the temperature as it
 *            is told.  The start is chosen by these same errors, of at most four.
 * Errors:    STV_E_ARG      NULL, weather of a typical year, or not hourly
 *            STV_E_NO_DATA  less than three calendar months with ten days of hours
 *            STV_E_MEMORY
 * Accuracy:  skill; on a published roof space (tests/roof_space.sh) 1.7 and 2.0 K an hour, 0.5
 *            and 0.7 K a month, 3 % of humidity a month
 * Source:    columns and fit as named there; the rule for seasons not seen is judgement */
STV_MUST_CHECK enum stv_status stv_rack_learn(const struct stv_rack_request *request,
                                              double *out_unseen_air_c, double *out_unseen_rh_frac,
                                              struct stv_rack *out);

/* What a learned rack says of every hour of a weather.
 *
 * request     measured is not looked at; from: what the rack of from_tier_idx says
 * out_air_c   weather->grid.n values
 * out_rh_frac likewise, 0..1; NaN where humidity was not learned
 * Errors:     STV_E_ARG; STV_E_NO_DATA the building model or the other rack is needed and missing;
 *             STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_rack_tell(const struct stv_rack *rack,
                                             const struct stv_rack_request *request,
                                             double *out_air_c, double *out_rh_frac);

/* A month counts as one that the loggers have not seen from this share of its hours on: a freak
 * week is no season.  Judgement. */
#define STV_RACK_UNSEEN_FRAC 0.05

/* Share of each calendar month's hours in which the outdoor mean of 30 days lies more than 2 K
 * outside what the rack's loggers of a target lived through; NaN for months that the weather lacks.
 * The first 30 days of the weather have no such mean and do not count.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_rack_unseen_months(const struct stv_rack_span *lived,
                                                      const struct stv_weather *weather,
                                                      double out_frac[STV_RACK_FOLDS]);
/* Whether no month is unseen.  Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_rack_is_covered(const struct stv_rack_span *lived,
                                                   const struct stv_weather *weather,
                                                   bool *out_is_covered);

/* Misses of a told series, where both are finite; NaN when they never are.
 * Errors: STV_E_MEMORY */
STV_MUST_CHECK enum stv_status stv_rack_miss_of(const struct stv_grid *grid, const double *told_nd,
                                                const double *measured_nd,
                                                struct stv_rack_miss *out);

#endif
