/* Gauges worked out, against the worked examples of 27 CFR part 30, the tables of OIML R 22 and
 * laws.
 *
 * Values marked "regression" were computed with R 22 apart from this code; all others are printed
 * in the regulation.  [27CFR30] is second-hand. */
#include "tests/spirit_case.h"

#include "model/gauge.h"
#include "model/units.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
#define LB_KG 0.45359237 /* international pound of 1959, exact */
#define OUNCES_PER_LB 16.0

/* A US proof hydrometer, graduated at 60 F. */
static struct stv_gauge_input us_hydrometer(double us_proof_nd, double temp_f)
{
    return (struct stv_gauge_input){.reading = {.instrument = STV_HYDROMETER,
                                                .mass_frac = mass_frac_of_proof(us_proof_nd),
                                                .reference_c = STV_60F_C},
                                    .temp_c = stv_c_from_f(temp_f)};
}

/* A hydrometer for per cent by volume, graduated at 20 C. */
static struct stv_gauge_input abv_hydrometer(double abv20_frac, double temp_c)
{
    return (struct stv_gauge_input){.reading = {.instrument = STV_HYDROMETER,
                                                .mass_frac = mass_frac_of_abv(abv20_frac),
                                                .reference_c = 20.0},
                                    .temp_c = temp_c};
}

/* A strength already corrected; its reference temperature is not read. */
static struct stv_gauge_input corrected(double mass_frac, double temp_c)
{
    return (struct stv_gauge_input){
        .reading = {.instrument = STV_CORRECTED, .mass_frac = mass_frac, .reference_c = NAN},
        .temp_c = temp_c};
}

static struct stv_gauge_input density_meter(double rho_kg_m3, double reference_c, double temp_c)
{
    return (struct stv_gauge_input){.reading = {.instrument = STV_DENSITY_METER,
                                                .mass_frac = NAN,
                                                .rho_kg_m3 = rho_kg_m3,
                                                .reference_c = reference_c},
                                    .temp_c = temp_c};
}

static struct stv_gauge_input by_weight(struct stv_gauge_input input, double net_in_air_kg)
{
    input.by = STV_BY_WEIGHT;
    input.net_in_air_kg = net_in_air_kg;
    return input;
}

static struct stv_gauge_input by_volume(struct stv_gauge_input input, double volume_l,
                                        double vessel_per_k)
{
    input.by = STV_BY_VOLUME;
    input.volume_l = volume_l;
    input.vessel_per_k = vessel_per_k;
    return input;
}

static struct stv_gauged gauge(struct stv_gauge_input input)
{
    struct stv_gauged out;
    stv_assert_ok(stv_gauge_work(&input, &out));
    return out;
}

/* The day's job: 124.6 proof on a US hydrometer at 84 F, gross 476 lb, tare 118 lb (regression). */
static void a_cask_on_the_scale(void **state)
{
    (void)state;
    struct stv_gauged out = gauge(by_weight(us_hydrometer(124.6, 84.0), (476.0 - 118.0) * LB_KG));
    stv_assert_close(out.value[STV_GAUGE_US_PROOF_ND], 115.3, 0.0, 0.05);
    stv_assert_close(out.abv60f_frac, 0.576, 0.0, 5.01e-4);
    stv_assert_close(out.value[STV_GAUGE_ABV20_FRAC], 0.577, 0.0, 5.01e-4);
    stv_assert_close(out.value[STV_GAUGE_NET_IN_AIR_KG], 162.4, 0.0, 0.05);
    stv_assert_close(out.value[STV_GAUGE_WINE_GAL], 46.8, 0.0, 0.05);
    stv_assert_close(out.value[STV_GAUGE_PROOF_GAL], 53.9, 0.0, 0.05);
    stv_assert_close(out.value[STV_GAUGE_VOLUME20_L], 177.8, 0.0, 0.05);
    stv_assert_close(out.value[STV_GAUGE_LPA_L], 102.6, 0.0, 0.05);
    /* Uncorrected it would have been 62.3 % at 60 F. */
    stv_assert_close(out.shown_abv20_frac, 0.6235, 0.0, 1e-3);
    assert_false(out.is_extrapolated);
}

