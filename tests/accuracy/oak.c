/* What the wood gives: signs, ratios and shapes.  Levels are judgement and not compared. */
#include "tests/accuracy/chemistry.h"
#include "tests/accuracy/table.h"

#define LAST_FILL_Y 20 /* how long the tired cask is watched */
#define EARLIER_FILLS 4
#define EARLIER_FILL_Y 3.0
#define WATCHED_PER_Y 2
#define CACHACA_ABV20_FRAC 0.50 /* assumed */

static double oak_per_l(const struct acc_casks *casks, size_t age_idx, size_t draw)
{
    return acc_oak_mg(casks, age_idx, draw) / acc_amount(casks, age_idx, STV_Q_VOLUME20_L, draw);
}

/* Years until a liquid in tired wood holds as much of the lignin's aldehydes as wanted; the most
 * that is watched when it never does. */
static double years_to_level(struct acc_liquid *liquid, const struct stv_params *params,
                             double wanted_mg)
{
    const struct climate_of *brazil = &acc_climate_of(ACC_BRAZIL)->wave;
    double before_mg = 0.0;
    for (int i = 0; i < LAST_FILL_Y * WATCHED_PER_Y; i++) {
        acc_liquid_carry(liquid, params, brazil, i * STV_YEAR_D / WATCHED_PER_Y,
                         (i + 1) * STV_YEAR_D / WATCHED_PER_Y);
        double now_mg = liquid->content_mg[STV_OAK_ALDEHYDES];
        if (now_mg >= wanted_mg)
            return (i + (wanted_mg - before_mg) / (now_mg - before_mg)) / WATCHED_PER_Y;
        before_mg = now_mg;
    }
    return LAST_FILL_Y;
}

static void tired_cask(struct acc_table *table)
{
    const struct climate_of *brazil = &acc_climate_of(ACC_BRAZIL)->wave;
    struct stv_params params[ACC_DRAWS];
    double years_y[ACC_DRAWS];
    acc_params_of_draws(NULL, params, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        struct acc_liquid liquid = {.pools = stv_oak_pools_of(STV_WOOD_NEW, &params[d], &usual)};
        double wanted_mg = 0.0;
        for (int fill = 0; fill < EARLIER_FILLS; fill++) {
            acc_liquid_fill(&liquid, CACHACA_ABV20_FRAC);
            acc_liquid_carry(&liquid, &params[d], brazil, 0.0, STV_YEAR_D);
            if (fill == 0)
                wanted_mg = liquid.content_mg[STV_OAK_ALDEHYDES];
            acc_liquid_carry(&liquid, &params[d], brazil, STV_YEAR_D, EARLIER_FILL_Y * STV_YEAR_D);
        }
        acc_liquid_fill(&liquid, CACHACA_ABV20_FRAC);
        years_y[d] = years_to_level(&liquid, &params[d], wanted_mg);
    }
    acc_print(table,
              &(struct acc_row){
                  "years in a heavily used cask that give what one year in a new one "
                  "does, lignin markers; cachaca, Wood Sci. Technol. 2023 (abstract). "
                  "The model: a fifth fill, the earlier ones of 3 years",
                  "about 5", " (20: not by then)", 5.0, 5.0, 1, ACC_SIZE, ACC_BRAZIL, ACC_NOWHERE},
              years_y, ACC_DRAWS);
}

