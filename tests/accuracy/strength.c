/* Where the strength goes: series, signs, and barrels of which litres and strength are both
 * known. */
#include "tests/accuracy/table.h"

#include "model/spirit.h"

#define SCHOENEMAN_AGES 9
#define FRENCH_CASK_L 350.0

static double us_proof(double abv20_frac)
{
    double mass_frac;
    if (stv_mass_frac_from_abv20(abv20_frac, &mass_frac) != STV_OK)
        return NAN;
    return stv_us_proof_nd(mass_frac);
}

static double abv20_of_us_proof(double proof_nd)
{
    double mass_frac;
    stv_assert_ok(stv_mass_frac_from_us_proof(proof_nd, &mass_frac));
    return stv_abv20_from_mass_frac(mass_frac);
}

/* Least-squares slope, per unit of x. */
static double slope(const double *x, const double *y, size_t n)
{
    double mean_x = 0.0, mean_y = 0.0, above = 0.0, below = 0.0;
    for (size_t i = 0; i < n; i++) {
        mean_x += x[i] / (double)n;
        mean_y += y[i] / (double)n;
    }
    for (size_t i = 0; i < n; i++) {
        above += (x[i] - mean_x) * (y[i] - mean_y);
        below += (x[i] - mean_x) * (x[i] - mean_x);
    }
    return above / below;
}

struct series {
    double dip[ACC_DRAWS], slope[ACC_DRAWS], late[ACC_DRAWS], last[ACC_DRAWS];
    double water_ratio[ACC_DRAWS];
};

static void print_series(struct acc_table *table, struct series *series)
{
    static const struct acc_row rows[] = {
        {"US proof after 6 months less that of the fill (104.6), new charred oak; Schoeneman, Dyer "
         "& Earl, J. AOAC 1971, as a dataset of an R package",
         "-0.5", "", -0.5, -0.5, 2, ACC_SIZE, ACC_KENTUCKY, ACC_NOWHERE},
        {"the same, years 1 to 8, by least squares", "+1.08 a year", " a year", 1.08, 1.08, 2,
         ACC_SIZE, ACC_KENTUCKY, ACC_NOWHERE},
        {"the same at 8 years", "112.1", "", 112.1, 112.1, 1, ACC_SIZE, ACC_KENTUCKY, ACC_NOWHERE},
        {"the same, rise a year in years 6 to 8 less that in years 1 to 6", "+0.84: faster late",
         " a year", 1e-9, 1e3, 2, ACC_LAW, ACC_KENTUCKY, ACC_NOWHERE},
        {"ln of water left over ln of ethanol left at 8 years; Schoeneman's strength with Baldwin "
         "& "
         "Andreasen's loss, two different studies",
         "1.55", "", 1.55, 1.55, 2, ACC_SIZE, ACC_KENTUCKY, ACC_NOWHERE},
    };
    double *values[] = {series->dip, series->slope, series->last, series->late,
                        series->water_ratio};
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++)
        acc_print(table, &rows[i], values[i], ACC_DRAWS);
}

static void schoeneman(struct acc_table *table)
{
    /* Source: Schoeneman, Dyer & Earl, J. AOAC 54 (1971) 1247, from the dataset "whisky" of the R
     * package investr: 104.6, 104.1, 104.4, 105.0, 106.0, 106.8, 107.7, 108.7, 110.6, 112.1 US
     * proof at 0, 0.5, 1 .. 8 years.  The climate is not in it. */
    static const double ages_y[SCHOENEMAN_AGES] = {0.5, 1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0};
    double fill_abv20_frac = abv20_of_us_proof(104.6);
    struct acc_filling filling = {ACC_KENTUCKY, ACC_MEAN, 200.0, 200.0, fill_abv20_frac,
                                  STV_WOOD_NEW, 0,        0.0,   0};
    struct acc_casks casks = acc_run(&filling, ages_y, SCHOENEMAN_AGES, ACC_DRAWS);
    struct series series;
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        double proof[SCHOENEMAN_AGES];
        for (size_t i = 0; i < SCHOENEMAN_AGES; i++)
            proof[i] = us_proof(acc_abv20_frac(&casks, i, d));
        series.dip[d] = proof[0] - 104.6;
        series.slope[d] = slope(ages_y + 1, proof + 1, SCHOENEMAN_AGES - 1);
        series.last[d] = proof[8];
        series.late[d] = (proof[8] - proof[6]) / 2.0 - (proof[6] - proof[1]) / 5.0;
        series.water_ratio[d] = acc_log_ratio(&casks, 8, d);
    }
    acc_casks_free(&casks);
    print_series(table, &series);
}

