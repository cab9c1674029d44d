/* Cask geometry and its thermal mass, by capacity.
 *
 * Every number of this module is assumed and stands in model/cask_numbers.h; those named below are
 * its defaults.  Nothing here allocates. */
#ifndef STV_MODEL_COOPERAGE_H
#define STV_MODEL_COOPERAGE_H

#include "model/cask_numbers.h"
#include "model/status.h"

struct stv_cask_geometry {
    double capacity_l;
    double inner_area_m2; /* girth and heads */
    double mid_area_m2;   /* 1.093 x inner: what evaporates */
    double outer_area_m2; /* 1.19 x inner */
    double stave_mm;
    double wood_kg;
};

/* Geometry of a cask of a capacity.  Area, stave and wood are linear in log litres between the
 * rows of the size table; outside, area and wood grow as capacity^(2/3) with the nearest row's
 * stave.
 *
 * capacity_l   litres.  Valid 1..1000; the table has 50..500.
 * stave_mm     stave thickness, 10..60 mm, or NaN for the table's.  Areas and wood stay.
 * numbers      the size table and the areas' factors
 * out          all members NaN when the status is not OK.
 *
 * Errors:  STV_E_DOMAIN  capacity or stave outside, or NaN capacity
 *          STV_E_ARG     out is NULL
 * Accuracy: makers differ by about 5 % in area, 10 % in stave
 * Source:  parameter sheet, section 2 (typical sizes, from memory and a geometric calculation) */
STV_MUST_CHECK enum stv_status stv_cask_geometry(double capacity_l, double stave_mm,
                                                 const struct stv_cask_numbers *numbers,
                                                 struct stv_cask_geometry *out);

/* Share of the inner wall under liquid, cask on its side, by how full it is.
 *
 * full_frac    litres over capacity; below 0 counts as 0 and above 1 as 1, for a swollen or
 *              overfilled cask is simply full.  NaN passes through.
 *
 * Accuracy: 8 % empty leaves 76 % of the girth and 80 % of the whole wall under liquid
 * Source:  parameter sheet, section 2
 * Assumes: a straight cylinder 1.5 diameters long; its heads, a quarter of the wall, are wetted
 *          in proportion to the liquid and its girth by the arc of the circle segment. */
double stv_cask_wetted_frac(double full_frac, const struct stv_cask_numbers *numbers);

/* Heat capacity of liquid and wood, J/K: V rho cp + 0.6 x wood x 1700.
 *
 * cask         from stv_cask_geometry
 * volume20_l   litres of spirit at 20 C, not negative; 0 gives the wood alone
 * abv20_frac   its strength, 0..1; not read when there is no liquid
 *
 * Result NaN for a negative volume or a strength outside.
 * Accuracy: as tested: the parameter sheet's table within 0.2 %
 * Source:  parameter sheet, section 3; density [R22] and heat capacity [MELINDER] of
 *          model/spirit.h at 20 C, the latter continued on a straight line from 60 % by mass to
 *          pure ethanol's 2400 J/(kg K) (from memory)
 * Assumes: the outer 0.4 of the wood follows the air. */
double stv_cask_heat_capacity_j_k(const struct stv_cask_geometry *cask, double volume20_l,
                                  double abv20_frac, const struct stv_cask_numbers *numbers);

/* Conductance from the liquid to the surroundings, W/K: inside film 80 W/(m2 K), oak
 * 0.17 W/(m K), outside film 8 W/(m2 K) (3 convective, 5 radiative).
 *
 * cask         from stv_cask_geometry; its stave counts
 *
 * Accuracy: as tested: the parameter sheet's table within 0.1 %
 * Source:  parameter sheet, section 3
 * Assumes: a free-standing cask, wetted all round. */
double stv_cask_conductance_w_k(const struct stv_cask_geometry *cask,
                                const struct stv_cask_numbers *numbers);

/* Time constant of the liquid, hours: heat capacity over conductance.
 *
 * cask, volume20_l, abv20_frac   as stv_cask_heat_capacity_j_k; NaN as there.
 *
 * Accuracy: as tested: the parameter sheet's table within 0.2 %
 * Source:  parameter sheet, section 3 */
double stv_cask_time_constant_h(const struct stv_cask_geometry *cask, double volume20_l,
                                double abv20_frac, const struct stv_cask_numbers *numbers);

/* Share of the outside film that is convective; the rest sees the radiant temperature. */
double stv_cask_convective_frac(const struct stv_cask_numbers *numbers);

#endif
