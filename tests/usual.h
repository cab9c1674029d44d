/* The default numbers of the cask, for tests of what reads them. */
#ifndef STV_TESTS_USUAL_H
#define STV_TESTS_USUAL_H

#include "model/cask_numbers.h"

__attribute__((unused)) static const struct stv_cask_numbers usual = {
#define USUAL(field, value, unit, least, most, source) .field = (value),
    STV_CASK_NUMBERS(USUAL)
#undef USUAL
};

#endif