struct end_point {
    struct acc_filling filling;
    double age_y;
    struct acc_row lost, proof, ratio;
};

static void print_end_point(struct acc_table *table, const struct end_point *end)
{
    double lost[ACC_DRAWS], proof[ACC_DRAWS], ratio[ACC_DRAWS];
    struct acc_casks casks = acc_run(&end->filling, &end->age_y, 1, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        lost[d] = 100.0 * (1.0 - acc_amount(&casks, 0, STV_Q_VOLUME20_L, d) / end->filling.fill_l);
        proof[d] = us_proof(acc_abv20_frac(&casks, 0, d));
        ratio[d] = acc_log_ratio(&casks, 0, d);
    }
    acc_casks_free(&casks);
    acc_print(table, &end->lost, lost, ACC_DRAWS);
    acc_print(table, &end->proof, proof, ACC_DRAWS);
    acc_print(table, &end->ratio, ratio, ACC_DRAWS);
}

static void end_points(struct acc_table *table)
{
    /* Source: Miller 1895, p. 78: 45.5 gallons of 100 proof become about 33.5 of 116 in three
     * years; 33.5 is put together from a damaged scan. */
    const double gal = STV_WINE_GALLON_L;
    struct end_point miller = {
        {ACC_HOT_DRY, ACC_MEAN, 47.5 * gal, 45.5 * gal, abv20_of_us_proof(100.0), STV_WOOD_NEW, 0,
         0.0, 0},
        3.0,
        {"litres lost in 3 years, US bonded store; Miller 1895 (damaged scan)", "26.4 %", " %",
         26.4, 26.4, 1, ACC_SIZE, ACC_HOT_DRY, ACC_NOWHERE},
        {"US proof after 3 years, from 100; the same", "116", "", 116.0, 116.0, 1, ACC_SIZE,
         ACC_HOT_DRY, ACC_NOWHERE},
        {"ln of water left over ln of ethanol left; the same", "3.05", "", 3.05, 3.05, 2, ACC_SIZE,
         ACC_HOT_DRY, ACC_NOWHERE},
    };
    /* Source: a trade report of 2014: 53 gallons of 114 proof, 14 left at 135 to 140 after 23
     * years in positions of least evaporation. */
    struct end_point oldest = {
        {ACC_KENTUCKY_FLOOR, 1, 53.0 * gal, 53.0 * gal, abv20_of_us_proof(114.0), STV_WOOD_NEW, 0,
         0.0, 0},
        23.0,
        {"litres lost in 23 years, one Kentucky barrel, positions of least evaporation; trade "
         "report 2014",
         "73.6 %", " %", 73.6, 73.6, 1, ACC_SIZE, ACC_KENTUCKY_FLOOR, ACC_NOWHERE},
        {"US proof after 23 years, from 114; the same", "135 to 140", "", 135.0, 140.0, 1, ACC_SIZE,
         ACC_KENTUCKY_FLOOR, ACC_NOWHERE},
        {"ln of water left over ln of ethanol left; the same", "1.39 to 1.50", "", 1.39, 1.50, 2,
         ACC_SIZE, ACC_KENTUCKY_FLOOR, ACC_NOWHERE},
    };
    print_end_point(table, &miller);
    print_end_point(table, &oldest);
}

/* Change of strength in the first year, % vol, of a mean over casks. */
static void drift(double values[ACC_DRAWS], double lost_pct[ACC_DRAWS],
                  const struct acc_filling *filling)
{
    const double one_y = 1.0;
    struct acc_casks casks = acc_run(filling, &one_y, 1, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        values[d] = 100.0 * (acc_abv20_frac(&casks, 0, d) - filling->abv20_frac);
        lost_pct[d] = 100.0 * (1.0 - acc_amount(&casks, 0, STV_Q_VOLUME20_L, d) / filling->fill_l);
    }
    acc_casks_free(&casks);
}