/* Regression: a hot or cold glass graduated at 20 C. */
static void a_hot_hydrometer(void **state)
{
    (void)state;
    static const double row[][4] = {
        {0.450, 35.0, 0.391, 5e-4},   {0.600, 35.0, 0.54633, 6e-6}, {0.600, 10.0, 0.63423, 6e-6},
        {0.400, 10.0, 0.43978, 6e-6}, {0.400, 15.0, 0.41996, 6e-6}, {0.400, 25.0, 0.37993, 6e-6},
        {0.400, 30.0, 0.35976, 6e-6}, {0.460, 25.0, 0.44068, 6e-6}, {0.600, 15.0, 0.61729, 6e-6},
        {0.600, 25.0, 0.58238, 6e-6}, {0.600, 30.0, 0.56448, 6e-6}, {0.635, 30.0, 0.60021, 6e-6}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_gauged out = gauge(abv_hydrometer(row[i][0], row[i][1]));
        stv_assert_close(out.value[STV_GAUGE_ABV20_FRAC], row[i][2], 0.0, row[i][3]);
        stv_assert_close(out.shown_abv20_frac, row[i][0], 0.0, 1e-12);
    }
}

/* Readings of 27 CFR 30.61 and of the regulator's page on interpolation (printed to 0.1), and the
 * same by R 22 and 25e-6 per K of glass (regression); NaN where none was worked out. */
static void us_hydrometer_readings(void **state)
{
    (void)state;
    static const double row[][4] = {{80.0, 68.0, 76.4, 76.41}, {81.0, 68.0, 77.4, 77.42},
                                    {80.0, 69.0, 76.0, 75.96}, {193.0, 75.0, 189.5, 189.46},
                                    {120.0, 90.0, 108.1, NAN}, {100.0, 100.0, 82.9, NAN}};
    for (size_t i = 0; i < COUNT(row); i++) {
        double proof = gauge(us_hydrometer(row[i][0], row[i][1])).value[STV_GAUGE_US_PROOF_ND];
        stv_assert_close(proof, row[i][2], 0.0, 0.06);
        if (!isnan(row[i][3]))
            stv_assert_close(proof, row[i][3], 0.0, 0.006);
    }
}

/* The regulator's worked example: hydrometer 80.35 with a correction of -0.03, thermometer 20.1 C
 * with one of +0.1; by interpolation in table 1, 76.576. */
static void us_interpolated_example(void **state)
{
    (void)state;
    struct stv_gauge_input input = us_hydrometer(80.35 - 0.03, 60.0);
    input.temp_c = 20.1 + 0.1;
    stv_assert_close(gauge(input).value[STV_GAUGE_US_PROOF_ND], 76.576, 0.0, 0.05);
}

/* 27 CFR 30.63 and 30.64: pounds, proof, wine and proof gallons, printed to 0.1 (0.01 for the
 * last).  R 22 and the US tables differ by 1e-4 at 190 proof. */
static void us_gallons_by_weight(void **state)
{
    (void)state;
    static const double row[][5] = {{60378.0, 190.0, NAN, 16884.1, 0.05},
                                    {321.5, 86.0, NAN, 35.1, 0.05},
                                    {81000.0, 190.0, 11921.6, 22650.8, 0.05},
                                    {1000.0, 200.0, NAN, 302.58, 0.005}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_gauged out = gauge(
            by_weight(corrected(mass_frac_of_proof(row[i][1]), STV_60F_C), row[i][0] * LB_KG));
        double rounding = row[i][4];
        if (!isnan(row[i][2]))
            stv_assert_close(out.value[STV_GAUGE_WINE_GAL], row[i][2], 0.0,
                             1e-4 * row[i][2] + rounding);
        stv_assert_close(out.value[STV_GAUGE_PROOF_GAL], row[i][3], 0.0,
                         1e-4 * row[i][3] + rounding);
    }
    /* 30.64: 1,000 lb of 200 proof are brought to 190 by 82.03 lb of water, weighed in air. */
    double pure_kg =
        stv_mass_from_net_kg(1000.0 * LB_KG, gauge(corrected(1.0, STV_60F_C)).rho_kg_m3);
    double water_kg = pure_kg / mass_frac_of_proof(190.0) - pure_kg;
    struct stv_gauged water = gauge(corrected(0.0, STV_60F_C));
    stv_assert_close(stv_net_from_mass_kg(water_kg, water.rho_kg_m3) / LB_KG, 82.03, 0.0, 0.25);
}

