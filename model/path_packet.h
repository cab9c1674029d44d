/* Shared inside model/: eight trials of a cask side by side. */
#ifndef STV_MODEL_PATH_PACKET_H
#define STV_MODEL_PATH_PACKET_H

#include "model/climate_table.h"
#include "model/cooperage.h"
#include "model/extraction.h"
#include "model/lanes.h"
#include "model/params.h"

/* Where water and ethanol went since the spirit was filled; carried along with transfers. */
struct stv__losses {
    stv__v8 air_ethanol_kg, air_water_kg;
    stv__v8 joint_ethanol_kg, joint_water_kg;
    stv__v8 leak_ethanol_kg, leak_water_kg;
    stv__v8 indrink_ethanol_kg, indrink_water_kg;
    stv__v8 sample_ethanol_kg, sample_water_kg;
};
enum { STV__LOSSES_N = sizeof(struct stv__losses) / sizeof(stv__v8) };

/* The liquid and the wood.  A lane without liquid is empty. */
struct stv__packet {
    stv__v8 ethanol_kg, water_kg;
    stv__v8 content_mg[STV_OAK_N];
    stv__v8 ester_mg, fruit_nd;
    stv__v8 fast_mg_m2[STV_OAK_N], slow_mg_m2[STV_OAK_N]; /* per m2 of the whole wall */
    struct stv__losses losses;
    stv__v8 in_ethanol_kg, in_water_kg;     /* all that ever came in, */
    stv__v8 out_ethanol_kg, out_water_kg;   /* went out by hand, */
    stv__v8 gone_ethanol_kg, gone_water_kg; /* and by itself or as sample */
    stv__v8 fall_kg_d, fall_ethanol_kg_d;   /* of the last step, to look ahead */
    /* How much warmer the liquid is than one that always had the time constant which the last
     * step's rows stood for; 0 h: it is as warm as one that always had its own. */
    stv__v8 warmer_k, row_tau_h;
    stv__v8 held_nd; /* 1 once its strength has left the tables' range */
};

/* A cask's own numbers in eight trials. */
struct stv__lane_cask {
    stv__v8 water_kg_d_pa, ethanol_kg_d_pa; /* wall times permeance */
    stv__v8 per_ratio_nd;                   /* one over the permeances' ratio */
    stv__v8 permeance_ea_j_mol;
    stv__v8 joints_per_d, leak_per_d, temp_share_frac;
    stv__v8 wall_m2; /* inner, wetted when full */
    stv__v8 pool_factor_nd;
    stv__v8 extraction_more_j_mol; /* than the oak's own energies */
    stv__v8 ester_ea_j_mol;
    stv__v8 ester_per_d;     /* hydrolysis at 20 C */
    stv__v8 oxidation_mg_ld; /* at 20 C */
    stv__v8 cycling_per_k;
    double wood_j_k, per_w_k_h; /* heat of the wood that follows; hours per J/K: 1/(3600 UA) */
    double capacity_l;
    /* Since when it leaks, where it does; the day that it ended, and that it began again, where it
     * is known: INT64_MAX: when the ledger says that it was stopped, and never. */
    int64_t leak_from_d, leak_to_d, leak_again_d;
};

/* Cells of the curves that are tabulated from 0 to 1. */
enum { STV__HEAT_CELLS = 256, STV__WETTED_CELLS = 1024 };
enum { STV__PARABOLA_TERMS = 3 };

/* What all casks share: numbers of the model and its curves. */
struct stv__path_model {
    struct stv_oak_constants oak[STV_OAK_N];
    struct stv_cask_numbers numbers;
    const struct stv__factor_columns *columns;
    double density_kg_m3[12];               /* powers of the mass fraction at 20 C */
    double heat_j_kgk[STV__HEAT_CELLS + 1]; /* of spirit at 20 C, by mass fraction */
    /* Wetted share of the wall.  At places p up to a half the cask is full by 2 p^2, from there on
     * empty by 2 (1 - p)^2: so the girth's steep ends are smooth. */
    double wetted_frac[STV__WETTED_CELLS + 1];
    /* Of the liquid's vapour at 20 C, by panel: the energy by which ethanol's pressure follows
     * Arrhenius in the middle, and water's pressure over ethanol's, over that in the middle, as a
     * parabola in -1..1. */
    double ethanol_heat_j_mol[STV__PANELS];
    double water_over_ethanol_nd[STV__PANELS][STV__PARABOLA_TERMS];
};
/* Fills the curves.  Errors: STV_E_DOMAIN of the properties, which the ranges exclude. */
STV_MUST_CHECK enum stv_status stv__path_model_fill(const struct stv_cask_numbers *numbers,
                                                    const struct stv__factor_columns *columns,
                                                    struct stv__path_model *out);

struct stv__lane_cask_source {
    const struct stv_cask_geometry *geometry;
    const struct stv_params *const *params; /* STV__PACKET of them */
    const struct stv_cask_numbers *numbers;
};
void stv__lane_cask_of(const struct stv__lane_cask_source *source, struct stv__lane_cask *out);

/* Litres at 20 C and strength of each lane; 0 and 0 where it is empty. */
struct stv__amounts {
    stv__v8 volume20_l, abv20_frac;
};
void stv__packet_amounts(const struct stv__path_model *model, const struct stv__packet *packet,
                         struct stv__amounts *out);

#endif
