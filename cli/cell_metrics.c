/* Names of the figures of a study. */
#include "cli/cell_metrics.h"

static const struct stv_cell_metric_form forms[STV_CELL_METRIC_N] = {
    [STV_CELL_BOTTLES_ND] = {"bottles_n", "bottles", "bottles", " bottles",
                             "bottles in the cask at the end of the years followed, at the house's "
                             "bottling strength and size",
                             1.0, 1},
    [STV_CELL_LPA_LOSS_FRAC] = {"lpa_loss_pct", "% of the fill", "pure alcohol lost", " %",
                                "pure alcohol gone since the fill, over the years followed", 100.0,
                                2},
    [STV_CELL_VOLUME_LOSS_FRAC] = {"volume_loss_pct", "% of the fill", "litres lost", " %",
                                   "bulk litres at 20 C gone since the fill, over the years "
                                   "followed",
                                   100.0, 2},
    [STV_CELL_DRIFT_FRAC] = {"abv20_drift_pct", "% vol", "change of strength", " %vol",
                             "strength at the end less strength at the fill", 100.0, 2},
    [STV_CELL_WOOD_ND] = {"wood_rel", "of the reference cask", "wood", "",
                          "phenolics per litre of pure alcohol over those of the house's reference "
                          "cask under the first site, in the first building's middle tier asked",
                          1.0, 2},
    [STV_CELL_FRUIT_ND] = {"still_fruit_rel", "of the fill", "still fruit left", "",
                           "what is left of the fruit that the still made; weak knowledge", 1.0, 2},
    [STV_CELL_WINDOW_MONTHS] = {"window_months", "months", "months it could be bottled", " months",
                                "months of those followed in which strength and wood lie within "
                                "what the house allows, each looked at where a step of the cask "
                                "model ends nearest to its end",
                                1.0, 1},
    [STV_CELL_AIR_C] = {"air_c", "deg C", "air", " C",
                        "air of the tier, mean of the years followed", 1.0, 1},
    [STV_CELL_RH_FRAC] = {"rh_pct", "%", "humidity", " %",
                          "relative humidity of the tier's air, mean of the years followed", 100.0,
                          0},
    [STV_CELL_HOT_H] = {"over_35c_h_per_y", "h a year", "hours over 35 C", " h",
                        "hours a year with the tier's air above 35 C", 1.0, 0},
    [STV_CELL_COOL_H] = {"cool_h_per_y", "h a year", "cool hours", " h",
                         "hours a year with the spirit of a 200 L cask at or below the number "
                         "cool_below_c (see --parameters)",
                         1.0, 0},
    [STV_CELL_CYCLES_ND] = {"cycles_8k_per_y", "a year", "cycles over 8 K", "",
                            "rainflow cycles (ASTM E1049-85) a year of 8 K and more in the spirit "
                            "of a 200 L cask",
                            1.0, 1},
};

const struct stv_cell_metric_form *stv_cell_metric_form(enum stv_cell_metric metric)
{
    return &forms[metric];
}
