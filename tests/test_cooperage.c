/* Casks: the size table, its rules between and beyond the rows, wetted wall, thermal mass.
 *
 * Sizes and time constants are the parameter sheet's (DEVELOPERS.md, Sources), assumed numbers of
 * our own: these tests guard their transcription and the rules, and are no outside evidence. */
#include "tests/check.h"
#include "tests/usual.h"

#include "model/cooperage.h"

#define COUNT(a) (sizeof(a) / sizeof(a)[0])

static struct stv_cask_geometry cask_of(double capacity_l)
{
    struct stv_cask_geometry cask;
    stv_assert_ok(stv_cask_geometry(capacity_l, NAN, &usual, &cask));
    return cask;
}

/* Parameter sheet, section 2: capacity, inner, middle and outer area, stave, wood. */
static void sizes_match_the_sheet(void **state)
{
    (void)state;
    static const double row[][6] = {
        {50, 0.72, 0.787, 0.857, 22, 13},  {100, 1.12, 1.224, 1.333, 25, 22},
        {200, 1.83, 2.000, 2.178, 27, 39}, {225, 1.98, 2.164, 2.356, 27, 42},
        {250, 2.09, 2.284, 2.487, 28, 46}, {500, 3.33, 3.640, 3.963, 31, 84}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_cask_geometry cask = cask_of(row[i][0]);
        stv_assert_close(cask.capacity_l, row[i][0], 0.0, 0.0);
        stv_assert_close(cask.inner_area_m2, row[i][1], 1e-14, 0.0);
        stv_assert_close(cask.mid_area_m2, row[i][2], 0.0, 5.1e-4);
        stv_assert_close(cask.outer_area_m2, row[i][3], 0.0, 5.1e-4);
        stv_assert_close(cask.stave_mm, row[i][4], 1e-14, 0.0);
        stv_assert_close(cask.wood_kg, row[i][5], 1e-14, 0.0);
    }
}

static void sizes_between_and_beyond(void **state)
{
    (void)state;
    /* Half way in log litres between 250 and 500 L. */
    struct stv_cask_geometry between = cask_of(250.0 * sqrt(2.0));
    stv_assert_close(between.inner_area_m2, 0.5 * (2.09 + 3.33), 1e-12, 0.0);
    stv_assert_close(between.stave_mm, 29.5, 1e-12, 0.0);
    stv_assert_close(between.wood_kg, 65.0, 1e-12, 0.0);
    /* An eighth of the smallest, 1.728 times the largest: areas by 1/4 and 1.44. */
    struct stv_cask_geometry small = cask_of(6.25), large = cask_of(864.0);
    stv_assert_close(small.inner_area_m2, 0.18, 1e-12, 0.0);
    stv_assert_close(small.wood_kg, 3.25, 1e-12, 0.0);
    stv_assert_close(small.stave_mm, 22.0, 0.0, 0.0);
    stv_assert_close(large.inner_area_m2, 3.33 * 1.44, 1e-12, 0.0);
    stv_assert_close(large.wood_kg, 84.0 * 1.44, 1e-12, 0.0);
    stv_assert_close(large.stave_mm, 31.0, 1e-14, 0.0);
}

static void bigger_casks_have_less_wall_per_litre(void **state)
{
    (void)state;
    struct stv_cask_geometry last = cask_of(1.0);
    for (double capacity_l = 1.5; capacity_l <= 1000.0; capacity_l += 0.5) {
        struct stv_cask_geometry cask = cask_of(capacity_l);
        assert_true(cask.inner_area_m2 > last.inner_area_m2);
        assert_true(cask.inner_area_m2 / capacity_l < last.inner_area_m2 / last.capacity_l);
        assert_true(cask.wood_kg > last.wood_kg);
        assert_true(cask.stave_mm >= last.stave_mm - 1e-12);
        /* No wall is smaller than that of a sphere of the same volume. */
        assert_true(cask.inner_area_m2 > 4.836 * pow(capacity_l / 1000.0, 2.0 / 3.0));
        last = cask;
    }
}

