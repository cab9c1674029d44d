/* What several spirits make together, how old it is by law, and what it gives in bottles.
 *
 * Nothing here allocates. */
#ifndef STV_MODEL_MARRY_H
#define STV_MODEL_MARRY_H

#include "model/status.h"

#include <stddef.h>
#include <stdint.h>

/* One part.  Give the volume or the mass, the other NaN. */
struct stv_marry_part {
    double volume20_l;
    double mass_kg;
    double abv20_frac;
    double age_y; /* NaN: not known */
};

struct stv_marry_input {
    const struct stv_marry_part *parts; /* n_parts, at least one */
    size_t n_parts;
    double to_abv20_frac; /* wanted for the bottle; NaN: as it is married */
    double loss_frac;     /* lost in emptying and filtering, 0..0.5 */
    double bottle_l;      /* NaN: none wanted */
};

struct stv_marriage {
    double mass_kg, volume20_l, abv20_frac, lpa_l; /* before any water */
    double sum_of_volumes20_l;                     /* litres as put in, to show the contraction */
    double age_y;                                  /* of the youngest; NaN when one is not known */
    double water_kg;                               /* to reduce it; 0 for none */
    double bottling20_l;                           /* after water, before losses */
    double bottling_abv20_frac;
    double bottles_nd; /* whole bottles after losses; NaN when none are wanted */
};

/* Works a marriage out.
 *
 * out        all members NaN when the status is not OK
 *
 * Errors:  STV_E_DOMAIN       a part without litres or mass or with both, an amount not positive, a
 *                             strength, loss or bottle outside
 *          STV_E_CONSISTENCY  the strength wanted is above what the parts make: water cannot raise
 * it STV_E_ARG          an argument is NULL Accuracy: as tested: a worked marriage of three casks
 * to 0.01 L Source:  mass balance on densities [R22] of model/spirit.h */
STV_MUST_CHECK enum stv_status stv_marry_work(const struct stv_marry_input *input,
                                              struct stv_marriage *out);

/* Whole years between two days, as ages are counted: a year is full on its anniversary, that of 29
 * February on 1 March.  Negative when until_day_d is earlier.
 *
 * Source:  civil calendar; common practice, no published source */
int stv_whole_years(int64_t since_day_d, int64_t until_day_d);

#endif
