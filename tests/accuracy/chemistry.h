/* Oak and esters without a loss of litres, for what an outlook does not tell: single kinds of
 * extract, milligrams of ester. */
#ifndef STV_TESTS_ACCURACY_CHEMISTRY_H
#define STV_TESTS_ACCURACY_CHEMISTRY_H

#include "model/extraction.h"
#include "model/params.h"
#include "tests/places.h"

struct acc_liquid {
    double volume20_l, abv20_frac, wall_m2;
    double content_mg[STV_OAK_N]; /* the volatile acids among them become ester */
    double ester_mg, fruit_nd;
    struct stv_oak_pools pools;
};

/* Parameters of a cask in n_draws trials about a base; NULL: about the defaults. */
void acc_params_of_draws(const struct stv_params *base, struct stv_params *out, size_t n_draws);

/* Fresh spirit in a full 200 L cask, on pools as they are. */
void acc_liquid_fill(struct acc_liquid *liquid, double abv20_frac);

/* Carries it from an age to an age, days from a 1 January on, at the temperature of a climate's
 * mean and yearly wave. */
void acc_liquid_carry(struct acc_liquid *liquid, const struct stv_params *params,
                      const struct climate_of *wave, double from_d, double to_d);

#endif
