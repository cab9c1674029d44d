/* What is lost: published losses of litres and of alcohol. */
#include "tests/accuracy/table.h"

#include "model/spirit.h"

#define N_ENTRIES 3
#define STAVE_ENTRIES 3
#define FULL_L 200.0
#define WINE_ABV20_FRAC 0.13
#define OUTAGE_FILL_L (47.5 * STV_WINE_GALLON_L)
#define PROOF_GAL_LPA_L (0.5 * STV_WINE_GALLON_L)

static double lost_volume_pct(const struct acc_casks *casks, size_t age_idx, size_t draw)
{
    return 100.0 * (1.0 - acc_amount(casks, age_idx, STV_Q_VOLUME20_L, draw) / casks->fill_l);
}

static double lost_alcohol_pct(const struct acc_casks *casks, size_t age_idx, size_t draw)
{
    return 100.0 * (1.0 - acc_amount(casks, age_idx, STV_Q_LPA_L, draw) / casks->fill_lpa_l);
}

/* Litres that left through the wood alone, per cent of the fill. */
static double wood_alone_pct(const struct acc_casks *casks, double abv20_frac, size_t draw)
{
    struct acc_wood_loss lost = acc_wood_loss(casks, 0, draw);
    double ethanol_kg, water_kg;
    stv_assert_ok(stv_spirit_masses_kg(casks->fill_l, abv20_frac, &ethanol_kg, &water_kg));
    struct stv_spirit_amount left =
        stv_spirit_amount(ethanol_kg - lost.ethanol_kg, water_kg - lost.water_kg);
    return 100.0 * (1.0 - left.volume20_l / casks->fill_l);
}

static void stave_disks(struct acc_table *table)
{
    /* Source: University of Kentucky, Biosystems and Agricultural Engineering Faculty Publications
     * 257, abstract: 50, 62.5 and 70 % vol, 1.2 +- 0.3 % a year. */
    static const double entries[STAVE_ENTRIES] = {0.50, 0.625, 0.70};
    const double one_y = 1.0;
    double mean_pct[ACC_DRAWS] = {0}, mass_kg[STAVE_ENTRIES][ACC_DRAWS], change_pct[ACC_DRAWS];
    for (size_t e = 0; e < STAVE_ENTRIES; e++) {
        struct acc_filling filling = {ACC_KENTUCKY, ACC_MEAN, FULL_L, FULL_L, entries[e],
                                      STV_WOOD_NEW, 1,        0.0,    0};
        struct acc_casks casks = acc_run(&filling, &one_y, 1, ACC_DRAWS);
        for (size_t d = 0; d < ACC_DRAWS; d++) {
            struct acc_wood_loss lost = acc_wood_loss(&casks, 0, d);
            mean_pct[d] += wood_alone_pct(&casks, entries[e], d) / STAVE_ENTRIES;
            mass_kg[e][d] = lost.ethanol_kg + lost.water_kg;
        }
        acc_casks_free(&casks);
    }
    for (size_t d = 0; d < ACC_DRAWS; d++)
        change_pct[d] = 100.0 * (mass_kg[STAVE_ENTRIES - 1][d] / mass_kg[0][d] - 1.0);
    acc_print(table,
              &(struct acc_row){
                  "litres through the wood alone, 200 L, Kentucky; stave disks, Univ. "
                  "of Kentucky, BAE Faculty Publ. 257 (abstract)",
                  "1.2 +- 0.3 % a year", " %", 0.9, 1.5, 2, ACC_SIZE, ACC_KENTUCKY, ACC_NOWHERE},
              mean_pct, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"70 % vol against 50, mass through the wood; the same", "less",
                                " %", -100.0, 0.0, 0, ACC_LAW, ACC_KENTUCKY, ACC_NOWHERE},
              change_pct, ACC_DRAWS);
}