static void geometry_refuses_outside(void **state)
{
    (void)state;
    static const double bad[][2] = {{0.9, NAN},   {1000.1, NAN}, {NAN, NAN},
                                    {200.0, 9.9}, {200.0, 60.1}, {-5.0, 27.0}};
    for (size_t i = 0; i < COUNT(bad); i++) {
        struct stv_cask_geometry cask = {1, 1, 1, 1, 1, 1};
        stv_assert_status(stv_cask_geometry(bad[i][0], bad[i][1], &usual, &cask), STV_E_DOMAIN);
        stv_assert_close(cask.capacity_l, NAN, 0.0, 0.0);
        stv_assert_close(cask.inner_area_m2, NAN, 0.0, 0.0);
        stv_assert_close(cask.wood_kg, NAN, 0.0, 0.0);
    }
    stv_assert_status(stv_cask_geometry(200.0, NAN, &usual, NULL), STV_E_ARG);
}

static void wetted_wall(void **state)
{
    (void)state;
    /* Parameter sheet, section 2: 8 per cent empty leaves 76 per cent of the girth; the heads,
     * a quarter of the assumed cylinder's wall, are wetted to 92 per cent. */
    stv_assert_close(stv_cask_wetted_frac(0.92, &usual), 0.75 * 0.76 + 0.25 * 0.92, 0.0, 0.004);
    stv_assert_close(stv_cask_wetted_frac(0.5, &usual), 0.5, 0.0, 1e-12);
    stv_assert_close(stv_cask_wetted_frac(0.0, &usual), 0.0, 0.0, 1e-5);
    stv_assert_close(stv_cask_wetted_frac(1.0, &usual), 1.0, 0.0, 1e-5);
    stv_assert_close(stv_cask_wetted_frac(-0.2, &usual), stv_cask_wetted_frac(0.0, &usual), 0.0,
                     0.0);
    stv_assert_close(stv_cask_wetted_frac(1.03, &usual), stv_cask_wetted_frac(1.0, &usual), 0.0,
                     0.0);
    stv_assert_close(stv_cask_wetted_frac(NAN, &usual), NAN, 0.0, 0.0);
    for (int i = 1; i <= 1000; i++) {
        double full = i / 1000.0;
        assert_true(stv_cask_wetted_frac(full, &usual) >
                    stv_cask_wetted_frac(full - 0.001, &usual));
        stv_assert_close(stv_cask_wetted_frac(full, &usual) +
                             stv_cask_wetted_frac(1.0 - full, &usual),
                         1.0, 0.0, 1e-5);
    }
}

/* Parameter sheet, section 3, 97 per cent full of 60 % vol: C kJ/K, UA W/K, tau h. */
static void heat_matches_the_sheet(void **state)
{
    (void)state;
    static const double row[][4] = {{50, 180, 3.05, 16.4},  {100, 356, 4.44, 22.2},
                                    {200, 706, 6.96, 28.2}, {225, 792, 7.53, 29.2},
                                    {250, 880, 7.79, 31.4}, {500, 1751, 11.71, 41.5}};
    for (size_t i = 0; i < COUNT(row); i++) {
        struct stv_cask_geometry cask = cask_of(row[i][0]);
        double volume_l = 0.97 * row[i][0];
        stv_assert_close(stv_cask_heat_capacity_j_k(&cask, volume_l, 0.6, &usual) / 1000.0,
                         row[i][1], 0.003, 0.0);
        stv_assert_close(stv_cask_conductance_w_k(&cask, &usual), row[i][2], 0.002, 0.0);
        stv_assert_close(stv_cask_time_constant_h(&cask, volume_l, 0.6, &usual), row[i][3], 0.004,
                         0.0);
    }
}