/* 27 CFR 30.51: 88 in of 48.96 gal/in at 72 F and 86.8 proof: factor 0.995 (three decimals),
 * 4,286.94 wine gallons and 3,721.1 proof gallons at 60 F.  30.25: a gravity of 1.1525 read at 68 F
 * is 1.1571 at 60 F by the factor of 115 proof, 0.996. */
static void us_gallons_by_volume(void **state)
{
    (void)state;
    double measured_gal = 88.0 * 48.96;
    struct stv_gauged tank =
        gauge(by_volume(corrected(mass_frac_of_proof(86.8), stv_c_from_f(72.0)),
                        measured_gal * STV_WINE_GALLON_L, 0.0));
    stv_assert_close(tank.value[STV_GAUGE_WINE_GAL] / measured_gal, 0.995, 0.0, 6e-4);
    stv_assert_close(tank.value[STV_GAUGE_WINE_GAL], 4286.94, 6e-4, 0.0);
    stv_assert_close(tank.value[STV_GAUGE_PROOF_GAL], 3721.1, 6e-4, 0.0);
    struct stv_gauged sample = gauge(by_volume(
        corrected(mass_frac_of_proof(115.0), stv_c_from_f(68.0)), STV_WINE_GALLON_L, 0.0));
    stv_assert_close(1.1525 / sample.value[STV_GAUGE_WINE_GAL], 1.1571, 6e-4, 0.0);
}

/* 27 CFR 30.44: pounds of a filled can at 60 F, raised to the ounce and printed to 0.01. */
static void us_cans_to_the_ounce(void **state)
{
    (void)state;
    static const double row[][3] = {{5.0, 190.0, 34.00}, {10.0, 190.0, 68.00},
                                    {5.0, 192.0, 33.81}, {10.0, 192.0, 67.63},
                                    {5.0, 200.0, 33.06}, {10.0, 200.0, 66.12}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_gauged out = gauge(by_volume(corrected(mass_frac_of_proof(row[i][1]), STV_60F_C),
                                                row[i][0] * STV_WINE_GALLON_L, 0.0));
        double net_lb = out.value[STV_GAUGE_NET_IN_AIR_KG] / LB_KG;
        stv_assert_close(ceil(net_lb * OUNCES_PER_LB) / OUNCES_PER_LB, row[i][2], 0.0, 0.0051);
    }
}

/* Litres of pure alcohol in 100 L of 60 % vol measured warm or cold, without the vessel's growth
 * and in steel true at 20 C (regression). */
static void litres_measured_warm(void **state)
{
    (void)state;
    static const double row[][3] = {{5.0, 60.776, 60.743},  {10.0, 60.521, 60.499},
                                    {15.0, 60.263, 60.252}, {25.0, 59.733, 59.744},
                                    {30.0, 59.463, 59.484}, {35.0, 59.189, 59.221},
                                    {40.0, 58.911, 58.954}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_gauge_input input = corrected(mass_frac_of_abv(0.60), row[i][0]);
        stv_assert_close(gauge(by_volume(input, 100.0, 0.0)).value[STV_GAUGE_LPA_L], row[i][1], 0.0,
                         6e-4);
        struct stv_gauged steel = gauge(by_volume(input, 100.0, STV_STEEL_PER_K));
        stv_assert_close(steel.value[STV_GAUGE_LPA_L], row[i][2], 0.0, 6e-4);
        stv_assert_close(steel.volume_l, 100.0 * (1.0 + 36e-6 * (row[i][0] - 20.0)), 1e-15, 0.0);
    }
}

