/* Esters, and the liquid's own temperature. */
#include "tests/accuracy/chemistry.h"
#include "tests/accuracy/table.h"

#include "model/cask_heat.h"
#include "model/esters.h"
#include "model/spirit.h"

#define ACETIC_G_MOL 60.05
#define ETHYL_ACETATE_G_MOL 88.11
#define WATCHED_Y 10.0
#define OLD_FILLS 3
#define WINE_PH_ND 3.3
#define SUMMER_H (21 * STV_DAY_H)
#define SPRING_H (60 * STV_DAY_H)

static void old_wood(struct acc_table *table)
{
    struct stv_params params[ACC_DRAWS];
    double rate_mg_ly[ACC_DRAWS];
    const struct climate_of *cellar = &acc_climate_of(ACC_CELLAR_MIDDLE)->wave;
    acc_params_of_draws(NULL, params, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        struct acc_liquid liquid = {.pools =
                                        stv_oak_pools_of(STV_WOOD_HELD_SPIRIT, &params[d], &usual)};
        for (int fill = 0; fill <= OLD_FILLS; fill++) {
            acc_liquid_fill(&liquid, 0.65);
            acc_liquid_carry(&liquid, &params[d], cellar, 0.0, WATCHED_Y * STV_YEAR_D);
        }
        rate_mg_ly[d] = liquid.ester_mg / liquid.volume20_l / WATCHED_Y;
    }
    acc_print(table,
              &(struct acc_row){
                  "ethyl acetate a year, old wood; Ordonneau in Ravaz 1900. The model: "
                  "a fourth 10-year fill",
                  "10 mg/L", " mg/L", 10.0, 10.0, 1, ACC_SIZE, ACC_CELLAR_MIDDLE, ACC_NOWHERE},
              rate_mg_ly, ACC_DRAWS);
}

static void new_wood(struct acc_table *table)
{
    struct stv_params params[ACC_DRAWS];
    double made_mg_l[ACC_DRAWS], straight[ACC_DRAWS], fruit[ACC_DRAWS];
    const struct climate_of *kentucky = &acc_climate_of(ACC_KENTUCKY)->wave;
    acc_params_of_draws(NULL, params, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        struct acc_liquid liquid = {.pools = stv_oak_pools_of(STV_WOOD_NEW, &params[d], &usual)};
        acc_liquid_fill(&liquid, 0.625);
        acc_liquid_carry(&liquid, &params[d], kentucky, 0.0, 6.0 * STV_YEAR_D);
        double half_mg = liquid.ester_mg;
        acc_liquid_carry(&liquid, &params[d], kentucky, 6.0 * STV_YEAR_D, 12.0 * STV_YEAR_D);
        made_mg_l[d] = liquid.ester_mg / liquid.volume20_l;
        straight[d] = (liquid.ester_mg - half_mg) / half_mg;
        fruit[d] = liquid.fruit_nd;
    }
    acc_print(table,
              &(struct acc_row){"esters up to 12 years, new wood; Baldwin & Andreasen, second-hand "
                                "in an encyclopaedia. The model: ethyl acetate made by 12 years",
                                "80 to 180 mg/L", " mg/L", 80.0, 180.0, 0, ACC_SIZE, ACC_KENTUCKY,
                                ACC_NOWHERE},
              made_mg_l, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"the same, second six years over the first",
                                "straight; read as 0.8 to 1.2", "", 0.8, 1.2, 2, ACC_LAW,
                                ACC_KENTUCKY, ACC_NOWHERE},
              straight, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"isoamyl, hexyl and phenethyl acetates over those at fill; "
                                "experimental brandies, AJEV (abstract). The model: after 12 years",
                                "fall: under 1", "", 0.0, 1.0, 2, ACC_LAW, ACC_KENTUCKY,
                                ACC_NOWHERE},
              fruit, ACC_DRAWS);
}

static double mole_frac_of(double abv20_frac)
{
    double mass_frac;
    stv_assert_ok(stv_mass_frac_from_abv20(abv20_frac, &mass_frac));
    return stv_mole_frac_from_mass_frac(mass_frac);
}

