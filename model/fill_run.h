/* Spirit and water for a run of casks filled alike, and how full they may be.
 *
 * Nothing here allocates. */
#ifndef STV_MODEL_FILL_RUN_H
#define STV_MODEL_FILL_RUN_H

#include "model/cask_room.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

struct stv_fill_input {
    size_t n_casks;         /* 1 or more */
    double into_l;          /* into each, at filled_at_c; above 0 */
    double filled_at_c;     /* of the spirit when it is measured in */
    double abv20_frac;      /* wanted in the cask; above 0 */
    double from_abv20_frac; /* of the spirit on hand, not below abv20_frac */
    double indrink_frac;    /* of the fill, drunk by new or dry wood; 0..0.5 */
    struct stv_cask_limit limit;
};

struct stv_fill {
    /* For all casks together. */
    double spirit_kg, spirit20_l; /* of the spirit on hand */
    double water_kg;
    double lpa_l;
    /* For one cask. */
    double cask_kg, into20_l;
    double mass_frac;
    double volume_hot_l;               /* at the hottest, as filled */
    double volume_hot_after_indrink_l; /* and after new or dry wood drank its share of it */
    double most_full_l;                /* at filled_at_c, for the room wanted */
    bool fits;                         /* as filled, indrink not counted on */
    /* Pressure of the air above in a tight cask, closed full as filled and warmed to the hottest,
     * Pa, absolute; infinite when the spirit fills it. */
    double closed_pa;
    bool is_extrapolated; /* a temperature above 40 C was used */
};

/* Works a fill run out.
 *
 * out        members that need a capacity are NaN, and fits is false, when it is not said
 *
 * Errors:  STV_E_DOMAIN       outside a range above, NaN, or more put in than the cask holds cold
 *          STV_E_CONSISTENCY  the spirit on hand is weaker than what is wanted
 *          STV_E_ARG          an argument is NULL
 * Accuracy: as the density; as tested: a worked fill of twelve casks to 0.1 kg
 * Source:  mass balance on densities [R22] */
STV_MUST_CHECK enum stv_status stv_fill_work(const struct stv_fill_input *input,
                                             struct stv_fill *out);

#endif
