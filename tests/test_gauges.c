/* gauges.csv as people have it in hand: what each cell becomes, with its error, and what is refused
 * with its place.  Expected litres and strengths are those of the bench sum of the same cells,
 * which is tested against published tables; the figures of the casks are made up. */
#include "tests/book_case.h"

#include "ingest/gauge_numbers.h"

#include <math.h>

#define N_OF(array) (sizeof(array) / sizeof(array)[0])

static const char casks[] = "cask,size,held,uses,stencil\n"
                            "12,200 L,new,0,\n"
                            "18,200 L,bourbon,0,T 48 kg\n"
                            "A-26,200 L,sherry,0,\n"
                            "30,225 L,red wine,0,\n"
                            "31,200 L,sherry,1,\n"
                            "44,200 L,bourbon,0,\n"
                            "45,200 L,bourbon,0,\n";
#define NEVER_FILLED "45"

static const char history[] = "date,what,cask,to,litres,strength,water\n"
                              "2024-03-14,fill,12,,195 L,60 %vol,\n"
                              "2024-03-14,fill,18,,190 L,63.5 %vol,\n"
                              "2024-03-14,fill,A-26,,190 L,63.5 %vol,\n"
                              "2024-03-14,fill,30,,190 L,63.5 %vol,\n"
                              "2024-03-14,fill,31,,150 L,63.5 %vol,\n"
                              "2025-04-02,add water,12,,,,5 kg\n"
                              "2025-06-30,transfer,A-26,44,,,\n"
                              "2025-07-30,transfer,30,31,20 L,,\n"
                              "2025-09-01,top up,18,,2 L,60 %vol,\n";

static void open_with(struct stv_book_case *one, const char *gauges)
{
    case_open(one);
    case_write(one, "casks.csv", casks);
    case_write(one, "history.csv", history);
    case_write(one, "gauges.csv", gauges);
}

/* The gauges of a text that must be good; close the case afterwards. */
static const struct stv_gauge *read_good(struct stv_book_case *one, const char *gauges, size_t n)
{
    open_with(one, gauges);
    enum stv_status status = case_read(one, false);
    if (status != STV_OK || one->book.n_gauges != n)
        case_print(one);
    stv_assert_ok(status);
    assert_int_equal(one->book.n_gauges, n);
    return one->book.gauges;
}

static void litres_and_strength(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge = read_good(&one,
                                              "date,cask,litres,strength,temp\n"
                                              "2024-05-01,12,190 L +- 0.4,60 %vol +- 0.1,\n"
                                              "2024-06-01,12,190 L,60 %vol,30 C\n"
                                              "2024-07-01,12,190 L,,30 C\n"
                                              "2024-08-01,12,\"100 L + 85 L\",,\n"
                                              "2024-09-01,12,,61 %vol,\n",
                                              5);
    stv_assert_close(gauge[0].volume20_l, 190.0, 1e-9, 0.0);
    stv_assert_close(gauge[0].volume_sd_l, 0.4, 1e-3, 0.0);
    stv_assert_close(gauge[0].abv20_frac, 0.6, 1e-9, 0.0);
    stv_assert_close(gauge[0].abv_sd_frac, 0.001, 1e-2, 0.0);
    assert_int_equal(gauge[0].volume_from, STV_VOLUME_LITRES);
    assert_true(isnan(gauge[0].temp_c) && isnan(gauge[0].liquid_kg) && isnan(gauge[0].gross_kg));
    /* Warm litres shrink to 20 C; the temperature's own error is the smaller part. */
    stv_assert_close(gauge[1].volume20_l, 188.299422, 1e-8, 0.0);
    assert_true(gauge[1].volume_sd_l > 0.99 && gauge[1].volume_sd_l < 1.01);
    stv_assert_close(gauge[1].abv_sd_frac, 0.002, 1e-2, 0.0);
    stv_assert_close(gauge[1].temp_c, 30.0, 1e-12, 0.0);
    /* Without a strength they are shrunk as 60 %vol, and are a little less sure. */
    stv_assert_close(gauge[2].volume20_l, 188.299422, 1e-8, 0.0);
    assert_true(gauge[2].volume_sd_l > gauge[1].volume_sd_l && gauge[2].volume_sd_l < 1.02);
    assert_true(isnan(gauge[2].abv20_frac) && isnan(gauge[2].abv_sd_frac));
    stv_assert_close(gauge[3].volume20_l, 185.0, 1e-9, 0.0);
    stv_assert_close(gauge[3].volume_sd_l, sqrt(2.0), 1e-3, 0.0);
    assert_int_equal(gauge[4].volume_from, STV_VOLUME_NONE);
    assert_true(isnan(gauge[4].volume20_l) && isnan(gauge[4].volume_sd_l));
    case_close(&one);
}

