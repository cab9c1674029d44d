/* Losses between two days in kilograms.  The outlook tells them as litres of pure alcohol and as
 * litres off the volume at the strength of the day; by the same partial volumes they go back to
 * the masses of alcohol and water, which may be subtracted. */
#include "model/outlook_losses.h"

#include "model/outlook_told.h"
#include "model/spirit.h"

#include <math.h>
#include <stdint.h>
#include <stdlib.h>

#define L_PER_M3 1000.0
#define ROUND_OFF_KG 1e-7 /* of masses found again from litres */

static const struct {
    enum stv_quantity lpa, litres;
} causes[] = {
    {STV_Q_AIR_LPA_L, STV_Q_AIR_L},         {STV_Q_JOINT_LPA_L, STV_Q_JOINT_L},
    {STV_Q_INDRINK_LPA_L, STV_Q_INDRINK_L}, {STV_Q_SAMPLE_LPA_L, STV_Q_SAMPLE_L},
    {STV_Q_LEAK_LPA_L, STV_Q_LEAK_L},
};
enum { CAUSE_N = sizeof causes / sizeof *causes };

/* Gone by a day, of one trial, times a sign; NaN where the cask is empty. */
static void add_gone(const struct stv_outlook *outlook, const size_t at[3], double sign_nd,
                     double inout_kg[STV_PART_N])
{
    size_t cask = at[0], day = at[1], draw = at[2];
    double ethanol_kg, water_kg;
    double volume_l = stv_outlook_draws(outlook, cask, day, STV_Q_VOLUME20_L)[draw];
    double abv_frac = stv_outlook_draws(outlook, cask, day, STV_Q_ABV20_FRAC)[draw];
    if (!isfinite(volume_l) ||
        stv_spirit_masses_kg(volume_l, abv_frac, &ethanol_kg, &water_kg) != STV_OK) {
        inout_kg[STV_PART_ALL] = (double)NAN;
        return;
    }
    struct stv__partial of = stv__partial_volumes(ethanol_kg, water_kg);
    for (size_t c = 0; c < CAUSE_N; c++) {
        double lpa_l = stv_outlook_draws(outlook, cask, day, causes[c].lpa)[draw];
        double litres = stv_outlook_draws(outlook, cask, day, causes[c].litres)[draw];
        double gone_ethanol_kg = lpa_l * STV_ETHANOL_RHO20_KG_M3 / L_PER_M3;
        double gone_water_kg = (litres - gone_ethanol_kg * of.ethanol_l_kg) / of.water_l_kg;
        inout_kg[STV_PART_ALL] += sign_nd * (gone_ethanol_kg + gone_water_kg);
        if (c == 0) {
            inout_kg[STV_PART_AIR_WATER] += sign_nd * gone_water_kg;
            inout_kg[STV_PART_AIR_ETHANOL] += sign_nd * gone_ethanol_kg;
        } else {
            inout_kg[STV_PART_JOINTS + c - 1] += sign_nd * (gone_ethanol_kg + gone_water_kg);
        }
    }
}

/* A cask's losses in all trials, [part * n_draws + draw]; 0 when it is empty in any. */
static int find_cask(const struct stv_outlook *outlook, size_t cask, size_t from_idx, size_t to_idx,
                     double *out_kg)
{
    size_t n = outlook->n_draws;
    for (size_t k = 0; k < n; k++) {
        double kg[STV_PART_N] = {0.0};
        add_gone(outlook, (const size_t[3]){cask, to_idx, k}, 1.0, kg);
        add_gone(outlook, (const size_t[3]){cask, from_idx, k}, -1.0, kg);
        if (!isfinite(kg[STV_PART_ALL]))
            return 0;
        for (size_t p = 0; p < STV_PART_N; p++)
            out_kg[p * n + k] = fabs(kg[p]) > ROUND_OFF_KG ? kg[p] : 0.0;
    }
    return 1;
}

static void finish(double *sum_kg, size_t n_draws, struct stv_group_losses *out)
{
    for (size_t p = 0; p < STV_PART_N; p++) {
        out->part_kg[p] = stv_range_point((double)NAN);
        if (out->n_casks > 0)
            out->part_kg[p] = stv_range_scaled(stv_range_of(sum_kg + p * n_draws, n_draws),
                                               1.0 / (double)out->n_casks);
    }
}

enum stv_status stv_outlook_losses(const struct stv_outlook *outlook, size_t from_idx,
                                   size_t to_idx, const size_t *label_of_cask, size_t n_labels,
                                   struct stv_group_losses *out)
{
    if (!outlook->values || from_idx >= outlook->n_days || to_idx >= outlook->n_days)
        return STV_E_ARG;
    size_t one = STV_PART_N * outlook->n_draws;
    double *sums_kg = calloc((n_labels + 1) * one, sizeof *sums_kg);
    if (!sums_kg)
        return STV_E_MEMORY;
    double *cask_kg = sums_kg + n_labels * one;
    for (size_t l = 0; l < n_labels; l++)
        out[l].n_casks = 0;
    for (size_t c = 0; c < outlook->n_casks; c++) {
        size_t label = label_of_cask[c];
        if (label == SIZE_MAX || !find_cask(outlook, c, from_idx, to_idx, cask_kg))
            continue;
        out[label].n_casks++;
        for (size_t k = 0; k < one; k++)
            sums_kg[label * one + k] += cask_kg[k];
    }
    for (size_t l = 0; l < n_labels; l++)
        finish(sums_kg + l * one, outlook->n_draws, &out[l]);
    free(sums_kg);
    return STV_OK;
}