static void vessels_grow(void **state)
{
    (void)state;
    stv_assert_close(stv_vessel_volume_l(412.5, STV_STEEL_PER_K, 20.0, 20.0), 412.5, 0.0, 0.0);
    stv_assert_close(stv_vessel_volume_l(412.5, 0.0, 20.0, 37.0), 412.5, 0.0, 0.0);
    stv_assert_close(stv_vessel_volume_l(1000.0, STV_STEEL_PER_K, 15.0, 40.0), 1000.9, 1e-15, 0.0);
    stv_assert_close(stv_vessel_volume_l(1000.0, STV_GLASS_PER_K, 20.0, 0.0), 999.5, 1e-15, 0.0);
    stv_assert_close(stv_vessel_volume_l(NAN, STV_GLASS_PER_K, 20.0, 0.0), NAN, 0.0, 0.0);
}

/* Densities printed in [R22] at their own temperatures; the spirit stood at another. */
static void density_meters_keep_their_own_temperature(void **state)
{
    (void)state;
    static const double row[][3] = {
        {956.42, 13.0, 0.31}, {848.57, -10.0, 0.88}, {848.4, 20.0, 0.7796}};
    for (size_t i = 0; i < COUNT(row); i++)
        for (double temp_c = 5.0; temp_c < 40.0; temp_c += 12.5) {
            struct stv_gauged out = gauge(density_meter(row[i][0], row[i][1], temp_c));
            stv_assert_close(out.mass_frac, row[i][2], 0.0, 5e-5);
            stv_assert_close(out.shown_abv20_frac, NAN, 0.0, 0.0);
            struct stv_spirit_at at;
            stv_assert_ok(stv_spirit_at(temp_c, &at));
            stv_assert_close(out.rho_kg_m3, stv_spirit_at_rho_kg_m3(&at, out.mass_frac), 0.0, 0.0);
        }
}

static void scales_agree_with_each_other(void **state)
{
    (void)state;
    for (double p = 0.0; p <= 1.0; p += 0.03125) {
        struct stv_gauged out = gauge(corrected(p, 23.5));
        stv_assert_close(out.mass_frac, p, 0.0, 0.0);
        stv_assert_close(out.value[STV_GAUGE_ABV20_FRAC], stv_abv20_from_mass_frac(p), 0.0, 0.0);
        stv_assert_close(200.0 * out.abv60f_frac, out.value[STV_GAUGE_US_PROOF_ND], 1e-15, 0.0);
        stv_assert_close(out.uk_proof_nd, 175.131 * out.value[STV_GAUGE_ABV20_FRAC], 1e-14, 0.0);
        /* Only the strength was read. */
        for (int i = STV_GAUGE_NET_IN_AIR_KG; i < STV_GAUGE_N; i++) {
            stv_assert_close(out.value[i], NAN, 0.0, 0.0);
            stv_assert_close(out.error[i], NAN, 0.0, 0.0);
        }
        stv_assert_close(out.volume_l, NAN, 0.0, 0.0);
    }
    /* At its own temperature a glass says the truth. */
    stv_assert_close(gauge(abv_hydrometer(0.4715, 20.0)).value[STV_GAUGE_ABV20_FRAC], 0.4715, 0.0,
                     1e-12);
}

static void weighing_in_air_returns(void **state)
{
    (void)state;
    for (double rho_kg_m3 = 770.0; rho_kg_m3 < 1001.0; rho_kg_m3 += 3.75) {
        double mass_kg = stv_mass_from_net_kg(162.385, rho_kg_m3);
        stv_assert_close(stv_net_from_mass_kg(mass_kg, rho_kg_m3), 162.385, 1e-14, 0.0);
        assert_true(mass_kg > 162.385); /* air carries more of the spirit than of the weights */
    }
    /* Air lifts nothing off weights of their own kind. */
    stv_assert_close(stv_mass_from_net_kg(17.5, STV_GAUGE_WEIGHTS_KG_M3), 17.5, 1e-15, 0.0);
    /* [R22] table XII's convention, worked by hand at 900 kg/m3: 1 + 1.2/900 - 1.2/8000. */
    stv_assert_close(stv_mass_from_net_kg(1.0, 900.0), 1.0 + 1.2 / 900.0 - 1.2 / 8000.0, 3e-6, 0.0);
}

