/* Partial pressures, diffusion and the air space: the activities of spirit_activity.c put to use.
 * What it does not do: say how fast a space fills with vapour, or how much leaves through wood. */
#include "model/spirit_vapour.h"

#include <math.h>
#include <stdbool.h>

#include "model/air.h"
#include "model/units.h"

/* Diffusion volumes of [FSG] as handbooks list them (Poling, Prausnitz and O'Connell, 5th ed.,
 * table 11-1, from memory): ethanol 2 C, 6 H and 1 O. */
#define ETHANOL_DIFFUSION_VOLUME_ND (2.0 * 15.9 + 6.0 * 2.31 + 6.11)
#define AIR_DIFFUSION_VOLUME_ND 19.7
#define AIR_G_MOL 28.965
#define FULLER_FACTOR_ND 0.00143
#define FULLER_POWER_ND 1.75

/* [MASSMAN], from memory: at 0 C and 101325 Pa, and the power of the temperature. */
#define WATER_IN_AIR_0C_M2_S 0.2178e-4
#define WATER_IN_AIR_POWER_ND 1.81

#define DIFFUSION_LOW_C (-30.0)
#define DIFFUSION_HIGH_C 100.0

enum stv_status stv_spirit_vapour(double ethanol_mole_frac, double temp_c,
                                  struct stv_spirit_vapour *out)
{
    if (!out)
        return STV_E_ARG;
    struct stv_spirit_activity activity;
    enum stv_status status = stv_spirit_activity(ethanol_mole_frac, temp_c, &activity);
    out->ethanol_pa = activity.ethanol_nd * stv_ethanol_psat_pa(temp_c);
    out->water_pa = activity.water_nd * stv_water_psat_pa(temp_c);
    return status;
}

static bool can_diffuse(double temp_c, double pressure_pa)
{
    return temp_c >= DIFFUSION_LOW_C && temp_c <= DIFFUSION_HIGH_C && pressure_pa > 0.0;
}

double stv_ethanol_in_air_m2_s(double temp_c, double pressure_pa)
{
    if (!can_diffuse(temp_c, pressure_pa))
        return NAN;
    double mass_g_mol = 2.0 / (1.0 / (1000.0 * STV_ETHANOL_KG_MOL) + 1.0 / AIR_G_MOL);
    double size_nd = cbrt(ETHANOL_DIFFUSION_VOLUME_ND) + cbrt(AIR_DIFFUSION_VOLUME_ND);
    double cm2_s = FULLER_FACTOR_ND * pow(stv_k_from_c(temp_c), FULLER_POWER_ND) /
                   (pressure_pa / 1e5 * sqrt(mass_g_mol) * size_nd * size_nd);
    return cm2_s * 1e-4;
}

double stv_water_in_air_m2_s(double temp_c, double pressure_pa)
{
    if (!can_diffuse(temp_c, pressure_pa))
        return NAN;
    return WATER_IN_AIR_0C_M2_S *
           pow(stv_k_from_c(temp_c) / STV_ZERO_C_IN_K, WATER_IN_AIR_POWER_ND) *
           (STV_STANDARD_PRESSURE_PA / pressure_pa);
}

enum stv_status stv_head_space(double ethanol_mole_frac, double temp_c, double pressure_pa,
                               struct stv_head_space *out)
{
    if (!out)
        return STV_E_ARG;
    *out = (struct stv_head_space){NAN, NAN};
    struct stv_spirit_vapour vapour;
    enum stv_status status = stv_spirit_vapour(ethanol_mole_frac, temp_c, &vapour);
    if (status != STV_OK)
        return status;
    if (!(pressure_pa > vapour.ethanol_pa + vapour.water_pa))
        return STV_E_DOMAIN;
    out->ethanol_frac = vapour.ethanol_pa / pressure_pa;
    out->ethanol_g_m3 =
        1000.0 * STV_ETHANOL_KG_MOL * vapour.ethanol_pa / (STV_GAS_J_MOLK * stv_k_from_c(temp_c));
    return STV_OK;
}

enum stv_status stv_closed_space_pressure_pa(const struct stv_closed_space *closed, double temp_c,
                                             double gas_l, double *out_pa)
{
    if (!closed || !out_pa)
        return STV_E_ARG;
    *out_pa = NAN;
    struct stv_spirit_vapour then, now;
    enum stv_status status = stv_spirit_vapour(closed->ethanol_mole_frac, closed->temp_c, &then);
    if (status == STV_OK)
        status = stv_spirit_vapour(closed->ethanol_mole_frac, temp_c, &now);
    if (status != STV_OK)
        return status;
    double air_pa = closed->pressure_pa - then.ethanol_pa - then.water_pa;
    if (!(closed->gas_l > 0.0 && gas_l > 0.0 && air_pa >= 0.0))
        return STV_E_DOMAIN;
    double warmed = stv_k_from_c(temp_c) / stv_k_from_c(closed->temp_c);
    *out_pa = air_pa * closed->gas_l / gas_l * warmed + now.ethanol_pa + now.water_pa;
    return STV_OK;
}
