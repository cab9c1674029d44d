#include "model/bottling_parts.h"

#include "model/calendar.h"

#include <math.h>
#include <stdlib.h>

enum stv_status stv__blend_new(size_t n_draws, struct stv__blend *out)
{
    double *room = malloc(4 * n_draws * sizeof *room + 1);
    *out = (struct stv__blend){.n_draws = n_draws};
    if (!room)
        return STV_E_MEMORY;
    out->volume20_l = room;
    out->lpa_l = room + n_draws;
    out->abv20_frac = room + 2 * n_draws;
    out->wood_nd = room + 3 * n_draws;
    return STV_OK;
}

void stv__blend_free(struct stv__blend *blend)
{
    free(blend->volume20_l);
    *blend = (struct stv__blend){0};
}

void stv__blend_sum(const struct stv_outlook *outlook, const int *cask_idx, size_t n_casks,
                    size_t day_idx, const struct stv__blend *onto, struct stv__blend *out)
{
    for (size_t d = 0; d < out->n_draws; d++) {
        out->volume20_l[d] = onto ? onto->volume20_l[d] : 0.0;
        out->lpa_l[d] = onto ? onto->lpa_l[d] : 0.0;
        out->wood_nd[d] = onto ? onto->wood_nd[d] : 0.0;
    }
    for (size_t i = 0; i < n_casks; i++) {
        size_t cask = (size_t)cask_idx[i];
        const double *volume = stv_outlook_draws(outlook, cask, day_idx, STV_Q_VOLUME20_L);
        const double *lpa = stv_outlook_draws(outlook, cask, day_idx, STV_Q_LPA_L);
        const double *wood = stv_outlook_draws(outlook, cask, day_idx, STV_Q_WOOD_INDEX_ND);
        for (size_t d = 0; d < out->n_draws; d++) {
            if (!isfinite(volume[d]))
                continue;
            out->volume20_l[d] += volume[d];
            out->lpa_l[d] += lpa[d];
            out->wood_nd[d] += wood[d] * lpa[d];
        }
    }
}

void stv__blend_mix(struct stv__blend *blend)
{
    for (size_t d = 0; d < blend->n_draws; d++) {
        blend->abv20_frac[d] = blend->lpa_l[d] / blend->volume20_l[d];
        blend->wood_nd[d] /= blend->lpa_l[d];
    }
}

void stv__blend_of(const struct stv_outlook *outlook, const int *cask_idx, size_t n_casks,
                   size_t day_idx, struct stv__blend *out)
{
    stv__blend_sum(outlook, cask_idx, n_casks, day_idx, NULL, out);
    stv__blend_mix(out);
}

int64_t stv__old_enough_day(const struct stv_house_rules *rules, int64_t born_day_d)
{
    return stv_day_add_months(born_day_d, (int)lround(rules->least_age_y * STV_MONTHS));
}
