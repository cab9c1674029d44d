#include "model/place_offset.h"

#include <math.h>
#include <stdio.h>

#define NAME_MAX_BYTES 96

static struct stv_climate_error shared_error(const struct stv_position_set *set)
{
    struct stv_climate_error least = set->positions[0].error;
    for (size_t p = 1; p < set->n_positions; p++) {
        least.liquid_k = fmin(least.liquid_k, set->positions[p].error.liquid_k);
        least.rh_frac = fmin(least.rh_frac, set->positions[p].error.rh_frac);
    }
    return least;
}

static double own_nd(const char *what, const struct stv_place *place, uint64_t seed,
                     size_t member_idx)
{
    char name[NAME_MAX_BYTES];
    if (member_idx == SIZE_MAX)
        return 0.0;
    snprintf(name, sizeof name, "%s %d %d %d %d", what, place->warehouse_idx, place->tier_idx,
             place->bay_idx, place->depth_idx);
    return stv_draw_stratum_nd(seed, name, member_idx, STV_CLIMATE_MEMBERS);
}

static double beyond(double all, double shared)
{
    return sqrt(fmax(0.0, all * all - shared * shared));
}

struct stv_climate_member stv__place_offset(const struct stv_position_set *set, size_t position_idx,
                                            struct stv_climate_member shared_nd, uint64_t seed,
                                            size_t member_idx)
{
    const struct stv_position *position = &set->positions[position_idx];
    const struct stv_climate_error all = position->error, shared = shared_error(set);
    return (struct stv_climate_member){
        shared.liquid_k * shared_nd.liquid_offset_k +
            beyond(all.liquid_k, shared.liquid_k) *
                own_nd("place liquid", &position->place, seed, member_idx),
        shared.rh_frac * shared_nd.humidity_offset_frac +
            beyond(all.rh_frac, shared.rh_frac) *
                own_nd("place humidity", &position->place, seed, member_idx),
    };
}
