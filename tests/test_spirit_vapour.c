/* Pressures over pure ethanol and over spirit, diffusion into air and the air space of a cask,
 * against measurements and laws.
 *
 * Values marked "regression" were computed with the same equations once and only guard against
 * change; all others come from outside. */
#include "tests/check.h"

#include "model/air.h"
#include "model/spirit.h"
#include "model/spirit_vapour.h"
#include "model/units.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])
#define BAR_PA 1e5
#define MMHG_PA 133.322

/* The part of the scale of which the header speaks: 26 to 98 % vol. */
#define MIDDLE_MOST_RMS_FRAC 0.0042
#define MIDDLE_FROM 0.10
#define MIDDLE_TO 0.95

/* R. C. Pemberton and C. J. Mash, J. Chem. Thermodyn. 10 (1978) 867, 303.15 K: ethanol mole
 * fraction in liquid and vapour, total pressure in kPa.  Second-hand (a public listing). */
static const double pemberton[][3] = {
    {0.00435, 0.0412, 4.413},  {0.01524, 0.1280, 4.803},  {0.02727, 0.2043, 5.203},
    {0.04633, 0.2975, 5.781},  {0.06783, 0.3753, 6.386},  {0.10991, 0.4743, 7.329},
    {0.17111, 0.5479, 8.189},  {0.24688, 0.5907, 8.723},  {0.32385, 0.6194, 9.085},
    {0.38655, 0.6406, 9.303},  {0.41758, 0.6508, 9.403},  {0.50492, 0.6797, 9.663},
    {0.58087, 0.7087, 9.869},  {0.63434, 0.7329, 9.999},  {0.72455, 0.7810, 10.199},
    {0.80840, 0.8337, 10.341}, {0.85785, 0.8705, 10.394}, {0.89064, 0.8979, 10.427},
    {0.89934, 0.9056, 10.435}, {0.92444, 0.9284, 10.445}, {0.95370, 0.9556, 10.457},
    {0.97315, 0.9739, 10.467}, {0.98153, 0.9819, 10.473}};

/* Ethanol mole fraction in the liquid and total pressure in kPa, two sets each at 50 and 90 C,
 * listed by I. Wichterle et al., Springer 2007; second-hand (a public transcription).  Points from
 * 0.02 on; none of them is in the fit. */
static const double first_50c[][2] = {
    {1.0, 29.467},    {0.9469, 29.515}, {0.895, 29.483},  {0.8412, 29.402}, {0.7297, 29.002},
    {0.6528, 28.6},   {0.5917, 28.187}, {0.568, 27.979},  {0.561, 28.018},  {0.4609, 27.144},
    {0.4526, 27.172}, {0.396, 26.604},  {0.357, 26.263},  {0.3482, 26.169}, {0.3442, 26.19},
    {0.243, 24.93},   {0.2297, 24.779}, {0.1518, 23.171}, {0.1398, 22.822}, {0.0878, 20.594},
    {0.082, 20.276},  {0.0536, 18.228}, {0.028, 15.899},  {0.0253, 15.633}};
static const double second_50c[][2] = {
    {1.0, 29.515},    {0.9434, 29.576}, {0.8862, 29.567}, {0.8837, 29.474}, {0.7753, 29.299},
    {0.7253, 29.072}, {0.6756, 28.824}, {0.6269, 28.541}, {0.5769, 28.213}, {0.5236, 27.828},
    {0.4987, 27.646}, {0.4765, 27.458}, {0.4487, 27.216}, {0.3991, 26.759}, {0.348, 26.257},
    {0.2999, 25.728}, {0.2491, 25.073}, {0.1995, 24.242}, {0.1505, 23.081}, {0.1008, 21.142},
    {0.0743, 19.614}, {0.049, 17.64},   {0.022, 15.087}};
static const double first_90c[][2] = {
    {1.0, 157.892},     {0.98153, 158.227}, {0.97315, 158.354}, {0.9537, 158.6},
    {0.92445, 158.868}, {0.89935, 158.963}, {0.85783, 158.914}, {0.80833, 158.489},
    {0.76364, 157.811}, {0.72433, 157.003}, {0.63399, 154.47},  {0.58044, 152.616},
    {0.50445, 149.595}, {0.41705, 145.622}, {0.388, 144.188},   {0.32356, 140.677},
    {0.24642, 135.64},  {0.17057, 128.811}, {0.10939, 119.548}, {0.06731, 108.298},
    {0.04594, 99.667},  {0.02693, 89.62}};
