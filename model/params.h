/* The assumed numbers of the cask model that trials draw, in one table; those that stay the same in
 * all of them stand in model/cask_numbers.h. */
#ifndef STV_MODEL_PARAMS_H
#define STV_MODEL_PARAMS_H

#include <stddef.h>

/* Field, default, unit, least and most that a book may set, range of the trials in words.  All of
 * class assumed.
 * Source: parameter sheet (DEVELOPERS.md, Sources), sections 2 and 4 to 6; its values are judgement
 * unless it says else. */
#define STV_PARAM_TABLE(X)                                                                         \
    X(water_permeance_mol_m2spa, 5.95e-9, "mol/(m2 s Pa)", 1e-12, 1e-6,                            \
      "lognormal, 90 % 3.9e-9..9.1e-9")                                                            \
    X(permeance_ratio_nd, 5.95e-9 / 1.56e-10, "-", 0.1, 1e4,                                       \
      "lognormal, 90 % 17.5..82, -0.6 with loss")                                                  \
    X(permeance_ea_j_mol, 2250.0, "J/mol", -5e4, 1e5, "normal, sd 10000")                          \
    X(neutral_loss_per_y, 0.0142, "1/y", 1e-6, 5.0, "lognormal, 90 % 0.0056..0.036")               \
    X(leak_per_y, 0.0, "1/y", 0.0, 5.0,                                                            \
      "0; 5 % of casks: 4 %/y and more in all with the neutral loss")                              \
    X(neutral_temp_share_frac, 0.0, "-", 0.0, 1.0, "uniform 0..1 in draws")                        \
    X(water_activity_offset_nd, 0.0, "-", -0.05, 0.05, "normal, sd 0.012")                         \
    X(area_factor_nd, 1.0, "-", 0.1, 10.0, "normal, sd 0.05")                                      \
    X(stave_factor_nd, 1.0, "-", 0.1, 10.0, "normal, sd 0.10")                                     \
    X(time_constant_factor_nd, 1.0, "-", 0.05, 20.0,                                               \
      "lognormal, median 1.2 in draws, 90 % 0.73..1.97")                                           \
    X(liquid_offset_k, 0.0, "K", -20.0, 20.0,                                                      \
      "normal, sd 1 from weather, 0.3 logged, as missed when learned")                             \
    X(humidity_offset_frac, 0.0, "-", -0.5, 0.5,                                                   \
      "normal, sd 0.06 from weather, 0.03 logged, as missed when learned")                         \
    X(wood_pool_factor_nd, 1.0, "-", 1e-3, 1e3, "lognormal, factor 2 for the house, 30 % by cask") \
    X(extraction_ea_offset_j_mol, 0.0, "J/mol", -5e4, 5e4,                                         \
      "normal, sd 10000, kept in 20..65 kJ/mol")                                                   \
    X(ester_rate_factor_nd, 1.0, "-", 1e-3, 1e3, "lognormal, factor 3")                            \
    X(ester_ea_j_mol, 68000.0, "J/mol", 0.0, 1.5e5, "normal, sd 5000")                             \
    X(acid_ph_nd, 4.3, "pH", 2.0, 8.0, "in the rate's factor")                                     \
    X(oxidation_mg_ly, 15.0, "mg/(L y) as acetic acid", 0.0, 1e4, "10..25")                        \
    X(cycling_gain_per_k, 0.0, "1/K", 0.0, 1.0, "0; uniform 0..0.05 when asked for")

struct stv_params {
#define STV_PARAM_FIELD(field, value, unit, least, most, range) double field;
    STV_PARAM_TABLE(STV_PARAM_FIELD)
#undef STV_PARAM_FIELD
};

struct stv_param_info {
    const char *name;
    size_t offset;                        /* in struct stv_params */
    double default_nd, least_nd, most_nd; /* in the unit of the entry */
    const char *unit;
    const char *range;
};

/* The table's defaults: medians of the ranges, but for the two that are 1 and 0 without draws (time
 * constant and temperature share). */
struct stv_params stv_params_default(void);

/* Rows of the table, *out_n of them, in the order of the struct's fields; static, not to be
 * freed. */
const struct stv_param_info *stv_param_table(size_t *out_n);

#endif