static void heat_follows_the_liquid(void **state)
{
    (void)state;
    struct stv_cask_geometry cask = cask_of(200.0);
    stv_assert_close(stv_cask_heat_capacity_j_k(&cask, 0.0, NAN, &usual), 0.6 * 39.0 * 1700.0,
                     1e-12, 0.0);
    double last = stv_cask_heat_capacity_j_k(&cask, 10.0, 0.6, &usual);
    for (double volume_l = 20.0; volume_l <= 200.0; volume_l += 10.0) {
        double next = stv_cask_heat_capacity_j_k(&cask, volume_l, 0.6, &usual);
        stv_assert_close(next - last, 10.0 * 0.909115 * 3776.0, 0.003, 0.0);
        last = next;
    }
    /* Water, 4.18 J/(g K), within the polynomial's own 1 per cent. */
    double water_j_k = stv_cask_heat_capacity_j_k(&cask, 100.0, 0.0, &usual) - 0.6 * 39.0 * 1700.0;
    stv_assert_close(water_j_k, 99.82 * 4184.0, 0.01, 0.0);
    /* Above 60 per cent by mass the line to pure ethanol, 2.40 J/(g K), is continuous. */
    double below = stv_cask_heat_capacity_j_k(&cask, 194.0, 0.67738, &usual);
    double above = stv_cask_heat_capacity_j_k(&cask, 194.0, 0.67748, &usual);
    stv_assert_close(above, below, 5e-4, 0.0);
    for (double abv = 0.30; abv <= 1.0; abv += 0.01)
        assert_true(stv_cask_heat_capacity_j_k(&cask, 194.0, abv, &usual) <
                    stv_cask_heat_capacity_j_k(&cask, 194.0, abv - 0.01, &usual));
    double pure_j_k = stv_cask_heat_capacity_j_k(&cask, 100.0, 1.0, &usual) - 0.6 * 39.0 * 1700.0;
    stv_assert_close(pure_j_k, 78.924 * 2400.0, 1e-4, 0.0);
    stv_assert_close(stv_cask_heat_capacity_j_k(&cask, -1.0, 0.6, &usual), NAN, 0.0, 0.0);
    stv_assert_close(stv_cask_heat_capacity_j_k(&cask, 190.0, 1.1, &usual), NAN, 0.0, 0.0);
    stv_assert_close(stv_cask_time_constant_h(&cask, 190.0, NAN, &usual), NAN, 0.0, 0.0);
}

static void stave_changes_conductance_alone(void **state)
{
    (void)state;
    struct stv_cask_geometry plain = cask_of(200.0), thick;
    stv_assert_ok(stv_cask_geometry(200.0, 37.0, &usual, &thick));
    stv_assert_close(thick.stave_mm, 37.0, 0.0, 0.0);
    stv_assert_close(thick.inner_area_m2, plain.inner_area_m2, 0.0, 0.0);
    stv_assert_close(thick.wood_kg, plain.wood_kg, 0.0, 0.0);
    /* Ten millimetres of oak more, 0.01/(0.17 x A_mid) K/W. */
    double more_k_w = 1.0 / stv_cask_conductance_w_k(&thick, &usual) -
                      1.0 / stv_cask_conductance_w_k(&plain, &usual);
    stv_assert_close(more_k_w, 0.01 / (0.17 * 1.093 * 1.83), 1e-10, 0.0);
    stv_assert_close(stv_cask_time_constant_h(&thick, 190.0, 0.6, &usual) *
                         stv_cask_conductance_w_k(&thick, &usual),
                     stv_cask_heat_capacity_j_k(&plain, 190.0, 0.6, &usual) / 3600.0, 1e-12, 0.0);
}

int main(void)
{
    const struct CMUnitTest tests[] = {
        cmocka_unit_test(sizes_match_the_sheet),
        cmocka_unit_test(sizes_between_and_beyond),
        cmocka_unit_test(bigger_casks_have_less_wall_per_litre),
        cmocka_unit_test(geometry_refuses_outside),
        cmocka_unit_test(wetted_wall),
        cmocka_unit_test(heat_matches_the_sheet),
        cmocka_unit_test(heat_follows_the_liquid),
        cmocka_unit_test(stave_changes_conductance_alone),
    };
    return cmocka_run_group_tests(tests, NULL, NULL);
}
