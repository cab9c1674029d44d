/* Short ways that several tests of spirit sums share. */
#ifndef STV_TESTS_SPIRIT_CASE_H
#define STV_TESTS_SPIRIT_CASE_H

#include "tests/check.h"

#include "model/draws.h"
#include "model/spirit.h"

static inline double mass_frac_of_abv(double abv20_frac)
{
    double p;
    stv_assert_ok(stv_mass_frac_from_abv20(abv20_frac, &p));
    return p;
}

static inline double mass_frac_of_proof(double us_proof_nd)
{
    double p;
    stv_assert_ok(stv_mass_frac_from_us_proof(us_proof_nd, &p));
    return p;
}

/* The k-th number of a name, from least to most: the same in every run. */
static inline double keyed(const char *name, size_t k, double least, double most)
{
    return least + (most - least) * stv_draw_uniform_nd(20271212, stv_key_of(name), 0, k);
}

#endif
