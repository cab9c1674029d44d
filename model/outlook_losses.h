/* What casks lost between two days, in kilograms by cause: the mean cask of each group. */
#ifndef STV_MODEL_OUTLOOK_LOSSES_H
#define STV_MODEL_OUTLOOK_LOSSES_H

#include "model/outlook.h"

/* Kilograms add up over causes and days; litres do not, for alcohol and water shrink in mixing. */
enum stv_loss_part {
    STV_PART_AIR_WATER, /* through the wood */
    STV_PART_AIR_ETHANOL,
    STV_PART_JOINTS, /* both liquids from here on */
    STV_PART_INDRINK,
    STV_PART_SAMPLES,
    STV_PART_LEAK,
    STV_PART_ALL,
    STV_PART_N
};

struct stv_group_losses {
    size_t n_casks;                       /* 0: nothing is known, the ranges are NaN */
    struct stv_range part_kg[STV_PART_N]; /* of the mean cask, trial by trial */
};

/* Means over the casks of each label.
 *
 * outlook        with its values
 * from_idx, to_idx  its days; the losses of the first day itself are left out, those of the last
 *                counted
 * label_of_cask  n_casks of the outlook; SIZE_MAX: not asked for.  The cask must keep one fill from
 *                the first day to the last: a transfer or a new fill makes nonsense of a
 * difference. out            n_labels; casks that are empty on either day in any trial count
 * nowhere
 *
 * Errors: STV_E_ARG a day outside, or no values; STV_E_MEMORY
 * Accuracy: masses as exact as the partial volumes by which the outlook told litres */
STV_MUST_CHECK enum stv_status stv_outlook_losses(const struct stv_outlook *outlook,
                                                  size_t from_idx, size_t to_idx,
                                                  const size_t *label_of_cask, size_t n_labels,
                                                  struct stv_group_losses *out);

#endif
