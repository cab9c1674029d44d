/* Ethanol vapour as an ideal gas in one mixed volume of air.  What the casks give off is worked out
 * elsewhere (vapour_release.c); vapour in the room's air does not slow it, and how much it could is
 * told as a bound. */
#include "model/vapour.h"

#include "model/spirit_vapour.h"
#include "model/units.h"

#include <math.h>
#include <stdbool.h>

/* Source: CODATA 2018; molar mass of ethanol, IUPAC 2021. */
#define GAS_J_MOLK 8.314462618
#define ETHANOL_KG_MOL 46.069e-3
#define PPM 1e6

double stv_vapour_m3_h(double ethanol_kg_h, double temp_c, double pressure_pa)
{
    double temp_k = stv_k_from_c(temp_c);
    if (!(temp_k > 0.0) || !(pressure_pa > 0.0))
        return (double)NAN;
    return ethanol_kg_h / ETHANOL_KG_MOL * GAS_J_MOLK * temp_k / pressure_pa;
}

double stv_vapour_ppm(double vapour_m3_h, double air_m3_h)
{
    return PPM * vapour_m3_h / air_m3_h;
}

double stv_vapour_air_m3_h(double vapour_m3_h, double limit_ppm, double mixing_nd)
{
    return mixing_nd * vapour_m3_h * PPM / limit_ppm;
}

enum stv_status stv_vapour_room(const double *release_kg_h, const double *air_m3_h,
                                const double *temp_c, size_t n_hours, double volume_m3,
                                double pressure_pa, double *out_ppm)
{
    if (!release_kg_h || !air_m3_h || !temp_c || !out_ppm)
        return STV_E_ARG;
    if (!(volume_m3 > 0.0) || !(pressure_pa > 0.0))
        return STV_E_DOMAIN;
    double start_ppm = (double)NAN;
    for (size_t k = 0; k < n_hours; k++) {
        bool is_known = isfinite(release_kg_h[k]);
        double vapour_m3_h =
            is_known ? stv_vapour_m3_h(release_kg_h[k], temp_c[k], pressure_pa) : 0.0;
        double changes = air_m3_h[k] / volume_m3; /* in the hour */
        double mean_ppm, end_ppm;
        if (isnan(start_ppm))
            start_ppm = changes > 0.0 ? stv_vapour_ppm(vapour_m3_h, air_m3_h[k]) : 0.0;
        if (changes > 1e-9) {
            double steady_ppm = stv_vapour_ppm(vapour_m3_h, air_m3_h[k]);
            double left = exp(-changes);
            end_ppm = steady_ppm + (start_ppm - steady_ppm) * left;
            mean_ppm = steady_ppm + (start_ppm - steady_ppm) * (1.0 - left) / changes;
        } else { /* shut: it only gathers */
            end_ppm = start_ppm + PPM * vapour_m3_h / volume_m3;
            mean_ppm = 0.5 * (start_ppm + end_ppm);
        }
        out_ppm[k] = is_known ? mean_ppm : (double)NAN;
        start_ppm = end_ppm;
    }
    return STV_OK;
}

double stv_vapour_airing_h(double volume_m3, double air_m3_h, double mixing_nd, double from_ppm,
                           double to_ppm)
{
    return from_ppm <= to_ppm ? 0.0 : mixing_nd * volume_m3 / air_m3_h * log(from_ppm / to_ppm);
}

double stv_vapour_slowing_frac(double room_ppm, double pressure_pa, double ethanol_mole_frac,
                               double liquid_c)
{
    struct stv_spirit_vapour vapour;
    if (stv_spirit_vapour(ethanol_mole_frac, liquid_c, &vapour) != STV_OK)
        return (double)NAN;
    return room_ppm / PPM * pressure_pa / vapour.ethanol_pa;
}