static void french_cellars(struct acc_table *table)
{
    static const struct acc_row rows[] = {
        {"strength in a cellar at 40 to 60 %; French regional trade body",
         "practically steady; read as within 0.1 % vol a year", " % vol", -0.1, 0.1, 2, ACC_LAW,
         ACC_CELLAR_DRY, ACC_NOWHERE},
        {"strength at 70 to 80 %; French trade page", "falls", " % vol a year", -100.0, 0.0, 2,
         ACC_LAW, ACC_CELLAR_MIDDLE, ACC_NOWHERE},
        {"strength at 90 to 100 %; the trade body", "falls noticeably", " % vol a year", -100.0,
         0.0, 2, ACC_LAW, ACC_CELLAR_HUMID, ACC_NOWHERE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double values[ACC_DRAWS], lost_pct[ACC_DRAWS];
        struct acc_filling filling = {
            rows[i].place, ACC_MEAN, FRENCH_CASK_L, FRENCH_CASK_L, 0.70, STV_WOOD_NEW, 1, 0.0, 0};
        drift(values, lost_pct, &filling);
        acc_print(table, &rows[i], values, ACC_DRAWS);
    }
}

static void tiers(struct acc_table *table)
{
    /* Source: Reid & Ward 1994 in Conner, Reid & Jack 2003 (Whisky, ed. Russell, p. 230). */
    double bottom[ACC_DRAWS], top[ACC_DRAWS], bottom_lost[ACC_DRAWS], top_lost[ACC_DRAWS];
    struct acc_filling filling = {ACC_BOTTOM_TIER,      ACC_MEAN, 250.0, 250.0, 0.635,
                                  STV_WOOD_HELD_SPIRIT, 1,        0.0,   0};
    drift(bottom, bottom_lost, &filling);
    filling.place = ACC_TOP_TIER;
    drift(top, top_lost, &filling);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        top_lost[d] -= bottom_lost[d];
    acc_print(table,
              &(struct acc_row){"strength on the bottom tiers, humidity steady; Reid & Ward 1994, "
                                "second-hand in Conner, Reid & Jack 2003",
                                "falls", " % vol a year", -100.0, 0.0, 2, ACC_LAW, ACC_BOTTOM_TIER,
                                ACC_NOWHERE},
              bottom, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"strength on the top tiers, humidity drops by day; the same",
                                "rises", " % vol a year", 0.0, 100.0, 2, ACC_LAW, ACC_TOP_TIER,
                                ACC_NOWHERE},
              top, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"litres lost, top less bottom; the same", "more on top",
                                " % a year", 0.0, 100.0, 2, ACC_LAW, ACC_BOTTOM_TIER, ACC_TOP_TIER},
              top_lost, ACC_DRAWS);
}

static void west_coast(struct acc_table *table)
{
    /* Source: Rogers, Proof, 2014, a passage quoted by a reader: a cask may gain some 5 L of water
     * in 4 years. */
    const double four_y = 4.0;
    double gained_l[ACC_DRAWS];
    struct acc_filling filling = {ACC_WEST_COAST,       1, 250.0, 250.0, 0.635,
                                  STV_WOOD_HELD_SPIRIT, 1, 0.0,   0};
    struct acc_casks casks = acc_run(&filling, &four_y, 1, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        gained_l[d] = -acc_wood_loss(&casks, 0, d).water_kg; /* a kilogram is a litre */
    acc_casks_free(&casks);
    acc_print(
        table,
        &(struct acc_row){"water through the wood in 4 years, Scottish west coast: \"can gain\"; "
                          "Rogers, Proof, 2014, second-hand",
                          "5 L in", " L", 5.0, 5.0, 1, ACC_SIZE, ACC_WEST_COAST, ACC_NOWHERE},
        gained_l, ACC_DRAWS);
}

void acc_strength_rows(struct acc_table *table)
{
    schoeneman(table);
    end_points(table);
    french_cellars(table);
    tiers(table);
    west_coast(table);
}
