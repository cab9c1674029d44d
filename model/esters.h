/* Two things that are never one: esters made in the cask, and what is left of the still's fruit.
 * Both are weak knowledge. */
#ifndef STV_MODEL_ESTERS_H
#define STV_MODEL_ESTERS_H

#include "model/cask_numbers.h"
#include "model/params.h"

#define STV_ACETIC_G_MOL 60.05
#define STV_ETHYL_ACETATE_G_MOL 88.11

/* Hydrolysis rate kh at 25 C, 1/y: the numbers' rate times [H+] at the parameters' pH, times their
 * factor.
 * Source: parameter sheet (DEVELOPERS.md, Sources), section 5. */
double stv_ester_rate25_per_y(const struct stv_params *params,
                              const struct stv_cask_numbers *numbers);

/* Arrhenius factor relative to 25 C; temp_c above absolute zero. */
double stv_arrhenius25_nd(double ea_j_mol, double temp_c);

/* Half-life of an ester far above its equilibrium, years.  temp_c -15..50, not checked.
 * Accuracy: a factor of three (pH); as tested: the sheet's four values to 0.3 % */
double stv_ester_half_life_y(const struct stv_params *params,
                             const struct stv_cask_numbers *numbers, double temp_c);

/* One step at constant conditions.  rate_nd is its mean Arrhenius factor of the ester energy,
 * relative to 25 C; oxidation_nd that of oxidation, relative to 20 C. */
struct stv_ester_step {
    double step_d;
    double volume20_l;
    double ethanol_mole_frac; /* of the liquid, 0..1 */
    double rate_nd, oxidation_nd;
};

/* Carries acid, ester and fruit over a step.
 *
 * acid_mg    acetic acid in the liquid; changed by what forms and by oxidation
 * ester_mg   ethyl acetate in the liquid; changed
 * fruit_nd   the still's fruit left, 1 at fill; changed
 *
 * Accuracy: acid and ester together keep their moles but for oxidation, to rounding; exact at any
 *           step without oxidation
 * Source:  parameter sheet, section 5: K = 4 by default, ethyl acetate alone; both quantities are
 * weak knowledge Assumes: acid that becomes ester is the wood's volatile acid */
void stv_ester_advance(const struct stv_ester_step *step, const struct stv_params *params,
                       const struct stv_cask_numbers *numbers, double *acid_mg, double *ester_mg,
                       double *fruit_nd);

#endif