static void entry_strengths(struct acc_table *table)
{
    /* Source: Baldwin & Andreasen, J. AOAC 57 (1974) 940, abstract: six entry strengths of 109 to
     * 155 US proof, alcohol lost 3.0 % of the fill a year over 12 years, about alike at all six,
     * colour falling as the entry strength rises.  The ends and the middle stand for the six. */
    const double twelve_y = 12.0;
    double rate_pct[ACC_DRAWS] = {0}, least_pct[ACC_DRAWS], most_pct[ACC_DRAWS];
    double spread[ACC_DRAWS], oak[N_ENTRIES][ACC_DRAWS], colour_pct[ACC_DRAWS];
    for (size_t e = 0; e < N_ENTRIES; e++) {
        double abv20_frac = 0.545 + (0.775 - 0.545) * (double)e / (N_ENTRIES - 1);
        struct acc_filling filling = {ACC_KENTUCKY, ACC_MEAN, FULL_L, FULL_L, abv20_frac,
                                      STV_WOOD_NEW, 0,        0.0,    0};
        struct acc_casks casks = acc_run(&filling, &twelve_y, 1, ACC_DRAWS);
        for (size_t d = 0; d < ACC_DRAWS; d++) {
            double lost_pct = lost_alcohol_pct(&casks, 0, d);
            rate_pct[d] += lost_pct / twelve_y / N_ENTRIES;
            least_pct[d] = e == 0 ? lost_pct : fmin(least_pct[d], lost_pct);
            most_pct[d] = e == 0 ? lost_pct : fmax(most_pct[d], lost_pct);
            oak[e][d] = acc_oak_mg(&casks, 0, d) / acc_amount(&casks, 0, STV_Q_LPA_L, d);
        }
        acc_casks_free(&casks);
    }
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        spread[d] = most_pct[d] - least_pct[d];
        colour_pct[d] = -100.0;
        for (size_t e = 1; e < N_ENTRIES; e++)
            colour_pct[d] = fmax(colour_pct[d], 100.0 * (oak[e][d] / oak[e - 1][d] - 1.0));
    }
    acc_print(table,
              &(struct acc_row){"alcohol lost, of the fill, over 12 years at six entry strengths "
                                "(54.5 to 77.5 % vol); Baldwin & Andreasen, J. AOAC 1974 "
                                "(abstract). The model: the ends and the middle",
                                "3.0 % a year", " %", 3.0, 3.0, 2, ACC_SIZE, ACC_KENTUCKY,
                                ACC_NOWHERE},
              rate_pct, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"the same, least against most of the six; the same",
                                "about alike; read as within 4 of 100", " of 100", 0.0, 4.0, 1,
                                ACC_LAW, ACC_KENTUCKY, ACC_NOWHERE},
              spread, ACC_DRAWS);
    acc_print(
        table,
        &(struct acc_row){"colour per litre of alcohol after 12 years, from one entry strength "
                          "to the next; the same",
                          "less at every step", " % (the smallest step)", -100.0, 0.0, 0, ACC_LAW,
                          ACC_KENTUCKY, ACC_NOWHERE},
        colour_pct, ACC_DRAWS);
}