static void weight_and_volume_agree(void **state)
{
    (void)state;
    for (double temp_c = -5.0; temp_c <= 45.0; temp_c += 12.5)
        for (double p = 0.35; p < 0.96; p += 0.1) {
            struct stv_gauge_input input = corrected(p, temp_c);
            struct stv_gauged volume = gauge(by_volume(input, 187.25, STV_STEEL_PER_K));
            struct stv_gauged weight =
                gauge(by_weight(input, volume.value[STV_GAUGE_NET_IN_AIR_KG]));
            for (int i = 0; i < STV_GAUGE_N; i++)
                stv_assert_close(weight.value[i], volume.value[i], 1e-14, 0.0);
            stv_assert_close(weight.volume_l, volume.volume_l, 1e-14, 0.0);
        }
}

static void obscuration_adds(void **state)
{
    (void)state;
    struct stv_gauge_input input = by_weight(abv_hydrometer(0.585, 27.5), 171.6);
    struct stv_gauged plain = gauge(input);
    input.obscuration_abv20_frac = 0.0085;
    struct stv_gauged raised = gauge(input);
    stv_assert_close(raised.value[STV_GAUGE_ABV20_FRAC], plain.value[STV_GAUGE_ABV20_FRAC] + 0.0085,
                     0.0, 1e-12);
    stv_assert_close(raised.value[STV_GAUGE_NET_IN_AIR_KG], 171.6, 1e-15, 0.0);
    assert_true(raised.value[STV_GAUGE_LPA_L] > plain.value[STV_GAUGE_LPA_L]);
    stv_assert_close(raised.shown_abv20_frac, plain.shown_abv20_frac, 0.0, 0.0);
}

/* The kinds of gauge whose errors are looked at, without any error yet. */
static size_t examples(struct stv_gauge_input out[5])
{
    out[0] = by_weight(us_hydrometer(124.6, 84.0), 162.4);
    out[1] = by_volume(abv_hydrometer(0.46, 8.5), 93.25, STV_STEEL_PER_K);
    out[2] = by_weight(density_meter(894.5, 15.0, 31.0), 88.75);
    out[3] = by_volume(corrected(0.6315, 44.0), 212.5, 0.0);
    out[4] = abv_hydrometer(0.605, -12.0);
    out[0].obscuration_abv20_frac = 0.004;
    return 5;
}

/* The four inputs that have an error. */
enum moved { READING, TEMPERATURE, NET, VOLUME, N_MOVED };

static void give_error(struct stv_gauge_input *input, enum moved which)
{
    if (which == READING && input->reading.instrument == STV_DENSITY_METER)
        input->reading.rho_error_kg_m3 = 0.35;
    else if (which == READING)
        input->reading.error_mass_frac = 0.0035;
    else if (which == TEMPERATURE)
        input->temp_error_k = 0.45;
    else if (which == NET)
        input->net_error_kg = 0.55;
    else
        input->volume_error_l = 0.85;
}

/* Moves an input by the error that it has. */
static struct stv_gauge_input moved(struct stv_gauge_input input)
{
    input.reading.mass_frac += input.reading.error_mass_frac;
    input.reading.rho_kg_m3 += input.reading.rho_error_kg_m3;
    input.temp_c += input.temp_error_k;
    input.net_in_air_kg += input.net_error_kg;
    input.volume_l += input.volume_error_l;
    return input;
}

static void errors_are_what_a_moved_input_does(void **state)
{
    (void)state;
    struct stv_gauge_input plain[5];
    for (size_t k = 0; k < examples(plain); k++)
        for (enum moved which = READING; which < N_MOVED; which++) {
            struct stv_gauge_input input = plain[k];
            give_error(&input, which);
            struct stv_gauged here = gauge(input), there = gauge(moved(input));
            for (int i = 0; i < STV_GAUGE_N; i++)
                stv_assert_close(here.error[i], fabs(there.value[i] - here.value[i]), 1e-10,
                                 1e-12 * fabs(here.value[i]));
            stv_assert_close(here.strength_error_of_reading_frac,
                             which == READING ? here.error[STV_GAUGE_ABV20_FRAC] : 0.0, 1e-12, 0.0);
            stv_assert_close(here.strength_error_of_temp_frac,
                             which == TEMPERATURE ? here.error[STV_GAUGE_ABV20_FRAC] : 0.0, 1e-12,
                             0.0);
        }
}

