/* Numbers of the cask model that stay the same in every trial, and the spreads that trials draw
 * with: each with its default, what is allowed, and where it comes from.  A book may set them one
 * by one (`parameters:`), beside those of model/params.h, which are drawn.
 * A building keeps these defaults for the casks that load its air; `numbers:` sets what it reads.
 */
#ifndef STV_MODEL_CASK_NUMBERS_H
#define STV_MODEL_CASK_NUMBERS_H

#include <stddef.h>

/* One kind of extract, per m2 of inner wood and at 20 C, of a new charred 200 L cask with spirit
 * near 60 %vol: fast and slow pool with rate and activation energy, then the decay in the liquid.
 * Source: parameter sheet (DEVELOPERS.md), section 4: judgement, for no open table of extractives
 * against time in spirit was found. */
#define STV__OAK_SOURCE "parameter sheet 4, judgement: no open table of extractives was found"
#define STV__OAK_NUMBERS(X, kind, fast_per_d, fast_j_mol, fast_mg_m2, slow_per_y, slow_j_mol, \
                         slow_mg_m2, decay_per_y, decay_j_mol)                                \
    X(oak_##kind##_fast_rate_per_d, fast_per_d, "1/d", 1e-6, 10.0, STV__OAK_SOURCE)           \
    X(oak_##kind##_fast_ea_j_mol, fast_j_mol, "J/mol", 0.0, 1.5e5, STV__OAK_SOURCE)           \
    X(oak_##kind##_fast_pool_mg_m2, fast_mg_m2, "mg/m2", 0.01, 1e7, STV__OAK_SOURCE)          \
    X(oak_##kind##_slow_rate_per_y, slow_per_y, "1/y", 1e-6, 10.0, STV__OAK_SOURCE)           \
    X(oak_##kind##_slow_ea_j_mol, slow_j_mol, "J/mol", 0.0, 1.5e5, STV__OAK_SOURCE)           \
    X(oak_##kind##_slow_pool_mg_m2, slow_mg_m2, "mg/m2", 0.01, 1e7, STV__OAK_SOURCE)          \
    X(oak_##kind##_decay_per_y, decay_per_y, "1/y", 0.0, 100.0, STV__OAK_SOURCE)              \
    X(oak_##kind##_decay_ea_j_mol, decay_j_mol, "J/mol", 0.0, 1.5e5, STV__OAK_SOURCE)

/* One size of cask; areas of girth and heads, dry wood.
 * Source: parameter sheet, section 2: typical cooperage sizes from memory, areas by a geometric
 * calculation for the usual proportions; makers differ by about 5 % in area, 10 % in the rest. */
#define STV__SIZE_SOURCE "parameter sheet 2: typical cooperage, from memory"
#define STV__CASK_SIZE(X, litres, area_m2, stave_mm, wood_kg)                   \
    X(cask_##litres##_l_area_m2, area_m2, "m2", 0.1, 10.0, STV__SIZE_SOURCE)    \
    X(cask_##litres##_l_stave_mm, stave_mm, "mm", 10.0, 60.0, STV__SIZE_SOURCE) \
    X(cask_##litres##_l_wood_kg, wood_kg, "kg", 1.0, 300.0, STV__SIZE_SOURCE)

/* Field, default, unit, least and most that a book may set, source.  "Parameter sheet n" is its
 * section n in DEVELOPERS.md. */
#define STV_CASK_NUMBERS(X)                                                                        \
    STV__OAK_NUMBERS(X, phenolics, 0.02, 30e3, 16000.0, 0.10, 45e3, 40000.0, 0.0, 0.0)             \
    STV__OAK_NUMBERS(X, lactone, 0.01, 30e3, 350.0, 0.08, 40e3, 350.0, 0.01, 60e3)                 \
    STV__OAK_NUMBERS(X, aldehydes, 0.012, 30e3, 250.0, 0.06, 75e3, 1000.0, 0.05, 60e3)             \
    STV__OAK_NUMBERS(X, tannins, 0.02, 25e3, 20000.0, 0.02, 40e3, 10000.0, 1.2, 65e3)              \
    STV__OAK_NUMBERS(X, acids, 0.008, 35e3, 12000.0, 0.05, 50e3, 30000.0, 0.0, 0.0)                \
    STV__OAK_NUMBERS(X, sugars, 0.006, 30e3, 8000.0, 0.05, 50e3, 20000.0, 0.0, 0.0)                \
    X(oak_wet_depth_m, 0.004, "m", 1e-4, 0.02, "parameter sheet 4, judgement")                     \
    X(oak_partition_nd, 2.0, "-", 0.0, 100.0, "wood over liquid: parameter sheet 4, judgement")    \
    X(oak_strength_bell_centre_pct, 57.0, "%vol", 0.0, 100.0,                                      \
      "phenolics, lactone, aldehydes, acids: parameter sheet 4, judgement")                        \
    X(oak_strength_bell_width_pct, 25.0, "%vol", 1.0, 1000.0, "parameter sheet 4, judgement")      \
    X(oak_strength_line_centre_pct, 55.0, "%vol", 0.0, 100.0,                                      \
      "tannins, sugars, where the line passes 1: parameter sheet 4, judgement")                    \
    X(oak_strength_line_slope_nd, 0.012, "1/%vol", -0.1, 0.1,                                      \
      "downwards: parameter sheet 4, judgement")                                                   \
    X(oak_strength_line_least_nd, 0.4, "-", 0.01, 10.0, "parameter sheet 4, judgement")            \
    X(oak_strength_line_most_nd, 1.3, "-", 0.01, 10.0, "parameter sheet 4, judgement")             \
    X(oak_ea_least_j_mol, 20e3, "J/mol", 0.0, 1.5e5,                                               \
      "trials move no extraction energy below: parameter sheet 6, judgement")                      \
    X(oak_ea_most_j_mol, 65e3, "J/mol", 0.0, 1.5e5, "nor above: parameter sheet 6, judgement")     \
    X(held_spirit_fast_frac, 0.28, "-", 1e-3, 1.0,                                                 \
      "of a new wood's pool: parameter sheet 4, judgement")                                        \
    X(held_spirit_slow_frac, 0.75, "-", 1e-3, 1.0, "parameter sheet 4, judgement")                 \
    X(held_fortified_fast_frac, 0.50, "-", 1e-3, 1.0, "parameter sheet 4, judgement")              \
    X(held_fortified_slow_frac, 0.85, "-", 1e-3, 1.0, "parameter sheet 4, judgement")              \
    X(rejuvenation_frac, 0.5, "-", 0.0, 1.0,                                                       \
      "how far it takes the pools back towards new, judgement")                                    \
    X(stays_soaked_d, 60.0, "d", 0.0, 3650.0,                                                      \
      "emptied for less, the wood is still wet, judgement")                                        \
    X(indrink_l_per_kg, 4.5 / 39.0, "L/kg", 0.0, 1.0,                                              \
      "of dry wood, 4.5 L of a 200 L cask: parameter sheet 2; 3 to 6 L seen in print")             \
    X(damp_water_kg_per_kg, 0.5 / 39.0, "kg/kg", 0.0, 1.0,                                         \
      "given back by rinsed wood: parameter sheet 2, judgement")                                   \
    X(indrink_fast_d, 2.0, "d", 0.01, 365.0, "parameter sheet 2, judgement")                       \
    X(indrink_slow_d, 30.0, "d", 0.01, 3650.0, "time constant: parameter sheet 2, judgement")      \
    X(indrink_fast_frac, 0.5, "-", 0.0, 1.0, "parameter sheet 2, judgement")                       \
    X(wetted_wood_mm, 7.0, "mm", 0.0, 30.0, "of the stave: parameter sheet 2, judgement")          \
    X(reference_dry_wood_mm, 20.0, "mm", 1.0, 60.0,                                                \
      "thickness for which the permeances are stated: parameter sheet 2")                          \
    X(least_dry_wood_mm, 3.0, "mm", 0.1, 30.0, "a thinner stave counts as this, judgement")        \
    X(neutral_loss_reference_per_m, 10.0, "m2/m3", 0.1, 1000.0,                                    \
      "wall over capacity for which the neutral loss is stated: parameter sheet 2")                \
    X(inside_film_w_m2k, 80.0, "W/m2K", 1.0, 1e4, "parameter sheet 3, judgement")                  \
    X(outside_film_convective_w_m2k, 3.0, "W/m2K", 0.0, 100.0, "parameter sheet 3, judgement")     \
    X(outside_film_radiative_w_m2k, 5.0, "W/m2K", 1.0, 100.0, "parameter sheet 3, judgement")      \
    X(oak_conductivity_w_mk, 0.17, "W/mK", 0.01, 2.0, "parameter sheet 3, judgement")              \
    X(wood_with_liquid_frac, 0.6, "-", 0.0, 1.0,                                                   \
      "of the wood, warms with the liquid: parameter sheet 3, judgement")                          \
    X(oak_cp_j_kgk, 1700.0, "J/kgK", 100.0, 5000.0, "parameter sheet 3, judgement")                \
    X(ethanol_cp20_j_kgk, 2400.0, "J/kgK", 1000.0, 5000.0,                                         \
      "pure, for spirit above 60 % by mass: handbooks, from memory")                               \
    X(mid_per_inner_area_nd, 1.093, "-", 0.5, 2.0, "middle of the stave: parameter sheet 2")       \
    X(outer_per_inner_area_nd, 1.19, "-", 0.5, 2.0, "parameter sheet 2")                           \
    X(cask_length_per_diameter_nd, 1.5, "-", 0.2, 10.0,                                            \
      "of the cylinder that stands for a cask when its wetted wall is worked out, judgement")      \
    STV__CASK_SIZE(X, 50, 0.72, 22.0, 13.0)                                                        \
    STV__CASK_SIZE(X, 100, 1.12, 25.0, 22.0)                                                       \
    STV__CASK_SIZE(X, 200, 1.83, 27.0, 39.0)                                                       \
    STV__CASK_SIZE(X, 225, 1.98, 27.0, 42.0)                                                       \
    STV__CASK_SIZE(X, 250, 2.09, 28.0, 46.0)                                                       \
    STV__CASK_SIZE(X, 500, 3.33, 31.0, 84.0)                                                       \
    X(ester_acid_rate25_per_ms, 1.1e-4, "1/(M s)", 0.0, 1.0,                                       \
      "ethyl acetate at 25 C, parameter sheet 5, from memory")                                     \
    X(ester_equilibrium_nd, 4.0, "-", 0.01, 100.0, "parameter sheet 5, from memory: 3.5 to 4.5")   \
    X(oxidation_ea_j_mol, 45e3, "J/mol", 0.0, 1.5e5, "parameter sheet 5, judgement")               \
    X(spread_neutral_loss_ln_nd, 0.56, "-", 0.0, 3.0,                                              \
      "standard deviation of the logarithm: parameter sheet 6, judgement")                         \
    X(spread_water_permeance_ln_nd, 0.26, "-", 0.0, 3.0, "likewise: parameter sheet 6, judgement") \
    X(spread_permeance_ratio_ln_nd, 0.47, "-", 0.0, 3.0, "likewise: parameter sheet 6, judgement") \
    X(spread_ratio_loss_correlation_nd, -0.6, "-", -1.0, 1.0,                                      \
      "of the two logarithms: parameter sheet 6, judgement")                                       \
    X(spread_house_share_frac, 0.5, "-", 0.0, 1.0,                                                 \
      "of loss, permeance and ratio, of the variance: parameter sheet 6, judgement")               \
    X(spread_wood_pool_house_ln_nd, 0.4214, "-", 0.0, 3.0,                                         \
      "ln 2 / 1.645, a factor of 2 as 90 % limit: parameter sheet 6, judgement")                   \
    X(spread_wood_pool_cask_ln_nd, 0.30, "-", 0.0, 3.0, "parameter sheet 6, judgement")            \
    X(spread_permeance_ea_j_mol, 1e4, "J/mol", 0.0, 5e4, "parameter sheet 6, judgement")           \
    X(spread_extraction_ea_j_mol, 1e4, "J/mol", 0.0, 5e4, "parameter sheet 6, judgement")          \
    X(spread_water_activity_nd, 0.012, "-", 0.0, 0.05, "parameter sheet 6, judgement")             \
    X(spread_ester_rate_ln_nd, 0.6679, "-", 0.0, 3.0,                                              \
      "ln 3 / 1.645, a factor of 3 as 90 % limit: parameter sheet 6, judgement")                   \
    X(spread_ester_ea_j_mol, 5e3, "J/mol", 0.0, 5e4, "parameter sheet 6, judgement")               \
    X(spread_time_constant_ln_nd, 0.30, "-", 0.0, 3.0, "parameter sheet 6, judgement")             \
    X(spread_time_constant_median_nd, 1.2, "-", 0.05, 20.0,                                        \
      "casks in a rack are slower than alone: parameter sheet 6, judgement")                       \
    X(spread_area_frac, 0.05, "-", 0.0, 0.25, "parameter sheet 6, judgement")                      \
    X(spread_stave_frac, 0.10, "-", 0.0, 0.25, "parameter sheet 6, judgement")                     \
    X(spread_limit_nd, 3.5, "-", 0.0, 3.9,                                                         \
      "standard deviations of area and stave at most, so that none runs to zero, judgement")       \
    X(spread_leaker_share_frac, 0.05, "-", 0.0, 1.0, "parameter sheet 6, judgement")               \
    X(spread_leaker_least_per_y, 0.04, "1/y", 0.0, 5.0, "parameter sheet 6, judgement")            \
    X(spread_leaker_mean_extra_per_y, 0.03, "1/y", 0.0, 5.0, "parameter sheet 6, judgement")       \
    X(spread_oxidation_least_nd, 10.0 / 15.0, "-", 0.0, 100.0,                                     \
      "times its default: parameter sheet 5, judgement")                                           \
    X(spread_oxidation_most_nd, 25.0 / 15.0, "-", 0.0, 100.0, "parameter sheet 5, judgement")      \
    X(spread_place_weather_k, 1.0, "K", 0.0, 10.0,                                                 \
      "of a place told by the weather alone: parameter sheet 6, judgement")                        \
    X(spread_place_weather_rh_frac, 0.06, "-", 0.0, 0.3, "parameter sheet 6, judgement")           \
    X(spread_place_logger_k, 0.3, "K", 0.0, 10.0, "of a place with a logger, judgement")           \
    X(spread_place_logger_rh_frac, 0.03, "-", 0.0, 0.3, "parameter sheet 6, judgement")            \
    X(spread_air_change_ln_nd, 0.4214, "-", 0.0, 3.0,                                              \
      "vapour, not with --air: a factor of 2 as 90 % limit, judgement: leakage models miss "       \
      "measured air change by about half (from memory)")                                           \
    X(vapour_air_factor_nd, 1.0, "-", 0.01, 100.0,                                                 \
      "on the air that passes a store, vapour alone, not with --air: judgement")                   \
    X(degree_day_base_c, 10.0, "C", -15.0, 50.0, "convention of the climate tables, judgement")    \
    X(cool_below_c, 15.0, "C", -15.0, 50.0, "convention of the climate tables, judgement")         \
    X(waking_c, 20.0, "C", -15.0, 50.0, "convention of the climate tables, judgement")             \
    X(kinetic_mean_ea_j_mol, 83144.0, "J/mol", 1e3, 2e5,                                           \
      "usual for the mean kinetic temperature, USP <1160> (from memory)")

struct stv_cask_numbers {
#define STV_CASK_NUMBER_FIELD(field, value, unit, least, most, source) double field;
    STV_CASK_NUMBERS(STV_CASK_NUMBER_FIELD)
#undef STV_CASK_NUMBER_FIELD
};

struct stv_cask_number_info {
    const char *name;
    size_t offset;                        /* in struct stv_cask_numbers */
    double default_nd, least_nd, most_nd; /* in the unit of the entry */
    const char *unit, *source;
};

/* The table's defaults. */
struct stv_cask_numbers stv_cask_numbers_default(void);

/* Rows of the table, *out_n of them, in the order of the struct's fields; static, not to be freed.
 */
const struct stv_cask_number_info *stv_cask_number_table(size_t *out_n);

/* The number of a row. */
const double *stv_cask_number_nd(const struct stv_cask_numbers *numbers, size_t row_idx);

/* Two numbers that must not cross: the name of the one that should be the less and is not, with
 * the other's in *out_other; NULL when all is well. */
const char *stv_cask_numbers_crossed(const struct stv_cask_numbers *numbers,
                                     const char **out_other);

#endif