static const double second_90c[][2] = {
    {1.0, 158.49},     {0.99755, 158.54}, {0.95921, 159.16}, {0.91231, 159.48}, {0.86455, 159.56},
    {0.81658, 159.16}, {0.76903, 158.49}, {0.72155, 157.52}, {0.67564, 156.31}, {0.62981, 154.89},
    {0.58487, 153.33}, {0.53597, 151.47}, {0.48771, 149.44}, {0.43922, 147.21}, {0.3917, 144.9},
    {0.34348, 142.32}, {0.32859, 141.53}, {0.29404, 139.51}, {0.27556, 138.14}, {0.24604, 136.2},
    {0.22053, 134.07}, {0.17001, 129.3},  {0.11396, 121.21}, {0.05444, 104.13}};

/* One set, with the authors' own pressures of the pure liquids. */
struct pressures {
    const char *name;
    double temp_c;
    const double (*row)[2];
    size_t n;
    double ethanol_kpa, water_kpa;
    double most_rms_frac;
};

/* The dilute points of the first set at 50 C lie 1 per cent above the second set's, which is their
 * own scatter: it is allowed 0.7 per cent and the others 0.6. */
static const struct pressures sets[] = {
    {"50 C, first", 50.0, first_50c, COUNT(first_50c), 29.467, 12.347, 0.007},
    {"50 C, second", 50.0, second_50c, COUNT(second_50c), 29.515, 12.375, 0.006},
    {"90 C, first", 90.0, first_90c, COUNT(first_90c), 157.892, 70.124, 0.006},
    {"90 C, second", 90.0, second_90c, COUNT(second_90c), 158.49, 70.34, 0.006},
};

static struct stv_spirit_vapour vapour(double x, double temp_c)
{
    struct stv_spirit_vapour at;
    stv_assert_ok(stv_spirit_vapour(x, temp_c, &at));
    return at;
}

static double total_pa(double x, double temp_c)
{
    struct stv_spirit_vapour at = vapour(x, temp_c);
    return at.ethanol_pa + at.water_pa;
}

static double mole_frac_of_abv(double abv20_frac)
{
    double p;
    stv_assert_ok(stv_mass_frac_from_abv20(abv20_frac, &p));
    return stv_mole_frac_from_mass_frac(p);
}

/* Root of the mean square of (ours / theirs - 1) over the points in a range. */
static double rms_frac(const struct pressures *set, double from, double to)
{
    double sum = 0.0, n = 0.0;
    for (size_t i = 0; i < set->n; i++) {
        double x = set->row[i][0];
        if (x < from || x > to)
            continue;
        double off = total_pa(x, set->temp_c) / (1000.0 * set->row[i][1]) - 1.0;
        sum += off * off;
        n += 1.0;
    }
    assert_true(n >= 15.0);
    return sqrt(sum / n);
}

/* Antoine, log10(P/bar) = A - B/(T + C).  Kretschmer and Wiebe, J. Am. Chem. Soc. 71 (1949) 1793,
 * constants second-hand; Ambrose and Sprake, J. Chem. Thermodyn. 2 (1970) 631, from memory. */
static double kretschmer_wiebe_pa(double temp_c)
{
    return BAR_PA * pow(10.0, 5.37229 - 1670.409 / (temp_c + 273.15 - 40.191));
}

static double ambrose_sprake_pa(double temp_c)
{
    return BAR_PA * pow(10.0, 5.24677 - 1598.673 / (temp_c + 273.15 - 46.424));
}

static void ethanol_follows_its_two_equations(void **state)
{
    (void)state;
    for (int i = 0; i <= 950; i++) {
        double temp_c = -30.0 + 0.1 * i;
        stv_assert_close(stv_ethanol_psat_pa(temp_c), kretschmer_wiebe_pa(temp_c), 1e-13, 0.0);
    }
    for (int i = 0; i <= 180; i++) {
        double temp_c = 75.0 + 0.1 * i;
        stv_assert_close(stv_ethanol_psat_pa(temp_c), ambrose_sprake_pa(temp_c), 1e-13, 0.0);
    }
    for (double temp_c = 65.5; temp_c < 75.0; temp_c += 0.5) {
        double a = kretschmer_wiebe_pa(temp_c), b = ambrose_sprake_pa(temp_c);
        assert_true(stv_ethanol_psat_pa(temp_c) >= fmin(a, b) * (1.0 - 1e-13));
        assert_true(stv_ethanol_psat_pa(temp_c) <= fmax(a, b) * (1.0 + 1e-13));
    }
}