static void readings_become_true_strength(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge = read_good(&one,
                                              "date,cask,reading,temp,litres\n"
                                              "2024-05-01,12,124.6 US proof,84 F,191 L\n"
                                              "2024-06-01,12,57.2 %vol +- 0.1,28 C,\n"
                                              "2024-07-01,12,905.2 kg/m3,22 C,\n",
                                              3);
    stv_assert_close(gauge[0].abv20_frac, 0.576860996, 1e-8, 0.0);
    stv_assert_close(gauge[0].volume20_l, 189.507273, 1e-8, 0.0);
    assert_true(gauge[0].is_reading);
    stv_assert_close(gauge[1].abv20_frac, 0.543187353, 1e-8, 0.0);
    /* Half a kelvin counts for more than the reading. */
    assert_true(gauge[1].abv_sd_frac > 0.0015 && gauge[1].abv_sd_frac < 0.0025);
    stv_assert_close(gauge[2].abv20_frac, 0.610243008, 1e-8, 0.0);
    case_close(&one);
    /* The header's unit and the book's decide on the scale as a cell's own does. */
    gauge = read_good(&one,
                      "date,cask,reading [US proof],temp [F]\n"
                      "2024-05-01,12,124.6,84\n2024-06-01,12,57.2 %vol,82.4\n",
                      2);
    stv_assert_close(gauge[0].abv20_frac, 0.576860996, 1e-8, 0.0);
    stv_assert_close(gauge[1].abv20_frac, 0.543187353, 1e-8, 0.0);
    case_close(&one);
}

static void weights(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge =
        read_good(&one,
                  "date,cask,gross [kg],tare [kg],tare was,net [kg],strength\n"
                  "2024-05-01,12,96.4 + 120.2,48,wet,,60 %vol\n"
                  "2024-06-01,12,96.4 kg + 120.2 kg,48,dry,,60 %vol\n"
                  "2024-07-01,12,216.4,48,,,\n"
                  "2024-08-01,12,216.2 +- 0.5,,,,\n"
                  "2024-09-01,12,,,,168.6,60 %vol\n"
                  "2024-10-01,12,,,,168.6 +- 0.1,\n"
                  "2024-11-01,12,215.8,48,wet,167.8,\n"
                  "2024-12-01,12,215.6,48,dry,167.6,\n",
                  8);
    stv_assert_close(gauge[0].gross_kg, 216.6, 1e-12, 0.0);
    stv_assert_close(gauge[0].gross_sd_kg, 0.2 * sqrt(2.0), 1e-9, 0.0);
    stv_assert_close(gauge[0].volume20_l, 185.672464, 1e-8, 0.0);
    stv_assert_close(gauge[0].liquid_kg, 168.797517, 1e-8, 0.0);
    stv_assert_close(gauge[0].liquid_sd_kg, 0.2 * sqrt(3.0), 1e-9, 0.0);
    assert_int_equal(gauge[0].volume_from, STV_VOLUME_WEIGHT);
    assert_int_equal(gauge[0].tare_was, STV_TARE_WET);
    /* Wood weighed dry has drunk since: kept, and nobody makes litres of it. */
    for (size_t i = 1; i < 4; i++) {
        assert_true(isfinite(gauge[i].gross_kg));
        assert_true(isnan(gauge[i].liquid_kg) && isnan(gauge[i].volume20_l));
        assert_int_equal(gauge[i].volume_from, STV_VOLUME_NONE);
    }
    stv_assert_close(gauge[1].tare_kg, 48.0, 1e-12, 0.0);
    assert_int_equal(gauge[1].tare_was, STV_TARE_DRY);
    assert_int_equal(gauge[2].tare_was, STV_TARE_UNSAID);
    assert_true(isnan(gauge[3].tare_kg));
    stv_assert_close(gauge[3].gross_sd_kg, 0.5, 1e-12, 0.0);
    stv_assert_close(gauge[4].volume20_l, 185.672464, 1e-8, 0.0);
    /* A net weight alone is a mass, and no litres. */
    stv_assert_close(gauge[5].liquid_kg, 168.797517, 1e-4, 0.0);
    stv_assert_close(gauge[5].liquid_sd_kg, 0.1, 1e-12, 0.0);
    assert_true(isnan(gauge[5].volume20_l));
    /* All three agree: the tare decides what the net is worth. */
    assert_true(isfinite(gauge[6].liquid_kg) && isnan(gauge[7].liquid_kg));
    /* Each said once, after the stencil of casks.csv. */
    assert_int_equal(one.problems.n_by_severity[STV_NOTED], 3);
    assert_non_null(strstr(one.problems.items[1].message, "wood drinks 3 to 6 L"));
    assert_int_equal(one.problems.items[1].row, 3);
    assert_non_null(strstr(one.problems.items[2].message, "dry or wet"));
    case_close(&one);
}