static void errors_add_as_squares(void **state)
{
    (void)state;
    struct stv_gauge_input plain[5];
    for (size_t k = 0; k < examples(plain); k++) {
        struct stv_gauge_input all = plain[k];
        double squares[STV_GAUGE_N] = {0.0};
        for (enum moved which = READING; which < N_MOVED; which++) {
            struct stv_gauge_input one = plain[k];
            give_error(&one, which);
            give_error(&all, which);
            struct stv_gauged out = gauge(one);
            for (int i = 0; i < STV_GAUGE_N; i++)
                squares[i] += out.error[i] * out.error[i];
        }
        struct stv_gauged out = gauge(all);
        for (int i = 0; i < STV_GAUGE_N; i++)
            stv_assert_close(out.error[i], sqrt(squares[i]), 1e-12, 0.0);
        double reading = out.strength_error_of_reading_frac;
        double temp = out.strength_error_of_temp_frac;
        stv_assert_close(sqrt(reading * reading + temp * temp), out.error[STV_GAUGE_ABV20_FRAC],
                         1e-12, 0.0);
    }
}

static void no_errors_give_none(void **state)
{
    (void)state;
    struct stv_gauge_input plain[5];
    for (size_t k = 0; k < examples(plain); k++) {
        struct stv_gauged out = gauge(plain[k]);
        for (int i = 0; i < STV_GAUGE_N; i++)
            if (!isnan(out.value[i]))
                stv_assert_close(out.error[i], 0.0, 0.0, 0.0);
        stv_assert_close(out.strength_error_of_reading_frac, 0.0, 0.0, 0.0);
        stv_assert_close(out.strength_error_of_temp_frac, 0.0, 0.0, 0.0);
    }
}

/* A change that would leave the range is taken the other way. */
static void errors_at_the_end_of_the_temperatures(void **state)
{
    (void)state;
    static const double end_c[] = {50.0, -20.0};
    for (size_t i = 0; i < COUNT(end_c); i++) {
        struct stv_gauge_input input = corrected(0.52, end_c[i]);
        input = by_volume(input, 187.0, 0.0);
        input.temp_error_k = 0.75;
        struct stv_gauged here = gauge(input);
        input.temp_c += i == 0 ? -0.75 : 0.75;
        struct stv_gauged there = gauge(input);
        stv_assert_close(here.error[STV_GAUGE_LPA_L],
                         fabs(there.value[STV_GAUGE_LPA_L] - here.value[STV_GAUGE_LPA_L]), 1e-10,
                         0.0);
        assert_true(here.error[STV_GAUGE_LPA_L] > 0.0);
    }
}

/* Near pure ethanol a scale has room on one side only, and a reading is no surer for that. */
static void errors_at_the_end_of_the_scale(void **state)
{
    (void)state;
    static const double shown[] = {1.0, 0.9975};
    for (size_t i = 0; i < COUNT(shown); i++) {
        struct stv_gauge_input input = corrected(shown[i], 20.0);
        input.reading.error_mass_frac = 0.01;
        struct stv_gauged here = gauge(input);
        input.reading.mass_frac -= 0.01;
        double change = here.value[STV_GAUGE_ABV20_FRAC] - gauge(input).value[STV_GAUGE_ABV20_FRAC];
        stv_assert_close(here.error[STV_GAUGE_ABV20_FRAC], change, 0.1, 0.0);
    }
}

static void beyond_40_c_is_flagged(void **state)
{
    (void)state;
    assert_false(gauge(abv_hydrometer(0.60, 40.0)).is_extrapolated);
    assert_true(gauge(abv_hydrometer(0.60, 40.01)).is_extrapolated);
    assert_true(gauge(abv_hydrometer(0.60, 50.0)).is_extrapolated);
    assert_true(gauge(by_weight(corrected(0.52, 47.5), 100.0)).is_extrapolated);
}

