/* A warehouse of two tiers, and runs of a ledger in it. */
#ifndef STV_TESTS_TWO_TIERS_H
#define STV_TESTS_TWO_TIERS_H

#include "tests/places.h"

#define YEAR_H 8760

static const struct climate_of lower = {.mean_c = 14.0,
                                        .year_k = 9.0,
                                        .day_k = 3.0,
                                        .rh_frac = 0.66,
                                        .rh_year_frac = 0.08,
                                        .rh_day_frac = 0.05};
static const struct climate_of upper = {.mean_c = 17.5,
                                        .year_k = 13.0,
                                        .day_k = 9.0,
                                        .rh_frac = 0.54,
                                        .rh_year_frac = 0.12,
                                        .rh_day_frac = 0.12,
                                        .radiant_more_k = 1.0};
static const double exposed_frac[2] = {1.0, 0.8};

/* Two tiers of one warehouse. */
struct store {
    struct stv_position places[2];
    struct stv_position_set set;
};

static inline void store_new(struct store *store, int n_years)
{
    store->places[0] = place_new(2001, (size_t)n_years * YEAR_H, -420, &lower);
    store->places[1] = place_new(2001, (size_t)n_years * YEAR_H, -420, &upper);
    store->places[1].place.tier_idx = 1;
    store->set = (struct stv_position_set){store->places, 2, exposed_frac, 0, 0};
}

static inline void store_end(struct store *store)
{
    place_end(&store->places[0]);
    place_end(&store->places[1]);
}

static inline enum stv_status try_run(const struct stv_ledger *ledger, const struct store *store,
                                      struct stv_run_options options, const int64_t *days_d,
                                      size_t n_days, struct stv_outlook *out)
{
    struct stv_house_rules rules = stv_house_rules_default();
    struct stv_outlook_request request = {.ledger = ledger,
                                          .set = &store->set,
                                          .rules = &rules,
                                          .base = NULL,
                                          .options = options,
                                          .days_d = days_d,
                                          .n_days = n_days};
    return stv_outlook_run(&request, out);
}

static inline struct stv_outlook run(const struct stv_ledger *ledger, const struct store *store,
                                     size_t n_draws, const int64_t *days_d, size_t n_days)
{
    struct stv_outlook outlook;
    stv_assert_ok(try_run(ledger, store,
                          (struct stv_run_options){.seed = 77, .n_draws = n_draws, .step_d = 5.0},
                          days_d, n_days, &outlook));
    return outlook;
}

#endif