static void dips(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge = read_good(&one,
                                              "date,cask,dip,dry dip,strength,temp\n"
                                              "2024-05-01,12,50 cm,,60 %vol,\n"
                                              "2024-06-01,12,,3 fingers,,\n"
                                              "2024-07-01,12,,three fingers below the bung,,\n"
                                              "2024-08-01,12,50 cm +- 3 cm,,60 %vol,30 C\n"
                                              "2024-09-01,12,61 cm,,60 %vol,\n",
                                              5);
    stv_assert_close(gauge[0].volume20_l, 181.095158, 1e-8, 0.0);
    /* Mostly the makers' differences: another cask of 200 L is wider or narrower. */
    assert_true(gauge[0].volume_sd_l > 5.5 && gauge[0].volume_sd_l < 7.5);
    assert_int_equal(gauge[0].volume_from, STV_VOLUME_DIP);
    stv_assert_close(gauge[1].volume20_l, 192.855901, 1e-8, 0.0);
    assert_true(gauge[1].volume_sd_l > 1.0 && gauge[1].volume_sd_l < 3.0);
    assert_int_equal(gauge[1].volume_from, STV_VOLUME_DRY_DIP);
    stv_assert_close(gauge[2].volume20_l, gauge[1].volume20_l, 1e-12, 0.0);
    assert_true(gauge[3].volume20_l < gauge[0].volume20_l - 1.0);
    assert_true(gauge[3].volume_sd_l > gauge[0].volume_sd_l + 2.0);
    /* A cask may be a little wider than is usual, and is full then. */
    stv_assert_close(gauge[4].volume20_l, 200.0, 1e-9, 0.0);
    case_close(&one);
}