static double slope_per_k(double from_c, double to_c)
{
    return log(stv_ethanol_psat_pa(to_c) / stv_ethanol_psat_pa(from_c)) / (to_c - from_c);
}

/* A straight blend would bend by 1.4e-4 per K at each end of the join, a plain switch would step
 * by 1.4e-3. */
static void ethanol_joins_without_step_or_kink(void **state)
{
    (void)state;
    static const double join_c[] = {65.0, 75.0};
    double step_k = 1e-3;
    for (size_t i = 0; i < COUNT(join_c); i++) {
        double below = stv_ethanol_psat_pa(join_c[i] - 1e-9);
        double above = stv_ethanol_psat_pa(join_c[i] + 1e-9);
        stv_assert_close(above, below, 1e-9, 0.0);
        double slope_below = slope_per_k(join_c[i] - step_k, join_c[i]);
        double slope_above = slope_per_k(join_c[i], join_c[i] + step_k);
        stv_assert_close(slope_above, slope_below, 0.0, 2e-6);
    }
}

static void ethanol_pressure_rises_with_warmth(void **state)
{
    (void)state;
    for (int i = 1; i <= 12300; i++)
        assert_true(stv_ethanol_psat_pa(-30.0 + 0.01 * i) >
                    stv_ethanol_psat_pa(-30.0 + 0.01 * (i - 1)));
    stv_assert_close(stv_ethanol_psat_pa(-30.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(93.1), NAN, 0.0, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(NAN), NAN, 0.0, 0.0);
}

/* 10.472 kPa: Pemberton and Mash 1978; 29.467 and 29.515 kPa: two sets at 50 C listed by
 * Wichterle; 101.325 kPa at 78.3 C: normal boiling point; 157.892 and 158.49 kPa: two sets at
 * 90 C; 5.866 kPa at 20 C (44 mmHg): NIOSH Pocket Guide; 7.87 kPa at 25 C: CRC Handbook, 87th ed.,
 * second-hand. */
static void ethanol_pressure_as_measured(void **state)
{
    (void)state;
    stv_assert_close(stv_ethanol_psat_pa(20.0), 5866.0, 0.008, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(25.0), 7870.0, 0.003, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(30.0), 10472.0, 5e-4, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(50.0), 29491.0, 3e-3, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(78.3), 101325.0, 5e-4, 0.0);
    stv_assert_close(stv_ethanol_psat_pa(90.0), 158190.0, 2e-3, 0.0);
}

static void pressures_at_30_c(void **state)
{
    (void)state;
    double sum_pressure = 0.0, sum_share = 0.0, n = (double)COUNT(pemberton);
    for (size_t i = 0; i < COUNT(pemberton); i++) {
        double total = total_pa(pemberton[i][0], 30.0);
        double pressure_off = total / (1000.0 * pemberton[i][2]) - 1.0;
        double share_off = vapour(pemberton[i][0], 30.0).ethanol_pa / total - pemberton[i][1];
        sum_pressure += pressure_off * pressure_off;
        sum_share += share_off * share_off;
    }
    assert_true(sqrt(sum_pressure / n) <= 0.003);
    assert_true(sqrt(sum_share / n) <= 0.003);
}

/* Yang, Demirgian, Solsky, Kikta and Marinsky, J. Phys. Chem. 83 (1979), 25 C: mass fraction,
 * total pressure in mmHg.  Not in the fit.  Their ethanol pressures lie 3 to 4 per cent above
 * every model of the 30 C data, so only totals are compared. */
static void pressures_at_25_c(void **state)
{
    (void)state;
    static const double row[][2] = {{0.1, 31.03}, {0.2, 38.15}, {0.3, 43.48},
                                    {0.4, 47.54}, {0.5, 49.95}, {0.6, 51.72},
                                    {0.7, 53.42}, {0.8, 55.80}, {0.9, 57.80}};
    double sum = 0.0;
    for (size_t i = 0; i < COUNT(row); i++) {
        double x = stv_mole_frac_from_mass_frac(row[i][0]);
        double off = total_pa(x, 25.0) / MMHG_PA / row[i][1] - 1.0;
        assert_true(fabs(off) <= 0.01);
        sum += off * off;
    }
    assert_true(sqrt(sum / (double)COUNT(row)) <= 0.007);
}

/* Ethanol mole fraction, partial pressures of ethanol and water in mmHg at 25 C, over pure water
 * 23.78 and pure ethanol 59.20.  Printed as an exercise of physical chemistry (two public copies,
 * second-hand, which differ in one last digit); the measurement behind it is, from memory, H. J. E.
 * Dobson, J. Chem. Soc. 127 (1925) 2866, as smoothed by E. A. Guggenheim and N. K. Adam, Proc. R.
 * Soc. A 139 (1933) 218.  Not in the fit. */
static void activities_at_25_c(void **state)
{
    (void)state;
    static const double row[][3] = {
        {0.02, 4.28, 23.31},  {0.05, 9.96, 22.67},  {0.08, 14.84, 22.07}, {0.10, 17.65, 21.70},
        {0.20, 27.02, 20.25}, {0.30, 31.23, 19.34}, {0.40, 33.93, 18.50}, {0.50, 36.86, 17.29},
        {0.60, 40.23, 15.53}, {0.70, 43.94, 13.16}, {0.80, 48.24, 9.89},  {0.90, 53.45, 5.38},
        {0.93, 55.14, 3.83},  {0.96, 56.87, 2.23},  {0.98, 58.02, 1.13}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_spirit_activity at;
        stv_assert_ok(stv_spirit_activity(row[i][0], 25.0, &at));
        stv_assert_close(at.water_nd, row[i][2] / 23.78, 0.0, 0.015);
        stv_assert_close(at.ethanol_nd, row[i][1] / 59.20, 0.0, 0.015);
        stv_assert_close(total_pa(row[i][0], 25.0) / MMHG_PA, row[i][1] + row[i][2], 0.01, 0.0);
    }
}

static void pressures_at_50_and_90_c(void **state)
{
    (void)state;
    for (size_t k = 0; k < COUNT(sets); k++) {
        double rms = rms_frac(&sets[k], 0.0, 1.0);
        if (rms > sets[k].most_rms_frac)
            print_error("%s: rms %.3f %%\n", sets[k].name, 100.0 * rms);
        assert_true(rms <= sets[k].most_rms_frac);
    }
}

/* Of the four sets the second at 50 C is the worst, 0.406 %: its own pure ethanol lies 0.26 % above
 * Kretschmer and Wiebe. */
static void pressures_in_the_middle_of_the_scale(void **state)
{
    (void)state;
    int n_beyond = 0;
    for (size_t k = 0; k < COUNT(sets); k++) {
        double rms = rms_frac(&sets[k], MIDDLE_FROM, MIDDLE_TO);
        if (rms > MIDDLE_MOST_RMS_FRAC)
            print_error("%s, middle: rms %.3f %%\n", sets[k].name, 100.0 * rms);
        n_beyond += rms > MIDDLE_MOST_RMS_FRAC;
    }
    assert_int_equal(n_beyond, 0);
}

/* With the authors' own pressures of the pure liquids only the mixture is judged. */
static void mixtures_without_their_pure_liquids(void **state)
{
    (void)state;
    for (size_t k = 0; k < COUNT(sets); k++) {
        double sum = 0.0, n = 0.0;
        for (size_t i = 0; i < sets[k].n; i++) {
            double x = sets[k].row[i][0];
            if (x < MIDDLE_FROM || x > MIDDLE_TO)
                continue;
            struct stv_spirit_activity at;
            stv_assert_ok(stv_spirit_activity(x, sets[k].temp_c, &at));
            double ours_kpa = at.ethanol_nd * sets[k].ethanol_kpa + at.water_nd * sets[k].water_kpa;
            double off = ours_kpa / sets[k].row[i][1] - 1.0;
            sum += off * off;
            n += 1.0;
        }
        if (sqrt(sum / n) > 0.003)
            print_error("%s, own pure liquids: rms %.3f %%\n", sets[k].name, 100.0 * sqrt(sum / n));
        assert_true(sqrt(sum / n) <= 0.003);
    }
}

/* What the header says of the two ends of the scale: the worst of the points above, and the two
 * most dilute ones of the first set at 90 C. */
static void poor_ends_are_no_poorer_than_said(void **state)
{
    (void)state;
    static const double dilute_90c[][2] = {{0.01507, 81.909}, {0.00429, 73.726}};
    for (size_t k = 0; k < COUNT(sets); k++)
        for (size_t i = 0; i < sets[k].n; i++) {
            double x = sets[k].row[i][0];
            double off = total_pa(x, sets[k].temp_c) / (1000.0 * sets[k].row[i][1]) - 1.0;
            if (x < MIDDLE_FROM)
                assert_true(off >= -0.017 && off <= 0.014);
            if (x > MIDDLE_TO)
                assert_true(fabs(off) <= 0.005);
        }
    for (size_t i = 0; i < COUNT(dilute_90c); i++)
        stv_assert_close(total_pa(dilute_90c[i][0], 90.0), 1000.0 * dilute_90c[i][1], 0.014, 0.0);
}

static void vapour_is_activity_times_saturation(void **state)
{
    (void)state;
    for (double temp_c = -15.0; temp_c <= 93.0; temp_c += 6.75)
        for (double x = 0.0; x <= 1.0; x += 0.0625) {
            struct stv_spirit_activity activity;
            stv_assert_ok(stv_spirit_activity(x, temp_c, &activity));
            struct stv_spirit_vapour at = vapour(x, temp_c);
            stv_assert_close(at.ethanol_pa, activity.ethanol_nd * stv_ethanol_psat_pa(temp_c),
                             1e-15, 0.0);
            stv_assert_close(at.water_pa, activity.water_nd * stv_water_psat_pa(temp_c), 1e-15,
                             0.0);
        }
    stv_assert_close(total_pa(0.0, 37.5), stv_water_psat_pa(37.5), 1e-15, 0.0);
    stv_assert_close(total_pa(1.0, 37.5), stv_ethanol_psat_pa(37.5), 1e-15, 0.0);
}

static void vapour_refuses_outside(void **state)
{
    (void)state;
    static const double bad[][2] = {{-1e-9, 20.0}, {1.0 + 1e-9, 20.0}, {0.3, -15.1},
                                    {0.3, 93.1},   {NAN, 20.0},        {0.3, NAN}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct stv_spirit_vapour at = {1.0, 1.0};
        stv_assert_status(stv_spirit_vapour(bad[i][0], bad[i][1], &at), STV_E_DOMAIN);
        stv_assert_close(at.ethanol_pa, NAN, 0.0, 0.0);
        stv_assert_close(at.water_pa, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_spirit_vapour(0.3, 20.0, NULL), STV_E_ARG);
}

/* Regression: cm2/s of ethanol (Fuller, Schettler and Giddings 1966) and of water (Massman 1998)
 * in air of 101325 Pa, computed apart from this code. */
static void diffusion_regression(void **state)
{
    (void)state;
    static const double row[][3] = {{0.0, 0.1051, 0.2178},  {10.0, 0.1119, 0.2324},
                                    {20.0, 0.1190, 0.2475}, {25.0, 0.1225, 0.2552},
                                    {30.0, 0.1261, 0.2630}, {35.0, 0.1298, 0.2709},
                                    {40.0, 0.1335, 0.2789}, {50.0, 0.1411, 0.2953}};
    for (size_t i = 0; i < COUNT(row); i++) {
        double ethanol = 1e4 * stv_ethanol_in_air_m2_s(row[i][0], 101325.0);
        double water = 1e4 * stv_water_in_air_m2_s(row[i][0], 101325.0);
        stv_assert_close(ethanol, row[i][1], 0.0, 6e-5);
        stv_assert_close(water, row[i][2], 0.0, 6e-5);
        stv_assert_close(water / ethanol, 2.08, 0.01, 0.0);
    }
}

/* 0.102 cm2/s: Perry's Chemical Engineers' Handbook, second-hand, at 0 C from memory.  0.22 cm2/s
 * of water at 0 C is a handbook's round figure, from memory. */
static void diffusion_as_in_handbooks(void **state)
{
    (void)state;
    stv_assert_close(stv_ethanol_in_air_m2_s(0.0, 101325.0), 0.102e-4, 0.04, 0.0);
    stv_assert_close(stv_water_in_air_m2_s(0.0, 101325.0), 0.22e-4, 0.02, 0.0);
}

static void diffusion_laws_and_range(void **state)
{
    (void)state;
    double (*property[])(double, double) = {stv_ethanol_in_air_m2_s, stv_water_in_air_m2_s};
    static const double power[] = {1.75, 1.81}; /* of the temperature, as published */
    static const double bad[][2] = {{-30.1, 101325.0}, {100.1, 101325.0}, {NAN, 101325.0},
                                    {20.0, 0.0},       {20.0, -85000.0},  {20.0, NAN}};
    for (size_t k = 0; k < COUNT(property); k++) {
        double cool = property[k](-30.0, 85300.0), warm = property[k](100.0, 85300.0);
        stv_assert_close(warm / cool, pow(373.15 / 243.15, power[k]), 1e-12, 0.0);
        stv_assert_close(property[k](23.85, 85300.0) * 85300.0, property[k](23.85, 1e5) * 1e5,
                         1e-14, 0.0);
        for (size_t i = 0; i < COUNT(bad); i++)
            stv_assert_close(property[k](bad[i][0], bad[i][1]), NAN, 0.0, 0.0);
    }
}

static double head_space_frac(double abv20_frac, double temp_c)
{
    struct stv_head_space at;
    stv_assert_ok(stv_head_space(mole_frac_of_abv(abv20_frac), temp_c, 101325.0, &at));
    return at.ethanol_frac;
}

/* Per cent of ethanol by volume in a closed air space from 15 to 45 C in steps of 5 K: an estimate
 * apart from this one, by van Laar's equation (1.68 and 0.92, Perry) and Antoine constants from
 * memory, printed to 0.1.  It lies up to 4 per cent below, as it does below the measured pressures
 * of the next test, so it only guards against a gross mistake. */
static void head_space_near_another_estimate(void **state)
{
    (void)state;
    static const double abv[] = {0.46, 0.60, 0.635};
    static const double pct[][7] = {{1.9, 2.5, 3.4, 4.5, 6.0, 7.8, 10.0},
                                    {2.2, 2.9, 3.9, 5.2, 6.9, 9.0, 11.5},
                                    {2.2, 3.0, 4.1, 5.4, 7.1, 9.3, 11.9}};
    int n_beyond = 0;
    for (size_t i = 0; i < COUNT(abv); i++)
        for (int j = 0; j < 7; j++) {
            double off = 100.0 * head_space_frac(abv[i], 15.0 + 5.0 * j) - pct[i][j];
            double room = 0.05 + 0.05 * pct[i][j];
            if (!(fabs(off) <= room))
                print_error("%.1f %%vol at %d C: %+.2f of %.1f per cent\n", 100.0 * abv[i],
                            15 + 5 * j, off, pct[i][j]);
            n_beyond += !(fabs(off) <= room);
        }
    assert_int_equal(n_beyond, 0);
}

/* Ethanol's pressure as Pemberton and Mash measured it at 30 C, over 101325 Pa. */
static void head_space_as_measured(void **state)
{
    (void)state;
    for (size_t i = 0; i < COUNT(pemberton); i++) {
        if (pemberton[i][0] < MIDDLE_FROM || pemberton[i][0] > MIDDLE_TO)
            continue;
        struct stv_head_space at;
        stv_assert_ok(stv_head_space(pemberton[i][0], 30.0, 101325.0, &at));
        double measured_pa = 1000.0 * pemberton[i][1] * pemberton[i][2];
        stv_assert_close(at.ethanol_frac, measured_pa / 101325.0, 0.01, 0.0);
    }
}

/* Over 60 % vol: regression, rounded to hundreds of parts per million.  NIOSH Pocket Guide: 1000
 * ppm are 1900 mg/m3, at 25 C. */
static void head_space_in_parts_and_grams(void **state)
{
    (void)state;
    static const double row[][2] = {
        {20.0, 30600.0}, {25.0, 41000.0}, {30.0, 54400.0}, {35.0, 71300.0}};
    for (size_t i = 0; i < COUNT(row); i++)
        stv_assert_close(1e6 * head_space_frac(0.60, row[i][0]), row[i][1], 0.0, 60.0);
    struct stv_head_space at;
    stv_assert_ok(stv_head_space(mole_frac_of_abv(0.60), 25.0, 101325.0, &at));
    stv_assert_close(at.ethanol_g_m3 / at.ethanol_frac, 1900.0, 0.01, 0.0);
    /* The grams do not ask how much air is there, the share does. */
    struct stv_head_space high;
    stv_assert_ok(stv_head_space(mole_frac_of_abv(0.60), 25.0, 85300.0, &high));
    stv_assert_close(high.ethanol_g_m3, at.ethanol_g_m3, 1e-15, 0.0);
    stv_assert_close(high.ethanol_frac * 85300.0, at.ethanol_frac * 101325.0, 1e-14, 0.0);
}

static void head_space_refuses_outside(void **state)
{
    (void)state;
    double boiling_pa = total_pa(0.3, 40.0);
    const double bad[][3] = {
        {-1e-9, 40.0, 101325.0}, {1.0 + 1e-9, 40.0, 101325.0}, {0.3, -15.1, 101325.0},
        {0.3, 93.1, 2e5},        {NAN, 40.0, 101325.0},        {0.3, NAN, 101325.0},
        {0.3, 40.0, NAN},        {0.3, 40.0, boiling_pa},      {0.3, 40.0, 0.5 * boiling_pa}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct stv_head_space at = {1.0, 1.0};
        stv_assert_status(stv_head_space(bad[i][0], bad[i][1], bad[i][2], &at), STV_E_DOMAIN);
        stv_assert_close(at.ethanol_frac, NAN, 0.0, 0.0);
        stv_assert_close(at.ethanol_g_m3, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_head_space(0.3, 40.0, 101325.0, NULL), STV_E_ARG);
    struct stv_head_space at;
    stv_assert_ok(stv_head_space(0.3, 40.0, 1.001 * boiling_pa, &at));
    assert_true(at.ethanol_frac < 1.0);
}

/* Room left above a liquid that grows from one temperature to another. */
static double squeezed_l(double cask_l, double gas_l, double abv20_frac, double from_c, double to_c)
{
    double p, rho_from, rho_to;
    stv_assert_ok(stv_mass_frac_from_abv20(abv20_frac, &p));
    stv_assert_ok(stv_spirit_density_kg_m3(p, from_c, &rho_from));
    stv_assert_ok(stv_spirit_density_kg_m3(p, to_c, &rho_to));
    return cask_l - (cask_l - gas_l) * rho_from / rho_to;
}

static double closed_pa(const struct stv_closed_space *closed, double temp_c, double gas_l)
{
    double pressure_pa;
    stv_assert_ok(stv_closed_space_pressure_pa(closed, temp_c, gas_l, &pressure_pa));
    return pressure_pa;
}

/* A tight rigid cask of 63.5 % vol closed at 101.325 kPa: kPa when warm, computed apart from this
 * code (regression, whole kPa). */
static void closed_casks_regression(void **state)
{
    (void)state;
    static const double row[][5] = {{200.0, 10.0, 15.0, 40.0, 207.0},
                                    {200.0, 4.0, 20.0, 30.0, 191.0},
                                    {250.0, 25.0, 10.0, 40.0, 161.5}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_closed_space closed = {mole_frac_of_abv(0.635), row[i][2], 101325.0, row[i][1]};
        double gas_l = squeezed_l(row[i][0], row[i][1], 0.635, row[i][2], row[i][3]);
        stv_assert_close(closed_pa(&closed, row[i][3], gas_l) / 1000.0, row[i][4], 0.0, 0.6);
    }
    struct stv_closed_space full = {mole_frac_of_abv(0.635), 15.0, 101325.0, 4.0};
    assert_true(closed_pa(&full, 35.0, squeezed_l(200.0, 4.0, 0.635, 15.0, 35.0)) > 1e6);
}

static void closed_space_laws(void **state)
{
    (void)state;
    struct stv_closed_space closed = {0.32385, 17.5, 98700.0, 12.25};
    stv_assert_close(closed_pa(&closed, 17.5, 12.25), 98700.0, 1e-14, 0.0);
    /* The air alone obeys the ideal gas. */
    double air_then = (98700.0 - total_pa(0.32385, 17.5)) * 12.25 / (17.5 + 273.15);
    double air_now = (closed_pa(&closed, 33.0, 9.5) - total_pa(0.32385, 33.0)) * 9.5;
    stv_assert_close(air_now / (33.0 + 273.15), air_then, 1e-14, 0.0);
    /* Two steps are one. */
    struct stv_closed_space half = {0.32385, 25.0, closed_pa(&closed, 25.0, 11.0), 11.0};
    stv_assert_close(closed_pa(&half, 33.0, 9.5), closed_pa(&closed, 33.0, 9.5), 1e-14, 0.0);
    for (double temp_c = -14.0; temp_c <= 60.0; temp_c += 1.0) {
        assert_true(closed_pa(&closed, temp_c, 12.25) > closed_pa(&closed, temp_c - 1.0, 12.25));
        assert_true(closed_pa(&closed, temp_c, 12.25) < closed_pa(&closed, temp_c, 12.0));
    }
}

static void closed_space_refuses_outside(void **state)
{
    (void)state;
    static const struct {
        struct stv_closed_space closed;
        double temp_c, gas_l;
    } bad[] = {
        {{-1e-9, 17.5, 98700.0, 12.25}, 30.0, 11.0}, {{1.1, 17.5, 98700.0, 12.25}, 30.0, 11.0},
        {{NAN, 17.5, 98700.0, 12.25}, 30.0, 11.0},   {{0.3, -15.1, 98700.0, 12.25}, 30.0, 11.0},
        {{0.3, 93.1, 98700.0, 12.25}, 30.0, 11.0},   {{0.3, NAN, 98700.0, 12.25}, 30.0, 11.0},
        {{0.3, 17.5, 3000.0, 12.25}, 30.0, 11.0}, /* less than its own vapour */
        {{0.3, 17.5, NAN, 12.25}, 30.0, 11.0},       {{0.3, 17.5, 98700.0, 0.0}, 30.0, 11.0},
        {{0.3, 17.5, 98700.0, -1.0}, 30.0, 11.0},    {{0.3, 17.5, 98700.0, NAN}, 30.0, 11.0},
        {{0.3, 17.5, 98700.0, 12.25}, -15.1, 11.0},  {{0.3, 17.5, 98700.0, 12.25}, 93.1, 11.0},
        {{0.3, 17.5, 98700.0, 12.25}, NAN, 11.0},    {{0.3, 17.5, 98700.0, 12.25}, 30.0, 0.0},
        {{0.3, 17.5, 98700.0, 12.25}, 30.0, -0.5},   {{0.3, 17.5, 98700.0, 12.25}, 30.0, NAN},
    };
    double pressure_pa;
    for (size_t i = 0; i < COUNT(bad); i++) {
        pressure_pa = 1.0;
        stv_assert_status(
            stv_closed_space_pressure_pa(&bad[i].closed, bad[i].temp_c, bad[i].gas_l, &pressure_pa),
            STV_E_DOMAIN);
        stv_assert_close(pressure_pa, NAN, 0.0, 0.0);
    }
    struct stv_closed_space closed = {0.3, 17.5, 98700.0, 12.25};
    stv_assert_status(stv_closed_space_pressure_pa(NULL, 30.0, 11.0, &pressure_pa), STV_E_ARG);
    stv_assert_status(stv_closed_space_pressure_pa(&closed, 30.0, 11.0, NULL), STV_E_ARG);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(ethanol_follows_its_two_equations),
        cmocka_unit_test(ethanol_joins_without_step_or_kink),
        cmocka_unit_test(ethanol_pressure_rises_with_warmth),
        cmocka_unit_test(ethanol_pressure_as_measured),
        cmocka_unit_test(pressures_at_30_c),
        cmocka_unit_test(pressures_at_25_c),
        cmocka_unit_test(activities_at_25_c),
        cmocka_unit_test(pressures_at_50_and_90_c),
        cmocka_unit_test(pressures_in_the_middle_of_the_scale),
        cmocka_unit_test(mixtures_without_their_pure_liquids),
        cmocka_unit_test(poor_ends_are_no_poorer_than_said),
        cmocka_unit_test(vapour_is_activity_times_saturation),
        cmocka_unit_test(vapour_refuses_outside),
        cmocka_unit_test(diffusion_regression),
        cmocka_unit_test(diffusion_as_in_handbooks),
        cmocka_unit_test(diffusion_laws_and_range),
        cmocka_unit_test(head_space_near_another_estimate),
        cmocka_unit_test(head_space_as_measured),
        cmocka_unit_test(head_space_in_parts_and_grams),
        cmocka_unit_test(head_space_refuses_outside),
        cmocka_unit_test(closed_casks_regression),
        cmocka_unit_test(closed_space_laws),
        cmocka_unit_test(closed_space_refuses_outside),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
