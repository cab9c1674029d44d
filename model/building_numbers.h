/* Numbers of the building model that nobody measures in a warehouse: each with its default, what is
 * allowed, and where it comes from.  A book may set them one by one (`numbers:` of a warehouse). */
#ifndef STV_MODEL_BUILDING_NUMBERS_H
#define STV_MODEL_BUILDING_NUMBERS_H

#include <stddef.h>

/* Field, default, unit, least, most, source. */
#define STV_BUILDING_NUMBERS(X)                                                                   \
    X(mixing_still_m2_s, 0.004, "m2/s", 0.0, 1.0,                                                 \
      "air between tiers, warm over cold: settled on 0.3 to 0.7 K/m in summer and none in "       \
      "winter, Porras-Amores et al. 2014, Energies 7:1193 (abstract)")                            \
    X(mixing_damping_m_k, 0.5, "m/K", 0.0, 10.0, "how much each K/m slows it: settled likewise")  \
    X(mixing_overturn_m2_s, 0.08, "m2/s", 0.0, 5.0, "cold over warm: settled likewise")           \
    X(vent_discharge_nd, 0.6, "-", 0.1, 1.0, "a sharp opening, from memory")                      \
    X(wind_leak_nd, 0.25, "-", 0.0, 1.0,                                                          \
      "air change by wind, 0.25 to 0.35 of leak area times wind, from memory")                    \
    X(wall_outside_still_w_m2k, 3.5, "W/m2K", 0.0, 50.0,                                          \
      "between ISO 6946 and McAdams, judgement")                                                  \
    X(wall_outside_wind_j_m3k, 2.2, "W/m2K per m/s", 0.0, 20.0, "judgement")                      \
    X(roof_outside_still_w_m2k, 4.0, "W/m2K", 0.0, 50.0, "judgement")                             \
    X(roof_outside_wind_j_m3k, 3.0, "W/m2K per m/s", 0.0, 20.0,                                   \
      "judgement, near McAdams' 3.8 (from memory)")                                               \
    X(wall_inside_w_m2k, 7.2, "W/m2K", 0.1, 50.0, "convective 2.5 and radiative 4.7, judgement")  \
    X(floor_inside_w_m2k, 4.0, "W/m2K", 0.1, 50.0, "with its share of long wave, judgement")      \
    X(ceiling_warm_w_m2k, 1.0, "W/m2K", 0.1, 50.0,                                                \
      "under a roof warmer than the air, about ISO 6946's 0.7 (from memory)")                     \
    X(ceiling_cold_w_m2k, 5.0, "W/m2K", 0.1, 50.0,                                                \
      "under a roof colder than the air, ISO 6946 (from memory)")                                 \
    X(tier_radiation_w_m2k, 2.5, "W/m2K", 0.0, 10.0,                                              \
      "of plan, from tier to tier: settled with the mixing")                                      \
    X(roof_radiation_w_m2k, 2.7, "W/m2K", 0.0, 10.0, "roof to top tier: settled with the mixing") \
    X(cask_outside_w_m2k, 6.0, "W/m2K", 0.5, 50.0,                                                \
      "casks that also radiate to the tiers beside them, judgement")                              \
    X(ground_w_mk, 1.5, "W/mK", 0.1, 5.0, "clay or silt, ISO 13370:2017 (from memory)")           \
    X(ground_periodic_depth_m, 2.2, "m", 0.5, 10.0, "clay or silt, ISO 13370:2017 (from memory)") \
    X(wood_skin_kg_m2, 0.18, "kg/m2", 0.0, 5.0, "water per unit humidity, judgement")             \
    X(wood_skin_m_s, 1.0 / (1.0 / 0.003 + 1.0 / 0.0012), "m/s", 0.0, 0.1,                         \
      "air film and wood in series, judgement")                                                   \
    X(wood_deep_kg_m2, 0.46, "kg/m2", 0.0, 20.0,                                                  \
      "oak, 0.12 kg/kg per unit humidity over 21 days' penetration (from memory)")                \
    X(wood_deep_m_s, 1.0e-4, "m/s", 0.0, 0.1, "oak, vapour resistance near 75 (from memory)")     \
    X(rack_wood_plan_frac, 0.15, "-", 0.0, 5.0, "timber beside the casks, of plan, judgement")    \
    X(concrete_as_wood_frac, 0.33, "-", 0.0, 2.0,                                                 \
      "moisture buffer values 0.4 and 1.2, Rode et al. 2005, Nordtest (from memory)")             \
    X(wet_floor_m_s, 0.002, "m/s", 0.0, 0.05, "vapour over a wet floor, judgement")

struct stv_building_numbers {
#define STV_BUILDING_NUMBER_FIELD(field, value, unit, least, most, source) double field;
    STV_BUILDING_NUMBERS(STV_BUILDING_NUMBER_FIELD)
#undef STV_BUILDING_NUMBER_FIELD
};

struct stv_building_number_info {
    const char *name;
    size_t offset;                        /* in struct stv_building_numbers */
    double default_nd, least_nd, most_nd; /* in the unit of the entry */
    const char *unit, *source;
};

/* The table's defaults. */
struct stv_building_numbers stv_building_numbers_default(void);

/* The number of a row. */
const double *stv_building_number_nd(const struct stv_building_numbers *numbers, size_t row_idx);

/* Rows of the table, *out_n of them, in the order of the struct's fields; static, not to be freed.
 */
const struct stv_building_number_info *stv_building_number_table(size_t *out_n);

#endif