static void noses_and_colours(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge =
        read_good(&one,
                  "date,cask,colour,nose,blind,by,seeps\n"
                  "2024-05-01,12,7 of 12,not yet,yes,AB,weeps a bit at the chime\n"
                  "2024-05-01,12,house card 8 of 12,Over,no,CD,\n"
                  "2024-06-01,12,card 7.5 of 12,7.5,,AB,yes\n"
                  "2024-07-01,12,,,,,no\n"
                  "2024-08-01,12,,0,TRUE,,\n",
                  5);
    stv_assert_close(gauge[0].colour_card, 7.0, 1e-12, 0.0);
    stv_assert_close(gauge[0].colour_of, 12.0, 1e-12, 0.0);
    assert_int_equal(gauge[0].nose, STV_NOSE_NOT_YET);
    assert_true(isnan(gauge[0].nose_score) && gauge[0].is_blind && gauge[0].seeps);
    assert_string_equal(gauge[0].by, "AB");
    stv_assert_close(gauge[1].colour_card, 8.0, 1e-12, 0.0);
    assert_int_equal(gauge[1].nose, STV_NOSE_OVER);
    assert_string_equal(stv_nose_name(gauge[1].nose), "over");
    assert_false(gauge[1].is_blind || gauge[1].seeps);
    stv_assert_close(gauge[2].colour_card, 7.5, 1e-12, 0.0);
    stv_assert_close(gauge[2].nose_score, 7.5, 1e-12, 0.0);
    assert_int_equal(gauge[2].nose, STV_NOSE_NONE);
    assert_true(gauge[2].seeps && !gauge[3].seeps);
    stv_assert_close(gauge[4].nose_score, 0.0, 0.0, 1e-12);
    assert_true(gauge[4].is_blind && isnan(gauge[4].colour_card));
    case_close(&one);
}

/* Wine colours what lies in its wood, and what is poured out of it; not wood that held a whisky
 * since, nor what was there before. */
static void colour_that_is_not_woods_alone(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge = read_good(&one,
                                              "date,cask,colour,nose\n"
                                              "2024-05-01,12,7 of 12,\n"
                                              "2024-05-01,A-26,7 of 12,\n"
                                              "2024-05-01,30,7 of 12,\n"
                                              "2024-05-01,31,7 of 12,\n"
                                              "2025-08-01,31,7 of 12,\n"
                                              "2025-08-01,44,7 of 12,\n"
                                              "2024-06-01,A-26,,ready\n",
                                              7);
    static const bool wanted[] = {false, true, true, false, true, true, false};
    for (size_t i = 0; i < N_OF(wanted); i++)
        assert_int_equal(gauge[i].is_colour_of_other_liquid, wanted[i]);
    case_close(&one);
}

static void not_mixed_for_three_weeks(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge = read_good(&one,
                                              "date,cask,strength\n"
                                              "2024-03-20,12,60 %vol\n"
                                              "2025-04-01,12,60 %vol\n"
                                              "2025-04-02,12,58 %vol\n"
                                              "2025-04-23,12,58 %vol\n"
                                              "2025-04-24,12,58 %vol\n"
                                              "about 2025-04-27,12,58 %vol\n"
                                              "2025-07-10,44,60 %vol\n"
                                              "2025-09-10,18,60 %vol\n"
                                              "2025-04-10,18,60 %vol\n",
                                              9);
    static const bool wanted[] = {false, false, true, true, false, true, true, true, false};
    for (size_t i = 0; i < N_OF(wanted); i++)
        assert_int_equal(gauge[i].may_not_be_mixed, wanted[i]);
    case_close(&one);
}

/* On the day of a fill, of an emptying, and where a vague date may be such a day. */
static void the_edges_of_a_filling(void **state)
{
    (void)state;
    struct stv_book_case one;
    read_good(&one,
              "date,cask,nose\n2024-03-14,12,over\n2025-06-30,A-26,over\n2025-06-30,44,over\n"
              "March 2024,18,over\nabout 2025-07-05,A-26,over\n",
              5);
    case_close(&one);
}

static void decimal_commas_and_other_names(void **state)
{
    (void)state;
    struct stv_book_case one;
    const struct stv_gauge *gauge =
        read_good(&one,
                  "date gauged;cask no.;gross weight (kg);tare_was;tare weight (kg);Temperature "
                  "[C];ABV;wet dip;Color;Nosing\r\n"
                  "2024-05-01;12;96,4 + 120,2;wet;48;;60,0 +- 0,1;;;\r\n"
                  "2024-06-01;12;;;;21,5;;50,5 cm;8 of 12;7,5\r\n",
                  2);
    stv_assert_close(gauge[0].volume20_l, 185.672464, 1e-8, 0.0);
    stv_assert_close(gauge[0].abv_sd_frac, 0.001, 1e-2, 0.0);
    stv_assert_close(gauge[1].temp_c, 21.5, 1e-12, 0.0);
    stv_assert_close(gauge[1].nose_score, 7.5, 1e-12, 0.0);
    assert_true(gauge[1].volume20_l > 181.0 && gauge[1].volume20_l < 184.0);
    case_close(&one);
}