/* Readings that no spirit can give, at 20 C unless said. */
static const struct stv_strength_reading impossible[] = {
    {STV_HYDROMETER, -1e-9, 0.0, 0.0, 0.0, 20.0},
    {STV_HYDROMETER, 1.0 + 1e-9, 0.0, 0.0, 0.0, 20.0},
    {STV_HYDROMETER, NAN, 0.0, 0.0, 0.0, 20.0},
    {STV_HYDROMETER, 0.5, 0.0, 0.0, 0.0, -20.1},
    {STV_HYDROMETER, 0.5, 0.0, 0.0, 0.0, 50.1},
    {STV_HYDROMETER, 0.5, 0.0, 0.0, 0.0, NAN},
    {STV_HYDROMETER, 0.0, 0.0, 0.0, 0.0, 15.0},  /* heavier than water at 20 C */
    {STV_HYDROMETER, 1.0, 0.0, 0.0, 0.0, 25.0},  /* lighter than ethanol at 20 C */
    {STV_HYDROMETER, 0.1, 0.0, 0.0, 0.0, -12.0}, /* ice at its own reference */
    {STV_DENSITY_METER, 0.0, 0.0, 1000.5, 0.0, 20.0},
    {STV_DENSITY_METER, 0.0, 0.0, 788.0, 0.0, 20.0},
    {STV_DENSITY_METER, 0.0, 0.0, NAN, 0.0, 20.0},
    {STV_DENSITY_METER, 0.0, 0.0, 900.0, 0.0, -20.1},
    {STV_DENSITY_METER, 0.0, 0.0, 900.0, 0.0, 50.1},
    {STV_DENSITY_METER, 0.0, 0.0, 900.0, 0.0, NAN},
    {STV_DENSITY_METER, 0.0, 0.0, 985.0, 0.0, -12.0}, /* ice */
    {STV_CORRECTED, -1e-9, 0.0, 0.0, 0.0, 20.0},
    {STV_CORRECTED, 1.0 + 1e-9, 0.0, 0.0, 0.0, 20.0},
    {STV_CORRECTED, NAN, 0.0, 0.0, 0.0, 20.0},
};

static void readings_refuse_outside(void **state)
{
    (void)state;
    static const double bad_c[] = {-20.1, 50.1, NAN};
    double p;
    for (size_t i = 0; i < COUNT(impossible); i++) {
        p = 1.0;
        stv_assert_status(stv_true_mass_frac(&impossible[i], 20.0, &p), STV_E_DOMAIN);
        stv_assert_close(p, NAN, 0.0, 0.0);
    }
    for (size_t i = 0; i < COUNT(bad_c); i++) {
        struct stv_gauge_input glass = abv_hydrometer(0.46, 20.0), said = corrected(0.4, 20.0);
        p = 1.0;
        stv_assert_status(stv_true_mass_frac(&glass.reading, bad_c[i], &p), STV_E_DOMAIN);
        stv_assert_close(p, NAN, 0.0, 0.0);
        stv_assert_status(stv_true_mass_frac(&said.reading, bad_c[i], &p), STV_E_DOMAIN);
    }
    struct stv_gauge_input weak = corrected(0.1, -12.0), good = abv_hydrometer(0.46, 20.0);
    stv_assert_status(stv_true_mass_frac(&weak.reading, -12.0, &p), STV_E_DOMAIN); /* ice */
    stv_assert_status(stv_true_mass_frac(NULL, 20.0, &p), STV_E_ARG);
    stv_assert_status(stv_true_mass_frac(&good.reading, 20.0, NULL), STV_E_ARG);
}

