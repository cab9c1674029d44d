/* A gauge worked out: from what hydrometer, thermometer, balance or dip showed to true strength,
 * litres and pure alcohol, with the error carried through.
 *
 * Sources, cited below by key:
 *   [R22]      OIML R 22, International alcoholometric tables, 1975: conventions of its tables
 *              VIII, IX, XI and XII for glass, steel, air and weights; second-hand
 *   [27CFR30]  27 CFR part 30, US gauging manual
 *
 * Layer 1; nothing here allocates. */
#ifndef STV_MODEL_GAUGE_H
#define STV_MODEL_GAUGE_H

#include "model/spirit.h"
#include "model/status.h"

#include <stdbool.h>

/* Growth in volume, per K. */
#define STV_GLASS_PER_K 25e-6 /* soda-lime glass; [R22] */
#define STV_STEEL_PER_K 36e-6 /* [R22] */

#define STV_GAUGE_AIR_KG_M3 1.2        /* [R22] */
#define STV_GAUGE_WEIGHTS_KG_M3 8000.0 /* [R22] */

/* Volume at a temperature of a vessel that holds volume_l at reference_c.
 *
 * per_k     growth in volume, per K
 *
 * Source:  linear in temperature, as [R22] table XI */
double stv_vessel_volume_l(double volume_l, double per_k, double reference_c, double temp_c);

/* Mass of a liquid that weighs net_in_air_kg in air, and back.
 *
 * net_in_air_kg, mass_kg   kg
 * rho_kg_m3                of the liquid, above the air's
 *
 * Accuracy: the air of a hot high place is thinner than 1.2 kg/m3: 0.03 % of the weight at 0.9
 * Source:   [R22] table XII: buoyancy of air on liquid and weights */
double stv_mass_from_net_kg(double net_in_air_kg, double rho_kg_m3);
double stv_net_from_mass_kg(double mass_kg, double rho_kg_m3);

enum stv_instrument {
    STV_HYDROMETER,    /* glass; its scale is right at the reference temperature */
    STV_DENSITY_METER, /* shows the density at the reference temperature */
    STV_CORRECTED      /* shows the true strength */
};

/* What was read. */
struct stv_strength_reading {
    enum stv_instrument instrument;
    double mass_frac;       /* of the spirit that the scale names; hydrometer and corrected */
    double error_mass_frac; /* give or take */
    double rho_kg_m3;       /* density meter: in vacuum */
    double rho_error_kg_m3;
    double reference_c; /* not read when corrected */
};

/* True mass fraction of a reading.
 *
 * temp_c     of the spirit in which the hydrometer floated, deg C, -20..50
 * out        NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  a temperature outside, NaN, or no spirit reads so
 *          STV_E_ARG     an argument is NULL
 * Accuracy: as tested: [27CFR30] table 1 at 70..150 proof, 40..100 F: mean 0.003, standard
 *           deviation 0.04 proof, of which the print's own rounding is 0.03
 * Source:   [R22] tables VIII and IX: rho = rho_ref(reading) x (1 - 25e-6 (t - t_ref))
 * Assumes:  nothing dissolved; surface tension and meniscus as when the scale was made. */
STV_MUST_CHECK enum stv_status stv_true_mass_frac(const struct stv_strength_reading *reading,
                                                  double temp_c, double *out);

enum stv_gauge_by { STV_BY_NOTHING, STV_BY_WEIGHT, STV_BY_VOLUME };

struct stv_gauge_input {
    struct stv_strength_reading reading;
    double temp_c; /* of the spirit when it was read and measured */
    double temp_error_k;
    /* What dissolved solids hide, 0 or more: added to the strength as shown. */
    double obscuration_abv20_frac;
    enum stv_gauge_by by;
    double net_in_air_kg, net_error_kg;
    double volume_l, volume_error_l; /* as the vessel's marks say */
    double vessel_per_k; /* growth of that vessel, true at 20 C; 0: wood, or not known */
};

/* What can be said with an error. */
enum stv_gauge_value {
    STV_GAUGE_ABV20_FRAC,
    STV_GAUGE_US_PROOF_ND,
    STV_GAUGE_NET_IN_AIR_KG,
    STV_GAUGE_MASS_KG,
    STV_GAUGE_VOLUME20_L,
    STV_GAUGE_LPA_L,
    STV_GAUGE_WINE_GAL,  /* at 60 F */
    STV_GAUGE_PROOF_GAL, /* at 60 F */
    STV_GAUGE_N
};

struct stv_gauged {
    double value[STV_GAUGE_N]; /* amounts are NaN when only the strength was read */
    double error[STV_GAUGE_N]; /* give or take, in the same sense as the input's */
    double mass_frac;
    double abv60f_frac; /* half a hundredth of the US proof */
    double uk_proof_nd;
    double shown_abv20_frac; /* what the scale says uncorrected; NaN for a density meter */
    double strength_error_of_reading_frac, strength_error_of_temp_frac;
    double rho_kg_m3;     /* true density at temp_c */
    double volume_l;      /* at temp_c */
    bool is_extrapolated; /* above 40 C, where [R22] ends */
};

/* Works a gauge out.
 *
 * input      finite; errors 0 or more, taken as independent and carried to first order
 * out        all members NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  as stv_true_mass_frac, an amount that is not positive, an obscuration
 *                        below 0 or that takes the strength above pure ethanol
 *          STV_E_ARG     an argument is NULL
 * Accuracy: as tested: worked examples and tables of [27CFR30]; litres to 1e-4
 * Source:   [R22], [27CFR30] 30.11 for gallons */
STV_MUST_CHECK enum stv_status stv_gauge_work(const struct stv_gauge_input *input,
                                              struct stv_gauged *out);

#endif