#define HEAD "date,cask,litres,strength,reading,temp,gross,tare,tare was,net,dip,dry dip\n"
#define SENSES "date,cask,colour,nose,blind,by,seeps\n"
#define D "2024-05-01,12,"

static const struct stv_slip slips[] = {
    {NULL, HEAD D "201 L,,,,,,,,,\n", 2, 15, "201 L", "more than cask 12 holds (200 L)"},
    {NULL, HEAD D "1 L + 200 L,,,,,,,,,\n", 2, 15, "1 L + 200 L", "more than cask 12 holds"},
    {NULL, HEAD D "0 L,,,,,,,,,\n", 2, 15, "0 L", "outside 0.1 to 1000 L"},
    {NULL, HEAD D "190 L +- -1,,,,,,,,,\n", 2, 15, "190 L +- -1", "negative error"},
    {NULL, HEAD D ",101 %vol,,,,,,,,\n", 2, 16, "101 %vol", "cannot be a strength"},
    {NULL, HEAD D ",30 + 30 %vol,,,,,,,,\n", 2, 16, "30 + 30 %vol", "unknown unit"},
    {NULL, HEAD D ",60 %vol,61 %vol,20 C,,,,,,\n", 2, 24, "61 %vol", "stands beside a strength"},
    {NULL, HEAD D ",,61 %vol,,,,,,,\n", 2, 25, "", "temperature at the reading"},
    {NULL, HEAD D ",,61 %vol,60 C,,,,,,\n", 2, 25, "60 C", "outside -20 to 50 C"},
    {NULL, HEAD D ",,99.9 %vol,40 F,,,,,,\n", 2, 17, "99.9 %vol", "no spirit reads so"},
    {NULL, HEAD D ",,500 kg/m3,20 C,,,,,,\n", 2, 17, "500 kg/m3", "no density of spirit"},
    {NULL, HEAD D ",,,20 C,,,,,,\n", 2, 0, "", "one of them at least"},
    {NULL, HEAD D ",,,,40 kg,48 kg,wet,,,\n", 2, 19, "40 kg", "not above the tare, 48 kg"},
    {NULL, HEAD D ",,,,210 kg,,wet,,,\n", 2, 27, "wet", "there is none"},
    {NULL, HEAD D ",,,,,48 kg,,,,\n", 2, 20, "48 kg", "without a gross weight"},
    {NULL, HEAD D ",,,,210 kg,48 kg,damp,,,\n", 2, 32, "damp", "write dry or wet"},
    {NULL, HEAD D ",,,,210 kg,,,160 kg,,\n", 2, 28, "160 kg", "without the tare"},
    {NULL, HEAD D ",,,,210 kg,48 kg,wet,160 kg,,\n", 2, 36, "160 kg", "which is 162 kg"},
    {NULL, HEAD D ",,,,,,,200 kg,,\n", 2, 22, "200 kg", "even as water 201 L"},
    {NULL, HEAD D ",60 %vol,,,,,,190 kg,,\n", 2, 29, "190 kg", "209 L, more than cask 12 holds"},
    {NULL, HEAD D ",60 %vol,,,240 kg,48 kg,wet,,,\n", 2, 26, "240 kg", "211 L, more than"},
    {NULL, HEAD "2024-05-01,18,,,,,48 kg,,,,,\n", 2, 19, "48 kg", "not above the tare on its head"},
    {NULL, HEAD D ",,,,,,,,66 cm,\n", 2, 23, "66 cm", "about 60 cm across"},
    {NULL, HEAD D ",,,,,,,,,66 cm\n", 2, 24, "66 cm", "about 60 cm across"},
    {NULL, HEAD D ",,,,,,,,0 cm,\n", 2, 23, "0 cm", "some of that is liquid"},
    {NULL, HEAD D ",,,,,,,,,seven fingers below the bung\n", 2, 24, "seven fingers below the bung",
     "not a number"},
    {NULL, HEAD D ",,,,,,,,50 cm,10 cm\n", 2, 29, "10 cm", "a second time"},
    {NULL, HEAD D "190 L,,,,,,,,50 cm,\n", 2, 28, "50 cm", "a second time"},
    {NULL, SENSES D "13 of 12,,,,\n", 2, 15, "13 of 12", "above its own scale"},
    {NULL, SENSES D "7,,,,\n", 2, 15, "7", "write \"7 of 12\""},
    {NULL, SENSES D "my card 7 of 12,,,,\n", 2, 15, "my card 7 of 12", "write \"7 of 12\""},
    {NULL, SENSES D "0 of 12,,,,\n", 2, 15, "0 of 12", "write \"7 of 12\""},
    {NULL, SENSES D ",11,,,\n", 2, 16, "11", "outside 0 to 10"},
    {NULL, SENSES D ",-1,,,\n", 2, 16, "-1", "outside 0 to 10"},
    {NULL, SENSES D ",reddy,,,\n", 2, 16, "reddy", "did you mean \"ready\""},
    {NULL, SENSES D ",,yes,AB,yes\n", 2, 17, "yes", "the row has neither"},
    {NULL, SENSES D ",,,,does not weep\n", 2, 19, "does not weep", "yes or no"},
    {NULL, SENSES D ",,,,dark streak\n", 2, 19, "dark streak", "yes or no"},
    {NULL, SENSES D ",,,,a bit\n", 2, 19, "a bit", "yes or no"},
    {NULL, SENSES "2024-05-01," NEVER_FILLED ",,over,,,\n", 2, 12, "45", "never filled"},
    {NULL, SENSES "2024-05-01,44,,over,,,\n", 2, 12, "44", "held nothing on this day"},
    {NULL, SENSES "2025-07-01,A-26,,over,,,\n", 2, 12, "A-26", "held nothing on this day"},
    {NULL, SENSES "April 2024,44,,over,,,\n", 2, 12, "44", "held nothing on this day"},
    {NULL, HEAD D "190 L,,,,,,,,,\n" D ",60 %vol,,,,,,,,\n" D "189 L,,,,,,,,,\n", 4, 15, "189 L",
     "in line 2 already"},
    {NULL, HEAD D ",60 %vol,,,,,,,,\n" D ",,61 %vol,20 C,,,,,,\n", 3, 17, "61 %vol",
     "in line 2 already"},
    {NULL, HEAD D ",,,,210 kg,,,,,\n" D ",,,,,,,162 kg,,\n", 3, 22, "162 kg", "in line 2 already"},
    {NULL, HEAD D ",,,,,,,,50 cm,\n" D ",,,,,,,,,10 cm\n", 3, 24, "10 cm", "in line 2 already"},
    {NULL, SENSES D ",over,,AB,\n" D ",ready,,CD,\n" D ",7,,AB,\n", 4, 16, "7",
     "in line 2 already"},
    {NULL, SENSES D "7 of 12,,,AB,\n" D "8 of 12,,,AB,\n", 3, 15, "8 of 12", "in line 2 already"},
};

