/* Shared inside model/: what a cask is worth to the house on a day, and when two outcomes are as
 * good as each other; one rule for places and for casks that could receive its spirit. */
#ifndef STV_MODEL_PLACEMENT_SCORE_H
#define STV_MODEL_PLACEMENT_SCORE_H

#include "model/placement.h"

/* Adds a cask's outcome on a day of the outlook to a score that was all zero. */
void stv__score_told(const struct stv_outlook *outlook, size_t cask_idx, size_t day_idx,
                     const struct stv_house_rules *rules, struct stv_place_score *score);

/* Bottles within which two outcomes are as good: 1.5 % of the best's middle. */
double stv__score_margin_bottles_nd(const struct stv_place_score *best);

#endif