/* Share of acetic acid that is ester at rest. */
static double rest_share(double abv20_frac)
{
    struct stv_params params = stv_params_default();
    params.oxidation_mg_ly = 0.0;
    struct stv_ester_step step = {.step_d = 1e7,
                                  .volume20_l = 1.0,
                                  .ethanol_mole_frac = mole_frac_of(abv20_frac),
                                  .rate_nd = 1.0};
    double acid_mg = 1000.0, ester_mg = 0.0, fruit_nd = 1.0;
    stv_ester_advance(&step, &params, &usual, &acid_mg, &ester_mg, &fruit_nd);
    double ester = ester_mg / ETHYL_ACETATE_G_MOL;
    return ester / (ester + acid_mg / ACETIC_G_MOL);
}

static void kinetics(struct acc_table *table)
{
    struct stv_params base = stv_params_default(), params[ACC_DRAWS];
    double share_pct = 100.0 * rest_share(0.125), settled_y[ACC_DRAWS], half_life_y[ACC_DRAWS];
    acc_print(
        table,
        &(struct acc_row){"acetic and lactic acid of wine that is ester; esterification rates "
                          "of wine acids (abstract, authors not shown). The model: 12.5 % vol "
                          "at rest",
                          "6 to 16 %", " %", 6.0, 16.0, 0, ACC_SIZE, ACC_NOWHERE, ACC_NOWHERE},
        &share_pct, 1);
    base.acid_ph_nd = WINE_PH_ND;
    acc_params_of_draws(&base, params, ACC_DRAWS);
    /* Esters near rest close in on it faster than they split, by 1 over the share of acid. */
    for (size_t d = 0; d < ACC_DRAWS; d++)
        settled_y[d] = stv_ester_half_life_y(&params[d], &usual, 15.0) / log(2.0) * log(20.0) *
                       (1.0 - rest_share(0.125));
    acc_print(
        table,
        &(struct acc_row){"years until that share is reached; the same. The model: to 95 % of "
                          "it at pH 3.3 and 15 C",
                          "about 1", "", 1.0, 1.0, 1, ACC_SIZE, ACC_NOWHERE, ACC_NOWHERE},
        settled_y, ACC_DRAWS);
    base.acid_ph_nd = 4.0;
    acc_params_of_draws(&base, params, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        half_life_y[d] = stv_ester_half_life_y(&params[d], &usual, 25.0);
    acc_print(
        table,
        &(struct acc_row){"half-life of 140 esters in water at pH 4 and 25 C, estimated; Rayne "
                          "& Forest 2011 (abstract)",
                          "18 days to 4900 years", " years", 18.0 / STV_YEAR_D, 4900.0, 1, ACC_SIZE,
                          ACC_NOWHERE, ACC_NOWHERE},
        half_life_y, ACC_DRAWS);
}

static void summer(struct acc_table *table)
{
    struct stv_params params[ACC_DRAWS];
    struct stv_cask_geometry geometry;
    double air_c[SPRING_H + SUMMER_H], liquid_c[SPRING_H + SUMMER_H], reached_c[ACC_DRAWS];
    for (int h = 0; h < SPRING_H + SUMMER_H; h++)
        air_c[h] = h < SPRING_H ? 13.0 : 25.0;
    acc_params_of_draws(NULL, params, ACC_DRAWS);
    stv_assert_ok(stv_cask_geometry(250.0, NAN, &usual, &geometry));
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        double tau_h = stv_cask_time_constant_h(&geometry, 240.0, 0.60, &usual) *
                       params[d].time_constant_factor_nd;
        stv_assert_ok(stv_cask_liquid_c(air_c, air_c, SPRING_H + SUMMER_H, tau_h,
                                        stv_cask_convective_frac(&usual), liquid_c));
        reached_c[d] = liquid_c[SPRING_H + SUMMER_H - 1];
    }
    acc_print(table,
              &(struct acc_row){"spirit in a Scottish cask while \"the air holds 25 C for weeks\"; "
                                "trade page. The model: one cask after three weeks in such air, "
                                "which may have meant outdoors",
                                "15 C at most", " C", 5.0, 15.0, 1, ACC_LAW, ACC_NOWHERE,
                                ACC_NOWHERE},
              reached_c, ACC_DRAWS);
}

void acc_ester_rows(struct acc_table *table)
{
    old_wood(table);
    new_wood(table);
    kinetics(table);
    summer(table);
}