/* True when the slip's refusal is the only one. */
static bool is_the_refusal(const struct stv_book_case *one, const struct stv_slip *slip)
{
    bool is_said = false;
    for (size_t i = 0; i < one->problems.n; i++) {
        const struct stv_problem *problem = &one->problems.items[i];
        is_said |= problem->severity == STV_REFUSED && strstr(problem->file, "gauges.csv") &&
                   problem->row == slip->row && problem->column == slip->column &&
                   strcmp(problem->found, slip->found) == 0 &&
                   strstr(problem->message, slip->phrase);
    }
    return is_said && one->problems.n_by_severity[STV_REFUSED] == 1;
}

static bool is_refused(const struct stv_slip *slip)
{
    struct stv_book_case one;
    open_with(&one, slip->text);
    bool is_said = case_read(&one, false) == STV_E_PARSE && is_the_refusal(&one, slip);
    if (!is_said) {
        print_error("wanted %zu:%zu \"%s\" %s; said\n", slip->row, slip->column, slip->found,
                    slip->phrase);
        case_print(&one);
    }
    case_close(&one);
    return is_said;
}

static void each_slip_is_refused_once(void **state)
{
    (void)state;
    size_t n_missed = 0;
    for (size_t i = 0; i < N_OF(slips); i++)
        n_missed += !is_refused(&slips[i]);
    assert_int_equal(n_missed, 0);
}

