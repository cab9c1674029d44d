/* How strong the light is: its split into beam and diffuse, a clear sky, and a tilted face.
 *
 * Split (Erbs): with the clearness index kt = GHI/(I0 cos z) the diffuse share kd(kt) is a fitted
 * curve; DHI = kd GHI and DNI = (GHI - DHI)/cos z.
 * Split (DISC): DNI = (Knc(m) - a(kt) - b(kt) exp(c(kt) m)) I0 with the air mass m, the rest
 * diffuse. Tilted face (Perez): the diffuse comes from a uniform dome, a bright disc about the sun
 * (F1) and a bright horizon (F2), which depend on the clearness epsilon and the brightness Delta:
 *     D = DHI [(1 - F1)(1 + cos b)/2 + F1 max(0, cos i)/max(cos 85, cos z) + F2 sin b].
 * No shading by hills or neighbours, no spectral effects. */
#include "model/sun.h"

#include "model/tables/perez.h"
#include "model/units.h"

#include <math.h>

#define RAD (3.14159265358979323846 / 180.0)

/* Erbs as applied by pvlib: the clearness index is not trusted nearer the horizon than these. */
#define ERBS_COS_ZENITH_MIN 0.065
#define ERBS_ZENITH_MAX_DEG 87.0

#define DISC_AIR_MASS_MAX 12.0

/* Perez 1990 eq. 1: the power of the zenith angle in the clearness, for radians. */
#define PEREZ_KAPPA 1.041
#define PEREZ_ZENITH_MAX_DEG 85.0

double stv_erbs_diffuse_frac(double clearness_nd)
{
    double kt = clearness_nd;
    if (!(kt >= 0.0))
        return NAN;
    if (kt <= 0.22)
        return 1.0 - 0.09 * kt;
    if (kt <= 0.8)
        return 0.9511 + kt * (-0.1604 + kt * (4.388 + kt * (-16.638 + kt * 12.336)));
    return 0.165;
}

struct stv_irradiance stv_sun_split_erbs(double ghi_w_m2, const struct stv_sun *sun)
{
    struct stv_irradiance out = {NAN, NAN, NAN};
    if (!(ghi_w_m2 >= 0.0) || isnan(sun->zenith_deg) || isnan(sun->extraterrestrial_w_m2))
        return out;
    double cos_z = cos(RAD * sun->zenith_deg);
    double flat_w_m2 = sun->extraterrestrial_w_m2 * fmax(cos_z, ERBS_COS_ZENITH_MIN);
    out.ghi_w_m2 = ghi_w_m2;
    out.dhi_w_m2 = ghi_w_m2;
    out.dni_w_m2 = 0.0;
    if (sun->zenith_deg > ERBS_ZENITH_MAX_DEG)
        return out;
    out.dhi_w_m2 = ghi_w_m2 * stv_erbs_diffuse_frac(ghi_w_m2 / flat_w_m2);
    out.dni_w_m2 = (ghi_w_m2 - out.dhi_w_m2) / cos_z;
    /* Light reflected by clouds can exceed what the beam could bring; that excess is diffuse. */
    if (out.dni_w_m2 > sun->extraterrestrial_w_m2) {
        out.dni_w_m2 = sun->extraterrestrial_w_m2;
        out.dhi_w_m2 = ghi_w_m2 - out.dni_w_m2 * cos_z;
    }
    return out;
}

/* Kasten 1966, as the method was fitted with it. */
static double disc_air_mass_nd(double zenith_deg, double pressure_pa)
{
    double mass_nd = 1.0 / (cos(RAD * zenith_deg) + 0.15 * pow(93.885 - zenith_deg, -1.253));
    return fmin(mass_nd * pressure_pa / STV_STANDARD_PRESSURE_PA, DISC_AIR_MASS_MAX);
}

static double cubic(double x, double c0, double c1, double c2, double c3)
{
    return c0 + x * (c1 + x * (c2 + x * c3));
}

/* Direct transmittance: that of a clear sky less what the clearness takes off. */
static double disc_beam_frac(double kt, double air_mass_nd)
{
    double m = air_mass_nd, a, b, c;
    if (kt <= 0.6) {
        a = cubic(kt, 0.512, -1.56, 2.286, -2.222);
        b = 0.37 + 0.962 * kt;
        c = cubic(kt, -0.28, 0.932, -2.048, 0.0);
    } else {
        a = cubic(kt, -5.743, 21.77, -27.49, 11.56);
        b = cubic(kt, 41.4, -118.5, 66.05, 31.9);
        c = cubic(kt, -47.01, 184.2, -222.0, 73.81);
    }
    double clear = 0.866 + m * (-0.122 + m * (0.0121 + m * (-0.000653 + m * 1.4e-5)));
    return clear - (a + b * exp(c * m));
}

