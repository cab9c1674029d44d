/* What the chart of wood against loss shows. */
#ifndef STV_PLOTS_CHART_PATHS_H
#define STV_PLOTS_CHART_PATHS_H

#include "model/placement_paths.h"

#define STV_PATH_AGES_MAX 30

/* The house's reference cask on each tier of a store. */
struct stv_store_paths {
    const char *name;
    double capacity_l, abv20_frac; /* of the cask, and of its fill */
    int64_t from_day_d;            /* of the fill */
    double ages_y[STV_PATH_AGES_MAX];
    size_t n_ages, n_tiers;
    struct stv_path_age *told; /* [tier * n_ages + age], the floor first; owned by the caller */
    double wood_least_nd, wood_most_nd; /* what the house calls ready */
};

#endif