/* What looks odd and is true: stronger than the fill, two noses on one day, an even day. */
static void what_may_be_is_taken(void **state)
{
    (void)state;
    struct stv_book_case one;
    read_good(&one,
              "date,cask,litres,strength,gross,dip,nose,by\n"
              "2024-05-01,12,,68 %vol,,,over,AB\n"
              "2024-05-01,12,190 L,,210 kg,,not yet,CD\n"
              "2024-05-01,12,,,,50 cm,,\n"
              "2024-05-02,12,190 L,68 %vol,210 kg,,over,AB\n"
              "2024-05-01,18,190 L,60 %vol,,,over,AB\n",
              5);
    case_close(&one);
}

static void keep_going_leaves_the_row_out(void **state)
{
    (void)state;
    struct stv_book_case one;
    open_with(&one, "date,cask,litres\n2024-05-01,12,190 L\n2024-05-01,12,189 L\n"
                    "2024-05-01," NEVER_FILLED ",189 L\n2024-06-01,12,189 L\n");
    stv_assert_ok(case_read(&one, true));
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 2);
    assert_int_equal(one.book.n_gauges, 2);
    assert_int_equal(one.book.gauges[1].row, 5);
    case_close(&one);
    /* What hangs on a refused fill is no fault of its own. */
    open_with(&one, "date,cask,litres\n2024-05-01,12,190 L\n2024-05-01,18,190 L\n");
    case_write(&one, "history.csv",
               "date,what,cask,litres,strength\n2024-03-14,fill,12,195 L,60 kg\n"
               "2024-03-14,fill,18,195 L,60 %vol\n");
    stv_assert_ok(case_read(&one, true));
    assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 1);
    assert_int_equal(one.book.n_gauges, 1);
    assert_int_equal(one.book.gauges[0].row, 3);
    assert_non_null(strstr(one.problems.items[one.problems.n - 1].message, "1 more rows"));
    case_close(&one);
}

/* Slips that only the other gauges show, in what was worked out of a dip, a weight or a reading. */
static void slips_beside_other_gauges(void **state)
{
    (void)state;
    static const struct {
        const char *gauges, *found, *phrase;
        size_t row, column;
    } cases[] = {
        {"date,cask,net,strength\n2024-05-01,12,168 kg,60 %vol\n2024-06-01,12,175 kg,60 %vol\n",
         "175 kg", "L more than", 3, 15},
        {"date,cask,reading,temp\n2024-05-01,12,62.4 %vol,26 C\n2024-06-01,12,26.5 %vol,26 C\n"
         "2024-07-01,12,62.3 %vol,26 C\n",
         "26.5 %vol", "\"62.5 %vol\"", 3, 15},
        {"date,cask,dip\n2024-05-01,12,42 cm\n2024-06-01,12,52 cm\n", "42 cm", "L less than", 2,
         15},
        /* The shape of the cask leaves a dip too much room to be doubted. */
        {"date,cask,dip\n2024-05-01,12,49 cm\n2024-06-01,12,51 cm\n", NULL, "", 0, 0},
    };
    for (size_t i = 0; i < N_OF(cases); i++) {
        struct stv_book_case one;
        open_with(&one, cases[i].gauges);
        stv_assert_ok(case_read(&one, false));
        size_t n_wanted = cases[i].found ? 1 : 0;
        if (one.problems.n_by_severity[STV_SET_ASIDE] != n_wanted)
            case_print(&one);
        assert_int_equal(one.problems.n_by_severity[STV_SET_ASIDE], n_wanted);
        if (cases[i].found) {
            const struct stv_problem *last = &one.problems.items[one.problems.n - 1];
            assert_string_equal(last->found, cases[i].found);
            assert_non_null(strstr(last->message, cases[i].phrase));
            assert_int_equal(last->row, cases[i].row);
            assert_int_equal(last->column, cases[i].column);
        }
        case_close(&one);
    }
}