/* Percent of the first year's wine, topped up or not: the whole wall evaporates. */
static void wine_year(double values[ACC_DRAWS], enum acc_place place, size_t n_casks)
{
    const double one_y = 1.0;
    struct acc_filling filling = {place,        n_casks, 225.0, 225.0, WINE_ABV20_FRAC,
                                  STV_WOOD_NEW, 1,       0.0,   0};
    struct acc_casks casks = acc_run(&filling, &one_y, 1, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        values[d] = lost_volume_pct(&casks, 0, d);
    acc_casks_free(&casks);
}

static void wine(struct acc_table *table)
{
    static const struct acc_row rows[] = {
        {"wine in 225 L casks once the wood is wet; Roussey et al., J. Food Eng. 2021 (abstract)",
         "20 mL a day", " mL", 20.0, 20.0, 1, ACC_SIZE, ACC_WINE_CELLAR, ACC_NOWHERE},
        {"wine, cellar of low humidity; trade glossary", "up to 9 % a year", " %", 9.0, 9.0, 1,
         ACC_SIZE, ACC_WINE_DRY, ACC_NOWHERE},
        {"wine, humid cellar; the same", "1 % a year", " %", 1.0, 1.0, 1, ACC_SIZE, ACC_WINE_HUMID,
         ACC_NOWHERE},
        {"wine above ground, northern California, 4 of 60 gallons; second-hand", "6.7 % a year",
         " %", 6.7, 6.7, 1, ACC_SIZE, ACC_WINE_HALL, ACC_NOWHERE},
        {"wine in a cave there, 1 of 60 gallons; second-hand", "1.7 % a year", " %", 1.7, 1.7, 1,
         ACC_SIZE, ACC_WINE_CAVE, ACC_NOWHERE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        double values[ACC_DRAWS];
        /* Few casks were weighed in the first; the others are a trade's means. */
        wine_year(values, rows[i].place, i == 0 ? 1 : ACC_MEAN);
        if (i == 0)
            for (size_t d = 0; d < ACC_DRAWS; d++)
                values[d] *= 225.0 / 100.0 * 1000.0 / STV_YEAR_D;
        acc_print(table, &rows[i], values, ACC_DRAWS);
    }
}

static void joints(struct acc_table *table)
{
    /* Source: Del Toro et al., Tecnologia Quimica (year not seen): casks of 250 L on pallets in the
     * tropics lost about 17 % more with a bung hole than without. */
    const double one_y = 1.0;
    double more_pct[ACC_DRAWS];
    struct acc_filling filling = {ACC_CARIBBEAN, ACC_MEAN, 250.0, 250.0, 0.60,
                                  STV_WOOD_NEW,  1,        0.0,   0};
    struct acc_casks casks = acc_run(&filling, &one_y, 1, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        more_pct[d] =
            100.0 * (lost_volume_pct(&casks, 0, d) / wood_alone_pct(&casks, 0.60, d) - 1.0);
    acc_casks_free(&casks);
    acc_print(
        table,
        &(struct acc_row){"litres lost with a bung hole against without, 250 L, tropics; Del "
                          "Toro et al., Tecnologia Quimica. The model knows all joints as one",
                          "17 % more; all joints: at least that", " %", 17.0, 1000.0, 0, ACC_LAW,
                          ACC_CARIBBEAN, ACC_NOWHERE},
        more_pct, ACC_DRAWS);
}

static void outage(struct acc_table *table)
{
    /* Source: US outage allowance of 1894 and 1936, two texts that agree: proof gallons allowed by
     * 12, 48, 60 and 72 months, read between the steps: 7.4 points of 47.5 in the first year, 3.2
     * in the sixth; 9 proof gallons at 48 months.  A legal ceiling, not a measurement. */
    const double ages_y[] = {1.0, 4.0, 5.0, 6.0};
    double allowed[ACC_DRAWS], shape[ACC_DRAWS];
    struct acc_filling filling = {
        ACC_KENTUCKY, ACC_MEAN, OUTAGE_FILL_L, OUTAGE_FILL_L, 0.50, STV_WOOD_NEW, 0, 0.0, 0};
    struct acc_casks casks = acc_run(&filling, ages_y, 4, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        double lpa_l[4];
        for (size_t i = 0; i < 4; i++)
            lpa_l[i] = casks.fill_lpa_l - acc_amount(&casks, i, STV_Q_LPA_L, d);
        allowed[d] = lpa_l[1] / PROOF_GAL_LPA_L;
        shape[d] = lpa_l[0] / (lpa_l[3] - lpa_l[2]);
    }
    acc_casks_free(&casks);
    acc_print(
        table,
        &(struct acc_row){"alcohol lost in 4 years from 47.5 proof gallons; US outage allowance "
                          "of 1894 and 1936, a legal ceiling",
                          "9 proof gallons allowed", " gal", 0.0, 9.0, 1, ACC_LAW, ACC_KENTUCKY,
                          ACC_NOWHERE},
        allowed, ACC_DRAWS);
    acc_print(table,
              &(struct acc_row){"alcohol lost in the first year over the sixth; the same allowance",
                                "2.3 times", " times", 2.3, 2.3, 1, ACC_SIZE, ACC_KENTUCKY,
                                ACC_NOWHERE},
              shape, ACC_DRAWS);
}

static void first_year(struct acc_table *table)
{
    /* Source: a producer's loss schedule in a trade report of 2014: 10 % in the first year, 4 % a
     * year for eight; regional statements say 8 to 10 %, then 3 to 4 %. */
    const double ages_y[] = {1.0, 8.0};
    double first_pct[ACC_DRAWS], later_pct[ACC_DRAWS];
    struct acc_filling filling = {ACC_KENTUCKY, ACC_MEAN, FULL_L, FULL_L, 0.625,
                                  STV_WOOD_NEW, 0,        0.0,    0};
    struct acc_casks casks = acc_run(&filling, ages_y, 2, ACC_DRAWS);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        first_pct[d] = lost_volume_pct(&casks, 0, d);
        later_pct[d] = (lost_volume_pct(&casks, 1, d) - first_pct[d]) / 7.0;
    }
    acc_casks_free(&casks);
    acc_print(table,
              &(struct acc_row){"litres lost in the first year, soaking included, Kentucky; trade "
                                "statements",
                                "8 to 10 %", " %", 8.0, 10.0, 1, ACC_SIZE, ACC_KENTUCKY,
                                ACC_NOWHERE},
              first_pct, ACC_DRAWS);
    acc_print(
        table,
        &(struct acc_row){"litres lost a year, of the fill, in years 2 to 8, Kentucky; the same",
                          "3 to 4 %", " %", 3.0, 4.0, 1, ACC_SIZE, ACC_KENTUCKY, ACC_NOWHERE},
        later_pct, ACC_DRAWS);
}

void acc_loss_rows(struct acc_table *table)
{
    stave_disks(table);
    entry_strengths(table);
    first_year(table);
    outage(table);
    joints(table);
    wine(table);
}
