/* Invented results for the charts of casks and of the air: losses, gauges, vapour, paths. */
#ifndef STV_TESTS_MADE_CASKS_H
#define STV_TESTS_MADE_CASKS_H

#include "tests/made_up.h"

/* kg of a cause: more in the warm season and higher up; water is taken up on the cold floor. */
static inline double made_kg(int season, size_t tier, size_t part)
{
    static const double warm_kg[STV_PART_ALL] = {2.1, 0.9, 1.0, 0.2, 0.06, 0.1};
    double more = 0.35 * (double)tier;
    if (part == STV_PART_AIR_WATER)
        return season == STV_SEASON_WARM ? 2.1 + more : -0.3 + more;
    return warm_kg[part] * (season == STV_SEASON_WARM ? 1.0 : 0.4);
}

static inline struct stv_season_losses made_losses(const char *name, size_t n_tiers)
{
    struct stv_season_losses out = {.name = name, .n_tiers = n_tiers};
    for (int s = 0; s < STV_LOSS_SEASONS; s++) {
        out.from_day_d[s] = s == STV_SEASON_WARM ? made_day(2027, 6, 3) : made_day(2026, 12, 2);
        out.to_day_d[s] = out.from_day_d[s] + 91;
        out.tiers[s] = made_room(n_tiers, sizeof *out.tiers[s]);
        for (size_t t = 0; t < n_tiers; t++) {
            struct stv_group_losses *tier = &out.tiers[s][t];
            double all_kg = 0.0;
            tier->n_casks = t == 1 ? 0 : 4 + t;
            for (size_t p = 0; p < STV_PART_ALL; p++) {
                double kg = t == 1 ? (double)NAN : made_kg(s, t, p);
                tier->part_kg[p] = (struct stv_range){0.8 * kg, 0.9 * kg, kg, 1.1 * kg, 1.2 * kg};
                all_kg += kg;
            }
            tier->part_kg[STV_PART_ALL] =
                (struct stv_range){all_kg - 0.4, all_kg - 0.2, all_kg, all_kg + 0.2, all_kg + 0.4};
        }
    }
    return out;
}

static inline void made_losses_free(struct stv_season_losses *losses)
{
    for (int s = 0; s < STV_LOSS_SEASONS; s++)
        free(losses->tiers[s]);
}

/* Every cask gauged once: what was told, and a miss where said. */
static inline struct stv_told_figures made_told(size_t n, const char *id)
{
    struct stv_told_figures out = {made_room(n, sizeof *out.figures), n, true};
    for (size_t i = 0; i < n; i++) {
        bool is_litres = i % 2 == 0, is_miss = i == 4 || i == 5;
        double told = is_litres ? 150.0 + 0.05 * (double)i : 0.58 + 0.00004 * (double)i;
        double reach = is_litres ? 2.0 : 0.004;
        out.figures[i] = (struct stv_told_figure){
            .cask_id = is_miss ? id : "9",
            .wood = (enum stv_wood_history)(i % STV_WOOD_HISTORY_N),
            .capacity_l = 200.0,
            .what = is_litres ? STV_GAUGED_LITRES : STV_GAUGED_STRENGTH,
            .day_d = made_day(2020, 9, 24) + (int64_t)i,
            .told = told,
            .told_p05 = told - reach,
            .told_p95 = told + reach,
            .measured = is_miss ? told - 5.0 * reach : told + 0.4 * reach,
            .measured_sd = i % 3 == 0 ? (double)NAN : 0.3 * reach,
            .is_miss = is_miss,
        };
    }
    return out;
}

/* Highest in summer after midnight; the upper end is twice the middle. */
static inline struct stv_vapour_clock made_clock(const char *name, double most_ppm)
{
    struct stv_vapour_clock out = {.has_any = true,
                                   .name = name,
                                   .caution = "Steady evaporation only. No figure here clears "
                                              "anybody to enter: air first, measure, then enter.",
                                   .n_casks = 130.0,
                                   .worst_day_d = made_day(2026, 8, 20),
                                   .worst_hour = 2};
    for (int m = 0; m < STV_MONTHS; m++)
        for (int h = 0; h < STV_DAY_H; h++) {
            double ppm = most_ppm * (1.0 - 0.1 * abs(m - 7)) * (1.0 - 0.01 * abs(h - 2));
            out.highest_ppm[m][h] =
                (struct stv_range){0.5 * ppm, 0.8 * ppm, ppm, 1.5 * ppm, 2.0 * ppm};
        }
    out.worst_ppm = out.highest_ppm[7][2];
    return out;
}

/* Paths that go up with the years, more loss and less wood on higher tiers. */
static inline struct stv_store_paths made_paths(const char *name, size_t n_tiers)
{
    struct stv_store_paths out = {.name = name,
                                  .capacity_l = 200.0,
                                  .abv20_frac = 0.60,
                                  .from_day_d = made_day(2027, 12, 12),
                                  .n_ages = 6,
                                  .n_tiers = n_tiers,
                                  .wood_least_nd = 0.7,
                                  .wood_most_nd = 1.3};
    out.told = made_room(n_tiers * out.n_ages, sizeof *out.told);
    for (size_t a = 0; a < out.n_ages; a++) {
        out.ages_y[a] = a + 1 < out.n_ages ? (double)a + 1.0 : 6.4;
        for (size_t t = 0; t < n_tiers; t++) {
            double lost = 0.03 * out.ages_y[a] * (1.0 + 0.02 * (double)t);
            double wood = 0.25 * out.ages_y[a] * (1.0 - 0.01 * (double)t);
            out.told[t * out.n_ages + a] =
                (struct stv_path_age){{0.6 * lost, 0.8 * lost, lost, 1.3 * lost, 1.9 * lost},
                                      {0.6 * wood, 0.8 * wood, wood, 1.2 * wood, 1.5 * wood}};
        }
    }
    return out;
}

#endif
