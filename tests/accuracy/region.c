/* What trades say of their regions: envelopes, not measurements. */
#include "tests/accuracy/table.h"

#define N_REGIONS 5

/* Per cent of the fill lost in the first year, wood already soaked. */
static void year_lost(double values[ACC_DRAWS], enum acc_place place, enum stv_quantity quantity)
{
    const double one_y = 1.0;
    struct acc_filling filling = {place, ACC_MEAN, 200.0, 200.0, 0.60, STV_WOOD_NEW, 1, 0.0, 0};
    struct acc_casks casks = acc_run(&filling, &one_y, 1, ACC_DRAWS);
    double full = quantity == STV_Q_LPA_L ? casks.fill_lpa_l : casks.fill_l;
    for (size_t d = 0; d < ACC_DRAWS; d++)
        values[d] = 100.0 * (1.0 - acc_amount(&casks, 0, quantity, d) / full);
    acc_casks_free(&casks);
}

static void order(struct acc_table *table)
{
    static const struct acc_row rows[] = {
        {"litres lost, rum, Caribbean; trade statement", "8 % a year", " %", 8.0, 8.0, 1, ACC_SIZE,
         ACC_CARIBBEAN, ACC_NOWHERE},
        {"litres lost, India; trade statement", "10 to 12 % a year", " %", 10.0, 12.0, 1, ACC_SIZE,
         ACC_INDIA, ACC_NOWHERE},
        {"order of litres lost: Scotland and France (S, C75), Kentucky (K), Caribbean (B), India "
         "(I); trade statements",
         "rising", " % (the smallest step)", 0.0, 100.0, 2, ACC_LAW, ACC_SCOTLAND, ACC_INDIA},
    };
    static const enum acc_place rising[N_REGIONS] = {ACC_SCOTLAND, ACC_CELLAR_MIDDLE, ACC_KENTUCKY,
                                                     ACC_CARIBBEAN, ACC_INDIA};
    double lost[N_REGIONS][ACC_DRAWS], least_step[ACC_DRAWS];
    for (size_t r = 0; r < N_REGIONS; r++)
        year_lost(lost[r], rising[r], STV_Q_VOLUME20_L);
    for (size_t d = 0; d < ACC_DRAWS; d++) {
        /* Scotland and France are said to be alike: either may come first. */
        least_step[d] = lost[2][d] - fmax(lost[0][d], lost[1][d]);
        for (size_t r = 3; r < N_REGIONS; r++)
            least_step[d] = fmin(least_step[d], lost[r][d] - lost[r - 1][d]);
    }
    acc_print(table, &rows[0], lost[3], ACC_DRAWS);
    acc_print(table, &rows[1], lost[4], ACC_DRAWS);
    acc_print(table, &rows[2], least_step, ACC_DRAWS);
}

static void california(struct acc_table *table)
{
    /* Its figure is of alcohol, and so stands apart from the others' litres. */
    double california[ACC_DRAWS], more[ACC_DRAWS];
    year_lost(california, ACC_CALIFORNIA, STV_Q_LPA_L);
    year_lost(more, ACC_KENTUCKY, STV_Q_LPA_L);
    for (size_t d = 0; d < ACC_DRAWS; d++)
        more[d] -= california[d];
    acc_print(
        table,
        &(struct acc_row){"alcohol lost, brandy, California; an air district's factor, 4.96 lb "
                          "a 50 gal barrel",
                          "2.5 % a year", " %", 2.5, 2.5, 1, ACC_SIZE, ACC_CALIFORNIA, ACC_NOWHERE},
        california, ACC_DRAWS);
    acc_print(
        table,
        &(struct acc_row){"alcohol lost, Kentucky (Baldwin & Andreasen's 3.0 %) less California "
                          "(2.5 %)",
                          "more in Kentucky", " % a year", 0.0, 100.0, 2, ACC_LAW, ACC_KENTUCKY,
                          ACC_CALIFORNIA},
        more, ACC_DRAWS);
}

void acc_region_rows(struct acc_table *table)
{
    order(table);
    california(table);
}

void acc_used_rows(struct acc_table *table)
{
    static const struct acc_row rows[] = {
        {"litres lost, cool and damp; trade", "1.8 to 2.2 % a year", " %", 1.8, 2.2, 2, ACC_USED,
         ACC_TRADE_COOL, ACC_NOWHERE},
        {"strength there; trade", "-0.5 to -0.2 % vol a year", " % vol", -0.5, -0.2, 2, ACC_USED,
         ACC_TRADE_COOL, ACC_NOWHERE},
        {"litres lost, hot and dry; trade", "4 to 5 % a year", " %", 4.0, 5.0, 2, ACC_USED,
         ACC_TRADE_HOT, ACC_NOWHERE},
        {"strength there; trade", "+0.5 to +1 % vol a year", " % vol", 0.5, 1.0, 2, ACC_USED,
         ACC_TRADE_HOT, ACC_NOWHERE},
    };
    for (size_t i = 0; i < sizeof rows / sizeof *rows; i++) {
        const double one_y = 1.0;
        double values[ACC_DRAWS];
        if (i % 2 == 0) {
            year_lost(values, rows[i].place, STV_Q_VOLUME20_L);
        } else {
            struct acc_filling filling = {rows[i].place, ACC_MEAN, 200.0, 200.0, 0.60,
                                          STV_WOOD_NEW,  1,        0.0,   0};
            struct acc_casks casks = acc_run(&filling, &one_y, 1, ACC_DRAWS);
            for (size_t d = 0; d < ACC_DRAWS; d++)
                values[d] = 100.0 * (acc_abv20_frac(&casks, 0, d) - 0.60);
            acc_casks_free(&casks);
        }
        acc_print(table, &rows[i], values, ACC_DRAWS);
    }
}
