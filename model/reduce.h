/* Bringing strength down in steps, by mass, with water or with weaker spirit.
 *
 * The caller gives the room for the steps; nothing here allocates. */
#ifndef STV_MODEL_REDUCE_H
#define STV_MODEL_REDUCE_H

#include "model/cask_room.h"
#include "model/status.h"

#include <stdbool.h>
#include <stddef.h>

#define STV_REDUCE_STEPS_MAX 120

struct stv_reduce_input {
    double volume_l, temp_c;  /* litres now, at temp_c */
    double from_abv20_frac;   /* strength now */
    double to_abv20_frac;     /* wanted, below it and above what is added */
    double with_abv20_frac;   /* strength of what is added: 0 for water */
    size_t n_steps;           /* 1..STV_REDUCE_STEPS_MAX */
    bool has_equal_additions; /* each step the same mass; else each the same points of strength */
    struct stv_cask_limit limit;
};

struct stv_reduce_step {
    double added_kg, added20_l; /* of what is added */
    double water_kg;            /* pure water added; 0 when reducing spirit is */
    double volume20_l, abv20_frac;
    double volume_hot_l; /* at the hottest */
    bool fits;           /* false when no capacity is said */
};

/* Works the steps out.
 *
 * out_steps  input->n_steps of them
 *
 * Errors:  STV_E_DOMAIN       outside a range above, NaN, frozen
 *          STV_E_CONSISTENCY  the strength wanted is not below the strength now, or not above what
 *                             is added: it cannot be reached
 *          STV_E_ARG          an argument is NULL
 * Accuracy: as tested: a published table of reduction to 0.2 L in 100 (its own last digit)
 * Source:  mass balance on densities [R22]
 * Assumes: nothing evaporates between the steps. */
STV_MUST_CHECK enum stv_status stv_reduce_work(const struct stv_reduce_input *input,
                                               struct stv_reduce_step *out_steps);

/* Bottles of a size in so many litres, whole ones; 0 for none. */
double stv_bottles_of_volume_nd(double volume20_l, double bottle_l);

#endif