static void wine_fills(struct acc_table *table)
{
    static const struct acc_row rows[] = {
        {"wine extract, second half year over first, first fill; Rous & Alderson, AJEV 1983 "
         "(abstract)",
         "bends down; read as under 0.8", "", 0.0, 0.8, 2, ACC_LAW, ACC_WINE_CELLAR, ACC_NOWHERE},
        {"the same, second fill", "bends down; read as under 0.8", "", 0.0, 0.8, 2, ACC_LAW,
         ACC_WINE_CELLAR, ACC_NOWHERE},
        {"the same, third fill", "straight; read as 0.8 to 1.2", "", 0.8, 1.2, 2, ACC_LAW,
         ACC_WINE_CELLAR, ACC_NOWHERE},
    };
    /* The ages at which a fill ends belong to the next one: a day before. */
    const double day_y = 1.0 / STV_YEAR_D;
    const double ages_y[] = {0.5, 1.0 - day_y, 1.5, 2.0 - day_y, 2.5, 3.0};
    struct acc_filling filling = {ACC_WINE_CELLAR, 1, 225.0, 225.0, 0.13, STV_WOOD_NEW, 0, 1.0, 2};
    struct acc_casks casks = acc_run(&filling, ages_y, 6, ACC_DRAWS);
    for (size_t i = 0; i < 3; i++) {
        double ratio[ACC_DRAWS];
        for (size_t d = 0; d < ACC_DRAWS; d++)
            ratio[d] = acc_oak_mg(&casks, 2 * i + 1, d) / acc_oak_mg(&casks, 2 * i, d) - 1.0;
        acc_print(table, &rows[i], ratio, ACC_DRAWS);
    }
    acc_casks_free(&casks);
}

static void small_casks(struct acc_table *table)
{
    /* Source: Jeffery & Berglund, J. Food Process. Beverages 4 (2016) 7, abstract: 2 to 10 gallons,
     * 200 days, both rates follow surface over volume; 5^(1/3) = 1.71 is the geometry of alike
     * casks. */
    const double ages_y[] = {20.0 / STV_YEAR_D, 200.0 / STV_YEAR_D};
    double oak[ACC_DRAWS], lost[ACC_DRAWS];
    struct acc_filling filling = {
        ACC_STEADY, 1, 10.0 * STV_WINE_GALLON_L, 10.0 * STV_WINE_GALLON_L, 0.60, STV_WOOD_NEW, 1,
        0.0,        0};
    struct acc_casks large = acc_run(&filling, ages_y, 2, ACC_DRAWS);
    filling.capacity_l = filling.fill_l = 2.0 * STV_WINE_GALLON_L;
    struct acc_casks small = acc_run(&filling, ages_y, 2, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        oak[d] = oak_per_l(&small, 0, d) / oak_per_l(&large, 0, d);
        lost[d] = (1.0 - acc_amount(&small, 1, STV_Q_VOLUME20_L, d) / small.fill_l) /
                  (1.0 - acc_amount(&large, 1, STV_Q_VOLUME20_L, d) / large.fill_l);
    }
    acc_casks_free(&large);
    acc_casks_free(&small);
    acc_print(
        table,
        &(struct acc_row){"extract in the first 20 days, 2 gal over 10 gal; Jeffery & Berglund, "
                          "J. Food Process. Beverages 2016 (abstract)",
                          "as surface over volume, 1.71; read as within 5 %", "", 1.62, 1.80, 2,
                          ACC_SIZE, ACC_STEADY, ACC_NOWHERE},
        oak, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"litres lost in 200 days, 2 gal over 10 gal; the same",
                                "as surface over volume, 1.71; read as within 5 %", "", 1.62, 1.80,
                                2, ACC_SIZE, ACC_STEADY, ACC_NOWHERE},
              lost, ACC_DRAWS);
}

/* Extract after three years, 200 L, 60 % vol. */
static void three_years(double values[ACC_DRAWS], enum acc_place place)
{
    const double three_y = 3.0;
    struct acc_filling filling = {place, 1, 200.0, 200.0, 0.60, STV_WOOD_NEW, 1, 0.0, 0};
    struct acc_casks casks = acc_run(&filling, &three_y, 1, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        values[d] = acc_oak_mg(&casks, 0, d);
    acc_casks_free(&casks);
}

static void temperature(struct acc_table *table)
{
    double steady[ACC_DRAWS], swinging[ACC_DRAWS], warm[ACC_DRAWS], cool[ACC_DRAWS];
    three_years(steady, ACC_STEADY);
    three_years(swinging, ACC_SWINGING);
    three_years(warm, ACC_STEADY_WARM);
    three_years(cool, ACC_STEADY_COOL);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        swinging[d] = 100.0 * (swinging[d] / steady[d] - 1.0);
        warm[d] = 100.0 * (warm[d] / cool[d] - 1.0);
    }
    acc_print(table,
              &(struct acc_row){"extract where the temperature swings against where it is steady; "
                                "Duncan & Philp, J. Sci. Food Agric. 1966, second-hand",
                                "no difference; read as within 5 %", " %", -5.0, 5.0, 2, ACC_LAW,
                                ACC_SWINGING, ACC_STEADY},
              swinging, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"extract where it is warm against where it is cool; the same, and "
                                "Reazin, AJEV 1981 (abstract)",
                                "more", " %", 0.0, 1e3, 0, ACC_LAW, ACC_STEADY_WARM,
                                ACC_STEADY_COOL},
              warm, ACC_DRAWS);
}

