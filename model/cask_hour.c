/* The wood's local factor depends on humidity, so a flux takes its mean between the room's humidity
 * and the liquid's water activity: the difference of its integrals over their distance. */
#include "model/cask_hour.h"

#include <math.h>

#define SAME_HUMIDITY_ND 1e-4 /* closer than this, the mean over humidity is the local value */
#define HALF_WINDOW_ND 5e-4

/* Source: choice of nodes for interpolation, no datum. */
const double stv__tau_h[STV__TAUS] = {10.0, 36.0, 130.0};

void stv__weights3(const double points_nd[3], double x_nd, double out_nd[3])
{
    for (int i = 0; i < 3; i++) {
        int j = (i + 1) % 3;
        int k = (i + 2) % 3;
        out_nd[i] = (x_nd - points_nd[j]) * (x_nd - points_nd[k]) /
                    ((points_nd[i] - points_nd[j]) * (points_nd[i] - points_nd[k]));
    }
}

void stv__tau_weights(double time_constant_h, double out_nd[STV__TAUS])
{
    double log_tau[STV__TAUS];
    for (size_t t = 0; t < STV__TAUS; t++)
        log_tau[t] = log(stv__tau_h[t]);
    double held_h = fmin(stv__tau_h[STV__TAUS - 1], fmax(stv__tau_h[0], time_constant_h));
    stv__weights3(log_tau, log(held_h), out_nd);
}

/* Mean of the wood's local factor between the room and the liquid. */
static double wood_mean(const struct stv__cask_functions *functions, double integral_rh,
                        double integral_liquid, double rh_frac, double activity, double liquid_c)
{
    double apart = activity - rh_frac;
    if (fabs(apart) > SAME_HUMIDITY_ND)
        return (integral_liquid - integral_rh) / apart;
    double low = fmax(0.0, rh_frac - HALF_WINDOW_ND);
    double high = fmin(1.0, rh_frac + HALF_WINDOW_ND);
    return (stv__wood_integral_nd(functions, high, liquid_c) -
            stv__wood_integral_nd(functions, low, liquid_c)) /
           (high - low);
}

int stv__hour_pressures(const struct stv__cask_functions *functions, double liquid_c,
                        double room_pa, double rh_frac, struct stv__liquid_row *out_row,
                        double out_ethanol_pa[STV__NODES], double out_water_pa[STV__NODES])
{
    int in_range = stv__liquid_row(functions, liquid_c, out_row);
    double integral_rh = stv__wood_integral_nd(functions, rh_frac, liquid_c);
    for (size_t i = 0; i < STV__NODES; i++) {
        double g = wood_mean(functions, integral_rh, out_row->wood_integral_nd[i], rh_frac,
                             out_row->water_activity_nd[i], liquid_c);
        out_ethanol_pa[i] = g * out_row->ethanol_pressure_pa[i];
        out_water_pa[i] = g * (out_row->water_pressure_pa[i] - room_pa);
    }
    return in_range;
}