/* Every number in use is in the list, with where it comes from. */
static void assumed_numbers_are_listed(void **state)
{
    (void)state;
    size_t n;
    const struct stv_gauge_number_info *table = stv_gauge_number_table(&n);
    assert_int_equal(n * sizeof(double), sizeof(struct stv_gauge_numbers));
    for (size_t i = 0; i < n; i++)
        assert_true(strstr(table[i].source, "judgement") || strstr(table[i].source, "from memory"));
    stv_assert_close(table[0].default_nd, stv_gauge_numbers_default().litres_sd_l, 0.0, 0.0);
}

static void open_setting(struct stv_book_case *one, const char *gauges, const char *parameters)
{
    char yaml[1024];
    open_with(one, gauges);
    snprintf(yaml, sizeof yaml, "%sparameters: {%s}\n", good_yaml, parameters);
    case_write(one, "book.yaml", yaml);
}

/* What a book sets stands in place of what is assumed; a name or a value that cannot be is refused.
 */
static void a_book_sets_what_is_assumed(void **state)
{
    (void)state;
    static const char gauges[] = "date,cask,litres,strength,dip\n"
                                 "2025-04-20,12,180 L,,\n"
                                 "2025-04-20,18,,60 %vol,\n"
                                 "2025-04-21,12,,,40 cm\n";
    struct stv_book_case one;
    const struct stv_gauge *gauge = read_good(&one, gauges, 3);
    double dip_sd_l = gauge[2].volume_sd_l;
    assert_true(gauge[0].may_not_be_mixed);
    case_close(&one);
    open_setting(&one, gauges,
                 "gauge_litres_sd_l: 3, gauge_strength_sd_frac: 0.01, gauge_dip_sd_m: 0.03, "
                 "gauge_unmixed_d: 10");
    stv_assert_ok(case_read(&one, false));
    gauge = one.book.gauges;
    assert_true(gauge[0].volume_sd_l > 2.9);
    stv_assert_close(gauge[1].abv_sd_frac, 0.01, 0.01, 0.0);
    assert_true(gauge[2].volume_sd_l > 1.5 * dip_sd_l);
    assert_false(gauge[0].may_not_be_mixed);
    assert_non_null(strstr(one.book.overridden, "gauge_dip_sd_m"));
    case_close(&one);
    static const char *const wrong[] = {"litres_sd_l: 3", "gauge_litres_sd_l: -1",
                                        "gauge_soak_least_l: 7"};
    for (size_t i = 0; i < N_OF(wrong); i++) {
        open_setting(&one, gauges, wrong[i]);
        assert_int_not_equal(case_read(&one, false), STV_OK);
        assert_int_equal(one.problems.n_by_severity[STV_REFUSED], 1);
        case_close(&one);
    }
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(litres_and_strength),
        cmocka_unit_test(readings_become_true_strength),
        cmocka_unit_test(weights),
        cmocka_unit_test(dips),
        cmocka_unit_test(noses_and_colours),
        cmocka_unit_test(colour_that_is_not_woods_alone),
        cmocka_unit_test(not_mixed_for_three_weeks),
        cmocka_unit_test(the_edges_of_a_filling),
        cmocka_unit_test(decimal_commas_and_other_names),
        cmocka_unit_test(each_slip_is_refused_once),
        cmocka_unit_test(what_may_be_is_taken),
        cmocka_unit_test(keep_going_leaves_the_row_out),
        cmocka_unit_test(slips_beside_other_gauges),
        cmocka_unit_test(assumed_numbers_are_listed),
        cmocka_unit_test(a_book_sets_what_is_assumed),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