/* Every member, so that none keeps an old answer. */
static void check_refused(const struct stv_gauge_input *input)
{
    struct stv_gauged out = {.mass_frac = 1.0,
                             .abv60f_frac = 1.0,
                             .uk_proof_nd = 1.0,
                             .shown_abv20_frac = 1.0,
                             .strength_error_of_reading_frac = 1.0,
                             .strength_error_of_temp_frac = 1.0,
                             .rho_kg_m3 = 1.0,
                             .volume_l = 1.0};
    stv_assert_status(stv_gauge_work(input, &out), STV_E_DOMAIN);
    for (int i = 0; i < STV_GAUGE_N; i++) {
        stv_assert_close(out.value[i], NAN, 0.0, 0.0);
        stv_assert_close(out.error[i], NAN, 0.0, 0.0);
    }
    stv_assert_close(out.mass_frac, NAN, 0.0, 0.0);
    stv_assert_close(out.abv60f_frac, NAN, 0.0, 0.0);
    stv_assert_close(out.uk_proof_nd, NAN, 0.0, 0.0);
    stv_assert_close(out.shown_abv20_frac, NAN, 0.0, 0.0);
    stv_assert_close(out.strength_error_of_reading_frac, NAN, 0.0, 0.0);
    stv_assert_close(out.strength_error_of_temp_frac, NAN, 0.0, 0.0);
    stv_assert_close(out.rho_kg_m3, NAN, 0.0, 0.0);
    stv_assert_close(out.volume_l, NAN, 0.0, 0.0);
}

static void gauges_refuse_outside(void **state)
{
    (void)state;
    static const double bad_c[] = {-20.1, 50.1, NAN}, bad_amount[] = {0.0, -17.5, NAN, INFINITY};
    static const double bad_obscuration[] = {-1e-9, NAN, 0.42};
    struct stv_gauge_input good = abv_hydrometer(0.60, 25.0);
    for (size_t i = 0; i < COUNT(impossible); i++) {
        struct stv_gauge_input input = {.reading = impossible[i], .temp_c = 20.0};
        check_refused(&input);
    }
    for (size_t i = 0; i < COUNT(bad_c); i++) {
        struct stv_gauge_input glass = good, meter = density_meter(900.0, 20.0, bad_c[i]);
        glass.temp_c = bad_c[i];
        check_refused(&glass);
        check_refused(&meter);
    }
    for (size_t i = 0; i < COUNT(bad_amount); i++) {
        struct stv_gauge_input weight = by_weight(good, bad_amount[i]);
        struct stv_gauge_input volume = by_volume(good, bad_amount[i], 0.0);
        check_refused(&weight);
        check_refused(&volume);
    }
    for (size_t i = 0; i < COUNT(bad_obscuration); i++) {
        struct stv_gauge_input input = good;
        input.obscuration_abv20_frac = bad_obscuration[i];
        check_refused(&input);
    }
    struct stv_gauged out;
    stv_assert_status(stv_gauge_work(NULL, &out), STV_E_ARG);
    stv_assert_status(stv_gauge_work(&good, NULL), STV_E_ARG);
}

/* Ten per cent by mass freezes at -4.5 C: a meter that read it warm cannot make it flow. */
static void frozen_spirit_is_refused(void **state)
{
    (void)state;
    struct stv_gauge_input input = by_volume(density_meter(981.85, 20.0, -10.0), 187.0, 0.0);
    check_refused(&input);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(a_cask_on_the_scale),
        cmocka_unit_test(a_hot_hydrometer),
        cmocka_unit_test(us_hydrometer_readings),
        cmocka_unit_test(us_interpolated_example),
        cmocka_unit_test(us_gallons_by_weight),
        cmocka_unit_test(us_gallons_by_volume),
        cmocka_unit_test(us_cans_to_the_ounce),
        cmocka_unit_test(litres_measured_warm),
        cmocka_unit_test(vessels_grow),
        cmocka_unit_test(density_meters_keep_their_own_temperature),
        cmocka_unit_test(scales_agree_with_each_other),
        cmocka_unit_test(weighing_in_air_returns),
        cmocka_unit_test(weight_and_volume_agree),
        cmocka_unit_test(obscuration_adds),
        cmocka_unit_test(errors_are_what_a_moved_input_does),
        cmocka_unit_test(errors_add_as_squares),
        cmocka_unit_test(no_errors_give_none),
        cmocka_unit_test(errors_at_the_end_of_the_temperatures),
        cmocka_unit_test(errors_at_the_end_of_the_scale),
        cmocka_unit_test(beyond_40_c_is_flagged),
        cmocka_unit_test(readings_refuse_outside),
        cmocka_unit_test(gauges_refuse_outside),
        cmocka_unit_test(frozen_spirit_is_refused),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
