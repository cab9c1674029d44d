/* One same new cask in several places, year by year: what it gives against what it loses. */
#ifndef STV_MODEL_PLACEMENT_PATHS_H
#define STV_MODEL_PLACEMENT_PATHS_H

#include "model/outlook.h"

struct stv_path_wish {
    const struct stv_cask *cask;   /* alike in all places, so that they are compared with the same
                                      draws */
    double volume20_l, abv20_frac; /* of its fill */
    int64_t from_day_d;
    const struct stv_place *places; /* n_places */
    size_t n_places;
    const double *ages_y; /* n_ages, ascending, above 0 */
    size_t n_ages;
};

struct stv_path_age {
    struct stv_range lost_frac; /* of the pure alcohol filled, whatever took it */
    struct stv_range wood_nd;   /* of the reference cask */
};

/* Fills the cask in each place on the first day and follows it.
 *
 * house  its ledger and days are not used
 * out    [place * n_ages + age]; NaN where it is empty by then
 * Errors: STV_E_ARG nothing asked, or ages not ascending; those of stv_outlook_run
 * Source: as stv_outlook_run */
STV_MUST_CHECK enum stv_status stv_placement_paths(const struct stv_outlook_request *house,
                                                   const struct stv_path_wish *wish,
                                                   struct stv_path_age *out);

#endif
