/* Shared inside model/: how far off the climates of a house's places are in one trial. */
#ifndef STV_MODEL_PLACE_OFFSET_H
#define STV_MODEL_PLACE_OFFSET_H

#include "model/draws.h"
#include "model/outlook.h"

/* What the best known place of a house is doubted by, all of its places share: it is what loggers
 * or the weather are wrong by everywhere.  What a place is known worse than that is its own, or
 * gauges of casks beside a logger would move a tier without one by several times as much.
 *
 * position_idx  in the set
 * shared_nd     standard normal scores of the house
 * member_idx    whose own score it is, below STV_CLIMATE_MEMBERS; SIZE_MAX: that is 0
 * Source:  own rule; the spreads are those of the positions */
struct stv_climate_member stv__place_offset(const struct stv_position_set *set, size_t position_idx,
                                            struct stv_climate_member shared_nd, uint64_t seed,
                                            size_t member_idx);

#endif