struct stv_irradiance stv_sun_split_disc(double ghi_w_m2, const struct stv_sun *sun,
                                         double pressure_pa)
{
    struct stv_irradiance out = {NAN, NAN, NAN};
    if (!(ghi_w_m2 >= 0.0) || isnan(sun->zenith_deg) || isnan(sun->extraterrestrial_w_m2) ||
        !(pressure_pa > 0.0))
        return out;
    double cos_z = cos(RAD * sun->zenith_deg), top_w_m2 = sun->extraterrestrial_w_m2;
    out.ghi_w_m2 = out.dhi_w_m2 = ghi_w_m2;
    out.dni_w_m2 = 0.0;
    if (sun->zenith_deg > ERBS_ZENITH_MAX_DEG)
        return out;
    double kt = fmin(ghi_w_m2 / (top_w_m2 * fmax(cos_z, ERBS_COS_ZENITH_MIN)), 1.0);
    double beam_frac = disc_beam_frac(kt, disc_air_mass_nd(sun->zenith_deg, pressure_pa));
    /* The beam brings at most all of the global. */
    out.dni_w_m2 = fmin(fmax(beam_frac, 0.0) * top_w_m2, ghi_w_m2 / cos_z);
    out.dhi_w_m2 = ghi_w_m2 - out.dni_w_m2 * cos_z;
    return out;
}

double stv_clear_sky_ghi_w_m2(double zenith_deg)
{
    if (isnan(zenith_deg))
        return NAN;
    double cos_z = cos(RAD * zenith_deg);
    return cos_z > 0.0 ? 1098.0 * cos_z * exp(-0.059 / cos_z) : 0.0;
}

static double cos_incidence(const struct stv_sun *sun, double tilt_deg, double face_azimuth_deg)
{
    return cos(RAD * sun->zenith_deg) * cos(RAD * tilt_deg) +
           sin(RAD * sun->zenith_deg) * sin(RAD * tilt_deg) *
               cos(RAD * (sun->azimuth_deg - face_azimuth_deg));
}

static const double *perez_row(double clearness_nd)
{
    int bin = 0;
    while (bin < STV__PEREZ_BINS - 1 && clearness_nd >= stv__perez_edges_nd[bin])
        bin++;
    return stv__perez_nd[bin];
}

double stv_perez_diffuse_w_m2(const struct stv_irradiance *irradiance, const struct stv_sun *sun,
                              double tilt_deg, double face_azimuth_deg)
{
    double dhi_w_m2 = irradiance->dhi_w_m2;
    double dome_nd = (1.0 + cos(RAD * tilt_deg)) / 2.0;
    double cos_i = cos_incidence(sun, tilt_deg, face_azimuth_deg);
    if (isnan(dhi_w_m2 + irradiance->dni_w_m2 + cos_i + sun->extraterrestrial_w_m2))
        return NAN;
    if (dhi_w_m2 <= 0.0 || sun->zenith_deg >= 90.0)
        return fmax(dhi_w_m2, 0.0) * dome_nd;
    double z_rad = RAD * sun->zenith_deg;
    double cube = PEREZ_KAPPA * z_rad * z_rad * z_rad;
    double clearness_nd = ((dhi_w_m2 + irradiance->dni_w_m2) / dhi_w_m2 + cube) / (1.0 + cube);
    double brightness_nd = dhi_w_m2 * stv_air_mass_nd(sun->zenith_deg, STV_STANDARD_PRESSURE_PA) /
                           sun->extraterrestrial_w_m2;
    const double *f = perez_row(clearness_nd);
    double f1 = fmax(0.0, f[0] + f[1] * brightness_nd + f[2] * z_rad);
    double f2 = f[3] + f[4] * brightness_nd + f[5] * z_rad;
    double disc_nd = fmax(0.0, cos_i) / fmax(cos(RAD * PEREZ_ZENITH_MAX_DEG), cos(z_rad));
    double sky_nd = (1.0 - f1) * dome_nd + f1 * disc_nd + f2 * sin(RAD * tilt_deg);
    return dhi_w_m2 * fmax(0.0, sky_nd);
}

double stv_tilted_w_m2(const struct stv_irradiance *irradiance, const struct stv_sun *sun,
                       double tilt_deg, double face_azimuth_deg, double ground_albedo_frac)
{
    double cos_i = cos_incidence(sun, tilt_deg, face_azimuth_deg);
    double beam_w_m2 = sun->zenith_deg < 90.0 && cos_i > 0.0 ? irradiance->dni_w_m2 * cos_i : 0.0;
    double sky_w_m2 = stv_perez_diffuse_w_m2(irradiance, sun, tilt_deg, face_azimuth_deg);
    double ground_w_m2 =
        irradiance->ghi_w_m2 * ground_albedo_frac * (1.0 - cos(RAD * tilt_deg)) / 2.0;
    return beam_w_m2 + sky_w_m2 + ground_w_m2;
}