static void fills(struct acc_table *table)
{
    static const struct acc_row rows[] = {
        {"extract of the second 12-year fill over the first; trade press (the share left in casks "
         "*bought* used was taken from it; those kept empty by themselves)",
         "25 to 30 %", " %", 25.0, 30.0, 0, ACC_SIZE, ACC_SCOTLAND, ACC_NOWHERE},
        {"the third fill over the first; the same", "about 10 %", " %", 10.0, 10.0, 0, ACC_SIZE,
         ACC_SCOTLAND, ACC_NOWHERE},
    };
    const double day_y = 1.0 / STV_YEAR_D;
    const double ages_y[] = {0.5, 1.0, 12.0 - day_y, 24.0 - day_y, 36.0};
    double early[ACC_DRAWS], later[2][ACC_DRAWS];
    struct acc_filling filling = {ACC_SCOTLAND, 1, 200.0, 200.0, 0.635, STV_WOOD_NEW, 0, 12.0, 2};
    struct acc_casks casks = acc_run(&filling, ages_y, 5, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        early[d] = acc_oak_mg(&casks, 1, d) / acc_oak_mg(&casks, 0, d) - 1.0;
        for (size_t i = 0; i < 2; i++)
            later[i][d] = 100.0 * acc_oak_mg(&casks, 3 + i, d) / acc_oak_mg(&casks, 2, d);
    }
    acc_casks_free(&casks);
    acc_print(table,
              &(struct acc_row){"colour, months 7 to 12 over months 1 to 6; Liebmann & Rosenblatt, "
                                "Ind. Eng. Chem. 1943, second-hand",
                                "most in the first months: under 1", "", 0.0, 1.0, 2, ACC_LAW,
                                ACC_SCOTLAND, ACC_NOWHERE},
              early, ACC_DRAWS);
    for (size_t i = 0; i < 2; i++)
        acc_print(table, &rows[i], later[i], ACC_DRAWS);
}

static void tannins(struct acc_table *table)
{
    /* Source: Jordao, Ricardo-da-Silva & Laureano, S. Afr. J. Enol. Vitic. 2005, abstract:
     * ellagitannins after 104 days, more left at 12 C than at 20 C. */
    struct stv_params params[ACC_DRAWS];
    double ratio[ACC_DRAWS];
    acc_params_of_draws(NULL, params, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        double left_mg[2];
        for (int i = 0; i < 2; i++) {
            struct climate_of wave = {.mean_c = i == 0 ? 12.0 : 20.0};
            struct acc_liquid liquid = {.pools =
                                            stv_oak_pools_of(STV_WOOD_NEW, &params[d], &usual)};
            acc_liquid_fill(&liquid, 0.13);
            acc_liquid_carry(&liquid, &params[d], &wave, 0.0, 104.0);
            left_mg[i] = liquid.content_mg[STV_OAK_TANNINS];
        }
        ratio[d] = left_mg[0] / left_mg[1];
    }
    acc_print(table,
              &(struct acc_row){
                  "ellagitannins after 104 days, 12 C over 20 C; Jordao et al., S. Afr. "
                  "J. Enol. Vitic. 2005 (abstract)",
                  "more at 12 C: over 1", "", 1.0, 1e3, 2, ACC_LAW, ACC_NOWHERE, ACC_NOWHERE},
              ratio, ACC_DRAWS);
}

void acc_oak_rows(struct acc_table *table)
{
    tired_cask(table);
    fills(table);
    wine_fills(table);
    small_casks(table);
    temperature(table);
    tannins(table);
}
